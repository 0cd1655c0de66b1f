"""The stage as binary glTF 2.0: for other programs through trimesh, for the page packed small.

Metres, y up as glTF asks for; a node of each thing stands where the thing is, turned as it is, so that where
an array hangs is read from the node `arrays/ID`.

`glb_bytes` writes plain floats. Layers are nodes, things (`layer/id`) nodes in them, and in these the props, each with
its mesh; what belongs to no single thing is in its layer. The extras of an array's node hold what it is, where
it hangs, height, band and clearances, in the names and units of the review's JSON and in the room's frame (z up);
those of a device its kind, height and clearances, those of a head its state. The asset's extras say in one line why
the room is held, or what is open. Materials are named after what is painted with them. The file has two scenes: the one
that viewers open is without the ceiling and what is above it, the second has it.

`screen_glb` is only read by the page. People who sit alike, devices of a kind and arrays of a profile are the same shape
at several places, so each shape is stored once; positions are whole multiples of a power of two of a metre (0.5 mm up to
16 m; glTF extension KHR_mesh_quantization). Normals are left to the reader: points are split where an edge is sharp, so
averaging gives them back. trimesh writes plain floats only, which are five times as many bytes.

The same stage gives the same bytes.
"""

from __future__ import annotations

import json
import math
import struct
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import manifold3d
import numpy as np
from numpy.typing import NDArray

from geometry.shapes import Box
from scenes.numbers import rounded
from scenes.review.as_json import as_json
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Scene
from viz.forms import shaded
from viz.palette import Colour, rgb
from viz.stage import Prop, Stage
from viz.words import cautions
from viz.words.locale import Locale

if TYPE_CHECKING:
    import trimesh

Floats = NDArray[np.float64]
Home = tuple[tuple[float, float, float], float]
"""Where a thing's own frame is in the room, and its turn on plan in degrees."""

UBYTE, SHORT, USHORT, UINT = 5121, 5122, 5123, 5125
ARRAY_BUFFER, ELEMENT_BUFFER = 34962, 34963
LINES, TRIANGLES = 1, 4
UP = (0.0, 0.0, 1.0)

BETWEEN = ("areas", "margins", "clearances", "sightlines", "region")
"""Layers whose props lie between things: they stay in the room's own frame."""


def homes(scene: Scene) -> dict[str, Home]:
    """The frame of every thing that has a place, by its id: an array's is at its acoustic centre."""
    found: dict[str, Home] = {head.id: ((*head.at_m, 0.0), head.facing_deg) for head in scene.heads}
    found |= {table.id: ((*table.at_m, 0.0), table.turn_deg) for table in scene.tables}
    found |= {device.id: ((*device.at_m, device.low_m), device.turn_deg) for device in scene.overhead}
    found |= {array.id: (array.centre_m, array.turn_deg) for array in scene.arrays}
    found |= {display.id: (display.at_m, display.facing_deg) for display in scene.displays}
    found |= {camera.id: (camera.at_m, 0.0) for camera in scene.cameras}
    for obstacle in scene.obstacles:
        solid = obstacle.solid
        x, y, _ = solid.middle_m
        found[obstacle.id] = ((x, y, solid.low_m), solid.turn_deg if isinstance(solid, Box) else 0.0)
    return found


def _into(points: Floats, home: Home) -> Floats:
    """Points of the room in a thing's own frame."""
    at, turn_deg = home
    return _turned(points - np.array(at), -turn_deg)


def linear(colour: str) -> list[float]:
    """A colour's red, green and blue as glTF stores them: linear, 0 to 1."""
    return [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour)]


# ---------------------------------------------------------------- for other programs


def modelled(stage: Stage) -> Iterator[Prop]:
    """The props a model file holds: meshes, marks and strokes that are there in every view."""
    for prop in stage:
        if prop.kind == "label" or prop.fade is not None or (prop.only and prop.id != "plenum"):
            continue
        if prop.layer == "dimensions" or not len(prop.points):
            continue
        if len(prop.faces) or len(prop.segments):
            yield prop


def overhead_shell(prop: Prop) -> bool:
    """Whether a prop belongs to the ceiling and what the building has above it, which hide all the rest."""
    return prop.layer == "shell" and (prop.outward == UP or prop.id in ("plenum", "ceiling/edge"))


def glb_bytes(stage: Stage) -> bytes:
    """The stage as a GLB file that any viewer opens onto the room without its ceiling."""
    from trimesh.exchange.gltf import export_glb

    tree = _Tree(stage)
    for prop in modelled(stage):
        tree.add(prop)
    return bytes(export_glb(tree.scene, include_normals=True, tree_postprocessor=tree.finish))


class _Tree:
    """A trimesh scene grown prop by prop.

    Its frames and geometries are known by numbers, since any two names of the room may be alike; `finish` gives the
    nodes their names. Materials are set there too: trimesh rounds linear colours to 8 bits, and writes all strokes
    in white.
    """

    def __init__(self, stage: Stage) -> None:
        import trimesh

        self.stage = stage
        self.scene = trimesh.Scene()
        self.names: dict[str, str] = {}
        self.frames: dict[tuple[str, ...], str] = {}
        self.homes = homes(stage.scene)
        self.extras = _extras(stage)
        self.materials: list[dict[str, Any]] = []
        self.material_of: dict[str, int] = {}
        self.numbers: dict[str, int] = {}

    def add(self, prop: Prop) -> None:
        """One prop, in the frame of its thing."""
        above = overhead_shell(prop)
        home = None if prop.layer in BETWEEN else self.homes.get(prop.about)
        frame = self._layer(prop.layer, above)
        if home is not None:
            frame = self._thing(frame, prop, home)
        key = str(len(self.names))
        self.names[key] = f"{prop.layer}/{prop.id}"
        extras = {"layer": prop.layer, "id": prop.id, "state": prop.state, "about": prop.about}
        self.scene.add_geometry(
            _geometry(prop, home or ((0.0, 0.0, 0.0), 0.0)),
            node_name=key,
            geom_name=key,
            parent_node_name=frame,
            metadata=extras,
        )
        self.material_of[key] = self._material(prop)

    def _frame(self, path: tuple[str, ...], parent: str | None, name: str, **more: Any) -> str:
        if path not in self.frames:
            key = self.frames[path] = str(len(self.names))
            self.names[key] = name
            self.scene.graph.update(frame_to=key, frame_from=parent, **more)
        return self.frames[path]

    def _layer(self, layer: str, above: bool) -> str:
        # z up in the room, y up in glTF: a quarter turn about x, once, at the root
        y_up = np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
        top = "ceiling" if above else "room"
        name = self.stage.scene.name
        if above:
            name = Locale.of(self.stage.scene).say("model.ceiling", room=name)
        root = self._frame((top,), None, name, matrix=y_up)
        return self._frame((top, layer), root, layer)

    def _thing(self, parent: str, prop: Prop, home: Home) -> str:
        at, turn_deg = home
        matrix = np.eye(4)
        matrix[:3, :3] = _turned(np.eye(3), turn_deg).T
        matrix[:3, 3] = np.round(at, 6)
        own = self.extras.get((prop.layer, prop.about), {})
        extras = {"layer": prop.layer, "id": prop.about, **own}
        name = f"{prop.layer}/{prop.about}"
        return self._frame(("thing", prop.layer, prop.about), parent, name, matrix=matrix, metadata=extras)

    def _material(self, prop: Prop) -> int:
        colour = [round(c, 6) for c in linear(prop.colour)]
        material: dict[str, Any] = {
            "pbrMetallicRoughness": {
                "baseColorFactor": [*colour, prop.opacity],
                "metallicFactor": 0,
                "roughnessFactor": round(0.9 - 0.5 * prop.shine, 3),
            }
        }
        if prop.opacity < 1:
            material |= {"alphaMode": "BLEND", "doubleSided": True}
        if prop.flat and prop.kind != "line":
            material["emissiveFactor"] = [round(0.6 * c, 6) for c in colour]
        name = prop.colour.name if isinstance(prop.colour, Colour) else prop.colour
        key = json.dumps([name, material])
        if key not in self.numbers:
            self.numbers[key] = len(self.materials)
            alike = sum(json.loads(other)[0] == name for other in self.numbers)
            self.materials.append({"name": name if alike == 1 else f"{name} {alike}", **material})
        return self.numbers[key]

    def finish(self, tree: dict[str, Any]) -> None:
        """Names, materials, scenes and cautions, set in the tree that trimesh writes."""
        keys = [node["name"] for node in tree["nodes"]]
        for node in tree["nodes"]:
            node["name"] = self.names[node["name"]]
        for mesh in tree["meshes"]:
            key = mesh["name"]
            mesh["name"] = self.names[key]
            mesh.pop("extras", None)
            primitive = mesh["primitives"][0]
            primitive["material"] = self.material_of[key]
            for accessor in primitive["attributes"].values():
                tree["bufferViews"][tree["accessors"][accessor]["bufferView"]]["target"] = ARRAY_BUFFER
            if "indices" in primitive:
                indices = tree["accessors"][primitive["indices"]]
                tree["bufferViews"][indices["bufferView"]]["target"] = ELEMENT_BUFFER
        tree["materials"] = self.materials
        roots = [keys.index(key) for path, key in self.frames.items() if len(path) == 1]
        room = keys.index(self.frames["room",])
        name = self.stage.scene.name
        tree["scenes"] = [{"name": name, "nodes": [room]}]
        if len(roots) > 1:
            whole = Locale.of(self.stage.scene).say("model.with ceiling", room=name)
            tree["scenes"].append({"name": whole, "nodes": roots})
        tree["asset"] |= {"generator": "overtable", "extras": {"cautions": cautions.line(self.stage.review)}}


def _geometry(prop: Prop, home: Home) -> trimesh.Trimesh | trimesh.path.Path3D:
    """A prop in its thing's own frame, in trimesh's hands: a mesh, or strokes."""
    import trimesh

    # what is below a thousandth of a millimetre is noise: without it things that are alike are stored once
    if prop.kind == "line":
        lines = [trimesh.path.entities.Line(line) for line in polylines(prop.segments)]
        points = np.round(_into(prop.points, home), 6) + 0.0
        return trimesh.path.Path3D(lines, points, process=False)
    points, normals, faces = prop.shaded()
    return trimesh.Trimesh(
        np.round(_into(points, home), 6) + 0.0,
        faces,
        vertex_normals=np.round(_into(normals, ((0.0, 0.0, 0.0), home[1])), 6) + 0.0,
        process=False,
    )


def polylines(segments: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Strokes (s, 2) as lines through points, each as far as one stroke begins where the last one ended."""
    breaks = np.flatnonzero(segments[1:, 0] != segments[:-1, 1]) + 1
    return [np.concatenate([run[:1, 0], run[:, 1]]) for run in np.split(segments, breaks)]


def _extras(stage: Stage) -> dict[tuple[str, str], dict[str, Any]]:
    """What the nodes of arrays, devices and heads say of them, by layer and id."""
    scene, found = stage.scene, rounded(as_json(stage.review))
    rows = found["clearances"]
    extras: dict[tuple[str, str], dict[str, Any]] = {}
    for array, row in zip(scene.arrays, found["arrays"], strict=True):
        hung = {"profile": array.profile.name, "turn_deg": array.turn_deg}
        hung["hangs_from_m"] = [*row["at_m"], ceiling_over_m(scene.room, array.at_m)]
        names = ("at_m", "height_m", "drop_m", "underside_m", "band", "reach_m", "tolerance")
        hung |= {name: row[name] for name in names}
        extras["arrays", array.id] = {
            **rounded(hung),
            "clearances": [one for one in rows if one["array"] == array.id],
        }
    for device in scene.overhead:
        near = [one for one in rows if device.id in (one["device"], one["against"])]
        about = {"kind": device.kind, "height_m": device.low_m}
        extras["overhead", device.id] = {**rounded(about), "clearances": near}
    for head, row in zip(stage.review.heads, found["heads"], strict=True):
        extras["people", head.id] = {"state": head.standing, "mouth_m": row["mouth_m"], "array": head.array}
    return extras


# ---------------------------------------------------------------- for the page

LEFT_OUT = ("band", "footprint", "labels")
"""Layers the page makes itself, because they move with the slider."""

COARSER = {"people": 0.007, "arrays": 0.0005}
"""How far a surface may be moved to save triangles: less than a pixel from where the room is looked at."""


def screen_glb(stage: Stage) -> bytes:
    """The stage's meshes and strokes as GLB bytes, y up; nodes carry layer, id, about, outward and only.

    A node's `outward` is the room direction from which the prop is left out. Marks and words are left
    out: the page draws them as text and signs that stay upright. The same stage gives the same bytes.
    """
    writer = _Writer()
    frames = homes(stage.scene)
    for prop in stage:
        if prop.kind in ("label", "mark") or prop.layer in LEFT_OUT:
            continue
        writer.add(prop, frames.get(prop.about, ((0.0, 0.0, 0.0), 0.0)))
    return writer.glb()


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
        local = np.round(_into(prop.points, home), 5) + 0.0
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
        extras |= {name: views for name in ("only", "unless") if (views := getattr(prop, name))}
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
            view["target"] = ARRAY_BUFFER
        else:
            view["target"] = ELEMENT_BUFFER
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
        colour = [round(c, 5) for c in linear(prop.colour)]
        material: dict[str, Any] = {
            "pbrMetallicRoughness": {"baseColorFactor": [*colour, prop.opacity], "metallicFactor": 0},
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


def glb_container(tree: dict[str, Any], buffer: bytes | bytearray) -> bytes:
    """A binary glTF 2.0 file of its JSON tree and its one buffer, both padded to four bytes."""
    text = json.dumps(tree, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
    text += b" " * (-len(text) % 4)
    data = bytes(buffer) + b"\0" * (-len(buffer) % 4)
    return b"".join(
        [
            struct.pack("<4sII", b"glTF", 2, 12 + 8 + len(text) + 8 + len(data)),
            struct.pack("<I4s", len(text), b"JSON"),
            text,
            struct.pack("<I4s", len(data), b"BIN\0"),
            data,
        ]
    )
