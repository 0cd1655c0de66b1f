"""The ceiling itself under its parts: what is above each is a solid that no body may enter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Self

import numpy as np

from geometry.areas import inside_gap, outside_gap
from geometry.ceiling import Surface
from geometry.clearance import Hanging
from geometry.pieces import convex_pieces
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.room.ceiling import REST, part_over
from scenes.room.scene import CeilingPart, Room
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Floats, KeptOut, Measure, Measured
from scenes.rules.surroundings import Site, Sweep
from scenes.rules.under import Region, regions_of

SIDES = 48
"""A round body under a slope is taken as a polygon round it of so many sides: at most 0.2 % too large."""
UP_M = 100.0
"""What is above a slope goes on this far: no room is higher."""
FAR_M = 1000.0
"""Half planes are drawn this far: no room is larger."""


def ceilings(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """What is above the ceiling's parts, of a room that has some: solids that no body may enter."""
    whole = site.scene.room.whole or site.scene.room
    if not whole.parts:
        return []
    if site.array.profile.mount == "flush":
        return [WithinPart(applied, site, whole)]
    return [Ceilings(applied, site, whole)]


class Ceilings(Measure):
    """The body and what is above each part of the ceiling, up for ever: a stop for it, not a loss."""

    stop = True

    def __init__(self, applied: AppliedRule, site: Site, whole: Room) -> None:
        self.applied, self.site = applied, site
        self.regions = regions_of(whole)
        self.against = tuple(_named(one) for one in self.regions)
        self._planes = [_planes(region, site.body) for region in self.regions]

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
        for column, region in enumerate(self.regions):
            planes = self._planes[column]
            if planes is None:
                beside = outside_gap(self.site.body, positions, region.edges)
                under = region.room.ceiling_m - top
                both = np.hypot(beside, under)
                found[:, column] = np.where((beside > 0) & (under > 0), both, np.maximum(beside, under))
            else:
                at = np.column_stack([positions[:, :2], top])
                signed = [(at @ normals.T + offsets).max(axis=1) for normals, offsets in planes]
                found[:, column] = np.min(signed, axis=0)
        return found

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


class WithinPart(Measure):
    """A flush body wholly in the part of the ceiling that it lies in."""

    same_at_all_heights = True
    stop = True

    def __init__(self, applied: AppliedRule, site: Site, whole: Room) -> None:
        self.applied, self.site = applied, site
        at = site.array.at_m
        part = None if at is None else part_over(whole, at)
        self.region = next(one for one in regions_of(whole) if _is_under(one, site.scene.room, part))
        self.against = (_named(self.region, part),)

    @property
    def binds(self) -> bool:
        """Always."""
        return True

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) how far inside the part's edge the body is."""
        return inside_gap(self.site.body, positions, self.region.edges)[:, None]

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Where it lies across the edge."""
        spare = float(spares[column])
        if spare >= -MET_M:
            return None
        return Measured(
            self.applied, self.applied.required, spare, spare, Cause("across-edge", self.against[0].thing)
        )


def _is_under(region: Region, here: Room, part: CeilingPart | None) -> bool:
    same = (region.room.ceiling_m, region.room.ceiling_kind, region.room.structure_m, region.room.grid)
    return same == (here.ceiling_m, here.ceiling_kind, here.structure_m, here.grid) and (
        part is None or region.surface.flat
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
