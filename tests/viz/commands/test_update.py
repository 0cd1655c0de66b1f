"""`overtable update`: a new issue of the model read into a spec, the designer's own lines untouched."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from scenes.room.build import read_scene
from tests.scenes.models.builder import Model, rectangle

DEVICES = Path(str(files("scenes.rooms"))) / "devices.yaml"


def issue(
    folder: Path, lights: dict[str, tuple[float, float]], *, west: float = 0.0, table: float = 3.0
) -> Path:
    """A room of 6 × 4 m with a ceiling at 2.7 m, a table and lights by name; each has the same id in every issue."""
    made = Model("IFC4", "mm")
    plan = rectangle(west, 0, 6 - west, 4)
    made.space("3.01", "Meeting", plan, 0.0, 3.0)
    made.ceiling("Ceiling", plan, 2.7)
    top = made.shape(made.prism(rectangle(-1.2, -0.5, 2.4, 1.0), 0.7, 0.74))
    made.thing("IfcFurniture", "Table", top, (table, 2, 0), PredefinedType="TABLE")
    for name, at in lights.items():
        shape = made.shape(made.prism(rectangle(-0.6, -0.15, 1.2, 0.3), 0.0, 0.1))
        light = made.thing("IfcLightFixture", name, shape, (*at, 2.65))
        light.GlobalId = name.ljust(22, "0")
    return made.write(folder, "arch.ifc")


@pytest.fixture
def spec(run: Any, tmp_path: Path) -> Path:
    """The room imported and placed."""
    shutil.copy(DEVICES, tmp_path / "devices.yaml")
    model = issue(tmp_path, {"north": (3, 3), "south": (3, 1)})
    path = tmp_path / "room.yaml"
    options = ("--profiles", tmp_path / "devices.yaml", "--profile", "wreath", "--date", "2026-11-27")
    assert run("import", model, "--room", "3.01", "-o", path, *options)[0] == 0
    assert run("place", path, "--write")[0] in (0, 1)
    return path


def lines(path: Path) -> list[str]:
    return path.read_text("utf-8").splitlines()


def test_nothing_changes_where_the_model_did_not(run: Any, spec: Path) -> None:
    before = spec.read_bytes()
    status, out, _ = run("update", spec, "--date", "2026-11-27")
    assert status == 0
    assert out.splitlines()[0] == "Nothing changed in the model."
    assert spec.read_bytes() == before


def test_what_moved_came_and_went_is_in_the_file_and_the_rest_is_untouched(run: Any, spec: Path) -> None:
    before = read_scene(spec)
    old = lines(spec)
    south = next(one for one in before.overhead if one.at_m[1] < 2)
    issue(spec.parent, {"south": (3.5, 1), "east": (5, 3)})
    status, out, _ = run("update", spec, "--date", "2026-12-24")
    assert status == 0
    scene = read_scene(spec)
    assert {device.id for device in scene.overhead} == {south.id, "L3"}
    assert next(one for one in scene.overhead if one.id == south.id).at_m == pytest.approx((3.5, 1), abs=1e-4)
    assert scene.arrays[0].centre_m == before.arrays[0].centre_m
    assert out.splitlines()[:3] == [f"Changed: {south.id}.", "New: L3.", "Gone: L2."]
    # everything up to the lights, and the arrays, byte for byte
    now = lines(spec)
    upto = next(i for i, line in enumerate(old) if line.startswith("overhead:"))
    assert now[: upto + 1] == old[: upto + 1]
    assert "  taken: 2026-12-24" in now


def test_a_line_of_the_designers_stays_and_is_named(run: Any, spec: Path) -> None:
    text = spec.read_text("utf-8")
    mine = text.replace("- {id: L1, kind: light,", "- {id: L1, kind: light,  required: 0.4,", 1)
    assert mine != text
    spec.write_text(f"# my own remark\n{mine}", "utf-8")
    line = next(one for one in lines(spec) if "required: 0.4" in one)
    issue(spec.parent, {"north": (3.3, 3), "south": (3.3, 1)})
    status, out, _ = run("update", spec)
    assert status == 0
    assert "Left as you have it, though the model differs: L1." in out
    assert line in lines(spec)
    assert lines(spec)[0] == "# my own remark"
    # and again, when the model did not change once more
    issue(spec.parent, {"north": (3.3, 3), "south": (3.3, 1)})
    assert run("update", spec)[0] == 0
    assert line in lines(spec)


def test_a_read_only_spec_is_left_and_said(run: Any, spec: Path) -> None:
    issue(spec.parent, {"north": (3.3, 3), "south": (3, 1)})
    before = spec.read_bytes()
    spec.chmod(0o444)
    status, _, err = run("update", spec)
    assert (status, err) == (
        2,
        "overtable: room.yaml is read-only. Nothing was written; make it writable first.\n",
    )
    assert spec.read_bytes() == before


def test_a_wall_that_moves_leaves_the_arrays_where_they_are_in_the_building(run: Any, spec: Path) -> None:
    before = read_scene(spec)
    issue(spec.parent, {"north": (3, 3), "south": (3, 1)}, west=-0.5)
    assert run("update", spec)[0] == 0
    scene = read_scene(spec)
    assert scene.arrays[0].centre_m == before.arrays[0].centre_m
    assert scene.room.bounds_m[0] == pytest.approx((-0.5, 0), abs=1e-4)
    assert [device.at_m for device in scene.overhead] == [device.at_m for device in before.overhead]
    assert scene.origin is not None
    assert before.origin is not None
    assert scene.origin.origin_m == before.origin.origin_m


def test_what_was_checked_stays_checked(run: Any, spec: Path) -> None:
    text = spec.read_text("utf-8")
    spec.write_text(
        "".join(one for one in text.splitlines(True) if "room.ceiling: ceiling-kind" not in one), "utf-8"
    )
    assert all(about != "room.ceiling" for about, _ in read_scene(spec).unsure)
    issue(spec.parent, {"north": (3, 3), "south": (3, 1)}, table=3.2)
    assert run("update", spec)[0] == 0
    assert all(about != "room.ceiling" for about, _ in read_scene(spec).unsure)


def test_a_table_that_is_now_outside_is_said_and_nothing_written(run: Any, spec: Path) -> None:
    before = spec.read_bytes()
    issue(spec.parent, {"north": (3, 3)}, west=4.0)
    assert run("update", spec)[0] == 2
    assert spec.read_bytes() == before


def test_new_files_may_lie_elsewhere(run: Any, spec: Path) -> None:
    other = spec.parent / "new"
    other.mkdir()
    model = issue(other, {"north": (3.3, 3), "south": (3, 1)})
    assert run("update", spec, "--model", model)[0] == 0
    assert any("file: new/arch.ifc" in line for line in lines(spec))


def test_a_spec_of_ones_own_has_no_model_to_read_again(run: Any, rooms: Path) -> None:
    status, _, err = run("update", rooms / "heron.yaml")
    assert status == 2
    assert "not written by import" in err
