"""How far a mouth is from the surface of a band's solid, figured from the outline of its half section.

The solid turns about the plumb line through the acoustic centre, so the nearest surface point lies in the
mouth's own half plane (range, drop): there the surface is two straight edges and two arcs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Limits = tuple[float, float, float, float]
"""Low and high angle of depression in degrees, near and far."""

REASONS = ("too near", "too far", "too shallow", "too steep")


def signed_distance(limits: Limits, ranges: ArrayLike, drops: ArrayLike) -> Floats:
    """How deep points (range, drop) lie in the solid, metres; how far outside, negative."""
    low, high, near, far = math.radians(limits[0]), math.radians(limits[1]), limits[2], limits[3]
    rho, drop = np.broadcast_arrays(np.asarray(ranges, float), np.asarray(drops, float))
    surface = np.minimum(_to_edge(low, near, far, rho, drop), _to_arcs(low, high, near, far, rho, drop))
    if limits[1] < 90:  # of a band that reaches straight down the axis is no surface: it is inside
        surface = np.minimum(surface, _to_edge(high, near, far, rho, drop))
    return np.where(inside(limits, rho, drop), surface, -surface)


def inside(limits: Limits, ranges: ArrayLike, drops: ArrayLike) -> NDArray[np.bool_]:
    """Whether points (range, drop) are in the solid, by angle and distance."""
    rho, drop = np.asarray(ranges, float), np.asarray(drops, float)
    angle, distance = np.degrees(np.arctan2(drop, rho)), np.hypot(rho, drop)
    within = (angle >= limits[0]) & (angle <= limits[1]) & (distance >= limits[2]) & (distance <= limits[3])
    return np.asarray(within)


def _to_edge(angle: float, near: float, far: float, rho: Floats, drop: Floats) -> Floats:
    """Distance to the straight edge at an angle, from near to far."""
    along = np.clip(rho * math.cos(angle) + drop * math.sin(angle), near, far)
    return np.hypot(rho - along * math.cos(angle), drop - along * math.sin(angle))


def _to_arcs(low: float, high: float, near: float, far: float, rho: Floats, drop: Floats) -> Floats:
    """Distance to the nearer of the two arcs between the angles."""
    angle = np.clip(np.arctan2(drop, rho), low, high)
    arcs = [np.hypot(rho - r * np.cos(angle), drop - r * np.sin(angle)) for r in (near, far)]
    return np.asarray(np.minimum(*arcs))


def slack_of_range(limits: Limits, at: ArrayLike, plan: ArrayLike, mouths: ArrayLike) -> Floats:
    """The smaller slack of both ends of each mouth range, for arrays at (n, 3) and mouths on plan (m, 2): (n, m)."""
    centres = np.atleast_2d(np.asarray(at, float))
    spots, ends = np.atleast_2d(np.asarray(plan, float)), np.atleast_2d(np.asarray(mouths, float))
    rho = np.hypot(*np.moveaxis(centres[:, None, :2] - spots[None], -1, 0))
    both = [signed_distance(limits, rho, centres[:, 2:3] - ends[None, :, k]) for k in (0, 1)]
    return np.minimum(*both)


def four_numbers(limits: Limits, rho: float, drop: float) -> dict[str, float]:
    """What is left to each of the four edges, as the design gives them; the steep one only below 90°."""
    low, high, near, far = math.radians(limits[0]), math.radians(limits[1]), limits[2], limits[3]
    r = math.hypot(rho, drop)
    left = {
        "too near": r - near,
        "too far": far - r,
        "too shallow": drop * math.cos(low) - rho * math.sin(low),
    }
    if limits[1] < 90:
        left["too steep"] = rho * math.sin(high) - drop * math.cos(high)
    return left


def sampled_surface(limits: Limits, spacing: float) -> Floats:
    """Points (n, 3) on the solid's whole surface, none of it farther than `spacing` from one; centre at 0, z up."""
    low, high, near, far = limits
    profile: list[tuple[float, float]] = []
    steps = math.ceil((far - near) / spacing) + 1
    for angle in (low, high) if high < 90 else (low,):
        profile += [_polar(r, angle) for r in np.linspace(near, far, steps)]
    for r in (near, far):
        count = math.ceil(math.radians(high - low) * max(r, spacing) / spacing) + 1
        profile += [_polar(r, angle) for angle in np.linspace(low, high, count)]
    return np.concatenate([_ring(rho, drop, spacing) for rho, drop in profile])


def _polar(r: float, angle: float) -> tuple[float, float]:
    return r * math.cos(math.radians(angle)), r * math.sin(math.radians(angle))


def _ring(rho: float, drop: float, spacing: float) -> Floats:
    turn = np.linspace(0, 2 * math.pi, max(math.ceil(2 * math.pi * rho / spacing), 1), endpoint=False)
    return np.column_stack([rho * np.cos(turn), rho * np.sin(turn), np.full_like(turn, -drop)])


def along_way(
    limits: Limits, centre: ArrayLike, way: Sequence[ArrayLike], mouth: tuple[float, float]
) -> float:
    """The least slack over all points of a way walked (corners on plan), whichever end of the range is worse.

    Sampled, and searched on between the neighbours of each leg's worst sample.
    """
    corners = [np.asarray(corner, float) for corner in way]
    if len(corners) == 1:
        return float(slack_of_range(limits, centre, corners[0], mouth)[0, 0])
    least = math.inf
    for a, b in itertools.pairwise(corners):
        share, step = np.linspace(0.0, 1.0, 401), 1 / 400
        for _ in range(4):  # each round 200 times finer about the worst
            values = slack_of_range(limits, centre, a + share[:, None] * (b - a), mouth)[0]
            worst = int(values.argmin())
            least = min(least, float(values[worst]))
            share = np.clip(np.linspace(share[worst] - step, share[worst] + step, 401), 0, 1)
            step /= 200
    return least
