"""A ceiling in parts on its plan: edges where it steps, arrows up its slopes, a tag with kind and height for each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely

from scenes.room.scene import Scene
from scenes.rules.under import Region, regions_of
from viz.sheets.draft import Box, Point, View
from viz.sheets.labels import Name, Text, around_mm, disc_mm
from viz.sheets.section_ceiling import tag_of
from viz.words.locale import Locale

DOT_MM: Final = 0.45
"""Radius of the dot in a part at which the leader of its tag ends."""
TAG_STEP_M: Final = 0.2
"""So close are the places tried for that dot."""
IN_MM: Final = 0.8
"""So far is a tag from the edges of its part."""
EDGE_AS: Final = 2
"""Letters keep off an edge as off so many more lines."""
ARROW_SHARE: Final = 0.6
"""How much of the run of a slope its arrow is long."""
ASIDE: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
"""Where across a slope its arrow may be, the best first."""
BARB_MM: Final = 1.6
"""How long half an arrow's head is on paper."""


def edges(view: View, scene: Scene) -> None:
    """Where the ceiling steps."""
    if not scene.room.parts:
        return
    for region in regions_of(scene.room):
        for rings in region.areas:
            for ring in rings:
                before = len(view.segments)
                view.polyline("ceiling", list(ring), closed=True)
                view.segments.extend(EDGE_AS * view.segments[before:])


def arrows(view: View, scene: Scene) -> None:
    """An arrow up each slope, where the least is drawn in its way."""
    for region in regions_of(scene.room) if scene.room.parts else ():
        if region.part is None or region.part.surface.flat:
            continue
        rise = np.array(region.surface.rise) / math.hypot(*region.surface.rise)
        across = np.array([-rise[1], rise[0]])
        along, aside = (shapely.get_coordinates(region.area) @ way for way in (rise, across))
        half = ARROW_SHARE * (along.max() - along.min()) / 2
        low = rise * ((along.max() + along.min()) / 2 - half)
        wide = aside.max() - aside.min()
        tails = [low + across * (aside.min() + share * wide) for share in ASIDE]
        tail = min(tails, key=lambda tail: _in_the_way(view, region, tail, tail + 2 * half * rise))
        tip, barb, role = tail + 2 * half * rise, view.to_m(BARB_MM), f"symbol{view.suffix}"
        view.line(role, tuple(tail), tuple(tip))
        for side in (-0.45, 0.45):
            view.line(role, tuple(tip), tuple(tip - barb * rise + side * barb * across))


def _in_the_way(view: View, region: Region, tail: Any, tip: Any) -> int:
    """How much is drawn where an arrow would go; much more where it would leave its part."""
    line = shapely.LineString([tail, tip])
    on_paper = shapely.LineString([view.to_mm(tail), view.to_mm(tip)])
    met = shapely.intersects([shapely.box(*box) for box in view.boxes], on_paper)
    return int(np.count_nonzero(met)) + (0 if region.area.contains(line) else 1000)


def tags(view: View, scene: Scene) -> list[Name]:
    """The tags of a ceiling, each inside its part."""
    return [Name("", (Text(lines, area),), on=area) for _, area, lines in _tagged(view, scene)]


def tags_outside(view: View, scene: Scene, placed: Sequence[bool]) -> list[Name]:
    """The tags that found no place inside their parts: each at the end of a leader from a dot in it."""
    if not scene.room.parts:
        return []  # the levels beside every section tell it
    around, names = around_mm(view, scene.room.outline_m), []
    beside = around.difference(shapely.Polygon([view.to_mm(at) for at in scene.room.outline_m]))
    # inside the room on no edge of a part
    clear = shapely.union_all([area for _, area, _ in _tagged(view, scene)]).union(beside)
    for found, (region, _, lines) in zip(placed, _tagged(view, scene), strict=True):
        if not found:
            at, thing = _free_place(view, region.area), f"part {lines[0]}"
            view.fill(f"note{view.suffix}", [_disc(at, view.to_m(DOT_MM))])
            view.things[thing] = disc_mm(view, at, DOT_MM)
            names.append(
                Name(thing, (Text(lines, beside), Text(lines, clear), Text(lines, around)), led=True)
            )
    return names


def frames(view: View, boxes: Sequence[Box]) -> None:
    """A frame round each tag: it is the ceiling's name, no device's."""
    for x0, y0, x1, y1 in boxes:
        corners = [(view.to_m(x), view.to_m(y)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        view.polyline(f"leader{view.suffix}", corners, closed=True)


def _tagged(view: View, scene: Scene) -> list[tuple[Region, Any, tuple[str, str]]]:
    """Each part of the ceiling, its outline on paper, and the lines of its tag."""
    return [
        (
            region,
            _on_paper(view, region.area),
            (_kind(region, view.draft.locale), _heights(region, view.draft.locale)),
        )
        for region in regions_of(scene.room)
    ]


def _kind(region: Region, locale: Locale) -> str:
    """The name of a part of the ceiling with its kind, and the pitch of its grid."""
    grid, part = region.room.grid, tag_of(region, locale)
    if grid is None or region.room.ceiling_kind != "suspended":
        return part
    return locale.say("sheet.ceiling tag.grid", part=part, pitch=locale.drawn_size(*grid.pitch_m))


def _heights(region: Region, locale: Locale) -> str:
    """How high a part of the ceiling is, both ends of a slope."""
    low, high = (region.room.ceiling_m,) * 2 if region.part is None else region.part.surface.span_m
    if low == high and region.room.structure_m is not None and region.room.ceiling_kind == "suspended":
        void = locale.dimension(region.room.structure_m - low)
        return locale.say("sheet.ceiling height, void", height=locale.dimension(low), void=void)
    if low == high:
        return locale.say("sheet.ceiling height", height=locale.dimension(low))
    return locale.say("sheet.from to", low=locale.dimension(low), high=locale.dimension(high))


def _on_paper(view: View, area: Any) -> Any:
    """An area of the plan on paper, a little in."""
    on_paper = shapely.transform(area, lambda points: np.array([view.to_mm(at) for at in points]))
    return on_paper.buffer(-IN_MM, join_style="mitre")


def _disc(at: Point, radius_m: float) -> list[Point]:
    turns = (math.radians(angle) for angle in range(0, 360, 30))
    return [(at[0] + radius_m * math.cos(turn), at[1] + radius_m * math.sin(turn)) for turn in turns]


def _free_place(view: View, area: Any) -> Point:
    """A place in a part of the ceiling for the dot of its tag: the farthest from what is drawn and from its edges."""
    x0, y0, x1, y1 = area.bounds
    xs, ys = np.meshgrid(np.arange(x0, x1, TAG_STEP_M), np.arange(y0, y1, TAG_STEP_M))
    places = shapely.points(np.column_stack([xs.ravel(), ys.ravel()]))
    places = places[shapely.contains(area, places)]
    if not len(places):
        middle = area.representative_point()
        return middle.x, middle.y
    drawn = [shapely.box(*box) for box in view.boxes]
    taken = shapely.transform(
        shapely.union_all(drawn), lambda points: np.array([(view.to_m(x), view.to_m(y)) for x, y in points])
    )
    best = places[int(np.argmax(shapely.distance(places, taken.union(area.boundary))))]
    return best.x, best.y
