"""Letters and numbers of ceiling tiles, beside the room: a schedule's tile is found on the plan by them."""

from __future__ import annotations

import math
from typing import Final

import shapely

from scenes.room.ceiling import room_under
from scenes.room.scene import Room, Scene
from scenes.room.tiles import tile_of
from scenes.rules.under import Region, regions_of
from viz.sheets.chains import spread
from viz.sheets.draft import TEXT_MM, View
from viz.sheets.lettering import Weight
from viz.sheets.plan_chains import WALL_M
from viz.sheets.plan_room import rings_of

SIDE_MM: Final = 4.2
"""A name stands in a square of that side; circles are the architect's axes."""
OFF_MM: Final = 0.6
"""From the wall's outer face to the squares."""
GAP_MM: Final = 0.2
"""Between two squares whose tiles are narrower."""
EVERY: Final = 5
"""Where tiles are smaller on paper than their squares only so many are named, and those that hold an array."""


def tile_names(view: View, scene: Scene) -> None:
    """Letters of the columns above the room, numbers of the rows right of it, each at the middle of its tiles.

    Of a ceiling in parts those of the grid that arrays hang from, as far as it goes.
    """
    region = _named_region(scene)
    if region is None or region.room.grid is None:
        return
    room, grid, (x0, y0, x1, y1) = region.room, region.room.grid, region.area.bounds
    low, high = (x0, y0), (x1, y1)
    for axis in (0, 1):
        pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
        held = {
            math.floor((one.centre_m[axis] - origin) / pitch + 1e-9)
            for one in scene.arrays
            if room_under(scene.room, one.at_m).grid == grid
        }
        first = math.floor((low[axis] - origin) / pitch + 1e-9)
        last = math.ceil((high[axis] - origin) / pitch - 1e-9)
        every = 1 if view.to_mm((pitch, 0))[0] > SIDE_MM + 0.4 else EVERY
        cells = [cell for cell in range(first, last) if (cell - first) % every == 0 or cell in held]
        middles = [
            (max(origin + cell * pitch, low[axis]) + min(origin + (cell + 1) * pitch, high[axis])) / 2
            for cell in cells
        ]
        # a cut tile may be narrower than its square: the squares stand side by side then
        at_mm = spread([view.to_mm((middle, 0))[0] for middle in middles], SIDE_MM + GAP_MM)
        for cell, middle, x_mm in zip(cells, middles, at_mm, strict=True):
            _square(view, scene, room, axis, (middle, view.to_m(x_mm)), held=cell in held)
        if at_mm:
            _keep_row(view, scene, axis, (at_mm[0], at_mm[-1]))


def _keep_row(view: View, scene: Scene, axis: int, ends_mm: tuple[float, float]) -> None:
    """Nothing else is lettered in a row of squares: there it would read as the name of a tile."""
    (x, y), half = view.to_mm(scene.room.bounds_m[1]), SIDE_MM / 2
    near = view.to_mm((WALL_M, 0))[0] + OFF_MM
    a, b = ends_mm[0] - half, ends_mm[1] + half
    view.keep((a, y + near, b, y + near + SIDE_MM) if axis == 0 else (x + near, a, x + near + SIDE_MM, b))


def held_tiles(view: View, scene: Scene) -> None:
    """The tiles that arrays hang from, filled."""
    outline = shapely.Polygon(scene.room.outline_m)
    for array in scene.arrays:
        room = room_under(scene.room, array.at_m)
        if room.grid is None or not _has_tiles(room):
            continue
        low, high = [], []
        for at, origin, pitch in zip(array.centre_m[:2], room.grid.origin_m, room.grid.pitch_m, strict=True):
            low.append(origin + math.floor((at - origin) / pitch + 1e-9) * pitch)
            high.append(low[-1] + pitch)
        for rings in rings_of(shapely.box(*low, *high).intersection(outline)):
            view.fill("tile", rings)


def _named_region(scene: Scene) -> Region | None:
    """The part of the ceiling whose tiles are named: the first whose grid an array hangs from; None if there is none."""
    regions = [one for one in regions_of(scene.room) if _has_tiles(one.room)]
    if scene.room.parts and scene.arrays:
        over = [room_under(scene.room, one.at_m) for one in scene.arrays]
        hung = [room.grid for room in over if _has_tiles(room)]
        regions = [one for one in regions if one.room.grid in hung]
    return next(iter(regions), None)


def _has_tiles(room: Room) -> bool:
    return room.grid is not None and room.ceiling_kind == "suspended"


def _square(
    view: View, scene: Scene, room: Room, axis: int, along_m: tuple[float, float], *, held: bool
) -> None:
    """The name of a column or a row in its square, bold where an array hangs; `along_m`: its middle, the square's."""
    (low, high), (middle_m, square_m) = scene.room.bounds_m, along_m
    found = tile_of(room, (middle_m, low[1]) if axis == 0 else (low[0], middle_m))
    if found is None:
        return
    letters = found[0].rstrip("0123456789")
    name = letters if axis == 0 else found[0][len(letters) :]
    off, half = WALL_M + view.to_m(OFF_MM + SIDE_MM / 2), view.to_m(SIDE_MM / 2)
    x, y = (square_m, high[1] + off) if axis == 0 else (high[0] + off, square_m)
    x_mm, y_mm = view.to_mm((x, y))
    if not view.taken((x, y), SIDE_MM / 2 - 0.1):
        corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
        view.polyline("leader" + view.suffix, corners, closed=True)
        baseline = (x, y - view.to_m(TEXT_MM / 2))
        weight: Weight = "semibold" if held else "regular"
        view.text("note" + view.suffix, name, baseline, weight=weight, align="centre")
        view.keep((x_mm - SIDE_MM / 2, y_mm - SIDE_MM / 2, x_mm + SIDE_MM / 2, y_mm + SIDE_MM / 2))
