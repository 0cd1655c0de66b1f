"""Names on a plan: each so near to its own thing that nobody takes it for another's, or with a leader to it.

A name without a leader is at most `NEAR_MM` from its own thing, and every other named thing is at least
`TIMES` as far and `CLEAR_MM` farther. Any other has a leader that ends on its own thing and passes no other.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, TypeAlias

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

from geometry.records import record
from viz.sheets import lettering
from viz.sheets.crossing import crossings
from viz.sheets.draft import LINE_MM, TEXT_MM, Box, PlacedName, Point, View
from viz.sheets.plan_chains import WALL_M

NEAR_MM: Final = 2.2
ROOM_MM: Final = np.array([0.5, 1.0, -0.5, -0.5])
"""From the box of a name to its letters: left, below, right, above; where they are near, these are meant."""
TIMES: Final = 1.5
CLEAR_MM: Final = 0.8
INSIDE_MM: Final = 0.5
ROUND_MM: Final = 11.0
PASS_MM: Final = 0.5
"""A leader passes no nearer by another thing."""
LONG_MM: Final = 20.0
"""A leader may run across what is as long: a beam, a line of light."""
SHORTEST_MM: Final = 1.5
"""A leader is at least so long: a shorter one is not seen."""

BESIDE_MM: Final = (0.7, 1.2)
OUT_MM: Final = (2.2, 3.5, 5.5, 8.0, 11.0, 15.0, 20.0, 27.0, 35.0)
"""From a thing to its name: beside it, or at the end of a leader."""
PITCH_MM: Final = 2.0
MOST_PLACES: Final = 1200
"""What is placed first is tried all over the room, so far apart and at no more places."""
SLIDES: Final = tuple(np.linspace(0.0, 1.0, 7))
"""Where along a thing's side its name may stand."""
AROUND_DEG: Final = tuple(range(0, 360, 15))

SIDE: Final = 0.6
"""What the side that is liked least costs."""
CROSSED: Final = 2.0
"""What each drawn line through a name costs."""
LEADER: Final = 4.0
LEADER_PER_MM: Final = 0.3
BY_ANOTHER_MM: Final = 3.0
"""What a leader costs, and how much more where its letters stand by another thing."""

NOWHERE: Final = 200.0
"""What it costs to leave a name out."""
ROUNDS: Final = 2
TRIED: Final = 12
MOST_MOVED: Final = 2
"""How often names are exchanged, how many places of each are tried, and how many others may move for one."""

SIDES_DEG: Final = (90.0, -90.0, 0.0, 180.0)
"""Above, below, right, left: the order in which a name is wanted beside a thing."""


def rectangle_mm(view: View, at_m: Point, size_m: Sequence[float], turn_deg: float) -> Any:
    """A rectangle of the room as a shape on paper."""
    (x, y), wide, deep = (
        view.to_mm(at_m),
        view.to_mm((size_m[0], 0))[0] / 2,
        view.to_mm((size_m[1], 0))[0] / 2,
    )
    flat = shapely.box(x - wide, y - deep, x + wide, y + deep)
    return shapely.affinity.rotate(flat, turn_deg, origin=(x, y))


def disc_mm(view: View, at_m: Point, radius_mm: float) -> Any:
    """A disc of that radius on paper round a place in the room."""
    return shapely.Point(view.to_mm(at_m)).buffer(radius_mm)


def room_mm(view: View, outline_m: Sequence[Point]) -> Any:
    """Where a name is still inside a room: its outline on paper, a little in."""
    return shapely.Polygon([view.to_mm(point) for point in outline_m]).buffer(-INSIDE_MM)


def around_mm(view: View, outline_m: Sequence[Point]) -> Any:
    """Where a name may stand in a room and round it, as far as a plan has margins, but on no wall."""
    room = shapely.Polygon([view.to_mm(point) for point in outline_m])
    x0, y0, x1, y1 = room.bounds
    paper = shapely.box(x0 - ROUND_MM, y0 - ROUND_MM, x1 + ROUND_MM, y1 + ROUND_MM)
    outer = room.buffer(view.to_mm((WALL_M, 0))[0] + INSIDE_MM, join_style="mitre")
    return paper.difference(outer).union(room.buffer(-INSIDE_MM))


@record(frozen=True, slots=True)
class Text:
    """Lines to letter and where they may stand, a shape on paper; None: anywhere. `left_mm`: room kept free in front."""

    lines: tuple[str, ...]
    within: Any = None
    left_mm: float = 0.0


@record(frozen=True, slots=True)
class Name:
    """A name to place: of which thing, the texts that would do, the best first, and where it is wanted.

    `outward_deg`: the direction from the thing in which it is wanted; None: any side. `on`: a surface that carries its
    own name, as a shape on paper; it is none of the view's things. `first`: placed before others. `led`: always with
    a leader.
    """

    of: str
    texts: tuple[Text, ...]
    outward_deg: float | None = None
    on: Any = None
    first: bool = False
    led: bool = False


_Place: TypeAlias = tuple[Box, Box | None]
"""The box of a name, and the ends of its leader."""


@dataclass
class _Open:
    """A name to place: the boxes where it could stand and what each costs, infinite where it cannot; which it takes."""

    number: int
    name: Name
    own: Any
    text: int = -1
    boxes: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 4)))
    cost: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))
    leads: NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, bool))
    ends: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 4)))
    lines: Any = None
    taken: int | None = None

    def place(self, at: int) -> _Place:
        leader = _box(self.ends[at]) if self.leads[at] else None
        return _box(self.boxes[at]), leader

    def meets(self, place: _Place) -> NDArray[np.bool_]:
        """Which places of this name meet letters that stand there, or their leader."""
        box, leader = place
        met = _over(self.boxes, np.array([box]))
        met |= self.leads & (crossings(np.array([_grown(box, 0.2)]), self.ends, each=True)[0] > 0)
        if leader is not None:
            met |= crossings(self.boxes, np.array([leader])) > 0
            met |= self.leads & shapely.intersects(self.lines, shapely.LineString([leader[:2], leader[2:]]))
        return met

    def free(self, others: Iterable[_Place]) -> NDArray[np.float64]:
        """What each place costs beside others that are taken."""
        cost = self.cost.copy()
        for place in others:
            cost[self.meets(place)] = np.inf
        return cost


def place_names(view: View, names: Sequence[Name]) -> dict[int, Box]:
    """Letters every name; the boxes of those that have a place, by their number in `names`."""
    asked = _asked(view, names)
    if asked not in view.draft.named:
        view.draft.named[asked] = _placed(view, names)
    for one in view.draft.named[asked]:
        name = names[one.number]
        _letter(view, _own(view, name), name.texts[one.text], one)
    return {one.number: one.box for one in view.draft.named[asked]}


def _own(view: View, name: Name) -> Any:
    """What a name belongs to."""
    return name.on or view.things[name.of]


def _asked(view: View, names: Sequence[Name]) -> bytes:
    """All that decides where names stand, as a digest: the same sheet is drawn more than once."""
    shapes = [*view.things.values(), *(name.on for name in names)]
    shapes += [text.within for name in names for text in name.texts]
    told = (
        tuple(view.things),
        [(name.of, name.outward_deg, name.first, name.led) for name in names],
        [[(text.lines, text.left_mm) for text in name.texts] for name in names],
        [shapely.to_wkb(shape, hex=True) for shape in shapes],
        *(np.array(some, float).tolist() for some in (view.segments, view.boxes, view.leaders)),
    )
    return hashlib.sha256(repr(told).encode()).digest()


def _placed(view: View, names: Sequence[Name]) -> list[PlacedName]:
    """A place for each name that has one."""
    rivals = _Rivals(view)
    every = [_Open(number, name, _own(view, name)) for number, name in enumerate(names)]
    every = [one for one in every if _next_text(view, rivals, one)]
    _one_by_one(view, rivals, every)
    for _ in range(ROUNDS):
        dear = sorted((one for one in every if _price(one) > LEADER), key=lambda one: -_price(one))
        moved = [_exchange(one, every) for one in dear]
        if not any(moved):
            break
    return [PlacedName(one.number, one.text, *one.place(one.taken)) for one in every if one.taken is not None]


def _price(one: _Open) -> float:
    return NOWHERE if one.taken is None else float(one.cost[one.taken])


def _taken(every: Iterable[_Open]) -> list[_Place]:
    return [one.place(one.taken) for one in every if one.taken is not None]


def _one_by_one(view: View, rivals: _Rivals, every: Sequence[_Open]) -> None:
    """The cheapest place for each name: what comes first, then whatever has the fewest places beside its thing."""
    waiting = list(every)
    left = {one.number: one.cost.copy() for one in waiting}

    def order(one: _Open) -> tuple[bool, bool, int, int]:
        near = int((np.isfinite(left[one.number]) & ~one.leads).sum())
        return not one.name.first, near == 0, near, one.number

    while waiting:
        one = min(waiting, key=order)
        best = int(np.argmin(left[one.number]))
        if not np.isfinite(left[one.number][best]):
            if _next_text(view, rivals, one):
                left[one.number] = one.free(_taken(every))
            else:
                waiting.remove(one)
            continue
        waiting.remove(one)
        one.taken = best
        for other in waiting:
            left[other.number][other.meets(one.place(best))] = np.inf


def _exchange(one: _Open, every: Sequence[_Open]) -> bool:
    """Gives a dear name a cheaper place, where what stands there finds another and all of it costs less together."""
    others = [other for other in every if other is not one and other.taken is not None]
    best, moves = 1e-6, []
    for at in np.argsort(one.cost)[:TRIED]:
        if not np.isfinite(one.cost[at]) or one.cost[at] >= _price(one) - best:
            break
        mine = one.place(int(at))
        met = [other for other in others if other.taken is not None and other.meets(mine)[other.taken]]
        if len(met) > MOST_MOVED:
            continue
        standing = [mine, *_taken(other for other in others if other not in met)]
        gain, found = _price(one) - float(one.cost[at]), [(one, int(at))]
        for other in met:
            cost = other.free(standing)
            to = int(np.argmin(cost))
            gain += _price(other) - float(cost[to])
            if gain <= best:
                break
            found.append((other, to))
            standing.append(other.place(to))
        else:
            if gain > best:
                best, moves = gain, found
    for other, to in moves:
        other.taken = to
    return bool(moves)


class _Rivals:
    """Everything that a name could be taken for, and what no leader may run through."""

    def __init__(self, view: View) -> None:
        self.shapes = np.array(list(view.things.values()), dtype=object)
        self.tree = shapely.STRtree(self.shapes)
        bounds = shapely.bounds(self.shapes).reshape(-1, 4)
        self.long = (bounds[:, 2:] - bounds[:, :2]).max(axis=1) > LONG_MM
        self.middles = shapely.get_coordinates(shapely.centroid(self.shapes))

    def others(self, own: Any) -> NDArray[np.bool_]:
        """All but a thing itself and what stands at the same place: somebody who also stands up."""
        middle = shapely.get_coordinates(shapely.centroid(own))[0]
        apart: NDArray[np.bool_] = np.hypot(*(self.middles - middle).T) > 0.1
        return apart

    def nearest_mm(self, boxes: Any, own: Any, within_mm: float) -> NDArray[np.float64]:
        """From each box to the nearest other thing; `within_mm` where none is nearer."""
        found = np.full(len(boxes), within_mm)
        at, thing = self.tree.query(boxes, predicate="dwithin", distance=within_mm)
        keep = self.others(own)[thing]
        at, thing = at[keep], thing[keep]
        np.minimum.at(found, at, shapely.distance(boxes[at], self.shapes[thing]))
        return found


def _next_text(view: View, rivals: _Rivals, one: _Open) -> bool:
    """The places of the next text that would do, if there is one."""
    while one.text + 1 < len(one.name.texts):
        one.text += 1
        _fill(view, rivals, one)
        if np.isfinite(one.cost).any():
            return True
    return False


def _fill(view: View, rivals: _Rivals, one: _Open) -> None:
    """All places of a name's present text, with what each costs."""
    text = one.name.texts[one.text]
    wide = max(lettering.width(line, TEXT_MM) for line in text.lines) + 1.0 + text.left_mm
    tall = len(text.lines) * LINE_MM
    boxes = list(_inside(one.own, wide, tall) if one.name.on else _round(one.own, wide, tall))
    if one.name.first and text.within is not None:
        boxes += _all_over(text.within.bounds, wide, tall)
    one.boxes = np.array(boxes)
    shapes = shapely.box(*one.boxes.T)
    letters = shapely.box(*(one.boxes + ROOM_MM).T)
    own_mm = shapely.distance(letters, one.own)
    other_mm = rivals.nearest_mm(letters, one.own, max(NEAR_MM * TIMES, NEAR_MM + CLEAR_MM))
    clear = (
        (not one.name.led) & (own_mm <= NEAR_MM) & (other_mm >= np.maximum(TIMES * own_mm, own_mm + CLEAR_MM))
    )
    one.leads = np.zeros(len(shapes), bool) if one.name.on else ~clear
    one.ends = shapely.get_coordinates(shapely.shortest_line(shapes, one.own)).reshape(-1, 4)
    one.lines = shapely.linestrings(one.ends.reshape(-1, 2, 2))
    shapely.prepare(one.lines)
    leader = LEADER + LEADER_PER_MM * own_mm + np.maximum(0.0, BY_ANOTHER_MM - other_mm)
    one.cost = _likes(one, shapes) + np.where(one.leads, leader, 0.0)
    if view.segments:
        one.cost += CROSSED * crossings(one.boxes, np.array(view.segments))
    out = np.zeros(len(shapes), bool)
    if text.within is not None:
        out |= ~shapely.contains(text.within, shapes)
    if not one.name.on:
        out |= shapely.intersects(shapes, one.own)
        out |= rivals.nearest_mm(shapes, one.own, CLEAR_MM) == 0
    out |= _over(one.boxes, np.array(view.boxes).reshape(-1, 4))
    if view.leaders:
        out |= crossings(one.boxes, np.array(view.leaders)) > 0
    out |= one.leads & ((own_mm < SHORTEST_MM) | _blocked(view, rivals, one))
    one.cost[out] = np.inf


def _blocked(view: View, rivals: _Rivals, one: _Open) -> NDArray[np.bool_]:
    """Which leaders run through another thing, through letters, or through another leader."""
    lines = one.lines
    blocked = np.zeros(len(lines), bool)
    at, thing = rivals.tree.query(lines, predicate="dwithin", distance=PASS_MM)
    # what covers its own thing a leader cannot keep off
    apart = rivals.others(one.own) & (shapely.distance(rivals.shapes, one.own) > PASS_MM) & ~rivals.long
    blocked[at[apart[thing]]] = True
    boxes = np.array(view.boxes).reshape(-1, 4)
    kept = shapely.box(*boxes.T)
    apart = shapely.distance(kept, one.own) > 0.1
    for shape in rivals.shapes[rivals.long]:
        apart &= ~shapely.covers(shape.envelope.buffer(0.1), kept)
    if apart.any():
        blocked |= (crossings(boxes[apart], one.ends, each=True) > 0).any(axis=0)
    for leader in view.leaders:
        blocked |= shapely.intersects(lines, shapely.LineString([leader[:2], leader[2:]]))
    return blocked


def _likes(one: _Open, shapes: Any) -> NDArray[np.float64]:
    """What the direction from the thing to each place costs."""
    middle = shapely.get_coordinates(shapely.centroid(one.own))[0]
    away = (one.boxes[:, :2] + one.boxes[:, 2:]) / 2 - middle
    angle = np.arctan2(away[:, 1], away[:, 0])
    if one.name.outward_deg is not None:
        likes: NDArray[np.float64] = 2.0 * (1 - np.cos(angle - math.radians(one.name.outward_deg)))
        return likes
    ranks = [
        rank * SIDE / (len(SIDES_DEG) - 1) + 0.5 * (1 - np.cos(angle - math.radians(side)))
        for rank, side in enumerate(SIDES_DEG)
    ]
    best: NDArray[np.float64] = np.min(ranks, axis=0)
    return best


def _round(own: Any, wide: float, tall: float) -> Iterable[Box]:
    """Boxes of that size beside a thing, on each side of it, and farther out in all directions."""
    x0, y0, x1, y1 = own.bounds
    for gap in BESIDE_MM:
        for slide in SLIDES:
            # from one corner of the thing to the other, the box half over its end
            x = x0 + slide * (x1 - x0) - wide / 2
            y = y0 + slide * (y1 - y0) - tall / 2
            yield x, y1 + gap, x + wide, y1 + gap + tall
            yield x, y0 - gap - tall, x + wide, y0 - gap
            yield x1 + gap, y, x1 + gap + wide, y + tall
            yield x0 - gap - wide, y, x0 - gap, y + tall
        for x in (x0 - 0.6 * gap - wide, x1 + 0.6 * gap):
            for y in (y0 - 0.6 * gap - tall, y1 + 0.6 * gap):
                yield x, y, x + wide, y + tall
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    for gap in OUT_MM:
        for turn in AROUND_DEG:
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            x = middle[0] + c * (gap + (x1 - x0 + wide) / 2) - wide / 2
            y = middle[1] + s * (gap + (y1 - y0 + tall) / 2) - tall / 2
            yield x, y, x + wide, y + tall


def _all_over(bounds: Box, wide: float, tall: float) -> Iterable[Box]:
    """Boxes of that size at even steps all over a rectangle."""
    x0, y0, x1, y1 = bounds
    step = max(PITCH_MM, math.sqrt((x1 - x0) * (y1 - y0) / MOST_PLACES))
    for x in np.arange(x0, x1 - wide, step):
        for y in np.arange(y0, y1 - tall, step):
            yield float(x), float(y), float(x) + wide, float(y) + tall


def _inside(own: Any, wide: float, tall: float) -> Iterable[Box]:
    """Boxes of that size all over a thing, and on its middle."""
    x0, y0, x1, y1 = own.bounds
    for share_x in np.linspace(0.0, 1.0, 9):
        for share_y in np.linspace(0.0, 1.0, 7):
            x = x0 + share_x * max(0.0, x1 - x0 - wide)
            y = y0 + share_y * max(0.0, y1 - y0 - tall)
            yield x, y, x + wide, y + tall


def _letter(view: View, own: Any, text: Text, placed: PlacedName) -> None:
    box, leader = placed.box, placed.leader
    view.keep(box)
    x = own.centroid.x
    left = text.left_mm > 0 or box[0] > x or box[2] >= x
    for number, line in enumerate(text.lines):
        baseline = box[3] - (number + 1) * LINE_MM + 1.0
        at = (box[0] + text.left_mm + 0.5 if left else box[2] - 0.5, baseline)
        view.add(line, at, align="left" if left else "right")
    if leader is not None:
        (ax, ay), (bx, by) = leader[:2], leader[2:]
        view.line(f"leader{view.suffix}", (view.to_m(ax), view.to_m(ay)), (view.to_m(bx), view.to_m(by)))
        view.leaders.append(leader)


def _over(boxes: NDArray[np.float64], taken: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which boxes overlap any of some others."""
    over = (
        (boxes[:, None, 0] < taken[:, 2])
        & (boxes[:, None, 2] > taken[:, 0])
        & (boxes[:, None, 1] < taken[:, 3])
        & (boxes[:, None, 3] > taken[:, 1])
    ).any(axis=1)
    return np.asarray(over, bool)


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _box(row: NDArray[np.float64]) -> Box:
    x0, y0, x1, y1 = (float(value) for value in row)
    return x0, y0, x1, y1
