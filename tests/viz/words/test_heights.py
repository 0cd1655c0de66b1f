"""Which heights work, in words."""

from __future__ import annotations

from dataclasses import replace

from scenes.findings.heights import Unkept
from scenes.findings.review import Limit
from scenes.review.heights import hanging_heights
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from viz.words.heights import allowed, notes, row_text, sentence, unkept
from viz.words.locale import Locale

METRIC = Locale("m")

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
people: {seated: {mouth: [1.07, 1.24]}}
seats: [{around: T1}]
profiles:
  p:
    mount: pendant
    body: {diameter: 0.2, height: 0.06}
    centre: 0.02
    bands: {one: [20, 55], two: [40, 80]}
    reach: [0.8, 3]
  f: {mount: flush, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 55]}, reach: [0.8, 3]}
arrays:
"""


def scene(arrays: str):
    return build(read_spec_text(ROOM + arrays))


def test_each_band_says_from_where_to_where_and_why_not():
    (pendant,) = hanging_heights(scene("  - {id: A1, profile: p, at: [3, 2]}\n"))
    low_room = (ROOM + "  - {id: A1, profile: f, at: [3, 2]}\n").replace("2.8", "2.1")
    (flush,) = hanging_heights(build(read_spec_text(low_room)))
    one = pendant.bands[0]
    told = sentence(pendant, one, METRIC)
    low, high = one.covered_interval_m
    assert told.startswith(
        f"one, rules aside: {low:.2f} m to {high:.2f} m covers everyone ({one.limited_by[0]} limits below, "
    )
    assert told.endswith(f" Upright: {one.interval_m[0]:.2f} m to {one.interval_m[1]:.2f} m.")
    (only,) = flush.bands
    assert only.covered_interval_m == (2.1, 2.1)
    assert sentence(flush, only, METRIC) == METRIC.say("heights.covers flush", band="one")
    # leaning 0.5 m nobody fits, upright everybody does: both are told, with who disagrees
    swaying = build(
        read_spec_text(
            (ROOM + "  - {id: A1, profile: p, at: [3, 2]}\n").replace(
                "[1.07, 1.24]", "[1.07, 1.24], sway: 0.5"
            )
        )
    )
    (row,) = hanging_heights(swaying)
    band = row.bands[0]
    assert band.covered_interval_m is None
    assert band.interval_m is not None
    said = sentence(row, band, METRIC)
    assert said.startswith("one: no height covers everyone: ")
    assert set(band.conflict) <= set(row.heads)
    assert all(id in said for id in band.conflict)
    assert "Upright: " in said


def test_allowed_heights_say_where_they_cover_only_upright_and_the_best_what_it_does_not_keep():
    room = scene("  - {id: A1, profile: p, at: [3, 2]}\n")
    (row,) = hanging_heights(room)
    band = row.bands[0]
    assert band.allowed_covered_m
    assert band.allowed_covered_m != band.allowed_m
    covered = METRIC.within(*band.allowed_covered_m[0])
    assert f"Leaning included, everyone is covered at {covered}." in allowed(band, METRIC)
    assert f"leaning included: {covered}" in notes(row, band, room, chosen=True)
    upright = replace(band, allowed_covered_m=())
    assert "only while nobody leans" in allowed(upright, METRIC)
    near = Unkept((Limit("rule", "walls", "wall-gap"),), True, 2.2, 2.7, 0.17, 0.15)
    [told] = [
        line for line in notes(row, replace(band, unkept=near), room, chosen=True) if "to hang by" in line
    ]
    [why] = unkept(near, room)
    assert told == why
    assert why.startswith(
        "2.70 m has a larger margin (+17 cm), but there is less than 100 mm to hang by and "
    )
    # one height is best in every text, and its margin is the one beside it
    said = row_text(replace(band, unkept=near), METRIC)
    assert (said.best, said.margin) == ("2.20 m", "+15 cm")
    alone = replace(near, instead_m=None, instead_margin_m=None)
    assert unkept(alone, room)[0].startswith("At 2.70 m there is less than 100 mm to hang by")
    assert row_text(replace(band, unkept=alone), METRIC).best == METRIC.height(band.offered_m)
