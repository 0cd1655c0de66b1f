"""Hanging heights per band of every array. Records only."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.heights import Cause
from scenes.room.spans import Interval


@dataclass(frozen=True, slots=True)
class BandHeights:
    """One band of one array where it is on plan.

    `interval_m` keeps slack >= 0 for every head the array serves, `covered_interval_m` margin >= 0;
    None where there is no such height. `limited_by` names the heads that limit the covered interval
    (the wider one where there is none), None where floor or ceiling does. `conflict` names the heads
    that leave no height, `cause` why; `interval_conflict` and `interval_cause` the same of `interval_m`.
    """

    name: str
    low_deg: float
    high_deg: float
    interval_m: Interval
    covered_interval_m: Interval
    best_m: float | None
    best_margin_m: float | None
    mean_off_centre_deg: float | None
    limited_by: tuple[str | None, str | None]
    cause: Cause | None
    conflict: tuple[str, ...]
    interval_cause: Cause | None
    interval_conflict: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ArrayHeights:
    """Every band of one array, with where it hangs today (None where the spec leaves it open)."""

    id: str
    at_m: tuple[float, float]
    today_m: float | None
    today_band: str | None
    span_m: tuple[float, float]
    flush: bool
    heads: tuple[str, ...]
    talkers: int
    """How many people these heads are of."""
    bands: tuple[BandHeights, ...]
