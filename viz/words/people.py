"""People in words: who they are by which survey, how many of a hundred a range holds or a seat covers."""

from __future__ import annotations

from typing import Final

from scenes.findings.people import PostureReview
from viz.words.locale import Locale

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
