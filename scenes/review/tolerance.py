"""How far each array may move before the first head is lost or the first rule is short."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from geometry.constraint import Constraint
from geometry.coverage import Heads
from geometry.tolerance import RoomToMove, room_to_move
from scenes.findings.review import Review
from scenes.review.regions import served_heads
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.rules.apply import constraints_for


def rooms_to_move(scene: Scene, review: Review) -> dict[str, tuple[RoomToMove, ...]]:
    """For each array that serves somebody: the room along ±x, ±y, up and down, with heads and rules that end it.

    Up ends at the ceiling and down at the floor; a flush array has neither.
    """
    return {
        array.id: rooms_of(scene, array, served_heads(scene, review, array.id), constraints_for(scene, array))
        for array in scene.arrays
        if review.array(array.id).heads
    }


def rooms_of(
    scene: Scene, array: Array, heads: Heads, constraints: Sequence[Constraint]
) -> tuple[RoomToMove, ...]:
    """How far this array may move each way, as far as it can: up to the ceiling, down to the floor, flush neither.

    Where nobody is lost before the ceiling there is no distance and no head; the ceiling (or floor) ends
    what is clear.
    """
    rooms = room_to_move(array.centre_m, array.band, heads, constraints)
    if array.profile.mount == "flush":
        return tuple(room for room in rooms if room.direction not in ("up", "down"))
    low_m, high_m = height_span_m(scene, array)
    ends = {"up": (high_m - array.centre_m[2], ("ceiling",)), "down": (array.centre_m[2] - low_m, ("floor",))}
    kept = []
    for room in rooms:
        end_m, surface = ends.get(room.direction, (math.inf, None))
        if room.distance_m > end_m:
            room = replace(room, distance_m=math.inf, head=None)
        if room.clear_distance_m > end_m:
            room = replace(room, clear_distance_m=max(end_m, 0.0), constraint=surface)
        kept.append(room)
    return tuple(kept)
