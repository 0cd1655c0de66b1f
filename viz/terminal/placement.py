"""A placement on the terminal: its texts from viz/words, in tables and below them."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from scenes.findings.ladder import Ladder
from scenes.findings.review import Review
from scenes.place.placement import Placement
from viz.terminal.console import VERDICT_STYLES, hanging_table, plain_table
from viz.words import aims, ladder, verdict, ways
from viz.words import placement as words
from viz.words.locale import Locale


def print_placement(
    out: Console,
    placement: Placement,
    unconstrained: Placement | None,
    beside: Placement | None = None,
    *,
    tell_lattice: bool = True,
) -> None:
    """The places, all aims beside each other, and what stands in the way, for people."""
    locale = Locale.of(placement.scene)
    if placement.arrays:
        out.print(hanging_table(words.hanging(placement, locale), locale))
        for sentence in words.lattice(placement, locale) if tell_lattice else ():
            out.print(Text(sentence))
        print_ways(out, placement)
    out.print(aims_table(placement, out))
    for line in aims.key(placement, locale):
        out.print(Text(line, "dim"))
    for sentence in words.closing(placement, unconstrained, beside, locale):
        out.print(Text(sentence))


LEAST_NEEDED = ("spread", "from centre")
"""Columns of the aims that are left out, in this order, where a terminal is too narrow for all; the report has them."""


WIDE = 1000
"""Columns of a terminal on which nothing has to be wrapped: for measuring."""


def aims_table(placement: Placement, out: Console) -> Table:
    """The aims beside each other, the one taken marked; with what hangs on the lattice above them.

    No word and no number is cut: as many columns as there is room for.
    """
    names = ["aim", "height", "band", "margin", "distance", "from centre", "spread", "proof"]
    table = _aims_table(placement, names)
    for name in LEAST_NEEDED:
        if out.measure(table, options=out.options.update(width=WIDE)).maximum > out.width:
            names.remove(name)
            table = _aims_table(placement, names)
    return table


def _aims_table(placement: Placement, names: Sequence[str]) -> Table:
    locale = Locale.of(placement.scene)
    # a heading of several words does not widen its column
    columns = ["\n".join(locale.say(f"column.{name}").split()) for name in names]
    words_at = [names.index(name) for name in ("aim", "band", "proof")]
    table = plain_table(*columns, right=[i for i in range(len(names)) if i not in words_at])
    for i in words_at:
        table.columns[i].no_wrap = True
    for row in aims.aims(placement, locale):
        cells = {
            "height": row.height,
            "band": row.band,
            "margin": row.margin,
            "distance": row.distance,
            "from centre": row.from_centre,
            "spread": row.spread,
            "proof": row.proof,
        }
        aim = Text(row.marked(locale), "bold" if row.chosen else "")
        table.add_row(aim, *(escape(cells[name]) for name in names[1:]))
    return table


def print_ways(out: Console, placement: Placement) -> None:
    """How far each array may move each way while everybody stays covered, and while every rule holds."""
    locale = Locale.of(placement.scene)
    names = ("array", "way", "covered for", "first out", "clear for", "rule")
    table = plain_table(*(locale.say(f"column.{name}") for name in names), right=(2, 4))
    for id, way in ways.ways(placement, locale):
        table.add_row(*(escape(cell) for cell in (id, *way)))
    if table.row_count:
        out.print(table)
    for sentence in ways.below_the_ways(placement, locale):
        out.print(Text(sentence))


def print_verdict(out: Console, judged: Review, today: Review | None) -> None:
    """The file's own place beside the one found, and the verdict on the room as proposed."""
    out.print(Text(words.standing(today, judged)))
    word = verdict.word(judged.verdict, Locale.of(judged.scene))
    closing = Text(f"{word}.", VERDICT_STYLES[judged.verdict])
    out.print(closing.append(" ".join(("", *verdict.whole(judged)))))


def print_ladder(out: Console, rungs: Ladder, locale: Locale) -> None:
    """What each number of arrays comes to, and how many it takes."""
    table = plain_table(*ladder.head(locale), right=(0, 2, 3, 4, 5), title=ladder.title(locale))
    for row in ladder.rows(rungs, locale):
        table.add_row(*(escape(cell) for cell in row))
    out.print(table)
    for sentence in ladder.sentences(rungs, locale):
        out.print(Text(sentence))
