"""The listening zone cut open towards a viewer: the rear of it stands, so that it reads as hollow.

What is in front of the array is taken away; what goes all round, the rings at the height of mouths, stays whole, and
a table is tinted where it lies in the zone. The films fade below the tables: nobody's mouth is lower.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from geometry.band import footprint
from scenes.room.ceiling import highest_m
from scenes.room.scene import Array, Scene
from viz import palette as ink
from viz.forms import Form
from viz.stage.band import (
    band_form,
    band_patches,
    inside_room,
    mouth_levels,
    profile_rays,
    runs,
    table_m,
)
from viz.stage.props import Floats, Integers, Prop, dashes, level_face, mesh_prop, outline_of, stroke_prop
from viz.words.locale import Locale

OPEN_DEG = 98.0
"""To each side of the viewer's direction the zone is taken away."""
FINE_M = 0.15
"""Films fade from point to point; no two points are farther apart."""
LEVEL_RINGS_M = 0.20
FADES_M = 0.40
"""How far below the tables films are gone."""

FILMS = (
    ("far", ink.BAND, (0.04, 0.0, 0.12)),
    ("outer", ink.BAND, (0.15, 0.5, 0.30)),
    ("inner", ink.BAND_INNER, (0.42, 0.5, 0.15)),
    ("near", ink.BAND_NEAR, (0.12, 0.0, 0.0)),
    ("face", ink.BAND, (0.55, 0.5, 0.0)),
)
"""Opacity of each surface: at the array, how much of it is lost with the distance, and what grazing adds."""
PATCHES = {"outer": 0, "inner": 1, "near": 2, "far": 3, "face": 5}


def opened(scene: Scene, array: Array, eye: Floats) -> list[Prop]:
    """The zone of an array as it is seen from `eye` (x, y, z), metres."""
    centre = np.asarray(array.centre_m)
    toward = math.atan2(eye[1] - centre[1], eye[0] - centre[0])
    sides = [toward + side * math.radians(OPEN_DEG) for side in (-1, 1)]
    form = _rear(band_form(scene, array), centre, toward)
    patches = _patches(form, array, sides)
    props = list(_films(scene, array, form, patches, eye))
    props += _lines(scene, array, sides)
    props += _rings(scene, array)
    props += _on_tables(scene, array)
    return props


def _rear(form: Form, centre: Floats, toward: float) -> Form:
    """What of a closed mesh is left behind the cut, its triangles small enough to fade."""
    import manifold3d

    half = math.radians(OPEN_DEG)
    reach = 4 * (float(np.abs(form.points[:, :2] - centre[:2]).max()) + 1)
    turns = toward + np.linspace(-half, half, 9)
    wedge = np.concatenate(
        [[centre[:2]], centre[:2] + reach * np.column_stack([np.cos(turns), np.sin(turns)])]
    )
    low, high = form.points[:, 2].min() - 1, form.points[:, 2].max() + 1
    front = manifold3d.CrossSection([wedge]).extrude(high - low).translate((0.0, 0.0, low))
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.ascontiguousarray(form.points), np.ascontiguousarray(form.faces, np.uint64))
    )
    made = (solid - front).refine_to_length(FINE_M).to_mesh64()
    points = np.asarray(made.vert_properties, float)[:, :3].copy()
    return Form(points, np.asarray(made.tri_verts, np.int64).reshape(-1, 3))


def _patches(form: Form, array: Array, sides: Sequence[float]) -> Integers:
    """(m,) which surface each face lies on, as `band_patches`; 5 on a face of the cut."""
    centre = np.asarray(array.centre_m)
    if not len(form.faces):
        return np.zeros(0, np.int64)
    patches = band_patches(form, array.band, centre)
    middle = form.points[form.faces].mean(axis=1) - centre
    for turn in sides:
        across = np.abs(middle[:, :2] @ np.array([-math.sin(turn), math.cos(turn)]))
        corners = form.points[form.faces]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        upright = np.abs(normal[:, 2]) < 1e-6 * np.maximum(np.linalg.norm(normal, axis=1), 1e-12)
        patches[(across < 1e-4) & upright] = 5
    return patches


def _films(scene: Scene, array: Array, form: Form, patches: Integers, eye: Floats) -> Iterator[Prop]:
    centre, table = np.asarray(array.centre_m), table_m(scene)
    legend = Locale.of(scene).say("stage.band")
    for name, colour, (base, lost, grazing) in FILMS:
        faces = form.faces[patches == PATCHES[name]]
        if not len(faces):
            continue
        used, index = np.unique(faces, return_inverse=True)
        points = form.points[used]
        far = _smooth((np.linalg.norm(points - centre, axis=1) - 0.6) / 2.0)
        look = points - eye
        look /= np.maximum(np.linalg.norm(look, axis=1), 1e-9)[:, None]
        normals = _normals(name, points - centre, array)
        edge = 1 - np.abs(np.einsum("ij,ij->i", look, normals)) if grazing else 0.0
        alpha = base * (1 - lost * far) + grazing * np.asarray(edge) ** 3
        alpha = alpha * _smooth((points[:, 2] - table + FADES_M) / (FADES_M + 0.02))
        yield Prop(
            f"{array.id}/opened/{name}",
            "band",
            "mesh",
            colour,
            points,
            index.reshape(-1, 3).astype(np.int64),
            fade=alpha,
            flat=True,
            about=array.id,
            legend=legend if name == "outer" else "",
        )


def _normals(name: str, away: Floats, array: Array) -> Floats:
    from viz.stage.band import surface_normals

    return surface_normals(name, away, array.band) if name != "face" else np.zeros_like(away)


def _smooth(t: Floats) -> Floats:
    t = np.clip(t, 0.0, 1.0)
    return np.asarray(t * t * (3 - 2 * t))


def _lines(scene: Scene, array: Array, sides: Sequence[float]) -> list[Prop]:
    """The outline of the cut, rays from the acoustic centre to where the zone begins, rims and level rings."""
    band, centre, table = array.band, np.asarray(array.centre_m), table_m(scene)
    low, high = math.radians(band.low_deg), math.radians(band.high_deg)
    toward = (sides[0] + sides[1]) / 2
    rear = np.linspace(toward + math.radians(OPEN_DEG), toward + 2 * math.pi - math.radians(OPEN_DEG), 97)

    def ring(radius: float, drop: float) -> list[Floats]:
        path = centre + np.column_stack(
            [radius * np.cos(rear), radius * np.sin(rear), np.full(len(rear), -drop)]
        )
        return runs(path, inside_room(scene, path))

    rays = []
    for turn in sides:
        for angle in (low, high):
            end = band.near_m * np.array(
                [math.cos(angle) * math.cos(turn), math.cos(angle) * math.sin(turn), -math.sin(angle)]
            )
            rays += dashes([centre, centre + end], 0.04, 0.04)
    rims = ring(band.far_m * math.cos(low), band.far_m * math.sin(low))
    near_rims = [
        path
        for angle in (low, high)
        for path in ring(band.near_m * math.cos(angle), band.near_m * math.sin(angle))
    ]
    outer, inner = [], []
    for level in np.arange(table + LEVEL_RINGS_M, centre[2], LEVEL_RINGS_M):
        drop = float(centre[2] - level)
        radii = footprint(band, drop)
        if radii is not None:
            outer += ring(radii[1], drop) if radii[1] < band.far_m * math.cos(low) else []
            inner += ring(radii[0], drop) if radii[0] > 0.02 else []
    above = table - FADES_M / 2
    named = (
        ("outline", profile_rays(scene, array, sides), ink.BAND_EDGE, 1.5, 1.0),
        ("rays", rays, ink.BAND_EDGE, 1.0, 1.0),
        ("rim", rims, ink.BAND_EDGE, 1.2, 1.0),
        ("rims", near_rims, ink.BAND_EDGE, 1.0, 1.0),
        ("levels", outer, ink.BAND, 0.75, 0.35),
        ("levels/inner", inner, ink.BAND_INNER, 0.75, 0.5),
    )
    return [
        stroke_prop(
            f"{array.id}/opened/{name}",
            "band",
            [run for path in paths for run in runs(path, path[:, 2] > above)],
            colour,
            width_pt=width,
            opacity=opacity,
            about=array.id,
        )
        for name, paths, colour, width, opacity in named
        if paths
    ]


def _rings(scene: Scene, array: Array) -> Iterator[Prop]:
    """Where the zone meets the height of mouths, all round: white with a dark edge; dashed where people stand."""
    x, y, z = array.centre_m
    turns = np.linspace(0, 2 * math.pi, 193)
    for level, away in mouth_levels(scene, array):
        radii = footprint(array.band, z - level)
        if radii is None or away > radii[1]:
            continue
        paths = []
        for radius in radii:
            if radius > 0.005:
                path = np.column_stack(
                    [x + radius * np.cos(turns), y + radius * np.sin(turns), np.full(len(turns), level)]
                )
                paths += runs(path, inside_room(scene, path))
        if away:
            paths = [dash for path in paths for dash in dashes(path, 0.10, 0.07)]
        look: dict[str, object] = {"about": array.id}
        name = f"{array.id}/opened/mouths/{'standing' if away else 'seated'}"
        yield stroke_prop(name, "band", paths, ink.BAND_EDGE, width_pt=2.9, **look)
        raised = [path + np.array([0, 0, 0.003]) for path in paths]
        yield stroke_prop(f"{name}/core", "band", raised, ink.PAPER, width_pt=1.4, **look)


def _on_tables(scene: Scene, array: Array) -> Iterator[Prop]:
    """What of the tables' tops lies in the zone, tinted, with a lit edge; in the hollow they stay as they are."""
    import shapely

    x, y, z = array.centre_m
    room = shapely.Polygon(outline_of(scene))
    for table in scene.tables:
        radii = footprint(array.band, z - table.height_m)
        if radii is None or z > highest_m(scene.room):
            continue
        zone = shapely.Point(x, y).buffer(radii[1], 48)
        if radii[0] > 0.005:
            zone = zone.difference(shapely.Point(x, y).buffer(radii[0], 48))
        top = shapely.Polygon(table.outline_m).intersection(room)
        tinted, strokes = shapely.intersection(zone, top), []
        for number, piece in enumerate(getattr(tinted, "geoms", [tinted])):
            if piece.geom_type != "Polygon" or piece.is_empty:
                continue
            piece = shapely.geometry.polygon.orient(piece)
            loops = [np.asarray(loop.coords)[:-1] for loop in (piece.exterior, *piece.interiors)]
            yield mesh_prop(
                f"{array.id}/opened/{table.id}/{number}",
                "band",
                level_face(loops, table.height_m + 0.0015),
                ink.TABLE_TINTED,
                solid="",
                about=array.id,
            )
        edge = shapely.intersection(zone.boundary, top.buffer(-0.004))
        for line in getattr(edge, "geoms", [edge]):
            if line.geom_type == "LineString" and not line.is_empty:
                at = np.asarray(line.coords)
                strokes.append(np.column_stack([at, np.full(len(at), table.height_m + 0.004)]))
        if strokes:
            name = f"{array.id}/opened/{table.id}/edge"
            yield stroke_prop(name, "band", strokes, ink.BAND, width_pt=1.4, about=array.id)
