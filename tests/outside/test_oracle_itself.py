"""The oracle's own figures against sampling and against hand-worked cases, so that it is worth asking."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from tests.outside.oracle.band import (
    along_way,
    inside,
    sampled_surface,
    signed_distance,
    slack_of_range,
)
from tests.outside.oracle.judging import Judged
from tests.outside.oracle.moving import LARGEST_M, largest
from tests.outside.oracle.reading import Room, metres, read, room_of
from tests.outside.oracle.rooms import write_room
from tests.outside.oracle.rulesheet import BEAM_TABLE
from tests.outside.oracle.seating import edge, heads_of, outline
from tests.outside.oracle.solids import Hanging, Plan, Prism, gap, in_one_place, outside_share, through

BANDS = [(24, 69, 0.6, 3.1), (0, 90, 0.0, 2.0), (38, 90, 0.9, 3.6), (5, 12, 0.3, 4.2), (0, 23, 0.0, 1.2)]
SPACING_M = 0.05


@pytest.mark.parametrize("limits", BANDS)
def test_slack_is_the_distance_to_the_sampled_surface(limits: tuple[float, float, float, float]) -> None:
    random = np.random.default_rng(11)
    surface = sampled_surface(limits, SPACING_M)
    mouths = random.uniform(-1.1 * limits[3], 1.1 * limits[3], (400, 3))
    rho, drop = np.hypot(mouths[:, 0], mouths[:, 1]), -mouths[:, 2]
    told = signed_distance(limits, rho, drop)
    sampled = np.array([np.linalg.norm(surface - mouth, axis=1).min() for mouth in mouths])
    # no sample is nearer than the surface, and one is never farther than half the widest mesh of samples
    assert np.all(sampled >= np.abs(told) - 1e-9)
    assert np.all(sampled <= np.abs(told) + SPACING_M)
    assert np.array_equal(told > 0, inside(limits, rho, drop))


def test_both_ends_decide_for_a_whole_range_of_mouths() -> None:
    random = np.random.default_rng(5)
    for limits in BANDS:
        for spot, low in zip(random.uniform(0.2, 3, 40), random.uniform(0.9, 1.5, 40), strict=True):
            heights = np.linspace(low, low + 0.3, 61)
            each = signed_distance(limits, spot, 2.2 - heights)
            ends = slack_of_range(limits, (0, 0, 2.2), (spot, 0), (heights[0], heights[-1]))[0, 0]
            assert ends == pytest.approx(each.min(), abs=1e-12)


def test_a_way_is_asked_all_along() -> None:
    limits = (26.0, 61.0, 0.8, 3.2)
    way = [(-2.0, 0.3), (1.5, 0.4), (1.5, 2.0)]
    line = shapely.LineString(way)
    fine = np.array([line.interpolate(s).coords[0] for s in np.linspace(0, line.length, 20_001)])
    sampled = slack_of_range(limits, (0.2, 0.1, 2.4), fine, (1.4, 1.7)).min()
    told = along_way(limits, (0.2, 0.1, 2.4), way, (1.4, 1.7))
    assert sampled - 1e-4 <= told <= sampled + 1e-12


@pytest.mark.parametrize(
    ("shape", "size", "pitch", "count"),
    [
        # seats a straight side: floor(length / pitch); 3.6 m at 762 mm 4, at 600 mm 6; 96 in at 24 in 4, at 30 in 3
        # (Panero & Zelnik's pitches)
        ("rectangle", (3.6, 0.5), 0.762, 4 + 4),
        ("rectangle", (3.6, 0.5), 0.6, 6 + 6),
        ("rectangle", (96 * 0.0254, 0.5), 24 * 0.0254, 4 + 4),
        ("rectangle", (96 * 0.0254, 0.5), 30 * 0.0254, 3 + 3),
        ("round", (1.2,), 0.75, 5),  # 3.77 m round
        ("racetrack", (2.8, 1.2), 0.75, 2 * 2 + 2 * 2),  # sides 1.6 m, ends 1.88 m of arc
    ],
)
def test_seats_round_a_table(shape: str, size: tuple[float, ...], pitch: float, count: int) -> None:
    room = _room(tables=[{"id": "T", "shape": shape, "size": list(size), "at": [3, 2]}])
    room = replace(room, raw={**room.raw, "seats": [{"around": "T", "pitch": pitch, "gap": 0.2}]})
    heads = heads_of(room)
    assert len(heads) == count
    top = shapely.Polygon(outline(room.tables[0]))
    assert all(top.distance(shapely.Point(head.at)) == pytest.approx(0.2, abs=1e-4) for head in heads)
    angles = [math.degrees(math.atan2(y - 2, x - 3)) % 360 for x, y in (head.at for head in heads)]
    assert angles == sorted(angles)


def test_the_edges_of_tables_close_and_run_anticlockwise() -> None:
    for shape, size in (("rectangle", 2), ("round", 1), ("racetrack", 2), ("boat", 2), ("trapezoid", 2)):
        room = _room(
            tables=[{"id": "T", "shape": shape, "size": [2.4, 1.1][:size], "at": [3, 2], "turn": 20}]
        )
        sides = edge(room.tables[0])
        for one, following in zip(sides, sides[1:] + sides[:1], strict=True):
            assert one.points[-1] == pytest.approx(following.points[0], abs=1e-9)
        ring = shapely.LinearRing(outline(room.tables[0]))
        assert ring.is_ccw
        widest = shapely.Polygon(ring).minimum_rotated_rectangle.area
        assert widest == pytest.approx(2.4 * 1.1 if size == 2 else 2.4**2, rel=1e-3)


@pytest.mark.parametrize(
    ("written", "unit", "expected"),
    [
        (2.5, "ft", 0.762),
        ("7 ft 10 in", "m", 2.3876),
        ("7'-10 1/2\"", "m", 2.4003),
        ("240 cm", "ft", 2.4),
        ("17 1/4 in", "m", 0.43815),
        ("29 in", "m", 0.7366),
    ],
)
def test_lengths_as_people_write_them(written: object, unit: str, expected: float) -> None:
    assert metres(written, unit) == pytest.approx(expected, abs=1e-12)


def test_distances_between_upright_things_against_sampled_points() -> None:
    random = np.random.default_rng(3)
    for _ in range(20):
        hanging = Hanging(_plan(random), -0.05, 0.08)
        thing = Prism(_plan(random), (0.5, 0.1), 1.9, 2.3)
        at = random.uniform((-1, -1, 1.5), (1.6, 1.2, 2.7))
        mine = _points(hanging.plan, at[:2], at[2] - 0.05, at[2] + 0.08, random)
        its = _points(thing.plan, np.array(thing.middle), thing.low, thing.high, random)
        sampled = min(np.linalg.norm(its - point, axis=1).min() for point in mine)
        told = gap(hanging, at, thing)[0]
        assert told - 1e-9 <= sampled <= told + 0.12  # samples stand some 5 cm apart in each
        if in_one_place(hanging, at, thing)[0]:
            assert told == 0


def test_lines_through_things_against_points_on_the_line() -> None:
    random = np.random.default_rng(4)
    starts, ends = (
        random.uniform((-1, -1, 2), (1, 1, 3), (300, 3)),
        random.uniform((-1, -1, 0), (1, 1, 1.5), (300, 3)),
    )
    share = np.linspace(0, 1, 2001)
    for plan in (Plan(radius=0.3), Plan.rectangle(0.6, 0.3, 25)):
        thing = Prism(plan, (0.1, -0.2), 1.2, 2.1)
        told = through(starts, ends, thing)
        for start, end, (enter, leave) in zip(starts, ends, told, strict=True):
            points = start + share[:, None] * (end - start)
            within = _within(thing, points)
            if within.any():
                assert share[within][0] == pytest.approx(enter, abs=1e-3)
                assert share[within][-1] == pytest.approx(leave, abs=1e-3)
            else:
                assert math.isnan(enter) or leave - enter < 1e-3


def test_a_line_that_leaves_the_room_and_comes_back_is_found() -> None:
    ell = [(0, 0), (6, 0), (6, 2.5), (2.5, 2.5), (2.5, 6), (0, 6)]
    starts, ends = np.array([[2.0, 5.0, 2.4], [1.0, 5.0, 2.4]]), np.array([[5.0, 2.1, 1.2], [1.0, 1.0, 1.2]])
    out = outside_share(starts, ends, ell)
    # of the first: from x = 2.5 down to y = 2.5, that is from a sixth of the way to 2.5 / 2.9 of it
    assert out[0] == pytest.approx((2.5 / 2.9 - 1 / 6) * math.hypot(3, 2.9), abs=1e-6)
    assert out[1] == 0


def test_the_sprinkler_table_is_the_one_written_down_in_feet_and_inches() -> None:
    assert BEAM_TABLE[0] == pytest.approx((0.3048, 0.0635))
    assert BEAM_TABLE[-1] == pytest.approx((1.8288, 0.6096))
    assert all(a < c and b < d for (a, b), (c, d) in itertools.pairwise(BEAM_TABLE))


def test_people_are_counted_by_the_worst_of_their_heads() -> None:
    room = _room(seats=[{"id": "S1", "at": [3.0, 1.0]}, {"id": "S2", "at": [5.6, 3.6], "stands": True}])
    counts = Judged(room).counts
    assert counts["talkers"] == 2
    assert sum(counts[state] for state in ("covered", "marginal", "missed", "blocked")) == 2


def test_random_rooms_are_the_same_for_the_same_seed(tmp_path: Path) -> None:
    texts = [write_room(7, tmp_path).read_text("utf-8") for _ in range(2)]
    assert texts[0] == texts[1]
    assert read(tmp_path / "room-7.yaml").arrays


def _room(**more: object) -> Room:
    raw = {
        "overtable": 1,
        "name": "By hand",
        "units": "m",
        "room": {"size": [6, 4], "ceiling": 2.7},
        "seats": [{"id": "S1", "at": [3.0, 1.0]}],
        "profiles": {
            "p": {
                "mount": "pendant",
                "body": {"diameter": 0.2, "height": 0.06},
                "bands": {"b": [20, 70]},
                "reach": [0.5, 3],
            }
        },
        "arrays": [{"id": "A1", "profile": "p", "at": [3, 2], "height": 2.3, "band": "b"}],
        **more,
    }
    return room_of(raw, raw)


def _plan(random: np.random.Generator) -> Plan:
    if random.random() < 0.5:
        return Plan(radius=float(random.uniform(0.05, 0.3)))
    x, y = random.uniform(0.1, 0.6, 2)
    return Plan.rectangle(float(x), float(y), float(random.uniform(0, 90)))


def _points(plan: Plan, at: np.ndarray, low: float, high: float, random: np.random.Generator) -> np.ndarray:
    shape = (
        shapely.Polygon(np.array(plan.corners) + at)
        if plan.corners
        else shapely.Point(at).buffer(plan.radius, 64)
    )
    x0, y0, x1, y1 = shape.bounds
    edge_points = [shape.exterior.interpolate(s).coords[0] for s in np.linspace(0, shape.exterior.length, 80)]
    inner = random.uniform((x0, y0), (x1, y1), (200, 2))
    inner = inner[shapely.contains_xy(shape, inner[:, 0], inner[:, 1])]
    plan_points = np.concatenate([np.array(edge_points), inner])
    levels = np.linspace(low, high, 8)
    return np.array([(x, y, z) for x, y in plan_points for z in levels])


def _within(thing: Prism, points: np.ndarray) -> np.ndarray:
    own = points[:, :2] - np.array(thing.middle)
    if thing.plan.corners:
        flat = shapely.contains_xy(shapely.Polygon(thing.plan.corners), own[:, 0], own[:, 1])
    else:
        flat = np.hypot(own[:, 0], own[:, 1]) < thing.plan.radius
    return np.asarray(flat & (points[:, 2] > thing.low) & (points[:, 2] < thing.high))


def test_what_holds_again_farther_out_does_not_make_a_box_larger() -> None:
    assert largest(lambda w: w < 0.0431 or w > 0.2) == pytest.approx(0.0431, abs=1e-4)
    assert largest(lambda w: w < 0.0012) == pytest.approx(0.0012, abs=1e-4)
    assert largest(lambda w: w > 1.0) < 1e-4
    assert largest(lambda w: True) == LARGEST_M
