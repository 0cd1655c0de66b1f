"""`code: us | uk | eu`: whose values apply, and what is not judged where a set has none that was seen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.review.review import review
from scenes.room.build import build
from scenes.room.provenance import Given
from scenes.room.scene import Limits, RuleChange, Scene
from scenes.rulebook import CodeSet, rules
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text
from tests.scenes.ceiling_rooms import array, cause_of, device, near_sprinkler, only, profile, scene
from tests.small_room import SMALL


def under(code: CodeSet, room: Scene) -> Scene:
    return replace(room, code=Given(code))


def beside_detector(apart_m: float) -> Scene:
    return scene(overhead=(device("SD1", "smoke detector", (3.05 + apart_m + 0.03, 2.0), below_m=0.55),))


def over_the_floor(underside_m: float) -> Scene:
    return scene(arrays=(array(height_m=underside_m + profile().centre_m),), tables=())


def test_a_file_says_whose_codes_or_us_is_a_default() -> None:
    assert build(read_spec_text(SMALL, "room.yaml")).code == Given("us", "default")
    assert build(read_spec_text(f"{SMALL}code: uk\n", "room.yaml")).code == Given("uk")
    with pytest.raises(SpecMistakes) as wrong:
        read_spec_text(f"{SMALL}code: de\n", "room.yaml")
    [one] = wrong.value.mistakes
    assert (one.path, one.found.text) == ("code", "de")


def test_us_written_judges_as_the_default_does() -> None:
    for room in (near_sprinkler(0.299), beside_detector(0.2), over_the_floor(2.0)):
        assert [row.state for row in review(under("us", room)).clearances] == [
            row.state for row in review(room).clearances
        ]


@pytest.mark.parametrize(("code", "standard"), [("uk", "BS EN 12845"), ("eu", "EN 12845")])
@pytest.mark.parametrize("apart_m", [0.05, 2.0])
def test_no_sprinkler_is_judged_by_a_code_whose_table_nobody_saw(
    code: CodeSet, standard: str, apart_m: float
) -> None:
    room = under(code, near_sprinkler(apart_m))
    row = only(room, "sprinkler-spray")
    assert (row.state, cause_of(row), row.required_m) == ("unjudged", "no-code-value", None)
    assert row.actual_m == pytest.approx(apart_m)
    assert row.cause is not None
    assert row.cause.thing == row.by.standard == standard
    assert row.by.signs == ("fire",)
    assert "NFPA" not in row.by.source
    assert not review(room).short


def test_the_designers_own_distance_to_sprinklers_wins_under_every_code() -> None:
    change = RuleChange("sprinkler-spray", off=False, value_m=0.4, reason="fire engineer")
    for code in ("uk", "eu"):
        for apart_m, state in ((0.39, "short"), (0.41, "clear")):
            row = only(
                under(code, replace(near_sprinkler(apart_m), rule_changes=(change,))), "sprinkler-spray"
            )
            assert (row.state, row.basis, row.required_m) == (state, "own", 0.4)


def test_a_detectors_distance_is_british_and_stands_in_under_us() -> None:
    # BS 5839-1, 500 mm: from memory
    for code in ("us", "uk"):
        row = only(under(code, beside_detector(0.3)), "smoke-detector")
        assert (row.state, row.required_m, row.sureness) == ("short", 0.5, "memory")
    asked = only(under("eu", beside_detector(0.3)), "smoke-detector")
    assert (asked.state, cause_of(asked)) == ("unjudged", "no-code-value")
    own = beside_detector(0.3)
    own = replace(own, overhead=(replace(own.overhead[0], required_m=0.25),))
    assert only(under("eu", own), "smoke-detector").state == "clear"


def test_headroom_under_each_code() -> None:
    # IBC 1003.3.1: 80 in. Approved Document B: 2.0 m on escape routes, read in a reprint
    assert only(over_the_floor(2.01), "headroom").state == "short"
    british = build(read_spec_text(f"{SMALL}code: uk\n", "room.yaml"))
    assert british.limits.headroom == Given(2.0, "default")
    room = replace(over_the_floor(2.01), limits=british.limits)
    row = only(under("uk", room), "headroom")
    assert (row.state, row.required_m, row.sureness) == ("clear", 2.0, "copy")
    assert "Approved Document B" in row.by.source


def test_where_no_headroom_is_known_too_low_for_anybody_is_short_and_the_rest_a_question() -> None:
    assert only(under("eu", over_the_floor(2.01)), "headroom").state == "short"
    row = only(under("eu", over_the_floor(2.3)), "headroom")
    assert (row.state, cause_of(row), row.by.signs) == ("unjudged", "no-code-value", ("architect",))
    own = replace(over_the_floor(2.3), limits=Limits(headroom=Given(2.1)))
    assert only(under("eu", own), "headroom").state == "clear"


def test_what_no_code_asks_is_the_same_in_every_set() -> None:
    for id, rule in rules().items():
        if not rule.in_sets:
            for code in ("uk", "eu"):
                assert rules(code)[id] == rule.model_copy(update={"code": code})
        else:
            assert set(rule.in_sets) == {"uk", "eu"}
