"""Several arrays: covers against enumeration, counts and bounds against what anybody else finds."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import RANK_M, Centre, Margin, Most, Near, Tolerance
from geometry.arrangement import Arrangement, Wish, arrange
from geometry.band import Band, pair_slack
from geometry.constraint import Constraint, SearchBox
from geometry.cover_proof import Thoroughness
from geometry.coverage import Heads, cover
from geometry.kind import ArrayKind
from geometry.placement import search
from geometry.problem import ArrangementProblem
from geometry.set_cover import largest_cover, smallest_cover
from geometry.shapes import Box, Cylinder
from geometry.sight import hidden

BANDS = (Band(9, 47, 1, 3), Band(39, 81, 1, 3))
BOX = SearchBox((0.3, 0.3, 1.8), (6.7, 3.7, 2.6))


def arranged(heads, kinds, count=None, aim=None, between=None, **how) -> Arrangement:
    """Arrays by an aim (the largest margin if none is named), the largest margin where it cannot be had."""
    wish = Wish((aim or Margin(),), Margin(), **how)
    return arrange(ArrangementProblem(heads, tuple(kinds), between), wish, count)


def best_of(answer: Arrangement) -> float:
    """The largest margin found with these arrays, over the heads that are reached; nan without arrays."""
    figures = answer.margin.figures
    return math.nan if figures is None else figures.margin_m


def bound_of(answer: Arrangement) -> float:
    """What is proven that no arrays of this number have more than."""
    bound = answer.margin.bound_score
    return -math.inf if bound is None else bound


def gap_of(answer: Arrangement) -> float:
    return bound_of(answer) - best_of(answer)


def proven(answer: Arrangement) -> bool:
    return answer.margin.outcome == "certified"


def said(answer: Arrangement) -> str:
    """What is proven of the count, in short."""
    count = answer.count
    if count.tried is not None:
        return f"none up to {count.tried}"
    return f"{count.arrays}, proven" if count.proven else f"{count.arrays}, at least {count.at_least}"


@st.composite
def rooms(draw, most=7):
    spot = st.tuples(st.floats(0.5, 6.5), st.floats(0.5, 3.5), st.sampled_from([1.2, 1.5]))
    heads = Heads.at(
        draw(st.lists(spot, min_size=2, max_size=most)),
        sway_m=draw(st.sampled_from([0.0, 0.1])),
        half_range_m=draw(st.sampled_from([0.0, 0.05])),
    )
    if draw(st.booleans()):  # the first of them walks
        heads.to_m[0] += draw(st.tuples(st.floats(-1.5, 1.5), st.floats(-1.0, 1.0)))
    return heads


def pillar(at):
    """Keeps 0.6 m away from a vertical line."""
    return np.hypot(at[:, 0] - 3.3, at[:, 1] - 2.1) - 0.6


KIND = ArrayKind(BANDS, BOX, (Constraint(("pillar",), pillar),))


def lattice_margins(heads, pitch=0.35):
    """Margins (columns, heads) from every allowed place of a lattice in every band: anybody's arrangement."""
    axes = [np.arange(low, high + 1e-9, pitch) for low, high in zip(BOX.low_m, BOX.high_m, strict=True)]
    at = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 3)
    at = at[pillar(at) >= 0]
    points, keep, head = heads.ends()
    legs = heads.legs()
    head = np.concatenate([head, legs.head])
    found = []
    for band in BANDS:
        slacks = np.vstack([pair_slack(band, at, points) - keep[:, None], legs.margins(band, at)])
        found.append(np.stack([slacks[head == h].min(axis=0) for h in range(len(heads))], axis=1))
    return np.concatenate(found)


def check_figures(heads, answer, kinds=(KIND,)):
    """What is told is so: margins recomputed with the review's own coverage, rules kept, heads shared out."""
    places = [stand.position for stand in answer.stands]
    at = np.array([place.at_m for place in places])
    seen = cover(at, [kinds[place.kind].bands[place.band] for place in places], heads)
    reached = np.setdiff1d(np.arange(len(heads)), answer.unreached)
    least = seen.margin_m.max(axis=0)[reached].min()
    assert answer.solution.figures.margin_m == pytest.approx(least, abs=1e-9)
    assert least <= bound_of(answer) + 1e-9
    serving = seen.serving()
    for i, stand in enumerate(answer.stands):
        kind = kinds[stand.position.kind]
        assert stand.heads == tuple(np.flatnonzero(serving == i).tolist())
        assert stand.covers == tuple(np.flatnonzero(seen.margin_m[i] >= -1e-9).tolist())
        assert all(c.signed_m(at[i : i + 1])[0] >= -1e-9 for c in kind.constraints)
        assert (at[i] >= np.array(kind.box.low_m) - 1e-9).all()
        assert (at[i] <= np.array(kind.box.high_m) + 1e-9).all()
        assert (stand.figures is None) == (not stand.heads)
        if stand.figures is not None:
            own = seen.margin_m[i][list(stand.heads)].min()
            assert stand.figures.margin_m == pytest.approx(own, abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(rooms())
def test_no_lattice_covers_with_fewer_arrays_than_are_proven_necessary(heads):
    answer = arranged(heads, [KIND], count="fewest")
    if not answer.stands:
        assert len(answer.unreached) == len(heads)
        return
    check_figures(heads, answer)
    reached = np.setdiff1d(np.arange(len(heads)), answer.unreached)
    margins = lattice_margins(heads)
    assert not (margins[:, list(answer.unreached)] >= 0).any()
    assert best_of(answer) >= -1e-9  # everybody who can be covered is
    rival = smallest_cover(margins[:, reached] >= 0)
    assert answer.count.at_least <= rival.at_least
    assert answer.count.at_least <= len(answer.stands)
    if answer.count.proven:
        assert answer.count.at_least == len(answer.stands)


@settings(max_examples=10, deadline=None)
@given(rooms(), st.integers(1, 3))
def test_no_lattice_has_a_larger_margin_than_the_bound(heads, count):
    answer = arranged(heads, [KIND], count=count)
    assert len(answer.stands) == count
    check_figures(heads, answer)
    assert answer.solution is answer.margin
    assert proven(answer) == (gap_of(answer) <= 0.001)
    margins = lattice_margins(heads)
    # any number a lattice cover reaches is at most the bound: ask for a hair more than the bound
    assert smallest_cover(margins >= bound_of(answer) + 1e-6, total=count).at_least > count


@settings(max_examples=8, deadline=None)
@given(rooms(most=5), st.integers(0, 3))
def test_a_place_that_only_just_does_is_not_proven_away(heads, twin):
    # one array does with half a millimetre to spare, at one place only: no cell's centre is there
    best = search(heads, KIND, Margin()).figures
    if best is None or best.margin_m < 0.001:
        return
    tight = dataclasses.replace(heads, sway_m=heads.sway_m + best.margin_m - 0.0005)
    answer = arranged(tight, [KIND], count="fewest")
    assert said(answer) == "1, proven"
    # the same twice: two such rooms far apart, in one box
    away = 13.0 + twin
    both = Heads.at(
        np.concatenate([tight.at_m, np.add(tight.at_m, (away, 0, 0))]),
        sway_m=np.tile(tight.sway_m, 2),
        half_range_m=(tight.high_m - tight.low_m)[0] / 2,
    )
    low, high = BOX.low_m, BOX.high_m
    wide = ArrayKind(
        BANDS,
        SearchBox(low, (high[0] + away, high[1], high[2])),
        (Constraint(("pillars",), lambda at: np.minimum(pillar(at), pillar(at - (away, 0, 0)))),),
    )
    answer = arranged(both, [wide], count="fewest")
    assert answer.count.at_least <= 2
    answer = arranged(both, [wide], count=2)
    assert bound_of(answer) >= 0.0005 - 1e-6


def two_tables():
    """Two groups of four, 5 m apart: nobody reaches 3 m to both ends of 6 m, so one array each."""
    table = np.array([(x, y, 1.2) for x in (-0.5, 0.5) for y in (-0.6, 0.6)])
    return Heads.at(np.concatenate([np.add(table, (1.2, 2, 0)), np.add(table, (6.2, 2, 0))]), sway_m=0.05)


def test_two_tables_need_two_arrays_and_it_is_proven():
    heads = two_tables()
    answer = arranged(heads, [ArrayKind(BANDS, BOX)], count="fewest")
    assert said(answer) == "2, proven"
    assert sorted(stand.heads for stand in answer.stands) == [(0, 1, 2, 3), (4, 5, 6, 7)]
    assert proven(answer)
    # each table alone, certified by the search for one array, is what the pair reaches
    alone = search(heads.take(np.arange(4)), ArrayKind(BANDS, BOX), Margin()).figures.margin_m
    assert best_of(answer) == pytest.approx(alone, abs=0.002)


def test_heads_in_conflict_are_parted_and_nobody_else_is():
    # one cell of 90 mm is all there is: whoever stands left needs the array at x <= 0.02, right at x >= 0.07
    reach = math.sqrt(3.0**2 - 1.2**2)
    heads = Heads.at([[0.02 - reach, 0, 1.2], [0.07 + reach, 0, 1.2], [1.5, 1.0, 1.2], [-1.5, 1.0, 1.2]])
    rail = ArrayKind((Band(5, 80, 0.5, 3),), SearchBox((0, 0, 2.4), (0.09, 0, 2.4)))
    answer = arranged(heads, [rail], count="fewest")
    assert said(answer) == "2, proven"
    assert answer.rounds >= 2  # the first cover was one array, and a conflict took it away
    left, right = sorted(stand.position.at_m[0] for stand in answer.stands)
    assert left <= 0.02 + 1e-9
    assert right >= 0.07 - 1e-9


def test_near_comes_closer_and_keeps_enough():
    heads = two_tables()
    far = arranged(heads, [ArrayKind(BANDS, BOX)], count=2)
    near = arranged(heads, [ArrayKind(BANDS, BOX)], count=2, aim=Near(0.1))
    assert near.taken == "near"
    assert near.solution.figures.margin_m >= 0.1 - 1e-9
    assert near.solution.figures.worst_slant_m < far.solution.figures.worst_slant_m
    assert best_of(near) == pytest.approx(best_of(far), abs=0.001)
    # a margin that cannot be had: the largest there is, and it is told which aim was taken
    greedy = arranged(heads, [ArrayKind(BANDS, BOX)], count=2, aim=Near(0.9))
    assert greedy.taken == "margin"
    assert greedy.gave_way.why == "too little margin"


def test_one_array_is_the_single_search():
    heads = two_tables().take(np.arange(4))
    answer = arranged(heads, [ArrayKind(BANDS, BOX)], count=1)
    found = search(heads, ArrayKind(BANDS, BOX), Margin())
    assert answer.solution.positions == found.positions
    assert bound_of(answer) == found.bound_score
    assert proven(answer)


def test_too_few_arrays_have_a_negative_margin_with_a_bound():
    answer = arranged(two_tables(), [ArrayKind(BANDS, BOX)], count=1)
    assert best_of(answer) < 0
    assert answer.taken == "margin"
    assert bound_of(answer) < 0  # a proof that one does not do


def test_more_arrays_than_needed_are_all_placed_and_cost_nothing():
    heads = two_tables()
    answer = arranged(heads, [ArrayKind(BANDS, BOX)], count=3)
    assert len(answer.stands) == 3
    check_figures(heads, answer, (ArrayKind(BANDS, BOX),))
    assert best_of(answer) >= best_of(arranged(heads, [ArrayKind(BANDS, BOX)], count=2)) - 0.001


def test_who_is_out_of_reach_is_named_and_left_out_of_the_count():
    heads = two_tables()
    lost = Heads.at(np.concatenate([heads.at_m, [[20, 2, 1.2]]]), sway_m=0.05)
    answer = arranged(lost, [ArrayKind(BANDS, BOX)], count="fewest")
    assert answer.unreached == (8,)
    assert said(answer) == "2, proven"
    assert best_of(answer) > 0
    nobody = arranged(lost.take(np.array([8])), [ArrayKind(BANDS, BOX)], count="fewest")
    assert nobody.stands == ()
    assert nobody.unreached == (0,)


def test_the_limit_is_kept_and_told():
    answer = arranged(two_tables(), [ArrayKind(BANDS, BOX)], count="fewest", limit=1)
    assert answer.over_limit
    assert answer.stands == ()
    assert answer.count.at_least == 2


def test_no_place_allowed_is_an_empty_answer():
    never = Constraint(("never",), lambda at: np.full(len(at), -9.0))
    for count in (2, "fewest"):
        answer = arranged(two_tables(), [ArrayKind(BANDS, BOX, (never,))], count=count)
        assert answer.stands == ()
        assert answer.solution.outcome == "none allowed"
        assert bound_of(answer) == -math.inf


def test_an_array_that_is_fixed_and_another_kind_beside_it():
    heads = two_tables()
    fixed = ArrayKind((BANDS[0],), SearchBox((1.2, 2.0, 2.3), (1.2, 2.0, 2.3)), count=1)
    wide = ArrayKind((Band(10, 80, 0.5, 4),), BOX, count=1)
    answer = arranged(heads, [fixed, wide])
    check_figures(heads, answer, (fixed, wide))
    assert [stand.position.kind for stand in answer.stands] == [0, 1]
    assert answer.stands[0].position.at_m == (1.2, 2.0, 2.3)
    assert best_of(answer) > 0


def test_held_at_the_ceiling_the_cells_are_flat():
    flat = ArrayKind(BANDS, BOX.holding(z=2.5))
    answer = arranged(two_tables(), [flat], count="fewest")
    assert all(stand.position.at_m[2] == 2.5 for stand in answer.stands)
    assert answer.count.proven


def test_without_effort_the_bound_still_holds():
    heads = two_tables()
    lazy = arranged(heads, [KIND], count=2, thorough=Thoroughness(values=20_000, work=0.0))
    keen = arranged(heads, [KIND], count=2)
    assert not proven(lazy)
    assert bound_of(lazy) >= best_of(keen)
    assert gap_of(lazy) > gap_of(keen)


def test_progress_is_told_round_by_round():
    told = []
    answer = arranged(two_tables(), [KIND], "fewest", Near(), progress=told.append)
    rounds = [(one.question, one.round) for one in told if one.question in ("count", "margin")]
    assert [number for _, number in rounds] == list(range(1, answer.rounds + 1))
    assert rounds[0][0] == "count"
    assert rounds[-1][0] == "margin"
    assert [one.question for one in told[len(rounds) :]] == ["near"]


def test_the_same_room_gives_the_same_answer():
    first, second = (arranged(two_tables(), [KIND], count=2) for _ in range(2))
    assert first.stands == second.stands
    assert bound_of(first) == bound_of(second)


def test_what_is_known_is_given_again_and_the_rest_is_as_it_would_be():
    before = arranged(two_tables(), [KIND], count=2, aim=Near(0.1))
    again = arranged(two_tables(), [KIND], count=2, aim=Centre(), known=before.by_aim)
    anew = arranged(two_tables(), [KIND], count=2, aim=Centre())
    assert again.margin is before.margin
    assert again.stands == anew.stands
    assert again.solution.positions == anew.solution.positions
    assert again.rounds < anew.rounds


def test_mistakes_are_told():
    heads = two_tables()
    with pytest.raises(ValueError, match="1 or more"):
        arranged(heads, [KIND], count=0)
    with pytest.raises(ValueError, match="count of every kind"):
        arranged(heads, [KIND])
    with pytest.raises(ValueError, match="at least one band"):
        ArrayKind((), BOX)
    with pytest.raises(ValueError, match="1 or more, or None"):
        ArrayKind(BANDS, BOX, count=0)
    with pytest.raises(ValueError, match="at least one head"):
        arranged(Heads.at(np.zeros((0, 3))), [KIND], count=1)
    with pytest.raises(ValueError, match="at least one aim"):
        Wish(())


# ---- sight, the ball and the most of several ------------------------------------------------------


COLUMN = Cylinder((3.7, 2.0, 1.35), 0.3, 2.7)
"""Stands between the two tables."""


def test_a_head_is_served_by_an_array_that_sees_it():
    # both arrays would reach the head behind the column; the one that has more margin does not see it
    heads = Heads.at([[1.2, 2.0, 1.2], [4.6, 2.0, 1.2]], sway_m=0.05)
    still = [
        ArrayKind((Band(10, 80, 0.3, 4.5),), SearchBox(at, at), (), (COLUMN,), count=1)
        for at in ((2.6, 2.0, 2.4), (4.6, 0.2, 2.0))
    ]
    answer = arranged(heads, still)
    margins = cover(
        np.array([stand.position.at_m for stand in answer.stands]), [Band(10, 80, 0.3, 4.5)] * 2, heads
    ).margin_m
    assert margins[0, 1] > margins[1, 1]
    assert [stand.heads for stand in answer.stands] == [(0,), (1,)]
    assert answer.solution.figures.margin_m == pytest.approx(min(margins[0, 0], margins[1, 1]))
    loose = [dataclasses.replace(kind, blockers=()) for kind in still]
    assert arranged(heads, loose).stands[0].heads == (0, 1)


def bodies(kind, at):
    """What an array is: a drum."""
    return [Cylinder((float(at[0]), float(at[1]), float(at[2])), 0.25, 0.3)]


def test_another_array_in_the_way_hides_too():
    # the low one hangs right on the line of the high one to the far talker
    band = Band(5, 85, 0.3, 5)
    heads = Heads.at([[1.0, 2.0, 1.2], [5.0, 2.0, 1.2]], sway_m=0.05)
    still = [ArrayKind((band,), SearchBox(at, at), count=1) for at in ((2.4, 2.0, 2.4), (3.7, 2.0, 1.8))]
    problem = ArrangementProblem(heads, tuple(still), None, bodies)
    answer = arrange(problem, Wish((Margin(),)), None)
    places = [stand.position for stand in answer.stands]
    margins, seen = problem.heard(places)
    assert seen.tolist() == [[True, False], [True, True]]
    assert margins[0, 1] > margins[1, 1] > 0
    assert [stand.heads for stand in answer.stands] == [(0,), (1,)]


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10_000))
def test_arrays_hide_nobody_from_each_other_where_they_are_put(seed):
    dice = np.random.default_rng(seed)
    heads = Heads.at(
        np.column_stack([dice.uniform((0.6, 0.6), (6.4, 3.4), (6, 2)), np.full(6, 1.2)]), sway_m=0.05
    )
    kind = ArrayKind((Band(8, 60, 0.5, 4.5),), BOX.holding(z=1.9), count=2)
    problem = ArrangementProblem(heads, (kind,), None, bodies)
    answer = arrange(problem, Wish((Near(0.0), Margin(), Tolerance(), Centre())), 2)
    for solution in answer.by_aim.values():
        if not solution.positions:
            continue
        at = np.array([place.at_m for place in solution.positions])
        drums = [bodies(0, place)[0] for place in at]
        seen = np.array(
            [~hidden(at[i : i + 1], heads, drums[:i] + drums[i + 1 :])[0].any(axis=1) for i in range(2)]
        )
        coverage = cover(at, [kind.bands[0]] * 2, heads, seen)
        serves = coverage.serving()
        assert seen[serves, np.arange(6)].all()
        assert solution.figures.margin_m == pytest.approx(coverage.margin_m[serves, np.arange(6)].min())
        if solution.aim.name == "tolerance":
            assert solution.value <= solution.figures.spare_m + 1e-9


def seen_all_round(at, radius_m, heads, solids):
    """(places, heads): who is seen from every place of a ball, told by many places on its skin and inside."""
    dice = np.random.default_rng(1)
    ways = dice.normal(size=(800, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    ways *= (radius_m + 0.02) * np.repeat([1.0, 1.0, 0.8, 0.5], 200)[:, None]
    balls = (at[:, None] + ways).reshape(-1, 3)
    clear = ~hidden(balls, heads, solids).any(axis=2)
    return clear.reshape(len(at), len(ways), -1).all(axis=1)


@pytest.mark.thorough
@settings(max_examples=6, deadline=None)
@given(rooms(), st.integers(2, 3), st.integers(0, 10_000))
def test_no_lattice_beats_the_bounds_with_sight_in_them(heads, count, seed):
    dice = np.random.default_rng(seed)
    at = dice.uniform((1, 0.5, 1.9), (6, 3.5, 2.2), (4, 3))
    solids = (
        *(Box(tuple(middle), (0.9, 0.3, 0.8), float(dice.uniform(0, 90))) for middle in at[:2]),
        *(Cylinder(tuple(middle), 0.15, 1.2) for middle in at[2:]),
    )
    kind = dataclasses.replace(KIND, blockers=solids)
    problem = ArrangementProblem(heads, (kind,))
    answer = arrange(problem, Wish((Margin(), Tolerance(), Most())), count)
    axes = [np.arange(low, high + 1e-9, 0.45) for low, high in zip(BOX.low_m, BOX.high_m, strict=True)]
    at = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 3)
    at = at[pillar(at) >= 0]
    seen = ~hidden(at, heads, solids).any(axis=2)
    margins = np.concatenate([cover(at, [band] * len(at), heads).margin_m for band in BANDS])
    margins[~np.tile(seen, (len(BANDS), 1))] = -1000
    bound = bound_of(answer)
    assert smallest_cover(margins >= max(bound, -100) + 1e-6, total=count).at_least > count
    ball = answer.by_aim["tolerance"]
    if ball.bound_score == -math.inf:
        # where not everybody can be covered there is no ball in which everybody is
        assert bound < 0
    elif ball.bound_score is not None:
        spare = np.tile(pillar(at), len(BANDS))[:, None]
        wide = np.minimum(margins, spare) >= ball.bound_score + 1e-6
        wide &= np.tile(seen_all_round(at, ball.bound_score, heads, solids), (len(BANDS), 1))
        assert smallest_cover(wide, total=count).at_least > count
        if ball.outcome == "certified":
            assert ball.bound_score <= bound + 0.0011
    most = answer.by_aim["most"]
    rival = largest_cover(margins >= 0, np.arange(len(heads)), np.ones(len(heads)), count)
    assert most.bound >= sum(rival.counted) - 1e-9
    if most.outcome == "certified":
        assert most.value == most.bound
    for solution in answer.by_aim.values():
        if not solution.positions:
            continue
        # who serves is who sees, and what is told of it is so
        places = np.array([place.at_m for place in solution.positions])
        clear = ~hidden(places, heads, solids).any(axis=2)
        own = cover(places, [BANDS[place.band] for place in solution.positions], heads, clear)
        serves = own.serving()
        each = np.arange(len(heads))
        covered = (own.margin_m[serves, each] >= -1e-9) & clear[serves, each]
        assert solution.figures.covered == covered.sum()
        if solution.aim.name != "most":
            assert clear[serves, each].all()
        assert (pillar(places) >= -1e-9).all()


def test_the_ball_of_two_keeps_from_rules_and_lines_too():
    heads = two_tables()
    wall = Constraint(("wall",), lambda at: at[:, 1] - 1.3)
    lid = Constraint(("lid",), lambda at: 2.6 - at[:, 2], stop=True)
    kind = ArrayKind(BANDS, BOX, (wall, lid), (COLUMN,))
    answer = arrange(ArrangementProblem(heads, (kind,)), Wish((Tolerance(), Margin())), 2)
    ball = answer.solution
    assert ball.outcome == "certified"
    assert ball.value == pytest.approx(min(ball.figures.margin_m, ball.figures.spare_m))
    for stand in answer.stands:
        assert wall.signed_m(np.array([stand.position.at_m]))[0] >= ball.value
    assert ball.figures.margin_m <= best_of(answer) + 1e-9


def test_who_cannot_be_covered_is_left_out_of_the_most():
    heads = two_tables()
    far = Heads.at(np.concatenate([heads.at_m, [[20.0, 2, 1.2], [20.4, 2, 1.2]]]), sway_m=0.05)
    kind = ArrayKind(BANDS, SearchBox((0.3, 0.3, 1.8), (21, 3.7, 2.6)))
    answer = arrange(ArrangementProblem(far, (kind,)), Wish((Near(),), Most()), 2)
    assert answer.taken == "most"
    assert answer.gave_way.asked == "near"
    most = answer.solution
    assert (most.value, most.bound) == (8, 8)
    assert most.outcome == "certified"
    # weighed heavily the eight are taken, and the far ones left
    weighty = dataclasses.replace(far, weight=np.array([9.0] * 8 + [1.0, 1.0]))
    most = arrange(ArrangementProblem(weighty, (kind,)), Wish((Most(),)), 2).solution
    assert (most.value, most.bound) == (72, 72)
    assert 72 * RANK_M < most.score < 72 * RANK_M + 3


def test_one_person_with_two_heads_counts_once_and_with_both():
    heads = two_tables()
    both = Heads.at(np.concatenate([heads.at_m[:4], [[12.0, 2, 1.2]]]), sway_m=0.05)
    both = dataclasses.replace(both, person=np.array([0, 1, 2, 3, 3]))
    kind = ArrayKind(BANDS, SearchBox((0.3, 0.3, 1.8), (13, 3.7, 2.6)))
    one = arrange(ArrangementProblem(both, (kind,)), Wish((Most(),)), 1).solution
    assert (one.value, one.bound) == (3, 3)
    two = arrange(ArrangementProblem(both, (kind,)), Wish((Most(),)), 2).solution
    assert (two.value, two.bound) == (4, 4)


def test_where_nobody_can_be_covered_the_most_is_nobody():
    nobody = Heads.at(np.array([[0.5, 2, 1.2], [12.5, 2, 1.2]]), sway_m=0.05)
    kind = ArrayKind(BANDS, SearchBox((6.3, 1.9, 1.8), (6.7, 2.1, 2.6)))
    most = arrange(ArrangementProblem(nobody, (kind,)), Wish((Most(),)), 2).solution
    assert (most.outcome, most.positions) == ("unresolved", ())


def over_the_middle(at):
    return 0.9 - np.abs(at[:, 1] - 2.0)


def spared(at):
    return np.hypot(at[:, 0] - 3.3, at[:, 1] - 2.1) - 0.7


def test_what_was_proven_with_fewer_demands_gives_the_same_with_more():
    dice = np.random.default_rng(5)
    heads = Heads.at(
        np.column_stack([dice.uniform((0.8, 0.8), (6.2, 3.2), (5, 2)), np.full(5, 1.2)]), sway_m=0.1
    )
    eased = ArrayKind(BANDS, BOX, (Constraint(("free",), spared),))
    bound = dataclasses.replace(
        eased, constraints=(*eased.constraints, Constraint(("over",), over_the_middle))
    )
    before = ArrangementProblem(heads, (eased,))
    wish = Wish((Margin(),), Margin())
    free = arrange(before, wish, 2)
    remembered = arrange(ArrangementProblem(heads, (bound,), eased=before), wish, 2)
    anew = arrange(ArrangementProblem(heads, (bound,)), wish, 2)
    assert bound_of(remembered) <= bound_of(free) + 1e-9
    assert bound_of(remembered) >= best_of(anew) - 1e-9
    assert bound_of(anew) >= best_of(remembered) - 1e-9
    assert proven(free)
    assert proven(remembered)
    # asked again it is known
    again = arrange(before, wish, 2)
    assert (again.rounds, bound_of(again)) == (0, pytest.approx(bound_of(free), abs=1e-9))
