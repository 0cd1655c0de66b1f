"""The spaces of a building: which there are, their outline on plan, their floor and their frame."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from geometry.envelope import Patch, Plane, highest, lowest, patches
from geometry.outlines import pieces, straightened, together
from geometry.records import record
from scenes.findings.model import RoomFrame, Skipped, Straightening
from scenes.models.files import ModelFile
from scenes.models.shapes import Body, Shapes

Floats = NDArray[np.float64]

STRAIGHTENED_WITHIN_M: Final = 0.001
"""An outline's edge moves by no more than this when jogs, slivers and chords are left out."""
PARALLEL_DEG: Final = 0.1
"""A wall this near to an axis is along it."""
TURN_DECIMALS: Final = 5
"""Degrees of a room's turn: over 100 m one of the last digit is a hundredth of a millimetre."""
SHORTEST_WALL_M: Final = 0.1
"""An edge shorter than this is no wall that says how a room lies."""
SMALLEST_ROOM_M2: Final = 0.25
LOWEST_ROOM_M: Final = 0.3
LEVEL_M: Final = 0.001
"""Heights nearer than this are one level."""


@record(frozen=True)
class Space:
    """A space before anything in it is looked for.

    `body` is in the model's axes; outline, floor and top are in the room's frame, so heights are above the
    finished floor. `top` are the faces that close it above.
    """

    entity: Any
    file: ModelFile
    number: str
    name: str
    storey: str
    parents: tuple[tuple[str, str], ...]
    project: str
    outline: Polygon
    straightening: Straightening
    frame: RoomFrame
    floor_steps: bool
    top: tuple[Patch, ...]

    @property
    def guid(self) -> str:
        """Its GlobalId."""
        return str(self.entity.GlobalId)

    @property
    def top_m(self) -> float:
        """The highest it reaches."""
        return max((patch.span_m[1] for patch in self.top), default=0.0)


def into_room(points: Floats, frame: RoomFrame) -> Floats:
    """Points (n, 3) of the model's axes in the room's frame."""
    angle = math.radians(frame.turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    moved = points - np.array(frame.origin_m)
    return np.column_stack([moved[:, :2] @ np.array([[c, -s], [s, c]]), moved[:, 2]])


def out_of_room(points: Floats, frame: RoomFrame) -> Floats:
    """Points (n, 3) of the room's frame in the model's axes: the way back."""
    angle = math.radians(frame.turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    turned: Floats = np.column_stack([points[:, :2] @ np.array([[c, s], [-s, c]]), points[:, 2]])
    return np.asarray(turned + np.array(frame.origin_m))


def spaces(files: Sequence[ModelFile], shapes: Shapes, floors: Sequence[Patch]) -> Iterator[Space | Skipped]:
    """Every space of the files, in their order. `floors` are the tops of slabs and floorings, model axes."""
    for file in files:
        for entity in file.by_class("IfcSpace"):
            body = shapes.body(entity, file, "room")
            number, name = number_and_name(entity)
            if body is None:
                yield Skipped(str(entity.GlobalId), name or number, "no-shape")
                continue
            yield _space(entity, file, body, floors)


def number_and_name(entity: Any) -> tuple[str, str]:
    """A space's number and name: Name and LongName, which files use in three ways.

    "A102" with "Living Room"; "1 - Living room" with "Living room"; "living room" twice or alone. A Name
    without a digit is a name.
    """
    short, long = (str(value or "").strip() for value in (entity.Name, entity.LongName))
    if not long or long == short:
        return ("", short) if not re.search(r"\d", short) or " " in short else (short, "")
    rest = re.sub(rf"[\s\-–:,.]*{re.escape(long)}\s*$", "", short)
    return (rest or short if re.search(r"\d", rest or short) else "", long)


def _space(entity: Any, file: ModelFile, body: Body, floors: Sequence[Patch]) -> Space | Skipped:
    number, name = number_and_name(entity)
    vertices = body.vertices
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    if high[2] - low[2] < LOWEST_ROOM_M:
        return Skipped(str(entity.GlobalId), name or number, "no-height")
    # near the origin, so that no digit is lost to a site's large coordinates
    rough = np.array([*np.floor(low[:2]), low[2]])
    near = vertices - rough
    parts = pieces(together(patch.area for patch in patches(near, body.faces)))
    if not parts or parts[0].area < SMALLEST_ROOM_M2:
        return Skipped(str(entity.GlobalId), name or number, "no-area")
    turn_deg, straight = _laid_straight(parts[0])
    outline = _turned(straight.polygon, turn_deg)
    corner = np.array(outline.bounds[:2])
    floor_m, steps = _floor(near, body, outline, floors, rough)
    origin = rough + np.array([*corner, floor_m])
    frame = RoomFrame((float(origin[0]), float(origin[1]), float(origin[2])), turn_deg)
    moved = into_room(vertices, frame)
    own = shapely.transform(straight.polygon, lambda points: points - _turned_point(corner, -turn_deg))
    parents = tuple(_parents(entity))
    return Space(
        entity=entity,
        file=file,
        number=number,
        name=name,
        storey=next((names for kind, _, names in parents if kind == "storey"), ""),
        parents=tuple((kind, guid) for kind, guid, _ in parents),
        project=next((names for kind, _, names in parents[::-1] if names and kind != "storey"), ""),
        outline=own,
        straightening=Straightening(straight.moved_m, straight.left_out, len(parts)),
        frame=frame,
        floor_steps=steps,
        top=tuple(highest(patches(moved, body.faces), own)),
    )


def _laid_straight(area: Polygon) -> tuple[float, Any]:
    """The turn that lays a wall along an axis, as the contract has it, and the outline laid so and straightened."""
    straight = straightened(area, STRAIGHTENED_WITHIN_M)
    ring = np.asarray(straight.polygon.exterior.coords)
    runs = np.diff(ring, axis=0)
    lengths = np.hypot(*runs.T)
    angles = np.degrees(np.arctan2(runs[:, 1], runs[:, 0]))
    off = (angles + 45) % 90 - 45  # to the nearest axis, from -45° to 45°
    walls = lengths >= SHORTEST_WALL_M
    if (np.abs(off[walls]) <= PARALLEL_DEG).any():
        return 0.0, straight
    turn = round(float(off[int(np.argmax(np.round(lengths, 4)))]), TURN_DECIMALS)
    return turn, straightened(_turned(area, -turn), STRAIGHTENED_WITHIN_M)


def _turned(shape: Any, degrees: float) -> Any:
    return shape if not degrees else shapely.transform(shape, lambda points: _turned_point(points, degrees))


def _turned_point(points: Floats, degrees: float) -> Floats:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


RAISED_M: Final = 0.3
"""A floor's finish may lie this far above the bottom of the space that was drawn for it."""


def _floor(
    near: Floats, body: Body, outline: Polygon, floors: Sequence[Patch], rough: Floats
) -> tuple[float, bool]:
    """The finished floor above `rough`, and whether the space's bottom has several levels.

    The level with the largest share of the space's bottom; or the top of a slab or flooring a little above
    it that lies under more than half of the room.
    """
    bottom = lowest(patches(near, body.faces), outline)
    base = bottom[0].span_m[0] if bottom else float(near[:, 2].min())
    steps = any(max(abs(value - base) for value in patch.span_m) > LEVEL_M for patch in bottom)
    here = []
    for patch in floors:
        height = patch.plane.c - rough[2]
        if patch.plane.level and LEVEL_M < height - base <= RAISED_M:
            area = shapely.transform(patch.area, lambda points: points - rough[:2])
            here.append(Patch(area, Plane(0.0, 0.0, height)))
    finish = highest(here, outline)
    covered = [patch for patch in finish if patch.area.area > 0.5 * outline.area]
    return (covered[0].plane.c if covered else base), steps


def _parents(entity: Any) -> Iterator[tuple[str, str, str]]:
    """Kind, GlobalId and name of what the space is part of, outwards: storey, building, site, project."""
    kinds = {
        "IfcBuildingStorey": "storey",
        "IfcBuilding": "building",
        "IfcSite": "site",
        "IfcProject": "project",
    }
    seen: set[str] = set()
    one = entity
    while (one := _parent(one)) is not None and one.id() not in seen:
        kind = kinds.get(one.is_a())
        if kind and kind not in seen:
            seen.add(kind)
            yield kind, str(one.GlobalId), str(one.Name or getattr(one, "LongName", None) or "")


def _parent(entity: Any) -> Any | None:
    """What an object is decomposed from, or contained in."""
    for relation in getattr(entity, "Decomposes", ()):
        return relation.RelatingObject
    for relation in getattr(entity, "ContainedInStructure", ()):
        return relation.RelatingStructure
    return None
