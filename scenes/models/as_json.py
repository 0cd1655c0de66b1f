"""The `overtable/model/1` object: the rooms of a set of model files."""

from __future__ import annotations

from collections import Counter
from typing import Any

from scenes.findings.model import Building, CeilingPart, DoubtName, ModelCeiling, ModelRoom
from scenes.models.people import people_of

GUESSED: dict[DoubtName, str] = {
    "outline-pieces": "outline",
    "floor-steps": "floor",
    "ceiling-of-space": "ceiling",
    "ceiling-kind": "ceiling kind",
    "ceiling-curved": "ceiling",
    "structure-levels": "structure",
    "table-by-shape": "tables",
    "table-simplified": "tables",
    "seats-by-default": "seats",
    "people-by-default": "people",
    "seat-facing": "facing",
    "device-kind": "device kind",
    "device-place": "device place",
    "device-simplified": "device size",
    "device-cut": "device size",
    "obstacle-simplified": "obstacles",
    "opening-cut": "openings",
    "display-facing": "facing",
    "kind-unknown": "device kind",
    "units-by-size": "units",
    "units-conflict": "units",
    "height-by-default": "heights",
}
"""What of a room each doubt is about, in a list."""


def as_json(building: Building) -> dict[str, Any]:
    """The `overtable/model/1` object, ready for `json_text`."""
    return {
        "format": "overtable/model/1",
        "files": [
            {"file": one.file, "schema": one.schema, "unit": one.unit, "sha256": one.sha256}
            for one in building.files
        ],
        "rooms": [_room(room) for room in building.rooms],
        "skipped": [{"id": one.guid, "name": one.name, "why": one.why} for one in building.skipped],
    }


def guessed(room: ModelRoom) -> list[str]:
    """What of the room nobody measured, each once, in the order of the list above."""
    names = {doubt.name for doubt in (*room.doubts, *people_of(room).doubts)}
    return list(dict.fromkeys(about for name, about in GUESSED.items() if name in names))


def _room(room: ModelRoom) -> dict[str, Any]:
    kinds = Counter(opening.kind for opening in room.openings)
    return {
        "id": room.guid,
        "number": room.number,
        "name": room.name,
        "storey": room.storey,
        "area_m2": room.area_m2,
        "floor_m": room.frame.origin_m[2],
        "ceiling": _ceiling(room.ceiling),
        "structure_m": room.ceiling.structure_m,
        "outline_m": room.outline_m,
        "corner_m": room.frame.origin_m,
        "turn_deg": room.frame.turn_deg,
        "tables": len(room.tables),
        "chairs": len(room.seats),
        "openings": {
            "doors": kinds["door"],
            "windows": kinds["window"],
            "openings": kinds["opening"],
        },
        "devices": dict(Counter(device.kind for device in room.devices)),
        "cameras": len(room.cameras),
        "displays": len(room.displays),
        "guessed": guessed(room),
        "doubts": [{"about": one.about, "name": one.name, "origin": one.origin} for one in room.doubts],
    }


def _ceiling(ceiling: ModelCeiling) -> dict[str, Any]:
    low, high = ceiling.span_m
    level = ceiling.share > 0
    return {
        "height_m": ceiling.height_m if level else None,
        "low_m": low if ceiling.parts else None,
        "high_m": high if ceiling.parts else None,
        "from": ceiling.source,
        "kind": ceiling.kind,
        "share": ceiling.share,
        "parts": [_part(part) for part in ceiling.parts],
    }


def _part(part: CeilingPart) -> dict[str, Any]:
    slope = part.slope
    return {
        "height_m": part.height_m,
        "low_m": None if slope is None else slope.low_m,
        "high_m": None if slope is None else slope.high_m,
        "towards_deg": None if slope is None else slope.towards_deg,
        "from": part.source,
        "kind": part.kind,
        "share": part.share,
        "structure_m": part.structure_m,
        "outline_m": part.outline_m,
    }
