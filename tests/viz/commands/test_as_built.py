"""`overtable as-built`: what it says, its exit status, and the papers of the room as it hangs."""

from __future__ import annotations

import viz.report
from tests.viz.test_handover import EMPTY_PDF

MEASURED = """overtable: 1
units: mm
date: 2026-11-28
arrays:
  - {id: A1, off_walls: [3306, 2250], underside: UNDER}
"""


def test_the_room_as_it_hangs_is_judged_and_drawn(rooms, run, monkeypatch):
    monkeypatch.setattr(viz.report, "report_pdf", lambda *_, **__: EMPTY_PDF)
    measured, folder = rooms / "measured.yaml", rooms / "built"
    measured.write_text(MEASURED.replace("UNDER", "2162"), "utf-8")
    code, out, err = run("as-built", rooms / "heron.yaml", measured, "-o", folder)
    assert (code, err) == (0, "")
    assert out.startswith("The room holds as it hangs.\nA1 hangs 6 mm farther from W4 and 2 mm high.\nPass. ")
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["hang-cards.pdf", "heron-room.dxf", "heron-room.pdf", "report.pdf"]
    drawing = (folder / "heron-room.dxf").read_text("utf-8")
    for words in ("As built", "2026-11-28"):
        assert words in drawing


def test_what_does_not_hold_exits_1_and_a_wrong_file_2(rooms, run):
    measured = rooms / "measured.yaml"
    measured.write_text(MEASURED.replace("UNDER", "2240"), "utf-8")
    code, out, _ = run("as-built", rooms / "heron.yaml", measured)
    assert code == 1
    assert "Correct first: lower A1 by 80 mm. The room then holds as designed." in out
    measured.write_text(MEASURED.replace("UNDER", "2240, height: 2"), "utf-8")
    code, out, err = run("as-built", rooms / "heron.yaml", measured)
    assert (code, out) == (2, "")
    assert "arrays[0].height" in err
