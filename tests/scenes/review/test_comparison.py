"""Two reviews side by side: what each figure is, on which side it is better, who stands otherwise, what is too close."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import get_args

import pytest

from scenes.findings.comparison import FigureName
from scenes.review.comparison import comparison, comparison_as_json
from scenes.review.review import review
from scenes.room.build import read_scene

ROOMS = files("scenes.rooms")


@cache
def reviewed(room: str, **changes: object):
    scene = read_scene(str(ROOMS / f"{room}.yaml"))
    return review(scene.with_array("A1", **changes) if changes else scene)


def test_a_room_beside_itself_is_nowhere_better():
    found = comparison(reviewed("heron"), reviewed("heron"))
    assert [one.name for one in found.figures] == list(get_args(FigureName))
    assert all(one.first == one.second and one.better is None for one in found.figures)
    assert (found.talkers, found.close) == ((), ((), ()))


def test_each_figure_is_that_of_the_review_and_the_other_way_round_the_other_is_better():
    here, higher = reviewed("heron"), reviewed("heron", at_m=(3.1, 2.25), height_m=2.3)
    found, turned = comparison(here, higher), comparison(higher, here)
    figures = {one.name: (one.first, one.second) for one in found.figures}
    assert figures["verdict"] == ("pass", "fail")
    assert figures["covered"] == (8, 8)
    assert figures["margin"] == (here.margin_m, higher.margin_m)
    farthest = [max(head.slant_m for head in one.heads) for one in (here, higher)]
    assert figures["farthest"] == tuple(farthest)
    # what fails is not to be hung so: it has no tolerance that could be compared
    assert figures["sideways"] == (here.tolerance.sideways_m, None)
    assert figures["expected"] == pytest.approx((8, 8), abs=0.05)
    better = {one.name: one.better for one in found.figures if one.better}
    assert better == {
        "verdict": "first",
        "margin": "second",
        "farthest": "first",
        "from centre": "second",
        "short": "first",
    }
    other = {"first": "second", "second": "first"}
    assert {one.name: other[one.better] for one in turned.figures if one.better} == better
    [close] = found.close[1]
    assert (found.close[0], close.against, close.state) == ((), "SP2", "short")
    assert turned.close == found.close[::-1]


def test_a_talker_is_named_who_stands_otherwise_as_the_worst_of_their_heads():
    here, higher = reviewed("weir"), reviewed("weir", height_m=2.3)
    found = comparison(here, higher)
    named = {one.person: (one.first, one.second) for one in found.talkers}
    assert named == {"T1-5": ("marginal", "covered"), "T1-7": ("marginal", "covered")}
    assert found.by_name["covered"].better == "second"


def test_the_people_of_two_rooms_are_not_the_same_though_their_ids_are():
    found = comparison(reviewed("heron"), reviewed("weir"))
    assert found.talkers is None
    told = comparison_as_json(found)
    assert (told["format"], told["same_room"], told["talkers"]) == ("overtable/comparison/1", False, None)
    assert told["rooms"] == ["Heron Room", "Weir Room"]
    [verdict, *_] = told["figures"]
    assert verdict == {"name": "verdict", "A": "pass", "B": "fail", "better": "A"}


@pytest.mark.parametrize("by_m", [0.0004, 0.0006])
def test_what_reads_the_same_on_every_paper_is_not_better(by_m):
    here = reviewed("heron")
    heads = tuple(replace(head, margin_m=head.margin_m - by_m) for head in here.heads)
    better = comparison(here, replace(here, heads=heads)).by_name["margin"].better
    assert better == (None if by_m < 0.0005 else "first")
