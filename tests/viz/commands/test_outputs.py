"""What the commands do with outputs: whose files they replace, how they name them, what stops them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from viz import views
from viz.outputs import unique_slugs
from viz.stage import staged

ROOT = Path(__file__).parents[3]

# a try-out: arrays and cameras whose ids have no letter of a file's name, and two that differ by what names drop
COLLIDING = """
overtable: 1
name: Corner Room
units: m
room: {size: [6.0, 4.2], ceiling: 2.7, grid: {pitch: [0.6, 0.6]}}
tables:
  - {id: T1, shape: rectangle, size: [2.4, 1.1], at: [3.0, 2.1]}
seats:
  - {around: T1, pitch: 0.75, gap: 0.25}
profiles:
  reed:
    mount: pendant
    body: {diameter: 0.24, height: 0.07}
    bands: {outer: [9, 26], main: [24, 69]}
    reach: [0.8, 3.2]
arrays:
  - {id: "甲", profile: reed, at: [2.0, 2.1], height: 2.2, band: main}
  - {id: "乙", profile: reed, at: [4.2, 2.1], height: 2.2, band: main}
  - {id: A1, profile: reed, at: [4.2, 3.3], height: 2.2, band: main}
  - {id: a1, profile: reed, at: [2.0, 3.3], height: 2.2, band: main}
cameras:
  - {id: "左", at: [5.9, 2.1, 1.15], aim: [3, 2.1, 1.1], angle: 80}
  - {id: "C.1", at: [5.9, 1.0, 1.15], aim: [3, 2.1, 1.1], angle: 80}
  - {id: "C 1", at: [0.1, 2.1, 1.15], aim: [3, 2.1, 1.1], angle: 80}
"""


@pytest.fixture
def colliding(tmp_path) -> Path:
    path = tmp_path / "corner.yaml"
    path.write_text(COLLIDING, "utf-8")
    return path


def test_no_two_pictures_share_a_file(colliding, run):
    views_asked = [word for view in ("camera:左", "camera:C.1", "camera:C 1") for word in ("--view", view)]
    folder = colliding.parent / "pictures"
    code, out, _ = run("stills", colliding, "-o", folder, "--size", "160x120", "--no-legend", *views_asked)
    assert code in (0, 1)
    names = ["camera.png", "camera-c-1.png", "camera-c-1-2.png"]
    assert out.splitlines() == [str(folder / name) for name in names]
    assert len({(folder / name).read_bytes() for name in names}) == 3


def test_every_view_of_such_a_room_has_a_name_of_its_own(colliding):
    from scenes.dossier import Dossier
    from scenes.room.build import read_scene

    usual = views.usual(staged(Dossier(read_scene(colliding))))
    assert len(set(unique_slugs(usual))) == len(usual) > 15


def test_each_output_over_a_file_of_somebody_elses_is_refused_without_force(rooms, run, monkeypatch):
    # a try-out: `page heron.yaml -o weir.yaml` turned another room's spec into HTML, exit 0
    monkeypatch.chdir(rooms)
    before = (rooms / "weir.yaml").read_bytes()
    for command in ("page", "report"):
        code, out, err = run(command, "heron.yaml", "-o", "weir.yaml", "--force")
        assert (code, out) == (2, "")
        assert "has the ending .yaml" in err
    assert (
        run("page", "heron.yaml", "-o", "heron")[2] == "overtable: heron has no ending. Use .html or .htm.\n"
    )
    assert "heron has no ending. Use .glb, " in run("export", "heron.yaml", "heron")[2]
    for name in ("mine.html", "mine.pdf", "mine.glb", "mine.csv", "mine.json", "mine.svg"):
        (rooms / name).write_text("mine")
    for arguments in (
        ("page", "heron.yaml", "-o", "mine.html"),
        ("report", "heron.yaml", "-o", "mine.pdf"),
        ("export", "heron.yaml", "mine.glb"),
        ("export", "heron.yaml", "mine.csv"),
        ("heights", "heron.yaml", "--picture", "mine.svg"),
        ("place", "heron.yaml", "--aim", "centre", "--certificate", "mine.json"),
    ):
        code, _, err = run(*arguments)
        assert code == 2, arguments
        assert "--force to replace it" in err
    assert {path.read_text() for path in rooms.glob("mine.*")} == {"mine"}
    assert run("export", "heron.yaml", "mine.csv", "--force")[0] == 0
    assert run("export", "heron.yaml", "mine.csv")[0] == 0  # the same bytes again
    assert (rooms / "mine.csv").read_text().startswith("id,")
    assert (rooms / "weir.yaml").read_bytes() == before


def test_sheets_of_another_day_replace_their_own_and_nothing_if_one_was_changed(rooms, run):
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text().replace(", date: 2026-11-25", ""))
    folder = rooms / "sheets"
    for date in ("2026-11-25", "2026-11-26"):
        assert run("sheets", spec, "-o", folder, "--date", date)[0] == 0
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    changed = folder / "01-floor-plan.dxf"
    changed.write_bytes(changed.read_bytes() + b"999\nmine\n")
    code, out, err = run("sheets", spec, "-o", folder, "--date", "2026-11-27")
    assert (code, out) == (2, "")
    assert "01-floor-plan.dxf was not made by overtable, or was changed since" in err
    after = {path.name: path.read_bytes() for path in folder.iterdir() if path != changed}
    assert after == {name: content for name, content in before.items() if name != changed.name}


def test_a_name_longer_than_file_names_stops_no_sheet(rooms, run):
    # a try-out: a room's name of more than 240 letters ended in "File name too long"
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text().replace("name: Heron Room", f"name: {'Heron Room ' * 36}"))
    assert run("sheets", spec, "-o", rooms / "sheets")[0] == 0
    names = sorted(path.name for path in (rooms / "sheets").glob("*.pdf"))
    assert names == ["hang-cards.pdf", ("heron-room-" * 8)[:80].rstrip("-") + ".pdf"]


def test_layers_that_are_no_text_are_told(rooms, run):
    # a try-out: a traceback, exit 1
    layers = rooms / "layers.yaml"
    layers.write_bytes(b"wall: {layer: W\xe4nde}\n")
    code, out, err = run("sheets", rooms / "heron.yaml", "-o", rooms / "sheets", "--layers", layers)
    assert (code, out) == (2, "")
    assert "layers.yaml is not UTF-8 text (byte 15)" in err
    for text in ("when: 2026-13-45\n", "- [" * 3000):
        layers.write_text(text)
        assert run("sheets", rooms / "heron.yaml", "-o", rooms / "sheets", "--layers", layers)[0] == 2
    assert run("sheets", rooms / "heron.yaml", "-o", rooms / "sheets", "--layers", rooms)[0] == 2
    assert not (rooms / "sheets").exists()


def test_place_writes_no_file_that_is_read_only(rooms, run):
    # a try-out: a file of mode 0444 was rewritten
    spec = rooms / "heron.yaml"
    spec.write_bytes(spec.read_bytes().replace(b"height: 2.18", b"height: 2.25"))
    spec.chmod(0o444)
    before = spec.read_bytes()
    code, _, err = run("place", spec, "--aim", "margin", "--write", "--even-if-worse")
    assert code == 2
    assert "heron.yaml is read-only" in err
    assert spec.read_bytes() == before


def test_settings_of_other_programs_change_no_sheet(rooms):
    # a try-out: a home that cannot be entered ended sheets with "ezdxf.ini: Permission denied"
    (rooms / "ezdxf.ini").write_text("[CORE]\nDISABLE_C_EXT = nonsense\n[[broken\n")
    done = subprocess.run(
        [sys.executable, "-m", "viz.commands", "sheets", "heron.yaml", "-o", "sheets"],
        cwd=rooms,
        env={**os.environ, "PYTHONPATH": str(ROOT), "HOME": "/proc/1/cwd/nowhere"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize(("room", "fails"), [("weir", True), ("heron", False)])
def test_a_command_says_on_the_terminal_what_a_room_that_fails_is_not_for(rooms, run, tmp_path, room, fails):
    code, out, err = run(
        "stills", rooms / f"{room}.yaml", "-o", tmp_path / "out", "--size", "160x120", "--view", "plan"
    )
    assert code == (1 if fails else 0)
    assert out.splitlines() == [str(tmp_path / "out" / "plan.png")]
    lines = err.splitlines()
    assert any(line.startswith("Fail. ") for line in lines) == fails
    assert any(line.startswith("Not for installation: 2 of 12 talkers") for line in lines) == fails
