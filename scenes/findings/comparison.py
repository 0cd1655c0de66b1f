"""Two rooms, or two placements of one, side by side. Records only."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from geometry.records import record
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.review import Review, Standing, Verdict

Side = Literal["first", "second"]
SIDES: tuple[Side, Side] = ("first", "second")

FigureName = Literal[
    "verdict", "arrays", "covered", "marginal", "blocked", "missed", "margin", "sideways", "up", "down",
    "farthest", "from centre", "short", "advised", "expected",
]  # fmt: skip
"""What is compared: the verdict, how many arrays, people by how they stand, the least margin, the installation
tolerance each way, the longest distance to a mouth, how far from the middle of the band people are on average, and
how many clearances are too small or below advice; and how many talkers are covered in the mean of such people."""


@record(frozen=True, slots=True)
class Compared:
    """One figure of both, in metres, degrees, people or pieces, or the verdict; None where there is none.

    `better` is the side on which it is better, None where neither is or where that is nobody's to say.
    """

    name: FigureName
    first: float | Verdict | None
    second: float | Verdict | None
    better: Side | None


@record(frozen=True, slots=True)
class Otherwise:
    """Somebody who stands otherwise on one side than on the other, by the worst of their heads."""

    person: Id
    first: Standing
    second: Standing


@record(frozen=True, slots=True)
class Comparison:
    """Two reviews side by side.

    `talkers` are of two placements of one room; None of two rooms, whose people are not the same. `close` are the
    clearances below what is needed or advised that only the one and only the other has.
    """

    first: Review
    second: Review
    figures: tuple[Compared, ...]
    talkers: tuple[Otherwise, ...] | None
    close: tuple[tuple[Clearance, ...], tuple[Clearance, ...]]

    @property
    def by_name(self) -> Mapping[FigureName, Compared]:
        """The figures by their names."""
        return {one.name: one for one in self.figures}

    @property
    def reviews(self) -> tuple[Review, Review]:
        """Both, the first before the second."""
        return self.first, self.second
