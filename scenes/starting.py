"""A first spec out of eight answers: size, ceiling, table, seats, array, devices by pattern, presenter.

The answers are the short texts a person types (`7.2 x 4.8`, `suspended 2.7, grid 0.6`, `lights 0.6 x 0.6 in two
rows`). What comes back is a `Start`, and from it the text of a spec file; the remarks in it come from above.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final, Literal, get_args

import shapely
from shapely.geometry import LineString, Polygon

from geometry.records import record
from geometry.shapes import Point2
from scenes.models.devices import PREFIXES
from scenes.models.writing import DECIMALS, flow, plain_number, scalar
from scenes.room.kinds import USUAL_DEVICES
from scenes.rulebook import rules
from scenes.spec import equipment, shell
from scenes.spec.lengths import METRES_IN, LengthMistake, parse_length

Question = Literal["name", "units", "size", "ceiling", "table", "seats", "array", "devices", "presenter"]
RemarkName = Literal[
    "head", "ceiling", "people", "seats", "profile", "profiles", "arrays", "devices", "presenter", "structure"
]
Allowed = Literal[
    "length",
    "size",
    "corners",
    "ceiling",
    "grid",
    "shape",
    "table",
    "seats",
    "kind",
    "devices",
    "units",
    "yes or no",
    "room for table",
    "room for seats",
    "room for presenter",
    "somebody",
]
"""What an answer may be instead."""
Remark = Callable[[RemarkName], str]

PITCH_M: Final = 0.75
"""Between neighbours round a table, as the spec's default has it."""
GAP_M: Final = 0.25
ROW_PITCH_M: Final = (0.8, 1.2)
"""Along a row of seats, and between rows."""
ROUND_TABLE_M: Final = 1.2
"""What the table that is proposed leaves free all round: a chair and somebody who passes behind it."""
LARGEST_TABLE_M: Final = (4.8, 1.4)
SMALLEST_TABLE_M: Final = (0.8, 0.8)
PRESENTER_OFF_WALL_M: Final = 0.8
PRESENTER_WALK_M: Final = 2.4
FROM_WALL_M: Final = 0.5
DEVICE_EVERY_M: Final = 2.4
"""Along a row that does not say how many it has."""
HANGS_M: Final[Mapping[str, float]] = {"sprinkler": 0.05, "smoke detector": 0.05}
"""How far the lowest point of what is not flush is taken to be below the ceiling: common practice, no source."""
NUMBERS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "a": 1, "an": 1}
MOST_IN_ROWS: Final = 40
LEAST_APART_M: Final = 0.05
"""Between devices of different groups where no rule asks for more."""
MOVE_M: Final = 0.3
MOST_MOVES: Final = 4
"""How far, in steps, a group of devices is moved to keep clear of those before it."""


class StartMistake(ValueError):
    """An answer that cannot be: to which question, what was found, and what is allowed, by name."""

    exit_status = 2

    def __init__(self, question: Question, found: str, allowed: Allowed) -> None:
        super().__init__(question, found, allowed)
        self.question, self.found, self.allowed = question, found, allowed


@record(frozen=True, slots=True)
class Ceiling:
    """Kind and height; the pitch of its grid, if it has one."""

    kind: str
    height_m: float
    grid_m: Point2 | None


@record(frozen=True, slots=True)
class Table:
    """Shape and size along the room's longer side first; of a round one the diameter."""

    shape: str
    size_m: tuple[float, ...]


@record(frozen=True, slots=True)
class Rows:
    """Devices of one kind in rows: how many rows, how many in a row (None: as many as fit), size and place."""

    kind: str
    rows: int
    columns: int | None
    size_m: tuple[float, ...] | None
    below_m: float


@record(frozen=True, slots=True)
class Start:
    """All answers. `rows` of seats: (rows, columns); None: round the table."""

    name: str
    units: str
    outline_m: tuple[Point2, ...]
    rectangular: bool
    ceiling: Ceiling
    table: Table | None
    rows: tuple[int, int] | None
    profiles: str | None
    """The name of a file of profiles; None: the example in the file itself."""
    profile: str
    devices: tuple[Rows, ...]
    presenter: bool

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """The least and the largest x and y of the outline."""
        low_x, low_y, high_x, high_y = Polygon(self.outline_m).bounds
        return float(low_x), float(low_y), float(high_x), float(high_y)

    @property
    def middle_m(self) -> Point2:
        """Where the table stands: the middle of the outline, or a place well inside it."""
        area = Polygon(self.outline_m)
        middle = area.centroid if area.contains(area.centroid) else area.representative_point()
        return float(middle.x), float(middle.y)

    @property
    def lengthways(self) -> bool:
        """Whether the room is longer along x than along y."""
        low_x, low_y, high_x, high_y = self.bounds_m
        return high_x - low_x >= high_y - low_y


# ---------------------------------------------------------------- answers read


def read_units(text: str) -> str:
    """The file's units."""
    if text.strip() not in METRES_IN:
        raise StartMistake("units", text, "units")
    return text.strip()


def read_size(text: str, units: str) -> tuple[tuple[Point2, ...], bool]:
    """The outline, and whether it is a rectangle: `7.2 x 4.8`, or corners `0,0 7.2,0 7.2,4.8 0,4.8`."""
    if "," in text:
        corners = [tuple(_lengths(part, ",", units, "size", "corners")) for part in text.split()]
        if len(corners) < 3 or any(len(corner) != 2 for corner in corners):
            raise StartMistake("size", text, "corners")
        outline = tuple((float(x), float(y)) for x, y in corners)
        area = Polygon(outline)
        if not area.is_valid or area.area < 1.0:
            raise StartMistake("size", text, "corners")
        return outline, False
    width, depth = _pair(text, units, "size")
    return ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth)), True


def read_ceiling(text: str, units: str) -> Ceiling:
    """Kind and height, and a grid: `suspended 2.7, grid 0.6 x 0.6`; a height alone is suspended."""
    main, _, grid = text.partition("grid")
    words = main.replace(",", " ").split()
    kinds = get_args(shell.Ceiling.model_fields["kind"].annotation)
    kind = words.pop(0) if words and words[0] in kinds else "suspended"
    height = _length(" ".join(words), units, "ceiling", "ceiling")
    if not 1.8 <= height <= 30:
        raise StartMistake("ceiling", text, "ceiling")
    if not grid.strip():
        return Ceiling(kind, height, None)
    if kind != "suspended":
        raise StartMistake("ceiling", text, "grid")
    sides = _lengths(grid, "x", units, "ceiling", "grid")
    if len(sides) > 2 or min(sides) <= 0.1:
        raise StartMistake("ceiling", text, "grid")
    return Ceiling(kind, height, (sides[0], sides[-1]))


def read_table(text: str, units: str) -> Table | None:
    """A table: `2.4 x 1.2`, `boat 3.6 x 1.4`, `round 1.5`; `none` for no table."""
    if text.strip() in ("none", "no"):
        return None
    words = text.split()
    shapes = table_shapes()
    shape = words.pop(0) if words and words[0].isalpha() else "rectangle"
    if shape not in shapes:
        raise StartMistake("table", text, "shape")
    sizes = _lengths(" ".join(words), "x", units, "table")
    if len(sizes) != (1 if shape == "round" else 2) or min(sizes) < 0.3:
        raise StartMistake("table", text, "table")
    return Table(shape, tuple(sizes))


def read_seats(text: str) -> tuple[int, int] | None:
    """Where people sit: `round the table`, or rows: `rows 4 x 6`."""
    plain = text.strip().casefold()
    if plain in ("", "table", "round the table", "around the table"):
        return None
    match = re.fullmatch(r"(?:rows )?(\d{1,2}) ?[x×] ?(\d{1,2})(?: rows)?", plain)
    if match is None or not 1 <= int(match[1]) <= MOST_IN_ROWS or not 1 <= int(match[2]) <= MOST_IN_ROWS:
        raise StartMistake("seats", text, "seats")
    return int(match[1]), int(match[2])


def read_devices(text: str, units: str) -> tuple[Rows, ...]:
    """Devices by pattern, several with semicolons: `lights 0.6 x 0.6 in two rows; 4 sprinklers`; or `none`."""
    if text.strip() in ("", "none", "no"):
        return ()
    return tuple(_rows(part.strip(), units) for part in text.split(";") if part.strip())


def read_yes(text: str, question: Question) -> bool:
    """Yes or no."""
    plain = text.strip().casefold()
    if plain in ("y", "yes"):
        return True
    if plain in ("n", "no", "none", ""):
        return False
    raise StartMistake(question, text, "yes or no")


def proposed_table(outline_m: Sequence[Point2]) -> Table | None:
    """A table that leaves room to sit and to pass all round; None where the room is too small for one."""
    low_x, low_y, high_x, high_y = Polygon(outline_m).bounds
    sides = sorted((high_x - low_x, high_y - low_y), reverse=True)
    size = [
        min(math.floor((side - 2 * ROUND_TABLE_M) * 10 + 1e-6) / 10, largest)
        for side, largest in zip(sides, LARGEST_TABLE_M, strict=True)
    ]
    if any(side < least for side, least in zip(size, SMALLEST_TABLE_M, strict=True)):
        return None
    return Table("rectangle", tuple(size))


def table_shapes() -> tuple[str, ...]:
    """The shapes of a table that two sizes or a diameter describe."""
    return ("rectangle", "round", "oval", "racetrack", "boat", "trapezoid")


def device_kinds() -> tuple[str, ...]:
    """The kinds of overhead devices."""
    return get_args(equipment.Kind)


def _rows(text: str, units: str) -> Rows:
    """One pattern: [COUNT] KIND [SIZE] [in N rows [of M]] [below LENGTH]."""
    rest = f"{' '.join(text.casefold().split())} "
    below = re.search(r" below ([^;]+?) $", rest)
    rest = rest[: below.start()] + " " if below else rest
    layout = re.search(r" in (\w+) rows?(?: of (\w+))? $", rest)
    rest = rest[: layout.start()] + " " if layout else rest
    count = re.match(r"(\d+|one|two|three|four|five|six|an?) ", rest)
    rest = rest[count.end() :] if count else rest
    kinds = {form: kind for kind in device_kinds() for form in (kind, f"{kind}s")}
    named = next((form for form in sorted(kinds, key=len, reverse=True) if rest.startswith(f"{form} ")), None)
    if named is None:
        raise StartMistake("devices", text, "kind")
    kind, sizes = kinds[named], rest[len(named) :].strip()
    size = tuple(_lengths(sizes, "x", units, "devices")) if sizes else None
    if size is not None and (len(size) > 2 or min(size) <= 0):
        raise StartMistake("devices", text, "devices")
    rows = _number(layout[1], text) if layout else 1
    columns = _number(layout[2], text) if layout and layout[2] else None
    if count and columns is None:
        whole = _number(count[1], text)
        if whole % rows:
            raise StartMistake("devices", text, "devices")
        columns = whole // rows
    below_m = _length(below[1], units, "devices") if below else HANGS_M.get(kind, 0.0)
    return Rows(kind, rows, columns, size, below_m)


def _number(text: str, whole: str) -> int:
    value = NUMBERS.get(text, int(text) if text.isdigit() else 0)
    if not 1 <= value <= MOST_IN_ROWS:
        raise StartMistake("devices", whole, "devices")
    return value


def _length(text: str, units: str, question: Question, allowed: Allowed = "length") -> float:
    try:
        return parse_length(text.strip(), units)
    except LengthMistake:
        raise StartMistake(question, text.strip(), allowed) from None


def _lengths(
    text: str, between: str, units: str, question: Question, allowed: Allowed = "length"
) -> list[float]:
    parts = re.split(r"\s*[x×]\s*" if between == "x" else r"\s*,\s*", text.strip())
    return [_length(part, units, question, allowed) for part in parts]


def _pair(text: str, units: str, question: Question) -> Point2:
    sides = _lengths(text, "x", units, question, "size")
    if len(sides) != 2 or min(sides) < 1.0:
        raise StartMistake(question, text, "size")
    return sides[0], sides[1]


# ---------------------------------------------------------------- the spec written


def start_text(start: Start, example: str, remark: Remark) -> str:
    """The spec as text, ready to be read. `example` is the text of the example profile, indented by two.

    Raises StartMistake where the answers do not fit each other: a table too large, seats outside.
    """
    _require_fit(start)
    return "\n".join(_Writer(start, example, remark).lines()) + "\n"


def _require_fit(start: Start) -> None:
    area = Polygon(start.outline_m)
    if start.rows is not None:
        rows, columns = start.rows
        along, deep = ((columns - 1) * ROW_PITCH_M[0], (rows - 1) * ROW_PITCH_M[1])
        if not area.contains(_box(start.middle_m, _laid(start, (along, deep)))):
            raise StartMistake("seats", f"rows {rows} x {columns}", "room for seats")
    elif start.table is not None:
        size = start.table.size_m if len(start.table.size_m) == 2 else start.table.size_m * 2
        with_seats = (size[0] + 2 * GAP_M, size[1] + 2 * GAP_M)
        if not area.contains(_box(start.middle_m, _laid(start, with_seats))):
            raise StartMistake("table", start.table.shape, "room for table")
    else:
        raise StartMistake("seats", "none", "somebody")


def _laid(start: Start, size: Point2) -> Point2:
    """A size whose first side lies along the room's longer one, as [x, y]."""
    return size if start.lengthways else (size[1], size[0])


def _box(middle: Point2, size: Sequence[float]) -> Polygon:
    half_x, half_y = max(size[0] / 2, 1e-3), max(size[1] / 2, 1e-3)
    return shapely.box(middle[0] - half_x, middle[1] - half_y, middle[0] + half_x, middle[1] + half_y)


class _Writer:
    """The lines of a first spec."""

    def __init__(self, start: Start, example: str, remark: Remark) -> None:
        self.start, self.example, self.remark = start, example, remark

    def lines(self) -> Iterator[str]:
        """Every line, without line feeds."""
        start = self.start
        yield from self._alone("head")
        yield "overtable: 1"
        yield f"name: {scalar(start.name)}"
        yield f"units: {start.units}"
        yield ""
        yield "room:"
        if start.rectangular:
            width, depth = start.outline_m[2]
            yield f"  size: {self._list((width, depth))}"
        else:
            yield f"  outline: [{', '.join(map(self._list, start.outline_m))}]"
        ceiling = [("kind", start.ceiling.kind), ("height", self._number(start.ceiling.height_m))]
        yield self._with(f"  ceiling: {flow(ceiling)}", "ceiling")
        yield self._with(f"  # structure: {self._number(start.ceiling.height_m + 0.6)}", "structure")
        if start.ceiling.grid_m is not None:
            yield f"  grid: {flow([('pitch', self._list(start.ceiling.grid_m))])}"
        yield ""
        yield from self._people()
        yield ""
        yield from self._array()
        devices = list(self._devices())
        if devices:
            yield ""
            yield from self._alone("devices")
            yield "overhead:"
            yield from devices

    def _people(self) -> Iterator[str]:
        start, turn = self.start, None if self.start.lengthways else "90"
        at = self._list(start.middle_m)
        if start.table is not None:
            size = self._list(start.table.size_m)
            pairs = [("id", "T1"), ("shape", start.table.shape), ("size", size), ("at", at), ("turn", turn)]
            yield "tables:"
            yield f"  - {flow(pairs)}"
            yield ""
        yield from self._alone("people")
        yield "people:"
        seated, standing = (
            flow([("mouth", self._list(mouth)), ("sway", self._number(0.1))])
            for mouth in ((1.07, 1.24), (1.4, 1.7))
        )
        yield f"  seated: {seated}"
        yield f"  standing: {standing}"
        yield ""
        yield "seats:"
        if start.rows is not None:
            rows, columns = start.rows
            pitch = self._list(ROW_PITCH_M)
            ids: list[tuple[str, str | None]] = [("id", "R"), ("rows", str(rows)), ("columns", str(columns))]
            yield self._with(f"  - {flow([*ids, ('at', at), ('pitch', pitch), ('turn', turn)])}", "seats")
        else:
            gap = [("around", "T1"), ("pitch", self._number(PITCH_M)), ("gap", self._number(GAP_M))]
            yield self._with(f"  - {flow(gap)}", "seats")
        if start.presenter:
            way = [("id", "P"), ("along", f"[{', '.join(map(self._list, self._walk()))}]")]
            yield "standing:"
            yield self._with(f"  - {flow(way)}", "presenter")

    def _walk(self) -> tuple[Point2, Point2]:
        """Where a presenter walks: along the wall at the far end of the room's longer side."""
        low_x, low_y, high_x, high_y = self.start.bounds_m
        if self.start.lengthways:
            line = LineString(
                [(high_x - PRESENTER_OFF_WALL_M, low_y), (high_x - PRESENTER_OFF_WALL_M, high_y)]
            )
        else:
            line = LineString(
                [(low_x, high_y - PRESENTER_OFF_WALL_M), (high_x, high_y - PRESENTER_OFF_WALL_M)]
            )
        free = shapely.get_parts(line.intersection(Polygon(self.start.outline_m).buffer(-FROM_WALL_M)))
        lengths = [part.length for part in free.tolist() if part.geom_type == "LineString"]
        if not lengths:
            raise StartMistake("presenter", "yes", "room for presenter")
        part = free.tolist()[lengths.index(max(lengths))]
        walk = min(PRESENTER_WALK_M, part.length)
        ends = [part.interpolate(part.length / 2 + sign * walk / 2) for sign in (-1, 1)]
        return (float(ends[0].x), float(ends[0].y)), (float(ends[1].x), float(ends[1].y))

    def _array(self) -> Iterator[str]:
        if self.start.profiles is None:
            yield from self._alone("profile")
            yield "profiles:"
            yield self.example
        else:
            yield self._with(f"profiles: {scalar(self.start.profiles)}", "profiles")
        yield from self._alone("arrays")
        yield "arrays:"
        yield f"  - {flow([('id', 'A1'), ('profile', scalar(self.start.profile))])}"

    def _devices(self) -> Iterator[str]:
        count: dict[str, int] = {}
        taken: list[tuple[str, Polygon]] = []
        for group in self.start.devices:
            for at in self._apart(group, taken):
                count[group.kind] = count.get(group.kind, 0) + 1
                size = None if group.size_m is None else self._list(_laid_size(self.start, group.size_m))
                pairs = [
                    ("id", f"{PREFIXES[group.kind]}{count[group.kind]}"),
                    ("kind", group.kind),
                    ("at", self._list(at)),
                    ("size", size),
                    ("below", self._number(group.below_m)),
                ]
                yield f"  - {flow(pairs)}"

    def _apart(self, group: Rows, taken: list[tuple[str, Polygon]]) -> list[Point2]:
        """A group's places, all of it moved as little as keeps it clear of what is `taken`; then they are taken too.

        Where no move does, it stays as it is: `check --ceiling` tells of it.
        """
        places, area = list(self._places(group)), Polygon(self.start.outline_m)
        size = (
            USUAL_DEVICES[group.kind].size_m if group.size_m is None else _laid_size(self.start, group.size_m)
        )
        found = list(places)
        for by in self._moves():
            moved = [(x + by[0], y + by[1]) for x, y in places]
            boxes = [_box(at, (size[0], size[-1])) for at in moved]
            inside = all(area.contains(shapely.Point(at)) for at in moved)
            if inside and not any(
                box.distance(other) < max(apart_m(group.kind, kind), LEAST_APART_M) - 1e-9
                for box in boxes
                for kind, other in taken
            ):
                found = moved
                break
        taken.extend((group.kind, _box(at, (size[0], size[-1]))) for at in found)
        return found

    def _moves(self) -> list[Point2]:
        """Moves of a group in steps of the grid, or of 0.3 m, the shortest first."""
        pitch = self.start.ceiling.grid_m or (MOVE_M, MOVE_M)
        steps = range(-MOST_MOVES, MOST_MOVES + 1)
        moves = [(i * pitch[0], j * pitch[1]) for i in steps for j in steps]
        return sorted(moves, key=lambda by: (math.hypot(*by), -by[0], -by[1]))

    def _places(self, group: Rows) -> Iterator[Point2]:
        """Places in even rows along the room's longer side, on tiles' middles where there is a grid."""
        low_x, low_y, high_x, high_y = self.start.bounds_m
        long, short = high_x - low_x, high_y - low_y
        if not self.start.lengthways:
            long, short = short, long
        columns = group.columns or max(1, math.floor(long / DEVICE_EVERY_M))
        area = Polygon(self.start.outline_m)
        found: list[Point2] = []
        for row in range(group.rows):
            for column in range(columns):
                along, across = (column + 0.5) / columns * long, (row + 0.5) / group.rows * short
                x, y = (along, across) if self.start.lengthways else (across, along)
                at = self._on_tile((low_x + x, low_y + y))
                if area.contains(shapely.Point(at)) and at not in found:
                    found.append(at)
        yield from found

    def _on_tile(self, at: Point2) -> Point2:
        grid = self.start.ceiling.grid_m
        if grid is None:
            return at
        x, y = ((math.floor(value / pitch) + 0.5) * pitch for value, pitch in zip(at, grid, strict=True))
        return x, y

    def _number(self, metres: float) -> str:
        return plain_number(metres / float(METRES_IN[self.start.units]), min(DECIMALS[self.start.units], 3))

    def _list(self, values: Sequence[float]) -> str:
        return f"[{', '.join(map(self._number, values))}]"

    def _with(self, line: str, name: RemarkName) -> str:
        return f"{line}  # {self.remark(name)}"

    def _alone(self, name: RemarkName) -> Iterator[str]:
        for line in self.remark(name).splitlines():
            yield f"# {line}"


def apart_m(kind: str, other: str) -> float:
    """What the rules between devices ask of two kinds, metres; 0 where none does."""
    pairs = ((kind, other), (other, kind))
    asked = (
        rule.values["required"]
        for rule in rules().values()
        for one, to in pairs
        if rule.to == to and one in rule.applies_to
    )
    return max(asked, default=0.0)


def _laid_size(start: Start, size: tuple[float, ...]) -> tuple[float, ...]:
    return size if len(size) == 1 or start.lengthways else (size[1], size[0])
