"""Anybody anywhere in an area of the plan: what of it is covered, by how much, and where least.

One array: the ranges that occur in an area run from its nearest point to its farthest corner, the drops over
the mouth range, and slack rises once and falls once along a level and along a plumb line. So over that rectangle
it is least at one of four corners, and each corner is a mouth of the area: exact at the cost of a head.

Several arrays: one of them answers for a point over its whole mouth range. A piece of the area has at least the
largest of its arrays' exact slacks, and at most what any point of it has; pieces are halved where the two are
apart, so that the answer is proven to `GAP_M`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.aims import WEIGHT_STEP
from geometry.band import ON_EDGE_M, Band, Floats, slack
from geometry.coverage import Heads
from geometry.records import record
from geometry.region import CURVE_TOLERANCE_M, Polygon, annuli, disc

GAP_M = 0.001
"""How exact the least slack of an area is where it is shared by several arrays."""
PIECES = 20_000
"""So many pieces are looked at before the bound stands as it is."""
SLIVER_M2 = 1e-8
"""Less than this of an area is rounding."""


@record(frozen=True, slots=True, eq=False)
class Area:
    """Somewhere in `shape`, a plan polygon with its holes, is a mouth from `low_m` to `high_m` above the floor."""

    shape: shapely.Polygon
    low_m: float
    high_m: float
    sway_m: float

    @property
    def edges_m(self) -> Floats:
        """(e, 2, 2) the edges of its outline and holes, from each corner to the next."""
        rings = [shapely.get_coordinates(ring) for ring in (self.shape.exterior, *self.shape.interiors)]
        return np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])


@record(frozen=True, slots=True)
class Stand:
    """An array where it hangs: its acoustic centre and its band."""

    at_m: tuple[float, float, float]
    band: Band


@record(frozen=True, slots=True)
class Worst:
    """The least slack of an area, and a mouth that has it; of several arrays at most GAP_M less than the truth."""

    slack_m: float
    at_m: tuple[float, float, float]


def as_heads(areas: Sequence[Area]) -> Heads:
    """A head for each area, as if one array answered for all of it: see `Heads.anywhere`.

    Where not everybody can be covered talkers come first: an area counts the least that anything can.
    """
    edges = [area.edges_m for area in areas]
    counts = np.array([len(some) for some in edges], np.int64)
    middles = [shapely.get_coordinates(shapely.point_on_surface(area.shape))[0] for area in areas]
    levels = [(area.low_m + area.high_m) / 2 for area in areas]
    every = np.concatenate(edges)
    return Heads(
        at_m=np.column_stack([middles, levels]),
        sway_m=np.array([area.sway_m for area in areas]),
        xy_m=every[:, 0],
        to_m=every[:, 1],
        low_m=np.repeat([area.low_m for area in areas], counts),
        high_m=np.repeat([area.high_m for area in areas], counts),
        start=np.cumsum(counts) - counts,
        weight=np.full(len(areas), WEIGHT_STEP),
        anywhere=np.ones(len(areas), np.bool_),
    )


def worst_of(area: Area, stands: Sequence[Stand]) -> Worst:
    """The least slack of any mouth in the area from whichever array gives it most, and where; one array at least."""
    return _worst_of_one(area, stands[0]) if len(stands) == 1 else _halved(area, stands)


def keeps(area: Area, stands: Sequence[Stand], least_m: float) -> bool:
    """Whether every mouth in the area has this slack, as `worst_of` would have it, but sooner."""
    if len(stands) == 1:
        return _worst_of_one(area, stands[0]).slack_m >= least_m - ON_EDGE_M
    return _halved(area, stands, least_m - ON_EDGE_M).slack_m >= least_m - ON_EDGE_M


def slack_maps(
    area: Area, stands: Sequence[Stand], levels_m: Sequence[float]
) -> tuple[shapely.Geometry, ...]:
    """For each level (0 or more): what of the area's plan has at least that slack, a hair on the safe side."""
    return tuple(
        shapely.intersection(area.shape, shapely.union_all([_ring(area, stand, level) for stand in stands]))
        for level in levels_m
    )


def polygons_of(shape: shapely.Geometry) -> tuple[Polygon, ...]:
    """The polygons of a shape, outlines and holes not closed; slivers, lines and points left out."""
    parts = [
        part for part in shapely.get_parts(shape) if part.geom_type == "Polygon" and part.area > SLIVER_M2
    ]
    return tuple(
        (
            shapely.get_coordinates(part.exterior)[:-1],
            tuple(shapely.get_coordinates(hole)[:-1] for hole in part.interiors),
        )
        for part in parts
    )


def without_holes(shape: shapely.Geometry) -> list[Floats]:
    """The same as plain outlines: what has a hole is cut in two along a plumb line of the plan through it."""
    found: list[Floats] = []
    waiting = [part for part in shapely.get_parts(shape).tolist() if part.geom_type == "Polygon"]
    while waiting:
        part = waiting.pop()
        if part.area <= SLIVER_M2:
            continue
        if not part.interiors:
            found.append(shapely.get_coordinates(part.exterior)[:-1])
            continue
        left, low, right, high = part.bounds
        cut = part.interiors[0].centroid.x
        halves = (shapely.box(left, low, cut, high), shapely.box(cut, low, right, high))
        for half in halves:
            waiting += shapely.get_parts(shapely.intersection(part, half)).tolist()
    return [outline for outline in found if len(outline) > 2]


# ---- one array -------------------------------------------------------------------------------------------


def _worst_of_one(area: Area, stand: Stand) -> Worst:
    x, y, z = stand.at_m
    place = shapely.Point(x, y)
    corners = shapely.get_coordinates(area.shape)
    far = corners[int(np.argmax(np.hypot(corners[:, 0] - x, corners[:, 1] - y)))]
    near = shapely.get_coordinates(shapely.shortest_line(area.shape, place))[0]
    mouths = np.array([(*at, height) for at in (near, far) for height in (area.low_m, area.high_m)])
    rho = np.hypot(mouths[:, 0] - x, mouths[:, 1] - y)
    found = slack(stand.band, rho, z - mouths[:, 2])
    least = int(np.argmin(found))
    return Worst(
        float(found[least]), (float(mouths[least, 0]), float(mouths[least, 1]), float(mouths[least, 2]))
    )


def _ring(area: Area, stand: Stand, level_m: float) -> shapely.Geometry:
    """Plan places from which a mouth range has this slack: inside the outer circle, outside the inner one."""
    middle = (area.low_m + area.high_m) / 2
    mouth = Heads.at((*stand.at_m[:2], middle), sway_m=level_m, half_range_m=area.high_m - middle)
    inner, outer = (float(ends[0]) for ends in annuli(mouth, stand.band, stand.at_m[2]))
    if outer <= max(inner, CURVE_TOLERANCE_M):
        return shapely.Polygon()
    ring = shapely.Polygon(disc(stand.at_m[:2], outer, around=False)[0])
    if inner <= 0:
        return ring
    return shapely.difference(ring, shapely.Polygon(disc(stand.at_m[:2], inner, around=True)[0]))


# ---- several arrays --------------------------------------------------------------------------------------


def _halved(area: Area, stands: Sequence[Stand], least_m: float | None = None) -> Worst:
    """The worst mouth seen, with a slack that none is below; given `least_m` as soon as that is kept or is not."""
    pieces: NDArray[np.object_] = np.array([area.shape], object)
    worst, looked, settled = Worst(np.inf, (0.0, 0.0, 0.0)), 0, np.inf
    while len(pieces):
        looked += len(pieces)
        worst = min(worst, _least_seen(area, stands, pieces), key=lambda one: one.slack_m)
        bounds = np.max([_least_of_pieces(area, stand, pieces) for stand in stands], axis=0)
        least = min(settled, float(bounds.min()))
        if looked > PIECES or (least_m is not None and not worst.slack_m >= least_m > least):
            return replace(worst, slack_m=least)
        enough = bounds >= worst.slack_m - GAP_M
        settled = min([settled, *bounds[enough].tolist()])
        pieces = _in_two(pieces[~enough])
    return replace(worst, slack_m=settled)


def _least_of_pieces(area: Area, stand: Stand, pieces: NDArray[np.object_]) -> Floats:
    """(p,) the exact least slack of all mouths of each piece from one array."""
    x, y, z = stand.at_m
    nearest = shapely.distance(pieces, shapely.Point(x, y))
    corners, owner = shapely.get_coordinates(pieces, return_index=True)
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    farthest = np.maximum.reduceat(np.hypot(corners[:, 0] - x, corners[:, 1] - y), first)
    drops = np.array([z - area.high_m, z - area.low_m])
    found: Floats = slack(stand.band, np.stack([nearest, farthest])[:, None], drops[:, None]).min(axis=(0, 1))
    return found


def _least_seen(area: Area, stands: Sequence[Stand], pieces: NDArray[np.object_]) -> Worst:
    """The least slack among the corners and middles of the pieces, each from its best array, and the mouth."""
    middles = shapely.get_coordinates(shapely.point_on_surface(pieces))
    places = np.unique(np.concatenate([shapely.get_coordinates(pieces), middles]), axis=0)
    levels = np.array([area.low_m, area.high_m])
    given = np.empty((len(stands), len(levels), len(places)))
    for k, stand in enumerate(stands):
        x, y, z = stand.at_m
        rho = np.hypot(places[:, 0] - x, places[:, 1] - y)
        given[k] = slack(stand.band, rho, (z - levels)[:, None])
    of_place = given.min(axis=1)
    least = int(np.argmin(of_place.max(axis=0)))
    best = int(of_place[:, least].argmax())
    level = int(np.argmin(given[best, :, least]))
    mouth = (float(places[least, 0]), float(places[least, 1]), float(levels[level]))
    return Worst(float(of_place[best, least]), mouth)


def _in_two(pieces: NDArray[np.object_]) -> NDArray[np.object_]:
    """Each piece cut in two across its longer side."""
    halves: list[object] = []
    for piece, (left, low, right, high) in zip(pieces, shapely.bounds(pieces), strict=True):
        if right - left >= high - low:
            cut = (left + right) / 2
            boxes = ((left, low, cut, high), (cut, low, right, high))
        else:
            cut = (low + high) / 2
            boxes = ((left, low, right, cut), (left, cut, right, high))
        halves += [shapely.intersection(piece, shapely.box(*box)) for box in boxes]
    parts = np.array(shapely.get_parts(np.array(halves, object)), object)
    kept = parts[(shapely.get_dimensions(parts) == 2) & (shapely.area(parts) > 0)]
    return np.asarray(kept, object)
