"""How far an array may be off in all directions at once, and out of true, before a head is lost.

While the acoustic centre is anywhere in a box, a head's horizontal range and its drop fill a rectangle:
the range depends on the place on plan only, the drop on the height only. Each of the four edge numbers is
least at one corner of it (near: shortest range, drop nearest to nothing; far: longest range, largest drop;
low edge: longest range, least drop; high edge: shortest range, largest drop), so the least over all of the
box costs as much as one place, and its sign is exact.

A tilt of ε turns the solid about the acoustic centre: no point of it moves by more than the chord
2·far·sin(ε/2), which is demanded of every mouth besides.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from geometry.band import ON_EDGE_M, Band, Floats
from geometry.coverage import Heads
from geometry.records import record
from geometry.region import annuli

FINE_M = 1e-6
"""How exact the ends of a box are found."""

Cause = TypeVar("Cause")


@record(frozen=True, slots=True)
class OffBy:
    """How far the acoustic centre is off at most: ±sideways_m along plan x and y, up_m up and down_m down."""

    sideways_m: float = 0.0
    up_m: float = 0.0
    down_m: float = 0.0

    @property
    def reach_m(self) -> float:
        """How far the farthest corner of the box is from where the array should be."""
        return math.hypot(self.sideways_m, self.sideways_m, max(self.up_m, self.down_m))


def tilt_m(band: Band, tilt_deg: float) -> float:
    """How far any point of the band's solid moves at most when the array hangs out of true by `tilt_deg`."""
    return 2 * band.far_m * math.sin(math.radians(tilt_deg) / 2)


def margins_off_by(at_m: ArrayLike, band: Band, heads: Heads, off: OffBy, tilt_deg: float = 0.0) -> Floats:
    """(heads,) the least margin of each head while the acoustic centre is anywhere in the box about `at_m` (3,).

    Less what a tilt of up to `tilt_deg` takes. Never more than the exact margin anywhere in the box where
    that is below minus the sway, and equal to it where it is more: the sign is exact.
    """
    x, y, z = (float(c) for c in np.asarray(at_m, float).reshape(3))
    near_m, far_m = _ranges_from_square((x, y), off.sideways_m, heads)
    low_t, high_t = z - off.down_m - heads.high_m, z + off.up_m - heads.low_m
    nearest_t = np.clip(0.0, low_t, high_t)
    farthest_t = np.maximum(np.abs(low_t), np.abs(high_t))
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    least = np.minimum(np.hypot(near_m, nearest_t) - band.near_m, band.far_m - np.hypot(far_m, farthest_t))
    least = np.minimum(least, low_t * cos_low - far_m * sin_low)
    if band.high_deg < 90:
        least = np.minimum(least, near_m * sin_high - high_t * cos_high)
    return np.asarray(np.minimum.reduceat(least, heads.start) - heads.sway_m - tilt_m(band, tilt_deg))


def _ranges_from_square(middle: tuple[float, float], half_m: float, heads: Heads) -> tuple[Floats, Floats]:
    """(k,), (k,) least and largest plan distance of each row of heads, leg or spot, from a square's places."""
    start, end = heads.xy_m - np.array(middle), heads.to_m - np.array(middle)
    corners = half_m * np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
    farthest = np.max(
        [np.hypot(*(np.abs(end_of) + half_m).T) for end_of in (start, end)], axis=0, initial=0.0
    )
    nearest = np.minimum(*(np.hypot(*np.maximum(np.abs(p) - half_m, 0.0).T) for p in (start, end)))
    if heads.walking.any():
        along = end - start
        square = (along * along).sum(axis=1)
        away = corners[None] - start[:, None]
        share = (away * along[:, None]).sum(axis=-1) / np.where(square > 0, square, 1.0)[:, None]
        off = away - np.clip(share, 0.0, 1.0)[..., None] * along[:, None]
        nearest = np.minimum(nearest, np.hypot(off[..., 0], off[..., 1]).min(axis=1))
        nearest = np.where(_crosses_square(start, along, half_m), 0.0, nearest)
    if heads.insides is not None:
        # no edge meets the square and its middle is inside: all of it is
        nearest[heads.insides.hold(np.array([middle]))[heads.row_head, 0]] = 0.0
    return np.asarray(nearest), np.asarray(farthest)


def _crosses_square(start: Floats, along: Floats, half_m: float) -> Floats:
    """(k,) whether segments meet the square about the origin: what is left of each between both pairs of sides."""
    with np.errstate(divide="ignore", invalid="ignore"):
        at = np.stack([(-half_m - start) / along, (half_m - start) / along])
    still = along == 0
    between = np.abs(start) <= half_m
    enter = np.where(still, np.where(between, -np.inf, np.inf), at.min(axis=0)).max(axis=1)
    leave = np.where(still, np.where(between, np.inf, -np.inf), at.max(axis=0)).min(axis=1)
    return np.asarray(np.maximum(enter, 0.0) <= np.minimum(leave, 1.0))


def largest(
    lost: Callable[[float], Cause | None], most_m: float, fine_m: float = FINE_M
) -> tuple[float, Cause | None]:
    """The largest length up to `most_m` at which nothing is lost, and what is lost just beyond it, if anything.

    `lost` names what is lost at a length, None for nothing, and goes on naming something once it does. Found
    to `fine_m`, never more than the truth; 0 where something is lost at 0.
    """
    cause = lost(most_m)
    if cause is None:
        return most_m, None
    at_nothing = lost(0.0)
    if at_nothing is not None:
        return 0.0, at_nothing
    low, high = 0.0, most_m
    while high - low > fine_m:
        middle = (low + high) / 2
        found = lost(middle)
        if found is None:
            low = middle
        else:
            high, cause = middle, found
    return low, cause


def last_kept(left_m: Callable[[float], float], most_m: float, fine_m: float = FINE_M) -> float:
    """The largest length up to `most_m` at which `left_m` is not negative, to `fine_m` and never more than it.

    `left_m` falls with the length. 0 where it is negative at 0. By false position, every third step halved.
    """
    low, high, at_low, at_high = 0.0, most_m, left_m(0.0), left_m(most_m)
    if at_high >= 0:
        return most_m
    if at_low < 0:
        return 0.0
    for step in itertools.count():
        if high - low <= fine_m:
            break
        share = 0.5 if step % 3 == 2 else at_low / (at_low - at_high)
        middle = min(max(low + share * (high - low), low + fine_m / 2), high - fine_m / 2)
        found = left_m(middle)
        if found >= 0:
            low, at_low = middle, found
        else:
            high, at_high = middle, found
    return low


def disc_to_loss(at_m: ArrayLike, band: Band, heads: Heads) -> tuple[float, int | None]:
    """Radius of the largest level disc about `at_m` (3,) in which no head covered there is lost, and which ends it.

    Exact: at one height a head asks for nothing but a horizontal range. (inf, None) where nobody is
    covered to begin with.
    """
    at = np.asarray(at_m, float).reshape(3)
    covered = margins_off_by(at, band, heads, OffBy()) >= -ON_EDGE_M
    if not covered.any():
        return math.inf, None
    inner, outer = annuli(heads, band, float(at[2]))
    near_m, far_m = _ranges_from_square((float(at[0]), float(at[1])), 0.0, heads)
    left = np.minimum.reduceat(
        np.minimum(outer - far_m, np.where(inner > 0, near_m - inner, np.inf)), heads.start
    )
    left = np.where(covered, left, np.inf)
    head = int(np.argmin(left))
    return max(float(left[head]), 0.0), head
