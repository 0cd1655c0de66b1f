"""The planes in which an array is sought: of a flush one every level part of the ceiling, each by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scenes.place.problem import Held
from scenes.place.refusals import PlaceRefused
from scenes.room.scene import Array, CeilingPart, Scene
from scenes.rules.under import Region, region_over, regions_of

SAME_M = 1e-6
"""Planes nearer than this are at one height."""


def planes_of(scene: Scene, array: Array, held: Sequence[Held] = ()) -> tuple[Array, ...]:
    """The array as it would lie in each level part of the ceiling; the array itself where it hangs or there are none.

    A plan place says which part an array is in: of those in other parts than its own it is a point inside the part.
    A held place, and a held height, leave the parts that are there. Raises PlaceRefused where every part slopes.
    """
    if not in_planes(scene, array) or ("at" in held and array.at_m is not None):
        return (array,)
    own = None if array.at_m is None else region_over(scene.room, array.at_m)
    level = [region for region in regions_of(scene.room) if region.surface.flat]
    if "height" in held and array.height_m is not None:
        level = [region for region in level if abs(region.room.ceiling_m - array.height_m) < SAME_M]
    if not level:
        raise PlaceRefused("flush in slopes", array=array.id)
    return tuple(array if region is own else _lying_in(array, region) for region in level)


def in_planes(scene: Scene, array: Array) -> bool:
    """Whether it lies in one part of a ceiling in parts."""
    return bool(scene.room.parts) and array.profile.mount == "flush"


def sloped_parts(scene: Scene) -> tuple[CeilingPart, ...]:
    """The parts in which no flush array is sought."""
    return tuple(part for part in scene.room.parts if not part.surface.flat)


def _lying_in(array: Array, region: Region) -> Array:
    inside = region.area.representative_point()
    return replace(array, at_m=(float(inside.x), float(inside.y)), height_m=region.room.ceiling_m)
