"""Named views of a stage: where one looks from, which layers are shown there, where it is cut; and the projection.

Views are data, so that a test can ask where a mouth must appear. Names: corner, plan, map, ceiling, long,
cross, array, camera and seat; `long:A2`, `camera:CAM1`, `seat:T1-3` say which array, camera or head.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import footprint
from geometry.records import record
from geometry.shapes import Point3
from scenes.room.ceiling import ceiling_over_m, highest_m
from scenes.room.scene import Array, Posture, Scene
from viz.refusals import Refusal
from viz.stage import Stage
from viz.stage.dimensions import COLUMN_M, alike, row_m
from viz.stage.props import WALL_M, along_x
from viz.stage.shell import camera_aim

Floats = NDArray[np.float64]

KINDS = ("corner", "plan", "map", "ceiling", "long", "cross", "array", "camera", "seat")
_ROOM = ("shell", "tables", "people", "arrays")
LAYERS_OF = {
    "corner": (*_ROOM, "areas", "margins", "band", "overhead", "clearances", "sightlines", "labels"),
    "plan": (
        *_ROOM,
        "areas",
        "margins",
        "footprint",
        "clearances",
        "sightlines",
        "region",
        "dimensions",
        "labels",
    ),
    "map": (*_ROOM, "areas", "margins", "labels"),
    "ceiling": ("shell", "tables", "arrays", "overhead", "clearances", "region", "dimensions", "labels"),
    "long": (*_ROOM, "band", "overhead", "clearances", "dimensions", "labels"),
    "cross": (*_ROOM, "band", "overhead", "clearances", "dimensions", "labels"),
    "array": (*_ROOM, "footprint", "sightlines", "labels"),
    "camera": (*_ROOM, "areas", "margins", "overhead", "sightlines", "labels"),
    "seat": (*_ROOM, "areas", "margins", "band", "overhead", "labels"),
}
"""What a view shows unless asked for more: sectors only where somebody asks."""
LAYERS_OF["free"] = LAYERS_OF["corner"]  # turned by hand in the window

PLAN_CUT_M = 1.2
"""Height at which a plan cuts the walls: common practice, no source."""


@record(frozen=True)
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
    made = ["corner", "plan", "ceiling"]
    for kind in ("long", "cross", "array"):
        made += [kind if array is scene.arrays[0] else f"{kind}:{array.id}" for array in scene.arrays]
    made += [f"camera:{camera.id}" for camera in scene.cameras]
    made += [f"map:{one}" for one in _maps(stage)]
    made += [f"seat:{head.id}" for head in scene.heads]
    return tuple(made)


def _maps(stage: Stage) -> tuple[Posture, ...]:
    """For whom there are maps of the floor, first whom the room is for; nobody before all arrays hang."""
    if not stage.review.judged:
        return ()
    return tuple(sorted(get_args(Posture), key=lambda one: one != posture_of(stage.scene, "map")))


def posture_of(scene: Scene, name: str) -> Posture:
    """Whose map of the floor a view of that name is: of those who sit, where nothing is said and anybody does."""
    asked = name.partition(":")[2]
    standing = bool(scene.heads) and all(head.posture == "standing" for head in scene.heads)
    usual: Posture = "standing" if standing else "seated"
    return next((posture for posture in get_args(Posture) if posture == asked), usual)


def usual(stage: Stage) -> tuple[str, ...]:
    """The views that are drawn when none is named: all but maps of the floor and the seats, and the first seat."""
    every = [name for name in names(stage) if not name.startswith("map:")]
    seats = [name for name in every if name.startswith("seat:")]
    return tuple(name for name in every if not name.startswith("seat:")) + tuple(seats[:1])


class NoSuchView(Refusal, ValueError):
    """A view that this room does not have; the text lists what there is."""


def view(stage: Stage, name: str, aspect: float, *, layers: Iterable[str] | None = None) -> View:
    """The view of that name for a picture `aspect` times as wide as high. Raises NoSuchView.

    `layers` replaces what the view shows; what is measured outside the walls then needs no room.
    """
    kind, _, id = name.partition(":")
    if kind not in KINDS:
        raise NoSuchView("no view", text=repr(name), views=", ".join(names(stage)))
    shown = tuple(layers) if layers is not None else LAYERS_OF[kind]
    scene = stage.scene
    choices: Sequence[str] = {
        "map": _maps(stage),
        "long": [a.id for a in scene.arrays],
        "cross": [a.id for a in scene.arrays],
        "array": [a.id for a in scene.arrays],
        "camera": [c.id for c in scene.cameras],
        "seat": [h.id for h in scene.heads],
    }.get(kind, [""])
    if (id and id not in choices) or not choices:
        raise NoSuchView("no view", text=repr(name), views=", ".join(names(stage)))
    id = id or choices[0]
    makers: dict[str, Callable[[], View]] = {
        "corner": lambda: _corner(stage, aspect, shown),
        "plan": lambda: _plan(stage, aspect, shown),
        "map": lambda: _plan(stage, aspect, shown),
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


CORNER_ASIDE_DEG, CORNER_ASIDE_TALL_DEG = 27.0, 57.0
"""How far to the side of straight on to a room's longer side the corner view looks; in tall pictures along it."""
CORNER_ANGLE_DEG = 26.0
CORNER_RISE_DEG, CORNER_RISE_TALL_DEG = (18.0, 28.0), 33.0
"""How steeply the corner view looks down: a little below the zone's shallow edge, within these."""


@record(frozen=True, eq=False)
class Corner:
    """The corner view's directions on plan, from the middle of the room to the eye (degrees from x), how steeply it
    looks down, and the points that it holds: everybody, their zone at the height of mouths, the ceiling over the arrays.
    """

    out_deg: float
    out_tall_deg: float
    rise_deg: float
    points: Floats


def corner(scene: Scene) -> Corner:
    """From above a corner, on the side from which screens are seen and little stands in the way."""
    # straight on is across the longer side; to the left of it first
    straight = (-90.0, 90.0) if along_x(scene) else (180.0, 0.0)
    ways = [(face + side * CORNER_ASIDE_DEG, face, side) for face in straight for side in (-1, 1)]
    _, face, side = max(ways, key=lambda way: _seen_well(scene, way[0]))
    lows = [array.band.low_deg - 4 for array in scene.arrays if array.placed]
    rise = min(max(max(lows, default=CORNER_RISE_DEG[1]), CORNER_RISE_DEG[0]), CORNER_RISE_DEG[1])
    tall = face + side * CORNER_ASIDE_TALL_DEG
    return Corner(face + side * CORNER_ASIDE_DEG, tall, rise, _subject(scene))


def _seen_well(scene: Scene, out_deg: float) -> float:
    middle = np.mean(scene.room.outline_m, axis=0)
    out = np.array([math.cos(math.radians(out_deg)), math.sin(math.radians(out_deg))])
    score = 0.0
    for display in scene.displays:
        facing = math.radians(display.facing_deg)
        score += 2.0 * bool(out @ (math.cos(facing), math.sin(facing)) > 0.2)
    for opening in scene.room.openings:
        a, b = (np.array(p) for p in scene.room.wall(opening.wall))
        score += 0.6 * bool(((a + b) / 2 - middle) @ out < 0)
    for obstacle in scene.obstacles:
        score -= 1.0 * bool((np.array(obstacle.solid.middle_m[:2]) - middle) @ out > 0)
    return score


ROUND_MOUTH_M, OVER_MOUTH_M = 0.35, 0.40
"""How much is held of everybody, to each side of the mouth and above it."""


def _subject(scene: Scene) -> Floats:
    """What a view of the room is about, (n, 3)."""
    (x0, y0), (x1, y1) = scene.room.bounds_m
    points = [
        (x + i * ROUND_MOUTH_M, y + j * ROUND_MOUTH_M, height)
        for head in scene.heads
        for x, y, z in (head.middle_m,)
        for i in (-1, 1)
        for j in (-1, 1)
        for height in (0.0, z + OVER_MOUTH_M)
    ]
    points += [(*at, 0.0) for table in scene.tables for at in table.outline_m]
    level = float(np.median([head.middle_m[2] for head in scene.heads])) if scene.heads else 1.2
    for array in (one for one in scene.arrays if one.placed):
        x, y, z = array.centre_m
        points.append((x, y, ceiling_over_m(scene.room, array.at_m)))
        radii = footprint(array.band, z - level)
        if radii is None:
            continue
        for turn in np.radians(np.arange(0, 360, 15)):
            at = np.array([x, y]) + radii[1] * np.array([math.cos(turn), math.sin(turn)])
            points.append((*np.clip(at, (x0, y0), (x1, y1)), level))
    if len(points) < 8:
        points = [(*at, z) for at in scene.room.outline_m for z in (0.0, highest_m(scene.room))]
    return np.array(points, float)


def _corner(stage: Stage, aspect: float, layers: tuple[str, ...]) -> View:
    seen = corner(stage.scene)
    tall = aspect < TALL
    turn = math.radians(seen.out_tall_deg if tall else seen.out_deg)
    lift = math.radians(CORNER_RISE_TALL_DEG if tall else seen.rise_deg)
    direction = np.array(
        [-math.cos(turn) * math.cos(lift), -math.sin(turn) * math.cos(lift), -math.sin(lift)]
    )
    eye, target = fitted(seen.points, direction, aspect, CORNER_ANGLE_DEG, 0.08)
    return View("corner", "corner", eye, target, (0, 0, 1), layers, angle_deg=CORNER_ANGLE_DEG)


TALL = 0.9
"""A picture is tall that is narrower than this share of its height."""


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
    top = (room.structure_m or highest_m(room)) + 0.25
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
    places = np.array(served or [head.middle_m for head in stage.scene.heads])
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
    beyond = eye - highest_m(room)
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
SEAT_ANGLES_DEG = (SEAT_ANGLE_DEG, 70.0, 78.0, 86.0, 94.0)
"""Of a picture from a seat, across its height: wider only where the array hangs steeply above."""
SEAT_TURN_DEG, SEAT_RISE_DEG = 34, 29
"""Nobody turns or looks up farther for it, beside what the picture's width and height hold."""
LEVEL_SHARE = 0.55
"""Eye level is at most so far below the middle of a picture from a seat, in half heights."""


def _seat(stage: Stage, id: str, aspect: float, layers: tuple[str, ...]) -> View:
    """From a head's eyes (a little above the mouth) ahead, turned, raised and as wide as puts its array in sight.

    As little of each as that takes; an array right above somebody stays out of the picture.
    """
    scene = stage.scene
    head = scene.head(id)
    x, y, z = head.middle_m
    same = tuple(h.id for h in scene.heads if math.dist(h.at_m, head.at_m) < 0.25)

    def looking(turned: float, raised: float, angle_deg: float) -> View:
        ahead = math.radians(head.facing_deg + turned)
        eye = np.array([x, y, z + 0.10])
        look = np.array([math.cos(ahead), math.sin(ahead), math.tan(math.radians(raised))])
        there = _point(eye), _point(eye + 2 * look), (0.0, 0.0, 1.0)
        return View("seat", "seat", *there, layers, angle_deg=angle_deg, without=same)

    if not stage.review.judged:
        return looking(0, 3.0, SEAT_ANGLE_DEG)
    body = np.concatenate(
        [p.points for p in stage.layer("arrays") if p.id == f"{stage.review.head(id).array}/body"]
    )
    turns, rises = range(-SEAT_TURN_DEG, SEAT_TURN_DEG + 1, 2), range(3, SEAT_RISE_DEG + 1, 2)
    ways = itertools.product(turns, rises, SEAT_ANGLES_DEG)
    for turned, rise, wide in sorted(ways, key=lambda way: (abs(way[0]) + 3 * way[1] + 2 * way[2], way)):
        # the others stay in the picture: eye level is well above its foot
        if math.tan(math.radians(rise)) > LEVEL_SHARE * math.tan(math.radians(wide / 2)):
            continue
        made = looking(turned, rise, wide)
        # with room for its label beside it
        across, down, away = made.project(body, round(1000 * aspect), 1000).T
        if away.min() > 0.1 and across.min() > 50 and across.max() < 1000 * aspect - 100 and down.min() > 40:
            return made
    return looking(0, 3.0, SEAT_ANGLE_DEG)
