"""Which layer each thing is drawn on: `layers.yaml`, and an office's own file laid over it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

import yaml

from geometry.records import record
from viz.words.locale import Locale

LINE_TYPES = ("CONTINUOUS", "DASHED", "DASHDOT")
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100)
"""The line weights DXF knows, hundredths of a millimetre."""


@record(frozen=True, slots=True)
class Layer:
    """One layer: its name, colour as #RRGGBB, line weight in hundredths of a millimetre, and line type."""

    name: str
    colour: str
    weight: int
    line: str
    about: str


class LayersMistake(ValueError):
    """A layers file that says something it may not; told with the entry, what was found and what is allowed."""

    exit_status = 2

    def __init__(self, mistake: str, **values: str) -> None:
        super().__init__(_LOCALE.say(mistake, None, **values))


_LOCALE: Final = Locale("m")
"""Of a file that belongs to an office, not to a room."""


def read_layers(path: Path) -> str:
    """The text of an office's own layers file. Raises LayersMistake."""
    try:
        if not path.is_file():
            raise LayersMistake("layers.no file", path=str(path))
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise LayersMistake("layers.not text", path=str(path), byte=f"{problem.start}") from None
    except OSError as problem:
        raise LayersMistake("layers.unreadable", path=str(path), why=f"{problem.strerror}") from None


def layers(own: str | None = None) -> Mapping[str, Layer]:
    """The layer of each role. `own`: the text of a file in the form of `layers.yaml` that changes some of them.

    Two roles may share a layer only if they agree in everything else. Raises LayersMistake.
    """
    told: dict[str, dict[str, object]] = {role: dict(entry) for role, entry in _shipped().items()}
    if own is not None:
        try:
            changes = yaml.safe_load(own)
        except (yaml.YAMLError, ValueError, RecursionError) as problem:
            raise LayersMistake("layers.not yaml", why=str(problem)) from problem
        if not isinstance(changes, dict):
            raise LayersMistake("layers.no mapping")
        for role, entry in changes.items():
            if role not in told:
                raise LayersMistake("layers.unknown", role=repr(role), roles=", ".join(told))
            if not isinstance(entry, dict) or not set(entry) <= {
                "layer",
                "colour",
                "weight",
                "line",
                "about",
            }:
                raise LayersMistake("layers.keys", role=str(role), entry=repr(entry))
            told[role].update(entry)
    made = {role: _layer(role, entry) for role, entry in told.items()}
    first: dict[str, tuple[str, Layer]] = {}
    for role, layer in made.items():
        other_role, other = first.setdefault(layer.name.upper(), (role, layer))
        if (other.colour, other.weight, other.line) != (layer.colour, layer.weight, layer.line):
            raise LayersMistake("layers.shared", role=role, other=other_role, layer=layer.name)
    return made


@cache
def _shipped() -> dict[str, dict[str, object]]:
    text = (Path(__file__).parent / "layers.yaml").read_text(encoding="utf-8")
    loaded: dict[str, dict[str, object]] = yaml.safe_load(text)
    return loaded


def _layer(role: str, entry: Mapping[str, object]) -> Layer:
    name, colour = str(entry["layer"]), str(entry["colour"])
    weight, line = entry["weight"], str(entry.get("line", "CONTINUOUS"))
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_$-]{0,254}", name):
        raise LayersMistake("layers.name", role=role, layer=repr(name))
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
        raise LayersMistake("layers.colour", role=role, colour=repr(colour))
    if weight not in WEIGHTS:
        raise LayersMistake("layers.weight", role=role, weight=repr(weight), weights=str(WEIGHTS))
    if line not in LINE_TYPES:
        raise LayersMistake("layers.line", role=role, line=repr(line), lines=str(LINE_TYPES))
    return Layer(name, colour, int(str(weight)), line, str(entry.get("about", "")))
