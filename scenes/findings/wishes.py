"""What became of the wishes for places: kept or dropped, why, and at what price. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.branching import Outcome
from geometry.records import record
from scenes.findings.names import Id

WishName = Literal["row", "over", "spare"]
WhyDropped = Literal["nowhere", "not found", "talkers", "margin", "profiles", "held", "lattice"]
"""Why a wish is not kept: no allowed position keeps it; none was found; it would cost talkers; it would leave
nobody's position with the margin that was asked for; arrays of several profiles; what is held does not allow it;
the places that are written do not."""


@record(frozen=True, slots=True)
class Price:
    """What a wish costs beyond those before it, never negative; None where there is nothing to compare.

    margin_m    of the largest margin
    farthest_m  of the smallest distance of the farthest talker, with the margin that was asked for
    covered     of the most talkers covered
    """

    margin_m: float | None
    farthest_m: float | None
    covered: int | None


@record(frozen=True, slots=True)
class WishTold:
    """One wish, in the order in which they were tried: what it costs, or would have cost if it was dropped.

    given    the designer wrote it into the file
    reason   why it is not kept, None where it is
    over     ids of the tables it is about, `spare_m` the spare
    """

    wish: WishName
    given: bool
    reason: WhyDropped | None
    costs: Price
    over: tuple[Id, ...] = ()
    spare_m: float | None = None

    @property
    def kept(self) -> bool:
        """Whether the places keep it."""
        return self.reason is None


@record(frozen=True, slots=True)
class FreeSearch:
    """The margin problem without wishes: the largest margin found, what is proven of it, and how sure that is."""

    margin_m: float | None
    bound_m: float | None
    outcome: Outcome
