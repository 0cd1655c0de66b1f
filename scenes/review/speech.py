"""Speech of each head at the array that serves it, where the spec tells how loud they speak."""

from __future__ import annotations

from collections.abc import Mapping

from geometry.band import slant_m
from geometry.speech import EFFORT_DBA, critical_distance_m, level_dBA, to_reverberant_dB
from scenes.findings.review import SpeechLine
from scenes.room.scene import Scene


def speech(scene: Scene, serving: Mapping[str, str]) -> tuple[SpeechLine, ...] | None:
    """Level, level over the noise, direct over reverberant sound for every head; None without acoustics.

    `serving` maps heads to the arrays that serve them. The level is for the stated vocal effort from the
    middle of the mouth range; over the noise is None without a noise, over the reverberant sound None
    without a reverberation time. The room's volume is floor to finished ceiling.
    """
    if scene.acoustics is None:
        return None
    told = scene.acoustics
    critical = (
        None
        if told.reverberation_s is None
        else critical_distance_m(scene.room.volume_m3, told.reverberation_s, told.directivity)
    )
    lines = []
    for head in scene.heads:
        array = scene.array(serving[head.id])
        distance = slant_m(array.centre_m, head.middle_m)
        level = float(level_dBA(distance, EFFORT_DBA[told.effort]))
        lines.append(
            SpeechLine(
                head=head.id,
                array=array.id,
                level_dBA=level,
                to_noise_dB=None if told.noise_dBA is None else level - told.noise_dBA,
                to_reverberant_dB=None if critical is None else float(to_reverberant_dB(distance, critical)),
            )
        )
    return tuple(lines)
