"""The table behind the height slider: at every height on offer, what a review would say there.

One array moves, the others stay where they are. Facts only: what is shown of them is made of words elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M
from geometry.coverage import State
from scenes.findings.clearance import Clearance
from scenes.findings.heights import ArrayTable, BandTable, HeightTable
from scenes.findings.review import AREA_STATES, STANDINGS, Counts, Review, Verdict
from scenes.review.best import Wishes, best_of
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
    verdicts = verdicts_at(scene, plumb, stand, areas, rows)
    allowed = np.array([one != "fail" for one in verdicts], np.bool_)
    covered, margin = [one.covered or 0 for one in counts], stand.margin_m.min(axis=1)
    best = best_of(covered, margin, allowed)
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
        unkept=None if best is None else wishes.unkept(best, plumb.heights, covered, margin, allowed),
    )


def verdicts_at(
    scene: Scene, plumb: Plumb, stand: Stand, areas: Indices, rows: Sequence[Sequence[Clearance]]
) -> tuple[Verdict, ...]:
    """The verdict of a review with the array at each height, where areas (h, areas) stand so."""
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
        )
        for k, some in enumerate(rows)
    )


def counts_at(scene: Scene, stand: Stand) -> tuple[Counts, ...]:
    """The people of a review at each height, by the worst of their heads."""
    people = [head.person for head in scene.heads]
    return tuple(_counts(people, standing) for standing in stand.standing.tolist())


def _counts(people: Sequence[str], standing: Sequence[int]) -> Counts:
    worst: dict[str, int] = {}
    for person, one in zip(people, standing, strict=True):
        worst[person] = max(worst.get(person, 0), one)
    each = list(worst.values())
    return Counts(len(each), **{name: each.count(k) for k, name in enumerate(STANDINGS)})
