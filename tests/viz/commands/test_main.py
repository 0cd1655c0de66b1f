"""The commands: what they print, what they exit with, and that no input leads to a traceback."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]


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


@pytest.mark.parametrize("arguments", [("chek",), ("check",), ("check", "a.yaml", "--jsn"), ("heights",)])
def test_wrong_use_is_told_with_what_there_is(run, arguments):
    code, out, err = run(*arguments)
    assert code == 2
    assert "Traceback" not in out + err
    assert "overtable" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("chek",), "there is no command chek. Did you mean check?\nSee: overtable --help"),
        (("page", "heron.yaml"), "page needs -o. For example: overtable page heron.yaml -o heron.html"),
        (("live",), "live needs SPEC. For example: overtable live heron.yaml"),
        (("check", "a.yaml", "--changes"), "overtable check OLD.yaml NEW.yaml --changes"),
        (("place", "heron.yaml", "--snap", "tiles"), 'Use tile, none, or a length such as "50 mm".'),
        (("place", "heron.yaml", "--arrays", "many"), "Use a whole number from 1 to 64, or fewest."),
        (
            ("place", "heron.yaml", "--ladder", "0"),
            "--ladder takes one number from 1 to 12, or none; found 0",
        ),
        (("place", "heron.yaml", "--ladder", "2", "3"), "from 1 to 12, or none; found 2 3"),
        (("report", "heron.yaml", "-o", "x.pdf", "--ladder", "13"), "from 1 to 12, or none; found 13"),
        (("place", "heron.yaml", "--ladder", "--hold", "height"), "leave out --hold"),
        (("place", "heron.yaml", "--picture", "x.svg"), "--picture draws the ladder: give --ladder too"),
        (
            ("place", "heron.yaml", "--ladder", "--picture", "x.jpg"),
            "x.jpg has the ending .jpg. Use .svg or .png.",
        ),
        (("heights", "heron.yaml", "--picture", "x.jpg"), "x.jpg has the ending .jpg. Use .svg or .png."),
        (
            ("stills", "heron.yaml", "-o", "p", "--view", "attic"),
            "there is no view 'attic'. Choose from: corner,",
        ),
        (("import", "heron.yaml"), "heron.yaml is not an IFC model. Give an .ifc model or a .dxf drawing."),
    ],
)
def test_wrong_use_says_what_to_type_instead(rooms, run, monkeypatch, arguments, said):
    monkeypatch.chdir(rooms)
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert said in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("stills", "--size", "0x0"), "--size: 0x0 does not fit. Use 64 to 16000 pixels a side"),
        (("stills", "--size", "big"), "--size: 'big' is not a size. Use pixels across and down"),
        (("stills", "--dpi", "0"), "--dpi: 0 does not fit. Use 20 to 2400"),
        (("stills", "--dpi", "x"), '"x" is not a number'),
        (("live", "--port", "x"), '"x" is not a whole number'),
        (("live", "--port", "99999"), "--port: 99999 is not a port. Use 0 to 65535"),
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


@pytest.mark.parametrize(("room", "status"), [("heron", 0), ("weir", 1)])
@pytest.mark.parametrize("form", [[], ["--json"]], ids=["table", "json"])
@pytest.mark.parametrize("lines", [0, 1])
def test_a_reader_who_leaves_early_ends_nothing(rooms, room, status, form, lines):
    command = [sys.executable, "-m", "viz.commands", "check", rooms / f"{room}.yaml", *form]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdout=pipe, stderr=pipe, cwd=ROOT) as started:
        for _ in range(lines):
            assert started.stdout.readline()
        started.stdout.close()
        assert started.stderr.read() == b""
        assert started.wait() == status


def test_a_full_disk_is_told_once(rooms):
    command = [sys.executable, "-m", "viz.commands", "check", rooms / "heron.yaml"]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, cwd=ROOT, check=False)
    assert done.returncode == 3
    assert done.stderr.decode() == f"overtable: standard output: {os.strerror(errno.ENOSPC)}\n"


def test_the_version_is_the_packages(run):
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert run("--version")[1].strip() == project["version"]
