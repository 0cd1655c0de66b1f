"""Sound in words: the line, what is advised, what the designer asked for, and that it is said where it holds."""

import pytest

from scenes.findings.review import Review
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from viz.words import sound, verdict
from viz.words.locale import Locale

ROOM = """\
overtable: 1
name: Echo
units: {units}
room: {{size: [6 m, 5 m], ceiling: 2.8 m}}
tables: [{{id: T1, shape: rectangle, at: [3 m, 2.5 m], size: [2.4 m, 1.2 m]}}]
seats: [{{around: T1, count: 4}}]
standing: [{{id: P, at: [1.4 m, 1.4 m]}}]
profiles:
  rim: {{mount: pendant, body: {{diameter: 0.4 m, height: 0.04 m}}, bands: {{all: [12, 80]}}, reach: [0.3 m, 3.4 m]}}
arrays: [{{id: A1, profile: rim, at: [3 m, 2.5 m], drop: 0.4 m, band: all}}]
{more}
"""
LIVE = "acoustics: {noise_dBA: 45, reverberation_s: 1.4}"


def judged(more: str, units: str = "m") -> Review:
    return review(build(read_spec_text(ROOM.format(more=more, units=units))))


@pytest.fixture(scope="module")
def live() -> Review:
    return judged(LIVE)


def test_a_line_from_the_least_to_the_greatest_with_the_weakest_index(live: Review) -> None:
    said = sound.line(live)
    assert said is not None
    assert said.startswith("Sound, before any processing in the array: 5")
    assert "dB over the noise, index about 0.5" in said
    assert said.endswith("fair.")


def test_without_acoustics_only_what_to_give() -> None:
    silent = judged("")
    assert sound.line(silent) == (
        "Sound: not estimated. Give the file acoustics, for example "
        "acoustics: {noise_dBA: 35, reverberation_s: 0.5}."
    )
    assert sound.rows(silent) == sound.sentences(silent) == sound.rests_on(silent) == ()


def test_what_is_advised_stands_in_the_verdict_with_its_source(live: Review) -> None:
    said = " ".join(verdict.whole(live))
    assert "Reverberation of 1.4 s is long for 84 m³: DIN 18041/A3 advises 0.36 to 0.53 s." in said
    assert "Noise of 45 dB(A) is above the 35 dB(A) that ANSI/ASA S12.60 advises." in said
    assert "dB over the noise; ASHA 1995 advises 15 dB." in said
    assert "ISO 9921:2003 calls 0.60 and more good." in said
    assert "ft³" in " ".join(sound.sentences(judged(LIVE, "ft")))


def test_whoever_may_look_any_way_has_a_range(live: Review) -> None:
    row = next(row for row in sound.rows(live) if row.head == "P")
    assert (row.faces, row.loss) == ("any", "–")
    assert " to " in row.level
    assert "Where nobody knows which way somebody looks" in " ".join(sound.rests_on(live))


def test_the_index_is_nowhere_without_what_it_describes(live: Review) -> None:
    assert "before any processing, as a listener there would judge it" in sound.rests_on(live)[0]


def test_limits_of_the_designers_own_are_said_beside_what_there_is() -> None:
    own = judged(LIVE + "\ncriteria: {noise: 40, over_noise: 9, index: 0.4, direct_to_reverberant: -20}")
    assert own.sound is not None
    said = sound.own_limits(own.sound, Locale("m"))
    assert said[0] == "Noise of 45.0 dB(A) against your limit of 40.0 dB(A)."
    assert "direct over reverberant sound" in said[3]
    assert "its data sheet says 3.40 m" in said[4]
    assert any("16π" in one for one in sound.formulas(own.sound, Locale("m")))


def test_the_strongest_reflections_are_said_with_their_notch(live: Review) -> None:
    ceiling, table = sound.bounces(live)
    assert ceiling.startswith("Ceiling reflection, strongest at A1 for ")
    assert table.startswith("Reflection off T1, strongest for T1-")
    assert "first notch" in ceiling
