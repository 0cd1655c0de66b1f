"""Where an array may not be, as plan areas: they are where the constraints are negative."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scenes.room.scene import Scene
from scenes.rules.constraints import constraints_for
from scenes.rules.keep_outs import keep_outs
from tests.scenes.ceiling_rooms import CEILING_M, array, busy_room, near_sprinkler, scene

rooms = st.builds(
    busy_room, st.floats(-180, 180), wide=st.booleans(), mount=st.sampled_from(["pendant", "flush"])
)


@settings(max_examples=25, deadline=None)
@given(rooms, st.floats(1.2, 2.7), st.integers(0, 10_000))
def test_keep_outs_are_where_the_constraints_are_negative(room: Scene, height_m: float, seed: int) -> None:
    first = room.arrays[0]
    height_m = CEILING_M if first.profile.mount == "flush" else min(height_m, CEILING_M - 0.04)
    first = replace(first, height_m=height_m)
    points = np.random.default_rng(seed).uniform((0, 0), (6, 4), (300, 2))
    at = np.column_stack([points, np.full(len(points), height_m)])
    areas = keep_outs(room, first, height_m)
    outlines = [shapely.Polygon(area.outline_m) for area in areas]
    kept_out = np.zeros(len(points), bool)
    near_edge = np.zeros(len(points), bool)
    for outline in outlines:
        kept_out |= shapely.contains_xy(outline, points)
        near_edge |= shapely.dwithin(outline.exterior, shapely.points(points), 0.003)
    least = np.min([c.signed_m(at) for c in constraints_for(room, first) if c.key[0] != "wall"], axis=0)
    negative = least < -1e-9
    # the light of a projector is drawn from prisms, a little too large
    slack = np.array([least < 0.04])[0] if any(a.rule == "projector-light" for a in areas) else negative
    assert not (negative & ~kept_out & ~near_edge).any()
    assert not (kept_out & ~negative & ~near_edge & ~slack).any()


def test_keep_outs_name_their_cause_and_are_plain_outlines() -> None:
    room = busy_room()
    found = keep_outs(room, room.arrays[0], 2.6)
    assert {"SP1", "L1", "A2", "C1"} <= {area.against for area in found}
    for area in found:
        assert shapely.Polygon(area.outline_m).is_valid
        assert shapely.LinearRing(area.outline_m).is_ccw


def test_where_the_headroom_is_short_only_the_tables_are_left() -> None:
    room = scene(arrays=(array(height_m=1.9),))
    floor = [area for area in keep_outs(room, room.arrays[0], 1.9) if area.rule == "headroom"]
    kept = sum(shapely.Polygon(area.outline_m).area for area in floor)
    # 0.15 m of the table's edge excuses nothing
    assert kept == pytest.approx(6 * 4 - (2.0 - 0.1 - 0.3) * (1.0 - 0.1 - 0.3), abs=0.01)
    assert not [a for a in keep_outs(room, room.arrays[0], 2.2) if a.rule == "headroom"]


def test_a_round_keep_out_has_the_radius_the_rule_asks_for() -> None:
    room = near_sprinkler(1.0)
    [area] = [a for a in keep_outs(room, room.arrays[0], 2.6) if a.part == "body"]
    middle = np.array(room.overhead[0].at_m)
    radii = np.hypot(*(area.outline_m - middle).T)
    assert radii.min() >= 0.35
    assert radii.max() <= 0.35 + 0.0021
    assert math.isclose(shapely.Polygon(area.outline_m).area, math.pi * 0.35**2, rel_tol=0.01)
