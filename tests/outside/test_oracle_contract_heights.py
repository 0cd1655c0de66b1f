"""The heights at which nothing of a check fails, against a scan."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.outside.oracle import product
from tests.outside.oracle.allowed import allowed_differences
from tests.outside.oracle.rooms import write_room

ROOMS = (10, 48, 56, 71, 94, 107)
"""One array each, all sizes given, most people covered."""


@pytest.mark.parametrize("seed", ROOMS)
def test_allowed_heights_are_those_of_a_scan(tmp_path: Path, seed: int) -> None:
    path = write_room(seed, tmp_path)
    assert allowed_differences(path, product.asked("heights", path)) == []
