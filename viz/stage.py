"""Scene + Review → props in named layers: the one place that decides how a thing looks.

A Stage is data: points, triangles, strokes, words, colours. Stills, the window, the page and the model
files replay it and decide nothing themselves but the view. Frame: the room's (x right and y up on the
plan, z up from the finished floor), metres.

Layers: shell, tables, people, arrays, band, sectors, footprint, overhead, clearances, sightlines,
region, dimensions, labels. A prop is a `mesh`, a `line` (strokes), a `label` (words at an anchor) or a
`mark` (a head's state: dot, ring or cross; where a sightline is blocked a diamond; its mesh is for
viewers that cannot draw a flat sign).

To replay it: hide a prop with `outward` whenever the viewer is on the side it points to (walls and
ceilings stand open towards the viewer), and draw what `fade` has with its opacity times `fade`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import Band, edges, footprint
from geometry.shapes import Box, Cylinder, Disc, Point3
from scenes.dossier import Dossier
from scenes.findings.clearance import Shown
from scenes.findings.review import Review
from scenes.room.scene import Array, Camera, Head, Scene
from viz import figures, furniture
from viz import palette as ink
from viz.forms import Form, box, join, moved, prism, shaded, torus, triangulated, tube
from viz.words import clearances as clearance_words
from viz.words.locale import Locale

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Kind = Literal["mesh", "line", "label", "mark"]
PlanPolygon = tuple[Floats, tuple[Floats, ...]]

LAYERS = (
    "shell",
    "tables",
    "people",
    "arrays",
    "band",
    "sectors",
    "footprint",
    "overhead",
    "clearances",
    "sightlines",
    "region",
    "dimensions",
    "labels",
)

HAIR_M = 0.005
"""How far the clipped band stays inside floor, walls and ceiling: no two surfaces fight for a pixel."""
WALL_M = 0.12
SLAB_M = 0.10
CREASE_DEG = 42.0
COLUMN_M = 0.38
"""Between the upright dimensions of neighbouring arrays in a section: room for words turned up."""
ROW_M = 0.26
"""Between the dimensions of neighbouring arrays on a plan."""
ROOM_PER_ROW = 65.0
"""A room this many times as long as rows are apart has them farther apart: words keep their size on paper."""
MARK_M = 0.05
"""Radius of a head's mark."""

CROWDS = ((24, 0.0), (80, 0.008), (300, 0.015))
"""Up to how many heads figures are drawn how roughly, metres; COARSEST_M beyond."""
COARSEST_M = 0.03

NO_POINTS: Floats = np.zeros((0, 3))
NO_FACES: Integers = np.zeros((0, 3), np.int64)
NO_SEGMENTS: Integers = np.zeros((0, 2), np.int64)


@dataclass(frozen=True, eq=False)
class Prop:
    """One thing to draw.

    `points` (n, 3) metres; `faces` (m, 3) triangles, outwards; `segments` (s, 2) strokes between points.
    `crease_deg`: edges sharper than this are drawn sharp, 0 for flat faces; `normals` (n, 3) where the
    exact ones are known. `fade` (n,) scales opacity point by point. `solid`: props of one layer that
    share it are together one closed surface ("" for an open one). `about`: the id of the thing in the
    spec. `outward`: seen from that side the prop is left out. `only`: views the prop is meant for, all
    if empty. `width_pt`: a stroke's width in points. Words: `text` at `anchor`; smaller `rank` goes first.
    """

    id: str
    layer: str
    kind: Kind
    colour: str
    points: Floats = field(default_factory=lambda: NO_POINTS)
    faces: Integers = field(default_factory=lambda: NO_FACES)
    segments: Integers = field(default_factory=lambda: NO_SEGMENTS)
    opacity: float = 1.0
    crease_deg: float = CREASE_DEG
    normals: Floats | None = None
    fade: Floats | None = None
    width_pt: float = 0.75
    text: str = ""
    anchor: Point3 | None = None
    rank: int = 5
    state: str = ""
    about: str = ""
    solid: str = ""
    outward: Point3 | None = None
    only: tuple[str, ...] = ()
    shine: float = 0.0
    flat: bool = False
    legend: str = ""

    def __post_init__(self) -> None:
        if self.layer not in LAYERS:
            raise ValueError(f"Prop {self.id} layer is {self.layer!r}; allowed are {', '.join(LAYERS)}")
        if len(self.faces) and self.faces.max() >= len(self.points):
            raise ValueError(f"Prop {self.id} has a face beyond its {len(self.points)} points")

    @property
    def smooth(self) -> bool:
        """Whether it is shaded smoothly at all."""
        return self.crease_deg > 0

    @property
    def translucent(self) -> bool:
        """Whether something behind it shows through."""
        return self.opacity < 1 or self.fade is not None

    def shaded(self) -> tuple[Floats, Floats, Integers]:
        """Points, unit normals and triangles as they are drawn."""
        return self._shaded

    @cached_property
    def _shaded(self) -> tuple[Floats, Floats, Integers]:
        if self.normals is not None or self.fade is not None:
            normals = (
                self.normals if self.normals is not None else np.tile((0.0, 0.0, 1.0), (len(self.points), 1))
            )
            return self.points, normals, self.faces
        return shaded(self.points, self.faces, self.crease_deg)


@dataclass(frozen=True, eq=False)
class Stage:
    """Everything there is to draw, in the order it was made, and the scene and review it tells of."""

    scene: Scene
    review: Review
    props: tuple[Prop, ...]

    def __iter__(self) -> Iterator[Prop]:
        return iter(self.props)

    def layer(self, *names: str) -> tuple[Prop, ...]:
        """The props of these layers."""
        return tuple(prop for prop in self.props if prop.layer in names)

    def prop(self, layer: str, id: str) -> Prop:
        """One prop; KeyError if there is none."""
        for prop in self.props:
            if prop.layer == layer and prop.id == id:
                return prop
        raise KeyError(f"no prop {layer}/{id}")

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers that have something to show, in their order."""
        present = {prop.layer for prop in self.props}
        return tuple(layer for layer in LAYERS if layer in present)

    @property
    def bounds_m(self) -> tuple[Point3, Point3]:
        """Lowest and highest corner of the room, walls and slabs not counted."""
        (x0, y0), (x1, y1) = self.scene.room.bounds_m
        return (x0, y0, 0.0), (x1, y1, self.scene.room.ceiling_m)


def stage(
    scene: Scene,
    review: Review,
    *,
    regions: Sequence[object] | None = None,
    keep_outs: Sequence[PlanPolygon] | None = None,
    dimensions: bool = True,
    like: Stage | None = None,
) -> Stage:
    """The stage of a reviewed scene whose arrays are all placed.

    `regions`: geometry.region.Region objects (where an array may hang), `keep_outs`: plan polygons
    (outline, holes) where none may, both drawn in layer region. `like`: a stage of the same scene but for
    its arrays, whose other props are taken over with their shading: what makes a slider quick.
    """
    unplaced = [array.id for array in scene.arrays if not array.placed]
    if unplaced:
        raise ValueError(f"arrays {', '.join(unplaced)} have no place yet; run `overtable place`")
    props: list[Prop] = []
    if like is not None and _same_but_arrays(like.scene, scene):
        props += like.layer("shell", "tables")
        props += [prop for prop in like.layer("people") if prop.kind != "mark"]
        same = _short_devices(like.review) == _short_devices(review)
        props += like.layer("overhead") if same else _overhead(scene, review)
    else:
        props += _shell(scene)
        props += _shadows(scene)
        props += _screens_and_cameras(scene)
        props += _tables(scene)
        props += _people(scene)
        props += _overhead(scene, review)
    props += [_mark(head, judged.standing) for head, judged in zip(scene.heads, review.heads, strict=True)]
    props += _arrays(scene)
    for array in scene.arrays:
        props += _band(scene, array)
        props += _sectors(scene, array)
        props += _footprint(scene, array)
    props += _clearances(scene, review)
    props += _sightlines(review)
    props += _region(scene, regions or (), keep_outs or ())
    if dimensions:
        props += _dimensions(scene)
    props += _labels(scene, review)
    return Stage(scene, review, tuple(props))


def staged(dossier: Dossier) -> Stage:
    """The stage of a dossier, with the regions where arrays may hang and the keep-outs cut out of them."""
    regions = tuple(dossier.regions.values())
    return stage(dossier.scene, dossier.review, regions=regions, keep_outs=dossier.kept_out)


def _same_but_arrays(one: Scene, other: Scene) -> bool:
    return all(
        getattr(one, name) is getattr(other, name)
        for name in ("room", "tables", "heads", "overhead", "obstacles", "cameras", "displays", "suspension")
    )


def _short_devices(review: Review) -> set[str]:
    return {clearance.against for clearance in (*review.short, *review.advised)}


# ---------------------------------------------------------------- elementary props


def _mesh(id: str, layer: str, form: Form, colour: str, **more: object) -> Prop:
    return Prop(id, layer, "mesh", colour, form.points, form.faces, **{"solid": id, **more})  # type: ignore[arg-type]


def _strokes(id: str, layer: str, strokes: Iterable[ArrayLike], colour: str, **more: object) -> Prop:
    points, segments, start = [], [], 0
    for stroke in strokes:
        at = np.asarray(stroke, float).reshape(-1, 3)
        points.append(at)
        here = np.arange(len(at) - 1) + start
        segments.append(np.column_stack([here, here + 1]))
        start += len(at)
    if not points:
        return Prop(id, layer, "line", colour, **more)  # type: ignore[arg-type]
    return Prop(
        id,
        layer,
        "line",
        colour,
        np.concatenate(points),
        NO_FACES,
        np.concatenate(segments).astype(np.int64),
        **more,  # type: ignore[arg-type]
    )


def _label(id: str, layer: str, text: str, anchor: ArrayLike, **more: object) -> Prop:
    x, y, z = (float(v) for v in np.asarray(anchor, float))
    colour = str(more.pop("colour", ink.INK))
    return Prop(id, layer, "label", colour, text=text, anchor=(x, y, z), **more)  # type: ignore[arg-type]


def _closed(ring: ArrayLike) -> Floats:
    ring = np.asarray(ring, float)
    return np.concatenate([ring, ring[:1]])


def _at_height(ring: ArrayLike, z: float) -> Floats:
    ring = np.asarray(ring, float)
    return np.column_stack([ring, np.full(len(ring), z)])


def _flat(rings: Sequence[Floats], z: float) -> Form:
    """A level face seen from above: the first ring anticlockwise, holes clockwise."""
    return Form(_at_height(np.concatenate(rings), z), triangulated(rings))


def dashes(path: ArrayLike, on_m: float, off_m: float) -> list[Floats]:
    """The dashes of a path (k, 3), the last one cut where the path ends."""
    path = np.asarray(path, float)
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    made = []
    for start in np.arange(0, length[-1], on_m + off_m):
        end = min(start + on_m, length[-1])
        inner = length[(length > start) & (length < end)]
        at = np.concatenate([[start], inner, [end]])
        made.append(np.column_stack([np.interp(at, length, path[:, axis]) for axis in range(3)]))
    return made


def along_x(scene: Scene) -> bool:
    """Whether the long section runs along x: the room's longer side on plan does."""
    (x0, y0), (x1, y1) = scene.room.bounds_m
    return x1 - x0 >= y1 - y0


def outline_of(scene: Scene) -> Floats:
    """The room's outline (k, 2), anticlockwise."""
    outline = np.asarray(scene.room.outline_m, float)
    return outline if scene.room.anticlockwise else outline[::-1]


# ---------------------------------------------------------------- the room


def _shell(scene: Scene) -> list[Prop]:
    room = scene.room
    outline = outline_of(scene)
    outer = furniture.inset(outline, -WALL_M)
    ceiling = room.ceiling_m
    props = [_mesh("floor", "shell", prism(outer, -SLAB_M, 0), ink.FLOOR, crease_deg=0.0)]
    props += _walls(scene, outline, outer)
    up: Point3 = (0.0, 0.0, 1.0)
    # a hair above its height, so that what is flush with it can be seen
    if room.ceiling_kind == "suspended":
        slab = prism(outline, ceiling + HAIR_M, ceiling + 0.02)
        props.append(_mesh("ceiling", "shell", slab, ink.CEILING, crease_deg=0.0, outward=up))
        top = room.structure_m
    else:
        slab = prism(outer, ceiling + HAIR_M, ceiling + 0.15)
        colour = ink.STRUCTURE if room.ceiling_kind == "open" else ink.CEILING
        props.append(_mesh("ceiling", "shell", slab, colour, crease_deg=0.0, outward=up))
        top = None
    if top is not None and top > ceiling + 0.03:
        props.append(
            _mesh(
                "structure", "shell", prism(outer, top, top + 0.15), ink.STRUCTURE, crease_deg=0.0, outward=up
            )
        )
    rim = _at_height(_closed(outline), ceiling)
    props.append(_strokes("ceiling/edge", "shell", [rim], ink.WALL_EDGE, width_pt=0.6))
    if room.grid is not None:
        props.append(_grid(scene, outline))
    for obstacle in scene.obstacles:
        props.append(
            _mesh(
                f"obstacle/{obstacle.id}",
                "shell",
                furniture.solid(obstacle.solid),
                ink.OBSTACLE,
                about=obstacle.id,
            )
        )
    return props


def _walls(scene: Scene, outline: Floats, outer: Floats) -> list[Prop]:
    """A wall per side, mitred at the corners, with its openings cut through, their leaves and panes."""
    room = scene.room
    count = len(outline)
    top = room.ceiling_m + HAIR_M
    props: list[Prop] = []
    if room.structure_m is not None and room.structure_m > top + 0.03:
        # the walls go on up to the structure; only sections look up there
        plenum = prism(outer, top, room.structure_m, holes=[outline])
        props.append(_mesh("plenum", "shell", plenum, ink.WALL, crease_deg=0.0, only=("long", "cross")))
    for i in range(count):
        a, b = outline[i], outline[(i + 1) % count]
        along = b - a
        length = float(np.linalg.norm(along))
        along = along / length
        out = np.array([along[1], -along[0]])
        outward = (float(out[0]), float(out[1]), 0.0)
        # the scene counts walls as written; turned round if it was written clockwise
        written = i if room.anticlockwise else (count - 2 - i) % count
        starts, ends = (outer[i] - a) @ along, (outer[(i + 1) % count] - a) @ along
        inner_ring = np.array([(0, 0), (length, 0), (length, top), (0, top)], float)
        outer_ring = np.array([(starts, 0), (ends, 0), (ends, top), (starts, top)], float)
        holes = []
        for opening in (o for o in room.openings if o.wall == written):
            u = opening.offset_m if room.anticlockwise else length - opening.offset_m - opening.width_m
            low, high = max(opening.sill_m, 0.0), opening.sill_m + opening.height_m
            low = low if low > 0 else 0.0005  # a hair, so that a door's hole stays inside the wall
            holes.append(
                np.array([(u, low), (u + opening.width_m, low), (u + opening.width_m, high), (u, high)])
            )
            props += _opening(opening.id, opening.kind, a, along, out, u, low, opening.width_m, high, outward)
        flat = prism(inner_ring, 0, WALL_M, top=outer_ring, holes=holes)
        # (u, z, outwards) to the room; with this frame left-handed the faces are turned over
        u, z, w = flat.points.T
        points = np.column_stack([a[0] + u * along[0] + w * out[0], a[1] + u * along[1] + w * out[1], z])
        props.append(
            _mesh(
                f"wall/{written}",
                "shell",
                Form(points, flat.faces),
                ink.WALL,
                crease_deg=0.0,
                outward=outward,
            )
        )
        props.append(_wall_shadow(written, a, b, out, top))
        ring = np.array([(0, 0), (length, 0), (length, top), (0, top), (0, 0)])
        rings = [ring, *(_closed(hole) for hole in holes)]
        inward = -0.002 * out
        strokes = [
            np.column_stack(
                [a[0] + r[:, 0] * along[0] + inward[0], a[1] + r[:, 0] * along[1] + inward[1], r[:, 1]]
            )
            for r in rings
        ]
        props.append(
            _strokes(f"wall/{written}/edges", "shell", strokes, ink.WALL_EDGE, width_pt=0.5, outward=outward)
        )
    return props


def _wall_shadow(written: int, a: Floats, b: Floats, out: Floats, top: float) -> Prop:
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


def _opening(
    id: str,
    kind: str,
    a: Floats,
    along: Floats,
    out: Floats,
    u: float,
    low: float,
    width: float,
    high: float,
    outward: Point3,
) -> list[Prop]:
    """What fills an opening: a door's leaf and frame, a window's frame and pane; nothing in a bare one."""
    turn = math.degrees(math.atan2(along[1], along[0]))
    middle = a + (u + width / 2) * along

    def panel(wide: float, thick: float, bottom: float, top: float, depth: float, shift: float = 0.0) -> Form:
        at = middle + depth * out + shift * along
        return box((wide, thick, top - bottom), (at[0], at[1], (bottom + top) / 2), turn)

    more = {"about": id, "outward": outward, "crease_deg": 0.0}
    if kind == "door":
        leaf = panel(width - 0.06, 0.04, low + 0.005, high - 0.03, 0.05)
        jambs = join(
            panel(0.03, WALL_M, low, high, WALL_M / 2, -width / 2 + 0.015),
            panel(0.03, WALL_M, low, high, WALL_M / 2, width / 2 - 0.015),
            panel(width - 0.06, WALL_M, high - 0.03, high, WALL_M / 2),
        )
        hinge = middle - (width / 2 - 0.03) * along
        sweep = np.radians(np.linspace(0, 90, 19))[:, None]
        swung = hinge + (width - 0.06) * (np.cos(sweep) * along - np.sin(sweep) * out)
        swing = [_at_height(swung, 0.02), _at_height([hinge, swung[-1]], 0.02)]
        handle = panel(0.11, 0.02, low + 1.02, low + 1.04, 0.012, width / 2 - 0.13)
        return [
            _mesh(f"opening/{id}/leaf", "shell", leaf, ink.DOOR, **more),
            _mesh(f"opening/{id}/frame", "shell", jambs, ink.WALL_EDGE, **more),
            _mesh(f"opening/{id}/handle", "shell", handle, ink.CHAIR_BASE, **more),
            _strokes(
                f"opening/{id}/swing", "shell", swing, ink.INK_SOFT, width_pt=0.7, about=id, only=("plan",)
            ),
        ]
    if kind == "window":
        count = max(1, round(width / 1.2))
        bars = [
            panel(0.04, 0.06, low, high, 0.06, -width / 2 + 0.02 + i * (width - 0.04) / count)
            for i in range(count + 1)
        ]
        bars += [panel(width, 0.06, low, low + 0.04, 0.06), panel(width, 0.06, high - 0.04, high, 0.06)]
        return [
            _mesh(f"opening/{id}/frame", "shell", join(*bars), ink.WALL_EDGE, **more),
            _mesh(
                f"opening/{id}/pane",
                "shell",
                panel(width - 0.02, 0.008, low + 0.01, high - 0.01, 0.06),
                ink.GLASS,
                opacity=0.45,
                **more,
            ),
        ]
    return []


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
                strokes.append(_at_height(np.asarray(piece.coords), z))
    return _strokes(
        "grid", "shell", strokes, ink.GRID, width_pt=0.5, outward=(0.0, 0.0, 1.0), legend="lay-in grid"
    )


def _shadows(scene: Scene) -> list[Prop]:
    """Soft contact shadows on the floor, baked: what stands there, blurred, as a fading sheet.

    The shadows of tables and people are in their layers, so that they go with them; the others in the shell.
    A lattice of points over the room; darkness is the sum of what is near, smoothed to an edge that
    widens with the height of the thing. Nothing is measured from it.
    """
    import shapely

    outline = outline_of(scene)
    (x0, y0), (x1, y1) = scene.room.bounds_m
    pitch = max(0.06, math.sqrt((x1 - x0) * (y1 - y0) / 5000))
    xs, ys = (_rulings(outline[:, axis], pitch) for axis in (0, 1))
    grid_x, grid_y = np.meshgrid(xs, ys, indexing="ij")
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
    room = shapely.Polygon(outline)
    walls = shapely.distance(points, room.boundary)
    light["shell"] *= 1 - 0.13 * np.exp(-walls / 0.22)
    centre_x, centre_y = (grid[:-1, :-1] + grid[1:, 1:] for grid in (grid_x, grid_y))
    # along a slanting wall cells reach into the wall, which hides them; none is left out beside it
    inside = shapely.contains_xy(room, grid_x, grid_y)
    within = inside[:-1, :-1] | inside[1:, :-1] | inside[1:, 1:] | inside[:-1, 1:]
    within |= shapely.contains_xy(room, centre_x / 2, centre_y / 2)
    index = np.arange(grid_x.size).reshape(grid_x.shape)
    props = []
    for number, (layer, left) in enumerate(light.items()):
        fade = (1 - left).reshape(grid_x.shape)
        seen = fade > 0.004
        whole = within & (seen[:-1, :-1] | seen[1:, :-1] | seen[1:, 1:] | seen[:-1, 1:])
        if not whole.any():
            continue
        i, j = np.nonzero(whole)
        a, b, c, d = index[i, j], index[i + 1, j], index[i + 1, j + 1], index[i, j + 1]
        faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
        used, packed = np.unique(faces, return_inverse=True)
        level = np.full(len(used), 0.002 + 0.0005 * number)
        props.append(
            Prop(
                "shadow",
                layer,
                "mesh",
                ink.SHADOW,
                np.column_stack([grid_x.ravel()[used], grid_y.ravel()[used], level]),
                packed.reshape(-1, 3).astype(np.int64),
                fade=fade.ravel()[used],
                opacity=0.9,
            )
        )
    return props


def _rulings(corners: Floats, pitch: float) -> Floats:
    """Places at most `pitch` apart that include every corner's, so that no cell straddles a straight wall."""
    ends = np.unique(np.round(corners, 6))
    pieces = [np.linspace(a, b, math.ceil((b - a) / pitch) + 1)[:-1] for a, b in itertools.pairwise(ends)]
    return np.concatenate([*pieces, ends[-1:]])


# ---------------------------------------------------------------- furniture and people


def _tables(scene: Scene) -> list[Prop]:
    colours = {"top": ink.TABLE_TOP, "edge": ink.TABLE_EDGE, "legs": ink.TABLE_LEG}
    props = []
    for table in scene.tables:
        for part, form in furniture.table(table).items():
            props.append(_mesh(f"{table.id}/{part}", "tables", form, colours[part], about=table.id))
        ring = _at_height(_closed(table.outline_m), table.height_m + 0.001)
        props.append(
            _strokes(f"{table.id}/outline", "tables", [ring], ink.TABLE_LINE, width_pt=0.6, about=table.id)
        )
    return props


def _people(scene: Scene) -> list[Prop]:
    import shapely

    tables = {table.id: (shapely.Polygon(table.outline_m), table.height_m) for table in scene.tables}
    props = []
    drawn: set[object] = set()
    # in a crowd each figure is small: fewer triangles keep pages and models handy
    tolerance = next((rough for most, rough in CROWDS if len(scene.heads) <= most), COARSEST_M)
    for index, head in enumerate(scene.heads):
        # one body for a person: where else they walk or how else they stand is drawn faintly
        person: object = head.group if len(head.path_m) > 1 else head.at_m
        ghost = person in drawn
        drawn.add(person)
        parts = _figure(head, tables, tolerance)
        colours = {
            "skin": ink.SKIN[(index * 2) % len(ink.SKIN)],
            "hair": ink.HAIR[(index * 3) % len(ink.HAIR)],
            "top": ink.TOP[(index * 5) % len(ink.TOP)],
            "legs": ink.LEGS[index % len(ink.LEGS)],
            "shoes": ink.SHOE,
            "chair": ink.CHAIR,
            "base": ink.CHAIR_BASE,
        }
        placed = {part: moved(form, (*head.at_m, 0), head.facing_deg) for part, form in parts.items()}
        if ghost:
            form = _united(placed.values())
            props.append(
                _mesh(
                    f"{head.id}/ghost",
                    "people",
                    form,
                    ink.GHOST,
                    about=head.id,
                    crease_deg=50.0,
                    opacity=0.4,
                )
            )
        else:
            for part, form in placed.items():
                props.append(
                    _mesh(f"{head.id}/{part}", "people", form, colours[part], about=head.id, crease_deg=50.0)
                )
        if len(head.path_m) > 1:
            path = _at_height(head.path_m, 0.006)
            props.append(
                _strokes(f"{head.id}/path", "people", [path], ink.INK_SOFT, width_pt=1.0, about=head.id)
            )
    return props


def _united(forms: Iterable[Form]) -> Form:
    """The outer skin of closed forms that run through each other, so that nothing inside shows through."""
    import manifold3d

    solids = []
    for form in forms:
        mesh = manifold3d.Mesh64(
            np.ascontiguousarray(form.points), np.ascontiguousarray(form.faces, np.uint64)
        )
        solids += manifold3d.Manifold(mesh).decompose()
    whole = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add).to_mesh64()
    return Form(
        np.asarray(whole.vert_properties, float)[:, :3].copy(),
        np.asarray(whole.tri_verts, np.int64).reshape(-1, 3),
    )


def _figure(head: Head, tables: dict[str, tuple[object, float]], tolerance_m: float) -> figures.Parts:
    """The figure of a head; hands on the table where there is one within reach."""
    mouth = round(head.middle_m[2], 3)
    if head.posture == "standing":
        return figures.person(mouth, None, 0.0, on_chair=False, tolerance_m=tolerance_m)
    table_m, reach = None, 0.2
    if head.table in tables:
        import shapely

        shape, height = tables[head.table]
        turn = math.radians(head.facing_deg)
        ahead = np.arange(0.10, 0.40, 0.02)
        points = shapely.points(head.at_m[0] + ahead * math.cos(turn), head.at_m[1] + ahead * math.sin(turn))
        over = ahead[shapely.contains(shape, points)]
        if len(over) and height < mouth - 0.2:
            table_m, reach = round(height, 3), round(float(np.clip(over[0] - 0.02, 0.14, 0.34)), 2)
    return figures.person(mouth, table_m, reach, on_chair=True, tolerance_m=tolerance_m)


def _mark(head: Head, state: str) -> Prop:
    """A head's state at its mouth: a dot, a ring, a diamond or a cross, upright and facing where the head faces."""
    r = MARK_M
    turned = moved(_mark_form(ink.STATE_MARKS[state], r), head.middle_m, head.facing_deg)
    return Prop(
        f"{head.id}/mark",
        "people",
        "mark",
        ink.STATE_COLOURS[state],
        turned.points,
        turned.faces,
        anchor=head.middle_m,
        state=state,
        about=head.id,
        solid=f"{head.id}/mark",
        text=ink.STATE_MARKS[state],
        legend=state,
    )


def _mark_form(mark: str, r: float) -> Form:
    from viz.forms import ellipsoid

    if mark == "dot":
        return ellipsoid((0, 0, 0), (0.8 * r, 0.8 * r, 0.8 * r), 14, 8)
    if mark == "ring":
        level = torus((0, 0, 0), 0.85 * r, 0.28 * r, 24, 8)
        return Form(level.points[:, [2, 0, 1]], level.faces)
    if mark == "diamond":
        return ellipsoid((0, 0, 0), (1.1 * r, 1.1 * r, 1.1 * r), 4, 2)
    d = 0.9 * r
    return join(tube([(0, -d, -d), (0, d, d)], 0.26 * r, 8), tube([(0, -d, d), (0, d, -d)], 0.26 * r, 8))


def _arrays(scene: Scene) -> list[Prop]:
    colours = {
        "body": ink.ARRAY_BODY,
        "grille": ink.ARRAY_GRILLE,
        "cable": ink.CABLE,
        "clamp": ink.HARDWARE,
        "box": ink.HARDWARE,
        "hanger": ink.HARDWARE,
    }
    open_ceiling = (scene.suspension.ceiling or scene.room.ceiling_kind) != "suspended"
    props = []
    for array in scene.arrays:
        for part, form in furniture.array(array, scene.room, open_ceiling=open_ceiling).items():
            # above a suspended ceiling, hidden from below by it; left out with it when seen from above
            out: Point3 | None = (0.0, 0.0, 1.0) if part == "hanger" else None
            props.append(
                _mesh(
                    f"{array.id}/{part}",
                    "arrays",
                    form,
                    colours[part],
                    about=array.id,
                    shine=0.25,
                    outward=out,
                )
            )
        rim = _body_rim(array)
        strokes = [_at_height(rim, array.underside_m - 0.001), _at_height(rim, array.top_m + 0.001)]
        props.append(
            _strokes(f"{array.id}/outline", "arrays", strokes, ink.ARRAY_GRILLE, width_pt=0.7, about=array.id)
        )
    return props


def _body_rim(array: Array) -> Floats:
    """The body's outline on plan, (k, 2), closed."""
    body = array.body
    if isinstance(body, Box):
        return _closed(body.corners_on_plan())
    turn = np.linspace(0, 2 * math.pi, 49)
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * body.radius_m
    return np.asarray(ring + array.centre_m[:2])


def _overhead(scene: Scene, review: Review) -> list[Prop]:
    short = _short_devices(review)
    colours = {
        "body": ink.DEVICE,
        "dark": ink.DEVICE_DARK,
        "luminous": ink.LUMINOUS,
        "structure": ink.STRUCTURE,
    }
    props = []
    for device in scene.overhead:
        state = "short" if device.id in short else ""
        for part, form in furniture.device(device, scene.room.ceiling_m).items():
            props.append(
                _mesh(
                    f"{device.id}/{part}",
                    "overhead",
                    form,
                    colours[part],
                    about=device.id,
                    state=state,
                    flat=part == "luminous",
                )
            )
        strokes = [_at_height(stroke, device.low_m - 0.004) for stroke in furniture.symbol(device)]
        props.append(
            _strokes(
                f"{device.id}/symbol",
                "overhead",
                strokes,
                ink.CLASH if state else ink.SYMBOL,
                width_pt=0.8,
                about=device.id,
                state=state,
                only=("plan", "ceiling"),
                legend=device.kind,
            )
        )
    return props


def _screens_and_cameras(scene: Scene) -> list[Prop]:
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
                _mesh(
                    f"display/{display.id}/{part}", "shell", form, colours[part], about=display.id, shine=0.3
                )
            )
    for camera in scene.cameras:
        for part, form in furniture.camera(camera, camera_aim(scene, camera)).items():
            props.append(
                _mesh(f"camera/{camera.id}/{part}", "shell", form, colours[part], about=camera.id, shine=0.3)
            )
    return props


def camera_aim(scene: Scene, camera: Camera) -> Point3:
    """What a camera looks at: its aim, or the middle of the heads."""
    if camera.aim_m is not None:
        return camera.aim_m
    x, y, z = np.mean([head.middle_m for head in scene.heads], axis=0)
    return (float(x), float(y), float(z))


# ---------------------------------------------------------------- the band


def _band(scene: Scene, array: Array) -> list[Prop]:
    """The hollow cone clipped to the room: its outer and inner surface, reach shells, cut faces, edges."""
    form = band_form(scene, array)
    patches = band_patches(form, array.band, np.asarray(array.centre_m))
    names = ("outer", "inner", "near", "far", "cut")
    props = []
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
                legend="elevation band" if name == "outer" else "",
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


def band_form(scene: Scene, array: Array) -> Form:
    """The band's solid where the array hangs, clipped to the room less a hair: a closed mesh."""
    from geometry.solids import band_solid, clip_to_room

    solid = band_solid(array.band, turn_deg=array.turn_deg, at_m=array.centre_m)
    return Form(*clip_to_room(solid, scene.room.outline_m, 0.0, scene.room.ceiling_m, inset_m=HAIR_M))


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
        facing = np.einsum("ij,ij->i", normal, _surface_normals(name, middle, band))
        patch[(np.abs(distance) < 0.012) & (facing > 0.95)] = number
    return patch


def _surface_normals(name: str, away: Floats, band: Band) -> Floats:
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
    return _surface_normals(name, points - np.asarray(array.centre_m), array.band)


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


def _inside_room(scene: Scene, points: Floats) -> NDArray[np.bool_]:
    import shapely

    room = shapely.Polygon(outline_of(scene)).buffer(-0.5 * HAIR_M)
    flat = shapely.contains_xy(room, points[:, 0], points[:, 1])
    level = (points[:, 2] > HAIR_M / 2) & (points[:, 2] < scene.room.ceiling_m - HAIR_M / 2)
    return np.asarray(flat & level)


def _runs(points: Floats, keep: NDArray[np.bool_]) -> list[Floats]:
    """The stretches of a path whose points are all kept."""
    breaks = np.flatnonzero(np.diff(keep.astype(int)))
    pieces = np.split(np.arange(len(points)), breaks + 1)
    return [points[piece] for piece in pieces if keep[piece[0]] and len(piece) > 1]


def _sectors(scene: Scene, array: Array) -> list[Prop]:
    """The rays between azimuth sectors on the band's surface, and a mark in sector 1."""
    count = array.profile.sectors
    if count <= 1:
        return []
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
    strokes = []
    for k in range(count):
        turn = math.radians(array.turn_deg + k * 360 / count)
        path = centre + np.column_stack(
            [profile[:, 0] * math.cos(turn), profile[:, 0] * math.sin(turn), profile[:, 1]]
        )
        strokes += _runs(path, _inside_room(scene, path))
    heads = [head.middle_m[2] for head in scene.heads]
    drop = centre[2] - float(np.median(heads))
    radii_on_plan = footprint(band, drop)
    spokes = []
    if radii_on_plan is not None:
        reach = np.linspace(*radii_on_plan, 60)[:, None]
        for k in range(count):
            turn = math.radians(array.turn_deg + k * 360 / count)
            ray = _at_height(centre[:2] + reach * [math.cos(turn), math.sin(turn)], centre[2] - drop)
            spokes += _runs(ray, _inside_room(scene, ray))
    props = [
        _strokes(
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
            ("rays", strokes, 0.55, ()),
            ("spokes", spokes, 0.8, ("plan", "array")),
        )
    ]
    middle = math.radians(array.turn_deg + 180 / count)
    # the mark: a small wedge on the body's level that points into sector 1
    start, end = array.profile.plan_radius_m + 0.05, array.profile.plan_radius_m + 0.17
    half = 0.055
    c, s = math.cos(middle), math.sin(middle)
    wedge = np.array([(end, 0), (start, half), (start, -half)]) @ np.array([[c, s], [-s, c]])
    z = array.underside_m - 0.004
    form = prism(wedge + centre[:2], z - 0.006, z)
    props.append(
        _mesh(f"{array.id}/first", "sectors", form, ink.SECTOR, about=array.id, legend="orientation mark")
    )
    at = (centre[0] + (end + 0.10) * c, centre[1] + (end + 0.10) * s, z)
    props.append(
        _label(f"{array.id}/first/label", "sectors", "1", at, colour=ink.SECTOR, about=array.id, rank=3)
    )
    return props


def _footprint(scene: Scene, array: Array) -> list[Prop]:
    """Where the band meets the level of the mouths, seated and standing, cut at the walls."""
    locale = Locale.of(scene)
    import shapely

    room = shapely.Polygon(outline_of(scene)).buffer(-HAIR_M)
    props = []
    for posture in ("seated", "standing"):
        heights = [head.middle_m[2] for head in scene.heads if head.posture == posture]
        if not heights:
            continue
        z = float(np.median(heights))
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
            forms.append(_flat(loops, z))
            rings += [_at_height(_closed(loop), z) for loop in loops]
        if not forms:
            continue
        name = f"{array.id}/{posture}"
        said = locale.say(f"stage.reached.{posture}", height=locale.length(z))
        props.append(
            _mesh(
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
            _strokes(f"{name}/edge", "footprint", strokes, ink.BAND_EDGE, width_pt=1.1, about=array.id)
        )
    return props


# ---------------------------------------------------------------- what the review found


def _clearances(scene: Scene, review: Review) -> list[Prop]:
    """What the findings show: a line from array to thing, what is too close hatched, a ring round an array on a tee."""
    locale = Locale.of(scene)
    props: list[Prop] = []
    for number, one in enumerate(review.clearances):
        look = CLEARANCE_LOOKS.get(one.state)
        if look is None or one.shown is None:
            continue
        id = f"{number}/{one.array}-{one.against}"
        more: dict[str, object] = {"state": one.state, "about": one.against}
        legend = clearance_words.legend(one, locale)
        if one.shown.ring is not None:
            more |= {"about": one.array or "", "only": ("ceiling",)}
            props += _ringed(id, one.shown.ring, legend, more)
        elif one.shown.line_m is not None:
            props += _measured(id, one.shown, look, legend, more)
        if look == "near" and one.actual_m is not None and one.required_m is not None:
            said, at = clearance_words.label(one, locale), _label_at(one.shown)
            props.append(_label(f"{id}/label", "clearances", said, at, colour=ink.CLASH, rank=2, **more))
    return props


CLEARANCE_LOOKS = {"short": "near", "advised": "near", "clear": "clear"}
"""How a clearance looks by its state; others are not drawn."""


def _measured(id: str, shown: Shown, look: str, legend: str, more: Mapping[str, object]) -> list[Prop]:
    """A line to the thing: whole where it is too close, with the thing hatched, dashed where it is clear."""
    line = [shown.line_m] if shown.line_m is not None else []
    if look == "clear":
        strokes = [dash for ends in line for dash in dashes(ends, 0.05, 0.05)]
        dashed = {"width_pt": 0.6, "opacity": 0.7, "legend": legend}
        return [_strokes(f"{id}/line", "clearances", strokes, ink.CLEAR, **dashed, **more)]
    props = [_strokes(f"{id}/line", "clearances", line, ink.CLASH, width_pt=1.6, legend=legend, **more)]
    if shown.hatch is not None:
        thing = shown.hatch
        across = 2 * thing.radius_m if isinstance(thing, Cylinder) else max(thing.size_m[:2])
        hatch = _hatched_disc(thing.middle_m[:2], max(across, 0.2) / 2 + 0.08, thing.low_m - 0.008)
        props.append(
            _strokes(f"{id}/hatch", "clearances", hatch, ink.CLASH, width_pt=1.1, legend=legend, **more)
        )
    return props


def _ringed(id: str, ring: Disc, legend: str, more: Mapping[str, object]) -> list[Prop]:
    """A dashed ring under the ceiling."""
    turn = np.linspace(0, 2 * math.pi, 49)
    circle = np.column_stack([np.cos(turn), np.sin(turn)]) * ring.radius_m + ring.middle_m[:2]
    strokes = dashes(_at_height(circle, ring.middle_m[2] - 0.008), 0.05, 0.03)
    return [_strokes(f"{id}/ring", "clearances", strokes, ink.CLASH, width_pt=1.4, legend=legend, **more)]


def _label_at(shown: Shown) -> Floats:
    """Where its figures stand: in the middle of the line, or at the near side of the ring."""
    if shown.ring is not None:
        x, y, z = shown.ring.middle_m
        return np.array([x, y - shown.ring.radius_m, z - 0.008])
    return np.asarray(np.mean(np.array(shown.line_m, float), axis=0))


def _hatched_disc(at: tuple[float, float], radius: float, z: float, pitch: float = 0.035) -> list[Floats]:
    turn = np.linspace(0, 2 * math.pi, 49)
    strokes = [
        np.column_stack([at[0] + radius * np.cos(turn), at[1] + radius * np.sin(turn), np.full(49, z)])
    ]
    for offset in np.arange(-radius + pitch / 2, radius, pitch):
        half = math.sqrt(max(radius**2 - offset**2, 0))
        along, across = np.array([1, 1]) / math.sqrt(2), np.array([-1, 1]) / math.sqrt(2)
        middle = np.asarray(at) + offset * across
        strokes.append(_at_height([middle - half * along, middle + half * along], z))
    return strokes


def _sightlines(review: Review) -> list[Prop]:
    props = []
    for number, line in enumerate(review.sightlines):
        blocked = line.state == "blocked"
        colour = (
            ink.CLASH
            if blocked
            else {"array": ink.BAND_EDGE, "camera": ink.INK_SOFT, "display": ink.HAIRLINE}[line.kind]
        )
        strokes = dashes([line.start_m, line.end_m], 0.07, 0.05) if blocked else [[line.start_m, line.end_m]]
        id = f"{line.kind}/{number}/{line.start}-{line.end}"
        props.append(
            _strokes(
                id,
                "sightlines",
                strokes,
                colour,
                width_pt=1.1 if blocked else 0.6,
                opacity=1.0 if blocked else 0.55,
                state=line.state,
                about=line.end,
                legend="blocked sight" if blocked else f"sight, {line.kind}",
            )
        )
        if blocked and line.blocked_at_m is not None:
            at = np.asarray(line.blocked_at_m, float)
            form = _mark_form(ink.BLOCKED_MARK, MARK_M)
            props.append(
                Prop(
                    f"{id}/stop",
                    "sightlines",
                    "mark",
                    ink.CLASH,
                    form.points + at,
                    form.faces,
                    anchor=line.blocked_at_m,
                    state="blocked",
                    about=line.blocked_by or "",
                    text=ink.BLOCKED_MARK,
                    solid=f"{id}/stop",
                    legend="what blocks it",
                )
            )
    return props


def _region(scene: Scene, regions: Sequence[object], keep_outs: Sequence[PlanPolygon]) -> list[Prop]:
    """Where an array may hang (filled) and where it may not (hatched), at its height or under the ceiling."""
    props = []
    under = scene.room.ceiling_m - 0.012
    for number, region in enumerate(regions):
        height = getattr(region, "height_m", None)
        z = under if height is None else min(height, under)
        polygons: Sequence[PlanPolygon] = region.polygons  # type: ignore[attr-defined]
        if not polygons:
            continue
        forms = [_flat([outline, *holes], z) for outline, holes in polygons]
        rings = [_at_height(_closed(ring), z) for outline, holes in polygons for ring in (outline, *holes)]
        props.append(
            _mesh(
                f"allowed/{number}",
                "region",
                join(*forms),
                ink.REGION,
                opacity=0.20,
                crease_deg=0.0,
                solid="",
                legend="the array may hang here",
            )
        )
        props.append(_strokes(f"allowed/{number}/edge", "region", rings, ink.REGION, width_pt=1.2))
    if keep_outs:
        import shapely

        shape = shapely.union_all([shapely.Polygon(outline, holes) for outline, holes in keep_outs])
        shape = shape.intersection(shapely.Polygon(outline_of(scene)))
        strokes = []
        for piece in getattr(shape, "geoms", [shape]):
            if piece.geom_type == "Polygon" and not piece.is_empty:
                strokes += [
                    _at_height(np.asarray(loop.coords), under) for loop in (piece.exterior, *piece.interiors)
                ]
        (x0, y0), (x1, y1) = scene.room.bounds_m
        span = (x1 - x0) + (y1 - y0)
        for offset in np.arange(-span, span, 0.12):
            cut = shapely.LineString([(x0 + offset, y0), (x0 + offset + (y1 - y0), y1)]).intersection(shape)
            for piece in getattr(cut, "geoms", [cut]):
                if piece.geom_type == "LineString" and not piece.is_empty:
                    strokes.append(_at_height(np.asarray(piece.coords), under))
        props.append(
            _strokes(
                "kept out",
                "region",
                strokes,
                ink.KEEP_OUT,
                width_pt=0.5,
                opacity=0.6,
                legend="keep clear of devices",
            )
        )
    return props


# ---------------------------------------------------------------- dimensions and words


def row_m(scene: Scene, least_m: float) -> float:
    """How far apart rows of dimensions are, metres: `least_m`, more in a room so long that words would touch."""
    (x0, y0), (x1, y1) = scene.room.bounds_m
    return max(least_m, max(x1 - x0, y1 - y0) / ROOM_PER_ROW)


def alike(scene: Scene, axis: int) -> list[list[Array]]:
    """The arrays in groups that have the same x, y or height (axis 0, 1, 2) to the millimetre, in file order."""
    groups: dict[int, list[Array]] = {}
    for array in scene.arrays:
        groups.setdefault(round(1000 * array.centre_m[axis]), []).append(array)
    return list(groups.values())


def whose_of(scene: Scene, arrays: Sequence[Array]) -> str:
    """Whose a dimension is, in words: the arrays' ids, or how many where it is for all and they are many."""
    if len(arrays) > 2 and len(arrays) == len(scene.arrays):
        return f"all {len(arrays)} arrays"
    ids = [array.id for array in arrays]
    return ", ".join(ids) if len(ids) < 4 else f"{ids[0]}, {ids[1]} and {len(ids) - 2} more"


def _dimensions(scene: Scene) -> list[Prop]:
    """The room's size and the arrays' offsets on plan; their heights and drops, and the ceiling, upright.

    Arrays of one x, y or height share its dimension, which says whose it is.
    """
    props: list[Prop] = []
    (x0, y0), (x1, y1) = scene.room.bounds_m
    locale = Locale.of(scene)
    flat = ("plan", "ceiling")
    side = WALL_M + 0.30

    def measure(
        id: str,
        start: ArrayLike,
        end: ArrayLike,
        tick: ArrayLike,
        only: tuple[str, ...],
        about: str = "",
        word: str = "",
    ) -> None:
        a, b, t = np.asarray(start, float), np.asarray(end, float), np.asarray(tick, float)
        distance = float(np.linalg.norm(b - a))
        if distance < 0.02:
            return
        slash = 0.045 * ((b - a) / distance + t / np.linalg.norm(t))
        over = 0.06 * t / np.linalg.norm(t)
        strokes = [
            [a, b],
            [a - slash, a + slash],
            [b - slash, b + slash],
            [a - over, a + over],
            [b - over, b + over],
        ]
        said = locale.length(distance)
        props.append(_strokes(id, "dimensions", strokes, ink.DIMENSION, width_pt=0.7, only=only, about=about))
        props.append(
            _label(
                f"{id}/label",
                "dimensions",
                f"{word} {said}".strip(),
                (a + b) / 2,
                colour=ink.DIMENSION,
                only=only,
                rank=1,
                about=about,
            )
        )

    z = 0.01
    measure("room/width", (x0, y0 - side, z), (x1, y0 - side, z), (0, 1, 0), flat)
    measure("room/depth", (x0 - side, y0, z), (x0 - side, y1, z), (1, 0, 0), flat)
    # beyond the room's outside, a row for each place that arrays have, so that nothing in the room is crossed
    apart = row_m(scene, ROW_M)
    for index, same in enumerate(alike(scene, 0)):
        row, x, whose = y1 + side + apart * index, same[0].centre_m[0], whose_of(scene, same)
        measure(f"{same[0].id}/x", (x0, row, z), (x, row, z), (0, 1, 0), flat, same[0].id, whose)
    for index, same in enumerate(alike(scene, 1)):
        row, y, whose = x1 + side + apart * index, same[0].centre_m[1], whose_of(scene, same)
        measure(f"{same[0].id}/y", (row, y0, z), (row, y, z), (1, 0, 0), flat, same[0].id, whose)
    for only in ("long", "cross"):
        level = (only == "long") == along_x(scene)
        for index, same in enumerate(alike(scene, 2)):
            out = (x1 if level else y1) + side + row_m(scene, COLUMN_M) * index
            first, height = same[0].id, same[0].centre_m[2]
            foot = np.array([out, same[0].centre_m[1]] if level else [same[0].centre_m[0], out])
            sideways = (1, 0, 0) if level else (0, 1, 0)
            # where there are several columns each says whose it is
            word = whose_of(scene, same) if len(same) < len(scene.arrays) else ""
            measure(f"{first}/height/{only}", (*foot, 0), (*foot, height), sideways, (only,), first, word)
            top = (*foot, scene.room.ceiling_m)
            measure(f"{first}/drop/{only}", (*foot, height), top, sideways, (only,), first, word)
            for array in same:
                x, y, _ = array.centre_m
                end = (out, y, height) if level else (x, out, height)
                props.append(
                    _strokes(
                        f"{array.id}/leader/{only}",
                        "dimensions",
                        # from the column, so that the dashes of arrays in line fall on each other
                        dashes([end, array.centre_m], 0.03, 0.04),
                        ink.DIMENSION,
                        width_pt=0.5,
                        about=array.id,
                        only=(only,),
                    )
                )
    for only in ("long", "cross"):
        level = (only == "long") == along_x(scene)
        corner = (x0 - side, y0) if level else (x0, y0 - side)
        top = (*corner, scene.room.ceiling_m)
        measure(f"room/height/{only}", (*corner, 0), top, (1, 0, 0) if level else (0, 1, 0), (only,))
    return props


def _labels(scene: Scene, review: Review) -> list[Prop]:
    locale = Locale.of(scene)
    props = []
    for head, judged in zip(scene.heads, review.heads, strict=True):
        x, y, z = head.middle_m
        lost = judged.standing in ("missed", "blocked")
        colour = ink.STATE_COLOURS[judged.standing] if lost else ink.INK
        props.append(
            _label(
                f"head/{head.id}",
                "labels",
                head.id,
                (x, y, z),
                about=head.id,
                state=judged.standing,
                rank=4,
                colour=colour,
            )
        )
    for array in scene.arrays:
        height = locale.site(array.centre_m[2])
        x, y, _ = array.centre_m
        props.append(
            _label(
                f"array/{array.id}",
                "labels",
                locale.say("stage.array", array=array.id, height=height),
                (x, y, array.underside_m),
                about=array.id,
                rank=0,
            )
        )
    tags = [("device", device.id, (*device.at_m, device.low_m), "ceiling") for device in scene.overhead]
    tags += [("display", display.id, display.at_m, "plan") for display in scene.displays]
    tags += [("camera", camera.id, camera.at_m, "plan") for camera in scene.cameras]
    for kind, id, at, view in tags:
        name = f"{kind}/{id}"
        props.append(_label(name, "labels", id, at, about=id, rank=6, only=(view,), colour=ink.INK_SOFT))
    return props


def with_layers(stage_: Stage, on: Iterable[str]) -> Stage:
    """The stage with these layers only."""
    wanted = set(on)
    unknown = wanted - set(LAYERS)
    if unknown:
        raise ValueError(
            f"layers {', '.join(sorted(unknown))} are not known; allowed are {', '.join(LAYERS)}"
        )
    return replace(stage_, props=tuple(prop for prop in stage_.props if prop.layer in wanted))
