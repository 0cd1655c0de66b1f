"""What a view shows of a stage: its layers, open towards the viewer, cut where the view is cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scenes.room.ceiling import highest_m, lowest_m
from scenes.room.scene import Room
from viz.cuts import cut
from viz.stage import Prop, Stage
from viz.stage.opened import opened
from viz.views import View

Floats = NDArray[np.float64]

_LEFT_OUT = {
    "plan": ("ceiling", "structure", "grid", "plenum", "ceiling/edge"),
    "corner": ("ceiling/edge",),
    "free": ("ceiling/edge",),
    "array": ("ceiling/edge",),
}
_CEILING = ("ceiling", "ceiling/edge", "grid")
_PLAN_PARTS = ("box", "hanger", "cable", "clamp", "leaf", "handle")
"""What a view from above or from the side of an array has no use for, by the ends of ids."""


def shown(stage: Stage, view: View, *, all_lines: bool = False) -> tuple[Prop, ...]:
    """The props a view shows: its layers, walls open towards the viewer, cut where it is cut.

    Clear clearances and free sightlines are left out unless `all_lines`: a picture shows what is wrong.
    """
    found = [
        _as_seen(prop, view, stage)
        for prop in stage
        if _belongs(prop, view)
        and not _in_the_way(prop, view)
        and (all_lines or not _all_well(prop, view))
        and not _left_out(prop, view)
        and _its_own(prop, view, stage)
    ]
    if view.kind == "corner" and "band" in view.layers:
        found = [prop for prop in found if prop.layer != "band"]
        placed = (array for array in stage.scene.arrays if array.placed)
        found += [prop for array in placed for prop in opened(stage.scene, array, np.array(view.eye))]
    return tuple(found if view.cut is None else cut(found, view))


def _belongs(prop: Prop, view: View) -> bool:
    """Whether a prop is of the view's layers and kind, and no part of what one looks from."""
    if (
        prop.layer not in view.layers
        or (prop.only and view.kind not in prop.only)
        or view.kind in prop.unless
    ):
        return False
    without = bool(prop.about) and prop.about in view.without
    return not without or prop.layer in ("footprint", "sectors", "band")


def _in_the_way(prop: Prop, view: View) -> bool:
    """Whether a prop stands open towards the viewer: a wall, what hangs on it, the ceiling."""
    return prop.outward is not None and view.cut is None and _seen_from_outside(prop, np.array(view.eye))


def _all_well(prop: Prop, view: View) -> bool:
    """Whether a prop is a line that only says that nothing is wrong."""
    if prop.state != "clear":
        return False
    return prop.layer == "sightlines" or (prop.layer == "clearances" and view.kind != "ceiling")


def _left_out(prop: Prop, view: View) -> bool:
    """Whether a view of this kind has no use for a prop of its layers."""
    if prop.layer == "shell" and prop.id in _LEFT_OUT.get(view.kind, ()):
        return True
    if view.kind == "ceiling":
        return not _on_ceiling_plan(prop)
    if view.kind not in ("plan", "array"):
        return False
    layers = ("arrays", "shell") if view.kind == "plan" else ("arrays",)
    return prop.id.endswith("/rays") or (prop.layer in layers and prop.id.endswith(_PLAN_PARTS))


def _its_own(prop: Prop, view: View, stage: Stage) -> bool:
    """Whether a prop is not another thing's: a view from or onto one shows of sight and band only what is its own."""
    if view.kind not in ("array", "camera"):
        return True
    id = view.name.partition(":")[2]
    if view.kind == "array":
        id = id or stage.scene.arrays[0].id
        if prop.layer in ("footprint", "sectors"):
            return prop.about == id
        return prop.layer != "sightlines" or (
            prop.id.startswith("array/") and prop.id.split("/")[2].startswith(f"{id}-")
        )
    id = id or stage.scene.cameras[0].id
    # a line from one's own eye is a point: what stands in its way is told
    return prop.layer != "sightlines" or (
        prop.kind == "mark" and prop.id.startswith("camera/") and prop.id.split("/")[2].startswith(f"{id}-")
    )


def _as_seen(prop: Prop, view: View, stage: Stage) -> Prop:
    """A prop as a view needs it: a plan's footprint lies under the people, a ceiling plan has one level."""
    if view.kind == "plan" and prop.layer == "footprint" and prop.kind == "mesh":
        return replace(prop, points=prop.points * (1, 1, 0) + (0, 0, 0.012))
    if view.kind == "plan" and prop.id == "kept out":
        # over people and tables it is a hint; the ceiling plan has it in full
        return replace(prop, opacity=0.5 * prop.opacity)
    if view.kind == "ceiling" and prop.layer == "shell" and prop.id in _CEILING:
        # what is in or under a higher part is not hidden by a lower one
        return replace(prop, points=prop.points + np.array([0, 0, _steps_m(stage.scene.room)]))
    if view.kind == "array" and prop.layer == "arrays" and prop.kind == "mesh":
        # what it listens to shows through
        return replace(prop, opacity=0.3)
    if prop.id == "grid" and view.kind != "ceiling":
        return replace(prop, legend="")
    return prop


def _steps_m(room: Room) -> float:
    """From the lowest of a ceiling to its highest."""
    return highest_m(room) - lowest_m(room)


def _seen_from_outside(prop: Prop, eye: Floats) -> bool:
    at = prop.points[np.argmin(prop.points @ np.asarray(prop.outward))]
    return bool((eye - at) @ np.asarray(prop.outward) > 0)


def _on_ceiling_plan(prop: Prop) -> bool:
    """A ceiling plan shows the ceiling and what hangs there; of the room only where the tables are."""
    if prop.id == "shadow":
        return False
    if prop.layer == "tables":
        return prop.kind == "line"
    if prop.layer == "shell":
        return not (
            prop.id in ("floor", "floor/cut", "structure", "plenum")
            or prop.id.startswith(("display/", "camera/"))
        )
    if prop.layer == "labels":
        return prop.id.startswith(("device/", "array/"))
    return prop.id.split("/")[-1] not in ("hanger",)
