"""What is said of blocked lines, and of what would free them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from geometry.shapes import Box, Cylinder
from scenes.findings.cause import Move
from scenes.findings.review import Review
from scenes.findings.sight import Unblock
from scenes.review.review import review
from scenes.room.build import build
from scenes.room.provenance import Given
from scenes.room.scene import Camera, Display, Obstacle
from scenes.spec.reading import read_spec
from tests.scenes.ceiling_rooms import CEILING_M, array, device, guessed, head, profile, scene
from viz.json_objects import review_object
from viz.words.locale import Locale
from viz.words.sight import advice, findings, sentences, thing

CASES = Path(__file__).parents[2] / "scenes" / "cases"
METRIC, FEET = Locale("m"), Locale("ft")
SOUTH = (head("S1", (2.0, 2.0)),)
L_SHAPE = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.5), (2.5, 2.5), (2.5, 6.0), (0.0, 6.0))


def case(name: str) -> Review:
    return review(build(read_spec(CASES / f"{name}.yaml")))


def whole(judged: Review) -> list[str]:
    return [text.whole for text in findings(judged)]


def test_all_lines_of_a_thing_are_one_text_and_moves_go_towards_walls_by_name():
    assert whole(case("touch")) == [
        "L1 blocks the lines from A1 to T1-1, T1-2, T1-3 and 3 more. "
        "Move L1 300 mm towards wall W2, or move A1 300 mm towards wall W4."
    ]
    assert whole(case("blk")) == [
        "Pendant one blocks the line from A1 to T1-1. Raise Pendant one by 9 mm, or lower A1 by 13 mm."
    ]


def test_both_moves_of_things_that_are_called_alike_are_told():
    [text] = whole(case("cam_space"))
    assert "Pendant one blocks the view from Pendant cam to T1-4." in text
    assert "Move Pendant one 100 mm towards wall W3, or move Pendant cam 134 mm towards wall W3." in text


def test_a_column_moves_last_and_what_stays_sends_the_array_elsewhere():
    column = Obstacle("C1", Cylinder((2.7, 1.65, CEILING_M / 2), 0.1, CEILING_M))
    [text] = whole(review(scene(obstacles=(column,))))
    assert text.endswith("(if it can be moved).")
    assert text.index("A1 2") < text.index("move C1")
    nothing = Unblock("B1", (("A1", "S1"),), (), ("A1", "L1"))
    assert advice(nothing, scene(), METRIC) == (
        "No small move frees it without harm: find another position for A1 or L1."
    )


def test_a_wall_has_its_name_of_the_plan_and_a_thing_keeps_its_own():
    room = scene(arrays=(array(at=(2.0, 5.0)),), heads=(head("S1", (5.0, 2.1)),), tables=())
    room = replace(room, room=replace(room.room, outline_m=L_SHAPE))
    [text] = whole(review(room))
    assert text.startswith("Wall W4 blocks the line from A1 to S1.")
    assert (thing("wall 3", room, METRIC), thing("L1", room, METRIC)) == ("wall W4", "L1")


def test_a_cable_is_told_from_its_array_and_a_hidden_part_of_a_screen_by_its_corners():
    low = array(at=(4.0, 2.0), height_m=1.25, profile=profile(0.3, 0.2))
    camera = Camera("CAM1", (5.9, 2.0, 1.7), None, Given(70.0))
    [text] = whole(review(scene(arrays=(low,), heads=SOUTH, cameras=(camera,))))
    assert text.startswith("The cable of A1 blocks the view from CAM1 to S1.")
    screen = Display("DS1", (5.95, 2.0, 1.4), 1.4, 0.8, 180.0)
    for y, part in ((2.55, "lower left and upper left"), (2.25, "a part of it")):
        post = Obstacle("P1", Box((5.0, y, 1.0), (0.04, 0.04, 2.0)))
        judged = review(scene(heads=SOUTH, displays=(screen,), obstacles=(post,)))
        assert whole(judged)[0].startswith(f"P1 blocks the view of DS1 from S1 ({part}).")


def test_a_default_size_that_decides_is_named():
    lamp = device("L1", "light", (3.3, 2.25), below_m=1.1, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    [text] = whole(review(scene(overhead=(guessed(lamp, "size"),))))
    assert text.endswith("The size of L1 is an overtable default, which decides here: give its own.")


def test_moves_without_a_square_wall_go_by_the_plan_and_lengths_are_of_the_files_units():
    one = Unblock(
        "L1", (("A1", "S1"),), (Move("L1", "+x", 0.0508), Move("A1", "down", 0.3, wall=None)), ("A1",)
    )
    assert advice(one, scene(), METRIC) == "Move L1 51 mm to the right on the plan, or lower A1 by 300 mm."
    assert advice(one, scene(), FEET).startswith('Move L1 2" to the right on the plan')


def test_the_verdict_names_the_first_of_each_kind_and_counts_the_rest():
    seats = (head("S1", (2.4, 1.3)), head("S2", (3.6, 2.7)))
    posts = (
        Obstacle("P1", Cylinder((2.7, 1.65, 1.4), 0.03, 2.0)),
        Obstacle("P2", Cylinder((3.3, 2.35, 1.4), 0.03, 2.0)),
    )
    told = sentences(review(scene(heads=seats, obstacles=posts)))
    assert told[0].startswith("P1 blocks the line from A1 to S1.")
    assert told[1] == "1 more line of an array is blocked."


def test_the_json_has_the_moves_as_data_and_their_text_at_every_line():
    judged = case("touch")
    found = review_object(judged)
    [one] = found["unblock"]
    assert one["blocker"] == "L1"
    assert one["lines"][0] == {"from": "A1", "to": "T1-1"}
    assert one["moves"][0] == {"thing": "L1", "direction": "+x", "by_m": 0.3, "seldom": False, "wall": 1}
    assert one["else_place"] == ("A1", "L1")
    texts = {line["advice"] for line in found["sightlines"] if line["state"] == "blocked"}
    assert texts == {"Move L1 300 mm towards wall W2, or move A1 300 mm towards wall W4."}
    clear = case("01b-same-room-passes-here")
    assert {line["advice"] for line in review_object(clear)["sightlines"]} == {None}
    heads = found["heads"]
    assert [head["blockers"] for head in heads] == [("L1",)] * 6
