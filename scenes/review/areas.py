"""Areas judged: anybody anywhere in one, by one array or by several together.

The geometry of it loads shapely, and few rooms have areas: it is imported where it is needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry.band import ON_EDGE_M, Band
from geometry.coverage import Heads, State, cover
from geometry.shapes import Point3
from scenes.findings.review import AREA_STATES, AreaReview
from scenes.room.area import Area
from scenes.room.scene import Array, Scene

if TYPE_CHECKING:
    from geometry.anywhere import Area as Shape
    from geometry.anywhere import Stand

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


def review_areas(scene: Scene) -> tuple[AreaReview, ...]:
    """How each area stands to the arrays where they hang; every array needs a place."""
    return tuple(_reviewed(scene, area) for area in scene.areas)


def area_states(scene: Scene) -> tuple[State, ...]:
    """How each area stands, and no more."""
    return tuple(
        _state_of(area, [(array.centre_m, array.band) for array in scene.arrays]) for area in scene.areas
    )


def area_standing(scene: Scene, band: Band, places: Floats, others: Sequence[Array]) -> Indices:
    """(p, areas) into AREA_STATES: how areas stand with an array of this band at each place (p, 3) beside the others."""
    standing = np.zeros((len(places), len(scene.areas)), np.int64)
    if not scene.areas or not len(places):
        return standing
    if not others:
        rows = as_rows([shape_of(area) for area in scene.areas])
        slack_m = cover(places, [band] * len(places), rows).slack_m
        keep_m = np.array([area.sway_m for area in scene.areas])
        return np.asarray((slack_m < keep_m - ON_EDGE_M).astype(int) + (slack_m < -ON_EDGE_M), np.int64)
    there = [(other.centre_m, other.band) for other in others]
    for k, (x, y, z) in enumerate(places.tolist()):
        for i, area in enumerate(scene.areas):
            standing[k, i] = AREA_STATES.index(_state_of(area, [((x, y, z), band), *there]))
    return standing


def only_by(scene: Scene, array: Array, areas: Sequence[AreaReview]) -> tuple[Heads, tuple[str, ...]]:
    """What of the covered areas this array alone covers, as rows, and the area's id of each."""
    left: list[Shape] = []
    ids: list[str] = []
    if any(found.state == "covered" for found in areas):
        from geometry.anywhere import polygons_of, slack_maps

        others = [_stand(one.centre_m, one.band) for one in scene.arrays if one.id != array.id]
        for area, found in zip(scene.areas, areas, strict=True):
            if found.state == "covered":
                whole = shape_of(area)
                (elsewhere,) = slack_maps(whole, others, (area.sway_m,))
                parts = polygons_of(whole.shape.difference(elsewhere))
                left += [_part(whole, outline, holes) for outline, holes in parts]
                ids += [area.id] * len(parts)
    return as_rows(left), tuple(ids)


def as_rows(shapes: Sequence[Shape]) -> Heads:
    """Areas as heads: nobody where there are none."""
    if not shapes:
        return Heads.at(np.zeros((0, 3)))
    from geometry.anywhere import as_heads

    return as_heads(shapes)


def shape_of(area: Area) -> Shape:
    """An area as the geometry floor takes it."""
    import shapely

    from geometry.anywhere import Area as Shape

    return Shape(shapely.Polygon(area.outline_m, area.holes_m), *area.mouth_m, area.sway_m)


def _part(whole: Shape, outline: Floats, holes: Sequence[Floats]) -> Shape:
    import shapely

    return replace(whole, shape=shapely.Polygon(outline, holes))


def _stand(at_m: Point3, band: Band) -> Stand:
    from geometry.anywhere import Stand

    return Stand(at_m, band)


def _reviewed(scene: Scene, area: Area) -> AreaReview:
    from geometry.anywhere import slack_maps, without_holes, worst_of

    whole = shape_of(area)
    stands = [_stand(array.centre_m, array.band) for array in scene.arrays]
    worst = worst_of(whole, stands)
    state = _named(worst.slack_m, area.sway_m)
    (covered,) = slack_maps(whole, stands, (area.sway_m,))
    each = [slack_maps(whole, [stand], (area.sway_m,))[0].area for stand in stands]
    share = 1.0 if state == "covered" else min(covered.area / whole.shape.area, 1.0)
    uncovered = [] if state == "covered" else without_holes(whole.shape.difference(covered))
    return AreaReview(
        id=area.id,
        layout=None,
        posture=area.posture,
        mouth_range_m=area.mouth_m,
        sway_m=area.sway_m,
        covered_share=share,
        slack_m=worst.slack_m,
        margin_m=worst.slack_m - area.sway_m,
        worst_at_m=worst.at_m,
        arrays=tuple(array.id for array, own_m2 in zip(scene.arrays, each, strict=True) if own_m2 > 0),
        state=state,
        uncovered=tuple(tuple((float(x), float(y)) for x, y in outline) for outline in uncovered),
    )


def _state_of(area: Area, arrays: Sequence[tuple[Point3, Band]]) -> State:
    from geometry.anywhere import keeps

    whole, stands = shape_of(area), [_stand(at_m, band) for at_m, band in arrays]
    if keeps(whole, stands, area.sway_m):
        return "covered"
    return "marginal" if keeps(whole, stands, 0.0) else "missed"


def _named(slack_m: float, sway_m: float) -> State:
    if slack_m - sway_m >= -ON_EDGE_M:
        return "covered"
    return "marginal" if slack_m >= -ON_EDGE_M else "missed"
