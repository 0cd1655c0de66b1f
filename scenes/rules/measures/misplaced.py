"""Devices of the file where none of their kind can be: their data are to be checked, whoever hangs an array.

Too near the floor, above the ceiling, off the tile that they fill, or across the edge of a ceiling part. None of it is
judged: a height, a place, the grid or the ceiling may be what is wrong.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from geometry.polygons import turned_rectangle
from scenes.findings.cause import Cause
from scenes.room.ceiling import REST, ceiling_over_m, part_over, room_under
from scenes.room.kinds import IN_A_TILE, LAY_IN
from scenes.room.scene import Device, Room, Scene
from scenes.rules.applied import AppliedRule, applied_rules
from scenes.rules.measure import MET_M, Against, Measured
from scenes.rules.under import Region, regions_of

HERE = "ceiling"
"""What a rule about the place of devices has as its `to`."""

SQUARE_DEG = 0.5
"""Out of square with the grid by no more than this a fitting still lies in it."""

OVER_EDGE_M = 0.001
"""Less than this over an edge is none: outlines are given to the millimetre."""

Found = tuple[Device, Against, Measured]


def misplaced(scene: Scene) -> Iterator[Found]:
    """The devices that lie in a ceiling or hang from one, and cannot be where the file has them."""
    applied = next(one for one in applied_rules(scene).values() if one.rule.to == HERE)
    if applied.off:
        return
    regions = regions_of(scene.room) if scene.room.parts else ()
    for device in scene.overhead:
        if device.kind in IN_A_TILE:
            yield from _too_low_or_high(applied, scene.room, device)
            yield from _off_its_tile(applied, scene.room, device)
            for region in regions:
                yield from _over_an_edge(applied, scene.room, device, region)


def _too_low_or_high(applied: AppliedRule, room: Room, device: Device) -> Iterator[Found]:
    values = applied.rule.values
    lowest_m, above_m = values["lowest"], device.low_m - ceiling_over_m(room, device.at_m)
    if device.low_m < lowest_m - MET_M:
        cause = Cause("device-too-low", device.id, have_m=device.low_m, may_m=lowest_m)
        yield _found(applied, device, Against("floor", "floor", None), device.low_m, cause)
    elif above_m > values["above"] + MET_M:
        cause = Cause("device-too-high", device.id, have_m=above_m, may_m=values["above"])
        yield _found(applied, device, Against("ceiling", "ceiling", None), -above_m, cause)


def _off_its_tile(applied: AppliedRule, room: Room, device: Device) -> Iterator[Found]:
    """A fitting of whole tiles both ways, in the ceiling's plane, whose edges are not where tees are."""
    here = room_under(room, device.at_m)
    if here.grid is None or here.ceiling_kind != "suspended" or device.kind not in LAY_IN:
        return
    turn, size = device.turn_deg % 90, device.size
    square = min(turn, 90 - turn) <= SQUARE_DEG
    if not (_in_ceiling(device, here.ceiling_m) and size.own and square) or device.round:
        return
    sideways = round(device.turn_deg / 90) % 2 == 1
    extents = size.value[::-1] if sideways else size.value
    off = [
        _off_m(here.grid.pitch_m[k], here.grid.origin_m[k], device.at_m[k], extents[k], applied)
        for k in (0, 1)
    ]
    if None in off:
        return
    worst_m, most_m = max(one or 0.0 for one in off), applied.rule.values["off_tile"]
    if worst_m > most_m + MET_M:
        cause = Cause("device-off-tile", device.id, have_m=worst_m, may_m=most_m)
        yield _found(applied, device, Against("grid", "grid", None), -worst_m, cause)


def _off_m(
    pitch_m: float, origin_m: float, at_m: float, extent_m: float, applied: AppliedRule
) -> float | None:
    """How far a fitting is off the tiles that it fills along an axis; None where it is no whole number of them."""
    tiles = round(extent_m / pitch_m)
    if tiles < 1 or abs(extent_m - tiles * pitch_m) > applied.rule.values["whole_tiles"]:
        return None
    turn = (at_m - origin_m) / pitch_m - tiles / 2
    return abs(turn - round(turn)) * pitch_m


def _over_an_edge(applied: AppliedRule, room: Room, device: Device, region: Region) -> Iterator[Found]:
    """A device in one part of the ceiling that reaches into another region, where the ceiling is another."""
    import shapely  # only here: few ceilings have parts

    over = part_over(room, device.at_m)
    ceiling_m = ceiling_over_m(room, device.at_m)
    level = over is None or over.surface.flat
    same = region.surface.flat and level and math.isclose(region.room.ceiling_m, ceiling_m, abs_tol=1e-6)
    if region.part is over or same or not device.size.own or not _in_ceiling(device, ceiling_m):
        return
    shape = shapely.Polygon(_corners(device)).intersection(region.area)
    deep_m = max(
        (
            float(shapely.distance(shapely.Point(corner), shapely.boundary(region.area)))
            for corner in shapely.get_coordinates(shape)
        ),
        default=0.0,
    )
    if deep_m > OVER_EDGE_M:
        thing = REST if region.part is None else region.part.id
        kind = "ceiling" if region.part is None else "ceiling part"
        cause = Cause("device-over-edge", thing, have_m=deep_m)
        yield _found(applied, device, Against(thing, kind, None), -deep_m, cause)


def _in_ceiling(device: Device, ceiling_m: float) -> bool:
    """Whether the ceiling's plane goes through it, or it lies against it."""
    return device.low_m - OVER_EDGE_M <= ceiling_m <= device.low_m + device.depth_m + OVER_EDGE_M


def _corners(device: Device) -> list[tuple[float, float]]:
    if not device.round:
        return list(turned_rectangle(device.at_m, device.size_m, device.turn_deg))
    (x, y), radius_m = device.at_m, device.size_m[0] / 2
    ways = np.linspace(0, 2 * math.pi, 32, endpoint=False) + math.radians(device.turn_deg)
    return [(x + radius_m * math.cos(way), y + radius_m * math.sin(way)) for way in ways]


def _found(applied: AppliedRule, device: Device, against: Against, actual_m: float, cause: Cause) -> Found:
    return device, against, Measured(applied, None, actual_m, min(actual_m, 0.0), cause, judged=False)
