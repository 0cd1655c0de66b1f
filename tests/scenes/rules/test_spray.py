"""Sprinklers: three times the size beside the deflector, a plane below it, a table for wide bodies at the ceiling."""

from __future__ import annotations

import pytest

from scenes.review.review import review
from scenes.room.scene import Scene
from scenes.rules.clearances import clearances
from scenes.rules.constraints import constraints_for, tightest
from tests.scenes.ceiling_rooms import (
    CEILING_M,
    array,
    cause_of,
    changed,
    device,
    near_sprinkler,
    only,
    profile,
    rows,
    scene,
)


def test_a_body_of_100_mm_stays_300_mm_away_and_a_code_fails_a_room() -> None:
    short = only(near_sprinkler(0.299), "sprinkler-spray")
    assert (short.state, short.basis, short.sureness) == ("short", "code", "copy")
    assert (short.required_m, short.actual_m) == (pytest.approx(0.3), pytest.approx(0.299))
    assert review(near_sprinkler(0.299)).verdict == "fail"
    assert only(near_sprinkler(0.3), "sprinkler-spray").state == "clear"


def test_a_body_a_foot_wide_stays_at_the_cap() -> None:
    assert only(near_sprinkler(0.5, diameter_m=0.3048), "sprinkler-spray").required_m == pytest.approx(0.6096)


def test_below_the_plane_nothing_is_asked_of_narrow_bodies() -> None:
    deflector = CEILING_M - 0.05
    just_below = near_sprinkler(0.05, height_m=deflector - 0.4572 - 0.03)
    row = only(just_below, "sprinkler-spray")
    assert (row.state, row.required_m, cause_of(row)) == ("clear", pytest.approx(0.4572), "below-plane")
    assert row.actual_m == pytest.approx(0.4572)
    assert only(near_sprinkler(0.05, height_m=deflector - 0.45 - 0.03), "sprinkler-spray").state == "short"


def test_below_the_plane_bodies_wider_than_four_feet_are_not_judged() -> None:
    assert only(near_sprinkler(0, height_m=2.0, diameter_m=1.21), "sprinkler-spray").state == "clear"
    row = only(near_sprinkler(0, height_m=2.0, diameter_m=1.23), "sprinkler-spray")
    assert (row.state, cause_of(row)) == ("unjudged", "too-wide-below-plane")
    assert row.cause is not None
    assert row.cause.may_m == pytest.approx(1.2192)


@pytest.mark.parametrize("spray", ["unknown", "extended", "sidewall", "special"])
def test_heads_of_other_spray_are_not_judged_but_kept_away_from(spray: str) -> None:
    room = near_sprinkler(0.1, spray=spray)
    row = only(room, "sprinkler-spray")
    assert (row.state, row.required_m, row.actual_m) == ("unjudged", None, pytest.approx(0.1))
    assert cause_of(row) == f"{spray}-spray"
    [worst] = tightest(room, room.arrays[0], room.arrays[0].centre_m, within_m=0)
    assert worst.rule == "sprinkler-spray"
    assert worst.signed_m == pytest.approx(
        -0.13
    )  # 0.2 m sideways, or 0.13 m up, no longer under the deflector


def test_the_cable_has_its_own_three_times() -> None:
    room = scene(
        arrays=(array(profile=profile(0.1), height_m=1.9),),
        overhead=(device("SP1", "sprinkler", (3.02, 2.0)),),
    )
    row = only(room, "sprinkler-spray")
    assert (row.part, row.state, cause_of(row)) == ("cable", "short", "beside-cable")
    assert row.required_m == pytest.approx(0.024)
    assert row.actual_m == pytest.approx(0.016)


@pytest.mark.parametrize(("apart", "state"), [(0.456, "short"), (0.458, "clear")])
def test_a_wide_body_at_the_ceiling_follows_the_table(apart: float, state: str) -> None:
    """Its underside is 70 mm under the deflector: 457 mm are asked for, and from 305 mm on 64 mm are allowed."""
    wide = profile(size=(0.6, 0.6, 0.12))
    sprinkler = device("SP1", "sprinkler", (3.0 - 0.3 - apart, 2.0))
    at_ceiling = array(profile=wide, height_m=CEILING_M - 0.06)
    room = scene(arrays=(at_ceiling,), overhead=(sprinkler,), tables=())
    row = only(room, "sprinkler-table")
    assert (row.state, row.required_m, cause_of(row)) == (state, pytest.approx(0.4572), "wide-at-ceiling")
    assert row.cause is not None
    assert (row.cause.have_m, row.cause.may_m) == (
        pytest.approx(0.07),
        pytest.approx(0.0635 if apart < 0.4572 else 0.0889),
    )
    assert not rows(room, "sprinkler-spray")


def test_a_body_deeper_than_the_table_goes_is_not_judged() -> None:
    deep = profile(size=(0.6, 0.6, 0.7))
    room = scene(
        arrays=(array(profile=deep, height_m=CEILING_M - 0.35),),
        overhead=(device("SP1", "sprinkler", (2.6, 2.0), below_m=0.02),),
    )
    row = only(room, "sprinkler-table")
    assert (row.state, row.required_m, cause_of(row)) == ("unjudged", None, "deeper-than-table")


def test_a_recessed_array_needs_no_distance() -> None:
    flush = array(profile=profile(0.6, mount="flush"))
    room = scene(arrays=(flush,), overhead=(device("SP1", "sprinkler", (2.6, 2.0), spray="unknown"),))
    row = only(room, "sprinkler-spray")
    assert (row.state, row.required_m, cause_of(row)) == ("clear", None, "recessed")


def test_a_sprinkler_may_ask_for_its_own_clearance() -> None:
    asked = device("SP", "sprinkler", (2.0, 2.0), below_m=0.05, required_m=0.9)
    row = only(scene(overhead=(asked,)), "sprinkler-spray")
    assert (row.against, row.required_m, row.basis, row.sureness) == ("SP", 0.9, "own", "own")


def test_a_body_fixed_to_the_ceiling_has_no_cable_to_speak_of() -> None:
    """A cable 0.1 m from the head would have 0.072 m left, less than the 0.14 m that the body is above its deflector."""
    sprinkler = device("SP", "sprinkler", (3.1, 2.0), below_m=0.2)
    for height_m, part in ((2.72, "body"), (2.71, "cable")):
        room = scene(arrays=(array(height_m=height_m),), overhead=(sprinkler,))
        assert only(room, "sprinkler-spray").part == part


def test_nothing_is_asked_of_what_is_not_under_the_deflector() -> None:
    """The deflector hangs 0.2 m down, the body reaches 0.06 m: 0 m required and less than that would read as short."""
    sprinkler = device("SP", "sprinkler", (3.03, 2.0), below_m=0.2)
    row = only(scene(arrays=(array(height_m=2.72),), overhead=(sprinkler,)), "sprinkler-spray")
    assert (row.state, row.required_m, cause_of(row)) == ("clear", None, "above-deflector")


def test_the_search_is_given_which_sprinkler_rule_presses() -> None:
    """A wide body 0.10 m from a head: fixed at the ceiling it is for the table, hanging for the three times."""
    wide = array(profile=profile(0.3, 0.06), height_m=2.3)
    room = scene(arrays=(wide,), overhead=(device("SP1", "sprinkler", (3.25, 2.0)),))
    for height_m, rule in ((2.72, "sprinkler-table"), (2.5, "sprinkler-spray")):
        pressing = [one for one in tightest(room, wide, (3.0, 2.0, height_m), 0.0) if one.part == "body"]
        assert [one.rule for one in pressing] == [rule]
        at = room.with_array("A1", height_m=height_m)
        assert [row.rule for row in clearances(at) if row.state == "short"][:1] == [rule]


def wide_at(height_m: float) -> Scene:
    """A body 0.6 m wide, its near edge 0.2 m from a sprinkler."""
    wide = array(profile=profile(size=(0.6, 0.6, 0.12)), height_m=height_m)
    return scene(arrays=(wide,), overhead=(device("SP1", "sprinkler", (2.5, 2.0)),), tables=())


def test_one_of_the_two_rules_switched_off_leaves_the_other() -> None:
    fixed, free = wide_at(CEILING_M - 0.06), wide_at(2.5)
    for room, off, other in (
        (fixed, "sprinkler-table", "sprinkler-spray"),
        (free, "sprinkler-spray", "sprinkler-table"),
    ):
        assert [row.state for row in rows(changed(room, off), off)] == ["off"]
        assert [row.state for row in rows(changed(room, other), off)] == ["short"]
        # switched off where it hangs, the other still keeps the search away where that decides
        assert [
            c for c in constraints_for(changed(room, off), room.arrays[0]) if c.key == ("sprinkler-spray",)
        ]


def test_a_narrow_body_asks_nothing_of_the_search_with_the_distance_switched_off() -> None:
    room = near_sprinkler(0.25)
    keys = {c.key for c in constraints_for(changed(room, "sprinkler-spray"), room.arrays[0])}
    assert ("sprinkler-spray",) not in keys
