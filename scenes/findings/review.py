"""A room judged: heads, arrays, clearances, sightlines, speech and the verdict. Records only."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

from geometry.coverage import Reason, State
from geometry.records import record
from geometry.shapes import Point2, Point3
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.sight import Sightline, SightState, Unblock
from scenes.findings.sound import Sound, SpeechLine
from scenes.room.scene import Posture, Scene

Verdict = Literal["pass", "caution", "fail"]
VERDICTS: tuple[Verdict, ...] = get_args(Verdict)
"""From the best to the worst."""

Standing = Literal["covered", "marginal", "blocked", "missed"]
"""How a talker stands, from good to bad: a head's state, and blocked if its array cannot see it."""
STANDINGS: tuple[Standing, ...] = ("covered", "marginal", "blocked", "missed")

AREA_STATES: tuple[State, ...] = ("covered", "marginal", "missed")
"""How an area stands, from good to bad."""

Direction = Literal["sideways", "up", "down"]


@record(frozen=True, slots=True)
class Counts:
    """People, each by the worst of their heads: covered + marginal + missed + blocked = talkers.

    Who is missed comes before who is blocked, and blocked is not covered. None but the talkers where an
    array has no place.
    """

    talkers: int
    covered: int | None = None
    marginal: int | None = None
    missed: int | None = None
    blocked: int | None = None

    @property
    def lacking(self) -> int:
        """How many are not covered: what is compared where counts are of different layouts."""
        return self.talkers - (self.covered or 0)


@record(frozen=True, slots=True)
class Limit:
    """What ends a tolerance: a head or area that would be lost, a rule against a thing, or a line of sight.

    `id` is the head, the area, the thing the rule is about, or of a line the thing in its way.
    """

    kind: Literal["head", "area", "rule", "sight"]
    id: Id
    rule: Id | None = None


@record(frozen=True, slots=True)
class Alone:
    """How far off one way at a time, level: the largest disc on plan, straight up, straight down."""

    sideways_m: float | None
    up_m: float | None
    down_m: float | None


@record(frozen=True, slots=True)
class Tolerance:
    """How far an array may be off in all directions at once, and out of true, before anything that holds is lost.

    Anywhere in ±sideways_m along plan x and y, from down_m below to up_m above, up to level_deg out of true.
    None in a direction that only a stop ends (ceiling, structure, floor) or that a flush body does not
    have; 0 if nothing is covered. `limited_by` names what ends each.
    """

    sideways_m: float | None
    up_m: float | None
    down_m: float | None
    level_deg: float
    alone: Alone
    limited_by: Mapping[Direction, Limit | None]


@record(frozen=True, slots=True)
class HeadReview:
    """How one head stands to the array that serves it. Angles and slant: the middle of the mouth range.

    `person` is whose head it is: several heads of somebody who walks, or who also stands up, are one talker.
    """

    id: Id
    posture: Posture
    mouth_m: Point3
    mouth_range_m: tuple[float, float]
    sway_m: float
    array: Id
    depression_deg: float
    slant_m: float
    off_centre_deg: float
    in_band: bool
    in_reach: bool
    sector: int | None
    slack_m: float
    margin_m: float
    state: State
    reason: Reason | None
    sight: SightState
    blocked_by: Id | None
    """The blocker nearest the array."""
    blockers: tuple[Id, ...]
    """Everything in the way, the nearest to the array first."""
    also_covered_by: tuple[Id, ...]
    person: Id
    layout: Id | None = None
    """The layout in which they sit or stand, in a room of several."""

    @property
    def standing(self) -> Standing:
        """Its state, and blocked if its array cannot see it; who is missed is that first."""
        return "blocked" if self.sight == "blocked" and self.state != "missed" else self.state


@record(frozen=True, slots=True)
class AreaReview:
    """How an area stands, in which anybody may be anywhere: to all arrays together, each point to the best for it.

    `covered_share` of its plan is covered, `uncovered` are plan outlines of the rest; slack and margin are the
    least of any mouth in it, which is at `worst_at_m`; `arrays` cover some of it. No line of sight is asked.
    """

    id: Id
    layout: Id | None
    posture: Posture
    mouth_range_m: tuple[float, float]
    sway_m: float
    covered_share: float
    slack_m: float
    margin_m: float
    worst_at_m: Point3
    arrays: tuple[Id, ...]
    state: State
    uncovered: tuple[tuple[Point2, ...], ...]


@record(frozen=True, slots=True)
class ArrayReview:
    """What one array does for the heads it serves. Means and worsts are None if it serves nobody."""

    id: Id
    at_m: Point2
    height_m: float
    drop_m: float
    band_name: Id
    low_deg: float
    high_deg: float
    reach_m: tuple[float, float]
    heads: tuple[Id, ...]
    margin_m: float | None
    mean_off_centre_deg: float | None
    rms_off_centre_deg: float | None
    worst_slant_m: float | None
    underside_m: float
    height_interval_m: tuple[float, float] | None
    covered_interval_m: tuple[float, float] | None
    tolerance: Tolerance


@record(frozen=True)
class Review:
    """The Scene judged: heads, arrays, clearances, sightlines and what frees them, speech and the verdict.

    Of a room of several layouts heads, areas, lines and what frees them are of all, ids with the layout's name
    behind; in the review of one of them (`scene.layout`) verdict and tolerance are the whole room's.

    `tolerance` is the least of each over the arrays. Before every array has a place (`judged` is False) there is no
    verdict: no heads, arrays or lines, and `scene` has the arrays that hang; `waiting` are the others, none where
    the room has no array at all.
    """

    scene: Scene
    verdict: Verdict | None
    counts: Counts
    tolerance: Tolerance | None
    heads: tuple[HeadReview, ...]
    arrays: tuple[ArrayReview, ...]
    clearances: tuple[Clearance, ...]
    sightlines: tuple[Sightline, ...]
    unblock: tuple[Unblock, ...]
    speech: tuple[SpeechLine, ...] | None
    waiting: tuple[Id, ...] = ()
    areas: tuple[AreaReview, ...] = ()
    layouts: tuple[LayoutReview, ...] = ()
    """Every layout by itself, of a room of several: the verdict is the worst, and so are the counts."""
    sound: Sound | None = None
    """The room's sound and the advice about it; None without acoustics."""

    @property
    def judged(self) -> bool:
        """Whether there is a verdict: every array has a place."""
        return self.verdict is not None

    @property
    def held(self) -> bool:
        """Whether it fails: nothing of the room is to be hung as it stands, and no tolerance is told for that."""
        return self.verdict == "fail"

    @property
    def told_tolerance(self) -> Tolerance | None:
        """The tolerance that outputs tell; None where the room is held, covers nobody, or is not judged."""
        return None if self.held or not self.counts.covered else self.tolerance

    @property
    def too_close_already(self) -> bool:
        """Whether an array is too close to something where it hangs: no tolerance counts that."""
        return any(row.array is not None and row.state in ("short", "advised") for row in self.clearances)

    def head(self, id: str) -> HeadReview:
        """How the head of that id stands; KeyError if there is none."""
        return {head.id: head for head in self.heads}[id]

    def array(self, id: str) -> ArrayReview:
        """What the array of that id does; KeyError if there is none."""
        return {array.id: array for array in self.arrays}[id]

    @property
    def margin_m(self) -> float:
        """The least margin over all heads and areas."""
        return min([*(head.margin_m for head in self.heads), *(area.margin_m for area in self.areas)])

    @property
    def tolerance_m(self) -> float:
        """The least margin over all heads and areas, 0 if somebody is lost already."""
        return max(self.margin_m, 0.0)

    @property
    def clear(self) -> tuple[Clearance, ...]:
        """The clearances that are kept."""
        return tuple(clearance for clearance in self.clearances if clearance.state == "clear")

    @property
    def short(self) -> tuple[Clearance, ...]:
        """The clearances that fail."""
        return tuple(clearance for clearance in self.clearances if clearance.state == "short")

    @property
    def advised(self) -> tuple[Clearance, ...]:
        """The clearances below a default of overtable's own."""
        return tuple(clearance for clearance in self.clearances if clearance.state == "advised")

    @property
    def unjudged(self) -> tuple[Clearance, ...]:
        """The clearances that no rule can judge."""
        return tuple(clearance for clearance in self.clearances if clearance.state == "unjudged")

    @property
    def open_clearances(self) -> tuple[Clearance, ...]:
        """The clearances that fail, are below a default of ours, or cannot be judged."""
        return tuple(clearance for clearance in self.clearances if clearance.state not in ("clear", "off"))

    @property
    def blocked(self) -> tuple[Sightline, ...]:
        """The sightlines that are blocked."""
        return tuple(line for line in self.sightlines if line.state == "blocked")


@record(frozen=True, slots=True)
class LayoutReview:
    """One layout of several judged by itself, with the arrays that serve them all."""

    name: Id
    review: Review
