"""What was found of arrays as they hang: how far off each is, whether the room still holds, what to correct first."""

from __future__ import annotations

from typing import Final, Literal

from geometry.records import record
from scenes.findings.names import Id, Quoted
from scenes.findings.review import Limit, Review

Quantity = Literal["band", "turn", "level", "height", "place"]
"""What can be off, in the order of how little it takes to correct it."""
SET_M: Final = 0.0005
"""What is set on site is set to the millimetre: less than this is as designed."""
TURN_DEG: Final = 1.0
"""An orientation mark is pointed by eye: less than this is as designed. Common practice, no source."""


@record(frozen=True, slots=True)
class Off:
    """How far one array hangs from where it is designed. Metres, degrees; None where it was not measured.

    `x_m` and `y_m`: as measured less as designed, square off the two walls of the hang card; `up_m` likewise, upwards;
    `turn_deg` anticlockwise. `level_deg`: how far out of level it hangs, `allowed_deg` how far it may; where it was not
    measured it is taken to hang so far. `at_risk` is what holds of a level array here, and of one so far out of level
    may not. `outside` are the quantities beyond the tolerance of its hang card; a band or an orientation has none.
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
    at_risk: tuple[Limit, ...]
    outside: tuple[Quantity, ...]

    @property
    def tilt_deg(self) -> float:
        """How far out of level it is judged to hang: the most that it may where that was not measured."""
        return self.allowed_deg if self.level_deg is None else abs(self.level_deg)

    @property
    def level(self) -> bool:
        """Whether it hangs level enough: within what it may, and nothing may be lost by it."""
        return "level" not in self.outside and not self.at_risk


@record(frozen=True, slots=True)
class Correction:
    """Quantities of one array put back as designed; with `holds` the room then holds."""

    array: Id
    quantities: tuple[Quantity, ...]
    holds: bool


@record(frozen=True)
class AsBuilt:
    """The designed room and the one that hangs, judged. `walls`: the indices of the two that are measured from.

    `corrections` are in order: after the last the room holds, where anything does; empty where it does already. `left`
    are the arrays with what is outside the tolerance of their hang cards and need not be corrected for that.
    `date` and `by`: when and by whom it was measured, None where the file does not say.
    """

    designed: Review
    review: Review
    walls: tuple[int, int]
    arrays: tuple[Off, ...]
    unmeasured: tuple[Id, ...]
    corrections: tuple[Correction, ...]
    left: tuple[tuple[Id, tuple[Quantity, ...]], ...]
    date: Quoted | None
    by: Quoted | None

    @property
    def holds(self) -> bool:
        """Whether the room does not fail, is judged no worse than designed, and nothing has to be corrected."""
        return not (self.review.held or self.corrections)
