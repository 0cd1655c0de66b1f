"""How fast slack is, in pairs of position and mouth a second, next to asking a mesh.

Run with `pytest tests/benchmarks/test_slack.py`; the rates are in the extra_info of the saved JSON and
in the printed table's OPS column (operations are calls: multiply by the pairs a call).
"""

import time
import timeit

import numpy as np
import pytest
import trimesh

from geometry.band import Band, least_edge, least_margin, pair_slack, range_and_drop, slack
from geometry.coverage import Heads, cover
from geometry.heights import height_intervals
from geometry.solids import band_solid, facet_error_m

BAND = Band(25, 65, 0.8, 3.2)
POSITIONS = 40_000
SEED = 20261125


def places_and_mouths(mouths):
    """A cell grid's worth of positions over a table, and mouths round it, with what each must keep."""
    random = np.random.default_rng(SEED)
    positions = random.uniform((-1.5, -1.0, 1.8), (1.5, 1.0, 2.8), (POSITIONS, 3))
    points = random.uniform((-2.0, -1.5, 1.05), (2.0, 1.5, 1.35), (mouths, 3))
    return positions, points, random.uniform(0, 0.15, mouths)


def tell_rate(benchmark, pairs):
    """Put the best rate of the run beside the times (there is none where benchmarks are disabled)."""
    if benchmark.stats is not None:
        benchmark.extra_info["million_pairs_per_s"] = round(pairs / benchmark.stats.stats.min / 1e6)


@pytest.mark.parametrize("mouths", [7, 40, 200])
@pytest.mark.parametrize("exact", [False, True], ids=["four numbers", "exact"])
def test_least_margin(benchmark, exact, mouths):
    positions, points, demand = places_and_mouths(mouths)
    result = benchmark(least_margin, BAND, positions, points, demand, exact=exact)
    tell_rate(benchmark, mouths * POSITIONS)
    measure = slack if exact else least_edge
    plain = measure(BAND, *range_and_drop(positions[:500, None], points)) - demand
    np.testing.assert_allclose(result[:500], plain.min(axis=1), atol=1e-12)


def test_height_intervals(benchmark):
    positions, points, demand = places_and_mouths(40)
    heads = Heads.at(points, sway_m=demand)
    low, high = benchmark(height_intervals, positions[:, :2], BAND, heads, demand)
    tell_rate(benchmark, 40 * POSITIONS)
    # with the array at either end nobody loses what they must keep
    some = np.flatnonzero(low <= high)[:50]
    for end in (low, high):
        at = np.column_stack([positions[some, :2], end[some]])
        assert least_margin(BAND, at, points, demand).min() >= -1e-6


def test_cover_of_2000_heads_by_64_arrays(benchmark):
    random = np.random.default_rng(SEED)
    heads = Heads.at(random.uniform((0, 0, 1), (30, 30, 1.3), (2000, 3)), sway_m=0.1, half_range_m=0.08)
    positions = random.uniform((0, 0, 2.2), (30, 30, 2.6), (64, 3))
    coverage = benchmark(cover, positions, [BAND] * 64, heads)
    points, demand, owner = heads.ends()
    margin = pair_slack(BAND, positions, points) - demand[:, None]
    for head in (0, 999, 1999):
        np.testing.assert_allclose(coverage.margin_m[:, head], margin[owner == head].min(axis=0), atol=1e-12)


def test_slack_is_a_thousand_times_faster_than_asking_a_mesh(benchmark):
    """Both told the same 10 000 points in the same run; and both say the same of all off the facets."""
    random = np.random.default_rng(SEED)
    points = random.uniform((-3, -3, -3), (3, 3, 0), (10_000, 3))
    solid = trimesh.Trimesh(*band_solid(BAND), process=False)
    start = time.perf_counter()
    inside = solid.contains(points)
    by_mesh = time.perf_counter() - start
    by_slack = min(timeit.repeat(lambda: pair_slack(BAND, np.zeros((1, 3)), points), number=1, repeat=9))
    value = benchmark(pair_slack, BAND, np.zeros((1, 3)), points)[:, 0]
    clear = np.abs(value) > facet_error_m(BAND)
    assert clear.mean() > 0.9
    np.testing.assert_array_equal(inside[clear], value[clear] > 0)
    tell_rate(benchmark, len(points))
    benchmark.extra_info["times_faster"] = round(by_mesh / by_slack)
    assert by_mesh / by_slack > 1000
