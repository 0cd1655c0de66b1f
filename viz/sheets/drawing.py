"""All sheets of a room: which there are, at which scale, and each as DXF, SVG and PDF."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any, Final, Literal

from geometry.records import record
from scenes.room.scene import Scene
from viz.outputs import slug_of
from viz.sheets import cad, ceiling_plan, legends, lettering, paper, plan, plan_chains, render, section, strip
from viz.sheets import heights as heights_view
from viz.sheets.draft import Box, Draft, DrawnDimension, PlacedName, View
from viz.sheets.layers import Layer, layers
from viz.sheets.lettering import plain
from viz.sheets.paper import Foot, Legend, Paper, Words
from viz.sheets.render import Drawn
from viz.words import cautions, clearances
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.heights import ArrayHeights, BandHeights
    from scenes.findings.review import Review, Standing

Kind = Literal["plan", "ceiling", "section", "heights"]


@record(frozen=True)
class Sheet:
    """One sheet: what it shows, at which scale, and how it was drawn.

    `view_box` is where its drawing lies on the page, mm from the lower left. `dxf` is the drawing alone, without
    paper: plans on the room's own origin, sections with the floor at 0.
    """

    kind: Kind
    slug: str
    title: str
    number: str
    about: str
    scale: float
    scale_text: str
    drawn: Drawn
    view_box: Box
    draw_alone: Callable[[], str]

    @cached_property
    def dxf(self) -> str:
        """The DXF of this sheet alone."""
        return self.draw_alone()

    @cached_property
    def svg(self) -> str:
        """The sheet as SVG, its letters as outlines."""
        return self.drawn.svg(title=f"{self.number} {self.title}", about=self.about)


@record(frozen=True)
class Sheets:
    """All sheets of a room on one paper size. `dimensions`: every DIMENSION entity with what it measures."""

    paper: str
    title: str
    author: str
    date: str
    sheets: tuple[Sheet, ...]
    dimensions: tuple[DrawnDimension, ...]
    dxf: str
    about: str

    @cached_property
    def pdf(self) -> bytes:
        """Every sheet a page at its true size, PDF/A-2b."""
        return render.pdf_of(
            [render.page_data(s.drawn, title=f"{s.number} {s.title}", about=s.about) for s in self.sheets],
            title=self.title,
            author=self.author,
            about=f"{self.about}: {', '.join(s.title for s in self.sheets)}",
            date=self.date,
        )


@record(frozen=True)
class _Planned:
    """A sheet before it is drawn: its size in the room, what it needs round that, how it is drawn, what is seen."""

    kind: Kind
    slug: str
    title: str
    about: str
    size_m: tuple[float, float]
    margins_mm: tuple[float, float, float, float]
    origin_m: tuple[float, float]
    suffix: str
    draw: Callable[[View], None]
    hidden: tuple[str, ...]
    legend: Callable[[Draft], Sequence[Legend]]
    notes: tuple[str, ...]
    north: bool = False
    strip: Callable[[Paper, float, float, float, float], None] | None = None
    below_mm: Callable[[float], float] = lambda denominator: 0.0
    """What it needs below besides its margin at a scale."""


def sheets(
    dossier: Dossier,
    *,
    paper: str = "A4",
    date: str | None = None,
    purpose: str | None = None,
    own_layers: str | None = None,
    stamp: Stamp | None = None,
    without: Sequence[Kind] = (),
) -> Sheets:
    """All sheets of a placed room on A4, A3, Letter or Tabloid.

    `date` (YYYY-MM-DD) stands where the spec gives none; it fixes every date in the files. `purpose`: what
    the sheets are for, where the spec does not say. `own_layers`: text of a layers file. `stamp` takes the place of
    what they carry of the verdict; kinds `without` are left out. The same input gives the same bytes. Raises
    DoesNotFit, FontMissing, LayersMistake.
    """
    if paper not in PAPER_SIZES:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPER_SIZES)}")
    scene = dossier.scene
    day = document_date(scene, date)
    mapped = layers(own_layers)
    room_mm = PAPER_SIZES[paper][0] - 2 * MARGIN_MM - strip_mm(PAPER_SIZES[paper][0]) - 2 * PAD_MM
    planned = [one for one in _planned(dossier, room_mm) if one.kind not in without]
    return _drawn(dossier, planned, paper, day, purpose, mapped, stamp or marks(dossier.review))


def _drawn(
    dossier: Dossier,
    planned: Sequence[_Planned],
    paper: str,
    day: str,
    purpose: str | None,
    mapped: Mapping[str, Layer],
    stamp: Stamp,
) -> Sheets:
    scene = dossier.scene
    locale = Locale.of(scene)
    draft = Draft(locale, mapped)
    made: list[Sheet] = []
    told_purpose = purpose_of(scene, purpose)

    for number, plan_of in enumerate(planned):
        page, scale, box, words = _sheet(draft, dossier, planned, number, paper, told_purpose, stamp)
        made.append(
            Sheet(
                kind=plan_of.kind,
                slug=slug_of(f"{number + 1:02d}-{plan_of.slug}"),
                title=plan_of.title,
                number=words.number,
                about=with_mark(plan_of.about, dossier.review),
                scale=scale,
                scale_text=PAPER_SCALES(draft)[scale],
                drawn=render.drawn(page.layout, page.width_mm, page.height_mm, draft.spans),
                view_box=box,
                draw_alone=partial(_alone, dossier, plan_of, scale, words, mapped, day, draft.named),
            )
        )
    return Sheets(
        paper=paper,
        title=locale.say("sheet.set", room=plain(scene.name)),
        author=plain(scene.document.drawn_by or ""),
        date=day,
        sheets=tuple(made),
        dimensions=tuple(draft.dimensions),
        dxf=cad.dxf_text(draft, scene.name, day, scales=[sheet.scale for sheet in made]),
        about=locale.say("sheet.set.about"),
    )


Stamp = tuple[str, str | None]
"""What every sheet carries in its title block, and what stands across the corner of its drawing."""

PAPER_SIZES: Final = paper.PAPERS
PAPER_SCALES: Final = paper.scales
MARGIN_MM: Final = paper.MARGIN_MM
PAD_MM: Final = paper.PAD_MM
strip_mm = paper.strip_mm


@record(frozen=True)
class Figure:
    """One drawing without frame or title block, true to scale."""

    drawn: Drawn
    scale_text: str
    about: str


def figure(
    dossier: Dossier, kind: Kind, *, room_mm: tuple[float, float], number: int = 0, bare: bool = False
) -> Figure:
    """The drawing of a sheet alone, at the largest scale that fits into `room_mm` (width, height).

    `number` picks among several of a kind; `bare` leaves dimensions out of a plan. Raises DoesNotFit.
    """
    chosen = [p for p in _planned(dossier, room_mm[0], bare=bare) if p.kind == kind][number]
    return _figure(dossier.scene, chosen, room_mm)


def _figure(scene: Scene, chosen: _Planned, room_mm: tuple[float, float]) -> Figure:
    draft = Draft(Locale.of(scene), layers())
    area = (0.0, 0.0, *room_mm)
    scale = paper.fitting_scale(
        draft, area, chosen.size_m, chosen.margins_mm, f"{room_mm[0]:g} x {room_mm[1]:g} mm", fine=True,
        below_mm=chosen.below_mm,
    )  # fmt: skip
    view = View(draft, chosen.title, scale, chosen.origin_m, chosen.suffix)
    _draw(draft, view, chosen)
    assert view.extent is not None
    wide = view.extent[2] - view.extent[0] + 3.0
    tall = view.extent[3] - view.extent[1] + 3.0
    layout = draft.doc.layouts.new("Figure")
    layout.page_setup(size=(wide, tall), margins=(0, 0, 0, 0), units="mm")
    page = Paper(draft, layout, "figure", wide, tall)
    shown = [role for role in draft.layers if role not in chosen.hidden]
    middle = (wide / 2, tall / 2)
    paper.place_view(page, view, (middle[0], middle[1], middle[0], middle[1]), shown)
    return Figure(
        render.drawn(layout, wide, tall, draft.spans), paper.scales(draft, fine=True)[scale], chosen.about
    )


UNDATED = "2000-01-01"
"""The date inside the files of a document without one: the clock's would change the bytes every day."""


def purpose_of(scene: Scene, given: str | None) -> str:
    """What sheets are for: what was given, else what the spec says, else that nothing is built from them."""
    return given or scene.document.purpose or Locale.of(scene).say("sheet.purpose")


def document_date(scene: Scene, date: str | None) -> str:
    """YYYY-MM-DD for the files' own data: the spec's date, else the one given, else UNDATED.

    What people read says "–" or "undated" where there is neither. ValueError for another form.
    """
    told = scene.document.date or date or UNDATED
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", told):
        raise ValueError(f"document date is {told!r}; allowed is YYYY-MM-DD")
    return told


def _sheet(
    draft: Draft,
    dossier: Dossier,
    every: Sequence[_Planned],
    number: int,
    size: str,
    purpose: str,
    stamp: Stamp,
) -> tuple[Paper, float, Box, Words]:
    scene, planned = dossier.scene, every[number]
    page = paper.new_paper(draft, f"{number + 1} {planned.title}", size)
    foot = Foot(draft.locale.say("sheet.cautions"), sheet_cautions(dossier))
    mark, hold = stamp
    area = paper.view_area(page, foot, held=hold is not None)
    # one scale for all of a kind: drawings that are compared are as large as each other
    scale = max(
        paper.fitting_scale(draft, area, one.size_m, one.margins_mm, size, below_mm=one.below_mm)
        for one in every
        if one.kind == planned.kind
    )
    view = View(draft, planned.title, scale, planned.origin_m, planned.suffix)
    _draw(draft, view, planned)
    shown = [role for role in draft.layers if role not in planned.hidden]
    box = paper.place_view(page, view, area, shown)
    base = scene.document.number
    words = Words(
        f"{plain(base)}.{number + 1}" if base else f"{number + 1}",
        planned.title,
        number + 1,
        len(every),
        purpose,
        mark,
        hold,
    )
    page.more = planned.strip
    paper.dress(
        page, scene, words, scale=scale, legend=planned.legend(draft), notes=planned.notes, foot=foot,
        north=planned.north,
    )  # fmt: skip
    return page, scale, box, words


def _alone(
    dossier: Dossier,
    planned: _Planned,
    scale: float,
    words: Words,
    mapped: Mapping[str, Layer],
    day: str,
    named: dict[bytes, Sequence[PlacedName]],
) -> str:
    """One drawing as a document without paper, at the scale it has on its sheet; title and mark above it."""
    scene = dossier.scene
    draft = Draft(Locale.of(scene), mapped, named=named)
    view = View(draft, planned.title, scale, suffix=planned.suffix)
    _draw(draft, view, planned)
    title = f"{words.number} {words.title}"
    told = cad.Note(
        title, words.mark, words.hold, draft.locale.say("sheet.cautions"), sheet_cautions(dossier)
    )
    cad.noted(view, told)
    return cad.dxf_text(draft, f"{scene.name}: {planned.title}", day, scales=[scale], alone=True)


def coordination_dxf(
    dossier: Dossier, *, paper: str = "A4", date: str | None = None, own_layers: str | None = None
) -> str:
    """The ceiling plan alone for whoever coordinates it with others, as DXF without paper.

    Letters are as large as on the sheet on that paper. Where the room came from a model it lies where it lies there,
    in that model's axes; else on its own origin. Other arguments, errors and bytes as `sheets`.
    """
    scene = dossier.scene
    others: tuple[Kind, ...] = ("plan", "section", "heights")
    [sheet] = sheets(dossier, paper=paper, date=date, own_layers=own_layers, without=others).sheets
    return (
        sheet.dxf
        if scene.origin is None
        else cad.moved(sheet.dxf, scene.origin, imperial=Locale.of(scene).imperial)
    )


def _draw(draft: Draft, view: View, planned: _Planned) -> None:
    """The view drawn, and remembered where in the model its entities lie."""
    space = draft.doc.modelspace()
    before = len(space)
    planned.draw(view)
    assert view.extent is not None
    x0, y0, x1, y1 = view.extent
    low, high = view.units((view.to_m(x0), view.to_m(y0))), view.units((view.to_m(x1), view.to_m(y1)))
    draft.spans.append((before, len(space), (*low, *high)))


def marks(review: Review) -> Stamp:
    """What each sheet carries of the verdict in its title block, and what holds its drawing in the corner."""
    held = cautions.hold(review)
    return cautions.mark(review), Locale.of(review.scene).say("hold, drawing") if held else None


def with_mark(about: str, review: Review) -> str:
    """What a sheet shows, for who does not see it, with what holds the room in front."""
    return f"{cautions.mark(review)}. {about}"


def sheet_cautions(dossier: Dossier) -> tuple[str, ...]:
    """What every sheet carries of the cautions: their topics in a line, and who decides."""
    unset = lettering.unset(dossier.scene)
    return (
        cautions.topics(dossier.scene),
        cautions.advice(Locale.of(dossier.scene)),
        *((unset,) if unset else ()),
    )


# ---- which sheets there are ------------------------------------------------------------------------------


def _planned(dossier: Dossier, width_mm: float, *, bare: bool = False) -> list[_Planned]:
    """The sheets of a room whose drawings may be `width_mm` wide."""
    cuts = () if dossier.first else section.cuts(dossier.scene)
    (x0, y0), (x1, _) = dossier.scene.room.bounds_m
    # sections and diagrams lie beside the plan in the model, well clear of it and one above the other
    aside, step = x1 + max(6.0, x1 - x0), section.top_m(dossier.scene) + 5.0
    return [
        *_plans(dossier, cuts, bare=bare),
        *(_section_planned(dossier, cut, (aside, y0 + n * step)) for n, cut in enumerate(cuts)),
        *_diagrams(dossier, width_mm, (aside, y0 + len(cuts) * step), step),
    ]


APART_M: Final = 10.0
"""So far the ceiling plan lies above the floor plan in one document: one is never printed on the other."""


def above_m(scene: Scene) -> float:
    """Where the ceiling plan's zero lies in a document that has the floor plan too, metres up the page."""
    (_, y0), (_, y1) = scene.room.bounds_m
    return y1 - y0 + APART_M


def _general(locale: Locale) -> tuple[str, ...]:
    """The notes of every sheet."""
    return (locale.say("sheet.note.imperial" if locale.imperial else "sheet.note.metric"),)


def _plans(dossier: Dossier, cuts: Sequence[section.Cut], *, bare: bool) -> list[_Planned]:
    """Floor plan and reflected ceiling plan."""
    scene, review = dossier.scene, dossier.review
    (x0, y0), (x1, y1) = scene.room.bounds_m
    room = (x1 - x0 + 2 * plan_chains.WALL_M, y1 - y0 + 2 * plan_chains.WALL_M)
    # the two plans come before the sections
    marks = [(cut.letter, f"{n}", cut.start_m, cut.end_m, cut.looks) for n, cut in enumerate(cuts, 3)]
    regions = [polygon for region in dossier.regions.values() for polygon in region.polygons]
    locale, name = Locale.of(scene), plain(scene.name)
    notes = (*_general(locale), locale.say("sheet.note.wall names"), locale.say("sheet.note.walls"))
    unchecked = clearances.unchecked(review) if regions else ""
    beside = (locale.say("sheet.note.region unchecked", things=unchecked),) if unchecked else ()
    arrays = ", ".join(array.id for array in scene.arrays)
    about = "sheet.plan.about, first look" if dossier.first else "sheet.plan.about"
    about_above = "sheet.ceiling.about, first look" if dossier.first else "sheet.ceiling.about"
    margins = plan_chains.margins_mm(plan_chains.plan_rows(scene))
    return [
        _Planned(
            "plan", "floor-plan", locale.say("sheet.plan"),
            locale.say(about, room=name, talkers=len(scene.heads), arrays=arrays),
            room, (8.0, 8.0, 8.0, 8.0) if bare else margins, (0.0, 0.0), "",
            lambda view: plan.floor_plan(view, review, marks, bare=bare), _ABOVE,
            lambda draft: legends.plan_legend(draft, dossier),
            (*notes, locale.say("sheet.note.chairs")), north=True,
        ),
        _Planned(
            "ceiling", "ceiling-plan", locale.say("view.ceiling"),
            locale.say(about_above, room=name, devices=len(scene.overhead), arrays=arrays),
            room, margins, (0.0, above_m(scene)), " above",
            lambda view: ceiling_plan.ceiling_plan(view, review, dossier.keep_outs, regions, marks), _BELOW,
            lambda draft: legends.ceiling_legend(draft, dossier),
            (*beside, *_general(locale), locale.say("sheet.note.not mirrored")), north=True,
            strip=None if dossier.first else partial(strip.of_the_ceiling, review),
        ),
    ]  # fmt: skip


def _section_planned(dossier: Dossier, cut: section.Cut, at_m: tuple[float, float]) -> _Planned:
    """A section whose left end lies there in the model."""
    scene, locale = dossier.scene, Locale.of(dossier.scene)
    along = sorted((cut.along(cut.start_m), cut.along(cut.end_m)))
    return _Planned(
        "section", f"section-{cut.letter.lower()}", cut.title,
        locale.say("sheet.section.about", title=cut.title, room=plain(scene.name)),
        (along[1] - along[0] + 2 * plan_chains.WALL_M, section.top_m(scene) + section.SLAB_M),
        section.margins_mm(scene), (at_m[0] - along[0], at_m[1]), "",
        _section_drawer(dossier.review, cut), (), lambda draft: legends.section_legend(draft, dossier),
        (*_general(locale), locale.say("sheet.note.walls"), locale.say("sheet.note.projected")),
    )  # fmt: skip


def _diagrams(dossier: Dossier, width_mm: float, at_m: tuple[float, float], step_m: float) -> list[_Planned]:
    """Heights and bands of each array, as many bands a sheet as it has room for; one above the other from there."""
    # heights are those that do in all layouts, so everybody is in them
    scene, locale = dossier.whole, Locale.of(dossier.scene)
    states = {head.id: head.standing for head in dossier.whole_review.heads}
    notes = (
        locale.say("sheet.note.diagram"), locale.say("sheet.note.true range"), locale.say("sheet.note.other bands")
    )  # fmt: skip
    per_sheet = max(1, int((width_mm - 9.0) // heights_view.COLUMN_MM))
    made: list[_Planned] = []
    for row in dossier.heights:
        for first in range(0, len(row.bands), per_sheet):
            more = f", {first // per_sheet + 1}" if len(row.bands) > per_sheet else ""
            made.append(
                _heights_planned(
                    scene, states, row, row.bands[first : first + per_sheet], more,
                    (at_m[0], at_m[1] + len(made) * step_m), notes, lambda draft: legends.heights_legend(draft, dossier),
                )
            )  # fmt: skip
    return made


def _heights_planned(
    scene: Scene,
    states: Mapping[str, Standing],
    row: ArrayHeights,
    bands: Sequence[BandHeights],
    more: str,
    origin_m: tuple[float, float],
    notes: tuple[str, ...],
    legend: Callable[[Draft], Sequence[Legend]],
) -> _Planned:
    locale = Locale.of(scene)
    return _Planned(
        "heights", f"heights-{row.id}{more}", locale.say("sheet.heights", array=row.id, more=more),
        locale.say("sheet.heights.about", array=row.id),
        (len(bands) * heights_view.reach_m(scene, row), heights_view.tall_m(scene)),
        _with_columns(heights_view.MARGINS_MM, len(bands)), origin_m, "",
        lambda view: heights_view.heights_diagram(view, scene, states, row, bands), (), legend, notes,
        below_mm=lambda denominator: heights_view.notes_mm(scene, row, bands, denominator),
    )  # fmt: skip


def heights_figure(
    scene: Scene,
    states: Mapping[str, Standing],
    row: ArrayHeights,
    *,
    room_mm: tuple[float, float],
    titled: bool = False,
    held: str | None = None,
) -> Figure:
    """One array's heights and bands, all side by side, at the largest scale that fits into `room_mm`.

    Works for an array that has a place on plan only: `states` is empty then. `titled` puts the array's id and what
    the bars mean above, and over them `held`, what the room is judged and why it is held or what is open: room for it
    comes on top of `room_mm`. Raises DoesNotFit.
    """
    planned = _heights_planned(scene, states, row, row.bands, "", (0.0, 0.0), (), lambda draft: ())
    if titled:
        left, below, right, above = planned.margins_mm
        lines = heights_view.mark_lines(held, len(row.bands)) if held else []
        over_mm = heights_view.tall_mark_mm(lines)

        def draw(view: View) -> None:
            planned.draw(view)
            wide = sum(heights_view.column_mm(scene, row, view.denominator) for _ in row.bands)
            heights_view.title(view, scene, row, wide)
            heights_view.mark(view, scene, lines)

        margins = (left, below, right, above + heights_view.TITLE_MM + over_mm)
        figure = _figure(
            scene, replace(planned, draw=draw, margins_mm=margins), (room_mm[0], room_mm[1] + over_mm)
        )
        return replace(figure, about=f"{held} {figure.about}") if held else figure
    return _figure(scene, planned, room_mm)


def _with_columns(
    margins: tuple[float, float, float, float], columns: int
) -> tuple[float, float, float, float]:
    return margins[0], margins[1], margins[2] + 18.0 * columns, margins[3]


def _section_drawer(review: Any, cut: section.Cut) -> Callable[[View], None]:
    return lambda view: section.section(view, review, cut)


_ABOVE: Final = (
    "table above", "opening above", "sector above", "grid", "region", "region hatch", "keep-out", "keep-out hatch",
    "clearance", "tile", "obstacle above",
    "dimension above", "note above",
    "leader above", "symbol above", "sprinkler", "light", "supply diffuser", "return grille", "smoke detector",
    "loudspeaker", "projector", "beam", "bulkhead", "exit sign", "emergency light", "strobe", "sensor",
    "access point", "access panel", "screen", "track", "fan", "duct", "pipe", "cable tray", "other", "clash",
    "change above", "removed above",
)  # fmt: skip
"""Roles not seen on the floor plan."""
_BELOW: Final = (
    "door", "glazing", "table", "seat", "obstacle", "covered", "marginal", "blocked", "missed", "band", "band hatch",
    "band standing", "reach", "sector", "grid floor", "area", "margin line", "margin hatch", "margin missed",
    "margin marginal", "margin 0", "margin 1", "margin 2", "margin 3", "margin 4",
    "dimension", "note", "leader", "symbol", "camera", "display",
    "change", "removed",
)  # fmt: skip
"""Roles not seen on the ceiling plan."""
