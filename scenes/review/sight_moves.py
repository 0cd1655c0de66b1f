"""What would free a blocked line: moves that were tried out, told with their amount.

A move is told only if all of the line is clear of its blocker at the very amount told, whoever moves is
still between floor and ceiling and inside the room, and, of an array, no talker is lost and no clearance
rule broken by it. Columns and beams stay: then it is the camera, the display or the array that moves.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.coverage import cover
from geometry.polygons import inside
from geometry.shapes import Cylinder, Point3, Solid
from geometry.sight import crossings, mesh_crossings
from scenes.room.scene import Array, Scene
from scenes.rules.apply import constraints_for
from scenes.words import shortfall

Floats = NDArray[np.float64]
Kind = Literal["device", "building", "obstacle", "column", "array", "cable", "display", "table"]
"""What stands in a line, by what can be done about it: a beam is of the building, a column goes up to the ceiling."""

FARTHEST_M = 1.0
"""Nobody is told to move anything farther than this: then it needs another place."""
METRIC_STEP_M, INCH_STEP_M = 0.01, 0.003175
"""Moves are told, and tried, in whole centimetres or eighths of an inch."""
STRIDE = 10
"""So many steps at once where a mesh has to be asked, and then one by one between the last two."""


@dataclass(frozen=True, slots=True)
class SolidBlocker:
    """A box or cylinder that may stand in a line: whose it is, what it is called, of what kind it is."""

    owner: str
    name: str
    kind: Kind
    solid: Solid

    def blocks(self, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
        """(k,) which of the lines between (k, 3) starts and ends it stands in."""
        return crossings(starts, ends, [self.solid]).blocked[:, 0]


@dataclass(frozen=True, slots=True, eq=False)
class MeshBlocker:
    """The same of any closed mesh, such as a table's top; `high_m` is its highest point."""

    owner: str
    name: str
    kind: Kind
    vertices: Floats
    faces: NDArray[np.int64]
    high_m: float

    def blocks(self, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
        """(k,) which of the lines between (k, 3) starts and ends it stands in."""
        return mesh_crossings(starts, ends, self.vertices, self.faces).blocked[:, 0]


Blocker = SolidBlocker | MeshBlocker


@dataclass(frozen=True, slots=True)
class _Way:
    """One direction in which one thing may go: its verb, the unit direction, and how far it could at most."""

    thing: str
    verb: str
    direction: Floats
    most_m: float
    ok: Callable[[Floats], bool] = lambda by: True


_Asked = tuple[_Way, float, float]
"""A way, and how much of it the lines' starts and ends go: a blocker that moves is lines that move back."""


class Unblocking:
    """Finds what frees lines of one scene, whose arrays serve the heads as `serving` (head id to array id) says."""

    def __init__(self, scene: Scene, serving: Mapping[str, str]) -> None:
        self.scene, self.serving = scene, serving
        self.step_m = INCH_STEP_M if scene.units in ("ft", "in") else METRIC_STEP_M

    def advice(
        self,
        owners: Sequence[Blocker],
        blocker: Blocker,
        starts: Floats,
        ends: Floats,
        *,
        start: str,
        end: str,
        kind: Literal["array", "camera", "display"],
    ) -> str:
        """The two smallest moves that free all the lines of one viewer, or who needs another place.

        `owners` is all that its owner has (body and cable, lamp and stem): it goes along.
        """
        whole = [_up_to_the_ceiling(one) for one in owners]
        along = ends.mean(axis=0)[:2] - starts.mean(axis=0)[:2]
        length = float(np.hypot(*along))
        left = np.array([-along[1], along[0], 0.0]) / length if length > 1e-9 else np.array([0.0, 1.0, 0.0])
        asked = [(way, -1.0, -1.0) for way in self._blocker_ways(blocker, left)]
        shares = (0.0, 1.0) if kind == "display" else (1.0, 0.0)
        asked += [(way, *shares) for way in self._line_ways(kind, start, end, left)]
        found: list[tuple[float, str, bool]] = []
        for (way, _, _), by in zip(asked, self._least(asked, whole, starts, ends), strict=True):
            if by is not None and way.ok(by * way.direction):
                found.append((by, *_told(way, by, self.scene.units)))
        return _sentence(found, blocker, start, end, kind)

    def _least(
        self, asked: Sequence[_Asked], whole: Sequence[Blocker], starts: Floats, ends: Floats
    ) -> list[float | None]:
        """For each way the smallest whole step by which all the lines are free; None if none is small enough."""
        # meshes are asked of one line after the other: first in strides, then between the last two
        stride = STRIDE if any(isinstance(one, MeshBlocker) for one in whole) else 1
        steps = [math.floor(way.most_m / self.step_m + 1e-9) for way, _, _ in asked]
        amounts = [np.arange(stride, count + 1, stride, dtype=np.float64) * self.step_m for count in steps]
        least = _first(amounts, _free(asked, whole, starts, ends, amounts))
        if stride > 1:
            amounts = [
                np.zeros(0)
                if by is None
                else by - np.arange(stride - 1, -1, -1, dtype=np.float64) * self.step_m
                for by in least
            ]
            least = _first(amounts, _free(asked, whole, starts, ends, amounts))
        return least

    # Who could move, and where to -------------------------------------------------------------------------

    def _blocker_ways(self, blocker: Blocker, left: Floats) -> list[_Way]:
        name, kind = blocker.owner, blocker.kind
        if kind in ("building", "table") or isinstance(blocker, MeshBlocker):
            return []
        if kind in ("array", "cable"):
            return self._array_ways(name, left, upright=kind == "array")
        ceiling, solid = self.scene.room.ceiling_m, blocker.solid
        ways = self._sideways(name, left, solid.middle_m)
        if kind in ("device", "display"):
            ways.append(_Way(name, "raise", np.array([0, 0, 1.0]), min(ceiling - solid.high_m, FARTHEST_M)))
        if kind == "display":
            ways.append(_Way(name, "lower", np.array([0, 0, -1.0]), min(solid.low_m, FARTHEST_M)))
        return ways

    def _line_ways(self, kind: str, start: str, end: str, left: Floats) -> list[_Way]:
        """What the line's own camera, array or display could do."""
        up, down = np.array([0, 0, 1.0]), np.array([0, 0, -1.0])
        ceiling = self.scene.room.ceiling_m
        if kind == "array":
            return self._array_ways(start, left, upright=True)
        if kind == "camera":
            camera = next(one for one in self.scene.cameras if one.id == start)
            return [
                *self._sideways(start, left, camera.at_m),
                _Way(start, "raise", up, min(ceiling - camera.at_m[2], FARTHEST_M)),
                _Way(start, "lower", down, min(camera.at_m[2], FARTHEST_M)),
            ]
        display = next(one for one in self.scene.displays if one.id == end)
        return [_Way(end, "raise", up, min(ceiling - display.at_m[2] - display.height_m / 2, FARTHEST_M))]

    def _sideways(
        self, name: str, left: Floats, at: Point3, ok: Callable[[Floats], bool] = lambda by: True
    ) -> list[_Way]:
        outline = self.scene.room.outline_m

        def stays(by: Floats) -> bool:
            return inside((at[0] + by[0], at[1] + by[1]), outline) and ok(by)

        return [
            _Way(name, "left", left, FARTHEST_M, stays),
            _Way(name, "right", -left, FARTHEST_M, stays),
        ]

    def _array_ways(self, id: str, left: Floats, *, upright: bool) -> list[_Way]:
        array = self.scene.array(id)
        at = array.centre_m

        def ok(by: Floats) -> bool:
            return self._array_may(array, (at[0] + by[0], at[1] + by[1], at[2] + by[2]))

        ways = self._sideways(id, left, at, ok)
        if upright and array.profile.mount == "pendant":
            top = at[2] + array.profile.size_m[2] - array.profile.centre_m
            ways.append(
                _Way(id, "raise", np.array([0, 0, 1.0]), min(self.scene.room.ceiling_m - top, FARTHEST_M), ok)
            )
            ways.append(_Way(id, "lower", np.array([0, 0, -1.0]), min(array.underside_m, FARTHEST_M), ok))
        return ways

    def _array_may(self, array: Array, at: Point3) -> bool:
        """Whether the array could hang there without losing a talker it covers or breaking a rule it keeps."""
        here = np.array([array.centre_m, at], float)
        mine = [i for i, head in enumerate(self.scene.heads) if self.serving[head.id] == array.id]
        if mine:
            rows = self.scene.heads_as_rows.take(np.array(mine, dtype=np.int64))
            now, then = cover(here, [array.band, array.band], rows).margin_m
            if (then < np.minimum(now, 0.0) - 1e-9).any():
                return False
        for constraint in constraints_for(self.scene, array):
            now, then = constraint.signed_m(here)
            if then < min(now, 0.0) - 1e-9:
                return False
        return True


def _free(
    asked: Sequence[_Asked],
    whole: Sequence[Blocker],
    starts: Floats,
    ends: Floats,
    amounts: Sequence[Floats],
) -> list[NDArray[np.bool_]]:
    """For each way, by amount: whether all the lines are free of all that is in their way."""
    moves = [
        amount[:, None, None] * way.direction for (way, _, _), amount in zip(asked, amounts, strict=True)
    ]
    if not sum(map(len, amounts)):
        return [np.zeros(0, bool) for _ in amounts]
    from_ = [(starts + share * move).reshape(-1, 3) for (_, share, _), move in zip(asked, moves, strict=True)]
    to = [(ends + share * move).reshape(-1, 3) for (_, _, share), move in zip(asked, moves, strict=True)]
    blocked = np.any([one.blocks(np.concatenate(from_), np.concatenate(to)) for one in whole], axis=0)
    each = np.split(blocked.reshape(-1, len(starts)).any(axis=1), np.cumsum([len(a) for a in amounts])[:-1])
    return [~some for some in each]


def _first(amounts: Sequence[Floats], free: Sequence[NDArray[np.bool_]]) -> list[float | None]:
    return [float(a[ok][0]) if ok.any() else None for a, ok in zip(amounts, free, strict=True)]


def _up_to_the_ceiling(one: Blocker) -> Blocker:
    """A cable goes on above: where its array is lowered, it still reaches the ceiling."""
    if one.kind != "cable" or not isinstance(one, SolidBlocker) or not isinstance(one.solid, Cylinder):
        return one
    (x, y, z), longer = one.solid.middle_m, FARTHEST_M
    taller = Cylinder((x, y, z + longer / 2), one.solid.radius_m, one.solid.height_m + longer)
    return replace(one, solid=taller)


def _told(way: _Way, by_m: float, units: str) -> tuple[str, bool]:
    """The move in words, and whether it needs saying which way left is."""
    told = shortfall(by_m, units)
    if way.verb in ("left", "right"):
        return f"move {way.thing} {told} {way.verb}", True
    return f"{way.verb} {way.thing} by {told}", False


def _sentence(found: list[tuple[float, str, bool]], blocker: Blocker, start: str, end: str, kind: str) -> str:
    whose = {"array": start, "camera": start, "display": end}[kind]
    if not found:
        stays = "" if blocker.kind in ("building", "column", "table") else f" or {blocker.owner}"
        return f"no small move frees it, find another place for {whose}{stays}"
    # a column is the last to move, and two moves are enough to choose from: of one thing the smaller
    fixed = blocker.kind == "column"
    found.sort(key=lambda move: (fixed and f" {blocker.owner} " in f"{move[1]} ", move[0]))
    kept: list[tuple[str, bool]] = []
    for _, text, sided in found:
        if len(kept) < 2 and text.split()[:2] not in [other.split()[:2] for other, _ in kept]:
            kept.append((text, sided))
    told = " or ".join(
        f"{text} (if it can be moved)" if fixed and f" {blocker.owner} " in f"{text} " else text
        for text, _ in kept
    )
    return f"{told}, seen from {start}" if any(sided for _, sided in kept) else told
