"""What must agree between the parts of a spec file: names, places, heights, counts.

Works on whatever parts are right in themselves, so that a file with mistakes of both sorts hears of all at
once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from geometry.polygons import TOUCHING_M, Corners, area, crossing, inside
from scenes.spec import model as written
from scenes.spec.lengths import readable_length
from scenes.spec.mistakes import Mistake, Path, nearest_of, path_text, shown
from scenes.spec.model import MOST_HEADS
from scenes.spec.yaml_tree import Marks

Report = Callable[..., None]


CLOSE_M = 1e-3  # corners nearer than this are one


@dataclass(frozen=True)
class Parts:
    """The parts of a file that could be read, lists with each item's index, and the tree as it is written."""

    tree: dict[str, Any]
    room: written.Room | None
    profiles: dict[str, written.Profile | None]
    people: written.People | None
    suspension: written.Suspension | None
    tables: list[tuple[int, Any]] = field(default_factory=list)
    seats: list[tuple[int, Any]] = field(default_factory=list)
    standing: list[tuple[int, Any]] = field(default_factory=list)
    arrays: list[tuple[int, written.Array]] = field(default_factory=list)
    overhead: list[tuple[int, written.Device]] = field(default_factory=list)
    obstacles: list[tuple[int, written.Obstacle]] = field(default_factory=list)

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
            arrays=list(enumerate(spec.arrays)),
            overhead=list(enumerate(spec.overhead)),
            obstacles=list(enumerate(spec.obstacles)),
        )


def disagreements(parts: Parts, marks: Marks) -> list[Mistake]:
    """Every mistake between the parts of a file."""
    mistakes: list[Mistake] = []

    def report(path: Path, allowed: str, found: str | None = None) -> None:
        mistakes.append(marks.mistake(path, allowed, found=found))

    _ids(parts, report)
    _room(parts, report)
    _tables(parts, report)
    _seats(parts, report)
    _heads(parts, report)
    _arrays(parts, report)
    _overhead(parts, report)
    return mistakes


# Names


def _items(tree: dict[str, Any], key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    things = tree.get(key)
    for i, thing in enumerate(things if isinstance(things, list) else ()):
        if isinstance(thing, dict):
            yield i, thing


def _named(tree: dict[str, Any]) -> Iterator[tuple[Path, str]]:
    room = tree.get("room")
    for i, thing in _items(room if isinstance(room, dict) else {}, "openings"):
        if isinstance(thing.get("id"), str):
            yield ("room", "openings", i, "id"), thing["id"]
    for key in ("tables", "seats", "standing", "arrays", "overhead", "obstacles", "cameras", "displays"):
        for i, thing in _items(tree, key):
            if isinstance(thing.get("id"), str) and "around" not in thing:
                yield (key, i, "id"), thing["id"]


def _ids(parts: Parts, report: Report) -> None:
    first: dict[str, Path] = {}
    for path, name in _named(parts.tree):
        if name in first:
            report(path, f"an id of its own ({path_text(first[name])} has this one)")
        else:
            first[name] = path
    # Ids that groups give to their heads. How many seats fit round a table at a pitch only building knows,
    # and tells; what is plain from the file is told here with the rest.
    tables: dict[str, Path] = {}
    for path, name in _given(parts):
        if name in first:
            report(first[name], f"an id of its own ({path_text(path)} gives it to one of its heads)")
    for i, group in parts.seats:
        if isinstance(group, written.AroundSeats):
            if group.around in tables:
                report(("seats", i, "around"), f"each table once ({path_text(tables[group.around])} has it)")
            tables.setdefault(group.around, ("seats", i, "around"))


def _given(parts: Parts) -> Iterator[tuple[Path, str]]:
    """The ids that groups surely give to heads, with the group's path; no more than a file may have heads."""
    for i, group in parts.seats:
        names: Iterable[str] = ()
        if isinstance(group, written.SingleSeat):
            names = (f"{group.id}-up",) if group.stands else ()
        elif isinstance(group, written.SeatRows):
            pairs = ((r, c) for r in range(1, group.rows + 1) for c in range(1, group.columns + 1))
            names = _with_up((f"{group.id}-{r}-{c}" for r, c in islice(pairs, MOST_HEADS)), group.stands)
        elif group.count is not None:
            names = _with_up((f"{group.around}-{k}" for k in range(1, group.count + 1)), group.stands)
        for name in names:
            yield ("seats", i), name
    for i, line in parts.standing:
        if isinstance(line, written.StandingLine):
            for k in range(1, min(_count(line, {}), MOST_HEADS) + 1):
                yield ("standing", i), f"{line.id}-{k}"


def _with_up(names: Iterable[str], stands: bool) -> Iterator[str]:
    for name in names:
        yield name
        if stands:
            yield f"{name}-up"


def _unknown(name: str, known: list[str], what: str) -> str:
    names = ", ".join(shown(one, 40) for one in known[:12]) + (", …" if len(known) > 12 else "")
    return f"{what}: {names}{nearest_of(name, known)}" if known else f"{what}, of which the file has none"


# The room and what stands in it


def _in_units(metres: float, parts: Parts) -> str:
    """A length in the file's own units, for comparing it with what was found there."""
    units = parts.tree.get("units")
    if units in ("ft", "in"):
        return readable_length(metres, units)
    per_metre = {"cm": 100, "mm": 1000}.get(str(units), 1)
    return f"{metres * per_metre:.6g} {units if per_metre > 1 else 'm'}"


def _room(parts: Parts, report: Report) -> None:
    room = parts.room
    if room is None:
        return
    _outline(room.corners, ("room", "outline" if room.outline is not None else "size"), report)
    ceiling = room.ceiling.height
    if room.structure is not None and room.structure < ceiling - TOUCHING_M:
        report(("room", "structure"), f"at or above the ceiling ({_in_units(ceiling, parts)})")
    for i, opening in enumerate(room.openings):
        path: Path = ("room", "openings", i)
        corners = room.corners
        if opening.wall >= len(corners):
            report((*path, "wall"), f"a wall of the room, 0 to {len(corners) - 1}")
            continue
        length = math.dist(corners[opening.wall], corners[(opening.wall + 1) % len(corners)])
        if opening.offset + opening.width > length + TOUCHING_M:
            ends, wall = _in_units(opening.offset + opening.width, parts), _in_units(length, parts)
            report(
                (*path, "width"), f"an end on wall {opening.wall}, which is {wall} long (it ends at {ends})"
            )
        top = ceiling if room.structure is None else max(room.structure, ceiling)
        if opening.sill + opening.height > top + TOUCHING_M:
            report((*path, "height"), f"sill and height within the room, {_in_units(top, parts)} high")
        if opening.kind == "door" and opening.sill > 0:
            report((*path, "sill"), "0 for a door")
    told = parts.suspension.ceiling if parts.suspension is not None else None
    if told is not None and "kind" in room.ceiling.model_fields_set and told != room.ceiling.kind:
        report(
            ("suspension", "ceiling"),
            f"the kind of ceiling the room has, {room.ceiling.kind}; or leave it out",
        )


def _tables(parts: Parts, report: Report) -> None:
    ceiling = parts.room.ceiling.height if parts.room is not None else None
    for i, table in parts.tables:
        if isinstance(table, written.PolygonTable):
            _outline(table.outline, ("tables", i, "outline"), report)
        if ceiling is not None and table.height >= ceiling:
            report(
                ("tables", i, "height") if "height" in table.model_fields_set else ("tables", i),
                "below the ceiling",
            )
    for i, obstacle in parts.obstacles:
        if ceiling is not None and obstacle.to is None and obstacle.from_ >= ceiling:
            report(("obstacles", i, "from"), f"below the ceiling ({_in_units(ceiling, parts)})")


def _overhead(parts: Parts, report: Report) -> None:
    if parts.room is None:
        return
    ceiling = parts.room.ceiling.height
    for i, device in parts.overhead:
        if device.below > ceiling + TOUCHING_M:
            report(
                ("overhead", i, "below"),
                f"above the floor, {_in_units(ceiling, parts)} below the ceiling",
            )


# Heads


def _seats(parts: Parts, report: Report) -> None:
    tables = {table.id: table for _, table in parts.tables}
    # With the ids that are wrong in themselves: one slip is told once, not again by all who name it.
    ids = [thing.get("id") for _, thing in _items(parts.tree, "tables")]
    known = [str(id) for id in ids if isinstance(id, (str, int, float)) and not isinstance(id, bool)]
    tables_told = not isinstance(parts.tree.get("tables", []), list)
    for i, group in parts.seats:
        if isinstance(group, written.AroundSeats) and group.around not in known and not tables_told:
            report(("seats", i, "around"), _unknown(group.around, known, "the id of a table"))
    if not any(isinstance(parts.tree.get(key), list) and parts.tree[key] for key in ("seats", "standing")):
        report(("seats",), "at least one head, in seats or standing", "no head")
    heads = 0
    for key, groups in (("seats", parts.seats), ("standing", parts.standing)):
        for i, group in groups:
            heads += _count(group, tables)
            if heads > MOST_HEADS:
                report(
                    (key, i),
                    f"at most {MOST_HEADS} heads in all",
                    f"{heads} heads or about as many up to here",
                )
                return


def _count(group: Any, tables: dict[str, Any]) -> int:
    """How many heads a group makes; round a table an estimate from its edge, which may be a few too many."""
    if isinstance(group, written.AroundSeats):
        if group.count is not None:
            count = group.count
        else:
            table = tables.get(group.around)
            count = math.floor(_edge(table) / group.pitch + 1e-9) if table is not None else 1
    elif isinstance(group, written.SeatRows):
        count = group.rows * group.columns
    elif isinstance(group, written.StandingLine):
        count = 1 + math.ceil(sum(map(math.dist, group.along, group.along[1:])) / group.step - 1e-9)
    else:
        count = 1
    return 2 * count if getattr(group, "stands", False) else count


def _edge(table: Any) -> float:
    if isinstance(table, written.RoundTable):
        return math.pi * table.size[0]
    if isinstance(table, written.PolygonTable):
        return sum(map(math.dist, table.outline, (*table.outline[1:], table.outline[0])))
    return 2 * float(sum(table.size))


def _heads(parts: Parts, report: Report) -> None:
    if parts.room is None:
        return
    corners = parts.room.corners
    ceiling = parts.room.ceiling.height
    for key, groups in (("seats", parts.seats), ("standing", parts.standing)):
        for i, group in groups:
            path: Path = (key, i)
            if isinstance(group, (written.SingleSeat, written.StandingPoint)):
                if not inside(group.at, corners):
                    report((*path, "at"), "a place inside the room's outline")
            elif isinstance(group, written.SeatRows):
                for corner in _block(group):
                    if not inside(corner, corners):
                        where = ", ".join(_in_units(value, parts) for value in corner)
                        report((*path, "at"), f"every seat inside the room's outline (one is at {where})")
                        break
            elif isinstance(group, written.StandingLine):
                for k, point in enumerate(group.along):
                    if not inside(point, corners):
                        report((*path, "along", k), "a place inside the room's outline")
            if group.mouth is not None and group.mouth[1] >= ceiling:
                report((*path, "mouth"), f"below the ceiling ({_in_units(ceiling, parts)})")
    people = parts.tree.get("people")
    for posture in ("seated", "standing"):
        value = people.get(posture) if isinstance(people, dict) else None
        mouth = getattr(getattr(parts.people, posture), "mouth", None) if parts.people is not None else None
        if isinstance(value, dict) and "mouth" in value and mouth is not None and mouth[1] >= ceiling:
            report(("people", posture, "mouth"), f"below the ceiling ({_in_units(ceiling, parts)})")


def _block(rows: written.SeatRows) -> list[tuple[float, float]]:
    """The four corner seats of a block of desks."""
    half_x = 0.5 * (rows.columns - 1) * rows.pitch[0]
    half_y = 0.5 * (rows.rows - 1) * rows.pitch[1]
    c, s = math.cos(math.radians(rows.turn)), math.sin(math.radians(rows.turn))
    return [
        (rows.at[0] + c * x - s * y, rows.at[1] + s * x + c * y)
        for x, y in ((-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y))
    ]


# Arrays


def _arrays(parts: Parts, report: Report) -> None:
    room = parts.room
    for i, array in parts.arrays:
        path: Path = ("arrays", i)
        if room is not None and array.at is not None and not inside(array.at, room.corners):
            report((*path, "at"), "a place inside the room's outline")
        if array.profile not in parts.profiles:
            if parts.profiles or "profiles" in parts.tree:
                report(
                    (*path, "profile"), _unknown(array.profile, list(parts.profiles), "a profile of the file")
                )
            continue
        profile = parts.profiles[array.profile]
        if profile is None:
            continue
        if array.band is not None and array.band not in profile.bands:
            report(
                (*path, "band"),
                _unknown(array.band, list(profile.bands), f"a band of {shown(array.profile, 40)}"),
            )
        height_key = "height" if array.height is not None else "drop" if array.drop is not None else None
        if profile.mount == "flush":
            if height_key is not None:
                report((*path, height_key), "neither height nor drop for a flush array: it is at the ceiling")
        elif height_key is not None and room is not None:
            _hangs(array, profile, parts, (*path, height_key), report)


def _hangs(array: written.Array, profile: written.Profile, parts: Parts, path: Path, report: Report) -> None:
    if parts.room is None:
        return
    ceiling = parts.room.ceiling.height
    centre = array.height if array.height is not None else ceiling - (array.drop or 0.0)
    lowest, highest = profile.centre_above_underside, ceiling - profile.top_above_centre
    if lowest - TOUCHING_M <= centre <= highest + TOUCHING_M:
        return
    if array.drop is not None:
        least, most = _in_units(ceiling - highest, parts), _in_units(ceiling - lowest, parts)
        report(path, f"a drop from {least} (the body under the ceiling) to {most} (above the floor)")
    else:
        least, most = _in_units(lowest, parts), _in_units(highest, parts)
        report(path, f"a height from {least} (the body above the floor) to {most} (its top at the ceiling)")


def _outline(corners: Corners, path: Path, report: Report) -> None:
    for i, corner in enumerate(corners):
        if math.dist(corner, corners[(i + 1) % len(corners)]) < CLOSE_M:
            last = i == len(corners) - 1
            told = "no corner twice" + (
                "; the outline closes itself: leave the last corner out" if last else ""
            )
            report((*path, i), told)
            return
    pair = crossing(corners)
    if pair is not None:
        found = f"edges {pair[0]} and {pair[1]} crossing or touching"
        report(path, "a simple outline, which does not cross or touch itself", found)
    elif abs(area(corners)) < CLOSE_M:
        report(path, "an outline with an area", f"an area of {abs(area(corners)):.6f} m2")
