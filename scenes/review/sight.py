"""Lines that should be free: array to the mouths it serves, camera to faces, seated eyes to displays.

Blocked ones name what blocks first and what would free the line (`scenes.review.sight_moves`). People do not block
here: the array hears round them, and seats are the designer's. Boxes and cylinders are exact
(`geometry.sight`); table tops, which may have any outline, are meshes and asked only of lines that come
down to them, such as those to a screen that hangs low.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.shapes import Box, Cylinder, Point3
from geometry.sight import Crossings, crossings, mesh_crossings
from scenes.findings.review import Sightline
from scenes.review.sight_moves import Blocker, MeshBlocker, SolidBlocker, Unblocking
from scenes.room.mouths import EYE_ABOVE_MOUTH_M
from scenes.room.scene import Head, Scene
from scenes.rules.apply import known_of, shapes_of
from scenes.words import listed

DISPLAY_DEPTH_M = 0.05
"""How thick a display is behind its face when it stands in a line of sight: our default."""

TOP_THICK_M = 0.03
"""How thick a table top is: our default."""
THIN_M = 0.001
"""So thick is at least whatever hangs there, whose depth the spec leaves out."""
COLUMN_FROM_M = 2.0
"""What stands on the floor and is this tall may be a column, or a cupboard that nobody moves lightly."""
MOVED_BY_US = ("light", "loudspeaker", "projector", "other")
"""Kinds of devices that a designer may ask to be moved for a line of sight; the rest is the building's."""
CORNERS = ("lower left", "lower right", "upper right", "upper left", "centre")


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
    solids = [one for one in _solids(scene) if one.solid.low_m < high and one.solid.high_m > low]
    found = crossings(starts, ends, [one.solid for one in solids])
    tops = _table_tops(scene, low)
    if tops:
        found = _with_tops(found, starts, ends, tops)
    blockers: list[Blocker] = [*solids, *tops]
    owners = np.array([blocker.owner for blocker in blockers], object)
    counts = np.array([len(line.starts) for line in lines])
    excluded = np.repeat(np.array([line.without for line in lines], object), counts)
    blocked = found.blocked & (owners[None, :] != excluded[:, None])
    guessed = {device.id: device for device in scene.overhead if not (device.size.own and device.depth.own)}
    known = [solid for device in guessed.values() for solid in known_of(device, THIN_M)]
    sure = (blocked & ~np.isin(owners, list(guessed))).any(axis=1)
    if known and (blocked.any(axis=1) & ~sure).any():
        sure |= crossings(starts, ends, known).blocked.any(axis=1)
    told, first = [], 0
    ways_out = Unblocking(scene, serving)
    for line, count in zip(lines, counts, strict=True):
        rows = range(first, first + int(count))
        one = _told(ways_out, line, blockers, found, blocked, rows)
        if one.state == "blocked" and not sure[rows].any():
            owner = str(one.blocked_by)
            what = "depth" if guessed[owner].size.own else "size"
            advice = f"{one.advice}; the {what} of {owner} is our default, which decides here: give its own"
            one = replace(one, binding=False, advice=advice)
        told.append(one)
        first += int(count)
    return tuple(told)


def eye_m(head: Head) -> Point3:
    """The eyes of a head, in the middle of its range."""
    x, y, z = head.middle_m
    return (x, y, z + EYE_ABOVE_MOUTH_M)


def _solids(scene: Scene) -> list[SolidBlocker]:
    ceiling = scene.room.ceiling_m
    found = [
        SolidBlocker(device.id, device.id, "device" if device.kind in MOVED_BY_US else "building", solid)
        for device in scene.overhead
        for solid in shapes_of(device)
        if isinstance(solid, Box | Cylinder) and solid.low_m < ceiling
    ]
    for one in scene.obstacles:
        tall = one.solid.low_m < 0.1 and one.solid.high_m >= COLUMN_FROM_M
        found.append(SolidBlocker(one.id, one.id, "column" if tall else "obstacle", one.solid))
    for array in scene.arrays:
        found.append(SolidBlocker(array.id, array.id, "array", array.body))
        cable = array.cable(ceiling)
        if cable is not None:
            (x, y, low), (_, _, high) = cable.start_m, cable.end_m
            solid = Cylinder((x, y, (low + high) / 2), cable.radius_m, high - low)
            found.append(SolidBlocker(array.id, f"the cable of {array.id}", "cable", solid))
    for display in scene.displays:
        facing = math.radians(display.facing_deg)
        x, y, z = display.at_m
        behind = DISPLAY_DEPTH_M / 2
        middle = (x - behind * math.cos(facing), y - behind * math.sin(facing), z)
        size = (DISPLAY_DEPTH_M, display.width_m, display.height_m)
        found.append(SolidBlocker(display.id, display.id, "display", Box(middle, size, display.facing_deg)))
    return found


def _table_tops(scene: Scene, low_m: float) -> list[MeshBlocker]:
    """The tops of tables that some line comes down to, as closed meshes."""
    found = []
    for table in scene.tables:
        if table.height_m > low_m:
            from geometry.solids import room_prism  # most rooms ask for no mesh

            mesh = room_prism(table.outline_m, max(table.height_m - TOP_THICK_M, 0.0), table.height_m)
            found.append(MeshBlocker(table.id, table.id, "table", mesh.points, mesh.faces, table.height_m))
    return found


def _with_tops(
    found: Crossings, starts: NDArray[np.float64], ends: NDArray[np.float64], tops: Sequence[MeshBlocker]
) -> Crossings:
    """The crossings with a column more for each table top."""
    enter, leave = [found.enter], [found.leave]
    for top in tops:
        asked = np.flatnonzero(np.minimum(starts[:, 2], ends[:, 2]) < top.high_m)
        through = mesh_crossings(starts[asked], ends[asked], top.vertices, top.faces)
        for columns, value in ((enter, through.enter), (leave, through.leave)):
            column = np.full((len(starts), 1), np.nan)
            column[asked] = value
            columns.append(column)
    return Crossings(np.hstack(enter), np.hstack(leave), found.length_m)


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
    ways_out: Unblocking,
    line: _Line,
    blockers: Sequence[Blocker],
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
    advice = ways_out.advice(
        [other for other in blockers if other.owner == blocker.owner],
        blocker,
        np.array(line.starts),
        np.array(line.ends),
        start=line.start,
        end=line.end,
        kind=line.kind,
    )
    standing = dict.fromkeys(blockers[k].owner for k in np.flatnonzero(blocked[hit].any(axis=0)).tolist())
    too = [owner for owner in standing if owner != blocker.owner]
    if too:
        advice += f"; {listed(too)} {'is' if len(too) == 1 else 'are'} in the way too"
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
