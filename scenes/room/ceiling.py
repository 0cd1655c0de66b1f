"""The ceiling of a room: what is above it."""

from __future__ import annotations

from scenes.room.scene import Room


def solid_above_m(room: Room) -> float | None:
    """Height of the underside of what is solid above the ceiling; None where the file does not say.

    An open ceiling is the structure's own underside.
    """
    if room.structure_m is not None or room.ceiling_kind != "open":
        return room.structure_m
    return room.ceiling_m
