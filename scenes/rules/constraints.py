"""The rules as demands on an array's acoustic centre, for the search and for the room to move."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.asked_once import AskedOnce
from geometry.constraint import Constraint, Key
from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.clearance import Part
from scenes.room.ceiling import REST, scene_under
from scenes.room.scene import Array, Scene
from scenes.rulebook import rules
from scenes.rules.apply import measures_of
from scenes.rules.measure import Measure
from scenes.rules.measures.distance import Distance, least_together
from scenes.rules.surroundings import Site
from scenes.rules.under import InRegions, Under, least_under

Floats = NDArray[np.float64]


def constraints_for(scene: Scene, array: Array) -> list[Constraint]:
    """The rules as demands on this array's acoustic centre: one for each, the rule's id its key.

    Under a ceiling in parts two, where what it asks is partly the same at all heights.

    At least 0 where every thing the rule is about is clear, changing by at most 1 m per metre. Rules switched
    off are left out. Sprinklers whose spray is not judged are kept away from as if it were standard; projectors
    without a picture ask nothing of their light. What is left is at least what it says, and no less than any
    margin the array's bands can give. `tightest` says which thing presses.
    """
    return _as_constraints((one for one in measures_of(Site(scene, array)) if one.binds), array)


def judged_constraints(scene: Scene, array: Array) -> list[Constraint]:
    """The same with the rules that a search leaves alone and a review judges: what moving an array may fail."""
    return _as_constraints(
        (one for one in measures_of(Site(scene, array)) if one.binds or _only_judged(one)), array
    )


def only_judged(scene: Scene, array: Array) -> tuple[str, ...]:
    """The ids of those rules, as far as there is something in the room that they ask of this array."""
    return tuple(
        dict.fromkeys(one.applied.rule.id for one in measures_of(Site(scene, array)) if _only_judged(one))
    )


def _only_judged(measure: Measure) -> bool:
    """Whether a review judges it and a search keeps off it only by the designer's own value."""
    applied = measure.applied
    if applied.rule.binds_search or applied.in_force or measure.off:
        return False
    return any(measure.judges(column) for column in range(len(measure.against)))


def constraints_between(scene: Scene, array: Array) -> list[Constraint]:
    """What the rules ask of this array's acoustic centre for the sake of the other arrays, where these are.

    The part of `constraints_for` that depends on the others: nothing in one another, and the distance arrays
    keep. Met by one of two arrays exactly when it is met by the other.
    """
    alone = replace(scene, overhead=(), obstacles=(), tables=(), displays=())
    among = [
        one
        for one in measures_of(Site(alone, array))
        if one.binds and {each.kind for each in one.against} == {"array"}
    ]
    return _as_constraints(among, array)


def is_about_the_room(constraint: Constraint) -> bool:
    """Whether a constraint's rule is about the room itself, rather than about what else is at the ceiling."""
    rule = rules().get(str(constraint.key[0]))
    return constraint.stop or (rule is not None and rule.about == "room")


def key_name(key: Key) -> str:
    """What a constraint is called in JSON: `RULE`, or `RULE (…)`."""
    rule, *more = key
    return f"{rule} ({', '.join(map(str, more))})" if more else str(rule)


def _as_constraints(measures: Iterable[Measure], array: Array) -> list[Constraint]:
    by_rule: dict[tuple[Key, bool, bool], list[Measure]] = {}
    for measure in measures:
        key = (measure.applied.rule.id, *((REST,) if measure.stop else ()))
        upright = isinstance(measure, Under) and measure.same_at_all_heights
        by_rule.setdefault((key, measure.stop, upright), []).append(measure)
    # no margin is larger than the largest ball a band holds
    enough = max((array.profile.band(name).largest_ball_m for name in array.profile.bands), default=math.inf)
    known = AskedOnce([_least(some, enough) for some in by_rule.values()], _distances(by_rule.values()))
    return [Constraint(key, known.of(k), stop, upright) for k, (key, stop, upright) in enumerate(by_rule)]


def _distances(by_rule: Iterable[Sequence[Measure]]) -> tuple[list[int], Callable[[Floats], Floats]] | None:
    """Which rules ask for a distance in space and nothing else, and all these in one call; None without two."""
    alone = {k: some[0] for k, some in enumerate(by_rule) if len(some) == 1 and type(some[0]) is Distance}
    distances = [each for each in alone.values() if isinstance(each, Distance)]
    return None if len(distances) < 2 else (list(alone), least_together(distances))


def _least(measures: Sequence[Measure], enough_m: float) -> Callable[[Floats], Floats]:
    some = [measure for measure in measures if isinstance(measure, Under)]
    under = InRegions(some) if some else None
    plain = [measure for measure in measures if not isinstance(measure, Under)]

    def signed(positions: Floats) -> Floats:
        at = np.atleast_2d(positions)
        found = [measure.least(at, up_to_m=enough_m) for measure in plain]
        if under is not None:
            found.append(least_under(under, at, enough_m))
        return found[0] if len(found) == 1 else np.asarray(np.min(found, axis=0))

    return signed


@record(frozen=True, slots=True)
class Pressing:
    """How much is left of one rule against one thing: `signed_m` is negative where it is short."""

    rule: str
    part: Part | None
    against: str
    kind: str
    signed_m: float


def pressing_name(one: Pressing) -> str:
    """What presses, as JSON has it: `THING (RULE)`."""
    return f"{one.against} ({one.rule})"


def tightest(scene: Scene, array: Array, at_m: Point3, within_m: float = math.inf) -> list[Pressing]:
    """What presses on the array if its acoustic centre were at `at_m`, the tightest first.

    Only what has less than `within_m` left; the constraints' own numbers, thing by thing.
    """
    found = []
    for measure in measures_of(Site(scene_under(scene, at_m[:2]), array)):
        if not measure.binds:
            continue
        signed = measure.signed(np.array([at_m]))[0].tolist()
        for column, left in enumerate(signed):
            if left <= within_m:
                about, rule = measure.against[column], measure.deciding(column, at_m[2]).rule.id
                found.append(Pressing(rule, about.part, about.thing, about.kind, left))
    return sorted(found, key=lambda pressing: pressing.signed_m)
