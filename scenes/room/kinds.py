"""What holds of a device at the ceiling by its kind."""

from __future__ import annotations

from typing import Final

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
