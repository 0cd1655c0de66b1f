"""Rooms in which strangers found overtable wrong, each one line away from a room that passes.

What is expected is geometry and the published clearances of `tests/outside`: two solid things cannot be in one place,
a sprinkler's spray and a detector keep their distance, a device's unknown size cannot be judged.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from scenes.findings.clearance import Clearance
from scenes.findings.review import Review
from scenes.review.review import review, with_ceiling
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = (Path(__file__).parent / "cases" / "void.yaml").read_text("utf-8")
HEIGHT, SP2 = "height: 2.2, band: mid", "{id: SP2, kind: sprinkler, at: [3.3, 2.85]"
DETECTOR = "kind: smoke detector, at: [3.3, 4.05]"
LIGHT = "{id: L1, kind: light, at: [1.8, 1.05]"


@cache
def found(*changes: tuple[str, str]) -> Review:
    """The review of the room with a void of 0.6 m, and with some texts of its file changed, each there once."""
    text = ROOM
    for old, new in (("structure: 2.78", "structure: 3.35"), *changes):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return review(build(read_spec_text(text, "room.yaml")))


def wrong(of: Review) -> set[tuple[str, str, str | None, str]]:
    """Whatever is not clear of the arrays: against what, by which rule, with which part, and how."""
    return {
        (row.against, row.rule, row.part, row.state)
        for row in of.clearances
        if row.array is not None and row.state != "clear"
    }


def test_the_room_itself_passes() -> None:
    assert found().verdict == "pass"
    assert not wrong(found())


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        pytest.param(
            ((HEIGHT, HEIGHT.replace("2.2", "2.5")), (SP2, SP2.replace("2.85", "2.45"))),
            ("SP2", "sprinkler-spray", "body", "short"),
            id="80 mm from a sprinkler, under its deflector",
        ),
        pytest.param(
            ((HEIGHT, HEIGHT.replace("2.2", "2.21")),),
            ("SP2", "sprinkler-spray", "body", "short"),
            id="10 mm too high for the spray",
        ),
        pytest.param(
            ((HEIGHT, HEIGHT.replace("2.2", "2.5")), (DETECTOR, DETECTOR.replace("4.05", "2.45"))),
            ("SD1", "smoke-detector", "cable", "short"),
            id="beside a detector",
        ),
        pytest.param(
            ((LIGHT, LIGHT.replace("1.8, 1.05", "3.3, 2.25")),),
            ("L1", "touch", "cable", "short"),
            id="the cable in a light",
        ),
        pytest.param(
            (("structure: 3.35", "structure: 2.80"), ("box: tile bridge", "box: structure")),
            ("structure", "touch", "box", "short"),
            id="no room for a box at the slab",
        ),
    ],
)
def test_what_is_too_close_by_a_fact_or_a_code_fails(
    changes: tuple[tuple[str, str], ...], expected: tuple[str, str, str, str]
) -> None:
    judged = found(*changes)
    assert expected in wrong(judged)
    assert judged.verdict == "fail"


def test_a_cable_beside_a_sprinkler_of_unknown_size_is_not_judged() -> None:
    judged = found((SP2, SP2.replace("2.85", "2.28")))
    assert ("SP2", "touch", "cable", "unjudged") in wrong(judged)
    assert judged.verdict == "caution"


def test_a_detector_in_a_diffuser_is_told_with_the_ceiling_and_advised_at_most() -> None:
    judged = found((DETECTOR, DETECTOR.replace("3.3, 4.05", "0.9, 2.6")))
    assert judged.verdict == "pass"
    rows: list[Clearance] = [row for row in with_ceiling(judged).clearances if row.array is None]
    told = {
        (row.device, row.against, row.state) for row in rows if {"SD1", "DF1"} == {row.device, row.against}
    }
    assert told
    assert {state for _, _, state in told} <= {"advised", "unjudged"}


def test_an_exit_sign_is_a_kind_of_device() -> None:
    assert found((DETECTOR, DETECTOR.replace("smoke detector", "exit sign"))).verdict == "pass"
