"""Papers of a room in several layouts: of one of them, with the verdict of all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scenes.dossier import Dossier
from scenes.findings.layouts import LayoutPrice
from scenes.place.search import place_scene
from scenes.review.comparison import comparison
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS, TWO
from viz import live
from viz.csvs import heads_csv
from viz.handover import Settings, fill
from viz.refusals import Refusal, refuse_layouts
from viz.report import report_data
from viz.sheets import sheets
from viz.words import aims, cautions, layouts, placement, verdict
from viz.words.locale import Locale


@pytest.fixture(scope="module")
def dossier() -> Dossier:
    return Dossier.of(build(read_spec_text(LAYOUTS)), "rows")


def test_a_document_of_one_layout_says_how_all_of_them_stand(dossier: Dossier) -> None:
    said = verdict.paragraph(dossier.review)
    assert said.startswith("Caution. All layouts: halved passes with cautions (4 of 4 covered), ")
    assert "Shown is rows. All 7 talkers are covered." in said
    assert "halved passes with cautions (4 of 4 covered)" in said
    assert "layouts with open points: halved" in cautions.still_open(dossier.review)
    assert verdict.whole(dossier.whole_review)[:3] == tuple(layouts.lines(dossier.whole_review))


def test_sheets_and_report_are_of_the_layout_asked_for_and_heights_of_all(dossier: Dossier) -> None:
    drawn = sheets(dossier, paper="A3", without=("ceiling",))
    assert drawn.title.count("Alder Room (rows)") == 1
    assert {sheet.kind for sheet in drawn.sheets} == {"plan", "section", "heights"}
    heads = heads_csv(dossier.review)
    assert "R-2-3" in heads
    assert "T1-2" not in heads
    (row,) = dossier.heights
    assert "T1-2 (board)" in row.heads


def test_the_report_has_what_moving_costs_talkers_of_any_layout(dossier: Dossier) -> None:
    told = json.dumps(report_data(dossier, pictures={}, paper="A4", drawn=sheets(dossier)), default=str)
    assert "(board)" in told
    assert dossier.placement is not None
    assert dossier.placement is dossier.each[0].placement


def test_the_room_beside_the_aims_and_beside_another_is_of_all_layouts_too() -> None:
    one, two = Dossier.of(build(read_spec_text(TWO.replace("[2.5, 3.2]", "[2.5, 2.9]")))).each
    far = max(head.slant_m for head in one.review.heads)
    assert max(head.slant_m for head in two.review.heads) < far - 0.1
    locale = Locale.of(two.scene)
    assert aims.drawn(two.whole_review, locale).distance == locale.length(far)
    told = report_data(two, pictures={}, paper="A4", drawn=sheets(two, without=("ceiling",)))
    assert told["placement"]["aims"]["rows"][0][2] == locale.length(far)
    (figure,) = [f for f in comparison(two.review, two.review).figures if f.name == "farthest"]
    assert figure.first == pytest.approx(far)


def test_what_does_not_take_layouts_says_so(dossier: Dossier) -> None:
    with pytest.raises(Refusal, match="view does not take a room with layouts yet"):
        refuse_layouts(dossier.whole, "view")
    assert refuse_layouts(dossier.scene, "live") is dossier.scene


def test_live_shows_the_layout_asked_for_and_keeps_it_when_the_file_is_saved(tmp_path: Path) -> None:
    file = tmp_path / "elm.yaml"
    file.write_text(TWO, encoding="utf-8")
    desk = live.Desk(live.read(file))
    desk.show("two")
    told = live.whole_room(desk.scene, desk.reading.scene, desk.layout)
    assert told["title"] == "Elm Room (two)"
    assert 'data-layout="two" aria-pressed="true"' in told["html"]["part-layouts"]
    desk.put({"array": "A1", "height_m": 2.3})
    shown = live.now(desk)
    assert "Elm Room" not in shown["html"]["part-verdict"]
    assert 'data-layout="two" aria-pressed="true"' in shown["html"]["part-layouts"]
    desk.follow(live.read(file))
    assert desk.layout == "two"
    with pytest.raises(Refusal, match="no layout three"):
        desk.show("three")


def test_place_says_whom_arrays_serve_in_each_layout_and_what_each_costs() -> None:
    scene, locale = build(read_spec_text(TWO)), Locale("m")
    found = place_scene(scene, aim="margin", advise=False, tabled=False)
    assert [one.serves for one in placement.hanging(found, locale)] == ["2, 1"]
    told = [
        LayoutPrice("one", 0.1, 0.3, 0.2),
        LayoutPrice("two", 0.1, 0.1, 0.0),
        LayoutPrice("x", None, None, None),
    ]
    assert layouts.prices(told, locale) == [
        "Layout one costs the others 20 cm of margin: without it +30 cm can be had.",
        "Layout two costs the others nothing.",
        "What layout x costs the others is not known: no position is allowed for all of them.",
    ]


def test_a_handover_has_the_papers_of_every_layout_and_the_ceiling_once(tmp_path: Path) -> None:
    spec = read_spec_text(TWO)
    made = fill(spec, Dossier.of(build(spec)), tmp_path, Settings(pictures=False), lambda what, share: None)
    names = {name for name, _ in made.files}
    assert {"report.pdf", "two-report.pdf", "client.pdf", "two-client.pdf", "page.html"} <= names
    assert {"data/heads.csv", "data/two-heads.csv"} <= names
    assert sum("ceiling" in name for name in names) == 2  # one sheet, as DXF and SVG
    assert made.name == "Elm Room"
    told = json.loads((tmp_path / "data/review.json").read_text("utf-8"))
    assert [one["name"] for one in told["layouts"]] == ["one", "two"]
    assert Locale("m").say("file.of layout", layout="rows", title="x") == "Layout rows: x"
