"""Scenes handed to the search: what is held, what is told, and what would help where nothing works."""

import json
import math

import numpy as np
import pytest

from geometry.aims import GAP_DEG, GAP_M, AimName
from scenes.findings.placement import Far, Note
from scenes.numbers import json_text
from scenes.place.placement import AimRow, Placement
from scenes.place.problem import HOLDS
from scenes.place.refusals import PlaceRefused
from scenes.place.search import place_scene
from scenes.place.snap import snap_placement
from scenes.review.review import review
from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.rules.constraints import constraints_for
from scenes.spec.reading import read_spec_text

ROOM = """
overtable: 1
name: Sandpiper Room
units: m
room: {size: [SIZE], ceiling: CEILING}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.2], at: [3.4, 2.3], height: 0.74}]
people: {seated: {mouth: [1.15, 1.25], sway: 0.1}, standing: {mouth: [1.5, 1.6], sway: 0.1}}
seats: SEATS
profiles:
  wick:
    mount: MOUNT
    body: {diameter: 0.2, height: 0.06}
    bands: {low: [8, 29], mid: [21, 66], high: [53, 88]}
    reach: [1.0, 3.0]
arrays: ARRAYS
overhead: OVERHEAD
limits: {LIMITS}
"""


def room(
    *,
    size: str = "7.2, 4.6",
    ceiling: str = "2.75",
    seats: str = "[{around: T1, pitch: 0.75, gap: 0.25}]",
    mount: str = "pendant",
    arrays: str = "[{id: A1, profile: wick}]",
    overhead: str = "[]",
    limits: str = "",
) -> Scene:
    text = ROOM
    for key, value in (
        ("SIZE", size),
        ("CEILING", ceiling),
        ("SEATS", seats),
        ("MOUNT", mount),
        ("ARRAYS", arrays),
        ("OVERHEAD", overhead),
        ("LIMITS", limits),
    ):
        text = text.replace(key, value)
    return build(read_spec_text(text))


@pytest.fixture(scope="module")
def placed() -> Placement:
    return place_scene(room(), enough_m=0.05)


def test_the_placed_room_agrees_with_its_review(placed: Placement) -> None:
    judged = review(placed.scene)
    assert placed.outcome == "certified"
    assert placed.margin_m == pytest.approx(judged.margin_m, abs=1e-12)
    assert judged.arrays[0].margin_m == placed.arrays[0].margin_m
    assert judged.arrays[0].worst_slant_m == pytest.approx(placed.worst_slant_m, abs=1e-12)
    assert judged.arrays[0].rms_off_centre_deg == pytest.approx(placed.rms_off_centre_deg, abs=1e-9)
    array = placed.scene.arrays[0]
    assert array.centre_m == (*placed.arrays[0].at_m, placed.arrays[0].height_m)
    assert all(
        c.signed_m(np.array([array.centre_m]))[0] >= -1e-9 for c in constraints_for(placed.scene, array)
    )
    assert not (*judged.short, *judged.advised)


def test_json_has_every_key_of_the_contract(placed: Placement) -> None:
    told = json.loads(json_text(placed.as_json()))
    assert told["format"] == "overtable/placement/1"
    assert {
        "outcome", "certified", "arrays", "margin_m", "bound_m", "gap_m", "tolerance_m", "clear_tolerance_m", "aim",
        "worst_slant_m", "worst_slant_bound_m", "mean_off_centre_deg", "rms_off_centre_deg", "evaluations",
        "seconds", "conflict",
    } <= set(told)  # fmt: skip
    assert {"id", "at_m", "height_m", "drop_m", "band", "reach_m", "margin_m"} <= set(told["arrays"][0])
    assert told["arrays"][0]["drop_m"] == pytest.approx(2.75 - told["arrays"][0]["height_m"], abs=1e-6)
    assert told["arrays"][0]["band"] == {"name": "mid", "low_deg": 21, "high_deg": 66}
    assert told["certified"] is True
    assert told["conflict"] is None
    assert told["tolerance_m"] == told["margin_m"] > 0
    assert told["clear_tolerance_m"] <= told["tolerance_m"]
    assert 0 <= told["gap_m"] <= GAP_M
    assert 0 <= told["worst_slant_m"] - told["worst_slant_bound_m"] <= GAP_M + 1e-6


def rows_of(placement: Placement) -> dict[str, AimRow]:
    return {row.aim: row for row in placement.aims}


def test_all_five_aims_are_tabled_and_each_is_best_at_its_own(placed: Placement) -> None:
    rows = rows_of(placed)
    assert list(rows) == ["near", "tolerance", "margin", "centre", "most"]
    assert (
        rows["near"].worst_slant_m
        <= min(row.worst_slant_m for row in placed.aims if row.margin_m >= 0.05) + GAP_M
    )
    assert rows["margin"].margin_m >= max(row.margin_m for row in placed.aims) - GAP_M
    assert rows["centre"].rms_off_centre_deg <= min(row.rms_off_centre_deg for row in placed.aims) + 0.01
    assert rows["near"].margin_m >= 0.05 - 1e-9
    assert rows["margin"].bound == placed.bound_m
    assert rows["tolerance"].value <= min(rows["tolerance"].margin_m, rows["margin"].margin_m) + 1e-9
    assert rows["most"].value == rows["most"].bound == len(placed.scene.heads)
    for aim in ("tolerance", "margin", "centre", "most"):
        taken = place_scene(room(), aim=aim, enough_m=0.05)  # type: ignore[arg-type]
        assert taken.aim == aim
        assert rows[aim].value == pytest.approx(
            rows_of(taken)[aim].value, abs=GAP_DEG if aim == "centre" else GAP_M
        )


@pytest.mark.parametrize(
    ("aim", "unit", "gap"), [("near", "m", GAP_M), ("margin", "m", GAP_M), ("centre", "deg", GAP_DEG)]
)
def test_certified_means_that_the_aim_taken_is_within_its_gap(aim: AimName, unit: str, gap: float) -> None:
    placed = place_scene(room(), aim=aim, enough_m=0.05)
    told = json.loads(json_text(placed.as_json()))
    own = {"near": "worst_slant_m", "margin": "margin_m", "centre": "rms_off_centre_deg"}[aim]
    assert told["certified"]
    assert told["aim_unit"] == unit
    assert told["aim_value"] == told[own]
    assert 0 <= told["aim_gap"] <= gap
    assert told["aim_gap"] == pytest.approx(abs(told["aim_bound"] - told["aim_value"]), abs=2e-6)
    # gap_m is about the margin under every aim: the bound less the largest margin found
    assert told["gap_m"] == pytest.approx(told["bound_m"] - told["largest_margin_m"], abs=2e-6)
    assert told["gap_m"] <= GAP_M
    assert told["largest_margin_m"] >= told["margin_m"]


def test_what_fails_first_is_named_where_a_rule_does() -> None:
    light = "[{id: L1, kind: light, at: [3.4, 2.3], size: [0.3, 0.3], below: 0.4, depth: 0.4}]"
    near = place_scene(room(overhead=light), aim="margin", enough_m=0.0)
    assert near.clear_tolerance_m is not None
    assert near.margin_m is not None
    assert near.clear_tolerance_m < near.margin_m
    assert near.fails_first is not None
    assert (near.fails_first.against, near.fails_first.rule) == ("L1", "light")
    assert near.as_json()["fails_first"] == "L1 (light)"
    far = place_scene(room(), enough_m=0.05)
    assert far.fails_first is None
    assert far.clear_tolerance_m == far.margin_m


def test_nothing_moves_up_through_the_ceiling_and_a_flush_array_neither_up_nor_down() -> None:
    high = room(arrays="[{id: A1, profile: wick, at: [3.4, 2.3], height: 2.45, band: mid}]", ceiling="2.5")
    up = next(r for r in place_scene(high, hold=HOLDS, advise=False).arrays[0].rooms if r.direction == "up")
    # the body's top is 3 cm above its centre and 2 cm below the ceiling
    assert up.clear_distance_m == pytest.approx(0.02, abs=1e-9)
    assert up.constraint == ("ceiling",)
    assert (up.distance_m, up.head) == (np.inf, None)
    flush = place_scene(room(mount="flush", ceiling="2.6"), advise=False)
    assert [r.direction for r in flush.arrays[0].rooms] == ["+x", "-x", "+y", "-y"]
    # under a high one the talkers in the middle of the long sides, 0.85 m away on plan, are too steep first
    tall = room(arrays="[{id: A1, profile: wick, at: [3.4, 2.3], height: 2.3, band: mid}]", ceiling="3.6")
    up = next(r for r in place_scene(tall, hold=HOLDS, advise=False).arrays[0].rooms if r.direction == "up")
    edge = math.radians(66)
    assert up.distance_m == pytest.approx(
        1.15 + (0.85 * math.sin(edge) - 0.1) / math.cos(edge) - 2.3, abs=1e-6
    )


def test_snapped_the_figures_are_those_of_the_place_on_the_lattice_and_the_free_ones_are_beside() -> None:
    free = place_scene(room(), enough_m=0.05, aim="margin", hold=())
    placed = snap_placement(free, 0.25)
    x, y = placed.arrays[0].at_m
    assert (x / 0.25 % 1, y / 0.25 % 1) == pytest.approx((0, 0), abs=1e-9)
    judged = review(placed.scene)
    assert placed.margin_m == pytest.approx(judged.margin_m, abs=1e-12)
    assert placed.margin_m < free.margin_m  # type: ignore[operator]
    assert placed.tolerance_m == placed.margin_m
    assert placed.arrays[0].margin_m == placed.margin_m
    told = json.loads(json_text(placed.as_json()))
    assert told["arrays"][0]["at_m"] == told["snapped"][0]["at_m"] == [x, y]
    assert told["margin_m"] == told["snapped"][0]["margin_m"]
    assert told["free"]["margin_m"] == pytest.approx(free.margin_m, abs=1e-6)
    assert told["searched"][0]["at_m"] == pytest.approx(free.arrays[0].at_m, abs=1e-6)
    assert told["lattice"] == {"pitch_m": 0.25, "margin_m": told["margin_m"], "value": told["margin_m"]}
    assert told["aim_value"] == told["free"]["margin_m"]
    assert told["free"]["margin_m"] - told["margin_m"] == pytest.approx(
        told["snapped"][0]["margin_lost_m"], abs=2e-6
    )


def test_near_gives_way_to_the_most_covered_and_says_so() -> None:
    placement = place_scene(room(), enough_m=0.4)
    assert (placement.asked, placement.aim) == (None, "most")
    (note,) = placement.notes
    assert (note.name, note.instead, note.enough_m) == ("too little margin", True, 0.4)
    assert note.best_m == pytest.approx(placement.largest_margin_m)
    assert placement.margin_m == pytest.approx(rows_of(placement)["most"].margin_m, abs=1e-12)


def test_given_places_are_free_unless_held() -> None:
    given = "[{id: A1, profile: wick, at: [3.0, 2.0], height: 2.3, band: high}]"
    scene = room(arrays=given)
    free = place_scene(scene)
    assert free.scene.arrays[0].at_m != (3.0, 2.0)
    for hold in HOLDS:
        kept = place_scene(scene, hold=[hold], advise=False)
        array = kept.scene.arrays[0]
        assert {
            "at": array.at_m == (3.0, 2.0),
            "height": array.height_m == 2.3,
            "band": array.band_name == "high",
        }[hold]
        assert kept.bound_m is not None
        assert free.bound_m is not None
        assert kept.bound_m <= free.bound_m + GAP_M
    all_held = place_scene(scene, hold=HOLDS, advise=False).scene.arrays[0]
    assert (all_held.at_m, all_held.height_m, all_held.band_name) == ((3.0, 2.0), 2.3, "high")


def test_a_held_value_must_be_there() -> None:
    with pytest.raises(PlaceRefused, match="nothing to hold"):
        place_scene(room(), hold=["height"])
    with pytest.raises(PlaceRefused, match="no such hold"):
        place_scene(room(), hold=["drop"])  # type: ignore[list-item]


def test_flush_stays_at_the_ceiling() -> None:
    placement = place_scene(room(mount="flush", ceiling="2.6"), advise=False)
    assert placement.arrays[0].height_m == 2.6
    assert placement.arrays[0].drop_m == 0


def test_walls_tables_headroom_and_devices_are_kept() -> None:
    # a deep light hangs just where the array would: it goes beside or below
    light = "[{id: L1, kind: light, at: [3.4, 2.3], size: [0.3, 0.3], below: 0.7, depth: 0.7}]"
    placement = place_scene(room(overhead=light), enough_m=0.0, advise=False)
    judged = review(placement.scene)
    assert placement.margin_m is not None
    assert not (*judged.short, *judged.advised)
    assert placement.excluded["light"] > 0
    without = place_scene(room(overhead=light), enough_m=0.0, advise=False, clearances=False)
    light_free = place_scene(room(), enough_m=0.0)
    assert without.margin_m == light_free.margin_m
    assert review(without.scene).short
    assert placement.bound_m < without.bound_m  # type: ignore[operator]
    body = placement.scene.arrays[0]
    assert body.underside_m >= 0.74 + 0.6 - 1e-9
    assert body.top_m <= 2.75 + 1e-9


def test_nothing_allowed_names_the_rules_and_what_leaving_one_out_gives() -> None:
    # under a ceiling at 1.9 m there is neither headroom nor 1.2 m over a table of 0.74 m
    placement = place_scene(room(ceiling="1.9", limits="free_over_table: 1.2"))
    assert placement.outcome == "none allowed"
    assert placement.arrays == ()
    assert placement.margin_m is None
    assert placement.bound_m is None
    told = json.loads(json_text(placement.as_json()))
    assert told["arrays"] == []
    assert placement.conflict is not None
    assert placement.conflict.heads == ()
    because = placement.conflict.because
    assert because.name == "nothing allowed"
    assert "headroom" in {key[0] for key in because.keys}
    assert placement.tolerance_m == 0


@pytest.fixture(scope="module")
def torn() -> Placement:
    # two people too far apart for one array
    seats = "[{id: S1, at: [0.6, 2.3]}, {id: S2, at: [6.9, 2.3]}, {id: S3, at: [3.4, 1.4]}]"
    return place_scene(room(seats=seats))


TRY_KEYS = {"change", "value", "works", "covered", "margin_m", "bands"}


def test_conflict_names_the_smallest_group_why_and_what_helps(torn: Placement) -> None:
    assert torn.bound_m is not None
    assert torn.bound_m < 0
    conflict = torn.conflict
    assert conflict is not None
    assert set(conflict.heads) == {"S1", "S2"}
    assert conflict.smallest
    # S1 and S2 are 6.3 m apart, twice 3 m less twice 0.1 m is 5.8 m
    assert conflict.because.name == "too far apart"
    assert conflict.because.apart_m == pytest.approx(6.3)
    assert conflict.because.spans_m == pytest.approx(5.8)
    told = json.loads(json_text(torn.as_json()))["conflict"]
    assert set(told) == {"heads", "smallest", "cause", "try"}
    assert all(set(one) == TRY_KEYS for one in told["try"])
    assert all(one["bands"] for one in told["try"] if one["margin_m"] is not None and one["works"])
    helps = {entry["change"]: entry for entry in told["try"]}
    assert helps["arrays"]["value"] == 2
    assert helps["arrays"]["works"]
    assert helps["arrays"]["margin_m"] > 0
    assert helps["arrays"]["covered"] == 3
    assert helps["reach"]["works"]
    assert not helps["lean"]["works"]


def test_the_reach_said_to_be_needed_is_enough_and_less_is_not(torn: Placement) -> None:
    assert torn.conflict is not None
    needed = next(one.value for one in torn.conflict.tried if one.change == "reach")
    assert isinstance(needed, float)
    text_of = "[{id: S1, at: [0.6, 2.3]}, {id: S2, at: [6.9, 2.3]}, {id: S3, at: [3.4, 1.4]}]"
    # up to 10 cm more than is just enough, for places in whole centimetres
    for reach, works in ((needed, True), (needed - 0.12, False)):
        scene = room(seats=text_of)
        profile = scene.arrays[0].profile
        longer = type(profile)(**{**vars(profile), "reach_m": (1.0, reach)})
        array = type(scene.arrays[0])(**{**vars(scene.arrays[0]), "profile": longer})
        placement = place_scene(scene.with_arrays((array,)), aim="margin", advise=False)
        assert placement.bound_m is not None
        assert (placement.bound_m >= 0) is works


def test_freeing_what_is_held_is_tried() -> None:
    scene = room(arrays="[{id: A1, profile: wick, at: [3.4, 2.3], height: 2.7, band: low}]")
    placement = place_scene(scene, hold=["height", "band"])
    assert placement.bound_m is not None
    assert placement.bound_m < 0
    assert placement.conflict is not None
    tried = {(one.change, one.value) for one in placement.conflict.tried}
    assert {("hold", "height"), ("hold", "band"), ("arrays", 2), ("lean", 0.0)} <= tried
    assert {"ceiling", "reach"} <= {change for change, _ in tried}
    for remedy in placement.conflict.tried:
        if remedy.change == "hold":
            assert remedy.margin_m is not None
            fewer = [hold for hold in ("height", "band") if hold != remedy.value]
            again = place_scene(scene, hold=fewer, aim="margin", advise=False)  # type: ignore[arg-type]
            assert again.largest_margin_m == pytest.approx(remedy.margin_m, abs=GAP_M)


def test_a_higher_ceiling_that_is_offered_works() -> None:
    # the steep band needs more drop than a ceiling at 2.4 m leaves
    high = "[{id: A1, profile: wick, band: high}]"
    placement = place_scene(room(ceiling="2.4", arrays=high), hold=["band"])
    assert placement.bound_m is not None
    assert placement.bound_m < 0
    assert placement.conflict is not None
    ceiling = next(one for one in placement.conflict.tried if one.change == "ceiling")
    assert ceiling.works
    assert isinstance(ceiling.value, float)
    height = ceiling.value
    higher, lower = (
        place_scene(room(ceiling=f"{h:.2f}", arrays=high), aim="margin", hold=["band"], advise=False)
        for h in (height, height - 0.05)
    )
    assert higher.margin_m is not None
    assert higher.margin_m >= 0
    assert lower.bound_m is not None
    assert lower.bound_m < 0


def test_several_arrays_cover_what_one_cannot() -> None:
    seats = "[{id: S1, at: [0.6, 2.3]}, {id: S2, at: [6.9, 2.3]}, {id: S3, at: [3.4, 1.4]}]"
    two = "[{id: A1, profile: wick}, {id: B, profile: wick}]"
    placement = place_scene(room(seats=seats, arrays=two))
    assert [array.id for array in placement.arrays] == ["A1", "B"]
    judged = review(placement.scene)
    assert placement.margin_m == pytest.approx(judged.margin_m, abs=1e-12)
    assert placement.margin_m > 0
    assert placement.bound_m is not None
    assert placement.margin_m <= placement.bound_m + 1e-9
    assert {id for array in placement.arrays for id in array.heads} == {"S1", "S2", "S3"}
    assert [row.aim for row in placement.aims] == ["near", "tolerance", "margin", "centre", "most"]
    fewest = place_scene(room(seats=seats), arrays="fewest")
    assert len(fewest.arrays) == 2
    assert fewest.count is not None
    assert (fewest.count.arrays, fewest.count.proven) == (2, True)
    assert fewest.arrays[0].id == "A1"
    assert len({array.id for array in fewest.arrays}) == 2


TWO = "[{id: A1, profile: wick}, {id: B, profile: wick}]"


@pytest.mark.parametrize("aim", ["near", "tolerance", "margin", "centre", "most"])
def test_arrays_keep_from_each_other_what_the_rules_ask(aim: AimName) -> None:
    # one talker needs one array: the second would hang in the same place
    placement = place_scene(room(seats="[{id: S1, at: [3.4, 3.0]}]", arrays=TWO), aim=aim)
    assert len(placement.arrays) == 2
    # what arrays keep from each other is no part of the ball's bound
    assert placement.certified or aim == "tolerance"
    for array in placement.scene.arrays:
        for rule in constraints_for(placement.scene, array):
            assert rule.signed_m(np.array([array.centre_m]))[0] >= -1e-9, rule.key
    for row in placement.aims:
        (_, first, _), (_, second, _) = row.places
        assert np.linalg.norm(np.subtract(first, second)) > 0.5
    assert not (*review(placement.scene).short, *review(placement.scene).advised)


def test_figures_of_the_aims_agree_with_the_placement() -> None:
    seats = "[{id: S1, at: [0.6, 2.3]}, {id: S2, at: [6.9, 2.3]}, {id: S3, at: [3.4, 1.4]}]"
    for aim in ("near", "margin", "centre"):
        placement = place_scene(room(seats=seats, arrays=TWO), aim=aim)  # type: ignore[arg-type]
        row = next(row for row in placement.aims if row.aim == aim)
        assert row.margin_m == placement.margin_m
        assert [at for _, at, _ in row.places] == [(*a.at_m, a.height_m) for a in placement.arrays]
        for row in placement.aims:
            assert row.bound is not None
            assert row.gap is not None
            assert row.gap <= (0.01 if row.aim == "centre" else GAP_M) or row.outcome == "unresolved"
        if aim == "margin":
            assert (row.bound, row.for_groups) == (placement.bound_m, False)


def test_an_array_without_room_beside_the_others_is_left_out_and_said() -> None:
    tight = room(seats="[{id: S1, at: [2.3, 1.4]}]", arrays=TWO, size="4.6, 4.6", limits="wall: 2.1")
    placement = place_scene(tight, advise=False)
    assert [array.id for array in placement.arrays] == ["A1"]
    assert not placement.certified
    assert Note("left out", arrays=("B",)) in placement.notes


def test_arrays_held_too_near_each_other_are_a_proof_that_nothing_is_allowed() -> None:
    held = (
        "[{id: A1, profile: wick, at: [3.3, 2.3], height: 2.2, band: mid}, "
        "{id: B, profile: wick, at: [3.5, 2.3], height: 2.2, band: mid}]"
    )
    placement = place_scene(room(arrays=held), hold=("at", "height"), advise=False)
    assert placement.outcome == "none allowed"
    assert placement.notes == (Note("held too near", pairs=(("A1", "B"),)),)


def test_how_far_a_search_has_come_is_shown_by_its_stages() -> None:
    shown: list[Far] = []
    apart = "[{id: S1, at: [0.6, 2.3]}, {id: S2, at: [6.9, 2.3]}]"
    place_scene(room(seats=apart), progress=shown.append)
    assert shown[-1] == Far("conflict")
    shown.clear()
    place_scene(room(seats=apart), arrays="fewest", progress=shown.append)
    assert shown[0] == Far("count", round=1)
    assert {"margin", "tolerance"} <= {far.stage for far in shown if far.round is not None}
    assert Far("centre") in shown


def test_certificate_is_kept_when_asked_for() -> None:
    proof = place_scene(room(), record=True).certificate_json()
    assert proof is not None
    assert set(proof["searches"]) == {"near", "tolerance", "margin", "centre", "most"}
    assert json.loads(json.dumps(proof)) == proof
    assert place_scene(room()).certificate_json() is None


def test_rooms_to_move_name_the_head_that_is_lost_first() -> None:
    # under a ceiling so high that it is a talker who is lost first upwards too
    placed = place_scene(room(ceiling="3.6"), enough_m=0.05)
    told = placed.as_json()["arrays"][0]
    heads = {head.id for head in placed.scene.heads}
    assert [entry["direction"] for entry in told["room_to_move"]] == ["+x", "-x", "+y", "-y", "up", "down"]
    for entry in told["room_to_move"]:
        assert entry["head"] in heads
        assert entry["distance_m"] >= placed.tolerance_m - 1e-9
    # 1° at 3 m takes 52 mm (2 · 3 m · sin 0.5°)
    assert placed.arrays[0].margin_left_m == pytest.approx(placed.margin_m - 0.05236, abs=1e-4)
