"""A sheet of the document as SVG and PDF: the same entities, in millimetres on the page, nothing redrawn.

A DXF layout is walked through by ezdxf's drawing add-on; what arrives here are lines, paths and fills in
millimetres of paper. The SVG keeps letters as outlines, so that it looks the same without the font. The
PDF is set by typst from that SVG without its letters, and from the letters as real text in the shipped
font, so that they can be searched, read out and copied.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from typing import Any, Final, Literal
from xml.sax.saxutils import escape, quoteattr

from geometry.records import record
from viz.sheets import lettering
from viz.sheets.draft import Box, overlap
from viz.words.locale import Locale

Span = tuple[int, int, Box]
"""First and one past the last entity of the model that a view drew, and the box they lie in, model units."""


@record(frozen=True, slots=True)
class Letters:
    """One line of text as it is drawn: where its baseline begins on the page, in mm from the lower left.

    `box` is what its glyphs cover. `height_mm` is that of a capital.
    """

    text: str
    x_mm: float
    y_mm: float
    height_mm: float
    turn_deg: float
    weight: lettering.Weight
    colour: str
    layer: str
    box: Box


@record(frozen=True, slots=True)
class Drawn:
    """A page: its size, its shapes as SVG elements by layer, its letters (also as outlines)."""

    width_mm: float
    height_mm: float
    shapes: tuple[tuple[str, tuple[str, ...]], ...]
    outlines: tuple[tuple[str, tuple[str, ...]], ...]
    letters: tuple[Letters, ...]
    extent: Box

    def svg(self, *, title: str, about: str, letters: bool = True, crop: Box | None = None) -> str:
        """The page as SVG, `crop` (mm from the lower left) of it. `letters` as outlines, or left out."""
        x0, y0, x1, y1 = crop or (0.0, 0.0, self.width_mm, self.height_mm)
        width, height = x1 - x0, y1 - y0
        view = f"{number(x0)} {number(self.height_mm - y1)} {number(width)} {number(height)}"
        parts = [
            "<?xml version='1.0' encoding='utf-8'?>\n"
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" height="{number(height)}mm" '
            f'viewBox="{view}" role="img" aria-labelledby="t d">\n'
            f'<title id="t">{escape(title)}</title>\n<desc id="d">{escape(about)}</desc>\n'
            f'<rect x="{number(x0)}" y="{number(self.height_mm - y1)}" width="{number(width)}" '
            f'height="{number(height)}" fill="#ffffff"/>\n'
        ]
        if letters:
            used = sorted({(item.weight, letter) for item in self.letters for letter in item.text})
            shapes = [(w, c, lettering.glyph(c, w)) for w, c in used]
            defs = "".join(
                f'<path id="{w[0]}{ord(c):x}" d="{shape.path}"/>\n' for w, c, shape in shapes if shape.bounds
            )
            parts.append(f"<defs>\n{defs}</defs>\n")
        parts.append('<g fill="none" stroke-linecap="round" stroke-linejoin="round">\n')
        for layer, elements in (*self.shapes, *(self.outlines if letters else ())):
            parts.append(f"<g data-layer={quoteattr(layer)}>\n" + "\n".join(elements) + "\n</g>\n")
        parts.append("</g>\n</svg>\n")
        return "".join(parts)


@dataclass
class _Backend:
    """What the drawing add-on draws on: SVG elements in page millimetres, gathered layer by layer in order."""

    height_mm: float
    shapes: list[tuple[str, list[str]]] = field(default_factory=list)
    extent: list[float] = field(default_factory=lambda: [math.inf, math.inf, -math.inf, -math.inf])

    def put(self, layer: str, element: str) -> None:
        if not self.shapes or self.shapes[-1][0] != layer:
            self.shapes.append((layer, []))
        self.shapes[-1][1].append(element)

    def seen(self, points: Any) -> None:
        for x, y in points:
            self.extent[0], self.extent[1] = min(self.extent[0], x), min(self.extent[1], y)
            self.extent[2], self.extent[3] = max(self.extent[2], x), max(self.extent[3], y)

    def y(self, y: float) -> str:
        return number(self.height_mm - y)

    def path(self, paths: Any) -> str:
        """SVG path data of ezdxf's numpy paths, their points counted as seen."""
        told = []
        for path in paths:
            vertices = path.vertices()
            if not vertices:
                continue
            self.seen((v.x, v.y) for v in vertices)
            points = [f"{number(v.x)} {self.y(v.y)}" for v in vertices]
            told.append("M" + points[0])
            start = at = 0
            for code in path.command_codes():
                mark, count = _MARKS[code]
                if code == _MOVE and vertices[start].isclose(vertices[at]):
                    told.append("Z")
                told.append(mark + " ".join(points[at + 1 : at + 1 + count]))
                at += count
                if code == _MOVE:
                    start = at
            if at > start and vertices[start].isclose(vertices[at]):
                told.append("Z")
        return "".join(told)


_MARKS: Final = {1: ("L", 1), 2: ("Q", 2), 3: ("C", 3), 4: ("M", 1)}
"""ezdxf's path commands as SVG's, with how many points each takes."""
_MOVE: Final = 4


def number(value: float) -> str:
    """A number for SVG: to a thousandth, without an empty tail."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return text if text != "-0" else "0"


@cache
def _classes() -> tuple[type, type]:
    """The backend and the pipeline, made when first needed because they derive from ezdxf's."""
    lettering.ezdxf_module()
    from ezdxf.addons.drawing.backend import BackendInterface
    from ezdxf.addons.drawing.pipeline import RenderPipeline2d
    from ezdxf.math import Matrix44

    class Backend(_Backend, BackendInterface):
        def configure(self, config: Any) -> None:
            pass

        def enter_entity(self, entity: Any, properties: Any) -> None:
            pass

        def exit_entity(self, entity: Any) -> None:
            pass

        def set_background(self, color: str) -> None:
            pass

        def clear(self) -> None:
            self.shapes.clear()

        def finalize(self) -> None:
            pass

        def draw_point(self, pos: Any, properties: Any) -> None:
            self.draw_line(pos, pos, properties)

        def draw_line(self, start: Any, end: Any, properties: Any) -> None:
            self.seen(((start.x, start.y), (end.x, end.y)))
            self.put(
                properties.layer,
                f'<path d="M{number(start.x)} {self.y(start.y)}L{number(end.x)} {self.y(end.y)}"{_stroke(properties)}/>',
            )

        def draw_solid_lines(self, lines: Any, properties: Any) -> None:
            told = []
            for start, end in lines:
                self.seen(((start.x, start.y), (end.x, end.y)))
                told.append(f"M{number(start.x)} {self.y(start.y)}L{number(end.x)} {self.y(end.y)}")
            if told:
                self.put(properties.layer, f'<path d="{"".join(told)}"{_stroke(properties)}/>')

        def draw_path(self, path: Any, properties: Any) -> None:
            data = self.path([path])
            if data:
                self.put(properties.layer, f'<path d="{data}"{_stroke(properties)}/>')

        def draw_filled_paths(self, paths: Any, properties: Any) -> None:
            data = self.path(paths)
            if data:
                self.put(
                    properties.layer, f'<path d="{data}" fill="{properties.color[:7]}" fill-rule="evenodd"/>'
                )

        def draw_filled_polygon(self, points: Any, properties: Any) -> None:
            vertices = [(v.x, v.y) for v in points.vertices()]
            self.seen(vertices)
            data = "M" + "L".join(f"{number(x)} {self.y(y)}" for x, y in vertices) + "Z"
            self.put(properties.layer, f'<path d="{data}" fill="{properties.color[:7]}"/>')

        def draw_image(self, image_data: Any, properties: Any) -> None:
            raise NotImplementedError("sheets carry no images")

    class Pipeline(RenderPipeline2d):
        """ezdxf's pipeline, which also remembers every line of text with what its glyphs cover."""

        def __init__(self, backend: Any, outlines: Any, spans: Sequence[Span]) -> None:
            super().__init__(backend)
            self.spans = spans
            self.window: Box | None = None
            self.letters: list[Letters] = []
            self.outlines = outlines
            self.onto_page = Matrix44()

        def enter_viewport(self, vp: Any) -> bool:
            self.onto_page = vp.get_transformation_matrix()
            return bool(super().enter_viewport(vp))

        def get_vp_ltype_scale(self) -> float:
            # lines arrive at their line type already in page millimetres, which is what the patterns are in
            return 1.0

        def draw_viewport(self, vp: Any, layout_ctx: Any, bbox_cache: Any = None) -> None:
            # ezdxf draws block references on layers frozen in the viewport; a CAD program does not
            hidden = {name.lower() for name in vp.frozen_layers}
            low_x, low_y, high_x, high_y = vp.get_modelspace_limits()
            space = list(vp.doc.modelspace())
            near = [
                entity
                for start, stop, (x0, y0, x1, y1) in self.spans
                or [(0, len(space), (low_x, low_y, high_x, high_y))]
                if x0 <= high_x and x1 >= low_x and y0 <= high_y and y1 >= low_y
                for entity in space[start:stop]
                if entity.dxf.layer.lower() not in hidden
            ]
            x, y = vp.dxf.center.x, vp.dxf.center.y
            self.window = (
                x - vp.dxf.width / 2,
                y - vp.dxf.height / 2,
                x + vp.dxf.width / 2,
                y + vp.dxf.height / 2,
            )
            if self.enter_viewport(vp):
                self.draw_entities(layout_ctx.from_viewport(vp), near)
                self.exit_viewport()
            self.window = None

        def exit_viewport(self) -> None:
            self.onto_page = Matrix44()
            self.clipping_portal.pop()
            self.current_vp_scale = 1.0

        def draw_text(
            self, text: str, transform: Any, properties: Any, cap_height: float, dxftype: str = "TEXT"
        ) -> None:
            if not text.strip():
                return
            face = properties.font
            weight = next((w for w, name in lettering.FILES.items() if face and face.filename == name), None)
            if weight is None:
                raise _other_font(text, face)
            matrix = transform @ self.onto_page
            origin, along, up = (matrix.transform(p) for p in ((0, 0, 0), (1, 0, 0), (0, cap_height, 0)))
            turn = math.degrees(math.atan2(along.y - origin.y, along.x - origin.x))
            height = (up - origin).magnitude
            box, placed = _set(text, weight, height, origin.x, origin.y, turn)
            if self.window is not None and not overlap(box, self.window):
                return  # letters of another view, outside this window
            colour = properties.color[:7]
            self.outlines.seen(((box[0], box[1]), (box[2], box[3])))
            em = height * lettering.em_per_capital(weight) / 1000
            self.outlines.put(
                properties.layer,
                f'<g transform="translate({number(origin.x)} {self.outlines.y(origin.y)}) rotate({number(-turn)}) '
                f'scale({em:.6f} {-em:.6f})" fill="{colour}">{placed}</g>',
            )
            self.letters.append(
                Letters(text, origin.x, origin.y, height, turn, weight, colour, properties.layer, box)
            )

    return Backend, Pipeline


def _other_font(text: str, face: Any) -> lettering.FontMissing:
    """That a text is set in a font that does not come with the package, or in none."""
    font = face.filename if face else Locale("m").say("typeface.none")
    files = ", ".join(lettering.FILES.values())
    return lettering.FontMissing("typeface.other", text=repr(text), font=font, files=files)


def _set(
    text: str, weight: lettering.Weight, height: float, x: float, y: float, turn_deg: float
) -> tuple[Box, str]:
    """What the glyphs of a line of text cover on the page, and the line as uses of glyph outlines."""
    scale = height * lettering.em_per_capital(weight) / 1000
    c, s = math.cos(math.radians(turn_deg)) * scale, math.sin(math.radians(turn_deg)) * scale
    pen = 0.0
    corners: list[tuple[float, float]] = []
    uses = []
    for letter in text:
        shape = lettering.glyph(letter, weight)
        if shape.bounds is not None:
            x0, y0, x1, y1 = shape.bounds
            corners += [
                (x + (pen + u) * c - v * s, y + (pen + u) * s + v * c)
                for u, v in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
            ]
            uses.append(f'<use href="#{weight[0]}{ord(letter):x}" x="{number(pen)}"/>')
        pen += shape.advance
    if not corners:
        raise lettering.FontMissing("typeface.shapeless", text=repr(text))
    xs, ys = zip(*corners, strict=True)
    return (min(xs), min(ys), max(xs), max(ys)), "".join(uses)


def _stroke(properties: Any) -> str:
    return f' stroke="{properties.color[:7]}" stroke-width="{number(max(properties.lineweight, 0.09))}"'


def drawn(layout: Any, width_mm: float, height_mm: float, spans: Sequence[Span] = ()) -> Drawn:
    """One paper layout of a document, walked through once.

    `spans` tell which entities of the model lie where, so that a viewport need not look at all of them.
    """
    backend_class, pipeline_class = _classes()
    from ezdxf.addons.drawing.config import BackgroundPolicy, ColorPolicy, Configuration, LineweightPolicy
    from ezdxf.addons.drawing.frontend import UniversalFrontend
    from ezdxf.addons.drawing.properties import RenderContext

    backend, outlines = backend_class(height_mm), backend_class(height_mm)
    pipeline = pipeline_class(backend, outlines, spans)
    config = Configuration(
        background_policy=BackgroundPolicy.WHITE,
        color_policy=ColorPolicy.COLOR,
        lineweight_policy=LineweightPolicy.ABSOLUTE,
        lineweight_scaling=1.0,
        min_lineweight=0.09 * 300 / 25.4,
        min_hatch_line_distance=1e-6,
    )
    frontend = UniversalFrontend(RenderContext(layout.doc), pipeline, config=config)
    # ezdxf moves the origin of every hatch by a random hair; the same sheet shall have the same bytes
    state = random.getstate()
    random.seed(0)
    try:
        frontend.draw_layout(layout, finalize=True)
    finally:
        random.setstate(state)
    extent = [
        min(backend.extent[0], outlines.extent[0]), min(backend.extent[1], outlines.extent[1]),
        max(backend.extent[2], outlines.extent[2]), max(backend.extent[3], outlines.extent[3]),
    ]  # fmt: skip
    return Drawn(
        width_mm,
        height_mm,
        tuple((layer, tuple(elements)) for layer, elements in backend.shapes),
        tuple((layer, tuple(elements)) for layer, elements in outlines.shapes),
        tuple(pipeline.letters),
        (extent[0], extent[1], extent[2], extent[3]),
    )


# ---- PDF ------------------------------------------------------------------------------------------------

LETTERS_TYP: Final = """
// One drawing: its lines as a picture with a text for those who do not see it, its letters as real text.
#let drawing(page) = block(width: page.width * 1mm, height: page.height * 1mm, breakable: false, {
  place(top + left, image(bytes(page.svg), format: "svg", width: page.width * 1mm, height: page.height * 1mm,
    alt: page.alt))
  pdf.artifact(for item in page.letters {
    place(top + left, dx: item.x * 1mm, dy: item.y * 1mm, rotate(-item.turn * 1deg, origin: top + left, reflow: false,
      text(font: item.font, weight: item.weight, size: item.size * 1mm, fill: rgb(item.colour), kerning: false,
        ligatures: false, number-width: auto, top-edge: "baseline", bottom-edge: "baseline", hyphenate: false,
        box(item.text))))
  })
})
"""


def page_data(page: Drawn, *, title: str, about: str, crop: Box | None = None) -> dict[str, object]:
    """What typst's `drawing` needs of a page, as JSON can carry it."""
    x0, y0, x1, y1 = crop or (0.0, 0.0, page.width_mm, page.height_mm)
    return {
        "width": x1 - x0,
        "height": y1 - y0,
        "svg": page.svg(title=title, about=about, letters=False, crop=crop),
        "name": lettering.settable(title),
        "alt": about,
        "letters": [
            {
                "text": item.text,
                "x": item.x_mm - x0,
                "y": y1 - item.y_mm,
                "size": item.height_mm * lettering.em_per_capital(item.weight),
                "turn": item.turn_deg,
                "font": lettering.FAMILY,
                "weight": 400 if item.weight == "regular" else 600,
                "colour": item.colour,
            }
            for item in page.letters
            if crop is None or _within(item.box, crop)
        ],
    }


def _within(box: Box, crop: Box) -> bool:
    return box[0] >= crop[0] and box[1] >= crop[1] and box[2] <= crop[2] and box[3] <= crop[3]


def pdf_of(pages: Sequence[dict[str, object]], *, title: str, author: str, about: str, date: str) -> bytes:
    """The pages as one PDF/A-2b and PDF/UA-1, each at its true size. `date` is YYYY-MM-DD."""
    source = (
        LETTERS_TYP
        + """
#let told = json(bytes(sys.inputs.told))
#let day = told.date.split("-").map(int)
#set document(title: told.title, author: told.author, description: told.about,
  date: datetime(year: day.at(0), month: day.at(1), day: day.at(2)))
#set text(lang: "en")
#for page-data in told.pages {
  set page(width: page-data.width * 1mm, height: page-data.height * 1mm, margin: 0pt, numbering: "1", footer: none)
  // a bookmark, and where those who do not see the page jump to; what is seen is the drawing's own title
  place(top + left, text(size: 1pt, fill: white.transparentize(100%), heading(level: 1, page-data.name)))
  drawing(page-data)
}
"""
    )
    told = {"pages": list(pages), "title": title, "author": author, "about": about, "date": date}
    made = compiled(source, {"told": json.dumps(told)}, date=date, standards=["a-2b", "ua-1"])
    assert isinstance(made, bytes)
    return made


def compiled(
    source: str,
    inputs: dict[str, str],
    *,
    date: str,
    standards: Sequence[Literal["a-2a", "a-2b", "ua-1"]] = (),
    output: Literal["pdf", "svg", "png"] = "pdf",
    ppi: float | None = None,
    root: str | None = None,
) -> bytes | list[bytes]:
    """What typst makes of a source, with the shipped fonts and nothing else of this machine."""
    import typst

    # also tells a missing font before anything is set in another one
    lettering.check()
    compiler = typst.Compiler(
        source.encode(),
        root=root,
        font_paths=_fonts(),
        sys_inputs=inputs,
    )
    stamp = datetime.fromisoformat(date).replace(tzinfo=UTC)
    made = compiler.compile(format=output, ppi=ppi, pdf_standards=list(standards), timestamp=stamp)
    assert made is not None
    return made


@cache
def _fonts() -> Any:
    import typst

    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(lettering.FONTS)]
    )
