"""What a spec means: the room, its tables, the people, the arrays and whatever else lives at the ceiling.

Everything is frozen, in metres and degrees, in the room's frame (x right and y up on the plan, z up
from the finished floor). A Scene is made by `scenes.room.build.build`; nothing in it is guessed later.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field, replace
from functools import cached_property
from itertools import count, pairwise
from typing import Literal, TypeVar

import numpy as np

from geometry.band import Band
from geometry.ceiling import Surface
from geometry.coverage import Heads
from geometry.records import record
from geometry.shapes import Box, Cylinder, Point2, Point3, Segment, Solid
from scenes.room.acoustics import Acoustics
from scenes.room.area import Area, KeepAway
from scenes.room.document import Document
from scenes.room.origin import Origin
from scenes.room.provenance import ANYBODY, Given, Survey
from scenes.room.swing import Swing
from scenes.room.wishes import Criteria, Wishes
from scenes.rulebook import DEFAULT_CODE, CodeSet
from scenes.spec.equipment import DEFAULT_SPARE_M
from scenes.spec.layouts import is_in
from scenes.spec.model import DEFAULT_LIMITS_M

Posture = Literal["seated", "standing"]
CeilingKind = Literal["suspended", "open", "hard"]
Mount = Literal["pendant", "flush"]
HangsBy = Literal["cable", "wires", "rod", "pole", "flush", "recessed"]
POINTS_SHARE = 0.86
"""How far out the points that hold a body are drawn, of its half width; a data sheet gives the true ones."""
Outline = tuple[Point2, ...]
CABLE_RADIUS_M = 0.004
"""Radius of the hanging cable in clearances and pictures: a common microphone cable, our default."""
BOX_SIZE_M = (0.15, 0.15, 0.06)
"""The box that the cable comes from, where the spec gives no size: our default."""


@record(frozen=True, slots=True)
class Grid:
    """A lay-in ceiling grid: pitch along x and y, and where one of its crossings is."""

    pitch_m: Point2
    origin_m: Point2


@record(frozen=True, slots=True)
class Opening:
    """A door or window in wall `wall` (from corner `wall` to the next), from `offset_m` along it."""

    id: str
    kind: str
    wall: int
    offset_m: float
    width_m: float
    height_m: float
    sill_m: float


@record(frozen=True, slots=True)
class CeilingPart:
    """A part of the ceiling that is not as the rest; all of it is its own, also what it has from the room."""

    id: str
    kind: CeilingKind
    surface: Surface
    structure_m: float | None
    grid: Grid | None


@record(frozen=True)
class Room:
    """The room: plan outline (anticlockwise or clockwise as written), ceiling and structure.

    Ceiling height, kind, structure and grid are of the rest of a ceiling in `parts`; what is over a place says
    `scenes.room.ceiling`. `whole` is the room with all its parts, of a room that is as it is under one of them.
    """

    outline_m: Outline
    ceiling_m: float
    ceiling_kind: CeilingKind
    structure_m: float | None
    grid: Grid | None
    north_deg: float | None
    openings: tuple[Opening, ...]
    parts: tuple[CeilingPart, ...] = ()
    whole: Room | None = None

    @property
    def area_m2(self) -> float:
        """Plan area."""
        return abs(self._signed_area_m2)

    @property
    def anticlockwise(self) -> bool:
        """Whether the outline runs anticlockwise as written."""
        return self._signed_area_m2 > 0

    @property
    def _signed_area_m2(self) -> float:
        corners = self.outline_m
        following = corners[1:] + corners[:1]
        return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, following, strict=True)) / 2

    @property
    def bounds_m(self) -> tuple[Point2, Point2]:
        """Lowest and highest x and y of the outline."""
        xs, ys = zip(*self.outline_m, strict=True)
        return (min(xs), min(ys)), (max(xs), max(ys))

    @property
    def surface_m2(self) -> float:
        """Walls, floor and ceiling, as if the ceiling were level: what the mean absorption is over."""
        ends = zip(self.outline_m, self.outline_m[1:] + self.outline_m[:1], strict=True)
        return 2 * self.area_m2 + self.ceiling_m * sum(math.dist(a, b) for a, b in ends)

    @property
    def volume_m3(self) -> float:
        """Floor to finished ceiling, which is level but for its parts."""
        more = sum(part.surface.volume_over_m3(self.ceiling_m) for part in self.parts)
        return self.area_m2 * self.ceiling_m + more

    def wall(self, index: int) -> tuple[Point2, Point2]:
        """Both ends of wall `index`, as written."""
        return self.outline_m[index], self.outline_m[(index + 1) % len(self.outline_m)]


@record(frozen=True)
class Table:
    """A table: its top's outline (anticlockwise; curves as chords within 1 mm) and height."""

    id: str
    shape: str
    at_m: Point2
    size_m: Point2
    turn_deg: float
    height_m: float
    outline_m: Outline


@record(frozen=True)
class Head:
    """One talker.

    Of somebody who walks `stretch_m` are the corners of the way this head answers for, ends included, and
    `path_m` points on it, for lines of sight. `faces`: whether the file says which way they look.
    `weight` counts where not everybody can be covered.
    """

    id: str
    posture: Posture
    at_m: Point2
    mouth: Given[tuple[float, float]]
    """Lowest and highest height of the mouth above the floor, metres."""
    sway: Given[float]
    facing_deg: float
    group: str
    table: str | None = None
    faces: bool = False
    own_mouth: bool = False
    """Whether the file gives this head's mouth, not only that of everybody who sits or stands."""
    weight: float = 1.0
    path_m: tuple[Point2, ...] = ()
    stretch_m: tuple[Point2, ...] = ()
    turns_deg: tuple[float, ...] = ()
    """Other ways they look, of somebody who turns."""
    head_down_deg: float = 0.0

    @property
    def facings_deg(self) -> tuple[float, ...]:
        """All ways they look: as the file says, or towards their table; none where nobody knows."""
        return (self.facing_deg, *self.turns_deg) if self.faces or self.table is not None else ()

    @property
    def mouth_m(self) -> tuple[float, float]:
        """Lowest and highest height of the mouth above the floor."""
        return self.mouth.value

    @property
    def sway_m(self) -> float:
        """How far the mouth moves from its place."""
        return self.sway.value

    @property
    def middle_m(self) -> Point3:
        """The mouth in the middle of its range."""
        return (*self.at_m, (self.mouth_m[0] + self.mouth_m[1]) / 2)

    @property
    def person(self) -> str:
        """Whose head it is: who walks, or sits and stands up as well, is one person with several heads."""
        if self.path_m:
            return self.group
        stands_up = self.posture == "standing" and self.id != self.group and self.id.endswith("-up")
        return self.id.removesuffix("-up") if stands_up else self.id


@record(frozen=True)
class Profile:
    """What an array can do, from its data sheet. A round body has size x = y = its diameter; the hole of a ring (0
    without one) is drawn, and rules and lines of sight take it as closed."""

    name: str
    mount: Mount
    round: bool
    size_m: Point3
    centre_m: float
    bands: Mapping[str, tuple[float, float]]
    reach_m: tuple[float, float]
    sectors: int
    mass_kg: float | None
    level_deg: float
    hangs_by: HangsBy = "cable"
    points: int = 1
    """Points of the body that it is held at; wires from them meet at one hang point above the acoustic centre."""
    hole_m: float = 0.0
    spread_m: float | None = None
    """How far apart those points are: the diameter of their circle, or from the first to the last along a bar."""
    cutout_m: Point2 | None = None
    """What the ceiling is opened for it: of a flush one the cut-out, else the hole (its diameter twice)."""
    directivity_dB: float | None = None
    """How far it favours direct over diffuse sound, by its data sheet; None where that says nothing."""

    def band(self, name: str) -> Band:
        """The band of that name with the profile's reach."""
        low, high = self.bands[name]
        return Band(low, high, *self.reach_m)

    @property
    def plan_radius_m(self) -> float:
        """Smallest circle that holds the body on plan."""
        return self.size_m[0] / 2 if self.round else math.hypot(self.size_m[0], self.size_m[1]) / 2

    @property
    def points_m(self) -> tuple[Point2, ...]:
        """The points it is held at, on plan from its axis, before its turn: round it, along a bar; one: the axis."""
        if self.points == 1:
            return ((0.0, 0.0),)
        if self.round:
            diameter, hole = self.size_m[0], self.hole_m
            radius = (diameter + hole) / 4 if hole else POINTS_SHARE * diameter / 2
            radius = radius if self.spread_m is None else self.spread_m / 2
            turns = [2 * math.pi * k / self.points for k in range(self.points)]
            return tuple((radius * math.cos(turn), radius * math.sin(turn)) for turn in turns)
        x, y, _ = self.size_m
        long = POINTS_SHARE * max(x, y) if self.spread_m is None else self.spread_m
        along = [long * (k / (self.points - 1) - 0.5) for k in range(self.points)]
        return tuple((way, 0.0) if x >= y else (0.0, way) for way in along)


@record(frozen=True)
class Array:
    """An array as the spec has it; what the spec leaves open is None until `place` fills it.

    `height_m` is of the acoustic centre above the finished floor; a flush array's follows from the
    ceiling and is filled in by building.
    """

    id: str
    profile: Profile
    at_m: Point2 | None
    height_m: float | None
    band_name: str | None
    turn_deg: float
    given_as: Literal["height", "drop", None] = None

    @property
    def placed(self) -> bool:
        """Whether at, height and band are all known."""
        return self.at_m is not None and self.height_m is not None and self.band_name is not None

    @property
    def centre_m(self) -> Point3:
        """The acoustic centre. Needs a placed array."""
        if self.at_m is None or self.height_m is None:
            raise ValueError(f"array {self.id} has no place yet; run `overtable place`")
        return (*self.at_m, self.height_m)

    @property
    def band(self) -> Band:
        """Its band with its reach. Needs a placed array."""
        if self.band_name is None:
            raise ValueError(f"array {self.id} has no band yet; run `overtable place`")
        return self.profile.band(self.band_name)

    @property
    def underside_m(self) -> float:
        """Height of the body's underside above the finished floor."""
        return self.centre_m[2] - self.profile.centre_m

    @property
    def top_m(self) -> float:
        """Height of the body's top above the finished floor."""
        return self.underside_m + self.profile.size_m[2]

    @property
    def body(self) -> Solid:
        """The body as a solid where it hangs."""
        x, y, _ = self.centre_m
        middle = (x, y, self.underside_m + self.profile.size_m[2] / 2)
        if self.profile.round:
            return Cylinder(middle, self.profile.size_m[0] / 2, self.profile.size_m[2])
        return Box(middle, self.profile.size_m, self.turn_deg)

    def cable(self, ceiling_m: float) -> Segment | None:
        """The cable from the body's top up to the finished ceiling; None if flush or nothing is left."""
        if self.profile.mount == "flush" or self.top_m >= ceiling_m:
            return None
        x, y, _ = self.centre_m
        return Segment((x, y, self.top_m), (x, y, ceiling_m), CABLE_RADIUS_M)


@record(frozen=True)
class Device:
    """An overhead device. `below_m`: its lowest point under the finished ceiling; `depth`: from there up.

    `required_m` is a clearance of the designer's own.
    """

    id: str
    kind: str
    at_m: Point2
    size: Given[Point2]
    round: bool
    turn_deg: float
    below_m: float
    depth: Given[float]
    stem_m: float | None
    spray: str | None
    required_m: float | None
    low_m: float
    """Height of the lowest point above the finished floor."""

    @property
    def size_m(self) -> Point2:
        """Its extents before the turn; of a round one the diameter twice."""
        return self.size.value

    @property
    def depth_m(self) -> float:
        """How far it reaches up from its lowest point."""
        return self.depth.value

    @property
    def solid(self) -> Solid:
        """The device as a solid where it is."""
        middle = (*self.at_m, self.low_m + self.depth_m / 2)
        if self.round:
            return Cylinder(middle, self.size_m[0] / 2, self.depth_m)
        return Box(middle, (*self.size_m, self.depth_m), self.turn_deg)


@record(frozen=True)
class Obstacle:
    """A column, screen or piece of furniture that stands in the way of sound and sight."""

    id: str
    solid: Solid


@record(frozen=True)
class Camera:
    """A camera: where it is, what it aims at (None: the middle of the heads), its angle of view across."""

    id: str
    at_m: Point3
    aim_m: Point3 | None
    angle: Given[float]

    @property
    def angle_deg(self) -> float:
        """Its angle of view across."""
        return self.angle.value


@record(frozen=True)
class Display:
    """A screen: the middle of its face, its size, and the plan angle it looks towards."""

    id: str
    at_m: Point3
    width_m: float
    height_m: float
    facing_deg: float

    @property
    def corners_m(self) -> tuple[Point3, Point3, Point3, Point3]:
        """Lower left, lower right, upper right, upper left, as a viewer in front sees them."""
        facing = math.radians(self.facing_deg)
        # a viewer looks against `facing`, so the viewer's right is facing turned by +90 degrees
        right = (-math.sin(facing), math.cos(facing))
        x, y, z = self.at_m
        half, up = self.width_m / 2, self.height_m / 2
        return (
            (x - half * right[0], y - half * right[1], z - up),
            (x + half * right[0], y + half * right[1], z - up),
            (x + half * right[0], y + half * right[1], z + up),
            (x - half * right[0], y - half * right[1], z + up),
        )


@record(frozen=True, slots=True)
class Limits:
    """Body to wall; underside over walking surfaces; underside over a table top. Metres."""

    wall: Given[float] = Given(DEFAULT_LIMITS_M["wall"], "default")
    headroom: Given[float] = Given(DEFAULT_LIMITS_M["headroom"], "default")
    free_over_table: Given[float] = Given(DEFAULT_LIMITS_M["free_over_table"], "default")

    @property
    def headroom_m(self) -> float:
        """Underside over walking surfaces."""
        return self.headroom.value


@record(frozen=True, slots=True)
class RuleChange:
    """What a spec changes about a clearance rule, and why. `value_m` None with `off` True: not applied."""

    rule: str
    off: bool
    value_m: float | None
    reason: str


@record(frozen=True, slots=True)
class Suspension:
    """How arrays are hung; None where the spec leaves it to the defaults of the ceiling kind."""

    ceiling: Literal["suspended", "open"] | None = None
    box: Literal["tile bridge", "structure"] | None = None
    box_size: Given[Point3] = Given(BOX_SIZE_M, "default")
    spare: Given[float] = Given(DEFAULT_SPARE_M, "default")
    """Cable beyond the stretch from the box to the acoustic centre, metres."""
    safety_cable: bool | str = True
    clamp: bool | str = True
    swing: Swing | None = None

    @property
    def box_size_m(self) -> Point3:
        """The box's extents."""
        return self.box_size.value

    @property
    def spare_m(self) -> float:
        """Cable beyond the stretch from the box to the acoustic centre."""
        return self.spare.value


@record(frozen=True, slots=True)
class Source:
    """Where a scene came from: the file as the user named it, and the SHA-256 of its text."""

    file: str
    sha256: str


@record(frozen=True)
class Scene:
    """A room with everything in it, ready to be asked."""

    name: str
    project: str | None
    document: Document
    units: str
    room: Room
    tables: tuple[Table, ...]
    heads: tuple[Head, ...]
    profiles: Mapping[str, Profile]
    arrays: tuple[Array, ...]
    overhead: tuple[Device, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    cameras: tuple[Camera, ...] = ()
    displays: tuple[Display, ...] = ()
    areas: tuple[Area, ...] = ()
    keep_away: tuple[KeepAway, ...] = ()
    seated: Survey = ANYBODY
    standing: Survey = ANYBODY
    """Who sits and who stands: whom the spec names, else women and men alike."""
    floor: tuple[Area, ...] = ()
    """The whole floor as if it were an area, seated and standing: for maps of it, judged by nothing."""
    acoustics: Acoustics | None = None
    limits: Limits = field(default_factory=Limits)
    criteria: Criteria = field(default_factory=Criteria)
    wishes: Wishes = field(default_factory=Wishes)
    rule_changes: tuple[RuleChange, ...] = ()
    code: Given[CodeSet] = Given(DEFAULT_CODE, "default")
    """Whose published values and cautions apply."""
    suspension: Suspension = field(default_factory=Suspension)
    source: Source = Source("", "")
    origin: Origin | None = None
    """The model that the room was read from; None if it was not."""
    unsure: tuple[tuple[str, str], ...] = ()
    """What of the file nobody measured, and why: a thing's id or a key, and the name of a doubt or the file's words."""
    layouts: tuple[str, ...] = ()
    """The layouts that are all in this scene (`scenes.room.layouts`); none where it is a room as it is."""
    layout: str | None = None
    """The layout that this is of several of a room."""
    number: str | None = None
    """The room's number, by which a building's people call it."""
    storey: str | None = None

    @cached_property
    def heads_as_rows(self) -> Heads:
        """The heads as the geometry floor takes them: one row each, or one for each leg of a stretch."""
        legs = [
            list(pairwise(head.stretch_m)) if len(head.stretch_m) > 1 else [(head.at_m, head.at_m)]
            for head in self.heads
        ]
        rows = [(*leg, *head.mouth_m) for head, own in zip(self.heads, legs, strict=True) for leg in own]
        counts = [len(own) for own in legs]
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]]) if counts else np.zeros(0)
        persons = {person: k for k, person in enumerate(dict.fromkeys(head.person for head in self.heads))}
        return Heads(
            at_m=np.array([head.middle_m for head in self.heads], float).reshape(-1, 3),
            sway_m=np.array([head.sway_m for head in self.heads], float),
            xy_m=np.array([row[0] for row in rows], float).reshape(-1, 2),
            to_m=np.array([row[1] for row in rows], float).reshape(-1, 2),
            low_m=np.array([row[2] for row in rows], float),
            high_m=np.array([row[3] for row in rows], float),
            start=starts.astype(np.int64),
            person=np.array([persons[head.person] for head in self.heads], np.int64),
            weight=np.array([head.weight for head in self.heads], float),
            furnishing=np.array([self.furnishing(head.id) or 0 for head in self.heads], np.int64),
        )

    def furnishing(self, id: str) -> int | None:
        """Which of the scene's layouts a thing is of, by its id; None of what all have."""
        return next((k for k, layout in enumerate(self.layouts) if is_in(id, layout)), None)

    @property
    def things(self) -> tuple[tuple[str, str], ...]:
        """Everything in the room that has an id: its kind and its id."""
        return (
            *(("ceiling part", one.id) for one in self.room.parts),
            *((one.kind, one.id) for one in self.room.openings),
            *(("table", one.id) for one in self.tables),
            *(("talker", one.id) for one in self.heads),
            *(("area", one.id) for one in self.areas),
            *(("array", one.id) for one in self.arrays),
            *((one.kind, one.id) for one in self.overhead),
            *(("obstacle", one.id) for one in self.obstacles),
            *(("camera", one.id) for one in self.cameras),
            *(("display", one.id) for one in self.displays),
        )

    def fresh_array_id(self) -> str:
        """The first of A1, A2, … that nothing in the room is called, nor anybody who has several heads."""
        taken = {id for _, id in self.things} | {head.group for head in self.heads}
        return next(id for k in count(1) if (id := f"A{k}") not in taken)

    def array(self, id: str) -> Array:
        """The array of that id; KeyError if there is none."""
        return next_or_key_error(self.arrays, id)

    def head(self, id: str) -> Head:
        """The head of that id; KeyError if there is none."""
        return next_or_key_error(self.heads, id)

    def with_arrays(self, arrays: tuple[Array, ...]) -> Scene:
        """The same room with these arrays."""
        return replace(self, arrays=arrays)

    def with_array(self, id: str, **changes: object) -> Scene:
        """The same room with one array changed, e.g. `with_array("A1", height_m=2.3)`."""
        self.array(id)
        return self.with_arrays(tuple(replace(a, **changes) if a.id == id else a for a in self.arrays))  # type: ignore[arg-type]


Thing = TypeVar("Thing", Array, Head)


def next_or_key_error(things: tuple[Thing, ...], id: str) -> Thing:
    """The thing of that id; KeyError naming the ids there are."""
    for thing in things:
        if thing.id == id:
            return thing
    raise KeyError(f"no {id!r}; there are {', '.join(t.id for t in things)}")


def ceiling_of(scene: Scene) -> CeilingKind:
    """How arrays are hung here: suspended, open or hard; what the spec's suspension says comes first."""
    return scene.suspension.ceiling or scene.room.ceiling_kind
