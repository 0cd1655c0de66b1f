"""A scene's heads, rules and limits handed to the certified search: where its arrays should hang.

What is held and what is free is decided by `hold` alone ("at", "height", "band"; a flush array is held
at the ceiling besides): of an array that the spec has placed completely everything else is free, and
its place there is one the search starts from; what the spec leaves open is filled. A held value must be
in the spec.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from geometry.arrangement import Arrangement, Kit, Thoroughness, arrange
from geometry.band import (
    ON_EDGE_M,
    Band,
    Floats,
    depression_deg,
    edges,
    pair_slack,
    range_and_drop,
    slant_m,
)
from geometry.branching import Outcome
from geometry.certificate import Certificate
from geometry.conflicts import can_serve, reach_needed, smallest_conflict
from geometry.coverage import Coverage, Heads, cover
from geometry.placement import (
    ENOUGH_M,
    Answer,
    Constraint,
    Effort,
    Found,
    Place,
    SearchBox,
    figures,
    place,
    search,
)
from geometry.question import Aim
from geometry.tolerance import RoomToMove, left_after_tilt_m, room_to_move
from scenes.hanging import height_span_m
from scenes.review import sector_of
from scenes.rules import constraints_for
from scenes.scene import Array, Scene
from scenes.words import length, listed, shortfall, whole_down

Held = Literal["at", "height", "band"]
HOLDS: tuple[Held, ...] = ("at", "height", "band")
AIMS: tuple[Aim, ...] = ("near", "tolerance", "centre")

ROOM_RULES = ("wall", "headroom", "free-over-table")
"""The rules that are about the room and its tables rather than about what else is at the ceiling."""
HIGHEST_CEILING_M = 6.0
"""Ceilings tried where a room cannot be served: up to here, or as much above the room's own."""
CEILING_STEP_M = 0.05
"""In these steps."""


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
    def tolerance_m(self) -> float:
        """How far the arrays may be shifted, in any direction, before anybody is lost."""
        return max(self.margin_m or 0.0, 0.0)

    def as_json(self) -> dict[str, Any]:
        """The `overtable/placement/1` object."""
        return {
            "format": "overtable/placement/1",
            "outcome": self.outcome,
            "certified": self.outcome == "certified",
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


def place_scene(
    scene: Scene,
    *,
    aim: Aim = "near",
    enough_m: float = ENOUGH_M,
    hold: Iterable[Held] = (),
    arrays: int | Literal["fewest"] | None = None,
    effort: Effort | None = None,
    record: bool = False,
    advise: bool = True,
    clearances: bool = True,
) -> Placement:
    """Where the scene's arrays should hang, proven, with the room placed accordingly.

    aim       near, tolerance or centre; all three are tabled
    enough_m  the margin that `near` keeps
    hold      what stays as the spec has it: "at", "height", "band"
    arrays    how many, of the first array's profile; None keeps those of the spec, each with its own
    record    keep the leaves of the search (one array only)
    advise    where nothing works, look for who conflicts and what would help
    clearances  False keeps walls, headroom and tables only: what the rest of the ceiling costs

    Raises ValueError where a held value is missing, or where arrays are held and their number is not
    the spec's.
    """
    began = time.perf_counter()
    held = tuple(dict.fromkeys(hold))
    for name in held:
        if name not in HOLDS:
            raise ValueError(f"hold is {name!r}; allowed are {', '.join(HOLDS)}")
    _require_held(scene, held)
    if arrays is not None and held and arrays != len(scene.arrays):
        raise ValueError(
            f"{', '.join(held)} cannot be held for {arrays} arrays: the spec has {len(scene.arrays)}; "
            "leave out --hold or --arrays"
        )
    if arrays is None and len(scene.arrays) == 1:
        arrays = 1
    if arrays == 1:
        return _place_one(scene, aim, enough_m, held, effort, record, advise, clearances, began)
    return _place_several(scene, aim, enough_m, held, arrays, advise, clearances, began)


def constraints_of(scene: Scene, array: Array, *, clearances: bool = True) -> list[Constraint]:
    """What the search asks of the array's position: every rule, or those of the room and its tables only.

    Rules between arrays are left out: the others' places are not known yet.
    """
    asked = constraints_for(scene.with_arrays((array,)), array)
    return asked if clearances else [each for each in asked if each.name.split(" (")[0] in ROOM_RULES]


def search_box(scene: Scene, array: Array, hold: Sequence[Held] = ()) -> SearchBox:
    """Every position the array's acoustic centre could have: the room's bounds, floor to ceiling, less what is held."""
    (left, bottom), (right, top) = scene.room.bounds_m
    low_m, high_m = height_span_m(scene, array)
    box = SearchBox((left, bottom, min(low_m, high_m)), (right, top, high_m))
    if "at" in hold and array.at_m is not None:
        box = box.holding(x=array.at_m[0], y=array.at_m[1])
    if "height" in hold and array.height_m is not None and array.profile.mount != "flush":
        box = box.holding(z=array.height_m)
    return box


def bands_of(array: Array, hold: Sequence[Held] = ()) -> tuple[tuple[str, ...], tuple[Band, ...]]:
    """Names and bands that may be taken, in the profile's order: all of them, or the held one."""
    names = (
        (array.band_name,) if "band" in hold and array.band_name is not None else tuple(array.profile.bands)
    )
    return names, tuple(array.profile.band(name) for name in names)


def _require_held(scene: Scene, held: Sequence[Held]) -> None:
    for array in scene.arrays:
        values = {"at": array.at_m, "height": array.height_m, "band": array.band_name}
        for name in held:
            if values[name] is None:
                raise ValueError(f"array {array.id} has no {name} in the spec to hold; give it, or hold less")


# One array -----------------------------------------------------------------------------------------------


def _place_one(
    scene: Scene,
    aim: Aim,
    enough_m: float,
    held: tuple[Held, ...],
    effort: Effort | None,
    record: bool,
    advise: bool,
    clearances: bool,
    began: float,
) -> Placement:
    array = scene.arrays[0]
    alone = scene.with_arrays((array,))
    heads = scene.heads_as_rows
    names, bands = bands_of(array, held)
    box = search_box(scene, array, held)
    constraints = constraints_of(scene, array, clearances=clearances)
    today = []
    if array.placed and array.band_name in names:
        today = [figures(heads, bands, array.centre_m, names.index(array.band_name))]
    answer = place(
        heads,
        bands,
        box,
        constraints,
        aim=aim,
        enough_m=enough_m,
        start=today,
        effort=effort,
        record=record,
    )
    found = answer.chosen
    rows = tuple(_aim_row(answer, each, array, names) for each in AIMS)
    placed = alone
    if found.place is not None:
        placed = alone.with_arrays((_at(array, found.place, names),))
    tolerance = answer.tolerance
    nothing = tolerance.bound is None or tolerance.bound < 0
    outcome: Outcome = found.outcome
    if found is not tolerance and tolerance.outcome == "unresolved":
        outcome = "unresolved"
    conflict = None
    if nothing and advise and tolerance.outcome != "unresolved":
        conflict = _conflict(alone, array, held, tolerance, constraints)
    return _placement(
        placed,
        scene_arrays=placed.arrays if found.place is not None else (),
        outcome=outcome,
        asked=aim,
        aim=answer.taken,
        note=answer.note,
        enough_m=enough_m,
        bound_m=tolerance.bound,
        gap_m=tolerance.gap,
        slant_bound_m=None if answer.near.bound is None else -answer.near.bound,
        evaluations=sum(each.evaluations for each in (answer.near, answer.tolerance, answer.centre)),
        began=began,
        aims=rows,
        count_said=None,
        excluded=tolerance.excluded,
        conflict=conflict,
        certificates={
            each.aim: each.certificate
            for each in (answer.near, answer.tolerance, answer.centre)
            if each.certificate is not None
        },
    )


def _at(array: Array, spot: Place, names: Sequence[str]) -> Array:
    """The array where the search put it."""
    x, y, z = spot.at_m
    return replace(array, at_m=(x, y), height_m=z, band_name=names[spot.band])


def _aim_row(answer: Answer, aim: Aim, array: Array, names: Sequence[str]) -> AimRow:
    found: Found = {"near": answer.near, "tolerance": answer.tolerance, "centre": answer.centre}[aim]
    spot = found.place
    return AimRow(
        aim=aim,
        outcome=found.outcome,
        places=() if spot is None else ((array.id, spot.at_m, names[spot.band]),),
        margin_m=None if spot is None else spot.margin_m,
        worst_slant_m=None if spot is None else spot.worst_slant_m,
        mean_off_centre_deg=None if spot is None else spot.mean_off_centre_deg,
        rms_off_centre_deg=None if spot is None else spot.rms_off_centre_deg,
        bound=_said(aim, found.bound),
        gap=found.gap,
    )


def _said(aim: Aim, bound: float | None) -> float | None:
    """A bound as people say it: least slant and least off-centre are positive numbers."""
    if bound is None:
        return None
    return bound if aim == "tolerance" else max(-bound, 0.0)


# Several arrays ------------------------------------------------------------------------------------------


def _place_several(
    scene: Scene,
    aim: Aim,
    enough_m: float,
    held: tuple[Held, ...],
    count: int | Literal["fewest"] | None,
    advise: bool,
    clearances: bool,
    began: float,
) -> Placement:
    heads = scene.heads_as_rows
    like = scene.arrays if count is None else scene.arrays[:1]
    kits = [
        Kit(
            bands_of(array, held)[1],
            search_box(scene, array, held),
            tuple(constraints_of(scene, array, clearances=clearances)),
            count=1 if count is None else None,
        )
        for array in like
    ]
    found = arrange(heads, kits, count=count, aim=aim, enough_m=enough_m)
    arrays = _arranged(scene, like, found, held, fresh=count is not None)
    placed = scene.with_arrays(arrays)
    note = ""
    if found.over_limit:
        note = "more arrays would be needed than the limit allows"
    elif found.unreached:
        ids = [scene.heads[i].id for i in found.unreached]
        note = f"no array can serve {listed(ids)} from anywhere in the room"
    elif found.aim != aim:
        note = f"not every head has a margin of {enough_m:g} m; the largest margin found is taken"
    evaluations, rows, slant_bound = _aim_rows(scene, like, found, arrays, kits, enough_m)
    short = [
        name for array in arrays for name, left in _rules_left(placed, array).items() if left < -ON_EDGE_M
    ]
    if short:
        # rules between arrays are no part of the arrangement's search
        note = f"{note}; " if note else ""
        note += f"the arrays are too near each other: {listed(list(dict.fromkeys(short)))}"
    proven = found.margin_proven and not found.over_limit
    bound = found.bound_m if math.isfinite(found.bound_m) else None
    conflict = None
    if advise and arrays and bound is not None and bound < 0:
        conflict = Conflict(
            tuple(scene.heads[i].id for i in found.unreached),
            len(found.unreached) == 1,
            note or f"{len(arrays)} arrays cannot cover everybody together, wherever they hang",
            (_one_more(heads, kits[:1], len(arrays) + 1, scene.units),),
        )
    return _placement(
        placed,
        scene_arrays=arrays,
        outcome="certified" if proven else "unresolved",
        asked=aim,
        aim=found.aim,
        note=note,
        enough_m=enough_m,
        bound_m=bound,
        gap_m=found.gap_m if bound is not None else None,
        slant_bound_m=slant_bound,
        evaluations=evaluations,
        began=began,
        aims=rows,
        count_said=found.count_said if count == "fewest" else None,
        excluded={},
        conflict=conflict,
        certificates={},
    )


def _rules_left(placed: Scene, array: Array) -> dict[str, float]:
    """What is left of every rule where this array hangs, by the rule's name, metres."""
    at = np.array([array.centre_m])
    return {rule.name: float(rule.signed_m(at)[0]) for rule in constraints_for(placed, array)}


def _arranged(
    scene: Scene, like: Sequence[Array], found: Arrangement, held: Sequence[Held], *, fresh: bool
) -> tuple[Array, ...]:
    """The stands as arrays: with the spec's ids, or, where their number was free, with ids closed up."""
    arrays: list[Array] = []
    for i, stand in enumerate(found.stands):
        array = like[stand.kit]
        names = bands_of(array, held)[0]
        if fresh:
            array = replace(
                array, id=scene.arrays[i].id if i < len(scene.arrays) else _fresh_id(scene, arrays)
            )
        arrays.append(_at(array, stand.place, names))
    if not fresh:
        order = {array.id: k for k, array in enumerate(scene.arrays)}
        arrays.sort(key=lambda array: order[array.id])
    return tuple(arrays)


def _fresh_id(scene: Scene, arrays: Sequence[Array]) -> str:
    taken = {array.id for array in (*scene.arrays, *arrays)} | {head.id for head in scene.heads}
    return next(id for k in range(1, 10_000) if (id := f"A{k}") not in taken)


def _aim_rows(
    scene: Scene,
    like: Sequence[Array],
    found: Arrangement,
    arrays: Sequence[Array],
    kits: Sequence[Kit],
    enough_m: float,
) -> tuple[int, tuple[AimRow, ...], float | None]:
    """The three aims for the groups found: each array at its best place for its own heads.

    Gives the evaluations, the rows, and the bound on the worst slant for these groups.
    """
    heads = scene.heads_as_rows
    evaluations, rows = 0, []
    slant_bound: float | None = None
    ids = {i: array.id for i, array in enumerate(_in_order_of(found, like, arrays))}
    for aim in AIMS:
        spots: list[tuple[str, Place, Kit, int]] = []
        bounds: list[float | None] = []
        outcome: Outcome = "certified"
        for i, stand in enumerate(found.stands):
            kit = kits[stand.kit]
            if not stand.heads:
                spots.append((ids[i], stand.place, kit, stand.kit))
                continue
            own = heads.take(np.array(stand.heads, np.int64))
            one = search(
                own, kit.bands, kit.box, kit.constraints, aim=aim, enough_m=enough_m, start=[stand.place]
            )
            evaluations += one.evaluations
            bounds.append(one.bound)
            if one.outcome != "certified":
                outcome = one.outcome
            if one.place is not None:
                spots.append((ids[i], one.place, kit, stand.kit))
        known = [bound for bound in bounds if bound is not None]
        whole = None if len(known) < len(bounds) or not known else _said(aim, min(known))
        if aim == "near":
            slant_bound = whole
        if len(spots) < len(found.stands) or not spots:
            rows.append(AimRow(aim, outcome, (), None, None, None, None, whole, None))
            continue
        coverage = cover(
            np.array([spot.at_m for _, spot, _, _ in spots]),
            [kit.bands[spot.band] for _, spot, kit, _ in spots],
            heads,
        )
        whole_figures = _whole_figures(coverage)
        value = {"near": whole_figures[1], "tolerance": whole_figures[0], "centre": whole_figures[3]}[aim]
        rows.append(
            AimRow(
                aim,
                outcome,
                tuple(
                    (id, spot.at_m, bands_of(like[kit_index])[0][spot.band])
                    for id, spot, _, kit_index in spots
                ),
                *whole_figures,
                bound=None if aim == "centre" else whole,
                gap=None if aim == "centre" or whole is None else abs(whole - value),
                for_groups=True,
            )
        )
        if aim == "tolerance" and math.isfinite(found.bound_m):
            most = max(found.bound_m, value)
            proven: Outcome = "certified" if found.margin_proven else "unresolved"
            rows[-1] = replace(rows[-1], outcome=proven, bound=most, gap=most - value, for_groups=False)
    return evaluations, tuple(rows), slant_bound


def _in_order_of(found: Arrangement, like: Sequence[Array], arrays: Sequence[Array]) -> list[Array]:
    """The arrays in the order of the stands."""
    if len(like) == 1:
        return list(arrays)
    by_id = {array.id: array for array in arrays}
    return [by_id[like[stand.kit].id] for stand in found.stands]


def _whole_figures(coverage: Coverage) -> tuple[float, float, float, float]:
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


# What was placed, in figures -----------------------------------------------------------------------------


def _placement(
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
        margin, worst, mean, rms = _whole_figures(coverage)
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


# When nothing works --------------------------------------------------------------------------------------


def _conflict(
    scene: Scene, array: Array, held: tuple[Held, ...], tolerance: Found, constraints: Sequence[Constraint]
) -> Conflict:
    """Who cannot be served together, why, and what was tried; or which rules leave no position at all."""
    heads = scene.heads_as_rows
    names, bands = bands_of(array, held)
    box = search_box(scene, array, held)
    if tolerance.bound is None:
        culprits = sorted(tolerance.excluded, key=lambda name: -tolerance.excluded[name])
        return Conflict(
            (),
            False,
            f"no position is allowed: {listed(culprits)} leave none",
            tuple(_rules_apart(heads, bands, box, constraints, scene.units)),
        )
    found = smallest_conflict(heads, bands, box, constraints)
    if found is None:
        return Conflict((), False, "the conflict could not be narrowed down within the effort allowed", ())
    group, smallest = found
    because = _because(scene, names, bands, box, constraints, heads, group)
    return Conflict(
        tuple(scene.heads[i].id for i in group),
        smallest,
        because,
        tuple(_remedies(scene, array, held, heads, bands, box, constraints)),
    )


def _because(
    scene: Scene,
    names: Sequence[str],
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint],
    heads: Heads,
    group: np.ndarray[Any, np.dtype[np.int64]],
) -> str:
    """Why these heads cannot be served together, from the figures at the best place there is for them."""
    units = scene.units
    some = heads.take(group)
    ids = [scene.heads[i].id for i in group]
    if len(group) == 2:
        apart = float(np.hypot(*(some.at_m[0, :2] - some.at_m[1, :2])))
        far = max(band.far_m for band in bands)
        spans = 2 * far - float(some.sway_m.sum())
        if apart > spans:
            return (
                f"{ids[0]} and {ids[1]} are {length(apart, units)} apart on plan: too far for a reach of "
                f"{length(far, units)}, which spans {length(spans, units)} at most with their sway"
            )
    best = search(some, bands, box, constraints).place
    if best is None:
        return f"no position is allowed for {listed(ids)}"
    band = bands[best.band]
    judged = cover(np.array([best.at_m]), [band], some)
    told = []
    for i, id in enumerate(ids):
        margin = float(judged.margin_m[0, i])
        if margin >= 0:
            continue
        depression, slant, edge = _worst_end(band, np.array(best.at_m), some, i)
        said, figure, allowed = {
            0: ("too near", length(slant, units), f"reach from {length(band.near_m, units)}"),
            1: ("too far", length(slant, units), f"reach to {length(band.far_m, units)}"),
            2: ("too shallow", f"{depression:.1f}°", f"band from {band.low_deg:g}°"),
            3: ("too steep", f"{depression:.1f}°", f"band to {band.high_deg:g}°"),
        }[edge]
        if judged.slack_m[0, i] >= -ON_EDGE_M:
            said, allowed = f"{said} once it sways", f"{allowed}, {shortfall(-margin, units)} short"
        said = f"{said} ({figure}, {allowed})"
        told.append(f"{id} is {said}")
    x, y, z = best.at_m
    alone = "cannot be served anywhere allowed" if len(ids) == 1 else "cannot be served together"
    return (
        f"{listed(ids, most=12)} {alone}: at the best place for {'it' if len(ids) == 1 else 'them'}, "
        f"{length(x, units)} / {length(y, units)} at {length(z, units)} in band {names[best.band]}, "
        f"{'; '.join(told)}"
    )


def _worst_end(band: Band, at: Floats, heads: Heads, head: int) -> tuple[float, float, int]:
    """Depression and slant of the end of a head's mouths (or path) that is worst off, and which edge is nearest."""
    points, _, whose = heads.ends()
    own = points[whose == head]
    worst = own[np.argmin(pair_slack(band, at, own)[:, 0])]
    edge = int(np.argmin(edges(band, *range_and_drop(at, worst))))
    return float(depression_deg(at, worst)), float(slant_m(at, worst)), edge


def _remedies(
    scene: Scene,
    array: Array,
    held: tuple[Held, ...],
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint],
) -> list[Remedy]:
    """Every change worth trying, tried."""
    units = scene.units
    tried: list[Remedy] = []
    for name in held:
        fewer = tuple(other for other in held if other != name)
        freed = search_box(scene, array, fewer)
        names, all_bands = bands_of(array, fewer)
        spot = can_serve(heads, all_bands, freed, constraints)
        if isinstance(spot, Place):
            better = _best_margin(heads, all_bands, freed, constraints)
            which = f" (band {names[spot.band]})" if name == "band" else ""
            said = f"not holding the {'place' if name == 'at' else name}{which} covers everybody"
            tried.append(Remedy(f"free {name}", True, better, f"{said}, margin {whole_down(better, units)}"))
        else:
            tried.append(
                Remedy(f"free {name}", False, None, f"not holding the {name} alone does not cover everybody")
            )
    if "band" not in held:
        tried.append(Remedy("another band", False, None, "no band of the profile covers everybody"))
    tried.append(_another_ceiling(scene, array, held, heads, bands))
    tried.append(
        _one_more(
            heads, [Kit(tuple(bands_of(array)[1]), search_box(scene, array), tuple(constraints))], 2, units
        )
    )
    if heads.sway_m.max() > 0:
        still = replace(heads, sway_m=np.zeros_like(heads.sway_m))
        spot = can_serve(still, bands, box, constraints)
        if isinstance(spot, Place):
            slack = _best_margin(still, bands, box, constraints)
            tried.append(
                Remedy(
                    "no sway",
                    True,
                    slack,
                    f"without any sway everybody is inside by {whole_down(slack, units)}: marginal, not covered",
                )
            )
        else:
            tried.append(Remedy("no sway", False, None, "even without sway not everybody can be inside"))
    needed = reach_needed(heads, bands, box, constraints)
    if needed is None:
        tried.append(Remedy("reach", False, None, "no reach, however long, covers everybody here"))
    else:
        tried.append(
            Remedy(
                "reach", True, 0.0, f"a reach of {_at_least(needed, units)} would cover everybody from here"
            )
        )
    return tried


def _best_margin(
    heads: Heads, bands: Sequence[Band], box: SearchBox, constraints: Sequence[Constraint]
) -> float:
    found = search(heads, bands, box, constraints)
    return math.nan if found.place is None else found.place.margin_m


def _at_least(metres: float, units: str) -> str:
    """A length that is needed, rounded up to what is shown, so that what is told is always enough."""
    step = 0.003175 if units in ("ft", "in") else 0.01
    return length(math.ceil(metres / step - 1e-9) * step, units)


def _another_ceiling(
    scene: Scene, array: Array, held: Sequence[Held], heads: Heads, bands: Sequence[Band]
) -> Remedy:
    """The nearest ceiling height that would do, what hangs from the ceiling aside."""

    def at(ceiling_m: float) -> Place | None:
        room = replace(scene.room, ceiling_m=ceiling_m, structure_m=None)
        bare = replace(scene, room=room, overhead=())
        moved = replace(array, height_m=ceiling_m) if array.profile.mount == "flush" else array
        low_m, high_m = height_span_m(bare, moved)
        if low_m > high_m:
            return None
        box = search_box(bare, moved, tuple(name for name in held if name != "height"))
        spot = can_serve(heads, bands, box, constraints_for(bare.with_arrays((moved,)), moved))
        return spot if isinstance(spot, Place) else None

    own = scene.room.ceiling_m
    most = max(HIGHEST_CEILING_M, own + 2)
    steps = int((most - 2.0) / CEILING_STEP_M)
    heights = sorted(
        (round(2.0 + k * CEILING_STEP_M, 9) for k in range(steps + 1)), key=lambda h: (abs(h - own), h)
    )
    if array.profile.mount != "flush":
        # whatever hangs under a low ceiling can hang there under a high one: only higher can help
        higher = [h for h in heights if h > own]
        if at(higher[-1]) is None:
            heights = []
        else:
            first, last = 0, len(higher) - 1
            while first < last:
                middle = (first + last) // 2
                first, last = (first, middle) if at(higher[middle]) is not None else (middle + 1, last)
            heights = [higher[last]]
    for ceiling_m in heights:
        spot = at(ceiling_m)
        if spot is not None:
            where = (
                ""
                if array.profile.mount == "flush"
                else f", the array at {length(spot.at_m[2], scene.units)}"
            )
            return Remedy(
                "another ceiling",
                True,
                spot.margin_m,
                f"a ceiling at {_at_least(ceiling_m, scene.units)} would do{where} (overhead devices not looked at)",
            )
    return Remedy("another ceiling", False, None, f"no ceiling up to {length(most, scene.units)} would do")


def _one_more(heads: Heads, kits: Sequence[Kit], count: int, units: str) -> Remedy:
    """Whether `count` arrays of the first kit cover everybody."""
    # whether it works is asked here, not the last millimetre of how well
    rough = Thoroughness(work=20, gap_m=0.02)
    found = arrange(heads, [replace(kits[0], count=count)], count=count, aim="tolerance", effort=rough)
    said = f"{count} arrays"
    if found.stands and found.best_margin_m >= 0 and not found.unreached:
        return Remedy(
            said,
            True,
            found.best_margin_m,
            f"{count} arrays cover everybody, with a margin of {whole_down(found.best_margin_m, units)} or more",
        )
    return Remedy(said, False, None, f"{count} arrays do not cover everybody either")


def _rules_apart(
    heads: Heads, bands: Sequence[Band], box: SearchBox, constraints: Sequence[Constraint], units: str
) -> list[Remedy]:
    """Each rule left out in turn: whether there is a position then, and with what margin."""
    tried = []
    for constraint in constraints:
        others = [other for other in constraints if other is not constraint]
        found = search(heads, bands, box, others)
        if found.place is not None:
            margin = found.place.margin_m
            said = (
                f"with a margin of {whole_down(margin, units)}"
                if margin >= 0
                else f"{shortfall(-margin, units)} short of covering everybody"
            )
            tried.append(
                Remedy(
                    f"without {constraint.name}",
                    margin >= 0,
                    margin,
                    f"without {constraint.name} there is a position, {said}",
                )
            )
    if not tried:
        tried.append(Remedy("one rule less", False, None, "no single rule left out opens a position"))
    return tried


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
