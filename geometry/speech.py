"""Speech at the array: level by distance and direction, the room's reverberant sound, and its noise.

An estimate for comparing places, not a measurement: direct sound falls by the inverse square and by the voice's
direction, the reverberant field is even (Sabine). `directivity` is the talker's Q straight ahead; what goes towards
the array is Q and the direction's loss, so that turning a talker never changes the reverberant sound. Levels are dB,
A-weighted where named dBA; distances are metres and slant, from the mouth.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.voice import A_WEIGHTING_DB

Floats = NDArray[np.float64]

EFFORT_DBA: Final[Mapping[str, float]] = MappingProxyType(
    {"relaxed": 54.0, "normal": 60.0, "raised": 66.0, "loud": 72.0, "very loud": 78.0}
)
"""Level 1 m in front of the mouth by vocal effort, dB(A): ISO 9921:2003 Annex A, seen in copies."""

SPEED_OF_SOUND_M_S: Final = 343.0
SABINE_S_M: Final = 24 * math.log(10) / SPEED_OF_SOUND_M_S
"""0.161 s/m in T = 0.161 V/A: 24 ln 10 / c, exact for the speed of sound above (20 °C)."""

VOICE_Q: Final = 1.49
"""Directivity of a voice straight ahead, for dB(A): mean of two measured sets (`scenes.room.voice`)."""
VOICE_Q_BY_OCTAVE: Final = (1.219, 1.5885, 1.4521, 1.2735, 2.5823, 2.5704, 2.6915)
"""The same by octave, 125 Hz to 8 kHz."""

AIR_M: Final = (0.0001, 0.0003, 0.0006, 0.001, 0.0019, 0.0058, 0.0203)
"""What air takes from sound, per metre and octave, at 20 °C and 50 to 70 % of humidity: EN 12354-6, from memory."""

NEAREST_M: Final = 0.05
"""Nearer than this to the mouth the law of the inverse square says nothing; the distance is held here."""

FULLEST_ALPHA: Final = 0.99
"""A mean absorption above this is held here: a room that swallows everything has no reverberant field."""

NC_CURVES: Final[Mapping[int, tuple[int, ...]]] = MappingProxyType(
    {
        15: (47, 36, 29, 22, 17, 14, 12, 11),
        20: (51, 40, 33, 26, 22, 19, 17, 16),
        25: (54, 44, 37, 31, 27, 24, 22, 21),
        30: (57, 48, 41, 35, 31, 29, 28, 27),
        35: (60, 52, 45, 40, 36, 34, 33, 32),
        40: (64, 56, 50, 45, 41, 39, 38, 37),
        45: (67, 60, 54, 49, 46, 44, 43, 42),
        50: (71, 64, 58, 54, 51, 49, 48, 47),
        55: (74, 67, 62, 58, 56, 54, 53, 52),
        60: (77, 71, 67, 63, 61, 59, 58, 57),
        65: (80, 75, 71, 68, 66, 64, 63, 62),
    }
)
"""Noise criterion curves in the octaves 63 Hz to 8 kHz, ANSI/ASA S12.2: those of 25, 30 and 35 as seen in copies, the
rest from memory."""
_A_63_DB: Final = -26.2


def level_dBA(distance: ArrayLike, at_one_metre_dBA: ArrayLike, loss_dB: ArrayLike = 0.0) -> Floats:
    """Level of direct speech at `distance` metres, dB(A): that at 1 m straight ahead, 20 lg(distance) less, and
    `loss_dB` (0 or less, mostly) for the direction.

    One or many; all broadcast. Distances under 0.05 m count as 0.05 m.
    """
    far = _held(distance)
    return np.asarray(np.asarray(at_one_metre_dBA, float) + np.asarray(loss_dB, float) - 20 * np.log10(far))


def reach_m(at_one_metre_dBA: float, loss_dB: float, noise_dBA: float, wanted_dB: float) -> float:
    """The distance out to which direct speech stands `wanted_dB` over the noise."""
    return float(10 ** ((at_one_metre_dBA + loss_dB - noise_dBA - wanted_dB) / 20))


def absorption_m2(volume_m3: float, reverberation_s: float) -> float:
    """Equivalent absorption area A = 0.161 V/T (Sabine), square metres. Both must be above 0."""
    _above_zero(volume_m3=volume_m3, reverberation_s=reverberation_s)
    return SABINE_S_M * volume_m3 / reverberation_s


def absorption_of_m2(areas_m2: ArrayLike, alphas: ArrayLike, volume_m3: float) -> Floats:
    """Equivalent absorption area by octave of surfaces, (n,) areas with (n, 7) coefficients, and of the air."""
    of_surfaces = np.asarray(areas_m2, float) @ np.asarray(alphas, float)
    return np.asarray(of_surfaces + 4 * np.array(AIR_M) * volume_m3)


def eyring_s(volume_m3: float, surface_m2: float, mean_alpha: float) -> float:
    """Reverberation time by Eyring, without air: shorter than Sabine's, the more so the more is absorbed."""
    _above_zero(volume_m3=volume_m3, surface_m2=surface_m2, mean_alpha=mean_alpha)
    return -SABINE_S_M * volume_m3 / (surface_m2 * math.log1p(-min(mean_alpha, FULLEST_ALPHA)))


def mean_alpha(absorption: ArrayLike, surface_m2: float) -> Floats:
    """Mean absorption coefficient of a room: its absorption area over its surface, at most 0.99."""
    return np.asarray(np.minimum(np.asarray(absorption, float) / surface_m2, FULLEST_ALPHA))


def room_constant_m2(absorption: ArrayLike, alpha: ArrayLike) -> Floats:
    """R = A/(1 − mean alpha): what the reverberant field has after the first reflection. A alone puts direct over
    reverberant sound 0.8 to 1.6 dB too low at mean alphas of 0.15 to 0.3."""
    return np.asarray(np.asarray(absorption, float) / (1 - np.asarray(alpha, float)))


def critical_distance_m(
    volume_m3: float, reverberation_s: float, directivity: float = VOICE_Q, index_dB: float = 0.0
) -> float:
    """Distance at which direct and reverberant sound are equal straight ahead, metres: sqrt(10^(DI/10) Q A / 16π).

    `directivity` is the talker's Q (1 for an even radiator), `index_dB` the array's. Q, V and T must be above 0.
    """
    _above_zero(directivity=directivity)
    absorption = absorption_m2(volume_m3, reverberation_s)
    return math.sqrt(10 ** (index_dB / 10) * directivity * absorption / (16 * math.pi))


def to_reverberant_dB(distance: ArrayLike, critical_m: float, loss_dB: ArrayLike = 0.0) -> Floats:
    """Direct sound less reverberant sound at `distance` metres, dB: 20 lg(critical distance/distance), and the loss of
    the direction.

    0 at the critical distance, negative beyond it. Distances under 0.05 m count as 0.05 m. `critical_m` of the
    absorption A is the textbook's; of the room constant it is 10 lg(1/(1 − mean alpha)) dB more, and nearer the truth.
    """
    _above_zero(critical_m=critical_m)
    return np.asarray(20 * np.log10(critical_m / _held(distance)) + np.asarray(loss_dB, float))


def reverberant_energy(absorption: ArrayLike, directivity: ArrayLike) -> Floats:
    """Reverberant energy over the direct energy at 1 m straight ahead: 16π/(Q R), whichever way the talker looks."""
    return np.asarray(16 * math.pi / (np.asarray(directivity, float) * np.asarray(absorption, float)))


def total_over_direct_dB(distance: ArrayLike, critical_m: float) -> Floats:
    """By how much direct and reverberant sound together exceed the direct sound alone, dB: 3.01 at
    the critical distance."""
    return np.asarray(10 * np.log10(1 + 10 ** (-to_reverberant_dB(distance, critical_m) / 10)))


def schroeder_hz(volume_m3: float, reverberation_s: float) -> float:
    """Below this frequency a room has single tones of its own and no even field: 2000 sqrt(T/V)."""
    _above_zero(volume_m3=volume_m3, reverberation_s=reverberation_s)
    return 2000 * math.sqrt(reverberation_s / volume_m3)


def noise_curve_dB(curve: str, number: float) -> Floats:
    """A noise curve, NC or RC, in the octaves 63 Hz to 8 kHz; between those that are tabulated, interpolated."""
    if curve == "RC":
        return np.asarray(number + 5.0 * np.arange(4, -4, -1))
    known = sorted(NC_CURVES)
    table = np.array([NC_CURVES[n] for n in known], float)
    return np.array([np.interp(number, known, column) for column in table.T])


def a_weighted_dBA(octaves_dB: ArrayLike) -> float:
    """dB(A) of octaves: seven from 125 Hz, or eight from 63 Hz."""
    levels = np.asarray(octaves_dB, float)
    weights = np.array(A_WEIGHTING_DB if len(levels) == len(A_WEIGHTING_DB) else (_A_63_DB, *A_WEIGHTING_DB))
    return float(10 * np.log10((10 ** ((levels + weights) / 10)).sum()))


def noise_octaves_dB(noise_dBA: float) -> Floats:
    """Seven octaves of a noise of which only the dB(A) is known: falling by 5 dB an octave, as a neutral one does."""
    shape = noise_curve_dB("RC", 0.0)[1:]
    return np.asarray(shape + noise_dBA - a_weighted_dBA(shape))


def _held(distance: ArrayLike) -> Floats:
    return np.asarray(np.maximum(np.asarray(distance, float), NEAREST_M))


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (value > 0 and math.isfinite(value)):
            raise ValueError(f"{name} is {value}; it must be a finite number above 0")
