"""The room above the ceiling: what a flush body, or the box of one that hangs, needs there, and what is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.room.ceiling import solid_above_m
from scenes.room.provenance import Given
from scenes.room.scene import Device, Scene
from scenes.room.tiles import ON_IT_M
from scenes.rules.applied import AppliedRule, applied_rules
from scenes.rules.measure import MET_M, Against, Floats, Measure, Measured
from scenes.rules.surroundings import Site

STRUCTURE = "structure"
"""What it is called in a row, and its kind."""

GOES_UP: tuple[str, ...] = ("beam", "bulkhead")
"""Kinds of devices that are part of the structure, or go up to it."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The structure, where there is less room under it than is needed."""
    part, needed_m = _needed(site)
    solid_m = solid_above_m(site.scene.room)
    if solid_m is None or solid_m - site.ceiling_m - needed_m >= -MET_M:
        return []
    return [TooLittle(applied, site, part, needed_m, solid_m - site.ceiling_m)]


def _needed(site: Site) -> tuple[Part, float]:
    """The part of the array that is above the ceiling, and how tall it is there."""
    profile = site.array.profile
    if profile.mount == "flush":
        return "body", profile.size_m[2] - profile.centre_m
    return "box", site.scene.suspension.box_size_m[2] if site.suspended else 0.0


class TooLittle(Measure):
    """Less room above the ceiling than is needed. Wherever the array hangs it is so: a search cannot help it."""

    same_at_all_heights = True

    def __init__(self, applied: AppliedRule, site: Site, part: Part, needed_m: float, there_m: float) -> None:
        self.applied, self.site = applied, site
        self.needed_m, self.there_m = needed_m, there_m
        self.against = (Against(STRUCTURE, STRUCTURE, part),)

    @property
    def binds(self) -> bool:
        """It does not: there is no better place."""
        return False

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) the room that is there beyond what is needed."""
        return np.full((len(positions), 1), self.there_m - self.needed_m)

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """What is needed and what is there; no default has to decide that two solids are in one place."""
        needed = Given(self.needed_m, "default")  # a fact of the body: nobody's choice
        return Measured(self.applied, needed, self.there_m, float(spares[column]), Cause("no-room-above"))


def through_structure(scene: Scene) -> Iterator[tuple[Device, Against, Measured]]:
    """The devices of the file that reach into what is solid above.

    The heights may be wrong, so they are not judged, unless the designer wrote both: then two things are in one place.
    """
    solid_m = solid_above_m(scene.room)
    applied = next(one for one in applied_rules(scene).values() if STRUCTURE in one.rule.applies_to)
    if solid_m is None or applied.off:
        return
    for device in scene.overhead:
        there_m = solid_m - device.low_m
        if device.kind in GOES_UP or device.depth_m - there_m <= ON_IT_M:
            continue
        sure = device.depth.own and scene.origin is None
        yield (
            device,
            Against(STRUCTURE, STRUCTURE, None),
            Measured(
                applied,
                Given(device.depth_m, "default"),
                there_m,
                there_m - device.depth_m,
                Cause("through-structure", device.id, have_m=device.depth_m - there_m),
                judged=sure,
            ),
        )
