"""Arrays kept clear of each other: never side by side closer than asked, and never better than the bound."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arrangement import arrange
from geometry.band import Band
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, cover
from geometry.together import Kit, Spot, Together, come_closer, settle

BANDS = (Band(15, 45, 0.8, 2.6), Band(40, 75, 0.8, 2.6))
BOX = SearchBox((0.3, 0.3, 1.8), (3.7, 3.7, 2.5))
APART_M = 0.8


def between(kit, others):
    """Every two arrays keep APART_M from each other on plan and in height together."""
    at = np.array([place for _, place in others])
    return [
        Constraint(
            ("apart",),
            lambda here: np.linalg.norm(here[:, None] - at[None], axis=2).min(axis=1) - APART_M,
        )
    ]


def ring(count=6, radius=0.6, sway=0.05):
    turn = np.arange(count) * 2 * math.pi / count
    at = np.column_stack(
        [2 + radius * np.cos(turn), 2 + radius * np.sin(turn), 1.2 + 0.02 * np.arange(count)]
    )
    return Heads.at(at, sway_m=sway)


def distances(answer):
    at = [np.array(stand.place.at_m) for stand in answer.stands]
    return [float(np.linalg.norm(a - b)) for a, b in itertools.combinations(at, 2)]


def test_spare_arrays_do_not_land_on_the_same_spot():
    one = ring(count=1)
    kits = [Kit(BANDS, BOX)]
    loose = arrange(one, kits, count=3, aim="tolerance")
    assert min(distances(loose)) < APART_M  # without the rule they would
    for aim in ("tolerance", "near", "centre"):
        kept = arrange(one, kits, count=3, aim=aim, between=between)
        assert kept.apart
        assert len(kept.stands) == 3
        assert min(distances(kept)) >= APART_M - 1e-9
    assert kept.best_margin_m == pytest.approx(loose.best_margin_m, abs=0.001)  # and it costs nothing


def test_two_that_want_the_same_place_are_parted_and_little_is_lost():
    # two halves of one ring, each served best from about its middle by a steep band
    heads = ring(count=6, radius=0.35)
    kits = [Kit((Band(40, 75, 0.8, 2.6),), BOX)]
    answer = arrange(heads, kits, count=2, aim="tolerance", between=between)
    assert answer.apart
    assert min(distances(answer)) >= APART_M - 1e-9
    assert answer.bound_m >= answer.best_margin_m
    assert answer.margin_proven == (answer.bound_m - answer.best_margin_m <= 0.001)
    # pairs of a lattice that keep the distance: none is better by much
    steps = np.linspace(1.0, 3.0, 9)
    lattice = np.array([(x, y, z) for x in steps for y in steps for z in (2.0, 2.2, 2.4)])
    margins = cover(lattice, list(kits[0].bands) * len(lattice), heads).margin_m
    far = np.linalg.norm(lattice[:, None] - lattice[None], axis=2) >= APART_M
    best = max(float(np.maximum(margins[i], margins[far[i]]).min(axis=1).max()) for i in range(len(lattice)))
    assert answer.best_margin_m >= best - 0.02


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.5, 3.5), st.floats(0.5, 3.5)), min_size=2, max_size=7),
    st.integers(2, 3),
    st.sampled_from(["near", "tolerance", "centre"]),
)
def test_whatever_is_found_keeps_apart_and_never_beats_its_bound(spots, count, aim):
    heads = Heads.at(np.array([(x, y, 1.2) for x, y in spots]), sway_m=0.05)
    answer = arrange(heads, [Kit(BANDS, BOX)], count=count, aim=aim, also=("near", "centre"), between=between)
    assert answer.apart
    assert min(distances(answer)) >= APART_M - 1e-9
    assert answer.best_margin_m <= answer.bound_m + 1e-12
    if answer.margin_proven:
        assert answer.gap_m <= 0.001
    for found in answer.by_aim.values():
        at = np.array([spot.at for spot in found.spots]).reshape(-1, 3)
        for a, b in itertools.combinations(at, 2):
            assert np.linalg.norm(a - b) >= APART_M - 1e-9


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["near", "centre"]))
def test_no_places_for_the_same_groups_beat_the_bound_of_an_aim(seed, aim):
    rng = np.random.default_rng(seed)
    heads = Heads.at(np.column_stack([rng.uniform(0.8, 3.2, (5, 2)), np.full(5, 1.2)]), sway_m=0.05)
    kits = (Kit(BANDS, BOX, count=2),)
    start = arrange(heads, kits, count=2, aim="tolerance", between=between)
    question = Together(heads, kits, between)
    spots = [Spot(0, stand.place.band, np.array(stand.place.at_m)) for stand in start.stands]
    found = come_closer(question, spots, aim, 0.05)
    if found.bound is None:
        return
    owner = question.owners(found.spots)
    at = rng.uniform(BOX.low_m, BOX.high_m, (4000, 3))
    each = []
    for i in np.unique(owner):
        own = heads.take(np.flatnonzero(owner == i))
        values = []
        for band in BANDS:
            judged = cover(at, [band] * len(at), own)
            fit = judged.margin_m.min(axis=1) >= (0.05 if aim == "near" else 0.0)
            if fit.any():
                slants, off = judged.slant_m[fit].max(axis=1), judged.off_centre_deg[fit]
                values.append(slants.min() if aim == "near" else (off * off).sum(axis=1).min())
        each.append(min(values, default=math.inf))
    best = max(each) if aim == "near" else math.sqrt(sum(each) / len(heads))
    assert -found.bound <= best + 1e-9


def test_arrays_that_cannot_move_are_told_to_be_too_near():
    kits = [Kit(BANDS, SearchBox(at, at), count=1) for at in ((2.0, 2.0, 2.2), (2.0, 2.0 + APART_M / 2, 2.2))]
    answer = arrange(ring(), kits, aim="near", between=between)
    assert not answer.apart
    assert not answer.margin_proven
    assert len(answer.stands) == 2


def test_no_more_arrays_than_have_room():
    small = SearchBox((1.9, 1.9, 2.1), (2.1, 2.1, 2.3))
    answer = arrange(ring(), [Kit(BANDS, small)], count=3, between=between)
    assert len(answer.stands) == 1
    assert answer.apart


def test_what_is_clear_already_is_left_alone():
    question = Together(ring(), (Kit(BANDS, BOX),), between)
    spots = [Spot(0, 0, np.array([1.0, 2.0, 2.2])), Spot(0, 0, np.array([3.0, 2.0, 2.2]))]
    moved = settle(question, spots)
    assert all(a is b for a, b in zip(moved, spots, strict=True))


@pytest.mark.parametrize(
    ("bands", "spots"),
    [
        # one array serves all of them best: a second one must not be left idle beside it
        ((Band(24, 57, 0.8, 3.2),), [(1.2, 1.2), (2.0, 1.2), (2.9, 1.2), (1.4, 2.8), (2.7, 2.8)]),
        # a wide band, where the array with more margin draws far heads to itself
        ((Band(15, 80, 0.5, 3.6),), [(0.4, 1), (1.2, 1), (2, 1), (2.8, 1), (3.5, 1), (0.5, 3), (2, 3)]),
    ],
)
def test_two_brought_nearer_are_hardly_beaten_by_any_two_of_thousands_of_places(bands, spots):
    """Told against the best of random pairs, each head with the array that gives it more margin."""
    people = Heads.at([(x, y, 1.2) for x, y in spots], sway_m=0.05)
    told = arrange(people, [Kit(bands, BOX)], count=2, aim="near", between=between)
    assert told.aim == "near"
    assert all(stand.heads for stand in told.stands)
    worst = max(stand.place.worst_slant_m for stand in told.stands)
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
