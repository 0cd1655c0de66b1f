"""People, each by the worst of their heads, counted once; who is blocked is not covered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.coverage import serving_arrays
from scenes.findings.review import STANDINGS, Counts, HeadReview
from scenes.review.as_json import as_json
from scenes.review.counts import counts_of
from scenes.review.review import review
from scenes.room.build import build, read_scene
from scenes.spec.reading import read_spec_text

CASES = Path(__file__).parents[1] / "cases"
BLOCKED = review(read_scene(CASES / "blk.yaml"))


def head(person: str, state: str, sight: str = "clear") -> HeadReview:
    return replace(BLOCKED.heads[0], person=person, state=state, sight=sight)  # type: ignore[arg-type]


def test_a_head_behind_a_light_is_counted_once_and_nowhere_as_covered() -> None:
    """shared/found/cases/blk.yaml: a light hangs between the array and T1-1, who is inside the band."""
    behind = BLOCKED.head("T1-1")
    assert (behind.state, behind.sight, behind.standing) == ("covered", "blocked", "blocked")
    assert (behind.blocked_by, behind.blockers) == ("Pendant one", ("Pendant one",))
    assert BLOCKED.counts == Counts(talkers=6, covered=5, marginal=0, missed=0, blocked=1)
    assert BLOCKED.verdict == "fail"
    written = as_json(BLOCKED)
    assert written["counts"] == {"talkers": 6, "covered": 5, "marginal": 0, "missed": 0, "blocked": 1}
    assert [h["id"] for h in written["heads"] if h["sight"] == "blocked"] == ["T1-1"]


@pytest.mark.parametrize(
    ("heads", "expected"),
    [
        ([("covered", "clear"), ("marginal", "clear")], "marginal"),
        ([("marginal", "clear"), ("covered", "blocked")], "blocked"),
        ([("covered", "blocked"), ("missed", "clear")], "missed"),
        ([("missed", "blocked")], "missed"),
        ([("covered", "clear")], "covered"),
    ],
)
def test_a_person_counts_as_the_worst_of_their_heads(heads: list[tuple[str, str]], expected: str) -> None:
    counts = counts_of([*(head("S1", *one) for one in heads), head("S2", "covered")])
    assert counts.talkers == 2
    assert sum(getattr(counts, name) for name in STANDINGS) == 2
    assert getattr(counts, expected) == (2 if expected == "covered" else 1)


def test_without_a_place_only_the_talkers_are_known() -> None:
    counts = Counts(talkers=4)
    assert (counts.covered, counts.marginal, counts.missed, counts.blocked) == (None,) * 4


MIRROR = """\
overtable: 1
name: Mirror
units: m
room: {size: [8, 4], ceiling: 2.8}
seats: [{id: S1, at: [4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 70]}, reach: [0.5, 4]}}
arrays:
  - {id: A1, profile: p, at: [2.5, 2], height: 2.2, band: one}
  - {id: A2, profile: p, at: [5.5, 2], height: 2.2, band: one}
"""


def test_of_arrays_that_tie_the_first_in_the_file_serves() -> None:
    room = build(read_spec_text(MIRROR))
    assert review(room).heads[0].array == "A1"
    assert review(room.with_arrays(room.arrays[::-1])).heads[0].array == "A2"
    # a billionth of a metre is a tie as well
    assert review(room.with_array("A2", at_m=(5.5 - 5e-10, 2.0))).heads[0].array == "A1"
    assert review(room.with_array("A2", at_m=(5.5 - 1e-6, 2.0))).heads[0].array == "A2"


def test_who_sees_a_head_serves_it_before_who_only_has_the_margin() -> None:
    margins = np.array([[0.4, 0.3, 0.2], [0.1, 0.1, 0.2]])
    sees = np.array([[False, True, False], [True, True, False]])
    assert serving_arrays(margins).tolist() == [0, 0, 0]
    assert serving_arrays(margins, sees).tolist() == [1, 0, 0]
    # for many heights at once as for one
    several = np.stack([margins, margins], axis=1)
    assert serving_arrays(several, np.stack([sees, ~sees], axis=1)).tolist() == [[1, 0, 0], [0, 0, 0]]
