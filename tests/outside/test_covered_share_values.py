"""Shares of people who are covered, against values computed by two other ways.

Source: adaptive quadrature to 1e-7 and Monte Carlo of 4 million people (±0.00025), done apart from this code, over the
figures derived from ANSUR II (tests/outside/test_people_values.py): array 2.40 m high, band 20 to 60°, half women, seat
0.44 m. Invented places; no publication is claimed.
"""

from __future__ import annotations

import numpy as np
import pytest

from geometry.band import Band
from geometry.covered_share import covered_shares, heights_heard
from scenes.room.populations import mixed, mouths_of
from scenes.room.provenance import ANYBODY

PLACES = [
    # plan distance, reach, interval of mouths above the floor, women, men, half and half, the same with leaning
    (3.05, 50.0, (-2.8828, 1.2899), 1.0, 0.9998, 0.9999, 0.99957),
    (2.72, 3.0, (1.1345, 1.41), 0.35888, 0.89191, 0.6254, 0.53664),
    (0.72, 50.0, (1.1529, 2.1379), 0.16306, 0.74832, 0.45569, 0.50013),
]


def share(plan, reach, lean, posture="seated"):
    band = Band(20, 60, 0, reach)
    centre = np.array([[0.0, 0.0, 2.4]])
    seen = np.ones((1, 1), bool)
    people = mixed(ANYBODY, posture)
    return covered_shares(people, np.array([[plan, 0.0]]), np.array([lean]), centre, [band], seen)[0]


@pytest.mark.parametrize(("plan", "reach", "interval", "women", "men", "both", "leaning"), PLACES)
def test_the_share_of_heights_and_of_leaning(plan, reach, interval, women, men, both, leaning):
    low, high = map(float, heights_heard(2.4, np.array(plan), np.array(plan), Band(20, 60, 0, reach)))
    assert (max(low, interval[0]), high) == pytest.approx(interval, abs=1e-4)
    of_group = [group.share_below(high) - group.share_below(low) for group in mouths_of(ANYBODY, "seated")]
    assert of_group == pytest.approx([women, men], abs=2e-4)
    assert share(plan, reach, 0.0) == pytest.approx(both, abs=2e-4)
    assert share(plan, reach, 0.1) == pytest.approx(leaning, abs=2e-4)


def test_standing_people_and_the_expected_number_of_three():
    assert share(2.30, 50.0, 0.0, "standing") == pytest.approx(0.605, abs=5e-4)
    assert share(2.30, 50.0, 0.1, "standing") == pytest.approx(0.603, abs=5e-4)
    assert sum(share(plan, reach, 0.0) for plan, reach, *_ in PLACES) == pytest.approx(2.081, abs=5e-4)
