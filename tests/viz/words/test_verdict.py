"""Every sentence of a verdict, and the order they come in."""

from __future__ import annotations

from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from viz.words.verdict import whole as sentences

ROOM = """\
overtable: 1
name: R
units: m
room: {size: [6, 4], ceiling: 2.8}
seats: [{id: S1, at: [1.6, 2]}, {id: S2, at: [4.4, 2]}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [3, 2], height: 2.2, band: one}]
"""


def test_an_array_that_serves_nobody_is_told_and_changes_no_verdict():
    alone = review(build(read_spec_text(ROOM)))
    for more, said in (
        (
            [0.5],
            "A2 has no talkers: another array is better for each of them. Leave it out or move it.",
        ),
        (
            [0.5, 3.5],
            "A2 and A3 have no talkers: other arrays are better for each of them. Leave them out ",
        ),
    ):
        added = "".join(
            f", {{id: A{i}, profile: p, at: [5.5, {y}], height: 2.2, band: one}}"
            for i, y in enumerate(more, 2)
        )
        judged = review(build(read_spec_text(ROOM.replace("band: one}]", f"band: one}}{added}]"))))
        assert (judged.verdict, alone.verdict) == ("pass", "pass")
        assert said in " ".join(sentences(judged))
    assert "no talkers" not in " ".join(sentences(alone))


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
        "The window W4 and the talker W2 have the names of walls. Plan and schedule measure from walls, so give"
        in told
    )
    one = " ".join(sentences(review(build(read_spec_text(room.replace("W2", "S2"))))))
    assert "The window W4 has the name of a wall" in one
    assert "W5" not in one
    assert "the name of a wall" not in " ".join(
        sentences(review(build(read_spec_text(room.replace("W4", "G4").replace("W2", "S2")))))
    )


def test_who_to_ask_about_a_spray_that_is_not_judged_is_told_once():
    above = "overhead: [{id: SP1, kind: sprinkler, at: [3.3, 2], below: 0.05, spray: SPRAY}]\n"
    for spray in ("extended", "sidewall", "special", "unknown"):
        judged = review(build(read_spec_text(ROOM + above.replace("SPRAY", spray))))
        assert " ".join(sentences(judged)).lower().count("ask the fire engineer") == 1
