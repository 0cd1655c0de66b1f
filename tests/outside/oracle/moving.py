"""The installation tolerance, by moving the array until something is lost.

Of the box [−a, a] × [−a, a] × [−d, u] many places are asked, corners, faces and inside, with the band turned out of
true about every horizontal axis: nothing that holds now may be lost (safe). And a box that is 5 mm larger must lose
something where the band's far edge may be off by 2 far sin(level / 2) (not much smaller than the truth).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.outside.oracle.band import signed_distance
from tests.outside.oracle.hanging import Listeners, span
from tests.outside.oracle.judging import Judged, Lines
from tests.outside.oracle.reading import Array, Floats, read
from tests.outside.oracle.rulesheet import FACTS, Demand, Sheet, array_solids, grown
from tests.outside.oracle.seating import Head
from tests.outside.oracle.solids import through

Bools = NDArray[np.bool_]
SMALLER_M = 0.005
"""So much smaller than the truth a box may be."""
ALONE_M = 0.001
FIRST_STEP_M = 0.004
TABLE_CORNERS = 64
"""A round table is so many corners to `check`, of which it lies inside."""
ROUNDED_M = 2e-6
LARGEST_M = 2.0
ROUND = 180
TURNS = 16
ON_PLAN, UPRIGHT, AT_RANDOM = 7, 3, 150
LOST_M = -1e-6
"""Less than this is lost, in a box; what the product tells is rounded to 6 decimals."""


@dataclass
class Moved:
    """One array of a judged room, moved about; the others stay."""

    judged: Judged
    array: Array

    def __post_init__(self) -> None:
        self.random = np.random.default_rng(7)
        self.limits = self.array.limits
        self.lines = Lines(self.judged.room, self.array)
        demands = Sheet(self.judged.room, self.array).demands()
        leaning = Sheet(self.judged.room, self.array, leaning=True).demands()
        failing = {self._asked(one) for one in demands if not one.off and not self._clear(one)}
        held = [not one.off and self._asked(one) not in failing for one in demands]
        self.demands = list(itertools.compress(demands, held))
        self.leaning = (
            list(itertools.compress(leaning, held)) if len(leaning) == len(demands) else self.demands
        )

    @staticmethod
    def _asked(demand: Demand) -> tuple[str, str, str]:
        """What it is that holds or fails: a sprinkler's spray is one demand, whichever of its two rules decides."""
        rule = "sprinkler-spray" if demand.rule == "sprinkler-table" else demand.rule
        return rule, demand.against, demand.part

    @property
    def rim(self) -> float:
        """How much lower the body's lowest point hangs out of true: its rim, of its length all round."""
        profile = self.array.profile
        wide = profile.size[0] / 2 if profile.round else min(profile.size[:2]) / 2
        return wide * math.sin(math.radians(profile.level)) * 0.999

    def _clear(self, demand: Demand) -> bool:
        """Whether a demand holds where the array hangs; what is short already, or not judged, does not count."""
        one = demand.measure(self.array.centre[None, :])
        return bool(one.spare[0] >= -1e-9 and (one.judged[0] or math.isnan(one.required[0])))

    # What holds now ------------------------------------------------------------------------------------------

    @cached_property
    def covered(self) -> list[Head]:
        """The heads covered now that no other array covers as well."""
        mine = []
        for head in self.judged.heads:
            now = self.judged.of(head.id)
            if now.state != "covered" or now.seen.blocked:
                continue
            others = [a.id for a in self.judged.room.arrays if a.id != self.array.id]
            told = [self.judged.figures[head.id, id] for id in others]
            if not any(one.state == "covered" and not one.seen.blocked for one in told):
                mine.append(head)
        return mine

    @cached_property
    def seen(self) -> list[Head]:
        """The heads that the array serves and sees."""
        serving = self.judged.serving
        return [
            head
            for head in self.judged.heads
            if serving[head.id] == self.array.id and not self.judged.of(head.id).seen.blocked
        ]

    @cached_property
    def rows(self) -> Listeners:
        """The heads to be kept, as rows."""
        return Listeners.of(self.covered, 61)

    @cached_property
    def lines_past(self) -> tuple[Floats, Floats]:
        """Starts and ends of the clear lines of other arrays, which this one's body must not cross."""
        starts, ends = [], []
        for head in self.judged.heads:
            serving = self.judged.serving[head.id]
            if serving != self.array.id and not self.judged.of(head.id).seen.blocked:
                mouths = _some_mouths(head)
                other = next(a for a in self.judged.room.arrays if a.id == serving)
                starts.append(np.tile(other.centre, (len(mouths), 1)))
                ends.append(mouths)
        none = np.zeros((0, 3))
        return (np.concatenate(starts), np.concatenate(ends)) if starts else (none, none)

    # Whether it still holds ----------------------------------------------------------------------------------

    def holds(
        self, positions: Floats, *, demand: float = 0.0, turned: bool = False, slop: float = LOST_M
    ) -> Bools:
        """Whether nothing is lost with the acoustic centre at places (n, 3).

        `demand` is kept by every head beside its sway; or the band is `turned` out of true every way.
        """
        good = np.ones(len(positions), bool)
        if self.covered:
            margins = self._turned(positions) if turned else self.rows.margin(self.limits, positions)
            good &= margins.min(axis=1) - demand >= slop
        for one in self.leaning if demand else self.demands:
            # What touches is a hair less than nothing apart, however far one thing stands in the other.
            least = -1e-9 if one.rule in FACTS else slop
            good[good] = one.measure(positions[good]).spare >= least
        for one in self.demands if turned else ():
            if one.rule in ("headroom", "free-over-table"):
                lower = positions[good] - np.array([0.0, 0.0, self.rim])
                good[good] = one.measure(lower).spare >= slop
        good[good] = self._sees(positions[good], leaning=bool(demand))
        return good

    def _turned(self, positions: Floats) -> Floats:
        """The least margin of each row with the band out of true by its level, every way round."""
        level = math.radians(self.array.profile.level)
        least = self.rows.margin(self.limits, positions)
        for way in np.linspace(0, 2 * math.pi, TURNS, endpoint=False) if level else ():
            for end in (0, 1):
                mouths = np.column_stack([self.rows.plan, self.rows.mouths[:, end]])
                away = mouths[None] - positions[:, None]
                axis = np.array([math.cos(way), math.sin(way), 0.0])
                there = (
                    away * math.cos(level)
                    + np.cross(axis, away) * math.sin(level)
                    + (away @ axis)[..., None] * axis * (1 - math.cos(level))
                )
                rho, z = np.hypot(there[..., 0], there[..., 1]), there[..., 2]
                least = np.minimum(least, signed_distance(self.limits, rho, -z) - self.rows.sway)
        return least

    def _sees(self, positions: Floats, *, leaning: bool) -> Bools:
        """Whether the lines that are clear now are clear from these places, and past the body there."""
        good = np.ones(len(positions), bool)
        if self.seen:
            good &= self.lines.see_all(positions, np.concatenate([_some_mouths(head) for head in self.seen]))
        starts, ends = self.lines_past
        for n in np.flatnonzero(good) if len(starts) else ():
            at = positions[n]
            hung = replace(
                grown(self.array) if leaning else self.array,
                at=(float(at[0]), float(at[1])),
                height=float(at[2]),
            )
            solids = array_solids(hung, self.judged.room.ceiling)
            good[n] = all(np.isnan(through(starts, ends, solid)[:, 0]).all() for solid in solids)
        return good

    # Boxes ---------------------------------------------------------------------------------------------------

    def box(self, a: float, up: float, down: float) -> Floats:
        """Places in the box: a lattice, some at random, and those nearest to mouths and things on plan.

        Up to the ceiling and down to the floor only: the box ends there, so that its places just under the
        ceiling, where rules change, are asked.
        """
        low, high = span(self.judged.room, self.array)
        z = float(self.array.centre[2])
        up, down = min(up, high - z), min(down, z - low)
        x = np.linspace(-a, a, ON_PLAN)
        rise = np.linspace(-down, up, UPRIGHT)
        lattice = np.array(np.meshgrid(x, x, rise)).reshape(3, -1).T
        some = self.random.uniform((-a, -a, -down), (a, a, up), (AT_RANDOM, 3))
        near = np.unique(np.clip(self._spots - self.array.centre[:2], -a, a), axis=0)
        beside = np.array([(*spot, z) for spot in near for z in rise])
        return np.asarray(self.array.centre + np.concatenate([lattice, some, beside.reshape(-1, 3)]))

    @cached_property
    def _spots(self) -> Floats:
        """Where on plan what may be lost is (n, 2): the ends of ways, and what is at the ceiling."""
        room = self.judged.room
        spots = [spot for head in self.covered for spot in head.way]
        spots += [one.at for one in (*room.overhead, *room.obstacles)]
        return np.array(spots, float).reshape(-1, 2)

    @property
    def chord(self) -> float:
        """By how much the band's far edge may be off while the body hangs out of true."""
        return 2 * self.limits[3] * math.sin(math.radians(self.array.profile.level) / 2)

    def box_holds(self, a: float, up: float, down: float) -> bool:
        """Whether a box holds, as far as these places tell, with the far edge's way kept by every head."""
        return bool(self.holds(self.box(a, up, down), demand=self.chord).all())

    def alone(self, ray: Callable[[float], Floats]) -> float:
        """How far all of `ray`'s places hold, level; LARGEST_M if they hold that far."""
        step = 0.02
        reached = step
        while reached <= LARGEST_M and self.holds(ray(reached), slop=-1e-9).all():
            reached += step
        if reached > LARGEST_M:
            return LARGEST_M
        low, high = reached - step, reached
        while high - low > 1e-4:
            middle = (low + high) / 2
            low, high = (middle, high) if self.holds(ray(middle), slop=-1e-9).all() else (low, middle)
        return low

    def ring(self, radius: float) -> Floats:
        """Places all round at a radius, level with the array."""
        way = np.linspace(0, 2 * math.pi, ROUND, endpoint=False)
        flat = np.column_stack([radius * np.cos(way), radius * np.sin(way), np.zeros(ROUND)])
        return np.asarray(self.array.centre + flat)

    def upright(self, by: float) -> Floats:
        """The place that much higher."""
        return np.asarray(self.array.centre + np.array([[0.0, 0.0, by]]))


def _some_mouths(head: Head) -> Floats:
    """Some mouths of a head (n, 3), on five places of each leg of its way, at five heights of its range."""
    way, heights = np.array(head.way), np.unique(np.linspace(*head.mouth, 5))
    if len(way) > 1:
        way = np.concatenate([np.linspace(a, b, 5) for a, b in itertools.pairwise(way)])
    return np.array([(*spot, z) for spot in way for z in heights])


def largest(good: Callable[[float], bool], high: float = LARGEST_M) -> float:
    """The largest number for which something holds that holds from 0 up to it; `high` if it always does.

    Climbed to from 0, by steps that grow by a quarter: where it fails and holds again farther out does not count.
    """
    low, step = 0.0, min(FIRST_STEP_M, high)
    while good(step):
        if step >= high:
            return high
        low, step = step, min(step * 1.25, high)
    high = step
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (middle, high) if good(middle) else (low, middle)
    return low


# Against what is told ------------------------------------------------------------------------------------


def tolerance_differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of arrays[].tolerance in a review is not so."""
    judged = Judged(read(path))
    assert not judged.room.guesses, "what a default decides the oracle cannot know"
    found = []
    for one, array in zip(told["arrays"], judged.room.arrays, strict=True):
        found += [f"{array.id}: {wrong}" for wrong in _array(Moved(judged, array), one["tolerance"])]
    for key in ("sideways_m", "up_m", "down_m"):
        known = [one["tolerance"][key] for one in told["arrays"] if one["tolerance"][key] is not None]
        if told["tolerance"][key] != min(known, default=None):
            found.append(f"tolerance.{key} {told['tolerance'][key]}, of the arrays {known}")
    return found


def _array(moved: Moved, told: Mapping[str, Any]) -> Iterator[str]:
    if told["level_deg"] != moved.array.profile.level:
        yield f"level {told['level_deg']}, in the file {moved.array.profile.level}"
    a, up, down = told["sideways_m"], told["up_m"], told["down_m"]
    served = [moved.judged.of(id) for id, array in moved.judged.serving.items() if array == moved.array.id]
    if served and not any(one.state == "covered" and not one.seen.blocked for one in served):
        none = None if moved.array.profile.flush else 0
        alone = told["alone"]
        if (a, up, down, *(alone[f"{way}_m"] for way in ("sideways", "up", "down"))) != (0, none, none) * 2:
            yield f"nothing that it serves is covered, and the box is {a} {up} {down}, alone {alone}"
        return
    yield from safe(moved, a, up, down)
    yield from large_enough(moved, a, up, down)
    yield from _alone(moved, told["alone"])


def _ends(moved: Moved, up: float | None, down: float | None) -> tuple[float, float]:
    """Heights of the box, to the ceiling and the floor where nothing else ends it."""
    low, high = span(moved.judged.room, moved.array)
    z = float(moved.array.centre[2])
    return high - z if up is None else up, z - low if down is None else down


def safe(moved: Moved, a: float, up: float | None, down: float | None) -> Iterator[str]:
    if (a, up or 0.0, down or 0.0) == (0.0, 0.0, 0.0):
        return  # out of true something may be lost without being off at all: a box is never less than nothing
    places = moved.box(a, *_ends(moved, up, down))
    lost = places[~moved.holds(places, turned=True)]
    if len(lost):
        yield f"something is lost in the box ±{a} +{up} −{down}: at {lost[0]} ({len(lost)} of {len(places)})"


def large_enough(moved: Moved, a: float, up: float | None, down: float | None) -> Iterator[str]:
    """In turn, as the contract takes them: sideways with as much down, then up, then down."""
    flush = moved.array.profile.flush
    truth = largest(lambda w: moved.box_holds(w, 0.0, 0.0 if flush else w))
    if a < truth - SMALLER_M - ROUNDED_M:
        yield f"sideways {a}, a box of {truth:.4f} holds"
    if flush:
        return
    for name, value, good in (
        ("up", up, lambda w: moved.box_holds(a, w, min(a, _ends(moved, None, None)[1]))),
        ("down", down, lambda w: moved.box_holds(a, _ends(moved, up, 0.0)[0], w)),
    ):
        if value is not None:
            truth = largest(good)
            if value < truth - SMALLER_M - ROUNDED_M:
                yield f"{name} {value}, {truth:.4f} holds"


def _alone(moved: Moved, told: Mapping[str, Any]) -> Iterator[str]:
    def whole(radius: float) -> Floats:
        return np.concatenate([moved.ring(radius), moved.ring(max(radius - 0.005, 0.0))])

    room_up, room_down = _ends(moved, None, None)
    round_m = max((max(t.size) / 2 for t in moved.judged.room.tables if t.size), default=0.0)
    exact = ALONE_M + round_m * (1 - math.cos(math.pi / TABLE_CORNERS))
    for key, ray, most in (
        ("sideways_m", whole, LARGEST_M),
        ("up_m", lambda by: moved.upright(by), room_up),
        ("down_m", lambda by: moved.upright(-by), room_down),
    ):
        if key != "sideways_m" and moved.array.profile.flush:
            if told[key] is not None:
                yield f"alone.{key} {told[key]} of a flush array"
            continue
        truth = moved.alone(ray)
        if truth >= most - 1e-4:  # nothing but a stop ends it
            if told[key] is not None and told[key] < most - ALONE_M:
                yield f"alone.{key} {told[key]}, nothing ends it before {most:.4f}"
        elif told[key] is None or abs(told[key] - truth) > (exact if key == "sideways_m" else ALONE_M):
            yield f"alone.{key} {told[key]}, oracle {truth:.4f}"
