"""Spec → Scene: what a checked spec means, with every default filled in.

What can only be seen once seats stand and people walk (a head outside the room, an id that a seat
group makes a second time, too many heads, an unknown population or rule) is a mistake of the file
like any other, told with its line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, get_args

from geometry.polygons import inside
from geometry.shapes import Box, Cylinder, Point2, Point3
from scenes.room import scene as s
from scenes.room.acoustics import acoustics
from scenes.room.area import Area, KeepAway
from scenes.room.document import Document
from scenes.room.kinds import USUAL_DEVICES
from scenes.room.layouts import THINGS, joined
from scenes.room.origin import MapPlace, Origin
from scenes.room.populations import LIKE, mouth_range_m, whom
from scenes.room.provenance import ANYBODY, Given, as_written, written_or
from scenes.room.seating import (
    Side,
    along_line,
    into_room,
    outline,
    point_along,
    polygon_sides,
    seats_around,
    stretch_along,
    table_sides,
)
from scenes.room.swing import Swing
from scenes.room.wishes import Criteria, Wishes
from scenes.rulebook import rule_ids, rules
from scenes.spec import equipment, occupants, shell, values
from scenes.spec import model as written
from scenes.spec.areas import lowest_ceiling_over
from scenes.spec.layouts import FURNISHING, id_in, path_in
from scenes.spec.mistakes import Mistake, MistakeCode, SpecMistakes, mistake_at, nearest_of, path_text
from scenes.spec.reading import read_spec

HALF_SUB_STEP_M = 0.02
"""Lines of sight to somebody who walks go to points so close that none of the way is farther from one."""

Trail = tuple[str | int, ...]

CAMERA_ANGLE_DEG = 70.0
"""Angle of view across where a camera gives none: our default, no source."""


def read_scene(path: str | Path) -> s.Scene:
    """The scene of a spec file. Raises SpecMistakes with all mistakes of the file."""
    return build(read_spec(path))


def build(spec: written.Spec) -> s.Scene:
    """The scene a spec describes. Raises SpecMistakes for what only shows once it is built."""
    if spec.layouts:
        return _in_layouts(spec)
    builder = _Builder(spec)
    made = builder.scene()
    if builder.mistakes:
        raise _mistakes(spec, builder.mistakes)
    return made


def _in_layouts(spec: written.Spec) -> s.Scene:
    """The scene of all layouts together."""
    shared = {key: len(getattr(spec, key)) for key in FURNISHING}
    builders = {
        name: _Builder(spec.in_layout(name), partial(path_in, layout=name, shared=shared))
        for name in spec.layouts
    }
    made = [(name, builder.scene()) for name, builder in builders.items()]
    mistakes = [one for builder in builders.values() for one in builder.mistakes]
    if mistakes:
        raise _mistakes(spec, mistakes)
    everywhere = [one.id for key in THINGS for one in getattr(spec, key)]
    whole = joined(spec.name, everywhere, made)
    return replace(whole, wishes=_wishes(spec.wishes, whole.tables, whole.heads, whole.layouts))


def require_places(spec: written.Spec, scene: s.Scene, *, on_plan: bool = False) -> None:
    """Raise SpecMistakes if an array has no place yet, or with `on_plan` none on plan, whatever its height."""
    mistakes = []
    if not scene.arrays:
        mistakes.append(_mistake(spec, ("arrays",), "no-array"))
    for i, array in enumerate(scene.arrays):
        if array.at_m is None or (array.height_m is None and not on_plan):
            mistakes.append(_mistake(spec, ("arrays", i), "no-position", array=array.id))
        elif array.band_name is None and not on_plan:
            mistakes.append(_mistake(spec, ("arrays", i), "no-band", array=array.id))
    if mistakes:
        raise _mistakes(spec, mistakes)


def _mistake(spec: written.Spec, path: tuple[str | int, ...], code: MistakeCode, **allowed: Any) -> Mistake:
    if spec.source is not None:
        return spec.source.marks.mistake(path, code, **allowed)
    return mistake_at(1, 1, path_text(path), code, **allowed)


def _mistakes(spec: written.Spec, mistakes: Sequence[Mistake]) -> SpecMistakes:
    return SpecMistakes(spec.source.file if spec.source else "spec", mistakes, spec.units)


class _Builder:
    """One run over a spec; collects mistakes instead of stopping at the first."""

    def __init__(self, spec: written.Spec, where: Callable[[Trail], Trail] = lambda path: path) -> None:
        self.spec, self.where = spec, where
        self.mistakes: list[Mistake] = []
        self.sides: dict[str, list[Side]] = {}
        self.tables = tuple(self._table(table) for table in spec.tables)
        self.corners = spec.room.corners

    def wrong(self, path: Trail, code: MistakeCode, **allowed: Any) -> None:
        self.mistakes.append(_mistake(self.spec, self.where(path), code, **allowed))

    def scene(self) -> s.Scene:
        spec = self.spec
        profiles = {name: _profile(name, profile) for name, profile in spec.profiles.items()}
        heads = self._heads()
        room = _room(spec.room)
        self._check_rules()
        self._check_surfaces(room)
        source = spec.source
        return s.Scene(
            name=spec.name,
            project=spec.project,
            number=spec.number,
            storey=spec.storey,
            document=_document(spec.document),
            units=spec.units,
            room=room,
            tables=self.tables,
            heads=heads,
            profiles=profiles,
            arrays=tuple(self._array(array, profiles) for array in spec.arrays),
            overhead=tuple(self._device(device) for device in spec.overhead),
            obstacles=tuple(self._obstacle(obstacle) for obstacle in spec.obstacles),
            cameras=tuple(
                s.Camera(c.id, c.at, c.aim, written_or(c, "angle", CAMERA_ANGLE_DEG)) for c in spec.cameras
            ),
            displays=tuple(s.Display(d.id, d.at, d.width, d.height, d.facing) for d in spec.displays),
            areas=tuple(self._area(i, area) for i, area in enumerate(spec.areas)),
            keep_away=tuple(KeepAway(one.id, one.outline, one.reason) for one in spec.keep_away),
            seated=self._mouth("seated").survey or ANYBODY,
            standing=self._mouth("standing").survey or ANYBODY,
            floor=tuple(self._floor(posture) for posture in get_args(s.Posture)),
            acoustics=None if spec.acoustics is None else acoustics(spec.acoustics),
            limits=_limits(spec),
            code=as_written(spec, "code"),
            criteria=_criteria(spec.criteria),
            wishes=_wishes(spec.wishes, self.tables, heads),
            rule_changes=tuple(
                s.RuleChange(name, not change.use, change.required, change.reason)
                for name, change in spec.rules.items()
            ),
            suspension=_suspension(spec.suspension),
            source=s.Source("", "") if source is None else s.Source(source.file, source.sha256),
            origin=None if spec.model is None else _origin(spec.model),
            unsure=() if spec.model is None else tuple(spec.model.unsure.items()),
        )

    def _check_surfaces(self, room: s.Room) -> None:
        given = () if self.spec.acoustics is None else self.spec.acoustics.surfaces
        total = sum(surface.area_m2 for surface in given)
        if total > room.surface_m2 * (1 + 1e-6):
            at = ("acoustics", "surfaces")
            self.wrong(at, "surfaces-too-large", given=round(total, 1), room=round(room.surface_m2, 1))

    def _check_rules(self) -> None:
        if not self.spec.rules:
            return
        known = rule_ids()
        for name in self.spec.rules:
            if name not in known:
                nearest = nearest_of(name, known)
                at = ("rules", name)
                self.wrong(at, "unknown-name", of_key=True, nearest=nearest, what="rule", names=known)

    # Tables and people ------------------------------------------------------------------------------------

    def _table(self, table: Any) -> s.Table:
        if table.shape == "polygon":
            sides, at = polygon_sides(list(table.outline))
            turn, xs, ys = 0.0, [p[0] for p in table.outline], [p[1] for p in table.outline]
            size = (max(xs) - min(xs), max(ys) - min(ys))
        else:
            sides = table_sides(
                table.shape,
                table.size,
                ends=getattr(table, "end_width", None),
                narrow=getattr(table, "narrow_width", None),
            )
            at, turn = table.at, table.turn
            size = table.size if len(table.size) == 2 else (table.size[0], table.size[0])
        self.sides[table.id] = sides
        return s.Table(table.id, table.shape, at, size, turn, table.height, outline(sides, at, turn))

    def _mouth(self, posture: str) -> Given[tuple[float, float]]:
        person = getattr(self.spec.people, posture)
        if person.population is None:
            return as_written(person, "mouth")
        where = ("people", posture)
        if person.population not in LIKE:
            known = tuple(LIKE)
            nearest = nearest_of(person.population, known)
            at = (*where, "population")
            self.wrong(at, "unknown-name", nearest=nearest, what="population", names=known)
            return Given((1.0, 1.0), "population")
        if person.women is not None and LIKE[person.population][1] is not None:
            self.wrong((*where, "women"), "women-by-name", population=person.population)
        who = whom(person)
        return Given(mouth_range_m(who, posture), "population", who)

    def _area(self, i: int, area: occupants.Area) -> Area:
        person = getattr(self.spec.people, area.posture)
        mouth, sway = self._mouth(area.posture), as_written(person, "sway")
        ceiling_m = lowest_ceiling_over(area, self.spec.room.ceiling)
        if mouth.value[1] >= ceiling_m:
            self.wrong(
                ("areas", i),
                "talker-above-ceiling",
                talker=area.id,
                mouth_m=mouth.value[1],
                ceiling_m=ceiling_m,
            )
        return Area(area.id, area.posture, area.corners, area.holes, mouth, sway)

    def _floor(self, posture: s.Posture) -> Area:
        """The whole floor for anybody of a posture; tables and obstacles are not cut out, as of areas."""
        sway = as_written(getattr(self.spec.people, posture), "sway")
        return Area("", posture, self.spec.room.corners, (), self._mouth(posture), sway)

    def _heads(self) -> tuple[s.Head, ...]:
        made: list[tuple[s.Head, tuple[str | int, ...], bool]] = []
        for i, group in enumerate(self.spec.seats):
            made += [(head, ("seats", i), True) for head in self._seat_group(group)]
        for i, standing in enumerate(self.spec.standing):
            made += [(head, ("standing", i), False) for head in self._standing(standing)]
        if len(made) > values.MOST_HEADS:
            self.wrong(("seats",), "too-many-talkers", most=values.MOST_HEADS, number=len(made))
            return ()
        if not made and not self.mistakes:
            self.wrong(("seats",), "no-talker")
        seen: dict[str, tuple[str | int, ...]] = {}
        for head, path, _ in made:
            if head.id in seen and seen[head.id] != path:
                self.wrong(
                    path, "talker-id-taken", talker=head.id, other=path_text(self.where(seen[head.id]))
                )
            seen.setdefault(head.id, path)
            if not inside(head.at_m, self.corners):
                x_m, y_m = head.at_m
                self.wrong(path, "talker-outside", talker=head.id, x_m=x_m, y_m=y_m)
            ceiling = self.spec.room.ceiling
            ceiling_m = min(ceiling.height_over(place) for place in (head.at_m, *head.stretch_m))
            if head.mouth_m[1] >= ceiling_m:
                mouth_m = head.mouth_m[1]
                self.wrong(path, "talker-above-ceiling", talker=head.id, mouth_m=mouth_m, ceiling_m=ceiling_m)
        return tuple(head for head, _, _ in made)

    def _seat_group(self, group: Any) -> Iterator[s.Head]:
        table: str | None = None
        if isinstance(group, occupants.AroundSeats):
            at = {t.id: t for t in self.tables}
            if group.around not in at:
                return
            table = group.around
            stands = seats_around(
                self.sides[table],
                at[table].at_m,
                at[table].turn_deg,
                gap_m=group.gap,
                pitch_m=None if group.count is not None else group.pitch,
                count=group.count,
                skip=group.skip,
            )
            places = [(f"{table}-{n}", seat.at_m, seat.facing_deg) for n, seat in enumerate(stands, 1)]
            group_id = table
        elif isinstance(group, occupants.SeatRows):
            places, front = [], self._front(group)
            for row in range(group.rows):
                for column in range(group.columns):
                    own = (
                        (column - (group.columns - 1) / 2) * group.pitch[0],
                        (row - (group.rows - 1) / 2) * group.pitch[1],
                    )
                    point = into_room(own, group.at, group.turn)
                    places.append((f"{group.id}-{row + 1}-{column + 1}", point, front))
            group_id = group.id
        else:
            places = [(group.id, group.at, self._towards(group.at, 90.0))]
            group_id = group.id
        places = [(id, point, self._looks(group, point, facing)) for id, point, facing in places]
        faces = group.facing is not None or group.towards is not None
        for id, point, facing in places:
            head = self._head(id, group, group.posture, point, facing, group_id, table)
            yield self._facing(replace(head, faces=faces, weight=group.weight), group)
        if group.stands:
            for id, point, facing in places:
                # the group's own mouth is of the sitting person; standing up, the standing heights count
                up = self._head(f"{id}-up", None, "standing", point, facing, group_id, table)
                yield self._facing(replace(up, faces=faces, weight=group.weight), group)

    def _head(
        self,
        id: str,
        group: Any,
        posture: Any,
        at: Point2,
        facing: float,
        group_id: str,
        table: str | None = None,
    ) -> s.Head:
        person = getattr(self.spec.people, posture)
        own_mouth, own_sway = (None, None) if group is None else (group.mouth, group.sway)
        mouth = self._mouth(posture) if own_mouth is None else Given(own_mouth)
        sway = as_written(person, "sway") if own_sway is None else Given(own_sway)
        own = own_mouth is not None
        return s.Head(id, posture, at, mouth, sway, facing % 360, group_id, table, own_mouth=own)

    def _standing(self, standing: Any) -> Iterator[s.Head]:
        faces = standing.facing is not None or standing.towards is not None
        if isinstance(standing, occupants.StandingPoint):
            facing = self._looks(standing, standing.at, self._towards(standing.at, 90.0))
            head = self._head(standing.id, standing, standing.posture, standing.at, facing, standing.id)
            yield self._facing(replace(head, faces=faces, weight=standing.weight), standing)
            return
        line = list(standing.along)
        points, distances, total = along_line(line, standing.step)
        if total == 0:
            self.wrong(("standing", standing.id), "line-is-point")
            return
        for n, (point, distance) in enumerate(zip(points, distances, strict=True), 1):
            half = total / (len(points) - 1) / 2
            low, high = max(distance - half, 0.0), min(distance + half, total)
            cells = max(math.ceil((high - low) / (2 * HALF_SUB_STEP_M) - 1e-9), 1)
            sub_step = (high - low) / cells
            path = tuple(point_along(line, low + (k + 0.5) * sub_step) for k in range(cells))
            facing = self._looks(standing, point, self._towards(point, 90.0))
            head = self._head(f"{standing.id}-{n}", standing, standing.posture, point, facing, standing.id)
            stretch = stretch_along(line, low, high)
            head = replace(head, path_m=path, stretch_m=stretch, faces=faces, weight=standing.weight)
            yield self._facing(head, standing)

    @staticmethod
    def _facing(head: s.Head, people: Any) -> s.Head:
        """With the other ways somebody looks who turns, and how far the head is bent down."""
        turns = tuple(way % 360 for way in occupants.ways(people.facing)[1:])
        if not turns and not people.head_down:
            return head
        return replace(head, turns_deg=turns, head_down_deg=people.head_down)

    def _looks(self, people: Any, point: Point2, otherwise_deg: float) -> float:
        """The plan angle in which somebody looks: as the file gives it, or towards what it names, else as told."""
        if people.facing is not None:
            return float(occupants.ways(people.facing)[0])
        spec = self.spec
        there: dict[str, Sequence[float]] = {table.id: table.at_m for table in self.tables}
        for things in (spec.displays, spec.cameras, spec.obstacles):
            there |= {one.id: one.at for one in things}
        at = there.get(people.towards)
        if at is None or math.dist(at[:2], point) < 1e-9:
            return otherwise_deg
        return math.degrees(math.atan2(at[1] - point[1], at[0] - point[0]))

    def _front(self, group: occupants.SeatRows) -> float:
        """The plan angle in which rows of desks look: square to the rows, to the side where the first display is."""
        square = group.turn - 90
        for display in self.spec.displays[:1]:
            way = (display.at[0] - group.at[0], display.at[1] - group.at[1])
            turn = math.radians(square)
            if way[0] * math.cos(turn) + way[1] * math.sin(turn) < 0:
                return square + 180
        return square

    def _towards(self, point: Point2, otherwise_deg: float) -> float:
        """The plan angle towards the nearest table's middle, else the first display, else as given."""
        targets = [table.at_m for table in self.tables] or [d.at[:2] for d in self.spec.displays[:1]]
        targets = [t for t in targets if math.dist(t, point) > 1e-9]
        if not targets:
            return otherwise_deg
        near = min(targets, key=lambda t: math.dist(t, point))
        return math.degrees(math.atan2(near[1] - point[1], near[0] - point[0]))

    # What hangs and stands ---------------------------------------------------------------------------------

    def _array(self, array: equipment.Array, profiles: dict[str, s.Profile]) -> s.Array:
        profile = profiles[array.profile]
        given: Any = "height" if array.height is not None else "drop" if array.drop is not None else None
        return s.Array(
            id=array.id,
            profile=profile,
            at_m=array.at,
            height_m=self.spec.centre_height(array),
            band_name=array.band,
            turn_deg=array.turn,
            given_as=None if profile.mount == "flush" else given,
        )

    def _device(self, device: equipment.Device) -> s.Device:
        usual = USUAL_DEVICES[device.kind]
        size, is_round = Given(usual.size_m, "default"), usual.round
        if device.size is not None:
            is_round = len(device.size) == 1
            size = Given((device.size[0], device.size[-1]))
        return s.Device(
            id=device.id,
            kind=device.kind,
            at_m=device.at,
            size=size,
            round=is_round,
            turn_deg=device.turn,
            below_m=device.below,
            depth=written_or(device, "depth", usual.depth_m),
            stem_m=device.stem,
            spray=device.spray if device.kind == "sprinkler" else None,
            required_m=device.required,
            low_m=self.spec.room.ceiling.height_over(device.at) - device.below,
        )

    def _obstacle(self, obstacle: shell.Obstacle) -> s.Obstacle:
        high = self.spec.room.ceiling.height_over(obstacle.at) if obstacle.to is None else obstacle.to
        middle: Point3 = (*obstacle.at, (obstacle.from_ + high) / 2)
        tall = high - obstacle.from_
        if len(obstacle.size) == 1:
            return s.Obstacle(obstacle.id, Cylinder(middle, obstacle.size[0] / 2, tall))
        size: Point3 = (obstacle.size[0], obstacle.size[1], tall)
        return s.Obstacle(obstacle.id, Box(middle, size, obstacle.turn))


def _wishes(
    asked: written.Wishes, tables: Sequence[s.Table], heads: Sequence[s.Head], layouts: Sequence[str] = ()
) -> Wishes:
    """The file's wishes; over the table that seats at least half of all heads where it names none.

    A table that stands in some layouts only has their names behind its id.
    """
    ids = tuple(table.id for table in tables)
    if asked.over is None:
        main = (id for id in ids if 2 * sum(head.table == id for head in heads) >= len(heads) > 0)
        over = Given(tuple(main)[:1], "default")
    elif asked.over in ("tables", "none"):
        over = Given(ids if asked.over == "tables" else ())
    else:
        named = {asked.over, *(id_in(asked.over, layout) for layout in layouts)}
        over = Given(tuple(id for id in ids if id in named) or (asked.over,))
    row = written_or(asked, "row", len(over.value) == 1)
    return Wishes(over, row, as_written(asked, "spare"))


def _criteria(own: written.Criteria) -> Criteria:
    return Criteria(
        distance_m=own.distance,
        off_centre_deg=own.off_centre,
        direct_to_reverberant_dB=own.direct_to_reverberant,
        over_noise_dB=own.over_noise,
        noise_dBA=own.noise,
        index=own.index,
        sound=own.sound is None,
    )


def _limits(spec: written.Spec) -> s.Limits:
    """The limits as written; where one is not, that of the room's set of codes if it has its own."""
    limits = {key: as_written(spec.limits, key) for key in ("wall", "headroom", "free_over_table")}
    for rule in rules(spec.code).values():
        if rule.limit is not None and limits[rule.limit].default and "required" in rule.values:
            limits[rule.limit] = Given(rule.values["required"], "default")
    return s.Limits(**limits)


def _document(document: written.Document | None) -> Document:
    if document is None:
        return Document()
    return Document(
        number=document.number,
        revision=document.revision,
        date=document.date,
        drawn_by=document.drawn_by,
        checked_by=document.checked_by,
        client=document.client,
        purpose=document.purpose,
        link=document.link,
        language=document.language,
        revisions=tuple((r.revision, r.date, r.note or "") for r in document.revisions),
    )


def _room(room: shell.Room) -> s.Room:
    return s.Room(
        outline_m=room.corners,
        ceiling_m=room.ceiling.height,
        ceiling_kind=room.ceiling.kind,
        structure_m=room.structure,
        grid=_grid(room.grid),
        north_deg=room.north,
        openings=tuple(
            s.Opening(o.id, o.kind, o.wall, o.offset, o.width, o.height, o.sill) for o in room.openings
        ),
        parts=tuple(_part(part, room) for part in room.ceiling.parts),
    )


def _grid(grid: shell.Grid | None) -> s.Grid | None:
    return None if grid is None else s.Grid(grid.pitch, grid.origin)


def _part(part: shell.CeilingPart, room: shell.Room) -> s.CeilingPart:
    """A ceiling part with what it has from the room: its structure, and the grid where it could go on."""
    kind = part.kind or room.ceiling.kind
    as_rest = kind == room.ceiling.kind == "suspended" and part.slope is None
    return s.CeilingPart(
        id=part.id,
        kind=kind,
        surface=part.surface,
        structure_m=room.structure if part.structure is None else part.structure,
        grid=_grid(room.grid if part.grid is None and as_rest else part.grid),
    )


def _profile(name: str, profile: equipment.Profile) -> s.Profile:
    body = profile.body
    is_round, pendant = isinstance(body, equipment.RoundBody), profile.mount == "pendant"
    size: Point3 = (
        (body.diameter, body.diameter, body.height) if isinstance(body, equipment.RoundBody) else body.size
    )
    return s.Profile(
        name=name,
        mount=profile.mount,
        round=is_round,
        size_m=size,
        centre_m=profile.centre_above_underside,
        bands=dict(profile.bands),
        reach_m=profile.reach,
        sectors=profile.sectors,
        mass_kg=profile.mass,
        # a flush body lies in the ceiling: it is as level as that, unless the file says otherwise
        level_deg=profile.level if pendant or "level" in profile.model_fields_set else 0.0,
        hangs_by=profile.held_by,
        points=profile.points,
        hole_m=(isinstance(body, equipment.RoundBody) and body.hole) or 0.0,
        spread_m=profile.spread,
        cutout_m=None if profile.cutout is None else (profile.cutout[0], profile.cutout[-1]),
        directivity_dB=profile.directivity_dB,
    )


def _origin(model: written.Origin) -> Origin:
    place = model.map
    return Origin(
        files=tuple(one.file for one in model.files),
        space=model.space,
        parents={kind: guid for kind, guid in model.ids.model_dump().items() if guid is not None},
        origin_m=model.origin_m,
        turn_deg=model.turn,
        map=None
        if place is None
        else MapPlace(place.eastings, place.northings, place.height, place.x_axis, place.scale, place.crs),
        things={name: thing.id for name, thing in model.things.items() if thing.id is not None},
    )


def _suspension(given: equipment.Suspension) -> s.Suspension:
    box, swing = given.box, given.swing
    return s.Suspension(
        ceiling=given.ceiling,
        box=None if box is None else box.fixing,
        box_size=Given(s.BOX_SIZE_M, "default") if box is None else written_or(box, "size", s.BOX_SIZE_M),
        spare=as_written(given, "spare"),
        safety_cable=given.safety_cable,
        clamp=given.clamp,
        swing=None if swing is None else Swing(swing.angle_deg, swing.source),
    )
