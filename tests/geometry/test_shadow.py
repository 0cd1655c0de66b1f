"""Shadows: the sign against lines themselves, the depth against a hull, and what bounds them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from geometry.coverage import Heads
from geometry.shadow import SIDES, Sight
from geometry.shapes import Blocker, Box, Cylinder, Prism
from geometry.sight import crossings, hidden
from tests.geometry.blocked_rooms import blockers, people

LOW, HIGH = np.array([-0.5, -0.5, 0.3]), np.array([7.5, 5.5, 3.2])


def corners(solid: Blocker) -> np.ndarray:
    """(k, 3) the corners; of a round one those of the prism with the most sides inside it."""
    if isinstance(solid, Box):
        outline = np.array(solid.corners_on_plan())
    elif isinstance(solid, Prism):
        outline = np.array(solid.outline_m)
    else:
        turn = 2 * math.pi * np.arange(SIDES[-1]) / SIDES[-1]
        outline = solid.radius_m * np.column_stack([np.cos(turn), np.sin(turn)]) + solid.middle_m[:2]
    return np.vstack(
        [np.column_stack([outline, np.full(len(outline), z)]) for z in (solid.low_m, solid.high_m)]
    )


def row_mouths(heads: Heads, row: int) -> np.ndarray:
    """(4, 3) the corners of what a row's mouths fill."""
    ends = (heads.xy_m[row], heads.to_m[row])
    return np.array([[*xy, z] for xy in ends for z in (heads.low_m[row], heads.high_m[row])])


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_planes_are_those_of_the_hull(seed: int) -> None:
    dice = np.random.default_rng(seed)
    heads = people(dice, 4)
    at = dice.uniform(LOW, HIGH, (600, 3))
    for solid in blockers(dice, 3):
        told = Sight(heads, (solid,)).planes(0, SIDES[-1], "inner").signed_m(at)
        for row in range(len(heads.xy_m)):
            mouths = np.unique(row_mouths(heads, row), axis=0)
            if not np.isfinite(told[row]).all():
                # no plane parts them: a mouth is inside, and nothing is seen from anywhere
                assert np.all(told[row] == -np.inf)
                assert hidden(at, heads.take(np.array([heads.row_head[row]])), [solid]).all()
                continue
            body = corners(solid)
            far = [body + 400 / np.linalg.norm(body - m, axis=1).min() * (body - m) for m in mouths]
            planes = ConvexHull(np.vstack([body, *far])).equations
            own = (at @ planes[:, :3].T + planes[:, 3]).max(axis=1)
            np.testing.assert_allclose(told[row], own, atol=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_sign_is_that_of_the_lines_themselves(seed: int) -> None:
    dice = np.random.default_rng(seed)
    heads, solids = people(dice, 4), blockers(dice, 3)
    sight = Sight(heads, solids)
    at = dice.uniform(LOW, HIGH, (3000, 3))
    behind = hidden(at, heads, solids)
    for k in range(len(sight)):
        inner, outer = sight.signed_m(k, at), sight.signed_m(k, at, side="outer")
        assert np.all(outer <= inner + 1e-9)
        assert not (behind[:, :, sight.index[k]].T & (outer > 1e-8)).any()
        assert not (~behind[:, :, sight.index[k]].T & (inner < -1e-7)).any()
        np.testing.assert_array_equal(sight.sees_past(k, at), ~behind[:, :, sight.index[k]])
    np.testing.assert_array_equal(sight.sees(at), ~behind.any(axis=2))
    # and against single lines to mouths anywhere in the range and on the way: none contradicts
    for head in range(len(heads)):
        rows = np.flatnonzero(heads.row_head == head)
        row = dice.choice(rows, len(at))
        share = dice.random((len(at), 2))
        mouth = np.column_stack(
            [
                heads.xy_m[row] + share[:, :1] * (heads.to_m[row] - heads.xy_m[row]),
                heads.low_m[row] + share[:, 1] * (heads.high_m[row] - heads.low_m[row]),
            ]
        )
        blocked = crossings(at, mouth, solids).blocked.any(axis=1)
        assert not (blocked & sight.sees(at)[:, head]).any()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_it_changes_by_no_more_than_the_way_moved(seed: int) -> None:
    dice = np.random.default_rng(seed)
    heads, solids = people(dice, 3), blockers(dice, 3)
    sight = Sight(heads, solids)
    at = dice.uniform(LOW, HIGH, (400, 3))
    step = dice.normal(0, 0.2, at.shape)
    for k in range(len(sight)):
        for side in ("inner", "outer"):
            here, there = (sight.signed_m(k, p, side=side, sides=16) for p in (at, at + step))  # type: ignore[arg-type]
            finite = np.isfinite(here) & np.isfinite(there)
            moved = np.broadcast_to(np.linalg.norm(step, axis=1), here.shape)
            assert np.all(np.abs(here - there)[finite] <= moved[finite] + 1e-9)
    quick = np.array([sight.clear_at_least_m(k, at) for k in range(len(sight))])
    slow = np.array([sight.signed_m(k, at, side="outer").min(axis=0) for k in range(len(sight))])
    if len(sight):
        assert np.all(quick <= slow + 1e-9)
        np.testing.assert_allclose(sight.least_m(at), np.maximum(quick, slow).min(axis=0), atol=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_a_box_of_places_keeps_what_is_told_of_it(seed: int) -> None:
    dice = np.random.default_rng(seed)
    heads, solids = people(dice, 3), blockers(dice, 3)
    sight = Sight(heads, solids)
    at, (a, u, d) = dice.uniform(LOW + 0.5, HIGH - 0.5), dice.uniform(0, 0.3, 3)
    places = at + dice.uniform((-a, -a, -d), (a, a, u), (500, 3))
    for k in range(len(sight)):
        least = sight.past_in_box_m(k, at, a, u, d)
        walked = sight.signed_m(k, places, side="outer").min(axis=1)
        assert np.all(least <= walked + 1e-9)
        # sure to hold where it is told to
        assert sight.sees_past(k, places)[:, least >= 0].all()


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_some_heads_are_judged_as_among_all(seed: int) -> None:
    dice = np.random.default_rng(seed)
    heads, solids = people(dice, 6), blockers(dice, 3)
    sight, some = Sight(heads, solids), np.array([4, 0, 5])
    at = dice.uniform(LOW, HIGH, (200, 3))
    part = sight.take(some)
    again = part.take(np.array([2, 1]))
    for k in range(len(sight)):
        np.testing.assert_array_equal(part.signed_m(k, at), sight.signed_m(k, at)[some])
        np.testing.assert_array_equal(again.signed_m(k, at), sight.signed_m(k, at)[[5, 0]])


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0, 0.5))
def test_what_is_judged_where_it_matters_is_so(seed: int, enough_m: float) -> None:
    dice = np.random.default_rng(seed)
    heads, solids = people(dice, 4), blockers(dice, 3)
    sight = Sight(heads, solids)
    at = dice.uniform(LOW, HIGH, (500, 3))
    for k in range(len(sight)):
        told = sight.left_m(k, at, np.full(len(at), enough_m), -1e-9)
        way = dice.normal(size=at.shape)
        way /= np.linalg.norm(way, axis=1)[:, None]
        sure = (told > 0) & (told < np.inf)
        # never more than there is: so far it may be moved whichever way, and nobody is hidden
        there = (at + np.minimum(told, 10)[:, None] * (1 - 1e-9) * way)[sure]
        assert sight.sees_past(k, there).all()
        clear = sight.sees_past(k, at).all(axis=1)
        np.testing.assert_array_equal(told >= -1e-9, clear)


def test_what_has_no_thickness_hides_nobody_and_is_left_out() -> None:
    one = Heads.at([[1.0, 1.0, 1.2]])
    flat = (
        Box((2, 1, 1.8), (0, 1, 1)),
        Cylinder((2, 1, 1.8), 0.3, 0),
        Box((3, 1, 1.8), (0.4, 1, 1)),
        Prism(((2, 0), (2, 2), (2, 2)), 1, 2),
    )
    sight = Sight(one, flat)
    assert len(sight) == 1
    assert sight.index.tolist() == [2]
    assert sight.sees([[5.0, 1.0, 2.4]]).tolist() == [[False]]


def test_a_mouth_on_a_face_is_seen_from_before_it_only() -> None:
    one = Heads.at([[1.0, 1.0, 1.2]])
    sight = Sight(one, (Box((1.5, 1.0, 1.2), (1, 1, 1)),))
    assert sight.sees([[0.5, 1.0, 2.0], [1.5, 1.0, 2.4]]).tolist() == [[True], [False]]
    inside = Sight(one, (Box((1.0, 1.0, 1.2), (1, 1, 1)),))
    assert inside.least_m([[0.2, 1.0, 2.0]])[0] == -np.inf
    assert not inside.sees([[0.2, 1.0, 2.0]]).any()


def test_depth_is_how_far_the_array_must_move() -> None:
    # a wide sheet 0.5 m over the mouth: to see past its edge at x = 2 from 1 m over it, go to x = 3 by similar
    # triangles; from x = 2.5 that is 0.5 m sideways, and less straight away from the plane through the edge
    one = Heads.at([[1.0, 1.0, 1.0]])
    sight = Sight(one, (Box((-4.0, 1.0, 1.55), (12.0, 40.0, 0.1)),))
    signed = sight.signed_m(0, np.array([[2.5, 1.0, 2.0], [3.0, 1.0, 2.0], [3.5, 1.0, 2.0]]))[0]
    assert signed == pytest.approx(np.array([-0.5, 0, 0.5]) * math.sin(math.atan2(0.5, 1)), abs=1e-12)


def test_planes_that_stay_known_are_those_made_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    dice = np.random.default_rng(11)
    for _ in range(20):
        heads, solids = people(dice, 4), tuple(blockers(dice, 3))
        known = [
            Sight(heads, solids).planes(k, SIDES[0], side) for k in range(3) for side in ("inner", "outer")
        ]
        again = [
            Sight(heads, solids).planes(k, SIDES[0], side) for k in range(3) for side in ("inner", "outer")
        ]
        with monkeypatch.context() as many:
            many.setattr("geometry.shadow.FEW_ROWS", 0)
            anew = [
                Sight(heads, solids).planes(k, SIDES[0], side)
                for k in range(3)
                for side in ("inner", "outer")
            ]
        for one, two, three in zip(known, again, anew, strict=True):
            assert one is two
            assert two is not three
            for name in ("normals", "offsets", "start"):
                np.testing.assert_array_equal(getattr(one, name), getattr(three, name))
                assert not getattr(one, name).flags.writeable


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_what_is_not_near_hides_nobody_from_anywhere_between(seed: int) -> None:
    """Boxes alone say it: in a room of a thousand devices a hundred were made planes of that no line comes near."""
    dice = np.random.default_rng(seed)
    heads = people(dice, 4)
    high = [Box((*dice.uniform(LOW[:2], HIGH[:2]), z), (0.6, 0.3, 0.1)) for z in dice.uniform(2.2, 3.1, 6)]
    sight = Sight(heads, (*blockers(dice, 4), *high))
    ends = dice.uniform(LOW, HIGH, (2, 3))
    between = dice.uniform(ends.min(axis=0), ends.max(axis=0), (60, 3))
    near = set(sight.near(ends))
    assert near <= set(range(len(sight)))
    for solid in set(range(len(sight))) - near:
        assert sight.sees_past(solid, between).all()
    left_out = [
        len(sight) - len(sight.near(np.array([*at, 2.0]) * np.ones((1, 1))))
        for at in ((0.0, 0.0), (7.0, 5.0))
    ]
    assert max(left_out) > 0
