"""The schedule, the steps and the tables to fill in, in words."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest

from scenes.dossier import Dossier
from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.room.document import Document
from scenes.room.scene import Grid, Scene, Suspension
from tests.scenes.ceiling_parts import BULKHEAD, scene_of
from tests.scenes.ceiling_rooms import array, head, profile, scene
from viz.words import installation
from viz.words.installation import ScheduleText
from viz.words.locale import Locale

GRID = Grid((0.6, 0.6), (0.0, 0.0))


def row(of: Scene) -> ScheduleText:
    [found] = Dossier(of).schedule
    return installation.schedule(found, review(of))


def steps(of: Scene) -> dict[str, str]:
    dossier = Dossier(of)
    found = installation.steps(dossier.steps, dossier.schedule, dossier.review)
    assert [step.number for step in found] == list(range(1, len(found) + 1))
    return {step.title: step.text for step in found}


def test_a_height_to_the_millimetre_is_one_value_in_one_row() -> None:
    found = row(scene(grid=GRID, arrays=(array(height_m=2.195),)))
    assert (found.x, found.y) == ("3.00 m from wall W4", "2.00 m from wall W1")
    assert found.underside == "2.165 m above floor (acoustic centre 2.195 m)"
    assert found.drop == "0.555 m from ceiling to acoustic centre"
    assert found.cable == "0.855 m from box to acoustic centre, 0.30 m spare included"


def test_a_mass_that_is_not_given_asks_for_it() -> None:
    assert row(scene()).mass == "1.4 kg"
    assert row(scene(arrays=(array(profile=profile(mass_kg=None)),))).mass.startswith("not given: get it")


def test_box_and_fixing_follow_the_ceiling() -> None:
    assert row(scene(grid=GRID)).box == "above tile F4, on a tile bridge"
    assert "the tile carries nothing" in row(scene()).fixing
    assert row(scene(ceiling_kind="open")).box == "on the structure"
    assert row(scene(ceiling_kind="hard")).box == "under the ceiling"
    assert (
        row(scene(grid=GRID, suspension=Suspension(box="structure"))).box == "on the structure, above tile F4"
    )
    flush = row(scene(grid=GRID, arrays=(array(profile=profile(0.6, mount="flush")),)))
    assert (flush.box, flush.cable) == ("in tile F4", "–")
    assert "frame" in flush.box_support


def test_support_is_kept_apart_from_strain_relief() -> None:
    found = row(scene())
    assert found.box_support.startswith("safety cable")
    assert "independent of the hanging cable" in found.array_support
    assert "neither counts as secondary support" in found.relief
    bare = row(scene(suspension=Suspension(safety_cable=False, clamp="double gripper")))
    assert bare.box_support.startswith("none")
    assert bare.relief == "double gripper"


def test_a_hang_point_on_a_tee_is_said_beside_its_tile() -> None:
    assert row(scene(grid=GRID)).tile.startswith("F4; ")
    assert row(scene(grid=Grid((0.6, 0.6), (0.3, 0.3)))).tile == "F4"
    assert row(scene()).tile == "–"


def test_the_first_step_asks_whether_this_is_the_current_issue() -> None:
    plain = steps(scene())
    assert list(plain)[:2] == ["Check the issue", "Get sign-off"]
    assert "it carries no revision" in plain["Check the issue"]
    issued = scene(document=Document(revision="B", date="2026-11-25"))
    assert "(revision B of 2026-11-25)" in steps(issued)["Check the issue"]
    assert "(revision B)" in steps(replace(issued, document=Document(revision="B")))["Check the issue"]


def test_nothing_starts_before_all_six_have_signed_and_what_is_open_is_named() -> None:
    text = steps(scene(grid=GRID))["Get sign-off"]
    assert "architect, fire, ceiling, structure, electrical and client" in text
    assert text.endswith("Open: A1 on a grid tee (ceiling); overhead load and secondary support (structure).")
    nothing_else = steps(scene(grid=Grid((0.6, 0.6), (0.3, 0.3))))["Get sign-off"]
    assert nothing_else.endswith("Open: overhead load and secondary support (structure).")


def test_commissioning_sets_the_band_of_each_array_and_is_heard_from_every_seat() -> None:
    of = scene(
        arrays=(array("A1"), array("A2", (3.0, 2.6))), heads=(head("S1", (2.4, 1.3)), head("S2", (3.6, 2.7)))
    )
    text = list(steps(of).items())[-1]
    assert text[0] == "Commission"
    assert "set A1 to band mid (21–66°) and A2 to band mid (21–66°), and the orientation" in text[1]
    assert "speak from every seat" in text[1]


@pytest.mark.parametrize(
    ("kind", "said", "unsaid"),
    [
        ("suspended", "tile bridge", "through the lining"),
        ("open", "Fix the box to the structure", "tile"),
        ("hard", "through the lining", "tile bridge"),
    ],
)
def test_the_box_step_follows_the_ceiling(kind: str, said: str, unsaid: str) -> None:
    text = " ".join(steps(scene(ceiling_kind=kind)).values())
    assert said in text
    assert unsaid not in text
    assert "wall W4" in text


@pytest.mark.parametrize(
    ("by", "points", "row_says", "step_says"),
    [
        ("cable", 1, "one cable", "Set the clamp"),
        ("wires", 3, "3 wires from the body to one hang point", "bring the wires from the body together"),
        ("rod", 2, "2 rods; only the middle between them is checked", "look that none meets a tee"),
        ("pole", 1, "one pole", "Fix the pole plumb on the mark"),
    ],
)
def test_what_a_body_hangs_by_is_said_in_row_relief_and_step(
    by: str, points: int, row_says: str, step_says: str
) -> None:
    of = scene(grid=GRID, arrays=(array(profile=profile(hangs_by=by, points=points)),))
    found = row(of)
    assert found.suspension.startswith(row_says)
    assert "neither counts as secondary support" in found.relief
    assert step_says in steps(of)["Hang the array"]
    others = {"clamp", "grippers", "lock nuts", "locking screws"}
    own = {"cable": "clamp", "wires": "grippers", "rod": "lock nuts", "pole": "locking screws"}[by]
    assert not any(other in found.relief for other in others - {own})


def test_flush_arrays_have_no_cable_to_set_and_a_missing_safety_cable_is_agreed() -> None:
    far = (head("S1", (1.2, 2.0)),)
    flush = steps(scene(arrays=(array(profile=profile(0.6, mount="flush")),), heads=far))
    assert "Set the clamp" not in " ".join(flush.values())
    assert "Cut the opening" in flush["Set in the flush array"]
    assert "agreed in writing" in steps(scene(suspension=Suspension(safety_cable=False)))["Secure the box"]


def test_a_room_that_fails_has_one_step_with_its_hold() -> None:
    weir = read_scene(str(files("scenes.rooms") / "weir.yaml"))
    assert steps(weir) == {
        "Do not install": "Not for installation: 2 of 12 talkers not covered, 2 covered only upright. "
        "The design must be changed and issued "
        "again before anything is hung."
    }


def test_the_tables_to_fill_in_have_what_was_designed_and_every_talker() -> None:
    dossier = Dossier(scene(arrays=(array(height_m=2.195),)))
    found = installation.installed(dossier.schedule, dossier.review)
    measured = dict(zip(found.measured, found.measured_rows[0], strict=True))
    assert (measured["x"], measured["Underside"], measured["Level within"]) == ("3.00 m", "2.165 m", "1°")
    commissioned = dict(zip(found.commissioned, found.commissioned_rows[0], strict=True))
    assert (commissioned["Band set"], commissioned["Orientation"]) == ("mid", "0°")
    for column in ("Serial no.", "Secondary support fitted", "Signed, date"):
        assert commissioned[column] == ""
    assert found.seats == ("S1", "S2")


def test_the_walls_of_a_schedule_are_defined_by_their_ends() -> None:
    of = scene()
    found = installation.walls(of, Dossier(of).schedule, Locale.of(of))
    assert found == {"W1": "0.00 m, 0.00 m to 6.00 m, 0.00 m", "W4": "0.00 m, 4.00 m to 0.00 m, 0.00 m"}


def test_feet_stay_feet() -> None:
    ferry = read_scene(str(files("scenes.rooms") / "ferry.yaml"))
    assert row(ferry).x == "12'-0\" from wall W4"


def test_the_cable_to_a_structure_of_unknown_height_is_not_known() -> None:
    of = scene(structure_m=None, suspension=Suspension(box="structure"))
    assert row(of).cable.startswith(
        "not known: measure from the structure to the acoustic centre, and add 0.30 m"
    )
    assert row(scene(structure_m=None)).cable.startswith("0.85 m from box to acoustic centre")


def test_under_a_part_the_row_names_it_and_steps_say_which_arrays_they_are_for() -> None:
    second = {"id": "A2", "profile": "halo", "at": [1.5, 2.4], "height": 2.1, "band": "wide"}
    first = {"id": "A1", "profile": "halo", "at": [3.6, 2.4], "height": 2.1, "band": "wide"}
    of = scene_of([BULKHEAD], arrays=[first, second])
    rows = Dossier(of).schedule
    said = [installation.schedule(one, review(of)).ceiling for one in rows]
    assert said == ["2.45 m (part BH1)", "2.80 m"]
    titles = list(steps(of))
    assert "Set the box (A1)" in titles
    assert "Set the box (A2)" in titles
    assert "Close the ceiling (A2)" in titles
    assert "Hang the array" in titles


def test_what_is_cut_and_drilled_is_said_for_each_kind_of_hanging() -> None:
    def told(by: str, points: int, **more: object) -> ScheduleText:
        kind = replace(profile(0.4, hangs_by=by, points=points), **more)  # type: ignore[arg-type]
        return row(scene(arrays=(array(profile=kind),)))

    wires = told("wires", 3, spread_m=0.3, cutout_m=(0.04, 0.04))
    assert wires.cut == (
        "3 wires of 0.541 m from the hang point at the ceiling to the body; grippers and ends as the maker gives"
    )
    assert wires.holes == "one hole at the hang point, 40 mm in diameter"
    assert wires.second == (
        "straight to the structure: 1.17 m from the top of the body and 0.59 m from the box; fittings as the maker "
        "gives"
    )
    assert "ask the maker how far apart they are fixed" in told("wires", 3).cut
    rods = told("rod", 2, spread_m=0.3)
    assert rods.cut.startswith(
        "2 rods of 0.52 m from the ceiling to the top of the body, less their fittings"
    )
    assert rods.holes == (
        "2 holes at 3.15 m, 2.00 m; 2.85 m, 2.00 m (x from wall W4, y from wall W1), diameter as the maker of what "
        "passes it gives"
    )
    assert "where is not known: ask the maker" in told("rod", 2).holes
    assert told("cable", 1).cut == "–"
    assert row(scene(ceiling_kind="open")).holes == "none: the ceiling is open"
    flush = row(scene(arrays=(array(profile=profile(0.4, mount="flush")),), structure_m=None))
    assert flush.holes == "one cut-out with its middle at the hang point, size as the maker gives"
    assert flush.second.startswith("not known: measure from the body to the structure")


def test_the_terminal_says_in_one_line_where_what_it_hangs_by_comes_from() -> None:
    of = scene(grid=GRID)
    [line] = installation.hung_from(Dossier(of).schedule, review(of))
    assert line == (
        "A1: one cable, which carries and connects. Box above tile F4, on a tile bridge; cable 0.85 m from box to "
        "acoustic centre, 0.30 m spare included; ceiling at 2.75 m."
    )
