"""Tables, chairs and what stands in a room: read from their bodies, never from a name but for what they are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from geometry.envelope import patches
from geometry.outlines import (
    Circle,
    Rectangle,
    as_circle,
    corners_of,
    fills,
    pieces,
    rectangle_along,
    rectangle_round,
    straightened,
)
from scenes.findings.model import Doubt, ModelObstacle, ModelSeat, ModelTable
from scenes.models.spaces import Space
from scenes.models.things import ROUND_WITHIN_M, InRoom, Thing, corners_of_box, in_order, level_turn, near

Floats = NDArray[np.float64]

MOUTH_BEFORE_CHAIR_M: Final = 0.10
"""A mouth is this far before the middle of its chair (the contract)."""
ON_THE_FLOOR_M: Final = (-0.3, 1.0)
"""Between these heights stands what stands on the floor, platforms allowed for."""
LARGEST_CHAIR_M: Final = 1.3
"""What is called a chair and is larger on plan is a table with its chairs, or a row of seats."""
TABLE_TOPS_M: Final = (0.3, 1.3)
"""Between these heights is a table's top."""
DESK_TOPS_M: Final = (0.65, 0.80)
"""Of these heights is a table people sit at, where the model has no chair."""
SMALLEST_TOP_M2: Final = 0.1
BACK_SHARE: Final = 0.2
"""The uppermost share of a chair's height, in which there is nothing but its back."""
BACK_OFF_SHARE: Final = 0.15
"""A back is off the chair's middle by at least this share of the chair's size."""
HIDING_M: Final = 1.0
"""What ends lower hides no mouth from a ceiling: the lowest seated ones are at about 1.07 m."""
LEAST_IN_ROOM_M2: Final = 0.005
SIMPLE_SHARE: Final = 0.9
"""A shadow that fills less of the rectangle drawn for it was simplified."""
TOP_WITHIN_M: Final = 0.002
JOINT_M: Final = 0.01
"""Half the widest joint between the boards of one table."""


def tables(things: Sequence[Thing], space: Space) -> tuple[list[ModelTable], list[Doubt]]:
    """The room's tables, in the order of a plan, and what of them is not sure."""
    found: list[tuple[ModelTable, str | None]] = []
    for one in near(things, space):
        top = _top(one)
        if top is None or not ON_THE_FLOOR_M[0] <= one.low_m <= ON_THE_FLOOR_M[1]:
            continue
        area, height_m, simplified = top
        table = _table(one, area, height_m, space)
        if shapely.contains_xy(space.outline, *table.at_m):
            reason = "table-by-shape" if one.thing.guessed else "table-simplified" if simplified else None
            found.append((table, reason))
    reasons = {table.guid: reason for table, reason in found}
    ordered = in_order([table for table, _ in found], lambda table: table.at_m)
    named = [replace(table, id=f"T{i}") for i, table in enumerate(ordered, 1)]
    doubts = [
        Doubt(table.id, reason, "guessed" if reason == "table-by-shape" else "flattened")  # type: ignore[arg-type]
        for table in named
        if (reason := reasons[table.guid]) is not None
    ]
    return named, doubts


def seats(
    things: Sequence[Thing], space: Space, tables: Sequence[ModelTable]
) -> tuple[list[ModelSeat], list[Doubt]]:
    """A seat for each chair: its plan middle moved to the chair's front, looking that way."""
    found = []
    for one in near(things, space):
        if one.thing.body is None or not ON_THE_FLOOR_M[0] <= one.low_m <= ON_THE_FLOOR_M[1]:
            continue
        seat = _seat(one, space)
        if seat is not None:
            found.append(seat)
    named = [replace(seat, id=f"S{i}") for i, seat in enumerate(in_order(found, lambda seat: seat.at_m), 1)]
    seats, doubts = [], []
    for seat in named:
        if seat.facing_deg is None:
            doubts.append(Doubt(seat.id, "seat-facing", "guessed"))
            seat = replace(seat, facing_deg=_to_nearest(seat, tables))
        seats.append(seat)
    return seats, doubts


def obstacles(
    things: Sequence[Thing], space: Space, ceiling_m: float
) -> tuple[list[ModelObstacle], list[Doubt], int]:
    """Columns and tall furniture, and the holes of the outline; and how much low furniture was left out."""
    found: list[tuple[ModelObstacle, bool]] = []
    low = 0
    for one in near(things, space):
        if one.thing.body is None or one.low_m >= ceiling_m or one.high_m <= 0:
            continue
        inside = one.hull().intersection(space.outline)
        middle = one.hull().centroid
        # of a column what stands in the room is the room's; of a tree outside, nothing
        mine = one.thing.use == "column" or shapely.contains_xy(space.outline, middle.x, middle.y)
        if not mine or inside.area < LEAST_IN_ROOM_M2:
            continue
        if one.high_m < HIDING_M:
            low += 1
            continue
        whole = inside.area > 0.999 * one.hull().area
        shape = one.footprint(space.frame) if whole else level_turn(rectangle_round(inside))
        standing = _obstacle(one.thing.guid, shape, one.low_m, min(one.high_m, ceiling_m))
        found.append((replace(standing, of_type=one.of_type), _simple(inside, shape)))
    for hole in space.outline.interiors:
        area = Polygon(hole)
        circle = as_circle(area, ROUND_WITHIN_M)
        shape = circle or level_turn(rectangle_round(area))
        found.append((_obstacle("", shape, 0.0, ceiling_m), _simple(area, shape)))
    simple = {(one.guid, one.at_m): plain for one, plain in found}
    ordered = in_order([one for one, _ in found], lambda one: one.at_m)
    named = [replace(one, id=f"C{i}") for i, one in enumerate(ordered, 1)]
    doubts = [
        Doubt(one.id, "obstacle-simplified", "flattened") for one in named if not simple[one.guid, one.at_m]
    ]
    return named, doubts, low


def looks_like(thing: InRoom) -> str | None:
    """Whether furniture without a name has the shape of a chair or of a table; None if of neither."""
    low, high = thing.points.min(axis=0), thing.points.max(axis=0)
    width, depth, height = (high - low).tolist()
    if (
        max(width, depth) <= 0.8
        and min(width, depth) >= 0.3
        and 0.6 <= height <= 1.3
        and _front(thing) is not None
    ):
        return "chair"
    top = _top(thing)
    if top is not None and DESK_TOPS_M[0] <= top[1] - low[2] <= DESK_TOPS_M[1]:
        return "table" if top[0].area >= 0.7 * width * depth else None
    return None


def _top(one: InRoom) -> tuple[Polygon, float, bool] | None:
    """A table's top: its area on plan, its height, and whether it is only the box round the body."""
    body = one.thing.body
    if body is None:
        return None
    low, high = TABLE_TOPS_M
    level = [
        patch
        for patch in patches(one.points, body.faces)
        if patch.plane.level and low <= patch.plane.c <= high and patch.area.area >= SMALLEST_TOP_M2
    ]
    if not level:
        hull = one.hull()
        if hull.geom_type != "Polygon" or not low <= one.high_m <= high:
            return None
        return hull, one.high_m, True
    largest = max(patch.area.area for patch in level)
    # the board's underside has the same area: the top is the higher one
    top = max((patch for patch in level if patch.area.area >= 0.9 * largest), key=lambda patch: patch.plane.c)
    # boards with joints between them are one top
    whole = top.area.buffer(JOINT_M, join_style="mitre").buffer(-JOINT_M, join_style="mitre")
    return Polygon(pieces(whole)[0].exterior), top.plane.c, False


def _table(one: InRoom, area: Polygon, height_m: float, space: Space) -> ModelTable:
    circle = as_circle(area, ROUND_WITHIN_M)
    if circle is not None:
        return ModelTable(
            one.thing.guid, "round", circle.middle_m, (circle.diameter_m,), 0.0, (), height_m, one.of_type
        )
    turn = one.turn_deg(space.frame)
    corners = shapely.get_coordinates(area.exterior)
    along = rectangle_round(area) if turn is None else rectangle_along(corners, turn)
    if not fills(area, along, TOP_WITHIN_M):
        along = rectangle_round(area)
    along = level_turn(along)
    if fills(area, along, TOP_WITHIN_M):
        return ModelTable(
            one.thing.guid,
            "rectangle",
            along.middle_m,
            along.size_m,
            along.turn_deg,
            (),
            height_m,
            one.of_type,
        )
    outline = corners_of(straightened(area, TOP_WITHIN_M).polygon)
    return ModelTable(
        one.thing.guid,
        "polygon",
        along.middle_m,
        along.size_m,
        along.turn_deg,
        outline,
        height_m,
        one.of_type,
    )


def _seat(one: InRoom, space: Space) -> ModelSeat | None:
    turn = one.turn_deg(space.frame)
    box = rectangle_round(one.hull()) if turn is None else rectangle_along(one.points[:, :2], turn)
    if max(box.size_m) > LARGEST_CHAIR_M or not shapely.contains_xy(space.outline, *box.middle_m):
        return None
    facing = _front(one, turn)
    if facing is None:
        return ModelSeat(one.thing.guid, box.middle_m, None)
    x = box.middle_m[0] + MOUTH_BEFORE_CHAIR_M * math.cos(math.radians(facing))
    y = box.middle_m[1] + MOUTH_BEFORE_CHAIR_M * math.sin(math.radians(facing))
    at = (x, y) if shapely.contains_xy(space.outline, x, y) else box.middle_m
    return ModelSeat(one.thing.guid, at, facing)


def _front(one: InRoom, turn: float | None = None) -> float | None:
    """The plan angle of a chair's front, along one of its own axes: away from its back. None without a back."""
    height = one.high_m - one.low_m
    back = one.points[one.points[:, 2] > one.high_m - BACK_SHARE * height]
    angle = math.radians(turn or 0.0)
    to_own = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    own, own_back = one.points[:, :2] @ to_own, back[:, :2] @ to_own
    size = own.max(axis=0) - own.min(axis=0)
    off = (own_back.max(axis=0) + own_back.min(axis=0) - own.max(axis=0) - own.min(axis=0)) / 2
    if np.abs(off).max() < BACK_OFF_SHARE * size.min():
        return None
    axis = int(np.argmax(np.abs(off)))
    degrees = (90.0 * axis + (180.0 if off[axis] > 0 else 0.0) + (turn or 0.0)) % 360
    return round(degrees, 4) % 360


def _to_nearest(seat: ModelSeat, tables: Sequence[ModelTable]) -> float | None:
    """Towards the nearest table; None if there is none."""
    if not tables:
        return None
    near_table = min(tables, key=lambda table: math.dist(table.at_m, seat.at_m))
    dx, dy = near_table.at_m[0] - seat.at_m[0], near_table.at_m[1] - seat.at_m[1]
    return round(math.degrees(math.atan2(dy, dx)) % 360, 1)


def _obstacle(guid: str, shape: Rectangle | Circle, low_m: float, high_m: float) -> ModelObstacle:
    low_m = max(low_m, 0.0)
    if isinstance(shape, Circle):
        return ModelObstacle(guid, shape.middle_m, (shape.diameter_m,), 0.0, low_m, high_m)
    return ModelObstacle(guid, shape.middle_m, shape.size_m, shape.turn_deg, low_m, high_m)


def _simple(shadow: Any, shape: Rectangle | Circle) -> bool:
    """Whether what is drawn is the shadow, or nearly."""
    if isinstance(shape, Circle):
        return True
    return bool(shadow.area >= SIMPLE_SHARE * corners_of_box(shape).area)
