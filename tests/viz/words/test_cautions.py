"""Holds, what is open, sign-off and cautions in words."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest

from scenes.findings.review import Review
from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.room.scene import Grid, Scene
from tests.never import found
from tests.scenes.ceiling_rooms import CEILING_M, array, changed, device, head, profile, scene
from viz.words import cautions
from viz.words.locale import Locale

OVERHEAD = "overhead load and secondary support"


def demo(name: str) -> Scene:
    return read_scene(str(files("scenes.rooms") / f"{name}.yaml"))


def rooms() -> list[Scene]:
    """Rooms that between them have every caution and every kind of open point."""
    bare = scene(structure_m=None, arrays=(array(profile=profile(mass_kg=None)),))
    return [*map(demo, ("heron", "weir", "loft", "ferry")), bare, scene(ceiling_kind="open")]


def test_a_room_that_fails_says_why_it_is_not_for_installation() -> None:
    assert (
        cautions.hold(review(demo("weir")))
        == "Not for installation: 2 of 12 talkers not covered, 2 covered only upright"
    )
    both = scene(heads=(head("S1", (3.0, 2.0)),), overhead=(device("L1", "light", (3.0, 2.0), below_m=0.2),))
    assert cautions.hold(review(both)) == ("Not for installation: 1 of 1 talker not covered; too close to L1")


@pytest.mark.parametrize("room", ["heron", "loft", "ferry"])
def test_no_other_room_is_held(room: str) -> None:
    judged = review(demo(room))
    assert judged.verdict != "fail"
    assert cautions.hold(judged) is None


def test_a_room_that_cautions_says_what_is_open_and_who_decides() -> None:
    assert cautions.mark(review(demo("loft"))) == (
        f"Open: SP1, SP2, SP3 and 2 more not checked (fire); {OVERHEAD} (structure)"
    )
    on_a_tee = scene(grid=Grid((0.6, 0.6), (0.0, 0.0)))
    assert cautions.mark(review(on_a_tee)) == f"Open: A1 on a grid tee (ceiling); {OVERHEAD} (structure)"
    letter = changed(scene(grid=Grid((0.6, 0.6), (0.3, 0.3))), "smoke-detector", 0.3)
    assert cautions.mark(review(letter)) == (
        f"Open: changed rule: Clear of a smoke detector (fire); {OVERHEAD} (structure)"
    )
    heavy = scene(grid=Grid((0.6, 0.6), (0.3, 0.3)), arrays=(array(profile=profile(mass_kg=None)),))
    assert cautions.mark(review(heavy)) == f"Open: mass of lamp, {OVERHEAD} (structure)"
    guessed = replace(scene(grid=Grid((0.6, 0.6), (0.3, 0.3))), unsure=(("T1", "by eye"),))
    assert cautions.mark(review(guessed)) == f"Open: T1 not measured (architect); {OVERHEAD} (structure)"
    assert cautions.mark(review(demo("heron"))) == f"Open: {OVERHEAD} (structure)"


def test_nothing_is_dropped_where_a_room_fails_or_something_else_is_open() -> None:
    for room in rooms():
        judged = review(room)
        signed = [one.open for one in cautions.signed_by(judged) if one.who == "Structure"]
        for text in (cautions.mark(judged), cautions.line(judged), cautions.still_open(judged), *signed):
            assert OVERHEAD in text, room.name


def off_by(sideways_m: float | None, up_m: float | None, down_m: float | None) -> Review:
    """A room that passes but for what is left of its array's installation tolerance."""
    judged = review(scene(grid=Grid((0.6, 0.6), (0.3, 0.3))))
    assert judged.verdict == "pass"
    [one] = judged.arrays
    left = replace(one.tolerance, sideways_m=sideways_m, up_m=up_m, down_m=down_m)
    return replace(judged, arrays=(replace(one, tolerance=left),))


@pytest.mark.parametrize("left", [(0.0, 0.0, 0.0), (0.02, 0.0, 0.02), (0.0009, None, None)])
def test_what_cannot_be_hung_so_exactly_is_open_for_the_client(left) -> None:
    judged = off_by(*left)
    text = "no installation tolerance at A1"
    assert text in cautions.mark(judged)
    assert {one.who: one.open for one in cautions.signed_by(judged)}["Client"] == text
    assert "no installation tolerance" not in cautions.mark(replace(judged, verdict="fail"))


@pytest.mark.parametrize(
    ("left", "little"),
    [
        ((0.005, 0.003, 0.003), False),
        ((0.004, 0.02, 0.02), True),
        ((0.02, 0.0029, 0.02), True),
        ((0.02, None, 0.0029), True),
        ((0.02, None, None), False),
    ],
)
def test_less_than_can_be_set_out_is_open(left, little: bool) -> None:
    text = "installation tolerance at A1 is less than can be set out on site (client)"
    assert (text in cautions.mark(off_by(*left))) == little


def test_a_structure_far_above_the_ceiling_is_rather_a_slip_in_the_file() -> None:
    far = cautions.mark(review(scene(grid=Grid((0.6, 0.6), (0.3, 0.3)), structure_m=33.0)))
    # the ceiling of these rooms is at 2.75 m
    above = Locale("m").length(33.0 - CEILING_M)
    assert f"structure {above} above the ceiling: check the file, {OVERHEAD} (structure)" in far
    near = review(scene(structure_m=CEILING_M + 3.0))
    assert "check the file" not in cautions.mark(near)


def test_the_line_is_what_is_open_here_and_nothing_else() -> None:
    heron = "Open: overhead load and secondary support (structure). This check is advice, never approval."
    assert cautions.line(review(demo("heron"))) == heron
    weir = cautions.line(review(demo("weir")))
    assert weir.startswith(
        "Not for installation: 2 of 12 talkers not covered, 2 covered only upright. Open: "
    )
    assert all(len(cautions.line(review(room))) < 330 for room in rooms())


def test_each_caution_once_with_what_it_defers_to() -> None:
    for room in rooms():
        full = cautions.full(room)
        assert len({one.title for one in full}) == len(full)
        for one in full:
            assert one.text.endswith(".")
            assert one.defers.startswith(f"Defers to: {one.code}.")
            assert one.defers.endswith("Not checked against the printed standard.") == (
                one.sureness is not None
            )
            assert not found(f"{one.text} {one.defers}")


def test_what_is_not_listed_is_to_be_looked_for_by_name() -> None:
    text = {one.name: one.text for one in cautions.full(scene(ceiling_kind="open"))}
    assert text["no detectors"].startswith("No smoke detectors are in the file: look for them.")
    assert text["no sprinklers"].startswith("No sprinklers are in the file: look for them.")
    assert text["not listed"] == (
        "The file lists no lights, emergency lights, exit signs, alarm strobes, sensors, access panels or supply "
        "diffusers: look for them, and list what is there."
    )
    assert "Coatings on exposed beams and slabs" in text["coatings"]
    assert "fire-rated" in text["fire protection"]


def test_anchorage_is_13_4_and_components_are_13_6_of_asce_7() -> None:
    # ASCE 7-16 chapter 13, titles of its sections; from memory, as the caution's sureness says
    [seismic] = [one for one in cautions.full(scene()) if one.name == "seismic"]
    assert "13.4 anchorage" in seismic.code
    assert "13.6 mechanical and electrical components" in seismic.code
    assert seismic.sureness == "memory"


def test_sign_off_is_one_list_of_six_with_what_is_open_for_each() -> None:
    signed = cautions.signed_by(review(demo("loft")))
    assert [one.who for one in signed] == [
        *("Architect", "Fire", "Ceiling", "Structure", "Electrical", "Client"),
    ]
    assert {one.who: one.open for one in signed}["Fire"] == "SP1, SP2, SP3 and 2 more not checked"
    assert all(one.what and one.what[0].isupper() for one in signed)
    # tees run at x = 0.15 + 6 · 0.6 m
    on_a_tee = demo("weir").with_array("A1", at_m=(3.75, 2.7))
    found = review(on_a_tee)
    weir = {one.who: one.open for one in cautions.signed_by(found)}
    assert weir["Ceiling"] == "A1 on a grid tee"
    assert weir["Client"].startswith(f"{found.counts.missed} of 12 talkers not covered")


def test_a_surface_is_called_by_what_it_is() -> None:
    near = scene(arrays=(array(at=(0.1, 2.0)),), heads=(head("S1", (1.2, 2.0)),))
    assert "the walls" in str(cautions.mark(review(near)))


def test_json_has_every_caution_by_name_and_what_a_check_is_not() -> None:
    found = cautions.as_json(scene())
    assert [one["id"] for one in found["cautions"]] == [one.name for one in cautions.full(scene())]
    assert set(found["cautions"][0]) == {"id", "topic", "text", "defers_to", "sureness"}
    assert found["advice"] == cautions.advice(Locale("m"))
    for who in ("local codes", "authority having jurisdiction", "licensed designers"):
        assert who in found["advice"]


def test_american_documents_are_spelt_so() -> None:
    here = demo("heron")
    american = replace(here, document=replace(here.document, language="en-US"))
    assert [one.name for one in cautions.full(american)] == [one.name for one in cautions.full(here)]
