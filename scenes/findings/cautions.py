"""What to heed before anything is hung, what is open in this room, and who signs for what. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from scenes.findings.names import Id

CautionName = Literal[
    # the file leaves something out
    "mass",
    "structure",
    "grid",
    "safety cable",
    "no sprinklers",
    "no detectors",
    "not listed",
    # it is in the file
    "sprinklers",
    "detectors",
    # this kind of ceiling
    "grid load",
    "plenum",
    "fire rating",
    "fire protection",
    "asbestos",
    "coatings",
    # wherever anything hangs over people
    "load",
    "secondary support",
    "seismic",
    "electrical",
    "height",
]

Because = Literal["not given", "not listed", "here", "ceiling", "always"]
"""Why a caution applies, the most specific first."""

Signatory = Literal["architect", "fire", "ceiling", "structure", "electrical", "client"]

OpenName = Literal[
    "missed",
    "layout",
    "area",
    "blocked",
    "short",
    "marginal",
    "layout caution",
    "area upright",
    "no tolerance",
    "little tolerance",
    "flat wires",
    "hangs short",
    "advised",
    "tee",
    "unjudged",
    "view",
    "unsure",
    "changed",
    "far structure",
    "mass",
    "structure",
    "grid",
    "safety cable",
    "overhead",
]
"""What may be open: talkers or areas not covered, or an array's line to them blocked; layouts beside the one shown that
fail or are open; clearances too small, below advice, not judged; an array on a tee of the grid; talkers or areas covered
only upright; arrays without installation tolerance, or with less than can be set out, whose wires lie too flat to carry
them, or with next to nothing to hang by; the view of a camera or display;
what of the file nobody measured; a rule that the file changes; a structure improbably far above the ceiling; what the
file does not give, by the caution's name; and wherever anything hangs over people what carries it: overhead load and
secondary support."""


@record(frozen=True, slots=True)
class Caution:
    """One caution. `things`: the profiles, devices or kinds of device that it is about, if it is about any."""

    name: CautionName
    because: Because
    things: tuple[Id, ...] = ()


@record(frozen=True, slots=True)
class Open:
    """One thing that is open in this room, and who decides it.

    `things`: the talkers, arrays, devices, walls, rules or profiles it is about. `fails`: whether it alone fails the
    room. `value_m`: the length it is about, if it is about one.
    """

    name: OpenName
    who: Signatory
    things: tuple[Id, ...]
    fails: bool
    value_m: float | None = None


@record(frozen=True, slots=True)
class SignOff:
    """What one of the signatories signs for: the cautions that are theirs, and what is open for them."""

    who: Signatory
    cautions: tuple[Caution, ...]
    open: tuple[Open, ...]
