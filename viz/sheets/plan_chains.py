"""The chains of dimensions below and left of the plans, and the room that they need on paper."""

from __future__ import annotations

import math
from typing import Final, Literal

import shapely

from scenes.room.ceiling import room_under
from scenes.room.scene import Array, Grid, Scene, Table
from viz.sheets.chains import ROW_MM, Station, chain
from viz.sheets.draft import Point, View
from viz.words.locale import Locale

WALL_M: Final = 0.1
"""Thickness a wall is drawn with, outwards from its finished face: a spec does not tell it."""
FIRST_ROW_MM: Final = 12.5
"""From the walls' outer face to the first chain of dimensions."""


def margins_mm(rows: tuple[int, int]) -> tuple[float, float, float, float]:
    """What a plan needs round the walls on paper: left, below, right, above. `rows`: chains along y and x."""
    return (
        FIRST_ROW_MM + ROW_MM * (rows[0] - 1) + 4.5,
        FIRST_ROW_MM + ROW_MM * (rows[1] - 1) + 2.5,
        11.3,
        11.3,
    )


def plan_rows(scene: Scene) -> tuple[int, int]:
    """The most chains of dimensions along y and along x that floor plan or ceiling plan have.

    One number for both, so that they come at one scale and lie over each other on paper too.
    """
    grid = 1 if _gridded(scene) else 0
    floor = 2 if scene.tables else 1
    return max(floor, len(_wall_groups(scene, 1)) + grid + 1), max(
        floor, len(_wall_groups(scene, 0)) + grid + 1
    )


def _row_line(view: View, scene: Scene, axis: int, row: int) -> float:
    """Where chain number `row` lies: below the room for x (axis 0), left of it for y."""
    low = scene.room.bounds_m[0]
    return low[1 - axis] - WALL_M - view.to_m(FIRST_ROW_MM + ROW_MM * row)


def floor_chains(view: View, scene: Scene) -> None:
    (x0, y0), (x1, y1) = scene.room.bounds_m
    locale = view.draft.locale
    wall = locale.say("sheet.to.wall")
    for axis in (0, 1):
        ends = ((x0, y0), (x1, y0)) if axis == 0 else ((x0, y0), (x0, y1))
        row = 0
        if scene.tables:
            stations: list[Station] = [(wall, ends[0]), (wall, ends[1])]
            for table in scene.tables:
                names = (
                    locale.say("sheet.to.near edge", table=table.id),
                    locale.say("sheet.to.far edge", table=table.id),
                )
                for name, value in zip(names, _table_edges(table, axis), strict=True):
                    # measured at the wall's face, so that no extension line runs through the people
                    stations.append((name, (value, y0) if axis == 0 else (x0, value)))
            chain(view, stations, "x" if axis == 0 else "y", _row_line(view, scene, axis, row))
            row += 1
        chain(
            view,
            [(wall, ends[0]), (wall, ends[1])],
            "x" if axis == 0 else "y",
            _row_line(view, scene, axis, row),
            names=[_along(locale, axis)],
        )


def _along(locale: Locale, axis: int) -> str:
    """What the chain of a whole room measures."""
    return locale.say("sheet.along x" if axis == 0 else "sheet.along y")


def _table_edges(table: Table, axis: int) -> tuple[float, float]:
    """Lowest and highest x or y of a table: from its size where it stands square, else from its outline."""
    if table.shape != "polygon" and abs(table.turn_deg / 90 - round(table.turn_deg / 90)) < 1e-9:
        size = table.size_m[axis if round(table.turn_deg / 90) % 2 == 0 else 1 - axis]
        return table.at_m[axis] - size / 2, table.at_m[axis] + size / 2
    values = [point[axis] for point in table.outline_m]
    return min(values), max(values)


def _faces(scene: Scene, at: Point, axis: int) -> tuple[Point, Point]:
    """The two wall faces that the line through `at` along an axis meets first, either way."""
    room = shapely.Polygon(scene.room.outline_m)
    (x0, y0), (x1, y1) = scene.room.bounds_m
    ends = ((x0 - 1, at[1]), (x1 + 1, at[1])) if axis == 0 else ((at[0], y0 - 1), (at[0], y1 + 1))
    inside = shapely.LineString(ends).intersection(room)
    for part in shapely.get_parts(inside):
        if part.geom_type != "LineString":
            continue
        a, b = sorted([part.coords[0], part.coords[-1]], key=lambda p: p[axis])
        if a[axis] - 1e-9 <= at[axis] <= b[axis] + 1e-9:
            return (a[0], a[1]), (b[0], b[1])
    raise ValueError(f"the point {at} is not inside the room's outline")


def _wall_groups(scene: Scene, axis: int) -> list[tuple[Point, Point, list[Array]]]:
    """Arrays that lie between the same two faces, with these faces."""
    groups: dict[tuple[float, float], tuple[Point, Point, list[Array]]] = {}
    for array in scene.arrays:
        a, b = _faces(scene, (array.centre_m[0], array.centre_m[1]), axis)
        key = (round(a[axis], 4), round(b[axis], 4))
        groups.setdefault(key, (a, b, []))[2].append(array)
    return list(groups.values())


def ceiling_chains(view: View, scene: Scene) -> None:
    """Arrays to the grid lines round them, to the walls, and the room."""
    (x0, y0), (x1, y1) = scene.room.bounds_m
    locale = view.draft.locale
    wall = locale.say("sheet.to.wall")
    ways: tuple[tuple[int, Literal["x", "y"]], ...] = ((0, "x"), (1, "y"))
    for axis, word in ways:
        row = 0
        if _gridded(scene):
            through = [array.centre_m[axis] for array in scene.arrays]
            stations = _grid_stations(scene, axis, locale)
            chain(view, stations, word, _row_line(view, scene, axis, row), through=through)
            row += 1
        for a, b, arrays in _wall_groups(scene, axis):
            chain(
                view,
                [(wall, a), (wall, b), *((array.id, array.centre_m[:2]) for array in arrays)],
                word,
                _row_line(view, scene, axis, row),
            )
            row += 1
        ends = ((x0, y0), (x1, y0)) if axis == 0 else ((x0, y0), (x0, y1))
        chain(
            view, [(wall, ends[0]), (wall, ends[1])], word, _row_line(view, scene, axis, row),
            names=[_along(locale, axis)],
        )  # fmt: skip


def _gridded(scene: Scene) -> list[tuple[Array, Grid]]:
    """The arrays that hang under a lay-in grid, each with the grid over it."""
    over = [(array, room_under(scene.room, array.at_m).grid) for array in scene.arrays]
    return [(array, grid) for array, grid in over if grid is not None]


def _grid_stations(scene: Scene, axis: int, locale: Locale) -> list[Station]:
    """Each array under a grid and the grid lines next to it."""
    stations: list[Station] = []
    for array, grid in _gridded(scene):
        pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
        at = array.centre_m[:2]
        stations.append((array.id, at))
        tile = (at[axis] - origin) / pitch
        # on a grid line: to its neighbours on either side, so that the chain says so
        lines = {math.ceil(tile - 1 - 1e-6), math.floor(tile + 1 + 1e-6)}
        for line in (origin + i * pitch for i in sorted(lines)):
            name = locale.say("sheet.to.grid line", array=array.id)
            stations.append((name, (line, at[1]) if axis == 0 else (at[0], line)))
    return stations
