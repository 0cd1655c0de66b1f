"""As-hung papers: marked so everywhere, measured beside designed, what to correct, and nothing to set or to tick."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from scenes.dossier import Dossier
from scenes.findings.as_built import AsBuilt
from scenes.review.as_built import as_built
from scenes.spec.measured import read_measured
from tests.viz.rooms import demo_scene
from viz.cards import Card
from viz.cards.as_hung import as_hung_cards
from viz.cards.page import EDGE_MM, TALL_MM, WIDE_MM
from viz.report_as_hung import as_hung_data
from viz.words import as_hung as words
from viz.words.locale import Locale


def _found(folder: Path, row: str) -> AsBuilt:
    path = folder / "measured.yaml"
    path.write_text(f"overtable: 1\nunits: mm\narrays:\n  - {{id: A1, {row}}}\n", encoding="utf-8")
    return as_built(demo_scene("heron"), read_measured(path))


@pytest.fixture(scope="module")
def wrong(tmp_path_factory: pytest.TempPathFactory) -> AsBuilt:
    row = "off_walls: [3420, 2250], underside: 2240, level: 0.4, turn: 30, band: main"
    return _found(tmp_path_factory.mktemp("hung"), row)


def _card(found: AsBuilt, date: str | None = None) -> Card:
    (card,) = as_hung_cards(found, Dossier(words.scene_as_hung(found, date)), date).cards
    return card


def test_a_card_puts_measured_beside_designed_and_says_what_to_correct(wrong: AsBuilt) -> None:
    locale = Locale.of(wrong.review.scene)
    told = {row.what: row for row in words.rows(wrong.arrays[0], wrong, locale)}
    assert told["from W4, square"].cells[1:] == (
        *("3300", "3420", "120 mm too far", "±55 mm", "agree with designer"),
    )
    assert told["underside above finished floor"].cells[1:4] == ("2160", "2240", "80 mm high")
    assert told["underside above finished floor"].correct == "lower 80 mm"
    assert told["out of level"].cells[1:] == ("0°", "0.4°", "0.4°", "at most 1°", "–")
    assert told["mark towards"].correct == "point to W2"
    assert [row.state for row in told.values()] == [
        *("outside", "fine", "correct", "fine", "fine", "correct"),
    ]


def test_a_card_says_what_it_is_and_has_nothing_to_set_or_tick(wrong: AsBuilt) -> None:
    card = _card(wrong)
    letters = [one.text for one in card.drawn.letters]
    run = " ".join(letters)
    assert "AS HUNG" in letters
    assert "HOLD: correct these" in letters
    assert "AV-201-AB.H1" in letters
    assert "never from here." in run
    for never in ("Set these", "Tick", "Hung by", "2026-11-25"):
        assert never not in run
    low, high = card.drawn.extent[:2], card.drawn.extent[2:]
    assert min(low) >= EDGE_MM - 0.01
    assert high[0] <= WIDE_MM - EDGE_MM + 0.01
    assert high[1] <= TALL_MM - EDGE_MM + 0.01


def test_papers_without_a_day_of_measuring_carry_none(wrong: AsBuilt) -> None:
    document = words.document(wrong, None)
    assert demo_scene("heron").document.date == "2026-11-25"
    assert (document.number, document.date) == ("AV-201-AB", None)
    assert words.document(wrong, "2026-11-28").date == "2026-11-28"
    assert words.document(replace(wrong, date="2026-11-27"), "2026-11-28").date == "2026-11-27"
    letters = " ".join(one.text for one in _card(wrong).drawn.letters)
    assert "day of measuring not given" in letters


def test_the_report_has_verdict_and_corrections_first(wrong: AsBuilt, tmp_path: Path) -> None:
    told = as_hung_data(wrong, words.scene_as_hung(wrong, None))
    assert told["verdict"] == {"word": "Does not hold as it hangs", "state": "fail"}
    assert told["hold"].startswith("HOLD. Correct first: turn A1 30° clockwise")
    assert told["as_hung"]["arrays"][0]["rows"][2][:3] == ["underside above finished floor", "2160", "2240"]
    assert words.stamp(wrong)[1] == "AS HUNG. HOLD: correct first"
    right = _found(tmp_path, "underside: 2162, level: 0")
    told = as_hung_data(right, words.scene_as_hung(right, None))
    assert (told["hold"], told["verdict"]["word"]) == (None, "Holds as it hangs")
    assert words.stamp(right)[1] == "AS HUNG: not for setting out"


def test_a_level_that_was_not_measured_stands_as_taken(tmp_path: Path) -> None:
    found = _found(tmp_path, "underside: 2162")
    row = next(one for one in words.rows(found.arrays[0], found, Locale("mm")) if one.what == "out of level")
    assert row.measured == "not measured, taken as 1°"
