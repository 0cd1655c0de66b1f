"""Areas as props: their outlines on the floor, and on floor and table tops how much margin there is where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from scenes.findings.maps import MapStep, MarginMap
from scenes.findings.review import Review
from scenes.review.maps import area_maps, floor_map
from scenes.room.area import Area
from scenes.room.scene import Posture, Scene
from viz import palette as ink
from viz.forms import join
from viz.stage.props import (
    Floats,
    Prop,
    Stage,
    at_height,
    closed,
    label_prop,
    level_face,
    mesh_prop,
    stroke_prop,
)
from viz.words import areas as area_words
from viz.words.locale import Locale

ON_FLOOR_M = 0.014
"""The map lies on the floor like a carpet, over what an array covers there."""
ON_TOP_M = 0.004
"""And so much over a table's top, where a mouth leans over it."""
HATCH_M = 0.16
"""From one line of the hatch of what is not covered to the next."""


def areas(scene: Scene, review: Review) -> list[Prop]:
    """What an area is, and how it stands."""
    if not scene.areas:
        return []
    return [*_outlines(scene, review), *(_margins(scene, area_maps(scene)) if review.judged else ())]


def _outlines(scene: Scene, review: Review) -> Iterator[Prop]:
    states = {judged.id: judged.state for judged in review.areas}
    for area in scene.areas:
        state = states.get(area.id, "")
        colour = ink.STATE_COLOURS["missed"] if state == "missed" else ink.AREA_EDGE
        rings = [at_height(closed(ring), ON_FLOOR_M + 0.002) for ring in (area.outline_m, *area.holes_m)]
        more: dict[str, object] = {"about": area.id, "state": state}
        yield stroke_prop(f"{area.id}/outline", "areas", rings, ink.AREA_EDGE, width_pt=1.4, **more)
        at = (*_middle(area), ON_FLOOR_M)
        yield label_prop(f"area/{area.id}", "labels", area.id, at, colour=colour, rank=3, **more)


def _middle(area: Area) -> tuple[float, float]:
    import shapely

    shape = shapely.Polygon(area.outline_m, area.holes_m)
    x, y = shapely.get_coordinates(shapely.point_on_surface(shape))[0]
    return float(x), float(y)


def on_floor(stage: Stage, posture: Posture) -> Stage:
    """The stage with a map of the whole floor in place of those of its areas; every array needs a place."""
    others = (prop for prop in stage if prop.layer != "margins")
    made = _margins(stage.scene, (floor_map(stage.scene, posture),))
    return Stage(stage.scene, stage.review, (*others, *made))


def _margins(scene: Scene, maps: Sequence[MarginMap]) -> Iterator[Prop]:
    locale = Locale.of(scene)
    for found in maps:
        for number, step in enumerate(found.steps):
            id, said = f"{found.id or 'floor'}/{number}", area_words.step(step, locale)
            colour = ink.margin_colour(step.state, step.from_m)
            more: dict[str, object] = {"about": found.id or "", "state": step.state}
            faces = list(_draped(step, scene))
            forms = join(*(level_face(loops, z) for loops, z in faces))
            flat: dict[str, object] = {"opacity": 0.8, "crease_deg": 0.0, "solid": ""}
            yield mesh_prop(id, "margins", forms, colour, legend=said, **flat, **more)
            if step.state == "missed":
                strokes = [line for loops, z in faces for line in _hatched(loops, z + 0.001)]
                yield stroke_prop(
                    f"{id}/hatch", "margins", strokes, ink.CLASH, width_pt=0.5, opacity=0.7, **more
                )
            else:
                rings = [at_height(closed(ring), z + 0.001) for loops, z in faces for ring in loops]
                yield stroke_prop(
                    f"{id}/edge", "margins", rings, ink.PAPER, width_pt=0.5, opacity=0.7, **more
                )


def _draped(step: MapStep, scene: Scene) -> Iterator[tuple[list[Floats], float]]:
    """The step's polygons as outline and holes, on the floor, and on the tops of the tables that they reach over."""
    import shapely

    for outline, holes in step.polygons:
        shape = shapely.Polygon(outline, holes)
        yield from ((loops, ON_FLOOR_M) for loops in _loops(shape))
        for table in scene.tables:
            over = shape.intersection(shapely.Polygon(table.outline_m))
            yield from ((loops, table.height_m + ON_TOP_M) for loops in _loops(over))


def _loops(shape: Any) -> Iterator[list[Floats]]:
    import shapely

    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and part.area > 1e-6:
            turned = shapely.geometry.polygon.orient(part)
            yield [np.asarray(ring.coords)[:-1] for ring in (turned.exterior, *turned.interiors)]


def _hatched(loops: Sequence[Floats], z: float) -> Iterator[Floats]:
    """Lines at 45° across a level face."""
    import shapely

    shape = shapely.Polygon(loops[0], loops[1:])
    left, low, right, high = shape.bounds
    rise = high - low
    # counted from the plan's origin, so that the lines of neighbours meet
    first = np.floor((left - high) / HATCH_M) * HATCH_M
    for start in np.arange(first, right - low + HATCH_M, HATCH_M):
        cut = shapely.LineString([(start + low, low), (start + low + rise, high)]).intersection(shape)
        for part in shapely.get_parts(cut):
            if part.geom_type == "LineString" and part.length > 0.01:
                yield at_height(np.asarray(part.coords), z)
