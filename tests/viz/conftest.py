"""What the tests of the outputs share: copies of the demo rooms, and the command line in this process."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from viz.commands.main import main


@pytest.fixture
def rooms(tmp_path):
    """A folder with the demo rooms, free to change."""
    for file in Path(str(files("scenes.rooms"))).glob("*.yaml"):
        shutil.copy(file, tmp_path)
    return tmp_path


@pytest.fixture
def run(capsys):
    """Run a command; gives (exit status, standard output, standard error)."""

    def run(*arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as exit_:
            main([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return int(exit_.value.code or 0), told.out, told.err

    return run
