"""How an array hangs: structure, ceiling, what holds it and the levels, as a sketch with numbered notes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from geometry.records import record
from scenes.findings.installation import ScheduleRow
from scenes.room.ceiling import room_under
from scenes.room.scene import Scene
from viz.cards.page import ROUND, SMALL_MM, Page
from viz.sheets.draft import Box, Point
from viz.sheets.lettering import width
from viz.words.cards import Held, Thing, height
from viz.words.locale import Locale

SLAB_MM: Final = 4.0
BODY_MM: Final = (10.5, 3.6)
"""Half of the body's width, and its height, on the card."""
BOX_MM: Final = (4.2, 3.6)
BESIDE_MM: Final = 12.0
"""How far beside the hang point a box is drawn that is as high."""
FLUSH_MM: Final[Mapping[Thing, float]] = {"frame": 4.0, "body": -7.0}
"""How much higher than what they point at the numbers of a flush array's notes stand: clear of the ceiling."""
LEVEL_MM: Final = 3.4
"""Height of the figure of the level to set."""


@record(frozen=True, slots=True)
class _Levels:
    """Where the levels of one array lie on the page: structure, ceiling, underside, floor; x of its axis."""

    x: float
    structure: float
    ceiling: float
    underside: float
    floor: float


def hanging_sketch(
    page: Page, scene: Scene, row: ScheduleRow, notes: Sequence[Held], box: Box, *, held: bool
) -> None:
    """The sketch in a box on the page, with the numbers of the notes."""
    x0, y0, x1, y1 = box
    open_above = row.ceiling == "open"
    ceiling = y1 - SLAB_MM - (0.0 if open_above else 15.0)
    underside = ceiling if row.mount == "flush" else y0 + 12.0
    at = _Levels(x0 + 26.0, y1 - SLAB_MM, ceiling, underside, y0 + 3.0)
    right = x0 + 46.0
    page.fill("structure hatch", [(x0, y1 - SLAB_MM), (right, y1 - SLAB_MM), (right, y1), (x0, y1)])
    page.line("frame", x0, y1 - SLAB_MM, right, y1 - SLAB_MM)
    if not open_above:
        _lining(page, row, at, x0, right)
    places = _flush(page, at) if row.mount == "flush" else _pendant(page, row, at)
    _levels(page, scene, row, at, (right + 1.5, x1), held=held)
    _balls(page, notes, places, at, (x0, right))


def _lining(page: Page, row: ScheduleRow, at: _Levels, left: float, right: float) -> None:
    """The ceiling: its lining, cut by a flush body, with tees where it has a grid."""
    half = BODY_MM[0] + 0.4 if row.mount == "flush" else 0.0
    for a, b in ((left, at.x - half), (at.x + half, right)):
        page.line("ceiling", a, at.ceiling, b, at.ceiling)
    if row.ceiling == "suspended":
        for x in (at.x - 20.0, at.x - 8.0 - half / 2, at.x + 8.0 + half / 2, at.x + 18.0):
            page.line("frame thin", x, at.ceiling, x, at.ceiling + 1.8)
    else:
        for a, b in ((left, at.x - half), (at.x + half, right)):
            page.line("frame thin", a, at.ceiling + 0.9, b, at.ceiling + 0.9)


def _flush(page: Page, at: _Levels) -> Mapping[Thing, Point]:
    """A body in the ceiling, its frame, and its two lines; where each is pointed at."""
    half, tall = BODY_MM
    low, high = at.ceiling, at.ceiling + tall
    page.fill("structure hatch", _corners(at.x - half, low, at.x + half, high))
    page.box("array", (at.x - half, low, at.x + half, high))
    for side in (-1, 1):
        edge = at.x + side * half
        page.box("suspension", (min(edge, edge + side * 2.4), high - 0.7, max(edge, edge + side * 2.4), high))
    page.line("safety", at.x - half * 0.75, high, at.x - half * 0.75, at.structure)
    page.line("safety", at.x + half * 0.75, high, at.x + half * 0.75, at.structure)
    page.line("suspension", at.x, high, at.x, high + 3.0)
    return {
        "frame": (at.x - half - 1.4, high - 0.35),
        "box line": (at.x - half * 0.75, (high + at.structure) / 2 + 2.0),
        "second line": (at.x + half * 0.75, (high + at.structure) / 2 + 2.0),
        "relief": (at.x, high + 2.4),
        "body": (at.x + half * 0.4, low + 0.8),
    }


def _pendant(page: Page, row: ScheduleRow, at: _Levels) -> Mapping[Thing, Point]:
    """A body that hangs, its box and lines; where each is pointed at."""
    half, tall = BODY_MM
    low, top = at.underside, at.underside + tall
    start, box_x = _start(row, at)
    foot = _box(page, row, at, box_x)
    page.fill("structure hatch", _corners(at.x - half, low, at.x + half, top))
    page.box("array", (at.x - half, low, at.x + half, top))
    hung = _hung(page, row, at.x, top, start)
    cable = _cable(page, row, (box_x, foot), (at.x, top))
    page.line("safety", at.x + half * 0.8, top, at.x + half * 0.8, at.structure)
    places: dict[Thing, Point] = {
        "body": (at.x - half * 0.6, low + tall / 2),
        "second line": (at.x + half * 0.8, top + (at.ceiling - top) * 0.35),
        "box": (box_x - BOX_MM[0], foot + BOX_MM[1] * 0.5),
        "hanging": hung,
        "cable": cable,
        "relief": _relief(page, row, (at.x, start if row.hangs_by in ("wires", "rod", "pole") else foot)),
    }
    if row.box_support != "none" and foot + BOX_MM[1] < at.structure - 1.0:
        page.line("safety", box_x - 2.6, foot + BOX_MM[1], box_x - 6.0, at.structure)
        places["box line"] = (box_x - 4.4, (foot + BOX_MM[1] + at.structure) / 2)
    elif row.box_support != "none":
        page.line("safety", box_x - BOX_MM[0], foot + 0.8, box_x - BOX_MM[0] - 4.0, at.structure)
        places["box line"] = (box_x - BOX_MM[0] - 2.6, foot + 2.2)
    return places


def _start(row: ScheduleRow, at: _Levels) -> tuple[float, float]:
    """The height that what it hangs by is measured from, and where along the ceiling the box is drawn: beside that."""
    start = at.structure if row.box == "structure" else at.ceiling
    beside = row.hangs_by in ("wires", "rod", "pole") and row.box in ("structure", "under the ceiling")
    return start, at.x - (BESIDE_MM if beside else 0.0)


def _cable(page: Page, row: ScheduleRow, start: Point, end: Point) -> Point:
    """The cable from the box to the body: straight where it carries, else loose; where it is pointed at."""
    (x0, y0), (x1, y1) = start, end
    if row.hangs_by == "cable":
        page.line("suspension", x0, y0, x1, y1)
        return x1, y1 + (y0 - y1) * 0.62
    wide, end_x = 2.6, x1 - 2.0
    ways = [i / 16 for i in range(17)]
    points = [
        (
            x0 + (end_x - x0) * (3 * t * t - 2 * t**3) - wide * math.sin(2 * math.pi * t) * (1 - t),
            y0 + (y1 - y0) * t,
        )
        for t in ways
    ]
    page.polyline("suspension", points)
    return points[7]


def _relief(page: Page, row: ScheduleRow, at: Point) -> Point:
    """What sets the height and takes the pull, just below where it begins; where it is pointed at."""
    x, y = at
    across = _across(row, x) if row.hangs_by in ("rod", "pole") else (x,)
    for one in across:
        page.fill("frame", _corners(one - 0.9, y - 3.0, one + 0.9, y - 1.4))
    return across[-1] + 0.8, y - 2.2


def _across(row: ScheduleRow, x: float) -> tuple[float, ...]:
    """Where rods or poles stand in the sketch: one on the axis, of several the outer two."""
    return (x,) if row.points == 1 else (x - BODY_MM[0] * 0.5, x + BODY_MM[0] * 0.5)


def _box(page: Page, row: ScheduleRow, at: _Levels, x: float) -> float:
    """The box where the schedule says it sits; the height of its underside on the page."""
    half, tall = BOX_MM
    if row.box == "tile bridge":
        foot = at.ceiling + 2.4
        page.box("suspension", (at.x - 12.0, foot - 0.6, at.x + 12.0, foot))
    elif row.box == "structure":
        foot = at.structure - tall
    else:
        foot = at.ceiling - tall
    page.fill("card white", _corners(x - half, foot, x + half, foot + tall))
    page.box("suspension", (x - half, foot, x + half, foot + tall))
    return foot


def _hung(page: Page, row: ScheduleRow, x: float, top: float, start: float) -> Point:
    """What the body hangs by beside its cable, from where that is measured to its top; where it is pointed at."""
    half = BODY_MM[0]
    if row.hangs_by in ("cable", "wires") and row.points > 1:
        # they meet at the hang point
        for side in (-0.62, 0.62):
            page.line("suspension", x + side * half, top, x, start)
        page.fill("frame", [(x + 0.7 * c, start + 0.7 * s) for c, s in ROUND])
        return x - 0.31 * half, top + (start - top) * 0.5
    if row.hangs_by in ("rod", "pole"):
        across = _across(row, x)
        for middle in across:
            for edge in (middle - 0.6, middle + 0.6):
                page.line("frame", edge, top, edge, start)
        return across[0] - 0.6, top + (start - top) * 0.3
    if row.hangs_by == "wires":
        page.line("suspension", x, top, x, start)
    return x, top + (start - top) * 0.3


def _levels(
    page: Page, scene: Scene, row: ScheduleRow, at: _Levels, ends: tuple[float, float], *, held: bool
) -> None:
    """The levels right of the sketch: open marks for the building's, a filled one and large figures for what is set.

    On a card on hold what is set is grey and struck out.
    """
    left, right = ends
    locale, say = Locale.of(scene), Locale.of(scene).say
    room = room_under(scene.room, scene.array(row.array).centre_m[:2])
    structure_m = row.ceiling_m if row.ceiling == "open" else room.structure_m
    _level(page, left, at.structure, say("card.level.structure"), structure_m, locale)
    if row.ceiling != "open":
        _level(page, left, at.ceiling, say("card.level.ceiling"), row.ceiling_m, locale)
    if row.mount == "pendant":
        page.line("frame thin", left - 1.0, at.underside, left + 8.0, at.underside)
        page.fill(
            "frame",
            [(left + 1.5, at.underside), (left + 0.1, at.underside + 2.3), (left + 2.9, at.underside + 2.3)],
        )
        page.words(
            height(row.underside_m, locale), left + 4.2, at.underside + 0.8, height=LEVEL_MM, weight="semibold",
            room=right - left - 4.2, figure=True, role="card grey" if held else "title",
        )  # fmt: skip
        if held:
            long = min(width(height(row.underside_m, locale), LEVEL_MM, "semibold"), right - left - 4.2)
            page.strike(left + 3.8, at.underside + 0.8, left + 4.6 + long, at.underside + 0.8 + LEVEL_MM)
        page.words(
            say("card.level.underside"),
            left + 4.2,
            at.underside - SMALL_MM - 0.9,
            height=SMALL_MM,
            role="card label",
        )
        x = left - 3.0
        page.line("dimension", x, at.underside, x, at.ceiling)
        for y in (at.underside, at.ceiling):
            page.tick(x, y, "dimension")
        page.words(
            height(row.ceiling_to_underside_m, locale), x - 0.8, (at.underside + at.ceiling) / 2, align="centre",
            turn_deg=90.0, role="card grey" if held else "title",
        )  # fmt: skip
    zigzag = [
        (at.x - 16.0, at.floor),
        (at.x - 3.0, at.floor),
        (at.x - 1.2, at.floor + 1.6),
        (at.x + 1.2, at.floor - 1.6),
    ]
    page.polyline("frame", [*zigzag, (at.x + 3.0, at.floor), (at.x + 16.0, at.floor)])
    page.words(
        say("card.level.floor", height=height(0.0, locale)), at.x + 17.5, at.floor - SMALL_MM / 2, height=SMALL_MM,
        role="card label",
    )  # fmt: skip


def _level(page: Page, left: float, y: float, name: str, height_m: float | None, locale: Locale) -> None:
    page.line("frame thin", left - 1.0, y, left + 8.0, y)
    page.polyline("frame thin", [(left + 1.5, y), (left + 0.1, y + 2.0), (left + 2.9, y + 2.0)], closed=True)
    if height_m is not None:
        page.words(height(height_m, locale), left + 4.2, y + 0.8)
    page.words(name, left + 4.2, y - SMALL_MM - 0.9, height=SMALL_MM, role="card label")


def _balls(
    page: Page, notes: Sequence[Held], places: Mapping[Thing, Point], at: _Levels, ends: tuple[float, float]
) -> None:
    """The numbers of the notes left and right of the sketch, in order of height, each with a line to its thing."""
    sides: dict[bool, list[tuple[float, int, Point]]] = {True: [], False: []}
    for number, held in enumerate(notes, 1):
        place = places.get(held.thing)
        if place is not None:
            beside = FLUSH_MM.get(held.thing, 1.5) if at.underside == at.ceiling else 1.5
            sides[place[0] <= at.x + 0.1].append((place[1] + beside, number, place))
    for left, some in sides.items():
        x = ends[0] + 2.5 if left else ends[1] - 8.0
        y = at.structure + 1.0
        for want, number, place in sorted(some, reverse=True):
            y = min(want, y - 5.0)
            page.line("leader", x + (2.0 if left else -2.0), y, *place)
            page.ball(number, x, y)


def _corners(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
