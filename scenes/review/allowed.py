"""The stretches of height where nothing of a review fails, and the best height there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scenes.review.height_table import best_of, counts_at
from scenes.review.plumb import Plumb
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.rules.along import OpenRows

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Stretch = tuple[float, float]

STEP_M = 0.005
"""From one height that is judged to the next; a stretch that is thinner may be overlooked, never made up."""
ENDS_M = 1e-6
"""How exactly the ends of a stretch, and the best height, are found; both ends are allowed."""
ZOOM = 16
"""Heights between two neighbours that are judged to find an end, or the best, more exactly."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """Stretches that are allowed, rising, and the best height of them with its margin; None where there are none."""

    stretches_m: tuple[Stretch, ...]
    best_m: float | None
    margin_m: float | None


def allowed_heights(
    scene: Scene, array: Array, served: Sequence[int], extra_m: Sequence[float]
) -> dict[str, Allowed]:
    """By band. `extra_m` are heights worth a look besides: where coverage begins, ends or is best.

    Where another array has no place yet, only the heads `served` (indices) have to be covered.
    """
    low, high = height_span_m(scene, array)
    grid = np.append(np.arange(low, high, STEP_M), high)
    heights = np.unique([*grid.tolist(), *(one for one in extra_m if low <= one <= high)])
    whole = all(one.placed for one in scene.arrays if one.id != array.id)
    judge = _Judge(scene, array, range(len(scene.heads)) if whole else served)
    return {name: _of_band(judge, name, heights) for name in array.profile.bands}


class _Judge:
    """What a review would say of heights, asked for several bands; what was judged of rules is kept."""

    def __init__(self, scene: Scene, array: Array, heads: Sequence[int]) -> None:
        self.scene, self.array, self.heads = scene, array, np.array(heads, np.int64)
        self._plumb, self._rows = Plumb(scene, array, np.zeros(0)), OpenRows(scene, array)
        self._at: dict[bytes, Plumb] = {}
        self._short: dict[float, bool] = {}

    def __call__(self, band_name: str, heights: Floats) -> tuple[Bools, Floats, Floats]:
        """(h,) whether nothing fails, how many are covered, and the least margin."""
        key = heights.tobytes()
        if key not in self._at:
            self._at[key] = self._plumb.at(heights)
        stand = self._at[key].stand(band_name)
        allowed = np.asarray(~(stand.missed | stand.surely)[:, self.heads].any(axis=1), np.bool_)
        allowed[allowed] = ~self._is_short(heights[allowed])
        covered = np.array([one.covered for one in counts_at(self.scene, stand)], float)
        return allowed, covered, stand.margin_m[:, self.heads].min(axis=1, initial=np.inf)

    def _is_short(self, heights: Floats) -> Bools:
        new = np.array([one for one in heights.tolist() if one not in self._short])
        self._short |= zip(new.tolist(), self._rows.short(new).tolist(), strict=True)
        return np.array([self._short[one] for one in heights.tolist()], np.bool_)


def _of_band(judge: _Judge, name: str, heights: Floats) -> Allowed:
    allowed, covered, margin = judge(name, heights)
    best = best_of(covered.tolist(), margin, allowed)
    if best is None:
        return Allowed((), None, None)
    stretches = tuple(_stretches(judge, name, heights, allowed))
    low, high = heights[max(best - 1, 0)], heights[min(best + 1, len(heights) - 1)]
    at, most, largest = float(heights[best]), covered[best], float(margin[best])
    ends = np.array([end for pair in stretches for end in pair])
    while True:
        some = np.unique(
            np.concatenate([np.linspace(low, high, ZOOM), ends[(ends >= low) & (ends <= high)], [at]])
        )
        fine, many, left = judge(name, some)
        k = best_of(many.tolist(), left, fine)
        if k is not None and (many[k], left[k]) >= (most, largest):
            at, most, largest = float(some[k]), many[k], float(left[k])
        if high - low < ENDS_M:
            return Allowed(_with(stretches, at), at, largest)
        step = (high - low) / (ZOOM - 1)
        low, high = max(low, at - step), min(high, at + step)


def _with(stretches: Sequence[Stretch], at: float) -> tuple[Stretch, ...]:
    """The stretches; that which ends just short of the best height has its end there."""
    return tuple(
        (min(low, at), max(high, at)) if low - ENDS_M <= at <= high + ENDS_M else (low, high)
        for low, high in stretches
    )


def _stretches(judge: _Judge, name: str, heights: Floats, allowed: Bools) -> list[Stretch]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], allowed, [False]]).astype(int)))
    found = []
    for first, after in edges.reshape(-1, 2).tolist():
        low, high = float(heights[first]), float(heights[after - 1])
        if first > 0:
            low = _end(judge, name, low, float(heights[first - 1]))
        if after < len(heights):
            high = _end(judge, name, high, float(heights[after]))
        found.append((low, high))
    return found


def _end(judge: _Judge, name: str, inside: float, outside: float) -> float:
    """The last allowed height on the way from one that is allowed to one that is not."""
    while abs(outside - inside) > ENDS_M:
        some = np.linspace(inside, outside, ZOOM)
        rising = some if outside > inside else some[::-1]
        allowed, _, _ = judge(name, rising)
        fine = allowed if outside > inside else allowed[::-1]
        last = max(int(np.argmin(fine)) - 1, 0)
        inside, outside = float(some[last]), float(some[last + 1])
    return inside
