"""People instead of limits: what share of a surveyed population a room's mouth heights hold."""

from __future__ import annotations

from itertools import chain

import numpy as np

from geometry.covered_share import Bools, covered_shares
from scenes.findings.people import PeopleReview, PostureReview
from scenes.findings.review import Review
from scenes.review.sight import Sights
from scenes.room.layouts import joined_id
from scenes.room.populations import mixed, survey_of
from scenes.room.provenance import Survey
from scenes.room.scene import Posture, Scene

POSTURES: tuple[Posture, ...] = ("seated", "standing")


def people_in(review: Review) -> PeopleReview | None:
    """What share of people is covered in each place of a reviewed room, and how many in the mean.

    None before every array has a place, and of a room of areas alone.
    """
    if not review.judged or not review.heads:
        return None
    if not review.scene.layouts:
        return _people(review)
    each = [(joined_id(review.scene, one.name), _people(one.review)) for one in review.layouts]
    worst = max((one for _, one in each), key=lambda one: one.talkers - one.expected_covered)
    shares = {name(id): share for name, one in each for id, share in one.covered_share.items()}
    postures = {one.posture: one for one in chain.from_iterable(one.postures for _, one in each)}
    return PeopleReview(tuple(postures.values()), shares, worst.expected_covered, worst.talkers)


def _people(review: Review) -> PeopleReview:
    shares = _shares(review)
    by_person: dict[str, float] = {}
    for head in review.heads:
        share = shares[head.id]
        counted = float(head.standing == "covered") if share is None else share
        by_person[head.person] = min(by_person.get(head.person, 1.0), counted)
    return PeopleReview(postures_of(review.scene), shares, sum(by_person.values()), len(by_person))


def _shares(review: Review) -> dict[str, float | None]:
    """By head; of arrays that do not see them all along their mouth range nothing counts."""
    scene = review.scene
    found: dict[str, float | None] = dict.fromkeys(head.id for head in scene.heads)
    seen = _seen(review)
    centres = np.array([array.centre_m for array in scene.arrays])
    bands = [array.band for array in scene.arrays]
    for posture in POSTURES:
        some = [i for i, head in enumerate(scene.heads) if head.posture == posture and not head.own_mouth]
        if some:
            shares = covered_shares(
                mixed(who_of(scene, posture), posture),
                np.array([scene.heads[i].at_m for i in some]),
                np.array([scene.heads[i].sway_m for i in some]),
                centres,
                bands,
                seen[some],
            )
            found |= zip((scene.heads[i].id for i in some), shares.tolist(), strict=True)
    return found


def _seen(review: Review) -> Bools:
    """(heads, arrays) whose line to which head nothing blocks; of one array the review knows it."""
    if len(review.scene.arrays) == 1:
        return np.array([[head.sight == "clear"] for head in review.heads])
    return Sights.of(review.scene).sees().T


def postures_of(scene: Scene) -> tuple[PostureReview, ...]:
    """Who sits and who stands, each if anybody does whose mouth is not the file's for that head alone."""
    found = []
    for posture in POSTURES:
        ranges = [head.mouth_m for head in scene.heads if head.posture == posture and not head.own_mouth]
        ranges += [area.mouth_m for area in scene.areas if area.posture == posture]
        if ranges:
            found.append(_posture(who_of(scene, posture), posture, ranges[0]))
    return tuple(found)


def who_of(scene: Scene, posture: Posture) -> Survey:
    """Whose shares are told of those who sit or stand."""
    return scene.seated if posture == "seated" else scene.standing


def _posture(who: Survey, posture: Posture, range_m: tuple[float, float]) -> PostureReview:
    survey, people = survey_of(who), mixed(who, posture)
    low, high = range_m
    return PostureReview(
        posture=posture,
        named=who.percentiles is not None,
        population=who.population,
        women=who.women,
        percentiles=who.percentiles,
        seat_m=who.seat_m if posture == "seated" else None,
        shoe_m=who.shoe_m,
        slump_m=who.slump_m if posture == "seated" else 0.0,
        source=survey.source,
        sureness=survey.sureness,
        mouth_range_m=range_m,
        share_held=people.share_between(low, high) if high > low else None,
        share_below=people.share_below(low),
        most_m=(people.at(0.05), people.at(0.95)),
    )
