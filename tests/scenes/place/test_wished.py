"""Wishes for places: kept in the search where they can be, priced against the search without, dropped with a reason."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Literal

import numpy as np
import pytest

from geometry.polygons import inside
from scenes.place.placement import Placement
from scenes.place.problem import Kept
from scenes.place.rows import rows_of
from scenes.place.search import place_question, place_scene
from scenes.place.snap import snap_placement
from scenes.place.wished import place_as_wished, wanted
from scenes.room.build import build
from scenes.room.provenance import Given
from scenes.room.scene import Scene
from scenes.rules.constraints import tightest
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [7, 5], ceiling: 2.8}
tables:
  - {id: T1, shape: rectangle, size: [2.4, 1.2], at: [2, 2.5]}
  - {id: T2, shape: rectangle, size: [1.2, 1.2], at: [5.6, 2.5]}
seats: [{around: T1, count: 6}, {id: S1, at: [5.4, 2.5]}, {id: S2, at: [4.4, 3.5]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3.6]}}
arrays: [{id: A1, profile: p}]
overhead: [{id: L1, kind: light, at: [2.4, 2.5], size: [0.6, 0.6], below: 0.2}]
"""


def room(wishes: str = "") -> Scene:
    """Six at one table, two beyond it, and a fitting where everybody would have most."""
    return build(read_spec_text(ROOM + (f"wishes: {wishes}\n" if wishes else ""), "room.yaml"))


@cache
def placed(wishes: str = "", enough_m: float = 0.0) -> Placement:
    """The room placed by the largest margin, as it wishes."""
    return place_as_wished(room(wishes), aim="margin", enough_m=enough_m, advise=False, rooms=False)


def centre(placement: Placement) -> tuple[float, float, float]:
    """Where the only array's acoustic centre is."""
    return placement.scene.arrays[0].centre_m


def over(placement: Placement, table: str) -> bool:
    """Whether the only array's centre is over a table."""
    outline = next(one.outline_m for one in placement.scene.tables if one.id == table)
    return inside(placement.arrays[0].at_m, outline)


def test_the_table_that_seats_half_of_them_is_wished_for() -> None:
    assert room().wishes.over.value == ("T1",)
    assert room().wishes.over.default
    assert room("{over: none}").wishes.over.value == ()
    assert room("{over: tables}").wishes.over.value == ("T1", "T2")
    alone = build(read_spec_text(ROOM.replace("count: 6", "count: 1"), "room.yaml"))
    assert alone.wishes.over.value == ()


def test_what_wishes_cost_adds_up_to_what_the_search_without_them_has_more() -> None:
    bare, kept = place_scene(room(), aim="margin", advise=False, rooms=False), placed()
    assert [told.wish for told in kept.wishes if told.kept] == ["over", "spare"]
    assert over(kept, "T1")
    assert not over(bare, "T1")
    assert kept.free is not None
    assert kept.free.margin_m == pytest.approx(bare.largest_margin_m, abs=1e-3)
    prices = [told.costs.margin_m or 0.0 for told in kept.wishes]
    assert min(prices) > 0
    assert sum(prices) == pytest.approx(kept.free.margin_m - (kept.largest_margin_m or 0.0), abs=1e-3)
    assert kept.as_json()["free"]["margin_m"] == kept.free.margin_m
    assert [told["wish"] for told in kept.as_json()["wishes"]] == ["over", "spare"]


def test_every_rule_keeps_its_spare_and_more_of_it_is_never_cheaper() -> None:
    some = [placed(f"{{over: T1, spare: {spare}}}") for spare in (0, 0.02, 0.1)]
    for placement, spare_m in zip(some, (0, 0.02, 0.1), strict=True):
        left = [
            one.signed_m for one in tightest(placement.scene, placement.scene.arrays[0], centre(placement))
        ]
        assert min(left) >= spare_m - 1e-6
    margins = [placement.largest_margin_m or 0.0 for placement in some]
    assert margins[0] > margins[1] > margins[2]
    assert [told.wish for told in some[0].wishes] == ["over"]


def test_by_default_nobody_loses_the_margin_asked_for_and_a_wish_of_the_designers_is_kept() -> None:
    dropped = placed("", 0.1)
    assert [(told.wish, told.reason) for told in dropped.wishes] == [("over", "margin"), ("spare", None)]
    assert not over(dropped, "T1")
    assert dropped.margin_m is not None
    assert dropped.margin_m >= 0.1
    own = placed("{over: T1}", 0.1)
    assert [(told.wish, told.reason) for told in own.wishes] == [("over", None), ("spare", None)]
    assert over(own, "T1")


def test_by_default_no_talker_is_given_up_and_a_wish_of_the_designers_may_cost_some() -> None:
    here = place_as_wished(room("{over: T2}"), aim="most", advise=False, rooms=False)
    assert [told.wish for told in here.wishes if told.kept] == ["over", "spare"]
    assert (here.wishes[0].costs.covered or 0) >= 1
    assert over(here, "T2")
    far = Given(("T2",), "default")
    of = replace(room(), wishes=replace(room().wishes, over=far))
    anywhere = place_as_wished(of, aim="most", advise=False, rooms=False)
    assert anywhere.wishes[0].reason == "talkers"
    assert not over(anywhere, "T2")


def test_rules_are_asked_of_a_place_once_whatever_is_wished() -> None:
    kept = Kept(over=("T1",), spare_m=0.02)
    bare, alone = place_question(room(), (), None), place_question(room(), (), None, kept=kept)
    beside = place_question(room(), (), None, kept=kept, beside=bare)
    assert beside.rules[0] is bare.rules[0]
    assert alone.rules[0] is not bare.rules[0]
    places = np.random.default_rng(3).uniform((0.5, 0.5, 1.8), (6.5, 4.5, 2.7), (40, 3))
    [one], [other] = beside.problem.kinds, alone.problem.kinds
    for some, same in zip(one.constraints, other.constraints, strict=True):
        assert some.key == same.key
        assert np.array_equal(some.signed_m(places), same.signed_m(places))


def test_where_no_place_keeps_a_wish_it_says_so() -> None:
    scene = room("{over: T1}").with_array("A1", at_m=(5.6, 2.5))
    held = place_as_wished(scene, aim="margin", hold=("at",), advise=False, rooms=False)
    assert [(told.wish, told.reason) for told in held.wishes if not told.kept] == [("over", "nowhere")]
    assert held.arrays[0].at_m == (5.6, 2.5)
    assert held.wishes[0].costs.margin_m is None


def test_a_table_that_is_not_there_is_a_mistake() -> None:
    with pytest.raises(SpecMistakes) as wrong:
        room("{over: T9}")
    [mistake] = wrong.value.mistakes
    assert (mistake.code, mistake.path) == ("unknown-name", "wishes.over")


# ---- several arrays in a row

TABLE = """\
overtable: 1
name: R
units: m
room: {size: [8, 5], ceiling: 2.8, grid: {pitch: [0.6, 0.6]}}
tables: [{id: T1, shape: rectangle, size: [3.6, 1.2], at: [4.003, 2.4], turn: TURN}]
seats: [{around: T1, count: 8}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 2.6]}
  q: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 2.6]}
arrays: [{id: A1, profile: p, turn: 30}, {id: A2, profile: OTHER}]
overhead: [{id: L1, kind: light, at: [6.9, 0.9], size: [0.3, 0.3], below: 0.2}]
"""


def long_room(wishes: str = "", other: str = "p", turn: int = 0) -> Scene:
    """Eight at a long table, and two arrays for them."""
    text = TABLE.replace("OTHER", other).replace("TURN", str(turn))
    return build(read_spec_text(text + (f"wishes: {wishes}\n" if wishes else ""), "room.yaml"))


@cache
def two(turn: int = 0) -> Placement:
    """The long table with two arrays, as it wishes."""
    return place_as_wished(long_room(turn=turn), aim="margin", enough_m=0.05, advise=False, rooms=False)


def is_row(placement: Placement, within_m: float) -> bool:
    """Whether the two arrays are level, in one band, and as far from the table's middle each way along it."""
    [table], (one, other) = placement.scene.tables, placement.arrays
    turn = math.radians(table.turn_deg)
    ways = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    a, b = (ways @ (np.array(each.at_m) - np.array(table.at_m)) for each in (one, other))
    level = one.height_m == other.height_m and one.band_name == other.band_name
    return level and float(np.abs(a + b).max()) <= within_m and abs(float(a[1])) <= within_m and a[0] < b[0]


def test_arrays_over_one_table_hang_in_a_row_about_its_middle() -> None:
    placement = two()
    assert [(told.wish, told.kept) for told in placement.wishes] == [
        ("row", True),
        ("over", True),
        ("spare", True),
    ]
    assert is_row(placement, 1e-9)
    assert [array.turn_deg for array in placement.scene.arrays] == [30, 0]
    assert placement.free is not None
    assert placement.largest_margin_m is not None
    assert placement.largest_margin_m <= (placement.free.margin_m or 0.0)


def test_rows_are_proven_by_every_aim() -> None:
    rows = Kept(rows=rows_of(long_room(), 2))
    placement = place_scene(long_room(), kept=rows, enough_m=0.05, advise=False, rooms=False)
    assert is_row(placement, 1e-9)
    assert {row.outcome for row in placement.aims} == {"certified"}
    best = {row.aim: row for row in placement.aims}
    assert (best["near"].margin_m or 0.0) >= 0.05 - 1e-9
    farthest = min(row.worst_slant_m or 0.0 for row in placement.aims if (row.margin_m or 0.0) >= 0.05)
    assert (best["near"].worst_slant_m or 0.0) <= farthest + 1e-3
    assert (best["margin"].margin_m or 0.0) >= max(row.margin_m or 0.0 for row in placement.aims) - 1e-3
    assert (best["centre"].rms_off_centre_deg or 0.0) <= min(
        row.rms_off_centre_deg or 0.0 for row in placement.aims
    ) + 0.01


@pytest.mark.parametrize(("to", "step_m"), [(0.01, 0.01), ("tile", 0.6)])
def test_a_row_is_written_as_a_row(to: Literal["tile"] | float, step_m: float) -> None:
    written = snap_placement(two(), to, nearby=to != "tile")
    one, other = (array.at_m for array in written.arrays)
    apart = other[0] - one[0]
    assert apart / step_m == pytest.approx(round(apart / step_m), abs=1e-6 if to == "tile" else 0.11)
    assert one[1] == other[1]
    assert is_row(written, 0.61 if to == "tile" else 0.001)
    assert all(number == pytest.approx(round(number, 3), abs=1e-9) for at in (one, other) for number in at)
    assert written.wishes[0].kept
    assert written.judged is not None
    assert not written.judged.short


def test_a_row_that_does_not_fit_the_tiles_is_said_to_be_off_them() -> None:
    assert is_row(two(20), 1e-9)
    askew = snap_placement(two(20), "tile")
    assert [told.reason for told in askew.wishes if told.wish == "row"] == ["lattice"]


def test_a_row_of_the_designers_own_says_why_it_cannot_be() -> None:
    assert [told.never for told in wanted(long_room("{row: true}", "q"))][:1] == ["profiles"]
    assert [told.name for told in wanted(long_room("", "q"))] == ["over", "spare"]
    assert [told.name for told in wanted(long_room("{row: false}"))] == ["over", "spare"]
    scene = long_room("{row: true}").with_array("A1", at_m=(3, 2)).with_array("A2", at_m=(5, 2))
    assert [told.never for told in wanted(scene, None, ("at",)) if told.name == "row"] == ["held"]
    assert not room("{row: true}").arrays[1:]
    assert [told.name for told in wanted(room("{row: true}"))] == ["over", "spare"]
    middle = {row.middle_m for row in rows_of(long_room("{over: none, row: true}"), 3)}
    assert middle == {(4.0, 2.5)}
