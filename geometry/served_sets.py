"""What one array can serve at most, cell by cell: sets of heads, and conflicts taken out of them."""

from __future__ import annotations

import numpy as np

from geometry.hearing import Bools, Indices
from geometry.records import record
from geometry.set_cover import maximal_sets


@record(frozen=True, slots=True, eq=False)
class Sets:
    """What one array can serve at most: sets (m, n) of heads, the kind of each, and the cell each came from."""

    w: float
    heads: Bools
    kind: Indices
    cell: Indices

    def at(self, which: Indices) -> Sets:
        return Sets(self.w, self.heads[which], self.kind[which], self.cell[which])


def work_of(sets: Sets) -> float:
    """What a cover by these sets costs, in the units of Thoroughness.work."""
    return (sets.heads.size / 10_000) ** 2


def without(sets: Sets, kind: int, conflict: Indices) -> Sets:
    """The sets when no array of this kind can serve all heads of the conflict: each loses one of them."""
    hit = (sets.kind == kind) & sets.heads[:, conflict].all(axis=1)
    if not hit.any():
        return sets
    fewer = np.repeat(np.flatnonzero(hit), len(conflict))
    heads = sets.heads[fewer]
    heads[np.arange(len(fewer)), np.tile(conflict, int(hit.sum()))] = False
    split = Sets(sets.w, heads, sets.kind[fewer], sets.cell[fewer])
    split = split.at(maximal_sets(split.heads))
    # none of the others can lie inside a part of a set that it does not lie inside itself
    other = sets.at(np.flatnonzero(~hit))
    rivals = other.heads[other.kind == kind].astype(np.float32)
    inside = split.heads.astype(np.float32) @ rivals.T == split.heads.sum(axis=1)[:, None]
    split = split.at(np.flatnonzero(~inside.any(axis=1)))
    return Sets(
        sets.w,
        np.concatenate([other.heads, split.heads]),
        np.concatenate([other.kind, split.kind]),
        np.concatenate([other.cell, split.cell]),
    )
