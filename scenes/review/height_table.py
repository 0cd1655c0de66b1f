"""The table behind the height slider: at every height on offer, what a review would say there.

One array moves, the others stay where they are. Facts only: what is shown of them is made of words elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M
from geometry.coverage import State
from scenes.findings.clearance import Clearance
from scenes.findings.heights import ArrayTable, BandTable, HeightTable, LayoutStand, Unkept
from scenes.findings.review import AREA_STATES, STANDINGS, VERDICTS, Counts, Review, Verdict
from scenes.findings.sound import Advice
from scenes.review.best import Wishes, best_of
from scenes.review.counts import worst_counts
from scenes.review.plumb import Plumb, Stand
from scenes.review.review import verdict_by
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.rules.along import OpenRows

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Bools = NDArray[np.bool_]

STEP_M = 0.01
STEP_IN_M = 0.0254 / 2
"""From one height on offer to the next: whole centimetres, or half inches."""
LOWEST_M = 1.2
"""Below the lowest mouth nobody hangs an array: the slider starts here, or at the file's own height if lower."""
ROUNDING_M = 1e-9
"""A height this near to another is the same."""


def height_table(scene: Scene, review: Review) -> HeightTable:
    """What a review of this scene would say of every height on offer, for each array and band."""
    return HeightTable(tuple(_array(scene, array) for array in scene.arrays), bool(review.clearances))


def tables_together(scene: Scene, each: Sequence[HeightTable]) -> tuple[HeightTable, ...]:
    """The tables of a scene's layouts with the verdicts, the best heights and the standing of all of them."""
    arrays = [
        _arrays_together(scene, array, some)
        for array, some in zip(scene.arrays, zip(*(table.arrays for table in each), strict=True), strict=True)
    ]
    judged = any(table.judged for table in each)
    return tuple(HeightTable(tuple(some), judged) for some in zip(*arrays, strict=True))


def _arrays_together(scene: Scene, array: Array, each: Sequence[ArrayTable]) -> list[ArrayTable]:
    wishes = Wishes(scene, array, OpenRows(scene, array).measures)
    heights = np.array(each[0].heights_m)
    bands = [
        _bands_together(scene, wishes, heights, some) for some in zip(*(t.bands for t in each), strict=True)
    ]
    return [replace(table, bands=some) for table, some in zip(each, zip(*bands, strict=True), strict=True)]


def _bands_together(
    scene: Scene, wishes: Wishes, heights: Floats, each: Sequence[BandTable]
) -> list[BandTable]:
    stands = tuple(
        tuple(
            LayoutStand(layout, verdict, counts)
            for layout, verdict, counts in zip(scene.layouts, verdicts, some, strict=True)
        )
        for verdicts, some in zip(
            zip(*(one.verdict for one in each), strict=True),
            zip(*(one.counts for one in each), strict=True),
            strict=True,
        )
    )
    verdicts = tuple(max((stand.verdict for stand in some), key=VERDICTS.index) for some in stands)
    counts = [worst_counts([stand.counts for stand in some]) for some in stands]
    covered = [-one.lacking for one in counts]
    margin = np.min([one.margin_m.min(axis=1) for one in each], axis=0)
    allowed = np.array([one != "fail" for one in verdicts], np.bool_)
    best = best_of(covered, margin, allowed)
    unkept = None if best is None else wishes.unkept(best, heights, covered, margin, allowed)
    best = _told(best, unkept, heights)
    return [replace(one, verdict=verdicts, best=best, unkept=unkept, layouts=stands) for one in each]


def heights_on_offer(scene: Scene, array: Array) -> Floats:
    """Whole centimetres (half inches) between the ends, rounded inwards, and the file's own height if any; rising."""
    low, high = height_span_m(scene, array)
    own = high if array.height_m is None else array.centre_m[2]
    if array.profile.mount == "flush":
        return np.array([own])
    step = STEP_IN_M if scene.units in ("ft", "in") else STEP_M
    low = max(low, min(LOWEST_M, own))
    first, last = math.ceil((low - ROUNDING_M) / step), math.floor((high + ROUNDING_M) / step)
    whole = np.arange(first, last + 1) * step
    if array.height_m is None:
        return np.asarray(whole, float)
    # the file's own stands for a whole step that it is but for rounding
    return np.sort(np.append(whole[np.abs(whole - own) > ROUNDING_M], own))


def _array(scene: Scene, array: Array) -> ArrayTable:
    heights = heights_on_offer(scene, array)
    plumb, open_rows = Plumb(scene, array, heights), OpenRows(scene, array)
    rows, wishes = open_rows.at(heights), Wishes(scene, array, open_rows.measures)
    return ArrayTable(
        id=array.id,
        own=int(np.argmin(np.abs(heights - array.centre_m[2]))),
        band=str(array.band_name),
        flush=array.profile.mount == "flush",
        heights_m=tuple(heights.tolist()),
        clearances=rows,
        bands=tuple(_band(scene, plumb, name, rows, wishes) for name in array.profile.bands),
    )


def _band(
    scene: Scene, plumb: Plumb, name: str, rows: Sequence[Sequence[Clearance]], wishes: Wishes
) -> BandTable:
    band, stand = plumb.array.profile.band(name), plumb.stand(name)
    count = len(plumb.heights)
    counts, areas = counts_at(scene, stand), plumb.areas(name)
    sound: tuple[tuple[Advice, ...], ...] = ()
    if scene.acoustics is not None:
        from scenes.review.sound import advised_at

        sound = advised_at(scene, plumb.array, plumb.heights, stand.served_by)
    verdicts = verdicts_at(scene, plumb, stand, areas, rows, sound)
    allowed = np.array([one != "fail" for one in verdicts], np.bool_)
    covered, margin = [-one.lacking for one in counts], stand.margin_m.min(axis=1)
    best = best_of(covered, margin, allowed)
    unkept = None if best is None else wishes.unkept(best, plumb.heights, covered, margin, allowed)
    best = _told(best, unkept, plumb.heights)
    return BandTable(
        name=name,
        low_deg=band.low_deg,
        high_deg=band.high_deg,
        slack_m=stand.slack_m,
        margin_m=stand.margin_m,
        depression_deg=stand.depression_deg,
        slant_m=stand.slant_m,
        reason=stand.reason,
        standing=stand.standing,
        areas=areas,
        served_by=stand.served_by,
        counts=counts,
        in_the_way=tuple(plumb.in_the_way(stand, k) for k in range(count)),
        verdict=verdicts,
        best=best,
        unkept=unkept,
        sound=sound,
    )


def _told(best: int | None, unkept: Unkept | None, heights_m: Floats) -> int | None:
    """The index of the height that every text calls best: the one that keeps what is wished, where one does."""
    if unkept is None or unkept.instead_m is None:
        return best
    return int(np.flatnonzero(heights_m == unkept.instead_m)[0])


def verdicts_at(
    scene: Scene,
    plumb: Plumb,
    stand: Stand,
    areas: Indices,
    rows: Sequence[Sequence[Clearance]],
    sound: Sequence[Sequence[Advice]] = (),
) -> tuple[Verdict, ...]:
    """The verdict of a review with the array at each height, where areas (h, areas) stand so, and advice about sound
    is not kept."""
    to_eyes, to_displays = plumb.eyes
    unseen = np.atleast_1d(stand.surely.any(axis=1))
    blocked = np.atleast_1d(stand.blocked.any(axis=1) | to_eyes.any(axis=0) | to_displays.any(axis=0))
    marginal = ~stand.missed & (stand.margin_m < -ON_EDGE_M)
    states: dict[State, Bools] = {
        "missed": stand.missed.any(axis=1) | (areas == AREA_STATES.index("missed")).any(axis=1),
        "marginal": marginal.any(axis=1) | (areas == AREA_STATES.index("marginal")).any(axis=1),
    }
    return tuple(
        verdict_by(
            {state for state, there in states.items() if there[k]},
            {one.state for one in some},
            unseen=bool(unseen[k]),
            blocked=bool(blocked[k]),
            sure=not scene.unsure,
            advised=bool(sound and sound[k]),
        )
        for k, some in enumerate(rows)
    )


def counts_at(scene: Scene, stand: Stand) -> tuple[Counts, ...]:
    """The people of a review at each height, by the worst of their heads; of several layouts the worst one's."""
    of = np.array([scene.furnishing(head.id) or 0 for head in scene.heads])
    some = [np.flatnonzero(of == k).tolist() for k in range(max(len(scene.layouts), 1))]
    people = [[scene.heads[i].person for i in own] for own in some]
    return tuple(
        worst_counts([_counts(who, row[own]) for who, own in zip(people, some, strict=True)])
        for row in stand.standing
    )


def _counts(people: Sequence[str], standing: Iterable[int]) -> Counts:
    worst: dict[str, int] = {}
    for person, one in zip(people, standing, strict=True):
        worst[person] = max(worst.get(person, 0), int(one))
    each = list(worst.values())
    return Counts(len(each), **{name: each.count(k) for k, name in enumerate(STANDINGS)})
