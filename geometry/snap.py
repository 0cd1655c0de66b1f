"""The best place on a lattice: tile centres of a lay-in ceiling, or whole steps of a length.

Nobody hangs an array at x = 3.4172 m: it goes in the middle of a tile, or on a round number. Every
lattice place in the box is enumerated; at each the heights that can do are an interval in closed
form, and along it the best height is found by branch and bound on one coordinate, all places and
bands together (scores and constraints change by at most one metre per metre). So the answer is
the best of the lattice, not the lattice point nearest to the best.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

import numpy as np

from geometry.aims import Aim, AimName, Reach
from geometry.band import ON_EDGE_M, Floats
from geometry.candidates import TIE_M
from geometry.constraint import SearchBox
from geometry.coverage import Heads
from geometry.hearing import Bools, Figures, Indices
from geometry.heights import height_intervals
from geometry.kind import ArrayKind, Position
from geometry.placement import Prepared, figures_at, question_of
from geometry.question import Question
from geometry.records import record

FINE = 0.01
"""How close to the best height at a place the search comes, as a share of the aim's gap."""
THINNEST_M = 1e-7
"""A stretch of heights this short that is still open is dropped: nothing can be hung that exactly."""
OPEN_M = 0.2
"""Stretches of heights are asked about in pieces this long before bands are: what is closed is soon found."""
LEAST_TILE = 0.5
"""A tile of which less than this share is left is cut too small to hang anything in its middle."""

Lacks = Literal["margin", "spare"]
"""What no lattice place has of what an aim needs: the margin by itself, or that and a spare of every rule."""
LeftOut = Literal["outside", "cut", "device", "tee"]
"""Why a lattice place may not be used: outside the room, in a tile cut to less than half, in a tile that
holds a device, too near a grid tee."""


@record(frozen=True, slots=True)
class CeilingGrid:
    """A lay-in ceiling: tile pitch and the place of one crossing of its tees, metres on plan."""

    pitch_m: tuple[float, float]
    origin_m: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not min(self.pitch_m) > 0:
            raise ValueError(f"CeilingGrid pitch_m is {self.pitch_m}; both must be above 0")


@record(frozen=True, slots=True, eq=False)
class Lattice:
    """The places an array may take: centres of the grid's tiles (`pitch_m` None), or whole steps of a pitch.

    outline_m      (k, 2) the room
    grid           the lay-in ceiling, None where there is none
    devices_m      plan outlines of what is in the ceiling, (k, 2), or (1, 2) for something without size
    passes_m       half extents on plan, along x and y, of what passes the ceiling or lies in it
    off_tees_m     kept free between that and the middle of a tee; None: tees do not matter
    origin_m       where a pitch's lattice starts
    height_step_m  heights too are whole steps, from `height_from_m` (give the ceiling, and the drop is
                   round); None: any height

    With a grid, tiles that hold a device, tiles cut to less than half, and places too near to a tee are left
    out.
    """

    pitch_m: float | None
    outline_m: Floats
    grid: CeilingGrid | None = None
    devices_m: tuple[Floats, ...] = ()
    passes_m: tuple[float, float] = (0.0, 0.0)
    off_tees_m: float | None = None
    origin_m: tuple[float, float] = (0.0, 0.0)
    height_step_m: float | None = None
    height_from_m: float = 0.0

    def __post_init__(self) -> None:
        if self.pitch_m is None and self.grid is None:
            raise ValueError("Lattice of tiles needs the ceiling's grid; found none")
        if self.pitch_m is not None and not 0 < self.pitch_m < math.inf:
            raise ValueError(
                f"Lattice pitch_m is {self.pitch_m!r}; allowed is more than 0, or None for tiles"
            )

    def places(self, box: SearchBox) -> tuple[Floats, dict[LeftOut, int]]:
        """Places (n, 2) in the box that may be used, and how many were left out for which reason.

        Each place left out is counted once, under the first reason in the order outside, cut, device,
        tee; reasons that never apply are not listed.
        """
        places = self._nodes(box)
        good = np.ones(len(places), bool)
        left_out: dict[LeftOut, int] = {}
        for reason, applies in self._reasons(places).items():
            count = int(np.sum(applies & good))
            if count:
                left_out[reason] = count
            good &= ~applies
        return places[good], left_out

    def _nodes(self, box: SearchBox) -> Floats:
        """(n, 2) every node of the lattice in the box."""
        if self.pitch_m is None and self.grid is not None:
            pitch = np.array(self.grid.pitch_m, float)
            start = np.array(self.grid.origin_m, float) + pitch / 2
        else:
            pitch, start = np.full(2, self.pitch_m, float), np.array(self.origin_m, float)
        first = np.ceil((np.array(box.low_m[:2]) - start) / pitch - 1e-9)
        last = np.floor((np.array(box.high_m[:2]) - start) / pitch + 1e-9)
        steps = np.stack(
            np.meshgrid(*(np.arange(a, b + 1) for a, b in zip(first, last, strict=True)), indexing="ij"),
            axis=-1,
        ).reshape(-1, 2)
        # on the lattice to the last digit, and in the box although its edge was rounded
        return np.asarray(np.clip(np.round(start + steps * pitch, 9), box.low_m[:2], box.high_m[:2]))

    def _reasons(self, places: Floats) -> dict[LeftOut, Bools]:
        """(n,) for each reason the places it applies to."""
        import shapely

        room = shapely.Polygon(self.outline_m)
        shapely.prepare(room)
        reasons: dict[LeftOut, Bools] = {"outside": ~shapely.intersects_xy(room, places[:, 0], places[:, 1])}
        if self.grid is None:
            return reasons
        size, corner = np.array(self.grid.pitch_m, float), np.array(self.grid.origin_m, float)
        within = (places - corner) / size
        tiles, index = np.unique(np.floor(within), axis=0, return_inverse=True)
        low = corner + tiles * size
        squares = shapely.box(low[:, 0], low[:, 1], low[:, 0] + size[0], low[:, 1] + size[1])
        inside = shapely.area(shapely.intersection(squares, room)) / (size[0] * size[1])
        holds = np.zeros(len(tiles), bool)
        for device in self.devices_m:
            outline = np.asarray(device, float)
            if len(outline) >= 3:
                shape = shapely.Polygon(outline)
                holds |= shapely.area(shapely.intersection(squares, shape)) > ON_EDGE_M
            else:
                holds |= shapely.intersects(squares, shapely.MultiPoint(outline))
        share = within - np.floor(within)
        to_tee = (np.minimum(share, 1 - share) * size - np.array(self.passes_m, float)).min(axis=1)
        index = index.reshape(-1)
        reasons["cut"] = inside[index] < LEAST_TILE - 1e-9
        reasons["device"] = holds[index]
        if self.off_tees_m is not None:
            reasons["tee"] = to_tee < self.off_tees_m - ON_EDGE_M
        return reasons


@record(frozen=True, slots=True)
class Cost:
    """What the lattice costs against the free place: positive numbers are worse.

    `moved_m` is the straight-line distance between the two.
    """

    moved_m: float
    margin_lost_m: float
    slant_added_m: float
    rms_off_centre_added_deg: float


@record(frozen=True, slots=True, eq=False)
class Snapped:
    """The best lattice place, or None where no lattice place is allowed.

    `aim` is the one that was taken: the one asked for, or what it gave way to where no lattice place has
    what it needs; `lacks` says of what. `judged` counts the lattice places searched, `left_out` those that
    were not, by the first reason that applies. The score of `position` is the largest on the lattice to
    within a hundredth of the aim's gap, places within TIE_M counting as equal.
    """

    lattice: Lattice
    aim: AimName
    position: Position | None
    figures: Figures | None
    judged: int
    left_out: Mapping[LeftOut, int]
    cost: Cost | None
    lacks: Lacks | None = None


def snap(
    heads: Heads,
    kind: ArrayKind,
    lattice: Lattice,
    aim: Aim,
    *,
    instead: Aim | None = None,
    free: Position | None = None,
    prepared: Prepared | None = None,
) -> Snapped:
    """The best place on the lattice by an aim, or by `instead` where no place has what the aim needs.

    `free` is the place without snapping, for the cost; `prepared` as in `search`.
    """
    places, left_out = lattice.places(kind.box)
    taken = aim
    lacks: Lacks | None = None
    found = _best(question_of(heads, kind, aim, prepared), places, lattice)
    if found is None and instead is not None:
        taken = instead
        found = _best(question_of(heads, kind, instead, prepared), places, lattice)
    figures = None if found is None else figures_at(heads, kind, found, prepared)
    cost = None
    if found is not None and figures is not None and free is not None:
        cost = cost_of(found, figures, free, figures_at(heads, kind, free, prepared))
    if taken is not aim and figures is not None:
        # the place taken has the largest margin of all: where that is enough, it is the spare that failed
        lacks = "margin" if figures.margin_m < aim.needs_margin_m - ON_EDGE_M else "spare"
    return Snapped(lattice, taken.name, found, figures, len(places), left_out, cost, lacks)


def _best(question: Question, places: Floats, lattice: Lattice) -> Position | None:
    """The best place and height by the aim, ties broken as everywhere; None where nothing is allowed."""
    aim = question.aim
    low, high = float(question.low_m[2]), float(question.high_m[2])
    bare = not math.isfinite(aim.needs_margin_m)
    if not aim.counts_heads:
        need = 0.0 if bare else aim.needs_margin_m
        found = _Heights(question, _stretches(question, places, low, high, need), lattice).best()
        if found is not None or not bare:
            return found
    # nobody can cover everybody from the lattice: every height counts, and the exact slack
    question = question.exactly()
    return _Heights(question, _open_stretches(question, places, low, high), lattice).best()


@record(frozen=True, slots=True, eq=False)
class _Tasks:
    """One lattice place in one band each: plan places (n, 2), band, lowest and highest height (n,)."""

    xy: Floats
    band: Indices
    low: Floats
    high: Floats


def _stretches(question: Question, places: Floats, low_m: float, high_m: float, need: float) -> _Tasks:
    """The heights of every place and band at which everybody keeps the margin `need`."""
    heads = question.hearing.heads
    demand = np.maximum(heads.sway_m + need, 0.0)
    at, band, low, high = [], [], [], []
    for b, of in enumerate(question.hearing.bands):
        lower, upper = height_intervals(places, of, heads, demand, floor_m=low_m, ceiling_m=high_m)
        # an interval that is one point may come out a rounding error short of it
        middle = (lower + upper) / 2
        touching = (lower > upper) & (lower - upper <= ON_EDGE_M)
        lower, upper = np.where(touching, middle, lower), np.where(touching, middle, upper)
        some = np.flatnonzero(lower <= upper)
        at.append(some)
        band.append(np.full(len(some), b))
        low.append(lower[some])
        high.append(upper[some])
    return _Tasks(places[np.concatenate(at)], np.concatenate(band), np.concatenate(low), np.concatenate(high))


def _open_stretches(question: Question, places: Floats, low_m: float, high_m: float) -> _Tasks:
    """The heights of every place at which something may be allowed, in every band: short stretches.

    What binds a place asks for no band, so it is asked once for all of them.
    """
    place = np.arange(len(places))
    low, high = np.full(len(places), low_m), np.full(len(places), high_m)
    while True:
        middle, half = (low + high) / 2, (high - low) / 2
        left = np.arange(len(place))
        for demand in question.demands:
            at = np.column_stack([places[place[left]], middle[left]])
            left = left[demand.most(at, 0.0) - demand.keep_m + half[left] >= -ON_EDGE_M]
            if not len(left):
                break
        place, low, high = place[left], low[left], high[left]
        if not len(place) or (high - low).max() <= OPEN_M:
            break
        middle = (low + high) / 2
        place = np.repeat(place, 2)
        low, high = (np.column_stack(ends).reshape(-1) for ends in ((low, middle), (middle, high)))
    bands = len(question.hearing.bands)
    return _Tasks(
        np.repeat(places[place], bands, axis=0),
        np.tile(np.arange(bands), len(place)),
        np.repeat(low, bands),
        np.repeat(high, bands),
    )


class _Heights:
    """The search along the heights of all lattice places and bands at once."""

    def __init__(self, question: Question, tasks: _Tasks, lattice: Lattice) -> None:
        self.question, self.tasks, self.lattice = question, tasks, lattice
        aim, hearing = question.aim, question.hearing
        self.ceiling = np.array([aim.ceiling(hearing, band) for band in range(len(hearing.bands))])
        self.top = np.full(len(tasks.band), -np.inf)
        self.height = np.full(len(tasks.band), np.nan)

    def best(self) -> Position | None:
        """The best of all, of equals by the tie rule; None where nothing is allowed."""
        tasks, question = self.tasks, self.question
        if not len(tasks.band):
            return None
        if self.lattice.height_step_m is None:
            self._along()
        else:
            self._in_steps(self.lattice.height_step_m)
        if self.top.max() == -math.inf:
            return None
        equal = np.flatnonzero(self.top >= self._worth())
        at = np.column_stack([tasks.xy[equal], self.height[equal]])
        mean, _ = question.hearing.off_centre(at, tasks.band[equal])
        away = np.hypot(*(at[:, :2] - question.hearing.heads.at_m[:, :2].mean(axis=0)).T)
        keys = (at[:, 2], at[:, 1], at[:, 0], tasks.band[equal], np.round(away, 6), np.round(np.abs(mean), 6))
        first = int(np.lexsort(keys)[0])
        x, y, z = (float(number) for number in at[first])
        return Position((x, y, z), int(tasks.band[equal[first]]))

    def _tie(self) -> float:
        return TIE_M if self.question.aim.unit != "deg" else self.question.aim.gap * FINE

    def _worth(self) -> float:
        """What a score must reach to count: the best there is, but for a tie."""
        return float(self.top.max() - self._tie())

    def _along(self) -> None:
        """Best score and height of each task over its whole stretch of heights."""
        tasks, gap, count = self.tasks, self.question.aim.gap, len(self.tasks.band)
        middle, half = (tasks.low + tasks.high) / 2, (tasks.high - tasks.low) / 2
        # the ends are tried too: the smallest slant and thin sets are found there
        task = np.tile(np.arange(count), 3)
        z = np.concatenate([middle, tasks.low, tasks.high])
        half = np.concatenate([half, np.zeros(2 * count)])
        while len(task):
            bound, possible = self._judge(task, z, half)
            go = possible & (half > THINNEST_M) & (bound > self._least(task, gap * FINE))
            task, z, half = np.repeat(task[go], 2), np.repeat(z[go], 2), np.repeat(half[go] / 2, 2)
            z[::2] -= half[::2]
            z[1::2] += half[1::2]

    def _in_steps(self, step_m: float) -> None:
        """Best score and height of each task over heights in whole steps: its stretch, halved at a step."""
        tasks, start = self.tasks, self.lattice.height_from_m
        first = np.ceil((tasks.low - start) / step_m - 1e-6).astype(np.intp)
        last = np.floor((tasks.high - start) / step_m + 1e-6).astype(np.intp)
        task = np.flatnonzero(first <= last)
        first, last = first[task], last[task]
        while len(task):
            middle = (first + last) // 2
            z = np.round(start + middle * step_m, 9)
            bound, possible = self._judge(task, z, (last - middle) * step_m)
            go = possible & (first < last) & (bound > self._least(task, 0.0))
            task, first, last, middle = task[go], first[go], last[go], middle[go]
            task, first, last = (
                np.concatenate(parts) for parts in ((task, task), (first, middle + 1), (middle - 1, last))
            )
            some = first <= last
            task, first, last = task[some], first[some], last[some]

    def _least(self, task: Indices, more: float) -> Floats:
        """(n,) what a stretch must be able to reach: all but the best there is, and `more` than its task has."""
        least: Floats = np.maximum(self._worth(), self.top[task] + more)
        return least

    def _judge(self, task: Indices, z: Floats, half: Floats) -> tuple[Floats, Bools]:
        """(n,) the most the score can be within `half` of z, and whether anything near is allowed and counts.

        Where a height beats its task's best so far, it becomes the best.
        """
        question, aim, hearing = self.question, self.question.aim, self.question.hearing
        at, bands = np.column_stack([self.tasks.xy[task], z]), self.tasks.band[task]
        heard = aim.hear(hearing, at, bands)
        scores = aim.scores(hearing, at, bands, heard)
        reach = Reach(half, np.array([False, False, True]), question.caps_m)
        bounds = np.minimum(aim.bounds(hearing, at, bands, heard, scores, reach), self.ceiling[bands])
        worth = self._worth()
        possible = (aim.least(heard) + half >= aim.needs_margin_m - ON_EDGE_M) & (bounds >= worth)
        for demand in question.demands:
            asked = np.flatnonzero(possible)
            if not len(asked):
                break
            most = demand.most(at[asked], 0.0) - demand.keep_m + half[asked]
            possible[asked] = most >= -ON_EDGE_M
            if demand.counts:
                bounds[asked] = np.minimum(bounds[asked], most)
        found = np.full(len(task), -np.inf)
        left = np.flatnonzero(possible)
        found[left] = question.judged(at[left], bands[left], worth)
        order = np.flatnonzero(found > -np.inf)
        order = order[np.argsort(found[order], kind="stable")]
        order = order[found[order] > self.top[task[order]]]
        # the last, the largest, stays
        self.top[task[order]], self.height[task[order]] = found[order], z[order]
        return bounds, possible


def cost_of(found: Position, figures: Figures, free: Position, of_free: Figures) -> Cost:
    return Cost(
        moved_m=math.dist(found.at_m, free.at_m),
        margin_lost_m=of_free.margin_m - figures.margin_m,
        slant_added_m=figures.worst_slant_m - of_free.worst_slant_m,
        rms_off_centre_added_deg=figures.rms_off_centre_deg - of_free.rms_off_centre_deg,
    )
