"""What changed between two revisions of a room: everything its spec says, and how it is judged."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from geometry.shapes import Cylinder, Point2, Solid
from scenes.findings.clearance import Clearance
from scenes.findings.review import Review
from scenes.review.cautions import with_cautions
from scenes.room.provenance import Given
from scenes.room.scene import Head, Opening, Scene
from scenes.words import area, length

MOVED_M = 0.0005
"""Nearer than half a millimetre is the same place."""


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. `what` says in words what; `at_m` is where on the plan to draw a cloud, if anywhere.

    `kind` is room (with its acoustics, limits and suspension), opening, profile, array, head, table, device,
    obstacle, camera, display, rule, clearance or verdict. `before` and `after` are what stood there; None where it
    was added or removed.
    """

    kind: str
    id: str
    what: str
    before: str | None
    after: str | None
    at_m: Point2 | None


def changes(old: Review, new: Review) -> tuple[Change, ...]:
    """All differences from the old review to the new one, verdict first; lengths in the new room's units.

    Not told: the title block, which says itself that it is a revision; the units a file is written in; and
    what follows from a change that is told.
    """
    units = new.scene.units
    told: list[Change] = []
    if old.verdict != new.verdict:
        told.append(Change("verdict", new.scene.name, "verdict", old.verdict, new.verdict, None))
    for kind, things in _KINDS.items():
        told += _things(kind, things(old, units), things(new, units), units)
    told += _clearances(old, new, units)
    return tuple(told)


Figures = dict[str, tuple[Any, str]]
"""What can change about a thing, by name: the value to compare, and the text to tell."""


@dataclass(frozen=True, slots=True)
class _Thing:
    """A thing as the comparison sees it. `outline`: compared only where no figure differs, which would change it too."""

    at_m: Point2 | None
    figures: Figures
    outline: tuple[Point2, ...] = ()


Things = dict[str, _Thing]


def _lengths(values: Sequence[float], units: str) -> tuple[Any, str]:
    return tuple(values), ", ".join(length(value, units) for value in values)


def _length(value: float | None, units: str) -> tuple[Any, str]:
    return value, "not given" if value is None else length(value, units)


def _from(given: Given[Any], text: str) -> tuple[Any, str]:
    """A value with where it is from: a default that is written down is another thing, though the same number."""
    return (given.value, given.origin), text if given.own else f"{text} ({given.origin})"


def _degrees(value: float | None) -> tuple[Any, str]:
    return value, "not given" if value is None else f"{value:g}°"


def _word(value: Any) -> tuple[Any, str]:
    """A word as it is; a switch as yes and no; nothing as not given."""
    return value, {None: "not given", True: "yes", False: "no"}.get(value, f"{value}")


def _room(review: Review, units: str) -> Things:
    scene = review.scene
    room, acoustics, limits, hung = scene.room, scene.acoustics, scene.limits, scene.suspension
    noise = None if acoustics is None else acoustics.noise_dBA
    reverberation = None if acoustics is None else acoustics.reverberation_s
    figures: Figures = {
        "name": _word(scene.name),
        "project": _word(scene.project),
        "outline": (room.outline_m, area(room.area_m2, units)),
        "ceiling": _length(room.ceiling_m, units),
        "kind of ceiling": _word(room.ceiling_kind),
        "structure": _length(room.structure_m, units),
        "ceiling grid": (None, "none") if room.grid is None else _lengths(room.grid.pitch_m, units),
        "start of the grid": (None, "none") if room.grid is None else _lengths(room.grid.origin_m, units),
        "north": _degrees(room.north_deg),
        "vocal effort": _word(None if acoustics is None else acoustics.effort),
        "noise": (noise, "not given" if noise is None else f"{noise:g} dB(A)"),
        "reverberation": (reverberation, "not given" if reverberation is None else f"{reverberation:g} s"),
        "talkers' directivity": _word(None if acoustics is None else acoustics.directivity),
        "free of walls": _from(limits.wall, length(limits.wall_m, units)),
        "headroom": _from(limits.headroom, length(limits.headroom_m, units)),
        "free over tables": _from(limits.free_over_table, length(limits.free_over_table_m, units)),
        "hung from": _word(hung.ceiling),
        "box": _word(hung.box),
        "size of the box": _from(hung.box_size, _lengths(hung.box_size_m, units)[1]),
        "spare cable": _from(hung.spare, length(hung.spare_m, units)),
        "safety cable": _word(hung.safety_cable),
        "cable clamp": _word(hung.clamp),
    }
    return {"": _Thing(None, figures)}


def _openings(review: Review, units: str) -> Things:
    def middle(opening: Opening) -> Point2:
        (x0, y0), (x1, y1) = review.scene.room.wall(opening.wall)
        share = (opening.offset_m + opening.width_m / 2) / math.dist((x0, y0), (x1, y1))
        return x0 + share * (x1 - x0), y0 + share * (y1 - y0)

    return {
        opening.id: _Thing(
            middle(opening),
            {
                "kind": _word(opening.kind),
                "wall": (opening.wall, f"W{opening.wall + 1}"),
                "offset": _length(opening.offset_m, units),
                "size": _lengths((opening.width_m, opening.height_m), units),
                "sill": _length(opening.sill_m, units),
            },
        )
        for opening in review.scene.room.openings
    }


def _profiles(review: Review, units: str) -> Things:
    """The profiles in use: what else a library offers is nothing of this room."""
    return {
        profile.name: _Thing(
            None,
            {
                "mount": _word(profile.mount),
                "body": (
                    (profile.round, profile.size_m),
                    f"{'round' if profile.round else 'box'}, {_lengths(profile.size_m, units)[1]}",
                ),
                "centre": _length(profile.centre_m, units),
                "bands": (
                    tuple(profile.bands.items()),
                    ", ".join(f"{name} {low:g}–{high:g}°" for name, (low, high) in profile.bands.items()),
                ),
                "reach": _lengths(profile.reach_m, units),
                "sectors": _word(profile.sectors),
                "mass": (
                    profile.mass_kg,
                    "not given" if profile.mass_kg is None else f"{profile.mass_kg:g} kg",
                ),
                "level": _degrees(profile.level_deg),
            },
        )
        for profile in (array.profile for array in review.scene.arrays)
    }


def _arrays(review: Review, units: str) -> Things:
    return {
        array.id: _Thing(
            array.centre_m[:2],
            {
                "place on plan": _lengths(array.centre_m[:2], units),
                "height": _length(array.height_m, units),
                "band": (
                    (array.band_name, array.band.low_deg, array.band.high_deg),
                    f"{array.band_name} {array.band.low_deg:g}–{array.band.high_deg:g}°",
                ),
                "profile": _word(array.profile.name),
                "turn": _degrees(array.turn_deg),
            },
        )
        for array in review.scene.arrays
    }


def _heads(review: Review, units: str) -> Things:
    def thing(head: Head) -> _Thing:
        judged = judged_of[head.id]
        x, y = head.at_m
        return _Thing(
            head.at_m,
            {
                "place on plan": _lengths(head.at_m, units),
                "mouth": _from(head.mouth, "–".join(length(value, units) for value in head.mouth_m)),
                "sway": _from(head.sway, length(head.sway_m, units)),
                "posture": _word(head.posture),
                "state": _word(judged.standing),
                "served by": _word(judged.array),
                "sight": _word(judged.sight),
            },
            # of somebody who walks the stretch to both sides
            tuple((u - x, v - y) for u, v in head.stretch_m),
        )

    judged_of = {judged.id: judged for judged in review.heads}
    return {head.id: thing(head) for head in review.scene.heads}


def _tables(review: Review, units: str) -> Things:
    return {
        table.id: _Thing(
            table.at_m,
            {
                "place on plan": _lengths(table.at_m, units),
                "size": _lengths(table.size_m, units),
                "shape": _word(table.shape),
                "turn": _degrees(table.turn_deg),
                "height": _length(table.height_m, units),
            },
            table.outline_m,
        )
        for table in review.scene.tables
    }


def _devices(review: Review, units: str) -> Things:
    return {
        device.id: _Thing(
            device.at_m,
            {
                "place on plan": _lengths(device.at_m, units),
                "kind": _word(device.kind),
                "below the ceiling": _length(device.below_m, units),
                "size": _from(device.size, _lengths(device.size_m, units)[1]),
                "depth": _from(device.depth, length(device.depth_m, units)),
                "shape": (device.round, "round" if device.round else "box"),
                "turn": _degrees(device.turn_deg),
                "stem": _length(device.stem_m, units),
                "spray": _word(device.spray),
                "clearance asked for": _length(device.required_m, units),
            },
        )
        for device in review.scene.overhead
    }


def _obstacles(review: Review, units: str) -> Things:
    def thing(solid: Solid) -> _Thing:
        is_round = isinstance(solid, Cylinder)
        size = (
            (2 * solid.radius_m, 2 * solid.radius_m, solid.height_m)
            if isinstance(solid, Cylinder)
            else solid.size_m
        )
        return _Thing(
            solid.middle_m[:2],
            {
                "place": _lengths(solid.middle_m, units),
                "size": _lengths(size, units),
                "shape": (is_round, "round" if is_round else "box"),
                "turn": _degrees(getattr(solid, "turn_deg", 0.0)),
            },
        )

    return {obstacle.id: thing(obstacle.solid) for obstacle in review.scene.obstacles}


def _cameras(review: Review, units: str) -> Things:
    return {
        camera.id: _Thing(
            camera.at_m[:2],
            {
                "place": _lengths(camera.at_m, units),
                "aim": (None, "the talkers") if camera.aim_m is None else _lengths(camera.aim_m, units),
                "angle": _from(camera.angle, _degrees(camera.angle_deg)[1]),
            },
        )
        for camera in review.scene.cameras
    }


def _displays(review: Review, units: str) -> Things:
    return {
        display.id: _Thing(
            display.at_m[:2],
            {
                "place": _lengths(display.at_m, units),
                "size": _lengths((display.width_m, display.height_m), units),
                "facing": _degrees(display.facing_deg),
            },
        )
        for display in review.scene.displays
    }


def _rules(review: Review, units: str) -> Things:
    return {
        change.rule: _Thing(
            None,
            {
                "rule": (
                    (change.off, change.value_m),
                    "switched off" if change.value_m is None else f"asks for {length(change.value_m, units)}",
                ),
                "reason": _word(change.reason),
            },
        )
        for change in review.scene.rule_changes
    }


_KINDS: Final[dict[str, Callable[[Review, str], Things]]] = {
    "room": _room,
    "opening": _openings,
    "profile": _profiles,
    "array": _arrays,
    "head": _heads,
    "table": _tables,
    "device": _devices,
    "obstacle": _obstacles,
    "camera": _cameras,
    "display": _displays,
    "rule": _rules,
}


def _things(kind: str, old: Things, new: Things, units: str) -> Iterable[Change]:
    for id, thing in new.items():
        name = id or thing.figures["name"][1]
        if id not in old:
            yield Change(kind, name, "added", None, _summary(thing), thing.at_m)
            continue
        before = old[id]
        same = True
        for what, (value, text) in thing.figures.items():
            was, was_text = before.figures[what]
            if not _same(was, value):
                same = False
                if text == was_text:
                    text += _by(was, value, units)
                yield Change(kind, name, what, was_text, text, thing.at_m)
        if same and not _same(before.outline, thing.outline):
            what = "stretch walked" if kind == "head" else "outline"
            told = "another" + _by(before.outline, thing.outline, units)
            yield Change(kind, name, what, "as it was", told, thing.at_m)
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


def _by(one: Any, other: Any, units: str) -> str:
    """How far two values lie apart that read alike, in brackets; nothing where they cannot be compared so."""
    far = _farthest(one, other)
    if far is None:
        return ""
    small = f'{far / 0.0254:.2f}"' if units in ("ft", "in") else f"{far * 1000:.0f} mm"
    return f" (by up to {small})" if isinstance(one, tuple) else f" (by {small})"


def _farthest(one: Any, other: Any) -> float | None:
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        parts = [_farthest(a, b) for a, b in zip(one, other, strict=True)]
        return max((part for part in parts if part is not None), default=None)
    return abs(one - other) if isinstance(one, float) and isinstance(other, float) else None


def _clearances(old: Review, new: Review, units: str) -> Iterable[Change]:
    def keyed(review: Review) -> dict[tuple[str | None, str, str], Clearance]:
        return {(c.array, c.against, c.rule): c for c in review.clearances}

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
        at = new.scene.array(clearance.array).centre_m if clearance.array is not None else (0.0, 0.0)
        what = f"{clearance.array} to {clearance.against}: {clearance.title}"
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
