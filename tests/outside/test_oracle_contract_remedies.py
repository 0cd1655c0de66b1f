"""What a placement tells to help, applied to the file and placed again."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.outside.oracle.remedies import case_differences, random_differences

HOPELESS = (pytest.param(23, marks=pytest.mark.thorough),)
"""Rooms in which one array cannot cover everybody; another stands in tests/long."""


@pytest.mark.parametrize("seed", HOPELESS)
def test_remedies_of_random_rooms_do_what_they_say(tmp_path: Path, seed: int) -> None:
    assert random_differences(seed, tmp_path) == []


def test_a_remedy_that_is_told_to_work_works(tmp_path: Path) -> None:
    assert case_differences("conflict.yaml", tmp_path) == []
