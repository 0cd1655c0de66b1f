"""What a solid hides from the mouths, as planes: how far an array is from losing a line of sight.

What a convex solid B hides from a mouth m is its shadow { b + s (b − m) : b in B, s ≥ 0 }. For a whole
convex set M of mouths, a mouth range or a straight leg at all heights of its range, the union is convex
too: it is B grown by the cone of all b − m. It does not depend on the array, so per pair of a row of
heads and a solid the planes of its faces are made once, and for an acoustic centre a

    f(a) = max over planes of (n·a − c)

has the exact sign (negative: hidden), is the exact depth inside the shadow, never more than the distance
outside it, and changes by at most 1 m per metre. A plane bounds the shadow exactly if it parts B from M
and touches B in a side, or touches both B and M (in an edge of one and a corner of the other): these are
few and in closed form, since solids and legs are upright.

A round solid stands between two prisms: nothing it does not hide is hidden by the one inside (good for
ruling cells out), nothing it hides is missed by the one around it (good for allowing a place).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import ON_EDGE_M, Floats
from geometry.coverage import Heads
from geometry.records import record
from geometry.shapes import Blocker, Box, Cylinder
from geometry.sight import GRAZE_M, hidden, sides_of

NEAR_M = 1e-3
"""By so much more than it must a box reaches that says what cannot be in a line: far more than rounding."""

Indices = NDArray[np.int64]
Bools = NDArray[np.bool_]
Side = Literal["inner", "outer"]
"""Which prism stands for a round solid: the one inside it, or the one around it."""

SIDES = (8, 16, 32, 64, 128)
"""Sides of the prisms that stand for a cylinder."""
TRIED_SIDES = (8, 32, 128)
"""Sides tried one after the other where a place must be judged and not a cell."""
AT_ONCE = 60_000
"""Planes times positions worked on at once: half a megabyte, which stays in the cache."""
FEW_ROWS = 100
"""Of so many rows of heads planes stay known, some 100 KB for a solid."""
KEPT = 512
"""How many solids before heads stay known."""
ROUGH = 0.1
"""A prism will do whose sides stand off the cylinder by no more than this share of a cell's radius."""


@record(frozen=True, slots=True, eq=False)
class Planes:
    """The planes of one solid's shadows: hidden behind all planes of one row, normal · a + offset < 0.

    normals (p, 3), offsets (p,); `start` (rows,) where each row's planes begin, rising from 0.
    """

    normals: Floats
    offsets: Floats
    start: Indices

    def signed_m(self, positions: Floats) -> Floats:
        """(rows, n) the largest over each row's planes."""
        found = np.empty((len(self.start), len(positions)))
        stop = np.append(self.start[1:], len(self.offsets))
        at = np.ascontiguousarray(positions.T)
        rows = max(1, AT_ONCE * len(self.start) // max(len(self.offsets) * len(positions), 1))
        for first in range(0, len(self.start), rows):
            some = slice(first, min(first + rows, len(self.start)))
            planes = slice(self.start[some.start], stop[some.stop - 1])
            past = self.normals[planes] @ at
            past += self.offsets[planes, None]
            np.maximum.reduceat(past, self.start[some] - planes.start, axis=0, out=found[some])
        return found

    def least_in_box(self, low_m: Floats, high_m: Floats) -> Floats:
        """(rows,) the largest over each row's planes of that plane's least over a box: never more than f there."""
        least = np.minimum(self.normals * low_m, self.normals * high_m).sum(axis=1) + self.offsets
        return np.asarray(np.maximum.reduceat(least, self.start))

    def take(self, rows: Indices) -> Planes:
        """The planes of these rows, in this order."""
        stop = np.append(self.start[1:], len(self.offsets))
        counts = stop[rows] - self.start[rows]
        start = np.cumsum(counts) - counts
        which = np.repeat(self.start[rows] - start, counts) + np.arange(int(counts.sum()))
        return Planes(self.normals[which], self.offsets[which], start)


@record(frozen=True, eq=False)
class Sight:
    """Heads and what may hide them. Solids without thickness hide nothing and are left out.

    `solids` are those that are left, `index` (solids,) their places among those given. Planes are made
    when they are first asked for, for all heads at once; `take` shares them.
    """

    heads: Heads
    given: tuple[Blocker, ...]
    whole: Sight | None = None
    """The sight this one is a part of."""
    rows: Indices | None = None
    """(k,) which rows of the whole are here."""
    solids: tuple[Blocker, ...] = field(init=False)
    index: Indices = field(init=False)
    made: dict[tuple[int, int, Side], Planes] = field(init=False)
    heights: tuple[Floats, Floats] = field(init=False)
    """(solids,) undersides of those that are over all mouths, else -inf; tops of those under all, else inf."""
    on_plan: tuple[Floats, Floats] = field(init=False)
    """(solids, 2) their middles on plan, and (solids,) how far from there they reach."""

    def __post_init__(self) -> None:
        thick = [k for k, solid in enumerate(self.given) if _is_thick(solid)]
        object.__setattr__(self, "solids", tuple(self.given[k] for k in thick))
        object.__setattr__(self, "index", np.array(thick, np.int64))
        object.__setattr__(self, "made", {})
        top, bottom = self.heads.high_m.max(initial=-np.inf), self.heads.low_m.min(initial=np.inf)
        low = np.array([solid.low_m for solid in self.solids])
        high = np.array([solid.high_m for solid in self.solids])
        over, under = np.where(low >= top, low, -np.inf), np.where(high <= bottom, high, np.inf)
        object.__setattr__(self, "heights", (over, under))
        middle = np.array([solid.middle_m[:2] for solid in self.solids]).reshape(-1, 2)
        object.__setattr__(
            self, "on_plan", (middle, np.array([solid.plan_radius_m for solid in self.solids]))
        )

    def __len__(self) -> int:
        return len(self.solids)

    def take(self, which: Indices) -> Sight:
        """The same solids before these heads only, in this order."""
        stop = np.append(self.heads.start[1:], len(self.heads.xy_m))
        rows = np.concatenate([np.arange(self.heads.start[i], stop[i]) for i in which] or [np.zeros(0)])
        rows = rows.astype(np.int64)
        whole = self if self.whole is None else self.whole
        of_whole = rows if self.rows is None else self.rows[rows]
        return Sight(self.heads.take(which), self.given, whole, of_whole)

    def planes(self, solid: int, sides: int, side: Side) -> Planes:
        """The shadows' planes of one solid, a row each for the rows of heads."""
        if not isinstance(self.solids[solid], Cylinder):
            sides, side = 0, "inner"
        key = (solid, sides, side)
        if key not in self.made:
            if self.whole is not None and self.rows is not None:
                self.made[key] = self.whole.planes(solid, sides, side).take(self.rows)
            else:
                outline, low, high = _prism_of(self.solids[solid], sides, side)
                self.made[key] = shadow_planes(self.heads, outline, low, high)
        return self.made[key]

    def signed_m(
        self, solid: int, positions: Floats, *, side: Side = "inner", sides: int = SIDES[-1]
    ) -> Floats:
        """(heads, n) how far each position is from being hidden from each head by this solid, negative inside.

        With "inner" never less than for the solid itself, with "outer" never more; the same but for
        cylinders.
        """
        by_row = self.planes(solid, sides, side).signed_m(positions)
        return self._of_heads(by_row, self.solids[solid])

    def _of_heads(self, by_row: Floats, solid: Blocker) -> Floats:
        """(heads, ...) the least of each head's rows; inf of those who are anywhere, whom no line is asked of.

        And of those in another furnishing of the room than the solid's.
        """
        rows = len(by_row) == len(self.heads)
        least = by_row if rows else np.minimum.reduceat(by_row, self.heads.start, axis=0)
        if self.heads.insides is not None:
            least[self.heads.anywhere] = np.inf
        if solid.only is not None:
            least[self.heads.furnishing != solid.only] = np.inf
        return np.asarray(least)

    def clear_at_least_m(self, solid: int, positions: Floats) -> Floats:
        """(n,) a number that `signed_m` is nowhere less than, made in no time: by the solid's height alone.

        Where array and mouths are all under the solid's underside, or all over its top, nothing between
        them meets it. -inf where that says nothing.
        """
        over, under = self.heights
        z = positions[:, 2]
        return np.asarray(np.maximum(over[solid] - z, z - under[solid]))

    def all_clear_at_least_m(self, positions: Floats) -> Floats:
        """(n, solids) the same of all solids."""
        over, under = self.heights
        z = positions[:, 2:]
        return np.asarray(np.maximum(over - z, z - under))

    def near(self, positions: Floats) -> list[int]:
        """The solids that may be in a line from these positions, or any between them, to a mouth; by boxes alone.

        A line is over the underside of a solid that is over all mouths only near its start.
        """
        over, under = self.heights
        z = positions[:, 2]
        if not len(z):
            return []
        clear = np.maximum(over - z.max(), z.min() - under)
        left = np.flatnonzero(clear < 0)
        if not len(left) or not len(self.heads) or not np.isfinite(positions).all():
            return left.tolist()
        first, last = positions[:, :2].min(axis=0), positions[:, :2].max(axis=0)
        mouths = np.vstack([self.heads.xy_m, self.heads.to_m])
        to_low, to_high = mouths.min(axis=0) - last, mouths.max(axis=0) - first
        top = float(self.heads.high_m.max())
        share = np.ones(len(left))
        above = over[left] >= top
        if z.max() > top:
            share[above] = np.clip((z.max() - over[left][above]) / (z.max() - top), 0.0, 1.0)
        low = first + np.minimum(share[:, None] * to_low, 0.0) - NEAR_M
        high = last + np.maximum(share[:, None] * to_high, 0.0) + NEAR_M
        middle, reach = self.on_plan[0][left], self.on_plan[1][left, None]
        met = ((middle + reach >= low) & (middle - reach <= high)).all(axis=1)
        return [int(solid) for solid in left[met]]

    def least_m(self, positions: ArrayLike) -> Floats:
        """(n,) the least over heads and solids, never more than it truly is: not hidden where >= 0."""
        at = np.atleast_2d(np.asarray(positions, float))
        least = np.full(len(at), np.inf)
        for solid in range(len(self)):
            quick = self.clear_at_least_m(solid, at)
            asked = np.flatnonzero(quick < least)
            if len(asked) and len(self.heads):
                signed = self.signed_m(solid, at[asked], side="outer").min(axis=0)
                least[asked] = np.minimum(least[asked], signed)
        return least

    def past_in_box_m(
        self, solid: int, at_m: Floats, sideways_m: float, up_m: float, down_m: float
    ) -> Floats:
        """(heads,) what is left of each line past one solid with the array anywhere in a box; never more than there is.

        The box reaches `sideways_m` along ±x and ±y of `at_m` (3,), `up_m` up and `down_m` down.
        """
        low = at_m - np.array([sideways_m, sideways_m, down_m])
        high = at_m + np.array([sideways_m, sideways_m, up_m])
        quick = self.clear_at_least_m(solid, np.array([low, high])).min()
        if quick >= 0:
            return np.full(len(self.heads), quick)
        least = self.planes(solid, SIDES[-1], "outer").least_in_box(low, high)
        return self._of_heads(least, self.solids[solid])

    def sees(self, positions: ArrayLike) -> Bools:
        """(n, heads) whether nothing is in the way from a position to any mouth of a head; exact."""
        at = np.atleast_2d(np.asarray(positions, float))
        seen = np.ones((len(at), len(self.heads)), np.bool_)
        for solid in self.near(at):
            asked = np.flatnonzero(self.clear_at_least_m(solid, at) < 0)
            if len(asked):
                seen[asked] &= self.sees_past(solid, at[asked])
        return seen

    def sees_past(self, solid: int, positions: Floats) -> Bools:
        """(n, heads) whether this solid is not in the way; exact."""
        if not isinstance(self.solids[solid], Cylinder):
            return np.asarray(self.signed_m(solid, positions).T >= -ON_EDGE_M)
        clear = np.zeros((len(positions), len(self.heads)), np.bool_)
        doubt = np.arange(len(positions))
        for sides in TRIED_SIDES:
            outer = self.signed_m(solid, positions[doubt], side="outer", sides=sides).T >= -ON_EDGE_M
            inner = self.signed_m(solid, positions[doubt], sides=sides).T >= -ON_EDGE_M
            clear[doubt] |= outer
            doubt = doubt[(inner & ~outer).any(axis=1)]
            if not len(doubt):
                return clear
        # between the two prisms only the solid itself decides
        clear[doubt] |= ~hidden(positions[doubt], self.heads, [self.solids[solid]])[:, :, 0]
        return clear

    def left_m(self, solid: int, positions: Floats, enough: Floats, least_m: float) -> Floats:
        """(n,) what is left of the lines to all heads past one solid, where that matters; never more than there is.

        Where it is at least `enough` (n,) any number of at least that will do, where it is less than
        `least_m` any number less than that. 0 where the solid itself hides nobody and the prism around it
        might.
        """
        left = self.clear_at_least_m(solid, positions)
        asked = np.flatnonzero(left < enough)
        round_one = isinstance(self.solids[solid], Cylinder)
        for sides in TRIED_SIDES if round_one else TRIED_SIDES[:1]:
            if not len(asked):
                return left
            outer = self.signed_m(solid, positions[asked], side="outer", sides=sides).min(axis=0)
            left[asked] = np.maximum(left[asked], outer)
            asked = asked[left[asked] < enough[asked]]
            if round_one and len(asked):
                most = self.signed_m(solid, positions[asked], sides=sides).min(axis=0)
                asked = asked[most >= least_m]
        doubt = asked[left[asked] < 0] if round_one else asked[:0]
        if len(doubt):
            left[doubt[self.sees_past(solid, positions[doubt]).all(axis=1)]] = 0.0
        return left


def sides_for(solid: Blocker, radius_m: float) -> int:
    """How many sides stand for a solid where cells have this radius; the most where they are a point."""
    if not isinstance(solid, Cylinder) or radius_m <= 0:
        return SIDES[-1]
    return next(
        (n for n in SIDES if solid.radius_m * (1 - math.cos(math.pi / n)) <= ROUGH * radius_m), SIDES[-1]
    )


def _is_thick(solid: Blocker) -> bool:
    """Whether the solid has an inside, once it is taken in by a graze all round."""
    if isinstance(solid, Box):
        across = min(solid.size_m[:2])
    elif isinstance(solid, Cylinder):
        across = 2 * solid.radius_m
    else:
        outline = np.array(solid.outline_m)
        normals, offsets = sides_of(outline)
        across = (
            float((offsets - (normals @ outline.T).min(axis=1)).min(initial=np.inf)) if len(normals) else 0.0
        )
    return min(across, solid.high_m - solid.low_m) > 2 * GRAZE_M


def _prism_of(solid: Blocker, sides: int, side: Side) -> tuple[Floats, float, float]:
    """Outline (k, 2), anticlockwise, underside and top of the prism that stands for a solid."""
    if isinstance(solid, Box):
        return np.array(solid.corners_on_plan()), solid.low_m, solid.high_m
    if isinstance(solid, Cylinder):
        turn = 2 * math.pi * np.arange(sides) / sides
        radius = solid.radius_m if side == "inner" else solid.radius_m / math.cos(math.pi / sides)
        ring = radius * np.column_stack([np.cos(turn), np.sin(turn)])
        return ring + np.array(solid.middle_m[:2]), solid.low_m, solid.high_m
    return np.array(solid.outline_m), solid.low_m, solid.high_m


# ---- the planes -----------------------------------------------------------------------------------


def shadow_planes(heads: Heads, outline: Floats, low_m: float, high_m: float) -> Planes:
    """The planes of what an upright prism hides from each row of heads.

    `outline` (k, 2) is convex and anticlockwise. A row with a mouth inside the prism gets one plane that
    everything is behind. Of few heads what was made stays known: searches, remedies and tolerances of a room
    ask for the same again.
    """
    mouths = _Mouths.of(heads)
    if len(mouths.z) > FEW_ROWS:
        return _planes_of(mouths, outline, low_m, high_m)
    xy, z = mouths.xy, mouths.z
    return _known_planes(
        xy.tobytes(), xy.shape[1], z.tobytes(), z.shape[1], outline.tobytes(), float(low_m), float(high_m)
    )


@lru_cache(maxsize=KEPT)
def _known_planes(
    xy: bytes, ends: int, z: bytes, heights: int, outline: bytes, low_m: float, high_m: float
) -> Planes:
    """`_planes_of` arrays that come as their bytes, by which they are known again."""
    mouths = _Mouths(np.frombuffer(xy).reshape(-1, ends, 2), np.frombuffer(z).reshape(-1, heights))
    planes = _planes_of(mouths, np.frombuffer(outline).reshape(-1, 2), low_m, high_m)
    for shared in (planes.normals, planes.offsets, planes.start):
        shared.setflags(write=False)
    return planes


def _planes_of(mouths: _Mouths, outline: Floats, low_m: float, high_m: float) -> Planes:
    found = [
        _faces(mouths, outline, low_m, high_m),
        _upright(mouths, outline),
        *_rims(mouths, *sides_of(outline), low_m, high_m),
        *_along_legs(mouths, outline, low_m, high_m),
    ]
    normals = np.concatenate([normal for normal, _, _ in found], axis=1)
    offsets = np.concatenate([offset for _, offset, _ in found], axis=1)
    kept = np.concatenate([parts for _, _, parts in found], axis=1)
    everywhere = ~kept.any(axis=1)
    normals[everywhere, 0], offsets[everywhere, 0], kept[everywhere, 0] = 0.0, np.inf, True
    counts = kept.sum(axis=1)
    return Planes(normals[kept], -offsets[kept], np.cumsum(counts) - counts)


Candidates = tuple[Floats, Floats, Bools]
"""(rows, m, 3) outward unit normals, (rows, m) the most the solid reaches along them, (rows, m) whether no
mouth of the row reaches less: whether the plane parts the two."""


@record(frozen=True, slots=True, eq=False)
class _Mouths:
    """The convex sets of mouths: plan places (rows, 1 or 2, 2) of a way's ends, heights (rows, 1 or 2)."""

    xy: Floats
    z: Floats

    @classmethod
    def of(cls, heads: Heads) -> _Mouths:
        ends = [heads.xy_m, heads.to_m] if heads.walking.any() else [heads.xy_m]
        heights = [heads.low_m, heads.high_m] if np.any(heads.low_m < heads.high_m) else [heads.low_m]
        return cls(np.stack(ends, axis=1), np.stack(heights, axis=1))

    def parted(self, normals: Floats, offsets: Floats) -> Candidates:
        """The planes with whether every mouth is on the far side of them."""
        x, y, z = normals[..., 0], normals[..., 1], normals[..., 2]
        plan = [x * self.xy[:, k, 0, None] + y * self.xy[:, k, 1, None] for k in range(self.xy.shape[1])]
        height = [z * self.z[:, k, None] for k in range(self.z.shape[1])]
        least = np.minimum(plan[0], plan[-1]) + np.minimum(height[0], height[-1])
        return normals, offsets, least >= offsets - ON_EDGE_M


def _faces(mouths: _Mouths, outline: Floats, low_m: float, high_m: float) -> Candidates:
    """The prism's own sides, top and underside."""
    normals, offsets = sides_of(outline)
    own = np.vstack([np.column_stack([normals, np.zeros(len(normals))]), [[0, 0, 1], [0, 0, -1]]])
    reach = np.append(offsets, [high_m, -low_m])
    rows = len(mouths.z)
    return mouths.parted(np.tile(own, (rows, 1, 1)), np.tile(reach, (rows, 1)))


def _upright(mouths: _Mouths, outline: Floats) -> Candidates:
    """Upright planes through an end of a way and a corner of the outline, with the outline on one side."""
    rows = len(mouths.z)
    away = outline[None, None] - mouths.xy[:, :, None]
    length = np.hypot(away[..., 0], away[..., 1])
    across = np.stack([away[..., 1], -away[..., 0]], axis=-1)
    across = (across / np.where(length > 0, length, 1.0)[..., None]).reshape(rows, -1, 2)
    across = np.concatenate([across, -across], axis=1)
    corner = np.tile(outline, (2 * mouths.xy.shape[1], 1))
    reach = (across * corner).sum(axis=-1)
    behind = (across @ outline.T).max(axis=-1) <= reach + ON_EDGE_M
    normals, offsets, parts = mouths.parted(np.concatenate([across, np.zeros((*reach.shape, 1))], -1), reach)
    touches = np.tile(length.reshape(rows, -1) > 0, (1, 2))
    return normals, offsets, parts & behind & touches


def _rims(
    mouths: _Mouths, normals: Floats, offsets: Floats, low_m: float, high_m: float
) -> Sequence[Candidates]:
    """Planes through a mouth and a rim's edge: of the top, and of the underside."""
    found = []
    for rim_m, way in ((high_m, 1.0), (low_m, -1.0)):
        for end in range(mouths.xy.shape[1]):
            for mouth in range(mouths.z.shape[1]):
                ahead = mouths.xy[:, end] @ normals.T - offsets
                over = np.broadcast_to(mouths.z[:, mouth, None] - rim_m, ahead.shape)
                found.append(_leaning(mouths, ahead, over, normals, offsets, rim_m, way))
    return found


def _along_legs(mouths: _Mouths, outline: Floats, low_m: float, high_m: float) -> Sequence[Candidates]:
    """Planes along a leg at one of its mouth heights that touch the outermost corner of the prism's rim."""
    along = mouths.xy[:, -1] - mouths.xy[:, 0]
    length = np.hypot(along[:, 0], along[:, 1])
    if not (length > 0).any():
        return []
    square = np.stack([along[:, 1], -along[:, 0]], axis=-1) / np.where(length > 0, length, 1.0)[:, None]
    across = np.stack([square, -square], axis=1)
    reach = (across @ outline.T).max(axis=-1)
    ahead = np.einsum("rsi,ri->rs", across, mouths.xy[:, 0]) - reach
    found = []
    for rim_m, way in ((high_m, 1.0), (low_m, -1.0)):
        for mouth in range(mouths.z.shape[1]):
            over = np.broadcast_to(mouths.z[:, mouth, None] - rim_m, ahead.shape)
            planes, offsets, parts = _leaning(mouths, ahead, over, across, reach, rim_m, way)
            found.append((planes, offsets, parts & (length > 0)[:, None]))
    return found


def _leaning(
    mouths: _Mouths, ahead: Floats, over: Floats, plan: Floats, reach: Floats, rim_m: float, way: float
) -> Candidates:
    """Planes whose plan direction is given and that go through a rim there and a mouth.

    The mouth is `ahead` (rows, m) of what the solid reaches along the plan direction and `over` the rim.
    On the plane cos · ahead + sin · over = 0; the rim is what the solid reaches along it only where cos is
    not negative and sin has the sign `way` (1: the top's rim, -1: the underside's).
    """
    size = np.hypot(ahead, over)
    flip = np.where(over < 0, -1.0, 1.0)
    sign = np.where(over == 0, np.where(ahead * way > 0, -1.0, 1.0), flip)
    share = np.where(size > 0, size, 1.0)
    cos, sin = sign * over / share, -sign * ahead / share
    normals = np.concatenate([cos[..., None] * plan, sin[..., None]], axis=-1)
    offsets = cos * reach + sin * rim_m
    normals, offsets, parts = mouths.parted(normals, offsets)
    return normals, offsets, parts & (size > 0) & (cos >= 0) & (sin * way >= 0)
