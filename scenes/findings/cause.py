"""Why something is as it was found, by name, and what would change it. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from scenes.findings.names import Id, Quoted

Direction = Literal["+x", "-x", "+y", "-y", "up", "down"]

CauseName = Literal[
    "runs-into",
    "one-tile",
    "default-size",
    "default-depth",
    "nearest-wall",
    "over-a-table",
    "over-this-table",
    "underside",
    "recessed",
    "above-deflector",
    "beside-sprinkler",
    "beside-cable",
    "below-plane",
    "too-wide-below-plane",
    "wide-at-ceiling",
    "deeper-than-table",
    "unknown-spray",
    "extended-spray",
    "sidewall-spray",
    "special-spray",
    "no-code-value",
    "no-picture",
    "in-tile",
    "on-tee",
    "across-tee",
    "larger-than-tile",
    "larger-than-tile-turned",
    "across-edge",
    "no-room-above",
    "through-structure",
    "device-too-low",
    "device-too-high",
    "device-off-tile",
    "device-over-edge",
    "swings",
    "swings-by-default",
]
"""What decides a clearance.

runs-into             two things in one place
one-tile              two faces in the ceiling's plane, in the tile `thing`
default-size          it is so only by a size of overtable's own, of `thing`; `default-depth` likewise
nearest-wall          of the walls, `thing` is the nearest
over-a-table          `have_m` or more inside the edge of a table `may_m` high or higher: no headroom is asked
over-this-table       it hangs over it, which asks for a free height
underside             measured to the underside of the body
recessed              nothing of it projects below the ceiling
above-deflector       its underside is not under the deflector
beside-sprinkler      on plan, to the near edge; `beside-cable`: of the cable, by its diameter
below-plane           wholly under the plane below the deflector, tolerated up to a width of `may_m`
too-wide-below-plane  wider than `may_m` there: sprinklers are needed beneath it
wide-at-ceiling       its underside is `have_m` under the deflector; at this distance it may be `may_m` under it
deeper-than-table     as before, but deeper than the table goes
…-spray               the sprinkler's kind has other rules, or none that is known
no-code-value         of the code `thing`, which the room's set of codes has, no value is known
no-picture            no display looks towards the projector: where its light goes is not known
in-tile               wholly within the tile `thing`
on-tee                its cable goes through a tee beside the tile `thing`; `across-tee`: its body lies across one
larger-than-tile      the body goes into no tile of the grid; `…-turned`: as it is turned
across-edge           its body, or the box that it hangs by, lies across the edge of the ceiling part `thing`
no-room-above         it needs more room above the ceiling than there is
through-structure     the device `thing` reaches `have_m` into what is solid above: data to check
device-too-low        its lowest point is `have_m` above the floor, less than `may_m`; `device-too-high`: above the
                      ceiling, more than that: data to check, as with the next two
device-off-tile       the fitting is `have_m` off the tiles that it fills, more than `may_m`
device-over-edge      the device reaches `have_m` over the edge of the ceiling part `thing`, or of the rest
swings                out of plumb by `angle_deg`, as the file `quoted` says; `…-by-default`: it comes near `thing`
                      only by a size of overtable's own
"""


@record(frozen=True, slots=True)
class Move:
    """One thing moved straight along the room's x or y, or up or down. `seldom`: it may be fixed, as a column is.

    `wall` is the index of the wall that it goes straight towards; None where there is none square to the way.
    """

    thing: Id
    direction: Direction
    by_m: float
    seldom: bool = False
    wall: int | None = None


@record(frozen=True, slots=True)
class Cause:
    """Why, by name; the thing it is about; the figures that go with the name; what would change it.

    `have_m` is what is so, `may_m` the limit for it, `angle_deg` an angle that goes with it, `quoted` the file's own
    words for where that is from. `moves` are needed together.
    """

    name: CauseName
    thing: Id | None = None
    have_m: float | None = None
    may_m: float | None = None
    moves: tuple[Move, ...] = ()
    angle_deg: float | None = None
    quoted: Quoted | None = None
