"""The installer's schedule of several rooms as PDF: a row an array, in its own room's units, with what is on hold.

Set by typst from `schedule_sheet.typ`, PDF/A-2b and PDF/UA-1. Its rows are those of `csvs.schedule_rows`.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from viz.csvs import SCHEDULE_COLUMNS
from viz.sheets import PAPERS
from viz.sheets.drawing import UNDATED
from viz.sheets.lettering import FIGURE, plain
from viz.typeset import set_document
from viz.words.locale import DASH, Locale

COLUMNS: Final = {
    "room": ("room",),
    "issue": ("number", "revision", "date"),
    "verdict": ("verdict",),
    "array": ("array", "profile", "mass"),
    "walls": ("x", "y"),
    "underside": ("underside",),
    "band": ("band",),
    "suspension": ("suspension",),
    "supplied_by": ("supplied_by",),
    "order_number": ("order_number",),
}
"""The sheet's columns, each of these of the schedule's, a line each; what holds a room stands with its verdict."""
SET: Final = ("walls", "underside", "band", "suspension")
"""The columns of what is set: struck out where a room is on hold."""
WIDE: Final = {"A4": "a4", "A3": "a3", "Letter": "us-letter", "Tabloid": "us-tabloid"}


def schedule_pdf(
    rows: Sequence[Sequence[object]],
    *,
    paper: str = "A4",
    date: str | None = None,
    advice: Sequence[str] = (),
) -> bytes:
    """The schedule as PDF. `date` (YYYY-MM-DD) is that of the file where no room has one. The same rows give the same
    bytes. Raises FontMissing, ValueError for another paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPERS)}")
    return set_document(Path(__file__), schedule_data(rows, paper, date, advice), keep=("title",))


def schedule_data(
    rows: Sequence[Sequence[object]], paper: str, date: str | None, advice: Sequence[str]
) -> dict[str, Any]:
    """All that the sheet says, as its template takes it."""
    say = Locale("m").say
    named = [dict(zip(SCHEDULE_COLUMNS, row, strict=True)) for row in rows]
    dates = sorted(str(row["date"]) for row in named if row["date"])
    rooms = len(dict.fromkeys((row["room"], row["number"]) for row in named))
    return {
        "title": say("schedule.title"),
        "of": say("schedule.of", arrays=say("count.array", len(named)), rooms=say("count.room", rooms)),
        "date": date or (dates[-1] if dates else UNDATED),
        "paper": WIDE[paper],
        "head": [say(f"schedule.{name}") for name in COLUMNS],
        "rows": [_row(row) for row in named],
        "page": say("report.heading.of"),
        "advice": list(advice),
    }


def _row(row: dict[str, object]) -> dict[str, Any]:
    """An array's cells, each of lines, and what holds its room."""
    say, held = Locale("m").say, bool(row["hold"])
    shown = row | {
        "suspension": row["cut_to_length"] if row["cut_to_length"] != DASH else row["suspension"],
        "verdict": say("schedule.on hold") if held else say(f"verdict.{row['verdict']}"),
        "revision": say("report.revision", revision=_text(row["revision"])),
        "supplied_by": " ",
        "order_number": " ",
    }
    cells = [
        {"lines": [_text(shown[name]) for name in names], "set": column in SET}
        for column, names in COLUMNS.items()
    ]
    return {
        "state": row["verdict"], "held": held, "cells": cells, "note": _text(row["hold"] if held else row["open"]),
    }  # fmt: skip


def _text(value: object) -> str:
    """A cell's text, a figure with its fraction or unit in one piece."""
    if value is None or value == "":
        return DASH
    return FIGURE.sub("\u00a0", plain(str(value)))
