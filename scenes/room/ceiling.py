"""The ceiling of a room: what is over a plan place. Whatever is measured from the ceiling asks here."""

from __future__ import annotations

from dataclasses import replace

from geometry.shapes import Point2
from scenes.room.scene import CeilingPart, Room, Scene

REST = "ceiling"
"""What the rest of a ceiling in parts is called where something runs into it."""


def part_over(room: Room, at: Point2) -> CeilingPart | None:
    """The part over a place, the first in the file where two touch; None under the rest."""
    return next((part for part in room.parts if part.surface.covers(at)), None)


def ceiling_over_m(room: Room, at: Point2 | None) -> float:
    """How high the ceiling is over a place; without a place as high as the rest of it."""
    part = None if at is None or not room.parts else part_over(room, at)
    return room.ceiling_m if part is None or at is None else part.surface.height_m(at)


def highest_m(room: Room) -> float:
    """The highest of the ceiling."""
    return max([room.ceiling_m, *(part.surface.span_m[1] for part in room.parts)])


def lowest_m(room: Room) -> float:
    """The lowest of the ceiling."""
    return min([room.ceiling_m, *(part.surface.span_m[0] for part in room.parts)])


def room_under(room: Room, at: Point2 | None) -> Room:
    """The room as it is for what hangs at a place: all of it with the ceiling, structure and grid over there."""
    if not room.parts:
        return room
    part = None if at is None else part_over(room, at)
    return replace(room, parts=(), whole=room) if part is None or at is None else as_under(room, part, at)


def as_under(room: Room, part: CeilingPart, at: Point2) -> Room:
    """The room with the ceiling of a part, as high as it is over a place."""
    return replace(
        room,
        ceiling_m=part.surface.height_m(at),
        ceiling_kind=part.kind,
        structure_m=part.structure_m,
        grid=part.grid,
        parts=(),
        whole=room,
    )


def scene_under(scene: Scene, at: Point2 | None) -> Scene:
    """The scene with the room as it is for what hangs at a place; the scene itself where no part is over it."""
    if not scene.room.parts:
        return scene
    return with_room(scene, room_under(scene.room, at))


def with_room(scene: Scene, room: Room) -> Scene:
    """The scene under one part of its ceiling, whose kind says how arrays are hung there."""
    if room.ceiling_kind != scene.room.ceiling_kind:
        return replace(scene, room=room, suspension=replace(scene.suspension, ceiling=None))
    return replace(scene, room=room)


def solid_above_m(room: Room, at: Point2 | None = None) -> float | None:
    """Height of the underside of what is solid above the ceiling over a place; None where the file does not say.

    An open ceiling is the structure's own underside.
    """
    here = room_under(room, at)
    if here.structure_m is not None or here.ceiling_kind != "open":
        return here.structure_m
    return here.ceiling_m
