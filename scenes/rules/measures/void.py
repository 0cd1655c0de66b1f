"""The box above the ceiling and the line on to the structure (under an open one the box), to what reaches up there; of
a flush array its secondary support, from its body to the structure.

A distance by one rule; by another that the box is in nothing: where the line goes is overtable's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geometry.clearance import Hanging, gaps
from geometry.shapes import Box, Cylinder, Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.room.hung import box_above_ceiling
from scenes.room.scene import CABLE_RADIUS_M, Obstacle
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Floats, Measure, Measured
from scenes.rules.measures.distance import Distance
from scenes.rules.surroundings import TILE_M, Site, Thing, cable_of, known_of

AT_CEILING_M = 1e-6
"""An obstacle that ends this little under the ceiling goes up to it, and so on to the structure."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """Of a pendant under a suspended or open ceiling, of a flush array under a suspended one, where something reaches
    above it.
    """
    return _above(applied, site, Above, applied.rule.values["void"])


def in_anything(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The box in what reaches above the ceiling."""
    return _above(applied, site, InAnything, 0.0)


def _above(applied: AppliedRule, site: Site, kind: type[Above], void_m: float) -> Sequence[Measure]:
    if site.scene.room.ceiling_kind == "hard":
        return []
    if site.cable is None:
        return _second_line(applied, site, void_m) if kind is Above and not site.open else []
    high = box_above_ceiling(site.scene)
    if high and kind is InAnything and site.scene.room.structure_m is None:
        return []
    tall = site.scene.suspension.box_size_m[2]
    foot = site.ceiling_m - tall if site.open else site.ceiling_m + TILE_M
    structure_m = _structure_m(site, void_m)
    # the line goes on from the box on the tile, or up to the one on the structure
    start, end = (foot, max(structure_m - tall, foot)) if high else (foot + tall, structure_m)
    hanging: dict[Part, Hanging] = {"box": _box(site, end if high else foot)}
    if not site.open and kind is Above:
        hanging["line"] = Hanging(radius_m=CABLE_RADIUS_M, foot_m=start, top_m=max(end, start))
    reaching = foot if site.open else site.ceiling_m
    things = site.stacked(
        f"{applied.rule.id}/{reaching}/{structure_m}", lambda: _reaching(site, reaching, structure_m)
    )
    return [kind(applied, site, things, hanging)] if things.each else []


def _second_line(applied: AppliedRule, site: Site, void_m: float) -> Sequence[Measure]:
    """A flush array's secondary support, straight up from the middle of its body, which other rules are about."""
    top_m, structure_m = site.ceiling_m + site.array.profile.size_m[2], _structure_m(site, void_m)
    if structure_m <= top_m:
        return []
    line = Hanging(radius_m=CABLE_RADIUS_M, foot_m=top_m, top_m=structure_m)
    things = site.stacked(
        f"{applied.rule.id}/{top_m}/{structure_m}", lambda: _reaching(site, top_m, structure_m)
    )
    return [Above(applied, site, things, {"line": line})] if things.each else []


def _box(site: Site, foot_m: float) -> Hanging:
    width, depth, tall = site.scene.suspension.box_size_m
    return Hanging(size_m=(width, depth), turn_deg=site.array.turn_deg, foot_m=foot_m, top_m=foot_m + tall)


def _structure_m(site: Site, void_m: float) -> float:
    """How high the way up goes: to the structure, or, where the spec gives none, through a void of that height."""
    return site.scene.room.structure_m or site.ceiling_m + void_m


def _reaching(site: Site, height_m: float, structure_m: float) -> list[Thing]:
    """Devices and obstacles that reach above a height; columns up to the ceiling go on to the structure."""
    found = [
        replace(thing, own_m=None)
        for thing in site.fixed(("device",))
        if thing.device is not None and thing.device.low_m + thing.device.depth_m > height_m
    ]
    columns = [one for one in site.scene.obstacles if one.solid.high_m >= site.ceiling_m - AT_CEILING_M]
    return [*found, *(_going_on(one, structure_m) for one in columns)]


def _going_on(one: Obstacle, structure_m: float) -> Thing:
    solid = one.solid
    high = max(solid.high_m, structure_m)
    middle, tall = (*solid.middle_m[:2], (solid.low_m + high) / 2), high - solid.low_m
    if isinstance(solid, Cylinder):
        return Thing(one.id, "obstacle", (Cylinder(middle, solid.radius_m, tall),))
    return Thing(one.id, "obstacle", (Box(middle, (*solid.size_m[:2], tall), solid.turn_deg),))


class Above(Distance):
    """Distances above the ceiling; of all that is up there only the nearest is told of."""

    nearer_with_height = False
    same_at_all_heights = True

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Required and actual of the nearest."""
        return super().finding(column, at, spares) if column == int(spares.argmin()) else None

    def default_decides(self, column: int, at: Point3) -> Cause | None:
        """That it is by a default size of a thing, or of the box, that this is too near."""
        found = super().default_decides(column, at)
        if found is not None or self.site.scene.suspension.box_size.own:
            return found
        thin = [replace(prism, size_m=(0.0, 0.0), radius_m=CABLE_RADIUS_M) for prism in self._prisms]
        thing = self.thing(column)
        shapes = thing.shapes if thing.device is None else known_of(thing.device)
        apart = float(gaps(thin, np.array([at]), shapes).min())
        return None if apart - self.applied.required_m < -MET_M else Cause("default-size")


class InAnything(Above):
    """The box in a thing; by a default size of overtable's own it is only the distance that is told of."""

    @property
    def binds(self) -> bool:
        """Not where a rule keeps it at a distance."""
        kept = any(one.in_force and one.rule.measure == "void" for one in self.site.rules.values())
        return self.applied.in_force and not kept

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Where it is in a thing for sure that body and cable are not in."""
        if spares[column] >= -MET_M or self._below(column, at):
            return None
        found = Distance.finding(self, column, at, spares)
        if found is None or not found.sure:
            return None
        return replace(found, cause=Cause("runs-into", self.thing(column).id))

    def _below(self, column: int, at: Point3) -> bool:
        """Whether body or cable are in the thing, which is told of them then."""
        cable = cable_of(self.site.array, self.site.ceiling_m + TILE_M)
        hanging = (self.site.body,) if cable is None else (self.site.body, cable)
        return float(gaps(hanging, np.array([at]), self.thing(column).shapes).min()) < -MET_M
