"""Where the lines from a place to all the mouths of a head first meet a solid that is in the way of some.

`geometry.sight.hidden` says whether any line is blocked; here is one that is, for whoever must point at it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.coverage import Heads
from geometry.records import record
from geometry.shapes import Blocker, Box, Cylinder
from geometry.sight import GRAZE_M, Floats, crossings

ALONG, UP = 9, 5
"""How many mouths are asked along a leg, and up a mouth range, for the line that is blocked first."""
ROUND = 16
"""Corners that stand for a round outline where its nearest part is looked for."""
INWARDS = 0.01
"""The nearest spot is taken this share of the way to the middle."""
SMALL = 1e-12


@record(frozen=True, slots=True, eq=False)
class Met:
    """A line from a place to `mouth_m` (3,) that enters a solid at `at_m` (3,), `way_m` from the place."""

    mouth_m: Floats
    at_m: Floats
    way_m: float


def first_met(position_m: Floats, head: Heads, solids: Sequence[Blocker]) -> tuple[Met | None, ...]:
    """For each solid the line that it blocks soonest, of a few mouths and of those found behind it; or None.

    `head` is a single one, with all its rows.
    """
    at, mouths = np.asarray(position_m, float), _mouths(head)
    behind = [
        [mouth for row in range(len(head.xy_m)) for mouth in _mouths_behind(at, head, row, solid)]
        for solid in solids
    ]
    asked = np.concatenate([mouths, *(some for some in behind if some)])
    met = crossings(np.broadcast_to(at, asked.shape), asked, solids)
    way = np.where(met.blocked, met.enter * met.length_m[:, None], np.inf)
    found: list[Met | None] = []
    for column, some in enumerate(behind):
        nearest = int(np.argmin(way[:, column]))
        if np.isfinite(way[nearest, column]):
            entered = at + met.enter[nearest, column] * (asked[nearest] - at)
            found.append(Met(asked[nearest], entered, float(way[nearest, column])))
        elif some:  # it hides by less than a single line shows
            found.append(Met(some[0], some[0], float(np.linalg.norm(some[0] - at))))
        else:
            found.append(None)
    return tuple(found)


def _mouths(head: Heads) -> Floats:
    """(k, 3) mouths of a head: both ends and the middle of every range, all along every leg."""
    found = []
    for xy, to, low, high in zip(head.xy_m, head.to_m, head.low_m, head.high_m, strict=True):
        shares = np.linspace(0, 1, ALONG)[:, None] if (xy != to).any() else np.zeros((1, 1))
        heights = np.linspace(low, high, UP) if high > low else np.array([low])
        plan = xy + shares * (to - xy)
        found.append(np.column_stack([np.repeat(plan, len(heights), axis=0), np.tile(heights, len(plan))]))
    return np.concatenate(found)


def _mouths_behind(at: Floats, head: Heads, row: int, solid: Blocker) -> list[Floats]:
    """Mouths (3,) of one row that the solid hides: from the middle of what it cuts out of the lines, and the nearest."""
    low, high = solid.low_m + GRAZE_M, solid.high_m - GRAZE_M
    down, up = head.low_m[row] - at[2], head.high_m[row] - at[2]
    first, last = 0.0, 1.0
    for left, pace in ((high - at[2], down), (at[2] - low, -up)):
        # left - share * pace > 0: below the top with the lowest mouth, above the underside with the highest
        if abs(pace) < SMALL:
            if left <= 0:
                return []
        elif pace > 0:
            last = min(last, left / pace)
        else:
            first = max(first, left / pace)
    if first >= last:
        return []
    ways = head.xy_m[row] - at[:2], head.to_m[row] - at[:2]
    corners = np.array([first * ways[0], last * ways[0], last * ways[1], first * ways[1]]) + at[:2]
    found = []
    for spot in _common(corners, solid, at[:2]):
        share, along = _on_the_way(spot - at[:2], *ways, first, last)
        z = at[2] + share * np.array([down, up])
        height = (max(z[0], low) + min(z[1], high)) / 2
        mouth_z = at[2] + (height - at[2]) / share if share > SMALL else head.low_m[row]
        mouth_z = min(max(mouth_z, head.low_m[row]), head.high_m[row])
        found.append(np.array([*(head.xy_m[row] + along * (head.to_m[row] - head.xy_m[row])), mouth_z]))
    return found


def _on_the_way(spot: Floats, start: Floats, end: Floats, first: float, last: float) -> tuple[float, float]:
    """Share of the line from the origin at which it passes a plan spot, and share of the leg where it ends."""
    leg = end - start
    turn = spot[0] * leg[1] - spot[1] * leg[0]
    if abs(turn) > SMALL:
        # ahead by 1 / share it is on the leg
        ahead = (start[0] * leg[1] - start[1] * leg[0]) / turn
        share = 1 / ahead if ahead > SMALL else last
        along = float(np.dot(ahead * spot - start, leg) / np.dot(leg, leg))
        return min(max(share, first), last), min(max(along, 0.0), 1.0)
    far = float(np.dot(spot, spot))
    reach = [float(np.dot(way, spot)) for way in (start, end)]
    if far < SMALL or max(reach) < SMALL:  # straight above one mouth: any share passes it
        return (first + last) / 2, 0.0
    # the leg runs along the line: the nearest share that one of its mouths gives
    low = max(first, far / max(reach))
    high = min(last, far / min(reach)) if min(reach) > SMALL else last
    share = min(max((low + high) / 2, SMALL), 1.0)
    gain = reach[1] - reach[0]
    along = (far / share - reach[0]) / gain if abs(gain) > SMALL else 0.0
    return share, min(max(along, 0.0), 1.0)


def _common(corners: Floats, solid: Blocker, at: Floats) -> list[Floats]:
    """Plan spots (2,) that a convex area (4, 2), which may be flat, has in common with the solid's inside.

    The middle of it and, a little inside, the one nearest to `at`; none where they have nothing in common.
    """
    if isinstance(solid, Cylinder):
        middle = np.array(solid.middle_m[:2])
        spot = _nearest(corners, middle)
        if np.hypot(*(spot - middle)) >= solid.radius_m - GRAZE_M:
            return []
        turn = 2 * np.pi * np.arange(ROUND) / ROUND
        outline = middle + (solid.radius_m - GRAZE_M) * np.column_stack([np.cos(turn), np.sin(turn)])
        left = _clipped(corners, outline)
        return [spot, *([_inside(left, at)] if len(left) else [])]
    left = _clipped(corners, np.array(solid.corners_on_plan() if isinstance(solid, Box) else solid.outline_m))
    return [left.mean(axis=0), _inside(left, at)] if len(left) else []


def _inside(area: Floats, at: Floats) -> Floats:
    """(2,) nearly the spot of a convex area (k, 2) that is nearest to `at`, but not on its edge."""
    return np.asarray(_nearest(area, at) * (1 - INWARDS) + area.mean(axis=0) * INWARDS)


def _clipped(corners: Floats, outline: Floats) -> Floats:
    """The part (k, 2) of a convex area that lies within a convex outline, less a graze all round."""
    left = corners
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        out = np.array([b[1] - a[1], a[0] - b[0]])
        length = np.hypot(*out)
        if length > 0 and len(left):
            left = _behind(left, out / length, float(out @ a) / length - GRAZE_M)
    return left


def _behind(corners: Floats, normal: Floats, offset: float) -> Floats:
    """The part of a convex area (k, 2), in order, that lies behind a line."""
    past = corners @ normal - offset
    kept = []
    for k in range(len(corners)):
        here, there = past[k - 1], past[k]
        if (here < 0) != (there < 0):
            kept.append(corners[k - 1] + here / (here - there) * (corners[k] - corners[k - 1]))
        if there < 0:
            kept.append(corners[k])
    return np.array(kept).reshape(-1, 2)


def _nearest(corners: Floats, spot: Floats) -> Floats:
    """(2,) the place of a convex area (k, 2), in order, nearest to a spot; the spot itself where it is inside."""
    start, along = corners, np.roll(corners, -1, axis=0) - corners
    away = spot - start
    turns = along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0]
    if ((turns >= 0).all() or (turns <= 0).all()) and (turns != 0).any():
        return spot
    square = (along * along).sum(axis=1)
    share = np.clip((away * along).sum(axis=1) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    near = start + share[:, None] * along
    return np.asarray(near[np.argmin(((near - spot) ** 2).sum(axis=1))])
