"""What no so many arrays can do: a bound of their number, of their margin and of whom they cover.

What one array can serve from anywhere in a cell of positions is at most the set of heads whose number at
the cell's centre is >= w - R, R being the cell's half diagonal, w what is asked for; cells in which a
constraint cannot be met hold nothing at all, and who is hidden all over a cell is in none of its sets. The
cells tile the box, every band is a column of its own and rules between arrays are dropped. So if no n of
these sets cover everybody, no n arrays do, and the smallest set cover is a lower bound of the count.

The bound meets the truth by proof, not by finer and finer cells: the groups of a cover are handed to the
certified search for one array. If every group has a place, the count is proven. If a group has none, its
smallest conflict (a few heads that no one array can serve with that number, certified) is taken out of
all sets, and the cover is asked for again. The margin of n arrays, or their ball, is raised the same
way, by asking for a little more than the best found until no cover is left or the effort is spent; and
so is the number of persons covered lowered to what can be had.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from geometry.aims import GAP_M, WEIGHT_STEP, Aim, Margin
from geometry.apart import EXCHANGES
from geometry.band import ON_EDGE_M, Floats
from geometry.cover_cells import Group, corners, proven_of
from geometry.hearing import UNSEEN_M, Bools, Indices
from geometry.heights import height_intervals
from geometry.kind import Position
from geometry.placement import search
from geometry.problem import ArrangementProblem
from geometry.question import Question
from geometry.records import record
from geometry.served_sets import Sets, without, work_of
from geometry.set_cover import largest_cover, maximal_sets, smallest_cover

HALVINGS = 14
"""How often cells are halved to decide whether one array can serve a group (to about 10 micrometres)."""
MOST_OPEN = 4_000
"""A group that still has this many open cells is handed to the search, to be decided there or not at all."""
NEAREST = 8
"""So many centres, the best first, are moved to a height that would do while cells are halved."""
FIRST_TRIED = 8
"""Of places that may do so many, the best first, are judged before the others: most often one of them does."""
LARGE_ENTRIES = 60_000
"""Covers with more entries than this are bounded by their relaxation when what is asked for is bisected."""


@record(frozen=True, slots=True)
class Thoroughness:
    """How hard to try.

    `values` are the most margins (cell x head) kept at once; `work` is what the covers asked for may
    cost before a proof is given up, for each question, counted as the square of a cover's entries
    (sets x heads) in units of 10 000 squared; `gap_m` is the gap at which a margin is proven.
    """

    values: int = 6_000_000
    work: float = 200.0
    gap_m: float = GAP_M


class CoverProof:
    """Cells with what they can serve at most, and conflicts: the state of a proof (mutable, used once).

    The aim is `margin` or `tolerance`: what is asked of each head is its margin, or that and whatever is
    left of the rules and of its line.
    """

    def __init__(
        self,
        problem: ArrangementProblem,
        aim: Aim | None = None,
        effort: Thoroughness | None = None,
        progress: Callable[[str, int], None] | None = None,
        rounds: int = 0,
    ) -> None:
        self.problem, self.aim = problem, aim or Margin()
        self.effort, self.progress, self.rounds = effort or Thoroughness(), progress, rounds
        self.limits = [kind.count for kind in problem.kinds]
        self.proven = proven_of(problem, self.aim, self.effort.values)
        self.cells, self.most, self.kind = self.proven.cells, self.proven.most, self.proven.kind
        self.conflicts, self.reached = self.proven.conflicts, self.proven.reached()

    @property
    def anywhere(self) -> bool:
        """Whether the constraints leave any array any place at all, as far as cells can tell."""
        return len(self.most) > 0

    def next_round(self, question: str) -> None:
        self.rounds += 1
        if self.progress is not None:
            self.progress(question, self.rounds)

    # -- sets, and the conflicts taken out of them

    def sets(self, w: float) -> Sets:
        """The largest sets one array could serve with w, as far as is known."""
        heads = self.most >= w
        which = maximal_sets(heads, self.kind)
        found = Sets(w, heads[which], self.kind[which], which)
        for least, kind, group in self.conflicts:
            if least <= w:
                found = without(found, kind, group)
        return found

    def cover(self, sets: Sets, total: int | None = None) -> tuple[list[Group] | None, float]:
        """Groups of a smallest cover by these sets, each head in one group, and the least possible number."""
        found = smallest_cover(sets.heads, sets.kind, self.limits, total=total)
        if found.chosen is None:
            return None, found.at_least
        return self.groups(sets.at(found.chosen)), found.at_least

    def groups(self, chosen: Sets, counted: Bools | None = None) -> list[Group]:
        """The heads (those counted) shared out over the sets chosen, each to the cell that could serve it best."""
        if not len(chosen.heads):  # nobody can be covered by any of them
            return []
        from_cells = chosen.cell.min(initial=0) >= 0
        worth = np.where(chosen.heads, self.most[chosen.cell] if from_cells else 1.0, -np.inf)
        owner = np.argmax(worth, axis=0)
        if counted is not None:
            owner = np.where(counted, owner, -1)
        groups = [(int(kind), np.flatnonzero(owner == i)) for i, kind in enumerate(chosen.kind.tolist())]
        return [group for group in groups if len(group[1])]

    def place(self, groups: Sequence[Group], sets: Sets) -> tuple[list[Position] | None, Sets | None]:
        """Places for all groups with the sets' number; or the sets without the conflicts found; or neither."""
        places, found = [], False
        for kind, group in groups:
            place, none = self.serve(kind, group, sets.w)
            if place is not None:
                places.append(place)
            while none and len(group):
                conflict = self.conflict(kind, group, sets.w)
                self.conflicts.append((sets.w, kind, conflict))
                sets, found = without(sets, kind, conflict), True
                # the rest may hold another conflict: it comes cheaper now than as a round of its own
                group = np.setdiff1d(group, conflict[:1])
                none = len(group) > 1 and self.serve(kind, group, sets.w)[1]
        if found:
            return None, sets
        return (places, None) if len(places) == len(groups) else (None, None)

    # -- one array for one group

    def serve(self, kind: int, group: Indices, least: float) -> tuple[Position | None, bool]:
        """A place for one array that gives this group a number of `least`, and whether none is proven.

        A place known to do from another group will do for this one. Else it goes on from the cells at hand:
        those that may serve the group are halved until one centre does (its height moved into the interval
        that serves all), or none is left.
        """
        does = np.flatnonzero((self.proven.gives[kind][:, group] >= least).all(axis=1))
        if len(does):
            return self.proven.known[kind][does[0]], False
        place, none = self._served(kind, group, least)
        if place is not None and not self.aim.counts_spares:
            margins, seen = self.problem.heard([place])
            self.proven.known[kind].append(place)
            self.proven.gives[kind] = np.vstack([self.proven.gives[kind], np.where(seen, margins, UNSEEN_M)])
        return place, none

    def _served(self, kind: int, group: Indices, least: float) -> tuple[Position | None, bool]:
        """`serve`, with nothing known."""
        of, cells = self.problem.kinds[kind], self.cells[kind]
        if not len(cells.centres):
            return None, True
        question = self.problem.asked(kind, group, self.aim)
        if least < -question.hearing.smallest_demand_m:
            question = question.exactly()
        start = int(np.flatnonzero(self.kind == kind)[0])
        count = len(cells.centres)
        rows = [slice(start + b * count, start + (b + 1) * count) for b in range(len(of.bands))]
        open_cells = [cells.centres[(self.most[some][:, group] >= least).all(axis=1)] for some in rows]
        children = np.where(cells.free, 2 * corners(cells.free) - 1, 0)
        half = cells.half
        clear = [np.zeros((len(centres), len(question.demands)), np.bool_) for centres in open_cells]
        for _ in range(HALVINGS):
            for b, centres in enumerate(open_cells):
                if not len(centres):
                    continue
                found, keep = self._of_cells(question, kind, b, centres, half, least, clear[b])
                if found is not None:
                    return found, False
                open_cells[b], clear[b] = centres[keep], clear[b][keep]
            if not any(len(centres) for centres in open_cells):
                return None, True
            if sum(map(len, open_cells)) > MOST_OPEN or not cells.free.any():
                break
            half = np.where(cells.free, half / 2, half)
            open_cells = [(centres[:, None] + children * half).reshape(-1, 3) for centres in open_cells]
            clear = [np.repeat(some, len(children), axis=0) for some in clear]
        return self._search(kind, group, least)

    def _of_cells(
        self,
        question: Question,
        kind: int,
        band: int,
        centres: Floats,
        half: Floats,
        least: float,
        clear: Bools,
    ) -> tuple[Position | None, Indices]:
        """A place in these cells that will do, or the cells in which there may be one.

        `clear` (cells, demands) says which demands are met all over a cell and need not be asked of its parts; what
        is found to be is written down there.
        """
        radius = float(np.linalg.norm(half))
        margins = question.hearing.margins(centres, np.full(len(centres), band))
        keep, fit = margins + radius >= least, margins >= least
        for k, demand in enumerate(question.demands):
            asked = np.flatnonzero(keep & ~clear[:, k])
            need = (max(least, 0.0) if demand.counts else 0.0) - ON_EDGE_M
            if demand.quick is not None and len(asked):
                plenty = demand.quick(centres[asked]) - demand.keep_m - radius >= need
                clear[asked[plenty], k] = True
                asked = asked[~plenty]
            if not len(asked):
                continue
            left = demand.most(centres[asked], radius) - demand.keep_m
            fit[asked] &= left >= need
            keep[asked] = left + radius >= need
            if demand.least is None:
                clear[asked, k] = left - radius >= need
        good_cells = np.flatnonzero(keep)
        centres, margins, fit = centres[keep], margins[keep], fit[keep]
        best_first = np.flatnonzero(fit)[np.argsort(-margins[fit], kind="stable")]
        tried = [centres[best_first]]
        if question.free[2]:
            tried.append(_at_better_heights(question, band, centres, margins, least))
        exact = question.exactly()
        for places in (part for some in tried for part in (some[:FIRST_TRIED], some[FIRST_TRIED:])):
            if not len(places):
                continue
            # truly, and not only by what bounds it
            good = places[exact.judged(places, np.full(len(places), band), least) >= least]
            if len(good):
                x, y, z = (float(number) for number in good[0])
                return Position((x, y, z), band, kind), good_cells
        return None, good_cells

    def _search(self, kind: int, group: Indices, least: float) -> tuple[Position | None, bool]:
        """The same by the certified search, which knows rings of equally good places when it sees them."""
        of, some = self.problem.kinds[kind], self.problem.heads.take(group)
        if least < -float(some.sway_m.min()):
            return None, False  # out of band the four numbers are not the slack
        found = search(some, of, self.aim, at_least=least, prepared=self.problem.prepared(kind, group))
        if found.position is not None and found.score is not None and found.score >= least:
            position = found.position
            return Position(position.at_m, position.band, kind), False
        return None, found.outcome != "unresolved"

    def conflict(self, kind: int, group: Indices, least: float) -> Indices:
        """A few heads of the group that no array of this kind can give `least`, given that the group cannot.

        Grown from nothing: place an array for the heads so far, add the one it serves worst, until they
        cannot be served; then every head that is not needed for that is taken away again.
        """
        # the first: the one that the cells near to serving the group disagree about most
        rows = np.flatnonzero(self.kind == kind)
        worst = self.most[np.ix_(rows, group)]
        first = worst[np.argmax(worst.min(axis=1))]
        small = group[np.argsort(first, kind="stable")[:1]]
        while True:
            place, none = self.serve(kind, small, least)
            if none or len(small) == len(group):
                break
            if place is None:
                return group
            margins, seen = self.problem.heard([place])
            margin = np.where(seen, margins, UNSEEN_M)[0][group]
            margin[np.isin(group, small)] = np.inf
            small = np.append(small, group[np.argmin(margin)])
        for head in small[:-1].tolist():
            rest = small[small != head]
            if len(rest) and self.serve(kind, rest, least)[1]:
                small = rest
        return small

    # -- the questions

    def unreached(self) -> list[int]:
        """Heads that are proven to be out of reach of any single array."""
        kinds = range(len(self.problem.kinds))
        return [
            head
            for head in np.flatnonzero(~self.reached.heads.any(axis=0)).tolist()
            if all(self.serve(k, np.array([head]), 0.0)[1] for k in kinds)
        ]

    def fewest(self, limit: int, least: float = 0.0) -> tuple[list[Group] | None, int, bool]:
        """Groups of the fewest arrays found (None: more than `limit`), a proven least number, and whether they meet.

        Everybody is to have `least`.
        """
        groups = self.cover(self.reached)[0] if least <= 0 else None
        sets = self.sets(least)
        at_least = 0
        spent = 0.0
        while spent <= self.effort.work:
            self.next_round("count")
            spent += work_of(sets)
            tried, fewest = self.cover(sets)
            if fewest == math.inf or fewest > limit:
                return None, limit + 1, False
            at_least = max(at_least, int(fewest))
            if groups is not None and len(groups) <= at_least:
                return groups, at_least, True
            if tried is None or (spent > self.effort.work and groups is not None):
                break
            places, fewer = self.place(tried, sets)
            if places is not None and (groups is None or len(tried) < len(groups)):
                groups = tried
            elif fewer is not None:
                sets = fewer
            else:
                break
        if groups is None or len(groups) > limit:
            return None, at_least, False
        return groups, at_least, len(groups) <= at_least

    def largest(self, count: int, groups: Sequence[Group] | None) -> tuple[list[Position], float]:
        """Places of at most `count` arrays with the largest score found, and the proven bound.

        Begun from the groups given, or from those of the eased question, which bounds this one.
        """
        bands = [band for kind in self.problem.kinds for band in kind.bands]
        cap = max(band.largest_ball_m for band in bands) - float(self.problem.heads.sway_m.max())
        known, before = self.proven.answers.get(count, (None, math.inf))
        cap = min(cap, before)
        best, score = self._exchange(known) if groups is None and known is not None else ([], -math.inf)
        if not best:
            groups = self._start(count, cap) if groups is None else groups
            if groups is None:
                return [], -math.inf
            best, score = self._exchange(groups)
        if count == 1 and len(self.problem.kinds) == 1:
            bound = self.problem.found(0, np.arange(len(self.problem.heads)), self.aim).bound_score
            return best, score if bound is None else bound
        best, score, proven = self._raised(count, best, score, cap)
        bound = self._bound(count, score, cap) if proven is None else proven
        if best:
            owner = self.problem.owners(best)
            served = [(place.kind, np.flatnonzero(owner == i)) for i, place in enumerate(best)]
            self.proven.answers[count] = [group for group in served if len(group[1])], bound
        return best, bound

    def _raised(
        self, count: int, best: list[Position], score: float, cap: float
    ) -> tuple[list[Position], float, float | None]:
        """The places bettered by asking for a little more than they have, their score, and the bound if it is met.

        Ends when there is no cover for a little more, or when the effort is spent.
        """
        w, sets = -math.inf, None
        spent = 0.0
        while True:
            if score + self.effort.gap_m >= cap:
                return best, score, cap
            if sets is None or w <= score:
                w = score + 0.9 * self.effort.gap_m
                sets = self.sets(w)
            spent += work_of(sets)
            if spent > self.effort.work:
                return best, score, None
            self.next_round(self.aim.name)
            tried, least = self.cover(sets, count)
            if least > count:
                return best, score, w
            if tried is None:
                return best, score, None
            places, sets = self.place(tried, sets)
            if places is None and sets is None:
                return best, score, None
            if places is not None:
                rival, found = self._exchange(tried, places)
                if found <= score:
                    return best, score, None
                best, score = rival, found

    def most_persons(self, count: int) -> tuple[list[Group], Bools, float]:
        """Groups of the most persons found whom `count` arrays cover, which heads these are, and a proven most weight.

        Persons are counted by weight; every head of a person must be covered and seen by some array.
        """
        heads = self.problem.heads
        _, person = np.unique(heads.person, return_inverse=True)
        weight = np.zeros(int(person.max()) + 1)
        weight[person] = np.maximum(np.round(heads.weight / WEIGHT_STEP), 1) * WEIGHT_STEP
        first = largest_cover(self.reached.heads, person, weight, count, self.reached.kind, self.limits)
        groups, counted = self.groups(self.reached.at(first.chosen), first.counted), first.counted
        have = _weight_of(counted, person, weight)
        bound = float(weight.sum())
        sets = self.sets(0.0)
        spent = 0.0
        while spent <= self.effort.work and have < bound - WEIGHT_STEP / 2:
            self.next_round("most")
            spent += work_of(sets)
            tried = largest_cover(sets.heads, person, weight, count, sets.kind, self.limits)
            bound = min(bound, math.floor(tried.at_most / WEIGHT_STEP + 1e-6) * WEIGHT_STEP)
            if have >= bound - WEIGHT_STEP / 2 or not len(tried.chosen):
                break
            wanted = self.groups(sets.at(tried.chosen), tried.counted)
            places, fewer = self.place(wanted, sets)
            if places is not None:
                found = _weight_of(tried.counted, person, weight)
                if found > have:
                    groups, counted, have = wanted, tried.counted, found
                if found < bound - WEIGHT_STEP / 2:
                    break
            elif fewer is not None:
                sets = fewer
            else:
                break
        return groups, counted, max(bound, have)

    def _start(self, count: int, cap: float) -> list[Group] | None:
        """Groups to begin with: a cover by `count` cells for about the largest number that has one; None if none has."""
        low, high, step = 0.0, cap, 0.5
        while (found := self.cover(self.sets(low), count))[0] is None:
            if low < UNSEEN_M / 2:
                return None
            low, high, step = low - step, low, 2 * step
        for _ in range(6):
            middle = (low + high) / 2
            better = self.cover(self.sets(middle), count)
            if better[0] is None:
                high = middle
            else:
                low, found = middle, better
        return found[0]

    def _bound(self, count: int, low: float, high: float) -> float:
        """A number for which no cover by `count` cells exists: the smallest, to a part of what is open."""
        close_enough = max(self.effort.gap_m / 2, (high - low) / 40)
        while high - low > close_enough:
            middle = (low + high) / 2
            sets = self.sets(middle)
            large = sets.heads.size > LARGE_ENTRIES
            if (
                smallest_cover(sets.heads, sets.kind, self.limits, total=count, relaxed=large).at_least
                > count
            ):
                high = middle
            else:
                low = middle
        return high

    def _exchange(
        self, groups: Sequence[Group], known: Sequence[Position] | None = None
    ) -> tuple[list[Position], float]:
        """Arrays at the best place for their own heads, heads going to who serves them best, while that helps.

        `known` are places of these groups to begin from: what comes back is not worse.
        """
        problem = self.problem
        best = list(known or ())
        score = problem.score(best, self.aim)
        for _ in range(EXCHANGES):
            start: Sequence[Position | None] = known or [None] * len(groups)
            found = [
                problem.best(kind, group, self.aim, near)
                for (kind, group), near in zip(groups, start, strict=True)
            ]
            places = [place for place in found if place is not None]
            if not places:
                break
            reached = problem.score(places, self.aim)
            if best and reached <= score + 1e-6:
                break
            best, score = places, reached
            owner = problem.owners(places)
            used = [i for i in range(len(places)) if np.any(owner == i)]
            groups = [(places[i].kind, np.flatnonzero(owner == i)) for i in used]
            known = [places[i] for i in used]
        return best, score


def _at_better_heights(
    question: Question, band: int, centres: Floats, margins: Floats, least: float
) -> Floats:
    """(n, 3) the most promising centres with their heights moved into the interval that serves all."""
    heads = question.hearing.heads
    demanded = heads.sway_m + least
    if not len(centres) or demanded.min() < 0:
        return centres[:0]
    near = centres[np.argsort(-margins, kind="stable")[:NEAREST]].copy()
    low, high = height_intervals(
        near[:, :2],
        question.hearing.bands[band],
        heads,
        demanded,
        floor_m=float(question.low_m[2]),
        ceiling_m=float(question.high_m[2]),
    )
    near[:, 2] = (low + high) / 2
    return near[low <= high]


def _weight_of(counted: Bools, person: Indices, weight: Floats) -> float:
    """The weight of the persons all of whose heads are counted."""
    whole = np.ones(len(weight), np.bool_)
    np.logical_and.at(whole, person, counted)
    return float(weight[whole].sum())
