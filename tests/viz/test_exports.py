"""Model files, read back by programs that are not ours: the glTF validator and trimesh."""

from __future__ import annotations

import io
import json
import os
import shutil
import struct
import subprocess
import sys
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.viz.rooms import BOTH, staged
from viz import exports
from viz.exports import EXPORTERS, exporter, obj_text, seen, stl_bytes
from viz.gltf import glb_bytes, modelled, overhead_shell, polylines

VALIDATOR = "gltf-validator@2.0.0-dev.3.10"
VALIDATE = """
const validator = require("gltf-validator");
const bytes = new Uint8Array(require("fs").readFileSync(process.argv[2]));
validator.validateBytes(bytes, {maxIssues: 0}).then((report) => console.log(JSON.stringify(report)));
"""


def tree_of(glb: bytes):
    length = struct.unpack_from("<I", glb, 12)[0]
    return json.loads(glb[20 : 20 + length])


@pytest.fixture(scope="module")
def validator(tmp_path_factory):
    """A folder with the Khronos glTF validator, brought by npm."""
    folder = tmp_path_factory.mktemp("validator")
    npm = shutil.which("npm")
    assert npm, "npm is needed to test GLB files: apt install nodejs npm"
    subprocess.run([npm, "install", "--silent", "--no-audit", VALIDATOR], cwd=folder, check=True, timeout=300)
    (folder / "validate.js").write_text(VALIDATE)
    return folder


@pytest.mark.parametrize("room", sorted(BOTH))
def test_the_gltf_validator_finds_nothing(room, validator):
    file = validator / f"{room}.glb"
    file.write_bytes(glb_bytes(staged(room)))
    told = subprocess.run(
        ["node", "validate.js", file.name],
        cwd=validator,
        check=True,
        capture_output=True,
        text=True,
        timeout=120,
    )
    report = json.loads(told.stdout)
    assert report["issues"]["messages"] == []
    assert report["issues"]["numErrors"] == report["issues"]["numWarnings"] == 0
    assert report["info"]["totalTriangleCount"] == sum(
        len(prop.faces) for prop in modelled(staged(room)) if prop.kind != "line"
    )


@pytest.mark.parametrize("room", sorted(BOTH))
def test_another_reader_finds_every_mesh_in_its_place_with_y_up(room):
    made = staged(room)
    scene = trimesh.load(io.BytesIO(glb_bytes(made)), file_type="glb")
    opened = [prop for prop in modelled(made) if not overhead_shell(prop)]
    for prop in opened:
        transform, name = scene.graph[f"{prop.layer}/{prop.id}"]
        mesh = scene.geometry[name].copy().apply_transform(transform)
        expected = prop.points[np.unique(prop.segments)] if prop.kind == "line" else prop.points
        # room (x, y, z) is glTF (x, z, -y)
        assert np.allclose(
            mesh.bounds[0], [expected[:, 0].min(), expected[:, 2].min(), -expected[:, 1].max()], atol=2e-5
        )
        assert np.allclose(
            mesh.bounds[1], [expected[:, 0].max(), expected[:, 2].max(), -expected[:, 1].min()], atol=2e-5
        )


def placed_nodes(tree: dict) -> dict[str, tuple[dict, np.ndarray]]:
    """Every node of a glTF tree and where it is in the file's own frame, by its name: worked out by hand."""
    found = {}

    def walk(index, matrix):
        node = tree["nodes"][index]
        # glTF writes a matrix column by column
        matrix = matrix @ np.array(node.get("matrix", np.eye(4).ravel())).reshape(4, 4).T
        found[node["name"]] = node, matrix
        for child in node.get("children", ()):
            walk(child, matrix)

    for root in sorted({root for scene in tree["scenes"] for root in scene["nodes"]}):
        walk(root, np.eye(4))
    return found


@pytest.mark.parametrize("room", sorted(BOTH))
def test_things_stand_where_they_are_so_that_a_hang_point_can_be_read(room):
    made = staged(room)
    nodes = placed_nodes(tree_of(glb_bytes(made)))
    for array in made.scene.arrays:
        x, y, z = array.centre_m
        node, matrix = nodes[f"arrays/{array.id}"]
        assert matrix[:3, 3] == pytest.approx([x, z, -y], abs=1e-6)
        judged = next(one for one in made.review.arrays if one.id == array.id)
        extras = node["extras"]
        assert extras["hangs_from_m"] == pytest.approx([x, y, made.scene.room.ceiling_m], abs=1e-6)
        assert (extras["height_m"], extras["drop_m"]) == pytest.approx((z, judged.drop_m), abs=1e-6)
        low, high = array.profile.bands[array.band_name]
        assert extras["band"] == {"name": array.band_name, "low_deg": low, "high_deg": high}
        rows = [one for one in made.review.clearances if one.array == array.id]
        assert rows
        assert [(one["against"], one["rule"], one["state"]) for one in extras["clearances"]] == [
            (one.against, one.rule, one.state) for one in rows
        ]
        for told, one in zip(extras["clearances"], rows, strict=True):
            for name in ("required_m", "actual_m"):
                value = getattr(one, name)
                assert told[name] == (None if value is None else pytest.approx(value, abs=1e-6))
    for device in made.scene.overhead:
        node, matrix = nodes[f"overhead/{device.id}"]
        x, y = device.at_m
        assert matrix[:3, 3] == pytest.approx([x, device.low_m, -y], abs=1e-6)
        assert (node["extras"]["kind"], node["extras"]["height_m"]) == (
            device.kind,
            pytest.approx(device.low_m, abs=1e-6),
        )
    assert {name for name, (node, _) in nodes.items() if "clearances" in node.get("extras", {})} == {
        *(f"arrays/{one.id}" for one in made.scene.arrays),
        *(f"overhead/{one.id}" for one in made.scene.overhead),
    }


@pytest.mark.parametrize("room", sorted(BOTH))
def test_what_a_viewer_opens_has_no_ceiling_and_the_second_scene_has(room):
    made = staged(room)
    tree = tree_of(glb_bytes(made))

    def within(scene):
        waiting, names = list(scene["nodes"]), set()
        while waiting:
            node = tree["nodes"][waiting.pop()]
            names.add(node["name"])
            waiting += node.get("children", ())
        return names

    opened, whole = (within(scene) for scene in tree["scenes"])
    assert tree["scene"] == 0
    props = {f"{prop.layer}/{prop.id}": prop for prop in modelled(made)}
    assert props.keys() <= whole
    left_out = props.keys() - opened
    assert left_out >= {"shell/ceiling", "shell/ceiling/edge"}
    # all that is left out is level with the ceiling or above it
    assert all(props[name].points[:, 2].min() >= made.scene.room.ceiling_m - 0.01 for name in left_out)
    assert {name for name in opened if name.startswith("shell/wall")}
    assert {name for name in opened if name.startswith("overhead/")}


def test_materials_are_named_and_no_two_alike():
    tree = tree_of(glb_bytes(staged("quiet")))
    names = [material["name"] for material in tree["materials"]]
    assert len(set(names)) == len(names)
    assert not any(name.startswith("#") for name in names)
    of = {mesh["name"]: names[mesh["primitives"][0]["material"]] for mesh in tree["meshes"]}
    assert of["tables/T1/top"] == "table top"
    assert of["arrays/A1/body"] == "array body"
    assert of["shell/ceiling"] == "ceiling"
    assert of["band/A1/outer"].startswith("band")


def test_strokes_are_joined_where_one_begins_at_the_last_ones_end():
    runs = polylines(np.array([[0, 1], [1, 2], [5, 6], [6, 7], [7, 5], [9, 8]]))
    assert [run.tolist() for run in runs] == [[0, 1, 2], [5, 6, 7, 5], [9, 8]]


def test_two_processes_write_the_same_bytes():
    program = """
import hashlib
from tests.viz.rooms import staged
from viz.exports import obj_text, stl_bytes
from viz.gltf import glb_bytes, screen_glb
for write in (glb_bytes, screen_glb, obj_text, stl_bytes):
    content = write(staged("quiet"))
    print(hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest())
"""
    told = [
        subprocess.run(
            [sys.executable, "-c", program],
            cwd=Path(__file__).parents[2],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout.split()
        for seed in ("1", "2")
    ]
    assert told[0] == told[1]
    assert len(set(told[0])) == 4


def test_nodes_are_named_by_layer_and_id_and_carry_state():
    made = staged("nasty")
    nodes = {node["name"]: node for node in tree_of(glb_bytes(made))["nodes"]}
    for judged in made.review.heads:
        extras = nodes[f"people/{judged.id}/mark"]["extras"]
        assert extras == {
            "layer": "people", "id": f"{judged.id}/mark", "state": judged.state, "about": judged.id,
        }  # fmt: skip
    assert {name for name in nodes if "/" not in name} >= {"shell", "people", "band", "arrays", "Nasty Room"}


@pytest.mark.parametrize("write", [glb_bytes, obj_text, stl_bytes])
def test_the_same_stage_gives_the_same_bytes(write):
    assert write(staged("nasty")) == write(staged("nasty"))


def test_an_obj_read_by_trimesh_has_the_same_objects_and_places():
    made = staged("quiet")
    scene = trimesh.load_scene(
        io.StringIO(obj_text(made)), file_type="obj", split_objects=True, group_material=False
    )
    meshes = [prop for prop in seen(made) if prop.kind != "line"]
    count = sum(len(mesh.faces) for mesh in scene.geometry.values())
    assert count == sum(len(prop.faces) for prop in meshes)
    low = np.min([prop.points.min(axis=0) for prop in seen(made)], axis=0)
    high = np.max([prop.points.max(axis=0) for prop in seen(made)], axis=0)
    assert np.allclose(
        scene.bounds, [low, high], atol=0.002
    )  # the lines' ends are not part of trimesh's bounds
    names = Counter(line[2:] for line in obj_text(made).splitlines() if line.startswith("o "))
    assert names["arrays/A1/body"] == 1
    assert len(names) == len(list(seen(made)))
    strokes = sum(len(prop.segments) for prop in seen(made))
    assert sum(line.startswith("l ") for line in obj_text(made).splitlines()) == strokes


def test_an_stl_read_by_trimesh_encloses_the_same_volume():
    made = staged("quiet")
    mesh = trimesh.load(io.BytesIO(stl_bytes(made)), file_type="stl")
    kept = [p for p in seen(made) if p.layer in exports.SOLID_LAYERS and p.kind == "mesh" and p.solid]
    volume = sum(trimesh.Trimesh(p.points, p.faces, process=False).volume for p in kept)
    assert len(mesh.faces) == sum(len(p.faces) for p in kept)
    assert mesh.volume == pytest.approx(volume, rel=1e-4)
    assert not stl_bytes(made).startswith(b"solid")


def test_words_shadows_and_what_is_for_one_view_only_are_left_out():
    ids = {(prop.layer, prop.id) for prop in modelled(staged("quiet"))}
    assert ("shell", "plenum") in ids
    assert ("shell", "shadow") not in ids
    assert ("overhead", "L1/symbol") not in ids
    assert not any(layer in ("labels", "dimensions") for layer, _ in ids)


def test_two_exporters_for_one_ending_are_an_error():
    assert set(EXPORTERS) >= {"glb", "obj", "stl", "dxf", "csv", "json"}
    with pytest.raises(ValueError, match=r"two exporters for \.glb"):
        exporter("glb")(lambda dossier: b"")
