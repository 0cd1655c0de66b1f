"""The rules of the house that a program can watch: what lies where, who imports whom, what no file says."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.tree import ROOT, tracked

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "viz", "geometry", "scenes", "tests"}

DISTRIBUTIONS = {
    # of another name than the package
    "yaml": "pyyaml",
    "PIL": "pillow",
    "pytest_benchmark": "pytest-benchmark",
    # which brings the package, in the version that fits it
    "pydantic_core": "pydantic",
    "vtk": "pyvista",
    "vtkmodules": "pyvista",
}

MACHINE_PATHS = [f"/{folder}/" for folder in ("work", "root")] + ["/tmp/" + "venv"]
# Written in pieces, so that this file may be searched too.
REGISTRY_HOSTS = [
    ".".join(parts)
    for parts in (
        ("pypi", "org"),
        ("pythonhosted", "org"),
        ("npmjs", "org"),
        ("npmjs", "com"),
        ("yarnpkg", "com"),
        ("jsdelivr", "net"),
        ("unpkg", "com"),
        ("cdnjs", "cloudflare"),
    )
]


def imported(source: str) -> Iterator[str]:
    """The top-level packages that a module imports, wherever in it; of an import from a dot, nothing."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.split(".")[0]


@cache
def modules() -> dict[str, Path]:
    """Every module of the three floors, by its dotted name; a package is the module of its `__init__`."""
    found = {}
    for name in tracked("geometry/*.py", "scenes/*.py", "viz/*.py"):
        parts = Path(name).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = ROOT / name
    return found


def uses(name: str, known: set[str]) -> set[str]:
    """The modules of the house that a module imports, wherever in it, for type checking too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(modules()[name].read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= inside & known or {node.module}
    if name == "scenes.rules.apply":  # which imports what rules.yaml names
        found |= {one for one in known if one.startswith("scenes.rules.measures.")}
    return (found & known) - {name}


def circles(uses: dict[str, set[str]]) -> list[list[str]]:
    """The groups of two or more names that reach one another."""
    ahead: dict[str, set[str]] = {}
    for start in uses:
        reached, waiting = set(), list(uses[start])
        while waiting:
            if (one := waiting.pop()) not in reached:
                reached.add(one)
                waiting += uses.get(one, ())
        ahead[start] = reached
    groups = {tuple(sorted(other for other in ahead[name] if name in ahead.get(other, ()))) for name in uses}
    return sorted(list(group) for group in groups if len(group) > 1)


ORDER = ("rulebook", "spec", "project", "room", "findings", "rules", "review", "place", "models", "dossier")
"""The packages of `scenes`: each may import those before it."""


def touches_the_outside(source: str) -> Iterator[str]:
    """The calls and names in a module by which it would open a file or print."""
    for node in ast.walk(ast.parse(source)):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in ("open", "print", "input")
        ):
            yield f"{node.func.id}() in line {node.lineno}"
        elif isinstance(node, ast.Attribute) and node.attr in (
            *("read_text", "read_bytes", "write_text", "write_bytes"),
            *("loadtxt", "savetxt", "stdout", "stderr"),
        ):
            yield f".{node.attr} in line {node.lineno}"


def test_the_top_level_holds_only_what_belongs_there() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP


@pytest.mark.parametrize(
    ("floor", "above"),
    [("geometry", {"scenes", "viz", "tests"}), ("scenes", {"viz", "tests"}), ("viz", {"tests"})],
)
def test_no_floor_imports_a_floor_above_it(floor: str, above: set[str]) -> None:
    files = tracked(f"{floor}/*.py")
    assert files
    wrong = {
        name: found for name in files if (found := above & set(imported((ROOT / name).read_text("utf-8"))))
    }
    assert wrong == {}


def test_no_modules_import_one_another_in_a_circle() -> None:
    known = set(modules())
    assert len(known) > 100
    assert circles({name: uses(name, known) for name in known}) == []


def test_the_packages_of_the_middle_floor_import_only_those_below_them() -> None:
    known = set(modules())
    rank = {f"scenes.{package}": i for i, package in enumerate(ORDER)}
    wrong = []
    for name in known:
        own = rank.get(".".join(name.split(".")[:2]))
        for used in uses(name, known) if own is not None else ():
            package = ".".join(used.split(".")[:2])
            if rank.get(package, -1) > own:
                wrong.append((name, used))
    assert wrong == []


def test_circles_are_found() -> None:
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"a"}}) == [["b", "c"]]


def distributions(*patterns: str) -> set[str]:
    """The packages of others that these files import, by the names they are installed by."""
    found = {package for name in tracked(*patterns) for package in imported((ROOT / name).read_text("utf-8"))}
    found -= {"geometry", "scenes", "viz", "tests", *sys.stdlib_module_names}
    return {DISTRIBUTIONS.get(package, package).lower() for package in found}


def declared(kind: str | None = None) -> set[str]:
    """The packages that pyproject.toml asks for, always or for one of the extras."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked = project["dependencies"] if kind is None else project["optional-dependencies"][kind]
    return {re.split("[^A-Za-z0-9-]", one)[0].lower() for one in asked}


NOT_IMPORTED = {
    "websockets": "uvicorn is given it by name in viz/serving.py",
    "overtable": "the tests' own: itself, with its models",
    "pytest-timeout": "a plugin: the setting timeout",
    "pytest-xdist": "a plugin: its option -n",
    "mypy": "run, by .ci/run",
    "ruff": "run, by .ci/run and the test of the limits",
    "rtree": "trimesh imports it, without saying that it needs it",
    "setuptools": "the wheel is built with it in a test",
}
"""What is asked for and imported by no name, with the reason."""


def test_what_is_imported_is_asked_for_and_what_is_asked_for_is_imported() -> None:
    product, tests = distributions("geometry/*.py", "scenes/*.py", "viz/*.py"), distributions("tests/*.py")
    needed, extra = declared() | declared("models"), declared("test")
    assert product <= needed
    assert tests <= needed | extra
    assert (needed - product) | (extra - tests) == set(NOT_IMPORTED)


def test_geometry_opens_no_file_and_prints_nothing() -> None:
    files = tracked("geometry/*.py")
    assert files
    wrong = {
        name: found
        for name in files
        if (found := list(touches_the_outside((ROOT / name).read_text("utf-8"))))
    }
    assert wrong == {}


def test_the_two_walks_find_what_they_are_for() -> None:
    source = "def f():\n    import viz.stage as s\n    from scenes import spec\n    from . import band\n"
    assert list(imported(source)) == ["viz", "scenes"]
    source = "print(1)\nwith open(p) as f: pass\np.write_text('')\nregion.open(2)\n"
    told = ["print() in line 1", "open() in line 2", ".write_text in line 3"]
    assert sorted(touches_the_outside(source)) == sorted(told)


def test_no_file_names_a_registry_or_a_path_of_one_machine() -> None:
    wrong = re.compile("|".join(map(re.escape, MACHINE_PATHS + REGISTRY_HOSTS)))
    found = []
    for name in tracked():
        data = (ROOT / name).read_bytes()
        if b"\0" in data:
            continue  # no text
        for match in wrong.finditer(data.decode("utf-8")):
            found.append((name, match.group()))
    assert found == []


def test_the_pictures_floor_says_nothing_at_its_door() -> None:
    # Whoever imports one module of viz gets that one, and no graphics library with it.
    assert (ROOT / "viz" / "__init__.py").read_bytes() == b""
