"""Named views of a stage: where one looks from, what is shown there, where it is cut; and the projection.

Views are data, so that a test can ask where a mouth must appear. Names: corner, plan, ceiling, long,
cross, array, camera and seat; `long:A2`, `camera:CAM1`, `seat:T1-3` say which array, camera or head.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.shapes import Point3
from scenes.room.scene import Array
from viz import palette as ink
from viz.forms import Form
from viz.stage import Prop, Stage
from viz.stage.dimensions import COLUMN_M, alike, row_m
from viz.stage.props import NO_FACES, WALL_M, along_x
from viz.stage.shell import camera_aim

Floats = NDArray[np.float64]

KINDS = ("corner", "plan", "ceiling", "long", "cross", "array", "camera", "seat")
_ROOM = ("shell", "tables", "people", "arrays")
LAYERS_OF = {
    "corner": (*_ROOM, "band", "sectors", "overhead", "clearances", "sightlines", "labels"),
    "plan": (*_ROOM, "sectors", "footprint", "clearances", "sightlines", "region", "dimensions", "labels"),
    "ceiling": ("shell", "tables", "arrays", "overhead", "clearances", "region", "dimensions", "labels"),
    "long": (*_ROOM, "band", "overhead", "clearances", "dimensions", "labels"),
    "cross": (*_ROOM, "band", "overhead", "clearances", "dimensions", "labels"),
    "array": (*_ROOM, "sectors", "footprint", "sightlines", "labels"),
    "camera": (*_ROOM, "overhead", "sightlines", "labels"),
    "seat": (*_ROOM, "overhead", "labels"),
}
"""What a view shows unless told otherwise."""
LAYERS_OF["free"] = LAYERS_OF["corner"]  # turned by hand in the window

PLAN_CUT_M = 1.2
"""Height at which a plan cuts the walls: common practice, no source."""


@dataclass(frozen=True)
class View:
    """One picture's view. `angle_deg` is across the height; a flat (orthographic) one has `half_height_m`.

    `mirrored` turns the picture left to right: a ceiling seen from below, shown as if looked through from
    above, so that it reads in the same direction as the plan. `cut`: a point and the direction of what
    is kept. `without`: ids of things left out (the camera one looks from). `shift`: the picture's middle is
    this many half widths to the right and half heights above what the eye looks straight at (a shifted lens).
    """

    name: str
    kind: str
    eye: Point3
    target: Point3
    up: Point3
    layers: tuple[str, ...]
    flat: bool = False
    angle_deg: float = 30.0
    half_height_m: float = 1.0
    mirrored: bool = False
    cut: tuple[Point3, Point3] | None = None
    without: tuple[str, ...] = ()
    shift: tuple[float, float] = (0.0, 0.0)

    @property
    def basis(self) -> tuple[Floats, Floats, Floats]:
        """Unit vectors to the picture's right (before mirroring), up, and away from the viewer."""
        look = np.subtract(self.target, self.eye)
        look = look / np.linalg.norm(look)
        right = np.cross(look, self.up)
        right = right / np.linalg.norm(right)
        return right, np.cross(right, look), look

    def project(self, points: ArrayLike, width: int, height: int) -> Floats:
        """(n, 3): pixels from the left, from the top, and metres away, for a picture of that size."""
        away = np.atleast_2d(np.asarray(points, float)) - self.eye
        right, up, look = self.basis
        x, y, depth = away @ right, away @ up, away @ look
        if self.flat:
            scale: float | Floats = height / (2 * self.half_height_m)
        else:
            scale = (
                height
                / (2 * math.tan(math.radians(self.angle_deg) / 2))
                / np.where(depth > 1e-6, depth, np.nan)
            )
        across = -x if self.mirrored else x
        left, top = width / 2 * (1 - self.shift[0]), height / 2 * (1 + self.shift[1])
        return np.column_stack([left + across * scale, top - y * scale, depth])


def names(stage: Stage) -> tuple[str, ...]:
    """Every view there is of this stage; seats are one for each head."""
    scene = stage.scene
    first = scene.arrays[0].id
    made = ["corner", "plan", "ceiling"]
    for kind in ("long", "cross", "array"):
        made += [kind if array.id == first else f"{kind}:{array.id}" for array in scene.arrays]
    made += [f"camera:{camera.id}" for camera in scene.cameras]
    made += [f"seat:{head.id}" for head in scene.heads]
    return tuple(made)


def usual(stage: Stage) -> tuple[str, ...]:
    """The views that are drawn when none is named: all but the seats, and the first seat."""
    every = names(stage)
    seats = [name for name in every if name.startswith("seat:")]
    return tuple(name for name in every if not name.startswith("seat:")) + tuple(seats[:1])


class NoSuchView(ValueError):
    """A view that this room does not have; the text lists what there is."""

    exit_status = 2


def view(stage: Stage, name: str, aspect: float, *, layers: Iterable[str] | None = None) -> View:
    """The view of that name for a picture `aspect` times as wide as high. Raises NoSuchView.

    `layers` replaces what the view shows; what is measured outside the walls then needs no room.
    """
    kind, _, id = name.partition(":")
    if kind not in KINDS:
        raise NoSuchView(f"no view {name!r}; there are {', '.join(names(stage))}")
    shown = tuple(layers) if layers is not None else LAYERS_OF[kind]
    scene = stage.scene
    choices: Sequence[str] = {
        "long": [a.id for a in scene.arrays],
        "cross": [a.id for a in scene.arrays],
        "array": [a.id for a in scene.arrays],
        "camera": [c.id for c in scene.cameras],
        "seat": [h.id for h in scene.heads],
    }.get(kind, [""])
    if (id and id not in choices) or not choices:
        raise NoSuchView(f"no view {name!r}; there are {', '.join(names(stage))}")
    id = id or choices[0]
    makers: dict[str, Callable[[], View]] = {
        "corner": lambda: _corner(stage, aspect, shown),
        "plan": lambda: _plan(stage, aspect, shown),
        "ceiling": lambda: _ceiling(stage, aspect, shown),
        "long": lambda: _section(stage, "long", id, aspect, shown),
        "cross": lambda: _section(stage, "cross", id, aspect, shown),
        "array": lambda: _array(stage, id, aspect, shown),
        "camera": lambda: _camera(stage, id, aspect, shown),
        "seat": lambda: _seat(stage, id, aspect, shown),
    }
    return replace(makers[kind](), name=name)


def _corners(stage: Stage, out: float = 0.0, top: float | None = None, bottom: float = 0.0) -> Floats:
    (x0, y0, _), (x1, y1, z1) = stage.bounds_m
    z1 = z1 if top is None else top
    return np.array(
        [(x, y, z) for x in (x0 - out, x1 + out) for y in (y0 - out, y1 + out) for z in (bottom, z1)], float
    )


def fitted(
    points: Floats, direction: ArrayLike, aspect: float, angle_deg: float, margin: float
) -> tuple[Point3, Point3]:
    """Eye and target of a perspective view along `direction` that just holds all points.

    The two nearest parallel planes of the view's pyramid decide, so nothing is lost and nothing wasted.
    """
    look = np.asarray(direction, float) / np.linalg.norm(direction)
    right = np.cross(look, (0, 0, 1))
    right /= np.linalg.norm(right)
    up = np.cross(right, look)
    tall = math.tan(math.radians(angle_deg) / 2) * (1 - margin)
    eye_look: float = math.inf
    ends: list[tuple[float, float, float]] = []
    for axis, slope in ((right, tall * aspect), (up, tall)):
        low, high = (
            np.min(slope * points @ look - points @ axis),
            np.min(slope * points @ look + points @ axis),
        )
        eye_look = min(eye_look, (low + high) / 2 / slope)
        ends.append((low, high, slope))
    places = [((slope * eye_look - low) + (high - slope * eye_look)) / 2 for low, high, slope in ends]
    eye = eye_look * look + places[0] * right + places[1] * up
    # the target as deep as the middle of it all, so that turning by hand turns about that
    return _point(eye), _point(eye + look * float((points.mean(axis=0) - eye) @ look))


def _point(at: ArrayLike) -> Point3:
    x, y, z = (float(v) for v in np.asarray(at, float))
    return (x, y, z)


def _corner(stage: Stage, aspect: float, layers: tuple[str, ...]) -> View:
    """From above a corner, on the side from which screens are seen and little stands in the way."""
    scene = stage.scene
    middle = np.mean(scene.room.outline_m, axis=0)
    best, best_score = -55.0, -math.inf
    for azimuth in (-55.0, -125.0, 55.0, 125.0):
        out = np.array([math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))])
        score: float = -0.001 * abs(azimuth + 55)
        for display in scene.displays:
            facing = math.radians(display.facing_deg)
            score += 2.0 * bool(out @ (math.cos(facing), math.sin(facing)) > 0.2)
        for opening in scene.room.openings:
            a, b = (np.array(p) for p in scene.room.wall(opening.wall))
            score += 0.6 * bool(((a + b) / 2 - middle) @ out < 0)
        for obstacle in scene.obstacles:
            score -= 1.0 * bool((np.array(obstacle.solid.middle_m[:2]) - middle) @ out > 0)
        if score > best_score:
            best, best_score = azimuth, score
    turn, lift = math.radians(best), math.radians(33)
    direction = np.array(
        [-math.cos(turn) * math.cos(lift), -math.sin(turn) * math.cos(lift), -math.sin(lift)]
    )
    outline = np.array([(*p, z) for p in scene.room.outline_m for z in (0.0, scene.room.ceiling_m)], float)
    eye, target = fitted(outline, direction, aspect, 26.0, 0.09)
    return View("corner", "corner", eye, target, (0, 0, 1), layers, angle_deg=26.0)


def _frame(stage: Stage, layers: tuple[str, ...]) -> tuple[Floats, Floats]:
    """Lowest and highest x and y that a plan must hold, dimensions outside the walls included."""
    (x0, y0, _), (x1, y1, _) = stage.bounds_m
    out = WALL_M + 0.12
    low, high = np.array([x0 - out, y0 - out]), np.array([x1 + out, y1 + out])
    if "dimensions" in layers:
        # only those that a plan shows: the upright ones of the sections are inside anyway
        points = [p.points for p in stage.layer("dimensions") if len(p.points) and "plan" in p.only]
        if points:
            every = np.concatenate(points)[:, :2]
            low, high = np.minimum(low, every.min(axis=0) - 0.22), np.maximum(high, every.max(axis=0) + 0.22)
    return low, high


def _flat_fit(size: ArrayLike, aspect: float) -> float:
    width, height = np.asarray(size, float)
    return float(max(height, width / aspect)) / 2 * 1.04


def _plan(stage: Stage, aspect: float, layers: tuple[str, ...]) -> View:
    low, high = _frame(stage, layers)
    x, y = (low + high) / 2
    return View(
        "plan",
        "plan",
        (x, y, 50.0),
        (x, y, 0.0),
        (0, 1, 0),
        layers,
        flat=True,
        half_height_m=_flat_fit(high - low, aspect),
        cut=((0, 0, PLAN_CUT_M), (0, 0, -1)),
    )


def _ceiling(stage: Stage, aspect: float, layers: tuple[str, ...]) -> View:
    low, high = _frame(stage, layers)
    x, y = (low + high) / 2
    return View(
        "ceiling",
        "ceiling",
        (x, y, -50.0),
        (x, y, 0.0),
        (0, 1, 0),
        layers,
        flat=True,
        mirrored=True,
        half_height_m=_flat_fit(high - low, aspect),
        cut=((0, 0, PLAN_CUT_M), (0, 0, 1)),
    )


def _section(stage: Stage, kind: str, id: str, aspect: float, layers: tuple[str, ...]) -> View:
    """Cut through an array, along the room or across it; the room's x or y runs to the right."""
    scene = stage.scene
    room = scene.room
    level = (kind == "long") == along_x(scene)
    look = np.array([0.0, 1.0, 0.0]) if level else np.array([-1.0, 0.0, 0.0])
    (x0, y0), (x1, y1) = room.bounds_m
    at = np.array(scene.array(id).centre_m)
    top = (room.structure_m or room.ceiling_m) + 0.25
    low, high = (x0, x1) if level else (y0, y1)
    measured = "dimensions" in layers
    low -= WALL_M + (0.62 if measured else 0.15)
    columns = row_m(scene, COLUMN_M) * (len(alike(scene, 2)) - 1)
    high += WALL_M + (0.62 + columns if measured else 0.15)
    middle = np.array([(low + high) / 2, at[1], 0]) if level else np.array([at[0], (low + high) / 2, 0])
    middle[2] = (top - 0.2) / 2
    return View(
        kind,
        kind,
        _point(middle - 60 * look),
        _point(middle),
        (0, 0, 1),
        layers,
        flat=True,
        half_height_m=_flat_fit((high - low, top + 0.25), aspect),
        cut=(_point(at), _point(look)),
    )


ARRAY_ANGLE_DEG = 54.0
"""The widest angle down on an array, across the height: beyond it heads at the edge are drawn out of shape."""


def _array(stage: Stage, id: str, aspect: float, layers: tuple[str, ...]) -> View:
    """Straight down the array's axis, from as high as holds everybody it serves without stretching them.

    So azimuths and the footprint at the mouths are as the array has them. The lens is shifted where the array
    is not in the middle of its talkers, and the eye so high that the body covers little of what it listens to,
    above the ceiling if need be.
    """
    array = stage.scene.array(id)
    centre = np.array(array.centre_m)
    tall = math.tan(math.radians(ARRAY_ANGLE_DEG) / 2)
    served = [head.mouth_m for head in stage.review.heads if head.array == id]
    places = np.array(served or [head.mouth_m for head in stage.review.heads])
    away, levels = places[:, :2] - centre[:2], places[:, 2] + 0.16  # the crown is a little above the mouth
    reach = np.abs(away) + 0.38  # and the back of the head behind it
    spans = np.maximum(reach[:, 0] / aspect, reach[:, 1])
    z = float(centre[2])
    eye = max(z + 0.5, z + 7 * array.profile.plan_radius_m, float(np.max(levels + spans / tall)))
    for _ in range(60):
        middle, frame = _looked_at(stage, array, away, levels, eye, aspect)
        if float(np.max(np.abs(middle) + frame)) <= EDGE_SLOPE:
            break
        eye += 0.25
    return View(
        "array",
        "array",
        (float(centre[0]), float(centre[1]), eye),
        (float(centre[0]), float(centre[1]), 0.0),
        (0, 1, 0),
        layers,
        angle_deg=2 * math.degrees(math.atan(float(frame[1]))),
        shift=(float(middle[0] / frame[0]), float(middle[1] / frame[1])),
    )


EDGE_SLOPE = 1.02
"""How slantingly down on an array is looked at most, metres aside for each metre down: heads keep their shape."""


def _looked_at(
    stage: Stage, array: Array, away: Floats, levels: Floats, eye: float, aspect: float
) -> tuple[Floats, Floats]:
    """Middle and half size of the picture down an array's axis, as slopes: metres aside for each metre down."""
    room, z = stage.scene.room, array.centre_m[2]
    drops = (eye - levels)[:, None]
    body = array.profile.plan_radius_m / (eye - z)
    low = np.minimum(((away - 0.38) / drops).min(axis=0), -body)
    high = np.maximum(((away + 0.38) / drops).max(axis=0), body)
    half = float(max((high - low)[0] / 2 / aspect, (high - low)[1] / 2))
    frame = half * np.array([aspect, 1.0])
    middle = (low + high) / 2
    beyond = eye - room.ceiling_m
    if beyond > 0.05:
        # where there is room beside them, the picture ends at the room's walls, not far outside
        ends = np.array(room.bounds_m) + np.array([[-WALL_M], [WALL_M]]) - array.centre_m[:2]
        first, last = ends[0] / beyond + frame, ends[1] / beyond - frame
        wanted = np.where(first > last, (first + last) / 2, np.clip(middle, first, last))
        middle = np.clip(wanted, high - frame, np.maximum(low + frame, high - frame))
    return middle, frame


def _camera(stage: Stage, id: str, aspect: float, layers: tuple[str, ...]) -> View:
    camera = next(c for c in stage.scene.cameras if c.id == id)
    across = math.radians(min(camera.angle_deg, 150.0))
    angle = 2 * math.atan(math.tan(across / 2) / aspect)
    return View(
        "camera",
        "camera",
        camera.at_m,
        camera_aim(stage.scene, camera),
        (0, 0, 1),
        layers,
        angle_deg=math.degrees(angle),
        without=(id,),
    )


SEAT_ANGLE_DEG = 62.0


def _seat(stage: Stage, id: str, aspect: float, layers: tuple[str, ...]) -> View:
    """From a head's eyes (a little above the mouth) ahead, turned and raised as little as puts its array in sight.

    Nobody turns more than 34 degrees or looks up more than 19 for it: an array beside or above somebody stays
    out of the picture.
    """
    scene = stage.scene
    head = scene.head(id)
    x, y, z = head.middle_m
    same = tuple(h.id for h in scene.heads if math.dist(h.at_m, head.at_m) < 0.25)

    def looking(turned: float, raised: float) -> View:
        ahead = math.radians(head.facing_deg + turned)
        eye = np.array([x, y, z + 0.10])
        look = np.array([math.cos(ahead), math.sin(ahead), math.tan(math.radians(raised))])
        there = _point(eye), _point(eye + 2 * look), (0.0, 0.0, 1.0)
        return View("seat", "seat", *there, layers, angle_deg=SEAT_ANGLE_DEG, without=same)

    body = np.concatenate(
        [p.points for p in stage.layer("arrays") if p.id == f"{stage.review.head(id).array}/body"]
    )
    ways = [(turn, rise) for turn in range(-34, 35, 2) for rise in np.arange(3.0, 20.0, 2.0)]
    for turned, rise in sorted(ways, key=lambda way: (abs(way[0]) + 3 * way[1], way)):
        made = looking(turned, float(rise))
        # with room for its label beside it
        across, down, away = made.project(body, round(1000 * aspect), 1000).T
        if away.min() > 0.1 and across.min() > 50 and across.max() < 1000 * aspect - 100 and down.min() > 40:
            return made
    return looking(0, 3.0)


# ---------------------------------------------------------------- what a view shows


def shown(stage: Stage, view: View, *, all_lines: bool = False) -> tuple[Prop, ...]:
    """The props a view shows: its layers, walls open towards the viewer, cut where it is cut.

    Clear clearances and free sightlines are left out unless `all_lines`: a picture shows what is wrong.
    """
    eye = np.array(view.eye)
    open_walls = [p for p in stage if p.layer == "shell" and p.id.startswith("wall/") and len(p.faces)]
    open_walls = [p for p in open_walls if view.cut is None and _seen_from_outside(p, eye)]
    found = []
    for prop in stage:
        if prop.layer not in view.layers or (prop.only and view.kind not in prop.only):
            continue
        if prop.about and prop.about in view.without and prop.layer not in ("footprint", "sectors", "band"):
            continue
        if prop.outward is not None and view.cut is None and _seen_from_outside(prop, eye):
            continue
        if (
            prop.id.startswith(("display/", "camera/"))
            and prop.kind == "mesh"
            and _hangs_on(prop, open_walls)
        ):
            continue
        if not all_lines and (
            (prop.layer == "sightlines" and prop.state == "clear")
            or (prop.layer == "clearances" and prop.state == "clear" and view.kind != "ceiling")
        ):
            continue
        if view.kind in ("plan", "array") and prop.layer == "arrays" and prop.id.endswith(_PLAN_PARTS):
            continue
        if view.kind == "plan" and prop.layer == "shell" and prop.id.endswith(_PLAN_PARTS):
            continue
        if view.kind == "ceiling" and not _on_ceiling_plan(prop):
            continue
        if prop.layer == "shell" and prop.id in _LEFT_OUT.get(view.kind, ()):
            continue
        if view.kind in ("plan", "array") and prop.id.endswith("/rays"):
            continue
        if view.kind in ("array", "camera") and not _its_own(prop, view, stage):
            continue
        found.append(_as_seen(prop, view))
    if view.cut is not None:
        found = list(cut(found, view))
    return tuple(found)


def _its_own(prop: Prop, view: View, stage: Stage) -> bool:
    """Whether a view from or onto a thing shows a prop: of sight and band only what is that thing's."""
    id = view.name.partition(":")[2]
    if view.kind == "array":
        id = id or stage.scene.arrays[0].id
        if prop.layer in ("footprint", "sectors"):
            return prop.about == id
        return prop.layer != "sightlines" or (
            prop.id.startswith("array/") and prop.id.split("/")[2].startswith(f"{id}-")
        )
    id = id or stage.scene.cameras[0].id
    # a line from one's own eye is a point: what stands in its way is told
    return prop.layer != "sightlines" or (
        prop.kind == "mark" and prop.id.startswith("camera/") and prop.id.split("/")[2].startswith(f"{id}-")
    )


def _hangs_on(prop: Prop, walls: Sequence[Prop]) -> bool:
    """Whether a screen or camera is on one of these walls, with which it is left out."""
    middle = prop.points.mean(axis=0)
    for wall in walls:
        out = np.asarray(wall.outward)
        if 0 < np.min(wall.points @ out) - middle @ out < 0.35:
            return True
    return False


_LEFT_OUT = {
    "plan": ("ceiling", "structure", "grid", "plenum", "ceiling/edge"),
    "corner": ("ceiling/edge",),
    "free": ("ceiling/edge",),
    "array": ("ceiling/edge",),
}
_PLAN_PARTS = ("box", "hanger", "cable", "clamp", "leaf", "handle")


def _as_seen(prop: Prop, view: View) -> Prop:
    """A prop as a view needs it: a plan's footprint lies under the people, a corner's ceiling devices are faint."""
    if view.kind == "plan" and prop.layer == "footprint" and prop.kind == "mesh":
        return replace(prop, points=prop.points * (1, 1, 0) + (0, 0, 0.012))
    if view.kind == "plan" and prop.id == "kept out":
        # over people and tables it is a hint; the ceiling plan has it in full
        return replace(prop, opacity=0.5 * prop.opacity)
    if view.kind == "array" and prop.layer == "arrays" and prop.kind == "mesh":
        # what it listens to shows through
        return replace(prop, opacity=0.3)
    if prop.id == "grid" and view.kind != "ceiling":
        return replace(prop, legend="")
    if (
        view.kind in ("corner", "free")
        and prop.layer == "overhead"
        and view.eye[2] > prop.points[:, 2].max()
        and prop.kind == "mesh"
        and prop.state != "short"
    ):
        return replace(prop, opacity=0.30)
    return prop


def _seen_from_outside(prop: Prop, eye: Floats) -> bool:
    at = prop.points[np.argmin(prop.points @ np.asarray(prop.outward))]
    return bool((eye - at) @ np.asarray(prop.outward) > 0)


def _on_ceiling_plan(prop: Prop) -> bool:
    """A ceiling plan shows the ceiling and what hangs there; of the room only where the tables are."""
    if prop.id == "shadow":
        return False
    if prop.layer == "tables":
        return prop.kind == "line"
    if prop.layer == "shell":
        return not (
            prop.id in ("floor", "structure", "plenum") or prop.id.startswith(("display/", "camera/"))
        )
    if prop.layer == "labels":
        return prop.id.startswith(("device/", "array/"))
    return prop.id.split("/")[-1] not in ("hanger",)


CAP_COLOURS = {"shell": ink.CUT, "tables": ink.TABLE_LINE, "band": ink.BAND}


def cut(props: Iterable[Prop], view: View) -> Iterable[Prop]:
    """The props cut by the view's plane, with cut faces filled.

    Walls, floors, ceilings, tables and the band are cut; people, devices and arrays stay whole, or are
    left out if they are in front of the plane: that is how sections are drawn.
    """
    assert view.cut is not None
    at, direction = (np.asarray(v, float) for v in view.cut)
    level_cut = view.kind in ("plan", "ceiling")
    groups: dict[tuple[str, str], list[Prop]] = {}
    middles = _middles(props)
    legs = {} if level_cut else _legs_behind(props, at, direction)
    off = set() if level_cut else _arrays_off(props, middles, at, direction)
    for prop in props:
        if prop.id in legs:
            yield legs[prop.id]
            continue
        if prop.about in off:
            in_front = (np.asarray(middles[prop.about]) - at) @ direction < 0
            if prop.layer == "band" or (in_front and prop.layer in ("arrays", "dimensions", "labels")):
                continue
        elif not level_cut and (prop.layer == "arrays" or prop.id == f"array/{prop.about}"):
            yield prop
            continue
        walls_only = level_cut and not (prop.layer == "shell" and _stands(prop))
        if walls_only or prop.layer in ("footprint", "sectors", "sightlines", "region", "dimensions"):
            yield prop
        elif prop.kind in ("label", "mark"):
            place = np.asarray(middles.get(prop.about, prop.anchor))
            if (place - at) @ direction > -0.08:
                yield prop
        elif prop.kind == "line":
            if prop.layer == "band":
                continue
            clipped = _cut_strokes(prop, at, direction) if prop.layer != "overhead" else prop
            if clipped is not None:
                yield clipped
        elif prop.layer in CAP_COLOURS and prop.solid and not prop.id.startswith(("display/", "camera/")):
            groups.setdefault((prop.layer, prop.solid), []).append(prop)
        elif prop.fade is not None:
            if not level_cut:
                kept = ((prop.points[prop.faces] - at) @ direction).min(axis=1) > -1e-9
                yield replace(prop, faces=prop.faces[kept])
            elif prop.id == "shadow":
                yield prop
        elif (np.asarray(middles[prop.about]) - at) @ direction > -0.08:
            yield prop
    for (layer, solid), several in groups.items():
        yield from _cut_solid(layer, solid, several, at, direction)


NEAR_CUT_M = 0.35
"""Arrays this near to a section's plane are drawn with it, bands and dimensions included."""


def _arrays_off(props: Iterable[Prop], middles: dict[str, Floats], at: Floats, direction: Floats) -> set[str]:
    """The arrays that hang farther from a section's plane: it cuts no band of theirs, or an unreadable piece."""
    ids = {prop.about for prop in props if prop.layer == "arrays" and prop.about in middles}
    return {id for id in ids if abs((np.asarray(middles[id]) - at) @ direction) > NEAR_CUT_M}


def _legs_behind(props: Iterable[Prop], at: Floats, direction: Floats) -> dict[str, Prop]:
    """The legs of tables whose top is cut, uncut and just behind the plane.

    Cut away, they would leave the top floating; along an orthographic view they may be moved without changing
    their place in the picture.
    """
    moved = {}
    for top in (p for p in props if p.layer == "tables" and p.id.endswith("/top")):
        side = (top.points - at) @ direction
        for prop in (
            p for p in props if p.layer == "tables" and p.about == top.about and p.id.endswith("/legs")
        ):
            nearest = float(((prop.points - at) @ direction).min())
            if side.max() > 0 and nearest < 0.003:
                moved[prop.id] = replace(prop, points=prop.points + (0.003 - nearest) * direction, solid="")
    return moved


def _stands(prop: Prop) -> bool:
    return prop.id.startswith(("wall/", "opening/", "obstacle/", "plenum"))


def _middles(props: Iterable[Prop]) -> dict[str, Floats]:
    """The middle of all of a thing, so that a person is shown or left out as a whole."""
    lows: dict[str, Floats] = {}
    highs: dict[str, Floats] = {}
    for prop in props:
        if len(prop.faces) and prop.layer in ("people", "overhead", "arrays", "shell"):
            low, high = prop.points.min(axis=0), prop.points.max(axis=0)
            lows[prop.about] = np.minimum(lows.get(prop.about, low), low)
            highs[prop.about] = np.maximum(highs.get(prop.about, high), high)
    return {about: (lows[about] + highs[about]) / 2 for about in lows if about}


def _cut_strokes(prop: Prop, at: Floats, direction: Floats) -> Prop | None:
    start, end = prop.points[prop.segments[:, 0]], prop.points[prop.segments[:, 1]]
    a, b = (start - at) @ direction, (end - at) @ direction
    keep = (a >= 0) | (b >= 0)
    start, end, a, b = start[keep], end[keep], a[keep][:, None], b[keep][:, None]
    if not len(start):
        return None
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = start + (end - start) * (a / (a - b))
    points = np.concatenate([np.where(a < 0, crossing, start), np.where(b < 0, crossing, end)])
    here = np.arange(len(start))
    return replace(prop, points=points, segments=np.column_stack([here, here + len(start)]))


def _cut_solid(layer: str, solid: str, several: list[Prop], at: Floats, direction: Floats) -> Iterable[Prop]:
    import manifold3d

    offset = float(at @ direction)
    starts = np.cumsum([0] + [len(prop.points) for prop in several])
    points = np.concatenate([prop.points for prop in several])
    faces = np.concatenate([prop.faces + start for prop, start in zip(several, starts, strict=False)])
    side = points @ direction - offset
    if side.min() >= -1e-9:
        if layer != "band":
            yield from several
        return
    if side.max() <= 1e-9:
        return
    if len(several) > 1:
        _, first, index = np.unique(np.round(points, 9), axis=0, return_index=True, return_inverse=True)
        points, faces = points[first], index.ravel()[faces]
    mesh = manifold3d.Mesh64(np.ascontiguousarray(points), np.ascontiguousarray(faces, np.uint64))
    kept = manifold3d.Manifold(mesh).trim_by_plane(_point(direction), offset).to_mesh64()
    points = np.asarray(kept.vert_properties, float)[:, :3].copy()
    faces = np.asarray(kept.tri_verts, np.int64).reshape(-1, 3)
    if not len(faces):
        return
    on_plane = np.all(np.abs((points @ direction - offset)[faces]) < 1e-7, axis=1)
    prop = several[0]
    if layer != "band":
        yield replace(prop, points=points, faces=faces[~on_plane], normals=None, solid="")
    # a hair towards the viewer, so that what ends in the plane does not show through
    used, cap = np.unique(faces[on_plane], return_inverse=True)
    if not len(used):
        return
    form = Form(points[used] - 0.001 * direction, cap.reshape(-1, 3).astype(np.int64))
    if layer == "band":
        yield replace(
            prop,
            id=f"{solid}/cut face",
            points=form.points,
            faces=form.faces,
            opacity=0.30,
            colour=ink.BAND,
            normals=np.tile(-direction, (len(form.points), 1)),
            solid="",
            legend="elevation band",
        )
        yield Prop(
            f"{solid}/cut edge",
            "band",
            "line",
            ink.BAND_EDGE,
            form.points - 0.001 * direction,
            NO_FACES,
            _rim(form.faces),
            width_pt=1.3,
            about=prop.about,
        )
        return
    glass = prop.translucent
    yield replace(
        prop,
        id=f"{prop.id}/cut face",
        points=form.points,
        faces=form.faces,
        normals=None,
        crease_deg=0.0,
        solid="",
        colour=ink.GLASS if glass else CAP_COLOURS[layer],
        opacity=1.0,
        shine=0.0,
        flat=True,
    )


def _rim(faces: NDArray[np.int64]) -> NDArray[np.int64]:
    """(s, 2) the edges that only one triangle has."""
    sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    edges, counts = np.unique(sides, axis=0, return_counts=True)
    return np.asarray(edges[counts == 1], np.int64)
