"""Clearances in words: states, rows, conflicts, what is not judged, and whom to ask."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest

from scenes.findings.clearance import Clearance, ClearanceState
from scenes.review.review import review
from scenes.room.provenance import Given
from scenes.room.scene import Display, Grid, Limits, Scene, Suspension
from scenes.room.swing import Swing
from scenes.rules.clearances import clearances
from tests.scenes.ceiling_rooms import array, changed, device, guessed, near_sprinkler, only, profile, scene
from viz.words import clearances as words
from viz.words.locale import Locale
from viz.words.verdict import whole

METRIC, FEET = Locale("m"), Locale("ft")


def paragraph(of: Scene) -> str:
    return " ".join(whole(review(of)))


def row_of(of: Scene, rule: str) -> words.ClearanceText:
    return words.row(only(of, rule), METRIC)


def test_each_state_has_its_one_word() -> None:
    row = only(near_sprinkler(0.1), "sprinkler-spray")
    told = {state: words.word(replace(row, state=state), METRIC) for state in get_args(ClearanceState)}
    assert told == {
        "clear": "clear",
        "short": "too close",
        "advised": "below advice",
        "unjudged": "not checked",
        "off": "off",
    }


def test_a_row_has_titles_and_figures_and_no_id_of_a_rule() -> None:
    text = row_of(near_sprinkler(0.281), "sprinkler-spray")
    assert text == words.ClearanceText(
        array="A1",
        against="SP1",
        kind="sprinkler",
        thing="sprinkler SP1",
        title="Clear of a sprinkler's spray",
        number="R2",
        part="body",
        required="300 mm",
        actual="281 mm",
        state="too close",
        note="on plan, to the near edge",
        source=text.source,
    )
    assert text.source.endswith("editions. Not checked against the printed standard.")
    assert words.row(only(near_sprinkler(0.28), "sprinkler-spray"), FEET).required == '11 13/16"'


def test_too_little_never_reads_as_enough() -> None:
    text = row_of(near_sprinkler(0.2999), "sprinkler-spray")
    assert (text.required, text.actual) == ("300 mm", "299 mm")
    clear = row_of(near_sprinkler(0.3), "sprinkler-spray")
    assert clear.required == clear.actual == "300 mm"


def test_what_a_code_asks_names_the_code_how_sure_it_is_and_who_decides() -> None:
    """The array is 0.1 m from a sprinkler: its figure was read in a copy."""
    [told] = words.sentences(review(near_sprinkler(0.1)))
    assert told == (
        "A1 is closer to sprinkler SP1 than NFPA 13 allows: 100 mm, 300 mm required (not checked against the "
        "printed standard; the fire engineer decides)."
    )
    seen = replace(only(near_sprinkler(0.1), "sprinkler-spray"), sureness="seen")
    assert words.conflict(seen, METRIC).endswith("than NFPA 13 allows: 100 mm, 300 mm required")


def test_only_a_default_of_overtables_own_is_called_advice() -> None:
    """1 m from a loudspeaker is a default; 2 m is what this device's designer asks for."""
    speaker = device("D", "loudspeaker", (3.5, 2.0), below_m=0.5)
    row = only(scene(overhead=(speaker,)), "loudspeaker")
    assert words.conflict(row, METRIC).startswith("A1 is closer to loudspeaker D than advised: ")
    assert words.conflict(row, METRIC).endswith(", 1000 mm advised")
    assert words.source(row, METRIC).startswith("overtable default, not from a standard.")
    own = only(scene(overhead=(replace(speaker, required_m=2.0),)), "loudspeaker")
    assert words.conflict(own, METRIC).startswith("A1 is too close to loudspeaker D: ")
    assert words.conflict(own, METRIC).endswith(", 2000 mm required")
    assert words.source(own, METRIC) == "Set by the designer."
    assert words.note(own, METRIC) == "set by the designer"


def test_a_value_set_in_a_codes_place_says_which() -> None:
    row = only(changed(near_sprinkler(0.25), "sprinkler-spray", 0.2), "sprinkler-spray")
    assert words.source(row, METRIC).startswith("Set by the designer, in place of: NFPA 13")
    assert words.note(row, METRIC) == "on plan, to the near edge; changed: agreed on site"
    off = only(changed(near_sprinkler(0.25), "sprinkler-spray"), "sprinkler-spray")
    assert words.note(off, METRIC) == "switched off: agreed on site"


@pytest.mark.parametrize(
    ("of", "rule", "told"),
    [
        (
            scene(arrays=(array(at=(5.0, 3.5), height_m=1.98),)),
            "headroom",
            "A1 hangs too low: 1950 mm above the floor, 2032 mm required",
        ),
        (
            scene(arrays=(array(height_m=1.3),)),
            "free-over-table",
            "A1 hangs low over T1: 530 mm above it, 600 mm advised",
        ),
        (
            scene(arrays=(array(height_m=1.3),), limits=Limits(free_over_table=Given(0.6))),
            "free-over-table",
            "A1 hangs too low over T1: 530 mm above it, 600 mm required",
        ),
        (
            scene(arrays=(array(at=(0.3, 2.0)),)),
            "wall",
            "A1 is closer to wall W4 than advised: 250 mm, 300 mm advised",
        ),
        (
            scene(arrays=(array(at=(3.0, 0.03)),)),
            "touch",
            "A1 runs into walls",
        ),
        (
            scene(grid=Grid((0.6, 0.6), (0.0, 0.0)), arrays=(array(at=(3.01, 1.79)),)),
            "grid-tee",
            "The cable of A1 is on a ceiling-grid tee: move it 2 cm in +x and 2 cm in −y",
        ),
        (
            scene(overhead=(device("L1", "light", (3.0, 2.0), 0.0, size_m=(0.6, 0.6), round=False, depth_m=0.1),)),
            "touch",
            "The cable of A1 runs into light L1",
        ),
        (
            scene(overhead=(device("D1", "bulkhead", (3.0, 2.0), -0.2, size_m=(4.0, 0.3), round=False, depth_m=0.3),)),
            "hang-line",
            "The line from A1 to the structure runs into bulkhead D1",
        ),
    ],
)  # fmt: skip
def test_a_conflict_is_a_plain_sentence(of: Scene, rule: str, told: str) -> None:
    assert words.conflict(only(of, rule), METRIC) == told


def test_a_label_at_a_tee_says_whose_value_it_is() -> None:
    """30 mm is overtable's own; 50 mm is what this room's designer asks for."""
    on_tee = scene(grid=Grid((0.6, 0.6), (0.0, 0.0)), arrays=(array(at=(3.01, 2.1)),))
    advised, own = only(on_tee, "grid-tee"), only(changed(on_tee, "grid-tee", 0.05), "grid-tee")
    assert (advised.state, words.label(advised, METRIC)) == ("advised", "tee: 10 mm, 30 mm advised")
    assert (own.state, words.label(own, METRIC)) == ("short", "tee: 10 mm, 50 mm required")
    assert words.legend(own, METRIC) == "on a ceiling-grid tee"
    clear = only(replace(on_tee, arrays=(array(at=(3.3, 2.1)),)), "grid-tee")
    assert (clear.state, words.legend(clear, METRIC)) == ("clear", "clearance kept")


def test_a_flush_face_in_a_diffusers_tile_names_the_tile() -> None:
    diffuser = guessed(
        device("DF1", "supply diffuser", (3.3, 2.1), 0.0, size_m=(0.6, 0.6), round=False), "size"
    )
    flush = array(profile=profile(size=(0.1, 0.1, 0.05), mount="flush"), at=(3.5, 2.3))
    of = scene(arrays=(flush,), overhead=(diffuser,), grid=Grid((0.6, 0.6), (0.0, 0.0)))
    assert words.conflict(only(of, "touch"), METRIC) == (
        "A1 and supply diffuser DF1 are in one ceiling tile, F4"
    )


def test_what_is_not_judged_is_said_once_for_all_it_is_about_with_whom_to_ask() -> None:
    sprinklers = tuple(device(f"SP{k}", "sprinkler", (1.0, 0.5 + 0.8 * k), spray="unknown") for k in range(3))
    told = paragraph(scene(overhead=sprinklers))
    assert (
        "A1 to sprinklers SP2, SP1 and SP0 cannot be checked: the type of spray is not given. Ask the fire engineer."
        in told
    )
    lights = tuple(
        guessed(
            device(f"L{k}", "light", (3.25, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False),
            "size",
        )
        for k in (1, 2)
    )
    assert "A1 to sprinklers SP2, SP1 and SP0" in paragraph(scene(overhead=(*sprinklers, *lights)))
    lamp = device("L1", "light", (3.25, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    told = paragraph(scene(overhead=(guessed(lamp, "size"),)))
    assert (
        "A1 to light L1 cannot be checked: the size of L1 is an overtable default, which decides here."
        in told
    )
    assert "Give it in the file." in told
    assert "Ask" not in told
    projector = device("PJ1", "projector", (0.5, 2.0), below_m=0.4, size_m=(0.4, 0.3), round=False)
    assert "no display faces the projector" in paragraph(scene(overhead=(projector,)))


def test_what_runs_into_something_is_not_said_twice() -> None:
    lamp = device("L1", "light", (3.0, 2.0), below_m=0.6)
    told = paragraph(scene(overhead=(lamp,)))
    assert told.count("A1 runs into light L1") == 1


def test_more_than_one_is_counted() -> None:
    two = scene(
        overhead=(
            device("SD1", "smoke detector", (3.0, 2.1), below_m=0.4),
            device("SD2", "smoke detector", (3.0, 1.8), below_m=0.4),
            device("L1", "light", (3.15, 2.0), below_m=0.4),
            device("L2", "light", (2.86, 2.0), below_m=0.4),
        )
    )
    short, advised = words.sentences(review(two))
    assert short.endswith("; 1 more too close.")
    assert advised.endswith("; 1 more below advice.")
    assert words.summary(review(two)) == "7 clearances checked: 2 too close, 2 below advice, 0 not checked."


def test_no_conflict_is_never_an_approval_and_a_changed_rule_is_always_said() -> None:
    free, short = paragraph(scene()), paragraph(near_sprinkler(0.1))
    assert "No ceiling conflicts found by the rules listed." in free
    assert not any(word in (free + short).lower() for word in ("approved", "complies", "safe"))
    off = paragraph(changed(near_sprinkler(0.1), "sprinkler-spray"))
    assert "Rule R2, Clear of a sprinkler's spray, is switched off: agreed on site." in off
    less = paragraph(changed(near_sprinkler(0.1), "sprinkler-spray", 0.05))
    assert "Rule R2, Clear of a sprinkler's spray, asks for 0.05 m: agreed on site." in less


def test_notes_say_each_thing_once_with_all_it_is_about() -> None:
    sprinklers = tuple(
        device(f"SP{k}", "sprinkler", (1.0, 0.5 + 0.8 * k), spray="extended") for k in range(3)
    )
    some = [row for row in clearances(scene(overhead=sprinklers)) if row.kind == "sprinkler"]
    things = METRIC.listed([row.against for row in some])
    assert words.notes(some, METRIC) == (
        f"Clear of a sprinkler's spray, A1 to {things}: extended-coverage sprinklers have a table of their own, "
        "whose distance is needed here.",
    )
    assert words.notes([replace(some[0], cause=None)], METRIC) == ()


def every_row() -> list[Clearance]:
    """Rows of many kinds and states."""
    crowded = scene(
        arrays=(array(), array("A2", (3.3, 2.0))),
        grid=Grid((0.6, 0.6), (0.0, 0.0)),
        overhead=(
            device("SP1", "sprinkler", (3.1, 2.0)),
            device("SP2", "sprinkler", (1.0, 2.0), spray="unknown"),
            device("L1", "light", (3.0, 2.0), below_m=0.6),
            device("PJ1", "projector", (0.6, 2.0), below_m=0.4),
            device("B1", "beam", (3.1, 2.0), below_m=-0.05, depth_m=0.2, size_m=(0.2, 0.2), round=False),
        ),
        displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 180.0),),
    )
    flush = scene(arrays=(array(profile=profile(0.4, mount="flush")),), grid=Grid((0.6, 0.6), (0.0, 0.0)))
    return [*clearances(crowded), *clearances(changed(crowded, "light")), *clearances(flush)]


@pytest.mark.parametrize("locale", [METRIC, FEET])
def test_every_text_of_every_row_is_there_and_none_names_a_rules_id(locale: Locale) -> None:
    for one in every_row():
        text = words.row(one, locale)
        read = [getattr(text, name) for name in words.ClearanceText.__slots__]
        read += [words.conflict(one, locale), words.label(one, locale), words.of(one, locale)]
        assert not any("{" in some or "None" in some for some in read)
        assert all(read[:9])
        assert not [some for some in read if "-" in one.rule and one.rule in some]


def test_what_swings_names_the_angle_and_who_gave_it() -> None:
    swung = Suspension(swing=Swing(45.0, "the engineer's letter"))
    light = device("L1", "light", (3.5, 2.0), 0.45, round=False, size_m=(0.2, 0.2), depth_m=0.1)
    room = scene(overhead=(light,), suspension=swung)
    assert "A1, swinging 45°, hits light L1." in paragraph(room)
    row = next(one for one in clearances(room) if (one.rule, one.against) == ("swing", "L1"))
    assert words.row(row, METRIC).note == (
        "swinging 45° out of plumb, any way, from where it hangs at the ceiling (angle: the engineer's letter); set "
        "by the designer"
    )
    assert words.label(row, METRIC) == "in the way of a swing of 45°"
    near = replace(row, actual_m=0.03, required_m=0.05)
    assert words.conflict(near, METRIC) == (
        "A1, swinging 45°, comes too close to light L1: 30 mm, 50 mm required"
    )
    by_default = scene(overhead=(guessed(light, "size"),), suspension=swung)
    assert "A1, swinging 45°, may hit light L1" in paragraph(by_default)


def test_what_is_not_checked_is_counted_by_kind() -> None:
    row = only(near_sprinkler(0.1), "sprinkler-spray")
    open_ones = [replace(row, state="unjudged", against=f"SP{k}") for k in (1, 2, 2)]
    judged = review(near_sprinkler(0.1))
    assert words.unchecked(judged) == ""
    assert words.unchecked(replace(judged, clearances=tuple(open_ones))) == "2 sprinklers"
