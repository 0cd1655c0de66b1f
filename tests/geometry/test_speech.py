import math

import numpy as np
import pytest

from geometry.speech import (
    EFFORT_DBA,
    absorption_m2,
    critical_distance_m,
    level_dBA,
    to_reverberant_dB,
    total_over_direct_dB,
)


def test_level_is_the_effort_at_a_metre_and_falls_six_decibels_per_doubling() -> None:
    assert level_dBA([1, 2, 4], EFFORT_DBA["normal"]) == pytest.approx([60, 53.979, 47.959], abs=1e-3)


def test_one_distance_or_many_give_the_same() -> None:
    many = level_dBA(np.array([[1.5], [2.5]]), [60, 66])
    assert many.shape == (2, 2)
    assert many[1, 1] == level_dBA(2.5, 66)


def test_at_the_mouth_the_level_stays_finite() -> None:
    assert level_dBA(0, 60) == level_dBA(0.05, 60)
    assert math.isfinite(float(to_reverberant_dB(0, 1)))


def test_halves_and_doubles_of_the_critical_distance() -> None:
    rc = critical_distance_m(60, 0.5)
    assert to_reverberant_dB([rc / 2, rc, 2 * rc], rc) == pytest.approx([6.0206, 0, -6.0206], abs=1e-4)
    assert total_over_direct_dB([rc / 2, rc], rc) == pytest.approx([0.969, 3.0103], abs=1e-3)


def test_twice_the_directivity_is_the_square_root_of_two_in_distance() -> None:
    assert critical_distance_m(90, 0.6, 2) == pytest.approx(math.sqrt(2) * critical_distance_m(90, 0.6, 1))


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
def test_rooms_without_size_or_time_are_refused(bad: float) -> None:
    with pytest.raises(ValueError, match=r"volume_m3 is .* above 0"):
        absorption_m2(bad, 0.5)
    with pytest.raises(ValueError, match=r"reverberation_s is .* above 0"):
        absorption_m2(50, bad)


def test_turning_a_talker_takes_from_the_direct_sound_only() -> None:
    """Q once, straight ahead: the loss of the direction is all that the ratio loses."""
    ahead, turned = level_dBA(2, 60, 0), level_dBA(2, 60, -3)
    assert ahead - turned == pytest.approx(3)
    rc = critical_distance_m(60, 0.5)
    assert to_reverberant_dB(2, rc) - to_reverberant_dB(2, rc, -3) == pytest.approx(3)
    # level less ratio is the reverberant level
    assert ahead - to_reverberant_dB(2, rc) == pytest.approx(turned - to_reverberant_dB(2, rc, -3))


def test_a_voice_is_not_a_half_space() -> None:
    """Measured 1.49 for dB(A); 2.0 was taken before."""
    assert critical_distance_m(60, 0.5) == critical_distance_m(60, 0.5, 1.49)
