"""Covers by few sets against enumeration: never more than needed, never fewer persons than can be held."""

import itertools
import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.set_cover import largest_cover, maximal_sets, smallest_cover


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


@settings(max_examples=100, deadline=None)
@given(set_families(), st.integers(1, 3), st.integers(0, 10_000))
def test_the_largest_cover_holds_as_much_as_enumeration_finds(family, total, seed):
    sets, kind, most = family
    dice = np.random.default_rng(seed)
    person = dice.integers(0, 4, sets.shape[1])
    _, person = np.unique(person, return_inverse=True)
    weight = dice.choice([1.0, 3.0], int(person.max()) + 1)

    def held(chosen):
        inside = sets[list(chosen)].any(axis=0) if chosen else np.zeros(sets.shape[1], bool)
        return sum(w for p, w in enumerate(weight) if inside[person == p].all())

    best = 0.0
    for size in range(total + 1):
        for chosen in itertools.combinations(range(len(sets)), size):
            used = np.bincount(kind[list(chosen)], minlength=2)
            if all(m is None or used[k] <= m for k, m in enumerate(most)):
                best = max(best, held(chosen))
    found = largest_cover(sets, person, weight, total, kind, most)
    assert found.at_most >= best - 1e-6
    assert held(found.chosen.tolist()) == best
    assert sum(w for p, w in enumerate(weight) if found.counted[person == p].all()) == best
