"""Where nobody can be served together: who conflicts, why, and what would help, each tried by the search."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from geometry.aims import Margin
from geometry.arrangement import Wish, arrange
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
from geometry.cover_proof import Thoroughness
from geometry.coverage import Heads, cover
from geometry.kind import ArrayKind, Position
from geometry.placement import Solution, figures_at, search
from geometry.problem import ArrangementProblem
from scenes.place.placement import Conflict, Remedy
from scenes.place.problem import Held, bands_of, kind_of, search_box
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.rules.constraints import key_name
from scenes.words import at_most, length, listed, shortfall, whole_down

HIGHEST_CEILING_M = 6.0
"""Ceilings tried where a room cannot be served: up to here, or as much above the room's own."""
CEILING_STEP_M = 0.05
"""In these steps."""


# When nothing works --------------------------------------------------------------------------------------


def conflict_of(
    scene: Scene, array: Array, held: tuple[Held, ...], margin: Solution, kind: ArrayKind
) -> Conflict:
    """Who cannot be served together, why, and what was tried; or which rules leave no position at all."""
    heads = scene.heads_as_rows
    names, _ = bands_of(array, held)
    if margin.bound_score is None:
        excluded = margin.excluded
        culprits = [
            "lines of sight" if key[0] == "sight" else key_name(key)
            for key in sorted(excluded, key=lambda key: -excluded[key])
        ]
        culprits = list(dict.fromkeys(culprits))
        return Conflict(
            (),
            False,
            f"No position is allowed: {listed(culprits)} {'leaves' if len(culprits) == 1 else 'leave'} none",
            (*_let_go(scene, array, held, kind), *_rules_apart(heads, kind, scene.units)),
        )
    found = smallest_conflict(heads, kind)
    if found is None:
        return Conflict((), False, "the conflict could not be narrowed down within the effort allowed", ())
    group, smallest = found
    return Conflict(
        tuple(scene.heads[i].id for i in group),
        smallest,
        _because(scene, names, kind, heads, group),
        tuple(_remedies(scene, array, held, heads, kind)),
    )


def _let_go(scene: Scene, array: Array, held: tuple[Held, ...], kind: ArrayKind) -> list[Remedy]:
    """Each held value let go in turn: whether there is a position then, and with what margin."""
    tried = []
    for name in held:
        if name == "band":  # no rule asks for the band
            continue
        fewer = tuple(other for other in held if other != name)
        thing = "place" if name == "at" else name
        freed = replace(kind, bands=bands_of(array, fewer)[1], box=search_box(scene, array, fewer))
        found = search(scene.heads_as_rows, freed, Margin())
        change = f"free {name}"
        if found.value is None:
            tried.append(Remedy(change, False, None, f"not holding the {thing} opens no position by itself"))
        else:
            said = f"not holding the {thing} there is a position, {_with_margin(found.value, scene.units)}"
            tried.append(Remedy(change, found.value >= 0, found.value, said))
    return tried


def _with_margin(margin_m: float, units: str) -> str:
    if margin_m >= 0:
        return f"with a margin of {whole_down(margin_m, units)}"
    return f"{shortfall(-margin_m, units)} short of covering everybody"


def _because(
    scene: Scene,
    names: Sequence[str],
    kind: ArrayKind,
    heads: Heads,
    group: np.ndarray[Any, np.dtype[np.int64]],
) -> str:
    """Why these heads cannot be served together, from the figures at the best place there is for them."""
    units = scene.units
    some = heads.take(group)
    ids = [scene.heads[i].id for i in group]
    if len(group) == 2:
        apart = float(np.hypot(*(some.at_m[0, :2] - some.at_m[1, :2])))
        far = max(band.far_m for band in kind.bands)
        spans = 2 * far - float(some.sway_m.sum())
        if apart > spans:
            return (
                f"{ids[0]} and {ids[1]} are {length(apart, units)} apart on plan: too far for a reach of "
                f"{length(far, units)}, which spans {length(spans, units)} at most with their sway"
            )
    best = search(some, kind, Margin()).position
    if best is None:
        return f"no position is allowed for {listed(ids)}"
    band = kind.bands[best.band]
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
    scene: Scene, array: Array, held: tuple[Held, ...], heads: Heads, kind: ArrayKind
) -> list[Remedy]:
    """Every change worth trying, tried."""
    units = scene.units
    tried: list[Remedy] = []
    for name in held:
        fewer = tuple(other for other in held if other != name)
        thing = "place" if name == "at" else name
        names, all_bands = bands_of(array, fewer)
        freed = replace(kind, bands=all_bands, box=search_box(scene, array, fewer))
        spot = can_serve(heads, freed)
        if isinstance(spot, Position):
            better = _best_margin(heads, freed)
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
    tried.append(_another_ceiling(scene, array, held, heads))
    everywhere = replace(kind, bands=bands_of(array)[1], box=search_box(scene, array))
    tried.append(one_more(heads, everywhere, 2, units))
    if heads.sway_m.max() > 0:
        still = replace(heads, sway_m=np.zeros_like(heads.sway_m))
        if isinstance(can_serve(still, kind), Position):
            slack = _best_margin(still, kind)
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
    needed = reach_needed(heads, kind)
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


def _best_margin(heads: Heads, kind: ArrayKind) -> float:
    found = search(heads, kind, Margin())
    return math.nan if found.value is None else found.value


def _at_least(metres: float, units: str) -> str:
    """A length that is needed, rounded up to what is shown, so that what is told is always enough."""
    step = 0.003175 if units in ("ft", "in") else 0.01
    return length(math.ceil(metres / step - 1e-9) * step, units)


def _another_ceiling(scene: Scene, array: Array, held: Sequence[Held], heads: Heads) -> Remedy:
    """The nearest ceiling height that would do, what hangs from the ceiling aside."""

    def at(ceiling_m: float) -> tuple[Position, float] | None:
        room = replace(scene.room, ceiling_m=ceiling_m, structure_m=None)
        bare = replace(scene, room=room, overhead=())
        moved = replace(array, height_m=ceiling_m) if array.profile.mount == "flush" else array
        low_m, high_m = height_span_m(bare, moved)
        if low_m > high_m:
            return None
        kind = kind_of(bare, moved, tuple(name for name in held if name != "height"))
        spot = can_serve(heads, kind)
        return (spot, figures_at(heads, kind, spot).margin_m) if isinstance(spot, Position) else None

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
                else f", the array at {length(spot[0].at_m[2], scene.units)}"
            )
            return Remedy(
                "another ceiling",
                True,
                spot[1],
                f"a ceiling at {_at_least(ceiling_m, scene.units)} would do{where} (overhead devices not looked at)",
            )
    return Remedy("another ceiling", False, None, f"no ceiling up to {length(most, scene.units)} would do")


def one_more(heads: Heads, kind: ArrayKind, count: int, units: str) -> Remedy:
    """Whether `count` arrays of this kind cover everybody."""
    # whether it works is asked here, not the last millimetre of how well
    rough = Thoroughness(work=20, gap_m=0.02)
    problem = ArrangementProblem(heads, (replace(kind, count=count),))
    found = arrange(problem, Wish((Margin(),), thorough=rough), count)
    said, margin = f"{count} arrays", found.margin.value
    if margin is not None and margin >= 0:
        sentence = f"{count} arrays cover everybody, with a margin of {whole_down(margin, units)} or more"
        return Remedy(said, True, margin, sentence)
    return Remedy(said, False, None, f"{count} arrays do not cover everybody either")


def _rules_apart(heads: Heads, kind: ArrayKind, units: str) -> list[Remedy]:
    """Each rule left out in turn: whether there is a position then, and with what margin."""
    tried = []
    for constraint in kind.constraints:
        others = tuple(other for other in kind.constraints if other is not constraint)
        margin = search(heads, replace(kind, constraints=others), Margin()).value
        if margin is not None:
            name = f"without {key_name(constraint.key)}"
            said = f"{name} there is a position, {_with_margin(margin, units)}"
            tried.append(Remedy(name, margin >= 0, margin, said))
    if not tried:
        tried.append(Remedy("one rule less", False, None, "no single rule left out opens a position"))
    return tried
