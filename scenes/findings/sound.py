"""Sound as it reaches the arrays: a line for each talker and way of facing, the room's figures, advice. Records only.

Figures are of the sound at the array's place, before any processing in the array.
"""

from __future__ import annotations

from typing import Literal, get_args

from geometry.bounce import Bounce
from geometry.index import IndexClass
from geometry.records import record
from scenes.findings.names import Id, Quoted

AdviceName = Literal["reverberation", "noise", "over noise", "index", "direct", "reach"]

AdviceState = Literal["clear", "advised", "reported"]
"""reported: of a limit of the designer's own, or of one that nobody published: never a caution."""

Sure = Literal["copy", "seen", "own", "computed"]
"""How sure a need is: read in a copy of its source, or there; the designer's own; computed for this room."""

Validity = Literal[
    "speech given", "before processing", "low frequencies", "very absorbent", "one surface", "near a mouth",
    "open ceiling", "ceiling parts", "noise spectrum", "below measured", "no array index", "facing unknown",
    "between curves",
]  # fmt: skip
VALIDITY: tuple[Validity, ...] = get_args(Validity)


@record(frozen=True, slots=True)
class OffPlane:
    """The bounce off a table top, with the table it lies on, or off the ceiling (`off` None), taken as rigid."""

    off: Id | None
    bounce: Bounce


@record(frozen=True, slots=True)
class SpeechLine:
    """Speech of one head at the array that serves it, for the stated vocal effort and one way of facing.

    Of somebody who turns there is a line for each way; `counts` is the one that counts, the weakest. Where nobody knows
    which way somebody looks, facing, azimuth and loss are None, level and all that follows are of the weakest way, and
    `level_range_dBA` holds all of them.
    """

    head: Id
    array: Id
    level_dBA: float
    to_noise_dB: float | None
    to_reverberant_dB: float | None
    facing_deg: float | None = None
    counts: bool = True
    azimuth_deg: float | None = None
    elevation_deg: float = 0.0
    loss_dB: float | None = None
    level_range_dBA: tuple[float, float] | None = None
    q: float | None = None
    index: float | None = None
    index_class: IndexClass | None = None
    u50_dB: tuple[float, ...] | None = None
    table_bounce: OffPlane | None = None
    ceiling_bounce: OffPlane | None = None


@record(frozen=True, slots=True)
class Advice:
    """One figure beside what is advised for it; `heads` are those that fall short, of a figure of theirs.

    `need` is the least, or the most, or both ends; `have` the worst. `source` is what the need is from.
    """

    name: AdviceName
    need: tuple[float | None, float | None]
    have: float
    unit: Id
    state: AdviceState
    source: Quoted
    sureness: Sure
    heads: tuple[Id, ...] = ()
    array: Id | None = None

    @property
    def met(self) -> bool:
        """Whether what there is lies in what is advised."""
        low, high = self.need
        return (low is None or self.have >= low - 1e-9) and (high is None or self.have <= high + 1e-9)


@record(frozen=True, slots=True)
class Sound:
    """The room's figures: what the reverberant field is made of, how far each effort reaches, and the advice.

    `critical_distance_m` is the textbook's, straight ahead, with the absorption area and no array index; ratios per
    talker use the room constant.
    """

    effort: Id
    noise_dBA: float | None
    reverberation_s: float | None
    volume_m3: float
    critical_distance_m: float | None
    mean_alpha: float | None
    absorption_m2: float | None
    eyring_s: float | None
    schroeder_hz: float | None
    reach_by_noise_m: tuple[tuple[Id, float], ...]
    """By vocal effort: how far a voice that faces its array stands as far over the noise as advised."""
    validity: tuple[Validity, ...]
    advice: tuple[Advice, ...]

    @property
    def advised(self) -> tuple[Advice, ...]:
        """What falls short of what is advised."""
        return tuple(one for one in self.advice if one.state == "advised")
