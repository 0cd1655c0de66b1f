"""Ceilings in parts as they are drawn: steps and slopes at their heights, told on plan and cut in sections."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import trimesh
import yaml

from scenes.review.review import review
from tests.scenes.ceiling_parts import BULKHEAD, ROOF, Lid, scene_of, spec_of
from viz import views
from viz.csvs import clearances_csv
from viz.page import fragments
from viz.sheets.section_swing import swung
from viz.shown import shown
from viz.stage import stage
from viz.stage.props import HAIR_M
from viz.stage.shell import LINING_M
from viz.words import clearances, verdict
from viz.words.locale import Locale
from viz.words.verdict import heading

Run = Callable[..., tuple[int, str, str]]
PARTS = [BULKHEAD, ROOF]


@pytest.fixture
def spec(tmp_path: Path) -> Path:
    tree = spec_of(PARTS)
    tree["room"]["grid"] = {"pitch": [0.6, 0.6], "origin": [0, 0]}  # type: ignore[index]
    file = tmp_path / "coot.yaml"
    file.write_text(yaml.safe_dump(tree, sort_keys=False), "utf-8")
    return file


def test_the_undersides_of_the_stage_are_where_the_file_has_the_ceiling() -> None:
    room = scene_of(PARTS)
    [ceiling] = [prop for prop in stage(room, review(room)).layer("shell") if prop.id == "ceiling"]
    # a corner where parts meet stands at the height of each; faces of steps stand half a lining to either side
    lid, near = Lid(spec_of(PARTS)), LINING_M
    around = [(dx, dy) for dx in (-near, near) for dy in (-near, near)]
    at, high = ceiling.points[:, :2], ceiling.points[:, 2]
    inside = [np.clip(at + step, (near, near), (7.2 - near, 4.8 - near)) for step in around]
    over = high - np.array([lid.heights(places) for places in inside])
    # a hair above, so that what is flush shows, and no thicker than a lining
    assert (np.abs(over - LINING_M / 2).min(axis=0) < LINING_M / 2 + 0.006).all()
    assert {2.2, 2.45, 2.8} <= {round(float(z) - HAIR_M, 2) for z in high}


def test_a_section_cuts_linings_and_the_faces_of_steps_and_the_space_above_them_is_open() -> None:
    coffer = {
        "id": "CF1",
        "at": [3.6, 2.4],
        "size": [2.4, 1.6],
        "kind": "hard",
        "height": 3.1,
        "structure": 3.3,
    }
    room = scene_of([coffer])
    props = {prop.id: prop for prop in stage(room, review(room)).layer("shell")}
    mesh = trimesh.Trimesh(props["ceiling"].points, props["ceiling"].faces, process=False)
    cut = mesh.section([0, 1, 0], [0, 2.4, 0])
    assert cut is not None
    levels = {round(float(z), 3) for z in cut.vertices[:, 2]}
    assert {2.805, 2.82, 3.105, 3.12} <= levels
    assert (min(levels), max(levels)) == (2.805, 3.12)
    # a face of a step stands in the plane of each side of the coffer, and nothing between them
    sides = [float(x) for x, _, z in cut.vertices if 2.83 < z < 3.1]
    assert {round(x, 2) for x in sides} >= {2.39, 2.41, 4.79, 4.81}
    assert max(min(abs(x - side) for side in (2.4, 4.8)) for x in sides) < LINING_M / 2 + 1e-6
    carried = props["structure"].points
    assert carried[:, 2].min() == pytest.approx(3.3)
    low = carried[carried[:, 2] < 3.35]
    assert (low[:, 0].min(), low[:, 0].max()) == (pytest.approx(2.4), pytest.approx(4.8))


def test_lower_parts_are_seen_where_the_ceiling_stands_open() -> None:
    # a try-out: the corner picture showed neither bulkhead nor slope
    room = scene_of(PARTS)
    whole = stage(room, review(room))
    corner = {prop.id for prop in shown(whole, views.view(whole, "corner", 1.6))}
    assert {"part/BH1/0", "part/BH1/edge", "part/R1/0"} <= corner
    [plan, long] = [shown(whole, views.view(whole, name, 1.6)) for name in ("ceiling", "long")]
    assert not [prop.id for prop in (*plan, *long) if prop.id.startswith("part/")]
    # and no soffit hides what is under a higher part, or in a slope, from below
    [lid] = [prop for prop in plan if prop.id == "ceiling"]
    assert lid.points[:, 2].min() >= 2.8


def test_what_hangs_there_is_drawn_from_its_own_part() -> None:
    room = scene_of(PARTS)
    cable = next(prop for prop in stage(room, review(room)).layer("arrays") if prop.id == "A1/cable")
    assert cable.points[:, 2].max() == pytest.approx(2.45, abs=1e-6)


def test_a_body_in_a_step_is_told_in_every_output() -> None:
    # a try-out: KeyError 'kind.ceiling part', from check, page, report and sheets
    room = scene_of(PARTS)
    # the bulkhead's edge is at x = 2.4 m and its underside at 2.45 m
    judged = review(room.with_array("A1", at_m=(2.38, 2.4), height_m=2.5))
    [row] = [one for one in judged.clearances if one.against == "BH1"]
    assert (row.rule, row.state, judged.verdict) == ("touch", "short", "fail")
    assert "A1 runs into ceiling part BH1." in verdict.paragraph(judged)
    assert clearances.row(row, Locale.of(room)).thing == "ceiling part BH1"
    assert "BH1" in fragments.clearances(judged.scene, judged)
    assert "BH1,ceiling part" in clearances_csv(judged)


def test_a_heading_tells_both_ends_of_the_heights() -> None:
    assert heading(scene_of(PARTS))[1].endswith(
        "suspended ceiling at 2.20 m to 2.80 m, US codes (overtable default)"
    )
    assert heading(scene_of([]))[1].endswith("suspended ceiling at 2.80 m, US codes (overtable default)")


def test_sheets_tag_every_part_and_sections_cut_their_steps(spec: Path, tmp_path: Path, run: Run) -> None:
    tree = yaml.safe_load(spec.read_text("utf-8"))
    tree["suspension"] = {"swing": {"angle_deg": 30, "source": "structural engineer's letter"}}
    spec.write_text(yaml.safe_dump(tree, sort_keys=False), "utf-8")
    assert run("sheets", spec, "-o", tmp_path / "s")[0] == 0
    plan = texts(tmp_path / "s" / "02-ceiling-plan.dxf")
    for text in ("BH1", "2450", "R1", "2200 to 2800", "hard", "suspended"):
        assert text in plan, text
    # the array hangs from a bulkhead without a grid: no tile is named, nothing is measured to a tee
    assert not {"C", "D", "1", "2"} & said(tmp_path / "s" / "02-ceiling-plan.dxf")
    assert not [name for name in measured(tmp_path / "s" / "02-ceiling-plan.dxf") if "grid line" in name]
    section = texts(tmp_path / "s" / "03-section-a.dxf")
    assert "BH1 2450" in section  # the level of the part that the array hangs from
    names = measured(tmp_path / "s" / "03-section-a.dxf")
    assert "wall to edge between ceiling and BH1" in names
    assert "may swing 30° any way" in section
    drawn = ezdxf.readfile(tmp_path / "s" / "03-section-a.dxf").modelspace()  # type: ignore[attr-defined]
    assert len([one for one in drawn if one.dxf.layer == "T-MICR-SUSP-SWNG"]) == 1
    assert (tmp_path / "s" / "05-heights-a1.svg").exists()


@pytest.mark.parametrize("name", ["a.glb", "a.ifc", "a.dxf", "a.csv", "a.bcf"])
def test_models_are_made_of_it(spec: Path, tmp_path: Path, run: Run, name: str) -> None:
    assert run("export", spec, tmp_path / name)[0] == 0
    assert (tmp_path / name).stat().st_size > 100


def said(file: Path) -> set[str]:
    """Each text in the model space of a drawing."""
    return {one.dxf.text for one in ezdxf.readfile(file).modelspace().query("TEXT")}  # type: ignore[attr-defined]


def measured(file: Path) -> list[str]:
    """What each dimension of a drawing measures."""
    dimensions = ezdxf.readfile(file).modelspace().query("DIMENSION")  # type: ignore[attr-defined]
    return [one.get_xdata("OVERTABLE")[0].value for one in dimensions]


def texts(file: Path) -> str:
    """All that a drawing says, in its blocks too."""
    drawing = ezdxf.readfile(file)  # type: ignore[attr-defined]
    found = [one for layout in (*drawing.layouts, *drawing.blocks) for one in layout.query("TEXT MTEXT")]
    return " ".join(str(one.dxf.text) for one in found)


def test_a_section_shows_as_far_as_an_array_may_swing_from_the_part_it_hangs_from() -> None:
    """By hand: the hang point on the bulkhead at 2.45, the body 0.18 about its axis, its underside 0.37 under it."""
    swing = {"swing": {"angle_deg": 30, "source": "structural engineer's letter"}}
    room = scene_of(PARTS, suspension=swing)
    outline = swung(room, room.arrays[0])
    assert outline is not None
    out, high = np.array(outline).T
    reach = 0.18 * math.cos(math.pi / 6) + 0.37 * math.sin(math.pi / 6)
    assert (out.max(), -out.min()) == (pytest.approx(reach, abs=0.003), pytest.approx(reach, abs=0.003))
    assert high.max() == pytest.approx(2.45)
    assert high.min() == pytest.approx(2.45 - math.hypot(0.18, 0.37), abs=0.003)
    still = scene_of(PARTS)
    assert swung(still, still.arrays[0]) is None
