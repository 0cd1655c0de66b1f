"""What a search found besides places: remarks, its progress, who conflicts and what was tried. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.branching import Progress
from geometry.constraint import Key
from geometry.coverage import Reason
from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.names import Id
from scenes.room.scene import CeilingKind

Change = Literal["ceiling", "arrays", "lean", "reach", "band", "hold", "without"]
"""What can be changed of a room or of what is asked: another ceiling height, more arrays, nobody leaning, a longer
reach, another band, something held let go, a thing taken out."""

WhyNot = Literal["nothing allowed", "undecided", "too far apart", "nowhere", "not together", "arrays"]
"""Why not everybody is served: no position is allowed; it could not be narrowed down; two are too far apart on
plan; no position is allowed for these; the band or reach leaves some out; so many arrays cannot."""


@record(frozen=True, slots=True)
class Try:
    """A change, applied to the whole room, which was placed, written as it would be, and judged.

    `value` is the ceiling's height or the reach (metres), a number of arrays, how far talkers lean (metres),
    what is no longer held, or the thing taken out; None where no value of that change helps. `works`: the
    room so changed does not fail; `covered` are its talkers covered, `margin_m` its largest margin, `bands`
    those its arrays then use, in order; None where no array has a place.
    """

    change: Change
    value: float | int | Id | None
    works: bool
    covered: int | None
    margin_m: float | None
    bands: tuple[Id, ...] | None = None


@record(frozen=True, slots=True)
class Miss:
    """A head that is lost at the best place for a conflict's heads.

    depression_deg, slant_m  of the end of its mouths that is worst off
    swaying                  it is lost only when it leans
    short_m                  by how much
    """

    head: Id
    reason: Reason
    depression_deg: float
    slant_m: float
    swaying: bool
    short_m: float


@record(frozen=True, slots=True)
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
    band: Id | None = None
    low_deg: float | None = None
    high_deg: float | None = None
    misses: tuple[Miss, ...] = ()
    served: tuple[Id, ...] = ()
    count: int | None = None


@record(frozen=True, slots=True)
class Conflict:
    """Heads that provably cannot all be served, why, and what was tried.

    `smallest` tells whether no smaller group is in conflict; else the group is irreducible: without any
    one of its heads the rest can be served.
    """

    heads: tuple[Id, ...]
    smallest: bool
    because: Because
    tried: tuple[Try, ...]


NoteName = Literal[
    "over limit",
    "unreached",
    "nothing allowed",
    "nothing found",
    "too little margin",
    "unseen",
    "not covered",
    "not apart",
    "left out",
    "some left out",
    "held too near",
    "too near",
    "outside the bound",
    "less as written",
    "hung as given",
    "in one part",
    "in part",
    "not in slopes",
    "more on the lattice",
    "too few on the lattice",
]
"""What there is to remark of a placement."""


@record(frozen=True, slots=True)
class Note:
    """A remark on a placement; which fields are set goes by the name.

    over limit         more arrays would be needed than the search goes to
    unreached          `heads` that no array can serve from anywhere in the room
    nothing allowed    no position is allowed
    nothing found      no allowed position was found within the effort allowed
    too little margin  no place leaves everybody `enough_m`; the best leaves `best_m`, negative where it is short
    unseen             no place sees everybody
    not covered        no place covers everybody
    not apart          up to `tried` arrays none were found that cover everybody and keep clear of each other
    left out           the `arrays` for which no place was left beside the others
    some left out      of arrays of one kind as many as `missing`, of `wanted`
    held too near      `pairs` of arrays, held where they are, break the rules between them
    too near           no places were found that part the `pairs`
    less as written         there is a place with `enough_m`; where arrays can be set out it is `best_m`
    more on the lattice     `wanted` arrays would do anywhere, with `best_m` on the lattice; there `hung` do
    too few on the lattice  the same, and up to `tried` none do there
    outside the bound  the rules between arrays are kept, and no part of the bound
    hung as given      under the `parts` of the ceiling nothing was sought: the suspension is for a `ceiling` of one kind
    in one part        the `arrays` are flush: each was sought in the part of the ceiling over its place alone
    in part            flush arrays, sought in every level part of the ceiling: `lie_in`, each with the part it lies in,
                       None beside all parts
    not in slopes      a flush array was not sought in the `parts`, which slope

    `instead`: the aim asked for gave way, and what covers the most talkers was taken, with `hung` arrays.
    """

    name: NoteName
    heads: tuple[Id, ...] = ()
    arrays: tuple[Id, ...] = ()
    pairs: tuple[tuple[Id, Id], ...] = ()
    instead: bool = False
    hung: int = 1
    enough_m: float | None = None
    best_m: float | None = None
    tried: int | None = None
    missing: int | None = None
    wanted: int | None = None
    parts: tuple[Id, ...] = ()
    lie_in: tuple[tuple[Id, Id | None], ...] = ()
    ceiling: CeilingKind | None = None


Stage = Literal["search", "count", "margin", "tolerance", "most", "near", "centre", "conflict", "one more"]
"""What a search is at: one array's search, a proof of several, bringing several closer, or what would help."""


@record(frozen=True, slots=True)
class Far:
    """How far a search has come: the `progress` of one array's, the `round` of a proof about several."""

    stage: Stage
    progress: Progress | None = None
    round: int | None = None
