"""How far what hangs may swing."""

from __future__ import annotations

from geometry.records import record


@record(frozen=True, slots=True)
class Swing:
    """How far what hangs may swing out of plumb, any way, and who says so, in the file's own words."""

    angle_deg: float
    source: str
