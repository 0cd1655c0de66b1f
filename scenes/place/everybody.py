"""Whom a search is asked for: talkers one by one, and areas in which anybody may be anywhere."""

from __future__ import annotations

import math

from geometry.coverage import Heads
from scenes.review.areas import as_rows, shape_of
from scenes.room.scene import Scene

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


def ids_of_everybody(scene: Scene) -> tuple[str, ...]:
    """Their ids, in that order."""
    return (*(head.id for head in scene.heads), *(area.id for area in scene.areas))
