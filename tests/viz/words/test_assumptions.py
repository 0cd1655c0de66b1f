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


def test_a_survey_is_named_with_its_percentiles() -> None:
    who = "people: {seated: {population: women and men, percentiles: [5, 95], sway: 0.1 m}}\n"
    assert people(scene(who + SEAT)) == (
        "Seated mouths: women and men, percentiles 5 to 95 of ANSUR II (NATICK/TR-15/007, 2012), derived from eye "
        "heights; uncertain by about 8 mm.",
    )


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
