"""Arrays laid out in one of several patterns, by every aim: the best of them, bounded by what bounds them all."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.aims import Aim, AimName, Margin
from geometry.band import ON_EDGE_M
from geometry.patterns import Laid, Pattern, best_pattern
from geometry.placement import Solution, best_solution
from geometry.problem import ArrangementProblem

CELLS = 200_000
"""So many cells are asked about for one pattern by one aim before it is given up unproven."""


class LaidOut:
    """The answers for arrays in a pattern: each aim by its own search, each beginning from what the others found.

    Every pattern has as many arrays as the first; all are of one kind, whichever is best.
    """

    def __init__(self, problem: ArrangementProblem, patterns: Sequence[Pattern]) -> None:
        self.count = None
        self.over_limit, self.unreached, self.rounds = False, (), 0
        self.problem, self.patterns = problem, tuple(patterns)
        self.wanted = self.patterns[0].count
        self.found: dict[AimName, Solution] = {}
        kinds = range(len(problem.kinds))
        self.laid: dict[tuple[Pattern, int], list[Laid]] = {
            (pattern, kind): [] for pattern in self.patterns for kind in kinds
        }

    def solution(self, aim: Aim) -> Solution:
        """The best of all patterns by an aim."""
        if aim.name not in self.found:
            self.found[aim.name] = self._searched(aim)
        return self.found[aim.name]

    def _searched(self, aim: Aim) -> Solution:
        if not isinstance(aim, Margin) and not aim.counts_heads:
            margin = self.solution(Margin())
            bound = margin.bound_score
            if margin.outcome != "unresolved" and (bound is None or bound < aim.needs_margin_m - ON_EDGE_M):
                return Solution(aim, "none allowed", (), None, None, 0, 0.0)
        found = []
        for (pattern, kind), before in self.laid.items():
            found.append(best_pattern(self.problem, pattern, aim, kind=kind, most_cells=CELLS, begin=before))
            before.append(found[-1])
        return best_solution([one.solution for one in found])
