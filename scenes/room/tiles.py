"""The lay-in ceiling's tiles: which tile a point is in, and which one a fitting fills."""

from __future__ import annotations

import math

from geometry.shapes import Box, Point2
from scenes.room.kinds import LAY_IN
from scenes.room.scene import Array, Device, Grid, Room

ON_IT_M = 1e-6
"""Nearer than this to a tee, or to the ceiling's plane, is on it: rounding."""


def tile_of(room: Room, point: Point2) -> tuple[str, Point2] | None:
    """The tile over a plan point, such as C5, and the point's place from the tile's middle; None without a grid.

    Columns are letters from the room's lowest x (A … Z, AA …), rows numbers from its lowest y.
    """
    if room.grid is None:
        return None
    low, _ = room.bounds_m
    cells, offset = [], []
    for axis in (0, 1):
        cell, off = _cell(room.grid, axis, point[axis])
        cells.append(cell - _cell(room.grid, axis, low[axis])[0])
        offset.append(off)
    letters, column = "", cells[0]
    while column >= 0:
        letters, column = chr(ord("A") + column % 26) + letters, column // 26 - 1
    return f"{letters}{cells[1] + 1}", (offset[0], offset[1])


def _cell(grid: Grid, axis: int, value: float) -> tuple[int, float]:
    """Which cell of the grid along an axis, and how far from its middle."""
    pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
    # a point on a tee belongs to the tile beyond it; rounding must not move it
    cell = math.floor((value - origin) / pitch + 1e-9)
    return cell, value - origin - (cell + 0.5) * pitch


def half_in_ceiling_m(array: Array) -> Point2:
    """Half extents along x and y of what passes the ceiling or lies in it: a flush body's; a cable counts as a point."""
    if array.profile.mount != "flush":
        return (0.0, 0.0)
    x, y = array.profile.size_m[0] / 2, array.profile.size_m[1] / 2
    turn = math.radians(array.turn_deg)
    c, s = abs(math.cos(turn)), abs(math.sin(turn))
    return (x, x) if array.profile.round else (c * x + s * y, s * x + c * y)


def filled_tile(room: Room, device: Device) -> tuple[str, Box] | None:
    """The tile that a fitting fills, by name and as a flat box in the ceiling; None where it fills none for sure.

    It fills one if it is of a kind made for that, no size of its own is given, and its middle is nearer to the
    tile's middle than to any tee.
    """
    found = tile_of(room, device.at_m)
    if found is None or room.grid is None or device.kind not in LAY_IN or device.size.own:
        return None
    name, offset = found
    pitch = room.grid.pitch_m
    if any(abs(off) >= side / 4 for off, side in zip(offset, pitch, strict=True)):
        return None
    middle = (device.at_m[0] - offset[0], device.at_m[1] - offset[1], room.ceiling_m)
    return name, Box(middle, (*pitch, 0.0))
