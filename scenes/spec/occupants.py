"""What a spec file says of people: mouths and sway by posture, seats, standing places, areas."""

from typing import Annotated, Final, Literal, Self

from pydantic import (
    Discriminator,
    Field,
    Tag,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapValidator,
    model_validator,
)

from geometry.polygons import circle_about, turned_rectangle
from scenes.spec.values import (
    MOST_CORNERS,
    MOST_HEADS,
    MOST_PARTS,
    Degrees,
    Distance,
    Extent,
    Footprint,
    Id,
    Mouth,
    Outline,
    Percentiles,
    Point,
    SeatHeight,
    Share,
    Size2,
    Sole,
    Text,
    Truth,
    Written,
    in_range,
    list_of,
    number,
    refuse,
    scalar,
    whole,
)

# The designer's input where a file says nothing; mouth heights as customary measuring heights: 1.2 m seated
# and 1.5 m for a standing source, ISO 3382-1:2009 section 4 (from memory).
DEFAULT_MOUTH_M: Final = {"seated": 1.2, "standing": 1.5}
DEFAULT_SWAY_M: Final = 0.10
# Weights count in steps of a thousandth, and a step is worth more than any margin.
LEAST_WEIGHT: Final = 0.001
MOST_WEIGHT: Final = 1000.0

Posture = Literal["seated", "standing"]
Weight = Annotated[
    float,
    number(LEAST_WEIGHT, MOST_WEIGHT, "plain"),
    WithJsonSchema({"type": "number", "minimum": LEAST_WEIGHT, "maximum": MOST_WEIGHT}),
]


class Person(Written):
    """The defaults of a posture: a mouth range given, or one taken from a population."""

    mouth: Mouth | None = None
    sway: Distance = Field(DEFAULT_SWAY_M, description="how far the mouth moves from its place")
    population: Text | None = Field(None, description="take the mouth heights from a surveyed population")
    percentiles: Percentiles = (5.0, 95.0)
    women: Share | None = Field(None, description="the share of women, 0 to 1; half where it is left out")
    seat: SeatHeight | None = Field(
        None,
        description="height of the seat above the floor; own: as high as each person's lower leg and shoe",
    )
    shoe: Sole | None = Field(
        None, description="thickness of the soles: of who stands, or sits on an own seat"
    )
    slump: Sole | None = Field(
        None, description="how much lower than upright people sit; 30 to 45 mm is customary"
    )

    @model_validator(mode="after")
    def _one_origin(self) -> Self:
        if self.mouth is not None and self.population is not None:
            refuse("mouth-and-population", "population")
        given = self.model_fields_set & {"percentiles", "women", "seat", "shoe", "slump"}
        if self.population is None and given:
            refuse("needs-population", min(given), key=min(given))
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
            refuse("seat-standing", "standing", "seat")
        if self.standing.slump is not None:
            refuse("slump-standing", "standing", "slump")
        return self


def _facing(value: object) -> float | tuple[float, ...]:
    if isinstance(value, list | tuple):
        if len(value) != 2:
            refuse("facings")
        return tuple(in_range(one, -360, 360, "degrees", at=(i,)) for i, one in enumerate(value))
    return in_range(value, -360, 360, "degrees")


_ANGLE: Final = {"type": "number", "minimum": -360, "maximum": 360}
Facing = Annotated[
    float | tuple[float, ...],
    scalar(_facing),
    WithJsonSchema({"anyOf": [_ANGLE, {"type": "array", "items": _ANGLE, "minItems": 2, "maxItems": 2}]}),
]


def ways(facing: float | tuple[float, ...] | None) -> tuple[float, ...]:
    """All ways that somebody looks by their `facing`; none where nothing is written."""
    if facing is None:
        return ()
    return facing if isinstance(facing, tuple) else (facing,)


class _Heads(Written):
    mouth: Mouth | None = None
    sway: Distance | None = None
    facing: Facing | None = Field(
        None,
        description="the plan angle they look towards, or two for somebody who turns between them; or towards",
    )
    head_down: Annotated[
        float,
        number(-60, 60, "degrees"),
        WithJsonSchema({"type": "number", "minimum": -60, "maximum": 60}),
    ] = Field(0.0, description="degrees the head is bent down, as over a laptop")
    towards: Id | None = Field(
        None, description="the id of the table, display, camera or obstacle that they look at"
    )
    weight: Weight = Field(
        1.0, description="how much each of them counts where not everybody can be covered (aim most)"
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.facing is not None and self.towards is not None:
            refuse("facing-and-towards", "towards")
        return self


class _Seats(_Heads):
    posture: Posture = "seated"
    stands: Truth = Field(False, description="adds the same person standing up, id with -up")


class AroundSeats(_Seats):
    """Seats round a table: ids T1-1, T1-2, …"""

    around: Id = Field(description="the id of a table")
    pitch: Extent = Field(0.75, description="distance between neighbours; or count")
    count: Annotated[int, Field(ge=1, le=MOST_HEADS), whole(1, MOST_HEADS, "seats")] | None = None
    gap: Distance = Field(0.25, description="table edge to mouth, outwards")
    skip: tuple[Literal["+x", "-x", "+y", "-y"], ...] = Field(
        (), description="sides left empty, in the table's frame"
    )

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if self.count is not None and "pitch" in self.model_fields_set:
            refuse("pitch-and-count", "count")
        return self


class SingleSeat(_Seats):
    """One seat; `at` is the plan position of the mouth."""

    id: Id
    at: Point


class SeatRows(_Seats):
    """Rows of desks: ids R-1-1 (nearest -x -y), R-1-2, …"""

    id: Id
    rows: Annotated[int, Field(ge=1, le=MOST_HEADS), whole(1, MOST_HEADS, "rows")]
    columns: Annotated[int, Field(ge=1, le=MOST_HEADS), whole(1, MOST_HEADS, "columns")]
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
        list_of(2, MOST_CORNERS, "line"),
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


class KeepAway(Written):
    """A place that should not be heard, in the room or beside it."""

    id: Id
    outline: Outline = Field(description="plan polygon [[x, y], …]; it may lie outside the room")
    reason: Text | None = Field(None, description="why it should not be heard")


class Area(Written):
    """Anybody, anywhere in here, at any mouth height of the posture."""

    id: Id
    shape: Literal["rectangle", "round"] | None = Field(None, description="round: a circle of the one size")
    outline: Outline | None = Field(None, description="plan polygon [[x, y], …]; or at and size")
    at: Point | None = Field(None, description="the middle, of a rectangle or a circle")
    size: Footprint | None = Field(
        None, description="[x, y] of a rectangle, before turn; [diameter] of a circle"
    )
    turn: Degrees = 0.0
    holes: tuple[Outline, ...] = Field(
        (), max_length=MOST_PARTS, description="plan polygons in it where nobody is"
    )
    posture: Posture = Field("seated", description="whose mouth heights and lean count")

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        by_size = self.at is not None and self.size is not None
        either = self.at is not None or self.size is not None or self.shape is not None
        if (self.outline is None) != by_size or (self.outline is not None and either):
            refuse("area-shape")
        if self.size is not None and (len(self.size) == 1) != (self.shape == "round"):
            refuse("area-size", "size")
        return self

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """The outline's corners as written, or of the rectangle; of a circle those of a polygon just around it."""
        if self.outline is not None:
            return self.outline
        assert self.at is not None  # by _one_shape
        assert self.size is not None
        if len(self.size) == 1:
            return circle_about(self.at, self.size[0] / 2)
        return turned_rectangle(self.at, (self.size[0], self.size[1]), self.turn)
