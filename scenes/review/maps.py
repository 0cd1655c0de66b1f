"""Maps of margins: where in an area somebody is covered, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from geometry.coverage import State
from scenes.findings.maps import MapStep, MarginMap
from scenes.review.areas import shape_of
from scenes.room.area import Area
from scenes.room.scene import Posture, Scene

if TYPE_CHECKING:
    from geometry.anywhere import Area as Shape

STEP_M = 0.10
"""From one contour of a map to the next."""
STEPS = 5
"""Contours there are at most: what has more margin than the last is one with it."""


def area_maps(scene: Scene) -> tuple[MarginMap, ...]:
    """A map of each area; every array needs a place."""
    return tuple(_map(scene, area, area.id) for area in scene.areas)


def floor_map(scene: Scene, posture: Posture) -> MarginMap:
    """A map of the whole floor: where somebody of this posture may be and is covered; every array needs a place."""
    floor = next(one for one in scene.floor if one.posture == posture)
    return _map(scene, floor, None)


def _map(scene: Scene, area: Area, id: str | None) -> MarginMap:
    from geometry.anywhere import Stand, slack_maps

    whole = shape_of(area)
    stands = [Stand(array.centre_m, array.band) for array in scene.arrays]
    margins = [STEP_M * step for step in range(STEPS)]
    slacks = [0.0, *(area.sway_m + margin for margin in margins)]
    return MarginMap(
        id, area.posture, area.mouth_m, tuple(_steps(whole, margins, slack_maps(whole, stands, slacks)))
    )


def _steps(whole: Shape, margins: Sequence[float], at_least: Sequence[Any]) -> list[MapStep]:
    """What lies between each two of these shapes, each with more than the one before."""
    from geometry.anywhere import polygons_of

    uprights, *levels = at_least
    limits: list[tuple[State, float | None, float | None, Any, Any]] = [
        ("missed", None, None, whole.shape, uprights),
        ("marginal", None, 0.0, uprights, levels[0]),
        *(
            ("covered", low, high, inside, beyond)
            for low, high, inside, beyond in zip(
                margins, [*margins[1:], None], levels, [*levels[1:], None], strict=True
            )
        ),
    ]
    found = []
    for state, from_m, to_m, inside, beyond in limits:
        shape = inside if beyond is None else inside.difference(beyond)
        polygons = tuple(
            (_points(outline), tuple(_points(hole) for hole in holes))
            for outline, holes in polygons_of(shape)
        )
        if polygons:
            found.append(MapStep(state, from_m, to_m, polygons))
    return found


def _points(ring: Any) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in ring)
