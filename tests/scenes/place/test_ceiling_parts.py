"""Arrays placed under steps and slopes, against brute force: nothing better is allowed, and nothing found is not."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.coverage import cover
from scenes.place.problem import BARE, Kept
from scenes.place.refusals import PlaceRefused
from scenes.place.search import place_scene
from scenes.place.snap import snap_placement
from scenes.review.review import review
from scenes.room.scene import Scene
from scenes.rules.clearances import clearances
from tests.scenes.ceiling_parts import BULKHEAD, ROOF, Lid, random_parts, scene_of, spec_of, ten_strips

RADIUS_M, HALF_M = 0.18, 0.02
"""Of the array's body."""
TRIED = 4_000
ASKED = 25


def is_allowed(scene: Scene, at: tuple[float, float, float], lid: Lid) -> bool:
    """By a scan of the ceiling, and by a review of the other rules."""
    if lid.lowest(at[:2], RADIUS_M) < at[2] + HALF_M:
        return False
    placed = scene.with_array("A1", at_m=at[:2], height_m=at[2])
    return not [row for row in clearances(placed) if row.state in ("short", "advised")]


@pytest.mark.parametrize("seed", range(8))
def test_brute_force_finds_no_better_place_and_none_that_is_not_allowed(seed: int) -> None:
    parts = random_parts(seed)
    lights = [
        {"id": "L1", "kind": "light", "at": [3.0, 1.9], "size": [1.2, 0.3], "depth": 0.1, "below": 0.0},
        {"id": "SP1", "kind": "sprinkler", "at": [4.6, 2.6], "below": 0.08, "spray": "standard"},
    ]
    scene, lid = scene_of(parts, overhead=lights), Lid(spec_of(parts))
    found = place_scene(scene, aim="margin", tabled=False, advise=False)
    assert found.outcome == "certified"
    assert found.bound_m is not None
    assert found.margin_m is not None
    assert found.bound_m - found.margin_m <= 0.001 + 1e-9
    [array] = found.scene.arrays
    told = review(found.scene)
    assert [row for row in told.clearances if row.state in ("short", "advised")] == []
    assert lid.lowest(array.centre_m[:2], RADIUS_M - 0.002) >= array.top_m - 0.002
    assert not [head for head in told.heads if head.sight == "blocked"]
    draw = np.random.default_rng(seed)
    near = np.array(array.centre_m) + draw.normal(0, 0.15, (TRIED // 2, 3))
    anywhere = draw.uniform((0.3, 0.3, 1.2), (6.9, 4.5, 3.1), (TRIED // 2, 3))
    places = np.concatenate([near, anywhere])
    margins = cover(places, [array.band] * len(places), scene.heads_as_rows).margin_m.min(axis=1)
    better = places[margins > found.bound_m + 1e-6]
    # of those that would be better none is allowed
    for place in better[draw.permutation(len(better))[:ASKED]]:
        at = (float(place[0]), float(place[1]), float(place[2]))
        blocked = [
            head.id
            for head in review(scene.with_array("A1", at_m=at[:2], height_m=at[2])).heads
            if head.sight == "blocked"
        ] if lid.lowest(at[:2], 0.0) > at[2] + HALF_M else ["above the ceiling"]  # fmt: skip
        assert blocked or not is_allowed(scene, at, lid), at


def test_a_ceiling_all_of_strips_is_searched_in_few_cells() -> None:
    """Before borders were as bad as their sides this took 1.5 million, and was not proven."""
    found = place_scene(scene_of(ten_strips()), aim="margin", tabled=False, advise=False, rooms=False)
    assert found.certified
    assert found.evaluations < 5_000


def test_under_a_low_bulkhead_it_hangs_lower_than_without_and_beside_it_as_high() -> None:
    low = place_scene(scene_of([BULKHEAD | {"height": 2.2}]), aim="margin", hold=("at",), tabled=False)
    free = place_scene(scene_of([]), aim="margin", hold=("at",), tabled=False)
    assert low.scene.arrays[0].top_m <= 2.2 + 1e-6
    assert free.scene.arrays[0].top_m > 2.2
    assert free.margin_m is not None
    assert low.margin_m is not None
    assert low.margin_m < free.margin_m


def flush(**more: object) -> list[dict[str, object]]:
    return [{"id": "A1", "profile": "tile", **more}]


COFFER: dict[str, object] = {"id": "C1", "at": [1.4, 2.4], "size": [2.0, 3.6], "kind": "hard", "height": 3.1}


def test_a_held_flush_array_stays_in_the_plane_of_its_part() -> None:
    there = flush(at=[3.4, 2.3], band="wide")
    placed = place_scene(
        scene_of([BULKHEAD, ROOF], arrays=there), aim="margin", hold=("height",), tabled=False
    )
    [array] = placed.scene.arrays
    assert placed.certified
    assert array.height_m == 2.45
    assert abs(array.centre_m[0] - 3.6) <= 1.2 - 0.25 + 1e-6
    assert abs(array.centre_m[1] - 2.4) <= 0.6 - 0.25 + 1e-6


@pytest.mark.parametrize("at", [None, [6.0, 0.4]])
def test_a_flush_array_is_sought_in_every_level_part(at: list[float] | None) -> None:
    """Against each part by itself, asked for by a held height."""
    parts = [BULKHEAD, COFFER, ROOF]
    given = {} if at is None else {"at": at, "band": "wide"}
    room_parts = parts[:2] if at else parts
    placed = place_scene(scene_of(room_parts, arrays=flush(**given)), aim="margin", tabled=False)
    assert placed.certified
    each = {}
    for name, spot in (("BH1", [3.6, 2.4]), ("C1", [1.4, 2.4]), (None, [4.0, 0.5])):
        alone = scene_of(room_parts, arrays=flush(at=spot, band="wide"))
        each[name] = place_scene(alone, aim="margin", hold=("height",), tabled=False, advise=False).margin_m
    assert placed.margin_m == pytest.approx(max(each.values()), abs=1e-3)
    [note] = [note for note in placed.notes if note.name == "in part"]
    [(id, part)] = note.lie_in
    assert (id, each[part]) == ("A1", max(each.values()))
    slopes = [note.parts for note in placed.notes if note.name == "not in slopes"]
    assert slopes == ([] if at else [("R1",)])


def test_where_every_part_slopes_a_flush_array_is_refused() -> None:
    slope = {"low": 2.4, "high": 2.8, "towards": 0}
    roof: dict[str, object] = {"id": "R1", "at": [3.6, 2.4], "size": [7.2, 4.8], "slope": slope}
    with pytest.raises(PlaceRefused, match="flush in slopes"):
        place_scene(scene_of([roof], arrays=flush()))


def test_several_flush_arrays_alike_may_lie_in_different_parts() -> None:
    """The seats are too far apart for one; one plane is too high for the others' band."""
    seats = [{"id": "S1", "at": [0.9, 2.4]}, {"id": "S2", "at": [6.5, 2.4]}]
    low: dict[str, object] = {"id": "L1", "at": [6.0, 2.4], "size": [2.2, 4.0], "kind": "hard", "height": 2.4}
    arrays = [*flush(), {"id": "A2", "profile": "tile"}]
    found = place_scene(scene_of([COFFER, low], arrays=arrays, seats=seats), aim="margin", tabled=False)
    assert found.margin_m is not None
    assert found.margin_m > 0.1
    [note] = [note for note in found.notes if note.name == "in part"]
    by_height = {2.4: "L1", 2.8: None, 3.1: "C1"}
    assert dict(note.lie_in) == {one.id: by_height[float(one.height_m or 0)] for one in found.scene.arrays}


def test_a_tile_is_one_of_the_grid_over_the_array() -> None:
    tree = spec_of([BULKHEAD])
    room = {**tree["room"], "grid": {"pitch": [0.6, 0.6], "origin": [0, 0]}}  # type: ignore[dict-item]
    seats = [{"id": "S1", "at": [1.0, 0.9]}, {"id": "S2", "at": [1.0, 2.3]}]
    arrays = [{"id": "A1", "profile": "halo"}]
    scene = scene_of([BULKHEAD], room=room, seats=seats, arrays=arrays)
    on_tile = snap_placement(place_scene(scene, aim="margin", tabled=False), "tile")
    x, y = on_tile.scene.arrays[0].centre_m[:2]
    assert ((x - 0.3) / 0.6) % 1 == pytest.approx(0, abs=1e-6) or ((x - 0.3) / 0.6) % 1 == pytest.approx(1)
    assert ((y - 0.3) / 0.6) % 1 == pytest.approx(0, abs=1e-6) or ((y - 0.3) / 0.6) % 1 == pytest.approx(1)


@pytest.mark.parametrize("given", ["suspended", None])
def test_it_is_placed_only_where_the_suspension_of_the_file_fits(given: str | None) -> None:
    """The bulkhead is hard, and over the middle of the table, where the least distance would be."""
    more = {"suspension": {"ceiling": given}} if given else {}
    scene = scene_of([BULKHEAD], arrays=[{"id": "A1", "profile": "halo"}], **more)
    placed = place_scene(scene, aim="near", tabled=False, advise=False)
    [array] = placed.scene.arrays
    x, y, _ = array.centre_m
    under = 2.4 <= x <= 4.8 and 1.8 <= y <= 3.0
    assert under == (given is None)
    notes = [(note.parts, note.ceiling) for note in placed.notes if note.name == "hung as given"]
    assert notes == ([(("BH1",), "suspended")] if given else [])


def test_where_the_suspension_fits_nowhere_that_is_why() -> None:
    everywhere: dict[str, object] = {
        "id": "BH1",
        "at": [3.6, 2.4],
        "size": [7.2, 4.8],
        "kind": "hard",
        "height": 2.5,
    }
    arrays = [{"id": "A1", "profile": "halo"}]
    scene = scene_of([everywhere], arrays=arrays, suspension={"ceiling": "suspended"})
    placed = place_scene(scene, aim="margin", tabled=False)
    assert placed.outcome == "none allowed"
    assert placed.conflict is not None
    assert ("suspension",) in placed.conflict.because.keys


def test_flush_arrays_unlike_each_other_are_asked_which_parts_they_are_to_be_in() -> None:
    """Of several that cannot change places each is sought in one plane: no proof may be told of the others."""
    other = {"id": "A2", "profile": "halo", "at": [5.6, 2.4], "height": 2.1, "band": "wide"}
    bare = scene_of([BULKHEAD], arrays=[*flush(), other])
    with pytest.raises(PlaceRefused, match="flush in parts"):
        place_scene(bare)
    given = scene_of([BULKHEAD], arrays=[*flush(at=[3.6, 2.4], band="wide"), other])
    placed = place_scene(given, aim="margin", tabled=False, advise=False)
    assert placed.scene.arrays[0].height_m == 2.45
    assert [note.arrays for note in placed.notes if note.name == "in one part"] == [("A1",)]


def test_the_spare_is_kept_beside_a_step_of_the_ceiling_too() -> None:
    """Half of the room is 1.9 m high: the body would hang higher and 20 mm beside that, and keeps 50 mm."""
    half = {"id": "BH1", "at": [1.7, 2.4], "size": [3.4, 4.8], "kind": "hard", "height": 1.9}
    of = scene_of([half], arrays=[{"id": "A1", "profile": "halo"}])
    for kept, least, most in ((BARE, 0.0, 0.03), (Kept(spare_m=0.05), 0.05, 0.06)):
        [array] = place_scene(of, aim="near", kept=kept, tabled=False, advise=False).scene.arrays
        assert array.top_m > 1.9
        assert least <= array.centre_m[0] - RADIUS_M - 3.4 <= most


def test_another_ceiling_is_tried_with_its_parts_raised_as_much() -> None:
    """Seats too wide apart for a band this steep under so low a ceiling."""
    low = {"id": "BH1", "at": [3.6, 2.4], "size": [2.4, 1.2], "kind": "suspended", "height": 2.1}
    tree = spec_of([low])
    halo = {**tree["profiles"]["tile"], "bands": {"steep": [40, 80]}}  # type: ignore[index]
    room = {"size": [7.2, 4.8], "ceiling": {"height": 2.3, "parts": [low]}}
    scene = scene_of([low], room=room, profiles={"tile": halo}, arrays=flush())
    conflict = place_scene(scene, aim="margin", tabled=False).conflict
    assert conflict is not None
    [ceiling] = [one for one in conflict.tried if one.change == "ceiling"]
    assert ceiling.works
    assert float(ceiling.value or 0) > 2.3
