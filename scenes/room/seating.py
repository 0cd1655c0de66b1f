"""Table outlines and the seats around them.

A table's edge is a chain of sides, each a straight line or an arc. Seats stand on the outline's
offset: `gap` outwards from the edge, evenly along each side, none at a corner. On a straight side
n = floor(length / pitch + 1e-9) seats stand at `pitch`, centred; on an arc n is found the same way
and the seats divide it into equal arcs, each in the middle of its own; on a full circle the first is
at +x. With a count instead of a pitch the sides get shares by their length (largest remainders, ties
in the order of the sides) and the seats of a side divide it equally.

Order and ids: by angle about the table's middle, in the table's own frame, from +x anticlockwise.
"""

from __future__ import annotations

import math
from itertools import accumulate, pairwise

from geometry.records import record
from geometry.shapes import Point2

CHORD_ERROR_M = 0.001
"""Arcs are drawn with chords that leave them by at most this much."""

SIDES = ("+x", "-x", "+y", "-y")


@record(frozen=True, slots=True)
class Seat:
    """Where a mouth is on plan, the direction it faces (towards the edge), and its side of the table."""

    at_m: Point2
    facing_deg: float
    side: str


@record(frozen=True, slots=True)
class Side:
    """One side of a table's edge in the table's frame, run anticlockwise about the table.

    Straight: from `start` to `end`. Arc: about `centre` with `radius`, from angle `start_rad` through
    `sweep_rad` (positive: anticlockwise, the outside is away from the centre).
    """

    start: Point2
    end: Point2
    centre: Point2 | None = None
    radius: float = 0.0
    start_rad: float = 0.0
    sweep_rad: float = 0.0

    @property
    def length(self) -> float:
        """Length along the edge, metres."""
        if self.centre is None:
            return math.dist(self.start, self.end)
        return self.radius * abs(self.sweep_rad)

    @property
    def closed(self) -> bool:
        """Whether this one side is the whole edge."""
        return self.centre is not None and abs(self.sweep_rad) >= 2 * math.pi - 1e-12

    def point(self, along: float) -> tuple[Point2, Point2]:
        """The point `along` (0 to 1) the side, and the outward unit normal there."""
        if self.centre is None:
            (ax, ay), (bx, by) = self.start, self.end
            length = math.dist(self.start, self.end)
            return (ax + (bx - ax) * along, ay + (by - ay) * along), ((by - ay) / length, -(bx - ax) / length)
        angle = self.start_rad + self.sweep_rad * along
        away = (math.cos(angle), math.sin(angle))
        return (self.centre[0] + self.radius * away[0], self.centre[1] + self.radius * away[1]), away

    def chords(self) -> list[Point2]:
        """Points along the side without its last one, close enough for CHORD_ERROR_M."""
        if self.centre is None:
            return [self.start]
        step = 2 * math.acos(max(1 - CHORD_ERROR_M / self.radius, 0.0))
        count = max(math.ceil(abs(self.sweep_rad) / step), 8)
        return [self.point(i / count)[0] for i in range(count)]


def _polygon_sides(corners: list[Point2]) -> list[Side]:
    return [Side(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def _arc(centre: Point2, radius: float, start_rad: float, sweep_rad: float) -> Side:
    def point(angle: float) -> Point2:
        return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)

    return Side(point(start_rad), point(start_rad + sweep_rad), centre, radius, start_rad, sweep_rad)


def table_sides(
    shape: str,
    size: tuple[float, ...],
    *,
    ends: float | None = None,
    narrow: float | None = None,
) -> list[Side]:
    """The sides of a table in its own frame (middle at the origin), anticlockwise.

    rectangle; round (size has the diameter alone); racetrack (half circles across the shorter side);
    boat (straight ends of width `ends`, default 0.7 of the width; sides are arcs through the full
    width at the middle); trapezoid (`narrow`, default 0.6 of the width, is the side at +x).
    ValueError for another shape.
    """
    if shape == "round":
        return [_arc((0.0, 0.0), size[0] / 2, 0.0, 2 * math.pi)]
    x, y = size[0] / 2, size[1] / 2
    if shape == "rectangle" or (shape == "boat" and ends == size[1]):
        return _polygon_sides([(-x, -y), (x, -y), (x, y), (-x, y)])
    if shape == "racetrack":
        if x == y:
            return table_sides("round", (size[0],))
        if x > y:
            run = x - y
            return [
                Side((-run, -y), (run, -y)),
                _arc((run, 0.0), y, -math.pi / 2, math.pi),
                Side((run, y), (-run, y)),
                _arc((-run, 0.0), y, math.pi / 2, math.pi),
            ]
        run = y - x
        return [
            Side((x, -run), (x, run)),
            _arc((0.0, run), x, 0.0, math.pi),
            Side((-x, run), (-x, -run)),
            _arc((0.0, -run), x, math.pi, math.pi),
        ]
    if shape == "boat":
        half_end = (0.7 * size[1] if ends is None else ends) / 2
        rise = y - half_end
        radius = (x * x + rise * rise) / (2 * rise)
        half_sweep = math.asin(min(x / radius, 1.0))
        if rise > x:
            half_sweep = math.pi - half_sweep
        return [
            Side((x, -half_end), (x, half_end)),
            _arc((0.0, y - radius), radius, math.pi / 2 - half_sweep, 2 * half_sweep),
            Side((-x, half_end), (-x, -half_end)),
            _arc((0.0, radius - y), radius, 1.5 * math.pi - half_sweep, 2 * half_sweep),
        ]
    if shape == "trapezoid":
        half_narrow = (0.6 * size[1] if narrow is None else narrow) / 2
        return _polygon_sides([(-x, -y), (x, -half_narrow), (x, half_narrow), (-x, y)])
    raise ValueError(
        f"table shape is {shape!r}; allowed: rectangle, round, racetrack, boat, trapezoid, polygon"
    )


def polygon_sides(outline: list[Point2]) -> tuple[list[Side], Point2]:
    """The sides of a polygon table about its centroid, anticlockwise, and that centroid (room frame)."""
    following = outline[1:] + outline[:1]
    crosses = [a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, following, strict=True)]
    doubled = sum(crosses)
    middle = (
        sum((a[0] + b[0]) * c for a, b, c in zip(outline, following, crosses, strict=True)) / (3 * doubled),
        sum((a[1] + b[1]) * c for a, b, c in zip(outline, following, crosses, strict=True)) / (3 * doubled),
    )
    corners = [(x - middle[0], y - middle[1]) for x, y in outline]
    return _polygon_sides(corners if doubled > 0 else corners[::-1]), middle


def into_room(point: Point2, at: Point2, turn_deg: float) -> Point2:
    """A point of a thing's own frame, turned and moved into the room's."""
    turn = math.radians(turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    return at[0] + c * point[0] - s * point[1], at[1] + s * point[0] + c * point[1]


def outline(sides: list[Side], at: Point2, turn_deg: float) -> tuple[Point2, ...]:
    """The outline of a table in the room's frame, anticlockwise."""
    return tuple(into_room(point, at, turn_deg) for side in sides for point in side.chords())


def _side_name(normal: Point2) -> str:
    if abs(normal[0]) >= abs(normal[1]) - 1e-12:
        return "+x" if normal[0] > 0 else "-x"
    return "+y" if normal[1] > 0 else "-y"


def _edge_distance(point: Point2, sides: list[Side]) -> float:
    corners = [p for side in sides for p in side.chords()]
    least = math.inf
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        ux, uy = bx - ax, by - ay
        along = ((point[0] - ax) * ux + (point[1] - ay) * uy) / (ux * ux + uy * uy)
        along = min(max(along, 0.0), 1.0)
        least = min(least, math.hypot(ax + along * ux - point[0], ay + along * uy - point[1]))
    return least


def _spots(side: Side, count: int, pitch: float | None) -> list[float]:
    if side.closed:
        return [i / count for i in range(count)]
    if side.centre is None and pitch is not None:
        return [0.5 + (i - (count - 1) / 2) * pitch / side.length for i in range(count)]
    return [(i + 0.5) / count for i in range(count)]


def _shares(lengths: list[float], count: int) -> list[int]:
    """`count` seats shared by length, largest remainders first, ties in order."""
    total = sum(lengths)
    exact = [count * length / total for length in lengths]
    shares = [math.floor(share + 1e-9) for share in exact]
    by_remainder = sorted(range(len(lengths)), key=lambda i: (-round(exact[i] - shares[i], 9), i))
    for i in by_remainder[: count - sum(shares)]:
        shares[i] += 1
    return shares


def seats_around(
    sides: list[Side],
    at: Point2,
    turn_deg: float,
    *,
    gap_m: float,
    pitch_m: float | None = None,
    count: int | None = None,
    skip: tuple[str, ...] = (),
) -> list[Seat]:
    """Seats round a table, in order of angle about its middle in its own frame from +x anticlockwise.

    Exactly one of `pitch_m` and `count`. `skip` leaves out sides by the direction their outside
    looks in (on a curve: the quarter about it). A seat of a hollow (concave) side that would come
    nearer to the table than `gap_m` is left out.
    """
    if (pitch_m is None) == (count is None):
        raise ValueError("seats_around takes exactly one of pitch_m and count")
    if count is not None and any(side.closed for side in sides):
        # on a full circle sides are quarters: the fewest seats all round that leave `count` after the skip
        for all_round in range(count, 8 * count + 8):
            seats = _stand(sides, [all_round], None, gap_m, skip)
            if len(seats) >= count:
                break
    elif count is not None:
        kept = [
            side for side in sides if side.centre is not None or _side_name(side.point(0.5)[1]) not in skip
        ]
        shares = _shares([side.length for side in kept], count)
        seats = _stand(kept, shares, None, gap_m, skip)
    else:
        assert pitch_m is not None
        counts = [math.floor(side.length / pitch_m + 1e-9) for side in sides]
        seats = _stand(sides, counts, pitch_m, gap_m, skip)
    if gap_m > 0:
        seats = [s for s in seats if _edge_distance(s[0], sides) >= gap_m - 2 * CHORD_ERROR_M]
    seats.sort(
        key=lambda s: (round(math.degrees(math.atan2(s[0][1], s[0][0])) % 360, 9) % 360, math.hypot(*s[0]))
    )
    return [
        Seat(
            into_room(point, at, turn_deg),
            (math.degrees(math.atan2(-normal[1], -normal[0])) + turn_deg) % 360,
            _side_name(normal),
        )
        for point, normal in seats
    ]


def _stand(
    sides: list[Side], counts: list[int], pitch: float | None, gap: float, skip: tuple[str, ...]
) -> list[tuple[Point2, Point2]]:
    stands = []
    for side, number in zip(sides, counts, strict=True):
        for along in _spots(side, number, pitch):
            point, normal = side.point(along)
            if _side_name(normal) not in skip:
                stands.append(((point[0] + gap * normal[0], point[1] + gap * normal[1]), normal))
    return stands


def along_line(points: list[Point2], step_m: float) -> tuple[list[Point2], list[float], float]:
    """Points on a line at equal spacing of at most `step_m`, both ends included; their distances; the length."""
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    total = sum(lengths)
    count = max(math.ceil(total / step_m - 1e-9), 1)
    distances = [total * i / count for i in range(count + 1)]
    return [point_along(points, d) for d in distances], distances, total


def stretch_along(points: list[Point2], low: float, high: float) -> tuple[Point2, ...]:
    """The part of a line of points between two distances along it: its ends and the corners between them."""
    passed = accumulate(math.dist(a, b) for a, b in pairwise(points))
    corners = [corner for corner, at in zip(points[1:], passed, strict=True) if low < at < high]
    stretch = [point_along(points, low), *corners, point_along(points, high)]
    return tuple(
        point for point, before in zip(stretch, [None, *stretch[:-1]], strict=True) if point != before
    )


def point_along(points: list[Point2], distance: float) -> Point2:
    """The point at a distance along a line of points, held at its ends."""
    for a, b in pairwise(points):
        length = math.dist(a, b)
        if distance <= length and length > 0:
            share = max(distance, 0.0) / length
            return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
        distance -= length
    return points[-1]
