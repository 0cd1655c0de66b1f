"""The room as props: floor, ceiling and grid, columns, screens, cameras."""

from __future__ import annotations

import math

import numpy as np

from geometry.shapes import Point3
from scenes.room.scene import Camera, Scene
from viz import furniture
from viz import palette as ink
from viz.forms import prism
from viz.stage.props import (
    HAIR_M,
    WALL_M,
    Floats,
    Prop,
    at_height,
    closed,
    mesh_prop,
    outline_of,
    stroke_prop,
)
from viz.stage.walls import walls
from viz.words.locale import Locale

SLAB_M = 0.10


def shell(scene: Scene) -> list[Prop]:
    room = scene.room
    outline = outline_of(scene)
    outer = furniture.inset(outline, -WALL_M)
    ceiling = room.ceiling_m
    props = [mesh_prop("floor", "shell", prism(outer, -SLAB_M, 0), ink.FLOOR, crease_deg=0.0)]
    props += walls(scene, outline, outer)
    up: Point3 = (0.0, 0.0, 1.0)
    # a hair above its height, so that what is flush with it can be seen
    if room.ceiling_kind == "suspended":
        slab = prism(outline, ceiling + HAIR_M, ceiling + 0.02)
        props.append(mesh_prop("ceiling", "shell", slab, ink.CEILING, crease_deg=0.0, outward=up))
        top = room.structure_m
    else:
        slab = prism(outer, ceiling + HAIR_M, ceiling + 0.15)
        colour = ink.STRUCTURE if room.ceiling_kind == "open" else ink.CEILING
        props.append(mesh_prop("ceiling", "shell", slab, colour, crease_deg=0.0, outward=up))
        top = None
    if top is not None and top > ceiling + 0.03:
        props.append(
            mesh_prop(
                "structure", "shell", prism(outer, top, top + 0.15), ink.STRUCTURE, crease_deg=0.0, outward=up
            )
        )
    rim = at_height(closed(outline), ceiling)
    props.append(stroke_prop("ceiling/edge", "shell", [rim], ink.WALL_EDGE, width_pt=0.6))
    if room.grid is not None:
        props.append(_grid(scene, outline))
    for obstacle in scene.obstacles:
        props.append(
            mesh_prop(
                f"obstacle/{obstacle.id}",
                "shell",
                furniture.solid(obstacle.solid),
                ink.OBSTACLE,
                about=obstacle.id,
            )
        )
    return props


def _grid(scene: Scene, outline: Floats) -> Prop:
    """The lay-in grid's lines on the ceiling's underside, cut at the outline."""
    import shapely

    grid = scene.room.grid
    assert grid is not None
    room = shapely.Polygon(outline)
    (x0, y0), (x1, y1) = scene.room.bounds_m
    lines = []
    for axis, (low, high, other_low, other_high) in enumerate(((x0, x1, y0, y1), (y0, y1, x0, x1))):
        pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
        first, last = math.ceil((low - origin) / pitch - 1e-9), math.floor((high - origin) / pitch + 1e-9)
        for k in range(first, last + 1):
            at = origin + k * pitch
            ends = [(at, other_low), (at, other_high)] if axis == 0 else [(other_low, at), (other_high, at)]
            lines.append(shapely.LineString(ends))
    z = scene.room.ceiling_m + 0.002
    strokes = []
    for line in lines:
        cut = line.intersection(room)
        for piece in getattr(cut, "geoms", [cut]):
            if piece.geom_type == "LineString" and not piece.is_empty:
                strokes.append(at_height(np.asarray(piece.coords), z))
    legend = Locale.of(scene).say("stage.grid")
    up = (0.0, 0.0, 1.0)
    return stroke_prop("grid", "shell", strokes, ink.GRID, width_pt=0.5, outward=up, legend=legend)


def screens_and_cameras(scene: Scene) -> list[Prop]:
    props = []
    colours = {
        "bezel": ink.BEZEL,
        "screen": ink.SCREEN,
        "shell": ink.CAMERA,
        "lens": ink.BEZEL,
        "glass": ink.GLASS,
    }
    for display in scene.displays:
        for part, form in furniture.display(display).items():
            props.append(
                mesh_prop(
                    f"display/{display.id}/{part}", "shell", form, colours[part], about=display.id, shine=0.3
                )
            )
    for camera in scene.cameras:
        for part, form in furniture.camera(camera, camera_aim(scene, camera)).items():
            props.append(
                mesh_prop(
                    f"camera/{camera.id}/{part}", "shell", form, colours[part], about=camera.id, shine=0.3
                )
            )
    return props


def camera_aim(scene: Scene, camera: Camera) -> Point3:
    """What a camera looks at: its aim, or the middle of the heads."""
    if camera.aim_m is not None:
        return camera.aim_m
    x, y, z = np.mean([head.middle_m for head in scene.heads], axis=0)
    return (float(x), float(y), float(z))
