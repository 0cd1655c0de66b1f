"""What a spec means once seats stand and people walk."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from geometry.band import slack
from geometry.coverage import cover
from scenes.room.build import HALF_SUB_STEP_M, build, read_scene, require_places
from scenes.room.populations import mouth_range_m
from scenes.room.provenance import ANYBODY, Given, Survey
from scenes.room.scene import BOX_SIZE_M
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text

ROOMS = Path(__file__).parents[3] / "scenes" / "rooms"

BASE = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 55]}, reach: [1, 3]}
  f: {mount: flush, body: {size: [0.5, 0.4, 0.06]}, bands: {one: [20, 55]}, reach: [1, 3]}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
"""


def scene(more: str = "seats: [{around: T1}]\n", base: str = BASE):
    return build(read_spec_text(base + more))


def mistakes(more: str, base: str = BASE):
    with pytest.raises(SpecMistakes) as caught:
        scene(more, base)
    return caught.value.mistakes


def test_seats_get_ids_defaults_and_a_source_for_what_was_assumed():
    room = scene()
    assert [head.id for head in room.heads] == [f"T1-{n}" for n in range(1, 9)]
    first = room.heads[0]
    assert first.at_m == pytest.approx((4.45, 2.0))
    assert (first.mouth_m, first.sway_m, first.posture) == ((1.2, 1.2), 0.10, "seated")
    assert first.facing_deg == pytest.approx(180)
    assert (first.mouth, first.sway) == (Given((1.2, 1.2), "default"), Given(0.1, "default"))


def test_groups_override_mouth_sway_and_posture():
    room = scene("seats: [{around: T1, mouth: [1.0, 1.1], sway: 0.2, posture: standing}]\n")
    assert {(h.mouth_m, h.sway_m, h.posture) for h in room.heads} == {((1.0, 1.1), 0.2, "standing")}


def test_who_stands_up_does_so_at_the_standing_height():
    room = scene(
        "people: {standing: {mouth: [1.4, 1.7]}}\nseats: [{id: S, at: [1, 1], mouth: 1.1, stands: true}]\n"
    )
    assert [(h.id, h.posture, h.mouth_m) for h in room.heads] == [
        ("S", "seated", (1.1, 1.1)),
        ("S-up", "standing", (1.4, 1.7)),
    ]


def test_rows_of_desks_run_from_minus_x_minus_y():
    room = scene("seats: [{id: R, rows: 2, columns: 3, at: [3, 2], pitch: [0.8, 1.2]}]\n")
    assert [(h.id, tuple(round(c, 6) for c in h.at_m)) for h in room.heads] == [
        ("R-1-1", (2.2, 1.4)),
        ("R-1-2", (3.0, 1.4)),
        ("R-1-3", (3.8, 1.4)),
        ("R-2-1", (2.2, 2.6)),
        ("R-2-2", (3.0, 2.6)),
        ("R-2-3", (3.8, 2.6)),
    ]
    turned = scene("seats: [{id: R, rows: 1, columns: 2, at: [3, 2], pitch: [1, 1], turn: 90}]\n")
    assert [tuple(round(c, 6) for c in h.at_m) for h in turned.heads] == [(3.0, 1.5), (3.0, 2.5)]


@pytest.mark.parametrize(
    ("rest", "facing_deg"),
    [
        ("", 270),  # square to the rows
        (", turn: 30", 300),
        (", facing: 180", 180),
        (", towards: T1, turn: 90", None),
    ],
)
def test_rows_of_desks_look_one_way_not_each_at_the_nearest_table(rest, facing_deg):
    room = scene(
        f"seats: [{{id: R, rows: 2, columns: 3, at: [3, 2.2], pitch: [0.8, 0.8]{rest}, stands: true}}]\n"
    )
    assert {h.faces for h in room.heads} == {"facing" in rest or "towards" in rest}
    if facing_deg is not None:
        assert {h.facing_deg for h in room.heads} == {facing_deg}
        return
    [table] = room.tables
    for head in room.heads:
        way = math.atan2(table.at_m[1] - head.at_m[1], table.at_m[0] - head.at_m[0])
        assert head.facing_deg == pytest.approx(math.degrees(way) % 360)


def test_rows_of_desks_look_to_the_side_of_the_display_and_a_presenter_where_the_file_says():
    room = scene(
        "seats: [{id: R, rows: 1, columns: 2, at: [3, 2], pitch: [1, 1]}]\n"
        "standing: [{id: P, at: [1, 1], facing: -90}, {id: W, along: [[1, 1], [1, 3]], towards: DS1}]\n"
        "displays: [{id: DS1, at: [3, 3.9, 1.4], width: 1.4, height: 0.8, facing: 270}]\n"
    )
    facing = {head.id: head.facing_deg for head in room.heads}
    assert (facing["R-1-1"], facing["R-1-2"], facing["P"]) == (90, 90, 270)
    assert facing["W-1"] == pytest.approx(math.degrees(math.atan2(2.9, 2)))


def test_a_walk_is_judged_between_its_samples_too():
    room = scene("standing: [{id: W, along: [[1, 1], [1, 3]], step: 0.5}]\n")
    assert [h.id for h in room.heads] == ["W-1", "W-2", "W-3", "W-4", "W-5"]
    assert [h.at_m[1] for h in room.heads] == pytest.approx([1, 1.5, 2, 2.5, 3])
    # the stretches join up and cover the whole line
    stretches = [h.stretch_m for h in room.heads]
    assert stretches[0][0] == (1, 1)
    assert stretches[-1][-1] == (1, 3)
    assert all(a[-1] == pytest.approx(b[0]) for a, b in pairwise(stretches))
    # lines of sight go to points of it close together
    points = [1.0, *(y for h in room.heads for _, y in h.path_m), 3.0]
    assert max(b - a for a, b in pairwise(points)) <= 2 * HALF_SUB_STEP_M + 1e-9
    # and what is told is the worst point of the path
    array = room.arrays[0]
    told = cover(np.array([array.centre_m]), [array.band], room.heads_as_rows).slack_m[0]
    path = np.linspace(1, 3, 2001)
    exact = slack(array.band, np.hypot(1 - 3, path - 2), np.full(2001, 2.2 - 1.5))
    assert told.min() == pytest.approx(exact.min(), abs=1e-6)


def test_a_walk_round_a_corner_keeps_its_corner():
    room = scene("standing: [{id: W, along: [[1, 1], [1, 2], [2, 2]], step: 1}]\n")
    assert [h.stretch_m for h in room.heads] == [
        ((1, 1), (1, 1.5)),
        ((1, 1.5), (1, 2), (1.5, 2)),
        ((1.5, 2), (2, 2)),
    ]
    assert len(room.heads_as_rows.xy_m) == 4


def test_populations_give_ranges_and_say_where_from():
    room = scene(
        "people: {seated: {population: women and men, percentiles: [5, 95], seat: 0.45}}\nseats: [{around: T1}]\n"
    )
    who = Survey("women and men", (5, 95), 0.45)
    assert room.heads[0].mouth_m == mouth_range_m(who, "seated")
    assert room.heads[0].mouth.survey == room.seated == who
    assert room.standing == ANYBODY


def test_flush_arrays_hang_at_the_ceiling_and_drops_are_measured_from_it():
    base = BASE.replace("profile: p, at: [3, 2], height: 2.2", "profile: f, at: [3, 2]")
    assert scene(base=base).arrays[0].height_m == pytest.approx(2.8)
    base = BASE.replace("height: 2.2", "drop: 0.5")
    array = scene(base=base).arrays[0]
    assert array.height_m == pytest.approx(2.3)
    assert array.underside_m == pytest.approx(2.27)
    assert array.body.high_m == pytest.approx(2.33)


def test_devices_take_the_usual_size_of_their_kind_and_say_so():
    room = scene(
        "seats: [{around: T1}]\noverhead:\n  - {id: L1, kind: light, at: [1, 1], below: 0.2}\n"
        "  - {id: L2, kind: light, at: [5, 1], below: 0, size: [0.3], depth: 0.4}\n"
    )
    first, second = room.overhead
    assert (first.size, first.depth) == (Given((0.6, 0.6), "default"), Given(0.1, "default"))
    assert first.low_m == pytest.approx(2.6)
    assert (second.size, second.round, second.depth) == (Given((0.3, 0.3)), True, Given(0.4))


def test_what_is_written_is_the_designers_own_also_where_it_equals_the_default():
    quiet = scene()
    told = scene(
        "people: {seated: {mouth: 1.2, sway: 0.1}}\nseats: [{around: T1}]\n"
        "limits: {wall: 0.3}\ncameras: [{id: C1, at: [1, 1, 2], angle: 70}]\n"
        "suspension: {box: {fixing: structure, size: [0.15, 0.15, 0.06]}, spare: 0.3}\n"
    )
    for silent, stated in (
        (quiet.heads[0].mouth, told.heads[0].mouth),
        (quiet.heads[0].sway, told.heads[0].sway),
        (quiet.limits.wall, told.limits.wall),
        (quiet.suspension.box_size, told.suspension.box_size),
        (quiet.suspension.spare, told.suspension.spare),
    ):
        assert silent.value == stated.value
        assert (silent.origin, stated.origin) == ("default", "given")
    assert told.cameras[0].angle == Given(70.0)
    assert told.limits.headroom == quiet.limits.headroom == Given(2.032, "default")
    assert told.suspension.box_size_m == BOX_SIZE_M


@pytest.mark.parametrize(
    ("more", "origins"),
    [
        ("seats: [{id: S, at: [1, 1], mouth: 1.2, sway: 0.1}]\n", ("given", "given")),
        ("people: {seated: {sway: 0.1}}\nseats: [{id: S, at: [1, 1]}]\n", ("default", "given")),
        ("people: {seated: {mouth: null, sway: 0.1}}\nseats: [{id: S, at: [1, 1]}]\n", ("default", "given")),
        ("people: {standing: {sway: 0.1}}\nseats: [{id: S, at: [1, 1]}]\n", ("default", "default")),
        ("people: {seated: {population: men}}\nseats: [{id: S, at: [1, 1]}]\n", ("population", "default")),
    ],
)
def test_mouth_and_lean_each_say_where_they_are_from(more: str, origins: tuple[str, str]):
    [one] = scene(more).heads
    assert (one.mouth.origin, one.sway.origin) == origins


def test_the_lean_that_heron_states_is_the_designers_own():
    heron = read_scene(ROOMS / "heron.yaml")
    assert {head.sway.origin for head in heron.heads} == {"given"}


@pytest.mark.parametrize(
    ("more", "line", "path", "code"),
    [
        ("seats: [{around: T1, gap: 2}]\n", 10, "seats[0]", "talker-outside"),
        ("seats: []\n", 10, "seats", "no-talker"),
        ("seats: [{id: S, at: [1, 1], mouth: 2.9}]\n", 10, "seats[0].mouth", "above-ceiling"),
        (
            "seats: [{around: T1}]\nrules: {sprinkle: {use: false, reason: x}}\n",
            11,
            "rules.sprinkle",
            "unknown-name",
        ),
        (
            "seats: [{around: T1}]\npeople: {seated: {population: woman and men}}\n",
            11,
            "people.seated.population",
            "unknown-name",
        ),
        (
            "seats: [{around: T1}]\npeople: {seated: {population: men, women: 0.2}}\n",
            11,
            "people.seated.women",
            "women-by-name",
        ),
    ],
)
def test_what_only_shows_once_built_is_told_with_its_line(more, line, path, code):
    assert (line, path, code) in [(m.line, m.path, m.code) for m in mistakes(more)]


def test_a_name_that_is_near_another_says_which():
    rules = "seats: [{around: T1}]\nrules: {sprinkler-sprai: {use: false, reason: x}}\n"
    assert [(m.found.text, m.nearest) for m in mistakes(rules)] == [("sprinkler-sprai", "sprinkler-spray")]
    people = "seats: [{around: T1}]\npeople: {seated: {population: woman and men}}\n"
    assert [m.nearest for m in mistakes(people)] == ["women and men"]


def test_check_asks_for_a_place_and_says_how_to_find_one():
    spec = read_spec_text(
        BASE.replace("{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}", "{id: A1, profile: p}")
        + "seats: [{around: T1}]\n"
    )
    with pytest.raises(SpecMistakes) as caught:
        require_places(spec, build(spec))
    assert [(m.line, m.path, m.code) for m in caught.value.mistakes] == [(9, "arrays[0]", "no-position")]
    assert dict(caught.value.mistakes[0].allowed) == {"array": "A1"}


def test_displays_have_their_corners_as_a_viewer_sees_them():
    room = scene(
        "seats: [{around: T1}]\ndisplays: [{id: D, at: [5.9, 2, 1.5], width: 2, height: 1, facing: 180}]\n"
    )
    # facing -x: a viewer looks along +x and has -y on the right
    low_left, low_right, high_right, _ = room.displays[0].corners_m
    assert low_left == pytest.approx((5.9, 3, 1.0))
    assert low_right == pytest.approx((5.9, 1, 1.0))
    assert high_right == pytest.approx((5.9, 1, 2.0))
    assert math.dist(low_left, high_right) == pytest.approx(math.hypot(2, 1))
