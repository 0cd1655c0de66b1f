"""As-hung cards: a page for each array with what was measured beside the design, and what to correct.

Nothing on them is set from: figures to set, steps and boxes to tick stand on the hang card alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from viz.cards import CODE_MM, HEAD_MM, LEFT, PAD_MM, RIGHT, TOP, Card, Cards, banner, head
from viz.cards.page import EDGE_MM, SMALL_MM, STEP, TALL_MM, TEXT_MM, WIDE_MM, Page
from viz.cards.plan_sketch import plan_sketch
from viz.outputs import unique_slugs
from viz.sheets import render
from viz.sheets.drawing import document_date
from viz.sheets.lettering import plain
from viz.words import as_hung as words
from viz.words.as_hung import HungCard, HungRow
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.as_built import AsBuilt
    from scenes.findings.installation import ScheduleRow

COLUMNS_MM: Final = (23.0, 20.0, 24.0, 21.0, 17.0, 21.0)
"""Widths of the table's columns: what, designed, measured, off by, allowed, correct by."""
FOOT_MM: Final = 14.0
LOOK: Final = {"fine": "title", "outside": "card number", "correct": "status"}


def as_hung_cards(found: AsBuilt, dossier: Dossier, date: str | None) -> Cards:
    """A card for each array that was measured. `dossier` is of the scene of the papers, `date` the day of measuring
    where its file has none. Raises FontMissing.
    """
    scene = dossier.scene
    say = Locale.of(scene).say
    rows = {row.array: (count, row) for count, row in enumerate(dossier.schedule, 1)}
    slugs = unique_slugs([f"as-hung-card-{off.array}" for off in found.arrays])
    made = tuple(
        _card(words.card(rows[off.array][0], off, found, date), rows[off.array][1], dossier, found, slug)
        for off, slug in zip(found.arrays, slugs, strict=True)
    )
    return Cards(
        title=say("as built.card.set", room=plain(scene.name)),
        author=plain(scene.document.drawn_by or ""),
        about=say("as built.card.set.about"),
        date=document_date(scene, None),
        cards=made,
    )


def _card(text: HungCard, row: ScheduleRow, dossier: Dossier, found: AsBuilt, slug: str) -> Card:
    scene = dossier.scene
    locale = Locale.of(scene)
    page = Page.empty(locale, text.top.array)
    page.box("frame", (LEFT, EDGE_MM, RIGHT, TOP))
    head(page, text.top, TOP)
    said = [text.verdict] if text.hold is None else [text.hold, text.verdict]
    y = banner(page, locale.say("as built.title"), said, TOP - HEAD_MM, red=text.hold is not None)
    y = _table(page, text, y)
    y = _corrections(page, text, y, locale)
    page.line("frame", LEFT, y, RIGHT, y)
    bottom = EDGE_MM + FOOT_MM
    page.words(locale.say("as built.card.where"), LEFT + PAD_MM, y - 5.0, weight="semibold")
    right = RIGHT - PAD_MM - CODE_MM - 3.0
    plan_sketch(
        page, scene, row, (LEFT + 2, bottom + 2.0, right, y - 5.5), held=True,
        design=found.designed.scene.array(text.top.array).centre_m[:2],
    )  # fmt: skip
    page.code(text.code, RIGHT - PAD_MM - CODE_MM, bottom + CODE_MM + 3.0, CODE_MM)
    room = CODE_MM + 1.0
    at = page.paragraph(text.not_to_set, right + 2.0, y - 2.0, room, weight="semibold", role="status")
    at = page.paragraph(locale.say("as built.card.design"), right + 2.0, at - 2.0, room, role="card label")
    page.paragraph(text.measured, right + 2.0, at - 2.0, room, role="card label")
    page.line("frame", LEFT, bottom, RIGHT, bottom)
    for i, label in enumerate(text.foot):
        page.words(
            label, LEFT + PAD_MM + i * (RIGHT - LEFT) / 4, bottom - 3.2, height=SMALL_MM, role="card label"
        )
    about = locale.say("as built.card.about", array=plain(text.top.array), room=plain(scene.name))
    return Card(
        text.top.array,
        slug,
        locale.say("as built.card.title", array=plain(text.top.array)),
        f"{text.verdict} {about}",
        render.drawn(page.layout, WIDE_MM, TALL_MM),
    )


def _table(page: Page, text: HungCard, y: float) -> float:
    """What was measured beside what is designed, a row a quantity; where it ends."""
    y -= 2.0
    y = _row(page, text.head, y, "card label", SMALL_MM)
    page.line("frame", LEFT + PAD_MM, y, RIGHT - PAD_MM, y)
    for row in text.rows:
        y = _row(page, row.cells, y, LOOK[row.state], TEXT_MM, row)
        page.line("grid", LEFT + PAD_MM, y, RIGHT - PAD_MM, y)
    return y - 1.0


def _row(
    page: Page, cells: tuple[str, ...], y: float, role: str, size: float, row: HungRow | None = None
) -> float:
    """A row's cells, each wrapped in its column; where the row ends."""
    x, low = LEFT + PAD_MM, y
    for column, (cell, wide) in enumerate(zip(cells, COLUMNS_MM, strict=True)):
        look, weight = ("title", "regular") if row is not None and column < 2 else (role, "semibold")
        if row is not None and row.state == "fine":
            weight = "regular"
        height = SMALL_MM if column == 0 else size
        end = page.paragraph(cell, x, y - 0.6, wide - 2.0, height=height, weight=weight, role=look)  # type: ignore[arg-type]
        low, x = min(low, end), x + wide
    return low - 1.6


def _corrections(page: Page, text: HungCard, y: float, locale: Locale) -> float:
    """What to correct first, numbered; where it ends."""
    if not text.corrections:
        return y
    y -= 1.5
    for number, one in enumerate(text.corrections, 1):
        page.ball(number, LEFT + PAD_MM + 2.0, y - TEXT_MM * STEP + TEXT_MM / 2)
        y = page.paragraph(
            one[:1].upper() + one[1:], LEFT + PAD_MM + 6.0, y, RIGHT - LEFT - 2 * PAD_MM - 6.0, height=TEXT_MM,
            weight="semibold", role="status",
        ) - 1.6  # fmt: skip
    return y - 1.0
