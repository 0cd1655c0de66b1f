"""How many arrays are worth having: from one up, anywhere, in a row, in a grid, and on the ceiling's tiles.

Every rung is by the largest margin with all rules kept, or, where so many cannot cover everybody, by the most
talkers covered. Rows and grids lie along tables and along the heads' own block. Arrays anywhere may hang idle,
so that more of them are never worse; rows and grids may be, and are then told as they are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np

from geometry.aims import ENOUGH_M, Margin, Most
from geometry.arrangement import Wish, arrange
from geometry.band import ON_EDGE_M
from geometry.hearing import UNSEEN_M
from geometry.kind import Position
from geometry.patterns import Pattern, best_pattern
from geometry.placement import Solution, best_solution, by_score
from geometry.problem import ArrangementProblem
from geometry.records import record
from scenes.findings.ladder import MOST_RUNGS, Ladder, Layout, Needed, Proof, Rung
from scenes.findings.placement import Far
from scenes.place.everybody import covered_in_the_worst
from scenes.place.rows import long_side_deg
from scenes.place.search import PlaceQuestion, place_question, stage_of
from scenes.place.snap import tile_places
from scenes.room.layouts import in_layouts
from scenes.room.scene import Scene

OFFSET_M = 1.5
"""A row that leaves somebody too little about its middle may be moved along by this, either way."""
TABLES = 3
"""Rows are laid along so many tables, those with the most seats first."""


def ladder_of(
    scene: Scene,
    most: int,
    *,
    enough_m: float = ENOUGH_M,
    tiles: bool = True,
    progress: Callable[[Far], None] | None = None,
) -> Ladder:
    """Rungs of one to `most` arrays of the scene's first profile, `enough_m` being the margin that is enough.

    `tiles`: on the ceiling's tiles too, where it has one grid to hang from. Raises ValueError where `most` is
    not 1 to MOST_RUNGS, or the scene has no array to be like.
    """
    if not 1 <= most <= MOST_RUNGS:
        raise ValueError(f"ladder of {most} arrays; allowed is 1 to {MOST_RUNGS}")
    if not scene.arrays:
        raise ValueError("a ladder needs an array to be like; found none")
    climber = _Climber(scene, place_question(scene, (), most), enough_m, tiles, progress)
    rungs = tuple(rung for count in range(1, most + 1) for rung in climber.rungs(count))
    return Ladder(rungs, needed_of(rungs, enough_m), climber.talkers, enough_m)


def needed_of(rungs: Sequence[Rung], enough_m: float) -> tuple[Needed, ...]:
    """For each layout how many arrays leave everybody enough, and whether fewer are proven not to."""
    found = []
    for pattern, on_lattice in dict.fromkeys((rung.pattern, rung.on_lattice) for rung in rungs):
        own = [rung for rung in rungs if (rung.pattern, rung.on_lattice) == (pattern, on_lattice)]
        does = [rung.arrays for rung in own if rung.margin_m is not None and rung.margin_m >= enough_m]
        first = does[0] if does else None
        fewer = [rung for rung in own if first is None or rung.arrays < first]
        proven = all(_too_few(rung, enough_m) for rung in fewer)
        found.append(Needed(pattern, on_lattice, first, proven))
    return tuple(found)


def _too_few(rung: Rung, enough_m: float) -> bool:
    """Whether it is proven that so many leave somebody less than enough."""
    return rung.outcome == "none allowed" or (rung.bound_m is not None and rung.bound_m < enough_m)


def ladder_json(ladder: Ladder | None) -> dict[str, object]:
    """The keys `ladder` and `needed` of a placement's object; null where no ladder was asked for."""
    if ladder is None:
        return {"ladder": None, "needed": None}
    return {
        "ladder": [_rung_json(rung) for rung in ladder.rungs],
        "needed": [
            {
                "pattern": one.pattern,
                "on_lattice": one.on_lattice,
                "enough_m": ladder.enough_m,
                "arrays": one.arrays,
                "proven": one.proven,
            }
            for one in ladder.needed
        ],
    }


def _rung_json(rung: Rung) -> dict[str, object]:
    return {
        "arrays": rung.arrays,
        "pattern": rung.pattern,
        "covered": rung.covered,
        "talkers": rung.talkers,
        "margin_m": rung.margin_m,
        "tolerance_m": rung.tolerance_m,
        "farthest_m": rung.farthest_m,
        "on_lattice": rung.on_lattice,
        "outcome": rung.outcome,
        "bound_m": rung.bound_m,
        "costs_m": rung.costs_m,
        "idle": rung.idle,
        "places": [{"at_m": list(at), "height_m": height, "band": band} for at, height, band in rung.places],
    }


# Where rows may lie ------------------------------------------------------------------------------------------


@record(frozen=True, slots=True)
class Frame:
    """A middle and the plan angle that rows run along."""

    middle_m: tuple[float, float]
    along_deg: float


def frames(scene: Scene) -> tuple[Frame, ...]:
    """Where rows are laid: along the tables with the most seats, and along the block of all heads.

    The block is as the table with the most seats is turned, or as the room; rows run along its longer side and,
    where no table has half the heads, across it too.
    """
    seats = {table.id: sum(head.table == table.id for head in scene.heads) for table in scene.tables}
    tables = sorted((t for t in scene.tables if seats[t.id]), key=lambda t: -seats[t.id])[:TABLES]
    found = [Frame(table.at_m, long_side_deg(table)) for table in tables]
    main = bool(tables) and 2 * seats[tables[0].id] >= len(scene.heads)
    turn = found[0].along_deg if main else 0.0
    along = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    axes = np.array([along, [-along[1], along[0]]])
    at = np.array([head.at_m for head in scene.heads]) @ axes.T
    low, high = at.min(axis=0), at.max(axis=0)
    x, y = (float(number) for number in (low + high) / 2 @ axes)
    longer = turn if high[0] - low[0] >= high[1] - low[1] else turn + 90
    found.append(Frame((x, y), longer))
    if not main:
        found.append(Frame((x, y), longer + 90))
    return tuple({(*np.round(f.middle_m, 6), round(f.along_deg % 180, 6)): f for f in found}.values())


# The rungs ---------------------------------------------------------------------------------------------------


class _Climber:
    """The rungs of one room, each number after the one before."""

    def __init__(
        self,
        scene: Scene,
        question: PlaceQuestion,
        enough_m: float,
        tiles: bool,
        progress: Callable[[Far], None] | None,
    ) -> None:
        self.scene, self.question, self.enough_m, self.progress = scene, question, enough_m, progress
        self.problem: ArrangementProblem = question.problem
        self.frames = frames(scene)
        self.talkers = max(len({head.person for head in one.heads}) for one in in_layouts(scene))
        self.lattice = tile_places(scene, question.like[0], self.problem) if tiles else None
        self.off = None if self.lattice is None else False
        self.before: dict[bool, Rung] = {}

    def rungs(self, count: int) -> Iterable[Rung]:
        """The rungs of this number: rows and grids first sought, arrays anywhere first told."""
        laid: list[tuple[Layout, Solution]] = [("row", self._laid([(count, 1)]))]
        grids = [(count // rows, rows) for rows in range(2, count // 2 + 1) if count % rows == 0]
        if grids:
            laid.append(("grid", self._laid(grids)))
        free = self._free(count, [solution.positions for _, solution in laid])
        yield free
        for pattern, solution in laid:
            yield self._rung(count, pattern, solution, self.off, free.bound_m)
        if self.lattice is None:
            return
        anywhere = self._never_worse(self._rung(count, "free", self.lattice.best_anywhere(count), True, None))
        yield anywhere
        shaped: list[tuple[Layout, list[tuple[int, int]]]] = [("row", [(count, 1)]), ("grid", grids)]
        for pattern, shapes in shaped:
            on_tiles = self._on_lattice(shapes)
            if on_tiles is not None:
                yield self._rung(count, pattern, on_tiles, True, free.bound_m)

    # -- anywhere

    def _free(self, count: int, starts: Sequence[Sequence[Position]]) -> Rung:
        told = self.progress
        best = max(starts, key=lambda some: self.problem.score(some, Margin()), default=())
        wish = Wish(
            aims=(Margin(),),
            start=tuple(best),
            progress=None if told is None else lambda step: told(stage_of(step)),
        )
        found = arrange(self.problem, wish, count)
        margin = self._or_laid(found.margin, best)
        if margin.figures is None or margin.figures.margin_m < -ON_EDGE_M:
            most = arrange(self.problem, replace(wish, aims=(Most(),), start=()), count).by_aim["most"]
            if most.positions:
                margin = replace(most, outcome=margin.outcome, bound_score=margin.bound_score)
        rung = self._rung(count, "free", margin, self.off, None)
        return self._never_worse(rung)

    def _or_laid(self, margin: Solution, laid: Sequence[Position]) -> Solution:
        """The solution, or the best row or grid where that is a hair better: a search ends within its gap."""
        if not laid or self.problem.in_conflict(laid):
            return margin
        figures = self.problem.figures(laid)
        score = self.problem.score(laid, Margin())
        if score <= _margin_of(margin) or score < -ON_EDGE_M:
            return margin
        bound = _larger(score, margin.bound_score)
        return replace(margin, positions=tuple(laid), figures=figures, bound_score=bound)

    def _never_worse(self, rung: Rung) -> Rung:
        """The rung, or the one of one array fewer with one more idle where that is better; its bound no smaller."""
        before, lattice = self.before.get(rung.on_lattice is True), rung.on_lattice is True
        if before is not None and _rank(before) > _rank(rung):
            bound = _larger(before.margin_m, rung.bound_m)
            closed = (
                bound is not None and before.margin_m is not None and bound - before.margin_m <= Margin.gap
            )
            rung = replace(
                before,
                arrays=rung.arrays,
                idle=before.idle + 1,
                bound_m=bound,
                outcome="certified" if closed else "unresolved",
            )
        self.before[lattice] = rung
        return rung

    # -- in a row, in a grid

    def _laid(self, shapes: Sequence[tuple[int, int]]) -> Solution:
        """The best of these columns and rows over all frames; moved along where the middle leaves too little."""
        patterns = [
            Pattern(frame.middle_m, frame.along_deg, columns, rows)
            for frame in self.frames
            for columns, rows in shapes
        ]
        solution = best_solution(self._patterns(patterns), _good)
        if _margin_of(solution) >= self.enough_m or any(rows > 1 for _, rows in shapes):
            return self._most_of(solution, patterns)
        moved = [replace(pattern, offset_m=OFFSET_M) for pattern in patterns]
        return self._most_of(best_solution(self._patterns(moved), _good), moved)

    def _patterns(self, patterns: Sequence[Pattern], aim: Margin | Most | None = None) -> list[Solution]:
        """The best place of each pattern; of flush arrays in each plane of the ceiling."""
        kinds = range(len(self.problem.kinds))
        return [
            best_pattern(self.problem, one, aim, kind=kind).solution for one in patterns for kind in kinds
        ]

    def _most_of(self, solution: Solution, patterns: Sequence[Pattern]) -> Solution:
        """The solution, where it does not cover everybody at places that cover the most."""
        if not solution.positions or _margin_of(solution) >= -ON_EDGE_M:
            return solution
        most = max(self._patterns(patterns, Most()), key=by_score)
        if not most.positions:
            return solution
        return replace(solution, positions=most.positions, figures=most.figures)

    def _on_lattice(self, shapes: Sequence[tuple[int, int]]) -> Solution | None:
        """The best of these columns and rows on tiles; None where every frame lies askew to them."""
        assert self.lattice is not None
        found = [
            self.lattice.best_pattern(Pattern(frame.middle_m, frame.along_deg, columns, rows))
            for frame in self.frames
            for columns, rows in shapes
        ]
        some = [one for one in found if one is not None]
        return best_solution(some, _good) if some else None

    # -- told

    def _rung(
        self, count: int, pattern: Layout, solution: Solution, on_lattice: bool | None, free_m: float | None
    ) -> Rung:
        positions, bound = solution.positions, solution.bound_score
        if bound is not None and bound <= UNSEEN_M / 2:
            bound = None
        outcome: Proof = solution.outcome
        if not positions:
            return Rung(
                count, pattern, None, self.talkers, None, None, on_lattice, outcome, bound, None, 0, ()
            )
        margins, seen = self.problem.heard(positions)
        heard = np.asarray((np.where(seen, margins, UNSEEN_M) >= -ON_EDGE_M).any(axis=0), np.bool_)
        scene = self.question.scene
        _, covered, talkers = covered_in_the_worst(scene, heard[: len(scene.heads)])
        figures = self.problem.figures(positions)
        serving = len(np.unique(self.problem.owners(positions)))
        names = self.question.bands(0)
        places = sorted((p.at_m, names[p.band]) for p in positions)
        return Rung(
            arrays=count,
            pattern=pattern,
            covered=covered,
            talkers=talkers,
            margin_m=figures.margin_m,
            farthest_m=figures.worst_slant_m,
            on_lattice=on_lattice,
            outcome=outcome,
            bound_m=bound,
            costs_m=None if free_m is None or figures.margin_m < 0 else max(free_m - figures.margin_m, 0.0),
            idle=count - serving,
            places=tuple(((x, y), z, band) for (x, y, z), band in places),
        )


def _margin_of(solution: Solution) -> float:
    """The least margin of a solution, -inf where it has no place."""
    return -math.inf if solution.figures is None else solution.figures.margin_m


def _good(solution: Solution) -> tuple[float, float]:
    """What makes one solution better than another: whom it covers, then the margin."""
    figures = solution.figures
    return (-1.0, -math.inf) if figures is None else (figures.covered, figures.margin_m)


def _rank(rung: Rung) -> tuple[float, float]:
    """What makes one rung better than another: whom it covers, then the margin."""
    if rung.covered is None or rung.margin_m is None:
        return (-math.inf, -math.inf)
    return (float(rung.covered - rung.talkers), rung.margin_m)


def _larger(one: float | None, other: float | None) -> float | None:
    known = [number for number in (one, other) if number is not None]
    return max(known) if known else None
