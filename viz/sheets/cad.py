"""A drawing as DXF text that other programs read as it was drawn: header, line types, hatches and letters said so
that nothing depends on who draws it anew.

What each value is for was found by trying two readers that are not ezdxf: many take the size of dimensions from the
header alone, which has one scale, so a sheet by itself is a document of its own without any paper space.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from typing import Any, Final

from geometry.records import record
from scenes.room.origin import Origin
from viz.sheets import lettering
from viz.sheets.draft import STYLES, TEXT_MM, Box, Draft, View, add_text
from viz.sheets.lettering import Weight, plain, wrap
from viz.sheets.paper import SMALL_MM, STEP_MM

COMMON_FONTS: Final[dict[Weight, str]] = {"regular": "arial.ttf", "semibold": "arialbd.ttf"}
"""What letters are set in where ours is not installed: within a hundredth as wide at the same height of capitals."""
DASHES: Final = str.maketrans({0x2013: "-", 0x2212: "-", 0x2011: "-"})
LINE_TYPES: Final = ("DASHED", "DASHDOT")
NARROWEST_MM: Final = 120.0
"""So wide cautions are set at least, on paper."""
NOTED_MM: Final = 3.0
"""Height of capitals of a note above a drawing."""
NOTE_MM: Final = 6.0
"""From one note above a drawing to the next, on paper."""


@record(frozen=True, slots=True)
class Note:
    """What stands round a drawing that has no paper: what it is, what holds it or is open, and the cautions."""

    title: str
    mark: str | None
    hold: str | None
    heading: str
    cautions: tuple[str, ...]


def noted(view: View, note: Note) -> None:
    """The note in the model itself: title and mark above the drawing, cautions below."""
    assert view.extent is not None
    x0, y0, x1, y1 = view.extent
    role = "note" + view.suffix
    head = ((note.mark, "status" if note.hold else role), (note.hold, "status"), (note.title, role))
    for row, (text, on) in enumerate(((text, on) for text, on in head if text), 1):
        _line(view, on, text, (x0, y1 + NOTE_MM * row), NOTED_MM)
    foot = wrap(plain("  ".join(note.cautions)), SMALL_MM, max(x1 - x0, NARROWEST_MM))
    for row, text in enumerate((note.heading, *foot), 2):
        _line(view, role, text, (x0, y0 - STEP_MM * row), SMALL_MM)
    around = (x0, y0 - STEP_MM * (len(foot) + 3), max(x1, x0 + NARROWEST_MM), y1 + NOTE_MM * 4)
    low, high = (view.units((view.to_m(x), view.to_m(y))) for x, y in (around[:2], around[2:]))
    start, stop, _ = view.draft.spans[-1]
    view.draft.spans[-1] = (start, stop, (*low, *high))


def _line(view: View, role: str, text: str, at_mm: tuple[float, float], high_mm: float) -> None:
    at = view.units([view.to_m(one) for one in at_mm])
    add_text(view.space, view.draft.layers[role].name, text, at, view.paper(high_mm))


def dxf_text(draft: Draft, title: str, day: str, *, scales: Sequence[float], alone: bool = False) -> str:
    """The document as text, with every date and identifier fixed by its content's date and title.

    `scales` are the views', in the order they were drawn; the first is the header's. `alone`: without paper space.
    """
    doc = draft.doc
    _spaces(doc, alone=alone)
    _header(draft, scales[0])
    _dashes(draft, scales)
    _plain_dashes(doc)
    for weight, style in STYLES.items():
        doc.styles.get(style).dxf.font = COMMON_FONTS[weight]
    doc.styles.get("Standard").dxf.font = COMMON_FONTS["regular"]
    doc.header.custom_vars.append("TITLE", plain(title))
    doc.header.custom_vars.append("DATE", day)
    # ezdxf adds the classes of what is drawn in the order of a set, which differs from process to process
    for kind in sorted(doc.entitydb.dxf_types_in_use()):
        doc.classes.add_class(kind)
    return _written(doc, day)


def moved(text: str, origin: Origin, *, imperial: bool) -> str:
    """A drawing without paper, where the room lies in the axes of the model it came from."""
    from ezdxf import transform
    from ezdxf.math import Matrix44

    doc = lettering.ezdxf_module().read(io.StringIO(text))
    per_m = 1 / 0.0254 if imperial else 1000.0
    x, y, _ = origin.origin_m
    onto = Matrix44.z_rotate(math.radians(origin.turn_deg)) @ Matrix44.translate(x * per_m, y * per_m, 0)
    space = doc.modelspace()
    transform.inplace(list(space), onto)
    (x0, y0), (x1, y1) = doc.header["$EXTMIN"][:2], doc.header["$EXTMAX"][:2]
    corners = [onto.transform((a, b, 0)) for a in (x0, x1) for b in (y0, y1)]
    _found_at(doc, *_around((corner.x, corner.y, corner.x, corner.y) for corner in corners))
    return _written(doc, doc.header.custom_vars.get("DATE") or "")


def _spaces(doc: Any, *, alone: bool) -> None:
    """No empty layout beside others; none at all, but for the one a document must have, of a drawing alone."""
    if alone:
        for name in doc.layouts.names_in_taborder()[2:]:
            doc.layouts.delete(name)
        return
    doc.layouts.set_active_layout(doc.layouts.names_in_taborder()[1])
    for name in list(doc.layouts.names()):
        if name == "Layout1" and len(doc.layouts) > 2:
            doc.layouts.delete(name)


def _header(draft: Draft, denominator: float) -> None:
    """What readers take from the header alone: how large dimensions are, how long dashes, and where the drawing lies."""
    doc = draft.doc
    per_mm = denominator * draft.per_m / 1000
    style = draft.dimension_style(denominator)
    doc.dimstyles.get(style).copy_to_header(doc)
    doc.header["$DIMSTYLE"] = style
    doc.header["$TEXTSIZE"] = TEXT_MM * per_mm
    doc.header["$TEXTSTYLE"] = STYLES["regular"]
    doc.header["$CELTSCALE"] = 1.0
    doc.header["$LTSCALE"] = per_mm
    doc.header["$PSLTSCALE"] = 0
    if not draft.spans:
        return
    _found_at(doc, *_around(box for _, _, box in draft.spans))


def _found_at(doc: Any, low: tuple[float, float], high: tuple[float, float]) -> None:
    """What a reader shows first: all between two corners of the model."""
    space = doc.modelspace()
    space.reset_extents((*low, 0.0), (*high, 0.0))
    space.reset_limits(low, high)
    for name, at in (
        ("$EXTMIN", (*low, 0.0)),
        ("$EXTMAX", (*high, 0.0)),
        ("$LIMMIN", low),
        ("$LIMMAX", high),
    ):
        doc.header[name] = at
    tall = max(high[1] - low[1], (high[0] - low[0]) / 1.5)
    doc.set_modelspace_vport(height=tall * 1.05, center=((low[0] + high[0]) / 2, (low[1] + high[1]) / 2))


def _around(boxes: Iterable[Box]) -> tuple[tuple[float, float], tuple[float, float]]:
    listed = list(boxes)
    return (
        (min(box[0] for box in listed), min(box[1] for box in listed)),
        (max(box[2] for box in listed), max(box[3] for box in listed)),
    )


def _dashes(draft: Draft, scales: Sequence[float]) -> None:
    """Dashes as long on paper in every view, and on the papers themselves, by one scale of line types."""
    dashed = {layer.name for layer in draft.layers.values() if layer.line in LINE_TYPES}
    space = list(draft.doc.modelspace())
    # tables alone have neither a plan nor a scale
    for (start, stop, _), scale in zip(draft.spans, scales, strict=bool(draft.spans)):
        if scale != scales[0]:
            _scale_dashes(space[start:stop], scale / scales[0], dashed)
    for layout in draft.doc.layouts:
        if layout.name != "Model":
            _scale_dashes(layout, 1000 / (scales[0] * draft.per_m), dashed)


def _scale_dashes(entities: Iterable[Any], by: float, dashed: set[str]) -> None:
    for entity in entities:
        if entity.dxf.layer in dashed and entity.dxf.is_supported("ltscale"):
            entity.dxf.ltscale = by


def _plain_dashes(doc: Any) -> None:
    """Hyphens for dashes and minus signs: letters made of strokes have none, and a minus left out or like a plus is
    the opposite."""
    for entity in list(doc.entitydb.values()):
        if entity.dxftype() == "MTEXT":
            entity.text = entity.text.translate(DASHES)
        elif entity.dxftype() in ("TEXT", "DIMENSION") or (
            entity.dxftype() == "ATTRIB" and not entity.is_invisible
        ):
            entity.dxf.text = entity.dxf.get("text", "").translate(DASHES)


def _written(doc: Any, day: str) -> str:
    ezdxf = lettering.ezdxf_module()
    doc.ezdxf_metadata()["CREATED_BY_EZDXF"] = f"{ezdxf.__version__} @ {day}"
    before = ezdxf.options.write_fixed_meta_data_for_testing
    # ezdxf stamps the time of writing and random identifiers unless told to keep them fixed
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        stream = io.StringIO()
        doc.write(stream)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return stream.getvalue()
