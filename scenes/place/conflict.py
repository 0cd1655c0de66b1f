"""Where nobody can be served together: who conflicts and why."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.aims import Margin
from geometry.band import ON_EDGE_M, Band, Floats, depression_deg, edges, pair_slack, range_and_drop, slant_m
from geometry.conflicts import smallest_conflict
from geometry.coverage import Heads, Reason, cover
from geometry.hearing import Indices
from geometry.kind import ArrayKind
from geometry.placement import Solution, best_solution, search
from scenes.findings.placement import Because, Conflict, Miss, Try
from scenes.place.everybody import everybody, ids_of_everybody
from scenes.place.problem import Held, bands_of
from scenes.room.scene import Array, Scene

EDGES: tuple[Reason, ...] = ("too near", "too far", "too shallow", "too steep")
"""What it means to be beyond each of the four edges."""


def conflict_of(
    scene: Scene,
    array: Array,
    held: tuple[Held, ...],
    margin: Solution,
    kinds: Sequence[ArrayKind],
    tried: Sequence[Try],
) -> Conflict:
    """Who cannot be served together and why, or what leaves no position at all; with what was tried.

    The array may be of any of the kinds, all with its bands.
    """
    heads, ids = everybody(scene), ids_of_everybody(scene)
    if margin.bound_score is None:
        culprits = sorted(margin.excluded, key=lambda key: -margin.excluded[key])
        keys = tuple(dict.fromkeys(("sight",) if key[0] == "sight" else key for key in culprits))
        return Conflict((), False, Because("nothing allowed", keys=keys), tuple(tried))
    found = smallest_conflict(heads, *kinds)
    if found is None:
        return Conflict((), False, Because("undecided"), tuple(tried))
    group, smallest = found
    names, _ = bands_of(array, held)
    because = _because(names, kinds, heads, group, ids)
    return Conflict(tuple(ids[i] for i in group), smallest, because, tuple(tried))


def _because(
    names: Sequence[str], kinds: Sequence[ArrayKind], heads: Heads, group: Indices, ids: Sequence[str]
) -> Because:
    """Why these heads cannot be served together, from the figures at the best place there is for them."""
    some = heads.take(group)
    if len(group) == 2 and not some.anywhere.any():
        apart = float(np.hypot(*(some.at_m[0, :2] - some.at_m[1, :2])))
        far = max(band.far_m for band in kinds[0].bands)
        spans = 2 * far - float(some.sway_m.sum())
        if apart > spans:
            return Because("too far apart", apart_m=apart, reach_m=far, spans_m=spans)
    best = best_solution([search(some, kind, Margin()) for kind in kinds]).position
    if best is None:
        return Because("nowhere")
    band = kinds[0].bands[best.band]
    judged = cover(np.array([best.at_m]), [band], some)
    misses, served = [], []
    for i, head in enumerate(group):
        margin = float(judged.margin_m[0, i])
        if margin >= 0:
            # the group is irreducible: where all the others are served, this one is not
            served.append(ids[head])
            continue
        depression, slant, edge = _worst_end(band, np.array(best.at_m), some, i)
        swaying = bool(judged.slack_m[0, i] >= -ON_EDGE_M)
        misses.append(Miss(ids[head], EDGES[edge], depression, slant, swaying, -margin))
    return Because(
        "not together",
        at_m=best.at_m,
        band=names[best.band],
        low_deg=band.low_deg,
        high_deg=band.high_deg,
        near_m=band.near_m,
        reach_m=band.far_m,
        misses=tuple(misses),
        served=tuple(served),
    )


def _worst_end(band: Band, at: Floats, heads: Heads, head: int) -> tuple[float, float, int]:
    """Depression and slant of the end of a head's mouths (or path) that is worst off, and which edge is nearest."""
    points, _, whose = heads.deciding(at)
    own = points[whose == head]
    worst = own[np.argmin(pair_slack(band, at, own)[:, 0])]
    edge = int(np.argmin(edges(band, *range_and_drop(at, worst))))
    return float(depression_deg(at, worst)), float(slant_m(at, worst)), edge
