"""A DXF document in the making, and views of the model at one scale with letters that stay readable.

The model is at 1:1 in millimetres, or in inches where the spec is in feet or inches, on the room's own
origin. A View draws in it: it takes metres, and paper millimetres for all that must have one size on
paper (letters, ticks, symbols). What it letters is remembered as a box: the next label finds a free place.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

import numpy as np

from geometry.records import record
from viz.sheets import lettering
from viz.sheets.crossing import arc_points, crossings
from viz.sheets.hatching import set_pattern
from viz.sheets.layers import Layer
from viz.words.locale import Locale

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Lowest x, lowest y, highest x, highest y, in millimetres on paper."""

TEXT_MM: Final = 2.5
"""Height of capitals on paper."""
STYLES: Final[dict[lettering.Weight, str]] = {"regular": "NOTE", "semibold": "TITLE"}
APP: Final = "OVERTABLE"
"""Application name of our extended data: what a dimension measures, in words."""


@record(frozen=True, slots=True)
class DrawnDimension:
    """One DIMENSION entity: the sheet it is on, what it measures, how long that is, the letters on it."""

    sheet: str
    name: str
    value_m: float
    text: str


class DimensionLetters(NamedTuple):
    """The letters of a dimension, the middle of them on paper, and how they are turned."""

    text: str
    centre_mm: Point
    turn_deg: float


class PlacedName(NamedTuple):
    """Where a name stands, by its number: which of its texts, the letters' box, and its leader's ends, on paper."""

    number: int
    text: int
    box: Box
    leader: Box | None


@dataclass
class Draft:
    """The document and what has been drawn into it so far, lettered in the room's locale."""

    locale: Locale
    layers: Mapping[str, Layer]
    doc: Any = None
    dimensions: list[DrawnDimension] = field(default_factory=list)
    spans: list[tuple[int, int, Box]] = field(default_factory=list)
    named: dict[bytes, Sequence[PlacedName]] = field(default_factory=dict)
    """Where names were placed before, by all that decides it: drafts of the same sheets share it."""
    figured: bool = False
    """Whether figures of clearances were drawn at devices: what a legend tells then."""

    def __post_init__(self) -> None:
        self.doc = lettering.ezdxf_module().new("R2018", setup=False)
        doc, imperial = self.doc, self.imperial
        doc.header["$INSUNITS"] = 1 if imperial else 4
        doc.header["$MEASUREMENT"] = 0 if imperial else 1
        doc.header["$LUNITS"] = 4 if imperial else 2
        doc.header["$AUNITS"] = 0
        doc.header["$LWDISPLAY"] = 1
        doc.appids.add(APP)
        doc.styles.get("Standard").dxf.font = lettering.FILES["regular"]
        for weight, style in STYLES.items():
            doc.styles.add(style, font=lettering.FILES[weight])
        doc.linetypes.add("DASHED", [3.0, 2.0, -1.0], description="Dashed __ __ __")
        doc.linetypes.add("DASHDOT", [6.4, 4.0, -1.0, 0.4, -1.0], description="Dash dot __ . __")
        for layer in {layer.name: layer for layer in self.layers.values()}.values():
            entry = doc.layers.add(layer.name, true_color=int(layer.colour[1:], 16), lineweight=layer.weight)
            entry.dxf.linetype = layer.line
            entry.description = layer.about
        doc.layers.get(self.layers["window"].name).dxf.plot = 0

    @property
    def imperial(self) -> bool:
        """Whether the spec is in feet or inches, and so the model in inches."""
        return self.locale.imperial

    @property
    def per_m(self) -> float:
        """Model units in a metre."""
        return 1 / 0.0254 if self.imperial else 1000.0

    def dimension_style(self, denominator: float) -> str:
        """The dimension style for one scale, made when first asked for."""
        name = f"OVERTABLE-{denominator:g}"
        if name not in self.doc.dimstyles:
            style = self.doc.dimstyles.add(name)
            style.dxf.dimscale = denominator * self.per_m / 1000
            style.dxf.dimtxsty = STYLES["regular"]
            style.dxf.dimtxt = TEXT_MM
            style.dxf.dimtsz = 0.9
            style.dxf.dimasz = 1.8
            style.dxf.dimexo = 1.2
            style.dxf.dimexe = 1.2
            style.dxf.dimgap = 0.9
            style.dxf.dimdle = 1.2
            style.dxf.dimtad = 1
            style.dxf.dimtih = 0
            style.dxf.dimtoh = 0
            style.dxf.dimtix = 1
            style.dxf.dimtmove = 2
            style.dxf.dimlunit = 4 if self.imperial else 2
            style.dxf.dimdec = 4 if self.imperial else 0
            style.dxf.dimfrac = 2 if self.imperial else 0
            style.dxf.dimzin = 3 if self.imperial else 8
            style.dxf.dimrnd = 0
            style.dxf.dimlwd = style.dxf.dimlwe = 13
        return name


@dataclass
class View:
    """One view of the model at one scale, for one sheet.

    `origin_m`: where the view's own zero lies in the model, metres. `suffix`: " above" for the ceiling
    plan, whose notes and dimensions are on layers of their own, since it lies over the floor plan.
    Boxes are in millimetres on paper from the view's zero, as are `leaders` and `things` (named shapes).
    `segments` are the lines that labels keep off where they can, `inked` are all lines.
    """

    draft: Draft
    sheet: str
    denominator: float
    origin_m: Point = (0.0, 0.0)
    suffix: str = ""
    boxes: list[Box] = field(default_factory=list)
    segments: list[tuple[float, float, float, float]] = field(default_factory=list)
    inked: list[tuple[float, float, float, float]] = field(default_factory=list)
    leaders: list[Box] = field(default_factory=list)
    things: dict[str, Any] = field(default_factory=dict)
    extent: Box | None = None

    @property
    def space(self) -> Any:
        return self.draft.doc.modelspace()

    # ---- metres, paper and model --------------------------------------------------------------

    def to_mm(self, at: Sequence[float]) -> Point:
        """A point in metres as millimetres on paper."""
        return at[0] * 1000 / self.denominator, at[1] * 1000 / self.denominator

    def to_m(self, mm: float) -> float:
        """A length on paper, millimetres, as metres in the room."""
        return mm * self.denominator / 1000

    def units(self, at: Sequence[float]) -> Point:
        """A point in metres as model units."""
        k = self.draft.per_m
        return (at[0] + self.origin_m[0]) * k, (at[1] + self.origin_m[1]) * k

    def paper(self, mm: float) -> float:
        """A length on paper, millimetres, in model units."""
        return self.to_m(mm) * self.draft.per_m

    def _on(self, role: str, **more: object) -> dict[str, object]:
        return {"layer": self.draft.layers[role].name, **more}

    def _grow(self, points: Iterable[Sequence[float]]) -> None:
        for x, y in (self.to_mm(point) for point in points):
            old = self.extent or (x, y, x, y)
            self.extent = (min(old[0], x), min(old[1], y), max(old[2], x), max(old[3], y))

    def _touch(self, points: Sequence[Sequence[float]], *, avoid: bool) -> None:
        self._grow(points)
        mm = [self.to_mm(point) for point in points]
        lines = [(*a, *b) for a, b in itertools.pairwise(mm)]
        self.inked.extend(lines)
        if avoid:
            self.segments.extend(lines)

    # ---- lines and fills ------------------------------------------------------------------------

    def line(self, role: str, start: Sequence[float], end: Sequence[float], *, avoid: bool = True) -> None:
        """A straight line. `avoid`: labels keep off it where they can."""
        self.space.add_line(self.units(start), self.units(end), dxfattribs=self._on(role))
        self._touch([start, end], avoid=avoid)

    def polyline(
        self,
        role: str,
        points: Iterable[Sequence[float]],
        *,
        closed: bool = False,
        avoid: bool = True,
        **more: object,
    ) -> None:
        """A polyline through points, metres."""
        listed = [(float(p[0]), float(p[1])) for p in points]
        self.space.add_lwpolyline(
            [self.units(point) for point in listed], close=closed, dxfattribs=self._on(role, **more)
        )
        self._touch([*listed, listed[0]] if closed else listed, avoid=avoid)

    def circle(self, role: str, at: Sequence[float], radius_m: float, *, avoid: bool = True) -> None:
        """A full circle."""
        self.space.add_circle(self.units(at), radius_m * self.draft.per_m, dxfattribs=self._on(role))
        self._touch(arc_points(at, radius_m, 0, 360), avoid=avoid)

    def arc(
        self,
        role: str,
        at: Sequence[float],
        radius_m: float,
        start_deg: float,
        end_deg: float,
        *,
        avoid: bool = True,
    ) -> None:
        """An arc, anticlockwise from start to end."""
        self.space.add_arc(
            self.units(at), radius_m * self.draft.per_m, start_deg, end_deg, dxfattribs=self._on(role)
        )
        self._touch(arc_points(at, radius_m, start_deg, end_deg), avoid=avoid)

    def cloud(self, role: str, ring: Sequence[Sequence[float]]) -> None:
        """A closed ring of arcs that bulge outwards; the ring runs anticlockwise."""
        self.space.add_lwpolyline(
            [(*self.units(point), 0.55) for point in ring],
            format="xyb",
            close=True,
            dxfattribs=self._on(role),
        )
        bulge = self.to_m(1.2)
        self._grow([(x + dx, y + dy) for x, y in ring for dx, dy in ((-bulge, -bulge), (bulge, bulge))])

    def fill(self, role: str, rings: Iterable[Sequence[Sequence[float]]]) -> None:
        """A solid fill of closed rings, metres; inner rings are holes."""
        self._hatch(role, rings, None, 0.0)

    def hatch(
        self,
        role: str,
        rings: Iterable[Sequence[Sequence[float]]],
        *,
        spacing_mm: float = 2.0,
        angle_deg: float = 45.0,
    ) -> None:
        """Parallel lines inside closed rings, `spacing_mm` apart on paper."""
        self._hatch(role, rings, spacing_mm, angle_deg)

    def _hatch(
        self,
        role: str,
        rings: Iterable[Sequence[Sequence[float]]],
        spacing_mm: float | None,
        angle_deg: float,
    ) -> None:
        hatch = self.space.add_hatch(color=256, dxfattribs=self._on(role))
        if spacing_mm is not None:
            set_pattern(hatch, self.paper(spacing_mm), angle_deg, imperial=self.draft.imperial)
        for number, ring in enumerate(rings):
            flags = 1 if number == 0 else 16
            hatch.paths.add_polyline_path([self.units(point) for point in ring], is_closed=True, flags=flags)
            self._grow(ring)

    def insert(
        self,
        block: str,
        role: str,
        at: Sequence[float],
        *,
        turn_deg: float = 0.0,
        scale: float = 1.0,
        tag: tuple[str, Sequence[float]] | None = None,
        attributes: Mapping[str, str] | None = None,
    ) -> None:
        """A block with its attributes. `tag`: its TAG and the lower left corner of the letters in metres.

        All attributes but TAG are invisible: data for whoever takes the file further.
        """
        reference = self.space.add_blockref(
            block,
            self.units(at),
            dxfattribs=self._on(role, rotation=turn_deg, xscale=scale, yscale=scale, zscale=scale),
        )
        layer = self.draft.layers["note" + self.suffix].name
        if tag is not None:
            reference.add_attrib(
                "TAG",
                escaped(lettering.settable(tag[0])),
                self.units(tag[1]),
                dxfattribs={"layer": layer, "height": self.paper(TEXT_MM), "style": STYLES["regular"]},
            )
        for key, value in (attributes or {}).items():
            attrib = reference.add_attrib(
                key,
                escaped(value),
                self.units(at),
                dxfattribs={"layer": layer, "height": self.paper(TEXT_MM), "style": STYLES["regular"]},
            )
            attrib.is_invisible = True
        self._grow([at])

    # ---- letters ------------------------------------------------------------------------------

    def box_of(
        self,
        text: str,
        at_mm: Point,
        *,
        height_mm: float = TEXT_MM,
        weight: lettering.Weight = "regular",
        turn_deg: float = 0.0,
        align: str = "left",
    ) -> Box:
        """The box on paper of one line of text whose baseline starts (or is centred, or ends) at `at_mm`."""
        length = lettering.width(text, height_mm, weight)
        start = {"left": 0.0, "centre": -length / 2, "right": -length}[align]
        c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        corners = [
            (at_mm[0] + u * c - v * s, at_mm[1] + u * s + v * c)
            for u in (start, start + length)
            for v in (-0.3 * height_mm, 1.1 * height_mm)
        ]
        xs, ys = zip(*corners, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    def text(
        self,
        role: str,
        text: str,
        at: Sequence[float],
        *,
        height_mm: float = TEXT_MM,
        weight: lettering.Weight = "regular",
        turn_deg: float = 0.0,
        align: str = "left",
    ) -> Box:
        """One line of text with its baseline at a point in metres; its box on paper."""
        box = self.box_of(
            text, self.to_mm(at), height_mm=height_mm, weight=weight, turn_deg=turn_deg, align=align
        )
        add_text(
            self.space,
            self.draft.layers[role].name,
            text,
            self.units(at),
            self.paper(height_mm),
            weight=weight,
            turn_deg=turn_deg,
            align=align,
        )
        self.keep(box)
        return box

    def keep(self, box: Box) -> None:
        """Nothing else may be lettered in this box."""
        self.boxes.append(box)
        self._grow([(self.to_m(box[0]), self.to_m(box[1])), (self.to_m(box[2]), self.to_m(box[3]))])

    def free(self, box: Box) -> bool:
        """Whether no letters, symbol or line is in this box."""
        if any(overlap(box, other) for other in self.boxes):
            return False
        return not self.segments or not crossings(np.array([box]), np.array(self.segments))[0]

    def taken(self, at: Sequence[float], radius_mm: float) -> bool:
        """Whether letters or a symbol are within that of a point in metres."""
        x, y = self.to_mm(at)
        box = (x - radius_mm, y - radius_mm, x + radius_mm, y + radius_mm)
        return any(overlap(box, other) for other in self.boxes)

    def clutter(self, box: Box) -> tuple[int, int]:
        """How many letters or symbols a box on paper overlaps, and how many drawn lines cross it."""
        over = sum(overlap(box, other) for other in self.boxes)
        return over, int(crossings(np.array([box]), np.array(self.segments))[0]) if self.segments else 0

    def symbol_box(self, at: Sequence[float], radius_mm: float) -> None:
        """Nothing may be lettered on a symbol here."""
        x, y = self.to_mm(at)
        self.keep((x - radius_mm, y - radius_mm, x + radius_mm, y + radius_mm))

    def free_place(
        self,
        lines: Sequence[str],
        anchor: Sequence[float],
        *,
        gap_mm: float = 2.0,
        within: Box | None = None,
        weight: lettering.Weight = "regular",
        prefer: Sequence[float] = (45, 135, -45, -135, 0, 180, 90, -90),
        crossing: float = 3.0,
    ) -> tuple[Box, float]:
        """The box of a label of some lines near its anchor (metres) that overlaps no other, and what it costs.

        It is tried in the directions preferred, then farther out. A place that crosses drawn lines costs a
        little (`crossing` a line), one far away more; one that overlaps letters is never taken. `within` (on
        paper) bounds it.
        """
        long = max(lettering.width(line, TEXT_MM, weight) for line in lines) + 1.0
        tall = len(lines) * LINE_MM
        ax, ay = self.to_mm(anchor)
        places: list[tuple[float, Box]] = []
        for ring, distance in enumerate(
            (gap_mm, gap_mm + 2.5, gap_mm + 5, gap_mm + 9, gap_mm + 14, gap_mm + 20, gap_mm + 28)
        ):
            for rank, direction in enumerate(prefer if ring == 0 else _AROUND):
                c, s = math.cos(math.radians(direction)), math.sin(math.radians(direction))
                # the middle of the box, so that its nearest edge is `distance` away in that direction
                x = ax + c * (distance + long / 2)
                y = ay + s * (distance + tall / 2)
                box = (x - long / 2, y - tall / 2, x + long / 2, y + tall / 2)
                places.append((ring * 2.5 + rank * 0.15, box))
        boxes = np.array([box for _, box in places])
        cost = np.array([cost for cost, _ in places])
        if self.boxes:
            taken = np.array(self.boxes)
            over = (
                (boxes[:, None, 0] < taken[:, 2])
                & (boxes[:, None, 2] > taken[:, 0])
                & (boxes[:, None, 1] < taken[:, 3])
                & (boxes[:, None, 3] > taken[:, 1])
            ).any(axis=1)
            cost = np.where(over, np.inf, cost)
        if within is not None:
            out = (boxes[:, :2] < within[:2]).any(axis=1) | (boxes[:, 2:] > within[2:]).any(axis=1)
            cost = np.where(out, np.inf, cost)
        if self.segments:
            cost = cost + crossing * crossings(boxes, np.array(self.segments))
        best = int(np.argmin(cost))
        return places[best][1], float(cost[best])

    def label(
        self,
        lines: Sequence[str],
        anchor: Sequence[float],
        *,
        gap_mm: float = 2.0,
        within: Box | None = None,
        weight: lettering.Weight = "regular",
        prefer: Sequence[float] = (45, 135, -45, -135, 0, 180, 90, -90),
        leader: bool = True,
    ) -> Box | None:
        """A label of some lines in a free place near its anchor, with a leader where it is not beside it.

        Returns its box, or None where there is no free place (then nothing is drawn: a schedule tells it).
        """
        box, cost = self.free_place(lines, anchor, gap_mm=gap_mm, within=within, weight=weight, prefer=prefer)
        if math.isinf(cost):
            return None
        self.keep(box)
        x, y = self.to_mm(anchor)
        left = box[0] > x or box[2] >= x
        for number, line in enumerate(lines):
            baseline = box[3] - number * LINE_MM - LINE_MM + 1.0
            at = (box[0] + 0.5 if left else box[2] - 0.5, baseline)
            self.add(line, at, weight=weight, align="left" if left else "right")
        near = (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3]))
        away = math.hypot(near[0] - x, near[1] - y)
        if leader and away > gap_mm + 1.8:
            start = (x + (near[0] - x) * gap_mm * 0.6 / away, y + (near[1] - y) * gap_mm * 0.6 / away)
            self.line(
                "leader" + self.suffix,
                (self.to_m(start[0]), self.to_m(start[1])),
                (self.to_m(near[0]), self.to_m(near[1])),
            )
        return box

    def add(
        self, text: str, at_mm: Point, *, weight: lettering.Weight = "regular", align: str = "left"
    ) -> None:
        """A line of a note at a point on paper, without asking whether the place is free; no line runs through it."""
        self._clear(self.box_of(text, at_mm, weight=weight, align=align))
        add_text(
            self.space,
            self.draft.layers["note" + self.suffix].name,
            text,
            self.units((self.to_m(at_mm[0]), self.to_m(at_mm[1]))),
            self.paper(TEXT_MM),
            weight=weight,
            align=align,
        )

    def _clear(self, box: Box) -> None:
        """Paper over the lines drawn so far in a box where letters go, in the colour of whatever shows the file."""
        if self.inked and crossings(np.array([box]), np.array(self.inked))[0]:
            corners = ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3]))
            self.space.add_wipeout(
                [self.units((self.to_m(x), self.to_m(y))) for x, y in corners],
                dxfattribs=self._on("note" + self.suffix),
            )

    # ---- dimensions ---------------------------------------------------------------------------

    def dimension(
        self, name: str, start: Sequence[float], end: Sequence[float], base: Sequence[float], angle_deg: float,
        letters: DimensionLetters, *, suppress: tuple[bool, bool] = (False, False),
    ) -> None:  # fmt: skip
        """One linear DIMENSION entity between two points."""
        away = self.units(end)[0] - self.units(start)[0], self.units(end)[1] - self.units(start)[1]
        along = (math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
        value = abs(away[0] * along[0] + away[1] * along[1]) / self.draft.per_m
        made = self.space.add_linear_dim(
            base=self.units(base),
            p1=self.units(start),
            p2=self.units(end),
            angle=angle_deg,
            text=escaped_mtext(letters.text),
            text_rotation=letters.turn_deg,
            dimstyle=self.draft.dimension_style(self.denominator),
            override={"dimse1": int(suppress[0]), "dimse2": int(suppress[1])},
            dxfattribs=self._on("dimension" + self.suffix),
        )
        made.set_location(self.units([self.to_m(mm) for mm in letters.centre_mm]))
        made.render()
        entity = made.dimension
        # drawn once by us; a CAD program that draws it anew shall measure anew, but for a link rounded to add up
        as_measured = letters.text == self.draft.locale.dimension(value)
        entity.dxf.text = "<>" if as_measured else escaped_mtext(letters.text)
        entity.dxf.actual_measurement = value * self.draft.per_m
        entity.set_xdata(APP, [(1000, name)])
        for drawn in entity.get_geometry_block():
            drawn.dxf.layer = self.draft.layers["dimension" + self.suffix].name
        # extension lines are lines too: labels keep off them
        for point, hidden in ((start, suppress[0]), (end, suppress[1])):
            by = (point[0] - base[0]) * along[0] + (point[1] - base[1]) * along[1]
            if not hidden:
                self._touch([point, (base[0] + along[0] * by, base[1] + along[1] * by)], avoid=True)
        self.draft.dimensions.append(DrawnDimension(self.sheet, name, value, letters.text))


LINE_MM: Final = 4.0
"""From one line of a label to the next, on paper."""
_AROUND: Final = tuple(range(0, 360, 15))


def add_text(
    space: Any,
    layer: str,
    text: str,
    at: Point,
    height: float,
    *,
    weight: lettering.Weight = "regular",
    turn_deg: float = 0.0,
    align: str = "left",
) -> None:
    """One TEXT entity in any space, with the mark for letters that the font does not have."""
    from ezdxf.enums import TextEntityAlignment

    entity = space.add_text(
        escaped(lettering.settable(text, weight)),
        height=height,
        rotation=turn_deg,
        dxfattribs={"layer": layer, "style": STYLES[weight]},
    )
    entity.set_placement(at, align=TextEntityAlignment[{"centre": "CENTER"}.get(align, align.upper())])


def escaped(text: str) -> str:
    """`text` so that a DXF reader shows just these letters: percent, caret and backslash codes taken apart."""
    text = lettering.plain(text)
    text = text.replace("^", "^ ").replace("%%", "%%%%%%")
    # \U+2205 and \M+18242 mean letters by their number; a space takes the meaning away
    for code in ("\\U+", "\\u+", "\\M+", "\\m+"):
        text = text.replace(code, f"\\ {code[1:]}")
    return text


def escaped_mtext(text: str) -> str:
    """The same for the letters of a dimension, which have codes of their own."""
    return text.replace("\\", "\\\\").replace("{", "\\{").replace("}", "\\}")


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return a[0] < b[2] and a[2] > b[0] and a[1] < b[3] and a[3] > b[1]
