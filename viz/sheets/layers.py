"""Which layer each thing is drawn on: `layers.yaml`, and an office's own file laid over it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

LINE_TYPES = ("CONTINUOUS", "DASHED", "DASHDOT")
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100)
"""The line weights DXF knows, hundredths of a millimetre."""


@dataclass(frozen=True, slots=True)
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


def read_layers(path: Path) -> str:
    """The text of an office's own layers file. Raises LayersMistake."""
    try:
        if not path.is_file():
            raise LayersMistake(f"{path} is no file; give a YAML file of layers")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise LayersMistake(f"{path} is not UTF-8 text (byte {problem.start}); save it as UTF-8") from None
    except OSError as problem:
        raise LayersMistake(f"{path} cannot be read: {problem.strerror}") from None


def layers(own: str | None = None) -> Mapping[str, Layer]:
    """The layer of each role. `own`: the text of a file in the form of `layers.yaml` that changes some of them.

    Two roles may share a layer only if they agree in everything else. Raises LayersMistake.
    """
    told: dict[str, dict[str, object]] = {role: dict(entry) for role, entry in _shipped().items()}
    if own is not None:
        try:
            changes = yaml.safe_load(own)
        except (yaml.YAMLError, ValueError, RecursionError) as problem:
            raise LayersMistake(f"layers file: this is not YAML ({problem})") from problem
        if not isinstance(changes, dict):
            raise LayersMistake(
                "layers file: allowed is a mapping of what is drawn to its layer, as in layers.yaml"
            )
        for role, entry in changes.items():
            if role not in told:
                raise LayersMistake(f"layers file, {role!r}: allowed is one of {', '.join(told)}")
            if not isinstance(entry, dict) or not set(entry) <= {
                "layer",
                "colour",
                "weight",
                "line",
                "about",
            }:
                raise LayersMistake(
                    f"layers file, {role}: {entry!r}; allowed are layer, colour, weight, line, about"
                )
            told[role].update(entry)
    made = {role: _layer(role, entry) for role, entry in told.items()}
    first: dict[str, tuple[str, Layer]] = {}
    for role, layer in made.items():
        other_role, other = first.setdefault(layer.name.upper(), (role, layer))
        if (other.colour, other.weight, other.line) != (layer.colour, layer.weight, layer.line):
            raise LayersMistake(
                f"layers file, {role} and {other_role}: both are on {layer.name} with different colour, weight or "
                "line; allowed is the same for both, or a layer each"
            )
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
        raise LayersMistake(f"layers file, {role}: layer {name!r}; allowed are letters, digits, -, _ and $")
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
        raise LayersMistake(f"layers file, {role}: colour {colour!r}; allowed is #RRGGBB")
    if weight not in WEIGHTS:
        raise LayersMistake(f"layers file, {role}: weight {weight!r}; allowed is one of {WEIGHTS}")
    if line not in LINE_TYPES:
        raise LayersMistake(f"layers file, {role}: line {line!r}; allowed is one of {LINE_TYPES}")
    return Layer(name, colour, int(str(weight)), line, str(entry.get("about", "")))
