"""The walls as props, with what fills their openings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from geometry.records import record
from geometry.shapes import Point3
from scenes.room.ceiling import highest_m
from scenes.room.scene import Opening, Scene
from viz import palette as ink
from viz.forms import Form, box, join, part_of, prism
from viz.stage.props import HAIR_M, WALL_M, Floats, Prop, at_height, closed, mesh_prop, stroke_prop
from viz.stage.shadows import wall_shadow


@record(frozen=True, eq=False)
class Side:
    """One side of the room, from corner `a` to `b`: `along` and `out` are unit vectors on plan.

    `number` is the wall's as written, `outer_m` where its outer face begins and ends along it, metres.
    """

    number: int
    a: Floats
    b: Floats
    along: Floats
    out: Floats
    length_m: float
    outer_m: tuple[float, float]

    @property
    def outward(self) -> Point3:
        """The way out of the room."""
        return (float(self.out[0]), float(self.out[1]), 0.0)


@record(frozen=True, eq=False)
class Hole:
    """An opening's hole in its side: from `u_m` along it, between two heights."""

    opening: Opening
    side: Side
    u_m: float
    low_m: float
    high_m: float

    @property
    def width_m(self) -> float:
        """Its width."""
        return self.opening.width_m

    @property
    def middle(self) -> Floats:
        """Its middle on plan, on the inner face."""
        return np.asarray(self.side.a + (self.u_m + self.width_m / 2) * self.side.along)

    @property
    def ring(self) -> Floats:
        """Its outline along and up the wall."""
        u, low, high = self.u_m, self.low_m, self.high_m
        return np.array([(u, low), (u + self.width_m, low), (u + self.width_m, high), (u, high)])

    def panel(
        self, size: tuple[float, float], heights: tuple[float, float], depth: float, shift: float = 0
    ) -> Form:
        """A board in it: width and thickness, from and to which height, how far outwards and along its middle is."""
        side = self.side
        at = self.middle + depth * side.out + shift * side.along
        turn = math.degrees(math.atan2(side.along[1], side.along[0]))
        low, high = heights
        return box((*size, high - low), (at[0], at[1], (low + high) / 2), turn)

    @property
    def look(self) -> dict[str, object]:
        """What its props share."""
        return {"about": self.opening.id, "outward": self.side.outward, "crease_deg": 0.0}


def walls(scene: Scene, outline: Floats, outer: Floats) -> list[Prop]:
    """A wall per side, mitred at the corners, with its openings cut through, their leaves and panes."""
    room = scene.room
    top = highest_m(room) + HAIR_M
    props: list[Prop] = []
    if room.structure_m is not None and room.structure_m > top + 0.03:
        # the walls go on up to the structure; only sections look up there
        plenum = prism(outer, top, room.structure_m, holes=[outline])
        props.append(mesh_prop("plenum", "shell", plenum, ink.WALL, crease_deg=0.0, only=("long", "cross")))
    for side in _sides(scene, outline, outer):
        holes = _holes(scene, side)
        for hole in holes:
            if hole.opening.kind == "door":
                props += _door(hole)
            elif hole.opening.kind == "window":
                props += _window(hole)
        props += _wall(side, top, holes)
    return props


def _sides(scene: Scene, outline: Floats, outer: Floats) -> Iterator[Side]:
    count = len(outline)
    for i in range(count):
        a, b = outline[i], outline[(i + 1) % count]
        along = b - a
        length = float(np.linalg.norm(along))
        along = along / length
        out = np.array([along[1], -along[0]])
        # the scene counts walls as written; turned round if it was written clockwise
        written = i if scene.room.anticlockwise else (count - 2 - i) % count
        ends = (float((outer[i] - a) @ along), float((outer[(i + 1) % count] - a) @ along))
        yield Side(written, a, b, along, out, length, ends)


def _holes(scene: Scene, side: Side) -> list[Hole]:
    holes = []
    for opening in (one for one in scene.room.openings if one.wall == side.number):
        far = side.length_m - opening.offset_m - opening.width_m
        u = opening.offset_m if scene.room.anticlockwise else far
        low = max(opening.sill_m, 0.0)
        low = low if low > 0 else 0.0005  # a hair, so that a door's hole stays inside the wall
        holes.append(Hole(opening, side, u, low, opening.sill_m + opening.height_m))
    return holes


def _wall(side: Side, top: float, holes: Sequence[Hole]) -> list[Prop]:
    """One wall, its shadow, and its edges drawn on the inside."""
    a, along, out, length = side.a, side.along, side.out, side.length_m
    starts, ends = side.outer_m
    inner_ring = np.array([(0, 0), (length, 0), (length, top), (0, top)], float)
    outer_ring = np.array([(starts, 0), (ends, 0), (ends, top), (starts, top)], float)
    rings = [hole.ring for hole in holes]
    flat = prism(inner_ring, 0, WALL_M, top=outer_ring, holes=rings)
    # (u, z, outwards) to the room; with this frame left-handed the faces are turned over
    u, z, w = flat.points.T
    points = np.column_stack([a[0] + u * along[0] + w * out[0], a[1] + u * along[1] + w * out[1], z])
    name, outward = f"wall/{side.number}", side.outward
    form = Form(points, flat.faces)
    inward = -0.002 * out
    strokes = [
        np.column_stack(
            [a[0] + r[:, 0] * along[0] + inward[0], a[1] + r[:, 0] * along[1] + inward[1], r[:, 1]]
        )
        for r in map(closed, (inner_ring, *rings))
    ]
    look: dict[str, object] = {"crease_deg": 0.0, "outward": outward, "solid": name}
    top_faces = np.all(np.abs(form.points[form.faces][:, :, 2] - top) < 1e-9, axis=1)
    return [
        mesh_prop(name, "shell", part_of(form, ~top_faces), ink.WALL, **look),
        mesh_prop(f"{name}/cut", "shell", part_of(form, top_faces), ink.CUT_THROUGH, **look),
        wall_shadow(side.number, a, side.b, out, top),
        stroke_prop(f"{name}/edges", "shell", strokes, ink.WALL_EDGE, width_pt=0.5, outward=outward),
    ]


def _door(hole: Hole) -> list[Prop]:
    """A door's leaf, frame and handle, and its swing on plan."""
    width, low, high, side = hole.width_m, hole.low_m, hole.high_m, hole.side
    leaf = hole.panel((width - 0.06, 0.04), (low + 0.005, high - 0.03), 0.05)
    jambs = join(
        hole.panel((0.03, WALL_M), (low, high), WALL_M / 2, -width / 2 + 0.015),
        hole.panel((0.03, WALL_M), (low, high), WALL_M / 2, width / 2 - 0.015),
        hole.panel((width - 0.06, WALL_M), (high - 0.03, high), WALL_M / 2),
    )
    hinge = hole.middle - (width / 2 - 0.03) * side.along
    sweep = np.radians(np.linspace(0, 90, 19))[:, None]
    swung = hinge + (width - 0.06) * (np.cos(sweep) * side.along - np.sin(sweep) * side.out)
    swing = [at_height(swung, 0.02), at_height([hinge, swung[-1]], 0.02)]
    handle = hole.panel((0.11, 0.02), (low + 1.02, low + 1.04), 0.012, width / 2 - 0.13)
    id = hole.opening.id
    on_plan: dict[str, object] = {"width_pt": 0.7, "about": id, "only": ("plan",)}
    return [
        mesh_prop(f"opening/{id}/leaf", "shell", leaf, ink.DOOR, **hole.look),
        mesh_prop(f"opening/{id}/frame", "shell", jambs, ink.WALL_EDGE, **hole.look),
        mesh_prop(f"opening/{id}/handle", "shell", handle, ink.CHAIR_BASE, **hole.look),
        stroke_prop(f"opening/{id}/swing", "shell", swing, ink.INK_SOFT, **on_plan),
    ]


def _window(hole: Hole) -> list[Prop]:
    """A window's frame with its bars, and its pane."""
    width, low, high = hole.width_m, hole.low_m, hole.high_m
    count = max(1, round(width / 1.2))
    bars = [
        hole.panel((0.04, 0.06), (low, high), 0.06, -width / 2 + 0.02 + i * (width - 0.04) / count)
        for i in range(count + 1)
    ]
    bars += [hole.panel((width, 0.06), ends, 0.06) for ends in ((low, low + 0.04), (high - 0.04, high))]
    pane = hole.panel((width - 0.02, 0.008), (low + 0.01, high - 0.01), 0.06)
    name = f"opening/{hole.opening.id}"
    return [
        mesh_prop(f"{name}/frame", "shell", join(*bars), ink.WALL_EDGE, **hole.look),
        mesh_prop(f"{name}/pane", "shell", pane, ink.GLASS, opacity=0.45, **hole.look),
    ]
