"""Several arrays at once, as a question: heads, kinds of arrays, and what arrays must keep from each other.

Who serves whom, what an arrangement is worth, and the best place of one array for a group of heads. The
same group is asked for again and again while an arrangement is sought, so what was found is remembered.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import field, replace

import numpy as np

from geometry.aims import Aim, OfEachHead
from geometry.band import ON_EDGE_M, Floats
from geometry.constraint import Constraint, Key
from geometry.coverage import Coverage, Heads, cover, serving_arrays
from geometry.hearing import UNSEEN_M, Bools, Figures, Hearing, Indices
from geometry.kind import ArrayKind, Position
from geometry.placement import Effort, Prepared, Solution, question_of, search
from geometry.question import Demand, Question, line_demand
from geometry.records import record
from geometry.shadow import Sight
from geometry.shapes import Blocker
from geometry.sight import hidden

SHARP = Effort(gap_share=0.2)
"""Sharper than the gap that is to be closed: a margin a hair below the best is hard to rule out."""

BESIDE: Key = ("sight", "arrays")
"""The key of the lines past other arrays."""

Between = Callable[[int, Sequence[tuple[int, Floats]]], Sequence[Constraint]]
"""What an array of one kind must keep from others, each a kind and a position (3,): demands on its position.
It must be mutual: met by one of two arrays exactly when it is met by the other."""
Bodies = Callable[[int, Floats], Sequence[Blocker]]
"""The solids that an array of one kind at a position (3,) is: what hides people from the other arrays."""


@record(frozen=True, eq=False)
class ArrangementProblem:
    """Heads, kinds of arrays, what arrays must keep from each other, and what they hide from each other.

    `sights` are the lines of each kind (None where nothing can hide anybody), `hearings` the heads with
    each kind's bands, margins exact. `eased` is the same question with some demands left out: the same heads, as
    many kinds with the same bands and boxes. What cannot be had there cannot be had here.
    """

    heads: Heads
    kinds: tuple[ArrayKind, ...]
    between: Between | None = None
    bodies: Bodies | None = None
    eased: ArrangementProblem | None = None
    sights: tuple[Sight | None, ...] = field(init=False)
    hearings: tuple[Hearing, ...] = field(init=False)
    memory: dict[object, Solution] = field(init=False)
    proven: dict[str, object] = field(init=False)
    questions: dict[object, Question] = field(init=False)
    groups: dict[object, Prepared] = field(init=False)

    def __post_init__(self) -> None:
        if not len(self.heads) or not self.kinds:
            raise ValueError("an arrangement needs at least one head and one kind of array")
        by_blockers: dict[tuple[Blocker, ...], Sight | None] = {}
        for kind in self.kinds:
            if kind.blockers not in by_blockers:
                sight = Sight(self.heads, kind.blockers)
                by_blockers[kind.blockers] = sight if len(sight) else None
        object.__setattr__(self, "sights", tuple(by_blockers[kind.blockers] for kind in self.kinds))
        object.__setattr__(self, "memory", {})
        object.__setattr__(self, "proven", {})
        object.__setattr__(self, "questions", {})
        object.__setattr__(self, "groups", {})
        everybody = np.arange(len(self.heads))
        for k, kind in enumerate(self.kinds):
            hearing = Hearing(self.heads, kind.bands)
            self.groups[k, everybody.tobytes()] = Prepared(hearing, self.sights[k])
        found = (self.prepared(k, everybody).hearing.exactly() for k in range(len(self.kinds)))
        object.__setattr__(self, "hearings", tuple(found))

    def of(self, which: Indices) -> ArrangementProblem:
        """The same question for these heads only."""
        return ArrangementProblem(self.heads.take(which), self.kinds, self.between, self.bodies)

    # Who hears whom ------------------------------------------------------------------------------------

    def margins(self, kind: int, band: int, at: Floats) -> Floats:
        """(p, n) exact margin of every head at every position (p, 3), hidden or not."""
        return self.hearings[kind].head_margins(at, np.full(len(at), band)).T

    def seen(self, kind: int, at: Floats) -> Bools:
        """(p, n) whether every head is seen from every position."""
        sight = self.sights[kind]
        return np.ones((len(at), len(self.heads)), np.bool_) if sight is None else sight.sees(at)

    def heard(self, positions: Sequence[Position]) -> tuple[Floats, Bools]:
        """(arrays, n) exact margins and whether nothing is in the way, the other arrays among it."""
        margins = np.zeros((len(positions), len(self.heads)))
        seen = np.ones(margins.shape, np.bool_)
        for i, position in enumerate(positions):
            at = np.array([position.at_m])
            margins[i] = self.margins(position.kind, position.band, at)[0]
            seen[i] = self.seen(position.kind, at)[0] & ~self.behind(position, positions)
        return margins, seen

    def behind(self, position: Position, arrays: Sequence[Position]) -> Bools:
        """(n,) who is hidden from a position by the bodies of these arrays, itself left out."""
        solids = self.solids(other for other in arrays if other is not position)
        if not solids:
            return np.zeros(len(self.heads), np.bool_)
        return np.asarray(hidden(np.array([position.at_m]), self.heads, solids)[0].any(axis=1))

    def solids(self, arrays: Iterable[Position]) -> list[Blocker]:
        """What these arrays are, as solids."""
        if self.bodies is None:
            return []
        return [solid for each in arrays for solid in self.bodies(each.kind, np.array(each.at_m))]

    def owners(self, positions: Sequence[Position]) -> Indices:
        """(n,) the array that serves each head."""
        return serving_arrays(*self.heard(positions))

    def coverage(self, positions: Sequence[Position]) -> Coverage:
        """How every head stands to every array."""
        at = np.array([position.at_m for position in positions]).reshape(-1, 3)
        bands = [self.kinds[position.kind].bands[position.band] for position in positions]
        return cover(at, bands, self.heads, self.heard(positions)[1])

    def least(self, positions: Sequence[Position]) -> float:
        """The least margin over all heads, each with the array that serves it; who is hidden has none at all."""
        if not positions:
            return -math.inf
        margins, seen = self.heard(positions)
        return float(np.where(seen, margins, UNSEEN_M).max(axis=0).min())

    # What an arrangement is worth ----------------------------------------------------------------------

    def figures(self, positions: Sequence[Position]) -> Figures:
        """What these arrays come to together, every head with the array that serves it; at least one array."""
        coverage = self.coverage(positions)
        serves = coverage.serving()
        each = np.arange(len(self.heads))
        margin, seen = coverage.margin_m[serves, each], coverage.seen[serves, each]
        off = coverage.off_centre_deg[serves, each]
        hearing = self.hearings[0]
        of_persons = hearing.by_person(np.where(seen, margin, UNSEEN_M)[:, None])[:, 0]
        covered = of_persons >= -ON_EDGE_M
        return Figures(
            margin_m=float(margin.min()),
            spare_m=self.spare_m(positions, serves),
            worst_slant_m=float(coverage.slant_m[serves, each].max()),
            mean_off_centre_deg=float(off.mean()),
            rms_off_centre_deg=float(np.sqrt(np.mean(off * off))),
            covered=float(hearing.persons[2][covered].sum()),
            covered_margin_m=float(of_persons[covered].min() if covered.any() else of_persons.max()),
        )

    def spare_m(self, positions: Sequence[Position], serves: Indices) -> float:
        """The least of what rules (no stops) and the lines to those each array serves have left; inf where none."""
        least = math.inf
        for i, position in enumerate(positions):
            at = np.array([position.at_m])
            others = [*positions[:i], *positions[i + 1 :]]
            own = np.flatnonzero(serves == i)
            rules = (*self.kinds[position.kind].constraints, *self.from_others(position.kind, others, own))
            least = min([least, *(float(rule.signed_m(at)[0]) for rule in rules if not rule.stop)])
            sight = self.sights[position.kind]
            if sight is not None and len(own):
                mine = sight.take(own)
                lines = (line_demand(mine, k, True) for k in range(len(mine)))
                least = min([least, *(float(line.left(at)[0]) for line in lines)])
        return least

    def score(self, positions: Sequence[Position], aim: Aim) -> float:
        """The aim's score of these arrays; -inf where somebody is hidden or has not the margin it needs."""
        if not positions:
            return -math.inf
        if aim.counts_heads:
            return aim.score(self.figures(positions))
        margins, seen = self.heard(positions)
        least = float(np.where(seen, margins, UNSEEN_M).max(axis=0).min())
        if least <= UNSEEN_M / 2 or least < aim.needs_margin_m - ON_EDGE_M:
            return -math.inf
        if isinstance(aim, OfEachHead):
            numbers = np.concatenate(
                [self.numbers(p.kind, p.band, np.array([p.at_m]), aim) for p in positions]
            )
            serves = serving_arrays(margins, seen)
            return float(aim.of_all(numbers[serves, np.arange(len(self.heads))]))
        return aim.score(self.figures(positions)) if aim.counts_spares else least

    def numbers(self, kind: int, band: int, at: Floats, aim: OfEachHead) -> Floats:
        """(p, n) the aim's number of every head from every position (p, 3)."""
        away = self.heads.at_m - at[:, None]
        rho = np.hypot(away[..., 0], away[..., 1])
        off = np.degrees(np.arctan2(-away[..., 2], rho)) - self.kinds[kind].bands[band].middle_deg
        return aim.each(np.hypot(rho, away[..., 2]), off)

    # One array for a group -----------------------------------------------------------------------------

    def found(
        self,
        kind: int,
        group: Indices,
        aim: Aim,
        *,
        start: Position | None = None,
        others: Sequence[Position] = (),
        also: Sequence[Constraint] = (),
        effort: Effort | None = None,
    ) -> Solution:
        """The best place of one array of a kind for these heads by an aim, clear of the others.

        What was found for the same question is given again, whatever the start. `also` are more demands
        (which are not remembered).
        """
        key = (kind, group.tobytes(), aim, effort, tuple((other.kind, other.at_m) for other in others))
        if not also and key in self.memory:
            return self.memory[key]
        of = self.kinds[kind]
        narrowed = replace(of, constraints=(*of.constraints, *self.from_others(kind, others, group), *also))
        solution = search(
            self.heads.take(group),
            narrowed,
            aim,
            start=[] if start is None else [start],
            effort=effort,
            prepared=self.prepared(kind, group),
        )
        solution = replace(solution, positions=tuple(replace(p, kind=kind) for p in solution.positions))
        if not also:
            self.memory[key] = solution
        return solution

    def best(
        self,
        kind: int,
        group: Indices,
        aim: Aim,
        near: Position | None = None,
        others: Sequence[Position] = (),
        also: Sequence[Constraint] = (),
        effort: Effort = SHARP,
    ) -> Position | None:
        """The place of one array with the best score over this group, clear of the others.

        Not worse than `near`, as far as that is allowed.
        """
        found = self.found(kind, group, aim, start=near, others=others, also=also, effort=effort)
        if near is None or found.position is None or found.score is None:
            return found.position
        question = self.asked(kind, group, aim, (*self.from_others(kind, others, group), *also))
        there = question.judged(np.array([near.at_m]), np.array([near.band]))[0]
        return near if there > found.score else found.position

    def asked(self, kind: int, group: Indices, aim: Aim, also: Sequence[Constraint] = ()) -> Question:
        """What a search for one array of this kind and this group asks; remembered where nothing more is asked."""
        key = (kind, group.tobytes(), aim)
        if not also and key in self.questions:
            return self.questions[key]
        of = replace(self.kinds[kind], constraints=(*self.kinds[kind].constraints, *also))
        prepared = self.prepared(kind, group)
        question = question_of(prepared.hearing.heads, of, aim, prepared)
        if not also:
            self.questions[key] = question
        return question

    def prepared(self, kind: int, group: Indices) -> Prepared:
        """A group's heads with a kind's bands and the lines to them."""
        key = (kind, group.tobytes())
        if key not in self.groups:
            sight = self.sights[kind]
            hearing = Hearing(self.heads.take(group), self.kinds[kind].bands)
            self.groups[key] = Prepared(hearing, None if sight is None else sight.take(group))
        return self.groups[key]

    def rules(self, kind: int, aim: Aim, also: Sequence[Constraint] = ()) -> tuple[Demand, ...]:
        """What binds the place of one array of this kind whomever it serves, as the aim asks it."""
        of = self.kinds[kind]
        low, high = np.array(of.box.low_m, float), np.array(of.box.high_m, float)
        return Question(self.hearings[kind], low, high, of.aimed(aim), (*of.constraints, *also)).demands

    # Arrays beside each other --------------------------------------------------------------------------

    def from_others(
        self, kind: int, others: Sequence[Position], group: Indices | None = None
    ) -> tuple[Constraint, ...]:
        """What an array of this kind must keep from these, and that their bodies hide none of a group from it."""
        demands: list[Constraint] = []
        if self.between is not None and others:
            demands += self.between(kind, [(other.kind, np.array(other.at_m)) for other in others])
        solids = self.solids(others)
        if solids and group is not None and len(group):
            sight = Sight(self.heads.take(group), tuple(solids))
            demands.append(Constraint(BESIDE, sight.least_m))
        return tuple(demands)

    def left_beside(
        self, kind: int, at: Floats, others: Sequence[Position], group: Indices | None = None
    ) -> float:
        """What is left, at (3,), of what this kind must keep from these arrays, metres; inf where nothing is asked.

        The kind's spare is kept from them too.
        """
        kept = self.kinds[kind].spare_m
        demands = self.from_others(kind, others, group)
        return min(
            (float(each.signed_m(at[None])[0]) - (0.0 if each.stop else kept) for each in demands),
            default=math.inf,
        )

    def in_conflict(self, positions: Sequence[Position]) -> list[tuple[int, int]]:
        """Pairs of arrays that do not keep from each other what they must, the worst pair first."""
        short = [(-math.inf, *pair) for pair in self._hiding(positions)]
        for i, j in itertools.combinations(range(len(positions)), 2):
            left = self.left_beside(positions[j].kind, np.array(positions[j].at_m), [positions[i]])
            if left < -ON_EDGE_M:
                short.append((left, i, j))
        return list(dict.fromkeys((i, j) for _, i, j in sorted(short)))

    def _hiding(self, positions: Sequence[Position]) -> list[tuple[int, int]]:
        """Pairs of arrays of which one hides from the other somebody who is seen by no array then."""
        if self.bodies is None or len(positions) < 2:
            return []
        _, seen = self.heard(positions)
        lost = ~seen.any(axis=0)
        pairs = []
        for i in range(len(positions)) if lost.any() else ():
            without = self.seen(positions[i].kind, np.array([positions[i].at_m]))[0]
            for j in range(len(positions)):
                if j != i and (lost & without & self.behind(positions[i], [positions[j]])).any():
                    pairs.append((min(i, j), max(i, j)))
        return pairs
