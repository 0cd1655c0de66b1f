"""How far each array may be off, in all directions at once and out of true, before anything that holds is lost.

Everything that holds now must go on holding in all of a box of places: heads covered stay covered by one array
or another, lines of sight that are clear stay clear, and rules that are met stay met. The box is ±a sideways with
a down first, a as large as it may be; then what is left up; then what is left down.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Floats
from geometry.constraint import Constraint
from geometry.coverage import Coverage, Heads
from geometry.off_by import OffBy, disc_to_loss, largest, last_kept, margins_off_by
from geometry.records import record
from geometry.tolerance import RoomToMove, distance_to_loss, room_to_move
from scenes.findings.review import Alone, AreaReview, Direction, HeadReview, Limit, Review, Tolerance
from scenes.review.areas import only_by
from scenes.review.lines_kept import LinesKept
from scenes.review.regions import served_heads
from scenes.review.sight import Sights
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.rules.constraints import judged_constraints
from scenes.rules.spares import Holding
from scenes.rules.surroundings import Things

SIDEWAYS_STEP_M = 0.005
"""Sideways is told in whole steps of this, what an installer can hold; under one step in whole millimetres."""
SIDEWAYS_STEP_IN_M = 0.0254 / 8
"""The same in rooms measured in feet or inches."""
LEAST_STEP_M = 0.001
WRITTEN_PER_M = 1e6
"""As fine as JSON numbers are: parts of a metre."""
FINE_M = 1e-4
"""How exact the ends of the box are found where rules end them."""
ALONE_FINE_M = 1e-3
"""How exact the radius of the disc is found where rules end it."""
ROUNDING_M = 1e-9
"""What is this little short of a step reaches it."""

DIRECTIONS: tuple[Direction, ...] = ("sideways", "up", "down")


def kept_of(
    scene: Scene,
    array: Array,
    heads: Sequence[HeadReview],
    coverage: Coverage,
    sights: Sights,
    areas: Sequence[AreaReview] = (),
    stacked: dict[str, Things] | None = None,
) -> Kept:
    """What this array must not lose. `heads` are those reviewed, `coverage` of all arrays and heads in order.

    `sights` are all lines of the scene, those of each array to the heads that it serves. Of `areas`, reviewed, what
    this array alone covers stays covered. `stacked`: what is round arrays, kept for several of a scene.
    """
    serves = [head for head in heads if head.array == array.id]
    parts, of_areas = only_by(scene, array, areas)
    nobody = bool(serves) and not of_areas and not any(head.standing == "covered" for head in serves)
    counting = _counting(scene, array, heads, coverage, sights)
    ends = (*(Limit("head", heads[i].id) for i in counting), *(Limit("area", id) for id in of_areas))
    rows = scene.heads_as_rows.take(counting).and_besides(parts)
    lines = LinesKept(scene, array, sights)
    return Kept(scene, array, rows, ends, (Holding(scene, array, stacked),), (lines,), nobody=nobody)


def tolerance_of(each: Sequence[Kept]) -> Tolerance:
    """How far an array may be off by what it must not lose in each layout of a room, or in the room."""
    first = each[0]
    if all(one.nobody for one in each):
        level = first.array.profile.level_deg
        rise_m = None if first.array.profile.mount == "flush" else 0.0
        return Tolerance(0.0, rise_m, rise_m, level, Alone(0.0, rise_m, rise_m), dict.fromkeys(DIRECTIONS))
    heads = first.heads
    for one in each[1:]:
        heads = heads.and_besides(one.heads)
    return Kept(
        first.scene,
        first.array,
        heads,
        tuple(end for one in each for end in one.ends),
        tuple(rules for one in each for rules in one.rules),
        tuple(lines for one in each for lines in one.lines),
        tuple(name for one in each for name in one.names),
    ).tolerance()


def least_of(tolerances: Sequence[Tolerance]) -> Tolerance | None:
    """The least of each direction over several arrays, with what ends it; None of none."""
    if not tolerances:
        return None
    limits: dict[Direction, Limit | None] = {}
    least: dict[Direction, float | None] = {}
    for direction in DIRECTIONS:
        ended = [(t, m) for t in tolerances if (m := getattr(t, f"{direction}_m")) is not None]
        shortest = min(ended, key=lambda pair: pair[1], default=None)
        least[direction] = None if shortest is None else shortest[1]
        limits[direction] = None if shortest is None else shortest[0].limited_by[direction]
    alone = [
        min((m for t in tolerances if (m := getattr(t.alone, name)) is not None), default=None)
        for name in ("sideways_m", "up_m", "down_m")
    ]
    return Tolerance(
        least["sideways"],
        least["up"],
        least["down"],
        max(t.level_deg for t in tolerances),
        Alone(*alone),
        limits,
    )


def _counting(
    scene: Scene, array: Array, heads: Sequence[HeadReview], coverage: Coverage, sights: Sights
) -> NDArray[np.int64]:
    """The heads that only this array covers, by index; an array that does not see a head does not cover it."""
    k = [one.id for one in scene.arrays].index(array.id)
    covers = (coverage.margin_m >= -ON_EDGE_M) & sights.sees()
    elsewhere = np.asarray(np.delete(covers, k, axis=0).any(axis=0), np.bool_)
    return np.array(
        [
            i
            for i, head in enumerate(heads)
            if head.array == array.id and head.standing == "covered" and not elsewhere[i]
        ],
        np.int64,
    )


@record(frozen=True, slots=True)
class Kept:
    """What one array must not lose, asked of boxes, discs and plumb lines; rules and lines of each layout.

    `nobody`: it serves some and covers none of them.
    """

    scene: Scene
    array: Array
    heads: Heads
    ends: tuple[Limit, ...]
    """What is lost with each of the heads, areas among them."""
    rules: tuple[Holding, ...]
    lines: tuple[LinesKept, ...]
    names: tuple[Callable[[str], str], ...] = (str,)
    """What things of each layout are called where all of them are at hand."""
    nobody: bool = False

    def called(self, name: Callable[[str], str]) -> Kept:
        """The same of one layout among several, whose things are called so."""
        ends = tuple(replace(end, id=name(end.id)) for end in self.ends)
        return replace(self, ends=ends, names=(name,))

    def tolerance(self) -> Tolerance:
        """The box, and what there is one way alone."""
        flush = self.array.profile.mount == "flush"
        alone = self._alone()
        # no box reaches farther than one way alone does: less to ask
        across_m, up_to_m, down_to_m = (
            stop if end is None else min(stop, end + ALONE_FINE_M)
            for stop, end in zip(
                (self._across_m, *self._stops_m), (alone.sideways_m, alone.up_m, alone.down_m), strict=True
            )
        )
        sideways, sideways_end = self._largest(lambda a: OffBy(a, 0.0, 0.0 if flush else a), across_m)
        a = _stepped(sideways, self.scene.units)
        up, up_end, down, down_end = 0.0, None, 0.0, None
        if not flush:
            up, up_end = self._largest(lambda u: OffBy(a, u, a), up_to_m)
            # as far down as sideways holds by what was asked
            more, down_end = self._largest(lambda d: OffBy(a, up, a + d), max(down_to_m - a, 0.0))
            down = a + more
        return Tolerance(
            sideways_m=_ended(a, sideways_end),
            up_m=_ended(up, up_end),
            down_m=_ended(down, down_end),
            level_deg=self.array.profile.level_deg,
            alone=alone,
            limited_by={"sideways": sideways_end, "up": up_end, "down": down_end},
        )

    @property
    def _across_m(self) -> float:
        (low_x, low_y), (high_x, high_y) = self.scene.room.bounds_m
        return math.hypot(high_x - low_x, high_y - low_y)

    @property
    def _stops_m(self) -> tuple[float, float]:
        """How far up to the ceiling and down to the floor."""
        low_m, high_m = height_span_m(self.scene, self.array)
        z = self.array.centre_m[2]
        return max(high_m - z, 0.0), max(z - low_m, 0.0)

    def _largest(self, off: Callable[[float], OffBy], most_m: float) -> tuple[float, Limit | None]:
        """The largest length whose box holds, and what ends it: heads first, which cost least."""
        length = last_kept(lambda some: float(self._left_m(off(some)).min()), most_m) if self.ends else most_m
        end = None
        if self.ends:
            left = self._left_m(off(length + FINE_M))
            if length < most_m:
                end = self.ends[int(np.argmin(left))]
        every: tuple[Holding | LinesKept, ...] = (*self.rules, *self.lines)
        for name, holding in zip(self.names * 2, every, strict=True):
            shorter, lost = largest(self._boxes(holding, off), length, FINE_M)
            length, end = (length, end) if lost is None else (shorter, replace(lost, id=name(lost.id)))
        return length, end

    @staticmethod
    def _boxes(
        holding: Holding | LinesKept, off: Callable[[float], OffBy]
    ) -> Callable[[float], Limit | None]:
        return lambda some: holding.lost_in(off(some))

    def _left_m(self, off: OffBy) -> Floats:
        """What each head keeps in the box, out of true."""
        tilt = self.array.profile.level_deg
        return margins_off_by(self.array.centre_m, self.array.band, self.heads, off, tilt) + ON_EDGE_M

    def _alone(self) -> Alone:
        """One way at a time, level."""
        radius, head = disc_to_loss(self.array.centre_m, self.array.band, self.heads)
        disc, ended = min(radius, self._across_m), head is not None
        for rules in self.rules:
            disc, rule = largest(rules.lost_in_disc, disc, ALONE_FINE_M)
            ended |= rule is not None
        for lines in self.lines:
            disc, line = lines.disc_to_loss(disc)
            ended |= line is not None
        up_to_m, down_to_m = self._stops_m
        flush = self.array.profile.mount == "flush"
        return Alone(
            sideways_m=disc if ended else None,
            up_m=None if flush else self._straight(1.0, up_to_m),
            down_m=None if flush else self._straight(-1.0, down_to_m),
        )

    def _straight(self, way: float, stop_m: float) -> float | None:
        """How far straight up (1) or down (-1); None where only the stop ends it."""
        at, band = self.array.centre_m, self.array.band
        to_head, head = distance_to_loss(at, (0.0, 0.0, way), band, self.heads)
        left, ended = min(to_head, stop_m), head is not None and to_head <= stop_m
        holding: tuple[Holding | LinesKept, ...] = (*self.rules, *self.lines)
        for one in holding:
            left, lost = one.straight_to_loss(way * left)
            ended |= lost is not None
        return left if ended else None


def _ended(length_m: float, end: Limit | None) -> float | None:
    """A length rounded down to what is written, so that writing does not add to it; None where a stop ends it."""
    return None if end is None else math.floor(length_m * WRITTEN_PER_M + ROUNDING_M) / WRITTEN_PER_M


def _stepped(sideways_m: float, units: str) -> float:
    """Rounded down to whole steps; under one step to whole millimetres."""
    step = SIDEWAYS_STEP_IN_M if units in ("ft", "in") else SIDEWAYS_STEP_M
    for part in (step, LEAST_STEP_M):
        if sideways_m >= part - ROUNDING_M:
            return math.floor(sideways_m / part + ROUNDING_M) * part
    return 0.0


def rooms_to_move(scene: Scene, review: Review) -> dict[str, tuple[RoomToMove, ...]]:
    """For each array that serves somebody: the room along ±x, ±y, up and down, with heads and rules that end it.

    Up ends at the ceiling and down at the floor; a flush array has neither.
    """
    return {
        array.id: rooms_of(
            scene, array, served_heads(scene, review, array.id), judged_constraints(scene, array)
        )
        for array in scene.arrays
        if review.array(array.id).heads
    }


def rooms_of(
    scene: Scene, array: Array, heads: Heads, constraints: Sequence[Constraint]
) -> tuple[RoomToMove, ...]:
    """How far this array may move each way, as far as it can: up to the ceiling, down to the floor, flush neither.

    Where nobody is lost before the ceiling there is no distance and no head; the ceiling (or floor) ends
    what is clear.
    """
    rooms = room_to_move(array.centre_m, array.band, heads, constraints)
    if array.profile.mount == "flush":
        return tuple(room for room in rooms if room.direction not in ("up", "down"))
    low_m, high_m = height_span_m(scene, array)
    ends = {"up": (high_m - array.centre_m[2], ("ceiling",)), "down": (array.centre_m[2] - low_m, ("floor",))}
    kept = []
    for room in rooms:
        end_m, surface = ends.get(room.direction, (math.inf, None))
        if room.distance_m > end_m:
            room = replace(room, distance_m=math.inf, head=None)
        if room.clear_distance_m > end_m:
            room = replace(room, clear_distance_m=max(end_m, 0.0), constraint=surface)
        kept.append(room)
    return tuple(kept)
