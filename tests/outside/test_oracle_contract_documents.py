"""Margins and clearances read out of terminal, page, report, DXF and CSV are the same text."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.outside.oracle import documents, product
from tests.viz.handed import Handed

ROOMS = product.ROOT / "scenes" / "rooms"


@pytest.mark.parametrize("name", ["weir", "ferry"])
def test_a_margin_and_a_clearance_are_one_text_everywhere(
    name: str, handed_over: Callable[[str], Handed], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = handed_over(name).folder
    rows = documents.in_csv(folder / "data" / "heads.csv")
    ids = list(rows)
    monkeypatch.setenv("COLUMNS", "140")
    terminal = product.run("check", ROOMS / f"{name}.yaml", "--all").out
    page = (folder / "page.html").read_text("utf-8")
    report = documents.pdf_lines(folder / "report.pdf")
    told = {
        "terminal": documents.in_table(terminal.splitlines(), ids),
        "page": documents.on_page(page, ids),
        "report": documents.in_table(report, ids),
        "drawing": documents.in_dxf(folder / "sheets" / "01-floor-plan.dxf", ids),
    }
    texts = {where: {id: told.margin for id, told in rows.items()} for where, rows in told.items()}
    # a spreadsheet takes what begins with a plus for a formula unless a space stands before it
    texts["table"] = {id: row["margin"].strip() for id, row in rows.items()}
    assert set(texts["terminal"]) == set(ids)
    for where, rows_there in texts.items():
        assert rows_there == texts["terminal"], where
    for where, text in (
        ("terminal", terminal),
        ("page", documents.page_words(page)),
        ("report", "\n".join(report)),
    ):
        assert not missing(folder / "data" / "clearances.csv", text), where


def missing(table: Path, text: str) -> list[dict[str, str]]:
    """The clearances of a table that are not in a document with the same two figures beside the same thing."""
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) > 10
    plain = re.sub(r"\s+", " ", text)
    return [row for row in rows if f"{row['required']} {row['actual']} {row['state']}" not in plain]
