"""Several arrays on lattice places: the best row, the best grid, the best anywhere, each by going through them all.

Heights are whole steps too, so there are so many places and no more: what is found is the best of the lattice, not
the lattice place nearest to the best.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from geometry.aims import Margin, ranked
from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.kind import Position
from geometry.patterns import Pattern
from geometry.placement import Solution
from geometry.problem import ArrangementProblem
from geometry.set_cover import largest_cover, smallest_cover

SQUARE_DEG = 0.1
"""A pattern turned by less than this from the lattice is on it."""
TRIED = 40
"""So many arrangements are judged in full, the best first, until one keeps its arrays clear of each other."""
NARROWED = 12
"""How often the margin is halved for which so many arrays are sought: to less than a millimetre."""


@dataclass(slots=True)
class LatticePlaces:
    """Every allowed place of a lattice with what it gives, of the first kind of array.

    steps   (t, 2) whole-number places on plan, `pitch_m` apart from `origin_m`
    heights (z,) the heights there are
    """

    problem: ArrangementProblem
    steps: Indices
    pitch_m: tuple[float, float]
    origin_m: tuple[float, float]
    heights_m: Floats
    gives: Floats = field(init=False)
    """(bands, t, z, heads) the margin of each head, UNSEEN_M where it is hidden or the place is not allowed."""

    def __post_init__(self) -> None:
        at = self.places.reshape(-1, 3)
        allowed = np.ones(len(at), np.bool_)
        for rule in self.problem.rules(0, Margin()):
            asked = np.flatnonzero(allowed)
            if len(asked):
                allowed[asked] = rule.left(at[asked]) >= -ON_EDGE_M
        some = np.flatnonzero(allowed)
        bands = len(self.problem.kinds[0].bands)
        gives = np.full((bands, len(at), len(self.problem.heads)), UNSEEN_M)
        if len(some):
            seen = self.problem.seen(0, at[some])
            for band in range(bands):
                margins = self.problem.margins(0, band, at[some])
                gives[band, some] = np.where(seen, margins, UNSEEN_M)
        self.gives = gives.reshape(bands, len(self.steps), len(self.heights_m), -1)

    @property
    def places(self) -> Floats:
        """(t, z, 3) the places."""
        plan = np.array(self.origin_m) + self.steps * np.array(self.pitch_m)
        shape = (len(plan), len(self.heights_m))
        xy = np.broadcast_to(plan[:, None], (*shape, 2))
        return np.concatenate([xy, np.broadcast_to(self.heights_m[:, None], (*shape, 1))], axis=-1)

    # A pattern -------------------------------------------------------------------------------------------

    def best_pattern(self, pattern: Pattern) -> Solution | None:
        """The most covered, then the largest margin, of the pattern on the lattice; None where it lies askew.

        As symmetrical about its middle as the lattice lets it be.
        """
        began = time.perf_counter()
        turn = pattern.along_deg % 180
        along = next(
            (axis for axis, deg in ((0, 0), (1, 90), (0, 180)) if abs(turn - deg) < SQUARE_DEG), None
        )
        if along is None:
            return None
        # level arrays are in each other's way at one height if at any
        sets = [
            one
            for one in self._laid(pattern, along)
            if not self.problem.in_conflict(self._positions([(0, tile, -1) for tile in one.tolist()]))
        ]
        if not len(sets):
            return Solution(Margin(), "none allowed", (), None, None, 0, time.perf_counter() - began)
        values = np.full((len(self.gives), len(sets), len(self.heights_m)), -np.inf)
        margins = values.copy()
        for band, given in enumerate(self.gives):
            usable = (given > UNSEEN_M / 2).any(axis=-1)
            for k, one in enumerate(sets):
                allowed = usable[one].all(axis=0)
                most = given[one].max(axis=0)[allowed]
                values[band, k, allowed] = ranked(self.problem.hearings[0], most.T)
                margins[band, k, allowed] = most.min(axis=-1)
        bound = float(margins.max())
        order = np.argsort(-values, axis=None, kind="stable")
        for tried, flat in enumerate(order.tolist()):
            band, k, height = (int(i) for i in np.unravel_index(flat, values.shape))
            if values[band, k, height] == -np.inf or tried >= TRIED:
                break
            positions = self._positions([(band, tile, height) for tile in sets[k].tolist()])
            if not self.problem.in_conflict(positions):
                return self._told(positions, bound, values.size, began, proven=True)
        if bound == -np.inf:
            return Solution(
                Margin(), "none allowed", (), None, None, values.size, time.perf_counter() - began
            )
        return Solution(Margin(), "unresolved", (), None, bound, values.size, time.perf_counter() - began)

    def _laid(self, pattern: Pattern, along: int) -> list[Indices]:
        """The lattice places (n,) of every way to lay the pattern out about its middle, to within half a step."""
        of = {tuple(step): k for k, step in enumerate(self.steps.tolist())}
        across = 1 - along
        ranges = []
        for axis, count in ((along, pattern.columns), (across, pattern.rows)):
            pitch, low = self.pitch_m[axis], self.origin_m[axis]
            middle = (pattern.middle_m[axis] - low) / pitch
            most = int(self.steps[:, axis].max() - self.steps[:, axis].min()) if len(self.steps) else 0
            found = []
            for step in range(1, most // (count - 1) + 1) if count > 1 else (0,):
                first = middle - step * (count - 1) / 2
                near = {math.floor(first), math.ceil(first)}
                found += [[a + i * step for i in range(count)] for a in near if abs(a - first) <= 0.5 + 1e-6]
            ranges.append(found)
        sets = []
        for columns, rows in itertools.product(*ranges):
            cells = [(c, r) if along == 0 else (r, c) for r in rows for c in columns]
            if all(cell in of for cell in cells):
                sets.append(np.array([of[cell] for cell in cells]))
        return sets

    # Anywhere --------------------------------------------------------------------------------------------

    def best_anywhere(self, count: int) -> Solution:
        """The most covered, then the largest margin, of at most so many arrays, each at its own height and band."""
        began = time.perf_counter()
        heads = self.gives.shape[-1]
        given = self.gives.reshape(-1, heads)
        usable = np.flatnonzero((given > UNSEEN_M / 2).any(axis=1))
        given = given[usable]
        if not len(given):
            return Solution(Margin(), "none allowed", (), None, None, 0, time.perf_counter() - began)
        high = max(float(given.max(axis=0).min()), 0.0) + ON_EDGE_M
        low = 0.0
        chosen, proven = self._cover(given, low, count)
        if chosen is None:
            # so many do not cover everybody: by how much does not matter, whom they cover does
            chosen = self._most(given, count)
            return self._told(self._chosen(usable[chosen]), low, len(given), began, proven=proven)
        best, sure = chosen, True
        for _ in range(NARROWED):
            middle = (low + high) / 2
            found, proven = self._cover(given, middle, count)
            if found is None:
                high, sure = middle, sure and proven
            else:
                best = found
                low = max(middle, float(given[found].max(axis=0).min()))
        return self._told(self._chosen(usable[best]), high, len(given), began, proven=sure)

    def _most(self, given: Floats, count: int) -> Indices:
        """Places that cover the most persons, by weight, at most so many."""
        _, person = np.unique(self.problem.heads.person, return_inverse=True)
        weight = np.zeros(int(person.max()) + 1)
        weight[person] = self.problem.heads.weight
        return largest_cover(given >= 0, person, weight, count).chosen

    def _chosen(self, places: Indices) -> tuple[Position, ...]:
        """The places by their number among all, as positions."""
        shape = self.gives.shape[:3]
        return self._positions([tuple(int(i) for i in np.unravel_index(k, shape)) for k in places.tolist()])

    def _cover(self, given: Floats, margin_m: float, count: int) -> tuple[Indices | None, bool]:
        """Places that give everybody this margin, at most so many; and, where there are none, whether that is proven."""
        sets: Bools = given >= margin_m
        found = smallest_cover(sets, total=count)
        return found.chosen, found.at_least > count

    # The answer ------------------------------------------------------------------------------------------

    def _positions(self, where: Sequence[tuple[int, ...]]) -> tuple[Position, ...]:
        places = self.places
        return tuple(
            Position((float(places[t, z, 0]), float(places[t, z, 1]), float(places[t, z, 2])), band)
            for band, t, z in where
        )

    def _told(
        self, positions: tuple[Position, ...], bound: float, spent: int, began: float, *, proven: bool
    ) -> Solution:
        seconds = time.perf_counter() - began
        if not positions or self.problem.in_conflict(positions):
            return Solution(Margin(), "unresolved", (), None, bound, spent, seconds)
        figures = self.problem.figures(positions)
        margin = self.problem.score(positions, Margin())
        # where nobody's place covers everybody, that is what is proven
        closed = bound - margin <= Margin.gap or bound <= 0
        outcome: Outcome = "certified" if proven and closed else "unresolved"
        return Solution(Margin(), outcome, positions, figures, max(bound, margin), spent, seconds)
