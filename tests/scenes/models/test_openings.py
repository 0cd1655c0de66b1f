"""Doors with their swing, windows, plain openings and glazed walls in a room's walls."""

from __future__ import annotations

from pathlib import Path

import pytest

from scenes.findings.model import ModelOpening, ModelRoom, Swing
from scenes.models.rooms import read_building
from tests.scenes.models.builder import Model, rectangle
from tests.scenes.models.test_ceilings import read

ROOM = rectangle(0, 0, 6, 4)


def housed(schema: str = "IFC4", unit: str = "m", turn: float = 0.0) -> Model:
    model = Model(schema, unit, site_turn=turn)
    model.space("1", "Room", ROOM, 0.0, 2.7)
    return model


def by_id(room: ModelRoom) -> dict[str, ModelOpening]:
    return {one.id: one for one in room.openings}


@pytest.mark.parametrize(
    ("schema", "unit", "turn"), [("IFC2X3", "mm", 0.0), ("IFC4", "m", 33.0), ("IFC4X3_ADD2", "ft", 0.0)]
)
def test_a_door_and_a_window_are_in_their_walls_at_their_places(
    tmp_path: Path, schema: str, unit: str, turn: float
) -> None:
    model = housed(schema, unit, turn)
    # walls 0.2 thick round the room, their middle lines 0.1 outside
    model.opening("IfcDoor", "Door", (1.5, -0.1), 0.0, 0.9, 0.0, 2.1)
    model.opening("IfcWindow", "Window", (6.1, 2.0), 90.0, 1.6, 0.9, 2.1)
    room = read(model, tmp_path)
    corners = room.outline_m
    door, window = (by_id(room)[id] for id in ("D1", "G1"))
    for one, expected in (
        (door, (1.05, 0.9, 2.1, 0.0)),
        (window, (1.2, 1.6, 1.2, 0.9)),
    ):
        assert (one.offset_m, one.width_m, one.height_m, one.sill_m) == pytest.approx(expected, abs=1e-5)
    # the first corner is the lowest, so of a room that is not turned wall 0 is the one at y = 0, wall 1 that at x = 6
    assert (door.wall, window.wall) == (0, 1)
    assert len(corners) == 4
    assert room.doubts[0].name == "ceiling-of-space"


def test_a_door_between_two_rooms_is_in_both_of_them(tmp_path: Path) -> None:
    model = housed()
    model.space("2", "Next", rectangle(6.2, 0, 3, 4), 0.0, 2.7)
    model.opening("IfcDoor", "Door", (6.1, 2.0), 90.0, 0.9, 0.0, 2.1)
    one, other = read_building([model.write(tmp_path)]).rooms
    assert [door.wall for door in one.openings] == [1]
    assert [door.wall for door in other.openings] == [3]
    assert one.openings[0].guid == other.openings[0].guid


@pytest.mark.parametrize(
    ("operation", "turn", "expected"),
    [
        # a door opens towards its own +y; hinged left as one looks that way (IfcDoorTypeOperationEnum).
        # in the wall at y = 0, whose first corner is at x = 0, the room is towards +y
        ("SINGLE_SWING_LEFT", 0.0, Swing("near", "in")),
        ("SINGLE_SWING_RIGHT", 0.0, Swing("far", "in")),
        ("SINGLE_SWING_LEFT", 180.0, Swing("far", "out")),
        ("SINGLE_SWING_RIGHT", 180.0, Swing("near", "out")),
        ("DOUBLE_DOOR_SINGLE_SWING", 0.0, Swing("both", "in")),
        ("SLIDING_TO_LEFT", 0.0, None),
        ("NOTDEFINED", 0.0, None),
    ],
)
def test_how_a_door_swings(tmp_path: Path, operation: str, turn: float, expected: Swing | None) -> None:
    model = housed()
    door = model.opening("IfcDoor", "Door", (1.5, -0.1), turn, 0.9, 0.0, 2.1)
    model.typed(door, model.root("IfcDoorType", "T", PredefinedType="DOOR", OperationType=operation))
    assert by_id(read(model, tmp_path))["D1"].swing == expected


def test_in_ifc2x3_the_style_says_how_a_door_swings(tmp_path: Path) -> None:
    model = housed("IFC2X3")
    door = model.opening("IfcDoor", "Door", (1.5, -0.1), 0.0, 0.9, 0.0, 2.1)
    style = model.root(
        "IfcDoorStyle",
        "T",
        OperationType="SINGLE_SWING_LEFT",
        ConstructionType="WOOD",
        ParameterTakesPrecedence=False,
        Sizeable=False,
    )
    model.typed(door, style)
    assert by_id(read(model, tmp_path))["D1"].swing == Swing("near", "in")


def test_a_void_that_people_walk_through_is_an_opening_and_a_niche_or_a_duct_s_hole_is_none(
    tmp_path: Path,
) -> None:
    model = housed()
    model.opening("IfcOpeningElement", "Arch", (1.5, -0.1), 0.0, 1.2, 0.0, 2.4)
    model.opening("IfcOpeningElement", "Hole for a duct", (4.0, -0.1), 0.0, 0.4, 2.2, 2.5)
    niche = model.opening("IfcOpeningElement", "Niche", (4.0, 4.1), 0.0, 1.0, 0.0, 2.0)
    niche.PredefinedType = "RECESS"
    (only,) = read(model, tmp_path).openings
    assert (only.kind, only.width_m) == ("opening", pytest.approx(1.2))


def test_a_window_of_the_wall_behind_is_not_this_room_s(tmp_path: Path) -> None:
    model = housed()
    # parallel to the wall at y = 0, but half a metre away from it
    model.opening("IfcWindow", "Window", (3.0, -0.6), 0.0, 1.0, 0.9, 2.0)
    assert read(model, tmp_path).openings == ()


def test_what_is_higher_than_the_room_is_cut_and_told(tmp_path: Path) -> None:
    model = housed()
    model.slab(rectangle(-1, -1, 8, 6), 2.8, 3.0)
    model.opening("IfcWindow", "Tall", (3.0, -0.1), 0.0, 1.0, 0.5, 4.0)
    room = read(model, tmp_path)
    (window,) = room.openings
    assert window.sill_m + window.height_m == pytest.approx(2.8)
    assert ("G1", "opening-cut") in [(doubt.about, doubt.name) for doubt in room.doubts]


def test_a_glazed_wall_is_a_window_with_the_door_in_it_left_free(tmp_path: Path) -> None:
    model = housed()
    wall = model.thing("IfcCurtainWall", "Glass", None, (0, -0.05, 0))
    panes = []
    for x in (0.0, 2.0, 4.0):
        pane = model.thing(
            "IfcPlate", "Pane", model.prism(rectangle(x, -0.01, 2.0, 0.02), 0.0, 2.6), (0, -0.05, 0)
        )
        panes.append(pane)
    model.aggregate(wall, *panes)
    model.thing(
        "IfcDoor", "Door", model.prism(rectangle(-0.5, -0.02, 1.0, 0.04), 0.0, 2.1), (3.0, -0.05, 0.0)
    )
    room = read(model, tmp_path)
    found = [(one.id, round(one.offset_m, 3), round(one.width_m, 3)) for one in room.openings]
    assert found == [("G1", 0.0, 2.5), ("D1", 2.5, 1.0), ("G2", 3.5, 2.5)]
    assert len({one.guid for one in room.openings if one.kind == "window"}) == 1
