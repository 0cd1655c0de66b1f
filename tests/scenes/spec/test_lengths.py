"""Lengths as people write them."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scenes.spec.lengths import (
    LENGTH_PATTERN,
    LONGEST_M,
    LengthMistake,
    MassMistake,
    parse_length,
    parse_mass,
)

# Exact by the definition of the inch, 25.4 mm (international yard and pound agreement, 1959).
READ = [
    (2.4, "m", 2.4),
    (240, "cm", 2.4),
    (2400, "mm", 2.4),
    (7.2, "ft", 2.19456),
    (90, "in", 2.286),
    ("2.4 m", "ft", 2.4),
    ("2.4m", "in", 2.4),
    ("240 cm", "m", 2.4),
    ("2400 mm", "m", 2.4),
    ("7 ft 10 in", "m", 2.3876),
    ("7'-10 1/2\"", "m", 2.4003),
    ("7' 10 1/2\"", "m", 2.4003),
    ("7'10-1/2\"", "m", 2.4003),
    ("7′-10½″", "m", 2.4003),
    ("7’ 10 1⁄2”", "m", 2.4003),
    ("7 feet 10 inches", "m", 2.3876),
    ('90"', "m", 2.286),
    ("1/2 in", "m", 0.0127),
    ('¾"', "m", 0.01905),
    ("7'", "m", 2.1336),
    ("7.5 ft", "m", 2.286),
    ("-1'-6\"", "m", -0.4572),
    ("−20 cm", "m", -0.2),
    ("10 1/2", "in", 0.2667),
    ("2.4", "m", 2.4),
    ("2.4e2", "cm", 2.4),
    (" 7  ft   10 in ", "m", 2.3876),
    ("0", "m", 0.0),
]


@pytest.mark.parametrize(("written", "unit", "metres"), READ)
def test_reads_the_forms_people_write(written: object, unit: str, metres: float) -> None:
    assert parse_length(written, unit) == metres


@pytest.mark.parametrize(("written", "unit", "metres"), [case for case in READ if isinstance(case[0], str)])
def test_the_schema_pattern_admits_every_form_read(written: str, unit: str, metres: float) -> None:
    assert re.search(LENGTH_PATTERN, written)


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("010", "length"),
        ("1_000", "length"),
        ("1:30", "length"),
        ("nan", "length"),
        (".inf", "length"),
        (math.nan, "length-endless"),
        (math.inf, "length-endless"),
        (True, "length"),
        (None, "length"),
        ([1], "length"),
        ("", "length"),
        ("-", "length"),
        ("2,4", "length-comma"),
        ("2,4 m", "length-comma"),
        ("7' 14\"", "length-inches"),
        ("7.5' 2\"", "length-feet"),
        ("7' 6", "length"),
        ("3 furlongs", "length"),
        ("1/0 in", "length"),
        ("2 km", "length"),
        ("1e999", "length-endless"),
        ("1e99 m", "length-endless"),
        (7200, "length-too-long"),
        ("9" * 400, "length"),
        ("٣ m", "length"),
        ("10 1/2 m", "length"),
    ],
)
def test_refuses_what_could_be_read_two_ways(written: object, code: str) -> None:
    with pytest.raises(LengthMistake) as mistake:
        parse_length(written, "m")
    assert mistake.value.code == code


def test_an_unknown_unit_is_told_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="m, cm, mm, ft, in"):
        parse_length(1, "yd")


@settings(max_examples=100)
@given(st.text(max_size=70), st.sampled_from(["m", "ft", "in"]))
def test_any_text_is_a_length_or_a_length_mistake(text: str, unit: str) -> None:
    try:
        metres = parse_length(text, unit)
    except LengthMistake:
        return
    assert abs(metres) <= LONGEST_M


@pytest.mark.parametrize(
    ("written", "kilograms"),
    [
        (6, 6.0),
        ("6 kg", 6.0),
        ("900 g", 0.9),
        ("5 lb", 2.26796185),
        ("5lbs", 2.26796185),
        ("16 oz", 0.45359237),
    ],
)
def test_a_mass_may_carry_its_unit(written: object, kilograms: float) -> None:
    # the pound: 0.45359237 kg by the international yard and pound agreement of 1959
    assert parse_mass(written) == kilograms


@pytest.mark.parametrize(
    "written", ["6 kgs", "heavy", "6 m", 0, "0 kg", -1, 501, "1200 lb", True, None, math.nan]
)
def test_what_is_no_mass_is_refused(written: object) -> None:
    with pytest.raises(MassMistake):
        parse_mass(written)
