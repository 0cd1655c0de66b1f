"""Areas, in which anybody may be anywhere: how much of each is covered, and where it is worst."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from geometry.coverage import State
from scenes.findings.maps import MapStep
from scenes.findings.review import AreaReview, Review
from scenes.room.area import Area
from scenes.room.scene import Scene
from viz.words.locale import DASH, Locale


class AreaText(NamedTuple):
    """How one area stands, as every output shows it: which fields, is the output's choice.

    `worst` is the place with the least margin, in the file's own frame; `arrays` cover some of it.
    """

    id: str
    posture: str
    mouth: str
    covered: str
    margin: str
    worst: str
    arrays: str
    state: str
    mark: str


def area(one: AreaReview, locale: Locale) -> AreaText:
    """One area's texts."""
    x, y, _ = one.worst_at_m
    return AreaText(
        id=one.id,
        posture=locale.say(f"posture.{one.posture}"),
        mouth=locale.between(*one.mouth_range_m),
        covered=locale.share(one.covered_share),
        margin=locale.margin(one.margin_m),
        worst=locale.say("place", x=locale.length(x), y=locale.length(y)),
        arrays=locale.listed(one.arrays) or DASH,
        state=locale.say(f"area.state.{one.state}"),
        mark=locale.say(f"mark.{one.state}"),
    )


def areas(review: Review) -> list[AreaText]:
    """Every area of a reviewed room, in order."""
    locale = Locale.of(review.scene)
    return [area(one, locale) for one in review.areas]


def waiting(one: Area, locale: Locale) -> str:
    """An area of a room in which not every array hangs: who it is for, and at which heights."""
    posture, mouth = locale.say(f"posture.{one.posture}"), locale.between(*one.mouth_m)
    return locale.say("area.waiting", area=one.id, posture=posture, mouth=mouth)


def sentences(review: Review) -> list[str]:
    """Which areas are covered all over, and of each that is not how much, and where it is worst."""
    locale = Locale.of(review.scene)
    whole = [one.id for one in review.areas if one.state == "covered"]
    found = [locale.say("area.covered", len(whole), areas=locale.listed(whole))] if whole else []
    for one in review.areas:
        if one.state != "covered":
            text = area(one, locale)
            short = locale.shortfall(-one.margin_m)
            found.append(
                locale.say(
                    f"area.{one.state}", area=one.id, share=text.covered, place=text.worst, shortfall=short
                )
            )
    return found


def step(one: MapStep, locale: Locale) -> str:
    """What a colour of a map of margins means."""
    if one.state != "covered" or one.from_m is None:
        return locale.say(f"map.{one.state}")
    least = locale.margin_step(one.from_m)
    if one.to_m is None:
        return locale.say("map.more", least=least)
    return locale.say("map.between", least=least, most=locale.margin_step(one.to_m))


def at_height(scene: Scene, states: Sequence[State], locale: Locale) -> list[str]:
    """Which areas are covered, which only upright and which not, with an array at one height of a table."""
    found = []
    for state in ("covered", "marginal", "missed"):
        ids = [one.id for one, stands in zip(scene.areas, states, strict=True) if stands == state]
        if ids:
            found.append(locale.say(f"area.at height.{state}", len(ids), areas=locale.listed(ids)))
    return found
