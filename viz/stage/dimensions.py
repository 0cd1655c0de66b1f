"""Dimensions and words as props."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from scenes.findings.review import Review
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from viz import palette as ink
from viz.stage.props import WALL_M, Prop, along_x, dashes, label_prop, stroke_prop
from viz.words.locale import Locale

COLUMN_M = 0.38
"""Between the upright dimensions of neighbouring arrays in a section: room for words turned up."""
ROW_M = 0.26
"""Between the dimensions of neighbouring arrays on a plan."""
ROOM_PER_ROW = 65.0
"""A room this many times as long as rows are apart has them farther apart: words keep their size on paper."""


def row_m(scene: Scene, least_m: float) -> float:
    """How far apart rows of dimensions are, metres: `least_m`, more in a room so long that words would touch."""
    (x0, y0), (x1, y1) = scene.room.bounds_m
    return max(least_m, max(x1 - x0, y1 - y0) / ROOM_PER_ROW)


def alike(scene: Scene, axis: int) -> list[list[Array]]:
    """The arrays in groups that have the same x, y or height (axis 0, 1, 2) to the millimetre, in file order."""
    groups: dict[int, list[Array]] = {}
    for array in scene.arrays:
        groups.setdefault(round(1000 * array.centre_m[axis]), []).append(array)
    return list(groups.values())


def whose_of(scene: Scene, arrays: Sequence[Array]) -> str:
    """Whose a dimension is, in words: the arrays' ids, or how many where it is for all and they are many."""
    if len(arrays) > 2 and len(arrays) == len(scene.arrays):
        return Locale.of(scene).say("stage.all arrays", arrays=len(arrays))
    ids = [array.id for array in arrays]
    return ", ".join(ids) if len(ids) < 4 else Locale.of(scene).listed(ids, most=3)


FLAT = ("plan", "ceiling")
"""The views that dimensions on the floor are for."""
SIDE_M = WALL_M + 0.30
"""How far outside the room its dimensions stand."""


def dimension_props(scene: Scene) -> list[Prop]:
    """The room's size and the arrays' offsets on plan; their heights and drops, and the ceiling, upright.

    Arrays of one x, y or height share its dimension, which says whose it is.
    """
    props = _on_plan(scene)
    for only in ("long", "cross"):
        for index, same in enumerate(alike(scene, 2)):
            props += _column(scene, same, only, index)
    for only in ("long", "cross"):
        props += _room_height(scene, only)
    return props


def _on_plan(scene: Scene) -> list[Prop]:
    """The room's width and depth, and beyond its outside, where nothing is crossed, a row for each place of arrays."""
    (x0, y0), (x1, y1) = scene.room.bounds_m
    locale, z, apart = Locale.of(scene), 0.01, row_m(scene, ROW_M)
    along, up = (1, 0, 0), (0, 1, 0)
    props = _measure(locale, "room/width", ((x0, y0 - SIDE_M, z), (x1, y0 - SIDE_M, z)), up, FLAT)
    props += _measure(locale, "room/depth", ((x0 - SIDE_M, y0, z), (x0 - SIDE_M, y1, z)), along, FLAT)
    for index, same in enumerate(alike(scene, 0)):
        row, x, first = y1 + SIDE_M + apart * index, same[0].centre_m[0], same[0].id
        ends, word = ((x0, row, z), (x, row, z)), whose_of(scene, same)
        props += _measure(locale, f"{first}/x", ends, up, FLAT, about=first, word=word)
    for index, same in enumerate(alike(scene, 1)):
        row, y, first = x1 + SIDE_M + apart * index, same[0].centre_m[1], same[0].id
        ends, word = ((row, y0, z), (row, y, z)), whose_of(scene, same)
        props += _measure(locale, f"{first}/y", ends, along, FLAT, about=first, word=word)
    return props


def _column(scene: Scene, same: Sequence[Array], only: str, index: int) -> list[Prop]:
    """Height and drop of arrays of one height in one section, and a leader to each of them."""
    locale = Locale.of(scene)
    _, (x1, y1) = scene.room.bounds_m
    level = (only == "long") == along_x(scene)
    out = (x1 if level else y1) + SIDE_M + row_m(scene, COLUMN_M) * index
    first, height = same[0].id, same[0].centre_m[2]
    foot = np.array([out, same[0].centre_m[1]] if level else [same[0].centre_m[0], out])
    tick = (1, 0, 0) if level else (0, 1, 0)
    # where there are several columns each says whose it is
    word = whose_of(scene, same) if len(same) < len(scene.arrays) else ""
    floor, at, top = (*foot, 0), (*foot, height), (*foot, ceiling_over_m(scene.room, same[0].at_m))
    props = _measure(locale, f"{first}/height/{only}", (floor, at), tick, (only,), about=first, word=word)
    props += _measure(locale, f"{first}/drop/{only}", (at, top), tick, (only,), about=first, word=word)
    for array in same:
        x, y, _ = array.centre_m
        end = (out, y, height) if level else (x, out, height)
        props.append(
            stroke_prop(
                f"{array.id}/leader/{only}",
                "dimensions",
                # from the column, so that the dashes of arrays in line fall on each other
                dashes([end, array.centre_m], 0.03, 0.04),
                ink.DIMENSION,
                width_pt=0.5,
                about=array.id,
                only=(only,),
            )
        )
    return props


def _room_height(scene: Scene, only: str) -> list[Prop]:
    (x0, y0), _ = scene.room.bounds_m
    level = (only == "long") == along_x(scene)
    corner = (x0 - SIDE_M, y0) if level else (x0, y0 - SIDE_M)
    # the ceiling where it is cut: through the first array that has a place
    x, y = next((array.at_m for array in scene.arrays if array.at_m is not None), (x0, y0))
    ends = ((*corner, 0), (*corner, ceiling_over_m(scene.room, (x0, y) if level else (x, y0))))
    tick = (1, 0, 0) if level else (0, 1, 0)
    return _measure(Locale.of(scene), f"room/height/{only}", ends, tick, (only,))


def _measure(
    locale: Locale,
    id: str,
    ends: tuple[ArrayLike, ArrayLike],
    tick: ArrayLike,
    only: tuple[str, ...],
    *,
    about: str = "",
    word: str = "",
) -> list[Prop]:
    """A dimension line between two ends with its ticks and its length; nothing where it would be a dot."""
    a, b = (np.asarray(end, float) for end in ends)
    t = np.asarray(tick, float)
    distance = float(np.linalg.norm(b - a))
    if distance < 0.02:
        return []
    slash = 0.045 * ((b - a) / distance + t / np.linalg.norm(t))
    over = 0.06 * t / np.linalg.norm(t)
    strokes = [
        [a, b],
        [a - slash, a + slash],
        [b - slash, b + slash],
        [a - over, a + over],
        [b - over, b + over],
    ]
    said = f"{word} {locale.length(distance)}".strip()
    more = {"only": only, "about": about}
    return [
        stroke_prop(id, "dimensions", strokes, ink.DIMENSION, width_pt=0.7, **more),
        label_prop(f"{id}/label", "dimensions", said, (a + b) / 2, colour=ink.DIMENSION, rank=1, **more),
    ]


def labels(scene: Scene, review: Review) -> list[Prop]:
    locale = Locale.of(scene)
    props = []
    standings = {head.id: head.standing for head in review.heads}
    for head in scene.heads:
        x, y, z = head.middle_m
        standing = standings.get(head.id)
        lost = standing in ("missed", "blocked")
        colour = ink.STATE_COLOURS[standing] if standing and lost else ink.INK
        props.append(
            label_prop(
                f"head/{head.id}",
                "labels",
                head.id,
                (x, y, z),
                about=head.id,
                state=standing or "",
                rank=4,
                colour=colour,
            )
        )
    for array in scene.arrays:
        height = locale.site(array.centre_m[2])
        x, y, _ = array.centre_m
        props.append(
            label_prop(
                f"array/{array.id}",
                "labels",
                locale.say("stage.array", array=array.id, height=height),
                (x, y, array.underside_m),
                about=array.id,
                rank=0,
            )
        )
    tags = [("device", device.id, (*device.at_m, device.low_m), "ceiling") for device in scene.overhead]
    tags += [("display", display.id, display.at_m, "plan") for display in scene.displays]
    tags += [("camera", camera.id, camera.at_m, "plan") for camera in scene.cameras]
    for kind, id, at, view in tags:
        name = f"{kind}/{id}"
        props.append(label_prop(name, "labels", id, at, about=id, rank=6, only=(view,), colour=ink.INK_SOFT))
    return props
