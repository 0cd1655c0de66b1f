"""How what hangs is held: where its box sits, how high that is, and what of it is at the ceiling's underside."""

from __future__ import annotations

from typing import Literal

from geometry.clearance import Hanging
from scenes.room.scene import CABLE_RADIUS_M, Array, Scene, ceiling_of

BoxPlace = Literal["tile bridge", "structure", "under the ceiling", "frame"]
"""Where the box sits; `frame`: a flush array has none, it is carried by a frame of its own."""


def box_place(scene: Scene) -> BoxPlace:
    """Where the box of a hanging array sits."""
    ceiling = ceiling_of(scene)
    if ceiling == "suspended":
        return scene.suspension.box or "tile bridge"
    return "structure" if ceiling == "open" else "under the ceiling"


def box_above_ceiling(scene: Scene) -> bool:
    """Whether the box is on the structure above a suspended ceiling, which only the cable goes through."""
    return box_place(scene) == "structure" and ceiling_of(scene) == "suspended"


def box_height_m(scene: Scene) -> float | None:
    """Height of the box above the floor: the ceiling, or the structure if it is up there; None if that is not known."""
    return scene.room.structure_m if box_above_ceiling(scene) else scene.room.ceiling_m


def footing_of(scene: Scene, array: Array) -> Hanging:
    """What of a hanging array is at the ceiling's underside, on plan: its box, or the hole that the cable goes through.

    The canopy or plate of a rod is taken as large as the box.
    """
    if box_above_ceiling(scene):
        return Hanging(radius_m=CABLE_RADIUS_M)
    return Hanging(size_m=scene.suspension.box_size_m[:2], turn_deg=array.turn_deg)
