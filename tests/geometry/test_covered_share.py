"""What share of people a band covers at a place: against heights asked one by one, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.band import Band
from geometry.covered_share import covered_shares, heights_heard
from geometry.people import Mixture, Normal

PEOPLE = Mixture((Normal(1.12, 0.03), Normal(1.18, 0.033)), (0.5, 0.5))
BANDS = (Band(22, 58, 0.9, 2.9), Band(35, 90, 0.0, 2.6))
CENTRES = np.array([[0.0, 0.0, 2.4], [1.5, 0.6, 2.3]])


def shares(at, sway, *, centres=CENTRES, bands=BANDS, people=PEOPLE, seen=None):
    at = np.array(at, float).reshape(-1, 2)
    seen = np.ones((len(at), len(bands)), bool) if seen is None else seen
    return covered_shares(people, at, np.full(len(at), float(sway)), np.asarray(centres, float), bands, seen)


def inside(band, away, down):
    angle, far = math.degrees(math.atan2(down, away)), math.hypot(away, down)
    return band.low_deg <= angle <= band.high_deg and band.near_m <= far <= band.far_m


@pytest.mark.parametrize("band", BANDS)
def test_the_interval_of_heights_is_what_the_band_covers(band):
    for away in np.linspace(0.02, 3.2, 54):
        low, high = map(float, heights_heard(2.4, np.array(away), np.array(away), band))
        heard = [z for z in np.arange(0.0, 2.4, 0.004) if inside(band, away, 2.4 - z)]
        if not heard:
            assert high - low < 0.004
        else:
            assert (low - 1e-9 <= min(heard)) & (max(heard) <= high + 1e-9)
            assert (min(heard), max(heard)) == pytest.approx((max(low, 0.0), high), abs=0.0041)


def test_shares_agree_with_people_drawn_by_lot():
    lot = np.random.default_rng(9)
    count = 60_000
    group = lot.random(count) < 0.5
    heights = np.where(group, lot.normal(1.12, 0.03, count), lot.normal(1.18, 0.033, count))
    radius, angle = 0.1 * np.sqrt(lot.random(count)), lot.uniform(0, 2 * np.pi, count)
    places = [[1.7, -0.5], [0.8, 0.9], [2.2, 1.0], [-2.4, 0.2]]
    for place, share in zip(places, shares(places, 0.1), strict=True):
        x, y = place[0] + radius * np.cos(angle), place[1] + radius * np.sin(angle)
        covered = np.zeros(count, bool)
        for (ax, ay, az), band in zip(CENTRES, BANDS, strict=True):
            away, down = np.hypot(x - ax, y - ay), az - heights
            tilt, far = np.degrees(np.arctan2(down, away)), np.hypot(away, down)
            covered |= (
                (tilt >= band.low_deg) & (tilt <= band.high_deg) & (far >= band.near_m) & (far <= band.far_m)
            )
        assert share == pytest.approx(covered.mean(), abs=0.008)  # four deviations of so many


def test_a_share_is_one_or_nothing_as_the_median_person_is_covered_when_people_are_alike():
    alike = Mixture((Normal(1.15, 1e-7), Normal(1.15, 1e-7)), (0.5, 0.5))
    places = [[x, 0.35] for x in np.linspace(0.1, 3.4, 40)]
    for (x, y), share in zip(places, shares(places, 0.0, people=alike), strict=True):
        by = [
            inside(band, math.hypot(x - ax, y - ay), az - 1.15)
            for (ax, ay, az), band in zip(CENTRES, BANDS, strict=True)
        ]
        assert share == pytest.approx(float(any(by)), abs=1e-6)


def test_a_mirrored_room_gives_the_same_shares():
    places = np.random.default_rng(3).uniform(-2.5, 3, (30, 2))
    mirrored = CENTRES * [-1, 1, 1]
    assert shares(places * [-1, 1], 0.1, centres=mirrored) == pytest.approx(shares(places, 0.1), abs=1e-6)


def test_one_array_more_never_covers_fewer_and_one_that_sees_nobody_adds_nobody():
    places = np.random.default_rng(4).uniform(-2.5, 3, (30, 2))
    one = shares(places, 0.1, centres=CENTRES[:1], bands=BANDS[:1])
    assert (shares(places, 0.1) >= one - 2e-4).all()
    blind = np.tile([True, False], (30, 1))
    assert shares(places, 0.1, seen=blind) == pytest.approx(one, abs=2e-4)
    assert (shares(places, 0.1, seen=~blind & False) == 0).all()


def test_bounds_that_agree_are_what_the_mean_over_the_disc_would_be(monkeypatch):
    places = np.random.default_rng(5).uniform(-2.5, 3, (20, 2))
    quick = shares(places, 0.1)
    monkeypatch.setattr("geometry.covered_share.AGREED", -1.0)
    assert shares(places, 0.1) == pytest.approx(quick, abs=2e-4)
