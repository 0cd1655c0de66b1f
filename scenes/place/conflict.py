"""Where nobody can be served together: who conflicts, why, and what would help, each tried by the search."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from geometry.arrangement import Thoroughness, arrange
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
from geometry.conflicts import can_serve, reach_needed, smallest_conflict
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, cover
from geometry.placement import Found, Place, search
from geometry.together import Kit
from scenes.place.placement import Conflict, Remedy
from scenes.place.problem import Held, bands_of, search_box
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.rules.apply import constraints_for, key_name
from scenes.words import at_most, length, listed, shortfall, whole_down

HIGHEST_CEILING_M = 6.0
"""Ceilings tried where a room cannot be served: up to here, or as much above the room's own."""
CEILING_STEP_M = 0.05
"""In these steps."""


# When nothing works --------------------------------------------------------------------------------------


def conflict_of(
    scene: Scene, array: Array, held: tuple[Held, ...], tolerance: Found, constraints: Sequence[Constraint]
) -> Conflict:
    """Who cannot be served together, why, and what was tried; or which rules leave no position at all."""
    heads = scene.heads_as_rows
    names, bands = bands_of(array, held)
    box = search_box(scene, array, held)
    if tolerance.bound is None:
        culprits = [
            key_name(key) for key in sorted(tolerance.excluded, key=lambda key: -tolerance.excluded[key])
        ]
        return Conflict(
            (),
            False,
            f"No position is allowed: {listed(culprits)} {'leaves' if len(culprits) == 1 else 'leave'} none",
            (
                *_let_go(scene, array, held, constraints),
                *_rules_apart(heads, bands, box, constraints, scene.units),
            ),
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


def _let_go(
    scene: Scene, array: Array, held: tuple[Held, ...], constraints: Sequence[Constraint]
) -> list[Remedy]:
    """Each held value let go in turn: whether there is a position then, and with what margin."""
    tried = []
    for name in held:
        if name == "band":  # no rule asks for the band
            continue
        fewer = tuple(other for other in held if other != name)
        thing = "place" if name == "at" else name
        found = search(
            scene.heads_as_rows, bands_of(array, fewer)[1], search_box(scene, array, fewer), constraints
        )
        change = f"free {name}"
        if found.place is None:
            tried.append(Remedy(change, False, None, f"not holding the {thing} opens no position by itself"))
        else:
            margin = found.place.margin_m
            said = f"not holding the {thing} there is a position, {_with_margin(margin, scene.units)}"
            tried.append(Remedy(change, margin >= 0, margin, said))
    return tried


def _with_margin(margin_m: float, units: str) -> str:
    if margin_m >= 0:
        return f"with a margin of {whole_down(margin_m, units)}"
    return f"{shortfall(-margin_m, units)} short of covering everybody"


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
    told, served = [], []
    for i, id in enumerate(ids):
        margin = float(judged.margin_m[0, i])
        if margin >= 0:
            served.append(id)
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
        elif allowed.endswith(figure):
            allowed = f"{allowed}, {at_most(-margin, units)} short"
        said = f"{said} ({figure}, {allowed})"
        told.append(f"{id} is {said}")
    # the group is irreducible: where all the others are served, each of these is not
    told += [f"where the others are served {id} is not" for id in served]
    x, y, z = best.at_m
    alone = "cannot be served anywhere allowed" if len(ids) == 1 else "cannot be served together"
    return (
        f"{listed(ids, most=12)} {alone}: at the best place for {'it' if len(ids) == 1 else 'them'}, "
        f"{length(x, units)} / {length(y, units)} at {length(z, units)} in band {names[best.band]}, "
        f"{'; '.join(told)}"
    )


def _worst_end(band: Band, at: Floats, heads: Heads, head: int) -> tuple[float, float, int]:
    """Depression and slant of the end of a head's mouths (or path) that is worst off, and which edge is nearest."""
    points, _, whose = heads.deciding(at)
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
        thing = "place" if name == "at" else name
        freed = search_box(scene, array, fewer)
        names, all_bands = bands_of(array, fewer)
        spot = can_serve(heads, all_bands, freed, constraints)
        if isinstance(spot, Place):
            better = _best_margin(heads, all_bands, freed, constraints)
            which = f" (band {names[spot.band]})" if name == "band" else ""
            said = f"not holding the {thing}{which} covers everybody"
            tried.append(Remedy(f"free {name}", True, better, f"{said}, margin {whole_down(better, units)}"))
        else:
            tried.append(
                Remedy(
                    f"free {name}", False, None, f"not holding the {thing} does not cover everybody by itself"
                )
            )
    if "band" not in held:
        tried.append(Remedy("another band", False, None, "no band of the profile covers everybody"))
    tried.append(_another_ceiling(scene, array, held, heads, bands))
    tried.append(
        one_more(
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
                "reach",
                True,
                0.0,
                f"with a reach of {_at_least(needed, units)} one array could cover everybody",
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


def one_more(heads: Heads, kits: Sequence[Kit], count: int, units: str) -> Remedy:
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
            said = _with_margin(margin, units)
            tried.append(
                Remedy(
                    f"without {key_name(constraint.key)}",
                    margin >= 0,
                    margin,
                    f"without {key_name(constraint.key)} there is a position, {said}",
                )
            )
    if not tried:
        tried.append(Remedy("one rule less", False, None, "no single rule left out opens a position"))
    return tried
