"""Model files, read back by programs that are not ours: the glTF validator and trimesh."""

from __future__ import annotations

import io
import json
import shutil
import struct
import subprocess
from collections import Counter

import numpy as np
import pytest
import trimesh

from tests.viz.rooms import BOTH, staged
from viz import exports
from viz.exports import EXPORTERS, exporter, glb_bytes, modelled, obj_text, stl_bytes

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
    for layer, id in (("arrays", "A1/body"), ("tables", "T1/top"), ("shell", "floor")):
        transform, name = scene.graph[f"{layer}/{id}"]
        mesh = scene.geometry[name].copy().apply_transform(transform)
        expected = made.prop(layer, id).points
        # room (x, y, z) is glTF (x, z, -y)
        assert np.allclose(
            mesh.bounds[0], [expected[:, 0].min(), expected[:, 2].min(), -expected[:, 1].max()], atol=1e-5
        )
        assert np.allclose(
            mesh.bounds[1], [expected[:, 0].max(), expected[:, 2].max(), -expected[:, 1].min()], atol=1e-5
        )


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
    meshes = [prop for prop in modelled(made) if prop.kind != "line"]
    count = sum(len(mesh.faces) for mesh in scene.geometry.values())
    assert count == sum(len(prop.faces) for prop in meshes)
    low = np.min([prop.points.min(axis=0) for prop in modelled(made)], axis=0)
    high = np.max([prop.points.max(axis=0) for prop in modelled(made)], axis=0)
    assert np.allclose(
        scene.bounds, [low, high], atol=0.002
    )  # the lines' ends are not part of trimesh's bounds
    names = Counter(line[2:] for line in obj_text(made).splitlines() if line.startswith("o "))
    assert names["arrays/A1/body"] == 1
    assert len(names) == len(list(modelled(made)))


def test_an_stl_read_by_trimesh_encloses_the_same_volume():
    made = staged("quiet")
    mesh = trimesh.load(io.BytesIO(stl_bytes(made)), file_type="stl")
    kept = [p for p in modelled(made) if p.layer in exports.SOLID_LAYERS and p.kind == "mesh" and p.solid]
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
