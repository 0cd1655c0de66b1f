"""Which boxes are crossed by which segments."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def crossings(
    boxes: NDArray[np.float64], lines: NDArray[np.float64], *, each: bool = False
) -> NDArray[np.float64]:
    """How many of the segments (k, 4) each box (n, 4) is crossed by; `each`: 1 or 0 for each pair (n, k)."""
    if not each and len(boxes):
        # places round one thing: most of a drawing's segments are nowhere near
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        ends = lines.reshape(-1, 2, 2)
        lines = lines[((ends.max(axis=1) >= low) & (ends.min(axis=1) <= high)).all(axis=1)]
    # clip every segment to every box (Liang and Barsky): what is left has a length or nothing
    start, way = lines[:, :2], lines[:, 2:] - lines[:, :2]
    enter = np.zeros((len(boxes), len(lines)))
    leave = np.ones((len(boxes), len(lines)))
    for axis in (0, 1):
        low = boxes[:, axis, None] - start[None, :, axis]
        high = boxes[:, axis + 2, None] - start[None, :, axis]
        along = np.where(way[:, axis] == 0, 1e-12, way[:, axis])[None]
        first, second = low / along, high / along
        enter = np.maximum(enter, np.minimum(first, second))
        leave = np.minimum(leave, np.maximum(first, second))
    crossed: NDArray[np.float64] = (enter < leave).astype(float)
    return crossed if each else crossed.sum(axis=1)
