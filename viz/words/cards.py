"""What a hang card says: one array on one page, for whoever stands on the ladder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from geometry.records import record
from scenes.findings.installation import ScheduleRow, Step
from scenes.findings.review import Direction, Review, Tolerance
from scenes.room.scene import Array, Scene
from scenes.room.walls import wall_name
from viz.words import cautions, installation, tolerance
from viz.words.locale import DASH, Locale
from viz.words.orientation import mark_towards

Thing = Literal["box", "box line", "relief", "cable", "hanging", "second line", "body", "frame"]
"""What a note on the section points at."""
UP_AND_DOWN: tuple[Direction, ...] = ("up", "down")


@record(frozen=True, slots=True)
class Figure:
    """One of the numbers to set: what it is, the number, and how far it may be off, a line each."""

    label: str
    value: str
    may_be_off: tuple[str, ...]


@record(frozen=True, slots=True)
class Held:
    """One thing that holds the array, and what it is."""

    thing: Thing
    text: str


@record(frozen=True, slots=True)
class Head:
    """What stands at the head of a card: its array, what that is, its room, and which issue this is."""

    array: str
    what: str
    room: str
    project: str
    number: str
    issue: str
    units: str


@record(frozen=True, slots=True)
class CardText:
    """One card in words. `hold` is why its room is not for installation, None where it is;
    `open` what nobody has checked or decided yet."""

    top: Head
    figures_title: str
    figures: tuple[Figure, ...]
    facts: tuple[tuple[str, str], ...]
    stop: str
    notes: tuple[str, ...]
    open: str
    holds: tuple[Held, ...]
    ticks: tuple[str, ...]
    as_hung: tuple[str, ...]
    foot: tuple[str, ...]
    hold: str | None
    hold_step: str
    code: str


def head_of(count: int, array: Array, scene: Scene, issue: str, units: str) -> Head:
    """The head of the card of one array, the `count`-th of its room."""
    locale, profile, document = Locale.of(scene), array.profile, scene.document
    mass = locale.say("row.mass not given") if profile.mass_kg is None else locale.mass(profile.mass_kg)
    return Head(
        array=array.id,
        what=locale.say(
            "card.what", profile=profile.name, mass=mass, mount=locale.say(f"card.mount.{profile.mount}")
        ),
        room=scene.name,
        project=", ".join(part for part in (scene.project, document.client) if part),
        number=number_of(count, scene),
        issue=issue,
        units=units,
    )


def number_of(count: int, scene: Scene) -> str:
    """The number of the card of the `count`-th array of a room."""
    locale = Locale.of(scene)
    return locale.say("card.number", number=scene.document.number or "", count=count).lstrip(".")


def card(count: int, row: ScheduleRow, steps: Sequence[Step], review: Review) -> CardText:
    """The card of one array, the `count`-th of its room."""
    scene = review.scene
    locale, say, document = Locale.of(scene), Locale.of(scene).say, scene.document
    array = scene.array(row.array)
    hold = cautions.hold(review)
    issue = say("card.issue", revision=document.revision or DASH, date=document.date or DASH)
    units = say("card.units.imperial" if locale.imperial else "card.units.metric")
    top = head_of(count, array, scene, issue, units)
    return CardText(
        top=top,
        figures_title=say(
            "card.numbers, hold" if hold else "card.numbers, flush" if row.mount == "flush" else "card.numbers"
        ),
        figures=_figures(row, review, locale),
        facts=_facts(row, array, scene, locale),
        stop=say("card.stop" if row.tile is None else "card.stop, tile", ceiling=height(row.ceiling_m, locale)),
        notes=() if hold else _notes(row.array, row.tolerance, locale),
        open=cautions.still_open(review),
        holds=_holds(row, array, review, locale),
        ticks=tuple(installation.titles(steps, row.array, locale)),
        as_hung=_as_hung(row, locale),
        foot=tuple(say(name) for name in ("card.hung by", "sheet.date", "card.checked by", "card.photo")),
        hold=hold,
        hold_step=say("card.hold step"),
        code=_code(row, top.number, hold, scene, locale),
    )  # fmt: skip


def height(metres: float, locale: Locale) -> str:
    """A length to set or to meet on site: whole millimetres without a unit; feet and inches to 1/16."""
    return locale.site(metres) if locale.imperial else locale.dimension(metres)


def _mass(row: ScheduleRow, locale: Locale) -> str:
    return locale.say("row.mass not given") if row.mass_kg is None else locale.mass(row.mass_kg)


def _figures(row: ScheduleRow, review: Review, locale: Locale) -> tuple[Figure, ...]:
    """The place square off two walls and, of what hangs, the underside's height."""
    on_hold = (locale.say("card.on hold"),)
    around = on_hold if review.held else (tolerance.figure(row.tolerance, "sideways", locale),)
    found = [
        Figure(locale.say("card.from wall", wall=wall_name(wall)), height(length_m, locale), around)
        for length_m, wall in ((row.x_m, row.x_wall), (row.y_m, row.y_wall))
    ]
    if row.mount == "pendant":
        up_down = (
            on_hold
            if review.held
            else tuple(tolerance.figure(row.tolerance, way, locale) for way in UP_AND_DOWN)
        )
        found.append(Figure(locale.say("card.underside"), height(row.underside_m, locale), up_down))
    return tuple(found)


def _facts(row: ScheduleRow, array: Array, scene: Scene, locale: Locale) -> tuple[tuple[str, str], ...]:
    """The rest of what is set: tile, drop, orientation, band, level."""
    say = locale.say
    found = [] if row.tile is None else [(say("card.tile"), _tile(row, locale))]
    if row.mount == "pendant":
        found += [
            (say("card.ceiling to underside"), height(row.ceiling_to_underside_m, locale)),
            (say("card.drop"), height(row.drop_m, locale)),
        ]
    else:
        found.append((say("card.face"), say("card.face, flush", ceiling=height(row.ceiling_m, locale))))
    edges = locale.edges(row.low_deg, row.high_deg)
    found += [
        (say("card.mark"), mark_towards(scene, array, locale, lambda metres: height(metres, locale))),
        (say("card.band"), say("card.band, edges", band=row.band, edges=edges)),
    ]
    if row.tolerance.level_deg:
        found.append((say("card.level"), locale.edge(row.tolerance.level_deg)))
    return tuple(found)


def _tile(row: ScheduleRow, locale: Locale) -> str:
    """The tile by letter and number, and whether the array is in its middle."""
    middle = row.tile_offset_m is not None and max(abs(off) for off in row.tile_offset_m) < MIDDLE_M
    return locale.say("card.tile, middle" if middle else "card.tile, beside", tile=row.tile or DASH)


MIDDLE_M = 0.0005
"""Less than this from a tile's middle is its middle: it is set to the millimetre."""


def _notes(array: str, told: Tolerance, locale: Locale) -> tuple[str, ...]:
    """That what may be off holds all at once, and what holds one way at a time."""
    level = locale.edge(told.level_deg)
    alone = told.alone
    ways = [
        locale.say(f"tolerance.figure.{way}", length=locale.tolerance(length_m))
        for way, length_m in (("sideways", alone.sideways_m), ("up", alone.up_m), ("down", alone.down_m))
        if length_m is not None
    ]
    at_once = (
        locale.say("card.all at once", array=array, level=level)
        if told.level_deg
        else locale.say("card.all at once, level")
    )
    return at_once, locale.say("card.one at a time", array=array, tolerance=", ".join(ways))


def _holds(row: ScheduleRow, array: Array, review: Review, locale: Locale) -> tuple[Held, ...]:
    """What holds the array, from the structure down."""
    text, say = installation.schedule(row, review), locale.say
    body = Held("body", _body(row, array, locale))
    second = Held(
        "second line", _support("card.array support", text.array_support, row.hang.second_m, locale)
    )
    if row.box == "frame":
        frame = Held("frame", say("card.frame", fixing=text.fixing))
        line = Held("box line", _support("card.box support", text.box_support, None, locale))
        return frame, line, second, Held("relief", _sentence(text.relief)), body
    size = " × ".join(height(side, locale) for side in review.scene.suspension.box_size_m)
    fixing = "card.box, freely" if row.ceiling == "suspended" else "card.box, there"
    box = (
        say(fixing, size=size, place=text.box)
        if row.box == "structure"
        else say("card.box", size=size, place=text.box, fixing=text.fixing)
    )
    box_m = None if row.box_support == "none" else row.hang.box_line_m
    return (
        Held("box", box),
        Held("box line", _support("card.box support", text.box_support, box_m, locale)),
        Held("hanging", _hanging(row, text, locale)),
        Held("cable", _cable(row, locale)),
        Held("relief", _sentence(text.relief)),
        second,
        body,
    )


def _hanging(row: ScheduleRow, text: installation.ScheduleText, locale: Locale) -> str:
    """What it hangs by, cut to length where that is, in the card's own unit."""
    cut = installation.cut(row, locale, lambda metres: height(metres, locale))
    told = text.suspension if cut == DASH else cut
    return locale.say("card.suspension", suspension=told, hang=text.hang)


def _support(message: str, support: str, length_m: float | None, locale: Locale) -> str:
    """What holds it if something fails, and how long that is, straight; a note says where that has to be measured."""
    told = _sentence(support)
    if length_m is not None:
        told = locale.say("card.support, long", support=told, length=height(length_m, locale))
    return locale.say(message, support=told)


def _cable(row: ScheduleRow, locale: Locale) -> str:
    spare = height(row.spare_m or 0.0, locale)
    if row.cable_m is None:
        return locale.say("card.cable, not known", spare=spare)
    return locale.say("card.cable", length=height(row.cable_m, locale), spare=spare)


def _body(row: ScheduleRow, array: Array, locale: Locale) -> str:
    across, deep, tall = (height(side, locale) for side in array.profile.size_m)
    form = "card.body, round" if array.profile.round else "card.body, box"
    size = locale.say(form, across=across, deep=deep, tall=tall)
    mass = _mass(row, locale)
    if row.mount == "flush":
        return locale.say("card.body, flush", size=size, mass=mass)
    return locale.say("card.body", size=size, mass=mass, centre=height(row.centre_m, locale))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _as_hung(row: ScheduleRow, locale: Locale) -> tuple[str, ...]:
    """What is written in when it hangs."""
    say = locale.say
    walls = [say("card.as hung.wall", wall=wall_name(wall)) for wall in (row.x_wall, row.y_wall)]
    if row.mount == "flush":
        return (*walls, say("card.as hung.ceiling"), say("card.as hung.band"))
    return (*walls, *(say(f"card.as hung.{name}") for name in ("underside", "level", "band")))


def _code(row: ScheduleRow, number: str, hold: str | None, scene: Scene, locale: Locale) -> str:
    """The card in one line of plain text, for its code."""
    document = scene.document
    about = [scene.project, number, document.revision, scene.name, row.array]
    name = " ".join(part for part in about if part)
    if hold:
        text = locale.say("card.code, hold", name=name)
    else:
        text = locale.say(
            "card.code", name=name, x=height(row.x_m, locale), x_wall=wall_name(row.x_wall),
            y=height(row.y_m, locale), y_wall=wall_name(row.y_wall), underside=height(row.underside_m, locale),
        )  # fmt: skip
    return f"{text} {document.link}" if document.link else text
