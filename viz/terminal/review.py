"""The review on the terminal: arrays, talkers, what is too near, and the verdict."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from scenes import words
from scenes.findings.review import Review
from viz.terminal.console import (
    CLEARANCE_STYLES,
    STATE_STYLES,
    VERDICT_STYLES,
    hanging_table,
    long_text,
    plain_table,
    print_cautions,
    short_text,
    unit_suffix,
)
from viz.words import clearances, sight, verdict
from viz.words.locale import Locale


def heads_table(review: Review) -> Table:
    """One row per head: mark, id, array, depression, off-centre, slant, margin, and the state with its why."""
    units = review.scene.units
    locale = Locale.of(review.scene)
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
            state += f"; blocked by {sight.thing(str(head.blocked_by), review.scene, locale)}"
        table.add_row(
            Text(verdict.mark(head.state, locale), style),
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


def clearances_table(review: Review, *, all_of_them: bool = False) -> Table | None:
    """The clearances that are not clear (or all); None if there is nothing to show."""
    locale = Locale.of(review.scene)
    shown = [c for c in review.clearances if all_of_them or c.state != "clear"]
    if not shown:
        return None
    table = plain_table("array", "against", "rule", "required", "actual", "state", right=(3, 4))
    for c in shown:
        text = clearances.row(c, locale)
        table.add_row(
            escape(text.array),
            escape(text.against),
            escape(text.title),
            text.required,
            text.actual,
            Text(text.state, CLEARANCE_STYLES[c.state]),
        )
    return table


def print_review(out: Console, review: Review, *, all_of_them: bool = False) -> None:
    """The whole review for people, ending with the verdict in plain words."""
    scene = review.scene
    units = scene.units
    locale = Locale.of(scene)
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
        for note in clearances.notes(
            [c for c in review.clearances if all_of_them or c.state != "clear"], locale
        ):
            out.print(note, style="dim", markup=False)
    if clear and not all_of_them:
        out.print(clearances.others(clear, locale), style="dim")
    for text in sight.findings(review):
        out.print(f"{verdict.mark('missed', locale)} {escape(text.whole)}")
    out.print()
    closing = Text(verdict.word(review.verdict, locale) + ".", VERDICT_STYLES[review.verdict])
    out.print(closing.append(" " + " ".join(verdict.whole(review)), ""))
    print_cautions(out, scene)
