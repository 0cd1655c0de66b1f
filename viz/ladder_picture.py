"""A ladder as a picture: the margin that each number of arrays leaves, layout by layout. SVG or PNG."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, Literal

from scenes.findings.ladder import Ladder, Rung
from viz.palette import BAND, HAIRLINE, INK, INK_SOFT, PAPER, TABLE_LINE
from viz.sheets import render
from viz.words import ladder as words
from viz.words.locale import Locale

WIDE_MM: Final = 170.0
TALL_MM: Final = 92.0
LEFT_MM, RIGHT_MM, TOP_MM, FOOT_MM = 22.0, 4.0, 12.0, 10.0
LEGEND_MM: Final = 6.0
"""Height of a line of the legend."""
LOWEST_M: Final = -0.3
"""Margins below this are drawn here: how far below does not matter when talkers are not covered."""
STEPS_M: Final = (0.05, 0.1, 0.2, 0.5, 1.0)
"""Between the lines across, the first that makes at most MOST_LINES of them."""
STEPS_IN_M: Final = (2 * 0.0254, 4 * 0.0254, 8 * 0.0254, 16 * 0.0254, 40 * 0.0254)
"""The same in rooms of feet and inches."""
MOST_LINES: Final = 8
PNG_DPI: Final = 200.0
SHAPES: Final = {"free": "circle", "row": "square", "grid": "diamond"}
COLOURS: Final = {"free": INK, "row": BAND, "grid": TABLE_LINE}


def ladder_picture(ladder: Ladder, locale: Locale, form: Literal["svg", "png"]) -> str | bytes:
    """The picture as SVG text, or as PNG bytes. Raises FontMissing."""
    told = json.dumps(_drawn(ladder, locale))
    source = Path(__file__).with_suffix(".typ").read_text(encoding="utf-8")
    made = render.compiled(
        source, {"told": told}, date="2000-01-01", output=form, ppi=PNG_DPI if form == "png" else None
    )
    assert isinstance(made, bytes)
    return made if form == "png" else made.decode()


def _drawn(ladder: Ladder, locale: Locale) -> dict[str, Any]:
    """Everything that is in the picture, in millimetres from its upper left corner."""
    kinds = list(dict.fromkeys((rung.pattern, rung.on_lattice) for rung in ladder.rungs))
    tall = TALL_MM + LEGEND_MM * math.ceil(len(kinds) / 2)
    scale = _Scale(ladder, STEPS_IN_M if locale.imperial else STEPS_M)
    marks, lines, texts = [], _lines(ladder, scale), _labels(scale, locale)
    for k, (pattern, on_lattice) in enumerate(kinds):
        beside = (k - (len(kinds) - 1) / 2) * min(6.0, 0.8 * scale.column_mm / len(kinds))
        before: dict[str, float] | None = None
        for rung in ladder.of(pattern, on_lattice):
            if rung.margin_m is None:
                before = None
                continue
            x, y = scale.x(rung.arrays) + beside, scale.y(rung.margin_m)
            colour = COLOURS[pattern]
            if before is not None:
                lines.append(_line(before["x"], before["y"], x, y, colour, 0.7, dash=on_lattice is True))
            before = {"x": x, "y": y}
            marks.append(_mark(x, y, rung))
            if rung.covered is not None and rung.covered < rung.talkers:
                texts.append(_text(x, y - 3.2, str(rung.covered), "center", INK_SOFT, 7.0))
        x = LEFT_MM + (k % 2) * (WIDE_MM - LEFT_MM) / 2
        y = TALL_MM + LEGEND_MM * (k // 2) + 1.0
        marks.append(_mark(x, y, ladder.of(pattern, on_lattice)[-1]))
        texts.append(_text(x + 3.5, y, words.layout(pattern, on_lattice, 2, locale), "left", INK, 8.5))
    return {
        "wide": WIDE_MM,
        "tall": tall,
        "paper": PAPER,
        "ink": INK,
        "title": words.picture_title(ladder, locale),
        "lines": lines,
        "marks": marks,
        "texts": texts,
    }


class _Scale:
    """Where numbers of arrays and margins lie in the picture."""

    def __init__(self, ladder: Ladder, steps_m: Sequence[float]) -> None:
        known = [max(margin, LOWEST_M) for margin in ladder.margins_m]
        self.count = ladder.most
        low, high = min([0.0, *known]), max([ladder.enough_m, *known])
        self.step = next((s for s in steps_m if (high - low) / s <= MOST_LINES), steps_m[-1])
        self.low = math.floor(low / self.step - 1e-9) * self.step
        self.high = math.ceil(high / self.step + 1e-9) * self.step
        self.column_mm = (WIDE_MM - LEFT_MM - RIGHT_MM) / max(self.count, 1)

    def x(self, arrays: int) -> float:
        return LEFT_MM + (arrays - 0.5) * self.column_mm

    def y(self, margin_m: float) -> float:
        share = (max(margin_m, self.low) - self.low) / (self.high - self.low)
        return TALL_MM - FOOT_MM - share * (TALL_MM - FOOT_MM - TOP_MM)

    @property
    def levels(self) -> list[float]:
        """The margins of the lines across."""
        return [self.low + k * self.step for k in range(round((self.high - self.low) / self.step) + 1)]


def _lines(ladder: Ladder, scale: _Scale) -> list[dict[str, Any]]:
    right = WIDE_MM - RIGHT_MM
    lines = [_line(LEFT_MM, scale.y(level), right, scale.y(level), HAIRLINE, 0.4) for level in scale.levels]
    lines.append(_line(LEFT_MM, scale.y(0), right, scale.y(0), INK, 0.9))
    if ladder.enough_m > 0:
        y = scale.y(ladder.enough_m)
        lines.append(_line(LEFT_MM, y, right, y, INK_SOFT, 0.9, dash=True))
    return lines


def _labels(scale: _Scale, locale: Locale) -> list[dict[str, Any]]:
    texts = [
        _text(LEFT_MM - 2, scale.y(level), locale.margin(level), "right", INK_SOFT, 7.5)
        for level in scale.levels
    ]
    for arrays in range(1, scale.count + 1):
        text = words.arrays(arrays, locale)
        texts.append(_text(scale.x(arrays), TALL_MM - FOOT_MM + 4, text, "center", INK, 8.5))
    return texts


def _mark(x: float, y: float, rung: Rung) -> dict[str, Any]:
    return {
        "x": x,
        "y": y,
        "shape": SHAPES[rung.pattern],
        "hollow": rung.on_lattice is True,
        "colour": COLOURS[rung.pattern],
    }


def _line(
    x0: float, y0: float, x1: float, y1: float, colour: str, pt: float, *, dash: bool = False
) -> dict[str, Any]:
    return {"x0": x0, "y0": y0, "x1": x1, "y1": y1, "colour": colour, "pt": pt, "dash": dash}


def _text(
    x: float, y: float, text: str, align: Literal["left", "center", "right"], colour: str, pt: float
) -> dict[str, Any]:
    return {"x": x, "y": y, "text": text, "align": align, "colour": colour, "pt": pt}
