"""The ceiling itself under its parts: what is above each is a solid that no body may enter."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any, Self

import numpy as np

from geometry.areas import (
    Areas,
    Box,
    Edges,
    edges_of,
    inside_boxes_gap,
    inside_gap,
    outside_gap,
    outside_gaps,
)
from geometry.ceiling import Surface
from geometry.clearance import Hanging
from geometry.pieces import convex_pieces
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.room.ceiling import REST, part_over, with_room
from scenes.room.hung import box_above_ceiling, footing_of
from scenes.room.scene import CABLE_RADIUS_M, Array, CeilingPart, Room, Scene
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Floats, KeptOut, LeastIn, Measure, Measured
from scenes.rules.surroundings import Site, Sweep, body_of
from scenes.rules.under import Region, Under, regions_of

SIDES = 48
"""A round body under a slope is taken as a polygon round it of so many sides: at most 0.2 % too large."""
UP_M = 100.0
"""What is above a slope goes on this far: no room is higher."""
FAR_M = 1000.0
"""Half planes are drawn this far: no room is larger."""
STEP_M = 1e-6
"""Parts whose heights differ by less make no step."""


def ceilings(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """What is above the ceiling's parts, of a room that has some: solids that no body may enter."""
    whole = site.scene.room.whole or site.scene.room
    if not whole.parts:
        return []
    if site.array.profile.mount == "flush":
        return [_within(applied, site, whole, _region_like(whole, site))]
    return [Ceilings(applied, site, whole), *_hung_within(applied, site, whole)]


def _hung_within(applied: AppliedRule, site: Site, whole: Room) -> Sequence[Measure]:
    """That a pendant hangs from one level of the ceiling; for any place a measure for each part over it."""
    if not site.scene.room.parts:
        return [_within(applied, site, whole, _region_like(whole, site))]
    under = [(region, site.in_scene(with_room(site.scene, region.room))) for region in regions_of(whole)]
    return [Under(Within(applied, here, whole, region), region) for region, here in under]


def _within(applied: AppliedRule, site: Site, whole: Room, region: Region) -> Within:
    """The measure where the array's place is known, and with it the part over it."""
    at = site.array.at_m
    return Within(applied, site, whole, region, None if at is None else part_over(whole, at))


def steps_of(scene: Scene, array: Array) -> Ceilings | None:
    """The ceiling's parts about an array, a flush one too, wherever it hangs; None of a ceiling that is all one."""
    whole = scene.room.whole or scene.room
    if not whole.parts:
        return None
    site = Site(scene, array)
    [applied] = [one for one in site.rules.values() if "structure" in one.rule.applies_to]
    return Ceilings(applied, site, whole)


class Ceilings(Measure):
    """The body and what is above each part of the ceiling, up for ever: a stop for it, not a loss."""

    stop = True

    def __init__(self, applied: AppliedRule, site: Site, whole: Room) -> None:
        self.applied, self.site = applied, site
        self.regions = regions_of(whole)
        self.against = tuple(_named(one) for one in self.regions)
        self._planes = [_planes(region, site.body) for region in self.regions]
        self._flat = [k for k, planes in enumerate(self._planes) if planes is None]
        level = [self.regions[k] for k in self._flat]
        self._beside = Areas.of([region.edges for region in level]) if level else None
        self._levels = np.array([region.room.ceiling_m for region in level])

    @property
    def binds(self) -> bool:
        """Always: switching a rule off makes no hole."""
        return True

    def swept(self, sweep: Sweep) -> Self:
        """The same with the body swept."""
        other = super().swept(sweep)
        other._planes = [_planes(region, other.site.body) for region in self.regions]
        return other

    def signed(self, positions: Floats) -> Floats:
        """(n, regions) how far the body is from each."""
        top = self.site.body.high_m(positions[:, 2])
        found = np.empty((len(positions), len(self.regions)))
        if self._beside is not None:
            beside = outside_gaps(self.site.body, positions, self._beside)
            under = self._levels - top[:, None]
            both = np.hypot(beside, under)
            found[:, self._flat] = np.where((beside > 0) & (under > 0), both, np.maximum(beside, under))
        for column, planes in enumerate(self._planes):
            if planes is not None:
                at = np.column_stack([positions[:, :2], top])
                signed = [(at @ normals.T + offsets).max(axis=1) for normals, offsets in planes]
                found[:, column] = np.min(signed, axis=0)
        return found

    def off_steps(self, positions: Floats, spare_m: float) -> Floats:
        """(n,) signed: the body under each part, or on plan so far beside it; for a flush one its face counts."""
        flush = self.site.array.profile.mount == "flush"
        body, z = self.site.body, positions[:, 2]
        height = body.low_m(z) if flush else body.high_m(z)
        least = np.full(len(positions), np.inf)
        for region, planes in zip(self.regions, self._planes, strict=True):
            if planes is None:
                under, some = region.room.ceiling_m - height, np.arange(len(positions))
                some = some[under < least]
                beside = outside_gap(body, positions[some], region.edges) - spare_m
                least[some] = np.minimum(least[some], np.maximum(under[some], beside))
                continue
            at = np.column_stack([positions[:, :2], height])
            for normals, offsets in planes:
                # beside its upright sides so far, or under its slope
                upright = np.abs(normals[:, 2]) < STEP_M
                kept = offsets - np.where(upright, spare_m, 0.0)
                least = np.minimum(least, (at @ normals.T + kept).max(axis=1))
        return least

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Where the body is in what is above."""
        spare = float(spares[column])
        if spare >= -MET_M:
            return None
        cause = Cause("runs-into", self.against[column].thing)
        return Measured(self.applied, self.applied.required, spare, spare, cause)

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """Where the body would be in it at that height."""
        import shapely

        from scenes.rules.swept import over

        top = float(self.site.body.high_m(np.array(height_m)))
        for against, region in zip(self.against, self.regions, strict=True):
            low = region.area
            if not region.surface.flat:
                low = low.intersection(_under_plane(region.surface, top))
            elif region.room.ceiling_m >= top - MET_M:
                continue
            pieces = [one for one in shapely.get_parts(low) if one.geom_type == "Polygon" and one.area > 0]
            for piece in pieces:
                holes = [ring.coords[:-1] for ring in piece.interiors]
                yield KeptOut(against, over(self.site.body, piece.exterior.coords[:-1], holes))


class Within(Measure):
    """What holds an array, wholly in one part of the ceiling: of a flush one the body itself, which nothing moves out
    of it; of a pendant, on one level, its box, or the cable of one on the structure above.

    Beside a step half of a box would be in the air, or in what is above the lower part.
    """

    same_at_all_heights = True

    def __init__(
        self, applied: AppliedRule, site: Site, whole: Room, region: Region, part: CeilingPart | None = None
    ) -> None:
        self.applied, self.site = applied, site
        self.stop = site.array.profile.mount == "flush"
        by: Part = "cable" if box_above_ceiling(site.scene) else "box"
        self._by = body_of(site.array) if self.stop else footing_of(site.scene, site.array)
        own = region.edges, region.box
        self._edges, self._box = own if self.stop else _level_edges(whole, regions_of(whole).index(region))
        self.against = (replace(_named(region, part), part="body" if self.stop else by),)

    @property
    def binds(self) -> bool:
        """Of a flush body always: switching a rule off makes no hole."""
        return self.stop or super().binds

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) how far inside the edge it is."""
        by = self.site.sweep.of(self._by)
        if self._box is not None:
            return inside_boxes_gap(by, positions, np.array([self._box]))
        return inside_gap(by, positions, self._edges)[:, None]

    def least_in(self, likes: Sequence[Self], away: Callable[[Floats], Floats]) -> LeastIn | None:
        """All that are rectangles along x and y in one call."""
        by = self.site.sweep.of(self._by)
        if any(one._by != self._by for one in likes):
            return None
        straight = [k for k, one in enumerate(likes) if one._box is not None]
        boxes = np.array([likes[k]._box for k in straight], float).reshape(-1, 2, 2)
        others = [(k, one._edges) for k, one in enumerate(likes) if one._box is None]

        def least(positions: Floats, up_to_m: float) -> Floats:
            found = away(positions)
            found[:, straight] = np.maximum(found[:, straight], inside_boxes_gap(by, positions, boxes))
            for k, edges in others:
                found[:, k] = np.maximum(found[:, k], inside_gap(by, positions, edges))
            return np.asarray(found.min(axis=1))

        return least

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Where it lies across the edge; by a default size of the box it is only advised against."""
        spare = float(spares[column])
        if spare >= -MET_M:
            return None
        cable = inside_gap(Hanging(radius_m=CABLE_RADIUS_M), np.array([at]), self._edges)
        sure = self.stop or self.site.scene.suspension.box_size.own or float(cable[0]) < -MET_M
        cause = Cause("across-edge", self.against[0].thing)
        return Measured(self.applied, self.applied.required, spare, spare, cause, sure=sure)


@lru_cache(maxsize=64)
def _level_edges(whole: Room, number: int) -> tuple[Edges, Box | None]:
    """The edges of the ceiling as high as one of its regions, across those of another kind; of a slope its own.

    And the rectangle along x and y, where it is one.
    """
    regions = regions_of(whole)
    region = regions[number]
    if not region.surface.flat:
        return region.edges, region.box
    level_m = region.room.ceiling_m
    level = [one for one in regions if one.surface.flat and abs(one.room.ceiling_m - level_m) < STEP_M]
    if len(level) == 1:
        return region.edges, region.box
    import shapely

    # joined across a hair, so that parts laid edge to edge are one
    joined = shapely.union_all([one.area.buffer(STEP_M, join_style="mitre") for one in level])
    areas = [one for one in shapely.get_parts(joined) if one.geom_type == "Polygon"]
    return edges_of([ring.coords[:-1] for one in areas for ring in (one.exterior, *one.interiors)]), None


def _region_like(whole: Room, site: Site) -> Region:
    """Of the regions that may be what is overhead, the one nearest to the array's place: of a slope any height may."""
    here, at = site.scene.room, site.array.at_m

    def same(region: Region) -> bool:
        there = region.room
        kind = (there.ceiling_kind, there.structure_m, there.grid)
        level = not region.surface.flat or there.ceiling_m == here.ceiling_m
        return level and kind == (here.ceiling_kind, here.structure_m, here.grid)

    return min(
        filter(same, regions_of(whole)),
        key=lambda one: math.inf if at is None else float(one.outside_m(np.array([[*at, 0.0]]))[0]),
    )


def _named(region: Region, part: CeilingPart | None = None) -> Against:
    part = part or region.part
    return Against(REST, "ceiling", "body") if part is None else Against(part.id, "ceiling part", "body")


def _under_plane(surface: Surface, top_m: float) -> Any:
    """Where a slope is lower than a height, on plan, far out."""
    import shapely

    rise = np.array(surface.rise)
    steep = float(np.hypot(*rise))
    way, across = rise / steep, np.array([-rise[1], rise[0]]) / steep
    middle = np.mean(np.array(surface.outline_m), axis=0)
    edge = middle + way * (top_m - surface.height_m((float(middle[0]), float(middle[1])))) / steep
    ends = [edge - FAR_M * across, edge + FAR_M * across]
    return shapely.Polygon([*ends, ends[1] - FAR_M * way, ends[0] - FAR_M * way])


def _planes(region: Region, body: Hanging) -> list[tuple[Floats, Floats]] | None:
    """The planes about the centres at which the body's top is above a slope, by convex piece; None of a flat one.

    The body's top is an outline: the centres are the part's prism grown by the outline, mirrored.
    """
    surface = region.surface
    if surface.flat:
        return None
    from scipy.spatial import ConvexHull

    offsets = _outline(body)
    found = []
    for piece in convex_pieces(surface.outline_m):
        on = np.array(piece)
        heights = np.array([surface.height_m(corner) for corner in piece])
        grown = (on[:, None, :] - offsets).reshape(-1, 2)
        each = np.repeat(heights, len(offsets))
        low, high = np.column_stack([grown, each]), np.column_stack([grown, np.full(len(grown), UP_M)])
        equations = np.unique(np.round(ConvexHull(np.concatenate([low, high])).equations, 12), axis=0)
        found.append((equations[:, :3], equations[:, 3]))
    return found


def _outline(body: Hanging) -> Floats:
    """(k, 2) corners of the body's outline about its centre; of a round one those of a polygon round it."""
    turn = math.radians(body.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    x, y, q = body.size_m[0] / 2, body.size_m[1] / 2, body.swept_m
    corners = np.array([[c * u - s * v, s * u + c * v] for u, v in ((x, y), (-x, y), (-x, -y), (x, -y))])
    square = np.array([[q, q], [-q, q], [-q, -q], [q, -q]])
    round_ = np.zeros((1, 2))
    if body.radius_m:
        turns = 2 * math.pi * np.arange(SIDES) / SIDES
        round_ = body.radius_m / math.cos(math.pi / SIDES) * np.column_stack([np.cos(turns), np.sin(turns)])
    sums = corners[:, None, None, :] + square[:, None, :] + round_
    return np.unique(sums.reshape(-1, 2), axis=0)
