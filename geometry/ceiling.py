"""The undersides of a ceiling: flat and sloped parts by their plan outlines, and how high each is over a place.

Drops, lowest points of devices and flush bodies are all measured from the part over a place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry.polygons import area, inside
from geometry.records import record

Point2 = tuple[float, float]


@record(frozen=True, slots=True)
class Surface:
    """One part's underside over its plan outline: at a place (x, y) it is level_m + rise · (x, y) high, metres."""

    outline_m: tuple[Point2, ...]
    level_m: float
    rise: Point2 = (0.0, 0.0)

    @property
    def flat(self) -> bool:
        """Whether it is level."""
        return self.rise == (0.0, 0.0)

    def height_m(self, at: Point2) -> float:
        """How high it is over a place, also beyond its outline."""
        return self.level_m + self.rise[0] * at[0] + self.rise[1] * at[1]

    def covers(self, at: Point2) -> bool:
        """Whether it is over a place; its edges are part of it."""
        return inside(at, self.outline_m)

    @property
    def span_m(self) -> tuple[float, float]:
        """Its lowest and highest height."""
        if self.flat:
            return self.level_m, self.level_m
        heights = [self.height_m(corner) for corner in self.outline_m]
        return min(heights), max(heights)

    def volume_over_m3(self, height_m: float) -> float:
        """The volume between a level and the surface over it, negative where it is lower, cubic metres."""
        corners, twice = self.outline_m, 2 * area(self.outline_m)
        x, y = 0.0, 0.0
        for (a, b), (c, d) in zip(corners, (*corners[1:], corners[0]), strict=True):
            cross = (a * d - c * b) / (3 * twice)
            x, y = x + (a + c) * cross, y + (b + d) * cross
        return abs(twice) / 2 * (self.height_m((x, y)) - height_m)


def sloped(outline_m: Sequence[Point2], low_m: float, high_m: float, towards_deg: float) -> Surface:
    """A surface that rises from low to high along a plan angle, from the outline's first corner that way to its last."""
    way = math.cos(math.radians(towards_deg)), math.sin(math.radians(towards_deg))
    along = [way[0] * x + way[1] * y for x, y in outline_m]
    per_m = (high_m - low_m) / (max(along) - min(along))
    return Surface(tuple(outline_m), low_m - per_m * min(along), (per_m * way[0], per_m * way[1]))
