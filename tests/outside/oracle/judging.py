"""A whole room judged as the contract says it: who is covered by whom, what blocks, what is too close, the verdict."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.outside.oracle.band import along_way, four_numbers, slack_of_range
from tests.outside.oracle.reading import Array, Device, Floats, Obstacle, Room
from tests.outside.oracle.rulesheet import Demand, Sheet, array_solids, solids_of
from tests.outside.oracle.seating import Head, heads_of
from tests.outside.oracle.solids import Plan, Prism, outside_share, through

EDGE_M = 1e-9
"""A number this little below zero is still zero: rounding. So is a lead of one array over another."""
OUTSIDE_M = 1e-6
"""A line that leaves the room by no more than this runs along a wall."""
HEIGHTS_ASKED, PLACES_ASKED = 21, 41
"""Lines to a range of mouths, and to places on a stretch of a way."""
WORST_FIRST = ("missed", "blocked", "marginal", "covered")
DISPLAY_M = 0.05
"""How thick a screen is behind its face: overtable's own default."""


@dataclass(frozen=True)
class Blocker:
    """Something that hides a mouth: its id, and where the line meets it (share from the array)."""

    id: str
    at: float


@dataclass(frozen=True)
class Seen:
    """A line, or the many to one head: how many of them something is in the way of, and what, nearest first."""

    asked: int
    hit: int
    blockers: tuple[Blocker, ...]

    @property
    def blocked(self) -> bool:
        """Whether any mouth of the head is hidden."""
        return self.hit > 0


@dataclass(frozen=True)
class HeadFigures:
    """One head as one array hears it."""

    slack: float
    margin: float
    depression: float
    slant: float
    off_centre: float
    reasons: Mapping[str, float]
    seen: Seen

    @property
    def state(self) -> str:
        """By the numbers alone, whatever is in the way."""
        if self.margin >= -EDGE_M:
            return "covered"
        return "marginal" if self.slack >= -EDGE_M else "missed"


@dataclass(frozen=True)
class Found:
    """A clearance: what is asked of an array for the sake of a thing, and what is there."""

    demand: Demand
    array: str
    required: float | None
    actual: float
    judged: bool

    @property
    def spare(self) -> float:
        """What is left; inf where nothing is asked."""
        return math.inf if self.required is None else self.actual - self.required

    @property
    def state(self) -> str:
        """clear, short, advised, unjudged or off, as the contract has it."""
        if self.demand.off:
            return "off"
        if self.required is None:
            return "clear"
        if not self.judged:
            return "unjudged"
        if self.spare >= -EDGE_M:
            return "clear"
        return "short" if self.demand.fails else "advised"


class Judged:
    """A room with its arrays where the file has them. Needs a place for each."""

    def __init__(self, room: Room, heads: Sequence[Head] | None = None) -> None:
        self.room = room
        self.heads = list(heads_of(room) if heads is None else heads)

    @cached_property
    def figures(self) -> dict[tuple[str, str], HeadFigures]:
        """Every head as every array hears it, by (head, array)."""
        return {
            (head.id, array.id): figures(self.room, head, array)
            for head in self.heads
            for array in self.room.arrays
        }

    @cached_property
    def serving(self) -> dict[str, str]:
        """Which array serves each head: the largest margin among those that see it, the first on a tie."""
        chosen = {}
        for head in self.heads:
            told = [(array.id, self.figures[head.id, array.id]) for array in self.room.arrays]
            seeing = [(id, one) for id, one in told if not one.seen.blocked] or told
            largest = max(one.margin for _, one in seeing)
            chosen[head.id] = next(id for id, one in seeing if one.margin >= largest - EDGE_M)
        return chosen

    def of(self, head: str) -> HeadFigures:
        """The head's figures at the array that serves it."""
        return self.figures[head, self.serving[head]]

    @cached_property
    def counts(self) -> dict[str, int]:
        """People, each as the worst of their heads."""
        worst: dict[str, str] = {}
        for head in self.heads:
            one = self.of(head.id)
            state = one.state if one.state == "missed" or not one.seen.blocked else "blocked"
            before = worst.get(head.person, "covered")
            worst[head.person] = min(before, state, key=WORST_FIRST.index)
        told = {state: list(worst.values()).count(state) for state in WORST_FIRST}
        return {"talkers": len(worst), **told}

    @cached_property
    def clearances(self) -> list[Found]:
        """Every demand of every array where it hangs."""
        found = []
        for array in self.room.arrays:
            here = array.centre[None, :]
            for demand in Sheet(self.room, array).demands():
                one = demand.measure(here)
                required = None if math.isnan(one.required[0]) else float(one.required[0])
                found.append(Found(demand, array.id, required, float(one.actual[0]), bool(one.judged[0])))
        return found

    def verdict(self, others: Sequence[str] = ()) -> str:
        """The verdict, with these states of clearances that the oracle has no rule for."""
        states = [one.state for one in self.clearances] + list(others)
        if self.counts["missed"] or self.counts["blocked"] or "short" in states:
            return "fail"
        if self.counts["marginal"] or "advised" in states or "unjudged" in states:
            return "caution"
        return "pass"


def figures(room: Room, head: Head, array: Array) -> HeadFigures:
    """One head as this array hears it."""
    limits = array.limits
    slack = along_way(limits, array.centre, head.way, head.mouth)
    away = head.middle - array.centre
    rho, drop = math.hypot(away[0], away[1]), -float(away[2])
    depression = math.degrees(math.atan2(drop, rho))
    return HeadFigures(
        slack=slack,
        margin=slack - head.sway,
        depression=depression,
        slant=math.hypot(rho, drop),
        off_centre=depression - (limits[0] + limits[1]) / 2,
        reasons=_reasons(limits, head, array) if slack < 0 else {},
        seen=line_of_sight(room, head, array),
    )


def _reasons(limits: tuple[float, float, float, float], head: Head, array: Array) -> dict[str, float]:
    """The four numbers at the worse end of the range, of a head that stays where it is; else none."""
    if len(head.way) > 1:
        return {}
    rho = math.hypot(*(np.array(head.at) - array.centre[:2]))
    ends = [slack_of_range(limits, array.centre, head.at, (z, z))[0, 0] for z in head.mouth]
    if abs(ends[0] - ends[1]) < 1e-6 and head.mouth[0] != head.mouth[1]:
        return {}  # both ends are as bad: either's reason will do
    return four_numbers(limits, rho, float(array.centre[2]) - head.mouth[int(ends[1] < ends[0])])


def in_the_way(room: Room, array: Array) -> list[tuple[str, Prism]]:
    """What can hide a mouth from this array, by id."""
    things: list[Device | Obstacle] = [*room.overhead, *room.obstacles]
    solids = [(one.id, solid) for one in things for solid in solids_of(one)]
    for other in room.arrays:
        if other.id != array.id and other.at is not None and other.height is not None:
            solids += [(other.id, solid) for solid in array_solids(other, room.ceiling)]
    for screen in room.displays:
        c, s = math.cos(math.radians(screen.facing)), math.sin(math.radians(screen.facing))
        middle = (screen.at[0] - c * DISPLAY_M / 2, screen.at[1] - s * DISPLAY_M / 2)
        plan = Plan.rectangle(DISPLAY_M, screen.width, screen.facing)
        low = screen.at[2] - screen.height / 2
        solids.append((screen.id, Prism(plan, middle, low, low + screen.height)))
    return solids


def mouths_asked(head: Head, finer: int = 1) -> Floats:
    """Many mouths of one head: all along its way, over all of its range, the ends among them."""
    low, high = head.mouth
    heights = [low] if low == high else np.linspace(low, high, finer * (HEIGHTS_ASKED - 1) + 1)
    way = np.array(head.way)
    if len(way) > 1:
        legs = [np.linspace(a, b, finer * (PLACES_ASKED - 1) + 1) for a, b in itertools.pairwise(way)]
        way = np.concatenate(legs)
    return np.array([(*spot, z) for spot in way for z in heights])


def line_of_sight(room: Room, head: Head, array: Array, finer: int = 1) -> Seen:
    """Whether anything is between the array and any mouth of the head."""
    ends = mouths_asked(head, finer)
    starts = np.tile(array.centre, (len(ends), 1))
    hit = np.zeros(len(ends), bool)
    nearest: dict[str, float] = {}
    for id, solid in in_the_way(room, array):
        _note(nearest, hit, id, through(starts, ends, solid)[:, 0])
    outside = outside_share(starts, ends, room.outline) > OUTSIDE_M
    if outside.any():
        for id, share in _walls_met(room, starts, ends):
            _note(nearest, hit, id, np.where(outside, share, np.nan))
        hit |= outside
    blockers = [Blocker(id, at) for id, at in sorted(nearest.items(), key=lambda pair: pair[1])]
    return Seen(len(ends), int(hit.sum()), tuple(blockers))


def _note(nearest: dict[str, float], hit: NDArray[np.bool_], id: str, entering: Floats) -> None:
    there = ~np.isnan(entering)
    if there.any():
        hit |= there
        nearest[id] = min(nearest.get(id, math.inf), float(np.nanmin(entering)))


def _walls_met(room: Room, starts: Floats, ends: Floats) -> list[tuple[str, Floats]]:
    """For each wall, where each line crosses it on plan (share, nan where it does not); wall 0 begins at corner 0."""
    met = []
    corners = np.array(room.outline)
    way = (ends - starts)[:, :2]
    for k, (a, b) in enumerate(zip(corners, np.roll(corners, -1, axis=0), strict=True)):
        along = b - a
        cross = way[:, 0] * along[1] - way[:, 1] * along[0]
        away = a - starts[:, :2]
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (away[:, 0] * along[1] - away[:, 1] * along[0]) / cross
            on_wall = (away[:, 0] * way[:, 1] - away[:, 1] * way[:, 0]) / cross
        crossed = (share >= 0) & (share <= 1) & (on_wall >= -1e-9) & (on_wall <= 1 + 1e-9)
        met.append((f"wall {k}", np.where(crossed, share, np.nan)))
    return met


class Lines:
    """Many lines asked at once whether they are clear of everything but one array."""

    def __init__(self, room: Room, array: Array) -> None:
        self.solids = [solid for _, solid in in_the_way(room, array)]
        self.walls: shapely.Polygon | None = None
        plan = shapely.Polygon(room.outline)
        if (
            plan.convex_hull.area > plan.area + 1e-9
        ):  # walls can be in the way of a line only in a room with an inner corner
            self.walls = plan.buffer(OUTSIDE_M, join_style="mitre")
            shapely.prepare(self.walls)

    def clear(self, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
        """Whether nothing is in the way of each line (n, 3)."""
        clear = np.ones(len(starts), bool)
        if self.walls is not None:
            flat = shapely.linestrings(np.stack([starts[:, :2], ends[:, :2]], axis=1))
            clear &= shapely.covers(self.walls, flat)
        for solid in self.solids:
            clear[clear] = np.isnan(through(starts[clear], ends[clear], solid)[:, 0])
        return clear

    def see_all(self, positions: Floats, mouths: Floats) -> NDArray[np.bool_]:
        """Whether every mouth (m, 3) is seen from each place (n, 3)."""
        starts, ends = np.repeat(positions, len(mouths), axis=0), np.tile(mouths, (len(positions), 1))
        return np.asarray(self.clear(starts, ends).reshape(len(positions), len(mouths)).all(axis=1))
