"""Our drawings in two readers that are not ezdxf, looked at by pixels: LibreCAD, and GDAL."""

from __future__ import annotations

import json
import math
import os
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.path import from_hatch
from PIL import Image

from scenes.dossier import Dossier
from scenes.room.build import read_scene
from viz.sheets import sheets, usual_paper

ROOMS = Path(str(files("scenes.rooms")))
NAMES = ("heron", "wharf", "loft", "weir", "ferry")
MARK = 0xFF00FF
"""The colour of two squares beside the drawing by which pixels are found."""


@pytest.fixture(scope="module", params=NAMES)
def drawings(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Floor plan, ceiling plan and sections of a demo room, each by itself."""
    for program in ("librecad", "ogrinfo", "pdftoppm"):
        assert shutil.which(program), f"{program} is missing: .ci/long.d/cad installs it"
    folder = tmp_path_factory.mktemp(request.param)
    dossier = Dossier(read_scene(ROOMS / f"{request.param}.yaml"))
    made = []
    for sheet in sheets(dossier, paper=usual_paper(dossier.scene)).sheets:
        if sheet.kind != "heights":
            made.append(folder / f"{sheet.slug}.dxf")
            made[-1].write_text(sheet.dxf, "utf-8")
    return made


def pixels(drawing: Path) -> tuple[np.ndarray, ezdxf.math.Matrix44, float]:
    """What LibreCAD draws, dark or coloured pixels true; where model units lie on it; and pixels in a unit."""
    doc = ezdxf.readfile(drawing)
    (x0, y0), (x1, y1) = doc.header["$EXTMIN"][:2], doc.header["$EXTMAX"][:2]
    side = (x1 - x0) / 40
    corners = ((x0 - side, y0 - side), (x1 + side, y1 + side))
    for x, y in corners:
        mark = doc.modelspace().add_hatch(dxfattribs={"true_color": MARK})
        mark.paths.add_polyline_path(
            [(x, y), (x + side, y), (x + side, y + side), (x, y + side)], is_closed=True
        )
    marked = drawing.with_name(f"marked-{drawing.name}")
    doc.saveas(marked)
    page = marked.with_suffix(".pdf")
    subprocess.run(
        ["librecad", "dxf2pdf", "-a", "-p", "A3", "-o", str(page), str(marked)],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"}, check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    subprocess.run(
        ["pdftoppm", "-scale-to", "4000", "-png", "-singlefile", str(page), str(page.with_suffix(""))],
        check=True,
    )
    seen = np.asarray(Image.open(page.with_suffix(".png")).convert("RGB"), int)
    ys, xs = np.nonzero((seen[..., 0] > 200) & (seen[..., 1] < 90) & (seen[..., 2] > 200))
    assert len(xs) > 20, "the marks were not drawn"
    per_unit = (xs.max() - xs.min()) / (corners[1][0] + side - corners[0][0])
    onto = ezdxf.math.Matrix44.translate(-corners[0][0], -corners[0][1], 0) @ ezdxf.math.Matrix44.scale(
        per_unit, -per_unit, 1
    )
    onto @= ezdxf.math.Matrix44.translate(xs.min(), ys.max(), 0)
    return seen.min(axis=2) < 225, onto, per_unit


def test_librecad_draws_every_dimensions_letters_and_every_hatch(drawings: list[Path]) -> None:
    for drawing in drawings:
        doc = ezdxf.readfile(drawing)
        ink, onto, per_unit = pixels(drawing)
        high = doc.header["$TEXTSIZE"] * per_unit
        for dimension in doc.modelspace().query("DIMENSION"):
            at = onto.transform(dimension.dxf.text_midpoint)
            turn, half = math.radians(dimension.dxf.angle), int(high / 2) + 1
            # letters too long for their gap are moved along by each program in its own way
            shifts = [(high * k * math.cos(turn), -high * k * math.sin(turn)) for k in range(-3, 4)]
            found = [
                ink[
                    int(at.y + dy) - half : int(at.y + dy) + half,
                    int(at.x + dx) - half : int(at.x + dx) + half,
                ]
                for dx, dy in shifts
            ]
            # letters as high as the header says ink a tenth of their box; dots hardly a hundredth
            best = max(one.mean() for one in found)
            assert best > 0.02, (drawing.name, dimension.dxf.actual_measurement, best)
        for hatch in doc.modelspace().query("HATCH"):
            if hatch.dxf.solid_fill:
                continue
            ring = np.array(
                [tuple(onto.transform(v))[:2] for path in from_hatch(hatch) for v in path.flattening(1)]
            )
            (left, top), (right, bottom) = ring.min(axis=0), ring.max(axis=0)
            inside = ink[int(top) + 4 : int(bottom) - 4, int(left) + 4 : int(right) - 4]
            if min(inside.shape) > 20:
                assert inside.mean() > 0.01, (drawing.name, hatch.dxf.layer, inside.mean())


def test_gdal_reads_dimensions_hatches_and_no_paper(drawings: list[Path]) -> None:
    for drawing in drawings:
        doc = ezdxf.readfile(drawing)
        told = subprocess.run(
            ["ogr2ogr", "-f", "GeoJSON", "/vsistdout/", str(drawing)],
            check=True,
            capture_output=True,
            text=True,
        )
        features = [one["properties"] for one in json.loads(told.stdout)["features"]]
        assert features
        assert not [one for one in features if one.get("PaperSpace")]
        layers = {one["Layer"] for one in features}
        for layer in {hatch.dxf.layer for hatch in doc.modelspace().query("HATCH")}:
            assert layer in layers, drawing.name
        texts = " ".join(one["Text"] for one in features if one.get("Text"))
        for dimension in doc.modelspace().query("DIMENSION"):
            drawn = [one.plain_text() for one in dimension.get_geometry_block().query("MTEXT")]
            assert all(text in texts for text in drawn), (drawing.name, drawn)
