"""The floor plan and the reflected ceiling plan: one over the other in the model, seen the same way round."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely

from geometry.band import footprint
from geometry.region import Polygon
from geometry.shapes import Box, Cylinder, Solid
from scenes.findings.review import HeadReview, Review
from scenes.room.scene import Array, Device, Opening, Scene
from viz.sheets import symbols
from viz.sheets.draft import Point, View
from viz.sheets.plan_chains import WALL_M, ceiling_chains, floor_chains
from viz.sheets.rose import roses
from viz.words import arrays as array_words
from viz.words import clearances, coverage
from viz.words.locale import Locale

PIECE_M: Final = 0.4
"""So much of a long beam or duct is hatched either way of where an array comes too near to it."""

Cut = tuple[str, Point, Point, Point]
"""A section: its letter, both ends on plan in metres, and the way it looks."""


def floor_plan(view: View, review: Review, cuts: Sequence[Cut], *, bare: bool = False) -> None:
    """Room, tables, people and what each array covers at mouth height.

    `bare`: without dimensions, section marks and grid, for a page that tells them elsewhere.
    """
    scene = review.scene
    if scene.room.grid is not None and not bare:
        _grid(view, scene, "grid floor", avoid=False)
    for fill in (True, False):
        for array in scene.arrays:
            _footprints(view, scene, array, fill=fill)
    _walls(view, scene, scene.room.openings)
    _openings(view, scene)
    for table in scene.tables:
        view.polyline("table", table.outline_m, closed=True)
    for obstacle in scene.obstacles:
        _solid_outline(view, "obstacle", obstacle.solid)
        x, y = _solid_middle(obstacle.solid)
        view.label([obstacle.id], (x, y), gap_mm=1.5)
    _people(view, scene)
    marks = [_head(view, head, scene) for head in review.heads]
    for array in scene.arrays:
        _array(view, scene, array)
        _orientation_mark(view, array)
    _cameras_and_displays(view, scene)
    if not bare:
        _section_marks(view, scene, cuts)
        floor_chains(view, scene)
    _wall_names(view, scene)
    # letters last, each where the drawing leaves room for it
    _letter_things(view, scene)
    _letter_heads(view, scene, marks)


def ceiling_plan(
    view: View,
    review: Review,
    keep_outs: Sequence[Polygon],
    regions: Sequence[Polygon],
    cuts: Sequence[Cut],
    *,
    bare: bool = False,
) -> None:
    """What lives at the ceiling, where an array may hang, and the dimensions that hang it.

    `bare`: without dimensions and section marks, for a page that tells them elsewhere.
    """
    scene = review.scene
    _allowed(view, scene, keep_outs, regions)
    if scene.room.grid is not None:
        _grid(view, scene, "grid", avoid=False)
    _walls(view, scene, ())  # at the ceiling the walls run on over doors and windows
    for table in scene.tables:
        view.polyline("table above", table.outline_m, closed=True)
    for device in scene.overhead:
        _device(view, device)
    for array in scene.arrays:
        _array(view, scene, array)
        _orientation_mark(view, array)
    clashes = _clashes(view, review)
    if not bare:
        _section_marks(view, scene, cuts)
        ceiling_chains(view, scene)
    _wall_names(view, scene)
    _letter_ceiling(view, review)
    for at, text in clashes:
        view.label([text], at, gap_mm=3.4, within=_inside_mm(view, scene))


# ---- pieces -----------------------------------------------------------------------------------------


def _cameras_and_displays(view: View, scene: Scene) -> None:
    for camera in scene.cameras:
        view.insert(
            symbols.camera_block(view.draft),
            "camera",
            camera.at_m[:2],
            turn_deg=_camera_turn(scene, camera),
            scale=view.paper(1),
            attributes={"TAG": camera.id, "HEIGHT": view.draft.locale.length(camera.at_m[2])},
        )
        view.symbol_box(camera.at_m[:2], 1.6)
    for display in scene.displays:
        left, right = display.corners_m[0], display.corners_m[1]
        view.polyline("display", [left[:2], right[:2]], const_width=view.paper(0.8))
        view.symbol_box(display.at_m[:2], 1.0)


def _letter_things(view: View, scene: Scene) -> None:
    inside = _inside_mm(view, scene)
    for array in scene.arrays:
        _name_array(view, array, array_words.of(array, view.draft.locale), inside)
    for table in scene.tables:
        view.label([table.id], table.at_m, gap_mm=3.0, within=inside, leader=False, prefer=(180, 0, 135, 45))
    for display in scene.displays:
        view.label([display.id], display.at_m[:2], gap_mm=1.5, within=inside)
    for camera in scene.cameras:
        view.label([camera.id], camera.at_m[:2], gap_mm=2.2, within=inside)


def _letter_heads(view: View, scene: Scene, marks: Sequence[tuple[HeadReview, Point]]) -> None:
    inside = _inside_mm(view, scene)
    for head, at in marks:
        # behind the chair, where the row of letters follows the row of people
        seated = head.posture == "seated"
        outward = math.radians(_outward_deg(scene, head))
        back = 0.46 if seated else 0.3
        behind = (at[0] + back * math.cos(outward), at[1] + back * math.sin(outward))
        turns = (0, 30, -30, 60, -60, 90, -90)
        view.label(
            [head.id], behind, gap_mm=0.6, within=inside, leader=False,
            prefer=[math.degrees(outward) + turn for turn in turns],
        )  # fmt: skip


def _allowed(view: View, scene: Scene, keep_outs: Sequence[Polygon], regions: Sequence[Polygon]) -> None:
    """Where an array may hang, and where nothing may."""
    for outer, holes in regions:
        rings = [list(map(tuple, ring.tolist())) for ring in (outer, *holes)]
        view.hatch("region hatch", rings, spacing_mm=1.6, angle_deg=45)
        for ring in rings:
            view.polyline("region", ring, closed=True)
    # keep-outs overlap: what is drawn is what they take together
    room = shapely.Polygon(scene.room.outline_m)
    taken = shapely.union_all([shapely.Polygon(outer, holes) for outer, holes in keep_outs]).intersection(
        room
    )
    for part in _rings(taken):
        view.hatch("keep-out hatch", part, spacing_mm=1.5, angle_deg=-45)
        for line in part:
            view.polyline("keep-out", line, closed=True)


def _device(view: View, device: Device) -> None:
    role = device.kind
    view.insert(
        symbols.device_block(view.draft, device),
        role,
        device.at_m,
        turn_deg=device.turn_deg,
        scale=view.paper(1) if device.kind in symbols.SMALL_KINDS else 1.0,
        attributes={
            "TAG": device.id,
            "KIND": device.kind,
            "BELOW": view.draft.locale.length(device.below_m),
            "SIZE": view.draft.locale.size(*device.size_m),
        },
    )
    _device_obstacle(view, device)


def _letter_ceiling(view: View, review: Review) -> None:
    scene = review.scene
    inside, locale = _inside_mm(view, scene), view.draft.locale
    for array in scene.arrays:
        said = locale.say("sheet.underside", height=locale.site(array.underside_m))
        _name_array(view, array, said, inside)
    roses(view, review, inside, {a.id: (a.centre_m[:2], _gap_mm(view, a)) for a in scene.arrays})
    for device in scene.overhead:
        gap = 2.2 if device.kind in symbols.SMALL_KINDS else 1.0
        half = view.to_mm(device.size_m)[1] / 2 if device.kind not in symbols.SMALL_KINDS else 0
        view.label(
            [device.id], device.at_m, gap_mm=gap + half, within=inside, prefer=(90, -90, 45, 135, -45, -135)
        )


def _name_array(view: View, array: Array, told: str, inside: tuple[float, float, float, float]) -> None:
    """The array's id, with its profile and a line more where there is room; outside the room if nowhere else."""
    gap_mm = _gap_mm(view, array)
    for lines in ([f"{array.id}  {array.profile.name}", told], [array.id]):
        if view.label(lines, array.centre_m[:2], gap_mm=gap_mm, within=inside) is not None:
            return
    view.label([array.id], array.centre_m[:2], gap_mm=gap_mm)


def _gap_mm(view: View, array: Array) -> float:
    """From the middle of an array's symbol to letters beside it, on paper."""
    return view.to_mm((array.profile.plan_radius_m, 0))[0] + 1.2


def _rings(shape: Any) -> list[list[Sequence[Sequence[float]]]]:
    """Each polygon of a shapely shape as its rings, outer first."""
    parts = [
        part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon" and part.area > 1e-9
    ]
    return [
        [list(part.exterior.coords)[:-1], *(list(hole.coords)[:-1] for hole in part.interiors)]
        for part in parts
    ]


def _walls(view: View, scene: Scene, openings: Sequence[Opening]) -> None:
    room = shapely.Polygon(scene.room.outline_m)
    walls = room.buffer(WALL_M, join_style="mitre", mitre_limit=4).difference(room)
    for opening in openings:
        walls = walls.difference(_opening_shape(scene, opening))
    for rings in _rings(walls):
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


def _openings(view: View, scene: Scene) -> None:
    for opening in scene.room.openings:
        near, along, out = opening_frame(scene, opening)
        w = opening.width_m
        if opening.kind == "window":
            for away in (0.0, WALL_M / 2, WALL_M):
                view.line("glazing", _off(near, along, 0, out, away), _off(near, along, w, out, away))
        elif opening.kind == "door":
            # the leaf opens into the room, hung at the near jamb: how it really swings a spec does not tell
            end = _off(near, along, 0, out, -w)
            view.line("door", near, end)
            start_deg = math.degrees(math.atan2(along[1], along[0]))
            swing_deg = math.degrees(math.atan2(-out[1], -out[0]))
            if scene.room.anticlockwise:
                view.arc("door", near, w, start_deg, swing_deg)
            else:
                view.arc("door", near, w, swing_deg, start_deg)
        else:
            for away in (0.0, WALL_M):
                view.line("table above", _off(near, along, 0, out, away), _off(near, along, w, out, away))


def _grid(view: View, scene: Scene, role: str, *, avoid: bool) -> None:
    grid = scene.room.grid
    assert grid is not None
    room = shapely.Polygon(scene.room.outline_m)
    (x0, y0), (x1, y1) = scene.room.bounds_m
    lines = []
    for axis, low, high in ((0, x0, x1), (1, y0, y1)):
        pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
        first = math.ceil((low - origin) / pitch - 1e-9)
        last = math.floor((high - origin) / pitch + 1e-9)
        for i in range(first, last + 1):
            at = origin + i * pitch
            ends = ((at, y0), (at, y1)) if axis == 0 else ((x0, at), (x1, at))
            lines.append(shapely.LineString(ends).intersection(room))
    for line in lines:
        for part in getattr(line, "geoms", [line]):
            if part.geom_type == "LineString" and part.length > 0.01:
                view.line(role, part.coords[0], part.coords[-1], avoid=avoid)


def mouth_level_m(scene: Scene, array: Array, posture: str) -> float | None:
    """The mean of the middle mouth heights of that posture, metres; None if nobody is in it."""
    levels = [head.middle_m[2] for head in scene.heads if head.posture == posture]
    return float(np.mean(levels)) if levels else None


def _footprints(view: View, scene: Scene, array: Array, *, fill: bool) -> None:
    """The band at mouth heights, and the reach: the fills, or the lines that come over all fills."""
    for posture in ("seated", "standing"):
        shape = _footprint(scene, array, posture)
        if shape is None:
            continue
        parts = _rings(shape)
        if fill:
            for part in parts if posture == "seated" else ():
                view.fill("band hatch", part)
        else:
            for line in itertools.chain.from_iterable(parts):
                view.polyline("band" if posture == "seated" else "band standing", line, closed=True)
            if posture == "seated":
                _reach(view, scene, array)


def _footprint(scene: Scene, array: Array, posture: str) -> Any:
    """What of the room the band covers at the mouths of a posture, as a shapely shape; None if it is not so low."""
    x, y, height = array.centre_m
    level = mouth_level_m(scene, array, posture)
    rings = footprint(array.band, height - level) if level is not None else None
    if rings is None:
        return None
    inner, outer = rings
    disc = shapely.Point(x, y)
    ring = disc.buffer(outer, quad_segs=48)
    if inner > 0.01:
        ring = ring.difference(disc.buffer(inner, quad_segs=48))
    return ring.intersection(shapely.Polygon(scene.room.outline_m))


def _reach(view: View, scene: Scene, array: Array) -> None:
    """Both ends of the array's reach at the mouths of who sits."""
    room = shapely.Polygon(scene.room.outline_m)
    x, y, height = array.centre_m
    level = mouth_level_m(scene, array, "seated")
    drop = 0.0 if level is None else height - level
    for reach in (one for one in array.profile.reach_m if one > abs(drop)):
        radius = math.sqrt(reach**2 - drop**2)
        circle = shapely.Point(x, y).buffer(radius, quad_segs=48).exterior.intersection(room)
        for part in shapely.get_parts(circle):
            if part.geom_type == "LineString" and part.length > 0.05:
                view.polyline("reach", list(part.coords), avoid=False)


def _orientation_mark(view: View, array: Array) -> None:
    """Where the array's 0° points, beside its body."""
    turn = math.radians(array.turn_deg)
    away = array.profile.plan_radius_m + view.to_m(2.4)
    x, y = array.centre_m[:2]
    at = (x + away * math.cos(turn), y + away * math.sin(turn))
    view.insert(
        symbols.orientation_block(view.draft), "sector", at, turn_deg=array.turn_deg, scale=view.paper(1)
    )
    view.symbol_box(at, 1.7)


def _people(view: View, scene: Scene) -> None:
    for head in scene.heads:
        if head.path_m:
            view.polyline("seat", head.path_m)
            continue
        if any(other.at_m == head.at_m for other in scene.heads[: scene.heads.index(head)]):
            continue  # the same person standing up
        if head.posture == "seated":
            view.insert(symbols.chair_block(view.draft), "seat", head.at_m, turn_deg=head.facing_deg)
        view.insert(symbols.figure_block(view.draft), "seat", head.at_m, turn_deg=head.facing_deg)
        facing = math.radians(head.facing_deg)
        for back, radius in ((0.1, 0.1), (0.15, 0.2), (0.35, 0.2)):
            x, y = head.at_m[0] - back * math.cos(facing), head.at_m[1] - back * math.sin(facing)
            n = [
                view.to_mm((x + radius * dx, y + radius * dy))
                for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
            ]
            view.segments.extend((*a, *b) for a, b in itertools.pairwise(n))


def _head(view: View, head: HeadReview, scene: Scene) -> tuple[HeadReview, Point]:
    said = coverage.talker(head, scene)
    at = (head.mouth_m[0], head.mouth_m[1])
    view.insert(
        symbols.head_block(view.draft, head.standing),
        head.standing,
        at,
        scale=view.paper(1),
        attributes={
            "TAG": said.id,
            "STATE": said.state,
            "POSTURE": said.posture,
            "MOUTH": said.mouth,
            "MARGIN": said.margin,
            "ARRAY": said.array,
        },
    )
    view.symbol_box(at, 1.0)
    return head, at


def _outward_deg(scene: Scene, head: HeadReview) -> float:
    facing = next(h.facing_deg for h in scene.heads if h.id == head.id)
    return facing + 180


def _array(view: View, scene: Scene, array: Array) -> None:
    locale = view.draft.locale
    view.insert(
        symbols.array_block(view.draft, array),
        "array",
        array.centre_m[:2],
        turn_deg=array.turn_deg,
        attributes={
            "TAG": array.id,
            "PROFILE": array.profile.name,
            "HEIGHT": locale.site(array.centre_m[2]),
            "UNDERSIDE": locale.site(array.underside_m),
            "DROP": locale.site(scene.room.ceiling_m - array.centre_m[2]),
            "BAND": array_words.of(array, locale),
            "TURN": locale.edge(array.turn_deg),
            "MASS": locale.mass(array.profile.mass_kg),
        },
    )
    view.symbol_box(array.centre_m[:2], view.to_mm((array.profile.plan_radius_m, 0))[0] + 0.5)


def _camera_turn(scene: Scene, camera: Any) -> float:
    if camera.aim_m is not None:
        aim = camera.aim_m
    else:
        aim = np.mean([head.middle_m for head in scene.heads], axis=0)
    return math.degrees(math.atan2(aim[1] - camera.at_m[1], aim[0] - camera.at_m[0]))


def _solid_middle(solid: Any) -> Point:
    middle = solid.middle_m if hasattr(solid, "middle_m") else solid.start_m
    return float(middle[0]), float(middle[1])


def _solid_outline(view: View, role: str, solid: Any) -> None:
    x, y = _solid_middle(solid)
    if isinstance(solid, Cylinder):
        view.circle(role, (x, y), solid.radius_m)
    elif isinstance(solid, Box):
        turn = math.radians(solid.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        w, d = solid.size_m[0] / 2, solid.size_m[1] / 2
        corners = [(x + u * c - v * s, y + u * s + v * c) for u, v in ((-w, -d), (w, -d), (w, d), (-w, d))]
        view.polyline(role, corners, closed=True)
        view.line(role, corners[0], corners[2])
        view.line(role, corners[1], corners[3])


def _clashes(view: View, review: Review) -> list[tuple[Point, str]]:
    """Hatches over the devices that an array is too near to; where each is and what to letter there."""
    scene, locale = review.scene, Locale.of(review.scene)
    lettered: dict[str, tuple[Point, str]] = {}
    for clearance in (*review.short, *review.advised):
        thing = None if clearance.shown is None else clearance.shown.hatch
        if thing is None or clearance.against in lettered or clearance.array is None:
            continue
        ring = _clash_ring(thing, scene.array(clearance.array), view.to_m(2.6))
        for angle in (45, -45):
            view.hatch("clash", [ring], spacing_mm=1.0, angle_deg=angle)
        view.polyline("clash", ring, closed=True)
        word, label = clearances.word(clearance, locale), clearances.label(clearance, locale)
        lettered[clearance.against] = (thing.middle_m[:2], f"{word}: {label}")
    return list(lettered.values())


def _clash_ring(thing: Solid, array: Array, least_m: float) -> list[Point]:
    """What of a thing is hatched: a circle round a small one, of a long beam or duct the piece by the array."""
    x, y = thing.middle_m[:2]
    size = (2 * thing.radius_m, 2 * thing.radius_m) if isinstance(thing, Cylinder) else thing.size_m[:2]
    if isinstance(thing, Cylinder) or max(size) <= 1.0:
        radius = max(math.hypot(*size) / 2, least_m)
        turns = (math.radians(angle) for angle in range(0, 360, 10))
        return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]
    turn = math.radians(thing.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    away = (array.centre_m[0] - x, array.centre_m[1] - y)
    spans = []
    for side, here in zip(size, (c * away[0] + s * away[1], c * away[1] - s * away[0]), strict=True):
        near = min(max(here, -side / 2), side / 2)
        low, high = max(near - PIECE_M, -side / 2), min(near + PIECE_M, side / 2)
        spans.append((min(low, (low + high) / 2 - least_m), max(high, (low + high) / 2 + least_m)))
    (left, right), (front, back) = spans
    corners = ((left, front), (right, front), (right, back), (left, back))
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in corners]


def _device_obstacle(view: View, device: Device) -> None:
    if device.kind in symbols.SMALL_KINDS:
        view.symbol_box(device.at_m, 1.9)
        return
    turn = math.radians(device.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    w, d = device.size_m[0] / 2, device.size_m[1] / 2
    x, y = device.at_m
    corners = [
        view.to_mm((x + u * c - v * s, y + u * s + v * c)) for u, v in ((-w, -d), (w, -d), (w, d), (-w, d))
    ]
    xs, ys = zip(*corners, strict=True)
    view.keep((min(xs), min(ys), max(xs), max(ys)))


def _inside_mm(view: View, scene: Scene) -> tuple[float, float, float, float]:
    (x0, y0), (x1, y1) = scene.room.bounds_m
    a, b = view.to_mm((x0, y0)), view.to_mm((x1, y1))
    return a[0] + 0.6, a[1] + 0.6, b[0] - 0.6, b[1] - 0.6


def _section_marks(view: View, scene: Scene, cuts: Sequence[Cut]) -> None:
    for letter, start, end, looks in cuts:
        length_m = math.hypot(end[0] - start[0], end[1] - start[1])
        along = ((end[0] - start[0]) / length_m, (end[1] - start[1]) / length_m)
        turn = math.degrees(math.atan2(looks[1], looks[0])) - 90
        for at, sign in ((start, -1), (end, 1)):
            # two cuts side by side: the second mark moves along the wall, its line goes with it
            aside_mm = next(
                mm
                for mm in (0.0, 7.0, -7.0, 14.0, -14.0, 21.0)
                if mm == 21.0 or not view.taken(_beside(view, at, along, sign, 5.4, mm), 3.3)
            )
            view.polyline(
                "symbol" + view.suffix,
                [_beside(view, at, along, sign, *mm) for mm in ((1.0, 0.0), (2.0, 0.0), (3.1, aside_mm))],
            )
            middle = _beside(view, at, along, sign, 5.4, aside_mm)
            view.insert(
                symbols.section_block(view.draft),
                "symbol" + view.suffix,
                middle,
                turn_deg=turn,
                scale=view.paper(1),
            )
            drop = view.to_m(1.15)
            view.text(
                "note" + view.suffix, letter, (middle[0], middle[1] - drop), weight="semibold", align="centre"
            )
            view.symbol_box(middle, 3.3)


def _beside(view: View, at: Point, along: Point, sign: int, mm: float, aside_mm: float) -> Point:
    """A point that far on paper beyond the wall at the end of a cut, and that far along the wall."""
    away, aside = sign * (WALL_M + view.to_m(mm)), view.to_m(aside_mm)
    return at[0] + along[0] * away - along[1] * aside, at[1] + along[1] * away + along[0] * aside


def _wall_names(view: View, scene: Scene) -> None:
    """W1, W2, … outside each wall, where a schedule's dimensions count from."""
    for i in range(len(scene.room.outline_m)):
        a, b = scene.room.wall(i)
        long = math.hypot(b[0] - a[0], b[1] - a[1])
        along = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
        out = (along[1], -along[0]) if scene.room.anticlockwise else (-along[1], along[0])
        name = f"W{i + 1}"
        for share in (0.25, 0.2, 0.3, 0.15, 0.7, 0.75, 0.8, 0.5, 0.4, 0.6, 0.1, 0.9, 0.35, 0.65, 0.45, 0.55):
            away = WALL_M + view.to_m(3.6)
            at = (
                a[0] + along[0] * long * share + out[0] * away,
                a[1] + along[1] * long * share + out[1] * away,
            )
            baseline = (at[0], at[1] - view.to_m(1.2))
            box = view.box_of(name, view.to_mm(baseline), align="centre")
            wide = (box[0] - 0.8, box[1] - 0.3, box[2] + 0.8, box[3] + 0.3)
            if view.free(wide):
                view.text("note" + view.suffix, name, baseline, align="centre")
                break
