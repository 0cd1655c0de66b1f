"""Work that takes longer, each in a process of its own: it blocks nobody, can be stopped, and ends with the page."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

import viz
from viz.live import Refused

LONGEST_LINE: Final = 32 * 1024 * 1024
MOST_JOBS: Final = 3
STOPPED: Final = -1
"""The status of what was stopped before it began."""
GRACE_S: Final = 3.0
"""How long a stopped process may take to tidy up."""

Heard = Callable[[str], Awaitable[None]]


class Job:
    """One module of overtable's own run in a process, in a folder."""

    def __init__(self, module: str, arguments: Sequence[str], folder: Path) -> None:
        self.module, self.arguments, self.folder = module, list(arguments), folder
        self.process: asyncio.subprocess.Process | None = None
        self.stopped = False

    async def run(self, out: Heard, err: Heard) -> int:
        """Run it to its end; each line of its two streams is heard as it comes. Its exit status."""
        if self.stopped:
            return STOPPED
        # -P: nothing that lies in the folder is taken for a module
        self.process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-P", "-m", self.module, *self.arguments),
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": str(Path(viz.__file__).parents[1]), "PYTHONIOENCODING": "utf-8"},
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
            limit=LONGEST_LINE,
        )
        assert self.process.stdout is not None
        assert self.process.stderr is not None
        try:
            await asyncio.gather(_lines(self.process.stdout, out), _lines(self.process.stderr, err))
            return await self.process.wait()
        finally:
            await self.stop()

    async def stop(self) -> None:
        """End it, gently and then not; nothing where it has ended."""
        if self.process is None:
            self.stopped = True
        if self.process is None or self.process.returncode is not None:
            return
        self.stopped = True
        with suppress(ProcessLookupError):
            self.process.terminate()
        try:
            await asyncio.wait_for(self.process.wait(), GRACE_S)
        except TimeoutError:
            with suppress(ProcessLookupError):
                self.process.kill()


class Work:
    """What the open tabs have begun: one job each, and no more at once than a machine can do beside its own work."""

    def __init__(self) -> None:
        self.jobs: dict[object, Job] = {}

    def take(self, tab: object, job: Job) -> Job:
        """A tab's job noted. Raises Refused where the tab, or the machine, has enough to do."""
        if tab in self.jobs:
            raise Refused("start.refused.busy")
        if len(self.jobs) >= MOST_JOBS:
            raise Refused("start.refused.too many")
        self.jobs[tab] = job
        return job

    def done(self, tab: object) -> None:
        """A tab's job has ended."""
        self.jobs.pop(tab, None)

    async def stop(self, tab: object) -> None:
        """End a tab's job, if it has one."""
        job = self.jobs.get(tab)
        if job is not None:
            await job.stop()


async def _lines(stream: asyncio.StreamReader, heard: Heard) -> None:
    async for line in stream:
        await heard(line.decode("utf-8", "replace").rstrip("\r\n"))
