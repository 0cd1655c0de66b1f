from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.pieces import Ring, bays, convex_pieces, hull, is_convex, outside_pieces
from geometry.shapes import Prism
from geometry.sight import crossings

L_SHAPE: Ring = ((0, 0), (6, 0), (6, 2.5), (2.5, 2.5), (2.5, 6), (0, 6))
U_SHAPE: Ring = ((0, 0), (6, 0), (6, 4), (4, 4), (4, 2), (2, 2), (2, 4), (0, 4))
T_SHAPE: Ring = ((0, 0), (2, 0), (2, -3), (4, -3), (4, 0), (6, 0), (6, 2), (0, 2))
NOTCHED: Ring = ((0, 0), (6, 0), (6, 4), (4, 4), (4, 3), (4.5, 3), (4.5, 2), (2, 2), (2, 4), (0, 4))
SHAPES = {"L": L_SHAPE, "U": U_SHAPE, "T": T_SHAPE, "notched": NOTCHED}


@st.composite
def stars(draw: st.DrawFn) -> Ring:
    """Outlines that wind once about the origin, with as many bays as corners allow."""
    count = draw(st.integers(4, 14))
    far = draw(st.lists(st.floats(0.8, 4.0, allow_subnormal=False), min_size=count, max_size=count))
    turns = [2 * math.pi * k / count for k in range(count)]
    return tuple(
        (round(r * math.cos(t), 3), round(r * math.sin(t), 3)) for r, t in zip(far, turns, strict=True)
    )


def union(pieces: tuple[Ring, ...]) -> shapely.Geometry:
    """Their union on a grid: without one GEOS 3.14 loses a piece now and then."""
    return shapely.union_all([shapely.Polygon(piece) for piece in pieces], grid_size=1e-9)


def passes(starts: object, ends: object, pieces: tuple[Ring, ...]) -> list[bool]:
    """Which level lines between plan places (k, 2) meet none of the pieces, one metre high each."""
    solids = [Prism(piece, -0.5, 0.5) for piece in pieces]
    start, end = (
        np.column_stack([np.array(xy, float), np.zeros(len(np.array(xy)))]) for xy in (starts, ends)
    )
    return [not blocked for blocked in crossings(start, end, solids).blocked.any(axis=1).tolist()]


def test_a_convex_room_has_nothing_outside_it_that_a_line_could_meet() -> None:
    assert outside_pieces(((0, 0), (6, 0), (6, 4), (0, 4))) == ()
    assert outside_pieces(((0, 0), (6, 0), (6, 2), (6, 4), (0, 4))) == ()  # a corner on a straight wall


def test_the_notch_of_an_l_is_a_triangle_up_to_the_hull() -> None:
    assert bays(L_SHAPE) == (((6, 2.5), (2.5, 6), (2.5, 2.5)),)
    assert bays(L_SHAPE[::-1]) == bays(L_SHAPE)


def test_a_bay_that_ends_on_the_hulls_edge_stands_by_itself() -> None:
    assert bays(U_SHAPE) == (((4, 4), (2, 4), (2, 2), (4, 2)),)
    assert len(bays(T_SHAPE)) == 2


def test_a_corner_off_a_straight_wall_by_rounding_makes_no_bay() -> None:
    assert bays(((0, 0), (3, 1e-9), (6, 0), (6, 4), (0, 4))) == ()


@pytest.mark.parametrize("name", SHAPES)
def test_no_line_slips_between_two_corners_outside_the_room(name: str) -> None:
    """Every line between two corners, along every seam that there might be: shapely says which are in the room."""
    ring = SHAPES[name]
    room, pieces = shapely.Polygon(ring), outside_pieces(ring)
    pairs = list(itertools.combinations(ring, 2))
    within = [bool(room.covers(shapely.LineString(pair))) for pair in pairs]
    assert passes(*zip(*pairs, strict=True), pieces) == within


@settings(deadline=None)
@given(stars())
def test_the_pieces_outside_are_convex_and_cover_the_hull_less_the_room(ring: Ring) -> None:
    room, pieces = shapely.Polygon(ring), outside_pieces(ring)
    assert all(is_convex(piece) for piece in pieces)
    assert all(Prism(piece, 0.0, 1.0) for piece in pieces)
    out = room.convex_hull.difference(room)
    assert union(pieces).intersection(room).area < 1e-6 if pieces else out.area < 1e-4
    assert out.difference(union(pieces)).area < 1e-4


@settings(deadline=None)
@given(stars(), st.randoms(use_true_random=False))
def test_a_line_is_free_exactly_if_it_stays_in_the_room(ring: Ring, random: object) -> None:
    room, pieces = shapely.Polygon(ring), outside_pieces(ring)
    places = np.random.default_rng(random.randrange(2**32)).uniform(-4, 4, (60, 2))  # type: ignore[attr-defined]
    places = places[shapely.contains_xy(room, places)]
    assume(len(places) >= 2)
    lines = shapely.linestrings(np.stack([places[:-1], places[1:]], axis=1))
    out = shapely.length(shapely.difference(lines, room)) > 1e-5
    within = shapely.covers(room.buffer(-1e-6), lines)
    free = np.array(passes(places[:-1], places[1:], pieces))
    assert not free[out].any()
    assert free[within].all()


@settings(deadline=None)
@given(stars())
def test_the_pieces_of_an_area_are_convex_and_overlap_where_they_meet(ring: Ring) -> None:
    pieces = convex_pieces(ring)
    assert all(is_convex(piece) for piece in pieces)
    assert union(pieces).symmetric_difference(shapely.Polygon(ring)).area < 1e-9
    # what is taken in by a hair all round leaves no seam: nothing but the outline's own hair is missing
    hair = shapely.union_all([shapely.Polygon(piece).buffer(-1e-5, join_style="mitre") for piece in pieces])
    inner = shapely.Polygon(ring).buffer(-0.02)
    assert inner.difference(hair).area < 1e-9


def test_a_hull_leaves_out_what_is_inside_or_on_an_edge() -> None:
    assert hull([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2), (1, 1)]) == ((0, 0), (2, 0), (2, 2), (0, 2))
