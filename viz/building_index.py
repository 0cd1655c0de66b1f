"""The index over the rooms of a building: every room in a row, what needs somebody first."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from markupsafe import Markup

from geometry.records import record
from scenes.project.reading import ProjectRoom
from viz.handover import FRAME, Made, together
from viz.words import projects
from viz.words.locale import Locale
from viz.words.projects import STATES, RoomLine

COLUMNS: Final = (
    *("number", "room", "storey", "verdict", "covered", "arrays", "heights", "bands", "tolerance", "short"),
)
"""The columns of the index; number and storey are left out where no room has one."""
FIGURES: Final = ("covered", "arrays", "short")
HERE: Final = Path(__file__).parent / "templates" / "handover"


@record(frozen=True)
class Listed:
    """A room in the index: what the project says of it, what came of it, and its folder if it has one."""

    room: ProjectRoom
    outcome: Made | Exception
    slug: str | None
    told: str = ""
    """What is wrong with a room that could not be made."""

    @property
    def line(self) -> RoomLine:
        """Its line in the table of rooms."""
        if isinstance(self.outcome, Made):
            assert self.outcome.row is not None
            return self.outcome.row
        room = self.room
        return projects.unread(room.number, room.name or room.file, room.storey, self.outcome)


def index_html(
    project: str, listed: Sequence[Listed], documents: Sequence[tuple[str, Sequence[str]]], wrong: str = ""
) -> str:
    """The index of a project, from its rooms and the documents over all of them (a title and names each).

    `wrong` is what is wrong with the project's own file. The page works from a folder: it loads nothing.
    """
    from viz.html import rendered

    locale = Locale("m")
    rooms = [one.outcome for one in listed if isinstance(one.outcome, Made)]
    lines = sorted((_row(one) for one in listed), key=lambda row: int(row["rank"]))
    script = (HERE / "rooms.js").read_text("utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    numbers = [(state, [row["state"] for row in lines].count(state)) for state in STATES]
    has = {key: any(row["cells"].get(key) for row in lines) for key in ("number", "storey")}
    return rendered(
        "handover/project.html",
        locale,
        **FRAME,
        title=locale.say("handover.title", room=project) if project else locale.say("handover"),
        project=project,
        title_of_all=locale.counted(len(listed), "room"),
        said=projects.summary([one.line for one in listed], sum(len(made.schedule) for made in rooms)),
        wrong=wrong,
        lines=lines,
        counts=[(state, projects.word(state, locale), count) for state, count in numbers if count],
        storeys=list(dict.fromkeys(row["row"].storey for row in lines if row["row"].storey)),
        columns=[column for column in COLUMNS if has.get(column, True)],
        figures=FIGURES,
        documents=documents,
        cautions=together(rooms),
        advices=list(dict.fromkeys(made.advice for made in rooms)),
        # a file of the project's own, its digest in the page's policy: no other script is run
        script=Markup(script),
        policy=Markup(f"; script-src 'sha256-{digest}'"),
        style=Markup((HERE / "rooms.css").read_text("utf-8")),
    )


def _row(one: Listed) -> dict[str, Any]:
    """A room as the template takes it."""
    line = one.line
    made = one.outcome if isinstance(one.outcome, Made) else None
    cells: dict[str, Any] = {"number": one.room.number or "", "storey": line.storey, "covered": line.covered}
    cells |= made.summary if made is not None else dict.fromkeys(COLUMNS[5:], "")
    cells |= {"number": line.number if one.room.number else "", "storey": line.storey}
    more = one.told if made is None else made.mark
    words = (line.number, line.name, line.storey, line.verdict, line.open, more, cells["bands"])
    return {
        "row": line,
        "state": line.state,
        "rank": STATES.index(line.state),
        "slug": one.slug,
        "cells": cells,
        "more": more,
        "held": made is None or made.verdict == "fail",
        "find": " ".join(str(word) for word in words).lower(),
    }
