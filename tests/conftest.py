"""Settings of the whole test run."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.viz.handed import Store, store

BENCHMARKS = Path(__file__).parent / "benchmarks"

# No deadline and no complaint of slowness: a busy machine is no failure. In CI the same examples every time, so
# that a red run can be repeated; elsewhere new ones, so that more is found.
settings.register_profile(
    "house", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize="CI" in os.environ
)
# For .ci/long: every time other examples, and many.
settings.register_profile(
    "long", deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=1500, derandomize=False
)
settings.load_profile("house")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever lies in tests/benchmarks measures: it is marked so here, for a mark can be forgotten."""
    for item in items:
        if item.path.is_relative_to(BENCHMARKS):
            item.add_marker("alone")


@pytest.fixture(scope="session")
def handed_over(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """`handed_over("heron")` is a demo room's handover without pictures, made once in a run; only to be read."""
    return store(tmp_path_factory)
