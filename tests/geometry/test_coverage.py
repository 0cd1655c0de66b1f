"""Coverage: ranges, walkers, states, reasons, and which array serves whom."""

import math
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.band import ON_EDGE_M, Band, edges, least_margin, slack
from geometry.coverage import REASONS, Heads, cover, least_margins
from tests.geometry.strategies import bands, between_posts_m, heads, places, posts

ROUNDING_M = 1e-9
WIDE = Band(30, 72, 1, 3)
UP = np.array([[0.0, 0.0, 2.4]])


def reason_of(coverage, head=0, array=0):
    index = coverage.reason[array, head]
    return None if index < 0 else REASONS[index]


def dense_slacks(position, band, people, parts=200):
    """(n,) by the plain way: the least over posts close together on every way."""
    points, _, owner = posts(people, parts)
    values = slack(band, np.hypot(*(points[:, :2] - position[:2]).T), position[2] - points[:, 2])
    return np.array([values[owner == head].min() for head in range(len(people))])


def walker(way, low=1.1, high=1.1, **kept):
    """One head that walks along these corners, mouths from low to high."""
    way = np.asarray(way, float)
    legs = len(way) - 1
    return Heads(
        at_m=np.array([[*way[0], (low + high) / 2]]),
        sway_m=np.array([kept.get("sway_m", 0.0)]),
        xy_m=way[:-1],
        to_m=way[1:],
        low_m=np.full(legs, low),
        high_m=np.full(legs, high),
        start=np.array([0]),
    )


# ---------------------------------------------------------------- heads


@given(heads())
def test_taking_every_head_changes_nothing(people):
    again = people.take(np.arange(len(people)))
    for name in Heads.__slots__:
        np.testing.assert_array_equal(getattr(again, name), getattr(people, name))


@given(heads(), st.randoms(use_true_random=False))
def test_taking_heads_in_another_order_takes_their_rows_along(people, random):
    order = list(range(len(people)))
    random.shuffle(order)
    order = order[: random.randint(0, len(order))]
    taken = people.take(np.array(order, np.int64))
    whole, part = cover(UP, [WIDE], people), cover(UP, [WIDE], taken)
    np.testing.assert_array_equal(taken.at_m, people.at_m[order])
    # rows of another length may be rounded otherwise in the last bit
    np.testing.assert_allclose(part.margin_m, whole.margin_m[:, order], rtol=0, atol=1e-12)
    np.testing.assert_allclose(part.slack_m, whole.slack_m[:, order], rtol=0, atol=1e-12)


@given(heads(), bands(), places)
def test_the_deciding_points_give_the_least_margin_of_all(people, band, position):
    points, demand, owner = people.deciding(position)
    standing = ~people.walking
    ranged = people.high_m > people.low_m
    assert len(people.ends()[0]) == ((1 + ranged) * np.where(standing, 1, 2)).sum()
    assert len(points) == ((1 + ranged) * np.where(standing, 1, 3)).sum()
    margin = cover(np.array([position]), [band], people).margin_m[0]
    assert least_margin(band, [position], points, demand)[0] == pytest.approx(margin.min(), abs=ROUNDING_M)
    assert least_margins(band, [position], people)[0] == pytest.approx(margin.min(), abs=ROUNDING_M)
    for head in range(len(people)):
        mine = owner == head
        alone = least_margin(band, [position], points[mine], demand[mine])[0]
        assert alone == pytest.approx(margin[head], abs=ROUNDING_M)


def test_heads_that_do_not_fit_together_are_refused():
    good = Heads.at([(0, 0, 1.2), (1, 0, 1.2)])
    values = {field.name: getattr(good, field.name) for field in fields(Heads) if field.init}
    for name, wrong, said in (
        ("low_m", np.array([1.3, 1.2]), "low_m must not exceed"),
        ("start", np.array([0, 0]), "start must rise"),
        ("start", np.array([0, 2]), "below the number of rows"),
        ("sway_m", np.zeros(3), "one entry per head"),
        ("high_m", np.zeros(1), "one entry per row"),
        ("to_m", np.zeros((1, 2)), r"to_m \(1, 2\)"),
        ("xy_m", np.zeros((2, 3)), r"xy_m \(2, 3\)"),
    ):
        with pytest.raises(ValueError, match=said):
            Heads(**{**values, name: wrong})


# ---------------------------------------------------------------- laws


@given(bands(), heads(), places)
def test_slack_is_the_least_over_ways_and_range_ends(band, people, position):
    coverage = cover(np.array([position]), [band], people)
    dense = dense_slacks(position, band, people)
    for head in range(len(people)):
        told = coverage.slack_m[0, head]
        assert told <= dense[head] + ROUNDING_M
        assert told >= dense[head] - between_posts_m(people) - ROUNDING_M
        assert coverage.margin_m[0, head] == told - people.sway_m[head]


@settings(max_examples=60, deadline=None)
@given(
    bands(),
    st.tuples(st.floats(-3, 3), st.floats(-3, 3)),
    st.tuples(st.floats(-3, 3), st.floats(-3, 3)),
    st.floats(-1, 3),
)
def test_a_way_is_judged_exactly_in_band_and_out_of_it(band, start, end, t):
    # posts 0.5 mm apart: near the nearest point the range bends by (0.25 mm)²/2ρ, under a micrometre
    # beyond 0.05 m
    way = walker([start, end], 1.2, 1.2)
    assume(way.walking[0] and heads_range(way) > 0.05)
    told = cover(np.array([[0.0, 0.0, 1.2 + t]]), [band], way).slack_m[0, 0]
    dense = dense_slacks((0.0, 0.0, 1.2 + t), band, way, math.ceil(math.dist(start, end) / 0.0005))
    assert told == pytest.approx(dense[0], abs=1e-6)


def heads_range(way):
    return float(way.ranges(np.zeros((1, 2))).min())


@settings(max_examples=60)
@given(bands(), st.floats(0, 4), st.floats(-3, 4), st.floats(0, 1.5), st.floats(0, 1))
def test_no_mouth_within_a_range_is_worse_than_both_ends(band, rho, t, span, part):
    ends = min(float(slack(band, rho, t)), float(slack(band, rho, t + span)))
    assert slack(band, rho, t + part * span) >= ends - ROUNDING_M


@given(bands(), heads(), places)
def test_slack_not_negative_means_in_band_and_in_reach(band, people, position):
    coverage = cover(np.array([position]), [band], people)
    inside = coverage.slack_m >= -ON_EDGE_M
    np.testing.assert_array_equal(inside, coverage.in_band & coverage.in_reach)
    np.testing.assert_array_equal(inside, coverage.reason == -1)
    for head in range(len(people)):
        margin, value = coverage.margin_m[0, head], coverage.slack_m[0, head]
        expected = "covered" if margin >= -ON_EDGE_M else "marginal" if value >= -ON_EDGE_M else "missed"
        assert coverage.state(0, head) == expected


@given(bands(), heads(), places)
def test_the_reason_is_the_least_number_at_the_worse_end(band, people, position):
    coverage = cover(np.array([position]), [band], people)
    points, _, owner = people.deciding(position)
    rho, t = np.hypot(*(points[:, :2] - position[:2]).T), position[2] - points[:, 2]
    values = slack(band, rho, t)
    for head in np.flatnonzero(coverage.reason[0] >= 0):
        mine = np.flatnonzero(owner == head)
        worst = mine[values[mine] <= values[mine].min() + ROUNDING_M]
        numbers = np.array(edges(band, rho[worst], t[worst]))
        # of several as bad it is the reason of one of them
        assert numbers[coverage.reason[0, head]].min() <= numbers.min(axis=0).max() + ROUNDING_M


@given(bands(), heads(), places, st.floats(0, 360))
def test_turning_the_room_changes_nothing(band, people, position, turn_deg):
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    turned = Heads(
        at_m=people.at_m @ turn.T,
        sway_m=people.sway_m,
        xy_m=people.xy_m @ turn[:2, :2].T,
        to_m=people.to_m @ turn[:2, :2].T,
        low_m=people.low_m,
        high_m=people.high_m,
        start=people.start,
    )
    before = cover(np.array([position]), [band], people)
    after = cover(np.array([turn @ position]), [band], turned)
    np.testing.assert_allclose(after.margin_m, before.margin_m, atol=ROUNDING_M)
    np.testing.assert_allclose(after.slant_m, before.slant_m, atol=ROUNDING_M)


# ---------------------------------------------------------------- by hand


def test_each_reason_by_hand():
    spots = {"too steep": (0.3, 0, 1.0), "too shallow": (2.4, 0, 1.6), "too far": (2.3, 0, 0.2)}
    for said, spot in spots.items():
        assert reason_of(cover(UP, [WIDE], Heads.at([spot]))) == said, spot
    assert reason_of(cover(UP, [WIDE], Heads.at([(0.5, 0, 1.9)]))) == "too near"
    assert reason_of(cover(UP, [WIDE], Heads.at([(1.4, 0, 1.0)]))) is None


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ([(0.3, 0), (1.4, 0), (1.6, 0)], "too steep"),
        ([(1.4, 0), (3.6, 0), (1.6, 0)], "too far"),
        ([(1.4, 0), (1.6, 0), (0.2, 0)], "too steep"),
        ([(1.4, 0), (2.5, 0), (0.9, 0)], "too shallow"),
    ],
)
def test_whoever_walks_is_told_the_reason_of_the_worst_place(path, said):
    assert reason_of(cover(UP, [WIDE], walker(path))) == said


def test_a_way_past_the_array_is_worst_where_it_comes_nearest():
    # both ends are in the band; half way the mouth is all but under the array
    path = [(-1.4, 0.2), (1.4, 0.2)]
    for end in path:
        assert cover(UP, [WIDE], Heads.at([(*end, 1.1)])).slack_m[0, 0] > 0
    told = cover(UP, [WIDE], walker(path))
    middle = cover(UP, [WIDE], Heads.at([(0, 0.2, 1.1)]))
    assert reason_of(told) == "too steep"
    assert told.slack_m[0, 0] == pytest.approx(middle.slack_m[0, 0], abs=ROUNDING_M)


def test_angles_are_of_the_middle_and_slack_of_the_range():
    one = cover(UP, [WIDE], Heads.at([(1.2, 0, 1.2)], half_range_m=0.3))
    assert one.depression_deg[0, 0] == pytest.approx(45)
    # the band's middle is at (30 + 72) / 2 = 51°
    assert one.off_centre_deg[0, 0] == pytest.approx(-6)
    assert one.slant_m[0, 0] == pytest.approx(1.2 * math.sqrt(2))
    # the higher mouth is the worse: 0.9 m down at 1.2 m, so near the low edge
    low = 0.9 * math.cos(math.radians(30)) - 1.2 * math.sin(math.radians(30))
    assert one.slack_m[0, 0] == pytest.approx(low)


def test_states_by_hand():
    # at 45° and 2 m every number is at least 0.5
    spot = (math.sqrt(2), 0, 2.4 - math.sqrt(2))
    slack_m = 2 * math.sin(math.radians(15))
    people = Heads.at([spot] * 3 + [(0, 0, 1)], sway_m=[0.1, slack_m, slack_m + 0.01, 0])
    states = [cover(UP, [WIDE], people).state(0, head) for head in range(4)]
    assert states == ["covered", "covered", "marginal", "missed"]


def test_a_range_that_passes_the_level_of_the_array_is_too_near_in_the_middle_only():
    one = cover(np.array([[0, 0, 1.5]]), [Band(0, 60, 1, 3)], Heads.at([(0.9, 0, 1.5)], half_range_m=0.6))
    assert not one.in_reach[0, 0]  # 0.9 m at the level of the array, though 1.08 m at both ends


def test_the_largest_margin_serves_and_on_a_tie_the_first():
    left, right = (-1.0, 0.0, 2.4), (1.0, 0.0, 2.4)
    people = Heads.at([(-1.9, 0.5, 1.2), (1.9, 0.5, 1.2), (0, 0.5, 1.2)])
    both = cover(np.array([left, right]), [WIDE, WIDE], people)
    assert both.serving().tolist() == [0, 1, 0]
    # mirror images differ by rounding only, which must not decide
    nudged = cover(np.array([np.subtract(left, (1e-13, 0, 0)), right]), [WIDE, WIDE], people)
    assert nudged.margin_m[0, 2] < nudged.margin_m[1, 2]
    assert nudged.serving()[2] == 0
    swapped = cover(np.array([right, left]), [WIDE, WIDE], people)
    assert swapped.serving().tolist() == [1, 0, 0]


def test_a_head_nobody_reaches_is_still_served_by_the_least_bad_array():
    far = Heads.at([(9, 0, 1.2)])
    two = cover(np.array([(0, 0, 2.4), (2, 0, 2.4)]), [WIDE, WIDE], far)
    assert two.serving().tolist() == [1]


def test_no_heads_are_answered_with_empty_tables():
    nobody = Heads.at(np.zeros((0, 3)))
    assert cover(UP, [WIDE], nobody).margin_m.shape == (1, 0)
    assert nobody.take(np.zeros(0, np.int64)).ends()[0].shape == (0, 3)


def test_inputs_stay_as_they_were():
    people = Heads.at([(1, 0, 1.2), (0, 1, 1.2)], sway_m=0.1, half_range_m=0.05)
    before = {name: getattr(people, name).copy() for name in Heads.__slots__ if name != "insides"}
    cover(UP, [WIDE], people)
    for name, value in before.items():
        np.testing.assert_array_equal(getattr(people, name), value)
