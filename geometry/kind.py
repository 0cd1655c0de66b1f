"""One kind of array: what it can do, where it may be, what binds it and what hides people from it."""

from __future__ import annotations

from dataclasses import replace

from geometry.aims import Aim
from geometry.band import Band
from geometry.constraint import Constraint, SearchBox
from geometry.records import record
from geometry.shapes import Blocker

Point = tuple[float, float, float]


@record(frozen=True, slots=True)
class ArrayKind:
    """Arrays that may take each other's place; `count` is how many there are (None: any number).

    `constraints` bind the acoustic centre of each, `blockers` are the solids that lines to mouths must not
    pass through (its own body is none of them). `spare_m` is kept from every constraint that is no stop, by
    every aim.
    """

    bands: tuple[Band, ...]
    box: SearchBox
    constraints: tuple[Constraint, ...] = ()
    blockers: tuple[Blocker, ...] = ()
    count: int | None = None
    spare_m: float = 0.0

    def __post_init__(self) -> None:
        if not self.bands:
            raise ValueError("ArrayKind needs at least one band; found none")
        if self.count is not None and self.count < 1:
            raise ValueError(f"ArrayKind count is {self.count}; allowed is 1 or more, or None")

    def aimed(self, aim: Aim) -> Aim:
        """The aim, keeping this kind's spare too."""
        return aim if aim.keeps_spare_m >= self.spare_m else replace(aim, keeps_spare_m=self.spare_m)

    @property
    def held(self) -> bool:
        """Whether there is one position only."""
        return self.box.low_m == self.box.high_m


@record(frozen=True, slots=True)
class Position:
    """Where one array is: the acoustic centre, the band within its kind, and the kind."""

    at_m: Point
    band: int
    kind: int = 0
