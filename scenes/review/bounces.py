"""The second way of a voice to its array: off the table it sits at, and off the ceiling the array hangs under."""

from __future__ import annotations

import math

from geometry.bounce import bounce
from geometry.polygons import inside
from scenes.findings.sound import OffPlane
from scenes.room.ceiling import scene_under
from scenes.room.scene import Array, Head, Scene


def table_bounce(scene: Scene, head: Head, array: Array) -> OffPlane | None:
    """The bounce off a table top that the way of the reflection meets; None where it meets none."""
    mouth, centre = head.middle_m, array.centre_m
    plan = math.dist(mouth[:2], centre[:2])
    for table in scene.tables:
        down, up = mouth[2] - table.height_m, centre[2] - table.height_m
        if down <= 0 or up <= 0:
            continue
        found = bounce(plan, down, up)
        share = down / (down + up)
        at = (mouth[0] + share * (centre[0] - mouth[0]), mouth[1] + share * (centre[1] - mouth[1]))
        if inside(at, table.outline_m):
            return OffPlane(table.id, found)
    return None


def ceiling_bounce(scene: Scene, head: Head, array: Array) -> OffPlane | None:
    """The bounce off the ceiling over an array that hangs; None of a flush one and under an open ceiling."""
    room = scene_under(scene, array.at_m).room
    if array.profile.mount == "flush" or room.ceiling_kind == "open":
        return None
    mouth, centre = head.middle_m, array.centre_m
    below, under = room.ceiling_m - centre[2], room.ceiling_m - mouth[2]
    if below <= 0 or under <= 0:
        return None
    return OffPlane(None, bounce(math.dist(mouth[:2], centre[:2]), under, below))
