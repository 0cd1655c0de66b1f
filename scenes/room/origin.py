"""Where a room comes from: the model it was read from, and its frame there."""

from __future__ import annotations

from collections.abc import Mapping

from geometry.records import record
from geometry.shapes import Point2, Point3


@record(frozen=True)
class MapPlace:
    """Where a model's origin lies on a map, lengths in the map's unit; `x_axis` is the model's, on the map."""

    eastings: float
    northings: float
    height: float
    x_axis: Point2
    scale: float
    crs: str | None


@record(frozen=True)
class Origin:
    """Where the room comes from: the model's space and its frame, and the GlobalIds of what is in it.

    `origin_m` is the spec's origin in the model's axes, metres, `turn_deg` the plan angle of the spec's x axis there.
    `parents` are GlobalIds of project, site, building, storey; `things` those of the spec's things, by their ids.
    """

    files: tuple[str, ...]
    space: str | None
    parents: Mapping[str, str]
    origin_m: Point3
    turn_deg: float
    map: MapPlace | None
    things: Mapping[str, str]
