"""Lines that should be free, and what would free those that are not. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.cause import Move
from scenes.findings.names import Id

LineKind = Literal["array", "camera", "display"]
SightState = Literal["clear", "blocked"]
Corner = Literal["lower left", "lower right", "upper right", "upper left", "centre"]
DefaultDecides = Literal["size", "depth"]


@record(frozen=True, slots=True)
class Sightline:
    """A line that should be free: array to mouth, camera to face, eye to display.

    It stands for all lines to a whole mouth range or way, or to a whole screen. `start_m` and `end_m` are of
    one of them: the one blocked soonest where it is blocked, at `blocked_at_m`, by `blocked_by`; `blockers`
    are all that block any, in that order. A wall is called by its index, "wall 3". `cable`: it is only the
    cable of an array that blocks it there. `hidden` are the corners (and the centre) of a display that are
    not seen, of which there may be none though a part between them is hidden.
    """

    kind: LineKind
    start: Id
    end: Id
    array: Id | None
    start_m: Point3
    end_m: Point3
    state: SightState
    blocked_by: Id | None = None
    blockers: tuple[Id, ...] = ()
    blocked_at_m: Point3 | None = None
    cable: bool = False
    hidden: tuple[Corner, ...] = ()
    default_decides: DefaultDecides | None = None
    """What of the blocker is a default of ours, without which the line would be clear."""
    layout: Id | None = None
    """The layout in which it is so, in a room of several."""

    @property
    def binding(self) -> bool:
        """Whether it is blocked by what the spec tells: where only a default of ours does, nothing fails."""
        return self.default_decides is None


@record(frozen=True, slots=True)
class Unblock:
    """What would free lines of one blocker, all at once.

    Each of `moves` does it alone: it was tried on the whole room, where it frees `lines` (start and end) of
    this blocker, blocks no other line, loses no talker and brings nothing nearer than its rule allows; a
    millimetre (a sixteenth of an inch) less does not. Where there is none, one of `else_place` needs another
    place.
    """

    blocker: Id
    lines: tuple[tuple[Id, Id], ...]
    moves: tuple[Move, ...]
    else_place: tuple[Id, ...]
