"""What a search asks of positions: heads, an aim, and everything that binds an array, of many at once."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import field, replace

import numpy as np

from geometry.aims import Aim, OfEachHead, Reach
from geometry.band import ON_EDGE_M, Floats
from geometry.constraint import Constraint, Key
from geometry.coverage import Heads, cover
from geometry.hearing import UNSEEN_M, Bools, Figures, Hearing, Indices
from geometry.heights import height_intervals
from geometry.records import record
from geometry.shadow import Sight, sides_for
from geometry.shapes import Cylinder

FLAT_M = 1e-9
"""A box no wider than this is held in that coordinate."""
TRACES = 8
"""Most steps towards the first allowed height of a column; what is not there by then is left to the cells."""


@record(frozen=True, slots=True, eq=False)
class Demand:
    """One thing that binds a place, as the search asks it.

    most       (n, 3) positions and a radius to (n,) signed distances, never less than the truth
    least      the same, never more (None: `most` is the truth)
    quick      (n,) a number that `least` is nowhere under, in no time (None: there is none)
    judged     the same as `least`, as far as that matters: see `Sight.left_m` (None: `most`)
    keep_m     what must be left of it
    counts     whether what is left of it is part of the score
    upright    whether it is the same at all heights
    """

    key: Key
    most: Callable[[Floats, float], Floats]
    least: Callable[[Floats, float], Floats] | None = None
    quick: Callable[[Floats], Floats] | None = None
    judged: Callable[[Floats, Floats, float], Floats] | None = None
    keep_m: float = 0.0
    counts: bool = False
    upright: bool = False

    def left(
        self, positions: Floats, enough: float | Floats = math.inf, least_m: float = -math.inf
    ) -> Floats:
        """(n,) what is left of it beyond what must be, never more than there is.

        Where it is at least `enough` any number of at least that will do, where it is less than `least_m`
        any number less than that.
        """
        if self.judged is None:
            return self.most(positions, 0.0) - self.keep_m
        wanted = np.broadcast_to(np.asarray(enough, float), (len(positions),)) + self.keep_m
        return self.judged(positions, wanted, least_m + self.keep_m) - self.keep_m


@record(frozen=True, eq=False)
class Question:
    """Everything a search asks of a set of positions, prepared once.

    low_m, high_m  (3,) corners of the box of positions
    sight          the lines to the heads, None where nothing can hide them
    free           (3,) which coordinates are not held
    demands        what binds a place: rules, then, of an aim that needs everybody seen, each blocker
    caps_m         (heads, bands) the largest margins heads have anywhere, as far as known (see `Reach`)
    """

    hearing: Hearing
    low_m: Floats
    high_m: Floats
    aim: Aim
    constraints: tuple[Constraint, ...] = ()
    sight: Sight | None = None
    free: Bools = field(init=False)
    demands: tuple[Demand, ...] = field(init=False)
    caps_m: Floats = field(init=False)

    def __post_init__(self) -> None:
        heads, bands = self.hearing.heads, self.hearing.bands
        ball = np.array([band.largest_ball_m for band in bands])
        prepared = {
            "free": self.high_m - self.low_m > FLAT_M,
            "demands": (*self._rules(), *self._lines()),
            "caps_m": ball - heads.sway_m[:, None],
        }
        for name, value in prepared.items():
            object.__setattr__(self, name, value)

    def _rules(self) -> list[Demand]:
        aim = self.aim
        # what counts is all that is left of a rule: a spare of it is kept beside that
        kept = [each for each in self.constraints if not each.stop] if aim.keeps_spare_m > 0 else []
        return [
            *(
                Demand(
                    key=("rule", *each.key),
                    most=_without_radius(each.signed_m),
                    keep_m=0.0 if each.stop or aim.counts_spares else aim.keeps_spare_m,
                    counts=aim.counts_spares and not each.stop,
                    upright=each.upright,
                )
                for each in self.constraints
            ),
            *(
                Demand(key=("rule", *each.key), most=_without_radius(each.signed_m), keep_m=aim.keeps_spare_m)
                for each in (kept if aim.counts_spares else ())
            ),
        ]

    def _lines(self) -> list[Demand]:
        if self.sight is None or self.aim.counts_heads:
            return []
        return [line_demand(self.sight, k, self.aim.counts_spares) for k in range(len(self.sight))]

    def met_by_height(self, positions: Floats, enough: Floats) -> Bools:
        """(n, demands) which lines heights alone keep clear of what may hide, by at least `enough` (n,), in no time.

        Of what is part of the score by as much more as nothing can score: a ceiling in parts is many solids.
        """
        found = np.zeros((len(positions), len(self.demands)), np.bool_)
        if self.sight is not None and not self.aim.counts_heads and len(self.sight):
            found[:, -len(self.sight) :] = self.sight.all_clear_at_least_m(positions) >= enough[:, None]
        return found

    def exactly(self) -> Question:
        """The same question asked with the exact slack."""
        return self if self.hearing.exact else replace(self, hearing=self.hearing.exactly())

    def reach(self, radius: float) -> Reach:
        """What the aim is told about cells of this radius."""
        return Reach(radius, self.free, self.caps_m)

    # What no place can beat ----------------------------------------------------------------------------

    @property
    def is_one_spot(self) -> bool:
        """Whether all mouths stand over one point of the plan: one head that does not walk."""
        spots = np.concatenate([self.hearing.points[:, :2], self.hearing.heads.at_m[:, :2]])
        return bool(np.all(spots == spots[0]))

    def lone_heads(self, at_m: Floats, band: int) -> list[tuple[Indices, Heads]]:
        """Heads by themselves, standing still, those worst off at this position first; and who is like them.

        No place is better for everybody than for one of them; of somebody who walks one spot of the way
        counts; of those who are anywhere in an area none is one. Where heads are counted, those that are covered
        here come first.
        """
        heads, bands = self.hearing.heads, self.hearing.bands
        here = cover(at_m.reshape(1, 3), [bands[band]], heads)
        worst = -here.slant_m[0] if self.aim.height == "lowest" else here.margin_m[0]
        if self.aim.counts_heads:
            worst = np.where(worst < 0, np.inf, worst)
        found: list[tuple[Indices, Heads]] = []
        mouths = np.column_stack([heads.low_m[heads.start], heads.high_m[heads.start], heads.sway_m])
        seen = heads.anywhere.copy()
        for head in np.argsort(worst, kind="stable").tolist():
            if seen[head]:
                continue
            alike = np.all(mouths == mouths[head], axis=1)
            seen |= alike
            low, high, sway = mouths[head]
            spot = [[*heads.xy_m[heads.start[head]], (low + high) / 2]]
            alone = Heads.at(spot, sway_m=sway, half_range_m=(high - low) / 2)
            found.append((np.flatnonzero(alike), alone))
        return found

    def of_one(self, head: Heads, aim: Aim | None = None) -> Question:
        """The same box, bands and aim (or another aim) for this head alone, with nothing that binds the place."""
        return replace(
            self,
            hearing=Hearing(head, self.hearing.bands, self.hearing.exact),
            aim=aim or self.aim,
            constraints=(),
            sight=None,
        )

    def in_half_plane(self, band: int) -> Question:
        """The question of one band in the half plane x >= 0 of a lone head, with nothing that binds the place."""
        x, y = (float(number) for number in self.hearing.points[0, :2])
        corners = itertools.product(*zip(self.low_m[:2], self.high_m[:2], strict=True))
        farthest = max(math.hypot(u - x, v - y) for u, v in corners)
        return Question(
            Hearing(self.hearing.heads, (self.hearing.bands[band],), self.hearing.exact),
            np.array([x, y, self.low_m[2]]),
            np.array([x + farthest, y, self.high_m[2]]),
            self.aim,
        )

    def ring(self, at_m: Floats) -> Floats:
        """Places about a lone head as good as this one, every degree, as far as they lie in the box."""
        x, y = self.hearing.points[0, :2]
        turn = np.radians(np.arange(360))
        distance = math.hypot(at_m[0] - x, at_m[1] - y)
        places = np.column_stack(
            [x + distance * np.cos(turn), y + distance * np.sin(turn), np.full(360, at_m[2])]
        )
        return places[np.all((places >= self.low_m) & (places <= self.high_m), axis=1)]

    # What positions are worth --------------------------------------------------------------------------

    def judged(
        self, centres: Floats, bands: Indices, above: float = -math.inf, near: Floats | None = None
    ) -> Floats:
        """(n,) the score where everything is met and it is at least `above`, else -inf.

        With `near`, a position (3,) the centres lie about, what is met there by more than the way to a
        centre is not asked again.
        """
        hearing, aim = self.hearing, self.aim
        scores, heard = self._scored(centres, bands, above)
        good = scores >= above
        left = np.flatnonzero(good)
        met = away = None
        clear = self.met_by_height(
            centres, np.maximum(scores, 0.0) if aim.counts_spares else np.zeros(len(scores))
        )
        if near is not None and len(left) and self.demands:
            away = np.linalg.norm(centres - near, axis=1)
            far = float(away[left].max() + max(scores[left].max(), 0.0))
            one = near.reshape(1, 3)
            sure = self.met_by_height(one, np.array([far]))[0]
            met = np.array(
                [far if sure[k] else demand.left(one, far)[0] for k, demand in enumerate(self.demands)]
            )
        for k, demand in enumerate(self.demands):
            least = max(-ON_EDGE_M, above) if demand.counts else -ON_EDGE_M
            enough = np.maximum(scores, 0.0) if demand.counts else np.zeros(len(scores))
            asked = left[~clear[left, k]]
            if met is not None and away is not None:
                asked = asked[met[k] - away[asked] < enough[asked]]
            if not len(asked):
                continue
            spare = demand.left(centres[asked], enough[asked], least)
            good[asked[spare < least]] = False
            if demand.counts:
                scores[asked] = np.minimum(scores[asked], spare)
            left = left[good[left]]
        if aim.counts_heads and self.sight is not None and len(left):
            seen = self.sight.sees(centres[left]).T
            heard = np.where(seen, heard[:, left], UNSEEN_M)
            scores[left] = aim.scores(hearing, centres[left], bands[left], heard)
            good[left] = scores[left] >= above
        return np.where(good, scores, -np.inf)

    def _scored(self, centres: Floats, bands: Indices, above: float) -> tuple[Floats, Floats]:
        """(n,) scores by what is heard alone, -inf where the margin needed is lacking; and what was heard.

        Of an aim of each head, that costs less than margins do: only what is good enough by it is heard.
        """
        hearing, aim = self.hearing, self.aim
        if not isinstance(aim, OfEachHead):
            heard = aim.hear(hearing, centres, bands)
            scores = aim.scores(hearing, centres, bands, heard)
            lacking = aim.least(heard) < aim.needs_margin_m - ON_EDGE_M
            return np.where(lacking, -np.inf, scores), heard
        scores = aim.scores(hearing, centres, bands, np.empty(0))
        asked = np.flatnonzero(scores >= above)
        heard = np.full(len(centres), -np.inf)
        heard[asked] = aim.hear(hearing, centres[asked], bands[asked])
        return np.where(heard < aim.needs_margin_m - ON_EDGE_M, -np.inf, scores), heard

    def figures(self, at: Floats, band: int) -> Figures:
        """What one position (3,) comes to."""
        one, bands, hearing = at.reshape(1, 3), np.array([band]), self.hearing
        mean, rms = hearing.off_centre(one, bands)
        heard = hearing.exactly().head_margins(one, bands)
        margin = float(heard.min())
        spare = min(
            (float(each.signed_m(one)[0]) for each in self.constraints if not each.stop), default=math.inf
        )
        if self.sight is not None:
            spare = min(spare, self.spare_of_lines(one))
            heard = np.where(self.sight.sees(one).T, heard, UNSEEN_M)
        of_persons, weights = hearing.by_person(heard)[:, 0], hearing.persons[2]
        covered = of_persons >= -ON_EDGE_M
        least = of_persons[covered].min() if covered.any() else of_persons.max()
        return Figures(
            margin_m=margin,
            spare_m=spare,
            worst_slant_m=float(hearing.worst_slant(one)[0]),
            mean_off_centre_deg=float(mean[0]),
            rms_off_centre_deg=float(rms[0]),
            covered=float(weights[covered].sum()),
            covered_margin_m=float(least),
        )

    def spare_of_lines(self, one: Floats) -> float:
        """What is left of the lines to all heads at one position (1, 3); never more than there is."""
        if self.sight is None:
            return math.inf
        lines = (line_demand(self.sight, k, True) for k in range(len(self.sight)))
        return min((float(line.left(one)[0]) for line in lines), default=math.inf)

    # Where better positions lie ------------------------------------------------------------------------

    def best_heights(
        self, centres: Floats, bands: Indices, above: float = -math.inf
    ) -> tuple[Floats, Indices]:
        """The candidates with their heights moved to what suits the aim best and is allowed there.

        Columns in which no height keeps the margin needed are left out; where something is in the way
        there is a row for the first allowed height above and, where heights are balanced, one for below.
        Columns that have not `above` even at the height that suits best are not asked what is in the way.
        """
        hearing, aim = self.hearing, self.aim
        floor, ceiling = float(self.low_m[2]), float(self.high_m[2])
        if aim.height == "balanced":
            if aim.counts_heads:
                heights = self._balanced_for_those_covered(centres, bands)
            else:
                heights = hearing.balanced_heights(centres, bands, floor, ceiling)
                centres, bands, heights = self._promising(centres, bands, heights, above)
            return self._traced(centres, bands, heights, down_too=True)
        lowest, highest = np.empty(len(centres)), np.empty(len(centres))
        keep = np.maximum(hearing.heads.sway_m + aim.needs_margin_m, 0.0)
        for band in np.unique(bands):
            mine = bands == band
            lowest[mine], highest[mine] = height_intervals(
                centres[mine, :2],
                hearing.bands[band],
                hearing.heads,
                keep,
                floor_m=floor,
                ceiling_m=ceiling,
            )
        some = lowest <= highest
        centres, bands, lowest, highest = centres[some], bands[some], lowest[some], highest[some]
        # the slant grows with the height as long as the mouths are below: the lowest is the best
        if aim.height != "lowest":
            return self._traced(centres, bands, np.clip(centres[:, 2], lowest, highest))
        if not len(lowest) or lowest.min() >= hearing.heads.at_m[:, 2].max():
            centres, bands, lowest = self._promising(centres, bands, lowest, above)
        return self._traced(centres, bands, lowest)

    def _promising(
        self, centres: Floats, bands: Indices, heights: Floats, above: float
    ) -> tuple[Floats, Indices, Floats]:
        """The columns with a score of `above` at these heights, the best of each; rules and lines left aside."""
        if above == -math.inf or not len(centres):
            return centres, bands, heights
        at, aim = np.column_stack([centres[:, :2], heights]), self.aim
        heard = np.empty(0) if isinstance(aim, OfEachHead) else aim.hear(self.hearing, at, bands)
        keep = aim.scores(self.hearing, at, bands, heard) >= above
        return centres[keep], bands[keep], heights[keep]

    def _balanced_for_those_covered(self, centres: Floats, bands: Indices) -> Floats:
        """(n,) heights that suit those who are covered at each centre, or nearly so, best."""
        heights, heard = centres[:, 2].copy(), self.hearing.head_margins(centres, bands)
        for k in range(len(centres)):
            some = np.flatnonzero(heard[:, k] >= min(0.0, float(heard[:, k].max())))
            hearing = Hearing(self.hearing.heads.take(some), self.hearing.bands)
            one = slice(k, k + 1)
            heights[k] = hearing.balanced_heights(
                centres[one], bands[one], float(self.low_m[2]), float(self.high_m[2])
            )[0]
        return heights

    def _traced(
        self, centres: Floats, bands: Indices, heights: Floats, *, down_too: bool = False
    ) -> tuple[Floats, Indices]:
        """The candidates at these heights, moved up (and, as more rows, down) to the first allowed one.

        Columns in which none is allowed at any height are left out. The shortfall of a demand is a step that cannot
        jump over an allowed height; one that is met by more than the step need not be asked again after it.
        """
        at = np.column_stack([centres[:, :2], heights])
        if not self.demands:
            return at, bands
        for demand in self.demands:
            if demand.upright and len(at):
                allowed = demand.left(at, 0.0) >= -ON_EDGE_M
                at, bands = at[allowed], bands[allowed]
        way = np.ones(len(at))
        if down_too:
            at, bands, way = np.concatenate([at, at]), np.tile(bands, 2), np.concatenate([way, -way])
        end = np.where(way > 0, self.high_m[2], self.low_m[2])
        walking = np.arange(len(at))
        left = np.full((len(at), len(self.demands)), -np.inf)
        for _ in range(TRACES):
            for k, demand in enumerate(self.demands):
                asked = walking[left[walking, k] <= 0]
                if len(asked):
                    left[asked, k] = demand.left(at[asked], 0.0)
            short = -left[walking].min(axis=1)
            on = (short > ON_EDGE_M) & ((end[walking] - at[walking, 2]) * way[walking] > 0)
            # behind a blocker with a mouth in it nobody is seen from anywhere
            on &= np.isfinite(short)
            walking, short = walking[on], short[on]
            if not len(walking):
                break
            at[walking, 2] += way[walking] * short
            left[walking] -= short[:, None]
        at[:, 2] = np.clip(at[:, 2], self.low_m[2], self.high_m[2])
        return at, bands

    def pushed_inside(self, centres: Floats, bands: Indices) -> Floats:
        """The centres walked up the slope of whatever is most short, for allowed sets too thin to hit.

        What is met by more than the way walked since is not asked again.
        """
        demands: list[Callable[[Floats, Indices], Floats]] = [
            lambda at, bands, demand=demand: demand.left(at, 0.0)  # type: ignore[misc]
            for demand in self.demands
        ]
        need = self.aim.needs_margin_m
        if math.isfinite(need):
            demands.append(lambda at, bands: self.hearing.margins(at, bands) - need)
        at = centres.copy()
        left = np.full((len(at), len(demands)), -np.inf)
        going = np.arange(len(at))
        for _ in range(12 if demands else 0):
            for k, demand in enumerate(demands):
                asked = going[left[going, k] <= 0]
                if len(asked):
                    left[asked, k] = demand(at[asked], bands[asked])
            least, which = left[going].min(axis=1), left[going].argmin(axis=1)
            on = (least < 0) & np.isfinite(least)
            going, least, which = going[on], least[on], which[on]
            if not len(going):
                break
            slope = self._slopes(demands, which, at[going], bands[going])
            square = np.maximum((slope * slope).sum(axis=1), 1e-3)
            before = at[going]
            at[going] = np.clip(before + ((1e-7 - least) / square)[:, None] * slope, self.low_m, self.high_m)
            left[going] -= np.linalg.norm(at[going] - before, axis=1)[:, None]
        return at

    def _slopes(
        self,
        demands: list[Callable[[Floats, Indices], Floats]],
        which: Indices,
        at: Floats,
        bands: Indices,
    ) -> Floats:
        """(n, 3) how the demand `which` (n,) of each position changes along each free coordinate."""
        slope = np.zeros((len(at), 3))
        for k in np.unique(which).tolist():
            mine = np.flatnonzero(which == k)
            for axis in np.flatnonzero(self.free):
                step = np.zeros(3)
                step[axis] = 1e-6
                ahead, behind = (
                    demands[k](at[mine] + step, bands[mine]),
                    demands[k](at[mine] - step, bands[mine]),
                )
                slope[mine, axis] = (ahead - behind) / 2e-6
        return slope


def line_demand(sight: Sight, solid: int, counts: bool) -> Demand:
    """That nobody is hidden by one solid, as a demand: its key is "sight" and the solid's place among those given.

    Where only the solid itself can tell, not the prisms that stand for it, what is left is 0 or less.
    """

    def most(positions: Floats, radius: float) -> Floats:
        sides = sides_for(sight.solids[solid], radius)
        return np.asarray(sight.signed_m(solid, positions, sides=sides).min(axis=0))

    def least(positions: Floats, radius: float) -> Floats:
        if radius <= 0:
            return judged(positions, np.full(len(positions), np.inf), -math.inf)
        sides = sides_for(sight.solids[solid], radius)
        return np.asarray(sight.signed_m(solid, positions, side="outer", sides=sides).min(axis=0))

    def quick(positions: Floats) -> Floats:
        return sight.clear_at_least_m(solid, positions)

    def judged(positions: Floats, enough: Floats, least_m: float) -> Floats:
        return sight.left_m(solid, positions, enough, least_m)

    key: Key = ("sight", int(sight.index[solid]))
    if not isinstance(sight.solids[solid], Cylinder):
        return Demand(key, most, None, quick, judged, counts=counts)
    return Demand(key, most, least, quick, judged, counts=counts)


def _without_radius(signed_m: Callable[[Floats], Floats]) -> Callable[[Floats, float], Floats]:
    return lambda positions, radius: signed_m(positions)
