"""Heads between a mouth and an array: how steep the way must be to clear them, and what one in the way costs at most."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

HALF_HEAD_M = 0.08
"""Half the breadth of a head, 0.155 m by survey; shoulders are too low to matter."""
WAVE_M = 0.343
"""Length of a wave of 1 kHz."""


def beside_the_way(mouths_m: Floats, to_m: Floats, others_m: Floats) -> tuple[Floats, Floats]:
    """(n, k) how far along the plan way from each mouth (n, 2) to its array each other (k, 2) is, and how far aside."""
    way = to_m - mouths_m
    length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)
    unit = way / length[:, None]
    off = others_m[None, :, :] - mouths_m[:, None, :]
    along = off[..., 0] * unit[:, None, 0] + off[..., 1] * unit[:, None, 1]
    aside = np.abs(off[..., 0] * unit[:, None, 1] - off[..., 1] * unit[:, None, 0])
    return along, aside


def needed_deg(rise_m: ArrayLike, away_m: ArrayLike) -> Floats:
    """The angle down from the array that a way needs to clear a crown `rise_m` above the mouth, `away_m` from it."""
    return np.asarray(np.degrees(np.arctan2(np.asarray(rise_m, float), np.asarray(away_m, float))))


def edge_loss_dB(fresnel: ArrayLike) -> Floats:
    """What an edge in the way takes from sound, dB: 10 lg(3 + 20 N) (Maekawa), 4.8 at grazing (N = 0).

    Of a head an upper bound: it is narrow, and sound goes round it on both sides.
    """
    return np.asarray(10 * np.log10(3 + 20 * np.asarray(fresnel, float)))


def over_edge(mouth_m: float, array_m: float, plan_m: float, crown_m: float, away_m: float) -> float:
    """Fresnel's number at 1 kHz of the way over a crown: twice the detour over the straight way by the wave's length.

    Heights, the plan distance from mouth to array, and the crown's from the mouth; 0 where the way clears it.
    """
    if mouth_m + (array_m - mouth_m) * away_m / plan_m >= crown_m:
        return 0.0
    over = np.hypot(away_m, crown_m - mouth_m) + np.hypot(plan_m - away_m, array_m - crown_m)
    return float(2 * (over - np.hypot(plan_m, array_m - mouth_m)) / WAVE_M)
