"""The elevation band and the exact signed distance of a mouth to its surface.

A band is what lies between two depression angles and two slant distances, swept 360° about the
vertical through the acoustic centre: a hollow cone whose ends are pieces of spheres. With ρ the
horizontal range, t the drop from the acoustic centre to the mouth (positive downwards) and
r = √(ρ² + t²) a mouth is inside exactly when four plain numbers are all at least zero:

    near edge   r − near
    far edge    far − r
    low edge    t cos low − ρ sin low       (negative: the mouth is too shallow)
    high edge   ρ sin high − t cos high     (negative: the mouth is too steep; none if high is 90°)

Each is a signed distance to one surface, so inside the band the least of the four *is* the distance
to the surface of the solid (the slack), and everywhere it is an upper bound of slack that changes
by at most one metre per metre of movement.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.records import record

Floats = NDArray[np.float64]

ON_EDGE_M = 1e-9
"""A number this little below zero still counts as on the edge: rounding, not a missed talker."""

BLOCK = 1 << 15
"""Pairs worked on at once: a quarter of a megabyte an array, so that the scratch stays in cache."""

BALANCE_STEPS = 14
"""Halvings in `balanced_heights`: a room's height to a few tenths of a millimetre."""

COLUMNS = 1 << 12
"""Longest row of a block: rows this long are worked through at full speed, longer ones gain nothing."""


@record(frozen=True, slots=True)
class Band:
    """An elevation band with its reach, checked at birth.

    `low_deg` and `high_deg` are depression angles, 0 level and 90 straight down; `near_m` and
    `far_m` are slant distances from the acoustic centre.
    """

    low_deg: float
    high_deg: float
    near_m: float
    far_m: float

    def __post_init__(self) -> None:
        for name in ("low_deg", "high_deg", "near_m", "far_m"):
            if not math.isfinite(getattr(self, name)):
                raise ValueError(f"Band {name} is {getattr(self, name)}; it must be a finite number")
        if not 0 <= self.low_deg < self.high_deg <= 90:
            raise ValueError(
                f"Band is {self.low_deg} to {self.high_deg} degrees; allowed is 0 <= low < high <= 90"
            )
        if not 0 <= self.near_m < self.far_m:
            raise ValueError(f"Band reach is {self.near_m} to {self.far_m} m; allowed is 0 <= near < far")

    @property
    def middle_deg(self) -> float:
        """The depression in the middle of the band."""
        return (self.low_deg + self.high_deg) / 2

    @property
    def largest_ball_m(self) -> float:
        """Radius of the largest ball the solid holds: no slack can be larger.

        The smaller of half the depth of the reach and the ball that touches the far sphere and both
        cones, far·s/(1 + s) with s the sine of half the band (cos low where the band reaches 90°,
        since the axis is inside the solid there).
        """
        low, high = math.radians(self.low_deg), math.radians(self.high_deg)
        s = math.cos(low) if self.high_deg == 90 else math.sin((high - low) / 2)
        return min((self.far_m - self.near_m) / 2, self.far_m * s / (1 + s))

    @property
    def edge_sines(self) -> tuple[float, float, float, float]:
        """cos low, sin low, sin high, cos high (cos 90° is exactly 0)."""
        low, high = math.radians(self.low_deg), math.radians(self.high_deg)
        return (
            math.cos(low),
            math.sin(low),
            1.0 if self.high_deg == 90 else math.sin(high),
            0.0 if self.high_deg == 90 else math.cos(high),
        )


def range_and_drop(positions: ArrayLike, mouths: ArrayLike) -> tuple[Floats, Floats]:
    """Horizontal range and drop (positive downwards) from acoustic centres to mouths, metres.

    `positions` and `mouths` are (..., 3) and broadcast against each other; both results have the
    broadcast shape without its last axis.
    """
    away = np.asarray(mouths, float) - np.asarray(positions, float)
    return np.hypot(away[..., 0], away[..., 1]), -away[..., 2]


def depression_deg(positions: ArrayLike, mouths: ArrayLike) -> Floats:
    """Depression of mouths seen from acoustic centres, degrees: 0 level, 90 straight down.

    atan2(drop, horizontal range); negative for a mouth above the array. Shapes as in
    `range_and_drop`. Where mouth and centre coincide the result is 0.
    """
    rho, t = range_and_drop(positions, mouths)
    return np.degrees(np.arctan2(t, rho))


def slant_m(positions: ArrayLike, mouths: ArrayLike) -> Floats:
    """Straight-line distance from acoustic centres to mouths, metres. Shapes as in `range_and_drop`."""
    rho, t = range_and_drop(positions, mouths)
    return np.hypot(rho, t)


def edges(band: Band, rho: ArrayLike, t: ArrayLike) -> tuple[Floats, Floats, Floats, Floats]:
    """Signed distances to the near, far, low and high edges, metres, positive inside.

    `rho` (horizontal range) and `t` (drop) are of one shape or broadcast. A band that reaches 90°
    has no high edge: infinity there.
    """
    rho, t = np.asarray(rho, float), np.asarray(t, float)
    r = np.hypot(rho, t)
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    high = np.full_like(r, np.inf) if band.high_deg == 90 else rho * sin_high - t * cos_high
    return r - band.near_m, band.far_m - r, t * cos_low - rho * sin_low, high


def least_edge(band: Band, rho: ArrayLike, t: ArrayLike) -> Floats:
    """The least of the four edge numbers, metres: exact slack where it is >= 0, else an upper bound of it.

    It changes by at most 1 m per metre of movement, so it bounds whole cells of positions.
    """
    near, far, low, high = edges(band, rho, t)
    return np.minimum(np.minimum(near, far), np.minimum(low, high))


def slack(band: Band, rho: ArrayLike, t: ArrayLike) -> Floats:
    """Exact signed distance to the surface of the band's solid, metres, positive inside.

    Where the depression is inside the band the least of the four is exact, in reach or not. Where it
    is outside, with g the violated edge's number and u the foot along that edge, it is
    -hypot(g, max(near - u, u - far, 0)): the distance to the nearest point of that edge.
    """
    rho, t = np.asarray(rho, float), np.asarray(t, float)
    near, far, low, high = edges(band, rho, t)
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    inside = np.minimum(np.minimum(near, far), np.minimum(low, high))
    too_shallow = low < 0
    g = np.where(too_shallow, low, np.minimum(high, 0.0))
    foot = np.where(too_shallow, rho * cos_low + t * sin_low, rho * cos_high + t * sin_high)
    past_end = np.maximum(np.maximum(band.near_m - foot, foot - band.far_m), 0.0)
    return np.where(g < 0, -np.hypot(g, past_end), inside)


def footprint(band: Band, drop_m: float) -> tuple[float, float] | None:
    """Inner and outer radius, metres, of the band on the level plane `drop_m` below the acoustic centre.

    A mouth on that plane is inside band and reach exactly when its horizontal range lies between the
    two, ends included: an annulus, or a disc where the inner radius is 0. None where the plane misses
    the solid: above the centre, below its reach, or level where the band does not begin at 0°.
    """
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    # a plane through the centre is all of a band that starts level, and only the apex of any other
    if drop_m < 0 or drop_m > band.far_m:
        return None
    if drop_m == 0 and band.low_deg > 0:
        return (0.0, 0.0) if band.near_m == 0 else None
    outer = math.sqrt((band.far_m - drop_m) * (band.far_m + drop_m))
    if sin_low > 0:  # not low_deg: the sine of a denormal angle is 0
        outer = min(outer, drop_m * cos_low / sin_low)
    inner = math.sqrt(max((band.near_m - drop_m) * (band.near_m + drop_m), 0.0))
    inner = max(inner, drop_m * cos_high / sin_high)
    return (inner, outer) if inner <= outer else None


def pair_slack(band: Band, positions: ArrayLike, points: ArrayLike, *, exact: bool = True) -> Floats:
    """Slack of every point from every position, (e, p) metres.

    `positions` (p, 3) are acoustic centres, `points` (e, 3) mouths. With `exact` false it is the least
    of the four numbers (see `least_edge`), which costs half. Same values as `slack` and `least_edge` to
    rounding, without their broadcast temporaries.
    """
    positions, points = np.atleast_2d(np.asarray(positions, float)), np.atleast_2d(np.asarray(points, float))
    result = np.empty((len(points), len(positions)))
    # long rows are what is fast: where there are few positions, the points lie along the rows
    turned = len(positions) < len(points)
    view = result.T if turned else result
    for rows, columns, values in _blocks(band, positions, points, turned, exact):
        view[rows, columns] = values
    return result


def least_margin(
    band: Band, positions: ArrayLike, points: ArrayLike, demand: ArrayLike = 0.0, *, exact: bool = True
) -> Floats:
    """Least of (slack - demand) over all points, for each position: (p,) metres; inf without points.

    `positions` (p, 3) are acoustic centres, `points` (e, 3) mouths, `demand` what slack each must keep,
    (e,) or one number: `Heads.ends()` gives points and demand. With `exact` false the least of the four
    numbers stands for slack: an upper bound, equal where slack >= 0, changing by at most 1 m per metre,
    for half the cost. For one position after another (not thousands) call it with all of them at once.
    """
    positions, points = np.atleast_2d(np.asarray(positions, float)), np.atleast_2d(np.asarray(points, float))
    demand = np.broadcast_to(np.asarray(demand, float), (len(points),))
    result = np.full(len(positions), np.inf)
    turned = len(positions) < len(points)
    for rows, columns, values in _blocks(band, positions, points, turned, exact):
        if turned:
            values -= demand[columns]
            np.minimum(result[rows], values.min(axis=1), out=result[rows])
        else:
            values -= demand[rows, None]
            np.minimum(result[columns], values.min(axis=0), out=result[columns])
    return result


def _blocks(
    band: Band, positions: Floats, points: Floats, turned: bool, exact: bool
) -> Iterator[tuple[slice, slice, Floats]]:
    """Blocks of slack as (rows, columns, values); rows are points, or positions when `turned`.

    The values lie in scratch that the next block overwrites.
    """
    rows, along = (positions, points) if turned else (points, positions)
    if not len(rows) or not len(along):
        return
    long_rows = np.ascontiguousarray(along.T)
    width = min(len(along), COLUMNS)
    height = min(len(rows), max(1, BLOCK // width))
    scratch = np.empty((6, height * width))
    zero = np.zeros(width)
    for left in range(0, len(along), width):
        columns = slice(left, min(left + width, len(along)))
        for top in range(0, len(rows), height):
            some = slice(top, min(top + height, len(rows)))
            shape = (some.stop - top, columns.stop - left)
            arrays = scratch[:, : shape[0] * shape[1]].reshape(6, *shape)
            numbers = _exact_numbers if exact else _least_numbers
            yield some, columns, numbers(band, rows[some], long_rows[:, columns], turned, arrays, zero)


def _ranges_and_slants(rows: Floats, columns: Floats, turned: bool, arrays: Floats) -> None:
    """Horizontal range, drop and slant of each pair into the first three of `arrays`."""
    rho, t, r = arrays[:3]
    np.subtract(columns[0], rows[:, 0:1], out=rho)
    rho *= rho
    np.subtract(columns[1], rows[:, 1:2], out=t)
    t *= t
    rho += t
    # the drop runs from the position down to the point, whichever of them lies along the rows
    if turned:
        np.subtract(rows[:, 2:3], columns[2], out=t)
    else:
        np.subtract(columns[2], rows[:, 2:3], out=t)
    np.multiply(t, t, out=r)
    r += rho
    np.sqrt(r, out=r)
    np.sqrt(rho, out=rho)


def _least_numbers(
    band: Band, rows: Floats, columns: Floats, turned: bool, arrays: Floats, zero: Floats
) -> Floats:
    """The least of the four numbers of each pair, in `arrays`."""
    _ranges_and_slants(rows, columns, turned, arrays)
    rho, t, r, edge, part = arrays[:5]
    return _least_of_four(_edge_numbers(band), rho, t, r, edge, part, high=band.high_deg < 90)


def _least_of_four(
    numbers: Sequence[Floats | float],
    rho: Floats,
    t: Floats,
    r: Floats,
    edge: Floats,
    part: Floats,
    *,
    high: bool = True,
) -> Floats:
    """The least of the four numbers, in `r`; everything else is overwritten.

    `numbers` are six of `edge_table`, plain or of a shape that broadcasts. With `high` false the high
    edge is passed over, which a band that reaches 90° allows.
    """
    cos_low, sin_low, sin_high, cos_high, middle, half = numbers
    r -= middle
    np.abs(r, out=r)
    np.subtract(half, r, out=r)
    np.multiply(t, cos_low, out=edge)
    np.multiply(rho, sin_low, out=part)
    edge -= part
    np.minimum(r, edge, out=r)
    if high:
        rho *= sin_high
        t *= cos_high
        rho -= t
        np.minimum(r, rho, out=r)
    return r


def _edge_numbers(band: Band) -> tuple[float, float, float, float, float, float]:
    """cos low, sin low, sin high, cos high; the middle of the reach, and half of it.

    A band that reaches 90° has no high edge. Its mirror image across the axis, ρ sin low + t cos low,
    stands in for it: never less than the low edge's number, so that all bands go through one formula.
    """
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    if band.high_deg == 90:
        sin_high, cos_high = sin_low, -cos_low
    middle, half = (band.near_m + band.far_m) / 2, (band.far_m - band.near_m) / 2
    return cos_low, sin_low, sin_high, cos_high, middle, half


def edge_table(bands: Sequence[Band]) -> Floats:
    """(6, bands) what the four edge numbers are made of, for the functions below."""
    return np.array([_edge_numbers(band) for band in bands]).reshape(-1, 6).T


def least_by_band(
    numbers: Floats, positions: Floats, points: Floats, demand: Floats, *, across: bool = False
) -> Floats:
    """(e, n) the least of the four numbers less what each point must keep; (n, e) if `across`.

    `numbers` (6, n) are columns of `edge_table`: every position (n, 3) is in a band of its own. `points`
    (e, 3), `demand` (e,). For a handful of points: one call serves all bands.
    """
    # long rows are what is fast: whichever is fewer should go down
    mouths = points.T[:, None, :] if across else points.T[:, :, None]
    at = np.ascontiguousarray(positions.T)
    if across:
        numbers, at = numbers[:, :, None], at[:, :, None]
    rho = mouths[0] - at[0]
    rho *= rho
    part = mouths[1] - at[1]
    part *= part
    rho += part
    t = at[2] - mouths[2]
    r = np.multiply(t, t)
    r += rho
    np.sqrt(r, out=r)
    np.sqrt(rho, out=rho)
    least = _least_of_four(tuple(numbers), rho, t, r, np.empty_like(r), part)
    least -= demand if across else demand[:, None]
    return least


def balanced_heights(
    numbers: Floats, rho: Floats, mouths_m: Floats, demand: Floats, low_m: float, high_m: float
) -> Floats:
    """(n,) heights at which the edges that ask for more height and those that ask for less are equal.

    `numbers` (6, n) are columns of `edge_table`, `rho` (e, n) horizontal ranges, `mouths_m` (e,) heights
    of the mouths, `demand` (e,) what each must keep. Near and low edge gain by height, far and high edge
    lose: where their least are equal the least of all is largest, wherever all can be at least 0.
    """
    cos_low, sin_low, sin_high, cos_high, middle, half = numbers
    mouth, keep = mouths_m[:, None], demand[:, None]
    square, shallow, steep = rho * rho, rho * sin_low + keep, rho * sin_high - keep
    low, high = np.full(rho.shape[1], low_m), np.full(rho.shape[1], high_m)
    for _ in range(BALANCE_STEPS):
        z = (low + high) / 2
        t = z - mouth
        r = np.sqrt(square + t * t)
        more = np.minimum(t * cos_low - shallow, r - (middle - half) - keep).min(axis=0)
        less = np.minimum(middle + half - r - keep, steep - t * cos_high).min(axis=0)
        up = more < less
        low, high = np.where(up, z, low), np.where(up, high, z)
    return np.asarray((low + high) / 2)


def _exact_numbers(
    band: Band, rows: Floats, columns: Floats, turned: bool, arrays: Floats, zero: Floats
) -> Floats:
    """The exact slack of each pair, in `arrays`.

    Folded about the band's middle both edges are one: with u along the middle and v off it (v >= 0) the
    nearer edge's number is u sin h - v cos h and the foot along it u cos h + v sin h, h half the band.
    A band that reaches 90° has the low edge only: u along it is the foot, v with its sign the number.
    """
    _ranges_and_slants(rows, columns, turned, arrays)
    rho, t, off, part, edge = arrays[0], arrays[1], arrays[3], arrays[4], arrays[5]
    least: Floats = arrays[2]
    zero = zero[: rho.shape[1]]
    half = math.radians(band.high_deg - band.low_deg) / 2
    middle = math.radians(band.low_deg if band.high_deg == 90 else band.middle_deg)
    _fold_reach(band, least)
    np.multiply(t, math.cos(middle), out=off)
    np.multiply(rho, math.sin(middle), out=part)
    off -= part
    rho *= math.cos(middle)
    t *= math.sin(middle)
    along = np.add(rho, t, out=rho)
    if band.high_deg == 90:
        edge, foot = off, along
    else:
        np.abs(off, out=off)
        np.multiply(along, math.sin(half), out=edge)
        np.multiply(off, math.cos(half), out=part)
        edge -= part
        along *= math.cos(half)
        off *= math.sin(half)
        foot = np.add(along, off, out=along)
    np.minimum(least, edge, out=least)
    past = _fold_reach(band, foot)
    np.negative(past, out=past)
    np.maximum(past, zero, out=past)
    # No masks, which are ten times dearer than arithmetic: beyond = the edge number's size where it is
    # violated, else 0, and there it wipes out `past` too.
    beyond = np.negative(edge, out=edge)
    np.maximum(beyond, zero, out=beyond)
    np.multiply(beyond, 1e300, out=part)
    np.minimum(past, part, out=past)
    past *= past
    beyond *= beyond
    past += beyond
    distance = np.sqrt(past, out=past)
    np.negative(distance, out=distance)
    # where distance is 0 the least of the four is exact; elsewhere it is negative and an upper bound
    np.minimum(least, distance, out=distance)
    np.maximum(least, zero, out=least)
    least += distance
    return least


def _fold_reach(band: Band, r: Floats) -> Floats:
    """The lesser of r - near and far - r, in place: half the depth less |r - the middle|."""
    r -= (band.near_m + band.far_m) / 2
    np.abs(r, out=r)
    return np.subtract((band.far_m - band.near_m) / 2, r, out=r)
