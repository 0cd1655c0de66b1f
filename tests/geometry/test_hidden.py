"""Whole mouth ranges and whole legs past solids, against many single lines."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from geometry.coverage import Heads
from geometry.first_met import first_met
from geometry.shapes import Blocker, Box, Cylinder, Prism
from geometry.sight import crossings, hidden

FINE = 41
"""Mouths asked along a leg and up a range, where single lines stand for all of them."""


def finite(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers to the micrometre: under it a line that grazes is met or not by the last bit of a sine."""
    return st.floats(low, high, allow_subnormal=False).map(lambda number: round(number, 6))


def leg(
    start: tuple[float, float],
    end: tuple[float, float],
    mouth: tuple[float, float],
    *more: tuple[float, float],
) -> Heads:
    """One head that walks from start to end and on over `more`."""
    way = np.array([start, end, *more], float)
    rows = len(way) - 1
    return Heads(
        at_m=np.array([[*start, sum(mouth) / 2]]),
        sway_m=np.zeros(1),
        xy_m=way[:-1],
        to_m=way[1:],
        low_m=np.full(rows, mouth[0]),
        high_m=np.full(rows, mouth[1]),
        start=np.zeros(1, np.int64),
    )


spots = st.tuples(finite(-3, 3), finite(-3, 3))
ranges = st.tuples(finite(0.8, 1.4), finite(0, 0.5)).map(lambda pair: (pair[0], pair[0] + pair[1]))
heads = st.one_of(
    st.builds(lambda at, mouth: leg(at, at, mouth), spots, ranges),
    st.builds(leg, spots, spots, ranges),
    st.builds(lambda a, b, c, mouth: leg(a, b, mouth, c), spots, spots, spots, ranges),
)
places = st.tuples(finite(-1.5, 1.5), finite(-1.5, 1.5), finite(0.5, 2.4))
sizes = finite(0.05, 1.5)


@st.composite
def prisms(draw: st.DrawFn) -> Prism:
    turns = sorted(draw(st.lists(st.integers(0, 23), min_size=3, max_size=7, unique=True)))
    x, y, low = draw(places)
    far, tall = draw(sizes), draw(sizes)
    ring = tuple((x + far * math.cos(math.pi * k / 12), y + far * math.sin(math.pi * k / 12)) for k in turns)
    return Prism(ring, low - 0.5, low - 0.5 + tall)


solids: st.SearchStrategy[Blocker] = st.one_of(
    st.builds(Box, places, st.tuples(sizes, sizes, sizes), finite(-180, 180)),
    st.builds(Cylinder, places, finite(0.05, 0.8), sizes),
    prisms(),
)
arrays = st.tuples(finite(-2, 2), finite(-2, 2), finite(1.0, 2.6))


def all_mouths(head: Heads) -> np.ndarray:
    shares, found = np.linspace(0, 1, FINE), []
    for row in range(len(head.xy_m)):
        plan = head.xy_m[row] + shares[:, None] * (head.to_m[row] - head.xy_m[row])
        heights = np.linspace(head.low_m[row], head.high_m[row], FINE)
        found.append(np.column_stack([np.repeat(plan, FINE, axis=0), np.tile(heights, FINE)]))
    return np.concatenate(found)


def line_by_line(at: tuple[float, float, float], head: Heads, solid: Blocker) -> tuple[bool, float]:
    mouths = all_mouths(head)
    met = crossings(np.tile(at, (len(mouths), 1)), mouths, [solid])
    way = np.where(met.blocked[:, 0], met.enter[:, 0] * met.length_m, np.inf)
    return bool(met.blocked.any()), float(way.min())


@settings(max_examples=300, deadline=None)
@given(arrays, heads, solids)
def test_a_head_is_hidden_if_any_line_is_blocked_and_then_one_can_be_shown(
    at: tuple[float, float, float], head: Heads, solid: Blocker
) -> None:
    found = bool(hidden(at, head, [solid])[0, 0, 0])
    some, way_m = line_by_line(at, head, solid)
    assert found or not some
    [met] = first_met(np.array(at), head, [solid])
    assert (met is not None) == found
    if met is None:
        return
    # the mouth shown is one of the head's, and its line runs through the solid
    there = crossings([at], [met.mouth_m], [solid])
    assert there.blocked[0, 0] or not some
    along = [
        np.abs(np.cross(np.append(to - xy, 0), np.append(met.mouth_m[:2] - xy, 0))).max()
        for xy, to in zip(head.xy_m, head.to_m, strict=True)
    ]
    assert min(along) < 1e-6
    assert head.low_m.min() - 1e-9 <= met.mouth_m[2] <= head.high_m.max() + 1e-9
    # nothing of the fine lines is met much sooner than what is shown; right above a walk lines have every direction
    if min(aside_m(at, xy, to) for xy, to in zip(head.xy_m, head.to_m, strict=True)) > 0.3:
        assert met.way_m <= way_m + 0.1


def aside_m(at: tuple[float, float, float], start: np.ndarray, end: np.ndarray) -> float:
    """How far on plan a place is from a leg."""
    return float(LineString([start, end]).distance(Point(at[:2])))


def test_a_cable_between_two_places_of_a_walk_is_not_missed() -> None:
    """8 mm of cable before a leg of 3 m: mouths every 7 cm see past it on both sides."""
    walk = leg((-1.5, 2.0), (1.5, 2.0), (1.4, 1.7))
    cable = Cylinder((0.019, 1.0, 2.0), 0.004, 2.0)
    at = (0.0, 0.0, 2.2)
    assert not line_by_line(at, walk, cable)[0]
    assert hidden(at, walk, [cable]).all()
    [met] = first_met(np.array(at), walk, [cable])
    assert met is not None
    assert crossings([at], [met.mouth_m], [cable]).blocked.all()
    assert met.mouth_m[0] == pytest.approx(0.038, abs=0.01)  # twice as far as the cable


def test_a_shelf_between_two_mouths_of_a_range_is_not_missed() -> None:
    """A shelf 5 mm thick half way, before a range of 0.3 m whose lines there are 0.15 m apart at the ends."""
    seat = leg((2.0, 0.0), (2.0, 0.0), (1.0, 1.3))
    shelf = Box((1.0, 0.0, 1.66), (0.05, 0.4, 0.005))
    at = (0.0, 0.0, 2.1)
    ends = [(2.0, 0.0, z) for z in (1.0, 1.15, 1.3)]
    assert not crossings([at] * 3, ends, [shelf]).blocked.any()
    assert hidden(at, seat, [shelf]).all()


def test_what_only_touches_the_lines_hides_nobody() -> None:
    seat = leg((2.0, 0.0), (2.0, 0.0), (1.0, 1.4))
    at = (0.0, 0.0, 2.0)
    # its lowest line is half way at 1.5 m, its highest at 1.7 m; beside them stands a face on plan
    for solid in (
        Box((1.0, 0.5, 1.0), (1.0, 1.0, 2.0)),
        Box((1.0, 0.0, 0.75), (1e-12, 1.0, 1.5)),
        Prism(((0.0, 0.0), (2.0, 0.0), (1.0, 1.0)), 0.0, 3.0),
    ):
        assert not hidden(at, seat, [solid]).any()
        assert first_met(np.array(at), seat, [solid]) == (None,)


def test_hidden_takes_many_places_and_heads_and_says_which() -> None:
    both = Heads.at([[2.0, 0.0, 1.2], [-2.0, 0.0, 1.2]], half_range_m=0.1)
    post = Cylinder((1.0, 0.0, 1.5), 0.1, 3.0)
    found = hidden([[0, 0, 2.2], [1.5, 0, 2.2]], both, [post, Box((5, 5, 1), (1, 1, 1))])
    assert found.shape == (2, 2, 2)
    assert found[..., 0].tolist() == [[True, False], [False, True]]
    assert not found[..., 1].any()
