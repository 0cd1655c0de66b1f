"""The lay-in ceiling's tiles and tees: which tile a hang point is in, and how far it is from the metal."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.shapes import Point2
from scenes.room.scene import Array, Room
from scenes.words import shortfall

ON_IT_M = 1e-6
"""Nearer than this to a tee is on it: rounding."""


def tile_of(room: Room, point: Point2) -> tuple[str, Point2] | None:
    """The tile over a plan point, such as C5, and the point's place from the tile's middle; None without a grid.

    Columns are letters from the room's lowest x (A … Z, AA …), rows numbers from its lowest y.
    """
    if room.grid is None:
        return None
    low, _ = room.bounds_m
    cells, offset = [], []
    for axis in (0, 1):
        pitch, origin = room.grid.pitch_m[axis], room.grid.origin_m[axis]
        # a point on a tee belongs to the tile beyond it; rounding must not move it
        cell = math.floor((point[axis] - origin) / pitch + 1e-9)
        first = math.floor((low[axis] - origin) / pitch + 1e-9)
        cells.append(cell - first)
        offset.append(point[axis] - origin - (cell + 0.5) * pitch)
    letters, column = "", cells[0]
    while column >= 0:
        letters, column = chr(ord("A") + column % 26) + letters, column // 26 - 1
    return f"{letters}{cells[1] + 1}", (offset[0], offset[1])


@dataclass(frozen=True, slots=True)
class InTile:
    """How an array sits in its tile: along x and y, from what passes the tile to the middle of the nearest tee.

    What passes is a pendant's cable, or a flush body's outline; negative where it crosses the tee.
    `fits` tells whether a body of that size goes into any tile.
    """

    tile: str
    to_tee_m: Point2
    fits: bool

    @property
    def least_m(self) -> float:
        """The nearer of both."""
        return min(self.to_tee_m)

    def way_off(self, required_m: float, units: str) -> str:
        """How far to move it, along which of the grid's two directions, to be that far from every tee."""
        ways = [
            f"{shortfall(required_m - spare, units)} along {axis}"
            for axis, spare in zip("xy", self.to_tee_m, strict=True)
            if spare < required_m - ON_IT_M
        ]
        return " and ".join(ways)


def half_in_ceiling_m(array: Array) -> Point2:
    """Half extents along x and y of what passes the ceiling or lies in it: a flush body's; a cable counts as a point."""
    if array.profile.mount != "flush":
        return (0.0, 0.0)
    x, y = array.profile.size_m[0] / 2, array.profile.size_m[1] / 2
    turn = math.radians(array.turn_deg)
    c, s = abs(math.cos(turn)), abs(math.sin(turn))
    return (x, x) if array.profile.round else (c * x + s * y, s * x + c * y)


def in_tile(room: Room, array: Array) -> InTile | None:
    """Where the array's cable or flush body is in its tile; None in a room without a lay-in grid."""
    found = tile_of(room, array.centre_m[:2])
    if found is None or room.grid is None:
        return None
    name, offset = found
    half = half_in_ceiling_m(array)
    spare = tuple(pitch / 2 - extent for pitch, extent in zip(room.grid.pitch_m, half, strict=True))
    return InTile(
        name,
        (spare[0] - abs(offset[0]), spare[1] - abs(offset[1])),
        min(spare) >= -ON_IT_M,
    )
