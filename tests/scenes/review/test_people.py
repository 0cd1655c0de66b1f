"""What share of people a reviewed room covers, beside its verdict."""

from __future__ import annotations

import pytest

from scenes.review.as_json import as_json
from scenes.review.people import people_in, postures_of
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS
from tests.small_room import SMALL
from viz.words import people as words

PLACED = SMALL.replace(
    "{id: A1, profile: reed}", "{id: A1, profile: reed, at: [3, 2], height: 2.2, band: mid}"
)
MIXED = "people: {seated: {population: women and men}}\n"


def judged(text):
    return review(build(read_spec_text(text)))


def test_a_room_that_covers_the_range_with_room_to_spare_covers_all_of_them():
    found = people_in(room := judged(PLACED + MIXED))
    assert {head.state for head in room.heads} == {"covered"}
    assert found.expected_covered == pytest.approx(found.talkers, abs=1e-3)
    [seated] = found.postures
    assert (seated.named, seated.women, seated.seat_m) == (True, 0.5, 0.44)
    assert seated.share_held == pytest.approx(0.9494, abs=2e-4)
    assert words.line(room).endswith("Such people are covered in all 4 places.")


def test_a_plain_height_is_told_against_the_people_it_leaves_out():
    # an array this low covers mouths at 1.2 m and not those of tall people
    high = PLACED.replace("height: 2.2", "height: 1.6").replace("reach: [1, 3]", "reach: [0.4, 3]")
    room = judged(high + "people: {seated: {sway: 0.02}}\n")
    found = people_in(room)
    [seated] = found.postures
    assert (seated.named, seated.share_held) == (False, None)
    assert seated.share_below == pytest.approx(0.888, abs=1e-3)
    assert 0.01 < found.covered_share["T1-1"] < 0.999
    assert found.expected_covered == pytest.approx(sum(found.covered_share.values()))
    assert "89 of 100 people sit with their mouths lower than 1.20 m" in words.line(room)
    assert "Only some of them are covered in " in words.line(room)
    of_json = as_json(room)
    assert of_json["people"]["expected_covered"] == found.expected_covered
    assert of_json["people"]["population"] == "women and men"
    assert [head["covered_share"] for head in of_json["heads"]] == list(found.covered_share.values())


def test_a_line_that_is_blocked_covers_nobody():
    column = "obstacles: [{id: C1, at: [2.1, 2], size: [0.1, 3], from: 0, to: 2.7}]\n"
    room = judged(PLACED + MIXED + column)
    found = people_in(room)
    blocked = [head.id for head in room.heads if head.sight == "blocked"]
    assert blocked
    assert all(found.covered_share[id] == 0 for id in blocked)


def test_somebody_of_the_files_own_height_counts_as_the_verdict_has_them():
    text = PLACED.replace("seats: [", "seats: [{id: S1, at: [1.2, 2], mouth: 1.05}, ")
    found = people_in(room := judged(text + MIXED))
    assert found.covered_share["S1"] is None
    assert found.talkers == 5
    stands = room.head("S1").standing == "covered"
    rest = sum(share for share in found.covered_share.values() if share is not None)
    assert found.expected_covered == pytest.approx(rest + stands)


def test_who_stands_up_as_well_counts_by_the_worse_of_both():
    text = PLACED.replace("seats: [{around: T1, count: 4}]", "seats: [{around: T1, count: 4, stands: true}]")
    found = people_in(room := judged(text))
    assert found.talkers == 4
    worse = [min(found.covered_share[f"T1-{k}"], found.covered_share[f"T1-{k}-up"]) for k in range(1, 5)]
    assert found.expected_covered == pytest.approx(sum(worse))
    assert [one.posture for one in postures_of(room.scene)] == ["seated", "standing"]


def test_two_arrays_cover_together_what_each_covers_alone():
    one = people_in(judged(PLACED + MIXED))
    first = "{id: A1, profile: reed, at: [3, 2], height: 2.2, band: mid}"
    second = first.replace("A1", "A2").replace("[3, 2], height: 2.2", "[2, 2], height: 2.3")
    both = people_in(judged(PLACED.replace(first, f"{first}, {second}") + MIXED))
    assert all(both.covered_share[id] >= share - 2e-4 for id, share in one.covered_share.items())


def test_a_mirrored_room_gives_mirrored_shares():
    text = PLACED.replace("at: [3, 2], height: 2.2", "at: [2.2, 2], height: 1.9") + MIXED
    there = people_in(judged(text)).covered_share
    here = people_in(judged(text.replace("at: [2.2, 2], height", "at: [3.8, 2], height"))).covered_share
    assert sorted(here.values()) == pytest.approx(sorted(there.values()), abs=1e-6)
    assert list(here.values()) != pytest.approx(list(there.values()), abs=1e-3)


def test_of_several_layouts_the_one_that_lacks_most_counts():
    room = judged(LAYOUTS)
    whole = people_in(room)
    each = [people_in(one.review) for one in room.layouts]
    lacks = [one.talkers - one.expected_covered for one in each]
    assert whole.talkers - whole.expected_covered == pytest.approx(max(lacks))
    assert set(whole.covered_share) == {head.id for head in room.heads}
    assert len(as_json(room)["heads"]) == len(room.heads)
