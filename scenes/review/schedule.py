"""The installer's schedule: one row per array with everything needed on the ladder, and the steps.

Measured from two walls that carry names on the plan, in the tile grid and down from the ceiling. What sets the height
(clamp, strain relief) is kept apart from what holds if something fails (secondary support). A room that fails has one
step: not to be installed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from geometry.shapes import Point2
from scenes.findings.installation import ScheduleRow, Step, StepName, Support
from scenes.findings.names import Quoted
from scenes.findings.review import Review
from scenes.room.ceiling import part_over, scene_under
from scenes.room.hung import BoxPlace, box_place, cable_m, hang_of
from scenes.room.scene import Array, HangsBy, Room, Scene, ceiling_of
from scenes.room.tiles import tile_of
from scenes.room.walls import reference_walls


def schedule(scene: Scene, review: Review) -> tuple[ScheduleRow, ...]:
    """The installer's schedule, one row per array in the order of the spec."""
    return tuple(_row(scene, array, review) for array in scene.arrays)


def from_wall_m(room: Room, index: int, point: Point2) -> float:
    """Distance of a plan point from the line of a wall, metres, square to it, positive into the room."""
    (ax, ay), (bx, by) = room.wall(index)
    left = ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / math.hypot(bx - ax, by - ay)
    return left if room.anticlockwise else -left


def _row(scene: Scene, array: Array, review: Review) -> ScheduleRow:
    part = None if array.at_m is None else part_over(scene.room, array.at_m)
    scene = scene_under(scene, array.at_m)
    room, profile, hung = scene.room, array.profile, scene.suspension
    at = array.centre_m
    x_wall, y_wall = reference_walls(room)
    suspended = ceiling_of(scene) == "suspended"
    tile = tile_of(room, at[:2]) if suspended else None
    flush = profile.mount == "flush"
    hang = hang_of(scene, array)
    box_support, safety_cable = _support(hung.safety_cable)
    relief, clamp = _support(hung.clamp)
    return ScheduleRow(
        array=array.id,
        profile=profile.name,
        mount=profile.mount,
        hangs_by=profile.hangs_by,
        points=profile.points,
        ceiling=ceiling_of(scene),
        part=None if part is None else part.id,
        x_m=from_wall_m(room, x_wall, at[:2]),
        x_wall=x_wall,
        y_m=from_wall_m(room, y_wall, at[:2]),
        y_wall=y_wall,
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
        cable_m=cable_m(scene, array),
        spare_m=None if flush else hung.spare_m,
        mass_kg=profile.mass_kg,
        box="frame" if flush else box_place(scene),
        box_support=box_support,
        safety_cable=safety_cable,
        relief=relief,
        clamp=clamp,
        tolerance=review.array(array.id).tolerance,
        hang=hang,
        holes_m=tuple(
            (from_wall_m(room, x_wall, hole), from_wall_m(room, y_wall, hole)) for hole in hang.holes_m
        ),
    )


def _support(given: bool | str) -> tuple[Support, Quoted | None]:
    if isinstance(given, str):
        return "quoted", given
    return ("line" if given else "none"), None


def steps(scene: Scene, review: Review) -> tuple[Step, ...]:
    """The installer's steps for the ceiling over each array, in order; of a room that fails the one that holds it.

    They follow the schedule; a room with flush arrays only has no cable to set. A step is for those arrays whose own
    part of the ceiling asks for it.
    """
    walls = reference_walls(scene.room)
    every = tuple(array.id for array in scene.arrays)
    if review.held:
        return (Step("hold", every, walls),)
    over = {array.id: scene_under(scene, array.at_m) for array in scene.arrays}
    suspended = tuple(name for name in every if ceiling_of(over[name]) == "suspended")
    tiled = tuple(name for name in suspended if over[name].room.grid)
    found: list[tuple[StepName, tuple[str, ...]]] = [
        ("issue", every),
        ("sign-off", every),
        ("mark tile", tiled),
        ("mark", tuple(name for name in every if name not in tiled)),
        ("void", suspended),
        *_holding(scene, over),
        ("fixings", every),
        ("measure", every),
        ("close", suspended),
        ("commission", every),
    ]
    return tuple(Step(name, arrays, walls) for name, arrays in found if arrays)


_BOX_STEPS: dict[tuple[BoxPlace, bool], StepName] = {
    ("tile bridge", True): "box on bridge",
    ("structure", True): "box above tile",
    ("structure", False): "box on structure",
    ("under the ceiling", False): "box under ceiling",
}
"""How the box is fixed: where it sits, and whether a suspended ceiling is under it."""


_HOLDING_STEPS: dict[HangsBy, StepName] = {
    "cable": "hang by cable",
    "wires": "hang by wires",
    "rod": "hang by rod",
    "pole": "hang by pole",
    "flush": "set in",
    "recessed": "set in recess",
}
"""How an array is put up, by what it hangs by."""


def _holding(scene: Scene, over: Mapping[str, Scene]) -> Iterator[tuple[StepName, tuple[str, ...]]]:
    """The steps that put arrays up: of what hangs box, array and second line, then what is set into the ceiling.

    `over` is the scene under the part of the ceiling that each array hangs from: its kind says where the box goes.
    """
    hanging = tuple(array.id for array in scene.arrays if array.profile.mount == "pendant")
    boxes: dict[StepName, tuple[str, ...]] = {}
    for name in hanging:
        step = _BOX_STEPS[box_place(over[name]), ceiling_of(over[name]) == "suspended"]
        boxes[step] = (*boxes.get(step, ()), name)
    yield from boxes.items()
    yield "secure box" if scene.suspension.safety_cable else "unsecured box", hanging
    for by, holding in _HOLDING_STEPS.items():
        if by == "flush":
            yield "secure array", hanging
            yield "level", hanging
        yield holding, tuple(array.id for array in scene.arrays if array.profile.hangs_by == by)
