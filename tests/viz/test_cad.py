"""What other programs take a drawing from: one scale in the header, patterns by name, no paper in a drawing alone.

Which values are needed was found by trying LibreCAD and GDAL (tests/long/long_cad.py draws with them again).
"""

from __future__ import annotations

import io
import math
from dataclasses import replace

import ezdxf
import pypdf
import pytest
from ezdxf import bbox

from scenes.dossier import Dossier
from scenes.room.origin import Origin
from tests.viz.drawn import dossier_of, drawn
from viz.sheets import coordination_dxf, sheets
from viz.words import cautions
from viz.words.locale import Locale

ROOMS = ("heron", "ferry")


def read(text: str):
    return ezdxf.read(io.StringIO(text))


def alone(room: str):
    return [(sheet, read(sheet.dxf)) for sheet in drawn(room).sheets]


@pytest.mark.parametrize("room", ROOMS)
def test_the_header_has_the_scale_that_the_dimensions_are_drawn_at(room):
    per_mm = 1 / 25.4 if room == "ferry" else 1.0
    for sheet, doc in alone(room):
        header = doc.header
        assert header["$DIMSCALE"] == pytest.approx(sheet.scale * per_mm)
        assert header["$DIMTXT"] == 2.5
        assert header["$DIMTSZ"] == 0.9
        assert header["$DIMSTYLE"] in doc.dimstyles
        assert header["$TEXTSIZE"] == pytest.approx(2.5 * sheet.scale * per_mm)
        assert header["$LTSCALE"] == pytest.approx(sheet.scale * per_mm)
        assert (header["$INSUNITS"], header["$MEASUREMENT"]) == ((1, 0) if room == "ferry" else (4, 1))
        for dimension in doc.modelspace().query("DIMENSION"):
            assert dimension.dxf.dimstyle == header["$DIMSTYLE"]
        assert not doc.audit().errors


@pytest.mark.parametrize("room", ROOMS)
def test_the_header_says_where_the_drawing_is(room):
    for _, doc in alone(room):
        told = [*doc.header["$EXTMIN"][:2], *doc.header["$EXTMAX"][:2]]
        there = bbox.extents(doc.modelspace(), fast=True)
        wide = there.size.x
        assert told[0] == pytest.approx(there.extmin.x, abs=0.12 * wide)
        assert told[2] == pytest.approx(there.extmax.x, abs=0.12 * wide)
        assert told[0] < told[2]
        assert told[1] < told[3]


@pytest.mark.parametrize("room", ROOMS)
def test_hatches_are_of_the_one_pattern_all_know_with_their_lines_told(room):
    sheet, doc = alone(room)[1]
    lined = [hatch for hatch in doc.modelspace().query("HATCH") if not hatch.dxf.solid_fill]
    assert lined
    for hatch in lined:
        assert hatch.dxf.pattern_name == "ANSI31"
        (line,) = hatch.pattern.lines
        # from 1 to 4 mm on paper
        apart = math.hypot(*line.offset) / sheet.scale * (25.4 if room == "ferry" else 1)
        assert 0.9 <= apart <= 4.1


def test_a_drawing_alone_has_no_paper_and_says_what_holds_it():
    review = dossier_of("weir").review
    for _, doc in alone("weir"):
        assert [len(layout) for layout in doc.layouts if layout.name != "Model"] == [0]
        texts = [text.dxf.text for text in doc.modelspace().query("TEXT")]
        assert cautions.hold(review) in " ".join(texts)
        assert Locale.of(review.scene).say("hold, drawing") in texts


def test_plans_never_lie_on_each_other_and_alone_each_is_at_the_rooms_own_origin():
    # entities of the ceiling plan lie above all of the floor plan
    doc = read(drawn("heron").dxf)
    tops = {
        name: bbox.extents(doc.modelspace().query(f'LWPOLYLINE[layer=="{name}"]'), fast=True)
        for name in ("I-FURN", "I-FURN-RCPL")
    }
    assert tops["I-FURN"].extmax.y < tops["I-FURN-RCPL"].extmin.y
    for _, one in alone("heron")[:2]:
        walls = bbox.extents(one.modelspace().query('LWPOLYLINE[layer=="A-WALL"]'), fast=True)
        assert walls.extmin.x < 0 < walls.extmax.x
        assert walls.extmin.y < 0 < walls.extmax.y < 6000


def test_the_floor_of_a_section_alone_is_at_nought():
    sheet, doc = next((sheet, doc) for sheet, doc in alone("heron") if sheet.kind == "section")
    floors = doc.modelspace().query('LINE[layer=="A-FLOR"]')
    assert {round(line.dxf.start.y, 6) for line in floors} == {0.0}, sheet.title


def test_viewports_keep_their_scale_and_letters_have_a_font_that_is_everywhere():
    doc = read(drawn("heron").dxf)
    for layout in doc.layouts:
        if layout.name == "Model":
            continue
        # the first is the paper's own
        windows = [window for window in layout.query("VIEWPORT") if window.dxf.id != 1]
        assert windows
        assert all(window.dxf.flags & 0x4000 for window in windows)
    assert {style.dxf.font for style in doc.styles if style.dxf.name in ("NOTE", "TITLE")} == {
        "arial.ttf",
        "arialbd.ttf",
    }


def test_a_minus_is_a_hyphen_in_letters_and_itself_in_data():
    doc = read(sheets(dossier_of("weir")).sheets[0].dxf)
    texts = [text.dxf.text for text in doc.modelspace().query("TEXT MTEXT")]
    assert not [text for text in texts if "\u2212" in text or "\u2013" in text]
    margins = [insert.get_attrib_text("MARGIN") for insert in doc.modelspace().query("INSERT")]
    assert any(text.startswith("\u2212") for text in margins if text)


def test_for_coordination_a_room_lies_where_it_lies_in_its_model():
    scene = dossier_of("heron").scene
    at, turn = (120.0, -40.0, 7.2), 30.0
    origin = Origin(("a.ifc",), None, {}, at, turn, None, {})
    own, there = (
        read(coordination_dxf(Dossier(replace(scene, origin=one)), date="2026-11-28"))
        for one in (None, origin)
    )
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    inserts = [insert.dxf.insert for insert in own.modelspace().query("INSERT")]
    moved = [insert.dxf.insert for insert in there.modelspace().query("INSERT")]
    assert len(moved) == len(inserts) > 10
    for before, after in zip(inserts, moved, strict=True):
        want = (before.x * c - before.y * s + at[0] * 1000, before.x * s + before.y * c + at[1] * 1000)
        # 0.1 mm, as the way back into the model promises
        assert (after.x, after.y) == pytest.approx(want, abs=0.1)
    for doc in (own, there):
        assert not doc.audit().errors
        assert not doc.modelspace().query('LWPOLYLINE[layer=="I-FURN"]')
        assert [len(layout) for layout in doc.layouts if layout.name != "Model"] == [0]
    low, high = there.header["$EXTMIN"], there.header["$EXTMAX"]
    assert low[0] < 120_000 < high[0]
    assert low[1] < -40_000 < high[1]


def test_the_command_writes_one_file_and_takes_no_earlier_revision(rooms, run, tmp_path):
    code, *_ = run("sheets", rooms / "heron.yaml", "-o", tmp_path / "out", "--for-coordination")
    assert code == 0
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["heron-room-for-coordination.dxf"]
    heron = rooms / "heron.yaml"
    code, _, err = run("sheets", heron, "-o", tmp_path / "more", "--for-coordination", "--since", heron)
    assert code == 2
    assert "Give one of them" in err


def test_each_sheet_of_the_pdf_has_a_bookmark_and_a_label():
    made = drawn("heron")
    read_back = pypdf.PdfReader(io.BytesIO(made.pdf))
    assert [mark.title for mark in read_back.outline] == [
        f"{sheet.number} {sheet.title}" for sheet in made.sheets
    ]
    assert [read_back.get_destination_page_number(mark) for mark in read_back.outline] == list(
        range(len(made.sheets))
    )
    assert read_back.page_labels == [str(n + 1) for n in range(len(made.sheets))]
