"""On a lattice a pendant's cable and a flush body's outline keep from the tees what `check` asks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scenes.place.search import place_scene
from scenes.place.snap import snap_placement
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: Under a Grid
units: m
room: {size: [6.0, 4.2], ceiling: 2.7, grid: {pitch: [0.6, 0.6], origin: [0.1, 0.2]}}
people: {seated: {mouth: 1.2, sway: 0.05}}
seats: [{id: S1, at: [2.4, 1.9]}, {id: S2, at: [3.8, 2.3]}]
profiles:
  p: {mount: MOUNT, body: {size: [0.5, 0.6, 0.06]}, bands: {wide: [15, 80]}, reach: [0.5, 3.5]}
arrays: [{id: A1, profile: p, turn: 90}]
"""


def snapped(mount: str, to: float | str, more: str = ""):
    scene = build(read_spec_text(ROOM.replace("MOUNT", mount) + more, "room.yaml"))
    return snap_placement(place_scene(scene, advise=False), to)  # type: ignore[arg-type]


def to_tee_m(at: tuple[float, float]) -> list[float]:
    """From a point to the middle of the nearest tee along x and along y, of this room's grid."""
    share = (np.array(at) - (0.1, 0.2)) / 0.6 % 1
    return [float(way) for way in np.minimum(share, 1 - share) * 0.6]


def test_of_a_pendant_the_cable_misses_the_tees_however_large_its_body():
    found = snapped("pendant", 0.05)
    # the lattice has 12 columns to a tile: on the tee itself and no other, for the next is 50 mm off it
    assert found.snapped["A1"].left_out["tee"] < 0.2 * found.snapped["A1"].judged
    assert min(to_tee_m(found.arrays[0].at_m)) >= 0.03 - 1e-9
    assert [row.state for row in review(found.scene).clearances if row.rule == "grid-tee"] == ["clear"]


def test_of_a_flush_array_the_body_misses_the_tees():
    # turned by 90° it is 0.6 m along x and 0.5 m along y: along x it fills a tile, along y 50 mm are left each way
    found = snapped("flush", 0.05)
    x, y = to_tee_m(found.arrays[0].at_m)
    assert x == pytest.approx(0.3, abs=1e-9)
    assert y >= 0.25 - 1e-9
    assert [row.state for row in review(found.scene).clearances if row.rule == "grid-tee"] == ["clear"]
    tile = snapped("flush", "tile")
    assert to_tee_m(tile.arrays[0].at_m) == pytest.approx([0.3, 0.3], abs=1e-9)


def test_what_the_spec_asks_of_tees_is_what_is_kept():
    wider = snapped("pendant", 0.05, 'rules: {grid-tee: {required: 0.2 m, reason: "a trial"}}\n')
    assert min(to_tee_m(wider.arrays[0].at_m)) >= 0.2 - 1e-9
    off = snapped("pendant", 0.05, 'rules: {grid-tee: {use: false, reason: "a trial"}}\n')
    assert "tee" not in off.snapped["A1"].left_out


def test_what_is_to_spare_of_every_rule_is_kept_from_tees_too():
    """Found by a designer: an array exactly at what is asked of a tee, said to have 20 mm to spare."""
    scene = build(read_spec_text(ROOM.replace("MOUNT", "pendant"), "room.yaml"))
    free = place_scene(scene, advise=False)
    found = snap_placement(replace(free, kept=replace(free.kept, spare_m=0.02)), 0.05)
    assert min(to_tee_m(found.arrays[0].at_m)) >= 0.05 - 1e-9
    assert found.snapped["A1"].lacks is None
    # more than any place has: less is kept, and said
    none = snap_placement(replace(free, kept=replace(free.kept, spare_m=0.28)), 0.05)
    assert none.snapped["A1"].lacks == "spare"
    assert min(to_tee_m(none.arrays[0].at_m)) >= 0.03 - 1e-9
