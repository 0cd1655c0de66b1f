"""Plan areas that a centre may not enter, as polygons: shapes grown by what hangs and by a distance. Loads shapely."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from geometry.clearance import Hanging, Throw
from geometry.shapes import Box, Cylinder, Disc, Segment, Shape
from scenes.rules.measure import MET_M
from scenes.rules.surroundings import Site

Floats = NDArray[np.float64]

CURVE_M = 0.001
"""Keep-outs are drawn at most this much too large where they are round, never too small."""


def swept(hanging: Hanging, points: Floats, reach: float) -> Any:
    """The convex hull of points grown by the hanging outline (mirrored) and by a distance: never too small."""
    radius = hanging.radius_m + reach
    if max(hanging.size_m) > 0:
        turn = math.radians(hanging.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        x, y = hanging.size_m[0] / 2, hanging.size_m[1] / 2
        corners = np.array([[c * u - s * v, s * u + c * v] for u, v in ((x, y), (-x, y), (-x, -y), (x, -y))])
        points = (points[:, None, :] + corners).reshape(-1, 2)
    hull = shapely.MultiPoint(points).convex_hull
    if radius <= 0:
        return hull
    # chords lie inside a circle: take the radius at which they touch it from outside
    corners_per_quarter = max(4, math.ceil(math.pi / 4 / math.acos(radius / (radius + CURVE_M))))
    return hull.buffer(radius / math.cos(math.pi / 4 / corners_per_quarter), quad_segs=corners_per_quarter)


def over(hanging: Hanging, outline: ArrayLike, holes: Sequence[ArrayLike] = ()) -> Any:
    """The centres at which any part of the hanging outline is over an area."""
    rings = [np.asarray(ring, float) for ring in (outline, *holes)]
    edges = [edge for ring in rings for edge in zip(ring, np.roll(ring, -1, axis=0), strict=True)]
    area = shapely.Polygon(rings[0], rings[1:])
    return shapely.union_all([area, *(swept(hanging, np.array(edge), 0.0) for edge in edges)])


def not_inside(
    site: Site, areas: Sequence[Sequence[Sequence[tuple[float, float]]]], spare_m: float = 0.0
) -> Any:
    """The places in the room at which the body is not so far inside one of the areas (outline and holes each)."""
    floor = shapely.Polygon(site.scene.room.outline_m)
    for rings in areas:
        top = shapely.Polygon(rings[0], rings[1:])
        edges = [
            swept(site.body, np.array([a, b]), spare_m)
            for ring in rings
            for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
        ]
        floor = floor.difference(top.difference(shapely.union_all(edges)))
    return floor


def kept_out(hanging: Hanging, shape: Shape | Throw, reach: float, height: float) -> Any:
    """The plan area of centres at which `hanging` is nearer than `reach` to the shape; None if nowhere."""
    low, high = float(hanging.low_m(np.array(height))), float(hanging.high_m(np.array(height)))

    def at_slice(points: Floats, bottom: float, top: float, rounding: float) -> Any:
        apart = max(bottom - high, low - top)
        reached = reach + rounding
        if apart >= reached - MET_M and not (reached == 0 and apart < 0):
            return None
        return swept(hanging, points, math.sqrt(max(reached**2 - max(apart, 0.0) ** 2, 0.0)))

    match shape:
        case Box():
            return at_slice(np.array(shape.corners_on_plan()), shape.low_m, shape.high_m, 0.0)
        case Cylinder():
            apart = max(shape.low_m - high, low - shape.high_m)
            if apart >= reach - MET_M and not (reach == 0 and apart < 0):
                return None
            on_plan = math.sqrt(max(reach**2 - max(apart, 0.0) ** 2, 0.0))
            return swept(hanging, np.array([shape.middle_m[:2]]), shape.radius_m + on_plan)
        case Segment():
            (x, y, z), (u, v, w) = shape.start_m, shape.end_m
            return at_slice(np.array([[x, y], [u, v]]), min(z, w), max(z, w), shape.radius_m)
        case Throw():
            return _kept_out_of_light(shape, hanging, reach, low, high)
        case Disc():
            return at_slice(np.array([shape.middle_m[:2]]), shape.middle_m[2], shape.middle_m[2], 0.0)


def round_point(hanging: Hanging, at: Sequence[float], reach: float) -> Any:
    """The centres at which `hanging` is nearer than `reach` to a point on plan, whatever the heights."""
    return swept(hanging, np.array([at[:2]]), reach)


def _kept_out_of_light(throw: Throw, hanging: Hanging, reach: float, low: float, high: float) -> Any:
    """Of a projector's light: its slices as far as they are near in height, each grown by what is left of the reach.

    Between two slices the growth is a concave number, at its most bent where the light just comes near: there
    slices stand close, and the thousandth of the reach that is added is more than the chords cut off.
    """
    facing = math.radians(throw.facing_deg)
    across = np.array([-math.sin(facing), math.cos(facing)]) * throw.width_m / 2
    lens, picture = np.array(throw.lens_m), np.array(throw.picture_m)
    # how far the light's underside is above the hanging thing, and its top below: both linear on the way
    start = np.array([lens[2] - high, low - lens[2]])
    slope = np.array([picture[2] - lens[2], lens[2] - picture[2]]) - throw.height_m / 2
    heights = reach * np.cos(np.linspace(0, math.pi / 2, 33))
    with np.errstate(divide="ignore", invalid="ignore"):
        crossings = ((heights[:, None] - start) / slope).ravel()
    crossings = crossings[(crossings > 0) & (crossings < 1)]  # not those that are NaN or far away
    steps = np.unique(np.concatenate([[0.0, 1.0], crossings]))
    apart = (start + steps[:, None] * slope).max(axis=1)
    growth = np.sqrt(np.maximum(reach**2 - np.maximum(apart, 0) ** 2, 0)) + reach / 1000
    found = []
    for i, j in itertools.pairwise(range(len(steps))):
        if max(apart[i], apart[j]) > reach + MET_M or min(apart[i], apart[j]) >= reach - MET_M > 0:
            continue
        slices = []
        for k in (i, j):
            middle = (lens + steps[k] * (picture - lens))[:2]
            ends = np.array([middle - steps[k] * across, middle + steps[k] * across])
            slices.append(swept(hanging, ends, growth[k]))
        found.append(shapely.union_all(slices).convex_hull)
    return shapely.union_all(found) if found else None
