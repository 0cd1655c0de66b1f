"""Messages of what is cut, drilled and ordered before anything is hung. By name, as in `english`."""

from __future__ import annotations

from typing import Final

HANG: Final[dict[str, str | tuple[str, str]]] = {
    "hung from": "{array}: {held}. Box {box}; cable {cable}; ceiling at {ceiling}.",
    "hung in": "{array}: {held}, {box}; ceiling at {ceiling}.",
    "label.suspension": "Suspension",
    "suspension.cable": ("one cable, which carries and connects", "{count} cables; one of them connects"),
    "suspension.wires": ("one wire", "{count} wires from the body to one hang point above its middle"),
    "suspension.rod": (
        "one rod above the middle of the body",
        "{count} rods; only the middle between them is checked here, so check each one against the ceiling",
    ),
    "suspension.pole": (
        "one pole above the middle of the body",
        "{count} poles; check each one against the ceiling",
    ),
    "suspension.flush": ("flush in an opening", "flush in an opening, held at {count} points"),
    "suspension.recessed": (
        "in a recess of the ceiling",
        "in a recess of the ceiling, held at {count} points",
    ),
    "label.cut": "Cut to length",
    "cut.wires": (
        "one wire of {length} from the hang point at {start} to the body; grippers and ends as the maker gives",
        "{count} wires of {length} from the hang point at {start} to the body; grippers and ends as the maker gives",
    ),
    "cut.rod": (
        "one rod of {length} from {start} to the top of the body, less its fittings as the maker gives",
        "{count} rods of {length} from {start} to the top of the body, less their fittings as the maker gives",
    ),
    "cut.pole": (
        "one pole of {length} from {start} to the top of the body, less its fittings as the maker gives",
        "{count} poles of {length} from {start} to the top of the body, less their fittings as the maker gives",
    ),
    "cut.from ceiling": "the ceiling",
    "cut.from structure": "the structure",
    "cut.wires not known, spread": (
        "one wire; its length is not known",
        "{count} wires; their length is not known: ask the maker how far apart they are fixed to the body (`spread`)",
    ),
    "cut.wires not known, structure": (
        "one wire; measure from the structure to the body (the file has no `structure`)",
        "{count} wires; measure from the structure to the body (the file has no `structure`)",
    ),
    "cut.rod not known, structure": (
        "one rod; measure from the structure to the top of the body (the file has no `structure`)",
        "{count} rods; measure from the structure to the top of the body (the file has no `structure`)",
    ),
    "cut.pole not known, structure": (
        "one pole; measure from the structure to the top of the body (the file has no `structure`)",
        "{count} poles; measure from the structure to the top of the body (the file has no `structure`)",
    ),
    "label.second": "Length of secondary support",
    "second": "straight to the structure: {lines}; fittings as the maker gives",
    "second.array": "{length} from the top of the body",
    "second.box": "{length} from the box",
    "second.not known": "not known: measure from the body to the structure (the file has no `structure`)",
    "label.holes": "Opening in the ceiling",
    "holes.none": "none: the ceiling is open",
    "holes.hole, size not known": "diameter as the maker of what passes it gives",
    "holes.cut, size not known": "size as the maker gives",
    "holes.diameter": "{across} in diameter",
    "holes.size": "{across} × {deep}",
    "holes.hole, one": "one hole at the hang point, {size}",
    "holes.cut, one": "one cut-out with its middle at the hang point, {size}",
    "holes.several": "{count} holes at {places} (x from wall {x_wall}, y from wall {y_wall}), {size}",
    "holes.place": "{x}, {y}",
    "holes.places not known": (
        "{count} holes, {size}; where is not known: ask the maker how far apart they are (`spread`)"
    ),
}
