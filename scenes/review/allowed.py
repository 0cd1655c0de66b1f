"""The stretches of height where nothing of a review fails, and the best height there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.records import record
from scenes.findings.heights import Unkept
from scenes.findings.review import AREA_STATES
from scenes.review.best import Wishes, best_of
from scenes.review.height_table import counts_at, heights_on_offer
from scenes.review.plumb import Plumb
from scenes.room.scene import Array, Scene
from scenes.room.spans import Interval, height_span_m
from scenes.rules.along import OpenRows

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Stretch = tuple[float, float]

STEP_M = 0.005
"""From one height that is judged to the next; a stretch that is thinner may be overlooked, never made up."""
ENDS_M = 1e-6
"""How exactly the ends of a stretch, and the best height, are found; both ends are allowed."""
MISSED = AREA_STATES.index("missed")
ZOOM = 16
"""Heights between two neighbours that are judged to find an end, or the best, more exactly."""


@record(frozen=True, slots=True)
class Allowed:
    """Stretches that are allowed, rising, and the best height of them with its margin; None where there are none.

    `offered` is the best of the heights on offer, the exact best where none of these is allowed; `unkept` is what it
    does not keep of the wishes for a height.
    """

    stretches_m: tuple[Stretch, ...]
    best_m: float | None = None
    margin_m: float | None = None
    offered_m: float | None = None
    offered_margin_m: float | None = None
    unkept: Unkept | None = None


def within(span: Interval, stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """What of the stretches, rising, lies in the span; nothing where there is none."""
    if span is None:
        return ()
    low, high = span
    return tuple((max(low, a), min(high, b)) for a, b in stretches if max(low, a) <= min(high, b))


def without(span: Interval, stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """What of the span lies in none of the stretches, rising; what is thinner than their ends are exact is left out."""
    if span is None:
        return ()
    edges = [span[0], *(end for pair in within(span, stretches) for end in pair), span[1]]
    gaps = zip(edges[::2], edges[1::2], strict=True)
    return tuple((low, high) for low, high in gaps if high - low > 2 * ENDS_M)


def allowed_on_offer(scene: Scene, array: Array) -> tuple[Stretch, ...]:
    """The stretches of heights on offer where nothing fails, rising, in the array's band; all arrays have a place."""
    heights = heights_on_offer(scene, array)
    judge = _Judge(scene, array, range(len(scene.heads)))
    allowed = judge(str(array.band_name), heights)[0]
    edges = np.flatnonzero(np.diff(np.concatenate([[False], allowed, [False]]).astype(int)))
    return tuple(
        (float(heights[first]), float(heights[after - 1])) for first, after in edges.reshape(-1, 2).tolist()
    )


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
    judge = _Judge(scene, array, range(len(scene.heads)) if whole else served, areas=whole)
    offered = heights_on_offer(scene, array)
    return {
        name: _offered(judge, name, _of_band(judge, name, heights), offered) for name in array.profile.bands
    }


class _Judge:
    """What a review would say of heights, asked for several bands; what was judged of rules is kept."""

    def __init__(self, scene: Scene, array: Array, heads: Sequence[int], *, areas: bool = True) -> None:
        self.scene, self.array, self.heads = scene, array, np.array(heads, np.int64)
        self.areas = areas
        self._plumb, self._rows = Plumb(scene, array, np.zeros(0)), OpenRows(scene, array)
        self._at: dict[bytes, Plumb] = {}
        self._short: dict[float, bool] = {}
        self.wishes = Wishes(scene, array, self._rows.measures)

    def __call__(self, band_name: str, heights: Floats) -> tuple[Bools, Floats, Floats]:
        """(h,) whether nothing fails, how many are covered, and the least margin."""
        key = heights.tobytes()
        if key not in self._at:
            self._at[key] = self._plumb.at(heights)
        stand = self._at[key].stand(band_name)
        allowed = np.asarray(~(stand.missed | stand.surely)[:, self.heads].any(axis=1), np.bool_)
        if self.areas and allowed.any():
            allowed[allowed] = (
                self._at[key].at(heights[allowed]).areas(band_name).max(axis=1, initial=0) < MISSED
            )
        allowed[allowed] = ~self._is_short(heights[allowed])
        covered = np.array([-one.lacking for one in counts_at(self.scene, stand)], float)
        return allowed, covered, stand.margin_m[:, self.heads].min(axis=1, initial=np.inf)

    def _is_short(self, heights: Floats) -> Bools:
        new = np.array([one for one in heights.tolist() if one not in self._short])
        self._short |= zip(new.tolist(), self._rows.short(new).tolist(), strict=True)
        return np.array([self._short[one] for one in heights.tolist()], np.bool_)


def _of_band(judge: _Judge, name: str, heights: Floats) -> Allowed:
    allowed, covered, margin = judge(name, heights)
    best = best_of(covered.tolist(), margin, allowed)
    if best is None:
        return Allowed(())
    stretches = tuple(_stretches(judge, name, heights, allowed))
    low, high = heights[max(best - 1, 0)], heights[min(best + 1, len(heights) - 1)]
    at, most = float(heights[best]), (covered[best], float(margin[best]))
    ends = np.array([end for pair in stretches for end in pair])
    while True:
        some = np.unique(
            np.concatenate([np.linspace(low, high, ZOOM), ends[(ends >= low) & (ends <= high)], [at]])
        )
        fine, many, left = judge(name, some)
        k = best_of(many.tolist(), left, fine)
        if k is not None and (many[k], left[k]) >= most:
            at, most = float(some[k]), (many[k], float(left[k]))
        if high - low < ENDS_M:
            return Allowed(_with(stretches, at), at, most[1])
        step = (high - low) / (ZOOM - 1)
        low, high = max(low, at - step), min(high, at + step)


def _offered(judge: _Judge, name: str, found: Allowed, heights: Floats) -> Allowed:
    """With the best of the heights on offer, and what it does not keep."""
    if found.best_m is None:
        return found
    allowed, covered, margin = judge(name, heights)
    best = best_of(covered.tolist(), margin, allowed)
    if best is None:
        heights = np.array([found.best_m])
        allowed, covered, margin = judge(name, heights)
        best = 0
    return replace(
        found,
        offered_m=float(heights[best]),
        offered_margin_m=float(margin[best]),
        unkept=judge.wishes.unkept(best, heights, covered.tolist(), margin, allowed),
    )


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
        allowed, *_ = judge(name, rising)
        fine = allowed if outside > inside else allowed[::-1]
        last = max(int(np.argmin(fine)) - 1, 0)
        inside, outside = float(some[last]), float(some[last + 1])
    return inside
