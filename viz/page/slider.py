"""What the page's slider shows: every text, verdict and bar of every height, finished; the script looks them up.

`slider` turns a `HeightTable` into JSON-able data in which each distinct text stands once and all else is a
number: the place of a text, a verdict, a talker's state.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from scenes.findings.heights import ArrayTable, BandTable, HeightTable, LayoutStand
from scenes.findings.review import STANDINGS, VERDICTS, Verdict
from scenes.room.scene import Scene
from viz.words import clearances, heights, layouts, verdict
from viz.words.locale import Locale

SHOWN: tuple[Verdict, ...] = ("pass", "caution")
"""Verdicts whose stretches of height are drawn on the slider's track; the rest of it is bare."""
SWITCH = ("name", "state", "word", "covered", "title")
"""The texts of a switch to a layout, in the order in which the script takes them."""
NARROWEST = 0.4
"""Per cent of the track: a stretch of a single height has to be seen."""

Item = TypeVar("Item")


class _Once(list[Item]):
    """A list that holds each thing once; `place` gives where."""

    def __init__(self) -> None:
        super().__init__()
        self._places: dict[Item, int] = {}

    def place(self, item: Item) -> int:
        """Where the thing stands, added at the end if it is new."""
        at = self._places.setdefault(item, len(self))
        if at == len(self):
            self.append(item)
        return at


def slider(table: HeightTable, scene: Scene) -> dict[str, Any]:
    """The slider's data; lists over heights run from low to high.

    `texts` are all texts, `lists` all lists of them; everything that is a text elsewhere is its place there. Of
    each array `heights_m` and `own`, the place of the height that the file gives; of each band and head
    `standing`, a string of digits into `standings`, and texts over heights.
    """
    return _Slider(scene, table).data()


class _Slider:
    def __init__(self, scene: Scene, table: HeightTable) -> None:
        self.scene, self.table, self.locale = scene, table, Locale.of(scene)
        self.texts: _Once[str] = _Once()
        self.lists: _Once[tuple[int, ...]] = _Once()

    def data(self) -> dict[str, Any]:
        arrays = [self._array(one) for one in self.table.arrays]
        standings = [{"state": one, "word": verdict.standing(one, self.locale)} for one in STANDINGS]
        return {
            "heads": [head.id for head in self.scene.heads],
            "verdicts": VERDICTS,
            "words": [verdict.word(one, self.locale) for one in VERDICTS],
            "standings": standings,
            "arrays": arrays,
            "texts": list(self.texts),
            "lists": list(self.lists),
        }

    def _array(self, one: ArrayTable) -> dict[str, Any]:
        locale, place = self.locale, self.texts.place
        shown = [locale.height(z) for z in one.heights_m]
        return {
            "id": one.id,
            "own": one.own,
            "own_said": place(locale.say("slider.own")),
            "band": one.band,
            "heights_m": one.heights_m,
            "shown": [place(text) for text in shown],
            "labels": [place(heights.label(one.id, z, locale)) for z in one.heights_m],
            "bands": [self._band(one, band, shown) for band in one.bands],
        }

    def _band(self, one: ArrayTable, band: BandTable, shown: Sequence[str]) -> dict[str, Any]:
        place = self.texts.place
        count = range(len(one.heights_m))
        there = [verdict.at_height(self.scene, self.table, one, band, k) for k in count]
        best = None if band.best is None else place(heights.best(shown[band.best], self.locale))
        return {
            "name": band.name,
            "edges": place(self.locale.edges(band.low_deg, band.high_deg)),
            "best": band.best,
            "best_said": best,
            "stretch": place(heights.stretch(one, band, self.scene)),
            "bars": self._bars(one, band, shown),
            "chart": self._chart(one, band),
            "counts": [place(heights.covered(counts, self.locale)) for counts in band.counts],
            "verdict": "".join(str(VERDICTS.index(each)) for each in band.verdict),
            "sentence": [place(sentence) for sentence, *_ in there],
            "list": [self.lists.place(tuple(map(place, items))) for _, *items in there],
            "heads": [self._head(one, band, i) for i in range(len(self.scene.heads))],
            "layouts": [self._switches(some) for some in band.layouts],
        }

    def _switches(self, some: Sequence[LayoutStand]) -> int:
        """The switches between the layouts as they are at a height: text by text, as the template has them."""
        switches = [layouts.of_stand(one, self.locale) for one in some]
        texts = [switch[key] for switch in switches for key in SWITCH]
        return self.lists.place(tuple(map(self.texts.place, texts)))

    def _bars(self, one: ArrayTable, band: BandTable, shown: Sequence[str]) -> list[tuple[Any, ...]]:
        """What is drawn on the track: class, from where and how wide in per cent, and its title."""
        low, high = one.heights_m[0], one.heights_m[-1]
        span = max(high - low, 1e-6)
        share = [round(100 * (z - low) / span, 2) for z in one.heights_m]
        bars: list[tuple[Any, ...]] = []
        for each, some in groupby(range(len(share)), key=lambda k: band.verdict[k]):
            first, *_, last = (places := list(some))[0], places[-1]
            if each in SHOWN and len(share) > 1:
                title = self.texts.place(heights.bar(each, shown[first], shown[last], self.locale))
                bars.append((each, share[first], max(round(share[last] - share[first], 2), NARROWEST), title))
        signs: dict[Literal["best", "now"], int | None] = {
            "best": band.best,
            "now": one.own if band.name == one.band else None,
        }
        for kind, at in signs.items():
            if at is not None:
                title = self.texts.place(heights.sign(kind, shown[at], self.locale))
                bars.append((kind, share[at], None, title))
        return bars

    def _chart(self, one: ArrayTable, band: BandTable) -> dict[str, Any]:
        """How many are covered at each height, as columns: from where and how wide and how tall in per cent, whether
        something is too close there; what that is, in words at the middle of its widest stretch; the top line's word.
        """
        z = np.array(one.heights_m)
        span = max(float(z[-1] - z[0]), 1e-6)
        between = np.clip(100 * (np.append(z[0], (z[1:] + z[:-1]) / 2) - z[0]) / span, 0, 100)
        ends = np.round(np.append(between, 100.0), 2)
        things = [clearances.too_close_to(rows, self.locale) for rows in one.clearances]
        columns = []
        for (covered, ruled), some in groupby(
            range(len(z)), key=lambda k: (band.counts[k].covered or 0, bool(things[k]))
        ):
            first, *_, last = (places := list(some))[0], places[-1]
            tall = round(100 * covered / max(band.counts[0].talkers, 1), 1)
            columns.append(
                (float(ends[first]), round(float(ends[last + 1] - ends[first]), 2), tall, int(ruled))
            )
        stretches = [
            list(some) for ruled, some in groupby(range(len(z)), key=lambda k: bool(things[k])) if ruled
        ]
        named = None
        if stretches:
            widest = max(stretches, key=lambda some: ends[some[-1] + 1] - ends[some[0]])
            names = list(dict.fromkeys(name for k in widest for name in things[k]))
            middle = (ends[widest[0]] + ends[widest[-1] + 1]) / 2
            named = (round(float(middle), 1), self.texts.place(heights.ruled(names, self.locale)))
        top = self.texts.place(heights.everybody(band.counts[0].talkers, self.locale))
        return {"columns": columns, "named": named, "top": top}

    def _head(self, one: ArrayTable, band: BandTable, i: int) -> dict[str, Any]:
        return {
            "standing": "".join(map(str, band.standing[:, i].tolist())),
            "angle": self._each(band.depression_deg[:, i], self.locale.angle),
            "distance": self._each(band.slant_m[:, i], self.locale.length),
            "margin": self._each(band.margin_m[:, i], self.locale.margin),
            "array": band.served_by[:, i].tolist() if len(self.scene.arrays) > 1 else None,
        }

    def _each(self, values: NDArray[np.float64], text: Callable[[float], str]) -> list[int]:
        return [self.texts.place(text(value)) for value in values.tolist()]
