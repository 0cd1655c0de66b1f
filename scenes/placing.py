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
from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.arrangement import Arrangement, Kit, arrange
from geometry.band import (
    ON_EDGE_M,
)
from geometry.branching import Outcome
from geometry.coverage import cover
from geometry.placement import (
    ENOUGH_M,
    Answer,
    Effort,
    Found,
    Place,
    figures,
    place,
    search,
)
from geometry.question import Aim
from scenes.placed import AimRow, Conflict, Placement, placement_of, whole_figures
from scenes.remedies import conflict_of, one_more
from scenes.rules import constraints_for
from scenes.scene import Array, Scene
from scenes.searching import HOLDS, Held, bands_of, constraints_of, search_box
from scenes.words import listed

AIMS: tuple[Aim, ...] = ("near", "tolerance", "centre")


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
        conflict = conflict_of(alone, array, held, tolerance, constraints)
    return placement_of(
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
            (one_more(heads, kits[:1], len(arrays) + 1, scene.units),),
        )
    return placement_of(
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
        told = whole_figures(coverage)
        value = {"near": told[1], "tolerance": told[0], "centre": told[3]}[aim]
        rows.append(
            AimRow(
                aim,
                outcome,
                tuple(
                    (id, spot.at_m, bands_of(like[kit_index])[0][spot.band])
                    for id, spot, _, kit_index in spots
                ),
                *told,
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
