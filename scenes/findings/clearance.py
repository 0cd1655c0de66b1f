"""How near an array is to whatever else there is, by the rules. Records only."""

from __future__ import annotations

import math
from typing import Literal

from geometry.records import record
from geometry.shapes import Disc, Point3, Solid
from scenes.findings.cause import Cause
from scenes.findings.names import Id, Quoted
from scenes.room.scene import RuleChange
from scenes.rulebook import DEFAULT_CODE, Basis, CodeSet, Rule, Sureness, rules

Part = Literal["body", "cable", "box", "line", "void"]
"""Of the array: its body, its cable, the box it comes from, the line on from there, the room above the ceiling."""

ClearanceState = Literal["clear", "short", "advised", "unjudged", "off"]
"""short: less than what is solid fact, what a published code asks or what the designer wrote.

advised: less than a default of overtable's own, or only because of a default size. unjudged: the rule
cannot judge. off: the spec switches the rule off.
"""

STATES: tuple[ClearanceState, ...] = ("short", "advised", "unjudged", "clear", "off")
"""In the order of a review's rows."""


@record(frozen=True, slots=True)
class Shown:
    """What a drawing shows of a clearance.

    line_m  from the array to the thing, metres
    hatch   what is too near
    ring    a circle round the array, on the ceiling, where what is too near has no place of its own
    """

    line_m: tuple[Point3, Point3] | None = None
    hatch: Solid | None = None
    ring: Disc | None = None


@record(frozen=True, slots=True)
class Clearance:
    """One array (or device) against one thing by one rule.

    `against` is the id of the thing, or walls, floor, grid, structure, ceiling; `kind` what it is. `part`
    of the array is the one nearest its limit. Required is None where nothing is asked, where the rule
    cannot judge and where it is switched off; actual where there is nothing to measure. `change` is what
    the spec changes about the rule, where that is what counts.
    """

    array: Id | None
    device: Id | None
    against: Id
    kind: Id
    part: Part | None
    rule: Id
    required_m: float | None
    actual_m: float | None
    state: ClearanceState
    basis: Basis
    sureness: Sureness
    cause: Cause | None = None
    change: RuleChange | None = None
    shown: Shown | None = None
    code: CodeSet = DEFAULT_CODE
    """The set of codes that it was judged by."""
    layout: Id | None = None
    """The layout in which it is so; None where it is the same in all, or there are none."""

    @property
    def spare_m(self) -> float:
        """How much more there is than is asked, metres, less than 0 where it is too near; endless where nothing is asked
        or nothing measured.
        """
        if self.actual_m is None or self.required_m is None:
            return math.inf
        return self.actual_m - self.required_m

    @property
    def by(self) -> Rule:
        """The rule, as the rulebook has it for the room's set of codes."""
        return rules(self.code)[self.rule]

    @property
    def number(self) -> Id:
        """The rule's fixed number."""
        return self.by.number

    @property
    def title(self) -> Quoted:
        """What the rule is called."""
        return self.by.title
