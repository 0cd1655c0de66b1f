"""What the terminal's tables share: the console, columns, lengths and the cautions. Readable at 80 columns and without
colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from viz.words import cautions
from viz.words.arrays import ArrayText
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.findings.review import Review
    from scenes.room.scene import Scene

STATE_STYLES = {
    "covered": "#1B7F79",
    "marginal": "#E0A100",
    "blocked": "bold #B23A48",
    "missed": "bold #B23A48",
}
VERDICT_STYLES = {None: "bold", "pass": "bold #1B7F79", "caution": "bold #E0A100", "fail": "bold #B23A48"}
CLEARANCE_STYLES = {
    "clear": "",
    "short": VERDICT_STYLES["fail"],
    "advised": VERDICT_STYLES["caution"],
    "unjudged": VERDICT_STYLES["caution"],
    "off": VERDICT_STYLES["caution"],
}


class _Laid(Console):
    """A console that lays out what its stream will show: letters that the stream has to say otherwise (`°` as `deg`)
    are said so before columns get their widths."""

    def print(self, *objects: Any, **options: Any) -> None:
        """Print, as the console it extends does."""
        super().print(*(self._shown(one) if isinstance(one, Text) else one for one in objects), **options)

    def render_str(self, text: str, **options: Any) -> Text:
        """The text as the stream shows it."""
        return super().render_str(self._letters(text), **options)

    def _shown(self, text: Text) -> Text:
        parts = [(self._letters(part.text), part.style or "") for part in text.render(self)]
        return Text.assemble(*parts)

    def _letters(self, text: str) -> str:
        encoding, errors = self.encoding, getattr(self.file, "errors", None)
        if encoding.startswith("utf") or errors is None:
            return text
        return text.encode(encoding, errors).decode(encoding, "surrogateescape")


def console(*, stderr: bool = False) -> Console:
    """A console that never wraps a table narrower than 80 columns, highlights nothing by guess and prints names as they
    are written (`:door:` is no picture)."""
    made = _Laid(stderr=stderr, highlight=False, emoji=False)
    if made.width < 80:
        made = _Laid(stderr=stderr, highlight=False, emoji=False, width=80)
    return made


def plain_table(*columns: str, right: Sequence[int] = (), title: str | None = None) -> Table:
    """A table without lines at its sides. Numbers (the `right` columns) are never cut; words may wrap."""
    table = Table(
        box=SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        title=title,
        title_justify="left",
        title_style="bold",
    )
    for i, column in enumerate(columns):
        if i in right:
            table.add_column(column, justify="right", no_wrap=True)
        else:
            table.add_column(column, overflow="fold")
    return table


def hanging_table(arrays: Sequence[ArrayText], locale: Locale) -> Table:
    """One row per array: where it hangs, in which band, how many it serves and its margin."""
    names = ("array", "x", "y", "height", "drop", "band", "serves", "margin")
    columns = [locale.say(f"column.{name}") for name in names]
    table = plain_table(*columns, right=(1, 2, 3, 4, 6, 7))
    for one in arrays:
        cells = (one.id, one.x, one.y, one.height, one.drop, one.band, one.serves, one.margin)
        table.add_row(*(escape(cell) for cell in cells))
    return table


def print_cautions(out: Console, scene: Scene, review: Review | None, *, full: bool = False) -> None:
    """What is open in a room in one line, as far as it is judged; in full every caution before it."""
    if full:
        for caution in cautions.full(scene):
            out.print(f"[bold]{escape(caution.title)}.[/bold] {escape(caution.text)}")
        out.print(cautions.closing(Locale.of(scene)), markup=False)
    said = cautions.advice(Locale.of(scene)) if review is None else cautions.line(review)
    out.print(said, style="dim", markup=False)
