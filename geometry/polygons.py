"""Plan polygons in a few lines: nothing heavier need be loaded to refuse a file."""

from __future__ import annotations

import math
from collections.abc import Sequence

Corners = Sequence[tuple[float, float]]


TOUCHING_M = 1e-9  # what lies this near to a limit lies on it
CHORD_M = 1e-3  # a polygon about a circle is nowhere farther from it


# Plan polygons, in a few lines: nothing heavier need be loaded to refuse a file.


def inside(point: tuple[float, float], corners: Corners) -> bool:
    """Whether a plan point lies in a simple polygon or within a nanometre of its edge. Metres."""
    x, y = point
    within = False
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        length = math.hypot(bx - ax, by - ay)
        along = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length if length else 0.0
        near = min(max(along / length, 0.0), 1.0) if length else 0.0
        if math.hypot(ax + near * (bx - ax) - x, ay + near * (by - ay) - y) <= TOUCHING_M:
            return True
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            within = not within
    return within


def area(corners: Corners) -> float:
    """Signed area of a plan polygon, square metres, positive anticlockwise."""
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return 0.5 * sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs)


def turned_rectangle(
    at_m: tuple[float, float], size_m: tuple[float, float], turn_deg: float
) -> tuple[tuple[float, float], ...]:
    """The corners of a rectangle about a place, metres, anticlockwise from the one at -x -y before the turn."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x, y = size_m[0] / 2, size_m[1] / 2
    return tuple(
        (at_m[0] + c * u - s * v, at_m[1] + s * u + c * v) for u, v in ((-x, -y), (x, -y), (x, y), (-x, y))
    )


def circle_about(at_m: tuple[float, float], radius_m: float) -> tuple[tuple[float, float], ...]:
    """The corners of a polygon around a circle and nowhere more than CHORD_M outside it, metres, anticlockwise."""
    sides = max(8, math.ceil(math.pi / math.acos(radius_m / (radius_m + CHORD_M))))
    out = radius_m / math.cos(math.pi / sides)
    turns = [2 * math.pi * k / sides for k in range(sides)]
    return tuple((at_m[0] + out * math.cos(turn), at_m[1] + out * math.sin(turn)) for turn in turns)


def crossing(corners: Corners) -> tuple[int, int] | None:
    """Two edges, by the index of their first corner, that touch or cross without being neighbours; None if
    none do.

    Neighbours count when one folds back along the other.
    """
    n = len(corners)
    edges = [(corners[i], corners[(i + 1) % n]) for i in range(n)]
    # A sweep along the axis on which the edges are short, so that few of them stand side by side.
    k = min((0, 1), key=lambda axis: sum(abs(a[axis] - b[axis]) for a, b in edges))
    spans = [
        (min(a[k], b[k]), max(a[k], b[k]), min(a[1 - k], b[1 - k]), max(a[1 - k], b[1 - k])) for a, b in edges
    ]
    active: list[int] = []
    for i in sorted(range(n), key=lambda i: spans[i][0]):
        start, _, low, high = spans[i]
        active = [j for j in active if spans[j][1] >= start]
        for j in active:
            if spans[j][3] < low or spans[j][2] > high:
                continue
            first, second = min(i, j), max(i, j)
            if second - first == 1 or (first == 0 and second == n - 1):
                if _folds_back(corners, second if second - first == 1 else 0):
                    return first, second
            elif _touch(edges[i], edges[j]):
                return first, second
        active.append(i)
    return None


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _touch(one: Corners, other: Corners) -> bool:
    (a, b), (c, d) = one, other
    abc, abd, cda, cdb = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if ((abc > 0) != (abd > 0) and abc and abd) and ((cda > 0) != (cdb > 0) and cda and cdb):
        return True
    return any(
        turn == 0 and all(min(p[k], q[k]) <= r[k] <= max(p[k], q[k]) for k in (0, 1))
        for turn, p, q, r in ((abc, a, b, c), (abd, a, b, d), (cda, c, d, a), (cdb, c, d, b))
    )


def _folds_back(corners: Corners, at: int) -> bool:
    a, b, c = corners[at - 1], corners[at], corners[(at + 1) % len(corners)]
    return _turn(a, b, c) == 0 and (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < 0
