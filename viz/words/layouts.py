"""A room in several layouts, in words: how each stands, and what fails in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scenes.findings.heights import LayoutStand
from scenes.findings.layouts import LayoutPrice
from scenes.findings.review import VERDICTS, LayoutReview, Review, Standing, Verdict
from viz.words import areas, clearances, coverage, sight
from viz.words.locale import Locale


def stand(one: LayoutStand, locale: Locale) -> str:
    """How a layout stands in a few words: `theatre fails (9 of 12 covered)`."""
    covered = locale.say("of", part=one.counts.covered or 0, whole=one.counts.talkers)
    return locale.say(f"layout.stand.{one.verdict}", layout=one.name, covered=covered)


def line(one: LayoutReview, whole: Review) -> str:
    """One layout in a line: its verdict, who is not covered, and what is in the way in this layout."""
    locale = Locale.of(whole.scene)
    review = one.review
    own = [row for row in whole.clearances if row.layout == one.name]
    text = (
        coverage.sentence(review),
        *areas.sentences(review),
        *clearances.of_rows(own, locale, judged=False),
        *sight.sentences(review),
    )
    word = locale.say(f"verdict.{review.verdict}")
    return locale.say("layout.line", layout=one.name, verdict=word, text=" ".join(text))


def lines(whole: Review) -> list[str]:
    """Every layout in a line, in the order of the file."""
    return [line(one, whole) for one in whole.layouts]


def beside(review: Review, text: Sequence[str]) -> list[str]:
    """What is said of the layout shown, and how all of them stand; `text` alone in a room without layouts."""
    some = [
        LayoutStand(one.name, one.review.verdict, one.review.counts)
        for one in review.layouts
        if one.review.verdict is not None
    ]
    return with_stands(text, some, review.scene.layout, Locale.of(review.scene))


def of_stands(some: Sequence[LayoutStand], locale: Locale) -> list[str]:
    """How all layouts stand, in one sentence."""
    if not some:
        return []
    return [locale.say("layouts.beside", stands=", ".join(stand(one, locale) for one in some))]


def with_stands(
    text: Sequence[str], some: Sequence[LayoutStand], shown: str | None, locale: Locale
) -> list[str]:
    """What is said of the layout shown and how all stand: first what the verdict over all of them comes from.

    That is the layout shown itself, unless another one stands worse.
    """
    worst = max((one.verdict for one in some), key=VERDICTS.index, default=None)
    if all(one.verdict == worst for one in some if one.name == shown):
        return [*text, *of_stands(some, locale)]
    worst_first = sorted(some, key=lambda one: -VERDICTS.index(one.verdict))
    of_shown = locale.say("layouts.shown", layout=str(shown), text=" ".join(text))
    return [*of_stands(worst_first, locale), of_shown]


SIGNS: Mapping[Verdict, Standing] = {"pass": "covered", "caution": "marginal", "fail": "missed"}
"""The sign that stands for a verdict."""


def switch(one: LayoutReview, locale: Locale) -> dict[str, str]:
    """A switch to one layout: its sign, its verdict in a word, how many are covered, and all of it in a sentence."""
    review = one.review
    if review.verdict is None:
        word = locale.say("verdict.none")
        return {"name": one.name, "state": "", "word": word, "covered": "", "title": word}
    return of_stand(LayoutStand(one.name, review.verdict, review.counts), locale)


def of_stand(one: LayoutStand, locale: Locale) -> dict[str, str]:
    """A switch to a layout that stands so."""
    return {
        "name": one.name,
        "state": SIGNS[one.verdict],
        "word": locale.say(f"verdict.{one.verdict}"),
        "covered": locale.say("of", part=one.counts.covered or 0, whole=one.counts.talkers),
        "title": stand(one, locale),
    }


def prices(some: Sequence[LayoutPrice], locale: Locale) -> list[str]:
    """What each layout costs the others, a sentence each."""
    texts = []
    for one in some:
        if one.costs_m is None or one.without_m is None:
            texts.append(locale.say("layout.price.none", layout=one.name))
        elif one.costs_m < locale.least_m:
            texts.append(locale.say("layout.price.nothing", layout=one.name))
        else:
            cost, margin = locale.shortfall(one.costs_m), locale.margin(one.without_m)
            texts.append(locale.say("layout.price", layout=one.name, cost=cost, margin=margin))
    return texts
