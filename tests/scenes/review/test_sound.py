"""Sound judged: laws, limits, bad input, and what a wrong implementation would be caught by."""

import math
from typing import Any

import pytest

from scenes.findings.review import Review
from scenes.findings.sound import Sound, SpeechLine
from scenes.review.as_json import as_json
from scenes.review.review import review
from scenes.review.sound import din_range_s
from scenes.room.build import build
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: Echo
units: m
room: {{size: [6, 5], ceiling: 2.8}}
tables: [{{id: T1, shape: rectangle, at: [3, 2.5], size: [2.4, 1.2], height: 0.74}}]
seats: {seats}
profiles:
  rim:
    mount: pendant
    body: {{diameter: 0.4, height: 0.04}}
    bands: {{all: [22, 77]}}
    reach: [0.5, 3.4]
{profile}
arrays: [{{id: A1, profile: rim, at: [3, 2.5], drop: 0.4, band: all}}]
{more}
"""
SEATS = "[{around: T1, pitch: 1.0}]"
QUIET = "acoustics: {noise_dBA: 30, reverberation_s: 0.45}"


def _review(more: str = QUIET, seats: str = SEATS, profile: str = "") -> Review:
    return review(build(read_spec_text(ROOM.format(more=more, seats=seats, profile=profile))))


def _lines(more: str = QUIET, seats: str = SEATS, profile: str = "") -> tuple[SpeechLine, ...]:
    found = _review(more, seats, profile).speech
    assert found is not None
    return found


def _sound(more: str) -> Sound:
    found = _review(more).sound
    assert found is not None
    return found


def _one(facing: str, more: str = QUIET, profile: str = "", at: str = "[1.5, 2.5]") -> SpeechLine:
    return next(one for one in _lines(more, f"[{{id: S1, at: {at}, {facing}}}]", profile) if one.counts)


def test_nothing_is_said_of_a_room_without_acoustics() -> None:
    silent = _review("")
    assert silent.speech is None
    assert silent.sound is None


def test_whoever_turns_their_back_arrives_weaker_and_reverberates_as_before() -> None:
    ahead, side, back = (_one(f"facing: {way}") for way in (0, 90, 180))
    assert ahead.level_dBA > side.level_dBA + 1 > back.level_dBA + 1
    assert [abs(one.azimuth_deg or 0) for one in (ahead, side, back)] == pytest.approx([0, 90, 180])
    reverberant = [one.level_dBA - (one.to_reverberant_dB or 0) for one in (ahead, side, back)]
    assert max(reverberant) - min(reverberant) < 1e-9


def test_azimuth_is_not_mirrored_by_an_array_beside() -> None:
    """The array lies ahead of who faces it, from wherever they sit."""
    for at, facing in (("[3, 0.6]", 90), ("[3, 4.4]", 270), ("[4.6, 2.5]", 180)):
        assert _one(f"facing: {facing}", at=at).azimuth_deg == pytest.approx(0, abs=1e-9)


def test_mirrored_seats_have_the_same_figures() -> None:
    left, right = _one("facing: 60", at="[1.5, 2.5]"), _one("facing: 120", at="[4.5, 2.5]")
    assert left.level_dBA == pytest.approx(right.level_dBA)
    assert left.index == pytest.approx(right.index)
    assert left.azimuth_deg == pytest.approx(-(right.azimuth_deg or 0))


def test_unknown_facing_is_a_range_and_its_weakest_counts() -> None:
    anyhow = _one("mouth: 1.2")
    assert anyhow.facing_deg is None
    assert anyhow.loss_dB is None
    assert anyhow.level_range_dBA is not None
    low, high = anyhow.level_range_dBA
    assert anyhow.level_dBA == low < high
    for way in range(0, 360, 15):
        assert low - 1e-9 <= _one(f"facing: {way}, mouth: 1.2").level_dBA <= high + 1e-9


def test_a_presenter_has_two_facings_and_the_worse_one_counts() -> None:
    both = _lines(QUIET, "[{id: S1, at: [1.5, 2.5], facing: [0, 180]}]")
    assert [(one.facing_deg, one.counts) for one in both] == [(0, False), (180, True)]


def test_head_down_moves_the_array_up_in_the_heads_frame() -> None:
    straight, bent = _one("facing: 0"), _one("facing: 0, head_down: 30")
    assert straight.level_dBA - bent.level_dBA == pytest.approx(0.7, abs=0.25)


def test_directivity_of_the_array_moves_only_the_ratio() -> None:
    without, with_it = _one("facing: 0"), _one("facing: 0", profile="    directivity_dB: 6")
    assert (with_it.to_reverberant_dB or 0) - (without.to_reverberant_dB or 0) == pytest.approx(6)
    assert with_it.index == without.index
    assert with_it.level_dBA == without.level_dBA


def test_at_the_critical_distance_the_ratio_reads_what_the_room_constant_adds() -> None:
    sound, line = _sound(QUIET), _one("facing: 0")
    assert sound.critical_distance_m is not None
    assert sound.mean_alpha is not None
    slant = 10 ** ((60 + (line.loss_dB or 0) - line.level_dBA) / 20)
    there = (
        (line.to_reverberant_dB or 0)
        - (line.loss_dB or 0)
        + 20 * math.log10(slant / sound.critical_distance_m)
    )
    assert there == pytest.approx(10 * math.log10(1 / (1 - sound.mean_alpha)), abs=1e-6)


def test_a_quiet_dry_room_passes_and_a_loud_live_one_is_cautioned_but_never_fails() -> None:
    assert _review().verdict == "pass"
    loud = _review("acoustics: {noise_dBA: 45, reverberation_s: 1.4}")
    assert loud.verdict == "caution"
    assert loud.sound is not None
    assert {one.name for one in loud.sound.advised} == {"reverberation", "noise", "over noise", "index"}
    assert _review("acoustics: {noise_dBA: 120, reverberation_s: 20}").verdict == "caution"


def test_limits_of_the_designers_own_are_reported_and_none_silences_all() -> None:
    loud = "acoustics: {noise_dBA: 38, reverberation_s: 0.45}\ncriteria: "
    assert _review(loud + "{noise: 40}").verdict == "pass"
    assert _review(loud + "{noise: 36}").verdict == "pass"
    assert _review(loud + "{off_centre: 80}").verdict == "caution"
    silent = _sound(loud + "{sound: none}")
    assert silent.advice == ()
    direct = next(
        one
        for one in _sound(QUIET + "\ncriteria: {direct_to_reverberant: 10}").advice
        if one.name == "direct"
    )
    assert (direct.state, direct.met) == ("reported", False)
    assert not any(one.name == "direct" for one in _sound(QUIET).advice)


def test_a_curve_is_not_its_number() -> None:
    assert _sound("acoustics: {noise: NC 30}").noise_dBA == pytest.approx(39.77, abs=0.02)
    assert _sound("acoustics: {noise: [48, 41, 35, 31, 29, 28, 27]}").noise_dBA == pytest.approx(
        39.19, abs=0.02
    )


def test_reach_by_noise_is_why_three_metres() -> None:
    reach = dict(_sound("acoustics: {noise_dBA: 35}").reach_by_noise_m)
    assert reach["normal"] == pytest.approx(2.96, abs=0.005)
    at_forty = dict(_sound("acoustics: {noise_dBA: 40}").reach_by_noise_m)
    assert (at_forty["normal"], at_forty["raised"]) == pytest.approx((1.67, 3.32), abs=0.006)


@pytest.mark.parametrize(
    ("group", "volume", "target"),
    [("A2", 150, 0.6652), ("A2", 300, 0.7765), ("A3", 150, 0.5263), ("A3", 300, 0.6227)],
)
def test_din_18041(group: str, volume: float, target: float) -> None:
    """DIN 18041:2016-03 as quoted in BNB V 2020 criterion 3.1.4; ±20 % by another copy."""
    low, high = din_range_s(group, volume)
    assert (low + high) / 2 == pytest.approx(target, abs=6e-4)
    assert high / low == pytest.approx(1.5)


def test_surfaces_in_place_of_a_time() -> None:
    sound = _sound("acoustics: {surfaces: [{area_m2: 30, alpha: 0.6}, {area_m2: 60, alpha: 0.1}]}")
    assert sound.absorption_m2 == pytest.approx(24 + 4 * 0.0008 * 84, abs=0.05)
    assert "one surface" in sound.validity
    assert sound.eyring_s is not None
    assert sound.reverberation_s is not None
    assert sound.eyring_s < sound.reverberation_s


def test_a_hung_array_has_a_ceiling_bounce_and_a_seat_at_the_table_one_off_it() -> None:
    line = _lines()[0]
    assert line.ceiling_bounce is not None
    assert line.table_bounce is not None
    assert line.table_bounce.off == "T1"
    far = _one("facing: 0", at="[0.4, 0.4]")
    assert far.table_bounce is None


def test_json_has_the_keys_and_finite_numbers_of_extremes() -> None:
    for acoustics in ("{noise_dBA: 120, reverberation_s: 20}", "{noise_dBA: 0, reverberation_s: 0.01}"):
        said: Any = as_json(_review(f"acoustics: {acoustics}"))
        assert {"azimuth_deg", "loss_dB", "q", "index", "index_class", "u50_dB", "bounce"} <= set(
            said["speech"][0]
        )
        assert {"critical_distance_m", "mean_alpha", "reach_by_noise_m", "validity", "advice"} <= set(
            said["sound"]
        )
        for line in said["speech"]:
            numbers = [line[key] for key in ("level_dBA", "to_noise_dB", "to_reverberant_dB", "index")]
            assert all(math.isfinite(one) for one in (*numbers, *line["u50_dB"]))


@pytest.mark.parametrize(
    ("acoustics", "code"),
    [
        ("{noise_dBA: 35, noise: NC 30}", "noise-twice"),
        ("{noise: NC 90}", "noise-curve-range"),
        ("{noise: PNC 30}", "noise-curve"),
        ("{noise: [1, 2, 3]}", "octaves"),
        ("{reverberation_s: [1, 1, 1]}", "octaves"),
        ("{reverberation_s: [1, 1, 0, 1, 1, 1, 1]}", "number-above"),
        ("{directivity: 12}", "number"),
        ("{directivity: even}", "number"),
        ("{reverberation_s: 0.5, surfaces: [{area_m2: 3, alpha: 0.5}]}", "reverberation-twice"),
        ("{surfaces: [{area_m2: 300, alpha: 0.5}]}", "surfaces-too-large"),
        ("{surfaces: [{area_m2: 3, alpha: 1.5}]}", "number"),
    ],
)
def test_bad_acoustics_are_mistakes_with_a_line(acoustics: str, code: str) -> None:
    with pytest.raises(SpecMistakes) as refused:
        _review(f"acoustics: {acoustics}")
    assert [(one.code, one.line) for one in refused.value.mistakes] == [(code, 15)]


@pytest.mark.parametrize(
    ("more", "seats", "profile", "code"),
    [
        ("criteria: {loudness: 3}", SEATS, "", "unknown-key"),
        ("criteria: {index: 2}", SEATS, "", "number"),
        ("", "[{around: T1, head_down: 75}]", "", "number"),
        ("", "[{around: T1, facing: [1, 2, 3]}]", "", "facings"),
        ("", SEATS, "    directivity_dB: 25", "number"),
    ],
)
def test_bad_criteria_heads_and_profiles(more: str, seats: str, profile: str, code: str) -> None:
    with pytest.raises(SpecMistakes) as refused:
        _review(more, seats, profile)
    assert [one.code for one in refused.value.mistakes] == [code]
