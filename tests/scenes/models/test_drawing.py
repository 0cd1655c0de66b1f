"""Rooms out of drawings made here: units that lie, blocks in blocks, door swings, open plans, layers of any name."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest

from scenes.models.drawing import Asked, Drawing, OutlineLeaks
from scenes.models.refusals import ModelRefused
from scenes.spec.lengths import METRES_IN

CODES = {"in": 1, "ft": 2, "mm": 4, "cm": 5, "m": 6}


class Plan:
    """Two rooms of 6 × 4 m and 3 × 4 m with a door of 0.9 m between, drawn in a unit; given in metres."""

    def __init__(self, unit: str, header: str, *, walls: str = "A-WALL", openings: str = "A-DOOR") -> None:
        self.metre = float(METRES_IN[unit])
        self.document = ezdxf.new("R2018")
        self.document.header["$INSUNITS"] = CODES[header]
        self.space = self.document.modelspace()
        self.openings = openings
        for start, end in (
            ((0, 0), (9, 0)),
            ((9, 0), (9, 4)),
            ((9, 4), (0, 4)),
            ((0, 4), (0, 0)),
            ((6, 0), (6, 1)),
            ((6, 1.9), (6, 4)),
        ):
            self.line(start, end, walls)

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        return point[0] / self.metre, point[1] / self.metre

    def line(self, start: tuple[float, float], end: tuple[float, float], layer: str) -> None:
        self.space.add_line(self.at(start), self.at(end), {"layer": layer})

    def door(self) -> None:
        """The opening's line, the leaf and its swing."""
        self.line((6, 1), (6, 1.9), self.openings)
        self.line((6, 1), (5.1, 1), self.openings)
        self.space.add_arc(self.at((6, 1)), 0.9 / self.metre, 90, 180, dxfattribs={"layer": self.openings})

    def text(self, words: str, at: tuple[float, float]) -> None:
        self.space.add_text(words, dxfattribs={"layer": "A-NOTE", "insert": self.at(at)})

    def save(self, folder: Path) -> Path:
        path = folder / "plan.dxf"
        self.document.saveas(path)
        return path


def asked(plan: Plan, at: tuple[float, float] = (2, 2), **more: object) -> Asked:
    return Asked(plan.at(at), 2.7, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("unit", ["m", "mm", "cm", "in", "ft"])
@pytest.mark.parametrize("header", ["m", "mm", "in"])
def test_door_swings_and_sizes_decide_the_unit_over_the_files_own_word(
    tmp_path: Path, unit: str, header: str
) -> None:
    plan = Plan(unit, header)
    plan.door()
    room, taken = Drawing.read(plan.save(tmp_path)).room(asked(plan))
    assert (taken.name, taken.header, taken.sure) == (unit, header, True)
    # the leaf is a line that closes nothing, the swing is left out
    assert sorted(room.outline_m) == [
        pytest.approx(one, abs=1e-3) for one in [(0, 0), (0, 4), (6, 0), (6, 4)]
    ]
    assert room.area_m2 == pytest.approx(24, abs=1e-2)
    names = {doubt.name for doubt in room.doubts}
    assert ("units-conflict" in names) == (unit != header)


def test_a_printed_size_decides_where_there_is_no_door(tmp_path: Path) -> None:
    plan = Plan("in", "mm")
    plan.line((6, 1), (6, 1.9), "A-DOOR")
    plan.text("STUDIO", (2, 3))
    plan.text("19'8 x 13'-1\"", (2, 2))  # 6 m and 4 m
    room, taken = Drawing.read(plan.save(tmp_path)).room(asked(plan))
    assert (taken.name, taken.printed) == ("in", 1)
    assert room.name == "STUDIO"


def test_the_unit_asked_for_overrides(tmp_path: Path) -> None:
    plan = Plan("m", "m")
    plan.door()
    room, taken = Drawing.read(plan.save(tmp_path)).room(asked(plan, units="ft"))
    assert taken.name == "ft"
    assert room.area_m2 == pytest.approx(24 * 0.3048**2, abs=1e-2)


def test_blocks_in_blocks_mirrored_and_scaled_are_walls_and_things_of_the_room(tmp_path: Path) -> None:
    plan = Plan("m", "m", walls="elsewhere")
    wall = plan.document.blocks.new("wall piece")
    wall.add_line((0, 0), (1, 0), {"layer": "0"})
    box = plan.document.blocks.new("box of walls")
    for at, turn, length in (((0, 0), 0, 5), ((5, 0), 90, 3), ((5, 3), 180, 5), ((0, 3), 270, 3)):
        box.add_blockref("wall piece", at, {"layer": "0", "rotation": turn, "xscale": length, "yscale": 1})
    plan.space.add_blockref("box of walls", (20, 0), {"layer": "A-WALL", "xscale": -2, "yscale": 2})
    lamp = plan.document.blocks.new("Light 600 recessed")
    lamp.add_lwpolyline([(0, 0), (0.6, 0), (0.6, 0.3), (0, 0.3)], close=True)
    plan.space.add_blockref("Light 600 recessed", (15, 3), {"layer": "E-LITE", "rotation": 90})
    plan.space.add_blockref("Light 600 recessed", (2, 3), {"layer": "E-LITE"})  # in another room
    room, _ = Drawing.read(plan.save(tmp_path)).room(asked(plan, at=(15, 1)))
    assert room.area_m2 == pytest.approx(60, abs=1e-2)
    (light,) = room.devices
    assert (light.kind, light.turn_deg) == ("light", 90)
    assert light.size_m == pytest.approx((0.6, 0.3))
    assert light.at_m == pytest.approx((15 - 0.15 - 10, 3 + 0.3))


def test_an_outline_that_is_open_is_shown_and_never_guessed(tmp_path: Path) -> None:
    plan = Plan("m", "m")
    drawing = Drawing.read(plan.save(tmp_path))
    # the two rooms are one where nothing closes the door
    assert drawing.room(asked(plan))[0].area_m2 == pytest.approx(36, abs=1e-2)
    with pytest.raises(OutlineLeaks) as raised:
        drawing.room(asked(plan, at=(20, 20)))
    assert set(raised.value.leak.loose_m) == {(6, 1), (6, 1.9)}
    # a line of one's own closes it
    cut = (plan.at((6, 1)), plan.at((6, 1.9)))
    assert drawing.room(asked(plan, cuts=(cut,)))[0].area_m2 == pytest.approx(24, abs=1e-2)


def test_layers_that_nobody_knows_are_named_and_taken_from_a_mapping(tmp_path: Path) -> None:
    plan = Plan("m", "m", walls="W7", openings="T3")
    plan.door()
    drawing = Drawing.read(plan.save(tmp_path))
    with pytest.raises(ModelRefused) as raised:
        drawing.room(asked(plan))
    assert raised.value.name == "no-walls"
    assert raised.value.found == ("W7 (6)", "T3 (3)")
    room, _ = drawing.room(asked(plan, layers={"walls": ["W*"], "openings": ["T3"]}))
    assert room.area_m2 == pytest.approx(24, abs=1e-2)


def test_a_closed_polyline_of_a_room_layer_is_the_outline(tmp_path: Path) -> None:
    plan = Plan("mm", "mm")
    corners = [plan.at(one) for one in [(1, 1), (3, 1), (3, 3), (1, 3)]]
    plan.space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "A-AREA"})
    room, _ = Drawing.read(plan.save(tmp_path)).room(asked(plan, units="mm"))
    assert room.area_m2 == pytest.approx(4)
    assert room.frame.origin_m == pytest.approx((1, 1, 0))


def test_what_is_no_drawing_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "plan.dxf"
    path.write_text("hello", "utf-8")
    with pytest.raises(ModelRefused) as raised:
        Drawing.read(path)
    assert raised.value.name == "no-drawing"


def test_the_closed_areas_are_listed_with_what_stands_in_them(tmp_path: Path) -> None:
    plan = Plan("ft", "ft")
    plan.door()
    plan.text("Hall", (1, 1))
    found = Drawing.read(plan.save(tmp_path)).candidates(Asked(None, None))
    assert [(name, round(area.area * float(METRES_IN["ft"]) ** 2)) for name, area, _ in found] == [
        ("Hall", 24),
        ("", 12),
    ]
