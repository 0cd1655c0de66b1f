"""Arrays and the devices of the ceiling as props."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from geometry.shapes import Box, Point3
from scenes.findings.review import Review
from scenes.room.ceiling import ceiling_over_m, scene_under
from scenes.room.kinds import BUILT_IN
from scenes.room.scene import Array, Device, Scene, ceiling_of
from viz import devices, furniture
from viz import palette as ink
from viz.plan_svg import footprint
from viz.stage.props import (
    INTO_THE_ROOM,
    Floats,
    Prop,
    at_height,
    closed,
    level_face,
    mesh_prop,
    stroke_prop,
)
from viz.words.locale import Locale
from viz.words.things import kind_name


def arrays(scene: Scene) -> list[Prop]:
    colours = {
        "body": ink.ARRAY_BODY,
        "grille": ink.ARRAY_GRILLE,
        "cable": ink.CABLE,
        "clamp": ink.HARDWARE,
        "box": ink.HARDWARE,
        "hanger": ink.HARDWARE,
    }
    props = []
    for array in scene.arrays:
        here = scene_under(scene, array.at_m)
        open_ceiling = ceiling_of(here) != "suspended"
        for part, form in furniture.array(array, here.room, open_ceiling=open_ceiling).items():
            # above a suspended ceiling, hidden from below by it; left out with it when seen from above
            out: Point3 | None = (0.0, 0.0, 1.0) if part == "hanger" else None
            props.append(
                mesh_prop(
                    f"{array.id}/{part}",
                    "arrays",
                    form,
                    colours[part],
                    about=array.id,
                    shine=0.25,
                    outward=out,
                )
            )
        rim = _body_rim(array)
        strokes = [at_height(rim, array.underside_m - 0.001), at_height(rim, array.top_m + 0.001)]
        props.append(
            stroke_prop(
                f"{array.id}/outline", "arrays", strokes, ink.ARRAY_GRILLE, width_pt=0.7, about=array.id
            )
        )
    return props


def _body_rim(array: Array) -> Floats:
    """The body's outline on plan, (k, 2), closed."""
    body = array.body
    if isinstance(body, Box):
        return closed(body.corners_on_plan())
    turn = np.linspace(0, 2 * math.pi, 49)
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * body.radius_m
    return np.asarray(ring + array.centre_m[:2])


def overhead(scene: Scene, review: Review) -> list[Prop]:
    short, locale = short_devices(review), Locale.of(scene)
    colours = {
        "body": ink.DEVICE,
        "dark": ink.DEVICE_DARK,
        "luminous": ink.LUMINOUS,
        "structure": ink.STRUCTURE,
    }
    props: list[Prop] = []
    for device in scene.overhead:
        state = "short" if device.id in short else ""
        ceiling = ceiling_over_m(scene.room, device.at_m)
        outlined = not state and ceiling - device.low_m < HANGS_M and device.kind not in BUILT_IN
        if outlined:
            props += _outline(device, ceiling)
        for part, form in devices.device(device, ceiling).items():
            props.append(
                mesh_prop(
                    f"{device.id}/{part}",
                    "overhead",
                    form,
                    colours[part],
                    about=device.id,
                    state=state,
                    flat=part == "luminous",
                    unless=INTO_THE_ROOM if outlined else (),
                )
            )
        strokes = [at_height(stroke, device.low_m - 0.004) for stroke in devices.symbol(device)]
        props.append(
            stroke_prop(
                f"{device.id}/symbol",
                "overhead",
                strokes,
                ink.CLASH if state else ink.SYMBOL,
                width_pt=0.8,
                about=device.id,
                state=state,
                only=("plan", "ceiling"),
                legend=kind_name(device.kind, locale),
            )
        )
    return props


HANGS_M = 0.25
"""What reaches less far below the ceiling is drawn in outline where one looks into the room from above."""


def _outline(device: Device, ceiling_m: float) -> Iterator[Prop]:
    """A device of the ceiling as it is seen from above: its lines where the ceiling would be, a light's face aglow."""
    strokes = [at_height(stroke, ceiling_m) for stroke in devices.symbol(device)]
    look: dict[str, object] = {"about": device.id, "only": INTO_THE_ROOM}
    name = f"{device.id}/outline"
    yield stroke_prop(name, "overhead", strokes, ink.OUTLINE, width_pt=0.8, opacity=0.75, **look)
    if device.kind == "light":
        face = level_face([np.array(footprint(device))], ceiling_m - 0.001)
        yield mesh_prop(
            f"{device.id}/glow",
            "overhead",
            face,
            ink.GLOW,
            opacity=0.6,
            crease_deg=0.0,
            flat=True,
            solid="",
            **look,
        )


def short_devices(review: Review) -> set[str]:
    return {clearance.against for clearance in (*review.short, *review.advised)}
