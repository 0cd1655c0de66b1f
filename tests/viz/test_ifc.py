"""The room as an IFC model: valid by the schema's rules, and read again it is the same room to 0.1 mm."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.validate
import numpy as np
import pytest
from ifcopenshell.util.element import get_psets, get_type
from ifcopenshell.util.placement import get_local_placement

from scenes.dossier import Dossier
from scenes.findings.model import ModelRoom, RoomFrame
from scenes.models.rooms import Reading
from scenes.models.spaces import out_of_room
from scenes.models.writing import entries
from scenes.room.build import build, read_scene
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text
from tests.scenes.ceiling_parts import BULKHEAD, ROOF, scene_of
from viz.ifc import _figures, ifc_text

ROOMS = Path(str(files("scenes.rooms")))
NEAR_M = 1e-4
SPACE, STOREY, LIGHT = "0BTBFw6f90Nfh9rP1dlXr2", "1xS3BCk291UvhgP2dvNMKI", "1K7eM1Qof1dOc9$mY9I4Cs"
TURN_DEG, ORIGIN_M = 12.5, (1200.5, -30.25, 4.2)
MODEL = f"""
model:
  files: [{{file: arch.ifc, sha256: "{"0" * 64}"}}]
  space: "{SPACE}"
  ids: {{project: "1xS3BCk291UvhgP2a6eflL", storey: "{STOREY}"}}
  origin_m: [1200.5, -30.25, 4.2]
  turn: 12.5
  map: {{eastings: 333780.5, northings: 6246775.25, height: 97.7, x_axis: [0.5, 0.8660254], crs: "EPSG:25832"}}
  things: {{L1: {{id: "{LIGHT}", sum: abcdef}}}}
"""


def written(scene: Scene, folder: Path) -> tuple[Path, ifcopenshell.file]:
    """The room's model in a file, and open."""
    path = folder / "room.ifc"
    path.write_text(ifc_text(Dossier(scene)), "utf-8")
    return path, ifcopenshell.open(str(path))


def heron_of_a_model() -> Scene:
    text = (ROOMS / "heron.yaml").read_text("utf-8")
    return build(read_spec_text(text + MODEL, folder=ROOMS))


@pytest.fixture(params=["heron", "weir", "loft", "ferry"])
def scene(request: pytest.FixtureRequest) -> Scene:
    return read_scene(ROOMS / f"{request.param}.yaml")


@pytest.mark.parametrize("name", ["weir", "ferry"])
def test_the_model_breaks_no_rule_of_its_schema(name: str, tmp_path: Path) -> None:
    """The rooms with most in them; heron and loft are in .ci/long readers."""
    _, model = written(read_scene(ROOMS / f"{name}.yaml"), tmp_path)
    logger = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(model, logger, express_rules=True)
    assert logger.statements == []


def test_read_again_it_is_the_same_room(scene: Scene, tmp_path: Path) -> None:
    path, _ = written(scene, tmp_path)
    (room,) = Reading.of([path]).building().rooms
    assert same_shell(scene, room)
    seats = [head.at_m for head in scene.heads if head.posture == "seated" and not head.path_m]
    assert len(room.seats) == len(seats)
    assert np.allclose(in_order(seat.at_m for seat in room.seats), in_order(seats), atol=NEAR_M)
    devices = by_kind((one.kind, *one.at_m, one.low_m) for one in scene.overhead)
    found = by_kind((one.kind, *one.at_m, one.lowest_m) for one in room.devices)
    assert [one[0] for one in found] == [one[0] for one in devices]
    assert np.allclose([one[1:] for one in found], [one[1:] for one in devices], atol=NEAR_M)
    assert [table.height_m for table in room.tables] == pytest.approx([one.height_m for one in scene.tables])
    shown = [(*one.at_m, one.width_m, one.height_m, one.facing_deg) for one in room.displays]
    own = [(*one.at_m, one.width_m, one.height_m, one.facing_deg % 360) for one in scene.displays]
    assert np.allclose(shown, own, atol=NEAR_M)


def by_kind(devices: Iterable[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Sorted by kind, then by place as far as it is more than rounding."""
    return sorted(devices, key=lambda one: (one[0], *(round(value, 4) for value in one[1:])))


def in_order(places: Iterable[Sequence[float]]) -> list[Sequence[float]]:
    """Sorted by what is more than rounding."""
    return sorted(places, key=lambda place: [round(value, 4) for value in place])


def same_shell(scene: Scene, room: ModelRoom) -> bool:
    """Whether outline, ceiling, structure and openings are the same."""
    assert np.allclose(sorted(room.outline_m), sorted(scene.room.outline_m), atol=NEAR_M)
    assert (room.ceiling.height_m, room.ceiling.kind) == (
        pytest.approx(scene.room.ceiling_m, abs=NEAR_M),
        scene.room.ceiling_kind,
    )
    if scene.room.ceiling_kind != "open":
        assert room.ceiling.structure_m == pytest.approx(scene.room.structure_m, abs=NEAR_M)
    openings = sorted(
        (one.kind, one.wall, one.offset_m, one.width_m, one.sill_m) for one in scene.room.openings
    )
    found = sorted((one.kind, one.wall, one.offset_m, one.width_m, one.sill_m) for one in room.openings)
    assert [one[:2] for one in found] == [one[:2] for one in openings]
    assert np.allclose([one[2:] for one in found], [one[2:] for one in openings], atol=NEAR_M)
    return True


def test_an_array_stands_in_the_models_own_axes_with_its_figures(tmp_path: Path) -> None:
    scene = heron_of_a_model()
    _, model = written(scene, tmp_path)
    (thing,) = [one for one in model.by_type("IfcAudioVisualAppliance") if one.PredefinedType == "MICROPHONE"]
    x, y, z = scene.arrays[0].centre_m
    c, s = math.cos(math.radians(TURN_DEG)), math.sin(math.radians(TURN_DEG))
    place = get_local_placement(thing.ObjectPlacement)[:3, 3]
    wanted = (ORIGIN_M[0] + c * x - s * y, ORIGIN_M[1] + s * x + c * y, ORIGIN_M[2] + z)
    assert np.allclose(place, wanted, atol=NEAR_M)
    assert get_type(thing).PredefinedType == "MICROPHONE"
    figures = get_psets(thing)["Overtable_Array"]
    review = Dossier(scene).review
    assert figures["Verdict"] == review.verdict
    assert figures["Height"] == pytest.approx(review.arrays[0].height_m)
    assert figures["ToleranceSideways"] == pytest.approx(review.arrays[0].tolerance.sideways_m, abs=1e-6)
    held = dict(_figures(scene.arrays[0], review.arrays[0], replace(review, verdict="fail")))
    assert {value for name, value in held.items() if name.startswith("Tolerance")} == {None}


def test_what_came_from_a_model_keeps_its_ids_and_its_place_on_the_map(tmp_path: Path) -> None:
    scene = heron_of_a_model()
    path, model = written(scene, tmp_path)
    assert model.by_type("IfcSpace")[0].GlobalId == SPACE
    assert model.by_type("IfcBuildingStorey")[0].GlobalId == STOREY
    assert model.by_guid(LIGHT).is_a("IfcLightFixture")
    (room,) = Reading.of([path]).building().rooms
    assert room.frame.turn_deg == pytest.approx(TURN_DEG, abs=1e-4)
    # the origin of an import is the least x and y in the model's axes: the corners are where they were
    own = np.column_stack([scene.room.outline_m, np.zeros(4)])
    found = np.column_stack([room.outline_m, np.zeros(4)])
    there = out_of_room(own, RoomFrame(ORIGIN_M, TURN_DEG))
    assert np.allclose(sorted(out_of_room(found, room.frame).tolist()), sorted(there.tolist()), atol=NEAR_M)
    (conversion,) = model.by_type("IfcMapConversion")
    assert (conversion.Eastings, conversion.Northings, conversion.OrthogonalHeight) == (
        333780.5,
        6246775.25,
        97.7,
    )
    assert conversion.TargetCRS.Name == "EPSG:25832"


def test_bands_and_keep_outs_are_virtual_and_their_layers_off(tmp_path: Path) -> None:
    _, model = written(heron_of_a_model(), tmp_path)
    layers = {one.Name: one for one in model.by_type("IfcPresentationLayerWithStyle")}
    assert set(layers) == {"AV-BAND", "AV-KEEP-OUT"}
    assert all(one.LayerOn is False for one in layers.values())
    virtual = model.by_type("IfcVirtualElement")
    assert {one.ObjectType for one in virtual} == {"band", "keep-out"}
    items = {item for one in virtual for shape in one.Representation.Representations for item in shape.Items}
    assert items == {item for one in layers.values() for item in one.AssignedItems}


def test_the_same_room_gives_the_same_file_and_ids_are_its_own() -> None:
    scene = heron_of_a_model()
    assert ifc_text(Dossier(scene)) == ifc_text(Dossier(scene))
    model = ifcopenshell.file.from_string(ifc_text(Dossier(scene)))
    ids = [one.GlobalId for one in model.by_type("IfcRoot")]
    assert len(ids) == len(set(ids))


def test_without_the_library_the_way_out_is_said(run, rooms: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    status, _, err = run("export", rooms / "heron.yaml", rooms / "heron.ifc")
    assert status == 3
    assert 'pip install "overtable[models]"' in err
    assert not (rooms / "heron.ifc").exists()


def test_an_exported_model_is_replaced_unless_somebody_changed_it(run, rooms: Path) -> None:
    file = rooms / "heron.ifc"
    for _ in range(2):
        assert run("export", rooms / "heron.yaml", file)[0] == 0
    file.write_bytes(file.read_bytes().replace(b"IFCSPACE", b"IFCSPACE "))
    assert run("export", rooms / "heron.yaml", file)[0] == 2


def test_parts_and_slopes_of_the_ceiling_are_coverings_and_come_back(tmp_path: Path) -> None:
    before = scene_of([BULKHEAD, ROOF])
    path, model = written(before, tmp_path)
    logger = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(model, logger, express_rules=True)
    assert logger.statements == []
    coverings = {one.Name: one for one in model.by_type("IfcCovering")}
    assert set(coverings) == {"ceiling", "BH1", "R1"}
    assert {one.PredefinedType for one in coverings.values()} == {"CEILING"}
    (room,) = Reading.of([path]).building().rooms
    assert room.ceiling.height_m == pytest.approx(2.8, abs=NEAR_M)
    assert room.ceiling.structure_m == pytest.approx(3.4, abs=NEAR_M)
    flat = [part for part in room.ceiling.parts if part.slope is None]
    [roof] = [part for part in room.ceiling.parts if part.slope is not None]
    assert [part.height_m for part in flat] == pytest.approx([2.45], abs=NEAR_M)
    assert roof.slope is not None
    assert (roof.slope.low_m, roof.slope.high_m) == pytest.approx((2.2, 2.8), abs=NEAR_M)
    assert roof.slope.towards_deg % 360 == pytest.approx(180, abs=0.01)
    assert {part.kind for part in (*flat, roof)} == {"hard"}
    # and the spec that is written of it says so
    [line] = [one.text for one in entries(room, "m")["room"] if one.about == "room.ceiling"]
    assert "slope: {low: 2.2, high: 2.8, towards: 180}" in line
    assert "kind: hard, height: 2.45" in line
