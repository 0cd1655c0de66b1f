"""The guided look at a room, step by step: what a client reads or a designer says while the picture moves."""

from __future__ import annotations

from typing import Literal, NamedTuple

from scenes.findings.review import Review
from scenes.room.ceiling import highest_m
from scenes.room.scene import Scene
from viz.words import cautions, coverage, tolerance
from viz.words.locale import Locale

Part = Literal["room", "array", "zone", "hollow", "people", "outcome"]


class Step(NamedTuple):
    """One step: what it shows, what it is called, what is said, and which of how many it is."""

    part: Part
    title: str
    text: str
    which: str


def steps(review: Review) -> tuple[Step, ...]:
    """The steps of a room whose arrays all have a place; none before that."""
    if not review.judged or not review.scene.arrays:
        return ()
    locale = Locale.of(review.scene)
    say = locale.say
    outcome = "pass" if review.verdict == "pass" and tolerance.headline(review) else "open"
    told: tuple[tuple[Part, str, str], ...] = (
        ("room", say("tour.room"), _room(review, locale)),
        ("array", say("tour.array"), _arrays(review.scene, locale)),
        ("zone", say("tour.zone"), _zone(review.scene, locale)),
        ("hollow", say("tour.hollow"), _hollow(review.scene, locale)),
        ("people", say("tour.people"), coverage.sentence(review)),
        ("outcome", say(f"tour.outcome.{outcome}"), _outcome(review)),
    )
    return tuple(Step(*one, say("tour.step", n=n, of=len(told))) for n, one in enumerate(told, 1))


def _room(review: Review, locale: Locale) -> str:
    scene = review.scene
    (left, front), (right, back) = scene.room.bounds_m
    return locale.say(
        "tour.room.text",
        review.counts.talkers,
        room=scene.name,
        size=locale.size(right - left, back - front),
        ceiling=locale.height(highest_m(scene.room)),
    )


def _arrays(scene: Scene, locale: Locale) -> str:
    flush = all(array.profile.mount == "flush" for array in scene.arrays)
    return locale.say(
        "tour.array.flush" if flush else "tour.array.text",
        len(scene.arrays),
        arrays=locale.listed([array.id for array in scene.arrays]),
        heights=locale.listed(list(dict.fromkeys(locale.height(one.centre_m[2]) for one in scene.arrays))),
    )


def _zone(scene: Scene, locale: Locale) -> str:
    bands = [(array.id, array.band) for array in scene.arrays]
    if len(bands) > 1:
        edges = [
            locale.say("tour.zone.of", array=id, edges=locale.edges(band.low_deg, band.high_deg))
            for id, band in bands
        ]
        return locale.say("tour.zone.several", edges=locale.listed(edges))
    ((_, band),) = bands
    return locale.say(
        "tour.zone.text",
        edges=locale.edges(band.low_deg, band.high_deg),
        near=locale.length(band.near_m),
        far=locale.length(band.far_m),
    )


def _hollow(scene: Scene, locale: Locale) -> str:
    high = max(array.band.high_deg for array in scene.arrays)
    if high >= 90:
        return locale.say("tour.hollow.whole")
    return locale.say("tour.hollow.text", high=locale.edge(high))


def _outcome(review: Review) -> str:
    """The tolerance where all is well, else why the room is held or what is open in it."""
    said = tolerance.headline(review) if review.verdict == "pass" else None
    return said or cautions.mark(review)
