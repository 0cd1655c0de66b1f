"""A spec file as it is written: a Room in metres and degrees.

Only what the oracle judges is read. Mistakes are the product's business: a spec given here is right.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Point = tuple[float, float]

METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "in": 0.0254}
SEATED_M, STANDING_M, SWAY_M = 1.2, 1.5, 0.1  # contract, "Defaults"
WALL_M, HEADROOM_M, FREE_OVER_TABLE_M = 0.3, 2.032, 0.6  # contract, `limits`
TABLE_M = 0.74  # contract, the example's table


def metres(value: Any, unit: str) -> float:
    """A length as a file has it: a bare number is in the file's unit, a text carries its own."""
    if isinstance(value, int | float):
        return value * METRES[unit]
    parts = re.findall(r"([\d./\s]+?)\s*(mm|cm|m|ft|in|'|\")", value.replace("-", " ").strip())
    if not parts:
        return _number(value) * METRES[unit]
    return sum(_number(text) * METRES[{"'": "ft", '"': "in"}.get(mark, mark)] for text, mark in parts)


def _number(text: str) -> float:
    """12, 2.5 or 10 1/2."""
    return float(sum(Fraction(part) for part in text.split()))


@dataclass(frozen=True)
class Table:
    """A table: what its edge is made of is `seating`'s business."""

    id: str
    shape: str
    at: Point
    size: tuple[float, ...]
    turn: float
    height: float
    ends: float | None
    narrow: float | None
    outline: tuple[Point, ...]


@dataclass(frozen=True)
class Profile:
    """An array's data sheet. `size` is (diameter, diameter, height) of a round body."""

    round: bool
    size: tuple[float, float, float]
    flush: bool
    below: float
    """From the body's underside up to the acoustic centre."""
    bands: Mapping[str, tuple[float, float]]
    reach: tuple[float, float]
    sectors: int
    level: float


@dataclass(frozen=True)
class Array:
    """An array; what the file leaves open is None."""

    id: str
    profile: Profile
    at: Point | None
    height: float | None
    band: str | None
    turn: float

    @property
    def centre(self) -> Floats:
        """The acoustic centre."""
        assert self.at is not None
        return np.array([*self.at, self.height], float)

    @property
    def limits(self) -> tuple[float, float, float, float]:
        """Low and high angle of its band in degrees, near and far."""
        assert self.band is not None
        return (*self.profile.bands[self.band], *self.profile.reach)


@dataclass(frozen=True)
class Device:
    """Something at the ceiling. Size and depth are None where the file leaves them to a default."""

    id: str
    kind: str
    at: Point
    size: tuple[float, ...] | None
    turn: float
    low: float
    depth: float | None
    stem: float | None
    spray: str
    required: float | None


@dataclass(frozen=True)
class Obstacle:
    """A column or a screen."""

    id: str
    at: Point
    size: tuple[float, ...]
    turn: float
    low: float
    high: float


@dataclass(frozen=True)
class Display:
    """A screen: the middle of its face, its size, and where it looks."""

    id: str
    at: tuple[float, float, float]
    width: float
    height: float
    facing: float


@dataclass(frozen=True)
class Change:
    """What a file changes about a rule: None is off."""

    required: float | None


@dataclass(frozen=True)
class Room:
    """Everything of a spec file that the oracle looks at. `raw` is the file's own tree."""

    raw: Mapping[str, Any]
    unit: str
    outline: tuple[Point, ...]
    ceiling: float
    kind: str
    structure: float | None
    grid: tuple[Point, Point] | None
    tables: tuple[Table, ...]
    arrays: tuple[Array, ...]
    overhead: tuple[Device, ...]
    obstacles: tuple[Obstacle, ...]
    displays: tuple[Display, ...]
    limits: Mapping[str, float]
    """The limits that the file itself gives."""
    changes: Mapping[str, Change]
    box: tuple[float, float, float] | None

    @property
    def guesses(self) -> tuple[str, ...]:
        """The devices whose size or depth is left to a default."""
        return tuple(one.id for one in self.overhead if one.size is None or one.depth is None)

    def stands_in_a_guess(self, far: float = 0.6) -> bool:
        """Whether an array may be inside a device whose size or depth is left to a default."""
        guessed = [one for one in self.overhead if one.id in self.guesses]
        return any(
            math.dist(one.at, array.at) < far and one.low - array.profile.size[2] < float(array.centre[2])
            for one in guessed
            for array in self.arrays
            if array.at is not None and array.height is not None
        )

    @property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and largest x and y."""
        corners = np.array(self.outline)
        return corners.min(axis=0), corners.max(axis=0)


def read(path: Path) -> Room:
    """The room of a spec file, its profiles' file read with it."""
    raw = yaml.safe_load(path.read_text("utf-8"))
    library = raw.get("profiles")
    if isinstance(library, str):
        return room_of(raw, yaml.safe_load((path.parent / library).read_text("utf-8")))
    return room_of(raw, raw)


def room_of(raw: Mapping[str, Any], library: Mapping[str, Any]) -> Room:
    """The room of a file's tree, with the tree that has its profiles (the same, if it brings its own)."""
    profiles, unit, profile_unit = library.get("profiles", {}), raw["units"], library["units"]
    known = {name: _profile(one, profile_unit) for name, one in profiles.items()}
    room = raw["room"]
    ceiling = room["ceiling"]
    kind, height = (
        (ceiling.get("kind", "suspended"), ceiling["height"])
        if isinstance(ceiling, dict)
        else ("suspended", ceiling)
    )
    top = metres(height, unit)
    grid = room.get("grid")
    box = (raw.get("suspension") or {}).get("box")
    return Room(
        raw=raw,
        unit=unit,
        outline=_outline(room, unit),
        ceiling=top,
        kind=str((raw.get("suspension") or {}).get("ceiling", kind) if kind != "hard" else kind),
        structure=None if room.get("structure") is None else metres(room["structure"], unit),
        grid=None
        if grid is None
        else (_point(grid["pitch"], unit), _point(grid.get("origin", (0, 0)), unit)),
        tables=tuple(_table(one, unit) for one in raw.get("tables", ())),
        arrays=tuple(_array(one, known, top, unit) for one in raw.get("arrays", ())),
        overhead=tuple(_device(one, top, unit) for one in raw.get("overhead", ())),
        obstacles=tuple(_obstacle(one, top, unit) for one in raw.get("obstacles", ())),
        displays=tuple(_display(one, unit) for one in raw.get("displays", ())),
        limits={name: metres(value, unit) for name, value in raw.get("limits", {}).items()},
        changes={name: _change(one, unit) for name, one in raw.get("rules", {}).items()},
        box=_numbers(box["size"], unit) if isinstance(box, dict) and "size" in box else None,  # type: ignore[arg-type]
    )


def _numbers(values: Sequence[Any], unit: str) -> tuple[float, ...]:
    return tuple(metres(value, unit) for value in values)


def _point(value: Sequence[Any], unit: str) -> Point:
    return metres(value[0], unit), metres(value[1], unit)


def _maybe(value: Any, unit: str) -> float | None:
    return None if value is None else metres(value, unit)


def _outline(room: Mapping[str, Any], unit: str) -> tuple[Point, ...]:
    if "outline" in room:
        return tuple(_point(corner, unit) for corner in room["outline"])
    x, y = _point(room["size"], unit)
    return ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))


def _table(one: Mapping[str, Any], unit: str) -> Table:
    outline = tuple(_point(corner, unit) for corner in one.get("outline", ()))
    return Table(
        id=one["id"],
        shape=one["shape"],
        at=_point(one["at"], unit) if "at" in one else (math.nan, math.nan),
        size=_numbers(one.get("size", ()), unit),
        turn=one.get("turn", 0.0),
        height=metres(one["height"], unit) if "height" in one else TABLE_M,
        ends=_maybe(one.get("ends"), unit),
        narrow=_maybe(one.get("narrow"), unit),
        outline=outline,
    )


def _profile(one: Mapping[str, Any], unit: str) -> Profile:
    body = one["body"]
    if "diameter" in body:
        across, tall = metres(body["diameter"], unit), metres(body["height"], unit)
        size = (across, across, tall)
    else:
        x, y, tall = _numbers(body["size"], unit)
        size = (x, y, tall)
    flush = one["mount"] == "flush"
    near, far = _point(one["reach"], unit)
    centre = one.get("centre")
    # flush: "the underside is at the ceiling and so is the centre"
    below = 0.0 if flush else size[2] / 2 if centre is None else metres(centre, unit)
    return Profile(
        round="diameter" in body,
        size=size,
        flush=flush,
        below=below,
        bands={name: (float(low), float(high)) for name, (low, high) in one["bands"].items()},
        reach=(near, far),
        sectors=one.get("sectors", 1),
        level=one.get("level", 0.0 if flush else 1.0),
    )


def _array(one: Mapping[str, Any], profiles: Mapping[str, Profile], ceiling: float, unit: str) -> Array:
    profile = profiles[one["profile"]]
    height = None
    if profile.flush:
        height = ceiling
    elif "height" in one:
        height = metres(one["height"], unit)
    elif "drop" in one:
        height = ceiling - metres(one["drop"], unit)
    at = None if one.get("at") is None else _point(one["at"], unit)
    return Array(one["id"], profile, at, height, one.get("band"), float(one.get("turn", 0.0)))


def _device(one: Mapping[str, Any], ceiling: float, unit: str) -> Device:
    return Device(
        id=one["id"],
        kind=one["kind"],
        at=_point(one["at"], unit),
        size=_numbers(one["size"], unit) if "size" in one else None,
        turn=float(one.get("turn", 0.0)),
        low=ceiling - metres(one["below"], unit),
        depth=_maybe(one.get("depth"), unit),
        stem=_maybe(one.get("stem"), unit),
        spray=one.get("spray", "unknown"),
        required=_maybe(one.get("required"), unit),
    )


def _obstacle(one: Mapping[str, Any], ceiling: float, unit: str) -> Obstacle:
    return Obstacle(
        id=one["id"],
        at=_point(one["at"], unit),
        size=_numbers(one["size"], unit),
        turn=float(one.get("turn", 0.0)),
        low=metres(one.get("from", 0.0), unit),
        high=metres(one["to"], unit) if "to" in one else ceiling,
    )


def _display(one: Mapping[str, Any], unit: str) -> Display:
    x, y, z = _numbers(one["at"], unit)
    return Display(one["id"], (x, y, z), *_point((one["width"], one["height"]), unit), float(one["facing"]))


def _change(one: Mapping[str, Any], unit: str) -> Change:
    return Change(None if one.get("use") is False else _maybe(one.get("required"), unit))
