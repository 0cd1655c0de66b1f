"""`overtable as-built`: what it says, its exit status, and the papers of the room as it hangs."""

from __future__ import annotations

import csv
import io

import viz.report_as_hung
from scenes.dossier import Dossier
from scenes.room.build import build
from scenes.spec.reading import read_spec
from tests.viz.test_handover import EMPTY_PDF
from viz.csvs import schedule_csv

MEASURED = """overtable: 1
units: mm
date: 2026-11-28
arrays:
  - {id: A1, off_walls: [3306, 2250], underside: UNDER}
"""


def test_the_room_as_it_hangs_is_judged_and_drawn(rooms, run, monkeypatch):
    monkeypatch.setattr(viz.report_as_hung, "report_as_hung", lambda *_, **__: EMPTY_PDF)
    measured, folder = rooms / "measured.yaml", rooms / "built"
    measured.write_text(MEASURED.replace("UNDER", "2162"), "utf-8")
    code, out, err = run("as-built", rooms / "heron.yaml", measured, "-o", folder)
    assert (code, err) == (0, "")
    assert out.startswith(
        "The room holds as it hangs.\nA1: 6 mm farther from W4 (±55 mm), 2 mm high (+38 mm), level not measured,"
    )
    names = sorted(path.name for path in folder.iterdir())
    assert names == [
        *("as-hung-cards.pdf", "as-hung-report.pdf", "heron-room-as-hung.dxf", "heron-room-as-hung.pdf"),
    ]
    drawing = (folder / "heron-room-as-hung.dxf").read_text("utf-8")
    for words in ("AS HUNG: not for setting out", "Heron Room, AS HUNG", "AV-201-AB.1", "2026-11-28"):
        assert words in drawing


def test_what_does_not_hold_exits_1_and_a_wrong_file_2(rooms, run):
    measured = rooms / "measured.yaml"
    measured.write_text(MEASURED.replace("UNDER", "2240"), "utf-8")
    code, out, _ = run("as-built", rooms / "heron.yaml", measured)
    assert code == 1
    assert "Correct first: lower A1 by 80 mm. The room then holds." in out
    measured.write_text(MEASURED.replace("UNDER", "2240, height: 2"), "utf-8")
    code, out, err = run("as-built", rooms / "heron.yaml", measured)
    assert (code, out) == (2, "")
    assert "arrays[0].height" in err


def test_a_schedule_whose_design_was_written_over_is_refused(rooms, run):
    scene = build(read_spec(rooms / "heron.yaml"))
    text = schedule_csv(Dossier(scene))
    table = rooms / "schedule.csv"
    table.write_text(text, "utf-8", newline="")
    code, out, err = run("as-built", rooms / "heron.yaml", table)
    assert (code, out) == (2, "")
    assert "Nothing measured is written into this table." in err
    [row] = csv.DictReader(io.StringIO(text, newline=""))
    filled = row | {"measured_underside": "2162", "measured_level_deg": "0.2"}
    # as a spreadsheet saves it: with fewer digits, and a semicolon between the cells
    _save(table, filled | {"x_off_wall_m": "3.30", "turn_deg": "0"}, ";")
    assert run("as-built", rooms / "heron.yaml", table)[0] == 0
    for column, cell in (("underside", "2.20 m"), ("x_off_wall_m", "3.4"), ("level_deg", "0.3")):
        _save(table, filled | {column: cell})
        code, out, err = run("as-built", rooms / "heron.yaml", table)
        assert (code, out) == (2, "")
        assert err.count(f"{column}  Here stands {cell}; the design has ") == 1
    _save(table, filled | {"room": "Weir Room"})
    code, out, err = run("as-built", rooms / "heron.yaml", table)
    assert code == 2
    assert "This was measured in Weir Room, and the spec is of Heron Room: give the file of this room." in err


def _save(path, row, delimiter=","):
    with path.open("w", encoding="utf-8", newline="") as stream:
        table = csv.DictWriter(stream, list(row), delimiter=delimiter)
        table.writeheader()
        table.writerow(row)
