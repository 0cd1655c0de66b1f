from __future__ import annotations

import pytest

from geometry.shapes import Box, Cylinder
from scenes.people import EYE_ABOVE_MOUTH_M
from scenes.review import Sightline
from scenes.scene import Camera, Display, Obstacle, Scene
from scenes.sightlines import eye_m, sightlines
from scenes.speaking import speech
from tests.scenes.ceiling_rooms import CEILING_M, array, device, head, profile, scene

SCREEN = Display("DS1", (5.95, 2.0, 1.4), 1.4, 0.8, 180.0)


def lines(of: Scene, kind: str) -> list[Sightline]:
    serving = {one.id: of.arrays[0].id for one in of.heads}
    return [line for line in sightlines(of, serving) if line.kind == kind]


def blocked(of: Scene, kind: str) -> list[Sightline]:
    return [line for line in lines(of, kind) if line.state == "blocked"]


def test_a_free_room_has_a_clear_line_for_every_pair() -> None:
    room = scene(cameras=(Camera("CAM1", (5.9, 2.0, 1.2), None, 70.0),), displays=(SCREEN,))
    assert [len(lines(room, kind)) for kind in ("array", "camera", "display")] == [2, 2, 2]
    assert not any(blocked(room, kind) for kind in ("array", "camera", "display"))


def test_a_column_between_array_and_mouth_is_named_with_the_move_that_frees_it() -> None:
    column = Obstacle("C1", Cylinder((2.7, 1.65, CEILING_M / 2), 0.1, CEILING_M))
    [line] = blocked(scene(obstacles=(column,)), "array")
    assert (line.array, line.end, line.blocked_by) == ("A1", "S1", "C1")
    assert line.advice is not None
    assert line.advice == "move C1 sideways by 10 cm"
    freed = Obstacle("C1", Cylinder((2.7 + 0.11 * 0.76, 1.65 - 0.11 * 0.65, CEILING_M / 2), 0.1, CEILING_M))
    assert not blocked(scene(obstacles=(freed,)), "array")


def test_a_hanging_lamp_is_to_be_raised_by_what_frees_the_line() -> None:
    lamp = device("L1", "light", (2.7, 1.65), below_m=1.2, size_m=(0.3, 0.3), depth_m=0.3)
    [line] = blocked(scene(overhead=(lamp,)), "array")
    assert line.blocked_by == "L1"
    assert line.advice is not None
    assert "raise L1 by" in line.advice
    raised = float(line.advice.split("raise L1 by ")[1].split(" cm")[0]) / 100
    assert not blocked(
        scene(overhead=(device("L1", "light", (2.7, 1.65), 1.2 - raised, size_m=(0.3, 0.3)),)), "array"
    )
    slightly_less = device("L1", "light", (2.7, 1.65), 1.2 - raised + 0.011, size_m=(0.3, 0.3), depth_m=0.3)
    assert blocked(scene(overhead=(slightly_less,)), "array")


def test_a_line_to_any_mouth_of_a_range_counts() -> None:
    ranged = (head("S1", (2.4, 1.3), (1.0, 1.5)),)
    on_path = Box((2.5, 1.4166, 1.1), (0.1, 0.1, 0.2))  # in front of the lowest mouth only
    [line] = blocked(scene(heads=ranged, obstacles=(Obstacle("M1", on_path),)), "array")
    assert line.end_m[2] == pytest.approx(1.0)


def test_an_array_between_camera_and_face_is_told_and_its_cable_is_too_thin_to_be_raised() -> None:
    low = array(at=(4.0, 2.0), height_m=1.25, profile=profile(0.3, 0.2))
    room = scene(
        arrays=(low,), heads=(head("S1", (2.0, 2.0)),), cameras=(Camera("CAM1", (5.9, 2.0, 1.2), None, 70.0),)
    )
    [line] = blocked(room, "camera")
    assert (line.start, line.end, line.blocked_by, line.array) == ("CAM1", "S1", "A1", None)
    high = Camera("CAM1", (5.9, 2.0, 1.7), None, 70.0)
    [line] = blocked(scene(arrays=(low,), heads=(head("S1", (2.0, 2.0)),), cameras=(high,)), "camera")
    assert line.blocked_by == "the cable of A1"
    assert line.advice is not None
    assert "raise" not in line.advice


def test_a_hidden_corner_of_a_screen_is_named() -> None:
    post = Obstacle("P1", Box((5.0, 2.55, 1.0), (0.1, 0.1, 2.0)))
    room = scene(heads=(head("S1", (2.0, 2.0)),), displays=(SCREEN,), obstacles=(post,))
    [line] = blocked(room, "display")
    assert (line.start, line.end, line.blocked_by) == ("S1", "DS1", "P1")
    assert line.advice is not None
    assert line.advice.startswith("lower left, upper left hidden; move P1 sideways by")


def test_who_sits_behind_the_screen_is_not_asked() -> None:
    behind = Display("DS1", (1.0, 2.0, 1.4), 1.4, 0.8, 180.0)
    assert not lines(scene(displays=(behind,)), "display")


def test_eyes_are_above_mouths() -> None:
    one = head("S1", (2.0, 2.0))
    assert eye_m(one)[2] == pytest.approx(1.2 + EYE_ABOVE_MOUTH_M)


def test_speech_follows_the_serving_array_and_is_none_without_acoustics() -> None:
    from scenes.scene import Acoustics

    room = scene(arrays=(array("A1"), array("A2", (2.4, 1.3), 2.2)))
    assert speech(room, {"S1": "A2", "S2": "A1"}) is None
    told = speech(
        scene(arrays=room.arrays, acoustics=Acoustics("normal", 35.0, None)), {"S1": "A2", "S2": "A1"}
    )
    assert told is not None
    assert told[0].level_dBA == pytest.approx(60.0)  # straight below, a metre away
    assert told[0].to_noise_dB == pytest.approx(25.0)
    assert told[0].to_reverberant_dB is None
    echoing = scene(arrays=room.arrays, acoustics=Acoustics("loud", None, 0.5))
    again = speech(echoing, {"S1": "A2", "S2": "A1"})
    assert again is not None
    assert again[0].level_dBA == pytest.approx(72.0)
    # 0.0566 sqrt(2 × 66 m³ / 0.5 s) = 0.92 m
    assert again[0].to_reverberant_dB == pytest.approx(-0.73, abs=0.05)
