"""Mistakes in plain English: what is wrong, where, and what to type."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scenes.room.build import build, require_places
from scenes.spec.mistakes import SpecMistakes, mistake_at
from scenes.spec.reading import read_spec, read_spec_text
from tests.small_room import SMALL
from viz import json_objects
from viz.words.mistakes import lines

SPECS = Path(__file__).parents[2] / "scenes" / "specs"


def mistakes_of(text: str) -> SpecMistakes:
    with pytest.raises(SpecMistakes) as raised:
        build(read_spec_text(text, "room.yaml"))
    return raised.value


def text_of(good: str, bad: str) -> str:
    """The lines of the small room with one thing changed."""
    assert good in SMALL
    return lines(mistakes_of(SMALL.replace(good, bad)))


@pytest.mark.parametrize(
    ("good", "bad", "line"),
    [
        (
            "reed}",
            "reed, height: 2, drop: 0.5}",
            "room.yaml:13:51  arrays[0].drop  The height is given twice. Give height or drop, not both.",
        ),
        (
            "ceiling: 2.7",
            "cieling: 2.7",
            "room.yaml:4:22  room.cieling  There is no key cieling here. Did you mean ceiling?",
        ),
        (
            ", ceiling: 2.7",
            "",
            "room.yaml:4:7  room.ceiling  The key ceiling is missing. Add ceiling: its height above the "
            "finished floor, or {kind: suspended | open | hard, height: …, parts: […]}.",
        ),
        (
            "ceiling: 2.7",
            "ceiling: 2700",
            "room.yaml:4:31  room.ceiling  2700 is 2700 m, longer than any room. Use at most 1000 m; are the units "
            "right? With `units: mm` it is 2.7 m.",
        ),
        (
            "ceiling: 2.7",
            "ceiling: yes",
            'room.yaml:4:31  room.ceiling  yes is not a length. Write a length such as 2.4, "2.4 m", "240 cm", '
            '"7 ft 10 in" or 7\'-10 1/2". YAML reads it as true or false.',
        ),
        (
            "reed}",
            "reed, height: 2.69}",
            "room.yaml:13:42  arrays[0].height  At this height the body is not between floor and ceiling. Use a "
            "height from 0.05 m to 2.65 m.",
        ),
        (
            "reed}",
            "reed, turn: 1000}",
            "room.yaml:13:40  arrays[0].turn  1000 does not fit here. Give degrees from -360 to 360.",
        ),
        (
            "id: A1",
            "id: No",
            "room.yaml:13:15  arrays[0].id  YAML reads No as true or false, not as text. Put it in quotes.",
        ),
        (
            "name: Harbour Room",
            "name: [Harbour",
            "room.yaml:3:6  name[1]  YAML cannot read this: did not find expected ',' or ']', in what begins in line 2. "
            "Check the colons, quotes, brackets and indentation here.",
        ),
    ],
)
def test_a_mistake_says_what_is_wrong_and_what_to_type(good: str, bad: str, line: str) -> None:
    assert text_of(good, bad) == line


def test_lengths_are_in_the_units_of_the_file() -> None:
    text = SMALL.replace("reed}", "reed, height: 9 m}")
    assert "Use a height from 0.05 m to 2.65 m." in lines(mistakes_of(text))
    for units, per_metre, expected in (
        ("mm", 1000, "50 mm to 2650 mm"),
        ("cm", 100, "5 cm to 265 cm"),
        ("in", 1 / 0.0254, '2" to 8\'-8 3/8"'),
    ):
        scaled = re.sub(
            r"(?<![\w\[])\d\.\d|(?<=size: \[)\d, \d|(?<=at: \[)\d, \d|(?<=reach: \[)\d, \d",
            lambda found, k=per_metre: re.sub(r"[\d.]+", lambda n: f"{float(n[0]) * k:.6f}", found[0]),
            text.replace("units: m", f"units: {units}"),
        )
        assert f"Use a height from {expected}." in lines(mistakes_of(scaled))


def test_an_array_without_a_position_names_the_command_once() -> None:
    spec = read_spec_text(SMALL, "new.yaml")
    with pytest.raises(SpecMistakes) as raised:
        require_places(spec, build(spec))
    assert lines(raised.value) == (
        "new.yaml:13:10  arrays[0]  A1 has no position yet. Run `overtable place new.yaml --write`."
    )


def test_a_file_that_is_not_there() -> None:
    with pytest.raises(SpecMistakes) as raised:
        read_spec("nothere.yaml")
    assert lines(raised.value) == (
        "nothere.yaml does not exist. Check the name; `overtable demo` writes rooms to start from."
    )


def test_a_mistake_in_a_file_of_profiles_says_where_it_is_there() -> None:
    start, end = SMALL.index("profiles:"), SMALL.index("arrays:")
    text = SMALL[:start] + "profiles: shared-profiles-with-mistakes.yaml\n" + SMALL[end:]
    with pytest.raises(SpecMistakes) as raised:
        read_spec_text(text, "room.yaml", SPECS)
    first, second = lines(raised.value).splitlines()
    assert first.endswith(
        "pendent is not known here. Did you mean pendant? "
        "(in shared-profiles-with-mistakes.yaml, line 6, column 12: profiles.reed.mount)"
    )
    assert "line 9, column 12: profiles.reed.reach" in second


def test_the_json_has_where_what_and_which() -> None:
    wrong = SpecMistakes(
        "room.yaml",
        [
            mistake_at(3, 2, "b", "date", "2"),
            mistake_at(1, 9, "", "unknown-key", "x", nearest="y", keys=("y", "z")),
        ],
    )
    assert json_objects.mistakes(wrong) == {
        "format": "overtable/mistakes/1",
        "file": "room.yaml",
        "mistakes": [
            {
                "line": 1,
                "column": 9,
                "path": "",
                "code": "unknown-key",
                "found": "x",
                "allowed": "The keys are y, z.",
                "nearest": "y",
            },
            {
                "line": 3,
                "column": 2,
                "path": "b",
                "code": "date",
                "found": "2",
                "allowed": "Write year-month-day, such as 2026-11-25.",
                "nearest": None,
            },
        ],
    }


BAD = sorted(file.stem for file in SPECS.glob("*.yaml") if "# mistake: " in file.read_text("utf-8"))


@pytest.mark.parametrize("trouble", BAD)
def test_every_bad_file_has_sentences_with_a_place_in_front(trouble: str) -> None:
    with pytest.raises(SpecMistakes) as raised:
        read_spec(SPECS / f"{trouble}.yaml")
    said = lines(raised.value).splitlines()
    assert len(said) == len(raised.value.mistakes)
    for line in said:
        assert re.match(r"\S+\.yaml:\d+:\d+  .*[.?)]$", line), line
        for form in (
            "{kind: ",
            "{diameter",
            "{size",
            "{low: ",
        ):  # forms to write, which have braces themselves
            line = line.replace(form, "")
        assert "{" not in line
    for one in json_objects.mistakes(raised.value)["mistakes"]:
        assert one["found"]
        assert one["allowed"]


def test_a_room_in_millimetres_is_told_which_units_to_write() -> None:
    assert text_of("size: [6, 4]", "size: [6000, 4]").endswith(
        "are the units right? With `units: mm` it is 6 m."
    )
    # so much is no slip of the unit, and what has a unit is in it
    for slip in ("6000000", "6000 m"):
        assert "units: mm" not in text_of("size: [6, 4]", f"size: [{slip}, 4]")
