"""The commands by name, and what `--help` does not load."""

from __future__ import annotations

import importlib
import inspect
import subprocess
import sys
from keyword import iskeyword

import pytest

from viz.commands.app import COMMANDS


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_is_the_function_of_its_name_in_the_file_of_its_name(name):
    module = f"{name}_" if iskeyword(name) else name.replace("-", "_")
    command = getattr(importlib.import_module(f"viz.commands.{module}"), module)
    # the list of all commands says what the command's own help says first
    assert inspect.getdoc(command).splitlines()[0] == COMMANDS[name]


def test_help_names_every_command(run):
    code, out, _ = run("--help")
    assert code == 0
    for name in COMMANDS:
        assert f" {name} " in out


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_a_help_of_its_own(run, name):
    code, out, _ = run(name, "--help")
    assert code == 0
    assert f"Usage: overtable {name}" in out


def test_help_loads_no_command_and_nothing_of_the_floors_below():
    code = (
        "import sys\n"
        "from viz.commands.main import main\n"
        "try:\n    main(['--help'])\n"
        "except SystemExit:\n    pass\n"
        "ours = {name for name in sys.modules if name.split('.')[0] in ('geometry', 'scenes', 'viz')}\n"
        "heavy = {'numpy', 'yaml', 'pydantic'} & set(sys.modules)\n"
        "print(sorted(ours | heavy), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    names = ["viz", "viz.commands", "viz.commands.app", "viz.commands.examples", "viz.commands.main"]
    assert done.stderr.strip() == str(names)
