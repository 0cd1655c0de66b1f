"""What a review takes for granted, in words."""

from __future__ import annotations

from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text
from viz.words.assumptions import people, whole

ROOM = """\
overtable: 1
name: R
units: {units}
room: {{size: [6 m, 4 m], ceiling: 2.8 m}}
{people}
profiles:
  p: {{mount: pendant, body: {{diameter: 0.2 m, height: 0.06 m}}, bands: {{one: [20, 65]}}, reach: [0.8 m, 3 m]}}
arrays: [{{id: A1, profile: p, at: [3 m, 2 m], height: 2.2 m, band: one}}]
{more}
"""


def scene(people: str, more: str = "", units: str = "m") -> Scene:
    return build(read_spec_text(ROOM.format(people=people, more=more, units=units)))


SEAT = "seats: [{id: S1, at: [1.6 m, 2 m]}]"


def test_defaults_are_overtables_own_and_no_standard() -> None:
    mouth, lean = people(scene(SEAT))
    assert mouth.startswith("Seated mouths at 1.20 m: overtable default")
    assert "not checked against the printed standard" in mouth
    assert lean == "Talkers lean up to 0.10 m: overtable default, not from a standard."
    [standing, _] = people(scene("standing: [{id: P1, at: [2 m, 2 m]}]"))
    assert standing.startswith("Standing mouths at 1.50 m: overtable default")


def test_what_the_file_gives_is_no_assumption_also_where_it_equals_the_default() -> None:
    assert people(scene("people: {seated: {mouth: 1.2 m, sway: 0.1 m}}\n" + SEAT)) == ()


def test_a_survey_is_named_with_its_percentiles_and_what_share_of_people_the_range_holds() -> None:
    who = "people: {seated: {population: women and men, percentiles: [5, 95], sway: 0.1 m}}\n"
    # ranges and shares: tests/outside/test_people_values.py
    assert people(scene(who + SEAT)) == (
        "Seated mouths: women and men alike, seat 0.44 m; from the women's percentile 5 to the men's 95 of ANSUR II "
        "(NATICK/TR-15/007, 2012), 4 082 men and 1 986 women of the US Army, derived from eye heights, uncertain by "
        "about 8 mm. The range 1.07–1.23 m holds 94.9 % of these people.",
    )
    din = "people: {seated: {population: DIN 33402-2, women: 0.3, seat: own, slump: 0.04 m, sway: 0.1 m}}\n"
    [text] = people(scene(din + SEAT))
    assert text.startswith("Seated mouths: women and men, 30 % women, seats set to each person's legs; from")
    assert "not checked against the printed standard. They sit 0.04 m lower than upright." in text
    [men] = people(
        scene("people: {standing: {population: men, sway: 0.1 m}}\nstanding: [{id: P, at: [1 m, 2 m]}]")
    )
    assert men.startswith("Standing mouths: men; percentiles 5 to 95 of ANSUR II")
    assert men.endswith("holds 90.0 % of these people.")


def test_a_plain_height_says_how_many_mouths_are_lower() -> None:
    [mouth, _] = people(scene(SEAT))
    assert (
        "89 of 100 seated people have their mouths lower, and nine of ten are between 1.09 m and 1.22 m"
        in mouth
    )
    [mouth, _] = people(scene("standing: [{id: P1, at: [2 m, 2 m]}]"))
    assert "35 of 100 standing people have their mouths lower" in mouth


def test_limits_sizes_and_angles_of_overtables_own_are_named() -> None:
    more = "overhead: [{id: L1, kind: light, at: [1 m, 1 m], below: 0}]\ncameras: [{id: C1, at: [5 m, 2 m, 1 m]}]"
    text = " ".join(whole(scene(SEAT, more)))
    assert "Required 0.30 m to walls and 0.60 m over tables: overtable default, not from a standard." in text
    assert "Sizes of L1: overtable defaults" in text
    assert "Depths of L1: overtable defaults" in text
    assert "Angle of view of C1: 70°, overtable default." in text
    assert "Box of 0.15 m × 0.15 m × 0.06 m: overtable default." in text
    limits = "limits: {wall: 0.3 m, free_over_table: 0.6 m}"
    box = "suspension: {box: {fixing: structure, size: [0.2 m, 0.2 m, 0.1 m]}}"
    quiet = " ".join(whole(scene(SEAT, f"{limits}\n{box}")))
    assert "Required" not in quiet
    assert "Box of" not in quiet


def test_a_room_in_feet_reads_in_feet() -> None:
    assert people(scene(SEAT, units="ft"))[1].startswith('Talkers lean up to 3 7/8"')
