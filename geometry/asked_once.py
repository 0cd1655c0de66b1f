"""Numbers of many positions, asked together and remembered: the same places are asked again and again.

Searches for different groups of heads halve the same box into the same cells, and what binds an array does not
depend on whom it serves. Small batches cost their number of calls, not their sums: they are asked everything at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from geometry.band import Floats
from geometry.hearing import Indices

AT_ONCE = 2_048
"""More positions than these in one call are not remembered: asking costs less than finding them again."""
TOGETHER = 64
"""Of no more new positions than these everything is asked at once."""
KEPT = 60_000
"""So many positions are remembered; then it begins anew."""

Numbers = Callable[[Floats], Floats]


class AskedOnce:
    """Functions of positions (n, 3) to (n,), each asked once of a position.

    `joint` answers some of them in one call: their places among the functions, and a function to (n, k).
    """

    def __init__(
        self, functions: Sequence[Numbers], joint: tuple[Sequence[int], Numbers] | None = None
    ) -> None:
        self.functions = tuple(functions)
        self.joined: list[int] = [] if joint is None else list(joint[0])
        self.joint = None if joint is None else joint[1]
        self.rows: dict[bytes, int] = {}
        self.known = np.empty((0, len(self.functions)))

    def of(self, which: int) -> Numbers:
        """The function at this place, which remembers."""
        return lambda positions: self.asked(which, positions)

    def asked(self, which: int, positions: Floats) -> Floats:
        """(n,) the numbers of one function."""
        at = np.ascontiguousarray(np.atleast_2d(np.asarray(positions, float)))
        if len(at) > AT_ONCE:
            return self.functions[which](at)
        rows = self._rows(at)
        values: Floats = self.known[rows, which]
        new = np.flatnonzero(np.isnan(values))
        if len(new):
            self._ask(which, at[new], rows[new])
            values = self.known[rows, which]
        return values

    def _rows(self, at: Floats) -> Indices:
        """(n,) where each position is remembered, new ones with nothing known of them."""
        if len(self.rows) + len(at) > KEPT:
            self.rows.clear()
            self.known = self.known[:0]
        raw, size = at.tobytes(), at.itemsize * 3
        rows, known = self.rows, len(self.rows)
        found = [rows.setdefault(raw[k : k + size], len(rows)) for k in range(0, len(raw), size)]
        if len(rows) > len(self.known):
            more = np.full((max(len(rows), 2 * known), len(self.functions)), math.nan)
            more[:known] = self.known[:known]
            self.known = more
        return np.array(found, np.int64)

    def _ask(self, which: int, at: Floats, rows: Indices) -> None:
        """Ask one function of positions, or, of few, all that are answered in one call with it."""
        if self.joint is not None and which in self.joined and len(at) <= TOGETHER:
            self.known[rows[:, None], self.joined] = self.joint(at)
        else:
            self.known[rows, which] = self.functions[which](at)
