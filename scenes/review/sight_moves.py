"""What would free the blocked lines of one thing, all at once: moves that were tried on the whole room.

A thing moves straight along the room's x or y, or up or down, by whole millimetres (sixteenths of an inch where
the file is in feet and inches). While it moves one way, lines to one mouth range or screen and a solid in them are
in each other for one stretch of that way, since both are convex: so the least step that frees them is found by
halving. It is told only if the room so changed is as good as before (`scenes.review.trial`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from geometry.coverage import Heads
from geometry.records import record
from geometry.shapes import Blocker as Solid
from geometry.shapes import Cylinder, Point2
from geometry.sight import Fans, hidden
from scenes.findings.cause import Direction, Move
from scenes.findings.clearance import Clearance
from scenes.findings.sight import LineKind, Sightline, Unblock
from scenes.review.blockers import WALLS, Bools, any_of, wall_ids
from scenes.review.sight import Floats, Looks, Sights
from scenes.review.trial import Goal, Thing, Trial, thing_of
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Camera, Device, Display, Obstacle, Scene
from scenes.room.walls import wall_towards

FARTHEST_M = 1.0
"""Nobody is told to move anything farther than this: then it needs another place."""
STEP_M, INCH_STEP_M = 0.001, 0.0015875
"""Moves are found to a millimetre, or to a sixteenth of an inch."""
STRIDE = 32
"""Ways are first looked along in so many steps at once, then one by one."""
TRIES = 12
"""How often a thing that is too near what it is moved for is tried farther off."""
ROUNDING = 1e-6
"""Of a step: what is missing by less than a whole step and this is missing by whole steps."""
SQUARE_DEG = 0.5
"""A screen that faces along the room's x or y to within this slides along the other."""

WAYS: dict[Direction, tuple[float, float, float]] = {
    "+x": (1, 0, 0), "-x": (-1, 0, 0), "+y": (0, 1, 0), "-y": (0, -1, 0), "up": (0, 0, 1), "down": (0, 0, -1)
}  # fmt: skip
SIDEWAYS: tuple[Direction, ...] = ("+x", "-x", "+y", "-y")
STAYS = ("building", "table", "wall")
"""What of the room nobody moves for a line of sight."""


def unblocking(sights: Sights, lines: Sequence[Sightline], found: Sequence[Clearance]) -> tuple[Unblock, ...]:
    """What would free the blocked lines, a record for each blocker in the order in which lines name them.

    `found` are the clearances of the same room. Where no one move frees all lines
    of a blocker and they are of several arrays, cameras or displays, there is a record for each of these.
    """
    blocked = [line for line in lines if line.state == "blocked"]
    if not blocked:
        return ()
    trial = Trial(sights, found)
    told: list[Unblock] = []
    for blocker in dict.fromkeys(id for line in blocked for id in line.blockers):
        mine = [line for line in blocked if blocker in line.blockers]
        whole = _Freeing(trial, blocker, mine)
        one = whole.unblock()
        if one.moves or len(whole.subjects) == 1:
            told.append(one)
            continue
        told += [
            _Freeing(trial, blocker, [line for line in mine if subject_of(line) == subject]).unblock()
            for subject in whole.subjects
        ]
    return tuple(told)


def subject_of(line: Sightline) -> str:
    """Whose line it is: the array, the camera or the display, which could move instead of the blocker."""
    return line.end if line.kind == "display" else line.start


@record(frozen=True, slots=True, eq=False)
class _Part:
    """Some lines of one kind as fans; `places` (p, 3), `targets` and `which` (p, t) are meant say of whom."""

    kind: LineKind
    places: Floats
    targets: Heads
    which: Bools

    @classmethod
    def of(cls, looks: Looks, lines: Sequence[Sightline]) -> _Part:
        starts = sorted({looks.starts.index(line.start) for line in lines})
        ends = sorted({looks.ends.index(line.end) for line in lines})
        own = {(line.start, line.end) for line in lines}
        which = [[(looks.starts[p], looks.ends[t]) in own for t in ends] for p in starts]
        targets = looks.targets.take(np.array(ends, np.int64))
        return cls(looks.kind, looks.places[starts], targets, np.array(which, np.bool_))

    @property
    def fans(self) -> Fans:
        """The lines that are meant."""
        return Fans.of(self.places, self.targets).take(self.which[:, self.targets.row_head].ravel())

    def blocked(self, solids: Sequence[Solid], by: Floats, *, blocker_moves: bool) -> Bools:
        """(tries,) whether any line meets a solid, the solids moved by (tries, 3), or whose lines they are."""
        if blocker_moves:  # that is all lines moved the other way
            hit = self.fans.shifted(-by).blocked_by(solids).any(axis=1)
            return np.asarray(hit.reshape(len(by), -1).any(axis=1))
        if self.kind == "display":
            found = any_of(hidden(self.places, _shifted(self.targets, by), solids))
            return np.asarray((found & self.which).any(axis=0))
        return np.asarray((any_of(hidden(self.places + by, self.targets, solids)) & self.which).any(axis=1))


class _Freeing:
    """One blocker and some of the lines it blocks."""

    def __init__(self, trial: Trial, blocker: str, lines: Sequence[Sightline]) -> None:
        self.trial, self.scene, self.blocker = trial, trial.scene, blocker
        self.lines = tuple((line.start, line.end) for line in lines)
        self.subjects = tuple(dict.fromkeys(subject_of(line) for line in lines))
        owner = WALLS if blocker in wall_ids(self.scene) else blocker
        blockers = [one for one in trial.sights.blockers if one.owner == owner]
        self.kind = blockers[0].kind
        self.solids = [_up_to_the_ceiling(one.solid) if one.cable else one.solid for one in blockers]
        self.goal = Goal(
            owner,
            frozenset((line.kind, line.start, line.end) for line in lines),
            frozenset((owner, *self.subjects)),
        )
        self.parts = [
            _Part.of(looks, own)
            for looks in trial.sights.looks
            if (own := [line for line in lines if line.kind == looks.kind])
        ]
        self.step_m = INCH_STEP_M if self.scene.units in ("ft", "in") else STEP_M

    def unblock(self) -> Unblock:
        """The least move of the blocker and of whose lines they are, the smaller first, a column last."""
        kind = self.kind
        things = [] if kind in STAYS else [self.blocker]
        things += self.subjects if len(self.subjects) == 1 else ()
        moves = [move for thing in things if (move := self._least(thing)) is not None]
        moves = [replace(move, seldom=kind == "column" and move.thing == self.blocker) for move in moves]
        moves.sort(key=lambda move: (move.seldom, move.by_m))
        elsewhere = self.subjects if kind in (*STAYS, "column") else (*self.subjects, self.blocker)
        return Unblock(self.blocker, self.lines, tuple(moves), elsewhere)

    def _least(self, thing: str) -> Move | None:
        """The least move of one thing that frees all the lines and does no harm; None if there is none."""
        here = thing_of(self.scene, thing)
        most = {way: math.floor(most_m / self.step_m) for way, most_m in _ways(here, self.scene)}
        best: tuple[int, Direction] | None = None
        for count, way in self._first_free(thing, most):
            if best is None or count < best[0]:
                end = most[way] if best is None else best[0] - 1
                farther = self._far_enough(thing, way, count, end)
                best = best if farther is None else (farther, way)
        if best is None:
            return None
        x, y, _ = WAYS[best[1]]
        wall = wall_towards(self.scene.room, place_of(here), (x, y)) if x or y else None
        return Move(thing, best[1], best[0] * self.step_m, wall=wall)

    def _lacks_m(self, thing: str, way: Direction, count: int) -> float:
        return self.trial.lacks_m(thing, np.multiply(WAYS[way], count * self.step_m).tolist(), self.goal)

    def _far_enough(self, thing: str, way: Direction, count: int, most: int) -> int | None:
        """The least count of steps from this one on that does no harm; None if there is none up to `most`.

        What keeps too near what it is moved for must go on by as much as is missing at least. Any other harm is
        not made good by going farther.
        """
        failed = count - 1
        for _ in range(TRIES):
            lacks_m = self._lacks_m(thing, way, count)
            if lacks_m == 0:
                break
            if lacks_m == math.inf:
                return None
            failed, count = count, count + max(math.ceil(lacks_m / self.step_m - ROUNDING), 1)
            if count > most:
                return None
        else:
            return None
        middle = count - 1
        while (
            count - failed > 1
        ):  # a rule that asks less, farther off, may be kept sooner than by what was missing
            good = self._lacks_m(thing, way, middle) == 0
            count, failed = (middle, failed) if good else (count, middle)
            middle = (count + failed) // 2
        return count

    def _first_free(self, thing: str, most: Mapping[Direction, int]) -> list[tuple[int, Direction]]:
        """The least count of steps that frees all the lines, for each way that does, the least first."""
        blocked = {way: 0 for way, count in most.items() if count > 0}
        free = {way: most[way] for way in blocked}
        for stride in (STRIDE, 1):
            tries = [
                (way, min(count, free[way]))
                for way, start in blocked.items()
                for count in range(start + stride, free[way] + stride, stride)
            ]
            found = self._free(thing, tries)
            for (way, count), so in zip(reversed(tries), reversed(found.tolist()), strict=True):
                if so:
                    free[way] = count
                else:
                    blocked[way] = max(blocked[way], count)
            # who is not free at the end of its way is not free on it
            blocked = {way: start for way, start in blocked.items() if start < free[way]}
        return sorted((free[way], way) for way in blocked)

    def _free(self, thing: str, tries: Sequence[tuple[Direction, int]]) -> Bools:
        """(tries,) whether the thing, so many steps on its way, leaves all the lines free of this blocker."""
        by = np.array([WAYS[way] for way, _ in tries]).reshape(-1, 3)
        by = by * np.array([count for _, count in tries])[:, None] * self.step_m
        blocked = np.zeros(len(tries), np.bool_)
        for part in self.parts if len(tries) else ():
            blocked |= part.blocked(self.solids, by, blocker_moves=thing == self.blocker)
        return ~blocked


def _ways(thing: Thing, scene: Scene) -> list[tuple[Direction, float]]:
    """The ways a thing may go and how far at most: a lamp is raised and not lowered, a screen slides along its wall."""
    sideways: list[tuple[Direction, float]] = [(way, FARTHEST_M) for way in SIDEWAYS]
    if isinstance(thing, Obstacle):
        return sideways
    low, high = _heights(thing)
    over_m = ceiling_over_m(scene.room, None if thing.at_m is None else thing.at_m[:2])
    stem_m = thing.stem_m if isinstance(thing, Device) and thing.stem_m else FARTHEST_M
    up: tuple[Direction, float] = (
        "up",
        min(FARTHEST_M, over_m - high, stem_m),
    )
    down: tuple[Direction, float] = ("down", min(FARTHEST_M, low))
    if isinstance(thing, Device):
        return [*sideways, up]
    if isinstance(thing, Array):
        return sideways if thing.profile.mount == "flush" else [*sideways, up, down]
    if isinstance(thing, Camera):
        return [*sideways, up, down]
    facing = thing.facing_deg % 180
    across = min(facing, 180 - facing) <= SQUARE_DEG
    along = abs(facing - 90) <= SQUARE_DEG
    slides = sideways[2:] if across else sideways[:2] if along else []
    return [*slides, up, down]


def _heights(thing: Thing) -> tuple[float, float]:
    """Lowest and highest point of what may be raised or lowered."""
    if isinstance(thing, Array):
        return thing.underside_m, thing.top_m
    if isinstance(thing, Device):
        return thing.low_m, thing.low_m + thing.depth_m
    if isinstance(thing, Display):
        return thing.at_m[2] - thing.height_m / 2, thing.at_m[2] + thing.height_m / 2
    assert isinstance(thing, Camera)
    return thing.at_m[2], thing.at_m[2]


def place_of(thing: Thing) -> Point2:
    """The plan middle of a thing."""
    if isinstance(thing, Obstacle):
        return thing.solid.middle_m[:2]
    if isinstance(thing, Array):
        return thing.centre_m[:2]
    return thing.at_m[0], thing.at_m[1]


def _up_to_the_ceiling(cable: Solid) -> Solid:
    """A cable that reaches the ceiling also where its array is lowered."""
    assert isinstance(cable, Cylinder)
    x, y, z = cable.middle_m
    return Cylinder((x, y, z + FARTHEST_M / 2), cable.radius_m, cable.height_m + FARTHEST_M)


def _shifted(target: Heads, by: Floats) -> Heads:
    """One target, of one row, as many as there are steps (k, 3)."""
    count = len(by)
    return Heads(
        at_m=target.at_m + by,
        sway_m=np.repeat(target.sway_m, count),
        xy_m=target.xy_m + by[:, :2],
        to_m=target.to_m + by[:, :2],
        low_m=target.low_m + by[:, 2],
        high_m=target.high_m + by[:, 2],
        start=np.arange(count, dtype=np.int64),
    )
