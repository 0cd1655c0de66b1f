"""Where on the ceiling plan an array may hang so that everybody is covered: exact regions as polygons.

At one height a head asks for nothing but a horizontal range: with t the drop to its mouth and w the
slack it must keep, the four edge numbers are all at least w exactly when

    √((near + w)² − t²)₊, (w + t cos high)/sin high  ≤  ρ  ≤  √((far − w)² − t²), (t cos low − w)/sin low

which is an annulus about the mouth, and of a way walked what lies inside the outer circles about both its
ends and outside the inner one all along. The region is what all of these share. Outer circles become
inscribed polygons and inner circles circumscribed ones, so every point shown is truly allowed.

Over all heights a plan place is allowed when the interval of heights there is not empty. That shadow
is contoured: a quadtree decides whole cells in closed form (a margin changes by at most one metre per
metre), and the finest cells that stay open are cut by marching squares, at a level so much above zero
that interpolation and thinning out of points cannot let in a place that is not allowed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import ON_EDGE_M, Band, Floats
from geometry.coverage import Heads, least_margins
from geometry.records import record

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

CURVE_TOLERANCE_M = 0.001
"""How far a polygon may stay inside the curve it stands for."""
SMALLEST_AREA_M2 = 1e-8
"""Slivers under a tenth of a millimetre square are rounding, not places to hang something."""
TILE_M = 0.125
"""Side of the squares a shadow is cut into, each of which looks only at the heads that matter there."""

Polygon = tuple[Floats, tuple[Floats, ...]]
"""An outline (k, 2), anticlockwise and not closed, and its holes, clockwise."""


@record(frozen=True, slots=True, eq=False)
class Region:
    """Plan places of the acoustic centre from which everybody is covered.

    `height_m` is None for the shadow over all heights. `polygons` do not overlap; none is an answer
    too: nowhere.
    """

    height_m: float | None
    band: Band
    polygons: tuple[Polygon, ...]
    area_m2: float

    def holds(self, places_m: ArrayLike) -> NDArray[np.bool_]:
        """(n,) whether each plan place (n, 2) lies in the region, its edge included."""
        import shapely

        points = np.atleast_2d(np.asarray(places_m, float))
        shape = _to_shape(self.polygons)
        return np.asarray(shapely.intersects_xy(shape, points[:, 0], points[:, 1]), bool)


def region(
    heads: Heads,
    band: Band,
    height_m: float,
    *,
    margin_m: float = 0.0,
    within: Sequence[Polygon] = (),
    without: Sequence[Polygon] = (),
    tolerance_m: float = CURVE_TOLERANCE_M,
) -> Region:
    """Region where an array at this height keeps every head's margin at `margin_m` or more.

    `height_m` is the acoustic centre above the floor. The region lies in every polygon of `within`
    and outside every one of `without`. Curves are kept to `tolerance_m`, always on the safe side.
    Without heads there is nothing to cover and no edge: ValueError. To ask for slack instead of
    margin give heads without sway. ValueError if the slack asked for is negative for any head:
    a missed head's slack has no annulus.
    """
    inner, outer = annuli(heads, band, height_m, margin_m=margin_m)
    shape = _common_annulus(heads, inner, outer, tolerance_m)
    return _region(height_m, band, _cut(shape, within, without))


def annuli(heads: Heads, band: Band, height_m: float, *, margin_m: float = 0.0) -> tuple[Floats, Floats]:
    """Smallest and largest horizontal range (k,), (k,) at which each row of `heads` keeps `margin_m`.

    Of somebody who walks the smallest is asked of the nearest point of the leg, the largest of its ends.
    Both ends of the mouth range count. Empty where the smallest exceeds the largest; the largest is
    -inf where no range works at this height. Errors as for `region`.
    """
    keep = _slack_to_keep(heads, margin_m)
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    inner, outer = np.zeros(len(keep)), np.full(len(keep), np.inf)
    for mouth in (heads.low_m, heads.high_m):
        t = height_m - mouth
        inner = np.maximum(inner, np.sqrt(np.maximum((band.near_m + keep) ** 2 - t**2, 0.0)))
        if band.high_deg < 90:
            inner = np.maximum(inner, (keep + t * cos_high) / sin_high)
        beyond = band.far_m - keep
        reach = np.sqrt(np.maximum(beyond**2 - t**2, 0.0))
        outer = np.minimum(outer, np.where(beyond >= np.abs(t), reach, -np.inf))
        room = t * cos_low - keep
        if sin_low > 0:
            with np.errstate(over="ignore"):  # an edge a hair off level ends nowhere
                outer = np.minimum(outer, room / sin_low)
        outer = np.where(room >= 0, outer, -np.inf)
    return inner, outer


def shadow(
    heads: Heads,
    band: Band,
    low_m: float,
    high_m: float,
    *,
    margin_m: float = 0.0,
    within: Sequence[Polygon] = (),
    without: Sequence[Polygon] = (),
    tolerance_m: float = 0.004,
) -> Region:
    """Region where at some height between `low_m` and `high_m` every head keeps `margin_m` or more.

    Every place shown has such a height; every place where the best height leaves `tolerance_m` more
    than asked is shown. `within`, `without` and the errors are as for `region`.
    """
    keep = _slack_to_keep(heads, margin_m)
    if not tolerance_m > 0:
        raise ValueError(f"shadow tolerance_m is {tolerance_m}; it must be above 0")
    reach = band.far_m - keep
    if low_m > high_m or np.any(reach <= 0):
        return _region(None, band, _cut(None, (), ()))
    # nobody is heard beyond the reach, so this box, widened by a tile, has an empty rim
    corner = (np.maximum(heads.xy_m, heads.to_m) - reach[:, None]).max(axis=0) - TILE_M
    far_corner = (np.minimum(heads.xy_m, heads.to_m) + reach[:, None]).min(axis=0) + TILE_M
    if np.any(far_corner <= corner):
        return _region(None, band, _cut(None, (), ()))
    # loss: pitch/√2 for interpolation and an eighth for thinning, each once as level and once at the line
    pitch = TILE_M / 2 ** math.ceil(math.log2(TILE_M / (tolerance_m * 0.5)))
    thinning = tolerance_m / 8
    level = pitch / math.sqrt(2) + thinning
    heights = _Heights(band, heads, keep, low_m, high_m)
    segments = _contour(heights, corner, far_corner, pitch, level)
    return _region(None, band, _cut(_build(segments, thinning), within, without))


def margin_map(heads: Heads, band: Band, height_m: float, x_m: ArrayLike, y_m: ArrayLike) -> Floats:
    """Least margin over all heads at each plan place of a grid, metres, exact: (len(y_m), len(x_m)).

    Negative where somebody is not covered. `height_m` is the acoustic centre above the floor.
    """
    x, y = np.meshgrid(np.asarray(x_m, float), np.asarray(y_m, float))
    places = np.column_stack([x.ravel(), y.ravel()])
    return least_margins(band, np.insert(places, 2, height_m, axis=1), heads).reshape(x.shape)


def inset(outline: Polygon, distance_m: float) -> tuple[Polygon, ...]:
    """What is left of a plan polygon when everything nearer than `distance_m` to its edge is taken off.

    For a room and its wall margin. Straight sides are exact; at corners that point inwards the arc is
    circumscribed, so no place shown is too near. Nothing left is an empty tuple.
    """
    import shapely

    shape = _to_shape([outline])
    if distance_m <= 0:
        return _polygons(shape)
    taken = []
    for ring in (outline[0], *outline[1]):
        points = np.asarray(ring, float)
        following = np.roll(points, -1, axis=0)
        along = following - points
        length = np.hypot(along[:, 0], along[:, 1])
        sideways = np.column_stack([-along[:, 1], along[:, 0]]) / length[:, None] * distance_m
        corners = np.stack(
            [points + sideways, following + sideways, following - sideways, points - sideways], axis=1
        )
        taken.extend(shapely.polygons(corners))
        before = points - np.roll(points, 1, axis=0)
        inwards = before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0]
        orientation = _signed_area(points) if ring is outline[0] else -_signed_area(points)
        for point in points[inwards * orientation < 0]:
            taken.append(_disc(point, distance_m, CURVE_TOLERANCE_M, around=True))
    return _polygons(shape.difference(shapely.union_all(taken)))


def room_for(outline: Polygon, body_m: ArrayLike) -> tuple[Polygon, ...]:
    """The places in a plan polygon at which a body stays wholly inside: what the body leaves of it, exactly.

    `body_m` (k, 2) are the corners of a convex body about its own middle, as it is turned.
    """
    import shapely

    shape, body = _to_shape([outline]), np.asarray(body_m, float)
    taken: list[BaseGeometry] = []
    for ring in (outline[0], *outline[1]):
        points = np.asarray(ring, float)
        edges = np.stack([points, np.roll(points, -1, axis=0)], axis=1)
        # a body about a place meets an edge where the edge, grown by the body turned about, holds the place
        corners = (edges[:, :, None, :] - body).reshape(len(edges), -1, 2)
        taken.extend(shapely.multipoints(several).convex_hull for several in corners)
    return _polygons(shape.difference(shapely.union_all(taken)))


def disc(middle_m: Sequence[float], radius_m: float, *, around: bool) -> Polygon:
    """A circle as a polygon within 1 mm: `around` it (for keep-outs) or else inside it."""
    return _polygons(_disc(np.asarray(middle_m, float)[:2], radius_m, CURVE_TOLERANCE_M, around=around))[0]


# ---- one height -----------------------------------------------------------------------------------


def _slack_to_keep(heads: Heads, margin_m: float) -> Floats:
    """(k,) the slack each row must keep."""
    if not len(heads):
        raise ValueError("region needs at least one head; found none")
    keep = heads.sway_m[heads.row_head] + margin_m
    if keep.min() < 0:
        raise ValueError(f"region asks for a slack of {keep.min():.6g} m; sway + margin_m must be 0 or more")
    return keep


def _disc(middle: Floats, radius: float, tolerance: float, *, around: bool) -> BaseGeometry:
    """A shapely polygon inscribed in a circle, or circumscribed about it."""
    import shapely

    cosine = radius / (radius + tolerance) if around else 1 - tolerance / radius
    count = 8 if cosine <= math.cos(math.pi / 8) else math.ceil(math.pi / math.acos(cosine))
    # a hair to the safe side, so that rounding in the overlay cannot cross the circle
    size = radius / math.cos(math.pi / count) + ON_EDGE_M if around else radius - ON_EDGE_M
    angle = 2 * math.pi * np.arange(count) / count
    return shapely.Polygon(middle + size * np.column_stack([np.cos(angle), np.sin(angle)]))


def _common_annulus(heads: Heads, inner: Floats, outer: Floats, tolerance: float) -> BaseGeometry | None:
    """What all annuli share, or None where that is nothing."""
    import shapely

    if np.any(outer <= np.maximum(inner, tolerance)):
        return None
    shape: BaseGeometry | None = None
    walking = heads.walking
    for i in np.argsort(outer):  # the small ones first: they cut most
        for middle in (heads.xy_m[i], heads.to_m[i])[: 1 + walking[i]]:
            circle = _disc(middle, outer[i], tolerance, around=False)
            shape = circle if shape is None else shape.intersection(circle)
            if shape.is_empty:
                return None
    # the hull of the circumscribed circles about both ends of a leg holds all that is too near to it
    holes = [
        shapely.union_all(
            [_disc(at, inner[i], tolerance, around=True) for at in (heads.xy_m[i], heads.to_m[i])]
        ).convex_hull
        if walking[i]
        else _disc(heads.xy_m[i], inner[i], tolerance, around=True)
        for i in np.flatnonzero(inner > 0)
    ]
    holes += _areas(heads, inner)
    return shape.difference(shapely.union_all(holes)) if shape is not None and holes else shape


def _areas(heads: Heads, inner: Floats) -> list[BaseGeometry]:
    """The areas of those who are anywhere and must not be right under an array."""
    import shapely

    found: list[BaseGeometry] = []
    for head in np.flatnonzero(heads.anywhere):
        rows = heads.row_head == head
        if inner[rows].max() > 0:
            edges = np.stack([heads.xy_m[rows], heads.to_m[rows]], axis=1)
            found.append(shapely.build_area(shapely.multilinestrings(shapely.linestrings(edges))))
    return found


# ---- the shadow over all heights ------------------------------------------------------------------


@record(frozen=True, slots=True, eq=False)
class _Heights:
    """The lower and upper height that each row allows at a plan place, for a slack changed by some amount."""

    band: Band
    heads: Heads
    keep: Floats
    low_m: float
    high_m: float

    def of_rows(self, places: Floats, change: ArrayLike, rows: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Lower and upper heights (m, k); mouths stay below the array, so `change` may be negative."""
        heads, band = self.heads, self.band
        cos_low, sin_low, sin_high, cos_high = band.edge_sines
        w = self.keep[rows] + np.asarray(change, float)
        ranges = heads.ranges(places, rows).swapaxes(1, 2)
        nearest, farthest = ranges[0], ranges[-1]
        near = np.sqrt(np.maximum(np.maximum(band.near_m + w, 0.0) ** 2 - nearest * nearest, 0.0))
        least = np.maximum(np.maximum((w + farthest * sin_low) / cos_low, near), 0.0)
        beyond = band.far_m - w
        square = np.maximum(beyond * beyond - farthest * farthest, 0.0)
        most = np.where(farthest <= beyond, np.sqrt(square), -np.inf)
        if band.high_deg < 90:
            most = np.minimum(most, (nearest * sin_high - w) / cos_high)
        return heads.high_m[rows] + least, heads.low_m[rows] + most

    def open(self, places: Floats, change: ArrayLike, rows: NDArray[np.int64]) -> NDArray[np.bool_]:
        """(m,) whether some height keeps the slack of all these rows, changed by `change`."""
        lower, upper = self.of_rows(places, change, rows)
        top = np.minimum(upper.min(axis=1), self.high_m)
        return np.asarray(np.maximum(lower.max(axis=1), self.low_m) <= top, bool)

    def that_matter(self, middle: Floats, radius: float) -> NDArray[np.int64]:
        """Rows that can set the lower or the upper end somewhere within `radius` of a place."""
        rows = np.arange(len(self.keep))
        lower_at_least, upper_at_most = self.of_rows(middle[None], -radius, rows)
        lower_at_most, upper_at_least = self.of_rows(middle[None], radius, rows)
        return np.flatnonzero(
            (lower_at_most >= lower_at_least.max()) | (upper_at_least <= upper_at_most.min())
        )


def _contour(heights: _Heights, corner: Floats, far_corner: Floats, pitch: float, level: float) -> Floats:
    """Segments (s, 2, 2) of the line where the best margin over all heights is `level`."""
    tiles_x, tiles_y = (int(n) for n in np.ceil((far_corner - corner) / TILE_M))
    per_tile = round(TILE_M / pitch)
    rows = np.arange(len(heights.keep))
    # squares are counted in whole pitches from the corner, so that neighbours share corners exactly
    tile = np.stack(np.meshgrid(np.arange(tiles_x), np.arange(tiles_y), indexing="ij"), axis=-1).reshape(
        -1, 2
    )
    tile *= per_tile
    tile = _undecided(heights, corner, tile, per_tile, pitch, level, rows)
    segments = [np.zeros((0, 2, 2))]
    for first in tile:
        middle = corner + pitch * (first + per_tile / 2)
        matter = heights.that_matter(middle, TILE_M / math.sqrt(2) + 3 * pitch + level)
        squares, side = first[None], per_tile
        while side > 1 and len(squares):
            side //= 2
            children = squares[:, None] + side * np.array([(0, 0), (1, 0), (0, 1), (1, 1)])
            squares = _undecided(heights, corner, children.reshape(-1, 2), side, pitch, level, matter)
        if len(squares):
            segments.append(_march(heights, corner, squares, pitch, level, matter))
    return np.concatenate(segments)


def _undecided(
    heights: _Heights,
    corner: Floats,
    squares: NDArray[np.int64],
    side: int,
    pitch: float,
    level: float,
    rows: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Squares that are neither wholly below nor wholly above the level."""
    middle = corner + pitch * (squares + side / 2)
    radius = side * pitch / math.sqrt(2) * (1 + 1e-9)
    squares = squares[possible := heights.open(middle, level - radius, rows)]
    return squares[~heights.open(middle[possible], level + radius, rows)]


def _march(
    heights: _Heights,
    corner: Floats,
    squares: NDArray[np.int64],
    pitch: float,
    level: float,
    rows: NDArray[np.int64],
) -> Floats:
    """Marching squares: the segments (s, 2, 2) of the level line inside these finest squares."""
    around = squares[:, None] + np.array([(0, 0), (1, 0), (1, 1), (0, 1)])  # anticlockwise
    nodes, index = np.unique(around.reshape(-1, 2), axis=0, return_inverse=True)
    index = index.reshape(-1, 4)
    places = corner + pitch * nodes
    # the best margin at each node, from below, by halving: emptiness of the interval is its sign
    low = np.full(len(nodes), level - 3 * pitch)
    high = np.full(len(nodes), level + 3 * pitch)
    for _ in range(12):
        half = (low + high) / 2
        reached = heights.open(places, half[:, None], rows)
        low, high = np.where(reached, half, low), np.where(reached, high, half)
    over = low - level
    over = np.where(over == 0, -1e-15, over)  # a line through a node would give a segment without length
    inside = over > 0
    case = inside[index] @ np.array([1, 2, 4, 8])
    # crossings on side i, between corner i and i + 1, always reckoned from the lower node: both squares agree
    start, end = index, np.roll(index, -1, axis=1)
    a, b = np.minimum(start, end), np.maximum(start, end)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip(over[a] / (over[a] - over[b]), 0, 1)
    crossing = places[a] + share[..., None] * (places[b] - places[a])
    # corner c cut off by sides c - 1 and c; saddles (5 and 10) cut off their two outside corners' opposites,
    # that is each inside corner alone: less area, so the safe choice
    sides: dict[int, list[tuple[int, int]]] = {
        1: [(3, 0)], 2: [(0, 1)], 4: [(1, 2)], 8: [(2, 3)],
        14: [(3, 0)], 13: [(0, 1)], 11: [(1, 2)], 7: [(2, 3)],
        3: [(3, 1)], 12: [(3, 1)], 6: [(0, 2)], 9: [(0, 2)],
        5: [(3, 0), (1, 2)], 10: [(0, 1), (2, 3)],
    }  # fmt: skip
    segments = [np.zeros((0, 2, 2))]
    for which, pairs in sides.items():
        for first, second in pairs:
            segments.append(crossing[case == which][:, [first, second]])
    return np.concatenate(segments)


def _build(segments: Floats, thinning: float) -> BaseGeometry | None:
    """The area inside closed lines given as loose segments, thinned by at most `thinning`."""
    import shapely

    if not len(segments):
        return None
    # both tiles beside a shared side compute the same crossing up to rounding: join on a nanometre
    lines = shapely.linestrings(np.round(segments, 9))
    lines = lines[shapely.length(lines) > 0]
    shape: BaseGeometry = shapely.build_area(shapely.line_merge(shapely.multilinestrings(lines)))
    return shapely.simplify(shape, thinning, preserve_topology=True)


# ---- polygons in and out --------------------------------------------------------------------------


def _cut(shape: BaseGeometry | None, within: Sequence[Polygon], without: Sequence[Polygon]) -> BaseGeometry:
    import shapely

    if shape is None:
        return shapely.MultiPolygon()
    for polygon in within:
        shape = shape.intersection(_to_shape([polygon]))
    for polygon in without:
        shape = shape.difference(_to_shape([polygon]))
    return shape


def _to_shape(polygons: Sequence[Polygon]) -> BaseGeometry:
    import shapely

    return shapely.MultiPolygon([shapely.Polygon(outer, holes) for outer, holes in polygons])


def _polygons(shape: BaseGeometry) -> tuple[Polygon, ...]:
    """The polygons of a shape, largest first, outlines anticlockwise; slivers, lines and points left out."""
    from shapely.geometry.polygon import orient

    parts = [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon"]
    parts = [orient(part) for part in parts if part.area > SMALLEST_AREA_M2]
    parts.sort(key=lambda part: -part.area)
    return tuple(
        (np.array(part.exterior.coords)[:-1], tuple(np.array(hole.coords)[:-1] for hole in part.interiors))
        for part in parts
    )


def _region(height_m: float | None, band: Band, shape: BaseGeometry) -> Region:
    polygons = _polygons(shape)
    area = sum(_signed_area(outer) + sum(_signed_area(hole) for hole in holes) for outer, holes in polygons)
    return Region(height_m, band, polygons, float(area))


def _signed_area(ring: Floats) -> float:
    x, y = np.asarray(ring, float).T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)
