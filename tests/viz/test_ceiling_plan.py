"""The ceiling plan negotiates: whose edge is kept out of where, what rules ask at each device, notes, tables."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
import shapely

from geometry.clearance import Hanging
from scenes.dossier import Dossier
from scenes.room.build import build
from scenes.rules.keep_outs import keep_outs
from scenes.spec.reading import read_spec_text
from tests.viz.drawn import dossier_of, drawn
from viz.sheets import plan_clearances
from viz.words import sheet_tables
from viz.words.locale import Locale


def letters(room: str, paper: str = "A3", sheet: int = 1) -> list[str]:
    return [item.text for item in drawn(room, paper).sheets[sheet].drawn.letters]


def test_a_keep_out_is_drawn_for_the_edge_of_what_hangs() -> None:
    """What a disc's middle may not enter, less the disc: the thing and what the rule asks round it."""
    light = shapely.box(1.0, 1.0, 2.2, 1.3)
    for hanging in (Hanging(radius_m=0.23), Hanging(size_m=(1.0, 0.1), turn_deg=0.0)):
        around = light.buffer(0.15, quad_segs=64)
        if hanging.radius_m:
            centre = around.buffer(hanging.radius_m, quad_segs=64)
        else:
            (x0, y0, x1, y1), (a, b) = around.bounds, (0.5, 0.05)
            corners = [(x, y) for x in (-a, a) for y in (-b, b)]
            centre = shapely.convex_hull(
                shapely.union_all([shapely.affinity.translate(around, *corner) for corner in corners])
            )
            assert (x1 - x0, y1 - y0) == pytest.approx((1.5, 0.6))
        assert plan_clearances.drawn_in(centre, hanging).symmetric_difference(around).area < 2e-4
    tiny = shapely.box(0, 0, 0.1, 0.1)
    assert plan_clearances.drawn_in(tiny, Hanging(radius_m=0.23)) is tiny
    assert plan_clearances.drawn_in(tiny, None) is tiny


def test_herons_keep_outs_are_told_by_whose_edge_they_are_of() -> None:
    dossier = dossier_of("heron")
    found = plan_clearances.edges(dossier.review, dossier.keep_outs)
    assert set(found) == {"body", "cable"}
    # 500 mm round the detector, asked of the cable at the ceiling: the detector is 0.1 m across
    detector = dossier.scene.overhead[[d.id for d in dossier.scene.overhead].index("SD1")]
    south = found["cable"].intersection(shapely.LineString([detector.at_m, (detector.at_m[0], 3.2)]))
    assert south.length == pytest.approx(0.5 + detector.size_m[0] / 2, abs=0.01)
    assert keep_outs(dossier.scene, dossier.scene.arrays[0], 2.18)


def test_figures_stand_at_every_neighbour_and_at_what_keeps_out() -> None:
    told = letters("heron")
    assert told.count("500 / 457 R2") == 3
    assert told.count("150 R8") == 4
    assert {"500 R4", "900 R5", "500 R6"} <= set(told)
    assert "803 / 500 R9" in letters("weir")
    small = letters("weir", "A4")
    assert not any(
        text.endswith("R2") and "/" in text for text in small
    )  # at 1:100 there is no room for them
    assert "a / b R" in letters("weir")
    assert "a / b R" not in small
    dossier = dossier_of("weir")
    asked = plan_clearances.asked_of(dossier.review, dossier.keep_outs)
    for thing, one in asked.items():
        spare = min(
            row.actual_m - row.required_m
            for row in dossier.review.clearances
            if row.against == thing and row.required_m is not None and row.actual_m is not None
        )
        assert one.near == (spare < plan_clearances.NEAR_M), thing


def test_a_line_shows_a_distance_only_where_it_is_as_long() -> None:
    layer = [name for name, _ in drawn("weir", "A3").sheets[1].drawn.shapes].count("T-MICR-CLNC")
    assert layer  # to the projector; sprinklers are measured down from the deflector
    heron = [name for name, _ in drawn("heron", "A3").sheets[1].drawn.shapes]
    assert "T-MICR-CLNC" not in heron


def test_what_is_not_judged_has_a_cloud_and_a_numbered_note() -> None:
    told = letters("loft")
    assert told.count("note 1") == 5
    assert any(text.startswith("1 A1 to sprinklers SP1") for text in told)
    review = dossier_of("loft").review
    assert set(plan_clearances.keys(review)) == {f"SP{n}" for n in range(1, 6)}
    assert plan_clearances.keys(dossier_of("heron").review) == {}
    assert not any(text.startswith("note") for text in letters("heron"))


UNJUDGED = """\
overtable: 1
name: Alder Room
units: m
code: uk
room: {size: [6, 4], ceiling: {kind: suspended, height: 2.8}}
seats: [{id: S1, at: [2, 2]}]
profiles:
  reed: {mount: pendant, body: {diameter: 0.46, height: 0.1}, bands: {mid: [18, 64]}, reach: [0.5, 3.2]}
arrays:
  - {id: A1, profile: reed, at: [1.5, 2.0], height: 2.62, band: mid}
  - {id: A2, profile: reed, at: [4.0, 2.0], height: 2.62, band: mid}
overhead:
  - {id: SP1, kind: sprinkler, at: [5.5, 3.5], below: 0.05, spray: standard}
  - {id: SP2, kind: sprinkler, at: [4.5, 0.5], below: 0.05, spray: standard}
"""


def test_what_nobody_judged_is_no_area_and_one_note_for_all_arrays() -> None:
    dossier = Dossier.of(build(read_spec_text(UNJUDGED)))
    assert {row.rule for row in dossier.review.unjudged} == {"sprinkler-spray"}
    assert "sprinkler-spray" in {one.rule for some in dossier.keep_outs.values() for one in some}
    assert plan_clearances.edges(dossier.review, dossier.keep_outs) == {}
    ((note, things),) = plan_clearances.keyed(dossier.review)
    assert set(things) == {"SP1", "SP2"}
    assert "A1" in note
    assert "A2" in note
    # of what has no limit the nearest stands in the table: A2 and SP2 are 1.58 m from middle to middle on plan
    nearest = min(row.actual_m or math.inf for row in dossier.review.unjudged)
    (row,) = [row for row in sheet_tables.rules(dossier.review).rows if row[0] == "R2"]
    assert row[2:4] == ("SP2 +1", Locale.of(dossier.scene).dimension(nearest))


STEPPED = (
    UNJUDGED.replace("code: uk\n", "")
    .replace(
        "height: 2.8}}",
        "height: 2.8, parts: [{id: BH1, at: [3.2, 2.0], size: [2.0, 3.0], kind: hard, height: 2.72}]}}",
    )
    .replace("{id: SP2, kind: sprinkler, at: [4.5, 0.5]", "{id: SP2, kind: sprinkler, at: [1.9, 2.4]")
)


def test_a_step_of_the_ceiling_cuts_no_strip_out_of_what_a_body_keeps_off() -> None:
    """Between the pieces under either ceiling there is no edge: 0.3 m of the body's radius were left out at each."""
    dossier = Dossier.of(build(read_spec_text(STEPPED)))
    body = plan_clearances.edges(dossier.review, dossier.keep_outs)["body"]
    # BH1 begins at x = 2.2, 0.3 m from SP2
    across = shapely.LineString([(1.9, 2.4), (2.3, 2.4)])
    assert body.intersection(across).length == pytest.approx(across.length, abs=1e-4)


@pytest.mark.parametrize("room", ["heron", "ferry"])
def test_the_tables_have_the_reviews_worst_of_each_rule_and_the_devices_places(room: str) -> None:
    dossier = dossier_of(room)
    scene, locale = dossier.scene, Locale.of(dossier.scene)
    rules = sheet_tables.rules(dossier.review)
    numbers = [int(row[0][1:]) for row in rules.rows]
    assert numbers == sorted({int(one.number[1:]) for one in dossier.review.clearances})
    devices = sheet_tables.devices(scene)
    saving = [one for one in scene.overhead if one.kind in sheet_tables.LIFE_SAFETY]
    others = [one for one in scene.overhead if one not in saving]
    assert saving
    assert [row[0] for row in devices.rows] == [one.id for one in (*saving, *others)]
    for row, one in zip(devices.rows, (*saving, *others), strict=True):
        assert row[2:] == tuple(locale.dimension(value) for value in (*one.at_m, one.low_m))
    told = letters(room, "A3" if room == "heron" else "Tabloid")
    assert {rules.title, devices.title, *(row[0] for row in rules.rows)} <= set(told)


def test_the_ceiling_says_its_kind_height_and_void() -> None:
    assert {"ceiling suspended, 600 × 600", "height 2750, void 600"} <= set(letters("heron"))
    assert {"ceiling open", "height 3400"} <= set(letters("loft"))


def test_every_column_and_row_of_tiles_has_its_square() -> None:
    for paper in ("A4", "A3"):
        told = letters("weir", paper)
        assert set("ABCDEFGHIJKLMNO") <= set(told), paper
    squares = [
        item for item in drawn("weir", "A4").sheets[1].drawn.letters if item.text in set("ABCDEFGHIJKLMNO")
    ]
    top = Counter(round(item.y_mm, 2) for item in squares).most_common(1)[0][0]
    row = sorted(
        np.mean([item.box[0], item.box[2]]) for item in squares if math.isclose(item.y_mm, top, abs_tol=0.1)
    )
    assert np.diff(row).min() >= 4.2


def test_a_wide_door_has_two_leaves() -> None:
    from scenes.room.build import build
    from scenes.spec.reading import read_spec_text
    from viz.sheets.draft import Draft, View
    from viz.sheets.layers import layers
    from viz.sheets.plan_room import openings

    text = (
        "overtable: 1\nname: R\nunits: m\nroom: {size: [6, 4], ceiling: 2.7, openings: [{id: D1, kind: door, wall: 0,"
        " offset: 1, width: WIDE, height: 2.1}]}\nseats: [{id: S, at: [3, 2]}]\n"
    )
    for wide, leaves in ((0.9, [0.9]), (1.6, [0.8, 0.8])):
        draft = Draft(Locale("m"), layers())
        openings(View(draft, "Floor plan", 50.0), build(read_spec_text(text.replace("WIDE", str(wide)))))
        arcs = draft.doc.modelspace().query("ARC")
        assert [arc.dxf.radius / 1000 for arc in arcs] == pytest.approx(leaves)
        assert all((arc.dxf.end_angle - arc.dxf.start_angle) % 360 == pytest.approx(90) for arc in arcs)
