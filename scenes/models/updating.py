"""A spec brought up to date with a new issue of its model: lines that import wrote change, everybody else's stay.

Things are the same by their GlobalIds and keep the ids that the spec gave them; the room keeps its frame, so that
arrays stay where they are in the building. A line counts as import's own while its digest is the one noted under
`model: things:`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.model import ModelRoom, Note, RoomFrame
from scenes.models.writing import Entry, Remark, Written, digest, entries, model_lines
from scenes.spec import model as written

GROUPS: Final = ("openings", "tables", "seats", "devices", "obstacles", "cameras", "displays")
"""What of a room is things with ids."""
REMARK: Final = re.compile(r"  # ")
SECTIONS: Final = ("tables", "seats", "standing", "areas", "overhead", "obstacles", "cameras", "displays")


@record(frozen=True, slots=True)
class Update:
    """The new text, and the ids of lines that changed, came, went, or stay because somebody changed them."""

    text: str
    changed: tuple[str, ...]
    new: tuple[str, ...]
    gone: tuple[str, ...]
    kept: tuple[str, ...]


def updated(text: str, spec: written.Spec, room: ModelRoom, about: Written, remark: Remark) -> Update:
    """The spec's text with what the model says now. `room` as it was just read, in a frame of its own."""
    origin = spec.model
    assert origin is not None
    x, y, _ = origin.origin_m
    frame = RoomFrame((x, y, room.frame.origin_m[2]), origin.turn)
    room = renamed(in_frame(room, frame), origin, _ids(spec))
    return _Merge(text, origin, room, about, remark).update()


# ---------------------------------------------------------------- the room in the spec's frame, under the spec's ids


def in_frame(room: ModelRoom, frame: RoomFrame) -> ModelRoom:
    """The room with every plan place and turn in another frame; heights stay above the finished floor."""
    was = room.frame
    if was.origin_m[:2] == frame.origin_m[:2] and was.turn_deg == frame.turn_deg:
        return replace(room, frame=frame)
    by = was.turn_deg - frame.turn_deg
    out, back = _turn(was.turn_deg), _turn(-frame.turn_deg)

    def place(at: Sequence[float]) -> Point2:
        u, v = out((at[0], at[1]))
        return back((u + was.origin_m[0] - frame.origin_m[0], v + was.origin_m[1] - frame.origin_m[1]))

    def moved(thing: Any) -> Any:
        values: dict[str, Any] = {}
        if hasattr(thing, "at_m"):
            values["at_m"] = (*place(thing.at_m), *thing.at_m[2:])
        if getattr(thing, "outline_m", ()):
            values["outline_m"] = tuple(map(place, thing.outline_m))
        if by and hasattr(thing, "turn_deg"):
            values["turn_deg"] = round(thing.turn_deg + by, 6)
        if by and getattr(thing, "facing_deg", None) is not None:
            values["facing_deg"] = (thing.facing_deg + by) % 360
        slope = getattr(thing, "slope", None)
        if by and slope is not None:
            values["slope"] = replace(slope, towards_deg=(slope.towards_deg + by) % 360)
        return replace(thing, **values) if values else thing

    groups: dict[str, Any] = {name: tuple(map(moved, getattr(room, name))) for name in GROUPS}
    ceiling = replace(room.ceiling, parts=tuple(map(moved, room.ceiling.parts)))
    north = None if room.north_deg is None else (room.north_deg + by) % 360
    outline = tuple(map(place, room.outline_m))
    return replace(room, frame=frame, outline_m=outline, ceiling=ceiling, north_deg=north, **groups)


def renamed(room: ModelRoom, origin: written.Origin, taken: set[str]) -> ModelRoom:
    """The room with its things under the ids that the spec gave them; what is new has ids that nobody has."""
    known = {thing.id: name for name, thing in origin.things.items() if thing.id is not None}
    names: dict[str, str] = {}
    used = set(taken)
    groups: dict[str, Any] = {}
    for group in GROUPS:
        things = []
        for thing in getattr(room, group):
            name = known.get(thing.guid)
            if name is None or not thing.guid:
                name = _free(thing.id, used)
            used.add(name)
            names[thing.id] = name
            things.append(replace(thing, id=name))
        groups[group] = tuple(things)
    doubts = tuple(replace(one, about=names.get(one.about, one.about)) for one in room.doubts)
    return replace(room, doubts=doubts, **groups)


def _free(id: str, used: set[str]) -> str:
    letters = id.rstrip("0123456789")
    number = int(id[len(letters) :] or 1)
    while f"{letters}{number}" in used:
        number += 1
    return f"{letters}{number}"


def _ids(spec: written.Spec) -> set[str]:
    """Every id of the spec's things."""
    groups: tuple[Sequence[Any], ...] = (
        *(spec.room.openings, spec.tables, spec.seats, spec.standing, spec.arrays),
        *(spec.overhead, spec.obstacles, spec.cameras, spec.displays),
    )
    return {one.id for group in groups for one in group if getattr(one, "id", None)}


def _turn(degrees: float) -> Callable[[Point2], Point2]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return lambda at: (c * at[0] - s * at[1], s * at[0] + c * at[1])


# ---------------------------------------------------------------- the text


class _Merge:
    """One text while it is brought up to date, line by line."""

    def __init__(
        self, text: str, origin: written.Origin, room: ModelRoom, about: Written, remark: Remark
    ) -> None:
        self.lines = text.splitlines()
        self.origin, self.room, self.about, self.remark = origin, room, about, remark
        self.entries = entries(room, about.units)
        self.changed: list[str] = []
        self.new: list[str] = []
        self.gone: list[str] = []
        self.kept: list[str] = []

    def update(self) -> Update:
        """The text with everything done."""
        own = {name: self._line_of(thing.sum) for name, thing in self.origin.things.items()}
        # what is there no more goes last: the numbers of lines before it still hold
        dropped: list[int] = []
        still = {entry.about for group in self.entries.values() for entry in group}
        for name, at in own.items():
            if name not in still:
                (self.gone if at is not None else self.kept).append(name)
                dropped += [] if at is None else [at]
        added: list[tuple[str, Entry]] = []
        for key, group in self.entries.items():
            for entry in group:
                if entry.about not in self.origin.things:
                    added.append((key, entry))
                    self.new.append(entry.about)
                else:
                    self._replace(entry, own[entry.about])
        self._drop(dropped)
        for key, entry in added:
            self._add(key, entry)
        self._model()
        return Update(
            "\n".join(self.lines) + "\n",
            *(tuple(one) for one in (self.changed, self.new, self.gone, self.kept)),
        )

    def _line_of(self, sum: str) -> int | None:
        """The line that import wrote and nobody changed; None if there is none such."""
        return next((i for i, line in enumerate(self.lines) if digest(_said(line)) == sum), None)

    def _replace(self, entry: Entry, at: int | None) -> None:
        old = self.origin.things[entry.about].sum
        if entry.sum == old:
            return
        if at is None:
            self.kept.append(entry.about)
            return
        said = _said(self.lines[at])
        front = self.lines[at][: self.lines[at].index(said)]
        self.lines[at] = self._remarked(f"{front}{entry.text}", entry.note)
        self.changed.append(entry.about)

    def _drop(self, numbers: Sequence[int]) -> None:
        for at in sorted(numbers, reverse=True):
            del self.lines[at]
        # a list that lost its last line would be null
        for at in range(len(self.lines) - 1, -1, -1):
            head = re.fullmatch(r"( *)(\w+):", self.lines[at])
            if head is None or head[2] not in (*SECTIONS, "openings"):
                continue
            after = next((line for line in self.lines[at + 1 :] if line.strip()), "")
            if not re.match(rf" {{{len(head[1])},}} *- |{head[1]}- ", after):
                del self.lines[at]

    def _add(self, key: str, entry: Entry) -> None:
        if key == "room":
            name = entry.about.removeprefix("room.")
            self._insert(self._end_of("room", top=True), f"  {name}: {entry.text}", entry.note)
            return
        nested = key == "room.openings"
        head = "  openings:" if nested else f"{key}:"
        indent = "    " if nested else "  "
        if head not in self.lines:
            at = self._end_of("room", top=True) if nested else self._section_end("model")
            self.lines[at:at] = [head] if nested else [head, ""]
            end = at + 1
        else:
            end = self.lines.index(head) + 1
            while end < len(self.lines) and self.lines[end].startswith(f"{indent}- "):
                end += 1
        self._insert(end, f"{indent}- {entry.text}", entry.note)

    def _end_of(self, key: str, *, top: bool) -> int:
        """The line behind a top-level mapping's plain keys: before its nested list, if it has one."""
        start = next(i for i, line in enumerate(self.lines) if line.startswith(f"{key}:"))
        end = start + 1
        while end < len(self.lines) and self.lines[end].startswith("  ") and top:
            if self.lines[end].strip() == "openings:":
                break
            end += 1
        return end

    def _section_end(self, key: str) -> int:
        return next((i for i, line in enumerate(self.lines) if line.startswith(f"{key}:")), len(self.lines))

    def _insert(self, at: int, line: str, note: Note) -> None:
        self.lines.insert(at, self._remarked(line, note))

    def _remarked(self, line: str, note: Note) -> str:
        text = self.remark(note)
        return f"{line}  # {text}" if text else line

    def _model(self) -> None:
        """The part `model:` written anew; what somebody has checked and taken out of `unsure` stays out."""
        start = self._section_end("model")
        end = start + 1
        while end < len(self.lines) and (self.lines[end].startswith((" ", "#")) or not self.lines[end]):
            end += 1
        fresh = {*self.changed, *self.new}
        unsure = {
            entry.about
            for group in self.entries.values()
            for entry in group
            if entry.about in self.origin.unsure or entry.about in fresh
        }
        noted = _Noted(self.origin.things, set(self.kept))
        self.lines[start:end] = list(model_lines(self.room, self.about, self.remark, unsure, noted.sums))


@record(frozen=True, slots=True)
class _Noted:
    """The digests that stay: of lines that somebody changed, the one import last wrote."""

    things: Mapping[str, written.ModelThing]
    kept: set[str]

    @property
    def sums(self) -> dict[str, str]:
        return {name: thing.sum for name, thing in self.things.items() if name in self.kept}


def _said(line: str) -> str:
    """What a line says, without its key or dash and its remark."""
    body = REMARK.split(line, 1)[0].strip()
    if body.startswith("- "):
        return body[2:]
    _, colon, value = body.partition(": ")
    return value if colon else body


def names_of(update: Update) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What happened, by name, with the ids: only what did."""
    for name in ("changed", "new", "gone", "kept"):
        ids: tuple[str, ...] = getattr(update, name)
        if ids:
            yield name, ids
