"""What differs between two revisions, on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from scenes.findings.changes import Change
from scenes.findings.review import Review
from viz.terminal.console import VERDICT_STYLES, plain_table, print_cautions
from viz.words import changes, verdict
from viz.words.locale import Locale

COLUMNS = ("what", "id", "which", "before", "now")


def print_changes(out: Console, found: Sequence[Change], new: Review) -> None:
    """What differs between two revisions, for people."""
    locale = Locale.of(new.scene)
    if not found:
        out.print(changes.none(locale))
        print_cautions(out, new.scene, new)
        return
    table = plain_table(*(locale.say(f"column.{name}") for name in COLUMNS))
    for change in found:
        text = changes.row(change, locale)
        table.add_row(*map(escape, (text.kind, text.id, text.what, text.before, text.after)))
    out.print(table)
    closing = Text(changes.now(verdict.word(new.verdict, locale), locale), VERDICT_STYLES[new.verdict])
    out.print(closing.append(" " + " ".join(verdict.whole(new)), ""))
    print_cautions(out, new.scene, new)
