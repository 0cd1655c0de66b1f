"""Outlines of other people's models: straightened within a stated distance, split, recognised."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from geometry.outlines import (
    as_circle,
    corners_of,
    half_plane,
    pieces,
    rectangle_along,
    rectangle_round,
    straightened,
    together,
    without_holes,
    without_slivers,
)

WITHIN_M = 0.001


def test_jogs_slivers_and_nearly_straight_walls_become_the_rectangle_that_was_meant() -> None:
    jogged = Polygon(
        [(0, 0), (3, 0), (3, 0.0005), (6, 0.0003), (6, 4), (2, 4), (2, 3.9), (2, 4), (0, 4.0002)]
    )
    found = straightened(shapely.make_valid(jogged.buffer(0)), WITHIN_M)
    assert len(corners_of(found.polygon)) == 4
    assert 0 < found.moved_m <= WITHIN_M
    assert np.allclose(found.polygon.bounds, (0, 0, 6, 4), atol=WITHIN_M)


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=3, max_size=8, unique=True),
    st.floats(0, 90),
)
def test_straightening_moves_no_edge_further_than_it_may(corners: list[tuple[int, int]], turn: float) -> None:
    hull = shapely.convex_hull(shapely.multipoints(corners))
    if hull.geom_type != "Polygon" or shapely.minimum_clearance(hull) < 10 * WITHIN_M:
        return
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    laid = shapely.transform(hull, lambda points: points @ np.array([[c, s], [-s, c]]))
    found = straightened(laid, WITHIN_M)
    assert found.polygon.is_valid
    assert found.moved_m <= WITHIN_M
    assert found.polygon.symmetric_difference(laid).area <= WITHIN_M * laid.length + 1e-9


def test_a_spike_and_a_slit_are_no_walls() -> None:
    spike = box(0, 0, 4, 3).union(box(4, 1, 6, 1.0004)).difference(box(1, 2, 1.0004, 3))
    assert without_slivers(spike, WITHIN_M).symmetric_difference(box(0, 0, 4, 3)).area < 1e-6


def test_triangles_of_one_fan_make_one_piece() -> None:
    ring = [(math.cos(a), math.sin(a)) for a in np.linspace(0, 2 * math.pi, 41)[:-1]]
    fan = [Polygon([(0.1, 0.05), ring[i - 1], ring[i]]) for i in range(40)]
    assert len(pieces(together(fan))) == 1
    assert together(fan).area == pytest.approx(Polygon(ring).area, abs=1e-6)


def test_corners_run_anticlockwise_from_the_lowest() -> None:
    clockwise = Polygon([(0, 4), (6, 4), (6, 0), (0, 0)])
    assert corners_of(clockwise) == ((0, 0), (6, 0), (6, 4), (0, 4))


def test_what_has_holes_is_cut_into_pieces_without() -> None:
    holed = box(0, 0, 10, 6).difference(box(1, 1, 2, 2)).difference(box(5, 3, 7, 4))
    parts = without_holes(holed)
    assert all(not part.interiors for part in parts)
    assert together(parts).symmetric_difference(holed).area < 1e-6
    assert sum(part.area for part in parts) == pytest.approx(holed.area)


@given(st.floats(-80, 80), st.floats(0.2, 3), st.floats(0.2, 3))
def test_a_turned_rectangle_is_known_by_its_size_and_turn(turn: float, width: float, depth: float) -> None:
    if abs(width - depth) < 0.01:
        return
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    own = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (width / 2, depth / 2)
    points = own @ np.array([[c, s], [-s, c]]) + (3, 2)
    along = rectangle_along(points, turn)
    assert along.size_m == pytest.approx((width, depth))
    assert along.middle_m == pytest.approx((3, 2))
    assert rectangle_round(Polygon(points)).size_m == pytest.approx(sorted((width, depth), reverse=True))


def test_a_circle_in_chords_is_a_circle_and_a_rounded_square_is_none() -> None:
    ring = shapely.Point(2, 3).buffer(0.6, quad_segs=8)
    found = as_circle(ring, 0.003)
    assert found is not None
    assert found.diameter_m == pytest.approx(1.2, abs=1e-6)
    assert found.middle_m == pytest.approx((2, 3))
    assert as_circle(box(0, 0, 1, 1).buffer(0.2), 0.003) is None
    assert as_circle(box(0, 0, 1, 1), 0.003) is None


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(-3, 3))
def test_a_half_plane_is_where_its_sum_is_negative(a: float, b: float, c: float) -> None:
    if math.hypot(a, b) < 0.05:
        return
    area = half_plane(a, b, c, (0, 0, 2, 1))
    for x, y in [(0.1, 0.1), (1.0, 0.5), (1.9, 0.2), (0.3, 0.95)]:
        value = a * x + b * y + c
        if abs(value) > 1e-6:
            assert area.contains(shapely.Point(x, y)) == (value < 0)
