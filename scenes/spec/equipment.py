"""What a spec file says of equipment: arrays and their profiles, devices at the ceiling, cameras, displays."""

from typing import Annotated, Final, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema, model_validator

from scenes.spec.lengths import Unit
from scenes.spec.values import (
    Band,
    Coordinate,
    Degrees,
    Distance,
    Extent,
    Footprint,
    Id,
    Mass,
    Point,
    Point3,
    Reach,
    Size3,
    Text,
    Truth,
    Version,
    Written,
    number,
    refuse,
    whole,
)

DEFAULT_SPARE_M: Final = 0.3
STEEPEST_SWING_DEG: Final = 80.0
"""No angle of swing is larger: what swings that far hits its ceiling."""

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
    "exit sign",
    "emergency light",
    "strobe",
    "sensor",
    "access point",
    "access panel",
    "screen",
    "track",
    "fan",
    "duct",
    "pipe",
    "cable tray",
    "other",
]


HangsBy = Literal["cable", "wires", "rod", "pole", "flush", "recessed"]
HELD: Final[dict[str, tuple[HangsBy, ...]]] = {
    "pendant": ("cable", "wires", "rod", "pole"),
    "flush": ("flush", "recessed"),
}
"""What may hold an array of each mount, the usual one first."""


class RoundBody(Written):
    """A cylinder, or a ring."""

    diameter: Extent
    height: Extent
    hole: Extent | None = Field(
        None, description="diameter of the hole of a ring; clearances and lines of sight take it as closed"
    )

    @model_validator(mode="after")
    def _hole_in_body(self) -> Self:
        if self.hole is not None and self.hole >= self.diameter:
            refuse("hole-as-wide-as-body", "hole")
        return self


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
    """What an array can do and how it is held, from its data sheet."""

    mount: Literal["pendant", "flush"]
    hangs_by: HangsBy | None = Field(
        None,
        description="pendant: cable (if left out), wires, rod or pole; flush: flush (if left out) or recessed",
    )
    points: Annotated[int, Field(ge=1, le=12), whole(1, 12, "points")] = Field(
        1, description="points of the body that it is held at"
    )
    spread: Extent | None = Field(
        None,
        description="how far apart those points are: the diameter of their circle, or from end to end along a bar",
    )
    cutout: Footprint | None = Field(
        None, description="what the ceiling is opened for it: [diameter] of a hole, or [x, y] of a cut-out"
    )
    body: Body = Field(description="{diameter, height}, with hole for a ring, or {size: [x, y, z]}")
    bands: dict[Id, Band] = Field(min_length=1, description="name: [low, high], degrees of depression")
    reach: Reach = Field(description="[near, far], slant distance from the acoustic centre to a mouth")
    sectors: Annotated[int, Field(ge=1, le=360), whole(1, 360, "sectors")] = 1
    centre: Distance | None = Field(
        None, description="acoustic centre above the body's underside; its middle if left out"
    )
    mass: Mass | None = None
    level: Annotated[
        float,
        number(0, 45, "degrees"),
        WithJsonSchema({"type": "number", "minimum": 0, "maximum": 45}),
    ] = Field(1.0, description="degrees it may hang out of true")
    directivity_dB: (
        Annotated[
            float,
            number(0, 20, "decibels"),
            WithJsonSchema({"type": "number", "minimum": 0, "maximum": 20}),
        ]
        | None
    ) = Field(None, description="how far it favours direct over diffuse sound, by its data sheet")

    @model_validator(mode="after")
    def _held_as_mounted(self) -> Self:
        if self.hangs_by is not None and self.hangs_by not in HELD[self.mount]:
            refuse("hangs-elsewhere", "hangs_by")
        return self

    @model_validator(mode="after")
    def _held_where_it_is(self) -> Self:
        ring = isinstance(self.body, RoundBody) and self.body.hole is not None
        if ring and self.mount == "pendant" and self.points == 1:
            refuse("ring-on-one-point", "points")
        return self

    @model_validator(mode="after")
    def _spread_on_body(self) -> Self:
        if self.spread is not None and self.points == 1:
            refuse("spread-one-point", "spread")
        body = self.body
        widest = body.diameter if isinstance(body, RoundBody) else max(body.size[:2])
        if self.spread is not None and self.spread > widest:
            refuse("spread-off-body", "spread")
        return self

    @property
    def held_by(self) -> HangsBy:
        """What holds it: as written, or the usual for its mount."""
        return self.hangs_by or HELD[self.mount][0]

    @model_validator(mode="after")
    def _centre_in_body(self) -> Self:
        if self.centre is not None and self.mount == "flush":
            refuse("centre-flush", "centre")
        if self.centre is not None and self.centre > self.body.height:
            refuse("centre-above-body", "centre")
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
            refuse("height-and-drop", "drop")
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
    spray: Literal["standard", "extended", "sidewall", "special", "unknown"] = Field(
        "unknown", description="of a sprinkler"
    )

    @model_validator(mode="after")
    def _spray_of_sprinklers(self) -> Self:
        if "spray" in self.model_fields_set and self.kind != "sprinkler":
            refuse("spray-elsewhere", "spray")
        return self


class Camera(Written):
    """A camera."""

    id: Id
    at: Point3
    aim: Point3 | None = Field(None, description="the place [x, y, height] it looks at")
    angle: (
        Annotated[
            float,
            number(0, 180, "degrees", above_low=True),
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


class Box(Written):
    """The box that the cable comes from."""

    fixing: Literal["tile bridge", "structure"]
    size: Size3 | None = None


def _box(value: object) -> object:
    return {"fixing": value} if isinstance(value, str) else value


class Swing(Written):
    """How far what hangs may swing, in an earthquake or when somebody pushes it; and who says so."""

    angle_deg: Annotated[
        float,
        number(0, STEEPEST_SWING_DEG, "degrees", above_low=True),
        WithJsonSchema({"type": "number", "exclusiveMinimum": 0, "maximum": STEEPEST_SWING_DEG}),
    ] = Field(description="degrees out of plumb, any way")
    source: Text = Field(description="who gave the angle, and where it stands")


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
    swing: Swing | None = Field(
        None, description="{angle_deg, source}: what hangs is kept clear of all it can swing to"
    )
