"""Clearance rules: each array against whatever else is at the ceiling, by named rules with their sources.

The rules are data (`rules.yaml`). A rule of a placed array gives rows of the review (`clearances`), for
the search it is a constraint on the acoustic centre (`constraints_for`), for drawings an outline that the
centre may not enter (`keep_outs`). All three come from the same signed distances: at least 0 where the
rule is met, changing by at most one metre per metre. A check of clearances is advice, never approval.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from geometry.clearance import (
    Hanging,
    Surroundings,
    Throw,
    faces_of,
    gap,
    inside_gap,
    least_of_many,
    outside_gap,
    past_planes,
    plan_gap,
    stack,
    table_value,
    three_times_m,
)
from geometry.shapes import Box, Cylinder, Disc, Point3, Segment, Shape, Solid
from scenes.findings.review import Clearance, ClearanceState
from scenes.room.scene import CABLE_RADIUS_M, Array, Device, RuleChange, Scene, ceiling_of
from scenes.room.tiles import ON_IT_M, InTile, in_tile
from scenes.room.walls import wall_name
from scenes.rulebook import Rule, rules
from scenes.words import length

if TYPE_CHECKING:
    from geometry.constraint import Constraint, Key


Floats = NDArray[np.float64]


Part = Literal["body", "cable"]


MET_M = 1e-9
"""A signed distance this little below zero is still met: rounding."""


TILE_M = 0.02
"""The cable goes through the ceiling: what sits straight above it within this is in its way."""


STEM_RADIUS_M = 0.01
"""Radius of what hangs between ceiling and device, where the spec gives a stem."""


CURVE_M = 0.001
"""Keep-outs are drawn at most this much too large where they are round, never too small."""


ENOUGH_TO_KNOW_M = 0.5
"""What is left over a table is told to the search up to this much: that more costs and helps nobody."""


LIGHT_NEAR_M = 0.1
"""Nearer than this (beyond what is required) the distance to a projector's light is searched for."""


# What hangs, and what is round it ------------------------------------------------------------------------


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


def shapes_of(device: Device) -> tuple[Solid, ...]:
    """The device as solids: itself and, if the spec gives one, the stem it hangs from."""
    if not device.stem_m:
        return (device.solid,)
    foot = device.low_m + device.depth_m
    stem = Cylinder((*device.at_m, foot + device.stem_m / 2), STEM_RADIUS_M, device.stem_m)
    return (device.solid, stem)


def known_of(device: Device, thin_m: float = 0.0) -> tuple[Solid, ...]:
    """What the spec itself tells of the device's solids, without our default sizes; of no depth it is that thin."""
    tall, (x, y) = (
        device.depth_m if device.depth.own else thin_m,
        device.size_m if device.size.own else (0.0, 0.0),
    )
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


# A rule asked of one array --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sweep:
    """How far the array may be off on plan while a rule is asked: anywhere in a square, or in a disc.

    The square reaches from -square_m to square_m along plan x and y. What hangs then stands for all it
    covers meanwhile, so a rule's signed distance is the least over those places at that height.
    """

    square_m: float = 0.0
    disc_m: float = 0.0

    def of(self, hanging: Hanging) -> Hanging:
        """What hangs, swept."""
        if not self.square_m and not self.disc_m:
            return hanging
        return replace(
            hanging,
            swept_m=hanging.swept_m + self.square_m,
            radius_m=hanging.radius_m + self.disc_m,
        )


STILL = Sweep()
"""Not off at all."""

Measured = tuple[float | None, float | None, str]
"""Required, actual and a note. Required None: nothing is asked. Required NaN: the rule cannot judge."""


KeptOut = tuple[int, Part, Hanging, Any, float]
"""Column, part, what hangs, shape or outline, and how far it stays away."""


Thing = tuple[str, str, Sequence[Shape | Throw], float | None]
"""Id, kind, shapes, and the clearance that the spec asks of it, if any."""


@dataclass(frozen=True, eq=False)
class _Things:
    """Things of one or several shapes each, stacked; `starts` is where each thing's shapes begin."""

    against: tuple[str, ...]
    kinds: tuple[str, ...]
    required: tuple[float | None, ...]
    shapes: tuple[Shape | Throw, ...]
    columns: tuple[int, ...]
    starts: NDArray[np.intp]
    around: Surroundings

    @classmethod
    def of(cls, things: Sequence[Thing]) -> _Things:
        columns = tuple(k for k, (_, _, shapes, _) in enumerate(things) for _ in shapes)
        shapes = tuple(shape for _, _, several, _ in things for shape in several)
        return cls(
            against=tuple(name for name, *_ in things),
            kinds=tuple(kind for _, kind, _, _ in things),
            required=tuple(own for *_, own in things),
            shapes=shapes,
            columns=columns,
            starts=np.searchsorted(columns, range(len(things))),
            around=stack(shapes),
        )


@dataclass(frozen=True, eq=False)
class _Demand:
    """One rule asked of one array against some things: signed distances by part, columns as `against`.

    `parts` maps body and cable to functions (n, 3) -> (n, m); `required` (m,) per part. Where the
    required and actual figures are not simply a distance, `told` gives them with a note.
    `outlines` gives, for a height of the acoustic centre, what it may not enter there. `least` gives the
    least of a part's columns, (n, 3) -> (n,), where that can be had for less. `shared`: the
    parts stand for two rules, so that switching off one of them leaves the other.
    """

    rule: Rule
    change: RuleChange | None
    kinds: tuple[str, ...]
    against: tuple[str, ...]
    parts: Mapping[Part, Callable[[Floats], Floats]]
    required: Mapping[Part, Floats]
    own: tuple[bool, ...]
    unjudged: tuple[str, ...]
    told: Callable[[int, Part, Point3], Measured] | None = None
    outlines: Callable[[float], Iterable[KeptOut]] = field(default=lambda height: ())
    least: Mapping[Part, Callable[[Floats], Floats]] = field(default_factory=dict)
    shared: bool = False
    told_only: bool = False
    """Whether a review tells it, but something else asks no less of the search."""
    full: Mapping[Part, Callable[[Floats], Floats]] = field(default_factory=dict)
    """Where `parts` tells the search only as much as it needs: the same in full, for the rows of a review."""
    hanging: Mapping[Part, Hanging] = field(default_factory=dict)
    """What is measured from, where the distance is to the devices' own sizes."""
    rule_at: Callable[[Part, float], Rule] | None = None
    """Where the parts stand for two rules: which of them decides at a height of the acoustic centre."""

    def signed(self, positions: Floats) -> Floats:
        """(parts, n, columns) signed distances at positions (n, 3), in full; parts in their order here."""
        found = [{**self.parts, **self.full}[part](positions) for part in self.parts]
        return np.array(found).reshape(len(found), len(positions), len(self.against))

    def at_height(self, height_m: float, changes: Mapping[str, RuleChange]) -> _Demand:
        """The same with the rule that decides there, where the parts stand for two."""
        if self.rule_at is None:
            return self
        rule = self.rule_at("body", height_m)
        return replace(self, rule=rule, change=changes.get(rule.id))

    @property
    def off(self) -> bool:
        return self.change is not None and self.change.off

    @property
    def silent(self) -> bool:
        """Whether it asks nothing of the search."""
        return (self.off and not self.shared) or self.told_only

    def binding(self, column: int) -> bool:
        return self.rule.can_fail or self.own[column] or (self.change is not None and not self.off)


class _Asking:
    """The rules asked of one array of a scene, wherever it may hang (the one builder in here).

    `swept` asks each of all places within a sweep at once.
    """

    def __init__(self, scene: Scene, array: Array, stacked: dict[str, _Things] | None = None) -> None:
        self.scene, self.array = scene, array
        # what does not depend on the array is stacked once for all of them
        self.stacked = {} if stacked is None else stacked
        self.changes = {change.rule: change for change in scene.rule_changes}
        self.ceiling = scene.room.ceiling_m
        self.open = (scene.suspension.ceiling or scene.room.ceiling_kind) == "open"
        self._hang(STILL)
        self.by_kind: dict[str, list[Device]] = {}
        for device in scene.overhead:
            self.by_kind.setdefault(device.kind, []).append(device)
        self.guessed = {
            device.id: (known_of(device), "depth" if device.size.own else "size")
            for device in scene.overhead
            if not (device.size.own and device.depth.own)
        }
        self.others = [other for other in scene.arrays if other.id != array.id and other.placed]

    def _hang(self, sweep: Sweep) -> None:
        self.sweep, cable = sweep, cable_of(self.array, self.ceiling)
        self.body, self.cable = sweep.of(body_of(self.array)), None if cable is None else sweep.of(cable)
        self.hanging: dict[Part, Hanging] = {"body": self.body}
        if self.cable is not None:
            self.hanging["cable"] = self.cable

    def swept(self, sweep: Sweep) -> _Asking:
        """The same asked of all places within a sweep at once; demands are the same ones in the same order."""
        other = copy(self)
        other._hang(sweep)
        return other

    def demands(self) -> list[_Demand]:
        """Every rule with something to be asked against, in the order of the file."""
        return [demand for rule in rules().values() for demand in self.demands_of(rule)]

    def demands_of(self, rule: Rule) -> list[_Demand]:
        """What one rule asks; the sprinklers' table asks nothing of its own."""
        special = {
            "touch": self._touch,
            "sprinkler-spray": self._sprinklers,
            "sprinkler-table": lambda rule: [],  # asked together with the spray, whose place it takes
            "projector-light": self._projector_light,
            "obstacle": self._obstacles,
            "hang-line": self._hang_line,
            "other-array": self._other_arrays,
            "wall": self._wall,
            "headroom": self._headroom,
            "free-over-table": self._tables,
        }
        return special.get(rule.id, self._kept_away_from)(rule)

    def _kept_away_from(self, rule: Rule) -> list[_Demand]:
        return self._keep_away(rule, self._shared(rule.id, lambda: self._of_kinds(rule)))

    def _shared(self, name: str, things: Callable[[], Sequence[Thing]]) -> _Things:
        if name not in self.stacked:
            self.stacked[name] = _Things.of(things())
        return self.stacked[name]

    def _of_kinds(self, rule: Rule) -> list[Thing]:
        return [
            (device.id, device.kind, shapes_of(device), device.required_m)
            for kind in rule.applies_to
            for device in self.by_kind.get(kind, ())
        ]

    def required(self, rule: Rule) -> float:
        """The rule's required value: the spec's change, its limit, or the rule's own."""
        change = self.changes.get(rule.id)
        if change is not None and change.value_m is not None:
            return change.value_m
        if rule.limit is not None:
            return float(getattr(self.scene.limits, f"{rule.limit}_m"))
        return rule.values["required"]

    def _own_limit(self, rule: Rule) -> bool:
        """Whether the limit is the designer's own rather than our default."""
        return rule.limit is not None and bool(getattr(self.scene.limits, rule.limit).own)

    def _keep_away(
        self, rule: Rule, things: _Things, hanging: Mapping[Part, Hanging] | None = None
    ) -> list[_Demand]:
        """Distance in space of body and cable to things of one or several shapes each."""
        if not things.against:
            return []
        hanging = self.hanging if hanging is None else hanging
        # the rule's own is asked for only where it stands: that of a sprinkler's spray is a table, no value
        required = np.array([self.required(rule) if own is None else own for own in things.required])
        shapes, columns = things.shapes, things.columns

        def signed(prism: Hanging) -> Callable[[Floats], Floats]:
            def distance(positions: Floats) -> Floats:
                nearest = gap(prism, positions, things.around)
                if len(shapes) > len(things.against):
                    nearest = np.minimum.reduceat(nearest, things.starts, axis=1)
                return np.asarray(nearest - required)

            return distance

        def least(prism: Hanging) -> Callable[[Floats], Floats]:
            owed = required[list(columns)]

            def of(positions: Floats, some: NDArray[np.intp]) -> Floats:
                return np.asarray(gap(prism, positions, things.around.only(some)) - owed[some])

            return lambda positions: least_of_many(of, len(shapes), positions)

        def outlines(height: float) -> Iterable[KeptOut]:
            for part, prism in hanging.items():
                for column, shape in zip(columns, shapes, strict=True):
                    yield int(column), part, prism, shape, float(required[column])

        return [
            _Demand(
                rule=rule,
                change=self.changes.get(rule.id),
                kinds=things.kinds,
                against=things.against,
                parts={part: signed(prism) for part, prism in hanging.items()},
                least={part: least(prism) for part, prism in hanging.items()},
                required=dict.fromkeys(hanging, required),
                own=tuple(own is not None for own in things.required),
                unjudged=("",) * len(things.against),
                outlines=outlines,
                hanging=hanging,
            )
        ]

    def sure(self, demand: _Demand, column: int, at_m: Point3) -> bool:
        """Whether what is short there is so by what the spec tells of the device, without our default sizes."""
        thing, kind = demand.against[column], demand.kinds[column]
        if thing not in self.guessed or kind in ("array", "obstacle") or not demand.hanging:
            return True
        known, _ = self.guessed[thing]
        apart = min(float(gap(prism, at_m, known).min()) for prism in demand.hanging.values())
        return apart - float(demand.required["body"][column]) < -MET_M

    def _touch(self, rule: Rule) -> list[_Demand]:
        through = self.ceiling if self.open else self.ceiling + TILE_M
        cable = cable_of(self.array, through)
        hanging: dict[Part, Hanging] = {"body": self.body}
        if cable is not None:
            hanging["cable"] = self.sweep.of(cable)
        fixed = self._shared(
            "touch",
            lambda: [
                *((device.id, device.kind, shapes_of(device), None) for device in self.scene.overhead),
                *((obstacle.id, "obstacle", (obstacle.solid,), None) for obstacle in self.scene.obstacles),
            ],
        )
        return [
            *self._keep_away(rule, fixed, hanging),
            *self._keep_away(rule, self._arrays(), hanging),
            *self._walls_touched(rule),
        ]

    def _walls_touched(self, rule: Rule) -> list[_Demand]:
        """The body in a wall: what `wall` asks keeps the search out of it, unless that is switched off."""
        outline, required = self.scene.room.outline_m, self.required(rule)

        def signed(positions: Floats) -> Floats:
            return (inside_gap(self.body, positions, [outline]) - required)[:, None]

        wall = self.changes.get("wall")
        asks_no_more = (wall is None or not wall.off) and self.required(rules()["wall"]) >= required
        return [
            replace(demand, told_only=asks_no_more) for demand in self._one(rule, "wall", ["walls"], signed)
        ]

    def _arrays(self) -> _Things:
        return _Things.of([(other.id, "array", self._shapes_of_array(other), None) for other in self.others])

    def _shapes_of_array(self, other: Array) -> tuple[Shape, ...]:
        cable = other.cable(self.ceiling)
        return (other.body,) if cable is None else (other.body, cable)

    def _obstacles(self, rule: Rule) -> list[_Demand]:
        return self._keep_away(
            rule,
            self._shared(
                rule.id, lambda: [(one.id, "obstacle", (one.solid,), None) for one in self.scene.obstacles]
            ),
        )

    def _other_arrays(self, rule: Rule) -> list[_Demand]:
        return self._keep_away(rule, self._arrays())

    def _projector_light(self, rule: Rule) -> list[_Demand]:
        lit, dark = [], []
        for device in self.by_kind.get("projector", ()):
            throw = throw_of(device, self.scene)
            if throw is None:
                dark.append(device)
            else:
                lit.append((device.id, device.kind, (throw,), None))
        note = "no display looks towards it, so the way of its light is not known"
        judged = [
            self._sooner(demand, [throw for _, _, (throw,), _ in lit])
            for demand in self._keep_away(rule, _Things.of(lit))
        ]
        return judged + self._not_judged(rule, dark, [note] * len(dark))

    def _sooner(self, demand: _Demand, throws: Sequence[Throw]) -> _Demand:
        """The same demand, its distances to light searched for only where they are small.

        No face of the light is farther than the light, so min(distance, max(faces' distance, 0.1 m)) has
        the distance's sign and slope.
        """

        sides = [faces_of(_corners_of(throw)) for throw in throws]

        def sooner(
            prism: Hanging, exact: Callable[[Floats], Floats], required: Floats
        ) -> Callable[[Floats], Floats]:
            def signed(positions: Floats) -> Floats:
                faces = [past_planes(prism, positions, side) for side in sides]
                bound = np.maximum(np.stack(faces, axis=1) - required, LIGHT_NEAR_M)
                near = np.flatnonzero((bound <= LIGHT_NEAR_M).any(axis=1))
                if len(near):
                    bound[near] = np.minimum(bound[near], exact(positions[near]))
                return np.asarray(bound)

            return signed

        parts = {
            part: sooner(self.hanging[part], exact, demand.required[part])
            for part, exact in demand.parts.items()
        }
        return replace(demand, parts=parts, least={}, full=demand.parts, hanging={})

    def _not_judged(self, rule: Rule, devices: Sequence[Device], notes: Sequence[str]) -> list[_Demand]:
        if not devices:
            return []
        [distance] = self._keep_away(rule, _Things.of([(d.id, d.kind, shapes_of(d), None) for d in devices]))
        nothing = replace(distance, parts={}, required={}, unjudged=tuple(notes))
        return [replace(nothing, outlines=lambda height: ())]

    def _hang_line(self, rule: Rule) -> list[_Demand]:
        """The box and the line above it as one thing hung from the acoustic centre's plan position."""
        if self.cable is None or self.scene.room.ceiling_kind == "hard":
            return []
        width, depth, tall = self.scene.suspension.box_size_m
        size, turn = (width, depth), self.array.turn_deg
        if self.open:
            box = Hanging(size_m=size, turn_deg=turn, foot_m=self.ceiling - tall, top_m=self.ceiling)
            return self._keep_away(
                rule, self._reaching_above(rule, self.ceiling - tall), {"body": self.sweep.of(box)}
            )
        foot = self.ceiling + TILE_M
        top = self.scene.room.structure_m or self.ceiling + rule.values["void"]
        box = Hanging(size_m=size, turn_deg=turn, foot_m=foot, top_m=foot + tall)
        line = Hanging(radius_m=CABLE_RADIUS_M, foot_m=foot + tall, top_m=max(top, foot + tall))
        above = self._reaching_above(rule, self.ceiling)
        return self._keep_away(rule, above, {"body": self.sweep.of(box), "cable": self.sweep.of(line)})

    def _reaching_above(self, rule: Rule, height: float) -> _Things:
        """Devices and obstacles that reach above a height; columns up to the ceiling go on to the structure."""
        return self._shared(rule.id, lambda: self._in_the_void(height))

    def _in_the_void(self, height: float) -> list[Thing]:
        things: list[Thing] = [
            (device.id, device.kind, shapes_of(device), None)
            for device in self.scene.overhead
            if device.low_m + device.depth_m > height
        ]
        up_to = max(self.scene.room.structure_m or self.ceiling + 0.3, self.ceiling)
        for obstacle in self.scene.obstacles:
            solid = obstacle.solid
            if solid.high_m < self.ceiling - 1e-6:
                continue
            high = max(solid.high_m, up_to)
            middle = (*solid.middle_m[:2], (solid.low_m + high) / 2)
            tall = high - solid.low_m
            grown: Shape = (
                Box(middle, (*solid.size_m[:2], tall), solid.turn_deg)
                if isinstance(solid, Box)
                else Cylinder(middle, solid.radius_m, tall)
            )
            things.append((obstacle.id, "obstacle", (grown,), None))
        return things

    # Sprinklers ---------------------------------------------------------------------------------------

    def _sprinklers(self, rule: Rule) -> list[_Demand]:
        devices = self.by_kind.get("sprinkler", [])
        given = [device for device in devices if device.required_m is not None]
        devices = [device for device in devices if device.required_m is None]
        own = self._keep_away(rule, _Things.of([(d.id, d.kind, shapes_of(d), d.required_m) for d in given]))
        if not devices:
            return own
        return own + self._spray(rule, rules()["sprinkler-table"], devices)

    def _spray(self, rule: Rule, table_rule: Rule, devices: Sequence[Device]) -> list[_Demand]:
        """Both sprinkler rules. A wide body at the ceiling is for the table, any other for the three times.

        Allowed is: (at or above the ceiling) or (fixed to it and the table is met) or (hanging free and
        (wholly under the plane, or not under the deflector at all, or far enough away)). Heads of other
        than standard spray are not judged; the search keeps the standard distance from them.
        """
        size = self.array.profile.size_m
        largest, width = max(size), max(size[0], size[1])
        plane, widest = rule.values["plane"], rule.values["widest_below"]
        change = self.changes.get(rule.id)
        own_value = None if change is None else change.value_m
        away: dict[Part, float] = {
            "body": three_times_m(largest, rule.values["cap"]),
            # a cable is upright: its cap does not count
            "cable": three_times_m(2 * CABLE_RADIUS_M, None),
        }
        if own_value is not None:
            away = {"body": own_value, "cable": own_value}
        wide = width > table_rule.values["wider_than"] and self.array.profile.mount == "pendant"
        at_points = stack([Disc((*device.at_m, device.low_m), 0.0) for device in devices])
        deflector = np.array([device.low_m for device in devices])
        rows = table_rule.table
        spray_off = change is not None and change.off
        table_change = self.changes.get(table_rule.id)
        table_off = table_change is not None and table_change.off
        table_own = None if table_change is None else table_change.value_m

        def heights(positions: Floats) -> tuple[Floats, Floats]:
            z = positions[:, 2]
            return self.body.low_m(z)[:, None], self.body.high_m(z)[:, None]

        def fixed(top: Floats) -> Floats:
            return np.asarray(top - (self.ceiling - table_rule.values["fixed_within"]))

        def of(points: Surroundings, deflector: Floats) -> dict[Part, Callable[[Floats], Floats]]:
            def by_distance(positions: Floats) -> Floats:
                underside, top = heights(positions)
                apart = plan_gap(self.body, positions, points) - away["body"]
                free = np.maximum(apart, underside - deflector)
                if width <= widest + MET_M:
                    free = np.maximum(free, deflector - plane - top)
                return np.asarray(free)

            def by_table(positions: Floats) -> Floats:
                underside, _ = heights(positions)
                apart = plan_gap(self.body, positions, points)
                below = deflector - underside
                if table_own is not None:
                    return np.asarray(np.maximum(apart - table_own, -below))
                free = -below
                for distance, most in rows:
                    free = np.maximum(free, np.minimum(apart - distance, most - below))
                return free

            def body(positions: Floats) -> Floats:
                underside, top = heights(positions)
                recessed = np.broadcast_to(underside - self.ceiling, (len(positions), len(deflector)))
                distance = np.full(recessed.shape, np.inf) if spray_off else by_distance(positions)
                if not wide:
                    return np.maximum(recessed, distance)
                table = np.full(recessed.shape, np.inf) if table_off else by_table(positions)
                at_ceiling = fixed(top)
                either = np.maximum(np.minimum(at_ceiling, table), np.minimum(-at_ceiling, distance))
                return np.maximum(recessed, either)

            def cable(positions: Floats) -> Floats:
                assert self.cable is not None
                # the cable ends at the ceiling, and a body fixed there has none
                _, top = heights(positions)
                distance = plan_gap(self.cable, positions, points) - away["cable"]
                return np.maximum(distance, top - self.ceiling)

            return {"body": body, "cable": cable}

        def least(part: Part) -> Callable[[Floats], Floats]:
            def some(positions: Floats, which: NDArray[np.intp]) -> Floats:
                return of(at_points.only(which), deflector[which])[part](positions)

            return lambda positions: least_of_many(some, len(devices), positions)

        measures = of(at_points, deflector)

        def cable_told(positions: Floats) -> Floats:
            # of a body fixed to the ceiling there is no cable to tell of
            _, top = heights(positions)
            return np.where(top >= self.ceiling - MET_M, np.inf, measures["cable"](positions))

        @cache
        def on_plan(part: Part, at: Point3) -> list[float]:
            return list(map(float, plan_gap(self.hanging[part], at, at_points)[0]))

        def told(column: int, part: Part, at: Point3) -> Measured:
            actual = on_plan(part, at)[column]
            return self._told_of_spray(
                devices[column], part, at, actual, away, rule, table_rule, wide, table_own, width
            )

        def outlines(height: float) -> Iterable[KeptOut]:
            underside, top = (
                float(self.body.low_m(np.array(height))),
                float(self.body.high_m(np.array(height))),
            )
            for column, device in enumerate(devices):
                point = Disc((*device.at_m, height), 0.0)
                if underside < self.ceiling:
                    if wide and fixed(np.array(top)) >= 0:
                        reach = _table_distance(rows, device.low_m - underside)
                        if table_own is not None and reach > 0:
                            reach = table_own
                        if reach > 0 and not table_off:
                            yield column, "body", self.body, point, min(reach, self._across_m())
                    elif not spray_off and underside < device.low_m:
                        below = top <= device.low_m - plane and width <= widest + MET_M
                        if not below:
                            yield column, "body", self.body, point, away["body"]
                if self.cable is not None and top < self.ceiling and not spray_off:
                    yield column, "cable", self.cable, point, away["cable"]

        notes = {
            "unknown": "its spray is not told: whether the distances of standard spray apply, its designer knows",
            "extended": "extended-coverage heads have a table of their own: ask the fire protection designer",
            "special": "special heads follow their listing: ask the fire protection designer",
        }
        parts: dict[Part, Callable[[Floats], Floats]] = {}
        required: dict[Part, Floats] = {}
        if not spray_off or (wide and not table_off):
            parts["body"] = measures["body"]
            required["body"] = np.full(len(devices), away["body"])
        if self.cable is not None and not spray_off:
            parts["cable"] = measures["cable"]
            required["cable"] = np.full(len(devices), away["cable"])

        def rule_at(part: Part, height: float) -> Rule:
            at_ceiling = wide and float(fixed(self.body.high_m(np.array(height)))) >= 0
            return table_rule if part == "body" and at_ceiling else rule

        here = rule if self.array.height_m is None else rule_at("body", self.array.height_m)
        return [
            _Demand(
                rule=here,
                change=change if here is rule else table_change,
                kinds=("sprinkler",) * len(devices),
                against=tuple(device.id for device in devices),
                parts=parts,
                least={part: least(part) for part in parts},
                required=required,
                own=(False,) * len(devices),
                unjudged=tuple(notes.get(device.spray or "unknown", "") for device in devices),
                told=told,
                outlines=outlines,
                shared=True,
                full={"cable": cable_told} if "cable" in parts else {},
                rule_at=rule_at,
            )
        ]

    def _across_m(self) -> float:
        """The room's diagonal: a distance that leaves no place."""
        (low_x, low_y), (high_x, high_y) = self.scene.room.bounds_m
        return math.hypot(high_x - low_x, high_y - low_y)

    def _told_of_spray(
        self,
        device: Device,
        part: Part,
        at: Point3,
        actual: float,
        away: Mapping[Part, float],
        rule: Rule,
        table_rule: Rule,
        wide: bool,
        table_own: float | None,
        width: float,
    ) -> Measured:
        """Required and actual in the terms of whatever decides, and why."""
        units = self.scene.units
        if part == "cable":
            return away["cable"], actual, "three times the cable's diameter, on plan"
        underside, top = float(self.body.low_m(np.array(at[2]))), float(self.body.high_m(np.array(at[2])))
        if underside >= self.ceiling - MET_M:
            return None, actual, "recessed: nothing projects below the ceiling"
        if device.spray != "standard":
            return away["body"], actual, ""
        below = device.low_m - underside
        if wide and top >= self.ceiling - table_rule.values["fixed_within"]:
            reach = _table_distance(table_rule.table, below) if table_own is None else table_own
            most = length(most_below_m(actual), units)
            note = (
                f"wide and fixed to the ceiling, its underside {length(below, units)} under the deflector; "
                f"this far away it may be {most} under it"
            )
            if below <= 0:
                return None, actual, "its underside is not under the deflector"
            if math.isinf(reach):
                return math.nan, actual, f"{note}: deeper than the table goes"
            return reach, actual, note
        plane, widest = rule.values["plane"], length(rule.values["widest_below"], units)
        if device.low_m - top >= plane - MET_M:
            if width <= rule.values["widest_below"] + MET_M:
                note = f"down from the deflector; so low, bodies up to {widest} wide are tolerated"
                return plane, device.low_m - top, note
            return math.nan, actual, f"wider than {widest} below a sprinkler: heads are needed beneath it"
        if below <= MET_M:
            return None, actual, "its underside is not under the deflector"
        return away["body"], actual, "on plan, to the near edge"

    # Room ---------------------------------------------------------------------------------------------

    def _one(
        self,
        rule: Rule,
        kind: str,
        against: Sequence[str],
        signed: Callable[[Floats], Floats],
        told: Callable[[int, Part, Point3], Measured] | None = None,
        outlines: Callable[[float], Iterable[KeptOut]] = lambda height: (),
    ) -> list[_Demand]:
        count = len(against)
        return [
            _Demand(
                rule=rule,
                change=self.changes.get(rule.id),
                kinds=(kind,) * count,
                against=tuple(against),
                parts={"body": signed},
                required={"body": np.full(count, self.required(rule))},
                own=(self._own_limit(rule),) * count,
                unjudged=("",) * count,
                told=told,
                outlines=outlines,
            )
        ]

    def _wall(self, rule: Rule) -> list[_Demand]:
        outline, required = self.scene.room.outline_m, self.required(rule)

        def signed(positions: Floats) -> Floats:
            return (inside_gap(self.body, positions, [outline]) - required)[:, None]

        def told(column: int, part: Part, at: Point3) -> Measured:
            walls = [self.scene.room.wall(index) for index in range(len(outline))]
            lines = [Segment((*a, at[2]), (*b, at[2])) for a, b in walls if a != b]
            nearest = int(np.argmin(plan_gap(self.body, at, lines)[0]))
            actual = float(inside_gap(self.body, at, [outline])[0])
            return required, actual, f"nearest is wall {wall_name(nearest)}"

        return self._one(rule, "wall", ["walls"], signed, told)

    def _headroom(self, rule: Rule) -> list[_Demand]:
        required = self.required(rule)
        tops = table_rings(self.scene)

        def over_table(positions: Floats) -> Floats:
            return np.asarray(np.max([inside_gap(self.body, positions, rings) for rings in tops], axis=0))

        # no body lies deeper inside a table than half the table's smaller side
        deepest = max((min(np.ptp(rings[0], axis=0)) / 2 for rings in tops), default=-math.inf)

        def signed(positions: Floats) -> Floats:
            signed = self.body.low_m(positions[:, 2]) - required
            asked = np.flatnonzero(signed < deepest)
            if len(asked):
                signed[asked] = np.maximum(signed[asked], over_table(positions[asked]))
            return signed[:, None]

        def told(column: int, part: Part, at: Point3) -> Measured:
            underside = float(self.body.low_m(np.array(at[2])))
            if tops and underside < required and over_table(np.array([at]))[0] >= -MET_M:
                return None, underside, "wholly over a table, where nobody walks"
            return required, underside, "underside above the floor; local codes differ"

        return self._one(rule, "floor", ["floor"], signed, told)

    def _tables(self, rule: Rule) -> list[_Demand]:
        tables, required = self.scene.tables, self.required(rule)
        if not tables:
            return []

        def signed(positions: Floats) -> Floats:
            low = self.body.low_m(positions[:, 2])
            columns = []
            for table in tables:
                # where it is half a metre too high to matter, that much is enough to know
                free = np.minimum(low - table.height_m - required, ENOUGH_TO_KNOW_M)
                asked = np.flatnonzero(free < ENOUGH_TO_KNOW_M)
                if len(asked):
                    beside = outside_gap(self.body, positions[asked], [table.outline_m])
                    free[asked] = np.minimum(np.maximum(free[asked], beside), ENOUGH_TO_KNOW_M)
                columns.append(free)
            return np.stack(columns, axis=1)

        def told(column: int, part: Part, at: Point3) -> Measured:
            free = float(self.body.low_m(np.array(at[2]))) - tables[column].height_m
            if outside_gap(self.body, at, [tables[column].outline_m])[0] >= -MET_M:
                return None, None, "not over this table"
            return required, free, "underside above the table's top"

        def outlines(height: float) -> Iterable[KeptOut]:
            for column, table in enumerate(tables):
                if float(self.body.low_m(np.array(height))) - table.height_m < required:
                    yield column, "body", self.body, table.outline_m, 0.0

        return self._one(rule, "table", [table.id for table in tables], signed, told, outlines)


def _corners_of(throw: Throw) -> Floats:
    """The lens and the picture's corners (5, 3): a projector's light is their hull."""
    facing = math.radians(throw.facing_deg)
    across = np.array([-math.sin(facing), math.cos(facing), 0]) * throw.width_m / 2
    up = np.array([0, 0, throw.height_m / 2])
    picture = np.array(throw.picture_m)
    corners = [picture + i * across + j * up for i in (-1, 1) for j in (-1, 1)]
    return np.array([throw.lens_m, *corners])


def _table_distance(table: Sequence[tuple[float, float]], below: float) -> float:
    """The least distance at which something may reach `below` under the deflector; inf past the table."""
    if below <= 0:
        return 0.0
    return next((distance for distance, most in table if below <= most + MET_M), math.inf)


def most_below_m(distance_m: float) -> float:
    """How far under a deflector a wide body at the ceiling may project at this plan distance, by the table."""
    return float(table_value(rules()["sprinkler-table"].table, distance_m))


def table_rings(scene: Scene) -> list[list[tuple[tuple[float, float], ...]]]:
    """The areas over tables, each as its outlines (holes too); tables pushed together are one area."""
    outlines = [table.outline_m for table in scene.tables]
    boxes = [(np.min(outline, axis=0), np.max(outline, axis=0)) for outline in outlines]
    near = any(
        bool(np.all(low <= other_high + 1e-6) and np.all(other_low <= high + 1e-6))
        for i, (low, high) in enumerate(boxes)
        for other_low, other_high in boxes[:i]
    )
    if not near:
        return [[outline] for outline in outlines]
    import shapely  # only here: most rooms have tables that stand apart

    # joined across a hair, so that tables placed edge to edge are one
    joined = shapely.union_all([shapely.Polygon(o).buffer(1e-6, join_style="mitre") for o in outlines])
    return [
        [tuple(ring.coords[:-1]) for ring in (part.exterior, *part.interiors)]
        for part in getattr(joined, "geoms", [joined])
    ]


# The three answers ----------------------------------------------------------------------------------------


def clearances(scene: Scene) -> tuple[Clearance, ...]:
    """Every array × thing × rule with required, actual, state and source; the shortest first.

    Of body and cable the one nearer to its limit is told. Order: short ones that fail, other short
    ones, unjudged, clear by what is left, switched off. `touch` is told only where something touches,
    `free-over-table` and `hang-line` only where there is something to judge, and two arrays are told
    against each other once; of what is in the void the nearest is told. Under a lay-in grid each array has
    a row about its tees, which cautions at most.
    """
    rows: list[tuple[tuple[int, float], Clearance]] = []
    stacked: dict[str, _Things] = {}
    for index, array in enumerate(scene.arrays):
        told_before = {other.id for other in scene.arrays[:index]}
        asking, at = _Asking(scene, array, stacked), array.centre_m
        for demand in asking.demands():
            rows += _rows(asking, demand, told_before, at, demand.signed(np.array([at]))[:, 0])
        rows += _tee_row(scene, array)
    rows.sort(key=lambda row: row[0])
    return tuple(row for _, row in rows)


def _rows(
    asking: _Asking, demand: _Demand, told_before: set[str], at: Point3, signed: Floats
) -> list[tuple[tuple[int, float], Clearance]]:
    """The rows of one demand with the acoustic centre at `at`, where it is `signed` (parts, columns)."""
    demand = demand.at_height(at[2], asking.changes)
    array, rule = asking.array, demand.rule
    parts = list(demand.parts)
    tighter = signed.argmin(axis=0).tolist() if parts else []
    spares = signed.min(axis=0) if parts else np.zeros(len(demand.against))
    which: Iterable[int] = range(len(demand.against))
    if rule.id == "touch":  # told only where something touches
        which = np.flatnonzero(spares < -MET_M).tolist()
    elif rule.id == "hang-line":  # of all that is in the void only the nearest is told
        which = [int(spares.argmin())]
    rows: list[tuple[tuple[int, float], Clearance]] = []
    for column in which:
        against = demand.against[column]
        if demand.kinds[column] == "array" and against in told_before:
            continue
        part: Part = "body"
        spare, note = float(spares[column]), ""
        required: float | None = None
        actual: float | None = None
        if parts:
            part = parts[tighter[column]]
            required = float(demand.required[part][column])
            actual = spare + required
            if demand.told is not None:
                required, actual, note = demand.told(column, part, at)
        if rule.id == "free-over-table" and required is None:
            continue  # it does not hang over this table
        # what the search is told may stop where it is enough to know: rows stand in the order of their figures
        left = spare if required is None or actual is None or math.isnan(required) else actual - required
        state: ClearanceState = "clear" if spare >= -MET_M else "short"
        rank = 3 if state == "clear" else 0 if demand.binding(column) else 1
        nothing_asked = bool(parts) and required is None and state == "clear"
        if (demand.unjudged[column] and not nothing_asked) or (required is not None and math.isnan(required)):
            state, required, rank = "unjudged", None, 2
            note = demand.unjudged[column] or note
        binding, own = demand.binding(column), demand.own[column]
        if state == "short" and binding and not asking.sure(demand, column, at):
            guess = f"the {asking.guessed[against][1]} of {against} is our default, which decides here: give its own"
            note, binding = f"{note}; {guess}" if note else guess, False
            state, required, rank = ("unjudged", None, 2) if rule.id == "touch" else ("short", required, 1)
        source, sureness = rule.source, str(rule.sureness)
        change = demand.change
        said = "the value is the spec's own" if own else ""
        if change is not None and not (own and rule.limit is None):  # what a device asks of its own stays
            own = required is not None and required == change.value_m
            said = f"changed: {change.reason}"
        if demand.off:
            assert change is not None
            state, required, rank, note = "off", None, 4, f"switched off: {change.reason}"
        elif said:
            note = f"{note}; {said}" if note else said
            if own:
                source, sureness = (
                    f"The spec's own value, in place of the rule's. {source}",
                    "designer's input",
                )
        row = Clearance(
            array=array.id,
            against=against,
            kind=demand.kinds[column],
            rule=rule.id,
            part=part,
            required_m=required,
            actual_m=actual,
            state=state,
            binding=binding,
            note=note,
            source=source,
            sureness=sureness,
        )
        rows.append(((rank, left), row))
    return rows


def _tee_row(scene: Scene, array: Array) -> list[tuple[tuple[int, float], Clearance]]:
    """The row about the ceiling's grid, where the array hangs through one or lies in one.

    Not a demand of the search: tees stand every 0.6 m, whoever wants a tile's middle asks for it, and a few
    centimetres off a tee cost nobody anything.
    """
    found = in_tile(scene.room, array) if ceiling_of(scene) == "suspended" else None
    if found is None:
        return []
    rule = rules()["grid-tee"]
    change = {change.rule: change for change in scene.rule_changes}.get(rule.id)
    flush = array.profile.mount == "flush"
    required: float | None = 0.0 if flush else rule.values["required"]
    if change is not None and change.value_m is not None:
        required = change.value_m
    assert required is not None
    spare = found.least_m - required
    state: ClearanceState = "clear" if spare >= -ON_IT_M else "short"
    rank, note = (
        (3, f"in tile {found.tile}") if state == "clear" else (1, _off_the_tee(found, required, scene))
    )
    if flush:
        if not found.fits:
            state, required, rank = "unjudged", None, 2
            turned = " as it is turned" if array.turn_deg % 90 else ""
            note = f"is larger than a tile of this grid{turned}: the ceiling's maker says how it is carried"
        elif state == "short":
            note = f"crosses a grid tee: {note}"
    elif state == "short":
        note = f"hangs on a grid tee: no cable passes there, {note}"
    if change is not None:
        if change.off:
            state, required, rank, note = "off", None, 4, f"switched off: {change.reason}"
        else:
            note = f"{note}; changed: {change.reason}"
    row = Clearance(
        array=array.id,
        against="grid",
        kind="grid",
        rule=rule.id,
        part="body" if flush else "cable",
        required_m=required,
        actual_m=found.least_m,
        state=state,
        binding=False,
        note=note,
        source=rule.source,
        sureness=rule.sureness,
    )
    return [((rank, spare), row)]


def _off_the_tee(found: InTile, required: float, scene: Scene) -> str:
    return f"move it {found.way_off(required, scene.units)}"


def constraints_for(scene: Scene, array: Array) -> list[Constraint]:
    """The rules as demands on this array's acoustic centre, for the search and for the room to move.

    One for each rule and part, which are its key: at least 0 where every thing the rule is about is
    clear, changing by at most 1 m per metre. Rules switched off are left out. Sprinklers whose spray is
    not judged are kept away from as if it were standard; projectors without a picture ask nothing of
    their light. `tightest` tells which thing presses.
    """
    return _as_constraints(_Asking(scene, array).demands())


def constraints_between(scene: Scene, array: Array) -> list[Constraint]:
    """What the rules ask of this array's acoustic centre for the sake of the other arrays, where these are.

    The part of `constraints_for` that depends on the others: nothing in one another, and the distance
    that `other-array` asks for. Met by one of two arrays exactly when it is met by the other.
    """
    alone = replace(scene, overhead=(), obstacles=(), tables=(), displays=())
    return _as_constraints(
        demand for demand in _Asking(alone, array).demands() if set(demand.kinds) == {"array"}
    )


def _as_constraints(demands: Iterable[_Demand]) -> list[Constraint]:
    """One for each rule and part of these demands, those that ask nothing of the search left out."""
    from geometry.constraint import Constraint

    measures: dict[tuple[str, str], list[Callable[[Floats], Floats]]] = {}
    for demand in demands:
        if not demand.silent:
            for part, measure in demand.parts.items():
                least = demand.least.get(part) or _least(measure)
                measures.setdefault((demand.rule.id, part), []).append(least)

    def worst(of: Sequence[Callable[[Floats], Floats]]) -> Callable[[Floats], Floats]:
        def signed(positions: Floats) -> Floats:
            at = np.atleast_2d(positions)
            return np.asarray(np.min([least(at) for least in of], axis=0))

        return signed

    return [Constraint(key, worst(of)) for key, of in measures.items()]


def key_name(key: Key) -> str:
    """What a constraint is called where people read of it: `RULE (PART)`."""
    rule, *part = key
    return f"{rule} ({', '.join(map(str, part))})" if part else str(rule)


def _least(measure: Callable[[Floats], Floats]) -> Callable[[Floats], Floats]:
    return lambda positions: np.asarray(measure(np.atleast_2d(positions)).min(axis=1))


@dataclass(frozen=True, slots=True)
class Pressing:
    """How much is left of one rule against one thing: `signed_m` is negative where it is short."""

    rule: str
    part: Part
    against: str
    kind: str
    signed_m: float


def tightest(scene: Scene, array: Array, at_m: Point3, within_m: float = math.inf) -> list[Pressing]:
    """What presses on the array if its acoustic centre were at `at_m`, the tightest first.

    Only what has less than `within_m` left; the constraints' own numbers, thing by thing.
    """
    found = [
        Pressing(
            (demand.rule_at(part, at_m[2]) if demand.rule_at else demand.rule).id,
            part,
            against,
            demand.kinds[column],
            float(signed),
        )
        for demand in _Asking(scene, array).demands()
        if not demand.silent
        for part, measure in demand.parts.items()
        for column, (against, signed) in enumerate(
            zip(demand.against, measure(np.array([at_m]))[0], strict=True)
        )
        if signed <= within_m
    ]
    return sorted(found, key=lambda pressing: pressing.signed_m)


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A plan area that the acoustic centre may not enter at a height, because of one thing by one rule."""

    against: str
    kind: str
    rule: str
    part: Part
    outline_m: NDArray[np.float64]
    """(k, 2) corners, anticlockwise, not closed."""


def keep_outs(scene: Scene, array: Array, height_m: float) -> list[KeepOut]:
    """Where the array's acoustic centre may not be at this height, by thing, rule and part.

    An outline that lies inside another one of the same thing is left out.

    Outlines are exact but for curves, which are up to 1 mm too large, never too small. Walls are left
    out (the room less the wall limit says it); where the headroom is short, all floor that is not
    under the body's place over a table is kept out. Loads shapely.
    """
    import shapely

    asking = _Asking(scene, array)
    found: list[KeepOut] = []
    drawn: list[tuple[str, Any, _Demand, int, Part]] = []

    for demand in asking.demands():
        if demand.silent:
            continue
        areas: dict[tuple[int, Part], list[Any]] = {}
        for column, part, hanging, shape, reach in demand.outlines(height_m):
            area = _kept_out(hanging, shape, reach, height_m)
            if area is not None and not area.is_empty:
                areas.setdefault((column, part), []).append(area)
        for (column, part), several in areas.items():
            drawn.append((demand.against[column], shapely.union_all(several), demand, column, part))
        if demand.rule.id == "headroom" and not demand.off:
            underside = float(asking.body.low_m(np.array(height_m)))
            if underside < asking.required(demand.rule) - MET_M:
                drawn.append(("floor", _walking_area(scene, asking.body), demand, 0, "body"))
    by_thing: dict[str, list[Any]] = {}
    for against, area, *_ in drawn:
        by_thing.setdefault(against, []).append(area)
    for against, area, demand, column, part in drawn:
        others = [other for other in by_thing[against] if other is not area]
        if any(other.buffer(1e-6).covers(area) for other in others):
            by_thing[against] = others  # what the same thing keeps out of anyway need not be drawn twice
            continue
        for piece in _without_holes(area):
            ring = shapely.geometry.polygon.orient(piece).exterior
            outline = np.asarray(ring.coords[:-1], float)[:, :2]
            found.append(KeepOut(against, demand.kinds[column], demand.rule.id, part, outline))
    return found


def _walking_area(scene: Scene, body: Hanging) -> Any:
    """The plan places at which the body is not wholly over a table."""
    import shapely

    floor = shapely.Polygon(scene.room.outline_m)
    for rings in table_rings(scene):
        top = shapely.Polygon(rings[0], rings[1:])
        edges = [
            _swept(body, np.array([a, b]), 0.0)
            for ring in rings
            for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
        ]
        floor = floor.difference(top.difference(shapely.union_all(edges)))
    return floor


def _without_holes(area: Any) -> list[Any]:
    """The polygons of an area, cut through their holes so that one outline tells each."""
    import shapely

    pieces: list[Any] = []
    waiting = [
        part for part in getattr(area, "geoms", [area]) if part.geom_type == "Polygon" and part.area > 0
    ]
    while waiting:
        piece = waiting.pop(0)
        if not piece.interiors:
            pieces.append(piece)
            continue
        x = piece.interiors[0].centroid.x
        low_x, low_y, high_x, high_y = piece.bounds
        for half in (shapely.box(low_x, low_y, x, high_y), shapely.box(x, low_y, high_x, high_y)):
            cut = piece.intersection(half)
            waiting += [p for p in getattr(cut, "geoms", [cut]) if p.geom_type == "Polygon" and p.area > 0]
    return pieces


def _swept(hanging: Hanging, points: Floats, reach: float) -> Any:
    """The convex hull of points grown by the hanging outline (mirrored) and by a distance: never too small."""
    import shapely

    radius = hanging.radius_m + reach
    if max(hanging.size_m) > 0:
        turn = math.radians(hanging.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        x, y = hanging.size_m[0] / 2, hanging.size_m[1] / 2
        corners = np.array([[c * u - s * v, s * u + c * v] for u, v in ((x, y), (-x, y), (-x, -y), (x, -y))])
        points = (points[:, None, :] + corners).reshape(-1, 2)
    hull = shapely.MultiPoint(points).convex_hull
    if radius <= 0:
        return hull
    # chords lie inside a circle: take the radius at which they touch it from outside
    corners_per_quarter = max(4, math.ceil(math.pi / 4 / math.acos(radius / (radius + CURVE_M))))
    return hull.buffer(radius / math.cos(math.pi / 4 / corners_per_quarter), quad_segs=corners_per_quarter)


def _kept_out(hanging: Hanging, shape: Any, reach: float, height: float) -> Any:
    """The plan area of centres at which `hanging` is nearer than `reach` to the shape; None if nowhere."""
    low, high = float(hanging.low_m(np.array(height))), float(hanging.high_m(np.array(height)))

    def at_slice(points: Floats, bottom: float, top: float, rounding: float) -> Any:
        apart = max(bottom - high, low - top)
        reached = reach + rounding
        if apart >= reached - MET_M and not (reached == 0 and apart < 0):
            return None
        return _swept(hanging, points, math.sqrt(max(reached**2 - max(apart, 0.0) ** 2, 0.0)))

    match shape:
        case Box():
            return at_slice(np.array(shape.corners_on_plan()), shape.low_m, shape.high_m, 0.0)
        case Cylinder():
            apart = max(shape.low_m - high, low - shape.high_m)
            if apart >= reach - MET_M and not (reach == 0 and apart < 0):
                return None
            on_plan = math.sqrt(max(reach**2 - max(apart, 0.0) ** 2, 0.0))
            return _swept(hanging, np.array([shape.middle_m[:2]]), shape.radius_m + on_plan)
        case Disc():  # a sprinkler's middle: its distance is on plan alone
            return _swept(hanging, np.array([shape.middle_m[:2]]), reach)
        case Segment():
            (x, y, z), (u, v, w) = shape.start_m, shape.end_m
            return at_slice(np.array([[x, y], [u, v]]), min(z, w), max(z, w), shape.radius_m)
        case Throw():
            return _kept_out_of_light(shape, hanging, reach, low, high)
        case _:  # a table's outline
            import shapely

            corners = np.array(shape, float)
            edges = zip(corners, np.roll(corners, -1, axis=0), strict=True)
            swept = [_swept(hanging, np.array(edge), 0.0) for edge in edges]
            return shapely.union_all([shapely.Polygon(corners), *swept])


def _kept_out_of_light(throw: Throw, hanging: Hanging, reach: float, low: float, high: float) -> Any:
    """Of a projector's light: its slices as far as they are near in height, each grown by what is left of the reach.

    Between two slices the growth is a concave number, at its most bent where the light just comes near: there
    slices stand close, and the thousandth of the reach that is added is more than the chords cut off.
    """
    import shapely

    facing = math.radians(throw.facing_deg)
    across = np.array([-math.sin(facing), math.cos(facing)]) * throw.width_m / 2
    lens, picture = np.array(throw.lens_m), np.array(throw.picture_m)
    # how far the light's underside is above the hanging thing, and its top below: both linear on the way
    start = np.array([lens[2] - high, low - lens[2]])
    slope = np.array([picture[2] - lens[2], lens[2] - picture[2]]) - throw.height_m / 2
    heights = reach * np.cos(np.linspace(0, math.pi / 2, 33))
    with np.errstate(divide="ignore", invalid="ignore"):
        crossings = ((heights[:, None] - start) / slope).ravel()
    crossings = crossings[(crossings > 0) & (crossings < 1)]  # not those that are NaN or far away
    steps = np.unique(np.concatenate([[0.0, 1.0], crossings]))
    apart = (start + steps[:, None] * slope).max(axis=1)
    growth = np.sqrt(np.maximum(reach**2 - np.maximum(apart, 0) ** 2, 0)) + reach / 1000
    found = []
    for i, j in itertools.pairwise(range(len(steps))):
        if max(apart[i], apart[j]) > reach + MET_M or min(apart[i], apart[j]) >= reach - MET_M > 0:
            continue
        slices = []
        for k in (i, j):
            middle = (lens + steps[k] * (picture - lens))[:2]
            slices.append(
                _swept(hanging, np.array([middle - steps[k] * across, middle + steps[k] * across]), growth[k])
            )
        found.append(shapely.union_all(slices).convex_hull)
    return shapely.union_all(found) if found else None
