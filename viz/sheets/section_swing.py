"""As far as what hangs may swing, by the file's own angle: the outline of all it sweeps, light, round where it hangs."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from geometry.swinging import Swinging, outlines
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from scenes.rules.surroundings import body_of
from viz.sheets.draft import Box, Point, View

BESIDE: Final = (-35, -145, -20, -160, -60, -120, 20, 160)
"""Where the angle is lettered about the lowest place that the body swings to on the right."""


def swung(scene: Scene, array: Array) -> list[Point] | None:
    """The outline of what a body sweeps: across from the plumb line, and height above the floor; None if it is not told.

    A body may swing any way and twist meanwhile: seen from any side it is the same.
    """
    swing = scene.suspension.swing
    if swing is None or array.profile.mount == "flush":
        return None
    ceiling, body = ceiling_over_m(scene.room, array.at_m), body_of(array)
    drop = ceiling - array.centre_m[2]
    swinging = Swinging(swing.angle_deg, array.profile.plan_radius_m, body.below_m, body.above_m)
    right, line = outlines(swinging, np.array([drop]), swinging.slices_for(drop + body.below_m))
    shapes = [shapely.Polygon(corners) for corners in (*right[0], *line[0])]
    half = shapely.union_all([one.buffer(0) for one in shapes])
    whole = shapely.union_all([half, shapely.affinity.scale(half, -1, 1, origin=(0, 0))])
    ring = max(shapely.get_parts(whole), key=lambda one: one.area).simplify(0.001).exterior
    return [(float(x), ceiling - float(down)) for x, down in ring.coords[:-1]]


def draw_swing(view: View, scene: Scene, array: Array, x: float) -> None:
    """Its outline, dashed; names keep off it."""
    outline = swung(scene, array)
    if outline is not None:
        view.polyline("swing", [(x + out, z) for out, z in outline], closed=True)


def name_swing(view: View, scene: Scene, array: Array, x: float, within: Box) -> None:
    """How far, beside it."""
    outline, swing = swung(scene, array), scene.suspension.swing
    if outline is not None and swing is not None:
        locale = view.draft.locale
        text = locale.say("sheet.swing", angle=locale.edge(swing.angle_deg))
        out, z = max(outline)
        view.label([text], (x + out, z), gap_mm=0.8, within=within, prefer=BESIDE, leader=True)
