"""Sentences say what the numbers say, and round so that what is told always holds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.review.review import review
from scenes.room.build import build
from scenes.rules.apply import clearances
from scenes.spec.reading import read_spec_text
from scenes.words import (
    at_least,
    at_most,
    clearance_notes,
    clearance_phrase,
    clearance_word,
    counted,
    coverage_sentence,
    listed,
    not_enough,
    people_in,
    sentences,
    shortfall,
    signed_deg,
    talkers,
    told_apart,
    whole_down,
)
from tests.scenes.ceiling_rooms import device, guessed, scene


def sentence(*heads, units="m", people=None):
    ids, states, slacks, margins, reasons = zip(*heads, strict=True)
    return coverage_sentence(ids, states, slacks, margins, reasons, units, people or ids)


def test_all_covered_tells_the_tolerance_rounded_down():
    told = sentence(("A", "covered", 0.3, 0.199, None), ("B", "covered", 0.2, 0.0999, None))
    assert told == (
        "All 2 talkers are covered. The array may be off by up to 9 cm in any direction before anybody is lost."
    )


def test_no_room_to_spare_is_not_told_as_a_tolerance():
    told = sentence(("A", "covered", 0.1004, 0.0004, None), ("B", "covered", 0.2, 0.1, None))
    assert told == "All 2 talkers are covered, with no room to spare: somebody is lost at the least shift."


def test_one_talker_is_told_as_one():
    assert sentence(("A", "covered", 0.3, 0.2, None)).startswith("The one talker is covered.")


def test_missed_heads_are_told_by_reason_with_the_worst_first_and_what_helps():
    told = sentence(
        ("A", "covered", 0.3, 0.2, None),
        ("B", "missed", -0.011, -0.111, "too shallow"),
        ("C", "missed", -0.2, -0.3, "too shallow"),
        ("D", "missed", -0.5, -0.6, "too far"),
    )
    assert told.startswith("1 of 4 talkers is covered.")
    assert "C and B are missed: too shallow by up to 20 cm; hang the array higher" in told
    assert "D is missed: too far by up to 50 cm; move the array nearer to them, or add one." in told
    assert told.index("too far") < told.index("too shallow")


def test_marginal_heads_are_told_apart_from_missed_ones():
    told = sentence(("A", "covered", 0.3, 0.2, None), ("B", "marginal", 0.02, -0.08, None))
    assert "B is marginal: inside while upright, lost by up to 8 cm when it leans." in told


def test_who_walks_or_stands_up_is_one_talker():
    heads = (
        ("S1", "covered", 0.3, 0.2, None),
        ("S1-up", "missed", -0.1, -0.2, "too shallow"),
        ("W-1", "missed", -0.3, -0.4, "too shallow"),
        ("W-2", "covered", 0.3, 0.2, None),
        ("S2", "covered", 0.3, 0.2, None),
        ("S2-up", "covered", 0.3, 0.2, None),
    )
    people = ["S1", "S1", "W", "W", "S2", "S2"]
    told = sentence(*heads, people=people)
    assert told.startswith(
        "1 of 3 talkers is covered. W (part of the way) and S1 (standing up) are missed: too shallow by up to 30 cm;"
    )
    all_the_way = (*heads[:3], ("W-2", "missed", -0.2, -0.3, "too shallow"), *heads[4:])
    assert "W (all the way)" in sentence(*all_the_way, people=people)
    covered = [(id, "covered", 0.3, 0.2, None) for id, *_ in heads]
    assert sentence(*covered, people=people).startswith("All 3 talkers are covered.")
    assert people_in(people, [state for _, state, *_ in heads]) == {"covered": 1, "marginal": 0, "missed": 2}


def test_a_walk_through_a_room_is_told_as_one_talker():
    room = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
seats: [{id: S1, at: [2, 2], stands: true}]
standing: [{id: W, along: [[5, 1], [5, 3]], step: 0.5}, {id: P-up, at: [2.2, 1]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
"""
    judged = review(build(read_spec_text(room)))
    assert [head.person for head in judged.heads] == ["S1", "S1", *["W"] * 5, "P-up"]
    assert sum(talkers(judged.heads).values()) == 3
    assert f"{talkers(judged.heads)['covered']} of 3 talkers" in sentences(judged)[0]


@pytest.mark.parametrize(
    ("metres", "units", "down", "up"),
    [
        (0.0999, "m", "9 cm", "10 cm"),
        (0.10, "m", "10 cm", "10 cm"),
        (0.0, "mm", "0 cm", "0 cm"),
        (0.0254, "ft", '1"', '1"'),
        (0.03, "in", '1"', '1 1/4"'),
        (0.0049, "m", "4 mm", "1 cm"),
        (0.003, "ft", '1/16"', '1/8"'),
        (13.775, "m", "13.77 m", "13.78 m"),
        (1.2245, "ft", "4'-0\"", "4'-0 1/4\""),
    ],
)
def test_tolerances_round_down_and_shortfalls_up(metres, units, down, up):
    assert whole_down(metres, units) == down
    assert shortfall(metres, units) == up


@pytest.mark.parametrize(
    ("metres", "units", "down", "up"),
    [
        (0.10341, "m", "10.3 cm", "10.4 cm"),
        (0.1, "m", "10 cm", "10 cm"),
        (1.8460000001, "m", "1.846 m", "1.846 m"),
        (1.8465, "m", "1.846 m", "1.847 m"),
        (-0.4512, "m", "-45.2 cm", "-45.1 cm"),
        (0.0012, "cm", "1 mm", "2 mm"),
        (0.1, "ft", '3 7/8"', '3 15/16"'),
        (2.0, "ft", "6'-6 11/16\"", "6'-6 3/4\""),
    ],
)
def test_bounds_are_told_to_the_millimetre_on_the_safe_side(metres, units, down, up):
    assert at_least(metres, units) == down
    assert at_most(metres, units) == up


def test_degrees_that_round_to_nothing_have_no_sign():
    assert [signed_deg(v) for v in (3.21, -0.44, -0.04, 0.04)] == ["+3.2°", "-0.4°", "0.0°", "0.0°"]


def test_the_one_talker_who_is_missed_is_told_as_one():
    told = sentence(("A", "missed", -0.011, -0.111, "too far"))
    assert told.startswith("The one talker is not covered. A is missed: too far by up to 2 cm")


def test_lists_are_told_as_people_do():
    assert listed(["A"]) == "A"
    assert listed(["A", "B"]) == "A and B"
    assert listed(["A", "B", "C"]) == "A, B and C"
    assert listed(list("ABCDEF")) == "A, B, C and 3 more"
    assert counted(1, "talker") == "1 talker"
    assert counted(2, "box", "boxes") == "2 boxes"


def test_an_array_that_serves_nobody_is_told_and_changes_no_verdict():
    room = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
seats: [{id: S1, at: [1.6, 2]}, {id: S2, at: [4.4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
"""
    alone = review(build(read_spec_text(room)))
    for more, said in (
        (
            [0.5],
            "A2 serves nobody: every talker is served better by another array; leave it out, or move it.",
        ),
        (
            [0.5, 3.5],
            "A2 and A3 serve nobody: every talker is served better by another array; leave them out, ",
        ),
    ):
        added = "".join(
            f", {{id: A{i}, profile: p, at: [5.5, {y}], height: 2.2, band: one}}"
            for i, y in enumerate(more, 2)
        )
        judged = review(build(read_spec_text(room.replace("band: one}]", f"band: one}}{added}]"))))
        assert (judged.verdict, alone.verdict) == ("pass", "pass")
        assert said in " ".join(sentences(judged))
    assert "serves nobody" not in " ".join(sentences(alone))


def test_a_thing_with_a_walls_name_is_told_and_other_names_are_not():
    room = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8, openings: [{id: W4, kind: window, wall: 1, offset: 1, width: 1, height: 1}]}
seats: [{id: W5, at: [2, 2]}, {id: W2, at: [4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
"""
    told = " ".join(sentences(review(build(read_spec_text(room)))))
    assert (
        "The window W4 and the talker W2 have walls' names, which plan and schedule measure from: give them another id"
        in told
    )
    one = " ".join(sentences(review(build(read_spec_text(room.replace("W2", "S2"))))))
    assert "The window W4 has a wall's name" in one
    assert "W5" not in one
    assert "wall's name" not in " ".join(
        sentences(review(build(read_spec_text(room.replace("W4", "G4").replace("W2", "S2")))))
    )


def test_what_a_clearances_figures_do_not_tell_is_told_once_for_all_it_is_about():
    heads = [device(f"SP{k}", "sprinkler", (1.0, 0.5 + 0.8 * k), spray="extended") for k in range(3)]
    rows = [row for row in clearances(scene(overhead=tuple(heads))) if row.kind == "sprinkler"]
    things = listed([row.against for row in rows])
    assert clearance_notes(rows) == (
        f"sprinkler-spray, A1 to {things}: extended-coverage heads have a table of their own: ask the fire "
        "protection designer.",
    )
    assert clearance_notes([replace(rows[0], note="")]) == ()


def test_a_clearance_below_advice_is_not_called_short_and_a_pierced_duct_is_named():
    duct = device("D1", "bulkhead", (3.0, 2.0), -0.2, size_m=(4.0, 0.3), round=False, depth_m=0.3)
    [row] = [row for row in clearances(scene(overhead=(duct,))) if row.rule == "hang-line"]
    assert clearance_word(row) == "below advice"
    assert clearance_phrase(row, "m") == "the line up to the structure of A1 runs into D1"
    assert clearance_word(replace(row, binding=True)) == "short"
    assert clearance_word(replace(row, state="unjudged")) == "unjudged"


@pytest.mark.parametrize(
    ("have", "need", "units", "told"),
    [
        (0.30, 0.46, "m", ("0.30 m", "0.46 m")),
        (0.4560, 0.4572, "m", ("456 mm", "457 mm")),
        (0.45718, 0.4572, "mm", ("457.18 mm", "457.20 mm")),
        (0.4572, 0.4572, "m", ("0.46 m", "0.46 m")),
        (0.4568, 0.4572, "ft", ('17 63/64"', '18"')),
        (0.45718, 0.4572, "ft", ('17.999"', '18.000"')),
    ],
)
def test_what_is_short_by_little_does_not_read_as_enough(have, need, units, told):
    assert told_apart(have, need, units) == told


def test_a_margin_too_small_to_tell_is_not_told_as_nothing():
    assert not_enough(0.1, 0.0004, "m").endswith("(the best leaves next to nothing)")
    assert not_enough(0.1, 0.0004, "ft").endswith("(the best leaves next to nothing)")
    assert not_enough(0.1, 0.0064, "m").endswith("(the best leaves 6 mm)")


def test_what_a_rule_only_advises_is_not_called_required():
    """1 m from a loudspeaker is our default; 2 m is what this device's designer asks for."""
    speaker = device("D", "loudspeaker", (3.5, 2.0), below_m=0.5)
    row = next(c for c in clearances(scene(overhead=(speaker,))) if c.rule == "loudspeaker")
    assert clearance_phrase(row, "m").endswith(", 1.00 m advised")
    own = replace(speaker, required_m=2.0)
    row = next(c for c in clearances(scene(overhead=(own,))) if c.rule == "loudspeaker")
    assert clearance_phrase(row, "m").endswith(", 2.00 m required")


def test_what_only_a_default_size_decides_is_asked_of_the_spec_and_not_of_a_designer():
    lamp = device("L1", "light", (3.25, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    told = " ".join(sentences(review(scene(overhead=(guessed(lamp, "size"),)))))
    assert (
        "Whether A1 runs into L1 cannot be judged: the size of L1 is our default, which decides here" in told
    )
    assert "ask their designer" not in told
