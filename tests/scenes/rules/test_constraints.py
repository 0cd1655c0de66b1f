"""The rules as the search has them: signed, changing by at most a metre per metre, in agreement with the rows."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.asked_once import AT_ONCE
from scenes.place.search import place_scene
from scenes.room.build import read_scene
from scenes.room.scene import Scene
from scenes.rulebook import rule_ids, rules
from scenes.rules.apply import measures_of
from scenes.rules.clearances import clearances
from scenes.rules.constraints import constraints_between, constraints_for, is_about_the_room, tightest
from scenes.rules.surroundings import Site, Sweep
from tests.scenes.ceiling_rooms import CEILING_M, array, busy_room, changed, scene

rooms = st.builds(
    busy_room,
    st.floats(-180, 180),
    wide=st.booleans(),
    mount=st.sampled_from(["pendant", "flush"]),
    grid=st.just(True),
    swing_deg=st.sampled_from([5.0, 45.0]),
)
spots = st.tuples(st.floats(-0.5, 6.5), st.floats(-0.5, 4.5), st.floats(0.9, 2.75))
steps = st.tuples(*[st.floats(-0.4, 0.4)] * 3)


def test_the_rooms_of_these_tests_have_something_for_every_measure() -> None:
    seen = {
        measure.applied.rule.measure
        for mount in ("pendant", "flush")
        for room in (busy_room(mount=mount, grid=True, swing_deg=45.0),)
        for measure in measures_of(Site(room, room.arrays[0]))
    }
    assert seen == {rule.measure for rule in rules().values() if rule.to is None}


@settings(max_examples=10, deadline=None)
@given(rooms, st.lists(spots, min_size=1, max_size=5))
def test_rules_asked_in_one_call_say_what_each_says_alone(
    room: Scene, at: list[tuple[float, float, float]]
) -> None:
    """Few places are asked in one call, many rule by rule: the same numbers, again and again."""
    few, many = np.array(at), np.tile(np.array(at), (AT_ONCE // len(at) + 1, 1))
    one = room.arrays[0]
    for asked, alone in zip(constraints_for(room, one), constraints_for(room, one), strict=True):
        expected = alone.signed_m(many)[: len(few)]
        np.testing.assert_allclose(asked.signed_m(few), expected, rtol=0, atol=1e-12)
        np.testing.assert_array_equal(asked.signed_m(few), asked.signed_m(few))


@settings(max_examples=25, deadline=None)
@given(rooms, spots, steps, st.sampled_from(rule_ids()), st.sampled_from([0.0, 0.07]))
def test_every_measure_changes_by_at_most_a_metre_per_metre(
    room: Scene, at: tuple[float, float, float], step: tuple[float, float, float], quiet: str, off_m: float
) -> None:
    """Every file of measures, all its columns and the least a search is given; as it is, changed and switched off."""
    there = np.array([at, np.array(at) + step])
    moved = float(np.linalg.norm(step))
    for of in (room, changed(room, quiet), changed(room, quiet, 0.2)):
        for still in measures_of(Site(of, of.arrays[0])):
            measure = still.swept(Sweep(square_m=off_m))
            here, then = measure.signed(there)
            finite = np.isfinite(here)
            assert (finite == np.isfinite(then)).all()
            assert (np.abs(here[finite] - then[finite]) <= moved + 1e-7).all(), measure.applied.rule.id
            for up_to_m in (math.inf, 0.3):
                least = measure.least(there, up_to_m=up_to_m)
                if np.isfinite(least).all():
                    assert abs(least[0] - least[1]) <= moved + 1e-7, measure.applied.rule.id


@settings(max_examples=25, deadline=None)
@given(rooms, spots, st.floats(0.9, 2.75))
def test_what_is_called_the_same_at_all_heights_is(
    room: Scene, at: tuple[float, float, float], height_m: float
) -> None:
    measures = [m for m in measures_of(Site(room, room.arrays[0])) if m.same_at_all_heights]
    assert {m.applied.rule.measure for m in measures} >= {"wall", "grid", "touch"}
    for measure in measures:
        here, there = measure.signed(np.array([at, (*at[:2], height_m)]))
        assert here == pytest.approx(there, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(rooms, spots, st.floats(0, 0.8), st.sampled_from([Sweep(), Sweep(square_m=0.2, tilt_deg=2.0)]))
def test_over_a_place_every_column_has_its_least_at_one_of_the_worst_heights(
    room: Scene, at: tuple[float, float, float], rise_m: float, sweep: Sweep
) -> None:
    x, y, z = at
    heights = np.linspace(z, z + rise_m, 101)
    for still in measures_of(Site(room, room.arrays[0])):
        measure, columns = still.swept(sweep), np.arange(len(still.against))
        worst = measure.worst_heights(columns, z, z + rise_m)
        if worst is None:
            assert still.applied.rule.measure not in ("distance", "touch", "void")
            continue
        assert ((worst >= z) & (worst <= z + rise_m)).all()
        least = measure.signed(np.column_stack([np.tile((x, y), (len(worst), 1)), worst])).min(axis=0)
        along = measure.signed(np.column_stack([np.tile((x, y), (len(heights), 1)), heights])).min(axis=0)
        assert (least <= along + 1e-9).all(), still.applied.rule.id


@settings(max_examples=25, deadline=None)
@given(rooms, st.lists(spots, min_size=1, max_size=40))
def test_the_least_that_a_search_is_given_has_the_sign_of_the_columns_and_is_never_more(
    room: Scene, at: list[tuple[float, float, float]]
) -> None:
    """Touching is left to other rules where they keep farther away; light is given as a little less than it is."""
    positions = np.array(at)
    for measure in measures_of(Site(room, room.arrays[0])):
        columns = measure.signed(positions).min(axis=1)
        for up_to_m in (math.inf, 0.4):
            least = measure.least(positions, up_to_m=up_to_m)
            if measure.applied.rule.measure == "touch":
                continue
            assert (least <= columns + 1e-9).all()
            assert ((least >= 0) == (columns >= 0)).all()
            if measure.applied.rule.measure != "projector_light":
                assert (least >= np.minimum(columns, up_to_m) - 1e-12).all()


@settings(max_examples=25, deadline=None)
@given(rooms, spots, steps, st.sampled_from(rule_ids()))
def test_every_constraint_is_finite_and_changes_by_at_most_a_metre_per_metre(
    room: Scene, at: tuple[float, float, float], step: tuple[float, float, float], quiet: str
) -> None:
    moved = float(np.linalg.norm(step))
    for of in (room, changed(room, quiet), changed(room, quiet, 0.2)):
        for constraint in constraints_for(of, of.arrays[0]):
            here, then = constraint.signed_m(np.array([at, np.array(at) + step]))
            assert np.isfinite([here, then]).all(), constraint.key
            assert abs(here - then) <= moved + 1e-7, constraint.key


@settings(max_examples=25, deadline=None)
@given(rooms, spots)
def test_constraints_and_review_agree(room: Scene, at: tuple[float, float, float]) -> None:
    flush = room.arrays[0].profile.mount == "flush"
    x, y, z = at
    moved = room.with_array("A1", at_m=(x, y), height_m=CEILING_M if flush else min(z, CEILING_M - 0.04))
    first = moved.arrays[0]
    signed = {c.key: float(c.signed_m(np.array([first.centre_m]))[0]) for c in constraints_for(moved, first)}
    # what touches is short of another rule too, and it is that which keeps the search out; tees bind nothing
    found = {
        row.rule
        for row in clearances(moved)
        if row.array == "A1" and row.state in ("short", "advised") and row.rule not in ("touch", "grid-tee")
    }
    negative = {key[0] for key, value in signed.items() if value < -1e-9}
    # one constraint stands for both sprinkler rules
    as_one = {"sprinkler-table": "sprinkler-spray"}
    assert {as_one.get(rule, rule) for rule in found} == negative - {"touch"}
    touching = {row.rule for row in clearances(moved) if row.rule == "touch" and row.state == "short"}
    assert not touching or negative
    worst = tightest(moved, first, first.centre_m)[0]
    # light is given to the search as a little less than it is
    assert worst.signed_m >= min(signed.values()) - 1e-9
    assert (worst.signed_m >= -1e-9) == (min(signed.values()) >= -1e-9)


def test_between_two_arrays_the_demand_is_the_same_from_either() -> None:
    pair = scene(arrays=(array("A1"), array("A2", (3.9, 2.3), 2.4)))
    for one, other in (pair.arrays, pair.arrays[::-1]):
        asked = constraints_between(pair.with_arrays((one, other)), one)
        assert [c.key for c in asked] == [("other-array",)]
        left = asked[0].signed_m(np.array([one.centre_m]))[0]
        assert left == pytest.approx(math.hypot(math.hypot(0.9, 0.3) - 0.1, 2.37 - 2.23) - 0.5)


def test_rules_about_the_room_are_known_from_those_about_the_ceiling() -> None:
    room = busy_room()
    about_room = {c.key[0] for c in constraints_for(room, room.arrays[0]) if is_about_the_room(c)}
    assert about_room == {"wall", "headroom", "free-over-table"}


def test_the_best_place_without_rules_is_in_a_sprinklers_spray_and_with_them_it_is_not() -> None:
    heron = read_scene(Path(__file__).parents[3] / "scenes" / "rooms" / "heron.yaml")
    free = place_scene(heron, aim="tolerance", hold=("at",), clearances=False)
    kept = place_scene(heron, aim="tolerance", hold=("at",))
    short = [row for row in clearances(free.scene) if row.state in ("short", "advised")]
    assert [(row.against, row.rule) for row in short] == [("SP2", "sprinkler-spray")]
    assert not [row for row in clearances(kept.scene) if row.state in ("short", "advised")]
    assert kept.margin_m is not None
    assert free.margin_m is not None
    assert kept.margin_m < free.margin_m - 0.001  # what SP2 costs
    [pushed] = tightest(free.scene, free.scene.arrays[0], free.scene.arrays[0].centre_m, within_m=0)
    assert (pushed.against, pushed.rule) == ("SP2", "sprinkler-spray")
