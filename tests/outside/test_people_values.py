"""Mouth heights against figures derived from the public survey data.

Source of every figure here: ANSUR II public data (NATICK/TR-15/007, 2012; 4 082 men, 1 986 women),
mouth heights derived person by person (eye height less 0.61 × menton-sellion length - 5 mm), shod 25 mm;
empirical percentiles, mm. Computed from the per-person files, not published as such.
"""

from __future__ import annotations

import pytest

from scenes.room.mouths import EYE_ABOVE_MOUTH_M, population_mouth_m

NORMAL_RULE_M = 0.006
"""The normal rule agrees with the empirical percentiles within this."""

DERIVED = [
    # who, posture, seat m, 5th, 50th, 95th percentile mm
    ("men", "seated", 0.430, 1111.7, 1164.1, 1219.0),
    ("women", "seated", 0.430, 1066.2, 1113.8, 1164.6),
    ("men", "seated", 0.450, 1131.7, 1184.1, 1239.0),
    ("women", "seated", 0.450, 1086.2, 1133.8, 1184.6),
    ("men", "standing", 0.0, 1494.7, 1596.0, 1707.0),
    ("women", "standing", 0.0, 1383.6, 1477.8, 1585.9),
]


@pytest.mark.parametrize(("who", "posture", "seat", "p05", "p50", "p95"), DERIVED)
def test_percentiles_agree_with_the_survey(who, posture, seat, p05, p50, p95):
    low, high = population_mouth_m(who, (5, 95), posture, seat)
    middle = population_mouth_m(who, (50, 50), posture, seat)[0]
    assert low == pytest.approx(p05 / 1000, abs=NORMAL_RULE_M)
    assert middle == pytest.approx(p50 / 1000, abs=NORMAL_RULE_M)
    assert high == pytest.approx(p95 / 1000, abs=NORMAL_RULE_M)


@pytest.mark.parametrize(
    ("posture", "seat", "low", "high"),
    # women's 5th to men's 95th percentile, mm
    [("seated", 0.430, 1066, 1219), ("seated", 0.450, 1086, 1239), ("standing", 0.0, 1384, 1707)],
)
def test_a_mixed_group_runs_from_small_women_to_tall_men(posture, seat, low, high):
    assert population_mouth_m("women and men", (5, 95), posture, seat) == pytest.approx(
        (low / 1000, high / 1000), abs=NORMAL_RULE_M
    )


def test_din_33402_gives_nearly_the_same_standing_range():
    # DIN 33402-2:2005-12 eye height standing F5 1435, M95 1735 (read in a secondary copy), less the
    # eye-to-mouth drop of 64 and 70 mm, shod 25 mm: 1396 to 1690
    low, high = population_mouth_m("women and men", (5, 95), "standing")
    assert low == pytest.approx(1.396, abs=0.02)
    assert high == pytest.approx(1.690, abs=0.02)


def test_eye_to_mouth_is_the_mean_of_both_sexes():
    # derived means 69.81 mm (men) and 63.99 mm (women)
    assert pytest.approx((0.06981 + 0.06399) / 2, abs=2e-4) == EYE_ABOVE_MOUTH_M


def test_one_metre_twenty_is_an_ear_height():
    # 84 % of a mixed group on a 450 mm seat has its mouth below 1.2 m: half of 50:50 women and men
    from statistics import NormalDist

    below = (NormalDist(1.1847, 0.03254).cdf(1.2) + NormalDist(1.1337, 0.02976).cdf(1.2)) / 2
    assert below == pytest.approx(0.84, abs=0.01)
    low, high = population_mouth_m("men", (68, 68), "seated", 0.45)
    assert low == high == pytest.approx(1.2, abs=0.001)
