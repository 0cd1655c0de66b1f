"""The marks that tell kinds of devices apart: inside the outline, no two alike, the same in pictures and on sheets."""

from __future__ import annotations

import ezdxf
import numpy as np
import pytest

from tests.scenes.ceiling_rooms import device
from viz import devices
from viz.device_marks import MARKS, marks
from viz.sheets.symbols import draw_device


@pytest.mark.parametrize("kind", sorted(MARKS))
@pytest.mark.parametrize(("a", "b"), [(0.3, 0.3), (1.0, 0.05), (0.04, 0.4)])
def test_marks_stay_inside_the_outline(kind: str, a: float, b: float) -> None:
    for stroke in marks(kind, a, b):
        assert (np.abs(stroke) <= np.array([a, b]) + 1e-9).all()


def test_no_two_kinds_have_one_mark() -> None:
    drawn = {kind: str([stroke.round(3).tolist() for stroke in marks(kind, 0.5, 0.2)]) for kind in MARKS}
    assert len(set(drawn.values())) == len(MARKS)
    assert marks("no such kind", 1, 1) == []


@pytest.mark.parametrize("kind", sorted(MARKS))
def test_pictures_and_sheets_draw_the_same(kind: str) -> None:
    one = device("D", kind, (0.0, 0.0), size_m=(0.8, 0.4), round=False)
    strokes = devices.symbol(one)[1:]  # the outline is first
    block = ezdxf.new().blocks.new("D")
    draw_device(block, kind, 0.8, 0.4, False)
    lines = [np.array([tuple(p)[:2] for p in line.get_points()]) for line in block.query("LWPOLYLINE")][1:]
    assert len(lines) == len(strokes) > 0
    for line, stroke in zip(lines, strokes, strict=True):
        np.testing.assert_allclose(line, stroke, atol=1e-9)
