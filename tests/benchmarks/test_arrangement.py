"""Speed of arrangements: what dropping sets and elements saves the solver, and what conflicts prove."""

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.optimize import Bounds, LinearConstraint, milp

from geometry.aims import Margin, Near
from geometry.arrangement import Arrangement, Wish, arrange
from geometry.band import Band, pair_slack
from geometry.constraint import SearchBox
from geometry.cover_proof import Thoroughness
from geometry.coverage import Heads
from geometry.kind import ArrayKind
from geometry.problem import ArrangementProblem
from geometry.set_cover import smallest_cover

BANDS = (Band(8, 29, 1, 3), Band(21, 66, 1, 3), Band(53, 88, 1, 3))


def crowd(count: int) -> tuple[Heads, ArrayKind]:
    """People seated and standing anywhere in a room that grows with their number."""
    width, depth = {12: (4.2, 2.6), 40: (8, 6), 200: (16, 12)}[count]
    dice = np.random.default_rng(1)
    xy = dice.uniform((0.8, 0.8), (width + 0.8, depth + 0.8), (count, 2))
    heads = Heads.at(
        np.column_stack([xy, dice.choice([1.2, 1.2, 1.5], count)]), sway_m=0.05, half_range_m=0.05
    )
    return heads, ArrayKind(BANDS, SearchBox((0.3, 0.3, 1.9), (width + 1.3, depth + 1.3, 2.7)))


def arranged(heads: Heads, kind: ArrayKind, count: int | str, wish: Wish) -> Arrangement:
    return arrange(ArrangementProblem(heads, (kind,)), wish, count)  # type: ignore[arg-type]


def lattice_sets(heads: Heads, kind: ArrayKind) -> np.ndarray:
    """Whom each place of a lattice of 0.25 m covers in each band, doubles included."""
    axes = [np.arange(a, b, 0.25) for a, b in zip(kind.box.low_m, kind.box.high_m, strict=True)]
    at = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 3)
    points, keep, head = heads.ends()
    order = np.argsort(head, kind="stable")
    start = np.searchsorted(head[order], np.arange(len(heads)))
    margins = [pair_slack(band, at, points[order]) - keep[order][:, None] for band in kind.bands]
    return np.concatenate([np.minimum.reduceat(m, start, axis=0).T >= 0 for m in margins])


@pytest.mark.parametrize("count", [40, 12])
def test_fewest(benchmark: BenchmarkFixture, count: int) -> None:
    benchmark.group = f"fewest arrays, {count} heads"
    heads, kind = crowd(count)
    answer = benchmark.pedantic(
        lambda: arranged(heads, kind, "fewest", Wish((Near(),), Margin(), limit=30)),
        rounds=1,
        warmup_rounds=0,
    )
    assert answer.margin.value >= 0
    assert answer.count.proven
    assert answer.margin.outcome == "certified"


@pytest.mark.parametrize("core", [True, False])
def test_cover_of_the_core_and_of_everything(benchmark: BenchmarkFixture, core: bool) -> None:
    benchmark.group = "set cover, 40 heads"
    heads, kind = crowd(40)
    sets = lattice_sets(heads, kind)

    def everything() -> float:
        answer = milp(
            np.ones(len(sets)),
            constraints=LinearConstraint(sets.T.astype(float), lb=1),
            integrality=np.ones(len(sets)),
            bounds=Bounds(0, 1),
        )
        return float(answer.fun)

    run = (lambda: smallest_cover(sets).at_least) if core else everything
    least = benchmark.pedantic(run, rounds=2, warmup_rounds=0)
    assert round(least) == 3


@pytest.mark.parametrize("work", [0.0, Thoroughness().work])
def test_conflicts_prove_what_cells_alone_do_not(benchmark: BenchmarkFixture, work: float) -> None:
    benchmark.group = "margin of two arrays, 12 heads"
    heads, kind = crowd(12)
    effort = Thoroughness(work=work)
    answer = benchmark.pedantic(
        lambda: arranged(heads, kind, 2, Wish((Margin(),), thorough=effort)), rounds=2, warmup_rounds=0
    )
    benchmark.extra_info["gap_m"] = answer.margin.gap
    assert (answer.margin.outcome == "certified") == (work > 0)
