from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.shapes import Box, Cylinder
from scenes.findings.review import Clearance
from scenes.place.search import place_scene
from scenes.review.regions import room_within
from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.room.provenance import Given
from scenes.room.scene import Display, Grid, Limits, Obstacle, RuleChange, Scene, Suspension
from scenes.rulebook import check_rule_ids, read_rules, rule_ids, rules
from scenes.rules.apply import clearances, constraints_for, keep_outs, tightest
from tests.scenes.ceiling_rooms import CEILING_M, array, changed, device, guessed, profile, scene, table
from viz.words.verdict import whole as sentences


def rows(of: Scene, rule: str) -> list[Clearance]:
    return [row for row in clearances(of) if row.rule == rule]


def only(of: Scene, rule: str) -> Clearance:
    [row] = rows(of, rule)
    return row


# The ceiling grid -------------------------------------------------------------------------------------


def test_a_cable_on_a_tee_cautions_and_says_how_far_off_it_has_to_go() -> None:
    """The array hangs at 3.0, 2.0: on the tees at 3.0 along x, 0.2 m from those at 1.8 along y."""
    row = only(scene(grid=Grid((0.6, 0.6), (0.0, 0.0))), "grid-tee")
    assert (row.state, row.binding, row.part, row.against) == ("short", False, "cable", "grid")
    assert (row.required_m, row.actual_m) == (0.03, pytest.approx(0.0))
    assert row.note == "hangs on a grid tee: no cable passes there, move it 3 cm along x"
    of = scene(grid=Grid((0.6, 0.6), (0.0, 0.0)))
    assert only(of.with_array("A1", at_m=(3.03, 2.0)), "grid-tee").state == "clear"
    assert only(of.with_array("A1", at_m=(3.029, 2.0)), "grid-tee").state == "short"
    corner = only(of.with_array("A1", at_m=(3.01, 1.79)), "grid-tee")
    assert corner.note.endswith("move it 2 cm along x and 2 cm along y")
    assert not rows(scene(), "grid-tee")
    assert not rows(replace(of, suspension=Suspension(ceiling="open")), "grid-tee")


def test_a_tee_never_fails_a_room_and_can_be_agreed_on() -> None:
    of = scene(grid=Grid((0.6, 0.6), (0.0, 0.0)))
    assert not only(changed(of, "grid-tee", 0.1), "grid-tee").binding
    off = only(changed(of, "grid-tee", reason="the tee is cut and bridged"), "grid-tee")
    assert (off.state, off.note) == ("off", "switched off: the tee is cut and bridged")


@pytest.mark.parametrize(
    ("side", "turn_deg", "at", "state"),
    [
        (0.58, 0.0, (3.3, 2.1), "clear"),
        (0.6, 90.0, (3.3, 2.1), "clear"),
        (0.58, 0.0, (3.32, 2.1), "short"),
        (0.4, 45.0, (3.3, 2.1), "clear"),
        (0.58, 45.0, (3.3, 2.1), "unjudged"),
        (1.2, 0.0, (3.3, 2.1), "unjudged"),
    ],
)
def test_a_flush_array_fits_into_its_tile_or_is_told(
    side: float, turn_deg: float, at: tuple[float, float], state: str
) -> None:
    flush = array(profile=profile(size=(side, side, 0.05), mount="flush"), at=at, turn_deg=turn_deg)
    assert only(scene(grid=Grid((0.6, 0.6), (0.0, 0.0)), arrays=(flush,)), "grid-tee").state == state


# The file ---------------------------------------------------------------------------------------------


def test_every_rule_says_where_its_value_is_from_and_what_it_is_for() -> None:
    for rule in rules().values():
        assert rule.sentence.endswith(".")
        assert len(rule.source) > 10
        assert rule.can_fail == (rule.sureness in ("seen", "geometry"))


def test_only_what_was_seen_and_plain_geometry_can_fail_a_room() -> None:
    assert {rule.id for rule in rules().values() if rule.can_fail} == {"touch", "headroom"}


def test_unknown_rules_get_the_nearest_name() -> None:
    assert check_rule_ids(["hedroom", "wall", "zzz"]) == [("hedroom", "headroom"), ("zzz", None)]
    assert len(rule_ids()) == len(set(rule_ids()))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{}", "no list"),
        ("- {id: a}", "allowed are exactly the keys"),
        (
            "- {id: a, title: t, applies_to: [x], measures: m, values: {required: 1}, unit: m, source: s, "
            "sureness: sure, sentence: s}",
            "sureness is 'sure'",
        ),
        (
            "- {id: a, title: t, applies_to: [x], measures: m, values: {required: -1}, unit: m, source: s, "
            "sureness: seen, sentence: s}",
            "numbers of 0 or more",
        ),
        (
            "- {id: a, title: t, applies_to: [x], measures: m, values: {table: [[1, 1], [1, 2]]}, unit: m, "
            "source: s, sureness: seen, sentence: s}",
            r"numbers of 0 or more|does not rise",
        ),
    ],
)
def test_a_rules_file_that_breaks_its_form_is_told(text: str, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        read_rules(text)


# Sprinklers ---------------------------------------------------------------------------------------------


def near_sprinkler(apart_m: float, *, height_m: float = 2.6, diameter_m: float = 0.1, **more: Any) -> Scene:
    """A round body whose near edge is `apart_m` from a sprinkler on plan, above the plane under it."""
    kind = profile(diameter_m)
    head = device("SP1", "sprinkler", (3.0 - diameter_m / 2 - apart_m, 2.0), **more)
    return scene(arrays=(array(profile=kind, height_m=height_m),), overhead=(head,), tables=())


def test_a_body_of_100_mm_stays_300_mm_away_and_a_shortfall_cautions() -> None:
    short = only(near_sprinkler(0.299), "sprinkler-spray")
    assert (short.state, short.required_m, short.actual_m) == (
        "short",
        pytest.approx(0.3),
        pytest.approx(0.299),
    )
    assert not short.binding
    assert only(near_sprinkler(0.3), "sprinkler-spray").state == "clear"


def test_a_body_a_foot_wide_stays_at_the_cap() -> None:
    assert only(near_sprinkler(0.5, diameter_m=0.3048), "sprinkler-spray").required_m == pytest.approx(0.6096)


def test_below_the_plane_nothing_is_asked_of_narrow_bodies() -> None:
    deflector = CEILING_M - 0.05
    just_below = near_sprinkler(0.05, height_m=deflector - 0.4572 - 0.03)
    row = only(just_below, "sprinkler-spray")
    assert (row.state, row.required_m) == ("clear", pytest.approx(0.4572))
    assert row.actual_m == pytest.approx(0.4572)
    assert only(near_sprinkler(0.05, height_m=deflector - 0.45 - 0.03), "sprinkler-spray").state == "short"


def test_below_the_plane_bodies_wider_than_four_feet_are_not_judged() -> None:
    assert only(near_sprinkler(0, height_m=2.0, diameter_m=1.21), "sprinkler-spray").state == "clear"
    row = only(near_sprinkler(0, height_m=2.0, diameter_m=1.23), "sprinkler-spray")
    assert row.state == "unjudged"
    assert "heads are needed beneath" in row.note


@pytest.mark.parametrize("spray", ["unknown", "extended", "special"])
def test_heads_of_other_spray_are_not_judged_but_kept_away_from(spray: str) -> None:
    room = near_sprinkler(0.1, spray=spray)
    row = only(room, "sprinkler-spray")
    assert (row.state, row.required_m, row.actual_m) == ("unjudged", None, pytest.approx(0.1))
    [worst] = tightest(room, room.arrays[0], room.arrays[0].centre_m, within_m=0)
    assert worst.rule == "sprinkler-spray"
    assert worst.signed_m == pytest.approx(
        -0.13
    )  # 0.2 m sideways, or 0.13 m up, no longer under the deflector


def test_the_cable_has_its_own_three_times() -> None:
    kind = profile(0.1)
    head = device("SP1", "sprinkler", (3.02, 2.0))
    room = scene(arrays=(array(profile=kind, height_m=1.9),), overhead=(head,))
    row = only(room, "sprinkler-spray")
    assert (row.part, row.state) == ("cable", "short")
    assert row.required_m == pytest.approx(0.024)
    assert row.actual_m == pytest.approx(0.016)


def test_a_wide_body_at_the_ceiling_follows_the_table() -> None:
    wide = profile(size=(0.6, 0.6, 0.12))  # its underside is 70 mm under the deflector: 457 mm are asked for
    at_ceiling = array(profile=wide, height_m=CEILING_M - 0.06)
    for apart, state in ((0.456, "short"), (0.458, "clear")):
        head = device("SP1", "sprinkler", (3.0 - 0.3 - apart, 2.0))
        room = scene(arrays=(at_ceiling,), overhead=(head,), tables=())
        row = only(room, "sprinkler-table")
        assert (row.state, row.required_m) == (state, pytest.approx(0.4572))
        assert not rows(room, "sprinkler-spray")


def test_a_recessed_array_needs_no_distance() -> None:
    flush = array(profile=profile(0.6, mount="flush"))
    room = scene(arrays=(flush,), overhead=(device("SP1", "sprinkler", (2.6, 2.0), spray="unknown"),))
    row = only(room, "sprinkler-spray")
    assert (row.state, row.required_m) == ("clear", None)
    assert "recessed" in row.note


# Other devices ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "kind",
    [
        "smoke detector",
        "supply diffuser",
        "return grille",
        "loudspeaker",
        "light",
        "projector",
        "beam",
        "other",
    ],
)
def test_every_kind_has_a_rule_that_cautions_and_never_fails(kind: str) -> None:
    room = scene(overhead=(device("D", kind, (3.0, 2.06), below_m=0.5),))
    rule = next(r.id for r in rules().values() if kind in r.applies_to)
    row = only(room, rule)
    assert (row.state, row.binding) == ("short", False)


def test_a_clearance_of_the_designers_own_can_fail() -> None:
    own = device("D", "loudspeaker", (4.0, 2.0), below_m=0.5, required_m=2.0)
    row = only(scene(overhead=(own,)), "loudspeaker")
    assert (row.state, row.binding, row.sureness, row.required_m) == ("short", True, "designer's input", 2.0)
    less = replace(own, required_m=0.1)
    assert only(scene(overhead=(less,)), "loudspeaker").state == "clear"


def test_a_sprinkler_may_ask_for_its_own_clearance() -> None:
    asked = device("SP", "sprinkler", (2.0, 2.0), below_m=0.05, required_m=0.9)
    row = only(scene(overhead=(asked,)), "sprinkler-spray")
    assert (row.against, row.required_m, row.sureness) == ("SP", 0.9, "designer's input")


def test_a_stem_counts_as_the_device() -> None:
    lamp = device("L1", "light", (3.2, 2.0), below_m=0.9, stem_m=0.8)
    row = only(scene(overhead=(lamp,)), "light")
    assert row.actual_m == pytest.approx(0.2 - 0.05 - 0.01)
    assert row.part == "body"


def test_what_runs_into_something_fails_whoever_the_source() -> None:
    lamp = device("L1", "light", (3.0, 2.0), below_m=0.6)
    row = rows(scene(overhead=(lamp,)), "touch")[0]
    assert (row.state, row.binding, row.required_m) == ("short", True, 0.0)
    assert clearances(scene(overhead=(lamp,)))[0].rule == "touch"


def test_the_cable_cannot_go_up_through_a_recessed_light() -> None:
    lit = device("L1", "light", (3.0, 2.0), below_m=0.0, size_m=(0.6, 0.6), round=False, depth_m=0.1)
    row = only(scene(overhead=(lit,)), "touch")
    assert (row.part, row.state) == ("cable", "short")


def test_only_the_nearest_thing_in_the_void_is_told() -> None:
    ducts = tuple(
        device(
            f"B{i}", "beam", (3.0 + 0.3 * i, 2.0), below_m=-0.05, depth_m=0.2, size_m=(0.2, 0.2), round=False
        )
        for i in (1, 2)
    )
    row = only(scene(overhead=ducts), "hang-line")
    assert row.against == "B1"
    assert row.actual_m == pytest.approx(0.3 - 0.1 - 0.075)
    assert not rows(scene(overhead=ducts, ceiling_kind="hard"), "hang-line")


def test_columns_go_on_above_the_ceiling() -> None:
    column = Obstacle("C1", Box((3.2, 2.0, CEILING_M / 2), (0.2, 0.2, CEILING_M)))
    assert only(scene(obstacles=(column,)), "hang-line").against == "C1"
    post = Obstacle("C1", Box((3.2, 2.0, 1.0), (0.2, 0.2, 2.0)))
    assert not rows(scene(obstacles=(post,)), "hang-line")


def test_two_arrays_are_told_against_each_other_once() -> None:
    room = scene(arrays=(array("A1"), array("A2", (3.3, 2.0))))
    row = only(room, "other-array")
    assert (row.array, row.against, row.state) == ("A1", "A2", "short")
    assert row.actual_m == pytest.approx(0.2)


def test_a_projector_without_a_picture_is_not_judged_and_one_with_it_is() -> None:
    projector = device("PJ1", "projector", (0.5, 2.0), below_m=0.4, size_m=(0.4, 0.3), round=False)
    assert only(scene(overhead=(projector,)), "projector-light").state == "unjudged"
    away = scene(overhead=(projector,), displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 0.0),))
    assert only(away, "projector-light").state == "unjudged"
    towards = scene(overhead=(projector,), displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 180.0),))
    row = only(towards, "projector-light")
    assert row.state == "short"
    assert row.actual_m is not None
    assert row.actual_m < 0


# The room -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("underside_mm", "state"), [(2030, "short"), (2031, "short"), (2032, "clear")])
def test_headroom_where_people_walk(underside_mm: int, state: str) -> None:
    room = scene(arrays=(array(at=(5.0, 3.5), height_m=underside_mm / 1000 + 0.03),))
    row = only(room, "headroom")
    assert (row.state, row.binding) == (state, True)
    assert row.actual_m == pytest.approx(underside_mm / 1000)


def test_headroom_is_asked_only_of_what_is_not_wholly_over_a_table() -> None:
    over = only(scene(arrays=(array(at=(3.0, 2.0), height_m=1.9),)), "headroom")
    assert (over.state, over.required_m) == ("clear", None)
    past_the_edge = only(scene(arrays=(array(at=(3.98, 2.0), height_m=1.9),)), "headroom")
    assert past_the_edge.state == "short"


def test_tables_pushed_together_are_one() -> None:
    pair = (table("T1", (2.0, 1.5), (3.0, 2.5)), table("T2", (3.0, 1.5), (4.0, 2.5)))
    assert only(scene(tables=pair, arrays=(array(height_m=1.9),)), "headroom").state == "clear"


def test_free_height_over_a_table_is_told_where_it_hangs_over_one() -> None:
    low = only(scene(arrays=(array(height_m=1.3),)), "free-over-table")
    assert (low.state, low.binding) == ("short", False)
    assert low.actual_m == pytest.approx(1.3 - 0.03 - 0.74)
    assert not rows(scene(arrays=(array(at=(5.0, 3.5), height_m=2.3),)), "free-over-table")


def test_a_limit_of_the_designers_own_can_fail_and_our_default_cannot() -> None:
    near_wall = (array(at=(0.3, 2.0), height_m=2.2),)
    row = only(scene(arrays=near_wall), "wall")
    assert (row.state, row.binding, row.actual_m) == ("short", False, pytest.approx(0.25))
    assert "W4" in row.note
    own = only(scene(arrays=near_wall, limits=Limits(wall=Given(0.4))), "wall")
    assert (own.binding, own.required_m) == (True, 0.4)


# Changed rules, order, words ------------------------------------------------------------------------------


def test_a_rule_changed_or_switched_off_carries_its_reason() -> None:
    room = near_sprinkler(0.25)
    off = only(changed(room, "sprinkler-spray"), "sprinkler-spray")
    assert (off.state, off.required_m) == ("off", None)
    assert "agreed on site" in off.note
    less = only(changed(room, "sprinkler-spray", 0.2), "sprinkler-spray")
    assert (less.state, less.required_m, less.binding) == ("clear", 0.2, True)
    assert "agreed on site" in less.note
    assert only(changed(room, "sprinkler-spray", 0.26), "sprinkler-spray").state == "short"
    assert not any(
        c.key[0].startswith("sprinkler")
        for c in constraints_for(changed(room, "sprinkler-spray"), room.arrays[0])
    )


def test_short_ones_come_first_then_unjudged_then_by_what_is_left() -> None:
    room = scene(
        arrays=(array(at=(5.0, 3.5), height_m=2.0),),
        overhead=(
            device("SP1", "sprinkler", (1.0, 1.0), spray="unknown"),
            device("L1", "light", (5.1, 3.5), below_m=0.6),
            device("LS1", "loudspeaker", (1.0, 3.0)),
        ),
    )
    found = clearances(changed(room, "loudspeaker"))
    ranks = {"short": 0, "unjudged": 1, "clear": 2, "off": 3}
    order = [ranks[row.state] for row in found]
    assert order == sorted(order)
    assert [row.rule for row in found[:2]] == ["headroom", "light"]
    assert found[-1].state == "off"


def test_no_conflict_is_never_an_approval_and_a_changed_rule_is_always_told() -> None:
    free = " ".join(sentences(review(scene())))
    assert "No conflict found at the ceiling with the rules listed." in free
    short = " ".join(sentences(review(near_sprinkler(0.1))))
    assert "below the advised value" in short
    assert not any(word in (free + short).lower() for word in ("approved", "complies", "safe"))
    off = " ".join(sentences(review(changed(near_sprinkler(0.1), "sprinkler-spray"))))
    assert "The rule sprinkler-spray is switched off: agreed on site." in off
    less = " ".join(sentences(review(changed(near_sprinkler(0.1), "sprinkler-spray", 0.05))))
    assert "The rule sprinkler-spray asks for 0.05 m: agreed on site." in less
    lamp = device("L1", "light", (3.0, 2.0), below_m=0.6)
    assert "A1 runs into L1" in " ".join(sentences(review(scene(overhead=(lamp,)))))


# What the search is told ------------------------------------------------------------------------------------


def busy_room(turn_deg: float = 20.0, *, wide: bool = False, mount: str = "pendant") -> Scene:
    size = (0.4, 0.25, 0.08) if wide else None
    return scene(
        arrays=(
            array(profile=profile(0.2, 0.08, size=size, mount=mount), turn_deg=turn_deg),
            array("A2", (4.6, 1.0), 2.4),
        ),
        tables=(table("T1", (2.0, 1.5), (3.0, 2.5)), table("T2", (3.0, 1.5), (4.0, 2.5))),
        overhead=(
            device("SP1", "sprinkler", (2.2, 1.5), below_m=0.08),
            device("SP2", "sprinkler", (4.5, 3.0), below_m=0.3),
            device(
                "L1",
                "light",
                (3.0, 1.0),
                size_m=(1.2, 0.3),
                round=False,
                turn_deg=35,
                below_m=0.4,
                stem_m=0.35,
            ),
            device("SD1", "smoke detector", (1.0, 3.0)),
            device("PJ1", "projector", (0.6, 2.0), below_m=0.4, size_m=(0.4, 0.3), round=False),
            device("B1", "beam", (5.0, 2.0), below_m=0.2, size_m=(0.2, 3.0), round=False, depth_m=0.2),
        ),
        obstacles=(Obstacle("C1", Cylinder((1.5, 3.2, CEILING_M / 2), 0.2, CEILING_M)),),
        displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 180.0),),
    )


finite = st.floats(0, 1)
rooms = st.builds(
    busy_room, st.floats(-180, 180), wide=st.booleans(), mount=st.sampled_from(["pendant", "flush"])
)
spots = st.tuples(st.floats(-0.5, 6.5), st.floats(-0.5, 4.5), st.floats(0.9, 2.75))


def test_the_search_is_told_which_sprinkler_rule_presses() -> None:
    """A wide body 0.10 m from a head: fixed at the ceiling it is for the table, hanging for the three times."""
    wide = array(profile=profile(0.3, 0.06), height_m=2.3)
    room = scene(arrays=(wide,), overhead=(device("SP1", "sprinkler", (3.25, 2.0)),))
    for height_m, rule in ((2.72, "sprinkler-table"), (2.5, "sprinkler-spray")):
        pressing = [one for one in tightest(room, wide, (3.0, 2.0, height_m), 0.0) if one.part == "body"]
        assert [one.rule for one in pressing] == [rule]
        at = room.with_array("A1", height_m=height_m)
        assert [row.rule for row in clearances(at) if row.state == "short"][:1] == [rule]


@settings(max_examples=25, deadline=None)
@given(rooms, spots, st.tuples(*[st.floats(-0.4, 0.4)] * 3), st.sampled_from(rule_ids()))
def test_every_constraint_changes_by_at_most_a_metre_per_metre(
    room: Scene, at: tuple[float, float, float], step: tuple[float, float, float], quiet: str
) -> None:
    there = np.array(at) + step
    moved = float(np.linalg.norm(step))
    for of in (room, changed(room, quiet), changed(room, quiet, 0.2)):
        for constraint in constraints_for(of, of.arrays[0]):
            here, then = constraint.signed_m(np.array([at, there]))
            assert np.isfinite([here, then]).all(), constraint.key
            assert abs(here - then) <= moved + 1e-7, constraint.key


@settings(max_examples=40, deadline=None)
@given(rooms, spots)
def test_constraints_and_review_agree(room: Scene, at: tuple[float, float, float]) -> None:
    flush = room.arrays[0].profile.mount == "flush"
    x, y, z = at
    moved = room.with_array("A1", at_m=(x, y), height_m=CEILING_M if flush else min(z, CEILING_M - 0.04))
    first = moved.arrays[0]
    signed = {c.key: float(c.signed_m(np.array([first.centre_m]))[0]) for c in constraints_for(moved, first)}
    # what is in a wall is short of `wall` too, and it is that which keeps the search out
    told = [row for row in clearances(moved) if (row.rule, row.kind) != ("touch", "wall")]
    short = {row.rule for row in told if row.array == "A1" and row.state == "short"}
    negative = {key[0] for key, value in signed.items() if value < -1e-9}
    # one constraint stands for both sprinkler rules
    as_one = {"sprinkler-table": "sprinkler-spray"}
    assert {as_one.get(rule, rule) for rule in short} == {as_one.get(rule, rule) for rule in negative}
    worst = tightest(moved, first, first.centre_m)[0]
    assert worst.signed_m == pytest.approx(min(signed.values()))


@settings(max_examples=25, deadline=None)
@given(rooms, st.floats(1.2, 2.7), st.integers(0, 10_000))
def test_keep_outs_are_where_the_constraints_are_negative(room: Scene, height_m: float, seed: int) -> None:
    first = room.arrays[0]
    height_m = CEILING_M if first.profile.mount == "flush" else min(height_m, CEILING_M - 0.04)
    first = replace(first, height_m=height_m)
    points = np.random.default_rng(seed).uniform((0, 0), (6, 4), (300, 2))
    at = np.column_stack([points, np.full(len(points), height_m)])
    areas = keep_outs(room, first, height_m)
    outlines = [shapely.Polygon(area.outline_m) for area in areas]
    kept_out = np.zeros(len(points), bool)
    near_edge = np.zeros(len(points), bool)
    for outline in outlines:
        kept_out |= shapely.contains_xy(outline, points)
        near_edge |= shapely.dwithin(outline.exterior, shapely.points(points), 0.003)
    least = np.min([c.signed_m(at) for c in constraints_for(room, first) if c.key[0] != "wall"], axis=0)
    negative = least < -1e-9
    # the light of a projector is drawn from prisms, a little too large
    slack = np.array([least < 0.04])[0] if any(a.rule == "projector-light" for a in areas) else negative
    assert not (negative & ~kept_out & ~near_edge).any()
    assert not (kept_out & ~negative & ~near_edge & ~slack).any()


def test_keep_outs_name_their_cause_and_are_plain_outlines() -> None:
    room = busy_room()
    found = keep_outs(room, room.arrays[0], 2.6)
    assert {"SP1", "L1", "A2", "C1"} <= {area.against for area in found}
    for area in found:
        assert shapely.Polygon(area.outline_m).is_valid
        assert shapely.LinearRing(area.outline_m).is_ccw


def test_where_the_headroom_is_short_only_the_tables_are_left() -> None:
    room = scene(arrays=(array(height_m=1.9),))
    floor = [area for area in keep_outs(room, room.arrays[0], 1.9) if area.rule == "headroom"]
    kept = sum(shapely.Polygon(area.outline_m).area for area in floor)
    assert kept == pytest.approx(6 * 4 - (2.0 - 0.1) * (1.0 - 0.1), abs=0.01)
    assert not [a for a in keep_outs(room, room.arrays[0], 2.2) if a.rule == "headroom"]


def test_a_round_keep_out_has_the_radius_the_rule_asks_for() -> None:
    room = near_sprinkler(1.0)
    [area] = [a for a in keep_outs(room, room.arrays[0], 2.6) if a.part == "body"]
    middle = np.array(room.overhead[0].at_m)
    radii = np.hypot(*(area.outline_m - middle).T)
    assert radii.min() >= 0.35
    assert radii.max() <= 0.35 + 0.0021
    assert math.isclose(shapely.Polygon(area.outline_m).area, math.pi * 0.35**2, rel_tol=0.01)


def test_the_best_place_without_rules_is_in_a_sprinklers_spray_and_with_them_it_is_not() -> None:
    heron = read_scene(Path(__file__).parents[3] / "scenes" / "rooms" / "heron.yaml")
    free = place_scene(heron, aim="tolerance", clearances=False)
    kept = place_scene(heron, aim="tolerance")
    short = [row for row in clearances(free.scene) if row.state == "short"]
    assert [(row.against, row.rule) for row in short] == [("SP2", "sprinkler-spray")]
    assert not [row for row in clearances(kept.scene) if row.state == "short"]
    assert kept.margin_m is not None
    assert free.margin_m is not None
    assert kept.margin_m < free.margin_m - 0.001  # what SP2 costs
    [pushed] = tightest(free.scene, free.scene.arrays[0], free.scene.arrays[0].centre_m, within_m=0)
    assert (pushed.against, pushed.rule) == ("SP2", "sprinkler-spray")


# What a default of ours decides, and whose value it is ---------------------------------------------------


def test_a_default_size_of_ours_never_fails_a_room() -> None:
    """The lamp's 0.6 m are ours: the body, 0.25 m from its middle, is in it only if it is that large."""
    lamp = device("L1", "light", (3.25, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    row = only(scene(overhead=(guessed(lamp, "size"),)), "touch")
    assert (row.state, row.binding, row.required_m) == ("unjudged", False, None)
    assert "the size of L1 is our default" in row.note
    assert review(scene(overhead=(guessed(lamp, "size"),))).verdict == "caution"
    assert only(scene(overhead=(lamp,)), "touch").binding
    # where it is, and how low, the spec does tell: what is there is in it whatever its size
    under = replace(guessed(lamp, "size", "depth"), at_m=(3.0, 2.0), low_m=2.2)
    assert (only(scene(overhead=(under,)), "touch").state) == "short"


def test_a_default_depth_of_ours_never_fails_a_room() -> None:
    """The duct's underside is 2.1 m up; that it reaches the array's underside at 2.17 m is our default."""
    duct = device("B1", "beam", (3.0, 2.0), below_m=0.65, size_m=(0.3, 0.3), depth_m=0.3, round=False)
    shallow = replace(guessed(duct, "depth"), at_m=(3.15, 2.0))
    room = scene(arrays=(array(profile=profile(0.2)),), overhead=(shallow,))
    row = only(room, "touch")
    assert (row.state, row.binding) == ("unjudged", False)
    assert "the depth of B1 is our default" in row.note


def test_the_designers_own_value_fails_only_where_no_default_size_decides() -> None:
    lamp = device(
        "L1", "light", (3.7, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False, required_m=0.5
    )
    row = only(scene(overhead=(guessed(lamp, "size"),)), "light")
    assert (row.state, row.binding, row.required_m) == ("short", False, 0.5)
    assert only(scene(overhead=(lamp,)), "light").binding
    assert only(scene(overhead=(replace(guessed(lamp, "size"), required_m=0.7),)), "light").binding


def test_a_value_of_the_specs_own_does_not_pass_for_the_source_it_replaces() -> None:
    own = device("D", "loudspeaker", (4.0, 2.0), below_m=0.5, required_m=2.0)
    row = only(scene(overhead=(own,)), "loudspeaker")
    assert row.source == f"The spec's own value, in place of the rule's. {rules()['loudspeaker'].source}"
    letter = RuleChange("loudspeaker", False, 0.3, "a letter")
    plain = replace(own, required_m=None)
    changed = only(scene(overhead=(plain,), rule_changes=(letter,)), "loudspeaker")
    assert changed.source.startswith("The spec's own value")
    assert changed.note == "changed: a letter"
    # the device's own goes before the changed rule: the reason given for that is not this value's
    both = only(scene(overhead=(own,), rule_changes=(letter,)), "loudspeaker")
    assert (both.required_m, both.note) == (2.0, "the value is the spec's own")
    assert only(scene(overhead=(plain,)), "loudspeaker").source == rules()["loudspeaker"].source
    higher = only(scene(limits=Limits(headroom=Given(2.1))), "headroom")
    assert (higher.required_m, higher.source[:20]) == (2.1, "The spec's own value")


def test_a_body_fixed_to_the_ceiling_has_no_cable_to_tell_of() -> None:
    """A cable 0.1 m from the head would have 0.072 m left, less than the 0.14 m that the body is above its deflector."""
    head = device("SP", "sprinkler", (3.1, 2.0), below_m=0.2)
    assert only(scene(arrays=(array(height_m=2.72),), overhead=(head,)), "sprinkler-spray").part == "body"
    assert only(scene(arrays=(array(height_m=2.71),), overhead=(head,)), "sprinkler-spray").part == "cable"


def test_nothing_is_asked_of_what_is_not_under_the_deflector() -> None:
    """The deflector hangs 0.2 m down, the body reaches 0.06 m: 0 m required and less than that would read as short."""
    head = device("SP", "sprinkler", (3.03, 2.0), below_m=0.2)
    row = only(scene(arrays=(array(height_m=2.72),), overhead=(head,)), "sprinkler-spray")
    assert (row.state, row.required_m) == ("clear", None)
    assert row.note == "its underside is not under the deflector"


def test_the_nearer_of_body_and_cable_is_told_of_a_projectors_light() -> None:
    """A light 1.5 m and more away: the cable reaches up towards it, the body hangs 0.9 m lower."""
    screen = Display("DS", (0.1, 2.0, 2.5), 1.0, 0.3, 0.0)
    lamp = device("PJ", "projector", (5.5, 2.0), below_m=0.2, size_m=(0.2, 0.2), round=False, depth_m=0.1)
    room = scene(arrays=(array(at=(3.0, 0.5), height_m=1.7),), overhead=(lamp,), displays=(screen,))
    row = only(room, "projector-light")
    assert row.part == "cable"
    # the light's edge 0.5 * 2.5/5.4 m off its middle line at x = 3, a little more towards the screen
    assert row.actual_m == pytest.approx(1.5 - 0.5 * 2.5 / 5.4 - 0.004, abs=0.01)


def test_rows_that_are_clear_stand_in_the_order_of_their_figures() -> None:
    lamp = device("L1", "light", (3.0, 3.0), below_m=0.6)
    clear = [c for c in clearances(scene(overhead=(lamp,))) if c.state == "clear"]
    left = [c.actual_m - c.required_m for c in clear if c.actual_m is not None and c.required_m is not None]
    assert left == sorted(left)
    assert len(left) > 2


def test_a_body_in_a_wall_fails_whatever_the_wall_rule_says() -> None:
    """The middle is 0.03 m from the wall and the body 0.1 m wide: 0.02 m of it would be in the wall."""
    inside = scene(arrays=(array(at=(3.0, 0.03)),))
    for room in (inside, changed(inside, "wall"), changed(inside, "wall", 0.0)):
        row = only(room, "touch")
        assert (row.against, row.state, row.binding) == ("walls", "short", True)
        assert row.actual_m == pytest.approx(-0.02)
        assert review(room).verdict == "fail"
        assert "A1 runs into a wall" in " ".join(sentences(review(room)))
    beside = changed(scene(arrays=(array(at=(3.0, 0.05)),)), "wall")
    assert rows(beside, "touch") == []


def test_the_search_keeps_out_of_walls_whose_rule_is_switched_off() -> None:
    room = changed(scene(arrays=(array(at=(3.0, 0.03)),)), "wall")
    [touch] = [c for c in constraints_for(room, room.arrays[0]) if c.key == ("touch", "body")]
    assert touch.signed_m(np.array([[3.0, 0.03, 2.2], [3.0, 0.07, 2.2]])) == pytest.approx([-0.02, 0.02])
    # a spec may ask more of what may not touch than of walls
    more = changed(room, "touch", 0.5)
    [touch] = [c for c in constraints_for(more, more.arrays[0]) if c.key == ("touch", "body")]
    assert touch.signed_m(np.array([[3.0, 0.45, 2.2]])) == pytest.approx([-0.1])


def test_the_map_keeps_from_walls_what_the_spec_asks_of_touching() -> None:
    room = changed(scene(), "touch", 0.5)
    [(outline, _)] = room_within(room, room.arrays[0])
    assert shapely.Polygon(outline).bounds == pytest.approx((0.55, 0.55, 5.45, 3.45))
