"""Rooms with steps and slopes for tests, and an independent eye for their ceilings: shapely, and no solids."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
import yaml
from numpy.typing import NDArray

from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text

Floats = NDArray[np.float64]


def spec_of(parts: list[dict[str, object]], **more: object) -> dict[str, object]:
    """A room of 7.2 by 4.8 m under a ceiling of 2.8 m with these parts, an array over its table."""
    tree: dict[str, object] = {
        "overtable": 1,
        "name": "Coot Room",
        "units": "m",
        "room": {
            "size": [7.2, 4.8],
            "ceiling": {"kind": "suspended", "height": 2.8, "parts": parts},
            "structure": 3.4,
        },
        "tables": [{"id": "T1", "shape": "rectangle", "size": [2.4, 1.2], "at": [3.6, 2.4]}],
        "seats": [{"around": "T1", "count": 6}],
        "profiles": {
            "halo": {
                "mount": "pendant",
                "body": {"diameter": 0.36, "height": 0.04},
                "bands": {"wide": [20, 72]},
                "reach": [0.7, 3.3],
            },
            "tile": {
                "mount": "flush",
                "body": {"size": [0.5, 0.5, 0.05]},
                "bands": {"wide": [20, 80]},
                "reach": [0.7, 3.6],
            },
        },
        "arrays": [{"id": "A1", "profile": "halo", "at": [3.6, 2.4], "height": 2.1, "band": "wide"}],
    }
    return tree | more


def scene_of(parts: list[dict[str, object]], **more: object) -> Scene:
    return build(read_spec_text(yaml.safe_dump(spec_of(parts, **more))))


BULKHEAD: dict[str, object] = {
    "id": "BH1",
    "at": [3.6, 2.4],
    "size": [2.4, 1.2],
    "kind": "hard",
    "height": 2.45,
}
ROOF: dict[str, object] = {
    "id": "R1",
    "outline": [[5.2, 0], [7.2, 0], [7.2, 4.8], [5.2, 4.8]],
    "kind": "hard",
    "slope": {"low": 2.2, "high": 2.8, "towards": 180},
}


@dataclass(frozen=True)
class Lid:
    """A ceiling looked at afresh from the file's own tree."""

    tree: dict[str, object]

    def heights(self, at: Floats) -> Floats:
        """(n,) how high the ceiling is over places (n, 2)."""
        found = np.full(len(at), 2.8)
        for part in reversed(self.tree["room"]["ceiling"]["parts"]):  # type: ignore[index]
            ring = outline_of(part)
            over = shapely.intersects_xy(shapely.Polygon(ring), at[:, 0], at[:, 1])
            found[over] = _height(part, ring, at[over])
        return found

    def lowest(self, at: tuple[float, float], radius_m: float) -> float:
        """The lowest ceiling over a disc about a place, as far as a fine scan sees it."""
        turns, radii = np.linspace(0, 2 * math.pi, 181), np.linspace(0, radius_m, 25)
        x = at[0] + np.outer(radii, np.cos(turns)).ravel()
        y = at[1] + np.outer(radii, np.sin(turns)).ravel()
        return float(self.heights(np.column_stack([x, y])).min())


def outline_of(part: dict[str, object]) -> list[tuple[float, float]]:
    if "outline" in part:
        return [tuple(corner) for corner in part["outline"]]  # type: ignore[attr-defined]
    (x, y), (w, d) = part["at"], part["size"]  # type: ignore[misc]
    turn = math.radians(float(part.get("turn", 0)))  # type: ignore[arg-type]
    c, s = math.cos(turn), math.sin(turn)
    corners = ((-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2))
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in corners]


def _height(part: dict[str, object], ring: list[tuple[float, float]], at: Floats) -> Floats:
    slope = part.get("slope")
    if slope is None:
        return np.full(len(at), float(part["height"]))  # type: ignore[arg-type]
    turn = math.radians(float(slope["towards"]))  # type: ignore[index]
    way = np.array([math.cos(turn), math.sin(turn)])
    ends = np.array(ring) @ way
    share = (at @ way - ends.min()) / (ends.max() - ends.min())
    low, high = float(slope["low"]), float(slope["high"])  # type: ignore[index]
    return np.asarray(low + share * (high - low))


def random_parts(seed: int) -> list[dict[str, object]]:
    """Up to four parts of a grid of four by two cells in the room, flat or sloped, some of them coffers."""
    draw = np.random.default_rng(seed)
    cells = [(x, y) for x in range(4) for y in range(2)]
    parts: list[dict[str, object]] = []
    for k in draw.permutation(len(cells))[: draw.integers(1, 5)]:
        x, y = cells[int(k)]
        at = [round(0.9 + 1.8 * x, 3), round(1.2 + 2.4 * y, 3)]
        size = [round(float(draw.uniform(0.8, 1.8)), 2), round(float(draw.uniform(1.0, 2.4)), 2)]
        part: dict[str, object] = {"id": f"P{k}", "at": at, "size": size}
        part["kind"] = ["suspended", "hard"][int(draw.integers(2))]
        if draw.uniform() < 0.4:
            low = round(float(draw.uniform(2.1, 2.5)), 2)
            high = round(low + float(draw.uniform(0.1, 0.7)), 2)
            part["slope"] = {"low": low, "high": high, "towards": int(draw.integers(0, 24)) * 15}
        else:
            part["height"] = round(float(draw.uniform(2.2, 3.2)), 2)
        parts.append(part)
    return parts


def ten_strips() -> list[dict[str, object]]:
    """Ten parts that are all of the ceiling, each a little higher than the one before, of two kinds in turn."""
    return [
        {
            "id": f"P{k}",
            "at": [round(0.36 + 0.72 * k, 3), 2.4],
            "size": [0.72, 4.8],
            "kind": ["suspended", "hard"][k % 2],
            "height": round(2.7 + 0.02 * k, 3),
        }
        for k in range(10)
    ]


def ten_small_parts() -> list[dict[str, object]]:
    """Ten parts that leave most of the ceiling as it is."""
    return [
        {
            "id": f"P{k}",
            "at": [round(0.9 + 1.35 * (k % 5), 3), 1.2 + 2.4 * (k // 5)],
            "size": [0.6, 0.8],
            "kind": "hard",
            "height": round(2.5 + 0.05 * k, 3),
        }
        for k in range(10)
    ]
