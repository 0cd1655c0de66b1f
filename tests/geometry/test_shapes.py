"""The simple solids: extents, corners, and what is refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.shapes import Box, Cylinder, Disc, Segment
from tests.geometry.strategies import places

sizes = st.tuples(*[st.floats(0, 3)] * 3)


def area(corners):
    following = [*corners[1:], corners[0]]
    return sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(corners, following, strict=True)) / 2


@given(places, sizes, st.floats(-720, 720))
def test_a_turned_box_keeps_its_area_its_middle_and_its_circle(middle, size, turn_deg):
    box = Box(middle, size, turn_deg)
    corners = box.corners_on_plan()
    assert area(corners) == pytest.approx(size[0] * size[1], abs=1e-9)
    assert sum(x for x, _ in corners) / 4 == pytest.approx(middle[0], abs=1e-9)
    assert sum(y for _, y in corners) / 4 == pytest.approx(middle[1], abs=1e-9)
    for corner in corners:
        assert math.dist(corner, middle[:2]) == pytest.approx(box.plan_radius_m, abs=1e-9)


def test_a_box_turned_by_90_lies_across():
    corners = Box((1, 1, 1), (4, 2, 1), 90).corners_on_plan()
    assert corners == (
        pytest.approx((2, -1)),
        pytest.approx((2, 3)),
        pytest.approx((0, 3)),
        pytest.approx((0, -1)),
    )


@given(places, st.floats(0, 2), st.floats(0, 2))
def test_underside_and_top_are_half_the_height_from_the_middle(middle, radius, height):
    for shape in (Box(middle, (1, 1, height)), Cylinder(middle, radius, height)):
        assert shape.high_m - shape.low_m == pytest.approx(height, abs=1e-12)
        assert (shape.high_m + shape.low_m) / 2 == pytest.approx(middle[2], abs=1e-12)
    assert Cylinder(middle, radius, height).plan_radius_m == radius


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Box((0, 0, 0), (1, -0.1, 1)), r"size_m is \(1, -0\.1, 1\)"),
        (lambda: Cylinder((0, 0, 0), -1, 1), "radius_m is -1"),
        (lambda: Cylinder((0, 0, 0), 1, -2), "height_m -2"),
        (lambda: Disc((0, 0, 0), -1), "radius_m is -1"),
        (lambda: Segment((0, 0, 0), (0, 0, 1), -0.01), r"radius_m is -0\.01"),
    ],
)
def test_negative_sizes_are_refused(make, said):
    with pytest.raises(ValueError, match=said):
        make()
