"""The areas that lines close, and where they do not."""

from __future__ import annotations

import pytest

from geometry.faces import faces_of

SQUARE = [[(0, 0), (4, 0)], [(4, 0), (4, 3)], [(4, 3), (0, 3)], [(0, 3), (0, 0)]]


def test_lines_that_meet_or_cross_close_areas() -> None:
    # sides that stick out at the corners, and a wall across
    crossing = [[(-1, 0), (5, 0)], [(4, -1), (4, 4)], [(5, 3), (-1, 3)], [(0, 4), (0, -1)], [(1, 0), (1, 3)]]
    faces = faces_of(crossing)
    assert [area.area for area in faces.areas] == pytest.approx([9, 3])
    small, large = faces.at((0.5, 1)), faces.at((2, 1))
    assert small is not None
    assert large is not None
    assert (small.area, large.area) == (pytest.approx(3), pytest.approx(9))
    assert faces.at((6, 6)) is None


def test_a_gap_closes_nothing_and_its_ends_are_loose() -> None:
    open_ = [*SQUARE[:3], [(0, 3), (0, 1)]]
    faces = faces_of(open_)
    assert faces.areas == ()
    assert set(faces.loose_near((0, 0.5), 2)) == {(0, 0), (0, 1)}


def test_ends_a_hair_apart_meet_and_a_door_leaf_is_no_wall() -> None:
    near = [*SQUARE[:3], [(0, 3), (0.0003, 0.0002)], [(1, 0), (1, 0.9)]]
    faces = faces_of(near)
    assert len(faces.areas) == 1
    assert faces.areas[0].area == pytest.approx(12, abs=1e-2)


def test_no_lines_close_nothing() -> None:
    assert faces_of([]).areas == ()
    assert faces_of([[(1, 1), (1, 1)]]).areas == ()
