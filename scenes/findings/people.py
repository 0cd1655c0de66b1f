"""People in a room: who sits and stands, what share of them a range holds, and who is covered. Records only."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from geometry.records import record
from scenes.findings.names import Id, Quoted
from scenes.room.scene import Posture

SurveySureness = Literal["seen", "copy"]


@record(frozen=True, slots=True)
class PostureReview:
    """Who sits, or who stands, by the survey that shares are of; `named`: the spec names it, else it is the default.

    `mouth_range_m` is the room's own, whoever gave it; `share_held` of people have their mouths in it (None of a
    single height), `share_below` lower. Nine of ten people's mouths lie in `most_m`: percentiles 5 and 95 of all.
    """

    posture: Posture
    named: bool
    population: Id
    women: float
    percentiles: tuple[float, float] | None
    seat_m: float | Literal["own"] | None
    shoe_m: float
    slump_m: float
    source: Quoted
    sureness: SurveySureness
    mouth_range_m: tuple[float, float]
    share_held: float | None
    share_below: float
    most_m: tuple[float, float]


@record(frozen=True, slots=True)
class PeopleReview:
    """People instead of limits: what share of such people is covered in each place, and how many of all at a time.

    `covered_share` by head; None of a head whose mouth the file gives for itself, who counts in `expected_covered`
    as the review has it. Of `talkers`, drawn by lot from such people, so many are covered in the mean: somebody with
    several heads counts by the least. Of several layouts the figures of the one that lacks most.
    """

    postures: tuple[PostureReview, ...]
    covered_share: Mapping[Id, float | None]
    expected_covered: float
    talkers: int


@record(frozen=True, slots=True)
class Neighbour:
    """Who is between a head and the array that serves it: the angle down that clears their crown, and what there is.

    `loss_dB` is what one head in the way takes at 1 kHz at most, 0 where the way clears it.
    """

    head: Id
    neighbour: Id
    array: Id
    need_deg: float
    have_deg: float
    loss_dB: float

    @property
    def state(self) -> Literal["clear", "advised"]:
        """Advised where the tallest neighbour reaches into the way of the smallest talker; never blocked."""
        return "advised" if self.loss_dB else "clear"
