"""Whether the lines that are clear go on being clear anywhere an array may be off to.

Its own lines to all the mouths it serves, and all other lines of the room past its body and cable: of other
arrays, cameras and viewers. A line that something blocks already cannot be lost.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.lines_kept import disc_to_hidden, hides_in_box, straight_to_hidden, swept
from geometry.off_by import OffBy, largest
from geometry.shadow import Sight
from geometry.shapes import Cylinder, Prism
from scenes.findings.review import Limit
from scenes.review.blockers import Blocker, any_of, of_array
from scenes.review.sight import Looks, Sights
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from scenes.rules.surroundings import body_of

FINE_M = 1e-3
"""How exact a disc or a plumb line is found that another line ends."""


class LinesKept:
    """The clear lines of one array, and those past it, where it hangs; `sights` say what each array serves."""

    def __init__(self, scene: Scene, array: Array, sights: Sights) -> None:
        self.array, self.at = array, np.array(array.centre_m)
        self._still, self._tilted = body_of(array), body_of(array).tilted(array.profile.level_deg)
        self._ceiling_m = ceiling_over_m(scene.room, array.at_m)
        before = [one for one in sights.blockers if one.owner != array.id]
        heads: list[int] = []
        self._past: list[tuple[Looks, NDArray[np.int64]]] = []
        for looks, hidden in zip(sights.looks, sights.hidden, strict=True):
            clear = looks.pairs[~any_of(hidden)[looks.pairs[:, 0], looks.pairs[:, 1]]]
            own = np.array([looks.starts[k] == array.id for k in clear[:, 0]], np.bool_)
            if looks.kind == "array":
                heads, clear = clear[own, 1].tolist(), clear[~own]
            if len(clear):
                self._past.append((looks, clear))
        self._owners = [one.owner for one in before]
        self._sight = Sight(
            scene.heads_as_rows.take(np.array(heads, np.int64)), tuple(one.solid for one in before)
        )
        self._sees = bool(heads)

    def lost_in(self, off: OffBy) -> Limit | None:
        """What does not stay clear everywhere in the box of places, level or not; None where everything does."""
        solid = hides_in_box(self._sight, self.at, off) if self._sees else None
        if solid is not None:
            return self._limit(solid)
        # out of true the ends lean out all round, which is less than the corner of a larger square
        return self._lost_past(self._out_of_true(off), self._tilted.radius_m - self._still.radius_m)

    def _out_of_true(self, off: OffBy) -> OffBy:
        """The box of places in which body and cable, level, are as high and as low as they come out of true."""
        still, tilted = self._still, self._tilted
        return OffBy(
            off.sideways_m,
            off.up_m + tilted.above_m - still.above_m,
            off.down_m + tilted.below_m - still.below_m,
        )

    def disc_to_loss(self, most_m: float) -> tuple[float, Limit | None]:
        """The radius of the largest level disc in which every line stays clear, up to that, and what ends it."""
        radius, solid = disc_to_hidden(self._sight, self.at, most_m) if self._sees else (most_m, None)
        shorter, end = largest(lambda some: self._lost_past(OffBy(), some), radius, FINE_M)
        return (shorter, end) if end is not None else (radius, self._limit(solid))

    def straight_to_loss(self, rise_m: float) -> tuple[float, Limit | None]:
        """How far straight up, down where negative, every line stays clear, up to that, and what ends it."""
        up = np.copysign(1.0, rise_m) > 0
        left, solid = straight_to_hidden(self._sight, self.at, rise_m) if self._sees else (abs(rise_m), None)
        shorter, end = largest(
            lambda some: self._lost_past(OffBy(0.0, some, 0.0) if up else OffBy(0.0, 0.0, some)), left, FINE_M
        )
        return (shorter, end) if end is not None else (left, self._limit(solid))

    def _limit(self, solid: int | None) -> Limit | None:
        return None if solid is None else Limit("sight", self._owners[int(self._sight.index[solid])])

    def _lost_past(self, off: OffBy, disc_m: float = 0.0) -> Limit | None:
        """This array, where it covers another line from somewhere in the box or disc."""
        if not self._past:
            return None
        hung = [Blocker(self.array.id, "array", one) for one in self._swept(off, disc_m)]
        lost = any(_covers(looks, clear, hung) for looks, clear in self._past)
        return Limit("sight", self.array.id) if lost else None

    def _swept(self, off: OffBy, disc_m: float) -> list[Cylinder | Prism]:
        return [
            swept(one.solid, off, disc_m, self._ceiling_m if one.cable else None)
            for one in of_array(self.array, self._ceiling_m)
            if not isinstance(one.solid, Prism)
        ]


def _covers(looks: Looks, pairs: NDArray[np.int64], hung: Sequence[Blocker]) -> bool:
    """Whether any of these lines is covered."""
    return bool(looks.hides(hung)[pairs[:, 0], pairs[:, 1]].any())
