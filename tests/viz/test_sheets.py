"""Sheets: real dimensions of what the scene has, letters that never collide, one drawing in three formats."""

from __future__ import annotations

import io
import math
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from importlib.resources import files
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdf
import pytest

from geometry.band import footprint
from scenes.dossier import Dossier
from scenes.room.mouths import mouth_level_m
from scenes.room.provenance import Given
from tests.viz.drawn import dossier_of, drawn
from viz.sheets import DoesNotFit, figure, lettering, sheets, usual_paper
from viz.sheets.chains import spread
from viz.sheets.draft import escaped, overlap
from viz.sheets.drawing import UNDATED, above_m
from viz.sheets.layers import LayersMistake, layers
from viz.words import coverage
from viz.words.locale import Locale
from viz.words.things import kind_name

ROOMS = ("heron", "weir", "loft", "ferry")
FRAME_MM = 10.0
FOOT = 0.3048

# What a person with the spec file in hand would look for: (sheet, what, metres), from the numbers in the file.
EXPECTED = {
    "heron": [
        ("Floor plan", "room along x", 6.6),
        ("Floor plan", "room along y", 4.5),
        ("Floor plan", "T1 near edge to T1 far edge", 2.8),
        ("Floor plan", "T1 near edge to T1 far edge", 1.2),
        ("Reflected ceiling plan", "wall to A1", 3.3),
        ("Reflected ceiling plan", "wall to A1", 2.25),
        ("Reflected ceiling plan", "A1 to grid line near A1", 0.3),  # 6 × 0.6 - 3.3
        ("Reflected ceiling plan", "grid line near A1 to A1", 0.3),  # 2.25 - (0.15 + 3 × 0.6)
        ("Long section A-A through A1", "finished floor to T1 top", 0.74),
        ("Long section A-A through A1", "T1 top to lowest seated mouth", 1.07 - 0.74),
        ("Long section A-A through A1", "lowest seated mouth to highest seated mouth", 1.24 - 1.07),
        ("Long section A-A through A1", "highest seated mouth to A1 underside", 2.18 - 0.02 - 1.24),
        ("Long section A-A through A1", "A1 underside to finished ceiling", 2.75 - 2.16),
        ("Long section A-A through A1", "finished ceiling to structure", 3.35 - 2.75),
        ("Long section A-A through A1", "A1 underside above floor", 2.18 - 0.04 / 2),
        ("Long section A-A through A1", "A1 acoustic centre above floor", 2.18),
        ("Cross section B-B through A1", "A1 drop", 2.75 - 2.18),
        ("Cross section B-B through A1", "wall to A1", 2.25),
    ],
    "weir": [
        ("Floor plan", "room along x", 8.1),
        ("Floor plan", "T1 near edge to T1 far edge", 4.2),
        ("Reflected ceiling plan", "wall to A1", 3.45),
        ("Reflected ceiling plan", "A1 to wall", 8.1 - 3.45),
        ("Reflected ceiling plan", "grid line near A1 to A1", 0.3),  # 3.45 - (0.15 + 5 × 0.6)
        ("Reflected ceiling plan", "A1 to grid line near A1", 0.3),
        ("Long section A-A through A1", "A1 drop", 0.7),
        ("Long section A-A through A1", "finished ceiling to structure", 0.6),
    ],
    "loft": [
        ("Floor plan", "room along x", 8.4),
        ("Floor plan", "room along y", 5.8),
        ("Floor plan", "T1 near edge to T1 far edge", 1.4),
        ("Reflected ceiling plan", "wall to A1", 3.9),
        ("Reflected ceiling plan", "wall to A1", 2.9),
        ("Long section A-A through A1", "A1 acoustic centre above floor", 2.1),
        ("Long section A-A through A1", "A1 drop", 1.3),
    ],
    "ferry": [
        ("Floor plan", "room along x", 24 * FOOT),
        ("Floor plan", "T1 near edge to T1 far edge", 4 * FOOT),
        ("Reflected ceiling plan", "wall to A1", 12 * FOOT),
        ("Reflected ceiling plan", "wall to A1", 8 * FOOT),
        ("Reflected ceiling plan", "grid line near A1 to A1", 1 * FOOT),
        ("Long section A-A through A1", "finished floor to T1 top", 29 / 12 * FOOT),
        ("Long section A-A through A1", "A1 underside above floor", 9 * FOOT),
    ],
}


@cache
def document(room: str, paper: str = "A4"):
    return ezdxf.read(io.StringIO(drawn(room, paper).dxf))


def measured(doc):
    """(words, metres) of every DIMENSION entity of a file."""
    per_m = {1: 1 / 0.0254, 4: 1000.0}[doc.header["$INSUNITS"]]
    return [
        (entity.get_xdata("OVERTABLE")[0].value, entity.get_measurement() / per_m)
        for entity in doc.modelspace().query("DIMENSION")
    ]


@pytest.mark.parametrize(("room", "arrows"), [("heron", 2), ("ferry", 0)])
def test_north_is_drawn_where_the_spec_gives_it_and_nowhere_else(room, arrows):
    sheet_layouts = [document(room).layouts.get(name) for name in document(room).layout_names_in_taborder()]
    found = [one for layout in sheet_layouts for one in layout.query("INSERT") if one.dxf.name == "NORTH"]
    assert len(found) == arrows  # floor plan and reflected ceiling plan
    assert (dossier_of(room).scene.room.north_deg is None) == (arrows == 0)


# ---- dimensions ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("room", "paper"), [*((room, "A4") for room in ROOMS), ("weir", "Tabloid")])
def test_every_expected_dimension_is_a_dimension_entity(room, paper):
    found = measured(document(room, paper))
    for _, name, value in EXPECTED[room]:
        assert any(n == name and math.isclose(v, value, abs_tol=1e-6) for n, v in found), (name, value)


@pytest.mark.parametrize("room", ROOMS)
def test_dimensions_are_on_the_sheet_they_are_told_for_and_measure_the_scene(room):
    told = drawn(room).dimensions
    entities = measured(document(room))
    assert len(told) == len(entities)
    for dimension, (name, value) in zip(told, entities, strict=True):
        assert dimension.name == name
        assert math.isclose(dimension.value_m, value, abs_tol=1e-9)
    for sheet, name, value in EXPECTED[room]:
        assert any(
            d.sheet == sheet and d.name == name and math.isclose(d.value_m, value, abs_tol=1e-6) for d in told
        )


@pytest.mark.parametrize("room", ROOMS)
def test_chains_along_one_line_add_up_to_the_room(room):
    (x0, _), (x1, _) = dossier_of(room).scene.room.bounds_m
    floor = [d for d in drawn(room).dimensions if d.sheet == "Floor plan"]
    whole = next(i for i, d in enumerate(floor) if d.name == "room along x")
    assert math.isclose(sum(d.value_m for d in floor[:whole]), x1 - x0, abs_tol=1e-9)


@pytest.mark.parametrize("room", ROOMS)
def test_letters_of_a_dimension_are_its_measure(room):
    imperial = dossier_of(room).scene.units == "ft"
    letters = [item.text for sheet in drawn(room).sheets for item in sheet.drawn.letters]
    for dimension in drawn(room).dimensions:
        assert dimension.text in letters
        if imperial:
            # what is less than a foot has no feet
            feet, inches = re.fullmatch(r"(?:(\d+)'-)?(.*)\"", dimension.text).groups()
            parts = [eval_fraction(part) for part in inches.split()]
            assert abs((int(feet or 0) * 12 + sum(parts)) * 0.0254 - dimension.value_m) <= 0.0254 / 16 + 1e-9
        else:
            assert abs(int(dimension.text) / 1000 - dimension.value_m) <= 0.0005 + 1e-9


def eval_fraction(text):
    top, _, bottom = text.partition("/")
    return int(top) / int(bottom or 1)


def test_a_dimension_can_be_measured_anew_by_whoever_opens_the_file():
    for entity in document("heron").modelspace().query("DIMENSION"):
        assert entity.dxf.text == "<>"
        assert entity.get_geometry_block() is not None
        assert math.isclose(entity.dxf.actual_measurement, entity.get_measurement(), abs_tol=1e-6)


# ---- letters ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("room", "paper"), [*((room, "A4") for room in ROOMS), ("weir", "Tabloid")])
def test_letters_collide_with_no_others_and_stay_inside_frame_and_viewport(room, paper):
    for sheet in drawn(room, paper).sheets:
        page = sheet.drawn
        frame = (FRAME_MM, FRAME_MM, page.width_mm - FRAME_MM, page.height_mm - FRAME_MM)
        for i, item in enumerate(page.letters):
            where = f"{sheet.title}: {item.text!r}"
            assert inside(item.box, frame), where
            assert not any(overlap(item.box, other.box) for other in page.letters[:i]), where
            if overlap(item.box, sheet.view_box) and "TTLB" not in item.layer:
                assert inside(item.box, sheet.view_box), where
        assert inside(sheet.view_box, frame), sheet.title
        # a line weight over the frame's centre line and no more
        assert inside(page.extent, (frame[0] - 0.3, frame[1] - 0.3, frame[2] + 0.3, frame[3] + 0.3)), (
            sheet.title
        )


@pytest.mark.parametrize("room", ROOMS)
def test_two_dimensions_beside_each_other_never_read_as_one_number(room):
    for sheet in drawn(room).sheets:
        boxes = [item.box for item in sheet.drawn.letters if "DIMS" in item.layer]
        assert boxes or sheet.kind == "heights"
        for i, one in enumerate(boxes):
            for other in boxes[:i]:
                # letters in one line: those along x beside each other, those along y one over the other
                for along in (0, 1):
                    across = 1 - along
                    level = min(one[across + 2], other[across + 2]) - max(one[across], other[across])
                    gap = max(one[along], other[along]) - min(one[along + 2], other[along + 2])
                    long = all(
                        box[along + 2] - box[along] > box[across + 2] - box[across] for box in (one, other)
                    )
                    assert not (long and level > 1.0) or gap >= 1.0, (sheet.title, one, other)


def inside(box, frame):
    return box[0] >= frame[0] and box[1] >= frame[1] and box[2] <= frame[2] and box[3] <= frame[3]


@pytest.mark.parametrize("room", ROOMS)
def test_letters_are_never_smaller_than_they_should_be(room):
    for sheet in drawn(room).sheets:
        assert sheet.drawn.letters
        for item in sheet.drawn.letters:
            assert item.height_mm >= 1.8 - 1e-6, item.text  # that of tables and section marks


def test_every_talker_device_and_array_is_named_where_there_is_room():
    scene = dossier_of("heron").scene
    plan, ceiling = drawn("heron").sheets[:2]
    named = {item.text for item in plan.drawn.letters}
    assert {head.id for head in scene.heads} <= named
    assert {table.id for table in scene.tables} <= named
    named = {item.text for item in ceiling.drawn.letters}
    assert {device.id for device in scene.overhead} <= named


def test_every_array_is_named_on_both_plans_even_where_a_ceiling_is_crowded():
    # an array close to a wall, keep-outs and dimensions round it, on the smallest paper
    room = dossier_of("weir").scene
    first = room.arrays[0]
    near_wall = replace(first, at_m=(7.68, 2.7), height_m=2.54)
    scene = room.with_arrays((near_wall, replace(first, id="A2", at_m=(2.77, 2.7), height_m=2.51)))
    for sheet in sheets(Dossier(scene)).sheets[:2]:
        letters = [item.text for item in sheet.drawn.letters]
        for array in scene.arrays:
            assert any(text.split()[0] == array.id for text in letters), (sheet.name, array.id)


def test_spread_keeps_order_and_pitch_and_moves_no_more_than_it_must():
    assert spread([0, 10, 20], 3) == [0, 10, 20]
    assert spread([0, 1], 3) == pytest.approx([-1, 2])
    places = spread([0, 0.5, 0.6, 9, 9.1], 2)
    assert np.all(np.diff(places) >= 2 - 1e-9)
    assert np.mean(places[:3]) == pytest.approx(np.mean([0, 0.5, 0.6]))


# ---- what is where ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("room", ROOMS)
def test_talkers_devices_and_arrays_are_where_the_scene_has_them(room):
    dossier, doc = dossier_of(room), document(room)
    scene = dossier.scene
    k = 1000.0 if scene.units == "m" else 1 / 0.0254
    (x0, y0), (x1, y1) = scene.room.bounds_m
    plan = {}
    for insert in doc.modelspace().query("INSERT"):
        x, y = insert.dxf.insert.x / k, insert.dxf.insert.y / k
        tag = insert.get_attrib_text("TAG")
        for up in (0.0, above_m(scene)):
            if tag and x0 - 1 <= x <= x1 + 1 and y0 - 1 <= y - up <= y1 + 1:
                plan.setdefault(tag, []).append((x, y - up, insert))
    for head in dossier.review.heads:
        assert (head.mouth_m[0], head.mouth_m[1]) == pytest.approx(plan[head.id][0][:2], abs=1e-6)
        insert = plan[head.id][0][2]
        assert insert.dxf.name == f"HEAD-{head.state.upper()}"
        assert insert.get_attrib_text("STATE") == coverage.talker(head, scene).state
    for device in scene.overhead:
        assert device.at_m == pytest.approx(plan[device.id][0][:2], abs=1e-6)
        assert plan[device.id][0][2].get_attrib_text("KIND") == kind_name(device.kind, Locale.of(scene))
    for array in scene.arrays:
        # once on the floor plan and once on the ceiling plan, which lies above it and not on it
        assert len(plan[array.id]) == 2
        for x, y, insert in plan[array.id]:
            assert array.centre_m[:2] == pytest.approx((x, y), abs=1e-6)
            assert insert.dxf.rotation == pytest.approx(array.turn_deg)


def test_walls_and_table_are_the_scenes_outlines_at_full_size():
    scene, msp = dossier_of("heron").scene, document("heron").modelspace()
    rings = [[(x, y) for x, y, *_ in line.get_points()] for line in msp.query('LWPOLYLINE[layer=="I-FURN"]')]
    want = np.array(scene.tables[0].outline_m) * 1000
    assert any(len(ring) == len(want) and np.allclose(ring, want, atol=1e-6) for ring in rings)
    corners = {
        (round(x), round(y))
        for line in msp.query('LWPOLYLINE[layer=="A-WALL"]')
        for x, y, *_ in line.get_points()
    }
    assert {(0, 0), (6600, 0), (6600, 4500), (0, 4500)} <= corners


def test_the_footprint_drawn_is_the_bands_ring_at_the_seated_mouths():
    scene, msp = dossier_of("heron").scene, document("heron").modelspace()
    array = scene.arrays[0]
    inner, outer = footprint(array.band, array.centre_m[2] - mouth_level_m(scene, "seated"))
    x, y = array.centre_m[0] * 1000, array.centre_m[1] * 1000
    rings = [
        np.array([(px, py) for px, py, *_ in line.get_points()]) / 1000
        for line in msp.query('LWPOLYLINE[layer=="T-MICR-BAND"]')
    ]
    wide, deep = 6.6, 4.5

    def on_it(ring: np.ndarray, radius_m: float) -> bool:
        """Whether all corners are on the circle, but for those on a wall, where it is cut off."""
        away = np.hypot(*(ring - np.array([x, y]) / 1000).T)
        on_wall = (np.abs(ring - [0, 0]) < 1e-6).any(axis=1) | (np.abs(ring - [wide, deep]) < 1e-6).any(
            axis=1
        )
        circle = np.abs(away - radius_m) < 1e-6
        return bool(circle.sum() > 20 and (circle | (on_wall & (away < radius_m))).all())

    # at 24° the ring at the seated mouths reaches past the long walls, at 69° it does not
    assert outer > deep / 2 > inner
    assert any(on_it(ring, outer) for ring in rings)
    assert any(on_it(ring, inner) for ring in rings)


def test_the_wedge_in_the_section_has_the_bands_angles_and_reach():
    scene, msp = dossier_of("heron").scene, document("heron").modelspace()
    array = scene.arrays[0]
    (x0, _), (x1, _) = scene.room.bounds_m
    origin_x, height = x1 + max(6.0, x1 - x0), array.centre_m[2]
    corners = [
        (px / 1000 - origin_x - array.centre_m[0], py / 1000)
        for line in msp.query('LWPOLYLINE[layer=="T-MICR-BAND"]')
        for px, py, *_ in line.get_points()
        if px / 1000 > origin_x and py / 1000 < 3.5
    ]
    polar = [(math.hypot(u, height - z), math.degrees(math.atan2(height - z, abs(u)))) for u, z in corners]
    band = array.band
    assert min(r for r, _ in polar) == pytest.approx(band.near_m, abs=1e-6)
    assert max(r for r, _ in polar) == pytest.approx(band.far_m, abs=1e-6)
    assert min(a for _, a in polar) == pytest.approx(band.low_deg, abs=1e-4)
    assert max(a for _, a in polar) == pytest.approx(band.high_deg, abs=1e-4)


def test_a_talker_that_is_missed_has_a_cross_and_a_marginal_one_a_ring():
    blocks = {insert.dxf.name for insert in document("weir").modelspace().query("INSERT")}
    assert {"HEAD-COVERED", "HEAD-MARGINAL", "HEAD-MISSED"} <= blocks
    assert [e.dxftype() for e in document("weir").blocks.get("HEAD-MISSED") if e.dxftype() != "ATTDEF"] == [
        "LINE"
    ] * 2
    assert [e.dxftype() for e in document("weir").blocks.get("HEAD-MARGINAL") if e.dxftype() != "ATTDEF"] == [
        "CIRCLE"
    ]


# ---- the files ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("room", ROOMS)
def test_the_dxf_passes_the_audit_without_a_fix_and_each_sheet_alone_too(room):
    for text in (drawn(room).dxf, *(sheet.dxf for sheet in drawn(room).sheets[:3])):
        audit = ezdxf.read(io.StringIO(text)).audit()
        assert not audit.errors
        assert not audit.fixes


@pytest.mark.parametrize("room", ["heron", "ferry"])
def test_another_reader_finds_the_same_layers_and_places(room, tmp_path):
    import pyogrio.raw

    file = tmp_path / "sheets.dxf"
    file.write_text(drawn(room).dxf, encoding="utf-8")
    meta, _, shapes, columns = pyogrio.raw.read(file)
    by_name = dict(zip(meta["fields"], columns, strict=True))
    seen = set(by_name["Layer"])
    assert {"A-WALL", "A-ANNO-DIMS", "I-FURN", "T-MICR", "F-SPRN-CLHD", "A-CLNG-GRID"} <= seen
    assert len(shapes) > 300
    texts = {text for text in by_name["Text"] if text}
    assert dossier_of(room).scene.name in texts


def test_a_sheet_alone_lies_on_the_same_origin_as_all_together():
    together, alone = document("heron"), ezdxf.read(io.StringIO(drawn("heron").sheets[1].dxf))
    assert len(alone.layouts) == 2
    name = "ARRAY-LANTERN"
    places = {tuple(insert.dxf.insert) for insert in together.modelspace().query(f'INSERT[name=="{name}"]')}
    assert {
        tuple(insert.dxf.insert) for insert in alone.modelspace().query(f'INSERT[name=="{name}"]')
    } <= places


def test_model_units_are_millimetres_or_inches_and_scales_are_those_of_the_trade():
    assert document("heron").header["$INSUNITS"] == 4
    assert document("ferry").header["$INSUNITS"] == 1
    assert {sheet.scale_text for sheet in drawn("heron", "A3").sheets} <= {"1:20", "1:25", "1:50", "1:100"}
    assert all(text.endswith("= 1'-0\"") for text in (sheet.scale_text for sheet in drawn("ferry").sheets))


def test_paper_follows_the_units_where_none_is_asked_for():
    assert [usual_paper(dossier_of(room).scene) for room in ROOMS] == ["A3", "A3", "A3", "Tabloid"]


def test_sheets_of_a_kind_come_at_one_scale_and_both_plans_too():
    for room in ROOMS:
        plan, ceiling = drawn(room).sheets[:2]
        assert plan.scale == ceiling.scale
        for kind in ("section", "heights"):
            assert len({sheet.scale for sheet in drawn(room).sheets if sheet.kind == kind}) == 1


def test_what_belongs_to_the_other_plan_is_frozen_in_the_viewport():
    layouts = document("heron").layouts
    plan, ceiling = (
        layouts.get(name).query("VIEWPORT")[-1] for name in ("1 Floor plan", "2 Reflected ceiling plan")
    )
    assert "F-SPRN-CLHD" in plan.frozen_layers
    assert "A-WALL" not in plan.frozen_layers
    assert "T-MICR-HEAD" in ceiling.frozen_layers
    shown = {item.layer for item in drawn("heron").sheets[1].drawn.letters}
    assert "A-ANNO-NOTE" not in shown


@pytest.mark.parametrize("room", ["heron", "weir", "loft"])
def test_a_metre_measures_what_the_scale_says_in_the_pdf_itself(room):
    scene = dossier_of(room).scene
    pages = pypdf.PdfReader(io.BytesIO(drawn(room).pdf)).pages
    for page, sheet in zip(pages[:2], drawn(room).sheets[:2], strict=True):
        assert float(page.mediabox.width) * 25.4 / 72 == pytest.approx(297, abs=0.01)
        across = wall_extent_mm(page)
        (x0, y0), (x1, y1) = scene.room.bounds_m
        # the outer face of the walls is 0.1 m outside the room on each side
        assert across[0] / (x1 - x0 + 0.2) == pytest.approx(1000 / sheet.scale, abs=0.02)
        assert across[1] / (y1 - y0 + 0.2) == pytest.approx(1000 / sheet.scale, abs=0.02)


def wall_extent_mm(page):
    """Width and height on paper of what is stroked 0.5 mm wide in the drawing's window, from the page's operators."""
    points: list[tuple[float, float]] = []
    current: list[tuple[float, float]] = []
    width = [1.0]

    def seen(operator, operands, matrix, _text):
        name = operator.decode()
        if name == "w":
            width[0] = float(operands[0]) * abs(matrix[0])
        elif name in ("m", "l"):
            x, y = float(operands[0]), float(operands[1])
            current.append(
                (matrix[0] * x + matrix[2] * y + matrix[4], matrix[1] * x + matrix[3] * y + matrix[5])
            )
        elif name in ("S", "s", "B"):
            if abs(width[0] * 25.4 / 72 - 0.5) < 0.01:
                points.extend(current)
            current.clear()
        elif name in ("f", "f*", "n"):
            current.clear()

    page.extract_text(visitor_operand_before=seen)
    mm = np.array(points) * 25.4 / 72
    # the frame and title block are as heavy: they touch the frame's lines
    box = mm[(mm[:, 0] > 10.5) & (mm[:, 0] < 297 - 10.5 - 66) & (mm[:, 1] > 10.5 + 20) & (mm[:, 1] < 199)]
    return np.ptp(box[:, 0]), np.ptp(box[:, 1])


@pytest.mark.parametrize("room", ["heron", "ferry"])
def test_the_pdf_has_its_letters_as_text(room):
    pages = pypdf.PdfReader(io.BytesIO(drawn(room).pdf)).pages
    for page, sheet in zip(pages, drawn(room).sheets, strict=True):
        text = "".join(page.extract_text().split())
        for item in sheet.drawn.letters:
            assert "".join(item.text.split()) in text, item.text


def test_the_pdf_is_archivable_tagged_dated_and_has_a_title():
    reader = pypdf.PdfReader(io.BytesIO(drawn("heron").pdf))
    assert reader.metadata.title == "Heron Room: sheets"
    assert reader.metadata.creation_date.date().isoformat() == "2026-11-25"
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part>2<", xmp)
    assert re.search(r"pdfaid:conformance>B<", xmp)


def test_each_svg_is_as_large_as_its_paper_and_says_what_it_is():
    for sheet in drawn("heron", "A3").sheets:
        root = ElementTree.fromstring(sheet.svg.encode())
        assert (root.get("width"), root.get("height"), root.get("viewBox")) == (
            "420mm",
            "297mm",
            "0 0 420 297",
        )
        assert sheet.title in root[0].text
        assert root[1].text == sheet.about
        uses = [use.get("href")[1:] for use in root.iter("{http://www.w3.org/2000/svg}use")]
        ids = {path.get("id") for path in root.iter("{http://www.w3.org/2000/svg}path") if path.get("id")}
        assert uses
        assert set(uses) <= ids


def test_the_same_room_gives_the_same_bytes():
    again = sheets(dossier_of("heron"), paper="A4")
    assert again.dxf == drawn("heron").dxf
    assert again.pdf == drawn("heron").pdf
    assert [s.svg for s in again.sheets] == [s.svg for s in drawn("heron").sheets]
    assert again.sheets[2].dxf == drawn("heron").sheets[2].dxf


def test_pages_are_neither_blank_nor_solid(tmp_path):
    (tmp_path / "a.pdf").write_bytes(drawn("weir").pdf)
    subprocess.run(
        ["pdftoppm", "-r", "50", "-gray", str(tmp_path / "a.pdf"), str(tmp_path / "p")], check=True
    )
    from PIL import Image

    pages = sorted(tmp_path.glob("p*.pgm"))
    assert len(pages) == len(drawn("weir").sheets)
    for page in pages:
        grey = np.asarray(Image.open(page), float)
        assert 0.02 < np.mean(grey < 250) < 0.5
        edge = np.concatenate(
            [grey[:15].ravel(), grey[-15:].ravel(), grey[:, :15].ravel(), grey[:, -15:].ravel()]
        )
        assert edge.min() == 255  # nothing outside the frame


# ---- refusals, and text that is only text -------------------------------------------------------------------


def test_without_its_font_a_sheet_fails_and_says_so(tmp_path):
    # a process of its own: fonts once read are kept
    program = (
        "import sys, pathlib; from viz.sheets import lettering; lettering.FONTS = pathlib.Path(sys.argv[1])\n"
        "from viz.sheets import FontMissing, sheets\n"
        "from scenes.room.build import read_scene; from scenes.dossier import Dossier\n"
        "try:\n    sheets(Dossier(read_scene(sys.argv[2])))\n"
        "except FontMissing as missing:\n    print(missing); sys.exit(missing.exit_status)\n"
    )
    room = str(files("scenes.rooms") / "heron.yaml")
    ran = subprocess.run([sys.executable, "-c", program, str(tmp_path), room], capture_output=True, text=True)
    assert ran.returncode == 3, ran.stderr
    assert "SourceSansPro" in ran.stdout
    assert "install" in ran.stdout


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_letter_the_font_does_not_have_is_drawn_as_a_mark_and_told(paper):
    scene = dossier_of("heron").scene
    head = replace(scene.heads[0], id="席-1")
    named = replace(scene, name="会議室", heads=(head, *scene.heads[1:]))
    made = sheets(Dossier(named), paper=paper)
    for sheet in made.sheets:
        told = [item.text for item in sheet.drawn.letters]
        assert lettering.MARK * 3 in told
        assert "U+5E2D" in " ".join(told)
    assert f"{lettering.MARK}-1" in {item.text for item in made.sheets[0].drawn.letters}
    assert lettering.unset(named).count("U+") == 4
    assert lettering.unset(scene) is None


def test_greek_and_cyrillic_names_are_drawn():
    scene = replace(dossier_of("heron").scene, name="Αίθουσα Зал")
    assert any(item.text == "Αίθουσα Зал" for item in sheets(Dossier(scene)).sheets[0].drawn.letters)


NASTY = '%%d^J\\U+0041{\\P;x}</text><script>alert("&")</script> #let x = 1 $y$ @z `w` *b* _i_ //c'


def test_nothing_in_a_spec_is_read_as_markup_by_dxf_svg_or_pdf():
    scene = dossier_of("heron").scene
    named = replace(scene, name=NASTY, project="\n".join(["a", "b"]))
    made = sheets(Dossier(named))
    ElementTree.fromstring(made.sheets[0].svg.encode())
    assert "<script>" not in made.sheets[0].svg
    letters = " ".join(item.text for item in made.sheets[0].drawn.letters)
    assert 'alert("&")' in letters.replace(" ", "")
    text = pypdf.PdfReader(io.BytesIO(made.pdf)).pages[0].extract_text()
    assert "<script>" in "".join(text.split())
    assert not ezdxf.read(io.StringIO(made.dxf)).audit().errors


@pytest.mark.parametrize("text", ["50%", "%%c", "a^b", "^J", "\\U+2205", "{x}", "100%%d"])
def test_escaped_text_is_drawn_letter_by_letter(text):
    doc = ezdxf.new()
    entity = doc.modelspace().add_text(escaped(text))
    shown = ezdxf.read(io.StringIO(written(doc))).modelspace()[0].plain_text()
    assert shown.replace("\\ U+", "\\U+") == text
    assert entity.dxf.text == escaped(text)


def written(doc):
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


def test_own_layers_are_used_and_wrong_ones_refused():
    made = sheets(dossier_of("heron"), own_layers="wall: {layer: X-MUR, colour: '#112233', weight: 35}")
    doc = ezdxf.read(io.StringIO(made.dxf))
    assert "A-WALL" not in doc.layers
    assert doc.layers.get("X-MUR").dxf.lineweight == 35
    assert doc.modelspace().query('LWPOLYLINE[layer=="X-MUR"]')
    for wrong, told in (
        ("wal: {layer: X}", "wal"),
        ("wall: {layer: 'A B'}", "letters"),
        ("wall: {weight: 31}", "weight"),
        ("wall: {colour: red}", "#RRGGBB"),
        ("table: {layer: A-WALL}", "both are on A-WALL"),
        ("[1, 2]", "mapping"),
        ("a: [", "YAML"),
    ):
        with pytest.raises(LayersMistake, match=told):
            layers(wrong)


def test_layer_names_have_the_form_of_the_national_cad_standard():
    for role, layer in layers().items():
        assert re.fullmatch(r"[A-Z]-[A-Z]{4}(-[A-Z]{4}){0,2}", layer.name), role


def test_refusals_say_what_is_allowed():
    with pytest.raises(ValueError, match="A4, A3, Letter, Tabloid"):
        sheets(dossier_of("heron"), paper="A5")
    scene = dossier_of("heron").scene
    with pytest.raises(ValueError, match="YYYY-MM-DD"):
        sheets(Dossier(replace(scene, document=replace(scene.document, date=None))), date="2.1.2027")
    hall = replace(scene.room, outline_m=((0, 0), (90, 0), (90, 60), (0, 60)))
    with pytest.raises(DoesNotFit, match="larger paper"):
        sheets(Dossier(replace(scene, room=hall)))
    with pytest.raises(DoesNotFit):
        figure(dossier_of("heron"), "plan", room_mm=(12.0, 9.0))


def test_a_date_given_stands_where_the_spec_has_none():
    scene = dossier_of("heron").scene
    undated = Dossier(replace(scene, document=replace(scene.document, date=None)))
    assert sheets(undated, date="2027-01-02").date == "2027-01-02"
    # without one the files' own data has a date that no clock gave, and no sheet shows it
    made = sheets(undated)
    assert made.date == UNDATED
    assert UNDATED not in "".join(sheet.svg for sheet in made.sheets)


def test_title_block_says_sheet_scale_paper_number_purpose_and_revision():
    for number, sheet in enumerate(drawn("heron").sheets, 1):
        words = [item.text for item in sheet.drawn.letters if "TTLB" in item.layer]
        told = " ".join(words)
        for want in (
            f"AV-201.{number}", f"{number} of {len(drawn('heron').sheets)}", f"{sheet.scale_text} at A4",
            "Millrace Trust", "Heron Room", "For coordination, not for construction", "2026-11-25",
            "Cautions", *(() if sheet.kind == "heights" else ("Do not scale",)),
        ):  # fmt: skip
            assert want in told, want


def test_lettering_is_measured_as_it_is_drawn():
    long = lettering.width("Heron Room", 2.5)
    item = next(i for i in drawn("heron").sheets[0].drawn.letters if i.text == "Heron Room")
    # the glyphs cover the advance widths but for the side bearings of the first and the last
    first, last = lettering.glyph("H", "regular"), lettering.glyph("m", "regular")
    bearings = (first.bounds[0] + last.advance - last.bounds[2]) * 2.5 * lettering.em_per_capital() / 1000
    assert item.box[2] - item.box[0] == pytest.approx(long - bearings, abs=1e-6)
    assert lettering.wrap("one two three", 2.5, lettering.width("one two", 2.5) + 0.01) == [
        "one two",
        "three",
    ]
    assert lettering.shorten("abcdefgh", 2.5, lettering.width("abcd…", 2.5) + 0.01) == "abcd…"
    assert all(lettering.width(line, 2.5) <= 10 for line in lettering.wrap("unbreakableness", 2.5, 10))


# ---- clearances that are short, cuts side by side -----------------------------------------------------------


def too_near() -> Dossier:
    """The heron room with its array in the spray of a sprinkler."""
    scene = dossier_of("heron").scene
    overhead = tuple(replace(d, at_m=(4.0, 3.0)) if d.id == "SP2" else d for d in scene.overhead)
    array = replace(scene.arrays[0], at_m=(3.7, 2.75), height_m=2.6)
    return Dossier(replace(scene, overhead=overhead, arrays=(array,)))


def hatched(doc):
    """The outlines of what is hatched as too close; what is clouded round them is of bulges."""
    rings = doc.modelspace().query('LWPOLYLINE[layer=="T-MICR-CLSH"]')
    return [ring for ring in rings if not any(bulge for *_, bulge in ring.get_points())]


def test_the_ceiling_plan_hatches_what_an_array_is_too_near_to():
    new = too_near()
    assert {c.against for c in new.review.short} == {"SP2"}
    made = sheets(new)
    doc = ezdxf.read(io.StringIO(made.sheets[1].dxf))
    rings = hatched(doc)
    assert len(rings) == 1
    xs, ys = zip(*[(x / 1000, y / 1000) for x, y, *_ in rings[0].get_points()], strict=True)
    assert ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2) == pytest.approx((4.0, 3.0), abs=0.01)
    words = [item.text for item in made.sheets[1].drawn.letters]
    # the body's edge, 0.23 m from its middle at (3.7, 2.75), to the sprinkler at (4.0, 3.0); NFPA 13 asks for 24 in
    # what there is reads down, what is required up
    assert f"too close: {math.floor(1000 * (math.hypot(0.3, 0.25) - 0.23))} mm, 610 mm required" in words
    assert "too close, or below advice" in words
    assert (
        not ezdxf.read(io.StringIO(drawn("heron").dxf)).modelspace().query('LWPOLYLINE[layer=="T-MICR-CLSH"]')
    )


def test_of_a_long_duct_in_the_way_only_the_piece_by_the_array_is_hatched():
    scene = dossier_of("heron").scene
    light = next(device for device in scene.overhead if device.id == "L1")
    duct = replace(
        light,
        id="DUCT",
        kind="bulkhead",
        at_m=(3.0, 2.4),
        size=Given((6.0, 0.5)),
        below_m=-0.1,
        depth=Given(0.3),
        low_m=2.85,
    )
    new = Dossier(replace(scene, overhead=(*scene.overhead, duct)))
    assert not new.review.short
    assert {(c.against, c.rule) for c in new.review.advised} == {("DUCT", "hang-line")}
    made = sheets(new)
    [ring] = hatched(ezdxf.read(io.StringIO(made.sheets[1].dxf)))
    xs, ys = zip(*[(x / 1000, y / 1000) for x, y, *_ in ring.get_points()], strict=True)
    assert (min(xs), max(xs), min(ys), max(ys)) == pytest.approx((2.9, 3.7, 2.15, 2.65), abs=1e-6)
    # the box's size is our default, and the sheet says no more than the review does
    assert any(item.text == "below advice: may be in the way" for item in made.sheets[1].drawn.letters)


def test_the_ceiling_plan_calls_short_only_what_can_fail():
    """1.0 m from a loudspeaker is our default; 1.2 m is what this one's designer asks for."""
    scene = dossier_of("heron").scene
    light = next(device for device in scene.overhead if device.id == "L1")
    speaker = replace(
        light,
        id="LS",
        kind="loudspeaker",
        at_m=(4.2, 2.4),
        size=Given((0.2, 0.2)),
        below_m=0.0,
        depth=Given(0.1),
    )
    for own, said in ((None, "below advice: "), (1.2, "too close: ")):
        new = Dossier(replace(scene, overhead=(*scene.overhead, replace(speaker, required_m=own))))
        letters = [item.text for item in sheets(new).sheets[1].drawn.letters]
        assert any(text.startswith(said) for text in letters), letters


def test_two_cuts_side_by_side_have_marks_apart_and_many_arrays_collide_with_nothing():
    scene = dossier_of("heron").scene
    first = scene.arrays[0]
    arrays = (
        first,
        replace(first, id="A2", at_m=(3.42, 2.4), turn_deg=30.0),
        replace(first, id="A3", at_m=(1.5, 2.4)),
    )
    made = sheets(Dossier(scene.with_arrays(arrays)))
    assert len({sheet.title for sheet in made.sheets}) == len(made.sheets)
    for sheet in made.sheets:
        for i, item in enumerate(sheet.drawn.letters):
            assert not any(overlap(item.box, other.box) for other in sheet.drawn.letters[:i]), (
                sheet.title,
                item.text,
            )
    doc = ezdxf.read(io.StringIO(made.dxf))
    marks = [
        m.dxf.insert
        for m in doc.modelspace().query('INSERT[name=="SECTION-MARK"]')
        if m.dxf.layer == "A-ANNO-SYMB"
    ]
    # 4.6 mm across at 1:50
    assert min(math.dist((a.x, a.y), (b.x, b.y)) for i, a in enumerate(marks) for b in marks[:i]) > 4.6 * 50
