"""Tables, chairs and what else stands in a room of a model."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from scenes.models.people import people_of
from tests.scenes.models.builder import Model, Point, rectangle
from tests.scenes.models.test_ceilings import ROOM, names, read


def furnished(unit: str = "m", schema: str = "IFC4", turn: float = 0.0) -> Model:
    model = Model(schema, unit, site_turn=turn)
    model.space("1", "Room", ROOM, 0.0, 2.7)
    return model


def kind_of(model: Model) -> str:
    return "IfcFurnishingElement" if model.schema == "IFC2X3" else "IfcFurniture"


def table(
    model: Model, name: str | None, outline: list[Point], at: Point, turn: float = 0.0, height: float = 0.74
) -> None:
    leg = model.prism(rectangle(-0.05, -0.05, 0.1, 0.1), 0.0, height - 0.03)
    shape = model.shape(model.prism(outline, height - 0.03, height), leg)
    model.thing(kind_of(model), name, shape, (*at, 0), turn)


@pytest.mark.parametrize(("schema", "unit"), [("IFC2X3", "mm"), ("IFC4", "ft")])
@pytest.mark.parametrize("site_turn", [0.0, 25.0])
def test_a_chair_is_a_seat_before_its_back_and_faces_away_from_it(
    tmp_path: Path, schema: str, unit: str, site_turn: float
) -> None:
    model = furnished(unit, schema, site_turn)
    chair = model.map_of(model.chair_shape())
    for x, turn in ((1.0, 0.0), (2.0, 90.0), (3.0, 200.0)):
        model.thing(kind_of(model), "Chair - Stacking", model.mapped(chair), (x, 2.0, 0.0), turn)
    room = read(model, tmp_path)
    assert room.frame.turn_deg == pytest.approx(site_turn, abs=1e-5)
    # the room's own axes are the site's: the outline has the site's corner as its least one only where not turned
    origin = np.array(room.outline_m).min(axis=0)
    facing = {round(float(seat.at_m[0] - origin[0]), 3): seat for seat in room.seats}
    # the back is at the chair's +y, so its front is its -y: turned by 0°, 90° and 200° it looks to 270°, 0° and 110°
    for x, turn, looks in ((1.0, 0.0, 270.0), (2.0, 90.0, 0.0), (3.0, 200.0, 110.0)):
        dx, dy = 0.1 * math.cos(math.radians(looks)), 0.1 * math.sin(math.radians(looks))
        seat = facing[round(x + dx, 3)]
        assert seat.facing_deg == pytest.approx(looks, abs=1e-3), turn
        assert seat.at_m[1] - origin[1] == pytest.approx(2.0 + dy, abs=1e-4)
    assert all(seat.guid for seat in room.seats)


def test_a_stool_has_no_front_and_looks_to_the_nearest_table_as_a_guess(tmp_path: Path) -> None:
    model = furnished()
    model.thing("IfcFurniture", "Stool", model.chair_shape(""), (1.0, 2.0, 0.0))
    table(model, "Table", rectangle(-0.8, -0.4, 1.6, 0.8), (3.0, 2.0))
    room = read(model, tmp_path)
    (seat,) = room.seats
    assert (seat.at_m, seat.facing_deg) == ((pytest.approx(1.0), pytest.approx(2.0)), pytest.approx(0.0))
    assert ("S1", "seat-facing") in [(doubt.about, doubt.name) for doubt in room.doubts]


def test_a_table_with_its_chairs_in_one_thing_is_a_table(tmp_path: Path) -> None:
    model = furnished()
    items = [model.prism(rectangle(-1, -0.5, 2, 1), 0.71, 0.74)]
    for x, y in ((-0.5, 0.9), (0.5, 0.9), (-0.5, -0.9), (0.5, -0.9)):
        items.append(model.prism(rectangle(x - 0.2, y - 0.2, 0.4, 0.4), 0.0, 0.45))
        items.append(model.prism(rectangle(x - 0.2, y + math.copysign(0.18, y), 0.4, 0.02), 0.45, 0.9))
    name = "Furniture_Table_Dining_w-Chairs_Rectangular:2000x1000x750mm_w-6_Seats"
    model.thing("IfcFurniture", name, model.shape(*items), (3.0, 2.0, 0.0), 90.0)
    room = read(model, tmp_path)
    assert room.seats == ()
    (one,) = room.tables
    assert (one.shape, one.at_m) == ("rectangle", (pytest.approx(3), pytest.approx(2)))
    assert one.size_m == (pytest.approx(1), pytest.approx(2))
    assert one.height_m == pytest.approx(0.74)


def test_tables_keep_their_shape_and_the_turn_of_their_placement(tmp_path: Path) -> None:
    model = furnished("mm", turn=30.0)
    table(model, "Desk", rectangle(-0.8, -0.4, 1.6, 0.8), (1.5, 1.0), 20.0)
    boat: list[Point] = [(-1, -0.3), (0, -0.5), (1, -0.3), (1, 0.3), (0, 0.5), (-1, 0.3)]
    table(model, "Boardroom table", boat, (3.0, 2.5))
    model.thing("IfcFurniture", "Round table", model.cylinder((0, 0), 1.2, 0.7, 0.75), (5.0, 1.0, 0.0))
    room = read(model, tmp_path)
    assert room.frame.turn_deg == pytest.approx(30)
    by_shape = {one.shape: one for one in room.tables}
    assert by_shape["rectangle"].turn_deg == pytest.approx(20, abs=1e-4)
    assert by_shape["rectangle"].size_m == (pytest.approx(1.6, abs=1e-5), pytest.approx(0.8, abs=1e-5))
    assert by_shape["round"].size_m == (pytest.approx(1.2, abs=1e-5),)
    assert len(by_shape["polygon"].outline_m) == 6
    assert by_shape["polygon"].height_m == pytest.approx(0.74, abs=1e-5)
    assert [one.id for one in room.tables] == ["T1", "T2", "T3"]


def test_a_table_of_boards_with_joints_is_one_table(tmp_path: Path) -> None:
    model = furnished()
    boards = [model.prism(rectangle(x, -0.5, 0.66, 1.0), 0.72, 0.75) for x in (-1.0, -0.335, 0.33)]
    model.thing("IfcFurniture", "Dining table", model.shape(*boards), (3.0, 2.0, 0.0))
    (one,) = read(model, tmp_path).tables
    assert (one.shape, one.size_m) == ("rectangle", (pytest.approx(1.99), pytest.approx(1.0)))


def test_furniture_of_the_floor_above_and_of_the_next_room_is_not_this_room_s(tmp_path: Path) -> None:
    model = Model(storeys=[("0", 0.0), ("1", 3.0)])
    model.space("1", "Room", ROOM, 0.0, 2.7)
    chair = model.map_of(model.chair_shape())
    model.thing("IfcFurniture", "Chair", model.mapped(chair), (3, 2, 0))
    model.thing("IfcFurniture", "Chair above", model.mapped(chair), (2, 2, 0), storey="1")
    model.thing("IfcFurniture", "Chair next door", model.mapped(chair), (6.3, 2, 0))
    assert len(read(model, tmp_path).seats) == 1


def test_furniture_without_a_name_is_what_it_looks_like_and_told(tmp_path: Path) -> None:
    model = furnished("mm", "IFC2X3")
    table(model, None, rectangle(-0.8, -0.4, 1.6, 0.8), (3.0, 2.0))
    model.thing(kind_of(model), None, model.chair_shape(), (3.0, 2.7, 0.0))
    model.thing(kind_of(model), None, model.prism(rectangle(-0.4, -0.2, 0.8, 0.4), 0, 1.9), (0.5, 0.3, 0.0))
    room = read(model, tmp_path)
    assert (len(room.tables), len(room.seats), len(room.obstacles)) == (1, 1, 1)
    assert "table-by-shape" in names(room)


def test_what_is_tall_enough_to_hide_a_mouth_stands_in_the_room_and_low_furniture_is_counted(
    tmp_path: Path,
) -> None:
    model = furnished()
    model.thing("IfcColumn", "Column", model.cylinder((0, 0), 0.4, 0.0, 4.0), (2.0, 2.0, 0.0))
    model.thing(
        "IfcColumn", "Column in the wall", model.prism(rectangle(-0.2, -0.2, 0.4, 0.4), 0, 4), (6.1, 2, 0)
    )
    model.thing(
        "IfcFurniture", "Upper cabinet", model.prism(rectangle(-0.5, -0.2, 1, 0.4), 1.4, 2.1), (4, 3.8, 0)
    )
    model.thing("IfcFurniture", "Sideboard", model.prism(rectangle(-0.5, -0.2, 1, 0.4), 0, 0.8), (4, 0.2, 0))
    model.thing("IfcFurniture", "Tree outside", model.cylinder((0, 0), 4.0, 0, 5.0), (7.5, 2, 0))
    room = read(model, tmp_path)
    # from low y to high y
    column, in_wall, cabinet = room.obstacles
    assert column.size_m == (pytest.approx(0.4, abs=1e-5),)
    assert (column.from_m, column.to_m) == (0, pytest.approx(2.7))
    # what of it stands in the room: from x = 5.9 to the wall
    assert in_wall.at_m == (pytest.approx(5.95, abs=1e-5), pytest.approx(2.0, abs=1e-5))
    assert sorted(in_wall.size_m) == [pytest.approx(0.1, abs=1e-5), pytest.approx(0.4, abs=1e-5)]
    assert (cabinet.from_m, cabinet.to_m) == (pytest.approx(1.4), pytest.approx(2.1))
    assert dict(room.left_out) == {"low furniture": 1}


def test_a_hole_in_the_outline_is_a_column_of_the_room(tmp_path: Path) -> None:
    model = Model()
    ring = model.prism(ROOM, 0, 2.7)
    hole = model.file.create_entity(
        "IfcPolyline", Points=[model.point(p) for p in (*rectangle(2, 1, 0.5, 0.6), (2, 1))]
    )
    outer = ring.SweptArea.OuterCurve
    ring.SweptArea = model.file.create_entity(
        "IfcArbitraryProfileDefWithVoids", ProfileType="AREA", OuterCurve=outer, InnerCurves=[hole]
    )
    model.space("1", "Room", None, body=ring)
    room = read(model, tmp_path)
    assert room.area_m2 == pytest.approx(24 - 0.3)
    assert len(room.outline_m) == 4
    (column,) = room.obstacles
    assert (column.at_m, column.size_m) == (
        (pytest.approx(2.25), pytest.approx(1.3)),
        (pytest.approx(0.5), pytest.approx(0.6)),
    )


def test_without_chairs_people_sit_round_tables_but_not_in_the_wall_and_that_is_a_guess(
    tmp_path: Path,
) -> None:
    model = furnished()
    table(model, "Desk on the wall", rectangle(-0.8, -0.4, 1.6, 0.8), (3.0, 0.4))
    table(model, "Coffee table", rectangle(-0.4, -0.4, 0.8, 0.8), (1.0, 3.0), height=0.44)
    people = people_of(read(model, tmp_path))
    (seats,) = people.seats
    assert dict(seats.keys) == {"around": "T1", "skip": ("-y",)}
    assert [(doubt.about, doubt.name) for doubt in people.doubts] == [("T1-seats", "seats-by-default")]


def test_without_chairs_and_tables_somebody_is_somewhere_and_that_is_a_guess(tmp_path: Path) -> None:
    people = people_of(read(furnished(), tmp_path))
    assert len(people.standing) == 1
    assert [doubt.name for doubt in people.doubts] == ["people-by-default"]
