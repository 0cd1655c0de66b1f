"""A small room whose arrays must keep from each other, for the tests of several arrays."""

import math

import numpy as np

from geometry.aims import Margin
from geometry.arrangement import Arrangement, Wish, arrange
from geometry.band import Band
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads
from geometry.problem import ArrangementProblem

BANDS = (Band(11, 52, 0.8, 2.6), Band(37, 83, 0.8, 2.6))
BOX = SearchBox((0.3, 0.3, 1.8), (3.7, 3.7, 2.5))
APART_M = 0.8


def between(kit, others):
    """Every two arrays keep APART_M from each other on plan and in height together."""
    at = np.array([place for _, place in others])
    return [
        Constraint(
            ("apart",),
            lambda here: np.linalg.norm(here[:, None] - at[None], axis=2).min(axis=1) - APART_M,
        )
    ]


def ring(count=6, radius=0.6, sway=0.05):
    turn = np.arange(count) * 2 * math.pi / count
    at = np.column_stack(
        [2 + radius * np.cos(turn), 2 + radius * np.sin(turn), 1.2 + 0.02 * np.arange(count)]
    )
    return Heads.at(at, sway_m=sway)


def arranged(heads, kinds, count=None, aim=None, between=None, also=()) -> Arrangement:
    """Arrays by an aim (the largest margin if none is named), the largest margin where it cannot be had."""
    problem = ArrangementProblem(heads, tuple(kinds), between)
    return arrange(problem, Wish((aim or Margin(), *also), Margin()), count)
