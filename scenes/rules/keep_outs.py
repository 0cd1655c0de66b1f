"""Where on plan an array's acoustic centre may not be at a height, by thing and rule: for drawings and regions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.records import record
from scenes.findings.clearance import Part
from scenes.room.scene import Array, Scene
from scenes.rules.apply import measures_of
from scenes.rules.measure import Against
from scenes.rules.surroundings import Site

HAIR_M = 1e-6
"""What reaches beyond another keep-out by less than this is rounding."""


@record(frozen=True, slots=True)
class KeepOut:
    """A plan area that the acoustic centre may not enter at a height, because of one thing by one rule."""

    against: str
    kind: str
    rule: str
    part: Part | None
    outline_m: NDArray[np.float64]
    """(k, 2) corners, anticlockwise, not closed."""


def keep_outs(scene: Scene, array: Array, height_m: float) -> list[KeepOut]:
    """Where the array's acoustic centre may not be at this height, by thing, rule and part.

    An outline that lies inside another one of the same thing is left out. Outlines are exact but for curves,
    which are up to 1 mm too large, never too small; of what swings up to 2 mm, and filled between body and cable.
    Walls are left out (the room less the wall limit says it), but for what swings;
    where the headroom is short, all floor that is not under the body's place over a table is kept out.
    """
    drawn = [
        (against, measure.deciding(measure.against.index(against), height_m).rule.id, area)
        for measure in measures_of(Site(scene, array))
        if measure.binds
        for against, area in _by_column(measure.outlines(height_m))
    ]
    by_thing: dict[str, list[Any]] = {}
    for against, _, area in drawn:
        by_thing.setdefault(against.thing, []).append(area)
    found: list[KeepOut] = []
    for against, rule, area in drawn:
        others = [other for other in by_thing[against.thing] if other is not area]
        if any(other.buffer(HAIR_M).covers(area) for other in others):
            by_thing[against.thing] = (
                others  # what the same thing keeps out of anyway need not be drawn twice
            )
            continue
        for piece in _without_holes(area):
            ring = shapely.geometry.polygon.orient(piece).exterior
            outline = np.asarray(ring.coords[:-1], float)[:, :2]
            found.append(KeepOut(against.thing, against.kind, rule, against.part, outline))
    return found


def _by_column(outlines: Any) -> list[tuple[Against, Any]]:
    """The areas of each column as one."""
    areas: dict[Against, list[Any]] = {}
    for outline in outlines:
        areas.setdefault(outline.against, []).append(outline.area)
    return [(against, shapely.union_all(some)) for against, some in areas.items()]


def _without_holes(area: Any) -> Sequence[Any]:
    """The polygons of an area, cut through their holes so that one outline says each."""
    pieces: list[Any] = []
    waiting = _polygons(area)
    while waiting:
        piece = waiting.pop(0)
        if not piece.interiors:
            pieces.append(piece)
            continue
        x = piece.interiors[0].centroid.x
        low_x, low_y, high_x, high_y = piece.bounds
        for half in (shapely.box(low_x, low_y, x, high_y), shapely.box(x, low_y, high_x, high_y)):
            waiting += _polygons(piece.intersection(half))
    return pieces


def _polygons(area: Any) -> list[Any]:
    return [part for part in shapely.get_parts(area) if part.geom_type == "Polygon" and part.area > 0]
