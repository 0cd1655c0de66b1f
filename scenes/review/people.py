"""People instead of limits: what share of a surveyed population a room's mouth heights hold."""

from __future__ import annotations

from scenes.findings.people import PostureReview
from scenes.room.populations import mixed, survey_of
from scenes.room.provenance import Survey
from scenes.room.scene import Posture, Scene

POSTURES: tuple[Posture, ...] = ("seated", "standing")


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
