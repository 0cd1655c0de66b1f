"""What a spec file may say, as a whole: every key, its type, its range, its default.

The parts have modules of their own: `shell`, `occupants`, `equipment`, made of the kinds of value in `values`.
Attributes are named as the file's keys (`from` is `from_`) and hold metres and degrees: lengths are converted
here, at the border, and nowhere else. What must agree between the parts of a file is checked in
`scenes.spec.agreement`.
"""

from pathlib import Path as FilePath
from typing import Annotated, Any, Final, Literal, Self

from pydantic import Field, PrivateAttr, WithJsonSchema, model_validator

from scenes.rulebook import DEFAULT_CODE, CodeSet
from scenes.spec.acoustics import Acoustics
from scenes.spec.equipment import Array, Camera, Device, Display, Profile, Suspension
from scenes.spec.layouts import FURNISHING, MOST_LAYOUTS, Layout
from scenes.spec.lengths import Unit
from scenes.spec.occupants import Area, KeepAway, People, SeatGroup, Standing
from scenes.spec.shell import Obstacle, Room, Table
from scenes.spec.source import Source
from scenes.spec.values import (
    MOST_ARRAYS,
    MOST_OVERHEAD,
    MOST_PARTS,
    Date,
    Degrees,
    Depression,
    Distance,
    Id,
    Plain,
    Reach,
    Text,
    Truth,
    Version,
    Written,
    list_of,
    number,
    refuse,
    text,
)

# Kept from every rule where a place is chosen, beyond what the rule asks: what can be built. No source.
WISHED_SPARE_M: Final = 0.02
# Body to wall; underside over walking surfaces; underside over a table: what they rest on stands in rules.yaml.
DEFAULT_LIMITS_M: Final = {"wall": 0.3, "headroom": 2.032, "free_over_table": 0.6}


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
    link: Text | None = Field(
        None, description="where this design is kept: it joins the code of each hang card"
    )
    language: Literal["en-GB", "en-US"] = Field(
        "en-GB", description="spelling of what is written about the room"
    )
    revisions: tuple[Revision, ...] = ()


class RuleChange(Written):
    """A clearance rule changed (`required`) or switched off (`use: false`), with the reason."""

    required: Distance | None = None
    use: Truth = True
    reason: Text = Field(description="why; carried into every output")

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if (self.required is None) == self.use:
            refuse("rule-change-nothing" if self.use else "rule-change-both")
        return self


class Limits(Written):
    """What every array keeps clear of. Headroom: 80 in by IBC 1003.3.1; local codes differ."""

    wall: Distance = Field(DEFAULT_LIMITS_M["wall"], description="body to wall")
    headroom: Distance = Field(DEFAULT_LIMITS_M["headroom"], description="underside over walking surfaces")
    free_over_table: Distance = Field(
        DEFAULT_LIMITS_M["free_over_table"], description="underside over a table"
    )


def _decibels(low: float, high: float) -> dict[str, Any]:
    return {"type": "number", "minimum": low, "maximum": high}


class Criteria(Written):
    """The designer's own yardsticks: reported, never failed."""

    distance: Reach | None = Field(None, description="[near, far], from the array to a mouth")
    off_centre: Depression | None = Field(None, description="degrees from the band's middle, either way")
    direct_to_reverberant: (
        Annotated[float, number(-40, 40, "decibels"), WithJsonSchema(_decibels(-40, 40))] | None
    ) = Field(
        None, description="least direct over reverberant sound at an array, dB; no published limit exists"
    )
    over_noise: Annotated[float, number(0, 60, "decibels"), WithJsonSchema(_decibels(0, 60))] | None = Field(
        None, description="least speech over the noise, dB, in place of 15"
    )
    noise: Annotated[float, number(0, 120, "dBA"), WithJsonSchema(_decibels(0, 120))] | None = Field(
        None, description="most noise, dB(A), in place of 35"
    )
    index: Annotated[float, number(0, 1, "plain"), WithJsonSchema(_decibels(0, 1))] | None = Field(
        None, description="least speech index, 0 to 1, in place of 0.60"
    )
    sound: Literal["none"] | None = Field(None, description="none: no advice about sound")


class Wishes(Written):
    """What a good place of the arrays looks like: kept where it can be, told with its price."""

    over: Id | None = Field(
        None,
        description="every array over one of the tables (tables), over this table (its id), or none; "
        "left out: over the table that seats at least half of the talkers",
    )
    row: Truth | None = Field(
        None,
        description="several arrays in one straight line at equal spacing, about the table's middle or the room's; "
        "left out: yes where they are to be over one table",
    )
    spare: Distance = Field(
        WISHED_SPARE_M,
        description="kept from every rule that binds a position, beyond what it asks, and beside steps of the ceiling",
    )


class ModelFile(Written):
    """A file of the architect's that a room was read from."""

    file: Text = Field(description="relative to the spec's folder")
    sha256: Annotated[str, text(64), WithJsonSchema({"type": "string", "pattern": "^[0-9a-f]{64}$"})]


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
    x_axis: Annotated[tuple[Plain, Plain], list_of(2, 2, "x-axis")] = (
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
    origin_m: Annotated[tuple[Plain, Plain, Plain], list_of(3, 3, "origin")] = Field(
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
    number: Text | None = Field(None, description="the room's number, in quotes")
    storey: Text | None = Field(None, description="the storey the room is on")
    document: Document | None = None
    units: Unit = Field(description="the units of bare numbers: m, cm, mm, ft or in")
    code: CodeSet = Field(DEFAULT_CODE, description="us, uk or eu: whose published values and cautions apply")
    room: Room
    tables: tuple[Table, ...] = ()
    people: People = People.model_construct()
    seats: tuple[SeatGroup, ...] = ()
    standing: tuple[Standing, ...] = ()
    areas: tuple[Area, ...] = Field(
        (), max_length=MOST_PARTS, description="anybody anywhere in here; each is judged as a whole"
    )
    keep_away: tuple[KeepAway, ...] = Field(
        (), max_length=MOST_PARTS, description="places that should not be heard, of every layout"
    )
    layouts: dict[Id, Layout] = Field(
        {},
        max_length=MOST_LAYOUTS,
        description="other furnishings of the same room, by name, judged together by one set of arrays; "
        "the top level belongs to all of them",
    )
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
    criteria: Criteria = Criteria.model_construct()
    wishes: Wishes = Wishes.model_construct()
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

    def in_layout(self, name: str) -> "Spec":
        """The room in one of its layouts: the top level's furnishings and then the layout's own."""
        layout = self.layouts[name]
        both = {key: (*getattr(self, key), *getattr(layout, key)) for key in FURNISHING}
        return self.model_copy(update={**both, "layouts": {}})

    def centre_height(self, array: Array) -> float | None:
        """Metres of an array's acoustic centre above the floor; None where it is left open for `place`."""
        ceiling = self.room.ceiling.height_over(array.at)
        if self.profiles[array.profile].mount == "flush":
            return ceiling
        return ceiling - array.drop if array.drop is not None else array.height
