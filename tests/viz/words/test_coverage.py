"""Who is covered, in words, rounded so that what is said always holds."""

from __future__ import annotations

from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from viz.words import coverage
from viz.words.locale import Locale

METRIC = Locale("m")


def sentence(*heads, units="m", people=None, **more):
    ids, standings, _, margins, reasons = zip(*heads, strict=True)
    figures = coverage.Figures(ids, people or ids, standings, reasons, margins)
    return coverage.of_figures(figures, Locale(units), **more)


def test_all_covered_says_so_and_its_margin_where_asked_rounded_down():
    heads = (("A", "covered", 0.3, 0.199, None), ("B", "covered", 0.2, 0.0999, None))
    assert sentence(*heads) == "All 2 talkers are covered."
    assert sentence(*heads, with_margin=True) == "All 2 talkers are covered, with a margin of 9 cm."


def test_next_to_nothing_is_no_margin():
    told = sentence(
        ("A", "covered", 0.1004, 0.0004, None), ("B", "covered", 0.2, 0.1, None), with_margin=True
    )
    assert told == "All 2 talkers are covered, with no margin to spare."


def test_who_is_blocked_is_not_covered_and_named():
    told = sentence(("A", "covered", 0.3, 0.2, None), ("B", "blocked", 0.2, 0.1, None))
    assert told.startswith("1 of 2 talkers is covered. Blocked: B. ")


def test_one_talker_is_told_as_one():
    assert sentence(("A", "covered", 0.3, 0.2, None)).startswith("The one talker is covered.")


def test_missed_heads_are_told_by_reason_with_the_worst_first():
    told = sentence(
        ("A", "covered", 0.3, 0.2, None),
        ("B", "missed", -0.011, -0.111, "too shallow"),
        ("C", "missed", -0.2, -0.3, "too shallow"),
        ("D", "missed", -0.5, -0.6, "too far"),
    )
    assert told.startswith("1 of 4 talkers is covered.")
    shallow = METRIC.say("outside.too shallow", shortfall="30 cm")
    far = METRIC.say("outside.too far", shortfall="60 cm")
    assert f"Not covered: C and B, {shallow}, leaning included." in told
    assert f"Not covered: D, {far}, leaning included." in told
    assert told.index(far) < told.index(shallow)


def test_who_is_outside_in_two_ways_is_named_once():
    heads = (
        ("P-1", "missed", -0.2, -0.3, "too shallow"),
        ("P-2", "missed", -0.5, -0.6, "too far"),
        ("P-3", "covered", 0.2, 0.1, None),
    )
    told = sentence(*heads, people=["P", "P", "P"])
    shallow = METRIC.say("outside.too shallow", shortfall="30 cm")
    far = METRIC.say("outside.too far", shortfall="60 cm")
    assert told.count("Not covered:") == 1
    assert f"Not covered: P (part of the walk), {far} and {shallow}, leaning included." in told


def test_a_walk_missed_in_two_ways_is_missed_as_a_whole():
    """A council chamber of a try-out: part of the walk too far, the rest too shallow."""
    heads = (
        ("P-1", "missed", -0.2, -0.3, "too shallow"),
        ("P-2", "missed", -0.5, -0.6, "too far"),
        ("S", "missed", -0.1, -0.2, "too far"),
    )
    told = sentence(*heads, people=["P", "P", "S"])
    far = METRIC.say("outside.too far", shortfall="60 cm")
    assert f"Not covered: P (the whole walk), {far} and " in told
    assert "part of the walk" not in told
    assert f"Not covered: S, {METRIC.say('outside.too far', shortfall='20 cm')}" in told


def test_marginal_heads_are_told_apart_from_missed_ones():
    told = sentence(("A", "covered", 0.3, 0.2, None), ("B", "marginal", 0.02, -0.08, None))
    assert METRIC.say("covered.marginal", names="B", outside="by up to 8 cm") in told


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
        "1 of 3 talkers is covered. Not covered: W (part of the walk) and S1 (standing up), outside the shallow edge"
    )
    all_the_way = (*heads[:3], ("W-2", "missed", -0.2, -0.3, "too shallow"), *heads[4:])
    assert "W (the whole walk)" in sentence(*all_the_way, people=people)
    covered = [(id, "covered", 0.3, 0.2, None) for id, *_ in heads]
    assert sentence(*covered, people=people).startswith("All 3 talkers are covered.")


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
    assert judged.counts.talkers == 3
    assert f"{judged.counts.covered} of 3 talkers" in coverage.sentence(judged)


def test_the_one_talker_who_is_missed_is_told_as_one():
    told = sentence(("A", "missed", -0.011, -0.111, "too far"))
    assert told.startswith(
        "The one talker is not covered. Not covered: A, out of the array's reach by up to 12 cm"
    )


def test_all_upright_only_is_no_0_of_all_and_the_figure_is_that_of_the_table():
    """Source: a try-out; "Caution. 0 of 8 talkers are covered" where everybody was, upright."""
    told = sentence(("A", "marginal", 0.02, -0.08, None), ("B", "marginal", 0.01, -0.0901, None))
    assert told == "All 2 talkers are covered upright, but none when leaning, by up to 10 cm."
    assert METRIC.margin(-0.0901) == "−10 cm"


def test_what_is_missing_is_the_margin_of_the_table():
    """Source: a try-out; one talker's shortfall was 1.12 m in the verdict and −1.22 m in the table."""
    room = """\
overtable: 1
name: R
units: m
room: {size: [9, 4], ceiling: 2.8}
seats: [{id: S1, at: [8, 2]}, {id: S2, at: [2, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
"""
    judged = review(build(read_spec_text(room)))
    missed = judged.head("S1")
    assert missed.slack_m - missed.margin_m > 0.09
    assert f"by up to {METRIC.shortfall(-missed.margin_m)}, leaning" in coverage.sentence(judged)
    assert coverage.talker(missed, judged.scene).margin == f"−{METRIC.shortfall(-missed.margin_m)}"
