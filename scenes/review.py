"""Every question asked of a Scene, answered once: the Review.

A Review is frozen and complete; pictures, pages, sheets, tables and sentences read it and compute
nothing again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from geometry.band import ON_EDGE_M
from geometry.coverage import REASONS, Coverage, Reason, State, cover
from geometry.heights import height_interval
from geometry.shapes import Point2, Point3
from scenes.cautions import with_cautions
from scenes.scene import Array, Posture, Scene

Verdict = Literal["pass", "caution", "fail"]
ClearanceState = Literal["clear", "short", "unjudged", "off"]
SightState = Literal["clear", "blocked"]


@dataclass(frozen=True, slots=True)
class HeadReview:
    """How one head stands to the array that serves it. Angles and slant: the middle of the mouth range.

    `person` is whose head it is: several heads of somebody who walks, or who also stands up, are one talker.
    """

    id: str
    posture: Posture
    mouth_m: Point3
    mouth_range_m: tuple[float, float]
    sway_m: float
    array: str
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
    blocked_by: str | None
    also_covered_by: tuple[str, ...]
    person: str


@dataclass(frozen=True, slots=True)
class ArrayReview:
    """What one array does for the heads it serves. Means and worsts are None if it serves nobody."""

    id: str
    at_m: Point2
    height_m: float
    drop_m: float
    band_name: str
    low_deg: float
    high_deg: float
    reach_m: tuple[float, float]
    heads: tuple[str, ...]
    margin_m: float | None
    mean_off_centre_deg: float | None
    rms_off_centre_deg: float | None
    worst_slant_m: float | None
    underside_m: float
    height_interval_m: tuple[float, float] | None
    covered_interval_m: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Clearance:
    """One array against one device (or surface) by one rule. `part` is body or cable.

    `binding` tells whether a shortfall is a failure (the value was seen in its source) or can be a
    caution at most. Required and actual are None where the rule cannot judge or none is required.
    """

    array: str
    against: str
    kind: str
    rule: str
    part: Literal["body", "cable"]
    required_m: float | None
    actual_m: float | None
    state: ClearanceState
    binding: bool
    note: str
    source: str
    sureness: str


@dataclass(frozen=True, slots=True)
class Sightline:
    """A line that should be free: array to mouth, camera to face, eye to display."""

    kind: Literal["array", "camera", "display"]
    start: str
    end: str
    array: str | None
    start_m: Point3
    end_m: Point3
    state: SightState
    blocked_by: str | None
    blocked_at_m: Point3 | None
    advice: str | None
    binding: bool = True
    """Whether it is blocked by what the spec tells: where only a default size of ours does, nothing fails."""


@dataclass(frozen=True, slots=True)
class SpeechLine:
    """Speech of one head at the array that serves it, for the stated vocal effort."""

    head: str
    array: str
    level_dBA: float
    to_noise_dB: float | None
    to_reverberant_dB: float | None


@dataclass(frozen=True)
class Review:
    """The Scene judged: heads, arrays, clearances, sightlines, speech and the verdict."""

    scene: Scene
    verdict: Verdict
    heads: tuple[HeadReview, ...]
    arrays: tuple[ArrayReview, ...]
    clearances: tuple[Clearance, ...]
    sightlines: tuple[Sightline, ...]
    speech: tuple[SpeechLine, ...] | None

    def head(self, id: str) -> HeadReview:
        """How the head of that id stands; KeyError if there is none."""
        return {head.id: head for head in self.heads}[id]

    def array(self, id: str) -> ArrayReview:
        """What the array of that id does; KeyError if there is none."""
        return {array.id: array for array in self.arrays}[id]

    def heads_in(self, state: State) -> tuple[HeadReview, ...]:
        """The heads in that state, in order."""
        return tuple(head for head in self.heads if head.state == state)

    @property
    def margin_m(self) -> float:
        """The least margin over all heads."""
        return min(head.margin_m for head in self.heads)

    @property
    def tolerance_m(self) -> float:
        """How far any array may be shifted, in any direction, before anybody is lost; 0 if somebody is already."""
        return max(self.margin_m, 0.0)

    @property
    def short(self) -> tuple[Clearance, ...]:
        """The clearances that are short."""
        return tuple(clearance for clearance in self.clearances if clearance.state == "short")

    @property
    def blocked(self) -> tuple[Sightline, ...]:
        """The sightlines that are blocked."""
        return tuple(line for line in self.sightlines if line.state == "blocked")


def review(scene: Scene) -> Review:
    """Every question asked of a scene, answered. ValueError if an array has no place yet."""
    # here and not above: the rules and the lines of sight are themselves written in this module's words
    from scenes.rules import clearances
    from scenes.sightlines import sightlines
    from scenes.speaking import speech

    heads, arrays, _ = review_coverage(scene)
    serving = {head.id: head.array for head in heads}
    lines = sightlines(scene, serving)
    blocking = {line.end: line for line in lines if line.kind == "array" and line.state == "blocked"}
    heads = tuple(
        _with_sight(head, blocking[head.id].blocked_by) if head.id in blocking else head for head in heads
    )
    found = clearances(scene)
    return Review(
        scene=scene,
        verdict=_verdict(heads, found, lines),
        heads=heads,
        arrays=arrays,
        clearances=found,
        sightlines=lines,
        speech=speech(scene, serving),
    )


def review_coverage(scene: Scene) -> tuple[tuple[HeadReview, ...], tuple[ArrayReview, ...], Coverage]:
    """Heads and arrays alone, without clearances and sightlines (every sight is told as clear)."""
    rows = scene.heads_as_rows
    positions = np.array([array.centre_m for array in scene.arrays], float)
    coverage = cover(positions, [array.band for array in scene.arrays], rows)
    serving = coverage.serving()
    heads = tuple(_head(scene, coverage, serving, i) for i in range(len(scene.heads)))
    arrays = tuple(_array(scene, array, k, heads, coverage, serving) for k, array in enumerate(scene.arrays))
    return heads, arrays, coverage


def sector_of(array: Array, point: Point2) -> int | None:
    """The azimuth sector a plan point lies in, counted from 1 at the array's turn, anticlockwise.

    None straight below the array; 1 when the profile has one sector.
    """
    if array.profile.sectors == 1:
        return 1
    x, y = point[0] - array.centre_m[0], point[1] - array.centre_m[1]
    if math.hypot(x, y) <= ON_EDGE_M:
        return None
    # rounded, so that a head exactly on a border does not fall to either side by the last bit
    azimuth = round((math.degrees(math.atan2(y, x)) - array.turn_deg) % 360, 6) % 360
    return math.floor(azimuth / (360 / array.profile.sectors)) + 1


def _head(scene: Scene, coverage: Coverage, serving: Any, i: int) -> HeadReview:
    head, k = scene.heads[i], int(serving[i])
    array = scene.arrays[k]
    reason = int(coverage.reason[k, i])
    return HeadReview(
        id=head.id,
        posture=head.posture,
        mouth_m=head.middle_m,
        mouth_range_m=head.mouth_m,
        sway_m=head.sway_m,
        array=array.id,
        depression_deg=float(coverage.depression_deg[k, i]),
        slant_m=float(coverage.slant_m[k, i]),
        off_centre_deg=float(coverage.off_centre_deg[k, i]),
        in_band=bool(coverage.in_band[k, i]),
        in_reach=bool(coverage.in_reach[k, i]),
        sector=sector_of(array, head.at_m),
        slack_m=float(coverage.slack_m[k, i]),
        margin_m=float(coverage.margin_m[k, i]),
        state=coverage.state(k, i),
        reason=None if reason < 0 else REASONS[reason],
        sight="clear",
        blocked_by=None,
        also_covered_by=tuple(
            other.id
            for j, other in enumerate(scene.arrays)
            if j != k and coverage.margin_m[j, i] >= -ON_EDGE_M
        ),
        person=head.person,
    )


def _with_sight(head: HeadReview, blocked_by: str | None) -> HeadReview:
    return replace(head, sight="blocked", blocked_by=blocked_by)


def _array(
    scene: Scene, array: Array, k: int, heads: tuple[HeadReview, ...], coverage: Coverage, serving: Any
) -> ArrayReview:
    from scenes.hanging import height_span_m, interval_of

    mine = [i for i in range(len(heads)) if serving[i] == k]
    off = np.array([heads[i].off_centre_deg for i in mine])
    low_m, high_m = height_span_m(scene, array)
    rows = scene.heads_as_rows

    def interval(keep: list[int], with_sway: bool) -> tuple[float, float] | None:
        if not keep:
            return None
        some = rows.take(np.array(keep, dtype=np.int64))
        demand = some.sway_m if with_sway else 0.0
        return interval_of(
            height_interval(array.centre_m[:2], array.band, some, demand, floor_m=low_m, ceiling_m=high_m)
        )

    return ArrayReview(
        id=array.id,
        at_m=array.centre_m[:2],
        height_m=array.centre_m[2],
        drop_m=scene.room.ceiling_m - array.centre_m[2],
        band_name=str(array.band_name),
        low_deg=array.band.low_deg,
        high_deg=array.band.high_deg,
        reach_m=array.profile.reach_m,
        heads=tuple(heads[i].id for i in mine),
        margin_m=min((heads[i].margin_m for i in mine), default=None),
        mean_off_centre_deg=float(off.mean()) if mine else None,
        rms_off_centre_deg=float(np.sqrt(np.mean(off**2))) if mine else None,
        worst_slant_m=max((heads[i].slant_m for i in mine), default=None),
        underside_m=array.underside_m,
        height_interval_m=interval([i for i in mine if heads[i].state != "missed"], False),
        covered_interval_m=interval([i for i in mine if heads[i].state == "covered"], True),
    )


def _verdict(
    heads: tuple[HeadReview, ...], found: tuple[Clearance, ...], lines: tuple[Sightline, ...]
) -> Verdict:
    if (
        any(head.state == "missed" for head in heads)
        or any(line.kind == "array" and line.state == "blocked" and line.binding for line in lines)
        or any(clearance.state == "short" and clearance.binding for clearance in found)
    ):
        return "fail"
    if (
        any(head.state == "marginal" for head in heads)
        or any(clearance.state in ("short", "unjudged") for clearance in found)
        or any(line.state == "blocked" for line in lines)
    ):
        return "caution"
    return "pass"


def as_json(review: Review) -> dict[str, Any]:
    """The `overtable/review/1` object."""
    scene = review.scene
    told = {
        "format": "overtable/review/1",
        "verdict": review.verdict,
        "room": {"name": scene.name, "area_m2": scene.room.area_m2, "ceiling_m": scene.room.ceiling_m},
        "heads": [{name: getattr(head, name) for name in HeadReview.__slots__} for head in review.heads],
        "arrays": [
            {
                "id": array.id,
                "at_m": array.at_m,
                "height_m": array.height_m,
                "drop_m": array.drop_m,
                "band": {"name": array.band_name, "low_deg": array.low_deg, "high_deg": array.high_deg},
                **{
                    name: getattr(array, name)
                    for name in ArrayReview.__slots__
                    if name not in ("id", "at_m", "height_m", "drop_m", "band_name", "low_deg", "high_deg")
                },
            }
            for array in review.arrays
        ],
        "clearances": [
            {name: getattr(clearance, name) for name in Clearance.__slots__}
            for clearance in review.clearances
        ],
        "sightlines": [
            {
                "from": line.start,
                "to": line.end,
                "array": line.array,
                "state": line.state,
                "kind": line.kind,
                "blocked_by": line.blocked_by,
                "blocked_at_m": line.blocked_at_m,
                "advice": line.advice,
                "binding": line.binding,
            }
            for line in review.sightlines
        ],
        "speech": None
        if review.speech is None
        else [{name: getattr(line, name) for name in SpeechLine.__slots__} for line in review.speech],
        "tolerance_m": review.tolerance_m,
    }
    return with_cautions(told, scene)
