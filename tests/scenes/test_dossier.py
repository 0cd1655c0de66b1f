"""The dossier: everything once, and the same in every corner."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.dossier import Dossier
from scenes.room.build import build, read_scene
from scenes.spec.reading import read_spec_text
from viz.words import coverage, verdict

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
seats: [{around: T1}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [22, 68]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.3, band: one}]
overhead: [{id: SD, kind: smoke detector, at: [1, 1], below: 0.05}]
"""


@pytest.fixture(scope="module")
def dossier():
    return Dossier(build(read_spec_text(ROOM)))


def test_what_is_asked_twice_is_computed_once(dossier):
    for name in (
        "review",
        "heights",
        "schedule",
        "height_table",
        "placement",
        "regions",
        "keep_outs",
        "rooms_to_move",
    ):
        assert getattr(dossier, name) is getattr(dossier, name)


def test_every_corner_says_the_same(dossier):
    review, (row,) = dossier.review, dossier.schedule
    array = review.arrays[0]
    assert row.drop_m == pytest.approx(array.drop_m)
    assert row.underside_m == pytest.approx(array.underside_m)
    assert row.tolerance is array.tolerance
    heights = {band.name: band for band in dossier.heights[0].bands}["one"]
    assert heights.covered_interval_m == pytest.approx(array.covered_interval_m)
    today = dossier.height_table.arrays[0]
    first, *_ = verdict.at_height(dossier.scene, dossier.height_table, today, today.bands[0], today.own)
    assert first == coverage.sentence(review)
    assert dossier.placement.bound_m >= review.margin_m
    assert verdict.paragraph(review).startswith("Pass. All 8 talkers are covered.")
    assert min(room.distance_m for room in dossier.rooms_to_move["A1"]) >= review.tolerance_m - 1e-9


def test_drawings_hatch_what_devices_keep_free_not_what_arrays_keep_from_each_other(dossier):
    scene = dossier.scene
    first = scene.arrays[0]
    x, y = first.at_m
    other = replace(first, id="A9", at_m=(x + 0.9, y))
    two = Dossier(scene.with_arrays((first, other)))
    kinds = {one.kind for some in two.keep_outs.values() for one in some}
    assert "array" in kinds
    drawn = {tuple(map(tuple, outline)) for outline, _ in two.kept_out}
    for some in two.keep_outs.values():
        for one in some:
            assert (tuple(map(tuple, one.outline_m)) in drawn) == (one.kind != "array")


def test_cautions_apply_by_room(dossier):
    names = {caution.name for caution in dossier.cautions}
    assert {"load", "secondary support", "no sprinklers", "detectors"} <= names


@pytest.mark.parametrize("room", ["heron", "loft", "weir", "ferry"])
def test_the_demo_rooms_answer_every_question(room):
    from importlib.resources import as_file, files

    with as_file(files("scenes.rooms")) as folder:
        one = Dossier(read_scene(folder / f"{room}.yaml"))
    assert len(one.schedule) == len(one.scene.arrays)
    assert one.steps
    assert one.cautions
    assert [table.id for table in one.height_table.arrays] == [array.id for array in one.scene.arrays]
    assert set(one.regions) <= {array.id for array in one.scene.arrays}
