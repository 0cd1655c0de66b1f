"""What each of several layouts of a room costs the others. Records only."""

from __future__ import annotations

from geometry.records import record
from scenes.findings.names import Id


@record(frozen=True, slots=True)
class LayoutPrice:
    """What serving one layout too costs the others, in the largest margin found.

    `margin_m` is that with all layouts, `without_m` that with the others alone; None where nothing is allowed.
    `costs_m`, their difference, is never negative: what serves all serves the others.
    """

    name: Id
    margin_m: float | None
    without_m: float | None
    costs_m: float | None
