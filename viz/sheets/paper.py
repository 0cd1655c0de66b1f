"""The paper round a view: frame, title block, legend, scale bar, revisions, notes and cautions, viewport."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from geometry.records import record
from scenes.room.scene import Scene
from viz.sheets import lettering, symbols
from viz.sheets.draft import TEXT_MM, Box, Draft, View, add_text
from viz.sheets.hatching import set_pattern
from viz.sheets.lettering import plain, shorten, width, wrap
from viz.words.locale import DASH, Locale, ratio

PAPERS: Final[dict[str, tuple[float, float]]] = {
    "A4": (297.0, 210.0),
    "A3": (420.0, 297.0),
    "Letter": (279.4, 215.9),
    "Tabloid": (431.8, 279.4),
}
METRIC_SCALES: Final[dict[float, str]] = {d: ratio(d) for d in (20.0, 25.0, 50.0, 100.0, 200.0)}
IMPERIAL_SCALES: Final[dict[float, str]] = {
    16.0: '3/4" = 1\'-0"',
    24.0: '1/2" = 1\'-0"',
    32.0: '3/8" = 1\'-0"',
    48.0: '1/4" = 1\'-0"',
    64.0: '3/16" = 1\'-0"',
    96.0: '1/8" = 1\'-0"',
    192.0: '1/16" = 1\'-0"',
}
FIGURE_SCALES: Final = (20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0)
MARGIN_MM: Final = 10.0
PAD_MM: Final = 4.0
STEP_MM: Final = 4.3
"""From one line of the strip to the next."""
SMALL_MM: Final = TEXT_MM


def usual_paper(scene: Scene) -> str:
    """The paper that sheets of a room come on where none is asked for: A3, or Tabloid in feet and inches."""
    return "Tabloid" if Locale.of(scene).imperial else "A3"


class DoesNotFit(ValueError):
    """A room that is too large for the paper asked for."""

    exit_status = 2


def way_out(paper: str, locale: Locale) -> str:
    """What to do where something does not fit on a paper, or into the room of a figure."""
    if paper not in PAPERS:
        return locale.say("sheet.way out.figure")
    wide, tall = PAPERS[paper]
    larger = [name for name, (across, down) in PAPERS.items() if across * down > wide * tall]
    if larger:
        return locale.say("sheet.way out.larger", papers=", ".join(larger))
    return locale.say("sheet.way out.none")


@record(frozen=True, slots=True)
class Legend:
    """One line of a legend: how its mark is drawn (at x, y on paper), and what it means."""

    draw: Callable[[Paper, float, float], None]
    text: str


@record(frozen=True, slots=True)
class Foot:
    """What stands below the drawing: a title, and paragraphs that flow into one."""

    title: str
    paragraphs: tuple[str, ...]


@record(frozen=True, slots=True)
class Words:
    """What a title block says of a document.

    `mark` is what it carries of the verdict, why the room is held or what is open; None where it passes. `hold` is
    what stands in the drawing's corner of a room that is held.
    """

    number: str
    title: str
    sheet: int
    sheets: int
    purpose: str
    mark: str | None = None
    hold: str | None = None


@dataclass
class Paper:
    """One layout in paper millimetres, lower left at 0,0."""

    draft: Draft
    layout: Any
    name: str
    width_mm: float
    height_mm: float
    more: Callable[[Paper, float, float, float, float], None] | None = None
    """What is drawn in the strip below all else: on which paper, between which edges, from where down to where."""

    @property
    def strip_mm(self) -> float:
        """Width of the strip on the right."""
        return strip_mm(self.width_mm)

    @property
    def frame(self) -> Box:
        return MARGIN_MM, MARGIN_MM, self.width_mm - MARGIN_MM, self.height_mm - MARGIN_MM

    def layer(self, role: str) -> str:
        return self.draft.layers[role].name

    def line(self, role: str, x0: float, y0: float, x1: float, y1: float) -> None:
        self.layout.add_line((x0, y0), (x1, y1), dxfattribs={"layer": self.layer(role)})

    def box(self, role: str, box: Box) -> None:
        x0, y0, x1, y1 = box
        self.layout.add_lwpolyline(
            [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": self.layer(role)}
        )

    def fill(self, role: str, points: Sequence[tuple[float, float]]) -> None:
        hatch = self.layout.add_hatch(color=256, dxfattribs={"layer": self.layer(role)})
        hatch.paths.add_polyline_path(list(points), is_closed=True)

    def hatch(self, role: str, box: Box, spacing_mm: float, angle_deg: float) -> None:
        x0, y0, x1, y1 = box
        hatch = self.layout.add_hatch(color=256, dxfattribs={"layer": self.layer(role)})
        set_pattern(hatch, spacing_mm, angle_deg)
        hatch.paths.add_polyline_path([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], is_closed=True)

    def insert(
        self, block: str, role: str, x: float, y: float, *, turn_deg: float = 0.0, scale: float = 1.0
    ) -> None:
        self.layout.add_blockref(
            block,
            (x, y),
            dxfattribs={"layer": self.layer(role), "rotation": turn_deg, "xscale": scale, "yscale": scale},
        )

    def text(
        self, text: str, x: float, y: float, *, height: float = SMALL_MM, weight: lettering.Weight = "regular",
        align: str = "left", role: str = "title",
    ) -> None:  # fmt: skip
        if text:
            add_text(self.layout, self.layer(role), text, (x, y), height, weight=weight, align=align)


def strip_mm(width_mm: float) -> float:
    """Width of the strip on the right of a paper of that width."""
    return 66.0 if width_mm < 350 else 74.0


def new_paper(draft: Draft, name: str, paper: str) -> Paper:
    """An empty layout of that paper size, landscape."""
    wide, tall = PAPERS[paper]
    # DXF forbids some letters in layout names
    safe = "".join(c if c not in '<>/\\":;?*|=`,' else "-" for c in plain(name))[:200] or "Sheet"
    taken = {layout.name.upper() for layout in draft.doc.layouts}
    while safe.upper() in taken:
        safe += "'"
    layout = draft.doc.layouts.new(safe)
    layout.page_setup(size=(wide, tall), margins=(0, 0, 0, 0), units="mm")
    return Paper(draft, layout, paper, wide, tall)


def view_area(paper: Paper, foot: Foot, *, held: bool = False) -> Box:
    """Where on the paper a view may lie; of a room that is held below the word that holds it."""
    x0, y0, x1, y1 = paper.frame
    return (
        x0 + PAD_MM,
        y0 + foot_height(paper, foot) + PAD_MM,
        x1 - paper.strip_mm - PAD_MM,
        y1 - PAD_MM - (HOLD_MM + 4.0 if held else 0.0),
    )


def foot_lines(paper: Paper, foot: Foot) -> list[str]:
    """The foot's text in lines over the width of the drawing."""
    room = paper.width_mm - 2 * MARGIN_MM - paper.strip_mm - 2 * PAD_MM
    return wrap(plain("  ".join(foot.paragraphs)), SMALL_MM, room)


def foot_height(paper: Paper, foot: Foot) -> float:
    """What the foot takes of the paper's height."""
    lines = foot_lines(paper, foot)
    return (len(lines) + 1) * STEP_MM + 5.0 if lines else 0.0


def scales(draft: Draft, *, fine: bool = False) -> dict[float, str]:
    """Denominators from the largest drawing to the smallest, with how each is written.

    `fine`: for figures in a text, which fill their room; sheets keep to the scales of the trade.
    """
    if fine:
        return {d: ratio(d) for d in FIGURE_SCALES}
    return IMPERIAL_SCALES if draft.imperial else METRIC_SCALES


def fitting_scale(
    draft: Draft,
    area: Box,
    size_m: tuple[float, float],
    margins_mm: tuple[float, float, float, float],
    paper: str,
    *,
    fine: bool = False,
    below_mm: Callable[[float], float] = lambda denominator: 0.0,
) -> float:
    """The largest scale at which a thing of that size, with margins on paper, fits into the area.

    `below_mm`: what it needs below besides at a scale. Raises DoesNotFit.
    """
    left, below, right, above = margins_mm
    for denominator in scales(draft, fine=fine):
        wide = size_m[0] * 1000 / denominator + left + right
        tall = size_m[1] * 1000 / denominator + below + above + below_mm(denominator)
        if wide <= area[2] - area[0] and tall <= area[3] - area[1]:
            return denominator
    raise too_large(draft, size_m, paper)


def too_large(draft: Draft, size_m: tuple[float, float], paper: str) -> DoesNotFit:
    """That a room of that size fits on a paper at no scale, and what to do."""
    locale = draft.locale
    scale = list(scales(draft).values())[-1]
    papers = locale.listed(list(PAPERS))
    return DoesNotFit(
        locale.say("sheet.too large", size=locale.size(*size_m), paper=paper, scale=scale, papers=papers)
    )


LOCKED: Final = 0x4000
"""Flag of a viewport that keeps its scale when somebody turns the wheel in it."""


def place_view(paper: Paper, view: View, area: Box, shown: Sequence[str], *, margin_mm: float = 1.0) -> Box:
    """The view's viewport in the middle of the area, with only the layers of these roles to be seen; its box."""
    assert view.extent is not None
    x0, y0, x1, y1 = view.extent
    wide, tall = x1 - x0 + 2 * margin_mm, y1 - y0 + 2 * margin_mm
    middle_mm = (x0 + x1) / 2, (y0 + y1) / 2
    # a little above the middle looks like the middle
    slack = (area[3] - area[1]) - tall
    centre = ((area[0] + area[2]) / 2, (area[1] + area[3]) / 2 + max(0.0, min(slack * 0.06, 4.0)))
    window = paper.layout.add_viewport(
        center=centre,
        size=(wide, tall),
        view_center_point=view.units((view.to_m(middle_mm[0]), view.to_m(middle_mm[1]))),
        view_height=view.paper(tall),
        status=2,
        dxfattribs={"layer": paper.layer("window")},
    )
    window.dxf.flags |= LOCKED
    seen = {paper.layer(role) for role in shown}
    window.frozen_layers = [
        name for name in sorted({layer.name for layer in paper.draft.layers.values()}) if name not in seen
    ]
    return centre[0] - wide / 2, centre[1] - tall / 2, centre[0] + wide / 2, centre[1] + tall / 2


def dress(
    paper: Paper,
    scene: Scene,
    words: Words,
    *,
    scale: float | None,
    legend: Sequence[Legend],
    notes: Sequence[str],
    foot: Foot,
    north: bool,
) -> None:
    """Frame, strip and foot of one sheet."""
    x0, y0, x1, y1 = paper.frame
    left = x1 - paper.strip_mm
    paper.box("frame", paper.frame)
    paper.line("frame", left, y0, left, y1)
    lines = foot_lines(paper, foot)
    if lines:
        top = y0 + foot_height(paper, foot)
        paper.line("frame thin", x0, top, left, top)
        y = top - STEP_MM - 0.6
        paper.text(foot.title, x0 + PAD_MM, y, weight="semibold")
        for line in lines:
            y -= STEP_MM
            paper.text(line, x0 + PAD_MM, y)
    bottom = _title_block(paper, scene, words, scale, left + PAD_MM, x1 - PAD_MM)
    bottom = _status(paper, words, left, x1, bottom)
    if words.hold:
        _held(paper, words.hold)
    room = x1 - left - 2 * PAD_MM
    # as close as it has to be for every note to have its place below
    lines_mm = sum(len(wrap(plain(note), SMALL_MM, room)) * STEP_MM + 1.2 for note in notes)
    below = max(34.0 if paper.more is None else LONG_STRIP_MM, lines_mm + (24.0 if north else 18.0))
    y = _legend(paper, legend, left, x1, y1 - PAD_MM, bottom, below)
    north_deg = scene.room.north_deg if north else None
    if scale is not None:
        y = _scale_bar(paper, scene, scale, left + PAD_MM, y - 2.0, room - (0 if north_deg is None else 13))
        if north_deg is not None:
            _north(paper, (x1 - PAD_MM - 7.5, y - 1.5), north_deg)
            y -= 6.0
    y -= 2.0
    for note in notes:
        told = wrap(plain(note), SMALL_MM, room)
        if y - len(told) * STEP_MM < bottom + 1.5:
            break  # what the strip has no room for the report still says
        for line in told:
            y -= STEP_MM
            paper.text(line, left + PAD_MM, y)
        y -= 1.2
    if paper.more is not None:
        paper.more(paper, left, x1, y - 1.0, bottom + 1.5)


def _north(paper: Paper, at: tuple[float, float], north_deg: float) -> None:
    """The arrow that points north, with its letter."""
    paper.insert(symbols.north_block(paper.draft), "symbol", *at, turn_deg=north_deg - 90)
    turn = math.radians(north_deg)
    x, y = at[0] + 6.6 * math.cos(turn), at[1] + 6.6 * math.sin(turn) - 1.2
    paper.text(paper.draft.locale.say("sheet.north"), x, y, align="centre", weight="semibold")


def _status(paper: Paper, words: Words, left: float, right: float, y: float) -> float:
    """What a sheet carries of the verdict, in a field above the title block; where the field begins."""
    if not words.mark:
        return y
    lines = wrap(plain(words.mark), SMALL_MM, right - left - 2 * PAD_MM, "semibold")
    top = y + len(lines) * STEP_MM + 3.0
    role = "status" if words.hold else "title"
    if words.hold:
        paper.box("status", (left + 0.8, y + 0.8, right - 0.8, top - 0.8))
    at = top - 1.5
    for line in lines:
        at -= STEP_MM
        paper.text(line, left + PAD_MM, at + 1.2, weight="semibold", role=role)
    paper.line("frame", left, top, right, top)
    return top


HOLD_MM: Final = 5.0
"""Height of the letters that hold a drawing."""


def _held(paper: Paper, text: str) -> None:
    """The hold in the upper left corner of the drawing, in a box of its own."""
    x, y = paper.frame[0] + PAD_MM, paper.frame[3] - PAD_MM
    wide = width(text, HOLD_MM, "semibold")
    paper.box("status", (x, y - HOLD_MM - 3.0, x + wide + 4.0, y))
    paper.text(text, x + 2.0, y - HOLD_MM - 1.5, height=HOLD_MM, weight="semibold", role="status")


LONG_STRIP_MM: Final = 140.0
"""Kept below a legend that tables stand under, where there is so much."""
CLOSE_MM: Final = 3.9
"""From mark to mark in a legend that makes room for notes: nearer they touch."""


def _legend(
    paper: Paper, legend: Sequence[Legend], left: float, right: float, y: float, bottom: float, below: float
) -> float:
    """The legend in one column, where there is room with `below` millimetres left under it; where it ends."""
    if not legend:
        return y
    locale = paper.draft.locale
    y -= TEXT_MM + 0.5
    paper.text(locale.say("sheet.legend"), left + PAD_MM, y, weight="semibold")
    # as airy as the strip allows; below the legend come scale bar and notes
    most = min(5.2, (y - bottom - 30.0) / len(legend))
    step = min(most, max(CLOSE_MM, (y - bottom - below) / len(legend)))
    if step < TEXT_MM * 1.3:
        way = way_out(paper.name, locale)
        raise DoesNotFit(locale.say("sheet.long legend", lines=len(legend), paper=paper.name, way_out=way))
    first = left + PAD_MM + 11.0
    for entry in legend:
        y -= step
        entry.draw(paper, left + PAD_MM + 4.5, y + 1.0)
        told = shorten(plain(entry.text), SMALL_MM, right - PAD_MM - first)
        paper.text(told, first, y)
    y -= 3.0
    paper.line("frame thin", left, y, right, y)
    return y


def _scale_bar(paper: Paper, scene: Scene, denominator: float, x: float, y: float, room: float) -> float:
    """A bar of whole metres or feet in alternating fields, as long as it may be; where it ends."""
    locale = paper.draft.locale
    unit_mm = locale.unit_m * 1000 / denominator
    step = next((s for s in (1, 2, 5, 10, 20) if unit_mm * s >= 8), 20)
    if unit_mm * step * 2 > room - 6:
        step = max(step // 2, 1)
    count = min(5, max(1, int((room - 8) / (unit_mm * step))))
    y -= TEXT_MM + 0.5
    paper.text("0", x, y, align="left")
    for i in range(count):
        a, b = x + i * step * unit_mm, x + (i + 1) * step * unit_mm
        box = (a, y - 3.6, b, y - 1.8)
        if i % 2 == 0:
            paper.fill("frame", [(a, box[1]), (b, box[1]), (b, box[3]), (a, box[3])])
        paper.box("frame thin", box)
        label = f"{(i + 1) * step}"
        paper.text(label, b, y, align="centre")
    paper.text(f" {locale.unit}", x + count * step * unit_mm + width(f"{count * step}", TEXT_MM) / 2, y)
    return y - 6.0


def _scale_text(paper: Paper, scale: float | None) -> str:
    locale = paper.draft.locale
    if scale is None:
        return locale.say("sheet.no scale")
    return locale.say("sheet.scale at", scale=scales(paper.draft)[scale], paper=paper.name)


@dataclass
class _Block:
    """A title block in the making, from the bottom of the strip upwards: what is written, and how far up it is.

    Rules are drawn at once; letters are kept back, to be written from the top down: the order in which they are
    read out.
    """

    paper: Paper
    left: float
    right: float
    y: float
    written: list[Callable[[], None]] = field(default_factory=list)

    @property
    def room(self) -> float:
        return self.right - self.left

    def put(self, text: str, x: float, **how: Any) -> None:
        """Letters at this height."""
        y = self.y
        self.written.append(lambda: self.paper.text(text, x, y, **how))

    def pair(self, label: str, value: str, x: float, wide: float) -> None:
        """A label and its value, shortened to that width."""
        indent = width(label, SMALL_MM) + 1.6
        self.put(shorten(plain(value), SMALL_MM, wide - indent), x + indent)
        self.put(label, x, role="title label")

    def lines(self, lines: Sequence[str], step: float = STEP_MM, **how: Any) -> None:
        """Lines one over the other, the last one lowest."""
        for line in reversed(lines):
            self.put(line, self.left, **how)
            self.y += step

    def rule(self, above: float, role: str = "frame thin") -> None:
        """A line across the strip so far above the last letters, and the next letters over it."""
        self.y += above
        self.paper.line(role, self.left - PAD_MM, self.y, self.right + PAD_MM, self.y)
        self.y += 1.6

    def write(self) -> None:
        for write in reversed(self.written):
            write()


def _title_block(
    paper: Paper, scene: Scene, words: Words, scale: float | None, left: float, right: float
) -> float:
    """The title block from the bottom of the strip upwards; where it begins."""
    block = _Block(paper, left, right, paper.frame[1] + 3.2)
    _numbered(block, words)
    block.rule(6.8)
    _issued(block, scene, scale)
    block.rule(0.4)
    _titled(block, scene, words)
    block.rule(0.2)
    block.lines(wrap(words.purpose, SMALL_MM, block.room, "semibold")[:2], weight="semibold")
    block.rule(0.2)
    _revisions(block, scene)
    top = block.y + 0.2
    paper.line("frame", left - PAD_MM, top, right + PAD_MM, top)
    block.write()
    return top


def _numbered(block: _Block, words: Words) -> None:
    """The sheet's number, and which of how many it is."""
    block.put(
        block.paper.draft.locale.say("of", part=words.sheet, whole=words.sheets), block.right, align="right"
    )
    tall = max(2.5, min(4.2, 4.2 * block.room * 0.7 / width(words.number, 4.2, "semibold")))
    number = shorten(words.number, tall, block.room * 0.74, "semibold")
    block.put(number, block.left, height=tall, weight="semibold")


def _issued(block: _Block, scene: Scene, scale: float | None) -> None:
    """Scale, date, revision and who drew and checked."""
    document, say, half = scene.document, block.paper.draft.locale.say, block.room / 2
    block.pair(say("sheet.scale"), _scale_text(block.paper, scale), block.left, block.room)
    block.y += STEP_MM
    block.pair(say("sheet.revision"), document.revision or DASH, block.left + half + 8, half - 8)
    block.pair(say("sheet.date"), document.date or DASH, block.left, half + 6)
    block.y += STEP_MM
    for label, who in (("sheet.checked", document.checked_by), ("sheet.drawn", document.drawn_by)):
        if who:
            block.pair(say(label), who, block.left, block.room)
            block.y += STEP_MM


def _titled(block: _Block, scene: Scene, words: Words) -> None:
    """For whom, which project, which room, and what the sheet is."""
    block.lines(wrap(plain(words.title), 3.5, block.room, "semibold")[:3], 5.0, height=3.5, weight="semibold")
    block.y += 0.9
    block.lines(wrap(plain(scene.name), SMALL_MM, block.room)[:2])
    about = [one for one in (scene.document.client, scene.project) if one]
    block.lines([shorten(plain(one), SMALL_MM, block.room) for one in about])


def _revisions(block: _Block, scene: Scene) -> None:
    """The last revisions in a table."""
    document, say = scene.document, block.paper.draft.locale.say
    this = (document.revision or DASH, document.date or DASH, say("sheet.this issue"))
    columns = ((30.0, block.room - 30), (9.0, 19.0), (0.0, 8.0))
    for row in reversed((document.revisions or (this,))[-3:]):
        for (indent, wide), text in zip(columns, reversed(row), strict=True):
            block.put(shorten(plain(text), SMALL_MM, wide), block.left + indent)
        block.y += STEP_MM
    for (indent, _), label in zip(columns, ("sheet.change", "sheet.date", "sheet.revision"), strict=True):
        block.put(say(label), block.left + indent, role="title label")
    block.y += STEP_MM
