"""What hangs, and what is round it: one array of a scene as the rules see it, wherever it may hang."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from geometry.areas import Edges, edges_of
from geometry.clearance import Hanging, Surroundings, Throw, stack
from geometry.records import record
from geometry.shapes import Box, Cylinder, Point3, Shape, Solid
from scenes.findings.clearance import Part, Shown
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import CABLE_RADIUS_M, Array, Device, Outline, Scene, ceiling_of
from scenes.rules.applied import AppliedRule, applied_rules

TILE_M = 0.02
"""The cable goes through the ceiling: what sits straight above it within this is in its way."""

STEM_RADIUS_M = 0.01
"""Radius of what hangs between ceiling and device, where the spec gives a stem."""

PARTING = ("distance", "wall")
"""The measures that keep a body at a distance from a thing, and so out of it too."""


# What hangs -----------------------------------------------------------------------------------------------


def body_of(array: Array) -> Hanging:
    """The array's body as it moves with its acoustic centre. Needs no place."""
    profile = array.profile
    below, above = profile.centre_m, profile.size_m[2] - profile.centre_m
    if profile.round:
        return Hanging(radius_m=profile.size_m[0] / 2, below_m=below, above_m=above)
    return Hanging(size_m=profile.size_m[:2], turn_deg=array.turn_deg, below_m=below, above_m=above)


def cable_of(array: Array, top_m: float) -> Hanging | None:
    """The cable from the body's top up to that height; None for a flush array."""
    if array.profile.mount == "flush":
        return None
    above = array.profile.size_m[2] - array.profile.centre_m
    return Hanging(radius_m=CABLE_RADIUS_M, below_m=-above, top_m=top_m)


@record(frozen=True, slots=True)
class Sweep:
    """How far the array may be off on plan while a rule is asked: anywhere in a square, or in a disc.

    The square reaches from -square_m to square_m along plan x and y. What hangs then stands for all it
    covers meanwhile, so a rule's signed distance is the least over those places at that height. With `tilt_deg`
    it is less still: for an upright prism that holds the body however far it hangs out of true.
    """

    square_m: float = 0.0
    disc_m: float = 0.0
    tilt_deg: float = 0.0

    def of(self, hanging: Hanging) -> Hanging:
        """What hangs, swept."""
        if not self.square_m and not self.disc_m and not self.tilt_deg:
            return hanging
        hanging = hanging.tilted(self.tilt_deg)
        return replace(
            hanging,
            swept_m=hanging.swept_m + self.square_m,
            radius_m=hanging.radius_m + self.disc_m,
        )


STILL = Sweep()
"""Not off at all."""


# What is round it -----------------------------------------------------------------------------------------


def shapes_of(device: Device) -> tuple[Solid, ...]:
    """The device as solids: itself and, if the spec gives one, the stem it hangs from."""
    if not device.stem_m:
        return (device.solid,)
    foot = device.low_m + device.depth_m
    stem = Cylinder((*device.at_m, foot + device.stem_m / 2), STEM_RADIUS_M, device.stem_m)
    return (device.solid, stem)


def known_of(device: Device, thin_m: float = 0.0) -> tuple[Solid, ...]:
    """What the spec itself says of the device's solids, without default sizes; of no depth it is that thin."""
    tall = device.depth_m if device.depth.own else thin_m
    x, y = device.size_m if device.size.own else (0.0, 0.0)
    middle = (*device.at_m, device.low_m + tall / 2)
    known = Cylinder(middle, x / 2, tall) if device.round else Box(middle, (x, y, tall), device.turn_deg)
    return (known, *shapes_of(device)[1:]) if device.depth.own else (known,)


def throw_of(device: Device, scene: Scene) -> Throw | None:
    """A projector's light onto the nearest display that looks towards it; None if none does."""
    lens = (*device.at_m, device.low_m + device.depth_m / 2)
    faced = []
    for display in scene.displays:
        away = np.subtract(lens, display.at_m)
        facing = math.radians(display.facing_deg)
        distance = float(np.linalg.norm(away))
        if distance and (away[0] * math.cos(facing) + away[1] * math.sin(facing)) / distance > 0.2:
            faced.append((distance, display))
    if not faced:
        return None
    display = min(faced, key=lambda pair: pair[0])[1]
    return Throw(lens, display.at_m, display.width_m, display.height_m, display.facing_deg)


@lru_cache(maxsize=256)
def edges_in(rings: tuple[Outline, ...]) -> Edges:
    """The edges of an area's outlines: rooms and tables stay where they are, and are asked about again and again."""
    return edges_of(rings)


@lru_cache(maxsize=16)
def joined_areas(outlines: tuple[Outline, ...]) -> tuple[tuple[Outline, ...], ...]:
    """The areas under these outlines, each as its own outlines (holes too); those pushed together are one area."""
    boxes = [(np.min(outline, axis=0), np.max(outline, axis=0)) for outline in outlines]
    near = any(
        bool(np.all(low <= other_high + 1e-6) and np.all(other_low <= high + 1e-6))
        for i, (low, high) in enumerate(boxes)
        for other_low, other_high in boxes[:i]
    )
    if not near:
        return tuple((outline,) for outline in outlines)
    import shapely  # only here: most rooms have tables that stand apart

    # joined across a hair, so that tables placed edge to edge are one
    joined = shapely.union_all([shapely.Polygon(o).buffer(1e-6, join_style="mitre") for o in outlines])
    return tuple(
        tuple(tuple(ring.coords[:-1]) for ring in (part.exterior, *part.interiors))
        for part in shapely.get_parts(joined)
    )


@record(frozen=True, slots=True)
class Thing:
    """Something to keep away from: its shapes, the clearance that the spec asks of it, and the device it is."""

    id: str
    kind: str
    shapes: tuple[Shape | Throw, ...]
    own_m: float | None = None
    device: Device | None = None


@record(frozen=True, eq=False)
class Things:
    """Things of one or several shapes each, stacked; `starts` is where each thing's shapes begin."""

    each: tuple[Thing, ...]
    columns: NDArray[np.intp]
    starts: NDArray[np.intp]
    shapes: tuple[Shape | Throw, ...]
    around: Surroundings

    @classmethod
    def of(cls, things: Sequence[Thing]) -> Things:
        """The things, stacked."""
        columns = [k for k, thing in enumerate(things) for _ in thing.shapes]
        shapes = tuple(shape for thing in things for shape in thing.shapes)
        return cls(
            each=tuple(things),
            columns=np.array(columns, np.intp),
            starts=np.searchsorted(columns, range(len(things))),
            shapes=shapes,
            around=stack(shapes),
        )


class Site:
    """One array of a scene, wherever it may hang, with all that is round it and the rules as they are there.

    `swept` stands for all places within a sweep at once. What does not depend on the array is stacked
    once for all sites that share `stacked`.
    """

    def __init__(self, scene: Scene, array: Array, stacked: dict[str, Things] | None = None) -> None:
        """Under a ceiling in parts `scene` is as it is under one of them, or all of it for any place."""
        self.scene, self.array = scene, array
        self._stacked = {} if stacked is None else stacked
        self.rules = applied_rules(scene)
        self.ceiling_m = scene.room.ceiling_m
        self.open, self.suspended = (ceiling_of(scene) == kind for kind in ("open", "suspended"))
        ids = [one.id for one in scene.arrays]
        before = ids[: ids.index(array.id)] if array.id in ids else []
        self.before = frozenset(before)
        """The arrays that stand before this one in the file."""
        self.by_kind: dict[str, list[Device]] = {}
        for device in scene.overhead:
            self.by_kind.setdefault(device.kind, []).append(device)
        self._hang(STILL)

    def _hang(self, sweep: Sweep) -> None:
        cable = cable_of(self.array, self.ceiling_m)
        self.sweep, self.body = sweep, sweep.of(body_of(self.array))
        self.cable = None if cable is None else sweep.of(cable)
        self.hanging: dict[Part, Hanging] = {"body": self.body}
        if self.cable is not None:
            self.hanging["cable"] = self.cable

    def swept(self, sweep: Sweep) -> Site:
        """The same with the array anywhere within a sweep."""
        other = copy(self)
        other._hang(sweep)
        return other

    def in_scene(self, scene: Scene) -> Site:
        """The same array in the scene as it is under another part of the ceiling."""
        return Site(scene, self.array, self._stacked)

    def has(self, kinds: Sequence[str]) -> bool:
        """Whether the room has anything of these kinds."""
        there = {
            "device": bool(self.scene.overhead),
            "obstacle": bool(self.scene.obstacles),
            "array": len(self.scene.arrays) > 1,
            "wall": True,
            "floor": True,
            "grid": self.scene.room.grid is not None,
            "table": bool(self.scene.tables),
        }
        return any(there.get(kind, kind in self.by_kind) for kind in kinds)

    def stacked(self, name: str, things: Callable[[], Sequence[Thing]]) -> Things:
        """The things of that name, stacked once for every array."""
        if name not in self._stacked:
            self._stacked[name] = Things.of(things())
        return self._stacked[name]

    def devices(self, kinds: Sequence[str]) -> list[Device]:
        """The devices of these kinds; `device` is any."""
        if "device" in kinds:
            return list(self.scene.overhead)
        return [device for kind in kinds for device in self.by_kind.get(kind, ())]

    def fixed(self, kinds: Sequence[str]) -> list[Thing]:
        """The devices and obstacles of these kinds, as things."""
        found = [Thing(one.id, one.kind, shapes_of(one), one.required_m, one) for one in self.devices(kinds)]
        if "obstacle" in kinds:
            found += [Thing(one.id, "obstacle", (one.solid,)) for one in self.scene.obstacles]
        return found

    def others(self) -> list[Thing]:
        """The other arrays that have a place, with their cables."""
        found = []
        for other in self.scene.arrays:
            if other.id != self.array.id and other.placed:
                whole = self.scene.room.whole or self.scene.room
                cable = other.cable(ceiling_over_m(whole, other.at_m))
                shapes = (other.body,) if cable is None else (other.body, cable)
                found.append(Thing(other.id, "array", shapes))
        return found

    def kept_off_m(self, kind: str, own_m: float | None, but: AppliedRule) -> float:
        """How far the other rules in force keep the array away from a thing of this kind; -inf where none does.

        `own_m` is what the spec asks of the thing itself, in the place of a rule's value.
        """
        asked = [
            one.required_m if own_m is None else own_m
            for one in self.rules.values()
            if one.rule.id != but.rule.id
            and one.rule.measure in PARTING
            and kind in one.rule.applies_to
            and one.in_force
        ]
        return max(asked, default=-math.inf)

    def shown(self, at: Point3, thing: Thing) -> Shown | None:
        """What a drawing shows of the distance to a thing, with the acoustic centre at `at`."""
        first = thing.shapes[0] if thing.device is None else thing.device.solid
        if not isinstance(first, Box | Cylinder):
            return None
        z = min(first.low_m, float(self.body.high_m(np.array(at[2]))))
        return Shown(line_m=((at[0], at[1], z), (*first.middle_m[:2], z)), hatch=first)
