"""CSV tables: nothing a spreadsheet would run, nothing a reader would misread."""

from __future__ import annotations

import csv
import io

from scenes.dossier import Dossier
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from viz.csvs import CLEARANCE_COLUMNS, HEAD_COLUMNS, clearances_csv, heads_csv, schedule_csv

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
        assert (float(row["x_m"]), float(row["y_m"])) == head.mouth_m[:2]


def test_clearances_have_numbers_for_machines_and_words_for_states():
    judged = review(build(read_spec_text(ROOM)))
    told = rows(clearances_csv(judged))
    assert tuple(told[0]) == CLEARANCE_COLUMNS
    for row, one in zip(told, judged.clearances, strict=True):
        assert row["actual_m"] == ("" if one.actual_m is None else str(round(one.actual_m, 6)))
    [sprinkler] = [row for row in told if row["kind"] == "sprinkler"]
    assert (sprinkler["state"], sprinkler["number"]) == ("not judged", "R2")
    assert (sprinkler["rule"], sprinkler["required_m"]) == ("Clear of a sprinkler's spray", "")
