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
    format_length,
    parse_length,
    readable_length,
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
    ("written", "phrase"),
    [
        ("010", "such as 2.4"),
        ("1_000", "such as 2.4"),
        ("1:30", "such as 2.4"),
        ("nan", "such as 2.4"),
        (".inf", "such as 2.4"),
        (math.nan, "finite"),
        (math.inf, "finite"),
        (True, "such as 2.4"),
        (None, "such as 2.4"),
        ([1], "such as 2.4"),
        ("", "such as 2.4"),
        ("-", "such as 2.4"),
        ("2,4", "decimal point"),
        ("2,4 m", "decimal point"),
        ("7' 14\"", "less than 12 inches"),
        ("7.5' 2\"", "whole feet"),
        ("7' 6", "such as 2.4"),
        ("3 furlongs", "such as 2.4"),
        ("1/0 in", "such as 2.4"),
        ("2 km", "such as 2.4"),
        ("1e999", "such as 2.4"),
        ("1e99 m", "finite"),
        (7200, "are the units right"),
        ("9" * 400, "such as 2.4"),
        ("٣ m", "such as 2.4"),
        ("10 1/2 m", "such as 2.4"),
    ],
)
def test_refuses_what_could_be_read_two_ways(written: object, phrase: str) -> None:
    with pytest.raises(LengthMistake) as mistake:
        parse_length(written, "m")
    assert phrase in mistake.value.allowed


def test_an_unknown_unit_is_told_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="m, cm, mm, ft, in"):
        parse_length(1, "yd")
    with pytest.raises(ValueError, match="m, cm, mm, ft, in"):
        format_length(1.0, "yd")


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (2.2, "m", "2.20 m"),
        (2.675, "m", "2.68 m"),
        (2.2, "mm", "2200 mm"),
        (2.2, "cm", "220 cm"),
        (2.2, "ft", "7'-2 5/8\""),
        (2.2, "in", '86 5/8"'),
        (2.1336, "ft", "7'-0\""),
        (0.1524, "ft", "0'-6\""),
        (0.0127, "in", '1/2"'),
        (0.0, "in", '0"'),
        (2.4383, "ft", "8'-0\""),
        (-0.4572, "ft", "-1'-6\""),
        (-0.001, "m", "0.00 m"),
        (-0.0, "mm", "0 mm"),
    ],
)
def test_writes_lengths_the_way_drawings_do(metres: float, units: str, text: str) -> None:
    assert format_length(metres, units) == text


def test_the_inch_fraction_is_selectable() -> None:
    # 2.2 m is 86.614 in: 86 39/64, 86 5/8 to the sixteenth and the eighth, 87 to the whole inch.
    assert format_length(2.2, "in", inch_fraction=64) == '86 39/64"'
    assert format_length(2.2, "in", inch_fraction=8) == '86 5/8"'
    assert format_length(2.2, "in", inch_fraction=1) == '87"'
    with pytest.raises(ValueError, match="8, 16"):
        format_length(2.2, "in", inch_fraction=10)


@settings(max_examples=100)
@given(
    st.floats(-999, 999), st.sampled_from([("m", 0.005), ("cm", 0.005), ("mm", 0.0005), ("ft", 0.0254 / 32)])
)
def test_what_is_written_reads_back_within_half_a_step(metres: float, units: tuple[str, float]) -> None:
    unit, half_step = units
    assert abs(parse_length(format_length(metres, unit), "m") - metres) <= half_step + 1e-9


@settings(max_examples=100)
@given(st.text(max_size=70), st.sampled_from(["m", "ft", "in"]))
def test_any_text_is_a_length_or_a_length_mistake(text: str, unit: str) -> None:
    try:
        metres = parse_length(text, unit)
    except LengthMistake:
        return
    assert abs(metres) <= LONGEST_M


@pytest.mark.parametrize(
    ("metres", "told"),
    [
        (0.0, '0"'),
        (0.0254, '1"'),
        (0.6, '23 5/8"'),
        (35.9 * 0.0254, '35 7/8"'),
        (35.95 * 0.0254, "3'-0\""),  # it would round to 36 inches
        (0.9144, "3'-0\""),
        (2.4, "7'-10 1/2\""),
        (-0.6, '-23 5/8"'),
        (-2.4, "-7'-10 1/2\""),
    ],
)
@pytest.mark.parametrize("units", ["ft", "in"])
def test_lengths_are_told_in_inches_under_three_feet_and_in_feet_and_inches_from_there(units, metres, told):
    assert readable_length(metres, units) == told


def test_lengths_of_metric_rooms_are_told_in_metres():
    for units in ("m", "cm", "mm"):
        assert readable_length(0.6, units) == "0.60 m"
