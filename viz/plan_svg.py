"""Plans of a room as SVG: a plain one before anything hangs in it, to see at once whether the answers were meant so,
and one of the room as it stands."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

import shapely
from shapely.geometry import Point, Polygon

from geometry.band import footprint as zone_on_level
from geometry.shapes import Point2
from scenes.findings.review import Review, Standing
from scenes.room.mouths import mouth_level_m
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

    def __init__(self, corners: Sequence[Point2], round_m: float = ROUND_M) -> None:
        xs, ys = zip(*corners, strict=True)
        self.low_x, self.high_y, self.round_m = min(xs), max(ys), round_m
        self.width_m, self.height_m = max(xs) - min(xs) + 2 * round_m, max(ys) - min(ys) + 2 * round_m

    def at(self, point: Sequence[float]) -> str:
        x, y = point[0] - self.low_x + self.round_m, self.high_y - point[1] + self.round_m
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

    def mark(self, at: Point2, standing: Standing | None) -> str:
        """A talker's mark by how they stand: dot, ring, square, diamond; a small dot where nothing is known yet."""
        x, y = (float(v) for v in self.at(at).split(","))
        if standing is None:
            return self.disc(at, SEAT_M, palette.INK_SOFT)
        colour, rim = palette.STATE_COLOURS[standing], f'stroke="{palette.PAPER}" stroke-width="0.03"'
        side = MARK_M * 1.7
        square = f'<rect x="{x - side / 2:.4f}" y="{y - side / 2:.4f}" width="{side:.4f}" height="{side:.4f}"'
        match palette.STATE_MARKS[standing]:
            case "ring":
                return (
                    f'<circle cx="{x}" cy="{y}" r="{MARK_M * 0.8:.4f}" fill="{palette.PAPER}" stroke="{colour}" '
                    f'stroke-width="{MARK_M * 0.55:.4f}"/>'
                )
            case "cross":
                arm = side * 0.28
                cross = f"M{x - arm:.4f},{y - arm:.4f}L{x + arm:.4f},{y + arm:.4f}"
                cross += f"M{x - arm:.4f},{y + arm:.4f}L{x + arm:.4f},{y - arm:.4f}"
                arms = f'<path d="{cross}" stroke="{palette.PAPER}" stroke-width="0.04"/>'
                return f'{square} rx="0.03" fill="{colour}" {rim}/>{arms}'
            case "diamond":
                return f'{square} fill="{colour}" {rim} transform="rotate(45 {x} {y})"/>'
        return f'<circle cx="{x}" cy="{y}" r="{MARK_M}" fill="{colour}" {rim}/>'

    def array(self, at: Point2) -> str:
        """An array: a dark body with a ring of light round its middle."""
        x, y = self.at(at).split(",")
        return (
            f'<circle cx="{x}" cy="{y}" r="{ARRAY_M}" fill="{palette.ARRAY_BODY}" stroke="{palette.PAPER}" '
            f'stroke-width="0.035"/><circle cx="{x}" cy="{y}" r="{ARRAY_M / 3:.4f}" fill="{palette.PAPER}"/>'
        )

    def area(self, area: shapely.Geometry) -> str:
        """An area of the zone, which may have a hole."""
        polygons = [part for part in shapely.get_parts(area) if part.geom_type == "Polygon"]
        rings = [ring.coords for part in polygons for ring in (part.exterior, *part.interiors)]
        path = "".join(f"M{'L'.join(map(self.at, ring))}Z" for ring in rings)
        return (
            f'<path d="{path}" fill="{palette.BAND}" fill-opacity="0.16" fill-rule="evenodd" '
            f'stroke="{palette.BAND_EDGE}" stroke-width="0.02" stroke-opacity="0.6"/>'
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


# ---------------------------------------------------------------- a room as it stands

MARK_M: Final = 0.15
ARRAY_M: Final = 0.2
CLOSE_ROUND_M: Final = 0.2
"""Paper round a room without its size beside it."""


def standing_svg(review: Review, *, lettered: bool = False) -> str:
    """The room from above as a review has it: the zone reached at seated mouths, arrays, and how talkers stand.

    `lettered`: with the names of arrays, tables and those who are not covered, for a picture that is large enough.
    """
    scene = review.scene
    paper = _Paper(scene.room.outline_m, CLOSE_ROUND_M)
    title = Locale.of(scene).say("start.plan of", room=scene.name)
    return paper.whole(title, list(_standing_parts(review, paper, lettered)))


def _standing_parts(review: Review, paper: _Paper, lettered: bool) -> Iterator[str]:
    scene = review.scene
    yield paper.polygon(scene.room.outline_m, palette.SOFT, palette.CUT, 0.06)
    for opening in scene.room.openings:
        colour = palette.GLASS if opening.kind == "window" else palette.DOOR
        yield paper.line(_ends(scene.room, opening), colour, 0.08)
    for table in scene.tables:
        yield paper.polygon(table.outline_m, palette.TABLE_TOP, palette.TABLE_EDGE)
        if lettered:
            yield paper.text(table.at_m, table.id)
    yield from _zones(scene, paper)
    for device in scene.overhead:
        yield paper.polygon(footprint(device), "none", palette.SYMBOL, 0.014)
    yield from _people(review, paper)
    for array in scene.arrays:
        if array.at_m is not None:
            yield paper.array(array.at_m)
    if lettered:
        yield from _names(review, paper)


def _people(review: Review, paper: _Paper) -> Iterator[str]:
    standing = {head.id: head.standing for head in review.heads}
    for head in review.scene.heads:
        if head.path_m:
            yield paper.line(head.path_m, palette.INK_SOFT, 0.02, "0.08 0.06")
        yield paper.mark(head.at_m, standing.get(head.id))


def _names(review: Review, paper: _Paper) -> Iterator[str]:
    for array in review.scene.arrays:
        if array.at_m is not None:
            yield paper.text((array.at_m[0], array.at_m[1] + ARRAY_M + LETTER_M / 2), array.id)
    for one in review.heads:
        if NAMED[one.standing]:
            x, y = review.scene.head(one.id).at_m
            yield paper.text((x, y - MARK_M - 0.6 * LETTER_M), one.id)


NAMED: Final = {"covered": False, "marginal": True, "blocked": True, "missed": True}
"""Which talkers have their name beside their mark."""


def _zones(scene: Scene, paper: _Paper) -> Iterator[str]:
    """What each array reaches on the level of seated mouths, inside the room."""
    level_m = mouth_level_m(scene, "seated")
    for array in scene.arrays:
        if level_m is None or array.at_m is None or array.band_name is None:
            continue
        radii = zone_on_level(array.profile.band(array.band_name), array.centre_m[2] - level_m)
        if radii is None:
            continue
        middle = Point(array.at_m)
        ring = middle.buffer(radii[1], 48).difference(middle.buffer(radii[0], 48))
        yield paper.area(ring.intersection(Polygon(scene.room.outline_m)))
