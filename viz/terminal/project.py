"""The rooms of a project on the terminal: a line a room, what needs somebody first, cautions once for all."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from viz.terminal.console import VERDICT_STYLES, plain_table
from viz.words import projects
from viz.words.locale import Locale
from viz.words.projects import RoomLine, State

STYLES: Final[dict[State, str]] = {
    "not read": VERDICT_STYLES["fail"],
    "none": VERDICT_STYLES[None],
    "fail": VERDICT_STYLES["fail"],
    "caution": VERDICT_STYLES["caution"],
    "pass": VERDICT_STYLES["pass"],
}
COLUMNS: Final = ("number", "room", "verdict", "covered", "open")


def rooms_table(lines: Sequence[RoomLine]) -> Table:
    """One row a room: number, name, verdict, how many are covered, what is open."""
    locale = Locale("m")
    table = plain_table(*(locale.say(f"column.{name}") for name in COLUMNS), right=(3,))
    table.columns[0].max_width, table.columns[1].max_width, table.columns[2].max_width = 8, 22, 14
    for one in projects.in_order(lines):
        table.add_row(
            escape(one.number),
            escape(one.name),
            Text(one.verdict, STYLES[one.state]),
            one.covered,
            escape(one.open),
        )
    return table


def print_project(out: Console, project: str, lines: Sequence[RoomLine]) -> None:
    """The table of a project, what stands in it in a line, and what is open in every room."""
    out.print(f"[bold]{escape(projects.heading(project, lines))}[/bold]")
    out.print(rooms_table(lines))
    out.print(Locale("m").say("rooms.overhead"), style="dim", markup=False)
