"""Heads against arrays: who is inside which band, by how much, and if not, why.

A head is one talker. It is kept as one row, or, for somebody who walks, as a row for each sample of
the path; each row has the plan position of the mouth, the lowest and highest mouth, and a `spare`:
half the distance between samples, which is taken off the slack because slack changes by at most one
metre per metre, so that whatever lies between the samples is judged too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band, Floats, edges, range_and_drop, slack

State = Literal["covered", "marginal", "missed"]
Reason = Literal["too steep", "too shallow", "too near", "too far"]
REASONS: tuple[Reason, ...] = ("too near", "too far", "too shallow", "too steep")
"""In the order of the four edge numbers."""


@dataclass(frozen=True, slots=True, eq=False)
class Heads:
    """Talkers as columns. n heads, k >= n rows (k > n only where somebody walks).

    at_m     (n, 3)  the mouth in the middle of its range
    sway_m   (n,)    how far each leans
    xy_m     (k, 2)  plan position of each row
    low_m    (k,)    lowest mouth of the row above the finished floor
    high_m   (k,)    highest mouth of the row
    spare_m  (k,)    taken off the row's slack (0 unless the head walks)
    start    (n,)    first row of each head, rising from 0
    """

    at_m: Floats
    sway_m: Floats
    xy_m: Floats
    low_m: Floats
    high_m: Floats
    spare_m: Floats
    start: NDArray[np.int64]

    def __post_init__(self) -> None:
        n, k = len(self.at_m), len(self.xy_m)
        if self.at_m.shape != (n, 3) or self.xy_m.shape != (k, 2):
            raise ValueError(
                f"Heads at_m is {self.at_m.shape} and xy_m {self.xy_m.shape}; allowed are (n, 3) and (k, 2)"
            )
        if self.sway_m.shape != (n,) or self.start.shape != (n,):
            raise ValueError("Heads sway_m and start must have one entry per head")
        if any(column.shape != (k,) for column in (self.low_m, self.high_m, self.spare_m)):
            raise ValueError("Heads low_m, high_m and spare_m must have one entry per row")
        if n and (self.start[0] != 0 or np.any(np.diff(self.start) <= 0) or self.start[-1] >= k):
            raise ValueError("Heads start must rise from 0 and stay below the number of rows")
        if np.any(self.low_m > self.high_m):
            raise ValueError("Heads low_m must not exceed high_m")

    def __len__(self) -> int:
        return len(self.at_m)

    @classmethod
    def at(cls, mouths_m: object, *, sway_m: object = 0.0, half_range_m: object = 0.0) -> Heads:
        """Heads that stay where they are: mouths (n, 3); sway and half the mouth range (n,) or one number."""
        at = np.atleast_2d(np.asarray(mouths_m, float))
        n = len(at)
        half = np.broadcast_to(np.asarray(half_range_m, float), (n,))
        return cls(
            at_m=at,
            sway_m=np.broadcast_to(np.asarray(sway_m, float), (n,)).copy(),
            xy_m=at[:, :2].copy(),
            low_m=at[:, 2] - half,
            high_m=at[:, 2] + half,
            spare_m=np.zeros(n),
            start=np.arange(n, dtype=np.int64),
        )

    @property
    def row_head(self) -> NDArray[np.int64]:
        """(k,) which head each row belongs to."""
        counts = np.diff(np.append(self.start, len(self.xy_m)))
        return np.repeat(np.arange(len(self), dtype=np.int64), counts)

    def take(self, which: NDArray[np.int64]) -> Heads:
        """The heads at these indices, in this order."""
        stop = np.append(self.start[1:], len(self.xy_m))
        rows = [np.arange(self.start[i], stop[i]) for i in which]
        start = np.cumsum([0, *map(len, rows)], dtype=np.int64)[:-1]
        index = np.concatenate(rows) if rows else np.zeros(0, np.int64)
        return Heads(
            at_m=self.at_m[which],
            sway_m=self.sway_m[which],
            xy_m=self.xy_m[index],
            low_m=self.low_m[index],
            high_m=self.high_m[index],
            spare_m=self.spare_m[index],
            start=start,
        )

    def ends(self) -> tuple[Floats, Floats, NDArray[np.int64]]:
        """Every row's two mouth ends as points: (e, 3) points, (e,) what slack each must keep, (e,) its head.

        What a point must keep is the head's sway plus the row's spare: the least of (slack - that) over
        all points is the least margin over all heads. A row without a range gives one point.
        """
        head = self.row_head
        demand = self.sway_m[head] + self.spare_m
        low = np.column_stack([self.xy_m, self.low_m])
        ranged = self.high_m > self.low_m
        high = np.column_stack([self.xy_m, self.high_m])[ranged]
        return (
            np.concatenate([low, high]),
            np.concatenate([demand, demand[ranged]]),
            np.concatenate([head, head[ranged]]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Coverage:
    """How each head stands to each array: every field is (arrays, heads).

    depression, slant, off-centre are for the middle of the mouth range; the rest is for the whole
    range (and the whole stretch of somebody who walks). `reason` is an index into REASONS, or -1
    where slack >= 0.
    """

    depression_deg: Floats
    slant_m: Floats
    off_centre_deg: Floats
    in_band: NDArray[np.bool_]
    in_reach: NDArray[np.bool_]
    slack_m: Floats
    margin_m: Floats
    reason: NDArray[np.int64]

    def state(self, array: int, head: int) -> State:
        """covered, marginal or missed."""
        if self.margin_m[array, head] >= -ON_EDGE_M:
            return "covered"
        return "marginal" if self.slack_m[array, head] >= -ON_EDGE_M else "missed"

    def serving(self) -> NDArray[np.int64]:
        """(heads,) the array with the largest margin for each head; on a tie the first."""
        # within the width of an edge is a tie, so that two arrays placed as mirror images do tie
        tied = self.margin_m >= self.margin_m.max(axis=0) - ON_EDGE_M
        return np.asarray(np.argmax(tied, axis=0), np.int64)


def cover(positions_m: Floats, bands: list[Band], heads: Heads) -> Coverage:
    """How every head stands to every array.

    `positions_m` (a, 3) are acoustic centres, `bands` their a bands. Cost: a x rows x 2.
    The ends of a mouth range decide for all of it: along a vertical line the distance to the solid falls
    to one least value and rises again. Only the near edge's own number is least where the range passes
    the array's level, and is taken there.
    """
    count, rows = len(heads), len(heads.xy_m)
    row_head = heads.row_head
    fields: dict[str, list[NDArray[np.generic]]] = {name: [] for name in Coverage.__slots__}
    for position, band in zip(np.asarray(positions_m, float).reshape(-1, 3), bands, strict=True):
        rho, t = range_and_drop(position, heads.at_m)
        depression = np.degrees(np.arctan2(t, rho))
        row_rho = np.hypot(*(heads.xy_m - position[:2]).T)
        ends_t = position[2] - np.stack([heads.low_m, heads.high_m])
        numbers = np.array(edges(band, row_rho, ends_t)) - heads.spare_m
        exact = slack(band, row_rho, ends_t) - heads.spare_m
        least = numbers.min(axis=1)
        level = np.clip(0.0, ends_t[1], ends_t[0])
        least[0] = np.hypot(row_rho, level) - band.near_m - heads.spare_m
        least = np.minimum.reduceat(least, heads.start, axis=1) if count else np.zeros((4, 0))
        row_slack = exact.min(axis=0)
        head_slack = np.minimum.reduceat(row_slack, heads.start) if count else np.zeros(0)
        # the worst row of each head: of equals the first, which is the last to be written here
        worst = np.flatnonzero(row_slack == head_slack[row_head])[::-1]
        worst_row = np.zeros(count, np.int64)
        worst_row[row_head[worst]] = worst
        worst_end = np.argmin(exact[:, worst_row], axis=0) if rows else worst_row
        reason = np.argmin(numbers[:, worst_end, worst_row], axis=0) if rows else worst_row
        fields["depression_deg"].append(depression)
        fields["slant_m"].append(np.hypot(rho, t))
        fields["off_centre_deg"].append(depression - band.middle_deg)
        fields["in_band"].append((least[2] >= -ON_EDGE_M) & (least[3] >= -ON_EDGE_M))
        fields["in_reach"].append((least[0] >= -ON_EDGE_M) & (least[1] >= -ON_EDGE_M))
        fields["slack_m"].append(head_slack)
        fields["margin_m"].append(head_slack - heads.sway_m)
        fields["reason"].append(np.where(head_slack < -ON_EDGE_M, reason, -1))
    return Coverage(**{name: np.array(by_array) for name, by_array in fields.items()})
