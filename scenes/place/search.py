"""A scene's heads, rules and limits handed to the certified search: where its arrays should hang.

What is held and what is free is decided by `hold` alone ("at", "height", "band"; a flush array is held
at the ceiling besides): of an array that the spec has placed completely everything else is free, and
its place there is one the search starts from; what the spec leaves open is filled. A held value must be
in the spec.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np

from geometry.aims import ENOUGH_M, AimName, Most, Near
from geometry.arrangement import Arrangement, GaveWay, Told, Wish, arrange
from geometry.band import ON_EDGE_M
from geometry.branching import Outcome
from geometry.certificate import Certificate
from geometry.constraint import Constraint
from geometry.cover_proof import Thoroughness
from geometry.kind import Position
from geometry.patterns import Pattern
from geometry.placement import PRESSING_M, Effort, Solution
from geometry.problem import ArrangementProblem
from geometry.records import record
from scenes.findings.placement import Because, Conflict, Far, Note, Stage
from scenes.place.conflict import conflict_of
from scenes.place.everybody import covered_in_the_worst, everybody, ids_of_everybody, talkers_in
from scenes.place.placement import AimRow, MostCovered, Placement, hung
from scenes.place.planes import in_planes, planes_of, sloped_parts
from scenes.place.problem import (
    BARE,
    HOLDS,
    Held,
    Kept,
    aim_of,
    bands_of,
    between_arrays,
    bodies_of,
    constraints_of,
    kind_of,
    not_hung_from,
)
from scenes.place.refusals import PlaceRefused
from scenes.place.remedies import Again, Remedies, judged
from scenes.place.rows import alike
from scenes.place.snap import snap_placement, whole_step_m
from scenes.room.ceiling import part_over
from scenes.room.scene import Array, Scene
from scenes.rules.constraints import key_name, tightest

AIMS: tuple[AimName, ...] = get_args(AimName)
NOTHING: Mapping[AimName, Solution] = MappingProxyType({})
"""Nothing is known of a question before it is asked."""


def place_scene(
    scene: Scene,
    *,
    aim: AimName | None = None,
    enough_m: float = ENOUGH_M,
    kept: Kept = BARE,
    hold: Iterable[Held] = (),
    arrays: int | Literal["fewest"] | None = None,
    effort: Effort | None = None,
    record: bool = False,
    advise: bool = True,
    clearances: bool = True,
    tabled: bool = True,
    rooms: bool = True,
    thorough: Thoroughness | None = None,
    progress: Callable[[Far], None] | None = None,
    question: PlaceQuestion | None = None,
    known: Mapping[AimName, Solution] = NOTHING,
) -> Placement:
    """Where the scene's arrays should hang, proven, with the room placed accordingly.

    aim       near, tolerance, margin, centre or most: only that one is sought, with the largest margin.
              None: near, or most where near cannot be had; all five are tabled
    enough_m  the margin that `near` keeps
    kept      the wishes that places keep
    hold      what stays as the spec has it: "at", "height", "band"
    arrays    how many, of the first array's profile; the fewest leave everybody `enough_m` where near is sought and
              some number does, else they cover everybody; None keeps those of the spec, each with its own
    record    keep the leaves of the search (one array only)
    advise    where nothing works, look for who conflicts and what would help
    clearances  False keeps walls, headroom and tables only: what the rest of the ceiling costs
    tabled    False leaves out the aims that are not taken, and how far each array may move
    rooms     False leaves that out alone: of places that are only a step to others, or beside them
    thorough  how hard several arrays are searched for
    question    the same question where it was asked before: what was found then is remembered
    known       what several arrays came to by some of the aims, of that question; they are given again
    progress    is given how far the search has come, a few times a second while it takes long

    Raises PlaceRefused where a held value is missing, or where arrays are held and their number is not
    the spec's.
    """
    began = time.perf_counter()
    if question is None:
        question = place_question(scene, tuple(dict.fromkeys(hold)), arrays, clearances=clearances, kept=kept)
    names: tuple[AimName, ...] = AIMS if aim is None and tabled else (aim or "near",)
    wish = Wish(
        aims=tuple(aim_of(name, enough_m) for name in names),
        instead=Most() if aim is None else None,
        effort=effort,
        thorough=thorough,
        record=record,
        each_m=max(enough_m, 0.0) if aim in (None, "near") else 0.0,
        start=question.today if question.arrays == 1 else (),
        progress=None if progress is None else lambda told: progress(stage_of(told)),
        patterns=question.rows,
        known=known,
    )
    found = arrange(question.problem, wish, question.arrays)
    if arrays == "fewest" and len(found.unreached) == len(question.problem.heads):
        # no number helps: told is what one array can do at best, and why it cannot do more
        one = place_scene(
            scene,
            aim=aim,
            enough_m=enough_m,
            kept=kept,
            hold=question.held,
            arrays=1,
            effort=effort,
            advise=advise,
            clearances=clearances,
            rooms=rooms,
            progress=progress,
        )
        nobody = tuple(head.id for head in scene.heads)
        return replace(one, notes=(Note("unreached", heads=nobody), *one.notes), unreached=nobody)
    again = placed_again(enough_m, clearances=clearances)
    placed = question.placed(found)
    placement = Placement(
        scene=placed,
        outcome=_outcome(question, found),
        asked=aim,
        aim=found.taken,
        notes=_notes(question, found, placed),
        enough_m=enough_m,
        bound_m=found.margin.bound,
        gap_m=found.margin.gap,
        worst_slant_bound_m=found.by_aim["near"].bound if "near" in found.by_aim else None,
        margin_outcome=found.margin.outcome,
        largest_margin_m=found.margin.value,
        most=_most(question, found),
        evaluations=found.evaluations,
        seconds=0.0,
        aims=tuple(_aim_row(question, found, name) for name in names),
        count=found.count,
        excluded={_constraint_name(key): share for key, share in found.margin.excluded.items()},
        conflict=conflict_in(question, found, again, progress) if advise else None,
        certificates=_certificates(found),
        held=question.held,
        kept=kept,
        unreached=tuple(ids_of_everybody(scene)[i] for i in found.unreached),
        with_rooms=tabled and rooms,
    )
    placement = hung(placement, placed.arrays if found.stands else ())
    return replace(placement, seconds=time.perf_counter() - began)


# The question --------------------------------------------------------------------------------------------


@record(frozen=True, slots=True, eq=False)
class PlaceQuestion:
    """A scene's arrays as the search is asked for them.

    own     the arrays of the spec that are asked for: all of them, or the first where a number is
    like    an array for each kind: these, or of a flush one under a ceiling in parts itself in each of its planes
    held    what stays as the spec has it
    arrays  how many: a number, the fewest, or None for one of each of the spec's several
    rows    they hang in one of these; none: anywhere
    rules   of each of `like`, what the rules ask of it: they remember what they were asked
    """

    scene: Scene
    own: tuple[Array, ...]
    like: tuple[Array, ...]
    held: tuple[Held, ...]
    arrays: int | Literal["fewest"] | None
    problem: ArrangementProblem
    rows: tuple[Pattern, ...] = ()
    rules: tuple[Sequence[Constraint], ...] = ()

    @property
    def all_held(self) -> bool:
        """Whether nothing may move."""
        return all(kind.held for kind in self.problem.kinds)

    @property
    def today(self) -> tuple[Position, ...]:
        """Where the spec has the first array, as a position to begin from; nothing where it has no place."""
        array, names = self.own[0], self.bands(0)
        if not array.placed or array.band_name not in names or array not in self.like:
            return ()
        here = Position(array.centre_m, names.index(str(array.band_name)), self.like.index(array))
        return (here,)

    def bands(self, kind: int) -> tuple[str, ...]:
        """The names of the bands that arrays of this kind may take."""
        return bands_of(self.like[kind], self.held)[0]

    def placed(self, found: Arrangement) -> Scene:
        """The scene with the arrays where they were found; an array without a place stays as the spec has it."""
        if not found.stands and self.arrays == 1:
            return self.scene.with_arrays(self.own)
        return self.scene.with_arrays(self.arrays_at([stand.position for stand in found.stands]))

    def arrays_at(self, positions: Sequence[Position]) -> tuple[Array, ...]:
        """Arrays there, with the spec's ids, or, where their number is free, with ids closed up."""
        arrays: list[Array] = []
        for i, position in enumerate(positions):
            array, (x, y, z) = self.like[position.kind], position.at_m
            if self.arrays not in (None, 1):
                own = self.scene.arrays[i] if i < len(self.scene.arrays) else None
                if own is None or not alike((array, own)):
                    own = replace(array, id=self._id_of(i, arrays))
                array = own
            band = self.bands(position.kind)[position.band]
            arrays.append(replace(array, at_m=(x, y), height_m=z, band_name=band))
        return tuple(arrays)

    def _id_of(self, index: int, before: Sequence[Array]) -> str:
        """The id of the array at this place among as many as are asked for; `before` have theirs."""
        own = self.scene.arrays
        if index < len(own):
            return own[index].id
        return self.scene.with_arrays((*own, *before)).fresh_array_id()


def place_question(
    scene: Scene,
    held: tuple[Held, ...],
    arrays: int | Literal["fewest"] | None,
    *,
    clearances: bool = True,
    kept: Kept = BARE,
    beside: PlaceQuestion | None = None,
) -> PlaceQuestion:
    """What is asked, checked: PlaceRefused where something held is missing or cannot be held for so many.

    `beside` is the same question with fewer wishes: rules are asked of a place once for both, and what was proven of
    it holds here too.
    """
    for name in held:
        if name not in HOLDS:
            raise PlaceRefused("no such hold", hold=(name,))
    _require_held(scene, held)
    if scene.areas and (len(scene.arrays) != 1 if arrays is None else arrays != 1):
        raise PlaceRefused("areas of several")
    if arrays is not None and held and arrays != len(scene.arrays):
        raise PlaceRefused("hold for others", hold=held, asked=arrays, there=len(scene.arrays))
    if arrays is None and (len(scene.arrays) == 1 or _alike(scene, held)):
        arrays = len(scene.arrays)
    if kept.rows:
        arrays = kept.rows[0].count
    # of one kind as many as are asked for, or one of each of the spec's
    own = scene.arrays if arrays is None else scene.arrays[:1]
    like = own if arrays is None else planes_of(scene, own[0], held)
    if arrays is None:
        _require_planes(scene, own)
    count = 1 if arrays is None else None
    rules = _rules_of(scene, like, clearances, beside)
    kinds = tuple(
        kind_of(scene, array, held, clearances=clearances, count=count, kept=kept, rules=asked)
        for array, asked in zip(like, rules, strict=True)
    )
    problem = ArrangementProblem(
        everybody(scene),
        kinds,
        between_arrays(scene, like),
        bodies_of(scene, like),
        None if beside is None else beside.problem,
    )
    return PlaceQuestion(scene, own, like, held, arrays, problem, kept.rows, rules)


def _rules_of(
    scene: Scene, like: Sequence[Array], clearances: bool, beside: PlaceQuestion | None
) -> tuple[Sequence[Constraint], ...]:
    """What the rules ask of each of these arrays: as a question beside has it, which remembers, or anew."""
    before = () if beside is None else tuple(zip(beside.like, beside.rules, strict=True))
    return tuple(
        next((asked for other, asked in before if other == array), ())
        or constraints_of(scene, array, clearances=clearances)
        for array in like
    )


def _alike(scene: Scene, held: Sequence[Held]) -> bool:
    """Whether all are alike and free to change places: then one kind does for them, and halves the search for two."""
    return bool(scene.arrays) and not held and alike(scene.arrays)


def _require_planes(scene: Scene, arrays: Sequence[Array]) -> None:
    """Each of several flush arrays needs a place where there are planes to choose from: its own."""
    for array in arrays:
        if in_planes(scene, array) and array.at_m is None:
            raise PlaceRefused("flush in parts", array=array.id)


def _require_held(scene: Scene, held: Sequence[Held]) -> None:
    for array in scene.arrays:
        values = {"at": array.at_m, "height": array.height_m, "band": array.band_name}
        for name in held:
            if values[name] is None:
                raise PlaceRefused("nothing to hold", hold=(name,), array=array.id)


ROUGH = Thoroughness(work=20, gap_m=0.02)
"""Whether one array more would help is asked, not the last millimetre of how well."""


def placed_again(enough_m: float, *, clearances: bool) -> Again:
    """How a changed room is placed again: without wishes, in whole steps, nothing tried to help."""

    def again(scene: Scene, held: tuple[Held, ...], arrays: int | None) -> Placement:
        several = arrays is not None or len(scene.arrays) > 1
        placed = place_scene(
            scene,
            aim="margin" if several else None,
            enough_m=enough_m,
            hold=held,
            arrays=arrays,
            advise=False,
            clearances=clearances,
            tabled=False,
            thorough=ROUGH,
        )
        if not placed.arrays:
            return placed
        return snap_placement(placed, whole_step_m(scene.units), nearby=True)

    return again


# What is told on the way ---------------------------------------------------------------------------------


def stage_of(told: Told) -> Far:
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


def _outcome(question: PlaceQuestion, found: Arrangement) -> Outcome:
    """Certified where both the aim taken and the largest margin are."""
    taken, margin = found.solution, found.margin
    if _is_alone(question, found):
        # the largest margin is asked for in any case: without its proof nothing is certain
        return "unresolved" if margin.outcome == "unresolved" else taken.outcome
    if found.stands and question.all_held and not found.apart:
        return "none allowed"
    if margin.outcome == "none allowed" and not found.unreached:
        return "none allowed"
    certain = margin.outcome == taken.outcome == "certified" and not found.over_limit
    left_out = 0 < len(found.stands) < found.wanted
    return "certified" if certain and not left_out else "unresolved"


def _is_alone(question: PlaceQuestion, found: Arrangement) -> bool:
    """Whether one array was asked for: no kinds beside it, and no count of the fewest to prove."""
    return len(question.own) == 1 and found.wanted == 1 and found.count is None


def _constraint_name(key: tuple[str | int, ...]) -> str:
    """What stands in the way of places, as JSON has it."""
    return key_name(("sight",)) if key[0] == "sight" else key_name(key)


def _certificates(found: Arrangement) -> dict[str, Certificate]:
    """The proofs that were kept, by aim."""
    kept = {aim: solution.certificate for aim, solution in found.by_aim.items()}
    return {aim: certificate for aim, certificate in kept.items() if certificate is not None}


def _notes(question: PlaceQuestion, found: Arrangement, placed: Scene) -> tuple[Note, ...]:
    """Why another aim than the one asked for was taken, and what else is to be remarked."""
    arrays = placed.arrays if found.stands else ()
    notes = []
    if found.over_limit:
        notes.append(Note("over limit"))
    elif found.unreached:
        heads = tuple(ids_of_everybody(question.scene)[i] for i in found.unreached)
        notes.append(Note("unreached", heads=heads))
    elif found.gave_way is not None and found.apart:
        notes.append(_gave_way(found, found.gave_way, len(arrays)))
    if found.count is not None and found.count.tried is not None:
        notes.append(Note("not apart", tried=found.count.tried))
    if 0 < len(arrays) < found.wanted:
        notes.append(_left_out(question, found, arrays))
    if arrays and not found.apart:
        notes.append(Note("held too near" if question.all_held else "too near", pairs=_pairs(placed)))
    elif len(arrays) > 1 and _outcome(question, found) != "certified" and _side_by_side(placed):
        notes.append(Note("outside the bound"))
    away = not_hung_from(question.scene)
    if away:
        ids = tuple(part.id for part in away)
        notes.append(Note("hung as given", parts=ids, ceiling=question.scene.suspension.ceiling))
    return (*notes, *_in_planes(question, arrays))


def _in_planes(question: PlaceQuestion, arrays: Sequence[Array]) -> Iterator[Note]:
    """Of flush arrays under a ceiling in parts: where they were sought, and which part each lies in."""
    scene = question.scene
    flush = [array for array in question.own if in_planes(scene, array)]
    if not flush or "at" in question.held:
        return
    if question.arrays is None:
        yield Note("in one part", arrays=tuple(array.id for array in flush))
        return
    if arrays:
        over = ((array.id, part_over(scene.room, array.centre_m[:2])) for array in arrays)
        yield Note("in part", lie_in=tuple((id, None if part is None else part.id) for id, part in over))
    if sloped := sloped_parts(scene):
        yield Note("not in slopes", parts=tuple(part.id for part in sloped))


def _left_out(question: PlaceQuestion, found: Arrangement, arrays: Sequence[Array]) -> Note:
    """That fewer arrays hang than were wanted: which ones, or how many of one kind."""
    own = question.scene.arrays
    if found.wanted != len(own):
        return Note("some left out", missing=found.wanted - len(arrays), wanted=found.wanted)
    hung_ids = {array.id for array in arrays}
    return Note("left out", arrays=tuple(array.id for array in own if array.id not in hung_ids))


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


def _gave_way(found: Arrangement, gave_way: GaveWay, arrays: int) -> Note:
    """Why the aim asked for was not taken; `arrays` hang by another."""
    if not found.stands:
        return Note("nothing found" if gave_way.why == "unresolved" else "nothing allowed")
    near = found.by_aim[gave_way.asked].aim
    if gave_way.why == "too little margin" and isinstance(near, Near) and gave_way.best_m is not None:
        enough_m = near.needs_margin_m
        best_m = gave_way.best_m
        return Note("too little margin", instead=True, hung=arrays, enough_m=enough_m, best_m=best_m)
    return Note("unseen" if gave_way.why == "none allowed" else "not covered", instead=True, hung=arrays)


def conflict_in(
    question: PlaceQuestion, found: Arrangement, again: Again, progress: Callable[[Far], None] | None
) -> Conflict | None:
    """Why not everybody can be served, and what was tried; None where they can, or that is not known."""
    scene, margin = question.scene, found.margin
    if _is_alone(question, found):
        if margin.bound_score is None:
            # what was not found in the effort allowed may be there
            if margin.outcome == "unresolved":
                return None
        elif margin.bound_score >= 0:
            return None
        if progress is not None:
            progress(Far("conflict"))
        array, alone = question.own[0], scene.with_arrays(question.own)
        remedies = Remedies(alone, array, question.held, again)
        tried = tuple(remedies.tried(nothing_allowed=margin.bound_score is None))
        return conflict_of(alone, array, question.held, margin, question.problem.kinds, tried)
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


def _most(question: PlaceQuestion, found: Arrangement) -> MostCovered | None:
    """What the aim `most` comes to, with the heads it covers; None where it was not sought or has no place."""
    most = found.by_aim.get("most")
    if most is None or most.value is None:
        return None
    margins, seen = question.problem.heard(most.positions)
    covered = np.flatnonzero(((margins >= -ON_EDGE_M) & seen).any(axis=0))
    heads = question.scene.heads
    # areas come after talkers, and are none
    value, bound = (
        talkers_in(question.scene, most.value),
        None if most.bound is None else talkers_in(question.scene, most.bound),
    )
    if question.scene.layouts:
        # the bound is of all layouts counted together: of the worst it says nothing
        value, bound = _covered(question, most), None
    return MostCovered(value, bound, tuple(heads[i].id for i in covered if i < len(heads)))


def _covered(question: PlaceQuestion, solution: Solution) -> float:
    """The weight of people covered; of several layouts in the worst of them."""
    scene = question.scene
    if not scene.layouts and solution.figures is not None:
        return talkers_in(scene, solution.figures.covered)
    margins, seen = question.problem.heard(solution.positions)
    covered = np.asarray(((margins >= -ON_EDGE_M) & seen).any(axis=0), np.bool_)
    return covered_in_the_worst(scene, covered[: len(scene.heads)])[0]


def _aim_row(question: PlaceQuestion, found: Arrangement, name: AimName) -> AimRow:
    """One aim beside the others: where it would put the arrays, and its figures."""
    solution = found.by_aim[name]
    figures, arrays = solution.figures, question.arrays_at(solution.positions)
    counts = solution.aim.counts_heads
    value, bound = (
        talkers_in(question.scene, one) if counts and one is not None else one
        for one in (solution.value, solution.bound)
    )
    gap = abs(bound - value) if counts and bound is not None and value is not None else solution.gap
    return AimRow(
        aim=name,
        outcome=solution.outcome,
        places=tuple((array.id, array.centre_m, str(array.band_name)) for array in arrays),
        margin_m=None if figures is None else figures.margin_m,
        worst_slant_m=None if figures is None else figures.worst_slant_m,
        mean_off_centre_deg=None if figures is None else figures.mean_off_centre_deg,
        rms_off_centre_deg=None if figures is None else figures.rms_off_centre_deg,
        covered=None if figures is None else _covered(question, solution),
        value=value,
        bound=bound,
        gap=gap,
        unit=solution.aim.unit,
        for_groups=solution.for_groups,
    )
