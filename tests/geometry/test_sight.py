import math

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import example, given, settings
from hypothesis import strategies as st

from geometry.shapes import Box, Cylinder, Point3, Solid
from geometry.sight import crossings


def finite(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False)


places = st.tuples(finite(-1, 1), finite(-1, 1), finite(0, 3))
sizes = finite(0.05, 1.5)
boxes = st.builds(Box, places, st.tuples(sizes, sizes, sizes), finite(-180, 180))
cylinders = st.builds(Cylinder, places, finite(0.05, 0.8), sizes)
ends = st.tuples(finite(-3, 3), finite(-3, 3), finite(0, 3))


def meshed(solid: Solid) -> trimesh.Trimesh:
    if isinstance(solid, Box):
        turn = trimesh.transformations.rotation_matrix(math.radians(solid.turn_deg), (0, 0, 1))
        mesh = trimesh.creation.box(solid.size_m, transform=turn)
    else:
        mesh = trimesh.creation.cylinder(solid.radius_m, solid.height_m, sections=256)
    mesh.apply_translation(solid.middle_m)
    return mesh


def test_a_line_through_a_box_enters_and_leaves_at_its_faces() -> None:
    found = crossings([[0, 0, 1]], [[4, 0, 1]], [Box((2, 0, 1), (1, 1, 1)), Box((2, 3, 1), (1, 1, 1))])
    assert found.enter[0, 0] == pytest.approx(1.5 / 4)
    assert found.leave[0, 0] == pytest.approx(2.5 / 4)
    assert found.blocked.tolist() == [[True, False]]
    assert np.isnan(found.enter[0, 1])


def test_a_touch_does_not_block() -> None:
    box = Box((2, 0, 1), (1, 1, 1), 90)
    round_one = Cylinder((2, 0, 1), 0.5, 1)
    starts, stops = [[0, 0.5, 1], [0, 0, 1.5], [0, 0, 1]], [[4, 0.5, 1], [4, 0, 1.5], [1.5, 0, 1]]
    assert not crossings(starts, stops, [box, round_one]).blocked.any()


def test_a_screen_without_thickness_blocks_nothing_and_a_thin_one_does() -> None:
    thin, flat = Box((1, 0, 1), (0.01, 1, 1)), Box((1, 0, 1), (0, 1, 1))
    assert crossings([0, 0, 1], [2, 0, 1], [thin, flat]).blocked.tolist() == [[True, False]]


def test_upright_lines_and_lines_that_begin_inside() -> None:
    round_one = Cylinder((0, 0, 1), 0.5, 1)
    found = crossings(
        [[0.2, 0, 3], [0.6, 0, 3], [0, 0, 1]], [[0.2, 0, 0], [0.6, 0, 0], [0, 0, 9]], [round_one]
    )
    assert found.blocked[:, 0].tolist() == [True, False, True]
    assert found.enter[2, 0] == 0
    assert found.enter[0, 0] == pytest.approx(0.5)


def test_lines_of_unlike_number_are_told() -> None:
    with pytest.raises(ValueError, match=r"allowed is \(k, 3\)"):
        crossings([[0, 0, 0]], [[0, 0, 0], [1, 1, 1]], [])


@settings(max_examples=100, deadline=None)
@given(ends, ends, st.one_of(boxes, cylinders))
# a line of no length to speak of inside a cylinder: the square of its run on plan is 0
@example((0.0, 0.0, 0.0), (0.0, 7.77e-202, 0.0), Cylinder((0.0, 0.0, 0.0), 0.5, 1.0))
def test_blocked_exactly_where_some_point_is_inside(start: Point3, end: Point3, solid: Solid) -> None:
    """The stretch told is inside and what is before and after is not, by shapely on plan and by height."""
    a, b = np.array(start), np.array(end)
    plan: shapely.Geometry = (
        shapely.Polygon(solid.corners_on_plan())
        if isinstance(solid, Box)
        else shapely.Point(solid.middle_m[:2]).buffer(solid.radius_m, quad_segs=256)
    )
    found = crossings(a, b, [solid])
    t = np.linspace(0, 1, 301)
    points = a + t[:, None] * (b - a)
    hair = 1e-4
    inside = shapely.contains_xy(plan.buffer(-hair), points[:, :2]) & (
        np.abs(points[:, 2] - solid.middle_m[2]) < (solid.high_m - solid.low_m) / 2 - hair
    )
    outside = ~shapely.contains_xy(plan.buffer(hair), points[:, :2]) | (
        np.abs(points[:, 2] - solid.middle_m[2]) > (solid.high_m - solid.low_m) / 2 + hair
    )
    told = (t >= found.enter[0, 0]) & (t <= found.leave[0, 0])
    assert not (told & outside).any()
    assert not (~told & inside).any()


@settings(max_examples=60, deadline=None)
@given(ends, ends, boxes)
def test_first_hits_agree_with_trimeshs_rays(start: Point3, end: Point3, solid: Box) -> None:
    a, b = np.array(start), np.array(end)
    length = float(np.linalg.norm(b - a))
    found = crossings(a, b, [solid])
    if length < 0.1 or not (found.blocked[0, 0] and found.enter[0, 0] > 1e-6):
        return
    mesh = meshed(solid)
    hits, _, _ = mesh.ray.intersects_location([a], [(b - a) / length])
    if len(hits):
        first = np.linalg.norm(hits - a, axis=1).min()
        assert first == pytest.approx(found.enter[0, 0] * length, abs=1e-5)
