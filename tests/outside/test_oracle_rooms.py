"""Seeded random rooms through the product's commands, against the oracle's own figures.

Few rooms, so that it is quick; `python -m tests.outside.oracle --rooms 500` asks many.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.outside.oracle import product
from tests.outside.oracle.comparing import differences, height_differences
from tests.outside.oracle.judging import Judged
from tests.outside.oracle.placing import pair_differences, placement_differences
from tests.outside.oracle.reading import read
from tests.outside.oracle.rooms import write_room
from tests.outside.oracle.seeded import wrong_reviews

CHECKED = range(24)
PLAIN = range(100, 116)
HEIGHTS = (3, 8, 23, 24, 41, 49)
PLACED = (23, 112, 118, 136)
"""Rooms with one array and all sizes given that are quickly searched; nobody can cover everybody in 23."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the rooms of this file are written."""
    return tmp_path_factory.mktemp("rooms")


def test_reviews_have_the_oracles_figures(folder: Path) -> None:
    assert wrong_reviews([write_room(seed, folder) for seed in CHECKED], differences) == {}


def test_what_is_not_so_is_found(folder: Path) -> None:
    path = write_room(3, folder, plain=True)
    [told] = product.reviews([path])
    assert differences(path, told) == []
    assert wrong_reviews([path], lambda _, review: [review["room"]]) == {path.name: [told["room"]]}
    head, array, row = told["heads"][0], told["arrays"][0], told["clearances"][0]
    for thing, key, other in (
        *((head, key, head[key] + 1e-3) for key in ("slack_m", "margin_m", "slant_m", "depression_deg")),
        (head, "state", "marginal"),
        (head, "sight", "blocked"),
        (head, "posture", "flying"),
        (array, "margin_m", array["margin_m"] - 1e-3),
        (array, "heads", array["heads"][1:]),
        (row, "required_m", row["required_m"] + 1e-3),
        (row, "actual_m", row["actual_m"] + 1e-3),
        (row, "state", {"clear": "short"}.get(row["state"], "clear")),
    ):
        right, thing[key] = thing[key], other
        assert differences(path, told), key
        thing[key] = right
    told["clearances"] = []
    heads = told["heads"]
    told["heads"] = heads[:-1]
    assert differences(path, told)


def test_rooms_with_nothing_in_the_way_have_the_oracles_verdict(folder: Path) -> None:
    paths = [write_room(seed, folder, plain=True) for seed in PLAIN]
    told = [one["verdict"] for one in product.reviews(paths)]
    own = [Judged(read(path)).verdict() for path in paths]
    assert told == own
    assert set(own) == {"pass", "caution", "fail"}  # rooms of all three were asked


@pytest.mark.parametrize("seed", HEIGHTS)
def test_heights_are_those_of_a_scan(folder: Path, seed: int) -> None:
    path = write_room(seed, folder)
    assert height_differences(path, product.asked("heights", path)) == []


@pytest.mark.parametrize("seed", PLACED)
def test_places_are_worth_what_is_said_and_no_bound_is_beaten(folder: Path, seed: int) -> None:
    path = write_room(seed, folder)
    told = product.asked("place", path, *product.bare_search())
    assert placement_differences(path, told, seed) == []


def test_no_pair_of_places_beats_the_bound_of_two_arrays(folder: Path) -> None:
    path = write_room(23, folder)
    told = product.asked("place", path, "--arrays", "2", *product.bare_search())
    assert told["bound_m"] > 0  # one array cannot cover everybody there, two can
    assert pair_differences(path, told) == []
    assert pair_differences(path, {**told, "bound_m": told["bound_m"] - 0.2}) != []
