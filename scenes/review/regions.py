"""Where on plan each array could hang, and how far it may move: a scene's heads handed to the geometry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from geometry.coverage import Heads
from geometry.region import Polygon, Region, inset, region, room_for
from geometry.shapes import Box
from scenes.findings.review import Review
from scenes.review.areas import only_by
from scenes.room.scene import Array, Scene
from scenes.rules.applied import kept_from_walls_m

if TYPE_CHECKING:
    from scenes.rules.keep_outs import KeepOut


def served_heads(scene: Scene, review: Review, id: str) -> Heads:
    """The heads this array serves, missed ones too."""
    which = [i for i, head in enumerate(review.heads) if head.array == id]
    return scene.heads_as_rows.take(np.array(which, dtype=np.int64))


def room_within(scene: Scene, array: Array) -> tuple[Polygon, ...]:
    """The plan places an array's centre may take by the walls alone: the room less wall limit and turned body.

    A rule that the spec changes or switches off counts as changed.
    """
    outline = (np.array(scene.room.outline_m, float), ())
    wall_m = kept_from_walls_m(scene)
    profile = array.profile
    if profile.round:
        return inset(outline, wall_m + profile.plan_radius_m)
    body = Box((0.0, 0.0, 0.0), profile.size_m, array.turn_deg).corners_on_plan()
    return tuple(place for free in inset(outline, wall_m) for place in room_for(free, body))


def _kept(scene: Scene, review: Review, array: Array) -> Heads:
    """The heads this array serves, and what of the areas it alone covers."""
    return served_heads(scene, review, array.id).and_besides(only_by(scene, array, review.areas)[0])


def hanging_regions(
    scene: Scene, review: Review, keep_outs: Mapping[str, Sequence[KeepOut]]
) -> dict[str, Region]:
    """For each array that serves somebody: where it covers all of them at its height and in its band.

    Inside the room less the wall limit, with the keep-outs of that height cut out. The ceiling grid's tees
    are left in: a few centimetres pass them, and the grid is drawn beside.
    """
    return {
        array.id: region(
            _kept(scene, review, array),
            array.band,
            array.centre_m[2],
            within=room_within(scene, array),
            without=tuple((np.asarray(k.outline_m, float), ()) for k in keep_outs.get(array.id, ())),
        )
        for array in scene.arrays
        if review.array(array.id).heads
    }
