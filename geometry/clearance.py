"""Exact distances from a hanging body, or its cable, to whatever else is at the ceiling.

The thing that moves is an upright prism: a round or a turned rectangular outline on plan, from one
height to another. So are boxes, cylinders and discs, and the distance between two upright prisms is
the hypotenuse of the gap on plan and the gap in height. On plan the distance between two outlines is
that of a point to their Minkowski sum, which for discs and turned rectangles is an octagon at most
with a radius round it: no mesh, no search, and positions × shapes at once.

All distances are signed: negative is how deep the two are in each other (the shortest way apart). As
functions of the body's position they change by at most one metre per metre, which is what the
certified search needs. The same laws hold for slanted rods and for a projector's light, whose nearest
slice is found by a search in one convex number, to a billionth of their length.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.records import record
from geometry.shapes import Box, Cylinder, Disc, Point2, Point3, Segment, Shape

Floats = NDArray[np.float64]

PARALLEL = 1e-12
"""Sine below which two edges count as parallel: the rounding of cos and sin, nothing a drawing shows."""

BLOCK = 32_768
"""Pairs worked on at once: a dozen scratch arrays of this size stay in the processor's cache."""

FEW_PAIRS = 1 << 13
"""Of no more pairs than this it costs less to ask of all than to find out which ones matter."""

PARTS = 8
"""The slices of a slanted shape are narrowed down to two of so many parts at a time."""
NARROWED = 15
"""So often: what is left of the length is 4^-15, under 1e-9."""


@record(frozen=True, slots=True)
class Hanging:
    """What moves with the acoustic centre: a body, or the cable above it.

    Round with `radius_m`, or rectangular with `size_m` (extents before `turn_deg`), or both: a rectangle
    with that radius round it. It reaches from `below_m` under the acoustic centre to `above_m` over it,
    or, if `top_m` is given, up to that fixed height above the floor (a cable, a hang line). A cable's
    foot may lie above the centre: `below_m` is negative then. `foot_m` likewise fixes the lower end (a box
    above the ceiling).

    With `swept_m` it stands for everything it covers while its centre is anywhere in the square from
    -swept_m to swept_m along plan x and y; more `radius_m` does the same for a disc. Distances from what
    is swept are the least over those places, exactly.
    """

    radius_m: float = 0.0
    size_m: Point2 = (0.0, 0.0)
    turn_deg: float = 0.0
    below_m: float = 0.0
    above_m: float = 0.0
    foot_m: float | None = None
    top_m: float | None = None
    swept_m: float = 0.0

    def __post_init__(self) -> None:
        if self.radius_m < 0 or min(self.size_m) < 0 or self.swept_m < 0:
            raise ValueError(
                f"Hanging radius_m {self.radius_m}, size_m {self.size_m}, swept_m {self.swept_m}: "
                "must be 0 or more"
            )
        if self.foot_m is None and self.top_m is None and self.below_m + self.above_m < 0:
            raise ValueError(
                f"Hanging reaches from {self.below_m} m below to {self.above_m} m above its centre; "
                "its top must not be under its underside"
            )

    def low_m(self, z: ArrayLike) -> Floats:
        """Height of the lower end for centres at height `z`, metres, of z's shape."""
        z = np.asarray(z, float)
        return z - self.below_m if self.foot_m is None else np.full_like(z, self.foot_m)

    def high_m(self, z: ArrayLike) -> Floats:
        """Height of the upper end for centres at height `z`, metres; never under the lower end."""
        z = np.asarray(z, float)
        high = z + self.above_m if self.top_m is None else np.full_like(z, self.top_m)
        return np.maximum(high, self.low_m(z))

    def tilted(self, tilt_deg: float) -> Hanging:
        """An upright prism that holds this one however it hangs out of true about its centre, up to `tilt_deg`.

        Its ends are as low and as high as any rim comes; on plan it is larger by what its ends lean out. What
        has a fixed foot does not move; of a cable the foot moves, not its top.
        """
        if not tilt_deg or self.foot_m is not None:
            return self
        sin, cos = math.sin(math.radians(tilt_deg)), math.cos(math.radians(tilt_deg))
        below = max(self.below_m, self.below_m * cos)
        if self.top_m is not None:
            return replace(self, radius_m=self.radius_m + abs(self.below_m) * sin, below_m=below)
        rim = (self.radius_m + math.hypot(*self.size_m) / 2) * sin
        return replace(
            self,
            radius_m=self.radius_m + max(abs(self.below_m), abs(self.above_m)) * sin,
            below_m=below + rim,
            above_m=max(self.above_m, self.above_m * cos) + rim,
        )

    def swing_m(self, tilt_deg: float) -> float:
        """How far any point moves at most when it hangs out of true about its centre by up to `tilt_deg`."""
        out = self.radius_m + math.hypot(*self.size_m) / 2
        far = math.hypot(out, max(abs(self.below_m), abs(self.above_m)))
        return 2 * far * math.sin(math.radians(tilt_deg) / 2)

    @property
    def plan_radius_m(self) -> float:
        """Radius of the smallest circle about the axis that holds the outline."""
        return self.radius_m + math.hypot(*self.size_m) / 2 + self.swept_m * math.sqrt(2)

    @property
    def round(self) -> bool:
        """Whether the outline is a circle, or a point."""
        return max(self.size_m) == 0 and self.swept_m == 0


def hanging_from(solid: Box | Cylinder) -> Hanging:
    """The solid as something that moves, its acoustic centre at the solid's own middle."""
    if isinstance(solid, Cylinder):
        return Hanging(radius_m=solid.radius_m, below_m=solid.height_m / 2, above_m=solid.height_m / 2)
    half = solid.size_m[2] / 2
    return Hanging(size_m=solid.size_m[:2], turn_deg=solid.turn_deg, below_m=half, above_m=half)


@record(frozen=True, slots=True)
class Throw:
    """The light between a projector's lens and its picture: every straight line between the two.

    The picture stands upright, `width_m` wide and `height_m` high about `picture_m`, and looks
    towards the plan angle `facing_deg`.
    """

    lens_m: Point3
    picture_m: Point3
    width_m: float
    height_m: float
    facing_deg: float

    def __post_init__(self) -> None:
        if self.width_m < 0 or self.height_m < 0:
            raise ValueError(f"Throw picture is {self.width_m} by {self.height_m} m; both must be 0 or more")


@record(frozen=True, slots=True, eq=False)
class Surroundings:
    """Shapes stacked into arrays once, so that thousands of positions cost no loop over shapes.

    Made by `stack`. The upright ones are rows of the arrays: plan middle (m, 2), half extents (m, 2),
    direction of the first extent (m, 2), plan radius, rounding (a rod's round ends), low and high.
    `slanted` holds the others with the column each belongs to.
    """

    count: int
    columns: NDArray[np.intp]
    middle: Floats
    half: Floats
    along: Floats
    radius: Floats
    rounding: Floats
    low: Floats
    high: Floats
    slanted: tuple[tuple[int, _Slices], ...] = field(default=())

    def only(self, which: NDArray[np.intp]) -> Surroundings:
        """The shapes of these columns, which rise; they become columns 0, 1, 2, …"""
        if len(which) == self.count:
            return self
        place = np.full(self.count, -1)
        place[which] = np.arange(len(which))
        rows = np.flatnonzero(place[self.columns] >= 0)
        return Surroundings(
            count=len(which),
            columns=place[self.columns[rows]],
            middle=self.middle[rows],
            half=self.half[rows],
            along=self.along[rows],
            radius=self.radius[rows],
            rounding=self.rounding[rows],
            low=self.low[rows],
            high=self.high[rows],
            slanted=tuple((int(place[k]), slices) for k, slices in self.slanted if place[k] >= 0),
        )


@record(frozen=True, slots=True)
class _Slices:
    """A shape that is an upright rectangle at each t in 0..1, its middle and half extents linear in t."""

    start_m: Point3
    end_m: Point3
    start_half: Point2
    end_half: Point2
    along: Point2
    rounding: float


def stack(shapes: Sequence[Shape | Throw]) -> Surroundings:
    """The shapes as arrays, in the order given; columns of every result follow that order."""
    upright: list[tuple[float, ...]] = []
    columns: list[int] = []
    slanted: list[tuple[int, _Slices]] = []
    for column, shape in enumerate(shapes):
        if isinstance(shape, Segment | Throw):
            slices = _slices(shape)
            (x, y, z), (u, v, w) = slices.start_m, slices.end_m
            length = math.hypot(u - x, v - y)
            if isinstance(shape, Throw) or (length and z != w):
                slanted.append((column, slices))
                continue
            outline = ((x + u) / 2, (y + v) / 2, length / 2, 0.0, *slices.along)
            upright.append((*outline, 0.0, shape.radius_m, min(z, w), max(z, w)))
        elif isinstance(shape, Box):
            turn = math.radians(shape.turn_deg)
            half = (shape.size_m[0] / 2, shape.size_m[1] / 2)
            outline = (*shape.middle_m[:2], *half, math.cos(turn), math.sin(turn))
            upright.append((*outline, 0.0, 0.0, shape.low_m, shape.high_m))
        elif isinstance(shape, Cylinder | Disc):
            low, high = (
                (shape.low_m, shape.high_m) if isinstance(shape, Cylinder) else (shape.middle_m[2],) * 2
            )
            upright.append((*shape.middle_m[:2], 0.0, 0.0, 1.0, 0.0, shape.radius_m, 0.0, low, high))
        else:
            raise TypeError(f"{shape!r} is no Box, Cylinder, Disc, Segment or Throw")
        columns.append(column)
    table = np.array(upright, float).reshape(-1, 10)
    return Surroundings(
        count=len(shapes),
        columns=np.array(columns, np.intp),
        middle=table[:, 0:2],
        half=table[:, 2:4],
        along=table[:, 4:6],
        radius=table[:, 6],
        rounding=table[:, 7],
        low=table[:, 8],
        high=table[:, 9],
        slanted=tuple(slanted),
    )


def _slices(shape: Segment | Throw) -> _Slices:
    if isinstance(shape, Throw):
        facing = math.radians(shape.facing_deg)
        across = (-math.sin(facing), math.cos(facing))
        half = (shape.width_m / 2, shape.height_m / 2)
        return _Slices(shape.lens_m, shape.picture_m, (0.0, 0.0), half, across, 0.0)
    away = shape.end_m[0] - shape.start_m[0], shape.end_m[1] - shape.start_m[1]
    length = math.hypot(*away)
    along = (away[0] / length, away[1] / length) if length else (1.0, 0.0)
    return _Slices(shape.start_m, shape.end_m, (0.0, 0.0), (0.0, 0.0), along, shape.radius_m)


def plan_gap(
    hanging: Hanging, positions: ArrayLike, shapes: Sequence[Shape | Throw] | Surroundings
) -> Floats:
    """Signed distances on plan, outline to outline, metres: (n, m) for n positions and m shapes.

    Measured to the near edge; negative where the outlines overlap. `positions` are acoustic centres
    (n, 3) or one (3,). A rod's radius counts, heights do not.
    """
    return _fill(hanging, positions, shapes, "plan")


def vertical_gap(
    hanging: Hanging, positions: ArrayLike, shapes: Sequence[Shape | Throw] | Surroundings
) -> Floats:
    """Signed vertical distances, metres, (n, m): negative where the height ranges overlap."""
    return _fill(hanging, positions, shapes, "vertical")


def gap(hanging: Hanging, positions: ArrayLike, shapes: Sequence[Shape | Throw] | Surroundings) -> Floats:
    """Signed distances in space, surface to surface, metres: (n, m) for n positions and m shapes.

    Negative where they are in each other: then it is the shortest way apart, on plan or straight up
    or down (for a projector's light, out of the slice that is deepest in). It changes by at most
    1 m per metre of the position.
    """
    return _fill(hanging, positions, shapes, "space")


def gaps(
    hangings: Sequence[Hanging], positions: ArrayLike, shapes: Sequence[Shape | Throw] | Surroundings
) -> Floats:
    """`gap` of several hanging things that move together, (n, k, m): those that are round share the work."""
    around = shapes if isinstance(shapes, Surroundings) else stack(shapes)
    at = _positions(positions)
    result = np.empty((len(at), len(hangings), around.count))
    rows = max(1, BLOCK // max(1, len(hangings) * around.count))
    for first in range(0, len(at), rows):
        part = at[first : first + rows]
        if len(around.columns):
            result[first : first + rows, :, around.columns] = _upright_several(hangings, part, around)
        for column, slices in around.slanted:
            for k, hanging in enumerate(hangings):
                result[first : first + rows, k, column] = _slanted(hanging, part, slices, "space")
    return result


def alike_on_plan(one: Hanging, other: Hanging) -> bool:
    """Whether two hanging things have the same outline."""
    return replace(one, below_m=0.0, above_m=0.0, foot_m=None, top_m=None) == replace(
        other, below_m=0.0, above_m=0.0, foot_m=None, top_m=None
    )


def gaps_at_heights(hangings: Sequence[Hanging], positions: Floats, around: Surroundings) -> Floats:
    """(n, k, m) `gap` of things alike on plan that reach from and up to different heights: cables under ceilings."""
    if around.slanted:
        return gaps(hangings, positions, around)
    z = positions[:, 2, None]
    below, above = (
        np.array(each) for each in zip(*((one.below_m, one.above_m) for one in hangings), strict=True)
    )
    foot = np.array([math.nan if one.foot_m is None else one.foot_m for one in hangings])
    top = np.array([math.nan if one.top_m is None else one.top_m for one in hangings])
    low = np.where(np.isnan(foot), z - below, foot)
    high = np.maximum(np.where(np.isnan(top), z + above, top), low)
    apart = plan_gap(hangings[0], positions, around) + around.rounding
    up = np.maximum(around.low - high[:, :, None], low[:, :, None] - around.high)
    return _joined(apart[:, None], up) - around.rounding


def _positions(positions: ArrayLike) -> Floats:
    at = np.atleast_2d(np.asarray(positions, float))
    if at.ndim != 2 or at.shape[1] != 3:
        raise ValueError(f"positions have shape {np.shape(positions)}; allowed is (n, 3) or (3,)")
    return at


def _on_plan(at: Floats) -> Floats:
    """The positions, or one of them where all are on one plumb line: its plan is the same at all heights."""
    plumb = at[0, 0] == at[-1, 0] and bool((at[:, :2] == at[0, :2]).all())
    return at[:1] if plumb else at


def _upright_several(hangings: Sequence[Hanging], at: Floats, around: Surroundings) -> Floats:
    """(n, k, m) distances in space to the upright shapes."""
    plan = _on_plan(at)
    away = plan[:, None, :2] - around.middle
    apart = np.empty((len(plan), len(hangings), len(around.radius)))
    to_point: Floats | None = None
    for k, hanging in enumerate(hangings):
        if not hanging.round:
            apart[:, k] = outline_gap(hanging, away, around.half, around.along)
            continue
        if to_point is None:
            to_point = outline_gap(Hanging(), away, around.half, around.along)
        np.subtract(to_point, hanging.radius_m, out=apart[:, k])
    apart -= around.radius
    z = at[:, 2]
    low = np.stack([hanging.low_m(z) for hanging in hangings], axis=1)[:, :, None]
    high = np.stack([hanging.high_m(z) for hanging in hangings], axis=1)[:, :, None]
    return _joined(apart, np.maximum(around.low - high, low - around.high)) - around.rounding


def _fill(
    hanging: Hanging, positions: ArrayLike, shapes: Sequence[Shape | Throw] | Surroundings, kind: str
) -> Floats:
    around = shapes if isinstance(shapes, Surroundings) else stack(shapes)
    at = _positions(positions)
    result = np.empty((len(at), around.count))
    rows = max(1, BLOCK // max(1, around.count))
    for first in range(0, len(at), rows):
        part = at[first : first + rows]
        if len(around.columns):
            result[first : first + rows, around.columns] = _upright(hanging, part, around, kind)
        for column, slices in around.slanted:
            result[first : first + rows, column] = _slanted(hanging, part, slices, kind)
    return result


def _upright(hanging: Hanging, at: Floats, around: Surroundings, kind: str) -> Floats:
    apart = np.zeros(0)
    if kind != "vertical":
        away = _on_plan(at)[:, None, :2] - around.middle
        apart = outline_gap(hanging, away, around.half, around.along) - around.radius
        if kind == "plan":
            return np.broadcast_to(apart - around.rounding, (len(at), len(around.radius)))
    low, high = hanging.low_m(at[:, 2])[:, None], hanging.high_m(at[:, 2])[:, None]
    high_gap = np.maximum(around.low - high, low - around.high)
    if kind == "vertical":
        return high_gap - around.rounding
    return _joined(apart, high_gap) - around.rounding


def _joined(plan: Floats, vertical: Floats) -> Floats:
    """Signed distance of two prisms from their signed gaps on plan and in height."""
    outside = np.hypot(np.maximum(plan, 0), np.maximum(vertical, 0))
    inside = np.maximum(plan, vertical)
    return outside + np.minimum(inside, 0, out=inside)


def outline_gap(hanging: Hanging, away: Floats, half: Floats, along: Floats) -> Floats:
    """Signed plan distance of the hanging outline at `away` (..., 2) to rectangles about the origin."""
    if hanging.round:
        if not half.any():
            return np.hypot(away[..., 0], away[..., 1]) - hanging.radius_m
        return rectangle_distance(away, half, along) - hanging.radius_m
    extents = _extents(hanging)
    more = _square_on(along, extents)
    if more is not None:
        return rectangle_distance(away, half + more, along) - hanging.radius_m
    return _polygon_distance(away, half, along, extents) - hanging.radius_m


def _square_on(along: Floats, extents: Sequence[Floats]) -> Floats | None:
    """What the extents add to half lengths of rectangles along `along` (..., 2); None if some lie askew."""
    more = np.zeros_like(along)
    for half, x, y in extents:
        cos, sin = (
            np.abs(x * along[..., 0] + y * along[..., 1]),
            np.abs(y * along[..., 0] - x * along[..., 1]),
        )
        if np.minimum(cos, sin).max(initial=0.0) >= PARALLEL:
            return None
        more[..., 0] += half * cos
        more[..., 1] += half * sin
    return more


def _extents(hanging: Hanging) -> list[Floats]:
    """What the hanging outline is the sum of, but for its radius: half length and unit direction (3,) of each."""
    turn, (width, depth) = math.radians(hanging.turn_deg), hanging.size_m
    c, s = math.cos(turn), math.sin(turn)
    own = [(width / 2, c, s), (depth / 2, -s, c)]
    swept = [(hanging.swept_m, 1.0, 0.0), (hanging.swept_m, 0.0, 1.0)]
    some = [*(own if max(hanging.size_m) else []), *(swept if hanging.swept_m else [])]
    return list(np.array(some))


def rectangle_distance(away: Floats, half: Floats, along: Floats) -> Floats:
    """Signed distance of points to rectangles about the origin, negative inside."""
    x = np.abs(away[..., 0] * along[..., 0] + away[..., 1] * along[..., 1]) - half[..., 0]
    y = np.abs(away[..., 1] * along[..., 0] - away[..., 0] * along[..., 1]) - half[..., 1]
    return _joined(x, y)


def _polygon_distance(away: Floats, half: Floats, along: Floats, extents: Sequence[Floats]) -> Floats:
    """Signed distance of points to the Minkowski sum of turned rectangles and `extents`, negative inside.

    The sum has one pair of opposite edges for each of the extents: an octagon at most for two
    rectangles. For the pair with unit direction d and normal n: inside distance |p·n| − Σ h |e·n| over
    the extents e; the edge on the point's own side is centred on Σ ±h e and h long each way. Parallel
    extents share an edge.
    """
    sides: list[tuple[Floats, Floats, Floats]] = [
        (half[..., 0], along[..., 0], along[..., 1]),
        (half[..., 1], -along[..., 1], along[..., 0]),
        *((extent[0], extent[1], extent[2]) for extent in extents),
    ]
    x, y = away[..., 0], away[..., 1]
    deepest = np.full(x.shape, -np.inf)
    nearest = np.full(x.shape, np.inf)
    for _, dx, dy in sides:
        across = y * dx - x * dy
        side = np.where(across < 0, -1.0, 1.0)
        offset = length = centre = np.zeros(())
        for h, ex, ey in sides:
            normal, tangent = ey * dx - ex * dy, ex * dx + ey * dy
            parallel = np.abs(normal) < PARALLEL
            offset = offset + h * np.where(parallel, 0.0, np.abs(normal))
            length = length + h * np.where(parallel, 1.0, 0.0)
            centre = centre + h * np.where(parallel, 0.0, np.sign(normal) * tangent)
        beyond = np.abs(across) - offset
        past = np.maximum(np.abs(side * (x * dx + y * dy) - centre) - length, 0)
        deepest = np.maximum(deepest, beyond)
        nearest = np.minimum(nearest, np.hypot(beyond, past))
    return np.where(deepest < 0, deepest, nearest)


def _slanted(hanging: Hanging, at: Floats, slices: _Slices, kind: str) -> Floats:
    """Distances (n,) to a slanted shape: the least over its slices, a convex function of the slice."""
    start, end = np.array(slices.start_m), np.array(slices.end_m)
    start_half, end_half = np.array(slices.start_half), np.array(slices.end_half)
    along = np.array(slices.along)
    low, high = hanging.low_m(at[:, 2]), hanging.high_m(at[:, 2])
    if kind == "vertical":
        bottom = min(start[2] - start_half[1], end[2] - end_half[1])
        top = max(start[2] + start_half[1], end[2] + end_half[1])
        return np.asarray(np.maximum(bottom - high, low - top) - slices.rounding)

    def at_slices(t: Floats) -> Floats:
        """(n, k) of slices (n, k)."""
        middle = start + t[..., None] * (end - start)
        extents = start_half + t[..., None] * (end_half - start_half)
        half = np.stack([extents[..., 0], np.zeros_like(t)], axis=-1)
        away = at[:, None, :2] - middle[..., :2]
        apart = outline_gap(hanging, away, half, np.broadcast_to(along, half.shape))
        if kind == "plan":
            return apart
        height = np.maximum(
            middle[..., 2] - extents[..., 1] - high[:, None], low[:, None] - middle[..., 2] - extents[..., 1]
        )
        return _joined(apart, height)

    steps = np.arange(PARTS + 1) / PARTS
    left, length = np.zeros(len(at)), 1.0
    least = np.full(len(at), np.inf)
    for _ in range(NARROWED):
        found = at_slices(left[:, None] + length * steps)
        least = np.minimum(least, found.min(axis=1))
        # convex: the least of all lies beside the least of these
        first = np.clip(found.argmin(axis=1) - 1, 0, PARTS - 2)
        left, length = left + first * (length / PARTS), 2 * length / PARTS
    return np.asarray(least - slices.rounding)


def least_of_many(
    measure: Callable[[Floats, NDArray[np.intp]], Floats], count: int, positions: ArrayLike
) -> Floats:
    """The least of `count` signed distances at each position, (n,), asking only of what can be the least.

    `measure` takes positions (n, 3) and columns (k,), which rise, to (n, k); each column changes by at
    most 1 m per metre. So what is at some position by 2 R more than the least there is nowhere the least
    within R: of thousands of devices a few matter to places close together.
    """
    at = np.atleast_2d(np.asarray(positions, float))
    result = np.empty(len(at))
    patches = [(np.arange(len(at)), np.arange(count))]
    while patches:
        some, columns = patches.pop()
        if len(some) * len(columns) <= FEW_PAIRS or len(some) == 1:
            rows = max(1, BLOCK // max(1, len(columns)))
            for first in range(0, len(some), rows):
                part = some[first : first + rows]
                result[part] = measure(at[part], columns).min(axis=1, initial=np.inf)
            continue
        low, high = at[some].min(axis=0), at[some].max(axis=0)
        middle = (low + high) / 2
        radius = float(np.linalg.norm(at[some] - middle, axis=1).max())
        here = measure(middle[None], columns)[0]
        columns = columns[here <= here.min() + 2 * radius + 1e-9]
        if radius == 0:
            result[some] = here.min()
            continue
        order = some[np.argsort(at[some, int(np.argmax(high - low))], kind="stable")]
        patches += [(order[: len(order) // 2], columns), (order[len(order) // 2 :], columns)]
    return result


def three_times_m(largest_m: float, cap_m: float | None) -> float:
    """Three times an obstruction's largest dimension, at most `cap_m` (none for upright things)."""
    return 3 * largest_m if cap_m is None else min(3 * largest_m, cap_m)


def table_value(table: Sequence[tuple[float, float]], distance: ArrayLike) -> Floats:
    """The second column at `distance`, from rows (distance from, value): the last row not beyond it.

    Before the first row it is 0. Rows ascend. A distance within 1e-9 of a row counts as that row.
    """
    from_m = np.array([row[0] for row in table])
    values = np.concatenate([[0.0], [row[1] for row in table]])
    return np.asarray(values[np.searchsorted(from_m, np.asarray(distance, float) + 1e-9, side="right")])
