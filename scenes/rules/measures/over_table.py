"""Height of the underside above the top of any table that the body hangs over."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np

from geometry.areas import Edges, inside_gap, outside_gap
from geometry.clearance import Hanging
from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.room.scene import Outline
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Floats, KeptOut, Measure, Measured
from scenes.rules.surroundings import Site, edges_in


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """Every table."""
    return [Tables(applied, site)] if site.scene.tables else []


@record(frozen=True, slots=True, eq=False)
class _Top:
    """A table's outline: its edges, the box about it, and a circle about the box's middle that is all inside it."""

    edges: Edges
    low: Floats
    high: Floats
    middle: Floats
    radius_m: float


@lru_cache(maxsize=256)
def _top_of(outline: Outline) -> _Top:
    corners, edges = np.array(outline), edges_in((outline,))
    low, high = corners.min(axis=0), corners.max(axis=0)
    middle = (low + high) / 2
    return _Top(edges, low, high, middle, float(inside_gap(Hanging(), (*middle, 0.0), edges)[0]))


class Tables(Measure):
    """The body over each table: high enough, or beside it on plan."""

    def __init__(self, applied: AppliedRule, site: Site) -> None:
        self.applied, self.site, self.tables = applied, site, site.scene.tables
        self.against = tuple(Against(table.id, "table", "body") for table in self.tables)
        self._tops = [_top_of(table.outline_m) for table in self.tables]

    def signed(self, positions: Floats) -> Floats:
        """(n, tables) the larger of the height beyond what is required and the distance beside the table."""
        free = self._free(positions)
        for column, top in enumerate(self._tops):
            beside = outside_gap(self.site.body, positions, top.edges)
            np.maximum(free[:, column], beside, out=free[:, column])
        return free

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least, asked of a table's outline only where it may be under `up_to_m`."""
        on_plan, least = positions[:, :2], np.full(len(positions), up_to_m)
        for top, free in zip(self._tops, self._free(positions).T, strict=True):
            away = np.maximum(top.low - on_plan, on_plan - top.high).max(axis=1)
            # the box about the outline is no farther off than the outline, nor the body than its circle
            some = np.flatnonzero((free < least) & (away - self.site.body.plan_radius_m < least))
            if not len(some):
                continue
            off = np.hypot(*(on_plan[some] - top.middle).T)
            over = (off < top.radius_m) & (free[some] >= 0)
            least[some[over]] = np.minimum(least[some[over]], free[some[over]])
            asked = some[~over]
            if len(asked):
                beside = outside_gap(self.site.body, positions[asked], top.edges)
                least[asked] = np.minimum(least[asked], np.maximum(free[asked], beside))
        return least

    def _free(self, positions: Floats) -> Floats:
        """(n, tables) the underside's height above each top, beyond what is required."""
        low = self.site.body.low_m(positions[:, 2])[:, None]
        return np.asarray(low - [table.height_m for table in self.tables] - self.applied.required_m)

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Required and actual height over a table it hangs over; of others there is nothing to say."""
        table = self.tables[column]
        if outside_gap(self.site.body, at, [table.outline_m])[0] >= -MET_M:
            return None
        actual = float(self.site.body.low_m(np.array(at[2]))) - table.height_m
        cause = Cause("over-this-table", table.id)
        return Measured(self.applied, self.applied.required, actual, actual - self.applied.required_m, cause)

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """The tables it hangs too low for, grown by the body."""
        from scenes.rules.swept import over

        low = float(self.site.body.low_m(np.array(height_m)))
        for against, table in zip(self.against, self.tables, strict=True):
            if low - table.height_m < self.applied.required_m:
                yield KeptOut(against, over(self.site.body, table.outline_m))
