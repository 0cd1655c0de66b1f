"""The demo command: a room to try, and what is done to it stays."""

from __future__ import annotations

import json

import pytest

from viz.commands.demo import ROOMS, room_text


def test_a_demo_is_made_again_but_not_over_what_was_changed(tmp_path, run, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, _ = run("demo")
    assert code == 0
    folder = tmp_path / "overtable-demo"
    assert {path.name for path in folder.iterdir()} == {
        *("heron.yaml", "devices.yaml", "heron.json", "heron-corner.png", "heron-plan.png", ".overtable")
    }
    assert json.loads((folder / "heron.json").read_text())["verdict"] == "pass"
    assert "overtable place heron.yaml" in out
    (folder / "notes.txt").write_text("mine")
    assert run("demo")[0] == 0
    spec = folder / "heron.yaml"
    spec.write_text(spec.read_text().replace("height: 2.18", "height: 2.3"))
    edited = spec.read_text()
    code, out, err = run("demo")
    assert (code, out) == (2, "")
    assert "heron.yaml" in err
    assert spec.read_text() == edited
    assert run("demo", "--force")[0] == 0
    assert spec.read_text("utf-8") == room_text("heron")
    assert (folder / "notes.txt").read_text() == "mine"


def test_the_rooms_are_those_it_says():
    for name in ROOMS:
        assert room_text(name).startswith("overtable: 1") or "overtable: 1" in room_text(name)
    with pytest.raises(KeyError):
        room_text("../secret")
