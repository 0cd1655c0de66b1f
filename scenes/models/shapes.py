"""The bodies of a model's things as meshes: one for each type, moved to where each thing stands.

A thing's body is taken in its own axes and kept under what it is made of (its mapped representation), so that thirty
chairs of one type are meshed once. Metres, in the axes of the first file.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from geometry.records import record
from scenes.models.files import Matrix, ModelFile, to_first

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Fineness = Literal["room", "thing"]

DEFLECTION_M: Final = 0.001
"""How far a chord may be from the curve it stands for, in what makes a room."""
CIRCLE_CHORDS: Final = 48
"""Chords of a whole circle in things: furniture and devices."""
KERNELS: Final[dict[Fineness, str]] = {
    "room": "opencascade",  # follows curves to DEFLECTION_M
    "thing": "hybrid-cgal-simple-opencascade",  # ten times as fast on furniture, curves in CIRCLE_CHORDS
}


@record(frozen=True, slots=True)
class Body:
    """A thing's mesh in its own axes, metres, and the matrix that takes it to where it is."""

    own: Floats
    faces: Ints
    matrix: Matrix
    of_type: bool = False
    """Whether its shape is its type's, shared with others."""

    @property
    def vertices(self) -> Floats:
        """The mesh's points (n, 3) where they are."""
        return self.own @ self.matrix[:3, :3].T + self.matrix[:3, 3]

    @property
    def upright(self) -> bool:
        """Whether its own z axis points up, so that a plan angle says how it is turned."""
        return bool(self.matrix[2, 2] > 1 - 1e-6)

    @property
    def turn_deg(self) -> float:
        """The plan angle of its own x axis."""
        return float(np.degrees(np.arctan2(self.matrix[1, 0], self.matrix[0, 0])))


class Shapes:
    """The bodies of all files' things. Meshes are made when they are first asked for, and kept by type."""

    def __init__(self, files: Sequence[ModelFile]) -> None:
        self._files = {id(file.handle): file for file in files}
        self._to_first = {id(file.handle): to_first(files, file) for file in files}
        self._meshes: dict[Any, tuple[Floats, Ints] | None] = {}
        self._settings: dict[Fineness, Any] = {}
        self._placed: dict[tuple[int, int], Matrix] = {}

    def matrix(self, thing: Any, file: ModelFile) -> Matrix:
        """From the thing's own axes to the first file's, metres (4, 4)."""
        placed = self._placement(thing.ObjectPlacement, file).copy()
        placed[:3, 3] *= file.metre
        return np.asarray(self._to_first[id(file.handle)] @ placed)

    def _placement(self, placement: Any | None, file: ModelFile) -> Matrix:
        """A placement in the file's own units; those that many share, such as a storey's, are computed once."""
        from ifcopenshell.util.placement import get_axis2placement

        if placement is None:
            return np.eye(4)
        key = (id(file.handle), placement.id())
        if key not in self._placed:
            around = self._placement(placement.PlacementRelTo, file)
            own = np.array(get_axis2placement(placement.RelativePlacement), float)
            self._placed[key] = around @ own
        return self._placed[key]

    def body(self, thing: Any, file: ModelFile, fineness: Fineness) -> Body | None:
        """The thing's body, its openings cut out; None if it has none that can be made."""
        if thing.Representation is None:
            return None
        made_of = _made_of(thing)
        key = (id(file.handle), fineness, *made_of)
        if key not in self._meshes:
            self._meshes[key] = self._mesh(thing, fineness)
        mesh = self._meshes[key]
        return None if mesh is None else Body(*mesh, self.matrix(thing, file), made_of != (thing.id(),))

    def _mesh(self, thing: Any, fineness: Fineness) -> tuple[Floats, Ints] | None:
        import ifcopenshell.geom

        geom: Any = ifcopenshell.geom  # its annotations do not narrow by kernel and setting
        if fineness not in self._settings:
            made = geom.settings()
            made.set("weld-vertices", True)
            made.set("mesher-linear-deflection", DEFLECTION_M)
            made.set("circle-segments", CIRCLE_CHORDS)
            self._settings[fineness] = made
        try:
            shape = geom.create_shape(self._settings[fineness], thing, geometry_library=KERNELS[fineness])
        except RuntimeError:  # whatever the kernel cannot make
            return None
        vertices = np.array(shape.geometry.verts, float).reshape(-1, 3)
        faces = np.array(shape.geometry.faces, np.int64).reshape(-1, 3)
        return (vertices, faces) if len(vertices) and len(faces) else None


def _made_of(thing: Any) -> tuple[Any, ...]:
    """What the thing's body is made of: the same of things of one type, its own id where nothing is shared."""
    if getattr(thing, "HasOpenings", ()):
        return (thing.id(),)
    key: list[Any] = []
    for representation in thing.Representation.Representations:
        if representation.RepresentationIdentifier not in ("Body", "Facetation"):
            continue
        for item in representation.Items:
            if not item.is_a("IfcMappedItem"):
                return (thing.id(),)
            key += [item.MappingSource.id(), _moved(item.MappingTarget)]
    return tuple(key) or (thing.id(),)


def _moved(operator: Any) -> tuple[Any, ...]:
    """A mapping's transformation as plain numbers, so that equal ones written twice are one."""
    axes = [
        None if axis is None else tuple(axis.DirectionRatios)
        for axis in (operator.Axis1, operator.Axis2, getattr(operator, "Axis3", None))
    ]
    scales = [getattr(operator, name, None) for name in ("Scale", "Scale2", "Scale3")]
    return (tuple(operator.LocalOrigin.Coordinates), *axes, *scales)
