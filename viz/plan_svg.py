"""A plain plan of a room as SVG, before anything hangs in it: to see at once whether the answers were meant so."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from geometry.shapes import Point2
from scenes.room.scene import Device, Opening, Room, Scene
from viz import palette
from viz.words.locale import Locale

ROUND_M: Final = 0.6
"""Paper round the room."""
LONGEST_PX: Final = 900.0
SEAT_M: Final = 0.09
LETTER_M: Final = 0.16

Lines = Sequence[Sequence[Point2]]


class _Paper:
    """From metres to the picture's units: y down, the room's corner at `ROUND_M`."""

    def __init__(self, corners: Sequence[Point2]) -> None:
        xs, ys = zip(*corners, strict=True)
        self.low_x, self.high_y = min(xs), max(ys)
        self.width_m, self.height_m = max(xs) - min(xs) + 2 * ROUND_M, max(ys) - min(ys) + 2 * ROUND_M

    def at(self, point: Sequence[float]) -> str:
        x, y = point[0] - self.low_x + ROUND_M, self.high_y - point[1] + ROUND_M
        return f"{x:.4f},{y:.4f}"

    def polygon(self, corners: Sequence[Point2], fill: str, edge: str, width_m: float = 0.02) -> str:
        points = " ".join(map(self.at, corners))
        return f'<polygon points="{points}" fill="{fill}" stroke="{edge}" stroke-width="{width_m}"/>'

    def line(self, corners: Sequence[Point2], colour: str, width_m: float, dash: str = "") -> str:
        points = " ".join(map(self.at, corners))
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        return f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{width_m}"{dashes}/>'

    def disc(self, at: Point2, radius_m: float, fill: str) -> str:
        x, y = self.at(at).split(",")
        return f'<circle cx="{x}" cy="{y}" r="{radius_m:.4f}" fill="{fill}"/>'

    def text(self, at: Point2, words: str, turn: float = 0.0) -> str:
        x, y = self.at(at).split(",")
        around = f' transform="rotate({-turn:g} {x} {y})"' if turn else ""
        return (
            f'<text x="{x}" y="{y}" font-size="{LETTER_M}" text-anchor="middle" dominant-baseline="middle" '
            f'fill="{palette.INK}" font-family="sans-serif"{around}>{escape(words)}</text>'
        )

    def whole(self, title: str, parts: Sequence[str]) -> str:
        scale = LONGEST_PX / max(self.width_m, self.height_m)
        return "\n".join(
            [
                "<?xml version='1.0' encoding='utf-8'?>",
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width_m * scale:.0f}" '
                f'height="{self.height_m * scale:.0f}" viewBox="0 0 {self.width_m:.4f} {self.height_m:.4f}">',
                f"<title>{escape(title)}</title>",
                f'<rect width="{self.width_m:.4f}" height="{self.height_m:.4f}" fill="{palette.PAPER}"/>',
                *parts,
                "</svg>\n",
            ]
        )


def plan_svg(scene: Scene) -> str:
    """The room from above: walls, openings, tables, talkers, walks, devices with their ids, and its size."""
    paper = _Paper(scene.room.outline_m)
    return paper.whole(scene.name, list(_parts(scene, paper)))


def lines_svg(title: str, lines: Lines, marked: Sequence[Point2], around: Point2) -> str:
    """Lines of a drawing with places marked in them, and where somebody pointed to: an outline that is not closed."""
    paper = _Paper([point for line in lines for point in line] + [around, *marked])
    parts = [paper.line(line, palette.CUT, 0.02) for line in lines]
    parts += [paper.disc(at, SEAT_M, palette.CLASH) for at in marked]
    return paper.whole(title, [*parts, paper.disc(around, SEAT_M, palette.BAND)])


def _parts(scene: Scene, paper: _Paper) -> Iterator[str]:
    room, locale = scene.room, Locale.of(scene)
    yield paper.polygon(room.outline_m, palette.SOFT, palette.CUT, 0.06)
    for opening in room.openings:
        colour = palette.GLASS if opening.kind == "window" else palette.DOOR
        yield paper.line(_ends(room, opening), colour, 0.08)
    for device in scene.overhead:
        yield paper.polygon(footprint(device), palette.LUMINOUS, palette.SYMBOL, 0.012)
    for table in scene.tables:
        yield paper.polygon(table.outline_m, palette.TABLE_TOP, palette.TABLE_EDGE)
        yield paper.text(table.at_m, table.id)
    for head in scene.heads:
        if head.path_m:
            yield paper.line(head.path_m, palette.INK_SOFT, 0.02, "0.08 0.06")
        yield paper.disc(head.at_m, SEAT_M, palette.BAND)
    for device in scene.overhead:
        x, y = device.at_m
        yield paper.text((x, y - max(device.size_m) / 2 - 0.6 * LETTER_M), device.id)
    (low_x, low_y), (high_x, high_y) = room.bounds_m
    middle = ((low_x + high_x) / 2, (low_y + high_y) / 2)
    yield paper.text((middle[0], low_y - ROUND_M / 2), locale.length(high_x - low_x))
    yield paper.text((low_x - ROUND_M / 2, middle[1]), locale.length(high_y - low_y), 90)


def _ends(room: Room, opening: Opening) -> tuple[Point2, Point2]:
    start = room.outline_m[opening.wall]
    end = room.outline_m[(opening.wall + 1) % len(room.outline_m)]
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    near, far = opening.offset_m, opening.offset_m + opening.width_m
    return (
        (start[0] + along[0] * near, start[1] + along[1] * near),
        (start[0] + along[0] * far, start[1] + along[1] * far),
    )


def footprint(device: Device) -> list[Point2]:
    """The corners of a device on plan; of a round one those of chords."""
    (x, y), (width, depth) = device.at_m, device.size_m
    if device.round:
        corners = [
            (math.cos(math.tau * i / 24) * width / 2, math.sin(math.tau * i / 24) * width / 2)
            for i in range(24)
        ]
    else:
        corners = [(sx * width / 2, sy * depth / 2) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    c, s = math.cos(math.radians(device.turn_deg)), math.sin(math.radians(device.turn_deg))
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in corners]
