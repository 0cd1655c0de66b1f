"""Standard output and error: any encoding, any reader, nothing ends in a traceback."""

from __future__ import annotations

import io
import json
import os
import re
import select
import shutil
import signal
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import pytest

from tests.small_room import SMALL
from viz.commands import errors
from viz.commands.streams import ERRORS, PLAIN, plain, unbroken

ROOT = Path(__file__).parents[3]


def overtable(
    *arguments: object, within: Path = ROOT, **environment: str
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "viz.commands", *map(str, arguments)],
        cwd=within,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        check=False,
    )


# a try-out: each of these ended in a traceback and exit status 1, "the review found a failure"
ENCODINGS = {
    "cp1252": {"PYTHONIOENCODING": "cp1252"},
    "ascii": {"PYTHONIOENCODING": "ascii"},
    "C": {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
}


@pytest.mark.parametrize("name", ENCODINGS)
def test_what_an_encoding_does_not_have_is_said_otherwise(rooms, name):
    codec = "cp1252" if name == "cp1252" else "ascii"
    done = overtable("check", rooms / "heron.yaml", **ENCODINGS[name])
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode(codec)
    assert "* " in text
    assert "?" not in text
    assert ("m²" if codec == "cp1252" else "m2") in text
    if codec == "ascii":
        assert re.search(r"\d+-\d+deg", text)


OTHER_SCRIPTS = "Süd ● 会議室 Зал 3 קומה ٣ 🎤"
COMMANDS = {
    "check": ("check", "room.yaml", "--all"),
    "place": ("place", "room.yaml"),
    "heights": ("heights", "room.yaml"),
    "page": ("page", "room.yaml", "-o", "page.html"),
    "sheets": ("sheets", "room.yaml", "-o", "out"),
    "help": ("--help",),
    "help of a command": ("place", "--help"),
}


LACKING = "会議室Залקומה🎤◌"
"""Letters of these, and the ring that a sheet draws for them, that nothing in ASCII stands for."""


@pytest.mark.parametrize("command", COMMANDS)
def test_every_kind_of_command_goes_through_in_any_encoding(tmp_path, command):
    spec = tmp_path / "room.yaml"
    room = SMALL.replace("name: Harbour Room", f'name: "{OTHER_SCRIPTS}"')
    hung = "profile: reed, at: [3, 2], height: 1.9, band: mid}"
    spec.write_text(room.replace("profile: reed}", hung), "utf-8")
    expected, files = answered(tmp_path, COMMANDS[command], "utf-8", PYTHONIOENCODING="utf-8")
    for name in ("cp1252", "C"):
        codec = "cp1252" if name == "cp1252" else "ascii"
        environment = {"PYTHONUNBUFFERED": "1", **ENCODINGS[name]}
        found, same_files = answered(tmp_path, COMMANDS[command], codec, **environment)
        # the files do not depend on the terminal
        assert same_files == files
        assert found.returncode == expected.returncode
        for right, text in ((expected.stdout, found.stdout), (expected.stderr, found.stderr)):
            assert text.count("?") == right.count("?") + sum(map(right.count, LACKING))
            assert numbers(text) == numbers(right)


def answered(
    folder: Path, arguments: tuple[str, ...], codec: str, **environment: str
) -> tuple[subprocess.CompletedProcess[str], dict[Path, bytes]]:
    """What a command says, as text, and the files it leaves; they are taken away again."""
    done = overtable(*arguments, within=folder, **environment)
    files = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    shutil.rmtree(folder / "out", ignore_errors=True)
    out, error = done.stdout.decode(codec), done.stderr.decode(codec)
    assert done.returncode in (0, 1), error
    assert "Traceback" not in error
    return subprocess.CompletedProcess(done.args, done.returncode, out, error), files


def numbers(text: str) -> list[str]:
    """The numbers of a text in order, the 2 of m² left out."""
    return re.findall(r"\d+(?:\.\d+)?", text.replace("m²", "m").replace("m2", "m").replace("٣", "3"))


def test_columns_are_as_wide_as_what_the_stream_shows(rooms):
    done = overtable("check", rooms / "heron.yaml", "--all", **ENCODINGS["C"])
    lines = done.stdout.decode("ascii").splitlines()
    assert any(re.search(r"\d+-\d+deg", line) for line in lines)
    for above, below in pairwise(lines):
        # a table's lines end where its frame does
        if above.startswith("+--") and below.startswith("|"):
            assert len(above) == len(below)
        if above.startswith("|") and below.startswith("|"):
            assert len(above) == len(below)


@pytest.mark.parametrize("name", ENCODINGS)
def test_json_stays_json_in_any_encoding(rooms, name):
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text("utf-8").replace("name: Heron Room", "name: Süd ● 会議室 🎤"), "utf-8")
    done = overtable("check", spec, "--json", **ENCODINGS[name])
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads(done.stdout)["room"]["name"] == "Süd ● 会議室 🎤"


def test_mistakes_and_wrong_use_are_told_in_any_encoding(tmp_path):
    spec = tmp_path / "größe.yaml"
    spec.write_text("name: [会議室\n", "utf-8")
    for arguments in (("check", spec), ("chęck",), ("live", spec, "--port", "●")):
        done = overtable(*arguments, PYTHONIOENCODING="ascii")
        assert done.returncode == 2
        assert b"Traceback" not in done.stderr
        assert done.stderr.isascii()


def test_what_a_person_set_for_such_letters_stays(rooms):
    done = overtable("check", rooms / "heron.yaml", PYTHONIOENCODING="ascii:xmlcharrefreplace")
    assert done.returncode == 0
    assert b"m&#178;" in done.stdout


def test_letters_become_others_and_bytes_of_names_stay_bytes():
    import codecs

    codecs.register_error(ERRORS, plain)
    assert "Größe: 1.2 m², 24–69°".encode("ascii", ERRORS) == b"Grosse: 1.2 m2, 24-69deg"
    assert "½ in, 3½ in, 12⅛ in, 10⁶, 10⁻³, 1.2 m²".encode("ascii", ERRORS) == (
        b"1/2 in, 3 1/2 in, 12 1/8 in, 10^6, 10^-3, 1.2 m2"
    )
    assert "٣ ３ − ≥ ≤ µm e\u0301 №".encode("ascii", ERRORS) == b"3 3 - >= <= um e No"
    assert "é Å 会".encode("ascii", ERRORS) == b"e A ?"
    assert "a\udcffb".encode("utf-8", ERRORS) == b"a\xffb"
    assert all(value.isascii() for value in PLAIN.values())
    with pytest.raises(UnicodeDecodeError):
        b"\xff".decode("ascii", ERRORS)


def test_a_stream_that_is_none_of_the_process_stays_as_it_is():
    stream = io.StringIO()
    assert unbroken(stream) is stream
    assert unbroken(None) is None


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_live_says_its_address_at_once(rooms, unbuffered):
    # a try-out: with PYTHONUNBUFFERED=1, common in containers, the address was never shown
    command = [sys.executable, "-m", "viz.commands", "live", str(rooms / "heron.yaml"), "--no-browser"]
    environment = {**os.environ, "PYTHONUNBUFFERED": unbuffered, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(command, env=environment, stderr=subprocess.PIPE) as started:
        assert started.stderr is not None
        try:
            told, end = b"", time.monotonic() + 60
            while b"http://127.0.0.1:" not in told:
                assert select.select([started.stderr], [], [], end - time.monotonic())[0], told
                told += os.read(started.stderr.fileno(), 4096)
        finally:
            started.send_signal(signal.SIGTERM)
            started.wait(30)


def test_a_package_that_is_not_installed_is_named_and_our_own_is_a_fault() -> None:
    missing = ModuleNotFoundError("No module named 'pyvista.core'", name="pyvista.core")
    assert errors.status_of(missing) == 3
    text = errors.text_of(missing)
    assert "the Python package pyvista is not installed" in text
    assert "pip install" in text
    assert errors.status_of(ModuleNotFoundError("", name="viz.nothing")) is None
