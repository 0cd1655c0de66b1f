"""Tables of a ceiling plan: the rules by number with the worst case of each, and the devices with their places."""

from __future__ import annotations

import math
from typing import Final

from geometry.records import record
from scenes.findings.clearance import STATES, Clearance
from scenes.findings.review import Review
from scenes.review.schedule import from_wall_m
from scenes.room.scene import Scene
from scenes.room.walls import reference_walls, wall_name
from viz.words import clearances
from viz.words.locale import Locale
from viz.words.things import kind_name

LIFE_SAFETY: Final = ("sprinkler", "smoke detector", "strobe", "exit sign", "emergency light")
"""Kinds of devices that a fire engineer looks for on a ceiling plan."""


@record(frozen=True, slots=True)
class TableText:
    """A table of a drawing: its title, a header for each column, its rows; how many of the last columns are figures."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: int


def rules(review: Review) -> TableText:
    """By rule, in the order of their numbers: what it asks, of the nearest to its limit and how many more are met."""
    locale = Locale.of(review.scene)
    by_rule: dict[str, list[Clearance]] = {}
    for one in review.clearances:
        if one.array is not None:
            by_rule.setdefault(one.number, []).append(one)
    rows = []
    for number, some in sorted(by_rule.items(), key=lambda item: int(item[0].lstrip("R"))):
        worst = min(some, key=_how_bad)
        required, actual = clearances.drawn_figures(worst, locale)
        others = len({one.against for one in some}) - 1
        thing = locale.say(f"sheet.item.{worst.kind}") if worst.kind in clearances.NAMELESS else worst.against
        against = locale.say("sheet.table.and more", thing=thing, more=others) if others else thing
        rows.append((number, worst.title, against, actual, required))
    say = locale.say
    heads = (say("sheet.table.number"), say("column.rule"), say("column.against"), say("column.actual"))
    return TableText(say("sheet.table.rules"), (*heads, say("column.required")), tuple(rows), 2)


def _how_bad(one: Clearance) -> tuple[float, ...]:
    """What fails, what is below advice, what nobody judged, then the least to spare, then the nearest."""
    return STATES.index(one.state), one.spare_m, math.inf if one.actual_m is None else one.actual_m


def devices(scene: Scene) -> TableText:
    """Every device: its tag, its kind, its middle off the two walls that arrays are set out from, its lowest point.

    Those that save lives first: where there is no room for all, they are not the ones left out.
    """
    locale, walls = Locale.of(scene), reference_walls(scene.room)
    rows = tuple(
        (
            device.id,
            kind_name(device.kind, locale),
            *(locale.dimension(from_wall_m(scene.room, wall, device.at_m)) for wall in walls),
            locale.dimension(device.low_m),
        )
        for device in sorted(scene.overhead, key=lambda device: device.kind not in LIFE_SAFETY)
    )
    say = locale.say
    off = (say("sheet.table.from", wall=wall_name(wall)) for wall in walls)
    heads = (say("sheet.table.tag"), say("sheet.table.kind"), *off, say("sheet.table.lowest"))
    return TableText(say("sheet.table.devices"), heads, rows, 3)
