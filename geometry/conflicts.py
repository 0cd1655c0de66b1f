"""When one array cannot serve everybody: which heads conflict, and what reach would do."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from geometry.aims import Margin
from geometry.band import ON_EDGE_M
from geometry.coverage import Heads, cover
from geometry.hearing import Bools, Hearing, Indices
from geometry.kind import ArrayKind, Position
from geometry.placement import Effort, Prepared, search


def can_serve(
    heads: Heads, kind: ArrayKind, *, effort: Effort | None = None, prepared: Prepared | None = None
) -> Position | bool:
    """A place from which everybody is covered and seen; False if provably none; True if neither is known."""
    found = search(heads, kind, Margin(), effort=effort, at_least=-ON_EDGE_M, prepared=prepared)
    if found.position is not None and found.score is not None and found.score >= -2 * ON_EDGE_M:
        return found.position
    return found.outcome == "unresolved"


def smallest_conflict(
    heads: Heads, *kinds: ArrayKind, pairs: int = 120, effort: Effort | None = None
) -> tuple[Indices, bool] | None:
    """Heads that provably no array of any of the kinds can serve together, and whether no smaller group is in conflict.

    Looks for one head, then for two (the farthest apart and the most different in height first, at most
    `pairs` of them), then takes heads away for as long as the rest stays in conflict, so that the group
    is irreducible: without any one of them the others can be served. None where everybody can be served
    or that cannot be decided within the effort.
    """
    each = [_Conflicts(heads, kind, effort) for kind in kinds]

    def conflicting(which: Sequence[int]) -> bool:
        return all(one.conflicting(which) for one in each)

    count = len(heads)
    everybody = list(range(count))
    if not conflicting(everybody):
        return None
    for head in everybody:
        if conflicting([head]):
            return np.array([head]), True
    first, second = np.triu_indices(count, 1)
    away = np.linalg.norm(heads.at_m[first] - heads.at_m[second], axis=1)
    drop = np.abs(heads.at_m[first, 2] - heads.at_m[second, 2])
    order = np.argsort(-(away + 4 * drop), kind="stable")
    for k in order[:pairs]:
        if conflicting([int(first[k]), int(second[k])]):
            return np.array([first[k], second[k]]), True
    group = _irreducible(everybody, conflicting)
    return np.array(group), len(group) <= 2 or (len(group) == 3 and len(order) <= pairs)


class _Conflicts:
    """Whether groups are in conflict, asked of the band alone first and of rules and sight only where it says no."""

    def __init__(self, heads: Heads, kind: ArrayKind, effort: Effort | None) -> None:
        self.heads, self.kind, self.effort = heads, kind, effort
        self.sight = Prepared.of(heads, kind).sight
        self.served: list[Bools] = []
        """(heads,) whom each allowed place found so far covers: no group of theirs is in conflict."""

    def conflicting(self, which: Sequence[int]) -> bool:
        group = np.array(which, np.int64)
        if any(covered[group].all() for covered in self.served):
            return False
        subset = self.heads.take(group)
        bare = replace(self.kind, constraints=(), blockers=())
        # the band alone is asked first: that is quick, and where it says no the rules need not be asked
        place = can_serve(subset, bare, effort=self.effort)
        if isinstance(place, Position) and not self._allowed(place, group):
            place = True
        if place is True:
            sight = None if self.sight is None else self.sight.take(group)
            prepared = Prepared(Hearing(subset, self.kind.bands), sight)
            place = can_serve(subset, self.kind, effort=self.effort, prepared=prepared)
        if isinstance(place, Position):
            at = np.array([place.at_m])
            seen = np.ones((1, len(self.heads)), np.bool_) if self.sight is None else self.sight.sees(at)
            margins = cover(at, [self.kind.bands[place.band]], self.heads).margin_m[0]
            self.served.append((margins >= -2 * ON_EDGE_M) & seen[0])
        return place is False

    def _allowed(self, place: Position, group: Indices) -> bool:
        """Whether rules hold at a place and the group is seen from it."""
        at = np.array([place.at_m])
        if any(rule.signed_m(at)[0] < -ON_EDGE_M for rule in self.kind.constraints):
            return False
        return self.sight is None or bool(self.sight.take(group).sees(at).all())


def _irreducible(group: list[int], conflicting: Callable[[Sequence[int]], bool]) -> list[int]:
    """Heads taken away, many at a time and then one by one, for as long as the rest is in conflict."""
    width = max(len(group) // 2, 1)
    while True:
        start = 0
        while start < len(group):
            rest = group[:start] + group[start + width :]
            if rest and conflicting(rest):
                group = rest
            else:
                start += width
        if width == 1:
            return group
        width = max(width // 2, 1)


def reach_needed(
    heads: Heads, kind: ArrayKind, *, most_m: float = 20.0, step_m: float = 0.01
) -> float | None:
    """The smallest far reach, in whole steps, with which this kind's bands cover everybody; None up to `most_m`."""

    def works(steps: int) -> bool:
        longer = tuple(replace(band, far_m=max(steps * step_m, band.near_m + step_m)) for band in kind.bands)
        return isinstance(can_serve(heads, replace(kind, bands=longer)), Position)

    fails = math.floor(max(band.far_m for band in kind.bands) / step_m)
    holds = math.floor(most_m / step_m)
    if not works(holds):
        return None
    while holds - fails > 1:
        middle = (fails + holds) // 2
        fails, holds = (fails, middle) if works(middle) else (middle, holds)
    return round(holds * step_m, 9)
