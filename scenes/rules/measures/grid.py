"""Distance on plan to the nearest tee of a lay-in ceiling: from a pendant's cable, or from a flush array's body."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.shapes import Disc, Point2, Point3
from scenes.findings.cause import Cause, Direction, Move
from scenes.findings.clearance import Shown
from scenes.room.provenance import Given
from scenes.room.scene import Grid
from scenes.room.tiles import ON_IT_M, half_in_ceiling_m, tile_of
from scenes.rules.applied import AppliedRule
from scenes.rules.measure import MET_M, Against, Floats, Measure, Measured
from scenes.rules.surroundings import Site

RING_M = 0.10
"""A drawing rings the array this far outside its body."""


def measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """All tees as one, where arrays hang from a suspended ceiling."""
    grid = site.scene.room.grid
    return [Tees(applied, site, grid)] if grid is not None and site.suspended else []


class Tees(Measure):
    """What passes the ceiling's tile to the middle of the nearest tee.

    A flush body has to lie within its tile, which asks for 0 unless the spec asks for more; a pendant's
    cable, taken as its middle, keeps off the tee.
    """

    same_at_all_heights = True

    def __init__(self, applied: AppliedRule, site: Site, grid: Grid) -> None:
        self.applied, self.site, self.grid = applied, site, grid
        self.flush = site.array.profile.mount == "flush"
        self.required = Given(0.0, "default") if self.flush and applied.own_m is None else applied.required
        self.against = (Against("grid", "grid", "body" if self.flush else "cable"),)
        self._half = np.array(half_in_ceiling_m(site.array))

    @property
    def required_m(self) -> float:
        """What is asked between it and the middle of a tee."""
        return 0.0 if self.required is None else self.required.value

    def to_tees(self, positions: Floats) -> Floats:
        """(n, 2) along x and y from what passes the tile to the middle of the nearest tee, negative across it."""
        pitch = np.array(self.grid.pitch_m)
        # from the middle of the tile, by which the distance to the nearer of its tees is continuous
        turn = (positions[:, :2] - self.grid.origin_m) / pitch
        off = np.abs(turn - np.floor(turn) - 0.5) * pitch
        swept = self.site.sweep.square_m + self.site.sweep.disc_m
        return np.asarray(pitch / 2 - off - self._half - swept)

    def signed(self, positions: Floats) -> Floats:
        """(n, 1) the distance beyond what is required; what is on it but for rounding is met."""
        return np.asarray((self.to_tees(positions).min(axis=1) - self.required_m + ON_IT_M)[:, None])

    @property
    def fits(self) -> bool:
        """Whether the body goes into a tile at all; a cable does."""
        return bool((np.array(self.grid.pitch_m) / 2 - self._half).min() >= -ON_IT_M)

    def judges(self, column: int) -> bool:
        """Whether the body goes into a tile at all."""
        return self.fits

    def finding(self, column: int, at: Point3, spares: Floats) -> Measured | None:
        """In which tile it is, or how it comes off the tee; a body that goes into no tile is not judged."""
        ways = self.to_tees(np.array([at]))[0].tolist()
        actual, spare = min(ways), float(spares[column])
        tile, offset = tile_of(self.site.scene.room, at[:2]) or ("", (0.0, 0.0))
        if not self.judges(column):
            turned = self.site.array.turn_deg % 90 != 0 and not self.site.array.profile.round
            cause = Cause("larger-than-tile-turned" if turned else "larger-than-tile")
            return Measured(self.applied, None, actual, spare, cause, judged=False)
        if spare >= -MET_M:
            return Measured(self.applied, self.required, actual, spare, Cause("in-tile", tile))
        moves = tuple(self._moves(ways, offset))
        cause = Cause("across-tee" if self.flush else "on-tee", tile, moves=moves)
        shown = Shown(ring=self._ring(at))
        return Measured(self.applied, self.required, actual, spare, cause, shown=shown)

    def _moves(self, ways: Sequence[float], offset: Point2) -> list[Move]:
        """How far along the grid's two directions it has to go, towards the middle of its tile."""
        directions: tuple[tuple[Direction, Direction], ...] = (("+x", "-x"), ("+y", "-y"))
        return [
            Move(self.site.array.id, towards[off > 0], self.required_m - way)
            for way, off, towards in zip(ways, offset, directions, strict=True)
            if way < self.required_m - ON_IT_M
        ]

    def _ring(self, at: Point3) -> Disc:
        radius = self.site.array.profile.plan_radius_m + RING_M
        return Disc((at[0], at[1], self.site.ceiling_m), radius)
