"""How far a command has come: told on the terminal's standard error, gone when it is over, nothing elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.markup import escape

from viz.terminal.console import console


@contextmanager
def progress_bar(out: Console) -> Iterator[Callable[[str, float], None]]:
    """Something to call with what is being made and the share done: a bar on a terminal, nothing elsewhere."""
    if not out.is_terminal:
        yield lambda what, share: None
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=out, transient=True) as bar:
        task = bar.add_task("starting", total=1.0)
        yield lambda what, share: bar.update(task, completed=share, description=escape(what))


class Searching:
    """A line on the terminal's standard error that says how far the search has come; gone when it is over.

    Where standard error is no terminal nothing is told.
    """

    def __init__(self, begin: str, to: Console | None = None) -> None:
        self.out = console(stderr=True) if to is None else to
        self.status = self.out.status(escape(begin))

    def __enter__(self) -> Searching:
        if self.out.is_terminal:
            self.status.start()
        return self

    def __call__(self, said: str) -> None:
        self.status.update(escape(said))

    def __exit__(self, *_: object) -> None:
        self.status.stop()
