"""`overtable new`: a first spec out of short answers, read by every command, with its plan drawn."""

from __future__ import annotations

import io
import shutil
import xml.etree.ElementTree as ET
from importlib.resources import files
from pathlib import Path

import pytest

from scenes.room.build import read_scene
from scenes.room.scene import Scene

DEVICES = Path(str(files("scenes.rooms"))) / "devices.yaml"


@pytest.fixture
def new(run, tmp_path: Path):
    """Write a spec from options alone; its scene."""

    def new(**answers: str) -> Scene:
        options = [word for name, value in answers.items() for word in (f"--{name}", value)]
        spec = tmp_path / "room.yaml"
        status, out, err = run("new", "-o", spec, "--yes", *options)
        assert (status, err) == (0, "")
        assert out.splitlines() == [
            str(spec),
            str(tmp_path / "room.svg"),
            f"Next: overtable place {spec} --write",
        ]
        return read_scene(spec)

    return new


@pytest.mark.parametrize("units", ["m", "ft"])
def test_the_defaults_are_a_room_that_only_lacks_a_place(new, run, tmp_path: Path, units: str) -> None:
    """The README's own first room is one that its array can cover: found not to be, in a try-out."""
    scene = new(units=units)
    if units == "m":
        assert scene.room.bounds_m == ((0, 0), (6.4, 4.4))
        assert scene.room.ceiling_m == 2.7
    assert len(scene.heads) == 2 * (5 + 1)  # places of 0.75 m along sides of 4 m and 1.4 m
    spec = tmp_path / "room.yaml"
    status, out, _ = run("check", spec)
    assert status == 0
    assert "No verdict yet. A1 has no place yet." in out
    assert run("place", spec, "--write")[0] == 0
    status, out, _ = run("check", spec)
    assert status == 0
    assert "Pass. All 12 talkers are covered." in out


@pytest.mark.parametrize("units", ["mm", "cm", "in", "ft"])
def test_the_example_array_is_as_large_in_any_unit(new, units: str) -> None:
    """Found by a designer: its spread was 0.36 of whatever the unit was, and wires were cut to that."""
    size = {"mm": "6400 x 4400", "cm": "640 x 440", "in": "252 x 173", "ft": "21 x 14.4"}[units]
    ceiling = {"mm": "2700", "cm": "270", "in": "106", "ft": "8.86"}[units]
    profile = new(units=units, size=size, ceiling=ceiling).arrays[0].profile
    assert profile.spread_m == pytest.approx(0.36)
    assert profile.size_m == pytest.approx((0.46, 0.46, 0.04))
    assert profile.reach_m == pytest.approx((0.6, 3.1))


def test_every_answer_is_what_the_spec_says(new) -> None:
    scene = new(
        name="Oak: room 4",
        size="8 x 5",
        ceiling="suspended 2.8, grid 0.6 x 1.2",
        table="boat 3.6 x 1.4",
        devices="lights 1.2 x 0.3 in two rows of three; 4 sprinklers in 2 rows below 0.07; smoke detector",
        presenter="yes",
    )
    assert scene.name == "Oak: room 4"
    assert scene.room.grid is not None
    assert scene.room.grid.pitch_m == (0.6, 1.2)
    (table,) = scene.tables
    assert (table.shape, table.size_m, table.at_m) == ("boat", (3.6, 1.4), (4, 2.5))
    kinds = [device.kind for device in scene.overhead]
    assert kinds == ["light"] * 6 + ["sprinkler"] * 4 + ["smoke detector"] * 3
    assert {device.size_m for device in scene.overhead if device.kind == "light"} == {(1.2, 0.3)}
    assert {device.below_m for device in scene.overhead if device.kind == "sprinkler"} == {0.07}
    for device in scene.overhead:  # in the middle of a tile
        for value, pitch in zip(device.at_m, (0.6, 1.2), strict=True):
            assert (value / pitch - 0.5) % 1 == pytest.approx(0, abs=1e-6) or (
                value / pitch - 0.5
            ) % 1 > 1 - 1e-6
    walker = next(head for head in scene.heads if head.group == "P")
    assert walker.at_m[0] == pytest.approx(7.2)


def test_rows_and_an_outline_of_corners_in_feet(new) -> None:
    scene = new(units="ft", size="0,0 20,0 20,40 0,40", ceiling="open 11", table="none", seats="rows 4 x 5")
    assert len(scene.heads) == 20
    assert scene.room.ceiling_kind == "open"
    assert scene.room.area_m2 == pytest.approx(800 * 0.3048**2)
    xs = [head.at_m[0] for head in scene.heads]
    ys = [head.at_m[1] for head in scene.heads]
    # the room is longer along y, so rows run along it: 5 seats 0.8 m apart
    assert max(ys) - min(ys) == pytest.approx(4 * 0.8, abs=1e-3)
    assert max(xs) - min(xs) == pytest.approx(3 * 1.2, abs=1e-3)
    assert scene.arrays[0].profile.reach_m == pytest.approx((0.6, 3.1))


def test_an_array_out_of_a_file_of_profiles(new, tmp_path: Path) -> None:
    shutil.copy(DEVICES, tmp_path / "devices.yaml")
    scene = new(array=f"{tmp_path / 'devices.yaml'}:basin")
    assert scene.arrays[0].profile.name == "basin"
    assert "profiles: devices.yaml" in (tmp_path / "room.yaml").read_text("utf-8")


def test_the_plan_shows_walls_tables_talkers_and_devices(new, tmp_path: Path) -> None:
    scene = new(devices="lights 0.6 x 0.6 in two rows of two")
    root = ET.fromstring((tmp_path / "room.svg").read_text("utf-8"))
    names = [element.tag.rpartition("}")[2] for element in root.iter()]
    assert names.count("circle") == len(scene.heads)
    assert names.count("polygon") == 1 + len(scene.tables) + len(scene.overhead)
    texts = {element.text for element in root.iter() if element.tag.endswith("text")}
    assert texts == {"T1", "L1", "L2", "L3", "L4", "6.40 m", "4.40 m"}


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        (["--size", "7.2"], "width x depth"),
        (["--size", "0,0 4,0"], "three corners"),
        (["--size", "0,0 4,4 4,0 0,4"], "three corners"),
        (["--ceiling", "vaulted 3"], "such as suspended 2.7"),
        (["--ceiling", "suspended 2.7m, structure 3.3"], "such as suspended 2.7"),
        (["--size", "9 by 6"], "such as 7.2 x 4.8"),
        (["--units", "metres"], "m, cm, mm, ft or in"),
        (["--ceiling", "1.2"], "from 1.8"),
        (["--ceiling", "open 3, grid 0.6"], "a grid of a suspended ceiling"),
        (["--table", "kidney 2 x 1"], "one of rectangle"),
        (["--table", "7 x 4.6"], "a smaller table"),
        (["--table", "none", "--seats", "table"], "rows 4 x 6"),
        (["--seats", "rows 9 x 9"], "fewer rows"),
        (["--devices", "chandeliers in two rows"], "one of sprinkler"),
        (["--devices", "5 lights in two rows"], "KIND"),
        (["--presenter", "maybe"], "yes or no"),
        (["--units", "yards"], "m, cm, mm"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_and_nothing_written(
    run, tmp_path: Path, answers: list[str], says: str
) -> None:
    status, out, err = run("new", "-o", tmp_path / "room.yaml", "--yes", *answers)
    assert (status, out) == (2, "")
    assert says in err
    assert list(tmp_path.iterdir()) == []


class Terminal(io.StringIO):
    """Somebody who types."""

    def isatty(self) -> bool:
        return True


def test_on_a_terminal_what_is_not_given_is_asked_until_it_can_be_read(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    arrays = ["nowhere.yaml:halo", f"{DEVICES}:haloo", f"{DEVICES}:wreath"]
    typed = ["", "", "wide", "6 x 4", "", "", "", *arrays, "", "yes"]
    monkeypatch.setattr("sys.stdin", Terminal("\n".join(typed) + "\n"))
    status, _, err = run("new", "-o", tmp_path / "room.yaml")
    assert status == 0
    assert err.count("Size") == 2
    assert "size: wide does not fit. Use width x depth" in err
    assert "nowhere.yaml does not exist" in err
    assert "has the profiles" in err
    scene = read_scene(tmp_path / "room.yaml")
    assert scene.room.bounds_m == ((0, 0), (6, 4))
    assert any(head.path_m for head in scene.heads)


def test_away_from_a_terminal_it_says_what_was_not_asked(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("Oak\nm\n6 x 4\n"))
    status, _, err = run("new", "-o", tmp_path / "room.yaml", "--name", "Elm")
    assert status == 0
    assert err.startswith("Nothing was asked")
    assert "Defaults stand for units, size, ceiling, table, seats, array, devices and presenter." in err
    assert "--size, --ceiling" in err
    assert "--name" not in err
    assert read_scene(tmp_path / "room.yaml").name == "Elm"


def test_answers_that_end_too_soon_write_nothing(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal("Oak\n"))
    status, _, err = run("new", "-o", tmp_path / "room.yaml")
    assert status == 2
    assert "nothing is written" in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("what", "has"),
    [
        ("shapes", "racetrack"),
        ("kinds", "sprinkler"),
        ("rules", "headroom"),
        ("populations", "women and men"),
    ],
)
def test_lists_of_what_a_spec_may_name(run, what: str, has: str) -> None:
    status, out, _ = run("new", "--list", what)
    assert status == 0
    assert has in out.splitlines()
