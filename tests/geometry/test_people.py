"""Heights of people: sums of measures, mixtures of groups."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.people import Mixture, Normal, summed

PEOPLE = Mixture((Normal(1.12, 0.03), Normal(1.18, 0.033)), (0.4, 0.6))


def test_shares_of_many_heights_are_those_of_each():
    heights = np.linspace(0.5, 2.0, 301)
    assert PEOPLE.shares_below(heights) == pytest.approx([PEOPLE.share_below(z) for z in heights], abs=3e-5)


@pytest.mark.parametrize("share", [0.001, 0.05, 0.5, 0.9])
def test_the_height_at_a_share_has_that_share_below_it(share):
    assert PEOPLE.share_below(PEOPLE.at(share)) == pytest.approx(share, abs=1e-9)
    low, high = PEOPLE.groups[0].at(share), PEOPLE.groups[1].at(share)
    assert low < PEOPLE.at(share) < high


def test_one_group_alone_is_the_group():
    alone = Mixture(PEOPLE.groups, (1.0, 0.0))
    assert alone.at(0.2) == pytest.approx(PEOPLE.groups[0].at(0.2), abs=1e-9)
    assert alone.share_between(1.2, 1.1) == 0


def test_opposite_measures_that_go_wholly_together_cancel():
    one = Normal(0.5, 0.03)
    assert summed([(1.0, one), (-1.0, one)], {(0, 1): 1.0}).deviation == pytest.approx(0, abs=1e-9)
