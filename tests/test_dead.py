"""What is dead: no public name without somebody who uses it, in the product or in a test."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from tests.tree import ROOT, tracked

FLOORS = ("geometry", "scenes", "viz")

READ_ELSEWHERE = {
    "scenes/rulebook.py Rule.model_config": "pydantic",
    "scenes/rulebook.py InSet.model_config": "pydantic",
    "scenes/spec/values.py Written.model_config": "pydantic",
    "viz/commands/import_.py import_": "viz/commands/app.py, which puts its name together",
}
"""Public names that nobody reads by that name, with the reader."""


def defined(source: str) -> Iterator[str]:
    """The public names that a module defines at its top, and those in its classes: "Draft.hatch".

    The fields of a NamedTuple are left out: rows are read by their order too.
    """
    for node in ast.parse(source).body:
        yield from public(node)
        if isinstance(node, ast.ClassDef) and "NamedTuple" not in map(ast.unparse, node.bases):
            yield from (f"{node.name}.{name}" for inner in node.body for name in public(inner))


def public(node: ast.stmt) -> Iterator[str]:
    """The public names that one statement defines."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        names = [node.name]
    elif isinstance(node, ast.Assign):
        names = [target.id for target in node.targets if isinstance(target, ast.Name)]
    elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        names = [node.target.id]
    else:
        names = []
    yield from (name for name in names if not name.startswith("_"))


def used(source: str) -> Iterator[str]:
    """The names that a module reads, also those that stand in a text as a name alone, for getattr and import."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Name | ast.Attribute):
            if isinstance(node.ctx, ast.Load):
                yield node.id if isinstance(node, ast.Name) else node.attr
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            if " " not in node.value:
                yield from node.value.replace(":", ".").split(".")
        elif isinstance(node, ast.MatchClass):
            yield from node.kwd_attrs


def sources(*folders: str) -> dict[str, str]:
    """The modules in these folders that git knows."""
    names = tracked(*(f"{folder}/*.py" for folder in folders))
    return {name: (ROOT / name).read_text("utf-8") for name in names}


def test_every_public_name_has_a_user_or_a_test() -> None:
    product = sources(*FLOORS)
    alive = {name for source in (product | sources("tests")).values() for name in used(source)}
    dead = {
        f"{path} {name}"
        for path, source in product.items()
        for name in defined(source)
        if name.split(".")[-1] not in alive
    }
    assert dead == set(READ_ELSEWHERE)


def test_what_is_dead_is_found() -> None:
    source = (
        "A = 1\nclass B:\n x: int = A\n def f(self): pass\n def _g(self): pass\nB(x=2)\ndef h(): h2 = 1\n"
    )
    assert [name for name in defined(source) if name.split(".")[-1] not in set(used(source))] == [
        "B.x",
        "B.f",
        "h",
    ]
    assert {"x", "f"} <= set(used("getattr(b, 'x')\nb.f"))
