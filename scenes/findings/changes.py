"""What differs between two revisions of a room. Records only."""

from __future__ import annotations

from typing import Literal

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id, Quoted
from scenes.room.provenance import Origin

ChangeKind = Literal[
    "verdict",
    "room",
    "opening",
    "profile",
    "array",
    "head",
    "area",
    "keep away",
    "table",
    "device",
    "obstacle",
    "camera",
    "display",
    "rule",
    "clearance",
]

FieldName = Literal[
    "added",
    "removed",
    "verdict",
    "clearance",
    # a room, with its acoustics, limits and suspension
    "name",
    "code",
    "project",
    "outline",
    "ceiling",
    "ceiling parts",
    "ceiling kind",
    "structure",
    "grid",
    "grid origin",
    "north",
    "effort",
    "noise",
    "reverberation",
    "directivity",
    "surfaces",
    "use",
    "inclusive",
    "unsure",
    "wall limit",
    "headroom",
    "table limit",
    "distance criterion",
    "angle criterion",
    "ratio criterion",
    "over noise criterion",
    "noise criterion",
    "index criterion",
    "sound advice",
    "wish over",
    "wish row",
    "wish spare",
    "hung from",
    "box",
    "box size",
    "spare cable",
    "safety cable",
    "clamp",
    "swing",
    "swing source",
    # things
    "place",
    "height",
    "turn",
    "size",
    "shape",
    "kind",
    "wall",
    "offset",
    "sill",
    "mount",
    "body",
    "hole",
    "centre",
    "bands",
    "reach",
    "sectors",
    "hangs by",
    "points",
    "spread",
    "cut-out",
    "mass",
    "level",
    "band",
    "profile",
    "mouth",
    "sway",
    "weight",
    "posture",
    "state",
    "array",
    "sight",
    "covered share",
    "holes",
    "stretch",
    "below",
    "depth",
    "stem",
    "spray",
    "required",
    "aim",
    "angle",
    "facing",
    "head down",
    "array directivity",
    "rule",
    "reason",
]

Unit = Literal[
    "length", "range", "area", "angle", "mass", "seconds", "dBA", "number", "word", "quoted", "switch",
    "wall", "body", "bands", "required", "standing", "area state", "share",
]  # fmt: skip
"""How a quantity is said. `length` is of one length or several, `range` from one to another; a `word` is one of the
format's, `quoted` is text out of the file, `standing` how a talker stands, `area state` an area; `required` is what a
rule asks for, None where it is switched off."""

Named = tuple[Id, float, float]
"""A band: its name and its two angles, degrees."""


@record(frozen=True, slots=True)
class Quantity:
    """A value with how it is said and where it is from; `value` None: not given."""

    value: (
        float | bool | Quoted | tuple[float, ...] | tuple[Named, ...] | tuple[bool, tuple[float, ...]] | None
    )
    unit: Unit
    origin: Origin = "given"


@record(frozen=True, slots=True)
class Change:
    """One difference. `what` is the field that differs; `at_m` is where on the plan it is, if anywhere.

    `before` and `after`: what stood there, and stands now; None where it was added or removed, more than one where a
    whole thing is summed up. `apart` is how far two values are from each other that may read alike, in their unit,
    and for lengths and outlines metres. `clearances`: of a clearance, as it was judged before and now.
    """

    kind: ChangeKind
    id: Id
    what: FieldName
    before: tuple[Quantity, ...] | None
    after: tuple[Quantity, ...] | None
    at_m: Point2 | None
    apart: float | None = None
    clearances: tuple[Clearance | None, Clearance] | None = None
