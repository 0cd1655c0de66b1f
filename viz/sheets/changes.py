"""Clouded plans: what changed between two revisions of a room, each place with a cloud and a number, and a table.

Floor plan and reflected ceiling plan are those of the new revision, drawn by the same code as in the sheets but
without their dimensions, so that clouds and numbers have room. What is gone is drawn thin and dashed where it was.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING, Final

from geometry.records import record
from scenes.findings.changes import Change
from scenes.review.changes import changes
from scenes.room.scene import Scene
from viz.outputs import slug_of
from viz.sheets import cad, ceiling_plan, drawing, legends, paper, plan, render
from viz.sheets.changes_table import Heading, Row, Table, draw_table, laid_out, on_pages
from viz.sheets.clouds import Cloud, clouded, delta_block, ghosts, placed_clouds
from viz.sheets.draft import Box, Draft, PlacedName, View
from viz.sheets.drawing import Kind, Sheet, Sheets, document_date, sheet_cautions
from viz.sheets.layers import Layer, layers
from viz.sheets.lettering import plain
from viz.sheets.paper import Foot, Legend, Paper, Words
from viz.words import cautions as caution_words
from viz.words import changes as change_words
from viz.words import verdict
from viz.words.locale import DASH, Locale

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scenes.dossier import Dossier

ON_THE_FLOOR: Final = ("array", "head", "table", "obstacle", "camera", "display", "opening")
AT_THE_CEILING: Final = ("array", "device", "clearance")
LEAST_PLAN_MM: Final = 90.0
"""A room drawn smaller than this to make place for its table is too crowded: the table has a sheet of its own then."""
GAP_MM: Final = 4.0


class NothingDiffers(ValueError):
    """Two revisions that are the same room in everything the changes tell."""

    exit_status = 2


def changes_sheet(
    old: Dossier,
    new: Dossier,
    *,
    paper: str = "A4",
    date: str | None = None,
    purpose: str | None = None,
    own_layers: str | None = None,
) -> Sheets:
    """The new revision's plans with a cloud and a number round each place that changed, and all changes in a table.

    A floor plan for talkers, furniture and arrays; a reflected ceiling plan for overhead devices, clearances and
    arrays where a device or a clearance changed. Numbers and rows are each sheet's own; what has no place on plan,
    as the verdict, has a row and no number. A table that leaves its plan too little room has sheets of its own.
    Other arguments as `sheets` takes them; the same input gives the same bytes. Raises NothingDiffers, and what
    `sheets` raises.
    """
    if paper not in drawing.PAPER_SIZES:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(drawing.PAPER_SIZES)}")
    scene = new.scene
    day = document_date(scene, date)
    mapped = layers(own_layers)
    told = changes(old.review, new.review)
    if not told:
        raise NothingDiffers(change_words.no_sheet(old.scene, scene))
    asked = _Asked(old, new, paper, day, drawing.purpose_of(scene, purpose), mapped)
    pages = [page for side in _sides(old, new, told) for page in _pages(asked, side)]
    draft = asked.draft()
    say = draft.locale.say
    made = [_sheet(draft, asked, page, number, len(pages)) for number, page in enumerate(pages)]
    return Sheets(
        paper=paper,
        title=say("sheet.changes", room=plain(scene.name), between=_from_to(old, new)),
        author=plain(scene.document.drawn_by or ""),
        date=day,
        sheets=tuple(made),
        dimensions=(),
        dxf=cad.dxf_text(
            draft, say("sheet.changes", room=scene.name, between=""), day, scales=_scales(pages)
        ),
        about=say("sheet.changes.about"),
    )


@record(frozen=True)
class _Asked:
    """What every sheet is drawn from."""

    old: Dossier
    new: Dossier
    paper: str
    day: str
    purpose: str
    layers: Mapping[str, Layer]
    named: dict[bytes, Sequence[PlacedName]] = field(default_factory=dict)
    """Where names were placed before: a plan is drawn at several scales and more than once at one."""

    def draft(self) -> Draft:
        """An empty drawing."""
        return Draft(Locale.of(self.new.scene), self.layers, named=self.named)


@record(frozen=True)
class _Side:
    """One plan: what it shows, how it is drawn, and the changes that are told on it."""

    kind: Kind
    name: str
    suffix: str
    changes: tuple[Change, ...]
    draw: Callable[[View], None]
    hidden: tuple[str, ...]
    legend: Callable[[Draft], Sequence[Legend]]


@record(frozen=True)
class _Page:
    """A sheet before it is drawn: a plan with clouds at a scale, a table, or both; and where on the paper."""

    side: _Side
    title: str
    rows: tuple[Row, ...]
    denominator: float | None
    clouds: tuple[Cloud, ...]
    extent: Box
    table: Table | None
    beside: bool


def _from_to(old: Dossier, new: Dossier) -> str:
    """Behind what is said of the changes, with a space in front: which revisions; nothing if they have not two."""
    before, after = (plain(d.scene.document.revision or "") for d in (old, new))
    if not before or not after or before == after:
        return ""
    between = Locale.of(new.scene).say("sheet.changes.between", before=before, after=after)
    return f" {between}"


def _sides(old: Dossier, new: Dossier, told: Sequence[Change]) -> list[_Side]:
    """The plans that are needed, each with its changes: those with a place there, and those without any."""
    review, say = new.review, Locale.of(new.scene).say
    kinds = {change.kind for change in told}

    def of(here: Sequence[str]) -> tuple[Change, ...]:
        return tuple(change for change in told if change.at_m is None or change.kind in here)

    ceiling = bool(kinds & {"device", "clearance"})
    sides = []
    if kinds & set(ON_THE_FLOOR) or not ceiling:
        sides.append(
            _Side(
                "plan", say("sheet.changes.floor plan"), "", of(ON_THE_FLOOR),
                lambda view: plan.floor_plan(view, review, (), bare=True),
                drawing._ABOVE,
                lambda draft: legends.plan_legend(draft, new, bare=True),
            )
        )  # fmt: skip
    if ceiling:
        regions = [polygon for region in new.regions.values() for polygon in region.polygons]
        sides.append(
            _Side(
                "ceiling", say("sheet.changes.ceiling plan"), " above", of(AT_THE_CEILING),
                lambda view: ceiling_plan.ceiling_plan(view, review, new.keep_outs, regions, (), bare=True),
                drawing._BELOW, lambda draft: legends.ceiling_legend(draft, new, bare=True),
            )
        )  # fmt: skip
    return sides


def _rows(side: _Side, clouds: Sequence[Cloud], locale: Locale) -> tuple[Row, ...]:
    """The changes of a plan as rows: those without a place first, then cloud by cloud."""
    told: list[tuple[str, Change]] = [(DASH, change) for change in side.changes if change.at_m is None]
    told += [(f"{cloud.number}", change) for cloud in clouds for change in cloud.changes]
    texts = [(number, change_words.row(change, locale)) for number, change in told]
    return tuple(Row(number, text.named, text.before, text.after) for number, text in texts)


def _verdicts(asked: _Asked) -> str:
    before, now = (verdict.word(d.review.verdict, Locale.of(d.scene)) for d in (asked.old, asked.new))
    return Locale.of(asked.new.scene).say("sheet.changes.verdicts", before=before, now=now)


def _heading(asked: _Asked) -> Heading:
    locale = Locale.of(asked.new.scene)
    title = locale.say("sheet.changes.caption", between=_from_to(asked.old, asked.new))
    names = (locale.say(f"column.{name}") for name in ("no.", "what", "before", "now"))
    return Heading(title, _verdicts(asked), tuple(names))


# ---- sheets ---------------------------------------------------------------------------------------------


def _prepared(asked: _Asked, side: _Side, denominator: float) -> tuple[tuple[Cloud, ...], Box]:
    """The clouds of a plan at one scale with their numbers placed, and what the drawing covers on paper."""
    view = View(asked.draft(), side.name, denominator, suffix=side.suffix)
    clouds = placed_clouds(view, side.draw, side.changes, asked.old.scene, asked.new.scene)
    assert view.extent is not None
    return clouds, view.extent


def _area(asked: _Asked) -> Box:
    page = paper.new_paper(asked.draft(), "area", asked.paper)
    return paper.view_area(page, _foot(asked), held=caution_words.hold(asked.new.review) is not None)


def _foot(asked: _Asked) -> Foot:
    return Foot(Locale.of(asked.new.scene).say("sheet.cautions"), sheet_cautions(asked.new))


def _pages(asked: _Asked, side: _Side) -> list[_Page]:
    """The sheets of one plan: with its table at the largest scale that lets it, or the table on sheets after it."""
    locale, area = Locale.of(asked.new.scene), _area(asked)
    wide, tall = area[2] - area[0], area[3] - area[1]
    title, heading = locale.say("sheet.changes.title", plan=side.name), _heading(asked)
    largest: _Page | None = None
    (x0, y0), (x1, y1) = asked.new.scene.room.bounds_m
    draft = asked.draft()
    for denominator in paper.scales(draft):
        if (x1 - x0) * 1000 / denominator > wide or (y1 - y0) * 1000 / denominator > tall:
            continue
        if largest is not None and max(x1 - x0, y1 - y0) * 1000 / denominator < LEAST_PLAN_MM:
            break
        clouds, extent = _prepared(asked, side, denominator)
        room = extent[2] - extent[0] + 2.0, extent[3] - extent[1] + 2.0
        if room[0] > wide or room[1] > tall:
            continue
        rows = _rows(side, clouds, locale)
        largest = largest or _Page(side, title, rows, denominator, clouds, extent, None, False)
        column = laid_out(rows, heading, min(wide - room[0] - 2 * GAP_MM, wide / 2), 1)
        below = [laid_out(rows, heading, wide, parts) for parts in (1, 2, 3)]
        fitting = [(column, True)] if column is not None and column.height_mm <= tall else []
        fitting += [
            (table, False)
            for table in below
            if table is not None and table.height_mm + room[1] + 1.5 * GAP_MM <= tall
        ]
        if fitting:
            # beside the plan if no cell has to be broken for it, else below, as low as it can be
            table, beside = min(fitting, key=lambda one: (one[0].wrapped, not one[1], one[0].height_mm))
            return [_Page(side, title, rows, denominator, clouds, extent, table, beside)]
    if largest is None:
        raise paper.too_large(draft, (x1 - x0, y1 - y0), asked.paper)
    return [
        largest,
        *(
            replace(largest, title=locale.say("sheet.changes.table", title=title), denominator=None, clouds=(),
                    table=table, rows=tuple(row for part in table.parts for row in part))
            for table in on_pages(largest.rows, heading, wide, tall, locale)
        ),
    ]  # fmt: skip


def _sheet(draft: Draft, asked: _Asked, planned: _Page, number: int, total: int) -> Sheet:
    page, box, words = _draw_page(draft, asked, planned, number, total)

    def alone() -> str:
        single = asked.draft()
        _draw_page(single, asked, planned, number, total)
        title = f"{asked.new.scene.name}: {planned.title}"
        return cad.dxf_text(single, title, asked.day, scales=_scales([planned]))

    scale = planned.denominator
    return Sheet(
        kind=planned.side.kind,
        slug=slug_of(f"{number + 1:02d}-{planned.title}"),
        title=planned.title,
        number=words.number,
        about=drawing.with_mark(_about(asked, planned), asked.new.review),
        scale=scale or 1.0,
        scale_text=paper.scales(draft)[scale] if scale is not None else draft.locale.say("sheet.no scale"),
        drawn=render.drawn(page.layout, page.width_mm, page.height_mm, draft.spans),
        view_box=box,
        draw_alone=alone,
    )


def _scales(pages: Sequence[_Page]) -> list[float]:
    """The scales of the plans drawn on these sheets; 1 where there is none."""
    return [page.denominator for page in pages if page.denominator is not None] or [1.0]


def _about(asked: _Asked, planned: _Page) -> str:
    room, locale = plain(asked.new.scene.name), Locale.of(asked.new.scene)
    between = _from_to(asked.old, asked.new)
    rows = "; ".join(
        locale.say("sheet.changes.row", what=row.what, before=row.before, now=row.now) for row in planned.rows
    )
    if planned.denominator is None:
        return locale.say("sheet.changes.table about", room=room, between=between, rows=rows)
    plan, clouds = planned.side.name.capitalize(), locale.say("sheet.changes.clouds", len(planned.clouds))
    return locale.say(
        "sheet.changes.plan about", plan=plan, room=room, clouds=clouds, between=between, rows=rows
    )


def _draw_page(
    draft: Draft, asked: _Asked, planned: _Page, number: int, total: int
) -> tuple[Paper, Box, Words]:
    page = paper.new_paper(draft, f"{number + 1} {planned.title}", asked.paper)
    foot = _foot(asked)
    mark, hold = drawing.marks(asked.new.review)
    area = paper.view_area(page, foot, held=hold is not None)
    table = planned.table
    x0, y0, x1, y1 = area
    edge = page.frame[2] - page.strip_mm
    if table is not None and planned.denominator is None:
        draw_table(page, table, x0, y1)
    elif table is not None and planned.beside:
        left = x1 - table.width_mm
        draw_table(page, table, left, y1)
        page.line("frame thin", left - GAP_MM, y0 - paper.PAD_MM, left - GAP_MM, page.frame[3])
        area = (x0, y0, left - 2 * GAP_MM, y1)
    elif table is not None:
        top = y0 + table.height_mm
        draw_table(page, table, x0, top)
        page.line("frame thin", page.frame[0], top + GAP_MM / 2, edge, top + GAP_MM / 2)
        area = (x0, top + GAP_MM, x1, y1)
    box = area
    if planned.denominator is not None:
        box = _draw_view(draft, page, asked, planned, area)
    document = asked.new.scene.document
    words = Words(
        f"{plain(document.number)}.C{number + 1}" if document.number else f"C{number + 1}",
        planned.title, number + 1, total, asked.purpose, mark, hold,
    )  # fmt: skip
    paper.dress(
        page, _with_both_revisions(asked), words, scale=planned.denominator,
        legend=_legend(draft, asked, planned), notes=_notes(asked, planned, total), foot=foot,
        north=planned.denominator is not None,
    )  # fmt: skip
    return page, box, words


def _draw_view(draft: Draft, page: Paper, asked: _Asked, planned: _Page, area: Box) -> Box:
    assert planned.denominator is not None
    side = planned.side
    # beside a plan that is drawn already, not on it
    origin = (0.0, drawing.above_m(asked.new.scene)) if draft.spans else (0.0, 0.0)
    view = View(draft, planned.title, planned.denominator, origin, side.suffix)
    before = len(draft.doc.modelspace())
    view.extent = planned.extent
    clouded(view, side.draw, side.changes, asked.old.scene, asked.new.scene, planned.clouds, planned.extent)
    x0, y0, x1, y1 = view.extent
    low, high = view.units((view.to_m(x0), view.to_m(y0))), view.units((view.to_m(x1), view.to_m(y1)))
    draft.spans.append((before, len(draft.doc.modelspace()), (*low, *high)))
    return paper.place_view(page, view, area, [role for role in draft.layers if role not in side.hidden])


def _with_both_revisions(asked: _Asked) -> Scene:
    """The new scene, whose title block lists the two revisions that are compared."""
    old, new = asked.old.scene.document, asked.new.scene.document
    say = Locale.of(asked.new.scene).say
    revisions = (
        (old.revision or DASH, old.date or DASH, say("column.before")),
        (new.revision or DASH, new.date or DASH, say("column.now")),
    )
    return replace(asked.new.scene, document=replace(new, revisions=revisions))


def _notes(asked: _Asked, planned: _Page, total: int) -> tuple[str, ...]:
    say = Locale.of(asked.new.scene).say
    if planned.denominator is None:
        return (say("sheet.changes.note.numbers"),)
    notes = [say("sheet.changes.note.places")]
    if planned.table is None:
        notes.insert(0, say("sheet.changes.note.table after", verdicts=_verdicts(asked)))
    if total > 1 and planned.table is not None:
        notes.append(say("sheet.changes.note.other plan"))
    return tuple(notes)


def _legend(draft: Draft, asked: _Asked, planned: _Page) -> list[Legend]:
    if planned.denominator is None:
        return []
    side = planned.side
    view = View(draft, planned.title, planned.denominator, suffix=side.suffix)
    before = [ghost for ghost in ghosts(side.changes, asked.old.scene, asked.new.scene, view) if ghost.id]
    change, gone = "change" + side.suffix, "removed" + side.suffix

    def cloud(page: Paper, x: float, y: float) -> None:
        ring = [
            (x - 3.2, y - 0.9),
            (x, y - 0.9),
            (x + 3.2, y - 0.9),
            (x + 3.2, y + 0.9),
            (x, y + 0.9),
            (x - 3.2, y + 0.9),
        ]
        page.layout.add_lwpolyline(
            [(*p, 0.55) for p in ring], format="xyb", close=True, dxfattribs={"layer": page.layer(change)}
        )

    def dashed(page: Paper, x: float, y: float) -> None:
        page.box(gone, (x - 4, y - 1.4, x + 4, y + 1.4))

    def removed(page: Paper, x: float, y: float) -> None:
        dashed(page, x, y)
        for sign in (1, -1):
            page.layout.add_line(
                (x - 1.4, y - sign * 1.4), (x + 1.4, y + sign * 1.4),
                dxfattribs={"layer": page.layer(gone), "linetype": "CONTINUOUS"},
            )  # fmt: skip

    say = draft.locale.say
    made = []
    if planned.clouds:
        made.append(Legend(cloud, say("sheet.changes.legend.cloud")))
        block = delta_block(draft)
        number = say("sheet.changes.legend.number")
        made.append(Legend(lambda page, x, y: page.insert(block, change, x, y, scale=0.55), number))
    if any(ghost.now_m is None for ghost in before):
        made.append(Legend(removed, say("sheet.changes.legend.removed")))
    if any(ghost.now_m is not None for ghost in before):
        made.append(Legend(dashed, say("sheet.changes.legend.before")))
    return [*made, *side.legend(draft)]
