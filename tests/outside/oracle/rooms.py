"""Random rooms, the same for the same seed, written as spec files in any of the units.

They are meant to be awkward: turned tables of every shape, L-shaped and cut outlines, people who walk or stand up,
bands of any angles, devices hanging in the way, rules changed, and places that are good, bad and hopeless.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import yaml

from tests.outside.oracle.reading import METRES, read
from tests.outside.oracle.seating import heads_of, outline

KINDS = (
    *("sprinkler", "light", "supply diffuser", "return grille", "smoke detector", "loudspeaker"),
    *("projector", "beam", "bulkhead", "other"),
)
SHAPES = ("rectangle", "round", "racetrack", "boat", "trapezoid")
FROM_WALL_M = 0.35
"""Nothing random stands or hangs nearer to a wall than this, so that no file is a mistake by accident."""


class Metres(float):
    """A length; it is written in the file's unit, or as text with a unit of its own."""


class Maker:
    """One random room. `plain` leaves out what hangs and stands in the way, the changes and all but one array."""

    def __init__(self, seed: int, *, plain: bool = False) -> None:
        self.random = np.random.default_rng(seed)
        self.plain = plain

    def between(self, low: float, high: float) -> Metres:
        """A length to the centimetre."""
        return Metres(round(float(self.random.uniform(low, high)), 2))

    def chance(self, share: float) -> bool:
        """True so often."""
        return bool(self.random.random() < share)

    def one_of(self, *things: Any) -> Any:
        """Any of these."""
        return things[int(self.random.integers(len(things)))]

    def room(self) -> dict[str, Any]:
        """A spec as a tree, lengths as Metres."""
        self.width, self.depth = self.between(4.6, 9.0), self.between(4.0, 6.6)
        self.ceiling = self.between(2.45, 3.4)
        self.kind = self.one_of("suspended", "suspended", "open", "hard")
        self.corners = self._corners()
        self.area = shapely.Polygon(self.corners).buffer(-FROM_WALL_M)
        tree: dict[str, Any] = {
            "overtable": 1,
            "name": "Random Room",
            "room": self._shell(),
            "tables": [self._table()],
            "people": {
                "seated": {
                    "mouth": self._range(1.02, 1.3),
                    "sway": self.one_of(0.0, Metres(0.05), Metres(0.1)),
                },
                "standing": {"mouth": self._range(1.4, 1.75), "sway": Metres(0.1)},
            },
            **self._people(),
        }
        self.easy = self.chance(0.5)
        tree["profiles"] = {"p": self._profile("p"), "q": self._profile("q")}
        tree["arrays"] = self._arrays(tree)
        if not self.plain:
            tree |= self._in_the_way(tree["arrays"])
        return tree

    def _corners(self) -> list[tuple[float, float]]:
        w, d = self.width, self.depth
        shape = self.random.random()
        if shape < 0.6:
            return [(0, 0), (w, 0), (w, d), (0, d)]
        x, y = self.between(0.55 * w, 0.8 * w), self.between(0.55 * d, 0.8 * d)
        if shape < 0.85:
            return [(0, 0), (w, 0), (w, y), (x, y), (x, d), (0, d)]
        return [(0, 0), (w, 0), (w, y), (x, d), (0, d)]

    def _shell(self) -> dict[str, Any]:
        shell: dict[str, Any] = {
            "outline": [[Metres(x), Metres(y)] for x, y in self.corners],
            "ceiling": {"kind": self.kind, "height": self.ceiling},
        }
        if self.kind != "open" and self.chance(0.6):
            shell["structure"] = Metres(round(self.ceiling + float(self.random.uniform(0.35, 0.9)), 2))
        if self.kind == "suspended" and self.chance(0.5):
            shell["grid"] = {
                "pitch": [Metres(0.6), Metres(0.6)],
                "origin": [self.between(0, 0.6), Metres(0.15)],
            }
        return shell

    def _range(self, low: float, high: float) -> Any:
        ends = sorted([self.between(low, high), self.between(low, high)])
        return ends[0] if ends[0] == ends[1] or self.chance(0.2) else ends

    def _table(self) -> dict[str, Any]:
        shape = self.one_of(*SHAPES)
        long, wide = self.between(1.4, 3.2), self.between(0.8, 1.5)
        size = [min(long, Metres(1.8))] if shape == "round" else [long, wide]
        table = {
            "id": "T1",
            "shape": shape,
            "size": size,
            "at": self._middle(),
            "turn": self.one_of(0, 0, 90, round(float(self.random.uniform(-180, 180)), 1)),
            "height": self.between(0.7, 0.8),
        }
        if shape == "boat":
            table["ends"] = Metres(round(wide * float(self.random.uniform(0.5, 0.9)), 2))
        return table

    def _middle(self) -> list[Metres]:
        """A place in the part of the room that every outline has."""
        return [
            self.between(0.4 * self.width, 0.5 * self.width),
            self.between(0.4 * self.depth, 0.5 * self.depth),
        ]

    def _spot(self) -> list[Metres]:
        """Any place in the room."""
        while True:
            spot = [self.between(0.2, self.width - 0.2), self.between(0.2, self.depth - 0.2)]
            if self.area.contains(shapely.Point(spot)):
                return spot

    def _people(self) -> dict[str, Any]:
        seats: list[dict[str, Any]] = [
            {"around": "T1", "pitch": self.between(0.6, 0.95), "gap": self.between(0.1, 0.35)}
        ]
        if self.chance(0.15):
            seats[0]["stands"] = True
        if self.chance(0.3):
            seats.append({"id": "S1", "at": self._spot(), "mouth": self._range(1.0, 1.3)})
        if self.chance(0.15):
            block = {"rows": 2, "columns": 2, "pitch": [self.between(0.5, 0.7), self.between(0.6, 0.8)]}
            seats.append({"id": "R", **block, "at": self._middle(), "turn": self.one_of(0, 30)})
        people: dict[str, Any] = {"seats": seats}
        standing: list[dict[str, Any]] = []
        if self.chance(0.25):
            standing.append({"id": "P1", "at": self._spot(), "sway": self.between(0.0, 0.15)})
        if self.chance(0.25):
            way = [self._spot(), self._spot()] + ([self._spot()] if self.chance(0.3) else [])
            standing.append({"id": "W", "along": way, "step": self.between(0.4, 0.9)})
        return people | ({"standing": standing} if standing else {})

    def _profile(self, name: str) -> dict[str, Any]:
        flush = name == "q" and self.kind != "open"
        bands = {band: self._band() for band in ("a", "b")[: 1 + self.chance(0.5)]}
        near = self.between(0.3, 0.5) if self.easy else self.one_of(Metres(0.0), self.between(0.4, 1.0))
        reach = self.between(2.6, 4.0) if self.easy else self.between(1.6, 3.2)
        tall = self.between(0.03, 0.1)
        body: dict[str, Any] = {"size": [self.between(0.15, 0.6), self.between(0.15, 0.6), tall]}
        if self.chance(0.5):
            body = {"diameter": self.between(0.15, 0.5), "height": tall}
        profile = {
            "mount": "flush" if flush else "pendant",
            "body": body,
            "bands": bands,
            "reach": [near, Metres(round(near + reach, 2))],
            "sectors": self.one_of(1, 4, 6),
        }
        if self.chance(0.3):
            profile["level"] = self.one_of(0, 0.5, 2)
        if not flush and self.chance(0.3):
            profile["centre"] = Metres(0.01)
        return profile

    def _band(self) -> list[float]:
        """A band of any angles; in an easy room one that covers nearly all round a table."""
        if self.easy:
            return [
                round(float(self.random.uniform(2, 15)), 1),
                self.one_of(90, round(float(self.random.uniform(70, 88)), 1)),
            ]
        low = round(float(self.random.uniform(0, 45)), 1)
        high = 90 if self.chance(0.25) else round(min(low + float(self.random.uniform(25, 60)), 90.0), 1)
        return [low, high]

    def _arrays(self, tree: Mapping[str, Any]) -> list[dict[str, Any]]:
        count = 1 if self.plain else int(self.random.choice([1, 1, 1, 2, 2, 3]))
        arrays = []
        for k in range(count):
            name = "p" if self.plain or self.chance(0.8) else "q"
            profile = tree["profiles"][name]
            array: dict[str, Any] = {"id": f"A{k + 1}", "profile": name, "turn": self.one_of(0, 0, 45, 12.5)}
            near_table = self.chance(0.7)
            array["at"] = self._near_the_table(tree) if near_table else self._spot()
            array["band"] = self.one_of(*profile["bands"])
            if profile["mount"] == "pendant":
                tall = profile["body"].get("height") or profile["body"]["size"][2]
                drop = Metres(round(tall + float(self.random.uniform(0.02, self.ceiling - 1.75)), 2))
                if self.chance(0.5):
                    array["drop"] = drop
                else:
                    array["height"] = Metres(round(self.ceiling - drop, 2))
            arrays.append(array)
        return arrays

    def _near_the_table(self, tree: Mapping[str, Any]) -> list[Metres]:
        x, y = tree["tables"][0]["at"]
        spot = [
            Metres(round(x + float(self.random.normal(0, 0.25)), 2)),
            Metres(round(y + float(self.random.normal(0, 0.2)), 2)),
        ]
        return spot if self.area.contains(shapely.Point(spot)) else self._middle()

    def _in_the_way(self, arrays: list[dict[str, Any]]) -> dict[str, Any]:
        more: dict[str, Any] = {}
        devices = [self._device(k, arrays) for k in range(int(self.random.integers(0, 7)))]
        if devices:
            more["overhead"] = devices
        obstacles = []
        for k in range(int(self.random.choice([0, 0, 1, 2]))):
            screen = self.chance(0.5)
            thing: dict[str, Any] = {"id": f"O{k + 1}", "at": self._spot(), "turn": self.one_of(0, 20, 90)}
            thing["size"] = [self.between(0.6, 1.6), Metres(0.05)] if screen else [self.between(0.2, 0.5)]
            thing["from"] = Metres(0.0)
            if screen:
                thing["to"] = self.between(1.2, 2.0)
            obstacles.append(thing)
        if obstacles:
            more["obstacles"] = obstacles
        if self.chance(0.4):
            limits = {"wall": self.between(0.1, 0.6), "headroom": self.between(1.95, 2.2)}
            limits["free_over_table"] = self.between(0.4, 0.9)
            kept = [name for name in limits if self.chance(0.6)]
            if kept:
                more["limits"] = {name: limits[name] for name in kept}
        rules = {}
        if self.chance(0.15):
            rules["light"] = {"required": self.between(0.05, 0.6), "reason": "the electrician's"}
        if self.chance(0.1):
            rules["other"] = {"use": False, "reason": "looked at on site"}
        return more | ({"rules": rules} if rules else {})

    def _device(self, k: int, arrays: list[dict[str, Any]]) -> dict[str, Any]:
        kind = self.one_of(*KINDS)
        below = self.one_of(Metres(0.0), Metres(0.05), self.between(0.05, 0.7))
        device: dict[str, Any] = {"id": f"D{k + 1}", "kind": kind, "at": self._spot(), "below": below}
        if self.chance(0.3):  # near an array, so that it matters
            x, y = self.one_of(*(array["at"] for array in arrays))
            far, way = float(self.random.uniform(0.1, 1.0)), float(self.random.uniform(0, 2 * math.pi))
            spot = [Metres(round(x + far * math.cos(way), 2)), Metres(round(y + far * math.sin(way), 2))]
            device["at"] = spot if self.area.contains(shapely.Point(spot)) else device["at"]
        if self.chance(0.9):
            small = kind in ("sprinkler", "smoke detector")
            across = self.between(0.04, 0.12) if small else self.between(0.15, 0.7)
            device["size"] = [across] if small or self.chance(0.3) else [across, self.between(0.1, 1.2)]
            device["depth"] = min(self.between(0.02, 0.3), Metres(below + 0.1))
            device["turn"] = self.one_of(0, 0, 90, 33)
        if "depth" in device and below > device["depth"] + 0.05 and self.chance(0.6):
            device["stem"] = Metres(round(below - device["depth"], 2))
        if kind == "sprinkler" and self.chance(0.8):
            device["spray"] = "standard"
        if self.chance(0.1):
            device["required"] = self.between(0.05, 0.8)
        return device

    # Writing -------------------------------------------------------------------------------------------------

    def written(self, tree: Mapping[str, Any]) -> str:
        """The tree as a spec file in some unit, now and then with a length as text."""
        unit = self.one_of("m", "m", "cm", "mm", "ft", "in")
        tree = {**self._in_unit(tree, unit), "units": unit}
        return str(yaml.safe_dump(tree, sort_keys=False, default_flow_style=None, width=120))

    def _in_unit(self, thing: Any, unit: str) -> Any:
        if isinstance(thing, Metres):
            if self.chance(0.1):
                return f"{round(thing * 1000, 1):g} mm"
            return round(float(thing) / METRES[unit], 6)
        if isinstance(thing, dict):
            return {key: self._in_unit(value, unit) for key, value in thing.items()}
        if isinstance(thing, list):
            return [self._in_unit(value, unit) for value in thing]
        return float(thing) if isinstance(thing, np.floating) else thing


def write_room(seed: int, folder: Path, *, plain: bool = False) -> Path:
    """A random room as a file. Rooms in which a seat falls through a wall are drawn again."""
    maker = Maker(seed, plain=plain)
    while True:
        tree = maker.room()
        path = folder / f"room-{seed}.yaml"
        path.write_text(maker.written(tree), encoding="utf-8")
        if fits(path):
            return path


def fits(path: Path) -> bool:
    """Whether heads and table lie in the room, well off its walls."""
    room = read(path)
    inside = shapely.Polygon(room.outline).buffer(-0.05)
    spots = [spot for head in heads_of(room) for spot in head.way]
    legs = [shapely.LineString(head.way) for head in heads_of(room) if len(head.way) > 1]
    return (
        len(spots) > 0
        and all(inside.contains(shapely.Point(spot)) for spot in spots)
        and all(inside.contains(leg) for leg in legs)
        and all(inside.contains(shapely.Polygon(outline(table))) for table in room.tables)
        and not any(math.isnan(x) for spot in spots for x in spot)
    )
