"""People in words: who they are by which survey, how many of a hundred a range holds or a seat covers."""

from __future__ import annotations

from typing import Final

from scenes.findings.people import PeopleReview, PostureReview
from scenes.findings.review import Review
from scenes.review.heard import heard
from scenes.review.neighbours import neighbours
from scenes.review.people import people_in
from viz.words import heard as heard_words
from viz.words.locale import DASH, Locale

ALL = 0.9995
"""More than so large a share of people are all of them."""
MOST_NAMED = 3
WHO: Final = {0.0: "people.men", 0.5: "people.both", 1.0: "people.women"}


def who(people: PostureReview, locale: Locale) -> str:
    """Whom a population means: women, men, both, or both with the share of women; seated ones with their seat."""
    if people.women in (0.0, 0.5, 1.0):
        name = locale.say(WHO[people.women])
    else:
        name = locale.say("people.some women", share=locale.share(people.women))
    if people.seat_m is None:
        return name
    seat = (
        locale.say("people.own seat")
        if people.seat_m == "own"
        else locale.say("people.seat", seat=locale.length(people.seat_m))
    )
    return locale.say("people.seated", who=name, seat=seat)


def survey(people: PostureReview, locale: Locale) -> str:
    """Where a range of mouth heights is from, and what share of people it holds."""
    low, high = people.percentiles or (50.0, 50.0)
    both = "both" if 0 < people.women < 1 else "one"
    texts = [
        locale.say(
            f"assumed.survey.{people.posture}",
            who=who(people, locale),
            span=locale.say(f"people.span.{both}", low=f"{low:g}", high=f"{high:g}"),
            source=people.source,
        )
    ]
    if people.sureness == "copy":
        texts.append(locale.say("assumed.survey.copy"))
    if people.slump_m:
        texts.append(locale.say("assumed.slump", slump=locale.length(people.slump_m)))
    if people.share_held is not None:
        texts.append(
            locale.say(
                "assumed.held",
                range=locale.between(*people.mouth_range_m),
                share=locale.fine_share(people.share_held),
            )
        )
    return " ".join(texts)


def plain_default(people: PostureReview, locale: Locale) -> str:
    """A plain default height, and how many of a hundred people have their mouths lower."""
    return locale.say(
        f"assumed.mouth.{people.posture}",
        height=locale.length(people.mouth_range_m[0]),
        lower=locale.of_hundred(people.share_below),
        who=who(people, locale),
        low=locale.length(people.most_m[0]),
        high=locale.length(people.most_m[1]),
    )


def sentences(review: Review) -> tuple[str, ...]:
    """What share of people the mouth heights hold, how many are covered in the mean, and where the fewest are."""
    people, locale = people_in(review), Locale.of(review.scene)
    if people is None or not people.postures:
        return ()
    return (*(held(one, locale) for one in people.postures), *expected(people, locale))


def line(review: Review) -> str:
    """The sentences as one paragraph of its own; empty where there are none."""
    texts = sentences(review)
    return Locale.of(review.scene).say("people.line", text=" ".join(texts)) if texts else ""


def held(people: PostureReview, locale: Locale) -> str:
    """What share of people have their mouths in the range; of a single height how many are lower."""
    if people.share_held is None:
        return locale.say(
            f"people.lower.{people.posture}",
            lower=locale.of_hundred(people.share_below),
            height=locale.length(people.mouth_range_m[0]),
            who=who(people, locale),
        )
    return locale.say(
        f"people.held.{people.posture}",
        range=locale.between(*people.mouth_range_m),
        share=locale.fine_share(people.share_held),
        who=who(people, locale),
    )


def expected(people: PeopleReview, locale: Locale) -> tuple[str, ...]:
    """How many of the talkers are covered in the mean, and in which places only some people are, fewest first."""
    shares = {id: share for id, share in people.covered_share.items() if share is not None}
    if all(share >= ALL for share in shares.values()) and people.expected_covered >= ALL * people.talkers:
        return (locale.say("people.all", people.talkers),)
    average = locale.average(people.expected_covered, people.talkers)
    texts = [locale.say("people.expected", talkers=people.talkers, average=average)]
    some = [(round(share, 3), id) for id, share in shares.items() if 1 - ALL < share < ALL]
    fewest = sorted(some, key=lambda one: one[0])
    if fewest:
        names = [
            locale.say("people.fewest.place", place=id, covered=locale.of_hundred(share))
            for share, id in fewest[:MOST_NAMED]
        ]
        texts.append(locale.say("people.fewest", places=locale.listed(names)))
    return tuple(texts)


def in_place(share: float | None, posture: str, locale: Locale) -> str:
    """How many of a hundred people a place covers, if not all; empty of somebody whose mouth is the file's own."""
    if share is None or share >= ALL:
        return ""
    return locale.say(f"people.place.{posture}", covered=locale.of_hundred(share))


def of_hundred(share: float | None, locale: Locale) -> str:
    """The same for a column."""
    return DASH if share is None else locale.say("people.cell", covered=locale.of_hundred(share))


def in_the_way(review: Review) -> str:
    """Whose way to the array a neighbour's head reaches into, worst first, with the angles; empty where nobody's."""
    locale = Locale.of(review.scene)
    found = [one for one in neighbours(review).values() if one.state == "advised"]
    if not found:
        return ""
    found.sort(key=lambda one: round(one.have_deg - one.need_deg, 3))
    pairs = [
        locale.say(
            "neighbour.pair",
            neighbour=one.neighbour,
            talker=one.head,
            need=locale.angle(one.need_deg),
            have=locale.angle(one.have_deg),
        )
        for one in found
    ]
    loss = locale.level(max(one.loss_dB for one in found))
    return locale.say("neighbours", pairs=locale.listed(pairs, MOST_NAMED), loss=loss)


def paragraphs(review: Review) -> tuple[str, ...]:
    """All there is to say of people: shares, neighbours, what else is heard; empty before every array has a place."""
    return tuple(text for text in (line(review), *_advice(review)) if text)


def facts(review: Review) -> list[tuple[str, str]]:
    """The same by what it is about: people, and advice."""
    locale = Locale.of(review.scene)
    by_name = {"people": " ".join(sentences(review)), "advice": " ".join(_advice(review))}
    return [(locale.say(f"people.fact.{name}"), text) for name, text in by_name.items() if text]


def _advice(review: Review) -> list[str]:
    others = heard_words.sentences(heard(review), Locale.of(review.scene))
    return [text for text in (in_the_way(review), *others) if text]
