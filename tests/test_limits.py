"""How large a function and a file may be. Whoever stands above a limit stands in `EXCEPTIONS`, with the reason."""

from __future__ import annotations

import ast
import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tree import ROOT, tracked

FLOORS = ("geometry", "scenes", "viz")

COUNTED_BY_RUFF = {
    "C901": ("complexity", "lint.mccabe.max-complexity=10"),
    "PLR0913": ("arguments", "lint.pylint.max-args=8"),
    "PLR0915": ("statements", "lint.pylint.max-statements=50"),
}
MOST_BRANCHES = 20
MOST_LINES = 60
MOST_LINES_OF_A_FILE = 600

BRANCHES = (
    *(ast.If, ast.IfExp, ast.For, ast.AsyncFor, ast.While, ast.ExceptHandler, ast.match_case),
    ast.comprehension,
)
"""What may or may not be run, or be run again: C901 leaves out conditional expressions and comprehensions."""

NOT_YET = "no reason but its age: to be taken apart"

AN_OPTION = "each is an option of the command line, declared where cyclopts reads it"
CHECKER = "an independent checker, read from top to bottom like the proof it follows"
PLACE = "options by keyword, each with its default and its meaning told: they are most of the function"
KINDS_OF_VALUE = "a branch for each kind of value that a scene is made of, all in sight"
LATE_CLASSES = "two classes derived from ezdxf's, which is imported only when a sheet is drawn"
LETTERS = "what, where, how large, heavy, aligned, coloured, turned and how wide letters are"
ONE_WINDOW = "a window costs seconds to open: one is led through all its keys in order"

# A file or "file function", and the limit. One line each, in order. An entry that is no longer needed goes.
EXCEPTIONS: dict[str, str] = {
    "scenes/place/search.py place_scene arguments": PLACE,
    "scenes/place/search.py place_scene lines": PLACE,
    "scenes/place/wished.py place_as_wished arguments": PLACE,
    "tests/geometry/test_certificate.py check complexity": CHECKER,
    "tests/scenes/review/test_changes.py otherwise complexity": KINDS_OF_VALUE,
    "tests/viz/test_window.py test_the_window_follows_keys_pointer_and_file statements": ONE_WINDOW,
    "viz/cards/page.py Page.words arguments": LETTERS,
    "viz/commands/place.py place arguments": AN_OPTION,
    "viz/commands/place.py place lines": "half of it is the help that people read",
    "viz/commands/sheets.py sheets arguments": AN_OPTION,
    "viz/commands/stills.py stills arguments": AN_OPTION,
    "viz/sheets/render.py _classes branches": LATE_CLASSES,
    "viz/sheets/render.py _classes complexity": LATE_CLASSES,
    "viz/sheets/render.py _classes lines": LATE_CLASSES,
}


def branches(function: ast.AST) -> int:
    """The ways through a function, counted in full: one, and one more for every branch, condition and operator."""
    count = 1
    for node in ast.walk(function):
        count += isinstance(node, BRANCHES)
        if isinstance(node, ast.comprehension):
            count += len(node.ifs)
        elif isinstance(node, ast.BoolOp):
            count += len(node.values) - 1
    return count


Function = ast.FunctionDef | ast.AsyncFunctionDef


def functions(node: ast.AST, names: tuple[str, ...] = ()) -> Iterator[tuple[str, Function]]:
    """The functions in a part of a module, with their names: "Draft.hatch", and "outer.inner" of one in another."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, Function):
            yield ".".join((*names, child.name)), child
        inner = (*names, child.name) if isinstance(child, Function | ast.ClassDef) else names
        yield from functions(child, inner)


def above_the_counts(source: str) -> Iterator[str]:
    """The functions of a module above the limits that no linter counts, and the module if it is too long itself."""
    if len(source.splitlines()) > MOST_LINES_OF_A_FILE:
        yield "file"
    for name, function in functions(ast.parse(source)):
        if branches(function) > MOST_BRANCHES:
            yield f"{name} branches"
        if (function.end_lineno or 0) - function.lineno + 1 > MOST_LINES:
            yield f"{name} lines"


def above_the_linters() -> set[str]:
    """The functions above a limit that ruff counts: "viz/sheets/draft.py View.dimension arguments"."""
    ruff = shutil.which("ruff", path=str(Path(sys.executable).parent))
    assert ruff, "ruff is not installed beside this Python: run .ci/setup"
    options = ["--isolated", "--ignore-noqa", "--no-cache", "--exit-zero", "--output-format", "json"]
    options += ["--select", ",".join(COUNTED_BY_RUFF)]
    options += [word for _, setting in COUNTED_BY_RUFF.values() for word in ("--config", setting)]
    told = subprocess.run(
        [ruff, "check", *options, *FLOORS, "tests"], cwd=ROOT, check=True, capture_output=True, text=True
    )
    found = set()
    for one in json.loads(told.stdout):
        path, line = Path(one["filename"]), one["location"]["row"]
        names = [name for name, node in functions(ast.parse(path.read_text("utf-8"))) if node.lineno == line]
        assert len(names) == 1, f"{path}:{line} is not the line of one function"
        found.add(f"{path.relative_to(ROOT).as_posix()} {names[0]} {COUNTED_BY_RUFF[one['code']][0]}")
    return found


def above_the_limits() -> set[str]:
    """Every file and function above one of the limits, as `EXCEPTIONS` names them; of tests what ruff counts."""
    found = above_the_linters()
    for name in tracked(*(f"{floor}/*.py" for floor in FLOORS)):
        found |= {f"{name} {one}" for one in above_the_counts((ROOT / name).read_text("utf-8"))}
    return found


def test_functions_and_files_keep_to_the_limits_or_say_why_not() -> None:
    above = above_the_limits()
    assert sorted(above - set(EXCEPTIONS)) == [], "take it apart, or say in EXCEPTIONS why it is better whole"
    assert sorted(set(EXCEPTIONS) - above) == [], "keeps to the limits now: its line in EXCEPTIONS goes"


def test_every_exception_has_its_reason_in_words() -> None:
    assert [name for name, why in EXCEPTIONS.items() if len(why.split()) < 4] == []
    assert list(EXCEPTIONS) == sorted(EXCEPTIONS)


@pytest.mark.parametrize(
    ("body", "count"),
    [
        ("return 1", 1),
        ("return a and b and c", 3),
        ("return a if b else c", 2),
        ("return [x for row in a for x in row if x and b]", 5),
        ("for x in a:\n  while x:\n   if x: pass\n   elif b: pass\n   else: pass", 5),
        ("try: a()\n except OSError: pass\n except ValueError: pass", 3),
        ("match a:\n  case 1: pass\n  case _: pass", 3),
        ("def g():\n  if a: pass\n return g", 2),
    ],
)
def test_branches_are_counted_in_full(body: str, count: int) -> None:
    assert branches(ast.parse(f"def f(a, b, c):\n {body}\n")) == count


def test_what_is_too_large_is_found() -> None:
    long = "class A:\n def f(self):\n" + "  pass\n" * MOST_LINES
    assert list(above_the_counts(long)) == ["A.f lines"]
    assert list(above_the_counts(long + "#\n" * MOST_LINES_OF_A_FILE)) == ["file", "A.f lines"]
    assert list(above_the_counts(f"def f(): return {' or '.join('a' * 21)}")) == ["f branches"]
    assert list(above_the_counts(f"def f(): return {' or '.join('a' * 20)}")) == []
