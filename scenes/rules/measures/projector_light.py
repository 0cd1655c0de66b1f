"""Distance in space to a projector's light, between its lens and the picture it faces."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from geometry.clearance import Hanging, Throw, gap
from geometry.planes import past_planes, planes_about
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import Against, Floats, Measure, NotJudged
from scenes.rules.measures.distance import Distance
from scenes.rules.surroundings import Site, Thing, Things, throw_of

NEAR_M = 0.1
"""Nearer than this beyond what is required the distance to light is searched for; farther off planes bound it."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The light of each projector; one that no display looks towards is not judged."""
    throws = [(device, throw_of(device, site.scene)) for device in site.devices(applied.rule.applies_to)]
    lit = [Thing(one.id, one.kind, (throw,)) for one, throw in throws if throw is not None]
    dark = [Against(one.id, one.kind, None) for one, throw in throws if throw is None]
    found: list[Measure] = [Light(applied, site, Things.of(lit), site.hanging)] if lit else []
    return [*found, NotJudged(applied, site, dark, Cause("no-picture"))] if dark else found


class Light(Distance):
    """Body and cable to light."""

    def __init__(
        self, applied: AppliedRule, site: Site, things: Things, hanging: Mapping[Part, Hanging]
    ) -> None:
        super().__init__(applied, site, things, hanging)
        self._planes: list[Floats] = []

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) searched for only where it is small; farther off by planes that touch the light, a little less.

        No plane is farther than the light, so min(distance, max(planes', NEAR_M)) has the distance's sign
        and slope.
        """
        if not self._planes:
            corners = [corners_of(throw) for throw in self.things.shapes if isinstance(throw, Throw)]
            self._planes = [planes_about(some) for some in corners]
        least = np.full(len(positions), np.inf)
        for throw, planes, required in zip(self.things.shapes, self._planes, self.required_m, strict=True):
            for prism in self.hanging.values():
                left = past_planes(prism, positions, planes) - required
                near = np.flatnonzero(left <= NEAR_M)
                if len(near):
                    exact = gap(prism, positions[near], [throw])[:, 0] - required
                    left[near] = np.minimum(NEAR_M, exact)
                np.minimum(least, left, out=least)
        return least


def corners_of(throw: Throw) -> Floats:
    """The lens and the picture's corners (5, 3): a projector's light is their hull."""
    facing = math.radians(throw.facing_deg)
    across = np.array([-math.sin(facing), math.cos(facing), 0]) * throw.width_m / 2
    up = np.array([0, 0, throw.height_m / 2])
    picture = np.array(throw.picture_m)
    corners = [picture + i * across + j * up for i in (-1, 1) for j in (-1, 1)]
    return np.array([throw.lens_m, *corners])
