"""Speech of each head at the array that serves it, where the spec tells how loud they speak."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from scenes.findings.sound import SpeechLine
from scenes.room.scene import Scene

Floats = NDArray[np.float64]


def speech(scene: Scene, serving: Mapping[str, str]) -> tuple[SpeechLine, ...] | None:
    """Level by direction, over the noise and over the reverberant sound, and the speech index, for every head and every
    way it faces; None without acoustics.

    `serving` maps heads to the arrays that serve them. All is for the stated vocal effort from the middle of the mouth
    range. What the spec does not give (noise, reverberation) leaves None where it is needed.
    """
    if scene.acoustics is None:
        return None
    from scenes.review.bounces import ceiling_bounce, table_bounce
    from scenes.review.ear import ear_of

    ear = ear_of(scene, scene.acoustics)
    arrays = {array.id: array for array in scene.arrays}
    served = [arrays[serving[scene.heads[i].id]] for i in ear.head]
    heard = ear.hears(
        np.array([array.centre_m for array in served]),
        np.array([array.profile.directivity_dB or 0.0 for array in served]),
    )
    counting = ear.counting(heard.level_dBA)
    lines = []
    for k, array in enumerate(served):
        head = scene.heads[ear.head[k]]
        known = ear.facing_deg[k]
        lines.append(
            SpeechLine(
                head=head.id,
                array=array.id,
                level_dBA=float(heard.level_dBA[k]),
                to_noise_dB=_one(heard.to_noise_dB, k),
                to_reverberant_dB=_one(heard.to_reverberant_dB, k),
                facing_deg=known,
                counts=k in counting,
                azimuth_deg=None if known is None else float(heard.azimuth_deg[k]),
                elevation_deg=float(heard.elevation_deg[k]),
                loss_dB=None if known is None else float(heard.loss_dB[k, 0]),
                level_range_dBA=(float(heard.level_dBA[k]), float(heard.strongest_dBA[k])),
                q=None if known is None else float(ear.directivity * 10 ** (heard.loss_dB[k, 0] / 10)),
                index=_one(heard.index, k),
                index_class=None if heard.index is None else ear.class_of(float(heard.index[k])),
                u50_dB=None if heard.u50_dB is None else tuple(heard.u50_dB[k].tolist()),
                table_bounce=table_bounce(scene, head, array),
                ceiling_bounce=ceiling_bounce(scene, head, array),
            )
        )
    return tuple(lines)


def _one(of: Floats | None, k: int) -> float | None:
    return None if of is None else float(of[k])
