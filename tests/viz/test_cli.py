"""The commands: what they print, what they exit with, and that no input leads to a traceback."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

ROOMS = Path(str(files("scenes.rooms")))


@pytest.mark.parametrize(
    ("room", "verdict", "status"),
    [("heron", "pass", 0), ("loft", "caution", 0), ("ferry", "caution", 0), ("weir", "fail", 1)],
)
def test_check_gives_the_verdict_as_words_json_and_exit_status(rooms, run, room, verdict, status):
    code, out, err = run("check", rooms / f"{room}.yaml", "--json")
    told = json.loads(out)
    assert (code, told["verdict"], told["format"], err) == (status, verdict, "overtable/review/1", "")
    code, out, err = run("check", rooms / f"{room}.yaml")
    assert code == status
    assert verdict.capitalize() + "." in out
    assert "never approval" in out
    assert max(map(len, out.splitlines())) <= 80
    for head in told["heads"]:
        assert head["id"] in out


def test_check_json_has_every_key_of_the_contract(rooms, run):
    told = json.loads(run("check", rooms / "weir.yaml", "--json")[1])
    assert set(told) >= {"format", "verdict", "room", "heads", "arrays", "clearances", "sightlines", "speech"}
    assert set(told["room"]) >= {"name", "area_m2", "ceiling_m"}
    head_keys = (
        "id posture mouth_m mouth_range_m sway_m array depression_deg slant_m off_centre_deg in_band in_reach sector "
        "slack_m margin_m state reason sight blocked_by"
    )
    array_keys = (
        "id at_m height_m drop_m band reach_m heads margin_m mean_off_centre_deg rms_off_centre_deg worst_slant_m "
        "underside_m height_interval_m covered_interval_m"
    )
    for key, keys in (
        ("heads", head_keys),
        ("arrays", array_keys),
        ("clearances", "array against rule required_m actual_m state note source"),
        ("sightlines", "from to array state"),
        ("speech", "head array level_dBA to_noise_dB to_reverberant_dB"),
    ):
        assert told[key], key
        for entry in told[key]:
            assert set(entry) >= set(keys.split())
    assert set(told["arrays"][0]["band"]) == {"name", "low_deg", "high_deg"}


def test_several_rooms_are_told_in_order_and_one_mistake_does_not_stop_the_others(rooms, run):
    bad = rooms / "bad.yaml"
    bad.write_text("overtable: 1\nname: 3\n")
    code, out, _ = run("check", rooms / "heron.yaml", bad, rooms / "weir.yaml", "--json")
    told = json.loads(out)
    assert code == 2
    assert [entry["format"] for entry in told] == [
        "overtable/review/1",
        "overtable/mistakes/1",
        "overtable/review/1",
    ]
    code, out, err = run("check", rooms / "heron.yaml", bad, rooms / "weir.yaml")
    assert code == 2
    assert "Heron Room" in out
    assert "Weir Room" in out
    assert f"{bad}:2" in err


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\t",
        "overtable: 1",
        "[1, 2",
        "a: &a [*a]",
        "!!python/object/apply:os.system [echo]",
        "name: \x00",
        "overtable: 1\nname: R\nunits: parsec\nroom: {size: [5, 4], ceiling: .nan}\n",
        "units: m\nunits: m\n",
        "arrays: 010",
    ],
)
@pytest.mark.parametrize("command", ["check", "heights"])
def test_wrong_input_is_told_with_file_and_line_and_never_with_a_traceback(tmp_path, run, command, text):
    file = tmp_path / "room.yaml"
    file.write_text(text)
    code, out, err = run(command, file)
    assert code == 2
    assert "Traceback" not in out + err
    assert f"{file}:" in err
    assert out == ""
    code, out, err = run(command, file, "--json")
    assert code == 2
    assert json.loads(out)["format"] == "overtable/mistakes/1"
    assert json.loads(out)["mistakes"]
    assert err == ""
    assert [p.name for p in tmp_path.iterdir()] == ["room.yaml"]


def test_an_array_without_a_place_is_sent_to_place(rooms, run):
    file = rooms / "heron.yaml"
    file.write_text(file.read_text().replace(", at: [3.3, 2.25], height: 2.2, band: mid", ""))
    code, _, err = run("check", file)
    assert code == 2
    assert "overtable place" in err


@pytest.mark.parametrize("arguments", [("chek",), ("check",), ("check", "a.yaml", "--jsn"), ("heights",)])
def test_wrong_use_is_told_with_what_there_is(run, arguments):
    code, out, err = run(*arguments)
    assert code == 2
    assert "Traceback" not in out + err
    assert "overtable" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("stills", "--size", "0x0"), "--size: found 0x0, allowed is 64 to 16000 pixels a side"),
        (("stills", "--size", "big"), "--size: found 'big', allowed is pixels across and down"),
        (("stills", "--dpi", "0"), "--dpi: found 0, allowed is 20 to 2400"),
        (("stills", "--dpi", "x"), 'found "x", allowed is a number'),
        (("live", "--port", "x"), 'found "x", allowed is a whole number'),
        (("live", "--port", "99999"), "--port: found 99999, allowed is 0 to 65535"),
        (("sheets", "--paper", "B5"), "A4"),
    ],
)
def test_a_wrong_value_is_told_in_plain_words(rooms, run, arguments, said):
    command, *values = arguments
    output = () if command == "live" else ("-o", rooms / "out")
    code, out, err = run(command, rooms / "heron.yaml", *output, *values)
    assert (code, out) == (2, "")
    assert said in err
    for word in ("Style", "ValueError", "tuple", "float", "convert", "(0, 0)"):
        assert word not in err
    assert not (rooms / "out").exists()


def test_heights_tell_every_band(rooms, run):
    code, out, _ = run("heights", rooms / "heron.yaml", "--json")
    told = json.loads(out)
    assert code == 0
    assert told["format"] == "overtable/heights/1"
    assert [band["name"] for band in told["arrays"][0]["bands"]] == ["low", "mid", "high"]
    code, out, _ = run("heights", rooms / "heron.yaml")
    assert "26–61°" in out


def test_schema_accepts_the_demo_rooms(run):
    import jsonschema
    import yaml

    schema = json.loads(run("schema")[1])
    for room in ("heron", "loft", "weir", "ferry"):
        text = (ROOMS / f"{room}.yaml").read_text()
        jsonschema.validate(json.loads(json.dumps(yaml.safe_load(text), default=str)), schema)


@pytest.mark.parametrize("form", [[], ["--json"]], ids=["table", "json"])
def test_check_loads_no_heavy_package(rooms, form):
    code = (
        "import sys\n"
        "from viz.cli import main\n"
        "try:\n    main(['check', *sys.argv[1:]])\n"
        "except SystemExit:\n    pass\n"
        "heavy = {'vtk', 'vtkmodules', 'pyvista', 'trimesh', 'manifold3d', 'scipy', 'shapely'}\n"
        "heavy |= {'ezdxf', 'typst', 'PIL'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    every = [str(rooms / f"{room}.yaml") for room in ("heron", "loft", "weir", "ferry")]
    done = subprocess.run(
        [sys.executable, "-c", code, *every, *form], capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "[]"


@pytest.mark.parametrize(("room", "status"), [("heron", 0), ("weir", 1)])
@pytest.mark.parametrize("form", [[], ["--json"]], ids=["table", "json"])
@pytest.mark.parametrize("lines", [0, 1])
def test_a_reader_who_leaves_early_ends_nothing(rooms, room, status, form, lines):
    command = [sys.executable, "-m", "viz.cli", "check", rooms / f"{room}.yaml", *form]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdout=pipe, stderr=pipe, cwd=Path(__file__).parents[2]) as started:
        for _ in range(lines):
            assert started.stdout.readline()
        started.stdout.close()
        assert started.stderr.read() == b""
        assert started.wait() == status


def test_a_full_disk_is_told_once(rooms):
    command = [sys.executable, "-m", "viz.cli", "check", rooms / "heron.yaml"]
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            command, stdout=full, stderr=subprocess.PIPE, cwd=Path(__file__).parents[2], check=False
        )
    assert done.returncode == 2
    assert done.stderr.decode() == f"overtable: {os.strerror(errno.ENOSPC)}\n"


def test_the_version_is_the_packages(run):
    import tomllib

    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))["project"]
    assert run("--version")[1].strip() == project["version"]
