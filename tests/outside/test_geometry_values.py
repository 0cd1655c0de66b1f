"""Bands, footprints, angles and meshes against published and independently computed values.

Each value says where it is from: "published" was read at the address named, "computed" was worked out
from the formula named by other means than ours.
"""

import math
from itertools import count

import numpy as np
import pytest

from geometry.band import Band, depression_deg, footprint, range_and_drop, slack, slant_m
from geometry.solids import band_solid, band_volume_m3, revolved, volume_m3

# Solid angle 2π(sin high - sin low), sr; computed, numerically integrated. The annuli's and solids'
# formulas are textbook ones (spherical segment and zone: geogebra.org/m/n2KSj5jX, theinfolist.com).
SOLID_ANGLES_SR = [
    (0, 90, 6.283185),
    (0, 41, 4.122140),
    (41, 90, 2.161045),
    (15, 60, 3.815190),
    (20, 60, 3.292422),
    (20, 70, 3.755287),
]

# Ω (R2³ - R1³) / 3, m³; computed.
SHELL_SECTORS_M3 = [
    (20, 60, 0, 3, 29.631799),
    (20, 60, 1, 3, 28.534325),
    (0, 90, 0, 1, 2.094395),
]

# Cone and plane: drop m, band -> inner and outer radius m, area m², slant to each radius m; computed.
ANNULI = [
    (1.0, 20, 60, 0.5774, 2.7475, 22.6675, 1.1547, 2.9238),
    (1.0, 15, 75, 0.2679, 3.7321, 43.5312, 1.0353, 3.8637),
    (1.2, 20, 60, 0.6928, 3.2970, 32.6412, 1.3856, 3.5086),
    (1.2, 15, 75, 0.3215, 4.4785, 62.6849, 1.2423, 4.6364),
    (1.5, 20, 60, 0.8660, 4.1212, 51.0019, 1.7321, 4.3857),
    (1.8, 15, 75, 0.4823, 6.7177, 141.041, 1.8635, 6.9547),
]

# Exercises in surveying: height, angle of depression -> distance on the level as printed (to the unit),
# and to more places; all published at the address named.
LEVEL_DISTANCES = [
    (60, 3, 1145, 1144.8682, "algebra.com question 159972, feet"),
    (145, 29, 262, 261.5869, "hackmath.net 4645, feet"),
    (250, 50, 210, 209.7749, "web2.0calc.com, feet"),
    (30, 10, 170, 170.1385, "jiskha.com 1306640119, metres"),
    (180, 29, 325, 324.729, "one of algebra.com, hackmath, 0calc, jiskha, tutorvista; metres"),
]

# Height, distance on the level -> depression as printed and exact; published.
DEPRESSIONS_DEG = [
    (180, 200, 41.9833, 41.9872, "tutorvista: printed 41°59'"),
    (180, 850, 12, 11.957, "one of algebra.com, hackmath, 0calc, jiskha, tutorvista: printed 12°"),
]

# Integer right triangles: dx, dy, drop -> slant, depression; computed.
TRIANGLES = [
    (3, 0, 4, 5, 53.130102),
    (4, 0, 3, 5, 36.869898),
    (2, 2, 1, 3, 19.471221),
    (5, 0, 12, 13, 67.380135),
    (2, 3, 6, 7, 58.997280),
]


@pytest.mark.parametrize(("low", "high", "steradians"), SOLID_ANGLES_SR, ids=count())
def test_solid_angles(low, high, steradians):
    # a reach of ∛3 makes Ω far³ / 3 the solid angle itself
    band = Band(low, high, 0, 3 ** (1 / 3))
    assert band_volume_m3(band) == pytest.approx(steradians, abs=2e-6)
    assert volume_m3(band_solid(band, segments=720)) == pytest.approx(steradians, rel=1e-4)


@pytest.mark.parametrize(("low", "high", "near", "far", "cubic_metres"), SHELL_SECTORS_M3)
def test_shell_sectors(low, high, near, far, cubic_metres):
    band = Band(low, high, near, far)
    assert band_volume_m3(band) == pytest.approx(cubic_metres, abs=2e-6)
    assert volume_m3(band_solid(band, segments=720)) == pytest.approx(cubic_metres, rel=1e-4)


def test_a_shell_sector_by_counting_points():
    # 20-60°, 1-3 m: 28.534 m³ by the formula, 28.65 by somebody else's Monte Carlo; computed
    random = np.random.default_rng(20260)
    points = random.uniform((-3, -3, -3), (3, 3, 0), (400_000, 3))
    inside = slack(Band(20, 60, 1, 3), *range_and_drop((0, 0, 0), points)) >= 0
    # one standard error of the count is 0.13 m³ x 0.6
    assert inside.mean() * 6 * 6 * 3 == pytest.approx(28.534, abs=0.3)


@pytest.mark.parametrize(("drop", "low", "high", "inner", "outer", "area", "slant_in", "slant_out"), ANNULI)
def test_annuli(drop, low, high, inner, outer, area, slant_in, slant_out):
    radii = footprint(Band(low, high, 0, 10), drop)
    assert radii == pytest.approx((inner, outer), abs=2e-4)
    assert math.pi * (radii[1] ** 2 - radii[0] ** 2) == pytest.approx(area, abs=2e-3)
    assert slant_m((0, 0, drop), (radii[0], 0, 0)) == pytest.approx(slant_in, abs=2e-4)
    assert slant_m((0, 0, drop), (0, radii[1], 0)) == pytest.approx(slant_out, abs=2e-4)


def test_a_frustum():
    # radii 3 and 2, height 4: πh(r1² + r1 r2 + r2²)/3 = 79.587014, lateral π(r1 + r2)s = 64.765592; computed
    mesh = revolved([(0, 0), (3, 0), (2, 4), (0, 4)], segments=2000)
    assert volume_m3(mesh) == pytest.approx(79.587014, rel=1e-5)
    corners = mesh.points[mesh.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    sloping = np.ptp(corners[:, :, 2], axis=1) > 0
    assert np.linalg.norm(normals[sloping], axis=1).sum() / 2 == pytest.approx(64.765592, rel=1e-5)


def test_the_zone_at_the_far_end():
    # 2πR times the zone's height, R = 3 m, 20-60°: 29.631799 m²; computed
    mesh = band_solid(Band(20, 60, 1, 3), segments=1000)
    corners = mesh.points[mesh.faces]
    far = np.abs(np.linalg.norm(corners, axis=2) - 3).max(axis=1) < 1e-9
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[far]
    assert np.linalg.norm(normals, axis=1).sum() / 2 == pytest.approx(29.631799, rel=1e-4)


def test_shares_of_a_sphere_on_the_earth():
    # between the tropics (±23.4366°) 39.8 % of the surface, each polar cap 4.12 %; computed
    sphere = 4 / 3 * math.pi
    assert 2 * band_volume_m3(Band(0, 23.4366, 0, 1)) / sphere == pytest.approx(0.398, abs=5e-4)
    assert band_volume_m3(Band(90 - 23.4366, 90, 0, 1)) / sphere == pytest.approx(0.0412, abs=1e-4)


@pytest.mark.parametrize(("height", "angle", "printed", "exact", "source"), LEVEL_DISTANCES)
def test_level_distances_from_a_depression(height, angle, printed, exact, source):
    # the outer edge of a band that begins at the angle
    outer = footprint(Band(angle, 90, 0, 1e5), height)[1]
    assert outer == pytest.approx(exact, abs=1e-3), source
    assert outer == pytest.approx(printed, abs=1), source
    assert depression_deg((0, 0, height), (exact, 0, 0)) == pytest.approx(angle, abs=1e-3), source


def test_a_level_height_from_a_depression_in_degrees_and_minutes():
    # 50 m away at 70°36': 142.0 m up, exactly 141.983; published (one of the same five)
    assert depression_deg((0, 0, 141.983), (50, 0, 0)) == pytest.approx(70 + 36 / 60, abs=1e-3)


@pytest.mark.parametrize(("height", "level", "printed", "exact", "source"), DEPRESSIONS_DEG)
def test_depressions_from_a_level_distance(height, level, printed, exact, source):
    depression = depression_deg((0, 0, height), (0, level, 0))
    assert depression == pytest.approx(exact, abs=1e-3), source
    assert depression == pytest.approx(printed, abs=0.05), source


def test_a_publication_that_is_wrong():
    # hackmath.net 23941: 105 m up, depression 1°49' -> prints 198 695.437 m, having read 1°49' as 1'49";
    # right is 3310.481 m
    right = footprint(Band(1 + 49 / 60, 90, 0, 1e6), 105)[1]
    misread = footprint(Band(1 / 60 + 49 / 3600, 90, 0, 1e6), 105)[1]
    assert right == pytest.approx(3310.481, abs=0.01)
    assert misread == pytest.approx(198_695.437, abs=0.01)


@pytest.mark.parametrize(("dx", "dy", "drop", "slant", "depression"), TRIANGLES)
def test_integer_right_triangles(dx, dy, drop, slant, depression):
    assert slant_m((1, 1, 1 + drop), (1 + dx, 1 + dy, 1)) == pytest.approx(slant, abs=1e-12)
    assert depression_deg((1, 1, 1 + drop), (1 + dx, 1 + dy, 1)) == pytest.approx(depression, abs=1e-5)


def test_a_typical_seat():
    # array (0, 0, 2.4), mouth (1.5, 0.6, 1.2): 1.61555 m on plan, 2.01246 m slant, 36.60428°; computed
    array, mouth = (0, 0, 2.4), (1.5, 0.6, 1.2)
    assert range_and_drop(array, mouth)[0] == pytest.approx(1.61555, abs=1e-4)
    assert slant_m(array, mouth) == pytest.approx(2.01246, abs=1e-4)
    assert depression_deg(array, mouth) == pytest.approx(36.60428, abs=1e-4)
