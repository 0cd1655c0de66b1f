"""The chart behind the height slider: how many are covered at each height, and where rules forbid it."""

from __future__ import annotations

import itertools

import pytest

from scenes.review.review import review
from tests.viz.drawn import dossier_of
from viz.page.slider import slider


@pytest.fixture(scope="module")
def told():
    dossier = dossier_of("heron")
    return dossier, slider(dossier.height_table, dossier.scene)


def test_columns_stand_side_by_side_over_the_whole_track(told):
    for band in told[1]["arrays"][0]["bands"]:
        columns = band["chart"]["columns"]
        assert columns[0][0] == 0
        for (start, wide, *_), (after, *_) in itertools.pairwise(columns):
            assert start + wide == pytest.approx(after, abs=0.02)
        assert columns[-1][0] + columns[-1][1] == pytest.approx(100, abs=0.02)


@pytest.mark.parametrize("share", [0.05, 0.45, 0.55, 0.9])
def test_a_column_is_as_tall_as_a_review_of_that_height_counts(told, share):
    dossier, data = told
    array = data["arrays"][0]
    heights = array["heights_m"]
    band = next(one for one in array["bands"] if one["name"] == array["band"])
    k = round(share * (len(heights) - 1))
    at = 100 * (heights[k] - heights[0]) / (heights[-1] - heights[0])
    (column,) = [one for one in band["chart"]["columns"] if one[0] <= at < one[0] + one[1]]
    judged = review(dossier.scene.with_array(array["id"], height_m=heights[k]))
    talkers = judged.counts.talkers
    assert column[2] == pytest.approx(100 * judged.counts.covered / talkers, abs=0.06)
    assert bool(column[3]) == bool(judged.short)
    assert data["texts"][band["counts"][k]] == f"{judged.counts.covered} of {talkers} covered"


def test_what_forbids_the_widest_stretch_is_named(told):
    dossier, data = told
    array = data["arrays"][0]
    band = next(one for one in array["bands"] if one["name"] == array["band"])
    place, text = band["chart"]["named"]
    heights = array["heights_m"]
    height = min(heights, key=lambda z: abs(100 * (z - heights[0]) / (heights[-1] - heights[0]) - place))
    short = review(dossier.scene.with_array(array["id"], height_m=height)).short
    assert short
    assert data["texts"][text].startswith("too close to ")
    assert any(one.against in data["texts"][text] for one in short)
