"""Devices of the file where none can be: data to check, never judged, wherever arrays hang."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry.ceiling import Surface
from scenes.findings.clearance import Clearance
from scenes.room.scene import CeilingPart, Grid, RuleChange, Scene
from scenes.rules.clearances import clearances
from tests.scenes.ceiling_rooms import CEILING_M, cause_of, device, guessed, scene

GRID = Grid((0.6, 0.6), (0.0, 0.0))
STEP = CeilingPart("P1", "hard", Surface(((3.0, 0.0), (6.0, 0.0), (6.0, 4.0), (3.0, 4.0)), 2.4), 3.4, None)


def light(at: tuple[float, float], size_m: tuple[float, float] = (0.6, 0.6), **more: object):  # type: ignore[no-untyped-def]
    return device("L1", "light", at, 0.0, round=False, size_m=size_m, depth_m=0.1, **more)


def data_of(room: Scene) -> list[Clearance]:
    return [row for row in clearances(room) if row.number == "R26"]


def causes(*devices: object, **parts: object) -> list[str | None]:
    return [cause_of(row) for row in data_of(scene(overhead=devices, **parts))]


def test_a_sprinkler_on_the_floor_or_far_above_the_ceiling_is_data_to_check() -> None:
    for below_m, cause, actual_m in (
        (CEILING_M - 0.01, "device-too-low", 0.01),
        (-0.5, "device-too-high", -0.5),
    ):
        [row] = data_of(scene(overhead=(device("SP1", "sprinkler", (1.0, 1.0), below_m),)))
        assert (row.state, cause_of(row), row.array, row.device) == ("unjudged", cause, None, "SP1")
        assert row.actual_m == pytest.approx(actual_m)
    for below_m in (0.0, -0.1, CEILING_M - 1.0):
        assert causes(device("SP1", "sprinkler", (1.0, 1.0), below_m)) == []
    # a column's bulkhead and a duct go where they go
    assert causes(device("B1", "bulkhead", (1.0, 1.0), CEILING_M - 0.01)) == []


@pytest.mark.parametrize(
    ("at", "size_m", "turn_deg", "off"),
    [
        ((0.9, 0.9), (0.6, 0.6), 0.0, None),
        ((0.9, 0.9), (0.595, 0.595), 90.0, None),
        ((1.2, 0.9), (1.2, 0.6), 0.0, None),
        ((0.9, 1.2), (1.2, 0.6), 90.0, None),
        ((0.9, 1.2), (1.2, 0.6), 0.0, 0.3),
        ((1.0, 0.9), (0.6, 0.6), 0.0, 0.1),
        ((0.915, 0.9), (0.6, 0.6), 0.0, None),
        # narrower than a tile: where in it is not known; and out of square
        ((0.9, 1.0), (0.6, 0.3), 0.0, None),
        ((1.0, 0.9), (0.6, 0.6), 45.0, None),
    ],
)
def test_a_fitting_of_whole_tiles_lies_in_its_tile(
    at: tuple[float, float], size_m: tuple[float, float], turn_deg: float, off: float | None
) -> None:
    rows = data_of(scene(grid=GRID, overhead=(light(at, size_m, turn_deg=turn_deg),)))
    assert [(cause_of(row), row.actual_m) for row in rows] == (
        [] if off is None else [("device-off-tile", pytest.approx(-off))]
    )


def test_only_what_is_given_and_lies_in_a_lay_in_ceiling_can_be_off_its_tile() -> None:
    off = light((1.0, 0.9))
    assert causes(guessed(off, "size"), grid=GRID) == []
    assert causes(off, grid=GRID, ceiling_kind="hard") == []
    assert causes(off) == []
    hanging = device("L1", "light", (1.0, 0.9), 0.5, round=False, size_m=(0.6, 0.6))
    assert causes(hanging, grid=GRID) == []


def test_a_device_across_a_step_is_data_to_check() -> None:
    plain = scene()
    room = replace(plain, room=replace(plain.room, parts=(STEP,)))
    for x, deep_m in ((2.9, 0.2), (2.5, None)):
        [*rows] = data_of(replace(room, overhead=(light((x, 2.0)),)))
        assert [(cause_of(row), row.against) for row in rows] == (
            [] if deep_m is None else [("device-over-edge", "P1")]
        )
        assert [row.actual_m for row in rows] == ([] if deep_m is None else [pytest.approx(-deep_m)])
    level = replace(STEP, surface=Surface(STEP.surface.outline_m, CEILING_M))
    room = replace(room, room=replace(room.room, parts=(level,)))
    assert data_of(replace(room, overhead=(light((2.9, 2.0)),))) == []


def test_the_rule_can_be_switched_off_with_a_reason() -> None:
    off = RuleChange("misplaced-device", off=True, value_m=None, reason="a model of the services alone")
    room = scene(overhead=(device("SP1", "sprinkler", (1.0, 1.0), CEILING_M),), rule_changes=(off,))
    assert data_of(room) == []
