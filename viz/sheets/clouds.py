"""Clouds round what changed on a plan: their outlines and numbers, and what was there before, thin and dashed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

import shapely

from geometry.records import record
from geometry.shapes import Box as BoxSolid
from geometry.shapes import Cylinder
from scenes.findings.changes import Change
from scenes.room.scene import Array, Head, Scene
from viz.sheets import symbols
from viz.sheets.draft import LINE_MM, TEXT_MM, Box, Draft, Point, View
from viz.sheets.lettering import width

LEAST_CLOUD_MM: Final = 7.0
"""Radius on paper below which a cloud would be a blot."""
JOIN_MM: Final = 2.5
"""Clouds nearer than twice this on paper become one."""
SCALLOP_MM: Final = 4.4
"""From one arc's end to the next."""
MOVED_MM: Final = 1.5
"""What moved less on paper is not drawn where it was."""
DELTA_MM: Final = (7.4, 6.4)
"""Width and height of the triangle round a cloud's number, on paper."""


def _radius_m(change: Change) -> float:
    """How large a cloud to draw around a change on plan, metres."""
    return 0.45 if change.kind in ("head", "device") else 0.6


@record(frozen=True)
class Cloud:
    """A cloud round one place or several: its number, its outline (anticlockwise, metres), what changed inside."""

    number: int
    outline_m: tuple[Point, ...]
    changes: tuple[Change, ...]
    delta_m: Point


def placed_clouds(
    view: View, draw: Callable[[View], None], told: Sequence[Change], old: Scene, new: Scene
) -> tuple[Cloud, ...]:
    """The clouds of a plan at the view's scale, numbered in reading order, their numbers where there is room.

    Draws the plan and its clouds into the view to find that room; `view.extent` is what all of it covers.
    """
    clouded(view, draw, told, old, new)
    parts = _shapes(told, old, new, view)
    for part, _ in parts:
        view.cloud("change" + view.suffix, scalloped(part, view))
    made = []
    for number, (part, inside) in enumerate(parts, 1):
        others = shapely.union_all([other for other, _ in parts if other is not part])
        made.append(Cloud(number, scalloped(part, view), inside, _placed_delta(part, others, view)))
    return tuple(made)


def _body(kind: str, id: str, scene: Scene) -> Any:
    """What a thing covers on plan, as a shapely polygon; None where the scene has no such thing."""
    found = next((thing for thing in _things(kind, scene) if thing.id == id), None)
    return None if found is None else _BODIES.get(kind, _solid_body)(found)


def _head_body(head: Head) -> Any:
    if head.path_m:
        return shapely.LineString(head.path_m).buffer(0.2)
    if head.posture == "seated":  # the chair under whoever sits, as the plan draws it
        return _rectangle(head.at_m, (0.5, 0.5), head.facing_deg, ahead=-0.19)
    return shapely.Point(head.at_m).buffer(0.22)


def _array_body(array: Array) -> Any:
    x, y, _ = array.profile.size_m
    at = array.centre_m[:2]
    return shapely.Point(at).buffer(x / 2) if array.profile.round else _rectangle(at, (x, y), array.turn_deg)


def _display_body(display: Any) -> Any:
    return shapely.LineString([display.corners_m[0][:2], display.corners_m[1][:2]]).buffer(0.03)


def _solid_body(thing: Any) -> Any:
    solid = thing.solid
    if isinstance(solid, Cylinder):
        return shapely.Point(solid.middle_m[:2]).buffer(solid.radius_m)
    if isinstance(solid, BoxSolid):
        return shapely.Polygon(solid.corners_on_plan())
    return shapely.Point(solid.middle_m[:2]).buffer(solid.plan_radius_m)


_BODIES: Final[Mapping[str, Callable[[Any], Any]]] = {
    "table": lambda table: shapely.Polygon(table.outline_m),
    "area": lambda area: shapely.Polygon(area.outline_m),
    "head": _head_body,
    "array": _array_body,
    "camera": lambda camera: shapely.Point(camera.at_m[:2]).buffer(0.08),
    "display": _display_body,
}
"""What things without a solid of their own cover on plan, by kind."""


def _things(kind: str, scene: Scene) -> Sequence[Any]:
    return {
        "array": scene.arrays, "head": scene.heads, "area": scene.areas, "table": scene.tables, "device": scene.overhead,
        "obstacle": scene.obstacles, "camera": scene.cameras, "display": scene.displays,
    }.get(kind, ())  # fmt: skip


def _rectangle(at: Sequence[float], size: tuple[float, float], turn_deg: float, *, ahead: float = 0.0) -> Any:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x, y = size[0] / 2, size[1] / 2
    corners = [(ahead + u, v) for u, v in ((-x, -y), (x, -y), (x, y), (-x, y))]
    return shapely.Polygon([(at[0] + u * c - v * s, at[1] + u * s + v * c) for u, v in corners])


def _region(change: Change, old: Scene, new: Scene, view: View) -> Any:
    """What the cloud of one change has to go round: its place, the thing there, and where it was if that is near."""
    assert change.at_m is not None
    radius = max(_radius_m(change), view.to_m(LEAST_CLOUD_MM))
    shape = shapely.Point(change.at_m).buffer(radius)
    now, was = (_body(change.kind, change.id, d) for d in (new, old))
    if now is not None:
        shape = shape.union(now.buffer(view.to_m(1.5)))
    if was is not None and shape.distance(was) < radius / 2:
        shape = shape.union(was.buffer(view.to_m(1.5))).convex_hull
    if change.kind == "head" and now is not None:
        shape = shape.union(_name_box(change.id, new, view)).convex_hull
    return shape


def _name_box(id: str, scene: Scene, view: View) -> Any:
    """Where the plan letters a talker's name if nothing is in the way: the cloud shall not run through it."""
    head = next(head for head in scene.heads if head.id == id)
    out = math.radians(head.facing_deg + 180)
    c, s = math.cos(out), math.sin(out)
    back = 0.46 if head.posture == "seated" else 0.3
    half = (width(id, TEXT_MM) + 1.0) / 2, LINE_MM / 2
    x, y = view.to_mm((head.at_m[0] + back * c, head.at_m[1] + back * s))
    x, y = x + c * (0.6 + half[0]), y + s * (0.6 + half[1])
    low, high = (x - half[0] - 0.8, y - half[1] - 0.8), (x + half[0] + 0.8, y + half[1] + 0.8)
    return shapely.box(*(view.to_m(v) for v in (*low, *high)))


def _shapes(
    told: Sequence[Change], old: Scene, new: Scene, view: View
) -> list[tuple[Any, tuple[Change, ...]]]:
    """Outlines that do not overlap, each with the changes inside it, in reading order."""
    placed = [change for change in told if change.at_m is not None]
    if not placed:
        return []
    near = view.to_m(JOIN_MM)
    # grown, joined, and shrunk by half as much: what nearly touches is one, and its neck is no thread
    joined = shapely.union_all([_region(change, old, new, view) for change in placed])
    joined = joined.buffer(near).buffer(-near / 2)
    parts = [shapely.Polygon(part.exterior) for part in shapely.get_parts(joined)]
    parts.sort(key=lambda part: (-round(part.centroid.y / 0.75), part.centroid.x))
    # a ring of changes closes round what lies inside it
    outer = [part for part in parts if not any(other.contains(part) for other in parts if other is not part)]
    return [
        (part, tuple(change for change in placed if part.covers(shapely.Point(change.at_m))))
        for part in outer
    ]


def scalloped(part: Any, view: View) -> tuple[Point, ...]:
    """Ends of the arcs of a cloud, evenly along its outline, anticlockwise."""
    ring = shapely.geometry.polygon.orient(part).exterior
    count = max(8, round(ring.length / view.to_m(SCALLOP_MM)))
    points = [ring.interpolate(i / count, normalized=True) for i in range(count)]
    return tuple((point.x, point.y) for point in points)


def _placed_delta(part: Any, others: Any, view: View) -> Point:
    """Where the triangle of a cloud stands: touching it from outside, where the drawing leaves most room."""
    ring = shapely.geometry.polygon.orient(part).exterior
    wide, tall = DELTA_MM[0] / 2 + 0.4, DELTA_MM[1] / 2 + 0.4
    best: tuple[float, Point] | None = None
    for i in range(72):
        at = ring.interpolate(i / 72, normalized=True)
        ahead = ring.interpolate((i / 72 + 1e-3) % 1, normalized=True)
        along = math.atan2(ahead.y - at.y, ahead.x - at.x)
        out = (math.sin(along), -math.cos(along))
        # as far as the triangle reaches in that direction, and the arcs of the cloud
        away = view.to_m(1.4 + abs(out[0]) * wide * 0.8 + abs(out[1]) * tall)
        place = (at.x + out[0] * away, at.y + out[1] * away)
        x, y = view.to_mm(place)
        box = (x - wide, y - tall, x + wide, y + tall)
        over, crossed = view.clutter(box)
        cost = 30.0 * over + 2.0 * crossed - 1.5 * (out[0] + out[1])
        cost += 100.0 * (others.distance(shapely.Point(place)) < view.to_m(wide + 1.0))
        if best is None or cost < best[0] - 1e-9:
            best = (cost, place)
    assert best is not None
    view.keep(_delta_box(best[1], view))
    return best[1]


def _delta_box(at: Point, view: View) -> Box:
    x, y = view.to_mm(at)
    wide, tall = DELTA_MM[0] / 2, DELTA_MM[1] / 2
    return x - wide, y - tall, x + wide, y + tall


def delta_block(draft: Draft) -> str:
    """The triangle round the number of a cloud. Paper millimetres."""
    made, new = symbols.block(draft, "CHANGE-DELTA")
    if new:
        x, y = DELTA_MM[0] / 2, DELTA_MM[1] / 2
        corners = [(-x, -y), (x, -y), (0, y)]
        blank = made.add_hatch(
            color=7, dxfattribs=symbols.BYLAYER
        )  # paper white: no hatch runs through the number
        blank.rgb = (255, 255, 255)
        blank.paths.add_polyline_path(corners, is_closed=True)
        made.add_lwpolyline(corners, close=True, dxfattribs={**symbols.BYLAYER, "lineweight": 35})
    return "CHANGE-DELTA"


@record(frozen=True)
class Ghost:
    """A thing where it was: its outlines then, and its middle now if it only moved."""

    id: str
    rings: tuple[tuple[Point, ...], ...]
    was_m: Point
    now_m: Point | None


def ghosts(told: Sequence[Change], old: Scene, new: Scene, view: View) -> list[Ghost]:
    """What is gone or has moved, where it was."""
    made: list[Ghost] = []
    for kind, id in dict.fromkeys((change.kind, change.id) for change in told):
        was, now = _body(kind, id, old), _body(kind, id, new)
        if was is None or (now is not None and _much_the_same(kind, was, now, view)):
            continue
        drawn, rings = _was_drawn(kind, id, was, old, view)
        ghost = Ghost(
            id, rings, (drawn.centroid.x, drawn.centroid.y),
            None if now is None else (now.centroid.x, now.centroid.y),
        )  # fmt: skip
        if all(ghost.rings != other.rings for other in made):  # somebody who sits and stands is there once
            made.append(ghost)
    if any(change.kind == "room" and change.what == "outline" for change in told):
        made.append(Ghost("", (old.room.outline_m,), old.room.outline_m[0], (0.0, 0.0)))
    return made


def _much_the_same(kind: str, was: Any, now: Any, view: View) -> bool:
    """Whether a thing then and now, drawn over each other, would be a blot."""
    if view.to_mm((was.hausdorff_distance(now), 0))[0] < MOVED_MM:
        return True
    return bool(kind not in ("table", "area") and was.intersection(now).area > 0.4 * was.area)


def _was_drawn(
    kind: str, id: str, was: Any, old: Scene, view: View
) -> tuple[Any, tuple[tuple[Point, ...], ...]]:
    """A thing where it was, as large as it is drawn, and all its outlines: of who sits the head too."""
    if kind == "device":
        device = next(d for d in old.overhead if d.id == id)
        if device.kind in symbols.SMALL_KINDS:
            was = shapely.Point(device.at_m).buffer(view.to_m(1.7))
    if kind == "camera":
        was = was.centroid.buffer(view.to_m(1.6))
    rings = [tuple(was.exterior.coords)[:-1]]
    if kind == "head":
        head = next(h for h in old.heads if h.id == id)
        rings.append(tuple(shapely.Point(head.middle_m[:2]).buffer(0.1).exterior.coords)[:-1])
    return was, tuple(rings)


def _draw_ghost(view: View, ghost: Ghost) -> None:
    role = "removed" + view.suffix
    for ring in ghost.rings:
        view.polyline(role, ring, closed=True)
    if not ghost.id:
        return
    if ghost.now_m is None:
        x, y = ghost.was_m
        half = view.to_m(2.2)
        for sign in (1, -1):
            ends = [(x - half, y - sign * half), (x + half, y + sign * half)]
            view.polyline(role, ends, linetype="CONTINUOUS")
        return
    way = (ghost.now_m[0] - ghost.was_m[0], ghost.now_m[1] - ghost.was_m[1])
    far = math.hypot(*way)
    if view.to_mm((far, 0))[0] < 5.0:
        return
    way = (way[0] / far, way[1] / far)
    # from its middle then to just short of its middle now
    end = far - view.to_m(2.4)
    tip = (ghost.was_m[0] + way[0] * end, ghost.was_m[1] + way[1] * end)
    head, half = view.to_m(2.0), view.to_m(0.7)
    back = (tip[0] - way[0] * head, tip[1] - way[1] * head)
    view.line(role, ghost.was_m, back)
    view.fill(role, [[tip, (back[0] - way[1] * half, back[1] + way[0] * half),
                      (back[0] + way[1] * half, back[1] - way[0] * half)]])  # fmt: skip


def clouded(
    view: View,
    draw: Callable[[View], None],
    told: Sequence[Change],
    old: Scene,
    new: Scene,
    clouds: Sequence[Cloud] = (),
    within: Box | None = None,
) -> None:
    """A plan with what is gone and its clouds on top; its letters keep off clouds where they can, off numbers always.

    `draw` draws the plan. `within` (on paper): where letters of what is gone may stand.
    """
    for cloud in clouds:
        ring = [view.to_mm(point) for point in cloud.outline_m]
        # counted thrice: a letter under a cloud is worse than one under a thin line
        view.segments.extend([(*a, *b) for a, b in itertools.pairwise([*ring, ring[0]])] * 3)
        view.keep(_delta_box(cloud.delta_m, view))
    gone = ghosts(told, old, new, view)
    for outline in (ring for ghost in gone for ring in ghost.rings):
        mm = [view.to_mm(point) for point in outline]
        view.segments.extend((*a, *b) for a, b in itertools.pairwise([*mm, mm[0]]))
    draw(view)
    for ghost in gone:
        _draw_ghost(view, ghost)
    for cloud in clouds:
        _draw_cloud(view, cloud)
    for ghost in gone:
        if ghost.id and ghost.now_m is None:
            text = view.draft.locale.say("sheet.removed", id=ghost.id)
            view.label([text], ghost.was_m, gap_mm=3.0, within=within)
    if any(change.at_m is not None for change in told):
        _origin(view, within)


def _draw_cloud(view: View, cloud: Cloud) -> None:
    role = "change" + view.suffix
    view.cloud(role, cloud.outline_m)
    view.insert(delta_block(view.draft), role, cloud.delta_m, scale=view.paper(1))
    x, y = cloud.delta_m
    low = view.to_m(DELTA_MM[1] / 2 - 0.9)
    view.text(role, f"{cloud.number}", (x, y - low), align="centre", weight="semibold")


def _origin(view: View, within: Box | None) -> None:
    """Where the places in the table count from."""
    role = "symbol" + view.suffix
    arm = view.to_m(2.0)
    view.circle(role, (0, 0), view.to_m(0.9))
    for end in ((arm, 0), (0, arm)):
        view.line(role, (0, 0), end)
    view.label(["0, 0"], (0, 0), gap_mm=2.0, within=within)
