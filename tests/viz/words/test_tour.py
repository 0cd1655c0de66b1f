"""The guided look says nothing of its own: its steps are the findings, as every other output says them."""

from __future__ import annotations

import pytest

from tests.viz.drawn import dossier_of
from tests.viz.rooms import staged
from viz.words import cautions, coverage, tolerance, tour


@pytest.mark.parametrize("room", ["heron", "weir", "ferry", "loft"])
def test_six_steps_end_with_who_is_covered_and_what_follows(room):
    review = dossier_of(room).review
    steps = tour.steps(review)
    assert [step.part for step in steps] == ["room", "array", "zone", "hollow", "people", "outcome"]
    assert [step.which for step in steps] == [f"{n} of 6" for n in range(1, 7)]
    assert steps[4].text == coverage.sentence(review)
    passed = review.verdict == "pass"
    assert steps[5].text == (tolerance.headline(review) if passed else cautions.mark(review))
    array = review.scene.arrays[0]
    assert f"{array.band.low_deg:g}–{array.band.high_deg:g}°" in steps[2].text
    assert ("lies in" in steps[1].text) == (array.profile.mount == "flush")


def test_several_arrays_are_told_together():
    steps = tour.steps(staged("nasty").review)
    assert "A1 and A2" in steps[1].text
    assert all(id in steps[2].text for id in ("A1", "A2"))
