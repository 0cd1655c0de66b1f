"""The page's tables and paragraphs as HTML: what a reader without a picture, or without scripts, gets too.

Each function gathers texts of viz/words for the template of its name in `templates/page`, which escapes them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from scenes.findings.review import STANDINGS, Review
from scenes.room.scene import Scene
from viz.html import rendered
from viz.page.facts import OFF_AT_FIRST, head_texts
from viz.section_svg import section_svg
from viz.words import cautions as caution_words
from viz.words import coverage, page, people
from viz.words import layouts as layout_words
from viz.words import verdict as verdict_words
from viz.words.criteria import criteria
from viz.words.locale import Locale

CautionParts = tuple[str, str, str]
"""A caution: its title, its text, and what it defers to ("" for nothing)."""

VIEWS = ("corner", "plan", "ceiling", "long", "cross")


def verdict(review: Review) -> Markup:
    """The sentence in plain words, and below it what the architect has to look at."""
    locale = Locale.of(review.scene)
    sentence, *more = verdict_words.whole(review)
    word = verdict_words.word(review.verdict, locale)
    return rendered(
        "page/verdict.html", locale, state=review.verdict or "none", word=word, sentence=sentence, more=more
    )


def layouts(review: Review) -> Markup:
    """The switch between a room's layouts, each with its own verdict; nothing in a room without."""
    locale = Locale.of(review.scene)
    several = [layout_words.switch(one, locale) for one in review.layouts]
    return (
        rendered("page/layouts.html", locale, layouts=several, shown=review.scene.layout)
        if several
        else Markup()
    )


def hold(review: Review) -> Markup:
    """Why a room that fails is not for installation, and what is open in any."""
    mark = caution_words.mark(review)
    kind = "hold" if caution_words.hold(review) else "open"
    return rendered("page/hold.html", Locale.of(review.scene), kind=kind, mark=mark)


def arrays(scene: Scene, review: Review) -> Markup:
    """Where each array is, in what band, what its talkers have to spare; then people and the designer's own criteria."""
    locale = Locale.of(scene)
    if not review.judged:
        return Markup()
    rows = [row for array in review.arrays for row in page.array_facts(array, review, locale)]
    rows += people.facts(review)
    return rendered(
        "page/arrays.html",
        locale,
        rows=rows,
        criteria=criteria(review),
    )


def section(review: Review) -> Markup:
    """Everybody in one section, a drawing for each array; nothing before every array has a place."""
    if not review.judged:
        return Markup()
    locale, several = Locale.of(review.scene), len(review.scene.arrays) > 1
    drawings = [
        {
            "of": locale.say("section.of", array=array.id, band=array.band_name or "") if several else "",
            "svg": Markup(section_svg(review, array, number)),
        }
        for number, array in enumerate(review.scene.arrays)
    ]
    return rendered("page/section.html", locale, drawings=drawings)


def heads(scene: Scene, review: Review) -> Markup:
    """One row per talker: mark and word of the state, angle down, distance, margin; in a first look who they are."""
    locale, several = Locale.of(scene), len(scene.arrays) > 1
    if not review.judged:
        columns = [locale.say(f"column.{name}") for name in ("talker", "posture", "mouth")]
        return rendered("page/first_look.html", locale, columns=columns, rows=page.first_rows(scene))
    rows = [
        {
            "id": head.id,
            "state": head.standing,
            "word": coverage.talker(head, scene).state,
            "array": head.array if several else None,
            "cells": head_texts(head, scene),
        }
        for head in review.heads
    ]
    words = ("talker", "state", "array") if several else ("talker", "state")
    columns = [locale.say(f"column.{name}") for name in words]
    numbers = [locale.say(f"column.{name}") for name in ("angle", "distance", "margin")]
    return rendered("page/heads.html", locale, columns=columns, numbers=numbers, rows=rows)


def clearances(scene: Scene, review: Review) -> Markup:
    """What is too close first; every row with required and actual, the sources of the rules below, numbered."""
    rows, sources = page.clearance_rows(review)
    return rendered(
        "page/clearances.html", Locale.of(scene), rows=rows, sources=sources, judged=review.judged
    )


def legend(review: Review) -> Markup:
    """What the marks and colours mean, as far as there are any."""
    states, zone = STANDINGS if review.judged else (), bool(review.scene.arrays)
    return rendered(
        "page/legend.html", Locale.of(review.scene), states=states, zone=zone, judged=review.judged
    )


def cautions(parts: Iterable[CautionParts], locale: Locale) -> Markup:
    """What to heed before anything is hung."""
    return rendered("page/cautions.html", locale, cautions=tuple(parts))


def tools(seen_from: Sequence[Mapping[str, Any]], layers: Sequence[str], locale: Locale) -> Markup:
    """Buttons of the named views, the places to look from, the layers."""
    return rendered(
        "page/tools.html", locale, views=VIEWS, seen_from=seen_from, layers=layers, off=OFF_AT_FIRST
    )


def dock(locale: Locale) -> Markup:
    """The height slider and the bands; the script fills them."""
    return rendered("page/dock.html", locale)


def live_bar(file: str, locale: Locale, home: str | None = None) -> Markup:
    """What a page that follows its file can do more: search, add, go back, write."""
    return rendered("page/live.html", locale, file=file, home=home)
