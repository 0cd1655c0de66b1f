"""Ctrl-C at any moment: exit status 130, no traceback, nothing left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from viz.commands.main import main

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize("after_s", [0.12, 0.2, 0.3, 0.4, 0.6, 1.0])
def test_ctrl_c_while_packages_are_imported_ends_quietly(rooms, after_s):
    # a try-out: 0.3 s after the start it ended in KeyboardInterrupt and its traceback
    before = sorted(p.name for p in rooms.iterdir())
    # told by the command itself when it may be interrupted: before that, Python itself is starting
    code = "print(flush=True); from viz.commands.main import main; main()"
    arguments = ["handover", "heron.yaml", "-o", "out", "--no-pictures"]
    with subprocess.Popen(
        [sys.executable, "-c", code, *arguments],
        cwd=rooms,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as started:
        assert started.stdout is not None
        assert started.stdout.readline()
        time.sleep(after_s)
        started.send_signal(signal.SIGINT)
        _, told = started.communicate(timeout=60)
    assert told == b""
    assert started.returncode == 130
    assert sorted(p.name for p in rooms.iterdir()) == before


def test_ctrl_c_while_a_class_is_made_ends_quietly_too(monkeypatch, capsys):
    def interrupted(arguments):
        raise RuntimeError("Error calling __set_name__") from KeyboardInterrupt()

    monkeypatch.setattr("viz.commands.app.run", interrupted)
    with pytest.raises(SystemExit) as ended:
        main(["check"])
    assert ended.value.code == 130
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_a_stop_while_several_rooms_are_made_loses_those_in_hand_and_is_quiet(rooms, stop):
    before = sorted(p.name for p in rooms.iterdir())
    with subprocess.Popen(
        [
            sys.executable,
            "-m",
            "viz.commands",
            "handover",
            "heron.yaml",
            "weir.yaml",
            "-o",
            "out",
            "--no-pictures",
        ],
        cwd=rooms,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        start_new_session=True,
    ) as started:
        end = time.monotonic() + 60
        while not list(rooms.glob("out/.*/**/data/review.json")):
            assert started.poll() is None
            assert time.monotonic() < end
            time.sleep(0.02)
        # Ctrl-C reaches every process of the terminal, a stop from outside this one
        os.killpg(started.pid, stop) if stop == signal.SIGINT else started.send_signal(stop)
        _, told = started.communicate(timeout=60)
    # what was finished stays and is said to: here nothing was, and nothing is left of what was in hand
    assert told.count(b"\n") <= 1
    assert b"Traceback" not in told
    assert started.returncode == 128 + stop
    assert sorted(p.name for p in rooms.iterdir() if p.name != "out") == before
    assert not [path for path in (rooms / "out").rglob("*") if path.is_file()]
