"""What we write, read by programs that are not ours: a DXF parser and an HTML validator from npm."""

from __future__ import annotations

import json
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path

import ifcopenshell
import ifcopenshell.validate
import pytest

from scenes.dossier import Dossier
from scenes.room.build import read_scene
from viz.building import hand_over_many
from viz.handover import Settings
from viz.ifc import ifc_text

ROOMS = Path(str(files("scenes.rooms")))
NAMES = ("heron", "wharf", "loft", "weir", "ferry")

DXF = """
const fs = require('fs'), Parser = require('dxf-parser');
const seen = (Parser.DxfParser ?? Parser.default ?? Parser);
const read = new seen().parseSync(fs.readFileSync(process.argv[1], 'utf-8'));
const kinds = {};
for (const entity of read.entities) kinds[entity.type] = (kinds[entity.type] ?? 0) + 1;
console.log(JSON.stringify({kinds, layers: Object.keys(read.tables.layer.layers)}));
"""


@pytest.fixture(scope="module")
def node(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the readers in it."""
    folder = tmp_path_factory.mktemp("readers")
    npm = shutil.which("npm")
    assert npm, "npm is missing: run .ci/setup"
    wanted = ("dxf-parser", "html-validate")
    subprocess.run([npm, "install", "--silent", "--no-audit", *wanted], cwd=folder, check=True, timeout=300)
    return folder


@pytest.fixture(scope="module", params=NAMES)
def handed_over(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    folder = tmp_path_factory.mktemp(request.param) / "out"
    made, wrong = hand_over_many(
        [ROOMS / f"{request.param}.yaml"], folder, Settings(pictures=False), lambda what, share: None
    )
    assert (len(made), wrong) == (1, [])
    return request.param, folder


@pytest.mark.parametrize("name", ["heron", "loft"])
def test_the_model_breaks_no_rule_of_its_schema(name: str, tmp_path: Path) -> None:
    """As tests/viz/test_ifc.py asks of the other two rooms."""
    path = tmp_path / "room.ifc"
    path.write_text(ifc_text(Dossier(read_scene(ROOMS / f"{name}.yaml"))), "utf-8")
    logger = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(ifcopenshell.open(str(path)), logger, express_rules=True)
    assert logger.statements == []


def test_drawings_are_read_by_another_parser(node: Path, handed_over: tuple[str, Path]) -> None:
    name, folder = handed_over
    scene = Dossier(read_scene(ROOMS / f"{name}.yaml")).scene
    drawings = sorted((folder / "sheets").glob("*.dxf"))
    assert len(drawings) > 3
    for drawing in drawings:
        done = subprocess.run(
            ["node", "-e", DXF, str(drawing)], cwd=node, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{drawing.name}: {done.stderr}"
        read = json.loads(done.stdout)
        assert read["layers"], drawing.name
        assert sum(read["kinds"].values()) > len(scene.heads), drawing.name


def test_pages_are_valid_html(node: Path, handed_over: tuple[str, Path]) -> None:
    (node / ".htmlvalidate.json").write_text(
        json.dumps(
            {
                "extends": ["html-validate:standard"],
                # styles come from numbers here and there, and the page is one file on purpose
                "rules": {"no-inline-style": "off", "require-sri": "off", "long-title": "off"},
            }
        )
    )
    _, folder = handed_over
    for page in ("index.html", "page.html"):
        shutil.copy(folder / page, node / page)
        done = subprocess.run(
            ["npx", "--no-install", "html-validate", "--formatter", "text", page],
            cwd=node,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout
