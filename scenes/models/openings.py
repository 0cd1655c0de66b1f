"""Doors, windows, plain openings and glazed walls in the walls of a room's outline."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.outlines import corners_of
from geometry.records import record
from scenes.findings.model import Doubt, ModelOpening, Swing
from scenes.models.kinds import type_of
from scenes.models.spaces import Space
from scenes.models.things import InRoom, Thing, near

Floats = NDArray[np.float64]
Kind = Literal["door", "window", "opening"]

TOUCHES_M: Final = 0.05
"""An opening goes through its wall, so it comes this near to the room's outline, finishes allowed for."""
STANDS_OFF_M: Final = 0.3
"""A door or pane without an opening of its own may stand this far behind the outline."""
PARALLEL: Final = math.cos(math.radians(10))
"""Least cosine between an opening's width and its wall."""
LEAST_OVERLAP: Final = 0.6
"""The share of an opening's width that lies along the wall it is in."""
LEAST_WIDTH_M: Final = 0.1
DOOR_SILL_M: Final = 0.05
"""A door whose lower edge is no higher stands on the floor."""
PLAIN_HEIGHT_M: Final = 1.8
"""An opening without a door that people walk through is at least this high, from the floor."""
CUT_M: Final = 0.002


@record(frozen=True, slots=True)
class _Wall:
    index: int
    start: Floats
    along: Floats
    out: Floats
    length_m: float


@record(frozen=True, slots=True)
class _Fit:
    wall: _Wall
    low_m: float
    high_m: float
    share: float
    off_m: float


def openings(things: Sequence[Thing], space: Space, top_m: float) -> tuple[list[ModelOpening], list[Doubt]]:
    """The room's openings by wall and place along it, with ids; and which had to be cut to fit.

    `top_m` is how high a wall may be: what reaches higher is cut there.
    """
    walls = _walls(space)
    found: list[tuple[ModelOpening, bool]] = []
    for one in near(things, space, STANDS_OFF_M):
        if one.high_m <= DOOR_SILL_M or one.low_m >= top_m:
            continue
        kind = _kind(one)
        fit = None if kind is None else _fit(one, walls)
        if kind is None or fit is None:
            continue
        opening, cut = _cut(one, kind, fit, top_m)
        if opening is not None:
            found.append((opening, cut))
    kept = _apart(found)
    kept.sort(key=lambda pair: (pair[0].wall, round(pair[0].offset_m, 4), pair[0].guid))
    count = {"D": 0, "G": 0, "O": 0}
    named, doubts = [], []
    for opening, cut in kept:
        letter = {"door": "D", "window": "G", "opening": "O"}[opening.kind]
        count[letter] += 1
        named.append(replace(opening, id=f"{letter}{count[letter]}"))
        if cut:
            doubts.append(Doubt(named[-1].id, "opening-cut", "flattened"))
    return named, doubts


def _walls(space: Space) -> list[_Wall]:
    corners = np.array(corners_of(space.outline))
    walls = []
    for index, start in enumerate(corners):
        run = corners[(index + 1) % len(corners)] - start
        length = float(np.hypot(*run))
        along = run / length
        walls.append(_Wall(index, start, along, np.array([along[1], -along[0]]), length))
    return walls


def _kind(one: InRoom) -> Kind | None:
    """What an opening is for the spec; None for a recess or a hole that nobody walks through."""
    entity = one.thing.entity
    if one.thing.kind in ("door", "window"):
        return "door" if one.thing.kind == "door" else "window"
    if getattr(entity, "PredefinedType", None) == "RECESS":
        return None
    walked = one.low_m <= DOOR_SILL_M and one.high_m >= PLAIN_HEIGHT_M
    return "opening" if walked else None


def _fit(one: InRoom, walls: Sequence[_Wall]) -> _Fit | None:
    """The wall an opening is in: parallel to it, touching it, along most of its width; the best of several."""
    points = one.points[:, :2]
    own = one.thing.matrix[:2, 0]
    reach = TOUCHES_M if one.thing.use == "opening" else STANDS_OFF_M
    fits = []
    for wall in walls:
        s, d = (points - wall.start) @ wall.along, (points - wall.start) @ wall.out
        low, high = float(s.min()), float(s.max())
        width = high - low
        overlap = min(high, wall.length_m) - max(low, 0.0)
        off = max(float(d.min()), -float(d.max()), 0.0)
        if width < LEAST_WIDTH_M or overlap < LEAST_OVERLAP * width or off > reach:
            continue
        if not _parallel(one, own, wall, width, float(d.max() - d.min())):
            continue
        fits.append(_Fit(wall, low, high, overlap / width, off))
    return min(fits, key=lambda fit: (-round(fit.share, 3), round(fit.off_m, 4)), default=None)


def _parallel(one: InRoom, own: Floats, wall: _Wall, width: float, depth: float) -> bool:
    """Whether an opening's width runs along the wall: by its own axis, or by being wider than deep."""
    turned = one.thing.matrix[:2, :2] @ np.array([1.0, 0.0])
    length = float(np.hypot(*turned))
    if one.thing.kind in ("door", "window") and length > 0.5:
        # the wall's direction is the room's, the axis the model's: both through the room's turn already
        return abs(float(_in_room(one, own) @ wall.along)) >= PARALLEL
    return width >= depth or depth < STANDS_OFF_M


def _in_room(one: InRoom, own: Floats) -> Floats:
    """The thing's own x axis on plan in the room's frame, found from two of its points' images."""
    body = one.thing.body
    if body is None or len(body.own) < 2:
        return own
    before = body.vertices[:, :2]
    after = one.points[:, :2]
    a, b = before - before[0], after - after[0]
    far = int(np.argmax(np.hypot(*a.T)))
    angle = math.atan2(b[far, 1], b[far, 0]) - math.atan2(a[far, 1], a[far, 0])
    c, s = math.cos(angle), math.sin(angle)
    return np.array([c * own[0] - s * own[1], s * own[0] + c * own[1]])


def _cut(one: InRoom, kind: Kind, fit: _Fit, top_m: float) -> tuple[ModelOpening | None, bool]:
    """The opening within its wall, and whether it had to be cut by more than a hair."""
    low, high = max(fit.low_m, 0.0), min(fit.high_m, fit.wall.length_m)
    sill = max(one.low_m, 0.0)
    if kind == "door" or sill <= CUT_M:
        kind, sill = ("opening", sill) if kind == "door" and sill > DOOR_SILL_M else (kind, 0.0)
    top = min(one.high_m, top_m)
    cut = high - low < fit.high_m - fit.low_m - CUT_M or top < one.high_m - CUT_M
    if high - low < LEAST_WIDTH_M or top - sill < LEAST_WIDTH_M:
        return None, False
    swing = _swing(one, fit.wall) if kind == "door" else None
    opening = ModelOpening(
        one.thing.guid, kind, fit.wall.index, low, high - low, top - sill, sill, swing, one.of_type
    )
    return opening, cut


def _swing(one: InRoom, wall: _Wall) -> Swing | None:
    """How a door opens, from its type's operation and its own axes: towards +y, hinged left or right seen so."""
    entity = one.thing.entity
    style = type_of(entity)
    operation = next(
        (
            str(value)
            for value in (getattr(entity, "OperationType", None), getattr(style, "OperationType", None))
            if value not in (None, "NOTDEFINED", "USERDEFINED")
        ),
        "",
    )
    if "SWING" not in operation or "FIXED" in operation.replace("SWING_FIXED", ""):
        return None
    x = _in_room(one, one.thing.matrix[:2, 0])
    y = _in_room(one, one.thing.matrix[:2, 1])
    opens: Literal["in", "out"] = "out" if float(y @ wall.out) > 0 else "in"
    if operation.startswith(("DOUBLE_DOOR", "DOUBLE_PANEL")):
        return Swing("both", opens)
    forwards = float(x @ wall.along) > 0
    left = operation.endswith("LEFT")
    return Swing("near" if left == forwards else "far", opens)


def _apart(found: Sequence[tuple[ModelOpening, bool]]) -> list[tuple[ModelOpening, bool]]:
    """Openings without those that stand in one found already: a void and its door, a pane beside a door.

    What is in the middle of a glazed wall splits it.
    """
    rank = {"door": 0, "opening": 2, "window": 1}
    kept: list[tuple[ModelOpening, bool]] = []
    for opening, cut in sorted(found, key=lambda pair: (rank[pair[0].kind], pair[0].width_m, pair[0].guid)):
        free = shapely.LineString([(opening.offset_m, 0), (opening.offset_m + opening.width_m, 0)])
        rest: Any = free
        for other, _ in kept:
            upright = min(other.sill_m + other.height_m, opening.sill_m + opening.height_m) - max(
                other.sill_m, opening.sill_m
            )
            if other.wall == opening.wall and upright > CUT_M:
                rest = rest.difference(shapely.box(other.offset_m, -1, other.offset_m + other.width_m, 1))
        for part in shapely.get_parts(rest).tolist():
            if part.length < max(LEAST_WIDTH_M, 0.0):
                continue
            if part.length > free.length - CUT_M:
                kept.append((opening, cut))
            elif opening.kind == "window":
                low = float(part.bounds[0])
                kept.append((replace(opening, offset_m=low, width_m=float(part.length)), cut))
    return kept
