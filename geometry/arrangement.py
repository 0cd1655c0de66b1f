"""Arrays placed together: how many, where, and whom each serves, by every aim asked for, with what is proven.

One array is an arrangement of one: its bounds are those of the search itself. For more, groups of heads
come from covers (`cover_proof`), every array is placed by the certified search for its own, arrays are
kept clear of each other (`apart`) and brought together by the aims of each head (`by_aim`).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace
from typing import Literal

import numpy as np

from geometry.aims import Aim, AimName, Margin, Most, OfEachHead, Tolerance, rank
from geometry.apart import fill_up, settle
from geometry.band import ON_EDGE_M
from geometry.branching import Outcome, Progress
from geometry.by_aim import come_closer
from geometry.cover_cells import Group
from geometry.cover_proof import CoverProof, Thoroughness
from geometry.hearing import UNSEEN_M, Figures
from geometry.kind import Position
from geometry.laid_out import LaidOut
from geometry.patterns import Pattern
from geometry.placement import Effort, Solution, best_solution, search
from geometry.problem import ArrangementProblem
from geometry.records import record

IN_VAIN = 2
"""So many more arrays, each without more margin for it, end the search for a number that does."""

GaveWayWhy = Literal["too little margin", "not covered", "none allowed", "unresolved"]


@record(frozen=True, slots=True)
class GaveWay:
    """Why another aim than the first asked for was taken.

    too little margin  nobody's arrangement leaves everybody `asked_m`; the largest margin found is `best_m`
    not covered        no arrangement covers everybody
    none allowed       no position is allowed, or somebody is seen from none
    unresolved         none was found within the effort allowed
    """

    asked: AimName
    taken: AimName
    why: GaveWayWhy
    asked_m: float | None
    best_m: float | None


@record(frozen=True, slots=True)
class CountProof:
    """What is proven of the fewest arrays.

    arrays    how many there are here, 0 where a cover within the limit was not found
    at_least  no smaller number covers everybody who can be covered
    proven    the two meet
    tried     up to so many none were found that cover everybody and keep from each other what they must;
              None where some were. The arrays here are then the fewest that would but for that
    each_m    the margin that everybody is to have of them; 0 where no number leaves everybody what was asked
    """

    arrays: int
    at_least: int
    proven: bool
    tried: int | None
    each_m: float = 0.0


@record(frozen=True, slots=True)
class Stand:
    """One array of an arrangement, with the heads it serves, those it gives a margin of 0 or more, and its figures.

    `figures` are of the heads it serves, None where it serves nobody.
    """

    position: Position
    heads: tuple[int, ...]
    covers: tuple[int, ...]
    figures: Figures | None


@record(frozen=True, slots=True, eq=False)
class Arrangement:
    """Arrays placed together by every aim asked for, and the one taken.

    by_aim     the solution of each aim; their positions are in the order of the kinds for one array a kind
    taken      the aim whose positions are taken: the first asked for, or what it gave way to
    stands     the arrays of that solution, each with its own; empty where there are none
    count      of the fewest, what is proven; None where the number was given
    wanted     how many arrays were asked for; fewer are placed where no place is left beside the others
    apart      every two arrays keep from each other what they must
    unreached  heads proven to be out of reach of any one array, anywhere in the box: left out of the count
               of the fewest, and of the figures and bounds of its solutions
    over_limit no cover within the limit was found
    """

    by_aim: Mapping[AimName, Solution]
    taken: AimName
    gave_way: GaveWay | None
    stands: tuple[Stand, ...]
    count: CountProof | None
    wanted: int
    apart: bool
    unreached: tuple[int, ...]
    over_limit: bool
    rounds: int
    seconds: float

    @property
    def solution(self) -> Solution:
        """The solution that is taken."""
        return self.by_aim[self.taken]

    @property
    def margin(self) -> Solution:
        """The solution with the largest margin, which is always sought."""
        return self.by_aim["margin"]

    @property
    def evaluations(self) -> int:
        """Positions looked at for all aims."""
        return sum(solution.evaluations for solution in self.by_aim.values())


@record(frozen=True, slots=True)
class Told:
    """What is told while arrays are sought: a search's own progress, or the round of a proof by its name."""

    search: Progress | None = None
    question: str = ""
    round: int = 0


@record(frozen=True, slots=True, eq=False)
class Wish:
    """How arrays are to be sought.

    aims      the first is taken if it can be had, else `instead`
    instead   the aim to take where the first cannot be had; sought then if it is not among the aims
    effort    for one array; `thorough` for several
    record    keep certificates (one array only)
    start     positions to begin from (one array), or to better (as many as are asked for)
    limit     most arrays of the fewest, `each_m` the margin everybody must have of them
    progress  told how far it is
    patterns  arrays are laid out in one of these, each of as many as are asked for; none: anywhere
    known     solutions of the same problem for a given number of several arrays anywhere, by some of the aims
    """

    aims: tuple[Aim, ...]
    instead: Aim | None = None
    effort: Effort | None = None
    thorough: Thoroughness | None = None
    record: bool = False
    limit: int = 12
    each_m: float = 0.0
    start: tuple[Position, ...] = ()
    progress: Callable[[Told], None] | None = None
    patterns: tuple[Pattern, ...] = ()
    known: Mapping[AimName, Solution] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.aims:
            raise ValueError("a Wish needs at least one aim; found none")


def arrange(
    problem: ArrangementProblem, wish: Wish, count: int | Literal["fewest"] | None = None
) -> Arrangement:
    """Arrays for these heads by the aims wished for: a given number, the fewest that cover everybody, or one of each.

    `count` None takes what the kinds say; with one kind and a number its own count gives way. One array of several
    kinds without counts is of whichever is best. Heads that no array can cover are left out of the count of the
    fewest and told in `unreached`.
    """
    began = time.perf_counter()
    if isinstance(count, int):
        if count < 1:
            raise ValueError(f"arrange count is {count}; allowed is 1 or more, 'fewest' or None")
        if len(problem.kinds) == 1 and problem.kinds[0].count is not None:
            kind = replace(problem.kinds[0], count=count)
            problem = replace(problem, kinds=(kind,))
    if count is None:
        if any(kind.count is None for kind in problem.kinds):
            raise ValueError("arrange without a count needs the count of every kind")
        count = sum(kind.count or 0 for kind in problem.kinds)
    seeker = _seeker(problem, wish, count)
    by_aim = {aim.name: seeker.solution(aim) for aim in wish.aims}
    by_aim.setdefault("margin", seeker.solution(Margin()))
    taken, gave_way = wish.aims[0].name, None
    if not by_aim[taken].positions and wish.instead is not None:
        by_aim.setdefault(wish.instead.name, seeker.solution(wish.instead))
        gave_way = _gave_way(wish.aims[0], wish.instead.name, by_aim["margin"])
        taken = wish.instead.name
    positions = by_aim[taken].positions
    return Arrangement(
        by_aim=by_aim,
        taken=taken,
        gave_way=gave_way,
        stands=stands(problem, positions),
        count=seeker.count,
        wanted=seeker.wanted,
        apart=not problem.in_conflict(positions),
        unreached=seeker.unreached,
        over_limit=seeker.over_limit,
        rounds=seeker.rounds,
        seconds=time.perf_counter() - began,
    )


def _seeker(
    problem: ArrangementProblem, wish: Wish, count: int | Literal["fewest"]
) -> _One | _Several | LaidOut:
    """What answers for so many arrays."""
    if wish.patterns:
        return LaidOut(problem, wish.patterns)
    alike = len(problem.kinds) == 1 or all(kind.count is None for kind in problem.kinds)
    return _One(problem, wish) if count == 1 and alike else _Several(problem, wish, count)


def stands(problem: ArrangementProblem, positions: Sequence[Position]) -> tuple[Stand, ...]:
    """The arrays with the heads each serves and covers, and its figures over those it serves."""
    if not positions:
        return ()
    if len(positions) == 1:
        return (_alone(problem, positions[0]),)
    coverage = problem.coverage(positions)
    serves = coverage.serving()
    covered = (coverage.margin_m >= -ON_EDGE_M) & coverage.seen
    found = []
    for i, position in enumerate(positions):
        own = np.flatnonzero(serves == i)
        figures = None
        if len(own):
            figures = problem.asked(position.kind, own, Margin()).figures(
                np.array(position.at_m), position.band
            )
        found.append(
            Stand(position, tuple(own.tolist()), tuple(np.flatnonzero(covered[i]).tolist()), figures)
        )
    return tuple(found)


def _alone(problem: ArrangementProblem, position: Position) -> Stand:
    """The only array: it serves everybody."""
    everybody = np.arange(len(problem.heads))
    margins, seen = problem.heard([position])
    covers = np.flatnonzero((margins[0] >= -ON_EDGE_M) & seen[0])
    figures = problem.asked(position.kind, everybody, Margin()).figures(
        np.array(position.at_m), position.band
    )
    return Stand(position, tuple(everybody.tolist()), tuple(covers.tolist()), figures)


def _gave_way(asked: Aim, taken: AimName, margin: Solution) -> GaveWay:
    best = None if margin.figures is None else margin.figures.margin_m
    why: GaveWayWhy
    if margin.figures is None:
        why = "unresolved" if margin.outcome == "unresolved" else "none allowed"
    else:
        why = "not covered" if asked.needs_margin_m <= 0 else "too little margin"
    needs = asked.needs_margin_m if math.isfinite(asked.needs_margin_m) else None
    return GaveWay(asked.name, taken, why, needs, best)


# ---- one array ------------------------------------------------------------------------------------


class _One:
    """The answers for one array: each aim by its own search, each beginning from what the others found."""

    def __init__(self, problem: ArrangementProblem, wish: Wish) -> None:
        self.problem, self.wish = problem, wish
        self.found: dict[AimName, Solution] = {}
        self.count: CountProof | None = None
        self.wanted, self.rounds = 1, 0
        self.unreached: tuple[int, ...] = ()
        self.over_limit = False

    def solution(self, aim: Aim) -> Solution:
        if aim.name not in self.found:
            known = None if self.wish.record else self._known(aim)
            self.found[aim.name] = self._searched(aim) if known is None else known
        return self.found[aim.name]

    def _searched(self, aim: Aim) -> Solution:
        start = [*self.wish.start, *(p for solution in self.found.values() for p in solution.positions)]
        kinds = range(len(self.problem.kinds))
        return best_solution([self._of_kind(k, aim, [p for p in start if p.kind == k]) for k in kinds])

    def _of_kind(self, k: int, aim: Aim, start: Sequence[Position]) -> Solution:
        """The search for an array of one kind."""
        told = self.wish.progress
        found = search(
            self.problem.heads,
            self.problem.kinds[k],
            aim,
            start=start,
            effort=replace(
                self.wish.effort or Effort(),
                record=self.wish.record,
                progress=None if told is None else lambda progress: told(Told(progress)),
            ),
            prepared=self.problem.prepared(k, np.arange(len(self.problem.heads))),
        )
        return replace(found, positions=tuple(replace(one, kind=k) for one in found.positions))

    def _known(self, aim: Aim) -> Solution | None:
        """The solution where the largest margin says it already."""
        if isinstance(aim, Margin):
            return None
        margin = self.solution(Margin())
        bound = margin.bound_score
        if margin.outcome == "certified" and (bound is None or bound < aim.needs_margin_m - ON_EDGE_M):
            return Solution(aim, "none allowed", (), None, None, 0, 0.0)
        if isinstance(aim, Tolerance):
            counts = any(sight is not None for sight in self.problem.sights) or any(
                not each.stop for kind in self.problem.kinds for each in kind.constraints
            )
            return None if counts else replace(margin, aim=aim, evaluations=0, seconds=0.0)
        return most_of_all(self.problem, aim, margin) if isinstance(aim, Most) else None


def most_of_all(problem: ArrangementProblem, aim: Most, margin: Solution) -> Solution | None:
    """The solution by the aim `most` where the largest margin covers everybody; None where it does not."""
    figures = margin.figures
    if figures is None or figures.margin_m < -ON_EDGE_M or margin.bound_score is None:
        return None
    everybody = float(problem.hearings[0].persons[2].sum())
    if figures.covered < everybody - 1e-9:
        return None
    bound = rank(everybody, margin.bound_score)
    return replace(margin, aim=aim, bound_score=bound, evaluations=0, seconds=0.0)


# ---- several --------------------------------------------------------------------------------------


class _Several:
    """The answers for several arrays: covers and their proofs, then every array for its own heads."""

    def __init__(self, problem: ArrangementProblem, wish: Wish, count: int | Literal["fewest"]) -> None:
        self.all, self.wish = problem, wish
        self.thorough = wish.thorough or Thoroughness()
        self.found: dict[AimName, Solution] = {}
        self.count: CountProof | None = None
        self.unreached: tuple[int, ...] = ()
        self.over_limit = False
        self.groups: list[Group] | None = None
        # heads that are reached: those the count and the bounds are about
        self.problem = problem
        self.proof = CoverProof(problem, Margin(), self.thorough, self._round)
        if isinstance(count, int):
            self.wanted = count
            self.found.update(wish.known)
            self.solution(Margin())
        else:
            self.wanted = self._fewest()

    @property
    def rounds(self) -> int:
        return self.proof.rounds

    def _round(self, question: str, number: int) -> None:
        if self.wish.progress is not None:
            self.wish.progress(Told(question=question, round=number))

    # -- how many

    def _fewest(self) -> int:
        """The number of arrays taken, with what is proven of it; the solution by margin comes with it."""
        if not self.proof.anywhere:
            self.found["margin"] = _nothing(Margin())
            return 0
        heads = np.arange(len(self.all.heads))
        self.unreached = tuple(self.proof.unreached())
        if len(self.unreached) == len(heads):
            self.found["margin"] = _nothing(Margin())
            return 0
        if self.unreached:
            self.problem = self.all.of(np.setdiff1d(heads, self.unreached))
            self.proof = CoverProof(self.problem, Margin(), self.thorough, self._round, self.proof.rounds)
        least = self.wish.each_m
        self.groups, at_least, proven = self.proof.fewest(self.wish.limit, least)
        if self.groups is None and least > 0:
            # no number leaves everybody as much: the fewest that cover everybody at all
            least = 0.0
            self.groups, at_least, proven = self.proof.fewest(self.wish.limit, least)
        if self.groups is None:
            self.over_limit = True
            self.count = CountProof(0, at_least, False, None, least)
            self.found["margin"] = _nothing(Margin(), math.inf)
            return 0
        number, tried = self._enough(len(self.groups), least)
        placed = len(self.found["margin"].positions)
        self.count = CountProof(placed, at_least, proven and number == at_least, tried, least)
        return number

    def _enough(self, number: int, least: float) -> tuple[int, int | None]:
        """The number of arrays with which everybody has `least` and they are clear of each other; or what was tried.

        So many cover everybody; more are asked for only where they stand in each other's way.
        """
        self.wanted = number
        first = self._seek_margin()
        good, most, in_vain = self._does(first, least), self._margin_of(first), 0
        while not good and self.wanted < self.wish.limit and in_vain < IN_VAIN:
            self.wanted, self.groups = self.wanted + 1, None
            self.found.pop("margin", None)
            now = self._seek_margin()
            good = self._does(now, least)
            better = self._margin_of(now) > most + ON_EDGE_M
            most, in_vain = (self._margin_of(now), 0) if better else (most, in_vain + 1)
        if good:
            return self.wanted, None
        # more in vain are no answer: the fewest that would do, were they not in each other's way
        tried, self.wanted = self.wanted, number
        self.found["margin"] = first
        return number, tried

    def _does(self, solution: Solution, least: float) -> bool:
        return self._margin_of(solution) >= least - ON_EDGE_M

    def _margin_of(self, solution: Solution) -> float:
        """The least margin of those that are reached, -inf where arrays are in each other's way."""
        if self.problem.in_conflict(solution.positions):
            return -math.inf
        return self.problem.least(solution.positions)

    # -- by each aim

    def solution(self, aim: Aim) -> Solution:
        if aim.name not in self.found:
            self.found[aim.name] = self._sought(aim)
        return self.found[aim.name]

    def _sought(self, aim: Aim) -> Solution:
        if isinstance(aim, Margin):
            return self._seek_margin()
        margin = self.solution(Margin())
        if not self.wanted or not self.proof.anywhere:
            return _nothing(aim)
        if isinstance(aim, Most):
            return most_of_all(self.problem, aim, margin) or self._seek_most(aim)
        if self.problem.in_conflict(margin.positions):
            return Solution(aim, "unresolved", (), None, None, 0, 0.0)
        if isinstance(aim, OfEachHead):
            return self._seek_closer(aim, margin)
        began = time.perf_counter()
        self._round(aim.name, 1)
        proof = CoverProof(self.problem, aim, self.thorough, self._round)
        positions, bound = self._kept_apart(proof, self._groups_of(margin), aim)
        return self._told(aim, positions, bound, time.perf_counter() - began)

    def _seek_margin(self) -> Solution:
        """The largest margin of the wanted number of arrays."""
        began = time.perf_counter()
        if not self.proof.anywhere or not self.wanted:
            self.found["margin"] = _nothing(Margin())
        else:
            positions, bound = self._kept_apart(self.proof, self.groups, Margin())
            positions = self._or_start(positions, Margin())
            self.found["margin"] = self._told(Margin(), positions, bound, time.perf_counter() - began)
        return self.found["margin"]

    def _or_start(self, positions: list[Position], aim: Aim) -> list[Position]:
        """These positions, or those the wish begins from where they are as many and better."""
        start = list(self.wish.start)
        if len(start) != self.wanted or self.problem.in_conflict(start):
            return positions
        if not positions or self.problem.in_conflict(positions):
            return start
        better = self.problem.score(start, aim) > self.problem.score(positions, aim) + ON_EDGE_M
        return start if better else positions

    def _kept_apart(
        self, proof: CoverProof, groups: Sequence[Group] | None, aim: Aim
    ) -> tuple[list[Position], float]:
        """The wanted arrays (or as many as have room) clear of each other, and the bound of their score."""
        best, bound = proof.largest(self.wanted, groups)
        if not best:
            return [], bound
        enough = bound - self.thorough.gap_m
        start = self._or_start([], aim)
        if start and self.problem.score(start, aim) >= enough:
            return start, bound
        return fill_up(proof.problem, settle(proof.problem, best, aim, enough), self.wanted, aim), bound

    def _groups_of(self, solution: Solution) -> list[Group] | None:
        """Whom each array of a solution serves."""
        if not solution.positions:
            return None
        owner = self.problem.owners(solution.positions)
        served = [(p.kind, np.flatnonzero(owner == i)) for i, p in enumerate(solution.positions)]
        return [group for group in served if len(group[1])]

    def _told(self, aim: Aim, positions: Sequence[Position], bound: float, seconds: float) -> Solution:
        """The record; certified where what was found is clear of each other and as close as was asked to the bound."""
        if not positions:
            return _nothing(aim, bound)
        ordered = tuple(sorted(positions, key=lambda p: p.kind))
        score = self.problem.score(ordered, aim)
        bound = max(bound, score)
        certified = not self.problem.in_conflict(ordered) and bound - score <= self.thorough.gap_m
        outcome: Outcome = "certified" if certified else "unresolved"
        if score <= UNSEEN_M / 2:
            return Solution(aim, "unresolved", (), None, bound, 0, seconds)
        return Solution(aim, outcome, ordered, self.problem.figures(ordered), bound, 0, seconds)

    def _seek_closer(self, aim: OfEachHead, margin: Solution) -> Solution:
        """Near or centre, begun from the largest margin."""
        self._round(aim.name, 1)
        found = come_closer(self.problem, margin.positions, aim)
        if found.positions:
            return replace(found, figures=self.problem.figures(found.positions))
        bound = margin.bound_score
        proven = bound is not None and bound < aim.needs_margin_m - ON_EDGE_M
        return replace(found, outcome="none allowed" if proven else "unresolved", for_groups=False)

    def _seek_most(self, aim: Most) -> Solution:
        """The most persons, then the largest margin of those; the bound of the margin is for these persons."""
        began = time.perf_counter()
        self._round(aim.name, 1)
        proof = CoverProof(self.problem, Margin(), self.thorough, self._round)
        groups, counted, bound = proof.most_persons(self.wanted)
        which = np.flatnonzero(counted)
        if not len(which):
            return Solution(aim, "unresolved", (), None, rank(bound, 0.0), 0, time.perf_counter() - began)
        some = self.problem.of(which)
        own = [(kind, np.searchsorted(which, group)) for kind, group in groups]
        inner = CoverProof(some, Margin(), self.thorough, self._round)
        positions, margin_bound = self._kept_apart(inner, own, Margin())
        positions = sorted(positions, key=lambda p: p.kind)
        figures = self.problem.figures(positions) if positions else None
        if figures is None:
            return Solution(aim, "unresolved", (), None, rank(bound, 0.0), 0, time.perf_counter() - began)
        same = figures.covered >= bound - 1e-9
        bound_score = max(rank(bound, margin_bound if same else 0.0), aim.score(figures))
        close = same and margin_bound - figures.covered_margin_m <= self.thorough.gap_m
        clear = not self.problem.in_conflict(positions)
        return Solution(
            aim,
            "certified" if close and clear else "unresolved",
            tuple(positions),
            figures,
            bound_score,
            0,
            time.perf_counter() - began,
            for_groups=True,
        )


def _nothing(aim: Aim, bound: float = -math.inf) -> Solution:
    """No positions: none is allowed, or (with a bound) none was found."""
    if bound == -math.inf:
        return Solution(aim, "none allowed", (), None, None, 0, 0.0)
    return Solution(aim, "unresolved", (), None, bound if math.isfinite(bound) else None, 0, 0.0)
