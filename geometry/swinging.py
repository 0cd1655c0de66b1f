"""What a body sweeps that swings about a point over its middle, any way and up to an angle, and how far things are.

The swept solid is one of revolution about the plumb line through that point: a body may twist as it swings, so it is
the circle about its axis that holds it. What it is asked about is upright. Seen round the plumb line such a thing
is a rectangle, from its nearest to its farthest way from the line and from its underside to its top; so a distance in
space is one on a half plane, between that rectangle and the swept outline. The outline is cut into convex slices, each
with its round side outside: up to `FINE_M` too large there, never too small. Which makes every distance a safe one.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometry.records import record

Floats = NDArray[np.float64]

FINE_M = 0.001
"""The swept outline is at most this much too large where it is round, and twice that beside the cable."""

PAIRS = 1 << 11
"""Rectangles worked on at once: with all slices and edges a few megabytes."""

DEGENERATE = 1e-12
"""Edges and swept solids of no length, metres."""


@record(frozen=True, slots=True)
class Swinging:
    """A body that swings about a point straight above its acoustic centre, up to `angle_deg` out of plumb.

    It reaches from `below_m` under the centre to `above_m` over it, within `radius_m` of its axis, and hangs by a
    line of radius `line_m`. ValueError for an angle that is not between 0 and 90 degrees.
    """

    angle_deg: float
    radius_m: float
    below_m: float
    above_m: float
    line_m: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.angle_deg < 90:
            raise ValueError(f"Swinging angle_deg is {self.angle_deg}; it must be between 0 and 90")

    @property
    def steepest(self) -> float:
        """By how much a distance may change at most, metres for each metre that the acoustic centre moves.

        A point at the angle t moves by (dx + s dz, c dz) where the plumb line moves by dx on plan and the centre by dz
        up, with s = sin t and c = cos t: at most √(1 + s) of the movement.
        """
        return math.sqrt(1 + math.sin(math.radians(self.angle_deg)))

    def steepest_under(self, slope: float) -> float:
        """The same where the point it swings about is on a ceiling that rises by `slope` for each metre on plan."""
        return self.steepest + 2 * slope * math.sin(math.radians(self.angle_deg) / 2)

    def ends_m(self, drops_m: Floats) -> tuple[Floats, Floats]:
        """How far under the point the body begins and ends (n,), its centre (n,) under it."""
        top = np.maximum(drops_m - self.above_m, 0.0)
        return top, np.maximum(drops_m + self.below_m, top)

    def reach_m(self, drops_m: Floats) -> Floats:
        """(n,) how far from the plumb line any of it comes, on plan."""
        _, low = self.ends_m(drops_m)
        angle = math.radians(self.angle_deg)
        out = self.radius_m * math.cos(angle) + low * math.sin(angle)
        # the outer corner is farthest out when it is level with the point
        level = np.arctan2(self.radius_m, low) + angle > math.pi / 2
        return np.where(level, np.hypot(self.radius_m, low), out)

    def slices_for(self, longest_m: float) -> int:
        """Into how many slices all of the swing is cut where nothing hangs lower than this under the point."""
        far = math.hypot(longest_m, self.radius_m)
        half = math.acos(far / (far + FINE_M))
        return math.ceil(math.radians(self.angle_deg) / half)


def outlines(swinging: Swinging, drops_m: Floats, slices: int) -> tuple[Floats, Floats]:
    """The convex slices of what is swept, right of the plumb line: (n, slices, 6, 2) of the body, (n, 1, k, 2) of
    the line; corners (out, down) from the point it swings about, in one sense of turn.

    The left half of the body at one angle is within its right half at others, so the right one stands for both.
    """
    top, low = swinging.ends_m(drops_m)
    radius = np.full_like(low, swinging.radius_m)
    angle = math.radians(swinging.angle_deg)
    half = angle / slices
    cos, sin = math.cos(half), math.sin(half)
    corner = np.arctan2(radius, low)
    far = np.hypot(radius, low) / cos
    body = np.array(
        [
            [-top * sin, top * cos],
            [radius * cos + top * sin, top * cos - radius * sin],
            [radius * cos + low * sin, low * cos - radius * sin],
            [far * np.sin(corner), far * np.cos(corner)],
            [radius * cos - low * sin, low * cos + radius * sin],
            [-low * sin, low * cos],
        ]
    )
    middles = angle * (2 * np.arange(slices) + 1 - slices) / slices
    turn = np.array([[np.cos(middles), np.sin(middles)], [-np.sin(middles), np.cos(middles)]])
    ends = np.concatenate([angle * (slices - 2 * np.arange((slices + 1) // 2)) / slices, [0.0]])
    arc = np.stack([np.sin(ends), np.cos(ends)], axis=-1)
    line = np.concatenate([np.zeros((len(top), 1, 2)), top[:, None, None] * arc], axis=1)
    return np.einsum("abs,kbn->nska", turn, body), line[:, None]


def swung_gaps(
    swinging: Swinging, drops_m: Floats, spans_m: tuple[Floats, Floats, Floats, Floats], slices: int
) -> Floats:
    """Signed distances (n, m) from what is swept to rectangles, negative where it goes into them.

    `drops_m` (n,) is how far the centre is under the point; `spans_m` are the rectangles' nearest and farthest way from
    the plumb line, and how far their tops and undersides are under the point, (n, m) each. Never more than the true
    distance, and at most about 2 mm less; inside, the way out of the slice that is deepest in.
    """
    count = spans_m[0].shape[1]
    result = np.empty((len(drops_m), count))
    rows = max(1, PAIRS // max(1, count))
    for first in range(0, len(drops_m), rows):
        some = slice(first, first + rows)
        body, line = outlines(swinging, drops_m[some], slices)
        boxes = np.stack([one[some] for one in spans_m], axis=-1)
        to_line = _nearest(line, boxes) - swinging.line_m
        result[some] = np.minimum(_nearest(body, boxes), to_line)
    return result


def _nearest(corners: Floats, boxes: Floats) -> Floats:
    """(n, m) from the nearest of slices (n, s, k, 2) to boxes (n, m, 4): only those are asked that can be it."""
    middle = corners.mean(axis=2)
    radius = np.hypot(*np.moveaxis(corners - middle[:, :, None], -1, 0)).max(axis=-1)[:, None]
    near, far, top, low = (boxes[..., i, None] for i in range(4))
    out, down = middle[:, None, :, 0], middle[:, None, :, 1]
    past = np.maximum(near - out, out - far), np.maximum(top - down, down - low)
    # of the middle of a slice, which is in it: the slice is nearer than that by no more than its radius
    apart = np.where(
        np.maximum(*past) < 0, np.maximum(*past), np.hypot(np.maximum(past[0], 0), np.maximum(past[1], 0))
    )
    rows, columns = (index.ravel() for index in np.indices(apart.shape[:2]))
    first = apart.argmin(axis=-1)
    least: Floats = _convex_gaps(corners[rows, first.ravel()], boxes[rows, columns]).reshape(first.shape)
    row, column, which = np.nonzero(apart - radius < least[..., None])
    other = which != first[row, column]
    row, column, which = row[other], column[other], which[other]
    np.minimum.at(least, (row, column), _convex_gaps(corners[row, which], boxes[row, column]))
    return least


def _convex_gaps(corners: Floats, boxes: Floats) -> Floats:
    """(p,) from convex outlines (p, k, 2) to upright boxes (p, 4): near, far, top, low."""
    near, far, top, low = (boxes[:, i, None] for i in range(4))
    out, down = corners[..., 0], corners[..., 1]
    # each edge with its normal, outwards, and the box's corner that is the farthest back along it
    ahead = np.roll(corners, -1, axis=1) - corners
    length = np.hypot(ahead[..., 0], ahead[..., 1])
    along = ahead / np.where(length > DEGENERATE, length, 1.0)[..., None]
    normal_out, normal_down = along[..., 1], -along[..., 0]
    back = (
        np.where(normal_out > 0, near, far) * normal_out + np.where(normal_down > 0, top, low) * normal_down
    )
    beyond = np.where(length > DEGENERATE, back - out * normal_out - down * normal_down, -np.inf)
    sides = (near[:, 0] - out.max(axis=1), out.min(axis=1) - far[:, 0])
    ends = (top[:, 0] - down.max(axis=1), down.min(axis=1) - low[:, 0])
    deepest = np.maximum.reduce([beyond.max(axis=1), *sides, *ends])
    # outside it is between a corner of one and an edge of the other
    nearest = np.hypot(
        np.maximum(np.maximum(near - out, out - far), 0), np.maximum(np.maximum(top - down, down - low), 0)
    ).min(axis=1)
    for x, y in ((near, top), (near, low), (far, top), (far, low)):
        dx, dy = x - out, y - down
        share = np.clip(dx * along[..., 0] + dy * along[..., 1], 0, length)
        to_edge = np.hypot(dx - share * along[..., 0], dy - share * along[..., 1])
        nearest = np.minimum(nearest, to_edge.min(axis=1))
    return np.asarray(np.where(deepest < 0, deepest, nearest))
