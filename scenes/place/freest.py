"""Where an added array hangs before it is moved: where most room is left."""

from __future__ import annotations

import numpy as np
import shapely

from scenes.room.scene import Scene


def freest(scene: Scene) -> tuple[float, float]:
    """The plan place, of a lattice of 0.1 m, farthest from walls and from other arrays."""
    outline = shapely.Polygon(scene.room.outline_m)
    (x0, y0), (x1, y1) = scene.room.bounds_m
    xs, ys = np.meshgrid(np.arange(x0, x1, 0.1) + 0.05, np.arange(y0, y1, 0.1) + 0.05)
    places = shapely.points(xs.ravel(), ys.ravel())
    free = np.where(shapely.contains(outline, places), shapely.distance(places, outline.exterior), -1.0)
    for array in scene.arrays:
        if array.at_m is not None:
            free = np.minimum(free, shapely.distance(places, shapely.Point(array.at_m)))
    best = places[int(np.argmax(free))]
    return round(best.x, 2), round(best.y, 2)
