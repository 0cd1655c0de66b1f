"""Two rooms, or two placements of one, side by side in words: a table of figures, and what differs in sentences."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from scenes.findings.comparison import SIDES, Compared, Comparison, FigureName, Otherwise, Side
from scenes.findings.review import Review, Standing
from viz.words import arrays, clearances, verdict
from viz.words.locale import DASH, Locale

LETTERS = {"first": "A", "second": "B"}
"""What the two are called; which file each is stands beside it once."""
MOST = 6
"""So many talkers or things are named before the rest is counted."""


class FigureRow(NamedTuple):
    """One line of the table: what it is, both values, and on which side it is better ("" for neither)."""

    name: str
    first: str
    second: str
    better: str


def locale_of(found: Comparison) -> Locale:
    """In whose units both are told: the first room's."""
    return Locale.of(found.first.scene)


def titles(found: Comparison) -> tuple[str, str]:
    """Which is which: `A: Heron Room, heron.yaml`."""
    locale = locale_of(found)
    first, second = (
        locale.say(
            "compare.title", side=letter, room=review.scene.name, file=Path(review.scene.source.file).name
        )
        for letter, review in zip(LETTERS.values(), found.reviews, strict=True)
    )
    return first, second


def heading(found: Comparison) -> str:
    """What is compared: the room, or both."""
    first, second = (review.scene.name for review in found.reviews)
    if first == second:
        return locale_of(found).say("compare.heading one", room=first)
    return locale_of(found).say("compare.heading two", first=first, second=second)


def table(found: Comparison) -> list[FigureRow]:
    """Every figure of both that at least one of them has, then where the arrays hang."""
    locale = locale_of(found)
    rows = []
    for one in found.figures:
        if one.first is None and one.second is None:
            continue
        if one.name in ("marginal", "blocked", "missed", "advised") and not (one.first or one.second):
            continue
        first, second = (
            _text(one, value, review, locale)
            for value, review in zip((one.first, one.second), found.reviews, strict=True)
        )
        rows.append(FigureRow(locale.say(f"compare.figure.{one.name}"), first, second, one.better or ""))
    hung = [
        [
            arrays.caption(one, locale, flush=review.scene.array(one.id).profile.mount == "flush")
            for one in review.arrays
        ]
        for review in found.reviews
    ]
    rows.append(FigureRow(locale.say("compare.figure.hung"), "; ".join(hung[0]), "; ".join(hung[1]), ""))
    return rows


def _measured(name: FigureName, value: float, locale: Locale) -> str:
    """A figure in the units it has; a plain number where it is a count."""
    texts: dict[FigureName, Callable[[float], str]] = {
        "margin": locale.margin,
        "farthest": locale.length,
        "from centre": locale.angle,
        "sideways": locale.tolerance,
        "up": locale.tolerance,
        "down": locale.tolerance,
    }
    return texts[name](value) if name in texts else f"{value:.0f}"


def _text(one: Compared, value: float | str | None, review: Review, locale: Locale) -> str:
    if value is None:
        return DASH
    if isinstance(value, str):
        return verdict.word(review.verdict, locale)
    if one.name == "covered":
        return verdict.counts(review.counts, locale)
    if one.name == "expected":
        return locale.average(value, review.counts.talkers)
    return _measured(one.name, value, locale)


def sentences(found: Comparison) -> tuple[str, ...]:
    """What differs, the most important first; one sentence that nothing does where nothing does."""
    locale = locale_of(found)
    told = [
        *_verdicts(found, locale),
        *_talkers(found, locale),
        *(_more(found.by_name[name], locale) for name in ("covered", "margin", "sideways", "farthest")),
        *_arrays(found, locale),
        *_close(found, locale),
    ]
    return tuple(one for one in told if one) or (locale.say("compare.same"),)


def _verdicts(found: Comparison, locale: Locale) -> list[str]:
    words = [verdict.word(review.verdict, locale) for review in found.reviews]
    if words[0] == words[1]:
        return []
    return [locale.say("compare.verdicts", first=words[0], second=words[1])]


def _more(one: Compared, locale: Locale) -> str:
    """On which side a figure is better, with both; "" where it is the same."""
    if one.better is None or isinstance(one.first, str) or isinstance(one.second, str):
        return ""
    if one.first is None or one.second is None:
        return ""
    better, worse = (one.first, one.second) if one.better == "first" else (one.second, one.first)
    side, beside = LETTERS[one.better], LETTERS[_beside(one.better)]
    if one.name == "covered":
        return locale.say("compare.more.covered", round(better - worse), side=side)
    # both figures, as in the table: rounded, their difference need not be that of the two
    figures = [_measured(one.name, value, locale) for value in (better, worse)]
    if figures[0] == figures[1]:
        return ""
    return locale.say(
        f"compare.more.{one.name}", side=side, better=figures[0], beside=beside, worse=figures[1]
    )


def _talkers(found: Comparison, locale: Locale) -> list[str]:
    """Who is covered on one side only, by name."""
    told = []
    for side in SIDES:
        names = [
            one.person
            for one in found.talkers or ()
            if _standing(one, side) == "covered" and _standing(one, _beside(side)) != "covered"
        ]
        if names:
            told.append(
                locale.say("compare.covered only", side=LETTERS[side], names=locale.listed(names, MOST))
            )
    return told


def _standing(one: Otherwise, side: Side) -> Standing:
    return one.first if side == "first" else one.second


def _beside(side: Side) -> Side:
    return "second" if side == "first" else "first"


def _arrays(found: Comparison, locale: Locale) -> list[str]:
    first, second = (len(review.arrays) for review in found.reviews)
    if first == second:
        return []
    return [
        locale.say(
            "compare.arrays", first=locale.counted(first, "array"), second=locale.counted(second, "array")
        )
    ]


def _close(found: Comparison, locale: Locale) -> list[str]:
    """What is too close or below advice on one side only."""
    told = []
    for side, review, some in zip(LETTERS.values(), found.reviews, found.close, strict=True):
        for state, message in (("short", "compare.short only"), ("advised", "compare.advised only")):
            things = [
                clearances.row(one, Locale.of(review.scene)).against for one in some if one.state == state
            ]
            things = list(dict.fromkeys(things))
            if things:
                told.append(locale.say(message, side=side, things=locale.listed(things, MOST)))
    return told
