"""The room as props: floor, ceiling and grid, columns, screens, cameras."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from geometry.ceiling import Surface
from geometry.shapes import Point3
from scenes.room.ceiling import highest_m
from scenes.room.scene import Camera, Room, Scene
from scenes.rules.under import Region, Rings, regions_of
from viz import furniture
from viz import palette as ink
from viz.forms import Form, join, part_of, prism
from viz.stage.props import (
    HAIR_M,
    INTO_THE_ROOM,
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
    ceiling = highest_m(room)
    slab = prism(outer, -SLAB_M, 0)
    level = np.all(slab.points[slab.faces][:, :, 2] == 0, axis=1)
    look: dict[str, object] = {"crease_deg": 0.0, "solid": "floor"}
    props = [
        mesh_prop("floor", "shell", part_of(slab, level), ink.FLOOR, **look),
        mesh_prop("floor/cut", "shell", part_of(slab, ~level), ink.CUT_THROUGH, **look),
    ]
    props += walls(scene, outline, outer)
    up: Point3 = (0.0, 0.0, 1.0)
    # a hair above its height, so that what is flush with it can be seen
    if room.parts:
        colour = ink.STRUCTURE if room.ceiling_kind == "open" else ink.CEILING
        props.append(mesh_prop("ceiling", "shell", _parts(room), colour, crease_deg=0.0, outward=up))
        top = None
        above = list(_solids_above(room, outer))
        if above:
            props.append(
                mesh_prop("structure", "shell", join(*above), ink.STRUCTURE, crease_deg=0.0, outward=up)
            )
    elif room.ceiling_kind == "suspended":
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
    props += _lower_parts(room)
    rims = [at_height(closed(outline), ceiling)] if not room.parts else list(_edges(room))
    props.append(stroke_prop("ceiling/edge", "shell", rims, ink.WALL_EDGE, width_pt=0.6))
    if room.grid is not None or any(part.grid is not None for part in room.parts):
        props.append(_grid(scene))
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


LINING_M: Final = 0.02
"""How thick a lining is, and the face of a step between two of them."""
THICK_M: Final = 0.15
"""How much of what is solid above is shown."""


def _parts(room: Room) -> Form:
    """A ceiling in parts: a lining under each, or what is solid of an open one, and the faces of steps between them."""
    regions = regions_of(room)
    forms = []
    for region in regions:
        thick = THICK_M if region.room.ceiling_kind == "open" else LINING_M
        forms += [_slab(rings, region.surface, thick) for rings in region.areas]
    for one, other in itertools.combinations(regions, 2):
        forms += _risers(one, other)
    return join(*forms)


def _risers(one: Region, other: Region) -> Iterator[Form]:
    """The upright faces where two parts meet at different heights."""
    import shapely

    shared = one.area.boundary.intersection(other.area.boundary)
    for line in shapely.get_parts(
        shapely.line_merge(shared) if shared.geom_type == "MultiLineString" else shared
    ):
        if line.geom_type != "LineString" or line.is_empty:
            continue
        ends = [(one.surface.height_m(at), other.surface.height_m(at)) for at in line.coords]
        if max(abs(a - b) for a, b in ends) > HAIR_M:
            face = line.buffer(LINING_M / 2, cap_style="square", join_style="mitre")
            rings = [ring.coords[:-1] for ring in (face.exterior, *face.interiors)]
            face = prism(rings[0], 0, 1, holes=rings[1:])
            x, y, up = face.points.T
            heights = np.array(
                [(one.surface.height_m(at), other.surface.height_m(at)) for at in zip(x, y, strict=True)]
            )
            low, high = heights.min(axis=1) + HAIR_M, heights.max(axis=1) + LINING_M
            yield Form(np.column_stack([x, y, np.where(up > 0.5, high, low)]), face.faces)


def _solids_above(room: Room, outer: Floats) -> Iterator[Form]:
    """What carries the suspension: over all of the room, and lower over parts that have their own."""
    top = room.structure_m
    for region in regions_of(room):
        own = region.room.structure_m
        if own is not None and region.room.ceiling_kind != "open" and (top is None or own < top - HAIR_M):
            for rings in region.areas:
                yield _raised(
                    rings, Surface((), own - HAIR_M), own + THICK_M if top is None else top + THICK_M
                )
    if top is not None and top > highest_m(room) + LINING_M:
        yield prism(outer, top, top + THICK_M)


LOWER_OPACITY: Final = 0.15
"""A lower part of the ceiling shows through where the ceiling itself stands open."""


def _lower_parts(room: Room) -> Iterator[Prop]:
    """The parts that hang lower than the ceiling's highest, for views into a room without its ceiling."""
    top = highest_m(room)
    for region in regions_of(room) if room.parts else ():
        if region.part is None or region.part.surface.span_m[0] > top - HAIR_M:
            continue
        solid, strokes = region.part.id, []
        for number, rings in enumerate(region.areas):
            form = _raised(rings, region.surface, top)
            name = f"part/{solid}/{number}"
            yield replace(
                mesh_prop(name, "shell", form, ink.CUT, crease_deg=0.0, opacity=LOWER_OPACITY),
                only=INTO_THE_ROOM,
            )
            for ring in rings:
                under = np.array([(*at, region.surface.height_m(at)) for at in (*ring, ring[0])])
                strokes += [under, at_height(under[:, :2], top)]
                strokes += [np.array([at, (at[0], at[1], top)]) for at in under[:-1] if top - at[2] > HAIR_M]
        yield replace(
            stroke_prop(f"part/{solid}/edge", "shell", strokes, ink.WALL_EDGE, width_pt=0.9),
            only=INTO_THE_ROOM,
        )


def _slab(rings: Rings, surface: Surface, thick: float) -> Form:
    """A lining of that thickness on a surface."""
    raised = prism(rings[0], 0.0, 1.0, holes=rings[1:])
    x, y, up = raised.points.T
    under = np.array([surface.height_m((float(a), float(b))) for a, b in zip(x, y, strict=True)])
    return Form(np.column_stack([x, y, under + np.where(up > 0.5, thick, HAIR_M)]), raised.faces)


def _raised(rings: Rings, surface: Surface, top: float) -> Form:
    """What is above a part of the ceiling, up to a height."""
    raised = prism(rings[0], 0.0, 1.0, holes=rings[1:])
    x, y, up = raised.points.T
    under = [surface.height_m((float(a), float(b))) + HAIR_M for a, b in zip(x, y, strict=True)]
    return Form(np.column_stack([x, y, np.where(up > 0.5, top, under)]), raised.faces)


def _edges(room: Room) -> Iterator[Floats]:
    """Where each part of the ceiling ends, on its underside."""
    for region in regions_of(room):
        for rings in region.areas:
            for ring in rings:
                yield np.array([(*at, region.surface.height_m(at)) for at in (*ring, ring[0])])


def _grid(scene: Scene) -> Prop:
    """The lay-in grids' lines on the undersides of the ceiling, cut where each ends."""
    strokes = [
        np.array([(*at, region.surface.height_m(at) + 0.002) for at in ends])
        for region in regions_of(scene.room)
        for ends in region.grid_lines()
    ]
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
        out = _wall_behind(scene, display.at_m)
        for part, form in furniture.display(display).items():
            name = f"display/{display.id}/{part}"
            look: dict[str, object] = {"about": display.id, "shine": 0.3, "outward": out}
            props.append(mesh_prop(name, "shell", form, colours[part], **look))
    for camera in scene.cameras:
        out = _wall_behind(scene, camera.at_m)
        for part, form in furniture.camera(camera, camera_aim(scene, camera)).items():
            look = {"about": camera.id, "shine": 0.3, "outward": out}
            props.append(mesh_prop(f"camera/{camera.id}/{part}", "shell", form, colours[part], **look))
    return props


ON_A_WALL_M: Final = 0.35
"""What is this near to a wall hangs on it, and is left out with it where that stands open."""


def _wall_behind(scene: Scene, at: Point3) -> Point3 | None:
    """The way out of the room through the wall that something hangs on; None where it hangs on none."""
    outline = outline_of(scene)
    along = np.roll(outline, -1, axis=0) - outline
    away = np.array(at[:2]) - outline
    share = np.einsum("ij,ij->i", away, along) / np.einsum("ij,ij->i", along, along)
    apart = np.linalg.norm(away - np.clip(share, 0, 1)[:, None] * along, axis=1)
    wall = int(np.argmin(apart))
    if apart[wall] > ON_A_WALL_M:
        return None
    u, v = along[wall] / np.linalg.norm(along[wall])
    return (float(v), float(-u), 0.0)


def camera_aim(scene: Scene, camera: Camera) -> Point3:
    """What a camera looks at: its aim, or the middle of the heads."""
    if camera.aim_m is not None:
        return camera.aim_m
    x, y, z = np.mean([head.middle_m for head in scene.heads], axis=0)
    return (float(x), float(y), float(z))
