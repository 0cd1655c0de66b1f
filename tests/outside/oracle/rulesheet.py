"""Every clearance rule in the oracle's own words: what it requires and what is there, for many places at once.

Values: the code's and the standards' with their source beside them (as found for this project; most were read in
copies or remembered, none in print), the rest overtable's own defaults, for which there is no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.outside.oracle.reading import (
    FREE_OVER_TABLE_M,
    HEADROOM_M,
    WALL_M,
    Array,
    Device,
    Obstacle,
    Room,
)
from tests.outside.oracle.seating import outline
from tests.outside.oracle.solids import Hanging, Plan, Prism, gap, in_one_place, plan_gap

Floats = NDArray[np.float64]
INCH_M = 0.0254

# NFPA 13, standard spray (copies: AFSA, eng-tips 145749 and 234998, sprinklerforum msg20628)
PLANE_M, CAP_M, TOLERATED_M = 18 * INCH_M, 24 * INCH_M, 48 * INCH_M
# NFPA 13-2016 table 8.6.5.1.2 (one unconfirmed copy and memory agree): distance in feet, and how many inches the
# underside may be under the deflector there
BEAM_ROWS = [
    *((1, 2.5), (1.5, 3.5), (2, 5.5), (2.5, 7.5), (3, 9.5), (3.5, 12)),
    *((4, 14), (4.5, 16.5), (5, 18), (5.5, 20), (6, 24)),
]
BEAM_TABLE = [(12 * feet * INCH_M, inches * INCH_M) for feet, inches in BEAM_ROWS]
WIDE_M, FIXED_WITHIN_M = 8 * INCH_M, 0.013  # three times 8 in is past the cap; fixed: overtable's own

DEFAULTS_M = {
    # distance in space to body and cable; BS 5839-1 (from memory), the others overtable's own, no source
    "smoke-detector": 0.5,
    "supply-diffuser": 0.9,
    "return-grille": 0.5,
    "loudspeaker": 1.0,
    "light": 0.15,
    "projector": 0.5,
    "beam": 0.1,
    "other": 0.1,
    "obstacle": 0.1,
    "other-array": 0.5,
    "hang-line": 0.05,
    "grid-tee": 0.03,
}
RULE_OF_KIND = {"bulkhead": "beam", **{name.replace("-", " "): name for name in DEFAULTS_M}}
CODES = ("smoke-detector", "sprinkler-spray", "sprinkler-table", "headroom")
FACTS = ("touch",)

# overtable's own, no source: the cable's radius, a ceiling tile, a stem's radius, the box above and its void
CABLE_M, TILE_M, STEM_M, BOX_M, VOID_M = 0.004, 0.02, 0.01, (0.15, 0.15, 0.06), 0.3
MET_M = 1e-9
LOW_TABLE_M, OVER_TABLE_M = 0.65, 0.15
"""People walk at a table lower than this, and lean so far over any: overtable's own, no source (issue 13, headroom)."""


@dataclass(frozen=True)
class Measured:
    """What one demand finds at n places: required (nan where nothing is asked) and actual, whether it can judge."""

    required: Floats
    actual: Floats
    judged: NDArray[np.bool_]

    @property
    def spare(self) -> Floats:
        """What is left; inf where nothing is asked."""
        left = self.actual - self.required
        return np.where(np.isnan(self.required), np.inf, left)


@dataclass(frozen=True)
class Demand:
    """One rule asked of one part of an array against one thing. `guessed`: the thing's size is left to a default."""

    rule: str
    against: str
    part: str
    basis: str
    off: bool
    guessed: bool
    measure: Callable[[Floats], Measured]

    @property
    def fails(self) -> bool:
        """Whether less than required is short, not just advised."""
        return self.basis != "default"


def body_of(array: Array) -> Hanging:
    """The body about its acoustic centre."""
    profile = array.profile
    x, y, tall = profile.size
    plan = Plan(radius=x / 2) if profile.round else Plan.rectangle(x, y, array.turn)
    return Hanging(plan, -profile.below, tall - profile.below)


def grown(array: Array) -> Array:
    """The array with the upright body about all its positions out of true: rims lower and higher, ends leaning."""
    profile, level = array.profile, math.sin(math.radians(array.profile.level))
    wide = profile.size[0] / 2 if profile.round else math.hypot(*profile.size[:2]) / 2
    rim, out = wide * level, max(profile.below, profile.size[2] - profile.below) * level
    x, y, tall = profile.size
    size = (x + 2 * out, y + 2 * out, tall + 2 * rim)
    return replace(array, profile=replace(profile, size=size, below=profile.below + rim))


def cable_of(array: Array, top: float) -> Hanging | None:
    """The cable above the body, up to a height; none of a flush array."""
    if array.profile.flush:
        return None
    return Hanging(Plan(radius=CABLE_M), array.profile.size[2] - array.profile.below, top, fixed_high=True)


def solids_of(thing: Device | Obstacle) -> list[Prism]:
    """What stands or hangs there. Of a size or depth that the file leaves out, nothing."""
    if isinstance(thing, Obstacle):
        return [Prism(Plan.of(thing.size, thing.turn), thing.at, thing.low, thing.high)]
    top = thing.low + (thing.depth or 0.0)
    solids = [Prism(Plan.of(thing.size or (0.0,), thing.turn), thing.at, thing.low, top)]
    if thing.stem and thing.depth is not None:
        solids.append(Prism(Plan(radius=STEM_M), thing.at, top, top + thing.stem))
    return solids


def array_solids(array: Array, ceiling: float) -> list[Prism]:
    """A placed array's body and cable as things that stand still."""
    assert array.at is not None
    z = float(array.centre[2])
    body = body_of(array)
    solids = [Prism(body.plan, array.at, z + body.low, z + body.high)]
    if not array.profile.flush and z + body.high < ceiling:
        solids.append(Prism(Plan(radius=CABLE_M), array.at, z + body.high, ceiling))
    return solids


class Sheet:
    """All demands on one array of a room, wherever it may hang. Other arrays stay where they are.

    Of a `leaning` one they are asked of upright prisms about body and cable in all positions out of true.
    """

    def __init__(self, room: Room, array: Array, *, leaning: bool = False) -> None:
        self.room, self.array, self.leaning = (
            room,
            grown(array) if leaning else array,
            array if leaning else None,
        )
        self.body, self.cable = body_of(self.array), self._cable(room.ceiling)
        self.parts = {"body": self.body, **({} if self.cable is None else {"cable": self.cable})}
        self.others = [
            a for a in room.arrays if a.id != array.id and a.at is not None and a.height is not None
        ]

    def _cable(self, top: float) -> Hanging | None:
        """The cable up to a height; of a leaning body its foot is where the body's top is, which leans out."""
        if self.leaning is None:
            return cable_of(self.array, top)
        cable, level = cable_of(self.leaning, top), math.radians(self.leaning.profile.level)
        if cable is None:
            return None
        out = abs(cable.low) * math.sin(level)
        return replace(
            cable, plan=Plan(radius=CABLE_M + out), low=min(cable.low, cable.low * math.cos(level))
        )

    @property
    def through(self) -> float:
        """Up to where a cable hangs in the room or in its ceiling."""
        return self.room.ceiling + (0.0 if self.room.kind == "open" else TILE_M)

    def demands(self) -> list[Demand]:
        """Every demand, those switched off too."""
        return [
            *self._touch(),
            *self._kept_away(),
            *self._sprinklers(),
            *self._hang_line(),
            *self._tees(),
            *self._room(),
        ]

    def _basis(self, rule: str, own: bool) -> str:
        if own:
            return "own"
        return "fact" if rule in FACTS else "code" if rule in CODES else "default"

    def _demand(
        self, rule: str, against: str, part: str, measure: Callable[[Floats], Measured], own: bool = False
    ) -> Demand:
        change = self.room.changes.get(rule)
        off = change is not None and change.required is None
        own = own or (change is not None and not off)
        guessed = any(d.id == against and (d.size is None or d.depth is None) for d in self.room.overhead)
        return Demand(rule, against, part, self._basis(rule, own), off, guessed, measure)

    def required(self, rule: str) -> float:
        """The rule's value: what the file changes it to, else the sheet's own."""
        change = self.room.changes.get(rule)
        return DEFAULTS_M[rule] if change is None or change.required is None else change.required

    # In space ------------------------------------------------------------------------------------------------

    def _things(self) -> Iterator[tuple[str, str, list[Prism], float | None]]:
        """Id, rule, solids, and what the file itself asks of it."""
        for device in self.room.overhead:
            yield device.id, RULE_OF_KIND.get(device.kind, ""), solids_of(device), device.required
        for one in self.room.obstacles:
            yield one.id, "obstacle", solids_of(one), None
        for other in self.others:
            yield other.id, "other-array", array_solids(other, self.through), None

    def _kept_away(self) -> Iterator[Demand]:
        for id, rule, solids, own in self._things():
            if not rule:  # a sprinkler: its spray below, unless the file says a distance
                if own is None:
                    continue
                rule = "sprinkler-spray"
            need = self.required(rule) if own is None else own
            for part, hanging in self.parts.items():
                yield self._demand(rule, id, part, distance(hanging, solids, need), own is not None)

    def _touch(self) -> Iterator[Demand]:
        parts = {"body": self.body}
        cable = self._cable(self.through)
        if cable is not None:
            parts["cable"] = cable
        for id, _, solids, _ in self._things():
            for part, hanging in parts.items():
                yield self._demand("touch", id, part, touching(hanging, solids))
        yield self._demand("touch", "walls", "body", self._in_the_room)
        if self.cable is not None and self.room.kind != "hard":
            yield from self._in_anything_above()
        yield from self._room_above()

    def _in_anything_above(self) -> Iterator[Demand]:
        """The box above the ceiling in what reaches up there."""
        room = self.room
        parts, above = self._above(0.0)
        for id, solids in self._in_the_void(above, 0.0):
            if room.box is not None and id not in room.guesses:  # a default decides nothing here
                yield self._demand("touch", id, "box", touching(parts["box"], solids))

    def _room_above(self) -> Iterator[Demand]:
        """What a flush body, or the box on a suspended ceiling, needs above it and what is there."""
        room, profile = self.room, self.array.profile
        solid = room.ceiling if room.kind == "open" and room.structure is None else room.structure
        tall = profile.size[2] - profile.below if profile.flush else (room.box or BOX_M)[2]
        if solid is None or (not profile.flush and room.kind != "suspended"):
            return

        def measure(positions: Floats) -> Measured:
            one = np.ones(len(positions))
            return Measured(tall * one, (solid - room.ceiling) * one, np.ones(len(one), bool))

        yield self._demand("touch", "structure", "body" if profile.flush else "box", measure)

    def _hang_line(self) -> Iterator[Demand]:
        """The box above the ceiling and the line from it up to the structure, against what reaches up there."""
        if self.cable is None or self.room.kind == "hard":
            return
        parts, above = self._above(VOID_M)
        for id, solids in self._in_the_void(above, VOID_M):
            for part, hanging in parts.items():
                yield self._demand(
                    "hang-line", id, part, distance(hanging, solids, self.required("hang-line"))
                )

    def _above(self, void: float) -> tuple[dict[str, Hanging], float]:
        """The box and the line on from it, and above which height things count; without a structure so high a void."""
        room = self.room
        x, y, tall = room.box or BOX_M
        plan = Plan.rectangle(x, y, self.array.turn)
        if room.kind == "open":
            box = Hanging(plan, room.ceiling - tall, room.ceiling, True, True)
            return {"box": box}, room.ceiling - tall
        foot = room.ceiling + TILE_M
        top = max(room.structure or room.ceiling + void, foot + tall)
        line = Hanging(Plan(radius=CABLE_M), foot + tall, top, True, True)
        return {"box": Hanging(plan, foot, foot + tall, True, True), "line": line}, room.ceiling

    def _in_the_void(self, height: float, void: float) -> Iterator[tuple[str, list[Prism]]]:
        room = self.room
        for device in room.overhead:
            if device.depth is not None and device.low + device.depth > height:
                yield device.id, solids_of(device)
        for one in room.obstacles:
            if one.high >= room.ceiling - 1e-6:
                [solid] = solids_of(one)
                # what stands up to the ceiling goes on to the structure
                up_to = max(one.high, room.structure or room.ceiling + void, room.ceiling)
                yield one.id, [replace(solid, high=up_to)]

    # Sprinklers ----------------------------------------------------------------------------------------------

    def _sprinklers(self) -> Iterator[Demand]:
        for device in self.room.overhead:
            if device.kind != "sprinkler" or device.required is not None:
                continue
            rule = "sprinkler-spray"
            yield self._demand(rule, device.id, "body", self._spray(device))
            if self._wide:
                yield self._demand("sprinkler-table", device.id, "body", self._beam(device))
            if self.cable is not None:
                yield self._demand(rule, device.id, "cable", self._cable_in_spray(device))

    @property
    def _wide(self) -> bool:
        return max(self.array.profile.size[:2]) > WIDE_M and not self.array.profile.flush

    def _where(self, positions: Floats, device: Device) -> tuple[Floats, Floats, Floats]:
        """Underside, top, and the plan distance from the sprinkler's middle to the body's near edge."""
        low, high = self.body.heights(positions[:, 2])
        return low, high, plan_gap(self.body.plan, positions[:, :2], Plan(), device.at)

    def _fixed(self, high: Floats) -> NDArray[np.bool_]:
        return self._wide & (high >= self.room.ceiling - FIXED_WITHIN_M)

    def _spray(self, device: Device) -> Callable[[Floats], Measured]:
        size = self.array.profile.size
        change = self.room.changes.get("sprinkler-spray")
        away = min(3 * max(size), CAP_M) if change is None or change.required is None else change.required

        def measure(positions: Floats) -> Measured:
            low, high, apart = self._where(positions, device)
            below = device.low - high >= PLANE_M - MET_M
            required = np.where(below, PLANE_M, away)
            actual = np.where(below, device.low - high, apart)
            silent = (low >= self.room.ceiling - MET_M) | (low >= device.low - MET_M) | self._fixed(high)
            judged = np.full(len(low), device.spray == "standard")
            if max(size[:2]) > TOLERATED_M:
                judged &= ~below
            return Measured(np.where(silent, np.nan, required), actual, judged)

        return measure

    def _beam(self, device: Device) -> Callable[[Floats], Measured]:
        def measure(positions: Floats) -> Measured:
            low, high, apart = self._where(positions, device)
            below = device.low - low
            rows = np.array([need for need, _ in BEAM_TABLE])
            row = np.searchsorted([most + MET_M for _, most in BEAM_TABLE], below)
            past = row >= len(rows)
            required = rows[np.minimum(row, len(rows) - 1)]
            silent = (below <= 0) | ~self._fixed(high)
            judged = ~past & (device.spray == "standard")
            return Measured(np.where(silent, np.nan, required), apart, judged)

        return measure

    def _cable_in_spray(self, device: Device) -> Callable[[Floats], Measured]:
        assert self.cable is not None
        cable = self.cable
        change = self.room.changes.get("sprinkler-spray")
        away = 6 * CABLE_M if change is None or change.required is None else change.required

        def measure(positions: Floats) -> Measured:
            _, high = self.body.heights(positions[:, 2])
            apart = plan_gap(cable.plan, positions[:, :2], Plan(), device.at)
            required = np.where(high >= self.room.ceiling - MET_M, np.nan, away)
            return Measured(required, apart, np.full(len(apart), device.spray == "standard"))

        return measure

    # Tees, walls, floor, tables --------------------------------------------------------------------------------

    def _tees(self) -> Iterator[Demand]:
        if self.room.grid is None or self.room.kind != "suspended":
            return
        (px, py), (ox, oy) = self.room.grid
        flush = self.array.profile.flush
        hx, hy = self.body.plan.half if flush else (0.0, 0.0)
        change = self.room.changes.get("grid-tee")
        own = change is not None and change.required is not None
        required = self.required("grid-tee") if own or not flush else 0.0

        def measure(positions: Floats) -> Measured:
            to_tees = []
            for value, pitch, origin, half in ((positions[:, 0], px, ox, hx), (positions[:, 1], py, oy, hy)):
                in_tile = (value - origin) % pitch
                to_tees.append(np.minimum(in_tile, pitch - in_tile) - half)
            judged = np.full(len(positions), hx <= px / 2 + 1e-6 and hy <= py / 2 + 1e-6)
            return Measured(np.full(len(positions), required), np.minimum(*to_tees), judged)

        yield self._demand("grid-tee", "grid", "body" if flush else "cable", measure)

    def _room(self) -> Iterator[Demand]:
        limits = self.room.limits
        need = {"wall": WALL_M, "headroom": HEADROOM_M, "free_over_table": FREE_OVER_TABLE_M, **limits}
        for rule in ("wall", "headroom"):
            change = self.room.changes.get(rule)
            if change is not None and change.required is not None:
                need[rule] = change.required
        high = [table for table in self.room.tables if table.height >= LOW_TABLE_M]
        tops = shapely.union_all([shapely.Polygon(outline(t)).buffer(1e-6) for t in high])

        def headroom(positions: Floats) -> Measured:
            low, _ = self.body.heights(positions[:, 2])
            required = np.full(len(low), need["headroom"])
            if not tops.is_empty:
                over = self._wholly_over(tops, positions)
                required[over & (low < required - MET_M)] = np.nan
            return Measured(required, low, np.ones(len(low), bool))

        yield self._demand("wall", "walls", "body", self._from_walls(need["wall"]), "wall" in limits)
        yield self._demand("headroom", "floor", "body", headroom, "headroom" in limits)
        for table in self.room.tables:
            top = Plan(corners=tuple(outline(table)))
            yield self._demand(
                "free-over-table",
                table.id,
                "body",
                self._over(top, table.height, need["free_over_table"]),
                "free_over_table" in limits,
            )

    def _wholly_over(self, tops: shapely.Geometry, positions: Floats) -> NDArray[np.bool_]:
        """Whether all of the body is so far inside these, a hair less included."""
        shapes, wider = self.body.plan.at(positions[:, :2]), shapely.buffer(tops, 1e-6)
        to_edge = shapely.distance(shapes, shapely.boundary(wider))
        return np.asarray(shapely.covers(wider, shapes) & (to_edge >= self.body.plan.radius + OVER_TABLE_M))

    def _to_walls(self, positions: Floats) -> Floats:
        """From the body to the nearest wall, negative where it reaches past one."""
        room = shapely.Polygon(self.room.outline)
        shapes = self.body.plan.at(positions[:, :2])
        apart = shapely.distance(shapes, room.exterior) - self.body.plan.radius
        within = shapely.covers(room, shapes)
        return np.asarray(np.where(within, apart, np.minimum(apart, -MET_M * 2)))

    def _in_the_room(self, positions: Floats) -> Measured:
        return Measured(np.zeros(len(positions)), self._to_walls(positions), np.ones(len(positions), bool))

    def _from_walls(self, required: float) -> Callable[[Floats], Measured]:
        def measure(positions: Floats) -> Measured:
            actual = self._to_walls(positions)
            return Measured(np.full(len(actual), required), actual, np.ones(len(actual), bool))

        return measure

    def _over(self, top: Plan, height: float, required: float) -> Callable[[Floats], Measured]:
        table = shapely.Polygon(top.corners)

        def measure(positions: Floats) -> Measured:
            low, _ = self.body.heights(positions[:, 2])
            shapes = self.body.plan.at(positions[:, :2])
            if self.body.plan.radius:
                over = shapely.distance(shapes, table) < self.body.plan.radius - MET_M
            else:
                over = shapely.area(shapely.intersection(shapes, table)) > 1e-9
            return Measured(np.where(over, required, np.nan), low - height, np.ones(len(low), bool))

        return measure


def distance(hanging: Hanging, solids: Sequence[Prism], required: float) -> Callable[[Floats], Measured]:
    """A distance in space to be kept from the nearest of these; touching counts as a hair less than none."""

    def measure(positions: Floats) -> Measured:
        apart = np.min([gap(hanging, positions, solid) for solid in solids], axis=0)
        return Measured(np.full(len(apart), required), apart, np.ones(len(apart), bool))

    return measure


def touching(hanging: Hanging, solids: Sequence[Prism]) -> Callable[[Floats], Measured]:
    """Nothing in one another: the distance, negative (by no figure) where they stand in one another."""

    def measure(positions: Floats) -> Measured:
        apart = np.min([gap(hanging, positions, solid) for solid in solids], axis=0)
        inside = np.any([in_one_place(hanging, positions, solid) for solid in solids], axis=0)
        return Measured(np.zeros(len(apart)), np.where(inside, -math.inf, apart), np.ones(len(apart), bool))

    return measure


def worst_spare(demands: Sequence[Demand], positions: Floats) -> Floats:
    """The least that is left of any demand that is not off, for places (n, 3).

    Grid tees do not bind a search, nor does the room above the ceiling, which is the same everywhere.
    """
    least = np.full(len(positions), np.inf)
    for demand in demands:
        if not demand.off and demand.rule != "grid-tee" and demand.against != "structure":
            least = np.minimum(least, demand.measure(positions).spare)
    return least
