"""A room with one thing moved, judged as far as the move can matter: is it as good as before?

As good means: the thing stands free in the room, no line that was clear is blocked, no talker is worse off, and
no clearance that was kept is less than its rule allows. Everything that the move cannot change is taken from the
room as it was judged.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from geometry.areas import inside_gap, outside_gap
from geometry.band import ON_EDGE_M
from geometry.clearance import gap, hanging_from, stack
from geometry.coverage import Coverage, cover
from geometry.records import record
from geometry.shapes import Box, Cylinder, Point2, Point3, Solid
from scenes.findings.clearance import Clearance
from scenes.findings.review import AREA_STATES
from scenes.review.areas import area_states
from scenes.review.blockers import (
    Blocker,
    Bools,
    any_of,
    of_array,
    of_device,
    of_display,
    of_obstacle,
)
from scenes.review.sight import Floats, Looks, Sights, faces
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Camera, Device, Display, Obstacle, Scene
from scenes.rules.clearances import clearances

Indices = NDArray[np.int64]
Thing = Array | Camera | Device | Display | Obstacle

Some = TypeVar("Some", Array, Camera, Device, Display, Obstacle)

PERSON_RADIUS_M = 0.25
"""Whoever sits or stands takes so much room round the mouth: our default. Nothing is moved into it."""
PERSON_ABOVE_MOUTH_M = 0.3
"""The top of a head over its mouth: our default."""
CAUTION, SHORT = 1, 2
"""How bad a clearance is that cautions, and one that fails."""
MET_M = 1e-9
"""What is short by no more than this is met: rounding."""


def thing_of(scene: Scene, id: str) -> Thing:
    """The array, camera, device, display or obstacle of that id; KeyError if there is none."""
    for things in (scene.arrays, scene.overhead, scene.obstacles, scene.cameras, scene.displays):
        for one in things:
            if one.id == id:
                return one
    raise KeyError(f"{id!r} is nothing that can be moved")


def moved(scene: Scene, id: str, step_m: Sequence[float]) -> Scene:
    """The room with one thing moved by (x, y, z) metres. KeyError if there is no such thing."""
    thing, (x, y, z) = thing_of(scene, id), step_m
    if isinstance(thing, Array):
        here = thing.centre_m
        there = replace(thing, at_m=(here[0] + x, here[1] + y), height_m=here[2] + z)
        return replace(scene, arrays=_with(scene.arrays, there))
    if isinstance(thing, Device):
        there_too = replace(
            thing,
            at_m=(thing.at_m[0] + x, thing.at_m[1] + y),
            low_m=thing.low_m + z,
            below_m=thing.below_m - z,
            stem_m=None if thing.stem_m is None else thing.stem_m - z,
        )
        return replace(scene, overhead=_with(scene.overhead, there_too))
    if isinstance(thing, Obstacle):
        there_on = replace(thing, solid=replace(thing.solid, middle_m=_plus(thing.solid.middle_m, step_m)))
        return replace(scene, obstacles=_with(scene.obstacles, there_on))
    if isinstance(thing, Camera):
        there_now = replace(thing, at_m=_plus(thing.at_m, step_m))
        return replace(scene, cameras=_with(scene.cameras, there_now))
    return replace(scene, displays=_with(scene.displays, replace(thing, at_m=_plus(thing.at_m, step_m))))


def blockers_of_thing(scene: Scene, id: str) -> list[Blocker]:
    """What one thing puts in the way of lines; a camera nothing."""
    thing = thing_of(scene, id)
    if isinstance(thing, Array):
        return of_array(thing, ceiling_over_m(scene.room, thing.at_m))
    if isinstance(thing, Device):
        return of_device(thing)
    if isinstance(thing, Obstacle):
        return [of_obstacle(thing)]
    return [of_display(thing)] if isinstance(thing, Display) else []


def _with(things: tuple[Some, ...], new: Some) -> tuple[Some, ...]:
    return tuple(new if one.id == new.id else one for one in things)


def _plus(point: Point3, step_m: Sequence[float]) -> Point3:
    return (point[0] + step_m[0], point[1] + step_m[1], point[2] + step_m[2])


@record(frozen=True, slots=True)
class Goal:
    """Lines (kind, start, end) that are to be free of a blocker. `parties` are it and whose lines they are."""

    blocker: str
    lines: frozenset[tuple[str, str, str]]
    parties: frozenset[str]

    def means(self, kind: str, start: str, end: str) -> bool:
        """Whether a line is one of them; a talker's is whichever array serves them by then."""
        if kind == "array":
            return any((kind, end) == (line[0], line[2]) for line in self.lines)
        return (kind, start, end) in self.lines


class Trial:
    """One room as it was judged, against which moves of its things are tried."""

    def __init__(self, sights: Sights, found: Sequence[Clearance]) -> None:
        self.scene, self.sights = sights.scene, sights
        self.owners = np.array([one.owner for one in sights.blockers], object)
        self.rows = {_key(row): _badness(row) for row in found}
        self.pressed = frozenset((row.array, row.against) for row in found if _is_pressed(row))
        round_it = [(one.owner, one.solid) for one in sights.blockers]
        solids = [(owner, solid) for owner, solid in round_it if isinstance(solid, Box | Cylinder)]
        solids += [("", _person(head.at_m, head.mouth_m[1])) for head in self.scene.heads]
        self.around_of = np.array([owner for owner, _ in solids], object)
        self.around = stack([solid for _, solid in solids])
        self.gaps: dict[Solid, Floats] = {}
        self.coverage = _coverage(self.scene)
        self.areas = [AREA_STATES.index(state) for state in area_states(self.scene)]
        serving, heads = sights.looks[0].pairs.T
        self.badness = _badness_of(self.coverage, ~any_of(sights.hidden[0]))[serving, heads]

    def lacks_m(self, id: str, step_m: Sequence[float], goal: Goal) -> float:
        """How much farther at least this thing must be moved from what it is moved for, metres; 0 if no farther.

        Infinity where anything else is worse than before, or the goal is not reached.
        """
        after, parties = moved(self.scene, id, step_m), goal.parties - {id}
        depth_m = self._stands(after, id, parties)
        if depth_m > 0:
            return depth_m
        if isinstance(thing_of(after, id), Array) and self._loses_area(after):
            return math.inf
        return self._rules(after, id, parties) if self._sees(after, id, goal) else math.inf

    def _loses_area(self, after: Scene) -> bool:
        """Whether an area is worse off."""
        if not after.areas:
            return False
        pairs = zip(self.areas, map(AREA_STATES.index, area_states(after)), strict=True)
        return any(now > was for was, now in pairs)

    # Standing free ---------------------------------------------------------------------------------------

    def _stands(self, after: Scene, id: str, parties: Collection[str]) -> float:
        """0 inside the room and in nothing, how deep it is in what it is moved for, infinity deeper in anything else."""
        # of an array that is raised the cable may be gone
        pairs = list(zip(_bodies(self.scene, id), _bodies(after, id), strict=False))
        if not all(self._fits(was, now) and self._off_tables(was, now) for was, now in pairs):
            return math.inf
        return max((self._depth_m(was, now, id, parties) for was, now in pairs), default=0.0)

    def _fits(self, was: Solid, now: Solid) -> bool:
        room, body = self.scene.room, hanging_from(now)
        before, there = inside_gap(body, [was.middle_m, now.middle_m], [room.outline_m])
        over = max(
            now.high_m - max(ceiling_over_m(room, now.middle_m[:2]), was.high_m),
            min(0.0, was.low_m) - now.low_m,
        )
        return bool(there >= min(before, 0.0) - MET_M and over <= MET_M)

    def _off_tables(self, was: Solid, now: Solid) -> bool:
        for table in self.scene.tables:
            if now.low_m < table.height_m - MET_M:
                places = [was.middle_m, now.middle_m]
                before, there = outside_gap(hanging_from(now), places, [table.outline_m])
                if there < min(before, 0.0) - MET_M:
                    return False
        return True

    def _depth_m(self, was: Solid, now: Solid, id: str, parties: Collection[str]) -> float:
        """How deep it is in its parties, 0 if in none; infinity where it is deeper than before in anything else."""
        before = self._around(was)
        body, by_m = hanging_from(now), math.dist(was.middle_m, now.middle_m)
        # what is farther than it is moved it is not in
        near = np.flatnonzero((before < by_m + MET_M) & (self.around_of != id))
        there = gap(body, now.middle_m, self.around.only(near))[0]
        own = np.isin(self.around_of[near], list(parties))
        if (there < np.minimum(before[near], 0.0) - MET_M)[~own].any():
            return math.inf
        depth = float(-there[own].min(initial=0.0))
        return depth if depth > MET_M else 0.0

    def _around(self, was: Solid) -> Floats:
        """(things,) how far each thing is from where a solid stands."""
        if was not in self.gaps:
            self.gaps[was] = gap(hanging_from(was), was.middle_m, self.around)[0]
        return self.gaps[was]

    # Lines and talkers -----------------------------------------------------------------------------------

    def _sees(self, after: Scene, id: str, goal: Goal) -> bool:
        """Whether no line that was clear is blocked, and the goal's are free of their blocker."""
        mine = blockers_of_thing(after, id)
        names = self.owners[self.owners != id]
        for looks, hidden in zip(self.sights.looks, self.sights.hidden, strict=True):
            now = _moved_in(looks, after, id)
            others, own = self._others(now, hidden, id), any_of(now.hides(mine))
            blocked = any_of(others) | own
            still = own if goal.blocker == id else any_of(others[:, :, names == goal.blocker])
            if now.kind == "array":
                pairs = self._heard(after, id, blocked)
                if pairs is None:
                    return False
            else:
                pairs = now.pairs
                was = hidden[pairs[:, 0], pairs[:, 1]].any(axis=1)
                if (blocked[pairs[:, 0], pairs[:, 1]] & ~was).any():
                    return False
            left = pairs[still[pairs[:, 0], pairs[:, 1]]].tolist()
            if any(goal.means(now.kind, now.starts[p], now.ends[t]) for p, t in left):
                return False
        return True

    def _others(self, now: Looks, hidden: Bools, id: str) -> Bools:
        """What all other things hide after the move: as before, but for the lines whose own end has moved."""
        kept = self.owners != id
        found = hidden[:, :, kept]
        rest = [one for one in self.sights.blockers if one.owner != id]
        if id in now.starts and now.kind != "display":
            at = now.starts.index(id)
            one = replace(now, starts=(id,), places=now.places[at : at + 1])
            found = found.copy()
            found[at] = one.hides(rest)[0]
        elif id in now.ends and now.kind == "display":
            to = now.ends.index(id)
            one = replace(now, ends=(id,), targets=now.targets.take(np.array([to])))
            found = found.copy()
            found[:, to] = one.hides(rest)[:, 0]
        return found

    def _heard(self, after: Scene, id: str, blocked: Bools) -> Indices | None:
        """(heads, 2) which array serves which head then; None where a talker is worse off."""
        heads = self.sights.looks[0].pairs[:, 1]
        if not len(heads):
            return self.sights.looks[0].pairs
        coverage = self.coverage
        if any(array.id == id for array in self.scene.arrays):
            coverage = _coverage(after)
        serving = coverage.serving(~blocked)[heads]
        if (_badness_of(coverage, ~blocked)[serving, heads] > self.badness).any():
            return None
        return np.column_stack([serving, heads])

    # Rules -----------------------------------------------------------------------------------------------

    def _rules(self, after: Scene, id: str, parties: Collection[str]) -> float:
        """How much is missing between it and its parties; infinity where another clearance is worse than before."""
        thing = thing_of(after, id)
        if isinstance(thing, Camera):
            return 0.0
        asked = [after]
        if isinstance(thing, Array):
            # its own rows, and beside these what other arrays ask of it
            asked = [after.with_arrays((thing,)), replace(after, overhead=(), obstacles=())]
        elif isinstance(thing, Device):
            asked = [replace(after, overhead=(thing,), obstacles=())]
        elif isinstance(thing, Obstacle):
            asked = [replace(after, overhead=(), obstacles=(thing,))]
        elif isinstance(thing, Display):
            thrown = tuple(device for device in after.overhead if device.kind == "projector")
            asked = [replace(after, overhead=thrown, obstacles=())]
        lacks_m, pair = 0.0, {id, *parties}
        # what is in the other, or too near it by more than advice, is moved far enough for all rules
        pressed = any(array in pair and against in pair for array, against in self.pressed)
        for row in itertools.chain.from_iterable(map(clearances, asked)):
            bad, was = _badness(row), self.rows.get(_key(row), 0)
            if row.array in pair and row.against in pair:
                if bad > (0 if pressed else was):
                    lacks_m = max(lacks_m, _lacks_m(row))
            elif bad > was:
                return math.inf
        return lacks_m


def _moved_in(looks: Looks, after: Scene, id: str) -> Looks:
    """The lines with one thing moved, where they begin or end there."""
    if looks.kind == "display" and id in looks.ends:
        return replace(looks, targets=faces(after.displays))
    if looks.kind != "display" and id in looks.starts:
        places, thing = looks.places.copy(), thing_of(after, id)
        places[looks.starts.index(id)] = thing.centre_m if isinstance(thing, Array) else thing.at_m  # type: ignore[union-attr]
        return replace(looks, places=places)
    return looks


def _bodies(scene: Scene, id: str) -> list[Solid]:
    """What of a thing takes room: its solids, of a camera its place."""
    thing = thing_of(scene, id)
    if isinstance(thing, Camera):
        return [Cylinder(thing.at_m, 0.0, 0.0)]
    return [one.solid for one in blockers_of_thing(scene, id) if isinstance(one.solid, Box | Cylinder)]


def _person(at: Point2, mouth_m: float) -> Cylinder:
    top = mouth_m + PERSON_ABOVE_MOUTH_M
    return Cylinder((*at, top / 2), PERSON_RADIUS_M, top)


def _coverage(scene: Scene) -> Coverage:
    """How the heads stand to the arrays that have a place."""
    placed = [array for array in scene.arrays if array.placed]
    places = np.array([array.centre_m for array in placed], float).reshape(-1, 3)
    return cover(places, [array.band for array in placed], scene.heads_as_rows)


def _badness_of(coverage: Coverage, sees: Bools) -> Indices:
    """(arrays, heads) how a head stands to an array: 0 covered, 1 marginal, 2 blocked, 3 missed."""
    in_band = coverage.slack_m >= -ON_EDGE_M
    heard = np.where(sees, np.where(coverage.margin_m >= -ON_EDGE_M, 0, 1), 2)
    return np.where(in_band, heard, 3)


def _key(row: Clearance) -> tuple[str, str, str]:
    return row.array or row.device or "", row.against, row.rule


def _badness(row: Clearance) -> int:
    """0 where nothing is asked or it is kept, else how it counts."""
    if row.state in ("clear", "off"):
        return 0
    return SHORT if row.state == "short" else CAUTION


def _is_pressed(row: Clearance) -> bool:
    """Whether an array is in the other, for all that is known, or too near it by more than advice."""
    into = row.actual_m is not None and row.actual_m < -MET_M
    return _badness(row) == SHORT or (into and _badness(row) > 0)


def _lacks_m(row: Clearance) -> float:
    """How much a clearance is short by; a hair where it cannot be said."""
    if row.required_m is None or row.actual_m is None:
        return MET_M
    return max(row.required_m - row.actual_m, MET_M)
