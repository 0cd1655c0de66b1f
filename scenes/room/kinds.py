"""What holds of a device at the ceiling by its kind."""

from __future__ import annotations

from typing import Final

from geometry.records import record
from geometry.shapes import Point2

BUILT_IN: Final = ("beam", "bulkhead")
"""Of the building, as the structure is: other devices are let into them, and they go up to it."""

LAY_IN: Final = ("light", "supply diffuser", "return grille")
"""Made to fill a tile of a lay-in ceiling."""

IN_A_TILE: Final = (
    *LAY_IN,
    "loudspeaker",
    "sprinkler",
    "smoke detector",
    "projector",
    "exit sign",
    "emergency light",
    "strobe",
    "sensor",
    "access point",
    "access panel",
    "fan",
)
"""They take the tile they are in; beams and bulkheads are kept clear of by their own rules."""


@record(frozen=True, slots=True)
class Usual:
    """Size of a kind of overhead device where the spec gives none: our defaults, no source."""

    size_m: Point2
    round: bool
    depth_m: float


USUAL_DEVICES: dict[str, Usual] = {
    "sprinkler": Usual((0.06, 0.06), True, 0.05),
    "light": Usual((0.6, 0.6), False, 0.1),
    "supply diffuser": Usual((0.6, 0.6), False, 0.2),
    "return grille": Usual((0.6, 0.6), False, 0.1),
    "smoke detector": Usual((0.11, 0.11), True, 0.05),
    "loudspeaker": Usual((0.2, 0.2), True, 0.2),
    "projector": Usual((0.4, 0.32), False, 0.14),
    "beam": Usual((0.3, 0.3), False, 0.3),
    "bulkhead": Usual((0.6, 0.6), False, 0.3),
    "exit sign": Usual((0.35, 0.05), False, 0.2),
    "emergency light": Usual((0.15, 0.15), True, 0.05),
    "strobe": Usual((0.1, 0.1), True, 0.08),
    "sensor": Usual((0.1, 0.1), True, 0.04),
    "access point": Usual((0.22, 0.22), False, 0.05),
    "access panel": Usual((0.6, 0.6), False, 0.03),
    "screen": Usual((2.4, 0.15), False, 0.15),
    "track": Usual((2.0, 0.04), False, 0.04),
    "fan": Usual((1.3, 1.3), True, 0.3),
    "duct": Usual((2.0, 0.4), False, 0.3),
    "pipe": Usual((2.0, 0.06), False, 0.06),
    "cable tray": Usual((2.0, 0.2), False, 0.06),
    "other": Usual((0.2, 0.2), False, 0.1),
}
