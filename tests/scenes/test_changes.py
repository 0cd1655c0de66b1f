"""What differs between two revisions of a room."""

from __future__ import annotations

import pytest

from scenes.building import build
from scenes.changes import as_json, changes, farthest_moved_m
from scenes.review import review
from scenes.spec import read_spec_text

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
