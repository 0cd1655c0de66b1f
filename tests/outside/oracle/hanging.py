"""Hanging heights, scanned: from which to which everybody is inside, and where it is best."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.optimize import brentq, minimize_scalar

from tests.outside.oracle.band import Limits, slack_of_range
from tests.outside.oracle.reading import Array, Floats, Room
from tests.outside.oracle.seating import Head

STEP_M = 0.005
ON_WAY = 101
"""Places asked on each leg of a way."""


@dataclass(frozen=True)
class Listeners:
    """Heads as rows: a mouth range and a sway at each place asked; `owner` is the head a row belongs to."""

    plan: Floats
    mouths: Floats
    sway: Floats
    owner: Sequence[str]

    @classmethod
    def of(
        cls, heads: Sequence[Head], on_way: int = ON_WAY, near: tuple[float, float] | None = None
    ) -> Listeners:
        """The rows of these heads; of ways walked the places nearest to `near` are among them."""
        plan: list[tuple[float, float]] = []
        owner: list[Head] = []
        for head in heads:
            way = np.array(head.way)
            if len(way) > 1:
                legs = [shapely.LineString(leg) for leg in itertools.pairwise(way)]
                way = np.concatenate([np.linspace(a, b, on_way) for a, b in itertools.pairwise(way)])
                if near is not None:
                    nearest = [leg.interpolate(leg.project(shapely.Point(near))).coords[0] for leg in legs]
                    way = np.concatenate([way, nearest])
            plan += [(float(x), float(y)) for x, y in way]
            owner += [head] * len(way)
        return cls(
            np.array(plan),
            np.array([head.mouth for head in owner]),
            np.array([head.sway for head in owner]),
            [head.id for head in owner],
        )

    def slack(self, limits: Limits, positions: Floats) -> Floats:
        """Slack of each row for acoustic centres (n, 3): (n, rows)."""
        return slack_of_range(limits, positions, self.plan, self.mouths)

    def margin(self, limits: Limits, positions: Floats) -> Floats:
        """Slack less sway."""
        return self.slack(limits, positions) - self.sway


def span(room: Room, array: Array) -> tuple[float, float]:
    """Lowest and highest acoustic centre: the underside on the floor, the top at the ceiling."""
    profile = array.profile
    if profile.flush:
        return room.ceiling, room.ceiling
    return profile.below, room.ceiling - (profile.size[2] - profile.below)


def at_heights(array: Array, heights: Floats) -> Floats:
    """Acoustic centres over the array's place on plan."""
    assert array.at is not None
    z = np.atleast_1d(heights)
    return np.column_stack([np.full_like(z, array.at[0]), np.full_like(z, array.at[1]), z])


def interval(least: Callable[[Floats], Floats], low: float, high: float) -> tuple[float, float] | None:
    """The heights from low to high at which `least` is 0 or more (one stretch); None if a fine scan finds none."""
    heights = np.unique(np.append(np.arange(low, high, STEP_M), high))
    values = least(heights)
    best = int(values.argmax())
    if values[best] < 0:
        # a stretch narrower than the scan's step
        top, value = peak(least, heights, best)
        if value < 0:
            return None
        heights, values, best = np.insert(heights, best, top), np.insert(values, best, value), best
        order = np.argsort(heights)
        heights, values = heights[order], values[order]
        best = int(values.argmax())
    good = np.flatnonzero(values >= 0)
    first, last = int(good[0]), int(good[-1])

    def one(z: float) -> float:
        return float(least(np.array([z]))[0])

    start = heights[first] if first == 0 else brentq(one, heights[first - 1], heights[first], xtol=1e-9)
    end = (
        heights[last]
        if last == len(heights) - 1
        else brentq(one, heights[last], heights[last + 1], xtol=1e-9)
    )
    return float(start), float(end)


def peak(least: Callable[[Floats], Floats], heights: Floats, best: int) -> tuple[float, float]:
    """The best height between the neighbours of the best one scanned, and its value."""
    low, high = heights[max(best - 1, 0)], heights[min(best + 1, len(heights) - 1)]
    if low == high:
        return float(low), float(least(np.array([low]))[0])
    found = minimize_scalar(
        lambda z: -float(least(np.array([z]))[0]),
        bounds=(low, high),
        method="bounded",
        options={"xatol": 1e-9},
    )
    at, value = float(found.x), -float(found.fun)
    scanned = float(least(heights[[best]])[0])
    return (at, value) if value >= scanned else (float(heights[best]), scanned)


def kept_interval(
    room: Room, array: Array, heads: Sequence[Head], *, leaning: bool
) -> tuple[float, float] | None:
    """The heights that keep these heads inside the array's band, or covered when they lean."""
    rows = Listeners.of(heads, near=array.at)
    sway = rows.sway if leaning else 0.0

    def least(heights: Floats) -> Floats:
        return np.asarray((rows.slack(array.limits, at_heights(array, heights)) - sway).min(axis=1))

    return interval(least, *span(room, array))


@dataclass(frozen=True)
class Heights:
    """One band of an array where it is on plan."""

    interval: tuple[float, float] | None
    covered: tuple[float, float] | None
    best_margin: float


def band_heights(room: Room, array: Array, band: str, heads: Sequence[Head]) -> Heights:
    """From which to which height these heads are all inside, all covered, and the largest least margin."""
    rows = Listeners.of(heads, near=array.at)
    limits = (*array.profile.bands[band], *array.profile.reach)
    low, high = span(room, array)

    def slack(heights: Floats) -> Floats:
        return np.asarray(rows.slack(limits, at_heights(array, heights)).min(axis=1))

    def margin(heights: Floats) -> Floats:
        return np.asarray(rows.margin(limits, at_heights(array, heights)).min(axis=1))

    heights = np.unique(np.append(np.arange(low, high, STEP_M), high))
    _, best = peak(margin, heights, int(margin(heights).argmax()))
    return Heights(interval(slack, low, high), interval(margin, low, high), best)


def least_margin(
    array: Array, band: str, heads: Sequence[Head], height: float
) -> tuple[float, dict[str, float]]:
    """The least margin at a height, and each head's slack there."""
    rows = Listeners.of(heads, near=array.at)
    limits = (*array.profile.bands[band], *array.profile.reach)
    here = at_heights(array, np.array([height]))
    slack = rows.slack(limits, here)[0]
    by_head: dict[str, float] = {}
    for id, value in zip(rows.owner, slack, strict=True):
        by_head[id] = min(by_head.get(id, math.inf), float(value))
    return float((slack - rows.sway).min()), by_head
