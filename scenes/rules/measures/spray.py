"""The spray of a sprinkler: of a body that hangs free three times its size, of a wide one at the ceiling by a table.

Allowed is: at or above the ceiling, or fixed to it and the table is met, or hanging free and (wholly under the
plane below the deflector and not too wide, or not under the deflector at all, or far enough away). Both rules are one
measure: as two, each met where the other decides, the height at which a body just counts as fixed would belong
to neither. Sprinklers of other than standard spray are not judged; the search keeps the standard distance.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from typing import Self

import numpy as np
from numpy.typing import NDArray

from geometry.clearance import Surroundings, least_of_many, plan_gap, stack, table_value, three_times_m
from geometry.records import record
from geometry.shapes import Disc, Point3
from scenes.findings.cause import Cause, CauseName
from scenes.findings.clearance import Part
from scenes.room.provenance import Given
from scenes.room.scene import CABLE_RADIUS_M, Device
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Columns, Floats, KeptOut, LeastIn, Measure, Measured
from scenes.rules.measures.distance import Distance
from scenes.rules.surroundings import Site, Sweep, Thing, Things

SPRAYS: dict[str, CauseName] = {
    "unknown": "unknown-spray",
    "extended": "extended-spray",
    "sidewall": "sidewall-spray",
    "special": "special-spray",
}
"""The sprays that are not judged."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """Sprinklers with a clearance of their own are a plain distance; the others spray."""
    fixed = site.fixed(applied.rule.applies_to)
    own = [thing for thing in fixed if thing.own_m is not None]
    spraying = [thing.device for thing in fixed if thing.own_m is None and thing.device is not None]
    found: list[Measure] = [Distance(applied, site, Things.of(own), site.hanging)] if own else []
    return [*found, Spray(applied, site, spraying)] if spraying else found


def most_below_m(table: Sequence[tuple[float, float]], distance_m: float) -> float:
    """How far under a deflector a wide body at the ceiling may project at this plan distance, by the table."""
    return float(table_value(table, distance_m))


def table_distance_m(table: Sequence[tuple[float, float]], below_m: float) -> float:
    """The least distance at which something may reach `below_m` under the deflector; inf past the table."""
    if below_m <= 0:
        return 0.0
    return next((distance for distance, most in table if below_m <= most + MET_M), math.inf)


@record(frozen=True, eq=False)
class _Heads:
    """Some sprinklers: their middles on plan, and the heights of their deflectors."""

    points: Surroundings
    deflector: Floats

    def only(self, which: NDArray[np.intp]) -> _Heads:
        return _Heads(self.points.only(which), self.deflector[which])


@record(frozen=True, slots=True)
class _Decided:
    """What is required and what is there, by whichever rule decides, and why."""

    required: Given[float] | None
    actual_m: float
    cause: Cause
    judged: bool = True


class Spray(Measure):
    """Body and cable against sprinklers; a column each, the bodies' first."""

    rise_m = 0.0
    """How much higher the top of the prism is that holds the body out of true, than the body's own top."""

    def __init__(self, applied: AppliedRule, site: Site, devices: Sequence[Device]) -> None:
        self.applied, self.site, self.devices = applied, site, tuple(devices)
        [self.table] = applied.also
        values, profile = applied.rule.values, site.array.profile
        self.width_m = max(profile.size_m[:2])
        self.plane_m, self.widest_m = values["plane"], values["widest_below"]
        if applied.rule.lacks is not None and applied.own_m is not None:
            self.plane_m = math.inf  # no exception of one code goes with a distance by another
        away = {
            "body": three_times_m(max(profile.size_m), values["cap"]),
            # a cable is upright: its cap does not count
            "cable": three_times_m(2 * CABLE_RADIUS_M, None),
        }
        self.away: dict[str, Given[float]] = {
            part: applied.required or Given(metres, "default") for part, metres in away.items()
        }
        self.wide = self.width_m > self.table.rule.values["wider_than"] and profile.mount == "pendant"
        self.parts: tuple[Part, ...] = tuple(site.hanging)
        self.against = tuple(
            Against(device.id, device.kind, part) for part in self.parts for device in devices
        )
        self._heads = _Heads(
            stack([Disc((*device.at_m, device.low_m), 0.0) for device in devices]),
            np.array([device.low_m for device in devices]),
        )

    # Signed distances ---------------------------------------------------------------------------------

    @property
    def binds(self) -> bool:
        """Whether the distance, or of a wide body the table, is in force."""
        return self.applied.in_force or (self.wide and self.table.in_force)

    @property
    def off(self) -> bool:
        """Whether the distance, and of a wide body the table, is switched off."""
        return self.applied.off and (not self.wide or self.table.off)

    @property
    def met_is_clear(self) -> bool:
        """A wide body may be in a place that the table does not judge."""
        return False

    def judges(self, column: int) -> bool:
        """Whether the sprinkler's spray is standard, and its code one whose values are known."""
        known = self.applied.lacks is None
        return known and self.devices[column % len(self.devices)].spray == "standard"

    def signed(self, positions: Floats) -> Floats:
        """(n, parts × sprinklers) what is left of whichever rule decides there."""
        return np.concatenate([self._of(part, positions, self._heads) for part in self.parts], axis=1)

    def signed_of(self, positions: Floats, columns: Columns) -> Floats:
        """(n, k) of some columns only."""
        count = len(self.devices)
        which, place = np.unique(columns % count, return_inverse=True)
        heads = self._heads.only(which)
        found = [self._of(part, positions, heads) for part in self.parts]
        return np.asarray(np.stack(found)[columns // count, :, place].T)

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least over the sprinklers, of which only those are asked that can be it."""

        def some(at: Floats, which: NDArray[np.intp]) -> Floats:
            heads = self._heads.only(which)
            return np.asarray(np.min([self._of(part, at, heads) for part in self.parts], axis=0))

        return least_of_many(some, len(self.devices), positions)

    def least_in(self, likes: Sequence[Self], away: Callable[[Floats], Floats]) -> LeastIn | None:
        """In one call: the distances on plan are the same under all of them."""
        cable_of_one = self.site.cable
        if cable_of_one is None or any(one.site.body != self.site.body for one in likes):
            return None

        def some(at: Floats, which: NDArray[np.intp], up_to_m: float) -> Floats:
            heads, out = self._heads.only(which), away(at)
            body, cable = (plan_gap(one, at, heads.points) for one in (self.site.body, cable_of_one))
            # no region asks for more than the distances, but for a table
            may = np.minimum(body - self.away["body"].value, cable - self.away["cable"].value)
            may = np.full(body.shape, -np.inf) if self.wide or self.applied.off else may
            least = np.where(may < up_to_m, np.inf, up_to_m)
            for overhead, (k, one) in itertools.product((True, False), enumerate(likes)):
                open_ = (out[:, k, None] < least) & (may < least) & ((out[:, k, None] <= 0) == overhead)
                rows = np.flatnonzero(open_.any(axis=1))
                if len(rows):
                    mine = heads, at[rows]
                    left = np.minimum(one._body(*mine, body[rows]), one._cable(*mine, cable[rows]))
                    least[rows] = np.minimum(least[rows], np.maximum(left, out[rows, k, None]))
            return least

        return lambda positions, up_to_m: least_of_many(
            lambda at, which: some(at, which, up_to_m), len(self.devices), positions
        )

    def spares(self, at: Point3) -> Floats:
        """(m,) what is left; of a body fixed to the ceiling there is no cable to speak of."""
        spares = super().spares(at)
        if self._top_m(at[2]) >= self.site.ceiling_m - MET_M:
            spares[len(self.devices) :] = np.inf
        return spares

    def _of(self, part: Part, positions: Floats, heads: _Heads) -> Floats:
        if part == "body":
            return self._body(heads, positions, plan_gap(self.site.body, positions, heads.points))
        if self.applied.off or self.site.cable is None:
            return np.full((len(positions), len(heads.deflector)), np.inf)
        return self._cable(heads, positions, plan_gap(self.site.cable, positions, heads.points))

    def swept(self, sweep: Sweep) -> Self:
        """The same with what hangs swept."""
        other = super().swept(sweep)
        other.rise_m = other.site.body.above_m - self.site.body.above_m
        return other

    def _body(self, heads: _Heads, positions: Floats, apart: Floats) -> Floats:
        low, top = self._heights(positions)
        recessed = np.broadcast_to(low - self.site.ceiling_m, apart.shape)
        free = np.full(apart.shape, np.inf) if self.applied.off else self._free(apart, low, top, heads)
        if not self.wide:
            return np.maximum(recessed, free)
        either = self._either(top, free, apart, heads.deflector - low)
        if self.rise_m:
            # out of true the body's top is anywhere between: it may count as fixed to the ceiling and as not
            either = np.minimum(either, self._either(top - self.rise_m, free, apart, heads.deflector - low))
        return np.maximum(recessed, either)

    def _either(self, top: Floats, free: Floats, apart: Floats, below: Floats) -> Floats:
        """Of a wide body with its top there: not fixed to the ceiling and free, or fixed and the table is met."""
        at_ceiling = np.broadcast_to(top - self._fixed_from_m, apart.shape)
        either = np.minimum(-at_ceiling, free)
        # the table counts only where being fixed is more than that: it need not be looked up elsewhere
        asked = at_ceiling > either
        if asked.any():
            fixed = self._fixed(apart[asked], below[asked])
            either[asked] = np.maximum(either[asked], np.minimum(at_ceiling[asked], fixed))
        return either

    def _free(self, apart: Floats, low: Floats, top: Floats, heads: _Heads) -> Floats:
        """Far enough away, or not under the deflector, or wholly under the plane and not too wide."""
        free = np.maximum(apart - self.away["body"].value, low - heads.deflector)
        if self.width_m <= self.widest_m + MET_M:
            free = np.maximum(free, heads.deflector - self.plane_m - top)
        return np.asarray(free)

    def _fixed(self, apart: Floats, below: Floats) -> Floats:
        """(k,) far enough away for how deep it reaches under the deflector, by the rows of the table."""
        if self.table.off:
            return np.full(apart.shape, np.inf)
        own = self.table.own_m
        if own is not None:
            return np.asarray(np.maximum(apart - own, -below))
        distance, most = np.array(self.table.rule.table).T
        rows = np.minimum(apart[:, None] - distance, most - below[:, None])
        return np.asarray(np.maximum(rows.max(axis=1), -below))

    def _cable(self, heads: _Heads, positions: Floats, apart: Floats) -> Floats:
        if self.applied.off:
            return np.full(apart.shape, np.inf)
        # the cable ends at the ceiling, and a body fixed there has none
        _, top = self._heights(positions)
        # a rim that is higher out of true does not end the cable
        return np.maximum(apart - self.away["cable"].value, top - self.rise_m - self.site.ceiling_m)

    def _heights(self, positions: Floats) -> tuple[Floats, Floats]:
        z = positions[:, 2]
        return self.site.body.low_m(z)[:, None], self.site.body.high_m(z)[:, None]

    @property
    def _fixed_from_m(self) -> float:
        """A body whose top is no lower than this counts as fixed to the ceiling."""
        return self.site.ceiling_m - self.table.rule.values["fixed_within"]

    # What decides, and what it says --------------------------------------------------------------------

    def deciding(self, column: int, height_m: float) -> AppliedRule:
        """The table for a wide body at the ceiling, else the distance."""
        at_ceiling = self.wide and self._top_m(height_m) >= self._fixed_from_m
        return self.table if self.against[column].part == "body" and at_ceiling else self.applied

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Required and actual in the terms of whatever decides, and why."""
        device, part = self.devices[column % len(self.devices)], self.against[column].part
        prism = self.site.cable if part == "cable" and self.site.cable is not None else self.site.body
        actual = float(plan_gap(prism, at, [Disc((*device.at_m, device.low_m), 0.0)])[0, 0])
        rule = self.deciding(column, at[2])
        decided = self._decided(device, part, rule, at[2], actual)
        shown = self.site.shown(at, Thing(device.id, device.kind, (device.solid,), None, device))
        return Measured(
            rule,
            decided.required,
            decided.actual_m,
            float(spares[column]),
            decided.cause,
            decided.judged,
            shown=shown,
        )

    def _decided(
        self, device: Device, part: Part | None, rule: AppliedRule, height_m: float, actual_m: float
    ) -> _Decided:
        low, top = float(self.site.body.low_m(np.array(height_m))), self._top_m(height_m)
        below, spray = device.low_m - low, SPRAYS.get(device.spray or "unknown")
        if part == "body" and low >= self.site.ceiling_m - MET_M:
            return _Decided(None, actual_m, Cause("recessed"))
        if rule.lacks is not None:
            return _Decided(None, actual_m, Cause("no-code-value", rule.lacks), judged=False)
        if spray is not None:
            return _Decided(None, actual_m, Cause(spray), judged=False)
        if part == "cable":
            return _Decided(self.away["cable"], actual_m, Cause("beside-cable"))
        if rule is self.table:
            return self._at_ceiling(below, actual_m)
        if device.low_m - top >= self.plane_m - MET_M:
            if self.width_m > self.widest_m + MET_M:
                cause = Cause("too-wide-below-plane", may_m=self.widest_m)
                return _Decided(None, actual_m, cause, judged=False)
            cause = Cause("below-plane", may_m=self.widest_m)
            return _Decided(Given(self.plane_m, "default"), device.low_m - top, cause)
        if below <= MET_M:
            return _Decided(None, actual_m, Cause("above-deflector"))
        return _Decided(self.away["body"], actual_m, Cause("beside-sprinkler"))

    def _at_ceiling(self, below_m: float, actual_m: float) -> _Decided:
        if below_m <= 0:
            return _Decided(None, actual_m, Cause("above-deflector"))
        may = most_below_m(self.table.rule.table, actual_m)
        if self.table.own_m is not None:
            cause = Cause("wide-at-ceiling", have_m=below_m, may_m=may)
            return _Decided(self.table.required, actual_m, cause)
        reach = table_distance_m(self.table.rule.table, below_m)
        if math.isinf(reach):
            cause = Cause("deeper-than-table", have_m=below_m, may_m=may)
            return _Decided(None, actual_m, cause, judged=False)
        cause = Cause("wide-at-ceiling", have_m=below_m, may_m=may)
        return _Decided(Given(reach, "default"), actual_m, cause)

    def _top_m(self, height_m: float) -> float:
        return float(self.site.body.high_m(np.array(height_m)))

    # Where it may not be -------------------------------------------------------------------------------

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """Discs about the sprinklers, as far as whichever rule decides at that height asks."""
        from scenes.rules.swept import round_point

        for column, (device, against) in enumerate(zip(self.devices, self.against, strict=False)):
            reach = self._body_reach_m(device, column, height_m)
            if reach > 0:
                yield KeptOut(against, round_point(self.site.body, device.at_m, reach))
        if self.site.cable is None or self.applied.off or self._top_m(height_m) >= self.site.ceiling_m:
            return
        for device, against in zip(self.devices, self.against[len(self.devices) :], strict=True):
            area = round_point(self.site.cable, device.at_m, self.away["cable"].value)
            yield KeptOut(against, area)

    def _body_reach_m(self, device: Device, column: int, height_m: float) -> float:
        """How far the body stays from a sprinkler at that height; 0 where nothing is asked."""
        low, top = float(self.site.body.low_m(np.array(height_m))), self._top_m(height_m)
        rule = self.deciding(column, height_m)
        if low >= self.site.ceiling_m or low >= device.low_m or rule.off:
            return 0.0
        if rule is self.table:
            reach = (
                table_distance_m(rule.rule.table, device.low_m - low) if rule.own_m is None else rule.own_m
            )
            return min(reach, self._across_m)
        tolerated = top <= device.low_m - self.plane_m and self.width_m <= self.widest_m + MET_M
        return 0.0 if tolerated else self.away["body"].value

    @property
    def _across_m(self) -> float:
        """The room's diagonal: a distance that leaves no place."""
        (low_x, low_y), (high_x, high_y) = self.site.scene.room.bounds_m
        return math.hypot(high_x - low_x, high_y - low_y)
