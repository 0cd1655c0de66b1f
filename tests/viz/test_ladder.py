"""The ladder in words, in the report and as a picture: every rung is there, and nothing is said that is not proven."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from scenes.findings.ladder import Ladder, Rung
from scenes.place.ladder import needed_of
from tests.never import found
from viz.ladder_picture import ladder_picture
from viz.report import _ladder
from viz.words import ladder as words
from viz.words.locale import Locale

PLACES = (((3.0, 2.0), 2.4, "mid"),)


def rung(
    arrays: int, pattern: str, margin_m: float | None, on_lattice: bool | None = False, **more: object
) -> Rung:
    values: dict[str, object] = {
        "covered": None if margin_m is None else 8 if margin_m >= 0 else 6,
        "talkers": 8,
        "farthest_m": None if margin_m is None else 2.2,
        "outcome": "none allowed" if margin_m is None else "certified",
        "bound_m": margin_m,
        "costs_m": None,
        "idle": 0,
        "places": () if margin_m is None else PLACES,
    }
    return Rung(arrays, pattern, margin_m=margin_m, on_lattice=on_lattice, **(values | more))  # type: ignore[arg-type]


def ladder(*rungs: Rung) -> Ladder:
    return Ladder(rungs, needed_of(rungs, 0.1), 8, 0.1)


LADDER = ladder(
    rung(1, "free", -0.7),
    rung(1, "row", -0.8),
    rung(2, "free", 0.012),
    rung(2, "row", None),
    rung(3, "free", 0.254, outcome="unresolved", bound_m=0.31),
    rung(3, "row", 0.2, costs_m=0.11),
    rung(3, "free", 0.05, True, idle=1),
)
LOCALE = Locale("m")


def test_every_rung_is_a_row_with_what_is_proven_of_it() -> None:
    rows = words.rows(LADDER, LOCALE)
    assert [(row.arrays, row.layout) for row in rows] == [
        ("1", "anywhere"),
        ("1", "in the middle"),
        ("2", "anywhere"),
        ("2", "in a row"),
        ("3", "anywhere"),
        ("3", "in a row"),
        ("3", "anywhere on tiles"),
    ]
    assert [row.proof for row in rows] == [
        *("not all: proven", "not all: proven", "proven", "none possible", "not proven", "proven", "proven")
    ]
    assert rows[0].covered == "6 of 8"
    assert (rows[3].covered, rows[3].margin) == ("–", "–")
    assert rows[5].costs == "11 cm"
    assert len(words.head(LOCALE)) == len(rows[0])


def test_how_many_it_takes_is_said_layout_by_layout() -> None:
    text = words.sentences(LADDER, LOCALE)
    assert text[0] == "A 10 cm margin for everyone takes 3 arrays anywhere and 3 arrays in a row."
    assert text[1] == "Up to 3 arrays do not leave everyone 10 cm: anywhere on tiles. Proven."
    open_one = ladder(rung(1, "free", 0.05, outcome="unresolved", bound_m=0.2), rung(2, "free", 0.3))
    assert words.sentences(open_one, LOCALE)[0].endswith("2 arrays anywhere (fewer not ruled out).")
    none = ladder(rung(1, "free", 0.05, outcome="unresolved", bound_m=0.2))
    assert words.sentences(none, LOCALE)[0] == "One array was not found to leave everyone 10 cm: anywhere."


@pytest.mark.parametrize("units", ["m", "ft"])
def test_the_ladder_speaks_plainly(units: str) -> None:
    locale = Locale(units)
    said = [*words.head(locale), *words.sentences(LADDER, locale), words.picture_title(LADDER, locale)]
    said += [cell for row in words.rows(LADDER, locale) for cell in row]
    assert not found("\n".join(said))


def test_the_report_has_the_rows_and_the_sentences_and_nothing_without_a_ladder() -> None:
    told = _ladder(LADDER, LOCALE)
    assert told is not None
    assert told["rows"] == [list(row) for row in words.rows(LADDER, LOCALE)]
    assert told["text"] == words.sentences(LADDER, LOCALE)
    assert _ladder(None, LOCALE) is None


def test_the_picture_has_a_mark_for_every_rung_with_a_place_and_is_the_same_each_time() -> None:
    text = ladder_picture(LADDER, LOCALE, "svg")
    assert isinstance(text, str)
    assert text == ladder_picture(LADDER, LOCALE, "svg")
    ElementTree.fromstring(text)
    assert not re.search(r"https?://(?!www\.w3\.org)", text)
    png = ladder_picture(LADDER, Locale("ft"), "png")
    assert isinstance(png, bytes)
    assert png.startswith(b"\x89PNG")


def test_marks_stand_where_the_margins_are() -> None:
    from viz.ladder_picture import _drawn

    drawn = _drawn(LADDER, LOCALE)
    kinds = 3  # of the legend
    marks = drawn["marks"]
    assert len(marks) == sum(one.margin_m is not None for one in LADDER.rungs) + kinds
    free = marks[:3]
    assert [mark["y"] for mark in free] == sorted((mark["y"] for mark in free), reverse=True)
    assert [mark["x"] for mark in free] == sorted(mark["x"] for mark in free)
    assert all(0 < mark["x"] < drawn["wide"] and 0 < mark["y"] < drawn["tall"] for mark in marks)
