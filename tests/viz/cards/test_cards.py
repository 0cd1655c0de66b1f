"""Hang cards: every number is the review's, nothing leaves the paper, and a room that fails is on hold."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.dossier import Dossier
from scenes.room.build import build
from scenes.spec.reading import read_spec
from tests.viz.rooms import DEMO_ROOMS
from viz.cards import Card, cards
from viz.cards.page import EDGE_MM, TALL_MM, WIDE_MM, Page
from viz.words import cards as words
from viz.words import cautions
from viz.words.locale import Locale


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
        text.array,
        text.number,
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
    letters = _letters(card)
    hold = cautions.hold(weir.review)
    assert hold is not None
    assert "HOLD: do not hang" in letters
    assert hold in letters
    assert card.about.startswith(hold)
    text = _text(weir)
    assert {line for figure in text.figures for line in figure.may_be_off} == {"on hold"}
    assert not any("±" in one for one in letters)
    assert text.code.endswith("HOLD, do not hang")


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


def test_letters_are_cleared_only_where_the_field_lies() -> None:
    page = Page.empty(Locale("m"), "A1")
    page.words("inside", 50.0, 50.0)
    page.words("turned", 60.0, 60.0, turn_deg=90.0, align="centre")
    page.words("outside", 120.0, 50.0, align="right")
    page.clear([(40.0, 40.0), (80.0, 40.0), (80.0, 80.0), (40.0, 80.0)], "status")
    assert [entity.dxf.text for entity in page.layout.query("TEXT")] == ["outside"]


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
