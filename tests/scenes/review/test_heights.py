"""Hanging heights per band, through the scene."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.coverage import cover
from scenes.review.heights import hanging_heights, heights_as_json
from scenes.room.build import build
from scenes.room.spans import height_span_m
from scenes.spec.reading import read_spec_text
from tests.scenes.ceiling_parts import BULKHEAD, ROOF, scene_of

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
people: {seated: {mouth: [1.07, 1.24]}}
seats: [{around: T1}]
profiles:
  p:
    mount: pendant
    body: {diameter: 0.2, height: 0.06}
    centre: 0.02
    bands: {one: [20, 55], two: [40, 80]}
    reach: [0.8, 3]
  f: {mount: flush, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 55]}, reach: [0.8, 3]}
arrays:
"""


def scene(arrays: str):
    return build(read_spec_text(ROOM + arrays))


def test_the_ends_of_a_covered_interval_are_where_the_least_margin_crosses_zero():
    room = scene("  - {id: A1, profile: p, at: [3, 2]}\n")
    (row,) = hanging_heights(room)
    assert [band.name for band in row.bands] == ["one", "two"]
    assert row.heads == tuple(head.id for head in room.heads)
    band = row.bands[0]
    profile = room.arrays[0].profile.band("one")

    def margin(height: float) -> float:
        return float(cover(np.array([[3, 2, height]]), [profile], room.heads_as_rows).margin_m.min())

    for end in band.covered_interval_m:
        if end not in row.span_m:
            assert margin(end) == pytest.approx(0, abs=1e-9)
    low, high = band.covered_interval_m
    assert band.interval_m[0] <= low <= band.best_m <= high <= band.interval_m[1]
    assert margin(band.best_m) == pytest.approx(band.best_margin_m, abs=1e-8)
    tried = np.linspace(*row.span_m, 400)
    assert max(margin(height) for height in tried) <= band.best_margin_m + 1e-9


def test_each_array_answers_for_the_nearest_heads_while_heights_are_open():
    rows = hanging_heights(
        scene(
            "  - {id: A1, profile: p, at: [2, 2]}\n  - {id: A2, profile: p, at: [4, 2]}\n  - {id: A3, profile: p}\n"
        )
    )
    assert [row.id for row in rows] == ["A1", "A2"]
    assert sorted(rows[0].heads + rows[1].heads) == sorted(f"T1-{n}" for n in range(1, 9))
    assert not set(rows[0].heads) & set(rows[1].heads)


def test_a_body_stays_under_the_ceiling_and_off_the_floor_and_flush_has_one_height():
    room = scene("  - {id: A1, profile: p, at: [3, 2]}\n  - {id: A2, profile: f, at: [3, 2]}\n")
    assert height_span_m(room, room.arrays[0]) == pytest.approx((0.02, 2.8 - 0.04))
    assert height_span_m(room, room.arrays[1]) == (2.8, 2.8)


def test_json_has_every_key_and_null_where_there_is_no_height():
    room = scene("  - {id: A1, profile: p, at: [0.5, 0.5], height: 2.2, band: one}\n")
    entry = heights_as_json(hanging_heights(room))["arrays"][0]
    bands = {band["name"]: band for band in entry["bands"]}
    assert bands["two"]["interval_m"] is None
    assert bands["two"]["covered_interval_m"] is None
    assert bands["two"]["conflict"]
    assert set(bands["one"]) >= {
        "name",
        "low_deg",
        "high_deg",
        "interval_m",
        "covered_interval_m",
        "best_m",
        "best_margin_m",
        "mean_off_centre_deg",
        "limited_by",
    }
    assert set(bands["one"]["limited_by"]) == {"low", "high"}


@pytest.mark.parametrize(
    ("at", "ceiling_m"),
    [
        ((3.6, 2.4), 2.45),
        ((2.3, 2.4), 2.8),
        ((6.2, 2.4), 2.5),
    ],  # bulkhead, the rest beside it, half way up the slope
)
def test_heights_end_under_the_part_over_the_array(at: tuple[float, float], ceiling_m: float) -> None:
    room = scene_of([BULKHEAD, ROOF]).with_array("A1", at_m=at, height_m=2.0)
    (row,) = hanging_heights(room)
    # the body is 0.04 high about its centre
    assert row.span_m[1] == pytest.approx(ceiling_m - 0.02)


def test_under_a_bulkhead_the_allowed_heights_end_at_its_underside() -> None:
    [[_, high]] = hanging_heights(scene_of([BULKHEAD]))[0].bands[0].allowed_m
    assert high == pytest.approx(2.45 - 0.02)
