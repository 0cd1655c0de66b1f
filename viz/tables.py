"""Tables and sentences on the terminal: readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from scenes import words
from scenes.findings.heights import ArrayHeights
from scenes.findings.review import Review
from scenes.review.cautions import cautions_line
from scenes.spec.lengths import readable_length

if TYPE_CHECKING:
    from scenes.review.changes import Change
    from scenes.room.scene import Scene

STATE_STYLES = {"covered": "#1B7F79", "marginal": "#E0A100", "missed": "bold #B23A48"}
VERDICT_STYLES = {"pass": "bold #1B7F79", "caution": "bold #E0A100", "fail": "bold #B23A48"}


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


def fine_text(metres: float, units: str) -> str:
    """A clearance, to the millimetre in metric rooms: in centimetres what is short can read as enough."""
    return long_text(metres, units) if units in ("ft", "in") else f"{metres:.3f}"


def short_text(metres: float, units: str) -> str:
    """A margin: centimetres of a metre, or feet and inches; millimetres (64ths) where that would round it to nothing."""
    if units in ("ft", "in"):
        text = words.length(metres, units)
        return readable_length(metres, units, inch_fraction=64) if text == '0"' else text
    text = f"{metres:+.2f}"
    if text in ("+0.00", "-0.00"):
        text = f"{metres:+.3f}"
    return "0.00" if text in ("+0.000", "-0.000") else text


def heads_table(review: Review) -> Table:
    """One row per head: mark, id, array, depression, off-centre, slant, margin, and the state with its why."""
    units = review.scene.units
    unit = unit_suffix(units)
    several = len(review.arrays) > 1
    columns = ["", "talker", "array", "angle", "off", f"slant{unit}", f"margin{unit}", "state"]
    if not several:
        columns.remove("array")
    table = plain_table(*columns, right=tuple(range(len(columns) - 5, len(columns) - 1)))
    for head in review.heads:
        style = STATE_STYLES[head.state]
        state = head.state if head.reason is None else f"{head.state}: {head.reason}"
        if head.sight == "blocked":
            state += f"; blocked by {head.blocked_by}"
        table.add_row(
            Text(words.STATE_MARKS[head.state], style),
            escape(head.id),
            *([escape(head.array)] if several else []),
            f"{head.depression_deg:.1f}°",
            words.signed_deg(head.off_centre_deg),
            long_text(head.slant_m, units),
            Text(short_text(head.margin_m, units), style),
            escape(state),
        )
    return table


def arrays_table(review: Review) -> Table:
    """One row per array: where it hangs, in which band, and what it does there."""
    return hanging_table(
        [
            (
                a.id,
                (*a.at_m, a.height_m, a.drop_m),
                (a.band_name, a.low_deg, a.high_deg),
                sum(words.talkers([review.head(id) for id in a.heads]).values()),
                a.margin_m,
            )
            for a in review.arrays
        ],
        review.scene.units,
    )


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


def clearances_table(review: Review, *, all_of_them: bool = False) -> Table | None:
    """The clearances that are short, unjudged or switched off (or all); None if there is nothing to tell."""
    units = review.scene.units
    told = [c for c in review.clearances if all_of_them or c.state != "clear"]
    if not told:
        return None
    unit = unit_suffix(units)
    table = plain_table("array", "against", "rule", f"need{unit}", f"have{unit}", "state", right=(3, 4))
    for c in told:
        style = VERDICT_STYLES["fail" if c.state == "short" and c.binding else "caution"]
        table.add_row(
            escape(c.array),
            escape(c.against),
            escape(f"{c.rule} ({c.part})"),
            "–" if c.required_m is None else fine_text(c.required_m, units),
            "–" if c.actual_m is None else fine_text(c.actual_m, units),
            Text(words.clearance_word(c), style if c.state != "clear" else ""),
        )
    return table


def print_review(out: Console, review: Review, *, all_of_them: bool = False) -> None:
    """The whole review for people, ending with the verdict in plain words."""
    scene = review.scene
    units = scene.units
    where = f", {escape(scene.project)}" if scene.project else ""
    out.print(
        f"[bold]{escape(scene.name)}[/bold]{where}: {words.area(scene.room.area_m2, scene.units)}, "
        f"{scene.room.ceiling_kind} ceiling at {words.length(scene.room.ceiling_m, units)}"
    )
    out.print(arrays_table(review))
    out.print(heads_table(review))
    table = clearances_table(review, all_of_them=all_of_them)
    clear = sum(c.state == "clear" for c in review.clearances)
    if table is not None:
        out.print(table)
        for note in words.clearance_notes(
            [c for c in review.clearances if all_of_them or c.state != "clear"]
        ):
            out.print(note, style="dim", markup=False)
    if clear and not all_of_them:
        out.print(f"{words.counted(clear, 'clearance')} clear (told with --all).", style="dim")
    lines = review.blocked
    for line in lines:
        out.print(f"{words.STATE_MARKS['missed']} {escape(words.sight_phrase(line))}")
    out.print()
    closing = Text(words.VERDICT_WORDS[review.verdict] + ".", VERDICT_STYLES[review.verdict])
    out.print(closing.append(" " + " ".join(words.sentences(review)), ""))
    print_cautions(out, scene)


def print_cautions(out: Console, scene: Scene) -> None:
    """The room's cautions in one paragraph."""
    out.print(cautions_line(scene), style="dim", markup=False)


def print_heights(out: Console, rows: tuple[ArrayHeights, ...], units: str) -> None:
    """Hanging heights per band for people."""
    for row in rows:
        if not row.heads:
            out.print(
                f"[bold]{escape(row.id)}[/bold] at {words.length(row.at_m[0], units)}, "
                f"{words.length(row.at_m[1], units)} serves nobody: another array serves every talker better."
            )
            continue
        today = (
            "" if row.today_m is None else f", today {words.length(row.today_m, units)} in {row.today_band}"
        )
        out.print(
            f"[bold]{escape(row.id)}[/bold] at {words.length(row.at_m[0], units)}, "
            f"{words.length(row.at_m[1], units)} for {words.counted(row.talkers, 'talker')}{escape(today)}"
        )
        unit = unit_suffix(units)
        columns = ("band", f"covered from{unit}", f"to{unit}", f"best{unit}", f"margin{unit}", "off")
        table = plain_table(*columns, right=(1, 2, 3, 4, 5))
        for band in row.bands:
            covered = band.covered_interval_m
            table.add_row(
                f"{escape(band.name)} {band.low_deg:g}–{band.high_deg:g}°",
                *(("–", "–") if covered is None else (long_text(end, units) for end in covered)),
                "–" if band.best_m is None else long_text(band.best_m, units),
                "–" if band.best_margin_m is None else short_text(band.best_margin_m, units),
                "–" if band.mean_off_centre_deg is None else words.signed_deg(band.mean_off_centre_deg),
            )
        out.print(table)
        for band in row.bands:
            out.print(Text(words.heights_sentence(row, band, units)))


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
    closing = Text(f"Now: {words.VERDICT_WORDS[new.verdict]}.", VERDICT_STYLES[new.verdict])
    out.print(closing.append(" " + " ".join(words.sentences(new)), ""))
    print_cautions(out, new.scene)


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
