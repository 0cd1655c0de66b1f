"""Lines of sight that should be free: array to the mouths it serves, camera to faces, seated eyes to displays.

Each is judged whole: to every mouth of a range and of a way, to every point of a screen (`geometry.sight.hidden`).
What may stand in them is one list for the review and the search (`scenes.review.blockers`); what would free
them is in `scenes.review.sight_moves`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.coverage import Heads
from geometry.first_met import Met, first_met
from geometry.records import record
from geometry.shapes import Point2, Point3
from geometry.sight import crossings
from scenes.findings.sight import Corner, DefaultDecides, LineKind, Sightline
from scenes.review.blockers import WALLS, Blocker, Bools, any_of, blockers_of, hides, wall_ids
from scenes.room.mouths import EYE_ABOVE_MOUTH_M
from scenes.room.scene import Device, Display, Head, Room, Scene
from scenes.rules.surroundings import known_of

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

THIN_M = 0.001
"""So thick is at least whatever hangs there, whose depth the spec leaves out."""
ON_WALL = 1e-9
"""Shares of a line or of a wall that differ by less are the same."""
CORNERS: tuple[Corner, ...] = ("lower left", "lower right", "upper right", "upper left", "centre")


@record(frozen=True, slots=True, eq=False)
class Looks:
    """Lines of one kind: from places (n, 3) to targets, of which `pairs` (k, 2) should be free.

    `starts` and `ends` name the places and targets, `show_m` (k, 3) is the point a free line is drawn to.
    """

    kind: LineKind
    starts: tuple[str, ...]
    ends: tuple[str, ...]
    places: Floats
    targets: Heads
    pairs: Indices
    show_m: Floats

    def hides(self, blockers: Sequence[Blocker]) -> Bools:
        """(places, targets, blockers) what stands in which line, their own arrays and displays left out."""
        found = hides(self.places, self.targets, blockers)
        names = np.array([one.owner for one in blockers], object)
        if self.kind == "array":
            found &= (np.array(self.starts, object)[:, None] != names)[:, None, :]
        elif self.kind == "display":
            found &= (np.array(self.ends, object)[:, None] != names)[None, :, :]
        return found


@record(frozen=True, slots=True, eq=False)
class Sights:
    """All lines of a scene with what may stand in them; `hidden` (places, targets, blockers) per kind of line."""

    scene: Scene
    blockers: tuple[Blocker, ...]
    looks: tuple[Looks, ...]
    hidden: tuple[Bools, ...]

    @classmethod
    def of(cls, scene: Scene) -> Sights:
        """Arrays to mouths, of which none should be free yet; cameras to faces; seated eyes to displays.

        An array must see every mouth of a head, a camera all the eyes, a seated eye all of every display it
        faces.
        """
        blockers, looks = blockers_of(scene), (_to_mouths(scene), _to_eyes(scene), _to_displays(scene))
        return cls(scene, blockers, looks, tuple(one.hides(blockers) for one in looks))

    def sees(self) -> Bools:
        """(arrays, heads) whether nothing stands between an array that has a place and any mouth of a head."""
        return ~any_of(self.hidden[0])

    def served(self, serving: Mapping[str, str]) -> Sights:
        """The same where each array should see the heads that it serves: head id to array id."""
        to_mouths, *rest = self.looks
        row = {id: k for k, id in enumerate(to_mouths.starts)}
        pairs = [(row[serving[id]], i) for i, id in enumerate(to_mouths.ends) if serving.get(id) in row]
        shown = _points([_middle_of(self.scene.heads[i]) for _, i in pairs])
        to_mouths = replace(to_mouths, pairs=np.array(pairs, np.int64).reshape(-1, 2), show_m=shown)
        return replace(self, looks=(to_mouths, *rest))

    def lines(self) -> tuple[Sightline, ...]:
        """Every line that should be free, array to mouth first, then cameras, then displays."""
        return tuple(
            line
            for looks, hidden in zip(self.looks, self.hidden, strict=True)
            for line in lines_of(self.scene, looks, self.blockers, hidden)
        )


def sightlines(scene: Scene, serving: Mapping[str, str]) -> tuple[Sightline, ...]:
    """The lines of a scene whose arrays serve the heads as `serving` says, head id to array id."""
    return Sights.of(scene).served(serving).lines()


def lines_of(scene: Scene, looks: Looks, blockers: tuple[Blocker, ...], hidden: Bools) -> list[Sightline]:
    """The lines of one kind; `hidden` (places, targets, blockers) says what stands in which."""
    found = [_clear(looks, k) for k in range(len(looks.pairs))]
    in_the_way = hidden[looks.pairs[:, 0], looks.pairs[:, 1]]
    blocked = np.flatnonzero(in_the_way.any(axis=1)).tolist()
    decided = _defaults(scene, looks, blockers, in_the_way) if blocked else {}
    for k in blocked:
        some = [blockers[j] for j in np.flatnonzero(in_the_way[k])]
        found[k] = _blocked(scene, looks, found[k], k, some)
        if k in decided:
            found[k] = replace(found[k], default_decides=decided[k].get(str(found[k].blocked_by)))
    return found


def eye_m(head: Head) -> Point3:
    """The eyes of a head, in the middle of its range."""
    x, y, z = head.middle_m
    return (x, y, z + EYE_ABOVE_MOUTH_M)


# The lines ----------------------------------------------------------------------------------------------


def _to_mouths(scene: Scene) -> Looks:
    placed = [array for array in scene.arrays if array.placed]
    return Looks(
        "array",
        tuple(array.id for array in placed),
        tuple(head.id for head in scene.heads),
        _points([array.centre_m for array in placed]),
        scene.heads_as_rows,
        np.zeros((0, 2), np.int64),
        np.zeros((0, 3)),
    )


def _to_eyes(scene: Scene) -> Looks:
    mouths = scene.heads_as_rows
    eyes = replace(
        mouths,
        at_m=mouths.at_m + np.array([0.0, 0.0, EYE_ABOVE_MOUTH_M]),
        low_m=mouths.low_m + EYE_ABOVE_MOUTH_M,
        high_m=mouths.high_m + EYE_ABOVE_MOUTH_M,
    )
    pairs = [(c, i) for c in range(len(scene.cameras)) for i in range(len(scene.heads))]
    shown = _points([eye_m(head) for head in scene.heads])
    return Looks(
        "camera",
        tuple(camera.id for camera in scene.cameras),
        tuple(head.id for head in scene.heads),
        _points([camera.at_m for camera in scene.cameras]),
        eyes,
        np.array(pairs, np.int64).reshape(-1, 2),
        np.tile(shown, (len(scene.cameras), 1)),
    )


def _to_displays(scene: Scene) -> Looks:
    sitting = [head for head in scene.heads if head.posture == "seated"]
    pairs = [
        (i, d)
        for d, display in enumerate(scene.displays)
        for i, head in enumerate(sitting)
        if _in_front(head.at_m, display)
    ]
    return Looks(
        "display",
        tuple(head.id for head in sitting),
        tuple(display.id for display in scene.displays),
        _points([eye_m(head) for head in sitting]),
        faces(scene.displays),
        np.array(pairs, np.int64).reshape(-1, 2),
        _points([scene.displays[d].at_m for _, d in pairs]),
    )


def faces(displays: Sequence[Display]) -> Heads:
    """Upright faces as what lines go to: along the lower edge, at every height up to the upper one."""
    low_left, low_right, high_right = (
        _points([display.corners_m[k] for display in displays]) for k in (0, 1, 2)
    )
    return Heads(
        at_m=_points([display.at_m for display in displays]),
        sway_m=np.zeros(len(displays)),
        xy_m=low_left[:, :2],
        to_m=low_right[:, :2],
        low_m=low_left[:, 2],
        high_m=high_right[:, 2],
        start=np.arange(len(displays), dtype=np.int64),
    )


def _in_front(at: Point2, display: Display) -> bool:
    """Whether a place is before a screen: from behind there is nothing to see."""
    facing = math.radians(display.facing_deg)
    away = (at[0] - display.at_m[0], at[1] - display.at_m[1])
    return away[0] * math.cos(facing) + away[1] * math.sin(facing) > 0


def _middle_of(head: Head) -> Point3:
    """The mouth in the middle of its range, half way of who walks."""
    x, y = head.path_m[len(head.path_m) // 2] if head.path_m else head.at_m
    return (x, y, head.middle_m[2])


def _points(points: Sequence[Point3]) -> Floats:
    return np.array(points, float).reshape(-1, 3)


# What is told of one ------------------------------------------------------------------------------------


def _clear(looks: Looks, k: int) -> Sightline:
    place, target = looks.pairs[k].tolist()
    start = looks.starts[place]
    return Sightline(
        looks.kind,
        start,
        looks.ends[target],
        start if looks.kind == "array" else None,
        _point(looks.places[place]),
        _point(looks.show_m[k]),
        "clear",
    )


def _blocked(scene: Scene, looks: Looks, line: Sightline, k: int, some: Sequence[Blocker]) -> Sightline:
    """The line with what blocks it: the one blocked soonest is told, and all that block any, nearest first."""
    place, target = looks.pairs[k].tolist()
    at = looks.places[place]
    met = first_met(at, looks.targets.take(np.array([target])), [one.solid for one in some])
    found = [(one, way) for one, way in zip(some, met, strict=True) if way is not None]
    found.sort(key=lambda pair: pair[1].way_m)
    first, way = found[0]
    names = [_name(scene, one, at, way) for one, way in found]
    return replace(
        line,
        end_m=_point(way.mouth_m),
        state="blocked",
        blocked_by=names[0],
        blockers=tuple(dict.fromkeys(names)),
        blocked_at_m=_point(way.at_m),
        cable=first.cable,
        hidden=_hidden(at, scene.displays[target], some) if looks.kind == "display" else (),
    )


def _name(scene: Scene, blocker: Blocker, place: Floats, met: Met) -> str:
    """The blocker's id; of what lies outside the room that of the wall the line leaves it by."""
    if blocker.owner != WALLS:
        return blocker.owner
    return wall_ids(scene)[wall_left_by(scene.room, place, met)]


def wall_left_by(room: Room, place: Floats, met: Met) -> int:
    """The index of the wall by which a line leaves the room, at or before the place where it was met outside."""
    corners = np.array(room.outline_m)
    along = np.roll(corners, -1, axis=0) - corners
    way = (met.mouth_m - place)[:2]
    outward = (along[:, 1] * way[0] - along[:, 0] * way[1]) * (1 if room.anticlockwise else -1)
    away = corners - place[:2]
    with np.errstate(divide="ignore", invalid="ignore"):
        cross = way[0] * along[:, 1] - way[1] * along[:, 0]
        share = (away[:, 0] * along[:, 1] - away[:, 1] * along[:, 0]) / cross
        on_wall = (away[:, 0] * way[1] - away[:, 1] * way[0]) / cross
    reached = met.way_m / max(float(np.linalg.norm(met.mouth_m - place)), ON_WALL)
    off = np.maximum(np.maximum(-on_wall, on_wall - 1), 0.0) + np.maximum(share - reached, 0.0)
    off = np.where((outward > 0) & (share > -ON_WALL), off, np.inf)
    # of walls that it leaves by before it is met, the last; a seam outside is no wall
    near = np.flatnonzero(off <= off.min() + ON_WALL)
    return int(near[np.argmax(share[near])])


def _hidden(eye: Floats, display: Display, some: Sequence[Blocker]) -> tuple[Corner, ...]:
    spots = np.array([*display.corners_m, display.at_m])
    starts = np.broadcast_to(eye, spots.shape)
    blocked = crossings(starts, spots, [one.solid for one in some]).blocked
    return tuple(corner for corner, gone in zip(CORNERS, blocked.tolist(), strict=True) if any(gone))


def known_blockers(scene: Scene) -> tuple[Blocker, ...] | None:
    """What may stand in a line by what the spec itself tells, without our default sizes; None if it tells all."""
    guessed = _guessed(scene)
    if not guessed:
        return None
    told = (one for one in blockers_of(scene) if one.owner not in guessed)
    return (*told, *_known(guessed))


def _guessed(scene: Scene) -> dict[str, Device]:
    """The devices whose size or depth is a default of ours."""
    return {one.id: one for one in scene.overhead if not (one.size.own and one.depth.own)}


def _known(guessed: Mapping[str, Device]) -> list[Blocker]:
    return [
        Blocker(device.id, "device", solid)
        for device in guessed.values()
        for solid in known_of(device, THIN_M)
    ]


def _defaults(
    scene: Scene, looks: Looks, blockers: Sequence[Blocker], in_the_way: Bools
) -> dict[int, dict[str, DefaultDecides]]:
    """Of the lines that nothing blocks but a default of ours: by device, which of its figures is the default."""
    guessed = _guessed(scene)
    sure = (in_the_way & ~np.isin([one.owner for one in blockers], list(guessed))).any(axis=1)
    doubt = np.flatnonzero(in_the_way.any(axis=1) & ~sure)
    if not len(doubt):
        return {}
    still = any_of(looks.hides(_known(guessed)))[looks.pairs[doubt, 0], looks.pairs[doubt, 1]]
    words: dict[str, DefaultDecides] = {
        id: "depth" if device.size.own else "size" for id, device in guessed.items()
    }
    return dict.fromkeys(doubt[~still].tolist(), words)


def _point(values: Floats) -> Point3:
    x, y, z = values.tolist()
    return (x, y, z)
