"""Cells of positions with what an array in each can give every head at most; and all that a proof found out.

What is proven of a question is remembered with it, and holds for the same question with more demands too: cells
that were shut stay shut, heads that no one array can serve stay in conflict, and no arrangement gets better.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.aims import Aim
from geometry.band import ON_EDGE_M, Floats
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.kind import Position
from geometry.problem import ArrangementProblem
from geometry.question import Demand
from geometry.records import record
from geometry.served_sets import Sets
from geometry.set_cover import maximal_sets
from geometry.shadow import SIDES

START_CELL_M = 0.4
"""Side of the cells the box is cut into first."""
FINEST_CELL_M = 0.1
"""Cells are not halved below this: from there on conflicts prove more than cells do."""

Group = tuple[int, Indices]
"""A kind and the heads one array of it is to serve."""


@record(frozen=True, slots=True, eq=False)
class Cells:
    """Cells of one size: centres (m, 3), half size (3,), and which coordinates are free (3,)."""

    centres: Floats
    half: Floats
    free: Bools

    @property
    def radius(self) -> float:
        """Half the diagonal."""
        return float(np.linalg.norm(self.half))


@dataclass(slots=True, eq=False)
class Proven:
    """What is proven by cells and searches of one question by one aim (mutable: it grows).

    cells      of each kind
    most       (m, n) numbers at centres plus the radius: no place in a cell gives a head more; a row a (cell, band),
               kind after kind and band after band
    kind       (m,) the kind of each row
    allowed    (m,) whether the centre is, `covers` (m, n) whom it covers
    conflicts  heads that no one array of a kind can give so much
    known      places found to do for some group, by kind, and `gives` what each gives every head; of margins alone
    answers    by the number of arrays: the groups of the best found and the proven bound
    """

    cells: list[Cells]
    most: NDArray[np.float32]
    kind: Indices
    allowed: Bools
    covers: Bools
    known: list[list[Position]]
    gives: list[Floats]
    conflicts: list[tuple[float, int, Indices]] = field(default_factory=list)
    answers: dict[int, tuple[list[Group], float]] = field(default_factory=dict)

    def reached(self) -> Sets:
        """Whom allowed centres cover: the largest sets of each kind."""
        rows = np.flatnonzero(self.allowed)
        which = maximal_sets(self.covers[rows], self.kind[rows])
        return Sets(0.0, self.covers[rows][which], self.kind[rows][which], np.full(len(which), -1))


def proven_of(problem: ArrangementProblem, aim: Aim, values: int) -> Proven:
    """What is proven of this question by this aim; begun with what was of the eased one.

    `values` are the most margins (cell x head) kept at once.
    """
    kept = problem.proven
    found = kept.get(aim.name)
    if not isinstance(found, Proven):
        before = None if aim.counts_spares else _of_eased(problem, aim)
        found = _begun(problem, aim, values) if before is None else _narrowed(before, problem, aim)
        kept[aim.name] = found
    return found


def _of_eased(problem: ArrangementProblem, aim: Aim) -> Proven | None:
    """What is proven of the nearest question with fewer demands of which something is."""
    eased = problem.eased
    while eased is not None:
        found = eased.proven.get(aim.name)
        if isinstance(found, Proven):
            same = [(kind.box, kind.bands) for kind in eased.kinds] == [
                (kind.box, kind.bands) for kind in problem.kinds
            ]
            return found if same and len(eased.heads) == len(problem.heads) else None
        eased = eased.eased
    return None


def _narrowed(before: Proven, problem: ArrangementProblem, aim: Aim) -> Proven:
    """The same with more demanded: cells and places that do not meet it left out."""
    cells, rows, allowed, known, gives = [], [], [], [], []
    first = 0
    for k, (kind, some) in enumerate(zip(problem.kinds, before.cells, strict=True)):
        rules = problem.rules(k, aim)
        left = _least(rules, some.centres)
        keep = np.flatnonzero(left + some.radius >= -ON_EDGE_M)
        cells.append(Cells(some.centres[keep], some.half, some.free))
        for b in range(len(kind.bands)):
            rows.append(first + b * len(some.centres) + keep)
            allowed.append(before.allowed[rows[-1]] & (left[keep] >= -ON_EDGE_M))
        first += len(kind.bands) * len(some.centres)
        at = np.array([one.at_m for one in before.known[k]]).reshape(-1, 3)
        good = np.flatnonzero(_least(rules, at) >= -ON_EDGE_M)
        known.append([before.known[k][i] for i in good.tolist()])
        gives.append(before.gives[k][good])
    which = np.concatenate(rows)
    return Proven(
        cells,
        before.most[which],
        before.kind[which],
        np.concatenate(allowed),
        before.covers[which],
        known,
        gives,
        list(before.conflicts),
        dict(before.answers),
    )


def _least(rules: tuple[Demand, ...], at: Floats) -> Floats:
    """(n,) the least that is left of any rule."""
    left = np.full(len(at), np.inf)
    for rule in rules if len(at) else ():
        left = np.minimum(left, rule.left(at))
    return left


def _begun(problem: ArrangementProblem, aim: Aim, values: int) -> Proven:
    """The cells of every kind with their numbers, and nothing proven yet."""
    count = len(problem.heads)
    most, kinds = [np.zeros((0, count), np.float32)], [np.zeros(0, np.int64)]
    all_allowed, covers = [np.zeros(0, np.bool_)], [np.zeros((0, count), np.bool_)]
    all_cells = []
    for k, kind in enumerate(problem.kinds):
        cells, spare, allowed = _allowed_cells(problem, aim, k, values)
        all_cells.append(cells)
        for b, _ in enumerate(kind.bands):
            margins = problem.margins(k, b, cells.centres)
            lines, seen = _lines(problem, aim, k, cells, margins)
            all_allowed.append(allowed)
            covers.append((margins >= -ON_EDGE_M) & seen)
            # stored in single precision: a micrometre more, so that it stays a bound
            numbers = np.minimum(np.minimum(margins, spare[:, None]) + (cells.radius + 1e-6), lines)
            most.append(numbers.astype(np.float32))
            kinds.append(np.full(len(margins), k))
    return Proven(
        all_cells,
        np.concatenate(most),
        np.concatenate(kinds),
        np.concatenate(all_allowed),
        np.concatenate(covers),
        [[] for _ in problem.kinds],
        [np.zeros((0, count)) for _ in problem.kinds],
    )


def _allowed_cells(problem: ArrangementProblem, aim: Aim, k: int, values: int) -> tuple[Cells, Floats, Bools]:
    """The cells of one kind that rules leave, what is left at the centres of rules that count, which are allowed."""
    kind, count = problem.kinds[k], len(problem.heads)
    low, high = np.array(kind.box.low_m), np.array(kind.box.high_m)
    size = high - low
    free = size > 0  # a held coordinate is never halved: the radius is that of a flat cell
    cells = np.maximum(np.ceil(size / START_CELL_M), 1).astype(np.int64)
    index, half = np.indices(cells).reshape(3, -1).T, size / cells / 2
    children = corners(free)
    rules = problem.rules(k, aim)
    # what is met all over a cell need not be asked of its parts, unless what is left of it counts
    clear = np.zeros((len(index), len(rules)), np.bool_)
    while True:
        centres = low + (2 * index + 1) * half
        radius = float(np.linalg.norm(half))
        signed, spare = np.full(len(centres), np.inf), np.full(len(centres), np.inf)
        for r, rule in enumerate(rules):
            asked = np.flatnonzero((signed + radius >= -ON_EDGE_M) & ~clear[:, r])
            if not len(asked):
                continue
            left = rule.left(centres[asked])
            signed[asked] = np.minimum(signed[asked], left)
            if rule.counts:
                spare[asked] = np.minimum(spare[asked], left)
            else:
                clear[asked, r] = left >= radius
        possible = signed + radius >= -ON_EDGE_M
        index, centres, spare, clear = index[possible], centres[possible], spare[possible], clear[possible]
        allowed = signed[possible] >= -ON_EDGE_M
        coming = len(index) * len(children) * len(kind.bands) * count
        enough = coming > values // len(problem.kinds)
        if not len(index) or enough or half.max() < FINEST_CELL_M * 0.999 or not free.any():
            return Cells(centres, half, free), spare, allowed
        index, half = (2 * index[:, None] + children).reshape(-1, 3), half / np.where(free, 2, 1)
        clear = np.repeat(clear, len(children), axis=0)


def _lines(
    problem: ArrangementProblem, aim: Aim, k: int, cells: Cells, margins: Floats
) -> tuple[Floats, Bools]:
    """(m, n) the most the lines leave each head anywhere in a cell, and whether it is seen from the centre.

    Asked where some head may be covered and heights alone do not say that the lines are clear; a line
    that is clear somewhere takes nothing away unless what is left of it counts.
    """
    centres, radius = cells.centres, cells.radius
    most, seen = np.full(margins.shape, np.inf), np.ones(margins.shape, np.bool_)
    sight = problem.sights[k]
    if sight is None:
        return most, seen
    hopeful = (margins + radius >= -ON_EDGE_M).any(axis=1)
    enough = radius + (max(0.0, float(margins.max(initial=0.0))) if aim.counts_spares else 0.0)
    for solid in range(len(sight)):
        asked = np.flatnonzero(hopeful & (sight.clear_at_least_m(solid, centres) < enough))
        if not len(asked):
            continue
        left = sight.signed_m(solid, centres[asked], sides=SIDES[0]).T + radius
        if not aim.counts_spares:
            left = np.where(left < -ON_EDGE_M, UNSEEN_M, np.inf)
        most[asked] = np.minimum(most[asked], left)
        outer = sight.signed_m(solid, centres[asked], side="outer", sides=SIDES[0])
        seen[asked] &= outer.T >= -ON_EDGE_M
    return most, seen


def corners(free: Bools) -> Indices:
    """(2 to the number of free coordinates, 3) all zeros and ones, zero where a coordinate is held."""
    return np.indices(tuple(2 if f else 1 for f in free.tolist())).reshape(3, -1).T
