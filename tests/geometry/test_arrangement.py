"""Several arrays: covers against enumeration, counts and bounds against what anybody else finds."""

import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arrangement import Thoroughness, arrange, maximal_sets, smallest_cover
from geometry.band import Band, pair_slack
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, cover
from geometry.placement import search
from geometry.together import Kit

BANDS = (Band(15, 45, 1, 3), Band(40, 70, 1, 3))
BOX = SearchBox((0.3, 0.3, 1.8), (6.7, 3.7, 2.6))


def sets_of(draw, elements, count):
    return np.array(
        draw(
            st.lists(
                st.lists(st.booleans(), min_size=elements, max_size=elements), min_size=1, max_size=count
            )
        )
    )


@st.composite
def set_families(draw):
    sets = sets_of(draw, draw(st.integers(1, 7)), 9)
    kind = np.array(draw(st.lists(st.integers(0, 1), min_size=len(sets), max_size=len(sets))), np.int64)
    return sets, kind, (draw(st.none() | st.integers(1, 2)), draw(st.none() | st.integers(1, 2)))


def smallest_by_enumeration(sets, kind, most):
    for size in range(1, len(sets) + 1):
        for chosen in itertools.combinations(range(len(sets)), size):
            some = list(chosen)
            used = np.bincount(kind[some], minlength=2)
            if sets[some].any(axis=0).all() and all(m is None or used[k] <= m for k, m in enumerate(most)):
                return size
    return math.inf


@settings(max_examples=100, deadline=None)
@given(set_families())
def test_the_cover_is_the_smallest_that_enumeration_finds(family):
    sets, kind, most = family
    found = smallest_cover(sets, kind, most)
    least = smallest_by_enumeration(sets, kind, most)
    assert found.at_least == least
    if least == math.inf:
        assert found.chosen is None
        return
    assert len(found.chosen) == least
    assert sets[found.chosen].any(axis=0).all()
    # any cover of that many will do when a total is given, and none is found with one less
    assert sets[smallest_cover(sets, kind, most, total=int(least)).chosen].any(axis=0).all()
    assert smallest_cover(sets, kind, most, total=int(least) - 1).at_least > least - 1
    assert smallest_cover(sets, kind, most, relaxed=True).at_least <= least


@settings(max_examples=100, deadline=None)
@given(set_families())
def test_maximal_sets_are_those_in_no_other(family):
    sets, kind, _ = family
    found = set(maximal_sets(sets, kind).tolist())
    for i, one in enumerate(sets):
        larger = [
            j
            for j, other in enumerate(sets)
            if kind[j] == kind[i] and (one <= other).all() and ((one < other).any() or j < i)
        ]
        assert (i in found) == (not larger)


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


KIT = Kit(BANDS, BOX, (Constraint(("pillar",), pillar),))


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


def check_figures(heads, answer, kits=(KIT,)):
    """What is told is so: margins recomputed with the review's own coverage, rules kept, heads shared out."""
    at = np.array([stand.place.at_m for stand in answer.stands])
    seen = cover(at, [kits[s.kit].bands[s.place.band] for s in answer.stands], heads)
    assert answer.margin_m == pytest.approx(seen.margin_m.max(axis=0).min(), abs=1e-9)
    assert answer.margin_m <= answer.bound_m + 1e-9 or answer.unreached
    serving = seen.serving()
    for i, stand in enumerate(answer.stands):
        assert stand.heads == tuple(np.flatnonzero(serving == i).tolist())
        assert stand.covers == tuple(np.flatnonzero(seen.margin_m[i] >= -1e-9).tolist())
        assert all(c.signed_m(at[i : i + 1])[0] >= -1e-9 for c in kits[stand.kit].constraints)
        assert (at[i] >= np.array(kits[stand.kit].box.low_m) - 1e-9).all()
        assert (at[i] <= np.array(kits[stand.kit].box.high_m) + 1e-9).all()
        if stand.heads:
            assert stand.place.margin_m == pytest.approx(seen.margin_m[i][list(stand.heads)].min(), abs=1e-9)
    twice = {h for h in range(len(heads)) if (seen.margin_m[:, h] >= -1e-9).sum() >= 2}
    assert set(answer.twice) == twice


@settings(max_examples=12, deadline=None)
@given(rooms())
def test_no_lattice_covers_with_fewer_arrays_than_are_proven_necessary(heads):
    answer = arrange(heads, [KIT], count="fewest")
    if not answer.stands:
        assert len(answer.unreached) == len(heads)
        return
    check_figures(heads, answer)
    reached = np.setdiff1d(np.arange(len(heads)), answer.unreached)
    margins = lattice_margins(heads)
    assert not (margins[:, list(answer.unreached)] >= 0).any()
    assert answer.best_margin_m >= -1e-9  # everybody who can be covered is
    rival = smallest_cover(margins[:, reached] >= 0)
    assert answer.count_at_least <= rival.at_least
    assert answer.count_at_least <= len(answer.stands)
    if answer.count_proven:
        assert answer.count_at_least == len(answer.stands)


@settings(max_examples=10, deadline=None)
@given(rooms(), st.integers(1, 3))
def test_no_lattice_has_a_larger_margin_than_the_bound(heads, count):
    answer = arrange(heads, [KIT], count=count, aim="tolerance")
    assert len(answer.stands) == count
    check_figures(heads, answer)
    assert answer.margin_m == answer.best_margin_m
    assert answer.margin_proven == (answer.gap_m <= 0.001)
    margins = lattice_margins(heads)
    # any number a lattice cover reaches is at most the bound: ask for a hair more than the bound
    assert smallest_cover(margins >= answer.bound_m + 1e-6, total=count).at_least > count


@settings(max_examples=8, deadline=None)
@given(rooms(most=5), st.integers(0, 3))
def test_a_place_that_only_just_does_is_not_proven_away(heads, twin):
    # one array does with half a millimetre to spare, at one place only: no cell's centre is there
    best = search(heads, KIT.bands, KIT.box, KIT.constraints).place
    if best is None or best.margin_m < 0.001:
        return
    tight = dataclasses.replace(heads, sway_m=heads.sway_m + best.margin_m - 0.0005)
    answer = arrange(tight, [KIT], count="fewest")
    assert answer.count_said == "1, proven"
    # the same twice: two such rooms far apart, in one box
    away = 13.0 + twin
    both = Heads.at(
        np.concatenate([tight.at_m, np.add(tight.at_m, (away, 0, 0))]),
        sway_m=np.tile(tight.sway_m, 2),
        half_range_m=(tight.high_m - tight.low_m)[0] / 2,
    )
    low, high = BOX.low_m, BOX.high_m
    wide = Kit(
        BANDS,
        SearchBox(low, (high[0] + away, high[1], high[2])),
        (Constraint(("pillars",), lambda at: np.minimum(pillar(at), pillar(at - (away, 0, 0)))),),
    )
    answer = arrange(both, [wide], count="fewest")
    assert answer.count_at_least <= 2
    answer = arrange(both, [wide], count=2)
    assert answer.bound_m >= 0.0005 - 1e-6


def two_tables():
    """Two groups of four, 5 m apart: nobody reaches 3 m to both ends of 6 m, so one array each."""
    table = np.array([(x, y, 1.2) for x in (-0.5, 0.5) for y in (-0.6, 0.6)])
    return Heads.at(np.concatenate([np.add(table, (1.2, 2, 0)), np.add(table, (6.2, 2, 0))]), sway_m=0.05)


def test_two_tables_need_two_arrays_and_it_is_proven():
    heads = two_tables()
    answer = arrange(heads, [Kit(BANDS, BOX)], count="fewest", aim="tolerance")
    assert answer.count_said == "2, proven"
    assert sorted(stand.heads for stand in answer.stands) == [(0, 1, 2, 3), (4, 5, 6, 7)]
    assert answer.margin_proven
    # each table alone, certified by the search for one array, is what the pair reaches
    alone = search(heads.take(np.arange(4)), BANDS, BOX).place.margin_m
    assert answer.margin_m == pytest.approx(alone, abs=0.002)


def test_heads_in_conflict_are_parted_and_nobody_else_is():
    # one cell of 90 mm is all there is: whoever stands left needs the array at x <= 0.02, right at x >= 0.07
    reach = math.sqrt(3.0**2 - 1.2**2)
    heads = Heads.at([[0.02 - reach, 0, 1.2], [0.07 + reach, 0, 1.2], [1.5, 1.0, 1.2], [-1.5, 1.0, 1.2]])
    rail = Kit((Band(5, 80, 0.5, 3),), SearchBox((0, 0, 2.4), (0.09, 0, 2.4)))
    answer = arrange(heads, [rail], count="fewest", aim="tolerance")
    assert answer.count_said == "2, proven"
    assert answer.rounds >= 2  # the first cover was one array, and a conflict took it away
    left, right = sorted(stand.place.at_m[0] for stand in answer.stands)
    assert left <= 0.02 + 1e-9
    assert right >= 0.07 - 1e-9


def test_near_comes_closer_and_keeps_enough():
    heads = two_tables()
    far = arrange(heads, [Kit(BANDS, BOX)], count=2, aim="tolerance")
    near = arrange(heads, [Kit(BANDS, BOX)], count=2, aim="near", enough_m=0.1)
    assert near.aim == "near"
    assert near.margin_m >= 0.1 - 1e-9
    assert max(s.place.worst_slant_m for s in near.stands) < max(s.place.worst_slant_m for s in far.stands)
    assert near.best_margin_m == pytest.approx(far.best_margin_m, abs=0.001)
    # a margin that cannot be had: the largest there is, and it is told which aim was taken
    greedy = arrange(heads, [Kit(BANDS, BOX)], count=2, aim="near", enough_m=0.9)
    assert greedy.aim == "tolerance"


def test_one_array_is_the_single_search():
    heads = two_tables().take(np.arange(4))
    answer = arrange(heads, [Kit(BANDS, BOX)], count=1, aim="tolerance")
    found = search(heads, BANDS, BOX)
    assert answer.margin_m == pytest.approx(found.place.margin_m, abs=0.001)
    assert answer.bound_m == pytest.approx(found.bound, abs=0.001)
    assert answer.margin_proven


def test_too_few_arrays_have_a_negative_margin_with_a_bound():
    answer = arrange(two_tables(), [Kit(BANDS, BOX)], count=1)
    assert answer.margin_m < 0
    assert answer.aim == "tolerance"
    assert answer.bound_m < 0  # a proof that one does not do


def test_more_arrays_than_needed_are_all_placed_and_cost_nothing():
    heads = two_tables()
    answer = arrange(heads, [Kit(BANDS, BOX)], count=3, aim="tolerance")
    assert len(answer.stands) == 3
    check_figures(heads, answer, (Kit(BANDS, BOX),))
    assert answer.margin_m >= arrange(heads, [Kit(BANDS, BOX)], count=2, aim="tolerance").margin_m - 0.001


def test_who_is_out_of_reach_is_named_and_left_out_of_the_count():
    heads = two_tables()
    lost = Heads.at(np.concatenate([heads.at_m, [[20, 2, 1.2]]]), sway_m=0.05)
    answer = arrange(lost, [Kit(BANDS, BOX)], count="fewest")
    assert answer.unreached == (8,)
    assert answer.count_said == "2, proven"
    assert answer.margin_m < 0 < answer.best_margin_m
    nobody = arrange(lost.take(np.array([8])), [Kit(BANDS, BOX)], count="fewest")
    assert nobody.stands == ()
    assert nobody.unreached == (0,)


def test_the_limit_is_kept_and_told():
    answer = arrange(two_tables(), [Kit(BANDS, BOX)], count="fewest", limit=1)
    assert answer.over_limit
    assert answer.stands == ()
    assert answer.count_at_least == 2


def test_no_place_allowed_is_an_empty_answer():
    never = Constraint(("never",), lambda at: np.full(len(at), -9.0))
    for count in (2, "fewest"):
        answer = arrange(two_tables(), [Kit(BANDS, BOX, (never,))], count=count)
        assert answer.stands == ()
        assert math.isnan(answer.margin_m)
        assert answer.bound_m == -math.inf


def test_an_array_that_is_fixed_and_another_kind_beside_it():
    heads = two_tables()
    fixed = Kit((BANDS[0],), SearchBox((1.2, 2.0, 2.3), (1.2, 2.0, 2.3)), count=1)
    wide = Kit((Band(10, 80, 0.5, 4),), BOX, count=1)
    answer = arrange(heads, [fixed, wide], aim="tolerance")
    check_figures(heads, answer, (fixed, wide))
    assert [stand.kit for stand in sorted(answer.stands, key=lambda s: s.kit)] == [0, 1]
    kept = next(stand for stand in answer.stands if stand.kit == 0)
    assert kept.place.at_m == (1.2, 2.0, 2.3)
    assert answer.margin_m > 0


def test_held_at_the_ceiling_the_cells_are_flat():
    flat = Kit(BANDS, BOX.holding(z=2.5))
    answer = arrange(two_tables(), [flat], count="fewest", aim="tolerance")
    assert all(stand.place.at_m[2] == 2.5 for stand in answer.stands)
    assert answer.count_proven


def test_without_effort_the_bound_still_holds():
    heads = two_tables()
    lazy = arrange(heads, [KIT], count=2, aim="tolerance", effort=Thoroughness(values=20_000, work=0.0))
    keen = arrange(heads, [KIT], count=2, aim="tolerance")
    assert not lazy.margin_proven
    assert lazy.bound_m >= keen.best_margin_m
    assert lazy.gap_m > keen.gap_m


def test_progress_is_told_round_by_round():
    told = []
    answer = arrange(
        two_tables(), [KIT], count="fewest", progress=lambda what, number: told.append((what, number))
    )
    rounds = [(what, number) for what, number in told if what in ("count", "margin")]
    assert [number for _, number in rounds] == list(range(1, answer.rounds + 1))
    assert rounds[0][0] == "count"
    assert rounds[-1][0] == "margin"
    assert [what for what, _ in told[len(rounds) :]] == ["near"]


def test_the_same_room_gives_the_same_answer():
    first, second = (arrange(two_tables(), [KIT], count=2) for _ in range(2))
    assert first.stands == second.stands
    assert first.bound_m == second.bound_m


def test_mistakes_are_told():
    heads = two_tables()
    with pytest.raises(ValueError, match="1 or more"):
        arrange(heads, [KIT], count=0)
    with pytest.raises(ValueError, match="count of every kit"):
        arrange(heads, [KIT])
    with pytest.raises(ValueError, match="at least one band"):
        Kit((), BOX)
    with pytest.raises(ValueError, match="1 or more, or None"):
        Kit(BANDS, BOX, count=0)
    with pytest.raises(ValueError, match="at least one head"):
        arrange(Heads.at(np.zeros((0, 3))), [KIT], count=1)
