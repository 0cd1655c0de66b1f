"""Placements as the contract words them: sight binds, five aims, what is written is judged as written."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.outside.oracle import product
from tests.outside.oracle.aiming import aim_differences
from tests.outside.oracle.applying import written_differences
from tests.outside.oracle.placing import placement_differences
from tests.outside.oracle.rooms import write_room

ROOMS = (44, 112, 118, 136)
WRITTEN = (112, 118, 136)
HOPELESS = (23, pytest.param(79, marks=pytest.mark.thorough))
"""Nobody can cover everybody in these; in all of these rooms every size is given."""
CASES = Path(__file__).parent / "cases"


@pytest.mark.parametrize("seed", ROOMS)
def test_aims_are_what_the_contract_says(tmp_path: Path, seed: int) -> None:
    path = write_room(seed, tmp_path)
    told = product.asked("place", path, *product.bare_search())
    assert aim_differences(path, told, seed) == []


def test_a_place_is_found_from_which_nobody_is_hidden(tmp_path: Path) -> None:
    path = tmp_path / "screen.yaml"
    shutil.copy(CASES / "screen.yaml", path)
    told = product.asked("place", path, *product.bare_search())
    assert placement_differences(path, told) == []
    assert aim_differences(path, told) == []
    assert written_differences(path) == []
    assert product.asked("check", path)["verdict"] == "pass"


@pytest.mark.parametrize("seed", WRITTEN)
def test_what_is_written_is_what_was_placed(tmp_path: Path, seed: int) -> None:
    assert written_differences(write_room(seed, tmp_path)) == []


@pytest.mark.parametrize("seed", HOPELESS)
def test_where_not_everybody_can_be_covered_the_most_are(tmp_path: Path, seed: int) -> None:
    path = write_room(seed, tmp_path)
    told = product.asked("place", path, *product.bare_search())
    assert told["aim"] == "most"
    assert aim_differences(path, told, seed) == []
