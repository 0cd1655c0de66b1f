"""Distance in space, surface to surface, of what hangs to things of one or several shapes each."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Self

import numpy as np
from numpy.typing import NDArray

from geometry.clearance import Hanging, alike_on_plan, gaps, gaps_at_heights, least_of_many, stack
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.room.provenance import Given
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Columns, Floats, KeptOut, LeastIn, Measure, Measured
from scenes.rules.surroundings import Site, Sweep, Thing, Things, known_of


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """Body and cable to the devices, obstacles or arrays that the rule applies to."""
    kinds = applied.rule.applies_to
    things = Things.of(site.others()) if "array" in kinds else None
    if things is None:
        things = site.stacked(applied.rule.id, lambda: site.fixed(kinds))
    return [Distance(applied, site, things, site.hanging)] if things.each else []


class Distance(Measure):
    """What hangs, by part, to each thing; columns part by part."""

    nearer_with_height = True

    def __init__(
        self, applied: AppliedRule, site: Site, things: Things, hanging: Mapping[Part, Hanging]
    ) -> None:
        self.applied, self.site, self.things, self.hanging = applied, site, things, hanging
        # the rule's own is asked for only where it stands: that of a sprinkler's spray is a table, no value
        self.required_m = np.array(
            [applied.required_m if one.own_m is None else one.own_m for one in things.each], float
        )
        self.against = tuple(Against(one.id, one.kind, part) for part in hanging for one in things.each)
        self._prisms = tuple(hanging.values())
        self._owed = self.required_m[things.columns]

    def signed(self, positions: Floats) -> Floats:
        """(n, parts × things) the distance beyond what is required."""
        nearest = self.apart(positions)
        if len(self.things.shapes) > len(self.things.each):
            nearest = np.minimum.reduceat(nearest, self.things.starts, axis=2)
        return np.asarray((nearest - self.required_m).reshape(len(positions), len(self.against)))

    def apart(self, positions: Floats) -> Floats:
        """(n, parts, shapes) the distances."""
        return gaps(self._prisms, positions, self.things.around)

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least over all things, of which only those are asked that can be it."""

        def some(at: Floats, which: NDArray[np.intp]) -> Floats:
            apart = gaps(self._prisms, at, self.things.around.only(which))
            return np.asarray(apart.min(axis=1) - self._owed[which])

        return least_of_many(some, len(self.things.shapes), positions)

    def least_in(self, likes: Sequence[Self], away: Callable[[Floats], Floats]) -> LeastIn | None:
        """In one call, where they are of the same things and what hangs only reaches from and up to other heights."""
        things, parts = self.things.shapes, list(self.hanging)
        for one in likes:
            if one.things.shapes != things or (one._owed != self._owed).any() or list(one.hanging) != parts:
                return None
            if any(not alike_on_plan(one.hanging[part], self.hanging[part]) for part in parts):
                return None
        by_part = [tuple(one.hanging[part] for one in likes) for part in parts]
        by_part = [several if len(set(several)) > 1 else several[:1] for several in by_part]

        def some(at: Floats, which: NDArray[np.intp]) -> Floats:
            around = self.things.around.only(which)
            apart = [
                gaps_at_heights(several if len(set(several)) > 1 else several[:1], at, around)
                for several in by_part
            ]
            each = functools.reduce(np.minimum, apart) - self._owed[which]
            return np.asarray(np.maximum(each, away(at)[:, :, None]).min(axis=1))

        return lambda positions, up_to_m: least_of_many(some, len(things), positions)

    def signed_of(self, positions: Floats, columns: Columns) -> Floats:
        """(n, k) of some columns only: of thousands of things a few are near."""
        count = len(self.things.each)
        things, place = np.unique(columns % count, return_inverse=True)
        if 2 * len(things) > count:
            return super().signed_of(positions, columns)
        which = np.flatnonzero(np.isin(self.things.columns, things))
        apart = gaps(self._prisms, positions, self.things.around.only(which))
        starts = np.searchsorted(self.things.columns[which], things)
        left = np.minimum.reduceat(apart, starts, axis=2) - self.required_m[things]
        return np.asarray(left[:, columns // count, place])

    def worst_heights(self, columns: Columns, low_m: float, high_m: float) -> Floats | None:
        """The ends, and where a part is as far over a thing as under it: in between it comes nearer or goes away."""
        which = self.things.columns[:, None] == columns % len(self.things.each)
        around = self.things.around.only(np.flatnonzero(which.any(axis=1)))
        if around.slanted:
            return None
        level = around.low + around.high
        # from where it hangs its whole length is as high as the thing, or, with its top fixed, its foot
        turning = [
            (level - (0.0 if one.top_m is not None else one.above_m - one.below_m)) / 2
            + (one.below_m if one.top_m is not None else 0.0)
            for one in self._prisms
            if one.foot_m is None
        ]
        heights = np.clip(np.concatenate([[low_m, high_m], *turning]), low_m, high_m)
        return np.unique(heights)

    def swept(self, sweep: Sweep) -> Self:
        """The same with what hangs swept."""
        other = super().swept(sweep)
        other.hanging = {part: sweep.of(prism) for part, prism in self.hanging.items()}
        other._prisms = tuple(other.hanging.values())
        return other

    def thing(self, column: int) -> Thing:
        """The thing of a column."""
        return self.things.each[column % len(self.things.each)]

    def required(self, column: int) -> Given[float] | None:
        """What is asked there, and whose value it is."""
        own = self.thing(column).own_m
        return self.applied.required if own is None else Given(own)

    def judges(self, column: int) -> bool:
        """Whether a value is known, the rule's in this set of codes or one that the spec asks of the thing."""
        return self.applied.lacks is None or self.thing(column).own_m is not None

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Required and actual; of two arrays only the first in the file tells of the pair."""
        thing, spare = self.thing(column), float(spares[column])
        if thing.kind == "array" and thing.id in self.site.before:
            return None
        cause = self.default_decides(column, at) if spare < -MET_M else None
        actual = spare + float(self.required_m[column % len(self.things.each)])
        shown = self.site.shown(at, thing)
        if not self.judges(column):
            cause = Cause("no-code-value", self.applied.lacks)
            return Measured(self.applied, None, actual, spare, cause, judged=False, shown=shown)
        return Measured(
            self.applied, self.required(column), actual, spare, cause, sure=cause is None, shown=shown
        )

    def default_decides(self, column: int, at: Point3) -> Cause | None:
        """Which default of overtable's own it is by which this thing is too near; None where what is given is."""
        thing, required = self.thing(column), float(self.required_m[column % len(self.things.each)])
        device = thing.device
        if device is None or (device.size.own and device.depth.own):
            return None
        apart = float(gaps(self._prisms, np.array([at]), known_of(device)).min())
        if apart - required < -MET_M:
            return None
        return Cause("default-depth" if device.size.own else "default-size", device.id)

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """Each shape grown by the hanging outline and by what is required."""
        from scenes.rules.swept import kept_out

        for part, prism in self.hanging.items():
            for column, shape in zip(self.things.columns.tolist(), self.things.shapes, strict=True):
                thing = self.things.each[column]
                area = kept_out(prism, shape, float(self.required_m[column]), height_m)
                if area is not None and not area.is_empty:
                    yield KeptOut(Against(thing.id, thing.kind, part), area)


def least_together(measures: Sequence[Distance]) -> Callable[[Floats], Floats]:
    """(n, 3) positions to (n, k): the least of each of these measures of one array, all in one call."""
    around = stack([shape for one in measures for shape in one.things.shapes])
    owed = np.concatenate([one._owed for one in measures])
    starts = np.cumsum([0, *(len(one.things.shapes) for one in measures[:-1])])
    prisms = measures[0]._prisms

    def least(positions: Floats) -> Floats:
        left = gaps(prisms, positions, around).min(axis=1) - owed
        return np.asarray(np.minimum.reduceat(left, starts, axis=1))

    return least
