"""What the page's script is told: places, names, numbers as text, and what the picture needs. JSON-able.

The script computes no slack, no angle and no distance of its own; what it draws it is told here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from geometry.band import Band
from geometry.shapes import Box, Point2, Point3
from scenes.review import HeadReview, Review
from scenes.scene import Array, Camera, Head, Scene
from scenes.words import length
from viz import palette

AROUND = 24
"""Corners of a round thing's shadow."""
EYES_ABOVE_MOUTH_M = 0.09
"""Where a view from somebody's place is taken from; for looking only, an average from memory."""
SHOULDERS_M = (0.24, 0.19)
"""Half width and half depth of a person's shadow; for looking only."""
LAYERS = {
    "room": "Room",
    "furniture": "Furniture",
    "people": "People",
    "ceiling": "Ceiling grid",
    "overhead": "Overhead devices",
    "arrays": "Arrays",
    "band": "Bands",
    "labels": "Labels",
}


def facts(scene: Scene, review: Review) -> dict[str, Any]:
    """Everything the script needs besides the GLB and the slider's table; lengths in metres."""
    shown = {h.id: h for h in review.heads}
    return {
        "format": "overtable/page/1",
        "name": scene.name,
        "units": scene.units,
        "colours": {**palette.STATE_COLOURS, "band": palette.BAND, "line": palette.DIMENSION},
        "room": {"outline_m": scene.room.outline_m, "ceiling_m": scene.room.ceiling_m},
        "mouth_m": float(np.median([head.middle_m[2] for head in scene.heads])),
        "veil_m": _veil_m(scene),
        "heads": [_head(shown[head.id], scene.units) for head in scene.heads],
        "arrays": [_array(array) for array in scene.arrays],
        "clearances": [
            {
                "array": c.array,
                "against": c.against,
                "state": c.state,
                "text": " of ".join(length(m, scene.units) for m in (c.actual_m, c.required_m) if m is not None),
            }
            for c in review.clearances
        ],
        "labels": list(_labels(scene, review)),
        "shadows": list(_shadows(scene)),
        "seen_from": list(_seen_from(scene, shown)),
    }


def signed_margin(margin_m: float, units: str) -> str:
    """A margin with its sign: `+0.21 m`."""
    return f"{'−' if margin_m < 0 else '+'}{length(abs(margin_m), units)}"


def head_texts(head: HeadReview, units: str) -> dict[str, str]:
    """Depression, slant and margin of a head as the page writes them."""
    return {
        "depression": f"{head.depression_deg:.1f}°",
        "slant": length(head.slant_m, units),
        "margin": signed_margin(head.margin_m, units),
    }


def band_sides(band: Band) -> list[list[Point2]]:
    """The four sides of a band's section as lines of (radius, height above the acoustic centre), metres.

    Swept about the vertical they are the solid that is drawn: near and far pieces of spheres, low and
    high cones.
    """
    cos_low, sin_low, sin_high, cos_high = band.edge_sines
    angles = np.radians(np.linspace(band.low_deg, band.high_deg, max(3, round((band.high_deg - band.low_deg) / 2))))

    def arc(radius: float) -> list[Point2]:
        return [(round(radius * math.cos(a), 4), round(-radius * math.sin(a), 4)) for a in angles]

    def cone(cos: float, sin: float) -> list[Point2]:
        return [(round(r * cos, 4), round(-r * sin, 4)) for r in (band.far_m, band.near_m)]

    return [arc(band.far_m), cone(cos_high, sin_high), arc(band.near_m)[::-1], cone(cos_low, sin_low)[::-1]]


def _head(head: HeadReview, units: str) -> dict[str, Any]:
    text = head_texts(head, units)
    return {
        "id": head.id,
        "at_m": head.mouth_m,
        "array": head.array,
        "state": head.state,
        "text": text,
        "line": " · ".join(text.values()),
    }


def _array(array: Array) -> dict[str, Any]:
    return {
        "id": array.id,
        "at_m": array.centre_m[:2],
        "height_m": array.centre_m[2],
        "home_m": array.centre_m,
        "over_m": array.top_m - array.centre_m[2],
        "band": array.band_name,
        "flush": array.profile.mount == "flush",
        "sides": {name: band_sides(array.profile.band(name)) for name in array.profile.bands},
    }


def _veil_m(scene: Scene) -> float:
    lows = [device.low_m for device in scene.overhead] + [array.underside_m for array in scene.arrays]
    return max(min([scene.room.ceiling_m, *lows]) - 0.03, 1.5)


def _labels(scene: Scene, review: Review) -> Iterator[dict[str, Any]]:
    states = {head.id: head.state for head in review.heads}
    short = {c.against for c in review.short}
    for array in scene.arrays:
        yield {"kind": "array", "layer": "arrays", "id": array.id, "text": array.id, "at_m": array.centre_m}
    for head in scene.heads:
        x, y, _ = head.middle_m
        yield {
            "kind": "head",
            "layer": "people",
            "id": head.id,
            "text": head.id,
            "state": states[head.id],
            "at_m": (x, y, head.mouth_m[1] + 0.2),
            "pick": {"kind": "head", "id": head.id},
        }
    for device in scene.overhead:
        yield {
            "kind": "device",
            "layer": "overhead",
            "id": device.id,
            "text": f"{device.id} {device.kind}",
            "short": device.id in short,
            "at_m": (*device.at_m, device.low_m),
        }
    for camera in scene.cameras:
        yield {"kind": "camera", "layer": "furniture", "id": camera.id, "text": camera.id, "at_m": camera.at_m}
    for display in scene.displays:
        x, y, z = display.at_m
        at = (x, y, z + display.height_m / 2)
        yield {"kind": "display", "layer": "furniture", "id": display.id, "text": display.id, "at_m": at}


def _shadows(scene: Scene) -> Iterator[dict[str, Any]]:
    for table in scene.tables:
        yield {"outline_m": table.outline_m, "height_m": table.height_m}
    for head in scene.heads:
        yield {"outline_m": _person_on_plan(head), "height_m": 0.4}
    for obstacle in scene.obstacles:
        if isinstance(obstacle.solid, Box):
            yield {"outline_m": obstacle.solid.corners_on_plan(), "height_m": 0.3 + obstacle.solid.low_m}


def _person_on_plan(head: Head) -> list[Point2]:
    wide, deep = SHOULDERS_M
    facing = math.radians(head.facing_deg)
    c, s = math.cos(facing), math.sin(facing)
    # the mouth is at the front of the body
    x, y = head.at_m[0] - 0.12 * c, head.at_m[1] - 0.12 * s
    turns = [2 * math.pi * i / AROUND for i in range(AROUND)]
    ring = [(deep * math.cos(t), wide * math.sin(t)) for t in turns]
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in ring]


def _seen_from(scene: Scene, shown: dict[str, HeadReview]) -> Iterator[dict[str, Any]]:
    for head in scene.heads:
        x, y, z = head.middle_m
        aim = scene.array(shown[head.id].array).centre_m
        yield {
            "name": f"head {head.id}",
            "title": f"{head.id}, a talker",
            "own": head.id,
            "eye_m": (x, y, z + EYES_ABOVE_MOUTH_M),
            "aim_m": aim,
            "angle_deg": 64,
        }
    for camera in scene.cameras:
        yield {
            "name": f"camera {camera.id}",
            "title": f"{camera.id}, a camera",
            "own": camera.id,
            "eye_m": camera.at_m,
            "aim_m": _camera_aim(scene, camera),
            # the spec's angle is across a picture of 16 to 9, the page's up and down
            "angle_deg": math.degrees(2 * math.atan(math.tan(math.radians(camera.angle_deg) / 2) * 9 / 16)),
        }


def _camera_aim(scene: Scene, camera: Camera) -> Point3:
    if camera.aim_m is not None:
        return camera.aim_m
    x, y, z = np.mean([head.middle_m for head in scene.heads], axis=0)
    return float(x), float(y), float(z)
