"""Completion of the command line: printed for each shell, nothing written, and it completes in a real bash."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from viz.commands.app import COMMANDS

ROOT = Path(__file__).parents[3]

COMPLETE = """
source completion.bash
spec=$(complete -p overtable)
function=${spec#*-F }; function=${function%% *}
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMP_LINE="$*"; COMP_POINT=${#COMP_LINE}
"$function" overtable "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"
printf '%s\\n' "${COMPREPLY[@]}"
"""


def printed(shell: str, home: Path) -> str:
    """What `overtable --completion` prints, in a home folder that stays empty."""
    done = subprocess.run(
        [sys.executable, "-m", "viz.commands", "--completion", shell],
        cwd=home,
        env={**os.environ, "HOME": str(home), "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert list(home.iterdir()) == []
    return done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_names_every_command_and_writes_no_file(tmp_path, shell):
    text = printed(shell, tmp_path)
    for name in COMMANDS:
        assert name in text
    assert "even-if-worse" in text


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (["overtable", "hei"], {"heights"}),
        (["overtable", "place", "--sn"], {"--snap"}),
        (["overtable", "demo", "--room", "f"], {"ferry"}),
    ],
)
def test_bash_completes(tmp_path, words, offered):
    script = printed("bash", tmp_path)
    (tmp_path / "completion.bash").write_text(script, "utf-8")
    done = subprocess.run(
        ["bash", "-c", COMPLETE, "bash", *words], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert {word.strip() for word in done.stdout.splitlines()} == offered, done.stderr


def test_a_shell_that_is_none_is_refused(run):
    code, _, err = run("--completion", "cmd")
    assert code == 2
    assert "bash" in err
    assert "overtable --completion --help" in err
