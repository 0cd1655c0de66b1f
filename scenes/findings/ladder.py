"""How many arrays, laid out how: what each number comes to, and what one more buys. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.names import Id

MOST_RUNGS = 12
"""No ladder is longer than this."""

Layout = Literal["free", "row", "grid"]
"""Anywhere; in one level row at equal spacing; in level rows and columns, both symmetrical about a middle."""


Proof = Literal["certified", "none allowed", "unresolved"]
"""What is proven of a rung, as of a search."""


@record(frozen=True, slots=True)
class Rung:
    """So many arrays laid out in one way, and what they come to.

    covered      talkers covered, None where there is no place
    margin_m     the least margin over all talkers at these places, None where there is no place
    farthest_m   the largest distance of a talker to the array that serves it
    on_lattice   the places are tile centres; None where the ceiling has no grid to hang from
    outcome, bound_m
                 what is proven of the largest margin of so many arrays so laid out; bound_m None where none is allowed
    costs_m      what the layout costs of the margin at most: what is proven of arrays anywhere, less this margin;
                 None for arrays anywhere, and where not everybody is covered
    idle         so many of them serve nobody: fewer do as well
    places       where they are: centre on plan, height of the centre, band
    """

    arrays: int
    pattern: Layout
    covered: int | None
    talkers: int
    margin_m: float | None
    farthest_m: float | None
    on_lattice: bool | None
    outcome: Proof
    bound_m: float | None
    costs_m: float | None
    idle: int
    places: tuple[tuple[Point2, float, Id], ...]

    @property
    def tolerance_m(self) -> float | None:
        """How far the arrays may be shifted before somebody is not covered: the least margin, 0 if negative."""
        return None if self.margin_m is None else max(self.margin_m, 0.0)


@record(frozen=True, slots=True)
class Needed:
    """How many arrays it takes, so laid out, to leave everybody enough margin.

    arrays is None where none up to the ladder's end do; `proven`: no smaller number does, by their bounds.
    """

    pattern: Layout
    on_lattice: bool | None
    arrays: int | None
    proven: bool


@record(frozen=True, slots=True)
class Ladder:
    """Rungs from one array up, each number's layouts together; for each layout, how many leave everybody enough."""

    rungs: tuple[Rung, ...]
    needed: tuple[Needed, ...]
    talkers: int
    enough_m: float

    @property
    def most(self) -> int:
        """The largest number of arrays."""
        return max((rung.arrays for rung in self.rungs), default=0)

    @property
    def margins_m(self) -> tuple[float, ...]:
        """The margins of the rungs that have a place, in their order."""
        return tuple(rung.margin_m for rung in self.rungs if rung.margin_m is not None)

    def of(self, pattern: Layout, on_lattice: bool | None) -> tuple[Rung, ...]:
        """The rungs of one layout, from one array up."""
        return tuple(rung for rung in self.rungs if (rung.pattern, rung.on_lattice) == (pattern, on_lattice))
