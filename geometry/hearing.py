"""Heads and bands prepared for many positions: margins, slants and angles of thousands at once.

Everything that does not depend on the position is made once. Functions take candidates, (n, 3) positions
with (n,) the band of each, so one call serves all bands: for a handful of talkers the cost is in the
number of calls, not in the sums.
"""

from __future__ import annotations

import math
from dataclasses import field, replace

import numpy as np
from numpy.typing import NDArray

from geometry.band import Band, Floats, balanced_heights, edge_table, least_by_band, pair_slack
from geometry.coverage import Heads, Legs, least_margins
from geometry.records import record

Bools = NDArray[np.bool_]
Indices = NDArray[np.int64]

PAIRS_AT_ONCE = 12_000
"""Pairs of position and mouth worked on at once: 96 kB an array, which the allocator hands out again and
again where larger ones come fresh from the system, at twice the time."""
UNSEEN_M = -1e3
"""The margin of a head that a position does not see: worse than any distance in a room."""


@record(frozen=True, slots=True)
class Figures:
    """What a place, or several together, comes to; all exact.

    Least margin, worst slant, mean and RMS off-centre are over all heads, each with the array that serves
    it; slants and degrees are for the middle of the mouths. `spare_m` is the least of what rules (stops
    left out) and lines of sight have left, inf where there are none. `covered` is the weight of the
    persons who are covered and seen, `covered_margin_m` the least margin among them (of nobody: the
    largest margin anybody has).
    """

    margin_m: float
    spare_m: float
    worst_slant_m: float
    mean_off_centre_deg: float
    rms_off_centre_deg: float
    covered: float
    covered_margin_m: float


@record(frozen=True, eq=False)
class Hearing:
    """Heads and bands with everything prepared.

    points  (e, 3) the mouths' ends, in the order of their heads; `demand` (e,) what slack each must keep
    first   (heads,) where each head's points begin
    legs    the ways between the ends of those who walk
    edges   (6, bands) see `edge_table`
    exact   whether margins outside the bands are exact, or only bounded by the four edge numbers
    """

    heads: Heads
    bands: tuple[Band, ...]
    exact: bool = False
    points: Floats = field(init=False)
    demand: Floats = field(init=False)
    first: Indices = field(init=False)
    legs: Legs = field(init=False)
    edges: Floats = field(init=False)
    middles_deg: Floats = field(init=False)
    persons: tuple[Indices, Indices, Floats] = field(init=False)
    at_m: Floats = field(init=False)
    """(talkers, 3) the mouths that distances and angles are asked of."""
    other: list[Hearing] = field(init=False)
    """The same with the exact slack, once it was asked for."""

    def __post_init__(self) -> None:
        points, demand, head = self.heads.ends()
        order = np.argsort(head, kind="stable")
        prepared = {
            "points": np.asfortranarray(points[order]),
            "demand": demand[order],
            "first": np.searchsorted(head[order], np.arange(len(self.heads))),
            "legs": self.heads.legs(),
            "edges": edge_table(self.bands),
            "middles_deg": np.array([band.middle_deg for band in self.bands]),
            "persons": self.heads.persons(),
            "at_m": talkers_at(self.heads),
            "other": [],
        }
        for name, value in prepared.items():
            object.__setattr__(self, name, value)

    def exactly(self) -> Hearing:
        """The same with the exact slack."""
        if self.exact:
            return self
        if not self.other:
            self.other.append(replace(self, exact=True))
        return self.other[0]

    @property
    def smallest_demand_m(self) -> float:
        """The least slack that any mouth must keep; margins of at least minus this are exact either way."""
        return float(self.demand.min())

    @property
    def largest_demand_m(self) -> float:
        """The most slack that any mouth must keep."""
        return float(self.demand.max())

    @property
    def talkers_demand_m(self) -> float:
        """The most slack that any mouth must keep whose distance counts."""
        heads = self.heads
        return float((heads.sway_m if heads.anywhere.all() else heads.sway_m[~heads.anywhere]).max())

    # Margins -------------------------------------------------------------------------------------------

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
            across = len(centres[some]) < len(self.points)
            numbers = self.edges.take(bands[some], axis=1)
            values = least_by_band(numbers, centres[some], self.points, self.demand, across=across)
            result[some] = values.min(axis=1 if across else 0)
        for mine, of in self._walked(centres, bands):
            between = self.legs.margins(of, centres[mine], exact=False)
            result[mine] = np.minimum(result[mine], between.min(axis=0))
        return result

    def head_margins(self, centres: Floats, bands: Indices) -> Floats:
        """(heads, n) the margin of each head, exact as `margins` are."""
        result = np.empty((len(self.heads), len(centres)))
        at_once = max(PAIRS_AT_ONCE // len(self.points), 8)
        for first in range(0, len(centres), at_once):
            some = slice(first, first + at_once)
            if self.exact:
                values = np.empty((len(self.points), len(centres[some])))
                for band in np.unique(bands[some]):
                    mine = bands[some] == band
                    values[:, mine] = pair_slack(self.bands[band], centres[some][mine], self.points)
                values -= self.demand[:, None]
            else:
                numbers = self.edges.take(bands[some], axis=1)
                values = least_by_band(numbers, centres[some], self.points, self.demand)
            result[:, some] = np.minimum.reduceat(values, self.first, axis=0)
        for mine, of in self._walked(centres, bands):
            own = result[:, mine]
            np.minimum.at(own, self.legs.head, self.legs.margins(of, centres[mine], exact=self.exact))
            result[:, mine] = own
        return result

    def _walked(self, centres: Floats, bands: Indices) -> list[tuple[Indices, Band]]:
        """The centres, band by band and few at a time, for what has to be asked of ways walked."""
        if not len(self.legs):
            return []
        at_once = max(PAIRS_AT_ONCE // len(self.legs), 8)
        parts = []
        for band in np.unique(bands).tolist():
            mine = np.flatnonzero(bands == band)
            parts += [(mine[k : k + at_once], self.bands[band]) for k in range(0, len(mine), at_once)]
        return parts

    def by_person(self, of_heads: Floats) -> Floats:
        """(persons, n) the least over each person's heads of (heads, n)."""
        order, first, weights = self.persons
        if len(weights) == len(order):
            return of_heads[order]
        return np.asarray(np.minimum.reduceat(of_heads[order], first, axis=0))

    # Slants and angles ---------------------------------------------------------------------------------

    def worst_slant(self, centres: Floats) -> Floats:
        """(n,) the slant of the farthest head."""
        at = self.at_m
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
        return _mean(off), np.sqrt(_mean(off * off))

    def least_rms(self, centres: Floats, bands: Indices, reach_m: float | Floats, free: Bools) -> Floats:
        """(n,) no RMS off-centre within `reach_m` of the centres is smaller, degrees: the larger of two bounds.

        `reach_m` is one number or (n,) of them, `free` (3,) are the coordinates that change. Moving by R
        turns the direction to a mouth at distance r by at most asin(R/r), anything if R >= r. And about a
        centre the off-centres are linear but for H R²/2 each, H = max(1, tan of the depression)/r² at its
        largest within R; the RMS of the linear part is convex, so it is at least its tangent, and what is
        left over is taken off whole. The second closes in on a smooth least.
        """
        dx, dy, rho, t = self._towards(centres)
        radius = np.broadcast_to(np.asarray(reach_m, float), (len(centres),))
        off = np.degrees(np.arctan2(t, rho)) - self.middles_deg[bands]
        square = rho * rho + t * t
        r = np.sqrt(square)
        share = np.minimum(radius / np.maximum(np.maximum(r, radius), 1e-12), 1.0)
        turn = np.where(r > radius, np.arcsin(share), math.pi)
        away = np.maximum(np.abs(off) - np.degrees(turn), 0.0)
        first = np.sqrt(_mean(away * away))
        smooth = rho.min(axis=0) > 2 * radius
        if not smooth.any():
            return np.asarray(first)
        dx, dy, rho, t, off, square, r = (values[:, smooth] for values in (dx, dy, rho, t, off, square, r))
        radius = radius[smooth]
        rms = np.sqrt(_mean(off * off))
        shared = off * t / (rho * square)
        slope = np.stack([_mean(shared * dx), _mean(shared * dy), _mean(off * rho / square)])
        slope[~free] = 0.0
        steepest = np.degrees(np.sqrt((slope * slope).sum(axis=0))) / np.maximum(rms, 1e-9)
        bend = np.maximum(1.0, (np.abs(t) + radius) / (rho - radius)) / (r - radius) ** 2
        left_over = np.degrees(np.sqrt(_mean(bend * bend))) * radius * radius / 2
        first[smooth] = np.maximum(first[smooth], rms - steepest * radius - left_over)
        return np.asarray(first)

    def _towards(self, centres: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """(talkers, n) x and y to the mouths, horizontal range and drop."""
        at = self.at_m
        dx = at[:, 0, None] - centres[None, :, 0]
        dy = at[:, 1, None] - centres[None, :, 1]
        return dx, dy, np.sqrt(dx * dx + dy * dy), centres[None, :, 2] - at[:, 2, None]

    # Heights -------------------------------------------------------------------------------------------

    def balanced_heights(self, centres: Floats, bands: Indices, low_m: float, high_m: float) -> Floats:
        """(n,) the heights at which these columns have their largest least margin, nearly (see `band`)."""
        points, demand = self.points, self.demand
        rho = np.hypot(points[:, 0, None] - centres[None, :, 0], points[:, 1, None] - centres[None, :, 1])
        mouths = points[:, 2]
        if len(self.legs):
            rho = np.concatenate([rho, self.legs.nearest(centres[:, :2])[1]])
            mouths = np.concatenate([mouths, self.legs.z_m])
            demand = np.concatenate([demand, self.legs.keep_m])
        return balanced_heights(self.edges.take(bands, axis=1), rho, mouths, demand, low_m, high_m)


def talkers_at(heads: Heads) -> Floats:
    """(talkers, 3) the mouths of those who are somewhere; of all where everybody is anywhere."""
    return heads.at_m if heads.anywhere.all() else heads.at_m[~heads.anywhere]


def _mean(values: Floats) -> Floats:
    """(n,) the mean over the first axis; np.mean has more to do with types than with sums where there are few."""
    return np.asarray(np.add.reduce(values, axis=0) / len(values))
