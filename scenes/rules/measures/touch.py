"""Two things in one place: body, cable and box in anything else, the body in a wall or in what is above."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Self

import numpy as np

from geometry.areas import inside_gap
from geometry.clearance import Hanging, plan_gap
from geometry.shapes import Point3
from scenes.findings.cause import Cause
from scenes.findings.clearance import Part
from scenes.room.tiles import ON_IT_M, filled_tile
from scenes.rules import room_above
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Floats, LeastIn, Measure, Measured
from scenes.rules.measures import void
from scenes.rules.measures.distance import Distance
from scenes.rules.surroundings import TILE_M, Site, Thing, Things, cable_of, edges_in, known_of


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """Devices and obstacles, other arrays, walls. The cable's place in the ceiling's tile counts as well."""
    hanging: dict[Part, Hanging] = {"body": site.body}
    cable = cable_of(site.array, site.ceiling_m if site.open else site.ceiling_m + TILE_M)
    if cable is not None:
        hanging["cable"] = cable
    fixed = site.stacked(applied.rule.id, lambda: site.fixed(("device", "obstacle")))
    several = [things for things in (fixed, Things.of(site.others())) if things.each]
    return [
        *(Touch(applied, site, things, hanging) for things in several),
        InWall(applied, site),
        *void.in_anything(applied, site),
        *room_above.measures(applied, site),
    ]


class Touch(Distance):
    """What hangs in things; there is something to say only where it is."""

    def __init__(
        self, applied: AppliedRule, site: Site, things: Things, hanging: Mapping[Part, Hanging]
    ) -> None:
        # what a device asks for is no touching
        plain = [one if one.own_m is None else replace(one, own_m=None) for one in things.each]
        super().__init__(applied, site, replace(things, each=tuple(plain)), hanging)
        self._kinds = [(one.kind, one.own_m) for one in things.each]
        self._search: Distance | None = None

    @property
    def binds(self) -> bool:
        """Not where other rules keep every thing farther away: what is wholly above the ceiling's tile counts too."""
        return self.applied.in_force and self._asked is not None

    @property
    def _asked(self) -> Distance | None:
        """The things that no other rule keeps away by more than the tile is thick; the others need not be asked."""
        if self._search is None:
            least = self.applied.required_m + TILE_M
            kept = {key: self.site.kept_off_m(*key, self.applied) for key in set(self._kinds)}
            left = [one for one, key in zip(self.things.each, self._kinds, strict=True) if kept[key] < least]
            if not left:
                return None
            some = self.things if len(left) == len(self.things.each) else Things.of(left)
            self._search = Distance(self.applied, self.site, some, self.hanging)
        return self._search

    def least(self, positions: Floats, *, up_to_m: float = math.inf) -> Floats:
        """(n,) the least over the things that no other rule keeps away anyway."""
        asked = self._asked
        return np.full(len(positions), np.inf) if asked is None else asked.least(positions)

    def least_in(self, likes: Sequence[Self], away: Callable[[Floats], Floats]) -> LeastIn | None:
        """Of the things that no other rule keeps away anyway, as distances."""
        asked = [one._asked for one in likes]
        if all(one is None for one in asked):
            return lambda positions, up_to_m: np.full(len(positions), np.inf)
        some = [one for one in asked if one is not None]
        return some[0].least_in(some, away) if len(some) == len(likes) else None

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Where it touches; not judged where only a default size of overtable's own makes it."""
        found = super().finding(column, at, spares) if spares[column] < -MET_M else None
        if found is None or found.actual_m is None or found.actual_m >= -MET_M:
            return found
        thing = self.thing(column)
        if found.sure:
            return replace(found, cause=Cause("runs-into", thing.id))
        cause = self._in_one_plane(thing, at)
        return replace(found, judged=False) if cause is None else replace(found, cause=cause, sure=True)

    def _in_one_plane(self, thing: Thing, at: Point3) -> Cause | None:
        """That two faces are in the ceiling's plane and in one place there; no default depth has to decide that.

        Nor a default size, where the device is of a kind that fills its tile.
        """
        device, room = thing.device, self.site.scene.room
        if device is None or self.site.array.profile.mount != "flush" or abs(device.below_m) > ON_IT_M:
            return None
        if (plan_gap(self.site.body, at, known_of(device)) < -MET_M).any():
            return Cause("runs-into", thing.id)
        tile = filled_tile(room, device) if self.site.suspended else None
        if tile is None or plan_gap(self.site.body, at, [tile[1]])[0, 0] > -ON_IT_M:
            return None
        return Cause("one-tile", tile[0])


class InWall(Measure):
    """The body in a wall: the rules that keep it off walls keep the search out, unless they are switched off."""

    same_at_all_heights = True

    def __init__(self, applied: AppliedRule, site: Site) -> None:
        self.applied, self.site = applied, site
        self.against = (Against("walls", "wall", "body"),)
        self._outline = edges_in((site.scene.room.outline_m,))

    @property
    def binds(self) -> bool:
        """Not where another rule asks no less."""
        asked = self.site.kept_off_m("wall", None, self.applied)
        return self.applied.in_force and asked < self.applied.required_m

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) the distance on plan to the nearest wall beyond what is required."""
        inside = inside_gap(self.site.body, positions, self._outline)
        return np.asarray((inside - self.applied.required_m)[:, None])

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """Where the body is in a wall."""
        spare = float(spares[column])
        if spare >= -MET_M:
            return None
        actual = spare + self.applied.required_m
        cause = Cause("runs-into", "walls") if actual < -MET_M else None
        return Measured(self.applied, self.applied.required, actual, spare, cause)
