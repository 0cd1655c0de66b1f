"""What an installer needs on the ladder: a row for each array, and the steps. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id, Quoted
from scenes.findings.review import Tolerance
from scenes.room.hung import BoxPlace, Hang
from scenes.room.scene import CeilingKind, HangsBy, Mount

Support = Literal["line", "quoted", "none"]
"""How something is held or clamped: in the usual way, as the file says in its own words, or not at all."""

StepName = Literal[
    "hold",
    "issue",
    "sign-off",
    "mark",
    "mark tile",
    "void",
    "box on bridge",
    "box under ceiling",
    "box on structure",
    "box above tile",
    "secure box",
    "unsecured box",
    "hang by cable",
    "hang by wires",
    "hang by rod",
    "hang by pole",
    "secure array",
    "level",
    "set in",
    "set in recess",
    "fixings",
    "measure",
    "commission",
    "close",
]


@record(frozen=True, slots=True)
class ScheduleRow:
    """One array for the installer. Metres, degrees, kilograms; None where there is no such thing.

    `ceiling` is the kind over the array, `part` the ceiling's part there, None under the rest of it.
    `x_m` and `y_m` are square from the walls `x_wall` and `y_wall` (indices) to the acoustic centre's axis. `tile` is
    the tile above it, `tile_offset_m` the way there from the tile's middle, `tee` the clearance to the grid where it is
    not clear. `cable_m` runs from the box to the acoustic centre, `spare_m` included; None also where the box is on
    a structure whose height is not known. `safety_cable` and `clamp` are the
    file's own words where it has any.
    `holes_m` are the ceiling's holes as `x_m` and `y_m` are. `tolerance` is the array's own, the one that every
    output shows.
    """

    array: Id
    profile: Id
    mount: Mount
    hangs_by: HangsBy
    points: int
    ceiling: CeilingKind
    part: Id | None
    x_m: float
    x_wall: int
    y_m: float
    y_wall: int
    tile: Id | None
    tile_offset_m: Point2 | None
    tee: Clearance | None
    ceiling_m: float
    underside_m: float
    centre_m: float
    drop_m: float
    turn_deg: float
    band: Id
    low_deg: float
    high_deg: float
    cable_m: float | None
    spare_m: float | None
    mass_kg: float | None
    box: BoxPlace
    box_support: Support
    safety_cable: Quoted | None
    relief: Support
    clamp: Quoted | None
    tolerance: Tolerance
    hang: Hang
    holes_m: tuple[Point2, ...]

    @property
    def ceiling_to_underside_m(self) -> float:
        """How far its underside hangs under the ceiling's face over it."""
        return self.ceiling_m - self.underside_m


@record(frozen=True, slots=True)
class Step:
    """One step. `arrays` are those it is for, `walls` the two (indices) that x and y are measured from."""

    name: StepName
    arrays: tuple[Id, ...]
    walls: tuple[int, int]
