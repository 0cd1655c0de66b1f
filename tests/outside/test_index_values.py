"""The speech index, its ingredients and the bounce against values from outside.

"published" was read at the source or a copy of it; "computed" follows from the formula by other means than ours
(an independent program agrees to 1e-12 on the chain from modulation to index).
"""

import math

import numpy as np
import pytest

from geometry.bounce import bounce
from geometry.index import (
    CLASSES,
    class_of,
    early_over_late_dB,
    heard,
    index_of,
    masking_slope_dB,
    modulation,
    transfer_indices,
)
from geometry.speech import (
    VOICE_Q,
    VOICE_Q_BY_OCTAVE,
    a_weighted_dBA,
    absorption_m2,
    absorption_of_m2,
    critical_distance_m,
    eyring_s,
    level_dBA,
    mean_alpha,
    noise_curve_dB,
    noise_octaves_dB,
    reach_m,
    reverberant_energy,
    room_constant_m2,
    schroeder_hz,
    to_reverberant_dB,
)
from geometry.voice import SPEECH_DB, loss_dB
from scenes.room.voice import voice

SEVEN = np.ones(7)
NC30 = noise_curve_dB("NC", 30)[1:]
NC35 = noise_curve_dB("NC", 35)[1:]

# Architectural Institute of Japan, benchmark A-21, to IEC 60268-16:2020 (published).
A21_MTI = (0.131, 0.284, 0.33, 0.324, 0.322, 0.319, 0.292)

# IEC 60268-16, reverberation alone (computed; by noise impulse responses 0.781, 0.700, 0.596 for 0.4, 0.6, 1.0 s).
REVERBERATION = {
    0.3: 0.8275, 0.4: 0.7779, 0.5: 0.7363, 0.6: 0.7001, 0.8: 0.6389,
    1.0: 0.5885, 1.2: 0.547, 1.5: 0.4979, 2.0: 0.4374, 8.0: 0.1884,
}  # fmt: skip


def _index(d: object, r: object, n: object, t: object) -> float:
    return float(index_of(transfer_indices(modulation(d, r, n, t))))


def _room(loss: object, q: object, t: float, metres: float, noise: np.ndarray) -> tuple[object, ...]:
    """Energies in a room of 150 m3, with the absorption area alone, as the checks were computed."""
    direct = 10 ** (np.asarray(loss, float) / 10) / metres**2 * SEVEN
    reverberant = reverberant_energy(absorption_m2(150, t) * SEVEN, q)
    return direct, reverberant, 10 ** ((noise - np.array(SPEECH_DB)) / 10), t * SEVEN


def test_japanese_benchmark_and_the_missing_root() -> None:
    assert index_of(A21_MTI) == pytest.approx(0.311, abs=5e-4)
    each = np.array(A21_MTI)
    alpha, beta = (
        (0.085, 0.127, 0.230, 0.233, 0.309, 0.224, 0.173),
        (0.085, 0.078, 0.065, 0.011, 0.047, 0.095),
    )
    rootless = each @ np.array(alpha) - (each[:-1] * each[1:]) @ np.array(beta)
    assert rootless == pytest.approx(0.3878, abs=5e-4)  # what faulty public code gives


def test_japanese_benchmark_speech_to_noise() -> None:
    """The levels hold the noise; it is taken out first, or 50 over 48 dB reads 2.0 (published)."""
    with_noise, noise = np.array([50, 45, 42, 40, 36, 36, 30]), np.array([48, 40, 34, 30, 27, 25, 23])
    expected = [-2.33, 3.35, 7.25, 9.54, 8.42, 10.64, 6.03]
    speech = 10 ** (with_noise / 10) - 10 ** (noise / 10)
    m = modulation(speech, 0 * SEVEN, 10 ** (noise / 10), SEVEN)[:, 0]
    assert 10 * np.log10(m / (1 - m)) == pytest.approx(expected, abs=0.01)


def test_japanese_benchmark_threshold() -> None:
    """Speech 45.67, noise 48, threshold 46 dB at 125 Hz: 0.264 (published)."""
    speech, noise = 10**4.567, 10**4.8
    level = np.full(7, 10 * math.log10(speech + noise))
    m = np.full((7, 14), speech / (speech + noise))
    assert heard(m, level)[0, 0] == pytest.approx(0.264, abs=0.002)


def test_masking_slope() -> None:
    """IEC 60268-16 table A.2 (two public copies)."""
    slopes = masking_slope_dB([50, 60, 65, 70, 80, 90, 100])
    assert slopes == pytest.approx([-40, -35, -29.9, -24.8, -19.8, -14.8, -10], abs=0.05)


@pytest.mark.parametrize(("seconds", "index"), REVERBERATION.items())
def test_reverberation_alone(seconds: float, index: float) -> None:
    assert _index(0 * SEVEN, SEVEN, 0 * SEVEN, seconds * SEVEN) == pytest.approx(index, abs=5e-4)


@pytest.mark.parametrize(("snr", "index"), [(-15, 0), (-3, 0.4), (0, 0.5), (7.5, 0.75), (15, 1), (20, 1)])
def test_noise_alone(snr: float, index: float) -> None:
    assert _index(SEVEN, 0 * SEVEN, 10 ** (-snr / 10) * SEVEN, SEVEN) == pytest.approx(index, abs=1e-6)


def test_single_modulations() -> None:
    """m at one frequency, direct absent or equal (computed)."""
    only = modulation(0 * SEVEN, SEVEN, 0 * SEVEN, SEVEN)[0]
    equal = modulation(SEVEN, SEVEN, 0 * SEVEN, SEVEN)[0]
    short = modulation(0 * SEVEN, SEVEN, 0 * SEVEN, 0.5 * SEVEN)[0]
    assert (only[5], equal[5], short[0], short[13]) == pytest.approx(
        (0.7398, 0.8127, 0.9899, 0.3319), abs=2e-4
    )


def test_index_two_metres_away_with_and_without_hearing() -> None:
    d, r, n, t = _room(0, 1, 0.6, 2, NC30)
    m = modulation(d, r, n, t)
    mti = transfer_indices(m)
    assert mti == pytest.approx([0.6862, 0.705, 0.7066, 0.7053, 0.6996, 0.6743, 0.6205], abs=5e-4)
    assert index_of(mti) == pytest.approx(0.6878, abs=5e-4)
    level = np.array(SPEECH_DB) + 10 * np.log10(np.asarray(d) + np.asarray(r) + np.asarray(n))
    assert index_of(transfer_indices(heard(m, level))) == pytest.approx(0.6859, abs=5e-4)


def test_index_of_a_talker_who_turns_round() -> None:
    facing, back = (
        _index(*_room(loss, VOICE_Q_BY_OCTAVE, 0.6, 2, NC30))
        for loss in (
            (-0.15, -1.1, -1.29, 0.87, -0.66, -1.7, -0.77),
            (-1.19, -3.02, -2.22, -1.9, -7.06, -9.99, -14.53),
        )
    )
    assert (facing, back) == pytest.approx((0.6816, 0.6582), abs=1e-3)
    by_table = _index(*_room(loss_dB(voice(), 0, 40)[1:], VOICE_Q_BY_OCTAVE, 0.6, 2, NC30))
    assert by_table == pytest.approx(facing, abs=1e-3)


@pytest.mark.parametrize(
    ("seconds", "metres", "noise", "expected"),
    [
        (0.6, 2, NC30, [4.123, 4.395, 4.423, 4.399, 4.302, 3.968, 3.055]),
        (1.2, 3, NC35, [-0.912, -0.718, -0.705, -0.727, -0.814, -1.113, -1.942]),
    ],
)
def test_early_over_late_with_noise(
    seconds: float, metres: float, noise: np.ndarray, expected: list[float]
) -> None:
    """U50 (Bradley; the formula is from memory)."""
    assert early_over_late_dB(*_room(0, 1, seconds, metres, noise)) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(("seconds", "c50"), [(0.4, 6.65), (0.6, 3.349), (1.0, -0.021), (1.5, -2.329)])
def test_clarity_of_an_even_decay(seconds: float, c50: float) -> None:
    assert early_over_late_dB(0, 1, 0, seconds) == pytest.approx(c50, abs=0.002)


def test_classes_of_iso_9921() -> None:
    """Slides of the standard's convenor, and a second copy (published)."""
    words = [class_of(i) for i in (0.29, 0.31, 0.44, 0.46, 0.59, 0.61, 0.74, 0.76)]
    assert words == ["bad", "poor", "poor", "fair", "fair", "good", "good", "excellent"]
    assert [name for _, name in CLASSES] == ["bad", "poor", "fair", "good", "excellent"]


def test_voice_directivity() -> None:
    """DI straight ahead 1.74 dB(A); 0.86 to 4.3 dB by octave (the two measured sets)."""
    assert 10 * math.log10(VOICE_Q) == pytest.approx(1.74, abs=0.05)
    octaves = [10 * math.log10(q) for q in VOICE_Q_BY_OCTAVE]
    assert octaves == pytest.approx([0.86, 2.01, 1.62, 1.05, 4.12, 4.1, 4.3], abs=0.1)
    assert pytest.approx(1.307, abs=0.002) == VOICE_Q * 10 ** (-0.57 / 10)


@pytest.mark.parametrize(
    ("index_dB", "critical", "ratio"), [(0, 1.0963, -5.222), (6, 2.1875, 0.778), (9, 3.0899, 3.778)]
)
def test_array_index_moves_the_critical_distance(index_dB: float, critical: float, ratio: float) -> None:
    """150 m3, 0.6 s, Q 1.5 (computed)."""
    found = critical_distance_m(150, 0.6, 1.5, index_dB)
    assert found == pytest.approx(critical, abs=5e-4)
    assert to_reverberant_dB(2, found) == pytest.approx(ratio, abs=0.005)


def test_critical_distance_falls_with_reverberation() -> None:
    """Public tools carry sqrt(2VT/c), 1.080 m here, growing with T."""
    assert critical_distance_m(200, 1.0, 1) == pytest.approx(0.8007, abs=0.001)
    assert critical_distance_m(200, 2.0, 1) < critical_distance_m(200, 1.0, 1)


@pytest.mark.parametrize(("index_dB", "factor"), [(3, 1.41254), (6, 1.99526), (12, 3.98107), (20, 10)])
def test_identities_of_the_array_index(index_dB: float, factor: float) -> None:
    more = critical_distance_m(60, 0.5, 1.49, index_dB) / critical_distance_m(60, 0.5, 1.49)
    assert more == pytest.approx(factor, abs=1e-4)


@pytest.mark.parametrize(
    ("speech", "noise", "metres"), [(60, 35, 2.9614), (60, 40, 1.6653), (66, 40, 3.3228)]
)
def test_why_three_metres(speech: float, noise: float, metres: float) -> None:
    assert reach_m(speech, -0.57, noise, 15) == pytest.approx(metres, abs=5e-4)
    assert level_dBA(metres, speech, -0.57) - noise == pytest.approx(15, abs=1e-3)


@pytest.mark.parametrize(("number", "total"), [(25, 35.61), (30, 39.77), (35, 44.23)])
def test_a_noise_curve_is_not_its_number_in_dBA(number: int, total: float) -> None:
    """ANSI/ASA S12.2 curves (ten public copies): about 10 dB over the number."""
    assert a_weighted_dBA(noise_curve_dB("NC", number)) == pytest.approx(total, abs=0.02)


def test_between_tabulated_curves_and_by_the_number_at_a_kilohertz() -> None:
    between = (noise_curve_dB("NC", 30) + noise_curve_dB("NC", 35)) / 2
    assert noise_curve_dB("NC", 32.5) == pytest.approx(between)
    assert noise_curve_dB("RC", 30) == pytest.approx([50, 45, 40, 35, 30, 25, 20, 15])  # from memory
    assert a_weighted_dBA(noise_octaves_dB(38)) == pytest.approx(38)


@pytest.mark.parametrize(("alpha", "shift"), [(0.1, 0.4576), (0.2, 0.9691), (0.3, 1.549)])
def test_room_constant_at_the_textbook_distance(alpha: float, shift: float) -> None:
    """At the critical distance of A the ratio by R reads 10 lg(1/(1 − mean alpha)) over 0."""
    absorption = absorption_m2(150, 0.6)
    by_a = math.sqrt(VOICE_Q * absorption / (16 * math.pi))
    by_r = math.sqrt(VOICE_Q * float(room_constant_m2(absorption, alpha)) / (16 * math.pi))
    assert to_reverberant_dB(by_a, by_r) == pytest.approx(shift, abs=5e-4)


# Image sources, computed with pyroomacoustics 0.10.1: size, alpha of all or (ceiling, rest), slant, direct over
# reverberant sound, and the worst error of ours that is stated (dB); Sabine and Eyring times.
IMAGE_ROOMS = [
    ((6, 4.5, 2.7), 0.25, 1.9788, -7.012, -8.52, -7.27, 0.4244, 0.3688),
    ((6, 4.5, 2.7), 0.15, 1.9788, -9.92, -10.738, -10.033, 0.7073, 0.6528),
    ((9, 6, 3), (0.7, 0.1), 2.7987, -7.713, -8.775, -7.446, 0.5, 0.4307),
]


@pytest.mark.parametrize(("size", "alpha", "slant", "truth", "by_a", "by_r", "sabine", "eyring"), IMAGE_ROOMS)
def test_rooms_of_image_sources(
    size: tuple[float, float, float], alpha: object, slant: float, truth: float, by_a: float, by_r: float,
    sabine: float, eyring: float,
) -> None:  # fmt: skip
    """The room constant is within ±1.3 dB of an independent room, A alone about as far off as it is said to be."""
    x, y, z = size
    volume, surface = x * y * z, 2 * (x * y + x * z + y * z)
    over, rest = alpha if isinstance(alpha, tuple) else (alpha, alpha)
    absorption = float(over) * x * y + float(rest) * (surface - x * y)
    mean = float(mean_alpha(absorption, surface))
    assert absorption_m2(volume, sabine) == pytest.approx(absorption, rel=1e-3)
    assert eyring_s(volume, surface, mean) == pytest.approx(eyring, abs=2e-4)
    textbook = math.sqrt(absorption / (16 * math.pi))
    assert to_reverberant_dB(slant, textbook) == pytest.approx(by_a, abs=0.005)
    better = math.sqrt(float(room_constant_m2(absorption, mean)) / (16 * math.pi))
    ours = float(to_reverberant_dB(slant, better))
    assert ours == pytest.approx(by_r, abs=0.005)
    assert abs(ours - truth) < 1.3
    assert abs(ours - truth) < abs(by_a - truth)


def test_absorption_of_surfaces_and_air() -> None:
    found = absorption_of_m2([10, 20], [[0.5] * 7, [0.1] * 7], 100)
    assert found[0] == pytest.approx(7 + 4 * 0.0001 * 100)
    assert found[6] - found[0] == pytest.approx(4 * 0.0202 * 100)


@pytest.mark.parametrize(("volume", "seconds", "hz"), [(60, 0.4, 163.3), (150, 0.6, 126.49)])
def test_schroeder_frequency(volume: float, seconds: float, hz: float) -> None:
    assert schroeder_hz(volume, seconds) == pytest.approx(hz, abs=0.01)


@pytest.mark.parametrize(
    ("milliseconds", "null", "spacing"), [(0.5, 1000, 2000), (1, 500, 1000), (10, 50, 100)]
)
def test_comb_of_a_millisecond(milliseconds: float, null: float, spacing: float) -> None:
    """Everest & Pohlmann, Master Handbook of Acoustics, pp. 201-202 (published): 1 ms gives 500 and 1000 Hz."""
    found = bounce(0, 0.343 * milliseconds / 2, 1 + 0.343 * milliseconds / 2)
    assert (found.delay_ms, found.first_notch_hz, found.notch_spacing_hz) == pytest.approx(
        (milliseconds, null, spacing)
    )


def test_bounce_off_a_table() -> None:
    """Image source in a rigid plane (computed)."""
    found = bounce(1.5, 0.45, 1.65)
    assert (found.direct_m, found.image_m, found.difference_m) == pytest.approx(
        (1.9209, 2.5807, 0.6598), abs=2e-4
    )
    assert found.delay_ms == pytest.approx(1.9235, abs=0.001)
    assert (found.first_notch_hz, found.notch_spacing_hz) == pytest.approx((259.94, 519.89), abs=0.1)
    levels = (found.reflection_dB, found.deepest_dB, found.highest_dB)
    assert levels == pytest.approx((-2.564, -11.85, 4.83), abs=0.01)
    assert found.point_from_mouth_m == pytest.approx(0.3214, abs=2e-4)
    assert bounce(2.4, 0.45, 1.35).image_m == pytest.approx(3, abs=1e-12)


def test_bounce_off_the_ceiling_and_none_of_a_flush_array() -> None:
    hung = bounce(1.5, 1.5, 0.3)
    assert (hung.difference_m, hung.first_notch_hz) == pytest.approx((0.4221, 406.27), abs=0.1)
    soft = bounce(1.5, 1.5, 0.3, alpha=0.7)
    assert hung.reflection_dB - soft.reflection_dB == pytest.approx(5.23, abs=0.01)
    flush = bounce(1.5, 1.5, 0)
    assert (flush.difference_m, flush.first_notch_hz, flush.deepest_dB) == (0, None, None)


def test_index_never_rises_with_reverberation_in_a_quiet_room_nor_with_noise() -> None:
    """In loud noise a little reverberation helps: it carries speech over the noise. Below it, it never does."""
    for noise in (0, 20, 30):
        by_time = [_index(*_room(0, 1.5, t, 2, noise_octaves_dB(noise))) for t in (0.2, 0.3, 0.6, 1.4, 5, 20)]
        assert by_time == sorted(by_time, reverse=True)
    for seconds in (0.05, 0.6, 20):
        by_noise = [_index(*_room(0, 1.5, seconds, 2, noise_octaves_dB(n))) for n in (0, 20, 40, 60, 80, 120)]
        assert by_noise == sorted(by_noise, reverse=True)
        assert all(math.isfinite(index) for index in by_noise)
