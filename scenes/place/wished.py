"""Places as they are wished for: each wish tried in turn in the certified search, with its price, or dropped.

What the designer wrote comes before what overtable wishes by default. A wish of the designer's own is kept wherever
some position keeps it; one by default is dropped where it would cost a talker, or the margin that was asked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import Literal

import numpy as np

from geometry.aims import ENOUGH_M, WEIGHT_STEP, AimName, Margin, Most
from geometry.arrangement import Arrangement, Wish, arrange
from geometry.band import ON_EDGE_M
from geometry.hearing import UNSEEN_M
from geometry.kind import Position
from geometry.patterns import Pattern
from geometry.placement import Solution
from geometry.records import record
from scenes.findings.placement import Far
from scenes.findings.wishes import FreeSearch, Price, WhyDropped, WishName, WishTold
from scenes.place.everybody import covered_in_the_worst
from scenes.place.placement import Placement
from scenes.place.problem import BARE, Held, Kept, aim_of
from scenes.place.rows import alike, rows_of
from scenes.place.search import (
    NOTHING,
    PlaceQuestion,
    conflict_in,
    place_question,
    place_scene,
    placed_again,
    stage_of,
)
from scenes.room.scene import Array, Scene


def place_as_wished(
    scene: Scene,
    *,
    aim: AimName | None = None,
    enough_m: float = ENOUGH_M,
    hold: Iterable[Held] = (),
    arrays: int | Literal["fewest"] | None = None,
    record: bool = False,
    advise: bool = True,
    rooms: bool = True,
    progress: Callable[[Far], None] | None = None,
) -> Placement:
    """Where the scene's arrays should hang, with its wishes kept as far as they can be; arguments as `place_scene`.

    The fewest arrays are counted without wishes; so many then keep what wishes they can.
    """
    held = tuple(dict.fromkeys(hold))
    search = partial(place_scene, scene, aim=aim, enough_m=enough_m, hold=held, progress=progress)
    counted = None
    if arrays == "fewest":
        counted = search(arrays="fewest", advise=False, rooms=False, tabled=False)
        if not counted.arrays or counted.unreached:
            return search(arrays="fewest", advise=advise, rooms=rooms)
        arrays = len(counted.arrays)
    tried = _tried(scene, _Asked(aim, enough_m, held, arrays, progress))
    question = None if record else tried.step.question
    placement = search(
        kept=tried.kept,
        arrays=arrays,
        record=record,
        advise=False,
        rooms=rooms,
        question=question,
        known=NOTHING if question is None else tried.step.of_question,
    )
    count = placement.count if counted is None else counted.count
    placement = replace(placement, wishes=tried.told, free=tried.free.no_worse_than(placement), count=count)
    if not advise:
        return placement
    # who is in conflict, and what would help, does not hang on wishes
    again, free = placed_again(enough_m, clearances=True), tried.free
    return replace(placement, conflict=conflict_in(free.question, free.found, again, progress))


@record(frozen=True, slots=True)
class _Asked:
    """What the search is asked for, whatever is wished."""

    aim: AimName | None
    enough_m: float
    held: tuple[Held, ...]
    arrays: int | None
    progress: Callable[[Far], None] | None


@record(frozen=True, slots=True)
class _Wanted:
    """One wish: its name, whether the designer wrote it, what it asks."""

    name: WishName
    given: bool
    over: tuple[str, ...] = ()
    spare_m: float | None = None
    rows: tuple[Pattern, ...] = ()
    never: WhyDropped | None = None
    """Why it cannot be kept, whatever the search finds."""

    def beside(self, kept: Kept) -> Kept:
        """What is kept with this one too."""
        if self.name == "row":
            return replace(kept, rows=self.rows)
        if self.name == "over":
            return replace(kept, over=self.over)
        return replace(kept, spare_m=self.spare_m or 0.0)

    def told(self, reason: WhyDropped | None, costs: Price) -> WishTold:
        """What became of it."""
        return WishTold(self.name, self.given, reason, costs, self.over, self.spare_m)


def wanted(scene: Scene, count: int | None = None, held: Sequence[Held] = ()) -> tuple[_Wanted, ...]:
    """The wishes for so many arrays of the scene in the order in which they are tried: the designer's own first.

    A row comes before the others: what it asks settles most of where arrays are, and makes the search quick.
    """
    over, spare = scene.wishes.over, scene.wishes.spare
    some = []
    row = _row_wanted(scene, count, held)
    if row is not None:
        some.append(row)
    if over.value:
        some.append(_Wanted("over", over.own, over=over.value))
    if spare.value > 0:
        some.append(_Wanted("spare", spare.own, spare_m=spare.value))
    return tuple(sorted(some, key=lambda one: not one.given))


def _row_wanted(scene: Scene, count: int | None, held: Sequence[Held]) -> _Wanted | None:
    """The wish for a row; None where it is not wished for, or, by default, has nothing to say."""
    row, of_spec = scene.wishes.row, count is None
    count = len(scene.arrays) if count is None else count
    if not row.value or count < 2:
        return None
    never: WhyDropped | None = None
    if of_spec and not alike(scene.arrays):
        never = "profiles"
    elif "at" in held or not _held_alike(scene.arrays, held):
        never = "held"
    if never is not None and row.default:
        return None
    rows = () if never is not None else rows_of(scene, count)
    return _Wanted("row", row.own, rows=rows, never=never)


def _held_alike(arrays: Sequence[Array], held: Sequence[Held]) -> bool:
    """Whether what is held of these arrays is the same of all of them."""
    heights = {array.height_m for array in arrays} if "height" in held else set()
    bands = {array.band_name for array in arrays} if "band" in held else set()
    return len(heights) <= 1 and len(bands) <= 1


@record(frozen=True, slots=True)
class _Tried:
    """What is kept, what is told of each wish, the search without any and the one with what is kept."""

    kept: Kept
    told: tuple[WishTold, ...]
    free: _Step
    step: _Step


def _tried(scene: Scene, asked: _Asked) -> _Tried:
    """Every wish tried beside those that are kept already."""
    free = step = _Step.of(scene, asked, place_question(scene, asked.held, asked.arrays, kept=BARE))
    kept = BARE
    told = []
    for wish in wanted(scene, asked.arrays, asked.held):
        if wish.never is not None:
            told.append(wish.told(wish.never, Price(None, None, None)))
            continue
        more = wish.beside(kept)
        with_it = step.with_more(more)
        reason = _why_not(step, with_it, given=wish.given)
        told.append(wish.told(reason, step.price_of(with_it)))
        if reason is None:
            step, kept = with_it, more
    return _Tried(kept, tuple(told), free, step)


def _why_not(before: _Step, after: _Step, *, given: bool) -> WhyDropped | None:
    """Why a wish is not kept; None where it is."""
    if before.somewhere and not after.somewhere:
        return "nowhere" if after.found.margin.outcome == "none allowed" else "not found"
    if given:
        return None
    if after.weight < before.weight - WEIGHT_STEP / 2:
        return "talkers"
    enough_m = before.asked.enough_m
    if (before.margin_m or -math.inf) >= enough_m > (after.margin_m or -math.inf):
        return "margin"
    return None


@record(frozen=True, slots=True)
class _Step:
    """The search with some wishes kept: by the margin, by who is covered, and, where it is asked for, by distance."""

    scene: Scene
    asked: _Asked
    question: PlaceQuestion
    found: Arrangement
    asked_before: bool = False
    """What was found is of a question with fewer wishes, whose places keep all of this one's."""

    @classmethod
    def of(cls, scene: Scene, asked: _Asked, question: PlaceQuestion) -> _Step:
        """The search for the places of a question."""
        near = (aim_of("near", asked.enough_m),) if asked.aim in (None, "near") else ()
        told = asked.progress
        wish = Wish(
            aims=(Margin(), Most(), *near),
            start=question.today if question.arrays == 1 else (),
            progress=None if told is None else lambda so_far: told(stage_of(so_far)),
            patterns=question.rows,
        )
        return cls(scene, asked, question, arrange(question.problem, wish, question.arrays))

    def with_more(self, kept: Kept) -> _Step:
        """The search with more wishes; the same where its places keep them already, since none are better then."""
        question = place_question(
            self.scene, self.asked.held, self.asked.arrays, kept=kept, beside=self.question
        )
        if question.rows == self.question.rows and all(
            _keeps(question, solution.positions) for solution in self.found.by_aim.values()
        ):
            return replace(self, question=question, asked_before=True)
        return _Step.of(self.scene, self.asked, question)

    @property
    def of_question(self) -> dict[AimName, Solution]:
        """What several arrays anywhere came to by each aim; nothing where the search would begin from something else."""
        anywhere = not self.question.rows and len(self.found.margin.positions) > 1
        return dict(self.found.by_aim) if anywhere and not self.asked_before else {}

    @property
    def somewhere(self) -> bool:
        """Whether there is any place."""
        return bool(self.found.margin.positions or self.found.by_aim["most"].positions)

    @property
    def margin_m(self) -> float | None:
        """The largest margin found."""
        figures = self.found.margin.figures
        return None if figures is None else figures.margin_m

    @property
    def farthest_m(self) -> float | None:
        """The smallest distance of the farthest talker found, None where it is not asked for or cannot be had."""
        near = self.found.by_aim.get("near")
        return None if near is None or near.figures is None else near.figures.worst_slant_m

    @property
    def lacking(self) -> int:
        """How many people are not covered at least; of several layouts in the worst of them."""
        problem, positions = self.question.problem, self.found.by_aim["most"].positions
        scene = self.question.scene
        if not positions:
            return covered_in_the_worst(scene, np.zeros(len(scene.heads), np.bool_))[2]
        margins, seen = problem.heard(positions)
        covered = np.asarray((np.where(seen, margins, UNSEEN_M) >= -ON_EDGE_M).any(axis=0), np.bool_)
        _, number, talkers = covered_in_the_worst(scene, covered[: len(scene.heads)])
        return talkers - number

    @property
    def weight(self) -> float:
        """How many people are covered at most, by their weight."""
        return self.found.by_aim["most"].value or 0.0

    def price_of(self, after: _Step) -> Price:
        """What the search costs that keeps one wish more; never negative, since what keeps it was allowed before."""
        if not after.somewhere:
            return Price(None, None, None)
        return Price(
            _lost(self.margin_m, after.margin_m),
            _lost(after.farthest_m, self.farthest_m),
            max(after.lacking - self.lacking, 0),
        )

    def no_worse_than(self, placement: Placement) -> FreeSearch:
        """The search as it is told beside a placement: what keeps wishes is allowed without them too."""
        margin = self.found.margin
        value, bound = _most(self.margin_m, placement.largest_margin_m), margin.bound
        return FreeSearch(value, None if bound is None else _most(bound, value), margin.outcome)


def _keeps(question: PlaceQuestion, positions: Sequence[Position]) -> bool:
    """Whether these places, found with fewer wishes, keep all that the question asks."""
    problem = question.problem
    for position in positions:
        at = np.array([position.at_m])
        rules = problem.rules(position.kind, Margin())
        if any(float(rule.left(at)[0]) < -ON_EDGE_M for rule in rules):
            return False
    return not problem.in_conflict(positions)


def _lost(before: float | None, after: float | None) -> float | None:
    return None if before is None or after is None else max(before - after, 0.0)


def _most(one: float | None, other: float | None) -> float | None:
    known = [number for number in (one, other) if number is not None]
    return max(known) if known else None
