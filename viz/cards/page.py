"""The page a hang card is drawn on: A5 upright, with what a card draws beside a sheet's paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Final

from viz.sheets.draft import Draft, add_text
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
        figure: bool = False,
    ) -> None:  # fmt: skip
        """One line, its baseline at y; smaller where it is wider than `room`, and then cut: a figure never is."""
        if not text.strip():
            return
        if room is not None and width(text, height, weight) > room:
            fitting = height * room / width(text, height, weight)
            height = fitting if figure else max(fitting, min(height, SMALL_MM))
            if width(text, height, weight) > room + 1e-6:
                text = shorten(text, height, room, weight)
        add_text(
            self.layout, self.layer(role), text, (x, y), height, weight=weight, align=align, turn_deg=turn_deg
        )

    def tag(self, text: str, x: float, y: float, room: float, tall: float) -> float:
        """A name as large as it may be in a field whose upper left corner is x, y, on lines; how wide it is.

        It is never cut: two names would read alike.
        """
        best: tuple[float, list[str]] = (0.0, [text])
        for count in range(1, MOST_LINES + 1):
            lines = _parts(text, count)
            size = min(
                room / max(width(line, 1.0, "semibold") for line in lines),
                tall / (1 + (len(lines) - 1) * STEP),
            )
            if size > best[0] * 1.05:
                best = size, lines
        size, lines = best
        for i, line in enumerate(lines):
            self.words(line, x, y - size - i * size * STEP, height=size, weight="semibold")
        return max(width(line, size, "semibold") for line in lines)

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

    def strike(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """What must not be used is struck out, from corner to corner."""
        self.line("status", x0, y0, x1, y1)

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


MOST_LINES: Final = 5
"""A tag has no more lines."""


def _parts(text: str, count: int) -> list[str]:
    """A name in so many parts of about the same length, each ending after a hyphen or the like where one is near."""
    parts = []
    while count > 1 and len(text) > 1:
        want = math.ceil(len(text) / count)
        near = [i for i in range(max(want - 3, 1), min(want + 4, len(text))) if text[i - 1] in "-_. /"]
        cut = min(near, key=lambda i: abs(i - want), default=want)
        parts.append(text[:cut].strip())
        text, count = text[cut:].strip(), count - 1
    return [part for part in (*parts, text) if part]


def _runs(row: Sequence[Any]) -> list[tuple[int, int]]:
    """Where dark cells of a row begin and end."""
    found: list[tuple[int, int]] = []
    for i, dark in enumerate(row):
        if dark and found and found[-1][1] == i:
            found[-1] = (found[-1][0], i + 1)
        elif dark:
            found.append((i, i + 1))
    return found
