"""Several arrays brought nearer or more central: hardly beaten, and never better than what is proven."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import Centre, Near
from geometry.band import Band
from geometry.by_aim import come_closer
from geometry.coverage import Heads, cover
from geometry.kind import ArrayKind
from geometry.problem import ArrangementProblem
from tests.geometry.apart_rooms import APART_M, BANDS, BOX, arranged, between


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([Near(0.05), Centre()]))
def test_no_places_for_the_same_groups_beat_the_bound_of_an_aim(seed, aim):
    rng = np.random.default_rng(seed)
    heads = Heads.at(np.column_stack([rng.uniform(0.8, 3.2, (5, 2)), np.full(5, 1.2)]), sway_m=0.05)
    kinds = (ArrayKind(BANDS, BOX, count=2),)
    start = arranged(heads, kinds, count=2, between=between)
    problem = ArrangementProblem(heads, kinds, between)
    found = come_closer(problem, [stand.position for stand in start.stands], aim)
    if found.bound is None:
        return
    assert found.for_groups
    owner = problem.owners(found.positions)
    near = aim.name == "near"
    at = rng.uniform(BOX.low_m, BOX.high_m, (4000, 3))
    each = []
    for i in np.unique(owner):
        own = heads.take(np.flatnonzero(owner == i))
        values = []
        for band in BANDS:
            judged = cover(at, [band] * len(at), own)
            fit = judged.margin_m.min(axis=1) >= aim.needs_margin_m
            if fit.any():
                slants, off = judged.slant_m[fit].max(axis=1), judged.off_centre_deg[fit]
                values.append(slants.min() if near else (off * off).sum(axis=1).min())
        each.append(min(values, default=math.inf))
    best = max(each) if near else math.sqrt(sum(each) / len(heads))
    assert found.bound <= best + 1e-9


@pytest.mark.parametrize(
    ("bands", "spots"),
    [
        # one array serves all of them best: a second one must not be left idle beside it
        ((Band(21, 66, 0.8, 3.2),), [(1.2, 1.2), (2.0, 1.2), (2.9, 1.2), (1.4, 2.8), (2.7, 2.8)]),
        # a wide band, where the array with more margin draws far heads to itself
        ((Band(15, 80, 0.5, 3.6),), [(0.4, 1), (1.2, 1), (2, 1), (2.8, 1), (3.5, 1), (0.5, 3), (2, 3)]),
    ],
)
def test_two_brought_nearer_are_hardly_beaten_by_any_two_of_thousands_of_places(bands, spots):
    """Told against the best of random pairs, each head with the array that gives it more margin."""
    people = Heads.at([(x, y, 1.2) for x, y in spots], sway_m=0.05)
    told = arranged(people, [ArrayKind(bands, BOX)], count=2, aim=Near(), between=between)
    assert told.taken == "near"
    assert all(stand.heads for stand in told.stands)
    worst = told.solution.figures.worst_slant_m
    draw = np.random.default_rng(3)
    at = np.array(BOX.low_m) + draw.random((900, 3)) * (np.array(BOX.high_m) - BOX.low_m)
    margin = cover(at, [bands[0]] * len(at), people).margin_m
    slant = np.linalg.norm(at[:, None] - people.at_m[None], axis=2)
    first, second = np.triu_indices(len(at), 1)
    clear = np.linalg.norm(at[first] - at[second], axis=1) >= APART_M
    first, second = first[clear], second[clear]
    enough = np.maximum(margin[first], margin[second]).min(axis=1) >= 0.1
    first, second = first[enough], second[enough]
    served = np.where(margin[first] >= margin[second], slant[first], slant[second]).max(axis=1)
    assert worst <= served.min() + 0.02
