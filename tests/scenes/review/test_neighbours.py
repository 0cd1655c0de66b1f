"""Neighbours between a talker and the array: advice, told with names and angles, never a blocked line."""

from __future__ import annotations

import math

import pytest

from scenes.review.as_json import as_json
from scenes.review.neighbours import neighbours
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS
from viz.words.people import in_the_way

ROWS = """\
overtable: 1
name: Sorrel Room
units: m
room: {size: [8, 5], ceiling: 3}
people: {seated: {population: women and men, seat: 0.45}}
seats: [{id: S1, at: [1.0, 2.5]}, {id: S2, at: [1.762, 2.5]}, {id: S3, at: [1.7, 2.85]}]
profiles:
  reed: {mount: pendant, body: {diameter: 0.2, height: 0.1}, bands: {low: [6, 70]}, reach: [0.6, 6]}
arrays: [{id: A1, profile: reed, at: [5.5, 2.5], height: 2.4, band: low}]
"""


def judged(text):
    return review(build(read_spec_text(text)))


def test_who_is_in_front_is_named_with_the_angle_needed_and_had():
    found = neighbours(room := judged(ROWS))
    # S3 is 0.35 m aside; nobody is in front of S2
    assert set(found) == {"S1"}
    one = found["S1"]
    assert (one.head, one.neighbour, one.array, one.state) == ("S1", "S2", "A1", "advised")
    low, high = room.head("S1").mouth_range_m
    # crown 0.1836 m above the mouth: tests/outside/test_neighbour_values.py
    assert one.need_deg == pytest.approx(math.degrees(math.atan((high + 0.1836 - low) / 0.762)), abs=0.01)
    assert one.have_deg == pytest.approx(math.degrees(math.atan((2.4 - low) / 4.5)))
    assert 4.77 < one.loss_dB < 15
    assert "S2 is in front of S1 (angle down 16.3°, 23.9° would clear the head)" in in_the_way(room)


def test_it_is_advice_and_changes_neither_the_line_nor_the_verdict():
    room, alone = judged(ROWS), judged(ROWS.replace("{id: S2, at: [1.762, 2.5]}, ", ""))
    assert [head.sight for head in room.heads] == ["clear"] * 3
    assert room.verdict == alone.verdict
    assert in_the_way(alone) == ""


def test_a_steeper_way_clears_the_head():
    found = neighbours(room := judged(ROWS.replace("at: [5.5, 2.5]", "at: [3.2, 2.5]")))
    assert found["S1"].state == "clear"
    assert found["S1"].loss_dB == 0
    assert in_the_way(room) == ""
    told = {head["id"]: head["neighbour"] for head in as_json(room)["heads"]}
    assert told["S1"]["id"] == "S2"
    assert told["S1"]["state"] == "clear"
    assert told["S3"] is None


def test_a_mirrored_room_has_mirrored_neighbours():
    mirrored = ROWS
    for x in ("1.0", "1.762", "1.7", "5.5"):
        mirrored = mirrored.replace(f"[{x}, ", f"[{round(8 - float(x), 3)}, ")
    here, there = neighbours(judged(ROWS))["S1"], neighbours(judged(mirrored))["S1"]
    assert (there.neighbour, there.need_deg, there.have_deg, there.loss_dB) == pytest.approx(
        (here.neighbour, here.need_deg, here.have_deg, here.loss_dB)
    )


def test_nobody_is_in_their_own_way_and_layouts_do_not_meet():
    room = judged(LAYOUTS)
    found = neighbours(room)
    persons = {head.id: head.person for head in room.heads}
    layouts = {head.id: head.layout for head in room.heads}
    assert found
    assert all(persons[id] != persons[one.neighbour] for id, one in found.items())
    assert all(layouts[id] == layouts[one.neighbour] for id, one in found.items())
    assert len(as_json(room)["heads"]) == len(room.heads)
