"""Rooms out of models: which there are, where they lie, their outline, floor and names; and what is refused."""

from __future__ import annotations

import math
import zipfile
from pathlib import Path

import numpy as np
import pytest

from scenes.findings.model import ModelRoom, RoomFrame
from scenes.models.refusals import ModelRefused
from scenes.models.rooms import Reading, read_building
from scenes.models.spaces import into_room, number_and_name, out_of_room
from tests.scenes.models.builder import Model, Point, guid, rectangle

EXACT = 1e-6
ELL: list[Point] = [(2, 1), (8, 1), (8, 4), (5, 4), (5, 6), (2, 6)]


def only_room(*models: Path) -> ModelRoom:
    """The one room of these files."""
    (room,) = read_building(models).rooms
    return room


@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4", "IFC4X3_ADD2"])
@pytest.mark.parametrize("unit", ["m", "mm", "ft"])
def test_an_outline_comes_as_it_is_from_any_schema_and_unit(tmp_path: Path, schema: str, unit: str) -> None:
    model = Model(schema, unit, site_at=(100.0, -50.0, 12.0), storeys=[("Ground", 0.0), ("First", 3.5)])
    model.space("1.07", "Board room", ELL, 0.0, 2.8, storey="First")
    room = only_room(model.write(tmp_path))
    assert (room.number, room.name, room.storey) == ("1.07", "Board room", "First")
    assert room.frame.turn_deg == 0
    # the site, the storey and the least corner of the outline
    assert np.allclose(room.frame.origin_m, (102.0, -49.0, 15.5), atol=EXACT)
    expected = [(0, 0), (6, 0), (6, 3), (3, 3), (3, 5), (0, 5)]
    assert np.allclose(room.outline_m, expected, atol=EXACT)
    assert room.area_m2 == pytest.approx(24, abs=EXACT)
    assert room.straightening.moved_m < EXACT
    assert [kind for kind, _ in room.parents] == ["storey", "building", "site", "project"]


@pytest.mark.parametrize("turn", [0.05, 7.0, -20.0, 30.0, 45.5, 90.0, 133.0])
def test_a_room_is_turned_by_the_least_that_lays_its_longest_wall_along_an_axis(
    tmp_path: Path, turn: float
) -> None:
    model = Model(site_turn=turn, site_at=(3.0, 4.0, 0.0))
    model.space("1", "Room", ELL)
    room = only_room(model.write(tmp_path))
    nearest = (turn + 45) % 90 - 45
    # within 0.1° of an axis a room is not turned (the contract)
    expected = 0.0 if abs(nearest) <= 0.1 else nearest
    assert room.frame.turn_deg == pytest.approx(expected, abs=1e-6)
    corners = np.array([(*corner, 0.0) for corner in room.outline_m])
    angle = math.radians(turn)
    c, s = math.cos(angle), math.sin(angle)
    in_model = [(3 + c * x - s * y, 4 + s * x + c * y) for x, y in ELL]
    back = out_of_room(corners, room.frame)[:, :2]
    # the way back is exact to a tenth of a millimetre: every corner is one of the model's
    apart = np.min(np.linalg.norm(back[:, None] - np.array(in_model)[None], axis=2), axis=1)
    assert apart.max() < 1e-4
    assert len(back) == len(ELL)
    # the origin is the least x and least y of the outline in the model's own axes
    assert np.allclose(room.frame.origin_m[:2], np.min(in_model, axis=0), atol=1e-4)
    if expected:
        assert all(min(abs(dx), abs(dy)) < 1e-9 for dx, dy in np.diff(corners[:, :2], axis=0))


def test_the_frame_leads_there_and_back() -> None:
    frame = RoomFrame((1e6, -2e5, 31.4), 37.2)
    points = np.random.default_rng(3).uniform(-50, 50, (40, 3))
    assert np.allclose(into_room(out_of_room(points, frame), frame), points, atol=1e-8)


def test_jogs_and_slivers_of_a_drawn_outline_are_mended_and_told(tmp_path: Path) -> None:
    # a jog of half a millimetre, a corner on the line, and a notch 0.8 mm wide
    drawn: list[Point] = [
        (0, 0), (3, 0), (3, 0.0005), (6, 0.0005), (6, 2), (6, 4), (2.0008, 4), (2.0008, 2), (2, 2), (2, 4), (0, 4),
    ]  # fmt: skip
    model = Model()
    model.space("1", "Room", drawn)
    room = only_room(model.write(tmp_path))
    assert len(room.outline_m) == 4
    # a notch is as deep as it is: what moved by more than a millimetre is the void in it, not the wall
    assert room.area_m2 == pytest.approx(24, abs=0.005)
    assert room.straightening.left_out > 0


def test_a_jog_that_is_more_than_a_slip_stays(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", [(0, 0), (3, 0), (3, 0.01), (6, 0.01), (6, 4), (0, 4)])
    assert len(only_room(model.write(tmp_path)).outline_m) == 6


def test_a_curved_wall_is_drawn_in_chords_within_a_millimetre(tmp_path: Path) -> None:
    model = Model("IFC4", "mm")
    model.space("1", "Round", None, body=model.cylinder((5, 5), 8.0, 0.0, 3.0))
    room = only_room(model.write(tmp_path))
    corners = out_of_room(np.array([(*corner, 0.0) for corner in room.outline_m]), room.frame)
    radii = np.hypot(*(corners[:, :2] - 5.0).T)
    # a chord of a circle of 4 m that is a millimetre from it: 4 (1 - cos(π/n)) = 0.001 gives n = 140.5
    assert 70 < len(room.outline_m) < 300
    assert np.allclose(radii, 4.0, atol=0.001)
    assert abs(room.area_m2 - math.pi * 16) < math.pi * 16 * 0.0015


def test_the_finished_floor_is_the_top_of_a_flooring_over_the_space_s_bottom(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", rectangle(0, 0, 6, 4), 0.0, 2.8)
    model.thing(
        "IfcCovering", "Oak", model.prism(rectangle(0, 0, 6, 4), 0.0, 0.08), PredefinedType="FLOORING"
    )
    room = only_room(model.write(tmp_path))
    assert room.frame.origin_m[2] == pytest.approx(0.08, abs=EXACT)
    assert room.ceiling.height_m == pytest.approx(2.72, abs=EXACT)


def test_steps_in_the_floor_are_told(tmp_path: Path) -> None:
    model = Model()
    low = model.prism(rectangle(0, 0, 4, 4), 0.0, 2.8)
    high = model.prism(rectangle(4, 0, 2, 4), 0.15, 2.8)
    space = model.space("1", "Room", None, body=low)
    space.Representation.Representations[0].Items = [low, high]
    room = only_room(model.write(tmp_path))
    assert room.frame.origin_m[2] == 0
    assert ("room", "floor-steps") in [(doubt.about, doubt.name) for doubt in room.doubts]


@pytest.mark.parametrize(
    ("short", "long", "expected"),
    [
        ("A102", "Living Room", ("A102", "Living Room")),
        ("1 - Living room", "Living room", ("1", "Living room")),
        ("living room", "living room", ("", "living room")),
        ("4", "Schlafzimmer", ("4", "Schlafzimmer")),
        ("3.01", None, ("3.01", "")),
        ("Besprechung 2", None, ("", "Besprechung 2")),
        ("Küche", "", ("", "Küche")),
        (None, None, ("", "")),
    ],
)
def test_number_and_name_in_the_ways_files_write_them(
    short: str | None, long: str | None, expected: tuple[str, str]
) -> None:
    model = Model()
    space = model.space("x", None, None)
    space.Name, space.LongName = short, long
    assert number_and_name(space) == expected


def test_two_files_make_one_building_by_their_map_conversions(tmp_path: Path) -> None:
    architect = Model("IFC4", "mm", conversion=(500_000.0, 5_400_000.0, 120.0, 1.0, 0.0))
    architect.space("1", "Room", rectangle(0, 0, 6, 4))
    first = architect.write(tmp_path, "arch.ifc")
    # the engineers' axes are turned by 90° on the map and begin elsewhere: their x is north
    services = Model("IFC4X3_ADD2", "ft", conversion=(500_010.0, 5_400_000.0, 120.0, 0.0, 1.0))
    # on the map 500003, 5400001: 7 m west of their origin is y = 7, 1 m north is x = 1
    services.thing(
        "IfcLightFixture", "L", services.prism(rectangle(-0.1, -0.2, 0.2, 0.4), 0, 0.1), (1, 7, 2.6)
    )
    second = services.write(tmp_path, "services.ifc")
    room = only_room(first, second)
    (light,) = room.devices
    assert np.allclose(light.at_m, (3, 1), atol=1e-5)
    # 0.4 m along their y, which is our -x
    assert light.size_m == pytest.approx((0.4, 0.2), abs=1e-5)
    assert light.below_m == pytest.approx(2.7 - 2.6, abs=1e-5)


# ---------------------------------------------------------------- refusals


def refused(*paths: Path, room: str | None = None) -> tuple[str, tuple[str, ...]]:
    """The name of the refusal, and what was found."""

    def read() -> None:
        reading = Reading.of(paths)
        if room is None:
            reading.building()
        else:
            reading.room(reading.chosen(room))

    with pytest.raises(ModelRefused) as raised:
        read()
    return raised.value.name, raised.value.found


def test_what_is_no_model_is_refused(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ELL)
    good = model.write(tmp_path).read_bytes()
    cases = {
        "junk.ifc": (b"hello\n" * 99, "no-model"),
        "empty.ifc": (b"", "no-model"),
        "half.ifc": (good[: len(good) // 2], "cut-short"),
        "draft.ifc": (good.replace(b"('IFC4')", b"('IFC2X2_FINAL')"), "old-schema"),
        "candidate.ifc": (good.replace(b"('IFC4')", b"('IFC4X3_RC1')"), "old-schema"),
        "zip.ifczip": (b"PK\x03\x04 nothing", "no-model"),
    }
    for name, (data, expected) in cases.items():
        path = tmp_path / name
        path.write_bytes(data)
        assert refused(path)[0] == expected, name
    assert refused(tmp_path / "nothere.ifc")[0] == "no-file"
    assert refused(tmp_path / "draft.ifc")[1] == ("IFC2X2_FINAL",)


def test_a_zipped_model_and_one_with_a_byte_order_mark_are_read(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ELL)
    path = model.write(tmp_path)
    with zipfile.ZipFile(tmp_path / "model.ifczip", "w") as archive:
        archive.write(path, "model.ifc")
    marked = tmp_path / "marked.ifc"
    marked.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert only_room(tmp_path / "model.ifczip").area_m2 == pytest.approx(24)
    assert only_room(marked).area_m2 == pytest.approx(24)


def test_a_model_without_a_unit_is_refused(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ELL)
    units = model.file.by_type("IfcUnitAssignment")[0]
    units.Units = [unit for unit in units.Units if unit.UnitType != "LENGTHUNIT"]
    assert refused(model.write(tmp_path))[0] == "no-unit"


def test_models_without_rooms_or_without_their_shapes_are_refused(tmp_path: Path) -> None:
    empty = Model()
    assert refused(empty.write(tmp_path, "a.ifc"))[0] == "no-rooms"
    bare = Model()
    bare.space("1", "Room", None)
    bare.space("2", "Room", None)
    assert refused(bare.write(tmp_path, "b.ifc")) == ("no-shapes", ("2",))


def test_rooms_are_chosen_by_number_name_or_id_and_told_where_that_is_not_one(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", rectangle(0, 0, 3, 3))
    model.space("2", "Room", rectangle(4, 0, 3, 3))
    model.space("3", "Studio", rectangle(8, 0, 3, 3))
    model.space("4", "Void", None)
    flat = model.space("5", "Flat", rectangle(12, 0, 3, 3), 0.0, 0.1)
    path = model.write(tmp_path)
    reading = Reading.of([path])
    assert reading.chosen("2").number == "2"
    assert reading.chosen(" studio").number == "3"
    assert reading.chosen("3 Studio").number == "3"
    assert reading.chosen(reading.chosen("3").guid).number == "3"
    name, found = refused(path, room="Room")
    assert name == "several-rooms"
    assert len(found) == 3
    assert all(one.split()[-1] in {space.guid for space in reading.spaces} for one in found[1:])
    assert refused(path, room="9")[0] == "no-such-room"
    assert refused(path, room="Void")[0] == "room-without-shape"
    assert refused(path, room="Flat")[0] == "room-without-height"
    assert [(one.guid, one.why) for one in reading.building().skipped][1] == (flat.GlobalId, "no-height")


def test_guids_of_the_builder_are_the_same_every_time() -> None:
    assert guid("a") == guid("a") != guid("b")
    assert len(guid("a")) == 22


def test_a_space_in_which_nobody_can_stand_is_no_room(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", rectangle(0, 0, 4, 3))
    model.space("2", "Shaft", rectangle(5, 0, 2, 3), 0.0, 1.4)
    path = model.write(tmp_path)
    building = Reading.of([path]).building()
    assert [room.number for room in building.rooms] == ["1"]
    assert [(one.name, one.why) for one in building.skipped] == [("Shaft", "too-low")]
    assert refused(path, room="2") == ("room-too-low", ("2",))
