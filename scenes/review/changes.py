"""What changed between two revisions of a room: everything its spec says, and how it is judged."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any, Final, NamedTuple

from geometry.polygons import area as polygon_area
from geometry.records import record
from geometry.shapes import Cylinder, Point2
from scenes.findings.changes import Change, ChangeKind, FieldName, Quantity, Unit
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.review import Review
from scenes.room.area import Area
from scenes.room.provenance import Given
from scenes.room.scene import Head, Obstacle, Opening, Room, Scene

MOVED_M = 0.0005
"""Nearer than half a millimetre is the same place."""


def changes(old: Review, new: Review) -> tuple[Change, ...]:
    """All differences from the old review to the new one, verdict first.

    Left out: the title block, which says itself that it is a revision; the units a file is written in; and
    what follows from a change that is there.
    """
    found: list[Change] = []
    if old.verdict != new.verdict:
        words = [(Quantity(verdict, "word"),) for verdict in (old.verdict, new.verdict)]
        found.append(Change("verdict", new.scene.name, "verdict", words[0], words[1], None))
    for kind, things in _KINDS.items():
        found += _things(kind, things(old), things(new))
    found += _clearances(old, new)
    return tuple(found)


def other_room(old: Scene, new: Scene) -> bool:
    """Whether two scenes are hardly revisions of one room: neither name nor outline is the same."""
    return old.name != new.name and not _same(old.room.outline_m, new.room.outline_m)


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


# ---- things and their figures ----------------------------------------------------------------------------


class Figure(NamedTuple):
    """What can change about a thing: the value that is compared, and the quantity that is shown."""

    compared: Any
    shown: Quantity


Figures = dict[FieldName, Figure]


@record(frozen=True, slots=True)
class _Thing:
    """A thing as the comparison sees it. `outline`: compared only where no figure differs, which would change it too."""

    at_m: Point2 | None
    figures: Figures
    outline: tuple[Point2, ...] = ()


Things = dict[Id, _Thing]


def _figure(value: Any, unit: Unit) -> Figure:
    return Figure(value, Quantity(value, unit))


def _length(*values: float | None) -> Figure:
    """One length or several together; not given if one of them is not."""
    metres = tuple(float(value) for value in values if value is not None)
    return _figure(metres if len(metres) == len(values) else None, "length")


def _from(given: Given[Any], unit: Unit = "length") -> Figure:
    """A value with where it is from: a default that is written down is another thing, though the same number."""
    value = given.value
    if unit == "length" and isinstance(value, float):
        value = (value,)
    return Figure((value, given.origin), Quantity(value, unit, given.origin))


def _names(given: Given[tuple[str, ...]]) -> Figure:
    """Ids of the designer's choice, with where that is from."""
    return Figure(
        (given.value, given.origin), Quantity(", ".join(given.value) or None, "quoted", given.origin)
    )


def _switch(given: Given[bool]) -> Figure:
    """Yes or no, with where that is from."""
    return Figure((given.value, given.origin), Quantity(given.value, "switch", given.origin))


def _angle(value: float | None) -> Figure:
    return _figure(value, "angle")


def _word(value: str | None) -> Figure:
    return _figure(value, "word")


def _quoted(value: bool | str | None) -> Figure:
    """A name or the designer's own words; where a switch may stand in their place, the switch."""
    return _figure(value, "switch" if isinstance(value, bool) else "quoted")


def _shape(is_round: bool) -> Figure:
    return _word("round" if is_round else "box")


def _ceiling_parts(room: Room) -> Figure:
    """The ceiling's parts by their names and kinds; compared by all their corners, heights, structures and grids."""
    grids = [(*part.grid.pitch_m, *part.grid.origin_m) if part.grid else () for part in room.parts]
    compared = tuple(
        (
            part.id,
            part.kind,
            part.surface.outline_m,
            tuple(map(part.surface.height_m, part.surface.outline_m)),
            part.structure_m,
            grid,
        )
        for part, grid in zip(room.parts, grids, strict=True)
    )
    named = ", ".join(f"{part.id}: {part.kind}" for part in room.parts)
    return Figure(compared, Quantity(named or None, "quoted"))


def _room(review: Review) -> Things:
    scene = review.scene
    room, acoustics, limits, hung = scene.room, scene.acoustics, scene.limits, scene.suspension
    grid = room.grid
    figures: Figures = {
        "name": _quoted(scene.name),
        "code": _from(scene.code, "word"),
        "project": _quoted(scene.project),
        "outline": Figure(room.outline_m, Quantity(room.area_m2, "area")),
        "ceiling": _length(room.ceiling_m),
        "ceiling kind": _word(room.ceiling_kind),
        "ceiling parts": _ceiling_parts(room),
        "structure": _length(room.structure_m),
        "grid": _length(None) if grid is None else _length(*grid.pitch_m),
        "grid origin": _length(None) if grid is None else _length(*grid.origin_m),
        "north": _angle(room.north_deg),
        "effort": _word(None if acoustics is None else acoustics.effort),
        "noise": _figure(None if acoustics is None else acoustics.noise_dBA, "dBA"),
        "reverberation": _figure(None if acoustics is None else acoustics.reverberation_s, "seconds"),
        "unsure": _quoted(", ".join(about for about, _ in scene.unsure) or None),
        "directivity": _figure(None if acoustics is None else acoustics.directivity, "number"),
        "surfaces": _figure(None if acoustics is None else sum(m2 for m2, _ in acoustics.surfaces), "area"),
        "use": _word(None if acoustics is None else acoustics.use),
        "inclusive": _figure(None if acoustics is None else acoustics.inclusive, "switch"),
        "wall limit": _from(limits.wall),
        "headroom": _from(limits.headroom),
        "table limit": _from(limits.free_over_table),
        "distance criterion": _figure(scene.criteria.distance_m, "range"),
        "angle criterion": _angle(scene.criteria.off_centre_deg),
        "ratio criterion": _figure(scene.criteria.direct_to_reverberant_dB, "number"),
        "over noise criterion": _figure(scene.criteria.over_noise_dB, "number"),
        "noise criterion": _figure(scene.criteria.noise_dBA, "dBA"),
        "index criterion": _figure(scene.criteria.index, "number"),
        "sound advice": _figure(scene.criteria.sound, "switch"),
        "wish over": _names(scene.wishes.over),
        "wish row": _switch(scene.wishes.row),
        "wish spare": _from(scene.wishes.spare),
        "hung from": _word(hung.ceiling),
        "box": _word(hung.box),
        "box size": _from(hung.box_size),
        "spare cable": _from(hung.spare),
        "safety cable": _quoted(hung.safety_cable),
        "clamp": _quoted(hung.clamp),
        "swing": _angle(None if hung.swing is None else hung.swing.angle_deg),
        "swing source": _quoted(None if hung.swing is None else hung.swing.source),
    }
    return {"": _Thing(None, figures)}


def _openings(review: Review) -> Things:
    def middle(opening: Opening) -> Point2:
        (x0, y0), (x1, y1) = review.scene.room.wall(opening.wall)
        share = (opening.offset_m + opening.width_m / 2) / math.dist((x0, y0), (x1, y1))
        return x0 + share * (x1 - x0), y0 + share * (y1 - y0)

    return {
        opening.id: _Thing(
            middle(opening),
            {
                "kind": _word(opening.kind),
                "wall": _figure(opening.wall, "wall"),
                "offset": _length(opening.offset_m),
                "size": _length(opening.width_m, opening.height_m),
                "sill": _length(opening.sill_m),
            },
        )
        for opening in review.scene.room.openings
    }


def _profiles(review: Review) -> Things:
    """The profiles in use: what else a library offers is nothing of this room."""
    return {
        profile.name: _Thing(
            None,
            {
                "mount": _word(profile.mount),
                "body": _figure((profile.round, profile.size_m), "body"),
                "hole": _length(profile.hole_m),
                "centre": _length(profile.centre_m),
                "bands": _figure(
                    tuple((name, low, high) for name, (low, high) in profile.bands.items()), "bands"
                ),
                "reach": _figure(profile.reach_m, "range"),
                "sectors": _figure(profile.sectors, "number"),
                "hangs by": _word(profile.hangs_by),
                "points": _figure(profile.points, "number"),
                "spread": _length(profile.spread_m),
                "cut-out": _length(None) if profile.cutout_m is None else _length(*profile.cutout_m),
                "mass": _figure(profile.mass_kg, "mass"),
                "level": _angle(profile.level_deg),
                "array directivity": _figure(profile.directivity_dB, "number"),
            },
        )
        for profile in (array.profile for array in review.scene.arrays)
    }


def _arrays(review: Review) -> Things:
    return {
        array.id: _Thing(
            array.centre_m[:2],
            {
                "place": _length(*array.centre_m[:2]),
                "height": _length(array.height_m),
                "band": _figure(((array.band_name, array.band.low_deg, array.band.high_deg),), "bands"),
                "profile": _quoted(array.profile.name),
                "turn": _angle(array.turn_deg),
            },
        )
        for array in review.scene.arrays
    }


def _heads(review: Review) -> Things:
    judged_of = {judged.id: judged for judged in review.heads}

    def thing(head: Head) -> _Thing:
        judged = judged_of[head.id]
        x, y = head.at_m
        return _Thing(
            head.at_m,
            {
                "place": _length(*head.at_m),
                "mouth": _from(head.mouth, "range"),
                "sway": _from(head.sway),
                "weight": _figure(head.weight, "number"),
                "posture": _word(head.posture),
                "facing": _angle(head.facing_deg if head.faces else None),
                "head down": _angle(head.head_down_deg),
                "state": _figure(judged.standing, "standing"),
                "array": _quoted(judged.array),
                "sight": _word(judged.sight),
            },
            # of somebody who walks the stretch to both sides
            tuple((u - x, v - y) for u, v in head.stretch_m),
        )

    return {head.id: thing(head) for head in review.scene.heads}


def _keep_away(review: Review) -> Things:
    return {
        one.id: _Thing(
            None,
            {
                "outline": Figure(one.outline_m, Quantity(abs(polygon_area(one.outline_m)), "area")),
                "reason": _quoted(one.reason),
            },
        )
        for one in review.scene.keep_away
    }


def _areas(review: Review) -> Things:
    judged_of = {judged.id: judged for judged in review.areas}

    def thing(area: Area) -> _Thing:
        judged = judged_of[area.id]
        x, y, _ = judged.worst_at_m
        size_m2 = abs(polygon_area(area.outline_m))
        return _Thing(
            (x, y),
            {
                "outline": Figure(area.outline_m, Quantity(size_m2, "area")),
                "mouth": _from(area.mouth, "range"),
                "sway": _from(area.sway),
                "holes": Figure(area.holes_m, Quantity(float(len(area.holes_m)), "number")),
                "posture": _word(area.posture),
                "state": _figure(judged.state, "area state"),
                # shares are compared as far as they are shown
                "covered share": Figure(
                    math.floor(100 * judged.covered_share), Quantity(judged.covered_share, "share")
                ),
            },
        )

    return {area.id: thing(area) for area in review.scene.areas}


def _tables(review: Review) -> Things:
    return {
        table.id: _Thing(
            table.at_m,
            {
                "place": _length(*table.at_m),
                "size": _length(*table.size_m),
                "shape": _word(table.shape),
                "turn": _angle(table.turn_deg),
                "height": _length(table.height_m),
            },
            table.outline_m,
        )
        for table in review.scene.tables
    }


def _devices(review: Review) -> Things:
    return {
        device.id: _Thing(
            device.at_m,
            {
                "place": _length(*device.at_m),
                "kind": _word(device.kind),
                "below": _length(device.below_m),
                "size": _from(device.size),
                "depth": _from(device.depth),
                "shape": _shape(device.round),
                "turn": _angle(device.turn_deg),
                "stem": _length(device.stem_m),
                "spray": _word(device.spray),
                "required": _length(device.required_m),
            },
        )
        for device in review.scene.overhead
    }


def _obstacles(review: Review) -> Things:
    def thing(obstacle: Obstacle) -> _Thing:
        solid = obstacle.solid
        if isinstance(solid, Cylinder):
            size, turn_deg = (2 * solid.radius_m, 2 * solid.radius_m, solid.height_m), 0.0
        else:
            size, turn_deg = solid.size_m, solid.turn_deg
        return _Thing(
            solid.middle_m[:2],
            {
                "place": _length(*solid.middle_m),
                "size": _length(*size),
                "shape": _shape(isinstance(solid, Cylinder)),
                "turn": _angle(turn_deg),
            },
        )

    return {obstacle.id: thing(obstacle) for obstacle in review.scene.obstacles}


def _cameras(review: Review) -> Things:
    return {
        camera.id: _Thing(
            camera.at_m[:2],
            {
                "place": _length(*camera.at_m),
                "aim": _word("talkers") if camera.aim_m is None else _length(*camera.aim_m),
                "angle": _from(camera.angle, "angle"),
            },
        )
        for camera in review.scene.cameras
    }


def _displays(review: Review) -> Things:
    return {
        display.id: _Thing(
            display.at_m[:2],
            {
                "place": _length(*display.at_m),
                "size": _length(display.width_m, display.height_m),
                "facing": _angle(display.facing_deg),
            },
        )
        for display in review.scene.displays
    }


def _rules(review: Review) -> Things:
    return {
        change.rule: _Thing(
            None,
            {
                "rule": Figure(
                    (change.off, change.value_m), Quantity(None if change.off else change.value_m, "required")
                ),
                "reason": _quoted(change.reason),
            },
        )
        for change in review.scene.rule_changes
    }


_KINDS: Final[dict[ChangeKind, Callable[[Review], Things]]] = {
    "room": _room,
    "opening": _openings,
    "profile": _profiles,
    "array": _arrays,
    "head": _heads,
    "area": _areas,
    "keep away": _keep_away,
    "table": _tables,
    "device": _devices,
    "obstacle": _obstacles,
    "camera": _cameras,
    "display": _displays,
    "rule": _rules,
}


# ---- what differs ----------------------------------------------------------------------------------------


def _things(kind: ChangeKind, old: Things, new: Things) -> Iterable[Change]:
    for id, thing in new.items():
        name = id or str(thing.figures["name"].compared)
        if id in old:
            yield from _figures(kind, name, old[id], thing)
        else:
            yield Change(kind, name, "added", None, _summary(thing), thing.at_m)
    for id, thing in old.items():
        if id not in new:
            yield Change(kind, id, "removed", _summary(thing), None, thing.at_m)


def _figures(kind: ChangeKind, name: Id, old: _Thing, new: _Thing) -> Iterable[Change]:
    differ = [
        (what, old.figures[what], figure)
        for what, figure in new.figures.items()
        if not _same(old.figures[what].compared, figure.compared)
    ]
    for what, was, now in differ:
        apart = _apart(was.compared, now.compared)
        yield Change(kind, name, what, (was.shown,), (now.shown,), new.at_m, apart)
    if not differ and not _same(old.outline, new.outline):
        outline: FieldName = "stretch" if kind == "head" else "outline"
        yield Change(kind, name, outline, (), (), new.at_m, _apart(old.outline, new.outline))


def _summary(thing: _Thing) -> tuple[Quantity, ...]:
    """A whole thing in its first two figures."""
    return tuple(figure.shown for figure in list(thing.figures.values())[:2])


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= MOVED_M
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other)


def _apart(one: Any, other: Any) -> float | None:
    """How far two values are from each other, the farthest of several; None where they cannot be compared so."""
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        parts = [_apart(a, b) for a, b in zip(one, other, strict=True)]
        return max((part for part in parts if part is not None), default=None)
    return abs(one - other) if isinstance(one, float) and isinstance(other, float) else None


def _clearances(old: Review, new: Review) -> Iterable[Change]:
    """The clearances that are judged otherwise; a new device that is clear is a change of devices.

    Of one array, thing and rule the worst is compared, whichever part of the array it is of.
    """

    def keyed(review: Review) -> dict[tuple[Id | None, Id, Id], Clearance]:
        worst: dict[tuple[Id | None, Id, Id], Clearance] = {}
        for clearance in review.clearances:
            who = clearance.array or clearance.device
            worst.setdefault((who, clearance.against, clearance.rule), clearance)
        return worst

    before, after = keyed(old), keyed(new)
    for key, now in after.items():
        was = before.get(key)
        if now.state == was.state if was else now.state in ("clear", "off"):
            continue
        at = None if now.array is None else new.scene.array(now.array).centre_m[:2]
        yield Change("clearance", now.against, "clearance", None, None, at, clearances=(was, now))
