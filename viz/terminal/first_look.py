"""A room before every array has a place, on the terminal: that there is no verdict yet, and what to type next."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.markup import escape

from scenes.findings.review import Review
from viz.terminal.console import print_cautions
from viz.words import first_look, verdict
from viz.words.locale import Locale


def print_first_look(out: Console, look: Review, file: Path) -> None:
    """What room it is, that there is no verdict and why, what to type next."""
    locale = Locale.of(look.scene)
    title, rest = verdict.heading(look.scene)
    out.print(f"[bold]{escape(title)}[/bold]{escape(rest)}")
    out.print(f"[bold]{verdict.word(None, locale)}.[/bold] {escape(' '.join(first_look.sentences(look)))}")
    out.print(first_look.next_step(look, file), markup=False)
    print_cautions(out, look.scene, None)
