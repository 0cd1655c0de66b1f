"""What a search asks of positions: margins, slants, angles and constraints of many of them at once.

A `Question` holds the heads, the bands, the box and the aim with everything prepared that does not
depend on the position. Its functions take candidates, (n, 3) positions with (n,) the band of each, so
one call serves all bands: for a handful of talkers the cost is in the number of calls, not in the sums.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band, Floats
from geometry.constraint import Key
from geometry.coverage import Heads, Legs, cover, least_margins
from geometry.heights import height_intervals

Aim = Literal["near", "tolerance", "centre"]
Bools = NDArray[np.bool_]
Indices = NDArray[np.int64]

FLAT_M = 1e-9
"""A box no wider than this is held in that coordinate."""
PAIRS_AT_ONCE = 12_000
"""Pairs of position and mouth worked on at once: 96 kB an array, which the allocator hands out again and
again where larger ones come fresh from the system, at twice the time."""
TRACES = 8
"""Most steps towards the first allowed height of a column; what is not there by then is left to the cells."""


@dataclass(frozen=True, eq=False)
class Question:
    """Everything a search asks of a set of positions, prepared once.

    low_m, high_m  (3,) corners of the box of positions
    keys, rules    the constraints: (n, 3) positions to (n,) signed distances, met where >= 0
    exact          whether margins outside the bands are exact or only bounded by the four edge numbers
    """

    heads: Heads
    bands: tuple[Band, ...]
    low_m: Floats
    high_m: Floats
    keys: tuple[Key, ...]
    rules: tuple[Callable[[Floats], Floats], ...]
    aim: Aim
    enough_m: float
    exact: bool = False
    points: Floats = field(init=False)
    """(e, 3) the mouths' ends, and (e,) `demand`, what slack each must keep."""
    demand: Floats = field(init=False)
    legs: Legs = field(init=False)
    """The ways between the ends of those who walk."""
    free: Bools = field(init=False)
    """(3,) which coordinates are not held."""
    edges: Floats = field(init=False)
    """(6, bands) what the four edge numbers are made of: see `_edge_numbers`."""
    middles_deg: Floats = field(init=False)

    def __post_init__(self) -> None:
        points, demand, _ = self.heads.ends()
        prepared = {
            "points": np.asfortranarray(points),
            "demand": demand,
            "legs": self.heads.legs(),
            "free": self.high_m - self.low_m > FLAT_M,
            "edges": np.array([_edge_numbers(band) for band in self.bands]).T,
            "middles_deg": np.array([band.middle_deg for band in self.bands]),
        }
        for name, value in prepared.items():
            object.__setattr__(self, name, value)

    def exactly(self) -> Question:
        """The same question asked with the exact slack."""
        return replace(self, exact=True)

    @property
    def smallest_demand_m(self) -> float:
        return float(self.demand.min())

    @property
    def need_m(self) -> float:
        """The margin a place must have to count at all."""
        return {"tolerance": -math.inf, "near": self.enough_m, "centre": 0.0}[self.aim]

    # What no place can beat ----------------------------------------------------------------------------

    def ceiling_value(self, band: int) -> float:
        """No place in this band has a larger value, whatever the heads."""
        of = self.bands[band]
        most = float(self.demand.max())
        if self.aim == "tolerance":
            return of.largest_ball_m - most
        if self.need_m > of.largest_ball_m - most + ON_EDGE_M:
            return -math.inf
        keep = self.enough_m + most
        # the middle of a mouth range is no nearer than its highest mouth, which keeps near + need + sway
        return -(of.near_m + keep) if self.aim == "near" and keep >= 0 else 0.0

    @property
    def is_one_spot(self) -> bool:
        """Whether all mouths stand over one point of the plan: one head that does not walk."""
        spots = np.concatenate([self.points[:, :2], self.heads.at_m[:, :2]])
        return bool(np.all(spots == spots[0]))

    def lone_heads(self, at_m: Floats, band: int) -> list[Heads]:
        """Heads by themselves, standing still, those worst off at this position first, no two alike.

        No place is better for everybody than for one of them, by the aims `tolerance` and `near`; of
        somebody who walks one spot of the way counts.
        """
        here = cover(at_m.reshape(1, 3), [self.bands[band]], self.heads)
        worst = -here.slant_m[0] if self.aim == "near" else here.margin_m[0]
        alike: dict[tuple[float, float, float], Heads] = {}
        for head in np.argsort(worst, kind="stable"):
            row = self.heads.start[head]
            low, high = float(self.heads.low_m[row]), float(self.heads.high_m[row])
            sway = float(self.heads.sway_m[head])
            spot = [[*self.heads.xy_m[row], (low + high) / 2]]
            alike.setdefault((low, high, sway), Heads.at(spot, sway_m=sway, half_range_m=(high - low) / 2))
        return list(alike.values())

    def in_half_plane(self, band: int) -> Question:
        """The question of one band in the half plane x >= 0 of a lone head, without constraints."""
        x, y = (float(number) for number in self.points[0, :2])
        corners = itertools.product(*zip(self.low_m[:2], self.high_m[:2], strict=True))
        farthest = max(math.hypot(u - x, v - y) for u, v in corners)
        low, high = np.array([x, y, self.low_m[2]]), np.array([x + farthest, y, self.high_m[2]])
        return replace(self, bands=(self.bands[band],), low_m=low, high_m=high, keys=(), rules=())

    def ring(self, at_m: Floats) -> Floats:
        """Places about a lone head as good as this one, every degree, as far as they lie in the box."""
        x, y = self.points[0, :2]
        turn = np.radians(np.arange(360))
        away = math.hypot(at_m[0] - x, at_m[1] - y)
        places = np.column_stack([x + away * np.cos(turn), y + away * np.sin(turn), np.full(360, at_m[2])])
        return places[np.all((places >= self.low_m) & (places <= self.high_m), axis=1)]

    # What positions are worth --------------------------------------------------------------------------

    def margins(self, centres: Floats, bands: Indices) -> Floats:
        """(n,) least margin: exact where >= -smallest demand, else an upper bound (or exact if so asked)."""
        result = np.empty(len(centres))
        if self.exact:
            for band in np.unique(bands):
                mine = bands == band
                result[mine] = least_margins(self.bands[band], centres[mine], self.heads)
            return result
        at_once = max(PAIRS_AT_ONCE // len(self.points), 8)
        for first in range(0, len(centres), at_once):
            some = slice(first, first + at_once)
            result[some] = self._least_of_four(centres[some], bands[some])
        if len(self.legs):
            for band in np.unique(bands):
                mine = np.flatnonzero(bands == band)
                at_once = max(PAIRS_AT_ONCE // len(self.legs), 8)
                for first in range(0, len(mine), at_once):
                    some_of = mine[first : first + at_once]
                    between = self.legs.margins(self.bands[band], centres[some_of], exact=False)
                    result[some_of] = np.minimum(result[some_of], between.min(axis=0))
        return result

    def _least_of_four(self, centres: Floats, bands: Indices) -> Floats:
        """(n,) the least over all mouths of the four edge numbers less what the mouth must keep."""
        # long rows are what is fast, so whichever is fewer goes down
        across = 1 if len(centres) < len(self.points) else 0
        mouths = self.points.T[:, None, :] if across else self.points.T[:, :, None]
        demand = self.demand if across else self.demand[:, None]
        edges, at = self.edges.take(bands, axis=1), np.ascontiguousarray(centres.T)
        if across:
            edges, at = edges[:, :, None], at[:, :, None]
        cos_low, sin_low, sin_high, cos_high, middle, half = edges
        rho = mouths[0] - at[0]
        rho *= rho
        part = mouths[1] - at[1]
        part *= part
        rho += part
        t = at[2] - mouths[2]
        least = np.multiply(t, t)
        least += rho
        np.sqrt(least, out=least)
        np.sqrt(rho, out=rho)
        least -= middle
        np.abs(least, out=least)
        np.subtract(half, least, out=least)
        edge = np.multiply(t, cos_low)
        np.multiply(rho, sin_low, out=part)
        edge -= part
        np.minimum(least, edge, out=least)
        rho *= sin_high
        t *= cos_high
        rho -= t
        np.minimum(least, rho, out=least)
        least -= demand
        return np.asarray(least.min(axis=across))

    def values(self, centres: Floats, bands: Indices, margins: Floats) -> Floats:
        """(n,) what the aim makes large, at the centres."""
        if self.aim == "tolerance":
            return margins
        if self.aim == "near":
            return -self.worst_slant(centres)
        return -self.off_centre(centres, bands)[1]

    def bounds(self, centres: Floats, bands: Indices, values: Floats, radius: float) -> Floats:
        """(n,) the most the aim can have within `radius` of the centres."""
        if self.aim == "centre":
            return -self.least_rms(centres, bands, radius)
        return values + radius

    def allowed(self, centres: Floats) -> Floats:
        """(n, rules) signed distances."""
        if not self.rules or not len(centres):
            return np.empty((len(centres), len(self.rules)))
        return np.column_stack([signed_m(centres) for signed_m in self.rules])

    def feasible_values(
        self, centres: Floats, bands: Indices, above: float = -math.inf, near: Floats | None = None
    ) -> Floats:
        """(n,) the aim's value where everything is met and it is at least `above`, else -inf.

        With `near`, a position (3,) the centres lie about, a rule that is met there by more than the way
        to a centre is not asked again.
        """
        margins = self.margins(centres, bands)
        values = self.values(centres, bands, margins)
        good = (margins >= self.need_m - ON_EDGE_M) & (values >= above)
        left = np.flatnonzero(good)
        away = met_by = None
        if near is not None and len(left) and self.rules:
            met_by = self.allowed(near.reshape(1, 3))[0]
            away = np.linalg.norm(centres - near, axis=1)
        for k, signed_m in enumerate(self.rules):
            asked = left if away is None or met_by is None else left[away[left] > met_by[k]]
            if len(asked):
                good[asked[signed_m(centres[asked]) < -ON_EDGE_M]] = False
                left = left[good[left]]
        return np.where(good, values, -np.inf)

    def worst_slant(self, centres: Floats) -> Floats:
        """(n,) the slant of the farthest head."""
        at = self.heads.at_m
        square = np.zeros((len(at), len(centres)))
        for axis in range(3):
            away = at[:, axis, None] - centres[None, :, axis]
            away *= away
            square += away
        return np.asarray(np.sqrt(square.max(axis=0)))

    def off_centre(self, centres: Floats, bands: Indices) -> tuple[Floats, Floats]:
        """(n,) mean and (n,) RMS off-centre at the centres, degrees."""
        _, _, rho, t = self._towards(centres)
        off = np.degrees(np.arctan2(t, rho)) - self.middles_deg[bands]
        return off.mean(axis=0), np.sqrt(np.mean(off * off, axis=0))

    def least_rms(self, centres: Floats, bands: Indices, radius: float) -> Floats:
        """(n,) no RMS off-centre within `radius` of the centres is smaller, degrees: the larger of two bounds.

        Moving by R turns the direction to a mouth at distance r by at most asin(R/r), anything if
        R >= r. And about a centre the off-centres are linear but for H R²/2 each, H = max(1, tan of the
        depression)/r² at its largest within R; the RMS of the linear part is convex, so it is at least
        its tangent, and what is left over is taken off whole. The second closes in on a smooth least.
        """
        dx, dy, rho, t = self._towards(centres)
        off = np.degrees(np.arctan2(t, rho)) - self.middles_deg[bands]
        square = rho * rho + t * t
        r = np.sqrt(square)
        turn = np.where(r > radius, np.arcsin(np.minimum(radius / np.maximum(r, radius), 1.0)), math.pi)
        away = np.maximum(np.abs(off) - np.degrees(turn), 0.0)
        first = np.sqrt(np.mean(away * away, axis=0))
        smooth = rho.min(axis=0) > 2 * radius
        if not smooth.any():
            return np.asarray(first)
        dx, dy, rho, t, off, square, r = (values[:, smooth] for values in (dx, dy, rho, t, off, square, r))
        rms = np.sqrt(np.mean(off * off, axis=0))
        slope = np.zeros((3, len(rms)))
        shared = off * t / (rho * square)
        slope[0], slope[1], slope[2] = (
            (shared * dx).mean(0),
            (shared * dy).mean(0),
            (off * rho / square).mean(0),
        )
        slope[~self.free] = 0.0
        steepest = np.degrees(np.sqrt((slope * slope).sum(axis=0))) / np.maximum(rms, 1e-9)
        bend = np.maximum(1.0, (np.abs(t) + radius) / (rho - radius)) / (r - radius) ** 2
        left_over = np.degrees(np.sqrt(np.mean(bend * bend, axis=0))) * radius * radius / 2
        first[smooth] = np.maximum(first[smooth], rms - steepest * radius - left_over)
        return np.asarray(first)

    def _towards(self, centres: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """(heads, n) x and y to the mouths, horizontal range and drop."""
        at = self.heads.at_m
        dx = at[:, 0, None] - centres[None, :, 0]
        dy = at[:, 1, None] - centres[None, :, 1]
        return dx, dy, np.sqrt(dx * dx + dy * dy), centres[None, :, 2] - at[:, 2, None]

    # Where better positions lie ------------------------------------------------------------------------

    def best_heights(self, centres: Floats, bands: Indices) -> tuple[Floats, Indices]:
        """The candidates with their heights moved to what suits the aim best and is allowed there.

        Columns in which no height keeps the margin needed are left out; where a constraint is in the way
        there is a row for the first allowed height above and, for the largest margin, one for below.
        """
        if self.aim == "tolerance":
            return self._traced(centres, bands, self._balanced_heights(centres, bands), down_too=True)
        lowest, highest = np.empty(len(centres)), np.empty(len(centres))
        keep = np.maximum(self.heads.sway_m + self.need_m, 0.0)
        for band in np.unique(bands):
            mine = bands == band
            lowest[mine], highest[mine] = height_intervals(
                centres[mine, :2],
                self.bands[band],
                self.heads,
                keep,
                floor_m=float(self.low_m[2]),
                ceiling_m=float(self.high_m[2]),
            )
        some = lowest <= highest
        centres, bands, lowest, highest = centres[some], bands[some], lowest[some], highest[some]
        # the slant grows with the height as long as the mouths are below: the lowest is the best
        heights = lowest if self.aim == "near" else np.clip(centres[:, 2], lowest, highest)
        return self._traced(centres, bands, heights)

    def _balanced_heights(self, centres: Floats, bands: Indices) -> Floats:
        """(n,) heights at which the edges that ask for more height and those that ask for less are equal."""
        cos_low, sin_low, sin_high, cos_high, middle, half = self.edges.take(bands, axis=1)
        points, demand = self.points, self.demand[:, None]
        rho = np.hypot(points[:, 0, None] - centres[None, :, 0], points[:, 1, None] - centres[None, :, 1])
        mouth = points[:, 2, None]
        if len(self.legs):
            rho = np.concatenate([rho, self.legs.nearest(centres[:, :2])[1]])
            mouth = np.concatenate([mouth, self.legs.z_m[:, None]])
            demand = np.concatenate([demand, self.legs.keep_m[:, None]])
        square, shallow, steep = rho * rho, rho * sin_low + demand, rho * sin_high - demand
        low, high = np.full(len(centres), self.low_m[2]), np.full(len(centres), self.high_m[2])
        for _ in range(14):
            z = (low + high) / 2
            t = z - mouth
            r = np.sqrt(square + t * t)
            more = np.minimum(t * cos_low - shallow, r - (middle - half) - demand).min(axis=0)
            less = np.minimum(middle + half - r - demand, steep - t * cos_high).min(axis=0)
            up = more < less
            low, high = np.where(up, z, low), np.where(up, high, z)
        return np.asarray((low + high) / 2)

    def _traced(
        self, centres: Floats, bands: Indices, heights: Floats, *, down_too: bool = False
    ) -> tuple[Floats, Indices]:
        """The candidates at these heights, moved up (and, as more rows, down) to the first allowed one.

        The shortfall of a constraint is a step that cannot jump over an allowed height; one that is met by
        more than the step need not be asked again after it.
        """
        at = np.column_stack([centres[:, :2], heights])
        if not self.rules:
            return at, bands
        way = np.ones(len(at))
        if down_too:
            at, bands, way = np.concatenate([at, at]), np.tile(bands, 2), np.concatenate([way, -way])
        end = np.where(way > 0, self.high_m[2], self.low_m[2])
        walking = np.arange(len(at))
        left = np.full((len(at), len(self.rules)), -np.inf)
        for _ in range(TRACES):
            for k, signed_m in enumerate(self.rules):
                asked = walking[left[walking, k] <= 0]
                if len(asked):
                    left[asked, k] = signed_m(at[asked])
            short = -left[walking].min(axis=1)
            on = (short > ON_EDGE_M) & ((end[walking] - at[walking, 2]) * way[walking] > 0)
            walking, short = walking[on], short[on]
            if not len(walking):
                break
            at[walking, 2] += way[walking] * short
            left[walking] -= short[:, None]
        at[:, 2] = np.clip(at[:, 2], self.low_m[2], self.high_m[2])
        return at, bands

    def pushed_inside(self, centres: Floats, bands: Indices) -> Floats:
        """The centres walked up the slope of whatever is most short, for allowed sets too thin to hit.

        A rule that is met by more than the way walked since is not asked again.
        """
        demands: list[Callable[[Floats, Indices], Floats]] = [
            lambda at, bands, signed_m=signed_m: signed_m(at)  # type: ignore[misc]
            for signed_m in self.rules
        ]
        if math.isfinite(self.need_m):
            demands.append(lambda at, bands: self.margins(at, bands) - self.need_m)
        at = centres.copy()
        left = np.full((len(at), len(demands)), -np.inf)
        going = np.arange(len(at))
        for _ in range(12 if demands else 0):
            for k, demand in enumerate(demands):
                asked = going[left[going, k] <= 0]
                if len(asked):
                    left[asked, k] = demand(at[asked], bands[asked])
            going = going[left[going].min(axis=1) < 0]
            if not len(going):
                break
            least, which = left[going].min(axis=1), left[going].argmin(axis=1)
            slope = np.zeros((len(going), 3))
            for k in np.unique(which).tolist():
                mine = np.flatnonzero(which == k)
                here, of_bands = at[going[mine]], bands[going[mine]]
                for axis in np.flatnonzero(self.free):
                    step = np.zeros(3)
                    step[axis] = 1e-6
                    ahead, behind = demands[k](here + step, of_bands), demands[k](here - step, of_bands)
                    slope[mine, axis] = (ahead - behind) / 2e-6
            square = np.maximum((slope * slope).sum(axis=1), 1e-3)
            before = at[going]
            at[going] = np.clip(before + ((1e-7 - least) / square)[:, None] * slope, self.low_m, self.high_m)
            left[going] -= np.linalg.norm(at[going] - before, axis=1)[:, None]
        return at


def _edge_numbers(band: Band) -> tuple[float, float, float, float, float, float]:
    """cos low, sin low, sin high, cos high; the middle of the reach, and half of it.

    A band that reaches 90° has no high edge. Its mirror image across the axis, ρ sin low + t cos low,
    stands in for it: never less than the low edge's number, so that all bands go through one formula.
    """
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    if band.high_deg == 90:
        sin_high, cos_high = sin_low, -cos_low
    return (
        cos_low,
        sin_low,
        sin_high,
        cos_high,
        (band.near_m + band.far_m) / 2,
        (band.far_m - band.near_m) / 2,
    )
