"""What differs between two revisions, in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.findings.review import Review
from scenes.review.changes import changes
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from viz.json_changes import changes_object
from viz.words.changes import ChangeText, none, row, same_revision, two_rooms
from viz.words.locale import Locale

ROOM = """\
overtable: 1
name: R
document: {revision: A}
units: m
room: {size: [6, 4], ceiling: 2.8, north: 80}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
seats: [{id: S1, at: [1.6, 2]}, {id: S2, at: [4.4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
overhead: [{id: L1, kind: light, at: [1, 1], below: 0}]
acoustics: {noise_dBA: 35, reverberation_s: 0.5}
rules: {smoke-detector: {required: 1.0, reason: asked for}}
"""


def reviewed(*edits: tuple[str, str]) -> Review:
    text = ROOM
    for before, after in edits:
        assert before in text
        text = text.replace(before, after)
    return review(build(read_spec_text(text)))


@pytest.fixture(scope="module")
def old() -> Review:
    return reviewed()


def texts(old: Review, *edits: tuple[str, str]) -> list[ChangeText]:
    return [row(change, Locale("m")) for change in changes(old, reviewed(*edits))]


@pytest.mark.parametrize(
    ("edit", "expected"),
    [
        (("height: 2.2,", "height: 2.195,"), ("array", "A1", "height", "2.20 m", "2.195 m")),
        (
            ("at: [3, 2], height", "at: [3.1, 2], height"),
            ("array", "A1", "position on plan", "3.00 m, 2.00 m", "3.10 m, 2.00 m"),
        ),
        (("ceiling: 2.8", "ceiling: 2.9"), ("room", "R", "ceiling", "2.80 m", "2.90 m")),
        (("north: 80", "north: 75"), ("room", "R", "north", "80°", "75°")),
        ((", north: 80", ""), ("room", "R", "north", "80°", "not given")),
        (("noise_dBA: 35", "noise_dBA: 40"), ("room", "R", "noise", "35 dB(A)", "40 dB(A)")),
        (("reverberation_s: 0.5", "reverberation_s: 0.8"), ("room", "R", "reverberation", "0.5 s", "0.8 s")),
        (
            ("required: 1.0", "required: 1.2"),
            ("rule", "Clear of a smoke detector", "rule", "1.00 m required", "1.20 m required"),
        ),
        (("[20, 65]", "[20, 66]"), ("profile", "p", "bands", "one 20–65°", "one 20–66°")),
        (
            ("at: [1, 1]", "at: [1.0006, 1]"),
            ("device", "L1", "position on plan", "1.00 m, 1.00 m", "1.001 m, 1.00 m"),
        ),
        (
            ("height: 2.2,", "height: 2.2006,"),
            ("array", "A1", "height", "2.20 m", "2.201 m"),
        ),
        (
            ("id: S1, at: [1.6, 2]", "id: S1, at: [1.6, 2], sway: 0.1"),
            ("talker", "S1", "lean", "0.10 m (overtable default)", "0.10 m"),
        ),
    ],
)
def test_a_change_names_the_thing_the_field_and_both_values(
    old: Review, edit: tuple[str, str], expected: tuple[str, ...]
) -> None:
    assert expected in [(t.kind, t.id, t.what, t.before, t.after) for t in texts(old, edit)]


def test_values_that_read_alike_say_how_far_they_are_apart() -> None:
    before = reviewed(("height: 2.2,", "height: 2.2004,"))
    [text] = texts(before, ("height: 2.2,", "height: 2.1996,"))
    assert (text.before, text.after) == ("2.20 m", "2.20 m (by up to 0.8 mm)")
    turned = reviewed(("{id: A1,", "{id: A1, turn: 10,"))
    [turn] = texts(turned, ("{id: A1,", "{id: A1, turn: 10.001,"))
    assert (turn.before, turn.after) == ("10°", "10.001°")


def test_a_clearance_that_flips_says_both_measures_with_what_is_required(old: Review) -> None:
    [light] = [t for t in texts(old, ("at: [1, 1], below", "at: [3, 2], below")) if "light" in t.what]
    assert light.named == "A1 to L1: Clear of a light fitting"
    assert light.before.startswith("clear: ")
    assert ", 150 mm required" in light.before
    assert not light.after.startswith("clear")
    assert ", 150 mm required" in light.after


def test_added_and_removed_things_are_summed_up(old: Review) -> None:
    found = {t.id: t for t in texts(old, ("id: L1", "id: L2"))}
    assert (found["L2"].what, found["L2"].before, found["L2"].after) == (
        "added",
        "–",
        "1.00 m, 1.00 m; light",
    )
    assert (found["L1"].what, found["L1"].after) == ("removed", "–")


def test_json_has_the_field_by_name_beside_its_words(old: Review) -> None:
    found = changes_object(old, reviewed(("revision: A", "revision: B"), ("height: 2.2,", "height: 2.35,")))
    assert found["format"] == "overtable/changes/1"
    assert (found["old"]["revision"], found["new"]["revision"]) == ("A", "B")
    [height] = [change for change in found["changes"] if change["kind"] == "array"]
    assert (height["field"], height["what"], height["before"], height["after"]) == (
        *("height", "height", "2.20 m", "2.35 m"),
    )
    assert found["cautions"]


def test_what_to_do_with_one_revision_two_rooms_or_no_change(old: Review) -> None:
    assert none(Locale("m")) == "No changes."
    assert same_revision(old.scene) == (
        "Both files are revision A. Change `document: revision` in the new one."
    )
    other = reviewed(("name: R", "name: Q"), ("size: [6, 4]", "size: [7, 4]")).scene
    assert two_rooms(old.scene, other) == (
        "These look like two different rooms (R and Q: name and outline differ). Comparing anyway."
    )
    assert two_rooms(old.scene, replace(other, name="R")) is None


def test_a_talker_stands_in_the_words_of_every_other_output() -> None:
    old, new = reviewed(), reviewed(("at: [4.4, 2]}", "at: [5.9, 2]}"))
    texts = [
        row(change, Locale("m"))
        for change in changes(old, new)
        if (change.id, change.what) == ("S2", "state")
    ]
    assert [(text.before, text.after) for text in texts] == [("covered", "not covered")]
