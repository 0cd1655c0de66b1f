"""What is above the ceiling is solid: room for body and box, and devices of the file that reach into the structure."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from geometry.shapes import Box
from scenes.findings.clearance import Clearance
from scenes.place.search import place_scene
from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.room.provenance import Given
from scenes.room.scene import Obstacle, Origin, Scene, Suspension
from scenes.rules.clearances import clearances
from tests.scenes.ceiling_rooms import (
    CEILING_M,
    array,
    cause_of,
    changed,
    device,
    guessed,
    profile,
    rows,
    scene,
)
from viz.words import clearances as words
from viz.words.locale import Locale

CASES = Path(__file__).parents[1] / "cases"


def above(of: Scene) -> list[Clearance]:
    return [row for row in clearances(of) if row.against == "structure"]


def test_a_box_of_60_mm_does_not_go_into_a_void_of_30_mm() -> None:
    """shared/found/documents.md, B1: this passed."""
    found = review(read_scene(CASES / "void.yaml"))
    assert found.verdict == "fail"
    [row] = [row for row in found.short if row.array == "A1"]
    assert (row.against, row.kind, row.rule, row.part) == ("structure", "structure", "touch", "box")
    assert (row.basis, row.sureness) == ("fact", "geometry")
    assert (row.required_m, row.actual_m) == (0.06, pytest.approx(0.03))
    said = words.conflict(row, Locale.of(found.scene))
    assert said == "The box of A1 needs 60 mm above the ceiling, and there is 30 mm"
    # lights and grilles as deep as overtable takes them: data to check
    others = [row for row in found.clearances if row.array is None]
    assert {row.device for row in others} == {"L1", "L2", "L3", "L4", "DF1", "RG1"}
    assert {(row.state, cause_of(row), row.required_m) for row in others} == {
        ("unjudged", "through-structure", None)
    }


def test_a_flush_body_does_not_go_into_a_void_of_an_inch() -> None:
    found = review(read_scene(CASES / "ferryvoid.yaml"))
    assert found.verdict == "fail"
    [row] = [row for row in found.short if row.array == "A1"]
    assert (row.against, row.rule, row.part) == ("structure", "touch", "body")
    assert (row.required_m, row.actual_m) == (pytest.approx(2.375 * 0.0254), pytest.approx(0.0254))


@pytest.mark.parametrize(("void_m", "needs"), [(0.059, True), (0.06, False), (0.3, False)])
@pytest.mark.parametrize("mount", ["pendant", "flush"])
def test_what_goes_in_exactly_is_no_conflict(mount: str, void_m: float, needs: bool) -> None:
    room = scene(arrays=(array(profile=profile(mount=mount)),), structure_m=CEILING_M + void_m)
    assert bool(above(room)) == needs


def test_without_a_structure_nothing_is_known_to_be_above_and_an_open_ceiling_is_the_structure() -> None:
    flush = (array(profile=profile(mount="flush")),)
    assert not above(scene(arrays=flush, structure_m=None))
    [row] = above(scene(arrays=flush, structure_m=None, ceiling_kind="open"))
    assert (row.state, row.required_m, row.actual_m) == ("short", pytest.approx(0.06), 0.0)
    # what hangs under an open or a hard ceiling has its box under it
    for kind in ("open", "hard"):
        assert not above(scene(structure_m=CEILING_M, ceiling_kind=kind))


@pytest.mark.parametrize(
    ("more", "state"),
    [
        ({}, "short"),
        ({"guess": "depth"}, "unjudged"),
        ({"guess": "size"}, "short"),
        ({"model": True}, "unjudged"),
    ],
)
def test_a_light_through_the_slab(more: dict[str, object], state: str) -> None:
    """Short only where the designer wrote both its depth and the structure; else the data is to be checked."""
    light = device("L1", "light", (1.0, 1.0), below_m=0.0, depth_m=0.7)
    if "guess" in more:
        light = guessed(light, str(more["guess"]))
    room = scene(overhead=(light,))
    if "model" in more:
        room = replace(room, origin=Origin((), None, {}, (0.0, 0.0, 0.0), 0.0, None, {}))
    [row] = [row for row in above(room) if row.array is None]
    assert (row.device, row.against, row.rule, row.state) == ("L1", "structure", "touch", state)
    assert row.actual_m == pytest.approx(0.65)
    assert row.cause is not None
    assert row.cause.have_m == pytest.approx(0.05)
    # and whoever switches the rule off does not hear of it
    assert not [row for row in above(changed(room, "touch")) if row.array is None]


def test_a_beam_is_part_of_the_structure_and_a_device_up_to_it_is_clear() -> None:
    beam = device("B1", "beam", (1.0, 1.0), below_m=0.1, depth_m=0.9)
    light = device("L1", "light", (1.0, 1.0), below_m=0.0, depth_m=0.65)
    assert not above(scene(overhead=(beam, light)))


def test_in_an_empty_room_the_data_of_the_file_is_told_too() -> None:
    light = device("L1", "light", (1.0, 1.0), below_m=0.0, depth_m=0.7)
    room = replace(scene(overhead=(light,)), arrays=())
    assert [row.device for row in clearances(room)] == ["L1"]


def test_what_no_place_can_help_does_not_stop_the_search() -> None:
    placed = place_scene(read_scene(CASES / "void.yaml"), aim="margin")
    assert placed.margin_m is not None
    assert placed.margin_m > 0
    assert [row.against for row in review(placed.scene).short] == ["structure"]


# ---- the box and the line on from it are solid


def test_a_box_in_a_duct_is_two_things_in_one_place() -> None:
    """The box is above the hole of the cable: what is there is in it, whatever its size."""
    duct = device("D1", "other", (3.1, 2.0), below_m=-0.05, depth_m=0.2, size_m=(0.3, 0.3), round=False)
    own = Suspension(box_size=Given((0.15, 0.15, 0.06)))
    for suspension in (own, Suspension()):
        [row] = rows(scene(overhead=(duct,), suspension=suspension), "touch")
        assert (row.against, row.part, row.state, cause_of(row)) == ("D1", "box", "short", "runs-into")
    beside = replace(duct, at_m=(3.2, 2.0))
    assert [row.part for row in rows(scene(overhead=(beside,), suspension=own), "touch")] == ["box"]
    # only the default size of the box makes it so: less than advice, told by the rule of the way above
    assert not rows(scene(overhead=(beside,)), "touch")
    assert [row.state for row in rows(scene(overhead=(beside,)), "hang-line")] == ["advised"]


def test_where_the_line_goes_on_from_the_box_is_overtables_own() -> None:
    high = device("D1", "other", (3.0, 2.0), below_m=-0.2, depth_m=0.1, size_m=(0.3, 0.3), round=False)
    assert not rows(scene(overhead=(high,)), "touch")
    assert [row.state for row in rows(scene(overhead=(high,)), "hang-line")] == ["advised"]


def test_a_column_through_the_ceiling_is_in_the_way_of_the_box() -> None:
    column = Obstacle("C1", Box((3.1, 2.0, CEILING_M / 2), (0.1, 0.1, CEILING_M), 0.0))
    own = Suspension(box_size=Given((0.3, 0.15, 0.06)))
    parts = {
        row.part for row in rows(scene(obstacles=(column,), suspension=own), "touch") if row.state == "short"
    }
    assert parts == {"box"}


def test_the_second_line_of_a_flush_array_is_a_body_too() -> None:
    flush = (array(profile=profile(mount="flush")),)
    over = device("DU1", "duct", (3.0, 2.0), -0.2, round=False, size_m=(2.0, 0.4), depth_m=0.25)
    line = [row for row in clearances(scene(arrays=flush, overhead=(over,))) if row.rule == "hang-line"]
    assert [(row.part, row.against, row.state) for row in line] == [("line", "DU1", "advised")]
    beside = replace(over, at_m=(3.0, 2.4))
    [row] = [row for row in clearances(scene(arrays=flush, overhead=(beside,))) if row.rule == "hang-line"]
    assert (row.state, row.actual_m) == ("clear", pytest.approx(0.2 - 0.004))
    # what is up there reaches no lower than the body's top, or hangs below: other rules tell of it
    low = device("DU1", "duct", (3.0, 2.0), 0.1, round=False, size_m=(2.0, 0.4), depth_m=0.1)
    assert not [row for row in clearances(scene(arrays=flush, overhead=(low,))) if row.rule == "hang-line"]


@pytest.mark.parametrize("kind", ["duct", "pipe", "cable tray", "fan", "access point"])
def test_box_cable_and_second_line_are_judged_against_whatever_is_above_the_ceiling(kind: str) -> None:
    tray = device("X1", kind, (3.0, 2.0), -0.3, round=False, size_m=(1.0, 0.2), depth_m=0.1)
    by_rule = {row.rule: row for row in clearances(scene(overhead=(tray,)))}
    assert (by_rule["hang-line"].part, by_rule["hang-line"].state) == ("line", "advised")
    low = replace(tray, below_m=-0.05, low_m=CEILING_M + 0.05)
    own = scene(overhead=(low,), suspension=Suspension(box_size=Given((0.2, 0.2, 0.06))))
    assert {row.rule: row.state for row in clearances(own)}["touch"] == "short"
