"""What differs between two revisions of a room."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from scenes.review.changes import as_json, changes, farthest_moved_m, other_room
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: R
document: {revision: A}
units: m
room: {size: [6, 4], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
seats: [{id: S1, at: [1.6, 2]}, {id: S2, at: [4.4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
overhead: [{id: L1, kind: light, at: [1, 1], below: 0}]
"""


def reviewed(text=ROOM):
    return review(build(read_spec_text(text)))


@pytest.fixture(scope="module")
def old():
    return reviewed()


def told(old, *edits):
    text = ROOM
    for before, after in edits:
        assert before in text
        text = text.replace(before, after)
    return {(c.kind, c.id, c.what): (c.before, c.after) for c in changes(old, reviewed(text))}


def test_the_same_room_has_no_changes(old):
    assert changes(old, reviewed()) == ()
    assert changes(old, reviewed(ROOM.replace("units: m", "units: m  # a comment"))) == ()


def test_a_moved_array_is_told_by_what_moved(old):
    assert told(old, ("height: 2.2", "height: 2.3")) == {("array", "A1", "height"): ("2.20 m", "2.30 m")}
    found = told(old, ("at: [3, 2], height", "at: [3.1, 2], height"))
    assert found[("array", "A1", "place on plan")] == ("3.00 m, 2.00 m", "3.10 m, 2.00 m")


def test_less_than_half_a_millimetre_is_no_change(old):
    assert told(old, ("height: 2.2", "height: 2.2004")) == {}


def test_added_and_removed_things_are_told_with_where_they_are(old):
    new = reviewed(
        ROOM.replace("{id: S2, at: [4.4, 2]}", "{id: S3, at: [4.4, 2.1]}").replace("id: L1", "id: L2")
    )
    found = {(c.kind, c.id): (c.what, c.at_m) for c in changes(old, new)}
    assert found[("head", "S3")] == ("added", (4.4, 2.1))
    assert found[("head", "S2")] == ("removed", (4.4, 2.0))
    assert found[("device", "L2")][0] == "added"
    assert found[("device", "L1")][0] == "removed"


def test_a_head_that_is_lost_changes_the_verdict_and_its_state(old):
    found = told(old, ("at: [4.4, 2]", "at: [5.9, 2]"))
    assert found[("verdict", "R", "verdict")] == ("pass", "fail")
    assert found[("head", "S2", "state")] == ("covered", "missed")


def test_the_room_and_the_clearances_are_compared_too(old):
    found = told(old, ("ceiling: 2.8", "ceiling: 2.9"), ("at: [1, 1]", "at: [3, 2]"))
    assert found[("room", "R", "ceiling")] == ("2.80 m", "2.90 m")
    assert any(
        kind == "clearance" and after.startswith("short") for (kind, _, _), (_, after) in found.items()
    )


def test_json_names_both_revisions(old):
    new = reviewed(ROOM.replace("revision: A", "revision: B").replace("height: 2.2", "height: 2.35"))
    told = as_json(old, new)
    assert told["format"] == "overtable/changes/1"
    assert (told["old"]["revision"], told["new"]["revision"]) == ("A", "B")
    assert told["changes"][0]["what"] == "height"
    assert farthest_moved_m(old, new) == pytest.approx(0.15)


def test_furniture_cameras_and_displays_are_compared_too(old):
    seen = (
        "cameras: [{id: CAM1, at: [5.9, 2, 2]}]\n"
        "displays: [{id: DS1, at: [5.95, 2, 1.3], width: 1.2, height: 0.7, facing: 180}]\n"
    )
    found = told(
        old,
        ("size: [2.4, 1.2], at: [3, 2]", "size: [2.4, 1.0], at: [3, 2.1]"),
        ("overhead:", seen + "overhead:"),
    )
    assert found == {
        ("table", "T1", "place on plan"): ("3.00 m, 2.00 m", "3.00 m, 2.10 m"),
        ("table", "T1", "size"): ("2.40 m, 1.20 m", "2.40 m, 1.00 m"),
        ("camera", "CAM1", "added"): (None, "5.90 m, 2.00 m, 2.00 m; the talkers"),
        ("display", "DS1", "added"): (None, "5.95 m, 2.00 m, 1.30 m; 1.20 m, 0.70 m"),
    }  # fmt: skip


EVERYTHING = """\
overtable: 1
name: R
project: P
units: m
room:
  size: [6, 4]
  ceiling: 2.8
  structure: 3.2
  grid: {pitch: [0.6, 0.6], origin: [0, 0]}
  north: 80
  openings: [{id: D1, kind: door, wall: 0, offset: 0.4, width: 0.9, height: 2.1}]
tables: [{id: T1, shape: boat, size: [2.4, 1.2], at: [3, 2]}]
standing: [{id: W, along: [[1.4, 1], [1.4, 3]], step: 1}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65], one otherwise: [20, 65]},
      reach: [0.8, 3], mass: 2}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
overhead: [{id: SP1, kind: sprinkler, at: [1, 1], below: 0.05, stem: 0.1, required: 0.4}]
obstacles: [{id: B1, at: [5, 3.5], size: [0.4, 0.3], turn: 10}, {id: B2, at: [5, 0.5], size: [0.4]}]
cameras: [{id: CAM1, at: [5.9, 2, 2], aim: [3, 2, 1]}]
displays: [{id: DS1, at: [5.95, 2, 1.3], width: 1.2, height: 0.7, facing: 180}]
acoustics: {effort: normal, noise_dBA: 35, reverberation_s: 0.5}
rules: {smoke-detector: {required: 1.0, reason: asked for}}
suspension: {ceiling: suspended, box: {fixing: structure, size: [0.2, 0.2, 0.1]}}
"""
NOT_TOLD = {
    "Scene.document": "the title block says itself which revision it is",
    "Scene.source": "the file's name and hash, not the room",
    "Scene.units": "the units a file is written in: the lengths are the same",
    "Scene.people_sources": "where mouth heights are from; the heights are told",
    "Scene.profiles": "those in use are told, as the arrays have them",
    "Array.given_as": "height or drop: the place is the same",
    "Head.facing_deg": "follows from table and display; pictures only",
    "Head.group": "part of the id",
    "Head.table": "part of the id",
    "Head.path_m": "where the stretch is sampled; the stretch is told",
    "Device.low_m": "follows from the ceiling and from below",
    "Device.id": "another id is another thing, which is told as added and removed",
    "Camera.id": "likewise",
    "Display.id": "likewise",
    "Obstacle.id": "likewise",
    "Opening.id": "likewise",
    "Table.id": "likewise",
    "Array.id": "likewise",
    "Head.id": "likewise",
}


def otherwise(value: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    """The value with one thing in it changed, for each thing in it: (Class.field, changed)."""
    if is_dataclass(value):
        for field in fields(value):
            own = f"{type(value).__name__}.{field.name}"
            if own in NOT_TOLD:
                yield own, value
                continue
            for what, changed in otherwise(getattr(value, field.name), own):
                yield what, replace(value, **{field.name: changed})
    elif isinstance(value, tuple) and value and is_dataclass(value[0]):
        for i, part in enumerate(value):
            for what, changed in otherwise(part):
                yield what, (*value[:i], changed, *value[i + 1 :])
    elif isinstance(value, tuple):
        assert value, f"{name} is empty: give it something in the spec above"
        for what, changed in otherwise(value[0], name):
            yield what, (changed, *value[1:])
    elif isinstance(value, Mapping):
        for key, part in value.items():
            for what, changed in otherwise(part, name):
                yield what, {**value, key: changed}
    elif isinstance(value, bool):
        yield name, not value
    elif isinstance(value, str):
        yield name, value + " otherwise"
    else:
        assert value is not None, f"{name} is not given: give it in the spec above"
        yield name, value + (1 if isinstance(value, int) else 0.002)


def test_everything_a_scene_says_is_told_when_it_changes():
    judged = reviewed(EVERYTHING)
    assert changes(judged, judged) == ()
    walked = set()
    for what, scene in otherwise(judged.scene):
        walked.add(what)
        found = changes(judged, replace(judged, scene=scene))
        assert bool(found) != (what in NOT_TOLD), (what, found)
        # and so that one sees a difference: two millimetres are not the same text twice
        assert all(change.before != change.after for change in found), found
    assert set(NOT_TOLD) <= walked
    assert len(walked) > 80


def test_openings_acoustics_and_rules_are_told_in_words():
    edits = {
        "width: 0.9": ("opening", "D1", "size", "0.90 m, 2.10 m", "1.00 m, 2.10 m"),
        "noise_dBA: 35": ("room", "R", "noise", "35 dB(A)", "40 dB(A)"),
        "reverberation_s: 0.5": ("room", "R", "reverberation", "0.5 s", "0.8 s"),
        "required: 1.0": ("rule", "smoke-detector", "rule", "asks for 1.00 m", "asks for 1.20 m"),
        "at: [1, 1]": ("device", "SP1", "place on plan", "1.00 m, 1.00 m", "1.00 m, 1.00 m (by up to 3 mm)"),
    }
    new = {
        "width: 0.9": "width: 1",
        "noise_dBA: 35": "noise_dBA: 40",
        "reverberation_s: 0.5": "reverberation_s: 0.8",
        "required: 1.0": "required: 1.2",
        "at: [1, 1]": "at: [1.003, 1]",
    }
    before = reviewed(EVERYTHING)
    for edit, expected in edits.items():
        found = changes(before, reviewed(EVERYTHING.replace(edit, new[edit])))
        assert expected in [(c.kind, c.id, c.what, c.before, c.after) for c in found]
    door = next(c for c in changes(before, reviewed(EVERYTHING.replace("width: 0.9", "width: 1"))))
    assert door.at_m == pytest.approx((0.9, 0))  # the middle of an opening from 0.4 to 1.4 m


def test_two_rooms_that_share_neither_name_nor_outline_are_remarked_upon(old):
    one = old.scene
    other = reviewed(ROOM.replace("name: R", "name: Q").replace("size: [6, 4]", "size: [7, 4]")).scene
    assert "R and Q" in (other_room(one, other) or "")
    assert other_room(one, replace(one, name="Q")) is None
    assert other_room(one, replace(other, name="R")) is None
