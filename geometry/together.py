"""Several arrays at once: who serves whom, kept clear of each other, and brought closer by an aim.

Each array is placed by the certified search for the heads it serves. What arrays must keep from each
other (`Between`) depends on where the others are, so it binds one array at a time: the others stand
still while one is searched for. Where two arrays want the same place, both orders are tried, and both
sides of planes between them, and the arrangement with the largest least margin is kept. That is a way
to find arrangements, never a proof: bounds are made without these rules, and hold all the more with them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band, Floats, pair_slack
from geometry.branching import Outcome
from geometry.coverage import Heads, Legs
from geometry.placement import GAP_DEG, GAP_M, Constraint, Effort, Found, SearchBox, figures, search
from geometry.question import Aim

Indices = NDArray[np.int64]

EXCHANGES = 8
"""How often heads change hands while arrays are moved to the best place for their own."""
MOST_ORDERS = 6
"""Orders in which arrays that want the same place are put there one after the other: all orders of three."""
DIRECTIONS = 8
"""Planes between two arrays that want the same place, by the direction they look in."""
FARTHEST_APART_M = 8.0
"""No rule between two arrays is asked for beyond this."""

Between = Callable[[int, Sequence[tuple[int, Floats]]], Sequence[Constraint]]
"""What an array of one kit must keep from others, each a kit and a position (3,): demands on its position.
It must be mutual: met by one of two arrays exactly when it is met by the other."""


@dataclass(frozen=True, slots=True)
class Kit:
    """Arrays of one kind: what they can do, where they may be, and how many there are (None: any number)."""

    bands: tuple[Band, ...]
    box: SearchBox
    constraints: tuple[Constraint, ...] = ()
    count: int | None = None

    def __post_init__(self) -> None:
        if not self.bands:
            raise ValueError("Kit needs at least one band; found none")
        if self.count is not None and self.count < 1:
            raise ValueError(f"Kit count is {self.count}; allowed is 1 or more, or None")

    @property
    def held(self) -> bool:
        """Whether there is one position only."""
        return self.box.low_m == self.box.high_m


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """Where one array is: kit, band within the kit, position (3,)."""

    kit: int
    band: int
    at: Floats


@dataclass(frozen=True, eq=False)
class Together:
    """Heads and kits, with the mouths' ends sorted by head, and what arrays must keep from each other."""

    heads: Heads
    kits: tuple[Kit, ...]
    between: Between | None = None
    points: Floats = field(init=False)
    demand: Floats = field(init=False)
    head: Indices = field(init=False)
    start: Indices = field(init=False)
    legs: Legs = field(init=False)

    def __post_init__(self) -> None:
        points, demand, head = self.heads.ends()
        order = np.argsort(head, kind="stable")
        object.__setattr__(self, "points", points[order])
        object.__setattr__(self, "demand", demand[order])
        object.__setattr__(self, "head", head[order])
        object.__setattr__(self, "legs", self.heads.legs())
        object.__setattr__(self, "start", np.searchsorted(head[order], np.arange(len(self.heads))))

    def margins(self, band: Band, at: Floats) -> Floats:
        """(p, n) exact margin of every head at every position."""
        out = np.empty((len(at), len(self.heads)))
        step = max(1, 2_000_000 // len(self.points))
        for first in range(0, len(at), step):
            some = pair_slack(band, at[first : first + step], self.points)
            some -= self.demand[:, None]
            out[first : first + step] = np.minimum.reduceat(some, self.start, axis=0).T
            if len(self.legs):
                between = self.legs.margins(band, at[first : first + step])
                np.minimum.at(out[first : first + step].T, self.legs.head, between)
        return out

    def margins_of(self, spots: Sequence[Spot]) -> Floats:
        """(spots, n) exact margins."""
        if not spots:
            return np.zeros((0, len(self.heads)))
        return np.concatenate([self.margins(self.kits[s.kit].bands[s.band], s.at[None]) for s in spots])

    def least(self, spots: Sequence[Spot]) -> float:
        """The least margin over all heads, each with the array that serves it best."""
        return float(self.margins_of(spots).max(axis=0).min())

    def owners(self, spots: Sequence[Spot]) -> Indices:
        """(n,) the array that serves each head: the first with the largest margin."""
        return np.asarray(np.argmax(np.round(self.margins_of(spots) / ON_EDGE_M), axis=0))

    def best(
        self, kit: int, group: Indices, near: Spot | None = None, others: Sequence[Spot] = ()
    ) -> Spot | None:
        """The place of one array with the largest least margin over this group, clear of the others.

        Not worse than `near`, as far as that is allowed.
        """
        # sharper than the gap that is to be closed: a margin a hair below the best is hard to rule out
        sharp = Effort(gap_m=GAP_M / 5)
        of, some = self.kits[kit], self.heads.take(group)
        start = [] if near is None else [figures(some, of.bands, near.at, near.band)]
        asked = (*of.constraints, *self.from_others(kit, others))
        place = search(some, of.bands, of.box, asked, aim="tolerance", start=start, effort=sharp).place
        return None if place is None else Spot(kit, place.band, np.array(place.at_m))

    def from_others(self, kit: int, others: Sequence[Spot]) -> tuple[Constraint, ...]:
        """What an array of this kit must keep from these."""
        if self.between is None or not others:
            return ()
        return tuple(self.between(kit, [(other.kit, other.at) for other in others]))

    def in_conflict(self, spots: Sequence[Spot]) -> list[tuple[int, int]]:
        """Pairs of arrays that do not keep from each other what they must, the worst pair first."""
        short = []
        for i, j in itertools.combinations(range(len(spots)), 2):
            demands = self.from_others(spots[j].kit, [spots[i]])
            left = min((float(one.signed_m(spots[j].at[None])[0]) for one in demands), default=math.inf)
            if left < -ON_EDGE_M:
                short.append((left, i, j))
        return [(i, j) for _, i, j in sorted(short)]


# ---- kept clear of each other ---------------------------------------------------------------------


def settle(question: Together, spots: Sequence[Spot]) -> list[Spot]:
    """The arrays moved so that they keep clear of each other.

    Where no such places are found some are left out, those that cannot move at all the last.
    """
    now = list(spots)
    conflicts = question.in_conflict(now)
    if not conflicts:
        return now
    owner = question.owners(now)
    everybody = np.arange(len(question.heads))
    groups = [own if len(own := np.flatnonzero(owner == i)) else everybody for i in range(len(now))]
    best: list[Spot] | None = None
    value = -math.inf
    for trial in itertools.chain(_in_turn(question, now, groups), _parted(question, now, groups, conflicts)):
        if not question.in_conflict(trial) and (least := question.least(trial)) > value + ON_EDGE_M:
            best, value = trial, least
    return _exchanged(question, _fewer(question, now) if best is None else best)


def _fewer(question: Together, spots: Sequence[Spot]) -> list[Spot]:
    """Of each two in conflict the one left out whose absence costs less; two that are held both stay."""
    now = list(spots)
    while True:
        pairs = [
            able
            for pair in question.in_conflict(now)
            if (able := [k for k in pair if not question.kits[now[k].kit].held])
        ]
        if not pairs:
            return now
        now.pop(max(pairs[0], key=lambda k: question.least([*now[:k], *now[k + 1 :]])))


def _in_turn(question: Together, spots: Sequence[Spot], groups: Sequence[Indices]) -> Iterable[list[Spot]]:
    """One after the other, each at the best place for its group that is clear of those before it."""
    for order in itertools.islice(itertools.permutations(range(len(spots))), MOST_ORDERS):
        put: dict[int, Spot] = {}
        for i in order:
            spot = question.best(spots[i].kit, groups[i], spots[i], list(put.values()))
            if spot is None:
                break
            put[i] = spot
        else:
            yield [put[i] for i in range(len(spots))]


def _parted(
    question: Together,
    spots: Sequence[Spot],
    groups: Sequence[Indices],
    conflicts: Sequence[tuple[int, int]],
) -> Iterable[list[Spot]]:
    """The pairs in conflict on either side of an upright plane half way between them, looking every way."""
    for turn in np.arange(DIRECTIONS) * 2 * math.pi / DIRECTIONS:
        way = np.array([math.cos(turn), math.sin(turn), 0.0])
        now = list(spots)
        for i, j in conflicts:
            middle = (now[i].at + now[j].at) / 2
            apart = _apart(question, now[i], now[j], middle, way)
            others = [spot for k, spot in enumerate(now) if k not in (i, j)]
            moved = [
                _aside(question, now[one].kit, groups[one], others, middle + side * apart / 2, side)
                for one, side in ((i, way), (j, -way))
            ]
            if moved[0] is None or moved[1] is None:
                break
            now[i], now[j] = moved[0], moved[1]
        else:
            yield now


def _aside(
    question: Together, kit: int, group: Indices, others: Sequence[Spot], point: Floats, way: Floats
) -> Spot | None:
    """The best place beyond the plane through the point that looks this way."""
    of = question.kits[kit]
    beyond = Constraint("aside", lambda at: np.asarray((np.atleast_2d(at) - point) @ way))
    narrowed = replace(of, constraints=(*of.constraints, beyond))
    kits = (*question.kits[:kit], narrowed, *question.kits[kit + 1 :])
    return replace(question, kits=kits).best(kit, group, None, others)


def _apart(question: Together, one: Spot, other: Spot, middle: Floats, way: Floats) -> float:
    """How far apart along `way` two arrays at the same height must be, to a tenth of a millimetre."""

    def clear(apart: float) -> bool:
        at = middle + way * apart / 2
        demands = question.from_others(other.kit, [Spot(one.kit, one.band, at)])
        return all(float(demand.signed_m((at - way * apart)[None])[0]) >= 0 for demand in demands)

    low, high = 0.0, FARTHEST_APART_M
    while high - low > 1e-4:
        half = (low + high) / 2
        low, high = (low, half) if clear(half) else (half, high)
    return high


def _exchanged(question: Together, spots: Sequence[Spot]) -> list[Spot]:
    """Heads handed to who serves them best and arrays to the best place for their own, while that helps."""
    best, value = list(spots), question.least(spots)
    for _ in range(EXCHANGES):
        owner, now = question.owners(best), list(best)
        for i, spot in enumerate(now):
            own = np.flatnonzero(owner == i)
            if len(own):
                now[i] = question.best(spot.kit, own, spot, [*now[:i], *now[i + 1 :]]) or spot
        least = question.least(now)
        if least <= value + 1e-6:
            break
        best, value = now, least
    return best


def fill_up(question: Together, spots: Sequence[Spot], count: int) -> list[Spot]:
    """`count` arrays: those more than the margin needs go to one half of the largest group.

    Fewer come back where no place is left that is clear of the others; one that is held comes anyway.
    """
    spots = list(spots)
    while len(spots) < count:
        left = [
            k
            for k, kit in enumerate(question.kits)
            if kit.count is None or sum(spot.kit == k for spot in spots) < kit.count
        ]
        if spots:
            owner = np.argmax(question.margins_of(spots), axis=0)
            group = np.flatnonzero(owner == np.argmax(np.bincount(owner)))
        else:
            group = np.arange(len(question.heads))
        at = question.heads.at_m[group]
        along = np.linalg.svd(at - at.mean(axis=0), full_matrices=False)[2][0]
        half = group[np.argsort(at @ along, kind="stable")[: max(1, len(group) // 2)]]
        found = next((spot for k in left if (spot := question.best(k, half, None, spots)) is not None), None)
        if found is None:
            held = (question.best(k, half) for k in left if question.kits[k].held)
            found = next((spot for spot in held if spot is not None), None)
        if found is None:
            break
        spots.append(found)
    return spots


# ---- by an aim ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class Aimed:
    """The arrays by one aim, each at its best place for the heads it serves. `spots` is empty if there are none.

    `bound` is in the terms of `Place.value` over all heads: no arrays that serve these groups of heads
    have more (None where it is not known). certified: bound and value are as close as one search is
    asked for, and every head is served by the array whose group it is in.
    """

    aim: Aim
    spots: tuple[Spot, ...]
    outcome: Outcome
    bound: float | None
    evaluations: int


def come_closer(question: Together, spots: Sequence[Spot], aim: Aim, enough_m: float) -> Aimed:
    """Each array at its best place by the aim (`near` or `centre`) for the heads it serves.

    Heads change hands until everybody is served by the array whose place was sought for them. Arrays
    that serve nobody stay. The spots must be clear of each other; so is what comes back.
    """
    need = enough_m if aim == "near" else 0.0
    now, spent = list(spots), 0
    if not now or question.least(now) < need - ON_EDGE_M:
        return Aimed(aim, (), "unresolved", None, 0)
    owner = question.owners(now)
    for _ in range(EXCHANGES):
        bounds: list[tuple[int, float | None]] = []
        for i, spot in enumerate(now):
            own = np.flatnonzero(owner == i)
            if len(own):
                others = [*now[:i], *now[i + 1 :]]
                now[i], bound, more = _by_aim(question, spot, own, others, aim, enough_m)
                bounds.append((len(own), bound))
                spent += more
        served_by = question.owners(now)
        if np.array_equal(served_by, owner):
            break
        owner = served_by
    else:
        return Aimed(aim, tuple(now), "unresolved", None, spent)
    known = [(count, bound) for count, bound in bounds if bound is not None]
    if len(known) < len(bounds):
        return Aimed(aim, tuple(now), "unresolved", None, spent)
    bound, value = _whole(aim, known), _whole(aim, _values(question, now, owner, aim))
    near_enough = bound - value <= (GAP_DEG if aim == "centre" else GAP_M)
    return Aimed(aim, tuple(now), "certified" if near_enough else "unresolved", max(bound, value), spent)


def _by_aim(
    question: Together, spot: Spot, own: Indices, others: Sequence[Spot], aim: Aim, enough_m: float
) -> tuple[Spot, float | None, int]:
    """The best place by the aim that is clear of the others, the bound with the others left aside, evaluations."""
    kit, heads = question.kits[spot.kit], question.heads.take(own)
    start = [figures(heads, kit.bands, spot.at, spot.band)]

    def asked(constraints: Sequence[Constraint]) -> Found:
        return search(heads, kit.bands, kit.box, constraints, aim=aim, enough_m=enough_m, start=start)

    found = asked(kit.constraints)
    spent, bound = found.evaluations, found.bound
    demands = question.from_others(spot.kit, others)
    if demands and found.place is not None:
        at = np.array([found.place.at_m])
        if min(float(demand.signed_m(at)[0]) for demand in demands) < -ON_EDGE_M:
            found = asked((*kit.constraints, *demands))
            spent += found.evaluations
    place = found.place
    return spot if place is None else Spot(spot.kit, place.band, np.array(place.at_m)), bound, spent


def _values(question: Together, spots: Sequence[Spot], owner: Indices, aim: Aim) -> list[tuple[int, float]]:
    """How many heads each array serves, and what the aim has there."""
    told = []
    for i, spot in enumerate(spots):
        own = np.flatnonzero(owner == i)
        if len(own):
            place = figures(question.heads.take(own), question.kits[spot.kit].bands, spot.at, spot.band)
            told.append((len(own), place.value(aim)))
    return told


def _whole(aim: Aim, each: Sequence[tuple[int, float]]) -> float:
    """The value over all heads from those of the groups: the least, or for `centre` the root mean square."""
    if aim == "centre":
        heads = sum(count for count, _ in each)
        return -math.sqrt(sum(count * min(value, 0.0) ** 2 for count, value in each) / heads)
    return min(value for _, value in each)
