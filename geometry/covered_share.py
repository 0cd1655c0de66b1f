"""What share of people at a place a band covers: their mouths' heights normal, their leaning alike over a disc.

At a plan distance ρ from an array of height z a band covers the mouths from z - min(ρ tan high, √(far² - ρ²)) to
z - max(ρ tan low, √(near² - ρ²)): one interval of heights, of which the people's distribution gives the share
exactly. Over the disc that a mouth leans in the share is a mean of 24 by 96 points, exact to 2e-4. Where the least and
the most that any point of the disc can give agree, no mean is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from geometry.band import Band
from geometry.people import Mixture

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

RINGS = 24
ANGLES = 96
AGREED = 1e-4
"""Bounds of a share that differ by less are not looked between."""
AT_ONCE = 16
"""Talkers whose discs are worked on at once: a few megabytes."""
_NONE = (np.inf, -np.inf)


def heights_heard(height_m: float, near_m: Floats, far_m: Floats, band: Band) -> tuple[Floats, Floats]:
    """Lowest and highest mouth that an array of this height covers at every plan distance from near to far, metres.

    The same distances twice: what it covers there. The lower is above the higher where there is none.
    """
    low, high = math.tan(math.radians(band.low_deg)), math.radians(band.high_deg)
    with np.errstate(invalid="ignore"):
        reach = np.sqrt(band.far_m**2 - far_m**2)
        inner = np.sqrt(np.maximum(band.near_m**2 - near_m**2, 0.0))
    down = reach if band.high_deg == 90 else np.minimum(near_m * math.tan(high), reach)
    none = np.isnan(reach)
    return (
        np.where(none, np.inf, height_m - down),
        np.where(none, -np.inf, height_m - np.maximum(far_m * low, inner)),
    )


def covered_shares(
    people: Mixture,
    at_m: Floats,
    sway_m: Floats,
    centres_m: Floats,
    bands: Sequence[Band],
    seen: Bools,
) -> Floats:
    """(n,) the share of people at each place (n, 2) who are covered by one array (m, 3) or another, to 2e-4.

    Their mouths lean over discs of radius `sway_m` (n,), each point alike; `seen` (n, m) says which arrays count.
    """
    away = np.hypot(*(at_m[:, None, :] - centres_m[None, :, :2]).transpose(2, 0, 1))
    nearest, farthest = np.maximum(away - sway_m[:, None], 0.0), away + sway_m[:, None]
    least = _share(people, nearest, farthest, centres_m, bands, seen)
    most = _share(people, farthest, nearest, centres_m, bands, seen)
    found = (least + most) / 2
    open_ = np.flatnonzero(most - least > AGREED)
    x, y, weights = _disc()
    for first in range(0, len(open_), AT_ONCE):
        some = open_[first : first + AT_ONCE]
        leaning = np.stack([x, y], axis=-1) * sway_m[some, None, None]
        mouths = at_m[some, None, :] + leaning
        away = np.hypot(*(mouths[:, :, None, :] - centres_m[None, None, :, :2]).transpose(3, 0, 1, 2))
        shares = _share(people, away, away, centres_m, bands, seen[some][:, None, :])
        found[some] = shares @ weights
    return np.clip(found, 0.0, 1.0)


def _share(
    people: Mixture, near_m: Floats, far_m: Floats, centres_m: Floats, bands: Sequence[Band], seen: Bools
) -> Floats:
    """(...,) the share whom any of the arrays (..., m) covers at all distances from near to far."""
    lows, highs = np.empty(near_m.shape), np.empty(near_m.shape)
    for k, band in enumerate(bands):
        low, high = heights_heard(float(centres_m[k, 2]), near_m[..., k], far_m[..., k], band)
        lows[..., k] = np.where(seen[..., k], low, _NONE[0])
        highs[..., k] = np.where(seen[..., k], high, _NONE[1])
    if len(bands) > 1:
        order = np.argsort(lows, axis=-1)
        lows, highs = np.take_along_axis(lows, order, -1), np.take_along_axis(highs, order, -1)
        # what a lower interval covers already is not counted again
        reached = np.maximum.accumulate(highs, axis=-1)[..., :-1]
        lows[..., 1:] = np.maximum(lows[..., 1:], reached)
    gains = people.shares_below(highs) - people.shares_below(lows)
    return np.asarray(np.maximum(gains, 0.0).sum(axis=-1))


@cache
def _disc() -> tuple[Floats, Floats, Floats]:
    """Points of the unit disc and their weights, which add up to 1: Gauss along the radius, even round it."""
    # Gauss's nodes are the eigenvalues of Legendre's recurrence: numpy.polynomial would cost 4 ms of importing
    k = np.arange(1, RINGS)
    beside = k / np.sqrt(4.0 * k * k - 1)
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    weights = 2 * vectors[0] ** 2
    radii = (nodes + 1) / 2
    angles = 2 * np.pi * (np.arange(ANGLES) + 0.5) / ANGLES
    r, theta = np.meshgrid(radii, angles, indexing="ij")
    weight = np.repeat(weights * radii / ANGLES, ANGLES)
    return (r * np.cos(theta)).ravel(), (r * np.sin(theta)).ravel(), weight
