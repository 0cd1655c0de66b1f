"""The tolerance at the array on a sheet: the headline's own figures, and none where nothing may be hung."""

from __future__ import annotations

import pytest

from tests.viz.drawn import dossier_of
from tests.viz.test_sheets import document
from viz.words import tolerance
from viz.words.locale import MINUS, Locale


def texts(room: str) -> list[str]:
    """What stands in the drawing, its hyphens as the minus signs they are in words."""
    return [entity.dxf.text.replace("-", MINUS) for entity in document(room).modelspace().query("TEXT")]


@pytest.mark.parametrize("room", ["heron", "ferry", "loft"])
def test_what_may_be_hung_has_a_rose_on_ceiling_plan_and_sections(room):
    review = dossier_of(room).review
    locale = Locale.of(review.scene)
    headline = tolerance.headline(review)
    for one in review.arrays:
        lines = tolerance.at_the_array(one.tolerance, locale)
        assert lines[0].removeprefix("±") in headline
        for line in lines:
            # on the ceiling plan and in both sections
            assert sum(text.endswith(line) for text in texts(room)) == 3 * len(review.arrays)
    assert len(lines) == (1 if review.scene.arrays[0].profile.mount == "flush" else 2)


def test_a_room_that_fails_has_none():
    review = dossier_of("weir").review
    assert review.verdict == "fail"
    assert tolerance.headline(review) is None
    assert not any(text.startswith("±") for text in texts("weir"))
