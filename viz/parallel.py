"""The same work on several inputs, on all cores, each in a process of its own: a dead worker loses nothing else."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from typing import TypeVar

from viz.words.locale import Locale

Job = TypeVar("Job")
Outcome = TypeVar("Outcome")


def each(
    work: Callable[[Job], Outcome],
    jobs: Sequence[Job],
    progress: Callable[[str, float], None] = lambda what, share: None,
    pool: Callable[[int], Executor] | None = None,
) -> list[Outcome | Exception]:
    """What `work` gives for each job, in the order of the jobs; an exception in place of what failed.

    `work` is a function of a module, jobs and outcomes can be pickled. `pool` makes an executor of so many workers,
    the standard library's processes unless it is given. Where a worker dies, the jobs that were in hand are done once
    more, each alone, so that only one that kills its worker again fails (BrokenExecutor in its place).
    """
    outcomes: dict[int, Outcome | Exception] = {}
    make = pool or _processes

    def ended(i: int, outcome: Outcome | Exception) -> None:
        outcomes[i] = outcome
        what = Locale("m").say("of", part=len(outcomes), whole=len(jobs))
        progress(what, len(outcomes) / len(jobs))

    waiting, again = list(range(len(jobs))), []
    while waiting:
        lost, waiting = _with_one_pool(work, jobs, waiting, make, ended)
        again += lost
    for i in again:
        if lost := _with_one_pool(work, jobs, [i], make, ended)[0]:
            ended(lost[0], BrokenExecutor())
    return [outcomes[i] for i in range(len(jobs))]


def _with_one_pool(
    work: Callable[[Job], Outcome],
    jobs: Sequence[Job],
    which: Sequence[int],
    make: Callable[[int], Executor],
    ended: Callable[[int, Outcome | Exception], None],
) -> tuple[list[int], list[int]]:
    """Do these jobs while the pool lives; those in hand when it died, and those not begun."""
    workers = min(len(which), os.cpu_count() or 1)
    left = list(which)
    at_work: dict[Future[Outcome], int] = {}
    with make(workers) as executor:
        try:
            while left or at_work:
                # no more than are worked at: what is in hand when a worker dies is under suspicion
                while left and len(at_work) < workers:
                    at_work[executor.submit(work, jobs[left[0]])] = left[0]
                    left.pop(0)
                for future in wait(at_work, return_when=FIRST_COMPLETED).done:
                    error = future.exception()
                    if isinstance(error, BrokenExecutor):
                        return [*at_work.values()], left
                    if error is not None and not isinstance(error, Exception):
                        raise error
                    ended(at_work.pop(future), future.result() if error is None else error)
        except BrokenExecutor:
            return [*at_work.values()], left
        except BaseException:
            # Ctrl-C does not wait for what is being made
            for process in multiprocessing.active_children():
                process.terminate()
            raise
    return [], []


def _processes(workers: int) -> ProcessPoolExecutor:
    """Processes started afresh, never forked: a graphics library in the parent does not survive a fork."""
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, mp_context=context, initializer=_ends_quietly)


def _ends_quietly() -> None:
    """On Ctrl-C, which every process of a terminal gets, a worker goes without a word: the first one speaks."""
    signal.signal(signal.SIGINT, lambda *_: os._exit(130))
