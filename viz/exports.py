"""Model files for other programs, from the stage's props: GLB, OBJ and STL. The same stage, the same bytes.

GLB is y up as glTF asks for, in metres; its nodes are named `layer/id` and carry layer, id, state and
what they are about; its asset's extras carry in one line why the room is held, or what is open. OBJ, which
has the line in a comment, and STL, whose 80 bytes of head hold a room that fails, stay z up, in metres.
Shadows and words are left out: they are for pictures. `EXPORTERS` maps a file's ending to the function that
makes it from a dossier.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from viz.gltf import glb_container
from viz.palette import rgb
from viz.stage import Prop, Stage, staged
from viz.words import cautions
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier

Exporter = Callable[["Dossier"], bytes | str]
EXPORTERS: dict[str, Exporter] = {}

FLOAT, UINT = 5126, 5125
ARRAY_BUFFER, ELEMENT_BUFFER = 34962, 34963
LINES, TRIANGLES = 1, 4
SOLID_LAYERS = ("shell", "tables", "arrays", "overhead", "people")
"""What an STL holds: things, not lines of sight or films."""


def exporter(ending: str) -> Callable[[Exporter], Exporter]:
    """Register a function for a file's ending; two for one ending is an error."""

    def register(function: Exporter) -> Exporter:
        if ending in EXPORTERS:
            raise ValueError(f"two exporters for .{ending}")
        EXPORTERS[ending] = function
        return function

    return register


def modelled(stage: Stage) -> Iterable[Prop]:
    """The props a model file holds: meshes, marks and strokes that are there in every view."""
    for prop in stage:
        if prop.kind == "label" or prop.fade is not None or (prop.only and prop.id != "plenum"):
            continue
        if prop.layer == "dimensions" or not len(prop.points):
            continue
        if len(prop.faces) or len(prop.segments):
            yield prop


# ---------------------------------------------------------------- glTF


def glb_bytes(stage: Stage) -> bytes:
    """The stage as one GLB file: layers are groups, every prop a node `layer/id` with its own mesh."""
    writer = _Glb()
    layers: dict[str, list[int]] = {}
    for prop in modelled(stage):
        layers.setdefault(prop.layer, []).append(writer.node(prop))
    for layer, children in layers.items():
        writer.nodes.append({"name": layer, "children": children})
    writer.cautions = cautions.line(stage.review)
    tops = list(range(len(writer.nodes) - len(layers), len(writer.nodes)))
    # z up in the room, y up in glTF: a quarter turn about x, once, at the root
    half = 0.7071067811865476
    writer.nodes.append({"name": stage.scene.name, "rotation": [-half, 0, 0, half], "children": tops})
    return writer.bytes()


class _Glb:
    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self.meshes: list[dict[str, Any]] = []
        self.nodes: list[dict[str, Any]] = []
        self.materials: dict[str, int] = {}
        self.cautions = ""

    def node(self, prop: Prop) -> int:
        stroked = prop.kind == "line"
        attributes: dict[str, int] = {}
        if stroked:
            used, index = np.unique(prop.segments, return_inverse=True)
            points, index = prop.points[used], index.reshape(-1)
        else:
            points, normals, faces = prop.shaded()
            index = faces.reshape(-1)
            attributes["NORMAL"] = self._floats(normals)
        attributes["POSITION"] = self._floats(points, bounds=True)
        primitive = {
            "attributes": attributes,
            "indices": self._indices(index),
            "mode": LINES if stroked else TRIANGLES,
            "material": self._material(prop, stroked),
        }
        self.meshes.append({"name": f"{prop.layer}/{prop.id}", "primitives": [primitive]})
        extras = {"layer": prop.layer, "id": prop.id, "state": prop.state, "about": prop.about}
        self.nodes.append({"name": f"{prop.layer}/{prop.id}", "mesh": len(self.meshes) - 1, "extras": extras})
        return len(self.nodes) - 1

    def _view(self, raw: bytes, target: int) -> int:
        self.data += b"\0" * (-len(self.data) % 4)
        self.views.append(
            {"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target}
        )
        self.data += raw
        return len(self.views) - 1

    def _floats(self, values: NDArray[np.float64], *, bounds: bool = False) -> int:
        single = np.ascontiguousarray(values, np.float32)
        accessor: dict[str, Any] = {
            "bufferView": self._view(single.tobytes(), ARRAY_BUFFER),
            "componentType": FLOAT,
            "count": len(single),
            "type": "VEC3",
        }
        if bounds:
            accessor["min"] = [float(v) for v in single.min(axis=0)]
            accessor["max"] = [float(v) for v in single.max(axis=0)]
        self.accessors.append(accessor)
        return len(self.accessors) - 1

    def _indices(self, index: NDArray[np.int64]) -> int:
        raw = np.ascontiguousarray(index, np.uint32).tobytes()
        view = self._view(raw, ELEMENT_BUFFER)
        self.accessors.append(
            {"bufferView": view, "componentType": UINT, "count": len(index), "type": "SCALAR"}
        )
        return len(self.accessors) - 1

    def _material(self, prop: Prop, stroked: bool) -> int:
        # colours are stored linear
        colour = [
            round(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4, 6) for c in rgb(prop.colour)
        ]
        material: dict[str, Any] = {
            "pbrMetallicRoughness": {
                "baseColorFactor": [*colour, prop.opacity],
                "metallicFactor": 0,
                "roughnessFactor": round(0.9 - 0.5 * prop.shine, 3),
            }
        }
        if prop.opacity < 1:
            material["alphaMode"] = "BLEND"
            material["doubleSided"] = True
        if prop.flat and not stroked:
            material["emissiveFactor"] = [round(0.6 * c, 6) for c in colour]
        return self.materials.setdefault(json.dumps(material), len(self.materials))

    def bytes(self) -> bytes:
        tree = {
            "asset": {"version": "2.0", "generator": "overtable", "extras": {"cautions": self.cautions}},
            "scene": 0,
            "scenes": [{"nodes": [len(self.nodes) - 1]}],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": [json.loads(text) for text in self.materials],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": len(self.data)}],
        }
        return glb_container(tree, self.data)


# ---------------------------------------------------------------- OBJ and STL


def obj_text(stage: Stage) -> str:
    """The stage as OBJ text: an object per prop, colours at the points (r g b after x y z), strokes as lines."""
    lines = [f"# {stage.scene.name}, made by overtable; metres, z up", f"# {cautions.line(stage.review)}"]
    start = 1
    for prop in modelled(stage):
        stroked = prop.kind == "line"
        points, _, faces = (prop.points, None, prop.faces) if stroked else prop.shaded()
        colour = " ".join(f"{c:.4g}" for c in rgb(prop.colour))
        name = f"{prop.layer}/{prop.id}".replace(" ", "_")
        lines.append(f"o {name}")
        lines += [f"v {x:.6g} {y:.6g} {z:.6g} {colour}" for x, y, z in points.tolist()]
        if stroked:
            lines += [f"l {a} {b}" for a, b in (prop.segments + start).tolist()]
        else:
            lines += [f"f {a} {b} {c}" for a, b, c in (faces + start).tolist()]
        start += len(points)
    return "\n".join(lines) + "\n"


def stl_bytes(stage: Stage) -> bytes:
    """The solid things of the stage as binary STL: room, furniture, people, arrays, devices."""
    meshes = [p for p in modelled(stage) if p.layer in SOLID_LAYERS and p.kind == "mesh" and p.solid]
    corners = np.concatenate([prop.points[prop.faces] for prop in meshes]).astype(np.float32)
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-20)[:, None]
    record = np.zeros(
        len(corners), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    )
    record["normal"], record["corners"] = normals, corners
    # a binary file's first words must not be `solid`, or readers take it for text
    head = b"overtable, metres, z up"
    if cautions.hold(stage.review):
        head += f". {Locale.of(stage.scene).say('hold, drawing')}".encode("ascii")
    head = head.ljust(80, b" ")
    return head + struct.pack("<I", len(corners)) + record.tobytes()


# ---------------------------------------------------------------- from a dossier


@exporter("glb")
def _glb(dossier: Dossier) -> bytes:
    return glb_bytes(staged(dossier))


@exporter("obj")
def _obj(dossier: Dossier) -> str:
    return obj_text(staged(dossier))


@exporter("stl")
def _stl(dossier: Dossier) -> bytes:
    return stl_bytes(staged(dossier))


@exporter("dxf")
def _dxf(dossier: Dossier) -> str:
    from viz.sheets.drawing import sheets

    return sheets(dossier).dxf


@exporter("ifc")
def _ifc(dossier: Dossier) -> str:
    from viz.ifc import ifc_text

    return ifc_text(dossier)


@exporter("bcf")
def _bcf(dossier: Dossier) -> bytes:
    from viz.bcf import bcf_bytes

    return bcf_bytes(dossier)


@exporter("csv")
def _csv(dossier: Dossier) -> str:
    from viz.csvs import heads_csv

    return heads_csv(dossier.review)


@exporter("json")
def _json(dossier: Dossier) -> str:
    from scenes.numbers import json_text
    from viz.json_objects import review_object

    return json_text(review_object(dossier.review))
