"""Branch and bound: the box of positions split into cells until the best place is proven best.

The margin over all heads, the worst slant and every constraint change by at most one metre per metre
of movement. So the value at a cell's centre plus the cell's half diagonal bounds everything inside it.
Cells that cannot beat the best allowed place seen, or in which a constraint cannot be met, are dropped
with that reason written down; the rest are halved along every free coordinate. When none is left the
search is over, and the list of dropped cells is the proof: anybody can recompute each reason from one
number.

The bound uses the least of the four edge numbers, which equals the exact slack wherever slack >= 0, or
the exact slack where the question asks for it. Held coordinates are removed from the search: the box
is flat there and cells are not split along it.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from geometry.band import ON_EDGE_M, Floats
from geometry.candidates import Best, settle_ties
from geometry.constraint import Key
from geometry.question import FLAT_M, Aim, Bools, Indices, Question

Outcome = Literal["certified", "none allowed", "unresolved"]

Why = Key
"""Why a cell was dropped: a word of `Certificate`, and after "rule" the constraint's key."""

PATIENCE = 10_000
"""Evaluations after which what still competes is asked what no place could beat for one head alone."""
LONE_EVALUATIONS = 200_000
"""Most evaluations for one of them."""
ALONE = 3
"""Most heads asked for by themselves in each band."""
SMALLEST_RADIUS_M = 2e-7
"""Cells this small that are still open mean that what is allowed is thinner than can be judged."""


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


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """How a search ended. `bound` is None when nothing is allowed, at_m when no allowed place was seen."""

    outcome: Outcome
    at_m: Floats | None
    band: int
    bound: float | None
    evaluations: int
    leaves: Leaves


TELL_EVERY_S = 0.2
"""Progress is told no more often than this."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come: values computed, what no place can beat, the best place's value.

    `bound` and `best` are in the terms of `Place.value` of the aim; best is None until an allowed place
    is seen. Where a search has to begin again with the exact slack, the count does too.
    """

    aim: Aim
    evaluations: int
    bound: float
    best: float | None


@dataclass(slots=True)
class _Teller:
    """Tells the progress of a search, seldom; between two levels the bound of the last one still holds."""

    aim: Aim
    to: Callable[[Progress], None] | None
    best: Best
    told_at: float = field(default_factory=time.perf_counter)
    evaluations: int = 0
    bound: float = math.inf

    def tell(self) -> None:
        now = time.perf_counter()
        if self.to is not None and now - self.told_at >= TELL_EVERY_S:
            self.told_at = now
            seen = None if self.best.at is None else self.best.value
            self.to(Progress(self.aim, self.evaluations, max(self.bound, self.best.value), seen))


def branch_and_bound(
    question: Question,
    start: Sequence[tuple[Floats, int]] = (),
    *,
    gap: float,
    evaluations: int,
    at_least: float | None = None,
    record: bool = False,
    progress: Callable[[Progress], None] | None = None,
) -> Searched:
    """The best allowed place of the question, with a bound at most `gap` above it.

    start        positions and their bands to begin from, as far as they are allowed
    evaluations  most (cell, band) values to compute; when they are spent the outcome is "unresolved"
    at_least     stop at the first place of at least this value, or when the bound falls below it
    record       keep the dropped cells
    progress     told how far it is, at most every TELL_EVERY_S
    """
    low, free, keys = question.low_m, question.free, question.keys
    cells, half = _first_cells(question)
    children = np.array(list(itertools.product(*((0, 1) if f else (0,) for f in free))), np.int64)
    # one row for each open (cell, band)
    bands = np.repeat(np.arange(len(question.bands)), len(cells))
    cells = np.tile(cells, (len(question.bands), 1))
    clear = np.zeros((len(cells), len(keys)), np.bool_)
    leaves = Leaves(record, 1.0 / len(cells))
    # go further than the gap asked for: what is left over is room to settle ties and to round the place
    closed = gap * (0.9 if question.aim == "centre" else 0.8)
    best = Best(question)
    for spot, band in start:
        if np.all((low - FLAT_M <= spot) & (spot <= question.high_m + FLAT_M)):
            best.offer(np.clip(spot, low, question.high_m).reshape(1, 3), np.array([band]))
    ceiling, why_capped, spent = _ceilings(question, best, gap, evaluations)
    teller = _Teller(question.aim, progress, best, bound=float(ceiling.max()))
    best.begin()
    outcome: Outcome = "certified"

    def beaten(rows: _Rows) -> Bools:
        """Which rows cannot beat the best by more than the gap (or reach `at_least`), written down."""
        to = best.value + closed if at_least is None else at_least - 1e-12
        beaten = rows.bounds <= to
        capped = ~beaten & (ceiling[rows.bands] <= to)
        gone = beaten | capped
        if gone.any():
            leaves.bound = max(
                leaves.bound, float(rows.bounds[gone].clip(max=ceiling[rows.bands[gone]]).max())
            )
            leaves.add(rows.centres[beaten], rows.bands[beaten], half, ("value",))
        if capped.any():
            for band in np.unique(rows.bands[capped]).tolist():
                mine = capped & (rows.bands == band)
                leaves.add(rows.centres[mine], rows.bands[mine], half, (why_capped[band],))
        return gone

    patience = PATIENCE if question.free[0] and question.free[1] and question.aim != "centre" else math.inf
    while len(cells):
        if spent > patience:
            patience = math.inf
            spent += _lower_ceilings(question, best, bands, ceiling, why_capped, gap / 4)
        radius = float(np.linalg.norm(half))
        centres = low + (2 * cells + 1) * half
        spent += len(cells)
        teller.evaluations = spent
        margins = question.margins(centres, bands)
        if math.isfinite(question.need_m):
            lost = margins + radius < question.need_m - ON_EDGE_M
            leaves.add(centres[lost], bands[lost], half, ("margin",))
            kept = ~lost
            cells, bands, centres = cells[kept], bands[kept], centres[kept]
            margins, clear = margins[kept], clear[kept]
        values = question.values(centres, bands, margins)
        bounds = question.bounds(centres, bands, values, radius)
        rows = _Rows(cells, bands, centres, margins, values, bounds, clear)
        # values before constraints: they cost less, and what cannot beat the best need not be allowed
        rows = rows.where(~beaten(rows))
        fit = rows.margins >= question.need_m - ON_EDGE_M
        if keys and len(rows.cells):
            allowed, keep = _ask_constraints(question, rows, half, leaves, teller)
            rows, fit = rows.where(keep), (fit & allowed)[keep]
        best.take(rows.centres[fit], rows.bands[fit], rows.values[fit])
        hopeful = rows.where(np.minimum(rows.bounds, ceiling[rows.bands]) > best.value + closed)
        if len(hopeful.cells):
            best.improve(hopeful.centres, hopeful.bands, hopeful.margins, hopeful.bounds, half)
        if at_least is not None and best.value >= at_least:
            break
        rows = rows.where(~beaten(rows))
        most = np.minimum(rows.bounds, ceiling[rows.bands]).max(initial=leaves.bound)
        teller.bound = min(teller.bound, float(most))
        teller.tell()
        coming = spent + len(rows.cells) * len(children)
        if len(rows.cells) and (coming > evaluations or radius < SMALLEST_RADIUS_M or not free.any()):
            outcome = "unresolved"
            leaves.bound = max(leaves.bound, float(np.minimum(rows.bounds, ceiling[rows.bands]).max()))
            leaves.add(rows.centres, rows.bands, half, ("open",))
            break
        cells = (2 * rows.cells[:, None, :] * free + children).reshape(-1, 3)
        bands = np.repeat(rows.bands, len(children))
        clear = np.repeat(rows.clear, len(children), axis=0)
        half = half / np.where(free, 2, 1)
        leaves.share_each /= len(children)

    return _ended(question, best, leaves, outcome, gap, at_least, spent)


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """The open (cell, band) pairs of one size: whole-number cells, what is known at their centres, and which
    constraints (n, rules) are met all over the cell."""

    cells: Indices
    bands: Indices
    centres: Floats
    margins: Floats
    values: Floats
    bounds: Floats
    clear: Bools

    def where(self, keep: Bools) -> _Rows:
        if keep.all():
            return self
        some = np.flatnonzero(keep)
        return _Rows(
            self.cells[some],
            self.bands[some],
            self.centres[some],
            self.margins[some],
            self.values[some],
            self.bounds[some],
            self.clear[some],
        )


def _ask_constraints(
    question: Question, rows: _Rows, half: Floats, leaves: Leaves, teller: _Teller
) -> tuple[Bools, Bools]:
    """(n,) whether each centre is allowed, and whether anything in its cell may be; the others are written down.

    A cell is asked once for all bands. The constraints that shut most so far come first, and what one of
    them shuts is not asked of the others; what is met by more than the radius is met all over the cell,
    and its children need not ask again.
    """
    radius = float(np.linalg.norm(half))
    sides = rows.cells.max(axis=0) + 1
    _, first, cell = np.unique(
        np.ravel_multi_index(tuple(rows.cells.T), tuple(sides.tolist())),
        return_index=True,
        return_inverse=True,
    )
    centres, clear = rows.centres[first], rows.clear[first]
    allowed, shut = np.ones(len(first), np.bool_), np.zeros(len(first), np.bool_)
    reasons = [("rule", *key) for key in question.keys]
    for k in sorted(range(len(reasons)), key=lambda k: -leaves.share.get(reasons[k], 0.0)):
        asked = np.flatnonzero(~shut & ~clear[:, k])
        if not len(asked):
            continue
        signed = question.rules[k](centres[asked])
        clear[asked, k] = signed >= radius
        allowed[asked] &= signed >= -ON_EDGE_M
        now = np.zeros(len(first), np.bool_)
        now[asked] = signed + radius < -ON_EDGE_M
        leaves.add(rows.centres[now[cell]], rows.bands[now[cell]], half, reasons[k])
        shut |= now
        teller.tell()
    rows.clear[:] = clear[cell]
    return allowed[cell], ~shut[cell]


def _first_cells(question: Question) -> tuple[Indices, Floats]:
    """The cells to begin with as whole numbers (n, 3), about as long as wide, and half their size (3,)."""
    size = np.where(question.free, question.high_m - question.low_m, 0.0)
    counts = np.ones(3, np.int64)
    if question.free.any():
        counts = np.maximum(np.ceil(size / (size.max() / 8) - 1e-9), 1).astype(np.int64)
    return np.indices(tuple(counts.tolist())).reshape(3, -1).T, size / counts / 2


def _ceilings(question: Question, best: Best, gap: float, evaluations: int) -> tuple[Floats, list[str], int]:
    """(bands,) what no place of a band can beat whatever the cells say, why, and the evaluations spent.

    Turning the array about a lone head changes nothing: a search in a half plane bounds the whole, and
    saves closing in on a ring of places that are all as good.
    """
    ceiling = np.array([question.ceiling_value(band) for band in range(len(question.bands))])
    by_itself = {"tolerance": "ball", "near": "reach", "centre": "value"}[question.aim]
    why = [by_itself if math.isfinite(most) else "margin" for most in ceiling]
    spent = 0
    if question.is_one_spot and question.free[0] and question.free[1]:
        closer = gap if question.aim == "centre" else gap / 4
        for band in range(len(question.bands)):
            found = branch_and_bound(question.in_half_plane(band), gap=closer, evaluations=evaluations)
            spent += found.evaluations
            if found.outcome == "unresolved":
                continue
            value = -math.inf if found.bound is None else found.bound
            if value < ceiling[band]:
                ceiling[band], why[band] = value, "alone"
            if found.at_m is not None:
                ring = question.ring(found.at_m)
                best.offer(ring, np.full(len(ring), band))
    return ceiling, why, spent


def _lower_ceilings(
    question: Question, best: Best, bands: Indices, ceiling: Floats, why: list[str], gap: float
) -> int:
    """The ceilings of the bands still open lowered to what a head has by itself; gives the evaluations spent.

    Where the best for one head is as good over a whole area or along a ring (a band from 0° at a held
    height, a talker who limits alone) cells close in on it too slowly.
    """
    spent = 0
    at = (question.low_m + question.high_m) / 2 if best.at is None else best.at
    for band in np.unique(bands).tolist():
        for head in question.lone_heads(at, band)[:ALONE]:
            alone = replace(question, heads=head).in_half_plane(band)
            # the whole circle about the head counts, wherever it stands
            found = branch_and_bound(alone, gap=gap, evaluations=LONE_EVALUATIONS)
            spent += found.evaluations
            value = -math.inf if found.bound is None else found.bound
            if found.outcome != "unresolved" and value < ceiling[band]:
                ceiling[band], why[band] = value, "alone"
    return spent


def _ended(
    question: Question,
    best: Best,
    leaves: Leaves,
    outcome: Outcome,
    gap: float,
    at_least: float | None,
    spent: int,
) -> Searched:
    """The record of a finished search, ties decided where the best place was asked for."""
    bound: float | None = max(leaves.bound, best.value)
    assert bound is not None
    if at_least is not None and best.value < at_least and outcome == "certified" and leaves.bound > -math.inf:
        bound = max(at_least, best.value)
    if outcome == "unresolved" and best.at is not None and bound - best.value <= gap:
        # cells left over at the end are bounded like those dropped, and that was enough
        outcome = "certified"
    if bound == -math.inf:
        bound = None
        outcome = "none allowed" if outcome == "certified" else outcome
    at, band = best.at, best.band
    if at is not None and bound is not None and at_least is None:
        at, band = settle_ties(best, min(bound - gap if outcome == "certified" else best.value, best.value))
    return Searched(outcome, at, band, bound, spent, leaves)
