"""The slider's table says at every height what the review would say there."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest

from scenes.review.height_table import explore
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [7, 4], ceiling: 2.755}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
people: {seated: {mouth: [1.07, 1.24]}}
seats: [{around: T1}]
standing: [{id: W, along: [[5.5, 1], [5.5, 3]], step: 1}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 55], two: [40, 80]}, reach: [0.8, 3]}
  f: {mount: flush, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 75]}, reach: [0.8, 3.4]}
arrays:
  - {id: A1, profile: p, at: [3, 2], height: 2.2345, band: one}
  - {id: A2, profile: f, at: [5, 2], band: one}
"""


@pytest.fixture(scope="module")
def room():
    return build(read_spec_text(ROOM))


def test_every_height_and_band_agrees_with_a_review_there(room):
    table = json.loads(json.dumps(explore(room, review(room))))
    assert table["heads"] == [head.id for head in room.heads]
    moving = table["arrays"][0]
    heights = moving["heights_m"]
    assert moving["today"] == {"height_m": 2.2345, "band": "one"}
    assert 2.2345 in heights
    assert heights[-1] == pytest.approx(2.755 - 0.03)
    assert max(b - a for a, b in pairwise(heights)) <= 0.01 + 1e-9
    for band in moving["bands"]:
        for k in range(0, len(heights), 23):
            there = review(room.with_array("A1", height_m=heights[k], band_name=band["name"]))
            states, reasons, slacks_m, margins_m = band["figures"][k]
            assert states == [head.state for head in there.heads]
            assert reasons == [head.reason for head in there.heads]
            assert slacks_m == pytest.approx([head.slack_m for head in there.heads])
            assert margins_m == pytest.approx([head.margin_m for head in there.heads])
            for i, head in enumerate(there.heads):
                assert band["states"][i][k] == {"covered": "c", "marginal": "m", "missed": "x"}[head.state]
                assert band["slack_mm"][i][k] == int(round(head.slack_m * 1000, 6))
                assert band["depression_cdeg"][i][k] == pytest.approx(head.depression_deg * 100, abs=0.51)
                assert band["slant_mm"][i][k] == pytest.approx(head.slant_m * 1000, abs=0.51)
                assert (band["served"][i][k] == "1") == (head.array == "A1")


def test_a_flush_array_has_one_height(room):
    flush = explore(room, review(room))["arrays"][1]
    assert flush["heights_m"] == [2.755]
    assert all(len(band["figures"]) == 1 for band in flush["bands"])
