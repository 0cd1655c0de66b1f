"""Arrays in a row or a grid, level, at equal spacing: the best of all such, with a proof that none is better.

What people hang is two to four numbers: the spacing along the rows, the spacing between them, how far the whole
is moved along, and the height. Array i moves by at most |k| ds + do along a row, |m| dt across and dz up in a
cell of these numbers, so what it gives at the cell's centre and that movement bound what it gives in the cell;
a head has the most that any array gives it. So the same branch and bound as for one array proves what no
pattern beats. Rules bind each array, lines of sight are left out of a cell where they are hidden all over it,
and rules between arrays bound the spacing from below; all of them are asked of the place that is taken.
"""

from __future__ import annotations

import itertools
import math
import time
from dataclasses import dataclass, field, replace

import numpy as np

from geometry.aims import Margin, Most, ranked
from geometry.apart import FARTHEST_APART_M
from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.kind import Position
from geometry.placement import Solution, search
from geometry.problem import ArrangementProblem
from geometry.records import record
from geometry.shadow import SIDES

FIRST_CELL_M = 0.5
"""About the side of the cells it begins with, in each of the numbers."""
SMALLEST_M = 2e-6
"""Cells in which no array moves by more than this and that are still open: what is allowed is too thin to judge."""
MOST_CELLS = 60_000
"""So many cells are asked about before a pattern is given up unproven."""
PATIENCE = 1_500
"""Cells after which it is asked what those worst off can have by themselves."""
ALONE = 3
"""So many of them."""
LONE_CELLS = 20_000
"""So many cells are asked about for one of them."""
TRIED = 6
"""Places of a level that are judged in full, the best first."""
CLIMBS = 6
"""Rounds of steps about the best place, and sizes of steps in each."""
SPACING, ACROSS, OFFSET, HEIGHT = range(4)
"""The numbers of a pattern, in this order."""


@record(frozen=True, slots=True)
class Pattern:
    """Arrays in rows and columns about a middle.

    middle_m   the plan point it is symmetrical about
    along_deg  the plan angle its rows run along
    columns    arrays in a row; `rows` of them
    offset_m   how far the whole may be moved along its rows, either way; 0 keeps it symmetrical
    """

    middle_m: tuple[float, float]
    along_deg: float
    columns: int
    rows: int = 1
    offset_m: float = 0.0

    def __post_init__(self) -> None:
        if self.columns < 1 or self.rows < 1 or self.offset_m < 0:
            raise ValueError(
                f"Pattern has {self.columns} columns, {self.rows} rows and an offset of {self.offset_m} m; "
                "allowed is 1 or more of each, and an offset of 0 or more"
            )

    @property
    def count(self) -> int:
        """How many arrays it has."""
        return self.columns * self.rows

    @property
    def steps(self) -> Floats:
        """(n, 2) how many spacings each array is from the middle, along and across."""
        k = np.arange(self.columns) - (self.columns - 1) / 2
        m = np.arange(self.rows) - (self.rows - 1) / 2
        return np.array([(a, b) for b in m for a in k])

    @property
    def ways(self) -> tuple[Floats, Floats]:
        """(2,) unit vectors along and across the rows."""
        turn = math.radians(self.along_deg)
        along = np.array([math.cos(turn), math.sin(turn)])
        return along, np.array([-along[1], along[0]])

    def places(self, numbers: Floats) -> Floats:
        """(m, n, 3) where the arrays are for numbers (m, 4): spacing, spacing across, offset, height."""
        along, across = self.ways
        k, b = self.steps.T
        out = numbers[:, OFFSET, None] + k * numbers[:, SPACING, None]
        off = b * numbers[:, ACROSS, None]
        plan = np.array(self.middle_m) + out[..., None] * along + off[..., None] * across
        height = np.broadcast_to(numbers[:, HEIGHT, None, None], (*out.shape, 1))
        return np.concatenate([plan, height], axis=-1)

    def moves_m(self, half: Floats) -> Floats:
        """(n,) how far each array is moved at most by numbers that change by `half` (4,)."""
        k, b = np.abs(self.steps).T
        along = k * half[SPACING] + half[OFFSET]
        return np.asarray(np.sqrt(along**2 + (b * half[ACROSS]) ** 2 + half[HEIGHT] ** 2))


@record(frozen=True, slots=True)
class Laid:
    """The best of a pattern: as a solution, and its numbers (None where there is no place)."""

    pattern: Pattern
    solution: Solution
    spacing_m: float | None
    across_m: float | None
    offset_m: float | None


def best_pattern(
    problem: ArrangementProblem,
    pattern: Pattern,
    aim: Margin | Most | None = None,
    *,
    kind: int = 0,
    most_cells: int = MOST_CELLS,
) -> Laid:
    """The best place of a pattern of arrays of one kind by the largest margin, or by the most talkers.

    The solution's bound is of this pattern's arrays only: it is certified where no arrays so laid out, in one
    band, are better by more than the aim's gap.
    """
    began = time.perf_counter()
    tree = _Tree(problem, pattern, aim or Margin(), most_cells, kind=kind)
    outcome = tree.searched()
    if tree.best is None:
        bound = None if outcome == "none allowed" else tree.bound
        solution = Solution(tree.aim, outcome, (), None, bound, tree.spent, time.perf_counter() - began)
        return Laid(pattern, solution, None, None, None)
    positions = tree.positions(tree.best, tree.band)
    solution = Solution(
        tree.aim,
        outcome,
        positions,
        problem.figures(positions),
        max(tree.bound, tree.score),
        tree.spent,
        time.perf_counter() - began,
    )
    spacing, across, offset, _ = (float(number) for number in tree.best)
    alone, single = pattern.columns == 1, pattern.rows == 1
    return Laid(pattern, solution, None if alone else spacing, None if single else across, offset)


@dataclass(slots=True)
class _Cells:
    """Open cells of one size in one band each: their centres (m, 4), bands (m,) and which rules are met all over."""

    centres: Floats
    bands: Indices
    clear: Bools

    def where(self, keep: Bools | Indices) -> _Cells:
        return _Cells(self.centres[keep], self.bands[keep], self.clear[keep])


@dataclass(slots=True)
class _Tree:
    """A search under way: the best place so far, what was left behind, and the box of numbers."""

    problem: ArrangementProblem
    pattern: Pattern
    aim: Margin | Most
    most_cells: int
    patience: float = PATIENCE
    kind: int = 0
    score: float = -math.inf
    best: Floats | None = None
    band: int = 0
    bound: float = -math.inf
    spent: int = 0
    caps: Floats = field(init=False)
    low: Floats = field(init=False)
    high: Floats = field(init=False)

    def __post_init__(self) -> None:
        of = self.problem.kinds[self.kind]
        self.caps = np.array(
            [self.aim.ceiling(self.problem.hearings[self.kind], b) for b in range(len(of.bands))]
        )
        self.low, self.high = self._box()

    # The numbers -----------------------------------------------------------------------------------------

    def _box(self) -> tuple[Floats, Floats]:
        """(4,) and (4,) the least and the most of each number; equal where it is held."""
        box, pattern = self.problem.kinds[self.kind].box, self.pattern
        corners = np.array(list(itertools.product(*zip(box.low_m[:2], box.high_m[:2], strict=True))))
        low, high = np.zeros(4), np.zeros(4)
        for number, way, count in zip(
            (SPACING, ACROSS), pattern.ways, (pattern.columns, pattern.rows), strict=True
        ):
            if count > 1:
                away = np.abs((corners - np.array(pattern.middle_m)) @ way).max()
                offset = pattern.offset_m if number == SPACING else 0.0
                low[number] = self._least_apart(way)
                high[number] = max((away + offset) / ((count - 1) / 2), low[number])
        low[OFFSET], high[OFFSET] = -pattern.offset_m, pattern.offset_m
        low[HEIGHT], high[HEIGHT] = box.low_m[2], box.high_m[2]
        return low, high

    def _least_apart(self, way: Floats) -> float:
        """How far apart along `way` two arrays at one height must be at least, rounded down to a millimetre."""
        box = self.problem.kinds[self.kind].box
        middle = (np.array(box.low_m) + np.array(box.high_m)) / 2

        def clear(apart: float) -> bool:
            x, y = (float(number) for number in middle[:2] + apart * way)
            return (
                self.problem.left_beside(
                    self.kind, middle, [Position((x, y, float(middle[2])), 0, self.kind)]
                )
                >= 0
            )

        low, high = 0.0, FARTHEST_APART_M
        if clear(low) or not clear(high):
            return low
        while high - low > 1e-3:
            half = (low + high) / 2
            low, high = (low, half) if clear(half) else (half, high)
        return low

    def positions(self, numbers: Floats, band: int) -> tuple[Position, ...]:
        """The arrays for numbers (4,)."""
        places = self.pattern.places(numbers[None])[0]
        return tuple(Position((float(x), float(y), float(z)), band, self.kind) for x, y, z in places)

    # The search ------------------------------------------------------------------------------------------

    @property
    def to(self) -> float:
        """What has no more than this is of no use."""
        return self.score + self.aim.gap * self.aim.closes

    def searched(self) -> Outcome:
        """The whole search."""
        free = self.high - self.low > ON_EDGE_M
        counts = np.where(free, np.ceil((self.high - self.low) / FIRST_CELL_M), 1).astype(np.int64)
        half = (self.high - self.low) / counts / 2
        index = np.indices(tuple(counts.tolist())).reshape(4, -1).T
        children = np.array(list(itertools.product(*((-1.0, 1.0) if f else (0.0,) for f in free))))
        centres = self.low + (2 * index + 1) * half
        bands = np.repeat(np.arange(len(self.caps)), len(centres))
        rules = len(self.problem.rules(self.kind, self.aim))
        cells = _Cells(np.tile(centres, (len(self.caps), 1)), bands, np.zeros((len(bands), rules), np.bool_))
        while True:
            if self.spent > self.patience and not self.aim.counts_heads:
                self.patience = math.inf
                self._lower_caps(np.unique(cells.bands))
            cells, bounds = self._level(cells, half)
            if not len(cells.centres):
                nowhere = self.best is None and self.bound <= UNSEEN_M / 2
                return "none allowed" if nowhere else "certified"
            children_count = len(cells.centres) * len(children)
            thin = self.pattern.moves_m(half).max() <= SMALLEST_M
            if self.spent + children_count > self.most_cells or thin or not free.any():
                self.bound = max(self.bound, float(bounds.max()))
                closed = self.best is not None and self.bound - self.score <= self.aim.gap
                return "certified" if closed else "unresolved"
            half = np.where(free, half / 2, half)
            centres = (cells.centres[:, None] + children * half).reshape(-1, 4)
            cells = _Cells(
                centres,
                np.repeat(cells.bands, len(children)),
                np.repeat(cells.clear, len(children), axis=0),
            )

    def _level(self, cells: _Cells, half: Floats) -> tuple[_Cells, Floats]:
        """The cells of one size that are left after everything was asked of them, and their bounds."""
        self.spent += len(cells.centres)
        moves = self.pattern.moves_m(half)
        gives = self._gives(cells.centres, cells.bands)
        cells, gives, bounds = self._kept(cells, gives, moves)
        allowed = np.ones(len(cells.centres), np.bool_)
        if len(allowed):
            allowed, possible = self._ask(cells, moves)
            cells, gives, allowed = cells.where(possible), gives[possible], allowed[possible]
            gives, hidden = self._unseen(cells.centres, gives, moves)
            cells, gives, bounds, kept = self._kept_of(cells, gives, moves, hidden)
            allowed = allowed[kept]
        if len(allowed):
            values = self._worth(gives.max(axis=1))
            some = np.flatnonzero(allowed & (values > self.score))
            some = some[np.argsort(-values[some], kind="stable")[:TRIED]]
            found = [self._take(cells.centres[k], int(cells.bands[k])) for k in some.tolist()]
            if any(found):
                self._climb(half)
            keep = bounds > self.to
            self._leave(bounds[~keep])
            cells, bounds = cells.where(keep), bounds[keep]
        return cells, bounds

    def _gives(self, centres: Floats, bands: Indices) -> Floats:
        """(m, n, heads) what each array gives each head."""
        places = self.pattern.places(centres)
        gives = np.empty((*places.shape[:2], len(self.problem.heads)))
        for band in np.unique(bands).tolist():
            mine = bands == band
            found = self.problem.margins(self.kind, band, places[mine].reshape(-1, 3))
            gives[mine] = found.reshape(-1, places.shape[1], len(self.problem.heads))
        return gives

    def _worth(self, margins: Floats, least_m: float = 0.0) -> Floats:
        """(m,) the score of the most that heads are given (m, heads)."""
        if self.aim.counts_heads:
            return ranked(self.problem.hearings[self.kind], margins.T, least_m)
        return np.asarray(margins.min(axis=1))

    def _kept(self, cells: _Cells, gives: Floats, moves: Floats) -> tuple[_Cells, Floats, Floats]:
        cells, gives, bounds, _ = self._kept_of(cells, gives, moves, None)
        return cells, gives, bounds

    def _kept_of(
        self, cells: _Cells, gives: Floats, moves: Floats, hidden: Bools | None
    ) -> tuple[_Cells, Floats, Floats, Bools]:
        """The cells that may still beat the best, what they give, their bounds, and which they were."""
        most = gives + moves[:, None]
        if hidden is not None:
            most = np.where(hidden, UNSEEN_M, most)
        slim = self.aim.slim_m if moves.max() <= self.aim.slim_m / 2 else 0.0
        bounds = np.minimum(self._worth(most.max(axis=1), slim), self.caps[cells.bands])
        keep = bounds > self.to
        self._leave(bounds[~keep])
        return cells.where(keep), gives[keep], bounds[keep], keep

    def _leave(self, bounds: Floats) -> None:
        self.bound = max(self.bound, float(bounds.max(initial=-math.inf)))

    def _ask(self, cells: _Cells, moves: Floats) -> tuple[Bools, Bools]:
        """(m,) whether every array is allowed at the centre, and whether all may be somewhere in the cell."""
        places = self.pattern.places(cells.centres)
        room = self._room(places)
        allowed = np.asarray((room >= -ON_EDGE_M).all(axis=1))
        possible = np.asarray((room + moves >= -ON_EDGE_M).all(axis=1))
        count = self.pattern.count
        for k, rule in enumerate(self.problem.rules(self.kind, self.aim)):
            asked = np.flatnonzero(possible & ~cells.clear[:, k])
            if not len(asked):
                continue
            left = rule.left(places[asked].reshape(-1, 3)).reshape(-1, count)
            cells.clear[asked, k] = (left >= moves).all(axis=1)
            allowed[asked] &= (left >= -ON_EDGE_M).all(axis=1)
            possible[asked] = (left + moves >= -ON_EDGE_M).all(axis=1)
        return allowed & possible, possible

    def _room(self, places: Floats) -> Floats:
        """(m, n) how far each place is inside the box of places on plan."""
        box = self.problem.kinds[self.kind].box
        low, high = np.array(box.low_m[:2]), np.array(box.high_m[:2])
        return np.asarray(np.minimum(places[..., :2] - low, high - places[..., :2]).min(axis=-1))

    def _unseen(self, centres: Floats, gives: Floats, moves: Floats) -> tuple[Floats, Bools | None]:
        """What arrays give those they see from the centres, and (m, n, heads) who is hidden all over a cell."""
        sight = self.problem.sights[self.kind]
        if sight is None or not len(centres):
            return gives, None
        at = self.pattern.places(centres).reshape(-1, 3)
        reach = np.tile(moves, len(centres))
        hidden = np.zeros((len(at), len(self.problem.heads)), np.bool_)
        for solid in range(len(sight)):
            asked = np.flatnonzero(sight.clear_at_least_m(solid, at) < reach)
            if len(asked):
                left = sight.signed_m(solid, at[asked], sides=SIDES[0]).T
                hidden[asked] |= left + reach[asked, None] < -ON_EDGE_M
        dark = hidden.reshape(gives.shape)
        return np.where(dark, UNSEEN_M, gives), dark

    # The best place --------------------------------------------------------------------------------------

    def _take(self, numbers: Floats, band: int) -> bool:
        """Whether the arrays so laid out are allowed and better than the best, which they then are."""
        positions = self.positions(numbers, band)
        score = self.problem.score(positions, self.aim)
        if score <= max(self.score, UNSEEN_M / 2) or self.problem.in_conflict(positions):
            return False
        self.score, self.best, self.band = score, numbers.copy(), band
        return True

    def _climb(self, half: Floats) -> None:
        """Steps of all sizes about the best place, the best of them taken, while that helps."""
        free = self.high - self.low > ON_EDGE_M
        around = np.array(
            list(itertools.product(*((0.0, -1.0, 1.0, -0.5, 0.5) if f else (0.0,) for f in free)))
        )
        sizes = 0.3 ** np.arange(CLIMBS)[:, None, None]
        steps = (sizes * around[1:] * np.maximum(half, SMALLEST_M)).reshape(-1, 4)
        for _ in range(CLIMBS if len(steps) else 0):
            assert self.best is not None
            near = np.clip(self.best + steps, self.low, self.high)
            bands = np.full(len(near), self.band)
            values = self._worth(self._gives(near, bands).max(axis=1))
            order = np.argsort(-values, kind="stable")
            order = order[values[order] > self.score + ON_EDGE_M][: 8 * TRIED]
            if not len(order):
                return
            unasked = np.zeros((len(order), len(self.problem.rules(self.kind, self.aim))), np.bool_)
            cells = _Cells(near[order], bands[order], unasked)
            good = order[self._ask(cells, np.zeros(self.pattern.count))[0]]
            if not any(self._take(near[k], self.band) for k in good[:TRIED].tolist()):
                return

    # What no pattern can beat ----------------------------------------------------------------------------

    def _lower_caps(self, bands: Indices) -> None:
        """The ceilings of the bands lowered to what those worst off can have by themselves, from anywhere on the line.

        Where one talker limits alone, spacing and offset change nothing over a long way, and cells close in on
        that too slowly.
        """
        if self.best is None:
            return
        margins, seen = self.problem.heard(self.positions(self.best, self.band))
        worst = np.argsort(np.where(seen, margins, UNSEEN_M).max(axis=0), kind="stable")[:ALONE]
        for head in worst.tolist():
            for band in bands.tolist():
                self.caps[band] = min(self.caps[band], self._alone(head, band))

    def _alone(self, head: int, band: int) -> float:
        """The most that one head can have in a band: from any place on the row's line, or, of a grid, anywhere."""
        of = self.problem.kinds[self.kind]
        bare = replace(of, bands=(of.bands[band],), constraints=(), blockers=(), count=None)
        heads = self.problem.heads.take(np.array([head]))
        if self.pattern.rows > 1:
            found = search(heads, bare, Margin())
            return math.inf if found.bound_score is None else found.bound_score
        (x, y), (low, high) = self.pattern.middle_m, (of.box.low_m, of.box.high_m)
        far = math.hypot(*(max(abs(high[k] - c), abs(low[k] - c)) for k, c in ((0, x), (1, y))))
        line = Pattern(self.pattern.middle_m, self.pattern.along_deg, 1, offset_m=far)
        inner = _Tree(ArrangementProblem(heads, (bare,)), line, Margin(), LONE_CELLS, math.inf)
        outcome = inner.searched()
        return max(inner.bound, inner.score) if outcome == "certified" else math.inf
