"""The fewest arrays where no number of them covers everybody: nothing is said to be enough that is not."""

from functools import partial

import pytest

from scenes.place.fewest import fewest_on_lattice
from scenes.place.search import place_scene
from scenes.place.snap import snap_placement
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: Narrow Band
units: m
room: {size: [5, 4], ceiling: 2.7}
seats:
  - {id: S1, at: [2.0, 2.0], mouth: 1.2, sway: SWAY}
  - {id: S2, at: [FAR, 2.0], mouth: 1.2, sway: 0.02}
profiles:
  p:
    mount: flush
    body: {diameter: 0.3, height: 0.05}
    bands: {only: [50, 60]}
    reach: [1.0, 3.0]
arrays:
  - {id: A1, profile: p}
"""


def placed(sway: float, far: float, more: str = ""):
    text = ROOM.replace("SWAY", str(sway)).replace("FAR", str(far)) + more
    return place_scene(build(read_spec_text(text, "room.yaml")), arrays="fewest")


def test_where_nobody_can_be_served_it_is_proven_and_told_why_and_no_number_is_called_enough():
    found = placed(0.5, 2.3).as_json()
    # of both only S1 is out of reach
    assert found["unreached"] == ["S1"]
    nobody = place_scene(
        build(read_spec_text(ROOM.replace("SWAY", "0.5").replace("FAR", "2.3").replace("0.02", "0.5"), "r")),
        arrays="fewest",
    ).as_json()
    assert nobody["unreached"] == ["S1", "S2"]
    assert nobody["count"] is None
    assert nobody["outcome"] == "certified"
    assert nobody["bound_m"] < 0
    assert nobody["conflict"]["heads"]
    assert (nobody["notes"][0]["name"], nobody["notes"][0]["heads"]) == ("unreached", ("S1", "S2"))


def test_arrays_in_each_others_way_are_not_counted_as_enough():
    # S1 and S2 need an array each, and the rule between arrays asks for more room than there is
    rule = 'rules: {other-array: {required: 9 m, reason: "a trial"}}\n'
    count = placed(0.02, 4.8).as_json()["count"]
    assert (count["arrays"], count["proven"], count["tried"]) == (2, True, None)
    found = placed(0.02, 4.8, rule).as_json()
    assert (found["count"]["at_least"], found["count"]["tried"]) == (2, 4)
    assert found["outcome"] == "unresolved"
    assert ("not apart", 4) in [(note["name"], note["tried"]) for note in found["notes"]]


def test_more_talkers_than_arrays_can_share_are_told_of_once():
    # three that need an array each: the band reaches 1.26 m to each side, they are 2.6 m apart and more
    seats = ROOM.replace("SWAY", "0.02").replace("FAR", "4.8").replace(
        "profiles:", "  - {id: S3, at: [0.1, 0.1], mouth: 1.2, sway: 0.02}\nprofiles:"
    )  # fmt: skip
    found = place_scene(build(read_spec_text(seats, "room.yaml")), arrays=2).as_json()
    assert found["bound_m"] < 0
    assert found["conflict"]["cause"] == "arrays"
    assert [(one["change"], one["value"], one["works"]) for one in found["conflict"]["try"]] == [
        ("arrays", 3, True)
    ]
    assert "unreached" not in [note["name"] for note in found["notes"]]


FAR = """\
overtable: 1
name: Two Ends
units: m
room: {size: [6.2, 2], ceiling: 2.7GRID}
seats:
  - {id: S1, at: [0.5, 1.0], mouth: 1.2, sway: 0.02}
  - {id: S2, at: [5.6, 1.0], mouth: 1.2, sway: 0.02}
profiles:
  p: {mount: flush, body: {diameter: 0.3, height: 0.05}, bands: {only: [15, 85]}, reach: [0.5, 3.0]}
arrays: [{id: A1, profile: p}]
"""


def two_ends(grid: str = ""):
    return build(read_spec_text(FAR.replace("GRID", grid), "room.yaml"))


@pytest.mark.thorough
def test_the_fewest_leave_everybody_enough_where_near_is_sought():
    # one array in the middle covers both ends with 2 cm to spare
    enough = place_scene(two_ends(), arrays="fewest", aim="near")
    assert (enough.count.arrays, enough.count.proven, enough.count.each_m) == (2, True, 0.1)
    assert enough.margin_m >= 0.1
    barely = place_scene(two_ends(), arrays="fewest", aim="near", enough_m=0.01)
    assert (barely.count.arrays, barely.count.each_m) == (1, 0.01)
    covered = place_scene(two_ends(), arrays="fewest", aim="margin")
    assert (covered.count.arrays, covered.count.each_m) == (1, 0.0)
    assert 0 <= covered.margin_m < 0.1


def test_where_no_number_leaves_everybody_enough_the_fewest_cover_everybody():
    much = place_scene(two_ends(), arrays="fewest", aim=None, enough_m=2.0, advise=False, tabled=False)
    assert (much.count.arrays, much.count.each_m) == (1, 0.0)
    assert much.margin_m >= 0


def test_on_tiles_one_more_is_taken_where_the_tile_costs_too_much():
    # tile centres lie at x = 1.9, 2.5, 3.1 … along y = 0.7: the middle of the two ends is at 3.05
    scene = two_ends(", grid: {pitch: [1.8, 0.6], origin: [1.1, 0.4]}")
    search = partial(place_scene, scene, aim="near", enough_m=0.01, advise=False)
    found = fewest_on_lattice(
        search(arrays="fewest"), partial(snap_placement, to="tile"), lambda count: search(arrays=count)
    )
    note = found.notes[-1]
    assert (note.name, note.wanted, note.hung) == ("more on the lattice", 1, 2)
    assert note.best_m < 0.01
    assert len(found.arrays) == found.judged.counts.covered == 2
    assert found.margin_m >= 0.01
    assert found.count.arrays == 1
    # and where the tile does there is nothing to say
    near_by = two_ends(", grid: {pitch: [0.1, 0.1], origin: [0, 0]}")
    free = place_scene(near_by, aim="near", enough_m=0.01, arrays="fewest", advise=False)
    same = fewest_on_lattice(free, partial(snap_placement, to=0.005), lambda count: free)
    assert (len(same.arrays), same.notes) == (1, free.notes)
