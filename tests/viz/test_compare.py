"""Two rooms or placements side by side: in words, as JSON, as a page with one view and one height, as a sheet."""

from __future__ import annotations

import json
import re

import pytest

from scenes.dossier import Dossier
from scenes.review.comparison import comparison
from scenes.room.build import read_scene
from tests.viz.browser.opening import opened
from viz.compare_sheet import compare_pdf
from viz.page.compare import compare_page
from viz.stage import staged
from viz.words import comparison as words


@pytest.fixture
def pair(rooms):
    """heron, and heron with its array 30 cm aside and 12 cm higher, too close to a sprinkler."""
    here, there = rooms / "heron.yaml", rooms / "heron-b.yaml"
    text = here.read_text("utf-8")
    moved = text.replace("at: [3.3, 2.25], height: 2.18", "at: [3.0, 2.25], height: 2.3")
    assert moved != text
    there.write_text(moved, "utf-8")
    return here, there


def compared(*specs):
    return comparison(*(Dossier(read_scene(spec)).review for spec in specs))


def test_differences_in_words_with_both_figures(pair, rooms):
    found = compared(*pair)
    assert words.heading(found) == "Heron Room: two placements compared"
    assert words.titles(found) == ("A: Heron Room, heron.yaml", "B: Heron Room, heron-b.yaml")
    told = words.sentences(found)
    assert told[0] == "A: Pass. B: Fail."
    assert told[-2:] == ("Too close in B only: SP2.", "Closer than advised in B only: ceiling grid.")
    rows = {row.name: (row.first, row.second, row.better) for row in words.table(found)}
    assert rows["Verdict"] == ("Pass", "Fail", "first")
    assert rows["Talkers covered"] == ("8 of 8", "8 of 8", "")
    near, far, better = rows["Farthest talker"]
    assert better == "first"
    assert f"In A the farthest talker is closer: {near}, in B {far}." in told
    assert rows["Installation tolerance sideways"] == ("55 mm", "–", "")
    assert "Not covered" not in rows
    assert words.sentences(compared(pair[0], pair[0])) == ("None of these figures differs.",)
    assert words.heading(compared(pair[0], rooms / "weir.yaml")) == "Heron Room and Weir Room compared"


def test_who_is_covered_on_one_side_only_is_named(rooms):
    higher = rooms / "weir-b.yaml"
    text = (rooms / "weir.yaml").read_text("utf-8")
    higher.write_text(text.replace("height: 2.2,", "height: 2.3,"), "utf-8")
    told = words.sentences(compared(rooms / "weir.yaml", higher))
    assert "Covered in B only: T1-5 and T1-7." in told
    assert "B covers 2 talkers more." in told


def test_the_command_prints_a_table_or_json_and_fails_where_one_fails(pair, run):
    code, out, err = run("compare", *pair)
    assert (code, err) == (1, "")
    assert "Not for installation: too close to SP2" in " ".join(out.split())
    code, out, err = run("compare", *pair, "--json")
    told = json.loads(out)
    assert (code, err, told["format"]) == (1, "", "overtable/comparison/1")
    assert told["differences"][0] == "A: Pass. B: Fail."
    assert told["hold"] == {"A": None, "B": "Not for installation: too close to SP2"}
    assert told["too_close"]["B"][0]["against"] == "SP2"
    assert run("compare", pair[0], pair[0])[0] == 0


def test_what_cannot_be_compared_is_refused_before_anything_is_written(pair, rooms, run):
    code, _, err = run("compare", *pair, "-o", rooms / "a.txt")
    assert (code, ".html" in err, ".pdf" in err) == (2, True, True)
    pair[1].write_text(re.sub(r"(id: A1, profile: wreath).*}", r"\1}", pair[1].read_text("utf-8")), "utf-8")
    code, _, err = run("compare", *pair, "-o", rooms / "a.html")
    assert (code, "overtable place" in err) == (2, True)
    assert not list(rooms.glob("a.*"))


def test_figures_that_read_alike_are_no_difference(pair):
    """The heron rooms have margins of +13 cm both, to the millimetre they differ."""
    said = words.sentences(compared(*pair))
    rows = {row[0]: row[1:3] for row in words.table(compared(*pair))}
    assert len(set(rows["Least margin"])) == 1
    assert not any("more margin" in one for one in said)


def test_the_sheet_is_one_page_with_both_columns_and_the_cautions(pair):
    import io

    from pypdf import PdfReader

    found = compared(*pair)
    made = compare_pdf(found)
    assert made == compare_pdf(found)
    [page] = PdfReader(io.BytesIO(made)).pages
    text = " ".join(page.extract_text().split())
    for row in words.table(found):
        for said in row[:3]:
            # a line may end within a range of angles
            assert "".join(said.split()) in "".join(text.split())
    for said in (*words.sentences(found), *words.titles(found), "Not for installation: too close to SP2"):
        assert said in text
    assert "never approval" in text


def test_the_page_turns_both_rooms_and_one_slider_lifts_both(pair, tmp_path):
    dossiers = tuple(Dossier(read_scene(spec)) for spec in pair)
    found = comparison(*(one.review for one in dossiers))
    tables = tuple(one.height_table for one in dossiers)
    text = compare_page(found, tuple(staged(one) for one in dossiers), tables)
    for said in (*words.sentences(found), *words.titles(found)):
        assert said in text
    assert "Not for installation: too close to SP2" in text
    heights = json.loads(text.partition('id="heights">')[2].partition("</script>")[0])
    assert heights["heights_m"] == sorted(set(heights["heights_m"]))
    assert heights["shown"][heights["home"]] == "2.18 m"
    file = tmp_path / "compare.html"
    file.write_text(text, "utf-8")
    shown = opened(file.as_uri())
    try:
        assert shown.js("() => overtable.sides.every((side) => side.box.classList.contains('drawn'))")
        looks = "() => overtable.sides.map(({ room: { look: l } }) => [l.azimuth, l.elevation, l.distance])"
        before = shown.js(looks)
        shown.page.locator("[data-side=A] canvas").focus()
        shown.page.keyboard.press("ArrowLeft")
        after = shown.js(looks)
        assert after[0] == after[1]
        assert after[0] != before[0]
        shown.page.locator("#height").focus()
        for _ in range(2):
            shown.page.keyboard.press("ArrowUp")
        assert shown.js("() => document.querySelector('#dock output').textContent") == "2.20 m"
        assert shown.js("() => [...document.querySelectorAll('.so i')].map((one) => one.textContent)") == [
            "A1 · centre 2.20 m",
            "A1 · centre 2.20 m",
        ]
        # as the tables of the two pages have it there
        at = [one.arrays[0] for one in tables]
        expected = [
            next(band for band in one.bands if band.name == one.band).verdict[
                min(range(len(one.heights_m)), key=lambda k, one=one: abs(one.heights_m[k] - 2.2))
            ]
            for one in at
        ]
        verdicts = "() => [...document.querySelectorAll('.so')].map((one) => one.dataset.verdict)"
        assert shown.js(verdicts) == expected
        shown.page.locator("#dock .today").click()
        assert shown.js(verdicts) == [one.review.verdict for one in dossiers]
        assert shown.said == []
        assert shown.asked_for == [file.as_uri()]
    finally:
        shown.page.context.close()
