"""How far an array may be off, at the array: a small rose with its figures, the headline's own."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from scenes.findings.review import ArrayReview, Review
from viz.sheets.draft import LINE_MM, Box, Point, View
from viz.sheets.paper import Legend, Paper
from viz.words import tolerance
from viz.words.locale import Locale

ARM_MM: Final = 1.5
"""From the middle of a rose to the point of an arrow, on paper."""
BARB_MM: Final = 0.55
"""How long and how wide half an arrow's head is."""
BESIDE: Final = "MM"
BESIDE_MM: Final = 2 * ARM_MM + 1.0
"""What is as wide as the arrows before a figure, and the room they take."""
OFF_MM: Final = 2.5
"""Farther from an array than its name: the edge of where it may hang runs round it."""
PREFER_DEG: Final = (0, 45, -45, 180, 135, -135, 90, -90)
CROSSING: Final = 2.5
CLEAR: Final = 3.0
"""Where it goes first, and what a line through it costs: near the array is worth more than a
clear ground, outside the room it is not."""
WAYS: Final[tuple[tuple[Point, ...], ...]] = (((1, 0), (-1, 0), (0, 1), (0, -1)), ((0, 1), (0, -1)))
"""Where the arrows of each line point: any way on plan, then up and down."""


def roses(view: View, review: Review, within: Box, anchors: Mapping[str, tuple[Point, float]]) -> None:
    """A rose beside each array of a room that may be hung: by id where, in metres, and how far beside, on paper."""
    if tolerance.headline(review) is None:
        return
    for one in review.arrays:
        if one.id in anchors:
            _rose(view, one, *anchors[one.id], within)


def _rose(view: View, one: ArrayReview, anchor: Point, gap_mm: float, within: Box) -> None:
    lines = tolerance.at_the_array(one.tolerance, view.draft.locale)
    for bounds, crossing in (
        (within, CROSSING),
        (None, CLEAR),
    ):  # outside the room, with whose it is, where there is no place in it
        box, cost = view.free_place(
            [BESIDE + line for line in lines],
            anchor,
            gap_mm=gap_mm + OFF_MM,
            within=bounds,
            prefer=PREFER_DEG,
            crossing=crossing,
        )
        if math.isfinite(cost):
            break
        lines = [f"{one.id}  {lines[0]}", *lines[1:]]
    else:
        return  # the schedule tells it
    view.keep(box)
    for row, line in enumerate(lines):
        view.add(line, (box[0] + 0.5 + BESIDE_MM, box[3] - (row + 1) * LINE_MM + 1.0))
    draw_rose(view, box, len(lines))


def rose_text(review: Review, one: ArrayReview) -> tuple[str, ...]:
    """The figures beside an array's roses; none in a room that is not to be hung so."""
    if tolerance.headline(review) is None:
        return ()
    return tuple(tolerance.at_the_array(one.tolerance, Locale.of(review.scene)))


def draw_rose(view: View, box: Box, rows: int) -> None:
    """The arrows in front of the figures in a box on paper, a rose to each row."""
    role = f"leader{view.suffix}"
    for row, ways in zip(range(rows), WAYS, strict=False):
        x, y = box[0] + 0.5 + ARM_MM, box[3] - (row + 0.5) * LINE_MM
        for (ax, ay), (bx, by) in _arrows((x, y), ways):
            view.line(role, (view.to_m(ax), view.to_m(ay)), (view.to_m(bx), view.to_m(by)), avoid=False)


def _arrows(middle: Point, ways: tuple[Point, ...]) -> list[tuple[Point, Point]]:
    """The lines of arrows from a point, on paper: a shaft and two barbs each."""
    lines = []
    for dx, dy in ways:
        tip = (middle[0] + ARM_MM * dx, middle[1] + ARM_MM * dy)
        lines.append((middle, tip))
        for side in (-1, 1):
            back = (tip[0] - BARB_MM * (dx + side * dy), tip[1] - BARB_MM * (dy + side * dx))
            lines.append((tip, back))
    return lines


def legend(review: Review) -> list[Legend]:
    """What the rose is, where there is one."""
    if tolerance.headline(review) is None:
        return []

    def draw(page: Paper, x: float, y: float) -> None:
        for (ax, ay), (bx, by) in _arrows((x, y), WAYS[0]):
            page.line("leader", ax, ay, bx, by)

    return [Legend(draw, tolerance.of_the_legend(review))]
