"""What a spec's `acoustics` mean: single figures and octaves, whichever of them the file gives."""

from __future__ import annotations

from geometry.records import record
from geometry.speech import (
    VOICE_Q,
    VOICE_Q_BY_OCTAVE,
    a_weighted_dBA,
    noise_curve_dB,
    noise_octaves_dB,
)
from geometry.voice import A_WEIGHTING_DB, SPEECH_DB
from scenes.spec import acoustics as written

_MID = slice(2, 4)
"""500 and 1000 Hz: what a single figure of a reverberation time is of."""


@record(frozen=True, slots=True)
class Acoustics:
    """What the levels are estimated from: vocal effort, background noise, reverberation.

    A time or a noise given in octaves, or by a curve, has its single figure too: the mean of 500 and 1000 Hz, and the
    dB(A) of its octaves. `noise_as` is the curve as written. `absorption_m2` is of surfaces, in place of a time.
    """

    effort: str
    noise_dBA: float | None
    reverberation_s: float | None
    noise_dB: tuple[float, ...] | None = None
    noise_as: str | None = None
    reverberation_by_octave_s: tuple[float, ...] | None = None
    surfaces: tuple[tuple[float, tuple[float, ...]], ...] = ()
    directivity: float = VOICE_Q
    directivity_by_octave: tuple[float, ...] = VOICE_Q_BY_OCTAVE
    use: str = "meeting"
    inclusive: bool = False


def acoustics(given: written.Acoustics) -> Acoustics:
    """The file's acoustics, each of them as one figure and by octave."""
    noise_dBA, noise_dB, noise_as = _noise(given)
    times = given.reverberation_s
    by_octave = times if isinstance(times, tuple) else None if times is None else (times,) * written.OCTAVES
    q = given.directivity
    return Acoustics(
        effort=given.effort,
        noise_dBA=noise_dBA,
        reverberation_s=None if by_octave is None else sum(by_octave[_MID]) / 2,
        noise_dB=noise_dB,
        noise_as=noise_as,
        reverberation_by_octave_s=by_octave,
        surfaces=tuple((one.area_m2, _seven(one.alpha)) for one in given.surfaces),
        directivity=VOICE_Q if q is None else _q_of(q),
        directivity_by_octave=VOICE_Q_BY_OCTAVE if q is None else _seven(q),
        use=given.use,
        inclusive=given.inclusive,
    )


def _noise(given: written.Acoustics) -> tuple[float | None, tuple[float, ...] | None, str | None]:
    """dB(A), octaves and the curve as written: a curve counts with all eight octaves it has."""
    noise = given.noise
    if noise is None:
        level = given.noise_dBA
        return level, None if level is None else tuple(noise_octaves_dB(level).tolist()), None
    if isinstance(noise[0], str):
        name, number = noise[0], float(noise[1])
        curve = noise_curve_dB(name, number)
        return a_weighted_dBA(curve), tuple(curve[1:].tolist()), f"{name} {number:g}"
    octaves = tuple(float(level) for level in noise)
    return a_weighted_dBA(octaves), octaves, None


def _seven(value: float | tuple[float, ...]) -> tuple[float, ...]:
    return value if isinstance(value, tuple) else (value,) * written.OCTAVES


def _q_of(value: float | tuple[float, ...]) -> float:
    """Q for dB(A) of seven: the power of each octave of a voice, by its share of the dB(A) straight ahead."""
    if not isinstance(value, tuple):
        return value
    ahead = [10 ** ((level + weight) / 10) for level, weight in zip(SPEECH_DB, A_WEIGHTING_DB, strict=True)]
    return sum(ahead) / sum(share / q for share, q in zip(ahead, value, strict=True))
