"""What was found in an architect's files: rooms with all that a spec can say of them. Records only.

Lengths in metres, angles in degrees, places in the room's own frame (`RoomFrame`), unless a name says otherwise.
"""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from geometry.shapes import Point2, Point3
from scenes.findings.names import Digest, Id, Quoted

ModelOrigin = Literal["measured", "type", "guessed", "straightened", "flattened"]
"""Taken from the thing's shape; from its type; not said by the model; moved within a millimetre; simplified."""

CeilingSource = Literal["covering", "slab", "space", "option"]
CeilingKind = Literal["suspended", "open", "hard"]

DoubtName = Literal[
    "outline-pieces",
    "floor-steps",
    "ceiling-of-space",
    "ceiling-kind",
    "ceiling-curved",
    "structure-levels",
    "table-by-shape",
    "table-simplified",
    "seats-by-default",
    "people-by-default",
    "seat-facing",
    "device-kind",
    "device-place",
    "device-simplified",
    "device-cut",
    "obstacle-simplified",
    "opening-cut",
    "display-facing",
    "kind-unknown",
    "units-by-size",
    "units-conflict",
    "height-by-default",
]
"""Why a value is not sure: what the model does not say, or what was made simpler than it is."""

NoteName = Literal[
    "head",
    "head.values",
    "head.unsure",
    "measured",
    "from the type",
    "straightened",
    "ceiling.covering",
    "ceiling.slab",
    "ceiling.space",
    "ceiling.option",
    "structure",
    "north",
    "above the ceiling",
    "through the structure",
    "profiles",
    "left out",
]
"""What a remark beside a line of a written spec says, doubts aside."""


ValueName = Literal["moved_m", "share", "count", "files", "date"]
"""What a remark says a number or a text of."""


@record(frozen=True, slots=True)
class Note:
    """A remark beside a line of a written spec: what it says, with what, and the doubts about that line."""

    name: NoteName | None = None
    values: tuple[tuple[ValueName, Quoted | float | int], ...] = ()
    doubts: tuple[DoubtName, ...] = ()


@record(frozen=True, slots=True)
class Doubt:
    """One value that nobody measured: whose it is (a thing's id, or a key such as `room.ceiling`), and why."""

    about: Id
    name: DoubtName
    origin: ModelOrigin


@record(frozen=True, slots=True)
class FileFacts:
    """A file that was read: its name without its folder, schema, length unit and hash."""

    file: Quoted
    schema: Quoted
    unit: Quoted
    sha256: Digest


@record(frozen=True, slots=True)
class RoomFrame:
    """How a room lies in its model: the model's place of the spec's origin, and the plan angle there of its x axis."""

    origin_m: Point3
    turn_deg: float


@record(frozen=True, slots=True)
class Slope:
    """A sloped ceiling over a part: it rises from low to high along the plan angle `towards_deg`."""

    low_m: float
    high_m: float
    towards_deg: float


@record(frozen=True, slots=True)
class CeilingPart:
    """What the ceiling is over a part of a room. Flat: height_m; sloped: slope. `share` of the room's area."""

    outline_m: tuple[Point2, ...]
    height_m: float | None
    slope: Slope | None
    kind: CeilingKind
    source: CeilingSource
    structure_m: float | None
    share: float
    things: tuple[Id, ...] = ()


@record(frozen=True, slots=True)
class ModelCeiling:
    """The ceiling: its main height with kind and source, and the parts that differ from it."""

    height_m: float
    kind: CeilingKind
    source: CeilingSource
    structure_m: float | None
    share: float
    parts: tuple[CeilingPart, ...] = ()
    things: tuple[Id, ...] = ()

    @property
    def span_m(self) -> tuple[float, float]:
        """Its lowest and its highest height over the room."""
        lows = [part.slope.low_m if part.slope else part.height_m for part in self.parts]
        highs = [part.slope.high_m if part.slope else part.height_m for part in self.parts]
        own = [self.height_m] if self.share > 0 or not self.parts else []
        known = [value for value in (*lows, *highs, *own) if value is not None]
        return min(known), max(known)


@record(frozen=True, slots=True)
class Swing:
    """How a door opens: hinged at the near jamb, the far one or both, into the room or out of it."""

    hinge: Literal["near", "far", "both"]
    opens: Literal["in", "out"]


@record(frozen=True, slots=True)
class ModelOpening:
    """A door, window or plain opening in wall `wall`."""

    guid: Id
    kind: Literal["door", "window", "opening"]
    wall: int
    offset_m: float
    width_m: float
    height_m: float
    sill_m: float
    swing: Swing | None = None
    of_type: bool = False
    id: Id = ""


@record(frozen=True, slots=True)
class ModelTable:
    """A table: a rectangle, a round one (size: its diameter) or an outline of its own."""

    guid: Id
    shape: Literal["rectangle", "round", "polygon"]
    at_m: Point2
    size_m: tuple[float, ...]
    turn_deg: float
    outline_m: tuple[Point2, ...]
    height_m: float
    of_type: bool = False
    id: Id = ""


@record(frozen=True, slots=True)
class ModelSeat:
    """A chair's seat: the plan place of the mouth, and the plan angle it looks towards (None: not to be seen)."""

    guid: Id
    at_m: Point2
    facing_deg: float | None
    id: Id = ""


@record(frozen=True, slots=True)
class ModelDevice:
    """A device at the ceiling, or above it: `lowest_m` above the floor, `below_m` under the ceiling over its middle."""

    guid: Id
    kind: Id
    at_m: Point2
    size_m: tuple[float, ...] | None
    turn_deg: float
    lowest_m: float
    below_m: float
    depth_m: float | None
    stem_m: float | None = None
    above_ceiling: bool = False
    through_structure: bool = False
    of_type: bool = False
    id: Id = ""


@record(frozen=True, slots=True)
class ModelObstacle:
    """A column, a cupboard: what stands in the room and may hide a mouth."""

    guid: Id
    at_m: Point2
    size_m: tuple[float, ...]
    turn_deg: float
    from_m: float
    to_m: float
    of_type: bool = False
    id: Id = ""


@record(frozen=True, slots=True)
class ModelCamera:
    """A camera."""

    guid: Id
    at_m: Point3
    id: Id = ""


@record(frozen=True, slots=True)
class ModelDisplay:
    """A screen: its middle, its size, and the plan angle it looks towards."""

    guid: Id
    at_m: Point3
    width_m: float
    height_m: float
    facing_deg: float
    id: Id = ""


@record(frozen=True, slots=True)
class Straightening:
    """What was done to an outline: how far its edge moved, how many corners were left out, its holes."""

    moved_m: float = 0.0
    left_out: int = 0
    pieces: int = 1


@record(frozen=True, slots=True)
class ModelRoom:
    """A room of a model with all that a spec can say of it.

    `left_out` are classes of things in the room that a spec has no word for, with their number.
    """

    guid: Id
    number: Quoted
    name: Quoted
    storey: Quoted
    area_m2: float
    frame: RoomFrame
    outline_m: tuple[Point2, ...]
    straightening: Straightening
    ceiling: ModelCeiling
    north_deg: float | None = None
    openings: tuple[ModelOpening, ...] = ()
    tables: tuple[ModelTable, ...] = ()
    seats: tuple[ModelSeat, ...] = ()
    devices: tuple[ModelDevice, ...] = ()
    obstacles: tuple[ModelObstacle, ...] = ()
    cameras: tuple[ModelCamera, ...] = ()
    displays: tuple[ModelDisplay, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    left_out: tuple[tuple[Id, int], ...] = ()
    parents: tuple[tuple[Id, Id], ...] = ()
    """GlobalIds of project, site, building, storey, by those names."""
    project: Quoted = ""


@record(frozen=True, slots=True)
class Skipped:
    """A space that is no room to import, and why."""

    guid: Id
    name: Quoted
    why: Literal["no-shape", "no-height", "no-area", "too-low"]


@record(frozen=True, slots=True)
class Building:
    """What a set of model files holds: its rooms and the spaces that are none."""

    files: tuple[FileFacts, ...]
    rooms: tuple[ModelRoom, ...]
    skipped: tuple[Skipped, ...]
    apart: tuple[Quoted, ...] = ()
    """Files of which nothing is near any room."""
