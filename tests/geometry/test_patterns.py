"""Rows and grids: nobody's lattice of spacings and heights beats the bound, and what is found is what it says."""

import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import SLIM_M, Centre, Margin, Most, Near, Tolerance
from geometry.arrangement import Wish, arrange
from geometry.constraint import Constraint, SearchBox
from geometry.cover_proof import Thoroughness
from geometry.coverage import Heads
from geometry.hearing import UNSEEN_M
from geometry.kind import ArrayKind, Position
from geometry.patterns import Laid, Pattern, best_pattern
from geometry.problem import ArrangementProblem
from geometry.shapes import Box
from tests.geometry.pillar_room import BANDS, apart_by, pillar

BOX = SearchBox((0.3, 0.3, 1.8), (6.7, 3.7, 2.6))
APART_M = 0.7
between = apart_by(APART_M)


def problem_of(heads, *, rule=True, blockers=(), bands=BANDS, box=BOX) -> ArrangementProblem:
    constraints = (Constraint(("pillar",), pillar),) if rule else ()
    return ArrangementProblem(heads, (ArrayKind(bands, box, constraints, blockers),), between)


def of_lattice(problem, pattern, aim, spacings, offsets=(0.0,)) -> float:
    """The best score of the pattern over a lattice of its numbers: what anybody could lay out."""
    across = spacings if pattern.rows > 1 else [0.0]
    best = -math.inf
    for s, t, o, z in itertools.product(
        spacings if pattern.columns > 1 else [0.0], across, offsets, (1.8, 2.1, 2.4, 2.6)
    ):
        places = pattern.places(np.array([[s, t, o, z]]))[0]
        inside = (places >= np.array(BOX.low_m)).all() and (places <= np.array(BOX.high_m)).all()
        if not inside or (pillar(places) < 0).any():
            continue
        for band in range(len(BANDS)):
            positions = [Position(tuple(place), band) for place in places.tolist()]
            if not problem.in_conflict(positions):
                best = max(best, problem.score(positions, aim))
    return best


@st.composite
def rooms(draw):
    spot = st.tuples(st.floats(0.5, 6.5), st.floats(0.5, 3.5), st.sampled_from([1.2, 1.5]))
    heads = Heads.at(
        draw(st.lists(spot, min_size=2, max_size=6)),
        sway_m=draw(st.sampled_from([0.0, 0.1])),
        half_range_m=draw(st.sampled_from([0.0, 0.05])),
    )
    if draw(st.booleans()):
        heads.to_m[0] += draw(st.tuples(st.floats(-1.5, 1.5), st.floats(-1.0, 1.0)))
    return heads


patterns = st.builds(
    Pattern,
    st.tuples(st.floats(2.5, 4.5), st.floats(1.5, 2.5)),
    st.sampled_from([0.0, 90.0, 20.0]),
    st.sampled_from([1, 2, 3]),
    st.sampled_from([1, 1, 2]),
    st.sampled_from([0.0, 0.8]),
)


def check(problem: ArrangementProblem, laid: Laid, aim) -> None:
    """The places are the pattern's, level, in one band, allowed, clear of each other, and worth what is said."""
    found = laid.solution
    if not found.positions:
        return
    numbers = [laid.spacing_m or 0.0, laid.across_m or 0.0, laid.offset_m, found.positions[0].at_m[2]]
    places = np.array([one.at_m for one in found.positions])
    np.testing.assert_allclose(laid.pattern.places(np.array([numbers]))[0], places, atol=1e-9)
    assert len({one.band for one in found.positions}) == 1
    assert (pillar(places) >= -1e-9).all()
    assert (places >= np.array(BOX.low_m) - 1e-9).all()
    assert (places <= np.array(BOX.high_m) + 1e-9).all()
    assert not problem.in_conflict(found.positions)
    assert found.score == pytest.approx(problem.score(found.positions, aim), abs=1e-9)
    assert found.bound_score >= found.score - 1e-9
    if found.outcome == "certified":
        assert found.bound_score - found.score <= aim.gap + 1e-9


@settings(max_examples=8, deadline=None)
@given(rooms(), patterns, st.sampled_from([Margin(), Most(), Near(0.0), Tolerance(), Centre()]))
def test_no_lattice_of_spacings_beats_the_bound(heads, pattern, aim):
    problem = problem_of(heads)
    laid = best_pattern(problem, pattern, aim, most_cells=20_000)
    check(problem, laid, aim)
    # most leaves out those who could be covered with no more than a millimetre to spare
    by = problem_of(dataclasses.replace(heads, sway_m=heads.sway_m + SLIM_M)) if aim.counts_heads else problem
    offsets = (-0.8, -0.3, 0.0, 0.5) if pattern.offset_m else (0.0,)
    others = of_lattice(by, pattern, aim, (0.4, 0.8, 1.2, 1.7, 2.3, 3.0), offsets)
    if laid.solution.outcome == "none allowed":
        assert others <= UNSEEN_M / 2
    else:
        assert others <= laid.solution.bound_score + 1e-9


@settings(max_examples=8, deadline=None)
@given(rooms(), st.sampled_from([0.0, 90.0]))
def test_a_pattern_is_never_better_than_what_is_proven_of_all_arrays(heads, along):
    """The price of a pattern is never negative: the free bound is of every arrangement."""
    problem = problem_of(heads)
    row = best_pattern(problem, Pattern((3.5, 2.0), along, 2)).solution
    free = arrange(problem, Wish((Margin(),), thorough=Thoroughness(work=0, values=200_000)), 2).margin
    if row.positions:
        assert row.score <= free.bound_score + 1e-9


def test_one_in_the_middle_is_the_search_of_a_plumb_line():
    heads = Heads.at([(2.0, 2.0, 1.2), (4.0, 2.0, 1.2), (3.0, 3.0, 1.2)], sway_m=0.05)
    free = problem_of(heads, rule=False)
    laid = best_pattern(free, Pattern((3.0, 2.0), 0.0, 1))
    held = problem_of(heads, rule=False, box=BOX.holding(x=3.0, y=2.0))
    alone = arrange(held, Wish((Margin(),)), 1).margin
    assert laid.spacing_m is None
    assert laid.across_m is None
    assert laid.solution.outcome == alone.outcome == "certified"
    assert laid.solution.score == pytest.approx(alone.score, abs=1e-3)


def test_a_room_turned_and_its_pattern_with_it_give_the_same():
    heads = Heads.at([(1.5, 1.2, 1.2), (5.0, 1.4, 1.2), (3.1, 3.0, 1.5), (1.0, 3.0, 1.2)], sway_m=0.05)
    turned = np.column_stack([-heads.at_m[:, 1], heads.at_m[:, 0], heads.at_m[:, 2]])
    box = SearchBox((-3.7, 0.3, 1.8), (-0.3, 6.7, 2.6))
    here = best_pattern(problem_of(heads, rule=False), Pattern((3.4, 2.0), 0.0, 2, offset_m=0.5))
    there = best_pattern(
        problem_of(Heads.at(turned, sway_m=0.05), rule=False, box=box),
        Pattern((-2.0, 3.4), 90.0, 2, offset_m=0.5),
    )
    assert here.solution.outcome == there.solution.outcome == "certified"
    assert here.solution.score == pytest.approx(there.solution.score, abs=1e-3)


def test_a_longer_way_along_is_never_worse():
    heads = Heads.at([(1.2, 1.2, 1.2), (5.0, 1.4, 1.2), (2.1, 3.0, 1.5)], sway_m=0.05)
    problem = problem_of(heads)
    scores = [best_pattern(problem, Pattern((3.5, 2.0), 0.0, 2, offset_m=o)).solution for o in (0.0, 0.6)]
    assert scores[1].score >= scores[0].score - 1e-3
    assert scores[1].bound_score >= scores[0].score


def test_who_is_hidden_from_one_is_served_by_another_or_by_none():
    heads = Heads.at([(1.5, 2.0, 1.2), (5.5, 2.0, 1.2)], sway_m=0.05)
    wall = Box((3.5, 2.0, 1.3), (0.1, 4.0, 2.6))
    pattern = Pattern((3.5, 2.0), 0.0, 2)
    open_room = best_pattern(problem_of(heads, rule=False), pattern).solution
    problem = problem_of(heads, rule=False, blockers=(wall,))
    parted = best_pattern(problem, pattern).solution
    assert parted.outcome == "certified"
    assert parted.score == pytest.approx(problem.score(parted.positions, Margin()), abs=1e-9)
    assert parted.score <= open_room.bound_score + 1e-9
    assert problem.least(parted.positions) >= 0  # each has its own on its side
    # and with one array in a row nobody beyond the wall is seen
    alone = best_pattern(problem, Pattern((3.5, 2.0), 0.0, 1, offset_m=2.5), Most()).solution
    assert alone.figures.covered == 1


def test_no_place_allowed_is_a_proof_and_too_few_cells_are_none():
    heads = Heads.at([(1.5, 2.0, 1.2), (5.5, 2.0, 1.2)])
    nowhere = dataclasses.replace(
        problem_of(heads).kinds[0], constraints=(Constraint(("no",), lambda at: np.full(len(at), -9.0)),)
    )
    none = best_pattern(ArrangementProblem(heads, (nowhere,)), Pattern((3.5, 2.0), 0.0, 2)).solution
    assert (none.outcome, none.positions, none.bound_score) == ("none allowed", (), None)
    crowd = problem_of(
        Heads.at([(1.0, 1.0, 1.2), (6.0, 1.2, 1.5), (2.5, 3.4, 1.2), (5.0, 3.1, 1.5)], sway_m=0.1)
    )
    few = best_pattern(crowd, Pattern((3.5, 2.0), 20.0, 2, offset_m=0.5), most_cells=50).solution
    many = best_pattern(crowd, Pattern((3.5, 2.0), 20.0, 2, offset_m=0.5)).solution
    assert few.outcome == "unresolved"
    assert few.bound_score >= many.score


def test_mistakes_are_told():
    for wrong in ((0, 1, 0.0), (1, 0, 0.0), (1, 1, -0.1)):
        with pytest.raises(ValueError, match="allowed is 1 or more"):
            Pattern((0.0, 0.0), 0.0, *wrong)
