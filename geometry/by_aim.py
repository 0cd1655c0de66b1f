"""Several arrays brought together by an aim of each head: as near, or as central, as the margin allows.

Each array is placed by the certified search for the heads it serves, and heads change hands until
everybody is served by the array whose place was sought for them. That ends at an arrangement, not at the
best one, so it is begun from several: the bound it gives is of these groups of heads.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from geometry.aims import GAP_M, OfEachHead
from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome
from geometry.constraint import SearchBox
from geometry.coverage import serving_arrays
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.kind import Position
from geometry.placement import Solution
from geometry.problem import ArrangementProblem
from geometry.sight import hidden

EXCHANGES = 8
"""How often heads change hands while arrays are moved to the best place for their own."""
LATTICE_M = 0.3
"""Places this far apart are tried for each array where several are brought closer together."""
LATTICE_MOST = 3000
"""But no more places than these."""
AT_ONCE = 64
"""Places asked for their rules at once, the most promising first."""


def come_closer(problem: ArrangementProblem, positions: Sequence[Position], aim: OfEachHead) -> Solution:
    """Each array at its best place by the aim for the heads it serves.

    Begun from the positions, from these traded for better ones of a lattice (`_traded`) and from heads
    parted by where they sit (`_partings`); the best is kept. Arrays that serve nobody stay. The positions
    must be clear of each other; so is what comes back. Without positions where nobody's can be had.
    """
    began = time.perf_counter()
    if not positions or problem.score(positions, aim) == -math.inf:
        return Solution(aim, "unresolved", (), None, None, 0, 0.0, for_groups=True)
    best = _exchanging(problem, positions, problem.owners(positions), aim)
    score, spent = problem.score(best.positions, aim), best.evaluations
    held = all(problem.kinds[position.kind].held for position in positions)
    if len(positions) > 1 and not held:
        starts, more = _other_starts(problem, positions, aim)
        spent += more
        for begun, owner in starts:
            trial = _exchanging(problem, begun, owner, aim)
            spent += trial.evaluations
            if (found := _allowed(problem, trial.positions, aim)) > score + ON_EDGE_M:
                best, score = trial, found
        ways = [_traded(problem, start, aim) for start in (best.positions, *(begun for begun, _ in starts))]
        traded = max(ways, key=lambda way: problem.score(way, aim))
        if problem.score(traded, aim) > score + ON_EDGE_M:
            trial = _exchanging(problem, traded, problem.owners(traded), aim)
            spent += trial.evaluations
            if problem.score(trial.positions, aim) > score + ON_EDGE_M:
                best = trial
    return replace(best, evaluations=spent, seconds=time.perf_counter() - began)


def _allowed(problem: ArrangementProblem, positions: Sequence[Position], aim: OfEachHead) -> float:
    """The score of these arrays, -inf where they are in each other's way or lack what the aim needs."""
    return -math.inf if problem.in_conflict(positions) else problem.score(positions, aim)


def _other_starts(
    problem: ArrangementProblem, positions: Sequence[Position], aim: OfEachHead
) -> tuple[list[tuple[list[Position], Indices]], int]:
    """Arrangements to begin from, with whose each head is: heads parted by where they sit; and evaluations."""
    starts, spent = [], 0
    for owner in _partings(problem, positions):
        put: list[Position] = []
        for i, position in enumerate(positions):
            own = np.flatnonzero(owner == i)
            found, _, more = _by_aim(problem, position, own, put, aim)
            put.append(found)
            spent += more
        if _allowed(problem, put, aim) > -math.inf:
            starts.append((put, owner))
    return starts, spent


# ---- heads change hands ---------------------------------------------------------------------------


def _exchanging(
    problem: ArrangementProblem, positions: Sequence[Position], owner: Indices, aim: OfEachHead
) -> Solution:
    """From these positions and groups on: arrays to the best place for their own, heads to who serves them best.

    An array with margin to spare draws all heads to itself, far ones too: where that leads to worse than
    was there on the way, what was there is kept, and is not certified.
    """
    now, spent = list(positions), 0
    kept: tuple[Position, ...] = ()
    most = -math.inf
    if (here := _allowed(problem, now, aim)) > -math.inf:
        kept, most = tuple(now), here
    for _ in range(EXCHANGES):
        bound, more = _to_their_best(problem, now, owner, aim)
        spent += more
        served_by = problem.owners(now)
        score = _allowed(problem, now, aim)
        if score > most:
            kept, most = tuple(now), score
        if np.array_equal(served_by, owner):
            if score > -math.inf and most <= score + aim.gap:
                return _solution(problem, now, aim, score, bound, spent, settled=True)
            break
        owner = served_by
    if not kept:
        return Solution(aim, "unresolved", (), None, None, spent, 0.0, for_groups=True)
    bound, more = _to_their_best(problem, list(kept), problem.owners(kept), aim)
    return _solution(problem, kept, aim, most, bound, spent + more, settled=False)


def _solution(
    problem: ArrangementProblem,
    positions: Sequence[Position],
    aim: OfEachHead,
    score: float,
    bound: float | None,
    spent: int,
    *,
    settled: bool,
) -> Solution:
    """The record; certified where everybody is served by the array whose group it is in and the bound is close."""
    certified = settled and bound is not None and bound - score <= aim.gap
    outcome: Outcome = "certified" if certified else "unresolved"
    known = None if bound is None else max(bound, score)
    return Solution(
        aim, outcome, tuple(positions), problem.figures(positions), known, spent, 0.0, for_groups=True
    )


def _to_their_best(
    problem: ArrangementProblem, positions: list[Position], owner: Indices, aim: OfEachHead
) -> tuple[float | None, int]:
    """The positions moved, each to its best place for its own heads; the bound for these groups, and evaluations."""
    bounds: list[tuple[int, float | None]] = []
    spent = 0
    for i, position in enumerate(positions):
        own = np.flatnonzero(owner == i)
        if len(own):
            others = [*positions[:i], *positions[i + 1 :]]
            positions[i], bound, more = _by_aim(problem, position, own, others, aim)
            bounds.append((len(own), bound))
            spent += more
    known = [(count, bound) for count, bound in bounds if bound is not None]
    return aim.whole(known) if len(known) == len(bounds) else None, spent


def _by_aim(
    problem: ArrangementProblem,
    position: Position,
    own: Indices,
    others: Sequence[Position],
    aim: OfEachHead,
) -> tuple[Position, float | None, int]:
    """The best place by the aim that is clear of the others, the bound with the others left aside, evaluations."""
    kind = position.kind
    alone = problem.found(kind, own, aim, start=position)
    found, spent = alone, alone.evaluations
    there = alone.position
    if there is not None and problem.left_beside(kind, np.array(there.at_m), others, own) < -ON_EDGE_M:
        found = problem.found(kind, own, aim, start=position, others=others)
        spent += found.evaluations
    return found.position or position, alone.bound_score, spent


def _partings(problem: ArrangementProblem, positions: Sequence[Position]) -> Iterable[Indices]:
    """(n,) whose each head could be, by where the heads sit: in stretches of as many along and across, and in clusters.

    Every array gets some; groups go to the arrays that are nearest to them. Nothing for one array, or
    for fewer heads than arrays.
    """
    count, at = len(positions), problem.heads.at_m[:, :2]
    if not 1 < count <= len(at):
        return
    seen = {problem.owners(positions).tobytes()}
    for part in itertools.chain(_stretches(at, count), [_clusters(at, count)]):
        if len(np.unique(part)) < count:
            continue
        owner = _nearest_arrays(positions, at, part)
        if owner.tobytes() not in seen:
            seen.add(owner.tobytes())
            yield owner


def _stretches(at: Floats, count: int) -> Iterable[Indices]:
    """(n,) which stretch each plan place is in, of `count` with as many in each: along, and across."""
    centred = at - at.mean(axis=0)
    for way in np.linalg.svd(centred, full_matrices=False)[2]:
        order = np.argsort(np.round(centred @ way, 9), kind="stable")
        part = np.empty(len(at), np.int64)
        part[order] = np.arange(len(at)) * count // len(at)
        yield part


def _clusters(at: Floats, count: int) -> Indices:
    """(n,) which of `count` clusters each plan place is in: the farthest places first, then about their means."""
    centred = at - at.mean(axis=0)
    middles = [at[int(np.argmax(np.hypot(*centred.T)))]]
    while len(middles) < count:
        away = np.min([np.hypot(*(at - middle).T) for middle in middles], axis=0)
        middles.append(at[int(np.argmax(away))])
    part = np.zeros(len(at), np.int64)
    for _ in range(EXCHANGES):
        part = np.argmin([np.hypot(*(at - middle).T) for middle in middles], axis=0)
        middles = [at[part == k].mean(axis=0) if np.any(part == k) else middles[k] for k in range(count)]
    return part


def _nearest_arrays(positions: Sequence[Position], at: Floats, part: Indices) -> Indices:
    """(n,) whose each part is: the parts given to the arrays so that they are near them altogether."""
    from scipy.optimize import linear_sum_assignment

    count = len(positions)
    middles = [at[part == k].mean(axis=0) for k in range(count)]
    away = np.array([[np.hypot(*(np.array(p.at_m[:2]) - middle)) for middle in middles] for p in positions])
    array_of = np.empty(count, np.int64)
    rows, columns = linear_sum_assignment(away)
    array_of[columns] = rows
    return np.asarray(array_of[part], np.int64)


# ---- traded for places of a lattice ---------------------------------------------------------------


def _traded(problem: ArrangementProblem, positions: Sequence[Position], aim: OfEachHead) -> list[Position]:
    """The positions traded, one array at a time, for places of a lattice and then of finer ones about each.

    What counts is the aim over all heads, each with the array that serves it, so that no array draws
    a head to itself from too far. Every array keeps its rules, clear of the others.
    """
    now = list(positions)
    places = [_lattice(problem.kinds[position.kind].box) for position in now]
    rooms = [
        [(band, places[i]) for band in range(len(problem.kinds[position.kind].bands))]
        for i, position in enumerate(now)
    ]
    for _ in range(EXCHANGES):
        if not sum(_trade(problem, now, i, rooms[i], aim) for i in range(len(now))):
            break
    steps = np.stack(np.meshgrid(*[[-1.0, 0.0, 1.0]] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    step = LATTICE_M
    while step > GAP_M:
        step /= 2
        for _ in range(EXCHANGES):
            about = []
            for position in now:
                box = problem.kinds[position.kind].box
                near = np.clip(np.array(position.at_m) + step * steps, box.low_m, box.high_m)
                about.append([(position.band, near)])
            if not sum(_trade(problem, now, i, about[i], aim) for i in range(len(now))):
                break
    return now


def _lattice(box: SearchBox) -> Floats:
    """(p, 3) places over the box, at most LATTICE_M apart but never more than LATTICE_MOST."""
    low, high = np.array(box.low_m), np.array(box.high_m)
    apart = LATTICE_M
    while True:
        counts = [math.ceil(side / apart) if side > 0 else 1 for side in high - low]
        if math.prod(counts) <= LATTICE_MOST:
            break
        apart *= 1.1
    axes = [a + (b - a) * (np.arange(n) + 0.5) / n for a, b, n in zip(low, high, counts, strict=True)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _trade(
    problem: ArrangementProblem,
    positions: list[Position],
    which: int,
    rooms: Sequence[tuple[int, Floats]],
    aim: OfEachHead,
) -> bool:
    """Whether array `which` was moved, in `positions`, to one of these places (by band) that is better for all."""
    kind, others = positions[which].kind, [*positions[:which], *positions[which + 1 :]]
    beside = _Beside(problem, others, aim)
    worst = problem.score(positions, aim)
    rules = problem.rules(kind, aim, problem.from_others(kind, others))
    moved = False
    for band, places in rooms:
        own = problem.margins(kind, band, places)
        numbers = problem.numbers(kind, band, places, aim)
        reached = beside.scores(own, numbers)
        order = np.argsort(-reached, kind="stable")
        order = order[reached[order] > worst + ON_EDGE_M]
        for start in range(0, len(order), AT_ONCE):
            some = order[start : start + AT_ONCE]
            for rule in rules:
                some = some[rule.left(places[some]) >= 0] if len(some) else some
            seen = problem.seen(kind, places[some]) & beside.seen_past(places[some])
            found = beside.scores(np.where(seen, own[some], UNSEEN_M), numbers[some])
            if len(some) and found.max() > worst + ON_EDGE_M:
                first = int(np.argmax(found))
                x, y, z = (float(number) for number in places[some[first]])
                positions[which], worst, moved = Position((x, y, z), band, kind), float(found[first]), True
                break
    return moved


class _Beside:
    """What one more array would make of the others: each head goes to it or stays."""

    def __init__(self, problem: ArrangementProblem, others: Sequence[Position], aim: OfEachHead) -> None:
        count = len(problem.heads)
        self.aim = aim
        self.heads, self.solids = problem.heads, problem.solids(others)
        self.margin, self.number = np.full(count, UNSEEN_M), np.zeros(count)
        if others:
            margins, seen = problem.heard(others)
            serves, each = serving_arrays(margins, seen), np.arange(count)
            self.margin = np.where(seen, margins, UNSEEN_M)[serves, each]
            numbers = [problem.numbers(p.kind, p.band, np.array([p.at_m]), aim) for p in others]
            self.number = np.concatenate(numbers)[serves, each]

    def seen_past(self, places: Floats) -> Bools:
        """(p, n) who is not hidden by the others' bodies."""
        if not self.solids:
            return np.ones((len(places), len(self.margin)), np.bool_)
        return np.asarray(~hidden(places, self.heads, self.solids).any(axis=2))

    def scores(self, margins: Floats, numbers: Floats) -> Floats:
        """(p,) the aim's score of all with the array where it gives these margins and numbers, (p, n)."""
        scores = self.aim.of_all(np.where(margins > self.margin, numbers, self.number))
        lacking = np.maximum(margins, self.margin).min(axis=1) < self.aim.needs_margin_m
        return np.where(lacking, -np.inf, scores)
