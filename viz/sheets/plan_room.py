"""What both plans draw of the room: walls, openings, grid, marks of sections, names of walls."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any, Final

import shapely

from scenes.room.scene import Opening, Scene
from scenes.rules.under import regions_of
from viz.sheets import lettering, symbols
from viz.sheets.draft import TEXT_MM, Box, Point, View
from viz.sheets.labels import Name, Text, around_mm, room_mm
from viz.sheets.plan_chains import WALL_M

SHARES: Final = (0.25, 0.2, 0.3, 0.15, 0.7, 0.75, 0.8, 0.5, 0.4, 0.6, 0.1, 0.9, 0.35, 0.65, 0.45, 0.55)
"""Where along a wall its name may stand, the best first."""

WIDEST_LEAF_M: Final = 1.2
"""A wider door has two leaves (common practice, no source)."""

AWAY_MM: Final = 5.9
"""From the wall to the middle of a section's mark on paper."""
SHEET_MM: Final = 1.8
"""Height of a section's letter and of the number of its sheet in its mark."""

Cut = tuple[str, str, Point, Point, Point]
"""A section: its letter, the number of its sheet, both ends on plan in metres, and the way it looks."""


def rings_of(shape: Any) -> list[list[Sequence[Sequence[float]]]]:
    """Each polygon of a shapely shape as its rings, outer first."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon" and part.area > 1e-9]
    return [
        [list(part.exterior.coords)[:-1], *(list(hole.coords)[:-1] for hole in part.interiors)]
        for part in parts
    ]


def walls(view: View, scene: Scene, openings: Sequence[Opening]) -> None:
    room = shapely.Polygon(scene.room.outline_m)
    outside = room.buffer(WALL_M, join_style="mitre", mitre_limit=4).difference(room)
    for opening in openings:
        outside = outside.difference(_opening_shape(scene, opening))
    for rings in rings_of(outside):
        view.fill("wall hatch", rings)
        for ring in rings:
            view.polyline("wall", ring, closed=True)


def opening_frame(scene: Scene, opening: Opening) -> tuple[Point, Point, Point]:
    """Near jamb on the finished face, along the wall, and out of the room."""
    a, b = scene.room.wall(opening.wall)
    length_m = math.hypot(b[0] - a[0], b[1] - a[1])
    along = ((b[0] - a[0]) / length_m, (b[1] - a[1]) / length_m)
    out = (along[1], -along[0]) if scene.room.anticlockwise else (-along[1], along[0])
    near = (a[0] + along[0] * opening.offset_m, a[1] + along[1] * opening.offset_m)
    return near, along, out


def _off(at: Point, along: Point, by: float, out: Point, away: float) -> Point:
    return at[0] + along[0] * by + out[0] * away, at[1] + along[1] * by + out[1] * away


def _opening_shape(scene: Scene, opening: Opening) -> Any:
    near, along, out = opening_frame(scene, opening)
    w = opening.width_m
    return shapely.Polygon(
        [
            _off(near, along, u, out, v)
            for u, v in ((0, -0.001), (w, -0.001), (w, WALL_M * 1.5), (0, WALL_M * 1.5))
        ]
    )


def openings(view: View, scene: Scene) -> None:
    """Doors, windows and plain openings as a floor plan has them: each is a thing with a name."""
    for opening in scene.room.openings:
        near, along, out = opening_frame(scene, opening)
        w = opening.width_m
        view.things[f"opening {opening.id}"] = _opening_mm(view, scene, opening)
        if opening.kind == "window":
            for away in (0.0, WALL_M / 2, WALL_M):
                view.line("glazing", _off(near, along, 0, out, away), _off(near, along, w, out, away))
        elif opening.kind == "door":
            # leaves open into the room, hung at the jambs: how they really swing a spec does not tell
            leaf = w / 2 if w > WIDEST_LEAF_M else w
            _leaf(view, near, leaf, along, out, anticlockwise=scene.room.anticlockwise)
            if leaf < w:
                far, back = _off(near, along, w, out, 0), (-along[0], -along[1])
                _leaf(view, far, leaf, back, out, anticlockwise=not scene.room.anticlockwise)
        else:
            for away in (0.0, WALL_M):
                view.line("table above", _off(near, along, 0, out, away), _off(near, along, w, out, away))


def _leaf(view: View, jamb: Point, wide: float, along: Point, out: Point, *, anticlockwise: bool) -> None:
    """A door's leaf, open at right angles, and the way it swings; `along` is from its jamb over the opening."""
    view.line("door", jamb, _off(jamb, along, 0, out, -wide))
    start_deg = math.degrees(math.atan2(along[1], along[0]))
    swing_deg = math.degrees(math.atan2(-out[1], -out[0]))
    ends = (start_deg, swing_deg) if anticlockwise else (swing_deg, start_deg)
    view.arc("door", jamb, wide, *ends)


def openings_below(view: View, scene: Scene) -> None:
    """The same as a ceiling plan has them: where they lie in the wall, dashed, since they end below the ceiling."""
    for opening in scene.room.openings:
        near, along, out = opening_frame(scene, opening)
        w = opening.width_m
        view.things[f"opening {opening.id}"] = _opening_mm(view, scene, opening)
        for by in (0.0, w):
            view.line("opening above", _off(near, along, by, out, 0), _off(near, along, by, out, WALL_M))
        for away in (0.0, WALL_M / 2, WALL_M) if opening.kind == "window" else (0.0, WALL_M):
            view.line("opening above", _off(near, along, 0, out, away), _off(near, along, w, out, away))


def opening_names(view: View, scene: Scene) -> list[Name]:
    """The names of doors and windows, outside the wall if there is room."""
    room, around = room_mm(view, scene.room.outline_m), around_mm(view, scene.room.outline_m)
    names = []
    for opening in scene.room.openings:
        out = opening_frame(scene, opening)[2]
        texts = (Text((opening.id,), around), Text((opening.id,), room))
        names.append(Name(f"opening {opening.id}", texts, math.degrees(math.atan2(out[1], out[0]))))
    return names


def _opening_mm(view: View, scene: Scene, opening: Opening) -> Any:
    near, along, out = opening_frame(scene, opening)
    w = opening.width_m
    corners = ((0.0, 0.0), (w, 0.0), (w, WALL_M), (0.0, WALL_M))
    return shapely.Polygon([view.to_mm(_off(near, along, u, out, v)) for u, v in corners])


def grid_lines(view: View, scene: Scene, role: str, *, avoid: bool) -> None:
    """The lay-in grids' lines, each as far as its part of the ceiling goes."""
    for region in regions_of(scene.room):
        for start, end in region.grid_lines():
            if math.dist(start, end) > 0.01:
                view.line(role, start, end, avoid=avoid)


def inside_mm(view: View, scene: Scene) -> Box:
    (x0, y0), (x1, y1) = scene.room.bounds_m
    a, b = view.to_mm((x0, y0)), view.to_mm((x1, y1))
    return a[0] + 0.6, a[1] + 0.6, b[0] - 0.6, b[1] - 0.6


def section_marks(view: View, scene: Scene, cuts: Sequence[Cut]) -> None:
    for letter, sheet, start, end, looks in cuts:
        length_m = math.hypot(end[0] - start[0], end[1] - start[1])
        along = ((end[0] - start[0]) / length_m, (end[1] - start[1]) / length_m)
        turn = math.degrees(math.atan2(looks[1], looks[0])) - 90
        for at, sign in ((start, -1), (end, 1)):
            # beyond the names of tiles, which stand above the room and right of it
            away = (
                AWAY_MM + 2.2
                if any(view.taken(_beside(view, at, along, sign, 2.7, mm), 2.0) for mm in (0.0, 3.0))
                else AWAY_MM
            )
            # two cuts side by side: the second mark moves along the wall, its line goes with it
            aside_mm = next(
                mm
                for mm in (0.0, 7.0, -7.0, 14.0, -14.0, 21.0)
                if mm == 21.0
                or not view.taken(
                    _beside(view, at, along, sign, away, mm),
                    symbols.SECTION_MM if away > AWAY_MM else symbols.SECTION_MM + 1.0,
                )
            )
            stub = (1.0, 2.0) if away == AWAY_MM else (5.0, 5.05)
            points = ((stub[0], 0.0), (stub[1], 0.0), (away - symbols.SECTION_MM, aside_mm))
            view.polyline("symbol" + view.suffix, [_beside(view, at, along, sign, *mm) for mm in points])
            middle = _beside(view, at, along, sign, away, aside_mm)
            view.insert(
                symbols.section_block(view.draft),
                "symbol" + view.suffix,
                middle,
                turn_deg=turn,
                scale=view.paper(1),
            )
            note = "note" + view.suffix
            up, down = (middle[0], middle[1] + view.to_m(0.2)), (middle[0], middle[1] - view.to_m(2.2))
            view.text(note, letter, up, height_mm=SHEET_MM, weight="semibold", align="centre")
            view.text(note, sheet, down, height_mm=SHEET_MM, align="centre")
            view.symbol_box(middle, symbols.SECTION_MM + 1.0)


def _beside(view: View, at: Point, along: Point, sign: int, mm: float, aside_mm: float) -> Point:
    """A point that far on paper beyond the wall at the end of a cut, and that far along the wall."""
    away, aside = sign * (WALL_M + view.to_m(mm)), view.to_m(aside_mm)
    return at[0] + along[0] * away - along[1] * aside, at[1] + along[1] * away + along[0] * aside


def wall_names(view: View, scene: Scene) -> None:
    """W1, W2, … outside each wall, where a schedule's dimensions count from."""
    for i in range(len(scene.room.outline_m)):
        a, b = scene.room.wall(i)
        long = math.hypot(b[0] - a[0], b[1] - a[1])
        along = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
        out = (along[1], -along[0]) if scene.room.anticlockwise else (-along[1], along[0])
        name = f"W{i + 1}"
        half, tall = lettering.width(name, TEXT_MM) / 2 + 0.8, TEXT_MM / 2 + 0.6
        # so far off that the letters clear the wall however it runs
        away = WALL_M + view.to_m(max(3.6, 0.6 + abs(out[0]) * half + abs(out[1]) * tall))
        # beside the wall, or beyond the names of tiles
        row = [_off(a, along, long * share, out, WALL_M + view.to_m(2.7)) for share in SHARES]
        by = (5.0, 6.5) if sum(view.taken(at, 0.5) for at in row) > 2 else (0.0,)
        for by_mm, share in itertools.product(by, SHARES):
            off = away + view.to_m(by_mm)
            at = _off(a, along, long * share, out, off)
            baseline = (at[0], at[1] - view.to_m(1.2))
            box = view.box_of(name, view.to_mm(baseline), align="centre")
            wide = (box[0] - 0.8, box[1] - 0.3, box[2] + 0.8, box[3] + 0.3)
            if view.free(wide):
                view.text("note" + view.suffix, name, baseline, align="centre")
                break
