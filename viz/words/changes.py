"""What differs between two revisions, in words."""

from __future__ import annotations

from typing import Any

from geometry.records import record
from scenes.findings.changes import Change, Quantity, Unit
from scenes.findings.clearance import Clearance
from scenes.review.changes import other_room
from scenes.room.scene import Scene
from scenes.room.walls import wall_name
from scenes.rulebook import rules
from viz.words import clearances
from viz.words.locale import DASH, Locale


@record(frozen=True, slots=True)
class ChangeText:
    """One difference in words: which thing, what of it, and how it was and is. A dash where there was nothing.

    `named` is thing and field in one, where there is no column for each.
    """

    kind: str
    id: str
    what: str
    before: str
    after: str
    named: str


def row(change: Change, locale: Locale) -> ChangeText:
    """One difference; two values that read alike are followed by how far they are apart."""
    kind = locale.say(f"kind of change.{change.kind}")
    if change.clearances is not None:
        was, now = change.clearances
        whose = now.array or str(now.device)
        what = locale.say("changed clearance", array=whose, title=now.title)
        named = locale.say("changed thing, clearance", array=whose, id=change.id, title=now.title)
        return ChangeText(kind, change.id, what, _clearance(was, locale), _clearance(now, locale), named)
    what = locale.say(f"field.{change.what}")
    before, after = _texts(change.before, locale), _texts(change.after, locale)
    if change.before == () == change.after:
        before, after = locale.say("as before"), locale.say("changed")
    if change.apart is not None and (before == after or not change.after):
        after = _apart(after, change, locale)
    id = rules()[change.id].title if change.kind == "rule" else change.id
    return ChangeText(kind, id, what, before, after, _named(change, id, what, locale))


def _named(change: Change, id: str, what: str, locale: Locale) -> str:
    if change.kind == "verdict":
        return locale.say("changed thing, verdict")
    if change.kind == "room":
        return locale.say("changed thing, room", what=what)
    return locale.say("changed thing", id=id, what=what)


def none(locale: Locale) -> str:
    """That nothing differs."""
    return locale.say("changes.none")


def no_sheet(old: Scene, new: Scene) -> str:
    """That there is no sheet of changes to draw."""
    return Locale.of(new).say(
        "changes.no sheet", old=old.source.file or old.name, new=new.source.file or new.name
    )


def same_revision(scene: Scene) -> str:
    """What to do where both files carry one revision."""
    locale = Locale.of(scene)
    return locale.say("changes.same revision", revision=scene.document.revision or DASH)


def two_rooms(old: Scene, new: Scene) -> str | None:
    """A warning where the two are hardly revisions of one room; else None."""
    if not other_room(old, new):
        return None
    return Locale.of(new).say("changes.other room", old=old.name, new=new.name)


# ---- values ----------------------------------------------------------------------------------------------


def _texts(quantities: tuple[Quantity, ...] | None, locale: Locale) -> str:
    if quantities is None:
        return DASH
    return "; ".join(_text(one, locale) for one in quantities)


def _text(quantity: Quantity, locale: Locale) -> str:
    value: Any = quantity.value
    if quantity.unit == "required":
        return (
            locale.say("value.off")
            if value is None
            else locale.say("value.required", length=locale.site(value))
        )
    if value is None:
        return locale.say("value.not given")
    text: str = _SAYERS[quantity.unit](value, locale)
    return text if quantity.origin == "given" else locale.say(f"value.from.{quantity.origin}", text=text)


def _lengths(value: tuple[float, ...], locale: Locale) -> str:
    return ", ".join(locale.site(one) for one in value)


def _body(value: tuple[bool, tuple[float, ...]], locale: Locale) -> str:
    is_round, size = value
    return locale.say("value.round" if is_round else "value.box", size=_lengths(size, locale))


def _bands(value: tuple[tuple[str, float, float], ...], locale: Locale) -> str:
    return ", ".join(
        locale.say("value.band", name=name, edges=locale.edges(low, high)) for name, low, high in value
    )


_SAYERS: dict[Unit, Any] = {
    "length": _lengths,
    "range": lambda value, locale: "–".join(locale.site(one) for one in value),
    "area": lambda value, locale: locale.area(value),
    "angle": lambda value, locale: locale.edge(value),
    "mass": lambda value, locale: locale.mass(value),
    "seconds": lambda value, locale: f"{value:g} s",
    "dBA": lambda value, locale: f"{value:g} dB(A)",
    "number": lambda value, locale: f"{value:g}",
    "word": lambda value, locale: value,
    "standing": lambda value, locale: locale.say(f"state.{value}"),
    "area state": lambda value, locale: locale.say(f"area.state.{value}"),
    "share": lambda value, locale: locale.share(value),
    "quoted": lambda value, locale: value,
    "switch": lambda value, locale: locale.say("value.yes" if value else "value.no"),
    "wall": lambda value, locale: wall_name(value),
    "body": _body,
    "bands": _bands,
}
"""How each unit of a quantity is said."""


def _apart(after: str, change: Change, locale: Locale) -> str:
    """The new value with how far it is from the old one."""
    assert change.apart is not None
    unit = change.after[0].unit if change.after else "length"
    several = not change.after or isinstance(change.after[0].value, tuple)
    if unit in ("angle", "bands"):
        apart = f"{change.apart:.2g}°"
    elif unit in ("seconds", "dBA", "number", "mass"):
        apart = f"{change.apart:.2g}"
    else:
        apart = locale.apart(change.apart)
    return locale.say("value.by up to" if several else "value.by", text=after, apart=apart)


def _clearance(clearance: Clearance | None, locale: Locale) -> str:
    """How a clearance is judged, with what there is and what is required."""
    if clearance is None:
        return DASH
    state = clearances.word(clearance, locale)
    if clearance.actual_m is None or clearance.required_m is None:
        return state
    required, actual = clearances.figures(clearance, locale)
    text = locale.say("changed to", state=state, actual=actual, required=required)
    note = clearances.note(clearance, locale)
    return locale.say("changed to, note", text=text, note=note) if note else text


def now(word: str, locale: Locale) -> str:
    """The verdict on the new revision, in front of what it says."""
    return locale.say("changes.now", verdict=word)
