"""A placement as it is told: where every array goes, with the proof's figures, as JSON and certificate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from geometry.aims import AimName
from geometry.band import ON_EDGE_M, Band
from geometry.branching import Outcome
from geometry.certificate import Certificate
from geometry.coverage import Coverage
from geometry.placement import PRESSING_M
from geometry.records import record
from geometry.snap import Snapped
from geometry.tolerance import RoomToMove, left_after_tilt_m
from scenes.findings.placement import Conflict, Note
from scenes.findings.review import Review
from scenes.findings.wishes import FreeSearch, WishTold
from scenes.place.everybody import ids_of_everybody
from scenes.place.problem import Kept, seen_coverage
from scenes.review.areas import only_by
from scenes.review.as_json import tolerance_as_json
from scenes.review.counts import people_of
from scenes.review.coverage import sector_of
from scenes.review.review import review
from scenes.review.tolerance import rooms_of
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from scenes.rules.constraints import (
    Pressing,
    constraints_for,
    judged_constraints,
    key_name,
    only_judged,
    pressing_name,
    tightest,
)

if TYPE_CHECKING:
    from geometry.arrangement import CountProof


@record(frozen=True, slots=True)
class PlacedArray:
    """Where one array goes, whom it serves, and what the installer may be off by.

    `not_covered` are those of its heads that it does not cover where it hangs; `rooms` are the ways it may
    move before the first of the others is lost or a rule fails; `margin_left_m` is what is left of its
    margin when it hangs out of true by the profile's level.
    """

    id: str
    at_m: tuple[float, float]
    height_m: float
    drop_m: float
    band_name: str
    band: Band
    heads: tuple[str, ...]
    not_covered: tuple[str, ...]
    margin_m: float | None
    rooms: tuple[RoomToMove, ...]
    margin_left_m: float | None


@record(frozen=True, slots=True)
class AimRow:
    """One aim beside the others: where it would put the arrays, and all figures; None where it has no place.

    `value`, `bound` and `gap` are in what the aim certifies, in `unit`: metres of margin, metres of slant,
    degrees, persons by their weight, as in `covered`. `for_groups`: with several arrays the bound holds for these
    groups of heads.
    """

    aim: AimName
    outcome: Outcome
    places: tuple[tuple[str, tuple[float, float, float], str], ...]
    margin_m: float | None
    worst_slant_m: float | None
    mean_off_centre_deg: float | None
    rms_off_centre_deg: float | None
    covered: float | None
    value: float | None
    bound: float | None
    gap: float | None
    unit: str
    for_groups: bool = False


@record(frozen=True, slots=True)
class MostCovered:
    """Of the aim `most`: how many people are covered, and at most by any place, by weight; and which heads are."""

    covered: float
    bound: float | None
    heads: tuple[str, ...]


@record(frozen=True, eq=False)
class Placement:
    """Where the arrays go, by the aim taken, with the proof's figures. `scene` is the room so placed.

    `asked` is None where no aim was asked for: then near is sought, and most where near cannot be had.
    `notes` say why another aim was taken, and what else is to be remarked. margin_m, bound_m and so on
    are None where nothing is allowed. bound_m bounds the margin under every aim; gap_m is what is left
    between it and the largest margin found (largest_margin_m). What the aim itself certifies is in
    aim_value, aim_bound and aim_gap, in aim_unit.

    clear_tolerance_m is how far the arrays may be shifted before anybody is lost or a rule fails;
    `fails_first` is the thing and its rule where a rule fails sooner, else None. `count` is of the fewest
    arrays, what is proven; None where their number was given. `unreached` are
    heads that no array could serve from anywhere, left out of the count of the fewest and of bound_m.

    Where the arrays were put on a lattice, arrays and the figures of the place are those on it, `snapped`
    tells of each array's lattice, and `searched` is the search's own answer, which the proof's figures are
    about. `judged` is the review of the room so placed, None without arrays.
    """

    scene: Scene
    outcome: Outcome
    asked: AimName | None
    aim: AimName
    notes: tuple[Note, ...]
    enough_m: float
    bound_m: float | None
    gap_m: float | None
    worst_slant_bound_m: float | None
    margin_outcome: Outcome
    largest_margin_m: float | None
    """The largest margin found, whichever aim was taken."""
    most: MostCovered | None
    evaluations: int
    seconds: float
    aims: tuple[AimRow, ...]
    count: CountProof | None
    excluded: dict[str, float]
    conflict: Conflict | None
    certificates: dict[str, Certificate]
    held: tuple[str, ...]
    kept: Kept
    unreached: tuple[str, ...]
    with_rooms: bool
    # where the arrays hang: see `hung`
    arrays: tuple[PlacedArray, ...] = ()
    margin_m: float | None = None
    clear_tolerance_m: float | None = None
    worst_slant_m: float | None = None
    mean_off_centre_deg: float | None = None
    rms_off_centre_deg: float | None = None
    served_twice: dict[str, tuple[str, ...]] = field(default_factory=dict)
    pressing: tuple[str, ...] = ()
    fails_first: Pressing | None = None
    judged: Review | None = None
    searched: Placement | None = None
    wishes: tuple[WishTold, ...] = ()
    free: FreeSearch | None = None
    """The same without wishes; None where there were none."""
    snapped: Mapping[str, Snapped] = field(default_factory=dict)

    @property
    def aim_row(self) -> AimRow | None:
        """The row of the aim taken."""
        return next((row for row in self.aims if row.aim == self.aim), None)

    @property
    def aim_value(self) -> float | None:
        """What the search reached of what the aim certifies: margin, worst slant or RMS off-centre."""
        return None if self.aim_row is None else self.aim_row.value

    @property
    def value_as_placed(self) -> float | None:
        """The taken aim's value where the arrays are; None where it is not known: a ball round several arrays."""
        if self.aim == "tolerance":
            alone = next(iter(self.snapped.values()), None) if len(self.arrays) == 1 else None
            if alone is None or alone.figures is None:
                return None
            return min(alone.figures.margin_m, alone.figures.spare_m)
        if self.aim == "most":
            return None if self.judged is None else _weight_covered(self.judged)
        return {"near": self.worst_slant_m, "margin": self.margin_m, "centre": self.rms_off_centre_deg}[
            self.aim
        ]

    @property
    def ball_leaves_out(self) -> tuple[str, ...]:
        """What the ball of the aim `tolerance` does not count and the installation tolerance does.

        Rules by their ids, and `level`: that arrays hang out of true.
        """
        arrays = self.scene.arrays
        some = [id for array in arrays for id in only_judged(self.scene, array)]
        some += ["level" for array in arrays if array.profile.level_deg > 0]
        return tuple(dict.fromkeys(some))

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
            "searched": _searched_json(self.searched or self),
            "lattice": _lattice_json(self),
            "free": asdict(self.free or FreeSearch(self.largest_margin_m, self.bound_m, self.margin_outcome)),
            "wishes": [_wish_json(told) for told in self.wishes],
            "most": None if self.most is None else asdict(self.most),
            "tolerance": None if self.judged is None else tolerance_as_json(self.judged.tolerance),
            "margin_m": self.margin_m,
            "bound_m": self.bound_m,
            "gap_m": self.gap_m,
            "largest_margin_m": self.largest_margin_m,
            "tolerance_m": self.tolerance_m,
            "clear_tolerance_m": self.clear_tolerance_m,
            "aim": self.aim,
            "aim_asked": self.asked,
            "aim_value": self.aim_value,
            "aim_bound": None if self.aim_row is None else self.aim_row.bound,
            "aim_gap": None if self.aim_row is None else self.aim_row.gap,
            "aim_unit": None if self.aim_row is None else self.aim_row.unit,
            "aim_for_these_groups": self.aim_row is not None and self.aim_row.for_groups,
            "held": list(self.held),
            "notes": [asdict(note) for note in self.notes],
            "enough_m": self.enough_m,
            "worst_slant_m": self.worst_slant_m,
            "worst_slant_bound_m": self.worst_slant_bound_m,
            "mean_off_centre_deg": self.mean_off_centre_deg,
            "rms_off_centre_deg": self.rms_off_centre_deg,
            "aims": [_aim_json(row) for row in self.aims],
            "count": None if self.count is None else asdict(self.count),
            "unreached": list(self.unreached),
            "served_twice": {head: list(ids) for head, ids in self.served_twice.items()},
            "excluded_by": self.excluded,
            "pressing": list(self.pressing),
            "fails_first": None if self.fails_first is None else pressing_name(self.fails_first),
            "evaluations": self.evaluations,
            "seconds": self.seconds,
            "conflict": None if self.conflict is None else _conflict_json(self.conflict),
            "snapped": _snapped_json(self) if self.snapped else None,
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


def snapped_placement(free: Placement, scene: Scene, snapped: Mapping[str, Snapped]) -> Placement:
    """The same search's placement with its arrays where `scene` has them: on the lattice.

    A note says where it is the lattice that leaves somebody less than enough.
    """
    placed = hung(replace(free, scene=scene, searched=free, snapped=snapped), scene.arrays)
    if placed.margin_m is None or free.margin_m is None or placed.margin_m >= free.enough_m - ON_EDGE_M:
        return placed
    if free.margin_m < free.enough_m - ON_EDGE_M:
        return placed
    note = Note("less as written", enough_m=free.enough_m, best_m=placed.margin_m)
    return replace(placed, notes=(*placed.notes, note))


def hung(placement: Placement, arrays: Sequence[Array]) -> Placement:
    """The placement with all that is about where these arrays of its scene hang; as it is without arrays.

    How far each may move, which takes its time, is left out where its `with_rooms` is False.
    """
    if not arrays:
        return placement
    placed = placement.scene
    coverage = seen_coverage(placed)
    margin, worst, mean, rms = whole_figures(coverage)
    judged = review(placed)
    margin = min([margin, *(area.margin_m for area in judged.areas)])
    serving = coverage.serving()
    told: list[PlacedArray] = []
    pressing: list[str] = []
    least, fails_first = margin, None
    for i, array in enumerate(arrays):
        constraints = constraints_for(placed, array)
        at = np.array([array.centre_m])
        within_m = PRESSING_M + placement.kept.spare_m
        pressing += [key_name(one.key) for one in constraints if float(one.signed_m(at)[0]) < within_m]
        for one in tightest(placed, array, array.centre_m, least)[:1]:
            least, fails_first = one.signed_m, one
        own = np.flatnonzero(serving == i)
        told.append(_placed_array(judged, array, own, coverage, i, with_rooms=placement.with_rooms))
    covered = (coverage.margin_m >= 0) & coverage.seen
    return replace(
        placement,
        arrays=tuple(told),
        margin_m=margin,
        clear_tolerance_m=max(least, 0.0),
        fails_first=fails_first,
        worst_slant_m=worst,
        mean_off_centre_deg=mean,
        rms_off_centre_deg=rms,
        served_twice={
            placed.heads[h].id: tuple(arrays[int(i)].id for i in np.flatnonzero(covered[:, h]))
            for h in np.flatnonzero(covered.sum(axis=0) >= 2)
        },
        pressing=tuple(dict.fromkeys(pressing)),
        judged=judged,
    )


def _placed_array(
    judged: Review,
    array: Array,
    own: np.ndarray[Any, np.dtype[np.int64]],
    coverage: Coverage,
    index: int,
    *,
    with_rooms: bool,
) -> PlacedArray:
    assert array.at_m is not None
    assert array.height_m is not None
    assert array.band_name is not None
    placed = judged.scene
    margin = float(coverage.margin_m[index, own].min()) if len(own) else None
    rooms: Sequence[RoomToMove] = ()
    whom: list[int] = []
    if with_rooms:
        constraints = judged_constraints(placed, array)
        areas, of_areas = only_by(placed, array, judged.areas)
        rooms = rooms_of(placed, array, placed.heads_as_rows.take(own).and_besides(areas), constraints)
        ids = ids_of_everybody(placed)
        whom = [*own.tolist(), *(ids.index(id, len(placed.heads)) for id in of_areas)]
    return PlacedArray(
        id=array.id,
        at_m=array.at_m,
        height_m=array.height_m,
        drop_m=ceiling_over_m(placed.room, array.at_m) - array.height_m,
        band_name=array.band_name,
        band=array.band,
        heads=tuple(placed.heads[i].id for i in own),
        not_covered=tuple(placed.heads[i].id for i in own if coverage.state(index, int(i)) != "covered"),
        margin_m=margin,
        # the rooms name heads by their index among those it serves, and here among everybody
        rooms=tuple(replace(room, head=None if room.head is None else whom[room.head]) for room in rooms),
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
        "not_covered": list(array.not_covered),
        "sectors": {id: sector_of(scene.array(array.id), scene.head(id).at_m) for id in array.heads},
        "margin_left_hanging_out_of_true_m": array.margin_left_m,
        "room_to_move": [
            {
                "direction": room.direction,
                "distance_m": room.distance_m,
                "head": None if room.head is None else ids_of_everybody(scene)[room.head],
                "clear_distance_m": room.clear_distance_m,
                "rule": None if room.constraint is None else key_name(room.constraint),
            }
            for room in array.rooms
        ],
    }


def _aim_json(row: AimRow) -> dict[str, Any]:
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
        "covered": row.covered,
        "value": row.value,
        "bound": row.bound,
        "gap": row.gap,
        "unit": row.unit,
        "for_these_groups": row.for_groups,
    }


def _snapped_json(placement: Placement) -> list[dict[str, Any]]:
    rows = []
    for id, found in placement.snapped.items():
        array = placement.scene.array(id)
        cost = found.cost
        rows.append(
            {
                "id": id,
                "to": "tile" if found.lattice.pitch_m is None else f"{found.lattice.pitch_m:g} m",
                "allowed": found.position is not None,
                "aim": found.aim,
                "less_than_asked": found.aim != placement.aim,
                "at_m": array.at_m,
                "height_m": array.height_m,
                "band": array.band_name,
                "margin_m": None if found.figures is None else found.figures.margin_m,
                "judged": found.judged,
                "left_out": dict(found.left_out),
                "moved_m": None if cost is None else cost.moved_m,
                "margin_lost_m": None if cost is None else cost.margin_lost_m,
                "slant_added_m": None if cost is None else cost.slant_added_m,
                "rms_off_centre_added_deg": None if cost is None else cost.rms_off_centre_added_deg,
            }
        )
    return rows


def _weight_covered(judged: Review) -> float:
    """The people covered, each by their weight."""
    weight = {head.person: head.weight for head in judged.scene.heads}
    return sum(
        weight[person] for person, standing in people_of(judged.heads).items() if standing == "covered"
    )


def _wish_json(told: WishTold) -> dict[str, Any]:
    about: dict[str, Any] = {}
    if told.wish == "over":
        about = {"over": list(told.over)}
    elif told.wish == "spare":
        about = {"spare_m": told.spare_m}
    return {
        "wish": told.wish,
        "kept": told.kept,
        "reason": told.reason,
        "costs": asdict(told.costs),
        "given": told.given,
        **about,
    }


def _searched_json(searched: Placement) -> list[dict[str, Any]]:
    """The search's own places, as they are told of every array."""
    keys = ("id", "at_m", "height_m", "drop_m", "band", "reach_m", "margin_m")
    told = (_array_json(array, searched.scene) for array in searched.arrays)
    return [{key: array[key] for key in keys} for array in told]


def _lattice_json(placement: Placement) -> dict[str, Any] | None:
    """The lattice that arrays[] are on, with the least margin and the taken aim's value there; None without one."""
    if not placement.snapped:
        return None
    lattice = next(iter(placement.snapped.values())).lattice
    on: dict[str, Any] = {"pitch_m": lattice.pitch_m}
    if lattice.pitch_m is None and lattice.grid is not None:
        on = {"tile": list(lattice.grid.pitch_m)}
    return {**on, "margin_m": placement.margin_m, "value": placement.value_as_placed}


def _conflict_json(conflict: Conflict) -> dict[str, Any]:
    return {
        "heads": list(conflict.heads),
        "smallest": conflict.smallest,
        "cause": conflict.because.name,
        "try": [asdict(one) for one in conflict.tried],
    }
