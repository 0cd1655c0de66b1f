"""Areas in a room: they are judged, they bind the tolerance and the search, and several arrays share them."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest
import shapely

from geometry.coverage import Heads, cover
from scenes.place.refusals import PlaceRefused
from scenes.place.search import place_scene
from scenes.review.as_json import as_json
from scenes.review.maps import area_maps, floor_map
from scenes.review.review import review
from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text
from tests.small_room import SMALL


def room(size: str, arrays: str) -> Scene:
    area = f"areas: [{{id: Z1, at: [3, 3.4], size: {size}}}]\n"
    text = SMALL.replace("profiles:", area + "profiles:").replace("mid: [22, 68]", "mid: [10, 84]")
    return build(read_spec_text(text.replace("[{id: A1, profile: reed}]", arrays), "room.yaml"))


ONE = "[{id: A1, profile: reed, at: [3, 2], height: 2.5, band: mid}]"
TWO = (
    "[{id: A1, profile: reed, at: [2, 2], height: 2.5, band: mid}, "
    "{id: A2, profile: reed, at: [4, 2], height: 2.5, band: mid}]"
)


def test_an_area_fails_a_room_that_its_talkers_pass() -> None:
    small, large = review(room("[1, 0.6]", ONE)), review(room("[6, 0.6]", ONE))
    assert (small.areas[0].state, small.areas[0].covered_share) == ("covered", 1.0)
    assert (large.areas[0].state, large.verdict) == ("missed", "fail")
    assert 0 < large.areas[0].covered_share < 1
    assert large.margin_m == large.areas[0].margin_m < 0
    assert large.counts == small.counts
    (told,) = as_json(large)["areas"]
    assert told["uncovered"]
    assert [step.state for step in area_maps(large.scene)[0].steps][:2] == ["missed", "marginal"]


def test_two_arrays_share_what_neither_covers() -> None:
    shared = review(room("[4.4, 0.6]", TWO))
    alone = review(room("[4.4, 0.6]", ONE))
    assert shared.areas[0].margin_m > alone.areas[0].margin_m
    assert shared.areas[0].arrays == ("A1", "A2")


def test_the_search_of_one_array_covers_it_and_of_several_is_refused() -> None:
    placed = place_scene(room("[1.6, 0.6]", ONE), aim="margin", tabled=False, advise=False)
    assert placed.judged is not None
    assert placed.judged.areas[0].state == "covered"
    assert placed.largest_margin_m == pytest.approx(placed.judged.margin_m, abs=1e-6)
    with pytest.raises(PlaceRefused, match="areas of several"):
        place_scene(room("[1, 0.6]", TWO))


@pytest.mark.parametrize("posture", ["seated", "standing"])
def test_the_map_of_the_floor_is_what_somebody_at_each_place_has(
    posture: Literal["seated", "standing"],
) -> None:
    scene = build(
        read_spec_text(SMALL.replace("[{id: A1, profile: reed}]", ONE.replace("2.5", "2.2")), "room.yaml")
    )
    made = floor_map(scene, posture)
    person = next(one for one in scene.floor if one.posture == posture)
    shapes = [
        (step, shapely.union_all([shapely.Polygon(*polygon) for polygon in step.polygons]))
        for step in made.steps
    ]
    assert sum(shape.area for _, shape in shapes) == pytest.approx(24.0, abs=1e-3)
    assert {"covered", "missed"} <= {step.state for step in made.steps}
    low, high = person.mouth_m
    for x, y in np.random.default_rng(2).uniform((0, 0), (6, 4), (60, 2)):
        head = Heads.at([[x, y, (low + high) / 2]], sway_m=person.sway_m, half_range_m=(high - low) / 2)
        there = cover(np.array([scene.arrays[0].centre_m]), [scene.arrays[0].band], head)
        margin = float(there.margin_m[0, 0])
        (step,) = (one for one, shape in shapes if shape.contains(shapely.Point(x, y)))
        least = -math.inf if step.from_m is None else step.from_m
        assert step.state != "missed" or margin < -person.sway_m + 1e-3
        assert margin > least - 1e-3
        assert step.to_m is None or margin < step.to_m + 1e-3
