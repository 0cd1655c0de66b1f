"""Speed of the certified search, beside scipy's global optimisers asked the same thing in the same run."""

import time
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.optimize import differential_evolution, direct

from geometry.aims import GAP_M, Aim, Centre, Margin, Most, Near, Tolerance
from geometry.arrangement import Arrangement, Wish, arrange
from geometry.band import Band, slack
from geometry.constraint import SearchBox
from geometry.coverage import Heads
from geometry.kind import ArrayKind
from geometry.placement import search
from geometry.problem import ArrangementProblem
from scenes.place.search import place_scene
from tests.scenes.ceiling_parts import scene_of, ten_small_parts, ten_strips

BANDS = (Band(8, 29, 1, 3), Band(21, 66, 1, 3), Band(53, 88, 1, 3))
BOX = SearchBox((0, 0, 0.9), (7.2, 4.6, 2.7))


def seven() -> Heads:
    mouths = [(x, y, 1.2) for x in (2.65, 3.4, 4.15) for y in (1.45, 3.15)] + [(4.85, 2.3, 1.2)]
    return Heads.at(mouths, sway_m=0.1, half_range_m=0.085)


KIND = ArrayKind(BANDS, BOX)
FIVE = (Near(0.05), Tolerance(), Margin(), Centre(), Most())


def by_all_aims(heads: Heads) -> Arrangement:
    """One array by all five aims, from nothing."""
    return arrange(ArrangementProblem(heads, (KIND,)), Wish(FIVE), 1)


def crowd(count: int) -> tuple[Heads, ArrayKind]:
    """People on an ellipse of a size that a reach of 3 m just covers, or beyond it for 200."""
    turn = 2 * np.pi * np.arange(count) / count
    mouths = np.column_stack([4 + 1.9 * np.cos(turn), 3 + 1.3 * np.sin(turn), 1.15 + 0.1 * np.sin(5 * turn)])
    return Heads.at(mouths, sway_m=0.1, half_range_m=0.085), ArrayKind(
        BANDS, SearchBox((0, 0, 0.9), (8, 6, 3.0))
    )


def objective(heads: Heads, band: Band):  # type: ignore[no-untyped-def]
    """The negated least margin for scipy, one position at a time, with arrays prepared once."""
    points, demand, _ = heads.ends()

    def loss(at: np.ndarray) -> float:
        return -float(
            (
                slack(band, np.hypot(points[:, 0] - at[0], points[:, 1] - at[1]), at[2] - points[:, 2])
                - demand
            ).min()
        )

    return loss


def evolved(heads: Heads) -> float:
    """The largest least margin over all bands by differential evolution as scipy sets it up by itself."""
    bounds = list(zip(BOX.low_m, BOX.high_m, strict=True))
    return max(-differential_evolution(objective(heads, band), bounds, seed=1).fun for band in BANDS)


def least_processor_seconds(run: Callable[[], object], rounds: int) -> float:
    """The least of some runs: what else the machine does only ever adds."""
    times = []
    for _ in range(rounds):
        began = time.process_time()
        run()
        times.append(time.process_time() - began)
    return min(times)


@pytest.mark.benchmark(group="seven talkers, three bands")
def test_certified_search(benchmark: BenchmarkFixture) -> None:
    found = benchmark(search, seven(), KIND, Margin())
    assert found.outcome == "certified"


@pytest.mark.benchmark(group="seven talkers, three bands")
def test_all_five_aims(benchmark: BenchmarkFixture) -> None:
    answer = benchmark(by_all_aims, seven())
    assert [answer.by_aim[aim.name].outcome for aim in FIVE] == ["certified"] * 5


@pytest.mark.benchmark(group="seven talkers, three bands")
def test_differential_evolution(benchmark: BenchmarkFixture) -> None:
    benchmark.pedantic(evolved, args=(seven(),), rounds=3)


def test_many_times_faster_than_differential_evolution_and_no_worse() -> None:
    heads = seven()
    found = search(heads, KIND, Margin())
    assert found.value is not None
    assert found.bound is not None
    best = evolved(heads)
    assert best <= found.bound + 1e-9
    assert found.value >= best - GAP_M
    # ratios within one run, not times. Measured: one aim 60 to 90, all five in one call 20 to 30
    theirs = least_processor_seconds(lambda: evolved(heads), 3)
    assert theirs / least_processor_seconds(lambda: search(heads, KIND, Margin()), 15) >= 40
    assert theirs / least_processor_seconds(lambda: by_all_aims(heads), 15) >= 20


def test_direct_never_beats_the_bound() -> None:
    heads = seven()
    bounds = list(zip(BOX.low_m, BOX.high_m, strict=True))
    found = search(heads, KIND, Margin())
    assert found.bound is not None
    best = max(-direct(objective(heads, band), bounds, maxfun=4000).fun for band in BANDS)
    assert best <= found.bound + 1e-9


@pytest.mark.benchmark(group="crowds")
@pytest.mark.parametrize("count", [12, 40, 200])
def test_crowds(benchmark: BenchmarkFixture, count: int) -> None:
    heads, kind = crowd(count)
    found = benchmark(search, heads, kind, Margin())
    assert found.outcome == "certified"
    assert found.gap <= GAP_M


@pytest.mark.benchmark(group="aims")
@pytest.mark.parametrize("aim", FIVE, ids=lambda aim: aim.name)
def test_aims(benchmark: BenchmarkFixture, aim: Aim) -> None:
    found = benchmark(lambda: search(seven(), KIND, aim))
    assert found.outcome == "certified"
    assert found.gap <= aim.gap


@pytest.mark.parametrize("parts", [ten_strips(), ten_small_parts()])
def test_ten_ceiling_parts_cost_at_most_so_many_times_a_flat_ceiling(parts: list[dict[str, object]]) -> None:
    """The whole question of `overtable place`: all five aims, tolerances, how far the array may move.

    Measured: 2.0 to 2.2 times of small parts, 2.0 to 2.9 of strips, on a busy machine; before lines past the ceiling and
    rules under its parts were asked together it was 2.4 and 2.1 of a flat ceiling that took three times as long.
    """
    devices = [
        {"id": "L1", "kind": "light", "at": [3.0, 1.9], "size": [1.2, 0.3], "depth": 0.1, "below": 0.0},
        {"id": "SP1", "kind": "sprinkler", "at": [4.6, 2.6], "below": 0.08, "spray": "standard"},
    ]
    stepped, flat = scene_of(parts, overhead=devices), scene_of([], overhead=devices)
    # side by side, so that what else the machine does slows both
    times = [
        [least_processor_seconds(partial(place_scene, room), 1) for room in (stepped, flat)] for _ in range(4)
    ]
    least = np.min(times, axis=0)
    assert least[0] < 3.0 * least[1]
