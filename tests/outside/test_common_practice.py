"""What people who hang arrays over tables expect, as far as it can be put in numbers.

Common practice, no source: over a table of 2.4 x 1.2 m with places every 0.75 m, mouths 0.15 to 0.25 m
from the edge and 1.2 m up, and a reach of 1 to 3 m, an array over the middle of the table that listens
in a 30-60° band hangs at 2.2 ± 0.1 m, and one that listens in a 45-75° band between 2.2 and 3.2 m.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from geometry.band import Band
from geometry.coverage import Heads, cover
from geometry.heights import best_height, height_interval

GAPS_M = (0.15, 0.20, 0.25)
MIDDLE = (0.0, 0.0)
LOWER, STEEPER = Band(30, 60, 1, 3), Band(45, 75, 1, 3)


def talkers(gap, *, ends):
    """Three on each long side, 0.75 m apart, and with `ends` one on each short side."""
    spots = [(x, side * (0.6 + gap), 1.2) for x in (-0.75, 0, 0.75) for side in (-1, 1)]
    if ends:
        spots += [(side * (1.2 + gap), 0.0, 1.2) for side in (-1, 1)]
    return Heads.at(spots)


def centred_height(band, heads):
    """The height at which the mean off-centre is 0."""

    def mean_off_centre(height):
        return float(cover(np.array([[0, 0, height]]), [band], heads).off_centre_deg.mean())

    return brentq(mean_off_centre, 1.3, 5)


@pytest.mark.parametrize("ends", [False, True], ids=["sides", "ends too"])
@pytest.mark.parametrize("gap", GAPS_M)
def test_the_most_tolerant_height_of_a_middling_band(gap, ends):
    heads = talkers(gap, ends=ends)
    best = best_height(MIDDLE, LOWER, heads)
    assert best.height_m == pytest.approx(2.2, abs=0.1)
    assert best.margin_m > 0.16  # everybody is covered, sways of 0.10 m included


@pytest.mark.parametrize("ends", [False, True], ids=["sides", "ends too"])
@pytest.mark.parametrize("gap", GAPS_M)
def test_the_most_tolerant_height_of_a_steep_band(gap, ends):
    heads = talkers(gap, ends=ends)
    best = best_height(MIDDLE, STEEPER, heads)
    assert 2.2 <= best.height_m <= 3.2
    interval = height_interval(MIDDLE, STEEPER, heads)
    # nobody is lost below 3.2 either: practice stops where rooms do, not where the band does
    assert 2.2 <= interval.low_m <= best.height_m <= 3.2 < interval.high_m


@pytest.mark.parametrize("gap", GAPS_M)
def test_where_a_middling_band_is_centred_on_the_sides(gap):
    assert centred_height(LOWER, talkers(gap, ends=False)) == pytest.approx(2.2, abs=0.1)


def height_by_angles_alone(gap):
    """The height at which the eight angles down to the mouths are 45° on average, by trigonometry alone."""
    ranges = [math.hypot(x, 0.6 + gap) for x in (-0.75, 0, 0.75)] * 2 + [1.2 + gap] * 2
    return brentq(lambda z: sum(math.degrees(math.atan2(z - 1.2, rho)) - 45 for rho in ranges), 1.3, 5)


def test_people_at_the_ends_pull_a_middling_band_a_little_higher():
    # those at the ends are farthest, so they pull the array up; with the largest gap just past 2.3 m,
    # which practice's ± 0.1 m does not cover and the most tolerant height (above) does
    heights = [centred_height(LOWER, talkers(gap, ends=True)) for gap in GAPS_M]
    assert heights == pytest.approx([height_by_angles_alone(gap) for gap in GAPS_M], abs=1e-6)
    assert heights == sorted(heights)
    assert heights[0] == pytest.approx(2.2, abs=0.1)
    assert heights[1] == pytest.approx(2.2, abs=0.1)
    assert heights[2] > 2.3


@pytest.mark.parametrize("ends", [False, True], ids=["sides", "ends too"])
@pytest.mark.parametrize("gap", GAPS_M)
def test_where_a_steep_band_is_centred(gap, ends):
    assert 2.2 <= centred_height(STEEPER, talkers(gap, ends=ends)) <= 3.2


def test_a_45_degree_rule_of_thumb():
    # common practice, no source: at 45° the drop equals the distance on plan
    array = (0.0, 0.0, 1.2 + 0.8)
    one = cover(np.array([array]), [LOWER], Heads.at([(0.8, 0, 1.2)]))
    assert one.off_centre_deg[0, 0] == pytest.approx(0, abs=1e-9)
    assert one.slant_m[0, 0] == pytest.approx(0.8 * math.sqrt(2))
