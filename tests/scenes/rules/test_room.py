"""The room's own rules: walls, headroom, tables; and whose values they are."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.ceiling import Surface
from geometry.shapes import Box
from scenes.review.review import review
from scenes.room.build import build
from scenes.room.provenance import Given
from scenes.room.scene import CeilingPart, Limits, Obstacle, Opening
from scenes.rules.constraints import constraints_for
from scenes.spec.reading import read_spec_text
from tests.scenes.ceiling_rooms import array, cause_of, only, profile, rows, scene, table

WALL_ROOM = Path(__file__).with_name("wall.yaml").read_text("utf-8")


@pytest.mark.parametrize(("underside_mm", "state"), [(2030, "short"), (2031, "short"), (2032, "clear")])
def test_headroom_where_people_walk(underside_mm: int, state: str) -> None:
    room = scene(arrays=(array(at=(5.0, 3.5), height_m=underside_mm / 1000 + 0.03),))
    row = only(room, "headroom")
    assert (row.state, row.basis) == (state, "fact")
    assert row.actual_m == pytest.approx(underside_mm / 1000)


@pytest.mark.parametrize(
    ("x_m", "state"), [(3.0, "clear"), (3.799, "clear"), (3.801, "short"), (3.98, "short")]
)
def test_headroom_is_asked_of_what_is_not_well_over_a_table(x_m: float, state: str) -> None:
    """The body has 50 mm of radius, the table ends at 4.0: 0.15 m inside its edge nobody walks (our default)."""
    over = only(scene(arrays=(array(at=(x_m, 2.0), height_m=1.9),)), "headroom")
    assert over.state == state
    if state == "clear":
        assert (over.required_m, cause_of(over)) == (None, "over-a-table")


@pytest.mark.parametrize(
    ("table_m", "state"), [(0.438, "short"), (0.649, "short"), (0.65, "clear"), (0.74, "clear")]
)
def test_a_low_table_excuses_no_headroom(table_m: float, state: str) -> None:
    """shared/found/models.md, finding 4: 1.72 m over a coffee table of 0.438 m passed."""
    low = replace(table(), height_m=table_m)
    assert only(scene(tables=(low,), arrays=(array(height_m=1.75),)), "headroom").state == state


def test_a_low_table_beside_a_high_one_excuses_nothing() -> None:
    pair = (table("T1", (2.0, 1.5), (3.0, 2.5)), replace(table("T2", (3.0, 1.5), (4.0, 2.5)), height_m=0.45))
    assert only(scene(tables=pair, arrays=(array(at=(2.5, 2.0), height_m=1.9),)), "headroom").state == "clear"
    assert only(scene(tables=pair, arrays=(array(at=(3.5, 2.0), height_m=1.9),)), "headroom").state == "short"


def test_tables_pushed_together_are_one() -> None:
    pair = (table("T1", (2.0, 1.5), (3.0, 2.5)), table("T2", (3.0, 1.5), (4.0, 2.5)))
    assert only(scene(tables=pair, arrays=(array(height_m=1.9),)), "headroom").state == "clear"


def test_free_height_over_a_table_is_found_where_it_hangs_over_one() -> None:
    low = only(scene(arrays=(array(height_m=1.3),)), "free-over-table")
    assert (low.state, low.basis, low.against) == ("advised", "default", "T1")
    assert low.actual_m == pytest.approx(1.3 - 0.03 - 0.74)
    assert not rows(scene(arrays=(array(at=(5.0, 3.5), height_m=2.3),)), "free-over-table")


def test_what_is_left_over_a_table_is_not_capped_below_the_largest_ball_of_the_bands() -> None:
    """No margin of this band is larger than its largest ball: the height over the table must be given up to that."""
    room = scene()
    ball = room.arrays[0].profile.band("mid").largest_ball_m
    [free] = [c for c in constraints_for(room, room.arrays[0]) if c.key == ("free-over-table",)]
    z = 0.74 + 0.6 + 0.03 + np.array([0.1, ball - 0.01, ball + 0.3])
    at = np.column_stack([np.full(3, 3.0), np.full(3, 2.0), z])
    assert free.signed_m(at) == pytest.approx([0.1, ball - 0.01, ball])
    assert ball > 0.5


def test_a_limit_of_the_designers_own_can_fail_and_a_default_cannot() -> None:
    near_wall = (array(at=(0.3, 2.0), height_m=2.2),)
    row = only(scene(arrays=near_wall), "wall")
    assert (row.state, row.basis, row.actual_m) == ("advised", "default", pytest.approx(0.25))
    assert row.cause is not None
    assert (row.cause.name, row.cause.thing) == ("nearest-wall", "W4")
    own = only(scene(arrays=near_wall, limits=Limits(wall=Given(0.4))), "wall")
    assert (own.state, own.basis, own.required_m) == ("short", "own", 0.4)
    higher = only(scene(limits=Limits(headroom=Given(2.1))), "headroom")
    assert (higher.required_m, higher.basis, higher.sureness) == (2.1, "own", "own")


@pytest.mark.parametrize("wall", [0.3, 0.301])
def test_a_limit_that_is_written_fails_also_where_it_equals_the_default(wall: float) -> None:
    """The array is 0.20 m from the wall: 0.3 cautioned and 0.301 failed, for the one is the default."""
    told = review(build(read_spec_text(WALL_ROOM + f"limits: {{wall: {wall}}}\n")))
    assert told.verdict == "fail"
    assert [(row.rule, row.basis, row.required_m) for row in told.short] == [("wall", "own", wall)]
    silent = review(build(read_spec_text(WALL_ROOM)))
    assert (silent.verdict, [row.rule for row in silent.advised]) == ("caution", ["wall"])


def test_people_walk_at_doors_on_stairs_and_under_the_edge_of_a_soffit() -> None:
    low = scene(arrays=(array(height_m=2.0 + profile().centre_m),), tables=())
    assert only(low, "headroom").state == "short"
    stairs = Obstacle("ST", Box((3.0, 2.0, 0.35), (2.0, 1.0, 0.7), 0.0))
    door = Opening("D1", "door", 0, 2.5, 0.9, 2.1, 0.0)
    soffit = CeilingPart("P1", "hard", Surface(((3, 1), (5, 1), (5, 3), (3, 3)), 2.4), None, None)
    for room in (
        replace(low, obstacles=(stairs,)),
        replace(low, room=replace(low.room, openings=(door,)), arrays=(array(at=(3.0, 0.5), height_m=2.0),)),
        replace(low, room=replace(low.room, parts=(soffit,))),
    ):
        assert only(room, "headroom").state == "short"
