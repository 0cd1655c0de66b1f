"""How far an array may be off before a line that is clear is hidden: from it past solids, and past it.

What a solid hides from a row of mouths is one convex shadow (`geometry.shadow`), so a box of places is asked plane
by plane, a level disc by the shadow's outline at that height, a plumb line by where it enters. What hangs
anywhere in a box or disc covers an upright convex prism meanwhile, which hides exactly what it hides somewhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry.band import ON_EDGE_M, Floats
from geometry.off_by import OffBy
from geometry.pieces import hull
from geometry.shadow import SIDES, Planes, Sight
from geometry.shapes import Box, Cylinder, Point2, Prism

SPLIT = 4
"""How often a box that is in doubt is halved each way before it counts as losing something."""
HALVES = np.array([(x, y, z) for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])
ROUND = 128
"""Sides of the prism that stands round what is round."""


def hides_in_box(sight: Sight, at_m: Floats, off: OffBy) -> int | None:
    """A solid that hides a mouth from somewhere in a box about `at_m` (3,); None where surely none does."""
    middle = at_m + np.array([0.0, 0.0, (off.up_m - off.down_m) / 2])
    half = np.array([off.sideways_m, off.sideways_m, (off.up_m + off.down_m) / 2])
    for solid in sight.near(np.array([middle - half, middle + half])):
        if _hidden_in(sight, solid, middle, half, SPLIT):
            return solid
    return None


def _hidden_in(sight: Sight, solid: int, middle: Floats, half: Floats, splits: int) -> bool:
    """Whether a solid hides a mouth somewhere in a box; of boxes in doubt after `splits` halvings: yes."""
    least = sight.past_in_box_m(solid, middle, float(half[0]), float(half[2]), float(half[2]))
    if least.min(initial=math.inf) >= -ON_EDGE_M:
        return False
    if not splits or not sight.sees_past(solid, middle[None]).all():
        return True
    part = sight.take(np.flatnonzero(least < -ON_EDGE_M))
    return any(_hidden_in(part, solid, middle + half * way, half / 2, splits - 1) for way in HALVES)


def disc_to_hidden(sight: Sight, at_m: Floats, most_m: float) -> tuple[float, int | None]:
    """Radius of the largest level disc in which no solid hides a mouth, up to `most_m`, and which ends it."""
    least, ends = most_m, None
    round_it = np.array([most_m, most_m, 0.0])
    for solid in sight.near(np.array([at_m - round_it, at_m + round_it])):
        planes = sight.planes(solid, SIDES[-1], "outer")
        for row in np.flatnonzero(_off_level(planes, at_m) < least):
            one = planes.take(np.array([row]))
            past = one.normals @ at_m + one.offsets
            distance = _distance_on_level(one.normals[:, :2], past, least)
            if distance < least:
                least, ends = distance, solid
    return least, ends


def straight_to_hidden(sight: Sight, at_m: Floats, rise_m: float) -> tuple[float, int | None]:
    """How far straight up (down where `rise_m` is negative) no solid hides a mouth, up to that, and which ends it."""
    way, least, ends = math.copysign(1.0, rise_m), abs(rise_m), None
    for solid in sight.near(np.array([at_m, at_m + np.array([0.0, 0.0, rise_m])])):
        for normals, offsets in _by_row(sight.planes(solid, SIDES[-1], "outer")):
            past, pace = normals @ at_m + offsets, way * normals[:, 2]
            if np.any((pace == 0) & (past >= -ON_EDGE_M)):
                continue
            falling, rising = pace < 0, pace > 0
            enter = float((-past[falling] / pace[falling]).max(initial=0.0))
            leave = float((-past[rising] / pace[rising]).min(initial=math.inf))
            if enter < leave - ON_EDGE_M and enter < least:
                least, ends = enter, solid
    return least, ends


def _by_row(planes: Planes) -> list[tuple[Floats, Floats]]:
    """The normals (p, 3) and offsets (p,) of each row's planes."""
    cuts = planes.start[1:]
    return list(zip(np.split(planes.normals, cuts), np.split(planes.offsets, cuts), strict=True))


def _off_level(planes: Planes, at: Floats) -> Floats:
    """(rows,) how far on plan `at` (3,) is from the farthest of each row's half planes: no shadow is nearer."""
    past, size = planes.normals @ at + planes.offsets, np.hypot(planes.normals[:, 0], planes.normals[:, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        off = np.where(size > 0, past / size, np.where(past >= -ON_EDGE_M, np.inf, -np.inf))
    return np.asarray(np.maximum.reduceat(off, planes.start))


def _distance_on_level(normals: Floats, past: Floats, within_m: float) -> float:
    """Distance on plan to where normals (p, 2) · way + past (p,) < 0 for all; inf where it is `within_m` or more."""
    r = within_m
    ring = [np.array(corner) for corner in ((-r, -r), (r, -r), (r, r), (-r, r))]
    for normal, offset in zip(normals, past, strict=True):
        ring = _cut(ring, normal, float(offset))
        if len(ring) < 3:
            return math.inf
    start = np.array(ring)
    along = np.roll(start, -1, axis=0) - start
    square = (along * along).sum(axis=1)
    share = np.clip(-(start * along).sum(axis=1) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    near = start + share[:, None] * along
    return 0.0 if np.all(past < -ON_EDGE_M) else float(np.hypot(near[:, 0], near[:, 1]).min())


def _cut(ring: Sequence[Floats], normal: Floats, offset: float) -> list[Floats]:
    """What of a convex ring has normal · p + offset below 0."""
    past = [float(normal @ corner) + offset for corner in ring]
    kept = []
    for k, corner in enumerate(ring):
        here, before = past[k], past[k - 1]
        if (here < 0) != (before < 0):
            kept.append(ring[k - 1] + before / (before - here) * (corner - ring[k - 1]))
        if here < 0:
            kept.append(corner)
    return kept


def swept(
    solid: Box | Cylinder, off: OffBy, disc_m: float = 0.0, high_m: float | None = None
) -> Cylinder | Prism:
    """What an upright solid covers that may be off by a box, or by a level disc; up to `high_m` where that is fixed.

    Never less than it covers; circles grow by less than 0.04 % of their radius where they become prisms.
    """
    low, a = solid.low_m - off.down_m, off.sideways_m
    high = max(low, solid.high_m + off.up_m if high_m is None else high_m)
    radius = disc_m + (solid.radius_m if isinstance(solid, Cylinder) else 0.0)
    if isinstance(solid, Cylinder) and not a:
        return Cylinder((*solid.middle_m[:2], (low + high) / 2), radius, high - low)
    ring = _round_square(radius, a)
    if isinstance(solid, Cylinder):
        x, y = solid.middle_m[:2]
        return Prism(tuple((x + dx, y + dy) for dx, dy in ring), low, high)
    corners = solid.corners_on_plan()
    return Prism(hull([(x + dx, y + dy) for x, y in corners for dx, dy in ring]), low, high)


def _round_square(radius_m: float, half_m: float) -> list[Point2]:
    """The corners, anticlockwise, of what stands round a circle that is anywhere in a square about the origin."""
    if not radius_m:
        return [(half_m, half_m), (-half_m, half_m), (-half_m, -half_m), (half_m, -half_m)]
    turn = 2 * np.pi * (np.arange(ROUND) + 0.5) / ROUND
    unit = np.column_stack([np.cos(turn), np.sin(turn)])
    ring = unit * (radius_m / math.cos(math.pi / ROUND)) + np.sign(unit) * half_m
    return [(x, y) for x, y in ring.tolist()]
