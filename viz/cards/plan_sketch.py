"""Where an array hangs on plan: the room, its tile, and square off which two walls it is set out."""

from __future__ import annotations

import math
from typing import Any, Final

import shapely

from geometry.shapes import Point2
from scenes.findings.as_built import SET_M
from scenes.findings.installation import ScheduleRow
from scenes.room.ceiling import room_under
from scenes.room.scene import Array, Scene
from scenes.room.walls import wall_name
from viz.cards.page import ROUND, TEXT_MM, Page
from viz.sheets.draft import Box
from viz.sheets.lettering import width
from viz.sheets.plan_room import opening_frame
from viz.words.cards import height
from viz.words.locale import Locale

ROUND_MM: Final = 9.0
"""Kept round the room for names of walls and of the tile."""
NAME_MM: Final = 4.2
"""The side of a tile name's square."""
FEW_WALLS: Final = 8
"""Of a room with more walls only the two measured from are named."""
BODY_MM: Final = 1.8
"""Radius of the array's mark."""


BAR_MM, THIN_MM = 3.2, 0.7
"""Half of a bar's length and half of its depth on the page, at least."""


class _Plan:
    """The room at a scale of its own in a box on the page."""

    def __init__(self, page: Page, scene: Scene, box: Box) -> None:
        (x0, y0), (x1, y1) = scene.room.bounds_m
        wide, tall = box[2] - box[0] - 2 * ROUND_MM, box[3] - box[1] - 2 * ROUND_MM
        self.page, self.scene = page, scene
        self.scale = min(wide / (x1 - x0), tall / (y1 - y0))
        self.zero = (
            (box[0] + box[2] - self.scale * (x0 + x1)) / 2,
            (box[1] + box[3] - self.scale * (y0 + y1)) / 2,
        )

    def mm(self, at: Any) -> Point2:
        """A plan point, metres, on the page."""
        return self.zero[0] + self.scale * float(at[0]), self.zero[1] + self.scale * float(at[1])


def plan_sketch(
    page: Page, scene: Scene, row: ScheduleRow, box: Box, *, held: bool, design: Point2 | None = None
) -> None:
    """The room in a box on the page: walls, tables, the tile over the array, and the two lengths to set.

    `design`: where the array is designed, dashed, where it hangs elsewhere.
    """
    plan = _Plan(page, scene, box)
    _grid(plan, row)
    for table in scene.tables:
        page.polyline("table above", [plan.mm(point) for point in table.outline_m], closed=True)
    page.polyline("wall", [plan.mm(point) for point in scene.room.outline_m], closed=True)
    _doors(plan)
    for other in scene.arrays:
        if other.id != row.array:
            page.polyline("card grey", _outline(plan, other), closed=True)
    _walls(plan, row)
    at = scene.array(row.array).centre_m[:2]
    for length_m, wall in ((row.x_m, row.x_wall), (row.y_m, row.y_wall)):
        _set_out(plan, at, length_m, wall, held=held)
    if design is not None and math.dist(design, at) >= SET_M:
        _designed(plan, at, design)
    _array(plan, scene.array(row.array))


def _designed(plan: _Plan, at: Point2, design: Point2) -> None:
    """Where an array is designed that hangs elsewhere: its ring in dashes, and a line from there."""
    (x, y), (x1, y1) = plan.mm(design), plan.mm(at)
    for i in range(0, len(ROUND), 2):
        (a, b), (c, d) = ROUND[i], ROUND[(i + 1) % len(ROUND)]
        plan.page.line("status", x + BODY_MM * a, y + BODY_MM * b, x + BODY_MM * c, y + BODY_MM * d)
    plan.page.line("status", x, y, x1, y1)


def _array(plan: _Plan, array: Array) -> None:
    """The array's body, its axis, and which way its mark points."""
    x, y = plan.mm(array.centre_m)
    body = _outline(plan, array)
    plan.page.fill("card white", body)
    plan.page.polyline("array", body, closed=True)
    plan.page.circle("array", x, y, 0.35)
    turn = math.radians(array.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    away = max((px - x) * c + (py - y) * s for px, py in body) + 2.2
    plan.page.arrow(x + away * c, y + away * s, array.turn_deg, 2.0)


def _outline(plan: _Plan, array: Array) -> list[Point2]:
    """A body on the page: a round one as a ring, a bar as long as the scale makes it but never too small to see."""
    x, y = plan.mm(array.centre_m)
    if array.profile.round:
        return [(x + BODY_MM * c, y + BODY_MM * s) for c, s in ROUND]
    wide, deep, _ = array.profile.size_m
    scale = max(plan.scale, 2 * BAR_MM / max(wide, deep))
    a, b = (max(side * scale / 2, THIN_MM) for side in (wide, deep))
    turn = math.radians(array.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    return [(x + u * c - v * s, y + u * s + v * c) for u, v in ((-a, -b), (a, -b), (a, b), (-a, b))]


def _grid(plan: _Plan, row: ScheduleRow) -> None:
    """Tees over the room, the array's tile filled and named at two sides."""
    scene, page = plan.scene, plan.page
    at = scene.array(row.array).centre_m[:2]
    room = room_under(scene.room, at)
    if row.tile is None or room.grid is None:
        return
    area = shapely.Polygon(scene.room.outline_m)
    grid, cell = room.grid, []
    for axis in (0, 1):
        pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
        index = math.floor((at[axis] - origin) / pitch + 1e-9)
        cell.append((origin + index * pitch, origin + (index + 1) * pitch))
    tile = shapely.box(cell[0][0], cell[1][0], cell[0][1], cell[1][1]).intersection(area)
    for part in shapely.get_parts(tile):
        if part.geom_type == "Polygon":
            page.fill("card tile", [plan.mm(point) for point in part.exterior.coords[:-1]])
    low, high = scene.room.bounds_m
    for axis in (0, 1):
        pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
        for i in range(
            math.ceil((low[axis] - origin) / pitch), math.floor((high[axis] - origin) / pitch) + 1
        ):
            value = origin + i * pitch
            ends = [(value, low[1]), (value, high[1])] if axis == 0 else [(low[0], value), (high[0], value)]
            for part in shapely.get_parts(shapely.LineString(ends).intersection(area)):
                if part.geom_type == "LineString":
                    page.line("grid", *plan.mm(part.coords[0]), *plan.mm(part.coords[-1]))
    letters = row.tile.rstrip("0123456789")
    x, top = plan.mm((sum(cell[0]) / 2, high[1]))
    left, y = plan.mm((low[0], sum(cell[1]) / 2))
    _named(page, letters, x, top + 1.5 + NAME_MM / 2)
    _named(page, row.tile[len(letters) :], left - 1.5 - NAME_MM / 2, y)


def _named(page: Page, name: str, x: float, y: float) -> None:
    half = NAME_MM / 2
    corners = (x - half, y - half, x + half, y + half)
    page.fill("card tile", [corners[:2], (corners[2], corners[1]), corners[2:], (corners[0], corners[3])])
    page.box("frame", corners)
    page.words(name, x, y - TEXT_MM / 2, weight="semibold", align="centre", room=NAME_MM - 0.6)


def _doors(plan: _Plan) -> None:
    """Doors as gaps in the wall."""
    for opening in plan.scene.room.openings:
        if opening.kind == "window":
            continue
        near, along, _ = opening_frame(plan.scene, opening)
        far = (near[0] + along[0] * opening.width_m, near[1] + along[1] * opening.width_m)
        (ax, ay), (bx, by) = plan.mm(near), plan.mm(far)
        nx, ny = (ay - by), (bx - ax)
        long = math.hypot(nx, ny) or 1.0
        nx, ny = nx / long * 0.45, ny / long * 0.45
        plan.page.fill(
            "card white", [(ax + nx, ay + ny), (bx + nx, by + ny), (bx - nx, by - ny), (ax - nx, ay - ny)]
        )
        for x, y in ((ax, ay), (bx, by)):
            plan.page.line("frame", x - 2 * nx, y - 2 * ny, x + 2 * nx, y + 2 * ny)


def _walls(plan: _Plan, row: ScheduleRow) -> None:
    """Names of the walls, outside, the two that are measured from in bold."""
    room, page = plan.scene.room, plan.page
    for wall in range(len(room.outline_m)):
        measured = wall in (row.x_wall, row.y_wall)
        if not measured and len(room.outline_m) > FEW_WALLS:
            continue
        (ax, ay), (bx, by) = room.wall(wall)
        long = math.hypot(bx - ax, by - ay) or 1.0
        out = ((by - ay) / long, (ax - bx) / long)
        if not room.anticlockwise:
            out = (-out[0], -out[1])
        name = wall_name(wall)
        share = _share(plan.scene, wall, long)
        x, y = plan.mm((ax + (bx - ax) * share, ay + (by - ay) * share))
        off = 1.4 + abs(out[0]) * width(name, TEXT_MM) / 2 + abs(out[1]) * TEXT_MM / 2
        page.words(
            name, x + out[0] * off, y + out[1] * off - TEXT_MM / 2, align="centre",
            weight="semibold" if measured else "regular", role="title" if measured else "card label",
        )  # fmt: skip


def _share(scene: Scene, wall: int, long: float) -> float:
    """Where along a wall its name stands: clear of its middle, where tile and lengths are named, and of doors."""
    spans = [
        (one.offset_m / long, (one.offset_m + one.width_m) / long)
        for one in scene.room.openings
        if one.wall == wall
    ]
    return max(
        (0.82, 0.18), key=lambda share: min((max(a - share, share - b) for a, b in spans), default=1.0)
    )


def _set_out(plan: _Plan, at: Point2, length_m: float, wall: int, *, held: bool) -> None:
    """One length to set, from the array square to its wall, its figure on a white ground along it."""
    page, locale = plan.page, Locale.of(plan.scene)
    (ax, ay), (bx, by) = plan.scene.room.wall(wall)
    long = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / long, (by - ay) / long
    along = (at[0] - ax) * ux + (at[1] - ay) * uy
    (x0, y0), (x1, y1) = plan.mm(at), plan.mm((ax + ux * along, ay + uy * along))
    role = "card grey" if held else "frame"
    page.line(role, x0, y0, x1, y1)
    page.tick(x1, y1, role)
    if not min(0.0, long) - 1e-9 <= along <= long + 1e-9:  # beyond the wall's end: its line is drawn on
        page.line("card label", x1, y1, *plan.mm((ax, ay) if along < 0 else (bx, by)))
    text, turn = height(length_m, locale), math.degrees(math.atan2(y1 - y0, x1 - x0))
    turn = (turn + 90.0 + 1e-6) % 180.0 - 90.0
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    half, tall = width(text, TEXT_MM, "semibold") / 2 + 0.8, TEXT_MM / 2 + 0.7
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    corners = [(-half, -tall), (half, -tall), (half, tall), (-half, tall)]
    page.fill("card white", [(cx + u * c - v * s, cy + u * s + v * c) for u, v in corners])
    off = TEXT_MM / 2
    page.words(
        text, cx + off * s, cy - off * c, weight="semibold", align="centre", turn_deg=turn,
        role="card grey" if held else "title",
    )  # fmt: skip
