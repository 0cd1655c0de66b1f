"""Heads and arrays of a scene: who serves whom, by how much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M
from geometry.coverage import REASONS, Coverage, cover
from geometry.heights import height_interval
from geometry.shapes import Point2
from scenes.findings.review import ArrayReview, HeadReview, Tolerance
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m, interval_of

Indices = NDArray[np.int64]


def coverage_of(scene: Scene) -> Coverage:
    """How every head stands to every array where it hangs."""
    positions = np.array([array.centre_m for array in scene.arrays], float)
    return cover(positions, [array.band for array in scene.arrays], scene.heads_as_rows)


def review_heads(scene: Scene, coverage: Coverage, serving: Indices) -> tuple[HeadReview, ...]:
    """How each head stands to the array that serves it, `serving` (heads,); every sight as clear."""
    return tuple(_head(scene, coverage, serving, i) for i in range(len(scene.heads)))


def review_arrays(
    scene: Scene, heads: tuple[HeadReview, ...], tolerances: Sequence[Tolerance]
) -> tuple[ArrayReview, ...]:
    """What each array does for the heads it serves."""
    return tuple(
        _array(scene, array, heads, tolerance)
        for array, tolerance in zip(scene.arrays, tolerances, strict=True)
    )


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


def _head(scene: Scene, coverage: Coverage, serving: Indices, i: int) -> HeadReview:
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
        blockers=(),
        also_covered_by=tuple(
            other.id
            for j, other in enumerate(scene.arrays)
            if j != k and coverage.margin_m[j, i] >= -ON_EDGE_M
        ),
        person=head.person,
    )


def with_sight(head: HeadReview, blockers: Sequence[str]) -> HeadReview:
    """The same head with these things in the way of its line, the nearest to the array first."""
    if not blockers:
        return head
    return replace(head, sight="blocked", blocked_by=blockers[0], blockers=tuple(blockers))


def _array(scene: Scene, array: Array, heads: tuple[HeadReview, ...], tolerance: Tolerance) -> ArrayReview:
    mine = [i for i, head in enumerate(heads) if head.array == array.id]
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
        drop_m=ceiling_over_m(scene.room, array.at_m) - array.centre_m[2],
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
        tolerance=tolerance,
    )
