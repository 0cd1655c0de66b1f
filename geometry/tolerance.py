"""How far an array may move from where it hangs before the first head is lost, or before anything fails.

The least margin is the room in every direction at once. Along one direction there is often more, and
it is exact: each of the four edges of a head's band, moved in by what the head must keep, is crossed
where a quadratic is zero, and between two neighbouring crossings nothing changes sign. Of a way walked
that holds for both ends, and for its nearest point while that lies between them.

A constraint is any function that changes by at most one metre per metre, so along a ray its own value
is a step that cannot jump over its end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from geometry.band import ON_EDGE_M, Band, Floats, least_edge
from geometry.constraint import Constraint, Key
from geometry.coverage import Heads
from geometry.off_by import tilt_m
from geometry.records import record

DIRECTIONS: dict[str, tuple[float, float, float]] = {
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
STEP_M = 1e-6
"""How exact a constraint's end is found along a ray."""
GRAZE_M = 1e-3
"""Where a constraint holds by less than this the ray is walked in steps of this length instead."""
WALK_M = 0.05
"""Many places of a ray are asked at once, this far apart, or as far as the constraint holds where it holds by more."""
AT_ONCE = 24
"""So many of them."""
CUTS = (2**5, 2**6)
"""A millimetre in which a constraint fails is cut into so many parts, and the one where it begins to again."""
FARTHEST_M = 50.0
"""Nothing in a room is farther: a constraint that holds this far along a ray never fails there."""


@record(frozen=True, slots=True)
class RoomToMove:
    """How far one way, metres: before a head is lost, and before a constraint fails, each with its culprit.

    A distance is inf, and its culprit None, where nothing ends it; 0 where it fails already.
    """

    direction: str
    distance_m: float
    head: int | None
    clear_distance_m: float
    constraint: Key | None


def room_to_move(
    at_m: ArrayLike, band: Band, heads: Heads, constraints: Sequence[Constraint] = ()
) -> tuple[RoomToMove, ...]:
    """The room along +x, -x, +y, -y, up and down, for the acoustic centre (3,).

    Before the first covered head is lost (margin < 0; heads that are not covered where it hangs do not
    count) and before the first constraint fails (those that fail already end it at 0).
    """
    at = np.asarray(at_m, float).reshape(3)
    rooms = []
    for name, direction in DIRECTIONS.items():
        distance, head = distance_to_loss(at, direction, band, heads)
        clear, constraint = distance_to_constraint(at, direction, constraints)
        rooms.append(RoomToMove(name, distance, head, clear, constraint))
    return tuple(rooms)


def distance_to_loss(
    at_m: ArrayLike, direction: ArrayLike, band: Band, heads: Heads
) -> tuple[float, int | None]:
    """How far the acoustic centre may move along a unit direction (3,) before a head is lost, and which.

    Exact: the crossings of every edge are roots of quadratics. (inf, None) where nobody is ever lost or
    nobody is covered to begin with.
    """
    at, way = np.asarray(at_m, float).reshape(3), np.asarray(direction, float).reshape(3)
    points, demand, whose = heads.deciding(at)
    away = points - at
    margins = least_edge(band, np.hypot(away[:, 0], away[:, 1]), -away[:, 2]) - demand
    covered = np.ones(len(heads), np.bool_)
    np.logical_and.at(covered, whose, margins >= -ON_EDGE_M)
    least, lost = math.inf, None
    for i in np.flatnonzero(covered[whose]):
        distance = _first_crossing(away[i], way, band, float(demand[i]))
        if distance < least:
            least, lost = distance, int(whose[i])
    legs = heads.legs()
    for i in np.flatnonzero(covered[legs.head]):
        start, end = (np.array([*xy[i], legs.z_m[i]]) - at for xy in (legs.from_m, legs.to_m))
        distance = _first_crossing_of_leg(start, end, way, band, float(legs.keep_m[i]))
        if distance < least:
            least, lost = distance, int(legs.head[i])
    return least, lost


def _first_crossing(away: Floats, way: Floats, band: Band, demand: float) -> float:
    """Distance along `way` at which one mouth's margin turns negative; inf if never."""
    ax, ay, az = (float(number) for number in away)
    wx, wy, wz = (float(number) for number in way)
    square = (wx * wx + wy * wy, -2 * (ax * wx + ay * wy), ax * ax + ay * ay)
    return _first_failing(square, (wz, -az), band, demand)


def _first_crossing_of_leg(start: Floats, end: Floats, way: Floats, band: Band, demand: float) -> float:
    """Distance along `way` at which a leg is lost between its ends; inf if never.

    Its nearest point lies between the ends for one stretch of the ray, and there the range to it is the
    distance to the leg's line.
    """
    along = end[:2] - start[:2]
    length = math.hypot(*along)
    ux, uy = (float(number) for number in along / length)
    sx, sy, sz = (float(number) for number in start)
    wx, wy, wz = (float(number) for number in way)
    # how far from the start the nearest point of the line is: passed + pace s
    passed, pace = -(sx * ux + sy * uy), wx * ux + wy * uy
    if pace:
        begin, stop = sorted((-passed / pace, (length - passed) / pace))
    else:
        begin, stop = (0.0, math.inf) if 0 < passed < length else (0.0, 0.0)
    aside, drift = ux * sy - uy * sx, ux * wy - uy * wx
    square = (drift * drift, -2 * aside * drift, aside * aside)
    return _first_failing(square, (wz, -sz), band, demand, max(begin, 0.0), stop)


def _first_failing(
    square: tuple[float, float, float],
    drop: tuple[float, float],
    band: Band,
    demand: float,
    begin: float = 0.0,
    stop: float = math.inf,
) -> float:
    """The first s from `begin` to `stop` at which the margin turns negative; inf if none.

    ρ² = p s² + q s + c of `square`, t = wz s + t0 of `drop`. r = near + w and r = far - w
    are quadratics; t cos low - ρ sin low = w squares to (t cos low - w)² = ρ² sin² low, likewise high.
    Squaring may add roots that cross nothing: signs are looked at between neighbours, so they do no harm.
    """
    if begin >= stop:
        return math.inf
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    (p, q, c), (wz, t0) = square, drop
    roots: list[float] = []
    for r in (band.near_m + demand, band.far_m - demand):
        roots += _roots(p + wz * wz, q + 2 * t0 * wz, c + t0 * t0 - r * r)
    for cos, sin, w in ((cos_low, sin_low, demand), (cos_high, sin_high, -demand)):
        k = t0 * cos - w
        roots += _roots(
            cos * cos * wz * wz - sin * sin * p, 2 * k * cos * wz - sin * sin * q, k * k - sin * sin * c
        )
    stops = [begin, *sorted(root for root in roots if begin < root < stop)]
    for here, following in zip(stops, [*stops[1:], min(stops[-1] + 2.0, stop)], strict=True):
        # a double root splits nothing: no need to look between the two
        if following - here < 1e-12:
            continue
        s = (here + following) / 2
        rho = math.sqrt(max(p * s * s + q * s + c, 0.0))
        if float(least_edge(band, rho, t0 + wz * s)) - demand < -1e-13:
            return here
    return math.inf


def _roots(a: float, b: float, c: float) -> list[float]:
    """The real roots of a s² + b s + c, without the cancellation of the school formula."""
    if abs(a) < 1e-15:
        return [] if abs(b) < 1e-15 else [-c / b]
    inside = b * b - 4 * a * c
    if inside < 0:
        return []
    half = -(b + math.copysign(math.sqrt(inside), b)) / 2
    return [half / a] if half == 0 else [half / a, c / half]


def distance_to_constraint(
    at_m: ArrayLike, direction: ArrayLike, constraints: Sequence[Constraint]
) -> tuple[float, Key | None]:
    """How far the acoustic centre may move along a unit direction before a constraint fails, and which.

    To 1 µm, by steps as long as the constraint's own value, which cannot jump over its end. Along a
    surface, where that value is next to nothing, the steps are 1 mm and a dip shorter than that (less
    than half as deep) is not seen. (inf, None) where none fails within 50 m.
    """
    at, way = np.asarray(at_m, float).reshape(3), np.asarray(direction, float).reshape(3)
    least, ended = math.inf, None
    for constraint in constraints:
        distance = _constraint_end(at, way, constraint, min(FARTHEST_M, least))
        if distance < least:
            least, ended = distance, constraint.key
    return least, ended


def _constraint_end(at: Floats, way: Floats, constraint: Constraint, farthest: float) -> float:
    """Distance along the ray at which the constraint fails by more than STEP_M; inf up to `farthest`."""

    def values(gone: Floats) -> Floats:
        return constraint.signed_m(at + gone[:, None] * way)

    value = float(values(np.zeros(1))[0])
    if value < -STEP_M:
        return 0.0
    gone = 0.0
    while gone < farthest:
        if value > GRAZE_M:
            gone, value = _walked(values, gone, value, farthest)
            continue
        ahead = gone + GRAZE_M * np.arange(1.0, 1001.0)
        found = values(ahead)
        stop = np.flatnonzero((found < -STEP_M) | (found > GRAZE_M))
        last = int(stop[0]) if len(stop) else len(ahead) - 1
        gone, value = float(ahead[last]), float(found[last])
        if value < -STEP_M:
            return max(_where_it_fails(values, gone - GRAZE_M), 0.0)
    return math.inf


def _walked(
    values: Callable[[Floats], Floats], gone: float, value: float, farthest: float
) -> tuple[float, float]:
    """On along the ray to the farthest place up to which the constraint is sure to hold, and what it has there."""
    step = max(value, WALK_M)
    count = min(AT_ONCE, max(math.ceil((farthest - gone) / step), 1))
    ahead = gone + step * np.arange(1, count + 1)
    found = values(np.asarray(ahead, float))
    # between two places it has at least half of what their values exceed the way by
    sure = np.concatenate([[value], found[:-1]]) + found > step
    doubt = np.flatnonzero(~sure)
    reached = int(doubt[0]) if len(doubt) else count
    if reached:
        return float(ahead[reached - 1]), float(found[reached - 1])
    gone += value
    return gone, float(values(np.array([gone]))[0])


def _where_it_fails(values: Callable[[Floats], Floats], holds: float) -> float:
    """The last place of the next GRAZE_M that holds, before the first that does not."""
    part = GRAZE_M
    for cuts in CUTS:
        part /= cuts
        failing = np.flatnonzero(values(np.asarray(holds + part * np.arange(1, cuts), float)) < -STEP_M / 2)
        holds += part * (int(failing[0]) if len(failing) else cuts - 1)
    return holds


def left_after_tilt_m(margin_m: float, band: Band, tilt_deg: float) -> float:
    """What is left of a margin when the array hangs out of true by `tilt_deg`, metres.

    A tilt of ε turns the solid about the acoustic centre, so no point of it moves by more than the
    chord 2·far·sin(ε/2), and the margin shrinks by at most that. Negative: it may not be enough.
    """
    return margin_m - tilt_m(band, tilt_deg)
