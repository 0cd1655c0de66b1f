"""When one array cannot serve everybody: which heads conflict, and what reach would do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, cover
from geometry.placement import Effort, Place, search


def can_serve(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    effort: Effort | None = None,
) -> Place | bool:
    """A place from which everybody is covered; False if provably none; True if neither is known."""
    found = search(heads, bands, box, constraints, effort=effort, at_least=-ON_EDGE_M)
    if found.place is not None and found.place.margin_m >= -2 * ON_EDGE_M:
        return found.place
    return found.outcome == "unresolved"


def smallest_conflict(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    pairs: int = 120,
    effort: Effort | None = None,
) -> tuple[NDArray[np.int64], bool] | None:
    """Heads that provably cannot be served together, and whether no smaller group is in conflict.

    Looks for one head, then for two (the farthest apart and the most different in height first, at most
    `pairs` of them), then takes heads away for as long as the rest stays in conflict, so that the group
    is irreducible: without any one of them the others can be served. None where everybody can be served
    or that cannot be decided within the effort.
    """

    served: list[NDArray[np.bool_]] = []
    """(heads,) whom each allowed place found so far covers: no group of theirs is in conflict."""

    def conflicting(which: Sequence[int]) -> bool:
        group = np.array(which, np.int64)
        if any(covered[group].all() for covered in served):
            return False
        subset = heads.take(group)
        # the band alone is asked first: that is quick, and where it says no the rules need not be asked
        spot = can_serve(subset, bands, box, (), effort=effort)
        if isinstance(spot, Place) and constraints:
            at = np.array([spot.at_m])
            if any(constraint.signed_m(at)[0] < -ON_EDGE_M for constraint in constraints):
                spot = True
        if spot is True:
            spot = can_serve(subset, bands, box, constraints, effort=effort)
        if isinstance(spot, Place):
            margins = cover(np.array([spot.at_m]), [bands[spot.band]], heads).margin_m[0]
            served.append(margins >= -2 * ON_EDGE_M)
        return spot is False

    count = len(heads)
    everybody = list(range(count))
    if not conflicting(everybody):
        return None
    for head in everybody:
        if conflicting([head]):
            return np.array([head]), True
    first, second = np.triu_indices(count, 1)
    away = np.linalg.norm(heads.at_m[first] - heads.at_m[second], axis=1)
    drop = np.abs(heads.at_m[first, 2] - heads.at_m[second, 2])
    order = np.argsort(-(away + 4 * drop), kind="stable")
    for k in order[:pairs]:
        if conflicting([int(first[k]), int(second[k])]):
            return np.array([first[k], second[k]]), True
    group, width = everybody, max(count // 2, 1)
    while True:
        start = 0
        while start < len(group):
            rest = group[:start] + group[start + width :]
            if rest and conflicting(rest):
                group = rest
            else:
                start += width
        if width == 1:
            break
        width = max(width // 2, 1)
    return np.array(group), len(group) <= 2 or (len(group) == 3 and len(order) <= pairs)


def reach_needed(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    most_m: float = 20.0,
    step_m: float = 0.01,
) -> float | None:
    """The smallest far reach, in whole steps, with which these bands cover everybody; None up to `most_m`."""

    def works(steps: int) -> bool:
        longer = [replace(band, far_m=max(steps * step_m, band.near_m + step_m)) for band in bands]
        return isinstance(can_serve(heads, longer, box, constraints), Place)

    fails, holds = math.floor(max(band.far_m for band in bands) / step_m), math.floor(most_m / step_m)
    if not works(holds):
        return None
    while holds - fails > 1:
        middle = (fails + holds) // 2
        fails, holds = (fails, middle) if works(middle) else (middle, holds)
    return round(holds * step_m, 9)
