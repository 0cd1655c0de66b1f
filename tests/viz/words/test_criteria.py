"""The designer's own criteria in words: whose they are, and how many meet them."""

from __future__ import annotations

from scenes.findings.criteria import AngleMet, DistanceMet
from viz.words.criteria import criterion
from viz.words.locale import Locale


def test_a_criterion_says_whose_it_is_and_who_meets_it() -> None:
    assert criterion(DistanceMet(0.9, 2.5, 8, 8), Locale("m")) == (
        "Design criterion (set by the designer): talkers 0.90 m to 2.50 m from the array. 8 of 8 meet it."
    )
    assert criterion(AngleMet(12.5, 3, 8), Locale("m")) == (
        "Design criterion (set by the designer): talkers within 12.5° of the band centre. 3 of 8 meet it."
    )
