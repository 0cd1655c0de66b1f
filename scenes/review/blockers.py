"""What may stand in a line of sight, as convex solids: one list for the review and for the search.

Boxes and cylinders of devices, obstacles, arrays with their cables, and displays; table tops; and what lies
outside a room that is not convex, up to its convex hull. People do not block: the array hears round them, and
seats are the designer's.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.ceiling import Surface
from geometry.coverage import Heads
from geometry.pieces import convex_pieces, hull, outside_pieces, pieces_round_holes
from geometry.polygons import area
from geometry.records import record
from geometry.shapes import Blocker as Solid
from geometry.shapes import Box, Cylinder, Point2, Prism
from geometry.sight import hidden
from scenes.room.ceiling import REST, ceiling_over_m, highest_m
from scenes.room.scene import Array, Device, Display, Obstacle, Outline, Room, Scene, Table
from scenes.rules.surroundings import shapes_of
from scenes.rules.under import Region, regions_of

Bools = NDArray[np.bool_]

Kind = Literal["device", "building", "obstacle", "column", "array", "display", "table", "wall"]
"""What stands in a line, by what can be done about it: a beam is of the building, a column goes up to the ceiling."""

WALLS = "walls"
"""The owner of what lies outside the room: which wall a line meets is asked of each line."""
DISPLAY_DEPTH_M = 0.05
"""How thick a display is behind its face when it stands in a line of sight: our default."""
TOP_THICK_M = 0.03
"""How thick a table top is: our default."""
COLUMN_FROM_M = 2.0
"""What stands on the floor and is this tall may be a column, or a cupboard that nobody moves lightly."""
ON_FLOOR_M = 0.1
"""What begins no higher than this stands on the floor."""
BEYOND_M = 1.0
"""Walls go on this far under the floor and over the ceiling: no line passes between them and either."""
SLICE_M = 0.05
"""A sloped ceiling that may hide somebody is taken in slices that are no higher than this."""
FLAT_M = 1e-6
"""Heights and places this near are the same."""
MOVED_BY_US = ("light", "loudspeaker", "projector", "access point", "screen", "track", "other")
"""Kinds of devices that a designer may ask to be moved for a line of sight; the rest is the building's."""


@record(frozen=True, slots=True)
class Blocker:
    """One convex solid that may stand in a line: whose it is, of what kind, and whether it is only the cable."""

    owner: str
    kind: Kind
    solid: Solid
    cable: bool = False


def blockers_of(scene: Scene) -> tuple[Blocker, ...]:
    """Everything that may stand in a line of sight, things first and the building round them last."""
    room = scene.room
    ceiling = highest_m(room)
    found = [
        *(one for device in scene.overhead for one in of_device(device) if one.solid.low_m < ceiling),
        *(of_obstacle(one) for one in scene.obstacles),
        *(
            one
            for array in scene.arrays
            if array.placed
            for one in of_array(array, ceiling_over_m(room, array.at_m))
        ),
        *(of_display(display) for display in scene.displays),
        *(one for table in scene.tables for one in of_table(table)),
    ]
    if scene.layouts:
        found = [replace(one, solid=replace(one.solid, only=scene.furnishing(one.owner))) for one in found]
    return (*found, *_ceilings(room), *_walls(room.outline_m, ceiling))


def solids_before(scene: Scene, array: Array) -> tuple[Solid, ...]:
    """The solids that may hide a mouth from this array, wherever it hangs: all but its own.

    Other arrays count where they have a place in the scene.
    """
    return tuple(one.solid for one in blockers_of(scene) if one.owner != array.id)


def of_device(device: Device) -> list[Blocker]:
    """The device, and the stem it hangs from."""
    kind: Kind = "device" if device.kind in MOVED_BY_US else "building"
    return [Blocker(device.id, kind, solid) for solid in shapes_of(device)]


def of_obstacle(one: Obstacle) -> Blocker:
    """The obstacle; what is tall and stands on the floor may be a column."""
    tall = one.solid.low_m < ON_FLOOR_M and one.solid.high_m >= COLUMN_FROM_M
    return Blocker(one.id, "column" if tall else "obstacle", one.solid)


def of_array(array: Array, ceiling_m: float) -> list[Blocker]:
    """A placed array's body, and its cable up to the ceiling."""
    found = [Blocker(array.id, "array", array.body)]
    cable = array.cable(ceiling_m)
    if cable is not None:
        (x, y, low), (_, _, high) = cable.start_m, cable.end_m
        hanging = Cylinder((x, y, (low + high) / 2), cable.radius_m, high - low)
        found.append(Blocker(array.id, "array", hanging, cable=True))
    return found


def of_display(display: Display) -> Blocker:
    """The display with what is behind its face."""
    facing = math.radians(display.facing_deg)
    x, y, z = display.at_m
    behind = DISPLAY_DEPTH_M / 2
    middle = (x - behind * math.cos(facing), y - behind * math.sin(facing), z)
    size = (DISPLAY_DEPTH_M, display.width_m, display.height_m)
    return Blocker(display.id, "display", Box(middle, size, display.facing_deg))


def of_table(table: Table) -> list[Blocker]:
    """The table's top, in pieces where its outline is not convex."""
    low = max(table.height_m - TOP_THICK_M, 0.0)
    return [Blocker(table.id, "table", Prism(ring, low, table.height_m)) for ring in _top(table.outline_m)]


@lru_cache(maxsize=64)
def _top(outline: Outline) -> tuple[Outline, ...]:
    return convex_pieces(outline)


@lru_cache(maxsize=8)
def _ceilings(room: Room) -> tuple[Blocker, ...]:
    """What is above the ceiling's lower parts, where a line from under a higher one can pass through it.

    A slope in slices, each from its higher end on: of what is solid at most SLICE_M is left out under it.
    """
    if not room.parts:
        return ()
    found: list[Blocker] = []
    top_m = highest_m(room) + BEYOND_M
    for region in regions_of(room):
        if not _is_under_others(region, room):
            continue
        owner = REST if region.part is None else region.part.id
        found += [Blocker(owner, "building", Prism(ring, low, top_m)) for ring, low in _slices(region, room)]
    return tuple(found)


def _is_under_others(region: Region, room: Room) -> bool:
    """Whether any of the ceiling round it is higher than its plane: else no line in the room can meet it."""
    return any(
        other.surface.height_m(corner) > region.surface.height_m(corner) + FLAT_M
        for other in regions_of(room)
        if other is not region
        for rings in other.areas
        for corner in rings[0]
    )


def _open_holes(rings: tuple[Outline, ...], region: Region, room: Room) -> tuple[Outline, ...]:
    """The outlines of an area without the holes under which all the ceiling is lower: what is over those is solid too.

    A line that passes over one of them passes through what is round it as well.
    """
    import shapely

    level_m = region.room.ceiling_m
    higher = [
        shapely.Polygon(other[0])
        for part in regions_of(room)
        if part is not region
        and max(part.surface.height_m(corner) for one in part.areas for corner in one[0]) > level_m
        for other in part.areas
    ]
    open_ones = (hole for hole in rings[1:] if any(shapely.Polygon(hole).intersects(one) for one in higher))
    return (rings[0], *open_ones)


def _slices(region: Region, room: Room) -> Iterator[tuple[Outline, float]]:
    """Convex pieces of a region with the height from which each is solid."""
    surface = region.surface
    for rings in region.areas:
        for piece in _convex(_open_holes(rings, region, room)):
            if surface.flat:
                yield piece, surface.level_m
                continue
            heights = [surface.height_m(corner) for corner in piece]
            count = max(1, math.ceil((max(heights) - min(heights)) / SLICE_M))
            ends = np.linspace(min(heights), max(heights), count + 1)
            for low, high in itertools.pairwise(ends.tolist()):
                part = _between(piece, surface, low, high)
                if part is not None:
                    yield part, high


def _convex(rings: tuple[Outline, ...]) -> Iterator[Outline]:
    """Convex pieces of an area; where it has holes they overlap by a hair."""
    if len(rings) == 1:
        yield from _top(rings[0])
        return
    import shapely

    for piece in pieces_round_holes(rings):
        grown = shapely.Polygon(piece).buffer(FLAT_M, join_style="mitre").convex_hull
        grown = shapely.geometry.polygon.orient(grown)
        yield tuple((float(x), float(y)) for x, y in grown.exterior.coords[:-1])


def _between(piece: Outline, surface: Surface, low_m: float, high_m: float) -> Outline | None:
    """What of a convex piece is under a slope between two of its heights; overlaps the next slice by a hair."""
    ring = list(piece)
    for sign, limit in ((1.0, low_m - FLAT_M), (-1.0, high_m + FLAT_M)):
        kept: list[Point2] = []
        over = [sign * (surface.height_m(corner) - limit) for corner in ring]
        for k, corner in enumerate(ring):
            before, here = over[k - 1], over[k]
            if (before < 0) != (here < 0):
                share = before / (before - here)
                (x, y), (u, v) = ring[k - 1], corner
                kept.append((x + share * (u - x), y + share * (v - y)))
            if here >= 0:
                kept.append(corner)
        ring = kept
    found = hull(ring) if len(ring) > 2 else ()
    return found if len(found) > 2 and area(found) > FLAT_M**2 else None


@lru_cache(maxsize=8)
def _walls(outline: Outline, ceiling_m: float) -> tuple[Blocker, ...]:
    return tuple(
        Blocker(WALLS, "wall", Prism(ring, -BEYOND_M, ceiling_m + BEYOND_M))
        for ring in outside_pieces(outline)
    )


def wall_ids(scene: Scene) -> tuple[str, ...]:
    """What each wall is called where it blocks a line, by index: "wall 3", and "wall 3 of the room" if a thing is."""
    things = (scene.overhead, scene.obstacles, scene.arrays, scene.displays, scene.tables)
    taken = {one.id for several in things for one in several}
    names = [f"wall {index}" for index in range(len(scene.room.outline_m))]
    return tuple(f"{name} of the room" if name in taken else name for name in names)


# What hides what ----------------------------------------------------------------------------------------


def hides(places: NDArray[np.float64], targets: Heads, blockers: Sequence[Blocker]) -> Bools:
    """(n, targets, blockers) which blockers stand between places (n, 3) and any point of the targets; exact.

    A target is a mouth range, a way that is walked at all heights of a range, or an upright face.
    """
    found = np.zeros((len(places), len(targets), len(blockers)), np.bool_)
    if not found.size:
        return found
    low = min(places[:, 2].min(), targets.low_m.min())
    high = max(places[:, 2].max(), targets.high_m.max())
    # most of a ceiling is above every line: it need not be asked
    asked = [k for k, one in enumerate(blockers) if one.solid.low_m < high and one.solid.high_m > low]
    found[:, :, asked] = hidden(places, targets, [blockers[k].solid for k in asked])
    return found


def any_of(hidden: Bools) -> Bools:
    """(places, targets) whether any of the blockers (places, targets, blockers) stands in a line."""
    return np.asarray(hidden.any(axis=2), np.bool_)


def hides_from_arrays(scene: Scene, blockers: Sequence[Blocker]) -> Bools:
    """(arrays, heads, blockers) what stands between each array that has a place and any mouth of each head.

    Its own body and cable do not.
    """
    placed = [array for array in scene.arrays if array.placed]
    places = np.array([array.centre_m for array in placed], float).reshape(-1, 3)
    found = hides(places, scene.heads_as_rows, blockers)
    own = np.array([[one.owner == array.id for one in blockers] for array in placed], np.bool_)
    return np.asarray(found & ~own.reshape(len(placed), 1, len(blockers)))


def seen(scene: Scene) -> Bools:
    """(arrays, heads) whether nothing stands between a placed array and any mouth of a head."""
    return ~any_of(hides_from_arrays(scene, blockers_of(scene)))
