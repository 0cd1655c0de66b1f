"""The ceiling where a section cuts it: linings with their steps, what is solid above, and parts behind the cut."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Any, Final, Protocol

import shapely

from geometry.records import record
from scenes.room.ceiling import solid_above_m
from scenes.room.scene import Room, Scene
from scenes.rules.under import Region, regions_of
from viz.sheets.draft import LINE_MM, Box, Point, View
from viz.sheets.plan_room import rings_of
from viz.words.locale import Locale

TILE_M: Final = 0.02
"""Thickness a ceiling's lining is drawn with."""
TEE_M: Final = 0.045
"""How high a line of its grid stands above its underside."""
LINING_MM: Final = 0.7
"""Width on paper of the line that a cut lining of a ceiling in parts is."""
KEPT_MM: Final = 1.5
"""Along a slope letters are kept off boxes that are no taller than this on paper."""
SAME_M: Final = 1e-6
FAR_M: Final = 1e3
AT_LINING: Final = 2.0
"""What a place that is not right beside a lining costs at least: there the name would be taken for another's."""


class Plane(Protocol):
    """Where a section cuts: it lies along x or y and looks across."""

    @property
    def start_m(self) -> Point: ...

    @property
    def looks(self) -> Point: ...

    def along(self, at: Sequence[float]) -> float: ...

    def beyond(self, at: Sequence[float]) -> float: ...


@record(frozen=True, slots=True)
class Piece:
    """A stretch of a ceiling along a cut: from and to where, how high at either end, and its region."""

    start_m: float
    end_m: float
    heights_m: tuple[float, float]
    region: Region

    @property
    def solid_m(self) -> float | None:
        """Height from which what is above it is solid; None where that is known to nobody."""
        at, room = self.region.area.representative_point(), self.region.room
        solid = solid_above_m(room.whole or room, (at.x, at.y))
        if solid is None and room.ceiling_kind != "suspended":
            return min(self.heights_m)
        return solid


def pieces_of(scene: Scene, cut: Plane) -> list[Piece]:
    """The ceiling's parts along a cut, from left to right."""
    axis = 0 if cut.looks[0] == 0 else 1
    found = []
    for region in regions_of(scene.room):
        for a, b in stretches(region.area, scene.room, axis, cut.start_m[1 - axis]):
            ends = [(v, cut.start_m[1]) if axis == 0 else (cut.start_m[0], v) for v in (a, b)]
            heights = region.surface.height_m(ends[0]), region.surface.height_m(ends[1])
            found.append(Piece(a, b, heights, region))
    return sorted(found, key=lambda piece: piece.start_m)


def stretches(area: Any, room: Room, axis: int, value: float) -> list[tuple[float, float]]:
    """The stretches of a line along an axis that lie inside an area."""
    (x0, y0), (x1, y1) = room.bounds_m
    ends = ((x0 - 1, value), (x1 + 1, value)) if axis == 0 else ((value, y0 - 1), (value, y1 + 1))
    shape = shapely.LineString(ends).intersection(area)
    parts = [one for one in shapely.get_parts(shape) if one.geom_type == "LineString" and one.length > 0]
    return sorted((min(c[axis] for c in part.coords), max(c[axis] for c in part.coords)) for part in parts)


def underside_of(pieces: Sequence[Piece]) -> list[Point]:
    """The corners of the ceiling's underside along a cut, its steps too, from left to right."""
    return [at for one in pieces for at in ((one.start_m, one.heights_m[0]), (one.end_m, one.heights_m[1]))]


def air_of(pieces: Sequence[Piece]) -> Any:
    """The room's air in the plane of a cut, from the floor to the ceiling, as a shape."""
    corners = [(pieces[0].start_m, 0.0), *underside_of(pieces), (pieces[-1].end_m, 0.0)]
    return shapely.make_valid(shapely.Polygon(corners))


def cut_parts(view: View, scene: Scene, cut: Plane) -> None:
    """A ceiling in parts where it is cut: heavy linings at their heights with their steps, and light what is behind."""
    axis, pieces = 0 if cut.looks[0] == 0 else 1, pieces_of(scene, cut)
    _behind(view, scene, cut, pieces)
    for run in _runs(pieces):
        corners = underside_of(run)
        view.polyline("ceiling", corners, const_width=view.paper(LINING_MM))
        for start, end in itertools.pairwise(corners):
            _keep_clear(view, start, end)
    for piece in pieces:
        grid = piece.region.room.grid
        if grid is not None:
            pitch, origin = grid.pitch_m[axis], grid.origin_m[axis]
            a, b, (low, high) = piece.start_m, piece.end_m, piece.heights_m
            for i in range(math.ceil((a - origin) / pitch), math.floor((b - origin) / pitch) + 1):
                x = origin + i * pitch
                z = low + (high - low) * (x - a) / (b - a)
                view.line("grid", (x, z), (x, z + TEE_M), avoid=False)


def _keep_clear(view: View, start: Point, end: Point) -> None:
    """Nothing is lettered over a lining."""
    (ax, ay), (bx, by) = view.to_mm(start), view.to_mm(end)
    pieces = max(1, math.ceil(min(abs(bx - ax), abs(by - ay)) / KEPT_MM))
    half = LINING_MM / 2
    for i in range(pieces):
        xs = sorted((ax + (bx - ax) * i / pieces, ax + (bx - ax) * (i + 1) / pieces))
        ys = sorted((ay + (by - ay) * i / pieces, ay + (by - ay) * (i + 1) / pieces))
        view.keep((xs[0] - half, ys[0] - half, xs[1] + half, ys[1] + half))


def cut_solid(view: View, pieces: Sequence[Piece], outer: tuple[float, float], top: float) -> None:
    """What is solid above each part of a ceiling, cut: hatched up to `top` from where it is known to begin."""
    known = itertools.groupby(pieces, lambda piece: piece.solid_m is not None)
    for run in (list(group) for solid, group in known if solid):
        lower: list[Point] = []
        for piece in run:
            sides = _solid_ends(piece)
            lower += [(piece.start_m, sides[0]), (piece.end_m, sides[1])]
        # it lies on the walls too
        if abs(run[0].start_m - pieces[0].start_m) < SAME_M:
            lower[0:0] = [(outer[0], lower[0][1])]
        if abs(run[-1].end_m - pieces[-1].end_m) < SAME_M:
            lower.append((outer[1], lower[-1][1]))
        ring = [*lower, (lower[-1][0], top), (lower[0][0], top)]
        view.fill("structure hatch", [ring])
        view.polyline("structure", lower)


def _solid_ends(piece: Piece) -> tuple[float, float]:
    """Where the solid begins at either end: along the lining itself where that is its underside."""
    solid = piece.solid_m
    assert solid is not None
    return piece.heights_m if solid <= min(piece.heights_m) + SAME_M else (solid, solid)


def _runs(pieces: Sequence[Piece]) -> Iterator[list[Piece]]:
    """Pieces that follow one another without a gap."""
    run: list[Piece] = []
    for piece in pieces:
        if run and abs(run[-1].end_m - piece.start_m) > SAME_M:
            yield run
            run = []
        run.append(piece)
    if run:
        yield run


def _behind(view: View, scene: Scene, cut: Plane, pieces: Sequence[Piece]) -> None:
    """The parts behind the cut that hang lower than what is cut, as far as nothing nearer hides them."""
    seen = air_of(pieces)
    side = _half_plane(cut)
    shapes = []
    for region in regions_of(scene.room):
        if region.part is None:
            continue
        for rings in rings_of(region.area.intersection(side)):
            corners = [(*at[:2], region.surface.height_m((at[0], at[1]))) for at in rings[0]]
            outline = [(cut.along(at), at[2]) for at in corners]
            outline += [(x, FAR_M) for x, _ in outline]
            shape = shapely.MultiPoint(outline).convex_hull
            shapes.append((min(cut.beyond(at) for at in corners), shape))
    for _, shape in sorted(shapes, key=lambda one: one[0]):
        for rings in rings_of(shape.intersection(seen)):
            for ring in rings:
                view.polyline("ceiling behind", ring, closed=True, avoid=False)
        seen = seen.difference(shape)


def _half_plane(cut: Plane) -> Any:
    """All that lies beyond a cut on plan."""
    (x, y), (u, v) = cut.start_m, cut.looks
    across = (-v * FAR_M, u * FAR_M)
    return shapely.Polygon(
        [
            (x + across[0], y + across[1]),
            (x - across[0], y - across[1]),
            (x - across[0] + u * FAR_M, y - across[1] + v * FAR_M),
            (x + across[0] + u * FAR_M, y + across[1] + v * FAR_M),
        ]
    )


def name_of(region: Region, locale: Locale) -> str:
    """What a part of the ceiling is called: its id; of the rest just the ceiling."""
    return locale.say("sheet.level.ceiling") if region.part is None else region.part.id


def tag_of(region: Region, locale: Locale) -> str:
    """The name of a part of the ceiling with its kind."""
    kind = locale.say(f"sheet.ceiling.{region.room.ceiling_kind}")
    return locale.say("sheet.part", part=name_of(region, locale), kind=kind)


def tags(view: View, scene: Scene, cut: Plane, within: Box) -> None:
    """The name and kind of each part that is cut, beside its lining where there is room; the levels tell it too."""
    named: set[str] = set()
    for piece in sorted(pieces_of(scene, cut), key=lambda one: one.start_m - one.end_m):
        text = tag_of(piece.region, view.draft.locale)
        if text not in named:
            named.add(text)
            middle = (piece.start_m + piece.end_m) / 2, sum(piece.heights_m) / 2
            beside = (90, 60, 120, 45, 135, -90)
            box, cost = view.free_place([text], middle, gap_mm=1.2, within=within, prefer=beside)
            if cost < AT_LINING:
                view.keep(box)
                view.add(text, (box[0] + 0.5, box[3] - LINE_MM + 1.0))


def levels(scene: Scene, cut: Plane, locale: Locale) -> list[tuple[float, str, str]]:
    """Each height at which a ceiling in parts is cut: how high, the names of what is there, and the height in words."""
    at: dict[float, list[str]] = {}
    for piece in pieces_of(scene, cut):
        for height in piece.heights_m:
            names = at.setdefault(round(height, 4), [])
            if (name := name_of(piece.region, locale)) not in names:
                names.append(name)
    return [(height, ", ".join(names), locale.dimension(height)) for height, names in at.items()]


def cut_flat(view: View, scene: Scene, cut: Plane, inside: Sequence[tuple[float, float]]) -> None:
    """A suspended ceiling in one piece, and the lines of its grid."""
    room, low = scene.room, scene.room.ceiling_m
    axis = 0 if cut.looks[0] == 0 else 1
    for a, b in inside:
        view.polyline("ceiling", [(a, low), (b, low), (b, low + TILE_M), (a, low + TILE_M)], closed=True)
    if room.grid is None:
        return
    left, right = inside[0][0], inside[-1][1]
    pitch, origin = room.grid.pitch_m[axis], room.grid.origin_m[axis]
    for i in range(math.ceil((left - origin) / pitch), math.floor((right - origin) / pitch) + 1):
        x = origin + i * pitch
        view.line("grid", (x, low), (x, low + TEE_M), avoid=False)


def steps(scene: Scene, cut: Plane, locale: Locale) -> list[tuple[str, float]]:
    """Where one part of the ceiling ends and the next begins along a cut, with the names of both."""
    return [
        (
            locale.say(
                "sheet.to.step", first=name_of(before.region, locale), second=name_of(after.region, locale)
            ),
            after.start_m,
        )
        for before, after in itertools.pairwise(pieces_of(scene, cut))
        if abs(before.end_m - after.start_m) < SAME_M
    ]
