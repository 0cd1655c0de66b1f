"""Heights and bands side by side: bars, talkers and letters where the numbers are."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from PIL import Image

from scenes.dossier import Dossier
from scenes.review.heights import hanging_heights
from tests.viz.drawn import dossier_of, drawn
from viz.diagrams import GAP_MM, heights_picture
from viz.sheets.draft import overlap
from viz.sheets.drawing import heights_figure
from viz.words import cautions, verdict
from viz.words.heights import notes
from viz.words.locale import Locale

SVG = "{http://www.w3.org/2000/svg}"


def states_of(dossier):
    return {head.id: head.state for head in dossier.review.heads}


@pytest.mark.parametrize("room", ["weir", "heron"])
def test_the_picture_says_what_the_room_is_judged_and_what_holds_it_or_is_open(room):
    dossier = dossier_of(room)
    text = heights_picture(dossier.scene, dossier.heights, "svg", review=dossier.review)
    described = text[text.index("<desc") : text.index("</desc>")]
    assert cautions.line(dossier.review) in described
    assert ("Not for installation" in described) == (room == "weir")
    held = f"{dossier.review.verdict.capitalize()}. {cautions.line(dossier.review)}"
    page = heights_figure(
        *(dossier.scene, states_of(dossier), dossier.heights[0]),
        room_mm=(260.0, 175.0),
        titled=True,
        held=held,
    ).drawn
    shown = " ".join(item.text for item in sorted(page.letters, key=lambda one: -one.box[1]))
    assert shown.startswith(held)
    for i, item in enumerate(page.letters):
        assert 0 <= item.box[1] <= item.box[3] <= page.height_mm, item.text
        assert not any(overlap(item.box, other.box) for other in page.letters[:i]), item.text


@pytest.mark.parametrize("room", ["heron", "weir", "loft", "ferry"])
def test_letters_say_the_heights_and_collide_with_nothing(room):
    dossier = dossier_of(room)
    locale = Locale.of(dossier.scene)
    for row in dossier.heights:
        page = heights_figure(
            dossier.scene, states_of(dossier), row, room_mm=(260.0, 175.0), titled=True
        ).drawn
        for i, item in enumerate(page.letters):
            assert 0 <= item.box[0] <= item.box[2] <= page.width_mm, item.text
            assert 0 <= item.box[1] <= item.box[3] <= page.height_mm, item.text
            assert not any(overlap(item.box, other.box) for other in page.letters[:i]), item.text
        words = " ".join(item.text for item in page.letters)
        assert f"{row.id} at {locale.length(row.at_m[0])}" in words
        assert "allowed heights, full where everyone is covered" in words
        for band in row.bands:
            assert f"{band.name} {locale.edges(band.low_deg, band.high_deg)}" in words
            for pair in (*band.allowed_m, *band.ruled_out_m):
                assert locale.within(*pair) in words
            if band.told_off_centre_deg is not None:
                assert locale.from_centre(band.told_off_centre_deg) in words


def test_bars_span_the_allowed_heights_and_those_ruled_out_and_talkers_stand_at_their_true_range():
    dossier = dossier_of("heron")
    scene, row = dossier.scene, dossier.heights[0]
    band = next(band for band in row.bands if band.name == row.today_band)
    doc = ezdxf.read(io.StringIO(next(s for s in drawn("heron").sheets if s.kind == "heights").dxf))
    base = min(line.dxf.start.y for line in doc.modelspace().query('LINE[layer=="A-FLOR"]'))

    def bars(layer):
        lines = doc.modelspace().query(f'LWPOLYLINE[layer=="T-MICR-CHRT-{layer}"]')
        tall = [[(y - base) / 1000 for _, y, *_ in line.get_points()] for line in lines]
        return sorted((min(one), max(one)) for one in tall)

    def of_bands(name):
        return [
            pytest.approx(pair, abs=1e-6)
            for pair in sorted(pair for b in row.bands for pair in getattr(b, name))
        ]

    # heron: the sprinkler's spray rules out what lies between two allowed stretches
    assert len(band.allowed_m) == 2
    assert len(band.ruled_out_m) == 1
    assert bars("RECH") == of_bands("allowed_m")
    assert bars("BEST") == of_bands("allowed_covered_m")
    assert bars("RULE") == of_bands("ruled_out_m")
    axes = {
        line.dxf.start.x
        for line in doc.modelspace().query('LINE[layer=="T-MICR-CHRT"]')
        if line.dxf.start.x == line.dxf.end.x
    }
    heads = {
        i.get_attrib_text("TAG"): i.dxf.insert
        for i in doc.modelspace().query("INSERT")
        if i.has_attrib("TAG")
    }
    for id in row.heads:
        head, at = scene.head(id), heads[id]
        away = math.hypot(head.at_m[0] - row.at_m[0], head.at_m[1] - row.at_m[1])
        assert any(math.isclose((at.x - axis) / 1000, away, abs_tol=1e-6) for axis in axes)
        assert (at.y - base) / 1000 == pytest.approx(head.middle_m[2], abs=1e-6)


def test_an_array_that_serves_nobody_is_left_out():
    scene = dossier_of("heron").scene
    idle = replace(scene.arrays[0], id="A9", at_m=(6.0, 0.5), band_name="outer")
    pair = Dossier(scene.with_arrays((*scene.arrays, idle)))
    assert [len(row.heads) for row in pair.heights] == [8, 0]
    assert all(band.covered_interval_m is None for band in pair.heights[1].bands)
    assert heights_picture(pair.scene, pair.heights, "svg") == heights_picture(
        pair.scene, pair.heights[:1], "svg"
    )


def test_two_arrays_come_one_below_the_other_with_names_of_their_own():
    dossier = dossier_of("heron")
    scene = dossier.scene
    ends = [replace(scene.arrays[0], id=id, at_m=(x, 2.25)) for id, x in (("A1", 3.9), ("A2", 2.7))]
    pair = Dossier(scene.with_arrays(tuple(ends)))
    text = heights_picture(pair.scene, pair.heights, "svg", review=pair.review)
    root = ElementTree.fromstring(text.encode())
    inner = [child for child in root if child.tag == f"{SVG}svg"]
    assert len(inner) == 2
    assert float(inner[1].get("y")) == pytest.approx(float(inner[0].get("height")) + GAP_MM, abs=0.01)
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert {use.get("href")[1:] for use in root.iter(f"{SVG}use")} <= set(ids)
    assert "Heights and bands of A2" in text


def test_an_array_without_a_height_is_drawn_at_each_bands_best():
    scene = dossier_of("heron").scene
    open_scene = scene.with_arrays((replace(scene.arrays[0], height_m=None, band_name=None),))
    rows = hanging_heights(open_scene)
    root = ElementTree.fromstring(heights_picture(open_scene, rows, "svg").encode())
    assert root.tag == f"{SVG}svg"
    lines = [line for b in rows[0].bands for line in notes(rows[0], b, open_scene, chosen=False)]
    assert lines
    assert not any("now at" in line for line in lines)


def test_the_png_is_at_the_scale_and_resolution_it_says():
    dossier = dossier_of("heron")
    states = states_of(dossier)
    held = (
        f"{verdict.word(dossier.review.verdict, Locale.of(dossier.scene))}. {cautions.line(dossier.review)}"
    )
    page = heights_figure(
        dossier.scene, states, dossier.heights[0], room_mm=(2 * 79.0 + 12.0, 175.0), titled=True, held=held
    ).drawn
    picture = Image.open(
        io.BytesIO(heights_picture(dossier.scene, dossier.heights, "png", review=dossier.review, dpi=100))
    )
    # 3 mm of margin all round
    assert picture.width == pytest.approx((page.width_mm + 6) / 25.4 * 100, abs=1.5)
    assert picture.height == pytest.approx((page.height_mm + 6) / 25.4 * 100, abs=1.5)
    dark = np.asarray(picture.convert("L")) < 200
    assert 0.01 < dark.mean() < 0.4
    teal = np.asarray(picture.convert("RGB"), int)
    assert (np.abs(teal - (0x12, 0x76, 0x6F)).sum(axis=2) < 20).sum() > 100  # the bar of covered heights
