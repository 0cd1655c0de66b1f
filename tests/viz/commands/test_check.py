"""The check command: verdict, JSON, several rooms at once, and what it does not load."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    ("room", "verdict", "status"),
    [
        ("heron", "pass", 0),
        ("wharf", "pass", 0),
        ("loft", "caution", 0),
        ("ferry", "pass", 0),
        ("weir", "fail", 1),
    ],
)
def test_check_gives_the_verdict_as_words_json_and_exit_status(rooms, run, room, verdict, status):
    code, out, err = run("check", rooms / f"{room}.yaml", "--json")
    told = json.loads(out)
    assert (code, told["verdict"], told["format"], err) == (status, verdict, "overtable/review/1", "")
    code, out, err = run("check", rooms / f"{room}.yaml")
    assert code == status
    assert verdict.capitalize() + "." in out
    assert "never approval" in " ".join(out.split())
    assert max(map(len, out.splitlines())) <= 80
    for head in told["heads"]:
        assert head["id"] in out


def test_check_json_has_every_key_of_the_contract(rooms, run):
    told = json.loads(run("check", rooms / "weir.yaml", "--json")[1])
    assert set(told) >= {
        "format",
        "verdict",
        "room",
        "heads",
        "arrays",
        "clearances",
        "sightlines",
        "speech",
        "people",
        "heard",
    }
    assert set(told["room"]) >= {"name", "area_m2", "ceiling_m"}
    head_keys = (
        "id posture mouth_m mouth_range_m sway_m array depression_deg slant_m off_centre_deg in_band in_reach sector "
        "slack_m margin_m state reason sight blocked_by covered_share neighbour"
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
    "command",
    [
        ["heights"],
        ["report", "-o", "a.pdf"],
        ["export", "a.glb"],
        ["sheets", "--since", "loft.yaml", "-o", "a"],
    ],
)
def test_an_array_without_a_place_is_sent_to_place(rooms, run, monkeypatch, command):
    monkeypatch.chdir(rooms)
    file = rooms / "heron.yaml"
    file.write_text(file.read_text().replace(", at: [3.3, 2.25], height: 2.18, band: main", ""))
    name, *output = command
    code, _, err = run(name, file, *output)
    assert code == 2
    assert "overtable place" in err
    assert not list(rooms.glob("a*"))


@pytest.mark.parametrize("form", [[], ["--json"]], ids=["table", "json"])
def test_check_loads_no_heavy_package(rooms, form):
    code = (
        "import sys\n"
        "from viz.commands.main import main\n"
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
