"""Which boxes are crossed by which segments."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

NEAR = 1e-9
"""A segment so far off a box still counts as near it: only what is farther is left out before the pairs are clipped."""
FEW = 2000
"""So many pairs are clipped sooner than looked through for those that are near."""


def crossings(
    boxes: NDArray[np.float64], lines: NDArray[np.float64], *, each: bool = False
) -> NDArray[np.float64]:
    """How many of the segments (k, 4) each box (n, 4) is crossed by; `each`: 1 or 0 for each pair (n, k)."""
    if not each and len(boxes):
        # places round one thing: most of a drawing's segments are nowhere near
        lines = lines[_near(_around(boxes), lines)[0]]
    if len(boxes) * len(lines) <= FEW:
        found = _crossed(boxes[:, None], lines[None]).astype(float)
    else:
        found = np.zeros((len(boxes), len(lines)))
        box, line = np.nonzero(_near(boxes, lines))
        found[box, line] = _crossed(boxes[box], lines[line])
    return found if each else found.sum(axis=1)


def _around(boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """The one box (1, 4) around all of them."""
    return np.concatenate([boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)])[None]


def _near(boxes: NDArray[np.float64], lines: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which segments (k, 4) lie in a box around them that meets each of the boxes (n, 4): (n, k)."""
    low, high = np.minimum(lines[:, :2], lines[:, 2:]) - NEAR, np.maximum(lines[:, :2], lines[:, 2:]) + NEAR
    near: NDArray[np.bool_] = low[:, 0] <= boxes[:, 2:3]
    near &= high[:, 0] >= boxes[:, 0:1]
    near &= low[:, 1] <= boxes[:, 3:4]
    near &= high[:, 1] >= boxes[:, 1:2]
    return near


def _crossed(boxes: NDArray[np.float64], lines: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether each segment crosses the box beside it, both (..., 4), by Liang and Barsky: what is left has a length."""
    enter, leave = np.array(0.0), np.array(1.0)
    for axis in (0, 1):
        start, way = lines[..., axis], lines[..., axis + 2] - lines[..., axis]
        along = np.where(way == 0, 1e-12, way)
        first, second = (boxes[..., axis] - start) / along, (boxes[..., axis + 2] - start) / along
        enter = np.maximum(enter, np.minimum(first, second))
        leave = np.minimum(leave, np.maximum(first, second))
    crossed: NDArray[np.bool_] = enter < leave
    return crossed


def arc_points(
    at: Sequence[float], radius: float, start_deg: float, end_deg: float
) -> list[tuple[float, float]]:
    """Points along an arc, close enough for letters to keep off it."""
    sweep = (end_deg - start_deg) % 360 or 360
    steps = max(6, math.ceil(sweep / 6))
    return [
        (
            at[0] + radius * math.cos(math.radians(start_deg + sweep * i / steps)),
            at[1] + radius * math.sin(math.radians(start_deg + sweep * i / steps)),
        )
        for i in range(steps + 1)
    ]
