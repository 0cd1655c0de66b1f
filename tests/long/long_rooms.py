"""Hundreds of rooms at once: each is answered, in order, whatever the others are."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = Path(str(files("scenes.rooms")))
NAMES = ("heron", "wharf", "loft", "weir", "ferry")
STATUS = {"heron": "pass", "wharf": "pass", "loft": "caution", "weir": "fail", "ferry": "pass"}
MANY, BROKEN = 400, 123
FEWER = 24
MOST_BYTES = 1 << 30


def overtable(folder: Path, *arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "viz.commands", *map(str, arguments)],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def project(tmp_path: Path) -> Path:
    (tmp_path / "devices.yaml").write_bytes((ROOMS / "devices.yaml").read_bytes())
    for number in range(MANY):
        text = (ROOMS / f"{NAMES[number % len(NAMES)]}.yaml").read_text("utf-8")
        (tmp_path / f"room-{number:03}.yaml").write_text(text, "utf-8")
    (tmp_path / f"room-{BROKEN:03}.yaml").write_text("overtable: 1\n", "utf-8")
    return tmp_path


def test_check_answers_each_of_hundreds(project: Path) -> None:
    specs = sorted(path.name for path in project.glob("room-*.yaml"))
    done = overtable(project, "check", *specs, "--json")
    assert done.returncode == 2
    answers = json.loads(done.stdout)
    for number, answer in enumerate(answers):
        if number == BROKEN:
            assert answer["format"] == "overtable/mistakes/1"
        else:
            assert answer["verdict"] == STATUS[NAMES[number % len(NAMES)]]
    assert len(answers) == MANY
    assert 1024 * resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss < MOST_BYTES


def test_handover_makes_a_folder_of_each_of_many(project: Path) -> None:
    specs = [f"room-{number:03}.yaml" for number in range(FEWER)]
    done = overtable(project, "handover", *specs, "-o", "out", "--no-pictures")
    assert done.returncode == 1, done.stderr
    assert sorted(path.name for path in (project / "out").iterdir() if path.is_dir()) == [
        name.removesuffix(".yaml") for name in specs
    ]
    listed = subprocess.run(
        ["sha256sum", "--quiet", "-c", ".overtable"], cwd=project / "out", capture_output=True, check=False
    )
    assert (listed.returncode, listed.stdout) == (0, b"")
    before = {path: path.read_bytes() for path in (project / "out").rglob("*") if path.is_file()}
    assert overtable(project, "handover", *specs, "-o", "out", "--no-pictures").returncode == 1
    assert {path: path.read_bytes() for path in (project / "out").rglob("*") if path.is_file()} == before
