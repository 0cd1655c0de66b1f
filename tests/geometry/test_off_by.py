"""How far an array may be off in all directions at once: a box of places, moved through and asked one by one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.band import Band, slack
from geometry.coverage import Heads, least_margins
from geometry.off_by import OffBy, disc_to_loss, largest, last_kept, margins_off_by, tilt_m

TABLE = Heads.at(
    [[x, y, 1.2] for x in (-0.75, 0, 0.75) for y in (-0.85, 0.85)], sway_m=0.1, half_range_m=0.08
)
BAND = Band(21, 66, 1, 3)


def some_room(seed: int) -> tuple[np.ndarray, Band, Heads, OffBy]:
    """An array that covers somebody, as often as not; heads with ranges, some of whom walk; a box about it."""
    random = np.random.default_rng(seed)
    low = random.uniform(0, 40)
    band = Band(low, min(low + random.uniform(25, 60), 90), random.uniform(0, 0.8), random.uniform(2.5, 4))
    heads = Heads.at(
        random.uniform((-1.5, -1.5, 1), (1.5, 1.5, 1.5), (4, 3)),
        sway_m=random.uniform(0, 0.1),
        half_range_m=random.uniform(0, 0.1, 4),
    )
    if random.random() < 0.5:
        to = heads.to_m.copy()
        to[:2] += random.uniform(-1.5, 1.5, (2, 2))
        heads = replace(heads, to_m=to)
    off = OffBy(random.uniform(0, 0.3), random.uniform(0, 0.2), random.uniform(0, 0.2))
    return random.uniform((-1, -1, 1.6), (1, 1, 3)), band, heads, off


def places_of(at: np.ndarray, off: OffBy, heads: Heads, count: int = 5) -> np.ndarray:
    """(n, 3) places of the box, its corners among them, the ones nearest to ends of ways and level with mouths."""
    axes = [np.linspace(-off.sideways_m, off.sideways_m, count) + at[k] for k in (0, 1)]
    for k in (0, 1):
        near = np.concatenate([heads.xy_m[:, k], heads.to_m[:, k]])
        axes[k] = np.unique(np.concatenate([axes[k], np.clip(near, axes[k][0], axes[k][-1])]))
    levels = np.linspace(at[2] - off.down_m, at[2] + off.up_m, 3)
    levels = np.unique(np.concatenate([levels, np.clip(heads.low_m, levels[0], levels[-1])]))
    return np.array(np.meshgrid(*axes, levels)).reshape(3, -1).T


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_no_place_of_the_box_leaves_less(seed: int) -> None:
    at, band, heads, off = some_room(seed)
    found = margins_off_by(at, band, heads, off)
    places = places_of(at, off, heads)
    for i in range(len(heads)):
        alone = heads.take(np.array([i]))
        least = least_margins(band, places, alone).min()
        # out of the band the four numbers only bound the slack from above, so there only the sign counts
        if least >= -heads.sway_m[i]:
            assert found[i] <= least + 1e-9
        else:
            assert found[i] < -heads.sway_m[i] + 1e-9


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_some_place_of_the_box_leaves_no_more_for_who_stays(seed: int) -> None:
    at, band, heads, off = some_room(seed)
    heads = replace(heads, to_m=heads.xy_m.copy())
    found = margins_off_by(at, band, heads, off)
    least = np.array(
        [
            least_margins(band, places_of(at, off, heads, 2), heads.take(np.array([i])), exact=False).min()
            for i in range(len(heads))
        ]
    )
    # who is lost all the same is told no better than that, and who stays to the last bit
    assert (found <= least + 1e-9).all()
    stays = least >= -heads.sway_m
    assert found[stays] == pytest.approx(least[stays], abs=1e-9)


def test_a_way_through_the_box_is_straight_below_it() -> None:
    across = replace(Heads.at([[-2.0, 0.05, 1.2]]), to_m=np.array([[2.0, 0.05]]))
    band = Band(20, 80, 0.5, 4)
    # 0.05 aside of the array: below it all of the way inside the box has no range at all
    [left] = margins_off_by((0, 0, 2.2), band, across, OffBy(0.1))
    assert left == pytest.approx(-1.0 * math.cos(math.radians(80)))
    # aside of it the nearest of the way is 1 m off at least, its ends hypot(2.1, 1.2) at most
    [aside] = margins_off_by((0, 1.15, 2.2), band, across, OffBy(0.1))
    ends = [float(slack(band, rho, 1.0)) for rho in (1.0, math.hypot(2.1, 1.2))]
    assert aside == pytest.approx(min(ends))


def test_a_tilt_takes_its_chord_from_everybody() -> None:
    level = margins_off_by((0, 0, 2.2), BAND, TABLE, OffBy(0.02, 0.01, 0.03))
    tilted = margins_off_by((0, 0, 2.2), BAND, TABLE, OffBy(0.02, 0.01, 0.03), 1.0)
    # 52 mm at 3 m for 1°: the design's own figure
    assert level - tilted == pytest.approx(0.05236, abs=1e-5)
    assert tilt_m(BAND, 1.0) == pytest.approx(2 * 3 * math.sin(math.radians(0.5)))


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), turn=st.floats(0, 360))
def test_nobody_is_lost_in_the_disc_and_somebody_just_outside_it(seed: int, turn: float) -> None:
    at, band, heads, _ = some_room(seed)
    radius, head = disc_to_loss(at, band, heads)
    margins = np.array(
        [least_margins(band, at[None], heads.take(np.array([i])))[0] for i in range(len(heads))]
    )
    covered = np.flatnonzero(margins >= 0)
    if head is None:
        assert not len(covered)
        return
    assert head in covered
    turns = np.linspace(0, 2 * np.pi, 721) + np.radians(turn)
    ring = np.column_stack([np.cos(turns), np.sin(turns), 0 * turns])
    kept = heads.take(covered)
    if radius == math.inf:
        assert least_margins(band, at + 5 * ring, kept).min() >= 0
        return
    for share in (0.3, 0.7, 0.999):
        assert least_margins(band, at + share * radius * ring, kept).min() >= -1e-9
    # 721 directions miss the one that loses by half a degree at most
    assert least_margins(band, at + (radius + 1e-3) * ring, kept).min() < 1e-5


def test_the_largest_that_holds_is_never_more_than_it() -> None:
    found, cause = largest(
        lambda length: None if length <= 0.1234567 else ("far" if length > 1 else "near"), 2.0
    )
    assert found <= 0.1234567 < found + 1e-6
    assert cause == "near"
    assert largest(lambda length: None, 2.0) == (2.0, None)
    assert largest(lambda length: "now" if length < 1 else "far", 2.0) == (0.0, "now")
    assert OffBy(0.3, 0.1, 0.4).reach_m == pytest.approx(math.hypot(0.3, 0.3, 0.4))


@settings(max_examples=40, deadline=None)
@given(end=st.floats(1e-5, 1.9), bend=st.floats(0.2, 5))
def test_the_last_length_kept_is_found_whatever_the_curve(end: float, bend: float) -> None:
    asked = []

    def left(length: float) -> float:
        asked.append(length)
        return float(end**bend - length**bend)

    found = last_kept(left, 2.0)
    assert end - 1e-6 <= found <= end
    assert len(asked) < 70
    assert last_kept(lambda length: 1.0, 2.0) == 2.0
    assert last_kept(lambda length: -1.0, 2.0) == 0.0
