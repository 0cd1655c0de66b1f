"""The band: its four numbers, the exact slack, the fast ways to both, and the footprint."""

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from geometry.band import (
    ON_EDGE_M,
    Band,
    depression_deg,
    edges,
    footprint,
    least_edge,
    least_margin,
    pair_slack,
    range_and_drop,
    slack,
    slant_m,
)
from tests.geometry.strategies import bands, places, plan, shifts

ROUNDING_M = 1e-9
"""What double precision may lose over a few metres, with three digits in hand."""

WIDE = Band(30, 72, 1, 3)


def slack_from(band, position, mouth):
    return float(slack(band, *range_and_drop(position, mouth)))


def boundary(band, points=4000):
    """The profile of the solid in the (range, drop) half plane, densely sampled, and the largest step."""
    angle = np.radians(np.linspace(band.low_deg, band.high_deg, points))
    along = np.linspace(band.near_m, band.far_m, points)[:, None]
    arc = np.column_stack([np.cos(angle), np.sin(angle)])
    pieces = [band.near_m * arc, band.far_m * arc, along * arc[0]]
    if band.high_deg < 90:  # the axis is inside the solid, no surface
        pieces.append(along * arc[-1])
    steps = [np.linalg.norm(np.diff(piece, axis=0), axis=1).max() for piece in pieces]
    return np.concatenate(pieces), max(steps)


# ---------------------------------------------------------------- a band at birth


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((60, 30, 1, 3), "60 to 30 degrees"),
        ((30, 30, 1, 3), "low < high"),
        ((-1, 30, 1, 3), "-1 to 30"),
        ((30, 91, 1, 3), "high <= 90"),
        ((30, 72, 3, 1), "3 to 1 m"),
        ((30, 72, 2, 2), "near < far"),
        ((30, 72, -0.1, 2), "-0.1 to 2"),
        ((math.nan, 60, 1, 3), "low_deg is nan"),
        ((30, 72, 1, math.inf), "far_m is inf"),
    ],
)
def test_an_impossible_band_is_refused_with_what_was_found(values, said):
    with pytest.raises(ValueError, match=said.replace("(", r"\(")):
        Band(*values)


def test_the_axis_is_exactly_vertical_where_a_band_reaches_90():
    assert Band(40, 90, 1, 3).edge_sines[2:] == (1.0, 0.0)


# ---------------------------------------------------------------- angles and distances by hand


def test_depression_slant_and_range_of_a_3_4_5_triangle():
    assert depression_deg((0, 0, 4), (3, 0, 0)) == pytest.approx(math.degrees(math.atan2(4, 3)), abs=1e-12)
    assert slant_m((0, 0, 4), (3, 0, 0)) == 5
    rho, t = range_and_drop((1, 1, 4), (1, 4, 0))
    assert (rho, t) == (3, 4)


def test_depression_straight_below_level_above_and_at_the_centre():
    mouths = [(0, 0, 1), (2, 0, 3), (0, 0, 5), (0, 0, 3)]
    assert depression_deg((0, 0, 3), mouths).tolist() == [90, 0, -90, 0]


def test_slack_of_places_worked_out_by_hand():
    # range and drop -> the nearest surface of 30-72°, 1-3 m, and how far it is
    s, c = 0.5, math.sqrt(3) / 2
    cases = {
        (math.sqrt(2), math.sqrt(2)): 2 * math.sin(math.radians(15)),  # r = 2 at 45°: the low edge
        (1.1 / math.sqrt(2), 1.1 / math.sqrt(2)): 0.1,  # just past near
        (2.0, 0.0): -1.0,  # level: 2 sin 30 below the low edge, foot at 1.73
        (0.0, 2.0): -2 * math.cos(math.radians(72)),  # straight below: the high edge's foot at 1.90
        (0.0, 0.0): -1.0,  # in the centre: near is 1 m away
        (4 * c, 4 * s): -1.0,  # along the low edge, 1 m past far
        (0.0, -3.0): -math.hypot(c, 3 + s),  # above: the near end of the low edge
        (5.0, 0.0): -math.hypot(5 - 3 * c, 3 * s),  # level and far: the far end of the low edge
    }
    for (rho, t), expected in cases.items():
        assert slack(WIDE, rho, t) == pytest.approx(expected, abs=1e-12), (rho, t)


def test_straight_below_is_inside_a_band_that_reaches_90():
    assert slack(Band(45, 90, 1, 3), 0.0, 2.0) == pytest.approx(1.0)
    assert slack(Band(45, 89, 1, 3), 0.0, 2.0) == pytest.approx(-2 * math.cos(math.radians(89)))


def test_with_near_0_the_centre_itself_is_on_the_edge():
    assert slack(Band(30, 72, 0, 3), 0.0, 0.0) == 0
    assert slack(Band(0, 90, 0, 3), 0.0, 0.0) == 0


# ---------------------------------------------------------------- laws


@given(bands(), places, places, shifts)
def test_translation_changes_nothing(band, position, mouth, shift):
    moved = slack_from(band, np.add(position, shift), np.add(mouth, shift))
    assert moved == pytest.approx(slack_from(band, position, mouth), abs=ROUNDING_M)


@given(bands(), places, places, st.floats(0, 360))
def test_rotation_about_the_vertical_changes_nothing(band, position, mouth, turn_deg):
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    assert slack_from(band, turn @ position, turn @ mouth) == pytest.approx(
        slack_from(band, position, mouth), abs=ROUNDING_M
    )


@given(bands(), places, shifts)
def test_slack_and_the_least_number_change_by_at_most_the_movement(band, mouth, shift):
    here, there = np.array(mouth), np.add(mouth, shift)
    moved = np.linalg.norm(shift)
    for measure in (slack, least_edge):
        before, after = (float(measure(band, *range_and_drop((0, 0, 2), p))) for p in (here, there))
        assert abs(after - before) <= moved + ROUNDING_M


@given(bands(), places)
@example(Band(0, 1, 0.0, 3), (0.0, 0.0, 3.5))  # straight above a band that starts level
@example(Band(0, 90, 0.0, 3), (2.0, 0.0, 2.0))  # level
def test_the_least_number_bounds_slack_and_equals_it_inside(band, mouth):
    rho, t = range_and_drop((0, 0, 2), mouth)
    exact, bound = slack(band, rho, t), least_edge(band, rho, t)
    assert bound >= exact - ROUNDING_M
    assert (bound >= 0) == (exact >= 0)
    if exact >= 0:
        assert exact == bound


@given(bands(), places)
def test_slack_is_positive_exactly_in_band_and_in_reach(band, mouth):
    depression = float(depression_deg((0, 0, 2), mouth))
    slant = float(slant_m((0, 0, 2), mouth))
    # on the edge itself rounding decides: keep a hair away from it
    edge = min(abs(depression - band.low_deg), abs(band.high_deg - depression) if band.high_deg < 90 else 1)
    assume(min(edge, abs(slant - band.near_m), abs(slant - band.far_m)) > 1e-7)
    inside = band.low_deg <= depression <= band.high_deg and band.near_m <= slant <= band.far_m
    assert (slack_from(band, (0, 0, 2), mouth) >= 0) == inside


@settings(max_examples=50)
@given(bands(), places)
def test_slack_is_the_distance_to_a_densely_sampled_surface(band, mouth):
    rho, t = range_and_drop((0, 0, 2), mouth)
    surface, step = boundary(band)
    sampled = np.linalg.norm(surface - [float(rho), float(t)], axis=1).min()
    # the nearest sample is at most half a step further than the surface
    assert sampled - step / 2 - ROUNDING_M <= abs(float(slack(band, rho, t))) <= sampled + ROUNDING_M


@given(bands(), places)
def test_no_slack_exceeds_the_largest_ball(band, mouth):
    assert slack_from(band, (0, 0, 2), mouth) <= band.largest_ball_m + ROUNDING_M


@pytest.mark.parametrize(
    "band",
    [WIDE, Band(30, 72, 0, 3), Band(45, 90, 1, 3), Band(45, 90, 0, 3), Band(0, 90, 0, 2), Band(0, 4, 0.1, 5)],
)
def test_the_largest_ball_is_attained(band):
    rho, t = np.meshgrid(np.linspace(0, band.far_m, 301), np.linspace(0, band.far_m, 301))
    values = slack(band, rho, t)
    start = np.unravel_index(np.argmax(values), values.shape)
    best = minimize(
        lambda at: -float(slack(band, abs(at[0]), at[1])),
        (rho[start], t[start]),
        method="Nelder-Mead",
        options={"xatol": 1e-10, "fatol": 1e-12, "maxiter": 4000},
    )
    assert -best.fun == pytest.approx(band.largest_ball_m, abs=1e-6)


@given(bands(), places)
def test_the_four_numbers_are_what_their_names_say(band, mouth):
    rho, t = range_and_drop((0, 0, 2), mouth)
    near, far, low, high = (float(number) for number in edges(band, rho, t))
    r, depression = math.hypot(rho, t), math.atan2(t, rho)
    assert near == pytest.approx(r - band.near_m, abs=1e-12)
    assert far == pytest.approx(band.far_m - r, abs=1e-12)
    assert low == pytest.approx(r * math.sin(depression - math.radians(band.low_deg)), abs=1e-12)
    if band.high_deg == 90:
        assert high == math.inf
    else:
        assert high == pytest.approx(r * math.sin(math.radians(band.high_deg) - depression), abs=1e-12)


# ---------------------------------------------------------------- the fast ways


@settings(max_examples=60)
@given(
    bands(),
    st.lists(places, min_size=1, max_size=9),
    st.lists(places, min_size=1, max_size=9),
    st.booleans(),
    st.floats(0, 0.3),
)
@example(Band(30, 72, 0, 3), [(0, 0, 2)], [(0, 0, 2), (0, 0, 3), (0, 0, 1)], True, 0.1)
def test_the_fast_ways_agree_with_the_plain_ones(band, positions, points, exact, demand):
    rho, t = range_and_drop(np.array(positions)[None], np.array(points)[:, None])
    plain = (slack if exact else least_edge)(band, rho, t)
    np.testing.assert_allclose(pair_slack(band, positions, points, exact=exact), plain, atol=ROUNDING_M)
    np.testing.assert_allclose(
        least_margin(band, positions, points, demand, exact=exact),
        (plain - demand).min(axis=0),
        atol=ROUNDING_M,
    )


@pytest.mark.parametrize(("count", "mouths"), [(1, 1), (5000, 3), (3, 5000), (9000, 50), (70, 9000)])
@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize("band", [WIDE, Band(20, 90, 0, 2.5)])
def test_the_fast_ways_agree_across_block_borders(count, mouths, exact, band):
    random = np.random.default_rng(count * 7 + mouths)
    positions = random.uniform((-3, -3, 1.8), (3, 3, 2.8), (count, 3))
    points = random.uniform((-3, -3, 0.8), (3, 3, 2.2), (mouths, 3))
    demand = random.uniform(0, 0.2, mouths)
    some = random.integers(0, count, 40)
    rho, t = range_and_drop(positions[some][None], points[:, None])
    plain = (slack if exact else least_edge)(band, rho, t)
    before = positions.copy(), points.copy(), demand.copy()
    margin = least_margin(band, positions, points, demand, exact=exact)
    np.testing.assert_allclose(margin[some], (plain - demand[:, None]).min(axis=0), atol=1e-12)
    np.testing.assert_allclose(pair_slack(band, positions, points, exact=exact)[:, some], plain, atol=1e-12)
    for left, now in zip(before, (positions, points, demand), strict=True):
        np.testing.assert_array_equal(left, now)


def test_without_points_or_positions_nothing_is_limited():
    nothing = np.zeros((0, 3))
    assert least_margin(WIDE, [(0, 0, 2)], nothing).tolist() == [math.inf]
    assert least_margin(WIDE, nothing, [(0, 0, 2)]).shape == (0,)
    assert pair_slack(WIDE, nothing, [(0, 0, 2)]).shape == (1, 0)


# ---------------------------------------------------------------- the footprint


@given(bands(), st.floats(-1, 6), st.floats(0, 6))
@example(Band(0, 41, 1, 3), 0.0, 2.0)
@example(Band(30, 90, 1, 3), 0.5, 0.0)
def test_the_footprint_is_where_slack_is_not_negative(band, drop, rho):
    radii = footprint(band, drop)
    value = float(slack(band, rho, drop))
    assume(abs(value) > ROUNDING_M)
    assert (value >= 0) == (radii is not None and radii[0] <= rho <= radii[1])


@given(bands(), st.floats(0.01, 6))
@example(Band(5e-324, 90, 0, 1), 1.0)  # an angle whose sine is 0 without being 0: divided by zero once
def test_the_ends_of_the_footprint_are_on_the_surface(band, drop):
    radii = footprint(band, drop)
    if radii is not None:
        assert slack(band, radii[1], drop) == pytest.approx(0, abs=1e-7)
        if radii[0] > 0 or band.high_deg < 90:
            assert slack(band, radii[0], drop) == pytest.approx(0, abs=1e-7)


def test_footprints_that_are_not_there():
    assert footprint(WIDE, -0.1) is None
    assert footprint(WIDE, 0.0) is None
    assert footprint(WIDE, 0.49) is None  # the near end of the low edge is 0.5 m down
    assert footprint(WIDE, 2.86) is None  # the far end of the high edge is 3 sin 72 = 2.853 m down
    assert footprint(WIDE, 3.1) is None


def test_footprints_at_the_level_of_the_centre():
    assert footprint(Band(0, 41, 1, 3), 0.0) == (1, 3)
    assert footprint(Band(30, 72, 0, 3), 0.0) == (0, 0)
    assert footprint(Band(0, 90, 0, 3), 0.0) == (0, 3)


def test_a_footprint_is_a_disc_straight_below_where_the_band_reaches_90():
    assert footprint(Band(45, 90, 1, 3), 2.0) == pytest.approx((0, 2))


def test_a_rounding_below_zero_is_on_the_edge():
    assert -ON_EDGE_M < slack_from(WIDE, (0, 0, 2.0), (1.0, 0, 2.0 - math.tan(math.radians(30)))) < ON_EDGE_M


@given(bands(), plan)
def test_a_mouth_above_the_array_is_never_inside(band, x):
    assert slack_from(band, (0, 0, 2), (x, 0, 2.5)) < 0
