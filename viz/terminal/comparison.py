"""Two rooms or placements side by side, on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape

from scenes.findings.comparison import Comparison
from viz.terminal.console import plain_table, print_cautions
from viz.words import comparison


def print_comparison(out: Console, found: Comparison) -> None:
    """Which is which, the figures of both, what differs, and the cautions of both rooms."""
    out.print(f"[bold]{escape(comparison.heading(found))}[/bold]")
    for title in comparison.titles(found):
        out.print(title, markup=False)
    table = plain_table("", *comparison.LETTERS.values())
    for row in comparison.table(found):
        cells = [
            f"[bold]{escape(text)}[/bold]" if row.better == side else escape(text)
            for side, text in (("first", row.first), ("second", row.second))
        ]
        table.add_row(escape(row.name), *cells)
    out.print(table)
    for one in comparison.sentences(found):
        out.print(one, markup=False)
    for review in found.reviews:
        print_cautions(out, review.scene, review)
