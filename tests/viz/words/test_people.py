"""People in words: of a hundred, and in the mean."""

from __future__ import annotations

import pytest

from scenes.findings.people import PeopleReview
from viz.words.locale import Locale
from viz.words.people import expected, in_place, of_hundred

LOCALE = Locale("m")


@pytest.mark.parametrize(
    ("share", "count"), [(0.6254, 63), (0.5366, 54), (0.9990, 99), (0.99957, 100), (0.002, 1), (0.0, 0)]
)
def test_a_share_is_so_many_of_a_hundred_people_and_all_only_of_all(share: float, count: int) -> None:
    assert of_hundred(share, LOCALE) == f"{count} of 100"


def test_a_place_says_how_many_people_it_covers_unless_it_covers_all() -> None:
    assert in_place(0.62, "seated", LOCALE) == "62 of 100 people in this seat"
    assert in_place(0.62, "standing", LOCALE) == "62 of 100 people standing here"
    assert in_place(1.0, "seated", LOCALE) == ""
    assert in_place(None, "seated", LOCALE) == ""
    assert of_hundred(None, LOCALE) == "–"


def test_the_mean_is_never_all_of_them_where_somebody_is_left_out() -> None:
    found = PeopleReview((), {"S1": 1.0, "S2": 0.981, "S3": 0.0}, 1.981, 3)
    mean, where = expected(found, LOCALE)
    assert mean == "Of 3 such talkers 2.0 are covered on average."
    assert where == "Only some of them are covered in S2 (98 of 100)."
    nearly = PeopleReview((), {"S1": 1.0, "S2": 0.981}, 1.981, 2)
    assert expected(nearly, LOCALE)[0] == "Of 2 such talkers 1.9 are covered on average."
