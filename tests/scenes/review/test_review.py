"""The verdict, the serving array, sectors and intervals."""

from __future__ import annotations

import json

import pytest

from scenes.numbers import json_text, rounded
from scenes.review.as_json import as_json
from scenes.review.coverage import sector_of
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [7, 4], ceiling: 2.8}
seats: SEATS
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3], sectors: 4}
  s: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}
arrays: ARRAYS
"""
ONE = "[{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]"
NEAR = "[{id: S1, at: [1.6, 2]}]"


def scene(seats=NEAR, arrays=ONE, more=""):
    return build(read_spec_text(ROOM.replace("SEATS", seats).replace("ARRAYS", arrays) + more))


def verdict(**options):
    return review(scene(**options)).verdict


def test_everybody_covered_and_nothing_in_the_way_passes():
    assert verdict() == "pass"


def test_somebody_missed_fails():
    assert verdict(seats="[{id: S1, at: [1.6, 2]}, {id: S2, at: [6.9, 3.9]}]") == "fail"


def test_somebody_marginal_cautions():
    told = review(scene(seats="[{id: S1, at: [1.6, 2], sway: 0.6}]"))
    assert told.heads[0].state == "marginal"
    assert told.verdict == "caution"


def test_an_unjudged_clearance_cautions_and_a_judged_one_does_not():
    sprinkler = "overhead: [{{id: SP, kind: sprinkler, at: [6, 3], below: 0.05, spray: {}}}]\n"
    assert verdict(more=sprinkler.format("unknown")) == "caution"
    assert verdict(more=sprinkler.format("standard")) == "pass"


def test_a_blocked_line_of_sight_to_a_served_head_fails_and_names_what_blocks():
    told = review(scene(more="obstacles: [{id: C1, at: [2.3, 2], size: [0.3, 0.3]}]\n"))
    assert told.verdict == "fail"
    assert (told.heads[0].sight, told.heads[0].blocked_by) == ("blocked", "C1")
    assert told.heads[0].state == "covered"


def test_a_head_is_served_by_the_larger_margin_and_by_the_first_on_a_tie():
    two = (
        "[{id: A1, profile: p, at: [2, 2], height: 2.2, band: one},"
        " {id: A2, profile: p, at: [5, 2], height: 2.2, band: one}]"
    )
    told = review(scene(seats="[{id: S1, at: [3.5, 2]}, {id: S2, at: [6.1, 2]}]", arrays=two))
    assert [head.array for head in told.heads] == ["A1", "A2"]
    assert told.heads[0].also_covered_by == ("A2",)
    assert told.array("A1").heads == ("S1",)


def test_an_array_that_serves_nobody_has_no_margin_and_no_interval():
    two = (
        "[{id: A1, profile: p, at: [3, 2], height: 2.2, band: one},"
        " {id: A2, profile: p, at: [6, 2], height: 2.2, band: one}]"
    )
    idle = review(scene(arrays=two)).array("A2")
    assert (idle.heads, idle.margin_m, idle.mean_off_centre_deg, idle.height_interval_m) == (
        (),
        None,
        None,
        None,
    )


@pytest.mark.parametrize(
    ("point", "turn", "sector"),
    [
        ((4, 2), 0, 1),
        ((3, 3), 0, 2),
        ((2, 2), 0, 3),
        ((3, 1), 0, 4),
        ((4, 1.99), 0, 4),
        ((4, 2.01), 0, 1),
        ((4, 2), 30, 4),
        ((4, 2), -30, 1),
        ((3, 2), 0, None),
    ],
)
def test_sectors_count_anticlockwise_from_the_turn(point, turn, sector):
    array = scene(arrays=ONE.replace("band: one", f"band: one, turn: {turn}")).arrays[0]
    assert sector_of(array, point) == sector


def test_one_sector_is_number_one_everywhere_even_straight_below():
    array = scene(arrays=ONE.replace("profile: p", "profile: s")).arrays[0]
    assert sector_of(array, (3, 2)) == 1


def test_heights_in_the_covered_interval_keep_everybody_covered():
    room = scene(seats="[{id: S1, at: [1.6, 2]}, {id: S2, at: [4.5, 2.5]}]")
    low, high = review(room).array("A1").covered_interval_m
    for height in (low + 1e-6, (low + high) / 2, high - 1e-6):
        assert all(h.state == "covered" for h in review(room.with_array("A1", height_m=height)).heads)
    for height in (low - 1e-4, high + 1e-4):
        if 0.03 <= height <= 2.77:
            assert any(h.state != "covered" for h in review(room.with_array("A1", height_m=height)).heads)


def test_the_json_is_rounded_and_has_no_missing_key_and_no_nan():
    told = json.loads(json_text(as_json(review(scene()))))
    assert told["heads"][0]["reason"] is None
    assert told["speech"] is None
    assert rounded(-0.0000001) == 0
    assert str(rounded(-0.0)) == "0.0"
    assert rounded({"a": (float("nan"), 1.23456789)}) == {"a": [None, 1.234568]}
