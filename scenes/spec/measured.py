"""What was measured of arrays that hang: as YAML, or in the measured columns of a schedule's table."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Annotated, Final

from pydantic import Field, ValidationError

from geometry.records import record
from scenes.spec.lengths import UNITS, Unit
from scenes.spec.mistakes import SpecMistakes, mistake_at
from scenes.spec.reading import read_bytes
from scenes.spec.validation import translated
from scenes.spec.values import (
    Date,
    Degrees,
    Distance,
    Extent,
    Id,
    Text,
    Version,
    Written,
    list_of,
)
from scenes.spec.yaml_tree import Marks, decode, plain, read_tree

Pair = Annotated[tuple[Distance, Distance], list_of(2, 2, "point")]


class MeasuredArray(Written):
    """One array as it hangs; what is left out was not measured."""

    id: Id
    off_walls: Pair | None = Field(
        None, description="square off the two walls of its hang card, in the card's order"
    )
    underside: Extent | None = Field(None, description="above the finished floor beneath it")
    level: Degrees | None = Field(None, description="how far out of level it hangs, degrees")
    band: Id | None = None
    turn: Degrees | None = None


class MeasuredFile(Written):
    """What was measured in a room."""

    overtable: Version
    units: Unit
    room: Text | None = Field(None, description="the room's name, where it is to be checked")
    date: Date | None = None
    by: Text | None = None
    arrays: tuple[MeasuredArray, ...] = Field(min_length=1)


@record(frozen=True)
class Measured:
    """What was measured, with where each value stands in its file."""

    file: str
    units: str
    date: str | None
    by: str | None
    arrays: tuple[MeasuredArray, ...]
    marks: Marks
    room: str | None = None
    rows: tuple[TableRow, ...] = ()


@record(frozen=True, slots=True)
class TableRow:
    """A row of a table as it stands: its line, and its cells by column."""

    line: int
    cells: Mapping[str, str]


COLUMNS: Final = (
    *("measured_x_off_wall", "measured_y_off_wall", "measured_underside", "measured_unit"),
    *("measured_level_deg", "measured_band", "measured_turn_deg", "measured_on", "measured_by"),
)
"""What is written into a schedule's table when its arrays hang; all of its other columns are the design's.

Lengths are in the row's `measured_unit`, or with their own, such as 7'-0 1/2".
"""
WRITTEN: Final = tuple(name for name in COLUMNS if name != "measured_unit")
_NUMBER: Final = re.compile(r"[-+]?\d+(\.\d+)?")
_BARE: Final = re.compile(r"[-+]?(\d+[ -])?\d+([./]\d+)?")
"""A length without a unit: 3300, 84.5, 84 1/2."""


def read_measured(path: FilePath, room: str | None = None) -> Measured:
    """What was measured of arrays that hang. Raises `SpecMistakes` with every mistake of the file.

    A name that ends in .csv is a table: a schedule of one room or several, with `COLUMNS` filled in. `room` is the one
    asked about: rows of other rooms are left out, and a file of other rooms only is refused.
    """
    file = str(path)
    text = decode(read_bytes(path, file), file)
    rows: tuple[TableRow, ...] = ()
    if path.suffix.lower() == ".csv":
        rows = _of_room(_rows(text, file), room, file)
        text = _as_yaml(rows, file)
    marks, mistakes = read_tree(text, file)
    assert marks.root is not None
    tree = plain(marks.root)
    units = tree.get("units") if tree.get("units") in UNITS else "m"
    try:
        found = MeasuredFile.model_validate(tree, context={"unit": units})
    except ValidationError as error:
        raise SpecMistakes(file, mistakes + translated(error, marks, (), MeasuredFile), units) from None
    if room is not None and found.room is not None and found.room != room:
        mistakes.append(marks.mistake(("room",), "measured-elsewhere", room=room))
    if mistakes:
        raise SpecMistakes(file, mistakes, units)
    return Measured(file, units, found.date, found.by, found.arrays, marks, found.room, rows)


def _rows(text: str, file: str) -> list[TableRow]:
    """The rows of a table that are about an array. Raises `SpecMistakes` where nothing can be read of it."""
    lines = csv.reader(io.StringIO(text.removeprefix("\ufeff")), delimiter=_delimiter(text))
    head = [name.strip() for name in next(lines, [])]
    if "array" not in head:
        raise SpecMistakes(file, [mistake_at(1, 1, "", "missing-key", key="array", about="")])
    if not set(head) & set(WRITTEN):
        raise SpecMistakes(file, [mistake_at(1, 1, "", "measured-no-column", columns=WRITTEN)])
    rows = []
    for row in lines:
        cells = {name: cell.strip() for name, cell in zip(head, row, strict=False)}
        cells["array"] = cells.get("array", "").removeprefix("'")
        if cells["array"]:
            rows.append(TableRow(lines.line_num, cells))
    return rows


def _delimiter(text: str) -> str:
    """What stands between cells: a semicolon where a spreadsheet saved it so."""
    head = text.partition("\n")[0]
    return ";" if head.count(";") > head.count(",") else ","


def _of_room(rows: list[TableRow], room: str | None, file: str) -> tuple[TableRow, ...]:
    """The rows of the room asked about. Raises `SpecMistakes` where all are of others."""
    named = [row for row in rows if row.cells.get("room")]
    if room is None or not named:
        return tuple(rows)
    own = tuple(row for row in named if row.cells["room"].removeprefix("'") == room)
    if not own:
        first = named[0]
        raise SpecMistakes(
            file,
            [mistake_at(first.line, 1, "room", "measured-elsewhere", first.cells["room"], room=room)],
        )
    return own


def _as_yaml(rows: Sequence[TableRow], file: str) -> str:
    """What is written into a table as the same data in YAML, a row a line, so that mistakes are told in its lines.

    A row into which nothing is written is of an array that was not measured.
    """
    told = [row for row in rows if any(row.cells.get(name) for name in WRITTEN)]
    if not told:
        raise SpecMistakes(file, [mistake_at(1, 1, "", "measured-nothing", columns=WRITTEN)])
    units = {row.cells["measured_unit"] for row in told if row.cells.get("measured_unit")}
    unit = units.pop() if len(units) == 1 else "m"
    about = [f"overtable: 1, units: {unit if unit in UNITS else 'm'}"]
    for key, name in (("date", "measured_on"), ("by", "measured_by")):
        if values := [row.cells[name] for row in told if row.cells.get(name)]:
            # rows measured on several days: the last of them
            about.append(f"{key}: {_quoted(max(values) if key == 'date' else values[0])}")
    lines = ["{" + ", ".join(about) + ", arrays: ["]
    for row in told:
        lines += [""] * (row.line - 1 - len(lines)) + [_line(row.cells)]
    return "\n".join(lines) + "]}\n"


def _line(cells: Mapping[str, str]) -> str:
    """What is written into a row as a mapping of YAML."""
    unit = cells.get("measured_unit") or "m"
    told = [f"id: {_quoted(cells['array'])}"]
    x, y = (cells.get(f"measured_{axis}_off_wall", "") for axis in "xy")
    if x or y:
        told.append(f"off_walls: [{_length(x, unit)}, {_length(y, unit)}]")
    if underside := cells.get("measured_underside"):
        told.append(f"underside: {_length(underside, unit)}")
    told += [
        f"{key}: {_value(cells[name])}"
        for key, name in (("level", "measured_level_deg"), ("turn", "measured_turn_deg"))
        if cells.get(name)
    ]
    if cells.get("measured_band"):
        told.append(f"band: {_quoted(cells['measured_band'])}")
    return "{" + ", ".join(told) + "},"


def _length(cell: str, unit: str) -> str:
    """A length with its unit; one that has its own, or is none, as it stands."""
    if not _BARE.fullmatch(cell):
        return _quoted(cell)
    if _NUMBER.fullmatch(cell) or unit in ("ft", "in"):
        return _quoted(f"{cell} {unit}")
    return _quoted(cell)


def _value(cell: str) -> str:
    """A number as it stands, with or without its degree; anything else as text, to be told as a mistake."""
    bare = cell.removesuffix("°").strip()
    return bare if _NUMBER.fullmatch(bare) else _quoted(cell)


def _quoted(cell: str) -> str:
    return "'" + cell.replace("'", "''") + "'"
