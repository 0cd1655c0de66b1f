"""What the page's script is told: places, names, numbers as text, and what the picture needs. JSON-able.

The script computes no slack, no angle and no distance of its own; what it draws it is told here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from geometry.band import Band, footprint
from scenes.findings.heights import HeightTable
from scenes.findings.review import HeadReview, Review
from scenes.review.people import people_in
from scenes.room.ceiling import ceiling_over_m, highest_m, lowest_m
from scenes.room.scene import Array, Scene
from viz import palette
from viz.stage import Prop, Stage
from viz.stage.band import band_sides, mouth_levels, table_m
from viz.stage.dimensions import ROW_M, alike, row_m
from viz.stage.opened import FILMS, LEVEL_RINGS_M, OPEN_DEG
from viz.stage.people import CROWN_M, STEM_M
from viz.stage.shell import SLAB_M, camera_aim
from viz.views import CORNER_ANGLE_DEG, CORNER_RISE_TALL_DEG, TALL, corner
from viz.words import clearances as clearance_words
from viz.words import coverage, tour
from viz.words import heights as height_words
from viz.words import people as people_words
from viz.words.locale import Locale

EYES_ABOVE_MOUTH_M = 0.09
"""Where a view from somebody's place is taken from; for looking only, a common average, no source."""
RANKS = {"covered": 0, "marginal": 5, "blocked": 9, "missed": 9}
"""How much it matters, by state, that a talker's name is read where two would overlap."""
PAPER = "#FBFAF7"
"""Behind the room: white paper in soft light."""
OFF_AT_FIRST = ("sightlines", "region", "sectors")
"""Layers that answer a question only some ask: there, but not switched on."""


def facts(stage: Stage, table: HeightTable) -> dict[str, Any]:
    """Everything the script needs besides the GLB and the slider's table; lengths in metres."""
    scene, review = stage.scene, stage.review
    shown = {h.id: h for h in review.heads}
    heights: dict[str, Sequence[float]] = {one.id: one.heights_m for one in table.arrays}
    return {
        "format": "overtable/page/1",
        "name": scene.name,
        "units": scene.units,
        "colours": {
            **palette.STATE_COLOURS,
            "band": palette.BAND,
            "zone": palette.BAND,
            "zone_inner": palette.BAND_INNER,
            "zone_near": palette.BAND_NEAR,
            "zone_line": palette.BAND_EDGE,
            "line": palette.DIMENSION,
            "paper": PAPER,
        },
        "marks": {state: {"sign": sign, "rank": RANKS[state]} for state, sign in palette.STATE_MARKS.items()},
        "clay": _clay(),
        "zone": {
            "open_deg": OPEN_DEG,
            "level_rings_m": LEVEL_RINGS_M,
            "films": {name: strengths for name, _, strengths in FILMS},
        },
        "room": _room(scene),
        "corner": _corner(scene),
        "veil_m": _veil_m(scene),
        "heads": _heads(review),
        "arrays": [
            {
                **_so(scene, array),
                **_array(scene, array),
                "rings_over": rings_over(scene, array, heights.get(array.id, ())),
            }
            for array in scene.arrays
        ],
        "clearances": _clearances(review),
        "tour": [step._asdict() for step in tour.steps(review)],
        "labels": [_label(prop) for prop in stage if prop.kind == "label"],
        "seen_from": list(_seen_from(scene, shown)),
    }


def what_is_so(scene: Scene, review: Review) -> dict[str, Any]:
    """What changes when an array is moved: heads, places of arrays, clearances; entries as in `facts`."""
    shown = {h.id: h for h in review.heads}
    return {
        "heads": _heads(review),
        "arrays": [_so(scene, array) for array in scene.arrays],
        "clearances": _clearances(review),
        "seen_from": list(_seen_from(scene, shown)),
    }


def _heads(review: Review) -> list[dict[str, Any]]:
    """In the order of the review, which is the scene's; none before every array has a place."""
    people = people_in(review)
    shares = {} if people is None else people.covered_share
    return [_head(head, review.scene, shares[head.id]) for head in review.heads]


CLEARANCE_COLOURS = {"short": "missed", "advised": "marginal"}
"""The colour of the line to what is too close, or below advice; others have that of a plain line."""


def _clearances(review: Review) -> list[dict[str, Any]]:
    locale = Locale.of(review.scene)
    return [
        {
            "array": c.array,
            "against": c.against,
            "line_m": None if c.shown is None else c.shown.line_m,
            "colour": CLEARANCE_COLOURS.get(c.state, "line"),
            "text": clearance_words.of(c, locale),
        }
        for c in review.clearances
    ]


def _room(scene: Scene) -> dict[str, Any]:
    room = scene.room
    (x, y), (right, back) = room.bounds_m
    return {
        "outline_m": room.outline_m,
        "ceiling_m": highest_m(room),
        "slab_m": SLAB_M,
        "table_m": table_m(scene),
        "top_m": max(highest_m(room), room.structure_m or 0.0),
        "box": {"x": x, "y": y, "w": right - x, "d": back - y},
        # on plan the dimensions stand outside the walls, a row for each place that arrays have
        "margin_m": 0.75 + row_m(scene, ROW_M) * max(len(alike(scene, axis)) for axis in (0, 1)),
    }


def _corner(scene: Scene) -> dict[str, Any]:
    """Where the corner view looks from, in degrees from straight in front of the plan; in a tall picture elsewhere."""
    seen = corner(scene)
    return {
        "wide": {"azimuth": seen.out_deg + 90, "elevation": seen.rise_deg},
        "tall": {"azimuth": seen.out_tall_deg + 90, "elevation": CORNER_RISE_TALL_DEG},
        "tall_below": TALL,
        "angle_deg": CORNER_ANGLE_DEG,
        "points_m": seen.points.tolist(),
    }


def _clay() -> dict[str, dict[str, str]]:
    """By state, the colours of the parts of somebody who stands like that; of plain clay by "none"."""
    by_state: dict[str, dict[str, str]] = {}
    for state in (None, *palette.TINTS):
        parts: dict[str, str] = {part: palette.clay(part, state) for part in palette.CLAY}
        by_state[state or "none"] = {**parts, "ghost": palette.elsewhere(state)}
    return by_state


def head_texts(head: HeadReview, scene: Scene) -> dict[str, str]:
    """Angle, distance and margin of a head, by the classes of the page's cells."""
    said = coverage.talker(head, scene)
    return {"depression": said.angle, "slant": said.distance, "margin": said.margin}


def _head(head: HeadReview, scene: Scene, share: float | None) -> dict[str, Any]:
    text = head_texts(head, scene)
    people = people_words.in_place(share, head.posture, Locale.of(scene))
    return {
        "id": head.id,
        "at_m": head.mouth_m,
        "array": head.array,
        "state": head.standing,
        "word": coverage.talker(head, scene).state,
        "text": text,
        # of the height that is drawn: at another one the script has no share to say
        "line": " · ".join((*text.values(), people) if people else text.values()),
    }


def _so(scene: Scene, array: Array) -> dict[str, Any]:
    x, y, z = array.centre_m
    locale = Locale.of(scene)
    return {
        "id": array.id,
        "label": height_words.label(array.id, z, locale),
        "at_m": (x, y),
        "height_m": z,
        "band": array.band_name,
        "rings": rings(array.band, z, mouth_levels(scene, array)),
    }


def _array(scene: Scene, array: Array) -> dict[str, Any]:
    return {
        "home_m": array.centre_m,
        "home_band": array.band_name,
        "over_m": array.top_m - array.centre_m[2],
        "ceiling_m": ceiling_over_m(scene.room, array.at_m),
        "flush": array.profile.mount == "flush",
        "sides": {name: band_sides(array.profile.band(name)) for name in array.profile.bands},
    }


def rings_over(
    scene: Scene, array: Array, heights_m: Sequence[float]
) -> dict[str, list[list[tuple[float, ...]]]]:
    """By band, what `rings` gives at each of the heights."""
    levels = mouth_levels(scene, array)
    bands = {name: array.profile.band(name) for name in array.profile.bands}
    return {name: [rings(band, h, levels) for h in heights_m] for name, band in bands.items()}


def rings(band: Band, height_m: float, levels: list[tuple[float, float]]) -> list[tuple[float, ...]]:
    """(level, inner, outer, dashed) where the band meets the levels of mouths from that height: radii, metres.

    Dashed (1.0) at the level of those who stand, shown only where somebody stands that near.
    """
    found = ((level, away, footprint(band, height_m - level)) for level, away in levels)
    return [
        (level, round(radii[0], 3), round(radii[1], 3), float(away > 0))
        for level, away, radii in found
        if radii is not None and away <= radii[1]
    ]


def _veil_m(scene: Scene) -> float:
    lows = [device.low_m for device in scene.overhead] + [array.underside_m for array in scene.arrays]
    return max(min([lowest_m(scene.room), *lows]) - 0.03, 1.5)


def _label(prop: Prop) -> dict[str, Any]:
    kind = prop.id.split("/", 1)[0] if prop.layer == "labels" else "note"
    label: dict[str, Any] = {
        "kind": kind,
        "layer": prop.layer,
        "id": prop.about,
        "text": prop.text,
        "at_m": prop.anchor,
        "rank": prop.rank,
    }
    if prop.only:
        label["only"] = prop.only
    if prop.state:
        label["state"] = prop.state
    if kind == "head" and prop.anchor is not None:
        x, y, z = prop.anchor
        # on a stem over the hair, not on the face
        sign = {"at_m": (x, y, z + CROWN_M + STEM_M), "foot_m": (x, y, z + CROWN_M)}
        label |= {"pick": {"kind": "head", "id": prop.about}, **sign}
    return label


def _seen_from(scene: Scene, shown: dict[str, HeadReview]) -> Iterator[dict[str, Any]]:
    locale = Locale.of(scene)
    for head in scene.heads:
        x, y, z = head.middle_m
        ahead = math.radians(head.facing_deg)
        aim = (x + math.cos(ahead), y + math.sin(ahead), z + EYES_ABOVE_MOUTH_M)
        if head.id in shown:
            aim = scene.array(shown[head.id].array).centre_m
        yield {
            "name": f"head {head.id}",
            "title": locale.say("page.from.head", id=head.id),
            "own": head.id,
            "eye_m": (x, y, z + EYES_ABOVE_MOUTH_M),
            "aim_m": aim,
            "angle_deg": 64,
        }
    for camera in scene.cameras:
        yield {
            "name": f"camera {camera.id}",
            "title": locale.say("page.from.camera", id=camera.id),
            "own": camera.id,
            "eye_m": camera.at_m,
            "aim_m": camera_aim(scene, camera),
            # the spec's angle is across a picture of 16 to 9, the page's up and down
            "angle_deg": math.degrees(2 * math.atan(math.tan(math.radians(camera.angle_deg) / 2) * 9 / 16)),
        }
