"""The room as an IFC4 model, to be laid over the architect's: arrays with their figures, and all that is about them.

Project, site, building, storey, space and every thing that was read from a model keep their GlobalIds; what is new has
one that stays the same from run to run. Metres; the model's own axes, so that nothing has to be moved.
Bands and keep-outs are virtual elements on layers that are off. Needs ifcopenshell (the extra `models`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from geometry.ceiling import Surface
from geometry.shapes import Box, Cylinder, Point2, Solid
from scenes.models.guids import guid_of, thing_guid
from scenes.models.refusals import ReaderMissing
from scenes.room.ceiling import highest_m
from scenes.rules.under import Region, regions_of
from viz.forms import prism
from viz.stage import staged
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.review import ArrayReview, Review
    from scenes.room.scene import Array, Device, Head, Opening, Room

CEILING_M: Final = 0.02
SLAB_M: Final = 0.2
WALL_M: Final = 0.2
TOP_M: Final = 0.03
CHAIR_M: Final = 0.5
BACK_M: Final = 0.05
SEAT_TOP_M: Final = 0.45
BACK_TOP_M: Final = 0.9
MOUTH_BEFORE_CHAIR_M: Final = 0.10
"""As import has it: a mouth is this far before the middle of its chair."""
SCREEN_M: Final = 0.02
STEM_M: Final = 0.02
KEEP_OUT_M: Final = 0.01
CAMERA_M: Final = 0.1

CLASSES: Final = {
    "sprinkler": ("IfcFireSuppressionTerminal", "SPRINKLER"),
    "light": ("IfcLightFixture", "NOTDEFINED"),
    "supply diffuser": ("IfcAirTerminal", "DIFFUSER"),
    "return grille": ("IfcAirTerminal", "GRILLE"),
    "smoke detector": ("IfcSensor", "SMOKESENSOR"),
    "loudspeaker": ("IfcAudioVisualAppliance", "SPEAKER"),
    "projector": ("IfcAudioVisualAppliance", "PROJECTOR"),
    "beam": ("IfcBeam", "BEAM"),
    "exit sign": ("IfcLightFixture", "SECURITYLIGHTING"),
    "emergency light": ("IfcLightFixture", "SECURITYLIGHTING"),
    "strobe": ("IfcAlarm", "LIGHT"),
    "sensor": ("IfcSensor", "MOVEMENTSENSOR"),
    "access point": ("IfcCommunicationsAppliance", "ANTENNA"),
    "fan": ("IfcFan", "NOTDEFINED"),
    "duct": ("IfcDuctSegment", "NOTDEFINED"),
    "pipe": ("IfcPipeSegment", "NOTDEFINED"),
    "cable tray": ("IfcCableCarrierSegment", "CABLETRAYSEGMENT"),
}
"""Entity and predefined type of a device by its kind; what is not here is a proxy with its kind as object type."""
HARDWARE: Final = {
    "cable": ("IfcCableSegment", "CABLESEGMENT"),
    "box": ("IfcJunctionBox", "DATA"),
    "hanger": ("IfcDiscreteAccessory", "USERDEFINED"),
    "clamp": ("IfcDiscreteAccessory", "USERDEFINED"),
}
"""What hangs an array, by the stage's parts."""
LAYERS: Final = {"band": "AV-BAND", "keep-out": "AV-KEEP-OUT"}


def ifc_text(dossier: Dossier) -> str:
    """The model as the text of an IFC file. Raises ReaderMissing without ifcopenshell."""
    try:
        import ifcopenshell
    except ImportError:
        raise ReaderMissing("ifcopenshell", "models") from None
    return _Writer(dossier, ifcopenshell.file(schema="IFC4")).text()


class _Writer:
    """One model under construction. Places are in the space's own axes unless a name says otherwise."""

    def __init__(self, dossier: Dossier, file: Any) -> None:
        self.dossier, self.scene, self.file = dossier, dossier.scene, file
        self.contained: list[Any] = []
        self.layered: dict[str, list[Any]] = {}

    def text(self) -> str:
        """The whole file."""
        self._head()
        self._spaces()
        self._room()
        self._furniture()
        for device in self.scene.overhead:
            self._device(device)
        self._arrays()
        self._virtual()
        self.root(
            "IfcRelContainedInSpatialStructure",
            "contained",
            RelatedElements=self.contained,
            RelatingStructure=self.storey,
        )
        for name, shapes in self.layered.items():
            style = {"LayerOn": False, "LayerFrozen": False, "LayerBlocked": False, "LayerStyles": []}
            self.file.create_entity(
                "IfcPresentationLayerWithStyle", Name=LAYERS[name], AssignedItems=shapes, **style
            )
        header = self.file.header.file_name
        date = self.scene.document.date
        header.time_stamp = f"{date or '1970-01-01'}T00:00:00"
        header.name = self.scene.name
        return str(self.file.to_string())

    # ---- entities

    def root(self, kind: str, key: str, *, id: str | None = None, **values: Any) -> Any:
        """An entity with a GlobalId: the one it has in the architect's model, else one made of its key."""
        return self.file.create_entity(kind, GlobalId=id or guid_of(self.scene, f"{kind}/{key}"), **values)

    def axes(self, at: Sequence[float], turn_deg: float = 0.0) -> Any:
        angle = math.radians(turn_deg)
        x = None
        if turn_deg:
            ratios = [math.cos(angle), math.sin(angle), 0.0]
            x = self.file.create_entity("IfcDirection", DirectionRatios=ratios)
        up = None if x is None else self.file.create_entity("IfcDirection", DirectionRatios=[0.0, 0.0, 1.0])
        return self.file.create_entity(
            "IfcAxis2Placement3D", Location=self.point(at), Axis=up, RefDirection=x
        )

    def point(self, at: Sequence[float]) -> Any:
        return self.file.create_entity("IfcCartesianPoint", Coordinates=[float(value) for value in at])

    def placement(self, around: Any, at: Sequence[float] = (0.0, 0.0, 0.0), turn_deg: float = 0.0) -> Any:
        place = around if around is None or around.is_a("IfcObjectPlacement") else around.ObjectPlacement
        return self.file.create_entity(
            "IfcLocalPlacement", PlacementRelTo=place, RelativePlacement=self.axes(at, turn_deg)
        )

    def prism(self, outline: Sequence[Point2], low: float, high: float) -> Any:
        """An upright prism over a plan outline."""
        corners = [self.point(corner) for corner in [*outline, outline[0]]]
        curve = self.file.create_entity("IfcPolyline", Points=corners)
        profile = self.file.create_entity(
            "IfcArbitraryClosedProfileDef", ProfileType="AREA", OuterCurve=curve
        )
        up = self.file.create_entity("IfcDirection", DirectionRatios=[0.0, 0.0, 1.0])
        return self.file.create_entity(
            "IfcExtrudedAreaSolid",
            SweptArea=profile,
            Position=self.axes((0.0, 0.0, low)),
            ExtrudedDirection=up,
            Depth=float(high - low),
        )

    def cylinder(self, diameter: float, low: float, high: float, hole: float = 0.0) -> Any:
        flat = self.file.create_entity("IfcAxis2Placement2D", Location=self.point((0.0, 0.0)))
        kind, wall = "IfcCircleProfileDef", {}
        if hole:
            kind, wall = "IfcCircleHollowProfileDef", {"WallThickness": (diameter - hole) / 2}
        circle = self.file.create_entity(kind, ProfileType="AREA", Position=flat, Radius=diameter / 2, **wall)
        up = self.file.create_entity("IfcDirection", DirectionRatios=[0.0, 0.0, 1.0])
        return self.file.create_entity(
            "IfcExtrudedAreaSolid",
            SweptArea=circle,
            Position=self.axes((0.0, 0.0, low)),
            ExtrudedDirection=up,
            Depth=float(high - low),
        )

    def block(self, size: Sequence[float], low: float, high: float) -> Any:
        return self.prism(_rectangle(size[0], size[1]), low, high)

    def mesh(self, points: Any, faces: Any) -> Any:
        """Triangles, as they are."""
        listed = self.file.create_entity(
            "IfcCartesianPointList3D", CoordList=[[float(v) for v in point] for point in np.round(points, 6)]
        )
        indices = [[int(i) + 1 for i in face] for face in faces]
        return self.file.create_entity("IfcTriangulatedFaceSet", Coordinates=listed, CoordIndex=indices)

    def shape(self, *items: Any) -> Any:
        return self.file.create_entity(
            "IfcProductDefinitionShape", Representations=[self.representation(*items)]
        )

    def representation(self, *items: Any) -> Any:
        kinds = {item.is_a() for item in items}
        kind = "SweptSolid" if kinds == {"IfcExtrudedAreaSolid"} else "Tessellation"
        if kinds == {"IfcMappedItem"}:
            kind = "MappedRepresentation"
        return self.file.create_entity(
            "IfcShapeRepresentation",
            ContextOfItems=self.body,
            RepresentationIdentifier="Body",
            RepresentationType=kind,
            Items=list(items),
        )

    def thing(
        self,
        kind: str,
        id: str,
        items: Iterable[Any],
        at: Sequence[float] = (0.0, 0.0, 0.0),
        turn_deg: float = 0.0,
        **values: Any,
    ) -> Any:
        """Something in the room, placed in the space's axes."""
        made = list(items)
        thing = self.root(
            kind,
            id,
            id=thing_guid(self.scene, id),
            Name=id,
            ObjectPlacement=self.placement(self.space, at, turn_deg),
            Representation=self.shape(*made) if made else None,
            **values,
        )
        self.contained.append(thing)
        return thing

    # ---- the building

    def _head(self) -> None:
        units = [
            self.file.create_entity("IfcSIUnit", UnitType=kind, Name=name)
            for kind, name in (
                ("LENGTHUNIT", "METRE"),
                ("AREAUNIT", "SQUARE_METRE"),
                ("VOLUMEUNIT", "CUBIC_METRE"),
                ("PLANEANGLEUNIT", "RADIAN"),
            )
        ]
        whole = self.file.create_entity(
            "IfcGeometricRepresentationContext",
            ContextType="Model",
            CoordinateSpaceDimension=3,
            Precision=1e-5,
            WorldCoordinateSystem=self.axes((0.0, 0.0, 0.0)),
        )
        self.body = self.file.create_entity(
            "IfcGeometricRepresentationSubContext",
            ContextIdentifier="Body",
            ContextType="Model",
            ParentContext=whole,
            TargetView="MODEL_VIEW",
        )
        origin = self.scene.origin
        if origin is not None and origin.map is not None:
            self._map(whole, origin.map)
        if self.scene.room.north_deg is not None:
            turn = math.radians(self.scene.room.north_deg + (0.0 if origin is None else origin.turn_deg))
            ratios = [math.cos(turn), math.sin(turn)]
            whole.TrueNorth = self.file.create_entity("IfcDirection", DirectionRatios=ratios)
        self.units = self.file.create_entity("IfcUnitAssignment", Units=units)
        self.context = whole

    def _map(self, whole: Any, place: Any) -> None:
        crs = self.file.create_entity(
            "IfcProjectedCRS",
            Name=place.crs or "unknown",
            MapUnit=self.file.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE"),
        )
        self.file.create_entity(
            "IfcMapConversion",
            SourceCRS=whole,
            TargetCRS=crs,
            Eastings=place.eastings,
            Northings=place.northings,
            OrthogonalHeight=place.height,
            XAxisAbscissa=place.x_axis[0],
            XAxisOrdinate=place.x_axis[1],
            Scale=1.0,
        )

    def _spaces(self) -> None:
        """Project, site, building, storey and the space, each part of the one before."""
        origin, scene = self.scene.origin, self.scene
        parents = {} if origin is None else origin.parents
        project = self.root(
            "IfcProject",
            "project",
            id=parents.get("project"),
            Name=scene.project or scene.name,
            RepresentationContexts=[self.context],
            UnitsInContext=self.units,
        )
        whole, placed = project, None
        for kind, key in (("IfcSite", "site"), ("IfcBuilding", "building"), ("IfcBuildingStorey", "storey")):
            part = self.root(kind, key, id=parents.get(key), Name=key, ObjectPlacement=self.placement(placed))
            self._aggregate(whole, part, key)
            whole, placed = part, part
        self.storey = whole
        at = (0.0, 0.0, 0.0) if origin is None else origin.origin_m
        turn = 0.0 if origin is None else origin.turn_deg
        self.space = self.root(
            "IfcSpace",
            "space",
            id=None if origin is None else origin.space,
            Name=scene.name,
            ObjectPlacement=self.placement(self.storey, at, turn),
            Representation=self.shape(self.prism(scene.room.outline_m, 0.0, highest_m(scene.room))),
            CompositionType="ELEMENT",
            PredefinedType="INTERNAL",
        )
        self._aggregate(self.storey, self.space, "space")

    def _aggregate(self, whole: Any, part: Any, key: str) -> None:
        self.root("IfcRelAggregates", key, RelatingObject=whole, RelatedObjects=[part])

    # ---- the room

    def _room(self) -> None:
        room = self.scene.room
        regions = regions_of(room)
        for region in regions:
            for number, rings in enumerate(region.areas):
                self._covering(region, number, rings)
        slabs = [_slab_m(region.room) for region in regions]
        if len(set(slabs)) == 1:
            self._slab("structure", [room.outline_m], slabs[0])
        else:
            for number, (region, slab) in enumerate(zip(regions, slabs, strict=True)):
                for rings in region.areas:
                    self._slab(f"structure/{number}", rings, slab)
        for opening in room.openings:
            self._opening(opening)

    def _covering(self, region: Region, number: int, rings: Sequence[Sequence[Point2]]) -> None:
        """The finished ceiling over one area, level or sloped; none where it is the structure itself."""
        if region.room.ceiling_kind == "open":
            return
        tiled = region.room.ceiling_kind == "suspended"
        name = Locale.of(self.scene).say("model.tile ceiling" if tiled else "model.plaster ceiling")
        id = "ceiling" if region.part is None else region.part.id
        self.thing(
            "IfcCovering",
            id if number == 0 else f"{id}/{number}",
            [self._plate(rings, region.surface, CEILING_M)],
            ObjectType=name,
            PredefinedType="CEILING",
        )

    def _slab(self, id: str, rings: Sequence[Sequence[Point2]], low: float | None) -> None:
        if low is not None:
            shape = self._plate(rings, Surface((), low), SLAB_M)
            self.thing("IfcSlab", id, [shape], PredefinedType="FLOOR")

    def _plate(self, rings: Sequence[Sequence[Point2]], under: Surface, thick_m: float) -> Any:
        """A plate over an outline with holes whose underside is a surface."""
        if under.flat and len(rings) == 1:
            return self.prism(rings[0], under.level_m, under.level_m + thick_m)
        form = prism(rings[0], 0.0, 1.0, holes=rings[1:])
        points = [(x, y, under.height_m((x, y)) + up * thick_m) for x, y, up in form.points.tolist()]
        return self.mesh(points, form.faces)

    def _opening(self, one: Opening) -> None:
        """A wall without a shape of its own, voided, and the door or window in it."""
        corners = self.scene.room.outline_m
        start, end = corners[one.wall], corners[(one.wall + 1) % len(corners)]
        length = math.dist(start, end)
        along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        out = (along[1], -along[0]) if self.scene.room.anticlockwise else (-along[1], along[0])
        turn = math.degrees(math.atan2(along[1], along[0]))
        middle = one.offset_m + one.width_m / 2
        at = tuple(start[i] + along[i] * middle + out[i] * WALL_M / 2 for i in (0, 1))
        wall = self.thing("IfcWall", f"{one.id}/wall", [], (*at, 0.0), turn)
        low, high = one.sill_m, one.sill_m + one.height_m
        void = self.root(
            "IfcOpeningElement",
            f"{one.id}/void",
            id=thing_guid(self.scene, one.id) if one.kind == "opening" else None,
            Name=one.id,
            ObjectPlacement=self.placement(wall),
            Representation=self.shape(self.block((one.width_m, WALL_M), low, high)),
            PredefinedType="OPENING",
        )
        self.root("IfcRelVoidsElement", one.id, RelatingBuildingElement=wall, RelatedOpeningElement=void)
        if one.kind == "opening":
            return
        leaf = self.thing(
            "IfcDoor" if one.kind == "door" else "IfcWindow",
            one.id,
            [self.block((one.width_m, 0.04), low, high)],
            (*at, 0.0),
            turn,
            OverallHeight=one.height_m,
            OverallWidth=one.width_m,
        )
        self.root("IfcRelFillsElement", one.id, RelatingOpeningElement=void, RelatedBuildingElement=leaf)

    def _furniture(self) -> None:
        scene = self.scene
        for table in scene.tables:
            top = self.prism(table.outline_m, table.height_m - TOP_M, table.height_m)
            self.thing("IfcFurniture", table.id, [top], PredefinedType="TABLE")
        for head in scene.heads:
            if head.posture == "seated" and not head.path_m and not head.id.endswith("-up"):
                self._chair(head)
        for obstacle in scene.obstacles:
            self._solid("IfcColumn", obstacle.id, obstacle.solid, PredefinedType="COLUMN")
        for camera in scene.cameras:
            cube = self.block((CAMERA_M, CAMERA_M), -CAMERA_M / 2, CAMERA_M / 2)
            self.thing("IfcAudioVisualAppliance", camera.id, [cube], camera.at_m, PredefinedType="CAMERA")
        for display in scene.displays:
            half = display.height_m / 2
            face = self.block((SCREEN_M, display.width_m), -half, half)
            self.thing(
                "IfcAudioVisualAppliance",
                display.id,
                [face],
                display.at_m,
                display.facing_deg,
                PredefinedType="DISPLAY",
            )

    def _chair(self, head: Head) -> None:
        """A chair before whose middle the mouth is; it looks where the talker looks."""
        angle = math.radians(head.facing_deg)
        x = head.at_m[0] - MOUTH_BEFORE_CHAIR_M * math.cos(angle)
        y = head.at_m[1] - MOUTH_BEFORE_CHAIR_M * math.sin(angle)
        half = CHAIR_M / 2
        back = [(-half, -half), (-half + BACK_M, -half), (-half + BACK_M, half), (-half, half)]
        items = [
            self.block((CHAIR_M, CHAIR_M), 0.0, SEAT_TOP_M),
            self.prism(back, SEAT_TOP_M, BACK_TOP_M),
        ]
        self.thing("IfcFurniture", head.id, items, (x, y, 0.0), head.facing_deg, PredefinedType="CHAIR")

    def _solid(self, kind: str, id: str, solid: Solid, **values: Any) -> None:
        if isinstance(solid, Box):
            x, y, z = solid.middle_m
            half = solid.size_m[2] / 2
            item = self.block(solid.size_m, -half, half)
            self.thing(kind, id, [item], (x, y, z), solid.turn_deg, **values)
        elif isinstance(solid, Cylinder):
            half = solid.height_m / 2
            item = self.cylinder(2 * solid.radius_m, -half, half)
            self.thing(kind, id, [item], solid.middle_m, **values)

    def _device(self, device: Device) -> None:
        kind, predefined = CLASSES.get(device.kind, ("IfcBuildingElementProxy", "NOTDEFINED"))
        depth = max(device.depth_m, 0.001)
        round_ = device.round
        items = [
            self.cylinder(device.size_m[0], 0.0, depth) if round_ else self.block(device.size_m, 0.0, depth)
        ]
        if device.stem_m:
            items.append(self.block((STEM_M, STEM_M), depth, depth + device.stem_m))
        self.thing(
            kind,
            device.id,
            items,
            (*device.at_m, device.low_m),
            0.0 if round_ else device.turn_deg,
            ObjectType=device.kind,
            PredefinedType=predefined,
        )

    # ---- arrays

    def _arrays(self) -> None:
        types: dict[str, tuple[Any, Any]] = {}
        for array in self.scene.arrays:
            if array.profile.name not in types:
                types[array.profile.name] = self._type(array)
            kind, source = types[array.profile.name]
            target = self.file.create_entity(
                "IfcCartesianTransformationOperator3D", LocalOrigin=self.point((0.0, 0.0, 0.0))
            )
            mapped = self.file.create_entity("IfcMappedItem", MappingSource=source, MappingTarget=target)
            thing = self.thing(
                "IfcAudioVisualAppliance",
                array.id,
                [mapped],
                array.centre_m,
                array.turn_deg,
                ObjectType=array.profile.name,
                PredefinedType="MICROPHONE",
            )
            self.root("IfcRelDefinesByType", array.id, RelatedObjects=[thing], RelatingType=kind)
            self._properties(array, thing)
        for prop in staged(self.dossier):
            _, _, part = prop.id.partition("/")
            if prop.layer == "arrays" and part in HARDWARE and len(prop.faces):
                entity, predefined = HARDWARE[part]
                self.thing(
                    entity,
                    prop.id,
                    [self.mesh(prop.points, prop.faces)],
                    ObjectType=part,
                    PredefinedType=predefined,
                )

    def _type(self, array: Array) -> tuple[Any, Any]:
        """The array's type with its body, and the map of it."""
        profile = array.profile
        low, high = -profile.centre_m, profile.size_m[2] - profile.centre_m
        item = (
            self.cylinder(profile.size_m[0], low, high, hole=profile.hole_m)
            if profile.round
            else self.block(profile.size_m, low, high)
        )
        body = self.representation(item)
        source = self.file.create_entity(
            "IfcRepresentationMap", MappingOrigin=self.axes((0.0, 0.0, 0.0)), MappedRepresentation=body
        )
        kind = self.root(
            "IfcAudioVisualApplianceType",
            profile.name,
            Name=profile.name,
            RepresentationMaps=[source],
            PredefinedType="MICROPHONE",
        )
        return kind, source

    def _properties(self, array: Array, thing: Any) -> None:
        """The figures of an array, lengths in metres, angles in degrees."""
        found = self.dossier.review.array(array.id)
        values = [
            self.file.create_entity("IfcPropertySingleValue", Name=name, NominalValue=self._value(value))
            for name, value in _figures(array, found, self.dossier.review)
            if value is not None
        ]
        made = self.root(
            "IfcPropertySet", f"{array.id}/figures", Name="Overtable_Array", HasProperties=values
        )
        self.root(
            "IfcRelDefinesByProperties",
            f"{array.id}/figures",
            RelatedObjects=[thing],
            RelatingPropertyDefinition=made,
        )

    def _value(self, value: str | float) -> Any:
        if isinstance(value, str):
            return self.file.create_entity("IfcLabel", value)
        return self.file.create_entity("IfcReal", round(float(value), 6))

    def _virtual(self) -> None:
        """Bands and keep-outs, on layers that are off."""
        by_band: dict[str, list[Any]] = {}
        for prop in staged(self.dossier):
            if prop.layer == "band" and prop.solid and len(prop.faces):
                by_band.setdefault(prop.solid, []).append(self.mesh(prop.points, prop.faces))
        for name, items in by_band.items():
            self._virtually("band", name, items)
        for id, areas in self.dossier.keep_outs.items():
            height = self.dossier.review.array(id).height_m
            for i, area in enumerate(areas, 1):
                outline = [(float(x), float(y)) for x, y in area.outline_m]
                name = f"{id}/keep-out/{i}/{area.against}"
                self._virtually("keep-out", name, [self.prism(outline, height, height + KEEP_OUT_M)])

    def _virtually(self, layer: str, name: str, items: Sequence[Any]) -> None:
        self.thing("IfcVirtualElement", name, items, ObjectType=layer)
        self.layered.setdefault(layer, []).extend(items)


def _figures(array: Array, found: ArrayReview, review: Review) -> Sequence[tuple[str, str | float | None]]:
    """Names and values; of a room that fails no tolerance: nothing of it is to be hung so."""
    tolerance = None if review.held else found.tolerance
    return (
        ("Verdict", review.verdict),
        ("Height", found.height_m),
        ("Drop", found.drop_m),
        ("Underside", found.underside_m),
        ("Band", found.band_name),
        ("BandLowDegrees", found.low_deg),
        ("BandHighDegrees", found.high_deg),
        ("ReachNear", array.profile.reach_m[0]),
        ("ReachFar", array.profile.reach_m[1]),
        ("Margin", found.margin_m),
        ("ToleranceSideways", None if tolerance is None else tolerance.sideways_m),
        ("ToleranceUp", None if tolerance is None else tolerance.up_m),
        ("ToleranceDown", None if tolerance is None else tolerance.down_m),
        ("ToleranceLevelDegrees", None if tolerance is None else tolerance.level_deg),
    )


def _rectangle(width: float, depth: float) -> list[Point2]:
    x, y = width / 2, depth / 2
    return [(-x, -y), (x, -y), (x, y), (-x, y)]


def _slab_m(room: Room) -> float | None:
    """Where the structure over one part of the ceiling begins."""
    return room.structure_m or (room.ceiling_m if room.ceiling_kind == "open" else None)
