"""A ladder in words: what each number of arrays comes to, and how many it takes.

Every bound is rounded so that what is said holds.
"""

from __future__ import annotations

from typing import NamedTuple

from scenes.findings.ladder import Ladder, Needed, Rung
from viz.words.locale import DASH, Locale

COLUMNS = ("arrays", "layout", "covered", "margin", "distance", "costs", "proof")
"""The columns of the table, as messages `column.…`."""


class RungText(NamedTuple):
    """One rung as a row of the table."""

    arrays: str
    layout: str
    covered: str
    margin: str
    distance: str
    costs: str
    proof: str


def head(locale: Locale) -> list[str]:
    """The columns' heads."""
    return [locale.say(f"column.{name}") for name in COLUMNS]


def rows(ladder: Ladder, locale: Locale) -> list[RungText]:
    """The rungs, one row each, from one array up."""
    return [_row(rung, ladder, locale) for rung in ladder.rungs]


def _row(rung: Rung, ladder: Ladder, locale: Locale) -> RungText:
    return RungText(
        arrays=str(rung.arrays),
        layout=layout(rung.pattern, rung.on_lattice, rung.arrays, locale),
        covered=DASH
        if rung.covered is None
        else locale.say("ladder.covered", covered=rung.covered, talkers=rung.talkers),
        margin=locale.margin(rung.margin_m),
        distance=locale.length(rung.farthest_m),
        costs=DASH if rung.costs_m is None else locale.at_most(rung.costs_m),
        proof=locale.say(f"ladder.proof.{_proof(rung, ladder)}"),
    )


def _proof(rung: Rung, ladder: Ladder) -> str:
    """What is proven of a rung: that it is the best of its layout, or that none of it covers everybody."""
    some = rung.covered is not None and rung.covered < rung.talkers
    return "not everyone" if some and rung.outcome == "certified" else rung.outcome


def layout(pattern: str, on_lattice: bool | None, arrays: int, locale: Locale) -> str:
    """How arrays are laid out: `anywhere`, `in a row on tiles`."""
    name = "middle" if pattern == "row" and arrays == 1 else pattern
    text = locale.say(f"ladder.layout.{name}")
    return locale.say("ladder.on tiles", layout=text) if on_lattice else text


def sentences(ladder: Ladder, locale: Locale) -> list[str]:
    """How many arrays leave everybody enough, layout by layout; who is idle; what the columns mean."""
    enough = locale.at_most(ladder.enough_m)
    takes = [_takes(one, ladder, locale) for one in ladder.needed if one.arrays is not None]
    lacks = [one for one in ladder.needed if one.arrays is None]
    lines = []
    if takes:
        lines.append(locale.say("ladder.takes", enough=enough, counts=locale.listed(takes, len(takes))))
    if lacks:
        named = [layout(one.pattern, one.on_lattice, ladder.most, locale) for one in lacks]
        say = "ladder.too few" if all(one.proven for one in lacks) else "ladder.none found"
        lines.append(locale.say(say, ladder.most, enough=enough, layouts=locale.either(named)))
    idle = [rung for rung in ladder.rungs if rung.idle and rung.pattern == "free"]
    if idle:
        counts = sorted({rung.arrays for rung in idle})
        lines.append(locale.say("ladder.idle", counts=locale.listed([str(count) for count in counts])))
    return [*lines, locale.say("ladder.note")]


def _takes(one: Needed, ladder: Ladder, locale: Locale) -> str:
    assert one.arrays is not None
    text = locale.say(
        "ladder.count", one.arrays, layout=layout(one.pattern, one.on_lattice, one.arrays, locale)
    )
    return text if one.proven else locale.say("ladder.count, fewer open", text=text)


def title(locale: Locale) -> str:
    """The heading of table and picture."""
    return locale.say("ladder.title")


def picture_title(ladder: Ladder, locale: Locale) -> str:
    """What the picture shows: the margin, the line for enough, and what a number beside a mark is."""
    return locale.say("ladder.picture", enough=locale.at_most(ladder.enough_m))


def arrays(count: int, locale: Locale) -> str:
    """`1 array`, `3 arrays`."""
    return locale.say("ladder.arrays", count)
