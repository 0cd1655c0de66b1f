"""The same work on several inputs: outcomes in order, a failure in its own place, a dead worker's job alone lost."""

from __future__ import annotations

import math
import os
from concurrent.futures import BrokenExecutor, ThreadPoolExecutor
from pathlib import Path

from viz.parallel import each


def test_outcomes_come_in_the_order_of_the_jobs_and_a_failure_in_its_place():
    seen: list[float] = []
    roots = each(math.sqrt, [4.0, -1.0, 9.0], lambda what, share: seen.append(share), ThreadPoolExecutor)
    assert roots[0] == 2
    assert isinstance(roots[1], ValueError)
    assert roots[2] == 3
    assert seen == [1 / 3, 2 / 3, 1.0]
    assert each(math.sqrt, []) == []


def _dies(job: tuple[str, int]) -> int:
    """Dies on 1 the first time it is asked, on 3 every time: a file remembers."""
    folder, k = job
    asked = Path(folder) / str(k)
    if k == 3 or (k == 1 and not asked.exists()):
        asked.touch()
        os._exit(9)
    return k * k


def test_a_dead_workers_job_is_done_once_more_and_no_other_is_lost(tmp_path):
    squares = each(_dies, [(str(tmp_path), k) for k in range(6)])
    assert isinstance(squares[3], BrokenExecutor)
    assert [one for k, one in enumerate(squares) if k != 3] == [0, 1, 4, 16, 25]
