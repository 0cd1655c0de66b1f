"""Height of the underside above the floor, unless the body is well over a table, where nobody walks.

People stand at a low table and step round it, and lean over the edge of a high one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from geometry.areas import inside_gap
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Floats, KeptOut, Measure, Measured
from scenes.rules.surroundings import Site, edges_in, joined_areas


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The floor as one."""
    return [Floor(applied, site)]


class Floor(Measure):
    """The body over the floor: high enough, or far enough inside the outline of a table that is no low one."""

    def __init__(self, applied: AppliedRule, site: Site) -> None:
        self.applied, self.site = applied, site
        self.against = (Against("floor", "floor", "body"),)
        values = applied.rule.values
        self.inside_m = values["over_table"]
        high = [table for table in site.scene.tables if table.height_m >= values["table"] - MET_M]
        self._tops = joined_areas(tuple(table.outline_m for table in high))
        self._edges = [edges_in(rings) for rings in self._tops]
        self._low = [np.min(rings[0], axis=0) for rings in self._tops]
        self._high = [np.max(rings[0], axis=0) for rings in self._tops]

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) the larger of the height beyond what is required and the depth inside a table beyond that."""
        return self.least(positions)[:, None]

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the same, asked of a table's outline only where that may be more."""
        on_plan, most = positions[:, :2], self.site.body.low_m(positions[:, 2]) - self.applied.required_m
        for edges, low, high in zip(self._edges, self._low, self._high, strict=True):
            # nothing lies deeper inside the outline than inside the box about it
            inside = np.minimum(on_plan - low, high - on_plan).min(axis=1) - self.inside_m
            asked = np.flatnonzero((most < inside) & (most < up_to_m))
            if len(asked):
                deep = inside_gap(self.site.body, positions[asked], edges) - self.inside_m
                most[asked] = np.maximum(most[asked], deep)
        return most

    @property
    def met_is_clear(self) -> bool:
        """Not where the room's set of codes may ask for more than nobody's head can do without."""
        return self.applied.lacks is None

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Required and actual height; nothing is asked over a table."""
        underside = float(self.site.body.low_m(np.array(at[2])))
        spare, required = float(spares[column]), self.applied.required
        if underside < self.applied.required_m - MET_M and spare >= -MET_M:
            cause = Cause("over-a-table", have_m=self.inside_m, may_m=self.applied.rule.values["table"])
            return Measured(self.applied, None, underside, spare, cause)
        if spare >= -MET_M and self.applied.lacks is not None:
            cause = Cause("no-code-value", self.applied.lacks)
            return Measured(self.applied, None, underside, spare, cause, judged=False)
        return Measured(self.applied, required, underside, spare, Cause("underside"))

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """All floor on which the body is not well over a table, where it hangs too low for it."""
        from scenes.rules.swept import not_inside

        if float(self.site.body.low_m(np.array(height_m))) < self.applied.required_m - MET_M:
            yield KeptOut(self.against[0], not_inside(self.site, self._tops, self.inside_m))
