"""What must agree about the parts of a ceiling, and about plan outlines."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any, Final

from geometry.polygons import TOUCHING_M, Corners, area, crossing, turned_rectangle
from scenes.spec import shell
from scenes.spec.mistakes import MistakeCode, Path, path_text

Report = Callable[..., None]

PARTS: Final = ("room", "ceiling", "parts")
"""The path to a ceiling's parts."""
CLOSE_M = 1e-3  # corners nearer than this are one
CLOSE_M2 = 1e-6  # parts that overlap by less than this touch


def parts_agree(room: shell.Room, report: Report) -> None:
    """Report parts that leave the room, overlap or go above the structure."""
    import shapely  # only here: few rooms have parts

    areas = [
        polygon_of(part.corners, _shape_path(i, part), report) for i, part in enumerate(room.ceiling.parts)
    ]
    outline = polygon_of(room.corners, (), lambda *_, **__: None)
    for i, (part, mine) in enumerate(zip(room.ceiling.parts, areas, strict=True)):
        path = _shape_path(i, part)
        _under_structure(part, room.structure, (*PARTS, i), report)
        if mine is None or outline is None:
            continue
        if shapely.area(mine.difference(outline)) > CLOSE_M2:
            report(path, "part-outside")
        for k, other in enumerate(areas[:i]):
            if other is not None and shapely.area(mine.intersection(other)) > CLOSE_M2:
                report(path, "part-overlaps", other=path_text((*PARTS, k)))


def _shape_path(i: int, part: shell.CeilingPart) -> Path:
    return (*PARTS, i, "outline" if part.outline is not None else "at")


def polygon_of(corners: Corners, path: Path, report: Report) -> Any:
    """The outline as a polygon; None of one with mistakes, which are reported."""
    import shapely

    wrong: list[Path] = []

    def told(at: Path, code: MistakeCode, **allowed: Any) -> None:
        wrong.append(at)
        report(at, code, **allowed)

    outline_is_sound(corners, path, told)
    return None if wrong else shapely.Polygon(corners)


def _under_structure(part: shell.CeilingPart, structure: float | None, path: Path, report: Report) -> None:
    top = part.surface.span_m[1]
    if part.structure is not None:
        if part.structure < top - TOUCHING_M:
            report((*path, "structure"), "structure-low", ceiling_m=top)
    elif structure is not None and top > structure + TOUCHING_M:
        at = ("slope", "high") if part.slope is not None else ("height",)
        report((*path, *at), "part-above-structure", top_m=top, structure_m=structure)


def hung_as_told(
    ceiling: shell.Ceiling, told: str | None, places: Iterable[tuple[float, float] | None], report: Report
) -> None:
    """Report a suspension that is told for another kind of ceiling than an array hangs from."""
    for at in places:
        part = None if at is None else ceiling.over(at)
        if told is not None and part is not None and (part.kind or ceiling.kind) != told:
            report(("suspension", "ceiling"), "ceiling-kind", kind=part.kind or ceiling.kind)
            return


def lies_level(room: shell.Room | None, at: tuple[float, float] | None, path: Path, report: Report) -> None:
    """Report a flush array that would lie in a sloped part."""
    part = None if room is None or at is None else room.ceiling.over(at)
    if part is not None and part.slope is not None:
        report(path, "flush-slope", part=part.id)


def over_table(ceiling: shell.Ceiling, table: Any) -> float:
    """The lowest ceiling over a table, or over the rectangle about one that is neither round nor a polygon."""
    if not ceiling.parts:
        return ceiling.height
    import shapely

    if isinstance(table, shell.PolygonTable):
        top = shapely.Polygon(table.outline).buffer(0)
    elif len(table.size) == 1:
        top = shapely.Point(table.at).buffer(table.size[0] / 2)
    else:
        top = shapely.Polygon(turned_rectangle(table.at, table.size, table.turn))
    heights = []
    for part in ceiling.parts:
        under = top.intersection(shapely.Polygon(part.corners).buffer(0))
        if shapely.area(under) > CLOSE_M2:
            top = top.difference(under)
            heights += [part.surface.height_m((x, y)) for x, y in shapely.get_coordinates(under).tolist()]
    return min([*heights, *([ceiling.height] if shapely.area(top) > CLOSE_M2 or not heights else [])])


def outline_is_sound(corners: Corners, path: Path, report: Report) -> None:
    """Report what is wrong with a plan outline: corners twice, edges that cross, nothing inside."""
    for i, corner in enumerate(corners):
        if math.dist(corner, corners[(i + 1) % len(corners)]) < CLOSE_M:
            report((*path, i), "outline-closed" if i == len(corners) - 1 else "corner-twice")
            return
    pair = crossing(corners)
    if pair is not None:
        report(path, "outline-crosses", one=pair[0], other=pair[1])
    elif abs(area(corners)) < CLOSE_M:
        report(path, "outline-flat")
