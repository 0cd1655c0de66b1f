"""How long `overtable check` takes from nothing, beside what any program of these parts must import."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

ROOT = Path(__file__).parents[2]
ROOM = ROOT / "scenes" / "rooms" / "heron.yaml"
IMPORTS = ("-c", "import numpy, yaml, pydantic")
CHECK = ("-c", "from viz.commands.main import main; main()", "check", str(ROOM))

AIM = 2.5
ALLOWED = 4.0
"""A machine with other work on it varies by half; a heavy import that creeps in costs more than that."""


def processor_seconds(environment: dict[str, str], *arguments: str) -> float:
    """What one fresh interpreter took of the processor, user and system: other programs count less in it."""
    process = subprocess.Popen(
        [sys.executable, *arguments], cwd=ROOT, env=environment, stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return used.ru_utime + used.ru_stime


@pytest.mark.parametrize("form", [(), ("--json",)], ids=["table", "json"])
def test_a_cold_check_takes_little_longer_than_its_imports(
    form: tuple[str, ...], benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    # As installed: compiled once (into a folder of the test's own), and one thread, for numpy's would only
    # make the plain import look dearer than it is.
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "PYTHONPYCACHEPREFIX": str(tmp_path),
        "PYTHONDONTWRITEBYTECODE": "",
        "OPENBLAS_NUM_THREADS": "1",
    }
    for arguments in (IMPORTS, (*CHECK, *form)):
        processor_seconds(environment, *arguments)
    imports: list[float] = []
    checks: list[float] = []
    # One after the other, so that both meet the same machine.
    benchmark.pedantic(
        lambda: checks.append(processor_seconds(environment, *CHECK, *form)),
        setup=lambda: imports.append(processor_seconds(environment, *IMPORTS)),
        rounds=8,
    )
    ratio = min(checks) / min(imports)
    benchmark.extra_info.update(
        imports_s=min(imports), check_s=min(checks), times_the_imports=round(ratio, 2), aim=AIM
    )
    assert ratio < ALLOWED
