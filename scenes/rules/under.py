"""Rules under a ceiling in parts: each is asked as it is under the part over the acoustic centre.

Of a rule under one part the distance to where that part is no longer overhead is as good as being met: as the
larger of the two it changes by at most a metre per metre also where the part, and with it the rule, changes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import Any, Self

import numpy as np

from geometry.areas import edges_of, outside_gap
from geometry.ceiling import Surface
from geometry.clearance import Hanging
from geometry.shapes import Point2, Point3
from scenes.room.ceiling import as_under
from scenes.room.scene import CeilingPart, Outline, Room
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import Columns, Floats, KeptOut, LeastIn, Measure, Measured
from scenes.rules.surroundings import STILL, Sweep

Rings = tuple[Outline, ...]

BORDER_M = 1e-6
"""So near to where two parts meet the rules of both are asked."""
APART_M = 1e-3
"""Parts nearer than this to one another touch."""
POINT = Hanging()
"""A place on plan."""
SMALLEST_M2 = 1e-6
"""What is left of a ceiling beside its parts, and is smaller, is rounding."""


class Region:
    """Where one and the same ceiling is overhead: the room as it is there, and its outlines (holes too).

    `box` is the region where it is one rectangle along x and y: lowest and highest. `round_it` are the others, where
    this is all that is left beside them and none of them touch: then it is as near as the least of them is far.
    """

    def __init__(self, room: Room, areas: tuple[Rings, ...], part: CeilingPart | None) -> None:
        self.room, self.areas, self.part = room, areas, part
        self.edges = edges_of([ring for rings in areas for ring in rings])
        self.box = _box_of(areas)
        self.round_it: tuple[Region, ...] = ()
        self.among: Regions
        self.number = 0
        self._last: tuple[Sweep, Floats, Floats] | None = None

    @property
    def surface(self) -> Surface:
        """Its underside: of a slope that over its part, else level everywhere."""
        if self.part is None or self.part.surface.flat:
            return Surface((), self.room.ceiling_m)
        return self.part.surface

    @cached_property
    def area(self) -> Any:
        """Its outlines as one shape on plan."""
        import shapely

        return shapely.union_all([shapely.Polygon(rings[0], rings[1:]) for rings in self.areas])

    def grid_lines(self) -> list[tuple[Point2, Point2]]:
        """The lines of its grid, as far as it goes: those across x, then those across y; none without a grid."""
        import shapely

        if self.room.grid is None:
            return []
        x0, y0, x1, y1 = self.area.bounds
        lines = []
        for axis, low, high in ((0, x0, x1), (1, y0, y1)):
            pitch, origin = self.room.grid.pitch_m[axis], self.room.grid.origin_m[axis]
            first, last = math.ceil((low - origin) / pitch - 1e-9), math.floor((high - origin) / pitch + 1e-9)
            for k in range(first, last + 1):
                at = origin + k * pitch
                ends = ((at, y0), (at, y1)) if axis == 0 else ((x0, at), (x1, at))
                lines.append(shapely.LineString(ends))
        stretches = (part for line in lines for part in shapely.get_parts(line.intersection(self.area)))
        return [
            (
                (float(part.coords[0][0]), float(part.coords[0][1])),
                (float(part.coords[-1][0]), float(part.coords[-1][1])),
            )
            for part in stretches
            if part.geom_type == "LineString" and not part.is_empty
        ]

    def outside_m(self, positions: Floats, sweep: Sweep = STILL) -> Floats:
        """(n,) how far centres (n, 3) are from it on plan, negative where it is overhead.

        Of a sweep no more than the least over its places.
        """
        if sweep is STILL:
            return self.among.outside_m(positions)[:, self.number]
        # every rule asks of the same places
        last = self._last
        if last is not None and last[0] == sweep and np.array_equal(last[1], positions):
            return last[2]
        found = self._outside(positions, sweep.of(POINT))
        self._last = sweep, positions.copy(), found
        return found

    def still_outside_m(self, positions: Floats) -> Floats:
        """(n,) how far centres are from it, not off at all."""
        return self._outside(positions, POINT)

    def _outside(self, positions: Floats, point: Hanging) -> Floats:
        if self.round_it:
            # it is overhead somewhere unless all of the point's places are under one of the others
            straight = all(one.box is not None for one in self.round_it)
            reach = point.swept_m * (1.0 if straight else math.sqrt(2)) + point.radius_m
            within = [-one.still_outside_m(positions) for one in self.round_it]
            return np.asarray(np.max(within, axis=0)) - reach
        if self.box is None or point.size_m != POINT.size_m:
            return outside_gap(point, positions, self.edges)
        low, high = self.box
        x = np.maximum(low[0] - positions[:, 0], positions[:, 0] - high[0]) - point.swept_m
        y = np.maximum(low[1] - positions[:, 1], positions[:, 1] - high[1]) - point.swept_m
        return np.where((x > 0) & (y > 0), np.hypot(x, y), np.maximum(x, y)) - point.radius_m


class Regions:
    """All regions of a room's ceiling."""

    def __init__(self, regions: tuple[Region, ...]) -> None:
        self.regions = regions
        room = regions[0].room.whole or regions[0].room
        self.whole = Region(room, ((room.outline_m,),), None)
        self._last: tuple[Floats, Floats] | None = None
        for number, region in enumerate(regions):
            region.among, region.number = self, number
        straight = [one for one in regions if one.box is not None and not one.round_it]
        self.boxes = [one.number for one in straight]
        ends = np.array([one.box for one in straight], float).reshape(-1, 2, 2)
        self.lows, self.highs = ends[:, 0], ends[:, 1]
        self.round_others = tuple(one for one in regions if one.round_it)
        self.others = tuple(one for one in regions if one.box is None and not one.round_it)

    def outside_m(self, positions: Floats) -> Floats:
        """(n, regions) how far centres (n, 3) are from each on plan, negative where it is overhead."""
        # every rule asks of the same places
        if self._last is not None and np.array_equal(self._last[0], positions):
            return self._last[1]
        found = np.empty((len(positions), len(self.regions)))
        for region in self.others:
            found[:, region.number] = region.still_outside_m(positions)
        if len(self.boxes):
            at = positions[:, None, :2]
            beside = np.maximum(self.lows - at, at - self.highs)
            x, y = beside[..., 0], beside[..., 1]
            found[:, self.boxes] = np.where((x > 0) & (y > 0), np.hypot(x, y), np.maximum(x, y))
        for region in self.round_others:
            found[:, region.number] = np.max(-found[:, [one.number for one in region.round_it]], axis=1)
        self._last = positions.copy(), found
        return found


def _box_of(areas: tuple[Rings, ...]) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The rectangle along x and y that these areas are; None where they are none, or several."""
    if len(areas) != 1 or len(areas[0]) != 1 or len(areas[0][0]) != 4:
        return None
    xs, ys = zip(*areas[0][0], strict=True)
    corners = {(x, y) for x in (min(xs), max(xs)) for y in (min(ys), max(ys))}
    return ((min(xs), min(ys)), (max(xs), max(ys))) if set(areas[0][0]) == corners else None


@lru_cache(maxsize=8)
def regions_of(room: Room) -> tuple[Region, ...]:
    """The regions of a room with ceiling parts, those that are alike as one. A sloped one is as high as its highest.

    So the cable of what hangs there is rather too long than too short.
    """
    if not room.parts:
        return Regions((Region(room, ((room.outline_m,),), None),)).regions
    import shapely

    alike: dict[tuple[Any, ...], list[Any]] = {}
    parts: dict[tuple[Any, ...], tuple[Room, CeilingPart | None]] = {}
    outlines = [shapely.Polygon(part.surface.outline_m) for part in room.parts]
    rest = shapely.Polygon(room.outline_m).difference(shapely.union_all(outlines))
    under: list[tuple[Room, CeilingPart | None, Any]] = [
        (as_under(room, part, _highest(part)), part, outline)
        for part, outline in zip(room.parts, outlines, strict=True)
    ]
    under.append((replace(room, parts=(), whole=room), None, rest))
    for here, part, area in under:
        own = None if part is None or part.surface.flat else part.id
        key = (here.ceiling_m, here.ceiling_kind, here.structure_m, here.grid, own)
        alike.setdefault(key, []).append(area)
        parts.setdefault(key, (here, part))
    found = []
    for key, areas in alike.items():
        # the corners where parts met that are one are no corners
        rings = _rings(shapely.union_all(areas).normalize().simplify(0.0))
        if rings:
            found.append(Region(parts[key][0], rings, parts[key][1]))
    rest_of = next((one for one in found if one.part is None), None)
    apart = shapely.STRtree(outlines).query(outlines, predicate="dwithin", distance=APART_M).shape[1] == len(
        outlines
    )
    if rest_of is not None and apart and len(rest_of.areas) == 1 and _within(room, outlines):
        rest_of.round_it = tuple(one for one in found if one is not rest_of)
    return Regions(tuple(found)).regions


def _within(room: Room, outlines: Sequence[Any]) -> bool:
    """Whether no part touches a wall."""
    import shapely

    walls = shapely.Polygon(room.outline_m).exterior
    return all(shapely.distance(one, walls) > APART_M for one in outlines)


def region_over(room: Room, at: tuple[float, float]) -> Region:
    """The region whose ceiling is over a place."""
    return min(regions_of(room), key=lambda one: float(one.outside_m(np.array([[*at, 0.0]]))[0]))


def _highest(part: CeilingPart) -> tuple[float, float]:
    return max(part.surface.outline_m, key=part.surface.height_m)


def _rings(area: Any) -> tuple[Rings, ...]:
    import shapely

    return tuple(
        tuple(
            tuple((float(x), float(y)) for x, y in ring.coords[:-1])
            for ring in (one.exterior, *one.interiors)
        )
        for one in shapely.get_parts(area)
        if one.geom_type == "Polygon" and one.area > SMALLEST_M2
    )


class Under(Measure):
    """A measure where one region of the ceiling is overhead; elsewhere nothing is asked."""

    def __init__(self, inner: Measure, region: Region) -> None:
        self.inner, self.region = inner, region
        self.applied, self.site, self.against = inner.applied, inner.site, inner.against
        self.same_at_all_heights = inner.same_at_all_heights

    def outside(self, positions: Floats) -> Floats:
        """(n,) how far from the region, its border counting as in it."""
        return self.region.outside_m(positions, self.inner.site.sweep) - BORDER_M

    def signed(self, positions: Floats) -> Floats:
        """(n, m) what is left, or the way to where the region is not overhead."""
        return np.maximum(self.inner.signed(positions), self.outside(positions)[:, None])

    def signed_of(self, positions: Floats, columns: Columns) -> Floats:
        """(n, k) of some columns only."""
        return np.maximum(self.inner.signed_of(positions, columns), self.outside(positions)[:, None])

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least of the columns."""
        return least_under(InRegions([self]), positions, up_to_m)

    def worst_heights(self, columns: Columns, low_m: float, high_m: float) -> Floats | None:
        """As the measure: the way to where the region is not overhead is the same at all heights."""
        return self.inner.worst_heights(columns, low_m, high_m)

    def swept(self, sweep: Sweep) -> Self:
        """The same swept: never more than the least over the places."""
        other = copy(self)
        other.inner = self.inner.swept(sweep)
        other.site = other.inner.site
        return other

    @property
    def binds(self) -> bool:
        """As the measure."""
        return self.inner.binds

    @property
    def off(self) -> bool:
        """As the measure."""
        return self.inner.off

    def judges(self, column: int) -> bool:
        """As the measure."""
        return self.inner.judges(column)

    @property
    def met_is_clear(self) -> bool:
        """As the measure."""
        return self.inner.met_is_clear

    def deciding(self, column: int, height_m: float) -> AppliedRule:
        """As the measure."""
        return self.inner.deciding(column, height_m)

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """As the measure, where the region is overhead."""
        return self.inner.finding(column, at, spares) if self.outside(np.array([at]))[0] <= 0 else None

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """What the measure keeps out of, as far as the region is overhead."""
        for one in self.inner.outlines(height_m):
            yield KeptOut(one.against, one.area.intersection(self.region.area))


class InRegions:
    """Measures under regions: those that one call answers for all of them (`joint`), the others (`alone`), by region."""

    def __init__(self, measures: Sequence[Under]) -> None:
        self.among = measures[0].region.among
        self.still = all(one.site.sweep is STILL for one in measures)
        alike: dict[tuple[type[Measure], tuple[str, ...]], list[Under]] = {}
        for one in measures:
            things = tuple(dict.fromkeys(about.thing for about in one.against))
            alike.setdefault((type(one.inner), things), []).append(one)
        joint = [(several, self._together(several)) for several in alike.values()]
        self.joint = tuple(least for _, least in joint if least is not None)
        self.alone = tuple(several for several, least in joint if least is None)
        self.by_region = self._by_region(measures)
        self.alone_by_region = self._by_region([one for several in self.alone for one in several])

    def _by_region(self, some: Sequence[Under]) -> tuple[list[Under], ...]:
        return tuple([one for one in some if one.region is region] for region in self.among.regions)

    def _together(self, several: Sequence[Under]) -> LeastIn | None:
        """The least of measures that are alike, in one call; None where they are asked one by one."""
        if len(several) == 1 or not self.still:
            return None
        numbers = [one.region.number for one in several]
        inner = [one.inner for one in several]
        return inner[0].least_in(inner, lambda at: self.outside_m(at)[:, numbers])

    def outside_m(self, positions: Floats) -> Floats:
        """(n, regions) how far from each region, its border counting as in it."""
        if self.still:
            return self.among.outside_m(positions) - BORDER_M
        away = np.full((len(positions), len(self.by_region)), math.inf)
        for number, some in enumerate(self.by_region):
            if some:
                away[:, number] = some[0].outside(positions)
        return away


def least_under(under: InRegions, positions: Floats, up_to_m: float) -> Floats:
    """(n,) the least of measures under several regions: each is asked only where it may be the least.

    Negative, it is no more than how far it is to where all of some region is met: where two regions meet what each
    asks may fail by far, and only the border between them be near. Without that a search would split cells there
    until they are as thin as the border. It still changes by at most a metre per metre, being 0 where the least is.
    """
    least = np.full(len(positions), up_to_m)
    away = under.outside_m(positions)
    for together in under.joint:
        least = np.minimum(least, together(positions, up_to_m))
    for number, some in enumerate(under.alone_by_region):
        rows = np.flatnonzero(away[:, number] <= 0)
        for one in some if len(rows) else ():
            _lower(least, one, away[:, number], rows, positions)
    nearby = (away > 0) & (away < least[:, None])
    asked = np.flatnonzero(nearby.any(axis=1)) if under.alone else np.empty(0, np.intp)
    for several in under.alone if len(asked) else ():
        doubt = asked
        if len(several) > 1 and all(one.inner.nearer_with_height for one in several):
            # what is asked under the highest region is the least anywhere: a longer cable only comes nearer
            highest = max(several, key=lambda one: one.region.room.ceiling_m)
            doubt = asked[highest.inner.least(positions[asked], up_to_m=up_to_m) < least[asked]]
        for one in several if len(doubt) else ():
            out = away[:, one.region.number]
            _lower(least, one, out, doubt[(out[doubt] > 0) & (out[doubt] < least[doubt])], positions)
    if under.still:
        _sharpen(least, under, away, positions)
    return least


def _sharpen(least: Floats, under: InRegions, away: Floats, positions: Floats) -> None:
    """Lower what is negative of `least` to how far it is to where all of some region is met, or there is no ceiling."""
    rows = np.flatnonzero(least < 0)
    if not len(rows):
        return
    at, inside = positions[rows], -away[rows]
    found = np.minimum(under.among.whole.still_outside_m(at), 0.0)
    for number in np.argsort(-inside.max(axis=0), kind="stable").tolist():
        asked = np.flatnonzero(inside[:, number] > found)
        if not len(asked):
            continue
        met = np.minimum(inside[asked, number], 0.0)
        for each in under.by_region[number]:
            met = np.minimum(met, each.inner.least(at[asked], up_to_m=0.0))
        found[asked] = np.maximum(found[asked], met)
    least[rows] = np.minimum(found, least[rows])


def _lower(least: Floats, one: Under, out: Floats, rows: Columns, positions: Floats) -> None:
    """Lower `least` at these rows to what is left of one measure there."""
    if len(rows):
        left = one.inner.least(positions[rows], up_to_m=float(least[rows].max()))
        least[rows] = np.minimum(least[rows], np.maximum(left, out[rows]))
