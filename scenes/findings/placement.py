"""Why arrays cannot serve everybody, and what was tried on the room to help. Records only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from geometry.constraint import Key
from geometry.coverage import Reason
from geometry.shapes import Point3

Change = Literal["ceiling", "arrays", "lean", "reach", "band", "hold", "without"]
"""What can be changed of a room or of what is asked: another ceiling height, more arrays, nobody leaning, a longer
reach, another band, something held let go, a thing taken out."""

WhyNot = Literal["nothing allowed", "undecided", "too far apart", "nowhere", "not together", "arrays"]
"""Why not everybody is served: no position is allowed; it could not be narrowed down; two are too far apart on
plan; no position is allowed for these; the band or reach leaves some out; so many arrays cannot."""


@dataclass(frozen=True, slots=True)
class Try:
    """A change, applied to the whole room, which was placed, written as it would be, and judged.

    `value` is the ceiling's height or the reach (metres), a number of arrays, how far talkers lean (metres),
    what is no longer held, or the thing taken out; None where no value of that change helps. `works`: the
    room so changed does not fail; `covered` are its talkers covered, `margin_m` its largest margin.
    """

    change: Change
    value: float | int | str | None
    works: bool
    covered: int | None
    margin_m: float | None


@dataclass(frozen=True, slots=True)
class Miss:
    """A head that is lost at the best place for a conflict's heads.

    depression_deg, slant_m  of the end of its mouths that is worst off
    swaying                  it is lost only when it leans
    short_m                  by how much
    """

    head: str
    reason: Reason
    depression_deg: float
    slant_m: float
    swaying: bool
    short_m: float


@dataclass(frozen=True, slots=True)
class Because:
    """Why the heads of a conflict cannot be served together; which fields are set goes by the name.

    keys     what leaves no position: rules and lines of sight, the most excluding first
    apart_m  how far two are apart on plan, reach_m the farthest reach, spans_m what it spans with their sway
    at_m, band, low_deg, high_deg, reach_m, near_m, misses, served
             the best place for these heads, what it misses and whom it serves
    count    so many arrays
    """

    name: WhyNot
    keys: tuple[Key, ...] = ()
    apart_m: float | None = None
    spans_m: float | None = None
    reach_m: float | None = None
    near_m: float | None = None
    at_m: Point3 | None = None
    band: str | None = None
    low_deg: float | None = None
    high_deg: float | None = None
    misses: tuple[Miss, ...] = ()
    served: tuple[str, ...] = ()
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Conflict:
    """Heads that provably cannot all be served, why, and what was tried.

    `smallest` tells whether no smaller group is in conflict; else the group is irreducible: without any
    one of its heads the rest can be served.
    """

    heads: tuple[str, ...]
    smallest: bool
    because: Because
    tried: tuple[Try, ...]
