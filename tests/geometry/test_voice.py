"""Laws of the voice's direction: no seams, mirrored rooms alike, and the traps that a sign falls into."""

import numpy as np
import pytest

from geometry.voice import below_measured, in_head_frame, loss_dB, loss_range_dB, towards
from scenes.room.voice import voice


def test_azimuth_is_from_where_the_talker_faces() -> None:
    azimuth, elevation = towards((0, 0, 1.2), [(2, 0, 1.2), (0, 2, 3.2), (-2, 0, 1.2)], 90)
    assert azimuth == pytest.approx([-90, 0, 90])
    assert elevation == pytest.approx([0, 45, 0])


def test_an_array_above_the_mouth_is_above_it() -> None:
    """A sign turned round would have it under the table, where a voice is louder."""
    _, elevation = towards((0, 0, 1.2), (1, 0, 2.4), 0)
    assert elevation > 0
    assert loss_dB(voice(), 0, elevation)[0] < 0 < loss_dB(voice(), 0, -elevation / 2)[0]


def test_straight_above_no_way_of_facing_matters() -> None:
    azimuth, elevation = towards((1, 1, 1.2), (1, 1, 2.4), [0, 77, 180])
    assert azimuth == pytest.approx([0, 0, 0])
    assert np.ptp(loss_dB(voice(), [0, 77, 180], elevation), axis=0).max() < 1e-12


def test_straight_ahead_is_the_level_all_others_are_measured_by() -> None:
    assert loss_dB(voice(), 0, 0) == pytest.approx([0] * 8, abs=1e-9)


@pytest.mark.parametrize(("near", "far"), [((1e-7, 30), (-1e-7, 30)), ((180 - 1e-7, 30), (180 + 1e-7, 30))])
def test_no_seam_ahead_or_behind(near: tuple[float, float], far: tuple[float, float]) -> None:
    assert loss_dB(voice(), *near) == pytest.approx(loss_dB(voice(), *far), abs=1e-6)


def test_no_seam_over_the_top_for_a_bent_head() -> None:
    """Past 90° of the bent head the direction comes down behind it."""
    before, after = (loss_dB(voice(), 0, up, 30) for up in (60 - 1e-6, 60 + 1e-6))
    assert before == pytest.approx(after, abs=1e-5)
    assert in_head_frame(0, 70, 30) == pytest.approx((180, 80))


def test_left_and_right_are_alike() -> None:
    assert loss_dB(voice(), -70, 25) == pytest.approx(loss_dB(voice(), 70, 25), abs=1e-12)


def test_below_what_was_measured_it_is_that_of_the_lowest() -> None:
    assert loss_dB(voice(), 40, -80) == pytest.approx(loss_dB(voice(), 40, -30))
    assert below_measured(voice(), 40, [-31, -30, 10]).tolist() == [True, False, False]


def test_whoever_looks_anywhere_has_a_range_that_holds_every_facing() -> None:
    least, most, azimuth = loss_range_dB(voice(), 40)
    every = loss_dB(voice(), np.linspace(-180, 180, 721), 40)[:, 0]
    assert least[0] <= every.min() + 1e-9
    assert most[0] >= every.max() - 1e-9
    assert loss_dB(voice(), azimuth, 40) == pytest.approx(least)


def test_turning_round_costs_more_than_the_array_being_above() -> None:
    ahead, side, back = loss_dB(voice(), [0, 90, 180], 40)[:, 0]
    assert -0.7 < ahead < -0.4
    assert back < side < ahead - 1
