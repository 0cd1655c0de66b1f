"""What makes one place better than another: five aims, each a number to make large.

near       the smallest worst distance among places that leave everybody enough margin, and every rule a spare
tolerance  the largest ball in which everybody stays covered and seen and every rule holds
margin     the largest least margin
centre     the smallest RMS off-centre with everybody covered
most       the most persons covered and seen, by weight; then the largest margin among them

An aim scores many positions at once, a larger score is better, and bounds what any position within a
radius of them can score. Rules, and sight of everybody, are constraints of every aim; only `most` asks
for those it can have.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import ClassVar, Literal

import numpy as np

from geometry.band import ON_EDGE_M, Floats
from geometry.hearing import Bools, Figures, Hearing, Indices
from geometry.records import record

AimName = Literal["near", "tolerance", "margin", "centre", "most"]
Unit = Literal["m", "deg", "persons"]
HeightChoice = Literal["balanced", "lowest", "kept"]

ENOUGH_M = 0.10
"""The margin a place must leave under the aim `near`, unless asked otherwise."""
GAP_M = 0.001
"""Certified means: the bound is at most this far from the value (aims in metres)."""
GAP_DEG = 0.01
"""The same for the aim `centre`, whose value is in degrees (0.4 mm at 2.3 m)."""
SLIM_M = 0.001
"""Nobody counts as missed by the aim `most` who could be covered with no more than this to spare."""
WEIGHT_STEP = 0.001
"""Weights count in whole steps of this."""
RANK_M = 1e5
"""One unit of weight in the score of `most`: a step of weight is worth more than any margin."""
WORST_M = RANK_M * WEIGHT_STEP / 4
"""Margins below minus this count as this."""


@record(frozen=True, slots=True)
class Aim(ABC):
    """One aim: how it scores, and what a place must have to count at all.

    `needs_margin_m` of everybody, `keeps_spare_m` of every rule that is no stop; a `score` is compared
    within `gap`. `counts_spares`: what rules and lines of sight have left is part of the score.
    `counts_heads`: heads are judged one by one, and nobody need be seen.
    """

    name: ClassVar[AimName]
    unit: ClassVar[Unit] = "m"
    gap: ClassVar[float] = GAP_M
    closes: ClassVar[float] = 0.8
    """The share of the gap a search closes: what is left over settles ties and rounds the place."""
    counts_spares: ClassVar[bool] = False
    counts_heads: ClassVar[bool] = False
    height: ClassVar[HeightChoice] = "balanced"
    """Where in a column the best place is: balanced between the edges, lowest that will do, or kept."""
    closes_alone: ClassVar[bool] = True
    """Whether what one head can have by itself, at best, says what all can have."""
    slim_m: ClassVar[float] = 0.0

    needs_margin_m: float = -math.inf
    keeps_spare_m: float = 0.0

    # Many positions ------------------------------------------------------------------------------------

    def hear(self, hearing: Hearing, centres: Floats, bands: Indices) -> Floats:
        """(n,) least margins; (heads, n) where heads are counted. The last axis is the positions."""
        return hearing.margins(centres, bands)

    def least(self, heard: Floats) -> Floats:
        """(n,) least margin of what was heard."""
        return heard

    @abstractmethod
    def scores(self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats) -> Floats:
        """(n,) the score at each position, spares left aside."""

    def bounds(
        self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats, scores: Floats, reach: Reach
    ) -> Floats:
        """(n,) the largest score within a radius of each position, spares left aside."""
        return scores + reach.radius_m

    def ceiling(self, hearing: Hearing, band: int) -> float:
        """No place in this band has a larger score, whatever the heads; -inf where the margin cannot be had."""
        most = hearing.bands[band].largest_ball_m - hearing.largest_demand_m
        return most if most >= self.needs_margin_m - ON_EDGE_M else -math.inf

    @property
    def ceiling_why(self) -> str:
        """The word for `ceiling` in a certificate."""
        return "ball"

    # One answer ----------------------------------------------------------------------------------------

    @abstractmethod
    def score(self, figures: Figures) -> float:
        """The score of a place, or of several together, with these figures."""

    def figure(self, score: float) -> float:
        """A score as people say it: metres of margin, metres of distance, degrees, persons."""
        return score

    def figure_gap(self, bound: float, score: float) -> float:
        """How far a bound is from a score, as people say it, never negative."""
        return max(abs(self.figure(bound) - self.figure(score)) if bound > score else 0.0, 0.0)

    def runner_up(self, score: float) -> float | None:
        """What else a score says: of `most` the margin among those covered."""
        return None

    def whole(self, parts: Sequence[tuple[int, float]]) -> float:
        """The score (or bound) over all heads from those of groups, each with its number of heads."""
        return min(score for _, score in parts)


@record(frozen=True, slots=True)
class Reach:
    """How far positions may be from centres, and what no head can have in a band.

    `radius_m` is one number or (n,) of them, `free` (3,) are the coordinates that change, `caps_m`
    (heads, bands) the largest margins a head has anywhere (only asked for where heads are counted).
    """

    radius_m: float | Floats
    free: Bools
    caps_m: Floats


@record(frozen=True, slots=True)
class Margin(Aim):
    """The largest least margin."""

    name: ClassVar[AimName] = "margin"

    def scores(self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats) -> Floats:
        return heard

    def score(self, figures: Figures) -> float:
        return figures.margin_m


@record(frozen=True, slots=True)
class Tolerance(Aim):
    """The largest ball in which everybody stays covered and seen and every rule but stops holds."""

    name: ClassVar[AimName] = "tolerance"
    counts_spares: ClassVar[bool] = True

    def scores(self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats) -> Floats:
        return heard

    def score(self, figures: Figures) -> float:
        return min(figures.margin_m, figures.spare_m)


@record(frozen=True, slots=True)
class OfEachHead(Aim):
    """An aim that is made of one number per head, whatever the others have: its distance, its angle."""

    @abstractmethod
    def each(self, slant_m: Floats, off_centre_deg: Floats) -> Floats:
        """The number of each head with the array that serves it, of any shape."""

    @abstractmethod
    def of_all(self, each: Floats) -> Floats:
        """The score from the numbers of all heads, (..., heads)."""


@record(frozen=True, slots=True)
class Near(OfEachHead):
    """The smallest worst distance among places with a least margin of `needs_margin_m`."""

    name: ClassVar[AimName] = "near"
    height: ClassVar[HeightChoice] = "lowest"

    needs_margin_m: float = ENOUGH_M

    def scores(self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats) -> Floats:
        return -hearing.worst_slant(centres)

    def ceiling(self, hearing: Hearing, band: int) -> float:
        keep = self.needs_margin_m + hearing.talkers_demand_m
        if Aim.ceiling(self, hearing, band) == -math.inf:
            return -math.inf
        # the middle of a mouth range is no nearer than its highest mouth, which keeps near + need + sway
        return -(hearing.bands[band].near_m + keep) if keep >= 0 else 0.0

    @property
    def ceiling_why(self) -> str:
        return "reach"

    def score(self, figures: Figures) -> float:
        return -figures.worst_slant_m

    def each(self, slant_m: Floats, off_centre_deg: Floats) -> Floats:
        return slant_m

    def of_all(self, each: Floats) -> Floats:
        return np.asarray(-each.max(axis=-1))

    def figure(self, score: float) -> float:
        return max(-score, 0.0)


@record(frozen=True, slots=True)
class Centre(OfEachHead):
    """The smallest RMS off-centre with everybody covered."""

    name: ClassVar[AimName] = "centre"
    unit: ClassVar[Unit] = "deg"
    gap: ClassVar[float] = GAP_DEG
    closes: ClassVar[float] = 0.9
    height: ClassVar[HeightChoice] = "kept"
    closes_alone: ClassVar[bool] = False

    needs_margin_m: float = 0.0

    def scores(self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats) -> Floats:
        return -hearing.off_centre(centres, bands)[1]

    def bounds(
        self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats, scores: Floats, reach: Reach
    ) -> Floats:
        return -hearing.least_rms(centres, bands, reach.radius_m, reach.free)

    def ceiling(self, hearing: Hearing, band: int) -> float:
        return min(Aim.ceiling(self, hearing, band), 0.0)

    @property
    def ceiling_why(self) -> str:
        return "value"

    def score(self, figures: Figures) -> float:
        return -figures.rms_off_centre_deg

    def each(self, slant_m: Floats, off_centre_deg: Floats) -> Floats:
        return off_centre_deg * off_centre_deg

    def of_all(self, each: Floats) -> Floats:
        return np.asarray(-np.sqrt(each.mean(axis=-1)))

    def figure(self, score: float) -> float:
        return max(-score, 0.0)

    def whole(self, parts: Sequence[tuple[int, float]]) -> float:
        heads = sum(count for count, _ in parts)
        return -math.sqrt(sum(count * min(score, 0.0) ** 2 for count, score in parts) / heads)


@record(frozen=True, slots=True)
class Most(Aim):
    """The most persons covered and seen, by weight; of as many the largest margin among them.

    The score is the weight, in units of RANK_M, and the margin beside it. Who is covered nowhere with
    more than SLIM_M to spare may be left out: such a place could be sought for ever.
    """

    name: ClassVar[AimName] = "most"
    unit: ClassVar[Unit] = "persons"
    counts_heads: ClassVar[bool] = True
    slim_m: ClassVar[float] = SLIM_M

    def hear(self, hearing: Hearing, centres: Floats, bands: Indices) -> Floats:
        return hearing.head_margins(centres, bands)

    def least(self, heard: Floats) -> Floats:
        return np.asarray(heard.min(axis=0))

    def scores(self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats) -> Floats:
        return ranked(hearing, heard)

    def bounds(
        self, hearing: Hearing, centres: Floats, bands: Indices, heard: Floats, scores: Floats, reach: Reach
    ) -> Floats:
        most = np.minimum(heard + reach.radius_m, reach.caps_m[:, bands])
        slim = bool(np.max(reach.radius_m) <= self.slim_m / 2)
        return ranked(hearing, most, self.slim_m if slim else 0.0)

    def ceiling(self, hearing: Hearing, band: int) -> float:
        most = hearing.bands[band].largest_ball_m - hearing.heads.sway_m
        return float(ranked(hearing, most[:, None])[0])

    def score(self, figures: Figures) -> float:
        return rank(figures.covered, figures.covered_margin_m)

    def figure(self, score: float) -> float:
        return round(round(score / (RANK_M * WEIGHT_STEP)) * WEIGHT_STEP, 9)

    def runner_up(self, score: float) -> float | None:
        return score - RANK_M * self.figure(score)


def ranked(hearing: Hearing, margins: Floats, least_m: float = 0.0) -> Floats:
    """(n,) the score of `most` for margins (heads, n): weight of those with at least `least_m`, then their least.

    Where nobody has, the largest margin anybody has comes after a weight of 0.
    """
    of_persons = hearing.by_person(margins)
    covered = of_persons >= least_m - ON_EDGE_M
    weights = np.maximum(np.round(hearing.persons[2] / WEIGHT_STEP), 1) * WEIGHT_STEP
    least = np.where(covered, of_persons, np.inf).min(axis=0, initial=np.inf)
    least = np.where(covered.any(axis=0), least, of_persons.max(axis=0, initial=-np.inf))
    return np.asarray(RANK_M * (weights @ covered) + np.clip(least, -WORST_M, WORST_M))


def rank(weight: float, margin_m: float) -> float:
    """The score of `most` for this weight covered with this least margin."""
    return RANK_M * round(weight / WEIGHT_STEP) * WEIGHT_STEP + min(max(margin_m, -WORST_M), WORST_M)
