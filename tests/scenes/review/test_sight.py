from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.shapes import Box, Cylinder
from scenes.findings.sight import Sightline
from scenes.review.review import review
from scenes.review.sight import eye_m, sightlines
from scenes.review.speech import speech
from scenes.room.mouths import EYE_ABOVE_MOUTH_M
from scenes.room.provenance import Given
from scenes.room.scene import Camera, Display, Obstacle, Scene
from tests.scenes.ceiling_rooms import CEILING_M, array, device, guessed, head, profile, scene

SCREEN = Display("DS1", (5.95, 2.0, 1.4), 1.4, 0.8, 180.0)


def lines(of: Scene, kind: str) -> list[Sightline]:
    serving = {one.id: of.arrays[0].id for one in of.heads}
    return [line for line in sightlines(of, serving) if line.kind == kind]


def blocked(of: Scene, kind: str) -> list[Sightline]:
    return [line for line in lines(of, kind) if line.state == "blocked"]


def test_a_free_room_has_a_clear_line_for_every_pair() -> None:
    room = scene(cameras=(Camera("CAM1", (5.9, 2.0, 1.2), None, Given(70.0)),), displays=(SCREEN,))
    assert [len(lines(room, kind)) for kind in ("array", "camera", "display")] == [2, 2, 2]
    assert not any(blocked(room, kind) for kind in ("array", "camera", "display"))


def test_a_column_between_array_and_mouth_is_named_with_where_it_is_met() -> None:
    column = Obstacle("C1", Cylinder((2.7, 1.65, CEILING_M / 2), 0.1, CEILING_M))
    [line] = blocked(scene(obstacles=(column,)), "array")
    assert (line.array, line.end, line.blocked_by, line.blockers) == ("A1", "S1", "C1", ("C1",))
    # the line runs through the column's middle, and meets it a radius before
    assert line.blocked_at_m is not None
    assert np.hypot(line.blocked_at_m[0] - 2.7, line.blocked_at_m[1] - 1.65) == pytest.approx(0.1)


def test_a_line_to_any_mouth_of_a_range_counts() -> None:
    ranged = (head("S1", (2.4, 1.3), (1.0, 1.5)),)
    on_path = Box((2.5, 1.4166, 1.1), (0.1, 0.1, 0.2))  # in front of the lowest mouth only
    [line] = blocked(scene(heads=ranged, obstacles=(Obstacle("M1", on_path),)), "array")
    assert line.end_m[2] == pytest.approx(1.0)


def test_an_array_between_camera_and_face_is_told_and_so_is_its_cable_alone() -> None:
    low = array(at=(4.0, 2.0), height_m=1.25, profile=profile(0.3, 0.2))
    room = scene(
        arrays=(low,),
        heads=(head("S1", (2.0, 2.0)),),
        cameras=(Camera("CAM1", (5.9, 2.0, 1.2), None, Given(70.0)),),
    )
    [line] = blocked(room, "camera")
    assert (line.start, line.end, line.blocked_by, line.array) == ("CAM1", "S1", "A1", None)
    high = Camera("CAM1", (5.9, 2.0, 1.7), None, Given(70.0))
    [line] = blocked(scene(arrays=(low,), heads=(head("S1", (2.0, 2.0)),), cameras=(high,)), "camera")
    assert (line.blocked_by, line.cable) == ("A1", True)


def test_a_hidden_corner_of_a_screen_is_named() -> None:
    post = Obstacle("P1", Box((5.0, 2.55, 1.0), (0.1, 0.1, 2.0)))
    room = scene(heads=(head("S1", (2.0, 2.0)),), displays=(SCREEN,), obstacles=(post,))
    [line] = blocked(room, "display")
    assert (line.start, line.end, line.blocked_by) == ("S1", "DS1", "P1")
    assert line.hidden == ("lower left", "upper left")


def test_a_screen_is_not_seen_whole_where_a_post_hides_a_strip_between_its_corners() -> None:
    """A pole 4 cm thick hides none of the four corners and not the centre."""
    pole = Obstacle("P1", Box((5.0, 2.25, 1.0), (0.04, 0.04, 2.0)))
    room = scene(heads=(head("S1", (2.0, 2.0)),), displays=(SCREEN,), obstacles=(pole,))
    [line] = blocked(room, "display")
    assert (line.blocked_by, line.hidden) == ("P1", ())


def test_a_low_screen_behind_the_table_is_hidden_by_the_table_top() -> None:
    low = replace(SCREEN, at_m=(5.95, 2.0, 0.6), height_m=0.9)
    room = scene(heads=(head("S1", (1.8, 2.0)),), displays=(low,))
    [line] = blocked(room, "display")
    assert (line.blocked_by, line.hidden) == ("T1", ("lower left", "lower right"))
    # and its way through the top begins at the top: 1.267 m eyes, 0.74 m table
    assert line.blocked_at_m is not None
    assert line.blocked_at_m[2] == pytest.approx(0.74)
    assert not blocked(scene(heads=room.heads, displays=(SCREEN,)), "display")


def test_of_several_things_in_the_way_the_nearest_to_the_array_comes_first() -> None:
    near = Obstacle("N1", Cylinder((2.8, 1.7667, 1.4), 0.05, 2.0))
    far = Obstacle("F1", Cylinder((2.6, 1.5333, 1.4), 0.05, 2.0))
    for things in ((near, far), (far, near)):
        [line] = blocked(scene(obstacles=things), "array")
        assert (line.blocked_by, line.blockers) == ("N1", ("N1", "F1"))


def test_a_cable_between_two_places_of_a_way_that_is_walked_is_not_missed() -> None:
    """A2 hangs between the first two of the points at which lines to who walks used to be asked."""
    way = ((1.0, 1.0), (5.0, 1.0))
    walker = head("W", (1.0, 1.0), (1.4, 1.7), posture="standing", path_m=way, stretch_m=way)
    low = array("A2", (2.58, 1.7), 1.2, profile=profile(0.01, 0.01))
    [line] = blocked(scene(arrays=(array("A1", (3.0, 2.0), 2.5), low), heads=(walker,), tables=()), "array")
    assert (line.blocked_by, line.cable) == ("A2", True)
    # the place on the way that is shown lies behind the cable
    assert line.end_m[0] == pytest.approx(3.0 - 0.42 / 0.3, abs=0.03)


L_SHAPE = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.5), (2.5, 2.5), (2.5, 6.0), (0.0, 6.0))


@pytest.mark.parametrize("clockwise", [False, True])
def test_walls_of_a_room_that_is_not_convex_block_arrays_cameras_and_views(clockwise: bool) -> None:
    """The room of the finding (search.md 2): array at 2.0/5.0, talker at 5.0/2.1."""
    room = scene(
        arrays=(array(at=(2.0, 5.0)),),
        heads=(head("S1", (5.0, 2.1)),),
        tables=(),
        cameras=(Camera("CAM1", (0.1, 5.9, 2.0), None, Given(70.0)),),
        displays=(Display("DS1", (1.0, 5.95, 1.4), 1.4, 0.8, -90.0),),
    )
    outline = tuple(reversed(L_SHAPE)) if clockwise else L_SHAPE
    room = replace(room, room=replace(room.room, outline_m=outline))
    hidden = [line for line in sightlines(room, {"S1": "A1"}) if line.state == "blocked"]
    assert [line.kind for line in hidden] == ["array", "camera", "display"]
    # from the array and the camera the wall at x = 2.5 comes first, from the seat the one at y = 2.5
    upright, level = ((2, 3) if clockwise else (3, 2)) if not clockwise else (1, 2)
    assert [line.blocked_by for line in hidden] == [f"wall {upright}", f"wall {upright}", f"wall {level}"]
    [first] = [line for line in hidden if line.kind == "array"]
    assert first.blocked_at_m is not None
    assert first.blocked_at_m[0] == pytest.approx(2.5, abs=1e-6)
    assert first.hidden == ()
    assert hidden[-1].hidden == ("lower left", "lower right", "upper right", "upper left", "centre")


def test_a_thing_that_is_called_as_a_wall_is_told_apart_from_it() -> None:
    room = scene(
        arrays=(array(at=(2.0, 5.0)),), heads=(head("S1", (5.0, 2.1)),), tables=(),
        obstacles=(Obstacle("wall 3", Box((1.9, 4.9, 1.0), (0.01, 0.01, 0.1))),),
    )  # fmt: skip
    room = replace(room, room=replace(room.room, outline_m=L_SHAPE))
    [line] = sightlines(room, {"S1": "A1"})
    assert line.blocked_by == "wall 3 of the room"


def test_who_sits_behind_the_screen_is_not_asked() -> None:
    behind = Display("DS1", (1.0, 2.0, 1.4), 1.4, 0.8, 180.0)
    assert not lines(scene(displays=(behind,)), "display")


def test_eyes_are_above_mouths() -> None:
    one = head("S1", (2.0, 2.0))
    assert eye_m(one)[2] == pytest.approx(1.2 + EYE_ABOVE_MOUTH_M)


def test_speech_follows_the_serving_array_and_is_none_without_acoustics() -> None:
    from scenes.room.acoustics import Acoustics

    room = scene(arrays=(array("A1"), array("A2", (2.4, 1.3), 2.2)))
    assert speech(room, {"S1": "A2", "S2": "A1"}) is None
    told = speech(
        scene(arrays=room.arrays, acoustics=Acoustics("normal", 35.0, None)), {"S1": "A2", "S2": "A1"}
    )
    assert told is not None
    assert told[0].level_dBA == pytest.approx(57.8)  # a metre straight below: 60, and 2.2 for upwards
    assert told[0].to_noise_dB == pytest.approx(22.8)
    assert told[0].to_reverberant_dB is None
    echoing = scene(arrays=room.arrays, acoustics=Acoustics("loud", None, 0.5))
    again = speech(echoing, {"S1": "A2", "S2": "A1"})
    assert again is not None
    assert again[0].level_dBA == pytest.approx(69.8)
    # A = 0.161 × 66 m³ / 0.5 s = 21.2 m² of 103 m²: R 26.7 m², with Q 1.49 0.89 m; and 2.2 dB for upwards
    assert again[0].to_reverberant_dB == pytest.approx(20 * np.log10(0.89) - 2.2, abs=0.1)


def test_a_line_that_only_a_default_size_of_ours_blocks_fails_nobody() -> None:
    """A1 to S2 falls from 2.2 to 1.2 m; half way, at 1.7 m, a lamp hangs 0.1 m beside the line."""
    lamp = device("L1", "light", (3.3, 2.25), below_m=1.1, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    told = next(line for line in review(scene(overhead=(lamp,))).sightlines if line.end == "S2")
    assert (told.state, told.blocked_by, told.binding) == ("blocked", "L1", True)
    found = review(scene(overhead=(guessed(lamp, "size"),)))
    line = next(line for line in found.sightlines if line.end == "S2")
    assert (line.state, line.binding) == ("blocked", False)
    assert line.default_decides == "size"
    assert found.verdict == "caution"
    assert review(scene(overhead=(lamp,))).verdict == "fail"
    # of a plate whose size is told a line comes through the underside, however thin it is
    plate = replace(lamp, at_m=(3.3, 2.35), low_m=1.7, depth=Given(0.1, "default"))
    assert next(x for x in review(scene(overhead=(plate,))).sightlines if x.end == "S2").binding


# Against many single lines ------------------------------------------------------------------------------

POINTS = 200
"""Points asked along a line, where they stand for all of it."""


def in_solid(points: Any, solid: Any, by_m: float) -> Any:
    """Which points lie in a box or cylinder, deeper than `by_m`: written out here, without the product's code."""
    away = points - np.array(solid.middle_m)
    if isinstance(solid, Cylinder):
        plan = np.hypot(away[:, 0], away[:, 1]) < solid.radius_m - by_m
        return plan & (np.abs(away[:, 2]) < solid.height_m / 2 - by_m)
    turn = np.radians(solid.turn_deg)
    x = away[:, 0] * np.cos(turn) + away[:, 1] * np.sin(turn)
    y = away[:, 1] * np.cos(turn) - away[:, 0] * np.sin(turn)
    inside = [np.abs(v) < size / 2 - by_m for v, size in zip((x, y, away[:, 2]), solid.size_m, strict=True)]
    return np.logical_and.reduce(inside)


def in_the_way(start: Any, ends: Any, solids: dict[str, list[Any]], room: Any, by_m: float) -> set[str]:
    """What many points of lines to `ends` (k, 3) lie in, deeper than `by_m`; "walls" outside the room."""
    share = np.linspace(0, 1, POINTS)[:, None, None]
    points = (np.asarray(start) + share * (np.asarray(ends) - np.asarray(start))).reshape(-1, 3)
    found = {name for name, some in solids.items() for solid in some if in_solid(points, solid, by_m).any()}
    outside = ~shapely.contains_xy(room.buffer(by_m), points[:, 0], points[:, 1])
    return found | ({"walls"} if outside.any() else set())


OUTLINES = (
    ((0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)),
    L_SHAPE,
    ((0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (4.0, 6.0), (4.0, 2.0), (2.0, 2.0), (2.0, 6.0), (0.0, 6.0)),
    ((0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (3.5, 4.2), (2.0, 6.0), (0.0, 3.0), (1.2, 2.0)),
)


def random_room(seed: int) -> Scene:
    random = np.random.default_rng(seed)
    outline = OUTLINES[seed % len(OUTLINES)]
    area = shapely.Polygon(outline).buffer(-0.1)

    def spot() -> tuple[float, float]:
        while True:
            x, y = random.uniform(0, 6, 2).round(3).tolist()
            if area.contains(shapely.Point(x, y)):
                return x, y

    def between(low: float, high: float) -> float:
        return float(random.uniform(low, high))

    heads = []
    for k in range(4):
        low = between(1.0, 1.3)
        walks = k == 3
        way = (spot(), spot(), spot()) if walks else ()
        at = way[0] if walks else spot()
        posture = "standing" if walks else "seated"
        heads.append(
            head(f"S{k}", at, (low, low + between(0, 0.3)), posture=posture, path_m=way, stretch_m=way)
        )
    obstacles = tuple(
        Obstacle(
            f"O{k}",
            Box(
                (*spot(), between(0.5, 1.5)),
                (between(0.02, 0.5), between(0.02, 0.5), between(0.3, 1.5)),
                between(0, 180),
            )
            if k % 2
            else Cylinder((*spot(), between(0.5, 1.5)), between(0.01, 0.3), between(0.3, 2.0)),
        )
        for k in range(6)
    )
    screen = Display("DS1", (*spot(), 1.3), 1.2, 0.7, between(0, 360))
    while not all(area.contains(shapely.Point(corner[:2])) for corner in screen.corners_m):
        screen = Display("DS1", (*spot(), 1.3), 1.2, 0.7, between(0, 360))
    arrays = (array("A1", spot(), 2.3), array("A2", spot(), 2.0, profile=profile(0.3, 0.1)))
    room = scene(
        arrays=arrays,
        heads=tuple(heads),
        tables=(),
        obstacles=obstacles,
        cameras=(Camera("CAM1", (*spot(), 1.8), None, Given(70.0)),),
        displays=(screen,),
    )
    return replace(room, room=replace(room.room, outline_m=outline))


def solids_of(room: Scene) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {one.id: [one.solid] for one in room.obstacles}
    for one in room.arrays:
        x, y, z = one.centre_m
        top = z + one.profile.size_m[2] - one.profile.centre_m
        found[one.id] = [one.body, Cylinder((x, y, (top + CEILING_M) / 2), 0.004, CEILING_M - top)]
    for display in room.displays:
        turn = np.radians(display.facing_deg)
        x, y, z = display.at_m
        middle = (x - 0.025 * float(np.cos(turn)), y - 0.025 * float(np.sin(turn)), z)
        found[display.id] = [Box(middle, (0.05, display.width_m, display.height_m), display.facing_deg)]
    return found


def ends_of(room: Scene, line: Sightline) -> tuple[Any, Any]:
    """Where a line begins, and many of the points it goes to."""
    if line.kind == "display":
        [display] = room.displays
        viewer = room.head(line.start)
        low_left, low_right, _, high_left = map(np.array, display.corners_m)
        u, v = (grid.ravel()[:, None] for grid in np.meshgrid(np.linspace(0, 1, 9), np.linspace(0, 1, 9)))
        return eye_m(viewer), low_left + u * (low_right - low_left) + v * (high_left - low_left)
    one = room.head(line.end)
    raised = EYE_ABOVE_MOUTH_M if line.kind == "camera" else 0.0
    start = room.cameras[0].at_m if line.kind == "camera" else room.array(line.start).centre_m
    way = np.array(one.stretch_m or (one.at_m,))
    if len(way) > 1:
        way = np.concatenate([np.linspace(a, b, 13) for a, b in itertools.pairwise(way)])
    heights = np.linspace(*one.mouth_m, 5) + raised
    return start, np.array([(x, y, z) for x, y in way for z in heights])


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**31))
def test_what_any_single_line_meets_blocks_and_what_blocks_is_met_by_the_line_that_is_told(seed: int) -> None:
    room = random_room(seed)
    outline, solids = shapely.Polygon(room.room.outline_m), solids_of(room)
    walls = {f"wall {k}" for k in range(len(room.room.outline_m))}
    for line in sightlines(room, {one.id: room.arrays[k % 2].id for k, one in enumerate(room.heads)}):
        own = {line.array, line.end if line.kind == "display" else None}
        others = {name: some for name, some in solids.items() if name not in own}
        blockers = {"walls" if name in walls else name for name in line.blockers}
        start, ends = ends_of(room, line)
        # whatever a single line goes through by more than a hair is told
        assert in_the_way(start, ends, others, outline, 1e-3) <= blockers, line
        if line.state == "blocked":
            met = in_the_way(line.start_m, [line.end_m], others, outline, -2e-2)
            assert ("walls" if line.blocked_by in walls else line.blocked_by) in met
            assert line.blocked_at_m is not None
        else:
            assert not line.blockers
