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
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from geometry.aims import Aim, Margin, OfEachHead, ranked
from geometry.apart import FARTHEST_APART_M
from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.kind import Position
from geometry.placement import Solution, search
from geometry.problem import ArrangementProblem
from geometry.question import Demand
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

    @property
    def numbers(self) -> Floats | None:
        """(4,) the pattern's numbers; None where there is no place."""
        if not self.solution.positions:
            return None
        height = self.solution.positions[0].at_m[2]
        return np.array([self.spacing_m or 0.0, self.across_m or 0.0, self.offset_m or 0.0, height])


def best_pattern(
    problem: ArrangementProblem,
    pattern: Pattern,
    aim: Aim | None = None,
    *,
    kind: int = 0,
    most_cells: int = MOST_CELLS,
    begin: Sequence[Laid] = (),
) -> Laid:
    """The best place of a pattern of arrays of one kind by an aim, by the largest margin if none is given.

    The solution's bound is of this pattern's arrays only: it is certified where no arrays so laid out, in one
    band, are better by more than the aim's gap. `begin`: what was found of the same pattern by other aims.
    """
    began = time.perf_counter()
    tree = _Tree(problem, pattern, aim or Margin(), most_cells, kind=kind)
    for laid in begin:
        if laid.numbers is not None:
            tree.begin(laid.numbers, laid.solution.positions[0].band)
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
class _Asked:
    """What rules say of cells, each (m,): allowed at the centre, possible somewhere, what those that count leave there.

    `spare` is what is left at the centre, `most_spare` the most that is left anywhere in the cell.
    """

    allowed: Bools
    possible: Bools
    spare: Floats
    most_spare: Floats

    def where(self, keep: Bools) -> _Asked:
        return _Asked(self.allowed[keep], self.possible[keep], self.spare[keep], self.most_spare[keep])


@dataclass(slots=True)
class _Tree:
    """A search under way: the best place so far, what was left behind, and the box of numbers."""

    problem: ArrangementProblem
    pattern: Pattern
    aim: Aim
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
    _rules: tuple[Demand, ...] = field(init=False)

    def __post_init__(self) -> None:
        of = self.problem.kinds[self.kind]
        self._rules = self.problem.rules(self.kind, self.aim)
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
        unasked = np.zeros((len(bands), len(self._rules)), np.bool_)
        cells = _Cells(np.tile(centres, (len(self.caps), 1)), bands, unasked)
        while True:
            if self.spent > self.patience and self._is_of_margins:
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

    def begin(self, numbers: Floats, band: int) -> None:
        """Begin from this place, found by another aim, where it may be had."""
        if self._ask(
            _Cells(numbers[None], np.array([band]), np.zeros((1, len(self._rules)), np.bool_)),
            np.zeros(self.pattern.count),
        ).allowed[0]:
            self._take(numbers, band)

    def _level(self, cells: _Cells, half: Floats) -> tuple[_Cells, Floats]:
        """The cells of one size that are left after everything was asked of them, and their bounds."""
        self.spent += len(cells.centres)
        moves = self.pattern.moves_m(half)
        gives = self._gives(cells.centres, cells.bands)
        most = gives + moves[:, None]
        # distances and angles are asked for last: a cell that cannot leave everybody enough needs none
        bounds = np.minimum(self._worth(most.max(axis=1), self._slim_m(moves)), self.caps[cells.bands])
        if isinstance(self.aim, OfEachHead):
            keep = self._enough(most)
        else:
            keep = bounds > self.to
            self._leave(bounds[~keep])
        cells, gives = cells.where(keep), gives[keep]
        if not len(cells.centres):
            return cells, bounds[keep]
        rules = self._ask(cells, moves)
        cells, gives, rules = cells.where(rules.possible), gives[rules.possible], rules.where(rules.possible)
        if not len(cells.centres):
            return cells, np.zeros(0)
        gives, hidden = self._unseen(cells.centres, gives, moves)
        bounds = self._bounds(cells, gives, half, rules, hidden)
        keep = bounds > self.to
        self._leave(bounds[~keep])
        cells, gives, bounds, rules = cells.where(keep), gives[keep], bounds[keep], rules.where(keep)
        if len(cells.centres):
            values = np.minimum(self._values(cells.centres, cells.bands, gives), rules.spare)
            some = np.flatnonzero(rules.allowed & (values > self.score))
            some = some[np.argsort(-values[some], kind="stable")[:TRIED]]
            found = [self._take(cells.centres[k], int(cells.bands[k])) for k in some.tolist()]
            if any(found):
                self._climb(half)
            keep = bounds > self.to
            self._leave(bounds[~keep])
            cells, bounds = cells.where(keep), bounds[keep]
        return cells, bounds

    @property
    def _is_of_margins(self) -> bool:
        """Whether nothing scores more than the least margin."""
        return not self.aim.counts_heads and not isinstance(self.aim, OfEachHead)

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
        """(m,) the score of the most that heads are given (m, heads), as far as margins say it."""
        if self.aim.counts_heads:
            return ranked(self.problem.hearings[self.kind], margins.T, least_m)
        return np.asarray(margins.min(axis=1))

    def _enough(self, gives: Floats) -> Bools:
        """(m,) whether some array gives everybody what the aim needs, of (m, n, heads)."""
        return np.asarray(gives.max(axis=1).min(axis=1) >= self.aim.needs_margin_m - ON_EDGE_M)

    def _values(self, centres: Floats, bands: Indices, gives: Floats) -> Floats:
        """(m,) the score at the centres, spares of rules left aside."""
        if not isinstance(self.aim, OfEachHead):
            return self._worth(gives.max(axis=1))
        slant, off = self._towards(centres, bands)
        serves = gives.argmax(axis=1)[:, None]
        numbers = np.take_along_axis(self.aim.each(slant, off), serves, axis=1)[:, 0]
        return np.where(self._enough(gives), self.aim.of_all(numbers), -math.inf)

    def _towards(self, centres: Floats, bands: Indices) -> tuple[Floats, Floats]:
        """(m, n, heads) distances and angles from the band's middle."""
        away = self.problem.heads.at_m - self.pattern.places(centres)[:, :, None]
        rho = np.hypot(away[..., 0], away[..., 1])
        middles = np.array([band.middle_deg for band in self.problem.kinds[self.kind].bands])[bands]
        off = np.degrees(np.arctan2(-away[..., 2], rho)) - middles[:, None, None]
        return np.hypot(rho, away[..., 2]), off

    def _slim_m(self, moves: Floats) -> float:
        return self.aim.slim_m if moves.max() <= self.aim.slim_m / 2 else 0.0

    def _bounds(
        self, cells: _Cells, gives: Floats, half: Floats, rules: _Asked, hidden: Bools | None
    ) -> Floats:
        """(m,) no place in these cells has a larger score."""
        moves = self.pattern.moves_m(half)
        most = gives + moves[:, None]
        if hidden is not None:
            most = np.where(hidden, UNSEEN_M, most)
        caps = self.caps[cells.bands]
        if not isinstance(self.aim, OfEachHead):
            of_margins = self._worth(most.max(axis=1), self._slim_m(moves))
            return np.minimum(np.minimum(of_margins, caps), rules.most_spare)
        # who serves a head gives it what is needed, and no less than another is sure to
        sure = np.where(self._seen_by_all(cells, half), gives - moves[:, None], UNSEEN_M).max(axis=1)
        least = np.maximum(sure, self.aim.needs_margin_m)
        slant, off = self._towards(cells.centres, cells.bands)
        share = moves[:, None] / np.maximum(slant, ON_EDGE_M)
        turn = np.where(share < 1, np.degrees(np.arcsin(np.minimum(share, 1.0))), 180.0)
        numbers = self.aim.each(np.maximum(slant - moves[:, None], 0.0), np.maximum(np.abs(off) - turn, 0.0))
        numbers = np.where(most >= least[:, None] - ON_EDGE_M, numbers, np.inf).min(axis=1)
        return np.minimum(self.aim.of_all(numbers), caps)

    def _seen_by_all(self, cells: _Cells, half: Floats) -> Bools:
        """(m, n, 1) whether an array is sure to see everybody in its band from anywhere in a cell."""
        places = self.pattern.places(cells.centres)
        clear = np.ones(places.shape[:2], np.bool_)
        if not self._past_each_other(cells, half):
            return np.zeros((*clear.shape, 1), np.bool_)
        sight = self.problem.sights[self.kind]
        for solid in range(0 if sight is None else len(sight)):
            assert sight is not None
            least = sight.clear_at_least_m(solid, places.reshape(-1, 3)).reshape(clear.shape)
            clear &= least >= self.pattern.moves_m(half)
        return clear[..., None]

    def _past_each_other(self, cells: _Cells, half: Floats) -> bool:
        """Whether level arrays hide nobody in a band from each other: lines are under the bodies where they pass."""
        x, y, z = (float(number) for number in self.pattern.places(cells.centres[:1])[0, 0])
        solids = self.problem.solids([Position((x, y, z), 0, self.kind)])
        if not solids or self.pattern.count == 1:
            return True
        apart = [
            float(cells.centres[:, number].min() - half[number])
            for number, count in ((SPACING, self.pattern.columns), (ACROSS, self.pattern.rows))
            if count > 1
        ]
        wide = max(math.hypot(one.middle_m[0] - x, one.middle_m[1] - y) + one.plan_radius_m for one in solids)
        low_deg = min(band.low_deg for band in self.problem.kinds[self.kind].bands)
        return (min(apart) - wide) * math.tan(math.radians(low_deg)) >= z - min(one.low_m for one in solids)

    def _leave(self, bounds: Floats) -> None:
        self.bound = max(self.bound, float(bounds.max(initial=-math.inf)))

    def _ask(self, cells: _Cells, moves: Floats) -> _Asked:
        """What the rules say of these cells."""
        places = self.pattern.places(cells.centres)
        room = self._room(places)
        allowed = np.asarray((room >= -ON_EDGE_M).all(axis=1))
        possible = np.asarray((room + moves >= -ON_EDGE_M).all(axis=1))
        spare, most_spare = np.full(len(places), np.inf), np.full(len(places), np.inf)
        for k, rule in enumerate(self._rules):
            asked = np.flatnonzero(possible & ~cells.clear[:, k])
            if not len(asked):
                continue
            left = rule.left(places[asked].reshape(-1, 3)).reshape(-1, self.pattern.count)
            allowed[asked] &= (left >= -ON_EDGE_M).all(axis=1)
            possible[asked] = (left + moves >= -ON_EDGE_M).all(axis=1)
            if rule.counts:
                spare[asked] = np.minimum(spare[asked], left.min(axis=1) + rule.keep_m)
                most_spare[asked] = np.minimum(most_spare[asked], (left + moves).min(axis=1) + rule.keep_m)
            else:
                cells.clear[asked, k] = (left >= moves).all(axis=1)
        if self.aim.counts_spares:
            beside = self._beside(cells)
            spare, most_spare = np.minimum(spare, beside), np.minimum(most_spare, beside + 2 * moves.max())
        return _Asked(allowed & possible, possible, spare, most_spare)

    def _beside(self, cells: _Cells) -> Floats:
        """(m,) what is left at the centres of what neighbours at one height keep from each other, stops aside."""
        box, least = self.problem.kinds[self.kind].box, np.full(len(cells.centres), np.inf)
        middle = (np.array(box.low_m) + np.array(box.high_m)) / 2
        rules = self.problem.from_others(
            self.kind, [Position((middle[0], middle[1], middle[2]), 0, self.kind)]
        )
        counts = (self.pattern.columns, self.pattern.rows)
        for number, way, count in zip((SPACING, ACROSS), self.pattern.ways, counts, strict=True):
            if count > 1:
                away = cells.centres[:, number, None] * np.append(way, 0.0)
                least = np.min(
                    [least, *(rule.signed_m(middle + away) for rule in rules if not rule.stop)], axis=0
                )
        return least

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
            values = self._values(near, bands, self._gives(near, bands))
            order = np.argsort(-values, kind="stable")
            order = order[values[order] > self.score + ON_EDGE_M][: 8 * TRIED]
            if not len(order):
                return
            unasked = np.zeros((len(order), len(self._rules)), np.bool_)
            cells = _Cells(near[order], bands[order], unasked)
            good = order[self._ask(cells, np.zeros(self.pattern.count)).allowed]
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
