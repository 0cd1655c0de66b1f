"""What shares of people cost: 40 talkers and 4 arrays in at most 20 ms of the processor."""

from __future__ import annotations

import time

import numpy as np

from geometry.band import Band
from geometry.covered_share import covered_shares
from scenes.room.populations import mixed
from scenes.room.provenance import ANYBODY

ALLOWED_S = 0.020


def test_forty_talkers_and_four_arrays_in_twenty_milliseconds():
    lot = np.random.default_rng(7)
    people = mixed(ANYBODY, "seated")
    places, lean = lot.uniform(0.5, 7.5, (40, 2)), np.full(40, 0.1)
    centres = np.array([[2.0, 2.0, 2.4], [6.0, 2.0, 2.4], [2.0, 6.0, 2.4], [6.0, 6.0, 2.4]])
    bands, seen = [Band(21, 66, 0.7, 2.6)] * 4, np.ones((40, 4), bool)
    took = []
    for _ in range(7):
        start = time.process_time()
        shares = covered_shares(people, places, lean, centres, bands, seen)
        took.append(time.process_time() - start)
    # everybody's share is looked at: some wholly covered, some not at all, some in part
    assert (shares > 0.999).any()
    assert (shares < 0.001).any()
    assert ((shares > 0.05) & (shares < 0.95)).any()
    assert min(took) <= ALLOWED_S, took
