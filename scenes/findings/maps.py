"""What of an area, or of a whole floor, has how much margin. Records only."""

from __future__ import annotations

from geometry.coverage import State
from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.names import Id
from scenes.room.scene import Posture

PlanPolygon = tuple[tuple[Point2, ...], tuple[tuple[Point2, ...], ...]]
"""An outline and its holes."""


@record(frozen=True, slots=True)
class MapStep:
    """Plan places whose margin is from `from_m` up to, not with, `to_m`; None: no limit that way.

    What is not covered has no lower limit, nor has what is covered upright only an upper one but 0.
    """

    state: State
    from_m: float | None
    to_m: float | None
    polygons: tuple[PlanPolygon, ...]


@record(frozen=True, slots=True)
class MarginMap:
    """Margins of somebody of this posture anywhere in an area, from the least to the largest, steps without places
    left out. `id` is the area's, None of the whole floor."""

    id: Id | None
    posture: Posture
    mouth_range_m: tuple[float, float]
    steps: tuple[MapStep, ...]
