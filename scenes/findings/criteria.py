"""How many talkers meet the designer's own criteria. Records only."""

from __future__ import annotations

from geometry.records import record


@record(frozen=True, slots=True)
class DistanceMet:
    """Of so many talkers, how many are within that distance of the array that serves them. Metres."""

    near_m: float
    far_m: float
    met: int
    talkers: int


@record(frozen=True, slots=True)
class AngleMet:
    """Of so many talkers, how many are that near the middle of the band that serves them. Degrees, either way."""

    most_deg: float
    met: int
    talkers: int
