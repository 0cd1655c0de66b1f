"""The best allowed place a search has seen: kept, improved, and chosen among places just as good.

Nothing here is part of a proof. A good candidate found early lets the search drop more cells sooner,
and that is all; every candidate is asked again whether it is allowed, at the very spot it is taken.
"""

from __future__ import annotations

import functools
import itertools
import math

import numpy as np

from geometry.band import Floats
from geometry.hearing import Indices
from geometry.question import Question

TIE_M = 0.001
"""Places within this of the bound count as equally good."""
LOOKS = 1
"""How many times the most promising cells of a band have their heights moved to what is best there."""
TOP_CELLS = 4
"""So many cells of a band are looked at then."""
TOP_MARGINS = 12
"""And so many more, of the largest margins, where a margin must be kept."""
UNPUSHED = 2
"""So many rounds go by before centres are pushed towards what is allowed: finer cells mostly have some in it."""


class Incumbent:
    """The best allowed place so far, and the pool of those about as good (for ties)."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.score = -math.inf
        self.at: Floats | None = None
        self.band = 0
        self.climbed_to = -math.inf
        self.rounds = 0
        self.looks = [0] * len(question.hearing.bands)
        self.pool: list[tuple[Floats, Indices, Floats]] = []

    def take(self, centres: Floats, bands: Indices, scores: Floats) -> None:
        """Places known to be allowed, with their scores."""
        if not len(scores):
            return
        top = int(scores.argmax())
        if scores[top] > self.score:
            self.score, self.at, self.band = float(scores[top]), centres[top].copy(), int(bands[top])
        if scores[top] >= self.score - 2 * TIE_M:
            keep = np.flatnonzero(scores >= self.score - 2 * TIE_M)
            keep = keep[np.argsort(-scores[keep], kind="stable")[:400]]
            self.pool.append((centres[keep], bands[keep], scores[keep]))

    def offer(self, positions: Floats, bands: Indices, near: Floats | None = None) -> None:
        """Try these positions, (n, 3), and keep what is allowed and about as good as the best.

        `near` is a position they lie about, if they do.
        """
        scores = self.question.judged(positions, bands, self.score - 2 * TIE_M, near)
        good = np.flatnonzero(scores > -np.inf)
        self.take(positions[good], bands[good], scores[good])

    def begin(self) -> None:
        """A first guess in each band: amid the heads on plan, at the height that suits that column best."""
        of = self.question
        bands = np.arange(len(of.hearing.bands))
        middle = np.clip(of.hearing.heads.at_m.mean(axis=0), of.low_m, of.high_m)
        at = np.tile(middle, (len(bands), 1))
        self.offer(*(of.best_heights(at, bands) if of.free[2] else (at, bands)))

    def improve(self, centres: Floats, bands: Indices, margins: Floats, bounds: Floats, half: Floats) -> None:
        """Move the heights of the most promising centres into what is best and allowed there, then climb."""
        of = self.question
        edge = of.aim.height == "lowest" and bool(of.free[2])
        self.rounds += 1
        tops = self._tops(bands, margins, bounds, edge)
        if len(tops):
            at, at_bands = centres[tops], bands[tops]
            if of.free[2]:
                moved, moved_bands = of.best_heights(at, at_bands, self.score - 2 * TIE_M)
                if not edge:
                    moved, moved_bands = np.concatenate([moved, at]), np.concatenate([moved_bands, at_bands])
                self.offer(moved, moved_bands)
            else:
                self.offer(at, at_bands)
            if self.score == -math.inf and self.rounds > UNPUSHED:
                self.offer(of.pushed_inside(at, at_bands), at_bands)
        if self.at is not None and self.score > self.climbed_to + 1e-5 and np.any(bands == self.band):
            self.climb(float(half.max()), columns=edge)
            self.climbed_to = self.score

    def _tops(self, bands: Indices, margins: Floats, bounds: Floats, edge: bool) -> Indices:
        """The most promising rows to look at.

        For the largest margin a few looks per band are enough: after that the centres themselves are as
        good. Where a margin must be kept, what is left to do lies at the edge of that, often in a corner
        too sharp for a centre to hit, and the columns of the largest margins are looked at too.
        """
        tops = [np.zeros(0, np.int64)]
        for band in np.flatnonzero(np.bincount(bands)).tolist():
            self.looks[band] += 1
            looks = 4 * LOOKS if self.score == -math.inf else LOOKS
            if not edge and self.looks[band] > looks:
                continue
            mine = np.flatnonzero(bands == band)
            tops.append(mine[np.argsort(-bounds[mine], kind="stable")[:TOP_CELLS]])
            if edge:
                tops.append(mine[np.argsort(-margins[mine], kind="stable")[:TOP_MARGINS]])
        return np.concatenate(tops)

    def climb(self, step: float, *, columns: bool) -> None:
        """Pattern search from the best place: grids about it of every size from `step` down, the best taken.

        With `columns` the grids are flat, and each column is tried at the height that suits it best.
        """
        assert self.at is not None
        of = self.question
        steps = (step * 0.3 ** np.arange(6)[:, None, None] * around(tuple(of.free.tolist()))).reshape(-1, 3)
        if columns:
            steps = steps[steps[:, 2] == 0]
        bands = np.full(len(steps), self.band)
        for _ in range(6):
            before, above = self.score, self.score - 2 * TIE_M
            near = np.clip(self.at + steps, of.low_m, of.high_m)
            positions, of_bands = of.best_heights(near, bands, above) if columns else (near, bands)
            self.offer(positions, of_bands, self.at)
            if self.score <= before + 5e-5:
                break


@functools.cache
def around(free: tuple[bool, ...]) -> Floats:
    """A grid of five by five by five points about nothing, flat where a coordinate is held."""
    return np.array(list(itertools.product(*((0.0, -1.0, 1.0, -0.5, 0.5) if f else (0.0,) for f in free))))


def settle_ties(best: Incumbent, least: float) -> tuple[Floats, int]:
    """Of the places with this score: smallest |mean off-centre|, nearest the heads, first band, x, y.

    Looked for among the places the search saw and by a walk from the best of them; angles count as equal
    to 0.01°, distances to 1 mm. Rounded to 0.1 mm where that keeps the score, else to 1 µm.
    """
    of = best.question
    heads = of.hearing.heads
    middle = heads.at_m[:, :2].mean(axis=0)
    low, high = of.low_m, of.high_m

    def first_of(at: Floats, bands: Indices) -> int:
        mean, _ = of.hearing.off_centre(at, bands)
        away = np.hypot(*(at[:, :2] - middle).T)
        keys = (at[:, 1], at[:, 0], bands, np.round(away, 3), np.round(np.abs(mean), 2))
        return int(np.lexsort(keys)[0])

    assert best.at is not None
    places, places_bands = [best.at.reshape(1, 3)], [np.array([best.band])]
    for centres, bands, scores in best.pool:
        good = np.flatnonzero(scores >= least)
        places.append(centres[good])
        places_bands.append(bands[good])
    at, of_bands = np.concatenate(places), np.concatenate(places_bands)
    first = first_of(at, of_bands)
    here, band = at[first], of_bands[first : first + 1]
    # every step from half a metre down to half a millimetre at once: each round is one evaluation
    ways = around(tuple(of.free.tolist()))
    ways = ways[(np.abs(ways) != 0.5).all(axis=1)]
    steps = (0.5 * 0.5 ** np.arange(11)[:, None, None] * ways).reshape(-1, 3)
    # on a plateau that is curved, all places as far from one head, steps lead off it: there whole columns are tried
    flat = steps[steps[:, 2] == 0] if of.free[2] and len(heads) == 1 else steps[:0]
    flat_bands = np.full(len(flat), band[0])
    for _ in range(40):
        near = np.concatenate([here[None], np.clip(here + steps, low, high)])
        if len(flat):
            columns, _ = of.best_heights(np.clip(here + flat, low, high), flat_bands)
            near = np.concatenate([near, columns])
        bands = np.full(len(near), band[0])
        near = near[of.judged(near, bands, least, here) >= least]
        if not len(near):
            break
        to = near[first_of(near, bands[: len(near)])]
        if np.array_equal(to, here):
            break
        here = to
    for digits in (4, 6):
        rounded = np.where(of.free, np.clip(np.round(here, digits), low, high), low)
        if of.judged(rounded.reshape(1, 3), band)[0] >= least:
            here = rounded
            break
    return here, int(band[0])
