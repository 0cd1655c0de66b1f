"""How many arrays, where, and whom each serves: the fewest, or the best of a given number, with a bound.

What one array can serve from anywhere in a cell of positions is at most the set of heads whose margin
at the cell's centre is >= w - R, R being the cell's half diagonal, w the margin asked for; cells whose
constraints are below -R hold nothing at all. The cells tile the box, every band is a column of its own
and rules between arrays are dropped. So if no n of these sets cover everybody, no n arrays do, and the
smallest set cover (HiGHS) is a lower bound of the count. Arrangements are then kept to those rules
(`together`): where that costs margin, the bound that leaves them aside is farther away and says so.

The bound meets the truth by proof, not by finer and finer cells: the groups of a cover are handed to
the certified search for one array. If every group has a place, the count is proven. If a group has
none, its smallest conflict (a few heads that no one array can serve with that margin, certified) is
taken out of all sets, and the cover is asked for again. The margin of n arrays is raised the same
way, by asking for a little more than the best found until no cover is left or the effort is spent.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome
from geometry.coverage import Heads, least_margins
from geometry.heights import height_intervals
from geometry.placement import ENOUGH_M, GAP_M, Place, figures, search
from geometry.question import Aim
from geometry.together import EXCHANGES, Aimed, Between, Kit, Spot, Together, come_closer, fill_up, settle

Bools = NDArray[np.bool_]
Indices = NDArray[np.int64]

START_CELL_M = 0.4
"""Side of the cells the box is cut into first."""
FINEST_CELL_M = 0.1
"""Cells are not halved below this: from there on conflicts prove more than cells do."""
IN_VAIN = 2
"""So many more arrays, each without more margin for it, end the search for a number that does."""
HALVINGS = 14
"""How often cells are halved to decide whether one array can serve a group (to about 10 micrometres)."""
MOST_OPEN = 4_000
"""A group that still has this many open cells is handed to the search, to be decided there or not at all."""
NODE_ENTRIES = 400_000
"""Covers with this many entries (sets x heads) are given one node of the solver's tree, half as many four."""
LARGE_ENTRIES = 60_000
"""Covers with more entries than this are bounded by their relaxation when the margin is bisected."""


@dataclass(frozen=True, slots=True)
class Thoroughness:
    """How hard to try.

    `values` are the most margins (cell x head) kept at once; `work` is what the covers asked for may
    cost before a proof is given up, for the count and for the margin each, counted as the square of a
    cover's entries (sets x heads) in units of 10 000 squared; `gap_m` is the gap at which the margin is
    proven.
    """

    values: int = 6_000_000
    work: float = 200.0
    gap_m: float = GAP_M


@dataclass(frozen=True, slots=True)
class Stand:
    """One array of an arrangement.

    `place` is with its figures for `heads`, those it serves best (for everybody where these are none);
    `covers` are all heads it gives a margin of 0 or more.
    """

    kit: int
    place: Place
    heads: tuple[int, ...]
    covers: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Arrangement:
    """Arrays placed together, and what is proven about their number and margin.

    count_at_least  no smaller number covers everybody who can be covered (0 when the count was given)
    count_proven    no smaller number does than the arrays here (True when the count was given)
    margin_m        least over all heads of the margin to the array that serves it best; exact
    best_margin_m   the largest such margin found with this many arrays (margin_m may be less: aim near)
    bound_m         proven: no arrangement of this many arrays has more
    margin_proven   bound_m and best_margin_m are as close as was asked for
    twice           heads with margin >= 0 from two arrays or more, each with those arrays
    unreached       heads proven to be out of reach of any one array, anywhere in the box: they are left
                    out of the count, of best_margin_m and of bound_m, but not of margin_m
    over_limit      no cover within the limit was found; stands is empty then
    tried           of the fewest: up to so many arrays none were found that cover everybody and keep from each
                    other what they must; None where some were. The stands are then the fewest that would
                    cover everybody but for that
    apart           every two arrays keep from each other what they must
    by_aim          the arrays by each aim asked for; `tolerance` is among them, its bound for all arrangements

    stands is empty too, with margins nan, where no position is allowed or nobody can be reached; fewer
    than asked for where no place is left that is clear of the others. The aim is the one taken: `near`
    and `centre` give way to `tolerance` where the margin does not allow it.
    """

    stands: tuple[Stand, ...]
    count_at_least: int
    count_proven: bool
    margin_m: float
    best_margin_m: float
    bound_m: float
    margin_proven: bool
    twice: dict[int, tuple[int, ...]]
    unreached: tuple[int, ...]
    over_limit: bool
    rounds: int
    seconds: float
    aim: Aim = "tolerance"
    apart: bool = True
    tried: int | None = None
    by_aim: dict[Aim, Aimed] = field(default_factory=dict)

    @property
    def gap_m(self) -> float:
        """What is left between the best found and what is proven impossible."""
        return self.bound_m - self.best_margin_m

    @property
    def count_said(self) -> str:
        """ "3, proven" or "3, at least 2"; "at least 3, none up to 5 found" where these do not cover everybody."""
        count = len(self.stands)
        if self.tried is not None:
            return f"at least {self.count_at_least}, none up to {self.tried} found"
        return f"{count}, proven" if self.count_proven else f"{count}, at least {self.count_at_least}"


def arrange(
    heads: Heads,
    kits: Sequence[Kit],
    *,
    count: int | Literal["fewest"] | None = None,
    limit: int = 12,
    aim: Aim = "near",
    also: Sequence[Aim] = (),
    enough_m: float = ENOUGH_M,
    between: Between | None = None,
    effort: Thoroughness | None = None,
    progress: Callable[[str, int], None] | None = None,
) -> Arrangement:
    """Arrays for these heads: the fewest that cover everybody, or the given number with the largest margin.

    `kits` are the kinds of arrays. `count` "fewest" finds the number (at most `limit`; beyond it
    over_limit is set and stands is empty), a number is kept, None takes what the kits say. With one
    kit and a number its own count gives way. Heads that no array can cover are left out of the count
    and told in `unreached`. With aim `near` each array, once its heads are known, comes as close to
    them as a margin of `enough_m` allows; the bound is always that of the margin. `also` are more aims
    to find the arrays by. `between` is what two arrays must keep from each other: what comes back is
    kept to it unless `apart` says otherwise, the bounds leave it aside. `progress` is told at each
    round of proof what is asked ("count" or "margin") and the round's number, then each other aim by name.
    """
    began = time.perf_counter()
    if not len(heads) or not kits:
        raise ValueError("arrange needs at least one head and one kit")
    effort = effort or Thoroughness()
    kits = tuple(kits)
    if isinstance(count, int):
        if count < 1:
            raise ValueError(f"arrange count is {count}; allowed is 1 or more, 'fewest' or None")
        if len(kits) == 1:
            kits = (replace(kits[0], count=count),)
    if count is None:
        if any(kit.count is None for kit in kits):
            raise ValueError("arrange without a count needs the count of every kit")
        count = sum(kit.count or 0 for kit in kits)
    question = Together(heads, kits, between)
    proof = _Proof(question, effort, progress)
    groups: list[_Group] | None = None
    unreached: list[int] = []
    at_least, proven = 0, True
    best: list[Spot] = []
    bound = -math.inf
    over = False
    tried = None
    if count == "fewest" and proof.anywhere:
        unreached = proof.unreached()
        if unreached and len(unreached) < len(heads):
            question = Together(heads.take(np.setdiff1d(np.arange(len(heads)), unreached)), kits, between)
            proof = _Proof(question, effort, progress)
        if len(unreached) < len(heads):
            groups, at_least, proven = proof.fewest(limit)
            over = groups is None
        count = 0 if groups is None else len(groups)
    apart = True
    if proof.anywhere and count and count != "fewest":
        best, bound, apart = _kept_apart(question, proof, count, groups)
        first, most = (best, bound, apart), question.least(best) if best and apart else -math.inf
        in_vain = 0
        while groups is not None and not (apart and question.least(best) >= -ON_EDGE_M) and count < limit:
            # so many cover everybody only where they stand in each other's way
            count, proven = count + 1, False
            best, bound, apart = _kept_apart(question, proof, count, None)
            better = apart and question.least(best) > most + ON_EDGE_M
            most, in_vain = (question.least(best), 0) if better else (most, in_vain + 1)
            if in_vain == IN_VAIN:
                break
        if groups is not None and not (apart and question.least(best) >= -ON_EDGE_M):
            # more in vain are no answer: the fewest that would do, were they not in each other's way
            tried, (best, bound, apart) = count, first
    best_margin = question.least(best) if best else math.nan
    bound = math.inf if over else max(bound, best_margin) if best else bound
    margin_proven = bool(best) and apart and bound - best_margin <= effort.gap_m
    by_aim: dict[Aim, Aimed] = {}
    for asked in dict.fromkeys((aim, *also)):
        if asked != "tolerance" and best and apart:
            if progress is not None:
                progress(asked, len(by_aim) + 1)
            by_aim[asked] = come_closer(question, best, asked, enough_m)
    outcome: Outcome = "certified" if margin_proven else "unresolved"
    by_aim["tolerance"] = Aimed("tolerance", tuple(best), outcome, bound if math.isfinite(bound) else None, 0)
    taken = aim if aim in by_aim and by_aim[aim].spots else "tolerance"
    placed = by_aim[taken].spots
    stands, margins = _stands(Together(heads, kits), placed)
    covered = margins >= -ON_EDGE_M
    bound = math.inf if over else max(bound, best_margin) if best else bound
    return Arrangement(
        stands=stands,
        count_at_least=at_least,
        count_proven=proven,
        margin_m=float(margins.max(axis=0).min()) if best else math.nan,
        best_margin_m=best_margin,
        bound_m=bound,
        margin_proven=margin_proven,
        twice={
            int(head): tuple(np.flatnonzero(covered[:, head]).tolist())
            for head in np.flatnonzero(covered.sum(axis=0) >= 2)
        },
        unreached=tuple(unreached),
        over_limit=over,
        tried=tried,
        aim=taken,
        apart=apart,
        by_aim=by_aim,
        rounds=proof.rounds,
        seconds=time.perf_counter() - began,
    )


def _kept_apart(
    question: Together, proof: _Proof, count: int, groups: Sequence[_Group] | None
) -> tuple[list[Spot], float, bool]:
    """`count` arrays (or as many as have room), the bound of their margin, and whether they are clear of each other."""
    best, bound = proof.largest_margin(count, groups)
    best = fill_up(question, settle(question, best), count)
    return best, bound, not question.in_conflict(best)


def _stands(question: Together, spots: Sequence[Spot]) -> tuple[tuple[Stand, ...], Floats]:
    """The arrays with the heads each serves, and the margins (arrays, n)."""
    margins = question.margins_of(spots)
    if not spots:
        return (), margins
    heads = question.heads
    serving = question.owners(spots)
    stands = []
    for i, spot in enumerate(spots):
        own = np.flatnonzero(serving == i)
        bands = question.kits[spot.kit].bands
        place = figures(heads.take(own) if len(own) else heads, bands, spot.at, spot.band)
        covers = np.flatnonzero(margins[i] >= -ON_EDGE_M)
        stands.append(Stand(spot.kit, place, tuple(own.tolist()), tuple(covers.tolist())))
    return tuple(stands), margins


# ---- set cover ------------------------------------------------------------------------------------


def maximal_sets(sets: Bools, kind: Indices | None = None) -> Indices:
    """Indices of the sets (m, n) that no other set of the same kind contains; of equal ones the first."""
    if not len(sets):
        return np.zeros(0, np.int64)
    kind = np.zeros(len(sets), np.int64) if kind is None else kind
    packed = np.packbits(sets, axis=1)
    wide = np.zeros((len(sets), -(-packed.shape[1] // 8) * 8 + 8), np.uint8)
    wide[:, : packed.shape[1]] = packed
    words = wide.view(np.uint64)
    words[:, -1] = kind.astype(np.uint64)
    order = np.lexsort(words.T)
    new = np.ones(len(sets), bool)
    new[1:] = np.any(words[order[1:]] != words[order[:-1]], axis=1)
    first = np.minimum.reduceat(order, np.flatnonzero(new))
    kept = []
    for one in np.unique(kind):
        mine = first[kind[first] == one]
        size = sets[mine].sum(axis=1)
        mine, size = mine[(by := np.lexsort((mine, -size)))], size[by]
        members = sets[mine].astype(np.float32)
        keep = np.zeros(len(mine), bool)
        for start in range(0, len(mine), 512):  # larger sets come first: only they can contain a later one
            block = members[start : start + 512]
            inside = (block @ members[:start][keep[:start]].T == size[start : start + 512, None]).any(axis=1)
            among = block @ block.T == size[start : start + 512, None]
            np.fill_diagonal(among, False)
            keep[start : start + 512] = ~(inside | among.any(axis=1))
        kept.append(mine[keep])
    return np.sort(np.concatenate(kept))


@dataclass(frozen=True, slots=True, eq=False)
class Cover:
    """A smallest cover: indices of the chosen sets (None if there is none), and a proven lower bound of their number."""

    chosen: Indices | None
    at_least: float


def smallest_cover(
    sets: Bools,
    kind: Indices | None = None,
    most: Sequence[int | None] = (None,),
    *,
    total: int | None = None,
    relaxed: bool = False,
) -> Cover:
    """The fewest of the sets (m, n) that hold all n elements, at most most[k] of kind k and `total` in all.

    With `total` any cover of that many will do, not the smallest. at_least is infinite where it is
    proven that there is no such cover; chosen is None too where the solver came to the end of its
    nodes. `relaxed` lets sets be taken in part: a bound only, much sooner. Sets inside others, and
    elements that come with another, are dropped first: the solver sees the core only.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    kind = np.zeros(len(sets), np.int64) if kind is None else kind
    if sets.shape[1] == 0:
        return Cover(np.zeros(0, np.int64), 0)
    if not len(sets) or not sets.any(axis=0).all():
        return Cover(None, math.inf)
    columns = maximal_sets(sets, kind)
    core = sets[columns]
    # an element whose sets include all sets of another element is covered whenever that one is
    core = core[:, maximal_sets(~core.T)]
    demands = [LinearConstraint(csr_array(core.T.astype(float)), lb=1)]
    for k, limit in enumerate(most):
        if limit is not None:
            demands.append(LinearConstraint((kind[columns] == k).astype(float)[None], ub=limit))
    any_will_do = total is not None and not relaxed
    if any_will_do:
        demands.append(LinearConstraint(np.ones((1, len(columns))), ub=total))
    answer = milp(
        np.zeros(len(columns)) if any_will_do else np.ones(len(columns)),
        constraints=demands,
        integrality=np.zeros(len(columns)) if relaxed else np.ones(len(columns)),
        bounds=Bounds(0, 1),
        # counted in nodes, not seconds, so that the same room gives the same answer anywhere
        options={"node_limit": int(min(max((NODE_ENTRIES / core.size) ** 2, 1), 100_000))},
    )
    if answer.status == 2:
        return Cover(None, math.inf)
    if relaxed:
        return Cover(None, math.ceil(answer.fun - 1e-6))
    least = max(math.ceil((answer.mip_dual_bound or 0.0) - 1e-6), 1)
    if answer.x is None:
        return Cover(None, least)
    chosen = columns[answer.x > 0.5]
    return Cover(chosen, len(chosen) if answer.status == 0 and not any_will_do else least)


# ---- what one array can serve at most -------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Sets:
    """What one array can serve at most: sets (m, n) of heads, the kit of each, and the cell each came from."""

    w: float
    heads: Bools
    kit: Indices
    cell: Indices

    def at(self, which: Indices) -> _Sets:
        return _Sets(self.w, self.heads[which], self.kit[which], self.cell[which])


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Cells of one size: centres (m, 3), half size (3,), and which coordinates are free (3,)."""

    centres: Floats
    half: Floats
    free: Bools


_Group = tuple[int, Indices]
"""A kit and the heads one array of it is to serve."""


class _Proof:
    """Cells with what they can serve at most, and conflicts: the state of a proof (mutable, used once)."""

    def __init__(
        self,
        question: Together,
        effort: Thoroughness,
        progress: Callable[[str, int], None] | None = None,
    ) -> None:
        self.question = question
        self.effort = effort
        self.progress = progress
        self.rounds = 0
        self.conflicts: list[tuple[float, int, Indices]] = []
        self.limits = [kit.count for kit in question.kits]
        # margins at the cells' centres plus their radius (m, n), kits (m,), and what allowed centres do cover
        self.cells, self.most, self.kit, self.reached = self._cells()

    @property
    def anywhere(self) -> bool:
        """Whether the constraints leave any array any place at all, as far as cells can tell."""
        return len(self.most) > 0

    def _cells(self) -> tuple[list[_Cells], NDArray[np.float32], Indices, _Sets]:
        count = len(self.question.heads)
        most = [np.zeros((0, count), np.float32)]
        kits, reached, all_cells = [], [], []
        for k, kit in enumerate(self.question.kits):
            low, high = np.array(kit.box.low_m), np.array(kit.box.high_m)
            size = high - low
            free = size > 0  # a held coordinate is never halved: the radius is that of a flat cell
            cells = np.maximum(np.ceil(size / START_CELL_M), 1).astype(np.int64)
            index, half = np.indices(cells).reshape(3, -1).T, size / cells / 2
            children = _corners(free)
            while True:
                centres = low + (2 * index + 1) * half
                radius = float(np.linalg.norm(half))
                signed = np.full(len(centres), np.inf)
                for constraint in kit.constraints:
                    signed = np.minimum(signed, constraint.signed_m(centres))
                index, centres = index[possible := signed + radius >= -ON_EDGE_M], centres[possible]
                allowed = signed[possible] >= -ON_EDGE_M
                coming = len(index) * len(children) * len(kit.bands) * count
                if (
                    not len(index)
                    or coming > self.effort.values // len(self.question.kits)
                    or half.max() < FINEST_CELL_M * 0.999
                    or not free.any()
                ):
                    break
                index, half = (2 * index[:, None] + children).reshape(-1, 3), half / np.where(free, 2, 1)
            all_cells.append(_Cells(centres, half, free))
            for band in kit.bands:
                margins = self.question.margins(band, centres)
                sets = margins[allowed] >= -ON_EDGE_M
                reached.append((k, sets[maximal_sets(sets)]))
                # stored in single precision: a micrometre more, so that it stays a bound
                most.append((margins + (radius + 1e-6)).astype(np.float32))
                kits.append(np.full(len(margins), k))
        sets = np.concatenate([found for _, found in reached])
        kit_of = np.concatenate([np.full(len(found), k) for k, found in reached])
        none = np.full(len(sets), -1)
        return all_cells, np.concatenate(most), np.concatenate(kits), _Sets(0.0, sets, kit_of, none)

    def _next_round(self, question: str) -> None:
        self.rounds += 1
        if self.progress is not None:
            self.progress(question, self.rounds)

    # -- sets, and the conflicts taken out of them

    def sets(self, w: float) -> _Sets:
        """The largest sets one array could serve with margin w, as far as is known."""
        heads = self.most >= w
        which = maximal_sets(heads, self.kit)
        found = _Sets(w, heads[which], self.kit[which], which)
        for least, kit, group in self.conflicts:
            if least <= w:
                found = _without(found, kit, group)
        return found

    def cover(self, sets: _Sets, total: int | None = None) -> tuple[list[_Group] | None, float]:
        """Groups of a smallest cover by these sets, each head in one group, and the least possible number."""
        found = smallest_cover(sets.heads, sets.kit, self.limits, total=total)
        if found.chosen is None:
            return None, found.at_least
        chosen = sets.at(found.chosen)
        # a head in several sets goes with the cell that could serve it best
        worth = np.where(
            chosen.heads, self.most[chosen.cell] if chosen.cell.min(initial=0) >= 0 else 1.0, -np.inf
        )
        owner = np.argmax(worth, axis=0)
        groups = [(int(kit), np.flatnonzero(owner == i)) for i, kit in enumerate(chosen.kit.tolist())]
        return [group for group in groups if len(group[1])], found.at_least

    def place(self, groups: Sequence[_Group], sets: _Sets) -> tuple[list[Spot] | None, _Sets | None]:
        """Places for all groups with the sets' margin; or the sets without the conflicts found; or neither."""
        spots, found = [], False
        for kit, group in groups:
            spot, none = self.serve(kit, group, sets.w)
            if spot is not None:
                spots.append(spot)
            while none and len(group):
                conflict = self.conflict(kit, group, sets.w)
                self.conflicts.append((sets.w, kit, conflict))
                sets, found = _without(sets, kit, conflict), True
                # the rest may hold another conflict: it comes cheaper now than as a round of its own
                group = np.setdiff1d(group, conflict[:1])
                none = len(group) > 1 and self.serve(kit, group, sets.w)[1]
        if found:
            return None, sets
        return (spots, None) if len(spots) == len(groups) else (None, None)

    # -- one array for one group

    def serve(self, kit: int, group: Indices, least: float) -> tuple[Spot | None, bool]:
        """A place for one array that gives this group a margin of `least`, and whether none is proven.

        Goes on from the cells at hand: those that may serve the group are halved until one centre does
        (its height moved into the interval that serves all), or none is left.
        """
        question, of, cells = self.question, self.question.kits[kit], self.cells[kit]
        if not len(cells.centres):
            return None, True
        some = question.heads.take(group)
        stop = np.flatnonzero(self.kit == kit)[0]
        open_cells = []
        for b in range(len(of.bands)):
            rows = slice(stop + b * len(cells.centres), stop + (b + 1) * len(cells.centres))
            open_cells.append(cells.centres[(self.most[rows][:, group] >= least).all(axis=1)])
        children = np.where(cells.free, 2 * _corners(cells.free) - 1, 0)
        half = cells.half
        demanded = some.sway_m + least
        for _ in range(HALVINGS):
            radius = float(np.linalg.norm(half))
            for b, band in enumerate(of.bands):
                centres = open_cells[b]
                if not len(centres):
                    continue
                margins = least_margins(band, centres, some)
                signed = np.full(len(centres), np.inf)
                for constraint in of.constraints:
                    signed = np.minimum(signed, constraint.signed_m(centres))
                good = np.flatnonzero((margins >= least) & (signed >= -ON_EDGE_M))
                if len(good):
                    return Spot(kit, b, centres[good[np.argmax(margins[good])]]), False
                keep = (margins + radius >= least) & (signed + radius >= -ON_EDGE_M)
                centres, margins = centres[keep], margins[keep]
                if len(centres) and cells.free[2] and demanded.min() >= 0:
                    near = centres[np.argsort(-margins, kind="stable")[:8]].copy()
                    lower, upper = height_intervals(
                        near[:, :2], band, some, demanded, floor_m=of.box.low_m[2], ceiling_m=of.box.high_m[2]
                    )
                    near[:, 2] = (lower + upper) / 2
                    near = near[lower <= upper]
                    for constraint in of.constraints:
                        near = near[constraint.signed_m(near) >= -ON_EDGE_M] if len(near) else near
                    if len(near):
                        return Spot(kit, b, near[0]), False
                open_cells[b] = centres
            if not any(len(centres) for centres in open_cells):
                return None, True
            if sum(len(centres) for centres in open_cells) > MOST_OPEN or not cells.free.any():
                break
            half = np.where(cells.free, half / 2, half)
            open_cells = [(centres[:, None] + children * half).reshape(-1, 3) for centres in open_cells]
        return self._search(kit, group, least)

    def _search(self, kit: int, group: Indices, least: float) -> tuple[Spot | None, bool]:
        """The same by the certified search, which knows rings of equally good places when it sees them."""
        of, some = self.question.kits[kit], self.question.heads.take(group)
        if least < -float(some.sway_m.min()):
            return None, False  # out of band the four numbers are not the slack
        found = search(some, of.bands, of.box, of.constraints, aim="tolerance", at_least=least)
        place = found.place
        if place is not None and place.margin_m >= least:
            return Spot(kit, place.band, np.array(place.at_m)), False
        return None, found.outcome != "unresolved"

    def conflict(self, kit: int, group: Indices, least: float) -> Indices:
        """A few heads of the group that no array of this kit can give `least`, given that the group cannot.

        Grown from nothing: place an array for the heads so far, add the one it serves worst, until they
        cannot be served; then every head that is not needed for that is taken away again.
        """
        # the first two: those that the cells near to serving the group disagree about most
        rows = np.flatnonzero(self.kit == kit)
        worst = self.most[np.ix_(rows, group)]
        first = worst[np.argmax(worst.min(axis=1))]
        small = group[np.argsort(first, kind="stable")[:1]]
        while True:
            spot, none = self.serve(kit, small, least)
            if none or len(small) == len(group):
                break
            if spot is None:
                return group
            margin = self.question.margins_of([spot])[0][group]
            margin[np.isin(group, small)] = np.inf
            small = np.append(small, group[np.argmin(margin)])
        for head in small[:-1].tolist():
            rest = small[small != head]
            if len(rest) and self.serve(kit, rest, least)[1]:
                small = rest
        return small

    # -- the two questions

    def unreached(self) -> list[int]:
        """Heads that are proven to be out of reach of any single array."""
        kits = range(len(self.question.kits))
        return [
            head
            for head in np.flatnonzero(~self.reached.heads.any(axis=0)).tolist()
            if all(self.serve(k, np.array([head]), 0.0)[1] for k in kits)
        ]

    def fewest(self, limit: int) -> tuple[list[_Group] | None, int, bool]:
        """Groups of the fewest arrays found (None: more than `limit`), a proven least number, and whether they meet."""
        groups, _ = self.cover(self.reached)
        sets = self.sets(0.0)
        at_least = 0
        spent = 0.0
        while spent <= self.effort.work:
            self._next_round("count")
            spent += _work(sets)
            tried, least = self.cover(sets)
            if least == math.inf or least > limit:
                return None, limit + 1, False
            at_least = max(at_least, int(least))
            if groups is not None and len(groups) <= at_least:
                return groups, at_least, True
            if tried is None or (spent > self.effort.work and groups is not None):
                break
            spots, fewer = self.place(tried, sets)
            if spots is not None and (groups is None or len(tried) < len(groups)):
                groups = tried
            elif fewer is not None:
                sets = fewer
            else:
                break
        if groups is None or len(groups) > limit:
            return None, at_least, False
        return groups, at_least, len(groups) <= at_least

    def largest_margin(self, count: int, groups: Sequence[_Group] | None) -> tuple[list[Spot], float]:
        """Places of at most `count` arrays with the largest least margin found, and the proven bound."""
        cap = max(band.largest_ball_m for kit in self.question.kits for band in kit.bands)
        cap -= float(self.question.demand.max())
        if groups is None:
            groups = self._start(count, cap)
        best, value = self._exchange(groups)
        if count == 1 and len(self.question.kits) == 1:
            kit = self.question.kits[0]
            found = search(self.question.heads, kit.bands, kit.box, kit.constraints, aim="tolerance")
            return best, value if found.bound is None else found.bound
        w, sets = -math.inf, None
        spent = 0.0
        while spent <= self.effort.work:
            if value + self.effort.gap_m >= cap:
                return best, cap
            if sets is None or w <= value:
                w = value + 0.9 * self.effort.gap_m
                sets = self.sets(w)
            spent += _work(sets)
            if spent > self.effort.work:
                break
            self._next_round("margin")
            tried, least = self.cover(sets, count)
            if least > count:
                return best, w
            if tried is None:
                break
            spots, fewer = self.place(tried, sets)
            if spots is not None:
                rival, margin = self._exchange(tried, spots)
                if margin <= value:
                    break
                best, value = rival, margin
            elif fewer is not None:
                sets = fewer
            else:
                break
        return best, self._bound(count, value, cap)

    def _start(self, count: int, cap: float) -> list[_Group]:
        """Groups to begin with: a cover by `count` cells for about the largest margin that has one."""
        low, high = 0.0, cap
        step = 0.5
        while (found := self.cover(self.sets(low), count))[0] is None:
            low, high, step = low - step, low, 2 * step
        for _ in range(6):
            middle = (low + high) / 2
            better = self.cover(self.sets(middle), count)
            if better[0] is None:
                high = middle
            else:
                low, found = middle, better
        assert found[0] is not None
        return found[0]

    def _bound(self, count: int, low: float, high: float) -> float:
        """A margin for which no cover by `count` cells exists: the smallest, to a part of what is open."""
        close_enough = max(self.effort.gap_m / 2, (high - low) / 40)
        while high - low > close_enough:
            middle = (low + high) / 2
            sets = self.sets(middle)
            large = sets.heads.size > LARGE_ENTRIES
            if smallest_cover(sets.heads, sets.kit, self.limits, total=count, relaxed=large).at_least > count:
                high = middle
            else:
                low = middle
        return high

    def _exchange(
        self, groups: Sequence[_Group], known: Sequence[Spot] | None = None
    ) -> tuple[list[Spot], float]:
        """Arrays at the best place for their own heads, heads going to who serves them best, while that helps.

        `known` are places of these groups to begin from: what comes back is not worse.
        """
        best = list(known or ())
        value = -math.inf
        if best:
            value = float(self.question.margins_of(best).max(axis=0).min())
        for _ in range(EXCHANGES):
            start: Sequence[Spot | None] = known or [None] * len(groups)
            found = [
                self.question.best(kit, group, spot) for (kit, group), spot in zip(groups, start, strict=True)
            ]
            spots = [spot for spot in found if spot is not None]
            if not spots:
                break
            margins = self.question.margins_of(spots)
            least = float(margins.max(axis=0).min())
            if least <= value + 1e-6:
                break
            best, value = spots, least
            owner = np.argmax(margins, axis=0)
            used = [i for i in range(len(spots)) if np.any(owner == i)]
            groups = [(spots[i].kit, np.flatnonzero(owner == i)) for i in used]
            known = [spots[i] for i in used]
        return best, value


def _corners(free: Bools) -> Indices:
    """(2 to the number of free coordinates, 3) all zeros and ones, zero where a coordinate is held."""
    return np.indices(tuple(2 if f else 1 for f in free.tolist())).reshape(3, -1).T


def _work(sets: _Sets) -> float:
    """What a cover by these sets costs, in the units of Thoroughness.work."""
    return (sets.heads.size / 10_000) ** 2


def _without(sets: _Sets, kit: int, conflict: Indices) -> _Sets:
    """The sets when no array of this kit can serve all heads of the conflict: each loses one of them."""
    hit = (sets.kit == kit) & sets.heads[:, conflict].all(axis=1)
    if not hit.any():
        return sets
    fewer = np.repeat(np.flatnonzero(hit), len(conflict))
    heads = sets.heads[fewer]
    heads[np.arange(len(fewer)), np.tile(conflict, int(hit.sum()))] = False
    split = _Sets(sets.w, heads, sets.kit[fewer], sets.cell[fewer])
    split = split.at(maximal_sets(split.heads))
    # none of the others can lie inside a part of a set that it does not lie inside itself
    other = sets.at(np.flatnonzero(~hit))
    rivals = other.heads[other.kit == kit].astype(np.float32)
    inside = split.heads.astype(np.float32) @ rivals.T == split.heads.sum(axis=1)[:, None]
    split = split.at(np.flatnonzero(~inside.any(axis=1)))
    return _Sets(
        sets.w,
        np.concatenate([other.heads, split.heads]),
        np.concatenate([other.kit, split.kit]),
        np.concatenate([other.cell, split.cell]),
    )
