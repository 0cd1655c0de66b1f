"""The usual height of mouths in a room, and how far eyes are above them."""

from __future__ import annotations

import numpy as np

from scenes.room.scene import Posture, Scene

EYE_ABOVE_MOUTH_M = 0.067
"""Eye to mouth, the mean of 69.8 mm (men) and 64.0 mm (women) derived from ANSUR II (`populations.yaml`)."""


def mouth_level_m(scene: Scene, posture: Posture) -> float | None:
    """The usual height of the mouths of those who sit or stand, metres: the median; None where nobody does.

    Where every picture and sheet shows what an array covers at the height of mouths.
    """
    heights = [head.middle_m[2] for head in scene.heads if head.posture == posture]
    return float(np.median(heights)) if heights else None
