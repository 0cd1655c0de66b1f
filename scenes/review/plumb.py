"""What a review would say of one array at many heights, straight above and below where it is on plan.

Margins and lines of sight are asked of all heights at once. The other arrays stay where they are, and a head is
served by whichever array a review would say.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M
from geometry.coverage import Coverage, cover, serving_arrays
from geometry.records import record
from scenes.findings.heights import InTheWay
from scenes.findings.sight import LineKind
from scenes.review.areas import area_standing
from scenes.review.blockers import WALLS, Blocker, any_of, hides, of_array
from scenes.review.sight import Looks, Sights, known_blockers
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Indices = NDArray[np.int64]

STILL = ("rest", "sights", "known")
"""What of a `Plumb` is the same at all heights."""
OF_COVERAGE = ("slack_m", "margin_m", "depression_deg", "slant_m", "reason")


@record(frozen=True, slots=True, eq=False)
class Stand:
    """How heads stand at heights: (heights, heads) each, of the array that serves a head there.

    `served_by` and `reason` index the scene's arrays and REASONS. `blocked` is true where something is in the
    way of its line, `surely` where it is so by what the spec itself gives, without default sizes.
    """

    slack_m: Floats
    margin_m: Floats
    depression_deg: Floats
    slant_m: Floats
    reason: Indices
    served_by: Indices
    blocked: Bools
    surely: Bools

    @property
    def missed(self) -> Bools:
        """Out of the band or out of reach."""
        return np.asarray(self.slack_m < -ON_EDGE_M)

    @property
    def standing(self) -> Indices:
        """Indices into STANDINGS: covered, marginal, blocked, missed."""
        seen = np.where(self.margin_m >= -ON_EDGE_M, 0, 1)
        return np.asarray(np.where(self.missed, 3, np.where(self.blocked, 2, seen)), np.int64)


class Plumb:
    """One array of a scene at heights (h,), rising. It needs a place on plan; others count where they have one."""

    def __init__(self, scene: Scene, array: Array, heights: Floats) -> None:
        assert array.at_m is not None
        self.scene, self.array, self.heights = scene, array, heights
        self.others = tuple(one for one in scene.arrays if one.id != array.id and one.placed)
        self.rest = scene.with_arrays(self.others)
        """The scene without this array."""
        ids = [one.id for one in scene.arrays]
        self.index = np.array([ids.index(array.id), *(ids.index(one.id) for one in self.others)], np.int64)
        """This array's place among the scene's, and the others'."""
        x, y = array.at_m
        self._hid: dict[LineKind, Bools] = {}
        self.places = np.column_stack([np.full(len(heights), x), np.full(len(heights), y), heights])

    def at(self, heights: Floats) -> Plumb:
        """The same at other heights; what stands still is not looked at again."""
        other = Plumb(self.scene, self.array, heights)
        other.__dict__.update({name: getattr(self, name) for name in STILL})
        return other

    # Heads ---------------------------------------------------------------------------------------------

    def stand(self, band_name: str) -> Stand:
        """How all heads stand at each height in this band."""
        band = self.array.profile.band(band_name)
        mine = cover(self.places, [band] * len(self.heights), self.rest.heads_as_rows)
        fields = {name: self._stacked(getattr(mine, name), name) for name in OF_COVERAGE}
        fields |= {"blocked": self._blocked, "surely": self._surely}
        # on a tie the first in the file serves
        order = np.argsort(self.index)
        serving = order[serving_arrays(fields["margin_m"][order], ~self._blocked[order])]
        chosen = {name: np.take_along_axis(of, serving[None], axis=0)[0] for name, of in fields.items()}
        return Stand(**chosen, served_by=self.index[serving])

    def areas(self, band_name: str) -> Indices:
        """(h, areas) how areas stand at each height in this band, as AREA_STATES has them."""
        return area_standing(self.scene, self.array.profile.band(band_name), self.places, self.others)

    @cached_property
    def known(self) -> tuple[Blocker, ...] | None:
        """What stands still and may be in a line by what the spec itself gives; None where that is all of it."""
        return known_blockers(self.rest)

    @cached_property
    def _theirs(self) -> Coverage:
        places = np.array([one.centre_m for one in self.others])
        return cover(places, [one.band for one in self.others], self.rest.heads_as_rows)

    def _stacked(self, mine: NDArray[Any], name: str) -> NDArray[Any]:
        """(arrays, h, heads) of this array and of the others."""
        if not self.others:
            return mine[None]
        theirs = getattr(self._theirs, name)[:, None, :]
        return np.concatenate([mine[None], np.broadcast_to(theirs, (len(theirs), *mine.shape))])

    # Sight ---------------------------------------------------------------------------------------------

    @cached_property
    def sights(self) -> Sights:
        """The other arrays' lines, and those of cameras and viewers, as if this array were not there."""
        return Sights.of(self.rest)

    @cached_property
    def hidden(self) -> Bools:
        """(h, heads, blockers) what stands between this array and each head; the blockers are `sights`'s."""
        return hides(self.places, self.rest.heads_as_rows, self.sights.blockers)

    @cached_property
    def _bodies(self) -> tuple[tuple[Blocker, ...], Indices]:
        """Body and cable at every height, and where each height's begin."""
        ceiling = ceiling_over_m(self.rest.room, self.array.at_m)
        several = [of_array(replace(self.array, height_m=float(z)), ceiling) for z in self.heights]
        starts = np.cumsum([0, *map(len, several)])[:-1]
        return tuple(one for some in several for one in some), starts

    def _behind(self, looks: Looks) -> Bools:
        """(places, targets, h) whether this array's body or cable is in a line, at each height."""
        if looks.kind not in self._hid:
            bodies, starts = self._bodies
            self._hid[looks.kind] = np.asarray(
                np.logical_or.reduceat(looks.hides(bodies), starts, axis=2), np.bool_
            )
        return self._hid[looks.kind]

    @cached_property
    def _blocked(self) -> Bools:
        """(arrays, h, heads) whether anything stands in the line to a head."""
        return self._with_others(any_of(self.hidden), any_of(self.sights.hidden[0]))

    @cached_property
    def _surely(self) -> Bools:
        """(arrays, h, heads) the same by what the spec itself gives."""
        known = self.known
        if known is None:
            return self._blocked
        mine = hides(self.places, self.rest.heads_as_rows, known)
        return self._with_others(any_of(mine), any_of(self.sights.looks[0].hides(known)))

    def _with_others(self, mine: Bools, theirs: Bools) -> Bools:
        if not self.others:
            return mine[None]
        behind = self._behind(self.sights.looks[0]).transpose(0, 2, 1)
        return np.concatenate([mine[None], theirs[:, None, :] | behind])

    @cached_property
    def eyes(self) -> tuple[Bools, Bools]:
        """For cameras and for seated eyes (pairs, h), whether each line that should be free is blocked."""
        found = []
        for looks, hidden in zip(self.sights.looks[1:], self.sights.hidden[1:], strict=True):
            place, target = looks.pairs.T
            behind = self._behind(looks)[place, target]
            found.append(any_of(hidden)[place, target][:, None] | behind)
        to_eyes, to_displays = found
        return to_eyes, to_displays

    # What stands in the way -----------------------------------------------------------------------------

    def in_the_way(self, stand: Stand, k: int) -> tuple[InTheWay, ...]:
        """What blocks lines that should be free at the height of that index, each thing once."""
        found: dict[str, list[tuple[LineKind, str, str]]] = {}
        ids = [one.id for one in self.rest.heads]
        served = stand.served_by[k]
        for i in np.flatnonzero(stand.blocked[k]).tolist():
            if served[i] == self.index[0]:
                row, start = self.hidden[k, i], self.array.id
            else:
                at = int(np.flatnonzero(self.index == served[i])[0]) - 1
                row, start = self.sights.hidden[0][at, i], self.others[at].id
                if self._behind(self.sights.looks[0])[at, i, k]:
                    found.setdefault(self.array.id, []).append(("array", start, ids[i]))
            for owner in self._owners(row):
                found.setdefault(owner, []).append(("array", start, ids[i]))
        for looks, hidden, blocked in zip(
            self.sights.looks[1:], self.sights.hidden[1:], self.eyes, strict=True
        ):
            for pair in np.flatnonzero(blocked[:, k]).tolist():
                place, target = looks.pairs[pair].tolist()
                line = (looks.kind, looks.starts[place], looks.ends[target])
                for owner in self._owners(hidden[place, target]):
                    found.setdefault(owner, []).append(line)
                if self._behind(looks)[place, target, k]:
                    found.setdefault(self.array.id, []).append(line)
        return tuple(
            InTheWay(None if owner == WALLS else owner, tuple(lines)) for owner, lines in found.items()
        )

    def _owners(self, row: Bools) -> list[str]:
        return list(dict.fromkeys(self.sights.blockers[j].owner for j in np.flatnonzero(row).tolist()))
