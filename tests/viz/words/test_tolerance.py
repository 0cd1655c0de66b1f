"""The installation tolerance in words: one headline, the same in every output."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from scenes.findings.review import Alone, Limit, Tolerance
from scenes.review.review import review
from scenes.room.build import read_scene
from viz.words import tolerance
from viz.words.locale import DASH, Locale

ROOMS = Path(__file__).parents[3] / "scenes" / "rooms"
HERON = review(read_scene(ROOMS / "heron.yaml").with_array("A1", at_m=(3.3, 2.25), height_m=2.18))
METRIC, FEET = Locale("m"), Locale("ft")


def of(sideways: float | None, up: float | None, down: float | None, /, **limits: Limit) -> Tolerance:
    ends = {"sideways": None, "up": None, "down": None, **limits}
    return Tolerance(sideways, up, down, 1.0, Alone(None, None, None), ends)  # type: ignore[arg-type]


def test_heron_says_what_an_installer_needs() -> None:
    found = HERON.arrays[0].tolerance
    sideways, up, down = (
        math.floor(1000 * (value or 0)) for value in (found.sideways_m, found.up_m, found.down_m)
    )
    assert 0 < up < sideways
    assert up < down
    assert tolerance.headline(HERON) == (
        f"Installation tolerance: ±{sideways} mm sideways, {up} mm up, {down} mm down (up limited by sprinkler SP2)."
    )


def test_a_room_that_fails_has_no_headline_to_hang_by() -> None:
    assert tolerance.headline(replace(HERON, verdict="fail")) is None
    nobody = replace(HERON, counts=replace(HERON.counts, covered=0, marginal=8))
    assert tolerance.headline(nobody) is None


def test_what_is_too_close_already_is_said_not_to_count() -> None:
    """A cable on a tee: what is left of the grid is nothing, and no tolerance is about it."""
    assert not HERON.too_close_already
    row = next(row for row in HERON.clearances if row.rule == "grid-tee")
    on_a_tee = replace(HERON, clearances=(replace(row, state="advised"),))
    assert on_a_tee.too_close_already
    headline = tolerance.headline(on_a_tee)
    assert headline == f"{tolerance.headline(HERON)} It does not count what is too close already."


def test_a_room_that_fails_names_no_limit_anywhere() -> None:
    failed = replace(HERON, verdict="fail")
    one = HERON.arrays[0].tolerance
    assert tolerance.of_room(failed) == tolerance.of_array(one, failed) == tolerance.tile(failed)[0] == DASH
    assert tolerance.limits(one, failed) == [None, None, None]
    assert tolerance.of_room(HERON) == tolerance.short(one, METRIC)
    assert tolerance.of_array(one, HERON) == tolerance.with_limit(one, HERON.scene, METRIC)
    assert "sprinkler SP2" in tolerance.limits(one, HERON)


@pytest.mark.parametrize(
    ("found", "metric", "feet"),
    [
        (
            of(0.025, 0.0079, 0.0279),
            "±25 mm sideways, 7 mm up, 27 mm down",
            '±15/16" sideways, 1/4" up, 1 1/16" down',
        ),
        (of(0.025, None, 0.03), "±25 mm sideways, up to the ceiling, 30 mm down", None),
        (of(0.025, 0.03, None), "±25 mm sideways, 30 mm up, down to the floor", None),
        (of(0.003, None, None), "±3 mm sideways", None),
        (of(0.0, 0.0, 0.0), "none", "none"),
        (of(0.0, 0.012, 0.0), "±0 mm sideways, 12 mm up, 0 mm down", None),
    ],
)
def test_each_direction_is_rounded_down_and_a_stop_is_no_number(
    found: Tolerance, metric: str, feet: str | None
) -> None:
    assert tolerance.short(found, METRIC) == metric
    if feet is not None:
        assert tolerance.short(found, FEET) == feet


def test_the_tightest_direction_says_what_limits() -> None:
    head, rule = Limit("head", "T1-8"), Limit("rule", "SP2", "sprinkler-spray")
    assert tolerance.tightest(of(0.02, 0.007, 0.03, sideways=head, up=rule, down=head)) == ("up", rule)
    assert tolerance.tightest(of(0.005, 0.007, 0.03, sideways=head, up=rule, down=head)) == ("sideways", head)
    # of equal ones the rule: a talker is not what can be moved out of the way
    assert tolerance.tightest(of(0.005, 0.005, 0.03, sideways=head, up=rule, down=head)) == ("up", rule)
    assert tolerance.tightest(of(None, None, None)) is None
    # one thing that limits all of them is said of all, another only of the direction that it ends
    scene = HERON.scene
    assert tolerance.with_limit(of(0.02, 0.007, 0.03, sideways=rule, up=rule, down=rule), scene, METRIC) == (
        "±20 mm sideways, 7 mm up, 30 mm down (limited by sprinkler SP2)"
    )
    assert tolerance.with_limit(of(0.02, 0.007, 0.03, sideways=head, up=rule, down=head), scene, METRIC) == (
        "±20 mm sideways, 7 mm up, 30 mm down (up limited by sprinkler SP2)"
    )
    assert tolerance.with_limit(of(0.02, None, 0.01, sideways=head, down=rule), scene, METRIC) == (
        "±20 mm sideways, up to the ceiling, 10 mm down (down limited by sprinkler SP2)"
    )


def test_what_limits_is_called_by_kind_and_id() -> None:
    scene = HERON.scene
    for limit, text in (
        (Limit("rule", "L1", "light"), "light L1"),
        (Limit("rule", "walls", "wall"), "the walls"),
        (Limit("rule", "floor", "headroom"), "the floor (headroom)"),
        (Limit("rule", "T1", "free-over-table"), "table T1"),
        (Limit("head", "T1-8"), "talker T1-8"),
        (Limit("sight", "L1"), "the line of sight past L1"),
    ):
        assert tolerance.limited_by(limit, scene, METRIC) == text


def test_figures_for_a_rose_carry_their_sign() -> None:
    found = of(0.025, None, 0.0279)
    figures = [tolerance.figure(found, direction, METRIC) for direction in tolerance.DIRECTIONS]
    assert figures == ["±25 mm", "up to the ceiling", "−27 mm"]
    flush = of(0.025, None, None)
    assert [tolerance.figure(flush, way, METRIC) for way in tolerance.DIRECTIONS] == ["±25 mm", "–", "–"]


def test_a_stop_has_the_same_words_in_every_output() -> None:
    found = of(1.1325, None, 0.0279, sideways=Limit("head", "T1-8"), down=Limit("head", "T1-8"))
    stop = tolerance.rose(found, METRIC)["up"]
    assert stop == tolerance.figure(found, "up", METRIC) == tolerance.limits(found, HERON)[1]
    assert stop is not None
    assert stop in tolerance.short(found, METRIC)
    assert tolerance.at_the_array(found, METRIC) == ["±1132 mm", f"{stop}, −27 mm"]
    flush = of(0.025, None, None, sideways=Limit("head", "T1-8"))
    assert tolerance.limits(flush, HERON)[1:] == [None, None]
