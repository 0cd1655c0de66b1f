"""Distance on plan from the body to the nearest wall."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.areas import inside_gap
from geometry.clearance import plan_gap
from geometry.shapes import Point3, Segment
from scenes.findings.cause import Cause
from scenes.room.walls import wall_name
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import Against, Floats, Measure, Measured
from scenes.rules.surroundings import Site, edges_in


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """All walls as one: the nearest is named."""
    return [Walls(applied, site)]


class Walls(Measure):
    """The body to the room's outline, from inside. Drawings have it as the room less what is required."""

    same_at_all_heights = True

    def __init__(self, applied: AppliedRule, site: Site) -> None:
        self.applied, self.site = applied, site
        self.against = (Against("walls", "wall", "body"),)
        self._outline = edges_in((site.scene.room.outline_m,))

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) the distance beyond what is required."""
        inside = inside_gap(self.site.body, positions, self._outline)
        return np.asarray((inside - self.applied.required_m)[:, None])

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Required and actual, and which wall is the nearest."""
        room, spare = self.site.scene.room, float(spares[column])
        walls = [(index, room.wall(index)) for index in range(len(room.outline_m))]
        lines = [(index, Segment((*a, at[2]), (*b, at[2]))) for index, (a, b) in walls if a != b]
        nearest = int(np.argmin(plan_gap(self.site.body, at, [line for _, line in lines])[0]))
        cause = Cause("nearest-wall", wall_name(lines[nearest][0]))
        return Measured(self.applied, self.applied.required, spare + self.applied.required_m, spare, cause)
