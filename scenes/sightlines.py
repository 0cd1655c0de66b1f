"""Lines that should be free: array to the mouths it serves, camera to faces, seated eyes to displays.

Blocked ones name what blocks first and the least move of it that frees the line. People do not block
here: the array hears round them, and seats are the designer's. Solids are exact (`geometry.sight`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.shapes import Box, Cylinder, Point3, Solid
from geometry.sight import Crossings, crossings, way_out
from scenes.people import EYE_ABOVE_MOUTH_M
from scenes.review import Sightline
from scenes.rules import shapes_of
from scenes.scene import Head, Scene
from scenes.words import shortfall

DISPLAY_DEPTH_M = 0.05
"""How thick a display is behind its face when it stands in a line of sight: our default."""

Kind = Literal["device", "obstacle", "array", "cable", "display"]
CORNERS = ("lower left", "lower right", "upper right", "upper left", "centre")


@dataclass(frozen=True, slots=True)
class _Blocker:
    """Something that may stand in a line: whose it is, what it is called, and the solid."""

    owner: str
    name: str
    kind: Kind
    solid: Solid


@dataclass(frozen=True, slots=True)
class _Line:
    """One line, or several of which the worst is told (a mouth's whole range); who does not block it."""

    kind: Literal["array", "camera", "display"]
    start: str
    end: str
    array: str | None
    starts: tuple[Point3, ...]
    ends: tuple[Point3, ...]
    without: str


def sightlines(scene: Scene, serving: Mapping[str, str]) -> tuple[Sightline, ...]:
    """Every line that should be free, array to mouth first, then cameras, then displays.

    `serving` maps heads to the arrays that serve them. An array must see the lowest, middle and highest
    mouth of a head; a camera the eyes; a seated eye the corners and the centre of every display it
    faces. Where one of several is blocked it is that line which is told.
    """
    lines = [*_to_mouths(scene, serving), *_to_faces(scene), *_to_displays(scene)]
    if not lines:
        return ()
    starts = np.array([point for line in lines for point in line.starts])
    ends = np.array([point for line in lines for point in line.ends])
    # most of a ceiling is above every line: it need not be asked
    low, high = min(starts[:, 2].min(), ends[:, 2].min()), max(starts[:, 2].max(), ends[:, 2].max())
    blockers = [one for one in _blockers(scene) if one.solid.low_m < high and one.solid.high_m > low]
    owners = np.array([blocker.owner for blocker in blockers], object)
    found = crossings(starts, ends, [blocker.solid for blocker in blockers])
    counts = np.array([len(line.starts) for line in lines])
    excluded = np.repeat(np.array([line.without for line in lines], object), counts)
    blocked = found.blocked & (owners[None, :] != excluded[:, None])
    told, first = [], 0
    for line, count in zip(lines, counts, strict=True):
        told.append(_told(scene, line, blockers, found, blocked, range(first, first + int(count))))
        first += int(count)
    return tuple(told)


def eye_m(head: Head) -> Point3:
    """The eyes of a head, in the middle of its range."""
    x, y, z = head.middle_m
    return (x, y, z + EYE_ABOVE_MOUTH_M)


def _blockers(scene: Scene) -> list[_Blocker]:
    ceiling = scene.room.ceiling_m
    found = [
        _Blocker(device.id, device.id, "device", solid)
        for device in scene.overhead
        for solid in shapes_of(device)
        if isinstance(solid, Box | Cylinder) and solid.low_m < ceiling
    ]
    found += [_Blocker(one.id, one.id, "obstacle", one.solid) for one in scene.obstacles]
    for array in scene.arrays:
        found.append(_Blocker(array.id, array.id, "array", array.body))
        cable = array.cable(ceiling)
        if cable is not None:
            (x, y, low), (_, _, high) = cable.start_m, cable.end_m
            solid = Cylinder((x, y, (low + high) / 2), cable.radius_m, high - low)
            found.append(_Blocker(array.id, f"the cable of {array.id}", "cable", solid))
    for display in scene.displays:
        facing = math.radians(display.facing_deg)
        x, y, z = display.at_m
        behind = DISPLAY_DEPTH_M / 2
        middle = (x - behind * math.cos(facing), y - behind * math.sin(facing), z)
        size = (DISPLAY_DEPTH_M, display.width_m, display.height_m)
        found.append(_Blocker(display.id, display.id, "display", Box(middle, size, display.facing_deg)))
    return found


def _to_mouths(scene: Scene, serving: Mapping[str, str]) -> list[_Line]:
    lines = []
    for head in scene.heads:
        array = scene.array(serving[head.id])
        low, high = head.mouth_m
        heights = (low,) if low == high else (low, (low + high) / 2, high)
        ends = tuple((x, y, z) for x, y in head.path_m or (head.at_m,) for z in heights)
        starts = (array.centre_m,) * len(ends)
        lines.append(_Line("array", array.id, head.id, array.id, starts, ends, array.id))
    return lines


def _to_faces(scene: Scene) -> list[_Line]:
    return [
        _Line("camera", camera.id, head.id, None, (camera.at_m,), (eye_m(head),), "")
        for camera in scene.cameras
        for head in scene.heads
    ]


def _to_displays(scene: Scene) -> list[_Line]:
    lines = []
    for display in scene.displays:
        facing = math.radians(display.facing_deg)
        for head in scene.heads:
            if head.posture != "seated":
                continue
            away = (head.at_m[0] - display.at_m[0], head.at_m[1] - display.at_m[1])
            if away[0] * math.cos(facing) + away[1] * math.sin(facing) <= 0:
                continue  # behind the screen: nothing to see from there
            ends = (*display.corners_m, display.at_m)
            starts = (eye_m(head),) * len(ends)
            lines.append(_Line("display", head.id, display.id, None, starts, ends, display.id))
    return lines


def _told(
    scene: Scene,
    line: _Line,
    blockers: Sequence[_Blocker],
    found: Crossings,
    blocked: NDArray[np.bool_],
    rows: range,
) -> Sightline:
    hit = [row for row in rows if blocked[row].any()]
    if not hit:
        middle = len(rows) // 2 if line.kind == "array" else len(rows) - 1
        return Sightline(
            line.kind,
            line.start,
            line.end,
            line.array,
            line.starts[middle],
            line.ends[middle],
            "clear",
            None,
            None,
            None,
        )
    # the line that meets its blocker first is told, and of its blockers the first
    enter = np.where(blocked[hit], found.enter[hit], np.inf)
    which, column = np.unravel_index(int(np.argmin(enter)), enter.shape)
    row = hit[int(which)]
    blocker = blockers[int(column)]
    start, end = line.starts[row - rows.start], line.ends[row - rows.start]
    at = np.asarray(start) + found.enter[row, column] * (np.asarray(end) - np.asarray(start))
    what = ""
    if line.kind == "display":
        hidden = [CORNERS[r - rows.start] for r in hit if blocked[r, column]]
        what = "all of it hidden; " if len(hidden) == len(CORNERS) else f"{', '.join(hidden)} hidden; "
    advice = _advice(scene, line, blocker, [r for r in hit if blocked[r, column]], rows)
    return Sightline(
        line.kind,
        line.start,
        line.end,
        line.array,
        start,
        end,
        "blocked",
        blocker.name,
        (float(at[0]), float(at[1]), float(at[2])),
        what + advice,
    )


def _advice(scene: Scene, line: _Line, blocker: _Blocker, hit: Sequence[int], rows: range) -> str:
    """The moves of the blocker that free all of this head's or screen's lines: sideways, or up, or down."""
    ways = [way_out(line.starts[r - rows.start], line.ends[r - rows.start], blocker.solid) for r in hit]
    raised, lowered = max(way.raise_m for way in ways), max(way.lower_m for way in ways)
    low, high = blocker.solid.low_m, blocker.solid.high_m
    what, units = blocker.owner, scene.units
    moves = [(max(way.sideways_m for way in ways), f"move {what} sideways by")]
    # a cable cannot be raised out of the way, a column not cut; nothing goes through ceiling or floor
    if blocker.kind != "cable":
        if raised <= scene.room.ceiling_m - high + 1e-9:
            moves.append((raised, f"raise {what} by"))
        elif lowered <= low + 1e-9:
            moves.append((lowered, f"lower {what} by"))
        elif blocker.kind == "obstacle" and lowered < high - low and high < scene.room.ceiling_m - 1e-3:
            moves.append((lowered, f"make {what} lower by"))
    moves.sort(key=lambda move: move[0])
    return " or ".join(f"{verb} {shortfall(by, units)}" for by, verb in moves)
