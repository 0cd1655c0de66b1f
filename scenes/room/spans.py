"""Between which heights an array can hang."""

from __future__ import annotations

import math

from geometry.heights import HeightInterval
from scenes.room.ceiling import ceiling_over_m, highest_m
from scenes.room.scene import Array, Scene

LEAST_HANG_M = 0.1
"""Of cable, wire or rod between ceiling and body where a height is chosen: room for grips and hands.

overtable's own default, no source. A height that the file gives may have less.
"""

Interval = tuple[float, float] | None
"""Lowest and highest, metres; None where there is no such height."""


def height_span_m(scene: Scene, array: Array) -> tuple[float, float]:
    """Lowest and highest height the acoustic centre itself can have: underside on the floor, top at the ceiling.

    A flush array has one height only.
    """
    ceiling_m = ceiling_over_m(scene.room, array.at_m)
    if array.profile.mount == "flush":
        return ceiling_m, ceiling_m
    return array.profile.centre_m, ceiling_m - (array.profile.size_m[2] - array.profile.centre_m)


def search_span_m(scene: Scene, array: Array) -> tuple[float, float]:
    """Lowest and highest height it can have anywhere in the room; a flush array stays in its part of the ceiling."""
    if array.profile.mount == "flush":
        return height_span_m(scene, array)
    low_m, _ = height_span_m(scene, array)
    return low_m, highest_m(scene.room) - (array.profile.size_m[2] - array.profile.centre_m)


def interval_of(interval: HeightInterval) -> Interval:
    """Both ends, or None where the interval is empty."""
    return None if interval.empty else (interval.low_m, interval.high_m)


def hangs_by_m(scene: Scene, array: Array) -> float:
    """What a hung body has to hang by: from its top to the ceiling over it; endless for a flush one."""
    if array.profile.mount == "flush":
        return math.inf
    return ceiling_over_m(scene.room, array.at_m) - array.top_m
