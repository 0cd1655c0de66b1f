"""The fewest arrays on the lattice they are written on: where rounding costs too much, one more is tried."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from scenes.findings.placement import Note
from scenes.place.placement import Placement

MORE = 2
"""So many arrays more than would do anywhere are tried on the lattice."""


def fewest_on_lattice(
    free: Placement, snap: Callable[[Placement], Placement], search: Callable[[int], Placement]
) -> Placement:
    """The fewest arrays that still do on the lattice, of MORE more than would do anywhere; else those that would.

    `snap` puts a placement on the lattice, `search` finds so many arrays anywhere. Enough is what the count
    asks for each talker, and everybody covered who is covered anywhere. A Note says which numbers were tried.
    """
    first = snap(free)
    if free.count is None or not free.arrays or _does(first, free):
        return first
    count = len(free.arrays)
    for more in range(count + 1, count + MORE + 1):
        rival = snap(search(more))
        if len(rival.arrays) == more and _does(rival, free):
            note = Note("more on the lattice", hung=more, wanted=count, best_m=first.margin_m)
            return replace(rival, count=free.count, notes=(*rival.notes, note))
    note = Note("too few on the lattice", tried=count + MORE, wanted=count, best_m=first.margin_m)
    return replace(first, notes=(*first.notes, note))


def _does(snapped: Placement, free: Placement) -> bool:
    """Whether everybody has on the lattice what was asked of the count, and nobody is lost by it."""
    enough = 0.0 if free.count is None else free.count.each_m
    if snapped.margin_m is None or snapped.judged is None or free.judged is None:
        return False
    if snapped.judged.counts.lacking > free.judged.counts.lacking:
        return False
    return bool(free.unreached) or snapped.margin_m >= enough
