"""`overtable import`: rooms of a model listed and written, what is written read again, and refusals."""

from __future__ import annotations

import json
import shutil
import sys
from importlib.resources import files
from pathlib import Path

import pytest

from scenes.room.build import read_scene
from tests.scenes.models.builder import Model, rectangle
from tests.scenes.models.test_drawing import Plan

DEVICES = Path(str(files("scenes.rooms"))) / "devices.yaml"


@pytest.fixture
def model(tmp_path: Path) -> Path:
    """Two rooms of 6 × 4 m with ceilings at 2.7 m, in millimetres; the first with a table and a light."""
    made = Model("IFC4", "mm")
    for number, x in (("3.01", 0.0), ("3.02", 8.0)):
        made.space(number, "Meeting", rectangle(x, 0, 6, 4), 0.0, 3.0)
        made.ceiling("Ceiling", rectangle(x, 0, 6, 4), 2.7)
    top = made.shape(made.prism(rectangle(-1.2, -0.5, 2.4, 1.0), 0.7, 0.74))
    made.thing("IfcFurniture", "Table", top, (3, 2, 0), PredefinedType="TABLE")
    light = made.shape(made.prism(rectangle(-0.6, -0.15, 1.2, 0.3), 0.0, 0.1))
    made.thing("IfcLightFixture", "Light", light, (3, 1, 2.65))
    return made.write(tmp_path, "arch.ifc")


def test_the_rooms_are_listed_and_nothing_is_written(run, model: Path) -> None:
    before = sorted(model.parent.iterdir())
    status, out, err = run("import", model)
    assert (status, err) == (0, "")
    rows = [line.split() for line in out.splitlines()]
    first = next(row for row in rows if row and row[0] == "3.01")
    assert first[1:5] == ["Meeting", "24.0", "m²", "2.70"]
    assert "1 light" in out
    assert "1 table" in out
    assert "--room 3.01 -o room.yaml" in out.splitlines()[-1]
    assert sorted(model.parent.iterdir()) == before


def test_the_list_as_json_has_the_keys_of_the_contract(run, model: Path) -> None:
    told = json.loads(run("import", model, "--json")[1])
    assert told["format"] == "overtable/model/1"
    assert [file["file"] for file in told["files"]] == ["arch.ifc"]
    first, second = told["rooms"]
    keys = {
        *("id", "number", "name", "storey", "area_m2", "floor_m", "ceiling", "structure_m", "outline_m"),
        *("corner_m", "tables", "chairs", "openings", "devices", "guessed"),
    }
    assert keys <= set(first)
    assert first["area_m2"] == pytest.approx(24, abs=1e-4)
    assert (first["ceiling"]["height_m"], first["ceiling"]["from"]) == (2.7, "covering")
    assert first["devices"] == {"light": 1}
    assert second["corner_m"] == [8, 0, 0]
    assert second["devices"] == {}
    assert told["skipped"] == []


def test_a_room_is_written_placed_and_checked(run, model: Path) -> None:
    shutil.copy(DEVICES, model.parent / "devices.yaml")
    spec = model.parent / "room.yaml"
    status, out, _ = run(
        *("import", model, "--room", "3.01", "-o", spec),
        *("--profiles", model.parent / "devices.yaml", "--profile", "wreath", "--date", "2026-11-27"),
    )
    assert status == 0
    assert out.splitlines()[0] == str(spec)
    assert out.splitlines()[-1] == f"Next: overtable place {spec} --write"
    scene = read_scene(spec)
    assert scene.room.ceiling_m == pytest.approx(2.7)
    assert [device.kind for device in scene.overhead] == ["light"]
    assert run("place", spec, "--write")[0] in (0, 1)
    assert run("check", spec)[0] in (0, 1)


def test_all_rooms_go_into_a_folder_under_names_of_their_own(run, model: Path) -> None:
    folder = model.parent / "rooms"
    assert run("import", model, "--all", "-o", folder)[0] == 0
    assert [path.name for path in sorted(folder.iterdir())] == ["3-01-meeting.yaml", "3-02-meeting.yaml"]
    for path in folder.iterdir():
        assert read_scene(path).room.area_m2 == pytest.approx(24, abs=1e-4)
        assert "../arch.ifc" in path.read_text("utf-8")


def test_without_an_array_check_and_place_say_what_is_missing(run, model: Path) -> None:
    spec = model.parent / "room.yaml"
    assert run("import", model, "--room", "3.01", "-o", spec)[0] == 0
    for command, exit_status in (("check", 0), ("place", 2)):
        status, out, err = run(command, spec)
        assert status == exit_status
        assert "an array with a profile" in " ".join((out + err).split())


def test_what_is_changed_by_hand_is_not_replaced(run, model: Path) -> None:
    spec = model.parent / "room.yaml"
    assert run("import", model, "--room", "3.01", "-o", spec)[0] == 0
    spec.write_text(spec.read_text("utf-8") + "# mine\n", "utf-8")
    before = spec.read_bytes()
    assert run("import", model, "--room", "3.01", "-o", spec)[0] == 2
    assert spec.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--room", "Meeting"], "3.01 Meeting"),
        (["--room", "9"], "has no room 9"),
        (["--room", "3.01", "--all"], "give one of them"),
        ([], "say which room"),
    ],
)
def test_a_room_that_cannot_be_told_is_refused(run, model: Path, arguments: list[str], says: str) -> None:
    spec = model.parent / "room.yaml"
    status, _, err = run("import", model, *arguments, "-o", spec)
    assert status == 2
    assert says in err
    assert not spec.exists()


def test_what_is_no_model_is_refused_in_one_sentence(run, model: Path) -> None:
    whole = model.read_bytes()
    cases = {
        "cut.ifc": (whole[: len(whole) // 2], "ends in the middle"),
        "text.ifc": (b"hello", "is not an IFC model"),
        "old.ifc": (whole.replace(b"'IFC4'", b"'IFC2X2_FINAL'"), "IFC2X2_FINAL"),
    }
    for name, (data, says) in cases.items():
        path = model.parent / name
        path.write_bytes(data)
        status, out, err = run("import", path)
        assert (status, out) == (2, ""), name
        assert says in err
        assert len(err.splitlines()) == 1
    status, _, err = run("import", model.parent / "none.ifc")
    assert status == 2
    assert err == f"overtable: {model.parent / 'none.ifc'} does not exist.\n"


def test_without_the_reader_the_way_out_is_said(run, model: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)  # as if it were not installed
    status, _, err = run("import", model)
    assert status == 3
    assert 'pip install "overtable[models]"' in err


# ---------------------------------------------------------------- drawings


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    """A room of 6 × 4 m in inches, in a file that says millimetres, its door in the middle of a wall."""
    plan = Plan("in", "mm")
    plan.door()
    plan.text("Hall", (2, 2))
    return plan.save(tmp_path)


def test_a_drawings_areas_are_listed_and_one_is_written(run, drawing: Path) -> None:
    status, out, _ = run("import", drawing)
    assert status == 0
    assert out.splitlines()[0] == "Unit: in, from what is drawn; the file gives mm. --units gives another."
    assert out.splitlines()[1].startswith("Hall: 24.0 m², --at=")
    at = out.splitlines()[1].rpartition("--at=")[2]
    spec = drawing.parent / "hall.yaml"
    assert run("import", drawing, f"--at={at}", "--ceiling", "2.7m", "-o", spec)[0] == 0
    scene = read_scene(spec)
    assert (scene.name, scene.units) == ("Hall", "ft")
    assert scene.room.area_m2 == pytest.approx(24, abs=1e-2)
    assert ("room.outline", "units-conflict") in scene.unsure


def test_a_leak_is_drawn_and_no_spec_written(run, drawing: Path) -> None:
    spec = drawing.parent / "hall.yaml"
    status, out, err = run("import", drawing, "--at=9000,9000", "--ceiling", "2.7m", "-o", spec)
    assert status == 2
    assert "close no area" in err
    assert "hall-leaks.svg" in out
    assert not spec.exists()
    assert "<circle" in (drawing.parent / "hall-leaks.svg").read_text("utf-8")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--at=1,1"], "--ceiling HEIGHT"),
        (["--at=one", "--ceiling", "2.7m"], "X,Y"),
        (["--at=1,1", "--ceiling", "high"], "--ceiling"),
        (["--at=1,1", "--ceiling", "2.7m", "--units", "yd"], "--units"),
        (["--at=1,1", "--ceiling", "2.7m", "--cut", "1,1"], "--cut"),
        (["--room", "3"], "--at X,Y"),
    ],
)
def test_what_a_drawing_cannot_answer_is_refused(run, drawing: Path, options: list[str], says: str) -> None:
    status, _, err = run("import", drawing, *options, "-o", drawing.parent / "hall.yaml")
    assert status == 2
    assert says in err


def test_options_of_drawings_are_not_for_models(run, model: Path) -> None:
    assert run("import", model, "--at=1,1")[0] == 2
