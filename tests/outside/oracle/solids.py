"""Upright prisms (round or with corners on plan): how near two of them are, and whether a line goes through one.

Two upright prisms are as far apart as their plan gap and their height gap make a right angle of. Plan gaps
are shapely's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Point = tuple[float, float]

HAIR_M = 1e-9


@dataclass(frozen=True)
class Plan:
    """What something covers on plan about its own middle: a disc (`corners` empty), or a polygon."""

    radius: float = 0.0
    corners: tuple[Point, ...] = ()

    @classmethod
    def rectangle(cls, x: float, y: float, turn: float) -> Plan:
        """A rectangle of these extents, turned by degrees."""
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        own = [(-x / 2, -y / 2), (x / 2, -y / 2), (x / 2, y / 2), (-x / 2, y / 2)]
        return cls(corners=tuple((c * a - s * b, s * a + c * b) for a, b in own))

    @classmethod
    def of(cls, size: Sequence[float], turn: float) -> Plan:
        """A footprint as files give it: [diameter], or [x, y] before the turn."""
        return cls(radius=size[0] / 2) if len(size) == 1 else cls.rectangle(size[0], size[1], turn)

    def at(self, middles: ArrayLike) -> NDArray[np.object_]:
        """The shape without its radius at each middle (n, 2): points or polygons."""
        spots = np.atleast_2d(np.asarray(middles, float))
        if not self.corners:
            return np.asarray(shapely.points(spots), object)
        return np.asarray(shapely.polygons(spots[:, None, :] + np.array(self.corners)[None]), object)

    @property
    def half(self) -> Point:
        """Half its extents along x and y."""
        if not self.corners:
            return self.radius, self.radius
        x, y = np.abs(np.array(self.corners)).max(axis=0)
        return float(x), float(y)


@dataclass(frozen=True)
class Prism:
    """An upright thing that stands still."""

    plan: Plan
    middle: Point
    low: float
    high: float


@dataclass(frozen=True)
class Hanging:
    """An upright thing that moves with the acoustic centre: from `low` to `high` about it, or fixed heights."""

    plan: Plan
    low: float
    high: float
    fixed_low: bool = False
    fixed_high: bool = False

    def heights(self, z: Floats) -> tuple[Floats, Floats]:
        """Lower and upper end for centres at heights z; never upside down."""
        low = np.full_like(z, self.low) if self.fixed_low else z + self.low
        high = np.full_like(z, self.high) if self.fixed_high else z + self.high
        return low, np.maximum(low, high)


def plan_gap(plan: Plan, spots: ArrayLike, other: Plan, middle: ArrayLike) -> Floats:
    """Distance on plan from a shape at (n, 2) to one that stands still; 0 where they overlap."""
    apart = shapely.distance(plan.at(spots), other.at(middle)[0])
    return np.asarray(np.maximum(apart - plan.radius - other.radius, 0.0))


def overlap(plan: Plan, spots: ArrayLike, other: Plan, middle: ArrayLike) -> Bools:
    """Whether the two have more than an edge in common on plan (by more than a hair)."""
    if plan.corners and other.corners:
        mine, its = plan.at(spots), shapely.buffer(other.at(middle)[0], -1e-7, join_style="mitre")
        return np.asarray(shapely.intersects(mine, its) & ~shapely.is_empty(its))
    apart = shapely.distance(plan.at(spots), other.at(middle)[0])
    return np.asarray(apart < plan.radius + other.radius - 1e-7)


def gap(hanging: Hanging, positions: ArrayLike, thing: Prism) -> Floats:
    """Distance in space for acoustic centres (n, 3); 0 where they touch or stand in one another."""
    at = np.atleast_2d(np.asarray(positions, float))
    low, high = hanging.heights(at[:, 2])
    upright = np.maximum(np.maximum(thing.low - high, low - thing.high), 0.0)
    return np.hypot(plan_gap(hanging.plan, at[:, :2], thing.plan, thing.middle), upright)


def in_one_place(hanging: Hanging, positions: ArrayLike, thing: Prism) -> Bools:
    """Whether they stand in one another (a face on a face does not)."""
    at = np.atleast_2d(np.asarray(positions, float))
    low, high = hanging.heights(at[:, 2])
    upright = np.minimum(high, thing.high) - np.maximum(low, thing.low)
    return (upright > 1e-7) & overlap(hanging.plan, at[:, :2], thing.plan, thing.middle)


# Lines ---------------------------------------------------------------------------------------------------


def through(starts: Floats, ends: Floats, thing: Prism) -> Floats:
    """Where straight lines (n, 3) each go through a prism: entering and leaving shares (n, 2), nan where they do not."""
    way = ends - starts
    shares = np.column_stack([np.zeros(len(way)), np.ones(len(way))])
    shares = _cut(shares, starts[:, 2] - thing.low, way[:, 2])
    shares = _cut(shares, thing.high - starts[:, 2], -way[:, 2])
    own = starts[:, :2] - np.array(thing.middle)
    if thing.plan.corners:
        corners = np.array(thing.plan.corners)
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            inwards = np.array([a[1] - b[1], b[0] - a[0]])
            shares = _cut(shares, (own - a) @ inwards, way[:, :2] @ inwards)
    else:
        shares = _cut_round(shares, own, way[:, :2], thing.plan.radius)
    shares[shares[:, 1] - shares[:, 0] <= HAIR_M] = np.nan
    return shares


def _cut(shares: Floats, value: Floats, slope: Floats) -> Floats:
    """What is left of each line where value + share × slope >= 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        at = -value / slope
    low = np.where(slope > 0, np.maximum(shares[:, 0], at), shares[:, 0])
    high = np.where(slope < 0, np.minimum(shares[:, 1], at), shares[:, 1])
    outside = (slope == 0) & (value <= 0)
    return np.column_stack([np.where(outside, 1.0, low), np.where(outside, 0.0, high)])


def _cut_round(shares: Floats, own: Floats, way: Floats, radius: float) -> Floats:
    a, b = (way**2).sum(axis=1), (own * way).sum(axis=1)
    c = (own**2).sum(axis=1) - radius**2
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(b * b - a * c)
        low, high = np.where(a > 0, (-b - root) / a, -np.inf), np.where(a > 0, (-b + root) / a, np.inf)
    missed = np.where(a > 0, ~(b * b > a * c), c >= 0)
    return np.column_stack(
        [
            np.where(missed, 1.0, np.maximum(shares[:, 0], low)),
            np.where(missed, 0.0, np.minimum(shares[:, 1], high)),
        ]
    )


def outside_share(starts: Floats, ends: Floats, outline: Sequence[Point]) -> Floats:
    """How much of each line, on plan, lies outside an outline, metres."""
    room = shapely.Polygon(outline).buffer(1e-7, join_style="mitre")
    lines = shapely.linestrings(np.stack([starts[:, :2], ends[:, :2]], axis=1))
    return np.asarray(shapely.length(shapely.difference(lines, room)))
