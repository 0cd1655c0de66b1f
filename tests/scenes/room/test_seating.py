"""Tables of every shape and the seats around them."""

from __future__ import annotations

import math

import pytest
import shapely

from scenes.room.seating import (
    CHORD_ERROR_M,
    along_line,
    outline,
    point_along,
    polygon_sides,
    seats_around,
    table_sides,
)

SHAPES = {
    "rectangle": table_sides("rectangle", (2.4, 1.2)),
    "round": table_sides("round", (1.5,)),
    "racetrack": table_sides("racetrack", (3.0, 1.2)),
    "racetrack, upright": table_sides("racetrack", (1.2, 3.0)),
    "racetrack, as wide as long": table_sides("racetrack", (1.4, 1.4)),
    "boat": table_sides("boat", (3.2, 1.4)),
    "boat, swollen": table_sides("boat", (1.0, 2.4), ends=0.1),
    "boat, straight": table_sides("boat", (3.0, 1.2), ends=1.2),
    "trapezoid": table_sides("trapezoid", (3.0, 1.4)),
    "hollow": polygon_sides([(0, 0), (4, 0), (4, 3), (3, 3), (3, 1), (1, 1), (1, 3), (0, 3)])[0],
}


@pytest.mark.parametrize("name", SHAPES)
def test_outlines_run_anticlockwise_once_around_and_close(name):
    sides = SHAPES[name]
    ring = shapely.LinearRing(outline(sides, (0, 0), 0))
    assert ring.is_simple
    assert ring.is_ccw
    for side, following in zip(sides, sides[1:] + sides[:1], strict=True):
        assert side.point(1.0)[0] == pytest.approx(following.point(0.0)[0], abs=1e-12)
    # chords are shorter than the curve, by a little
    length = sum(side.length for side in sides)
    assert ring.length <= length + 1e-9
    assert ring.length == pytest.approx(length, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "area"),
    [
        ("rectangle", 2.4 * 1.2),
        ("round", math.pi * 0.75**2),
        ("racetrack", 1.8 * 1.2 + math.pi * 0.6**2),
        ("racetrack, upright", 1.8 * 1.2 + math.pi * 0.6**2),
        ("racetrack, as wide as long", math.pi * 0.7**2),
        ("boat, straight", 3.6),
        ("trapezoid", 3.0 * (1.4 + 0.84) / 2),
    ],
)
def test_areas_are_those_of_the_closed_formulas(name, area):
    polygon = shapely.Polygon(outline(SHAPES[name], (0, 0), 0))
    assert polygon.area == pytest.approx(area, abs=CHORD_ERROR_M * polygon.length)


def test_a_boat_is_full_in_the_middle_and_narrow_at_its_ends():
    ring = shapely.Polygon(outline(SHAPES["boat"], (0, 0), 0))
    left, low, right, high = ring.bounds
    assert (left, right) == pytest.approx((-1.6, 1.6), abs=1e-9)
    assert (low, high) == pytest.approx((-0.7, 0.7), abs=CHORD_ERROR_M)
    end = ring.intersection(shapely.LineString([(1.6, -2), (1.6, 2)]))
    assert end.length == pytest.approx(0.7 * 1.4, abs=1e-9)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("gap", [0.0, 0.15, 0.4])
def test_every_seat_lies_on_the_outlines_offset_and_faces_the_edge(name, gap):
    at, turn = (3.0, -1.0), 33.0
    sides = SHAPES[name]
    polygon = shapely.Polygon(outline(sides, at, turn))
    seats = seats_around(sides, at, turn, gap_m=gap, pitch_m=0.6)
    assert seats
    for seat in seats:
        mouth = shapely.Point(seat.at_m)
        assert polygon.exterior.distance(mouth) == pytest.approx(gap, abs=2.1 * CHORD_ERROR_M)
        assert not polygon.buffer(-3 * CHORD_ERROR_M).contains(mouth)
        facing = math.radians(seat.facing_deg)
        ahead = shapely.Point(
            seat.at_m[0] + (gap + 0.02) * math.cos(facing), seat.at_m[1] + (gap + 0.02) * math.sin(facing)
        )
        assert polygon.contains(ahead)


def places(sides, **options):
    return [tuple(round(c, 6) for c in seat.at_m) for seat in seats_around(sides, (0, 0), 0, **options)]


def test_a_rectangle_seats_floor_of_length_over_pitch_centred_on_each_side():
    # 2.4 / 0.75 -> 3 along, 1.2 / 0.75 -> 1 at each end; from +x anticlockwise
    assert places(SHAPES["rectangle"], gap_m=0.25, pitch_m=0.75) == [
        (1.45, 0.0),
        (0.75, 0.85),
        (0.0, 0.85),
        (-0.75, 0.85),
        (-1.45, 0.0),
        (-0.75, -0.85),
        (0.0, -0.85),
        (0.75, -0.85),
    ]


def test_a_side_that_is_a_whole_number_of_pitches_long_keeps_its_last_seat():
    assert len(places(table_sides("rectangle", (2.1, 0.7)), gap_m=0.2, pitch_m=0.7)) == 8


def test_a_round_table_seats_equal_arcs_with_the_first_at_plus_x():
    seats = places(SHAPES["round"], gap_m=0.25, pitch_m=0.75)
    assert len(seats) == math.floor(math.pi * 1.5 / 0.75 + 1e-9) == 6
    assert seats[0] == (1.0, 0.0)
    angles = [math.degrees(math.atan2(y, x)) % 360 for x, y in seats]
    assert angles == pytest.approx([0, 60, 120, 180, 240, 300], abs=1e-4)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("count", [1, 4, 7, 8])
def test_a_count_gives_that_many(name, count):
    if name != "hollow":  # in a hollow side some seats have no room
        assert len(places(SHAPES[name], gap_m=0.25, count=count)) == count


def test_a_count_is_shared_by_length():
    assert places(SHAPES["rectangle"], gap_m=0.25, count=8) == [
        (1.45, 0.0),
        (0.8, 0.85),
        (0.0, 0.85),
        (-0.8, 0.85),
        (-1.45, 0.0),
        (-0.8, -0.85),
        (0.0, -0.85),
        (0.8, -0.85),
    ]


@pytest.mark.parametrize("name", ["rectangle", "round", "racetrack", "boat", "trapezoid"])
def test_skipped_sides_stay_empty_and_the_rest_stand_as_before(name):
    everybody = seats_around(SHAPES[name], (0, 0), 0, gap_m=0.25, pitch_m=0.5)
    some = seats_around(SHAPES[name], (0, 0), 0, gap_m=0.25, pitch_m=0.5, skip=("+x", "-y"))
    assert some == [seat for seat in everybody if seat.side not in ("+x", "-y")]
    assert len(some) < len(everybody)
    turned = seats_around(SHAPES[name], (0, 0), 90, gap_m=0.25, pitch_m=0.5, skip=("+x", "-y"))
    assert [seat.side for seat in turned] == [seat.side for seat in some]


def test_a_hollow_side_seats_nobody_nearer_than_the_gap():
    polygon = shapely.Polygon(outline(SHAPES["hollow"], (0, 0), 0))
    seats = seats_around(SHAPES["hollow"], (0, 0), 0, gap_m=0.3, pitch_m=0.45)
    assert min(polygon.exterior.distance(shapely.Point(s.at_m)) for s in seats) >= 0.3 - 2 * CHORD_ERROR_M


def test_unknown_shapes_and_both_or_no_measure_are_refused():
    with pytest.raises(ValueError, match="allowed: rectangle"):
        table_sides("oval", (2, 1))
    with pytest.raises(ValueError, match="exactly one"):
        seats_around(SHAPES["round"], (0, 0), 0, gap_m=0.2)


def test_a_line_has_both_ends_and_at_most_the_step_between():
    points, distances, total = along_line([(0, 0), (3, 0), (3, 1)], 0.8)
    assert total == 4
    assert points[0] == (0, 0)
    assert points[-1] == (3, 1)
    assert distances == pytest.approx([0, 0.8, 1.6, 2.4, 3.2, 4.0])
    assert points[4] == pytest.approx((3, 0.2))
    assert len(along_line([(0, 0), (1, 0)], 5)[0]) == 2
    assert point_along([(0, 0), (1, 0)], -1) == (0, 0)
    assert point_along([(0, 0), (1, 0)], 9) == (1, 0)
