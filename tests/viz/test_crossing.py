"""Which boxes are crossed by which segments: the near pairs alone are looked at, and nothing else is found by that."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from viz.sheets.crossing import FEW, crossings
from viz.sheets.draft import Draft, View
from viz.sheets.layers import layers
from viz.words.locale import Locale


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


def test_no_line_runs_through_a_label():
    """What was drawn before is covered where letters go: in a section there is not always a place off every line."""
    draft = Draft(Locale("m"), layers())
    view = View(draft, "Section", 50.0)
    for step in range(-40, 41):  # lines so close that no place is free of them
        view.line("wall", (step * 0.05, -2.0), (step * 0.05, 2.0), avoid=step % 2 == 0)
    box = view.label(["A1 wreath", "main"], (0.0, 0.0))
    kinds = [entity.dxftype() for entity in draft.doc.modelspace()]
    assert kinds[-4:] == ["WIPEOUT", "TEXT", "WIPEOUT", "TEXT"]
    covered = [entity.boundary_path_wcs() for entity in draft.doc.modelspace().query("WIPEOUT")]
    low, high = min(v.x for path in covered for v in path), max(v.x for path in covered for v in path)
    assert low / 50 <= box[0] + 0.5 + 1e-6
    assert high / 50 >= box[2] - 0.5 - 1e-6


def test_letters_on_clear_ground_cover_nothing():
    draft = Draft(Locale("m"), layers())
    view = View(draft, "Section", 50.0)
    view.line("wall", (0.0, -2.0), (2.0, -2.0))
    view.label(["A1"], (0.0, 0.0))
    assert not draft.doc.modelspace().query("WIPEOUT")
