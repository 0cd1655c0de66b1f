"""Hanging heights in closed form: how high and how low an array may hang where it is on plan.

"Slack at least w" (w >= 0) is four inequalities in the drop t from the acoustic centre to a mouth at
horizontal range ρ:

    low edge    t >= (w + ρ sin low) / cos low
    high edge   t <= (ρ sin high - w) / cos high            (none if high is 90°)
    near edge   t >= √((near + w)² - ρ²), 0 where negative
    far edge    t <= √((far - w)² - ρ²), none at all where ρ > far - w

so the heights that serve one mouth are an interval, those that serve a range of mouths run from what
the highest mouth asks to what the lowest allows, those that serve a way walked are what its nearest
point and its farther end have in common (each inequality grows or shrinks with ρ), and those that serve
everybody are the intersection, cut at floor and ceiling. Of intervals with nothing in common one is
empty or two are disjoint (Helly on the line), so an empty answer always names one head or two.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from geometry.band import ON_EDGE_M, Band, Floats, slack
from geometry.coverage import Heads, Reason
from geometry.records import record

Cause = Literal["out of reach", "band", "ceiling", "floor", "disagree"]

BLOCK = 1 << 15
"""Pairs held at once: a quarter of a megabyte of float64, so that the scratch stays in cache."""

SEARCHED_TO_M = 1e-3
"""How close to the best the search comes where no height gives a slack of 0 (see `best_height`)."""


@record(frozen=True, slots=True)
class HeightInterval:
    """The heights of the acoustic centre that keep the slack asked for, metres above the finished floor.

    `low_head`, `high_head` are the heads that limit each end and `low_reason`, `high_reason` what they
    would be beyond it; None where floor or ceiling does the limiting. Where there is no such height
    `cause` says why, `conflict` names the one head that cannot be served at any height or the two that
    disagree (first the one that wants the array higher), and low_m > high_m (high_m is -inf when
    somebody is out of reach); else cause is None and conflict empty.
    """

    low_m: float
    high_m: float
    low_head: int | None = None
    high_head: int | None = None
    low_reason: Reason | None = None
    high_reason: Reason | None = None
    cause: Cause | None = None
    conflict: tuple[int, ...] = ()

    @property
    def empty(self) -> bool:
        """True when no height will do."""
        return self.cause is not None


@record(frozen=True, slots=True)
class BestHeight:
    """The height of the acoustic centre with the largest least margin, and that margin, metres.

    `exact` is True where the closed form found it; where it was searched for, the margin is at most
    SEARCHED_TO_M below the best there is.
    """

    height_m: float
    margin_m: float
    exact: bool


def height_intervals(
    xy_m: ArrayLike,
    band: Band,
    heads: Heads,
    demand_m: ArrayLike = 0.0,
    *,
    floor_m: float = -math.inf,
    ceiling_m: float = math.inf,
) -> tuple[Floats, Floats]:
    """Lowest and highest height (p,), (p,) at which every head keeps its demand, for p plan positions.

    `xy_m` (p, 2); `demand_m`, metres and at least 0, is one number or one per head. There is no such
    height where low > high (high is -inf out of reach); never NaN.
    Without heads the answer is floor to ceiling. Cost: p x rows, in blocks that stay in cache.
    """
    xy = _plan_positions(xy_m)
    demand = _row_demand(heads, demand_m)[:, None]
    low, high = np.full(len(xy), float(floor_m)), np.full(len(xy), float(ceiling_m))
    for some, rows in _blocks(len(xy), len(heads.xy_m)):
        for rho in heads.ranges(xy[some], rows):
            least, most = _drops(band, rho, demand[rows])
            least += heads.high_m[rows, None]
            most += heads.low_m[rows, None]
            np.maximum(low[some], least.max(axis=0), out=low[some])
            np.minimum(high[some], most.min(axis=0), out=high[some])
    return low, high


def head_intervals(
    xy_m: ArrayLike, band: Band, heads: Heads, demand_m: ArrayLike = 0.0
) -> tuple[Floats, Floats]:
    """Lowest and highest height (n,), (n,) that serves each head by itself, for one plan position (2,).

    Not cut at floor and ceiling. A head no height can serve has low > high (high is -inf out of reach).
    `demand_m` as in `height_intervals`.
    """
    xy = _plan_positions(xy_m)
    if len(xy) != 1:
        raise ValueError(f"head_intervals xy_m holds {len(xy)} plan positions; give one, as (2,)")
    if not len(heads):
        return np.zeros(0), np.zeros(0)
    least, most = _row_drops(band, heads.ranges(xy)[..., 0], _row_demand(heads, demand_m))
    return (
        np.maximum.reduceat(heads.high_m + least, heads.start),
        np.minimum.reduceat(heads.low_m + most, heads.start),
    )


def height_interval(
    xy_m: ArrayLike,
    band: Band,
    heads: Heads,
    demand_m: ArrayLike = 0.0,
    *,
    floor_m: float = -math.inf,
    ceiling_m: float = math.inf,
) -> HeightInterval:
    """The heights at which every head keeps its demand, with who limits them, for one plan position (2,).

    `demand_m` 0 asks slack >= 0, `heads.sway_m` asks margin >= 0; `floor_m` and `ceiling_m` are the
    lowest and highest height the centre itself may have. Heads that meet in one point to within
    ON_EDGE_M are served at that point.
    """
    low, high = head_intervals(xy_m, band, heads, demand_m)
    if not len(heads):
        if floor_m > ceiling_m:
            return HeightInterval(floor_m, ceiling_m, cause="ceiling")
        return HeightInterval(floor_m, ceiling_m)
    lower, upper = int(np.argmax(low)), int(np.argmin(high))
    # of several out of reach name the farthest: it is the one that decides what would help
    if high[upper] == -np.inf:
        distance = np.hypot(*(heads.at_m[:, :2] - np.asarray(xy_m, float).reshape(2)).T)
        upper = int(np.argmax(np.where(high == -np.inf, distance, -1.0)))
    low_head = lower if low[lower] > floor_m else None
    high_head = upper if high[upper] < ceiling_m else None
    low_m, high_m = max(float(low[lower]), floor_m), min(float(high[upper]), ceiling_m)
    cause: Cause | None = None
    conflict: tuple[int, ...] = ()
    if low_m > high_m and low_m - high_m <= ON_EDGE_M:
        low_m = high_m = (low_m + high_m) / 2
    elif low_m > high_m:
        gap = np.maximum(low, floor_m) - np.minimum(high, ceiling_m)
        alone = int(np.argmax(gap)) if high[upper] > -np.inf else upper
        if gap[alone] <= ON_EDGE_M:
            cause, conflict = "disagree", (lower, upper)
        else:
            conflict = (alone,)
            if high[alone] == -np.inf:
                cause = "out of reach"
            elif low[alone] - high[alone] > ON_EDGE_M:
                cause = "band"
            else:
                cause = "ceiling" if low[alone] > ceiling_m else "floor"
    reasons = _limiting_reasons(_plan_positions(xy_m)[0], band, heads, demand_m, low_head, high_head)
    return HeightInterval(low_m, high_m, low_head, high_head, *reasons, cause, conflict)


def best_height(
    xy_m: ArrayLike,
    band: Band,
    heads: Heads,
    demand_m: ArrayLike | None = None,
    *,
    floor_m: float = -math.inf,
    ceiling_m: float = math.inf,
) -> BestHeight | None:
    """The height with the largest least margin, for one plan position (2,); None without heads.

    Margin is exact slack less `demand_m` (default: the sways). Where every slack
    can be at least 0 the heights with margin >= m are an interval that shrinks to the best as m grows,
    and m is bisected until the margin is exact to 1e-9. Where some head must be missed the four numbers
    say nothing of the exact slack, and the height is searched for with it: margin changes by at most 1 m
    per metre, so cells of heights that cannot beat the best seen by SEARCHED_TO_M are dropped and the
    rest halved.
    """
    if floor_m > ceiling_m:
        raise ValueError(f"best_height floor_m is {floor_m}, above ceiling_m {ceiling_m}")
    if not len(heads):
        return None
    xy = _plan_positions(xy_m)
    if len(xy) != 1:
        raise ValueError(f"best_height xy_m holds {len(xy)} plan positions; give one, as (2,)")
    demand = _row_demand(heads, heads.sway_m if demand_m is None else demand_m)
    ranges = heads.ranges(xy)[..., 0]

    def allowed(more_m: float) -> tuple[float, float]:
        least, most = _row_drops(band, ranges, demand + more_m)
        low, high = np.max(heads.high_m + least), np.min(heads.low_m + most)
        return max(float(low), floor_m), min(float(high), ceiling_m)

    def margins(heights: Floats) -> Floats:
        column = heights[:, None]
        ends = [slack(band, rho, column - mouth) for rho in ranges for mouth in (heads.low_m, heads.high_m)]
        least: Floats = (np.min(ends, axis=0) - demand).min(axis=1)
        return least

    met, failed = -float(demand.min()), band.largest_ball_m - float(demand.max())
    low, high = allowed(met)
    if low > high:
        return _searched_height(margins, band, heads, floor_m, ceiling_m)
    while failed - met > 1e-15:
        middle = (met + failed) / 2
        if not met < middle < failed:
            break
        lower, upper = allowed(middle)
        if lower <= upper:
            met, low, high = middle, lower, upper
        else:
            failed = middle
    height = (low + high) / 2
    return BestHeight(height, float(margins(np.array([height]))[0]), exact=True)


def _searched_height(
    margins: Callable[[Floats], Floats], band: Band, heads: Heads, floor_m: float, ceiling_m: float
) -> BestHeight:
    """The best height to within SEARCHED_TO_M of margin, by branch and bound on the exact slack."""
    # outside these heights every mouth is above the solid or below its far end: moving back only helps
    low = min(max(float(heads.low_m.min()), floor_m), ceiling_m)
    high = max(min(float(heads.high_m.max()) + band.far_m, ceiling_m), low)
    half = (high - low) / 128
    centres: Floats = np.asarray(low + half * (2 * np.arange(64) + 1), np.float64)
    values = margins(np.append(centres, (low, high)))
    best = int(np.argmax(values))
    height, margin = float(np.append(centres, (low, high))[best]), float(values[best])
    values = values[:-2]
    while True:
        centres = centres[values + half > margin + SEARCHED_TO_M]
        if not len(centres):
            return BestHeight(height, margin, exact=False)
        half /= 2
        centres = np.append(centres - half, centres + half)
        values = margins(centres)
        best = int(np.argmax(values))
        if values[best] > margin:
            height, margin = float(centres[best]), float(values[best])


def _limiting_reasons(
    xy: Floats, band: Band, heads: Heads, demand_m: ArrayLike, low_head: int | None, high_head: int | None
) -> tuple[Reason | None, Reason | None]:
    """What the limiting head would be below the low end and above the high end."""
    demand = _row_demand(heads, demand_m)
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    low_reason: Reason | None = None
    high_reason: Reason | None = None
    if low_head is not None:
        rows = _rows_of(heads, low_head)
        ranges = heads.ranges(xy[None], rows)[..., 0]
        row = int(np.argmax(heads.high_m[rows] + _row_drops(band, ranges, demand[rows])[0]))
        nearest, farthest = ranges[0, row], ranges[-1, row]
        shallow = (demand[rows][row] + farthest * sin_low) / cos_low
        near = math.sqrt(max((band.near_m + demand[rows][row]) ** 2 - nearest**2, 0.0))
        low_reason = "too near" if near > shallow else "too shallow"
    if high_head is not None:
        rows = _rows_of(heads, high_head)
        ranges = heads.ranges(xy[None], rows)[..., 0]
        most = heads.low_m[rows] + _row_drops(band, ranges, demand[rows])[1]
        row = int(np.argmin(most))
        w, nearest, farthest = demand[rows][row], ranges[0, row], ranges[-1, row]
        steep = math.inf if band.high_deg == 90 else (nearest * sin_high - w) / cos_high
        far = math.sqrt(max((band.far_m - w) ** 2 - farthest**2, 0.0))
        high_reason = "too steep" if most[row] > -np.inf and steep < far else "too far"
    return low_reason, high_reason


def _drops(band: Band, rho: Floats, demand: Floats) -> tuple[Floats, Floats]:
    """Smallest and largest drop that keep the demand at these ranges; the largest is -inf out of reach."""
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    # arrays of zeros and no masks: numpy is three times slower against the number 0, thirty with a mask
    zero = np.zeros(rho.shape[-1])
    square = rho * rho
    least = rho * (sin_low / cos_low)
    least += demand / cos_low
    near = band.near_m + demand
    root = near * near - square
    np.maximum(root, zero, out=root)
    np.maximum(least, np.sqrt(root, out=root), out=least)
    far = band.far_m - demand
    most = np.subtract(far * far, square, out=square)
    np.maximum(most, zero, out=most)
    np.sqrt(most, out=most)
    if band.high_deg < 90:
        steep = np.multiply(rho, sin_high / cos_high, out=root)
        steep -= demand / cos_high
        np.minimum(most, steep, out=most)
    beyond = np.subtract(rho, far + ON_EDGE_M, out=root)
    if beyond.max(initial=-np.inf) > 0:
        np.putmask(most, beyond > 0, -np.inf)
    return least, most


def _row_drops(band: Band, ranges: Floats, demand: Floats) -> tuple[Floats, Floats]:
    """Smallest and largest drop (k,) that keep the demand (k,) at the least and the largest range of each row."""
    least, most = zip(*(_drops(band, rho, demand) for rho in ranges), strict=True)
    return np.max(least, axis=0), np.min(most, axis=0)


def _plan_positions(xy_m: ArrayLike) -> Floats:
    xy = np.atleast_2d(np.asarray(xy_m, float))
    if xy.ndim != 2 or xy.shape[1] != 2:
        raise ValueError(f"xy_m has shape {np.shape(xy_m)}; allowed are (2,) and (p, 2)")
    return xy


def _row_demand(heads: Heads, demand_m: ArrayLike) -> Floats:
    """(k,) what each row must keep: its head's demand."""
    demand = np.broadcast_to(np.asarray(demand_m, float), (len(heads),))
    if np.any(demand < 0):
        raise ValueError(
            f"demand_m holds {demand.min()}; allowed is 0 or more, where the four numbers are the slack"
        )
    return np.asarray(demand[heads.row_head], float)


def _rows_of(heads: Heads, head: int) -> slice:
    stop = heads.start[head + 1] if head + 1 < len(heads) else len(heads.xy_m)
    return slice(int(heads.start[head]), int(stop))


def _blocks(positions: int, rows: int) -> Iterator[tuple[slice, slice]]:
    """Slices of positions and of rows, at most BLOCK pairs together."""
    if not positions or not rows:
        return
    width = min(positions, 4096)
    height = max(1, BLOCK // width)
    for first in range(0, positions, width):
        for top in range(0, rows, height):
            yield slice(first, first + width), slice(top, top + height)
