"""The room above the ceiling: what a flush body, or the box of one that hangs, needs there, and what is there."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.room.ceiling import solid_above_m
from scenes.room.kinds import BUILT_IN
from scenes.room.provenance import Given
from scenes.room.scene import Device, Room, Scene
from scenes.room.tiles import ON_IT_M
from scenes.rules.applied import AppliedRule, applied_rules
from scenes.rules.measure import MET_M, Against, Floats, Measure, Measured
from scenes.rules.surroundings import Site
from scenes.rules.under import regions_of

STRUCTURE = "structure"
"""What it is called in a row, and its kind."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The structure, where there is less room under it than is needed."""
    left_m = _left_m(site, site.scene.room)
    if left_m >= -MET_M:
        return []
    whole = site.scene.room.whole
    better = whole is not None and any(_left_m(site, one.room) >= -MET_M for one in regions_of(whole))
    return [TooLittle(applied, site, left_m, somewhere_else=better)]


def _needed(site: Site, room: Room) -> tuple[Part, float]:
    """The part of the array that is above the ceiling, and how tall it is there."""
    profile = site.array.profile
    if profile.mount == "flush":
        return "body", profile.size_m[2] - profile.centre_m
    suspended = (site.scene.suspension.ceiling or room.ceiling_kind) == "suspended"
    return "box", site.scene.suspension.box_size_m[2] if suspended else 0.0


def _left_m(site: Site, room: Room) -> float:
    """What is left of the room above the ceiling beyond what is needed; infinite where nothing is known to be there."""
    solid_m = solid_above_m(room)
    return math.inf if solid_m is None else solid_m - room.ceiling_m - _needed(site, room)[1]


class TooLittle(Measure):
    """Less room above the ceiling than is needed: wherever the array hangs, unless another part has more."""

    same_at_all_heights = True

    def __init__(self, applied: AppliedRule, site: Site, left_m: float, *, somewhere_else: bool) -> None:
        self.applied, self.site, self._better = applied, site, somewhere_else
        part, self.needed_m = _needed(site, site.scene.room)
        self.there_m = self.needed_m + left_m
        self.against = (Against(STRUCTURE, STRUCTURE, part),)

    @property
    def binds(self) -> bool:
        """Only where there is a better place."""
        return self.applied.in_force and self._better

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
    applied = next(one for one in applied_rules(scene).values() if STRUCTURE in one.rule.applies_to)
    if applied.off:
        return
    for device in scene.overhead:
        solid_m = solid_above_m(scene.room, device.at_m)
        if solid_m is None:
            continue
        there_m = solid_m - device.low_m
        if device.kind in BUILT_IN or device.depth_m - there_m <= ON_IT_M:
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
