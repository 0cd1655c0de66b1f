"""Arrays on lattice places against going through all of them one by one."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import Margin, Most
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads
from geometry.hearing import UNSEEN_M
from geometry.kind import ArrayKind, Position
from geometry.on_lattice import LatticePlaces
from geometry.patterns import Pattern
from geometry.problem import ArrangementProblem
from tests.geometry.pillar_room import BANDS, apart_by, pillar

BOX = SearchBox((0.3, 0.3, 1.8), (5.3, 3.3, 2.6))
PITCH, ORIGIN, HEIGHTS = (0.9, 0.8), (0.4, 0.5), np.array([1.9, 2.4])
STEPS = np.array([(i, j) for i in range(6) for j in range(4)])
APART_M = 0.85
between = apart_by(APART_M)


def lattice_of(heads, apart=between):
    kind = ArrayKind(BANDS, BOX, (Constraint(("pillar",), pillar),))
    problem = ArrangementProblem(heads, (kind,), apart)
    return LatticePlaces(problem, STEPS, PITCH, ORIGIN, HEIGHTS)


rooms = st.builds(
    lambda spots, sway: Heads.at(spots, sway_m=sway),
    st.lists(
        st.tuples(st.floats(0.5, 5.0), st.floats(0.5, 3.0), st.sampled_from([1.2, 1.5])),
        min_size=2,
        max_size=5,
    ),
    st.sampled_from([0.0, 0.1]),
)


def spots():
    """Every allowed place with each band."""
    for (i, j), z, band in itertools.product(STEPS.tolist(), HEIGHTS.tolist(), range(len(BANDS))):
        at = (ORIGIN[0] + i * PITCH[0], ORIGIN[1] + j * PITCH[1], z)
        if pillar(np.array([at]))[0] >= 0:
            yield Position(at, band)


@settings(max_examples=6, deadline=None)
@given(rooms)
def test_no_pair_of_places_is_better_than_the_best_anywhere(heads):
    lattice = lattice_of(heads, None)
    found = lattice.best_anywhere(2)
    gives = {one: lattice.problem.margins(0, one.band, np.array([one.at_m]))[0] for one in spots()}
    given_m = np.array(list(gives.values()))
    best = max(np.maximum(given_m[k], given_m).min(axis=1).max() for k in range(len(given_m)))
    covered = max((np.maximum(given_m[k], given_m) >= 0).sum(axis=1).max() for k in range(len(given_m)))
    assert found.outcome == "certified"
    assert found.figures.covered == covered
    assert set(found.positions) <= set(gives)
    if best >= 0:
        assert found.score == pytest.approx(best, abs=1e-3)
    assert found.bound_score >= min(best, 0.0)


@settings(max_examples=8, deadline=None)
@given(
    rooms,
    st.tuples(st.floats(1.5, 4.0), st.floats(1.2, 2.4)),
    st.sampled_from([(0.0, 2, 1), (90.0, 2, 1), (0.0, 2, 2), (180.0, 3, 1), (0.0, 1, 1)]),
)
def test_no_row_or_grid_of_places_is_better_than_the_best_of_them(heads, middle, shape):
    along, columns, rows = shape
    lattice = lattice_of(heads)
    found = lattice.best_pattern(Pattern(middle, along, columns, rows))
    best = (-1.0, -math.inf)
    axis = 1 if along == 90 else 0
    of = {tuple(step) for step in STEPS.tolist()}
    pitches = range(1, 6)
    for i, j, s, t, z, band in itertools.product(
        range(6), range(4), pitches, pitches, HEIGHTS.tolist(), range(len(BANDS))
    ):
        cells = [
            (i + c * s, j + r * t) if axis == 0 else (i + r * t, j + c * s)
            for r in range(rows)
            for c in range(columns)
        ]
        at = np.array([(ORIGIN[0] + a * PITCH[0], ORIGIN[1] + b * PITCH[1], z) for a, b in cells])
        off = np.abs((at[:, :2].min(axis=0) + at[:, :2].max(axis=0)) / 2 - middle) / PITCH
        if not set(cells) <= of or (off > 0.5 + 1e-6).any() or (pillar(at) < 0).any():
            continue
        positions = [Position(tuple(place), band) for place in at.tolist()]
        if not lattice.problem.in_conflict(positions):
            figures = lattice.problem.figures(positions)
            best = max(best, (figures.covered, figures.covered_margin_m))
    if best[0] < 0:
        assert not found.positions
        return
    assert found.outcome == "certified"
    figures = found.figures
    assert (figures.covered, figures.covered_margin_m) == pytest.approx(best, abs=1e-9)
    assert not lattice.problem.in_conflict(found.positions)


def test_askew_there_is_no_row_and_nowhere_allowed_is_a_proof():
    lattice = lattice_of(Heads.at([(1.0, 1.0, 1.2)]))
    assert lattice.best_pattern(Pattern((2.0, 2.0), 30.0, 2)) is None
    nowhere = ArrayKind(BANDS, BOX, (Constraint(("no",), lambda at: np.full(len(at), -1.0)),))
    none = LatticePlaces(
        ArrangementProblem(Heads.at([(1.0, 1.0, 1.2)]), (nowhere,)), STEPS, PITCH, ORIGIN, HEIGHTS
    )
    assert none.best_anywhere(2).outcome == "none allowed"
    assert none.best_pattern(Pattern((2.0, 2.0), 0.0, 2)).outcome == "none allowed"
    assert (none.gives == UNSEEN_M).all()


def test_what_is_found_scores_as_every_aim_says():
    lattice = lattice_of(Heads.at([(1.0, 1.0, 1.2), (4.0, 2.0, 1.2)], sway_m=0.05))
    found = lattice.best_anywhere(2)
    problem = lattice.problem
    assert found.score == pytest.approx(problem.score(found.positions, Margin()))
    assert problem.score(found.positions, Most()) == pytest.approx(Most().score(found.figures))
