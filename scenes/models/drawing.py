"""A room out of an architect's drawing (DXF): its outline at a picked point, and the blocks that lie in it.

Blocks are exploded, also in blocks; layers are known by `layers.yaml` or a mapping; the unit is decided by what is drawn
(room, door swings, printed dimensions), the file's own word counts least. A drawing has no heights: they are asked for.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import cached_property
from pathlib import Path
from typing import Any, Final

import numpy as np
import yaml
from ezdxf import bbox
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError
from shapely.geometry import Polygon

from geometry.faces import Faces, faces_of
from geometry.outlines import corners_of, straightened
from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.model import (
    Doubt,
    DoubtName,
    FileFacts,
    ModelCeiling,
    ModelDevice,
    ModelRoom,
    ModelSeat,
    ModelTable,
    RoomFrame,
    Straightening,
)
from scenes.models import kinds
from scenes.models.devices import PREFIXES
from scenes.models.refusals import ModelRefused
from scenes.models.spaces import STRAIGHTENED_WITHIN_M
from scenes.spec.lengths import METRES_IN, LengthMistake, parse_length

Line = tuple[Point2, ...]

HEADER_UNITS: Final = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
"""$INSUNITS of a DXF file."""
DEEPEST: Final = 8
"""Blocks in blocks in blocks, no deeper: a block that holds itself ends here."""
ARC_CHORD: Final = 0.005
"""Of an arc's radius: how far a chord may be from it."""
SWING_DEG: Final = (70.0, 110.0)
"""An arc of such a sweep may be a door's swing."""
DOOR_M: Final = (0.55, 1.35)
"""Widths of a door's leaf."""
ROOM_M: Final = (1.2, 80.0)
"""Extents of a room."""
PRINTED_SHARE: Final = 0.03
"""How far a printed dimension may be from what is drawn."""
TABLE_M: Final = 0.74
LOOSE_SHOWN: Final = 12
SMALLEST_ROOM_M2: Final = 3.0
SIZES: Final = re.compile(r"\s*[x×X]\s*")


@record(frozen=True, slots=True)
class Asked:
    """What is asked of a drawing: where in it (its own units), how high, its unit, its layers, lines that close it."""

    at: Point2 | None
    ceiling_m: float | None
    structure_m: float | None = None
    units: str | None = None
    layers: Mapping[str, Sequence[str]] | None = None
    cuts: tuple[tuple[Point2, Point2], ...] = ()


@record(frozen=True, slots=True)
class Unit:
    """The unit taken, what the file says, and what was seen for it: printed sizes, door swings, the room's size."""

    name: str
    header: str | None
    printed: int
    doors: int
    sure: bool


@record(frozen=True)
class Leak:
    """An outline that is not closed: the lines (metres), where they end loose near the picked point, and that point."""

    lines: tuple[Line, ...]
    loose_m: tuple[Point2, ...]
    at_m: Point2


class OutlineLeaks(ModelRefused):
    """No closed outline round the picked point."""

    def __init__(self, file: str, leak: Leak, ends: tuple[str, ...]) -> None:
        super().__init__("outline-leaks", file, ends)
        self.leak = leak


@record(frozen=True, slots=True)
class _Drawn:
    """A line of the drawing, and what is known of it."""

    layer: str
    points: Line
    swing: bool
    radius: float = 0.0
    closed: bool = False


@record(frozen=True, slots=True)
class _Block:
    """A block that was set into the drawing."""

    name: str
    layer: str
    middle: Point2
    size: Point2
    turn_deg: float


@dataclass
class Drawing:
    """A drawing opened, everything in its own units."""

    path: Path
    facts: FileFacts
    header: str | None
    lines: list[_Drawn] = field(default_factory=list)
    blocks: list[_Block] = field(default_factory=list)
    texts: list[tuple[str, Point2]] = field(default_factory=list)
    measured: list[tuple[str, float]] = field(default_factory=list)

    @classmethod
    def read(cls, path: Path) -> Drawing:
        """The drawing in a file. Raises ModelRefused for what is none."""
        if not path.is_file():
            raise ModelRefused("no-file", str(path))
        try:
            document = readfile(path)
        except (OSError, UnicodeError, DXFError, ValueError, IndexError, TypeError):
            raise ModelRefused("no-drawing", str(path)) from None
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        header = HEADER_UNITS.get(int(document.header.get("$INSUNITS", 0)))
        facts = FileFacts(path.name, document.dxfversion, header or "", digest)
        drawing = cls(path, facts, header)
        for entity, layer in _flat(document.modelspace(), None, 0):
            drawing._take(entity, layer)
        return drawing

    def _take(self, entity: Any, layer: str) -> None:
        kind = entity.dxftype()
        if kind == "INSERT":
            block = _block(entity, layer)
            if block is not None:
                self.blocks.append(block)
        elif kind in ("TEXT", "MTEXT"):
            text = entity.plain_text()
            place = entity.dxf.insert
            self.texts.append((" ".join(str(text).split()), (float(place.x), float(place.y))))
        elif kind == "DIMENSION":
            text = str(entity.dxf.get("text", ""))
            if text not in ("", "<>", " "):
                value = entity.get_measurement()
                self.measured += [(text, float(value))] if isinstance(value, float | int) else []
        else:
            drawn = _drawn(entity, layer)
            self.lines += [] if drawn is None else [drawn]

    # ---- layers

    def counted(self) -> list[tuple[str, int]]:
        """The layers with how many lines they have, the fullest first."""
        return Counter(line.layer for line in self.lines).most_common()

    def layers(self, asked: Mapping[str, Sequence[str]] | None) -> dict[str, set[str]]:
        """The layers of walls, openings and room outlines. Raises ModelRefused where none is a wall's."""
        names = {line.layer for line in self.lines}
        if asked is not None:
            found = {
                use: {name for name in names if any(fnmatchcase(name, one) for one in asked.get(use, ()))}
                for use in ("walls", "openings", "rooms")
            }
        else:
            found = {use: _known(names, groups) for use, groups in layer_words().items()}
        if not found["walls"] and not found["rooms"]:
            listed = tuple(f"{name} ({count})" for name, count in self.counted())
            raise ModelRefused("no-walls", str(self.path), listed)
        return found

    # ---- units

    def unit(self, asked: str | None, areas: Sequence[Polygon], picked: Polygon | None = None) -> Unit:
        """The unit of the drawing: the one asked for, else the one that most of what is drawn speaks for.

        `areas` are its closed areas, in which sizes may be printed; `picked` the room that is asked for.
        """
        room = picked if picked is not None else areas[0] if areas else None
        said = [
            (_sides(area), sizes)
            for area in areas
            for text, at in self.texts
            if (sizes := _sizes(text)) is not None and area.contains(_point(at))
        ]
        found = {name: self._evidence(float(METRES_IN[name]), said, room) for name in METRES_IN}
        if asked is not None:
            printed, doors, _ = found[asked]
            return Unit(asked, self.header, printed, doors, True)
        scores = {
            name: 4 * min(printed, 2) + 2 * min(doors, 2) + fits + (0.5 if name == self.header else 0)
            for name, (printed, doors, fits) in found.items()
        }
        best = max(scores, key=lambda name: scores[name])
        printed, doors, _ = found[best]
        return Unit(best, self.header, printed, doors, printed + doors > 0)

    def _evidence(
        self, metre: float, said: Sequence[tuple[Point2, Point2]], room: Polygon | None
    ) -> tuple[int, int, int]:
        """Printed sizes that fit, door swings that could be, and whether the room has a size of a room."""
        swings = [line.radius * metre for line in self.lines if line.swing]
        doors = sum(DOOR_M[0] <= radius <= DOOR_M[1] for radius in swings)
        doors = doors if 2 * doors > len(swings) else 0
        printed = 0
        for text, value in self.measured:
            length = _length(text)
            printed += length is not None and abs(length - value * metre) <= PRINTED_SHARE * length
        for sides, sizes in said:
            pairs = zip(sides, sizes, strict=True)
            printed += all(abs(side * metre - size) <= PRINTED_SHARE * size for side, size in pairs)
        if room is None:
            return printed, doors, 0
        short, long = (side * metre for side in _sides(room))
        return printed, doors, int(ROOM_M[0] <= short and long <= ROOM_M[1])

    # ---- rooms

    def faces(
        self, layers: Mapping[str, set[str]], cuts: Sequence[tuple[Point2, Point2]]
    ) -> tuple[Faces, list[Line]]:
        """The closed areas between walls and openings, and the lines they are made of; door swings left out."""
        uses = layers["walls"] | layers["openings"]
        lines = [line.points for line in self.lines if line.layer in uses and not line.swing]
        lines += list(cuts)
        return faces_of(lines), lines

    @cached_property
    def _blocks_named(self) -> list[tuple[str, _Block]]:
        """The blocks that are something to a room: its kind, chair or table."""
        return [(kind, one) for one in self.blocks if (kind := _kind_of(one)) is not None]

    def candidates(self, asked: Asked) -> list[tuple[str, Polygon, Unit]]:
        """The rooms one could ask for: closed areas of a room's size, with the text that stands in each."""
        faces, _ = self.faces(self.layers(asked.layers), asked.cuts)
        unit = self.unit(asked.units, faces.areas)
        found = []
        for area in faces.areas:
            if area.area * float(METRES_IN[unit.name]) ** 2 >= SMALLEST_ROOM_M2:
                named = [text for text, at in self.texts if area.contains(_point(at))]
                found.append((next((one for one in named if _sizes(one) is None), ""), area, unit))
        return found

    def room(self, asked: Asked) -> tuple[ModelRoom, Unit]:
        """The room at the picked point. Raises ModelRefused, OutlineLeaks."""
        assert asked.at is not None
        assert asked.ceiling_m is not None
        layers = self.layers(asked.layers)
        faces, lines = self.faces(layers, asked.cuts)
        area = self._outline(asked, layers, faces)
        if area is None:
            raise self._leak(asked, lines, faces)
        unit = self.unit(asked.units, faces.areas or (area,), area)
        metre = float(METRES_IN[unit.name])
        straight = straightened(_scaled(area, metre, (0.0, 0.0)), STRAIGHTENED_WITHIN_M)
        corner = straight.polygon.bounds[:2]
        outline = _scaled(straight.polygon, 1.0, corner)
        doubts = [] if unit.sure else [Doubt("room.outline", "units-by-size", "guessed")]
        if unit.header is not None and unit.header != unit.name:
            doubts.append(Doubt("room.outline", "units-conflict", "guessed"))
        inside = _Inside(outline, metre, (float(corner[0]), float(corner[1])))
        for kind, block in self._blocks_named:
            inside.take(kind, block)
        named = [text for text, at in self.texts if area.contains(_point(at)) and _sizes(text) is None]
        room = ModelRoom(
            guid="",
            number="",
            name=named[0] if named else "",
            storey="",
            area_m2=float(outline.area),
            frame=RoomFrame((float(corner[0]), float(corner[1]), 0.0), 0.0),
            outline_m=corners_of(outline),
            straightening=Straightening(straight.moved_m, straight.left_out),
            ceiling=ModelCeiling(asked.ceiling_m, "suspended", "option", asked.structure_m, 1.0),
            tables=tuple(inside.tables),
            seats=tuple(inside.seats),
            devices=tuple(inside.devices),
            doubts=(*doubts, Doubt("room.ceiling.kind", "ceiling-kind", "guessed"), *inside.doubts),
        )
        return room, unit

    def _outline(self, asked: Asked, layers: Mapping[str, set[str]], faces: Faces) -> Polygon | None:
        """A closed outline of a room's layer round the point, else the smallest area between walls there."""
        assert asked.at is not None
        here = _point(asked.at)
        drawn = [Polygon(one.points) for one in self.lines if one.closed and one.layer in layers["rooms"]]
        around = [one for one in drawn if one.is_valid and one.contains(here)]
        return min(around, key=lambda one: one.area) if around else faces.at(asked.at)

    def _leak(self, asked: Asked, lines: Sequence[Line], faces: Faces) -> OutlineLeaks:
        assert asked.at is not None
        metre = float(METRES_IN[self.unit(asked.units, faces.areas).name])
        scaled = [tuple((x * metre, y * metre) for x, y in line) for line in lines]
        at = (asked.at[0] * metre, asked.at[1] * metre)
        loose = faces_of(scaled).loose_near(at, LOOSE_SHOWN)
        ends = tuple(f"{x / metre:g},{y / metre:g}" for x, y in loose[:4])
        return OutlineLeaks(str(self.path), Leak(tuple(scaled), tuple(loose), at), ends)


class _Inside:
    """What lies in a room, in its frame."""

    def __init__(self, outline: Polygon, metre: float, corner: Point2) -> None:
        self.outline, self.metre, self.corner = outline, metre, corner
        self.tables: list[ModelTable] = []
        self.seats: list[ModelSeat] = []
        self.devices: list[ModelDevice] = []
        self.doubts: list[Doubt] = []

    def take(self, kind: str, block: _Block) -> None:
        """A block, if its middle is in the room."""
        at = (block.middle[0] * self.metre - self.corner[0], block.middle[1] * self.metre - self.corner[1])
        if not self.outline.contains(_point(at)):
            return
        size = (block.size[0] * self.metre, block.size[1] * self.metre)
        turn = round(block.turn_deg, 4) % 360
        if kind == "chair":
            id = f"S{len(self.seats) + 1}"
            self.seats.append(ModelSeat(block.name, at, None, id))
            self._doubt(id, "seat-facing")
        elif kind == "table":
            id = f"T{len(self.tables) + 1}"
            self.tables.append(ModelTable("", "rectangle", at, size, turn, (), TABLE_M, id=id))
            self._doubt(id, "height-by-default")
        else:
            id = f"{PREFIXES[kind]}{sum(one.kind == kind for one in self.devices) + 1}"
            self.devices.append(ModelDevice("", kind, at, size, turn, 0.0, 0.0, None, id=id))
            self._doubt(id, "height-by-default")

    def _doubt(self, id: str, name: DoubtName) -> None:
        self.doubts.append(Doubt(id, name, "guessed"))


def layer_words() -> dict[str, list[list[str]]]:
    """What `layers.yaml` says: groups of words by use."""
    text = Path(__file__).with_name("layers.yaml").read_text(encoding="utf-8")
    loaded: dict[str, list[list[str]]] = yaml.safe_load(text)
    return loaded


def _known(names: set[str], groups: Sequence[Sequence[str]]) -> set[str]:
    for words in groups:
        found = {name for name in names if kinds.says(kinds.plain(name), words)}
        if found:
            return found
    return set()


def _flat(entities: Any, layer: str | None, depth: int) -> Iterator[tuple[Any, str]]:
    """Every entity with its layer, blocks exploded; a block's layer 0 is that of the block's own place."""
    for entity in entities:
        own = entity.dxf.get("layer", "0")
        on = layer if own == "0" and layer is not None else own
        yield entity, on
        if entity.dxftype() == "INSERT" and depth < DEEPEST:
            for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
                try:
                    inner = list(one.virtual_entities())
                except (
                    DXFError,
                    ZeroDivisionError,
                    TypeError,
                ):  # a block that is missing, or has no size
                    continue
                yield from _flat(inner, on, depth + 1)


def _drawn(entity: Any, layer: str) -> _Drawn | None:
    """A line, arc, circle or polyline as points; None for what is none."""
    kind = entity.dxftype()
    if kind == "LINE":
        start, end = entity.dxf.start, entity.dxf.end
        return _Drawn(layer, ((start.x, start.y), (end.x, end.y)), False)
    if kind in ("ARC", "CIRCLE"):
        radius = float(entity.dxf.radius)
        if radius <= 0:
            return None
        points = tuple((p.x, p.y) for p in entity.flattening(ARC_CHORD * radius))
        swept = 360.0 if kind == "CIRCLE" else (entity.dxf.end_angle - entity.dxf.start_angle) % 360
        return _Drawn(layer, points, SWING_DEG[0] <= swept <= SWING_DEG[1], radius)
    if kind in ("LWPOLYLINE", "POLYLINE"):
        from ezdxf.path import make_path

        try:
            path = make_path(entity)
        except (TypeError, DXFError):
            return None
        if len(path) == 0:
            return None
        corners = np.array([(p.x, p.y) for p in path.control_vertices()])
        reach = float((corners.max(axis=0) - corners.min(axis=0)).max())
        points = tuple((p.x, p.y) for p in path.flattening(max(reach, 1e-6) * ARC_CHORD / 4))
        closed = len(points) > 3 and math.dist(points[0], points[-1]) < 1e-9
        return _Drawn(layer, points, False, closed=closed)
    return None


def _block(insert: Any, layer: str) -> _Block | None:
    """A block where it is set: the box round its definition, scaled and turned; None for an empty one."""
    definition = insert.block()
    if definition is None:
        return None
    extents = bbox.extents(definition, fast=True)
    if not extents.has_data:
        return None
    middle = insert.matrix44().transform(extents.center)
    size = (extents.size.x * abs(insert.dxf.xscale), extents.size.y * abs(insert.dxf.yscale))
    return _Block(str(insert.dxf.name), layer, (middle.x, middle.y), size, float(insert.dxf.rotation))


def _kind_of(block: _Block) -> str | None:
    """What a block is, by its name, then by its layer: a device's kind, chair or table; None for anything else."""
    tables = kinds.tables()
    for text in (kinds.plain(block.name), kinds.plain(block.layer)):
        if kinds.says(text, (*tables["never"], *tables["never by name"])):
            return None
        for kind, words in tables["names"].items():
            if kind in PREFIXES and kinds.says(text, words):
                return str(kind)
        for kind in ("chair", "table"):
            if kinds.says(text, tables["furniture"][kind]):
                return kind
    return None


def _length(text: str) -> float | None:
    """A printed length with a unit, metres; None for anything else. 13'6 is 13 feet 6 inches."""
    plain = text.strip().replace("''", '"')
    feet = re.fullmatch(r"(\d+) ?['′][ -]*(\d+(?:\.\d+)?)? ?[\"″]?", plain)
    if feet is not None:
        inches = float(METRES_IN["in"])
        return (12 * int(feet[1]) + float(feet[2] or 0)) * inches
    if not re.search(r"[\"″]|\b(?:m|cm|mm|ft|in)\b|\d(?:m|cm|mm|ft|in)$", plain):
        return None
    try:
        return parse_length(plain, "m")
    except LengthMistake:
        return None


def _sizes(text: str) -> tuple[float, float] | None:
    """A printed size of a room such as 13'-6" x 11'-0", the smaller side first."""
    parts = SIZES.split(text.strip())
    if len(parts) != 2:
        return None
    said = [_length(part) for part in parts]
    if said[0] is None or said[1] is None or min(said[0], said[1]) <= 0:
        return None
    return min(said[0], said[1]), max(said[0], said[1])


def _sides(area: Polygon) -> Point2:
    """The extents of an area, the smaller first."""
    low_x, low_y, high_x, high_y = area.bounds
    short, long = sorted((float(high_x - low_x), float(high_y - low_y)))
    return short, long


def _scaled(area: Polygon, factor: float, corner: Sequence[float]) -> Polygon:
    def moved(ring: Any) -> Any:
        return np.asarray(ring.coords)[:, :2] * factor - np.asarray(corner[:2])

    return Polygon(moved(area.exterior), [moved(ring) for ring in area.interiors])


def _point(at: Sequence[float]) -> Any:
    import shapely

    return shapely.Point(at[0], at[1])
