"""Covers by few sets: the fewest that hold everybody, or the most that so many can hold, proven (HiGHS)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry.band import Floats
from geometry.hearing import Bools, Indices
from geometry.records import record

NODE_ENTRIES = 400_000
"""Covers with this many entries (sets x heads) are given one node of the solver's tree, half as many four."""
MOST_NODES = 100_000
"""But never more nodes than these."""
ROUNDING = 1e-6
"""What the solver's numbers may be off by."""


def maximal_sets(sets: Bools, kind: Indices | None = None) -> Indices:
    """Indices of the sets (m, n) that no other set of the same kind contains; of equal ones the first."""
    if not len(sets):
        return np.zeros(0, np.int64)
    kind = np.zeros(len(sets), np.int64) if kind is None else kind
    packed = np.packbits(sets, axis=1)
    wide = np.zeros((len(sets), -(-packed.shape[1] // 8) * 8 + 8), np.uint8)
    wide[:, : packed.shape[1]] = packed
    words = wide.view(np.uint64)
    words[:, -1] = kind.astype(np.uint64)
    order = np.lexsort(words.T)
    new = np.ones(len(sets), bool)
    new[1:] = np.any(words[order[1:]] != words[order[:-1]], axis=1)
    first = np.minimum.reduceat(order, np.flatnonzero(new))
    kept = []
    for one in np.unique(kind):
        mine = first[kind[first] == one]
        size = sets[mine].sum(axis=1)
        mine, size = mine[(by := np.lexsort((mine, -size)))], size[by]
        members = sets[mine].astype(np.float32)
        keep = np.zeros(len(mine), bool)
        for start in range(0, len(mine), 512):  # larger sets come first: only they can contain a later one
            block = members[start : start + 512]
            inside = (block @ members[:start][keep[:start]].T == size[start : start + 512, None]).any(axis=1)
            among = block @ block.T == size[start : start + 512, None]
            np.fill_diagonal(among, False)
            keep[start : start + 512] = ~(inside | among.any(axis=1))
        kept.append(mine[keep])
    return np.sort(np.concatenate(kept))


@record(frozen=True, slots=True, eq=False)
class Cover:
    """A smallest cover: indices of the chosen sets (None if there is none), and a proven lower bound of their number."""

    chosen: Indices | None
    at_least: float


def smallest_cover(
    sets: Bools,
    kind: Indices | None = None,
    most: Sequence[int | None] = (None,),
    *,
    total: int | None = None,
    relaxed: bool = False,
) -> Cover:
    """The fewest of the sets (m, n) that hold all n elements, at most most[k] of kind k and `total` in all.

    With `total` any cover of that many will do, not the smallest. at_least is infinite where it is
    proven that there is no such cover; chosen is None too where the solver came to the end of its
    nodes. `relaxed` lets sets be taken in part: a bound only, much sooner. Sets inside others, and
    elements that come with another, are dropped first: the solver sees the core only.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    kind = np.zeros(len(sets), np.int64) if kind is None else kind
    if sets.shape[1] == 0:
        return Cover(np.zeros(0, np.int64), 0)
    if not len(sets) or not sets.any(axis=0).all():
        return Cover(None, math.inf)
    columns = maximal_sets(sets, kind)
    core = sets[columns]
    # an element whose sets include all sets of another element is covered whenever that one is
    core = core[:, maximal_sets(~core.T)]
    demands = [LinearConstraint(csr_array(core.T.astype(float)), lb=1)]
    demands += [LinearConstraint(np.atleast_2d(row), ub=limit) for row, limit in _limits(kind[columns], most)]
    any_will_do = total is not None and not relaxed
    if any_will_do:
        demands.append(LinearConstraint(np.ones((1, len(columns))), ub=total))
    answer = milp(
        np.zeros(len(columns)) if any_will_do else np.ones(len(columns)),
        constraints=demands,
        integrality=np.zeros(len(columns)) if relaxed else np.ones(len(columns)),
        bounds=Bounds(0, 1),
        options={"node_limit": _nodes(core.size)},
    )
    if answer.status == 2:
        return Cover(None, math.inf)
    if relaxed:
        return Cover(None, math.ceil(answer.fun - ROUNDING))
    least = max(math.ceil((answer.mip_dual_bound or 0.0) - ROUNDING), 1)
    if answer.x is None:
        return Cover(None, least)
    chosen = columns[answer.x > 0.5]
    return Cover(chosen, len(chosen) if answer.status == 0 and not any_will_do else least)


@record(frozen=True, slots=True, eq=False)
class LargestCover:
    """The most that so many sets hold: the sets chosen, the elements counted (n,), and a proven most weight."""

    chosen: Indices
    counted: Bools
    at_most: float


def largest_cover(
    sets: Bools,
    person: Indices,
    weight: Floats,
    total: int,
    kind: Indices | None = None,
    most: Sequence[int | None] = (None,),
) -> LargestCover:
    """The sets (m, n), `total` of them, that hold the most persons, by weight.

    A person is held when every one of its elements is in some set taken: `person` (n,) numbers from 0 for
    the elements, `weight` (p,) for the persons. At most most[k] sets of kind k.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array, eye_array, hstack

    kind = np.zeros(len(sets), np.int64) if kind is None else kind
    columns = maximal_sets(sets, kind)
    core = sets[columns]
    count, persons = len(columns), len(weight)
    if not count:
        return LargestCover(np.zeros(0, np.int64), np.zeros(len(person), np.bool_), 0.0)
    # each element of a person counted must be in a set taken
    held = hstack([csr_array(core.T.astype(float)), -eye_array(persons, format="csr")[person]])
    demands = [LinearConstraint(held, lb=0)]
    rows = [(np.ones(count), total), *_limits(kind[columns], most)]
    demands += [LinearConstraint(np.append(row, np.zeros(persons))[None], ub=limit) for row, limit in rows]
    answer = milp(
        np.append(np.zeros(count), -weight),
        constraints=demands,
        integrality=np.append(np.ones(count), np.zeros(persons)),
        bounds=Bounds(0, 1),
        options={"node_limit": _nodes(core.size)},
    )
    at_most = min(float(weight.sum()), -(answer.mip_dual_bound or -float(weight.sum())))
    if answer.x is None:
        return LargestCover(np.zeros(0, np.int64), np.zeros(len(person), np.bool_), at_most)
    chosen = columns[answer.x[:count] > 0.5]
    in_some = sets[chosen].any(axis=0)
    whole = np.ones(persons, np.bool_)
    np.logical_and.at(whole, person, in_some)
    return LargestCover(chosen, whole[person], at_most)


def _limits(kind: Indices, most: Sequence[int | None]) -> list[tuple[Floats, int]]:
    """For each kind with a limit, which columns it is about, and the limit."""
    return [((kind == k).astype(float), limit) for k, limit in enumerate(most) if limit is not None]


def _nodes(entries: int) -> int:
    """Counted in nodes, not seconds, so that the same room gives the same answer anywhere."""
    return int(min(max((NODE_ENTRIES / entries) ** 2, 1), MOST_NODES))
