"""Who is covered, who is not and why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from geometry.coverage import Reason
from scenes.findings.review import STANDINGS, HeadReview, Review, Standing
from scenes.room.scene import Scene
from viz.words import sight
from viz.words.locale import Locale

REASONS: tuple[Reason, ...] = ("too far", "too near", "too shallow", "too steep")
"""In the order in which they are said."""


class TalkerText(NamedTuple):
    """How one head stands to its array, as every output shows it: which fields, is the output's choice.

    `state` is how it stands, blocked where something is in the way of its line; `served` is the array with its
    sector, `why` the reason it is not inside and what blocks the line, or empty; `judged` is the state with
    the why.
    """

    id: str
    posture: str
    mouth: str
    state: str
    mark: str
    array: str
    served: str
    angle: str
    from_centre: str
    distance: str
    margin: str
    why: str
    judged: str
    blocked_by: str


def talker(head: HeadReview, scene: Scene) -> TalkerText:
    """One head's texts, in its room."""
    locale = Locale.of(scene)
    state = locale.say(f"state.{head.standing}")
    reason = "" if head.reason is None else locale.say(f"reason.{head.reason}")
    blocked_by = "" if head.blocked_by is None else sight.thing(head.blocked_by, scene, locale)
    blocked = locale.say("talker.blocked", by=blocked_by) if blocked_by else ""
    why = "; ".join(part for part in (reason, blocked) if part)
    return TalkerText(
        id=head.id,
        posture=locale.say(f"posture.{head.posture}"),
        mouth=locale.between(*head.mouth_range_m),
        state=state,
        mark=locale.say(f"mark.{head.standing}"),
        array=head.array,
        served=head.array
        if head.sector is None
        else locale.say("talker.served", array=head.array, sector=head.sector),
        angle=locale.angle(head.depression_deg),
        from_centre=locale.from_centre(head.off_centre_deg),
        distance=locale.length(head.slant_m),
        margin=locale.margin(head.margin_m),
        why=why,
        judged=locale.say("talker.why", state=state, why=why) if why else state,
        blocked_by=blocked_by,
    )


def talkers_of(review: Review) -> list[TalkerText]:
    """Every head of a reviewed room, in order."""
    return [talker(head, review.scene) for head in review.heads]


def sentence(review: Review) -> str:
    """Who is covered, who is not and why, in one paragraph."""
    return of_heads(review.heads, Locale.of(review.scene))


def of_heads(heads: Sequence[HeadReview], locale: Locale) -> str:
    """`sentence` of some heads."""
    return of_figures(
        Figures(
            [head.id for head in heads],
            [head.person for head in heads],
            [head.standing for head in heads],
            [head.reason for head in heads],
            [head.margin_m for head in heads],
        ),
        locale,
    )


class Figures(NamedTuple):
    """What a sentence about coverage is made of, one entry per head; `people` are whose heads they are."""

    ids: Sequence[str]
    people: Sequence[str]
    standings: Sequence[Standing]
    reasons: Sequence[Reason | None]
    margins_m: Sequence[float]


def of_figures(heads: Figures, locale: Locale, *, with_margin: bool = False) -> str:
    """`sentence` of figures; where everybody is covered also with what margin, if so asked."""
    ids, people, standings, _, margins_m = heads
    worst: dict[str, Standing] = {}
    for person, standing in zip(people, standings, strict=True):
        worst[person] = max(worst.get(person, STANDINGS[0]), standing, key=STANDINGS.index)
    total, covered = len(worst), list(worst.values()).count("covered")
    if covered == total:
        return _all_covered(total, min(margins_m) if with_margin else None, locale)
    if not covered and all(one == "marginal" for one in worst.values()):
        return locale.say("covered.upright", total, shortfall=locale.shortfall(-min(margins_m)))
    parts = [
        locale.say("covered.none of one")
        if total == 1
        else locale.say("covered.some", covered, talkers=locale.counted(total, "talker"))
    ]
    for missed, ways in _missed(heads, locale).items():
        parts.append(locale.say("covered.missed", names=missed, outside=locale.listed(ways)))
    blocked = [i for i, one in enumerate(standings) if one == "blocked"]
    if blocked:
        names = _names(ids, people, blocked, locale)
        parts.append(locale.say("covered.blocked", len(names), names=locale.listed(names)))
    marginal = [i for i, one in enumerate(standings) if one == "marginal"]
    if marginal:
        names = _names(ids, people, marginal, locale)
        outside = locale.say(
            "outside.leaning", shortfall=locale.shortfall(-min(margins_m[i] for i in marginal))
        )
        parts.append(locale.say("covered.marginal", names=locale.listed(names), outside=outside))
    return " ".join(parts)


def _missed(heads: Figures, locale: Locale) -> dict[str, list[str]]:
    """Who is not covered, with how far outside of what; who is so in several ways is named once, with all of them."""
    by_person: dict[str, list[int]] = {}
    for i, one in enumerate(heads.standings):
        if one == "missed":
            by_person.setdefault(heads.people[i], []).append(i)
    alike: dict[tuple[Reason, ...], list[int]] = {}
    for theirs in by_person.values():
        ways = tuple(reason for reason in REASONS if reason in {heads.reasons[i] for i in theirs})
        alike.setdefault(ways, []).extend(theirs)
    found: dict[str, list[str]] = {}
    for ways in sorted(alike, key=lambda ways: [REASONS.index(way) for way in ways]):
        some = sorted(alike[ways], key=lambda i: round(heads.margins_m[i], 2))
        names = locale.listed(_names(heads.ids, heads.people, some, locale))
        for way in ways:
            by_m = -min(heads.margins_m[i] for i in some if heads.reasons[i] == way)
            found.setdefault(names, []).append(locale.say(f"outside.{way}", shortfall=locale.shortfall(by_m)))
    return found


def _all_covered(talkers: int, margin_m: float | None, locale: Locale) -> str:
    who = locale.say("covered.all", talkers)
    if margin_m is None:
        return locale.say("covered.all, plain", who=who)
    if margin_m < locale.least_m - 1e-9:
        return locale.say("covered.all, no margin", who=who)
    return locale.say("covered.all, margin", who=who, margin=locale.spare(margin_m))


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
