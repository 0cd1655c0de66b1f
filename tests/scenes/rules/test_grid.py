"""The ceiling's tees: a cable goes through a tile, a flush body lies in one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scenes.findings.cause import Move
from scenes.review.review import review
from scenes.room.scene import Grid, Suspension
from scenes.rules.constraints import constraints_for
from tests.scenes.ceiling_rooms import array, cause_of, changed, only, profile, rows, scene

TEES = Grid((0.6, 0.6), (0.0, 0.0))


def test_a_cable_on_a_tee_is_below_advice_and_says_how_far_off_it_has_to_go() -> None:
    """The array hangs at 3.0, 2.0: on the tees at 3.0 along x, 0.2 m from those at 1.8 along y."""
    of = scene(grid=TEES)
    row = only(of, "grid-tee")
    assert (row.state, row.basis, row.part, row.against) == ("advised", "default", "cable", "grid")
    assert (row.required_m, row.actual_m) == (0.03, pytest.approx(0.0))
    assert row.cause is not None
    assert (row.cause.name, row.cause.thing) == ("on-tee", "F4")
    assert row.cause.moves == (Move("A1", "+x", 0.03),)
    assert only(of.with_array("A1", at_m=(3.03, 2.0)), "grid-tee").state == "clear"
    assert only(of.with_array("A1", at_m=(3.029, 2.0)), "grid-tee").state == "advised"
    assert not rows(scene(), "grid-tee")
    assert not rows(replace(of, suspension=Suspension(ceiling="open")), "grid-tee")


def test_off_a_crossing_it_has_to_go_both_ways_towards_the_middle_of_its_tile() -> None:
    """At 3.01, 1.79: in the tile from 3.0 to 3.6 and from 1.2 to 1.8."""
    row = only(scene(grid=TEES).with_array("A1", at_m=(3.01, 1.79)), "grid-tee")
    assert row.cause is not None
    assert [(m.direction, m.by_m) for m in row.cause.moves] == [
        ("+x", pytest.approx(0.02)),
        ("-y", pytest.approx(0.02)),
    ]
    moved = scene(grid=TEES).with_array("A1", at_m=(3.03, 1.77))
    assert cause_of(only(moved, "grid-tee")) == "in-tile"


def test_a_tee_cautions_a_room_and_can_be_agreed_on() -> None:
    of = scene(grid=TEES)
    assert review(of).verdict == "caution"
    off = only(changed(of, "grid-tee", reason="the tee is cut and bridged"), "grid-tee")
    assert off.state == "off"
    assert off.change is not None
    assert off.change.reason == "the tee is cut and bridged"


def test_a_distance_from_tees_that_the_designer_wrote_fails_and_binds_the_search() -> None:
    """A value of the designer's own is kept like any other, also by a rule that the search does not bind of itself."""
    of = scene(grid=TEES)
    assert not [c for c in constraints_for(of, of.arrays[0]) if c.key == ("grid-tee",)]
    own = changed(of, "grid-tee", 0.1)
    assert (only(own, "grid-tee").state, only(own, "grid-tee").basis) == ("short", "own")
    [tees] = [c for c in constraints_for(own, own.arrays[0]) if c.key == ("grid-tee",)]
    assert tees.signed_m(np.array([[3.1, 1.5, 2.2], [3.05, 1.5, 2.2]])) == pytest.approx([0, -0.05], abs=2e-6)


@pytest.mark.parametrize(
    ("side", "turn_deg", "at", "state", "cause"),
    [
        (0.58, 0.0, (3.3, 2.1), "clear", "in-tile"),
        (0.6, 90.0, (3.3, 2.1), "clear", "in-tile"),
        (0.58, 0.0, (3.32, 2.1), "advised", "across-tee"),
        (0.4, 45.0, (3.3, 2.1), "clear", "in-tile"),
        (0.58, 45.0, (3.3, 2.1), "unjudged", "larger-than-tile-turned"),
        (1.2, 0.0, (3.3, 2.1), "unjudged", "larger-than-tile"),
    ],
)
def test_a_flush_array_fits_into_its_tile_or_is_found_not_to(
    side: float, turn_deg: float, at: tuple[float, float], state: str, cause: str
) -> None:
    flush = array(profile=profile(size=(side, side, 0.05), mount="flush"), at=at, turn_deg=turn_deg)
    row = only(scene(grid=TEES, arrays=(flush,)), "grid-tee")
    assert (row.state, cause_of(row)) == (state, cause)
