"""Remedies that take long to apply one by one: rooms in which much is tried and little helps."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.outside.oracle import product
from tests.outside.oracle.remedies import remedy_differences
from tests.outside.oracle.rooms import write_room

CASES = Path(__file__).parents[1] / "outside" / "cases"
HOPELESS = (79,)
"""Rooms in which one array cannot cover everybody."""


@pytest.mark.parametrize("seed", HOPELESS)
def test_remedies_of_random_rooms_do_what_they_say(tmp_path: Path, seed: int) -> None:
    path = write_room(seed, tmp_path)
    told = product.asked("place", path)
    assert told["conflict"]["try"]
    assert remedy_differences(path, told) == []


def test_a_remedy_that_is_told_to_work_works(tmp_path: Path) -> None:
    path = tmp_path / "diffuser.yaml"
    shutil.copy(CASES / path.name, path)
    told = product.asked("place", path)
    assert any(remedy["works"] for remedy in told["conflict"]["try"])
    assert remedy_differences(path, told) == []
