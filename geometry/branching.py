"""Branch and bound: the box of positions split into cells until the best place is proven best.

The margin over all heads, the worst slant, every constraint and every line of sight change by at most one
metre per metre of movement. So the value at a cell's centre plus the cell's half diagonal bounds everything
inside it. Cells that cannot beat the best allowed place seen, or in which something that binds cannot be
met, are dropped with that reason written down; the rest are halved along every free coordinate. When none
is left the search is over, and the list of dropped cells is the proof: anybody can recompute each reason
from one number.

The bound uses the least of the four edge numbers, which equals the exact slack wherever slack >= 0, or
the exact slack where the question asks for it. Held coordinates are removed from the search: the box
is flat there and cells are not split along it. Margins cost least and are asked first, then rules, then
sight.
"""

from __future__ import annotations

import functools
import itertools
import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from geometry.aims import AimName, Margin
from geometry.band import ON_EDGE_M, Floats
from geometry.candidates import Incumbent, settle_ties
from geometry.constraint import Key
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.question import FLAT_M, Demand, Question
from geometry.records import record
from geometry.shadow import sides_for

Outcome = Literal["certified", "none allowed", "unresolved"]

Why = Key
"""Why a cell was dropped: a word of `Certificate`, and what it is about."""

PATIENCE = 10_000
"""Evaluations after which what still competes is asked what no place could beat for one head alone."""
LONE_EVALUATIONS = 200_000
"""Most evaluations for one of them."""
ALONE = 3
"""Most heads asked for by themselves in each band."""
FIRST_CELLS = 8
"""Cells along the longest side of the box to begin with."""
LARGEST_INDEX = 2**62
"""A box of cells larger than this has no room for a whole number a cell."""
SMALLEST_RADIUS_M = 2e-7
"""Cells this small that are still open mean that what is allowed is thinner than can be judged."""
TELL_EVERY_S = 0.2
"""Progress is told no more often than this."""


@dataclass(slots=True)
class Leaves:
    """The dropped cells, gathered as the search goes."""

    record: bool
    share_each: float
    """The share of box and bands that one cell is."""
    bound: float = -math.inf
    share: dict[Why, float] = field(default_factory=dict)
    """Why cells were dropped, and what share of box and bands went that way."""
    groups: list[dict[str, Any]] = field(default_factory=list)
    """Cells of one size, one band and one reason together, as plain data; only kept with `record`."""

    def add(self, centres: Floats, bands: Indices, half: Floats, why: Why) -> None:
        if not len(centres):
            return
        self.share[why] = self.share.get(why, 0.0) + self.share_each * len(centres)
        if self.record:
            half_m = [float(h) for h in half]
            reason = {"why": why[0]} if len(why) == 1 else {"why": why[0], "key": list(why[1:])}
            self.groups += [
                {"half_m": half_m, "band": band, **reason, "centres_m": centres[bands == band].tolist()}
                for band in np.unique(bands).tolist()
            ]


@record(frozen=True, slots=True, eq=False)
class Searched:
    """How a search ended. `bound` is None when nothing is allowed, at_m when no allowed place was seen."""

    outcome: Outcome
    at_m: Floats | None
    band: int
    bound: float | None
    evaluations: int
    leaves: Leaves
    caps_m: Floats


@record(frozen=True, slots=True)
class Progress:
    """How far a search has come: values computed, what no place can beat, the best place's value.

    `bound` and `best` are as people say them; best is None until an allowed place is seen. Where a search
    has to begin again with the exact slack, the count does too.
    """

    aim: AimName
    evaluations: int
    bound: float
    best: float | None


@record(frozen=True, slots=True)
class Task:
    """How a search is to be made.

    gap          how far the bound may be from the best place's score
    evaluations  most (cell, band) values to compute; when they are spent the outcome is "unresolved"
    at_least     stop at the first place of at least this score, or when the bound falls below it
    record       keep the dropped cells
    progress     told how far it is, at most every TELL_EVERY_S
    """

    gap: float
    evaluations: int
    at_least: float | None = None
    record: bool = False
    progress: Callable[[Progress], None] | None = None


def branch_and_bound(question: Question, task: Task, start: Sequence[tuple[Floats, int]] = ()) -> Searched:
    """The best allowed place of the question, with a bound at most the task's gap above it.

    `start` are positions and their bands to begin from, as far as they are allowed.
    """
    return _Tree(question, task).searched(start)


@record(frozen=True, slots=True, eq=False)
class _Rows:
    """The open (cell, band) pairs of one size: whole-number cells, what is known at their centres, and which
    demands (n, m) are met all over the cell."""

    cells: Indices
    bands: Indices
    centres: Floats
    heard: Floats
    """What the aim hears, positions along the last axis."""
    scores: Floats
    bounds: Floats
    clear: Bools

    def __len__(self) -> int:
        return len(self.cells)

    def where(self, keep: Bools) -> _Rows:
        if keep.all():
            return self
        some = np.flatnonzero(keep)
        return _Rows(
            self.cells[some],
            self.bands[some],
            self.centres[some],
            self.heard[..., some],
            self.scores[some],
            self.bounds[some],
            self.clear[some],
        )

    def valued(self, scores: Floats, bounds: Floats) -> _Rows:
        return _Rows(self.cells, self.bands, self.centres, self.heard, scores, bounds, self.clear)

    def once(self) -> tuple[Indices, Indices]:
        """The first row of each cell, and the cell each row is of: what bands share is asked once."""
        return first_of_each(self.cells)


def first_of_each(cells: Indices) -> tuple[Indices, Indices]:
    """Of whole-number cells (n, 3) the first row of each that is different, and which of those each row is."""
    cells = cells - cells.min(axis=0)
    if math.prod((cells.max(axis=0) + 1).tolist()) > LARGEST_INDEX:
        # halved so often that one number for each cell would be too long: places in order will do
        cells = np.column_stack([np.unique(side, return_inverse=True)[1] for side in cells.T])
    numbers = np.ravel_multi_index(tuple(cells.T), tuple((cells.max(axis=0) + 1).tolist()))
    _, first, which = np.unique(numbers, return_index=True, return_inverse=True)
    return first, which


class _Tree:
    """A search under way: the cells of one size that are open, the best place seen, the leaves."""

    def __init__(self, question: Question, task: Task) -> None:
        self.question, self.task = question, task
        self.aim = question.aim
        self.best = Incumbent(question)
        # go further than the gap asked for: what is left over is room to settle ties and to round the place
        self.closed = task.gap * self.aim.closes
        self.spent = 0
        self.half = np.zeros(3)
        self.leaves = Leaves(task.record, 1.0)
        self.ceiling, self.why_capped = np.zeros(0), [""]
        self.told_at, self.bound_told = time.perf_counter(), math.inf
        self.lines = len(question.sight) if self.aim.counts_heads and question.sight is not None else 0

    @property
    def radius(self) -> float:
        return math.hypot(*self.half)

    @property
    def to(self) -> float:
        """A cell that has no more than this is of no use."""
        if self.task.at_least is not None:
            return self.task.at_least - 1e-12
        return self.best.score + self.closed

    @property
    def asked_spare(self) -> float:
        """What must be left of a demand somewhere in a cell: more than nothing where cells are slim enough."""
        return self.aim.slim_m if self.radius <= self.aim.slim_m / 2 else 0.0

    def searched(self, start: Sequence[tuple[Floats, int]]) -> Searched:
        """The whole search."""
        question, best = self.question, self.best
        cells, self.half = _first_cells(question)
        for spot, band in start:
            if np.all((question.low_m - FLAT_M <= spot) & (spot <= question.high_m + FLAT_M)):
                best.offer(np.clip(spot, question.low_m, question.high_m).reshape(1, 3), np.array([band]))
        self._find_ceilings()
        if best.at is None:
            best.begin()
        # one row for each open (cell, band)
        count = len(question.hearing.bands)
        bands = np.repeat(np.arange(count), len(cells))
        cells = np.tile(cells, (count, 1))
        clear = np.zeros((len(cells), len(question.demands) + self.lines), np.bool_)
        self.leaves.share_each = 1.0 / max(len(cells), 1)
        outcome: Outcome = "certified"
        patience = PATIENCE if question.free[0] and question.free[1] and self.aim.closes_alone else math.inf
        while len(cells):
            if self.spent > patience:
                patience = math.inf
                self._lower_ceilings(bands)
            rows = self._level(cells, bands, clear)
            if self.task.at_least is not None and best.score >= self.task.at_least:
                break
            if len(rows) and self._at_the_end(rows):
                outcome = "unresolved"
                break
            cells, bands, clear = self._halved(rows)
        return self._ended(outcome)

    def _level(self, cells: Indices, bands: Indices, clear: Bools) -> _Rows:
        """The rows of one size that are left after everything was asked of them."""
        rows = self._heard(cells, bands, clear)
        fit = self.aim.least(rows.heard) >= self.aim.needs_margin_m - ON_EDGE_M
        if len(rows) and self.question.demands:
            allowed, keep, rows = self._ask(rows)
            rows, fit = rows.where(keep), (fit & allowed)[keep]
        if len(rows) and self.lines:
            rows = self._look(rows)
        self.best.take(rows.centres[fit], rows.bands[fit], rows.scores[fit])
        hopeful = rows.where(
            np.minimum(rows.bounds, self.ceiling[rows.bands]) > self.best.score + self.closed
        )
        if len(hopeful):
            least = self.aim.least(hopeful.heard)
            self.best.improve(hopeful.centres, hopeful.bands, least, hopeful.bounds, self.half)
        rows = rows.where(~self._beaten(rows))
        most = np.minimum(rows.bounds, self.ceiling[rows.bands]).max(initial=self.leaves.bound)
        self.bound_told = min(self.bound_told, float(most))
        self._tell()
        return rows

    def _heard(self, cells: Indices, bands: Indices, clear: Bools) -> _Rows:
        """The rows with their margins and scores; those that lack the margin or cannot win are dropped.

        Scores before constraints: they cost less, and what cannot beat the best need not be allowed.
        """
        aim, hearing, radius = self.aim, self.question.hearing, self.radius
        centres = self.question.low_m + (2 * cells + 1) * self.half
        self.spent += len(cells)
        heard = aim.hear(hearing, centres, bands)
        if math.isfinite(aim.needs_margin_m):
            lost = aim.least(heard) + radius < aim.needs_margin_m - ON_EDGE_M
            self.leaves.add(centres[lost], bands[lost], self.half, ("margin",))
            kept = ~lost
            cells, bands, centres = cells[kept], bands[kept], centres[kept]
            heard, clear = heard[..., kept], clear[kept]
        scores = aim.scores(hearing, centres, bands, heard)
        bounds = aim.bounds(hearing, centres, bands, heard, scores, self.question.reach(radius))
        rows = _Rows(cells, bands, centres, heard, scores, bounds, clear)
        return rows.where(~self._beaten(rows))

    def _beaten(self, rows: _Rows) -> Bools:
        """Which rows cannot beat the best by more than the gap (or reach `at_least`), written down."""
        to, ceiling, leaves = self.to, self.ceiling, self.leaves
        beaten = rows.bounds <= to
        capped = ~beaten & (ceiling[rows.bands] <= to)
        gone = beaten | capped
        if gone.any():
            most = float(rows.bounds[gone].clip(max=ceiling[rows.bands[gone]]).max())
            leaves.bound = max(leaves.bound, most)
            leaves.add(rows.centres[beaten], rows.bands[beaten], self.half, ("value",))
        if capped.any():
            for band in np.unique(rows.bands[capped]).tolist():
                mine = capped & (rows.bands == band)
                leaves.add(rows.centres[mine], rows.bands[mine], self.half, (self.why_capped[band],))
        return gone

    def _ask(self, rows: _Rows) -> tuple[Bools, Bools, _Rows]:
        """(n,) whether each centre is allowed, (n,) whether anything in its cell may be, and the rows.

        A cell is asked once for all bands. What shut most so far comes first, and what one demand shuts
        is not asked of the others; what is met by more than the radius is met all over the cell, and its
        children need not ask again. Where spares are part of the score, so are they of scores and bounds.
        """
        first, cell = rows.once()
        asking = _Asking(rows.centres[first], rows.clear[first], _most_of(rows.bounds, cell, len(first)))
        demands = self.question.demands
        enough = self.radius + (
            np.maximum(asking.bounds, 0.0) if self.aim.counts_spares else np.zeros(len(first))
        )
        asking.clear[:, : len(demands)] |= self.question.met_by_height(asking.centres, enough)
        before = [self.leaves.share.get(demand.key, 0.0) for demand in demands]
        for k in sorted(range(len(demands)), key=lambda k: -before[k]):
            for why, now in asking.ask(demands[k], k, self.radius, self.asked_spare, self.to):
                dropped = now[cell]
                self.leaves.add(rows.centres[dropped], rows.bands[dropped], self.half, why)
            self._tell()
        self.leaves.bound = max(self.leaves.bound, asking.beaten_at)
        rows.clear[:, : len(demands)] = asking.clear[cell][:, : len(demands)]
        if self.aim.counts_spares:
            rows = rows.valued(
                np.minimum(rows.scores, asking.spare_least[cell]),
                np.minimum(rows.bounds, asking.spare_most[cell]),
            )
        return asking.allowed[cell], ~asking.shut[cell], rows

    def _look(self, rows: _Rows) -> _Rows:
        """The rows scored and bounded by the heads they see: who is hidden all over a cell counts nowhere in it."""
        sight, aim, hearing = self.question.sight, self.aim, self.question.hearing
        assert sight is not None
        radius, rules = self.radius, len(self.question.demands)
        first, cell = rows.once()
        centres, clear = rows.centres[first], rows.clear[first]
        gone = np.zeros((len(hearing.heads), len(first)), np.bool_)
        dark = gone.copy()
        for k in range(self.lines):
            asked = np.flatnonzero(~clear[:, rules + k])
            by_height = sight.clear_at_least_m(k, centres[asked]) >= radius
            clear[asked[by_height], rules + k] = True
            asked = asked[~by_height]
            if not len(asked):
                continue
            sides = sides_for(sight.solids[k], radius)
            most = sight.signed_m(k, centres[asked], sides=sides)
            least = sight.signed_m(k, centres[asked], side="outer", sides=sides)
            clear[asked, rules + k] = least.min(axis=0) >= radius
            gone[:, asked] |= most + radius < self.asked_spare - ON_EDGE_M
            dark[:, asked] |= least < -ON_EDGE_M
        rows.clear[:, rules:] = clear[cell][:, rules:]
        if not dark.any():
            return rows
        heard = np.where(dark[:, cell], UNSEEN_M, rows.heard)
        scores = aim.scores(hearing, rows.centres, rows.bands, heard)
        heard = np.where(gone[:, cell], UNSEEN_M, rows.heard)
        reach = self.question.reach(radius)
        bounds = aim.bounds(hearing, rows.centres, rows.bands, heard, scores, reach)
        return rows.valued(scores, np.minimum(rows.bounds, bounds))

    def _at_the_end(self, rows: _Rows) -> bool:
        """Whether the effort is spent or the cells are too small, with what is open written down."""
        children = 2 ** int(self.question.free.sum())
        coming = self.spent + len(rows) * children
        if coming <= self.task.evaluations and self.radius >= SMALLEST_RADIUS_M and self.question.free.any():
            return False
        most = float(np.minimum(rows.bounds, self.ceiling[rows.bands]).max())
        self.leaves.bound = max(self.leaves.bound, most)
        self.leaves.add(rows.centres, rows.bands, self.half, ("open",))
        return True

    def _halved(self, rows: _Rows) -> tuple[Indices, Indices, Bools]:
        free = self.question.free
        children = _children(tuple(free.tolist()))
        self.half = self.half / np.where(free, 2, 1)
        self.leaves.share_each /= len(children)
        return (
            (2 * rows.cells[:, None, :] * free + children).reshape(-1, 3),
            np.repeat(rows.bands, len(children)),
            np.repeat(rows.clear, len(children), axis=0),
        )

    def _find_ceilings(self) -> None:
        """What no place of each band can beat whatever the cells say, and why.

        Turning the array about a lone head changes nothing: a search in a half plane bounds the whole, and
        saves closing in on a ring of places that are all as good.
        """
        question, task = self.question, self.task
        count = len(question.hearing.bands)
        self.ceiling = np.array([self.aim.ceiling(question.hearing, band) for band in range(count)])
        self.why_capped = [self.aim.ceiling_why if math.isfinite(c) else "margin" for c in self.ceiling]
        if question.is_one_spot and question.free[0] and question.free[1]:
            closer = task.gap / 4 if self.aim.closes_alone else task.gap
            for band in range(count):
                found = branch_and_bound(question.in_half_plane(band), Task(closer, task.evaluations))
                self.spent += found.evaluations
                if found.outcome == "unresolved":
                    continue
                self._lower(band, -math.inf if found.bound is None else found.bound)
                if found.at_m is not None:
                    ring = question.ring(found.at_m)
                    self.best.offer(ring, np.full(len(ring), band))
        self.bound_told = float(self.ceiling.max())

    def _lower(self, band: int, bound: float) -> None:
        if bound < self.ceiling[band]:
            self.ceiling[band], self.why_capped[band] = bound, "alone"

    def _lower_ceilings(self, bands: Indices) -> None:
        """The ceilings of the bands still open lowered to what a head has by itself.

        Where the best for one head is as good over a whole area or along a ring (a band from 0° at a held
        height, a talker who limits alone) cells close in on it too slowly.
        """
        question = self.question
        at = (question.low_m + question.high_m) / 2 if self.best.at is None else self.best.at
        task = Task(self.task.gap / 4, LONE_EVALUATIONS)
        for band in np.unique(bands).tolist():
            for alike, head in question.lone_heads(at, band)[:ALONE]:
                # the whole circle about the head counts, wherever it stands
                alone = question.of_one(head, Margin() if self.aim.counts_heads else self.aim)
                found = branch_and_bound(alone.in_half_plane(band), task)
                self.spent += found.evaluations
                if found.outcome == "unresolved":
                    continue
                bound = -math.inf if found.bound is None else found.bound
                if self.aim.counts_heads:
                    caps = question.caps_m
                    caps[alike, band] = np.minimum(caps[alike, band], bound)
                else:
                    self._lower(band, bound)

    def _tell(self) -> None:
        now = time.perf_counter()
        if self.task.progress is not None and now - self.told_at >= TELL_EVERY_S:
            self.told_at = now
            best = None if self.best.at is None else self.aim.figure(self.best.score)
            bound = self.aim.figure(max(self.bound_told, self.best.score))
            self.task.progress(Progress(self.aim.name, self.spent, bound, best))

    def _ended(self, outcome: Outcome) -> Searched:
        """The record of the finished search, ties decided where the best place was asked for."""
        best, leaves, at_least, gap = self.best, self.leaves, self.task.at_least, self.task.gap
        bound: float | None = max(leaves.bound, best.score)
        assert bound is not None
        not_reached = at_least is not None and best.score < at_least and outcome == "certified"
        if not_reached and at_least is not None and leaves.bound > -math.inf:
            bound = max(at_least, best.score)
        if outcome == "unresolved" and best.at is not None and bound - best.score <= gap:
            # cells left over at the end are bounded like those dropped, and that was enough
            outcome = "certified"
        if bound == -math.inf:
            bound = None
            outcome = "none allowed" if outcome == "certified" else outcome
        at, band = best.at, best.band
        if at is not None and bound is not None and at_least is None:
            least = bound - gap if outcome == "certified" else best.score
            at, band = settle_ties(best, min(least, best.score))
        return Searched(outcome, at, band, bound, self.spent, leaves, self.question.caps_m)


class _Asking:
    """What the demands said of one level's cells so far."""

    def __init__(self, centres: Floats, clear: Bools, bounds: Floats) -> None:
        self.centres, self.clear, self.bounds = centres, clear, bounds
        self.allowed = np.ones(len(centres), np.bool_)
        self.shut = np.zeros(len(centres), np.bool_)
        self.spare_least, self.spare_most = np.full(len(centres), np.inf), np.full(len(centres), np.inf)
        self.beaten_at = -math.inf

    def ask(
        self, demand: Demand, k: int, radius: float, asked_spare: float, to: float
    ) -> Sequence[tuple[Why, Bools]]:
        """Ask one demand of the cells that are open to it; gives the reasons and (cells,) those it shuts now."""
        asked = np.flatnonzero(~self.shut & ~self.clear[:, k])
        # met all over the cell; of what is part of the score, by more than anything there can score
        enough = radius + (np.maximum(self.bounds, 0.0) if demand.counts else np.zeros(len(self.bounds)))
        if demand.quick is not None and len(asked):
            plenty = demand.quick(self.centres[asked]) - demand.keep_m >= enough[asked]
            self.clear[asked[plenty], k] = True
            asked = asked[~plenty]
        if not len(asked):
            return ()
        most = demand.most(self.centres[asked], radius) - demand.keep_m
        least = most if demand.least is None else demand.least(self.centres[asked], radius) - demand.keep_m
        self.clear[asked, k] = least >= enough[asked]
        self.allowed[asked] &= least >= -ON_EDGE_M
        found = []
        now = np.zeros(len(self.shut), np.bool_)
        now[asked] = most + radius < asked_spare - ON_EDGE_M
        found.append((("slim", *demand.key) if asked_spare else demand.key, now))
        if demand.counts:
            self.spare_least[asked] = np.minimum(self.spare_least[asked], least)
            self.spare_most[asked] = np.minimum(self.spare_most[asked], most + radius)
            beaten = np.zeros(len(self.shut), np.bool_)
            beaten[asked] = (most + radius <= to) & ~now[asked]
            if beaten.any():
                self.beaten_at = max(self.beaten_at, float((most + radius)[beaten[asked]].max()))
            found.append((("spare", *demand.key), beaten))
        for _, those in found:
            self.shut |= those
        return found


def _most_of(values: Floats, cell: Indices, count: int) -> Floats:
    most = np.full(count, -np.inf)
    np.maximum.at(most, cell, values)
    return most


@functools.cache
def _children(free: tuple[bool, ...]) -> Indices:
    """(m, 3) the whole-number places of a cell's halves within it."""
    return np.array(list(itertools.product(*((0, 1) if f else (0,) for f in free))), np.int64)


def _first_cells(question: Question) -> tuple[Indices, Floats]:
    """The cells to begin with as whole numbers (n, 3), about as long as wide, and half their size (3,)."""
    size = np.where(question.free, question.high_m - question.low_m, 0.0)
    counts = np.ones(3, np.int64)
    if question.free.any():
        counts = np.maximum(np.ceil(size / (size.max() / FIRST_CELLS) - 1e-9), 1).astype(np.int64)
    return np.indices(tuple(counts.tolist())).reshape(3, -1).T, size / counts / 2
