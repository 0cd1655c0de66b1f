"""The designer's own criteria: `check --json`, terminal, page and report have one count, got from the heads again."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from scenes.dossier import Dossier
from scenes.room.build import read_scene
from tests.viz.rooms import DEMO_ROOMS
from viz.commands.app import run
from viz.page import page
from viz.report import report_data

NEAR_M, FAR_M, MOST_DEG = 1.5, 2.5, 10.0


@pytest.fixture(params=["heron", "weir"])
def asked(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A demo room whose designer has set criteria that some of the talkers miss; in weir somebody walks."""
    (tmp_path / "devices.yaml").write_bytes((DEMO_ROOMS / "devices.yaml").read_bytes())
    room = tmp_path / "room.yaml"
    text = (DEMO_ROOMS / f"{request.param}.yaml").read_text(encoding="utf-8")
    criteria = f"criteria: {{distance: [{NEAR_M}, {FAR_M}], off_centre: {MOST_DEG}}}\n"
    room.write_text(text + criteria, encoding="utf-8")
    return room


def test_one_count_in_json_terminal_page_and_report(asked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["check", str(asked), "--json"])
    told = json.loads(capsys.readouterr().out)
    heads = told["heads"]
    far = {head["person"] for head in heads if not NEAR_M <= head["slant_m"] <= FAR_M}
    off = {head["person"] for head in heads if abs(head["off_centre_deg"]) > MOST_DEG}
    distance, angle = told["criteria"]
    talkers = len({head["person"] for head in heads})
    assert talkers == told["counts"]["talkers"]
    assert 0 < len(far) < talkers
    assert 0 < len(off) < talkers
    assert distance == {
        "criterion": "distance", "near_m": NEAR_M, "far_m": FAR_M, "most_deg": None,
        "met": talkers - len(far), "talkers": talkers,
    }  # fmt: skip
    assert angle == {
        "criterion": "off_centre", "near_m": None, "far_m": None, "most_deg": MOST_DEG,
        "met": talkers - len(off), "talkers": talkers,
    }  # fmt: skip
    counts = [f"{talkers - len(some)} of {talkers} meet it." for some in (far, off)]

    run(["check", str(asked)])
    terminal = " ".join(capsys.readouterr().out.split())
    dossier = Dossier(read_scene(asked))
    report = " ".join(report_data(dossier, pictures={})["heights"]["text"])
    for text in (terminal, page(dossier), report):
        # what begins here, and ends with the count
        told_so = text.split("Design criterion (set by the designer): ")[1:]
        assert [re.search(r"\d+ of \d+ meet it\.", one)[0] for one in told_so] == counts
