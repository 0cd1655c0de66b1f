"""The oracle's own optimiser: places at random, the rules asked in the order of what they are worth, the best polished.

It proves nothing. It can beat a bound that is wrong, and show that a place called the best is not.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import differential_evolution

from tests.outside.oracle.band import along_way
from tests.outside.oracle.hanging import Listeners, span
from tests.outside.oracle.judging import Lines, line_of_sight
from tests.outside.oracle.reading import Array, Floats, Room
from tests.outside.oracle.rulesheet import Demand, Sheet, worst_spare
from tests.outside.oracle.seating import Head

AT_RANDOM = 6_000
ON_WAY = 7
POLISHED = 2
CHUNK = 200
ALLOWED_M = -1e-9


@dataclass(frozen=True)
class Place:
    """Where an array could hang, in which band, and what that is worth (larger is better)."""

    at: tuple[float, float, float]
    band: str
    score: float


@dataclass(frozen=True)
class Worth:
    """What places (n, 3) are worth in a band: least margin, farthest mouth, RMS off-centre."""

    margin: Floats
    farthest: Floats
    rms: Floats


Score = Callable[[Worth], Floats]
"""Larger is better, -inf where the aim does not allow it."""


def largest_margin(worth: Worth) -> Floats:
    """The largest least margin."""
    return worth.margin


def nearest(enough: float) -> Score:
    """The smallest worst distance that leaves everybody this margin."""
    return lambda worth: np.where(worth.margin >= enough, -worth.farthest, -np.inf)


def centred(worth: Worth) -> Floats:
    """The smallest RMS off-centre with everybody covered."""
    return np.where(worth.margin >= 0, -worth.rms, -np.inf)


@dataclass
class Search:
    """One array of a room, looked for anywhere in it; other arrays stay where they are."""

    room: Room
    array: Array
    heads: Sequence[Head]
    seed: int = 0
    demands: list[Demand] = field(init=False)

    def __post_init__(self) -> None:
        self.demands = Sheet(self.room, self.array).demands()
        self.random = np.random.default_rng(self.seed)
        self.rows = Listeners.of(self.heads, ON_WAY)
        self.talkers = np.array([head.at for head in self.heads])
        self.middles = np.array([head.middle[2] for head in self.heads])
        self.mouths = np.concatenate([few_mouths(head) for head in self.heads])
        self.lines = Lines(self.room, self.array)

    @cached_property
    def box(self) -> tuple[Floats, Floats]:
        """Where the acoustic centre may be at all."""
        (low, high), (floor, top) = self.room.bounds, span(self.room, self.array)
        return np.array([*low, floor]), np.array([*high, top])

    def anywhere(self, count: int) -> Floats:
        """Places at random in the room."""
        low, high = self.box
        spots = self.random.uniform(low, high, (count, 3))
        inside = shapely.contains_xy(shapely.Polygon(self.room.outline), spots[:, 0], spots[:, 1])
        return np.asarray(spots[inside])

    def margins(self, band: str, positions: Floats) -> Floats:
        """The margin of every person (the least of their heads) at places (n, 3): (n, people)."""
        profile = self.array.profile
        rows = self.rows.margin((*profile.bands[band], *profile.reach), positions)
        return np.stack([rows[:, mine].min(axis=1) for mine in self.people], axis=1)

    @cached_property
    def people(self) -> list[NDArray[np.bool_]]:
        """Which rows are whose."""
        owner = {head.id: head.person for head in self.heads}
        persons = np.array([owner[id] for id in self.rows.owner])
        return [persons == person for person in dict.fromkeys(persons)]

    def worth(self, band: str, positions: Floats) -> Worth:
        """What these places are worth in this band."""
        low, high = self.array.profile.bands[band]
        away = np.hypot(*np.moveaxis(positions[:, None, :2] - self.talkers[None], -1, 0))
        drop = positions[:, 2:3] - self.middles[None]
        off = np.degrees(np.arctan2(drop, away)) - (low + high) / 2
        return Worth(
            self.margins(band, positions).min(axis=1),
            np.hypot(away, drop).max(axis=1),
            np.sqrt((off**2).mean(axis=1)),
        )

    def allowed(self, positions: Floats, spare: float) -> NDArray[np.bool_]:
        """Whether at these places every rule is kept by at least `spare`, and everybody is seen."""
        kept = worst_spare(self.demands, positions) >= spare + ALLOWED_M
        kept[kept] = self.sees(positions[kept])
        return kept

    def sees(self, positions: Floats) -> NDArray[np.bool_]:
        """Whether nothing is between these places and a few mouths of every head."""
        return self.lines.see_all(positions, self.mouths)

    def holds(self, place: Place) -> bool:
        """Whether the place is seen by every mouth of every head, asked finely."""
        hung = replace(self.array, at=place.at[:2], height=place.at[2], band=place.band)
        return not any(line_of_sight(self.room, head, hung).blocked for head in self.heads)

    def best(self, score: Score, spare: float = 0.0) -> Place | None:
        """The best place found for an aim, everything kept by at least `spare`; None if none was found."""
        found = []
        for band in self.array.profile.bands:
            starts = self._starts(band, largest_margin, spare)
            if score is not largest_margin:
                # what an aim allows may be far too small to be hit at random: the place of the largest margin is in it
                by_margin = [self._polished(start, largest_margin, spare) for start in starts[:1]]
                starts = [self._scored(start, score) for start in by_margin] + self._starts(
                    band, score, spare
                )
            found += [self._polished(start, score, spare) for start in starts if np.isfinite(start.score)]
        found = [place for place in found if self.holds(place)]
        return max(found, key=lambda place: place.score, default=None)

    def _starts(self, band: str, score: Score, spare: float) -> list[Place]:
        """The best allowed of many places at random."""
        spots = self.anywhere(AT_RANDOM)
        values = score(self.worth(band, spots))
        order = np.argsort(-values)
        order = order[np.isfinite(values[order])]
        kept: list[int] = []
        for first in range(0, len(order), CHUNK):
            some = order[first : first + CHUNK]
            kept += [int(k) for k in some[self.allowed(spots[some], spare)]]
            if len(kept) >= POLISHED:
                break
        return [Place(_point(spots[k]), band, float(values[k])) for k in kept[:POLISHED]]

    def _scored(self, place: Place, score: Score) -> Place:
        """The place with what it is worth to another aim."""
        return replace(place, score=float(score(self.worth(place.band, np.array([place.at])))[0]))

    def _polished(self, place: Place, score: Score, spare: float) -> Place:
        """The place moved about in smaller and smaller steps, as long as something allowed is better."""
        low, high = self.box
        reach = 0.25
        while reach > 2e-5:
            tries = np.clip(place.at + reach * self.random.normal(size=(40, 3)), low, high)
            values = score(self.worth(place.band, tries))
            better = np.flatnonzero(values > place.score)
            better = better[np.argsort(-values[better])]
            kept = better[self.allowed(tries[better], spare)]
            if len(kept):
                place = Place(_point(tries[kept[0]]), place.band, float(values[kept[0]]))
            else:
                reach *= 0.6
        return place

    def evolved(self, score: Score, spare: float = 0.0, rounds: int = 60) -> Place | None:
        """The best place by differential evolution: slower, another way to be wrong."""
        best: Place | None = None
        low, high = self.box
        high = np.maximum(high, low + 1e-12)
        for band in self.array.profile.bands:

            def cost(columns: Floats, band: str = band) -> Floats:
                positions = columns.T
                values = score(self.worth(band, positions))
                allowed = self.allowed(positions, spare)
                short = np.clip(worst_spare(self.demands, positions) - spare, -10.0, 0.0)
                return np.where(allowed & np.isfinite(values), -values, 1e3 - short)

            found = differential_evolution(
                cost,
                list(zip(low, high, strict=True)),
                rng=self.seed,
                maxiter=rounds,
                vectorized=True,
                updating="deferred",
                polish=False,
            )
            if found.fun < 1e3 and (best is None or -found.fun > best.score):
                best = Place(_point(found.x), band, -float(found.fun))
        return best if best is not None and self.holds(best) else None


def _point(row: Floats) -> tuple[float, float, float]:
    return float(row[0]), float(row[1]), float(row[2])


def few_mouths(head: Head) -> Floats:
    """Some mouths of a head (n, 3): the ends and middle of its range, at a few places of its way."""
    way = np.array(head.way)
    if len(way) > 1:
        way = np.concatenate([np.linspace(a, b, 4) for a, b in itertools.pairwise(way)])
    return np.array([(*spot, z) for spot in way for z in (head.mouth[0], head.middle[2], head.mouth[1])])


def exact_margin(search: Search, place: Place) -> float:
    """The least margin at a place, ways walked asked all along."""
    profile = search.array.profile
    limits = (*profile.bands[place.band], *profile.reach)
    return min(along_way(limits, place.at, head.way, head.mouth) - head.sway for head in search.heads)
