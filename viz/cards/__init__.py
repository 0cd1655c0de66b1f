"""Hang cards: a page for each array with what whoever hangs it sets, checks and ticks, as SVG and PDF."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

from geometry.records import record
from viz.cards.hanging_sketch import hanging_sketch
from viz.cards.page import EDGE_MM, SMALL_MM, STEP, TALL_MM, TEXT_MM, WIDE_MM, Page
from viz.cards.plan_sketch import plan_sketch
from viz.outputs import unique_slugs
from viz.sheets import render
from viz.sheets.drawing import document_date
from viz.sheets.lettering import plain, width, wrap
from viz.sheets.render import Drawn
from viz.words import cards as words
from viz.words.cards import CardText, Figure, Head
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.installation import ScheduleRow
    from scenes.room.scene import Scene

LEFT: Final = EDGE_MM
RIGHT: Final = WIDE_MM - EDGE_MM
TOP: Final = TALL_MM - EDGE_MM
HEAD_MM: Final = 18.0
PLAN_MM: Final = 76.0
HUNG_MM: Final = 60.0
TICKS_MM: Final = 33.0
PAD_MM: Final = 3.0
SET_MM: Final = 44.0
"""Width of the column of numbers to set."""
HELD_MM: Final = 60.0
"""Width of the column of what holds the array."""
NUMBER_MM: Final = 5.5
TAG_MM: Final = 36.0
"""Width of an array's tag at most, of one of few letters less."""
FEW, FEW_MM = 5, 24.0
BANNER_MM: Final = 13.0
CODE_MM: Final = 21.0


@record(frozen=True)
class Card:
    """One array's card: how it was drawn, and what it is called and shows."""

    array: str
    slug: str
    title: str
    about: str
    drawn: Drawn

    @cached_property
    def svg(self) -> str:
        """The card as SVG at its true size, its letters as outlines."""
        return self.drawn.svg(title=self.title, about=self.about)


@record(frozen=True)
class Cards:
    """The cards of a room, in the order of its arrays."""

    title: str
    author: str
    about: str
    date: str
    cards: tuple[Card, ...]

    @cached_property
    def pdf(self) -> bytes:
        """A page for each card at its true size, A5, PDF/A-2b."""
        return render.pdf_of(
            [render.page_data(card.drawn, title=card.title, about=card.about) for card in self.cards],
            title=self.title,
            author=self.author,
            about=self.about,
            date=self.date,
        )


def cards(dossier: Dossier, *, date: str | None = None) -> Cards:
    """A card for each array that has a place. `date` (YYYY-MM-DD) stands where the spec gives none.

    The same input gives the same bytes. Raises FontMissing.
    """
    scene = dossier.scene
    say = Locale.of(scene).say
    slugs = unique_slugs([f"hang-card-{row.array}" for row in dossier.schedule])
    made = tuple(
        _card(words.card(count, row, dossier.steps, dossier.review), row, scene, slug)
        for count, (row, slug) in enumerate(zip(dossier.schedule, slugs, strict=True), 1)
    )
    return Cards(
        title=say("card.set", room=plain(scene.name)),
        author=plain(scene.document.drawn_by or ""),
        about=say("card.set.about"),
        date=document_date(scene, date),
        cards=made,
    )


def _card(text: CardText, row: ScheduleRow, scene: Scene, slug: str) -> Card:
    locale = Locale.of(scene)
    page = Page.empty(locale, row.array)
    y = TOP
    page.box("frame", (LEFT, EDGE_MM, RIGHT, TOP))
    head(page, text.top, y)
    y -= HEAD_MM
    page.line("frame", LEFT, y, RIGHT, y)
    low = y - PLAN_MM
    if text.hold is not None:
        y = banner(page, locale.say("card.hold"), [text.hold], y, red=True)
    _where(page, text, row, scene, y, low)
    y = low
    page.line("frame", LEFT, y, RIGHT, y)
    _how(page, text, row, scene, y)
    y -= HUNG_MM
    page.line("frame", LEFT, y, RIGHT, y)
    _ticks(page, text, scene, y)
    y -= TICKS_MM
    page.line("frame thin", LEFT, y, RIGHT, y)
    for i, label in enumerate(() if text.hold else text.foot):
        page.words(label, LEFT + PAD_MM + i * (RIGHT - LEFT) / 4, y - 3.2, height=SMALL_MM, role="card label")
    about = locale.say("card.about", array=plain(row.array), room=plain(scene.name))
    return Card(
        row.array,
        slug,
        locale.say("card.title", array=plain(row.array)),
        f"{text.hold}. {about}" if text.hold else about,
        render.drawn(page.layout, WIDE_MM, TALL_MM),
    )


def head(page: Page, text: Head, y: float) -> None:
    """The array's tag, what it is, its room, and which issue this is."""
    tag = plain(text.array)
    tall = HEAD_MM - 8.0
    wide = page.tag(tag, LEFT + PAD_MM, y - 4.0, TAG_MM if len(tag) > FEW else FEW_MM, tall)
    x = LEFT + PAD_MM + wide + 5.0
    right = RIGHT - PAD_MM
    broad = max(
        width(one, size) for one, size in ((text.number, 3.6), (text.issue, TEXT_MM), (text.units, TEXT_MM))
    )
    room = right - min(broad + 2.0, 44.0) - x
    page.words(plain(text.what), x, y - 6.0, height=3.6, weight="semibold", room=room)
    page.words(plain(text.room), x, y - 11.0, height=TEXT_MM, room=room)
    page.words(plain(text.project), x, y - 15.0, height=TEXT_MM, role="card label", room=room)
    page.words(
        plain(text.number),
        right,
        y - 6.0,
        height=3.6,
        weight="semibold",
        align="right",
        room=44.0,
        figure=True,
    )
    page.words(plain(text.issue), right, y - 11.0, align="right", room=44.0)
    page.words(text.units, right, y - 15.0, align="right", role="card label")


def banner(page: Page, title: str, lines: list[str], y: float, *, red: bool) -> float:
    """A field across the card with what it is in large letters and sentences beside; where it ends."""
    low = y - BANNER_MM
    page.fill("status" if red else "frame", [(LEFT, low), (RIGHT, low), (RIGHT, y), (LEFT, y)])
    page.words(title, LEFT + PAD_MM, y - 8.7, height=5.0, weight="semibold", role="card white")
    x = LEFT + PAD_MM + width(title, 5.0, "semibold") + 5.0
    room = RIGHT - PAD_MM - x
    size = TEXT_MM
    while True:
        told = [line for one in lines for line in wrap(plain(one), size, room, "semibold")]
        if len(told) * size * STEP <= BANNER_MM - 1.5 or size < 1.2:
            break
        size -= 0.1
    at = y - BANNER_MM / 2 + len(told) * size * STEP / 2 + size * (STEP - 1) / 2
    for line in told:
        at -= size * STEP
        page.words(line, x, at, height=size, weight="semibold", role="card white")
    return low


def _where(page: Page, text: CardText, row: ScheduleRow, scene: Scene, y: float, low: float) -> None:
    """The plan on the left, the numbers to set on the right."""
    say, middle, held = Locale.of(scene).say, RIGHT - SET_MM, text.hold is not None
    page.line("frame thin", middle, y, middle, low)
    page.words(say("card.where"), LEFT + PAD_MM, y - 5.0, weight="semibold")
    bottom = low + 3.0
    for note in reversed((*text.notes, text.open)):
        lines = wrap(plain(note), SMALL_MM, middle - LEFT - 2 * PAD_MM, "semibold")
        bottom += len(lines) * SMALL_MM * STEP
        page.paragraph(
            note,
            LEFT + PAD_MM,
            bottom,
            middle - LEFT - 2 * PAD_MM,
            weight="semibold" if note == text.open else "regular",
        )
    plan_sketch(page, scene, row, (LEFT + 2, bottom + 0.5, middle - 2, y - 5.5), held=held)
    x, right = middle + PAD_MM, RIGHT - PAD_MM
    page.words(text.figures_title, x, y - 5.0, weight="semibold", role="status" if held else "title")
    at = y - 7.0
    for figure in text.figures:
        at = _figure(page, figure, x, right, at, held=held)
    if not held:
        _facts(page, text, x, right, at - 0.6, low + 1.5)


def _figure(page: Page, figure: Figure, x: float, right: float, at: float, *, held: bool) -> float:
    """One number to set and how far it may be off; of a card on hold struck out. Where it ends."""
    page.words(figure.label, x, at - 2.7, height=SMALL_MM, role="card label", room=right - x)
    at -= 2.7 + NUMBER_MM + 1.2
    may_be = max(width(line, TEXT_MM) for line in figure.may_be_off)
    room = right - x - may_be - 1.5
    page.words(
        figure.value, x, at, height=NUMBER_MM, weight="semibold", room=room, figure=True,
        role="card grey" if held else "card number",
    )  # fmt: skip
    if held:
        long = width(figure.value, NUMBER_MM, "semibold")
        page.strike(x - 0.6, at, x + min(long, room) + 0.6, at + NUMBER_MM * min(room / long, 1.0))
    for i, line in enumerate(reversed(figure.may_be_off)):
        up = at + i * TEXT_MM * STEP
        page.words(line, right, up, align="right", role="status" if held else "card tolerance")
    page.line("grid", x, at - 1.3, right, at - 1.3)
    return at - 1.3


def _facts(page: Page, text: CardText, x: float, right: float, at: float, low: float) -> None:
    """The rest of what is set, a line each, two where a figure needs them; then when to stop."""
    told: list[tuple[str, str, float | None]] = []
    for label, value in text.facts:
        beside = right - x - width(label, SMALL_MM) - 1.5
        fits = width(plain(value), SMALL_MM, "semibold") <= beside
        told.append((label, plain(value), beside if fits else None))
    rows = sum(1 if left else 2 for _, _, left in told)
    stop = len(wrap(plain(text.stop), SMALL_MM, right - x)) * SMALL_MM * STEP + 0.8
    step = min(TEXT_MM * STEP + 0.25, (at - low - stop) / rows)
    for label, value, left in told:
        at -= step
        page.words(label, x, at, height=SMALL_MM, role="card label")
        if left is None:
            at -= step
        page.words(
            value,
            right,
            at,
            weight="semibold",
            align="right",
            room=right - x if left is None else left,
            figure=True,
        )
    page.paragraph(text.stop, x, at - 0.8, right - x)


def _how(page: Page, text: CardText, row: ScheduleRow, scene: Scene, y: float) -> None:
    """The section on the left, what holds the array on the right."""
    say, middle, low = Locale.of(scene).say, RIGHT - HELD_MM, y - HUNG_MM
    held = text.hold is not None
    page.line("frame thin", middle, y, middle, low)
    page.words(say("card.how"), LEFT + PAD_MM, y - 5.0, weight="semibold")
    box = (LEFT + PAD_MM, low + 2.0, middle - 1.0, y - 8.0)
    hanging_sketch(page, scene, row, text.holds, box, held=held)
    page.words(say("card.holds"), middle + PAD_MM, y - 5.0, weight="semibold")
    x, room = middle + PAD_MM + 5.5, HELD_MM - 2 * PAD_MM - 4.5
    size = _fitting([held.text for held in text.holds], room, HUNG_MM - 8.0)
    at = y - 6.6
    for number, one in enumerate(text.holds, 1):
        page.ball(number, middle + PAD_MM + 1.4, at - size * STEP + size / 2)
        role = "card grey" if held else "title"
        # not so near that two numbers in their circles touch
        at = min(page.paragraph(one.text, x, at, room, height=size, role=role) - 1.1, at - 4.4)


def _fitting(texts: list[str], room: float, tall: float) -> float:
    """The height of capitals at which paragraphs fit into a column."""
    size = SMALL_MM
    while size > 1.3:
        lines = sum(len(wrap(plain(text), size, room)) for text in texts)
        if lines * size * STEP + 1.1 * len(texts) <= tall:
            break
        size -= 0.05
    return size


def _ticks(page: Page, text: CardText, scene: Scene, y: float) -> None:
    """What is done in order, in two columns; what to write in when it hangs; the code."""
    say = Locale.of(scene).say
    page.code(text.code, RIGHT - PAD_MM - CODE_MM, y - 4.0, CODE_MM)
    if text.hold is not None:
        page.words(text.hold_step, LEFT + PAD_MM, y - 5.0, weight="semibold", role="status")
        return
    page.words(say("card.ticks"), LEFT + PAD_MM, y - 5.0, weight="semibold")
    rows = 7
    for i, tick in enumerate(text.ticks):
        x, at = LEFT + PAD_MM + (i // rows) * 35.0, y - 9.4 - (i % rows) * 3.5
        page.box("frame thin", (x, at - 0.3, x + 2.2, at + 1.9))
        page.words(tick, x + 3.6, at, height=SMALL_MM, room=30.0)
    x = LEFT + PAD_MM + 72.0
    page.words(say("card.as hung"), x, y - 5.0, weight="semibold")
    for i, label in enumerate(text.as_hung):
        at = y - 10.2 - i * 4.4
        page.words(label, x, at, height=SMALL_MM)
        page.line("frame thin", x + 15.5, at - 0.5, x + 29.0, at - 0.5)
