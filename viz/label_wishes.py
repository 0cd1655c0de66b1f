"""Where each label of a stage belongs in a picture: beside its sign, its body or screen, or along its line.

A wish says where; `viz.lettering.place` finds each a free place as near to that as it can.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.records import record
from viz.lettering import Rectangle, Wish, font
from viz.stage import Prop
from viz.views import View

SIZES_PT = {"dimensions": 7.5, "labels": 7.5, "sectors": 6.5, "clearances": 7.5}
"""How large the words of each layer are."""
ARRAY_PT = 9.0
NEAREST_DEPTH_M = 0.05
"""What is nearer the eye than this is not in the picture."""
FAR_RIGHT = 0.70
"""From this share of a flat picture's width on, words that stood on the right would leave the room."""


@record(frozen=True)
class Picture:
    """What labels are placed in: the props seen, the view, its size in pixels, and how many are a point.

    `signs` are the heads' signs where they were drawn, by head; a label leaves them `sign_px` free.
    """

    props: Sequence[Prop]
    view: View
    size: tuple[int, int]
    point: float
    signs: Mapping[str, tuple[float, float]]
    sign_px: float


def wishes(picture: Picture) -> list[Wish]:
    """The labels whose anchor is in the picture, each with where it belongs."""
    found = []
    for prop in picture.props:
        if prop.kind == "label" and prop.text and (at := _anchor(prop, picture)) is not None:
            found.append(_wish(prop, at, picture))
    return found


def box_of(prop: Prop, view: View, size: tuple[int, int]) -> Rectangle:
    """The pixels that a prop's points span in a picture."""
    at = view.project(prop.points, *size)[:, :2]
    (left, top), (right, bottom) = at.min(axis=0), at.max(axis=0)
    return (float(left), float(top), float(right), float(bottom))


def _anchor(prop: Prop, picture: Picture) -> tuple[float, float] | None:
    if prop.anchor is None:
        return None
    width, height = picture.size
    x, y, depth = picture.view.project(prop.anchor, width, height)[0]
    if not (depth > NEAREST_DEPTH_M and 0 <= x < width and 0 <= y < height):
        return None
    return float(x), float(y)


def _wish(prop: Prop, at: tuple[float, float], picture: Picture) -> Wish:
    wish = Wish(
        f"{prop.layer}/{prop.id}",
        prop.text,
        at,
        prop.colour,
        prop.rank,
        SIZES_PT[prop.layer],
        prop.state in ("missed", "blocked"),
        clear_px=(2 * picture.point, 2 * picture.point),
    )
    whose = prop.id.partition("/")[0] if prop.layer == "labels" else prop.layer
    belongs = BELONGS.get(whose)
    return wish if belongs is None else belongs(wish, prop, picture)


# ---------------------------------------------------------------- where each kind of label belongs


def _by_its_sign(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    at = picture.signs.get(prop.about, wish.at)
    return replace(wish, at=at, clear_px=(picture.sign_px, picture.sign_px))


def _by_its_array(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    """Beside the body; below a flush one in a section."""
    wish = replace(wish, size_pt=ARRAY_PT, strong=True)
    if _has_room_beside(prop.about, picture):
        wish = _into_a_flat_picture(replace(wish, first="right"), prop, picture)
    else:
        wish = replace(wish, first="below")
    return _clear_of(wish, _seen(prop, "arrays", picture, ("body", "symbol")), picture)


def _by_its_device(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    """Above it; beside a beam, whose end is at a wall."""
    box = _seen(prop, "overhead", picture, ("body", "symbol"))
    if box is not None and box[3] - box[1] > 3 * (box[2] - box[0]):
        wish = replace(wish, first="right")
    return _clear_of(wish, box, picture)


def _off_the_wall(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    """Beside a screen or a camera, towards the room."""
    towards: Literal["left", "right"] = "left" if wish.at[0] > picture.size[0] / 2 else "right"
    wish = replace(wish, first=towards, walled=True)
    return _clear_of(wish, _seen(prop, "shell", picture), picture)


def _along_its_line(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    """On its dimension line where the line is long enough for the words, else above it."""
    point = picture.point
    line = next(p for p in picture.props if p.layer == "dimensions" and f"{p.id}/label" == prop.id)
    ends = picture.view.project(line.points[:2], *picture.size)[:, :2]
    across, down = np.abs(ends[1] - ends[0])
    long = font(round(SIZES_PT["dimensions"] * point)).getlength(prop.text)
    turned, centred = bool(down > across), bool(max(across, down) > long + 14 * point)
    # where an upright line is too short for its words they go on beyond its end, off the lines beside it
    clear = (5 * point, 5 * point if centred or not turned else float(down) / 2 + 4 * point)
    return replace(wish, clear_px=clear, centred=centred, turned=turned)


def _in_its_sector(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    return replace(wish, centred=True)


def _into_a_flat_picture(wish: Wish, prop: Prop, picture: Picture) -> Wish:
    """To the left where a flat picture ends on the right."""
    if picture.view.flat and wish.at[0] > FAR_RIGHT * picture.size[0]:
        return replace(wish, first="left", walled=True)
    return wish


BELONGS: dict[str, Callable[[Wish, Prop, Picture], Wish]] = {
    "head": _by_its_sign,
    "array": _by_its_array,
    "device": _by_its_device,
    "display": _off_the_wall,
    "camera": _off_the_wall,
    "dimensions": _along_its_line,
    "sectors": _in_its_sector,
    "clearances": _into_a_flat_picture,
}
"""By what is labelled, or by the layer of the words; any other label is above its anchor."""


def _has_room_beside(array: str, picture: Picture) -> bool:
    """Whether an array's label goes beside it: all but a flush one in a section, which has its ceiling there."""
    if picture.view.kind not in ("long", "cross"):
        return True
    return any(p.layer == "arrays" and p.about == array and p.id.endswith("/cable") for p in picture.props)


def _seen(prop: Prop, layer: str, picture: Picture, parts: tuple[str, ...] = ("",)) -> Rectangle | None:
    """The pixels of what a label is about, or of such parts of it; None if they are not in the picture."""
    mine = [p for p in picture.props if p.layer == layer and p.about == prop.about and len(p.points)]
    mine = [p for p in mine if p.id.endswith(parts)]
    if not mine:
        return None
    boxes = np.array([box_of(p, picture.view, picture.size) for p in mine])
    (left, top), (right, bottom) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return (float(left), float(top), float(right), float(bottom))


def _clear_of(wish: Wish, box: Rectangle | None, picture: Picture) -> Wish:
    """About the middle of a thing's box, clear of all of it."""
    if box is None:
        return wish
    left, top, right, bottom = box
    spare = 2 * picture.point
    clear = ((right - left) / 2 + spare, (bottom - top) / 2 + spare)
    return replace(wish, at=((left + right) / 2, (top + bottom) / 2), clear_px=clear)
