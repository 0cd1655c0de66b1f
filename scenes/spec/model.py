"""What a spec file may say: every key, its type, its range, its default.

Attributes are named as the file's keys (`from` is `from_`) and hold metres and degrees: lengths are converted
here, at the border, and nowhere else. What must agree between the parts of a file is checked in
`scenes.spec.agreement`.
"""

from __future__ import annotations

import datetime
import math
import re
import unicodedata
from collections.abc import Callable
from pathlib import Path as FilePath
from typing import Annotated, Any, Final, Literal, NoReturn, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    GetCoreSchemaHandler,
    PrivateAttr,
    Tag,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapValidator,
    model_validator,
)
from pydantic_core import PydanticCustomError, core_schema

from scenes.spec.lengths import LENGTH_PATTERN, LengthMistake, Unit, parse_length
from scenes.spec.mistakes import MistakeCode, Value
from scenes.spec.source import Source
from scenes.spec.yaml_tree import Misread, misread_as

FORMAT_VERSION: Final = 1


MOST_HEADS: Final = 2_000


MOST_ARRAYS: Final = 64


MOST_OVERHEAD: Final = 5_000


MOST_CORNERS: Final = 1_000


SMALLEST_M: Final = 0.001  # a size below a millimetre is a slip of the unit


# The designer's input where a file says nothing; mouth heights as customary measuring heights: 1.2 m seated
# and 1.5 m for a standing source, ISO 3382-1:2009 section 4 (from memory).
DEFAULT_MOUTH_M: Final = {"seated": 1.2, "standing": 1.5}


DEFAULT_SWAY_M: Final = 0.10


# Body to wall; underside over walking surfaces; underside over a table: what they rest on stands in rules.yaml.
DEFAULT_LIMITS_M: Final = {"wall": 0.3, "headroom": 2.032, "free_over_table": 0.6}


DEFAULT_SPARE_M: Final = 0.3


Posture = Literal["seated", "standing"]


Kind = Literal[
    "sprinkler",
    "light",
    "supply diffuser",
    "return grille",
    "smoke detector",
    "loudspeaker",
    "projector",
    "beam",
    "bulkhead",
    "other",
]


# The scalars of a file --------------------------------------------------------------------------------------


class _Scalar:
    """Marks a type as read by a function of its own: `read(value)`, with nothing of pydantic's after it.

    This and the two below do what pydantic's PlainValidator, BeforeValidator and AfterValidator do. Those look
    up their function's signature at each of the two hundred places where a length or an id stands, a tenth of
    what reading a spec costs in a cold process.
    """

    def __init__(self, read: Callable[[Any], object]) -> None:
        self.read = read

    def __get_pydantic_core_schema__(self, _: Any, __: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)


class _Before(_Scalar):
    """Marks a type as seen by a function before pydantic checks it."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))


class _After(_Scalar):
    """Marks a type as seen by a function after pydantic checked it."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_after_validator_function(self.read, handler(source))


class _Length:
    """Marks a number as a length of at least `least`: metres, from text or from the file's units."""

    def __init__(self, least: float) -> None:
        self.least = least

    def __get_pydantic_core_schema__(self, _: Any, __: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def read(self, value: object, info: ValidationInfo) -> float:
        # Without a file around it (a model built in code) a number is in metres.
        unit = (info.context or {}).get("unit", "m")
        try:
            metres = parse_length(value, unit)
        except LengthMistake as mistake:
            _refuse(mistake.code, read_as=misread_as(value), size_m=mistake.metres or 0.0)
        if metres < self.least:
            _refuse("length-too-small" if self.least > 0 else "length-negative", least_m=self.least)
        return metres


def _refuse(code: MistakeCode, *at: str | int, **allowed: Value) -> NoReturn:
    """Raise a mistake, `at` a path below the value under validation; `allowed` are the values of its words."""
    raise PydanticCustomError("mistake", "mistake", {"code": code, "at": at, "allowed": allowed})


Quantity = Literal["plain", "degrees", "depression", "percentile", "kilograms", "dBA", "seconds"]
Counted = Literal["wall", "seats", "rows", "columns", "sectors"]


def _number(low: float, high: float, quantity: Quantity, *, above_low: bool = False) -> _Scalar:
    def check(value: object) -> float:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not low <= value <= high or (above_low and value == low):  # type: ignore[operator]
            code: MistakeCode = "number-above" if above_low else "number"
            _refuse(code, low=low, high=high, quantity=quantity, read_as=misread_as(value))
        return float(value)  # type: ignore[arg-type]

    return _Scalar(check)


def _whole(low: int, high: int, counted: Counted) -> _Before:
    def check(value: object) -> int:
        if type(value) is not int or not low <= value <= high:
            _refuse("whole-number", low=low, high=high, counted=counted, read_as=misread_as(value))
        return value

    return _Before(check)


def _text(longest: int) -> _Scalar:
    def check(value: object) -> str:
        if isinstance(value, Misread):
            _refuse("text-unquoted", because=value.because)
        if not isinstance(value, str):
            if isinstance(value, (int, float)):
                _refuse("text-unquoted", because="truth" if isinstance(value, bool) else "number")
            _refuse("not-text")
        if not value.strip() or value != value.strip():
            _refuse("text-empty")
        if len(value) > longest:
            _refuse("text-too-long", most=longest)
        # Control, surrogate and line separating characters; format characters but the two joiners (a text
        # that turns its neighbours round is no name).
        for c in value:
            if (
                unicodedata.category(c) in ("Cc", "Cs", "Cf", "Cn", "Co", "Zl", "Zp")
                and c not in "\u200c\u200d"
            ):
                _refuse("text-unprintable", character=f"U+{ord(c):04X}")
        return str(value)

    return _Scalar(check)


def _truth(value: object) -> bool:
    if not isinstance(value, bool):
        _refuse("true-or-false")
    return value


def _date(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value, re.ASCII):
        try:
            datetime.date.fromisoformat(value)
        except ValueError:
            pass
        else:
            return str(value)
    _refuse("date")


def _version(value: object) -> int:
    if type(value) is not int or value != FORMAT_VERSION:
        _refuse("version", version=FORMAT_VERSION)
    return value


Shape = Literal[
    "point", "place", "size-2", "size-3", "size-1", "footprint", "outline", "mouth", "band", "reach", "percentiles",
    "line", "x-axis", "origin",
]  # fmt: skip


def _list_of(low: int, high: int, shape: Shape) -> _Before:
    def check(value: object) -> object:
        if not isinstance(value, (list, tuple)) or not low <= len(value) <= high:
            _refuse("shape", shape=shape, most=high)
        return value

    return _Before(check)


def _rising(code: MistakeCode, *, strictly: bool = False) -> _After:
    def check(value: tuple[float, float]) -> tuple[float, float]:
        if value[0] > value[1] or (strictly and value[0] == value[1]):
            _refuse(code)
        return value

    return _After(check)


def _one_or_two(value: object) -> object:
    return [value, value] if isinstance(value, (int, float, str)) and not isinstance(value, bool) else value


LENGTH_SCHEMA: Final[dict[str, Any]] = {
    "anyOf": [{"type": "number"}, {"type": "string", "pattern": LENGTH_PATTERN}],
    "description": 'a length such as 2.4, "2.4 m", "240 cm", "7 ft 10 in" or 7\'-10 1/2"; a bare number is in '
    "the file's units",
}


SIZE_SCHEMA: Final[dict[str, Any]] = {
    **LENGTH_SCHEMA,
    "anyOf": [
        {"type": "number", "minimum": 0},
        {"type": "string", "pattern": LENGTH_PATTERN.replace("[-+−–]?", "")},
    ],
}


Coordinate = Annotated[float, _Length(-math.inf), WithJsonSchema(LENGTH_SCHEMA)]


Distance = Annotated[float, _Length(0.0), WithJsonSchema(SIZE_SCHEMA)]


Extent = Annotated[float, _Length(SMALLEST_M), WithJsonSchema(SIZE_SCHEMA)]


Point = Annotated[tuple[Coordinate, Coordinate], _list_of(2, 2, "point")]


Point3 = Annotated[tuple[Coordinate, Coordinate, Coordinate], _list_of(3, 3, "place")]


Size2 = Annotated[tuple[Extent, Extent], _list_of(2, 2, "size-2")]


Size3 = Annotated[tuple[Extent, Extent, Extent], _list_of(3, 3, "size-3")]


Size1 = Annotated[tuple[Extent], _list_of(1, 1, "size-1")]


Footprint = Annotated[
    tuple[Extent, ...],
    Field(min_length=1, max_length=2),
    _list_of(1, 2, "footprint"),
]


Outline = Annotated[
    tuple[Point, ...],
    Field(min_length=3, max_length=MOST_CORNERS),
    _list_of(3, MOST_CORNERS, "outline"),
]


Mouth = Annotated[
    tuple[Extent, Extent],
    _rising("order-mouth"),
    _list_of(2, 2, "mouth"),
    _Before(_one_or_two),
    WithJsonSchema(
        {
            "anyOf": [
                *SIZE_SCHEMA["anyOf"],
                {"type": "array", "items": SIZE_SCHEMA, "minItems": 2, "maxItems": 2},
            ],
            "description": "a mouth height above the floor, or a range [low, high]",
        }
    ),
]


Plain = Annotated[float, _number(-1e12, 1e12, "plain"), WithJsonSchema({"type": "number"})]


Degrees = Annotated[
    float, _number(-360, 360, "degrees"), WithJsonSchema({"type": "number", "minimum": -360, "maximum": 360})
]


Depression = Annotated[
    float,
    _number(0, 90, "depression"),
    WithJsonSchema({"type": "number", "minimum": 0, "maximum": 90}),
]


Band = Annotated[
    tuple[Depression, Depression],
    _rising("order-band", strictly=True),
    _list_of(2, 2, "band"),
]


Reach = Annotated[
    tuple[Distance, Extent],
    _rising("order-reach", strictly=True),
    _list_of(2, 2, "reach"),
]


Percentile = Annotated[
    float,
    _number(0.1, 99.9, "percentile"),
    WithJsonSchema({"type": "number", "minimum": 0.1, "maximum": 99.9}),
]


Percentiles = Annotated[
    tuple[Percentile, Percentile],
    _rising("order-percentiles"),
    _list_of(2, 2, "percentiles"),
]


Id = Annotated[str, _text(80), WithJsonSchema({"type": "string", "minLength": 1})]


Text = Annotated[str, _text(400), WithJsonSchema({"type": "string", "minLength": 1})]


Date = Annotated[str, _Scalar(_date), WithJsonSchema({"type": "string", "format": "date"})]


Version = Annotated[int, _Scalar(_version), WithJsonSchema({"const": FORMAT_VERSION})]


Truth = Annotated[bool, _Before(_truth)]


# The things of a file ---------------------------------------------------------------------------------------


class Written(BaseModel):
    """What stands in a file: unknown keys are mistakes, and nothing of it changes."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Revision(Written):
    """A row of the title block's revision table."""

    revision: Text
    date: Date
    note: Text | None = None


class Document(Written):
    """What title blocks say about the document."""

    number: Text | None = None
    revision: Text | None = None
    date: Date | None = None
    drawn_by: Text | None = None
    checked_by: Text | None = None
    client: Text | None = None
    purpose: Text | None = Field(None, description="for coordination, not for construction, unless said here")
    language: Literal["en-GB", "en-US"] = Field(
        "en-GB", description="spelling of what is written about the room"
    )
    revisions: tuple[Revision, ...] = ()


class Ceiling(Written):
    """The finished ceiling; of an open one the structure's underside."""

    kind: Literal["suspended", "open", "hard"] = "suspended"
    height: Extent = Field(description="finished ceiling above the finished floor")


def _ceiling(value: object) -> object:
    return value if isinstance(value, (dict, Ceiling)) else {"height": value}


class Grid(Written):
    """A lay-in ceiling's grid."""

    pitch: Size2
    origin: Point = (0.0, 0.0)


class Opening(Written):
    """A door, a window or a plain opening in a wall."""

    id: Id
    kind: Literal["door", "window", "opening"]
    wall: Annotated[int, Field(ge=0, le=MOST_CORNERS - 1), _whole(0, MOST_CORNERS - 1, "wall")] = Field(
        description="wall i runs from corner i to corner i + 1 of the outline, counted from 0"
    )
    offset: Distance = Field(description="from the wall's first corner to the near jamb")
    width: Extent
    height: Extent
    sill: Distance = Field(0.0, description="the lower edge above the floor")


class Room(Written):
    """The room's shell."""

    outline: Outline | None = Field(None, description="plan polygon [[x, y], …]; or size")
    size: Size2 | None = Field(None, description="[width, depth] of a rectangular room; or outline")
    ceiling: Annotated[Ceiling, BeforeValidator(_ceiling, json_schema_input_type=Extent | Ceiling)] = Field(
        description="finished ceiling above the finished floor, or {kind: suspended | open | hard, height: …}"
    )
    structure: Extent | None = Field(None, description="underside of what carries the suspension")
    grid: Grid | None = None
    north: Degrees | None = Field(
        None, description="plan angle of north, anticlockwise from +x; without it no north is drawn"
    )
    openings: tuple[Opening, ...] = ()

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if (self.outline is None) == (self.size is None):
            if self.outline is None:
                _refuse("outline-or-size")
            _refuse("outline-and-size", "size")
        return self

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """The outline's corners as written, metres; of a size [[0, 0], [w, 0], [w, d], [0, d]]."""
        if self.outline is not None:
            return self.outline
        assert self.size is not None  # by _one_shape
        width, depth = self.size
        return ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth))


class _Table(Written):
    id: Id
    height: Extent = Field(0.74, description="the table's top above the floor")


class RectangularTable(_Table):
    """A rectangle, or a racetrack: half-circle ends across the shorter side."""

    shape: Literal["rectangle", "racetrack"]
    size: Size2
    at: Point
    turn: Degrees = 0.0


class BoatTable(_Table):
    """Straight ends; the sides are arcs through the full width at the middle."""

    shape: Literal["boat"]
    size: Size2
    at: Point
    turn: Degrees = 0.0
    ends: Extent | None = Field(None, description="width of the straight ends; 0.7 of the width if left out")

    @model_validator(mode="after")
    def _ends_narrower(self) -> Self:
        if self.ends is not None and self.ends >= self.size[1]:
            _refuse("table-ends", "ends")
        return self

    @property
    def end_width(self) -> float:
        """Width of the straight ends, metres."""
        return 0.7 * self.size[1] if self.ends is None else self.ends


class TrapezoidTable(_Table):
    """A trapezoid, narrow at +x."""

    shape: Literal["trapezoid"]
    size: Size2
    at: Point
    turn: Degrees = 0.0
    narrow: Extent | None = Field(None, description="width at the +x end; 0.6 of the width if left out")

    @model_validator(mode="after")
    def _narrow_narrower(self) -> Self:
        if self.narrow is not None and self.narrow > self.size[1]:
            _refuse("table-narrow", "narrow")
        return self

    @property
    def narrow_width(self) -> float:
        """Width at the +x end, metres."""
        return 0.6 * self.size[1] if self.narrow is None else self.narrow


class RoundTable(_Table):
    """A circle."""

    shape: Literal["round"]
    size: Size1
    at: Point
    turn: Degrees = 0.0


class PolygonTable(_Table):
    """Any simple polygon, in room coordinates."""

    shape: Literal["polygon"]
    outline: Outline


TABLES: Final[dict[str, type[_Table]]] = {
    "rectangle": RectangularTable,
    "racetrack": RectangularTable,
    "boat": BoatTable,
    "trapezoid": TrapezoidTable,
    "round": RoundTable,
    "polygon": PolygonTable,
}


def _table_form(value: object) -> str | None:
    shape = value.get("shape") if isinstance(value, dict) else getattr(value, "shape", None)
    return "<rectangle>" if shape == "racetrack" else f"<{shape}>" if isinstance(shape, str) else None


Table = Annotated[
    Annotated[RectangularTable, Tag("<rectangle>")]
    | Annotated[BoatTable, Tag("<boat>")]
    | Annotated[TrapezoidTable, Tag("<trapezoid>")]
    | Annotated[RoundTable, Tag("<round>")]
    | Annotated[PolygonTable, Tag("<polygon>")],
    Discriminator(_table_form),
]


class Person(Written):
    """The defaults of a posture: a mouth range given, or one taken from a population."""

    mouth: Mouth | None = None
    sway: Distance = Field(DEFAULT_SWAY_M, description="how far the mouth moves from its place")
    population: Text | None = Field(None, description="take the mouth heights from a surveyed population")
    percentiles: Percentiles = (5.0, 95.0)
    seat: Extent | None = Field(None, description="height of the seat above the floor")

    @model_validator(mode="after")
    def _one_origin(self) -> Self:
        if self.mouth is not None and self.population is not None:
            _refuse("mouth-and-population", "population")
        given = self.model_fields_set & {"percentiles", "seat"}
        if self.population is None and given:
            _refuse("needs-population", min(given), key=min(given))
        return self


def _person(posture: Posture) -> WrapValidator:
    default = f"{DEFAULT_MOUTH_M[posture]} m"

    def fill(value: object, read: ValidatorFunctionWrapHandler) -> object:
        if isinstance(value, dict) and value.get("mouth") is None and value.get("population") is None:
            person = read({**value, "mouth": default})
            person.model_fields_set.discard("mouth")  # the file does not give it
            return person
        return read(value)

    return WrapValidator(fill)


def _by_default(posture: Posture) -> Person:
    # Constructed without its validator, which need not be built for a file that says nothing about people.
    mouth = (DEFAULT_MOUTH_M[posture], DEFAULT_MOUTH_M[posture])
    return Person.model_construct(_fields_set=set(), mouth=mouth)


class People(Written):
    """Mouth heights and sway where a head does not say its own."""

    seated: Annotated[Person, _person("seated")] = _by_default("seated")
    standing: Annotated[Person, _person("standing")] = _by_default("standing")

    @model_validator(mode="after")
    def _no_seat_standing(self) -> Self:
        if self.standing.seat is not None:
            _refuse("seat-standing", "standing", "seat")
        return self


class _Heads(Written):
    mouth: Mouth | None = None
    sway: Distance | None = None


class _Seats(_Heads):
    posture: Posture = "seated"
    stands: Truth = Field(False, description="adds the same person standing up, id with -up")


class AroundSeats(_Seats):
    """Seats round a table: ids T1-1, T1-2, …"""

    around: Id = Field(description="the id of a table")
    pitch: Extent = Field(0.75, description="distance between neighbours; or count")
    count: Annotated[int, Field(ge=1, le=MOST_HEADS), _whole(1, MOST_HEADS, "seats")] | None = None
    gap: Distance = Field(0.25, description="table edge to mouth, outwards")
    skip: tuple[Literal["+x", "-x", "+y", "-y"], ...] = Field(
        (), description="sides left empty, in the table's frame"
    )

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if self.count is not None and "pitch" in self.model_fields_set:
            _refuse("pitch-and-count", "count")
        return self


class SingleSeat(_Seats):
    """One seat; `at` is the plan position of the mouth."""

    id: Id
    at: Point


class SeatRows(_Seats):
    """Rows of desks: ids R-1-1 (nearest -x -y), R-1-2, …"""

    id: Id
    rows: Annotated[int, Field(ge=1, le=MOST_HEADS), _whole(1, MOST_HEADS, "rows")]
    columns: Annotated[int, Field(ge=1, le=MOST_HEADS), _whole(1, MOST_HEADS, "columns")]
    at: Point = Field(description="the block's middle")
    pitch: Size2 = Field(description="[along a row, between rows]")
    turn: Degrees = 0.0


def _seat_form(value: object) -> str:
    if isinstance(value, dict):
        return (
            "<around>"
            if "around" in value
            else "<rows>"
            if {"rows", "columns"} & value.keys()
            else "<single>"
        )
    return {"AroundSeats": "<around>", "SeatRows": "<rows>"}.get(type(value).__name__, "<single>")


SeatGroup = Annotated[
    Annotated[AroundSeats, Tag("<around>")]
    | Annotated[SingleSeat, Tag("<single>")]
    | Annotated[SeatRows, Tag("<rows>")],
    Discriminator(_seat_form),
]


class StandingPoint(_Heads):
    """Somebody who stands; `at` is the plan position of the mouth."""

    id: Id
    at: Point
    posture: Posture = "standing"


class StandingLine(_Heads):
    """Somebody who walks: heads W-1, W-2, … on the line, both ends, at most `step` apart."""

    id: Id
    along: Annotated[
        tuple[Point, ...],
        Field(min_length=2, max_length=MOST_CORNERS),
        _list_of(2, MOST_CORNERS, "line"),
    ]
    step: Extent = 0.5
    posture: Posture = "standing"


def _standing_form(value: object) -> str:
    along = "along" in value if isinstance(value, dict) else isinstance(value, StandingLine)
    return "<along>" if along else "<standing>"


Standing = Annotated[
    Annotated[StandingPoint, Tag("<standing>")] | Annotated[StandingLine, Tag("<along>")],
    Discriminator(_standing_form),
]


class RoundBody(Written):
    """A cylinder."""

    diameter: Extent
    height: Extent


class BoxBody(Written):
    """A box [x, y, z] before the array's turn."""

    size: Size3

    @property
    def height(self) -> float:
        """Metres from underside to top."""
        return self.size[2]


def _body_form(value: object) -> str:
    box = "size" in value if isinstance(value, dict) else isinstance(value, BoxBody)
    return "<box>" if box else "<cylinder>"


Body = Annotated[
    Annotated[RoundBody, Tag("<cylinder>")] | Annotated[BoxBody, Tag("<box>")], Discriminator(_body_form)
]


class Profile(Written):
    """What an array can do, from its data sheet."""

    mount: Literal["pendant", "flush"]
    body: Body = Field(description="{diameter, height} or {size: [x, y, z]}")
    bands: dict[Id, Band] = Field(min_length=1, description="name: [low, high], degrees of depression")
    reach: Reach = Field(description="[near, far], slant distance from the acoustic centre to a mouth")
    sectors: Annotated[int, Field(ge=1, le=360), _whole(1, 360, "sectors")] = 1
    centre: Distance | None = Field(
        None, description="acoustic centre above the body's underside; its middle if left out"
    )
    mass: (
        Annotated[
            float,
            _number(0, 500, "kilograms", above_low=True),
            WithJsonSchema(
                {"type": "number", "exclusiveMinimum": 0, "maximum": 500, "description": "kilograms"}
            ),
        ]
        | None
    ) = None
    level: Annotated[
        float,
        _number(0, 45, "degrees"),
        WithJsonSchema({"type": "number", "minimum": 0, "maximum": 45}),
    ] = Field(1.0, description="degrees it may hang out of true")

    @model_validator(mode="after")
    def _centre_in_body(self) -> Self:
        if self.centre is not None and self.mount == "flush":
            _refuse("centre-flush", "centre")
        if self.centre is not None and self.centre > self.body.height:
            _refuse("centre-above-body", "centre")
        return self

    @property
    def centre_above_underside(self) -> float:
        """Metres from the body's underside up to the acoustic centre; 0 of a flush array."""
        if self.mount == "flush":
            return 0.0
        return 0.5 * self.body.height if self.centre is None else self.centre

    @property
    def top_above_centre(self) -> float:
        """Metres from the acoustic centre up to the body's top."""
        return self.body.height - self.centre_above_underside


class Library(Written):
    """A file of profiles that many rooms share."""

    overtable: Version
    name: Text | None = None
    units: Unit
    profiles: dict[Id, Profile] = Field(min_length=1)


class Array(Written):
    """An array of the room. at, height or drop, and band may be left out for `place` to fill."""

    id: Id
    profile: Id
    at: Point | None = None
    height: Extent | None = Field(None, description="acoustic centre above the floor; or drop")
    drop: Distance | None = Field(None, description="acoustic centre below the finished ceiling; or height")
    band: Id | None = None
    turn: Degrees = 0.0

    @model_validator(mode="after")
    def _one_height(self) -> Self:
        if self.height is not None and self.drop is not None:
            _refuse("height-and-drop", "drop")
        return self


class Device(Written):
    """Whatever else lives at the ceiling."""

    id: Id
    kind: Kind
    at: Point
    below: Coordinate = Field(
        description="its lowest working point under the finished ceiling; negative above it"
    )
    size: Footprint | None = Field(None, description="[x, y] before turn, or [diameter]")
    turn: Degrees = 0.0
    depth: Distance | None = Field(None, description="how far it reaches up from its lowest point")
    stem: Distance | None = Field(None, description="what hangs between ceiling and device")
    required: Distance | None = Field(None, description="a clearance of the designer's own")
    spray: Literal["standard", "extended", "special", "unknown"] = Field(
        "unknown", description="of a sprinkler"
    )

    @model_validator(mode="after")
    def _spray_of_sprinklers(self) -> Self:
        if "spray" in self.model_fields_set and self.kind != "sprinkler":
            _refuse("spray-elsewhere", "spray")
        return self


class Obstacle(Written):
    """A column, a cupboard, a screen: something that stands in the room."""

    id: Id
    at: Point
    size: Footprint = Field(description="[x, y] before turn, or [diameter]")
    turn: Degrees = 0.0
    from_: Distance = Field(0.0, alias="from", description="its lower end above the floor")
    to: Extent | None = Field(None, description="its upper end above the floor; the ceiling if left out")

    @model_validator(mode="after")
    def _rising(self) -> Self:
        if self.to is not None and self.to <= self.from_:
            _refuse("from-above-to", "to")
        return self


class Camera(Written):
    """A camera."""

    id: Id
    at: Point3
    aim: Point3 | None = Field(None, description="the place [x, y, height] it looks at")
    angle: (
        Annotated[
            float,
            _number(0, 180, "degrees", above_low=True),
            WithJsonSchema({"type": "number", "exclusiveMinimum": 0, "maximum": 180}),
        ]
        | None
    ) = Field(None, description="horizontal angle of view, degrees")


class Display(Written):
    """A screen; `at` is its middle."""

    id: Id
    at: Point3
    width: Extent
    height: Extent
    facing: Degrees = Field(description="the plan angle it looks towards")


class Acoustics(Written):
    """What the levels are computed from."""

    effort: Literal["relaxed", "normal", "raised", "loud", "very loud"] = "normal"
    noise_dBA: (
        Annotated[
            float, _number(0, 120, "dBA"), WithJsonSchema({"type": "number", "minimum": 0, "maximum": 120})
        ]
        | None
    ) = None
    reverberation_s: (
        Annotated[
            float,
            _number(0, 20, "seconds", above_low=True),
            WithJsonSchema({"type": "number", "exclusiveMinimum": 0, "maximum": 20}),
        ]
        | None
    ) = None


class RuleChange(Written):
    """A clearance rule changed (`required`) or switched off (`use: false`), with the reason."""

    required: Distance | None = None
    use: Truth = True
    reason: Text = Field(description="why; carried into every output")

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if (self.required is None) == self.use:
            _refuse("rule-change-nothing" if self.use else "rule-change-both")
        return self


class Limits(Written):
    """What every array keeps clear of. Headroom: 80 in by IBC 1003.3.1; local codes differ."""

    wall: Distance = Field(DEFAULT_LIMITS_M["wall"], description="body to wall")
    headroom: Distance = Field(DEFAULT_LIMITS_M["headroom"], description="underside over walking surfaces")
    free_over_table: Distance = Field(
        DEFAULT_LIMITS_M["free_over_table"], description="underside over a table"
    )


class Box(Written):
    """The box that the cable comes from."""

    fixing: Literal["tile bridge", "structure"]
    size: Size3 | None = None


def _box(value: object) -> object:
    return {"fixing": value} if isinstance(value, str) else value


class Suspension(Written):
    """How arrays are hung."""

    ceiling: Literal["suspended", "open"] | None = None
    box: (
        Annotated[
            Box, BeforeValidator(_box, json_schema_input_type=Literal["tile bridge", "structure"] | Box)
        ]
        | None
    ) = Field(None, description="where the box sits: tile bridge or structure; or {fixing, size}")
    spare: Distance = Field(
        DEFAULT_SPARE_M, description="cable beyond the stretch from the box to the acoustic centre"
    )
    safety_cable: Truth | Text = Field(
        True, description="a safety cable to the structure; true, false or which"
    )
    clamp: Truth | Text = Field(True, description="cable clamp and strain relief; true, false or which")


class ModelFile(Written):
    """A file of the architect's that a room was read from."""

    file: Text = Field(description="relative to the spec's folder")
    sha256: Annotated[str, _text(64), WithJsonSchema({"type": "string", "pattern": "^[0-9a-f]{64}$"})]


class ModelParents(Written):
    """GlobalIds of what a room is part of in its model."""

    project: Id | None = None
    site: Id | None = None
    building: Id | None = None
    storey: Id | None = None


class ModelMap(Written):
    """Where a model's origin lies on a map, as its file says it; lengths in the map's unit."""

    eastings: Plain
    northings: Plain
    height: Plain = 0.0
    x_axis: Annotated[tuple[Plain, Plain], _list_of(2, 2, "x-axis")] = (
        1.0,
        0.0,
    )
    scale: Plain = 1.0
    crs: Text | None = None


class ModelThing(Written):
    """What a thing of the spec is in the model, and a digest of how import wrote it here."""

    id: Id | None = Field(None, description="its GlobalId")
    sum: Id


class Origin(Written):
    """Where a room comes from, written by import: enough to find it again and to go back into the model."""

    files: tuple[ModelFile, ...] = Field(min_length=1)
    space: Id | None = Field(None, description="the room's GlobalId")
    ids: ModelParents = ModelParents.model_construct()
    origin_m: Annotated[tuple[Plain, Plain, Plain], _list_of(3, 3, "origin")] = Field(
        description="the spec's origin in the model's own axes, metres"
    )
    turn: Degrees = Field(0.0, description="the plan angle of the spec's x axis in the model's own axes")
    map: ModelMap | None = None
    taken: Date | None = None
    unsure: dict[Id, Text] = Field(
        {}, description="what nobody measured, and why: delete a line when you have checked it"
    )
    things: dict[Id, ModelThing] = Field(
        {}, description="what each thing is in the model, for `overtable update`"
    )


class Spec(Written):
    """A room's spec file, checked. Lengths in metres, angles in degrees."""

    overtable: Version = Field(description="version of the format")
    name: Text
    project: Text | None = None
    document: Document | None = None
    units: Unit = Field(description="the units of bare numbers: m, cm, mm, ft or in")
    room: Room
    tables: tuple[Table, ...] = ()
    people: People = People.model_construct()
    seats: tuple[SeatGroup, ...] = ()
    standing: tuple[Standing, ...] = ()
    profiles: dict[Id, Profile] = Field(
        {}, description="what the arrays can do, by name; or a file of them; may come later"
    )
    arrays: tuple[Array, ...] = Field((), max_length=MOST_ARRAYS, description="may come later")
    overhead: tuple[Device, ...] = Field((), max_length=MOST_OVERHEAD)
    obstacles: tuple[Obstacle, ...] = ()
    cameras: tuple[Camera, ...] = ()
    displays: tuple[Display, ...] = ()
    acoustics: Acoustics | None = None
    rules: dict[Id, RuleChange] = Field(
        {}, description="clearance rules changed or switched off, with a reason"
    )
    limits: Limits = Limits.model_construct()
    suspension: Suspension = Suspension.model_construct()
    model: Origin | None = Field(None, description="where the room comes from; written by import")

    _source: Source | None = PrivateAttr(None)

    @property
    def source(self) -> Source | None:
        """The file it was read from, for mistakes and for writing back; None for a spec built in code."""
        return self._source

    @property
    def files(self) -> tuple[FilePath, ...]:
        """The files it was read from: its own and the profiles file it names; none for a spec built in code."""
        if self._source is None or self._source.folder is None:
            return ()
        own = FilePath(self._source.file)
        return (own,) if self._source.library is None else (own, self._source.folder / self._source.library)

    def centre_height(self, array: Array) -> float | None:
        """Metres of an array's acoustic centre above the floor; None where it is left open for `place`."""
        ceiling = self.room.ceiling.height
        if self.profiles[array.profile].mount == "flush":
            return ceiling
        return ceiling - array.drop if array.drop is not None else array.height
