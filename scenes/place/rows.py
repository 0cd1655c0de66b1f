"""Several arrays in one row: where rows may lie, and a row put on whole steps without being broken."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from geometry.aims import Aim, Margin
from geometry.band import ON_EDGE_M, Floats
from geometry.kind import Position
from geometry.patterns import Pattern
from geometry.problem import ArrangementProblem
from scenes.room.scene import Array, Scene, Table

FINE_M = 0.001
FINE_IN_M = 0.0254 / 16
"""Places of a row are whole numbers of this, whatever line it is on: the wish comes before whole steps."""
NEAR_STEPS = (3, 8)
"""So many steps of spacing and height either way are tried for a row, the nearer ones first."""
ASKED = 60
"""So many rows on steps are judged in full, the most promising first."""


def rows_of(scene: Scene, count: int) -> tuple[Pattern, ...]:
    """The rows of so many arrays that are wished for: along the one table that they are to be over.

    Without such a table, through the room's middle, along x and along y.
    """
    over = [table for table in scene.tables if table.id in scene.wishes.over.value]
    if len(over) == 1:
        return (Pattern(over[0].at_m, long_side_deg(over[0]), count),)
    (left, bottom), (right, top) = scene.room.bounds_m
    middle = ((left + right) / 2, (bottom + top) / 2)
    along = (0.0, 90.0) if right - left >= top - bottom else (90.0, 0.0)
    return tuple(Pattern(middle, deg, count) for deg in along)


def long_side_deg(table: Table) -> float:
    """The plan angle of a table's longer side."""
    return table.turn_deg if table.size_m[0] >= table.size_m[1] else table.turn_deg + 90


def alike(arrays: Sequence[Array]) -> bool:
    """Whether these arrays are of one profile, and, unless it is round, turned alike."""
    return len({(one.profile.name, None if one.profile.round else one.turn_deg) for one in arrays}) == 1


def row_on_steps(
    problem: ArrangementProblem,
    rows: Sequence[Pattern],
    here: Sequence[Position],
    aim: Aim,
    step_m: float,
    fine_m: float,
    height_from_m: float,
) -> tuple[tuple[Position, ...], int]:
    """The row about these positions whose spacing and height are whole steps, and of how many; empty where none is.

    The best by the aim, or by the largest margin where none has what the aim needs. Plan places are whole numbers
    of `fine_m`, heights are whole steps from `height_from_m`.
    """
    found = _numbers(rows, here)
    if found is None:
        return (), 0
    row, spacing, height = found
    held = problem.kinds[0].box.low_m[2] == problem.kinds[0].box.high_m[2]
    for most in NEAR_STEPS:
        near = np.arange(-most, most + 1)
        spacings = (round(spacing / step_m) + near) * step_m
        base = round((height - height_from_m) / step_m)
        heights = np.array([height]) if held else height_from_m + (base + near) * step_m
        tried = [
            _positions(row, s, z, here[0].band, fine_m)
            for s, z in itertools.product(spacings[spacings > 0].tolist(), heights.tolist())
        ]
        allowed = [one for one in tried if _allowed(problem, one)]
        by_margin = sorted(allowed, key=lambda one: -problem.least(one))
        for by in (aim, Margin()):
            scored = [(problem.score(one, by), k) for k, one in enumerate(by_margin[:ASKED])]
            for score, k in sorted(scored, key=lambda pair: (-pair[0], pair[1])):
                if score > -math.inf and not problem.in_conflict(by_margin[k]):
                    return by_margin[k], len(tried)
    return (), 0


def _numbers(rows: Sequence[Pattern], here: Sequence[Position]) -> tuple[Pattern, float, float] | None:
    """The row that these positions are in, with its spacing and height."""
    at = np.array([position.at_m for position in here])
    apart = float(np.hypot(*(at[1] - at[0])[:2]))
    numbers = np.array([[apart, 0.0, 0.0, at[0, 2]]])
    for row in rows:
        if row.count == len(at) and np.abs(row.places(numbers)[0] - at).max() < 1e-6:
            return row, apart, float(at[0, 2])
    return None


def _positions(row: Pattern, spacing: float, height: float, band: int, fine_m: float) -> tuple[Position, ...]:
    at: Floats = row.places(np.array([[spacing, 0.0, 0.0, height]]))[0]
    plan = np.round(at[:, :2] / fine_m) * fine_m
    return tuple(Position((round(x, 9), round(y, 9), round(height, 9)), band) for x, y in plan.tolist())


def _allowed(problem: ArrangementProblem, positions: Sequence[Position]) -> bool:
    at = np.array([position.at_m for position in positions])
    box = problem.kinds[0].box
    low, high = np.array(box.low_m) - ON_EDGE_M, np.array(box.high_m) + ON_EDGE_M
    if (at < low).any() or (at > high).any():
        return False
    return all((rule.left(at) >= -ON_EDGE_M).all() for rule in problem.rules(0, Margin()))
