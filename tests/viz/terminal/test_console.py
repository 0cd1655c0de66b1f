"""What the terminal prints is what was written."""

from __future__ import annotations

import pytest

from viz.terminal.console import console


def test_a_name_between_colons_stays_as_it_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    console().print(":door: of the room")
    assert capsys.readouterr().out == ":door: of the room\n"
