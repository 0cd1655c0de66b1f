"""Speech at the array: level by distance, what is left over the noise, and direct against reverberant sound.

A free-field estimate for comparing places, not a measurement: the talker radiates evenly within the
stated directivity, the reverberant field is even (Sabine). Levels are dB, A-weighted where named dBA;
distances are metres and slant, from the mouth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

EFFORT_DBA: Final[Mapping[str, float]] = MappingProxyType(
    {"relaxed": 54.0, "normal": 60.0, "raised": 66.0, "loud": 72.0, "very loud": 78.0}
)
"""Level 1 m in front of the mouth by vocal effort, dB(A): ISO 9921:2003 Annex A, seen in copies."""

SPEED_OF_SOUND_M_S: Final = 343.0
SABINE_S_M: Final = 24 * math.log(10) / SPEED_OF_SOUND_M_S
"""0.161 s/m in T = 0.161 V/A: 24 ln 10 / c, exact for the speed of sound above (20 °C)."""

NEAREST_M: Final = 0.05
"""Nearer than this to the mouth the law of the inverse square says nothing; the distance is held here."""


def level_dBA(distance: ArrayLike, at_one_metre_dBA: ArrayLike) -> Floats:
    """Level of speech at `distance` metres, dB(A), from its level at 1 m: 20 lg(1/distance) less.

    One or many; both broadcast. Distances under 0.05 m count as 0.05 m.
    """
    far = np.maximum(np.asarray(distance, float), NEAREST_M)
    return np.asarray(np.asarray(at_one_metre_dBA, float) - 20 * np.log10(far))


def absorption_m2(volume_m3: float, reverberation_s: float) -> float:
    """Equivalent absorption area A = 0.161 V/T (Sabine), square metres. Both must be above 0."""
    _above_zero(volume_m3=volume_m3, reverberation_s=reverberation_s)
    return SABINE_S_M * volume_m3 / reverberation_s


def critical_distance_m(volume_m3: float, reverberation_s: float, directivity: float = 2.0) -> float:
    """Distance at which direct and reverberant sound are equal, metres: sqrt(Q A / 16π).

    `directivity` is the talker's Q towards the array (1 for an even radiator). All must be above 0.
    """
    _above_zero(directivity=directivity)
    return math.sqrt(directivity * absorption_m2(volume_m3, reverberation_s) / (16 * math.pi))


def to_reverberant_dB(distance: ArrayLike, critical_m: float) -> Floats:
    """Direct sound less reverberant sound at `distance` metres, dB: 20 lg(critical distance/distance).

    0 at the critical distance, negative beyond it. Distances under 0.05 m count as 0.05 m.
    """
    _above_zero(critical_m=critical_m)
    return np.asarray(20 * np.log10(critical_m / np.maximum(np.asarray(distance, float), NEAREST_M)))


def total_over_direct_dB(distance: ArrayLike, critical_m: float) -> Floats:
    """By how much direct and reverberant sound together exceed the direct sound alone, dB: 3.01 at
    the critical distance."""
    return np.asarray(10 * np.log10(1 + 10 ** (-to_reverberant_dB(distance, critical_m) / 10)))


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (value > 0 and math.isfinite(value)):
            raise ValueError(f"{name} is {value}; it must be a finite number above 0")
