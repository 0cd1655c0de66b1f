"""Where to hang one array: the best place by a stated aim, with a proof that no place is better.

The margin over all heads, the worst slant and every constraint change by at most one metre per metre
of movement. So the box of possible positions is split into cells, and the value at a cell's centre
plus the cell's half diagonal bounds everything inside it. Cells that cannot beat the best allowed
place found, or in which a constraint cannot be met, are dropped with that reason written down; the
rest are halved along every free coordinate. When none is left the search is over, and the list of
dropped cells (the certificate) is the proof: anybody can recompute each reason from one number.

The bound uses the least of the four edge numbers, which equals the exact slack wherever slack >= 0;
if the best found is below minus the smallest demand the search is done again with the exact slack.
Held coordinates are removed from the search: the box is flat there and cells are not split along it.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band, Floats, least_margin
from geometry.coverage import Heads
from geometry.heights import height_intervals

Aim = Literal["near", "tolerance", "centre"]
Outcome = Literal["certified", "none allowed", "unresolved"]
Bools = NDArray[np.bool_]

ENOUGH_M = 0.10
"""The margin a place must leave under the aim `near`, unless asked otherwise."""
GAP_M = 0.001
"""Certified means: the bound is at most this far from the value (aims in metres)."""
GAP_DEG = 0.01
"""The same for the aim `centre`, whose value is in degrees (0.4 mm at 2.3 m)."""
TIE_M = 0.001
"""Places within this of the bound count as equally good."""
FLAT_M = 1e-9
"""A box no wider than this is held in that coordinate."""
LOOKS = 1
"""How many times the most promising cells of a band have their heights moved to what is best there."""
TRACES = 8
"""Most steps towards the first allowed height of a column; what is not there by then is left to the cells."""
SMALLEST_RADIUS_M = 2e-7
"""Cells this small that are still open mean that what is allowed is thinner than can be judged."""


@dataclass(frozen=True, slots=True)
class Constraint:
    """A named demand on the acoustic centre: `signed_m` takes (n, 3) and gives (n,), allowed where >= 0.

    The function must change by at most 1 m per metre of movement; write "or" as the larger and "and"
    as the smaller of signed distances, never as actual - required where the required value jumps.
    """

    name: str
    signed_m: Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True)
class SearchBox:
    """The box of possible positions of the acoustic centre; a held coordinate has low = high."""

    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (*self.low_m, *self.high_m))):
            raise ValueError(f"SearchBox is {self.low_m} to {self.high_m}; every corner must be finite")
        if any(low > high for low, high in zip(self.low_m, self.high_m, strict=True)):
            raise ValueError(f"SearchBox is {self.low_m} to {self.high_m}; low must not exceed high")

    def holding(self, *, x: float | None = None, y: float | None = None, z: float | None = None) -> SearchBox:
        """The same box flat at the coordinates given."""
        held = (x, y, z)
        low = [old if new is None else new for old, new in zip(self.low_m, held, strict=True)]
        high = [old if new is None else new for old, new in zip(self.high_m, held, strict=True)]
        return SearchBox((low[0], low[1], low[2]), (high[0], high[1], high[2]))


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to search: most (cell, band) values to compute, and the gaps to close."""

    evaluations: int = 3_000_000
    gap_m: float = GAP_M
    gap_deg: float = GAP_DEG


@dataclass(frozen=True, slots=True)
class Place:
    """One position and band with its figures, all exact; degrees and slants for the middle of the mouths."""

    at_m: tuple[float, float, float]
    band: int
    margin_m: float
    worst_slant_m: float
    mean_off_centre_deg: float
    rms_off_centre_deg: float

    def value(self, aim: Aim) -> float:
        """What this aim makes large: the margin, minus the worst slant, or minus the RMS off-centre."""
        if aim == "tolerance":
            return self.margin_m
        return -self.worst_slant_m if aim == "near" else -self.rms_off_centre_deg


@dataclass(frozen=True, slots=True, eq=False)
class Certificate:
    """The leaves of a search: cells of one size, one band and one reason together, as plain data.

    groups[i] = {"half_m": [x, y, z], "band": index, "why": reason, "centres_m": [[x, y, z], ...]}; the
    leaves of each band tile the box. `mouths_m` are the points that must be inside and `keep_m` by how
    much (sway and spare). Reasons: "value" (the value at the centre and the radius reach no
    further than the bound), "ball" (no place in this band can do better than the largest ball it
    holds), "reach" (aim near: nobody can be nearer than the near end of the reach allows), "alone" (a
    lone head at no distance and height has more), "margin" (the margin asked for cannot be met), "open"
    (left over at the end, bounded like "value"), or "constraint: NAME".
    """

    aim: Aim
    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]
    need_m: float
    bound: float | None
    best: float | None
    bands: tuple[Band, ...]
    mouths_m: Floats
    keep_m: Floats
    groups: tuple[dict[str, Any], ...]

    def as_json(self) -> dict[str, Any]:
        """The certificate as JSON-able data; bound and best in the terms of `Place.value`."""
        return {
            "format": "overtable/certificate/1",
            "aim": self.aim,
            "box_m": {"low": list(self.low_m), "high": list(self.high_m)},
            "need_margin_m": self.need_m if math.isfinite(self.need_m) else None,
            "bound": self.bound,
            "best": self.best,
            "bands": [
                {"low_deg": b.low_deg, "high_deg": b.high_deg, "reach_m": [b.near_m, b.far_m]}
                for b in self.bands
            ],
            "mouths": [
                {"at_m": [float(c) for c in at], "keep_m": float(keep)}
                for at, keep in zip(self.mouths_m, self.keep_m, strict=True)
            ],
            "leaves": list(self.groups),
        }


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What one search found. `bound` is in the terms of `Place.value`: proven, no allowed place has more.

    `excluded` gives for each constraint (and "margin") the share of box and bands dropped because of it
    (what could not beat the best was dropped before any constraint was asked), `pressing` the
    constraints that hold within 2 mm at the place. place is None where there is none; bound is None
    when nothing is allowed.
    """

    aim: Aim
    outcome: Outcome
    place: Place | None
    bound: float | None
    gap: float | None
    evaluations: int
    seconds: float
    excluded: dict[str, float] = field(default_factory=dict)
    pressing: tuple[str, ...] = ()
    certificate: Certificate | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """One array placed: the search that was taken, and all three aims beside each other.

    `note` says in words why another aim than the one asked for was taken, else it is empty.
    """

    asked: Aim
    taken: Aim
    note: str
    enough_m: float
    near: Found
    tolerance: Found
    centre: Found

    @property
    def chosen(self) -> Found:
        """The search whose place is taken."""
        return {"near": self.near, "tolerance": self.tolerance, "centre": self.centre}[self.taken]


def place(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    aim: Aim = "near",
    enough_m: float = ENOUGH_M,
    start: Sequence[Place] = (),
    effort: Effort | None = None,
    record: bool = False,
) -> Answer:
    """The best place of one array for these heads by all three aims, and the one to take.

    `near` falls back to `tolerance`, with a note, where no place has the margin `enough_m`, and
    `centre` where no place covers everybody. `start` are places to begin from, as far as they are
    allowed; `record` keeps the certificates.
    """
    tolerance = search(
        heads, bands, box, constraints, aim="tolerance", start=start, effort=effort, record=record
    )
    start = [*start, *([] if tolerance.place is None else [tolerance.place])]
    near = search(
        heads,
        bands,
        box,
        constraints,
        aim="near",
        enough_m=enough_m,
        start=start,
        effort=effort,
        record=record,
    )
    start = [*start, *([] if near.place is None else [near.place])]
    centre = search(heads, bands, box, constraints, aim="centre", start=start, effort=effort, record=record)
    taken, note = aim, ""
    if aim == "near" and near.place is None:
        best = tolerance.place.margin_m if tolerance.place else math.nan
        taken = "tolerance"
        note = f"no place leaves everybody a margin of {enough_m:g} m (the best is {best:.3f} m)"
    elif aim == "centre" and centre.place is None:
        taken, note = "tolerance", "no place covers everybody"
    if note:
        note += "; the place with the largest margin is taken"
        if tolerance.place is None:
            note = "no position is allowed"
            if tolerance.outcome == "unresolved":
                note = "no allowed position was found within the effort allowed"
    return Answer(aim, taken, note, enough_m, near, tolerance, centre)


def search(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    aim: Aim = "tolerance",
    enough_m: float = ENOUGH_M,
    start: Sequence[Place] = (),
    effort: Effort | None = None,
    at_least: float | None = None,
    record: bool = False,
) -> Found:
    """The best allowed place by one aim over all bands, and a proven bound.

    tolerance  the largest least margin
    near       the smallest worst slant among places with least margin >= `enough_m`
    centre     the smallest RMS off-centre among places with least margin >= 0

    `start` are places to begin from. With `at_least` the search only asks whether a value of at least
    that exists: it stops at the first such place, or when the bound falls below it. The bound of a
    search with `at_least` that found nothing is that figure.
    """
    began = time.perf_counter()
    if not len(heads) or not bands:
        raise ValueError("search needs at least one head and one band")
    effort = effort or Effort()
    question = _Question(heads, tuple(bands), box, tuple(constraints), aim, enough_m)
    found = _branch_and_bound(question, start, effort, at_least, record)
    if (
        aim == "tolerance"
        and at_least is None
        and found.place is not None
        and found.place.margin_m < -question.smallest_demand_m
    ):
        # out of band the four numbers only bound the slack: ask again with the exact one
        exact = _exactly(question)
        again = _branch_and_bound(exact, [found.place], effort, None, record)
        found = replace(again, evaluations=found.evaluations + again.evaluations)
    return replace(found, seconds=time.perf_counter() - began)


def figures(heads: Heads, bands: Sequence[Band], at_m: Sequence[float] | Floats, band: int) -> Place:
    """The place at this position in this band, with its exact figures."""
    x, y, z = (float(number) for number in at_m)
    question = _Question(
        heads, tuple(bands), SearchBox((x, y, z), (x, y, z)), (), "tolerance", 0.0, exact=True
    )
    return question.place(np.array([x, y, z]), band)


def can_serve(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    effort: Effort | None = None,
) -> Place | bool:
    """A place from which everybody is covered; False if provably none; True if neither is known."""
    found = search(heads, bands, box, constraints, effort=effort, at_least=-ON_EDGE_M)
    if found.place is not None and found.place.margin_m >= -2 * ON_EDGE_M:
        return found.place
    return found.outcome == "unresolved"


def smallest_conflict(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    pairs: int = 120,
    effort: Effort | None = None,
) -> tuple[NDArray[np.int64], bool] | None:
    """Heads that provably cannot be served together, and whether no smaller group is in conflict.

    Looks for one head, then for two (the farthest apart and the most different in height first, at most
    `pairs` of them), then takes heads away for as long as the rest stays in conflict, so that the group
    is irreducible: without any one of them the others can be served. None where everybody can be served
    or that cannot be decided within the effort.
    """

    def conflicting(which: Sequence[int]) -> bool:
        subset = heads.take(np.array(which, np.int64))
        return can_serve(subset, bands, box, constraints, effort=effort) is False

    count = len(heads)
    everybody = list(range(count))
    if not conflicting(everybody):
        return None
    for head in everybody:
        if conflicting([head]):
            return np.array([head]), True
    first, second = np.triu_indices(count, 1)
    away = np.linalg.norm(heads.at_m[first] - heads.at_m[second], axis=1)
    drop = np.abs(heads.at_m[first, 2] - heads.at_m[second, 2])
    order = np.argsort(-(away + 4 * drop), kind="stable")
    for k in order[:pairs]:
        if conflicting([int(first[k]), int(second[k])]):
            return np.array([first[k], second[k]]), True
    group, width = everybody, max(count // 2, 1)
    while True:
        start = 0
        while start < len(group):
            rest = group[:start] + group[start + width :]
            if rest and conflicting(rest):
                group = rest
            else:
                start += width
        if width == 1:
            break
        width = max(width // 2, 1)
    return np.array(group), len(group) <= 2 or (len(group) == 3 and len(order) <= pairs)


def reach_needed(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    most_m: float = 20.0,
    step_m: float = 0.01,
) -> float | None:
    """The smallest far reach, in whole steps, with which these bands cover everybody; None up to `most_m`."""

    def works(steps: int) -> bool:
        longer = [replace(band, far_m=max(steps * step_m, band.near_m + step_m)) for band in bands]
        return isinstance(can_serve(heads, longer, box, constraints), Place)

    fails, holds = math.floor(max(band.far_m for band in bands) / step_m), math.floor(most_m / step_m)
    if not works(holds):
        return None
    while holds - fails > 1:
        middle = (fails + holds) // 2
        fails, holds = (fails, middle) if works(middle) else (middle, holds)
    return round(holds * step_m, 9)


@dataclass(frozen=True, eq=False)
class _Question:
    """Everything a search asks of a set of positions, prepared once."""

    heads: Heads
    bands: tuple[Band, ...]
    box: SearchBox
    constraints: tuple[Constraint, ...]
    aim: Aim
    enough_m: float
    exact: bool = False
    points: Floats = field(init=False)
    demand: Floats = field(init=False)

    def __post_init__(self) -> None:
        points, demand, _ = self.heads.ends()
        object.__setattr__(self, "points", points)
        object.__setattr__(self, "demand", demand)

    @property
    def smallest_demand_m(self) -> float:
        return float(self.demand.min())

    @property
    def need_m(self) -> float:
        """The margin a place must have to count at all."""
        return {"tolerance": -math.inf, "near": self.enough_m, "centre": 0.0}[self.aim]

    def ceiling_value(self, band: int) -> float:
        """No place in this band has a larger value, whatever the heads."""
        of = self.bands[band]
        most = float(self.demand.max())
        if self.aim == "tolerance":
            return of.largest_ball_m - most
        if self.need_m > of.largest_ball_m - most + ON_EDGE_M:
            return -math.inf
        # the middle of a mouth range is no nearer than its highest mouth, which keeps near + need + sway
        # (of somebody who walks the middle may lie between two samples: their spare is used up there)
        return -(of.near_m + self.enough_m + float(self.heads.sway_m.max())) if self.aim == "near" else 0.0

    @property
    def free(self) -> Bools:
        """(3,) which coordinates are not held."""
        return np.asarray(np.subtract(self.box.high_m, self.box.low_m) > FLAT_M)

    @property
    def is_one_spot(self) -> bool:
        """Whether all mouths stand over one point of the plan: one head that does not walk."""
        spots = np.concatenate([self.points[:, :2], self.heads.at_m[:, :2]])
        return bool(np.all(spots == spots[0]))

    def in_half_plane(self, band: int) -> _Question:
        """The question of one band in the half plane x >= 0 of a lone head, without constraints."""
        x, y = (float(number) for number in self.points[0, :2])
        corners = itertools.product(*zip(self.box.low_m[:2], self.box.high_m[:2], strict=True))
        farthest = max(math.hypot(u - x, v - y) for u, v in corners)
        box = SearchBox((x, y, self.box.low_m[2]), (x + farthest, y, self.box.high_m[2]))
        return _Question(self.heads, (self.bands[band],), box, (), self.aim, self.enough_m, self.exact)

    def ring(self, at_m: tuple[float, float, float]) -> Floats:
        """Places about a lone head as good as this one, every degree, as far as they lie in the box."""
        x, y = self.points[0, :2]
        turn = np.radians(np.arange(360))
        away = math.hypot(at_m[0] - x, at_m[1] - y)
        places = np.column_stack([x + away * np.cos(turn), y + away * np.sin(turn), np.full(360, at_m[2])])
        return places[np.all((places >= self.box.low_m) & (places <= self.box.high_m), axis=1)]

    def margins(self, centres: Floats, band: int) -> Floats:
        """(n,) least margin: exact where >= -smallest demand, else an upper bound (or exact if so asked)."""
        return least_margin(self.bands[band], centres, self.points, self.demand, exact=self.exact)

    def allowed(self, centres: Floats) -> Floats:
        """(n, constraints) signed distances."""
        if not self.constraints or not len(centres):
            return np.empty((len(centres), len(self.constraints)))
        return np.column_stack([constraint.signed_m(centres) for constraint in self.constraints])

    def worst_slant(self, centres: Floats) -> Floats:
        at = self.heads.at_m
        square = np.zeros((len(at), len(centres)))
        for axis in range(3):
            away = at[:, axis, None] - centres[None, :, axis]
            away *= away
            square += away
        return np.asarray(np.sqrt(square.max(axis=0)))

    def off_centre(self, centres: Floats, band: int) -> tuple[Floats, Floats]:
        """(n,) mean and (n,) RMS off-centre at the centres, degrees."""
        _, _, rho, t = self._towards(centres)
        off = np.degrees(np.arctan2(t, rho)) - self.bands[band].middle_deg
        return off.mean(axis=0), np.sqrt(np.mean(off * off, axis=0))

    def least_rms(self, centres: Floats, band: int, radius: float) -> Floats:
        """(n,) no RMS off-centre within `radius` of the centres is smaller, degrees: the larger of two bounds.

        Moving by R turns the direction to a mouth at distance r by at most asin(R/r), anything if
        R >= r. And about a centre the off-centres are linear but for H R²/2 each, H = max(1, tan of the
        depression)/r² at its largest within R; the RMS of the linear part is convex, so it is at least
        its tangent, and what is left over is taken off whole. The second closes in on a smooth least.
        """
        dx, dy, rho, t = self._towards(centres)
        off = np.degrees(np.arctan2(t, rho)) - self.bands[band].middle_deg
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

    def values(self, centres: Floats, band: int, margins: Floats) -> Floats:
        """(n,) what the aim makes large, at the centres."""
        if self.aim == "tolerance":
            return margins
        if self.aim == "near":
            return -self.worst_slant(centres)
        return -self.off_centre(centres, band)[1]

    def bounds(self, centres: Floats, band: int, values: Floats, radius: float) -> Floats:
        """(n,) the most the aim can have within `radius` of the centres."""
        if self.aim == "centre":
            return -self.least_rms(centres, band, radius)
        return values + radius

    def best_heights(self, centres: Floats, band: int) -> Floats:
        """The centres with their heights moved to what suits the aim best and is allowed there."""
        low, high = self.box.low_m[2], self.box.high_m[2]
        if self.aim == "tolerance":
            z = self._balanced_heights(centres, band)
            return self._traced(centres, z, down_too=True)
        lowest, highest = height_intervals(
            centres[:, :2],
            self.bands[band],
            self.heads,
            self.heads.sway_m + self.need_m,
            floor_m=low,
            ceiling_m=high,
        )
        some = lowest <= highest
        if not some.any():
            return centres[:0]
        centres, lowest, highest = centres[some], lowest[some], highest[some]
        if self.aim == "near":
            # the slant grows with the height as long as the mouths are below: the lowest is the best
            return self._traced(centres, lowest)
        return self._traced(centres, np.clip(centres[:, 2], lowest, highest))

    def _balanced_heights(self, centres: Floats, band: int) -> Floats:
        """(n,) heights at which the edges that ask for more height and those that ask for less are equal."""
        of = self.bands[band]
        cos_low, sin_low, sin_high, cos_high = of.edge_sines
        points, demand = self.points, self.demand[:, None]
        rho = np.hypot(points[:, 0, None] - centres[None, :, 0], points[:, 1, None] - centres[None, :, 1])
        square, shallow, steep = rho * rho, rho * sin_low + demand, rho * sin_high - demand
        low, high = np.full(len(centres), self.box.low_m[2]), np.full(len(centres), self.box.high_m[2])
        for _ in range(14):
            z = (low + high) / 2
            t = z - points[:, 2, None]
            r = np.sqrt(square + t * t) - demand
            more = np.minimum(t * cos_low - shallow, r - of.near_m).min(axis=0)
            less = of.far_m - r - 2 * demand
            if of.high_deg < 90:
                np.minimum(less, steep - t * cos_high, out=less)
            up = more < less.min(axis=0)
            low, high = np.where(up, z, low), np.where(up, high, z)
        return np.asarray((low + high) / 2)

    def _traced(self, centres: Floats, heights: Floats, *, down_too: bool = False) -> Floats:
        """The centres at these heights, moved up (and, as more rows, down) to the first allowed one.

        The shortfall of a constraint is a step that cannot jump over an allowed height.
        """
        at = np.column_stack([centres[:, :2], heights])
        if not self.constraints:
            return at
        way = np.ones(len(at))
        if down_too:
            at, way = np.concatenate([at, at]), np.concatenate([way, -way])
        end = np.where(way > 0, self.box.high_m[2], self.box.low_m[2])
        walking = np.arange(len(at))
        for _ in range(TRACES):
            short = -self.allowed(at[walking]).min(axis=1)
            on = (short > ON_EDGE_M) & ((end[walking] - at[walking, 2]) * way[walking] > 0)
            walking, short = walking[on], short[on]
            if not len(walking):
                break
            at[walking, 2] += way[walking] * np.maximum(short, ON_EDGE_M)
        at[:, 2] = np.clip(at[:, 2], self.box.low_m[2], self.box.high_m[2])
        return at

    def pushed_inside(self, centres: Floats, band: int, free: Bools) -> Floats:
        """The centres walked up the slope of whatever is most short, for allowed sets too thin to hit."""

        def short(at: Floats) -> Floats:
            least = (
                self.margins(at, band) - self.need_m
                if math.isfinite(self.need_m)
                else np.full(len(at), np.inf)
            )
            if self.constraints:
                least = np.minimum(least, self.allowed(at).min(axis=1))
            return least

        at = centres.copy()
        low, high = np.array(self.box.low_m), np.array(self.box.high_m)
        for _ in range(12):
            value = short(at)
            slope = np.zeros_like(at)
            for axis in np.flatnonzero(free):
                step = np.zeros(3)
                step[axis] = 1e-6
                slope[:, axis] = (short(at + step) - short(at - step)) / 2e-6
            square = np.maximum((slope * slope).sum(axis=1), 1e-3)
            move = np.where(value < 0, (1e-7 - value) / square, 0.0)
            if not move.any():
                break
            at = np.clip(at + move[:, None] * slope, low, high)
        return at

    def place(self, at: Floats, band: int) -> Place:
        one = at.reshape(1, 3)
        mean, rms = self.off_centre(one, band)
        return Place(
            (float(at[0]), float(at[1]), float(at[2])),
            band,
            float(least_margin(self.bands[band], one, self.points, self.demand)[0]),
            float(self.worst_slant(one)[0]),
            float(mean[0]),
            float(rms[0]),
        )

    def feasible_values(self, centres: Floats, band: int, above: float = -math.inf) -> Floats:
        """(n,) the aim's value where everything is met and it is at least `above`, else -inf."""
        margins = self.margins(centres, band)
        values = self.values(centres, band, margins)
        good = (margins >= self.need_m - ON_EDGE_M) & (values >= above)
        left = np.flatnonzero(good)
        for constraint in self.constraints:
            if not len(left):
                break
            met = constraint.signed_m(centres[left]) >= -ON_EDGE_M
            good[left[~met]] = False
            left = left[met]
        return np.where(good, values, -np.inf)


def _exactly(question: _Question) -> _Question:
    """The same question asked with the exact slack."""
    return _Question(
        question.heads,
        question.bands,
        question.box,
        question.constraints,
        question.aim,
        question.enough_m,
        exact=True,
    )


class _Leaves:
    """The dropped cells, gathered as the search goes (the one mutable thing in here)."""

    def __init__(self, names: Sequence[str], record: bool) -> None:
        self.names = names
        self.record = record
        self.bound = -math.inf
        self.volume: dict[str, float] = {}
        self.groups: list[dict[str, Any]] = []

    def add(self, centres: Floats, half: Floats, share: float, band: int, why: str) -> None:
        if not len(centres):
            return
        self.volume[why] = self.volume.get(why, 0.0) + share * len(centres)
        if self.record:
            self.groups.append(
                {
                    "half_m": [float(h) for h in half],
                    "band": band,
                    "why": why,
                    "centres_m": centres.tolist(),
                }
            )


def _branch_and_bound(
    question: _Question,
    start: Sequence[Place],
    effort: Effort,
    at_least: float | None,
    record: bool,
) -> Found:
    low, high = np.array(question.box.low_m), np.array(question.box.high_m)
    size = high - low
    free = size > FLAT_M
    size[~free] = 0.0
    counts = np.ones(3, np.int64)
    if free.any():
        counts[free] = np.maximum(np.ceil(size[free] / (size.max() / 8) - 1e-9), 1).astype(np.int64)
    half = size / counts / 2
    children = np.array(list(itertools.product(*((0, 1) if f else (0,) for f in free))), np.int64)
    index = np.array(list(itertools.product(*map(range, counts))), np.int64)
    bands = len(question.bands)
    alive = np.ones((len(index), bands), np.bool_)
    share = 1.0 / (len(index) * bands)
    names = [f"constraint: {constraint.name}" for constraint in question.constraints]
    leaves = _Leaves(names, record)
    gap = effort.gap_deg if question.aim == "centre" else effort.gap_m
    # go further than the gap asked for: what is left over is room to settle ties and to round the place
    gap *= 0.9 if question.aim == "centre" else 0.8
    ceiling = [question.ceiling_value(band) for band in range(bands)]
    best = _Best(question)
    for spot in start:
        if np.all((low - FLAT_M <= spot.at_m) & (spot.at_m <= high + FLAT_M)):
            best.offer(np.array([spot.at_m]), spot.band)
    evaluations = 0
    ringed = [False] * bands
    if question.is_one_spot and free[0] and free[1]:
        # turning the array about a lone head changes nothing: a search in a half plane bounds the whole,
        # and saves closing in on a ring of places that are all as good
        for band in range(bands):
            alone = question.in_half_plane(band)
            found = _branch_and_bound(alone, (), replace(effort, gap_m=effort.gap_m / 4), None, False)
            evaluations += found.evaluations
            if found.outcome == "unresolved":
                continue
            value = -math.inf if found.bound is None else found.bound
            ringed[band] = value < ceiling[band]
            ceiling[band] = min(ceiling[band], value)
            if found.place is not None:
                best.offer(question.ring(found.place.at_m), band)
    outcome: Outcome = "certified"
    stopped = False

    def drop(band: int, centres: Floats, half: Floats, cells: NDArray[np.int64], bounds: Floats) -> None:
        """Drop the cells of this band that cannot beat the best by more than the gap (or reach `at_least`)."""
        to = best.value + gap if at_least is None else at_least - 1e-12
        still = alive[cells, band]
        cells, bounds = cells[still], bounds[still]
        gone = np.ones(len(cells), np.bool_) if ceiling[band] <= to else bounds <= to
        if not gone.any():
            return
        why = "value"
        if ceiling[band] <= to and bounds.max() > to:
            why = {"tolerance": "ball", "near": "reach", "centre": "value"}[question.aim]
            if ringed[band]:
                why = "alone"
            elif not math.isfinite(ceiling[band]):
                why = "margin"
        leaves.bound = max(leaves.bound, min(ceiling[band], float(bounds[gone].max())))
        leaves.add(centres[cells[gone]], half, share, band, why)
        alive[cells[gone], band] = False

    while len(index):
        centres = low + (2 * index + 1) * half
        centres[:, ~free] = low[~free]
        radius = float(np.linalg.norm(half))
        evaluations += int(alive.sum())
        # values before constraints: they cost less, and what cannot beat the best need not be allowed
        known: dict[int, tuple[NDArray[np.int64], Floats, Floats, Floats]] = {}
        for band in range(bands):
            cells = np.flatnonzero(alive[:, band])
            if not len(cells):
                continue
            margins = question.margins(centres[cells], band)
            if question.aim != "tolerance":
                lost = margins + radius < question.need_m - ON_EDGE_M
                if lost.any():
                    leaves.add(centres[cells[lost]], half, share, band, "margin")
                    alive[cells[lost], band] = False
                    cells, margins = cells[~lost], margins[~lost]
            values = question.values(centres[cells], band, margins)
            bounds = question.bounds(centres[cells], band, values, radius)
            known[band] = (cells, margins, values, bounds)
            drop(band, centres, half, cells, bounds)
        least = np.full(len(centres), np.inf)
        live = np.flatnonzero(alive.any(axis=1))
        if names and len(live):
            signed = question.allowed(centres[live])
            least[live] = signed.min(axis=1)
            shut = least + radius < -ON_EDGE_M
            which = signed.argmin(axis=1)
            for k in np.unique(which[shut[live]]):
                for band in range(bands):
                    cells = live[shut[live] & (which == k) & alive[live, band]]
                    leaves.add(centres[cells], half, share, band, names[k])
            alive[shut] = False
        for band, (cells, margins, values, bounds) in known.items():
            still = alive[cells, band]
            if not still.any():
                continue
            cells, margins, values, bounds = cells[still], margins[still], values[still], bounds[still]
            fit = (least[cells] >= -ON_EDGE_M) & (margins >= question.need_m - ON_EDGE_M)
            best.take(centres[cells[fit]], values[fit], band)
            if np.max(bounds) > best.value + gap and ceiling[band] > best.value + gap:
                best.improve(centres[cells], margins, bounds, band, half, free)
        if at_least is not None and best.value >= at_least:
            stopped = True
            break
        for band, (cells, _, _, bounds) in known.items():
            drop(band, centres, half, cells, bounds)
        more = alive.any(axis=1)
        coming = int(alive.sum()) * len(children)
        if more.any() and (
            evaluations + coming > effort.evaluations or radius < SMALLEST_RADIUS_M or not free.any()
        ):
            outcome = "unresolved"
            for band, (cells, _, _, bounds) in known.items():
                left = alive[cells, band]
                if left.any():
                    leaves.bound = max(leaves.bound, min(ceiling[band], float(bounds[left].max())))
                    leaves.add(centres[cells[left]], half, share, band, "open")
            break
        index = (2 * index[more][:, None, :] + children[None] * free).reshape(-1, 3)
        index[:, ~free] = 0
        alive = np.repeat(alive[more], len(children), axis=0)
        half = half / np.where(free, 2, 1)
        share /= len(children)

    return _conclude(question, best, leaves, outcome, gap, at_least, stopped, evaluations, effort)


class _Best:
    """The best allowed place so far, and the pool of those about as good (for ties)."""

    def __init__(self, question: _Question) -> None:
        self.question = question
        self.value = -math.inf
        self.at: Floats | None = None
        self.band = 0
        self.climbed_to = -math.inf
        self.looks = [0] * len(question.bands)
        self.pool: list[tuple[Floats, Floats, int]] = []

    def take(self, centres: Floats, values: Floats, band: int) -> None:
        """Places known to be allowed, with their values."""
        if not len(values):
            return
        top = int(np.argmax(values))
        if values[top] > self.value:
            self.value, self.at, self.band = float(values[top]), centres[top].copy(), band
        if values[top] >= self.value - 2 * TIE_M:
            close = values >= self.value - 2 * TIE_M
            keep = np.flatnonzero(close)[np.argsort(-values[close], kind="stable")[:400]]
            self.pool.append((centres[keep], values[keep], band))

    def offer(self, positions: Floats, band: int) -> float:
        """Try these positions, (n, 3); gives the best value among them."""
        values = self.question.feasible_values(positions, band, self.value - 2 * TIE_M)
        self.take(positions[values > -np.inf], values[values > -np.inf], band)
        return float(values.max(initial=-np.inf))

    def improve(
        self, centres: Floats, margins: Floats, bounds: Floats, band: int, half: Floats, free: Bools
    ) -> None:
        """Move the heights of the most promising centres into what is best and allowed there, then climb.

        For the largest margin a few looks per band are enough: after that the centres themselves are as
        good. Where a margin must be kept, what is left to do lies at the edge of that, often in a corner
        too sharp for a centre to hit, and the columns of the largest margins are looked at too.
        """
        self.looks[band] += 1
        edge = self.question.aim == "near" and bool(free[2])
        if edge or self.looks[band] <= LOOKS or self.value == -math.inf:
            top = np.argsort(-bounds, kind="stable")[:4]
            if edge:
                top = np.concatenate([top, np.argsort(-margins, kind="stable")[:12]])
            starts = centres[top]
            if free[2]:
                moved = self.question.best_heights(starts, band)
                starts = moved if edge else np.concatenate([moved, starts])
            if (
                self.offer(starts, band) == -np.inf
                and self.value == -np.inf
                and self.looks[band] <= 4 * LOOKS
            ):
                self.offer(self.question.pushed_inside(centres[top], band, free), band)
        if self.at is not None and self.band == band and self.value > self.climbed_to + 1e-5:
            self.climb(float(half.max()), free, columns=edge)
            self.climbed_to = self.value

    def climb(self, step: float, free: Bools, *, columns: bool) -> None:
        """Pattern search from the best place: grids about it of every size from `step` down, the best taken.

        With `columns` the grids are flat, and each column is tried at the height that suits it best.
        """
        assert self.at is not None
        steps = (step * 0.3 ** np.arange(6)[:, None, None] * _around(free)).reshape(-1, 3)
        if columns:
            steps = steps[steps[:, 2] == 0]
        low, high = np.array(self.question.box.low_m), np.array(self.question.box.high_m)
        for _ in range(6):
            before = self.value
            around = np.clip(self.at + steps, low, high)
            self.offer(self.question.best_heights(around, self.band) if columns else around, self.band)
            if self.value <= before + 5e-5:
                break


def _around(free: Bools) -> Floats:
    """A grid of five by five by five points about nothing, flat where a coordinate is held."""
    return np.array(list(itertools.product(*((0.0, -1.0, 1.0, -0.5, 0.5) if f else (0.0,) for f in free))))


def _conclude(
    question: _Question,
    best: _Best,
    leaves: _Leaves,
    outcome: Outcome,
    gap: float,
    at_least: float | None,
    stopped: bool,
    evaluations: int,
    effort: Effort,
) -> Found:
    """The record of a finished search: ties decided, the place rounded for print where that costs nothing."""
    allowed_gap = effort.gap_deg if question.aim == "centre" else effort.gap_m
    bound: float | None = max(leaves.bound, best.value)
    assert bound is not None
    if at_least is not None and best.value < at_least and outcome == "certified" and leaves.bound > -math.inf:
        bound = max(at_least, best.value)
    if outcome == "unresolved" and best.at is not None and bound - best.value <= allowed_gap:
        # cells left over at the end are bounded like those dropped, and that was enough
        outcome = "certified"
    if bound == -math.inf:
        bound = None
        outcome = "none allowed" if outcome == "certified" else outcome
    chosen: Place | None = None
    gap_left: float | None = None
    if best.at is not None and bound is not None:
        least = bound - allowed_gap if outcome == "certified" and not stopped else best.value
        if not stopped and at_least is None:
            chosen = _tied(question, best, min(least, best.value))
        else:
            chosen = question.place(best.at, best.band)
        gap_left = max(bound - chosen.value(question.aim), 0.0)
    pressing: tuple[str, ...] = ()
    if chosen is not None and question.constraints:
        signed = question.allowed(np.array([chosen.at_m]))[0]
        pressing = tuple(
            c.name for c, value in zip(question.constraints, signed, strict=True) if value < 0.002
        )
    excluded = {
        why.removeprefix("constraint: "): share
        for why, share in leaves.volume.items()
        if why == "margin" or why.startswith("constraint: ")
    }
    certificate = None
    if leaves.record:
        certificate = Certificate(
            question.aim,
            question.box.low_m,
            question.box.high_m,
            question.need_m,
            bound,
            None if chosen is None else chosen.value(question.aim),
            question.bands,
            question.points,
            question.demand,
            tuple(leaves.groups),
        )
    return Found(
        question.aim, outcome, chosen, bound, gap_left, evaluations, 0.0, excluded, pressing, certificate
    )


def _tied(question: _Question, best: _Best, least: float) -> Place:
    """Of the places with this value: smallest |mean off-centre|, nearest the heads, first band, x, y.

    Looked for among the places the search saw and by a walk from the best of them; angles count as equal
    to 0.01°, distances to 1 mm. Rounded to 0.1 mm where that keeps the value, else to 1 µm.
    """
    middle = question.heads.at_m[:, :2].mean(axis=0)
    free = np.array(question.box.high_m) - np.array(question.box.low_m) > FLAT_M

    def order(at: Floats, bands: NDArray[np.int64]) -> int:
        mean = np.empty(len(at))
        for band in np.unique(bands):
            mine = bands == band
            mean[mine] = question.off_centre(at[mine], int(band))[0]
        away = np.hypot(*(at[:, :2] - middle).T)
        keys = (at[:, 1], at[:, 0], bands, np.round(away, 3), np.round(np.abs(mean), 2))
        return int(np.lexsort(keys)[0])

    assert best.at is not None
    places = [best.at.reshape(1, 3)]
    bands = [np.array([best.band])]
    for centres, values, band in best.pool:
        good = values >= least
        places.append(centres[good])
        bands.append(np.full(int(good.sum()), band))
    at, of = np.concatenate(places), np.concatenate(bands)
    first = order(at, of)
    here, band = at[first], int(of[first])
    low, high = np.array(question.box.low_m), np.array(question.box.high_m)
    # every step from half a metre down to a fifth of a millimetre at once: each round is one evaluation
    steps = (0.5 * 0.5 ** np.arange(0, 12, 2)[:, None, None] * _around(free)).reshape(-1, 3)
    for _ in range(40):
        around = np.concatenate([here[None], np.clip(here + steps, low, high)])
        around = around[question.feasible_values(around, band, least) >= least]
        if not len(around):
            break
        to = around[order(around, np.full(len(around), band))]
        if np.array_equal(to, here):
            break
        here = to
    for digits in (4, 6):
        rounded = np.clip(np.round(here, digits), low, high)
        rounded[~free] = low[~free]
        if question.feasible_values(rounded.reshape(1, 3), band)[0] >= least:
            here = rounded
            break
    return question.place(here, band)
