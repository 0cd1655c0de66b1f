"""Where an array's orientation mark points, for somebody who stands in the room: at a wall, and where along it."""

from __future__ import annotations

import math
from collections.abc import Callable

from scenes.room.scene import Array, Scene
from scenes.room.walls import met_towards, wall_name, wall_towards
from viz.words.locale import Locale


def mark_towards(scene: Scene, array: Array, locale: Locale, length: Callable[[float], str]) -> str:
    """`W2` where the mark points square at a wall; else where it meets one: `W2, 1850 from W3`, along W2.

    `length` writes lengths.
    """
    turn, room = math.radians(array.turn_deg), scene.room
    way = (math.cos(turn), math.sin(turn))
    wall = wall_towards(room, array.centre_m[:2], way)
    if wall is not None:
        return wall_name(wall)
    met = met_towards(room, array.centre_m[:2], way)
    if met is None:
        return locale.say("mark.turned", turn=locale.edge(array.turn_deg))
    index, from_start_m, from_end_m = met
    walls = len(room.outline_m)
    corner, along_m = (index - 1, from_start_m) if from_start_m <= from_end_m else (index + 1, from_end_m)
    return locale.say(
        "mark.met", wall=wall_name(index), length=length(along_m), corner=wall_name(corner % walls)
    )
