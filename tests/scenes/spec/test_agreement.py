"""Plan polygons without a geometry library, held against one; and ids that groups give."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from geometry.polygons import area, crossing, inside

# Small whole numbers make touching, folding and overlapping edges common instead of almost impossible.
_points = st.tuples(st.integers(0, 5), st.integers(0, 5)).map(
    lambda point: (float(point[0]), float(point[1]))
)
_corners = st.lists(_points, min_size=3, max_size=7, unique=True)


@settings(max_examples=100)
@given(_corners)
@example([(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (6.0, 2.0), (7.0, 2.0), (7.0, 4.0), (0.0, 4.0)])
def test_an_outline_is_simple_when_shapely_says_so(corners: list[tuple[float, float]]) -> None:
    # shapely's validity of a ring without holes: no edge touches another but at a shared end.
    assert (crossing(corners) is None) == (Polygon(corners).is_valid and Polygon(corners).area > 0)


@settings(max_examples=100)
@given(_corners, st.tuples(st.floats(-1, 6), st.floats(-1, 6)))
def test_inside_and_area_agree_with_shapely(
    corners: list[tuple[float, float]], point: tuple[float, float]
) -> None:
    if crossing(corners) is not None:
        return
    polygon = Polygon(corners)
    assert abs(abs(area(corners)) - polygon.area) < 1e-12
    if abs(polygon.boundary.distance(Point(point))) > 1e-8:
        assert inside(point, corners) == polygon.contains(Point(point))


def test_the_edge_is_inside() -> None:
    square = [(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)]
    for point in [(0.0, 0.0), (6.0, 4.0), (6.0, 2.0), (3.0, 0.0), (6.0 + 5e-10, 2.0)]:
        assert inside(point, square)
    assert not inside((6.0 + 1e-8, 2.0), square)
    assert area(square) == 24
    assert area(square[::-1]) == -24


@pytest.mark.parametrize("axis", [0, 1])
def test_crossings_are_found_whichever_axis_is_swept(axis: int) -> None:
    # A comb of 400 teeth, then the same with one corner pulled through a neighbour.
    comb = [(k * 0.01, float(k % 2)) for k in range(400)] + [(4.0, -1.0), (0.0, -1.0)]
    torn = [*comb[:201], (1.985, 0.9), *comb[202:]]
    for corners, simple in ((comb, True), (torn, False)):
        turned = [(y, x) if axis else (x, y) for x, y in corners]
        assert (crossing(turned) is None) == simple == Polygon(turned).is_valid


def test_a_circle_of_corners() -> None:
    # Regular polygon, area n/2 sin(2 pi / n) r^2.
    circle = [(math.cos(2 * math.pi * k / 360), math.sin(2 * math.pi * k / 360)) for k in range(360)]
    assert crossing(circle) is None
    assert abs(area(circle) - 180 * math.sin(2 * math.pi / 360)) < 1e-12
