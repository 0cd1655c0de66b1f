"""What is found is records: frozen, of numbers, ids and named causes, without a function and without free text."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

FINDINGS = Path(__file__).parents[2] / "scenes" / "findings"
MODULES = sorted(FINDINGS.glob("*.py"))

PLAIN = {"float", "int", "bool", "None"}
FORMS = {"tuple", "Mapping", "Literal"}
TEXTS = {"Id", "Quoted", "Digest"}
"""The text there may be, by what it is: see `scenes/findings/names.py`."""

FROM_BELOW = {
    *("Point2", "Point3", "Disc", "Solid"),  # geometry.shapes
    *("State", "Reason"),  # geometry.coverage
    "Outcome",  # geometry.branching
    *("Floats", "Indices", "Interval"),  # arrays of numbers, and two numbers
    *("Key", "Progress", "Outcome"),  # of a search
    *("Bounce", "IndexClass"),  # geometry.bounce, geometry.index
    *(
        "Scene",
        "Posture",
        "CeilingKind",
        "Mount",
        "HangsBy",
        "BoxPlace",
        "Hang",
        "RuleChange",
        "Origin",
    ),  # scenes.room
    *("Basis", "Rule", "Sureness", "CodeSet"),  # scenes.rulebook
}
"""Records and names of the packages below."""

LOOK_UPS = {
    "Review.head": "the head of an id, out of those there are",
    "Ladder.of": "the rungs of one layout, out of those there are",
    "Review.array": "the array of an id, out of those there are",
}
"""Functions all the same, with the reason: they compute nothing."""


def own_names() -> set[str]:
    """The records and named literals that findings define themselves."""
    trees = [ast.parse(path.read_text("utf-8")) for path in MODULES]
    records = {node.name for tree in trees for node in tree.body if isinstance(node, ast.ClassDef)}
    literals = {
        target.id
        for tree in trees
        for node in tree.body
        if isinstance(node, ast.Assign) and ast.unparse(node.value).startswith(("Literal[", "tuple["))
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    return records | literals


def leaves(annotation: ast.expr) -> Iterator[str]:
    """The names in an annotation; of a Literal not what it lists."""
    if isinstance(annotation, ast.Subscript):
        yield from leaves(annotation.value)
        if ast.unparse(annotation.value) != "Literal":
            yield from leaves(annotation.slice)
    elif isinstance(annotation, ast.Constant):
        yield from () if annotation.value is ... else (str(annotation.value),)
    elif isinstance(annotation, ast.Name):
        yield annotation.id
    elif isinstance(annotation, ast.BinOp | ast.Tuple):
        for part in ast.iter_child_nodes(annotation):
            if isinstance(part, ast.expr):
                yield from leaves(part)
    else:
        yield ast.unparse(annotation)


def wrong_in_record(record: ast.ClassDef, allowed: set[str]) -> Iterator[str]:
    """What a record must not be or have: not frozen, a base, a function, a field of any text or thing."""
    decorators = [ast.unparse(one) for one in record.decorator_list]
    if record.bases or not any(one.startswith("record(frozen=True") for one in decorators):
        yield f"{record.name} is no frozen record of its own"
    for node in record.body:
        if isinstance(node, ast.AnnAssign):
            name = f"{record.name}.{ast.unparse(node.target)}"
            yield from (f"{name}: {leaf}" for leaf in leaves(node.annotation) if leaf not in allowed)
        elif isinstance(node, ast.FunctionDef):
            name = f"{record.name}.{node.name}"
            if [ast.unparse(one) for one in node.decorator_list] != ["property"] and name not in LOOK_UPS:
                yield f"{name} is a function"
            yield from (
                f"{name} returns {leaf}"
                for leaf in leaves(node.returns or ast.Constant("nothing"))
                if leaf not in allowed
            )
        elif not isinstance(node, ast.Expr):
            yield f"{record.name} has {ast.unparse(node)}"


def wrong_in_module(source: str, allowed: set[str]) -> Iterator[str]:
    """What a module of findings must not have: functions, and records that are none."""
    for node in ast.parse(source).body:
        if isinstance(node, ast.ClassDef):
            yield from wrong_in_record(node, allowed)
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.If | ast.For):
            yield f"line {node.lineno}: {type(node).__name__}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_findings_are_frozen_records_of_numbers_ids_and_names(path: Path) -> None:
    allowed = PLAIN | FORMS | TEXTS | FROM_BELOW | own_names()
    assert list(wrong_in_module(path.read_text("utf-8"), allowed)) == []


def test_what_is_allowed_is_used() -> None:
    text = "\n".join(path.read_text("utf-8") for path in MODULES)
    used = {
        node.id
        for node in ast.walk(ast.parse(text.replace("from __future__ import annotations", "")))
        if isinstance(node, ast.Name)
    }
    assert used >= FROM_BELOW | TEXTS
    assert all(f"def {name.split('.')[1]}(" in text for name in LOOK_UPS)


@pytest.mark.parametrize(
    ("source", "told"),
    [
        ("def f(): pass", ["line 1: FunctionDef"]),
        ("class A:\n x: int", ["A is no frozen record of its own"]),
        ("@record(frozen=True)\nclass A:\n x: tuple[str, ...]", ["A.x: str"]),
        ("@record(frozen=True)\nclass A:\n x: int | Any = 1", ["A.x: Any"]),
        ("@record(frozen=True)\nclass A:\n x: Literal['str']", []),
        ("@record(frozen=True)\nclass A:\n @property\n def x(self) -> str: pass", ["A.x returns str"]),
        ("@record(frozen=True)\nclass A:\n def x(self) -> int: pass", ["A.x is a function"]),
    ],
)
def test_what_is_no_finding_is_found(source: str, told: list[str]) -> None:
    assert list(wrong_in_module(source, PLAIN | FORMS)) == told
