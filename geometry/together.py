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
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, Legs
from geometry.placement import GAP_DEG, GAP_M, Effort, Found, figures, search
from geometry.question import Aim

Indices = NDArray[np.int64]

EXCHANGES = 8
"""How often heads change hands while arrays are moved to the best place for their own."""
MOST_ORDERS = 6
"""Orders in which arrays that want the same place are put there one after the other: all orders of three."""
DIRECTIONS = 8
"""Planes between two arrays that want the same place, by the direction they look in."""
LATTICE_M = 0.3
"""Places this far apart are tried for each array where several are brought closer together."""
LATTICE_MOST = 3000
"""But no more places than these."""
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

    def left_beside(self, kit: int, at: Floats, others: Sequence[Spot]) -> float:
        """What is left, at (3,), of what this kit must keep from these arrays, metres; inf where nothing is asked."""
        demands = self.from_others(kit, others)
        return min((float(demand.signed_m(at[None])[0]) for demand in demands), default=math.inf)

    def in_conflict(self, spots: Sequence[Spot]) -> list[tuple[int, int]]:
        """Pairs of arrays that do not keep from each other what they must, the worst pair first."""
        short = []
        for i, j in itertools.combinations(range(len(spots)), 2):
            left = self.left_beside(spots[j].kit, spots[j].at, [spots[i]])
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
    beyond = Constraint(("aside",), lambda at: np.asarray((np.atleast_2d(at) - point) @ way))
    narrowed = replace(of, constraints=(*of.constraints, beyond))
    kits = (*question.kits[:kit], narrowed, *question.kits[kit + 1 :])
    return replace(question, kits=kits).best(kit, group, None, others)


def _apart(question: Together, one: Spot, other: Spot, middle: Floats, way: Floats) -> float:
    """How far apart along `way` two arrays at the same height must be, to a tenth of a millimetre."""

    def clear(apart: float) -> bool:
        at = middle + way * apart / 2
        return question.left_beside(other.kit, at - way * apart, [Spot(one.kit, one.band, at)]) >= 0

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
            owner = question.owners(spots)
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

    Heads change hands until everybody is served by the array whose place was sought for them. That ends
    at an arrangement, not at the best one, so it is begun from the spots, from the spots traded for
    better ones of a lattice (`_traded`) and from heads parted by where they sit (`_partings`), and the
    best is kept. Arrays that serve nobody stay. The spots must be clear of each other; so is what comes
    back.
    """
    need = enough_m if aim == "near" else 0.0
    if not spots or question.least(spots) < need - ON_EDGE_M:
        return Aimed(aim, (), "unresolved", None, 0)
    best = _exchanging(question, spots, question.owners(spots), aim, enough_m)
    value, spent = _reached(question, best.spots, aim), best.evaluations
    if len(spots) == 1 or all(question.kits[spot.kit].held for spot in spots):
        return best
    starts: list[tuple[Sequence[Spot], Indices]] = []
    for owner in _partings(question, spots):
        put: list[Spot] = []
        for i, spot in enumerate(spots):
            own = np.flatnonzero(owner == i)
            found, _, more = _by_aim(question, spot, own, put, aim, enough_m)
            put.append(found)
            spent += more
        if question.least(put) >= need - ON_EDGE_M and not question.in_conflict(put):
            starts.append((put, owner))
    for begun, owner in starts:
        trial = _exchanging(question, begun, owner, aim, enough_m)
        spent += trial.evaluations
        clear = question.least(trial.spots) >= need - ON_EDGE_M and not question.in_conflict(trial.spots)
        if clear and (reached := _reached(question, trial.spots, aim)) > value + ON_EDGE_M:
            best, value = trial, reached
    ways = [_traded(question, start, aim, need) for start in (best.spots, *(begun for begun, _ in starts))]
    traded = max(ways, key=lambda way: _reached(question, way, aim))
    if _reached(question, traded, aim) > value + ON_EDGE_M:
        trial = _exchanging(question, traded, question.owners(traded), aim, enough_m)
        spent += trial.evaluations
        if _reached(question, trial.spots, aim) > value + ON_EDGE_M:
            best = trial
    return replace(best, evaluations=spent)


def _traded(question: Together, spots: Sequence[Spot], aim: Aim, need_m: float) -> list[Spot]:
    """The spots traded, one array at a time, for places of a lattice and then of finer ones about each spot.

    What counts is the aim over all heads, each with the array that serves it best, so that no array draws
    a head to itself from too far. Every array keeps its rules, clear of the others.
    """
    now = list(spots)
    rooms = [
        [(band, places) for band in range(len(question.kits[spot.kit].bands))]
        for spot in now
        for places in (_lattice(question.kits[spot.kit].box),)
    ]
    for _ in range(EXCHANGES):
        if not sum(_trade(question, now, i, rooms[i], aim, need_m) for i in range(len(now))):
            break
    steps = np.stack(np.meshgrid(*[[-1.0, 0.0, 1.0]] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    step = LATTICE_M
    while step > GAP_M:
        step /= 2
        for _ in range(EXCHANGES):
            about = [
                [(spot.band, np.clip(spot.at + step * steps, box.low_m, box.high_m))]
                for spot in now
                for box in (question.kits[spot.kit].box,)
            ]
            if not sum(_trade(question, now, i, about[i], aim, need_m) for i in range(len(now))):
                break
    return now


def _lattice(box: SearchBox) -> Floats:
    """(p, 3) places over the box, at most LATTICE_M apart but never more than LATTICE_MOST."""
    low, high = np.array(box.low_m), np.array(box.high_m)
    apart = LATTICE_M
    while True:
        counts = [math.ceil(side / apart) if side > 0 else 1 for side in high - low]
        if math.prod(counts) <= LATTICE_MOST:
            break
        apart *= 1.1
    axes = [a + (b - a) * (np.arange(n) + 0.5) / n for a, b, n in zip(low, high, counts, strict=True)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _trade(
    question: Together,
    spots: list[Spot],
    which: int,
    rooms: Sequence[tuple[int, Floats]],
    aim: Aim,
    need_m: float,
) -> bool:
    """Whether array `which` was moved, in `spots`, to one of these places (by band) that is better for all."""
    kit, others = spots[which].kit, [*spots[:which], *spots[which + 1 :]]
    of, middles = question.kits[kit], question.heads.at_m

    def figure(band: Band, at: Floats) -> Floats:
        away = middles - at[:, None]
        rho = np.hypot(away[..., 0], away[..., 1])
        if aim == "near":
            return np.asarray(np.hypot(rho, away[..., 2]))
        off = np.degrees(np.arctan2(-away[..., 2], rho)) - (band.low_deg + band.high_deg) / 2
        return np.asarray(off * off)

    margins = question.margins_of(others)
    best = margins.max(axis=0)
    theirs = np.concatenate([figure(question.kits[o.kit].bands[o.band], o.at[None]) for o in others])
    theirs = np.take_along_axis(theirs, margins.argmax(axis=0)[None], axis=0)[0]
    worst = _reached(question, spots, aim)
    moved = False
    demands = (*of.constraints, *question.from_others(kit, others))
    for band, places in rooms:
        own = question.margins(of.bands[band], places)
        shown = np.where(own > best, figure(of.bands[band], places), theirs)
        reached = -shown.max(axis=1) if aim == "near" else -np.sqrt(shown.mean(axis=1))
        reached[np.maximum(own, best).min(axis=1) < need_m] = -np.inf
        order = np.argsort(-reached, kind="stable")
        order = order[reached[order] > worst + ON_EDGE_M]
        for start in range(0, len(order), 64):
            some = order[start : start + 64]
            good = np.ones(len(some), np.bool_)
            for demand in demands:
                good[good] = demand.signed_m(places[some[good]]) >= 0
            if good.any():
                first = int(some[np.argmax(good)])
                spots[which], worst, moved = Spot(kit, band, places[first]), float(reached[first]), True
                break
    return moved


def _exchanging(
    question: Together, spots: Sequence[Spot], owner: Indices, aim: Aim, enough_m: float
) -> Aimed:
    """From these spots and groups on: arrays to the best place for their own, heads to who serves them best.

    An array with margin to spare draws all heads to itself, far ones too: where that leads to worse than
    was there on the way, what was there is kept, and is not certified.
    """
    now, spent = list(spots), 0
    need = enough_m if aim == "near" else 0.0
    kept: tuple[Spot, ...] = ()
    most = -math.inf
    bound: float | None = None
    if question.least(now) >= need - ON_EDGE_M and not question.in_conflict(now):
        kept, most = tuple(now), _reached(question, now, aim)
    for _ in range(EXCHANGES):
        bound, more = _to_their_best(question, now, owner, aim, enough_m)
        spent += more
        served_by = question.owners(now)
        value = _reached(question, now, aim)
        if value > most and question.least(now) >= need - ON_EDGE_M and not question.in_conflict(now):
            kept, most = tuple(now), value
        if np.array_equal(served_by, owner):
            near_enough = GAP_DEG if aim == "centre" else GAP_M
            if most <= value + near_enough:
                certified = bound is not None and bound - value <= near_enough
                told = None if bound is None else max(bound, value)
                return Aimed(aim, tuple(now), "certified" if certified else "unresolved", told, spent)
            break
        owner = served_by
    if not kept:
        return Aimed(aim, tuple(now), "unresolved", None, spent)
    bound, more = _to_their_best(question, list(kept), question.owners(kept), aim, enough_m)
    return Aimed(aim, kept, "unresolved", None if bound is None else max(bound, most), spent + more)


def _to_their_best(
    question: Together, spots: list[Spot], owner: Indices, aim: Aim, enough_m: float
) -> tuple[float | None, int]:
    """The spots moved, each to its best place for its own heads; the bound for these groups, and evaluations."""
    bounds: list[tuple[int, float | None]] = []
    spent = 0
    for i, spot in enumerate(spots):
        own = np.flatnonzero(owner == i)
        if len(own):
            others = [*spots[:i], *spots[i + 1 :]]
            spots[i], bound, more = _by_aim(question, spot, own, others, aim, enough_m)
            bounds.append((len(own), bound))
            spent += more
    known = [(count, bound) for count, bound in bounds if bound is not None]
    return _whole(aim, known) if len(known) == len(bounds) else None, spent


def _reached(question: Together, spots: Sequence[Spot], aim: Aim) -> float:
    """What the aim has over all heads, each with the array that serves it best."""
    return _whole(aim, _values(question, spots, question.owners(spots), aim))


def _partings(question: Together, spots: Sequence[Spot]) -> Iterable[Indices]:
    """(n,) whose each head could be, by where the heads sit: in stretches of as many along and across, and in clusters.

    Every array gets some; groups go to the arrays that are nearest to them. Nothing for one array, or
    for fewer heads than arrays.
    """
    from scipy.optimize import linear_sum_assignment

    count, at = len(spots), question.heads.at_m[:, :2]
    if not 1 < count <= len(at):
        return
    centred = at - at.mean(axis=0)
    ways = np.linalg.svd(centred, full_matrices=False)[2]
    parts = []
    for way in ways:
        order = np.argsort(np.round(centred @ way, 9), kind="stable")
        part = np.empty(len(at), np.int64)
        part[order] = np.arange(len(at)) * count // len(at)
        parts.append(part)
    middles = [at[int(np.argmax(np.hypot(*centred.T)))]]
    while len(middles) < count:
        away = np.min([np.hypot(*(at - middle).T) for middle in middles], axis=0)
        middles.append(at[int(np.argmax(away))])
    for _ in range(EXCHANGES):
        part = np.argmin([np.hypot(*(at - middle).T) for middle in middles], axis=0)
        middles = [at[part == k].mean(axis=0) if np.any(part == k) else middles[k] for k in range(count)]
    parts.append(part)
    seen = {question.owners(spots).tobytes()}
    for part in parts:
        if len(np.unique(part)) < count:
            continue
        middles = [at[part == k].mean(axis=0) for k in range(count)]
        away = np.array([[np.hypot(*(spot.at[:2] - middle)) for middle in middles] for spot in spots])
        array_of = np.empty(count, np.int64)
        rows, columns = linear_sum_assignment(away)
        array_of[columns] = rows
        owner = array_of[part]
        if owner.tobytes() not in seen:
            seen.add(owner.tobytes())
            yield owner


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
    if found.place is not None and (
        question.left_beside(spot.kit, np.array(found.place.at_m), others) < -ON_EDGE_M
    ):
        found = asked((*kit.constraints, *question.from_others(spot.kit, others)))
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
