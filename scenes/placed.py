"""A placement as it is told: where every array goes, with the proof's figures, as JSON and certificate."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from geometry.band import (
    Band,
)
from geometry.branching import Outcome
from geometry.certificate import Certificate
from geometry.coverage import Coverage, cover
from geometry.placement import (
    Constraint,
)
from geometry.question import Aim
from geometry.tolerance import RoomToMove, left_after_tilt_m, room_to_move
from scenes.review import sector_of
from scenes.rules import constraints_for
from scenes.scene import Array, Scene


@dataclass(frozen=True, slots=True)
class PlacedArray:
    """Where one array goes, whom it serves, and what the installer may be off by.

    `rooms` are the ways it may move before the first of its heads is lost or a rule fails;
    `margin_left_m` is what is left of its margin when it hangs out of true by the profile's level.
    """

    id: str
    at_m: tuple[float, float]
    height_m: float
    drop_m: float
    band_name: str
    band: Band
    heads: tuple[str, ...]
    margin_m: float | None
    rooms: tuple[RoomToMove, ...]
    margin_left_m: float | None


@dataclass(frozen=True, slots=True)
class AimRow:
    """One aim beside the others: where it would put the arrays, and all figures; None where it has no place.

    `bound` and `gap` are in what the aim certifies: metres of margin, metres of slant, degrees. With
    several arrays the margin's bound holds for all arrangements, the others' for these groups of heads
    (`for_groups`; the off-centre of several arrays together is not bounded).
    """

    aim: Aim
    outcome: Outcome
    places: tuple[tuple[str, tuple[float, float, float], str], ...]
    margin_m: float | None
    worst_slant_m: float | None
    mean_off_centre_deg: float | None
    rms_off_centre_deg: float | None
    bound: float | None
    gap: float | None
    for_groups: bool = False


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change that was tried by the search itself: what, with what figure, and whether it helps."""

    change: str
    works: bool
    margin_m: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Heads that provably cannot all be served, why, and what was tried.

    `smallest` tells whether no smaller group is in conflict; else the group is irreducible: without any
    one of its heads the rest can be served.
    """

    heads: tuple[str, ...]
    smallest: bool
    because: str
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True, eq=False)
class Placement:
    """Where the arrays go, by the aim taken, with the proof's figures. `scene` is the room so placed.

    `note` says in words why another aim than the one asked for was taken. margin_m, bound_m and so on
    are None where nothing is allowed. bound_m bounds the margin under every aim; gap_m is what is left
    between it and the largest margin found.
    """

    scene: Scene
    outcome: Outcome
    asked: Aim
    aim: Aim
    note: str
    enough_m: float
    arrays: tuple[PlacedArray, ...]
    margin_m: float | None
    bound_m: float | None
    gap_m: float | None
    clear_tolerance_m: float | None
    worst_slant_m: float | None
    worst_slant_bound_m: float | None
    mean_off_centre_deg: float | None
    rms_off_centre_deg: float | None
    evaluations: int
    seconds: float
    aims: tuple[AimRow, ...]
    count_said: str | None
    served_twice: dict[str, tuple[str, ...]]
    excluded: dict[str, float]
    pressing: tuple[str, ...]
    conflict: Conflict | None
    certificates: dict[str, Certificate]

    @property
    def certified(self) -> bool:
        """Whether the outcome is certified."""
        return self.outcome == "certified"

    @property
    def tolerance_m(self) -> float:
        """How far the arrays may be shifted, in any direction, before anybody is lost."""
        return max(self.margin_m or 0.0, 0.0)

    def as_json(self) -> dict[str, Any]:
        """The `overtable/placement/1` object."""
        return {
            "format": "overtable/placement/1",
            "outcome": self.outcome,
            "certified": self.certified,
            "arrays": [_array_json(array, self.scene) for array in self.arrays],
            "margin_m": self.margin_m,
            "bound_m": self.bound_m,
            "gap_m": self.gap_m,
            "tolerance_m": self.tolerance_m,
            "clear_tolerance_m": self.clear_tolerance_m,
            "aim": self.aim,
            "aim_asked": self.asked,
            "note": self.note,
            "enough_m": self.enough_m,
            "worst_slant_m": self.worst_slant_m,
            "worst_slant_bound_m": self.worst_slant_bound_m,
            "mean_off_centre_deg": self.mean_off_centre_deg,
            "rms_off_centre_deg": self.rms_off_centre_deg,
            "aims": [_aim_json(row) for row in self.aims],
            "arrays_needed": self.count_said,
            "served_twice": {head: list(ids) for head, ids in self.served_twice.items()},
            "excluded_by": self.excluded,
            "pressing": list(self.pressing),
            "evaluations": self.evaluations,
            "seconds": self.seconds,
            "conflict": None if self.conflict is None else _conflict_json(self.conflict),
        }

    def certificate_json(self) -> dict[str, Any] | None:
        """The searches' leaves by aim, for whoever wants to check the proof; None if none was recorded."""
        if not self.certificates:
            return None
        searches = {aim: certificate.as_json() for aim, certificate in self.certificates.items()}
        return {"format": "overtable/certificates/1", "room": self.scene.name, "searches": searches}


# The figures -----------------------------------------------------------------------------


def whole_figures(coverage: Coverage) -> tuple[float, float, float, float]:
    """Least margin, worst slant, mean and RMS off-centre over all heads, each with the array that serves it."""
    serving = coverage.serving()
    each = np.arange(len(serving))
    off = coverage.off_centre_deg[serving, each]
    return (
        float(coverage.margin_m[serving, each].min()),
        float(coverage.slant_m[serving, each].max()),
        float(off.mean()),
        float(np.sqrt(np.mean(off * off))),
    )


def placement_of(
    placed: Scene,
    *,
    scene_arrays: tuple[Array, ...],
    outcome: Outcome,
    asked: Aim,
    aim: Aim,
    note: str,
    enough_m: float,
    bound_m: float | None,
    gap_m: float | None,
    slant_bound_m: float | None,
    evaluations: int,
    began: float,
    aims: tuple[AimRow, ...],
    count_said: str | None,
    excluded: dict[str, float],
    conflict: Conflict | None,
    certificates: dict[str, Certificate],
) -> Placement:
    heads = placed.heads_as_rows
    margin = worst = mean = rms = clear = None
    arrays: list[PlacedArray] = []
    twice: dict[str, tuple[str, ...]] = {}
    pressing: list[str] = []
    if scene_arrays:
        coverage = cover(
            np.array([array.centre_m for array in scene_arrays]),
            [array.band for array in scene_arrays],
            heads,
        )
        margin, worst, mean, rms = whole_figures(coverage)
        serving = coverage.serving()
        least_rule = math.inf
        for i, array in enumerate(scene_arrays):
            own = np.flatnonzero(serving == i)
            constraints = constraints_for(placed, array)
            at = np.array([array.centre_m])
            for constraint in constraints:
                left = float(constraint.signed_m(at)[0])
                least_rule = min(least_rule, left)
                if left < 0.002:
                    pressing.append(constraint.name)
            arrays.append(_placed_array(placed, array, own, coverage, i, constraints))
        clear = max(min(margin, least_rule), 0.0)
        covered = coverage.margin_m >= 0
        twice = {
            placed.heads[h].id: tuple(scene_arrays[i].id for i in np.flatnonzero(covered[:, h]))
            for h in np.flatnonzero(covered.sum(axis=0) >= 2)
        }
    return Placement(
        scene=placed,
        outcome=outcome,
        asked=asked,
        aim=aim,
        note=note,
        enough_m=enough_m,
        arrays=tuple(arrays),
        margin_m=margin,
        bound_m=bound_m,
        gap_m=gap_m,
        clear_tolerance_m=clear,
        worst_slant_m=worst,
        worst_slant_bound_m=slant_bound_m,
        mean_off_centre_deg=mean,
        rms_off_centre_deg=rms,
        evaluations=evaluations,
        seconds=time.perf_counter() - began,
        aims=aims,
        count_said=count_said,
        served_twice=twice,
        excluded=excluded,
        pressing=tuple(dict.fromkeys(pressing)),
        conflict=conflict,
        certificates=certificates,
    )


def _placed_array(
    placed: Scene,
    array: Array,
    own: np.ndarray[Any, np.dtype[np.int64]],
    coverage: Coverage,
    index: int,
    constraints: Sequence[Constraint],
) -> PlacedArray:
    assert array.at_m is not None
    assert array.height_m is not None
    assert array.band_name is not None
    margin = float(coverage.margin_m[index, own].min()) if len(own) else None
    rooms = room_to_move(array.centre_m, array.band, placed.heads_as_rows.take(own), constraints)
    return PlacedArray(
        id=array.id,
        at_m=array.at_m,
        height_m=array.height_m,
        drop_m=placed.room.ceiling_m - array.height_m,
        band_name=array.band_name,
        band=array.band,
        heads=tuple(placed.heads[i].id for i in own),
        margin_m=margin,
        # the rooms name heads by their index among those it serves
        rooms=tuple(replace(room, head=None if room.head is None else int(own[room.head])) for room in rooms),
        margin_left_m=None
        if margin is None
        else left_after_tilt_m(margin, array.band, array.profile.level_deg),
    )


# JSON ----------------------------------------------------------------------------------------------------


def _array_json(array: PlacedArray, scene: Scene) -> dict[str, Any]:
    return {
        "id": array.id,
        "at_m": list(array.at_m),
        "height_m": array.height_m,
        "drop_m": array.drop_m,
        "band": {"name": array.band_name, "low_deg": array.band.low_deg, "high_deg": array.band.high_deg},
        "reach_m": [array.band.near_m, array.band.far_m],
        "margin_m": array.margin_m,
        "heads": list(array.heads),
        "sectors": {id: sector_of(scene.array(array.id), scene.head(id).at_m) for id in array.heads},
        "margin_left_hanging_out_of_true_m": array.margin_left_m,
        "room_to_move": [
            {
                "direction": room.direction,
                "distance_m": room.distance_m,
                "head": None if room.head is None else scene.heads[room.head].id,
                "clear_distance_m": room.clear_distance_m,
                "rule": room.constraint,
            }
            for room in array.rooms
        ],
    }


def _aim_json(row: AimRow) -> dict[str, Any]:
    unit = "deg" if row.aim == "centre" else "m"
    return {
        "aim": row.aim,
        "outcome": row.outcome,
        "arrays": [
            {"id": id, "at_m": list(at[:2]), "height_m": at[2], "band": band} for id, at, band in row.places
        ],
        "margin_m": row.margin_m,
        "worst_slant_m": row.worst_slant_m,
        "mean_off_centre_deg": row.mean_off_centre_deg,
        "rms_off_centre_deg": row.rms_off_centre_deg,
        "bound": row.bound,
        "gap": row.gap,
        "unit": unit,
        "for_these_groups": row.for_groups,
    }


def _conflict_json(conflict: Conflict) -> dict[str, Any]:
    return {
        "heads": list(conflict.heads),
        "smallest": conflict.smallest,
        "because": conflict.because,
        "try": [
            {"change": remedy.change, "margin_m": remedy.margin_m, "sentence": remedy.sentence}
            for remedy in conflict.remedies
            if remedy.works
        ],
        "tried_in_vain": [remedy.sentence for remedy in conflict.remedies if not remedy.works],
    }
