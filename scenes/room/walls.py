"""Walls by name, and the two that an installer measures from."""

from __future__ import annotations

import math

import numpy as np

from geometry.shapes import Point2
from scenes.room.scene import Room


def wall_name(index: int) -> str:
    """What wall `index` is called on plan and in the schedule: W1 runs from the outline's first corner."""
    return f"W{index + 1}"


def reference_walls(room: Room) -> tuple[int, int]:
    """The two walls that x and y are measured from: their indices, the same for every array.

    x from the longest wall that runs rather along y, y from the longest that runs rather along x; of
    equal ones the one with the lowest x, or y. Never two that run alike: a place is not set out by those.
    """
    found: list[int] = []
    for axis in (0, 1):
        best, least = 0, None
        for index in range(len(room.outline_m)):
            a, b = np.array(room.wall(index), float)
            run = b - a
            length = float(np.hypot(*run))
            if length == 0 or any(_run_alike(room, index, other) for other in found):
                continue
            lean = abs(run[axis]) / length
            # rather along the other axis first, then the longest, then the lowest
            rank = (lean > math.sqrt(0.5) + 1e-9, -round(length, 6), round(float(a[axis] + b[axis]), 6))
            if least is None or rank < least:
                best, least = index, rank
        found.append(best)
    return found[0], found[1]


def _run_alike(room: Room, one: int, other: int) -> bool:
    """Whether two walls are parallel, within a degree."""
    (ax, ay), (bx, by) = (np.subtract(*room.wall(index)) for index in (one, other))
    return bool(
        abs(ax * by - ay * bx) < math.sin(math.radians(1.0)) * math.hypot(ax, ay) * math.hypot(bx, by)
    )


SQUARE = math.cos(math.radians(1.0))
"""A wall is square to a direction within a degree."""


def wall_towards(room: Room, at_m: Point2, way: Point2) -> int | None:
    """The index of the wall that is met first from a plan place along a plan direction, a unit vector.

    None where that wall is not square to the direction, or none is met: it is no name for the direction then.
    """
    met = met_towards(room, at_m, way)
    if met is None:
        return None
    (ax, ay), (bx, by) = room.wall(met[0])
    across = abs(way[0] * (by - ay) - way[1] * (bx - ax)) / math.hypot(bx - ax, by - ay)
    return met[0] if across >= SQUARE else None


def met_towards(room: Room, at_m: Point2, way: Point2) -> tuple[int, float, float] | None:
    """The wall that is met first from a plan place along a plan direction, and where: metres along it from either end.

    None where none is met.
    """
    nearest: tuple[float, int, float, float] | None = None
    for index in range(len(room.outline_m)):
        (ax, ay), (bx, by) = room.wall(index)
        cross = way[0] * (by - ay) - way[1] * (bx - ax)
        if cross == 0:
            continue
        ahead = ((ax - at_m[0]) * (by - ay) - (ay - at_m[1]) * (bx - ax)) / cross
        along = ((ax - at_m[0]) * way[1] - (ay - at_m[1]) * way[0]) / cross
        if ahead > 0 and 0 <= along <= 1 and (nearest is None or ahead < nearest[0]):
            long = math.hypot(bx - ax, by - ay)
            nearest = ahead, index, along * long, (1 - along) * long
    return None if nearest is None else nearest[1:]
