"""The best place on a lattice: tile centres of a lay-in ceiling, or whole steps of a length.

Nobody hangs an array at x = 3.4172 m: it goes in the middle of a tile, or on a round number. Every
lattice place in the box is enumerated; at each the heights that can do are an interval in closed
form, and along it the best height is found by branch and bound on one coordinate, all places and
bands together (margin, slant and constraints change by at most one metre per metre). So the answer is
the best of the lattice, not the lattice point nearest to the best.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band, Floats
from geometry.candidates import TIE_M
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, least_margins
from geometry.heights import height_intervals
from geometry.placement import ENOUGH_M, Place, figures
from geometry.question import Aim

TEE_CLEAR_M = 0.03
"""Kept free between the body and a grid tee, besides the body's radius."""
FINE_M = 1e-5
"""How close to the best height at a place the search comes, metres of margin or slant."""
FINE_DEG = 1e-4
"""The same for the aim `centre`, degrees."""
THINNEST_M = 1e-7
"""A stretch of heights this short that is still open is dropped: nothing can be hung that exactly."""

OUTSIDE, CUT, DEVICE, TEE = (
    "outside the room",
    "in a tile cut to less than half",
    "in a tile that holds a device",
    "too near a grid tee",
)


@dataclass(frozen=True, slots=True)
class CeilingGrid:
    """A lay-in ceiling: tile pitch and the place of one crossing of its tees, metres on plan."""

    pitch_m: tuple[float, float]
    origin_m: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not min(self.pitch_m) > 0:
            raise ValueError(f"CeilingGrid pitch_m is {self.pitch_m}; both must be above 0")


@dataclass(frozen=True, slots=True)
class Cost:
    """What the lattice costs against the free place: positive numbers are worse.

    `moved_m` is the straight-line distance between the two.
    """

    moved_m: float
    margin_lost_m: float
    slant_added_m: float
    rms_off_centre_added_deg: float


@dataclass(frozen=True, slots=True, eq=False)
class Snapped:
    """The best lattice place, or None where no lattice place is allowed.

    `aim` is the one that was taken (`near` and `centre` give way to `tolerance` where no lattice place
    has the margin they ask for; `note` says so). `judged` counts the lattice places searched, `left_out`
    those that were not, by the first reason that applies. The value of `place` is the largest on the
    lattice to within FINE_M (FINE_DEG), places within TIE_M counting as equal.
    """

    to: str
    aim: Aim
    note: str
    place: Place | None
    judged: int
    left_out: dict[str, int]
    cost: Cost | None


def snap(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    to: Literal["tile"] | float,
    outline_m: Floats,
    grid: CeilingGrid | None = None,
    devices_m: Sequence[Floats] = (),
    radius_m: float = 0.0,
    origin_m: tuple[float, float] = (0.0, 0.0),
    height_step_m: float | None = None,
    height_from_m: float = 0.0,
    aim: Aim = "near",
    enough_m: float = ENOUGH_M,
    free: Place | None = None,
) -> Snapped:
    """The best place on the lattice `to`: "tile" (centres of `grid`'s tiles) or a pitch in metres.

    `outline_m` (k, 2) is the room; `devices_m` are plan outlines of what is in the ceiling, (k, 2), or
    (1, 2) for something without size; `radius_m` is the body's on plan. A length's lattice starts at
    `origin_m`. With `height_step_m` heights are whole steps from `height_from_m` too (give the ceiling,
    and the drop is round). With a grid, tiles that hold a device, tiles cut to less than half, and
    places nearer to a tee than the body's radius + 30 mm are left out. `free` is the place without
    snapping, for the cost. ValueError for tiles without a grid or a pitch that is not above 0.
    """
    if not len(heads) or not bands:
        raise ValueError("snap needs at least one head and one band")
    if to == "tile" and grid is None:
        raise ValueError("snap to tile needs the ceiling's grid; found none")
    if to != "tile" and not 0 < to < math.inf:
        raise ValueError(f"snap to {to!r}; allowed is 'tile' or a pitch in metres above 0")
    places, left_out = lattice(
        box, to=to, outline_m=outline_m, grid=grid, devices_m=devices_m, radius_m=radius_m, origin_m=origin_m
    )
    search = _Search(heads, tuple(bands), tuple(constraints), aim, enough_m, height_step_m, height_from_m)
    found = search.best(places, box.low_m[2], box.high_m[2])
    taken, note = aim, ""
    if found is None and aim != "tolerance":
        asked = f"leaves everybody a margin of {enough_m:g} m" if aim == "near" else "covers everybody"
        taken, note = (
            "tolerance",
            f"no place on the lattice {asked}; the one with the largest margin is taken",
        )
        found = replace(search, aim=taken).best(places, box.low_m[2], box.high_m[2])
    if found is None:
        note = "no place on the lattice is allowed"
    return Snapped(
        to="tile" if to == "tile" else f"{to:g} m",
        aim=taken,
        note=note,
        place=found,
        judged=len(places),
        left_out=left_out,
        cost=None if found is None or free is None else _cost(found, free),
    )


def lattice(
    box: SearchBox,
    *,
    to: Literal["tile"] | float,
    outline_m: Floats,
    grid: CeilingGrid | None = None,
    devices_m: Sequence[Floats] = (),
    radius_m: float = 0.0,
    origin_m: tuple[float, float] = (0.0, 0.0),
) -> tuple[Floats, dict[str, int]]:
    """Lattice places (n, 2) in the box that may be used, and how many were left out for which reason.

    The arguments are those of `snap`. Each place left out is counted once, under the first reason in
    the order outside, cut, device, tee; reasons that never apply are not listed.
    """
    import shapely

    pitch = np.array(grid.pitch_m if to == "tile" and grid else (to, to), float)
    start = np.array(grid.origin_m if to == "tile" and grid else origin_m, float)
    if to == "tile":
        start = start + pitch / 2
    first = np.ceil((np.array(box.low_m[:2]) - start) / pitch - 1e-9)
    last = np.floor((np.array(box.high_m[:2]) - start) / pitch + 1e-9)
    steps = np.stack(
        np.meshgrid(*(np.arange(a, b + 1) for a, b in zip(first, last, strict=True)), indexing="ij"), axis=-1
    ).reshape(-1, 2)
    # on the lattice to the last digit, and in the box although its edge was rounded
    places = np.clip(np.round(start + steps * pitch, 9), box.low_m[:2], box.high_m[:2])
    room = shapely.Polygon(outline_m)
    shapely.prepare(room)
    reasons = {OUTSIDE: ~shapely.intersects_xy(room, places[:, 0], places[:, 1])}
    if grid is not None:
        size, corner = np.array(grid.pitch_m, float), np.array(grid.origin_m, float)
        within = (places - corner) / size
        tiles, index = np.unique(np.floor(within), axis=0, return_inverse=True)
        low = corner + tiles * size
        squares = shapely.box(low[:, 0], low[:, 1], low[:, 0] + size[0], low[:, 1] + size[1])
        inside = shapely.area(shapely.intersection(squares, room)) / (size[0] * size[1])
        holds = np.zeros(len(tiles), bool)
        for device in devices_m:
            outline = np.asarray(device, float)
            if len(outline) >= 3:
                shape = shapely.Polygon(outline)
                holds |= shapely.area(shapely.intersection(squares, shape)) > ON_EDGE_M
            else:
                holds |= shapely.intersects(squares, shapely.MultiPoint(outline))
        share = within - np.floor(within)
        to_tee = (np.minimum(share, 1 - share) * size).min(axis=1)
        index = index.reshape(-1)
        reasons[CUT] = inside[index] < 0.5 - 1e-9
        reasons[DEVICE] = holds[index]
        reasons[TEE] = to_tee < radius_m + TEE_CLEAR_M - ON_EDGE_M
    good = np.ones(len(places), bool)
    left_out = {}
    for reason, applies in reasons.items():
        count = int(np.sum(applies & good))
        if count:
            left_out[reason] = count
        good &= ~applies
    return places[good], left_out


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """The search along the heights of all lattice places and bands at once."""

    heads: Heads
    bands: tuple[Band, ...]
    constraints: tuple[Constraint, ...]
    aim: Aim
    enough_m: float
    step_m: float | None
    step_from_m: float

    def best(self, places: Floats, low_m: float, high_m: float) -> Place | None:
        """The best place and height by the aim, ties broken as everywhere; None where nothing is allowed."""
        need = self.enough_m if self.aim == "near" else 0.0
        found = self._with_margin(places, low_m, high_m, need)
        if found is None and self.aim == "tolerance":
            # nobody can cover everybody from the lattice: every height counts, and the exact slack
            found = self._with_margin(places, low_m, high_m, None)
        return found

    def _with_margin(self, places: Floats, low_m: float, high_m: float, need: float | None) -> Place | None:
        at, band, low, high = [], [], [], []
        for b, of in enumerate(self.bands):
            if need is None:
                some = np.arange(len(places))
                lower, upper = np.full(len(places), low_m), np.full(len(places), high_m)
            else:
                lower, upper = height_intervals(
                    places, of, self.heads, self.heads.sway_m + need, floor_m=low_m, ceiling_m=high_m
                )
                # an interval that is one point may come out a rounding error short of it
                middle = (lower + upper) / 2
                touching = (lower > upper) & (lower - upper <= ON_EDGE_M)
                lower, upper = np.where(touching, middle, lower), np.where(touching, middle, upper)
                some = np.flatnonzero(lower <= upper)
            at.append(some)
            band.append(np.full(len(some), b))
            low.append(lower[some])
            high.append(upper[some])
        tasks = _Tasks(
            places[np.concatenate(at)], np.concatenate(band), np.concatenate(low), np.concatenate(high)
        )
        if not len(tasks.band):
            return None
        if self.step_m is None:
            best, height = self._along(tasks, -math.inf if need is None else need)
        else:
            best, height = self._in_steps(tasks, -math.inf if need is None else need)
        most = best.max()
        if most == -math.inf:
            return None
        tie = FINE_DEG if self.aim == "centre" else TIE_M
        equal = [
            figures(self.heads, self.bands, (*tasks.xy[i], height[i]), int(tasks.band[i]))
            for i in np.flatnonzero(best >= most - tie)
        ]
        centroid = self.heads.at_m[:, :2].mean(axis=0)
        return min(
            equal,
            key=lambda p: (
                round(abs(p.mean_off_centre_deg), 6),
                round(math.dist(p.at_m[:2], centroid), 6),
                p.band,
                p.at_m,
            ),
        )

    def _along(self, tasks: _Tasks, need: float) -> tuple[Floats, Floats]:
        """Best value and height of each task over its whole stretch of heights."""
        count = len(tasks.band)
        best, height = np.full(count, -np.inf), np.full(count, np.nan)
        middle, half = (tasks.low + tasks.high) / 2, (tasks.high - tasks.low) / 2
        # the ends are tried too: the smallest slant and thin sets are found there
        task = np.tile(np.arange(count), 3)
        z = np.concatenate([middle, tasks.low, tasks.high])
        half = np.concatenate([half, np.zeros(2 * count)])
        fine = FINE_DEG if self.aim == "centre" else FINE_M
        tie = FINE_DEG if self.aim == "centre" else TIE_M
        ceiling = np.array([self._ceiling(of, need) for of in self.bands])
        while len(task):
            value, bound, fit, possible = self._judge(tasks, task, z, half, need)
            self._keep(task, z, value, fit, best, height)
            bound = np.minimum(bound, ceiling[tasks.band[task]])
            go = possible & (half > THINNEST_M) & (bound > np.maximum(best.max() - tie, best[task] + fine))
            task, z, half = np.repeat(task[go], 2), np.repeat(z[go], 2), np.repeat(half[go] / 2, 2)
            z[::2] -= half[::2]
            z[1::2] += half[1::2]
        return best, height

    def _in_steps(self, tasks: _Tasks, need: float) -> tuple[Floats, Floats]:
        """Best value and height of each task over heights in whole steps."""
        assert self.step_m is not None
        count = len(tasks.band)
        best, height = np.full(count, -np.inf), np.full(count, np.nan)
        first = np.ceil((tasks.low - self.step_from_m) / self.step_m - 1e-6)
        last = np.floor((tasks.high - self.step_from_m) / self.step_m + 1e-6)
        for i in range(int((last - first).max(initial=-1)) + 1):
            task = np.flatnonzero(first + i <= last)
            z = np.round(self.step_from_m + (first[task] + i) * self.step_m, 9)
            value, _, fit, _ = self._judge(tasks, task, z, np.zeros(len(task)), need)
            self._keep(task, z, value, fit, best, height)
        return best, height

    @staticmethod
    def _keep(
        task: NDArray[np.int64],
        z: Floats,
        value: Floats,
        fit: NDArray[np.bool_],
        best: Floats,
        height: Floats,
    ) -> None:
        """Where a height beats the task's best so far, it becomes the best."""
        order = np.flatnonzero(fit)[np.argsort(value[fit], kind="stable")]
        order = order[value[order] > best[task[order]]]
        best[task[order]], height[task[order]] = value[order], z[order]  # the last, the largest, stays

    def _judge(
        self, tasks: _Tasks, task: NDArray[np.int64], z: Floats, half: Floats, need: float
    ) -> tuple[Floats, Floats, NDArray[np.bool_], NDArray[np.bool_]]:
        """Value at z, the most it can be within `half` of z, whether z is allowed and whether anything near is."""
        at = np.column_stack([tasks.xy[task], z])
        margin, value, bound = np.empty(len(at)), np.empty(len(at)), np.empty(len(at))
        for b, of in enumerate(self.bands):
            mine = np.flatnonzero(tasks.band[task] == b)
            if not len(mine):
                continue
            margin[mine] = least_margins(of, at[mine], self.heads)
            if self.aim == "tolerance":
                value[mine], bound[mine] = margin[mine], margin[mine] + half[mine]
            elif self.aim == "near":
                value[mine] = -_worst_slant(self.heads, at[mine])
                bound[mine] = value[mine] + half[mine]
            else:
                value[mine] = -_rms_off_centre(self.heads, of, at[mine], np.zeros(len(mine)))
                bound[mine] = -_rms_off_centre(self.heads, of, at[mine], half[mine])
        signed = np.full(len(at), np.inf)
        for constraint in self.constraints:
            signed = np.minimum(signed, constraint.signed_m(at))
        fit = (signed >= -ON_EDGE_M) & (margin >= need - ON_EDGE_M)
        possible = (signed + half >= -ON_EDGE_M) & (margin + half >= need - ON_EDGE_M)
        return value, bound, fit, possible

    def _ceiling(self, of: Band, need: float) -> float:
        """No place in this band has a larger value: ends the search on plateaus."""
        most = float(self.heads.sway_m.max())
        if self.aim == "tolerance":
            return of.largest_ball_m - most
        return -(of.near_m + need + most) if self.aim == "near" else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Tasks:
    """One lattice place in one band each: plan places (n, 2), band, lowest and highest height (n,)."""

    xy: Floats
    band: NDArray[np.int64]
    low: Floats
    high: Floats


def _worst_slant(heads: Heads, at: Floats) -> Floats:
    """(n,) largest slant to the middle of any head's mouth range."""
    worst = np.zeros(len(at))
    for mouth in heads.at_m:
        np.maximum(worst, ((at - mouth) ** 2).sum(axis=1), out=worst)
    return np.sqrt(worst)


def _rms_off_centre(heads: Heads, of: Band, at: Floats, half: Floats) -> Floats:
    """(n,) the least RMS off-centre within `half` of each position, degrees: it turns by at most asin(half/r)."""
    total = np.zeros(len(at))
    for mouth in heads.at_m:
        rho, t = np.hypot(at[:, 0] - mouth[0], at[:, 1] - mouth[1]), at[:, 2] - mouth[2]
        r = np.hypot(rho, t)
        turn = np.where(r > half, np.arcsin(np.minimum(half / np.maximum(r, 1e-12), 1.0)), math.pi)
        off = np.abs(np.degrees(np.arctan2(t, rho)) - of.middle_deg)
        total += np.maximum(off - np.degrees(turn), 0.0) ** 2
    return np.sqrt(total / len(heads))


def _cost(found: Place, free: Place) -> Cost:
    return Cost(
        moved_m=math.dist(found.at_m, free.at_m),
        margin_lost_m=free.margin_m - found.margin_m,
        slant_added_m=found.worst_slant_m - free.worst_slant_m,
        rms_off_centre_added_deg=found.rms_off_centre_deg - free.rms_off_centre_deg,
    )
