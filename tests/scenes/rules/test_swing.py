"""How far what hangs may swing: only by the file's own angle, against whatever it can come to."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from geometry.ceiling import Surface, sloped
from geometry.shapes import Box
from scenes.findings.clearance import Clearance
from scenes.room.ceiling import REST
from scenes.room.scene import CeilingPart, Obstacle, Scene, Suspension
from scenes.room.swing import Swing
from scenes.rules.clearances import clearances
from scenes.rules.constraints import constraints_for
from scenes.rules.keep_outs import keep_outs
from scenes.rules.spares import Holding
from tests.scenes.ceiling_parts import scene_of
from tests.scenes.ceiling_rooms import array, changed, device, guessed, profile, scene

SWUNG = Suspension(swing=Swing(45.0, "structural engineer's letter"))


def lamp(at: tuple[float, float], below_m: float = 0.45, **more: Any):  # type: ignore[no-untyped-def]
    return device("L1", "light", at, below_m, round=False, size_m=(0.2, 0.2), depth_m=0.1, **more)


def rows(room: Scene) -> dict[str, Clearance]:
    return {row.against: row for row in clearances(room) if row.rule == "swing"}


def test_without_an_angle_in_the_file_nothing_is_judged_and_a_flush_array_does_not_swing() -> None:
    assert rows(scene(overhead=(lamp((3.4, 2.0)),))) == {}
    flush = array(profile=profile(mount="flush"))
    assert rows(scene(arrays=(flush,), suspension=SWUNG)) == {}


def test_what_it_can_swing_into_is_too_close_by_the_designers_own_angle() -> None:
    # 0.55 m down, out to 0.58 sin 45° + 0.05 cos 45° = 0.445; the light begins 0.4 away, 0.35 to 0.45 m down
    near = rows(scene(overhead=(lamp((3.5, 2.0)),), suspension=SWUNG))
    row = near["L1"]
    assert (row.state, row.basis, row.sureness, row.part) == ("short", "own", "own", "body")
    assert row.cause is not None
    assert (row.cause.name, row.cause.angle_deg, row.cause.quoted) == (
        "swings",
        45.0,
        "structural engineer's letter",
    )
    out_m = 0.58 * math.sin(math.pi / 4) + 0.05 * math.cos(math.pi / 4)
    assert near["walls"].actual_m == pytest.approx(2.0 - out_m)
    assert {name: row.state for name, row in near.items()} == {"L1": "short", "walls": "clear"}
    far = rows(scene(overhead=(lamp((3.56, 2.0)),), suspension=SWUNG))
    assert far["L1"].state == "clear"
    assert far["L1"].actual_m == pytest.approx(0.46 - out_m, abs=0.003)
    column = Obstacle("C1", Box((3.4, 2.0, 1.4), (0.2, 0.2, 2.8)))
    assert rows(scene(obstacles=(column,), suspension=SWUNG))["C1"].state == "short"


def test_a_gap_of_the_designers_own_is_kept_and_a_default_size_only_advises() -> None:
    clear = scene(overhead=(lamp((3.56, 2.0)),), suspension=SWUNG)
    asked = rows(changed(clear, "swing", 0.05))["L1"]
    assert (asked.state, asked.required_m) == ("short", 0.05)
    assert rows(changed(clear, "swing"))["L1"].state == "off"
    by_size = guessed(lamp((3.5, 2.0)), "size")
    row = rows(scene(overhead=(by_size,), suspension=SWUNG))["L1"]
    assert row.state == "advised"
    assert row.cause is not None
    assert row.cause.name == "swings-by-default"


def test_lower_parts_of_the_ceiling_are_in_the_way_level_and_sloped() -> None:
    outline = ((3.3, 0.0), (6.0, 0.0), (6.0, 4.0), (3.3, 4.0))
    for surface, state in (
        (Surface(outline, 2.4), "short"),
        (Surface(outline, 2.74), "clear"),
        (sloped(outline, 2.2, 2.75, 180.0), "clear"),
        (sloped(outline, 2.2, 2.75, 0.0), "short"),
    ):
        part = CeilingPart("P1", "hard", surface, 3.4, None)
        plain = scene(suspension=SWUNG)
        found = rows(replace(plain, room=replace(plain.room, parts=(part,))))
        assert found["P1"].state == state
    # and from the lower part it hangs lower: out of the way of what is beside it
    low = CeilingPart("P1", "hard", Surface(((2.5, 1.5), (3.5, 1.5), (3.5, 2.5), (2.5, 2.5)), 2.4), 3.4, None)
    under = replace(plain, room=replace(plain.room, parts=(low,)), overhead=(lamp((3.45, 2.0), 0.34),))
    assert rows(under)["L1"].state == "clear"
    assert "P1" not in rows(under)


def test_the_search_keeps_to_what_a_review_finds_and_by_a_metre_for_each() -> None:
    rng = np.random.default_rng(11)
    outline = ((4.2, 0.0), (6.0, 0.0), (6.0, 4.0), (4.2, 4.0))
    step = CeilingPart("P1", "hard", Surface(outline, 2.5), 3.4, None)
    slope = CeilingPart("P2", "hard", sloped(((0, 0), (1.5, 0), (1.5, 4), (0, 4)), 2.3, 2.75, 0.0), 3.4, None)
    plain = scene(overhead=(lamp((3.5, 2.0)), lamp((2.2, 1.0), 0.3)), suspension=SWUNG)
    room = replace(plain, room=replace(plain.room, parts=(step, slope)))
    [swing] = [one for one in constraints_for(room, room.arrays[0]) if one.key[0] == "swing"]
    at = rng.uniform([0.4, 0.4, 1.9], [5.6, 3.6, 2.15], (300, 3))
    left = swing.signed_m(at)
    moved = at + rng.normal(0, 0.01, at.shape)
    assert (
        np.abs(swing.signed_m(moved) - left) <= np.linalg.norm(moved - at, axis=1) * (1 + 1e-6) + 1e-9
    ).all()
    short = []
    for x, y, z in at[:50]:
        here = room.with_array("A1", at_m=(float(x), float(y)), height_m=float(z))
        short.append(any(row.state == "short" for row in rows(here).values()))
    assert 5 < sum(short) < 45
    assert (np.array(short) == (left[:50] < -1e-9)).all()


def test_what_it_may_be_off_and_where_it_may_not_be_count_the_swing() -> None:
    room = scene(overhead=(lamp((3.56, 2.0)),), suspension=SWUNG)
    lost = Holding(room, room.arrays[0]).lost_in_disc(0.03)
    assert lost is not None
    assert (lost.id, lost.rule) == ("L1", "swing")
    assert Holding(room, room.arrays[0]).lost_in_disc(0.01) is None
    [out] = [
        one for one in keep_outs(room, room.arrays[0], 2.2) if one.rule == "swing" and one.against == "L1"
    ]
    assert out.outline_m[:, 0].min() == pytest.approx(3.46 - (0.58 + 0.05) * math.sqrt(0.5), abs=0.003)


def test_in_a_coffer_it_is_kept_off_its_sides_and_not_out_of_all_of_it() -> None:
    """What is lower round a coffer has a hole in it, and the array hangs in the hole."""
    raised = {"id": "CF1", "at": [3.6, 2.4], "size": [4.0, 2.8], "kind": "hard", "height": 3.2}
    swing = {"angle_deg": 20, "source": "structural engineer's letter"}
    room = scene_of([raised], suspension={"swing": swing})
    kept = [
        one for one in keep_outs(room, room.arrays[0], 2.1) if one.rule == "swing" and one.against == REST
    ]
    area = shapely.union_all([shapely.Polygon(one.outline_m) for one in kept])
    assert not area.intersects(shapely.Point(3.6, 2.4))
    assert area.intersects(shapely.Point(1.65, 2.4))
    assert rows(room)[REST].state == "clear"
