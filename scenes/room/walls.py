"""Walls by name, and the two that an installer measures from."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from scenes.room.scene import Room

if TYPE_CHECKING:
    pass


def wall_name(index: int) -> str:
    """What wall `index` is called on plan and in the schedule: W1 runs from the outline's first corner."""
    return f"W{index + 1}"


def reference_walls(room: Room) -> tuple[int, int]:
    """The two walls that x and y are measured from: their indices, the same for every array.

    x from the longest wall that runs rather along y, y from the longest that runs rather along x; of
    equal ones the one with the lowest x, or y.
    """
    found = []
    for axis in (0, 1):
        best, least = 0, None
        for index in range(len(room.outline_m)):
            a, b = np.array(room.wall(index), float)
            run = b - a
            length = float(np.hypot(*run))
            if length == 0:
                continue
            lean = abs(run[axis]) / length
            # rather along the other axis first, then the longest, then the lowest
            rank = (lean > math.sqrt(0.5) + 1e-9, -round(length, 6), round(float(a[axis] + b[axis]), 6))
            if least is None or rank < least:
                best, least = index, rank
        found.append(best)
    return found[0], found[1]
