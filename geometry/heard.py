"""What else lies in an array's band: places and areas on plan, by azimuth and distance."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import Band
from geometry.shapes import Point2, Point3

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP_M = 0.05
"""Points on the edge of an area are no farther apart."""
FAR_M = 1000.0
"""A band whose shallow edge is level ends there."""
ON_EDGE_DEG = 1e-6


def in_band(at_m: Point3, centre_m: Point3, band: Band) -> bool:
    """Whether a point is within the band's angles, however far: sound does not end where the reach does."""
    plan, down = math.dist(at_m[:2], centre_m[:2]), centre_m[2] - at_m[2]
    angle = math.degrees(math.atan2(down, plan))
    return band.low_deg - ON_EDGE_DEG <= angle <= band.high_deg + ON_EDGE_DEG


def area_in_band(
    outline_m: tuple[Point2, ...], mouths_m: tuple[float, float], centre_m: Point3, band: Band
) -> tuple[Floats, Floats]:
    """Points (n, 2) on the edge of what of an area is in the band's angles at any height of mouths; their slants (n,).

    The slant is to the mouth that is nearest the array and in its band. No points where nothing is.
    """
    import shapely  # only here: few rooms have such areas

    x, y, z = centre_m
    low, high = (math.tan(math.radians(angle)) for angle in (band.low_deg, band.high_deg))
    deepest, least = z - mouths_m[0], max(z - mouths_m[1], 0.0)
    outer = 0.0 if deepest <= 0 else FAR_M if low == 0 else min(deepest / low, FAR_M)
    inner = 0.0 if band.high_deg == 90 else least / high
    if outer <= inner:
        return np.zeros((0, 2)), np.zeros(0)
    ring = shapely.Point(x, y).buffer(outer, quad_segs=64)
    if inner > 0:
        ring = ring.difference(shapely.Point(x, y).buffer(inner, quad_segs=64))
    part = shapely.intersection(shapely.Polygon(outline_m), ring)
    if shapely.area(part) <= 0:
        return np.zeros((0, 2)), np.zeros(0)
    points = shapely.get_coordinates(shapely.segmentize(shapely.boundary(part), STEP_M))
    plan = np.hypot(points[:, 0] - x, points[:, 1] - y)
    return points, np.hypot(plan, np.maximum(least, plan * low))


def sectors_of(points_m: ArrayLike, at_m: Point2, turn_deg: float, sectors: int) -> Ints:
    """The sector, from 1 at the turn anticlockwise, that each plan point (n, 2) lies in from a place."""
    off = np.asarray(points_m, float).reshape(-1, 2) - np.asarray(at_m)
    azimuth = np.round((np.degrees(np.arctan2(off[:, 1], off[:, 0])) - turn_deg) % 360, 6) % 360
    return np.asarray(np.floor(azimuth / (360 / sectors)), np.int64) + 1
