"""Rooms in a drawing: the areas that lines close between them, and where an outline is open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry import Polygon

from geometry.records import record
from geometry.shapes import Point2

GRID_M: Final = 0.001
"""Ends of lines nearer than this meet."""


@record(frozen=True)
class Faces:
    """The closed areas between lines, largest first, and the loose ends of lines that close nothing."""

    areas: tuple[Polygon, ...]
    loose_m: tuple[Point2, ...]

    def at(self, point: Point2) -> Polygon | None:
        """The smallest area round a point; None if lines do not close one there."""
        here = shapely.Point(point)
        return min(
            (area for area in self.areas if area.contains(here)), key=lambda one: one.area, default=None
        )

    def loose_near(self, point: Point2, most: int) -> list[Point2]:
        """The loose ends nearest to a point."""
        here = np.asarray(point)
        return sorted(self.loose_m, key=lambda end: float(np.hypot(*(np.asarray(end) - here))))[:most]


def faces_of(lines: Sequence[Sequence[Point2]]) -> Faces:
    """The areas that these lines (metres) close, crossing or meeting; lines that end in the middle close none."""
    made = [shapely.LineString(line) for line in lines if len(line) > 1]
    made = [line for line in made if line.length > GRID_M]
    if not made:
        return Faces((), ())
    noded = shapely.union_all(shapely.set_precision(made, GRID_M))
    areas, _, dangles, _ = shapely.polygonize_full(shapely.get_parts(noded))
    found = sorted(shapely.get_parts(areas).tolist(), key=lambda area: -area.area)
    return Faces(tuple(found), tuple(_ends(dangles, noded)))


def _ends(dangles: Any, noded: Any) -> list[Point2]:
    """The ends of dangling lines at which nothing else begins."""
    count: dict[Point2, int] = {}
    for line in shapely.get_parts(noded).tolist():
        for x, y in (line.coords[0], line.coords[-1]):
            count[float(x), float(y)] = count.get((float(x), float(y)), 0) + 1
    ends = [
        (float(x), float(y))
        for line in shapely.get_parts(dangles).tolist()
        for x, y in (line.coords[0], line.coords[-1])
    ]
    return [end for end in dict.fromkeys(ends) if count.get(end, 0) == 1]
