"""Small IFC models made to order: rooms, ceilings, slabs, doors, furniture and devices, in any schema, unit and frame.

Everything is given in metres; the file has its own unit. Bodies are extrusions, or faces for what slopes.
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid

Point = tuple[float, float]

UNITS = {"m": 1.0, "mm": 0.001, "ft": 0.3048}
NAMESPACE = uuid.UUID("6f1c6b0e-6a0c-4f0e-9a3e-0d4f5b1f2a77")


def guid(name: str) -> str:
    """A GlobalId that is the same for the same name."""
    return str(ifcopenshell.guid.compress(uuid.uuid5(NAMESPACE, name).hex))


def rectangle(x: float, y: float, width: float, depth: float) -> list[Point]:
    """The corners of a rectangle from its lowest corner."""
    return [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]


class Model:
    """A model under construction. Lengths in metres."""

    def __init__(
        self,
        schema: str = "IFC4",
        unit: str = "m",
        *,
        site_at: tuple[float, float, float] = (0.0, 0.0, 0.0),
        site_turn: float = 0.0,
        true_north: Sequence[float] | None = None,
        conversion: tuple[float, float, float, float, float] | None = None,
        storeys: Sequence[tuple[str, float]] = (("Level 0", 0.0),),
    ) -> None:
        self.file = ifcopenshell.file(schema=schema)
        self.schema, self.metre = schema, UNITS[unit]
        self.count = 0
        self.owner = self._owner() if schema == "IFC2X3" else None
        north = None if true_north is None else self.direction(true_north)
        self.context = self.file.create_entity(
            "IfcGeometricRepresentationContext",
            ContextType="Model",
            CoordinateSpaceDimension=3,
            Precision=1e-5,
            WorldCoordinateSystem=self.axes((0.0, 0.0, 0.0)),
            TrueNorth=north,
        )
        self.project = self.root("IfcProject", "Trial House", UnitsInContext=self._units(unit))
        self.project.RepresentationContexts = [self.context]
        if conversion is not None:
            self._map(conversion)
        self.site = self.root("IfcSite", "Site", ObjectPlacement=self.placement(None, site_at, site_turn))
        self.building = self.root(
            "IfcBuilding", "House", ObjectPlacement=self.placement(self.site.ObjectPlacement)
        )
        self.storeys = {
            name: self.root(
                "IfcBuildingStorey",
                name,
                ObjectPlacement=self.placement(self.building.ObjectPlacement, (0.0, 0.0, height)),
            )
            for name, height in storeys
        }
        self.aggregate(self.project, self.site)
        self.aggregate(self.site, self.building)
        for storey in self.storeys.values():
            self.aggregate(self.building, storey)

    # ---- entities

    def root(self, kind: str, name: str | None, **values: Any) -> Any:
        """An entity with a GlobalId."""
        self.count += 1
        known = {"GlobalId": guid(f"{kind} {name} {self.count}"), "Name": name, **values}
        if self.owner is not None:
            known["OwnerHistory"] = self.owner
        return self.file.create_entity(kind, **known)

    def aggregate(self, whole: Any, *parts: Any) -> None:
        """Parts of a whole."""
        self.root("IfcRelAggregates", None, RelatingObject=whole, RelatedObjects=list(parts))

    def contain(self, thing: Any, storey: str | None = None) -> Any:
        """A thing in a storey, the first if none is named."""
        name = storey or next(iter(self.storeys))
        self.root(
            "IfcRelContainedInSpatialStructure",
            None,
            RelatedElements=[thing],
            RelatingStructure=self.storeys[name],
        )
        return thing

    def typed(self, thing: Any, type: Any) -> Any:
        """A thing of a type."""
        self.root("IfcRelDefinesByType", None, RelatedObjects=[thing], RelatingType=type)
        return thing

    # ---- geometry

    def direction(self, ratios: Sequence[float]) -> Any:
        return self.file.create_entity("IfcDirection", DirectionRatios=[float(value) for value in ratios])

    def point(self, at: Sequence[float]) -> Any:
        return self.file.create_entity(
            "IfcCartesianPoint", Coordinates=[float(value) / self.metre for value in at]
        )

    def axes(self, at: Sequence[float], turn: float = 0.0) -> Any:
        angle = math.radians(turn)
        return self.file.create_entity(
            "IfcAxis2Placement3D",
            Location=self.point(at),
            Axis=self.direction((0, 0, 1)),
            RefDirection=self.direction((math.cos(angle), math.sin(angle), 0)),
        )

    def placement(self, parent: Any, at: Sequence[float] = (0.0, 0.0, 0.0), turn: float = 0.0) -> Any:
        return self.file.create_entity(
            "IfcLocalPlacement", PlacementRelTo=parent, RelativePlacement=self.axes(at, turn)
        )

    def prism(self, outline: Sequence[Point], low: float, high: float) -> Any:
        """An extrusion upwards."""
        corners = [self.point(corner) for corner in (*outline, outline[0])]
        profile = self.file.create_entity(
            "IfcArbitraryClosedProfileDef",
            ProfileType="AREA",
            OuterCurve=self.file.create_entity("IfcPolyline", Points=corners),
        )
        return self.file.create_entity(
            "IfcExtrudedAreaSolid",
            SweptArea=profile,
            Position=self.axes((0.0, 0.0, low)),
            ExtrudedDirection=self.direction((0, 0, 1)),
            Depth=(high - low) / self.metre,
        )

    def cylinder(self, at: Point, diameter: float, low: float, high: float) -> Any:
        """An upright cylinder."""
        profile = self.file.create_entity(
            "IfcCircleProfileDef",
            ProfileType="AREA",
            Position=self.file.create_entity("IfcAxis2Placement2D", Location=self.point(at)),
            Radius=diameter / 2 / self.metre,
        )
        return self.file.create_entity(
            "IfcExtrudedAreaSolid",
            SweptArea=profile,
            Position=self.axes((0.0, 0.0, low)),
            ExtrudedDirection=self.direction((0, 0, 1)),
            Depth=(high - low) / self.metre,
        )

    def brep(self, corners: Sequence[tuple[float, float, float]], faces: Sequence[Sequence[int]]) -> Any:
        """A body of plane faces."""
        points = [self.point(corner) for corner in corners]
        made = []
        for face in faces:
            loop = self.file.create_entity("IfcPolyLoop", Polygon=[points[i] for i in face])
            bound = self.file.create_entity("IfcFaceOuterBound", Bound=loop, Orientation=True)
            made.append(self.file.create_entity("IfcFace", Bounds=[bound]))
        shell = self.file.create_entity("IfcClosedShell", CfsFaces=made)
        return self.file.create_entity("IfcFacetedBrep", Outer=shell)

    def sloped(
        self, outline: Sequence[Point], low: Sequence[float], thickness: float | None, floor: float
    ) -> Any:
        """A body over an outline whose heights at the corners are `low`: a slab of that thickness above them, or,
        without a thickness, what is between them and the floor."""
        n = len(outline)
        under = [floor] * n if thickness is None else list(low)
        over = list(low) if thickness is None else [height + thickness for height in low]
        corners = [(x, y, z) for heights in (under, over) for (x, y), z in zip(outline, heights, strict=True)]
        sides = [[i, (i + 1) % n, n + (i + 1) % n, n + i] for i in range(n)]
        return self.brep(corners, [list(range(n))[::-1], [n + i for i in range(n)], *sides])

    def shape(self, *items: Any) -> Any:
        """The body of a thing."""
        kind = "Brep" if items[0].is_a("IfcFacetedBrep") else "SweptSolid"
        body = self.file.create_entity(
            "IfcShapeRepresentation",
            ContextOfItems=self.context,
            RepresentationIdentifier="Body",
            RepresentationType=kind,
            Items=list(items),
        )
        return self.file.create_entity("IfcProductDefinitionShape", Representations=[body])

    def mapped(self, shape: Any) -> Any:
        """The body of a thing whose type has it: one map, many instances."""
        source = shape if shape.is_a("IfcRepresentationMap") else self.map_of(shape)
        target = self.file.create_entity(
            "IfcCartesianTransformationOperator3D", LocalOrigin=self.point((0.0, 0.0, 0.0))
        )
        item = self.file.create_entity("IfcMappedItem", MappingSource=source, MappingTarget=target)
        body = self.file.create_entity(
            "IfcShapeRepresentation",
            ContextOfItems=self.context,
            RepresentationIdentifier="Body",
            RepresentationType="MappedRepresentation",
            Items=[item],
        )
        return self.file.create_entity("IfcProductDefinitionShape", Representations=[body])

    def map_of(self, shape: Any) -> Any:
        """A representation map of a body, for a type."""
        return self.file.create_entity(
            "IfcRepresentationMap",
            MappingOrigin=self.axes((0.0, 0.0, 0.0)),
            MappedRepresentation=shape.Representations[0],
        )

    # ---- things

    def space(
        self,
        name: str,
        long_name: str | None,
        outline: Sequence[Point] | None,
        low: float = 0.0,
        high: float = 2.7,
        *,
        storey: str | None = None,
        body: Any = None,
    ) -> Any:
        """A room of that plan between two heights above its storey; without an outline or body, without a shape."""
        items = [body] if body is not None else [] if outline is None else [self.prism(outline, low, high)]
        level = self.storeys[storey or next(iter(self.storeys))]
        space = self.root(
            "IfcSpace",
            name,
            LongName=long_name,
            ObjectPlacement=self.placement(level.ObjectPlacement),
            Representation=self.shape(*items) if items else None,
            CompositionType="ELEMENT",
        )
        if self.schema == "IFC2X3":
            space.InteriorOrExteriorSpace = "INTERNAL"
        self.aggregate(level, space)
        return space

    def thing(
        self,
        kind: str,
        name: str | None,
        shape: Any,
        at: Sequence[float] = (0.0, 0.0, 0.0),
        turn: float = 0.0,
        *,
        storey: str | None = None,
        type: Any = None,
        **values: Any,
    ) -> Any:
        """Anything placed in a storey: `shape` is an item, a mapped body, or None."""
        level = self.storeys[storey or next(iter(self.storeys))]
        body = shape if shape is None or shape.is_a("IfcProductDefinitionShape") else self.shape(shape)
        thing = self.root(
            kind,
            name,
            ObjectPlacement=self.placement(level.ObjectPlacement, at, turn),
            Representation=body,
            **values,
        )
        if type is not None:
            self.typed(thing, type)
        return self.contain(thing, storey)

    def ceiling(self, name: str, outline: Sequence[Point], height: float, **values: Any) -> Any:
        """A ceiling 20 mm thick."""
        return self.thing(
            "IfcCovering",
            name,
            self.prism(outline, height, height + 0.02),
            PredefinedType="CEILING",
            **values,
        )

    def slab(self, outline: Sequence[Point], low: float, high: float, **values: Any) -> Any:
        """A slab."""
        return self.thing("IfcSlab", "Slab", self.prism(outline, low, high), PredefinedType="FLOOR", **values)

    def chair_shape(self, back: str = "+y") -> Any:
        """A chair: a seat of 0.5 × 0.5 m at 0.45, its back of 0.9 m at one side."""
        seat = self.prism(rectangle(-0.25, -0.25, 0.5, 0.5), 0.0, 0.45)
        strips = {
            "+y": rectangle(-0.25, 0.2, 0.5, 0.05),
            "-x": rectangle(-0.25, -0.25, 0.05, 0.5),
            "": rectangle(-0.25, -0.25, 0.5, 0.5),
        }
        top = 0.9 if back else 0.46
        return self.shape(seat, self.prism(strips[back], 0.45, top))

    def opening(
        self,
        kind: str,
        name: str,
        at: Point,
        turn: float,
        width: float,
        low: float,
        high: float,
        thickness: float = 0.2,
    ) -> Any:
        """A wall's void with a door or window in it (IfcOpeningElement: nothing in it); `at` is the middle of the
        void's width on the wall's middle line, its own y axis across the wall."""
        wall = self.thing("IfcWall", "Wall", None)
        placed = (*at, 0.0)
        void = self.root(
            "IfcOpeningElement",
            name,
            ObjectPlacement=self.placement(wall.ObjectPlacement, placed, turn),
            Representation=self.shape(
                self.prism(rectangle(-width / 2, -thickness / 2, width, thickness), low, high)
            ),
        )
        self.root("IfcRelVoidsElement", None, RelatingBuildingElement=wall, RelatedOpeningElement=void)
        if kind == "IfcOpeningElement":
            return void
        leaf = self.thing(
            kind,
            name,
            self.prism(rectangle(-width / 2, -0.02, width, 0.04), low, high),
            placed,
            turn,
        )
        self.root("IfcRelFillsElement", None, RelatingOpeningElement=void, RelatedBuildingElement=leaf)
        return leaf

    def write(self, folder: Path, name: str = "model.ifc") -> Path:
        """The file."""
        path = folder / name
        self.file.write(str(path))
        return path

    # ---- heads

    def _owner(self) -> Any:
        person = self.file.create_entity("IfcPerson", FamilyName="Nobody")
        company = self.file.create_entity("IfcOrganization", Name="overtable tests")
        who = self.file.create_entity("IfcPersonAndOrganization", ThePerson=person, TheOrganization=company)
        program = self.file.create_entity(
            "IfcApplication", company, "1", "overtable tests", "overtable-tests"
        )
        return self.file.create_entity(
            "IfcOwnerHistory",
            OwningUser=who,
            OwningApplication=program,
            ChangeAction="ADDED",
            CreationDate=1_700_000_000,
        )

    def _units(self, unit: str) -> Any:
        metre = self.file.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")
        length = metre
        if unit == "mm":
            length.Prefix = "MILLI"
        if unit == "ft":
            length = self.file.create_entity(
                "IfcConversionBasedUnit",
                Dimensions=self.file.create_entity("IfcDimensionalExponents", 1, 0, 0, 0, 0, 0, 0),
                UnitType="LENGTHUNIT",
                Name="FOOT",
                ConversionFactor=self.file.create_entity(
                    "IfcMeasureWithUnit",
                    ValueComponent=self.file.create_entity("IfcLengthMeasure", 0.3048),
                    UnitComponent=metre,
                ),
            )
        angle = self.file.create_entity("IfcSIUnit", UnitType="PLANEANGLEUNIT", Name="RADIAN")
        area = self.file.create_entity("IfcSIUnit", UnitType="AREAUNIT", Name="SQUARE_METRE")
        return self.file.create_entity("IfcUnitAssignment", Units=[length, area, angle])

    def _map(self, conversion: tuple[float, float, float, float, float]) -> None:
        east, north, height, abscissa, ordinate = conversion
        self.file.create_entity(
            "IfcMapConversion",
            SourceCRS=self.context,
            TargetCRS=self.file.create_entity("IfcProjectedCRS", Name="EPSG:25832"),
            Eastings=east,
            Northings=north,
            OrthogonalHeight=height,
            XAxisAbscissa=abscissa,
            XAxisOrdinate=ordinate,
            Scale=self.metre,
        )
