"""The cover sheet over many rooms as PDF: what is in the building, and the list of its drawings.

Set by typst from `drawing_list.typ`, PDF/A-2b and PDF/UA-1. The same rooms give the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from geometry.records import record
from viz.schedule_sheet import WIDE
from viz.sheets import PAPERS
from viz.sheets.drawing import UNDATED
from viz.sheets.lettering import plain
from viz.typeset import set_document
from viz.words import projects
from viz.words.locale import DASH, Locale
from viz.words.projects import RoomLine

COLUMNS: Final = ("number", "room", "document", "revision", "date", "drawing")


@record(frozen=True)
class RoomSheets:
    """The drawings of a room: its line in the index, what its title blocks say, each sheet's title, and where."""

    line: RoomLine
    document: str | None
    revision: str | None
    date: str | None
    folder: str
    titles: tuple[str, ...]


def drawing_list_pdf(
    project: str, rooms: Sequence[RoomSheets], *, arrays: int, paper: str = "A4", date: str | None = None
) -> bytes:
    """The cover sheet. `date` (YYYY-MM-DD) is the file's where no room has one. Raises FontMissing, ValueError."""
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPERS)}")
    return set_document(Path(__file__), _data(project, rooms, arrays, paper, date), keep=("title",))


def _data(
    project: str, rooms: Sequence[RoomSheets], arrays: int, paper: str, date: str | None
) -> dict[str, Any]:
    """All that the sheet says, as its template takes it."""
    locale = Locale("m")
    say, lines = locale.say, [room.line for room in rooms]
    dates = sorted(room.date for room in rooms if room.date)
    title = say("drawings.title")
    return {
        "title": f"{project}: {title}" if project else title,
        "project": plain(project or title),
        "of": projects.heading(title, lines),
        "drawings": say("drawings.of", sum(len(room.titles) for room in rooms)),
        "date": date or (dates[-1] if dates else UNDATED),
        "paper": WIDE[paper],
        "head": [say(f"drawings.{name}") for name in COLUMNS],
        "rooms": [_room(room) for room in rooms],
        "page": say("report.heading.of"),
        "note": say("rooms.overhead"),
        "arrays": locale.counted(arrays, "array"),
    }


def _room(room: RoomSheets) -> dict[str, Any]:
    line = room.line
    named = (line.number, line.name, room.document or DASH, room.revision or DASH, room.date or DASH)
    return {
        "cells": [plain(one) for one in named],
        "storey": plain(line.storey),
        "state": line.state,
        "verdict": line.verdict,
        "titles": [plain(title) for title in room.titles],
        "folder": room.folder,
    }
