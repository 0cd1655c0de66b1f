"""Devices of the file against each other, as `check --ceiling` asks: advice for the architect, whoever hangs an array.

A rule with `to` asks its distance of every device that it applies to from every device of that kind. Two that are in
one place are told by the rule that no two things are.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import shapely

from geometry.shapes import Cylinder, Solid
from scenes.findings.cause import Cause
from scenes.room.provenance import Given
from scenes.room.scene import Device, Scene
from scenes.rules.applied import AppliedRule, applied_rules
from scenes.rules.measure import MET_M, Against, Measured

BUILT_IN = ("beam", "bulkhead")
"""What devices are let into, as into the ceiling."""
IN_EACH_OTHER_M = 0.001
"""Less than this is no overlap: outlines are given to the millimetre."""


def between_devices(scene: Scene) -> Iterator[tuple[Device, Against, Measured]]:
    """Each pair that a rule is about, with what it asks and what is there; and each pair in one place.

    None of them is ever more than advised: the architect's ceiling is not overtable's to fail.
    """
    for applied in applied_rules(scene).values():
        if applied.rule.to is not None:
            yield from _kept_apart(applied, scene)
        elif "device" in applied.rule.applies_to and applied.rule.basis == "fact":
            yield from _in_one_place(applied, scene)


def apart_m(a: Solid, b: Solid) -> float:
    """The distance of two upright solids in space, metres; 0 where they touch or overlap."""
    on_plan = shapely.distance(_plan(a), _plan(b)) - _radius(a) - _radius(b)
    upright = max(a.low_m - b.high_m, b.low_m - a.high_m, 0.0)
    return math.hypot(max(float(on_plan), 0.0), upright)


def _kept_apart(applied: AppliedRule, scene: Scene) -> Iterator[tuple[Device, Against, Measured]]:
    for one in scene.overhead:
        if one.kind not in applied.rule.applies_to:
            continue
        for other in scene.overhead:
            if other.kind == applied.rule.to:
                actual_m = apart_m(one.solid, other.solid)
                spare_m = actual_m - applied.required_m
                yield one, _against(other), Measured(applied, applied.required, actual_m, spare_m, sure=False)


def _in_one_place(applied: AppliedRule, scene: Scene) -> Iterator[tuple[Device, Against, Measured]]:
    loose = [device for device in scene.overhead if device.kind not in BUILT_IN]
    for one, other in itertools.combinations(loose, 2):
        deep_m = _overlap_m(one.solid, other.solid)
        if deep_m > IN_EACH_OTHER_M:
            cause = Cause("runs-into", other.id)
            nothing = Given(0.0, "default")
            yield one, _against(other), Measured(applied, nothing, -deep_m, -deep_m, cause, sure=False)


def _overlap_m(a: Solid, b: Solid) -> float:
    """How deep two upright solids are in one another, the least of on plan and upright; 0 where they are not."""
    upright = min(a.high_m, b.high_m) - max(a.low_m, b.low_m)
    if upright <= MET_M:
        return 0.0
    first, second = (shape.buffer(_radius(solid)) for solid, shape in ((a, _plan(a)), (b, _plan(b))))
    shared = first.intersection(second)
    if shared.is_empty:
        return 0.0
    x0, y0, x1, y1 = shared.bounds
    return min(upright, float(x1 - x0), float(y1 - y0))


def _against(device: Device) -> Against:
    return Against(device.id, device.kind, None)


def _plan(solid: Solid) -> shapely.Geometry:
    """The outline on plan; of a round one its middle."""
    if isinstance(solid, Cylinder):
        return shapely.Point(solid.middle_m[:2])
    return shapely.Polygon(solid.corners_on_plan())


def _radius(solid: Solid) -> float:
    return solid.radius_m if isinstance(solid, Cylinder) else 0.0
