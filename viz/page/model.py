"""The stage as a small GLB for the screen: same props, shared shapes, 16-bit places.

Model files for other programs are written elsewhere, in plain floats; this one is only read by the
page. People who sit alike, devices of a kind and arrays of a profile are the same shape at several
places, so each shape is stored once; positions are whole multiples of a power of two of a metre
(0.5 mm up to 16 m; glTF extension KHR_mesh_quantization). Normals are left
to the reader: points are split where an edge is sharp, so averaging gives them back.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from typing import Any

import manifold3d
import numpy as np
from numpy.typing import NDArray

from scenes.room.scene import Scene
from viz.forms import shaded
from viz.gltf import glb_container
from viz.palette import rgb
from viz.stage import Prop, Stage

Floats = NDArray[np.float64]
Home = tuple[tuple[float, float, float], float]
"""Where a thing's own frame is in the room, and its turn on plan in degrees."""

LEFT_OUT = ("band", "footprint", "labels")
"""Layers the page makes itself, because they move with the slider."""

COARSER = {"people": 0.007, "arrays": 0.0005}
"""How far a surface may be moved to save triangles: less than a pixel from where the room is looked at."""

UBYTE, SHORT, USHORT, UINT = 5121, 5122, 5123, 5125
TRIANGLES, LINES = 4, 1


def screen_glb(stage: Stage) -> bytes:
    """The stage's meshes and strokes as GLB bytes, y up; nodes carry layer, id, about, outward and only.

    A node's `outward` is the room direction from which the prop is left out. Marks and words are left
    out: the page draws them as text and signs that stay upright. The same stage gives the same bytes.
    """
    writer = _Writer()
    homes = _homes(stage.scene)
    for prop in stage:
        if prop.kind in ("label", "mark") or prop.layer in LEFT_OUT:
            continue
        writer.add(prop, homes.get(prop.about, ((0.0, 0.0, 0.0), 0.0)))
    return writer.glb()


def _homes(scene: Scene) -> dict[str, Home]:
    homes: dict[str, Home] = {head.id: ((*head.at_m, 0.0), head.facing_deg) for head in scene.heads}
    homes |= {device.id: ((*device.at_m, device.low_m), device.turn_deg) for device in scene.overhead}
    homes |= {array.id: (array.centre_m, array.turn_deg) for array in scene.arrays}
    return homes


class _Writer:
    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self.meshes: list[dict[str, Any]] = []
        self.materials: dict[str, int] = {}
        self.shapes: dict[bytes, int] = {}
        self.nodes: list[dict[str, Any]] = []
        self.tops: list[int] = []

    def add(self, prop: Prop, home: Home) -> None:
        (x, y, z), turn_deg = home
        stroked = prop.kind == "line"
        index = prop.segments if stroked else prop.faces
        if not len(index):
            return
        # 0.01 mm is noise: without it people who sit alike would not be alike any more
        local = np.round(_turned(prop.points - np.array([x, y, z]), -turn_deg), 5) + 0.0
        if not stroked and prop.fade is None:
            if prop.layer in COARSER and prop.crease_deg:
                local, index = _coarser(local, index, COARSER[prop.layer])
            # split where an edge is drawn sharp, so that the reader's own averaged normals are these again
            local, _, index = shaded(local, index, prop.crease_deg)
        step = 2.0 ** max(-11, math.ceil(math.log2(max(float(np.abs(local).max()), 1e-6) / 32767)))
        places = _y_up(np.round(local / step)).astype(np.int16)
        fade = None if prop.fade is None else np.round(np.clip(prop.fade, 0, 1) * 255).astype(np.uint8)
        mesh = self._mesh(prop, places, fade, np.asarray(index), stroked)
        extras: dict[str, Any] = {"layer": prop.layer, "id": prop.id}
        if prop.about:
            extras["about"] = prop.about
        if prop.state:
            extras["state"] = prop.state
        if prop.outward is not None:
            extras["outward"] = prop.outward
            extras["edge"] = [
                round(float(v), 4) for v in prop.points[np.argmin(prop.points @ np.array(prop.outward))]
            ]
        if prop.only:
            extras["only"] = prop.only
        half = math.radians(turn_deg) / 2
        self.nodes.append({"mesh": mesh, "scale": [step, step, step]})
        top: dict[str, Any] = {
            "name": f"{prop.layer}/{prop.id}",
            "children": [len(self.nodes) - 1],
            "extras": extras,
        }
        if any((x, y, z)):
            top["translation"] = [round(x, 5), round(z, 5), round(-y, 5)]
        if turn_deg:
            top["rotation"] = [0, round(math.sin(half), 7), 0, round(math.cos(half), 7)]
        self.nodes.append(top)
        self.tops.append(len(self.nodes) - 1)

    def _mesh(
        self,
        prop: Prop,
        places: NDArray[np.int16],
        fade: NDArray[np.uint8] | None,
        index: NDArray[np.int64],
        stroked: bool,
    ) -> int:
        material = self._material(prop)
        parts = [places.tobytes(), index.astype(np.uint32).tobytes(), bytes([stroked])]
        shape = b"|".join(parts if fade is None else [*parts, fade.tobytes()])
        # the same shape in another colour is another mesh of the same numbers
        key = shape + material.to_bytes(2, "little")
        if key in self.shapes:
            return self.shapes[key]
        if shape in self.shapes:
            primitive = {**self.meshes[self.shapes[shape]]["primitives"][0], "material": material}
        else:
            attributes = {"POSITION": self._accessor(_padded(places, 4), SHORT, "VEC3", 8, bounds=places)}
            if fade is not None:
                white = np.full((len(fade), 4), 255, np.uint8)
                white[:, 3] = fade
                attributes["COLOR_0"] = self._accessor(white, UBYTE, "VEC4", 4, normalized=True)
            wide = len(places) > 65535
            flat = index.astype(np.uint32 if wide else np.uint16).reshape(-1, 1)
            primitive = {
                "attributes": attributes,
                "indices": self._accessor(flat, UINT if wide else USHORT, "SCALAR", None),
                "mode": LINES if stroked else TRIANGLES,
                "material": material,
            }
        self.meshes.append({"primitives": [primitive]})
        self.shapes[key] = self.shapes[shape] = len(self.meshes) - 1
        return self.shapes[key]

    def _accessor(
        self,
        values: NDArray[Any],
        component: int,
        kind: str,
        stride: int | None,
        *,
        normalized: bool = False,
        bounds: NDArray[Any] | None = None,
    ) -> int:
        self.data += b"\0" * (-len(self.data) % 4)
        raw = np.ascontiguousarray(values).tobytes()
        view: dict[str, Any] = {"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw)}
        if stride is not None:
            view["byteStride"] = stride
            view["target"] = 34962
        else:
            view["target"] = 34963
        self.data += raw
        self.views.append(view)
        accessor: dict[str, Any] = {
            "bufferView": len(self.views) - 1,
            "componentType": component,
            "count": len(values),
            "type": kind,
        }
        if normalized:
            accessor["normalized"] = True
        if bounds is not None:
            accessor["min"], accessor["max"] = bounds.min(axis=0).tolist(), bounds.max(axis=0).tolist()
        self.accessors.append(accessor)
        return len(self.accessors) - 1

    def _material(self, prop: Prop) -> int:
        linear = [
            round(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4, 5) for c in rgb(prop.colour)
        ]
        material: dict[str, Any] = {
            "pbrMetallicRoughness": {"baseColorFactor": [*linear, prop.opacity], "metallicFactor": 0},
        }
        if prop.translucent:
            material["alphaMode"] = "BLEND"
        return self.materials.setdefault(json.dumps(material), len(self.materials))

    def glb(self) -> bytes:
        tree = {
            "asset": {"version": "2.0", "generator": "overtable"},
            "extensionsUsed": ["KHR_mesh_quantization"],
            "extensionsRequired": ["KHR_mesh_quantization"],
            "scene": 0,
            "scenes": [{"nodes": self.tops}],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": [json.loads(text) for text in self.materials],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": len(self.data)}],
        }
        return glb_container(tree, self.data)


def _turned(points: Floats, turn_deg: float) -> Floats:
    turn = math.radians(turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    turned: Floats = points @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return turned


def _coarser(points: Floats, faces: NDArray[np.int64], by_m: float) -> tuple[Floats, NDArray[np.int64]]:
    """A closed mesh with the points left out that nobody would miss, its surface moved by at most `by_m`."""
    mesh = manifold3d.Mesh64(np.ascontiguousarray(points), np.ascontiguousarray(faces.astype(np.uint64)))
    solid = manifold3d.Manifold(mesh)
    if solid.status() != manifold3d.Error.NoError:
        return points, faces
    kept = solid.simplify(by_m).to_mesh64()
    places: Floats = np.array(kept.vert_properties, float)[:, :3]
    return places, np.array(kept.tri_verts, np.int64)


def _y_up(points: Floats) -> Floats:
    return np.column_stack([points[:, 0], points[:, 2], -points[:, 1]])


def _padded(values: NDArray[Any], columns: int) -> NDArray[Any]:
    return np.column_stack([values, np.zeros((len(values), columns - values.shape[1]), values.dtype)])


def shown_layers(stage: Stage) -> Sequence[str]:
    """The layers that have something to show, in the stage's order, the page's own among them."""
    from viz.stage import LAYERS

    present: Iterable[str] = {prop.layer for prop in stage}
    return [layer for layer in LAYERS if layer in present]
