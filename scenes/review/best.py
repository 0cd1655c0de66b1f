"""Which of several allowed heights is best, and what of the wishes for a height it does not keep.

It covers the most talkers; of those it has the largest margin. The wishes are `spare` of every rule and, for a hung
body, a least length of what it hangs by. One rule for every output.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scenes.findings.heights import Unkept
from scenes.findings.review import Limit
from scenes.room.scene import Array, Scene
from scenes.room.spans import LEAST_HANG_M, height_span_m
from scenes.rules.measure import MET_M, Measure

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


class Wishes:
    """What a height should keep where one can be chosen: `spare` of every rule that binds a search, and a hang length.

    Straight above and below where the array is on plan, which it needs.
    """

    def __init__(self, scene: Scene, array: Array, measures: Sequence[Measure]) -> None:
        assert array.at_m is not None
        self._xy = array.at_m
        self._spare_m = scene.wishes.spare.value
        self._binding = [one for one in measures if one.binds]
        hangs = array.profile.mount == "pendant"
        self._highest_m = height_span_m(scene, array)[1] - LEAST_HANG_M if hangs else math.inf

    def unkept(
        self, best: int, heights_m: Floats, covered: Sequence[int], margin_m: Floats, allowed: Bools
    ) -> Unkept | None:
        """What the best of these heights does not keep, with which of the others does; None if it keeps all."""
        at = float(heights_m[best])
        tight, short = self._tight(at), self._hangs_short(at)
        if not tight and not short:
            return None
        keeps = allowed & (np.asarray(covered) >= covered[best])
        keeps[keeps] = self._kept(heights_m[keeps])
        other = best_of(covered, margin_m, keeps)
        instead = (None, None) if other is None else (float(heights_m[other]), float(margin_m[other]))
        return Unkept(tight, short, instead[0], at, float(margin_m[best]), instead[1])

    def _kept(self, heights_m: Floats) -> Bools:
        """(h,) whether each height keeps all of the wishes."""
        at = self._at(heights_m)
        kept = at[:, 2] <= self._highest_m + MET_M
        for measure in self._binding:
            if kept.any():
                kept[kept] = measure.least(at[kept], up_to_m=2 * self._spare_m) >= self._spare_m - MET_M
        return np.asarray(kept, np.bool_)

    def _tight(self, height_m: float) -> tuple[Limit, ...]:
        """The rules, each with its thing, that have less than `spare` left at a height, the least first."""
        at, found = self._at(np.array([height_m])), []
        for measure in self._binding:
            for column, left in enumerate(measure.signed(at)[0].tolist()):
                if left < self._spare_m - MET_M:
                    rule = measure.deciding(column, height_m).rule.id
                    found.append((left, Limit("rule", measure.against[column].thing, rule)))
        return tuple(dict.fromkeys(limit for _, limit in sorted(found, key=lambda one: one[0])))

    def _hangs_short(self, height_m: float) -> bool:
        """Whether a hung body has less than the least length to hang by at a height."""
        return height_m > self._highest_m + MET_M

    def _at(self, heights_m: Floats) -> Floats:
        x, y = self._xy
        return np.column_stack([np.full(len(heights_m), x), np.full(len(heights_m), y), heights_m])


def best_of(covered: Sequence[int], margin_m: Floats, allowed: Bools) -> int | None:
    """The index of the best height that is allowed; None without one."""
    places = np.flatnonzero(allowed).tolist()
    return max(places, key=lambda k: (covered[k], margin_m[k]), default=None)
