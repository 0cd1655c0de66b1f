"""What hangs and swings, to devices, columns, walls and lower parts of the ceiling: as far as the file's own angle goes.

It swings about the point of the ceiling that it hangs from, whatever holds it. Without an angle in the file nothing is
asked. Other arrays, which swing as well, are not asked about; nor is the part of the ceiling that it hangs from, which
ends its swing.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Self

import numpy as np

from geometry.areas import Edges, edges_of, inside_gap, outside_gap
from geometry.clearance import Hanging, Surroundings, plan_gap, stack
from geometry.records import record
from geometry.shapes import Box, Cylinder, Point3
from geometry.swinging import Swinging, outlines, swung_gaps
from scenes.findings.cause import Cause
from scenes.room.ceiling import REST, highest_m
from scenes.room.provenance import Given
from scenes.room.scene import CABLE_RADIUS_M, Room
from scenes.room.swing import Swing
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Columns, Floats, KeptOut, Measure, Measured
from scenes.rules.surroundings import Site, Sweep, Things, edges_in, known_of
from scenes.rules.under import Region, region_over, regions_of

UP_M = 100.0
"""What is above a lower part of the ceiling goes on this far: no room is higher."""
STRIP_M = 0.05
"""A sloped part is cut into strips no higher than this, each as low as its lowest."""
STEP_M = 1e-6
"""Parts whose heights differ by less make no step."""

Spans = tuple[Floats, Floats, Floats, Floats]
"""Nearest and farthest way from the plumb line, and how far top and underside are under the ceiling: (n, m) each."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """All of it as one, for an array that hangs, where the file gives an angle."""
    swing = site.scene.suspension.swing
    if swing is None or site.array.profile.mount == "flush":
        return []
    things = site.stacked(applied.rule.id, lambda: site.fixed(("device", "obstacle")))
    return [Swung(applied, site, things, swing)]


@record(frozen=True, slots=True, eq=False)
class Strip:
    """What is above a piece of the ceiling: its outlines on plan (holes too), outer corners, and how low it comes."""

    column: int
    edges: Edges
    corners: Floats
    area: Any
    low_m: float


class Swung(Measure):
    """The swept solid to each thing, to each lower part of the ceiling, and to the walls: columns in this order.

    What is left is the distance over the most that it changes by for each metre: so it changes by a metre at most.
    """

    def __init__(self, applied: AppliedRule, site: Site, things: Things, swing: Swing) -> None:
        self.applied, self.site, self.things, self.swing = applied, site, things, swing
        self.required = applied.required if applied.own_m is not None else Given(applied.required_m)
        body, profile = site.body, site.array.profile
        self._swinging = Swinging(
            swing.angle_deg, profile.plan_radius_m, body.below_m, body.above_m, CABLE_RADIUS_M
        )
        whole = site.scene.room.whole or site.scene.room
        self._slices = self._swinging.slices_for(highest_m(whole))
        region = _region_of(site)
        self._rise = np.zeros(2) if region is None else np.array(region.surface.rise)
        self._level_m = site.ceiling_m if region is None else region.surface.level_m
        self._steepest = self._swinging.steepest_under(float(np.hypot(*self._rise)))
        lower = () if region is None else _lower(whole, region)
        self._strips = [strip for k, one in enumerate(lower) for strip in _strips(one, len(things.each) + k)]
        self._walls = edges_in((site.scene.room.outline_m,))
        self._axis = Hanging()
        self.against = (
            *(Against(one.id, one.kind, "body") for one in things.each),
            *map(_named, lower),
            Against("walls", "wall", "body"),
        )

    def swept(self, sweep: Sweep) -> Self:
        """The same with the point it hangs from swept; out of plumb it is anyway."""
        other = super().swept(sweep)
        other._axis = sweep.of(Hanging())
        return other

    def signed(self, positions: Floats) -> Floats:
        """(n, m) what is left of each column."""
        spans, columns = self._spans(positions), self._columns
        drops = self._drops(positions)
        apart = swung_gaps(self._swinging, drops, spans, self._slices)
        found = np.full((len(positions), len(self.against)), np.inf)
        np.minimum.at(found.T, columns, apart.T)
        found[:, -1] = self._to_walls(positions, drops)
        return np.asarray((found - self.required_m) / self._steepest)

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least of the columns; what is farther than `up_to_m` for sure is not worked out."""
        drops, cap = self._drops(positions), up_to_m * self._steepest + self.required_m
        least = np.minimum(self._to_walls(positions, drops), cap)
        spans = self._spans(positions)
        near, _, top, _ = spans
        _, low = self._swinging.ends_m(drops)
        lowest = np.hypot(self._swinging.radius_m, low)
        far = np.maximum(near - self._swinging.reach_m(drops)[:, None], top - lowest[:, None])
        rows, columns = np.nonzero(far < least[:, None])
        if len(rows):
            some = tuple(one[rows, columns][:, None] for one in spans)
            apart = swung_gaps(
                self._swinging, drops[rows], (some[0], some[1], some[2], some[3]), self._slices
            )
            np.minimum.at(least, rows, apart[:, 0])
        return np.asarray((least - self.required_m) / self._steepest)

    @property
    def required_m(self) -> float:
        """What is kept from what it may swing to: nothing but not to touch, or what the file asks for."""
        return 0.0 if self.required is None else self.required.value

    @property
    def _columns(self) -> Columns:
        return np.array([*self.things.columns.tolist(), *(one.column for one in self._strips)], np.intp)

    def _drops(self, positions: Floats) -> Floats:
        """(n,) how far the centre is under the ceiling straight above it."""
        return np.asarray(self._level_m + positions[:, :2] @ self._rise - positions[:, 2])

    def _to_walls(self, positions: Floats, drops: Floats) -> Floats:
        return inside_gap(self._axis, positions, self._walls) - self._swinging.reach_m(drops)

    def _spans(self, positions: Floats) -> Spans:
        """How things and strips stand to the plumb line."""
        ceiling = self._drops(positions) + positions[:, 2]
        spans = _spans_of(self.things.around, self._axis, positions, ceiling)
        if not self._strips:
            return spans
        at, more = positions[:, None, :2], self._axis.plan_radius_m
        near = [outside_gap(self._axis, positions, one.edges) for one in self._strips]
        far = [np.hypot(*np.moveaxis(at - one.corners, -1, 0)).max(axis=1) + more for one in self._strips]
        under = ceiling[:, None] - np.array([one.low_m for one in self._strips])
        strips = np.maximum(np.column_stack(near), 0.0), np.column_stack(far), under - UP_M, under
        both = [np.concatenate(pair, axis=1) for pair in zip(spans, strips, strict=True)]
        return both[0], both[1], both[2], both[3]

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """How far it stays from a thing when it swings, and by whose angle."""
        spare = float(spares[column]) * self._steepest
        sure = spare >= -MET_M or not self._by_default(column, at)
        cause = Cause(
            "swings" if sure else "swings-by-default",
            self.against[column].thing,
            angle_deg=self.swing.angle_deg,
            quoted=self.swing.source,
        )
        shown = None
        if column < len(self.things.each):
            shown = self.site.shown(at, self.things.each[column])
        return Measured(
            self.applied, self.required, spare + self.required_m, spare, cause, sure=sure, shown=shown
        )

    def _by_default(self, column: int, at: Point3) -> bool:
        """Whether it comes too near only by a default size of the thing."""
        device = self.things.each[column].device if column < len(self.things.each) else None
        if device is None or (device.size.own and device.depth.own):
            return False
        here = np.array([at])
        drops = self._drops(here)
        spans = _spans_of(stack(known_of(device)), self._axis, here, drops + here[:, 2])
        apart = swung_gaps(self._swinging, drops, spans, self._slices)
        return float(apart.min()) - self.required_m >= -MET_M

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """Each thing grown by how far what swings comes out at the heights of the thing; and along walls."""
        import shapely

        from scenes.rules.swept import kept_out

        drop = self._highest_m - height_m
        if drop <= 0:
            return
        swept = self._swept_outline(drop)
        for column, shape in zip(self.things.columns.tolist(), self.things.shapes, strict=True):
            if isinstance(shape, Box | Cylinder):
                out = _out_between(swept, self._highest_m - shape.high_m, self._highest_m - shape.low_m)
                if out > 0:
                    round_it = Hanging(radius_m=out, foot_m=shape.low_m, top_m=shape.high_m)
                    area = kept_out(round_it, shape, 0.0, height_m)
                    if area is not None and not area.is_empty:
                        yield KeptOut(self.against[column], area)
        for strip in self._strips:
            out = _out_between(swept, -UP_M, self._highest_m - strip.low_m)
            if out > 0:
                yield KeptOut(self.against[strip.column], strip.area.buffer(out))
        floor = shapely.Polygon(self.site.scene.room.outline_m)
        reach = float(self._swinging.reach_m(np.array([drop]))[0]) + self.required_m
        yield KeptOut(self.against[-1], floor.difference(floor.buffer(-reach)))

    @property
    def _highest_m(self) -> float:
        """How high the ceiling is that it hangs from; of a slope its highest."""
        return self.site.ceiling_m

    def _swept_outline(self, drop_m: float) -> Any:
        """The swept outline, with what is kept from it, as a shape on the half plane."""
        import shapely

        body, line = outlines(self._swinging, np.array([drop_m]), self._slices)
        line_too = shapely.union_all(shapely.polygons(line[0])).buffer(CABLE_RADIUS_M)
        return shapely.union_all([*shapely.polygons(body[0]), line_too]).buffer(self.required_m)


def _out_between(swept: Any, top_m: float, low_m: float) -> float:
    """How far out what is swept comes between two depths under the point; 0 where it is not between them."""
    import shapely

    between = swept.intersection(shapely.box(0.0, top_m, UP_M, low_m))
    return 0.0 if between.is_empty else float(between.bounds[2])


def _spans_of(around: Surroundings, axis: Hanging, positions: Floats, ceiling_m: Floats) -> Spans:
    """How upright shapes stand to the plumb line through each position, under a ceiling so high there (n,)."""
    away = positions[:, None, :2] - around.middle
    across = np.abs(away[..., 0] * around.along[:, 0] + away[..., 1] * around.along[:, 1])
    along = np.abs(away[..., 1] * around.along[:, 0] - away[..., 0] * around.along[:, 1])
    far = np.hypot(across + around.half[:, 0], along + around.half[:, 1]) + around.radius
    near = np.maximum(plan_gap(axis, positions, around), 0.0)
    high = ceiling_m[:, None]
    return near, np.maximum(far + axis.plan_radius_m, near), high - around.high, high - around.low


def _region_of(site: Site) -> Region | None:
    """The region whose ceiling is overhead; None where all of the ceiling is alike."""
    whole, at = site.scene.room.whole, site.array.at_m
    if whole is None:
        return None
    same = [one for one in regions_of(whole) if one.room is site.scene.room]
    return same[0] if same or at is None else region_over(whole, at)


def _named(region: Region) -> Against:
    part = region.part
    return Against(REST, "ceiling", "body") if part is None else Against(part.id, "ceiling part", "body")


def _lower(whole: Room, own: Region) -> tuple[Region, ...]:
    """The regions that come lower than the one overhead."""
    return tuple(
        one for one in regions_of(whole) if one is not own and _lowest_m(one) < own.room.ceiling_m - STEP_M
    )


def _lowest_m(region: Region) -> float:
    surface = region.surface
    return surface.level_m if surface.flat else surface.span_m[0]


def _strips(region: Region, column: int) -> Iterator[Strip]:
    """A region as pieces that are level but for `STRIP_M`."""
    import shapely

    if region.surface.flat:
        pieces = [(region.area, region.surface.level_m)]
    else:
        pieces = _level_pieces(region)
    for area, low_m in pieces:
        for one in shapely.get_parts(area):
            if one.geom_type == "Polygon" and one.area > 0:
                rings = [np.array(ring.coords[:-1]) for ring in (one.exterior, *one.interiors)]
                yield Strip(column, edges_of(rings), rings[0], one, low_m)


def _level_pieces(region: Region) -> list[tuple[Any, float]]:
    """The strips across a slope, each with its lowest height."""
    import shapely

    surface = region.surface
    low, high = surface.span_m
    rise = np.array(surface.rise)
    way = rise / float(rise @ rise)
    across = np.array([-rise[1], rise[0]]) / float(np.hypot(*rise)) * UP_M
    levels = np.linspace(low, high, max(math.ceil((high - low) / STRIP_M), 1) + 1)
    pieces = []
    for a, b in itertools.pairwise(levels.tolist()):
        start, end = (way * (level - surface.level_m) for level in (a, b))
        strip = shapely.Polygon([start - across, start + across, end + across, end - across])
        pieces.append((region.area.intersection(strip), a))
    return pieces
