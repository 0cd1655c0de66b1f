"""Devices of a model: which are a room's, what they are, and where they hang."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from scenes.findings.model import ModelDevice, ModelRoom
from scenes.models import kinds
from tests.scenes.models.builder import Model, rectangle
from tests.scenes.models.test_ceilings import ROOM, read

CEILING, SLAB = 2.6, 3.2


def roofed(schema: str = "IFC4", unit: str = "m", **options: Any) -> Model:
    """A room of 6 × 4 m with a ceiling at 2.6 m under a slab at 3.2 m."""
    model = Model(schema, unit, **options)
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Lay in tile", ROOM, CEILING)
    model.slab(rectangle(-5, -5, 20, 20), SLAB, SLAB + 0.2)
    return model


def block(model: Model, size: tuple[float, float, float] = (0.6, 0.3, 0.1)) -> Any:
    return model.prism(rectangle(-size[0] / 2, -size[1] / 2, size[0], size[1]), 0.0, size[2])


def devices(room: ModelRoom) -> dict[str, ModelDevice]:
    return {device.id: device for device in room.devices}


def test_the_classes_and_predefined_types_of_ifc4_give_the_kinds(tmp_path: Path) -> None:
    model = roofed()
    for i, (entity, given, _) in enumerate(CLASSES):
        model.thing(
            entity, "Thing", block(model, (0.1, 0.1, 0.05)), (0.5 + 0.5 * (i % 10), 0.5 + 0.5 * (i // 10), 2.5),
            PredefinedType=given,
        )  # fmt: skip
    room = read(model, tmp_path)
    found = sorted(device.kind for device in room.devices)
    assert found == sorted(kind for _, _, kind in CLASSES if kind is not None)


# entity, predefined type, kind of the spec: names of the schema IFC4 (ifcopenshell's copy), references.md section 10
CLASSES = [
    ("IfcLightFixture", "POINTSOURCE", "light"),
    ("IfcLightFixture", "DIRECTIONSOURCE", "light"),
    ("IfcLightFixture", "SECURITYLIGHTING", "emergency light"),
    ("IfcFireSuppressionTerminal", "SPRINKLER", "sprinkler"),
    ("IfcFireSuppressionTerminal", "FIREHYDRANT", None),
    ("IfcAirTerminal", "DIFFUSER", "supply diffuser"),
    ("IfcSensor", "SMOKESENSOR", "smoke detector"),
    ("IfcSensor", "HEATSENSOR", "smoke detector"),
    ("IfcSensor", "MOVEMENTSENSOR", "sensor"),
    ("IfcAlarm", "LIGHT", "strobe"),
    ("IfcAudioVisualAppliance", "SPEAKER", "loudspeaker"),
    ("IfcAudioVisualAppliance", "PROJECTOR", "projector"),
    ("IfcCommunicationsAppliance", "ANTENNA", "access point"),
    ("IfcDuctSegment", "RIGIDSEGMENT", "duct"),
    ("IfcPipeSegment", "RIGIDSEGMENT", "pipe"),
    ("IfcCableCarrierSegment", "CABLETRAYSEGMENT", "cable tray"),
    ("IfcSwitchingDevice", "DIMMERSWITCH", None),
    ("IfcOutlet", "POWEROUTLET", None),
]


@pytest.mark.parametrize(
    ("type_class", "values", "name", "kind"),
    [
        ("IfcLightFixtureType", {"PredefinedType": "POINTSOURCE"}, "Parkalux D333", "light"),
        ("IfcLightFixtureType", {"PredefinedType": "NOTDEFINED"}, "M_Lighting Switches:Single Pole", None),
        ("IfcAirTerminalType", {"PredefinedType": "DIFFUSER"}, "Swirl", "supply diffuser"),
        ("IfcAirTerminalType", {"PredefinedType": "GRILLE"}, "Return grille 600", "return grille"),
        ("IfcSensorType", {"PredefinedType": "SMOKESENSOR"}, "Optical", "smoke detector"),
        ("IfcOutletType", {"PredefinedType": "POWEROUTLET"}, "Duplex Receptacle PROJECTOR", None),
    ],
)
def test_in_ifc2x3_the_type_s_class_says_what_a_flow_terminal_is(
    tmp_path: Path, type_class: str, values: dict[str, str], name: str, kind: str | None
) -> None:
    model = roofed("IFC2X3", "mm")
    made = model.root(type_class, name, **values)
    model.thing("IfcFlowTerminal", name, block(model), (3, 2, 2.5), type=made)
    assert [device.kind for device in read(model, tmp_path).devices] == ([] if kind is None else [kind])


@pytest.mark.parametrize(
    ("entity", "name", "kind"),
    [
        ("IfcFlowController", "M_Smoke Detector:Smoke Detector", "smoke detector"),
        ("IfcBuildingElementProxy", "Rauchmelder O2T", "smoke detector"),
        ("IfcBuildingElementProxy", "Sprinkler - Pendent - Hosted", "sprinkler"),
        ("IfcBuildingElementProxy", "Deckenlautsprecher 6W", "loudspeaker"),
        ("IfcBuildingElementProxy", "Twin Switched Socket Outlet:PROJECTOR", None),
        ("IfcBuildingElementProxy", "Projector Screen 240", "screen"),
        ("IfcBuildingElementProxy", "Exit Sign - Ceiling", "exit sign"),
        ("IfcBuildingElementProxy", "Deckenleuchte 1200x300", "light"),
        ("IfcBuildingElementProxy", "Lighting and Appliance Panelboard", None),
        ("IfcFurnishingElement", "Monitor Desk", None),
        ("IfcBuildingElementProxy", "WAP Ceiling Access Point", "access point"),
    ],
)
def test_a_name_says_what_a_thing_is_where_no_class_does(entity: str, name: str, kind: str | None) -> None:
    model = Model("IFC2X3")
    found = kinds.device(model.thing(entity, name, None))
    assert (None if found is None else found.kind) == kind


def test_names_are_read_in_words() -> None:
    assert kinds.plain("M_SmokeDetector-2:Ø100") == " m smoke detector 2 ø100 "
    assert not kinds.says(kinds.plain("Switchgear"), [" switch "])


def test_a_device_has_its_place_its_own_size_and_its_turn(tmp_path: Path) -> None:
    model = roofed("IFC4", "ft", site_turn=10.0)
    shape = model.map_of(model.shape(block(model)))
    model.thing("IfcLightFixture", "L", model.mapped(shape), (2, 1, 2.6), 35.0)
    model.thing("IfcLightFixture", "L", model.mapped(shape), (4, 1, 2.5), 90.0)
    model.thing(
        "IfcFireSuppressionTerminal",
        "S",
        model.cylinder((0, 0), 0.06, 0, 0.1),
        (3, 3, 2.55),
        PredefinedType="SPRINKLER",
    )
    room = read(model, tmp_path)
    found = devices(room)
    low = [min(corner[k] for corner in room.outline_m) for k in (0, 1)]
    assert found["L1"].at_m == (pytest.approx(2 + low[0], abs=1e-5), pytest.approx(1 + low[1], abs=1e-5))
    assert found["L1"].turn_deg == pytest.approx(35, abs=1e-4)
    assert found["L1"].size_m == (pytest.approx(0.6, abs=1e-5), pytest.approx(0.3, abs=1e-5))
    assert found["L1"].below_m == pytest.approx(0, abs=1e-5)
    # a quarter turn changes its sides round
    assert (found["L2"].turn_deg, found["L2"].size_m) == (
        pytest.approx(0, abs=1e-4),
        (pytest.approx(0.3, abs=1e-5), pytest.approx(0.6, abs=1e-5)),
    )
    assert found["L2"].below_m == pytest.approx(0.1, abs=1e-5)
    assert found["SP1"].size_m == (pytest.approx(0.06, abs=1e-5),)
    assert (found["SP1"].below_m, found["SP1"].depth_m) == (
        pytest.approx(0.05, abs=1e-5),
        pytest.approx(0.1, abs=1e-5),
    )
    assert found["L1"].of_type
    assert not found["SP1"].of_type


def test_which_devices_are_the_room_s(tmp_path: Path) -> None:
    model = roofed(storeys=[("0", 0.0), ("1", 3.4)])
    for name, at, storey in (
        ("in", (1, 1, 2.6), "0"),
        ("above the ceiling by 0.49", (2, 1, CEILING + 0.49), "0"),
        ("above the ceiling by 0.51", (3, 1, CEILING + 0.51), "0"),
        ("in the slab", (4, 1, SLAB + 0.01), "0"),
        ("of the floor above", (5, 1, 2.0), "1"),
        ("of the floor below", (5, 2, -0.6), "0"),
        ("next door", (6.31, 1, 2.6), "0"),
        ("over the wall but with its middle here", (5.9, 1, 2.6), "0"),
    ):
        model.thing("IfcLightFixture", name, block(model, (0.6, 0.3, 0.05)), at, storey=storey)
    room = read(model, tmp_path)
    assert sorted(round(device.at_m[0], 2) for device in room.devices) == [1, 2, 5.9]
    (above,) = [device for device in room.devices if device.above_ceiling]
    assert above.below_m == pytest.approx(-0.49)


def test_a_light_through_the_slab_arrives_and_is_told(tmp_path: Path) -> None:
    model = roofed()
    model.thing("IfcLightFixture", "Tall", block(model, (0.3, 0.3, 0.71)), (3, 2, 2.55))
    (light,) = read(model, tmp_path).devices
    assert light.through_structure
    assert light.depth_m == pytest.approx(0.71)


def test_a_pendant_has_a_stem_and_its_body_ends_at_its_shoulder(tmp_path: Path) -> None:
    model = roofed()
    shade = model.cylinder((0, 0), 0.4, 0.0, 0.25)
    cord = model.cylinder((0, 0), 0.01, 0.25, 0.85)
    model.thing("IfcLightFixture", "Pendant", model.shape(shade, cord), (3, 2, 1.75))
    (light,) = read(model, tmp_path).devices
    assert light.size_m == (pytest.approx(0.4, abs=1e-5),)
    assert (light.below_m, light.depth_m, light.stem_m) == (
        pytest.approx(0.85),
        pytest.approx(0.25),
        pytest.approx(0.6),
    )


def test_a_device_without_a_shape_has_a_place_and_that_is_told(tmp_path: Path) -> None:
    model = roofed()
    model.thing("IfcFireSuppressionTerminal", "S", None, (3, 2, 2.55), PredefinedType="SPRINKLER")
    room = read(model, tmp_path)
    (one,) = room.devices
    assert (one.size_m, one.depth_m, one.below_m) == (None, None, pytest.approx(0.05))
    assert [(doubt.about, doubt.name) for doubt in room.doubts] == [("SP1", "device-place")]


def test_what_of_a_beam_lies_over_the_room_is_the_room_s(tmp_path: Path) -> None:
    model = roofed()
    model.thing("IfcBeam", "B", model.prism(rectangle(2.9, -3, 0.2, 12), 2.4, 2.7))
    model.thing("IfcBeam", "At the wall", model.prism(rectangle(-0.16, -3, 0.2, 12), 2.4, 2.7))
    room = read(model, tmp_path)
    (beam,) = room.devices
    assert (beam.at_m, sorted(beam.size_m or ())) == (
        (pytest.approx(3.0), pytest.approx(2.0)),
        [pytest.approx(0.2), pytest.approx(4.0)],
    )
    assert beam.below_m == pytest.approx(0.2)
    assert ("BM1", "device-cut") in [(doubt.about, doubt.name) for doubt in room.doubts]


def test_an_air_terminal_supplies_or_extracts_by_its_words_its_port_or_as_a_guess(tmp_path: Path) -> None:
    model = roofed()
    for x, name, flow in (
        (1, "Exhaust grille", None),
        (2, "Grille", "SOURCE"),
        (3, "Grille", "SINK"),
        (4, "Grille", None),
    ):
        terminal = model.thing(
            "IfcAirTerminal", name, block(model, (0.3, 0.3, 0.05)), (x, 2, 2.6), PredefinedType="GRILLE"
        )
        if flow is not None:
            port = model.root("IfcDistributionPort", "Port", FlowDirection=flow)
            model.root("IfcRelNests", None, RelatingObject=terminal, RelatedObjects=[port])
    room = read(model, tmp_path)
    assert {round(one.at_m[0]): one.kind for one in room.devices} == {
        1: "return grille", 2: "return grille", 3: "supply diffuser", 4: "supply diffuser",
    }  # fmt: skip
    assert [doubt.name for doubt in room.doubts] == ["device-kind"]


def test_a_screen_looks_away_from_the_wall_it_hangs_on_and_a_camera_is_where_it_is(tmp_path: Path) -> None:
    model = roofed(site_turn=15.0)
    for at, turn in (((5.95, 2.0, 1.0), 90.0), ((3.0, 0.05, 1.0), 180.0)):
        model.thing(
            "IfcAudioVisualAppliance",
            "Screen",
            block(model, (1.4, 0.06, 0.8)),
            at,
            turn,
            PredefinedType="DISPLAY",
        )
    model.thing(
        "IfcAudioVisualAppliance",
        "Cam",
        block(model, (0.1, 0.1, 0.1)),
        (5.9, 2.0, 2.0),
        PredefinedType="CAMERA",
    )
    room = read(model, tmp_path)
    low = [min(corner[k] for corner in room.outline_m) for k in (0, 1)]
    by_facing = {round(one.facing_deg) % 360: one for one in room.displays}
    assert set(by_facing) == {90, 180}
    assert (by_facing[180].width_m, by_facing[180].height_m) == (pytest.approx(1.4), pytest.approx(0.8))
    assert by_facing[180].at_m[2] == pytest.approx(1.4)
    (camera,) = room.cameras
    assert camera.at_m == (
        pytest.approx(5.9 + low[0], abs=1e-5),
        pytest.approx(2.0 + low[1], abs=1e-5),
        pytest.approx(2.05),
    )
    assert room.doubts == ()
