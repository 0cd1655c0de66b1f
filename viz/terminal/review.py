"""The review on the terminal: arrays, talkers, what is too near, and the verdict."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from scenes.findings.review import Review
from scenes.review.heard import heard
from scenes.review.people import people_in
from scenes.review.schedule import schedule
from viz.terminal.console import (
    CLEARANCE_STYLES,
    STATE_STYLES,
    VERDICT_STYLES,
    hanging_table,
    plain_table,
    print_cautions,
)
from viz.words import (
    areas,
    arrays,
    clearances,
    coverage,
    installation,
    layouts,
    people,
    sight,
    sound,
    verdict,
)
from viz.words import heard as heard_words
from viz.words.criteria import criteria
from viz.words.locale import Locale

FEW_ARRAYS = 4
"""Of no more arrays than this it is printed without being asked for what each hangs by."""

CLEARANCE_COLUMNS = ("array", "against", "rule", "required", "actual", "state")


def heads_table(review: Review, *, all_of_them: bool = True, shares: bool = False) -> Table:
    """One row per head, or per head that is not covered: mark, id, array, angle, distance, margin, the state with its
    why; with `shares` how many of a hundred people their place covers."""
    locale = Locale.of(review.scene)
    several = len(review.arrays) > 1
    names = ["talker", *(["array"] if several else []), "angle", "from centre", "distance", "margin", "state"]
    found = people_in(review) if shares else None
    if found:
        names.insert(-1, "people")
    columns = ["", *(locale.say(f"column.{name}") for name in names)]
    table = plain_table(*columns, right=range(columns.index(locale.say("column.angle")), len(columns) - 1))
    for head, said in zip(review.heads, coverage.talkers_of(review), strict=True):
        if head.standing == "covered" and not all_of_them:
            continue
        style = STATE_STYLES[head.standing]
        table.add_row(
            Text(said.mark, style),
            escape(said.id),
            *([escape(said.array)] if several else []),
            said.angle,
            said.from_centre,
            said.distance,
            Text(said.margin, style),
            *([people.of_hundred(found.covered_share[head.id], locale)] if found else []),
            escape(said.judged),
        )
    return table


def areas_table(review: Review) -> Table | None:
    """One row per area: mark, id, share covered, least margin and where, arrays, state; None without areas."""
    if not review.areas:
        return None
    locale = Locale.of(review.scene)
    names = ("area", "posture", "covered", "margin", "worst at", "array", "state")
    table = plain_table("", *(locale.say(f"column.{name}") for name in names), right=(3, 4))
    for one, text in zip(review.areas, areas.areas(review), strict=True):
        style = STATE_STYLES[one.state]
        table.add_row(
            Text(text.mark, style),
            escape(text.id),
            text.posture,
            text.covered,
            Text(text.margin, style),
            text.worst,
            escape(text.arrays),
            text.state,
        )
    return table


def clearances_table(review: Review, *, all_of_them: bool = False) -> Table | None:
    """The clearances that are not clear (or all); None if there is nothing to show."""
    locale = Locale.of(review.scene)
    shown = clearances.shown(review, all_of_them=all_of_them)
    if not shown:
        return None
    table = plain_table(*(locale.say(f"column.{name}") for name in CLEARANCE_COLUMNS), right=(3, 4))
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


def print_review(
    out: Console,
    review: Review,
    *,
    all_of_them: bool = False,
    cautions_in_full: bool = False,
    with_sound: bool = False,
) -> None:
    """The whole review for people, ending with the verdict in plain words and what is open."""
    scene = review.scene
    locale = Locale.of(scene)
    title, rest = verdict.heading(scene)
    out.print(f"[bold]{escape(title)}[/bold]{escape(rest)}")
    out.print(hanging_table(arrays.arrays(review), locale))
    if all_of_them or len(review.arrays) <= FEW_ARRAYS:
        for line in installation.hung_from(schedule(scene, review), review):
            out.print(line, style="dim", markup=False)
    heads = heads_table(review, all_of_them=all_of_them or not review.layouts, shares=all_of_them)
    if heads.row_count:
        out.print(heads)
    if (of_areas := areas_table(review)) is not None:
        out.print(of_areas)
    table = clearances_table(review, all_of_them=all_of_them)
    if table is not None:
        out.print(table)
        for note in clearances.notes(clearances.shown(review, all_of_them=all_of_them), locale):
            out.print(note, style="dim", markup=False)
    if review.clear and not all_of_them:
        out.print(clearances.others(len(review.clear), locale), style="dim")
    if with_sound and review.speech:
        _print_sound(out, review, locale)
    _print_verdict(out, review, locale, all_of_them=all_of_them)
    if (spoken := sound.line(review)) is not None:
        out.print(spoken, style="" if review.speech else "dim", markup=False)
    print_cautions(out, scene, review, full=cautions_in_full)


def _print_sound(out: Console, review: Review, locale: Locale) -> None:
    """A row per talker and way of facing, what else there is to say, and what the figures rest on."""
    table = plain_table(*(locale.say(f"column.{name}") for name in sound.COLUMNS), right=range(2, 7))
    for row in sound.rows(review):
        table.add_row(*(escape(cell) for cell in row))
    out.print(table)
    own = () if review.sound is None else sound.own_limits(review.sound, locale)
    for text in (*sound.bounces(review), *own):
        out.print(text, markup=False)
    for text in sound.rests_on(review):
        out.print(text, style="dim", markup=False)


def _print_verdict(out: Console, review: Review, locale: Locale, *, all_of_them: bool) -> None:
    """What blocks lines, the designer's criteria, each of several layouts in a line, and the verdict."""
    for text in () if review.layouts else sight.findings(review):
        out.print(f"{verdict.mark('missed', locale)} {escape(text.whole)}")
    if of_people := people.line(review):
        out.print(of_people, markup=False)
    if in_the_way := people.in_the_way(review):
        out.print(in_the_way, markup=False)
    if review.scene.keep_away or all_of_them:
        for other in heard_words.sentences(heard(review), locale, devices=all_of_them):
            out.print(other, markup=False)
    for criterion in criteria(review):
        out.print(criterion, markup=False)
    out.print()
    for line in layouts.lines(review):
        out.print(line, markup=False)
    closing = Text(verdict.word(review.verdict, locale) + ".", VERDICT_STYLES[review.verdict])
    said = verdict.of_all_layouts(review) if review.layouts else verdict.whole(review)
    out.print(closing.append(" " + " ".join(said), ""))
