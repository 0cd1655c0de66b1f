"""How strongly a voice goes where: the level of a talker by direction, relative to straight ahead.

The levels are a table handed over (`Voice`): elevation by azimuth, A-weighted and in seven octaves, both sides
averaged. Directions are seen from the mouth: azimuth from where the talker faces, elevation up, so the elevation of
an array is the angle at which it looks down on the mouth. Degrees and dB.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.records import record

Floats = NDArray[np.float64]

OCTAVES_HZ: Final = (125, 250, 500, 1000, 2000, 4000, 8000)
A_WEIGHTING_DB: Final = (-16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)
"""A-weighting of those octaves, IEC 61672-1."""
SPEECH_DB: Final = (62.9, 62.9, 59.2, 53.2, 47.2, 41.2, 35.2)
"""Speech at 1 m straight ahead, normal effort, 60 dB(A), by octave: ISO 9921:2003 table H.2, male."""

_ROUND = np.arange(-180.0, 180.0, 5.0)
"""Azimuths asked where nobody knows which way somebody looks: twice as close as the table's own."""


@record(frozen=True, eq=False)
class Voice:
    """Levels by direction: (elevations, azimuths, 8), A-weighted first, then the octaves; rising evenly spaced."""

    elevation_deg: Floats
    azimuth_deg: Floats
    level_dB: Floats

    @property
    def lowest_deg(self) -> float:
        """The lowest elevation that was measured."""
        return float(self.elevation_deg[0])


def towards(mouth_m: ArrayLike, array_m: ArrayLike, facing_deg: ArrayLike) -> tuple[Floats, Floats]:
    """Azimuth and elevation of arrays seen from mouths that look towards plan angles `facing_deg`.

    Points (…, 3). Azimuth −180 to 180, anticlockwise positive; straight above it is that of the facing.
    """
    way = np.asarray(array_m, float) - np.asarray(mouth_m, float)
    flat = np.hypot(way[..., 0], way[..., 1])
    plan = np.degrees(np.arctan2(way[..., 1], way[..., 0]))
    azimuth = np.where(flat > 0, (plan - np.asarray(facing_deg, float) + 180) % 360 - 180, 0.0)
    return azimuth, np.degrees(np.arctan2(way[..., 2], flat))


def in_head_frame(
    azimuth_deg: ArrayLike, elevation_deg: ArrayLike, head_down_deg: ArrayLike = 0.0
) -> tuple[Floats, Floats]:
    """A direction as a head has it that is bent down by `head_down_deg` about the axis of its ears."""
    azimuth, elevation, down = (
        np.radians(np.asarray(angle, float)) for angle in (azimuth_deg, elevation_deg, head_down_deg)
    )
    ahead, left, up = (
        np.cos(elevation) * np.cos(azimuth),
        np.cos(elevation) * np.sin(azimuth),
        np.sin(elevation),
    )
    forward, above = ahead * np.cos(down) - up * np.sin(down), ahead * np.sin(down) + up * np.cos(down)
    return np.degrees(np.arctan2(left, forward)), np.degrees(np.arctan2(above, np.hypot(forward, left)))


def loss_dB(
    voice: Voice, azimuth_deg: ArrayLike, elevation_deg: ArrayLike, head_down_deg: ArrayLike = 0.0
) -> Floats:
    """Level in a direction less the level straight ahead: (…, 8), A-weighted and by octave.

    Below the lowest elevation measured, in the head's own frame, it is that of the same azimuth there.
    """
    azimuth, elevation = in_head_frame(azimuth_deg, elevation_deg, head_down_deg)
    i, along = _cell(voice.elevation_deg, elevation)
    # left and right are alike, and so are the two sides of the nape
    j, across = _cell(voice.azimuth_deg, np.abs((azimuth + 180) % 360 - 180))
    table = voice.level_dB
    below = table[i, j] * (1 - across) + table[i, j + 1] * across
    above = table[i + 1, j] * (1 - across) + table[i + 1, j + 1] * across
    return np.asarray(below * (1 - along) + above * along)


def loss_range_dB(
    voice: Voice, elevation_deg: float, head_down_deg: float = 0.0
) -> tuple[Floats, Floats, float]:
    """Of somebody who may look any way: the losses of the least A-weighted level and of the greatest, and the
    azimuth of the least."""
    every = loss_dB(voice, _ROUND, elevation_deg, head_down_deg)
    least, most = int(every[:, 0].argmin()), int(every[:, 0].argmax())
    return every[least], every[most], float(_ROUND[least])


def below_measured(
    voice: Voice, azimuth_deg: ArrayLike, elevation_deg: ArrayLike, head_down_deg: ArrayLike = 0.0
) -> NDArray[np.bool_]:
    """Whether a direction lies under all that were measured."""
    _, elevation = in_head_frame(azimuth_deg, elevation_deg, head_down_deg)
    return np.asarray(elevation < voice.lowest_deg - 1e-9)


def _cell(known: Floats, asked: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Which interval of evenly spaced values holds each asked, and how far along; the ends beyond them."""
    share = np.clip((asked - known[0]) / (known[1] - known[0]), 0, len(known) - 1)
    cell = np.minimum(share.astype(np.intp), len(known) - 2)
    return cell, np.asarray(share - cell)[..., None]
