"""The proof that no place is better, as plain data that anybody can check without this program."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from geometry.band import Band, Floats
from geometry.coverage import Legs
from geometry.question import Aim


@dataclass(frozen=True, slots=True, eq=False)
class Certificate:
    """The leaves of a search: cells of one size, one band and one reason together, as plain data.

    groups[i] = {"half_m": [x, y, z], "band": index, "why": reason, "centres_m": [[x, y, z], ...]}, with
    "key": [...] where the reason is "rule"; the leaves of each band tile the box. `mouths_m` are the points
    that must be inside and `keep_m` by how much (the sway), `legs` the straight ways between some of them
    that must be inside as a whole. Reasons: "value" (the value at the centre and the radius reach no
    further than the bound), "ball" (no place in this band can do better than the largest ball it holds),
    "reach" (aim near: nobody can be nearer than the near end of the reach allows), "alone" (some head by
    itself has no more at any distance and height of the box), "margin" (the margin asked for cannot be
    met), "rule" (the constraint of this key cannot be met), "open" (left over at the end, bounded like
    "value").
    """

    aim: Aim
    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]
    need_m: float
    bound: float | None
    best: float | None
    bands: tuple[Band, ...]
    mouths_m: Floats
    keep_m: Floats
    legs: Legs
    groups: tuple[dict[str, Any], ...]

    def as_json(self) -> dict[str, Any]:
        """The certificate as JSON-able data; bound and best in the terms of `Place.value`."""
        return {
            "format": "overtable/certificate/1",
            "aim": self.aim,
            "box_m": {"low": list(self.low_m), "high": list(self.high_m)},
            "need_margin_m": self.need_m if math.isfinite(self.need_m) else None,
            "bound": self.bound,
            "best": self.best,
            "bands": [
                {"low_deg": b.low_deg, "high_deg": b.high_deg, "reach_m": [b.near_m, b.far_m]}
                for b in self.bands
            ],
            "mouths": [
                {"at_m": [float(c) for c in at], "keep_m": float(keep)}
                for at, keep in zip(self.mouths_m, self.keep_m, strict=True)
            ],
            "walks": [
                {"from_m": [*start, z], "to_m": [*end, z], "keep_m": keep}
                for start, end, z, keep in zip(
                    self.legs.from_m.tolist(),
                    self.legs.to_m.tolist(),
                    self.legs.z_m.tolist(),
                    self.legs.keep_m.tolist(),
                    strict=True,
                )
            ],
            "leaves": list(self.groups),
        }
