"""What a spec file says of the room: its shell, tables and whatever stands in it."""

import math
from typing import Annotated, Final, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from geometry.ceiling import Surface, sloped
from geometry.polygons import turned_rectangle
from scenes.spec.values import (
    MOST_CORNERS,
    MOST_PARTS,
    SMALLEST_M,
    Degrees,
    Distance,
    Extent,
    Footprint,
    Id,
    Outline,
    Point,
    Size1,
    Size2,
    Written,
    refuse,
    whole,
)


class Grid(Written):
    """A lay-in ceiling's grid."""

    pitch: Size2
    origin: Point = (0.0, 0.0)


class Slope(Written):
    """A ceiling that rises from low to high across its part, along a plan angle."""

    low: Extent
    high: Extent
    towards: Degrees = Field(description="the plan angle along which it rises")

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.low >= self.high:
            refuse("slope-order", "high")
        return self


class CeilingPart(Written):
    """A part of the ceiling that is not as the rest: of another height, sloped, or of another kind."""

    id: Id
    outline: Outline | None = Field(None, description="plan polygon [[x, y], …]; or at and size")
    at: Point | None = Field(None, description="middle of a rectangular part")
    size: Size2 | None = Field(None, description="[x, y] of a rectangular part, before turn")
    turn: Degrees = 0.0
    kind: Literal["suspended", "open", "hard"] | None = Field(None, description="as the rest if left out")
    height: Extent | None = Field(None, description="finished ceiling above the finished floor; or slope")
    slope: Slope | None = Field(None, description="{low, high, towards} of a sloped part")
    structure: Extent | None = Field(None, description="underside of what carries it; the room's if left out")
    grid: Grid | None = Field(
        None, description="its own grid; a flat suspended part has the room's if left out"
    )

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if (self.outline is None) == (self.at is None or self.size is None) or (
            self.outline is not None and (self.at is not None or self.size is not None)
        ):
            refuse("part-shape")
        if (self.height is None) == (self.slope is None):
            refuse("part-height")
        if self.slope is not None and self._run_m(self.slope.towards) < SMALLEST_M:
            refuse("slope-flat", "slope", "towards")
        return self

    def _run_m(self, towards_deg: float) -> float:
        way = math.cos(math.radians(towards_deg)), math.sin(math.radians(towards_deg))
        along = [way[0] * x + way[1] * y for x, y in self.corners]
        return max(along) - min(along)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """The outline's corners as written, or of the rectangle."""
        if self.outline is not None:
            return self.outline
        assert self.at is not None  # by _one_shape
        assert self.size is not None
        return turned_rectangle(self.at, self.size, self.turn)

    @property
    def surface(self) -> Surface:
        """Its underside."""
        if self.slope is not None:
            return sloped(self.corners, self.slope.low, self.slope.high, self.slope.towards)
        assert self.height is not None  # by _one_shape
        return Surface(self.corners, self.height)


class Ceiling(Written):
    """The finished ceiling; of an open one the structure's underside."""

    kind: Literal["suspended", "open", "hard"] = "suspended"
    height: Extent = Field(description="finished ceiling above the finished floor")
    parts: tuple[CeilingPart, ...] = Field(
        (), max_length=MOST_PARTS, description="what differs from the rest: bulkheads, coffers, slopes"
    )

    def over(self, at: tuple[float, float]) -> CeilingPart | None:
        """The part over a plan place; None under the rest."""
        return next((part for part in self.parts if part.surface.covers(at)), None)

    def height_over(self, at: tuple[float, float] | None) -> float:
        """How high it is over a plan place, metres; without a place as high as the rest."""
        part = None if at is None or not self.parts else self.over(at)
        return self.height if part is None or at is None else part.surface.height_m(at)

    @property
    def highest(self) -> float:
        """The highest of the ceiling, metres."""
        return max([self.height, *(part.surface.span_m[1] for part in self.parts)])


def _ceiling(value: object) -> object:
    return value if isinstance(value, (dict, Ceiling)) else {"height": value}


class Opening(Written):
    """A door, a window or a plain opening in a wall."""

    id: Id
    kind: Literal["door", "window", "opening"]
    wall: Annotated[int, Field(ge=0, le=MOST_CORNERS - 1), whole(0, MOST_CORNERS - 1, "wall")] = Field(
        description="wall i runs from corner i to corner i + 1 of the outline, counted from 0; W1 on drawings is wall 0"
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
        description="its height above the finished floor, or {kind: suspended | open | hard, height: …, parts: […]}"
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
                refuse("outline-or-size")
            refuse("outline-and-size", "size")
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
            refuse("table-ends", "ends")
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
            refuse("table-narrow", "narrow")
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


class Obstacle(Written):
    """A column, a cupboard, a screen: something that stands in the room."""

    id: Id
    at: Point
    size: Footprint = Field(description="[x, y] before turn, or [diameter]")
    turn: Degrees = 0.0
    from_: Distance = Field(0.0, alias="from", description="its lower end above the floor")
    to: Extent | None = Field(None, description="its upper end above the floor; the ceiling if left out")

    @model_validator(mode="after")
    def rising(self) -> Self:
        if self.to is not None and self.to <= self.from_:
            refuse("from-above-to", "to")
        return self
