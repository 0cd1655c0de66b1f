"""Exact distances on plan from a hanging body to the edges of an area: a room, a table, what is walked on."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.clearance import BLOCK, Floats, Hanging, outline_gap, rectangle_distance
from geometry.records import record

Box = tuple[tuple[float, float], tuple[float, float]]
"""Lowest and highest corner of a rectangle along x and y."""


@record(frozen=True, slots=True, eq=False)
class Edges:
    """The edges of an area's outlines as arrays, made once by `edges_of` for many calls.

    (e, 2) their starts, middles, half extents and directions; (e,) how far each runs along x and along y, and the
    y of its end.
    """

    start: Floats
    middle: Floats
    half: Floats
    along: Floats
    run_x: Floats
    run_y: Floats
    end_y: Floats


@record(frozen=True, slots=True, eq=False)
class Areas:
    """Several areas with edges, stacked; (k,) where each one's edges begin."""

    edges: Edges
    start: NDArray[np.intp]

    @classmethod
    def of(cls, each: Sequence[Edges]) -> Areas:
        """The areas in this order."""
        names = ("start", "middle", "half", "along", "run_x", "run_y", "end_y")
        stacked = {name: np.concatenate([getattr(one, name) for one in each]) for name in names}
        start = np.cumsum([0, *(len(one.start) for one in each[:-1])])
        return cls(Edges(**stacked), start)


def edges_of(rings: Sequence[ArrayLike]) -> Edges:
    """The edges of these outlines (k, 2), those without length left out."""
    corners = [np.asarray(ring, float).reshape(-1, 2) for ring in rings] or [np.empty((0, 2))]
    starts = np.concatenate(corners)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in corners])
    lengths = np.hypot(*(ends - starts).T)
    keep = lengths > 0
    starts, ends, lengths = starts[keep], ends[keep], lengths[keep]
    return Edges(
        start=starts,
        middle=(starts + ends) / 2,
        half=np.stack([lengths / 2, np.zeros_like(lengths)], axis=1),
        along=(ends - starts) / lengths[:, None],
        run_x=ends[:, 0] - starts[:, 0],
        run_y=ends[:, 1] - starts[:, 1],
        end_y=ends[:, 1],
    )


def inside_gap(hanging: Hanging, positions: ArrayLike, rings: Sequence[ArrayLike] | Edges) -> Floats:
    """Signed plan distances (n,) of the body to the edge of an area, positive when wholly inside.

    `rings` are the outlines (k, 2) of the area, holes among them (inside is by even-odd). Negative
    when the body overlaps an edge or is outside; exact when it is inside, 1-Lipschitz everywhere.
    No rings: minus infinity.
    """
    to_edges, centre = _to_rings(hanging, positions, rings)
    # the outline holds its own centre, so once inside the edges are nearer to it than to the centre
    return np.minimum(to_edges, centre)


def outside_gap(hanging: Hanging, positions: ArrayLike, rings: Sequence[ArrayLike] | Edges) -> Floats:
    """Signed plan distances (n,) of the body to an area, positive when wholly outside.

    As `inside_gap`: exact when outside, negative when any part is over the area. No rings: infinity.
    """
    to_edges, centre = _to_rings(hanging, positions, rings)
    return np.minimum(to_edges, -centre)


def outside_gaps(hanging: Hanging, positions: ArrayLike, areas: Areas) -> Floats:
    """(n, areas) `outside_gap` of each of several areas, in one call."""
    to_edges, centre = _to_each(hanging, positions, areas.edges, areas.start)
    return np.minimum(to_edges, -centre)


def inside_boxes_gap(hanging: Hanging, positions: ArrayLike, boxes: Floats) -> Floats:
    """(n, k) `inside_gap` of rectangles along x and y, (k, 2, 2) their lowest and highest corners, in closed form.

    Of the same sign, and exact when inside.
    """
    at = np.atleast_2d(np.asarray(positions, float))[:, None, :2]
    turn, (width, depth) = math.radians(hanging.turn_deg), hanging.size_m
    c, s = abs(math.cos(turn)), abs(math.sin(turn))
    more = hanging.swept_m + hanging.radius_m
    extents = np.array([(c * width + s * depth) / 2 + more, (s * width + c * depth) / 2 + more])
    return np.asarray((np.minimum(at - boxes[:, 0], boxes[:, 1] - at) - extents).min(axis=2))


def _to_rings(
    hanging: Hanging, positions: ArrayLike, rings: Sequence[ArrayLike] | Edges
) -> tuple[Floats, Floats]:
    """Body to the nearest edge (n,), and the centre to it, signed, positive inside."""
    edges = rings if isinstance(rings, Edges) else edges_of(rings)
    if not len(edges.start):
        count = len(np.atleast_2d(np.asarray(positions, float)))
        return np.full(count, np.inf), np.full(count, -np.inf)
    to_edges, centre = _to_each(hanging, positions, edges, np.zeros(1, np.intp))
    return to_edges[:, 0], centre[:, 0]


def _to_each(
    hanging: Hanging, positions: ArrayLike, edges: Edges, start: NDArray[np.intp]
) -> tuple[Floats, Floats]:
    """(n, areas) body to the nearest edge of each area, whose edges begin at `start`, and the centre, signed."""
    at = np.atleast_2d(np.asarray(positions, float))[:, :2]
    run = np.where(edges.run_y == 0, 1.0, edges.run_y)
    to_edges, centre = np.empty((len(at), len(start))), np.empty((len(at), len(start)))
    rows = max(1, BLOCK // max(1, len(edges.start)))
    for first in range(0, len(at), rows):
        part = at[first : first + rows, None, :]
        away = part - edges.middle
        nearest = np.minimum.reduceat(rectangle_distance(away, edges.half, edges.along), start, axis=1)
        to_edges[first : first + rows] = (
            nearest - hanging.radius_m
            if hanging.round
            else np.minimum.reduceat(outline_gap(hanging, away, edges.half, edges.along), start, axis=1)
        )
        past = part - edges.start
        # corners compared themselves, not differences, which round: an edge's end is the next one's start
        y = part[..., 1]
        straddles = (y < edges.start[:, 1]) != (y < edges.end_y)
        right = past[..., 0] < past[..., 1] * (edges.run_x / run)
        inside = np.logical_xor.reduceat(straddles & right, start, axis=1)
        centre[first : first + rows] = np.where(inside, nearest, -nearest)
    return to_edges, centre
