"""Devices of the file against each other, as `check --ceiling` asks: advice for the architect, whoever hangs an array.

A rule with `to` asks its distance of every device that it applies to from every device of that kind. Two that are in
one place are told by the rule that no two things are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from geometry.clearance import gap, hanging_from, plan_gap
from scenes.findings.cause import Cause
from scenes.room.ceiling import room_under
from scenes.room.kinds import BUILT_IN
from scenes.room.provenance import Given
from scenes.room.scene import Device, Scene
from scenes.rules.applied import AppliedRule, applied_rules
from scenes.rules.measure import Against, Measured

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


def _kept_apart(applied: AppliedRule, scene: Scene) -> Iterator[tuple[Device, Against, Measured]]:
    others = [other for other in scene.overhead if other.kind == applied.rule.to]
    for one in scene.overhead:
        if one.kind in applied.rule.applies_to:
            for other, signed_m in _gaps_m(one, others):
                actual_m = max(signed_m, 0.0)
                spare_m = actual_m - applied.required_m
                yield one, _against(other), Measured(applied, applied.required, actual_m, spare_m, sure=False)


def _in_one_place(applied: AppliedRule, scene: Scene) -> Iterator[tuple[Device, Against, Measured]]:
    loose = [device for device in scene.overhead if device.kind not in BUILT_IN]
    faces = {device.id for device in loose if _through_face(device, scene)}
    for k, one in enumerate(loose):
        for other, apart_m in _gaps_m(one, loose[k + 1 :]):
            signed_m = apart_m
            if apart_m > -IN_EACH_OTHER_M and {one.id, other.id} <= faces:
                # one hangs from the ceiling, the other lies in it: solids that only meet, and one opening for both
                signed_m = float(plan_gap(hanging_from(one.solid), one.solid.middle_m, [other.solid])[0, 0])
            if signed_m < -IN_EACH_OTHER_M:
                cause, nothing = Cause("runs-into", other.id), Given(0.0, "default")
                yield one, _against(other), Measured(applied, nothing, signed_m, signed_m, cause, sure=False)


def _through_face(device: Device, scene: Scene) -> bool:
    """Whether a device is fixed at or goes through the face of a ceiling that has one."""
    room = room_under(scene.room, device.at_m)
    reaches = (
        device.low_m - IN_EACH_OTHER_M <= room.ceiling_m <= device.low_m + device.depth_m + IN_EACH_OTHER_M
    )
    return room.ceiling_kind != "open" and reaches


def _gaps_m(one: Device, others: Sequence[Device]) -> Iterator[tuple[Device, float]]:
    """From a device to others, metres: negative where they are in each other, the shortest way apart."""
    if others:
        found = gap(hanging_from(one.solid), one.solid.middle_m, [other.solid for other in others])[0]
        yield from zip(others, found.tolist(), strict=True)


def _against(device: Device) -> Against:
    return Against(device.id, device.kind, None)
