"""What to heed, what is open and who signs: facts by name."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from typing import get_args

import pytest

from scenes.findings.cautions import Because, Caution, CautionName, Open, OpenName, Signatory
from scenes.findings.review import Review
from scenes.review.cautions import LOOKED_FOR, SIGNS_FOR, cautions, open_points, sign_offs
from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.room.scene import Grid, Scene, Suspension
from tests.scenes.ceiling_rooms import array, changed, device, head, profile, scene

GRID = Grid((0.6, 0.6), (0.3, 0.3))


def names(of: Scene) -> set[CautionName]:
    return {caution.name for caution in cautions(of)}


def named_points(of: Review, name: OpenName) -> list[Open]:
    return [point for point in open_points(of) if point.name == name]


def named(of: Scene, name: CautionName) -> Caution:
    [found] = [caution for caution in cautions(of) if caution.name == name]
    return found


def test_wherever_something_hangs_over_people_these_apply() -> None:
    always = {"load", "secondary support", "fire protection", "seismic", "electrical", "height"}
    for kind in ("suspended", "open", "hard"):
        assert always <= names(scene(ceiling_kind=kind))


def test_each_is_there_once_and_the_most_specific_first() -> None:
    listed = (device("SD1", "smoke detector", (1, 1)), device("SP1", "sprinkler", (5, 3)))
    for of in (scene(), scene(overhead=listed), scene(ceiling_kind="open")):
        found = cautions(of)
        assert len({caution.name for caution in found}) == len(found)
        ranks = [get_args(Because).index(caution.because) for caution in found]
        assert ranks == sorted(ranks)


def test_what_is_not_listed_is_to_be_looked_for() -> None:
    bare = scene()
    assert {"no sprinklers", "no detectors", "not listed"} <= names(bare)
    assert named(bare, "not listed").things == LOOKED_FOR
    lit = scene(overhead=(device("L1", "light", (1, 1)),))
    assert named(lit, "not listed").things == tuple(kind for kind in LOOKED_FOR if kind != "light")


def test_a_room_that_lists_a_detector_is_still_warned_of_others() -> None:
    listed = scene(overhead=(device("SD1", "smoke detector", (1, 1)), device("SP1", "sprinkler", (5, 3))))
    assert named(listed, "detectors") == Caution("detectors", "here", ("SD1",))
    assert named(listed, "sprinklers") == Caution("sprinklers", "here", ("SP1",))
    assert not {"no sprinklers", "no detectors"} & names(listed)


def test_open_ceilings_keep_fire_and_asbestos_and_have_no_void_and_no_tiles() -> None:
    closed = {"plenum", "grid load", "fire rating", "asbestos"}
    assert closed <= names(scene())
    for of in (scene(ceiling_kind="open"), scene(suspension=Suspension(ceiling="open"))):
        assert not closed & names(of)
        assert {"fire protection", "coatings"} <= names(of)
    # above plasterboard there is a void as well, and air may move through it
    assert closed - {"grid load"} <= names(scene(ceiling_kind="hard"))
    assert "grid load" not in names(scene(ceiling_kind="hard"))


def test_nothing_vanishes_with_what_the_file_does_not_give() -> None:
    given = scene(grid=GRID)
    assert not {"mass", "structure", "grid", "safety cable"} & names(given)
    heavy = scene(grid=GRID, arrays=(array(profile=profile(mass_kg=None)),))
    assert named(heavy, "mass") == Caution("mass", "not given", ("lamp",))
    assert "structure" in names(scene(structure_m=None))
    assert "structure" not in names(scene(structure_m=None, ceiling_kind="open"))
    assert "grid" in names(scene())
    assert "grid" not in names(scene(ceiling_kind="hard"))
    assert "safety cable" in names(scene(suspension=Suspension(safety_cable=False)))


def test_every_caution_is_signed_for_by_one_of_six() -> None:
    assert set(SIGNS_FOR) == set(get_args(CautionName))
    signed = sign_offs(review(scene()))
    assert [one.who for one in signed] == list(get_args(Signatory))
    assert sorted(c.name for one in signed for c in one.cautions) == sorted(names(scene()))


def test_what_is_open_goes_to_who_decides_it() -> None:
    near = (
        device("SP1", "sprinkler", (3.2, 2.0), below_m=0.05, spray="unknown"),
        device("L1", "light", (3.1, 2.0), below_m=0.5),
    )
    of = scene(grid=Grid((0.6, 0.6), (0.0, 0.0)), overhead=near)
    found = {(point.name, point.who): point for point in open_points(review(of))}
    assert found["unjudged", "fire"].things == ("SP1",)
    assert found["tee", "ceiling"].things == ("A1",)
    assert ("missed", "client") not in found
    signed = {one.who: one.open for one in sign_offs(review(of))}
    assert found["unjudged", "fire"] in signed["fire"]
    assert sum(len(points) for points in signed.values()) == len(found)


def test_a_rule_that_the_file_changes_is_open_for_who_decides_it() -> None:
    [point] = named_points(review(changed(scene(), "smoke-detector", 0.3)), "changed")
    assert (point.name, point.who, point.things, point.fails) == (
        "changed",
        "fire",
        ("smoke-detector",),
        False,
    )


def test_a_talker_counts_once_however_many_heads_are_missed() -> None:
    way = [(0.2, 0.5), (0.2, 1.0)]
    walker = [replace(head(f"W-{n}", at, path_m=(at,)), group="W") for n, at in enumerate(way, 1)]
    of = scene(heads=(head("S1", (2.4, 1.3)), *walker))
    [missed] = named_points(review(of), "missed")
    assert missed.things == ("W",)


@pytest.mark.parametrize("room", ["heron", "weir", "loft", "ferry"])
def test_something_fails_the_room_exactly_where_the_verdict_does(room: str) -> None:
    judged = review(read_scene(str(files("scenes.rooms") / f"{room}.yaml")))
    points = open_points(judged)
    assert any(point.fails for point in points) == (judged.verdict == "fail")
    # what carries the arrays is open in any room, and no verdict's matter
    assert points[-1].name == "overhead"
    assert (len(points) == 1) == (judged.verdict == "pass")
    assert [point.fails for point in points] == sorted((point.fails for point in points), reverse=True)


def test_a_talker_behind_something_is_not_covered_and_open_once() -> None:
    board = device("L1", "light", (2.2, 2.0), below_m=1.2, depth_m=1.2)
    judged = review(scene(heads=(head("S1", (1.4, 2.0)),), overhead=(board,)))
    assert judged.blocked
    points = {point.name: point for point in open_points(judged) if point.who == "client"}
    assert points["missed"].things == ("S1",)
    assert points["missed"].fails
    assert "blocked" not in points


def test_what_nobody_measured_is_open_for_the_architect() -> None:
    guessed = replace(scene(grid=GRID), unsure=(("room.ceiling", "ceiling-kind"), ("T1", "by eye")))
    [point] = named_points(review(guessed), "unsure")
    assert (point.name, point.who, point.things, point.fails) == (
        *("unsure", "architect", ("room.ceiling", "T1"), False),
    )


def test_an_array_too_close_below_the_ceiling_is_open_for_the_structure() -> None:
    """Wires that lie level carry nothing: found by a designer, whose room passed with wires of half their spread."""
    of = scene(grid=GRID)
    [one] = of.arrays
    wires = replace(one.profile, hangs_by="wires", points=3, spread_m=0.36)
    top_m = one.profile.size_m[2] - one.profile.centre_m
    for left_m, name in ((0.02, "flat wires"), (0.09, "flat wires"), (0.12, None)):
        hung = replace(one, profile=wires, height_m=of.room.ceiling_m - top_m - left_m)
        judged = review(of.with_arrays((hung,)))
        found = [point for point in open_points(judged) if point.name in ("flat wires", "hangs short")]
        assert [(point.name, point.who, point.things) for point in found] == (
            [(name, "structure", ("A1",))] if name else []
        )
    # by one cable there is no angle, and room for a hand is all that is asked
    cable = replace(one, height_m=of.room.ceiling_m - top_m - 0.09)
    assert [point.value_m for point in named_points(review(of.with_arrays((cable,))), "hangs short")] == [0.1]
