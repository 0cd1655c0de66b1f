"""Devices over a room: which are the room's, where they are, and how far they reach down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np
import shapely

from geometry.outlines import Circle, Rectangle, rectangle_round
from scenes.findings.model import Doubt, DoubtName, ModelCamera, ModelDevice, ModelDisplay, ModelOrigin
from scenes.models.ceilings import OVER_TOP_M, Overhead
from scenes.models.spaces import LEVEL_M, Space
from scenes.models.things import InRoom, Thing, corners_of_box, in_order, level_turn, near

RUNS: Final = ("beam", "duct", "pipe", "cable tray", "track")
"""Long things that go through rooms: what of them lies over a room is that room's."""
LEAST_RUN_M: Final = 0.05
"""A run that reaches less far into a room only touches it."""
STEM_WIDTH_M: Final = 0.08
"""What is no wider is a stem or a cord."""
LEAST_STEM_M: Final = 0.1
BELOW_FLOOR_M: Final = 0.05
SIMPLE_SHARE: Final = 0.75
"""A shadow that fills less of the rectangle drawn for it was simplified."""
AT_A_WALL_M: Final = 1.0
"""A screen this near to a wall hangs on it, its back to the wall."""

PREFIXES: Final = {
    "sprinkler": "SP",
    "light": "L",
    "supply diffuser": "DF",
    "return grille": "RG",
    "smoke detector": "SD",
    "loudspeaker": "LS",
    "projector": "PJ",
    "beam": "BM",
    "bulkhead": "BH",
    "exit sign": "EX",
    "emergency light": "EL",
    "strobe": "ST",
    "sensor": "SE",
    "access point": "AP",
    "access panel": "PN",
    "screen": "SC",
    "track": "TR",
    "fan": "FN",
    "duct": "DU",
    "pipe": "PI",
    "cable tray": "CT",
    "other": "OT",
}
"""What ids of imported devices begin with, by kind."""


@dataclass
class Hung:
    """What hangs over a room or looks into it."""

    devices: list[ModelDevice] = field(default_factory=list)
    cameras: list[ModelCamera] = field(default_factory=list)
    displays: list[ModelDisplay] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def hung(things: Sequence[Thing], space: Space, over: Overhead) -> Hung:
    """The room's devices, cameras and displays, with ids, in the order of a plan."""
    found = Hung()
    unsure: dict[str, list[tuple[DoubtName, ModelOrigin]]] = {}
    devices: list[ModelDevice] = []
    for one in near(things, space):
        kind = one.thing.kind
        if kind == "microphone":
            continue
        reasons: list[tuple[DoubtName, ModelOrigin]] = []
        if kind in ("camera", "display"):
            _looking(one, space, over, found, reasons)
        else:
            device = _device(one, space, over, reasons)
            if device is not None:
                devices.append(device)
        if one.thing.guessed:
            reasons.append(("device-kind", "guessed"))
        unsure[one.thing.guid] = reasons
    found.devices = _numbered(devices)
    found.cameras = [
        replace(one, id=f"CAM{i}") for i, one in enumerate(in_order(found.cameras, lambda one: one.at_m), 1)
    ]
    found.displays = [
        replace(one, id=f"DS{i}") for i, one in enumerate(in_order(found.displays, lambda one: one.at_m), 1)
    ]
    made: list[ModelDevice | ModelCamera | ModelDisplay] = [*found.devices, *found.cameras, *found.displays]
    for thing in made:
        found.doubts += [Doubt(thing.id, name, origin) for name, origin in unsure.get(thing.guid, ())]
    return found


def _numbered(devices: Sequence[ModelDevice]) -> list[ModelDevice]:
    named = []
    for kind in sorted({device.kind for device in devices}, key=list(PREFIXES).index):
        ordered = in_order([one for one in devices if one.kind == kind], lambda one: one.at_m)
        named += [replace(one, id=f"{PREFIXES[kind]}{i}") for i, one in enumerate(ordered, 1)]
    return named


def _device(
    one: InRoom, space: Space, over: Overhead, reasons: list[tuple[DoubtName, ModelOrigin]]
) -> ModelDevice | None:
    """The device, if it is the room's: its middle in the outline, under the slab, not far above the ceiling."""
    kind = one.thing.kind
    place = _run(one, space, reasons) if kind in RUNS else one.footprint(space.frame)
    if place is None or not shapely.contains_xy(space.outline, *place.middle_m):
        return None
    ceiling = over.ceiling_at(*place.middle_m)
    slab = over.slab_at(*place.middle_m)
    low, high = one.low_m, one.high_m
    if ceiling is None or low < -BELOW_FLOOR_M or low > ceiling + OVER_TOP_M:
        return None
    if slab is not None and low >= slab - LEVEL_M:
        return None
    shaped = one.thing.body is not None
    if not shaped:
        reasons.append(("device-place", "guessed"))
    elif isinstance(place, Rectangle) and kind not in RUNS and _simplified(one, place):
        reasons.append(("device-simplified", "flattened"))
    depth, stem = _stem(one) if shaped else (None, None)
    return ModelDevice(
        guid=one.thing.guid,
        kind=kind,
        at_m=place.middle_m,
        size_m=None if not shaped else (place.diameter_m,) if isinstance(place, Circle) else place.size_m,
        turn_deg=0.0 if isinstance(place, Circle) else place.turn_deg,
        lowest_m=low,
        below_m=ceiling - low,
        depth_m=depth,
        stem_m=stem,
        above_ceiling=low > ceiling + LEVEL_M,
        through_structure=slab is not None and high > slab + LEVEL_M,
        of_type=one.of_type,
    )


def _simplified(one: InRoom, place: Rectangle) -> bool:
    """Whether the rectangle says more than the shadow fills."""
    return bool(one.hull().area < SIMPLE_SHARE * corners_of_box(place).area)


def _run(one: InRoom, space: Space, reasons: list[tuple[DoubtName, ModelOrigin]]) -> Rectangle | None:
    """What of a long thing lies over the room, as a rectangle; None if it only touches it."""
    hull = one.hull()
    inside = hull.intersection(space.outline)
    if inside.area < LEAST_RUN_M**2 or inside.buffer(-LEAST_RUN_M / 2).is_empty:
        return None
    whole = inside.area > 0.999 * hull.area
    if not whole:
        reasons.append(("device-cut", "straightened"))
    found = one.footprint(space.frame) if whole else level_turn(rectangle_round(inside))
    return found if isinstance(found, Rectangle) else Rectangle(found.middle_m, (found.diameter_m,) * 2, 0.0)


def _stem(one: InRoom) -> tuple[float, float | None]:
    """How far a device reaches up from its lowest point, and the thin stem or cord above that, if it has one."""
    z = one.points[:, 2]
    low, high = one.low_m, one.high_m
    order = np.argsort(-z)
    from_top = one.points[order, :2]
    spread = np.maximum.accumulate(from_top, axis=0) - np.minimum.accumulate(from_top, axis=0)
    thin = int(np.argmax(np.append(spread.max(axis=1) > STEM_WIDTH_M, True)))
    if thin == 0 or thin == len(z):
        return high - low, None
    shoulder = float(z[order[thin]])
    if high - shoulder < LEAST_STEM_M:
        return high - low, None
    return shoulder - low, high - shoulder


def _looking(
    one: InRoom,
    space: Space,
    over: Overhead,
    found: Hung,
    reasons: list[tuple[DoubtName, ModelOrigin]],
) -> None:
    """A camera or a screen, if it is in the room."""
    low, high = one.points.min(axis=0), one.points.max(axis=0)
    x, y, z = ((low + high) / 2).tolist()
    ceiling = over.ceiling_at(x, y)
    if ceiling is None or not -BELOW_FLOOR_M <= low[2] <= ceiling:
        return
    if not shapely.contains_xy(space.outline.buffer(AT_A_WALL_M / 10), x, y):
        return
    if one.thing.kind == "camera":
        found.cameras.append(ModelCamera(one.thing.guid, (x, y, z)))
        return
    place = one.footprint(space.frame)
    if isinstance(place, Circle):
        return
    width, depth = place.size_m
    across = place.turn_deg + (90.0 if width >= depth else 0.0)
    facing, sure = _facing(space.outline, (x, y), across)
    if not sure:
        reasons.append(("display-facing", "guessed"))
    found.displays.append(
        ModelDisplay(one.thing.guid, (x, y, z), max(width, depth), float(high[2] - low[2]), facing)
    )


def _facing(outline: Any, at: tuple[float, float], across_deg: float) -> tuple[float, bool]:
    """Of the two ways a flat thing may look, the one away from the wall behind it, and whether one is there."""
    edge = outline.exterior
    c, s = math.cos(math.radians(across_deg)), math.sin(math.radians(across_deg))
    ways = []
    for sign in (1.0, -1.0):
        behind = shapely.LineString([at, (at[0] - sign * 100 * c, at[1] - sign * 100 * s)])
        met = behind.intersection(edge)
        ways.append(shapely.Point(at).distance(met) if not met.is_empty else 0.0)
    facing = across_deg if ways[0] <= ways[1] else across_deg + 180.0
    return round(facing % 360, 4) % 360, min(ways) <= AT_A_WALL_M
