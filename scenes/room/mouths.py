"""Mouth heights, and where each figure comes from.

The survey behind the populations is ANSUR II (US Army, 2012, NATICK/TR-15/007; 4 082 men and 1 986
women). It has no mouth dimension; mouth heights were derived person by person as eye height less an
eye-to-mouth drop of 0.61 × (menton-sellion length) - 5 mm, upright, shod (25 mm). The method is
uncertain by about 8 mm; people who slump sit 30 to 45 mm lower (customary allowance, from memory).
Soldiers are not the public: take a wide pair of percentiles.
"""

from __future__ import annotations

import numpy as np

from geometry.records import record
from scenes.room.scene import Posture, Scene

SEAT_HEIGHT_M = 0.44
EYE_ABOVE_MOUTH_M = 0.067
"""Eye to mouth, the mean of 69.8 mm (men) and 64.0 mm (women) derived from ANSUR II."""


@record(frozen=True, slots=True)
class Population:
    """Mouth heights of one group: mean and standard deviation, metres."""

    above_seat_m: tuple[float, float]
    standing_m: tuple[float, float]


POPULATIONS: dict[str, tuple[Population, Population]] = {
    # (who gives the low percentile, who gives the high one); figures: ANSUR, see the module's head
    "men": (_MEN := Population((0.7347, 0.03254), (1.59763, 0.06545)), _MEN),
    "women": (_WOMEN := Population((0.6837, 0.02976), (1.48055, 0.06076)), _WOMEN),
    "women and men": (_WOMEN, _MEN),
}


def population_mouth_m(
    population: str, percentiles: tuple[float, float], posture: str, seat_m: float = SEAT_HEIGHT_M
) -> tuple[float, float]:
    """Lowest and highest mouth above the floor, metres, between two percentiles of a population.

    `women and men` runs from the women's lower percentile to the men's upper one. Seated mouths are
    `seat_m` plus the height above a compressed seat. Normal rule (mean + z·SD), which agrees with the
    empirical percentiles within 6 mm. KeyError for an unknown population; percentiles lie strictly
    between 0 and 100.
    """
    from statistics import NormalDist  # only here: most specs give the mouths themselves

    lower, upper = POPULATIONS[population]

    def height(group: Population, percentile: float) -> float:
        mean, deviation = group.above_seat_m if posture == "seated" else group.standing_m
        base = seat_m if posture == "seated" else 0.0
        return base + mean + NormalDist().inv_cdf(percentile / 100) * deviation

    return height(lower, percentiles[0]), height(upper, percentiles[1])


def mouth_level_m(scene: Scene, posture: Posture) -> float | None:
    """The usual height of the mouths of those who sit or stand, metres: the median; None where nobody does.

    Where every picture and sheet shows what an array covers at the height of mouths.
    """
    heights = [head.middle_m[2] for head in scene.heads if head.posture == posture]
    return float(np.median(heights)) if heights else None
