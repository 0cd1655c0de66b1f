"""Hanging heights: ends where the margin crosses zero, the best height, and who limits them."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar

from geometry.band import Band, slack
from geometry.coverage import Heads, cover
from geometry.heights import (
    SEARCHED_TO_M,
    best_height,
    head_intervals,
    height_interval,
    height_intervals,
)
from tests.geometry.strategies import bands, heads

ROUNDING_M = 1e-9
FLOOR_M, CEILING_M = 0.0, 4.5
LIMITS = {"floor_m": FLOOR_M, "ceiling_m": CEILING_M}
WIDE = Band(30, 72, 1, 3)


def least(band, people, height, demand=0.0, xy=(0.0, 0.0)):
    """Least of slack less demand at a height, by the plain functions: point by point of those that decide."""
    points, _, head = people.deciding(np.array([*xy, height]))
    demand = np.broadcast_to(demand, (len(people),))[head]
    return float((slack(band, np.hypot(*(points[:, :2] - xy).T), height - points[:, 2]) - demand).min())


demands = st.sampled_from(["slack", "margin"])


def asked(people, demand):
    return 0.0 if demand == "slack" else people.sway_m


# ---------------------------------------------------------------- the interval


@given(bands(), heads(), demands)
def test_the_ends_are_where_the_margin_crosses_zero(band, people, demand):
    w = asked(people, demand)
    interval = height_interval((0, 0), band, people, w, **LIMITS)
    assume(not interval.empty)
    # a number's slope in height may be as small as cos of its edge, or 0 for reach at the level of a mouth
    for end, outwards in ((interval.low_m, -1), (interval.high_m, 1)):
        assert least(band, people, end, w) >= -1e-7
        if FLOOR_M < end < CEILING_M:
            assert least(band, people, end + outwards * 1e-4, w) < 0
    assert least(band, people, (interval.low_m + interval.high_m) / 2, w) >= -ROUNDING_M


@settings(max_examples=40)
@given(bands(), heads(), demands)
def test_no_height_outside_the_interval_serves_everybody(band, people, demand):
    w = asked(people, demand)
    interval = height_interval((0, 0), band, people, w, **LIMITS)
    for height in np.linspace(FLOOR_M, CEILING_M, 181):
        good = least(band, people, height, w) >= 0
        if good:
            assert not interval.empty
            assert interval.low_m - ROUNDING_M <= height <= interval.high_m + ROUNDING_M
        elif not interval.empty:
            assert not interval.low_m + 1e-7 < height < interval.high_m - 1e-7


@settings(max_examples=40)
@given(bands(), heads(), demands)
def test_the_ends_agree_with_root_finding(band, people, demand):
    w = asked(people, demand)
    interval = height_interval((0, 0), band, people, w, **LIMITS)
    assume(not interval.empty and interval.high_m - interval.low_m > 1e-3)

    def value(height):
        return least(band, people, height, w)

    middle = (interval.low_m + interval.high_m) / 2
    for end, limit in ((interval.low_m, FLOOR_M), (interval.high_m, CEILING_M)):
        if value(limit) < 0 < value(middle):
            assert brentq(value, limit, middle, xtol=1e-12) == pytest.approx(end, abs=1e-7)
        else:
            assert end == limit


@given(bands(), heads(), st.floats(-1, 1), st.floats(-1, 1), st.floats(0, 0.2))
def test_many_places_at_once_agree_with_one_by_one(band, people, x, y, w):
    places = np.array([(0.0, 0.0), (x, y), (y, x)])
    low, high = height_intervals(places, band, people, w, **LIMITS)
    assert not np.isnan(low).any()
    assert not np.isnan(high).any()
    for place, lower, upper in zip(places, low, high, strict=True):
        one = height_interval(place, band, people, w, **LIMITS)
        if one.empty:
            assert lower > upper
        else:
            assert (one.low_m, one.high_m) == pytest.approx((lower, upper), abs=ROUNDING_M)


def test_many_places_at_once_agree_across_block_borders():
    random = np.random.default_rng(11)
    people = Heads.at(random.uniform((-1, -1, 1), (1, 1, 1.3), (23, 3)), half_range_m=0.05)
    places = random.uniform(-0.5, 0.5, (9001, 2))
    low, high = height_intervals(places, Band(20, 75, 0.6, 4), people, 0.05, floor_m=0, ceiling_m=5)
    assert (low <= high).any()
    assert (low > high).any()
    for i in random.integers(0, 9001, 30):
        one = height_intervals(places[i], Band(20, 75, 0.6, 4), people, 0.05, floor_m=0, ceiling_m=5)
        assert (one[0][0], one[1][0]) == (low[i], high[i])


@given(bands(), heads(), demands)
def test_the_interval_is_what_the_heads_alone_have_in_common(band, people, demand):
    w = asked(people, demand)
    low, high = head_intervals((0, 0), band, people, w)
    interval = height_interval((0, 0), band, people, w)
    if not interval.empty:
        assert interval.low_m == pytest.approx(low.max(), abs=ROUNDING_M)
        assert interval.high_m == pytest.approx(high.min(), abs=ROUNDING_M)
    for i in range(len(people)):
        alone = height_interval((0, 0), band, people.take(np.array([i])), np.broadcast_to(w, len(people))[i])
        assert alone.empty or (alone.low_m, alone.high_m) == pytest.approx((low[i], high[i]), abs=ROUNDING_M)


@given(bands(), heads(), demands)
def test_the_heads_named_at_the_ends_are_those_that_fail_first(band, people, demand):
    w = np.broadcast_to(asked(people, demand), (len(people),))
    interval = height_interval((0, 0), band, people, w, **LIMITS)
    assume(not interval.empty)
    for head, reason, end, step in (
        (interval.low_head, interval.low_reason, interval.low_m, -1e-4),
        (interval.high_head, interval.high_reason, interval.high_m, 1e-4),
    ):
        if head is None:
            assert reason is None
            assert end in (FLOOR_M, CEILING_M)
        else:
            assert least(band, people.take(np.array([head])), end + step, w[head]) < 0
            assert reason in (("too near", "too shallow") if step < 0 else ("too far", "too steep"))


@given(bands(), heads(), demands)
def test_an_empty_interval_names_heads_that_really_conflict(band, people, demand):
    w = np.broadcast_to(asked(people, demand), (len(people),))
    interval = height_interval((0, 0), band, people, w, **LIMITS)
    if not interval.empty:
        assert interval.conflict == ()
        return
    assert interval.low_m > interval.high_m
    assert len(interval.conflict) == (2 if interval.cause == "disagree" else 1)
    chosen = np.array(interval.conflict)
    assert height_interval((0, 0), band, people.take(chosen), w[chosen], **LIMITS).empty
    for head in interval.conflict if len(interval.conflict) == 2 else ():
        assert not height_interval((0, 0), band, people.take(np.array([head])), w[head], **LIMITS).empty


# ---------------------------------------------------------------- by hand


def test_the_interval_of_one_mouth_by_hand():
    # 0.9 m away: 30-72° asks a drop of 0.9 tan 30 = 0.520 to 0.9 tan 72 = 2.770 and of √(9 - 0.81) = 2.862 at most
    one = height_interval((0, 0), WIDE, Heads.at([(0.9, 0, 1.2)]))
    low, high = (0.9 * math.tan(math.radians(edge)) for edge in (30, 72))
    assert (one.low_m, one.high_m) == pytest.approx((1.2 + low, 1.2 + high))
    assert (one.low_head, one.high_head) == (0, 0)
    assert (one.low_reason, one.high_reason) == ("too shallow", "too steep")


def test_the_interval_of_a_range_takes_each_end_from_the_other_mouth():
    one = height_interval((0, 0), WIDE, Heads.at([(2, 0, 1.2)], half_range_m=0.1))
    assert one.low_m == pytest.approx(1.3 + 2 * math.tan(math.radians(30)))
    assert one.high_m == pytest.approx(1.1 + math.sqrt(5))
    assert one.high_reason == "too far"


def test_near_limits_the_low_end_where_the_mouth_is_close():
    one = height_interval((0, 0), Band(0, 90, 1, 3), Heads.at([(0.6, 0, 1.2)]))
    assert (one.low_m, one.low_reason) == (pytest.approx(2.0), "too near")


def test_straight_below_is_served_by_a_band_that_reaches_90_and_by_no_other():
    below = Heads.at([(0, 0, 1.2)])
    assert height_interval((0, 0), Band(45, 90, 1, 3), below).high_m == pytest.approx(4.2)
    other = height_interval((0, 0), WIDE, below)
    assert (other.cause, other.conflict) == ("band", (0,))


def test_the_farthest_of_those_out_of_reach_is_named():
    far = height_interval((0, 0), WIDE, Heads.at([(1.5, 0, 1.2), (3.5, 0, 1.2), (5, 0, 1.2)]), ceiling_m=3)
    assert (far.cause, far.conflict, far.high_m) == ("out of reach", (2,), -math.inf)


def test_ceiling_and_floor_are_told_as_such():
    one = Heads.at([(1.5, 0, 1.2)])
    assert height_interval((0, 0), WIDE, one, ceiling_m=2.0).cause == "ceiling"
    assert height_interval((0, 0), WIDE, one, floor_m=4.0, ceiling_m=5.0).cause == "floor"
    cut = height_interval((0, 0), WIDE, one, floor_m=2.2, ceiling_m=2.7)
    assert (cut.low_m, cut.high_m, cut.low_head, cut.high_head) == (2.2, 2.7, None, None)


def test_two_that_disagree_are_named_the_higher_one_first():
    # the near talker is too steep above 1.2 + 0.4 tan 72 = 2.43, the far one too shallow below 2.64
    two = height_interval((0, 0), WIDE, Heads.at([(0.4, 0, 1.2), (2.5, 0, 1.2)]))
    assert (two.cause, two.conflict) == ("disagree", (1, 0))


def test_two_that_meet_in_one_point_are_served_there():
    # 0.4 tan 72 = 2.132 tan 30; a tenth of a nanometre further out is still the same point, a micron is not
    drop = 0.4 * math.tan(math.radians(72))
    met, out = 1.2 + drop, drop / math.tan(math.radians(30))
    for far in (out, out + 1e-10):
        two = height_interval((0, 0), WIDE, Heads.at([(0.4, 0, 1.2), (far, 0, 1.2)]))
        assert not two.empty
        assert (two.low_m, two.high_m) == (pytest.approx(met, abs=1e-9), pytest.approx(met, abs=1e-9))
    assert height_interval((0, 0), WIDE, Heads.at([(0.4, 0, 1.2), (out + 1e-6, 0, 1.2)])).empty


def test_without_heads_everything_between_floor_and_ceiling_will_do():
    nobody = Heads.at(np.zeros((0, 3)))
    alone = height_interval((0, 0), WIDE, nobody, **LIMITS)
    assert (alone.low_m, alone.high_m, alone.empty) == (FLOOR_M, CEILING_M, False)
    low, high = height_intervals([(0, 0), (1, 1)], WIDE, nobody, **LIMITS)
    assert (low.tolist(), high.tolist()) == ([FLOOR_M] * 2, [CEILING_M] * 2)
    assert best_height((0, 0), WIDE, nobody) is None


def test_what_cannot_be_asked_is_refused():
    one = Heads.at([(1, 0, 1.2)])
    with pytest.raises(ValueError, match=r"demand_m holds -0\.1"):
        height_intervals((0, 0), WIDE, one, -0.1)
    with pytest.raises(ValueError, match="shape"):
        height_intervals((0, 0, 0), WIDE, one)
    with pytest.raises(ValueError, match="above ceiling_m"):
        best_height((0, 0), WIDE, one, floor_m=3, ceiling_m=2)


# ---------------------------------------------------------------- the best height


@settings(max_examples=40)
@given(bands(), heads())
def test_no_height_beats_the_best_one(band, people):
    best = best_height((0, 0), band, people, **LIMITS)
    assert FLOOR_M <= best.height_m <= CEILING_M
    place = np.array([[0, 0, best.height_m]])
    assert best.margin_m == pytest.approx(cover(place, [band], people).margin_m.min(), abs=ROUNDING_M)
    samples = [least(band, people, z, people.sway_m) for z in np.linspace(FLOOR_M, CEILING_M, 901)]
    assert best.margin_m >= max(samples) - (ROUNDING_M if best.exact else SEARCHED_TO_M)


@settings(max_examples=25)
@given(bands(), heads())
def test_the_best_margin_agrees_with_scipy(band, people):
    best = best_height((0, 0), band, people, **LIMITS)
    around = (max(best.height_m - 0.05, FLOOR_M), min(best.height_m + 0.05, CEILING_M))
    found = minimize_scalar(
        lambda z: -least(band, people, z, people.sway_m), bounds=around, options={"xatol": 1e-11}
    )
    assert -found.fun <= best.margin_m + (ROUNDING_M if best.exact else SEARCHED_TO_M)


def test_the_best_height_of_one_mouth_is_where_two_numbers_are_equal():
    # 2 m away the low edge asks for more height and the high edge and far for less
    best = best_height((0, 0), WIDE, Heads.at([(2, 0, 1.2)]))
    t = best.height_m - 1.2
    low = t * math.cos(math.radians(30)) - 2 * math.sin(math.radians(30))
    far = 3 - math.hypot(2, t)
    assert best.exact
    assert low == pytest.approx(far, abs=1e-9)
    assert best.margin_m == pytest.approx(low, abs=1e-9)


def test_the_best_height_where_somebody_must_be_missed_is_searched_for():
    two = Heads.at([(0.5, 0, 1.2), (3.4, 0, 1.2)], sway_m=0.1)
    best = best_height((0, 0), WIDE, two, floor_m=0, ceiling_m=4)
    fine = max(least(WIDE, two, z, 0.1) for z in np.linspace(0, 4, 40001))
    assert not best.exact
    assert best.margin_m < -0.1
    assert fine - SEARCHED_TO_M <= best.margin_m <= fine + 1e-4


def test_the_best_height_is_cut_by_the_ceiling():
    best = best_height((0, 0), WIDE, Heads.at([(2, 0, 1.2)]), ceiling_m=2.5)
    assert best.height_m == 2.5
