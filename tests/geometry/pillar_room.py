"""What binds arrays in the tests of several: a line that they keep away from, and each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from geometry.band import Band, Floats
from geometry.constraint import Constraint

BANDS = (Band(9, 47, 1, 3), Band(39, 81, 1, 3))


def pillar(at: Floats) -> Floats:
    """Keeps 0.5 m away from a vertical line."""
    return np.asarray(np.hypot(at[:, 0] - 3.0, at[:, 1] - 2.1) - 0.5)


def apart_by(least_m: float) -> Callable[[int, Sequence[Any]], list[Constraint]]:
    """That arrays are so far from each other, centre to centre."""

    def between(kind: int, others: Sequence[Any]) -> list[Constraint]:
        at = np.array([place for _, place in others])
        return [
            Constraint(
                ("apart",),
                lambda here: np.linalg.norm(here[:, None] - at[None], axis=2).min(axis=1) - least_m,
            )
        ]

    return between
