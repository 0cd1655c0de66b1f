"""All talkers heard at once, from one place each or from many: what levels, ratios and the index are computed by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.index import IndexClass, class_of, early_over_late_dB, index_of, modulation, transfer_indices
from geometry.records import record
from geometry.speech import (
    EFFORT_DBA,
    NEAREST_M,
    SABINE_S_M,
    absorption_of_m2,
    level_dBA,
    mean_alpha,
    reverberant_energy,
    room_constant_m2,
)
from geometry.voice import SPEECH_DB, Voice, loss_dB, towards
from scenes.room.acoustics import Acoustics
from scenes.room.scene import Scene
from scenes.room.voice import voice

Floats = NDArray[np.float64]

ALL_ROUND = np.arange(0.0, 181.0, 15.0)
"""Azimuths asked of whoever may look any way: those of the table; both sides are alike."""


@record(frozen=True, eq=False)
class Field:
    """The room's reverberant field: absorption, mean alpha, time; as one figure (500 and 1000 Hz) and by octave."""

    absorption_m2: float
    mean_alpha: float
    reverberation_s: float
    absorption_by_octave_m2: Floats
    alpha_by_octave: Floats
    reverberation_by_octave_s: Floats

    @property
    def constant_m2(self) -> float:
        """The room constant."""
        return float(room_constant_m2(self.absorption_m2, self.mean_alpha))


def field_of(scene: Scene, told: Acoustics) -> Field | None:
    """The reverberant field by the time or the surfaces that the file gives; None where it gives neither."""
    volume, surface = scene.room.volume_m3, scene.room.surface_m2
    if told.surfaces:
        areas, alphas = zip(*told.surfaces, strict=True)
        absorption = absorption_of_m2(areas, alphas, volume)
        absorption = np.maximum(absorption, SABINE_S_M * volume / LONGEST_S)
    elif told.reverberation_by_octave_s is not None:
        absorption = SABINE_S_M * volume / np.array(told.reverberation_by_octave_s)
    elif told.reverberation_s is not None:
        absorption = np.full(len(SPEECH_DB), SABINE_S_M * volume / told.reverberation_s)
    else:
        return None
    times = SABINE_S_M * volume / absorption
    middle = float(times[2:4].mean())
    one = SABINE_S_M * volume / middle
    return Field(
        absorption_m2=one,
        mean_alpha=float(mean_alpha(one, surface)),
        reverberation_s=middle,
        absorption_by_octave_m2=absorption,
        alpha_by_octave=mean_alpha(absorption, surface),
        reverberation_by_octave_s=times,
    )


LONGEST_S = 20.0
"""A time longer than a file may give comes of surfaces that absorb next to nothing; it is held here."""


@record(frozen=True, eq=False)
class Heard:
    """What arrives, line by line, any number of places in front: (…, lines), by octave (…, lines, 7)."""

    azimuth_deg: Floats
    elevation_deg: Floats
    loss_dB: Floats
    level_dBA: Floats
    strongest_dBA: Floats
    to_noise_dB: Floats | None
    to_reverberant_dB: Floats | None
    index: Floats | None
    u50_dB: Floats | None


@record(frozen=True, eq=False)
class Ear:
    """A line for each way that each head faces; one, for all ways, where nobody knows."""

    head: tuple[int, ...]
    mouth_m: Floats
    facing_deg: tuple[float | None, ...]
    head_down_deg: Floats
    effort_dBA: float
    noise_dBA: float | None
    noise_dB: Floats | None
    directivity: float
    directivity_by_octave: Floats
    field: Field | None
    voice: Voice

    def hears(self, centres_m: Floats, index_dB: Floats | float = 0.0) -> Heard:
        """All lines at places (…, lines, 3); `index_dB` (…, lines) is how far each array favours direct sound."""
        way = np.asarray(centres_m, float) - self.mouth_m
        far = np.maximum(np.linalg.norm(way, axis=-1), NEAREST_M)
        known = np.array([one is not None for one in self.facing_deg])
        facing = np.array([one or 0.0 for one in self.facing_deg])
        azimuth, elevation = towards(self.mouth_m, centres_m, facing)
        loss = loss_dB(self.voice, azimuth, elevation, self.head_down_deg)
        strongest = loss[..., 0].copy()
        if not known.all():
            some = ~known
            every = loss_dB(
                self.voice, ALL_ROUND, elevation[..., some, None], self.head_down_deg[some][:, None]
            )
            least = every[..., 0].argmin(-1)
            loss[..., some, :] = np.take_along_axis(every, least[..., None, None], -2)[..., 0, :]
            strongest[..., some] = every[..., 0].max(-1)
        level = level_dBA(far, self.effort_dBA, loss[..., 0])
        return Heard(
            azimuth_deg=azimuth,
            elevation_deg=elevation,
            loss_dB=loss,
            level_dBA=level,
            strongest_dBA=level_dBA(far, self.effort_dBA, strongest),
            to_noise_dB=None if self.noise_dBA is None else level - self.noise_dBA,
            to_reverberant_dB=self._to_reverberant(loss[..., 0], far, index_dB),
            index=self._index(loss[..., 1:], far),
            u50_dB=self._u50(loss[..., 1:], far),
        )

    def counting(self, levels_dBA: Floats) -> set[int]:
        """Of each head the line that counts: the weakest."""
        weakest: dict[int, int] = {}
        for k, head in enumerate(self.head):
            if head not in weakest or levels_dBA[k] < levels_dBA[weakest[head]]:
                weakest[head] = k
        return set(weakest.values())

    @staticmethod
    def class_of(index: float) -> IndexClass:
        """The word for an index as it is printed: of two digits."""
        return class_of(round(index, 2))

    def _to_reverberant(self, loss: Floats, far: Floats, index_dB: Floats | float) -> Floats | None:
        if self.field is None:
            return None
        field = reverberant_energy(self.field.constant_m2, self.directivity)
        return np.asarray(loss - 20 * np.log10(far) - 10 * np.log10(field) + index_dB)

    def _index(self, loss: Floats, far: Floats) -> Floats | None:
        if self.field is None or self.noise_dB is None:
            return None
        return index_of(transfer_indices(modulation(*self._energies(self.field, self.noise_dB, loss, far))))

    def _u50(self, loss: Floats, far: Floats) -> Floats | None:
        if self.field is None or self.noise_dB is None:
            return None
        return early_over_late_dB(*self._energies(self.field, self.noise_dB, loss, far))

    def _energies(
        self, field: Field, noise_dB: Floats, loss: Floats, far: Floats
    ) -> tuple[Floats, Floats, Floats, Floats]:
        """Direct sound, reverberant sound and noise by octave, over the direct sound at 1 m straight ahead; times."""
        constants = room_constant_m2(field.absorption_by_octave_m2, field.alpha_by_octave)
        spectrum = np.array(SPEECH_DB) + self.effort_dBA - EFFORT_DBA["normal"]
        return (
            10 ** (loss / 10) / far[..., None] ** 2,
            reverberant_energy(constants, self.directivity_by_octave),
            10 ** ((noise_dB - spectrum) / 10),
            field.reverberation_by_octave_s,
        )


def ear_of(scene: Scene, told: Acoustics) -> Ear:
    """The lines of all heads of a scene."""
    lines = [
        (i, head, facing) for i, head in enumerate(scene.heads) for facing in (head.facings_deg or (None,))
    ]
    return Ear(
        head=tuple(i for i, _, _ in lines),
        mouth_m=np.array([head.middle_m for _, head, _ in lines], float).reshape(-1, 3),
        facing_deg=tuple(facing for _, _, facing in lines),
        head_down_deg=np.array([head.head_down_deg for _, head, _ in lines], float),
        effort_dBA=EFFORT_DBA[told.effort],
        noise_dBA=told.noise_dBA,
        noise_dB=_noise(told),
        directivity=told.directivity,
        directivity_by_octave=np.array(told.directivity_by_octave, float),
        field=field_of(scene, told),
        voice=voice(),
    )


def _noise(told: Acoustics) -> Floats | None:
    if told.noise_dB is not None:
        return np.array(told.noise_dB, float)
    if told.noise_dBA is None:
        return None
    from geometry.speech import noise_octaves_dB

    return noise_octaves_dB(told.noise_dBA)
