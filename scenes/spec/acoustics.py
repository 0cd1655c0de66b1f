"""What a spec says of a room's sound: how loud people speak, the noise, the reverberation, and whose limits count."""

from __future__ import annotations

import re
from typing import Annotated, Any, Final, Literal, Self

from pydantic import WithJsonSchema, model_validator
from pydantic.fields import Field

from scenes.spec.values import (
    MOST_PARTS,
    Quantity,
    Truth,
    Written,
    in_range,
    number,
    refuse,
    scalar,
)

OCTAVES: Final = 7
CURVES: Final = {"NC": (15, 65), "RC": (25, 50)}
"""Noise curves by name, and which of their numbers are defined."""
_CURVE: Final = re.compile(r"(NC|RC) ?(\d{1,2}(?:\.\d)?)")

Octaves = tuple[float, ...]
Curve = tuple[str, float]


def _seven(low: float, high: float, quantity: Quantity, *, above_low: bool = False, one: bool = True) -> Any:
    """Marks one number or seven, an octave each from 125 Hz; all seven are refused at the one that does not fit."""

    def read(value: object) -> float | Octaves:
        if isinstance(value, list | tuple):
            if len(value) != OCTAVES:
                refuse("octaves", number=len(value))
            return tuple(
                in_range(each, low, high, quantity, above_low=above_low, at=(i,))
                for i, each in enumerate(value)
            )
        if not one or isinstance(value, dict):
            refuse("octaves", number=1)
        return in_range(value, low, high, quantity, above_low=above_low)

    return scalar(read)


def _seven_schema(least: str, low: float, high: float) -> dict[str, Any]:
    each = {"type": "number", least: low, "maximum": high}
    return {"anyOf": [each, {"type": "array", "items": each, "minItems": OCTAVES, "maxItems": OCTAVES}]}


def _noise(value: object) -> Curve | Octaves:
    if isinstance(value, list | tuple):
        if len(value) != OCTAVES:
            refuse("octaves", number=len(value))
        return tuple(in_range(each, -20, 120, "decibels", at=(i,)) for i, each in enumerate(value))
    found = _CURVE.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        refuse("noise-curve")
    name, number_ = found[1], float(found[2])
    low, high = CURVES[name]
    if not low <= number_ <= high:
        refuse("noise-curve-range", curve=name, low=low, high=high)
    return name, number_


class Surface(Written):
    """A surface of the room and what it absorbs."""

    area_m2: Annotated[
        float,
        number(0, 1e6, "plain", above_low=True),
        WithJsonSchema({"type": "number", "exclusiveMinimum": 0}),
    ] = Field(description="square metres, whatever the file's units")
    alpha: Annotated[
        float | Octaves, _seven(0, 1, "absorption"), WithJsonSchema(_seven_schema("minimum", 0, 1))
    ] = Field(description="share of sound it absorbs, 0 to 1: one number, or seven, 125 Hz to 8 kHz")


class Acoustics(Written):
    """What the levels, the speech index and the advice about sound are computed from."""

    effort: Literal["relaxed", "normal", "raised", "loud", "very loud"] = "normal"
    noise_dBA: (
        Annotated[
            float, number(0, 120, "dBA"), WithJsonSchema({"type": "number", "minimum": 0, "maximum": 120})
        ]
        | None
    ) = Field(None, description="background noise in dB(A); or noise")
    noise: (
        Annotated[
            Curve | Octaves,
            scalar(_noise),
            WithJsonSchema(
                {
                    "anyOf": [
                        {"type": "string", "pattern": r"^(NC|RC) ?\d{1,2}(\.\d)?$"},
                        {"type": "array", "items": {"type": "number"}, "minItems": 7, "maxItems": 7},
                    ]
                }
            ),
        ]
        | None
    ) = Field(
        None,
        description="background noise as a curve, 'NC 30' or 'RC 30', or as seven levels, 125 Hz to 8 kHz",
    )
    reverberation_s: (
        Annotated[
            float | Octaves,
            _seven(0, 20, "seconds", above_low=True),
            WithJsonSchema(_seven_schema("exclusiveMinimum", 0, 20)),
        ]
        | None
    ) = Field(None, description="reverberation time: one figure, or seven, 125 Hz to 8 kHz; or surfaces")
    surfaces: tuple[Surface, ...] = Field(
        (), max_length=MOST_PARTS, description="what absorbs, in place of a reverberation time"
    )
    directivity: (
        Annotated[
            float | Octaves, _seven(0.1, 10, "factor"), WithJsonSchema(_seven_schema("minimum", 0.1, 10))
        ]
        | None
    ) = Field(
        None, description="Q of a talker straight ahead, 1 for even; measured values of a voice if left out"
    )
    use: Literal["meeting", "lecture"] = Field("meeting", description="whose reverberation time is advised")
    inclusive: Truth = Field(False, description="for people hard of hearing or in a second language as well")

    @model_validator(mode="after")
    def _given_once(self) -> Self:
        if self.noise is not None and self.noise_dBA is not None:
            refuse("noise-twice", "noise")
        if self.surfaces and self.reverberation_s is not None:
            refuse("reverberation-twice", "surfaces")
        return self
