"""The level of a voice by direction against what was published and measured.

Table values: mean of two measured sets, Chu & Warnock 2002 (NRC Canada IRC-RR-104, 40 talkers) and Leishman et al.
2021 (JASA 149, 1507, 8 talkers), read in published copies; thirds weighted by the speech spectrum of ISO 9921 table
H.2. The two sets differ by up to 0.9 dB(A): the tolerance of 0.1 dB is of our arithmetic, not of the voice.
"""

import numpy as np
import pytest

from geometry.voice import A_WEIGHTING_DB, SPEECH_DB, in_head_frame, loss_dB
from scenes.room.voice import voice

ELEVATIONS = (20, 30, 40, 50, 60, 70, 80)

BY_AZIMUTH = {
    0: (-0.25, -0.40, -0.57, -0.74, -0.95, -1.28, -1.72),
    90: (-1.65, -1.92, -2.14, -2.22, -2.24, -2.26, -2.24),
    180: (-3.28, -2.67, -2.65, -2.68, -2.71, -2.75, -2.58),
}

OCTAVES_AT_40 = {
    0: (-0.15, -1.1, -1.29, 0.87, -0.66, -1.7, -0.77),
    90: (-0.64, -2.08, -1.91, -1.94, -4.0, -5.14, -5.43),
}

# Monson, Hunter & Story, JASA 132 (2012) 433, table I (read in two public copies): a third set, of its own people,
# horizontal only. It bounds ours; at 8 kHz straight behind they differ by 6.5 dB.
MONSON = {
    90: ((-1.6, -2.3, -1.6, -1.6, -7.0, -6.3, -8.7), 2.0),
    180: ((-3.6, -5.1, -5.9, -6.3, -13.1, -18.9, -26.3), 7.0),
}

# Kocon & Monson, JASA 144 (2018) EL7, table 1 (public notes): thirds at 500, 1000, 2000, 4000 Hz, a loose bound. Their
# third at 4000 Hz lies 4.35 dB under our octave at 120°; all others are within 3.5 dB.
KOCON = {60: (-0.4, -3.2, -0.5, -4.3), 120: (-4.6, -5.4, -7.3, -13.3)}


@pytest.mark.parametrize(("azimuth", "levels"), BY_AZIMUTH.items())
def test_a_weighted_level_by_direction(azimuth: float, levels: tuple[float, ...]) -> None:
    assert loss_dB(voice(), azimuth, ELEVATIONS)[:, 0] == pytest.approx(levels, abs=0.1)


@pytest.mark.parametrize(("azimuth", "levels"), OCTAVES_AT_40.items())
def test_octaves_by_direction(azimuth: float, levels: tuple[float, ...]) -> None:
    assert loss_dB(voice(), azimuth, 40)[1:] == pytest.approx(levels, abs=0.1)


@pytest.mark.parametrize(("azimuth", "levels", "bound"), [(a, *of) for a, of in MONSON.items()])
def test_a_third_set_bounds_the_horizontal(azimuth: float, levels: tuple[float, ...], bound: float) -> None:
    assert np.abs(loss_dB(voice(), azimuth, 0)[1:] - levels).max() <= bound


@pytest.mark.parametrize(("azimuth", "levels"), KOCON.items())
def test_thirds_of_a_fourth_set_bound_it_loosely(azimuth: float, levels: tuple[float, ...]) -> None:
    off = np.abs(loss_dB(voice(), azimuth, 0)[3:7] - levels)
    assert off[:3].max() <= 3.5
    assert off[3] <= 4.4


def test_closed_form_over_the_upper_half() -> None:
    """Least squares over 20 to 90°: rms 0.22, worst 0.80 dB(A) (computed from the two sets)."""
    azimuth, elevation = np.meshgrid(np.arange(0, 181, 15.0), np.arange(20, 91, 10.0))
    a, e = np.radians(azimuth), np.radians(elevation)
    ahead = np.cos(e) * np.cos(a)
    form = -1.67 + 1.69 * ahead - 0.48 * np.sin(e) + 0.22 * np.sin(e) * ahead
    off = loss_dB(voice(), azimuth, elevation)[..., 0] - form
    assert np.abs(off).max() == pytest.approx(0.80, abs=0.05)
    assert np.sqrt((off**2).mean()) == pytest.approx(0.22, abs=0.02)


def test_a_head_bent_over_a_laptop() -> None:
    """Rotation about the ears, then the table (computed): 0.7 dB(A) less in front, 2.3 less behind."""
    azimuth, elevation = in_head_frame([0, 180], [40, 30], 30)
    assert np.abs(azimuth) == pytest.approx([0, 180], abs=0.01)
    assert elevation == pytest.approx([70, 0], abs=0.01)
    assert loss_dB(voice(), [0, 180], [40, 30], 30)[:, 0] == pytest.approx([-1.28, -5.0], abs=0.1)


def test_octaves_add_up_to_the_a_weighted_level() -> None:
    """Within the width of an octave: the table's A is of thirds."""
    weights = 10 ** ((np.array(SPEECH_DB) + A_WEIGHTING_DB) / 10)
    loss = loss_dB(voice(), [0, 90, 180], 40)
    summed = 10 * np.log10((weights * 10 ** (loss[:, 1:] / 10)).sum(1) / weights.sum())
    assert summed == pytest.approx(loss[:, 0], abs=0.35)
