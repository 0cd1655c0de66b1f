"""The lowest and the highest of many faces over each place of a plan, against asking each face at points."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from geometry.envelope import Patch, Plane, highest, joined, lowest, patches
from geometry.outlines import together

ROOM = box(0, 0, 6, 4)
FACES = st.lists(
    st.builds(
        lambda x, y, width, depth, a, b, c: Patch(
            box(x, y, x + width, y + depth), Plane(a / 10, b / 10, c / 10)
        ),
        *(st.integers(-1, 5), st.integers(-1, 3), st.integers(1, 6), st.integers(1, 5)),
        *(st.integers(-4, 4), st.integers(-4, 4), st.integers(20, 40)),
    ),
    min_size=1,
    max_size=6,
)
PLACES = [(x + 0.137, y + 0.219) for x in range(6) for y in range(4)]


@settings(deadline=None)
@given(FACES)
def test_over_each_place_the_lowest_and_the_highest_face_are_found(faces: list[Patch]) -> None:
    for found, wanted in ((lowest(faces, ROOM), min), (highest(faces, ROOM), max)):
        assert together(one.area for one in found).area == pytest.approx(
            together(one.area for one in faces).intersection(ROOM).area, abs=1e-4
        )
        for place in PLACES:
            point = np.array([place])
            over = [float(one.plane.at(point)[0]) for one in faces if one.area.contains(shapely.Point(place))]
            mine = [float(one.plane.at(point)[0]) for one in found if one.area.contains(shapely.Point(place))]
            assert bool(mine) == bool(over)
            if over:
                # faces within half a millimetre over both of them are one
                assert mine[0] == pytest.approx(wanted(over), abs=1e-3)


def test_a_box_has_a_top_and_an_underside_and_no_sides() -> None:
    corners = np.array([(x, y, z) for z in (2.6, 2.62) for y in (0, 3) for x in (0, 4)], float)
    sides = [(0, 1, 2), (1, 3, 2), (4, 6, 5), (5, 6, 7), (0, 4, 1), (1, 4, 5), (2, 3, 6), (3, 7, 6)]
    found = patches(corners, np.array(sides), "it")
    assert sorted(round(one.plane.c, 6) for one in found) == [2.6, 2.62]
    assert all(one.area.area == pytest.approx(12) and one.mark == "it" for one in found)
    (under,) = lowest(found, ROOM)
    assert under.span_m == pytest.approx((2.6, 2.6))


def test_faces_of_one_plane_are_one_and_at_one_height_the_first_has_it() -> None:
    left, right = (
        Patch(box(0, 0, 3, 4), Plane(0, 0, 2.7), "a"),
        Patch(box(3, 0, 6, 4), Plane(0, 0, 2.7002), "a"),
    )
    (whole,) = joined([left, right])
    assert whole.area.area == pytest.approx(24)
    other = Patch(ROOM, Plane(0, 0, 2.7), "b")
    assert [one.mark for one in lowest([other, left], ROOM)] == ["b"]
    assert sorted(one.mark for one in lowest([left, other], ROOM)) == ["a", "b"]
