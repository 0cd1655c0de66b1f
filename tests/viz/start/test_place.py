"""Placing from the page of a folder: in a process of its own, shown before it is written, written as `place` writes."""

from __future__ import annotations

import asyncio
import json
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.viz.browser.rooms import TWELVE_SEATS
from tests.viz.start.test_server import answered, heard
from tests.viz.test_live import Running
from viz.commands.app import run
from viz.start.jobs import Job
from viz.words.english import MESSAGES

UNPLACED = TWELVE_SEATS.replace(", at: [3.5, 2.5], height: 2.2, band: mid", "").replace(
    "count: 12", "count: 4"
)
"""Few talkers: found in a second."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with one room whose array has no place yet."""
    here = tmp_path_factory.mktemp("placing")
    (here / "otter.yaml").write_text(UNPLACED)
    return here


@pytest.fixture(scope="module")
def running(folder):
    server = Running(folder, "viz.start.server")
    yield server
    assert server.stop() == 0


def test_a_placement_is_shown_then_written_as_place_writes_it_and_undone(running, folder, tmp_path):
    by_command = tmp_path / "otter.yaml"
    by_command.write_text(UNPLACED)
    assert run(["place", str(by_command), "--write"]) in (0, 1)
    with running.line(origin=running.origin) as line:
        heard(line, "card")
        refused = answered(line, kind="write", room="otter.yaml")
        assert refused["why"] == MESSAGES["start.refused.not offered"]
        begun = answered(line, kind="place", room="otter.yaml")
        assert begun["command"] == "overtable place otter.yaml"
        assert answered(line, kind="place", room="otter.yaml")["why"] == MESSAGES["start.refused.busy"]
        found = heard(line, "placement")
        assert found["current"]["look"] == "none"
        assert found["proposed"]["sentences"]
        assert [row[0] for row in found["table"]["rows"]][1:] == [
            *("near", "tolerance", "margin", "centre", "most")
        ]
        assert "text" not in found
        assert (folder / "otter.yaml").read_text() == UNPLACED
        assert answered(line, kind="write", room="otter.yaml")["kind"] == "written"
        assert (folder / "otter.yaml").read_bytes() == by_command.read_bytes()
        assert answered(line, kind="undo", room="otter.yaml")["said"].startswith("otter.yaml is as it was")
        assert (folder / "otter.yaml").read_text() == UNPLACED
        assert answered(line, kind="undo", room="otter.yaml")["said"].startswith("otter.yaml has what was")
        assert (folder / "otter.yaml").read_bytes() == by_command.read_bytes()


def test_nothing_is_written_over_what_somebody_else_wrote(running, folder):
    (folder / "vole.yaml").write_text(UNPLACED)
    with running.line(origin=running.origin) as line:
        answered(line, kind="place", room="vole.yaml")
        heard(line, "placement")
        (folder / "vole.yaml").write_text(UNPLACED + "# somebody else was here\n")
        assert "changed since" in answered(line, kind="write", room="vole.yaml")["why"]
    assert (folder / "vole.yaml").read_text().endswith("was here\n")
    (folder / "vole.yaml").unlink()


def in_a_thread(work):
    """What a coroutine gives, run in a thread: the browser of other tests keeps an event loop in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def test_what_runs_is_stopped_at_once_and_takes_no_module_of_the_folder(tmp_path):
    (tmp_path / "json.py").write_text("raise SystemExit('taken')")
    (tmp_path / "otter.yaml").write_text(TWELVE_SEATS)
    job = Job("viz.start.searching", ["otter.yaml", "otter.yaml", ""], tmp_path)
    told: list[dict] = []

    async def out(line: str) -> None:
        told.append(json.loads(line))
        await job.stop()

    async def nothing(line: str) -> None:
        assert "taken" not in line

    begun = time.monotonic()
    status = in_a_thread(job.run(out, nothing))
    assert job.stopped
    assert status != 0
    assert told[0]["kind"] == "progress"
    assert time.monotonic() - begun < 60
