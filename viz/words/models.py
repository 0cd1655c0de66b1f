"""What an architect's model has and has not: rooms for a list, remarks beside the lines of a spec, refusals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from geometry.records import record
from scenes.findings.model import Building, DoubtName, ModelCeiling, ModelRoom, Note
from scenes.models.as_json import GUESSED, guessed
from scenes.models.refusals import ModelRefused, ReaderMissing
from viz.words.locale import Locale
from viz.words.things import kind_name

SHOWN_ROOMS = 12


@record(frozen=True, slots=True)
class RoomText:
    """A room in a list."""

    number: str
    name: str
    storey: str
    area: str
    ceiling: str
    people: str
    devices: str
    guessed: str


def room(found: ModelRoom, locale: Locale) -> RoomText:
    """A room's line in a list."""
    kinds = Counter(device.kind for device in found.devices)
    people = []
    if found.seats:
        people.append(locale.say("rooms.seats", len(found.seats)))
    if found.tables:
        people.append(locale.say("rooms.tables", len(found.tables)))
    return RoomText(
        number=found.number,
        name=found.name or ("" if found.number else locale.say("rooms.no name")),
        storey=found.storey,
        area=locale.area(found.area_m2),
        ceiling=_ceiling(found.ceiling, locale),
        people=", ".join(people),
        devices=", ".join(
            locale.say("rooms.devices", count, things=kind_name(kind, locale, count))
            for kind, count in kinds.items()
        ),
        guessed=", ".join(guessed(found)),
    )


def skipped(building: Building, locale: Locale) -> str | None:
    """Which spaces were left out and why; None if none was."""
    if not building.skipped:
        return None
    spaces = [
        locale.say(
            "rooms.skipped.one",
            name=one.name or locale.say("rooms.no name"),
            why=locale.say(f"rooms.why.{one.why}"),
        )
        for one in building.skipped
    ]
    return locale.say("rooms.skipped", len(spaces), spaces=locale.listed(spaces, SHOWN_ROOMS))


def next_step(building: Building, files: Sequence[str], locale: Locale) -> str:
    """What to type next."""
    first = building.rooms[0]
    numbers = [one.number for one in building.rooms]
    name = first.number if first.number and numbers.count(first.number) == 1 else first.guid
    return locale.say("rooms.next", files=" ".join(map(_as_word, files)), room=_as_word(name))


def candidate(name: str, area_m2: float, at: tuple[float, float], locale: Locale) -> str:
    """A closed area of a drawing: its text, its size, and how to point at it in the drawing's own units."""
    place = f"{at[0]:.6g},{at[1]:.6g}"
    named = name or locale.say("rooms.no name")
    return locale.say("drawing.candidate", name=named, area=locale.area(area_m2), at=place)


def unit_taken(name: str, header: str | None, sure: bool, locale: Locale) -> str:
    """Which unit a drawing was taken to be in, and whether its file says so too."""
    if header is not None and header != name:
        return locale.say("drawing.unit conflict", unit=name, header=header)
    return locale.say("drawing.unit" if sure else "drawing.unit guessed", unit=name)


def update_lines(happened: Sequence[tuple[str, tuple[str, ...]]], locale: Locale) -> list[str]:
    """What an update did, a line for each sort; that nothing changed, if nothing did."""
    lines = [
        locale.say(f"update.{name}", things=locale.listed(list(ids), SHOWN_ROOMS)) for name, ids in happened
    ]
    return lines or [locale.say("update.nothing")]


def after_import(files: Sequence[str], rooms: Sequence[ModelRoom], with_array: bool, locale: Locale) -> str:
    """What was guessed in the written rooms, and what to type next."""
    lines = []
    whole = [name for name in GUESSED.values() if any(name in guessed(one) for one in rooms)]
    if whole:
        lines.append(
            locale.say("rooms.guessed", things=locale.listed(list(dict.fromkeys(whole)), SHOWN_ROOMS))
        )
    message = "rooms.then.place" if with_array else "rooms.then.profiles"
    lines.append(locale.say(message, file=_as_word(files[0])))
    return "\n".join(lines)


def remark(note: Note, locale: Locale) -> str:
    """The remark beside a line; empty where there is nothing to say."""
    values: dict[str, str | float | int] = dict(note.values)
    texts = [] if note.name is None else [_noted(note, values, locale)]
    texts += [doubt(name, locale) for name in note.doubts]
    return "; ".join(text for text in texts if text)


def doubt(name: str, locale: Locale) -> str:
    """Why a value is not sure: overtable's own reasons in words, others as their author wrote them."""
    from typing import get_args

    return locale.say(f"doubt.{name}") if name in get_args(DoubtName) else name


def refusal(error: ModelRefused | ReaderMissing, locale: Locale) -> str:
    """Why files were refused, and what to do."""
    if isinstance(error, ReaderMissing):
        return locale.say("refused.reader missing", library=error.library, extra=error.extra)
    if error.name in ("no-such-room", "several-rooms"):
        asked, *rooms = error.found
        return locale.say(
            f"refused.{error.name}", file=error.file, room=asked, rooms=locale.listed(rooms, SHOWN_ROOMS)
        )
    if error.name in ("room-without-shape", "room-without-height", "room-too-low"):
        return locale.say(f"refused.{error.name}", file=error.file, room=error.found[0])
    if error.name in ("no-walls", "outline-leaks"):
        listed = locale.listed(list(error.found), SHOWN_ROOMS)
        return locale.say(f"refused.{error.name}", file=error.file, found=listed)
    if error.name in ("old-schema", "no-shapes"):
        return locale.say(f"refused.{error.name}", file=error.file, found=error.found[0])
    return locale.say(f"refused.{error.name}", file=error.file)


def _ceiling(ceiling: ModelCeiling, locale: Locale) -> str:
    low, high = ceiling.span_m
    source = locale.say(f"rooms.source.{ceiling.source}")
    if locale.length(low) == locale.length(high):
        return locale.say("rooms.ceiling", height=locale.length(low), source=source)
    return locale.say("rooms.ceiling.span", low=locale.length(low), high=locale.length(high), source=source)


def _noted(note: Note, values: dict[str, str | float | int], locale: Locale) -> str:
    if note.name == "head":
        date = str(values["date"])
        dated = locale.say("import.head.date", date=date) if date else ""
        return locale.say("import.head", files=str(values["files"]), date=dated)
    if note.name == "straightened":
        return locale.say("import.straightened", moved=locale.at_most(float(values["moved_m"])))
    if note.name in ("ceiling.covering", "ceiling.slab", "ceiling.space"):
        return locale.say(f"import.{note.name}", share=locale.share(float(values["share"])))
    if note.name == "ceiling.option":
        return locale.say("import.ceiling.option")
    if note.name == "left out":
        return locale.say("import.left out", int(values["count"]))
    return locale.say(f"import.{note.name}")


def _as_word(text: str) -> str:
    """A word as a shell takes it."""
    import shlex

    return shlex.quote(text)
