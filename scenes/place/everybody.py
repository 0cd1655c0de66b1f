"""Whom a search is asked for: talkers one by one, and areas in which anybody may be anywhere."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometry.coverage import Heads
from scenes.review.areas import as_rows, shape_of
from scenes.room.scene import Scene

Bools = NDArray[np.bool_]

TALKER_STEPS = 4
"""Weights of talkers are told in quarters."""
ROUNDING = 1e-6


def everybody(scene: Scene) -> Heads:
    """The talkers, and behind them each area, as if one array answered for all of it."""
    if not scene.areas:
        return scene.heads_as_rows
    return scene.heads_as_rows.and_besides(as_rows([shape_of(area) for area in scene.areas]))


def talkers_in(scene: Scene, weight: float) -> float:
    """What of a weight is talkers': areas weigh next to nothing, and are no talkers."""
    if not scene.areas:
        return weight
    return math.floor(weight * TALKER_STEPS + ROUNDING) / TALKER_STEPS


def covered_in_the_worst(scene: Scene, covered: Bools) -> tuple[float, int, int]:
    """By which heads (n,) are covered: people covered by weight and by number, and of how many; of layouts the worst.

    That is the one in which the most weight is not covered, on a tie the one with the fewest people covered.
    """
    layouts: dict[int | None, dict[str, tuple[float, bool]]] = {}
    for head, is_covered in zip(scene.heads, covered.tolist(), strict=True):
        people = layouts.setdefault(scene.furnishing(head.id), {})
        _, before = people.get(head.person, (head.weight, True))
        people[head.person] = (head.weight, before and bool(is_covered))
    each = []
    for people in layouts.values():
        weight = sum(one for one, is_covered in people.values() if is_covered)
        lacks = sum(one for one, is_covered in people.values() if not is_covered)
        number = sum(is_covered for _, is_covered in people.values())
        each.append((lacks, -number, weight, number, len(people)))
    _, _, weight, number, talkers = max(each, default=(0.0, 0, 0.0, 0, 0))
    return weight, number, talkers


def ids_of_everybody(scene: Scene) -> tuple[str, ...]:
    """Their ids, in that order."""
    return (*(head.id for head in scene.heads), *(area.id for area in scene.areas))
