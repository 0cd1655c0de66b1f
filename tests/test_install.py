"""The plain, non-editable install: what the wheel holds, and that it works with nothing else around it."""

from __future__ import annotations

import configparser
import json
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path, PurePosixPath

import pytest

from tests.tree import ROOT, tracked

PACKAGES = ("geometry", "scenes", "viz")
LEFT_OUT = ("viz/page/source/", "viz/start/source/", "viz/pictures/")
"""What the pages' bundles are built from (the bundles are installed, their source is not), and the README's picture.
Pages of reference (.md) are read in the repository."""

# Runs a command of the unpacked wheel, then tells on the error stream where its modules were loaded from.
# With -I neither the working directory nor PYTHONPATH is looked at.
RUN = """
import json, sys
sys.path.insert(0, sys.argv.pop(1))
from viz.commands.main import main
try:
    main()
finally:
    files = {name: module.__file__ for name, module in sys.modules.items()
             if name.split(".")[0] in ("geometry", "scenes", "viz") and module.__file__}
    print(json.dumps(files), file=sys.stderr)
"""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel built from a copy of the tracked files: building leaves folders behind where it is done."""
    copy, made = tmp_path_factory.mktemp("copy"), tmp_path_factory.mktemp("wheel")
    for name in tracked():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, copy / name)
    told = subprocess.run(
        [
            *(sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "--no-index"),
            *("--disable-pip-version-check", "--wheel-dir", str(made), str(copy)),
        ],
        capture_output=True,
        text=True,
    )
    assert told.returncode == 0, told.stdout + told.stderr
    (only,) = made.glob("*.whl")
    return only


@pytest.fixture(scope="module")
def unpacked(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("installed")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder)
    return folder


def run(unpacked: Path, cwd: Path, *arguments: str) -> tuple[int, str, dict[str, str]]:
    """Exit status, output, and the files of the modules that were loaded."""
    told = subprocess.run(
        [sys.executable, "-I", "-c", RUN, str(unpacked), *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    lines = told.stderr.splitlines()
    assert lines[:-1] == [], told.stderr
    return told.returncode, told.stdout, json.loads(lines[-1])


def test_the_wheel_holds_the_three_floors_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    wanted = {
        name
        for name in tracked()
        if name.split("/")[0] in PACKAGES and not name.startswith(LEFT_OUT) and not name.endswith(".md")
    }
    assert held == wanted
    # The same said outright, for a file that git does not know either would be missed by both.
    assert held >= {
        "geometry/py.typed",
        "scenes/py.typed",
        "scenes/rules.yaml",
        "scenes/rooms/__init__.py",
        "scenes/rooms/heron.yaml",
        "viz/py.typed",
        "viz/fonts/OFL.txt",
        "viz/page/bundle/page.css",
        "viz/page/bundle/page.js",
        "viz/sheets/layers.yaml",
    }
    assert any(PurePosixPath(name).suffix == ".ttf" for name in held)


def test_the_wheel_brings_the_command(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (name for name in archive.namelist() if name.endswith(".dist-info/entry_points.txt"))
        scripts = configparser.ConfigParser()
        scripts.read_string(archive.read(name).decode("utf-8"))
    assert dict(scripts["console_scripts"]) == {"overtable": "viz.commands.main:main"}


def test_check_works_from_the_wheel_alone(unpacked: Path, tmp_path: Path) -> None:
    room = unpacked / "scenes" / "rooms" / "weir.yaml"
    status, out, files = run(unpacked, tmp_path, "check", str(room), "--json")
    assert (status, json.loads(out)["verdict"]) == (1, "fail")
    assert {"viz.commands", "scenes.review.review", "geometry.band"} <= files.keys()
    assert {name for name, file in files.items() if not Path(file).is_relative_to(unpacked)} == set()
    assert list(tmp_path.iterdir()) == []


def test_page_and_sheets_find_their_bundle_fonts_and_layers_in_the_wheel(
    unpacked: Path, tmp_path: Path
) -> None:
    room = str(unpacked / "scenes" / "rooms" / "heron.yaml")
    for arguments in (("page", room, "-o", "heron.html"), ("sheets", room, "-o", "sheets")):
        status, _, files = run(unpacked, tmp_path, *arguments)
        assert status == 0
        assert {name for name, file in files.items() if not Path(file).is_relative_to(unpacked)} == set()
    assert "<canvas" in (tmp_path / "heron.html").read_text(encoding="utf-8")
    assert {".dxf", ".svg", ".pdf"} <= {file.suffix for file in (tmp_path / "sheets").iterdir()}
