"""The same work on several inputs, on all cores, each in a process of its own."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from typing import TypeVar

from viz.words.locale import Locale

Job = TypeVar("Job")
Outcome = TypeVar("Outcome")


def each(
    work: Callable[[Job], Outcome],
    jobs: Sequence[Job],
    progress: Callable[[str, float], None] = lambda what, share: None,
) -> list[Outcome | Exception]:
    """What `work` gives for each job, in the order of the jobs; an exception in place of what failed.

    `work` is a function of a module, jobs and outcomes can be pickled. Processes are started afresh, never
    forked: a graphics library in the parent does not survive a fork.
    """
    outcomes: list[Outcome | Exception | None] = [None] * len(jobs)
    workers = min(len(jobs), os.cpu_count() or 1)
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_ends_quietly) as pool:
        try:
            waiting = {pool.submit(work, job): i for i, job in enumerate(jobs)}
            for done, future in enumerate(as_completed(waiting), 1):
                error = future.exception()
                if isinstance(error, Exception):
                    outcomes[waiting[future]] = error
                elif error is not None:
                    raise error
                else:
                    outcomes[waiting[future]] = future.result()
                progress(Locale("m").say("of", part=done, whole=len(jobs)), done / len(jobs))
        except BaseException:
            # Ctrl-C does not wait for what is being made
            for process in multiprocessing.active_children():
                process.terminate()
            raise
    return [outcome for outcome in outcomes if outcome is not None]


def _ends_quietly() -> None:
    """On Ctrl-C, which every process of a terminal gets, a worker goes without a word: the first one speaks."""
    signal.signal(signal.SIGINT, lambda *_: os._exit(130))
