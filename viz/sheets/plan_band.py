"""What an array covers on the floor plan: its band at mouth heights, and its reach."""

from __future__ import annotations

import itertools
import math
from typing import Any, get_args

import shapely

from geometry.band import footprint
from scenes.room.mouths import mouth_level_m
from scenes.room.scene import Array, Posture, Scene
from viz.sheets.draft import View
from viz.sheets.plan_room import rings_of


def footprints(view: View, scene: Scene, array: Array, *, fill: bool) -> None:
    """The band at mouth heights, and the reach: the fills, or the lines that come over all fills."""
    for posture in get_args(Posture):
        shape = _footprint(scene, array, posture)
        if shape is None:
            continue
        parts = rings_of(shape)
        if fill:
            for part in parts if posture == "seated" else ():
                view.fill("band hatch", part)
        else:
            for line in itertools.chain.from_iterable(parts):
                view.polyline("band" if posture == "seated" else "band standing", line, closed=True)
            if posture == "seated":
                _reach(view, scene, array)


def _footprint(scene: Scene, array: Array, posture: Posture) -> Any:
    """What of the room the band covers at the mouths of a posture, as a shapely shape; None if it is not so low."""
    x, y, height = array.centre_m
    level = mouth_level_m(scene, posture)
    rings = footprint(array.band, height - level) if level is not None else None
    if rings is None:
        return None
    inner, outer = rings
    disc = shapely.Point(x, y)
    ring = disc.buffer(outer, quad_segs=48)
    if inner > 0.01:
        ring = ring.difference(disc.buffer(inner, quad_segs=48))
    return ring.intersection(shapely.Polygon(scene.room.outline_m))


def _reach(view: View, scene: Scene, array: Array) -> None:
    """Both ends of the array's reach at the mouths of who sits."""
    room = shapely.Polygon(scene.room.outline_m)
    x, y, height = array.centre_m
    level = mouth_level_m(scene, "seated")
    drop = 0.0 if level is None else height - level
    for reach in (one for one in array.profile.reach_m if one > abs(drop)):
        radius = math.sqrt(reach**2 - drop**2)
        circle = shapely.Point(x, y).buffer(radius, quad_segs=48).exterior.intersection(room)
        for part in shapely.get_parts(circle):
            if part.geom_type == "LineString" and part.length > 0.05:
                view.polyline("reach", list(part.coords), avoid=False)
