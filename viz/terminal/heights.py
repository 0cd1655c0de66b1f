"""Hanging heights on the terminal, band by band."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from scenes.findings.heights import ArrayHeights
from scenes.room.scene import Scene
from viz.terminal.console import plain_table
from viz.words import heights
from viz.words.locale import Locale

COLUMNS = ("band", "allowed", "best", "margin", "from centre")


def print_heights(out: Console, scene: Scene, rows: tuple[ArrayHeights, ...]) -> None:
    """Hanging heights per band for people."""
    locale = Locale.of(scene)
    for row in rows:
        said = heights.heading(row, locale)
        out.print(Text.assemble((row.id, "bold"), said.removeprefix(row.id)))
        if not row.heads:
            continue
        columns = (locale.say(f"column.{name}") for name in COLUMNS)
        table = plain_table(*columns, right=(1, 2, 3, 4))
        for band in row.bands:
            one = heights.row_text(band, locale)
            cells = (one.band, one.allowed, one.best, one.margin, one.from_centre)
            table.add_row(*(escape(cell) for cell in cells))
        out.print(table)
        for band in row.bands:
            unkept = heights.unkept(band.unkept, scene)
            out.print(Text(" ".join((heights.allowed(band, locale), *unkept))))
            out.print(Text(heights.sentence(row, band, locale)))
        if not row.flush and any(band.allowed_m for band in row.bands):
            out.print(Text(heights.wished(scene)))
