"""Rules under a ceiling in parts: signed distances as ever, and what is above each part is solid."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.areas import outside_gap
from geometry.ceiling import Surface, sloped
from scenes.findings.clearance import Clearance
from scenes.review.review import review
from scenes.room.ceiling import ceiling_over_m, room_under, scene_under
from scenes.room.scene import Scene
from scenes.rules.apply import measures_of
from scenes.rules.ceilings import Ceilings, steps_of
from scenes.rules.clearances import clearances
from scenes.rules.constraints import constraints_for, tightest
from scenes.rules.keep_outs import keep_outs
from scenes.rules.surroundings import Site, Sweep
from scenes.rules.under import InRegions, Under, regions_of
from tests.scenes.ceiling_parts import (
    BULKHEAD,
    ROOF,
    Lid,
    random_parts,
    scene_of,
    spec_of,
    ten_small_parts,
    ten_strips,
)

DEVICES = [
    {"id": "SP1", "kind": "sprinkler", "at": [2.2, 1.5], "below": 0.08, "spray": "standard"},
    {"id": "L1", "kind": "light", "at": [3.0, 1.9], "size": [1.2, 0.3], "depth": 0.1, "below": 0.0},
    {"id": "L2", "kind": "light", "at": [6.2, 2.4], "size": [0.3, 0.3], "depth": 0.1, "below": 0.0},
    {"id": "D1", "kind": "other", "at": [4.4, 3.4], "size": [0.3, 0.3], "depth": 0.2, "below": -0.1},
]
seeds = st.integers(0, 10_000)
spots = st.tuples(st.floats(-0.3, 7.5), st.floats(-0.3, 5.1), st.floats(1.0, 3.3))
steps = st.tuples(*[st.floats(-0.4, 0.4)] * 3)


def with_devices(seed: int) -> Scene:
    return scene_of(random_parts(seed), overhead=DEVICES)


@settings(max_examples=25, deadline=None)
@given(seeds, spots, steps, st.sampled_from(["halo", "tile"]), st.sampled_from([0.0, 0.03, 0.2]))
def test_a_spare_beside_steps_is_kept_and_changes_by_at_most_a_metre_per_metre(
    seed: int,
    at: tuple[float, float, float],
    step: tuple[float, float, float],
    profile: str,
    spare_m: float,
) -> None:
    """Where it is kept the body is on plan so far from every level part that it does not hang under."""
    array = {"id": "A1", "profile": profile, "at": [3.6, 2.4], "band": "wide"}
    room = scene_of(random_parts(seed), arrays=[array | ({"height": 2.1} if profile == "halo" else {})])
    asked = steps_of(room, room.arrays[0])
    assert asked is not None
    here, then = asked.off_steps(np.array([at, np.array(at) + step]), spare_m)
    assert abs(here - then) <= float(np.linalg.norm(step)) + 1e-7
    body = asked.site.body
    top = float((body.low_m if profile == "tile" else body.high_m)(np.array(at[2])))
    lower = [one for one in regions_of(room.room) if one.surface.flat and one.room.ceiling_m < top - 1e-9]
    beside = [float(outside_gap(body, np.array([at]), one.edges)[0]) for one in lower]
    if here >= 0:
        assert min(beside, default=math.inf) >= spare_m - 1e-9
    elif here < -1e-6 and all(one.surface.flat for one in regions_of(room.room)):
        assert min(beside) < spare_m


def rows_against(scene: Scene, thing: str) -> list[Clearance]:
    return [row for row in clearances(scene) if row.against == thing]


@settings(max_examples=25, deadline=None)
@given(seeds, spots, steps, st.sampled_from([0.0, 0.07]))
def test_every_measure_changes_by_at_most_a_metre_per_metre(
    seed: int, at: tuple[float, float, float], step: tuple[float, float, float], off_m: float
) -> None:
    room = with_devices(seed)
    there = np.array([at, np.array(at) + step])
    moved = float(np.linalg.norm(step))
    for still in measures_of(Site(room, room.arrays[0])):
        measure = still.swept(Sweep(square_m=off_m))
        here, then = measure.signed(there)
        finite = np.isfinite(here)
        assert (finite == np.isfinite(then)).all()
        assert (np.abs(here[finite] - then[finite]) <= moved + 1e-7).all(), measure.applied.rule.id
    for constraint in constraints_for(room, room.arrays[0]):
        here, then = constraint.signed_m(there)
        assert abs(here - then) <= moved + 1e-7, constraint.key


@pytest.mark.parametrize("parts", [ten_strips(), ten_small_parts(), random_parts(1), random_parts(5)])
def test_no_demand_jumps_where_parts_meet_or_at_the_walls(parts: list[dict[str, object]]) -> None:
    room, draw = scene_of(parts, overhead=DEVICES[:2]), np.random.default_rng(7)
    here = draw.uniform((-0.3, -0.3, 1.0), (7.5, 5.1, 3.3), (400, 3))
    here[:200, 0] = 0.72 * draw.integers(0, 11, 200) + draw.normal(0, 0.01, 200) * draw.choice(
        [1, 1e-3, 1e-5], 200
    )
    there = here + draw.normal(0, 1, (400, 3)) * draw.choice([0.2, 1e-2, 1e-4, 1e-6], (400, 1))
    moved = np.linalg.norm(there - here, axis=1)
    for constraint in constraints_for(room, room.arrays[0]):
        changed = np.abs(constraint.signed_m(here) - constraint.signed_m(there))
        assert (changed <= moved + 1e-8).all(), constraint.key


@pytest.mark.parametrize("parts", [random_parts(3), ten_small_parts(), ten_strips()])
def test_rules_asked_of_all_parts_at_once_are_as_each_asked_by_itself(parts: list[dict[str, object]]) -> None:
    site = Site(room := scene_of(parts, overhead=DEVICES), room.arrays[0])
    at = np.random.default_rng(5).uniform((0.2, 0.2, 1.9), (7.0, 4.6, 2.7), (300, 3))
    asked = 0
    alike: dict[tuple[type, object], list[Under]] = {}
    for one in measures_of(site):
        if isinstance(one, Under) and one.binds:
            alike.setdefault((type(one.inner), one.applied.rule.id), []).append(one)
    for some in alike.values():
        under = InRegions(some)
        for together in under.joint:
            each = [one for one in some if one not in [alone for group in under.alone for alone in group]]
            plain = np.min([np.maximum(one.inner.least(at), one.outside(at)) for one in each], axis=0)
            assert together(at, math.inf) == pytest.approx(plain, abs=1e-12)
            assert np.minimum(together(at, 0.2), 0.2) == pytest.approx(np.minimum(plain, 0.2), abs=1e-12)
            asked += 1
    assert asked >= 3


def test_where_both_sides_of_a_border_fail_the_border_fails_by_as_much() -> None:
    """A box of 0.15 m may not lie across it: else a search would split cells there down to the border's own width."""
    strips = scene_of(ten_strips())
    on_border = np.array([[3.6, 2.34, 2.3], [3.601, 2.34, 2.3]])
    [within] = [one for one in constraints_for(strips, strips.arrays[0]) if one.upright]
    assert within.signed_m(on_border) == pytest.approx([-0.075, -0.074], abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(seeds, st.tuples(st.floats(0.5, 6.7), st.floats(0.5, 4.3)), st.floats(1.0, 3.2))
def test_the_ceiling_is_solid_exactly_where_a_scan_of_it_says(
    seed: int, at: tuple[float, float], height_m: float
) -> None:
    parts = random_parts(seed)
    room, lid = scene_of(parts), Lid(spec_of(parts))
    [measure] = [one for one in measures_of(Site(room, room.arrays[0])) if isinstance(one, Ceilings)]
    radius, top = 0.18, height_m + 0.02
    signed = float(measure.signed(np.array([[*at, height_m]])).min())
    # a scan and a polygon round the body miss what is nearer than this to the edge of either
    if abs(signed) > 0.02:
        assert (signed < 0) == (lid.lowest(at, radius) < top)
    assert lid.lowest(at, radius) >= top or signed < 0.02


@settings(max_examples=40, deadline=None)
@given(seeds, st.tuples(st.floats(0.0, 7.2), st.floats(0.0, 4.8)))
def test_what_is_over_a_place_is_what_the_file_says(seed: int, at: tuple[float, float]) -> None:
    parts = random_parts(seed)
    found, lid = ceiling_over_m(scene_of(parts).room, at), Lid(spec_of(parts))
    beside = lid.heights(np.array([at]) + 1e-6 * np.array([(-1, -1), (-1, 1), (1, -1), (1, 1)]))
    if np.ptp(beside) < 1e-4:
        assert found == pytest.approx(float(lid.heights(np.array([at]))[0]), abs=1e-9)
    else:  # on an edge, which is part of both: as high as on either side of it
        assert np.abs(beside - found).min() < 1e-4


@settings(max_examples=30, deadline=None)
@given(seeds, st.tuples(st.floats(0.4, 6.8), st.floats(0.4, 4.4)), st.floats(1.2, 2.6))
def test_constraints_and_review_agree_under_flat_parts(
    seed: int, at: tuple[float, float], height_m: float
) -> None:
    """Of a slope the search takes the cable as long as under its highest place: it may only ask for more."""
    parts = [part for part in random_parts(seed) if "slope" not in part]
    room = scene_of(parts, overhead=DEVICES).with_array("A1", at_m=at, height_m=height_m)
    array = room.arrays[0]
    asked = constraints_for(room, array)
    negative = {one.key[0] for one in asked if float(one.signed_m(np.array([array.centre_m]))[0]) < -1e-5}
    found = {
        row.rule
        for row in clearances(room)
        if row.array == "A1" and row.state in ("short", "advised") and row.rule not in ("touch", "grid-tee")
    }
    assert found == negative - {"touch"}
    worst = tightest(room, array, array.centre_m)[0]
    least = min(float(one.signed_m(np.array([array.centre_m]))[0]) for one in asked)
    assert (worst.signed_m >= -1e-5) == (least >= -1e-5)


def test_an_array_under_a_bulkhead_hangs_from_it() -> None:
    """shared/found/models.md, finding 3: the correct way could not be said."""
    room = scene_of(
        [BULKHEAD], arrays=[{"id": "A1", "profile": "halo", "at": [3.6, 2.4], "drop": 0.3, "band": "wide"}]
    )
    assert room.arrays[0].height_m == pytest.approx(2.15)
    found = review(room)
    assert found.verdict == "pass"
    assert found.array("A1").drop_m == pytest.approx(0.3)
    assert room_under(room.room, (3.6, 2.4)).ceiling_kind == "hard"
    assert scene_under(room, (1.0, 1.0)).room.ceiling_m == 2.8


@pytest.mark.parametrize(("x_m", "short"), [(2.2, False), (2.23, True), (2.39, True)])
def test_a_body_that_reaches_into_a_step_is_short_against_the_part(x_m: float, *, short: bool) -> None:
    """The bulkhead begins at 2.4 m; the body has a radius of 0.18 m and hangs from the ceiling beside it."""
    room = scene_of([BULKHEAD]).with_array("A1", at_m=(x_m, 2.4), height_m=2.6)
    rows = rows_against(room, "BH1")
    assert bool(rows) == short
    if short:
        [row] = rows
        assert (row.rule, row.kind, row.part, row.state, row.basis) == (
            "touch", "ceiling part", "body", "short", "fact",
        )  # fmt: skip
        assert row.actual_m == pytest.approx(-min(0.18 - (2.4 - x_m), 2.62 - 2.45), abs=1e-9)
        assert review(room).verdict == "fail"


def test_a_body_that_reaches_into_a_slope_or_the_rest_is_short_too() -> None:
    under_roof = scene_of([ROOF]).with_array("A1", at_m=(7.0, 2.4), height_m=2.24)
    # over its centre the roof is 2.26 m high, at the body's edge 2.206
    assert [row.part for row in rows_against(under_roof, "R1")] == ["body"]
    coffer: dict[str, object] = {"id": "CO1", "at": [3.6, 2.4], "size": [1.2, 1.2], "height": 3.1}
    at_edge = scene_of([coffer]).with_array("A1", at_m=(3.1, 2.4), height_m=2.9)
    assert [row.kind for row in rows_against(at_edge, "ceiling")] == ["ceiling"]
    assert not rows_against(at_edge.with_array("A1", at_m=(3.6, 2.4)), "ceiling")


def test_a_flush_array_lies_in_one_part() -> None:
    flush = [{"id": "A1", "profile": "tile", "at": [3.6, 2.4], "band": "wide"}]
    room = scene_of([BULKHEAD], arrays=flush)
    assert room.arrays[0].height_m == 2.45
    assert not rows_against(room, "BH1")
    across = room.with_array("A1", at_m=(2.5, 2.4))
    [row] = rows_against(across, "BH1")
    assert (row.state, row.cause.name if row.cause else None) == ("short", "across-edge")
    assert row.actual_m == pytest.approx(-0.15)


@pytest.mark.parametrize(
    ("x_m", "box", "state"), [(2.2, None, None), (2.33, None, "advised"), (2.33, [0.2, 0.2, 0.1], "short"),
                              (2.33, [0.1, 0.1, 0.1], None)],
)  # fmt: skip
def test_a_box_beside_a_step_is_not_half_over_it(x_m: float, box: object, state: str | None) -> None:
    """The bulkhead begins at 2.4 m and the body hangs below it: only what is above the ceiling is beside the step."""
    more = {} if box is None else {"suspension": {"box": {"size": box, "fixing": "tile bridge"}}}
    room = scene_of([BULKHEAD], **more).with_array("A1", at_m=(x_m, 2.4), height_m=2.2)
    rows = [row for row in rows_against(room, "ceiling") if row.part == "box"]
    assert [row.state for row in rows] == ([state] if state else [])
    if rows:
        assert rows[0].cause is not None
        assert rows[0].cause.name == "across-edge"
    # a box under the bulkhead, which is hard, would be as much in the air
    beside = room.with_array("A1", at_m=(2.41, 2.4))
    assert [row.state for row in rows_against(beside, "BH1")] == ["advised" if box is None else "short"]


def test_of_a_box_on_the_structure_only_the_cable_has_to_miss_the_step() -> None:
    room = scene_of([BULKHEAD], suspension={"box": "structure"})
    for x_m, lost in ((2.33, False), (2.397, True)):
        hung = room.with_array("A1", at_m=(x_m, 2.4), height_m=2.2)
        rows = [row for row in rows_against(hung, "ceiling") if row.part == "cable"]
        assert [row.state for row in rows] == (["short"] if lost else [])


def test_parts_of_one_height_make_no_step() -> None:
    level: dict[str, object] = {**BULKHEAD, "height": 2.8, "kind": "open"}
    room = scene_of([level]).with_array("A1", at_m=(2.35, 2.4), height_m=2.2)
    assert not [row for row in clearances(room) if row.cause and row.cause.name == "across-edge"]


def test_two_roofs_that_meet_leave_no_other_ceiling() -> None:
    """A roof at 29.5° (shared/found/models.md, finding 2): 0.9 m at the eaves, 2.26 m at the ridge."""
    rise = 2.4 * math.tan(math.radians(29.5))
    roofs: list[dict[str, object]] = [
        {"id": "R1", "outline": [[0, 0], [7.2, 0], [7.2, 2.4], [0, 2.4]],
         "slope": {"low": 1.6, "high": 1.6 + rise, "towards": 90}},
        {"id": "R2", "outline": [[0, 2.4], [7.2, 2.4], [7.2, 4.8], [0, 4.8]],
         "slope": {"low": 1.6, "high": 1.6 + rise, "towards": 270}},
    ]  # fmt: skip
    tree = spec_of(
        roofs, arrays=[{"id": "A1", "profile": "halo", "at": [3.6, 2.4], "drop": 0.5, "band": "wide"}]
    )
    tree["room"] = {
        "size": [7.2, 4.8],
        "ceiling": {"kind": "hard", "height": 2.95, "parts": roofs},
        "structure": 3.4,
    }
    room = scene_of(roofs, room=tree["room"], arrays=tree["arrays"])
    assert room.arrays[0].height_m == pytest.approx(1.6 + rise - 0.5)
    assert room.room.volume_m3 == pytest.approx(7.2 * 4.8 * (1.6 + rise / 2))
    # at the ridge's own height the body is in both roofs
    high = room.with_array("A1", height_m=1.6 + rise - 0.03)
    assert {row.against for row in clearances(high) if row.kind == "ceiling part"} == {"R1", "R2"}


def test_what_a_part_keeps_out_of_is_drawn() -> None:
    room = scene_of([BULKHEAD, ROOF])
    kept = {area.against: area for area in keep_outs(room, room.arrays[0], 2.6) if area.rule == "touch"}
    assert set(kept) == {"BH1", "R1"}
    x, y = kept["BH1"].outline_m.T
    assert (x.min(), x.max()) == pytest.approx((2.4 - 0.18, 4.8 + 0.18), abs=0.002)
    assert (y.min(), y.max()) == pytest.approx((1.8 - 0.18, 3.0 + 0.18), abs=0.002)
    # the body's top, 2.62 m up, is in the roof from 5.2 + 2.0 * (2.8 - 2.62) / 0.6 on
    assert kept["R1"].outline_m[:, 0].min() == pytest.approx(5.2 + 0.6 - 0.18, abs=0.002)


def test_a_surface_rises_along_its_angle_and_knows_its_volume() -> None:
    square = ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))
    roof = sloped(square, 2.0, 3.0, 90.0)
    assert [roof.height_m(corner) for corner in square] == pytest.approx([2.0, 2.0, 3.0, 3.0])
    assert roof.span_m == pytest.approx((2.0, 3.0))
    assert roof.volume_over_m3(2.0) == pytest.approx(2.0)
    assert Surface(square[::-1], 2.5).volume_over_m3(2.0) == pytest.approx(2.0)
    assert not roof.flat
    assert Surface(square, 2.5).flat
