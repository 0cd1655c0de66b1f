"""Heads against arrays: who is inside which band, by how much, and if not, why.

A head is one talker. It is kept as one row, or, for somebody who walks, as a row for each straight leg of
the stretch the head answers for; each row has the plan positions where it starts and ends and the lowest
and highest mouth. A leg is judged as a whole, and exactly: at one height slack rises to one largest value
along the horizontal range and falls again, out of band too (every height of the solid, widened by as much
as one likes, is one piece of that range). So the least along a leg is at its nearest point or its farther
end.

Somebody anywhere in an area is a head whose rows are the edges of the area's outline and holes: the ranges
that occur there run from its nearest edge, or nothing where an array is over it, to its farthest corner.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.band import (
    BLOCK,
    ON_EDGE_M,
    Band,
    Floats,
    edges,
    least_edge,
    least_margin,
    range_and_drop,
    slack,
)
from geometry.records import record

State = Literal["covered", "marginal", "missed"]
Reason = Literal["too steep", "too shallow", "too near", "too far"]
REASONS: tuple[Reason, ...] = ("too near", "too far", "too shallow", "too steep")
"""In the order of the four edge numbers."""


@record(frozen=True, slots=True, eq=False)
class Heads:
    """Talkers as columns. n heads, k >= n rows (k > n only where somebody walks).

    at_m     (n, 3)  the mouth in the middle of its range; of somebody who walks, somewhere on the way
    sway_m   (n,)    how far each leans
    xy_m     (k, 2)  plan position of each row, where its leg starts
    to_m     (k, 2)  where its leg ends: the same unless the head walks
    low_m    (k,)    lowest mouth of the row above the finished floor
    high_m   (k,)    highest mouth of the row
    start    (n,)    first row of each head, rising from 0
    person   (n,)    whose head it is: somebody who sits and stands, or walks, is one person with several.
                     Numbers of any kind; left out, every head is somebody else's.
    weight   (n,)    how much its person counts where not everybody can be covered; left out, 1
    anywhere (n,)    which heads are anywhere in an area, whose edges their rows are: all of it counts, and no
                     line of sight, distance or angle is asked of them. Left out, none
    furnishing (n,)  of several furnishings of a room the one each is in: what stands in another hides nobody here.
                     Left out, all in one
    """

    at_m: Floats
    sway_m: Floats
    xy_m: Floats
    to_m: Floats
    low_m: Floats
    high_m: Floats
    start: NDArray[np.int64]
    person: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    weight: Floats = field(default_factory=lambda: np.zeros(0))
    anywhere: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, np.bool_))
    furnishing: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    insides: Insides | None = field(init=False)
    """The areas of those who are anywhere; None where nobody is."""
    row_head: NDArray[np.int64] = field(init=False)
    """(k,) which head each row belongs to."""

    def __post_init__(self) -> None:
        n = len(self.at_m)
        left_out = {
            "person": np.arange(n, dtype=np.int64),
            "weight": np.ones(n),
            "anywhere": np.zeros(n, np.bool_),
            "furnishing": np.zeros(n, np.int64),
        }
        for name, values in left_out.items():
            if not len(getattr(self, name)):
                object.__setattr__(self, name, values)
        counts = np.diff(self.start, append=len(self.xy_m))
        object.__setattr__(self, "row_head", np.repeat(np.arange(len(self.at_m), dtype=np.int64), counts))
        object.__setattr__(self, "insides", Insides.of(self) if self.anywhere.any() else None)
        self._check(n, len(self.xy_m))

    def _check(self, n: int, k: int) -> None:
        """ValueError where columns of n heads and k rows do not fit."""
        if self.at_m.shape != (n, 3) or self.xy_m.shape != (k, 2) or self.to_m.shape != (k, 2):
            raise ValueError(
                f"Heads at_m is {self.at_m.shape}, xy_m {self.xy_m.shape} and to_m {self.to_m.shape}; "
                "allowed are (n, 3) and twice (k, 2)"
            )
        if self.sway_m.shape != (n,) or self.start.shape != (n,):
            raise ValueError("Heads sway_m and start must have one entry per head")
        if any(column.shape != (k,) for column in (self.low_m, self.high_m)):
            raise ValueError("Heads low_m and high_m must have one entry per row")
        if n and (self.start[0] != 0 or np.any(np.diff(self.start) <= 0) or self.start[-1] >= k):
            raise ValueError("Heads start must rise from 0 and stay below the number of rows")
        if np.any(self.low_m > self.high_m):
            raise ValueError("Heads low_m must not exceed high_m")
        if any(column.shape != (n,) for column in (self.person, self.weight, self.furnishing)):
            raise ValueError("Heads person, weight and furnishing must have one entry per head")
        if np.any(self.weight <= 0):
            raise ValueError(f"Heads weight holds {self.weight.min()}; allowed is more than 0")

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
            to_m=at[:, :2].copy(),
            low_m=at[:, 2] - half,
            high_m=at[:, 2] + half,
            start=np.arange(n, dtype=np.int64),
        )

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
            to_m=self.to_m[index],
            low_m=self.low_m[index],
            high_m=self.high_m[index],
            start=start,
            person=self.person[which],
            weight=self.weight[which],
            anywhere=self.anywhere[which],
            furnishing=self.furnishing[which],
        )

    def and_besides(self, more: Heads) -> Heads:
        """These heads and behind them others, who are other people."""
        if not len(more):
            return self
        people = int(self.person.max(initial=-1)) + 1
        return Heads(
            at_m=np.concatenate([self.at_m.reshape(-1, 3), more.at_m]),
            sway_m=np.concatenate([self.sway_m, more.sway_m]),
            xy_m=np.concatenate([self.xy_m.reshape(-1, 2), more.xy_m]),
            to_m=np.concatenate([self.to_m.reshape(-1, 2), more.to_m]),
            low_m=np.concatenate([self.low_m, more.low_m]),
            high_m=np.concatenate([self.high_m, more.high_m]),
            start=np.concatenate([self.start, len(self.xy_m) + more.start]),
            person=np.concatenate([self.person, people + more.person]),
            weight=np.concatenate([self.weight, more.weight]),
            anywhere=np.concatenate([self.anywhere, more.anywhere]),
            furnishing=np.concatenate([self.furnishing, more.furnishing]),
        )

    def persons(self) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
        """Heads in the order of their persons (n,), where each person begins in it (p,), and weights (p,)."""
        order = np.argsort(self.person, kind="stable")
        first = np.flatnonzero(np.diff(self.person[order], prepend=self.person[order[:1]] - 1))
        return order, first, self.weight[order[first]]

    @property
    def walking(self) -> NDArray[np.bool_]:
        """(k,) which rows are legs of a way, and not a spot."""
        return np.asarray((self.xy_m != self.to_m).any(axis=1), bool)

    def ends(self) -> tuple[Floats, Floats, NDArray[np.int64]]:
        """Every row's mouth ends as points: (e, 3) points, (e,) what slack each must keep, (e,) its head.

        A point must keep its head's sway: where nobody walks, the least of (slack - that) over all points
        is the least margin over all heads. A row without a range gives one point, a leg those of its two
        ends; what lies between is asked of `legs`.
        """
        head, walks, ranged = self.row_head, self.walking, self.high_m > self.low_m
        parts = [
            (np.column_stack([xy, z])[some], head[some])
            for xy, ours in ((self.xy_m, np.ones_like(walks)), (self.to_m, walks))
            for z, some in ((self.low_m, ours), (self.high_m, ours & ranged))
        ]
        whose = np.concatenate([head for _, head in parts])
        return np.concatenate([points for points, _ in parts]), self.sway_m[whose], whose

    def legs(self) -> Legs:
        """The ways between the ends of those who walk, one for each mouth end of a row."""
        head, walks = self.row_head, self.walking
        ranged = walks & (self.high_m > self.low_m)
        rows = np.concatenate([np.flatnonzero(walks), np.flatnonzero(ranged)])
        return Legs(
            from_m=self.xy_m[rows],
            to_m=self.to_m[rows],
            z_m=np.concatenate([self.low_m[walks], self.high_m[ranged]]),
            keep_m=self.sway_m[head[rows]],
            head=head[rows],
            insides=self.insides,
        )

    def deciding(self, position_m: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
        """As `ends`, with the point of every leg that is nearest to this one position (3,) besides.

        Here the least of (slack - what is kept) over the points is the least margin whoever walks.
        """
        points, keep, head = self.ends()
        legs = self.legs()
        nearest, _ = legs.nearest(np.asarray(position_m, float).reshape(1, 3)[:, :2])
        return (
            np.concatenate([points, np.column_stack([nearest[:, 0], legs.z_m])]),
            np.concatenate([keep, legs.keep_m]),
            np.concatenate([head, legs.head]),
        )

    def ranges(self, xy_m: Floats, rows: slice | NDArray[np.int64] = slice(None)) -> Floats:
        """(1 or 2, k, p) least and, if anybody walks, largest horizontal range of rows from plan positions.

        What a row asks of a position it asks at one of the two.
        """
        start, end = self.xy_m[rows], self.to_m[rows]
        from_start = _apart(xy_m, start)
        if np.array_equal(start, end):
            return from_start[None]
        _, nearest = _nearest(xy_m, start, end)
        if self.insides is not None:
            nearest[self.insides.hold(xy_m)[self.row_head[rows]]] = 0.0
        return np.stack([nearest, np.maximum(from_start, _apart(xy_m, end))])


@record(frozen=True, slots=True, eq=False)
class Insides:
    """What lies inside the areas of those heads (of n) that are anywhere.

    head    (a,)       which heads these are
    start, end (e, 2)  the edges of their outlines and holes, area after area
    first   (a,)       the first edge of each
    """

    count: int
    head: NDArray[np.int64]
    start: Floats
    end: Floats
    first: NDArray[np.int64]

    @classmethod
    def of(cls, heads: Heads) -> Insides:
        """Those of these heads."""
        rows = np.flatnonzero(heads.anywhere[heads.row_head])
        first = np.flatnonzero(np.diff(heads.row_head[rows], prepend=-1))
        return cls(len(heads), np.flatnonzero(heads.anywhere), heads.xy_m[rows], heads.to_m[rows], first)

    def hold(self, xy_m: Floats) -> NDArray[np.bool_]:
        """(n, p) whether each plan place (p, 2) lies inside each head's area, by even-odd; False of other heads."""
        x, y = xy_m[None, :, 0], xy_m[None, :, 1]
        (ax, ay), (bx, by) = self.start.T[:, :, None], self.end.T[:, :, None]
        straddles = (ay > y) != (by > y)
        right = (x - ax) * (by - ay) < (y - ay) * (bx - ax)
        crossed = straddles & (right == (by > ay))
        held = np.zeros((self.count, len(xy_m)), np.bool_)
        held[self.head] = np.add.reduceat(crossed, self.first, axis=0, dtype=np.int64) % 2 == 1
        return held


@record(frozen=True, slots=True, eq=False)
class Legs:
    """Straight ways walked at one mouth height: w of them.

    from_m, to_m  (w, 2)  plan positions of the ends
    z_m           (w,)    the mouth above the finished floor
    keep_m        (w,)    the slack to keep
    head          (w,)    whose it is
    insides               the areas that some of them are the edges of; None where there are none
    """

    from_m: Floats
    to_m: Floats
    z_m: Floats
    keep_m: Floats
    head: NDArray[np.int64]
    insides: Insides | None = None

    def __len__(self) -> int:
        return len(self.z_m)

    def nearest(self, xy_m: Floats) -> tuple[Floats, Floats]:
        """(w, p, 2) the points of the legs nearest to plan positions (p, 2), and (w, p) their ranges.

        Inside an area the nearest point of its edges is the position itself: somebody may be there.
        """
        points, ranges = _nearest(xy_m, self.from_m, self.to_m)
        if self.insides is not None:
            held = self.insides.hold(xy_m)[self.head]
            points = np.where(held[..., None], xy_m[None], points)
            ranges[held] = 0.0
        return points, ranges

    def margins(self, band: Band, positions_m: Floats, *, exact: bool = True) -> Floats:
        """(w, p) what the nearest point of each leg has beyond what it must keep; `exact` as in `pair_slack`.

        With the ends of the legs (`Heads.ends`) this decides for all of every leg.
        """
        _, rho = self.nearest(positions_m[:, :2])
        t = positions_m[None, :, 2] - self.z_m[:, None]
        return (slack if exact else least_edge)(band, rho, t) - self.keep_m[:, None]


def _apart(xy: Floats, places: Floats) -> Floats:
    """(k, p) plan distances of places (k, 2) from positions (p, 2)."""
    # not np.hypot, which guards against overflow at twice the price
    dx, dy = xy[None, :, 0] - places[:, :1], xy[None, :, 1] - places[:, 1:]
    dx *= dx
    dy *= dy
    dx += dy
    return np.sqrt(dx, out=dx)


def _nearest(xy: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """(w, p, 2) nearest points of segments to plan positions (p, 2), and (w, p) how far they are."""
    along = (end - start)[:, None]
    away = xy[None] - start[:, None]
    square = (along * along).sum(axis=-1)
    share = np.clip((away * along).sum(axis=-1) / np.where(square > 0, square, 1.0), 0.0, 1.0)[..., None]
    off = away - share * along
    return start[:, None] + share * along, np.hypot(off[..., 0], off[..., 1])


def least_margins(band: Band, positions_m: Floats, heads: Heads, *, exact: bool = True) -> Floats:
    """(p,) the least margin over all heads at each position (p, 3), ways walked included.

    Exact, or with `exact` false the least of the four numbers, an upper bound (see `band.least_margin`).
    """
    positions = np.atleast_2d(np.asarray(positions_m, float))
    points, keep, _ = heads.ends()
    least = least_margin(band, positions, points, keep, exact=exact)
    legs = heads.legs()
    at_once = max(BLOCK // max(len(legs), 1), 1)
    for first in range(0, len(positions) if len(legs) else 0, at_once):
        some = slice(first, first + at_once)
        np.minimum(least[some], legs.margins(band, positions[some], exact=exact).min(axis=0), out=least[some])
    return least


@record(frozen=True, slots=True, eq=False)
class Coverage:
    """How each head stands to each array: every field is (arrays, heads).

    depression, slant, off-centre are for the middle of the mouth range; the rest is for the whole
    range (and the whole stretch of somebody who walks). `reason` is an index into REASONS, or -1
    where slack >= 0. `seen`: whether nothing is in the way.
    """

    depression_deg: Floats
    slant_m: Floats
    off_centre_deg: Floats
    in_band: NDArray[np.bool_]
    in_reach: NDArray[np.bool_]
    slack_m: Floats
    margin_m: Floats
    reason: NDArray[np.int64]
    seen: NDArray[np.bool_]

    def state(self, array: int, head: int) -> State:
        """covered, marginal or missed."""
        if self.margin_m[array, head] >= -ON_EDGE_M:
            return "covered"
        return "marginal" if self.slack_m[array, head] >= -ON_EDGE_M else "missed"

    def serving(self, sees: NDArray[np.bool_] | None = None) -> NDArray[np.int64]:
        """(heads,) the array that serves each head, see `serving_arrays`; `sees` in place of `seen`."""
        return serving_arrays(self.margin_m, self.seen if sees is None else sees)


def serving_arrays(margin_m: Floats, sees: NDArray[np.bool_] | None = None) -> NDArray[np.int64]:
    """Which array serves each head: the one that gives it the largest margin, on a tie the first.

    `margin_m` and `sees`, whether the line to it is clear, are (arrays, ...), the answer is (...). Arrays
    that see a head come first; where none does (or `sees` is left out) all are asked.
    """
    if sees is not None:
        margin_m = np.where(sees | ~sees.any(axis=0), margin_m, -np.inf)
    # within the width of an edge is a tie, so that two arrays placed as mirror images do tie
    tied = margin_m >= margin_m.max(axis=0) - ON_EDGE_M
    return np.asarray(np.argmax(tied, axis=0), np.int64)


def cover(
    positions_m: Floats, bands: list[Band], heads: Heads, seen: NDArray[np.bool_] | None = None
) -> Coverage:
    """How every head stands to every array.

    `positions_m` (a, 3) are acoustic centres, `bands` their a bands, `seen` (a, heads) who is not hidden
    (left out: everybody). Cost: a x rows x 2, twice that if anybody walks.
    The ends of a mouth range decide for all of it: along a vertical line the distance to the solid falls
    to one least value and rises again. Only the near edge's own number is least where the range passes
    the array's level, and is taken there.
    """
    places = np.asarray(positions_m, float).reshape(-1, 3)
    assert len(places) == len(bands)
    fields: dict[str, list[NDArray[np.generic]]] = {name: [] for name in Coverage.__slots__ if name != "seen"}
    at_once = max(BLOCK // max(len(heads.xy_m), 1), 1)
    first = 0
    while first < len(places):
        end = first + 1
        while end < min(len(places), first + at_once) and bands[end] == bands[first]:
            end += 1
        for name, values in _cover_in(bands[first], places[first:end], heads).items():
            fields[name].append(values)
        first = end
    arrays, count = len(places), len(heads)
    return Coverage(
        **{name: np.concatenate(some or [np.zeros((0, count))]) for name, some in fields.items()},
        seen=np.ones((arrays, count), np.bool_) if seen is None else seen,
    )


def _cover_in(band: Band, places: Floats, heads: Heads) -> dict[str, NDArray[np.generic]]:
    """The fields of a `Coverage` for places (p, 3) of one band, each (p, heads)."""
    each, count = np.arange(len(places))[:, None], len(heads)
    rho, t = range_and_drop(places[:, None], heads.at_m)
    depression = np.degrees(np.arctan2(t, rho))
    # the places that decide of each row: its nearest point and its farther end, each at both mouth ends
    ranges = heads.ranges(places[:, :2]).transpose(0, 2, 1)
    ends_t = np.tile(places[:, 2, None] - np.stack([heads.low_m, heads.high_m])[:, None], (len(ranges), 1, 1))
    level = np.clip(0.0, ends_t[1], ends_t[0])
    least_near = np.hypot(ranges[0], level) - band.near_m
    row_rho = np.repeat(ranges, 2, axis=0)
    numbers = np.array(edges(band, row_rho, ends_t))
    exact = slack(band, row_rho, ends_t)
    least = numbers.min(axis=1)
    least[0] = least_near
    least = np.minimum.reduceat(least, heads.start, axis=2) if count else np.zeros((4, len(places), 0))
    row_slack = exact.min(axis=0)
    head_slack = np.minimum.reduceat(row_slack, heads.start, axis=1) if count else np.zeros((len(places), 0))
    # the worst row of each head: of equals the first, which is the last to be written here
    at, worst = (index[::-1] for index in np.nonzero(row_slack == head_slack[:, heads.row_head]))
    worst_row = np.zeros((len(places), count), np.int64)
    worst_row[at, heads.row_head[worst]] = worst
    worst_end = np.argmin(exact[:, each, worst_row], axis=0)
    reason = np.argmin(numbers[:, worst_end, each, worst_row], axis=0)
    return {
        "depression_deg": depression,
        "slant_m": np.hypot(rho, t),
        "off_centre_deg": depression - band.middle_deg,
        "in_band": (least[2] >= -ON_EDGE_M) & (least[3] >= -ON_EDGE_M),
        "in_reach": (least[0] >= -ON_EDGE_M) & (least[1] >= -ON_EDGE_M),
        "slack_m": head_slack,
        "margin_m": head_slack - heads.sway_m,
        "reason": np.where(head_slack < -ON_EDGE_M, reason, -1),
    }
