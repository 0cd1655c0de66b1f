"""What the search is asked about one array: where it may be, in which bands, and by which rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.aims import Aim, AimName, Centre, Margin, Most, Near, Tolerance
from geometry.areas import inside_gap, outside_gap
from geometry.band import Band, Floats
from geometry.clearance import Hanging
from geometry.constraint import Constraint, Key, SearchBox
from geometry.coverage import Coverage
from geometry.kind import ArrayKind
from geometry.patterns import Pattern
from geometry.problem import Between, Bodies
from geometry.records import record
from geometry.shapes import Blocker
from scenes.review.blockers import of_array, seen, solids_before
from scenes.review.coverage import coverage_of
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, CeilingPart, Scene
from scenes.room.spans import search_span_m
from scenes.rules.ceilings import steps_of
from scenes.rules.constraints import constraints_between, constraints_for, is_about_the_room
from scenes.rules.surroundings import edges_in
from scenes.rules.under import region_over

Held = Literal["at", "height", "band"]
HOLDS: tuple[Held, ...] = ("at", "height", "band")
BESIDE_M = 1e-4
"""A place this far from a part of the ceiling is not under it, however it is rounded."""


@record(frozen=True, slots=True)
class Kept:
    """The wishes that places keep: over one of these tables (none: anywhere), and a spare of every rule, metres.

    `rows` are the rows that arrays hang in one of; none: anywhere.
    """

    over: tuple[str, ...] = ()
    spare_m: float = 0.0
    rows: tuple[Pattern, ...] = ()


OFF_STEPS: Key = ("wish", "spare", "steps")
"""What the constraint is called by which a spare is kept beside steps of the ceiling."""
BARE = Kept()
"""No wishes at all."""


def aim_of(name: AimName, enough_m: float) -> Aim:
    """The aim of this name; `near` keeps a margin of `enough_m`."""
    aims: dict[AimName, Aim] = {
        "near": Near(needs_margin_m=enough_m),
        "tolerance": Tolerance(),
        "margin": Margin(),
        "centre": Centre(),
        "most": Most(),
    }
    return aims[name]


def kind_of(
    scene: Scene,
    array: Array,
    hold: Sequence[Held] = (),
    *,
    clearances: bool = True,
    count: int | None = None,
    kept: Kept = BARE,
    rules: Sequence[Constraint] | None = None,
) -> ArrayKind:
    """What the search is told of arrays like this one: bands, box, rules and wishes, and what lines must pass.

    `rules` are its `constraints_of`, where they have been asked before and remember what was found.
    """
    alone = scene.with_arrays((array,))
    own = constraints_of(scene, array, clearances=clearances) if rules is None else rules
    return ArrayKind(
        bands_of(array, hold)[1],
        search_box(scene, array, hold),
        (*own, *wished(scene, array, kept)),
        solids_before(alone if clearances else replace(alone, overhead=()), array),
        count,
        kept.spare_m,
    )


def wished(scene: Scene, array: Array, kept: Kept) -> tuple[Constraint, ...]:
    """What wishes ask of the acoustic centre besides a spare of every rule, as stops: nothing is lost by being near."""
    return (*_over(scene, kept), *_off_steps(scene, array, kept))


def _off_steps(scene: Scene, array: Array, kept: Kept) -> tuple[Constraint, ...]:
    """That the body is a spare beside each part of the ceiling that it does not hang under."""
    steps = steps_of(scene, array) if kept.spare_m > 0 else None
    if steps is None:
        return ()
    return (Constraint(OFF_STEPS, lambda at: steps.off_steps(at, kept.spare_m), stop=True),)


def _over(scene: Scene, kept: Kept) -> tuple[Constraint, ...]:
    """That it is over one of the tables."""
    tops = [edges_in((table.outline_m,)) for table in scene.tables if table.id in kept.over]
    if not tops:
        return ()
    point = Hanging()
    return (
        Constraint(
            ("wish", "over"),
            lambda at: np.max([inside_gap(point, at, top) for top in tops], axis=0),
            stop=True,
        ),
    )


def seen_coverage(scene: Scene) -> Coverage:
    """How every head stands to every array where it hangs, with who is seen by which."""
    return replace(coverage_of(scene), seen=seen(scene))


def between_arrays(scene: Scene, like: Sequence[Array]) -> Between:
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


def bodies_of(scene: Scene, like: Sequence[Array]) -> Bodies:
    """What arrays of these kinds are where they hang: body and cable, which hide people from the others."""

    def bodies(kind: int, at: Floats) -> list[Blocker]:
        x, y, z = (float(number) for number in at)
        band = next(iter(like[kind].profile.bands))
        hung = replace(like[kind], at_m=(x, y), height_m=z, band_name=band)
        return [one.solid for one in of_array(hung, ceiling_over_m(scene.room, hung.at_m))]

    return bodies


def constraints_of(scene: Scene, array: Array, *, clearances: bool = True) -> list[Constraint]:
    """What the search asks of the array's position: every rule, or those of the room and its tables only.

    Rules between arrays are left out: the others' places are not known yet.
    """
    asked = constraints_for(scene.with_arrays((array,)), array)
    some = asked if clearances else [each for each in asked if is_about_the_room(each)]
    return [*some, *_hung_as_given(scene)]


def not_hung_from(scene: Scene) -> tuple[CeilingPart, ...]:
    """The ceiling's parts that are of another kind than the file's own suspension is for: nothing can hang there."""
    given = scene.suspension.ceiling
    return tuple(part for part in scene.room.parts if given is not None and part.kind != given)


def _hung_as_given(scene: Scene) -> tuple[Constraint, ...]:
    """That the acoustic centre is under none of them, nor under an edge of one, which is part of it."""
    away = [edges_in((part.surface.outline_m,)) for part in not_hung_from(scene)]
    if not away:
        return ()
    point = Hanging(radius_m=BESIDE_M)
    return (
        Constraint(
            ("suspension",),
            lambda at: np.min([outside_gap(point, at, one) for one in away], axis=0),
            stop=True,
        ),
    )


def search_box(scene: Scene, array: Array, hold: Sequence[Held] = ()) -> SearchBox:
    """Every position the array's acoustic centre could have: the room's bounds, floor to ceiling, less what is held.

    A flush array's are those of the part of the ceiling over its place.
    """
    (left, bottom), (right, top) = scene.room.bounds_m
    if scene.room.parts and array.profile.mount == "flush" and array.at_m is not None:
        left, bottom, right, top = region_over(scene.room, array.at_m).area.bounds
    low_m, high_m = search_span_m(scene, array)
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
