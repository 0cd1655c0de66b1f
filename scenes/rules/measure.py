"""What a measure is: one rule asked of one array, wherever it hangs, for the search, the review and drawings.

A file of `measures/` has a function `measures(applied, site)` that returns the measures of a rule there. All
three answers come from the same signed distances, which are at least 0 where the rule is met and change by at
most one metre per metre: never write one as actual - required where required jumps.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Sequence
from copy import copy
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part, Shown
from scenes.room.provenance import Given
from scenes.rules.applied import AppliedRule
from scenes.rules.surroundings import Site, Sweep

Floats = NDArray[np.float64]
Columns = NDArray[np.intp]

MET_M = 1e-9
"""A signed distance this little below zero is still met: rounding."""


LeastIn = Callable[[Floats, float], Floats]
"""(n, 3) positions, and how much is as good as more, to (n,)."""


@record(frozen=True, slots=True)
class Against:
    """What a column of a measure is about: a thing, what kind it is, and the part of the array."""

    thing: str
    kind: str
    part: Part | None


@record(frozen=True, slots=True)
class Measured:
    """A column where the array hangs, in the terms of whatever decides there.

    required  None where nothing is asked
    spare_m   what is left, negative where it is short
    judged    False where the rule cannot judge
    sure      False where it is short only by a default size of overtable's own
    """

    rule: AppliedRule
    required: Given[float] | None
    actual_m: float | None
    spare_m: float
    cause: Cause | None = None
    judged: bool = True
    sure: bool = True
    shown: Shown | None = None


@record(frozen=True, slots=True)
class KeptOut:
    """A plan area, a shapely polygon or several, that the acoustic centre may not enter."""

    against: Against
    area: Any


class Measure(ABC):
    """One rule asked of one array against some things: a column each, or several for several parts."""

    applied: AppliedRule
    site: Site
    against: tuple[Against, ...]

    stop = False
    """Whether it binds a place only: nothing is lost by being near what cannot be moved into."""

    nearer_with_height = False
    """Whether under a higher ceiling, with all else as it is, no more is left: the cable is longer, that is all."""

    same_at_all_heights = False
    """Whether what is left depends on the place on plan only: then one height speaks for all."""

    @abstractmethod
    def signed(self, positions: Floats) -> Floats:
        """(n, m) what is left of the rule at centres (n, 3), for each column; met where >= 0, 1-Lipschitz."""

    def signed_of(self, positions: Floats, columns: Columns) -> Floats:
        """(n, k) of some columns only, which rise."""
        return np.asarray(self.signed(positions)[:, columns])

    def worst_heights(self, columns: Columns, low_m: float, high_m: float) -> Floats | None:
        """Some heights (k,) of the centre from low to high: over one place each of these columns has its least at
        one of them; None where that is not known.
        """
        return np.array([low_m]) if self.same_at_all_heights else None

    def swept(self, sweep: Sweep) -> Self:
        """The same measure with the array anywhere within a sweep: what is left is the least over those places."""
        other = copy(self)
        other.site = self.site.swept(sweep)
        return other

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least of the columns, as a search asks for it: of the same sign, 1-Lipschitz, never more.

        It may stop at `up_to_m`: that more is left is nothing to a search in which no margin is larger.
        """
        return np.asarray(self.signed(positions).min(axis=1))

    def least_in(self, likes: Sequence[Self], away: Callable[[Floats], Floats]) -> LeastIn | None:
        """The least of measures like this one under several regions, each at least as much as its region is away.

        `likes` are all of them, `away` takes positions to (n, likes). None where each is better asked by itself.
        """
        return None

    @property
    def binds(self) -> bool:
        """Whether it asks anything of a search."""
        return self.applied.in_force

    @property
    def off(self) -> bool:
        """Whether the spec switches all of it off."""
        return self.applied.off

    def judges(self, column: int) -> bool:
        """Whether it can judge a column at all, wherever the array hangs."""
        return True

    @property
    def met_is_clear(self) -> bool:
        """Whether all there is to say of columns that are met is that they are clear."""
        return all(self.judges(column) for column in range(len(self.against)))

    def spares(self, at: Point3) -> Floats:
        """(m,) what is left of each column at one place, for the rows of a review."""
        return np.asarray(self.signed(np.array([at]))[0])

    def deciding(self, column: int, height_m: float) -> AppliedRule:
        """The rule that decides a column at that height of the centre: of two that share a measure one does."""
        return self.applied

    @abstractmethod
    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """What a review says of a column at a place, given all its `spares`; None where there is nothing to say."""

    def outlines(self, height_m: float) -> Iterable[KeptOut]:
        """Where on plan the centre may not be at that height."""
        return ()


class NotJudged(Measure):
    """Things that a rule is about and cannot judge: rows of a review, nothing for a search."""

    def __init__(self, applied: AppliedRule, site: Site, against: Sequence[Against], cause: Cause) -> None:
        self.applied, self.site, self.against, self._cause = applied, site, tuple(against), cause

    def signed(self, positions: Floats) -> Floats:
        """Nothing is asked: infinity."""
        return np.full((len(positions), len(self.against)), np.inf)

    @property
    def binds(self) -> bool:
        """It does not."""
        return False

    def judges(self, column: int) -> bool:
        """It cannot."""
        return False

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """That it is not judged, and why."""
        return Measured(self.applied, None, None, 0.0, self._cause, judged=False)
