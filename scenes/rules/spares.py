"""Whether the rules that hold where an array hangs go on holding anywhere it may be off to.

Only what holds counts: what is too close already, or is switched off, cannot be lost. On plan what hangs is
swept over all places at once (`Sweep`), which is exact. In height the rules are unions (fixed to the ceiling,
or free and far enough), so heights are cut into bands, each judged at its middle: a signed distance changes by
at most one metre per metre, so a band's ends have less by half its height at most.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.off_by import OffBy
from scenes.findings.review import Limit
from scenes.room.scene import Array, RuleChange, Scene, ceiling_of
from scenes.room.tiles import ON_IT_M, in_tile
from scenes.rulebook import Rule, rules
from scenes.rules.apply import MET_M, Part, Sweep, _Asking

Floats = NDArray[np.float64]
Columns = NDArray[np.intp]

CUT = 16
"""Into how many bands a band of heights is cut that cannot be judged as a whole."""
FINEST_M = 1e-6
"""Bands this thin that are still in doubt count as failing."""
MOST_BANDS = 1 << 16
"""So many bands in doubt count as failing."""
STEP_M = 5e-4
"""From one height to the next along a plumb line, where it is not known to hold all along."""
STRETCH_M = 0.016
"""Stretches of a plumb line that are judged at their middle."""


@dataclass(frozen=True, slots=True)
class _Entry:
    """One part of one demand: which rule asks it and as which of its demands; the columns that hold here.

    `left_m` is the least that is left of them where the array hangs.
    """

    rule: Rule
    place: int
    part: Part
    columns: Columns
    left_m: float


class Holding:
    """The rules that hold for one array where it hangs: neither too close nor switched off.

    What cannot be judged, a sprinkler of unknown spray, cannot become too close either.
    """

    def __init__(self, scene: Scene, array: Array) -> None:
        self.array, self.at = array, array.centre_m
        self._asking = _Asking(scene, array)
        self._entries = [
            entry for rule in rules().values() for entry in self._entries_of(rule, np.array([self.at]))
        ]
        self._to_tee_m = _to_tee_m(scene, array, self._asking)

    def _entries_of(self, rule: Rule, here: Floats) -> list[_Entry]:
        found = []
        for place, demand in enumerate(self._asking.demands_of(rule)):
            if not demand.parts or (demand.off and not demand.shared):
                continue
            judged = np.array([not note for note in demand.unjudged], bool)
            signed = {part: measure(here)[0] for part, measure in demand.parts.items()}
            holds = judged & (np.min(list(signed.values()), axis=0) >= -MET_M)
            if holds.any():
                columns = np.flatnonzero(holds)
                found += [
                    _Entry(rule, place, part, columns, float(left[columns].min()))
                    for part, left in signed.items()
                ]
        return found

    def lost_in(self, off: OffBy) -> Limit | None:
        """What does not hold everywhere in the box of places; None where everything does."""
        if self._to_tee_m is not None and self._to_tee_m < off.sideways_m - ON_IT_M:
            return Limit("rule", "grid", "grid-tee")
        low, high = self.at[2] - off.down_m, self.at[2] + off.up_m
        return self._lost(Sweep(square_m=off.sideways_m), low, high, off.reach_m)

    def lost_in_disc(self, radius_m: float) -> Limit | None:
        """What does not hold everywhere in the level disc about the array; None where everything does."""
        if self._to_tee_m is not None and self._to_tee_m < radius_m - ON_IT_M:
            return Limit("rule", "grid", "grid-tee")
        return self._lost(Sweep(disc_m=radius_m), self.at[2], self.at[2], radius_m)

    def _lost(self, sweep: Sweep, low_m: float, high_m: float, reach_m: float) -> Limit | None:
        asked = [entry for entry in self._entries if entry.left_m < reach_m + MET_M]
        swept = self._asking.swept(sweep)
        for rule in dict.fromkeys(entry.rule.id for entry in asked):
            demands = swept.demands_of(rules()[rule])
            for entry in asked:
                if entry.rule.id != rule:
                    continue
                demand = demands[entry.place]
                z = self.at[2]
                lost = _lost_between(self._along(demand.parts[entry.part], entry), low_m - z, high_m - z)
                if lost is not None:
                    return self._limit(entry, *lost)
        return None

    def _along(
        self, measure: Callable[[Floats], Floats], entry: _Entry, way: float = 1.0
    ) -> Callable[[Floats], Floats]:
        """The measure of an entry's columns (n, columns) so far (n,) straight above the array, below for way -1."""
        x, y, z = self.at

        def signed(gone: Floats) -> Floats:
            at = np.column_stack([np.full(len(gone), x), np.full(len(gone), y), z + way * gone])
            return measure(at)[:, entry.columns]

        return signed

    def _limit(self, entry: _Entry, column: int, above_m: float) -> Limit:
        """The rule that decides so far above the array, and the thing of that column."""
        demand = self._asking.demands_of(entry.rule)[entry.place]
        demand = demand.at_height(self.at[2] + above_m, self._asking.changes)
        return Limit("rule", demand.against[int(entry.columns[column])], demand.rule.id)

    def straight_to_loss(self, most_m: float) -> tuple[float, Limit | None]:
        """How far straight up (down where `most_m` is negative) everything holds, up to that; and what ends it.

        To STEP_M: a rule that fails over less than that on the way is not seen.
        """
        way, least, end = math.copysign(1.0, most_m), abs(most_m), None
        for entry in self._entries:
            if entry.left_m > least + MET_M:
                continue
            measure = self._asking.demands_of(entry.rule)[entry.place].parts[entry.part]
            found = _first_lost(self._along(measure, entry, way), least)
            if found is not None:
                least, column = found
                end = self._limit(entry, column, way * least)
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
        if least[worst] < -MET_M or (len(doubt) and (half < FINEST_M or len(doubt) > MOST_BANDS)):
            return int(np.argmin(values[worst])), float(middles[worst])
        if not len(doubt):
            return None
        half /= CUT
        middles = (doubt[:, None] + half * np.arange(1 - CUT, CUT, 2)).ravel()


def _to_tee_m(scene: Scene, array: Array, asking: _Asking) -> float | None:
    """What is left to the nearest tee of the ceiling's grid beyond what is asked; None where that is not met now."""
    found = in_tile(scene.room, array)
    required = off_tees_m(scene, array, asking.changes.get("grid-tee"))
    if found is None or not found.fits or required is None:
        return None
    left = found.least_m - required
    return left if left >= -ON_IT_M else None


def off_tees_m(scene: Scene, array: Array, change: RuleChange | None) -> float | None:
    """What is asked between the array's cable (a flush body's outline) and a tee of the grid; None where nothing is.

    `change` is what the spec changes of that rule.
    """
    if ceiling_of(scene) != "suspended" or (change is not None and change.off):
        return None
    if change is not None and change.value_m is not None:
        return change.value_m
    return 0.0 if array.profile.mount == "flush" else rules()["grid-tee"].values["required"]
