"""How what hangs is held: where its box sits, how high that is, what is cut to length, and what the ceiling is opened
for."""

from __future__ import annotations

import math
from typing import Literal

from geometry.clearance import Hanging
from geometry.records import record
from geometry.shapes import Point2
from scenes.room.ceiling import solid_above_m
from scenes.room.scene import CABLE_RADIUS_M, Array, HangsBy, Scene, ceiling_of

BoxPlace = Literal["tile bridge", "structure", "under the ceiling", "frame"]
"""Where the box sits; `frame`: a flush array has none, it is carried by a frame of its own."""


def box_place(scene: Scene) -> BoxPlace:
    """Where the box of a hanging array sits."""
    ceiling = ceiling_of(scene)
    if ceiling == "suspended":
        return scene.suspension.box or "tile bridge"
    return "structure" if ceiling == "open" else "under the ceiling"


def box_above_ceiling(scene: Scene) -> bool:
    """Whether the box is on the structure above a suspended ceiling, which only the cable goes through."""
    return box_place(scene) == "structure" and ceiling_of(scene) == "suspended"


def box_height_m(scene: Scene) -> float | None:
    """Height of the box above the floor: the ceiling, or the structure if it is up there; None if that is not known."""
    return scene.room.structure_m if box_above_ceiling(scene) else scene.room.ceiling_m


def footing_of(scene: Scene, array: Array) -> Hanging:
    """What of a hanging array is at the ceiling's underside, on plan: its box, or the hole that the cable goes through.

    The canopy or plate of a rod is taken as large as the box.
    """
    if box_above_ceiling(scene):
        return Hanging(radius_m=CABLE_RADIUS_M)
    return Hanging(size_m=scene.suspension.box_size_m[:2], turn_deg=array.turn_deg)


HangLack = Literal["structure", "spread"]
"""What the file would have to give: how high the structure is, or how far apart the points are."""


@record(frozen=True, slots=True)
class Hang:
    """What is cut, drilled and ordered for one array before anybody is on a ladder. Metres; None where not known.

    pieces      cables, wires, rods or poles to cut, each `piece_m` long: of a cable from the box to the acoustic centre
                with what it has to spare, of wires from the hang point to the body, of rods and poles from where
                they are fixed to the top of the body; without ends and fittings
    lacks       what the file would have to give for what is not known of these
    second_m    the array's secondary support, from the body's top straight up to the structure
    box_line_m  that of the box, from its top
    holes       how many holes or cut-outs the ceiling has for it; none in an open one
    holes_m     where their middles are on plan; empty where not known
    cutout_m    how large they are, of a round one the diameter twice
    """

    by: HangsBy
    pieces: int
    piece_m: float | None
    lacks: HangLack | None
    second_m: float | None
    box_line_m: float | None
    holes: int
    holes_m: tuple[Point2, ...]
    cutout_m: Point2 | None


def hang_of(scene: Scene, array: Array) -> Hang:
    """How one array with a place is held, in the scene as it is under the ceiling over it."""
    profile = array.profile
    known = profile.points == 1 or profile.spread_m is not None
    x, y, _ = array.centre_m
    points: tuple[Point2, ...] = ((x, y),)
    pieces, piece_m, lacks = _pieces(scene, array)
    if profile.hangs_by not in ("wires", "flush", "recessed"):
        turn = math.radians(array.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        round_it = profile.points_m if known else ()
        points = tuple((x + c * a - s * b, y + s * a + c * b) for a, b in round_it)
        if not known:
            lacks = lacks or "spread"
    opened = ceiling_of(scene) != "open"
    several = profile.points if profile.hangs_by in ("cable", "rod", "pole") else 1
    return Hang(
        by=profile.hangs_by,
        pieces=pieces,
        piece_m=piece_m,
        lacks=lacks,
        second_m=_up_to_structure_m(scene, array.top_m),
        box_line_m=_box_line_m(scene, array),
        holes=several if opened else 0,
        holes_m=points if opened else (),
        cutout_m=profile.cutout_m,
    )


FLATTEST_DEG = 30.0
"""Of wires from the level: flatter ones pull at each other more than they carry. overtable's own default; from memory,
rigging wants no sling flatter."""


def wires_deg(scene: Scene, array: Array) -> float | None:
    """How steep the wires to one point are, degrees from the level; None of what hangs otherwise or is not known.

    The scene as it is under the ceiling over the array.
    """
    profile, start_m = array.profile, box_height_m(scene)
    if profile.hangs_by != "wires" or profile.points == 1 or profile.spread_m is None or start_m is None:
        return None
    return math.degrees(math.atan2(max(start_m - array.top_m, 0.0), profile.spread_m / 2))


def cable_m(scene: Scene, array: Array) -> float | None:
    """Cable from the box to the acoustic centre with what it has to spare; None of a flush array, or if not known."""
    box_m = box_height_m(scene)
    if array.profile.mount == "flush" or box_m is None:
        return None
    return box_m - array.centre_m[2] + scene.suspension.spare_m


def _pieces(scene: Scene, array: Array) -> tuple[int, float | None, HangLack | None]:
    """How many are cut, how long each is, and what the file lacks for that."""
    profile, start_m = array.profile, box_height_m(scene)
    if profile.mount == "flush":
        return 0, None, None
    if start_m is None:
        return profile.points, None, "structure"
    if profile.hangs_by == "cable":
        return profile.points, cable_m(scene, array), None
    straight_m = max(start_m - array.top_m, 0.0)
    if profile.hangs_by != "wires" or profile.points == 1:
        return profile.points, straight_m, None
    if profile.spread_m is None:
        return profile.points, None, "spread"
    # along a bar the outer wires are the longest: all are cut to that
    return profile.points, math.hypot(straight_m, profile.spread_m / 2), None


def _up_to_structure_m(scene: Scene, height_m: float) -> float | None:
    above_m = solid_above_m(scene.room)
    return None if above_m is None else max(above_m - height_m, 0.0)


def _box_line_m(scene: Scene, array: Array) -> float | None:
    """None also where the box is on the structure itself, or there is none."""
    place = box_place(scene)
    if array.profile.mount == "flush" or place == "structure":
        return None
    tall = scene.suspension.box_size_m[2] if place == "tile bridge" else 0.0
    return _up_to_structure_m(scene, scene.room.ceiling_m + tall)
