"""The elevation band and the exact signed distance of a mouth to its surface.

A band is what lies between two depression angles and two slant distances, swept 360° about the
vertical through the acoustic centre: a hollow cone whose ends are pieces of spheres. With ρ the
horizontal range, t the drop from the acoustic centre to the mouth (positive downwards) and
r = √(ρ² + t²) a mouth is inside exactly when four plain numbers are all at least zero:

    near edge   r − near
    far edge    far − r
    low edge    t cos low − ρ sin low       (negative: the mouth is too shallow)
    high edge   ρ sin high − t cos high     (negative: the mouth is too steep; none if high is 90°)

Each is a signed distance to one surface, so inside the band the least of the four *is* the distance
to the surface of the solid (the slack), and everywhere it is an upper bound of slack that changes
by at most one metre per metre of movement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

ON_EDGE_M = 1e-9
"""A number this little below zero still counts as on the edge: rounding, not a missed talker."""


@dataclass(frozen=True, slots=True)
class Band:
    """An elevation band with its reach, checked at birth.

    `low_deg` and `high_deg` are depression angles, 0 level and 90 straight down; `near_m` and
    `far_m` are slant distances from the acoustic centre.
    """

    low_deg: float
    high_deg: float
    near_m: float
    far_m: float

    def __post_init__(self) -> None:
        for name in ("low_deg", "high_deg", "near_m", "far_m"):
            if not math.isfinite(getattr(self, name)):
                raise ValueError(f"Band {name} is {getattr(self, name)}; it must be a finite number")
        if not 0 <= self.low_deg < self.high_deg <= 90:
            raise ValueError(
                f"Band is {self.low_deg} to {self.high_deg} degrees; allowed is 0 <= low < high <= 90"
            )
        if not 0 <= self.near_m < self.far_m:
            raise ValueError(f"Band reach is {self.near_m} to {self.far_m} m; allowed is 0 <= near < far")

    @property
    def middle_deg(self) -> float:
        """The depression in the middle of the band."""
        return (self.low_deg + self.high_deg) / 2

    @property
    def largest_ball_m(self) -> float:
        """Radius of the largest ball the solid holds: no slack can be larger.

        The smaller of half the depth of the reach and the ball that touches the far sphere and both
        cones, far·s/(1 + s) with s the sine of half the band (cos low where the band reaches 90°,
        since the axis is inside the solid there).
        """
        low, high = math.radians(self.low_deg), math.radians(self.high_deg)
        s = math.cos(low) if self.high_deg == 90 else math.sin((high - low) / 2)
        return min((self.far_m - self.near_m) / 2, self.far_m * s / (1 + s))

    @property
    def edge_sines(self) -> tuple[float, float, float, float]:
        """cos low, sin low, sin high, cos high (cos 90° is exactly 0)."""
        low, high = math.radians(self.low_deg), math.radians(self.high_deg)
        return (
            math.cos(low),
            math.sin(low),
            1.0 if self.high_deg == 90 else math.sin(high),
            0.0 if self.high_deg == 90 else math.cos(high),
        )


def range_and_drop(positions: ArrayLike, mouths: ArrayLike) -> tuple[Floats, Floats]:
    """Horizontal range and drop (positive downwards) from acoustic centres to mouths, metres.

    `positions` and `mouths` are (..., 3) and broadcast against each other; both results have the
    broadcast shape without its last axis.
    """
    away = np.asarray(mouths, float) - np.asarray(positions, float)
    return np.hypot(away[..., 0], away[..., 1]), -away[..., 2]


def depression_deg(positions: ArrayLike, mouths: ArrayLike) -> Floats:
    """Depression of mouths seen from acoustic centres, degrees: 0 level, 90 straight down.

    atan2(drop, horizontal range); negative for a mouth above the array. Shapes as in
    `range_and_drop`. Where mouth and centre coincide the result is 0.
    """
    rho, t = range_and_drop(positions, mouths)
    return np.degrees(np.arctan2(t, rho))


def slant_m(positions: ArrayLike, mouths: ArrayLike) -> Floats:
    """Straight-line distance from acoustic centres to mouths, metres. Shapes as in `range_and_drop`."""
    rho, t = range_and_drop(positions, mouths)
    return np.hypot(rho, t)


def edges(band: Band, rho: ArrayLike, t: ArrayLike) -> tuple[Floats, Floats, Floats, Floats]:
    """Signed distances to the near, far, low and high edges, metres, positive inside.

    `rho` (horizontal range) and `t` (drop) are of one shape or broadcast. A band that reaches 90°
    has no high edge: infinity there.
    """
    rho, t = np.asarray(rho, float), np.asarray(t, float)
    r = np.hypot(rho, t)
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    high = np.full_like(r, np.inf) if band.high_deg == 90 else rho * sin_high - t * cos_high
    return r - band.near_m, band.far_m - r, t * cos_low - rho * sin_low, high


def least_edge(band: Band, rho: ArrayLike, t: ArrayLike) -> Floats:
    """The least of the four edge numbers, metres: exact slack where it is >= 0, else an upper bound of it.

    It changes by at most 1 m per metre of movement, so it bounds whole cells of positions.
    """
    near, far, low, high = edges(band, rho, t)
    return np.minimum(np.minimum(near, far), np.minimum(low, high))


def slack(band: Band, rho: ArrayLike, t: ArrayLike) -> Floats:
    """Exact signed distance to the surface of the band's solid, metres, positive inside.

    Where the depression is inside the band the least of the four is exact, in reach or not. Where it
    is outside, with g the violated edge's number and u the foot along that edge, it is
    -hypot(g, max(near - u, u - far, 0)): the distance to the nearest point of that edge.
    """
    rho, t = np.asarray(rho, float), np.asarray(t, float)
    near, far, low, high = edges(band, rho, t)
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    inside = np.minimum(np.minimum(near, far), np.minimum(low, high))
    too_shallow = low < 0
    g = np.where(too_shallow, low, np.minimum(high, 0.0))
    foot = np.where(too_shallow, rho * cos_low + t * sin_low, rho * cos_high + t * sin_high)
    past_end = np.maximum(np.maximum(band.near_m - foot, foot - band.far_m), 0.0)
    return np.where(g < 0, -np.hypot(g, past_end), inside)
