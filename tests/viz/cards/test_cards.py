"""Hang cards: every number is the review's, nothing leaves the paper, and a room that fails is on hold."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from scenes.dossier import Dossier
from scenes.room.build import build
from scenes.spec.reading import read_spec, read_spec_text
from tests.viz.rooms import DEMO_ROOMS
from viz.cards import Card, cards
from viz.cards.hanging_sketch import hanging_sketch
from viz.cards.page import EDGE_MM, TALL_MM, WIDE_MM, Page
from viz.words import cards as words
from viz.words import cautions
from viz.words.locale import Locale

GREY = "#9aa0a6"


@pytest.fixture(scope="module")
def heron() -> Dossier:
    return _dossier("heron")


@pytest.fixture(scope="module")
def weir() -> Dossier:
    return _dossier("weir")


def _dossier(name: str) -> Dossier:
    return Dossier.of(build(read_spec(DEMO_ROOMS / f"{name}.yaml")))


def _text(dossier: Dossier) -> words.CardText:
    return words.card(1, dossier.schedule[0], dossier.steps, dossier.review)


def _letters(card: Card) -> list[str]:
    return [one.text for one in card.drawn.letters]


def test_the_numbers_to_set_are_the_review_s(heron: Dossier) -> None:
    array, text = heron.review.arrays[0], _text(heron)
    told = array.tolerance
    assert [figure.value for figure in text.figures] == [
        str(round(1000 * value)) for value in (*array.at_m, array.underside_m)
    ]
    sideways = f"±{int(1000 * told.sideways_m)} mm"
    assert [figure.may_be_off for figure in text.figures] == [
        (sideways,),
        (sideways,),
        (f"+{int(1000 * (told.up_m or 0))} mm", f"−{int(1000 * (told.down_m or 0))} mm"),
    ]
    facts = dict(text.facts)
    assert facts["ceiling to underside"] == str(
        round(1000 * (heron.scene.room.ceiling_m - array.underside_m))
    )
    assert facts["tile"] == f"{heron.schedule[0].tile}, its middle"
    assert facts["mark towards"] == "W2"


def test_everything_a_card_says_is_on_it_and_on_the_paper(heron: Dossier) -> None:
    (card,) = cards(heron).cards
    low, left, high, right = (
        card.drawn.extent[1],
        card.drawn.extent[0],
        card.drawn.extent[3],
        card.drawn.extent[2],
    )
    assert EDGE_MM - 0.01 <= left < right <= WIDE_MM - EDGE_MM + 0.01
    assert EDGE_MM - 0.01 <= low < high <= TALL_MM - EDGE_MM + 0.01
    letters, text = _letters(card), _text(heron)
    for told in (
        text.top.array,
        text.top.number,
        *(figure.value for figure in text.figures),
        *dict(text.facts).values(),
    ):
        assert told in letters
    run = " ".join(letters)
    for held in text.holds:
        assert all(word in run for word in held.text.split())
    assert all(tick in letters for tick in text.ticks)


def test_the_card_of_a_room_that_fails_is_on_hold(weir: Dossier) -> None:
    (card,) = cards(weir).cards
    letters, run = _letters(card), " ".join(_letters(card))
    hold = cautions.hold(weir.review)
    assert hold is not None
    assert "HOLD: do not hang" in letters
    assert hold in run
    assert card.about.startswith(hold)
    text = _text(weir)
    assert {line for figure in text.figures for line in figure.may_be_off} == {"on hold"}
    assert not any("±" in one for one in letters)
    assert "Tick in this order" not in letters
    assert "On hold: do not set" in letters
    assert {"How it hangs (figures rule, not the scale)", "What holds it"} <= set(letters)
    # whatever would be set is grey
    grey = {one.colour for one in card.drawn.letters if one.text == text.figures[0].value}
    assert {one.colour for one in card.drawn.letters if one.text == text.figures[2].value} == grey
    assert grey == {GREY}
    assert text.code.endswith("HOLD, do not hang")
    low, high = card.drawn.extent[:2], card.drawn.extent[2:]
    assert min(low) >= EDGE_MM - 0.01
    assert high[0] <= WIDE_MM - EDGE_MM + 0.01


def test_a_flush_array_has_two_numbers_and_no_height_to_set() -> None:
    ferry = _dossier("ferry")
    text = _text(ferry)
    assert [figure.label for figure in text.figures] == ["from W4, square", "from W1, square"]
    assert dict(text.facts)["face"] == "flush, ceiling at 9'-0\""
    assert "underside" not in text.as_hung
    assert next(held.thing for held in text.holds) == "frame"


def test_the_same_room_gives_the_same_card(heron: Dossier) -> None:
    first, second = (cards(heron) for _ in range(2))
    assert first.cards[0].svg == second.cards[0].svg
    assert first.pdf == second.pdf


def test_a_link_joins_the_code(heron: Dossier) -> None:
    linked = replace(heron.scene, document=replace(heron.scene.document, link="HTTPS://EXAMPLE.ORG/H1"))
    row = heron.schedule[0]
    text = words.card(1, row, heron.steps, replace(heron.review, scene=linked))
    assert text.code.endswith("underside 2160 HTTPS://EXAMPLE.ORG/H1")
    assert text.code.startswith("Millrace House, level 2 AV-201.H1 A Heron Room A1: 3300 from W4")


def test_names_that_would_leave_the_paper_are_cut(heron: Dossier) -> None:
    long = "Conference and Assembly Room of the Old Exchange, north wing, second door " * 2
    scene = replace(heron.scene, name=long, project=long)
    (card,) = cards(Dossier(scene)).cards
    assert card.drawn.extent[2] <= WIDE_MM - EDGE_MM + 0.01


BAR = """overtable: 1
name: Plover Room
units: ft
room:
  size: ["22'-3 7/16\\"", "15'-1 5/16\\""]
  ceiling: {kind: suspended, height: "9'-1 3/16\\""}
  structure: "11'-4\\""
tables: [{id: T1, shape: rectangle, size: [9', 4'], at: ["11'-0 9/16\\"", "7'-0 9/16\\""], height: "29 in"}]
people: {seated: {mouth: ["42 in", "49 in"], sway: "4 in"}}
seats: [{around: T1, pitch: "32 in", gap: "10 in"}]
profiles:
  batten:
    mount: pendant
    hangs_by: rod
    points: COUNT
    SPREAD
    body: {size: ["38 in", "4 1/2 in", "2 3/8 in"]}
    bands: {broad: [8.5, 72.5]}
    reach: ["20 in", "11'-6\\""]
    mass: 3.4
    level: 1.5
arrays:
  - {id: "ID", profile: batten, at: ["11'-0 9/16\\"", "7'-0 9/16\\""], height: "7'-2 13/16\\"", band: broad, turn: 20}
suspension: {ceiling: suspended, box: structure}
"""


def _bar(name: str = "A1", count: int = 2) -> Dossier:
    text = BAR.replace("ID", name).replace("COUNT", str(count))
    return Dossier.of(build(read_spec_text(text.replace("SPREAD", 'spread: "30 in"' if count > 1 else ""))))


@pytest.fixture(scope="module")
def bar() -> Dossier:
    return _bar()


def test_no_figure_of_feet_inches_and_fractions_is_cut_or_parted(bar: Dossier) -> None:
    (card,) = cards(bar).cards
    letters, text = _letters(card), _text(bar)
    assert [figure.value for figure in text.figures] == ["11'-0 9/16\"", "7'-0 9/16\"", "7'-1 5/8\""]
    for told in (*(figure.value for figure in text.figures), *dict(text.facts).values()):
        assert told in letters
    assert not any("…" in one for one in letters)
    assert not any(re.match(r"\d+/\d+", one) for one in letters)
    assert dict(text.facts)["band to set"] == "broad, 8.5–72.5°"


def test_the_mark_is_told_by_a_wall_and_a_corner(bar: Dossier) -> None:
    # 267.4375" - 132.5625" = 134.875" to W2; 84.5625" + 134.875" x tan 20 deg = 133.653" up it, of 181.3125"
    assert dict(_text(bar).facts)["mark towards"] == "W2, 3'-11 11/16\" from W3"


def test_pounds_stand_first_in_a_room_of_feet_and_inches(bar: Dossier) -> None:
    # 3.4 kg / 0.45359237 kg = 7.496 lb
    assert _text(bar).top.what == "batten, 7.5 lb (3.4 kg), pendant"


def test_what_holds_it_says_where_it_is_fixed_and_how_long_its_lines_are(bar: Dossier) -> None:
    told = {held.thing: held.text for held in _text(bar).holds}
    second_m = bar.schedule[0].hang.second_m
    assert second_m is not None
    assert "Hang point: fixed to the structure." in told["hanging"]
    assert words.height(second_m, Locale("ft")) in told["second line"]
    assert told["box"].count("structure") == 1
    one = _text(_bar(count=1)).holds
    assert not any("rods" in held.text for held in one)


def test_two_long_names_never_read_alike() -> None:
    names = ("MIC-BOARDROOM-NORTH-SIDE-01", "MIC-BOARDROOM-NORTH-SIDE-02", "x" * 80)
    shown = []
    for name in names:
        (card,) = cards(_bar(name)).cards
        tag = [
            one for one in card.drawn.letters if one.box[1] > TALL_MM - EDGE_MM - 18.0 and one.box[0] < 20.0
        ]
        shown.append("".join(one.text for one in sorted(tag, key=lambda one: -one.box[1])))
        assert max(one.box[2] for one in tag) < 60.0
    assert shown == list(names)


def test_wires_meet_at_the_hang_point_and_rods_end_where_they_are_measured_to(
    heron: Dossier, bar: Dossier
) -> None:
    ends = []
    for dossier, role in ((heron, "suspension"), (bar, "frame")):
        page = Page.empty(Locale("m"), "A1")
        row = dossier.schedule[0]
        hanging_sketch(page, dossier.scene, row, (), (0.0, 0.0, 80.0, 50.0), held=False)
        layer = page.layer(role)
        lines = [one for one in page.layout.query("LINE") if one.dxf.layer == layer]
        ends.append([(round(one.dxf.end.x, 3), round(one.dxf.end.y, 3)) for one in lines])
    ceiling, structure = 50.0 - 4.0 - 15.0, 50.0 - 4.0
    assert heron.schedule[0].box == "tile bridge"
    assert ends[0].count((26.0, ceiling)) == 2
    assert bar.schedule[0].box == "structure"
    assert len([end for end in ends[1] if end[1] == structure and end[0] < 40.0]) == 4


def test_what_nobody_checked_is_on_the_card() -> None:
    loft = _dossier("loft")
    run = " ".join(_letters(cards(loft).cards[0]))
    assert cautions.still_open(loft.review) in run
    assert "not checked" in run


def test_no_letters_of_a_block_stand_in_the_next_one(heron: Dossier) -> None:
    (card,) = cards(heron).cards
    lowest = min(one.box[1] for one in card.drawn.letters if "stop and ask" in one.text)
    head = next(one for one in card.drawn.letters if one.text == "What holds it")
    assert lowest > head.box[3] + 1.0


def test_lengths_on_a_card_are_in_its_own_unit(heron: Dossier) -> None:
    (hanging,) = (held.text for held in _text(heron).holds if held.thing == "hanging")
    piece_m = heron.schedule[0].hang.piece_m
    assert piece_m is not None
    assert f"3 wires of {round(1000 * piece_m)} from" in hanging
