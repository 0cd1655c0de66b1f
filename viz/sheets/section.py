"""Sections through an array: what hangs from what, how high, and where the band falls on the mouths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import shapely

from geometry.band import Band
from geometry.records import record
from geometry.shapes import Box
from scenes.findings.review import Review
from scenes.room.ceiling import ceiling_over_m, highest_m, room_under, scene_under
from scenes.room.hung import box_place
from scenes.room.scene import Array, Head, Room, Scene, Table
from scenes.rules.under import regions_of
from viz import furniture
from viz.sheets import lettering, section_ceiling, symbols
from viz.sheets.chains import ROW_MM, Station, chain, rise, spread
from viz.sheets.draft import TEXT_MM, Point, View
from viz.sheets.plan_chains import WALL_M
from viz.sheets.plan_room import opening_frame
from viz.sheets.rose import roses
from viz.sheets.section_swing import draw_swing, name_swing
from viz.words import arrays as array_words
from viz.words.locale import Locale

SLAB_M: Final = 0.12
"""Thickness floor and structure are drawn with: a spec does not tell it."""
PLENUM_M: Final = 0.5
"""Height drawn above the ceiling where the spec has no structure."""
LEVEL_COLUMN_MM: Final = {False: 24.0, True: 33.0}
"""Room for the names of levels left of the section, on paper; more in feet and inches."""
LEVEL_LINE_MM: Final = 3.7
LEVEL_GAP_MM: Final = 1.0
"""From line to line of one level's name, and what is left between the names of two."""


def rise_mm(scene: Scene) -> float:
    """From one vertical chain to the next on paper: feet and inches need more."""
    return 21.0 if Locale.of(scene).imperial else 10.5


@record(frozen=True, slots=True)
class Cut:
    """A vertical cut through the room: letter, both ends on plan, the way it looks, the arrays it goes through."""

    letter: str
    title: str
    start_m: Point
    end_m: Point
    looks: Point
    arrays: tuple[str, ...]

    def along(self, at: Sequence[float]) -> float:
        """Where a plan point falls along the cut, metres, to the right as the cut looks."""
        right = (self.looks[1], -self.looks[0])
        return at[0] * right[0] + at[1] * right[1]

    def beyond(self, at: Sequence[float]) -> float:
        """How far a plan point lies beyond the cut (negative: behind the viewer), metres."""
        return (at[0] - self.start_m[0]) * self.looks[0] + (at[1] - self.start_m[1]) * self.looks[1]


def cuts(scene: Scene, most: int = 3) -> tuple[Cut, ...]:
    """Long and cross sections through the arrays: one for each line on which arrays hang, at most 3 each way.

    The long section runs along the longer side of the room's bounds and looks away from its lower edge.
    """
    (x0, y0), (x1, y1) = scene.room.bounds_m
    long_axis = 0 if x1 - x0 >= y1 - y0 else 1
    locale = Locale.of(scene)
    made: list[Cut] = []
    for axis, kind in ((long_axis, locale.say("view.long")), (1 - long_axis, locale.say("view.cross"))):
        lines: dict[float, list[Array]] = {}
        for array in scene.arrays:
            value = array.centre_m[1 - axis]
            near = next((line for line in lines if abs(line - value) < 0.05), value)
            lines.setdefault(near, []).append(array)
        for value, arrays in list(lines.items())[:most]:
            inside = _inside(scene, axis, value)
            start, end = inside[0][0], inside[-1][1]
            letter = "ABCDEFGH"[len(made)]
            looks = (0.0, 1.0) if axis == 0 else (-1.0, 0.0)
            ends = ((start, value), (end, value)) if axis == 0 else ((value, start), (value, end))
            ids = ", ".join(array.id for array in arrays)
            made.append(
                Cut(
                    letter,
                    locale.say("sheet.section", kind=kind, letter=letter, arrays=ids),
                    *ends,
                    looks,
                    tuple(a.id for a in arrays),
                )
            )
    return tuple(made)


def _inside(scene: Scene, axis: int, value: float) -> list[tuple[float, float]]:
    """The stretches of a line along an axis that lie inside the room."""
    return section_ceiling.stretches(shapely.Polygon(scene.room.outline_m), scene.room, axis, value)


def top_m(scene: Scene) -> float:
    """The highest thing drawn: the structure's upper face, or some plenum."""
    rooms = [region.room for region in regions_of(scene.room)]
    return max(_top_over(room, highest_m(scene.room)) for room in rooms)


def _top_over(room: Room, ceiling_m: float) -> float:
    """The same over one part of the ceiling, the highest of which is at `ceiling_m`."""
    if room.structure_m is not None:
        return room.structure_m + SLAB_M
    return ceiling_m + (PLENUM_M if room.ceiling_kind == "suspended" else SLAB_M)


def margins_mm(scene: Scene) -> tuple[float, float, float, float]:
    """What a section needs round the room on paper: left, below, right, above."""
    below = 15.0 + (ROW_MM if scene.room.parts else 0.0)
    return LEVEL_COLUMN_MM[Locale.of(scene).imperial] + 5.5, below, 3 * rise_mm(scene) + 6.0, 3.0


def section(view: View, review: Review, cut: Cut) -> None:
    """One section. The view's zero is the finished floor below the plan's zero, along the cut."""
    scene = review.scene
    axis = 0 if cut.looks[0] == 0 else 1
    inside = _inside(scene, axis, cut.start_m[1 - axis])
    left, right = inside[0][0], inside[-1][1]
    top = top_m(scene)
    arrays = [scene.array(id) for id in cut.arrays]
    # all fills before all edges, so that bands that overlap keep theirs
    shapes = [part for array in arrays for part in _wedges(scene, cut, array, left, right)]
    for ring in shapes:
        view.fill("band hatch", [ring])
    for ring in shapes:
        view.polyline("band", ring, closed=True)
    _shell(view, scene, cut, inside, top)
    _devices(view, scene, cut)
    _displays(view, scene, cut)
    _obstacles(view, scene, cut)
    _tables(view, scene, cut)
    heads = [head for head in scene.heads if cut.beyond(head.at_m) > -0.35]
    for head in heads:
        _person(view, review, cut, head)
    for array in arrays:
        _hanging(view, scene, cut, array, top)
        draw_swing(view, scene, array, cut.along(array.centre_m))
    _chains(view, scene, cut, arrays, left, right)
    within = (view.to_mm((left, 0))[0] + 0.6, 0.6, view.to_mm((right, 0))[0] - 0.6, view.to_mm((0, top))[1])
    for array in arrays:
        _angles(view, cut, array, within)
    # beside the array, not in the space above its ceiling
    lid = min((ceiling_over_m(scene.room, one.at_m) for one in arrays), default=top)
    below = (*within[:3], view.to_mm((0, lid))[1] - 0.6)
    anchors = {}
    for array in arrays:
        at = (cut.along(array.centre_m), (array.underside_m + array.top_m) / 2)
        gap_mm = view.to_mm((array.profile.plan_radius_m, 0))[0] + 1.5
        view.label(
            [f"{array.id}  {array.profile.name}", array_words.of(array, view.draft.locale)], at, within=below,
            gap_mm=gap_mm, prefer=(30, 150, 60, 120, 0, 180),
        )  # fmt: skip
        anchors[array.id] = (at, gap_mm)
        name_swing(view, scene, array, at[0], within)
    roses(view, review, below, anchors)
    if scene.room.parts:
        section_ceiling.tags(view, scene, cut, (*within[:3], within[3] - view.to_mm((0, SLAB_M))[1]))
    for device in scene.overhead:
        if cut.beyond(device.at_m) + max(device.size_m) / 2 >= -0.02 and cut.beyond(device.at_m) < 1.2:
            at = (cut.along(device.at_m), device.low_m)
            view.label(
                [device.id], at, gap_mm=1.2, within=within, prefer=(-90, -60, -120, -45, -135), leader=True
            )


def _shell(view: View, scene: Scene, cut: Cut, inside: Sequence[tuple[float, float]], top: float) -> None:
    """Floor, walls with what opens in them, ceiling and structure, where the cut meets them."""
    room = scene.room
    left, right = inside[0][0], inside[-1][1]
    outer = (left - WALL_M, right + WALL_M)
    view.fill("structure hatch", [[(outer[0], -SLAB_M), (outer[1], -SLAB_M), (outer[1], 0), (outer[0], 0)]])
    view.line("floor", (outer[0], 0), (outer[1], 0))
    pieces = section_ceiling.pieces_of(scene, cut)
    for face, out, piece in ((left, -1, pieces[0]), (right, 1, pieces[-1])):
        _cut_wall(view, scene, cut, face, out, top if piece.solid_m is None else piece.solid_m)
    if room.parts:
        section_ceiling.cut_parts(view, scene, cut)
    elif room.ceiling_kind == "suspended":
        section_ceiling.cut_flat(view, scene, cut, inside)
    section_ceiling.cut_solid(view, pieces, outer, top)


def _cut_wall(view: View, scene: Scene, cut: Cut, face: float, out: int, top: float) -> None:
    """The wall at one end of a cut: what opens in it there, and what is left of it."""
    at = (face, cut.start_m[1]) if cut.looks[0] == 0 else (cut.start_m[0], face)
    solid = [(0.0, top)]
    for opening in (one for one in scene.room.openings if _in_opening(scene, one, at)):
        low, high = opening.sill_m, opening.sill_m + opening.height_m
        solid = [
            piece
            for a, b in solid
            for piece in ((a, min(b, low)), (max(a, high), b))
            if piece[1] - piece[0] > 1e-6
        ]
        middle = face + out * WALL_M / 2
        if opening.kind == "window":
            view.line("glazing", (middle, low), (middle, high))
        for away in (0.0, WALL_M):
            x = face + out * away
            view.line("door" if opening.kind == "door" else "glazing", (x, low), (x, high))
    for a, b in solid:
        corners = [(face, a), (face + out * WALL_M, a), (face + out * WALL_M, b), (face, b)]
        view.fill("wall hatch", [corners])
        view.polyline("wall", corners, closed=True)


def _in_opening(scene: Scene, opening: Any, at: Point) -> bool:
    near, along, _ = opening_frame(scene, opening)
    by = (at[0] - near[0]) * along[0] + (at[1] - near[1]) * along[1]
    away = abs((at[0] - near[0]) * along[1] - (at[1] - near[1]) * along[0])
    return away < 0.01 and 0 < by < opening.width_m


def wedge_outline(band: Band, centre: Point, side: int, cut: Any) -> Any:
    """The band in a vertical plane through the axis, on one side, as a shapely shape cut by another."""
    points = []
    for radius, turns in ((band.far_m, 1), (band.near_m, -1)):
        steps = 40
        for i in range(steps + 1):
            share = i / steps if turns == 1 else 1 - i / steps
            angle = math.radians(band.low_deg + (band.high_deg - band.low_deg) * share)
            points.append((centre[0] + side * radius * math.cos(angle), centre[1] - radius * math.sin(angle)))
    return shapely.make_valid(shapely.Polygon(points)).intersection(cut)


def _wedges(scene: Scene, cut: Cut, array: Array, left: float, right: float) -> list[list[Sequence[float]]]:
    """The band's cut faces left and right of the axis, inside the room."""
    centre = (cut.along(array.centre_m), array.centre_m[2])
    air: Any = shapely.box(left, 0.0, right, scene.room.ceiling_m)
    if scene.room.parts:
        air = section_ceiling.air_of(section_ceiling.pieces_of(scene, cut))
    rings = []
    for side in (-1, 1):
        shape = wedge_outline(array.band, centre, side, air)
        for part in shapely.get_parts(shape):
            if part.geom_type == "Polygon" and part.area > 1e-6:
                rings.append(list(part.exterior.coords)[:-1])
    return rings


def _angles(view: View, cut: Cut, array: Array, within: tuple[float, float, float, float]) -> None:
    """The two depressions of the band, as arcs from the horizontal on the right of the array."""
    x, z = cut.along(array.centre_m), array.centre_m[2]
    # not in the space above the ceiling
    within = (*within[:3], view.to_mm((0, z))[1])
    reach = view.to_m(19.0)
    view.line("reach", (x, z), (x + reach + view.to_m(2), z))
    locale = view.draft.locale
    for angle, radius_mm in ((array.band.low_deg, 17.0), (array.band.high_deg, 12.5)):
        radius = view.to_m(radius_mm)
        if angle > 0:
            view.arc("sector", (x, z), radius, -angle, 0)
        if radius < array.profile.reach_m[0]:
            end = math.radians(angle)
            edge = min(array.profile.reach_m[0], view.to_m(radius_mm + 1.5))
            view.line("sector", (x, z), (x + edge * math.cos(end), z - edge * math.sin(end)))
        middle = math.radians(angle * (0.5 if angle == array.band.low_deg else 0.78))
        at = (x + radius * math.cos(middle), z - radius * math.sin(middle))
        view.label(
            [locale.edge(angle)],
            at,
            gap_mm=0.9,
            within=within,
            prefer=(-10, -30, 10, 180, -50, 30),
            leader=False,
        )


def _tables(view: View, scene: Scene, cut: Cut) -> None:
    for table in scene.tables:
        across = [cut.along(point) for point in table.outline_m]
        away = [cut.beyond(point) for point in table.outline_m]
        if max(away) < 0:
            continue
        low, high = min(across), max(across)
        thick = 0.035
        corners = [
            (low, table.height_m - thick),
            (high, table.height_m - thick),
            (high, table.height_m),
            (low, table.height_m),
        ]
        if min(away) <= 0 <= max(away):
            view.fill("structure hatch", [corners])
        view.polyline("table", corners, closed=True)
        view.keep((*view.to_mm(corners[0]), *view.to_mm(corners[2])))
        for share in (0.2, 0.8):
            x = low + (high - low) * share
            view.line("seat", (x - 0.03, 0), (x - 0.03, table.height_m - thick))
            view.line("seat", (x + 0.03, 0), (x + 0.03, table.height_m - thick))


def _person(view: View, review: Review, cut: Cut, head: Head) -> None:
    """The mouth with its range and state, in front of a light figure."""
    x, z = cut.along(head.at_m), head.middle_m[2]
    facing = math.radians(head.facing_deg)
    right = (cut.looks[1], -cut.looks[0])
    back = -(math.cos(facing) * right[0] + math.sin(facing) * right[1])
    middle = x + back * 0.1
    hip = 0.45 if head.posture == "seated" else 0.92
    # the trunk from the side or from the front, with round shoulders; then the head over it
    half = 0.215 - 0.085 * abs(back)
    middle += back * 0.05
    shoulder = z - 0.16
    trunk = [(middle - half * 0.8, hip), (middle - half, shoulder - 0.1)]
    for i in range(7):
        angle = math.pi - math.pi * i / 6
        trunk.append((middle + half * math.cos(angle), shoulder - 0.1 + 0.1 * math.sin(angle)))
    trunk += [(middle + half, shoulder - 0.1), (middle + half * 0.8, hip)]
    view.polyline("seat", trunk, closed=True, avoid=False)
    view.keep((*view.to_mm((middle - 0.1, z - 0.08)), *view.to_mm((middle + 0.1, z + 0.15))))
    view.circle("seat", (middle - back * 0.05, z + 0.045), 0.105, avoid=False)
    if head.posture == "seated":
        seat, rest = 0.45, middle + back * (half + 0.03)
        if abs(back) > 0.5:
            view.line("seat", (rest, seat + 0.4), (rest, seat), avoid=False)
            view.line("seat", (rest, seat), (rest - back * 0.42, seat), avoid=False)
            view.line("seat", (rest - back * 0.2, seat), (rest - back * 0.2, 0.0), avoid=False)
    state = review.head(head.id).standing
    low, high = head.mouth_m
    if high > low:
        view.line(state, (x, low), (x, high))
        for level in (low, high):
            view.line(state, (x - view.to_m(0.9), level), (x + view.to_m(0.9), level))
    view.insert(
        symbols.head_block(view.draft, state), state, (x, z), scale=view.paper(1), attributes={"TAG": head.id}
    )
    view.symbol_box((x, z), 1.0)


def _half_across(size_m: Sequence[float], turn_deg: float, cut: Cut) -> float:
    """Half of what a box takes along a cut, metres."""
    axis_deg = turn_deg - (0 if cut.looks[0] == 0 else 90)
    c, s = abs(math.cos(math.radians(axis_deg))), abs(math.sin(math.radians(axis_deg)))
    return (size_m[0] * c + size_m[1] * s) / 2


def _devices(view: View, scene: Scene, cut: Cut) -> None:
    for device in scene.overhead:
        if cut.beyond(device.at_m) + max(device.size_m) / 2 < -0.02:
            continue
        x = cut.along(device.at_m)
        half = device.size_m[0] / 2 if device.round else _half_across(device.size_m, device.turn_deg, cut)
        low, high = device.low_m, device.low_m + device.depth_m
        corners = [(x - half, low), (x + half, low), (x + half, high), (x - half, high)]
        view.polyline(device.kind, corners, closed=True)
        view.keep((*view.to_mm(corners[0]), *view.to_mm(corners[2])))
        if device.stem_m:
            view.line(device.kind, (x, high), (x, ceiling_over_m(scene.room, device.at_m)))


def _displays(view: View, scene: Scene, cut: Cut) -> None:
    for display in scene.displays:
        across = [cut.along(corner) for corner in display.corners_m]
        if max(cut.beyond(corner) for corner in display.corners_m) > -0.02:
            z0, z1 = display.at_m[2] - display.height_m / 2, display.at_m[2] + display.height_m / 2
            low, high = min(across), max(across)
            if high - low < 0.04:
                low, high = low - 0.03, low + 0.03
            view.polyline("display", [(low, z0), (high, z0), (high, z1), (low, z1)], closed=True)


def _obstacles(view: View, scene: Scene, cut: Cut) -> None:
    for obstacle in scene.obstacles:
        solid = obstacle.solid
        x = cut.along(solid.middle_m)
        if isinstance(solid, Box):
            half, tall = _half_across(solid.size_m, solid.turn_deg, cut), solid.size_m[2]
        else:
            half, tall = solid.radius_m, solid.height_m
        if cut.beyond(solid.middle_m) + half < 0:
            continue
        low = solid.middle_m[2] - tall / 2
        corners = [(x - half, low), (x + half, low), (x + half, low + tall), (x - half, low + tall)]
        view.polyline("obstacle", corners, closed=True)


def _hanging(view: View, scene: Scene, cut: Cut, array: Array, top: float) -> None:
    scene = scene_under(scene, array.at_m)
    room = scene.room
    x = cut.along(array.centre_m)
    profile = array.profile
    half = profile.size_m[0] / 2 if profile.round else max(profile.size_m[:2]) / 2
    low, high = array.underside_m, array.top_m
    corners = [(x - half, low), (x + half, low), (x + half, high), (x - half, high)]
    hole = profile.hole_m / 2
    # a ring is cut twice; behind the hole one sees its far side
    cuts = [(x - half, x - hole), (x + hole, x + half)] if hole else [(x - half, x + half)]
    for left, right in cuts:
        view.fill("array hatch", [[(left, low), (right, low), (right, high), (left, high)]])
    for edge in (x - hole, x + hole) if hole else ():
        view.line("array", (edge, low), (edge, high))
    view.polyline("array", corners, closed=True)
    a, b = view.to_mm((x - half, low)), view.to_mm((x + half, high))
    view.keep((a[0], a[1], b[0], b[1]))
    if profile.mount == "flush":
        if room.structure_m is not None:
            for side in (-0.8, 0.8):
                view.line("safety", (x + side * half, high), (x + side * half, room.structure_m))
        return
    for start, end, _ in furniture.held_by(array, room.ceiling_m, 0.0):
        view.line("suspension", (cut.along(start), high), (cut.along(end), room.ceiling_m))
    if room.ceiling_kind != "suspended":
        view.polyline(
            "suspension",
            [
                (x - 0.05, room.ceiling_m - 0.03),
                (x + 0.05, room.ceiling_m - 0.03),
                (x + 0.05, room.ceiling_m),
                (x - 0.05, room.ceiling_m),
            ],
            closed=True,
        )
        view.line("safety", (x + 0.6 * half, high), (x + 0.6 * half, room.ceiling_m))
        return
    # the box where the schedule says it sits, its safety cable, and the array's own second line
    carrier = room.structure_m if room.structure_m is not None else top
    on_structure = box_place(scene) == "structure"
    wide, _, tall = scene.suspension.box_size_m
    foot = carrier - tall if on_structure else room.ceiling_m + 0.05
    if on_structure:
        view.line("suspension", (x, room.ceiling_m), (x, foot))
    else:
        view.line("suspension", (x - 0.3, room.ceiling_m + 0.045), (x + 0.3, room.ceiling_m + 0.045))
    view.polyline(
        "suspension",
        [
            (x - wide / 2, foot),
            (x + wide / 2, foot),
            (x + wide / 2, foot + tall),
            (x - wide / 2, foot + tall),
        ],
        closed=True,
    )
    if scene.suspension.safety_cable and not on_structure:
        view.line("safety", (x - wide / 4, foot + tall), (x - wide / 4, carrier))
    view.line("safety", (x + 0.6 * half, high), (x + 0.6 * half, carrier))


def _chains(view: View, scene: Scene, cut: Cut, arrays: Sequence[Array], left: float, right: float) -> None:
    array, say = arrays[0], view.draft.locale.say
    served = [head for head in scene.heads if head.posture == "seated"] or list(scene.heads)
    mouths = min(head.mouth_m[0] for head in served), max(head.mouth_m[1] for head in served)
    table = min(
        scene.tables,
        key=lambda t: math.hypot(t.at_m[0] - array.centre_m[0], t.at_m[1] - array.centre_m[1]),
        default=None,
    )
    _rises(view, scene, array, table, mouths, say(f"posture.{served[0].posture}"), right + WALL_M)
    _levels(view, scene, cut, arrays, table, mouths, view.to_mm((left - WALL_M, 0))[0])
    wall = say("sheet.to.wall")
    across = [(a.id, (cut.along(a.centre_m), 0.0)) for a in arrays]
    ends: list[Station] = [(wall, (left, 0.0)), (wall, (right, 0.0))]
    line = -SLAB_M - view.to_m(7.0)
    if scene.room.parts:
        edges = section_ceiling.steps(scene, cut, view.draft.locale)
        steps = [(name, (x, 0.0)) for name, x in edges]
        chain(view, [*ends, *steps], "x", line, through=[x for _, (x, _) in across])
        line -= view.to_m(ROW_MM)
    chain(view, [*ends, *across], "x", line)


def _rises(
    view: View,
    scene: Scene,
    array: Array,
    table: Table | None,
    mouths: tuple[float, float],
    posture: str,
    edge: float,
) -> None:
    """The chains of heights right of the room, whose wall's outer face is at `edge`."""
    room, say = room_under(scene.room, array.at_m), view.draft.locale.say
    line = edge + view.to_m(6)
    floor: Station = (say("sheet.to.floor"), (edge, 0.0))
    underside: Station = (say("sheet.to.underside", array=array.id), (edge, array.underside_m))
    ceiling: Station = (say("sheet.to.ceiling"), (edge, room.ceiling_m))
    steps: list[Station] = [floor]
    if table is not None:
        steps.append((say("sheet.to.table", table=table.id), (edge, table.height_m)))
    steps.append((say("sheet.to.lowest mouth", posture=posture), (edge, mouths[0])))
    steps.append((say("sheet.to.highest mouth", posture=posture), (edge, mouths[1])))
    steps += [underside, ceiling]
    if room.structure_m is not None:
        steps.append((say("sheet.to.structure"), (edge, room.structure_m)))
    rise(view, steps, line)
    second = line + view.to_m(rise_mm(scene))
    rise(view, [floor, underside], second, names=[say("sheet.above floor", array=array.id)])
    if room.ceiling_m - array.centre_m[2] > 0.001:
        third = second + view.to_m(rise_mm(scene))
        centre: Station = (say("sheet.to.centre", array=array.id), (edge, array.centre_m[2]))
        names = [say("sheet.centre above floor", array=array.id), say("sheet.drop", array=array.id)]
        rise(view, [floor, centre, ceiling], third, names=names)


def _levels(
    view: View,
    scene: Scene,
    cut: Cut,
    arrays: Sequence[Array],
    table: Table | None,
    mouths: tuple[float, float],
    wall: float,
) -> None:
    """The levels by name, left of the room, whose wall's outer face is at `wall` on paper."""
    room, locale, say = room_under(scene.room, arrays[0].at_m), view.draft.locale, view.draft.locale.say
    low, high = mouths
    levels = [
        (0.0, say("sheet.level.floor"), locale.dimension(0.0)),
        *section_ceiling.levels(scene, cut, locale),
        *_hung_levels(arrays, locale),
    ]
    if room.structure_m is not None:
        levels.append((room.structure_m, say("sheet.level.structure"), locale.dimension(room.structure_m)))
    if table is not None:
        levels.append((table.height_m, say("sheet.level.table"), locale.dimension(table.height_m)))
    levels.append(((low + high) / 2, say("sheet.level.mouths"), locale.drawn_between(low, high)))
    levels.sort()
    columns = [_level_lines(name, value, LEVEL_COLUMN_MM[locale.imperial]) for _, name, value in levels]
    tall = [len(lines) * LEVEL_LINE_MM + LEVEL_GAP_MM for lines in columns]
    # so far from the lowest label to each: what is left of where they want to be only has to rise
    up = [sum(tall[:i]) + tall[i] / 2 for i in range(len(tall))]
    wanted = [view.to_mm((0, level))[1] for level, _, _ in levels]
    places = [
        got + by
        for got, by in zip(spread([w - by for w, by in zip(wanted, up, strict=True)], 0.0), up, strict=True)
    ]
    for (level, _, _), lines, middle in zip(levels, columns, places, strict=True):
        for number, line in enumerate(lines):
            y = middle + ((len(lines) - 1) / 2 - number) * LEVEL_LINE_MM
            view.text("note", line, (view.to_m(wall - 5.0), view.to_m(y - TEXT_MM / 2)), align="right")
        view.line("leader", (view.to_m(wall - 4.2), view.to_m(middle)), (view.to_m(wall - 1.0), level))


def _level_lines(name: str, value: str, wide_mm: float) -> list[str]:
    """A level's name and its height in as few lines as fit; a height is never broken."""
    *lines, last = lettering.wrap(name, TEXT_MM, wide_mm)
    whole = f"{last} {value}"
    return [*lines, whole] if lettering.width(whole, TEXT_MM) <= wide_mm else [*lines, last, value]


def _hung_levels(arrays: Sequence[Array], locale: Locale) -> list[tuple[float, str, str]]:
    """Underside and acoustic centre of each array, those at one height together: how high, whose, and in words."""
    at: dict[tuple[str, str], tuple[float, list[str]]] = {}
    for array in arrays:
        ends = {"underside": array.underside_m, "centre": array.centre_m[2]}
        if locale.dimension(ends["centre"]) == locale.dimension(ends["underside"]):
            del ends["centre"]
        for end, level in ends.items():
            at.setdefault((end, locale.dimension(level)), (level, []))[1].append(array.id)
    return [
        (level, locale.say(f"sheet.level.{end}", arrays=", ".join(ids)), value)
        for (end, value), (level, ids) in at.items()
    ]
