"""What differs between two revisions, on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from scenes.findings.review import Review
from scenes.review.changes import Change
from viz.terminal.console import VERDICT_STYLES, plain_table, print_cautions
from viz.words import verdict
from viz.words.locale import Locale


def print_changes(out: Console, told: Sequence[Change], new: Review) -> None:
    """What differs between two revisions, for people."""
    if not told:
        out.print("Nothing differs.")
        print_cautions(out, new.scene)
        return
    table = plain_table("what", "id", "which", "before", "now")
    for change in told:
        table.add_row(
            change.kind,
            escape(change.id),
            escape(change.what),
            escape(change.before or "–"),
            escape(change.after or "–"),
        )
    out.print(table)
    closing = Text(f"Now: {verdict.word(new.verdict, Locale.of(new.scene))}.", VERDICT_STYLES[new.verdict])
    out.print(closing.append(" " + " ".join(verdict.whole(new)), ""))
    print_cautions(out, new.scene)
