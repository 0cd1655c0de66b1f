"""The first look at a room: drawn and checked as far as it goes, before every array has a place."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from scenes.findings.first_look import FirstLook
from scenes.findings.review import AreaReview, ArrayReview, Counts, HeadReview, Review
from scenes.review.as_json import WRITTEN_OUT, clearance_as_json, heading_as_json
from scenes.review.counts import worst_counts
from scenes.room.area import Area
from scenes.room.ceiling import ceiling_over_m
from scenes.room.layouts import in_layouts
from scenes.room.scene import Array, Head, Scene
from scenes.rules.clearances import by_state, ceiling_clearances, clearances


def first_look(scene: Scene, *, ceiling: bool = False) -> FirstLook:
    """What there is to say of a room before every array has a place; with `ceiling` of its devices among themselves."""
    here = scene.with_arrays(tuple(array for array in scene.arrays if array.placed))
    return FirstLook(
        scene,
        Review(
            scene=here,
            verdict=None,
            counts=worst_counts(
                [Counts(len({head.person for head in one.heads})) for one in in_layouts(scene)]
            ),
            tolerance=None,
            heads=(),
            arrays=(),
            clearances=by_state(clearances(here), ceiling_clearances(scene) if ceiling else ()),
            sightlines=(),
            unblock=(),
            speech=None,
            waiting=tuple(array.id for array in scene.arrays if not array.placed),
        ),
    )


def first_look_as_json(look: FirstLook) -> dict[str, Any]:
    """The `overtable/review/1` object of it: what is not known is null, the verdict too."""
    scene = look.scene
    return {
        **heading_as_json(scene, None),
        "heads": [_head(head) | {"layout": one.layout} for one in in_layouts(scene) for head in one.heads],
        "arrays": [_array(array, scene) for array in scene.arrays],
        "areas": [_area(area) | {"layout": one.layout} for one in in_layouts(scene) for area in one.areas],
        "clearances": [clearance_as_json(clearance) for clearance in look.review.clearances],
        "sightlines": [],
        "unblock": [],
        "speech": None,
        "sound": None,
        "people": None,
        "heard": [],
        "criteria": [],
        "counts": asdict(look.review.counts),
        "tolerance": None,
        "tolerance_m": None,
        "layouts": [
            {
                "name": one.layout,
                "verdict": None,
                "counts": asdict(Counts(len({h.person for h in one.heads}))),
            }
            for one in in_layouts(scene)
            if one.layout is not None
        ],
    }


def _head(head: Head) -> dict[str, Any]:
    known = {
        "id": head.id,
        "posture": head.posture,
        "mouth_m": head.middle_m,
        "mouth_range_m": head.mouth_m,
        "sway_m": head.sway_m,
        "person": head.person,
        "blockers": (),
        "also_covered_by": (),
    }
    return {name: known.get(name) for name in (*HeadReview.__slots__, "covered_share", "neighbour")}


def _area(area: Area) -> dict[str, Any]:
    known = {
        "id": area.id,
        "posture": area.posture,
        "mouth_range_m": area.mouth_m,
        "sway_m": area.sway_m,
        "arrays": (),
        "uncovered": (),
    }
    return {name: known.get(name) for name in AreaReview.__slots__}


def _array(array: Array, scene: Scene) -> dict[str, Any]:
    """What of an array is given; what it does there is not told before every array hangs."""
    known = {"reach_m": array.profile.reach_m, "heads": ()}
    rest = {name: known.get(name) for name in ArrayReview.__slots__ if name not in WRITTEN_OUT}
    low_deg, high_deg = (None, None) if array.band_name is None else array.profile.bands[array.band_name]
    band = (
        None
        if array.band_name is None
        else {"name": array.band_name, "low_deg": low_deg, "high_deg": high_deg}
    )
    drop_m = None
    if array.at_m is not None and array.height_m is not None:
        drop_m = ceiling_over_m(scene.room, array.at_m) - array.height_m
    place = {"id": array.id, "at_m": array.at_m, "height_m": array.height_m, "drop_m": drop_m, "band": band}
    return {**place, **rest, "tolerance": None, "hang": None}
