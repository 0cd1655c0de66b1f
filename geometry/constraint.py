"""What is asked of an acoustic centre besides hearing everybody: signed distances with a key, and a box."""

from __future__ import annotations

import math
from collections.abc import Callable

from geometry.band import Floats
from geometry.records import record

Key = tuple[str | int, ...]
"""What a constraint is about, e.g. a rule's id and the part it binds. Compared as a whole, never read as text."""


@record(frozen=True, slots=True)
class Constraint:
    """A demand on the acoustic centre: `signed_m` takes (n, 3) and gives (n,), met where >= 0.

    The function must change by at most 1 m per metre of movement; write "or" as the larger and "and"
    as the smaller of signed distances, never as actual - required where the required value jumps.
    A `stop` (ceiling, structure, an edge of where it may be) binds the place, but being near it costs
    nothing: nothing is lost by what cannot be moved further. One that is `upright` is the same at all heights.
    """

    key: Key
    signed_m: Callable[[Floats], Floats]
    stop: bool = False
    upright: bool = False


@record(frozen=True, slots=True)
class SearchBox:
    """The box of possible positions of the acoustic centre; a held coordinate has low = high."""

    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (*self.low_m, *self.high_m))):
            raise ValueError(f"SearchBox is {self.low_m} to {self.high_m}; every corner must be finite")
        if any(low > high for low, high in zip(self.low_m, self.high_m, strict=True)):
            raise ValueError(f"SearchBox is {self.low_m} to {self.high_m}; low must not exceed high")

    def holding(self, *, x: float | None = None, y: float | None = None, z: float | None = None) -> SearchBox:
        """The same box flat at the coordinates given."""
        held = (x, y, z)
        low = [old if new is None else new for old, new in zip(self.low_m, held, strict=True)]
        high = [old if new is None else new for old, new in zip(self.high_m, held, strict=True)]
        return SearchBox((low[0], low[1], low[2]), (high[0], high[1], high[2]))
