"""Model files opened: schema, unit, hash, and where their axes lie among those of the others."""

from __future__ import annotations

import hashlib
import math
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from geometry.records import record
from scenes.models.refusals import ModelRefused, ReaderMissing

Matrix = NDArray[np.float64]

HEAD: Final = b"ISO-10303-21"
TAIL: Final = b"END-ISO-10303-21"
LOOKED_AT_BYTES: Final = 4096
SAME_FRAME_M: Final = 1e-6
"""Two files whose axes differ by no more lie in one frame."""

UNITS: Final = {
    ("METRE", None): "m",
    ("METRE", "MILLI"): "mm",
    ("METRE", "CENTI"): "cm",
    ("METRE", "DECI"): "dm",
    ("FOOT", None): "ft",
    ("INCH", None): "in",
}


@record(frozen=True, slots=True)
class MapConversion:
    """Where a model's origin lies on a map, and how its x axis runs there; lengths in the map's unit."""

    eastings: float
    northings: float
    height: float
    abscissa: float
    ordinate: float
    scale: float
    crs: str | None

    @property
    def turn_deg(self) -> float:
        """From the map's east to the model's x axis, degrees anticlockwise."""
        return math.degrees(math.atan2(self.ordinate, self.abscissa))

    def matrix(self) -> Matrix:
        """From the model's metres to the map's metres (4, 4), turned and shifted only."""
        angle = math.radians(self.turn_deg)
        c, s = math.cos(angle), math.sin(angle)
        return np.array(
            [[c, -s, 0, self.eastings], [s, c, 0, self.northings], [0, 0, 1, self.height], [0, 0, 0, 1]]
        )


@record(frozen=True, slots=True)
class ModelFile:
    """An open model. `handle` is ifcopenshell's; `metre` is how many metres one of its length units has."""

    path: Path
    sha256: str
    schema: str
    unit: str
    metre: float
    map: MapConversion | None
    handle: Any

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self.path.name

    def by_class(self, *names: str) -> list[Any]:
        """Every entity of these classes, subclasses too; a class that the schema lacks has none."""
        found: dict[int, Any] = {}
        for name in names:
            try:
                entities = self.handle.by_type(name)
            except RuntimeError:  # ifcopenshell's way to say that the schema has no such class
                continue
            found |= {entity.id(): entity for entity in entities}
        return list(found.values())


def open_models(paths: Sequence[Path]) -> tuple[ModelFile, ...]:
    """The files, opened. Raises ModelRefused for what is no whole model of a schema in use, ReaderMissing."""
    return tuple(open_model(path) for path in paths)


def open_model(path: Path) -> ModelFile:
    """One file, opened. A zipped one (.ifczip) is read from its only model."""
    try:
        import ifcopenshell
    except ImportError:
        raise ReaderMissing("ifcopenshell", "models") from None
    if not path.is_file():
        raise ModelRefused("no-file", str(path))
    digest, head, tail = _ends(path)
    zipped = head.startswith(b"PK")
    if not zipped:
        _whole(path, head, tail)
    try:
        if zipped or not head.startswith(HEAD):
            handle = ifcopenshell.file.from_string(_text_of(path, zipped))
        else:
            handle = ifcopenshell.open(str(path))
    except ifcopenshell.SchemaError as error:
        raise ModelRefused("old-schema", str(path), (str(error).rpartition(" ")[2],)) from None
    except (ifcopenshell.Error, OSError, RuntimeError, UnicodeError):
        raise ModelRefused("no-model", str(path)) from None
    unit, metre = _length_unit(path, handle)
    return ModelFile(path, digest, handle.schema, unit, metre, _map_of(handle), handle)


def to_first(files: Sequence[ModelFile], file: ModelFile) -> Matrix:
    """From a file's metres to the first file's (4, 4): by both map conversions where both have one."""
    base = files[0].map
    if base is None or file.map is None or file.map == base:
        return np.eye(4)
    moved = np.linalg.inv(base.matrix()) @ file.map.matrix()
    return np.eye(4) if np.abs(moved - np.eye(4)).max() < SAME_FRAME_M else moved


def _ends(path: Path) -> tuple[str, bytes, bytes]:
    """The file's hash, its beginning and its end."""
    digest = hashlib.sha256()
    head = tail = b""
    with path.open("rb") as stream:
        while block := stream.read(1 << 20):
            digest.update(block)
            head = head or block[:LOOKED_AT_BYTES]
            tail = (tail + block)[-LOOKED_AT_BYTES:]
    return digest.hexdigest(), head, tail


def _whole(path: Path, head: bytes, tail: bytes) -> None:
    if HEAD not in head:
        raise ModelRefused("no-model", str(path))
    if TAIL not in tail:
        raise ModelRefused("cut-short", str(path))


def _text_of(path: Path, zipped: bool) -> str:
    """The text of a zipped file, or of one with something before its first word (a byte order mark, say)."""
    data = path.read_bytes()
    if zipped:
        try:
            with zipfile.ZipFile(path) as archive:
                models = [name for name in archive.namelist() if name.lower().endswith(".ifc")]
                if len(models) != 1:
                    raise ModelRefused("no-model", str(path))
                data = archive.read(models[0])
        except zipfile.BadZipFile:
            raise ModelRefused("no-model", str(path)) from None
        _whole(path, data[:LOOKED_AT_BYTES], data[-LOOKED_AT_BYTES:])
    return data[data.index(HEAD) :].decode("iso-8859-1")


def _length_unit(path: Path, handle: Any) -> tuple[str, float]:
    from ifcopenshell.util.unit import calculate_unit_scale

    units = [unit for one in handle.by_type("IfcUnitAssignment") for unit in one.Units]
    lengths = [unit for unit in units if getattr(unit, "UnitType", None) == "LENGTHUNIT"]
    if not lengths:
        raise ModelRefused("no-unit", str(path))
    key = (str(lengths[0].Name).upper(), getattr(lengths[0], "Prefix", None))
    return UNITS.get(key, str(lengths[0].Name).lower()), float(calculate_unit_scale(handle))


def _map_of(handle: Any) -> MapConversion | None:
    from ifcopenshell.util.geolocation import get_helmert_transformation_parameters

    found = get_helmert_transformation_parameters(handle)
    if found is None:
        return None
    crs = None if handle.schema == "IFC2X3" else next(iter(handle.by_type("IfcProjectedCRS")), None)
    return MapConversion(
        eastings=float(found.e),
        northings=float(found.n),
        height=float(found.h),
        abscissa=float(found.xaa),
        ordinate=float(found.xao),
        scale=float(found.scale),
        crs=None if crs is None else crs.Name,
    )
