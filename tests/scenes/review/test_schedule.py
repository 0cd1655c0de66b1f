from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from scenes.numbers import json_text
from scenes.review.review import review
from scenes.review.schedule import COLUMNS, ScheduleRow, from_wall_m, schedule, steps, tile_of
from scenes.room.provenance import Given
from scenes.room.scene import Grid, Room, Scene, Suspension
from scenes.room.walls import reference_walls
from tests.scenes.ceiling_rooms import CEILING_M, array, device, head, profile, scene

GRID = Grid((0.6, 0.6), (0.0, 0.0))


def row(of: Scene) -> ScheduleRow:
    [found] = schedule(of, review(of))
    return found


def room(corners: list[tuple[float, float]]) -> Room:
    return replace(scene().room, outline_m=tuple(corners))


def test_a_row_says_where_how_high_and_how_far_down() -> None:
    found = row(scene(grid=GRID))
    assert (found.x_m, found.x_from, found.y_m, found.y_from) == (3.0, "W4", 2.0, "W1")
    assert (found.ceiling_m, found.centre_m) == (CEILING_M, 2.2)
    assert found.underside_m == pytest.approx(2.17)
    assert found.drop_m == pytest.approx(0.55)
    assert found.tile == "F4"
    assert found.tile_offset_m == pytest.approx((-0.3, -0.1))
    assert found.mass_kg == 1.4


def test_cable_runs_from_the_box_to_the_acoustic_centre_plus_the_spare() -> None:
    assert row(scene()).cable_m == pytest.approx(0.55 + 0.3)
    up = Suspension(box="structure", spare=Given(0.5))
    assert row(scene(suspension=up)).cable_m == pytest.approx(3.4 - 2.2 + 0.5)
    assert row(scene(ceiling_kind="open", suspension=up)).cable_m == pytest.approx(0.55 + 0.5)
    flush = row(scene(arrays=(array(profile=profile(0.6, mount="flush")),)))
    assert flush.cable_m is None


def test_tolerance_is_in_whole_centimetres_rounded_down() -> None:
    of = scene()
    judged = review(of)
    margin = judged.arrays[0].margin_m
    assert margin is not None
    assert margin > 0.02
    found = row(of)
    assert found.tolerance_cm == math.floor(margin * 100)
    # far edge 3.5 m, 1 degree: 2 × 3.5 × sin 0.5° = 61 mm
    assert found.level_left_cm == max(0, math.floor((margin - 0.06109) * 100))
    true = row(scene(arrays=(array(profile=profile(level_deg=0.0)),)))
    assert true.level_left_cm == true.tolerance_cm


def test_the_room_to_a_clearance_counts_before_anything_fails() -> None:
    near = device("SD1", "smoke detector", (3.6, 2.0), below_m=0.5)
    found = row(scene(overhead=(near,)))
    # body and detector 0.55 - 0.03 - 0.03 ... apart: half a metre is asked for
    assert found.clear_cm is not None
    assert found.tolerance_cm is not None
    assert found.clear_cm < found.tolerance_cm
    nobody = scene(heads=(head("S1", (2.4, 1.3)),), arrays=(array("A1"), array("A2", (5.0, 3.5))))
    assert schedule(nobody, review(nobody))[1].tolerance_cm is None


def test_missed_talkers_leave_no_tolerance() -> None:
    assert row(scene(heads=(head("S1", (3.0, 2.0)),))).tolerance_cm == 0


def test_retention_is_told_apart_from_strain_relief() -> None:
    found = row(scene())
    assert "safety cable" in found.box_retention
    assert "independent of the hanging cable" in found.array_retention
    assert "neither is a retention" in found.strain_relief
    bare = row(scene(suspension=Suspension(safety_cable=False, clamp="double gripper")))
    assert bare.box_retention.startswith("none")
    assert bare.strain_relief == "double gripper"


def test_the_box_sits_where_the_ceiling_lets_it() -> None:
    assert row(scene(grid=GRID)).box == "above tile F4, on a tile bridge"
    assert "tile carries nothing" in row(scene()).fixing
    assert row(scene(ceiling_kind="open")).box == "on the structure"
    assert row(scene(ceiling_kind="hard")).box == "under the ceiling"
    flush = row(scene(grid=GRID, arrays=(array(profile=profile(0.6, mount="flush")),)))
    assert flush.box == "in tile F4"


def test_a_hang_point_on_a_grid_tee_has_its_clearance() -> None:
    def cause(of: Scene) -> str | None:
        tee = row(of).tee
        return None if tee is None or tee.cause is None else tee.cause.name

    assert cause(scene(grid=GRID)) == "on-tee"
    assert cause(scene(grid=Grid((0.6, 0.6), (0.3, 0.3)))) is None
    flush = array(profile=profile(0.5, mount="flush"))
    assert cause(scene(grid=GRID, arrays=(flush,))) == "across-tee"
    assert cause(scene(grid=Grid((0.6, 0.6), (0.3, 0.5)), arrays=(flush,))) is None


def test_a_row_is_json_in_the_order_of_its_columns() -> None:
    found = row(scene(grid=GRID))
    assert tuple(found.as_json()) == COLUMNS
    read = json.loads(json_text(found.as_json()))
    assert (read["tag"], read["drop_m"], read["tile_offset_m"]) == ("A1", 0.55, [-0.3, -0.1])


def test_reference_walls_are_the_long_ones_and_distances_point_into_the_room() -> None:
    ell = room([(0, 0), (6, 0), (6, 2), (3, 2), (3, 4), (0, 4)])
    assert reference_walls(ell) == (5, 0)
    assert from_wall_m(ell, 5, (1.2, 3.0)) == pytest.approx(1.2)
    clockwise = room([(0, 0), (0, 4), (6, 4), (6, 0)])
    assert reference_walls(clockwise) == (0, 3)
    assert from_wall_m(clockwise, 0, (1.2, 3.0)) == pytest.approx(1.2)
    turned = room([(0, 0), (3, 3), (1, 5), (-2, 2)])
    x, y = reference_walls(turned)
    assert x != y
    assert from_wall_m(turned, x, (0.5, 2.5)) > 0
    assert from_wall_m(turned, y, (0.5, 2.5)) > 0


def test_tiles_count_from_the_rooms_lowest_corner() -> None:
    shifted = replace(room([(0, 0), (40, 0), (40, 4), (0, 4)]), grid=Grid((0.6, 1.2), (0.3, 0.0)))
    assert tile_of(shifted, (0.1, 0.1)) == ("A1", (pytest.approx(0.1), pytest.approx(-0.5)))
    assert tile_of(shifted, (0.3, 1.2))[0] == "B2"  # type: ignore[index]
    assert tile_of(shifted, (0.3 + 0.6 * 25.5, 0.1))[0] == "AA1"  # type: ignore[index]
    assert tile_of(room([(0, 0), (4, 0), (4, 4)]), (1, 1)) is None


@pytest.mark.parametrize(
    ("kind", "said", "unsaid"),
    [
        ("suspended", "tile bridge", "through the lining"),
        ("open", "Fix the box to the structure", "tile"),
        ("hard", "through the lining", "tile bridge"),
    ],
)
def test_steps_follow_the_ceiling(kind: str, said: str, unsaid: str) -> None:
    told = steps(scene(ceiling_kind=kind))
    text = " ".join(step.text for step in told)
    assert said in text
    assert unsaid not in text
    assert [step.number for step in told] == list(range(1, len(told) + 1))
    assert "wall W4" in text
    assert "second line" in text


def test_flush_arrays_have_no_cable_to_set() -> None:
    text = " ".join(step.text for step in steps(scene(arrays=(array(profile=profile(0.6, mount="flush")),))))
    assert "Set the clamp" not in text
    assert "Cut the opening" in text


def test_a_missing_safety_cable_is_to_be_agreed() -> None:
    told = steps(scene(suspension=Suspension(safety_cable=False)))
    assert any("agreed in writing" in step.text for step in told)
