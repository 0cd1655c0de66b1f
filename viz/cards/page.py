"""The page a hang card is drawn on: A5 upright, with what a card draws beside a sheet's paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Final

import shapely
from shapely import affinity

from viz.sheets.draft import STYLES, Draft, add_text
from viz.sheets.layers import Layer, layers
from viz.sheets.lettering import Weight, plain, shorten, width, wrap
from viz.sheets.paper import Paper
from viz.words.locale import Locale

WIDE_MM: Final = 148.0
TALL_MM: Final = 210.0
EDGE_MM: Final = 8.0
"""From the paper's edge to the frame."""
SMALL_MM: Final = 1.8
TEXT_MM: Final = 2.2
STEP: Final = 1.65
"""From line to line, in heights of capitals."""

_OWN: Final = {
    "card tile": Layer("CARD-TILE", "#FBF0C4", 9, "CONTINUOUS", ""),
    "card number": Layer("CARD-NUMBER", "#22272E", 25, "CONTINUOUS", ""),
    "card grey": Layer("CARD-GREY", "#9AA0A6", 13, "CONTINUOUS", ""),
    "card label": Layer("CARD-LABEL", "#5C6570", 13, "CONTINUOUS", ""),
    "card tolerance": Layer("CARD-TOLERANCE", "#12766F", 13, "CONTINUOUS", ""),
    "card white": Layer("CARD-WHITE", "#FFFFFF", 9, "CONTINUOUS", ""),
}
"""Layers of a card alone: it is printed, never a drawing file."""


ROUND: Final = [(math.cos(i * math.pi / 12), math.sin(i * math.pi / 12)) for i in range(24)]
"""Corners of a round filled mark of radius 1."""


class Page(Paper):
    """One card on its way, in paper millimetres from the lower left."""

    @classmethod
    def empty(cls, locale: Locale, name: str) -> Page:
        draft = Draft(locale, {**layers(), **_OWN})
        layout = draft.doc.layouts.new(
            f"Card {plain(name)}"[:100].translate({ord(c): "-" for c in '<>/\\":;?*|=`,'})
        )
        layout.page_setup(size=(WIDE_MM, TALL_MM), margins=(0, 0, 0, 0), units="mm")
        return cls(draft, layout, "A5", WIDE_MM, TALL_MM)

    def words(
        self, text: str, x: float, y: float, *, height: float = TEXT_MM, weight: Weight = "regular",
        align: str = "left", role: str = "title", turn_deg: float = 0.0, room: float | None = None,
    ) -> None:  # fmt: skip
        """One line, its baseline at y; smaller where it is wider than `room`, and then cut."""
        if not text.strip():
            return
        if room is not None and width(text, height, weight) > room:
            height = max(height * room / width(text, height, weight), min(height, SMALL_MM))
            text = shorten(text, height, room, weight)
        add_text(
            self.layout, self.layer(role), text, (x, y), height, weight=weight, align=align, turn_deg=turn_deg
        )

    def clear(self, ring: Sequence[tuple[float, float]], role: str) -> None:
        """A white field with an edge, and no letters in it: they would be drawn over it."""
        area = shapely.Polygon(ring)
        for entity in list(self.layout.query("TEXT")):
            weight: Weight = "semibold" if entity.dxf.style == STYLES["semibold"] else "regular"
            long, tall = width(entity.dxf.text, entity.dxf.height, weight), entity.dxf.height
            start = {"LEFT": 0.0, "CENTER": -long / 2, "RIGHT": -long}[entity.get_align_enum().name]
            flat = shapely.box(start, 0.0, start + long, tall)
            turned = affinity.rotate(flat, entity.dxf.rotation, origin=(0.0, 0.0))
            point = entity.dxf.insert if start == 0.0 else entity.dxf.align_point
            if affinity.translate(turned, point.x, point.y).intersects(area):
                self.layout.delete_entity(entity)
        self.fill("card white", ring)
        self.polyline(role, ring, closed=True)

    def paragraph(
        self, text: str, x: float, y: float, room: float, *, height: float = SMALL_MM,
        weight: Weight = "regular", role: str = "title",
    ) -> float:  # fmt: skip
        """Lines from y down; where the last one's letters end."""
        for line in wrap(plain(text), height, room, weight):
            y -= height * STEP
            self.words(line, x, y, height=height, weight=weight, role=role)
        return y

    def polyline(self, role: str, points: Iterable[Sequence[float]], *, closed: bool = False) -> None:
        self.layout.add_lwpolyline(
            [(float(p[0]), float(p[1])) for p in points], close=closed, dxfattribs={"layer": self.layer(role)}
        )

    def circle(self, role: str, x: float, y: float, radius: float) -> None:
        self.layout.add_circle((x, y), radius, dxfattribs={"layer": self.layer(role)})

    def ball(self, number: int, x: float, y: float) -> None:
        """The number of a note in its circle."""
        self.fill("card white", [(x + 2.0 * c, y + 2.0 * s) for c, s in ROUND])
        self.circle("frame thin", x, y, 2.0)
        self.words(str(number), x, y - SMALL_MM / 2, height=SMALL_MM, align="centre", weight="semibold")

    def arrow(self, x: float, y: float, way_deg: float, size: float, role: str = "array") -> None:
        """A filled mark whose tip is at x, y and that points that way."""
        c, s = math.cos(math.radians(way_deg)), math.sin(math.radians(way_deg))
        corners = [(0.0, 0.0), (-size, size * 0.5), (-size, -size * 0.5)]
        self.fill(role, [(x + u * c - v * s, y + u * s + v * c) for u, v in corners])

    def tick(self, x: float, y: float, role: str = "frame") -> None:
        """The oblique stroke at the end of a dimension."""
        self.line(role, x - 0.9, y - 0.9, x + 0.9, y + 0.9)

    def code(self, text: str, x: float, y: float, side: float) -> None:
        """A code that a telephone reads, its upper left corner at x, y."""
        import segno

        rows = [list(row) for row in segno.make(text, micro=False, error="m").matrix]
        cell = side / len(rows)
        for j, row in enumerate(rows):
            top = y - j * cell
            for start, stop in _runs(row):
                a, b = x + start * cell, x + stop * cell
                self.fill("frame", [(a, top - cell), (b, top - cell), (b, top), (a, top)])


def _runs(row: Sequence[Any]) -> list[tuple[int, int]]:
    """Where dark cells of a row begin and end."""
    found: list[tuple[int, int]] = []
    for i, dark in enumerate(row):
        if dark and found and found[-1][1] == i:
            found[-1] = (found[-1][0], i + 1)
        elif dark:
            found.append((i, i + 1))
    return found
