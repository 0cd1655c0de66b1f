"""The product, asked through its command line and in no other way."""

from __future__ import annotations

import contextlib
import importlib
import io
import json
import tomllib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[3]
COMMAND = "overtable"


class Answer(NamedTuple):
    """What a command gave: its exit status, and what it wrote on both streams."""

    status: int
    out: str
    err: str


@cache
def command() -> Callable[[list[str]], None]:
    """The function behind the console command, by the name that pyproject.toml gives it.

    It is read there and not in what is installed, so that a moved function is found at once.
    """
    scripts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["scripts"]
    module, _, name = scripts[COMMAND].partition(":")
    found: Callable[[list[str]], None] = getattr(importlib.import_module(module), name)
    return found


def run(*arguments: object) -> Answer:
    """Run one command in this process."""
    out, err = io.StringIO(), io.StringIO()
    status: Any = 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            command()([str(argument) for argument in arguments])
        except SystemExit as left:
            status = left.code
    return Answer(int(status or 0), out.getvalue(), err.getvalue())


def asked(*arguments: object) -> Any:
    """What a command says with --json. AssertionError if it took the input for wrong, or failed."""
    answer = run(*arguments, "--json")
    assert answer.status in (0, 1), (
        f"{arguments}: exit {answer.status}\n{answer.out[:2000]}{answer.err[:2000]}"
    )
    return json.loads(answer.out)


def reviews(files: list[Path]) -> list[Any]:
    """The reviews of several rooms, in their order."""
    told = asked("check", *files)
    return told if isinstance(told, list) else [told]


@cache
def bare_search() -> tuple[str, ...]:
    """The options that make `place` a bare search: no wishes, nothing kept beyond the rules, no lattice."""
    return ("--free",) if "--free" in run("place", "--help").out else ()
