"""Who is covered, who is not and why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from geometry.coverage import Reason, State
from scenes.findings.review import HeadReview, Review
from scenes.words import people_in
from viz.words.locale import Locale

REASONS: tuple[Reason, ...] = ("too far", "too near", "too shallow", "too steep")
"""In the order in which they are said."""


class TalkerText(NamedTuple):
    """How one head stands to its array, as every output shows it: which fields, is the output's choice."""

    id: str
    state: str
    mark: str
    array: str
    angle: str
    from_centre: str
    distance: str
    margin: str
    why: str


def talker(head: HeadReview, locale: Locale) -> TalkerText:
    """One head's texts; `why` is empty where it is inside."""
    return TalkerText(
        id=head.id,
        state=head.state,
        mark=locale.say(f"mark.{head.state}"),
        array=head.array,
        angle=locale.angle(head.depression_deg),
        from_centre=locale.from_centre(head.off_centre_deg),
        distance=locale.length(head.slant_m),
        margin=locale.margin(head.margin_m),
        why="" if head.reason is None else locale.say(f"reason.{head.reason}"),
    )


def sentence(review: Review) -> str:
    """Who is covered, who is not and why, in one paragraph."""
    return of_heads(review.heads, Locale.of(review.scene))


def of_heads(heads: Sequence[HeadReview], locale: Locale) -> str:
    """`sentence` of some heads."""
    return of_figures(
        [head.id for head in heads],
        [head.state for head in heads],
        [head.slack_m for head in heads],
        [head.margin_m for head in heads],
        [head.reason for head in heads],
        [head.person for head in heads],
        locale,
    )


def of_figures(
    ids: Sequence[str],
    states: Sequence[State],
    slacks_m: Sequence[float],
    margins_m: Sequence[float],
    reasons: Sequence[Reason | None],
    people: Sequence[str],
    locale: Locale,
) -> str:
    """`sentence` of figures, one entry per head in every sequence; `people` are whose heads they are."""
    counts = people_in(people, states)
    total, covered = sum(counts.values()), counts["covered"]
    if covered == total:
        return _all_covered(total, min(margins_m), locale)
    parts = [
        locale.say("covered.none of one")
        if total == 1
        else locale.say("covered.some", covered, talkers=locale.counted(total, "talker"))
    ]
    for reason in REASONS:
        some = [i for i, state in enumerate(states) if state == "missed" and reasons[i] == reason]
        some.sort(key=lambda i: round(slacks_m[i], 2))
        if some:
            names = _names(ids, people, some, locale)
            parts.append(
                locale.say(
                    "covered.missed",
                    len(names),
                    names=locale.listed(names),
                    reason=locale.say(f"reason.{reason}"),
                    shortfall=locale.shortfall(-min(slacks_m[i] for i in some)),
                    advice=locale.say(f"advice.{reason}"),
                )
            )
    marginal = [i for i, state in enumerate(states) if state == "marginal"]
    if marginal:
        names = _names(ids, people, marginal, locale)
        shortfall = locale.shortfall(-min(margins_m[i] for i in marginal))
        parts.append(
            locale.say("covered.marginal", len(names), names=locale.listed(names), shortfall=shortfall)
        )
    return " ".join(parts)


def _all_covered(talkers: int, margin_m: float, locale: Locale) -> str:
    who = locale.say("covered.all", talkers)
    if margin_m < locale.least_m - 1e-9:
        return locale.say("covered.all, no room", who=who)
    return locale.say("covered.all, room", who=who, room=locale.spare(margin_m))


def _names(ids: Sequence[str], people: Sequence[str], some: Sequence[int], locale: Locale) -> list[str]:
    """The talkers these heads are of, and of several heads of one talker which ones."""
    names = []
    for person in dict.fromkeys(people[i] for i in some):
        own = {ids[i] for i, whose in enumerate(people) if whose == person}
        meant = {ids[i] for i in some if people[i] == person}
        walks = not own <= {person, f"{person}-up"}
        if len(own) == 1:
            names.append(min(own))
        elif walks:
            way = "talker.all the way" if meant == own else "talker.part of the way"
            names.append(locale.say(way, person=person))
        elif meant == own:
            names.append(person)
        else:
            posture = "talker.sitting" if person in meant else "talker.standing up"
            names.append(locale.say(posture, person=person))
    return names
