"""Remedies that take long to apply one by one: rooms in which much is tried and little helps."""

from __future__ import annotations

from pathlib import Path

from tests.outside.oracle.remedies import case_differences, random_differences


def test_remedies_of_a_random_room_do_what_they_say(tmp_path: Path) -> None:
    assert random_differences(79, tmp_path) == []


def test_a_remedy_that_is_told_to_work_works(tmp_path: Path) -> None:
    assert case_differences("diffuser.yaml", tmp_path) == []
