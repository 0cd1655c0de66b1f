"""Letters and numbers of ceiling tiles, beside the room: a schedule's tile is found on the plan by them."""

from __future__ import annotations

import math
from typing import Final

from scenes.room.ceiling import room_under
from scenes.room.scene import Room, Scene
from scenes.room.tiles import tile_of
from scenes.rules.under import Region, regions_of
from viz.sheets.draft import TEXT_MM, View
from viz.sheets.lettering import Weight
from viz.sheets.plan_chains import WALL_M

SIDE_MM: Final = 4.2
"""A name stands in a square of that side; circles are the architect's axes."""
OFF_MM: Final = 0.6
"""From the wall's outer face to the squares."""
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
        for cell in range(first, last):
            if (cell - first) % every == 0 or cell in held:
                ends = max(origin + cell * pitch, low[axis]), min(origin + (cell + 1) * pitch, high[axis])
                _square(view, scene, room, axis, sum(ends) / 2, held=cell in held)


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


def _square(view: View, scene: Scene, room: Room, axis: int, middle_m: float, *, held: bool) -> None:
    """The name of a column or a row in its square; bold where an array hangs."""
    low, high = scene.room.bounds_m
    found = tile_of(room, (middle_m, low[1]) if axis == 0 else (low[0], middle_m))
    if found is None:
        return
    letters = found[0].rstrip("0123456789")
    name = letters if axis == 0 else found[0][len(letters) :]
    off, half = WALL_M + view.to_m(OFF_MM + SIDE_MM / 2), view.to_m(SIDE_MM / 2)
    x, y = (middle_m, high[1] + off) if axis == 0 else (high[0] + off, middle_m)
    x_mm, y_mm = view.to_mm((x, y))
    if not view.taken((x, y), SIDE_MM / 2 - 0.1):
        corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
        view.polyline("leader" + view.suffix, corners, closed=True)
        baseline = (x, y - view.to_m(TEXT_MM / 2))
        weight: Weight = "semibold" if held else "regular"
        view.text("note" + view.suffix, name, baseline, weight=weight, align="centre")
        view.keep((x_mm - SIDE_MM / 2, y_mm - SIDE_MM / 2, x_mm + SIDE_MM / 2, y_mm + SIDE_MM / 2))
