"""One set of arrays for all layouts of a room: found for all of them, never better than for each."""

from __future__ import annotations

import itertools
import random
from functools import partial

import numpy as np
import pytest

from geometry.coverage import cover
from geometry.sight import hidden
from scenes.place.everybody import covered_in_the_worst
from scenes.place.layouts import prices
from scenes.place.search import place_scene
from scenes.review.blockers import solids_before
from scenes.room.build import build
from scenes.room.layouts import in_layouts, without_layout
from scenes.room.scene import Scene
from scenes.rules.constraints import constraints_for
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: Alder Room
units: m
room: {{size: [5, 4], ceiling: 2.6}}
layouts:
  one: {{seats: [{one}], obstacles: [{wall}]}}
  two: {{seats: [{two}]}}
profiles:
  reed: {{mount: pendant, body: {{diameter: 0.2, height: 0.1}}, bands: {{mid: [18, 64]}}, reach: [0.5, 3.2]}}
arrays: [{{id: A1, profile: reed}}]
"""
margin = partial(place_scene, aim="margin", advise=False, tabled=False)


def random_room(seed: int) -> Scene:
    """A few seats in each of two layouts, and in the first a screen between some of them."""
    draw = random.Random(seed)

    def seats(layout: str) -> str:
        places = [(round(draw.uniform(0.6, 4.4), 2), round(draw.uniform(0.6, 3.4), 2)) for _ in range(3)]
        return ", ".join(f"{{id: {layout}{k}, at: [{x}, {y}]}}" for k, (x, y) in enumerate(places))

    x, y = round(draw.uniform(1.5, 3.5), 2), round(draw.uniform(1.0, 3.0), 2)
    wall = f"{{id: C1, at: [{x}, {y}], size: [0.1, 1.6], from: 0, to: 1.9}}"
    return build(read_spec_text(ROOM.format(one=seats("P"), two=seats("Q"), wall=wall)))


@pytest.mark.parametrize("seed", [2, 5])
def test_no_place_on_a_grid_beats_the_one_found_and_all_layouts_are_never_better_than_one(seed: int) -> None:
    scene = random_room(seed)
    found = margin(scene)
    assert found.outcome == "certified"
    assert found.bound_m is not None
    for layout in in_layouts(scene):
        alone = margin(layout)
        assert alone.bound_m is not None
        assert found.bound_m <= alone.bound_m + 0.002
    grid = itertools.product(np.arange(0.5, 4.6, 0.2), np.arange(0.5, 3.6, 0.2), np.arange(2.0, 2.55, 0.05))
    places = np.array(list(grid))
    least = np.full(len(places), np.inf)
    for layout in in_layouts(scene):
        (array,) = layout.arrays
        heads = layout.heads_as_rows
        least = np.minimum(
            least, cover(places, [array.profile.band("mid")] * len(places), heads).margin_m.min(axis=1)
        )
        least[hidden(places, heads, solids_before(layout, array)).any(axis=(1, 2))] = -np.inf
        for rule in constraints_for(layout, array):
            least[rule.signed_m(places) < 0] = -np.inf
    best = least.max()
    assert best > -np.inf
    assert best <= found.bound_m + 1e-6
    if found.margin_m is not None:
        assert found.judged is not None
        assert found.margin_m == pytest.approx(min(one.review.margin_m for one in found.judged.layouts))


def test_a_layout_costs_the_others_what_is_lost_and_never_less_than_nothing() -> None:
    scene = random_room(2)
    found = margin(scene)
    told = prices(scene, found, margin)
    assert [one.name for one in told] == ["one", "two"]
    for one in told:
        assert one.costs_m is not None
        assert one.without_m is not None
        assert one.costs_m >= 0
        alone = margin(without_layout(scene, one.name))
        assert one.without_m == pytest.approx(max(alone.largest_margin_m or -9, one.margin_m or -9))
    assert any((one.costs_m or 0) > 0.01 for one in told)
    assert prices(without_layout(scene, "one"), found, margin) == ()


def test_covered_is_what_a_review_counts_in_the_worst_layout() -> None:
    scene = random_room(5)
    found = place_scene(scene, aim="most", advise=False)
    (row,) = found.aims
    assert found.judged is not None
    assert found.most is not None
    assert row.covered == found.most.covered == found.judged.counts.covered
    assert found.most.covered <= 3


def test_the_worst_layout_is_that_with_the_most_not_covered() -> None:
    scene = random_room(2)
    covered = np.array([head.id not in ("P0 (one)", "P1 (one)", "Q2 (two)") for head in scene.heads])
    assert covered_in_the_worst(scene, covered) == (1.0, 1, 3)
    assert covered_in_the_worst(in_layouts(scene)[1], np.array([True, True, False])) == (2.0, 2, 3)
