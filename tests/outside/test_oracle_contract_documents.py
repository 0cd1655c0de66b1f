"""Margins read out of terminal, page, report, DXF and CSV are the same text."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.outside.oracle import documents, product

ROOMS = product.ROOT / "scenes" / "rooms"


@pytest.mark.parametrize("name", ["weir", "ferry"])
def test_a_margin_is_one_text_everywhere(tmp_path: Path, name: str) -> None:
    for file in ("devices.yaml", f"{name}.yaml"):
        shutil.copy(ROOMS / file, tmp_path)
    spec = tmp_path / f"{name}.yaml"
    ids = [head["id"] for head in product.asked("check", spec)["heads"]]
    page, report = tmp_path / "page.html", tmp_path / "report.pdf"
    for command, written in (("page", page), ("report", report)):
        assert product.run(command, spec, "-o", written).status in (0, 1)
    for ending in ("dxf", "csv"):
        assert product.run("export", spec, tmp_path / f"out.{ending}").status in (0, 1)
    told = {
        "terminal": documents.in_table(product.run("check", spec).out.splitlines(), ids),
        "page": documents.on_page(page.read_text("utf-8"), ids),
        "report": documents.in_table(documents.pdf_lines(report), ids),
        "drawing": documents.in_dxf(tmp_path / "out.dxf", ids),
    }
    texts = {where: {id: told.margin for id, told in rows.items()} for where, rows in told.items()}
    # a spreadsheet takes what begins with a plus for a formula unless a space stands before it
    texts["table"] = {id: row["margin"].strip() for id, row in documents.in_csv(tmp_path / "out.csv").items()}
    assert set(texts["terminal"]) == set(ids)
    for where, rows in texts.items():
        assert rows == texts["terminal"], where
