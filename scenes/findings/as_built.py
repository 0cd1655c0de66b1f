"""What was found of arrays as they hang: how far off each is, whether the room still holds, what to correct first."""

from __future__ import annotations

from typing import Final, Literal

from geometry.records import record
from scenes.findings.names import Id
from scenes.findings.review import Review

Quantity = Literal["band", "turn", "height", "place", "level"]
"""What can be off, in the order of how little it takes to correct it."""
SET_M: Final = 0.0005
"""What is set on site is set to the millimetre: less than this is as designed."""


@record(frozen=True, slots=True)
class Off:
    """How far one array hangs from where it is designed. Metres, degrees; None where it was not measured.

    `x_m` and `y_m`: as measured less as designed, square off the two walls of the hang card; `up_m` likewise, upwards;
    `turn_deg` anticlockwise. `level_deg`: how far out of level it hangs, `allowed_deg` how far it may; `at_risk` are
    heads that are covered by a level array here, and by one so far out of level may not be.
    """

    array: Id
    x_m: float | None
    y_m: float | None
    up_m: float | None
    level_deg: float | None
    allowed_deg: float
    band: Id | None
    band_designed: Id
    turn_deg: float | None
    at_risk: tuple[Id, ...]

    @property
    def level(self) -> bool:
        """Whether it hangs level enough, as far as that was measured: within what it may, and nobody is lost by it."""
        within = self.level_deg is None or abs(self.level_deg) <= self.allowed_deg + 1e-9
        return within and not self.at_risk


@record(frozen=True, slots=True)
class Correction:
    """Quantities of one array put back as designed; with `holds` the room then holds as it was designed to."""

    array: Id
    quantities: tuple[Quantity, ...]
    holds: bool


@record(frozen=True)
class AsBuilt:
    """The designed room and the one that hangs, judged. `walls`: the indices of the two that are measured from.

    `corrections` are in order: after the last the room holds as designed, where anything does; empty where it does
    already.
    """

    designed: Review
    review: Review
    walls: tuple[int, int]
    arrays: tuple[Off, ...]
    unmeasured: tuple[Id, ...]
    corrections: tuple[Correction, ...]

    @property
    def holds(self) -> bool:
        """Whether the room does not fail, is judged no worse than designed, and every array hangs level enough."""
        return not (self.review.held or self.corrections) and all(one.level for one in self.arrays)
