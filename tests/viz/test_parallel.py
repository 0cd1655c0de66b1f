"""The same work on several inputs: outcomes in order, a failure in its own place."""

from __future__ import annotations

import math

from viz.parallel import each


def test_outcomes_come_in_the_order_of_the_jobs_and_a_failure_in_its_place():
    seen: list[float] = []
    roots = each(math.sqrt, [4.0, -1.0, 9.0], lambda what, share: seen.append(share))
    assert roots[0] == 2
    assert isinstance(roots[1], ValueError)
    assert roots[2] == 3
    assert seen == [1 / 3, 2 / 3, 1.0]
