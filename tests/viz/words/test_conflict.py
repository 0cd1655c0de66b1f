"""Why a room cannot be covered, in words: two figures that look the same are never set against each other."""

from __future__ import annotations

import pytest

from scenes.findings.placement import Because, Conflict, Miss, Try
from viz.words.conflict import because, changed, helped
from viz.words.locale import Locale

METRIC, FEET = Locale("m"), Locale("ft")


def not_together(*misses: Miss) -> Conflict:
    why = Because(
        "not together",
        at_m=(3.0, 2.5, 2.4),
        band="mid",
        low_deg=25,
        high_deg=60,
        near_m=0.8,
        reach_m=2.2,
        misses=misses,
    )
    return Conflict(tuple(miss.head for miss in misses), True, why, ())


def test_a_miss_is_set_against_its_limit_and_what_looks_the_same_says_how_much_is_short() -> None:
    far = not_together(
        Miss("S1", "too far", 20.0, 2.203, False, 0.003), Miss("S2", "too far", 20.0, 2.9, False, 0.7)
    )
    said = because(far, METRIC)
    assert (
        "S1 is too far (2.20 m, reach to 2.20 m, 3 mm short); S2 is too far (2.90 m, reach to 2.20 m)."
        in said
    )
    leaning = because(not_together(Miss("S1", "too shallow", 26.0, 2.0, True, 0.04)), METRIC)
    assert "S1 cannot be covered anywhere" in leaning
    assert "S1 is too shallow when leaning (26.0°, band from 25°, 4 cm short)" in leaning
    steep = because(not_together(Miss("S1", "too steep", 61.0, 2.0, False, 0.04)), FEET)
    assert "S1 is too steep (61.0°, band to 60°)" in steep
    assert "3.00 m" not in steep


def test_of_many_lost_the_first_are_told_and_the_rest_counted() -> None:
    many = not_together(*(Miss(f"S{k}", "too near", 70.0, 0.5, False, 0.3) for k in range(9)))
    said = because(many, METRIC)
    assert "S0, S1, S2 and 6 more cannot be covered together" in said
    assert said.count("too near") == 3
    assert said.endswith("6 more drop out.")


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (Try("ceiling", 2.95, True, 8, 0.1), "a ceiling at 2.95 m, with all that is in it"),
        (Try("reach", 3.41, True, 8, 0.1), "a reach of 3.41 m"),
        (Try("arrays", 2, True, 8, 0.1), "2 arrays"),
        (Try("without", "DF1", True, 8, 0.1), "without DF1"),
        (Try("without", None, False, None, None), "any one thing taken out"),
        (Try("hold", "height", True, 8, 0.1), "not holding the height"),
        (Try("lean", 0.0, False, 7, -0.1), "nobody leaning"),
    ],
)
def test_each_change_is_named_in_a_few_words(one: Try, said: str) -> None:
    assert changed(one, METRIC) == said


def test_a_change_that_helps_with_another_band_says_which() -> None:
    from scenes.place.search import place_scene
    from tests.viz.rooms import demo_scene

    placed = place_scene(demo_scene("heron"), advise=False)
    own = placed.arrays[0].band_name
    same = Try("ceiling", 2.95, True, 8, 0.1, (own,))
    assert "band" not in helped(same, placed, METRIC)
    other = Try("ceiling", 2.95, True, 8, 0.1, ("another",))
    assert "2.95 m, with all that is in it, in band another (" in helped(other, placed, METRIC)
