"""Ctrl-C at any moment: exit status 130, no traceback, nothing left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

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
