"""Which boxes are crossed by which segments: the near pairs alone are looked at, and nothing else is found by that."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from viz.sheets.crossing import FEW, crossings


@pytest.mark.parametrize("count", [(3, 5), (60, 80)])
def test_few_and_many_pairs_are_found_as_shapely_finds_them(count: tuple[int, int]) -> None:
    dice = np.random.default_rng(7)
    corners = dice.uniform(0, 12, (count[0], 2))
    boxes = np.concatenate([corners, corners + dice.uniform(0.5, 3, corners.shape)], axis=1)
    lines = dice.uniform(-2, 14, (count[1], 4))
    found = crossings(boxes, lines, each=True)
    expected = shapely.intersects(
        shapely.box(*boxes.T)[:, None], shapely.linestrings(lines.reshape(-1, 2, 2))[None]
    )
    assert (len(boxes) * len(lines) > FEW) == (count[0] > 3)
    assert 0 < expected.sum() < expected.size
    np.testing.assert_array_equal(found, expected)
    np.testing.assert_array_equal(crossings(boxes, lines), expected.sum(axis=1))


def test_a_line_along_an_axis_crosses_what_it_runs_through_and_nothing_beside_it() -> None:
    boxes = np.array([[1.0, 1.0, 2.0, 2.0]])
    through = np.array([[1.5, 0.0, 1.5, 3.0], [0.0, 1.5, 3.0, 1.5]])
    beside = np.array([[2.5, 0.0, 2.5, 3.0], [0.0, 0.5, 3.0, 0.5]])
    assert crossings(boxes, through).tolist() == [2]
    assert crossings(boxes, beside).tolist() == [0]
    assert crossings(boxes, np.empty((0, 4))).tolist() == [0]
