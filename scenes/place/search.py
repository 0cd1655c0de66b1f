"""A scene's heads, rules and limits handed to the certified search: where its arrays should hang.

What is held and what is free is decided by `hold` alone ("at", "height", "band"; a flush array is held
at the ceiling besides): of an array that the spec has placed completely everything else is free, and
its place there is one the search starts from; what the spec leaves open is filled. A held value must be
in the spec.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.aims import ENOUGH_M, AimName, Most
from geometry.arrangement import Arrangement, GaveWay, Told, Wish, arrange
from geometry.band import ON_EDGE_M, Floats
from geometry.branching import Outcome
from geometry.constraint import Constraint
from geometry.cover_proof import Thoroughness
from geometry.kind import Position
from geometry.placement import PRESSING_M, Effort, Solution
from geometry.problem import ArrangementProblem, Between, Bodies
from geometry.shapes import Blocker
from scenes.findings.placement import Because, Conflict, Far, Note, Stage
from scenes.place.conflict import conflict_of
from scenes.place.placement import AimRow, MostCovered, Placement, placement_of
from scenes.place.problem import HOLDS, SPARE_M, Held, aim_of, bands_of, kind_of
from scenes.place.remedies import Again, Remedies, judged
from scenes.place.snap import snap_placement, whole_step_m
from scenes.review.blockers import of_array
from scenes.room.scene import Array, Scene
from scenes.rules.constraints import constraints_between, key_name, tightest

AIMS: tuple[AimName, ...] = ("near", "tolerance", "margin", "centre", "most")


def place_scene(
    scene: Scene,
    *,
    aim: AimName | None = None,
    enough_m: float = ENOUGH_M,
    spare_m: float = SPARE_M,
    hold: Iterable[Held] = (),
    arrays: int | Literal["fewest"] | None = None,
    effort: Effort | None = None,
    record: bool = False,
    advise: bool = True,
    clearances: bool = True,
    tabled: bool = True,
    thorough: Thoroughness | None = None,
    progress: Callable[[Far], None] | None = None,
) -> Placement:
    """Where the scene's arrays should hang, proven, with the room placed accordingly.

    aim       near, tolerance, margin, centre or most: only that one is sought, with the largest margin.
              None: near, or most where near cannot be had; all five are tabled
    enough_m  the margin that `near` keeps
    spare_m   what `near` keeps from every rule that is no stop
    hold      what stays as the spec has it: "at", "height", "band"
    arrays    how many, of the first array's profile; None keeps those of the spec, each with its own
    record    keep the leaves of the search (one array only)
    advise    where nothing works, look for who conflicts and what would help
    clearances  False keeps walls, headroom and tables only: what the rest of the ceiling costs
    tabled    False leaves out the aims that are not taken
    thorough  how hard several arrays are searched for
    progress    is given how far the search has come, a few times a second while it takes long

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
    # of one kind as many as are asked for, or one of each of the spec's
    like = scene.arrays if arrays is None else scene.arrays[:1]
    count = 1 if arrays is None else None
    kinds = tuple(kind_of(scene, array, held, clearances=clearances, count=count) for array in like)
    problem = ArrangementProblem(scene.heads_as_rows, kinds, _between(scene, like), _bodies(scene, like))
    names: tuple[AimName, ...] = AIMS if aim is None and tabled else (aim or "near",)
    wish = Wish(
        aims=tuple(aim_of(name, enough_m, spare_m) for name in names),
        instead=Most() if aim is None else None,
        effort=effort,
        thorough=thorough,
        record=record,
        start=_today(like[0], held) if arrays == 1 else (),
        progress=None if progress is None else lambda told: progress(_far(told)),
    )
    found = arrange(problem, wish, arrays)
    if arrays == "fewest" and len(found.unreached) == len(scene.heads):
        # no number helps: told is what one array can do at best, and why it cannot do more
        one = place_scene(
            scene,
            aim=aim,
            enough_m=enough_m,
            spare_m=spare_m,
            hold=held,
            arrays=1,
            effort=effort,
            advise=advise,
            clearances=clearances,
            progress=progress,
        )
        nobody = tuple(head.id for head in scene.heads)
        return replace(one, notes=(Note("unreached", heads=nobody), *one.notes), unreached=nobody)
    placed = scene.with_arrays(_arranged(scene, like, found, held, fresh=arrays not in (None, 1)))
    if not found.stands and arrays == 1:
        placed = scene.with_arrays(tuple(like))
    conflict = None
    if advise:
        again = _again(enough_m, spare_m, clearances=clearances)
        conflict = _conflict(scene, like, held, problem, found, again, progress)
    margin = found.margin
    near = found.by_aim.get("near")
    most = found.by_aim.get("most")
    return placement_of(
        placed,
        scene_arrays=placed.arrays if found.stands else (),
        outcome=_outcome(problem, found),
        asked=aim,
        aim=found.taken,
        notes=_notes(scene, like, found, placed, (aim or "near", enough_m), problem),
        enough_m=enough_m,
        bound_m=margin.bound,
        gap_m=margin.gap,
        slant_bound_m=None if near is None else near.bound,
        margin_outcome=margin.outcome,
        largest_margin_m=margin.value,
        most=None if most is None else _most(scene, problem, most),
        evaluations=found.evaluations,
        began=began,
        aims=tuple(_aim_row(scene, like, found, held, name) for name in names),
        count=found.count,
        excluded={_constraint_name(key): share for key, share in margin.excluded.items()},
        conflict=conflict,
        certificates={
            solution.aim.name: solution.certificate
            for solution in found.by_aim.values()
            if solution.certificate is not None
        },
        held=held,
        unreached=tuple(scene.heads[i].id for i in found.unreached),
        with_rooms=tabled,
    )


ROUGH = Thoroughness(work=20, gap_m=0.02)
"""Whether one array more would help is asked, not the last millimetre of how well."""


def _again(enough_m: float, spare_m: float, *, clearances: bool) -> Again:
    """How a changed room is placed again: by the same wishes, in whole steps, nothing tried to help."""

    def again(scene: Scene, held: tuple[Held, ...], arrays: int | None) -> Placement:
        several = arrays is not None or len(scene.arrays) > 1
        placed = place_scene(
            scene,
            aim="margin" if several else None,
            enough_m=enough_m,
            spare_m=spare_m,
            hold=held,
            arrays=arrays,
            advise=False,
            clearances=clearances,
            tabled=False,
            thorough=ROUGH,
        )
        if not placed.arrays:
            return placed
        return snap_placement(placed, whole_step_m(scene.units), nearby=True, spare_m=spare_m)

    return again


def _require_held(scene: Scene, held: Sequence[Held]) -> None:
    for array in scene.arrays:
        values = {"at": array.at_m, "height": array.height_m, "band": array.band_name}
        for name in held:
            if values[name] is None:
                raise ValueError(f"array {array.id} has no {name} in the spec to hold; give it, or hold less")


def _today(array: Array, held: Sequence[Held]) -> tuple[Position, ...]:
    """Where the spec has the array, as a position to begin from; nothing where it has no place."""
    names, _ = bands_of(array, held)
    if not array.placed or array.band_name not in names:
        return ()
    return (Position(array.centre_m, names.index(str(array.band_name))),)


def _between(scene: Scene, like: Sequence[Array]) -> Between:
    """What arrays of these kinds must keep from each other, by the rules."""

    def between(kind: int, others: Sequence[tuple[int, Floats]]) -> list[Constraint]:
        array = like[kind]
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

    return between


def _bodies(scene: Scene, like: Sequence[Array]) -> Bodies:
    """What arrays of these kinds are where they hang: body and cable, which hide people from the others."""

    def bodies(kind: int, at: Floats) -> list[Blocker]:
        x, y, z = (float(number) for number in at)
        band = next(iter(like[kind].profile.bands))
        hung = replace(like[kind], at_m=(x, y), height_m=z, band_name=band)
        return [one.solid for one in of_array(hung, scene.room.ceiling_m)]

    return bodies


# What is told on the way ---------------------------------------------------------------------------------


def _far(told: Told) -> Far:
    """How far it has come."""
    if told.search is not None:
        return Far("search", progress=told.search)
    stage = STAGES[told.question]
    return Far(stage) if stage in ("near", "centre") else Far(stage, round=told.round)


STAGES: dict[str, Stage] = {
    "count": "count",
    "margin": "margin",
    "tolerance": "tolerance",
    "most": "most",
    "near": "near",
    "centre": "centre",
}
"""What several arrays are sought by, by the names geometry has for it; of near and centre there are no rounds."""


# The answer ----------------------------------------------------------------------------------------------


def _outcome(problem: ArrangementProblem, found: Arrangement) -> Outcome:
    """Certified where both the aim taken and the largest margin are."""
    taken, margin = found.solution, found.margin
    if len(problem.kinds) == 1 and found.wanted == 1 and found.count is None:
        # the largest margin is asked for in any case: without its proof nothing is certain
        return "unresolved" if margin.outcome == "unresolved" else taken.outcome
    fixed = all(kind.held for kind in problem.kinds)
    if (found.stands and fixed and not found.apart) or (
        margin.outcome == "none allowed" and not found.unreached
    ):
        return "none allowed"
    certain = margin.outcome == taken.outcome == "certified" and not found.over_limit
    left_out = 0 < len(found.stands) < found.wanted
    return "certified" if certain and not left_out else "unresolved"


def _constraint_name(key: tuple[str | int, ...]) -> str:
    """What stands in the way of places, as JSON has it."""
    return key_name(("sight",)) if key[0] == "sight" else key_name(key)


def _notes(
    scene: Scene,
    like: Sequence[Array],
    found: Arrangement,
    placed: Scene,
    wanted: tuple[AimName, float],
    problem: ArrangementProblem,
) -> tuple[Note, ...]:
    """Why another aim than the one asked for was taken, and what else is to be remarked.

    `wanted`: the aim asked for, and the margin that `near` keeps.
    """
    arrays = placed.arrays if found.stands else ()
    notes = []
    if found.over_limit:
        notes.append(Note("over limit"))
    elif found.unreached:
        notes.append(Note("unreached", heads=tuple(scene.heads[i].id for i in found.unreached)))
    elif found.gave_way is not None and found.apart:
        notes.append(_gave_way(found, found.gave_way, wanted, len(arrays)))
    if found.count is not None and found.count.tried is not None:
        notes.append(Note("not apart", tried=found.count.tried))
    if 0 < len(arrays) < found.wanted:
        lacking = tuple(array.id for array in like if array.id not in {a.id for a in arrays})
        notes.append(
            Note("left out", arrays=lacking)
            if len(like) > 1
            else Note("some left out", missing=found.wanted - len(arrays), wanted=found.wanted)
        )
    if arrays and not found.apart:
        fixed = all(kind.held for kind in problem.kinds)
        notes.append(Note("held too near" if fixed else "too near", pairs=_pairs(placed)))
    elif len(arrays) > 1 and _outcome(problem, found) != "certified" and _side_by_side(placed):
        notes.append(Note("outside the bound"))
    return tuple(notes)


def _pairs(placed: Scene) -> tuple[tuple[str, str], ...]:
    """The arrays that are too near each other, each pair once."""
    arrays = placed.arrays
    return tuple(
        dict.fromkeys(
            (array.id, one.against)
            for k, array in enumerate(arrays)
            for one in tightest(placed, array, array.centre_m, -ON_EDGE_M)
            if one.kind == "array" and one.against not in {other.id for other in arrays[:k]}
        )
    )


def _gave_way(found: Arrangement, gave_way: GaveWay, wanted: tuple[AimName, float], hung: int) -> Note:
    """Why the aim asked for was not taken."""
    aim, enough_m = wanted
    if not found.stands:
        return Note("nothing found" if gave_way.why == "unresolved" else "nothing allowed")
    if gave_way.why == "too little margin" and aim == "near" and gave_way.best_m is not None:
        if gave_way.best_m >= enough_m:  # there is one with the margin, but it presses on a rule
            return Note("too little spare", instead=True, hung=hung, enough_m=enough_m, spare_m=SPARE_M)
        return Note("too little margin", instead=True, hung=hung, enough_m=enough_m, best_m=gave_way.best_m)
    return Note("unseen" if gave_way.why == "none allowed" else "not covered", instead=True, hung=hung)


def _conflict(
    scene: Scene,
    like: Sequence[Array],
    held: tuple[Held, ...],
    problem: ArrangementProblem,
    found: Arrangement,
    again: Again,
    progress: Callable[[Far], None] | None,
) -> Conflict | None:
    """Why not everybody can be served, and what was tried; None where they can, or that is not known."""
    margin = found.margin
    if found.wanted == 1 and found.count is None and len(like) == 1:
        nothing = margin.bound_score is None or margin.bound_score < 0
        if not nothing or margin.outcome == "unresolved":
            return None
        if progress is not None:
            progress(Far("conflict"))
        alone = scene.with_arrays(tuple(like))
        remedies = Remedies(alone, like[0], held, again)
        tried = tuple(remedies.tried(nothing_allowed=margin.bound_score is None))
        return conflict_of(alone, like[0], held, margin, problem.kinds[0], tried)
    if not found.stands or margin.bound is None or margin.bound >= 0:
        return None
    if progress is not None:
        progress(Far("one more"))
    more = len(found.stands) + 1
    return Conflict(
        tuple(scene.heads[i].id for i in found.unreached),
        len(found.unreached) == 1,
        Because("arrays", count=len(found.stands)),
        (judged("arrays", more, again(scene, (), more)),),
    )


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
    """The arrays with the spec's ids, or, where their number was free, with ids closed up."""
    arrays: list[Array] = []
    for i, stand in enumerate(found.stands):
        array = like[stand.position.kind]
        if fresh:
            array = replace(
                array, id=scene.arrays[i].id if i < len(scene.arrays) else _fresh_id(scene, arrays)
            )
        arrays.append(_at(array, stand.position, bands_of(array, held)[0]))
    return tuple(arrays)


def _at(array: Array, position: Position, names: Sequence[str]) -> Array:
    """The array where the search put it."""
    x, y, z = position.at_m
    return replace(array, at_m=(x, y), height_m=z, band_name=names[position.band])


def _fresh_id(scene: Scene, arrays: Sequence[Array]) -> str:
    taken = {one.id for one in (*scene.arrays, *arrays)} | {head.group for head in scene.heads}
    for things in (
        scene.heads, scene.tables, scene.overhead, scene.obstacles, scene.cameras, scene.displays, scene.room.openings
    ):  # fmt: skip
        taken |= {thing.id for thing in things}
    return next(id for k in range(1, 10_000) if (id := f"A{k}") not in taken)


def _most(scene: Scene, problem: ArrangementProblem, most: Solution) -> MostCovered | None:
    """What the aim `most` comes to, with the heads it covers; None where it has no place."""
    if most.value is None:
        return None
    margins, seen = problem.heard(most.positions)
    covered = np.flatnonzero(((margins >= -ON_EDGE_M) & seen).any(axis=0))
    heads = tuple(scene.heads[i].id for i in covered)
    return MostCovered(most.value, most.bound, heads)


def _aim_row(
    scene: Scene, like: Sequence[Array], found: Arrangement, held: Sequence[Held], name: AimName
) -> AimRow:
    """One aim beside the others: where it would put the arrays, and its figures."""
    solution: Solution = found.by_aim[name]
    figures, places = solution.figures, []
    ids: list[Array] = []
    for i, position in enumerate(solution.positions):
        array = like[position.kind]
        if found.wanted > 1 and len(like) == 1:
            id = scene.arrays[i].id if i < len(scene.arrays) else _fresh_id(scene, ids)
            array = replace(array, id=id)
            ids.append(array)
        places.append((array.id, position.at_m, bands_of(array, held)[0][position.band]))
    return AimRow(
        aim=name,
        outcome=solution.outcome,
        places=tuple(places),
        margin_m=None if figures is None else figures.margin_m,
        worst_slant_m=None if figures is None else figures.worst_slant_m,
        mean_off_centre_deg=None if figures is None else figures.mean_off_centre_deg,
        rms_off_centre_deg=None if figures is None else figures.rms_off_centre_deg,
        covered=None if figures is None else figures.covered,
        value=solution.value,
        bound=solution.bound,
        gap=solution.gap,
        unit=solution.aim.unit,
        for_groups=solution.for_groups,
    )
