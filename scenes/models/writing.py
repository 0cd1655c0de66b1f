"""A room of a model written as a spec file: YAML, a line a thing, behind each line a remark where it is from.

The remarks are English and come from above: `remark` turns a `Note` into text. What the spec's own model does not
take (see `accepts`) is not written; the doubt about it is.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from typing import Any, Final, get_args

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.model import (
    CeilingPart,
    CeilingSource,
    Doubt,
    DoubtName,
    FileFacts,
    ModelDevice,
    ModelOpening,
    ModelRoom,
    ModelTable,
    Note,
    NoteName,
)
from scenes.models.files import MapConversion
from scenes.models.people import People, people_of
from scenes.spec import equipment, shell
from scenes.spec.lengths import METRES_IN

Remark = Callable[[Note], str]
Pairs = Sequence[tuple[str, str | None]]

DECIMALS: Final = {"m": 4, "cm": 2, "mm": 1, "ft": 5, "in": 4}
"""Lengths are written to a tenth of a millimetre or finer, so that the way back is that exact."""
ANGLE_DECIMALS: Final = 4
SUM_DIGITS: Final = 8
REMARK_COLUMN: Final = 2
"""Spaces before a remark."""
SMALLEST_SIZE_M: Final = 0.001
CEILING_NOTES: Final[dict[CeilingSource, NoteName]] = {
    "covering": "ceiling.covering",
    "slab": "ceiling.slab",
    "space": "ceiling.space",
    "option": "ceiling.option",
}


@record(frozen=True)
class Written:
    """What import writes beside the room itself."""

    units: str
    files: tuple[FileFacts, ...]
    taken: str | None
    name: str
    map: MapConversion | None = None
    profiles: str | None = None
    profile: str | None = None
    """The profile of the file `profiles` that the first array has."""


@record(frozen=True, slots=True)
class Entry:
    """A line of the spec: what it is about (an id, or a key such as `room.ceiling`), its text, its remark."""

    about: str
    text: str
    note: Note = field(default_factory=Note)
    guid: str = ""

    @property
    def sum(self) -> str:
        """A digest of the text, by which a later import sees whether somebody changed it."""
        return digest(self.text)


def digest(text: str) -> str:
    """The digest of an entry's text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:SUM_DIGITS]


def accepts(model: Any, key: str) -> bool:
    """Whether a part of the spec takes this key."""
    return key in model.model_fields


def kind_for_spec(kind: str) -> str:
    """A device's kind as the spec has it: `other` where it has no word for it."""
    return kind if kind in get_args(equipment.Kind) else "other"


def spec_text(room: ModelRoom, about: Written, remark: Remark) -> str:
    """The room as the text of a spec file, ready to be read. Ends with a line feed."""
    return "\n".join(_Text(room, about, remark).lines()) + "\n"


def model_lines(
    room: ModelRoom, about: Written, remark: Remark, unsure: set[str], sums: Mapping[str, str]
) -> Iterator[str]:
    """The lines of `model:` alone: with the doubts about `unsure` only, and these digests kept as they are."""
    return _Text(room, about, remark).model(unsure, sums)


def entries(room: ModelRoom, units: str) -> dict[str, list[Entry]]:
    """The lines that are read from the model, by the key of the spec they stand under."""
    return _Lines(room, units).all()


class _Lines:
    """The lines of a spec that are read from a model."""

    def __init__(self, room: ModelRoom, units: str) -> None:
        self.room, self.units = room, units
        self.people: People = people_of(room)
        self.doubts: dict[str, list[DoubtName]] = {}
        for doubt in (*room.doubts, *self.people.doubts, *self._not_taken()):
            self.doubts.setdefault(doubt.about, []).append(doubt.name)

    def _not_taken(self) -> Iterator[Doubt]:
        """Doubts about what the spec cannot say."""
        for device in self.room.devices:
            if kind_for_spec(device.kind) != device.kind:
                yield Doubt(device.id, "kind-unknown", "flattened")

    def all(self) -> dict[str, list[Entry]]:
        """Every line, by key."""
        room = self.room
        return {
            "room": list(self._room()),
            "room.openings": [self._opening(one) for one in room.openings],
            "tables": [self._table(one) for one in room.tables],
            "seats": [self._entry(one.id, one.pairs(self.number), one.guid) for one in self.people.seats],
            "standing": [self._entry(one.id, one.pairs(self.number), "") for one in self.people.standing],
            "overhead": [self._device(one) for one in room.devices],
            "obstacles": [
                self._entry(
                    one.id,
                    [
                        *self._placed(one.id, one.at_m, one.size_m, one.turn_deg),
                        ("from", self.number(one.from_m)),
                        ("to", self.number(one.to_m)),
                    ],
                    one.guid,
                    of_type=one.of_type,
                )
                for one in room.obstacles
            ],
            "cameras": [
                self._entry(one.id, [("id", one.id), ("at", self.point(one.at_m))], one.guid)
                for one in room.cameras
            ],
            "displays": [
                self._entry(
                    one.id,
                    [
                        ("id", one.id),
                        ("at", self.point(one.at_m)),
                        ("width", self.size(one.width_m)),
                        ("height", self.size(one.height_m)),
                        ("facing", angle(one.facing_deg)),
                    ],
                    one.guid,
                )
                for one in room.displays
            ],
        }

    # ---- values

    def number(self, metres: float) -> str:
        """A length in the file's units."""
        return plain_number(metres / float(METRES_IN[self.units]), DECIMALS[self.units])

    def size(self, metres: float) -> str:
        """A size, which a spec wants to be at least a millimetre."""
        return self.number(max(metres, SMALLEST_SIZE_M))

    def point(self, at: Sequence[float]) -> str:
        """A place."""
        return "".join(["[", ", ".join(map(self.number, at)), "]"])

    def outline(self, corners: Iterable[Point2]) -> str:
        """An outline."""
        return "".join(["[", ", ".join(map(self.point, corners)), "]"])

    def _entry(
        self, about: str, pairs: Pairs, guid: str, *, of_type: bool = False, note: Note | None = None
    ) -> Entry:
        doubts = tuple(self.doubts.get(about, ()))
        name = note.name if note is not None else "from the type" if of_type else "measured" if guid else None
        values = () if note is None else note.values
        return Entry(about, flow(pairs), Note(name, values, doubts), guid)

    def _placed(
        self, id: str, at: Point2, size: Sequence[float] | None, turn: float
    ) -> list[tuple[str, str | None]]:
        sizes = None if size is None else "".join(["[", ", ".join(map(self.size, size)), "]"])
        return [("id", id), ("at", self.point(at)), ("size", sizes), ("turn", angle(turn) if turn else None)]

    # ---- lines

    def _room(self) -> Iterator[Entry]:
        room, ceiling = self.room, self.room.ceiling
        moved = room.straightening.moved_m
        note = Note("straightened", (("moved_m", moved),)) if moved > 1e-6 else Note("measured")
        yield self._line("room.outline", self.outline(room.outline_m), note)
        share = 1.0 if ceiling.parts and ceiling.share == 0 else ceiling.share
        source = Note(CEILING_NOTES[ceiling.source], (("share", share),))
        parts = [self._part(i, part) for i, part in enumerate(ceiling.parts, 1)]
        pairs: list[tuple[str, str | None]] = [
            ("kind", ceiling.kind),
            ("height", self.number(ceiling.height_m)),
        ]
        if parts:
            pairs.append(("parts", "".join(["[", ", ".join(part.text for part in parts), "]"])))
        kinds = self.doubts.get("room.ceiling.kind", [])
        doubts = (*self.doubts.get("room.ceiling", ()), *kinds)
        yield Entry("room.ceiling", flow(pairs), Note(source.name, source.values, doubts))
        if ceiling.structure_m is not None:
            yield self._line("room.structure", self.number(ceiling.structure_m), Note("structure"))
        if room.north_deg is not None:
            yield self._line("room.north", angle(room.north_deg), Note("north"))

    def _line(self, about: str, text: str, note: Note) -> Entry:
        return Entry(about, text, Note(note.name, note.values, tuple(self.doubts.get(about, ()))))

    def _part(self, index: int, part: CeilingPart) -> Entry:
        pairs: list[tuple[str, str | None]] = [
            ("id", "".join(["CP", str(index)])),
            ("outline", self.outline(part.outline_m)),
            ("kind", part.kind),
        ]
        if part.slope is not None:
            slope = [
                ("low", self.number(part.slope.low_m)),
                ("high", self.number(part.slope.high_m)),
                ("towards", angle(part.slope.towards_deg)),
            ]
            pairs.append(("slope", flow(slope)))
        elif part.height_m is not None:
            pairs.append(("height", self.number(part.height_m)))
        if part.structure_m is not None:
            pairs.append(("structure", self.number(part.structure_m)))
        return Entry("", flow(pairs))

    def _opening(self, one: ModelOpening) -> Entry:
        pairs: list[tuple[str, str | None]] = [
            ("id", one.id),
            ("kind", one.kind),
            ("wall", str(one.wall)),
            ("offset", self.number(one.offset_m)),
            ("width", self.size(one.width_m)),
            ("height", self.size(one.height_m)),
            ("sill", self.number(one.sill_m) if one.sill_m else None),
        ]
        if one.swing is not None and accepts(shell.Opening, "swing"):
            pairs.append(("swing", flow([("hinge", one.swing.hinge), ("opens", one.swing.opens)])))
        return self._entry(one.id, pairs, one.guid)

    def _table(self, one: ModelTable) -> Entry:
        if one.shape == "polygon":
            pairs: Pairs = [("id", one.id), ("shape", one.shape), ("outline", self.outline(one.outline_m))]
        else:
            head, *rest = self._placed(one.id, one.at_m, one.size_m, one.turn_deg)
            pairs = [head, ("shape", one.shape), *rest]
        return self._entry(
            one.id, [*pairs, ("height", self.number(one.height_m))], one.guid, of_type=one.of_type
        )

    def _device(self, one: ModelDevice) -> Entry:
        head, *rest = self._placed(one.id, one.at_m, one.size_m, one.turn_deg)
        shown: NoteName | None = None
        if one.through_structure:
            shown = "through the structure"
        elif one.above_ceiling:
            shown = "above the ceiling"
        pairs = [
            head,
            ("kind", kind_for_spec(one.kind)),
            *rest,
            ("below", self.number(one.below_m)),
            ("depth", None if one.depth_m is None else self.number(one.depth_m)),
            ("stem", None if one.stem_m is None else self.number(one.stem_m)),
        ]
        note = Note(shown) if shown else None
        return self._entry(one.id, pairs, one.guid, of_type=one.of_type, note=note)


class _Text:
    """The whole file, line by line."""

    def __init__(self, room: ModelRoom, about: Written, remark: Remark) -> None:
        self.room, self.about, self.remark = room, about, remark
        self.made = _Lines(room, about.units)
        self.groups = self.made.all()

    def lines(self) -> Iterator[str]:
        """Every line, without line feeds."""
        yield from self._head()
        yield ""
        yield "room:"
        for entry in self.groups["room"]:
            yield self._with(_key("  " + entry.about.removeprefix("room."), entry.text), entry.note)
        if self.groups["room.openings"]:
            yield "  openings:"
            yield from self._list(self.groups["room.openings"], "    ")
        for key in ("tables", "seats", "standing"):
            yield from self._section(key)
        yield ""
        yield from self._arrays()
        for key in ("overhead", "obstacles", "cameras", "displays"):
            yield from self._section(key)
        if self.room.left_out:
            yield ""
            counts = dict(self.room.left_out)
            yield from self._alone(Note("left out", (("count", sum(counts.values())),)))
        yield ""
        yield from self.model()

    def _head(self) -> Iterator[str]:
        about = self.about
        files = ", ".join(one.file for one in about.files)
        yield from self._alone(Note("head", (("files", files), ("date", about.taken or ""))))
        yield from self._alone(Note("head.values"))
        yield "overtable: 1"
        yield _key("name", scalar(about.name))
        if self.room.project or self.room.storey:
            place = ", ".join(one for one in (self.room.project, self.room.storey) if one)
            yield _key("project", scalar(place))
        yield _key("units", about.units)

    def _arrays(self) -> Iterator[str]:
        about = self.about
        if about.profiles is None:
            yield from self._alone(Note("profiles"))
            return
        yield _key("profiles", scalar(about.profiles))
        if about.profile is not None:
            yield "arrays:"
            yield "".join(["  - ", flow([("id", "A1"), ("profile", scalar(about.profile))])])

    def _section(self, key: str) -> Iterator[str]:
        if self.groups[key]:
            yield ""
            yield "".join([key, ":"])
            yield from self._list(self.groups[key], "  ")

    def _list(self, group: Sequence[Entry], indent: str) -> Iterator[str]:
        for entry in group:
            yield self._with("".join([indent, "- ", entry.text]), entry.note)

    def _with(self, line: str, note: Note) -> str:
        text = self.remark(note)
        return "".join([line, " " * REMARK_COLUMN, "# ", text]) if text else line

    def _alone(self, note: Note) -> Iterator[str]:
        for line in self.remark(note).splitlines():
            yield " ".join(["#", line])

    def model(self, only: set[str] | None = None, sums: Mapping[str, str] | None = None) -> Iterator[str]:
        """Where the room comes from. `only`: what may be named as unsure; `sums`: digests that are not the line's."""
        room, about = self.room, self.about
        yield "model:"
        yield "  files:"
        for one in about.files:
            yield "".join(["    - ", flow([("file", scalar(one.file)), ("sha256", quoted(one.sha256))])])
        if room.guid:
            yield _key("  space", quoted(room.guid))
        if room.parents:
            yield _key("  ids", flow([(kind, quoted(guid)) for kind, guid in room.parents[::-1]]))
        origin = ", ".join(plain_number(value, 6) for value in room.frame.origin_m)
        yield _key("  origin_m", "".join(["[", origin, "]"]))
        yield _key("  turn", plain_number(room.frame.turn_deg, 9))
        yield _key("  map", "null" if about.map is None else _map(about.map))
        if about.taken:
            yield _key("  taken", about.taken)
        unsure = [(one, doubt) for one in self._all() for doubt in one.note.doubts]
        unsure = [pair for pair in unsure if only is None or pair[0].about in only]
        if unsure:
            yield from self._alone_in(Note("head.unsure"), "  ")
            yield "  unsure:"
            for key, names in _grouped(unsure):
                note = Note(None, (), tuple(names))
                yield self._with(_key("".join(["    ", scalar(key)]), names[0]), note)
        yield "  things:"
        for entry in self._all():
            pairs = [
                ("id", quoted(entry.guid) if entry.guid else None),
                ("sum", quoted((sums or {}).get(entry.about, entry.sum))),
            ]
            yield _key("".join(["    ", scalar(entry.about)]), flow(pairs))

    def _alone_in(self, note: Note, indent: str) -> Iterator[str]:
        return ("".join([indent, line]) for line in self._alone(note))

    def _all(self) -> list[Entry]:
        return [entry for group in self.groups.values() for entry in group]


def _grouped(unsure: Sequence[tuple[Entry, DoubtName]]) -> list[tuple[str, list[DoubtName]]]:
    found: dict[str, list[DoubtName]] = {}
    for entry, name in unsure:
        found.setdefault(entry.about, []).append(name)
    return list(found.items())


def _map(map: MapConversion) -> str:
    axis = ", ".join([json.dumps(map.abscissa), json.dumps(map.ordinate)])
    return flow(
        [
            ("eastings", json.dumps(map.eastings)),
            ("northings", json.dumps(map.northings)),
            ("height", json.dumps(map.height)),
            ("x_axis", "".join(["[", axis, "]"])),
            ("scale", json.dumps(map.scale)),
            ("crs", None if map.crs is None else scalar(map.crs)),
        ]
    )


def _key(key: str, value: str) -> str:
    return "".join([key, ": ", value])


def flow(pairs: Pairs) -> str:
    """A mapping on one line; keys without a value are left out."""
    inside = ", ".join(_key(key, value) for key, value in pairs if value is not None)
    return "".join(["{", inside, "}"])


def plain_number(value: float, decimals: int) -> str:
    """A number without needless zeros: 2.6, 0, -0.145."""
    text = format(value, "".join([".", str(decimals), "f"]))
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def angle(degrees: float) -> str:
    """An angle for the file."""
    return plain_number(degrees, ANGLE_DECIMALS)


def quoted(text: str) -> str:
    """Text in double quotes, whatever YAML would read it as."""
    return json.dumps(text, ensure_ascii=False)


def scalar(text: str) -> str:
    """Text as YAML takes it, in quotes only where it needs them. Control characters and ends are cut off."""
    import yaml

    clean = " ".join(text.split())
    plain = yaml.safe_dump([clean], default_flow_style=True, allow_unicode=True, width=100_000)
    return str(plain).strip()[1:-1]
