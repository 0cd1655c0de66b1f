"""What is ordered and cut for the arrays of a room, piece by piece, out of its schedule."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from geometry.records import record
from scenes.findings.installation import ScheduleRow

ItemName = Literal[
    "array", "box", "cable", "wires", "rod", "pole", "connection", "array support", "box support"
]
"""`cable` carries and connects; `connection` is the cable of an array that hangs by something else."""


@record(frozen=True, slots=True)
class Piece:
    """So many alike for one array: of what kind (a profile, where a box sits), how long each; None where not known."""

    item: ItemName
    kind: str | None
    length_m: float | None
    count: int
    array: str


def materials(schedule: Sequence[ScheduleRow]) -> tuple[Piece, ...]:
    """Every piece for the arrays of a schedule, in its order. Ends and fittings are as their makers give."""
    return tuple(piece for row in schedule for piece in _pieces(row))


def _pieces(row: ScheduleRow) -> Iterator[Piece]:
    hang = row.hang
    yield Piece("array", row.profile, None, 1, row.array)
    if row.box != "frame":
        yield Piece("box", row.box, None, 1, row.array)
    if hang.pieces and hang.by in ("cable", "wires", "rod", "pole"):
        yield Piece(hang.by, None, hang.piece_m, hang.pieces, row.array)
    if hang.by != "cable":
        yield Piece("connection", None, row.cable_m, 1, row.array)
    yield Piece("array support", None, hang.second_m, 1, row.array)
    if row.box != "frame":
        yield Piece("box support", None, hang.box_line_m, 1, row.array)
