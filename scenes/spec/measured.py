"""Reading what was measured of arrays that hang: a YAML file, or the schedule's CSV with its figures written over."""

from __future__ import annotations

import csv
import io
import re
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


COLUMNS: Final = ("array", "x_off_wall_m", "y_off_wall_m", "underside_m", "level_deg", "band", "turn_deg")
"""What is read of a table's columns: those of the schedule, metres and degrees."""
_NUMBER: Final = re.compile(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?")


def read_measured(path: FilePath) -> Measured:
    """What was measured of arrays that hang. Raises `SpecMistakes` with every mistake of the file.

    A name that ends in .csv is a table with (some of) `COLUMNS`; its other columns are left alone.
    """
    file = str(path)
    text = decode(read_bytes(path, file), file)
    if path.suffix.lower() == ".csv":
        text = _as_yaml(text, file)
    marks, mistakes = read_tree(text, file)
    assert marks.root is not None
    tree = plain(marks.root)
    units = tree.get("units") if tree.get("units") in UNITS else "m"
    try:
        found = MeasuredFile.model_validate(tree, context={"unit": units})
    except ValidationError as error:
        raise SpecMistakes(file, mistakes + translated(error, marks, (), MeasuredFile), units) from None
    if mistakes:
        raise SpecMistakes(file, mistakes, units)
    return Measured(file, units, found.date, found.by, found.arrays, marks)


def _as_yaml(text: str, file: str) -> str:
    """A table as the same data in YAML, a row a line, so that mistakes are told in the table's lines."""
    rows = csv.reader(io.StringIO(text))
    head = [name.strip() for name in next(rows, [])]
    if "array" not in head:
        raise SpecMistakes(file, [mistake_at(1, 1, "", "missing-key", key="array", about="")])
    lines = ["{overtable: 1, units: m, arrays: ["]
    for row in rows:
        lines += [""] * (rows.line_num - 1 - len(lines)) + [_line(dict(zip(head, row, strict=False)))]
    return "\n".join(lines) + "]}\n"


def _line(row: dict[str, str]) -> str:
    """A row of a table as a mapping of YAML; empty where it has no array."""
    cells = {name: (row.get(name) or "").strip() for name in COLUMNS}
    if not cells["array"]:
        return ""
    told = [f"id: {_quoted(cells['array'])}"]
    x, y = cells["x_off_wall_m"], cells["y_off_wall_m"]
    if x or y:
        told.append(f"off_walls: [{_value(x)}, {_value(y)}]")
    told += [
        f"{key}: {_value(cells[name])}"
        for key, name in (("underside", "underside_m"), ("level", "level_deg"), ("turn", "turn_deg"))
        if cells[name]
    ]
    if cells["band"]:
        told.append(f"band: {_quoted(cells['band'])}")
    return "{" + ", ".join(told) + "},"


def _value(cell: str) -> str:
    """A number as it stands; anything else as text, to be told as a mistake."""
    return cell if _NUMBER.fullmatch(cell) else _quoted(cell)


def _quoted(cell: str) -> str:
    return "'" + cell.replace("'", "''") + "'"
