"""The papers of a room as it hangs in words: what was designed and measured side by side; nothing is set from them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

from geometry.records import record
from scenes.findings.as_built import SET_M, TURN_DEG, AsBuilt, Off, Quantity
from scenes.findings.review import Direction
from scenes.review.schedule import from_wall_m
from scenes.room.document import Document
from scenes.room.scene import Scene
from scenes.room.walls import wall_name
from viz.words import as_built, tolerance
from viz.words.cards import Head, head_of, height, number_of
from viz.words.locale import DASH, Locale
from viz.words.orientation import mark_towards

Length = Callable[[float], str]
HungState = Literal["fine", "outside", "correct"]
COLUMNS = ("what", "designed", "measured", "off", "may", "correct")


@record(frozen=True, slots=True)
class HungRow:
    """One quantity of an array. `state`: fine, outside the tolerance of its hang card, or to be corrected."""

    what: str
    designed: str
    measured: str
    off: str
    may: str
    correct: str
    state: HungState

    @property
    def cells(self) -> tuple[str, ...]:
        """In the order of `COLUMNS`."""
        return self.what, self.designed, self.measured, self.off, self.may, self.correct


@record(frozen=True, slots=True)
class HungCard:
    """The as-hung card of one array. `hold` is what is to be corrected, None where nothing is."""

    top: Head
    verdict: str
    hold: str | None
    corrections: tuple[str, ...]
    head: tuple[str, ...]
    rows: tuple[HungRow, ...]
    not_to_set: str
    measured: str
    foot: tuple[str, ...]
    code: str


def document(found: AsBuilt, date: str | None) -> Document:
    """The document of the papers: a number of their own, the day of measuring or none, and what they are for."""
    scene = found.designed.scene
    locale, given = Locale.of(scene), scene.document
    number = locale.say("as built.number, none")
    if given.number:
        number = locale.say("as built.number", number=given.number)
    purpose = locale.say("as built.purpose, open" if hold(found) else "as built.purpose")
    measured = found.date or date
    rows = (*given.revisions, (given.revision or DASH, measured or DASH, locale.say("as built.purpose")))
    return replace(given, number=number, date=measured, purpose=purpose, revisions=rows)


def scene_as_hung(found: AsBuilt, date: str | None) -> Scene:
    """The scene of the papers: named so that every page of them says what it is."""
    scene = found.review.scene
    name = Locale.of(scene).say("as built.name", room=scene.name)
    return replace(scene, name=name, document=document(found, date))


def hold(found: AsBuilt) -> str | None:
    """What is open at the room as it hangs; None where nothing has to be corrected."""
    if found.holds:
        return None
    locale = Locale.of(found.review.scene)
    told = as_built.corrections(found, locale)
    return told[0] if told else as_built.heading(found, locale)


def stamp(found: AsBuilt) -> tuple[str, str]:
    """What the title block of every sheet carries, and what stands across its corner."""
    locale = Locale.of(found.review.scene)
    held = hold(found)
    mark = " ".join(as_built.summary(found))
    return mark, locale.say("as built.stamp" if held is None else "as built.stamp, open")


def card(count: int, off: Off, found: AsBuilt, date: str | None) -> HungCard:
    """The as-hung card of one array, the `count`-th of its room."""
    scene = scene_as_hung(found, date)
    locale = Locale.of(scene)
    say = locale.say
    issue = say(
        "as built.issue",
        revision=scene.document.revision or DASH,
        day=day(replace(found, by=None), date, locale),
    )
    units = say("as built.card.units.imperial" if locale.imperial else "as built.card.units.metric")
    top = head_of(count, scene.array(off.array), scene, issue, units)
    corrections = tuple(as_built.of_array(off, found, locale))
    verdict = as_built.heading(found, locale)
    return HungCard(
        top=top,
        measured=day(found, date, locale),
        verdict=verdict,
        hold=say("as built.card.hold") if corrections else None,
        corrections=corrections,
        head=tuple(say(f"as built.column.{name}") for name in COLUMNS),
        rows=rows(off, found, locale),
        not_to_set=say("as built.card.not to set", number=number_of(count, found.designed.scene)),
        foot=tuple(
            say(name)
            for name in (
                "as built.card.corrected by" if corrections else "as built.card.measured by",
                "sheet.date",
                "card.checked by",
                "card.photo",
            )
        ),
        code=say(
            "as built.card.code",
            name=" ".join(part for part in (scene.project, top.number, scene.name, off.array) if part),
            how="; ".join(corrections) or verdict,
        ),
    )


def day(found: AsBuilt, date: str | None, locale: Locale) -> str:
    """When and by whom it was measured, as far as anybody says."""
    measured = found.date or date
    text = locale.say("as built.day, none")
    if measured is not None:
        text = locale.say("as built.day", date=measured)
    return text if found.by is None else locale.say("as built.by", day=text, name=found.by)


def rows(off: Off, found: AsBuilt, locale: Locale) -> tuple[HungRow, ...]:
    """What was measured of one array: designed, measured, off by, allowed, correct by; lengths as on its hang card."""

    def length(metres: float) -> str:
        return height(metres, locale)

    told = [
        *_place_rows(off, found, length, locale),
        *_height_row(off, found, length, locale),
        *_level_row(off, found, locale),
        _band_row(off, found, locale),
        _turn_row(off, found, length, locale),
    ]
    return tuple(told)


def _state(quantity: Quantity, off: Off, found: AsBuilt) -> HungState:
    if any(one.array == off.array and quantity in one.quantities for one in found.corrections):
        return "correct"
    return "outside" if quantity in off.outside else "fine"


def _correct(state: HungState, text: str, locale: Locale) -> str:
    """What stands in the last column: what to do, to whom to go, or nothing."""
    if state == "correct":
        return text
    return locale.say("as built.correct.agree") if state == "outside" else DASH


def _may(found: AsBuilt, off: Off, way: Direction, locale: Locale) -> str:
    if found.designed.held:
        return DASH
    return tolerance.figure(found.designed.array(off.array).tolerance, way, locale)


def _place_rows(off: Off, found: AsBuilt, length: Length, locale: Locale) -> list[HungRow]:
    say, state = locale.say, _state("place", off, found)
    away = [off.x_m, off.y_m]
    told = []
    for wall, away_m, designed_m in zip(found.walls, away, _from_walls(off, found), strict=True):
        what = say("as built.what.wall", wall=wall_name(wall))
        designed, may = length(designed_m), _may(found, off, "sideways", locale)
        if away_m is None:
            told.append(HungRow(what, designed, say("as built.not measured"), DASH, may, DASH, "fine"))
            continue
        same = abs(away_m) < SET_M
        by = locale.clearance(abs(away_m))
        name = wall_name(wall)
        back = say("as built.back.towards" if away_m > 0 else "as built.back.away", length=by, wall=name)
        far = say("as built.off.farther" if away_m > 0 else "as built.off.nearer", length=by)
        told.append(
            HungRow(
                what, designed, length(designed_m + away_m), DASH if same else far, may,
                DASH if same else _correct(state, back, locale), "fine" if same else state,
            )
        )  # fmt: skip
    return told


def _from_walls(off: Off, found: AsBuilt) -> Sequence[float]:
    """How far the design is square off the two walls, metres."""
    scene = found.designed.scene
    at = scene.array(off.array).centre_m[:2]
    return [from_wall_m(scene.room, wall, at) for wall in found.walls]


def _height_row(off: Off, found: AsBuilt, length: Length, locale: Locale) -> list[HungRow]:
    say, array = locale.say, found.designed.scene.array(off.array)
    if array.profile.mount == "flush":
        return []
    what, designed = say("as built.what.height"), length(array.underside_m)
    ways: tuple[Direction, ...] = ("up", "down")
    may = ", ".join(text for way in ways if (text := _may(found, off, way, locale)) != DASH) or DASH
    if off.up_m is None:
        return [HungRow(what, designed, say("as built.not measured"), DASH, may, DASH, "fine")]
    measured = length(array.underside_m + off.up_m)
    if abs(off.up_m) < SET_M:
        return [HungRow(what, designed, measured, DASH, may, DASH, "fine")]
    state, up, by = _state("height", off, found), off.up_m > 0, locale.clearance(abs(off.up_m))
    far = say("as built.high" if up else "as built.low", length=by)
    back = say("as built.column.lower" if up else "as built.column.raise", length=by)
    return [HungRow(what, designed, measured, far, may, _correct(state, back, locale), state)]


def _level_row(off: Off, found: AsBuilt, locale: Locale) -> list[HungRow]:
    say = locale.say
    if not off.allowed_deg and not off.level_deg:
        return []
    most = say("as built.at most", level=locale.edge(off.allowed_deg))
    state = _state("level", off, found)
    if off.level_deg is None:
        measured, by = say("as built.taken as", level=locale.edge(off.allowed_deg)), DASH
        back = say("as built.correct.measure")
    else:
        measured = locale.edge(abs(off.level_deg))
        by, back = (measured if off.level_deg else DASH), say("as built.correct.level")
    what = say("as built.what.level")
    return [HungRow(what, locale.edge(0.0), measured, by, most, _correct(state, back, locale), state)]


def _band_row(off: Off, found: AsBuilt, locale: Locale) -> HungRow:
    say, state = locale.say, _state("band", off, found)
    wrong = off.band is not None and off.band != off.band_designed
    return HungRow(
        say("as built.what.band"),
        off.band_designed,
        off.band or say("as built.not measured"),
        say("as built.off.wrong") if wrong else DASH,
        DASH,
        _correct(state, say("as built.correct.band", band=off.band_designed), locale),
        state,
    )


def _turn_row(off: Off, found: AsBuilt, length: Length, locale: Locale) -> HungRow:
    say, state = locale.say, _state("turn", off, found)
    designed, hung = found.designed.scene, found.review.scene
    by, back = DASH, DASH
    if off.turn_deg is not None and abs(off.turn_deg) >= TURN_DEG:
        degrees = locale.edge(round(abs(off.turn_deg), 1))
        by = degrees
        back = say(
            "as built.correct.turn", mark=mark_towards(designed, designed.array(off.array), locale, length)
        )
    measured = say("as built.not measured")
    if off.turn_deg is not None:
        measured = mark_towards(hung, hung.array(off.array), locale, length)
    return HungRow(
        say("as built.what.turn"),
        mark_towards(designed, designed.array(off.array), locale, length),
        measured,
        by,
        DASH,
        _correct(state, back, locale),
        state,
    )
