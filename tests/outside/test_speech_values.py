"""Speech levels, critical distance and direct-to-reverberant ratio against values from outside.

Each row says where it is from and how sure that is: "published" was read at the address named,
"copy" in a secondary copy of the source, "computed" follows from a formula by other means than ours.
"""

import math

import pytest

from geometry.speech import (
    EFFORT_DBA,
    SABINE_S_M,
    absorption_m2,
    critical_distance_m,
    level_dBA,
    to_reverberant_dB,
    total_over_direct_dB,
)

FOOT_M = 0.3048

# ISO 9921:2003 Annex A, dB(A) at 1 m in front of the mouth; copy (two independent public notes).
EFFORTS = {"relaxed": 54, "normal": 60, "raised": 66, "loud": 72, "very loud": 78}

# Speech interference level 70 dB at 1 ft falls to 60, 54, 48, 42 dB at 3, 6, 12, 24 ft, in whole dB:
# engineeringtoolbox.com d_938, published.
BY_FEET = [(1, 70), (3, 60), (6, 54), (12, 48), (24, 42)]

# 20 lg r from 60 dB at 1 m; computed.
BY_METRES = [(0.5, 66.02), (1, 60.0), (1.5, 56.48), (2, 53.98), (2.5, 52.04), (3, 50.46), (4, 47.96)]

# V m3, T s, Q, sqrt(QA/16pi) with A = 0.161 V/T; and 0.057 sqrt(QV/T), the rounded form seen at
# strutt.arup.com/help (DCritical). Computed from the formulas by hand.
CRITICAL = [
    (200, 1.0, 1, 0.8004, 0.8061),
    (200, 1.0, 2, 1.1319, 1.1400),
    (100, 0.5, 2, 1.1319, 1.1400),
    (60, 0.4, 2, 0.9803, 0.9873),
    (150, 0.6, 2, 1.2655, 1.2746),
]

# distance over critical distance: direct less reverberant, total less direct, dB. Diffuse-field sums,
# computed; that the two are equal at the critical distance is its definition.
RATIOS = [(0.5, 6.021, 0.969), (1, 0.0, 3.010), (2, -6.021, 6.990), (4, -12.041, 12.304)]


@pytest.mark.parametrize(("effort", "level"), EFFORTS.items())
def test_vocal_efforts(effort: str, level: float) -> None:
    assert EFFORT_DBA[effort] == level


def test_no_other_effort_is_known() -> None:
    assert set(EFFORT_DBA) == set(EFFORTS)


def test_normal_speech_is_the_a_weighted_sum_of_its_octaves() -> None:
    """ISO 9921 Table H.2, male, octaves 125 to 8 kHz (copy); A-weighting of IEC 61672-1 (from memory)."""
    octaves = [62.9, 62.9, 59.2, 53.2, 47.2, 41.2, 35.2]
    weights = [-16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1]
    total = 10 * math.log10(sum(10 ** ((o + w) / 10) for o, w in zip(octaves, weights, strict=True)))
    assert total == pytest.approx(EFFORT_DBA["normal"], abs=0.1)


@pytest.mark.parametrize(("feet", "level"), BY_FEET)
def test_inverse_square_in_feet(feet: float, level: float) -> None:
    at_one_metre = 70 - 20 * math.log10(1 / FOOT_M)
    assert level_dBA(feet * FOOT_M, at_one_metre) == pytest.approx(level, abs=0.5)


@pytest.mark.parametrize(("metres", "level"), BY_METRES)
def test_inverse_square_in_metres(metres: float, level: float) -> None:
    assert level_dBA(metres, 60) == pytest.approx(level, abs=0.005)


@pytest.mark.parametrize(("volume", "time", "directivity", "exact", "rounded"), CRITICAL)
def test_critical_distance(
    volume: float, time: float, directivity: float, exact: float, rounded: float
) -> None:
    found = critical_distance_m(volume, time, directivity)
    assert found == pytest.approx(exact, abs=0.001)
    assert found == pytest.approx(rounded, rel=0.008)  # 0.057 is 0.7 % more than sqrt(0.161/16pi)


def test_coefficients_of_the_critical_distance() -> None:
    assert pytest.approx(0.161114, abs=1e-5) == SABINE_S_M  # 24 ln10 / 343
    assert critical_distance_m(1, 1, 1) == pytest.approx(0.056595, abs=3e-5)  # sqrt(0.161/16pi)


@pytest.mark.parametrize(("ratio", "direct", "total"), RATIOS)
def test_direct_against_reverberant(ratio: float, direct: float, total: float) -> None:
    rc = 1.1319
    assert to_reverberant_dB(ratio * rc, rc) == pytest.approx(direct, abs=0.002)
    assert total_over_direct_dB(ratio * rc, rc) == pytest.approx(total, abs=0.002)


def test_lecture_hall() -> None:
    """15 x 8 x 3 m, mean absorption 0.3: Sabine 0.51 s (1library.net/document/q57rvkwy, published, 0.162)."""
    volume, surface = 15 * 8 * 3, 2 * (15 * 8 + 15 * 3 + 8 * 3)
    assert absorption_m2(volume, 0.51) == pytest.approx(0.3 * surface, rel=0.01)


def test_tiled_room() -> None:
    """3728 ft3 with 329.4 sabin at 4 kHz: 0.55 s, with 0.049 V/A.

    Everest and Pohlmann, Master Handbook of Acoustics, example 2 (published).
    """
    absorption = absorption_m2(3728 * FOOT_M**3, 0.55) / FOOT_M**2
    assert absorption == pytest.approx(329.4, rel=0.015)
