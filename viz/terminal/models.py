"""The rooms of a model on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from scenes.findings.model import Building
from viz.terminal.console import plain_table
from viz.words import models
from viz.words.locale import Locale

COLUMNS = ("no.", "room", "area", "ceiling", "in it", "guessed")


def print_rooms(out: Console, building: Building, files: Sequence[str], locale: Locale) -> None:
    """A line a room, what was left out, and what to type next."""
    for storey in dict.fromkeys(found.storey for found in building.rooms):
        table = plain_table(
            *(locale.say(f"column.{name}") for name in COLUMNS),
            right=(2,),
            title=escape(storey) if storey else None,
        )
        for found in building.rooms:
            if found.storey == storey:
                text = models.room(found, locale)
                inside = "\n".join(one for one in (text.people, text.devices) if one)
                cells = (text.number, text.name, text.area, text.ceiling, inside, text.guessed)
                table.add_row(*map(escape, cells))
        out.print(table)
    if (skipped := models.skipped(building, locale)) is not None:
        out.print(Text(skipped), soft_wrap=True)
    out.print(Text(models.next_step(building, files, locale)), soft_wrap=True)
