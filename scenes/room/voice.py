"""The level of a voice by direction, as it was measured: `voice-direction.csv`, read once.

The table is our own mean of two published sets: Chu & Warnock 2002 (National Research Council Canada, IRC-RR-104,
40 talkers) and Leishman et al. 2021 (Journal of the Acoustical Society of America 149, 1507, 8 talkers); the octaves
are weighted into dB(A) by the speech spectrum of ISO 9921. The sets differ by at most 0.9 dB(A) upwards of the mouth:
stated as ±0.5 dB(A), ±1 dB in an octave.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from geometry.voice import OCTAVES_HZ, Voice


@cache
def voice() -> Voice:
    """The table; straight up it has one level, whatever the azimuth."""
    text = (Path(__file__).parent / "voice-direction.csv").read_text("utf-8")
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    names = rows[0]
    kept = [names.index("A"), *(names.index(str(hz)) for hz in OCTAVES_HZ)]
    numbers = np.array(rows[1:], float)
    elevations, azimuths = np.unique(numbers[:, 0]), np.unique(numbers[:, 1])
    levels = numbers[:, kept].reshape(len(elevations), len(azimuths), len(kept))
    levels[-1] = levels[-1].mean(0)
    return Voice(elevations, azimuths, levels)
