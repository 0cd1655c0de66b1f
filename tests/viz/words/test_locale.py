"""Numbers as text: every rounding leans to the side on which what is shown always holds."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scenes.room.build import build
from scenes.spec.lengths import parse_length
from scenes.spec.reading import read_spec_text
from viz.words import locale as rounding
from viz.words.locale import Locale, number

UNITS = ("m", "cm", "mm", "ft", "in")
LENGTHS_M = st.floats(0, 60, allow_nan=False).map(lambda value: round(value, 7))

HALF_A_NANOMETRE = 5e-10


def read_back(text: str) -> float:
    """Metres of a text that Locale wrote, by the reader of spec files."""
    return parse_length(text.replace("−", "-"), "m")


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (2.2, "m", "2.20 m"),
        (2.675, "cm", "2.68 m"),
        (-0.084, "mm", "−0.08 m"),
        (-0.004, "m", "0.00 m"),
        (2.2, "ft", "7'-2 5/8\""),
        (0.7239, "ft", "2'-4 1/2\""),
        (0.2921, "ft", '11 1/2"'),
        (0.3048, "ft", "1'-0\""),
        (0.9144, "in", "3'-0\""),
        (0.0127, "in", '1/2"'),
        (0.0, "ft", '0"'),
        (None, "m", "–"),
    ],
)
def test_a_length_is_the_nearest(metres: float | None, units: str, text: str) -> None:
    assert Locale(units).length(metres) == text


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (2.2, "m", "2.20 m"),
        (2.165, "m", "2.165 m"),
        (2.1651, "cm", "2.165 m"),
        (2.1996, "m", "2.20 m"),
        (0.585, "mm", "0.585 m"),
        (-0.084, "m", "−0.084 m"),
        (2.165, "ft", "7'-1 1/4\""),
        (2.1669125, "in", "7'-1 5/16\""),
        (None, "m", "–"),
    ],
)
def test_what_is_set_out_on_site_is_to_the_millimetre_and_no_coarser(
    metres: float | None, units: str, text: str
) -> None:
    assert Locale(units).site(metres) == text


@given(LENGTHS_M, st.sampled_from(UNITS))
def test_what_is_set_out_on_site_is_never_off_by_more_than_half_its_step(metres: float, units: str) -> None:
    step = 0.0254 / 16 if units in ("ft", "in") else 0.001
    assert abs(read_back(Locale(units).site(metres)) - metres) <= step / 2 + HALF_A_NANOMETRE


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (0.4572, "m", "457 mm"),
        (2.032, "m", "2032 mm"),
        (-0.0801, "m", "−80 mm"),
        (0.4572, "ft", "1'-6\""),
        (0.4568, "ft", "1'-6\""),
        (None, "ft", "–"),
    ],
)
def test_a_clearance_is_to_the_millimetre(metres: float | None, units: str, text: str) -> None:
    assert Locale(units).clearance(metres) == text


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (0.228346, "m", "+22 cm"),
        (-1.260631, "m", "−1.27 m"),
        (0.0079, "m", "+7 mm"),
        (0.0004, "m", "0 mm"),
        (0.0, "m", "0 mm"),
        (-0.001, "m", "−1 mm"),
        (-0.0093, "m", "−1 cm"),
        (13.775, "m", "+13.77 m"),
        (0.0254, "ft", '+1"'),
        (0.003, "ft", '+1/16"'),
        (-0.0254, "ft", '−1"'),
        (-0.03, "in", '−1 1/4"'),
        (None, "m", "–"),
    ],
)
def test_a_margin_has_its_sign_and_is_never_more_than_it_is(
    metres: float | None, units: str, text: str
) -> None:
    assert Locale(units).margin(metres) == text


@pytest.mark.parametrize(
    ("metres", "units", "down", "up"),
    [
        (0.0999, "m", "9 cm", "10 cm"),
        (0.10, "m", "10 cm", "10 cm"),
        (0.0, "mm", "0 mm", "0 mm"),
        (0.0254, "ft", '1"', '1"'),
        (0.03, "in", '1 1/8"', '1 1/4"'),
        (0.0049, "m", "4 mm", "5 mm"),
        (0.003, "ft", '1/16"', '1/8"'),
        (13.775, "m", "13.77 m", "13.78 m"),
        (1.2245, "ft", "4'-0 1/8\"", "4'-0 1/4\""),
    ],
)
def test_what_there_is_rounds_down_and_what_is_missing_up(
    metres: float, units: str, down: str, up: str
) -> None:
    assert Locale(units).spare(metres) == down
    assert Locale(units).shortfall(metres) == up


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (0.0259, "m", "25 mm"),
        (1.2599, "m", "1259 mm"),
        (0.0, "m", "0 mm"),
        (0.0259, "ft", '1"'),
        (0.0079, "ft", '1/4"'),
    ],
)
def test_a_tolerance_is_in_what_can_be_measured_on_site_and_rounded_down(
    metres: float, units: str, text: str
) -> None:
    assert Locale(units).tolerance(metres) == text


@pytest.mark.parametrize(
    ("metres", "units", "down", "up"),
    [
        (0.10341, "m", "10.3 cm", "10.4 cm"),
        (0.1, "m", "10 cm", "10 cm"),
        (1.8460000001, "m", "1.846 m", "1.846 m"),
        (1.8465, "m", "1.846 m", "1.847 m"),
        (-0.4512, "m", "−45.2 cm", "−45.1 cm"),
        (0.0012, "cm", "1 mm", "2 mm"),
        (0.1, "ft", '3 7/8"', '3 15/16"'),
        (2.0, "ft", "6'-6 11/16\"", "6'-6 3/4\""),
    ],
)
def test_bounds_are_to_the_millimetre_on_the_safe_side(metres: float, units: str, down: str, up: str) -> None:
    assert Locale(units).at_least(metres) == down
    assert Locale(units).at_most(metres) == up


@given(metres=LENGTHS_M, units=st.sampled_from(UNITS))
def test_every_text_reads_back_as_no_more_or_no_less_than_it_stands_for(metres: float, units: str) -> None:
    locale = Locale(units)
    assert read_back(locale.spare(metres)) <= metres + HALF_A_NANOMETRE
    assert read_back(locale.tolerance(metres)) <= metres + HALF_A_NANOMETRE
    assert read_back(locale.at_least(metres)) <= metres + HALF_A_NANOMETRE
    assert read_back(locale.shortfall(metres)) >= metres - HALF_A_NANOMETRE
    assert read_back(locale.at_most(metres)) >= metres - HALF_A_NANOMETRE
    for signed in (metres, -metres):
        assert read_back(locale.margin(signed)) <= signed + HALF_A_NANOMETRE
    half = 0.005 if not locale.imperial else 0.0254 / 16
    assert abs(read_back(locale.length(metres)) - metres) <= half + HALF_A_NANOMETRE


@given(metres=LENGTHS_M, units=st.sampled_from(UNITS))
def test_a_sign_is_a_minus_and_nothing_has_none(metres: float, units: str) -> None:
    locale = Locale(units)
    texts = [write(-metres) for write in (locale.length, locale.clearance, locale.margin, locale.at_least)]
    assert all("-" not in re.sub(r"'-\d", "", text) for text in texts)
    for text in texts:
        assert text.startswith("−") == any(digit in text for digit in "123456789")


@pytest.mark.parametrize(
    ("have", "need", "units", "texts"),
    [
        (0.30, 0.46, "m", ("300 mm", "460 mm")),
        (0.4560, 0.4572, "m", ("456 mm", "457 mm")),
        (0.4568, 0.4572, "m", ("456 mm", "457 mm")),
        (0.4571, 0.4572, "m", ("457.1 mm", "457.2 mm")),
        (0.4599, 0.4572, "m", ("459 mm", "457 mm")),
        (0.6096, 0.6096, "m", ("609.6 mm", "609.6 mm")),
        (-0.0004, 0.0, "m", ("−1 mm", "0 mm")),
        (0.45718, 0.4572, "mm", ("457.1 mm", "457.2 mm")),
        (0.4572 - 2e-9, 0.4572, "mm", ("457.1 mm", "457.2 mm")),
        (0.4572, 0.4572, "m", ("457 mm", "457 mm")),
        (0.4568, 0.4572, "ft", ("1'-5 15/16\"", "1'-6\"")),
        (0.45718, 0.4572, "ft", ("1'-5 15/16\"", "1'-6\"")),
        (0.5999, 0.6, "ft", ("1'-11 9/16\"", "1'-11 5/8\"")),
    ],
)
def test_what_is_too_little_by_little_does_not_read_as_enough(
    have: float, need: float, units: str, texts: tuple[str, str]
) -> None:
    assert Locale(units).pair(have, need) == texts


@pytest.mark.parametrize("units", ["m", "ft"])
@pytest.mark.parametrize("required_m", [0.0, 0.15, 0.4572, 0.6096, 0.9, 2.032])
def test_a_clearance_reads_as_it_is_judged(required_m: float, units: str) -> None:
    for step in range(-300, 301, 7):
        actual_m = required_m + step * 1e-5
        actual, required = (read_back(text) for text in Locale(units).pair(actual_m, required_m))
        assert (actual >= required) == (step >= 0), actual_m
        assert actual <= actual_m + HALF_A_NANOMETRE


def test_dimensions_of_drawings_carry_no_unit_in_millimetres_and_feet_from_a_foot() -> None:
    assert [Locale("m").dimension(metres) for metres in (2.2004, -0.35, 12.0)] == ["2200", "−350", "12000"]
    assert Locale("in").dimension(0.3048) == "1'-0\""
    assert Locale("ft").dimension(0.1) == '3 15/16"'


def test_the_links_of_a_chain_add_up_to_the_whole_it_reads() -> None:
    # one by one they would read 333 333 333 1201 1201, 3401 in all; the whole is 3401.0
    metric = Locale("m")
    links = [0.3334, 0.3333, 0.3333, 1.2005, 1.2005]
    assert metric.chained(links) == ["333", "333", "333", "1201", "1201"]
    assert metric.chained([0.3335] * 3) == ["334", "334", "333"]  # the whole is 1000.5, halves up
    assert metric.chained([]) == []
    # 0.11 m are 69.29 sixteenths of an inch: 138.58 in all read 139, and one of the two has more
    assert Locale("in").chained([0.11, 0.11]) == ['4 3/8"', '4 5/16"']


def test_levels_read_the_same_from_below_as_from_the_floor() -> None:
    for locale, whole in ((Locale("m"), int), (Locale("in"), None)):
        levels = [0.0, 0.7366, 1.07345, 1.2255, 2.16, 2.7432]
        told = [locale.dimension(level) for level in levels[1:]]
        links = locale.risen(levels)
        if whole:
            assert [sum(map(int, links[: i + 1])) for i in range(len(links))] == list(map(int, told))
        else:
            up = [sum(map(read_back, links[: i + 1])) for i in range(len(links))]
            assert up == pytest.approx([read_back(text) for text in told])


@given(st.lists(st.floats(0, 20), min_size=1, max_size=8), st.sampled_from(UNITS))
def test_no_link_of_a_chain_is_off_by_a_step(metres: list[float], units: str) -> None:
    locale, step = Locale(units), 0.0254 / 16 if units in ("ft", "in") else 0.001
    links = [read_back(text if '"' in text else f"{text} mm") for text in locale.chained(metres)]
    assert all(abs(a - b) < step + 1e-8 for a, b in zip(links, metres, strict=True))
    assert abs(sum(links) - sum(metres)) <= step / 2 + 1e-7


def test_drawings_write_sizes_and_spans_without_units() -> None:
    assert Locale("m").drawn_size(1.2, 0.3) == "1200 × 300"
    assert [Locale("m").drawn_between(1.07, high) for high in (1.24, 1.0702)] == ["1070–1240", "1070"]
    assert Locale("ft").drawn_between(1.0668, 1.2192) == "3'-6\" – 4'-0\""


def test_angles_areas_masses_and_bands() -> None:
    locale = Locale("m")
    assert [locale.from_centre(v) for v in (3.21, -0.44, -0.04, 0.04)] == ["+3.2°", "−0.4°", "0.0°", "0.0°"]
    assert (locale.angle(34.36), locale.angle(None)) == ("34.4°", "–")
    assert (locale.edge(7.5), locale.edge(-90.0), locale.edges(23.0, 71.5)) == ("7.5°", "−90°", "23–71.5°")
    assert (locale.area(29.72), Locale("ft").area(35.67)) == ("29.7 m²", "384 ft²")
    assert (locale.mass(2.4), locale.mass(None)) == ("2.4 kg", "–")
    assert [number(v, signed=True) for v in (2.26, -0.31, -0.01)] == ["+2.3", "−0.3", "0.0"]


def test_lists_and_counts_are_as_people_write_them() -> None:
    locale = Locale("m")
    assert locale.listed([]) == ""
    assert locale.listed(["A"]) == "A"
    assert locale.listed(["A", "B"]) == "A and B"
    assert locale.listed(["A", "B", "C"]) == "A, B and C"
    assert locale.listed(list("ABCDEF")) == "A, B, C and 3 more"
    assert [locale.counted(count, "talker") for count in (0, 1, 2)] == ["0 talkers", "1 talker", "2 talkers"]


def test_a_message_says_what_it_lacks() -> None:
    locale = Locale("m")
    with pytest.raises(KeyError):
        locale.say("no such message")
    with pytest.raises(KeyError):
        locale.say("list.and", first="A")
    with pytest.raises(ValueError, match="give its count"):
        locale.say("count.talker")


def test_an_id_with_braces_is_only_text() -> None:
    assert Locale("m").say("list.and", first="{last}", last="{0}") == "{last} and {0}"


@pytest.mark.parametrize("write", ["length", "clearance", "margin", "spare", "shortfall", "at_most"])
def test_what_is_not_finite_is_a_mistake_of_the_caller(write: str) -> None:
    with pytest.raises((ValueError, OverflowError)):
        getattr(Locale("m"), write)(math.inf)


def test_the_locale_of_a_room_is_its_units_and_its_documents_language() -> None:
    text = (
        "overtable: 1\nname: R\nunits: ft\nroom: {size: [20, 14], ceiling: 9}\nseats: [{id: S, at: [9, 7]}]\n"
        "profiles: {p: {mount: flush, body: {diameter: 1, height: 0.1}, bands: {all: [10, 70]}, reach: [3, 10]}}\n"
        "arrays: [{id: A1, profile: p, at: [10, 7], band: all}]\n"
    )
    assert Locale.of(build(read_spec_text(text))) == Locale("ft", "en-GB")
    american = build(read_spec_text(text + "document: {language: en-US}\n"))
    assert Locale.of(american) == Locale("ft", "en-US")


def test_one_inch_is_exact() -> None:
    # the international yard and pound agreement of 1959
    assert Fraction(parse_length('1"', "m")).limit_denominator(10000) == Fraction(254, 10000)


def test_a_stretch_of_heights_is_told_inwards_and_its_best_is_in_it():
    assert Locale("m").within(1.9831, 2.2078) == "1.99–2.20 m"
    assert Locale("m").within(2.7021, 2.7078) == "2.703–2.707 m"
    assert Locale("m").height(Locale("m").inwards(2.2078, 1.9831, 2.2078)) == "2.207 m"
    assert Locale("m").height(2.2345) == "2.235 m"
    assert Locale("m").height(2.2) == "2.20 m"
    assert Locale("ft").height(2.0) == "6'-6 3/4\""
    assert Locale("ft").within(2.0, 2.1) == "6'-6 3/4\" – 6'-10 5/8\""


@given(
    st.one_of(
        st.floats(-40, 40),
        st.integers(-80_000, 80_000).map(lambda half: half / 2000),
        st.tuples(st.integers(-9000, 9000), st.floats(-2e-9, 2e-9)).map(lambda two: two[0] / 1000 + two[1]),
        st.integers(-2000, 2000).map(lambda sixteenths: sixteenths * 0.0254 / 16),
    ),
    st.sampled_from(
        [Fraction(1, 1000), Fraction(1, 100), Fraction(254, 10_000) / 8, Fraction(254, 10_000) / 16]
    ),
    st.sampled_from(["nearest", "up", "down"]),
)
def test_the_quick_way_of_rounding_is_the_exact_one(metres, step, way):
    assert rounding._steps(metres, step, way) == rounding._exact_steps(metres, step, way)
