"""Regions and room to move through the scene."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scenes.dossier import Dossier
from scenes.place.snap import snap_scene
from scenes.review.regions import room_within
from scenes.review.review import review
from scenes.room.build import build
from scenes.rules.constraints import constraints_for
from scenes.spec.reading import read_spec_text
from tests.scenes.ceiling_parts import scene_of

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8, grid: {pitch: [0.6, 0.6], origin: [0, 0.1]}}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3, 2]}]
people: {seated: {mouth: [1.07, 1.24]}}
seats: [{around: T1}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [22, 68]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.3, band: one}]
overhead: [{id: L1, kind: light, at: [3.3, 2.2], size: [0.6, 0.6], below: 0}]
"""


def dossier(more=""):
    return Dossier(build(read_spec_text(ROOM + more)))


def test_every_place_of_the_region_covers_everybody_and_keeps_clear():
    one = dossier()
    region = one.regions["A1"]
    assert region.area_m2 > 0.02
    inside = 0
    for x, y in np.random.default_rng(3).uniform((2, 1), (4, 3), (400, 2)):
        if region.holds([(x, y)])[0]:
            inside += 1
            there = review(one.scene.with_array("A1", at_m=(float(x), float(y))))
            assert all(head.state == "covered" for head in there.heads)
            assert not [row for row in (*there.short, *there.advised) if row.kind != "grid"]
    assert inside > 5


def test_a_wall_rule_that_is_changed_or_off_counts_as_changed():
    def left(more=""):
        scene = dossier(more).scene
        ((outline, _),) = room_within(scene, scene.arrays[0])
        return float(np.asarray(outline)[:, 0].min())

    assert left() == pytest.approx(0.3 + 0.1)
    assert left("rules: {wall: {required: 0.5, reason: x}}\n") == pytest.approx(0.5 + 0.1)
    assert left("rules: {wall: {use: false, reason: x}}\n") == pytest.approx(0.1)


ELL = "outline: [[0, 0], [6, 0], [6, 2], [3, 2], [3, 4], [0, 4]]"


@pytest.mark.parametrize("turn", [0, 30, 90, 135])
@pytest.mark.parametrize("outline", ["size: [6, 4]", ELL])
def test_a_turned_body_may_go_as_near_to_the_walls_as_the_rule_lets_it(turn, outline):
    """Everywhere in the room: in the map exactly where the rule about walls is met, to a millimetre at corners."""
    text = ROOM.replace("size: [6, 4]", outline)
    text = text.replace("body: {diameter: 0.2, height: 0.06}", "body: {size: [0.9, 0.2, 0.06]}")
    text = text.replace("profile: p, at: [3, 2],", f"profile: p, at: [1.5, 1.5], turn: {turn},")
    scene = build(read_spec_text(text.replace("{around: T1}", "{id: S1, at: [1.5, 0.5]}")))
    [array] = scene.arrays
    [wall] = [one for one in constraints_for(scene, array) if one.key == ("wall",)]
    shapes = [shapely.Polygon(outer, holes) for outer, holes in room_within(scene, array)]
    places = np.random.default_rng(7).uniform((0, 0), (6, 4), (1500, 2))
    signed = wall.signed_m(np.column_stack([places, np.full(len(places), 2.3)]))
    inside = shapely.union_all(shapes)
    held = shapely.contains_xy(inside, places)
    assert held.sum() > 100
    assert not held[signed < -1e-9].any()
    assert held[signed > 0.0015].all()


def test_the_room_to_move_ends_where_the_named_head_is_lost():
    one = dossier()
    heads = [head.id for head in one.scene.heads]
    for room in one.rooms_to_move["A1"]:
        way = np.array(
            {"+x": (1, 0, 0), "-x": (-1, 0, 0), "+y": (0, 1, 0), "-y": (0, -1, 0)}.get(
                room.direction, (0, 0, 0)
            )
        )
        if not way.any() or room.head is None:
            continue
        at = np.array(one.scene.arrays[0].centre_m)
        for beyond, state in ((-1e-4, True), (1e-4, False)):
            x, y, z = (at + way * (room.distance_m + beyond)).tolist()
            there = review(one.scene.with_array("A1", at_m=(x, y), height_m=z))
            assert (there.heads[room.head].state == "covered") is state, heads[room.head]


def test_snapping_leaves_out_the_tile_with_the_light():
    placed, found = snap_scene(dossier().scene, "tile", aim="tolerance")
    x, y = placed.arrays[0].at_m
    assert (x / 0.6 % 1, (y - 0.1) / 0.6 % 1) == pytest.approx((0.5, 0.5))
    assert abs(x - 3.3) > 0.3 or abs(y - 2.2) > 0.3
    assert found["A1"].left_out
    with pytest.raises(ValueError, match="grid"):
        snap_scene(
            build(read_spec_text(ROOM.replace(", grid: {pitch: [0.6, 0.6], origin: [0, 0.1]}", ""))), "tile"
        )


def test_under_a_ceiling_in_parts_each_place_of_the_region_clears_lower_parts_and_steps():
    """A bulkhead along one side comes lower than the body's top; no place under it or half under it is in the region."""
    low = {"id": "BH1", "outline": [[0, 0], [7.2, 0], [7.2, 2.3], [0, 2.3]], "kind": "hard", "height": 2.1}
    scene = scene_of([low]).with_array("A1", at_m=(3.6, 2.6), height_m=2.15)
    region = Dossier(scene).regions["A1"]
    places = np.random.default_rng(4).uniform((2.6, 1.6), (4.6, 3.4), (60, 2))
    inside = region.holds(places)
    for (x, y), holds in zip(places.tolist(), inside.tolist(), strict=True):
        there = review(scene.with_array("A1", at_m=(x, y), height_m=2.15)) if y - 0.18 >= 2.3 + 1e-3 else None
        if there is None:
            assert not holds
        elif holds:
            assert all(head.state == "covered" for head in there.heads)
            assert not there.short
    assert inside.sum() >= 3
