"""Regions: every place shown is allowed, and next to nothing allowed is left out."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.band import Band, slack
from geometry.coverage import Heads, cover, least_margins
from geometry.region import disc, inset, margin_map, region, shadow

BANDS = st.builds(
    lambda low, width, near, depth: Band(low, min(low + width, 90), near, near + depth),
    st.floats(0, 60),
    st.floats(15, 60),
    st.floats(0, 1.5),
    st.floats(1, 3),
)


@st.composite
def talkers(draw, most=6):
    count = draw(st.integers(1, most))
    spot = st.tuples(st.floats(-1.5, 1.5), st.floats(-1, 1), st.floats(1.0, 1.6))
    spots = draw(st.lists(spot, min_size=count, max_size=count))
    heads = Heads.at(spots, sway_m=draw(st.floats(0, 0.15)), half_range_m=draw(st.floats(0, 0.1)))
    if draw(st.booleans()):  # the first one walks: three legs
        path = np.add(spots[0][:2], [[0.3, 0], [0.4, 0.2], [0.1, draw(st.floats(-0.6, 0.6))]])
        return Heads(
            at_m=heads.at_m,
            sway_m=heads.sway_m,
            xy_m=np.concatenate([heads.xy_m[:1], path[:2], heads.xy_m[1:]]),
            to_m=np.concatenate([path, heads.xy_m[1:]]),
            low_m=np.concatenate([[heads.low_m[0]] * 2, heads.low_m]),
            high_m=np.concatenate([[heads.high_m[0]] * 2, heads.high_m]),
            start=np.concatenate([[0], np.arange(3, count + 2)]).astype(np.int64),
        )
    return heads


def grid(step=0.21):
    x = np.arange(-5, 5, step) + 0.013
    return np.array([(a, b) for a in x for b in x])


def least_margin(heads, band, places, height):
    points = np.column_stack([places, np.full(len(places), height)])
    return cover(points, [band] * len(points), heads).margin_m.min(axis=1)


def rim(found):
    """Corners and middles of all edges: where a polygon is nearest to what is not allowed."""
    rings = [ring for outer, holes in found.polygons for ring in (outer, *holes)]
    return np.concatenate([np.concatenate([ring, (ring + np.roll(ring, -1, axis=0)) / 2]) for ring in rings])


@settings(max_examples=40, deadline=None)
@given(talkers(), BANDS, st.floats(1.8, 3.2))
def test_every_place_shown_is_allowed_and_every_safe_place_is_shown(heads, band, height):
    found = region(heads, band, height)
    if found.polygons:
        assert least_margin(heads, band, rim(found), height).min() >= -1e-8
    places = grid()
    margin = least_margin(heads, band, places, height)
    shown = found.holds(places)
    assert margin[shown].min(initial=0) >= -1e-9
    # one circle loses at most 1 mm of range, and a range changes margin by at most as much
    assert shown[margin > 0.0011].all()


@pytest.mark.parametrize("band", [Band(20, 65, 1, 3), Band(0, 90, 1, 3), Band(10, 80, 0.5, 2)])
def test_one_head_gives_an_annulus_of_the_closed_form(band):
    # closed form: drop 1.1 m; ranges from the sphere and the two cones, area pi (R^2 - r^2)
    drop = 1.1
    far, near = math.sqrt(band.far_m**2 - drop**2), math.sqrt(max(band.near_m**2 - drop**2, 0))
    if band.low_deg > 0:
        far = min(far, drop / math.tan(math.radians(band.low_deg)))
    if band.high_deg < 90:
        near = max(near, drop / math.tan(math.radians(band.high_deg)))
    found = region(Heads.at([[2.0, 1.0, 1.2]]), band, 1.2 + drop)
    exact = math.pi * (far**2 - near**2)
    assert exact - 2 * math.pi * (far + near) * 0.001 <= found.area_m2 <= exact
    assert len(found.polygons) == 1
    assert len(found.polygons[0][1]) == (1 if near > 0 else 0)


def test_nowhere_is_an_empty_region():
    apart = Heads.at([[0, 0, 1.2], [9, 0, 1.2]])
    assert region(apart, Band(20, 65, 1, 3), 2.3).polygons == ()
    assert shadow(apart, Band(20, 65, 1, 3), 1.5, 2.8).area_m2 == 0
    one = Heads.at([[0, 0, 1.2]])
    assert region(one, Band(20, 65, 1, 3), 1.1).polygons == ()  # the array under the mouth
    assert region(one, Band(20, 65, 1, 3), 4.5).polygons == ()  # beyond the reach
    assert shadow(one, Band(20, 65, 1, 3), 2.8, 1.5).polygons == ()  # no height is allowed
    assert shadow(one, Band(20, 65, 1, 3), 5.0, 6.0).polygons == ()


def test_a_slack_below_zero_cannot_be_asked_for():
    with pytest.raises(ValueError, match="at least one head"):
        region(Heads.at(np.zeros((0, 3))), Band(20, 65, 1, 3), 2.3)
    with pytest.raises(ValueError, match=r"slack of -0\.02"):
        region(Heads.at([[0, 0, 1.2]], sway_m=0.1), Band(20, 65, 1, 3), 2.3, margin_m=-0.12)


def test_the_room_less_its_wall_margin_and_keep_outs_cut_the_region():
    heads, band = Heads.at([[1.0, 1.0, 1.2]]), Band(20, 70, 1, 3)
    room = np.array([[0, 0], [4, 0], [4, 2], [2, 2], [2, 3], [0, 3]], float)  # an L
    inner = inset((room, ()), 0.4)
    keep_out = disc((0.5, 1.5), 0.3, around=True)
    found = region(heads, band, 2.2, within=inner, without=[keep_out])
    places = grid(0.11)
    shown = places[found.holds(places)]
    assert len(shown) > 20
    assert np.hypot(*(shown - (0.5, 1.5)).T).min() >= 0.3
    # the corner of the L that points inwards is at (2, 2)
    assert np.hypot(*(shown - (2, 2)).T).min() >= 0.4
    assert shown.min() >= 0.4
    assert shown[:, 0].max() <= 3.6
    # closed form for the L inset by 0.4: 3.2 x 1.2, on the left 1.2 x 1.0 more, and at
    # the corner that points inwards a square less its quarter disc
    left = 3.2 * 1.2 + 1.2 * 1.0 + (0.4 * 0.4 - math.pi * 0.4**2 / 4)
    area = sum(_area(outer) for outer, _ in inner)
    assert left - 0.001 <= area <= left


def _area(ring):
    x, y = ring.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


@settings(max_examples=10, deadline=None)
@given(talkers(most=4), BANDS, st.floats(1.9, 2.6), st.floats(0.05, 1.0))
def test_the_shadow_is_what_a_dense_grid_of_heights_says(heads, band, low, depth):
    step, tolerance = 0.004, 0.01
    found = shadow(heads, band, low, low + depth, tolerance_m=tolerance)
    places = grid(0.23)
    if found.polygons:
        places = np.concatenate([places, rim(found)[:200]])
    levels = np.linspace(low, low + depth, math.ceil(depth / step) + 1)
    best = np.max([least_margins(band, np.insert(places, 2, h, axis=1), heads) for h in levels], axis=0)
    shown = found.holds(places)
    assert best[shown].min(initial=0) >= -step / 2 - 1e-9
    assert shown[best >= tolerance].all()


def test_the_rim_of_a_shadow_is_allowed_where_heads_take_turns_to_limit_it():
    turn = 2 * np.pi * np.arange(9) / 9
    heads = Heads.at(
        np.column_stack([1.4 * np.cos(turn), 0.8 * np.sin(turn), 1.1 + 0.1 * np.cos(3 * turn)]), sway_m=0.1
    )
    band = Band(20, 70, 0.8, 3.5)
    found = shadow(heads, band, 1.8, 2.7)
    places, levels = rim(found), np.linspace(1.8, 2.7, 451)
    points, keep, _ = heads.ends()
    rho = np.hypot(places[:, :1] - points[:, 0], places[:, 1:] - points[:, 1])
    best = np.max([(slack(band, rho, h - points[:, 2]) - keep).min(axis=1) for h in levels], axis=0)
    assert len(places) > 500
    assert best.min() >= -0.001  # half the distance between the heights tried
    assert best.max() <= 0.004 + 0.001  # and the rim is where the tolerance says


def test_the_shadow_is_more_than_the_regions_of_sampled_heights():
    heads, band = Heads.at([[-1, 0.8, 1.2], [1, 0.8, 1.2], [0, -0.9, 1.2]], sway_m=0.05), Band(25, 65, 1, 3)
    whole = shadow(heads, band, 1.8, 2.8)
    for height in (1.9, 2.1, 2.4, 2.7):
        part = region(heads, band, height, margin_m=0.004)
        for outer, _ in part.polygons:
            assert whole.holds(outer).all()
    assert whole.area_m2 > max(region(heads, band, h).area_m2 for h in np.linspace(1.8, 2.8, 41))


def test_the_map_is_the_least_margin_at_each_place():
    heads, band = (
        Heads.at([[-1, 0.8, 1.2], [1, 0.8, 1.2]], sway_m=[0.05, 0.1], half_range_m=0.1),
        Band(25, 65, 1, 3),
    )
    x, y = np.linspace(-2, 2, 7), np.linspace(-1, 1, 4)
    found = margin_map(heads, band, 2.3, x, y)
    assert found.shape == (4, 7)
    places = np.array([(a, b) for b in y for a in x])
    assert found.ravel() == pytest.approx(least_margin(heads, band, places, 2.3), abs=1e-12)
