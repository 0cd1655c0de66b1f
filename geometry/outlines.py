"""Plan outlines as other people's models give them, made fit to draw from: straightened, split, recognised.

Metres throughout; polygons are shapely's. Nothing here is nearer than `GRID_M`, so that sums of many
triangles keep no seams.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import split

from geometry.records import record

Floats = NDArray[np.float64]
Point = tuple[float, float]

GRID_M: Final = 1e-7
"""Points of a union nearer than this are one."""
MITRE: Final = 20.0
"""How far a sharp corner may reach when an outline is widened or narrowed, as a multiple of the width."""
ROUND_CORNERS: Final = 8
"""Corners from which a polygon may be a circle drawn in chords."""


@record(frozen=True, slots=True)
class Straightened:
    """An outline with fewer corners: the polygon (anticlockwise), how far its edge moved, corners left out."""

    polygon: Polygon
    moved_m: float
    left_out: int


@record(frozen=True, slots=True)
class Rectangle:
    """A rectangle on plan: its middle, its extents along its own axes, the plan angle of the first, degrees."""

    middle_m: Point
    size_m: Point
    turn_deg: float


@record(frozen=True, slots=True)
class Circle:
    """A circle on plan."""

    middle_m: Point
    diameter_m: float


def together(shapes: Iterable[Any]) -> Any:
    """The union of polygons, in one piece or several, without seams; an empty polygon of none."""
    # snapped first: given to union_all, a grid leaves triangles of one fan in pieces (GEOS 3.14)
    return shapely.union_all(shapely.set_precision(list(shapes), GRID_M))


def pieces(shape: Any, least_m2: float = 0.0) -> list[Polygon]:
    """The polygons of a shape with more than that area, the largest first."""
    found = [part for part in shapely.get_parts(shape).tolist() if part.geom_type == "Polygon"]
    return sorted((part for part in found if part.area > least_m2), key=lambda part: -part.area)


def without_slivers(shape: Any, width_m: float) -> Any:
    """The shape without what is narrower than that, tongues and notches both; corners stay where they are."""
    half = width_m / 2
    options: dict[str, Any] = {"join_style": "mitre", "mitre_limit": MITRE}
    opened = shape.buffer(-half, **options).buffer(half, **options)
    closed = opened.buffer(half, **options).buffer(-half, **options)
    return shapely.set_precision(closed, GRID_M)


def straightened(polygon: Polygon, within_m: float) -> Straightened:
    """The polygon without corners, jogs and slivers that are no larger than `within_m`.

    Tongues and notches narrower than that go whole; elsewhere the edge moves by no more than that. Walls that
    run along an axis but for less than that run along it exactly afterwards, so that a drawn rectangle comes
    back as one.
    """
    mended = max(pieces(without_slivers(polygon, within_m)), key=lambda part: part.area, default=polygon)
    rings = [
        _squared(_fewer(np.asarray(ring.coords)[:-1], within_m / 2), within_m / 2)
        for ring in (mended.exterior, *mended.interiors)
    ]
    fewer = Polygon(rings[0], [ring for ring in rings[1:] if len(ring) > 2])
    if not fewer.is_valid or fewer.hausdorff_distance(mended) > within_m:
        fewer = mended
    found = orient(fewer)
    before, after = (shapely.get_num_coordinates(one) for one in (polygon, found))
    return Straightened(found, float(found.hausdorff_distance(mended)), int(before - after))


def corners_of(polygon: Polygon) -> tuple[Point, ...]:
    """The outer corners, anticlockwise, from the lowest y and of those the lowest x; not closed."""
    ring = [(float(x), float(y)) for x, y in orient(polygon).exterior.coords[:-1]]
    first = min(range(len(ring)), key=lambda i: (round(ring[i][1], 6), ring[i][0]))
    return tuple(ring[first:] + ring[:first])


def without_holes(polygon: Polygon) -> list[Polygon]:
    """Polygons without holes that are the polygon together: cut upright through the middle of each hole."""
    if not polygon.interiors:
        return [polygon]
    low_x, low_y, high_x, high_y = polygon.bounds
    middle = Polygon(polygon.interiors[0]).centroid.x
    middle = min(max(middle, low_x), high_x)
    cut = LineString([(middle, low_y - 1), (middle, high_y + 1)])
    return [part for half in split(polygon, cut).geoms for part in without_holes(half)]


def half_plane(a: float, b: float, c: float, bounds: Sequence[float]) -> Polygon:
    """The part of the bounds (and a metre round them) in which a x + b y + c < 0."""
    low_x, low_y, high_x, high_y = bounds
    around = box(low_x - 1, low_y - 1, high_x + 1, high_y + 1)
    length = math.hypot(a, b)
    if length == 0:
        return around if c < 0 else Polygon()
    nx, ny = a / length, b / length
    mx, my = (low_x + high_x) / 2, (low_y + high_y) / 2
    off = (a * mx + b * my + c) / length
    # a line that is far off leaves all of the bounds, or nothing
    far = math.hypot(high_x - low_x + 2, high_y - low_y + 2)
    if abs(off) > far:
        return around if off < 0 else Polygon()
    far *= 2
    foot = np.array([mx - off * nx, my - off * ny])
    along, back = np.array([-ny, nx]) * far, np.array([-nx, -ny]) * far
    return around.intersection(
        Polygon([foot - along, foot + along, foot + along + back, foot - along + back])
    )


def rectangle_round(shape: Any) -> Rectangle:
    """The smallest rectangle round a shape, longer side first, turned by -90° to 90°."""
    if shape.area == 0:
        return rectangle_along(shapely.get_coordinates(shape), 0.0)
    ring = np.asarray(shapely.minimum_rotated_rectangle(shape).exterior.coords)[:4]
    first, second = ring[1] - ring[0], ring[2] - ring[1]
    if np.hypot(*second) > np.hypot(*first):
        first, second = second, -first
    turn = math.degrees(math.atan2(first[1], first[0]))
    turn = (turn + 90) % 180 - 90
    middle = ring.mean(axis=0)
    return Rectangle(
        (float(middle[0]), float(middle[1])),
        (float(np.hypot(*first)), float(np.hypot(*second))),
        0.0 if abs(turn) < 1e-9 else turn,
    )


def rectangle_along(points: Floats, turn_deg: float) -> Rectangle:
    """The rectangle round plan points (n, 2) with its first side at that plan angle."""
    angle = math.radians(turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    own = points @ np.array([[c, -s], [s, c]])
    low, high = own.min(axis=0), own.max(axis=0)
    u, v = (low + high) / 2
    return Rectangle(
        (float(c * u - s * v), float(s * u + c * v)),
        (float(high[0] - low[0]), float(high[1] - low[1])),
        turn_deg,
    )


def as_circle(polygon: Polygon, within_m: float) -> Circle | None:
    """The circle that a polygon of chords stands for, its corners on it to `within_m`; else None."""
    ring = np.asarray(polygon.exterior.coords)[:-1]
    if len(ring) < ROUND_CORNERS or polygon.interiors:
        return None
    low, high = ring.min(axis=0), ring.max(axis=0)
    middle = (low + high) / 2
    radii = np.hypot(*(ring - middle).T)
    radius = float(radii.max())
    whole = math.pi * radius**2
    chords = 0.5 * ROUND_CORNERS * radius**2 * math.sin(2 * math.pi / ROUND_CORNERS)
    if radius - float(radii.min()) > within_m or not chords * 0.999 <= polygon.area <= whole * 1.001:
        return None
    return Circle((float(middle[0]), float(middle[1])), 2 * radius)


def fills(polygon: Polygon, rectangle: Rectangle, within_m: float) -> bool:
    """Whether a polygon is that rectangle but for `within_m` along its edge."""
    width, depth = rectangle.size_m
    return float(width * depth - polygon.area) <= within_m * 2 * (width + depth)


def _fewer(ring: Floats, within_m: float) -> Floats:
    """A closed ring's corners (n, 2) without those that lie on the line of the others."""
    if len(ring) < 4:
        return ring
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(*before.T) * np.hypot(*after.T)
    turn = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]) / np.maximum(lengths, 1e-12)
    # one that surely is a corner: where the simplified line begins, that point always stays
    start = int(np.argmax(np.where(lengths > within_m**2, turn, 0.0)))
    turned = np.vstack([np.roll(ring, -start, axis=0), ring[start]])
    fewer = np.asarray(LineString(turned).simplify(within_m).coords)[:-1]
    return fewer if len(fewer) > 2 else ring


def _squared(ring: Floats, within_m: float) -> Floats:
    """The ring with each wall that runs along an axis but for `within_m` exactly along it."""
    ring = ring.copy()
    for axis in (0, 1):
        run = np.roll(ring, -1, axis=0) - ring
        across, along = np.abs(run[:, axis]), np.abs(run[:, 1 - axis])
        for start in np.flatnonzero((across <= within_m) & (across > 0) & (along > across)):
            pair = [int(start), (int(start) + 1) % len(ring)]
            ring[pair, axis] = ring[pair, axis].mean()
    return ring
