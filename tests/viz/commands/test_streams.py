"""Standard output and error: any encoding, any reader, nothing ends in a traceback."""

from __future__ import annotations

import io
import json
import os
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from viz.commands.streams import ERRORS, PLAIN, plain, unbroken

ROOT = Path(__file__).parents[3]


def overtable(*arguments: object, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "viz.commands", *map(str, arguments)],
        cwd=ROOT,
        env={**os.environ, **environment},
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
        assert "26-61deg" in text


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
