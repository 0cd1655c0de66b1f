"""What changed between two revisions of a room: arrays, heads, furniture, devices, clearances, the verdict."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from geometry.shapes import Point2
from scenes.cautions import with_cautions
from scenes.review import Clearance, Review
from scenes.scene import Scene
from scenes.words import length

MOVED_M = 0.0005
"""Nearer than half a millimetre is the same place."""


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. `what` says in words what; `at_m` is where on the plan to draw a cloud, if anywhere.

    `kind` is room, array, head, table, device, obstacle, camera, display, clearance or verdict. `before` and
    `after` are what stood there; None where it was added or removed.
    """

    kind: str
    id: str
    what: str
    before: str | None
    after: str | None
    at_m: Point2 | None


def changes(old: Review, new: Review) -> tuple[Change, ...]:
    """All differences from the old review to the new one, verdict first; lengths in the new room's units."""
    units = new.scene.units
    told: list[Change] = []
    if old.verdict != new.verdict:
        told.append(Change("verdict", new.scene.name, "verdict", old.verdict, new.verdict, None))
    told += _room(old, new, units)
    told += _things("array", _arrays(old, units), _arrays(new, units))
    told += _things("head", _heads(old, units), _heads(new, units))
    told += _things("table", _tables(old, units), _tables(new, units))
    told += _things("device", _devices(old, units), _devices(new, units))
    told += _things("obstacle", _obstacles(old, units), _obstacles(new, units))
    told += _things("camera", _cameras(old, units), _cameras(new, units))
    told += _things("display", _displays(old, units), _displays(new, units))
    told += _clearances(old, new, units)
    return tuple(told)


@dataclass(frozen=True, slots=True)
class _Thing:
    """A thing as the comparison sees it: named figures as (value to compare, text to tell)."""

    at_m: Point2
    figures: dict[str, tuple[Any, str]]


def _place(point: Sequence[float], units: str) -> tuple[Any, str]:
    return tuple(point), ", ".join(length(value, units) for value in point)


def _arrays(review: Review, units: str) -> dict[str, _Thing]:
    return {
        array.id: _Thing(
            array.at_m,
            {
                "place on plan": _place(array.at_m, units),
                "height": (array.height_m, length(array.height_m, units)),
                "band": (
                    (array.low_deg, array.high_deg),
                    f"{array.band_name} {array.low_deg:g}–{array.high_deg:g}°",
                ),
                "profile": (review.scene.array(array.id).profile, review.scene.array(array.id).profile.name),
                "turn": (
                    review.scene.array(array.id).turn_deg,
                    f"{review.scene.array(array.id).turn_deg:g}°",
                ),
            },
        )
        for array in review.arrays
    }


def _heads(review: Review, units: str) -> dict[str, _Thing]:
    return {
        head.id: _Thing(
            head.mouth_m[:2],
            {
                "place on plan": _place(head.mouth_m[:2], units),
                "mouth": (head.mouth_range_m, "–".join(length(value, units) for value in head.mouth_range_m)),
                "sway": (head.sway_m, length(head.sway_m, units)),
                "posture": (head.posture, head.posture),
                "state": (head.state, head.state),
                "served by": (head.array, head.array),
                "sight": (head.sight, head.sight),
            },
        )
        for head in review.heads
    }


def _tables(review: Review, units: str) -> dict[str, _Thing]:
    return {
        table.id: _Thing(
            table.at_m,
            {
                "place on plan": _place(table.at_m, units),
                "size": _place(table.size_m, units),
                "shape": ((table.shape, table.outline_m if table.shape == "polygon" else ()), table.shape),
                "turn": (table.turn_deg, f"{table.turn_deg:g}°"),
                "height": (table.height_m, length(table.height_m, units)),
            },
        )
        for table in review.scene.tables
    }


def _devices(review: Review, units: str) -> dict[str, _Thing]:
    return {
        device.id: _Thing(
            device.at_m,
            {
                "place on plan": _place(device.at_m, units),
                "kind": (device.kind, device.kind),
                "below the ceiling": (device.below_m, length(device.below_m, units)),
                "size": _place((*device.size_m, device.depth_m), units),
                "turn": (device.turn_deg, f"{device.turn_deg:g}°"),
                "spray": (device.spray, str(device.spray)),
            },
        )
        for device in review.scene.overhead
    }


def _obstacles(review: Review, units: str) -> dict[str, _Thing]:
    return {
        obstacle.id: _Thing(
            obstacle.solid.middle_m[:2],
            {
                "place": _place(obstacle.solid.middle_m, units),
                "size": (obstacle.solid, f"{length(2 * obstacle.solid.plan_radius_m, units)} across"),
            },
        )
        for obstacle in review.scene.obstacles
    }


def _cameras(review: Review, units: str) -> dict[str, _Thing]:
    return {
        camera.id: _Thing(
            camera.at_m[:2],
            {
                "place": _place(camera.at_m, units),
                "aim": (camera.aim_m, "the talkers") if camera.aim_m is None else _place(camera.aim_m, units),
                "angle": (camera.angle_deg, f"{camera.angle_deg:g}°"),
            },
        )
        for camera in review.scene.cameras
    }


def _displays(review: Review, units: str) -> dict[str, _Thing]:
    return {
        display.id: _Thing(
            display.at_m[:2],
            {
                "place": _place(display.at_m, units),
                "size": _place((display.width_m, display.height_m), units),
                "facing": (display.facing_deg, f"{display.facing_deg:g}°"),
            },
        )
        for display in review.scene.displays
    }


def _things(kind: str, old: dict[str, _Thing], new: dict[str, _Thing]) -> Iterable[Change]:
    for id, thing in new.items():
        if id not in old:
            yield Change(kind, id, "added", None, _summary(thing), thing.at_m)
            continue
        for what, (value, text) in thing.figures.items():
            before, before_text = old[id].figures[what]
            if not _same(before, value):
                yield Change(kind, id, what, before_text, text, thing.at_m)
    for id, thing in old.items():
        if id not in new:
            yield Change(kind, id, "removed", _summary(thing), None, thing.at_m)


def _summary(thing: _Thing) -> str:
    return "; ".join(text for _, text in list(thing.figures.values())[:2])


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= MOVED_M
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other)


def _room(old: Review, new: Review, units: str) -> Iterable[Change]:
    before, after = old.scene.room, new.scene.room
    figures: tuple[tuple[str, Callable[[Any], Any], Callable[[Any], str]], ...] = (
        ("outline", lambda room: room.outline_m, lambda room: f"{room.area_m2:.2f} m²"),
        ("ceiling", lambda room: room.ceiling_m, lambda room: length(room.ceiling_m, units)),
        ("kind of ceiling", lambda room: room.ceiling_kind, lambda room: room.ceiling_kind),
        (
            "structure",
            lambda room: room.structure_m,
            lambda room: "not given" if room.structure_m is None else length(room.structure_m, units),
        ),
    )
    for what, value, text in figures:
        if not _same(value(before), value(after)):
            yield Change("room", new.scene.name, what, text(before), text(after), None)


def _clearances(old: Review, new: Review, units: str) -> Iterable[Change]:
    def keyed(review: Review) -> dict[tuple[str, str, str, str], Clearance]:
        return {(c.array, c.against, c.rule, c.part): c for c in review.clearances}

    def text(clearance: Clearance) -> str:
        if clearance.actual_m is None:
            return clearance.state
        return f"{clearance.state} at {length(clearance.actual_m, units)}"

    before, after = keyed(old), keyed(new)
    for key, clearance in after.items():
        if key in before and before[key].state == clearance.state:
            continue
        if key not in before and clearance.state in ("clear", "off"):
            continue  # a new device that is clear is told as a device
        at = new.scene.array(clearance.array).centre_m
        what = f"{clearance.array} to {clearance.against} by {clearance.rule} ({clearance.part})"
        yield Change(
            "clearance",
            clearance.against,
            what,
            text(before[key]) if key in before else None,
            text(clearance),
            (at[0], at[1]),
        )


def as_json(old: Review, new: Review) -> dict[str, Any]:
    """The `overtable/changes/1` object."""
    told = {
        "format": "overtable/changes/1",
        "old": {
            "file": old.scene.source.file,
            "revision": old.scene.document.revision,
            "verdict": old.verdict,
        },
        "new": {
            "file": new.scene.source.file,
            "revision": new.scene.document.revision,
            "verdict": new.verdict,
        },
        "changes": [{name: getattr(c, name) for name in Change.__slots__} for c in changes(old, new)],
    }
    return with_cautions(told, new.scene)


def other_room(old: Scene, new: Scene) -> str | None:
    """One sentence where two scenes are hardly revisions of one room: neither name nor outline is the same."""
    if old.name == new.name or _same(old.room.outline_m, new.room.outline_m):
        return None
    return (
        f"{old.name} and {new.name} share neither name nor outline: compared as one room, as asked; "
        "are the files the right ones?"
    )


def cloud_radius_m(change: Change) -> float:
    """How large a cloud to draw around a change on plan, metres."""
    return 0.45 if change.kind in ("head", "device") else 0.6


def farthest_moved_m(old: Review, new: Review) -> float:
    """The largest distance an array of both revisions moved, metres; 0 if none moved."""
    both = {a.id: a for a in old.arrays}
    return max(
        (
            math.dist((*a.at_m, a.height_m), (*both[a.id].at_m, both[a.id].height_m))
            for a in new.arrays
            if a.id in both
        ),
        default=0.0,
    )
