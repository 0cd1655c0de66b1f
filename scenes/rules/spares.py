"""Whether the rules that hold where an array hangs go on holding anywhere it may be off to.

Only what holds counts: what is too close already, or is switched off, cannot be lost. On plan what hangs is
swept over all places at once (`Sweep`), which is exact. In height a distance is least at an end or beside the
thing, and is asked there (`worst_heights`); other rules are unions (fixed to the ceiling, or free and far
enough), so heights are cut into bands, each judged at its middle: a signed distance changes by at most one metre
per metre, so a band's ends have less by half its height at most. Of one thing each part of the array is judged
by itself: that the cable is too close does not let the body come closer too. What a sprinkler's spray asks of the
body is one demand, whichever of its two rules decides: what is in the way of the spray already cannot get into it.

In a box the body also hangs out of true, which is asked of an upright prism that holds it in all of its
positions: safe, and for what is above or below its rim exact.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from geometry.off_by import OffBy
from geometry.records import record
from scenes.findings.review import Limit
from scenes.room.scene import Array, Scene
from scenes.rules.apply import measures_of
from scenes.rules.measure import MET_M, Measure
from scenes.rules.surroundings import Site, Sweep, Things, body_of

Floats = NDArray[np.float64]
Columns = NDArray[np.intp]

CUT = 16
"""Into how many bands a band of heights is cut that cannot be judged as a whole."""
FINEST_M = 1e-6
"""Bands this thin hold if they do at their middle: a rule touches 0, and holds, where another takes over."""
MOST_BANDS = 1 << 16
"""So many bands in doubt count as failing."""
STEP_M = 5e-4
"""From one height to the next along a plumb line, where it is not known to hold all along."""
STRETCH_M = 0.016
"""Stretches of a plumb line that are judged at their middle."""


@record(frozen=True, slots=True)
class _Entry:
    """One measure where the array hangs, the columns that hold here, and what is left of each."""

    measure: Measure
    columns: Columns
    left_m: Floats

    def within(self, reach_m: float) -> _Entry | None:
        """Of the columns those that a way as long as this can end; None where there is none."""
        near = self.left_m < reach_m + MET_M
        return _Entry(self.measure, self.columns[near], self.left_m[near]) if near.any() else None


class Holding:
    """The rules that hold for one array where it hangs: neither too close, nor below advice, nor switched off.

    What cannot be judged, a sprinkler of unknown spray, cannot become too close either.
    """

    def __init__(self, scene: Scene, array: Array, stacked: dict[str, Things] | None = None) -> None:
        """`stacked`: what is round arrays, kept for several of a scene."""
        self.at, self.level_deg = array.centre_m, array.profile.level_deg
        self._swing_m = body_of(array).swing_m(self.level_deg)
        measures = measures_of(Site(scene, array, stacked))
        self._entries = [entry for measure in measures if (entry := self._entry(measure)) is not None]

    def _entry(self, measure: Measure) -> _Entry | None:
        if measure.off or measure.stop:
            return None
        left = measure.signed(np.array([self.at]))[0]
        # part by part: that the cable is too close to a thing does not let the body come closer too
        holds = np.array([measure.judges(column) for column in range(len(measure.against))], np.bool_)
        columns = np.flatnonzero(holds & (left >= -MET_M) & np.isfinite(left))
        return _Entry(measure, columns, left[columns]) if len(columns) else None

    def lost_in(self, off: OffBy) -> Limit | None:
        """What does not hold everywhere in the box of places, level or out of true; None where everything does."""
        sweep = Sweep(square_m=off.sideways_m, tilt_deg=self.level_deg)
        return self._lost(sweep, -off.down_m, off.up_m, off.reach_m + self._swing_m)

    def lost_in_disc(self, radius_m: float) -> Limit | None:
        """What does not hold everywhere in the level disc about the array; None where everything does."""
        return self._lost(Sweep(disc_m=radius_m), 0.0, 0.0, radius_m)

    def _lost(self, sweep: Sweep, low_m: float, high_m: float, reach_m: float) -> Limit | None:
        for entry in self._entries:
            near = entry.within(reach_m)
            if near is None:
                continue
            swept, z = near.measure.swept(sweep), self.at[2]
            signed = self._along(swept, near.columns)
            worst = swept.worst_heights(near.columns, z + low_m, z + high_m)
            lost = _lost_between(signed, low_m, high_m) if worst is None else _lost_at(signed, worst - z)
            if lost is not None:
                return self._limit(near, *lost)
        return None

    def _along(self, measure: Measure, columns: Columns, way: float = 1.0) -> Callable[[Floats], Floats]:
        """The measure's columns (n, columns) so far (n,) straight above the array, below for way -1."""
        x, y, z = self.at

        def signed(gone: Floats) -> Floats:
            at = np.column_stack([np.full(len(gone), x), np.full(len(gone), y), z + way * gone])
            return measure.signed_of(at, columns)

        return signed

    def _limit(self, entry: _Entry, column: int, above_m: float) -> Limit:
        """The rule that decides so far above the array, and the thing of that column."""
        which = int(entry.columns[column])
        decides = entry.measure.deciding(which, self.at[2] + above_m)
        return Limit("rule", entry.measure.against[which].thing, decides.rule.id)

    def straight_to_loss(self, most_m: float) -> tuple[float, Limit | None]:
        """How far straight up (down where `most_m` is negative) everything holds, up to that; and what ends it.

        To STEP_M: a rule that fails over less than that on the way is not seen.
        """
        way, least, end = math.copysign(1.0, most_m), abs(most_m), None
        for entry in self._entries:
            near = entry.within(least)
            found = None if near is None else _first_lost(self._along(near.measure, near.columns, way), least)
            if near is not None and found is not None:
                least, column = found
                end = self._limit(near, column, way * least)
        return (max(least - STEP_M, 0.0) if end is not None else least), end


def _first_lost(signed: Callable[[Floats], Floats], most_m: float) -> tuple[float, int] | None:
    """How far on a column first fails, to STEP_M, and which; None where all hold up to `most_m`.

    Stretches that hold at their middle by more than half their length hold throughout.
    """
    count = max(math.ceil(most_m / STRETCH_M), 1)
    half = most_m / count / 2
    middles = half * (2 * np.arange(count, dtype=float) + 1)
    doubt: Floats = middles[signed(middles).min(axis=1) < half - MET_M]
    steps = np.asarray(np.linspace(-half, half, max(math.ceil(2 * half / STEP_M), 1) + 1), float)
    for middle in doubt:
        values = signed(steps + middle)
        failing = np.flatnonzero((values < -MET_M).any(axis=1))
        if len(failing):
            first = int(failing[0])
            return float(middle + steps[first]), int(np.argmin(values[first]))
    return None


def _lost_at(signed: Callable[[Floats], Floats], heights: Floats) -> tuple[int, float] | None:
    """The column that fails most at any of these heights (k,), and where; None where all hold at all of them."""
    values = signed(heights)
    row, column = np.unravel_index(int(np.argmin(values)), values.shape)
    return (int(column), float(heights[row])) if values[row, column] < -MET_M else None


def _lost_between(
    signed: Callable[[Floats], Floats], low_m: float, high_m: float
) -> tuple[int, float] | None:
    """The column that fails somewhere from low to high, and where; None where all hold all along."""
    middles, half = np.array([(low_m + high_m) / 2]), (high_m - low_m) / 2
    while True:
        values = signed(middles)
        least = values.min(axis=1)
        worst = int(np.argmin(least))
        doubt = middles[least < half - MET_M]
        if least[worst] < -MET_M or len(doubt) > MOST_BANDS:
            return int(np.argmin(values[worst])), float(middles[worst])
        if not len(doubt) or half < FINEST_M:
            return None
        half /= CUT
        middles = (doubt[:, None] + half * np.arange(1 - CUT, CUT, 2)).ravel()
