"""Heights of people: normal in each of several groups, and the groups mixed.

A height that is the sum of several measures of one body has the variance of a sum of correlated ones: tall people
have long legs and long trunks, and adding the variances as if they had not makes the spread too small.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.records import record

Floats = NDArray[np.float64]

STEPS = 1024
"""Steps of the table behind `shares_below`: over twelve deviations its straight lines are off by at most 3e-5."""
FAR = 6.0
"""So many deviations from the mean nobody is left: a thousand millionth."""
HALVINGS = 60


@record(frozen=True, slots=True)
class Normal:
    """A measure that is normal in a group: mean and standard deviation, metres."""

    mean: float
    deviation: float

    def share_below(self, height: float) -> float:
        """The share of the group below a height."""
        return 0.5 * math.erfc((self.mean - height) / (self.deviation * math.sqrt(2)))

    def at(self, share: float) -> float:
        """The height below which this share of the group is; `share` strictly between 0 and 1."""
        from statistics import NormalDist  # only here: most specs give the mouths themselves

        return self.mean + NormalDist().inv_cdf(share) * self.deviation


def summed(
    parts: Sequence[tuple[float, Normal]], correlations: Mapping[tuple[int, int], float] | None = None
) -> Normal:
    """The sum of factors times measures of one body; `correlations` by two parts' places, 0 where none is given."""
    mean = sum(factor * part.mean for factor, part in parts)
    variance = sum((factor * part.deviation) ** 2 for factor, part in parts)
    for (i, j), correlation in (correlations or {}).items():
        (a, one), (b, other) = parts[i], parts[j]
        variance += 2 * correlation * a * one.deviation * b * other.deviation
    return Normal(mean, math.sqrt(variance))


@record(frozen=True, slots=True)
class Mixture:
    """A height of people who are of several groups: the groups, and their shares, which add up to 1."""

    groups: tuple[Normal, ...]
    shares: tuple[float, ...]

    def share_below(self, height: float) -> float:
        """The share of all people below a height."""
        return sum(
            share * group.share_below(height) for group, share in zip(self.groups, self.shares, strict=True)
        )

    def share_between(self, low: float, high: float) -> float:
        """The share of all people from one height to another."""
        return max(self.share_below(high) - self.share_below(low), 0.0)

    def at(self, share: float) -> float:
        """The height below which this share of all people is: of the mixture, not the mean of the groups' heights."""
        low, high = self.ends
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.share_below(middle) < share else (low, middle)
        return (low + high) / 2

    @property
    def ends(self) -> tuple[float, float]:
        """Heights below and above which nobody is."""
        return (
            min(group.mean - FAR * group.deviation for group in self.groups),
            max(group.mean + FAR * group.deviation for group in self.groups),
        )

    def shares_below(self, heights: ArrayLike) -> Floats:
        """`share_below` of many heights at once, to 3e-5."""
        low, step, table, rises = _table(self)
        at = np.clip((np.asarray(heights, float) - low) / step, 0.0, STEPS)
        whole = np.minimum(at.astype(np.int64), STEPS - 1)
        return np.asarray(table[whole] + (at - whole) * rises[whole])


@lru_cache(maxsize=16)
def _table(people: Mixture) -> tuple[float, float, Floats, Floats]:
    low, high = people.ends
    step = (high - low) / STEPS
    table = np.array([people.share_below(low + k * step) for k in range(STEPS + 1)])
    return low, step, table, np.diff(table)
