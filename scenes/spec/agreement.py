"""What must agree between the parts of a spec file: names, places, heights, counts.

Works on whatever parts are right in themselves, so that a file with mistakes of both sorts hears of all at
once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import field, replace
from functools import partial
from itertools import islice
from typing import Any, Final, Literal

from geometry.polygons import TOUCHING_M, Corners, inside
from geometry.records import record
from scenes.spec import equipment, occupants, shell
from scenes.spec import model as written
from scenes.spec.areas import areas_agree
from scenes.spec.ceilings import PARTS, hung_as_told, lies_level, outline_is_sound, over_table, parts_agree
from scenes.spec.layouts import FURNISHING, UP, is_in, path_in
from scenes.spec.mistakes import Mistake, MistakeCode, Path, nearest_of, path_text, shown
from scenes.spec.values import MOST_HEADS
from scenes.spec.yaml_tree import Marks

Report = Callable[..., None]
NameOf = Literal["table", "thing", "profile", "band", "rule", "population", "array"]


@record(frozen=True)
class Parts:
    """The parts of a file that could be read, lists with each item's index, and the tree as it is written."""

    tree: dict[str, Any]
    room: shell.Room | None
    profiles: dict[str, equipment.Profile | None]
    people: occupants.People | None
    suspension: equipment.Suspension | None
    tables: list[tuple[int, Any]] = field(default_factory=list)
    seats: list[tuple[int, Any]] = field(default_factory=list)
    standing: list[tuple[int, Any]] = field(default_factory=list)
    areas: list[tuple[int, occupants.Area]] = field(default_factory=list)
    keep_away: list[tuple[int, occupants.KeepAway]] = field(default_factory=list)
    arrays: list[tuple[int, equipment.Array]] = field(default_factory=list)
    overhead: list[tuple[int, equipment.Device]] = field(default_factory=list)
    obstacles: list[tuple[int, shell.Obstacle]] = field(default_factory=list)
    layouts: dict[str, dict[str, list[tuple[int, Any]]]] = field(default_factory=dict)
    """By name what of each layout could be read: its lists by key, as those above."""

    @staticmethod
    def of(spec: written.Spec, tree: dict[str, Any]) -> Parts:
        """The parts of a whole spec."""
        return Parts(
            tree=tree,
            room=spec.room,
            profiles=dict(spec.profiles),
            people=spec.people,
            suspension=spec.suspension,
            tables=list(enumerate(spec.tables)),
            seats=list(enumerate(spec.seats)),
            standing=list(enumerate(spec.standing)),
            areas=list(enumerate(spec.areas)),
            keep_away=list(enumerate(spec.keep_away)),
            arrays=list(enumerate(spec.arrays)),
            overhead=list(enumerate(spec.overhead)),
            obstacles=list(enumerate(spec.obstacles)),
            layouts={
                name: {key: list(enumerate(getattr(layout, key))) for key in FURNISHING}
                for name, layout in spec.layouts.items()
            },
        )

    def in_layout(self, name: str) -> tuple[Parts, dict[str, int]]:
        """The parts of the room in one layout, and how many of each of its lists are the top level's."""
        written = self.tree["layouts"][name] or {}
        own: dict[str, Any] = {}
        tree, shared = {**self.tree}, {}
        for key in FURNISHING:
            above, here = self.tree.get(key, []), written.get(key, [])
            # a list that is none is a mistake by itself, and of what else names its things nothing is known
            sound = isinstance(above, list) and isinstance(here, list)
            shared[key] = len(above) if isinstance(above, list) else 0
            tree[key] = [*above, *here] if sound else None
            if hasattr(self, key):
                own[key] = getattr(self, key) + [(shared[key] + i, one) for i, one in self.layouts[name][key]]
        return replace(self, tree=tree, layouts={}, **own), shared


def reporting(
    marks: Marks, where: Callable[[Path], Path] = lambda path: path
) -> tuple[list[Mistake], Report]:
    """A list of mistakes, and what is called to report one at a path, which is at `where(path)` of the file.

    `other` may be a path as well.
    """
    mistakes: list[Mistake] = []

    def report(path: Path, code: MistakeCode, **allowed: Any) -> None:
        if isinstance(allowed.get("other"), tuple):
            allowed["other"] = path_text(where(allowed["other"]))
        mistakes.append(marks.mistake(where(path), code, **allowed))

    return mistakes, report


def disagreements(parts: Parts, marks: Marks) -> list[Mistake]:
    """Every mistake between the parts of a file; of one with layouts those of the room in each of them."""
    mistakes, report = reporting(marks)
    _room(parts, report)
    # of a profiles file that could not be read nobody knows what it has
    unread = "profiles" not in parts.tree and marks.node(("profiles",)) is not None
    _arrays(parts, report, unread=unread)
    _overhead(parts, report)
    _wishes(parts, report)
    for i, one in parts.keep_away:
        outline_is_sound(one.outline, ("keep_away", i, "outline"), report)
    if not parts.layouts:
        return mistakes + _furnished(parts, *reporting(marks))
    _ends_like_a_layout(parts, report)
    for name in parts.layouts:
        here, shared = parts.in_layout(name)
        mistakes += _furnished(here, *reporting(marks, partial(path_in, layout=name, shared=shared)))
    return mistakes


def _furnished(parts: Parts, mistakes: list[Mistake], report: Report) -> list[Mistake]:
    """The mistakes between what the room is furnished with and the rest."""
    _ids(parts, report)
    _tables(parts, report)
    _seats(parts, report)
    _heads(parts, report)
    areas_agree(parts.areas, parts.room, report)
    return mistakes


def _ends_like_a_layout(parts: Parts, report: Report) -> None:
    """An id that ends in a layout's name in brackets would read as that layout's."""
    trees: dict[Path, dict[str, Any]] = {(): parts.tree}
    trees |= {("layouts", name): parts.tree["layouts"][name] for name in parts.layouts}
    for where, tree in trees.items():
        for path, id in _named(tree):
            if any(is_in(id, name) for name in parts.layouts):
                report((*where, *path), "id-like-layout")


# Names


def _items(tree: dict[str, Any], key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    things = tree.get(key)
    for i, thing in enumerate(things if isinstance(things, list) else ()):
        if isinstance(thing, dict):
            yield i, thing


def _named(tree: dict[str, Any]) -> Iterator[tuple[Path, str]]:
    room = tree.get("room")
    room = room if isinstance(room, dict) else {}
    for i, thing in _items(room, "openings"):
        if isinstance(thing.get("id"), str):
            yield ("room", "openings", i, "id"), thing["id"]
    ceiling = room.get("ceiling")
    for i, thing in _items(ceiling if isinstance(ceiling, dict) else {}, "parts"):
        if isinstance(thing.get("id"), str):
            yield (*PARTS, i, "id"), thing["id"]
    for key in (
        "tables",
        "seats",
        "standing",
        "areas",
        "keep_away",
        "arrays",
        "overhead",
        "obstacles",
        "cameras",
        "displays",
    ):
        for i, thing in _items(tree, key):
            if isinstance(thing.get("id"), str) and "around" not in thing:
                yield (key, i, "id"), thing["id"]


def _ids(parts: Parts, report: Report) -> None:
    first: dict[str, Path] = {}
    for path, name in _named(parts.tree):
        if name in first:
            report(path, "id-taken", other=first[name])
        else:
            first[name] = path
    # Ids that groups give to their heads. How many seats fit round a table at a pitch only building knows,
    # and tells; what is plain from the file is told here with the rest.
    tables: dict[str, Path] = {}
    for path, name in _given(parts):
        if name in first:
            report(first[name], "id-made", other=path)
    for i, group in parts.seats:
        if isinstance(group, occupants.AroundSeats):
            if group.around in tables:
                report(("seats", i, "around"), "table-twice", other=tables[group.around])
            tables.setdefault(group.around, ("seats", i, "around"))


def _given(parts: Parts) -> Iterator[tuple[Path, str]]:
    """The ids that groups surely give to heads, with the group's path; no more than a file may have heads."""
    for i, group in parts.seats:
        names: Iterable[str] = ()
        if isinstance(group, occupants.SingleSeat):
            names = (group.id + UP,) if group.stands else ()
        elif isinstance(group, occupants.SeatRows):
            pairs = ((r, c) for r in range(1, group.rows + 1) for c in range(1, group.columns + 1))
            names = _with_up((f"{group.id}-{r}-{c}" for r, c in islice(pairs, MOST_HEADS)), group.stands)
        elif group.count is not None:
            names = _with_up((f"{group.around}-{k}" for k in range(1, group.count + 1)), group.stands)
        for name in names:
            yield ("seats", i), name
    for i, line in parts.standing:
        if isinstance(line, occupants.StandingLine):
            for k in range(1, min(_count(line, {}), MOST_HEADS) + 1):
                yield ("standing", i), f"{line.id}-{k}"


def _with_up(names: Iterable[str], stands: bool) -> Iterator[str]:
    for name in names:
        yield name
        if stands:
            yield name + UP


def unknown(report: Report, path: Path, name: str, known: Iterable[str], what: NameOf) -> None:
    """Report a name that is not among the known ones."""
    names = tuple(shown(one, 40) for one in known)
    if not names:
        report(path, "no-names", what=what)
        return
    report(path, "unknown-name", nearest=nearest_of(name, known), what=what, names=names)


# The room and what stands in it


def _room(parts: Parts, report: Report) -> None:
    room = parts.room
    if room is None:
        return
    outline_is_sound(room.corners, ("room", "outline" if room.outline is not None else "size"), report)
    ceiling = room.ceiling.height
    if room.structure is not None and room.structure < ceiling - TOUCHING_M:
        report(("room", "structure"), "structure-low", ceiling_m=ceiling)
    for i, opening in enumerate(room.openings):
        path: Path = ("room", "openings", i)
        corners = room.corners
        if opening.wall >= len(corners):
            report((*path, "wall"), "no-wall", most=len(corners) - 1)
            continue
        length = math.dist(corners[opening.wall], corners[(opening.wall + 1) % len(corners)])
        if opening.offset + opening.width > length + TOUCHING_M:
            end = opening.offset + opening.width
            report((*path, "width"), "opening-past-wall", wall=opening.wall, length_m=length, end_m=end)
        top = max(room.ceiling.highest, room.structure or 0.0)
        if opening.sill + opening.height > top + TOUCHING_M:
            report((*path, "height"), "opening-too-high", top_m=top)
        if opening.kind == "door" and opening.sill > 0:
            report((*path, "sill"), "door-sill")
    told = parts.suspension.ceiling if parts.suspension is not None else None
    if room.ceiling.parts:
        parts_agree(room, report)
        hung_as_told(room.ceiling, told, (array.at for _, array in parts.arrays), report)
    if told is not None and "kind" in room.ceiling.model_fields_set and told != room.ceiling.kind:
        report(("suspension", "ceiling"), "ceiling-kind", kind=room.ceiling.kind)


def _tables(parts: Parts, report: Report) -> None:
    for i, table in parts.tables:
        if isinstance(table, shell.PolygonTable):
            outline_is_sound(table.outline, ("tables", i, "outline"), report)
        ceiling = None if parts.room is None else over_table(parts.room.ceiling, table)
        if ceiling is not None and table.height >= ceiling:
            at: Path = ("tables", i, "height") if "height" in table.model_fields_set else ("tables", i)
            report(at, "above-ceiling", ceiling_m=ceiling)
    for i, obstacle in parts.obstacles:
        over = None if parts.room is None else parts.room.ceiling.height_over(obstacle.at)
        if over is not None and obstacle.to is None and obstacle.from_ >= over:
            report(("obstacles", i, "from"), "above-ceiling", ceiling_m=over)


def _overhead(parts: Parts, report: Report) -> None:
    if parts.room is None:
        return
    for i, device in parts.overhead:
        ceiling = parts.room.ceiling.height_over(device.at)
        if device.below > ceiling + TOUCHING_M:
            report(("overhead", i, "below"), "below-floor", ceiling_m=ceiling)


def _wishes(parts: Parts, report: Report) -> None:
    """Whether the table that arrays are to be over is there."""
    wishes = parts.tree.get("wishes")
    over = wishes.get("over") if isinstance(wishes, dict) else None
    trees = [parts.tree, *(parts.in_layout(name)[0].tree for name in parts.layouts)]
    known = tuple(dict.fromkeys(id for tree in trees for id in _table_ids(tree)))
    if (
        isinstance(over, str)
        and over not in (*known, *NO_TABLE)
        and all(isinstance(tree.get("tables", []), list) for tree in trees)
    ):
        names = tuple(shown(one, 40) for one in (*known, *NO_TABLE))
        nearest = nearest_of(over, (*known, *NO_TABLE))
        report(("wishes", "over"), "unknown-name", nearest=nearest, what="table", names=names)


NO_TABLE: Final = ("tables", "none")
"""What `over` of the wishes may be besides a table's id."""


def _table_ids(tree: dict[str, Any]) -> list[str]:
    """The ids of the tables, with those that are wrong in themselves: one slip is told once, not by all who name it."""
    ids = [thing.get("id") for _, thing in _items(tree, "tables")]
    return [str(id) for id in ids if isinstance(id, (str, int, float)) and not isinstance(id, bool)]


# Heads


def _seats(parts: Parts, report: Report) -> None:
    tables = {table.id: table for _, table in parts.tables}
    known = _table_ids(parts.tree)
    tables_told = not isinstance(parts.tree.get("tables", []), list)
    for i, group in parts.seats:
        if isinstance(group, occupants.AroundSeats) and group.around not in known and not tables_told:
            unknown(report, ("seats", i, "around"), group.around, known, "table")
    _looked_at(parts, report)
    if not any(isinstance(parts.tree.get(key), list) and parts.tree[key] for key in ("seats", "standing")):
        report(("seats",), "no-talker")
    heads = 0
    for key, groups in (("seats", parts.seats), ("standing", parts.standing)):
        for i, group in groups:
            heads += _count(group, tables)
            if heads > MOST_HEADS:
                report((key, i), "too-many-talkers", most=MOST_HEADS, number=heads)
                return


def _looked_at(parts: Parts, report: Report) -> None:
    """Who looks towards a thing names one that is there."""
    kinds = ("tables", "displays", "cameras", "obstacles")
    if any(not isinstance(parts.tree.get(kind, []), list) for kind in kinds):
        return
    known = [thing["id"] for kind in kinds for _, thing in _items(parts.tree, kind) if "id" in thing]
    for key, groups in (("seats", parts.seats), ("standing", parts.standing)):
        for i, group in groups:
            if group.towards is not None and group.towards not in known:
                unknown(report, (key, i, "towards"), group.towards, map(str, known), "thing")


def _count(group: Any, tables: dict[str, Any]) -> int:
    """How many heads a group makes; round a table an estimate from its edge, which may be a few too many."""
    if isinstance(group, occupants.AroundSeats):
        if group.count is not None:
            count = group.count
        else:
            table = tables.get(group.around)
            count = math.floor(_edge(table) / group.pitch + 1e-9) if table is not None else 1
    elif isinstance(group, occupants.SeatRows):
        count = group.rows * group.columns
    elif isinstance(group, occupants.StandingLine):
        count = 1 + math.ceil(sum(map(math.dist, group.along, group.along[1:])) / group.step - 1e-9)
    else:
        count = 1
    return 2 * count if getattr(group, "stands", False) else count


def _edge(table: Any) -> float:
    if isinstance(table, shell.RoundTable):
        return math.pi * table.size[0]
    if isinstance(table, shell.PolygonTable):
        return sum(map(math.dist, table.outline, (*table.outline[1:], table.outline[0])))
    return 2 * float(sum(table.size))


def _heads(parts: Parts, report: Report) -> None:
    if parts.room is None:
        return
    corners = parts.room.corners
    ceiling = parts.room.ceiling.highest  # of each head by itself building asks
    for key, groups in (("seats", parts.seats), ("standing", parts.standing)):
        for i, group in groups:
            path: Path = (key, i)
            _stands_inside(group, corners, path, report)
            if group.mouth is not None and group.mouth[1] >= ceiling:
                report((*path, "mouth"), "above-ceiling", ceiling_m=ceiling)
    _mouths(parts, ceiling, report)


def _stands_inside(group: Any, corners: Corners, path: Path, report: Report) -> None:
    """Whether a group's seats or places are in the room; round a table its table is asked instead."""
    if isinstance(group, occupants.SingleSeat | occupants.StandingPoint):
        if not inside(group.at, corners):
            report((*path, "at"), "outside-room")
    elif isinstance(group, occupants.SeatRows):
        outside = next((corner for corner in _block(group) if not inside(corner, corners)), None)
        if outside is not None:
            report((*path, "at"), "seat-outside", x_m=outside[0], y_m=outside[1])
    elif isinstance(group, occupants.StandingLine):
        for k, point in enumerate(group.along):
            if not inside(point, corners):
                report((*path, "along", k), "outside-room")


def _mouths(parts: Parts, ceiling: float, report: Report) -> None:
    """Whether the mouth heights given for everybody of a posture are under the ceiling."""
    people = parts.tree.get("people")
    if parts.people is None or not isinstance(people, dict):
        return
    for posture, person in (("seated", parts.people.seated), ("standing", parts.people.standing)):
        value = people.get(posture)
        given = isinstance(value, dict) and "mouth" in value
        if given and person.mouth is not None and person.mouth[1] >= ceiling:
            report(("people", posture, "mouth"), "above-ceiling", ceiling_m=ceiling)


def _block(rows: occupants.SeatRows) -> list[tuple[float, float]]:
    """The four corner seats of a block of desks."""
    half_x = 0.5 * (rows.columns - 1) * rows.pitch[0]
    half_y = 0.5 * (rows.rows - 1) * rows.pitch[1]
    c, s = math.cos(math.radians(rows.turn)), math.sin(math.radians(rows.turn))
    return [
        (rows.at[0] + c * x - s * y, rows.at[1] + s * x + c * y)
        for x, y in ((-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y))
    ]


# Arrays


def _arrays(parts: Parts, report: Report, *, unread: bool) -> None:
    room = parts.room
    for i, array in parts.arrays:
        path: Path = ("arrays", i)
        if room is not None and array.at is not None and not inside(array.at, room.corners):
            report((*path, "at"), "outside-room")
        if array.profile not in parts.profiles:
            if not unread:
                unknown(report, (*path, "profile"), array.profile, list(parts.profiles), "profile")
            continue
        profile = parts.profiles[array.profile]
        if profile is None:
            continue
        if array.band is not None and array.band not in profile.bands:
            unknown(report, (*path, "band"), array.band, list(profile.bands), "band")
        height_key = "height" if array.height is not None else "drop" if array.drop is not None else None
        if profile.mount == "flush":
            if height_key is not None:
                report((*path, height_key), "flush-height", key=height_key)
            lies_level(room, array.at, (*path, "at"), report)
        elif height_key is not None and room is not None:
            _hangs(array, profile, parts, (*path, height_key), report)


def _hangs(
    array: equipment.Array, profile: equipment.Profile, parts: Parts, path: Path, report: Report
) -> None:
    if parts.room is None:
        return
    ceiling = parts.room.ceiling.height_over(array.at)
    centre = array.height if array.height is not None else ceiling - (array.drop or 0.0)
    lowest, highest = profile.centre_above_underside, ceiling - profile.top_above_centre
    if lowest - TOUCHING_M <= centre <= highest + TOUCHING_M:
        return
    if array.drop is not None:
        report(path, "drop-range", least_m=ceiling - highest, most_m=ceiling - lowest)
    else:
        report(path, "height-range", least_m=lowest, most_m=highest)
