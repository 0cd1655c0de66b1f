"""Arrays kept clear of each other.

What arrays must keep from each other (`Between`) depends on where the others are, so it binds one array
at a time: the others stand still while one is searched for. Where two arrays want the same place, both
orders are tried, and both sides of planes between them, and the arrangement with the best score is kept.
That is a way to find arrangements, never a proof: bounds are made without these rules, and hold all the
more with them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np

from geometry.aims import Aim
from geometry.band import ON_EDGE_M, Floats
from geometry.constraint import Constraint
from geometry.hearing import Indices
from geometry.kind import Position
from geometry.placement import Effort
from geometry.problem import ArrangementProblem

EXCHANGES = 8
"""How often heads change hands while arrays are moved to the best place for their own."""
MOST_ORDERS = 6
"""Orders in which arrays that want the same place are put there one after the other: all orders of three."""
DIRECTIONS = 8
"""Planes between two arrays that want the same place, by the direction they look in."""
TRIAL = Effort(gap_share=2.0)
"""Ways to part arrays are compared before the best is polished."""
FARTHEST_APART_M = 8.0
"""No rule between two arrays is asked for beyond this."""
APART_STEP_M = 1e-4
"""How exactly it is found how far apart two arrays must be."""


def settle(
    problem: ArrangementProblem, positions: Sequence[Position], aim: Aim, enough: float = math.inf
) -> list[Position]:
    """The arrays moved so that they keep clear of each other.

    Where no such places are found some are left out, those that cannot move at all the last. With a score
    of `enough`, as close to a bound as need be, nothing better is sought.
    """
    now = list(positions)
    conflicts = problem.in_conflict(now)
    if not conflicts:
        return now
    owner = problem.owners(now)
    everybody = np.arange(len(problem.heads))
    groups = [own if len(own := np.flatnonzero(owner == i)) else everybody for i in range(len(now))]
    best: list[Position] | None = None
    score = -math.inf
    trials = itertools.chain(
        _in_turn(problem, now, groups, aim), _parted(problem, now, groups, conflicts, aim)
    )
    for trial in trials:
        if not problem.in_conflict(trial) and (found := problem.score(trial, aim)) > score + ON_EDGE_M:
            best, score = trial, found
            if score >= enough:
                return trial
    return _exchanged(problem, _fewer(problem, now, aim) if best is None else best, aim)


def _fewer(problem: ArrangementProblem, positions: Sequence[Position], aim: Aim) -> list[Position]:
    """Of each two in conflict the one left out whose absence costs less; two that are held both stay."""
    now = list(positions)
    while True:
        pairs = [
            able
            for pair in problem.in_conflict(now)
            if (able := [k for k in pair if not problem.kinds[now[k].kind].held])
        ]
        if not pairs:
            return now
        now.pop(max(pairs[0], key=lambda k: problem.least([*now[:k], *now[k + 1 :]])))


def _in_turn(
    problem: ArrangementProblem, positions: Sequence[Position], groups: Sequence[Indices], aim: Aim
) -> Iterable[list[Position]]:
    """One after the other, each at the best place for its group that is clear of those before it."""
    for order in itertools.islice(itertools.permutations(range(len(positions))), MOST_ORDERS):
        put: dict[int, Position] = {}
        for i in order:
            found = problem.best(
                positions[i].kind, groups[i], aim, positions[i], list(put.values()), effort=TRIAL
            )
            if found is None:
                break
            put[i] = found
        else:
            yield [put[i] for i in range(len(positions))]


def _parted(
    problem: ArrangementProblem,
    positions: Sequence[Position],
    groups: Sequence[Indices],
    conflicts: Sequence[tuple[int, int]],
    aim: Aim,
) -> Iterable[list[Position]]:
    """The pairs in conflict on either side of an upright plane half way between them, looking every way."""
    for turn in np.arange(DIRECTIONS) * 2 * math.pi / DIRECTIONS:
        way = np.array([math.cos(turn), math.sin(turn), 0.0])
        now = list(positions)
        for i, j in conflicts:
            middle = (np.array(now[i].at_m) + now[j].at_m) / 2
            apart = _apart(problem, now[i], now[j], middle, way)
            others = [other for k, other in enumerate(now) if k not in (i, j)]
            moved = []
            for one, side in ((i, way), (j, -way)):
                beyond = _beyond(middle + side * apart / 2, side)
                moved.append(
                    problem.best(now[one].kind, groups[one], aim, None, others, (beyond,), effort=TRIAL)
                )
            if moved[0] is None or moved[1] is None:
                break
            now[i], now[j] = moved[0], moved[1]
        else:
            yield now


def _beyond(point: Floats, way: Floats) -> Constraint:
    """Beyond the plane through the point that looks this way."""
    return Constraint(("aside",), lambda at: np.asarray((np.atleast_2d(at) - point) @ way), stop=True)


def _apart(problem: ArrangementProblem, one: Position, other: Position, middle: Floats, way: Floats) -> float:
    """How far apart along `way` two arrays at the same height must be, to a tenth of a millimetre."""

    def clear(apart: float) -> bool:
        x, y, z = (float(number) for number in middle + way * apart / 2)
        there = Position((x, y, z), one.band, one.kind)
        return problem.left_beside(other.kind, middle - way * apart / 2, [there]) >= 0

    low, high = 0.0, FARTHEST_APART_M
    while high - low > APART_STEP_M:
        half = (low + high) / 2
        low, high = (low, half) if clear(half) else (half, high)
    return high


def _exchanged(problem: ArrangementProblem, positions: Sequence[Position], aim: Aim) -> list[Position]:
    """Heads handed to who serves them best and arrays to the best place for their own, while that helps."""
    best, score = list(positions), problem.score(positions, aim)
    for _ in range(EXCHANGES):
        owner, now = problem.owners(best), list(best)
        for i, position in enumerate(now):
            own = np.flatnonzero(owner == i)
            if len(own):
                others = [*now[:i], *now[i + 1 :]]
                now[i] = problem.best(position.kind, own, aim, position, others) or position
        found = problem.score(now, aim)
        if not found > score + 1e-6:
            break
        best, score = now, found
    return best


def fill_up(
    problem: ArrangementProblem, positions: Sequence[Position], count: int, aim: Aim
) -> list[Position]:
    """`count` arrays: those more than the margin needs go to one half of the largest group.

    Fewer come back where no place is left that is clear of the others; one that is held comes anyway.
    """
    now = list(positions)
    while len(now) < count:
        left = [
            k
            for k, kind in enumerate(problem.kinds)
            if kind.count is None or sum(position.kind == k for position in now) < kind.count
        ]
        half = _half_of_the_largest_group(problem, now)
        spare = (problem.best(k, half, aim, None, now) for k in left)
        found = next((position for position in spare if position is not None), None)
        if found is None:
            held = (problem.best(k, half, aim) for k in left if problem.kinds[k].held)
            found = next((position for position in held if position is not None), None)
        if found is None:
            break
        now.append(found)
    return now


def _half_of_the_largest_group(problem: ArrangementProblem, positions: Sequence[Position]) -> Indices:
    """One half, along its longest extent, of the heads of the array that serves most; of all without arrays."""
    group = np.arange(len(problem.heads))
    if positions:
        owner = problem.owners(positions)
        group = np.flatnonzero(owner == np.argmax(np.bincount(owner)))
    at = problem.heads.at_m[group]
    along = np.linalg.svd(at - at.mean(axis=0), full_matrices=False)[2][0]
    return group[np.argsort(at @ along, kind="stable")[: max(1, len(group) // 2)]]
