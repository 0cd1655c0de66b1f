"""The table of what changed, laid out to fit beside a plan, below it, or on pages of its own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from geometry.records import record
from viz.sheets.draft import TEXT_MM
from viz.sheets.lettering import plain, shorten, width, wrap
from viz.sheets.paper import STEP_MM, DoesNotFit, Paper
from viz.words.locale import Locale

COLUMN_GAP_MM: Final = 2.6
ROW_GAP_MM: Final = 0.8
PART_GAP_MM: Final = 6.0
HEAD_MM: Final = STEP_MM + 1.8
"""The row of headings."""


@record(frozen=True)
class Row:
    """A line of the table. `number`: the cloud's, or a dash for what has no place on plan."""

    number: str
    what: str
    before: str
    now: str


@record(frozen=True)
class Heading:
    """What stands above a table: its title, both verdicts, and a name for each column."""

    title: str
    verdicts: str
    columns: tuple[str, ...]


@record(frozen=True)
class Table:
    """A table laid out: the width of each column, and the rows of each of its parts side by side."""

    heading: Heading
    columns: tuple[float, float, float, float]
    parts: tuple[tuple[Row, ...], ...]
    rows_mm: float

    @property
    def height_mm(self) -> float:
        return self.caption_mm + HEAD_MM + self.rows_mm

    @property
    def caption_mm(self) -> float:
        """Title and verdict above the table: side by side where there is room, else one under the other."""
        return (1 if self.caption_mm_wide <= self.width_mm else 2) * STEP_MM + 1.2

    @property
    def caption_mm_wide(self) -> float:
        return width(self.heading.title, TEXT_MM, "semibold") + 5.0 + width(self.heading.verdicts, TEXT_MM)

    @property
    def part_mm(self) -> float:
        return sum(self.columns)

    @property
    def wrapped(self) -> bool:
        """Whether a cell of it has more than one line."""
        return any(
            len(lines) > 1 for part in self.parts for row in part for lines in _wrapped(row, self.columns)
        )

    @property
    def width_mm(self) -> float:
        return self.part_mm * len(self.parts) + PART_GAP_MM * (len(self.parts) - 1)


def _cells(row: Row) -> tuple[str, str, str, str]:
    return row.number, plain(row.what), plain(row.before), plain(row.now)


def _columns(rows: Sequence[Row], heading: Heading, room: float) -> tuple[float, float, float, float] | None:
    """Widths of the columns: as wide as their text, or narrower and wrapped, to fit into the room."""
    natural = [
        max(width(cell, TEXT_MM, "regular" if i else "semibold") for cell in column) + COLUMN_GAP_MM
        for i, column in enumerate(zip(heading.columns, *(_cells(row) for row in rows), strict=True))
    ]
    natural[3] -= COLUMN_GAP_MM  # nothing is to the right of the last
    left = room - natural[0]
    if left < 45.0:
        return None
    # the names first, then what is left to both others alike
    given = {1: min(natural[1], 0.4 * left)}
    left -= given[1]
    wanting = [2, 3]
    while wanting:
        share = left / len(wanting)
        short = [i for i in wanting if natural[i] <= share]
        for i in short or wanting:
            given[i] = natural[i] if short else share
            left -= given[i]
        wanting = [i for i in wanting if i not in short] if short else []
    return natural[0], given[1], given[2], given[3]


def _wrapped(row: Row, columns: Sequence[float]) -> list[list[str]]:
    return [
        wrap(cell, TEXT_MM, room - (COLUMN_GAP_MM if i < 3 else 0.0) + 1e-6)
        for i, (cell, room) in enumerate(zip(_cells(row), columns, strict=True))
    ]


def _row_mm(row: Row, columns: Sequence[float]) -> float:
    return max(len(lines) for lines in _wrapped(row, columns)) * STEP_MM + ROW_GAP_MM


def _flowed(
    rows: Sequence[Row], columns: Sequence[float], parts: int, height_mm: float
) -> list[list[Row]] | None:
    """Rows in order in parts no higher than that, or None."""
    made: list[list[Row]] = [[]]
    used = 0.0
    for row in rows:
        tall = _row_mm(row, columns)
        if used + tall > height_mm + 1e-6:
            made.append([])
            used = 0.0
            if tall > height_mm or len(made) > parts:
                return None
        made[-1].append(row)
        used += tall
    return made


def laid_out(rows: Sequence[Row], heading: Heading, room: float, parts: int) -> Table | None:
    """The lowest table of so many parts that fits into the width, or None."""
    columns = _columns(rows, heading, (room - (parts - 1) * PART_GAP_MM) / parts)
    if columns is None or len(rows) < parts:
        return None
    if parts == 1:  # no narrower than what stands above it
        above = max(width(heading.title, TEXT_MM, "semibold"), width(heading.verdicts, TEXT_MM)) + 0.1
        columns = (*columns[:3], columns[3] + max(0.0, min(above, room) - sum(columns)))
    heights = [_row_mm(row, columns) for row in rows]
    # an even split first, then a little more each time until it goes in
    height = max(sum(heights) / parts, *heights)
    while (flowed := _flowed(rows, columns, parts, height)) is None:
        height += 0.5
    return Table(heading, columns, tuple(map(tuple, flowed)), height)


def on_pages(rows: Sequence[Row], heading: Heading, wide: float, tall: float, locale: Locale) -> list[Table]:
    """The table in pages of that size, in two parts side by side where it is narrow enough. Raises DoesNotFit."""
    parts = next(n for n in (2, 1) if _columns(rows, heading, (wide - (n - 1) * PART_GAP_MM) / n) is not None)
    columns = _columns(rows, heading, (wide - (parts - 1) * PART_GAP_MM) / parts)
    assert columns is not None
    room = tall - 2 * STEP_MM - 1.2 - HEAD_MM
    left, pages = list(rows), []
    while left:
        count = len(left)
        while (flowed := _flowed(left[:count], columns, parts, room)) is None:
            count -= 1
            if count == 0:
                raise DoesNotFit(locale.say("sheet.high row"))
        pages.append(Table(heading, columns, tuple(map(tuple, flowed)), room))
        left = left[count:]
    return pages


def draw_table(page: Paper, table: Table, left: float, top: float) -> None:
    """The table with its upper left corner there."""
    title, verdict = table.heading.title, table.heading.verdicts
    title = shorten(title, TEXT_MM, table.width_mm, "semibold")
    y = top - STEP_MM + 1.0
    page.text(title, left, y, weight="semibold")
    if table.caption_mm_wide <= table.width_mm:
        page.text(verdict, left + width(title, TEXT_MM, "semibold") + 5.0, y)
    else:
        page.text(verdict, left, y - STEP_MM)
    top -= table.caption_mm
    for number, part in enumerate(table.parts):
        x0 = left + number * (table.part_mm + PART_GAP_MM)
        xs = [x0, *(x0 + sum(table.columns[:i]) for i in (1, 2, 3))]
        y = top - STEP_MM + 0.6
        for x, name in zip(xs, table.heading.columns, strict=True):
            page.text(name, x, y, role="title label")
        y = top - HEAD_MM + 0.9
        page.line("frame", x0, y, x0 + table.part_mm, y)
        y = top - HEAD_MM
        for row in part:
            cells = _wrapped(row, table.columns)
            for i, (x, lines) in enumerate(zip(xs, cells, strict=True)):
                for n, line in enumerate(lines):
                    page.text(
                        line, x, y - STEP_MM * (n + 1) + 0.7, weight="semibold" if i == 0 else "regular"
                    )
            y -= _row_mm(row, table.columns)
            page.line("frame thin", x0, y + 0.4, x0 + table.part_mm, y + 0.4)
