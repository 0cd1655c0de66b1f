"""Tables and keyed notes in the strip of a sheet, in the small letters of tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from scenes.findings.review import Review
from viz.sheets import plan_clearances
from viz.sheets.lettering import plain, shorten, width, wrap
from viz.sheets.paper import PAD_MM, Paper
from viz.words import sheet_tables
from viz.words.sheet_tables import TableText

TABLE_MM: Final = 1.8
"""Height of capitals in tables on paper."""
ROW_MM: Final = 3.3
GAP_MM: Final = 1.0
"""Between two columns."""
LEAST_ROWS: Final = 3
"""A table of which less can be shown is left to the report."""


def of_the_ceiling(review: Review, paper: Paper, left: float, right: float, y: float, bottom: float) -> None:
    """What a ceiling plan has beside it: keyed notes, the rules by number, the devices with their places."""
    notes = [note for note, _ in plan_clearances.keyed(review)]
    if notes:
        y = keyed_notes(paper, notes, left, right, y, bottom) - 1.0
    for made in (sheet_tables.rules(review), sheet_tables.devices(review.scene)):
        y = table(paper, made, left, right, y, bottom)


def table(paper: Paper, made: TableText, left: float, right: float, y: float, bottom: float) -> float:
    """A table as far as there is room, with how many rows are left out; where it ends, or `y` where it has no room."""
    room = right - left - 2 * PAD_MM
    rows = [tuple(map(plain, row)) for row in made.rows]
    fits = int((y - bottom - 2.0) / ROW_MM) - 2
    if not rows or fits < min(LEAST_ROWS, len(rows)):
        return y
    if len(rows) > fits:
        rest = paper.draft.locale.say("sheet.table.more", more=len(rows) - fits + 1)
        rows = [*rows[: fits - 1], (rest, *[""] * (len(made.columns) - 1))]
    at, wide = _columns(made.columns, rows, room)
    x = left + PAD_MM
    y -= ROW_MM + 0.6
    paper.text(shorten(made.title, TABLE_MM, room, "semibold"), x, y, height=TABLE_MM, weight="semibold")
    for row, role in ((made.columns, "title label"), *((row, "title") for row in rows)):
        y -= ROW_MM
        for number, cell in enumerate(row):
            # figures stand under each other
            figure = number >= len(row) - made.figures
            over = room if not any(row[1:]) else wide[number]
            text = shorten(cell, TABLE_MM, over)
            end = x + at[number] + (wide[number] if figure else 0.0)
            paper.text(text, end, y, height=TABLE_MM, align="right" if figure else "left", role=role)
    y -= 1.6
    paper.line("frame thin", left, y, right, y)
    return y


def _columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], room: float
) -> tuple[list[float], list[float]]:
    """Where the columns begin and how wide they are: as wide as their letters, the second takes what is left."""
    wide = [
        max(width(cell, TABLE_MM) for cell in (head, *(row[i] for row in rows if any(row[1:])))) + 0.2
        for i, head in enumerate(heads)
    ]
    over = room - sum(wide) - GAP_MM * (len(wide) - 1)
    wide[1] += over
    return [sum(wide[:i]) + GAP_MM * i for i in range(len(wide))], wide


def keyed_notes(
    paper: Paper, notes: Sequence[str], left: float, right: float, y: float, bottom: float
) -> float:
    """Notes by number as far as there is room; where they end."""
    say, x = paper.draft.locale.say, left + PAD_MM
    if y - 3 * ROW_MM < bottom:
        return y
    y -= ROW_MM
    paper.text(say("sheet.keyed.title"), x, y, height=TABLE_MM, weight="semibold")
    for number, note in enumerate(notes, 1):
        lines = wrap(plain(say("sheet.keyed", number=number, note=note)), TABLE_MM, right - left - 2 * PAD_MM)
        if y - len(lines) * ROW_MM < bottom + 3.0:
            paper.text(say("sheet.table.more", more=len(notes) - number + 1), x, y - ROW_MM, height=TABLE_MM)
            return y - ROW_MM - 1.6
        for line in lines:
            y -= ROW_MM
            paper.text(line, x, y, height=TABLE_MM)
        y -= 0.8
    return y
