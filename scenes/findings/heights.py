"""Hanging heights per band of every array. Records only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.heights import Cause
from geometry.records import record
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.review import Counts, Limit, Verdict
from scenes.findings.sight import LineKind
from scenes.findings.sound import Advice
from scenes.room.spans import Interval

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


@record(frozen=True, slots=True)
class Unkept:
    """What a best height does not keep of what overtable wishes of one, and the best that does.

    `tight` are the rules with less than the spare left, each with its thing, the least first; `hangs_short`: a hung
    body has too little to hang by. `instead_m` is the height on offer that covers as many, keeps all of it and has
    the largest margin; None where there is none. `at_m` and `margin_m` are the best height and its margin,
    `instead_margin_m` is that of the other.
    """

    tight: tuple[Limit, ...]
    hangs_short: bool
    instead_m: float | None
    at_m: float
    margin_m: float
    instead_margin_m: float | None


@record(frozen=True, slots=True)
class BandHeights:
    """One band of one array where it is on plan.

    `interval_m` keeps slack >= 0 for every head the array serves, `covered_interval_m` margin >= 0;
    None where there is no such height. `limited_by` names the heads that limit the covered interval
    (the wider one where there is none), None where floor or ceiling does. `conflict` names the heads
    that leave no height, `cause` why; `interval_conflict` and `interval_cause` the same of `interval_m`.

    `best_m` is by coverage alone. `allowed_m` are the stretches of height, rising, where nothing of a review
    fails; the best allowed height covers the most talkers there, then has the largest margin. `offered_m` is the
    best of the heights on offer, which is what people read, with its margin and angle, and `unkept` what it does not
    keep of a spare of every rule and a length to hang by. None where nothing is allowed. `allowed_covered_m` is what
    of the allowed stretches is in the covered interval, `ruled_out_m` what of that interval is not allowed: a rule or
    a line of sight fails there.
    """

    name: Id
    low_deg: float
    high_deg: float
    interval_m: Interval
    covered_interval_m: Interval
    best_m: float | None
    best_margin_m: float | None
    mean_off_centre_deg: float | None
    limited_by: tuple[Id | None, Id | None]
    cause: Cause | None
    conflict: tuple[Id, ...]
    interval_cause: Cause | None
    interval_conflict: tuple[Id, ...]
    allowed_m: tuple[tuple[float, float], ...]
    allowed_covered_m: tuple[tuple[float, float], ...]
    ruled_out_m: tuple[tuple[float, float], ...]
    best_allowed_m: float | None
    best_allowed_margin_m: float | None
    offered_m: float | None
    offered_margin_m: float | None
    told_off_centre_deg: float | None
    """How far from the middle of the band the heads it serves are on average, at the height that is told."""
    unkept: Unkept | None

    @property
    def told_m(self) -> float | None:
        """The one height that every text calls best: the best on offer that keeps what is wished, where one does."""
        return (
            self.offered_m if self.unkept is None or self.unkept.instead_m is None else self.unkept.instead_m
        )

    @property
    def told_margin_m(self) -> float | None:
        """The least margin there."""
        kept = None if self.unkept is None else self.unkept.instead_margin_m
        return self.offered_margin_m if kept is None else kept


@record(frozen=True, slots=True)
class ArrayHeights:
    """Every band of one array, with where it hangs today (None where the spec leaves it open)."""

    id: Id
    at_m: tuple[float, float]
    today_m: float | None
    today_band: Id | None
    span_m: tuple[float, float]
    flush: bool
    heads: tuple[Id, ...]
    talkers: int
    """How many people these heads are of."""
    bands: tuple[BandHeights, ...]


@record(frozen=True, slots=True)
class LayoutStand:
    """How one of several layouts stands."""

    name: Id
    verdict: Verdict
    counts: Counts


@record(frozen=True, slots=True)
class InTheWay:
    """One thing, or the walls (None), and the lines it blocks: kind, start and end of each."""

    thing: Id | None
    lines: tuple[tuple[LineKind, Id, Id], ...]


@record(frozen=True, slots=True, eq=False)
class BandTable:
    """One band of one array at each height on offer: (heights, heads), of the array that serves a head there.

    `served_by` and `reason` are indices into the scene's arrays and into REASONS (-1: none), `standing` into
    STANDINGS; `areas` (heights, areas), how areas stand there, into AREA_STATES. `counts`, `in_the_way` and
    `verdict` are those of a review there. `best` is the index of the height that is told as the best of those on
    offer; `unkept` is as in `BandHeights`. Of one of several layouts `verdict` and `best` are those of all of them,
    and `layouts` (heights,) is how each stands.
    """

    name: Id
    low_deg: float
    high_deg: float
    slack_m: Floats
    margin_m: Floats
    depression_deg: Floats
    slant_m: Floats
    reason: Indices
    standing: Indices
    served_by: Indices
    areas: Indices
    counts: tuple[Counts, ...]
    in_the_way: tuple[tuple[InTheWay, ...], ...]
    verdict: tuple[Verdict, ...]
    best: int | None
    unkept: Unkept | None
    layouts: tuple[tuple[LayoutStand, ...], ...] = ()
    sound: tuple[tuple[Advice, ...], ...] = ()
    """At each height the advice about sound that is not kept; none without acoustics."""


@record(frozen=True, slots=True, eq=False)
class ArrayTable:
    """One array at every height on offer, rising; the others stay where they are.

    `own` is the index of the height that the file gives, `band` its band. `clearances` are the rows of a
    review there that are neither clear nor switched off, in its order.
    """

    id: Id
    own: int
    band: Id
    flush: bool
    heights_m: tuple[float, ...]
    clearances: tuple[tuple[Clearance, ...], ...]
    bands: tuple[BandTable, ...]


@record(frozen=True, slots=True, eq=False)
class HeightTable:
    """What a review would say of every height on offer, for each array; `judged` whether it has clearances at all."""

    arrays: tuple[ArrayTable, ...]
    judged: bool
