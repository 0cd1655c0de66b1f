"""Lines of sight past solids: where a line enters and leaves each, and whether a whole mouth range is seen.

Lines are straight pieces between two points, thousands at once against all solids; exact for upright
boxes, cylinders and prisms, and for triangle meshes. Only a solid's inside blocks: a line that touches
a face, an edge or a corner is clear.

A head is hidden when any line from the array to any mouth of its range, anywhere on the way it walks, is
blocked (`hidden`): no mouths are sampled, so nothing thin slips between two of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.coverage import Heads
from geometry.shapes import Blocker, Box, Cylinder, Prism

Floats = NDArray[np.float64]

GRAZE_M = 1e-9
"""Solids count as this much smaller all round, so that a line along a turned face only touches it."""


@dataclass(frozen=True, slots=True, eq=False)
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

    def first(self) -> NDArray[np.intp]:
        """(k,) which solid each line meets first; -1 where the line is free."""
        if not self.enter.shape[1]:
            return np.full(len(self.enter), -1, np.intp)
        enter = np.where(self.blocked, self.enter, np.inf)
        nearest = np.argmin(enter, axis=1)
        return np.where(np.isfinite(enter[np.arange(len(enter)), nearest]), nearest, -1)


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
    plan has four corners at most.
    """
    at = np.atleast_2d(np.asarray(positions, float))
    found = np.zeros((len(at), len(heads), len(solids)), np.bool_)
    for k, solid in enumerate(solids):
        in_height, plan = _plan_between(at, heads, solid.low_m + GRAZE_M, solid.high_m - GRAZE_M)
        in_the_way = in_height & _meets_outline(plan, solid)
        np.logical_or.at(found[:, :, k].T, heads.row_head, in_the_way.T)
    return found


def _plan_between(at: Floats, heads: Heads, low_m: float, high_m: float) -> tuple[NDArray[np.bool_], Floats]:
    """(n, rows) whether lines to a row's mouths pass between two heights, and where on plan: (n, rows, 4, 2)."""
    z = at[:, 2, None]
    first, last = np.zeros((len(at), len(heads.low_m))), np.ones((len(at), len(heads.low_m)))
    passes = np.full(first.shape, low_m < high_m)
    # below the upper height: z + s (low - z) < high; above the lower: z + s (high - z) > low
    for left, pace in ((high_m - z, heads.low_m - z), (z - low_m, z - heads.high_m)):
        with np.errstate(divide="ignore", invalid="ignore"):
            share = left / pace
        last = np.where(pace > 0, np.minimum(last, share), last)
        first = np.where(pace < 0, np.maximum(first, share), first)
        passes &= (pace != 0) | (left > 0)
    passes &= first < last
    ends = np.stack([heads.xy_m, heads.to_m])[:, None]
    away = ends - at[None, :, None, :2]
    corners = [
        at[:, None, :2] + share[..., None] * away[k]
        for share, k in ((first, 0), (last, 0), (last, 1), (first, 1))
    ]
    return passes, np.stack(corners, axis=2)


def _meets_outline(plan: Floats, solid: Blocker) -> NDArray[np.bool_]:
    """(...) whether convex plan areas (..., 4, 2), corners in order, meet the inside of the solid's outline."""
    if isinstance(solid, Cylinder):
        return _plan_distance(plan - np.array(solid.middle_m[:2])) < solid.radius_m - GRAZE_M
    outline = np.array(solid.corners_on_plan() if isinstance(solid, Box) else solid.outline_m)
    normals, offsets = sides_of(outline)
    if not len(normals):
        return np.zeros(plan.shape[:-2], np.bool_)
    meets = (np.einsum("...ij,kj->...ki", plan, normals).min(axis=-1) < offsets - GRAZE_M).all(axis=-1)
    for side in range(4):
        along = plan[..., (side + 1) % 4, :] - plan[..., side, :]
        across = np.stack([along[..., 1], -along[..., 0]], axis=-1)
        length = np.hypot(across[..., 0], across[..., 1])[..., None]
        across = across / np.where(length > 0, length, 1.0)
        own = np.einsum("...ij,...j->...i", plan, across)
        theirs = across @ outline.T
        parts = (own.max(axis=-1) <= theirs.min(axis=-1) + GRAZE_M) | (
            own.min(axis=-1) >= theirs.max(axis=-1) - GRAZE_M
        )
        meets &= ~parts | (length[..., 0] == 0)
    return np.asarray(meets)


def _plan_distance(plan: Floats) -> Floats:
    """(...) distance of the origin to convex plan areas (..., 4, 2), corners in order; 0 inside."""
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


def mesh_crossings(starts: ArrayLike, ends: ArrayLike, vertices: ArrayLike, faces: ArrayLike) -> Crossings:
    """Where k lines first meet and last leave the surface of one triangle mesh: (k, 1).

    `vertices` (v, 3), `faces` (f, 3). For a closed mesh of any shape: a line meets it at `enter` (0 if
    it begins inside) and has left it at `leave` (1 if it ends inside).
    """
    start, end = np.atleast_2d(np.asarray(starts, float)), np.atleast_2d(np.asarray(ends, float))
    corner = np.asarray(vertices, float)[np.asarray(faces, np.intp)]
    origin, one, other = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    along = end - start
    enter, leave = np.full(len(start), np.nan), np.full(len(start), np.nan)
    for k in range(len(start)):
        normal = np.cross(along[k], other)
        lean = np.einsum("ij,ij->i", one, normal)
        away = start[k] - origin
        cross = np.cross(away, one)
        edge = 1e-12
        with np.errstate(divide="ignore", invalid="ignore"):
            u = np.einsum("ij,ij->i", away, normal) / lean
            v = np.einsum("j,ij->i", along[k], cross) / lean
            t = np.einsum("ij,ij->i", other, cross) / lean
            within = (u >= -edge) & (v >= -edge) & (u + v <= 1 + edge) & np.isfinite(t)
        at = t[within]
        ahead = np.unique(np.round(at[at > 0], 12))
        # an odd number of surfaces ahead: the line begins inside
        starts_inside = len(ahead) % 2 == 1
        on_line = ahead[ahead < 1]
        ends_inside = (len(ahead) - len(on_line)) % 2 == 1
        if len(on_line) or starts_inside:
            enter[k] = 0.0 if starts_inside else on_line[0]
            leave[k] = 1.0 if ends_inside or not len(on_line) else on_line[-1]
    return Crossings(enter[:, None], leave[:, None], np.linalg.norm(along, axis=1))
