"""The installer's schedule: one row per array with everything needed on the ladder, and the steps.

Measured from two walls that carry names on the plan, in the tile grid and down from the ceiling. What
sets the height (clamp, strain relief) is told apart from what holds if something fails (retention).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from scenes.findings.clearance import Clearance
from scenes.findings.review import Review
from scenes.room.scene import Array, Room, Scene, ceiling_of
from scenes.room.tiles import tile_of
from scenes.room.walls import reference_walls, wall_name
from scenes.rules.constraints import constraints_for


@dataclass(frozen=True, slots=True)
class ScheduleRow:
    """One array for the installer. Metres, degrees, kilograms; None where there is no such thing.

    `x_m` and `y_m` are square from the walls named beside them to the acoustic centre's axis.
    `cable_m` runs from the box to the acoustic centre, `spare_m` included. `tolerance_cm` is how far it
    may be off in any direction before a talker is lost; `level_left_cm` what remains of it when it hangs
    out of true by `level_deg`; `clear_cm` how far before anything is lost or short. Whole centimetres,
    rounded down, 0 where nothing is left. `tee` is the clearance to the ceiling's grid where it is not clear.
    """

    tag: str
    profile: str
    x_m: float
    x_from: str
    y_m: float
    y_from: str
    tile: str | None
    tile_offset_m: tuple[float, float] | None
    tee: Clearance | None
    ceiling_m: float
    underside_m: float
    centre_m: float
    drop_m: float
    turn_deg: float
    band: str
    low_deg: float
    high_deg: float
    cable_m: float | None
    spare_m: float | None
    mass_kg: float | None
    box: str
    fixing: str
    box_retention: str
    array_retention: str
    strain_relief: str
    tolerance_cm: int | None
    level_deg: float
    level_left_cm: int | None
    clear_cm: int | None

    def as_json(self) -> dict[str, Any]:
        """The row as JSON-able entries, in the order of `COLUMNS`."""
        return {name: getattr(self, name) for name in COLUMNS}


COLUMNS: tuple[str, ...] = tuple(entry.name for entry in fields(ScheduleRow) if entry.name != "tee")
"""Names of the schedule's columns, in order; the CSV's head and the JSON's keys."""


@dataclass(frozen=True, slots=True)
class Step:
    """One of the installer's steps, in order."""

    number: int
    title: str
    text: str


def schedule(scene: Scene, review: Review) -> tuple[ScheduleRow, ...]:
    """The installer's schedule, one row per array in the order of the spec."""
    return tuple(_row(scene, array, review) for array in scene.arrays)


def from_wall_m(room: Room, index: int, point: tuple[float, float]) -> float:
    """Distance of a plan point from the line of a wall, metres, square to it, positive into the room."""
    (ax, ay), (bx, by) = room.wall(index)
    left = ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / math.hypot(bx - ax, by - ay)
    return left if room.anticlockwise else -left


def _row(scene: Scene, array: Array, review: Review) -> ScheduleRow:
    reviewed = review.array(array.id)
    room, profile = scene.room, array.profile
    at = array.centre_m
    x_wall, y_wall = reference_walls(room)
    suspended = ceiling_of(scene) == "suspended"
    tile = tile_of(room, at[:2]) if suspended else None
    flush = profile.mount == "flush"
    margin = reviewed.margin_m
    level = 0.0 if flush else profile.level_deg
    tilt = 2 * profile.reach_m[1] * math.sin(math.radians(level) / 2)
    clear = min(
        (float(c.signed_m(np.array([at]))[0]) for c in constraints_for(scene, array)), default=math.inf
    )
    box, fixing = _box_and_fixing(scene, array, tile[0] if tile else None)
    return ScheduleRow(
        tag=array.id,
        profile=profile.name,
        x_m=from_wall_m(room, x_wall, at[:2]),
        x_from=wall_name(x_wall),
        y_m=from_wall_m(room, y_wall, at[:2]),
        y_from=wall_name(y_wall),
        tile=tile[0] if tile else None,
        tile_offset_m=tile[1] if tile else None,
        tee=next(
            (c for c in review.clearances if c.array == array.id and c.kind == "grid" and c.state != "clear"),
            None,
        ),
        ceiling_m=room.ceiling_m,
        underside_m=array.underside_m,
        centre_m=at[2],
        drop_m=room.ceiling_m - at[2],
        turn_deg=array.turn_deg,
        band=str(array.band_name),
        low_deg=array.band.low_deg,
        high_deg=array.band.high_deg,
        cable_m=None if flush else box_height_m(scene) - at[2] + scene.suspension.spare_m,
        spare_m=None if flush else scene.suspension.spare_m,
        mass_kg=profile.mass_kg,
        box=box,
        fixing=fixing,
        box_retention=_box_retention(scene, flush),
        array_retention=(
            "the array's body tied to the structure by a line of its own"
            if flush
            else "a second line from the array's body to the structure, independent of the hanging cable"
        ),
        strain_relief=_strain_relief(scene, flush),
        tolerance_cm=None if margin is None else _whole_cm(margin),
        level_deg=level,
        level_left_cm=None if margin is None else _whole_cm(margin - tilt),
        clear_cm=None if margin is None else _whole_cm(min(margin, clear)),
    )


def _whole_cm(metres: float) -> int:
    return max(0, math.floor(metres * 100 + 1e-9))


def box_place(scene: Scene) -> str:
    """Where the box sits: `tile bridge`, `structure` or `ceiling` (under a hard one)."""
    ceiling = ceiling_of(scene)
    if ceiling == "hard":
        return "ceiling"
    return scene.suspension.box or ("tile bridge" if ceiling == "suspended" else "structure")


def box_height_m(scene: Scene) -> float:
    """Height of the box above the floor: the ceiling, or the structure if the box is up there and it is known."""
    if box_place(scene) == "structure" and ceiling_of(scene) == "suspended" and scene.room.structure_m:
        return scene.room.structure_m
    return scene.room.ceiling_m


def _box_and_fixing(scene: Scene, array: Array, tile: str | None) -> tuple[str, str]:
    place = box_place(scene)
    above = f"above tile {tile}" if tile else "above the tile"
    if array.profile.mount == "flush":
        if ceiling_of(scene) == "suspended":
            where = f"in tile {tile}" if tile else "in the tile"
            return where, "carried by its own frame on the grid or structure; the tile carries nothing"
        return "in the ceiling", "its own frame, fixed to what carries the ceiling"
    if place == "tile bridge":
        return (
            f"{above}, on a tile bridge",
            "tile bridge across the grid as far as the ceiling's maker allows; the tile carries nothing",
        )
    if place == "ceiling":
        return "under the ceiling", "screwed through the lining into what carries it"
    if ceiling_of(scene) == "suspended":
        return f"on the structure, {above}", "fixed to the structure; the cable goes free through the tile"
    return "on the structure", "fixed to the structure"


def _box_retention(scene: Scene, flush: bool) -> str:
    told = scene.suspension.safety_cable
    if isinstance(told, str):
        return told
    if not told:
        return "none: the spec leaves out the safety cable"
    what = "the array's frame" if flush else "the box"
    return f"safety cable from {what} to the structure, slack taken up"


def _strain_relief(scene: Scene, flush: bool) -> str:
    told = scene.suspension.clamp
    if isinstance(told, str):
        return told
    if not told:
        return "none: the spec leaves out the clamp"
    if flush:
        return "strain relief on the cable at the connector"
    return "cable clamp at the set height and strain relief at the connector; neither is a retention"


def steps(scene: Scene) -> tuple[Step, ...]:
    """The installer's steps for this kind of ceiling, in order, in plain words.

    They follow the schedule's columns; a room with flush arrays only has no cable to set.
    """
    ceiling, place = ceiling_of(scene), box_place(scene)
    pendants = [array for array in scene.arrays if array.profile.mount == "pendant"]
    flush = [array for array in scene.arrays if array.profile.mount == "flush"]
    x_wall, y_wall = (wall_name(index) for index in reference_walls(scene.room))
    told: list[tuple[str, str]] = [
        (
            "Settle who agrees",
            "Have the cautions settled with those who decide: fire, ceiling, structure, electrical. Clear the "
            "table and keep people out from under the work.",
        ),
        (
            "Mark the place",
            f"Measure x square from wall {x_wall} and y square from wall {y_wall}, as printed on the plan, and mark "
            "each hang point on the ceiling. "
            + (
                "Check it against the tile in the schedule. If the two differ, stop and ask."
                if ceiling == "suspended" and scene.room.grid
                else "If what is there differs from the plan, stop and ask."
            ),
        ),
    ]
    if ceiling == "suspended":
        told.append(
            (
                "Look into the void",
                "Lift the tile and its neighbour. See that nothing is in the way of box and safety cable up to the "
                "structure, and that the space above is what the designer took it for.",
            )
        )
    if pendants:
        told.append(_box_step(ceiling, place))
        told.append(
            (
                "Tie the box",
                "Tie the box to the structure with its safety cable, slack taken up: this holds it if its fixing "
                "fails."
                if scene.suspension.safety_cable
                else "The spec leaves out a safety cable for the box: have that agreed in writing before going on.",
            )
        )
        told.append(
            (
                "Hang the array",
                "Lead the cable through, connect it with its strain relief, and lower the array to the underside in "
                "the schedule: measure from the finished floor to the underside. Set the clamp.",
            )
        )
        told.append(
            (
                "Tie the array",
                "Fit the array's own second line to the structure, independent of the hanging cable. The clamp and "
                "the strain relief do not count as one.",
            )
        )
        told.append(
            (
                "Turn and level",
                "Turn the mark of sector 1 to the angle in the schedule, anticlockwise on plan from the x axis, and "
                "bring it level.",
            )
        )
    if flush:
        told.append(
            (
                "Set in the flush arrays",
                "Cut the opening by the maker's drawing, carry the array by its own frame and not by the tile or "
                "lining, tie the frame to the structure, and turn the mark of sector 1 as the schedule says.",
            )
        )
    told.append(
        (
            "Measure again",
            "Measure x, y and underside again and write them into the as-installed table. If any is off by more than "
            "the tolerance in the schedule, set it right or tell the designer.",
        )
    )
    if ceiling == "suspended":
        told.append(("Close the ceiling", "Put the tiles back; nothing may lie on them or hang from them."))
    return tuple(Step(number, title, text) for number, (title, text) in enumerate(told, 1))


def _box_step(ceiling: str, place: str) -> tuple[str, str]:
    if place == "tile bridge":
        return (
            "Set the box",
            "Drill the tile for the cable, lay the tile bridge across the grid as far as the ceiling's maker allows, "
            "and fix the box on it. The tile carries nothing.",
        )
    if place == "ceiling":
        return (
            "Set the box",
            "Fix the box through the lining into what carries the ceiling, with fixings its designer has accepted.",
        )
    through = " and drill the tile so that the cable goes through it freely" if ceiling == "suspended" else ""
    return (
        "Set the box",
        f"Fix the box to the structure with fixings its designer has accepted{through}.",
    )
