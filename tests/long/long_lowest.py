"""The lowest declared version of every package: each command on a demo room. It runs where only those are installed."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import subprocess
import sys
import tomllib
import urllib.request
import xml.etree.ElementTree as ElementTree
import zipfile
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

import ezdxf
import pypdf
import pytest
import trimesh
from jsonschema import Draft202012Validator
from PIL import Image
from websockets.sync.client import connect

ROOT = Path(__file__).parents[2]
ROOMS = Path(str(files("scenes.rooms")))
PATIENCE_S = 120


def declared() -> dict[str, str]:
    """The lowest version of each package that pyproject.toml names."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    bounds = {}
    for line in [*project["dependencies"], *extras["models"], *extras["test"]]:
        if found := re.fullmatch(r"([\w-]+)>=([\d.]+)", line):
            bounds[found[1]] = found[2]
        else:
            assert line == "overtable[models]", line
    return bounds


@pytest.mark.parametrize("package", sorted(declared()))
def test_the_version_here_is_the_lowest_declared(package: str) -> None:
    # a bound that no wheel has is answered with a higher version: then the bound is what is wrong
    assert f"{version(package)}.".startswith(f"{declared()[package]}.")


def overtable(folder: Path, *arguments: object) -> str:
    """What a command says, which has to end well."""
    done = subprocess.run(
        [sys.executable, "-m", "viz.commands", *map(str, arguments)],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "Warning" not in done.stderr
    return done.stdout


@pytest.fixture
def room(tmp_path: Path) -> Path:
    for name in ("heron.yaml", "devices.yaml"):
        (tmp_path / name).write_bytes((ROOMS / name).read_bytes())
    return tmp_path


def test_check(room: Path) -> None:
    assert json.loads(overtable(room, "check", "heron.yaml", "--json"))["verdict"] == "pass"
    assert "All 8 talkers are covered" in overtable(room, "check", "heron.yaml", "--all")


def test_heights_and_their_picture(room: Path) -> None:
    assert "m" in overtable(room, "heights", "heron.yaml", "--picture", "heights.svg")
    assert ElementTree.parse(room / "heights.svg").getroot().tag.endswith("svg")


def test_place(room: Path) -> None:
    answer = json.loads(overtable(room, "place", "heron.yaml", "--json"))
    assert answer["aim_gap"] <= 0.001


def test_schema(room: Path) -> None:
    Draft202012Validator.check_schema(json.loads(overtable(room, "schema")))


def test_page(room: Path) -> None:
    overtable(room, "page", "heron.yaml", "-o", "heron.html")
    assert "<title>" in (room / "heron.html").read_text(encoding="utf-8")


def test_sheets(room: Path) -> None:
    overtable(room, "sheets", "heron.yaml", "-o", "sheets")
    drawings = sorted((room / "sheets").glob("*.dxf"))
    assert len(drawings) > 3
    for drawing in drawings:
        audit = ezdxf.readfile(drawing).audit()
        assert not audit.errors, drawing.name


def test_report(room: Path) -> None:
    overtable(room, "report", "heron.yaml", "-o", "heron.pdf")
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(room / "heron.pdf").pages)
    assert "Heron" in text


def test_stills(room: Path) -> None:
    overtable(room, "stills", "heron.yaml", "-o", "pictures", "--view", "corner", "--view", "plan")
    for path in (room / "pictures").glob("*.png"):
        assert len(set(Image.open(path).convert("RGB").resize((64, 64)).getdata())) > 20


@pytest.mark.parametrize("ending", ["glb", "obj", "stl"])
def test_export_of_a_model(room: Path, ending: str) -> None:
    overtable(room, "export", "heron.yaml", f"heron.{ending}")
    assert trimesh.load(room / f"heron.{ending}", force="scene").extents.max() > 3


def test_export_of_an_ifc_and_its_import(room: Path) -> None:
    overtable(room, "export", "heron.yaml", "heron.ifc")
    assert "Heron" in overtable(room, "import", "heron.ifc")


@pytest.mark.parametrize("ending", ["csv", "json", "dxf", "bcf"])
def test_export_of_a_table_a_drawing_and_open_points(room: Path, ending: str) -> None:
    overtable(room, "export", "heron.yaml", f"heron.{ending}")
    content = (room / f"heron.{ending}").read_bytes()
    if ending == "bcf":
        assert "bcf.version" in zipfile.ZipFile(io.BytesIO(content)).namelist()
    else:
        assert b"A1" in content


def test_handover(room: Path) -> None:
    overtable(room, "handover", "heron.yaml", "-o", "out")
    assert (room / "out" / "index.html").is_file()


def test_new(room: Path) -> None:
    overtable(room, "new", "-o", "new.yaml", "--yes")
    assert "overtable: 1" in (room / "new.yaml").read_text(encoding="utf-8")


def test_demo(tmp_path: Path) -> None:
    assert "All 8 talkers are covered" in overtable(tmp_path, "demo")


def test_live(room: Path) -> None:
    command = [sys.executable, "-m", "viz.commands", "live", "heron.yaml", "--no-browser"]
    with subprocess.Popen(
        command, cwd=room, env={**os.environ, "PYTHONPATH": str(ROOT)}, stderr=subprocess.PIPE, text=True
    ) as started:
        assert started.stderr is not None
        try:
            address = started.stderr.readline().split(" at ")[1].strip()
            with urllib.request.urlopen(address, timeout=PATIENCE_S) as page:
                assert b"<title>" in page.read()
            origin = address.partition("//")[0] + "//" + address.split("/")[2]
            with connect(address.replace("http:", "ws:") + "talk", origin=origin, max_size=None) as line:
                line.send(json.dumps({"kind": "put", "array": "A1", "height_m": 2.1}))
                assert json.loads(line.recv(timeout=PATIENCE_S))["kind"] == "now"
        finally:
            started.send_signal(signal.SIGINT)
            assert started.wait(PATIENCE_S) == 0
