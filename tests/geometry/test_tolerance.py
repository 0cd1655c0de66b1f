"""Room to move before a head is lost or a constraint fails."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import Margin
from geometry.band import Band, slack
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads
from geometry.kind import ArrayKind
from geometry.placement import search
from geometry.tolerance import (
    DIRECTIONS,
    distance_to_constraint,
    distance_to_loss,
    left_after_tilt_m,
    room_to_move,
)

TABLE = Heads.at(
    [[x, y, 1.2] for x in (-0.75, 0, 0.75) for y in (-0.85, 0.85)], sway_m=0.1, half_range_m=0.08
)
BAND = Band(21, 66, 1, 3)


def margin(at: np.ndarray, band: Band, heads: Heads) -> np.ndarray:
    """(n,) margins by the exact slack, head by head."""
    points, keep, head = heads.deciding(at)
    values = slack(band, np.hypot(*(points[:, :2] - at[:2]).T), at[2] - points[:, 2]) - keep
    return np.array([values[head == i].min() for i in range(len(heads))])


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_first_loss_along_any_ray_is_where_walking_finds_it(seed: int) -> None:
    random = np.random.default_rng(seed)
    low = random.uniform(0, 60)
    band = Band(low, min(low + random.uniform(15, 60), 90), random.uniform(0, 1), random.uniform(2, 4))
    heads = Heads.at(
        random.uniform((-1, -1, 1), (1, 1, 1.5), (4, 3)),
        sway_m=random.uniform(0, 0.1),
        half_range_m=random.uniform(0, 0.1, 4),
    )
    if random.random() < 0.6:
        # two of them walk: past the array as often as not
        to = heads.to_m.copy()
        to[:2] += random.uniform(-2, 2, (2, 2))
        heads = replace(heads, to_m=to)
    at = random.uniform((-1, -1, 1.8), (1, 1, 3))
    way = random.normal(size=3)
    way /= np.linalg.norm(way)
    distance, head = distance_to_loss(at, way, band, heads)
    here = margin(at, band, heads) >= 0
    walked = np.linspace(0, 8, 801)
    lost = np.array([(margin(at + s * way, band, heads) < 0)[here].any() for s in walked])
    if head is None:
        assert not lost.any()
        return
    if lost.any():
        # never later than the walk finds it; earlier only where the walk stepped over a dip
        assert distance <= walked[np.argmax(lost)] + 1e-9
    before = at + max(distance - 1e-7, 0) * way
    assert margin(before, band, heads)[head] >= -1e-7
    assert abs(margin(at + distance * way, band, heads)[head]) < 1e-7
    assert margin(at + (distance + 1e-6) * way, band, heads)[head] < 0 or not lost.any()


def test_least_margin_is_room_in_every_direction() -> None:
    found = search(TABLE, ArrayKind((BAND,), SearchBox((-2, -2, 1), (2, 2, 2.7))), Margin())
    place = found.position
    assert place is not None
    assert found.figures is not None
    rooms = room_to_move(place.at_m, BAND, TABLE)
    assert [room.direction for room in rooms] == list(DIRECTIONS)
    assert min(room.distance_m for room in rooms) >= found.figures.margin_m
    assert all(room.head is not None and room.constraint is None for room in rooms)
    # straight down nothing but the low edge of a farthest mouth ends it: t cos low - ρ sin low = sway
    down = rooms[-1]
    far = max(np.hypot(*(TABLE.xy_m - place.at_m[:2]).T))
    low = math.radians(21)
    assert down.distance_m == pytest.approx(
        place.at_m[2] - 1.28 - (0.1 + far * math.sin(low)) / math.cos(low), abs=1e-9
    )


def test_heads_not_covered_do_not_count() -> None:
    far_off = Heads.at([[0.0, 0.0, 1.2], [30.0, 0.0, 1.2]], sway_m=0.1)
    distance, head = distance_to_loss([1.2, 0, 2.2], (1, 0, 0), BAND, far_off)
    assert head == 0
    assert 0 < distance < 2
    assert distance_to_loss([15, 0, 2.2], (1, 0, 0), BAND, far_off) == (math.inf, None)


def test_constraint_ends_to_a_micrometre_and_is_named() -> None:
    wall = Constraint(("wall",), lambda p: 3.0 - p[:, 0])
    slanted = Constraint(("slanted wall",), lambda p: (4.0 - p[:, 0] - p[:, 1]) / math.sqrt(2))
    assert distance_to_constraint([1, 0, 2], (1, 0, 0), [slanted, wall]) == (
        pytest.approx(2, abs=2e-6),
        ("wall",),
    )
    distance, name = distance_to_constraint([1, 2, 2], (1, 0, 0), [slanted, wall])
    assert name == ("slanted wall",)
    assert distance == pytest.approx(1, abs=3e-6)
    assert distance_to_constraint([1, 0, 2], (-1, 0, 0), [slanted, wall]) == (math.inf, None)
    assert distance_to_constraint([5, 0, 2], (1, 0, 0), [wall]) == (0.0, ("wall",))


def test_along_the_ceiling_is_not_an_end() -> None:
    # flush: the centre is exactly at its highest, and moves sideways until the wall, 1.5 m away
    ceiling = Constraint(("ceiling",), lambda p: 2.7 - p[:, 2])
    wall = Constraint(("wall",), lambda p: 3.0 - p[:, 0])
    distance, name = distance_to_constraint([1.5, 0, 2.7], (1, 0, 0), [ceiling, wall])
    assert name == ("wall",)
    assert distance == pytest.approx(1.5, abs=3e-6)
    assert distance_to_constraint([1.5, 0, 2.7], (0, 0, 1), [ceiling])[0] == pytest.approx(0, abs=3e-6)


def test_tilt_takes_the_chord_of_the_far_edge() -> None:
    # 2 · 3 m · sin(0.5°) = 0.05236 m: the 52 mm at 3 m for 1° (plain trigonometry)
    assert left_after_tilt_m(0.1, BAND, 1.0) == pytest.approx(0.1 - 0.05236, abs=1e-5)
    assert left_after_tilt_m(0.02, BAND, 1.0) < 0
    assert left_after_tilt_m(0.1, BAND, 0.0) == 0.1


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_tilted_array_keeps_at_least_what_is_left(seed: int) -> None:
    random = np.random.default_rng(seed)
    found = search(TABLE, ArrayKind((BAND,), SearchBox((-2, -2, 1), (2, 2, 2.7))), Margin())
    place = found.position
    assert place is not None
    assert found.figures is not None
    tilt = random.uniform(0, 3)
    axis = random.uniform(0, 2 * math.pi)
    k = np.array([math.cos(axis), math.sin(axis), 0.0])
    # Rodrigues' rotation of every mouth about the acoustic centre, which is the tilt the other way round
    at = np.array(place.at_m)
    points, demand, _ = TABLE.ends()
    v = points - at
    e = math.radians(tilt)
    turned = v * math.cos(e) + np.cross(k, v) * math.sin(e) + np.outer(v @ k, k) * (1 - math.cos(e))
    least = (slack(BAND, np.hypot(turned[:, 0], turned[:, 1]), -turned[:, 2]) - demand).min()
    assert least >= left_after_tilt_m(found.figures.margin_m, BAND, tilt) - 1e-12
