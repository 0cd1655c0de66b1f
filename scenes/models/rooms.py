"""A building read: every room of a set of model files with its ceiling, openings, furniture, people and devices."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.envelope import Patch, Plane, patches
from geometry.outlines import corners_of
from scenes.findings.model import (
    Building,
    CeilingKind,
    Doubt,
    FileFacts,
    ModelRoom,
    RoomFrame,
    Skipped,
)
from scenes.models import kinds
from scenes.models.ceilings import Over, Overhead, ceiling_of, overhead, underside
from scenes.models.devices import hung
from scenes.models.files import ModelFile, open_models, to_first
from scenes.models.furnishing import looks_like, obstacles, seats, tables
from scenes.models.openings import openings
from scenes.models.refusals import ModelRefused
from scenes.models.shapes import Shapes
from scenes.models.spaces import Space, out_of_room, spaces
from scenes.models.things import InRoom, Thing, thing_of

Floats = NDArray[np.float64]

LOWEST_TALKER_M: Final = 1.5
"""Under a ceiling that is nowhere higher nobody stands and talks: a roof space, a shaft."""


class Reading:
    """A set of files while rooms are read from it. Each sort of thing is looked for once, when it is first needed."""

    def __init__(self, files: Sequence[ModelFile]) -> None:
        self.files = tuple(files)
        self.shapes = Shapes(files)
        self._over_rooms: dict[str, Overhead] = {}

    @classmethod
    def of(cls, paths: Sequence[Path]) -> Reading:
        """The reading of these files. Raises ModelRefused, ReaderMissing."""
        return cls(open_models(paths))

    @cached_property
    def spaces(self) -> tuple[Space | Skipped, ...]:
        """The spaces in file order. Raises ModelRefused where there is none, or none with a shape."""
        found = tuple(spaces(self.files, self.shapes, self._floors))
        if not found:
            raise ModelRefused("no-rooms", self._names)
        if all(isinstance(one, Skipped) for one in found):
            raise ModelRefused("no-shapes", self._names, (str(len(found)),))
        return found

    @property
    def _names(self) -> str:
        """The files as the user named them."""
        return ", ".join(str(file.path) for file in self.files)

    def _overhead(self, space: Space) -> Overhead:
        """What is over a room; kept, since a list of rooms asks before the room is read."""
        if space.guid not in self._over_rooms:
            coverings = self._over(self._coverings, space)
            self._over_rooms[space.guid] = overhead(space, coverings, self._undersides(space))
        return self._over_rooms[space.guid]

    def _too_low(self, space: Space) -> bool:
        return ceiling_of(space, self._overhead(space))[0].span_m[1] < LOWEST_TALKER_M

    @cached_property
    def _coverings(self) -> list[Patch]:
        """The undersides of ceilings, in the model's axes."""
        words = kinds.tables()
        found: list[Patch] = []
        for file in self.files:
            for entity in file.by_class("IfcCovering"):
                if kinds.is_ceiling(entity):
                    names = kinds.names_of(entity, kinds.type_of(entity))
                    says: CeilingKind | None = None
                    if kinds.says(names, words["tiles"]):
                        says = "suspended"
                    elif kinds.says(names, words["boards"]):
                        says = "hard"
                    found += self._faces(entity, file, Over(str(entity.GlobalId), says))
        return found

    @cached_property
    def _slabs(self) -> list[Patch]:
        """All faces of slabs and roofs; of beams too where there is neither."""
        found: list[Patch] = []
        for names in (("IfcSlab", "IfcRoof"), ("IfcBeam",)):
            for file in self.files:
                for entity in file.by_class(*names):
                    found += self._faces(entity, file, Over(str(entity.GlobalId)))
            if found:
                break
        return found

    @cached_property
    def _floors(self) -> list[Patch]:
        """The level faces of slabs and floorings."""
        found = [patch for patch in self._slabs if patch.plane.level]
        for file in self.files:
            for entity in file.by_class("IfcCovering"):
                if kinds.is_flooring(entity):
                    faces = self._faces(entity, file, Over(str(entity.GlobalId)))
                    found += [patch for patch in faces if patch.plane.level]
        return found

    def _faces(self, entity: Any, file: ModelFile, over: Over) -> list[Patch]:
        body = self.shapes.body(entity, file, "room")
        return [] if body is None else patches(body.vertices, body.faces, over)

    @cached_property
    def _devices(self) -> list[Thing]:
        return list(
            self._things(
                (
                    "IfcDistributionElement",
                    "IfcBuildingElementProxy",
                    "IfcFurnishingElement",
                    "IfcBeam",
                    "IfcDiscreteAccessory",
                )
            )
        )

    @cached_property
    def _furniture(self) -> dict[str, list[tuple[Any, ModelFile]]]:
        """Furniture by what it is: chair, table, other; columns are among the other. Not yet with bodies."""
        found: dict[str, list[tuple[Any, ModelFile]]] = {"chair": [], "table": [], "other": []}
        devices = {thing.guid for thing in self._devices}
        for file in self.files:
            for entity in file.by_class("IfcFurnishingElement", "IfcBuildingElementProxy", "IfcColumn"):
                if entity.GlobalId in devices:
                    continue
                kind = "other" if entity.is_a("IfcColumn") else kinds.furniture(entity)
                if kind is not None:
                    found[kind].append((entity, file))
        return found

    @cached_property
    def _seating(self) -> dict[str, list[Thing]]:
        """Chairs and tables, furniture without a name among them if it looks like one."""
        found: dict[str, list[Thing]] = {"chair": [], "table": []}
        nameless = [
            pair
            for pair in self._furniture["other"]
            if pair[0].is_a("IfcFurnishingElement") and kinds.unnamed(pair[0])
        ]
        for kind in ("chair", "table"):
            for entity, file in self._furniture[kind]:
                thing = thing_of(entity, file, self.shapes, "furniture", kind=kind)
                found[kind] += [] if thing is None else [thing]
        for entity, file in nameless:
            thing = thing_of(entity, file, self.shapes, "furniture", kind="other")
            if thing is not None and thing.body is not None:
                seen = looks_like(InRoom(thing, thing.body.vertices))
                if seen is not None:
                    found[seen].append(replace(thing, kind=seen, guessed=True))
        return found

    @cached_property
    def _standing(self) -> list[Thing]:
        """Columns and other furniture."""
        seated = {thing.guid for things in self._seating.values() for thing in things}
        made = (
            thing_of(entity, file, self.shapes, "column" if entity.is_a("IfcColumn") else "furniture")
            for entity, file in self._furniture["other"]
            if entity.GlobalId not in seated
        )
        return [thing for thing in made if thing is not None]

    @cached_property
    def _openings(self) -> list[Thing]:
        """Doors, windows and voids, each void once: with what fills it, or by itself."""
        found: list[Thing] = []
        for file in self.files:
            for entity in file.by_class("IfcDoor", "IfcWindow", "IfcOpeningElement", "IfcCurtainWall"):
                found += _opening_things(entity, file, self.shapes)
        return found

    def _things(self, classes: Sequence[str]) -> Iterator[Thing]:
        for file in self.files:
            for entity in file.by_class(*classes):
                found = kinds.device(entity)
                if found is None:
                    continue
                thing = thing_of(entity, file, self.shapes, "device", kind=found.kind, guessed=found.guessed)
                if thing is not None:
                    yield thing

    def facts(self) -> tuple[FileFacts, ...]:
        """The files as a spec names them."""
        return tuple(FileFacts(file.name, file.schema, file.unit, file.sha256) for file in self.files)

    def building(self, *, whole: bool = True) -> Building:
        """Every room; not `whole`: without what stands in it, as a list of rooms needs it."""
        rooms: list[ModelRoom] = []
        skipped: list[Skipped] = []
        for one in self.spaces:
            if isinstance(one, Skipped):
                skipped.append(one)
            elif self._too_low(one):
                skipped.append(Skipped(one.guid, one.name or one.number, "too-low"))
            else:
                rooms.append(self.room(one, whole=whole))
        if not rooms:
            raise ModelRefused("no-shapes", self._names, (str(len(skipped)),))
        return Building(self.facts(), tuple(rooms), tuple(skipped))

    def chosen(self, name: str) -> Space:
        """The space of that number, name or GlobalId. Raises ModelRefused for none and for several."""
        every = self.spaces
        exact = [one for one in every if one.guid == name]
        wanted = name.strip().casefold()
        named = exact or [
            one
            for one in every
            if wanted in (one.name.casefold(), getattr(one, "number", "").casefold(), _both(one))
        ]
        if not named:
            raise ModelRefused("no-such-room", self._names, (name, *map(_shown, every)))
        if len(named) > 1:
            raise ModelRefused(
                "several-rooms", self._names, (name, *(f"{_shown(one)} {one.guid}" for one in named))
            )
        one = named[0]
        if isinstance(one, Skipped):
            raise ModelRefused(
                "room-without-height" if one.why == "no-height" else "room-without-shape",
                self._names,
                (name,),
            )
        if self._too_low(one):
            raise ModelRefused("room-too-low", self._names, (name,))
        return one

    def room(self, space: Space, *, whole: bool = True) -> ModelRoom:
        """All that a spec can say of one room; not `whole`: without columns, cupboards and the like."""
        over = self._overhead(space)
        ceiling, doubts = ceiling_of(space, over)
        top_m = max(ceiling.span_m[1], ceiling.structure_m or 0.0)
        doors, cut = openings(self._openings, space, top_m)
        found_tables, of_tables = tables(self._seating["table"], space)
        found_seats, of_seats = seats(self._seating["chair"], space, found_tables)
        others = self._standing if whole else ()
        standing, of_standing, low = obstacles(others, space, ceiling.span_m[1])
        above = hung(self._devices, space, over)
        if space.floor_steps:
            doubts.append(Doubt("room", "floor-steps", "flattened"))
        if space.straightening.pieces > 1:
            doubts.append(Doubt("room.outline", "outline-pieces", "flattened"))
        return ModelRoom(
            guid=space.guid,
            number=space.number,
            name=space.name,
            storey=space.storey,
            area_m2=float(space.outline.area),
            frame=space.frame,
            outline_m=corners_of(space.outline),
            straightening=space.straightening,
            ceiling=ceiling,
            north_deg=_north(space, self.files),
            openings=tuple(doors),
            tables=tuple(found_tables),
            seats=tuple(found_seats),
            devices=tuple(above.devices),
            obstacles=tuple(standing),
            cameras=tuple(above.cameras),
            displays=tuple(above.displays),
            doubts=(*doubts, *cut, *of_tables, *of_seats, *of_standing, *above.doubts),
            left_out=(("low furniture", low),) if low else (),
            parents=space.parents,
            project=space.project,
        )

    def _undersides(self, space: Space) -> list[Patch]:
        """What is lowest of each slab or roof over the room: their undersides, whichever way they are wound."""
        by_thing: dict[str, list[Patch]] = {}
        for patch in self._over(self._slabs, space):
            by_thing.setdefault(patch.mark.guid, []).append(patch)
        return [patch for faces in by_thing.values() for patch in underside(faces, space.outline)]

    def _over(self, faces: Sequence[Patch], space: Space) -> list[Patch]:
        """Faces of the model that are over or under the room's plan, in its frame."""
        corners = out_of_room(
            np.column_stack(
                [
                    shapely.get_coordinates(space.outline),
                    np.zeros(len(shapely.get_coordinates(space.outline))),
                ]
            ),
            space.frame,
        )[:, :2]
        around = shapely.box(*corners.min(axis=0), *corners.max(axis=0))
        return [_moved(face, space.frame) for face in faces if face.area.intersects(around)]


def read_building(paths: Sequence[Path]) -> Building:
    """Every room of these files. Raises ModelRefused, ReaderMissing."""
    return Reading.of(paths).building()


def _opening_things(entity: Any, file: ModelFile, shapes: Shapes) -> Iterator[Thing]:
    """A door or window with its void's body where it has one; a void that nothing fills; a glazed wall's panes."""
    if entity.is_a("IfcOpeningElement"):
        if not entity.HasFillings and not entity.is_a("IfcOpeningStandardCase"):
            thing = thing_of(entity, file, shapes, "opening", kind="void")
            if thing is not None:
                yield thing
        return
    if entity.is_a("IfcCurtainWall"):
        yield from _panes(entity, file, shapes)
        return
    kind = "door" if entity.is_a("IfcDoor") else "window"
    voids = [relation.RelatingOpeningElement for relation in entity.FillsVoids]
    own = (
        thing_of(entity, file, shapes, "glazing" if not voids else "opening", kind=kind)
        if not voids
        else None
    )
    if voids:
        void = thing_of(voids[0], file, shapes, "opening", kind=kind)
        if void is not None:
            # the void's body, the door's own axes
            yield replace(void, entity=entity, matrix=shapes.matrix(entity, file))
    elif own is not None:
        yield own


def _panes(wall: Any, file: ModelFile, shapes: Shapes) -> Iterator[Thing]:
    """The glazing of a curtain wall as one window: a box round its plates, or round all its parts."""
    parts = [part for relation in wall.IsDecomposedBy for part in relation.RelatedObjects]
    plates = [part for part in parts if part.is_a("IfcPlate")] or parts or [wall]
    made = [
        thing
        for part in plates
        if (thing := thing_of(part, file, shapes, "glazing", kind="pane")) is not None
    ]
    made = [thing for thing in made if thing.body is not None]
    if made:
        first = made[0]
        assert first.body is not None
        points = np.vstack([thing.body.vertices for thing in made if thing.body is not None])
        own = (points - first.body.matrix[:3, 3]) @ first.body.matrix[:3, :3]
        body = replace(first.body, own=own, faces=np.zeros((0, 3), np.int64))
        yield replace(
            first, entity=wall, body=body, kind="window", low_m=points.min(axis=0), high_m=points.max(axis=0)
        )


def _moved(face: Patch, frame: RoomFrame) -> Patch:
    """A face of the model's axes in the room's frame."""
    angle = math.radians(frame.turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    x, y, z = frame.origin_m
    plane = face.plane
    area = shapely.transform(
        face.area, lambda points: (points - np.array([x, y])) @ np.array([[c, -s], [s, c]])
    )
    return Patch(
        area,
        Plane(
            plane.a * c + plane.b * s,
            -plane.a * s + plane.b * c,
            plane.a * x + plane.b * y + plane.c - z,
        ),
        face.mark,
    )


def _north(space: Space, files: Sequence[ModelFile]) -> float | None:
    """The plan angle of north in the room: true north where a model gives it, else its map's grid north.

    The room's own model is asked first.
    """
    turn = space.frame.turn_deg
    every = [space.file, *(file for file in files if file is not space.file)]
    for file in every:
        for context in file.by_class("IfcGeometricRepresentationContext"):
            if not context.is_a("IfcGeometricRepresentationSubContext") and context.TrueNorth is not None:
                east, north, *_ = context.TrueNorth.DirectionRatios
                moved = to_first(files, file)[:2, :2] @ np.array([east, north])
                return round((math.degrees(math.atan2(moved[1], moved[0])) - turn) % 360, 3) % 360
    base = files[0].map
    return None if base is None else round((90.0 - base.turn_deg - turn) % 360, 3) % 360


def _both(one: Space | Skipped) -> str:
    """Number and name in one, as people write them."""
    return f"{getattr(one, 'number', '')} {one.name}".strip().casefold()


def _shown(one: Space | Skipped) -> str:
    return f"{getattr(one, 'number', '')} {one.name}".strip()
