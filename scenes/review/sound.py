"""The room's sound judged: what is advised for it and for its talkers. Advice cautions, and never fails a room.

Limits and where they are from: reverberation DIN 18041:2016-03 (as quoted in BNB 3.1.4), group A3, A4 or A2, ±20 %;
noise 35 dB(A) of ANSI/ASA S12.60; speech 15 dB(A) over the noise of ASHA 1995; the speech index "good" of ISO 9921. For
direct over reverberant sound nobody has published a limit: there is one only where the designer gives it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from geometry.speech import EFFORT_DBA, critical_distance_m, eyring_s, reach_m, schroeder_hz
from geometry.voice import below_measured, loss_dB
from scenes.findings.sound import Advice, AdviceName, AdviceState, Sound, SpeechLine, Sure, Validity
from scenes.review.ear import Field, ear_of, field_of
from scenes.room.acoustics import Acoustics
from scenes.room.scene import Array, Scene
from scenes.room.voice import voice

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOST_NOISE_DBA: Final = 35.0
LEAST_OVER_NOISE_DB: Final = 15.0
LEAST_INDEX: Final = 0.60
DIN: Final = "DIN 18041"
DIN_GROUPS: Final = {"A2": (0.37, 0.14), "A3": (0.32, 0.17), "A4": (0.26, 0.14)}
"""T = a lg V − b, by group of DIN 18041."""
DIN_SPREAD: Final = 0.2
SURE_ALPHA: Final = 0.4
NEAR_M: Final = 0.3
USUAL_ELEVATION_DEG: Final = 40.0
"""What a reach by noise is told for: the array looks down on a talker who faces it at this angle."""


def din_group(told: Acoustics) -> str:
    """The group of DIN 18041 for the use of a room."""
    if told.inclusive:
        return "A4"
    return "A2" if told.use == "lecture" else "A3"


def din_range_s(group: str, volume_m3: float) -> tuple[float, float]:
    """Least and most reverberation time that DIN 18041 advises for a volume."""
    factor, less = DIN_GROUPS[group]
    target = max(factor * math.log10(volume_m3) - less, 0.0)
    return target * (1 - DIN_SPREAD), target * (1 + DIN_SPREAD)


def sound_of(scene: Scene, lines: Sequence[SpeechLine] | None) -> Sound | None:
    """The room's figures, the advice and where they hold; None without acoustics."""
    told = scene.acoustics
    if told is None or lines is None:
        return None
    field, volume = field_of(scene, told), scene.room.volume_m3
    seconds = None if field is None else field.reverberation_s
    return Sound(
        effort=told.effort,
        noise_dBA=told.noise_dBA,
        reverberation_s=seconds,
        volume_m3=volume,
        critical_distance_m=None
        if seconds is None
        else critical_distance_m(volume, seconds, told.directivity),
        mean_alpha=None if field is None else field.mean_alpha,
        absorption_m2=None if field is None else field.absorption_m2,
        eyring_s=None if field is None else eyring_s(volume, scene.room.surface_m2, field.mean_alpha),
        schroeder_hz=None if seconds is None else schroeder_hz(volume, seconds),
        reach_by_noise_m=() if told.noise_dBA is None else _reaches(scene, told.noise_dBA),
        validity=_validity(scene, told, field, lines),
        advice=_advice(scene, told, field, [line for line in lines if line.counts]),
    )


def advised_at(
    scene: Scene, array: Array, heights_m: NDArray[np.float64], served_by: NDArray[np.intp]
) -> tuple[tuple[Advice, ...], ...]:
    """What advice about sound is not kept with the array at each height; `served_by` (heights, heads) are indices of
    the arrays that serve."""
    told = scene.acoustics
    if told is None or not scene.criteria.sound or not scene.heads:
        return ((),) * len(heights_m)
    ear, of_room = ear_of(scene, told), _of_room(scene, told, field_of(scene, told))
    served = np.asarray(served_by)[:, list(ear.head)]
    centres = np.array([one.centre_m for one in scene.arrays], float)[served]
    moved = served == scene.arrays.index(array)
    centres[..., 2] = np.where(moved, np.asarray(heights_m)[:, None], centres[..., 2])
    heard = ear.hears(centres)
    found = []
    for k in range(len(heights_m)):
        lines = [
            SpeechLine(
                scene.heads[ear.head[i]].id,
                array.id,
                float(heard.level_dBA[k, i]),
                None if heard.to_noise_dB is None else float(heard.to_noise_dB[k, i]),
                None,
                index=None if heard.index is None else float(heard.index[k, i]),
            )
            for i in sorted(ear.counting(heard.level_dBA[k]))
        ]
        every = (*of_room, *_of_talkers(scene, lines))
        found.append(tuple(one for one in every if one.state == "advised"))
    return tuple(found)


def _advice(
    scene: Scene, told: Acoustics, field: Field | None, lines: Sequence[SpeechLine]
) -> tuple[Advice, ...]:
    if not scene.criteria.sound:
        return ()
    return (*_of_room(scene, told, field), *_of_talkers(scene, lines), *_of_reach(scene, told))


def _state(mine: bool, kept: bool) -> AdviceState:
    """A limit of the designer's own is reported; one of overtable's cautions where it is not kept."""
    return "reported" if mine else "clear" if kept else "advised"


def _of_room(scene: Scene, told: Acoustics, field: Field | None) -> list[Advice]:
    found = []
    if field is not None:
        group = din_group(told)
        need, have = din_range_s(group, scene.room.volume_m3), field.reverberation_s
        state = _state(False, need[0] - 1e-9 <= have <= need[1] + 1e-9)
        source = f"{DIN}/{group}"
        found.append(Advice("reverberation", need, have, "s", state, source, "copy"))
    if told.noise_dBA is not None:
        own, have = scene.criteria.noise_dBA, told.noise_dBA
        most, mine = (MOST_NOISE_DBA, False) if own is None else (own, True)
        state, source, sure = _state(mine, have <= most + 1e-9), *_from(mine, "ANSI/ASA S12.60", "copy")
        found.append(Advice("noise", (None, most), have, "dB(A)", state, source, sure))
    return found


def _from(mine: bool, source: str, sure: Sure) -> tuple[str, Sure]:
    return ("", "own") if mine else (source, sure)


def _of_talkers(scene: Scene, lines: Sequence[SpeechLine]) -> list[Advice]:
    """Advice about what arrives of each talker, told by the worst of them."""
    own = scene.criteria
    asked: list[tuple[AdviceName, Callable[[SpeechLine], float | None], float | None, float | None, str, str, Sure]] = [
        ("over noise", lambda line: line.to_noise_dB, own.over_noise_dB, LEAST_OVER_NOISE_DB, "dB", "ASHA 1995", "seen"),
        ("index", _index_shown, own.index, LEAST_INDEX, "", "ISO 9921:2003", "copy"),
        ("direct", lambda line: line.to_reverberant_dB, own.direct_to_reverberant_dB, None, "dB", "", "own"),
    ]  # fmt: skip
    found = []
    for name, figure, wanted, usual, unit, source, sure in asked:
        need = usual if wanted is None else wanted
        have = [(value, line.head) for line in lines if (value := figure(line)) is not None]
        if need is None or not have:
            continue
        low = tuple(head for value, head in have if value < need - 1e-9)
        mine = wanted is not None
        least, told = min(value for value, _ in have), _from(mine, source, sure)
        found.append(Advice(name, (need, None), least, unit, _state(mine, not low), *told, low))
    return found


def _index_shown(line: SpeechLine) -> float | None:
    """The index as it is printed: what is shown as 0.60 is not under it."""
    return None if line.index is None else round(line.index, 2)


def _of_reach(scene: Scene, told: Acoustics) -> list[Advice]:
    """The reach of each kind of array beside what the noise allows: reported, since a data sheet speaks of another
    room."""
    if told.noise_dBA is None:
        return []
    reach = dict(_reaches(scene, told.noise_dBA))[told.effort]
    kinds = {array.profile.name: array for array in reversed(scene.arrays)}
    return [
        Advice(
            "reach",
            (array.profile.reach_m[1], None),
            reach,
            "m",
            "reported",
            name,
            "computed",
            array=array.id,
        )
        for name, array in reversed(kinds.items())
    ]


def _reaches(scene: Scene, noise_dBA: float) -> tuple[tuple[str, float], ...]:
    """By effort, how far a voice reaches that faces an array overhead."""
    own = scene.criteria.over_noise_dB
    wanted = LEAST_OVER_NOISE_DB if own is None else own
    loss = float(loss_dB(voice(), 0.0, USUAL_ELEVATION_DEG)[0])
    return tuple((effort, reach_m(level, loss, noise_dBA, wanted)) for effort, level in EFFORT_DBA.items())


def _validity(
    scene: Scene, told: Acoustics, field: Field | None, lines: Sequence[SpeechLine]
) -> tuple[Validity, ...]:
    """What the figures do not hold for, or what was taken where the file says nothing."""
    room = scene.room
    kinds = {room.ceiling_kind, *(part.kind for part in room.parts)}
    arrays = {array.id: array for array in scene.arrays}
    one = _one_surface(told)
    holds: dict[Validity, bool] = {
        "before processing": True,
        "speech given": True,
        "low frequencies": field is not None,
        "very absorbent": field is not None and field.mean_alpha > SURE_ALPHA,
        "one surface": one,
        "near a mouth": any(
            math.dist(arrays[line.array].centre_m, scene.head(line.head).middle_m) < NEAR_M for line in lines
        ),
        "open ceiling": "open" in kinds,
        "ceiling parts": bool(room.parts),
        "noise spectrum": told.noise_dBA is not None and told.noise_as is None,
        "between curves": told.noise_as is not None and float(told.noise_as.split()[1]) % 5 != 0,
        "below measured": any(_below(scene, line) for line in lines),
        "no array index": field is not None
        and any(array.profile.directivity_dB is None for array in scene.arrays),
        "facing unknown": any(line.facing_deg is None for line in lines),
    }
    return tuple(name for name, is_so in holds.items() if is_so)


def _one_surface(told: Acoustics) -> bool:
    """Whether one surface holds over half of what absorbs, at 500 and 1000 Hz."""
    of_each = [area * sum(alpha[2:4]) / 2 for area, alpha in told.surfaces]
    return bool(of_each) and max(of_each) > sum(of_each) / 2 and len(of_each) > 1


def _below(scene: Scene, line: SpeechLine) -> bool:
    down = scene.head(line.head).head_down_deg
    return line.azimuth_deg is not None and bool(
        below_measured(voice(), line.azimuth_deg, line.elevation_deg, down)
    )
