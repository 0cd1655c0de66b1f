"""One reflection beside the direct sound: the second path by a plane, and the comb that the two make together."""

from __future__ import annotations

import math

from geometry.records import record
from geometry.speech import SPEED_OF_SOUND_M_S


@record(frozen=True, slots=True)
class Bounce:
    """Direct sound and its reflection in a plane at one place.

    `first_notch_hz` and the spacing after it are None where both paths are the same: there is no comb. `deepest_dB` and
    `highest_dB` are of both together over the direct sound alone.
    """

    direct_m: float
    image_m: float
    difference_m: float
    delay_ms: float
    first_notch_hz: float | None
    notch_spacing_hz: float | None
    reflection_dB: float
    deepest_dB: float | None
    highest_dB: float | None
    point_from_mouth_m: float


def bounce(plan_m: float, mouth_from_plane_m: float, array_from_plane_m: float, alpha: float = 0.0) -> Bounce:
    """The bounce off a level plane that mouth and array are on the same side of, `plan_m` apart on plan.

    `alpha` is what the plane absorbs, 0 to under 1. The point of reflection is told on plan, from the mouth.
    """
    up = mouth_from_plane_m + array_from_plane_m
    direct = math.hypot(plan_m, mouth_from_plane_m - array_from_plane_m)
    image = math.hypot(plan_m, up)
    difference = image - direct
    share = (direct / image if image else 1.0) * math.sqrt(1 - alpha)
    combed = difference > 1e-9
    delay = difference / SPEED_OF_SOUND_M_S
    return Bounce(
        direct_m=direct,
        image_m=image,
        difference_m=difference,
        delay_ms=1000 * delay,
        first_notch_hz=1 / (2 * delay) if combed else None,
        notch_spacing_hz=1 / delay if combed else None,
        reflection_dB=20 * math.log10(max(share, 1e-6)),
        deepest_dB=20 * math.log10(max(1 - share, 1e-6)) if combed else None,
        highest_dB=20 * math.log10(1 + share) if combed else None,
        point_from_mouth_m=plan_m * mouth_from_plane_m / up if up else 0.0,
    )
