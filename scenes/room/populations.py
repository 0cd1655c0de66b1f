"""Surveyed people: how high mouths and crowns of those are who sit or stand, women, men and both mixed.

The surveys are data (`populations.yaml`). Seated heights are above a compressed seat, upright less `slump`; who stands
wears shoes. Soldiers are not the public: take a wide pair of percentiles.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

import yaml

from geometry.people import Mixture, Normal, summed
from geometry.records import record
from scenes.room.provenance import ANYBODY, OWN_SEAT, SEAT_M, SHOE_M, WOMEN, Survey

Sureness = Literal["seen", "copy"]

FACE_ABOVE_LIPS = 0.61
"""Share of the face (sellion to chin) above the lips; see the head of `populations.yaml`."""
SELLION_ABOVE_EYE_M = 0.005
Z95 = 1.6448536269514722
"""Deviations from the mean to the 95th percentile."""

LIKE: Mapping[str, tuple[str, float | None]] = MappingProxyType(
    {
        "women and men": ("ANSUR II", None),
        "women": ("ANSUR II", 1.0),
        "men": ("ANSUR II", 0.0),
        "ANSUR II": ("ANSUR II", None),
        "DIN 33402-2": ("DIN 33402-2", None),
    }
)
"""What a spec may name: the survey, and the share of women where the name says it."""


@record(frozen=True, slots=True)
class Group:
    """One sex of a survey, upright and barefoot: seated heights above the seat, standing ones above the floor."""

    mouth: Normal
    crown: Normal
    lower_leg: Normal
    mouth_on_own_seat: Normal
    """Mouth above the floor on a seat as high as their own lower leg."""
    standing_mouth: Normal


@record(frozen=True, slots=True)
class Population:
    """A survey: its source, how sure our figures are, women and men."""

    source: str
    sureness: Sureness
    women: Group
    men: Group


@cache
def populations() -> Mapping[str, Population]:
    """The surveys by name."""
    text = Path(__file__).with_name("populations.yaml").read_text(encoding="utf-8")
    return MappingProxyType(
        {
            one["name"]: Population(one["source"], one["sureness"], _group(one["women"]), _group(one["men"]))
            for one in yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
        }
    )


def _group(told: dict[str, Any]) -> Group:
    eye, face, leg = _normal(told["eye"]), _normal(told["face"]), _normal(told["lower_leg"])
    with_face, with_leg = told["face_with_eye"], told["lower_leg_with_eye"]

    def lips_under(eye: Normal) -> Normal:
        below = summed([(1.0, eye), (-FACE_ABOVE_LIPS, face)], {(0, 1): with_face})
        return Normal(below.mean + SELLION_ABOVE_EYE_M, below.deviation)

    on_own = summed([(1.0, eye), (-FACE_ABOVE_LIPS, face), (1.0, leg)], {(0, 1): with_face, (0, 2): with_leg})
    standing = told.get("standing_mouth")
    return Group(
        lips_under(eye),
        _normal(told["crown"]),
        leg,
        Normal(on_own.mean + SELLION_ABOVE_EYE_M, on_own.deviation),
        lips_under(_normal(told["standing_eye"])) if standing is None else _normal(standing),
    )


def _normal(told: list[float] | dict[str, float]) -> Normal:
    if isinstance(told, dict):
        return Normal(told["p50"], (told["p95"] - told["p5"]) / (2 * Z95))
    return Normal(*told)


def whom(person: Any) -> Survey:
    """Whom a spec's defaults of a posture mean, with a population that is known or none named."""
    if person.population is None:
        return ANYBODY
    by_name = LIKE[person.population][1]
    half = WOMEN if person.women is None else person.women
    return Survey(
        person.population,
        person.percentiles,
        SEAT_M if person.seat is None else person.seat,
        half if by_name is None else by_name,
        SHOE_M if person.shoe is None else person.shoe,
        person.slump or 0.0,
    )


def survey_of(who: Survey) -> Population:
    """The survey behind whom a spec names. KeyError for an unknown name."""
    return populations()[LIKE[who.population][0]]


def mouths_of(who: Survey, posture: str) -> tuple[Normal, Normal]:
    """Mouths above the floor of women and of men of a posture, metres."""
    women, men = _groups(who)
    return _mouth(women, who, posture), _mouth(men, who, posture)


def _mouth(group: Group, who: Survey, posture: str) -> Normal:
    if posture == "standing":
        return _raised(group.standing_mouth, who.shoe_m)
    if who.seat_m == OWN_SEAT:
        return _raised(group.mouth_on_own_seat, who.shoe_m - who.slump_m)
    return _raised(group.mouth, float(who.seat_m) - who.slump_m)


def _raised(height: Normal, by_m: float) -> Normal:
    return Normal(height.mean + by_m, height.deviation)


def _groups(who: Survey) -> tuple[Group, Group]:
    survey = survey_of(who)
    return survey.women, survey.men


def mixed(who: Survey, posture: str) -> Mixture:
    """The mouths of all of them, in their shares."""
    return Mixture(mouths_of(who, posture), (who.women, 1 - who.women))


def crown_above_mouth_m(who: Survey) -> float:
    """How far the top of a head is above the mouth: the mean of those there are, the larger of women and men.

    By survey 0.173 m (women) and 0.184 m (men).
    """
    women, men = _groups(who)
    there = [group for group, share in ((women, who.women), (men, 1 - who.women)) if share > 0]
    return max(group.crown.mean - group.mouth.mean for group in there)


def mouth_range_m(who: Survey, posture: str) -> tuple[float, float]:
    """Lowest and highest mouth between the percentiles: from the women's lower one to the men's upper one.

    Of men alone or women alone both are theirs. Normal rule, which agrees with the survey's own percentiles within 6 mm.
    """
    women, men = mouths_of(who, posture)
    low, high = who.percentiles or (50.0, 50.0)
    lowest = women if who.women > 0 else men
    highest = men if who.women < 1 else women
    return lowest.at(low / 100), highest.at(high / 100)
