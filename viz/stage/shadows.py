"""Soft shadows, baked as fading sheets: nothing is measured from them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scenes.room.scene import Scene
from viz import furniture
from viz import palette as ink
from viz.stage.props import Floats, Prop, outline_of


def shadows(scene: Scene) -> list[Prop]:
    """Soft contact shadows on the floor, baked: what stands there, blurred, as a fading sheet.

    The shadows of tables and people are in their layers, so that they go with them; the others in the shell.
    A lattice of points over the room; darkness is the sum of what is near, smoothed to an edge that
    widens with the height of the thing. Nothing is measured from it.
    """
    outline = outline_of(scene)
    (x0, y0), (x1, y1) = scene.room.bounds_m
    pitch = max(0.06, math.sqrt((x1 - x0) * (y1 - y0) / 5000))
    xs, ys = (_rulings(outline[:, axis], pitch) for axis in (0, 1))
    lattice = np.meshgrid(xs, ys, indexing="ij")
    cells = _cells_inside(outline, *lattice)
    props = []
    for number, (layer, left) in enumerate(_light(scene, *lattice).items()):
        fade = (1 - left).reshape(lattice[0].shape)
        sheet = _sheet(layer, lattice, cells, fade, 0.002 + 0.0005 * number)
        props += [] if sheet is None else [sheet]
    return props


def _light(scene: Scene, grid_x: Floats, grid_y: Floats) -> dict[str, Floats]:
    """What share of the light is left at each point of the lattice, by the layer of what takes it."""
    import shapely

    points = shapely.points(grid_x.ravel(), grid_y.ravel())
    light = {layer: np.ones(grid_x.size) for layer in ("shell", "tables", "people")}

    def darken(layer: str, shape: object, darkness: float, soft: float) -> None:
        distance = shapely.distance(points, shape)
        inner = shapely.distance(points, shape.boundary) * (distance == 0)  # type: ignore[attr-defined]
        signed = np.where(distance > 0, distance, -inner)
        light[layer] *= 1 - darkness / (1 + np.exp(np.clip(4.4 * signed / soft, -40, 40)))

    for table in scene.tables:
        darken("tables", shapely.Polygon(table.outline_m), 0.34, 0.34)
    for head in scene.heads:
        turn = math.radians(head.facing_deg)
        back = 0.15 if head.posture == "seated" else 0.11
        at = (head.at_m[0] - back * math.cos(turn), head.at_m[1] - back * math.sin(turn))
        radius, darkness, soft = (0.20, 0.34, 0.22) if head.posture == "seated" else (0.13, 0.38, 0.16)
        darken("people", shapely.Point(at).buffer(radius, 8), darkness, soft)
    for obstacle in scene.obstacles:
        if obstacle.solid.low_m < 0.3:
            form = furniture.solid(obstacle.solid)
            darken("shell", shapely.convex_hull(shapely.multipoints(form.points[:, :2])), 0.3, 0.2)
    walls = shapely.distance(points, shapely.Polygon(outline_of(scene)).boundary)
    light["shell"] *= 1 - 0.13 * np.exp(-walls / 0.22)
    return light


def _cells_inside(outline: Floats, grid_x: Floats, grid_y: Floats) -> NDArray[np.bool_]:
    """Which cells of the lattice touch the room: along a slanting wall some reach into it, none is left out."""
    import shapely

    room = shapely.Polygon(outline)
    centre_x, centre_y = (grid[:-1, :-1] + grid[1:, 1:] for grid in (grid_x, grid_y))
    inside = shapely.contains_xy(room, grid_x, grid_y)
    within = inside[:-1, :-1] | inside[1:, :-1] | inside[1:, 1:] | inside[:-1, 1:]
    within |= shapely.contains_xy(room, centre_x / 2, centre_y / 2)
    return np.asarray(within)


def _sheet(
    layer: str, lattice: Sequence[Floats], cells: NDArray[np.bool_], fade: Floats, level_m: float
) -> Prop | None:
    """One layer's shadow: the cells of the lattice that are darkened at all; None if there are none."""
    seen = fade > 0.004
    whole = cells & (seen[:-1, :-1] | seen[1:, :-1] | seen[1:, 1:] | seen[:-1, 1:])
    if not whole.any():
        return None
    index = np.arange(fade.size).reshape(fade.shape)
    i, j = np.nonzero(whole)
    a, b, c, d = index[i, j], index[i + 1, j], index[i + 1, j + 1], index[i, j + 1]
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    used, packed = np.unique(faces, return_inverse=True)
    x, y = (grid.ravel()[used] for grid in lattice)
    return Prop(
        "shadow",
        layer,
        "mesh",
        ink.SHADOW,
        np.column_stack([x, y, np.full(len(used), level_m)]),
        packed.reshape(-1, 3).astype(np.int64),
        fade=fade.ravel()[used],
        opacity=0.9,
    )


def _rulings(corners: Floats, pitch: float) -> Floats:
    """Places at most `pitch` apart that include every corner's, so that no cell straddles a straight wall."""
    ends = np.unique(np.round(corners, 6))
    pieces = [np.linspace(a, b, math.ceil((b - a) / pitch) + 1)[:-1] for a, b in itertools.pairwise(ends)]
    return np.concatenate([*pieces, ends[-1:]])


def wall_shadow(written: int, a: Floats, b: Floats, out: Floats, top: float) -> Prop:
    """The soft darkening of a wall towards the floor and the corners, baked."""
    length = float(np.linalg.norm(b - a))
    along = (b - a) / length
    soft = min(0.45, length / 3, top / 3)
    u = np.array([0, 0.4 * soft, soft, length - soft, length - 0.4 * soft, length])
    z = np.array([0, 0.4 * soft, soft, top])
    grid_u, grid_z = np.meshgrid(u, z, indexing="ij")
    near = np.minimum(np.minimum(grid_u, length - grid_u), soft) / soft
    fade = 0.10 * (1 - near) ** 2 + 0.12 * (1 - np.minimum(grid_z, soft) / soft) ** 2
    at = a + grid_u[..., None] * along - 0.0015 * out
    points = np.concatenate([at, grid_z[..., None]], axis=-1).reshape(-1, 3)
    index = np.arange(grid_u.size).reshape(grid_u.shape)
    q, r, s, t = (x.ravel() for x in (index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]))
    faces = np.concatenate([np.column_stack([q, r, s]), np.column_stack([q, s, t])])
    return Prop(
        f"wall/{written}/shadow",
        "shell",
        "mesh",
        ink.SHADOW,
        points,
        faces.astype(np.int64),
        fade=fade.ravel(),
        opacity=0.9,
        outward=(float(out[0]), float(out[1]), 0.0),
    )
