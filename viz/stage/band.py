"""What an array hears as props: the band's solid in the room, its sectors, and where it meets the mouths' level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from geometry.band import Band, edges, footprint
from geometry.shapes import Point2
from scenes.room.ceiling import highest_m
from scenes.room.mouths import mouth_level_m
from scenes.room.scene import Array, Posture, Scene
from viz import palette as ink
from viz.forms import Form, join, prism
from viz.stage.props import (
    HAIR_M,
    NO_FACES,
    Floats,
    Integers,
    Prop,
    at_height,
    closed,
    dashes,
    label_prop,
    level_face,
    mesh_prop,
    outline_of,
    stroke_prop,
)
from viz.words.locale import Locale


def table_m(scene: Scene) -> float:
    """Down to which height the zone is drawn: the lowest table's, and nobody's mouth is lower."""
    lowest_mouth = min(head.middle_m[2] for head in scene.heads) if scene.heads else 1.15
    return min([table.height_m for table in scene.tables] or [0.74, lowest_mouth - 0.2])


def mouth_levels(scene: Scene, array: Array) -> list[tuple[float, float]]:
    """The usual height of seated mouths and of standing ones, as far as there are any, and from how far on plan
    the zone is shown there: seated always, standing where it comes to somebody who stands (0, or their distance).
    """
    levels = []
    for posture in get_args(Posture):
        level = mouth_level_m(scene, posture)
        if level is not None:
            some = (head.at_m for head in scene.heads if head.posture == posture)
            away = 0.0 if posture == "seated" else min(math.dist(at, array.centre_m[:2]) for at in some)
            levels.append((level, away))
    return levels


def band_props(scene: Scene, array: Array) -> list[Prop]:
    """The hollow cone clipped to the room: its outer and inner surface, reach shells, cut faces, edges."""
    form = band_form(scene, array)
    patches = band_patches(form, array.band, np.asarray(array.centre_m))
    names = ("outer", "inner", "near", "far", "cut")
    props, locale = [], Locale.of(scene)
    for number, name in enumerate(names):
        faces = form.faces[patches == number]
        if not len(faces):
            continue
        used, index = np.unique(faces, return_inverse=True)
        points = form.points[used]
        props.append(
            Prop(
                f"{array.id}/{name}",
                "band",
                "mesh",
                ink.BAND_INNER if name == "inner" else ink.BAND,
                points,
                index.reshape(-1, 3).astype(np.int64),
                opacity=ink.BAND_OPACITY[name],
                normals=_band_normals(name, points, array) if name != "cut" else None,
                crease_deg=20.0,
                about=array.id,
                solid=f"{array.id}/band",
                legend=locale.say("stage.band") if name == "outer" else "",
            )
        )
    strokes = _edges_between(form, patches)
    props.append(
        Prop(
            f"{array.id}/edges",
            "band",
            "line",
            ink.BAND_EDGE,
            form.points,
            NO_FACES,
            strokes,
            width_pt=0.9,
            opacity=0.85,
            about=array.id,
        )
    )
    return props


def band_sides(band: Band) -> list[list[Point2]]:
    """The four sides of a band's section as lines of (radius, height above the acoustic centre), metres.

    Swept about the vertical they are the solid that is drawn: near and far pieces of spheres, low and
    high cones.
    """
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    angles = np.radians(
        np.linspace(band.low_deg, band.high_deg, max(3, round((band.high_deg - band.low_deg) / 4)))
    )

    def arc(radius: float) -> list[Point2]:
        return [(round(radius * math.cos(a), 4), round(-radius * math.sin(a), 4)) for a in angles]

    def cone(cos: float, sin: float) -> list[Point2]:
        return [(round(r * cos, 4), round(-r * sin, 4)) for r in (band.far_m, band.near_m)]

    return [arc(band.far_m), cone(cos_high, sin_high), arc(band.near_m)[::-1], cone(cos_low, sin_low)[::-1]]


def band_form(scene: Scene, array: Array) -> Form:
    """The band's solid where the array hangs, clipped to the room less a hair: a closed mesh."""
    from geometry.solids import band_solid, clip_to_room

    solid = band_solid(array.band, turn_deg=array.turn_deg, at_m=array.centre_m)
    return Form(*clip_to_room(solid, scene.room.outline_m, 0.0, highest_m(scene.room), inset_m=HAIR_M))


def band_patches(form: Form, band: Band, centre: Floats) -> Integers:
    """(m,) which surface each face of a band's mesh lies on: 0 outer, 1 inner, 2 near, 3 far, 4 a cut face.

    A face belongs to the surface its middle is nearest to, if it also looks the way that surface does.
    """
    corners = form.points[form.faces] - centre
    middle = corners.mean(axis=1)
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-30)[:, None]
    rho, t = np.hypot(middle[:, 0], middle[:, 1]), -middle[:, 2]
    near, far, low, high = edges(band, rho, t)
    patch = np.full(len(form.faces), 4, np.int64)
    for number, (name, distance) in enumerate(
        (("outer", low), ("inner", high), ("near", near), ("far", far))
    ):
        facing = np.einsum("ij,ij->i", normal, surface_normals(name, middle, band))
        patch[(np.abs(distance) < 0.012) & (facing > 0.95)] = number
    return patch


def surface_normals(name: str, away: Floats, band: Band) -> Floats:
    """Outward unit normals of one of the band's surfaces at points (n, 3) seen from the acoustic centre."""
    rho = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-12)
    level = away[:, :2] / rho[:, None]
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    if name == "outer":
        return np.column_stack([sin_low * level, np.full(len(away), cos_low)])
    if name == "inner":
        return np.column_stack([-sin_high * level, np.full(len(away), -cos_high)])
    r = np.maximum(np.linalg.norm(away, axis=1), 1e-12)[:, None]
    return np.asarray(away / r if name == "far" else -away / r)


def _band_normals(name: str, points: Floats, array: Array) -> Floats:
    return surface_normals(name, points - np.asarray(array.centre_m), array.band)


def _edges_between(form: Form, patches: Integers) -> Integers:
    """(s, 2) edges of a closed mesh where two surfaces meet, or where a cut turns a corner."""
    faces = form.faces
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    owner = np.tile(np.arange(len(faces)), 3)
    key = np.sort(sides, axis=1)
    order = np.lexsort((key[:, 1], key[:, 0]))
    key, owner = key[order], owner[order]
    paired = np.all(key[:-1] == key[1:], axis=1)
    first, second = owner[:-1][paired], owner[1:][paired]
    corners = form.points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-30)[:, None]
    differ = patches[first] != patches[second]
    both_cut = (patches[first] == 4) & (patches[second] == 4)
    differ |= both_cut & (np.einsum("ij,ij->i", normal[first], normal[second]) < 0.8)
    return np.asarray(key[:-1][paired][differ], np.int64)


def inside_room(scene: Scene, points: Floats) -> NDArray[np.bool_]:
    """(k,) whether points lie in the room, a hair inside its surfaces."""
    import shapely

    room = shapely.Polygon(outline_of(scene)).buffer(-0.5 * HAIR_M)
    flat = shapely.contains_xy(room, points[:, 0], points[:, 1])
    level = (points[:, 2] > HAIR_M / 2) & (points[:, 2] < highest_m(scene.room) - HAIR_M / 2)
    return np.asarray(flat & level)


def runs(points: Floats, keep: NDArray[np.bool_]) -> list[Floats]:
    """The stretches of a path (k, 3) whose points are all kept."""
    breaks = np.flatnonzero(np.diff(keep.astype(int)))
    pieces = np.split(np.arange(len(points)), breaks + 1)
    return [points[piece] for piece in pieces if keep[piece[0]] and len(piece) > 1]


def orientation_mark(array: Array, locale: Locale) -> Prop:
    """A small wedge beside the body that points where the array's 0° points: what an installer turns it by."""
    centre = np.asarray(array.centre_m)
    start, end = array.profile.plan_radius_m + 0.05, array.profile.plan_radius_m + 0.17
    half = 0.055
    c, s = math.cos(math.radians(array.turn_deg)), math.sin(math.radians(array.turn_deg))
    wedge = np.array([(end, 0), (start, half), (start, -half)]) @ np.array([[c, s], [-s, c]])
    z = array.underside_m - 0.004
    return mesh_prop(
        f"{array.id}/mark",
        "arrays",
        prism(wedge + centre[:2], z - 0.006, z),
        ink.SECTOR,
        about=array.id,
        legend=locale.say("stage.orientation"),
        only=("plan", "ceiling", "array"),
    )


def sectors(scene: Scene, array: Array) -> list[Prop]:
    """The rays between azimuth sectors on the band's surface, and the sectors' numbers at the mouths' level."""
    count = array.profile.sectors
    if count <= 1:
        return []
    turns_rad = [math.radians(array.turn_deg + k * 360 / count) for k in range(count)]
    props = [
        stroke_prop(
            f"{array.id}/{name}",
            "sectors",
            lines,
            ink.SECTOR,
            width_pt=0.5,
            opacity=opacity,
            about=array.id,
            only=only,
        )
        for name, lines, opacity, only in (
            ("rays", profile_rays(scene, array, turns_rad), 0.55, ()),
            ("spokes", _spokes(scene, array, turns_rad), 0.8, ("plan", "array")),
        )
    ]
    return props + _numbers(array)


def _numbers(array: Array) -> list[Prop]:
    """Each sector's number, on its middle line beside the body."""
    x, y = array.centre_m[:2]
    away, step = array.profile.plan_radius_m + 0.27, 2 * math.pi / array.profile.sectors
    turns = [math.radians(array.turn_deg) + (k + 0.5) * step for k in range(array.profile.sectors)]
    return [
        label_prop(
            f"{array.id}/sector/{k}",
            "sectors",
            str(k),
            (x + away * math.cos(turn), y + away * math.sin(turn), array.underside_m),
            colour=ink.SECTOR,
            about=array.id,
            rank=3,
        )
        for k, turn in enumerate(turns, 1)
    ]


def profile_rays(scene: Scene, array: Array, turns_rad: Sequence[float]) -> list[Floats]:
    """The band's outline in upright planes at these turns, as far as it is in the room."""
    band, centre = array.band, np.asarray(array.centre_m)
    low, high = math.radians(band.low_deg), math.radians(band.high_deg)
    angles = np.linspace(low, high, 25)
    radii = np.linspace(max(band.near_m, 0.01), band.far_m, 60)
    profile = np.concatenate(
        [
            radii[:, None] * [math.cos(low), -math.sin(low)],
            band.far_m * np.column_stack([np.cos(angles), -np.sin(angles)]),
            radii[::-1, None] * [math.cos(high), -math.sin(high)],
            max(band.near_m, 0.01) * np.column_stack([np.cos(angles), -np.sin(angles)])[::-1],
        ]
    )
    rays = []
    for turn in turns_rad:
        path = centre + np.column_stack(
            [profile[:, 0] * math.cos(turn), profile[:, 0] * math.sin(turn), profile[:, 1]]
        )
        rays += runs(path, inside_room(scene, path))
    return rays


def _spokes(scene: Scene, array: Array, turns_rad: Sequence[float]) -> list[Floats]:
    """Straight lines at these turns through the band at the level of the mouths."""
    centre = np.asarray(array.centre_m)
    drop = centre[2] - float(np.median([head.middle_m[2] for head in scene.heads]))
    radii = footprint(array.band, drop)
    if radii is None:
        return []
    reach = np.linspace(*radii, 60)[:, None]
    spokes = []
    for turn in turns_rad:
        ray = at_height(centre[:2] + reach * [math.cos(turn), math.sin(turn)], centre[2] - drop)
        spokes += runs(ray, inside_room(scene, ray))
    return spokes


def footprints(scene: Scene, array: Array) -> list[Prop]:
    """Where the band meets the level of the mouths, seated and standing, cut at the walls."""
    locale = Locale.of(scene)
    import shapely

    room = shapely.Polygon(outline_of(scene)).buffer(-HAIR_M)
    props = []
    for posture in get_args(Posture):
        z = mouth_level_m(scene, posture)
        if z is None:
            continue
        radii = footprint(array.band, array.centre_m[2] - z)
        if radii is None:
            continue
        inner, outer = radii
        if outer - inner < 0.005:
            continue
        shape = shapely.Point(array.at_m).buffer(outer, 64)
        if inner > 0.005:
            shape = shape.difference(shapely.Point(array.at_m).buffer(inner, 64))
        shape = shape.intersection(room)
        forms, rings = [], []
        for piece in getattr(shape, "geoms", [shape]):
            if piece.geom_type != "Polygon" or piece.is_empty:
                continue
            piece = shapely.geometry.polygon.orient(piece)
            loops = [np.asarray(loop.coords)[:-1] for loop in (piece.exterior, *piece.interiors)]
            forms.append(level_face(loops, z))
            rings += [at_height(closed(loop), z) for loop in loops]
        if not forms:
            continue
        name = f"{array.id}/{posture}"
        said = locale.say(f"stage.reached.{posture}", height=locale.length(z))
        props.append(
            mesh_prop(
                name,
                "footprint",
                join(*forms),
                ink.BAND,
                opacity=0.14,
                crease_deg=0.0,
                solid="",
                about=array.id,
                legend=said,
            )
        )
        strokes = (
            rings if posture == "seated" else [dash for ring in rings for dash in dashes(ring, 0.10, 0.06)]
        )
        props.append(
            stroke_prop(f"{name}/edge", "footprint", strokes, ink.BAND_EDGE, width_pt=1.1, about=array.id)
        )
    return props
