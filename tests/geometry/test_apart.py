"""Arrays kept clear of each other: never side by side closer than asked, and never better than the bound."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import Centre, Margin, Near, Tolerance
from geometry.apart import settle
from geometry.band import Band
from geometry.constraint import SearchBox
from geometry.coverage import Heads, cover
from geometry.kind import ArrayKind, Position
from geometry.problem import ArrangementProblem
from tests.geometry.apart_rooms import APART_M, BANDS, BOX, arranged, between, ring


def distances(answer):
    at = [np.array(stand.position.at_m) for stand in answer.stands]
    return [float(np.linalg.norm(a - b)) for a, b in itertools.combinations(at, 2)]


def test_spare_arrays_do_not_land_on_the_same_spot():
    one = ring(count=1)
    kinds = [ArrayKind(BANDS, BOX)]
    loose = arranged(one, kinds, count=3)
    assert min(distances(loose)) < APART_M  # without the rule they would
    for aim in (Margin(), Tolerance(), Near(), Centre()):
        kept = arranged(one, kinds, count=3, aim=aim, between=between)
        assert kept.taken == aim.name
        assert kept.apart
        assert len(kept.stands) == 3
        assert min(distances(kept)) >= APART_M - 1e-9
        # and it costs no margin
        found, free = kept.margin.figures, loose.margin.figures
        assert found.margin_m == pytest.approx(free.margin_m, abs=0.001)


def test_two_that_want_the_same_place_are_parted_and_little_is_lost():
    # two halves of one ring, each served best from about its middle by a steep band
    heads = ring(count=6, radius=0.35)
    kinds = [ArrayKind((Band(37, 83, 0.8, 2.6),), BOX)]
    answer = arranged(heads, kinds, count=2, between=between)
    assert answer.apart
    assert min(distances(answer)) >= APART_M - 1e-9
    gap = answer.margin.bound_score - answer.margin.figures.margin_m
    assert gap >= 0
    assert (answer.margin.outcome == "certified") == (gap <= 0.001)
    # pairs of a lattice that keep the distance: none is better by much
    steps = np.linspace(1.0, 3.0, 9)
    lattice = np.array([(x, y, z) for x in steps for y in steps for z in (2.0, 2.2, 2.4)])
    margins = cover(lattice, list(kinds[0].bands) * len(lattice), heads).margin_m
    far = np.linalg.norm(lattice[:, None] - lattice[None], axis=2) >= APART_M
    best = max(float(np.maximum(margins[i], margins[far[i]]).min(axis=1).max()) for i in range(len(lattice)))
    assert answer.margin.figures.margin_m >= best - 0.02


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.5, 3.5), st.floats(0.5, 3.5)), min_size=2, max_size=7),
    st.integers(2, 3),
    st.sampled_from([Near(), Margin(), Tolerance(), Centre()]),
)
def test_whatever_is_found_keeps_apart_and_never_beats_its_bound(spots, count, aim):
    heads = Heads.at(np.array([(x, y, 1.2) for x, y in spots]), sway_m=0.05)
    answer = arranged(heads, [ArrayKind(BANDS, BOX)], count, aim, between, also=(Near(), Centre()))
    assert answer.apart
    assert min(distances(answer)) >= APART_M - 1e-9
    assert answer.margin.figures.margin_m <= answer.margin.bound_score + 1e-12
    if answer.margin.outcome == "certified":
        assert answer.margin.gap <= 0.001
    for found in answer.by_aim.values():
        at = np.array([place.at_m for place in found.positions]).reshape(-1, 3)
        for a, b in itertools.combinations(at, 2):
            assert np.linalg.norm(a - b) >= APART_M - 1e-9


def test_arrays_that_cannot_move_are_told_to_be_too_near():
    kinds = [
        ArrayKind(BANDS, SearchBox(at, at), count=1)
        for at in ((2.0, 2.0, 2.2), (2.0, 2.0 + APART_M / 2, 2.2))
    ]
    answer = arranged(ring(), kinds, aim=Near(), between=between)
    assert not answer.apart
    assert answer.margin.outcome != "certified"
    assert len(answer.stands) == 2


def test_no_more_arrays_than_have_room():
    small = SearchBox((1.9, 1.9, 2.1), (2.1, 2.1, 2.3))
    answer = arranged(ring(), [ArrayKind(BANDS, small)], count=3, between=between)
    assert len(answer.stands) == 1
    assert answer.apart


def test_what_is_clear_already_is_left_alone():
    problem = ArrangementProblem(ring(), (ArrayKind(BANDS, BOX),), between)
    spots = [Position((1.0, 2.0, 2.2), 0), Position((3.0, 2.0, 2.2), 0)]
    moved = settle(problem, spots, Margin())
    assert all(a is b for a, b in zip(moved, spots, strict=True))


def test_a_score_that_is_enough_ends_the_search_for_places_apart():
    problem = ArrangementProblem(ring(), (ArrayKind(BANDS, BOX),), between)
    spots = [Position((2.0, 2.0, 2.2), 0), Position((2.0, 2.1, 2.2), 0)]
    best = settle(problem, spots, Margin())
    asked = len(problem.memory)
    again = ArrangementProblem(ring(), (ArrayKind(BANDS, BOX),), between)
    enough = problem.score(best, Margin()) - 0.05
    soon = settle(again, spots, Margin(), enough)
    assert not again.in_conflict(soon)
    assert again.score(soon, Margin()) >= enough
    assert len(again.memory) < asked
