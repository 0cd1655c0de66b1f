"""Rows: their order, what a change does to them, what a drawing shows of them."""

from __future__ import annotations

import pytest

from geometry.shapes import Cylinder
from scenes.findings.clearance import STATES
from scenes.room.scene import Grid, Obstacle
from scenes.rules.clearances import clearances
from tests.scenes.ceiling_rooms import (
    CEILING_M,
    array,
    changed,
    device,
    near_sprinkler,
    only,
    scene,
)


def test_a_rule_changed_or_switched_off_carries_its_reason() -> None:
    room = near_sprinkler(0.25)
    off = only(changed(room, "sprinkler-spray"), "sprinkler-spray")
    assert (off.state, off.required_m) == ("off", None)
    assert off.change is not None
    assert off.change.reason == "agreed on site"
    less = only(changed(room, "sprinkler-spray", 0.2), "sprinkler-spray")
    assert (less.state, less.required_m, less.basis) == ("clear", 0.2, "own")
    assert less.change is not None
    assert only(changed(room, "sprinkler-spray", 0.26), "sprinkler-spray").state == "short"
    assert only(room, "sprinkler-spray").change is None


def test_too_close_comes_first_then_below_advice_then_not_judged_then_by_what_is_left() -> None:
    room = scene(
        arrays=(array(at=(5.0, 3.5), height_m=2.0),),
        overhead=(
            device("SP1", "sprinkler", (1.0, 1.0), spray="unknown"),
            device("L1", "light", (5.1, 3.5), below_m=0.6),
            device("LS1", "loudspeaker", (1.0, 3.0)),
        ),
    )
    found = clearances(changed(room, "loudspeaker"))
    order = [STATES.index(row.state) for row in found]
    assert order == sorted(order)
    assert [(row.rule, row.state) for row in found[:3]] == [
        ("headroom", "short"),
        ("light", "advised"),
        ("sprinkler-spray", "unjudged"),
    ]
    assert found[-1].state == "off"


def test_rows_that_are_clear_stand_in_the_order_of_their_figures() -> None:
    lamp = device("L1", "light", (3.0, 3.0), below_m=0.6)
    clear = [c for c in clearances(scene(overhead=(lamp,))) if c.state == "clear"]
    left = [c.actual_m - c.required_m for c in clear if c.actual_m is not None and c.required_m is not None]
    assert left == sorted(left)
    assert len(left) > 2


def test_every_row_has_what_the_contract_asks() -> None:
    for row in clearances(near_sprinkler(0.1)):
        assert row.number.startswith("R")
        assert row.title
        assert row.device is None
        assert row.array == "A1"


def test_a_drawing_is_given_a_line_to_the_thing_and_what_to_hatch() -> None:
    lamp = device("L1", "light", (3.2, 2.0), below_m=0.4)
    shown = only(scene(overhead=(lamp,)), "light").shown
    assert shown is not None
    assert shown.hatch == lamp.solid
    start, end = shown.line_m or ((), ())
    assert start[:2] == (3.0, 2.0)
    assert end[:2] == (3.2, 2.0)
    # at the height where the two are nearest: the body's top
    assert start[2] == end[2] == pytest.approx(2.23)
    column = Obstacle("C1", Cylinder((3.3, 2.0, CEILING_M / 2), 0.2, CEILING_M))
    of_column = only(scene(obstacles=(column,)), "obstacle").shown
    assert of_column is not None
    assert of_column.hatch == column.solid


def test_a_drawing_is_given_a_ring_round_an_array_on_a_tee_and_nothing_for_one_that_is_clear() -> None:
    room = scene(grid=Grid((0.6, 0.6), (0.0, 0.0)))
    shown = only(room, "grid-tee").shown
    assert shown is not None
    assert shown.ring is not None
    assert (shown.ring.middle_m, shown.ring.radius_m) == ((3.0, 2.0, CEILING_M), pytest.approx(0.15))
    assert only(room.with_array("A1", at_m=(3.3, 2.1)), "grid-tee").shown is None
