"""Areas of a scene, in which anybody may be anywhere."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from geometry.shapes import Point2
from scenes.room.provenance import Given


@record(frozen=True, slots=True)
class KeepAway:
    """A place on plan that should not be heard, and why."""

    id: str
    outline_m: tuple[Point2, ...]
    reason: str | None


@record(frozen=True)
class Area:
    """Anybody anywhere in a plan polygon less its holes, at any height of the mouth's range."""

    id: str
    posture: Literal["seated", "standing"]
    outline_m: tuple[Point2, ...]
    holes_m: tuple[tuple[Point2, ...], ...]
    mouth: Given[tuple[float, float]]
    sway: Given[float]

    @property
    def mouth_m(self) -> tuple[float, float]:
        """Lowest and highest height of the mouth above the floor."""
        return self.mouth.value

    @property
    def sway_m(self) -> float:
        """How far the mouth moves from its place."""
        return self.sway.value
