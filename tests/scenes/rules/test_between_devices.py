"""Devices against each other, as `check --ceiling` asks: distances by hand, advice at most, only where asked for."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from geometry.clearance import gap, hanging_from
from geometry.shapes import Box, Cylinder, Solid
from scenes.review.review import review, with_ceiling
from scenes.rules.clearances import ceiling_clearances
from tests.scenes.ceiling_rooms import changed, device, scene


def apart_m(a: Solid, b: Solid) -> float:
    return max(float(gap(hanging_from(a), a.middle_m, [b])[0, 0]), 0.0)


def test_distances_of_upright_solids_are_those_by_hand() -> None:
    post, high = Cylinder((0, 0, 1.0), 0.1, 2.0), Cylinder((1.0, 0, 5.0), 0.2, 1.0)
    assert apart_m(post, high) == pytest.approx(math.hypot(1 - 0.1 - 0.2, 4.5 - 2.0))
    # a square of 1 m turned by 45°: its corner is √½ from its middle
    case = Box((2.0, 0, 1.0), (1.0, 1.0, 1.0), 45.0)
    assert apart_m(post, case) == pytest.approx(2 - 0.1 - math.sqrt(0.5))
    assert apart_m(case, Box((2.2, 0.1, 1.2), (0.1, 0.1, 0.1))) == 0


@pytest.mark.parametrize(
    ("kind", "other", "rule", "required_m"),
    [
        ("smoke detector", "supply diffuser", "detector-in-air", 0.9),
        ("sprinkler", "light", "light-in-spray", 0.3),
        ("smoke detector", "loudspeaker", "detector-by-loudspeaker", 0.3),
    ],
)
def test_each_pair_is_asked_its_distance_and_never_fails(
    kind: str, other: str, rule: str, required_m: float
) -> None:
    for spare, state in ((-0.01, "advised"), (0.01, "clear")):
        there = device(
            "B", other, (0.7 + 0.03 + 0.1 + required_m + spare, 3.5), size_m=(0.2, 0.2), round=False
        )
        room = scene(overhead=(device("A", kind, (0.7, 3.5)), there))
        [row] = ceiling_clearances(room)
        assert (row.array, row.device, row.against, row.kind) == (None, "A", "B", other)
        assert (row.rule, row.required_m, row.state, row.basis) == (rule, required_m, state, "default")
        assert row.actual_m == pytest.approx(required_m + spare)
        [own] = ceiling_clearances(changed(room, rule, required_m + 0.02))
        assert (own.state, own.basis) == ("advised", "own")  # the architect's ceiling never fails a room
        [off] = ceiling_clearances(changed(room, rule))
        assert off.state == "off"


def test_two_devices_in_one_place_are_told_however_they_are_built() -> None:
    panel = device("PN1", "access panel", (1.0, 3.0), 0.0, size_m=(0.6, 0.6), round=False, depth_m=0.03)
    lamp = device("L1", "light", (1.25, 3.0), 0.0, size_m=(0.3, 0.3), round=False, depth_m=0.1)
    beam = device("BM1", "beam", (1.0, 3.0), 0.0, size_m=(2.0, 0.3), round=False, depth_m=0.1)
    [row] = ceiling_clearances(scene(overhead=(panel, lamp, beam)))
    assert (row.device, row.against, row.rule, row.state) == ("PN1", "L1", "touch", "advised")
    assert row.actual_m == pytest.approx(-0.03)  # the panel is 3 cm thick


def test_two_devices_at_one_place_of_the_ceilings_face_are_told() -> None:
    """A sprinkler hangs from the plane that the diffuser lies in: a try-out's room had both in one tile."""
    sprinkler = device("SP1", "sprinkler", (1.0, 3.0), 0.05, depth_m=0.05)
    diffuser = device("DF1", "supply diffuser", (1.1, 3.0), 0.0, size_m=(0.6, 0.6), round=False, depth_m=0.2)
    room = scene(overhead=(sprinkler, diffuser))
    [row] = ceiling_clearances(room)
    assert (row.device, row.against, row.rule, row.state) == ("SP1", "DF1", "touch", "advised")
    lower = replace(sprinkler, below_m=0.3, low_m=sprinkler.low_m - 0.25)
    beside = replace(sprinkler, at_m=(1.5, 3.0))
    unfaced = replace(room, room=replace(room.room, ceiling_kind="open", grid=None))
    assert not ceiling_clearances(replace(room, overhead=(lower, diffuser)))
    assert not ceiling_clearances(replace(room, overhead=(beside, diffuser)))
    assert not ceiling_clearances(unfaced)


def test_they_caution_only_where_they_are_asked_for() -> None:
    pair = (
        device("SD1", "smoke detector", (0.7, 3.5)),
        device("DF1", "supply diffuser", (1.0, 3.5), size_m=(0.2, 0.2), round=False),
    )
    plain = review(scene(overhead=pair))
    asked = with_ceiling(plain)
    assert not [row for row in plain.clearances if row.array is None]
    assert [row.against for row in asked.clearances if row.array is None] == ["DF1"]
    assert len(asked.clearances) == len(plain.clearances) + 1
    assert asked.verdict != "pass"
    assert asked.heads == plain.heads
