"""Lines of sight past solids: where a line enters and leaves each, and whether a whole mouth range is seen.

Lines are straight pieces between two points, thousands at once against all solids; exact for upright
boxes, cylinders and prisms. Only a solid's inside blocks: a line that touches a face, an edge or a corner
is clear.

A head is hidden when any line from the array to any mouth of its range, anywhere on the way it walks, is
blocked (`hidden`): no mouths are sampled, so nothing thin slips between two of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.coverage import Heads
from geometry.records import record
from geometry.shapes import Blocker, Box, Cylinder, Prism

Floats = NDArray[np.float64]

GRAZE_M = 1e-9
"""Solids count as this much smaller all round, so that a line along a turned face only touches it."""


@record(frozen=True, slots=True, eq=False)
class Crossings:
    """Where lines pass through solids: fractions of each line, (k, m); NaN where one passes by.

    `length_m` (k,) are the lines' lengths. `blocked` (k, m) is true where a stretch lies inside.
    """

    enter: Floats
    leave: Floats
    length_m: Floats

    @property
    def blocked(self) -> NDArray[np.bool_]:
        """(k, m): true where a stretch of the line lies inside the solid."""
        return np.asarray((self.leave - self.enter) * self.length_m[:, None] > GRAZE_M)


def crossings(starts: ArrayLike, ends: ArrayLike, solids: Sequence[Blocker]) -> Crossings:
    """Where k lines from `starts` to `ends`, both (k, 3), pass through m upright boxes, cylinders and prisms.

    A line that begins or ends inside a solid enters at 0 or leaves at 1. Solids without thickness
    have no inside and block nothing.
    """
    start, end = np.atleast_2d(np.asarray(starts, float)), np.atleast_2d(np.asarray(ends, float))
    if start.shape != end.shape or start.shape[-1] != 3:
        raise ValueError(f"starts are {start.shape} and ends {end.shape}; allowed is (k, 3) for both")
    along = end - start
    enter = np.full((len(start), len(solids)), np.nan)
    leave = enter.copy()
    boxes = [(column, solid) for column, solid in enumerate(solids) if isinstance(solid, Box)]
    rounds = [(column, solid) for column, solid in enumerate(solids) if isinstance(solid, Cylinder)]
    with np.errstate(divide="ignore", invalid="ignore"):
        if boxes:
            columns = [column for column, _ in boxes]
            enter[:, columns], leave[:, columns] = _through_boxes(start, along, [box for _, box in boxes])
        if rounds:
            columns = [column for column, _ in rounds]
            enter[:, columns], leave[:, columns] = _through_cylinders(
                start, along, [cylinder for _, cylinder in rounds]
            )
        for column, solid in enumerate(solids):
            if isinstance(solid, Prism):
                enter[:, column], leave[:, column] = _through_prism(start, along, solid)
    enter, leave = np.maximum(enter, 0), np.minimum(leave, 1)
    hit = leave > enter
    return Crossings(
        np.where(hit, enter, np.nan), np.where(hit, leave, np.nan), np.linalg.norm(along, axis=1)
    )


def _slab(start: Floats, along: Floats, half: Floats) -> tuple[Floats, Floats]:
    """Where |start + t along| < half: fractions in and out, (inf, -inf) if nowhere."""
    one, other = (-half - start) / along, (half - start) / along
    level = along == 0
    within = np.abs(start) < half
    low = np.where(level, np.where(within, -np.inf, np.inf), np.where(along > 0, one, other))
    high = np.where(level, np.where(within, np.inf, -np.inf), np.where(along > 0, other, one))
    return low, high


def _through_boxes(start: Floats, along: Floats, boxes: Sequence[Box]) -> tuple[Floats, Floats]:
    middle = np.array([box.middle_m for box in boxes])
    half = np.array([box.size_m for box in boxes]) / 2 - GRAZE_M
    turn = np.radians([box.turn_deg for box in boxes])
    c, s = np.cos(turn), np.sin(turn)
    away = start[:, None, :] - middle
    low, high = _slab(away[..., 2], np.broadcast_to(along[:, None, 2], away.shape[:2]), half[:, 2])
    for axis, (p, q) in enumerate(((c, s), (-s, c))):
        here = away[..., 0] * p + away[..., 1] * q
        there = along[:, None, 0] * p + along[:, None, 1] * q
        # a line that runs along a turned face is level with it but for rounding
        there = np.where(np.abs(there) < 1e-15 * np.linalg.norm(along, axis=1)[:, None], 0.0, there)
        into, out = _slab(here, there, half[:, axis])
        low, high = np.maximum(low, into), np.minimum(high, out)
    return low, high


def _through_cylinders(start: Floats, along: Floats, rounds: Sequence[Cylinder]) -> tuple[Floats, Floats]:
    middle = np.array([cylinder.middle_m for cylinder in rounds])
    radius = np.array([cylinder.radius_m for cylinder in rounds]) - GRAZE_M
    half = np.array([cylinder.height_m for cylinder in rounds]) / 2 - GRAZE_M
    away = start[:, None, :] - middle
    low, high = _slab(away[..., 2], np.broadcast_to(along[:, None, 2], away.shape[:2]), half)
    # |away + t along|² = r² on plan, about the foot of the perpendicular: no cancellation far away
    run = np.hypot(along[:, 0], along[:, 1])[:, None]
    foot = -(away[..., 0] * along[:, None, 0] + away[..., 1] * along[:, None, 1]) / run**2
    across = (away[..., 0] * along[:, None, 1] - away[..., 1] * along[:, None, 0]) / run
    half_chord = np.sqrt(np.maximum(radius**2 - across**2, 0)) / run
    meets = np.abs(across) < radius
    # shorter on plan than solids are shrunk by: as good as upright, and its square may be 0
    upright = run < GRAZE_M
    within = np.hypot(away[..., 0], away[..., 1]) < radius
    into = np.where(upright, np.where(within, -np.inf, np.inf), np.where(meets, foot - half_chord, np.inf))
    out = np.where(upright, np.where(within, np.inf, -np.inf), np.where(meets, foot + half_chord, -np.inf))
    return np.maximum(low, into), np.minimum(high, out)


def _through_prism(start: Floats, along: Floats, prism: Prism) -> tuple[Floats, Floats]:
    """(k,) fractions in and out of the half spaces behind all sides, ends and nothing else."""
    normals, offsets = sides_of(np.array(prism.outline_m))
    middle, half = (prism.low_m + prism.high_m) / 2, (prism.high_m - prism.low_m) / 2 - GRAZE_M
    low, high = _slab(start[:, 2] - middle, along[:, 2], np.full(len(start), half))
    for normal, offset in zip(normals, offsets - GRAZE_M, strict=True):
        before, pace = offset - start[:, :2] @ normal, along[:, :2] @ normal
        # a line along a side is level with it but for rounding
        pace = np.where(np.abs(pace) < 1e-15 * np.linalg.norm(along, axis=1), 0.0, pace)
        at = before / pace
        low = np.maximum(low, np.where(pace < 0, at, np.where((pace == 0) & (before <= 0), np.inf, -np.inf)))
        high = np.minimum(high, np.where(pace > 0, at, np.inf))
    return low, high


def sides_of(outline: Floats) -> tuple[Floats, Floats]:
    """Outward unit normals (k, 2) and offsets (k,) of a convex outline's sides, anticlockwise (k, 2).

    A point p lies behind side i where normal · p <= offset. Sides without length are left out.
    """
    along = np.roll(outline, -1, axis=0) - outline
    length = np.hypot(along[:, 0], along[:, 1])
    some = length > 0
    along, length = along[some], length[some]
    normals = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
    return normals, np.asarray((normals * outline[some]).sum(axis=1))


def hidden(positions: ArrayLike, heads: Heads, solids: Sequence[Blocker]) -> NDArray[np.bool_]:
    """(n, heads, solids) whether a solid is in the way between a position (n, 3) and any mouth of a head.

    Exact for the whole mouth range and all of the way of somebody who walks. At the share s of the way
    from the array the lines to a leg's mouths fill a rectangle: its heights run between two straight
    lines over s, so the solid's height is met for one stretch of s, and what the lines fill there on
    plan has four corners at most. Nothing is in the way to those who are anywhere,
    and nothing of another furnishing.
    """
    at = np.atleast_2d(np.asarray(positions, float))
    rows = len(heads.low_m)
    by_row = Fans.of(at, heads).blocked_by(solids).reshape(len(at), rows, len(solids))
    found = by_row if rows == len(heads) else np.logical_or.reduceat(by_row, heads.start, axis=1)
    if heads.insides is not None:
        found &= ~heads.anywhere[:, None]
    for k, solid in enumerate(solids):
        if solid.only is not None:
            found[:, heads.furnishing != solid.only, k] = False
    return np.asarray(found, np.bool_)


@record(frozen=True, slots=True, eq=False)
class Fans:
    """All lines from a place to all mouths of a straight leg and a range of heights, k times.

    `start` (k, 3) the places; `ways` (2, k, 2) on plan from there to both ends of the leg; `down` and `up`
    (k,) from the place to the lowest and the highest mouth.
    """

    start: Floats
    ways: Floats
    down: Floats
    up: Floats

    @classmethod
    def of(cls, positions: Floats, heads: Heads) -> Fans:
        """From each position (n, 3) to each row of heads: n × rows, the rows of the first position first."""
        rows = len(heads.low_m)
        start = np.repeat(positions, rows, axis=0)
        ways = np.tile(np.stack([heads.xy_m, heads.to_m]), (1, len(positions), 1)) - start[None, :, :2]
        down, up = (np.tile(z, len(positions)) - start[:, 2] for z in (heads.low_m, heads.high_m))
        return cls(start, ways, down, up)

    def __len__(self) -> int:
        return len(self.start)

    def take(self, which: NDArray[np.int64] | NDArray[np.bool_]) -> Fans:
        """These fans only."""
        return Fans(self.start[which], self.ways[:, which], self.down[which], self.up[which])

    def shifted(self, by_m: Floats) -> Fans:
        """All fans once for each shift (m, 3), as they are but so much aside: m × k, the first shift first."""
        count = len(by_m)
        start = (self.start[None] + by_m[:, None]).reshape(-1, 3)
        return Fans(
            start, np.tile(self.ways, (1, count, 1)), np.tile(self.down, count), np.tile(self.up, count)
        )

    def blocked_by(self, solids: Sequence[Blocker]) -> NDArray[np.bool_]:
        """(k, solids) whether any line of a fan passes through the inside of each solid."""
        found = np.zeros((len(self), len(solids)), np.bool_)
        near = self._near(solids)
        for kind, meets in ((Box, _meets_boxes), (Cylinder, _meets_cylinders)):
            some = [k for k, solid in enumerate(solids) if isinstance(solid, kind)]
            if some:
                found[:, some] = self._through([solids[k] for k in some], near[:, some], meets)
        for k, solid in enumerate(solids):
            if isinstance(solid, Prism):
                found[:, k] = self._through([solid], near[:, k, None], _meets_prism)[:, 0]
        return found

    def _near(self, solids: Sequence[Blocker]) -> NDArray[np.bool_]:
        """(k, solids) whether the upright boxes round fan and solid overlap: few do, and only they are asked further."""
        near = np.ones((len(self), len(solids)), np.bool_)
        if not solids:
            return near
        low, high = np.array([_reach(solid) for solid in solids]).transpose(1, 2, 0)
        pairs = ((self.ways[0, :, 0], self.ways[1, :, 0]), (self.ways[0, :, 1], self.ways[1, :, 1]))
        for axis, (one, other) in enumerate((*pairs, (self.down, self.up))):
            first = self.start[:, axis] + np.minimum(np.minimum(one, other), 0.0)
            last = self.start[:, axis] + np.maximum(np.maximum(one, other), 0.0)
            near &= (first[:, None] < high[axis]) & (last[:, None] > low[axis])
        return near

    def _through(self, solids: Sequence[Blocker], near: NDArray[np.bool_], meets: Meets) -> NDArray[np.bool_]:
        """(k, solids) as `blocked_by`, for solids of one kind and pairs that are near each other."""
        found = np.zeros_like(near)
        fan, solid = np.nonzero(near)
        low, high = (np.array([end(one) for one in solids])[solid] for end in (_low_m, _high_m))
        passes, plan = self._plan_between(fan, low + GRAZE_M, high - GRAZE_M)
        passes[passes] = meets(plan[passes], solids, solid[passes])
        found[fan, solid] = passes
        return found

    def _plan_between(
        self, fan: NDArray[np.int64], low_m: Floats, high_m: Floats
    ) -> tuple[NDArray[np.bool_], Floats]:
        """(c,) whether lines of a fan pass between two heights, and where on plan: (c, 4, 2), corners in order."""
        z, down, up = self.start[fan, 2], self.down[fan], self.up[fan]
        first, last = np.zeros(len(fan)), np.ones(len(fan))
        passes = np.asarray(low_m < high_m, np.bool_)
        # below the upper height: z + s down < high; above the lower: z + s up > low
        for left, pace in ((high_m - z, down), (z - low_m, -up)):
            with np.errstate(divide="ignore", invalid="ignore"):
                share = left / pace
            last = np.where(pace > 0, np.minimum(last, share), last)
            first = np.where(pace < 0, np.maximum(first, share), first)
            passes &= (pace != 0) | (left > 0)
        passes &= first < last
        one, other = self.ways[0, fan], self.ways[1, fan]
        sides = (first[:, None] * one, last[:, None] * one, last[:, None] * other, first[:, None] * other)
        return passes, np.stack(sides, axis=1) + self.start[fan, None, :2]


Meets = Callable[[Floats, Sequence[Blocker], NDArray[np.int64]], NDArray[np.bool_]]
"""(c,) whether convex plan areas (c, 4, 2), corners in order, meet the inside of the outline of solid (c,)."""


def _low_m(solid: Blocker) -> float:
    return solid.low_m


def _high_m(solid: Blocker) -> float:
    return solid.high_m


def _reach(solid: Blocker) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The lowest and highest x, y and z of a solid."""
    if isinstance(solid, Cylinder):
        x, y, _ = solid.middle_m
        r = solid.radius_m
        return (x - r, y - r, solid.low_m), (x + r, y + r, solid.high_m)
    xs, ys = zip(*_outline_of(solid), strict=True)
    return (min(xs), min(ys), solid.low_m), (max(xs), max(ys), solid.high_m)


def _outline_of(solid: Box | Prism) -> Sequence[tuple[float, float]]:
    return solid.corners_on_plan() if isinstance(solid, Box) else solid.outline_m


def _meets_cylinders(plan: Floats, solids: Sequence[Blocker], which: NDArray[np.int64]) -> NDArray[np.bool_]:
    middle = np.array([solid.middle_m[:2] for solid in solids])[which]
    radius = np.array([solid.plan_radius_m for solid in solids])[which]
    return np.asarray(_plan_distance(plan - middle[:, None]) < radius - GRAZE_M)


def _meets_boxes(plan: Floats, solids: Sequence[Blocker], which: NDArray[np.int64]) -> NDArray[np.bool_]:
    boxes = [solid for solid in solids if isinstance(solid, Box)]
    middle = np.array([box.middle_m[:2] for box in boxes])[which]
    half = np.array([box.size_m[:2] for box in boxes])[which] / 2 - GRAZE_M
    turn = np.radians([box.turn_deg for box in boxes])[which]
    c, s = np.cos(turn)[:, None], np.sin(turn)[:, None]
    away = plan - middle[:, None]
    x, y = away[..., 0] * c + away[..., 1] * s, away[..., 1] * c - away[..., 0] * s
    meets = (half > 0).all(axis=1)
    for axis, value in enumerate((x, y)):
        meets &= (value.min(axis=1) < half[:, axis]) & (value.max(axis=1) > -half[:, axis])
    for side in range(4):
        dx, dy = x[:, (side + 1) % 4] - x[:, side], y[:, (side + 1) % 4] - y[:, side]
        length = np.hypot(dx, dy)
        share = np.where(length > 0, length, 1.0)
        p, q = (dy / share)[:, None], (-dx / share)[:, None]
        own = x * p + y * q
        reach = np.abs(p[:, 0]) * half[:, 0] + np.abs(q[:, 0]) * half[:, 1]
        meets &= ((own.max(axis=1) > -reach) & (own.min(axis=1) < reach)) | (length == 0)
    return np.asarray(meets)


def _meets_prism(plan: Floats, solids: Sequence[Blocker], which: NDArray[np.int64]) -> NDArray[np.bool_]:
    [solid] = solids
    outline = np.array(_outline_of(solid)) if not isinstance(solid, Cylinder) else np.zeros((0, 2))
    normals, offsets = sides_of(outline)
    meets = ((plan @ normals.T).min(axis=1) < offsets - GRAZE_M).all(axis=1)
    for side in range(4):
        along = plan[:, (side + 1) % 4] - plan[:, side]
        length = np.hypot(along[:, 0], along[:, 1])
        across = np.column_stack([along[:, 1], -along[:, 0]]) / np.where(length > 0, length, 1.0)[:, None]
        own = np.einsum("cij,cj->ci", plan, across)
        theirs = across @ outline.T
        parts = (own.max(axis=1) <= theirs.min(axis=1) + GRAZE_M) | (
            own.min(axis=1) >= theirs.max(axis=1) - GRAZE_M
        )
        meets &= ~parts | (length == 0)
    return np.asarray(meets)


def _plan_distance(plan: Floats) -> Floats:
    """(c,) distance of the origin to convex plan areas (c, 4, 2), corners in order; 0 inside."""
    nearest = np.full(plan.shape[:-2], np.inf)
    turns: list[Floats] = []
    for side in range(4):
        start, along = plan[..., side, :], plan[..., (side + 1) % 4, :] - plan[..., side, :]
        square = (along * along).sum(axis=-1)
        share = np.clip(-(start * along).sum(axis=-1) / np.where(square > 0, square, 1.0), 0.0, 1.0)
        off = start + share[..., None] * along
        nearest = np.minimum(nearest, np.hypot(off[..., 0], off[..., 1]))
        turns.append(along[..., 1] * start[..., 0] - along[..., 0] * start[..., 1])
    # inside, all corners turn the same way about the origin, and some turn at all
    left = np.all([turn >= 0 for turn in turns], axis=0) & np.any([turn > 0 for turn in turns], axis=0)
    right = np.all([turn <= 0 for turn in turns], axis=0) & np.any([turn < 0 for turn in turns], axis=0)
    return np.where(left | right, 0.0, nearest)
