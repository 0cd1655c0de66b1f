"""What modules of this floor still make of numbers rounds to the safe side; the rest is in tests/viz/words."""

from __future__ import annotations

from scenes.words import not_enough, signed_deg


def test_degrees_that_round_to_nothing_have_no_sign():
    assert [signed_deg(v) for v in (3.21, -0.44, -0.04, 0.04)] == ["+3.2°", "-0.4°", "0.0°", "0.0°"]


def test_a_margin_too_small_to_tell_is_not_told_as_nothing():
    assert not_enough(0.1, 0.0004, "m").endswith("(the best leaves next to nothing)")
    assert not_enough(0.1, 0.0004, "ft").endswith("(the best leaves next to nothing)")
    assert not_enough(0.1, 0.0064, "m").endswith("(the best leaves 6 mm)")
