"""Areas on the floor plan: their outlines, and how much margin there is where."""

from __future__ import annotations

from typing import Any, Final

import shapely

from scenes.findings.maps import MapStep, MarginMap
from scenes.findings.review import Review
from scenes.review.maps import STEP_M, STEPS, area_maps
from scenes.room.scene import Scene
from viz.sheets.draft import View
from viz.sheets.labels import Name, Text
from viz.sheets.plan_room import rings_of

HATCH_MM = 1.4
"""Between the lines of what is not covered, on paper."""

UNCOVERED: Final = {"missed": "margin missed", "marginal": "margin marginal"}
COVERED: Final = ("margin 0", "margin 1", "margin 2", "margin 3", "margin 4")
"""Fills, by how many contours are below."""


def role_of(step: MapStep) -> str:
    """The fill of a step of a map: by its state, and of what is covered by how many contours are below it."""
    if step.state != "covered" or step.from_m is None:
        return UNCOVERED[step.state]
    return COVERED[min(round(step.from_m / STEP_M), STEPS - 1)]


def areas(view: View, review: Review) -> None:
    """The outlines, and once all arrays hang the maps, filled, with their contours; under what stands in the room."""
    scene = review.scene
    for found in area_maps(scene) if review.judged else ():
        for step in found.steps:
            for part in (rings for polygon in step.polygons for rings in rings_of(_shape(polygon))):
                view.fill(role_of(step), part)
                if step.state == "missed":
                    view.hatch("margin hatch", part, spacing_mm=HATCH_MM)
                for ring in part:
                    view.polyline("margin line", ring, closed=True, avoid=False)
    for area in scene.areas:
        for outline in (area.outline_m, *area.holes_m):
            view.polyline("area", outline, closed=True, avoid=False)


def area_names(view: View, scene: Scene) -> list[Name]:
    """The name of each area, in it."""
    names = []
    for area in scene.areas:
        holes = [[view.to_mm(point) for point in hole] for hole in area.holes_m]
        shape = shapely.Polygon([view.to_mm(point) for point in area.outline_m], holes)
        names.append(Name("", (Text((area.id,), shape),), on=shape))
    return names


def steps_of(maps: tuple[MarginMap, ...]) -> dict[str, MapStep]:
    """Each step that a map has, by its fill, from the least margin to the largest."""
    found = {role_of(step): step for one in maps for step in one.steps}
    return {role: found[role] for role in (*UNCOVERED.values(), *COVERED) if role in found}


def _shape(polygon: Any) -> Any:
    outline, holes = polygon
    return shapely.Polygon(outline, holes)
