"""The simple solids that rooms are made of: one definition for clearance, sight and pictures.

Every shape is frozen, in metres, in the room's frame (x right and y up on the plan, z up from the
finished floor); turns are degrees anticlockwise about the vertical through the shape's middle.
"""

from __future__ import annotations

import math

from geometry.polygons import turned_rectangle
from geometry.records import record

Point2 = tuple[float, float]
Point3 = tuple[float, float, float]

CONVEX_M2 = 1e-9
"""A corner that turns the wrong way by no more than this (twice a triangle's area) is rounding."""


@record(frozen=True, slots=True)
class Box:
    """An upright box: middle, full extents before the turn, and the turn on plan."""

    middle_m: Point3
    size_m: Point3
    turn_deg: float = 0.0
    only: int | None = None
    """Of several furnishings of a room the one it stands in: it hides nobody of another (`Heads.furnishing`)."""

    def __post_init__(self) -> None:
        if min(self.size_m) < 0:
            raise ValueError(f"Box size_m is {self.size_m}; every extent must be 0 or more")

    @property
    def low_m(self) -> float:
        """Height of the underside above the finished floor."""
        return self.middle_m[2] - self.size_m[2] / 2

    @property
    def high_m(self) -> float:
        """Height of the top above the finished floor."""
        return self.middle_m[2] + self.size_m[2] / 2

    @property
    def plan_radius_m(self) -> float:
        """Radius of the smallest circle about the middle that holds the box on plan."""
        return math.hypot(self.size_m[0], self.size_m[1]) / 2

    def corners_on_plan(self) -> tuple[Point2, Point2, Point2, Point2]:
        """The four corners on plan, anticlockwise from the one at -x -y before the turn."""
        first, second, third, fourth = turned_rectangle(self.middle_m[:2], self.size_m[:2], self.turn_deg)
        return first, second, third, fourth


@record(frozen=True, slots=True)
class Cylinder:
    """An upright cylinder: its middle, its radius and its height."""

    middle_m: Point3
    radius_m: float
    height_m: float
    only: int | None = None

    def __post_init__(self) -> None:
        if self.radius_m < 0 or self.height_m < 0:
            raise ValueError(
                f"Cylinder radius_m is {self.radius_m} and height_m {self.height_m}; both must be 0 or more"
            )

    @property
    def low_m(self) -> float:
        """Height of the underside above the finished floor."""
        return self.middle_m[2] - self.height_m / 2

    @property
    def high_m(self) -> float:
        """Height of the top above the finished floor."""
        return self.middle_m[2] + self.height_m / 2

    @property
    def plan_radius_m(self) -> float:
        """The radius: the smallest circle about the middle that holds the cylinder on plan."""
        return self.radius_m


@record(frozen=True, slots=True)
class Prism:
    """An upright prism over a convex plan outline (anticlockwise, not closed): a piece of a wall, a table top."""

    outline_m: tuple[Point2, ...]
    low_m: float
    high_m: float
    only: int | None = None

    def __post_init__(self) -> None:
        if self.low_m > self.high_m:
            raise ValueError(
                f"Prism runs from {self.low_m} m up to {self.high_m} m; low must not exceed high"
            )
        corners = self.outline_m
        if len(corners) < 3:
            raise ValueError(f"Prism outline_m has {len(corners)} corners; give three or more")
        for k, (x, y) in enumerate(corners):
            (u, v), (p, q) = corners[k - 1], corners[(k + 1) % len(corners)]
            if (x - u) * (q - y) - (y - v) * (p - x) < -CONVEX_M2:
                raise ValueError(
                    f"Prism outline_m turns clockwise at {(x, y)}; it must be convex, anticlockwise"
                )

    @property
    def middle_m(self) -> Point3:
        """The mean of the corners, half way up."""
        xs, ys = zip(*self.outline_m, strict=True)
        return (sum(xs) / len(xs), sum(ys) / len(ys), (self.low_m + self.high_m) / 2)

    @property
    def plan_radius_m(self) -> float:
        """Radius of the smallest circle about the middle that holds the prism on plan."""
        x, y, _ = self.middle_m
        return max(math.hypot(u - x, v - y) for u, v in self.outline_m)


@record(frozen=True, slots=True)
class Disc:
    """A level disc without thickness."""

    middle_m: Point3
    radius_m: float

    def __post_init__(self) -> None:
        if self.radius_m < 0:
            raise ValueError(f"Disc radius_m is {self.radius_m}; it must be 0 or more")


@record(frozen=True, slots=True)
class Segment:
    """A straight piece of cable or rod between two points, with a radius (0 for a line)."""

    start_m: Point3
    end_m: Point3
    radius_m: float = 0.0

    def __post_init__(self) -> None:
        if self.radius_m < 0:
            raise ValueError(f"Segment radius_m is {self.radius_m}; it must be 0 or more")


Solid = Box | Cylinder
Blocker = Box | Cylinder | Prism
"""What can hide something: all of them convex."""
Shape = Box | Cylinder | Disc | Segment
