"""Anybody anywhere against mouths one by one, and the laws an area keeps."""

import numpy as np
import pytest
import shapely

from geometry.anywhere import (
    GAP_M,
    Area,
    Stand,
    as_heads,
    keeps,
    polygons_of,
    slack_maps,
    without_holes,
    worst_of,
)
from geometry.band import Band, Floats, pair_slack
from geometry.coverage import least_margins
from geometry.off_by import OffBy, margins_off_by
from geometry.region import region

BANDS = (Band(17, 43, 0.9, 3.3), Band(41, 84, 0.3, 3.0), Band(0, 90, 0.0, 4.0))
L_SHAPE = shapely.Polygon(
    [(0, 0), (2, 0), (2, 0.8), (0.8, 0.8), (0.8, 2), (0, 2)],
    [[(0.2, 0.2), (0.6, 0.2), (0.6, 0.6), (0.2, 0.6)]],
)
AREA = Area(L_SHAPE, 1.2, 1.5, 0.1)
STEP_M = 0.05


def _positions() -> Floats:
    """(p, 3) places all about the area, and some above its hole."""
    anywhere = np.random.default_rng(14)
    about = anywhere.uniform((-2, -2, 0.8), (4, 4, 3.2), (200, 3))
    return np.concatenate([about, anywhere.uniform((0.2, 0.2, 1.8), (0.6, 0.6, 3.2), (40, 3))])


def _mouths(levels: int = 7) -> Floats:
    """(m, 3) mouths of the area on a lattice, at some heights."""
    along = np.arange(0, 2 + STEP_M / 2, STEP_M)
    x, y = (part.ravel() for part in np.meshgrid(along, along))
    inside = shapely.intersects_xy(L_SHAPE.buffer(1e-9), x, y)
    heights = np.linspace(AREA.low_m, AREA.high_m, levels)
    return np.array([(a, b, h) for a, b in zip(x[inside], y[inside], strict=True) for h in heights])


def _slack(band: Band, positions: Floats, area: Area = AREA) -> Floats:
    return least_margins(band, positions, as_heads([area])) + area.sway_m


@pytest.mark.parametrize("band", BANDS)
def test_no_mouth_of_an_area_has_less_and_one_has_as_much(band: Band) -> None:
    positions = _positions()
    least = pair_slack(band, positions, _mouths()).min(axis=0)
    exact = _slack(band, positions)
    assert (exact <= least + 1e-9).all()
    assert (least - exact).max() <= STEP_M
    one_by_one = [worst_of(AREA, [Stand(tuple(at), band)]).slack_m for at in positions.tolist()]
    assert np.allclose(one_by_one, exact, atol=1e-9)


@pytest.mark.parametrize("band", BANDS)
def test_an_area_of_one_point_is_a_head(band: Band) -> None:
    point = Area(shapely.Polygon([(1.0, 0.5)] * 4), 1.2, 1.5, 0.1)
    ends = np.array([(1.0, 0.5, height) for height in (1.2, 1.5)])
    positions = _positions()
    assert np.allclose(
        _slack(band, positions, point), pair_slack(band, positions, ends).min(axis=0), atol=1e-9
    )


@pytest.mark.parametrize("band", BANDS)
def test_it_changes_by_at_most_a_metre_per_metre(band: Band) -> None:
    here = _positions()
    there = here + np.random.default_rng(15).normal(0, 0.1, here.shape)
    change = np.abs(_slack(band, here) - _slack(band, there))
    assert (change <= np.linalg.norm(here - there, axis=1) + 1e-9).all()


@pytest.mark.parametrize("band", BANDS)
def test_several_arrays_share_an_area_point_by_point(band: Band) -> None:
    anywhere = np.random.default_rng(16)
    levels = 2  # one array answers for a point over its whole mouth range
    mouths = _mouths(levels)
    for _ in range(12):
        several = anywhere.uniform((-1, -1, 1.8), (3, 3, 3.0), (3, 3))
        stands = [Stand(tuple(at), band) for at in several.tolist()]
        of_points = pair_slack(band, several, mouths).reshape(-1, levels, len(several)).min(axis=1)
        least = of_points.max(axis=1).min()
        found = worst_of(AREA, stands)
        assert least - STEP_M <= found.slack_m <= least + 1e-9
        at = np.array(found.at_m)
        both = np.array([(*at[:2], AREA.low_m), (*at[:2], AREA.high_m)])
        there = float(pair_slack(band, several, both).min(axis=0).max())
        assert found.slack_m <= there + 1e-9 <= found.slack_m + GAP_M + 2e-9
        assert keeps(AREA, stands, found.slack_m)
        assert not keeps(AREA, stands, found.slack_m + 2 * GAP_M)


@pytest.mark.parametrize("band", BANDS)
def test_what_is_mapped_has_the_slack_and_what_is_not_has_not(band: Band) -> None:
    stands = [Stand((0.4, 0.4, 2.6), band), Stand((2.2, 1.4, 2.5), band)]
    mouths = _mouths(2)
    given = pair_slack(band, np.array([one.at_m for one in stands]), mouths)
    of_points = given.reshape(-1, 2, len(stands)).min(axis=1).max(axis=1)
    places = mouths[::2, :2]
    for level, shape in zip((0.0, 0.1), slack_maps(AREA, stands, (0.0, 0.1)), strict=True):
        inside = shapely.intersects_xy(shape, places[:, 0], places[:, 1])
        assert (of_points[inside] >= level - 1e-9).all()
        assert (of_points[~inside] <= level + 2e-3).all()


def test_a_shape_with_holes_comes_apart_into_plain_outlines() -> None:
    plain = without_holes(L_SHAPE)
    assert sum(shapely.Polygon(one).area for one in plain) == pytest.approx(L_SHAPE.area)
    ((outline, holes),) = polygons_of(L_SHAPE)
    assert (len(outline), [len(hole) for hole in holes]) == (6, [4])


@pytest.mark.parametrize("band", BANDS)
def test_a_box_of_places_loses_no_mouth_that_it_keeps(band: Band) -> None:
    heads = as_heads([AREA])
    off = OffBy(0.1, 0.05, 0.08)
    corners = np.array([(x, y, z) for x in (-0.1, 0, 0.1) for y in (-0.1, 0, 0.1) for z in (-0.08, 0, 0.05)])
    for at in _positions()[::8]:
        least = _slack(band, at + corners).min() - AREA.sway_m
        left = float(margins_off_by(at, band, heads, off)[0])
        assert left <= max(least, -AREA.sway_m) + 1e-9


def test_where_an_array_may_hang_everybody_anywhere_is_covered() -> None:
    band, heads = BANDS[0], as_heads([Area(shapely.box(0, 0, 0.5, 0.3), 1.2, 1.3, 0.05)])
    found = region(heads, band, 2.4)
    x, y = (part.ravel() for part in np.meshgrid(np.linspace(-3, 3, 61), np.linspace(-3, 3, 61)))
    margins = least_margins(band, np.column_stack([x, y, np.full(len(x), 2.4)]), heads)
    holds = found.holds(np.column_stack([x, y]))
    assert holds.any()
    assert (margins[holds] >= -1e-9).all()
    assert (margins[~holds] <= 0.01).all()
