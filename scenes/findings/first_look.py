"""A room some array of which has no place yet: what there is to say of it. Records only."""

from __future__ import annotations

from geometry.records import record
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.review import Counts
from scenes.room.scene import Scene


@record(frozen=True, slots=True)
class FirstLook:
    """The room as far as it can be judged: no talker is covered or missed, and there is no verdict.

    `waiting` are the arrays without position, height or band; empty where the room has no array at all.
    `clearances` are those of the arrays that have a place, and of devices.
    """

    scene: Scene
    waiting: tuple[Id, ...]
    counts: Counts
    clearances: tuple[Clearance, ...]
