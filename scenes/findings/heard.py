"""What an array hears besides its talkers. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from scenes.findings.names import Id, Quoted
from scenes.findings.review import Verdict

HeardKind = Literal["keep_away", "device"]


@record(frozen=True, slots=True)
class Turn:
    """An array turned to a plan angle, tried: how many rows of places and of devices are left, and what it costs.

    `covered` fewer talkers and `margin_m` less margin than now; `verdict` of the room so turned.
    """

    to_deg: float
    places: int
    devices: int
    covered: int
    margin_m: float
    verdict: Verdict


@record(frozen=True, slots=True)
class Heard:
    """A thing in the band of an array and in a sector in which it has talkers.

    `ratio_dB` by distance alone: how much weaker it arrives than the talker of that sector nearest to it, as loud at
    the same distance; negative where it is nearer. `reason` is the designer's, of a place to keep away.
    """

    array: Id
    thing: Id
    kind: HeardKind
    what: Id
    reason: Quoted | None
    band: Id
    sector: int
    nearest_talker: Id
    ratio_dB: float
    turn: Turn | None
