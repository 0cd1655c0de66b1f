"""Open points as BCF: valid by the published schemas, the same ids over revisions, closed when clear.

The schemas in `bcf/` are buildingSMART's (github.com/buildingSMART/BCF-XML, CC BY-ND 4.0), unmodified.
"""

from __future__ import annotations

import io
import math
import subprocess
import uuid
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import ifcopenshell.guid
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from scenes.dossier import Dossier
from scenes.models.guids import compressed, thing_guid
from scenes.room.build import build, read_scene
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text
from tests.viz.test_ifc import LIGHT, ORIGIN_M, TURN_DEG, heron_of_a_model, written
from viz.bcf import bcf_bytes

ROOMS = Path(str(files("scenes.rooms")))
SCHEMAS = Path(__file__).parent / "bcf"


def opened(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def topics(content: bytes) -> dict[str, ET.Element]:
    """The topics by their ids."""
    found = {}
    for name, text in opened(content).items():
        if name.endswith("markup.bcf"):
            topic = ET.fromstring(text).find("Topic")
            assert topic is not None
            found[name.partition("/")[0]] = topic
    return found


@pytest.mark.parametrize("room", ["heron", "weir", "loft", "ferry", "of a model"])
def test_every_part_is_valid_by_its_schema(room: str, tmp_path: Path) -> None:
    scene = heron_of_a_model() if room == "of a model" else read_scene(ROOMS / f"{room}.yaml")
    content = bcf_bytes(Dossier(scene))
    schemas = {".bcf": "markup", ".bcfv": "visinfo", ".version": "version", ".xml": "extensions"}
    for number, (name, text) in enumerate(opened(content).items()):
        if name.endswith(".png"):
            assert Image.open(io.BytesIO(text)).size == (640, 480)
            continue
        path = tmp_path / f"{number}.xml"
        path.write_bytes(text)
        schema = SCHEMAS / f"{schemas[Path(name).suffix]}.xsd"
        command = ["xmllint", "--noout", "--nonet", "--schema", schema, path]
        checked = subprocess.run(command, capture_output=True, text=True, check=False)
        assert checked.returncode == 0, f"{name}: {checked.stderr}"


def test_there_is_a_topic_for_each_clearance_that_is_not_clear() -> None:
    # on a tee of the grid, at x = 0.15 + 6 · 0.6 m
    scene = read_scene(ROOMS / "weir.yaml").with_array("A1", at_m=(3.75, 2.7))
    found = topics(bcf_bytes(Dossier(scene)))
    not_clear = [one for one in Dossier(scene).review.clearances if one.state not in ("clear", "off")]
    assert not_clear
    kinds = [topic.get("TopicType") for topic in found.values()]
    assert kinds.count("Clearance") == len(not_clear)
    assert kinds.count("Sign-off") >= 4
    assert {topic.get("TopicStatus") for topic in found.values()} == {"Open"}
    assert all(topic.findtext("AssignedTo") for topic in found.values())


def test_components_have_the_ids_of_the_model_and_of_the_exported_one(tmp_path: Path) -> None:
    scene = heron_of_a_model()
    _, model = written(scene, tmp_path)
    assert thing_guid(scene, "L1") == LIGHT
    assert model.by_guid(thing_guid(scene, "A1")).Name == "A1"
    shown = set()
    for name, text in opened(bcf_bytes(Dossier(scene))).items():
        if name.endswith(".bcfv"):
            shown |= {one.get("IfcGuid") for one in ET.fromstring(text).iter("Component")}
    assert thing_guid(scene, "A1") in shown
    for guid in shown:
        assert guid is not None
        assert model.by_guid(guid)


def test_the_camera_looks_at_the_array_in_the_models_axes() -> None:
    scene = heron_of_a_model()
    views = [text for name, text in opened(bcf_bytes(Dossier(scene))).items() if name.endswith(".bcfv")]
    x, y, z = scene.arrays[0].centre_m
    c, s = math.cos(math.radians(TURN_DEG)), math.sin(math.radians(TURN_DEG))
    array = np.add(ORIGIN_M, (c * x - s * y, s * x + c * y, z))
    for text in views:
        at, look, up = (
            np.array([float(one.text or "nan") for one in element])
            for name in ("CameraViewPoint", "CameraDirection", "CameraUpVector")
            for element in ET.fromstring(text).iter(name)
        )
        assert np.linalg.norm(look) == pytest.approx(1, abs=1e-5)
        assert np.dot(look, up) == pytest.approx(0, abs=1e-5)
        away = array - at
        assert np.allclose(away / np.linalg.norm(away), look, atol=1e-4)
        assert up[2] > 0


NEAR = "  - {id: SP9, kind: sprinkler, at: [3.45, 2.72], below: 0.05, spray: standard}\n"
"""A sprinkler in the line of the cable of the room weir."""


def with_a_sprinkler_too_close() -> Scene:
    text = (ROOMS / "weir.yaml").read_text("utf-8")
    return build(read_spec_text(text.replace("overhead:\n", f"overhead:\n{NEAR}"), folder=ROOMS))


def without(scene: Scene, id: str) -> Scene:
    return replace(scene, overhead=tuple(one for one in scene.overhead if one.id != id))


def test_a_topic_closes_when_its_clearance_is_clear_and_opens_again() -> None:
    scene = with_a_sprinkler_too_close()
    first = bcf_bytes(Dossier(scene))
    later = replace(scene.document, date="2026-12-24")
    better = replace(without(scene, "SP9"), document=later)
    second = bcf_bytes(Dossier(better), first)
    before, after = topics(first), topics(second)
    assert set(before) <= set(after)
    closed = {guid for guid, topic in after.items() if topic.get("TopicStatus") == "Closed"}
    assert closed
    assert all("SP9" in (before[guid].findtext("Title") or "") for guid in closed)
    for guid, topic in after.items():
        if guid in before:
            assert topic.findtext("CreationDate") == before[guid].findtext("CreationDate")
    assert all(after[guid].findtext("ModifiedDate") == "2026-12-24T00:00:00Z" for guid in closed)
    third = topics(bcf_bytes(Dossier(scene), second))
    assert {topic.get("TopicStatus") for guid, topic in third.items() if guid in before} == {"Open"}


def test_the_same_room_gives_the_same_bytes() -> None:
    scene = read_scene(ROOMS / "weir.yaml")
    assert bcf_bytes(Dossier(scene)) == bcf_bytes(Dossier(scene))


@given(st.uuids())
def test_ids_are_written_as_ifc_writes_them(value: uuid.UUID) -> None:
    assert compressed(value) == ifcopenshell.guid.compress(value.hex)


def test_the_command_closes_what_was_open_in_the_file_before(run, rooms: Path) -> None:
    spec, file = rooms / "weir.yaml", rooms / "weir.bcf"
    text = spec.read_text("utf-8")
    spec.write_text(text.replace("overhead:\n", f"overhead:\n{NEAR}"), "utf-8")
    assert run("export", spec, file)[0] == 1  # the room fails
    spec.write_text(text, "utf-8")
    assert run("export", spec, file)[0] in (0, 1)
    assert {topic.get("TopicStatus") for topic in topics(file.read_bytes()).values()} == {"Open", "Closed"}
