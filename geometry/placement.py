"""Where to hang one array: the best place by an aim, with a proof that no place is better.

What is asked (heads, a kind of array with its box and all that binds it, an aim) and what comes back (a
position with its figures, a bound, the certificate). `question` says what positions are worth,
`branching` does the searching and `candidates` keeps the best place seen; where nothing works,
`conflicts` says why.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace
from functools import partial

import numpy as np

from geometry.aims import RANK_M, Aim, Margin
from geometry.band import ON_EDGE_M
from geometry.branching import Outcome, Progress, Searched, Task, branch_and_bound
from geometry.certificate import Certificate
from geometry.constraint import Key
from geometry.coverage import Heads
from geometry.hearing import Figures, Hearing
from geometry.kind import ArrayKind, Position
from geometry.question import Question, line_demand
from geometry.records import record
from geometry.shadow import Sight

PRESSING_M = 0.002
"""A constraint with no more than this left at the place, beyond the spare that is kept, presses on it."""
MARGIN: Key = ("margin",)
"""Stands among the constraints' keys for the margin that an aim asks for."""


@record(frozen=True, slots=True)
class Effort:
    """How hard to search: most (cell, band) values to compute, and the share of the aim's gap to close.

    `record` keeps the certificate; `progress` is told at most five times a second how far it is.
    """

    evaluations: int = 3_000_000
    gap_share: float = 1.0
    record: bool = False
    progress: Callable[[Progress], None] | None = None


@record(frozen=True, slots=True, eq=False)
class Solution:
    """The arrays by one aim, with what is proven about them.

    `score` and `bound_score` are as `Aim.score`: proven, no allowed places have a larger one. `value`,
    `bound` and `gap` are the same as people say them. `excluded` gives for each constraint (and MARGIN)
    the share of box and bands dropped because of it (what could not beat the best was dropped before any
    constraint was asked), `pressing` the constraints with less than 2 mm left at the place; the key of
    a line of sight is "sight" and the blocker's place in the list. `for_groups`: the bound is of these
    groups of heads, each with its array, not of all arrangements. positions is empty where there is none;
    bound_score is None when nothing is allowed.
    """

    aim: Aim
    outcome: Outcome
    positions: tuple[Position, ...]
    figures: Figures | None
    bound_score: float | None
    evaluations: int
    seconds: float
    for_groups: bool = False
    excluded: Mapping[Key, float] = field(default_factory=dict)
    pressing: tuple[Key, ...] = ()
    certificate: Certificate | None = None

    @property
    def score(self) -> float | None:
        """The aim's score of the positions."""
        return None if self.figures is None else self.aim.score(self.figures)

    @property
    def value(self) -> float | None:
        """What the aim is about, as people say it."""
        return None if self.score is None else self.aim.figure(self.score)

    @property
    def bound(self) -> float | None:
        """What is proven that no places beat, as people say it."""
        return None if self.bound_score is None else self.aim.figure(self.bound_score)

    @property
    def gap(self) -> float | None:
        """What is left between value and bound."""
        if self.score is None or self.bound_score is None:
            return None
        return self.aim.figure_gap(self.bound_score, self.score)

    @property
    def position(self) -> Position | None:
        """The first position: of one array, the only one."""
        return self.positions[0] if self.positions else None


def by_score(solution: Solution) -> tuple[float, ...]:
    """What makes one solution better than another of the same aim."""
    return (-math.inf if solution.score is None else solution.score,)


def best_solution(
    solutions: Sequence[Solution], good: Callable[[Solution], tuple[float, ...]] = by_score
) -> Solution:
    """The best of solutions by one aim, of several kinds or patterns, with what bounds them all.

    A search that reached its limit without a bound leaves all of them without. A proof by cells is of one kind: of
    several none is kept.
    """
    if len(solutions) == 1:
        return solutions[0]
    best = max(solutions, key=good)
    left = [one.bound_score for one in solutions if one.outcome == "unresolved"]
    bound = max((one.bound_score for one in solutions if one.bound_score is not None), default=None)
    if None in left:
        bound = None
    closed = bound is not None and best.score is not None and bound - best.score <= best.aim.gap
    proven: Outcome = "none allowed" if bound is None else "certified"
    keys = dict.fromkeys(key for one in solutions for key in one.excluded)
    return replace(
        best,
        outcome="unresolved" if left and not closed else proven,
        bound_score=bound,
        evaluations=sum(one.evaluations for one in solutions),
        seconds=sum(one.seconds for one in solutions),
        excluded={key: sum(one.excluded.get(key, 0.0) for one in solutions) / len(solutions) for key in keys},
        certificate=None,
    )


def search(
    heads: Heads,
    kind: ArrayKind,
    aim: Aim,
    *,
    start: Sequence[Position] = (),
    effort: Effort | None = None,
    at_least: float | None = None,
    prepared: Prepared | None = None,
) -> Solution:
    """The best allowed place of one array by an aim over all its bands, and a proven bound.

    `start` are positions to begin from, as far as they are allowed. With `at_least` the search only asks
    whether a score of at least that exists: it stops at the first such place, or when the bound falls
    below it; the bound of a search with `at_least` that found nothing is that score. `prepared` is what
    was made ready of these heads and this kind before.
    """
    began = time.perf_counter()
    effort = effort or Effort()
    question = question_of(heads, kind, aim, prepared)
    smallest = -question.hearing.smallest_demand_m
    at_risk = math.isfinite(aim.needs_margin_m) and aim.needs_margin_m < smallest
    if not aim.counts_heads and (
        at_risk or (at_least is not None and at_least < smallest and _of_margin(aim))
    ):
        # out of band the four numbers only bound the slack: a demand out there needs the exact one
        question = question.exactly()
    task = partial(
        Task, aim.gap * effort.gap_share, effort.evaluations, record=effort.record, progress=effort.progress
    )
    spots = [(np.array(position.at_m), position.band) for position in start]
    found = branch_and_bound(question, task(at_least=at_least), spots)
    spent = found.evaluations
    if _of_margin(aim) and at_least is None and found.at_m is not None:
        # nobody's place is in band: the bound must be asked for again with the exact slack too
        figures = question.figures(found.at_m, found.band)
        if figures.margin_m < smallest:
            question = question.exactly()
            found = branch_and_bound(question, task(), [(found.at_m, found.band)])
            spent += found.evaluations
    return _solution(question, kind, found, spent, time.perf_counter() - began)


def _of_margin(aim: Aim) -> bool:
    """Whether the score may be a negative margin, which the four numbers only bound."""
    return not math.isfinite(aim.needs_margin_m) and not aim.counts_heads


@record(frozen=True, slots=True, eq=False)
class Prepared:
    """Heads with a kind's bands, and the lines to them past its blockers (None: nothing can hide them)."""

    hearing: Hearing
    sight: Sight | None

    @classmethod
    def of(cls, heads: Heads, kind: ArrayKind) -> Prepared:
        """Made from nothing. ValueError without heads."""
        if not len(heads):
            raise ValueError("a search needs at least one head; found none")
        sight = Sight(heads, kind.blockers) if kind.blockers else None
        return cls(Hearing(heads, kind.bands), sight if sight is not None and len(sight) else None)


def question_of(heads: Heads, kind: ArrayKind, aim: Aim, prepared: Prepared | None = None) -> Question:
    """What a search for one array of this kind asks."""
    prepared = prepared or Prepared.of(heads, kind)
    low, high = np.array(kind.box.low_m, float), np.array(kind.box.high_m, float)
    return Question(prepared.hearing, low, high, kind.aimed(aim), kind.constraints, prepared.sight)


def figures_at(
    heads: Heads, kind: ArrayKind, position: Position, prepared: Prepared | None = None
) -> Figures:
    """The exact figures of one array at this position, for these heads."""
    question = question_of(heads, kind, Margin(), prepared)
    return question.figures(np.array(position.at_m), position.band)


def _solution(
    question: Question, kind: ArrayKind, found: Searched, evaluations: int, seconds: float
) -> Solution:
    """The record of a search in the terms of those who asked."""
    figures: Figures | None = None
    positions: tuple[Position, ...] = ()
    bound = found.bound
    pressing: tuple[Key, ...] = ()
    if found.at_m is not None and found.bound is not None:
        x, y, z = (float(number) for number in found.at_m)
        positions = (Position((x, y, z), found.band),)
        figures = question.figures(found.at_m, found.band)
        # the same place asked another way may come out a rounding error above its own bound
        bound = max(found.bound, min(question.aim.score(figures), found.bound + ON_EDGE_M))
        pressing = _pressing(question, found.at_m)
    excluded = {
        why[1:] if why[0] == "rule" else why: share
        for why, share in found.leaves.share.items()
        if why[0] in ("margin", "rule", "sight")
    }
    certificate = None
    if found.leaves.record:
        certificate = Certificate(
            question.aim.name,
            kind.box.low_m,
            kind.box.high_m,
            question.aim.needs_margin_m,
            question.aim.keeps_spare_m,
            question.aim.slim_m,
            RANK_M,
            bound,
            None if figures is None else question.aim.score(figures),
            question.hearing,
            found.caps_m,
            kind.blockers,
            tuple(found.leaves.groups),
        )
    return Solution(
        question.aim,
        found.outcome,
        positions,
        figures,
        bound,
        evaluations,
        seconds,
        excluded=excluded,
        pressing=pressing,
        certificate=certificate,
    )


def _pressing(question: Question, at: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> tuple[Key, ...]:
    """The constraints and lines with next to nothing left at (3,)."""
    one = at.reshape(1, 3)
    kept = question.aim.keeps_spare_m
    pressing: list[Key] = [
        each.key
        for each in question.constraints
        if float(each.signed_m(one)[0]) < PRESSING_M + (0.0 if each.stop else kept)
    ]
    if question.sight is not None and not question.aim.counts_heads:
        lines = (line_demand(question.sight, k, False) for k in range(len(question.sight)))
        pressing += [line.key for line in lines if float(line.left(one)[0]) < PRESSING_M]
    return tuple(pressing)
