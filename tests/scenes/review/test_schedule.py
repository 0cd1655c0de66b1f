from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.findings.installation import ScheduleRow, StepName
from scenes.review.review import review
from scenes.review.schedule import from_wall_m, schedule, steps
from scenes.room.provenance import Given
from scenes.room.scene import Grid, HangsBy, Room, Scene, Suspension
from scenes.room.tiles import tile_of
from scenes.room.walls import reference_walls
from tests.scenes.ceiling_parts import BULKHEAD, scene_of
from tests.scenes.ceiling_rooms import CEILING_M, array, head, profile, scene

GRID = Grid((0.6, 0.6), (0.0, 0.0))


def row(of: Scene) -> ScheduleRow:
    [found] = schedule(of, review(of))
    return found


def room(corners: list[tuple[float, float]]) -> Room:
    return replace(scene().room, outline_m=tuple(corners))


def names(of: Scene) -> list[StepName]:
    return [step.name for step in steps(of, review(of))]


def test_a_row_says_where_how_high_and_how_far_down() -> None:
    found = row(scene(grid=GRID))
    assert (found.x_m, found.x_wall, found.y_m, found.y_wall) == (3.0, 3, 2.0, 0)
    assert (found.ceiling_m, found.centre_m) == (CEILING_M, 2.2)
    assert found.underside_m == pytest.approx(2.17)
    assert found.drop_m == pytest.approx(0.55)
    assert found.tile == "F4"
    assert found.tile_offset_m == pytest.approx((-0.3, -0.1))
    assert found.mass_kg == 1.4
    assert (found.band, found.low_deg, found.high_deg) == ("mid", 21.0, 66.0)


def test_cable_runs_from_the_box_to_the_acoustic_centre_plus_the_spare() -> None:
    assert row(scene()).cable_m == pytest.approx(0.55 + 0.3)
    up = Suspension(box="structure", spare=Given(0.5))
    assert row(scene(suspension=up)).cable_m == pytest.approx(3.4 - 2.2 + 0.5)
    assert row(scene(suspension=up, structure_m=None)).cable_m is None
    assert row(scene(structure_m=None)).cable_m == pytest.approx(0.55 + 0.3)
    assert row(scene(ceiling_kind="open", suspension=up)).cable_m == pytest.approx(0.55 + 0.5)
    flush = row(scene(arrays=(array(profile=profile(0.6, mount="flush")),)))
    assert (flush.cable_m, flush.spare_m) == (None, None)


def test_what_holds_is_kept_apart_from_what_sets_the_height() -> None:
    found = row(scene())
    assert (found.box_support, found.safety_cable, found.relief, found.clamp) == ("line", None, "line", None)
    bare = row(scene(suspension=Suspension(safety_cable=False, clamp="double gripper")))
    assert (bare.box_support, bare.relief, bare.clamp) == ("none", "quoted", "double gripper")
    assert row(scene(suspension=Suspension(safety_cable="2 mm wire"))).safety_cable == "2 mm wire"


def test_the_box_sits_where_the_ceiling_lets_it() -> None:
    assert (row(scene(grid=GRID)).box, row(scene(grid=GRID)).tile) == ("tile bridge", "F4")
    assert row(scene(ceiling_kind="open")).box == "structure"
    assert row(scene(ceiling_kind="open", suspension=Suspension(box="tile bridge"))).box == "structure"
    assert row(scene(ceiling_kind="hard")).box == "under the ceiling"
    assert row(scene(arrays=(array(profile=profile(0.6, mount="flush")),))).box == "frame"


def test_a_hang_point_on_a_grid_tee_is_in_the_row() -> None:
    def cause(of: Scene) -> str | None:
        tee = row(of).tee
        return None if tee is None or tee.cause is None else tee.cause.name

    assert cause(scene(grid=GRID)) == "on-tee"
    assert cause(scene(grid=Grid((0.6, 0.6), (0.3, 0.3)))) is None
    flush = array(profile=profile(0.5, mount="flush"))
    assert cause(scene(grid=GRID, arrays=(flush,))) == "across-tee"
    assert cause(scene(grid=Grid((0.6, 0.6), (0.3, 0.5)), arrays=(flush,))) is None


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


def test_a_place_is_never_set_out_from_two_walls_that_run_alike() -> None:
    # a sliver all of whose walls run rather along x
    sliver = room([(0, 0), (10, 1), (5, 1.2)])
    x_wall, y_wall = reference_walls(sliver)
    assert x_wall != y_wall


def test_tiles_count_from_the_rooms_lowest_corner() -> None:
    shifted = replace(room([(0, 0), (40, 0), (40, 4), (0, 4)]), grid=Grid((0.6, 1.2), (0.3, 0.0)))
    assert tile_of(shifted, (0.1, 0.1)) == ("A1", (pytest.approx(0.1), pytest.approx(-0.5)))
    assert tile_of(shifted, (0.3, 1.2))[0] == "B2"  # type: ignore[index]
    assert tile_of(shifted, (0.3 + 0.6 * 25.5, 0.1))[0] == "AA1"  # type: ignore[index]
    assert tile_of(room([(0, 0), (4, 0), (4, 4)]), (1, 1)) is None


@pytest.mark.parametrize(
    ("kind", "box"),
    [("suspended", "box on bridge"), ("open", "box on structure"), ("hard", "box under ceiling")],
)
def test_steps_follow_the_ceiling(kind: str, box: StepName) -> None:
    of = scene(ceiling_kind=kind)
    void: list[StepName] = ["void"] if kind == "suspended" else []
    close: list[StepName] = ["close"] if kind == "suspended" else []
    assert names(of) == [
        "issue", "sign-off", "mark", *void, box, "secure box", "hang by cable", "secure array", "level", "fixings",
        "measure", *close, "commission",
    ]  # fmt: skip
    assert steps(of, review(of))[0].walls == (3, 0)


def test_steps_follow_grid_box_and_what_the_file_leaves_out() -> None:
    assert "mark tile" in names(scene(grid=GRID))
    assert "box above tile" in names(scene(suspension=Suspension(box="structure")))
    bare = names(scene(suspension=Suspension(safety_cable=False)))
    assert "unsecured box" in bare
    assert "secure box" not in bare


def test_flush_arrays_have_no_cable_to_set_and_each_step_says_whom_it_is_for() -> None:
    flush = array("A2", (3.0, 2.4), profile=profile(0.6, mount="flush"))
    alone = names(scene(arrays=(flush,), heads=(head("S1", (1.2, 2.4)),)))
    assert "set in" in alone
    assert not {"hang by cable", "secure box", "level"} & set(alone)
    both = scene(arrays=(array(), flush))
    found = {step.name: step.arrays for step in steps(both, review(both))}
    assert (found["hang by cable"], found["set in"], found["commission"]) == (("A1",), ("A2",), ("A1", "A2"))


def test_a_room_that_fails_has_one_step_which_holds_it() -> None:
    assert names(scene(heads=(head("S1", (3.0, 2.0)),))) == ["hold"]


@pytest.mark.parametrize("by", ["cable", "wires", "rod", "pole"])
def test_a_pendant_is_hung_by_what_its_profile_says(by: HangsBy) -> None:
    of = scene(arrays=(array(profile=profile(hangs_by=by, points=3)),))
    assert f"hang by {by}" in names(of)
    assert (row(of).hangs_by, row(of).points) == (by, 3)


def test_a_flush_array_is_set_into_an_opening_or_a_recess() -> None:
    far = (head("S1", (1.2, 2.0)),)
    for by, step in (("flush", "set in"), ("recessed", "set in recess")):
        assert step in names(scene(arrays=(array(profile=profile(mount="flush", hangs_by=by)),), heads=far))


def test_the_points_of_a_body_are_round_a_disc_and_along_a_bar() -> None:
    disc = profile(0.4, points=4).points_m
    # 0.86 of the radius out, a quarter turn apart
    assert disc == tuple(pytest.approx(p) for p in ((0.172, 0), (0, 0.172), (-0.172, 0), (0, -0.172)))
    bar = profile(size=(0.2, 1.0, 0.05), points=2).points_m
    assert bar == tuple(pytest.approx(p) for p in ((0, -0.43), (0, 0.43)))
    assert profile(0.4).points_m == ((0.0, 0.0),)


def test_the_part_over_an_array_says_where_its_box_goes_and_what_is_opened() -> None:
    """A1 hangs from a hard bulkhead in a suspended ceiling, A2 from the tiles beside it."""
    second = {"id": "A2", "profile": "halo", "at": [1.5, 2.4], "height": 2.1, "band": "wide"}
    first = {"id": "A1", "profile": "halo", "at": [3.6, 2.4], "height": 2.1, "band": "wide"}
    of = scene_of([BULKHEAD], arrays=[first, second])
    judged = review(of)
    assert judged.verdict != "fail"
    assert [(r.ceiling, r.part, r.box) for r in schedule(of, judged)] == [
        ("hard", "BH1", "under the ceiling"),
        ("suspended", None, "tile bridge"),
    ]
    found = {step.name: step.arrays for step in steps(of, judged)}
    assert (found["box under ceiling"], found["box on bridge"]) == (("A1",), ("A2",))
    assert (found["void"], found["close"]) == (("A2",), ("A2",))
    assert found["hang by cable"] == ("A1", "A2")
