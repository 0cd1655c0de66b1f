"""What the designer would like of a room besides that it works: wishes for places, and yardsticks of their own."""

from __future__ import annotations

from geometry.records import record
from scenes.room.provenance import Given
from scenes.spec.model import WISHED_SPARE_M


@record(frozen=True, slots=True)
class Wishes:
    """What a good place looks like: kept by `place` where it can be, told with its price or why it cannot.

    over   ids of the tables over one of which every array's centre is to be; empty: none
    row    several arrays hang in one straight line at equal spacing
    spare  what is kept from every rule that binds the search, stops aside, and beside steps of the ceiling, metres
    """

    over: Given[tuple[str, ...]] = Given((), "default")
    row: Given[bool] = Given(False, "default")
    spare: Given[float] = Given(WISHED_SPARE_M, "default")


@record(frozen=True, slots=True)
class Criteria:
    """The designer's own yardsticks, reported and never failed: distance near and far, degrees from a band's middle."""

    distance_m: tuple[float, float] | None = None
    off_centre_deg: float | None = None
    direct_to_reverberant_dB: float | None = None
    over_noise_dB: float | None = None
    noise_dBA: float | None = None
    index: float | None = None
    sound: bool = True
    """Whether there is any advice about sound."""
