"""Who sits in an imported room: on the model's chairs; where it has none, round its tables, or anywhere: guesses."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, get_args

import shapely
from shapely.geometry import Polygon

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.model import Doubt, ModelRoom, ModelTable
from scenes.models.furnishing import DESK_TOPS_M
from scenes.spec import occupants

Number = Callable[[float], str]

SEAT_GAP_M: Final = 0.25
"""From a table's edge to a mouth, as the spec's default has it."""
FROM_WALL_M: Final = 0.25
"""A place nearer to a wall is none (the contract)."""
AREA_FROM_WALL_M: Final = 0.5
"""People who may be anywhere are no nearer to a wall."""


@record(frozen=True, slots=True)
class Written:
    """An entry under seats or standing: its id in the digest table, and its keys in order."""

    id: str
    keys: tuple[tuple[str, Any], ...]
    guid: str = ""

    def pairs(self, number: Number) -> list[tuple[str, str | None]]:
        """Its keys as text, lengths in the file's units."""
        return [(key, _text(value, number)) for key, value in self.keys]


@dataclass
class People:
    """Entries for those who sit or stand; and what of them is a guess."""

    seats: list[Written] = field(default_factory=list)
    standing: list[Written] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def people_of(room: ModelRoom) -> People:
    """The room's people."""
    found = People()
    for seat in room.seats:
        keys: list[tuple[str, Any]] = [("id", seat.id), ("at", seat.at_m)]
        if seat.facing_deg is not None:
            keys.append(("facing", _Plain(seat.facing_deg)))
        found.seats.append(Written(seat.id, tuple(keys), seat.guid))
    if not found.seats:
        found.seats = [seats for table in room.tables if (seats := _round(table, room)) is not None]
        found.doubts += [Doubt(one.id, "seats-by-default", "guessed") for one in found.seats]
    if not found.seats:
        _anywhere(room, found)
    return found


@record(frozen=True, slots=True)
class _Plain:
    """A number that is no length."""

    value: float


def _text(value: Any, number: Number) -> str:
    if isinstance(value, _Plain):
        return str(round(value.value, 4) + 0.0).removesuffix(".0")
    if isinstance(value, tuple | list):
        return "".join(["[", ", ".join(_text(one, number) for one in value), "]"])
    return number(value) if isinstance(value, float) else str(value)


def _round(table: ModelTable, room: ModelRoom) -> Written | None:
    """Seats round a table of the height people sit at; none on sides that are against a wall."""
    if not DESK_TOPS_M[0] <= table.height_m <= DESK_TOPS_M[1]:
        return None
    keys: list[tuple[str, Any]] = [("around", table.id)]
    sides = get_args(get_args(occupants.AroundSeats.model_fields["skip"].annotation)[0])
    if table.shape == "rectangle":
        skipped = _at_walls(table, Polygon(room.outline_m))
        if len(skipped) == 4:
            return None
        if "walls" in sides:
            keys += [("skip", ("walls",))] if skipped else []
        elif skipped:
            keys.append(("skip", skipped))
    return Written("".join([table.id, "-seats"]), tuple(keys))


def _at_walls(table: ModelTable, outline: Polygon) -> tuple[str, ...]:
    """The sides of a rectangular table, in its own frame, where nobody has room to sit."""
    free = outline.buffer(-FROM_WALL_M)
    angle = math.radians(table.turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    width, depth = table.size_m
    out_x, out_y = width / 2 + SEAT_GAP_M, depth / 2 + SEAT_GAP_M
    places: Sequence[tuple[str, Point2]] = (
        ("+x", (out_x, 0.0)),
        ("-x", (-out_x, 0.0)),
        ("+y", (0.0, out_y)),
        ("-y", (0.0, -out_y)),
    )
    return tuple(
        side
        for side, (x, y) in places
        if not shapely.contains_xy(free, table.at_m[0] + c * x - s * y, table.at_m[1] + s * x + c * y)
    )


def _anywhere(room: ModelRoom, found: People) -> None:
    """Somebody in the middle of the floor, where the model has neither chairs nor tables.

    An area would say it better, but a room needs a talker beside its areas.
    """
    outline = Polygon(room.outline_m)
    inner = outline.buffer(-AREA_FROM_WALL_M, join_style="mitre")
    whole = max(shapely.get_parts(inner).tolist(), key=lambda part: part.area, default=outline)
    middle = (whole if not whole.is_empty else outline).representative_point()
    found.standing.append(Written("P1", (("id", "P1"), ("at", (float(middle.x), float(middle.y))))))
    found.doubts.append(Doubt("P1", "people-by-default", "guessed"))
