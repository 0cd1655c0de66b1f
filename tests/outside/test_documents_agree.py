"""Terminal, page, report, DXF and CSV read back: they have the numbers, states, counts and verdict of `check --json`."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.outside.oracle import documents, product

ROOMS = product.ROOT / "scenes" / "rooms"


class Papers(NamedTuple):
    """One room: its review, and the documents made of it."""

    review: dict[str, Any]
    terminal: str
    page: str
    dxf: Path
    csv: Path

    @property
    def ids(self) -> list[str]:
        """The ids of all heads."""
        return [head["id"] for head in self.review["heads"]]


@pytest.fixture(scope="module", params=["weir", "ferry"])
def papers(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Papers:
    """weir cannot be covered by its array and is in metres; ferry is in feet and inches."""
    folder = tmp_path_factory.mktemp(request.param)
    for file in ("devices.yaml", f"{request.param}.yaml"):
        shutil.copy(ROOMS / file, folder)
    spec = folder / f"{request.param}.yaml"
    made = {ending: folder / f"out.{ending}" for ending in ("html", "dxf", "csv")}
    terminal = product.run("check", spec)
    assert product.run("page", spec, "-o", made["html"]).status in (0, 1)
    for ending in ("dxf", "csv"):
        assert product.run("export", spec, made[ending]).status in (0, 1)
    return Papers(
        product.asked("check", spec),
        terminal.out,
        made["html"].read_text("utf-8"),
        made["dxf"],
        made["csv"],
    )


def test_the_terminal_has_the_reviews_margins_and_states(papers: Papers) -> None:
    told = documents.in_table(papers.terminal.splitlines(), papers.ids)
    assert list(documents.disagreements(told, papers.review["heads"])) == []


def test_the_page_has_the_reviews_margins_and_states(papers: Papers) -> None:
    told = documents.on_page(papers.page, papers.ids)
    assert list(documents.disagreements(told, papers.review["heads"])) == []


def test_the_report_has_the_reviews_margins_states_and_verdict(tmp_path: Path) -> None:
    # of one room: it is the dearest of all documents
    for file in ("devices.yaml", "ferry.yaml"):
        shutil.copy(ROOMS / file, tmp_path)
    spec, pdf = tmp_path / "ferry.yaml", tmp_path / "ferry.pdf"
    review = product.asked("check", spec)
    assert product.run("report", spec, "-o", pdf).status in (0, 1)
    lines = documents.pdf_lines(pdf)
    told = documents.in_table(lines, [head["id"] for head in review["heads"]])
    assert list(documents.disagreements(told, review["heads"])) == []
    assert_one_verdict_and_count(review, "\n".join(lines))


def test_the_drawing_has_the_reviews_margins_and_states(papers: Papers) -> None:
    told = documents.in_dxf(papers.dxf, papers.ids)
    assert list(documents.disagreements(told, papers.review["heads"])) == []


def test_the_drawing_has_where_the_array_hangs(papers: Papers) -> None:
    [array] = papers.review["arrays"]
    found = [
        tags for tags in documents.blocks(papers.dxf) if tags.get("TAG") == array["id"] and "DROP" in tags
    ]
    assert found
    for tags in found:
        for tag, key in (("HEIGHT", "height_m"), ("DROP", "drop_m"), ("UNDERSIDE", "underside_m")):
            value, step = documents.length(tags[tag], "mm")
            assert value == pytest.approx(array[key], abs=step / 2 + 1e-9)


CSV_COLUMNS = {
    "upright_margin_m": "slack_m",
    "margin_m": "margin_m",
    "distance_m": "slant_m",
    "angle_down_deg": "depression_deg",
    "from_centre_deg": "off_centre_deg",
    "lean_m": "sway_m",
}
"""The table's columns, as people call them, and the keys of the JSON that hold the same numbers."""


WORDS = {"covered": "covered", "marginal": "upright only", "blocked": "blocked", "missed": "not covered"}
"""The states as people read them, by the words of the contract's JSON."""


def test_the_table_has_the_reviews_numbers(papers: Papers) -> None:
    rows = documents.in_csv(papers.csv)
    assert list(rows) == papers.ids
    for head in papers.review["heads"]:
        row = rows[head["id"]]
        for column, key in CSV_COLUMNS.items():
            assert float(row[column]) == head[key], (head["id"], key)
        assert row["state"] == WORDS[head["state"]]
        for key in ("array", "sight", "posture"):
            assert row[key] == head[key]


def test_they_all_have_one_verdict_and_one_count(papers: Papers) -> None:
    assert documents.page_verdict(papers.page) == papers.review["verdict"]
    assert_one_verdict_and_count(papers.review, papers.terminal)
    assert_one_verdict_and_count(papers.review, documents.page_words(papers.page))


def assert_one_verdict_and_count(review: dict[str, Any], text: str) -> None:
    """A document names the review's verdict, and how many of how many people are covered."""
    people: dict[str, set[str]] = {}
    for head in review["heads"]:
        person = head.get("person", head["id"])
        people.setdefault(person, set()).add("covered" if head["state"] == "covered" else "not")
    covered = sum(states == {"covered"} for states in people.values())
    count = rf"\b{covered} of {len(people)}\b"
    if covered == len(people):
        count += rf"|\bAll {covered} talkers\b"
    assert re.search(count, text)
    assert re.search(rf"\b{review['verdict']}\b", text, re.IGNORECASE)


@pytest.mark.parametrize(
    ("text", "metres", "step"),
    [
        ("+0.08 m", 0.08, 0.01),
        ("−17 cm", -0.17, 0.01),
        ("-1.26", -1.26, 0.01),
        ('18 1/4"', 18.25 * 0.0254, 0.0254 / 4),
        ('−2 7/8"', -2.875 * 0.0254, 0.0254 / 8),
        ('1/4"', 0.25 * 0.0254, 0.0254 / 4),
        ('20"', 20 * 0.0254, 0.0254),
        ("9'-0\"", 9 * 0.3048, 0.0254),
        ("3'-9 1/4\"", 45.25 * 0.0254, 0.0254 / 4),
        ("27 mm", 0.027, 0.001),
    ],
)
def test_lengths_are_read_back(text: str, metres: float, step: float) -> None:
    assert documents.length(text) == pytest.approx((metres, step))


def test_a_wrong_number_and_a_word_for_two_states_are_found() -> None:
    heads = [
        {"id": "S1", "margin_m": 0.084, "state": "covered"},
        {"id": "S2", "margin_m": -0.17, "state": "missed"},
    ]
    right = {"S1": documents.Told("+8 cm", "covered"), "S2": documents.Told("−17 cm", "missed: too near")}
    assert list(documents.disagreements(right, heads)) == []
    for wrong in (
        {"S1": documents.Told("+9.5 cm", "covered")},
        {"S1": documents.Told("−8 cm", "covered")},
        {"S2": documents.Told("−17 cm", "covered")},
    ):
        assert list(documents.disagreements({**right, **wrong}, heads))
    assert list(documents.disagreements({"S1": right["S1"]}, heads))
