"""The schedule of several rooms: a row an array as in the table, what is on hold struck out, room for a supplier."""

from __future__ import annotations

import pytest

from scenes.dossier import Dossier
from tests.viz.rooms import demo_scene
from viz.csvs import SCHEDULE_COLUMNS, schedule_rows
from viz.schedule_sheet import COLUMNS, schedule_data, schedule_pdf
from viz.words import cautions


@pytest.fixture(scope="module")
def dossiers() -> list[Dossier]:
    return [Dossier(demo_scene(name)) for name in ("heron", "weir", "ferry")]


def test_each_array_has_its_room_issue_verdict_and_figures_in_its_own_units(dossiers: list[Dossier]) -> None:
    rows = [row for dossier in dossiers for row in schedule_rows(dossier)]
    told = schedule_data(rows, "A4", None, ())
    assert told["of"].startswith("3 arrays in 3 rooms.")
    assert told["date"] == max(str(dossier.scene.document.date) for dossier in dossiers)
    cells = [
        {name: cell["lines"] for name, cell in zip(COLUMNS, row["cells"], strict=True)}
        for row in told["rows"]
    ]
    assert [one["room"] for one in cells] == [["Heron Room"], ["Weir Room"], ["Ferry Room"]]
    assert cells[0]["issue"] == ["AV-201", "Revision A", "2026-11-25"]
    assert cells[0]["walls"] == ["3.30\u00a0m from wall W4", "2.25\u00a0m from wall W1"]
    assert cells[2]["walls"] == ["12'-0\" from wall W4", "8'-0\" from wall W1"]
    assert cells[2]["array"] == ["A1", "basin", "7.5\u00a0lb (3.4\u00a0kg)"]


def test_a_room_on_hold_says_so_with_its_reason_and_what_would_be_set_is_marked(
    dossiers: list[Dossier],
) -> None:
    told = schedule_data(schedule_rows(dossiers[1]), "A4", None, ())
    (row,) = told["rows"]
    assert row["held"]
    assert row["note"] == cautions.hold(dossiers[1].review)
    by_name = dict(zip(COLUMNS, row["cells"], strict=True))
    assert by_name["verdict"]["lines"] == ["HOLD: do not hang"]
    assert [name for name, cell in by_name.items() if cell["set"]] == [
        *("walls", "underside", "band", "suspension"),
    ]


def test_it_is_set_and_the_same_rows_give_the_same_bytes(dossiers: list[Dossier]) -> None:
    rows = schedule_rows(dossiers[0])
    made = [schedule_pdf(rows, paper="Letter", advice=("Advice.",)) for _ in range(2)]
    assert made[0] == made[1]
    assert made[0].startswith(b"%PDF-")
    with pytest.raises(ValueError, match="paper 'A9'"):
        schedule_pdf(rows, paper="A9")


def test_the_table_has_columns_for_the_supplier() -> None:
    assert {"supplied_by", "order_number"} <= set(SCHEDULE_COLUMNS)
