"""A room before every array has a place: drawn as far as it goes, without a verdict, and every output says so."""

from __future__ import annotations

import json
from functools import cache

import pytest
from PIL import Image

from scenes.dossier import Dossier
from scenes.room.build import build, read_scene
from scenes.spec.reading import read_spec_text
from tests.viz.rooms import PROFILES, QUIET
from viz import lettering, panel, views
from viz.live import Desk, Reading, Refused, live_page, table, whole_room
from viz.page import page
from viz.panel import Shown
from viz.stage import Stage, staged
from viz.stills import legend
from viz.words import cautions, criteria, verdict

PLACED = "{id: A1, profile: lamp, at: [4.0, 4.0], height: 2.3, band: mid}"
NONE_PLACED = "{id: A1, profile: lamp}"
ONE_OF_TWO = f"{PLACED}\n  - {{id: A2, profile: lamp, at: [2.0, 4.0]}}"


def scene_with(arrays: str):
    return build(read_spec_text((QUIET + PROFILES).replace(PLACED, arrays)))


@cache
def dossier_with(arrays: str) -> Dossier:
    return Dossier.of(scene_with(arrays))


@cache
def stage_with(arrays: str) -> Stage:
    return staged(dossier_with(arrays))


def test_nothing_follows_that_a_place_decides():
    dossier = dossier_with(NONE_PLACED)
    look = dossier.review
    assert (look.verdict, look.judged, look.waiting, look.tolerance) == (None, False, ("A1",), None)
    assert dossier.scene.arrays == look.heads == look.arrays == look.clearances == look.sightlines == ()
    assert dossier.heights == dossier.schedule == dossier.steps == dossier.height_table.arrays == ()
    assert dossier.regions == dossier.keep_outs == dossier.rooms_to_move == {}
    assert not criteria.criteria(look)
    assert Dossier.of(scene_with(PLACED)).review.judged


def test_people_are_drawn_without_a_state_and_no_zone_of_an_array_that_does_not_hang():
    stage = stage_with(NONE_PLACED)
    assert {prop.about for prop in stage.layer("people")} - {""} == {head.id for head in stage.scene.heads}
    assert not [prop for prop in stage if prop.kind == "mark"]
    for layer in ("arrays", "band", "footprint", "sectors", "clearances", "sightlines", "region"):
        assert not stage.layer(layer), layer
    names = {prop.about for prop in stage.layer("labels") if prop.id.startswith("head/")}
    assert names == {head.id for head in stage.scene.heads}


def test_of_two_arrays_the_one_that_hangs_has_its_zone_and_nobody_has_a_state():
    stage, look = stage_with(ONE_OF_TWO), dossier_with(ONE_OF_TWO).review
    assert look.waiting == ("A2",)
    assert {one.array for one in look.clearances} == {"A1"}
    assert {prop.about for prop in stage.layer("arrays")} == {"A1"}
    assert stage.layer("band")
    assert not [prop for prop in stage.layer("people") if prop.kind == "mark"]


@pytest.mark.parametrize("arrays", [NONE_PLACED, ONE_OF_TWO])
def test_pictures_have_views_that_need_no_array_and_a_caption_that_says_why(arrays):
    stage = stage_with(arrays)
    shown = views.usual(stage)
    assert {"corner", "plan", "ceiling", "camera:CAM1", "seat:T1-1"} <= set(shown)
    assert ("long" in shown) == ("array" in shown) == bool(stage.scene.arrays)
    for name in shown:
        views.view(stage, name, 1.5)
    with pytest.raises(views.NoSuchView):
        views.view(stage_with(NONE_PLACED), "array", 1.5)
    # no state has a sign in the legend
    assert {entry.sample for entry in legend(stage, stage)}.isdisjoint({"dot", "ring", "cross", "diamond"})
    made = lettering.caption(stage.review, "Plan", (2400, 1500), 220)
    words = " ".join(line[2] for line in made.lines)
    [waiting] = stage.review.waiting
    assert words.count(f"{waiting} has no place yet") == 1
    assert f"Not for installation: {waiting} has no place yet" in words
    assert "No verdict yet" in words
    # without a verdict there is no sign for one
    strip = Image.new("RGB", (2400, made.height), "white")
    lettering.draw_caption(strip, made, 0)


def test_the_page_says_so_and_its_slider_has_nothing_to_explore():
    text = page(dossier_with(NONE_PLACED))
    assert 'data-verdict="none"' in text
    assert "<b>No verdict yet.</b> A1 has no place yet." in text
    assert "Not for installation: A1 has no place yet" in text
    assert "Checked as soon as every array has a place." in text
    explore = text.partition('id="explore">')[2].partition("</script>")[0]
    assert json.loads(explore)["arrays"] == []
    facts = json.loads(text.partition('id="facts">')[2].partition("</script>")[0])
    assert facts["arrays"] == facts["heads"] == facts["clearances"] == []
    assert len(facts["seen_from"]) == 8
    # who sits there, and nothing of how they are covered
    assert text.count("<td>seated</td>") == 6
    assert "data-state" not in text.partition("<main>")[2].partition("<script")[0]


def test_a_room_without_any_array_says_that():
    spec = (QUIET + PROFILES).replace(f"arrays:\n  - {PLACED}\n", "")
    look = Dossier.of(build(read_spec_text(spec))).review
    assert verdict.paragraph(look) == "No verdict yet. The room has no array. 7 talkers to cover."
    assert cautions.hold(look) == "Not for installation: The room has no array"


def test_sheets_are_the_two_plans_on_hold_with_exit_0_and_the_next_step(tmp_path, run):
    spec = tmp_path / "quiet.yaml"
    spec.write_text((QUIET + PROFILES).replace(PLACED, NONE_PLACED), "utf-8")
    code, out, err = run("sheets", spec, "-o", tmp_path / "sheets")
    assert code == 0
    drawn = {line.rpartition("/")[2] for line in out.splitlines() if line.endswith(".svg")}
    assert drawn == {"01-floor-plan.svg", "02-ceiling-plan.svg"}
    assert (tmp_path / "sheets" / "quiet-room.dxf").read_text("utf-8").count(
        "HOLD: not for installation"
    ) == 2
    assert err.splitlines() == [
        "No verdict yet. A1 has no place yet. 7 talkers to cover.",
        f"Next: overtable place {spec} --write",
    ]


# ---------------------------------------------------------------- live and window


def desk_with(tmp_path, arrays: str) -> Desk:
    path = tmp_path / "quiet.yaml"
    path.write_text((QUIET + PROFILES).replace(PLACED, arrays), "utf-8")
    from viz.live import read

    return Desk(read(path))


def test_the_live_page_shows_the_room_then_takes_what_the_search_found(tmp_path):
    desk = desk_with(tmp_path, NONE_PLACED)
    room = whole_room(desk.scene, desk.reading.scene)
    assert (room["facts"]["arrays"], room["explore"]["arrays"]) == ([], [])
    assert "No verdict yet" in room["html"]["part-verdict"]
    assert table(desk)["explore"]["arrays"] == []
    assert 'data-verdict="none"' in live_page(desk.scene, 1, "quiet.yaml")
    with pytest.raises(Refused, match="place the arrays first"):
        desk.add()
    desk.use_placed(scene_with(PLACED))
    assert "+  - {id: A1, profile: lamp, at: [4, 4], height: 2.3, band: mid}" in desk.offer()
    desk.write()
    assert read_scene(desk.reading.path).arrays[0].placed


def test_what_hangs_can_be_moved_on_the_live_page_and_what_does_not_stays_unwritten(tmp_path):
    desk = desk_with(tmp_path, ONE_OF_TWO)
    desk.put({"array": "A1", "height_m": 2.2})
    room = whole_room(desk.scene, desk.reading.scene)
    assert [array["height_m"] for array in room["facts"]["arrays"]] == [2.2]
    assert "No verdict yet" in room["html"]["part-verdict"]
    lines = [line for line in desk.offer().splitlines() if line[:1] in "+-" and "A" in line]
    assert all("A2" not in line for line in lines)
    assert isinstance(desk.reading, Reading)


def test_the_windows_panel_has_no_array_in_hand(monkeypatch):
    written: list[str] = []
    from PIL import ImageDraw

    before = ImageDraw.ImageDraw.text
    monkeypatch.setattr(
        ImageDraw.ImageDraw,
        "text",
        lambda self, at, text, *a, **k: (written.append(text), before(self, at, text, *a, **k))[1],
    )
    look = dossier_with(NONE_PLACED).review
    spots = panel.draw(
        Image.new("RGBA", (1280, 900)),
        Shown(look, None, (0.0, 0.0), (), "corner", frozenset(("shell",)), None, "", False, False, True),
    )
    assert {spot.what for spot in spots} == {"view", "layer"}
    assert "No verdict yet" in written
