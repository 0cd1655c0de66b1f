"""A ring is drawn as a ring: in the model, on plan, in a section and in IFC. Heron's array is one."""

from __future__ import annotations

import math
from importlib.resources import files
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import trimesh

from scenes.dossier import Dossier
from scenes.room.build import read_scene
from scenes.room.scene import Scene
from viz.furniture import array
from viz.ifc import ifc_text
from viz.sheets import sheets

# from devices.yaml
OUTER_M, HOLE_M, TALL_M = 0.46, 0.26, 0.04


@pytest.fixture(scope="module")
def heron() -> Scene:
    return read_scene(Path(str(files("scenes.rooms"))) / "heron.yaml")


def test_the_body_is_a_closed_ring_as_large_as_what_is_judged(heron: Scene) -> None:
    body = array(heron.arrays[0], heron.room, open_ceiling=False)["body"]
    mesh = trimesh.Trimesh(body.points, body.faces, process=False)
    assert mesh.is_watertight
    # of 48 sides, and without the tenth below that is the grille's
    sides = 48 / (2 * math.pi) * math.sin(2 * math.pi / 48)
    assert mesh.volume == pytest.approx(math.pi / 4 * (OUTER_M**2 - HOLE_M**2) * 0.9 * TALL_M * sides)
    away = np.hypot(*(body.points[:, :2] - heron.arrays[0].centre_m[:2]).T)
    assert (away.min(), away.max()) == pytest.approx((HOLE_M / 2, OUTER_M / 2))


def test_wires_hold_it_in_the_middle_of_the_ring(heron: Scene) -> None:
    away = [math.hypot(*point) for point in heron.arrays[0].profile.points_m]
    assert away == pytest.approx([(OUTER_M + HOLE_M) / 4] * 3)


def test_plan_and_section_show_the_hole(heron: Scene, tmp_path: Path) -> None:
    path = tmp_path / "heron.dxf"
    path.write_text(sheets(Dossier(heron)).dxf, "utf-8")
    drawing = ezdxf.readfile(path)
    [block] = [one for one in drawing.blocks if one.name.startswith("ARRAY-WREATH")]
    radii = sorted(circle.dxf.radius for circle in block.query("CIRCLE"))
    assert [radius * 0.001 for radius in radii][-2:] == pytest.approx([HOLE_M / 2, OUTER_M / 2])


def test_its_type_in_ifc_is_hollow(heron: Scene) -> None:
    import ifcopenshell

    model = ifcopenshell.file.from_string(ifc_text(Dossier(heron)))
    [hollow] = model.by_type("IfcCircleHollowProfileDef")
    assert (hollow.Radius, hollow.WallThickness) == pytest.approx((OUTER_M / 2, (OUTER_M - HOLE_M) / 2))
