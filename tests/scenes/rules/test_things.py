"""Distances to things: devices, obstacles, arrays, what is above the ceiling, a projector's light, and touching."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
import shapely

from geometry.shapes import Box
from scenes.review.regions import room_within
from scenes.review.review import review
from scenes.room.provenance import Given
from scenes.room.scene import Display, Grid, Obstacle, RuleChange, Suspension
from scenes.rulebook import rules
from scenes.rules.clearances import clearances
from scenes.rules.constraints import constraints_for
from scenes.spec.equipment import Kind
from tests.scenes.ceiling_rooms import (
    CEILING_M,
    array,
    cause_of,
    changed,
    device,
    guessed,
    only,
    profile,
    rows,
    scene,
)

# Devices ------------------------------------------------------------------------------------------------


DEFAULTS = tuple(kind for kind in get_args(Kind) if kind not in ("sprinkler", "smoke detector"))


@pytest.mark.parametrize("kind", DEFAULTS)
def test_a_default_of_overtables_own_cautions_and_never_fails(kind: str) -> None:
    room = scene(overhead=(device("D", kind, (3.0, 2.06), below_m=0.5),))
    rule = next(r.id for r in rules().values() if kind in r.applies_to)
    row = only(room, rule)
    assert (row.state, row.basis, row.sureness) == ("advised", "default", "default")


@pytest.mark.parametrize(
    ("kind", "number", "required_m"),
    [
        ("fan", "R20", 0.9),
        ("access panel", "R21", 0.6),
        ("exit sign", "R22", 0.3),
        ("emergency light", "R22", 0.3),
        ("strobe", "R22", 0.3),
        ("duct", "R11", 0.1),
        ("pipe", "R11", 0.1),
        ("cable tray", "R11", 0.1),
        ("sensor", "R12", 0.1),
        ("access point", "R12", 0.1),
        ("screen", "R12", 0.1),
        ("track", "R12", 0.1),
    ],
)
def test_what_is_kept_from_each_kind_of_the_building_services(
    kind: str, number: str, required_m: float
) -> None:
    # the body's radius is 0.05 m, the device's half width 0.1 m, and they are at one height
    for spare, state in ((-0.01, "advised"), (0.01, "clear")):
        at = (3.0 + 0.05 + 0.1 + required_m + spare, 2.0)
        one = device("D", kind, at, below_m=0.55, size_m=(0.2, 0.2), round=False)
        row = only(scene(overhead=(one,)), next(r.id for r in rules().values() if kind in r.applies_to))
        assert (rules()[row.rule].number, row.state, row.required_m) == (number, state, required_m)
        assert row.actual_m == pytest.approx(required_m + spare)


def test_a_code_fails_a_room_however_sure_its_copy_is() -> None:
    room = scene(overhead=(device("D", "smoke detector", (3.0, 2.06), below_m=0.5),))
    row = only(room, "smoke-detector")
    assert (row.state, row.basis, row.sureness) == ("short", "code", "memory")
    assert review(room).verdict == "fail"


def test_a_clearance_of_the_designers_own_can_fail() -> None:
    own = device("D", "loudspeaker", (4.0, 2.0), below_m=0.5, required_m=2.0)
    row = only(scene(overhead=(own,)), "loudspeaker")
    assert (row.state, row.basis, row.sureness, row.required_m) == ("short", "own", "own", 2.0)
    same = only(scene(overhead=(replace(own, required_m=1.0, at_m=(3.9, 2.0)),)), "loudspeaker")
    assert (same.state, same.basis, same.required_m) == ("short", "own", 1.0)  # as large as the default
    less = replace(own, required_m=0.1)
    assert only(scene(overhead=(less,)), "loudspeaker").state == "clear"


def test_a_stem_counts_as_the_device() -> None:
    lamp = device("L1", "light", (3.2, 2.0), below_m=0.9, stem_m=0.8)
    row = only(scene(overhead=(lamp,)), "light")
    assert row.actual_m == pytest.approx(0.2 - 0.05 - 0.01)
    assert row.part == "body"


def test_two_arrays_are_found_against_each_other_once() -> None:
    room = scene(arrays=(array("A1"), array("A2", (3.3, 2.0))))
    row = only(room, "other-array")
    assert (row.array, row.against, row.state) == ("A1", "A2", "advised")
    assert row.actual_m == pytest.approx(0.2)


# Above the ceiling -----------------------------------------------------------------------------------------


def test_of_what_is_above_the_ceiling_only_the_nearest_is_found() -> None:
    ducts = tuple(
        device(
            f"B{i}", "beam", (3.0 + 0.3 * i, 2.0), below_m=-0.05, depth_m=0.2, size_m=(0.2, 0.2), round=False
        )
        for i in (1, 2)
    )
    row = only(scene(overhead=ducts), "hang-line")
    assert (row.against, row.part) == ("B1", "box")
    assert row.actual_m == pytest.approx(0.3 - 0.1 - 0.075)
    assert not rows(scene(overhead=ducts, ceiling_kind="hard"), "hang-line")


def test_above_the_box_the_line_goes_on_to_the_structure() -> None:
    pipe = device("P1", "beam", (3.1, 2.0), below_m=-0.4, depth_m=0.05, size_m=(0.1, 0.1), round=False)
    row = only(scene(overhead=(pipe,)), "hang-line")
    assert (row.part, row.state) == ("line", "advised")
    assert row.actual_m == pytest.approx(0.1 - 0.05 - 0.004)


def test_a_box_on_the_structure_is_up_there_and_the_line_goes_up_to_it() -> None:
    """The structure is at 3.40 m, the box 60 mm high; a duct just above the ceiling, a pipe under the slab."""
    up = Suspension(box="structure")
    duct = device("B1", "beam", (3.2, 2.0), below_m=-0.02, depth_m=0.05, size_m=(0.2, 0.2), round=False)
    row = only(scene(overhead=(duct,), suspension=up), "hang-line")
    assert (row.part, row.state) == ("line", "clear")
    assert row.actual_m == pytest.approx(0.1 - 0.004)
    pipe = device("P1", "beam", (3.1, 2.0), below_m=-0.6, depth_m=0.05, size_m=(0.1, 0.1), round=False)
    in_it = scene(overhead=(pipe,), suspension=replace(up, box_size=Given((0.15, 0.15, 0.06))))
    assert [(row.against, row.part) for row in rows(in_it, "touch")] == [("P1", "box")]
    # where the structure is, and so the box, is not known: nothing can be in it
    assert not rows(replace(in_it, room=replace(in_it.room, structure_m=None)), "touch")


def test_columns_go_on_above_the_ceiling() -> None:
    column = Obstacle("C1", Box((3.2, 2.0, CEILING_M / 2), (0.2, 0.2, CEILING_M)))
    assert only(scene(obstacles=(column,)), "hang-line").against == "C1"
    post = Obstacle("C1", Box((3.2, 2.0, 1.0), (0.2, 0.2, 2.0)))
    assert not rows(scene(obstacles=(post,)), "hang-line")


def test_the_designers_own_distance_fails_only_where_the_box_is_given_too() -> None:
    """The duct's edge is 0.1 m off: inside the default box's 75 mm and 50 mm more, but not of the line's 4 mm."""
    duct = device("B1", "beam", (3.2, 2.0), below_m=-0.02, depth_m=0.05, size_m=(0.2, 0.2), round=False)
    own = changed(scene(overhead=(duct,)), "hang-line", 0.05)
    row = only(own, "hang-line")
    assert (row.state, row.basis, cause_of(row)) == ("advised", "own", "default-size")
    given = replace(own, suspension=Suspension(box_size=Given((0.15, 0.15, 0.06))))
    assert only(given, "hang-line").state == "short"


# A projector's light ------------------------------------------------------------------------------------------


def test_a_projector_without_a_picture_is_not_judged_and_one_with_it_is() -> None:
    projector = device("PJ1", "projector", (0.5, 2.0), below_m=0.4, size_m=(0.4, 0.3), round=False)
    row = only(scene(overhead=(projector,)), "projector-light")
    assert (row.state, row.part, cause_of(row)) == ("unjudged", None, "no-picture")
    away = scene(overhead=(projector,), displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 0.0),))
    assert only(away, "projector-light").state == "unjudged"
    towards = scene(overhead=(projector,), displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 180.0),))
    row = only(towards, "projector-light")
    assert row.state == "advised"
    assert row.actual_m is not None
    assert row.actual_m < 0


def test_the_nearer_of_body_and_cable_is_found_of_a_projectors_light() -> None:
    """A light 1.5 m and more away: the cable reaches up towards it, the body hangs 0.9 m lower."""
    screen = Display("DS", (0.1, 2.0, 2.5), 1.0, 0.3, 0.0)
    lamp = device("PJ", "projector", (5.5, 2.0), below_m=0.2, size_m=(0.2, 0.2), round=False, depth_m=0.1)
    room = scene(arrays=(array(at=(3.0, 0.5), height_m=1.7),), overhead=(lamp,), displays=(screen,))
    row = only(room, "projector-light")
    assert row.part == "cable"
    # the light's edge 0.5 * 2.5/5.4 m off its middle line at x = 3, a little more towards the screen
    assert row.actual_m == pytest.approx(1.5 - 0.5 * 2.5 / 5.4 - 0.004, abs=0.01)


# Two things in one place -----------------------------------------------------------------------------------------


def test_what_runs_into_something_fails_and_comes_first() -> None:
    lamp = device("L1", "light", (3.0, 2.0), below_m=0.6)
    row = clearances(scene(overhead=(lamp,)))[0]
    assert (row.rule, row.state, row.basis, row.required_m) == ("touch", "short", "fact", 0.0)
    assert cause_of(row) == "runs-into"
    assert rows(scene(overhead=(replace(lamp, at_m=(3.2, 2.0)),)), "touch") == []


def test_the_cable_cannot_go_up_through_a_recessed_light() -> None:
    lit = device("L1", "light", (3.0, 2.0), below_m=0.0, size_m=(0.6, 0.6), round=False, depth_m=0.1)
    row = only(scene(overhead=(lit,)), "touch")
    assert (row.part, row.state) == ("cable", "short")


def test_a_default_size_of_overtables_own_never_fails_a_room() -> None:
    """The lamp's 0.6 m are a default: the body, 0.25 m from its middle, is in it only if it is that large."""
    lamp = device("L1", "light", (3.25, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    row = only(scene(overhead=(guessed(lamp, "size"),)), "touch")
    assert (row.state, row.basis, row.required_m) == ("unjudged", "fact", None)
    assert row.cause is not None
    assert (row.cause.name, row.cause.thing) == ("default-size", "L1")
    assert review(scene(overhead=(guessed(lamp, "size"),))).verdict == "caution"
    assert only(scene(overhead=(lamp,)), "touch").state == "short"
    # where it is, and how low, the spec does say: what is there is in it whatever its size
    under = replace(guessed(lamp, "size", "depth"), at_m=(3.0, 2.0), low_m=2.2)
    assert only(scene(overhead=(under,)), "touch").state == "short"


def test_a_default_depth_of_overtables_own_never_fails_a_room() -> None:
    """The duct's underside is 2.1 m up; that it reaches the array's underside at 2.17 m is a default."""
    duct = device("B1", "beam", (3.0, 2.0), below_m=0.65, size_m=(0.3, 0.3), depth_m=0.3, round=False)
    shallow = replace(guessed(duct, "depth"), at_m=(3.15, 2.0))
    row = only(scene(arrays=(array(profile=profile(0.2)),), overhead=(shallow,)), "touch")
    assert (row.state, cause_of(row)) == ("unjudged", "default-depth")


def test_the_designers_own_value_fails_only_where_no_default_size_decides() -> None:
    lamp = device(
        "L1", "light", (3.7, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False, required_m=0.5
    )
    row = only(scene(overhead=(guessed(lamp, "size"),)), "light")
    assert (row.state, row.basis, row.required_m) == ("advised", "own", 0.5)
    assert only(scene(overhead=(lamp,)), "light").state == "short"
    assert only(scene(overhead=(replace(guessed(lamp, "size"), required_m=0.7),)), "light").state == "short"


# Two faces in the ceiling's plane ---------------------------------------------------------------------------------

TILES = Grid((0.6, 0.6), (0.0, 0.0))
FLUSH = profile(size=(0.3, 0.3, 0.05), mount="flush")


@pytest.mark.parametrize("kind", ["supply diffuser", "light", "loudspeaker"])
def test_two_faces_in_one_plane_and_place_need_no_default_depth(kind: str) -> None:
    """The device's size is given, its depth is a default; both faces are in the ceiling, and overlap on plan."""
    face = device("D1", kind, (3.2, 2.1), below_m=0.0, size_m=(0.3, 0.3), round=False)
    flush = array(profile=FLUSH, at=(3.0, 2.1))
    row = only(scene(arrays=(flush,), overhead=(guessed(face, "depth"),)), "touch")
    assert (row.state, cause_of(row)) == ("short", "runs-into")
    beside = scene(arrays=(replace(flush, at_m=(2.8, 2.1)),), overhead=(guessed(face, "depth"),))
    assert rows(beside, "touch") == []


def test_a_flush_face_in_a_diffusers_own_tile_needs_no_default_size() -> None:
    """Tile F4 is from 3.0 to 3.6 and from 1.8 to 2.4. The diffuser's middle and the array's body do not overlap."""
    diffuser = guessed(
        device("DF1", "supply diffuser", (3.3, 2.1), below_m=0.0, size_m=(0.6, 0.6), round=False),
        "size",
        "depth",
    )
    flush = array(profile=profile(size=(0.1, 0.1, 0.05), mount="flush"), at=(3.5, 2.3))
    room = scene(arrays=(flush,), overhead=(diffuser,), grid=TILES)
    row = only(room, "touch")
    assert (row.state, row.basis) == ("short", "fact")
    assert row.cause is not None
    assert (row.cause.name, row.cause.thing) == ("one-tile", "F4")
    assert review(room).verdict == "fail"
    # without a grid nothing says that it fills a tile, and in the next tile nothing is shared
    assert only(replace(room, room=replace(room.room, grid=None)), "touch").state == "unjudged"
    assert rows(room.with_array("A1", at_m=(3.7, 2.3)), "touch") == []


def test_what_hangs_below_the_ceiling_is_in_no_tile() -> None:
    lamp = guessed(
        device("L1", "light", (3.3, 2.1), below_m=0.02, size_m=(0.6, 0.6), round=False, depth_m=0.1), "size"
    )
    flush = array(profile=profile(size=(0.1, 0.1, 0.05), mount="flush"), at=(3.5, 2.3))
    assert only(scene(arrays=(flush,), overhead=(lamp,), grid=TILES), "touch").state == "unjudged"


# Walls, and what the search need not be asked twice -----------------------------------------------------------------


def test_a_body_in_a_wall_fails_whatever_the_wall_rule_says() -> None:
    """The middle is 0.03 m from the wall and the body 0.1 m wide: 0.02 m of it would be in the wall."""
    inside = scene(arrays=(array(at=(3.0, 0.03)),))
    for room in (inside, changed(inside, "wall"), changed(inside, "wall", 0.0)):
        row = only(room, "touch")
        assert (row.against, row.state, row.basis) == ("walls", "short", "fact")
        assert row.actual_m == pytest.approx(-0.02)
        assert review(room).verdict == "fail"
    beside = changed(scene(arrays=(array(at=(3.0, 0.05)),)), "wall")
    assert rows(beside, "touch") == []


def test_the_search_keeps_out_of_walls_whose_rule_is_switched_off() -> None:
    room = changed(scene(arrays=(array(at=(3.0, 0.03)),)), "wall")
    [touch] = [c for c in constraints_for(room, room.arrays[0]) if c.key == ("touch",)]
    assert touch.signed_m(np.array([[3.0, 0.03, 2.2], [3.0, 0.07, 2.2]])) == pytest.approx([-0.02, 0.02])
    # a spec may ask more of what may not touch than of walls
    more = changed(room, "touch", 0.5)
    [touch] = [c for c in constraints_for(more, more.arrays[0]) if c.key == ("touch",)]
    assert touch.signed_m(np.array([[3.0, 0.45, 2.2]])) == pytest.approx([-0.1])


def test_the_map_keeps_from_walls_what_the_spec_asks_of_touching() -> None:
    room = changed(scene(), "touch", 0.5)
    [(outline, _)] = room_within(room, room.arrays[0])
    assert shapely.Polygon(outline).bounds == pytest.approx((0.55, 0.55, 5.45, 3.45))


def test_touching_is_asked_of_the_search_only_where_no_other_rule_keeps_farther_away() -> None:
    lamp = device("L1", "light", (3.5, 2.0), below_m=0.6)
    room = scene(overhead=(lamp,))
    assert not [c for c in constraints_for(room, room.arrays[0]) if c.key == ("touch",)]
    for bare in (changed(room, "light"), scene(overhead=(replace(lamp, required_m=0.0),))):
        [touch] = [c for c in constraints_for(bare, bare.arrays[0]) if c.key == ("touch",)]
        assert touch.signed_m(np.array([[3.0, 2.0, 2.2]])) == pytest.approx([0.5 - 0.05 - 0.03])


def test_a_change_to_the_rule_is_not_the_reason_of_a_devices_own_value() -> None:
    own = device("D", "loudspeaker", (4.0, 2.0), below_m=0.5, required_m=2.0)
    letter = RuleChange("loudspeaker", False, 0.3, "a letter")
    plain = only(scene(overhead=(replace(own, required_m=None),), rule_changes=(letter,)), "loudspeaker")
    assert (plain.required_m, plain.basis, plain.change) == (0.3, "own", letter)
    both = only(scene(overhead=(own,), rule_changes=(letter,)), "loudspeaker")
    assert (both.required_m, both.basis, both.change) == (2.0, "own", None)
