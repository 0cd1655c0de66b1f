"""What differs between two revisions of a room."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from scenes.findings.changes import Quantity
from scenes.review.changes import changes, farthest_moved_m, other_room
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


def edited(text, *edits):
    for before, after in edits:
        assert before in text
        text = text.replace(before, after)
    return reviewed(text)


def values(quantities):
    """The values alone, each as it is compared: one, or those of a whole thing."""
    if quantities is None:
        return None
    found = tuple(quantity.value for quantity in quantities)
    return found[0] if len(found) == 1 else found


def found(old, *edits):
    return {
        (c.kind, c.id, c.what): (values(c.before), values(c.after))
        for c in changes(old, edited(ROOM, *edits))
    }


def test_the_same_room_has_no_changes(old):
    assert changes(old, reviewed()) == ()
    assert changes(old, reviewed(ROOM.replace("units: m", "units: m  # a comment"))) == ()


def test_a_moved_array_is_a_change_of_what_moved(old):
    assert found(old, ("height: 2.2", "height: 2.3")) == {("array", "A1", "height"): ((2.2,), (2.3,))}
    moved = found(old, ("at: [3, 2], height", "at: [3.1, 2], height"))
    assert moved["array", "A1", "place"] == ((3.0, 2.0), (3.1, 2.0))


def test_less_than_half_a_millimetre_is_no_change(old):
    assert found(old, ("height: 2.2", "height: 2.2004")) == {}


def test_a_small_change_says_how_far_apart_the_values_are(old):
    [change] = changes(old, edited(ROOM, ("at: [1, 1]", "at: [1.003, 1]")))
    assert change.apart == pytest.approx(0.003)
    [turned] = changes(reviewed(EVERYTHING), edited(EVERYTHING, ("north: 80", "north: 80.01")))
    assert (turned.what, turned.apart) == ("north", pytest.approx(0.01))


def test_added_and_removed_things_have_the_place_where_they_are(old):
    new = edited(ROOM, ("{id: S2, at: [4.4, 2]}", "{id: S3, at: [4.4, 2.1]}"), ("id: L1", "id: L2"))
    there = {(c.kind, c.id): (c.what, c.at_m) for c in changes(old, new)}
    assert there["head", "S3"] == ("added", (4.4, 2.1))
    assert there["head", "S2"] == ("removed", (4.4, 2.0))
    assert there["device", "L2"][0] == "added"
    assert there["device", "L1"][0] == "removed"


def test_a_head_that_drops_out_changes_the_verdict_and_its_state(old):
    changed = found(old, ("at: [4.4, 2]", "at: [5.9, 2]"))
    assert changed["verdict", "R", "verdict"] == ("pass", "fail")
    assert changed["head", "S2", "state"] == ("covered", "missed")


def test_a_clearance_that_flips_carries_both_judgements(old):
    new = edited(ROOM, ("at: [1, 1]", "at: [3, 2]"))
    flipped = [c.clearances for c in changes(old, new) if c.kind == "clearance"]
    pairs = {now.rule: (was, now) for was, now in flipped}
    was, now = pairs["light"]
    assert (was.state, now.against) == ("clear", "L1")
    assert now.state != "clear"
    assert was.actual_m > was.required_m
    assert now.actual_m < now.required_m


def test_the_room_is_compared_too(old):
    assert found(old, ("ceiling: 2.8", "ceiling: 2.9"))["room", "R", "ceiling"] == ((2.8,), (2.9,))
    assert farthest_moved_m(old, edited(ROOM, ("height: 2.2", "height: 2.35"))) == pytest.approx(0.15)


def test_furniture_cameras_and_displays_are_compared_too(old):
    seen = (
        "cameras: [{id: CAM1, at: [5.9, 2, 2]}]\n"
        "displays: [{id: DS1, at: [5.95, 2, 1.3], width: 1.2, height: 0.7, facing: 180}]\n"
    )
    changed = found(
        old,
        ("size: [2.4, 1.2], at: [3, 2]", "size: [2.4, 1.0], at: [3, 2.1]"),
        ("overhead:", seen + "overhead:"),
    )
    assert changed == {
        ("table", "T1", "place"): ((3.0, 2.0), (3.0, 2.1)),
        ("table", "T1", "size"): ((2.4, 1.2), (2.4, 1.0)),
        ("camera", "CAM1", "added"): (None, ((5.9, 2.0, 2.0), "talkers")),
        ("display", "DS1", "added"): (None, ((5.95, 2.0, 1.3), (1.2, 0.7))),
    }


EVERYTHING = """\
overtable: 1
name: R
project: P
units: m
criteria: {distance: [0.9, 2.5], off_centre: 12, direct_to_reverberant: -6, over_noise: 12, noise: 38, index: 0.5}
wishes: {over: T1, row: true}
room:
  size: [6, 4]
  ceiling:
    height: 2.8
    parts: [{id: BH1, at: [1, 3], size: [1, 1], height: 2.5, structure: 3, grid: {pitch: [0.5, 0.5]}}]
  structure: 3.2
  grid: {pitch: [0.6, 0.6], origin: [0, 0]}
  north: 80
  openings: [{id: D1, kind: door, wall: 0, offset: 0.4, width: 0.9, height: 2.1}]
tables: [{id: T1, shape: boat, size: [2.4, 1.2], at: [3, 2]}]
standing: [{id: W, along: [[1.4, 1], [1.4, 3]], step: 1}]
keep_away: [{id: Q1, outline: [[5, 0], [6, 0], [6, 1]], reason: corridor}]
areas: [{id: Z1, at: [3, 3], size: [1, 0.6], holes: [[[2.8, 2.9], [3.2, 2.9], [3, 3.1]]]}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65], one otherwise: [20, 65]},
      reach: [0.8, 3], mass: 2, directivity_dB: 3, points: 2, spread: 0.1, cutout: [0.05]}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
overhead: [{id: SP1, kind: sprinkler, at: [1, 1], below: 0.05, stem: 0.1, required: 0.4}]
obstacles: [{id: B1, at: [5, 3.5], size: [0.4, 0.3], turn: 10}, {id: B2, at: [5, 0.5], size: [0.4]}]
cameras: [{id: CAM1, at: [5.9, 2, 2], aim: [3, 2, 1]}]
displays: [{id: DS1, at: [5.95, 2, 1.3], width: 1.2, height: 0.7, facing: 180}]
acoustics: {effort: normal, noise_dBA: 35, reverberation_s: 0.5}
rules: {smoke-detector: {required: 1.0, reason: asked for}}
suspension:
  ceiling: suspended
  box: {fixing: structure, size: [0.2, 0.2, 0.1]}
  swing: {angle_deg: 20, source: a letter}
model:
  files: [{file: arch.ifc, sha256: "%s"}]
  space: "0BTBFw6f90Nfh9rP1dlXr2"
  origin_m: [0, 0, 0]
  unsure: {room.ceiling: ceiling-kind}
""" % ("0" * 64)
NOT_TOLD = {
    "Scene.document": "the title block says itself which revision it is",
    "Scene.number": "titles carry it: what the room is called, not what is in it",
    "Scene.storey": "likewise",
    "Scene.source": "the file's name and hash, not the room",
    "Scene.origin": "the model it was read from, and its axes: what is in the room is told",
    "Scene.units": "the units a file is written in: the lengths are the same",
    "Given.survey": "whom a surveyed range stands for; the range is told",
    "Scene.seated": "whom shares of those who sit are of; the range is told",
    "Scene.standing": "whom shares of those who stand are of; the range is told",
    "Head.own_mouth": "whose range it is; the range is told",
    "Scene.profiles": "those in use are told, as the arrays have them",
    "Array.given_as": "height or drop: the place is the same",
    "Head.turns_deg": "pictures do not show it, figures of sound do",
    "Acoustics.noise_dB": "octaves: the noise is told in dB(A)",
    "Acoustics.noise_as": "the curve's name: the noise is told in dB(A)",
    "Acoustics.reverberation_by_octave_s": "octaves: the one figure is told",
    "Acoustics.directivity_by_octave": "octaves: the one figure is told",
    "Acoustics.surfaces": "none here: their area is told",
    "Head.facing_deg": "follows from table and display; pictures only",
    "Head.group": "part of the id",
    "Head.table": "part of the id",
    "Head.path_m": "where the stretch is sampled; the stretch is told",
    "Device.low_m": "follows from the ceiling and from below",
    "Room.whole": "the same room",
    "Scene.layout": "which of the layouts is looked at",
    "Scene.layouts": "the name of each stands behind the ids of what is in it",
    "Scene.floor": "the floor as one area, for a map of it: it follows from the outline and the people",
    "Box.only": "follows from the layout that a thing stands in",
    "Cylinder.only": "follows from the layout that a thing stands in",
    "Device.id": "another id is another thing, which is told as added and removed",
    "Camera.id": "likewise",
    "Display.id": "likewise",
    "Obstacle.id": "likewise",
    "Opening.id": "likewise",
    "Table.id": "likewise",
    "Array.id": "likewise",
    "Head.id": "likewise",
    "Area.id": "likewise",
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
        differ = changes(judged, replace(judged, scene=scene))
        assert bool(differ) != (what in NOT_TOLD), (what, differ)
        # and so that a difference can be shown: another value, or how far apart two are
        assert all(change.before != change.after or change.apart for change in differ), differ
    assert set(NOT_TOLD) <= walked
    assert len(walked) > 80


def test_openings_acoustics_and_rules_are_quantities_with_a_unit():
    edits = {
        ("width: 0.9", "width: 1"): ("opening", "D1", "size", Quantity((1.0, 2.1), "length")),
        ("noise_dBA: 35", "noise_dBA: 40"): ("room", "R", "noise", Quantity(40.0, "dBA")),
        ("reverberation_s: 0.5", "reverberation_s: 0.8"): (
            *("room", "R", "reverberation"),
            Quantity(0.8, "seconds"),
        ),
        ("required: 1.0", "required: 1.2"): ("rule", "smoke-detector", "rule", Quantity(1.2, "required")),
    }
    before = reviewed(EVERYTHING)
    for edit, expected in edits.items():
        differ = changes(before, edited(EVERYTHING, edit))
        assert expected in [(c.kind, c.id, c.what, *(c.after or ())) for c in differ]
    door = next(c for c in changes(before, edited(EVERYTHING, ("width: 0.9", "width: 1"))))
    assert door.at_m == pytest.approx((0.9, 0))  # the middle of an opening from 0.4 to 1.4 m


def test_two_rooms_that_share_neither_name_nor_outline_are_other_rooms(old):
    one = old.scene
    other = edited(ROOM, ("name: R", "name: Q"), ("size: [6, 4]", "size: [7, 4]")).scene
    assert other_room(one, other)
    assert not other_room(one, replace(one, name="Q"))
    assert not other_room(one, replace(other, name="R"))
