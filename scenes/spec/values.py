"""The kinds of value in a spec file: lengths, angles, texts, ids, lists, each with its range and its mistakes."""

from __future__ import annotations

import datetime
import math
import re
import unicodedata
from collections.abc import Callable
from typing import Annotated, Any, Final, Literal, NoReturn

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError, core_schema

from scenes.spec.lengths import (
    LENGTH_PATTERN,
    MASS_PATTERN,
    MOST_KG,
    LengthMistake,
    MassMistake,
    is_bare,
    parse_length,
    parse_mass,
)
from scenes.spec.mistakes import MistakeCode, Value
from scenes.spec.yaml_tree import Misread, misread_as

FORMAT_VERSION: Final = 1
MOST_HEADS: Final = 2_000
MOST_ARRAYS: Final = 64
MOST_OVERHEAD: Final = 5_000
MOST_CORNERS: Final = 1_000
MOST_PARTS: Final = 100
LARGEST_ROOM_M: Final = 100.0  # only to guess at a slip of the unit: no limit
MOST_SOLE_M: Final = 0.3  # of shoes, and of how much lower people sit than upright
SMALLEST_M: Final = 0.001  # a size below a millimetre is a slip of the unit


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
            size_m = mistake.metres or 0.0
            if mistake.code != "length-too-long":
                refuse(mistake.code, read_as=misread_as(value), size_m=size_m)
            # a number without a unit that would do in millimetres
            slip = unit == "m" and is_bare(value) and abs(size_m) <= 1000 * LARGEST_ROOM_M
            refuse(
                mistake.code, read_as=misread_as(value), size_m=size_m, mm_m=size_m / 1000 if slip else 0.0
            )
        if metres < self.least:
            refuse("length-too-small" if self.least > 0 else "length-negative", least_m=self.least)
        return metres


def refuse(code: MistakeCode, *at: str | int, **allowed: Value) -> NoReturn:
    """Raise a mistake, `at` a path below the value under validation; `allowed` are the values of its words."""
    raise PydanticCustomError("mistake", "mistake", {"code": code, "at": at, "allowed": allowed})


Quantity = Literal[
    "plain", "degrees", "depression", "percentile", "share", "dBA", "seconds", "decibels", "factor", "absorption",
]  # fmt: skip
Counted = Literal["wall", "seats", "rows", "columns", "sectors", "points"]


def number(low: float, high: float, quantity: Quantity, *, above_low: bool = False) -> _Scalar:
    return _Scalar(lambda value: in_range(value, low, high, quantity, above_low=above_low))


def in_range(
    value: object,
    low: float,
    high: float,
    quantity: Quantity,
    *,
    above_low: bool = False,
    at: tuple[int, ...] = (),
) -> float:
    """A number between two ends, or a mistake `at` a place below the value under validation."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not low <= value <= high or (above_low and value == low):  # type: ignore[operator]
        code: MistakeCode = "number-above" if above_low else "number"
        refuse(code, *at, low=low, high=high, quantity=quantity, read_as=misread_as(value))
    return float(value)  # type: ignore[arg-type]


def scalar(read: Callable[[Any], object]) -> _Scalar:
    """Marks a value that a function of its own reads, with nothing after it."""
    return _Scalar(read)


def whole(low: int, high: int, counted: Counted) -> _Before:
    def check(value: object) -> int:
        if type(value) is not int or not low <= value <= high:
            refuse("whole-number", low=low, high=high, counted=counted, read_as=misread_as(value))
        return value

    return _Before(check)


def text(longest: int) -> _Scalar:
    def check(value: object) -> str:
        if isinstance(value, Misread):
            refuse("text-unquoted", because=value.because)
        if not isinstance(value, str):
            if isinstance(value, (int, float)):
                refuse("text-unquoted", because="truth" if isinstance(value, bool) else "number")
            refuse("not-text")
        if not value.strip() or value != value.strip():
            refuse("text-empty")
        if len(value) > longest:
            refuse("text-too-long", most=longest)
        # Control, surrogate and line separating characters; format characters but the two joiners (a text
        # that turns its neighbours round is no name).
        for c in value:
            if (
                unicodedata.category(c) in ("Cc", "Cs", "Cf", "Cn", "Co", "Zl", "Zp")
                and c not in "\u200c\u200d"
            ):
                refuse("text-unprintable", character=f"U+{ord(c):04X}")
        return str(value)

    return _Scalar(check)


def _truth(value: object) -> bool:
    if not isinstance(value, bool):
        refuse("true-or-false")
    return value


def _date(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value, re.ASCII):
        try:
            datetime.date.fromisoformat(value)
        except ValueError:
            pass
        else:
            return str(value)
    refuse("date")


def _version(value: object) -> int:
    if type(value) is not int or value != FORMAT_VERSION:
        refuse("version", version=FORMAT_VERSION)
    return value


Shape = Literal[
    "point", "place", "size-2", "size-3", "size-1", "footprint", "outline", "mouth", "band", "reach", "percentiles",
    "line", "x-axis", "origin",
]  # fmt: skip


def list_of(low: int, high: int, shape: Shape) -> _Before:
    def check(value: object) -> object:
        if not isinstance(value, (list, tuple)) or not low <= len(value) <= high:
            refuse("shape", shape=shape, most=high)
        return value

    return _Before(check)


def _mass(value: object) -> float:
    try:
        return parse_mass(value)
    except MassMistake:
        refuse("mass", low=0, high=MOST_KG, read_as=misread_as(value))


def rising(code: MistakeCode, *, strictly: bool = False) -> _After:
    def check(value: tuple[float, float]) -> tuple[float, float]:
        if value[0] > value[1] or (strictly and value[0] == value[1]):
            refuse(code)
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
Point = Annotated[tuple[Coordinate, Coordinate], list_of(2, 2, "point")]
Point3 = Annotated[tuple[Coordinate, Coordinate, Coordinate], list_of(3, 3, "place")]
Size2 = Annotated[tuple[Extent, Extent], list_of(2, 2, "size-2")]
Size3 = Annotated[tuple[Extent, Extent, Extent], list_of(3, 3, "size-3")]
Size1 = Annotated[tuple[Extent], list_of(1, 1, "size-1")]


Footprint = Annotated[
    tuple[Extent, ...],
    Field(min_length=1, max_length=2),
    list_of(1, 2, "footprint"),
]


Outline = Annotated[
    tuple[Point, ...],
    Field(min_length=3, max_length=MOST_CORNERS),
    list_of(3, MOST_CORNERS, "outline"),
]


Mouth = Annotated[
    tuple[Extent, Extent],
    rising("order-mouth"),
    list_of(2, 2, "mouth"),
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


Plain = Annotated[float, number(-1e12, 1e12, "plain"), WithJsonSchema({"type": "number"})]


Degrees = Annotated[
    float, number(-360, 360, "degrees"), WithJsonSchema({"type": "number", "minimum": -360, "maximum": 360})
]


Depression = Annotated[
    float,
    number(0, 90, "depression"),
    WithJsonSchema({"type": "number", "minimum": 0, "maximum": 90}),
]


Band = Annotated[
    tuple[Depression, Depression],
    rising("order-band", strictly=True),
    list_of(2, 2, "band"),
]


Reach = Annotated[
    tuple[Distance, Extent],
    rising("order-reach", strictly=True),
    list_of(2, 2, "reach"),
]


Mass = Annotated[
    float,
    _Scalar(_mass),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "exclusiveMinimum": 0, "maximum": MOST_KG},
                {"type": "string", "pattern": MASS_PATTERN},
            ],
            "description": 'a mass such as "2.4 kg", "900 g", "5 lb" or "12 oz"; a bare number is in kilograms',
        }
    ),
]


Percentile = Annotated[
    float,
    number(0.1, 99.9, "percentile"),
    WithJsonSchema({"type": "number", "minimum": 0.1, "maximum": 99.9}),
]


Share = Annotated[
    float, number(0, 1, "share"), WithJsonSchema({"type": "number", "minimum": 0, "maximum": 1})
]


class _Thin(_Length):
    """A length from 0 to MOST_SOLE_M."""

    def read(self, value: object, info: ValidationInfo) -> float:
        metres = super().read(value, info)
        if metres > MOST_SOLE_M:
            refuse("length-too-thick", most_m=MOST_SOLE_M)
        return metres


class _Seat(_Length):
    """The height of a seat, or the word own."""

    def read(self, value: object, info: ValidationInfo) -> float:
        return value if value == "own" else super().read(value, info)  # type: ignore[return-value]


Sole = Annotated[float, _Thin(0.0), WithJsonSchema(SIZE_SCHEMA)]
SeatHeight = Annotated[
    float | Literal["own"], _Seat(SMALLEST_M), WithJsonSchema({"anyOf": [{"const": "own"}, SIZE_SCHEMA]})
]


Percentiles = Annotated[
    tuple[Percentile, Percentile],
    rising("order-percentiles"),
    list_of(2, 2, "percentiles"),
]


Id = Annotated[str, text(80), WithJsonSchema({"type": "string", "minLength": 1})]
Text = Annotated[str, text(400), WithJsonSchema({"type": "string", "minLength": 1})]
Date = Annotated[str, _Scalar(_date), WithJsonSchema({"type": "string", "format": "date"})]
Version = Annotated[int, _Scalar(_version), WithJsonSchema({"const": FORMAT_VERSION})]
Truth = Annotated[bool, _Before(_truth)]


class Written(BaseModel):
    """What stands in a file: unknown keys are mistakes, and nothing of it changes."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
