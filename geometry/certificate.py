"""The proof that no place is better, as plain data that anybody can check without this program."""

from __future__ import annotations

import math
from typing import Any

from geometry.aims import AimName
from geometry.band import Floats
from geometry.hearing import Hearing
from geometry.records import record
from geometry.shapes import Blocker, Box, Cylinder


@record(frozen=True, slots=True, eq=False)
class Certificate:
    """The leaves of a search: cells of one size, one band and one reason together, as plain data.

    groups[i] = {"half_m": [x, y, z], "band": index, "why": reason, "centres_m": [[x, y, z], ...]}, with
    "key": [...] where the reason is about one thing; the leaves of each band tile the box. `bound` and
    `best` are scores, of which the larger is better: of the aim `near` minus the worst slant, of `centre`
    minus the RMS off-centre, of `most` the weight covered times `rank_m` plus the margin among those
    covered. `hearing` has the mouths that must be inside and by how much (the sway), and the straight
    ways between some of them that must be inside as a whole. Reasons:

    value   the score at the centre and the radius reach no further than the bound
    ball    no place in this band can do better than the largest ball it holds
    reach   aim near: nobody can be nearer than the near end of the reach allows
    alone   some head by itself has no more at any distance and height of the box
    margin  the margin asked for cannot be met
    rule    the constraint of this key cannot be met
    sight   the solid of this place in the list hides some head from all of the cell
    spare   aim tolerance: what is left of the rule or solid of this key reaches no further than the bound
    slim    aim most: nothing in the cell has more than `slim_m` left of the rule of this key
    open    left over at the end, bounded like "value"

    `caps_m` (heads, bands) are the largest margins heads have anywhere: the aim `most` takes no more.
    """

    aim: AimName
    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]
    need_m: float
    spare_m: float
    slim_m: float
    rank_m: float
    bound: float | None
    best: float | None
    hearing: Hearing
    caps_m: Floats
    solids: tuple[Blocker, ...]
    groups: tuple[dict[str, Any], ...]

    def as_json(self) -> dict[str, Any]:
        """The certificate as JSON-able data."""
        heads = self.hearing.heads
        _, _, whose = heads.ends()
        return {
            "format": "overtable/certificate/1",
            "aim": self.aim,
            "box_m": {"low": list(self.low_m), "high": list(self.high_m)},
            "need_margin_m": self.need_m if math.isfinite(self.need_m) else None,
            "keep_spare_m": self.spare_m,
            "slim_m": self.slim_m,
            "rank_m": self.rank_m,
            "bound": self.bound,
            "best": self.best,
            "bands": [
                {"low_deg": b.low_deg, "high_deg": b.high_deg, "reach_m": [b.near_m, b.far_m]}
                for b in self.hearing.bands
            ],
            "mouths": [
                {"at_m": at, "keep_m": keep, "head": head}
                for at, keep, head in zip(
                    self.hearing.points.tolist(),
                    self.hearing.demand.tolist(),
                    sorted(whose.tolist()),
                    strict=True,
                )
            ],
            "walks": self._walks(),
            "heads": [
                {"person": person, "weight": weight, "caps_m": caps, "furnishing": furnishing}
                for person, weight, caps, furnishing in zip(
                    heads.person.tolist(),
                    heads.weight.tolist(),
                    self.caps_m.tolist(),
                    heads.furnishing.tolist(),
                    strict=True,
                )
            ],
            "solids": [_solid_json(solid) for solid in self.solids],
            "leaves": list(self.groups),
        }

    def _walks(self) -> list[dict[str, Any]]:
        legs = self.hearing.legs
        return [
            {"from_m": [*start, z], "to_m": [*end, z], "keep_m": keep, "head": head}
            for start, end, z, keep, head in zip(
                legs.from_m.tolist(),
                legs.to_m.tolist(),
                legs.z_m.tolist(),
                legs.keep_m.tolist(),
                legs.head.tolist(),
                strict=True,
            )
        ]


def _solid_json(solid: Blocker) -> dict[str, Any]:
    """An upright solid: its outline on plan, or middle and radius of a round one, and its ends."""
    ends = {"low_m": solid.low_m, "high_m": solid.high_m, "only_in": solid.only}
    if isinstance(solid, Cylinder):
        return {"middle_m": list(solid.middle_m[:2]), "radius_m": solid.radius_m, **ends}
    outline = solid.corners_on_plan() if isinstance(solid, Box) else solid.outline_m
    return {"outline_m": [list(corner) for corner in outline], **ends}
