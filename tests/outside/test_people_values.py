"""Heights of people against figures derived from the public survey data.

Source of every figure here, where none is named: ANSUR II public data (NATICK/TR-15/007, 2012; 4 082 men, 1 986 women),
mouth heights derived person by person (eye height less 0.61 × menton-sellion length + 5 mm), shod 25 mm;
empirical percentiles, mm. Computed from the per-person files, not published as such.
"""

from __future__ import annotations

import numpy as np
import pytest

from geometry.people import Normal, summed
from scenes.room.mouths import EYE_ABOVE_MOUTH_M
from scenes.room.populations import crown_above_mouth_m, mixed, mouth_range_m, mouths_of, populations
from scenes.room.provenance import Survey

NORMAL_RULE_M = 0.006
"""The normal rule agrees with the empirical percentiles within this."""

DERIVED = [
    # who, posture, seat m, 5th, 50th, 95th percentile mm
    ("men", "seated", 0.430, 1111.7, 1164.1, 1219.0),
    ("women", "seated", 0.430, 1066.2, 1113.8, 1164.6),
    ("men", "seated", 0.450, 1131.7, 1184.1, 1239.0),
    ("women", "seated", 0.450, 1086.2, 1133.8, 1184.6),
    ("men", "standing", 0.440, 1494.7, 1596.0, 1707.0),
    ("women", "standing", 0.440, 1383.6, 1477.8, 1585.9),
    ("men", "seated", "own", 1112.0, 1189.0, 1269.0),
    ("women", "seated", "own", 1026.0, 1097.0, 1172.0),
]


def some(name, percentiles=(5, 95), seat=0.44, women=None):
    of_name = {"men": 0.0, "women": 1.0}.get(name, 0.5)
    return Survey(name, percentiles, seat, of_name if women is None else women)


@pytest.mark.parametrize(("who", "posture", "seat", "p05", "p50", "p95"), DERIVED)
def test_percentiles_agree_with_the_survey(who, posture, seat, p05, p50, p95):
    low, high = mouth_range_m(some(who, seat=seat), posture)
    middle = mouth_range_m(some(who, (50, 50), seat), posture)[0]
    assert low == pytest.approx(p05 / 1000, abs=NORMAL_RULE_M)
    assert middle == pytest.approx(p50 / 1000, abs=NORMAL_RULE_M)
    assert high == pytest.approx(p95 / 1000, abs=NORMAL_RULE_M)


@pytest.mark.parametrize(
    ("posture", "seat", "low", "high"),
    # women's 5th to men's 95th percentile, mm
    [
        ("seated", 0.430, 1066, 1219),
        ("seated", 0.450, 1086, 1239),
        ("seated", "own", 1026, 1269),
        ("standing", 0.440, 1384, 1707),
    ],
)
def test_a_mixed_group_runs_from_small_women_to_tall_men(posture, seat, low, high):
    assert mouth_range_m(some("women and men", seat=seat), posture) == pytest.approx(
        (low / 1000, high / 1000), abs=NORMAL_RULE_M
    )


@pytest.mark.parametrize(
    ("who", "posture", "mean", "deviation"),
    # Means and deviations derived person by person, mm: seated above the seat; on a seat of their own popliteal
    # height and 25 mm of shoe; standing, shod.
    [
        ("men", "above", 734.7, 32.54),
        ("women", "above", 683.7, 29.76),
        ("men", "own", 1189.5, 48.0),
        ("women", "own", 1096.9, 43.8),
        ("men", "standing", 1597.63, 65.45),
        ("women", "standing", 1480.55, 60.76),
    ],
)
def test_means_and_deviations_of_the_survey(who, posture, mean, deviation):
    seat = "own" if posture == "own" else 0.0
    women, men = mouths_of(some(who, seat=seat), "standing" if posture == "standing" else "seated")
    height = women if who == "women" else men
    assert 1000 * height.mean == pytest.approx(mean, abs=0.5)
    # how legs and faces go together is not known to us, which makes an own seat's deviation 0.5 mm too large
    assert 1000 * height.deviation == pytest.approx(deviation, abs=0.8 if posture == "own" else 0.5)


@pytest.mark.parametrize(
    ("leg", "eye", "correlation", "true", "independent"),
    # popliteal height + eye height sitting, mm: deviation found in the data, and what independence would give
    [
        ((429.80, 24.82), (804.51, 33.16), 0.413, 48.95, 41.42),
        ((388.20, 23.59), (747.69, 30.38), 0.358, 44.64, 38.46),
    ],
)
def test_measures_of_one_body_are_added_with_their_correlation(leg, eye, correlation, true, independent):
    parts = [(1.0, Normal(*leg)), (1.0, Normal(*eye))]
    assert summed(parts, {(0, 1): correlation}).deviation == pytest.approx(true, abs=0.1)
    assert summed(parts).deviation == pytest.approx(independent, abs=0.1)
    # the naive sum is what must not come out of a population: 6 to 7 mm too narrow
    assert abs(summed(parts).deviation - true) > 6


@pytest.mark.parametrize("sex", ["women", "men"])
def test_bodies_drawn_with_the_surveys_correlations_have_the_same_moments(sex):
    # means, deviations (mm) and correlations of ANSUR II: eye sitting, menton-sellion, popliteal
    eye, face, leg, with_face, with_leg = {
        "men": ((804.51, 33.16), (122.64, 6.67), (429.80, 24.82), 0.212, 0.413),
        "women": ((747.69, 30.38), (113.09, 6.09), (388.20, 23.59), 0.228, 0.358),
    }[sex]
    deviations = np.array([eye[1], face[1], leg[1]])
    related = np.array([[1, with_face, with_leg], [with_face, 1, 0], [with_leg, 0, 1]])
    bodies = np.random.default_rng(20).multivariate_normal(
        [eye[0], face[0], leg[0]], related * np.outer(deviations, deviations), 40_000
    )
    above = bodies[:, 0] - 0.61 * bodies[:, 1] + 5
    for seat, drawn in ((0.0, above), ("own", above + bodies[:, 2] + 25)):
        women, men = mouths_of(some(sex, seat=seat), "seated")
        height = women if sex == "women" else men
        assert 1000 * height.mean == pytest.approx(drawn.mean(), abs=1.0)
        assert 1000 * height.deviation == pytest.approx(drawn.std(), rel=0.015)


def test_din_33402_gives_nearly_the_same_heights():
    # DIN 33402-2:2005-12 eye height standing F5 1435, M95 1735, seated F5 705, M95 855 (read in a secondary
    # copy), less the eye-to-mouth drop of 64 and 70 mm, shod 25 mm, on a seat of 450
    din = some("DIN 33402-2", seat=0.45)
    assert mouth_range_m(din, "standing") == pytest.approx((1.396, 1.690), abs=NORMAL_RULE_M)
    assert mouth_range_m(din, "seated") == pytest.approx((1.091, 1.235), abs=NORMAL_RULE_M)
    assert mouth_range_m(some("ANSUR II"), "standing") == pytest.approx((1.396, 1.690), abs=0.02)


def test_eye_to_mouth_is_the_mean_of_both_sexes():
    # derived means 69.81 mm (men) and 63.99 mm (women)
    assert pytest.approx((0.06981 + 0.06399) / 2, abs=2e-4) == EYE_ABOVE_MOUTH_M


def test_a_crown_is_above_the_mouth_by_a_hand():
    # sitting height - eye height sitting + eye to mouth, means: 918.29 - 804.51 + 69.81 and 856.63 - 747.69 + 64.0 mm
    assert crown_above_mouth_m(some("men")) == pytest.approx(0.1836, abs=1e-4)
    assert crown_above_mouth_m(some("women")) == pytest.approx(0.1729, abs=1e-4)
    assert crown_above_mouth_m(some("ANSUR II")) == pytest.approx(0.1836, abs=1e-4)


@pytest.mark.parametrize(
    ("posture", "low", "high", "women", "men", "both"),
    # The range from women's 5th to men's 95th, above the seat or the floor, and what share it holds: normal
    # distribution functions of the derived means and deviations.
    [
        ("seated", 0.63475, 0.78822, 0.94978, 0.94894, 0.94936),
        ("standing", 1.38061, 1.70529, 0.94989, 0.94954, 0.94972),
    ],
)
def test_a_range_of_five_to_ninety_five_holds_nearly_all(posture, low, high, women, men, both):
    who = some("women and men", seat=0.0)
    assert mouth_range_m(who, posture) == pytest.approx((low, high), abs=2e-4)
    held = [group.share_below(high) - group.share_below(low) for group in mouths_of(who, posture)]
    assert held == pytest.approx([women, men], abs=2e-4)
    assert mixed(who, posture).share_between(low, high) == pytest.approx(both, abs=2e-4)


def test_percentiles_of_the_mixture():
    # inverse of the half and half mixture, m; not the mean of two percentiles, which is 1.1030 for the seated 5th
    seated, standing = mixed(some("women and men"), "seated"), mixed(some("women and men"), "standing")
    assert [seated.at(p) for p in (0.05, 0.5, 0.95)] == pytest.approx([1.0851, 1.1481, 1.2166], abs=2e-4)
    assert [standing.at(p) for p in (0.05, 0.5, 0.95)] == pytest.approx([1.4022, 1.5369, 1.6817], abs=2e-4)
    women, men = mouths_of(some("women and men"), "seated")
    assert abs((women.at(0.05) + men.at(0.05)) / 2 - 1.0851) > 0.01


def test_one_metre_twenty_is_an_ear_height():
    # share of half women, half men whose mouth is lower than the plain defaults: 1.2 m (seat 0.44), 1.5 m standing
    assert mixed(some("ANSUR II"), "seated").share_below(1.2) == pytest.approx(0.8882, abs=5e-4)
    assert mixed(some("ANSUR II"), "standing").share_below(1.5) == pytest.approx(0.3467, abs=5e-4)
    # seat 0.45 and 0.43: 84 and 93 of 100
    assert mixed(some("ANSUR II", seat=0.45), "seated").share_below(1.2) == pytest.approx(0.84, abs=0.01)
    assert mixed(some("ANSUR II", seat=0.43), "seated").share_below(1.2) == pytest.approx(0.93, abs=0.01)


def test_slump_and_shoes_move_everybody_alike():
    slumped = Survey("women and men", (5, 95), 0.44, slump_m=0.04)
    low, high = mouth_range_m(some("women and men"), "seated")
    assert mouth_range_m(slumped, "seated") == pytest.approx((low - 0.04, high - 0.04))
    low, high = mouth_range_m(some("women and men"), "standing")
    barefoot = Survey("women and men", (5, 95), shoe_m=0.0)
    assert mouth_range_m(barefoot, "standing") == pytest.approx((low - 0.025, high - 0.025))


def test_every_survey_says_where_it_is_from():
    for survey in populations().values():
        assert "ANSUR II" in survey.source
        assert survey.sureness in ("seen", "copy")
        assert survey.women.mouth.mean < survey.men.mouth.mean
