"""Demo rooms handed over once in a run of the tests, for all its workers: what many tests read and none changes."""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import pytest

REPO = Path(__file__).parents[2]


@dataclass(frozen=True)
class Handed:
    """What `overtable handover ROOM.yaml --no-pictures` left (folder) and printed, in a process of its own."""

    folder: Path
    code: int
    out: str
    err: str


class Store:
    """One folder for all workers of a run; the first to ask for a room makes it, the others wait for that."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def __call__(self, room: str) -> Handed:
        """The handover of a demo room by its file's name; no test may change what lies there."""
        place = self._folder / room
        place.mkdir(parents=True, exist_ok=True)
        with (place / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not (place / "code").exists():
                self._make(room, place)
        code, out, err = ((place / name).read_text("utf-8") for name in ("code", "stdout", "stderr"))
        return Handed(place / "out", int(code), out, err)

    def made(self, name: str, make: Callable[[], bytes]) -> bytes:
        """The bytes under a name, made by the first to ask and read by all others of the run."""
        place = self._folder / f"{name}.made"
        place.mkdir(parents=True, exist_ok=True)
        with (place / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not (place / "whole").exists():
                (place / "bytes").write_bytes(make())
                (place / "whole").touch()
        return (place / "bytes").read_bytes()

    def _make(self, room: str, place: Path) -> None:
        for name in (f"{room}.yaml", "devices.yaml"):
            (place / name).write_bytes(files("scenes.rooms").joinpath(name).read_bytes())
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "viz.commands",
                "handover",
                str(place / f"{room}.yaml"),
                "-o",
                str(place / "out"),
                "--no-pictures",
            ],
            cwd=place,
            env={**os.environ, "PYTHONPATH": str(REPO), "PYTHONIOENCODING": "utf-8", "PYTHONHASHSEED": "1"},
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
        (place / "stdout").write_text(done.stdout, "utf-8")
        (place / "stderr").write_text(done.stderr, "utf-8")
        (place / "code").write_text(str(done.returncode), "utf-8")  # last: now it is there


def store(factory: pytest.TempPathFactory) -> Store:
    """The store of this run: pytest-xdist gives each worker a folder in one of the run's own."""
    base = factory.getbasetemp()
    return Store((base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "handed-over")
