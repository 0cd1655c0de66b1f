"""CSV tables: nothing a spreadsheet would run, nothing a reader would misread."""

from __future__ import annotations

import csv
import io

import pytest

from scenes.dossier import Dossier
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.scenes.ceiling_parts import BULKHEAD, scene_of
from viz.csvs import (
    CLEARANCE_COLUMNS,
    HEAD_COLUMNS,
    _cell,
    cautions_csv,
    clearances_csv,
    heads_csv,
    schedule_csv,
)
from viz.words.clearances import figures
from viz.words.locale import Locale

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
seats: [{id: "=1+1", at: [1.6, 2]}, {id: "a, \\"b\\"", at: [4.4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: "@A1", profile: p, at: [3, 2], height: 2.2, band: one}]
overhead: [{id: "+SP", kind: sprinkler, at: [3, 3], below: 0.05}]
"""


def rows(text):
    assert text.endswith("\r\n")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_a_text_that_a_spreadsheet_would_run_gets_an_apostrophe():
    judged = review(build(read_spec_text(ROOM)))
    heads = rows(heads_csv(judged))
    assert tuple(heads[0]) == HEAD_COLUMNS
    assert [row["id"] for row in heads] == ["'=1+1", 'a, "b"']
    assert [row["array"] for row in heads] == ["'@A1"] * 2
    assert {row["against"] for row in rows(clearances_csv(judged))} >= {"'+SP"}
    assert [row["array"] for row in rows(schedule_csv(Dossier(judged.scene)))] == ["'@A1"]


def test_numbers_are_those_of_the_review_and_missing_ones_are_empty():
    judged = review(build(read_spec_text(ROOM)))
    for row, head in zip(rows(heads_csv(judged)), judged.heads, strict=True):
        assert float(row["margin_m"]) == round(head.margin_m, 6)
        assert row["reason"] == ""
        assert (float(row["plan_x_m"]), float(row["plan_y_m"])) == head.mouth_m[:2]


def test_sound_is_that_of_the_review_and_empty_without_acoustics():
    assert {row["level_dBA"] for row in rows(heads_csv(review(build(read_spec_text(ROOM)))))} == {""}
    heard = ROOM + "acoustics: {noise_dBA: 35, reverberation_s: 0.5}\n"
    judged = review(build(read_spec_text(heard)))
    for row, line in zip(rows(heads_csv(judged)), judged.speech, strict=True):
        told = [row[name] for name in ("level_dBA", "to_noise_dB", "to_reverberant_dB", "index")]
        own = [line.level_dBA, line.to_noise_dB, line.to_reverberant_dB, line.index]
        assert [float(one) for one in told] == pytest.approx(own, abs=1e-6)


def test_a_figure_with_a_plus_has_a_space_in_front_that_keeps_it_a_text():
    judged = review(build(read_spec_text(ROOM)))
    margins = [row["margin"] for row in rows(heads_csv(judged))]
    assert [head.margin_m > 0 for head in judged.heads] == [True, True]
    assert all(margin.startswith(" +") for margin in margins), margins


def test_heads_and_schedule_have_one_frame_and_say_from_which_wall_of_the_file_an_array_is_set_out():
    # walls 0 and 3 do not start at the frame's zero: the room's corner lies at 10, 20
    moved = ROOM.replace("size: [6, 4]", "outline: [[10, 20], [16, 20], [16, 24], [10, 24]]")
    for before, after in (("[1.6, 2]", "[11.6, 22]"), ("[4.4, 2]", "[14.4, 22]"), ("[3, 2]", "[13, 22]"),
                          ("[3, 3]", "[13, 23]")):  # fmt: skip
        moved = moved.replace(before, after)
    scene = build(read_spec_text(moved))
    assert {row["plan_x_m"] for row in rows(heads_csv(review(scene)))} == {"11.6", "14.4"}
    [row] = rows(schedule_csv(Dossier(scene)))
    assert (row["plan_x_m"], row["plan_y_m"]) == ("13.0", "22.0")
    assert (row["x_off_wall_m"], row["x_wall"], row["x_wall_in_file"]) == ("3.0", "W4", "3")
    assert (row["y_off_wall_m"], row["y_wall"], row["y_wall_in_file"]) == ("2.0", "W1", "0")


def test_the_schedule_says_what_the_hang_point_is_fixed_to_and_how_level_it_has_to_be():
    [row] = rows(schedule_csv(Dossier(build(read_spec_text(ROOM)))))
    assert "fixed" in row["hang_point"]
    assert row["level"] == f"within {float(row['level_deg']):g}° of level"


def test_a_caution_says_in_words_whether_its_standard_was_checked():
    told = rows(cautions_csv(build(read_spec_text(ROOM))))
    assert {row["checked"] for row in told if row["id"] != "advice"} == {
        "not checked against the printed standard",
        "names no standard",
    }


def test_clearances_have_numbers_for_machines_and_words_for_states():
    judged = review(build(read_spec_text(ROOM)))
    told = rows(clearances_csv(judged))
    assert tuple(told[0]) == CLEARANCE_COLUMNS
    for row, one in zip(told, judged.clearances, strict=True):
        assert row["actual_m"] == ("" if one.actual_m is None else str(round(one.actual_m, 6)))
        assert (row["required"], row["actual"]) == figures(one, Locale.of(judged.scene))
    [sprinkler] = [row for row in told if row["kind"] == "sprinkler"]
    assert (sprinkler["state"], sprinkler["number"]) == ("not checked", "R2")
    assert (sprinkler["rule"], sprinkler["required_m"]) == ("Clear of a sprinkler's spray", "")


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("+13 cm", " +13 cm"),
        ('+28 1/4"', ' +28 1/4"'),
        ("+1+cmd|' /C calc'!A0", "'+1+cmd|' /C calc'!A0"),
        ("+SP", "'+SP"),
        ("−9 cm", "−9 cm"),
    ],
)
def test_only_a_figure_has_a_plus_without_an_apostrophe(text, cell):
    assert _cell(text) == cell


def test_the_schedule_names_the_ceiling_part_over_an_array_and_its_kind():
    [under] = rows(schedule_csv(Dossier(scene_of([BULKHEAD]))))
    assert (under["ceiling_m"], under["ceiling_kind"], under["ceiling_part"]) == ("2.45", "hard", "BH1")
    [beside] = rows(schedule_csv(Dossier(scene_of([]))))
    assert (beside["ceiling_kind"], beside["ceiling_part"]) == ("suspended", "")
