"""The things of a model that rooms are furnished with, each once, with its body; and how they lie in a room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from geometry.outlines import Circle, Rectangle, as_circle, rectangle_along, rectangle_round
from geometry.records import record
from scenes.findings.model import RoomFrame
from scenes.models.files import Matrix, ModelFile
from scenes.models.shapes import Body, Shapes
from scenes.models.spaces import Space, into_room

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ROUND_WITHIN_M: Final = 0.003
"""How far a round thing's corners may be from a circle."""
TURN_DECIMALS: Final = 6

Use = Literal["device", "chair", "table", "furniture", "column", "opening", "glazing"]


@record(frozen=True, slots=True)
class Thing:
    """A thing with its body (None: it has no shape) and the box round it in the model's axes."""

    entity: Any
    file: ModelFile
    use: Use
    body: Body | None
    matrix: Matrix
    low_m: Floats
    high_m: Floats
    kind: str = ""
    guessed: bool = False

    @property
    def guid(self) -> str:
        """Its GlobalId."""
        return str(self.entity.GlobalId)


@record(frozen=True, slots=True)
class InRoom:
    """A thing in a room's frame: its points (n, 3), or its place alone as one point."""

    thing: Thing
    points: Floats

    @property
    def low_m(self) -> float:
        """Its lowest point above the floor."""
        return float(self.points[:, 2].min())

    @property
    def high_m(self) -> float:
        """Its highest point above the floor."""
        return float(self.points[:, 2].max())

    @property
    def of_type(self) -> bool:
        """Whether its shape is its type's."""
        return self.thing.body is not None and self.thing.body.of_type

    def turn_deg(self, frame: RoomFrame) -> float | None:
        """The plan angle of its own x axis in the room; None where it lies on its side or has no axes of its own."""
        body = self.thing.body
        return None if body is None or not body.upright else body.turn_deg - frame.turn_deg

    def hull(self) -> Any:
        """The convex hull of its shadow on plan."""
        return shapely.convex_hull(shapely.multipoints(self.points[:, :2]))

    def footprint(self, frame: RoomFrame) -> Rectangle | Circle:
        """Its shadow on plan as a circle where it is one, else as a rectangle along its own axes.

        One that lies on its side, or is turned in no axis, has the smallest rectangle round it.
        """
        hull = self.hull()
        if hull.geom_type == "Polygon":
            circle = as_circle(hull, ROUND_WITHIN_M)
            if circle is not None:
                return circle
        turn = self.turn_deg(frame)
        found = rectangle_round(hull) if turn is None else rectangle_along(self.points[:, :2], turn)
        return level_turn(found)


def thing_of(entity: Any, file: ModelFile, shapes: Shapes, use: Use, **known: Any) -> Thing | None:
    """The thing with its body; None for one that is placed nowhere."""
    if entity.ObjectPlacement is None or not entity.ObjectPlacement.is_a("IfcLocalPlacement"):
        return None
    body = shapes.body(entity, file, "thing")
    matrix = shapes.matrix(entity, file) if body is None else body.matrix
    points = matrix[:3, 3][None, :] if body is None else body.vertices
    return Thing(entity, file, use, body, matrix, points.min(axis=0), points.max(axis=0), **known)


def near(things: Iterable[Thing], space: Space, around_m: float = 0.0) -> list[InRoom]:
    """The things whose boxes reach into the box round the room, in the room's frame; heights not looked at."""
    low_x, low_y, high_x, high_y = shapely.bounds(_in_model(space))
    found = []
    for thing in things:
        if (
            thing.high_m[0] >= low_x - around_m
            and thing.low_m[0] <= high_x + around_m
            and thing.high_m[1] >= low_y - around_m
            and thing.low_m[1] <= high_y + around_m
        ):
            points = thing.matrix[:3, 3][None, :] if thing.body is None else thing.body.vertices
            found.append(InRoom(thing, into_room(points, space.frame)))
    return found


def level_turn(rectangle: Rectangle) -> Rectangle:
    """The same rectangle turned by as little as can be, its sides changed round where that needs it."""
    quarter = round(rectangle.turn_deg / 90)
    turn = round(rectangle.turn_deg - 90 * quarter, TURN_DECIMALS)
    width, depth = rectangle.size_m
    size = (depth, width) if quarter % 2 else (width, depth)
    return Rectangle(rectangle.middle_m, size, turn + 0.0)


def corners_of_box(rectangle: Rectangle) -> Polygon:
    """The rectangle as a polygon."""
    angle = np.radians(rectangle.turn_deg)
    c, s = np.cos(angle), np.sin(angle)
    half_x, half_y = rectangle.size_m[0] / 2, rectangle.size_m[1] / 2
    own = np.array([(-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y)])
    return Polygon(own @ np.array([[c, s], [-s, c]]) + np.array(rectangle.middle_m))


def in_order(things: Sequence[Any], place: Callable[[Any], Sequence[float]]) -> list[Any]:
    """Things as one reads a plan: from low y to high y, along x in a row, so that ids are the same every time."""
    return sorted(things, key=lambda one: (round(place(one)[1], 2), round(place(one)[0], 2), one.guid))


def _in_model(space: Space) -> Any:
    from scenes.models.spaces import out_of_room

    return shapely.transform(
        space.outline,
        lambda points: out_of_room(np.column_stack([points, np.zeros(len(points))]), space.frame)[:, :2],
    )
