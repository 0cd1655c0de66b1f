"""Meshes: closed, outward, of the right volume, and telling inside from outside as slack does."""

import math
from itertools import pairwise

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import example, given, settings
from hypothesis import strategies as st

from geometry.band import Band, footprint, least_edge, range_and_drop, slack
from geometry.shapes import Box, Cylinder, Disc, Segment
from geometry.solids import (
    HAIR_M,
    Mesh,
    band_outline,
    band_solid,
    band_volume_m3,
    clip_to_room,
    facet_error_m,
    moved,
    revolved,
    sector_lines,
    shape_mesh,
    volume_m3,
)
from tests.geometry.strategies import bands

GALLERY = [
    Band(20, 65, 1, 3),  # the dull one
    Band(20, 65, 0, 3),  # an apex for each cone
    Band(30, 90, 1, 3),  # the axis is inside
    Band(40, 90, 0, 3),  # and one apex
    Band(0, 90, 0, 2),  # half a ball
    Band(0, 90, 1, 2),  # half a shell
    Band(0, 3, 0.1, 5),  # a thin disc
    Band(87, 90, 0.01, 5),  # a needle
]

ELL = [(0, 0), (6, 0), (6, 4), (3, 4), (3, 3), (0, 3)]
"""A room with a corner taken out; 21 m²."""


def proper(mesh: Mesh) -> trimesh.Trimesh:
    """The mesh in trimesh's hands, found closed, consistently wound, outward, without slivers."""
    solid = trimesh.Trimesh(*mesh, process=False)
    assert solid.is_watertight
    assert solid.is_winding_consistent
    assert solid.volume > 0
    assert solid.volume == pytest.approx(volume_m3(mesh), rel=1e-9)
    assert np.unique(mesh.faces).tolist() == list(range(len(mesh.points)))
    return solid


# ---------------------------------------------------------------- the band


@pytest.mark.parametrize("band", GALLERY)
def test_the_band_is_a_proper_solid_whose_volume_meets_the_formula(band):
    shortfall = []
    for segments in (24, 48, 96, 192):
        mesh = band_solid(band, segments=segments)
        solid = proper(mesh)
        assert solid.area_faces.min() > 1e-10
        # a ring has a hole through it, the others are balls; a pinched apex would make it neither
        assert solid.euler_number == (0 if band.near_m > 0 and band.high_deg < 90 else 2)
        shortfall.append(band_volume_m3(band) - volume_m3(mesh))
    # inscribed at the far end, so always short, and less so the finer it is
    assert all(coarse > fine > 0 for coarse, fine in pairwise(shortfall))
    assert shortfall[-1] < 6e-4 * band_volume_m3(band)
    if (band.high_deg - band.low_deg) % 15 == 0:
        # the arc's steps are halved with the turn's: four times less for twice the segments
        for coarse, fine in pairwise(shortfall):
            assert coarse / fine == pytest.approx(4, abs=0.1)


@settings(max_examples=40, deadline=None)
@given(bands(), st.integers(8, 60), st.floats(0, 360))
@example(Band(0.0, 89.99999999999999, 0.0, 1.0), 8, 0.0)  # the axis but for a hair: an apex without faces
def test_any_band_is_closed_and_its_points_lie_on_the_surface(band, segments, turn_deg):
    mesh = band_solid(band, segments=segments, turn_deg=turn_deg, at_m=(1, 2, 3))
    proper(mesh)
    assert np.abs(slack(band, *range_and_drop((1, 2, 3), mesh.points))).max() < 1e-9
    middles = mesh.points[mesh.faces].mean(axis=1)
    off = np.abs(slack(band, *range_and_drop((1, 2, 3), middles))).max()
    assert off <= facet_error_m(band, segments=segments) + 1e-9


@pytest.mark.parametrize("band", GALLERY[:6])
def test_containment_agrees_with_the_sign_of_slack(band):
    centre = np.array([3.0, 2.0, 2.6])
    solid = trimesh.Trimesh(*band_solid(band, at_m=centre, segments=48), process=False)
    random = np.random.default_rng(2026)
    points = centre + random.uniform(-1, 1, (10_000, 3)) * (band.far_m + 0.2)
    points[:, 2] = centre[2] - random.uniform(-0.2, band.far_m + 0.2, len(points))
    value = slack(band, *range_and_drop(centre, points))
    clear = np.abs(value) > facet_error_m(band, segments=48) + 1e-9
    assert clear.sum() > 8_000
    assert (value[clear] > 0).any()
    assert (value[clear] < 0).any()
    np.testing.assert_array_equal(solid.contains(points[clear]), value[clear] > 0)


@pytest.mark.parametrize("band", GALLERY[:6])
def test_a_level_cut_has_the_area_of_the_footprint(band):
    drop = 0.55 * band.far_m
    inner, outer = footprint(band, drop)
    circle = shapely.Point(0, 0)
    annulus = circle.buffer(outer, 512).difference(circle.buffer(inner, 512))
    assert annulus.area == pytest.approx(math.pi * (outer**2 - inner**2), rel=1e-5)
    mesh = band_solid(band, segments=360)
    solid = manifold3d.Manifold(manifold3d.Mesh64(mesh.points, mesh.faces.astype(np.uint64)))
    rings = [shapely.LinearRing(ring) for ring in solid.slice(-drop).to_polygons()]
    assert len(rings) == (2 if inner > 0 else 1)
    area = sum(shapely.Polygon(ring).area * (1 if ring.is_ccw else -1) for ring in rings)
    assert area == pytest.approx(annulus.area, rel=1e-3)


def test_the_outline_closes_at_the_axis_and_at_the_apex():
    assert (band_outline(Band(30, 90, 1, 3))[:, 0] == 0).sum() == 2
    assert (band_outline(Band(20, 65, 0, 3)) == 0).all(axis=1).sum() == 1


@pytest.mark.parametrize("sectors", [2, 3, 4, 6, 8])
def test_sector_lines_run_along_edges_of_the_mesh(sectors):
    band = Band(20, 70, 0.8, 3)
    mesh = band_solid(band, turn_deg=15, at_m=(3, 2, 2.4))
    lines = sector_lines(band, sectors, turn_deg=15, at_m=(3, 2, 2.4))
    assert len(lines) == sectors
    for number, line in enumerate(lines):
        assert (line[0] == line[-1]).all()
        azimuth = np.degrees(np.arctan2(line[:, 1] - 2, line[:, 0] - 3))
        off = (azimuth - 15 - 360 / sectors * number + 180) % 360 - 180
        assert np.abs(off).max() < 1e-9
        distance = np.linalg.norm(mesh.points[None] - line[:, None], axis=2).min(axis=1)
        assert distance.max() < 1e-9


def test_one_sector_has_no_dividing_line():
    assert sector_lines(Band(20, 70, 0.8, 3), 1) == []
    with pytest.raises(ValueError, match="sectors is 0"):
        sector_lines(Band(20, 70, 0.8, 3), 0)


# ---------------------------------------------------------------- the room


@pytest.mark.parametrize("band", GALLERY)
def test_a_clipped_band_is_closed_and_stays_a_hair_inside(band):
    mesh = band_solid(band, at_m=(2.2, 1.6, 2.2))
    clipped = clip_to_room(mesh, ELL, 0.0, 2.7)
    solid = proper(clipped)
    room = shapely.Polygon(ELL).buffer(-HAIR_M, join_style="mitre")
    assert shapely.contains_xy(room.buffer(1e-6), clipped.points[:, 0], clipped.points[:, 1]).all()
    assert clipped.points[:, 2].min() >= HAIR_M - 1e-9
    assert clipped.points[:, 2].max() <= 2.7 - HAIR_M + 1e-9
    # by another route: how much of the whole solid's points the room holds
    assert solid.volume < volume_m3(mesh)
    assert (
        least_edge(band, *range_and_drop((2.2, 1.6, 2.2), clipped.points)).min() > -facet_error_m(band) - 1e-6
    )


def test_the_clipped_volume_agrees_with_counting_points():
    band, centre = Band(20, 65, 1, 3), np.array([2.2, 1.6, 2.2])
    clipped = clip_to_room(band_solid(band, at_m=centre, segments=192), ELL, 0.0, 2.7)
    random = np.random.default_rng(5)
    points = random.uniform((0, 0, 0), (6, 4, 2.7), (400_000, 3))
    inside = shapely.contains_xy(shapely.Polygon(ELL), points[:, 0], points[:, 1])
    inside &= slack(band, *range_and_drop(centre, points)) >= 0
    # one standard error of the count is 0.15 %
    assert inside.mean() * 6 * 4 * 2.7 == pytest.approx(volume_m3(clipped), rel=0.01)


def test_a_band_wholly_inside_is_left_alone_and_one_outside_is_empty():
    mesh = band_solid(Band(20, 65, 0.2, 1), at_m=(2, 1.5, 2))
    inside = clip_to_room(mesh, ELL, 0, 2.7)
    assert volume_m3(inside) == pytest.approx(volume_m3(mesh), rel=1e-12)
    gone = clip_to_room(moved(mesh, (20, 0, 0)), ELL, 0, 2.7)
    assert (gone.points.shape, gone.faces.shape) == ((0, 3), (0, 3))


def test_what_is_not_closed_is_refused():
    mesh = band_solid(Band(20, 65, 1, 3))
    with pytest.raises(ValueError, match="closed mesh"):
        clip_to_room(Mesh(mesh.points, mesh.faces[1:]), ELL, 0, 3)
    with pytest.raises(ValueError, match="from the axis"):
        revolved([(-1, 0), (1, 0), (1, 1)])
    with pytest.raises(ValueError, match="segments is 2"):
        revolved([(0, 0), (1, 0), (1, 1)], segments=2)


# ---------------------------------------------------------------- simple shapes


def test_a_profile_may_go_either_way_round():
    profile = [(1.0, 0.0), (2.0, 0.0), (2.0, 1.0)]
    for way in (profile, profile[::-1]):
        # Pappus: area 1/2 on a circle of radius 5/3
        volume = proper(revolved(way, segments=2000)).volume
        assert volume == pytest.approx(math.pi * 5 / 3, rel=1e-5)


def test_a_box_and_a_rod_have_their_volumes_where_they_should_be():
    box = proper(shape_mesh(Box((1, 2, 3), (0.4, 0.5, 0.6), 30)))
    assert box.volume == pytest.approx(0.12)
    assert box.centroid == pytest.approx((1, 2, 3))
    rod = proper(shape_mesh(Cylinder((1, 2, 3), 0.2, 0.4), segments=256))
    assert rod.volume == pytest.approx(math.pi * 0.04 * 0.4, rel=2e-4)
    assert rod.bounds[:, 2].tolist() == pytest.approx([2.8, 3.2])


@settings(max_examples=40, deadline=None)
@given(st.tuples(*[st.floats(-2, 2)] * 3), st.floats(0.002, 0.1))
def test_a_tube_runs_from_start_to_end_in_any_direction(end, radius):
    start = (0.5, -3.0, 0.25)
    tube = proper(shape_mesh(Segment(start, end, radius), segments=64))
    length = math.dist(start, end)
    assert tube.volume == pytest.approx(math.pi * radius**2 * length, rel=3e-3)
    assert tube.centroid == pytest.approx(np.add(start, end) / 2, abs=1e-6)
    along = (tube.vertices - start) @ (np.subtract(end, start) / length)
    assert (along.min(), along.max()) == (pytest.approx(0, abs=1e-9), pytest.approx(length, abs=1e-9))


def test_a_disc_looks_up_and_lines_have_no_surface():
    disc = trimesh.Trimesh(*shape_mesh(Disc((1, 2, 3), 0.5), segments=256), process=False)
    assert disc.area == pytest.approx(math.pi * 0.25, rel=2e-4)
    assert disc.face_normals == pytest.approx(np.tile((0, 0, 1), (256, 1)))
    assert len(shape_mesh(Segment((0, 0, 1), (0, 0, 1), 0.1)).faces) == 0
    with pytest.raises(ValueError, match="radius 0"):
        shape_mesh(Segment((0, 0, 1), (0, 0, 2)))
