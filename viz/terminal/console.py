"""What the terminal's tables share: the console, columns, lengths and the cautions. Readable at 80 columns and without
colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from scenes import words
from scenes.review.cautions import cautions_line
from scenes.spec.lengths import readable_length

if TYPE_CHECKING:
    from scenes.room.scene import Scene

STATE_STYLES = {"covered": "#1B7F79", "marginal": "#E0A100", "missed": "bold #B23A48"}
VERDICT_STYLES = {"pass": "bold #1B7F79", "caution": "bold #E0A100", "fail": "bold #B23A48"}
CLEARANCE_STYLES = {
    "clear": "",
    "short": VERDICT_STYLES["fail"],
    "advised": VERDICT_STYLES["caution"],
    "unjudged": VERDICT_STYLES["caution"],
    "off": VERDICT_STYLES["caution"],
}


def console(*, stderr: bool = False) -> Console:
    """A console that never wraps a table narrower than 80 columns and highlights nothing by guess."""
    made = Console(stderr=stderr, highlight=False)
    if made.width < 80:
        made = Console(stderr=stderr, highlight=False, width=80)
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


def unit_suffix(units: str) -> str:
    """What to put behind a column's name: metric tables carry the unit there and not in every cell."""
    return "" if units in ("ft", "in") else ", m"


def long_text(metres: float, units: str) -> str:
    return words.length(metres, units).removesuffix(" m")


def short_text(metres: float, units: str) -> str:
    """A margin: centimetres of a metre, or feet and inches; millimetres (64ths) where that would round it to nothing."""
    if units in ("ft", "in"):
        text = words.length(metres, units)
        return readable_length(metres, units, inch_fraction=64) if text == '0"' else text
    text = f"{metres:+.2f}"
    if text in ("+0.00", "-0.00"):
        text = f"{metres:+.3f}"
    return "0.00" if text in ("+0.000", "-0.000") else text


Hung = tuple[str, tuple[float, float, float, float], tuple[str, float, float], int, float | None]


def hanging_table(arrays: Sequence[Hung], units: str) -> Table:
    """One row per array of (id, (x, y, height, drop), (band, low, high), heads served, margin)."""
    unit = unit_suffix(units)
    names = (
        "array",
        f"x{unit}",
        f"y{unit}",
        f"height{unit}",
        f"drop{unit}",
        "band",
        "serves",
        f"margin{unit}",
    )
    table = plain_table(*names, right=(1, 2, 3, 4, 6, 7))
    for id, lengths, (band, low, high), serves, margin in arrays:
        table.add_row(
            escape(id),
            *(long_text(value, units) for value in lengths),
            f"{escape(band)} {low:g}–{high:g}°",
            str(serves),
            "–" if margin is None else short_text(margin, units),
        )
    return table


def print_cautions(out: Console, scene: Scene) -> None:
    """The room's cautions in one paragraph."""
    out.print(cautions_line(scene), style="dim", markup=False)
