"""Where mouths are: round tables, in rows, one by one, and walking. As the contract's "Seats" says it.

A table's edge is followed as a fine polyline, side by side, so that arcs, ellipses and straight lines are one thing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.outside.oracle.reading import (
    SEATED_M,
    STANDING_M,
    SWAY_M,
    Floats,
    Point,
    Room,
    Table,
    metres,
)

FINE = 20_000
"""Pieces in which a curved side is followed."""
SIDES = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}


@dataclass(frozen=True)
class Head:
    """One talker, or one stretch of somebody who walks. `way` is where the mouth may be, on plan."""

    id: str
    person: str
    posture: str
    at: Point
    mouth: tuple[float, float]
    sway: float
    way: tuple[Point, ...]

    @property
    def middle(self) -> Floats:
        """The mouth in the middle of its range."""
        return np.array([*self.at, sum(self.mouth) / 2])


@dataclass(frozen=True)
class Side:
    """One side of a table's edge as a polyline in the table's frame, anticlockwise; straight, an arc, or closed."""

    points: Floats
    straight: bool = True
    closed: bool = False


def heads_of(room: Room) -> list[Head]:
    """All heads of a room, in the order of the file: seats first."""
    heads: list[Head] = []
    for group in room.raw.get("seats", ()):
        heads += list(_seats(room, group))
    for one in room.raw.get("standing", ()):
        heads += list(_standing(room, one))
    return heads


def _person(room: Room, posture: str, own: Mapping[str, Any]) -> tuple[tuple[float, float], float]:
    people = room.raw.get("people", {}).get(posture, {})
    mouth = own.get("mouth", people.get("mouth", None))
    sway = own.get("sway", people.get("sway", None))
    usual = SEATED_M if posture == "seated" else STANDING_M
    if mouth is None:
        ends = (usual, usual)
    elif isinstance(mouth, list):
        ends = (metres(mouth[0], room.unit), metres(mouth[1], room.unit))
    else:
        ends = (metres(mouth, room.unit), metres(mouth, room.unit))
    return ends, SWAY_M if sway is None else metres(sway, room.unit)


def _seats(room: Room, group: Mapping[str, Any]) -> Iterator[Head]:
    if "around" in group:
        table = next(table for table in room.tables if table.id == group["around"])
        places = [(f"{table.id}-{n}", at) for n, at in enumerate(round_table(room, table, group), 1)]
    elif "rows" in group:
        places = list(_rows(room, group))
    else:
        places = [(group["id"], _at(room, group))]
    mouth, sway = _person(room, group.get("posture", "seated"), group)
    for id, at in places:
        yield Head(id, id, group.get("posture", "seated"), at, mouth, sway, (at,))
    if group.get("stands"):
        mouth, sway = _person(room, "standing", {})
        for id, at in places:
            yield Head(f"{id}-up", id, "standing", at, mouth, sway, (at,))


def _at(room: Room, one: Mapping[str, Any]) -> Point:
    return metres(one["at"][0], room.unit), metres(one["at"][1], room.unit)


def _rows(room: Room, group: Mapping[str, Any]) -> Iterator[tuple[str, Point]]:
    pitch = [metres(value, room.unit) for value in group["pitch"]]
    middle, turn = _at(room, group), group.get("turn", 0.0)
    for row in range(group["rows"]):
        for column in range(group["columns"]):
            own = np.array(
                [(column - (group["columns"] - 1) / 2) * pitch[0], (row - (group["rows"] - 1) / 2) * pitch[1]]
            )
            yield f"{group['id']}-{row + 1}-{column + 1}", turned(own, turn, middle)


def turned(own: Floats, turn: float, at: Point) -> Point:
    """A point of a thing's own frame in the room's."""
    a = math.radians(turn)
    x, y = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]]) @ own + at
    return float(x), float(y)


# Round a table -------------------------------------------------------------------------------------------


def round_table(room: Room, table: Table, group: Mapping[str, Any]) -> list[Point]:
    """Mouths round a table in their order, `gap` outwards from its edge."""
    gap = metres(group.get("gap", 0.25), "m" if "gap" not in group else room.unit)
    pitch = metres(group.get("pitch", 0.75), "m" if "pitch" not in group else room.unit)
    skipped = [SIDES[side] for side in group.get("skip", ())]
    places = []
    for side in edge(table):
        for point, outwards in _along(side, pitch):
            if not any(_faces(outwards, way) for way in skipped):
                places.append(point + gap * outwards)
    places.sort(
        key=lambda own: (round(math.degrees(math.atan2(own[1], own[0])) % 360, 6) % 360, np.hypot(*own))
    )
    return [turned(own, table.turn, table.at) for own in places]


def _faces(outwards: Floats, way: tuple[int, int]) -> bool:
    """Whether a side that looks `outwards` is the table's side of that name: the nearest of the four."""
    return (
        float(outwards @ np.array(way)) >= max(float(outwards @ np.array(w)) for w in SIDES.values()) - 1e-9
    )


def _along(side: Side, pitch: float) -> Iterator[tuple[Floats, Floats]]:
    """Points along a side, with the way outwards at each."""
    steps = np.hypot(*np.diff(side.points, axis=0).T)
    passed = np.concatenate([[0.0], np.cumsum(steps)])
    length = float(passed[-1])
    count = math.floor(length / pitch + 1e-9)
    if side.closed:
        wanted = [length * k / count for k in range(count)]
    elif side.straight:
        wanted = [length / 2 + (k - (count - 1) / 2) * pitch for k in range(count)]
    else:
        wanted = [length * (k + 0.5) / count for k in range(count)]
    for way in wanted:
        i = min(int(np.searchsorted(passed, way, side="right")) - 1, len(steps) - 1)
        share = (way - passed[i]) / steps[i]
        yield side.points[i] + share * (side.points[i + 1] - side.points[i]), _outwards(side, i, share)


def _outwards(side: Side, i: int, share: float) -> Floats:
    """The unit normal to the right of the way, between those of the pieces' own ends."""
    if side.straight:
        return _right_of(side.points[i + 1] - side.points[i])
    ends = [_normal_at(side, k) for k in (i, i + 1)]
    mixed = (1 - share) * ends[0] + share * ends[1]
    return np.asarray(mixed / np.hypot(*mixed))


def _normal_at(side: Side, k: int) -> Floats:
    count = len(side.points) - 1
    before, after = (
        (k - 1) % count if side.closed else max(k - 1, 0),
        (k + 1) % count if side.closed else min(k + 1, count),
    )
    return _right_of(side.points[after] - side.points[before])


def _right_of(way: Floats) -> Floats:
    return np.asarray(np.array([way[1], -way[0]]) / np.hypot(*way))


def edge(table: Table) -> list[Side]:
    """The sides of a table in its own frame, anticlockwise."""
    if table.shape == "round":
        return [_ellipse(table.size[0] / 2, table.size[0] / 2)]
    x, y = table.size[0] / 2, table.size[1] / 2
    if table.shape == "oval":
        return [_ellipse(x, y)]
    if table.shape == "racetrack":
        return _racetrack(x, y)
    if table.shape == "boat":
        return _boat(x, y, (0.7 * 2 * y if table.ends is None else table.ends) / 2)
    narrow = y
    if table.shape == "trapezoid":
        narrow = (0.6 * 2 * y if table.narrow is None else table.narrow) / 2
    corners = np.array([(-x, -y), (x, -narrow), (x, narrow), (-x, y), (-x, -y)], float)
    return [Side(corners[k : k + 2]) for k in range(4)]


def outline(table: Table) -> list[Point]:
    """A table's outline in the room's frame."""
    if table.outline:
        return list(table.outline)
    points: list[Point] = []
    for side in edge(table):
        thinned = side.points[:-1] if side.straight else side.points[: -1 : FINE // 500]
        points += [turned(own, table.turn, table.at) for own in thinned]
    return points


def _ellipse(a: float, b: float) -> Side:
    t = np.linspace(0, 2 * math.pi, FINE + 1)
    return Side(np.column_stack([a * np.cos(t), b * np.sin(t)]), straight=False, closed=True)


def _arc(middle: Point, radius: float, start: float, sweep: float) -> Side:
    t = np.linspace(start, start + sweep, FINE + 1)
    return Side(
        np.column_stack([middle[0] + radius * np.cos(t), middle[1] + radius * np.sin(t)]), straight=False
    )


def _line(a: Point, b: Point) -> Side:
    return Side(np.array([a, b], float))


def _racetrack(x: float, y: float) -> list[Side]:
    """Half-circle ends across the shorter side."""
    if x >= y:
        run = x - y
        return [
            _line((-run, -y), (run, -y)),
            _arc((run, 0), y, -math.pi / 2, math.pi),
            _line((run, y), (-run, y)),
            _arc((-run, 0), y, math.pi / 2, math.pi),
        ]
    run = y - x
    return [
        _line((x, -run), (x, run)),
        _arc((0, run), x, 0, math.pi),
        _line((-x, run), (-x, -run)),
        _arc((0, -run), x, math.pi, math.pi),
    ]


def _boat(x: float, y: float, end: float) -> list[Side]:
    """Straight ends; the sides are arcs through the full width at the middle."""
    rise = y - end
    radius = (x * x + rise * rise) / (2 * rise)
    half = math.atan2(x, radius - rise)
    return [
        _line((x, -end), (x, end)),
        _arc((0, y - radius), radius, math.pi / 2 - half, 2 * half),
        _line((-x, end), (-x, -end)),
        _arc((0, radius - y), radius, 1.5 * math.pi - half, 2 * half),
    ]


# Who walks -----------------------------------------------------------------------------------------------


def _standing(room: Room, one: Mapping[str, Any]) -> Iterator[Head]:
    posture = one.get("posture", "standing")
    mouth, sway = _person(room, posture, one)
    if "along" not in one:
        at = _at(room, one)
        yield Head(one["id"], one["id"], posture, at, mouth, sway, (at,))
        return
    way = np.array([[metres(x, room.unit), metres(y, room.unit)] for x, y in one["along"]])
    passed = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    total = float(passed[-1])
    pieces = max(math.ceil(total / metres(one["step"], room.unit) - 1e-9), 1)
    for n in range(pieces + 1):
        here = total * n / pieces
        low, high = max(here - total / pieces / 2, 0.0), min(here + total / pieces / 2, total)
        between = [tuple(way[k]) for k in range(len(way)) if low < passed[k] < high]
        stretch = (on_way(way, passed, low), *between, on_way(way, passed, high))
        yield Head(
            f"{one['id']}-{n + 1}", one["id"], posture, on_way(way, passed, here), mouth, sway, stretch
        )


def on_way(way: Floats, passed: NDArray[np.float64], distance: float) -> Point:
    """The point at a distance along a way of corners."""
    return float(np.interp(distance, passed, way[:, 0])), float(np.interp(distance, passed, way[:, 1]))
