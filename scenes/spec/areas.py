"""What must agree about areas, in which anybody may be anywhere: their outlines, their holes, the room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scenes.spec import occupants, shell
from scenes.spec.ceilings import CLOSE_M2, Report, polygon_of
from scenes.spec.mistakes import Path


def areas_agree(
    areas: Sequence[tuple[int, occupants.Area]],
    room: shell.Room | None,
    report: Report,
) -> None:
    """Report areas that cross themselves or leave the room, and holes that leave their area."""
    if not areas:
        return
    import shapely  # only here: few rooms have areas

    outline = None if room is None else polygon_of(room.corners, (), lambda *_, **__: None)
    for i, area in areas:
        path: Path = ("areas", i, "outline" if area.outline is not None else "at")
        shape = polygon_of(area.corners, path, report)
        if shape is None:
            continue
        if outline is not None and shapely.area(shape.difference(outline)) > CLOSE_M2:
            report(path, "area-outside")
        _holes_agree(area, shape, i, report)


def _holes_agree(area: occupants.Area, shape: Any, i: int, report: Report) -> None:
    import shapely

    before: list[tuple[Path, Any]] = []
    for k, corners in enumerate(area.holes):
        path: Path = ("areas", i, "holes", k)
        hole = polygon_of(corners, path, report)
        if hole is None:
            continue
        if not shapely.contains_properly(shape, hole):
            report(path, "hole-outside")
        for other, there in before:
            if shapely.intersects(hole, there):
                report(path, "hole-overlaps", other=other)
        before.append((path, hole))


def lowest_ceiling_over(area: occupants.Area, ceiling: shell.Ceiling) -> float:
    """The lowest the ceiling is over any place of an area, metres."""
    if not ceiling.parts:
        return ceiling.height
    import shapely

    shape = shapely.Polygon(area.corners)
    heights = [ceiling.height]
    for part in ceiling.parts:
        shared = shapely.intersection(shape, shapely.Polygon(part.corners))
        if shapely.area(shared) > CLOSE_M2:
            heights += [part.surface.height_m((x, y)) for x, y in shapely.get_coordinates(shared).tolist()]
    return min(heights)
