"""What a stage is made of: props, their layers, and the plain ones every room has."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.review import Review
from scenes.room.ceiling import highest_m
from scenes.room.scene import Scene
from viz import palette as ink
from viz.forms import Form, shaded, triangulated

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Kind = Literal["mesh", "line", "label", "mark"]
LAYERS = (
    "shell",
    "tables",
    "areas",
    "margins",
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
INTO_THE_ROOM: Final = ("corner", "free")
"""Views from outside into a room, without its ceiling."""
CREASE_DEG = 42.0
HAIR_M = 0.005
"""How far the clipped band stays inside floor, walls and ceiling: no two surfaces fight for a pixel."""
WALL_M = 0.12
NO_POINTS: Floats = np.zeros((0, 3))
NO_FACES: Integers = np.zeros((0, 3), np.int64)
NO_SEGMENTS: Integers = np.zeros((0, 2), np.int64)


@record(frozen=True, eq=False)
class Prop:
    """One thing to draw.

    `points` (n, 3) metres; `faces` (m, 3) triangles, outwards; `segments` (s, 2) strokes between points.
    `crease_deg`: edges sharper than this are drawn sharp, 0 for flat faces; `normals` (n, 3) where the
    exact ones are known. `fade` (n,) scales opacity point by point. `solid`: props of one layer that
    share it are together one closed surface ("" for an open one). `about`: the id of the thing in the
    spec. `outward`: seen from that side the prop is left out. `only`: views the prop is meant for, all
    if empty; `unless`: views it is left out of. `width_pt`: a stroke's width in points. Words: `text` at
    `anchor`; smaller `rank` goes first.
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
    unless: tuple[str, ...] = ()
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


@record(frozen=True, eq=False)
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
        return (x0, y0, 0.0), (x1, y1, highest_m(self.scene.room))


def with_layers(stage_: Stage, on: Iterable[str]) -> Stage:
    """The stage with these layers only."""
    wanted = set(on)
    unknown = wanted - set(LAYERS)
    if unknown:
        raise ValueError(
            f"layers {', '.join(sorted(unknown))} are not known; allowed are {', '.join(LAYERS)}"
        )
    return replace(stage_, props=tuple(prop for prop in stage_.props if prop.layer in wanted))


def mesh_prop(id: str, layer: str, form: Form, colour: str, **more: object) -> Prop:
    return Prop(id, layer, "mesh", colour, form.points, form.faces, **{"solid": id, **more})  # type: ignore[arg-type]


def stroke_prop(id: str, layer: str, strokes: Iterable[ArrayLike], colour: str, **more: object) -> Prop:
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


def label_prop(id: str, layer: str, text: str, anchor: ArrayLike, **more: object) -> Prop:
    x, y, z = (float(v) for v in np.asarray(anchor, float))
    colour = str(more.pop("colour", ink.INK))
    return Prop(id, layer, "label", colour, text=text, anchor=(x, y, z), **more)  # type: ignore[arg-type]


def closed(ring: ArrayLike) -> Floats:
    ring = np.asarray(ring, float)
    return np.concatenate([ring, ring[:1]])


def at_height(ring: ArrayLike, z: float) -> Floats:
    ring = np.asarray(ring, float)
    return np.column_stack([ring, np.full(len(ring), z)])


def level_face(rings: Sequence[Floats], z: float) -> Form:
    """A level face seen from above: the first ring anticlockwise, holes clockwise."""
    return Form(at_height(np.concatenate(rings), z), triangulated(rings))


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
