"""A scene's heads, rules and limits handed to the certified search: where its arrays should hang.

What is held and what is free is decided by `hold` alone ("at", "height", "band"; a flush array is held
at the ceiling besides): of an array that the spec has placed completely everything else is free, and
its place there is one the search starts from; what the spec leaves open is filled. A held value must be
in the spec.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.arrangement import Arrangement, arrange
from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome, Progress
from geometry.constraint import Constraint
from geometry.coverage import cover
from geometry.placement import ENOUGH_M, PRESSING_M, Answer, Effort, Found, Place, figures, place
from geometry.question import Aim
from geometry.together import Kit
from scenes.place.conflict import conflict_of, one_more
from scenes.place.placement import AimRow, Conflict, Placement, placement_of, whole_figures
from scenes.place.problem import HOLDS, Held, bands_of, constraints_of, search_box
from scenes.room.scene import Array, Scene
from scenes.rules.apply import constraints_between, key_name, tightest
from scenes.words import length, listed, not_enough

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
    progress: Callable[[str], None] | None = None,
) -> Placement:
    """Where the scene's arrays should hang, proven, with the room placed accordingly.

    aim       near, tolerance or centre; all three are tabled
    enough_m  the margin that `near` keeps
    hold      what stays as the spec has it: "at", "height", "band"
    arrays    how many, of the first array's profile; None keeps those of the spec, each with its own
    record    keep the leaves of the search (one array only)
    advise    where nothing works, look for who conflicts and what would help
    clearances  False keeps walls, headroom and tables only: what the rest of the ceiling costs
    progress    is told in words how far the search has come, a few times a second while it takes long

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
        return _place_one(scene, aim, enough_m, held, effort, record, advise, clearances, began, progress)
    several = _place_several(scene, aim, enough_m, held, arrays, advise, clearances, began, progress)
    return replace(several, held=held)


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
    progress: Callable[[str], None] | None,
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
        progress=None if progress is None else lambda far: progress(how_far(far, scene.units)),
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
        if progress is not None:
            progress("No place serves everybody: looking for who conflicts and what would help")
        conflict = conflict_of(alone, array, held, tolerance, constraints)
    return placement_of(
        placed,
        scene_arrays=placed.arrays if found.place is not None else (),
        outcome=outcome,
        asked=aim,
        aim=answer.taken,
        note=_note(answer, scene.units),
        enough_m=enough_m,
        bound_m=tolerance.bound,
        gap_m=tolerance.gap,
        slant_bound_m=None if answer.near.bound is None else -answer.near.bound,
        evaluations=sum(each.evaluations for each in (answer.near, answer.tolerance, answer.centre)),
        began=began,
        aims=rows,
        count_said=None,
        excluded={key_name(key): share for key, share in tolerance.excluded.items()},
        conflict=conflict,
        certificates={
            each.aim: each.certificate
            for each in (answer.near, answer.tolerance, answer.centre)
            if each.certificate is not None
        },
        held=held,
    )


def how_far(far: Progress, units: str) -> str:
    """How far a search has come, in words: what it looks for, the best so far, and what none can beat."""
    looked = f"{far.evaluations:,} positions looked at"
    if far.aim == "centre":
        best = None if far.best is None else f"off-centre {-far.best:.1f}°"
        return f"Nearest the middle of the band: {looked}{'' if best is None else f', best so far {best}'}"
    told = {"near": "Nearest place", "tolerance": "Largest margin"}[far.aim]
    sign = -1 if far.aim == "near" else 1
    if far.best is None or not math.isfinite(far.best):
        return f"{told}: {looked}, none allowed yet"
    best = f"best so far {length(sign * far.best, units)}"
    if not math.isfinite(far.bound):
        return f"{told}: {looked}, {best}"
    return f"{told}: {looked}, {best}, none can beat {length(sign * far.bound, units)}"


def _note(answer: Answer, units: str) -> str:
    """Why another aim than the one asked for was taken, in the room's units; empty if it was not."""
    best = answer.tolerance.place
    if answer.asked != "near" or answer.taken == "near" or best is None:
        return answer.note
    return f"{not_enough(answer.enough_m, best.margin_m, units)}; the place with the largest margin is taken"


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
    progress: Callable[[str], None] | None,
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

    def between(kit: int, others: Sequence[tuple[int, Floats]]) -> list[Constraint]:
        array = like[kit]
        there = [
            replace(
                like[k],
                id=f"another {n}",
                at_m=(float(at[0]), float(at[1])),
                height_m=float(at[2]),
                band_name=next(iter(like[k].profile.bands)),
            )
            for n, (k, at) in enumerate(others)
        ]
        return constraints_between(scene.with_arrays((array, *there)), array)

    found = arrange(heads, kits, count=count, aim=aim, also=AIMS, enough_m=enough_m, between=between,
        progress=None if progress is None else lambda asked, number: progress(_which_round(asked, number)),
    )  # fmt: skip
    if count == "fewest" and len(found.unreached) == len(heads):
        # no number helps: told is what one array can do at best, and why it cannot do more
        one = _place_one(scene, aim, enough_m, held, None, False, advise, clearances, began, progress)
        nobody = tuple(head.id for head in scene.heads)
        note = f"no array can serve {listed(nobody)} from anywhere in the room"
        return replace(one, note="; ".join(told for told in (note, one.note) if told), unreached=nobody)
    arrays = _arranged(scene, like, found, held, fresh=count is not None)
    placed = scene.with_arrays(arrays)
    taken = found.by_aim[found.aim]
    proven = found.margin_proven and taken.outcome == "certified" and not found.over_limit
    outcome: Outcome = "certified" if proven else "unresolved"
    fixed = all(kit.held for kit in kits)
    if (arrays and fixed and not found.apart) or (found.bound_m == -math.inf and not found.unreached):
        outcome = "none allowed"
    notes = []
    if found.over_limit:
        notes.append("more arrays would be needed than the limit allows")
    elif found.unreached:
        ids = [scene.heads[i].id for i in found.unreached]
        notes.append(f"no array can serve {listed(ids)} from anywhere in the room")
    elif found.aim != aim and arrays and found.apart:
        short = not_enough(enough_m, found.best_margin_m, scene.units, "arrangement found")
        notes.append(f"{short}; the one with the largest margin is taken")
    if found.tried is not None:
        notes.append(
            f"up to {found.tried} arrays none were found that cover everybody and keep clear of each other"
        )
    wanted = len(like) if count is None else len(arrays) if count == "fewest" else count
    if 0 < len(arrays) < wanted:
        lacking = [array.id for array in like if array.id not in {a.id for a in arrays}]
        which = listed(lacking) if count is None else f"{wanted - len(arrays)} of {wanted} arrays"
        notes.append(f"{which} left out: no allowed place is left beside the other arrays")
        outcome = "unresolved"
    if arrays and not found.apart:
        pairs = [
            f"{array.id} and {one.against} ({one.rule})"
            for k, array in enumerate(arrays)
            for one in tightest(placed, array, array.centre_m, -ON_EDGE_M)
            if one.kind == "array" and one.against not in {other.id for other in arrays[:k]}
        ]
        told = "held where they are" if fixed else "no places were found that part them"
        notes.append(f"{told}, too near each other: {listed(list(dict.fromkeys(pairs)))}")
    elif not proven and len(arrays) > 1 and _side_by_side(placed):
        notes.append("the rules between arrays are kept, but are no part of the bound")
    note = "; ".join(notes)
    rows, evaluations = _aim_rows(placed, found, like, held, enough_m)
    slant_bound = next(row.bound for row in rows if row.aim == "near")
    bound = found.bound_m if math.isfinite(found.bound_m) else None
    conflict = None
    if advise and arrays and bound is not None and bound < 0:
        if progress is not None:
            progress("Not everybody can be served: looking whether one array more helps")
        conflict = Conflict(
            tuple(scene.heads[i].id for i in found.unreached),
            len(found.unreached) == 1,
            f"{len(arrays)} arrays cannot cover everybody together, wherever they hang",
            (one_more(heads, kits[:1], len(arrays) + 1, scene.units),),
        )
    return placement_of(
        placed,
        scene_arrays=arrays,
        outcome=outcome,
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
        unreached=tuple(scene.heads[i].id for i in found.unreached),
    )


def _which_round(asked: str, number: int) -> str:
    if asked == "near":
        return "Bringing the arrays as near to the talkers as the margin allows"
    if asked == "centre":
        return "Bringing everybody nearest to the middle of the band"
    told = {"count": "How many arrays are needed", "margin": "The largest margin of all arrays together"}
    return f"{told[asked]}: round {number} of the proof"


def _side_by_side(placed: Scene) -> bool:
    """Whether some array is up against another one."""
    return any(
        one.kind == "array"
        for array in placed.arrays
        for one in tightest(placed, array, array.centre_m, PRESSING_M)
    )


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
    taken = {one.id for one in (*scene.arrays, *arrays)} | {head.group for head in scene.heads}
    for things in (
        scene.heads, scene.tables, scene.overhead, scene.obstacles, scene.cameras, scene.displays, scene.room.openings
    ):  # fmt: skip
        taken |= {thing.id for thing in things}
    return next(id for k in range(1, 10_000) if (id := f"A{k}") not in taken)


def _aim_rows(
    placed: Scene, found: Arrangement, like: Sequence[Array], held: Sequence[Held], enough_m: float
) -> tuple[tuple[AimRow, ...], int]:
    """The three aims beside each other, all arrays clear of each other; and the evaluations spent.

    The margin's bound holds for all arrangements, those of the other aims for their groups of heads.
    """
    heads, ids = placed.heads_as_rows, _ids_of(found, like, placed.arrays)
    rows = []
    for aim in AIMS:
        by = found.by_aim.get(aim)
        spots = () if by is None else by.spots
        if by is None or not spots:
            # no arrangement at all has that margin, or none was found
            need = {"near": enough_m, "tolerance": -math.inf, "centre": 0.0}[aim]
            none: Outcome = "none allowed" if found.bound_m < need else "unresolved"
            rows.append(AimRow(aim, none, (), None, None, None, None, None, None))
            continue
        bands = [bands_of(like[spot.kit], held) for spot in spots]
        coverage = cover(
            np.array([spot.at for spot in spots]),
            [of[spot.band] for spot, (_, of) in zip(spots, bands, strict=True)],
            heads,
        )
        told = whole_figures(coverage)
        value = {"near": told[1], "tolerance": told[0], "centre": told[3]}[aim]
        bound = _said(aim, by.bound)
        places = tuple(
            (id, (float(spot.at[0]), float(spot.at[1]), float(spot.at[2])), names[spot.band])
            for id, spot, (names, _) in zip(ids, spots, bands, strict=True)
        )
        row = AimRow(aim, by.outcome, places, *told, bound=bound, gap=None, for_groups=aim != "tolerance")
        if bound is not None and not found.unreached:
            row = replace(row, gap=abs(bound - value))
        rows.append(row)
    return tuple(rows), sum(by.evaluations for by in found.by_aim.values())


def _ids_of(found: Arrangement, like: Sequence[Array], arrays: Sequence[Array]) -> list[str]:
    """The arrays' ids in the order of the stands."""
    if len(like) == 1:
        return [array.id for array in arrays]
    return [like[stand.kit].id for stand in found.stands]
