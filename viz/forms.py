"""Elementary closed meshes that figures and furniture are put together from, and their shading.

A Form is points (n, 3) in metres and triangles (m, 3) whose normals point outwards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import Floats
from geometry.solids import Integers, Mesh

Form = Mesh
"""What a form is: the floor below has the same, and shapes that were judged are drawn as it makes them."""


Parts = dict[str, Form]
"""The named parts of a thing, each in one colour."""


def join(*forms: Form) -> Form:
    """All forms as one; each stays a closed part of its own."""
    starts = np.cumsum([0] + [len(form.points) for form in forms])
    return Form(
        np.concatenate([form.points for form in forms]),
        np.concatenate([form.faces + start for form, start in zip(forms, starts, strict=False)]),
    )


def moved(form: Form, at: ArrayLike, turn_deg: float = 0.0) -> Form:
    """The form turned about the vertical through its origin and then moved by `at` (x, y, z)."""
    turn = math.radians(turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    matrix = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return Form(form.points @ matrix + np.asarray(at, float), form.faces)


def box(size: ArrayLike, middle: ArrayLike = (0, 0, 0), turn_deg: float = 0.0) -> Form:
    """An upright box of full extents `size` about `middle`."""
    x, y, z = np.asarray(size, float) / 2
    return moved(prism([(-x, -y), (x, -y), (x, y), (-x, y)], -z, z), middle, turn_deg)


def rectangle(wide: float, deep: float) -> Floats:
    """The corners (4, 2) of a plan rectangle about the origin, anticlockwise."""
    a, b = wide / 2, deep / 2
    return np.array([(-a, -b), (a, -b), (a, b), (-a, b)])


def circle(radius: float, sides: int = 32) -> Floats:
    """A plan circle about the origin as corners (sides, 2), anticlockwise."""
    turn = np.linspace(0, 2 * math.pi, sides, endpoint=False)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def rounded_rectangle(wide: float, deep: float, radius: float) -> Floats:
    """The corners (20, 2) of a plan rectangle about the origin whose corners are quarter circles, anticlockwise."""
    corner = radius * np.column_stack(
        [np.cos(np.linspace(0, math.pi / 2, 5)), np.sin(np.linspace(0, math.pi / 2, 5))]
    )
    a, b = wide / 2 - radius, deep / 2 - radius
    quarters = []
    for (sx, sy), turn in (((1, 1), 0), ((-1, 1), 90), ((-1, -1), 180), ((1, -1), 270)):
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        quarters.append(corner @ np.array([[c, s], [-s, c]]) + (sx * a, sy * b))
    return np.concatenate(quarters)


def part_of(form: Form, chosen: NDArray[np.bool_]) -> Form:
    """The faces (m,) of a form that are chosen, with the points they need."""
    used, index = np.unique(form.faces[chosen], return_inverse=True)
    return Form(form.points[used], index.reshape(-1, 3).astype(np.int64))


def prism(
    outline: ArrayLike,
    low: float,
    high: float,
    *,
    top: ArrayLike | None = None,
    holes: Sequence[ArrayLike] = (),
) -> Form:
    """An outline (k, 2), either way round, raised from `low` to `high`; `top` may differ corner by corner."""
    rings = [np.asarray(ring, float) for ring in (outline, *holes)]
    tops = [rings[0] if top is None else np.asarray(top, float), *rings[1:]]
    for i in range(len(rings)):
        if (_area(rings[i]) > 0) == (i > 0):
            rings[i], tops[i] = rings[i][::-1], tops[i][::-1]
    flat = triangulated(rings)
    count = sum(len(ring) for ring in rings)
    below = np.column_stack([np.concatenate(rings), np.full(count, low)])
    above = np.column_stack([np.concatenate(tops), np.full(count, high)])
    faces = [flat[:, ::-1], flat + count]
    start = 0
    for ring in rings:
        here = np.arange(len(ring)) + start
        after = np.roll(here, -1)
        faces += [
            np.column_stack([here, after, after + count]),
            np.column_stack([here, after + count, here + count]),
        ]
        start += len(ring)
    return Form(np.concatenate([below, above]), np.concatenate(faces))


def triangulated(rings: Sequence[Floats]) -> Integers:
    """Triangles (m, 3) over the rings' points in order: the first ring anticlockwise, holes clockwise."""
    if len(rings) == 1 and _convex(rings[0]):
        k = np.arange(1, len(rings[0]) - 1)
        return np.column_stack([np.zeros_like(k), k, k + 1])
    import manifold3d

    return np.asarray(manifold3d.triangulate([np.ascontiguousarray(ring) for ring in rings]), np.int64)


def _area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


def _convex(ring: Floats) -> bool:
    along = np.roll(ring, -1, axis=0) - ring
    after = np.roll(along, -1, axis=0)
    return bool(np.all(along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0] > 0))


def loft(rings: Sequence[Floats], *, bent: bool = False) -> Form:
    """A skin over rings (k, 3) of equal k, closed at both ends; rings run anticlockwise from above.

    `bent`: the end rings are level and not convex, so that a fan from their middle would not do.
    """
    k = len(rings[0])
    points = np.concatenate([*rings, rings[0].mean(axis=0)[None], rings[-1].mean(axis=0)[None]])
    here, after = np.arange(k), np.roll(np.arange(k), -1)
    faces = []
    for i in range(len(rings) - 1):
        a, b = i * k, (i + 1) * k
        faces += [
            np.column_stack([a + here, a + after, b + after]),
            np.column_stack([a + here, b + after, b + here]),
        ]
    if bent:
        top = (len(rings) - 1) * k
        faces += [triangulated([rings[0][:, :2]])[:, ::-1], triangulated([rings[-1][:, :2]]) + top]
        return Form(points[:-2], np.concatenate(faces))
    first, last, top = len(rings) * k, len(rings) * k + 1, (len(rings) - 1) * k
    faces += [
        np.column_stack([np.full(k, first), after, here]),
        np.column_stack([np.full(k, last), top + here, top + after]),
    ]
    return Form(points, np.concatenate(faces))


def lathe(profile: ArrayLike, sides: int = 24, middle: ArrayLike = (0, 0, 0)) -> Form:
    """A profile of (radius, height), rising, turned about the vertical; the ends are closed flat."""
    turn = np.linspace(0, 2 * math.pi, sides, endpoint=False)
    round_ = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(sides)])
    rings = [round_ * max(radius, 1e-4) + (0, 0, height) for radius, height in np.asarray(profile, float)]
    return moved(loft(rings), middle)


def ellipsoid(middle: ArrayLike, radii: ArrayLike, sides: int = 14, levels: int = 8) -> Form:
    """An ellipsoid with upright poles."""
    angles = np.linspace(-math.pi / 2, math.pi / 2, levels + 1)
    profile = np.column_stack([np.cos(angles), np.sin(angles)])
    form = lathe(profile, sides)
    return Form(form.points * np.asarray(radii, float) + np.asarray(middle, float), form.faces)


def body(levels: ArrayLike, sides: int = 18, squareness: float = 2.4) -> Form:
    """A loft of superellipses; each level is (height, middle x, half depth along x, half width along y)."""
    turn = np.linspace(0, 2 * math.pi, sides, endpoint=False)
    c, s = np.cos(turn), np.sin(turn)
    u, v = np.sign(c) * np.abs(c) ** (2 / squareness), np.sign(s) * np.abs(s) ** (2 / squareness)
    return loft(
        [
            np.column_stack([x + depth * u, width * v, np.full(sides, z)])
            for z, x, depth, width in np.asarray(levels, float)
        ]
    )


def tube(path: ArrayLike, radii: ArrayLike, sides: int = 10, *, rounded: bool = True) -> Form:
    """A tube along a path (p, 3) with a radius at each point, its ends rounded."""
    path = np.asarray(path, float)
    radii = np.broadcast_to(np.asarray(radii, float), (len(path),)).astype(float)
    if rounded:
        path, radii = _with_round_ends(path, radii)
    ahead = np.diff(path, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    along = np.concatenate([ahead[:1], ahead[:-1] + ahead[1:], ahead[-1:]])
    along /= np.linalg.norm(along, axis=1)[:, None]
    turn = np.linspace(0, 2 * math.pi, sides, endpoint=False)
    # the frame is carried along the path, so that a tube does not twist at its bends
    across = np.cross(along[0], (0, 0, 1) if abs(along[0][2]) < 0.9 else (1, 0, 0))
    rings = []
    for point, direction, radius in zip(path, along, radii, strict=True):
        across = across - direction * (across @ direction)
        across /= np.linalg.norm(across)
        up = np.cross(direction, across)
        rings.append(point + radius * (np.outer(np.cos(turn), across) + np.outer(np.sin(turn), up)))
    return loft(rings)


def _with_round_ends(path: Floats, radii: Floats) -> tuple[Floats, Floats]:
    first = (path[0] - path[1]) / np.linalg.norm(path[0] - path[1])
    last = (path[-1] - path[-2]) / np.linalg.norm(path[-1] - path[-2])
    steps = ((0.97, 0.26), (0.6, 0.8))
    start = [path[0] + first * radii[0] * out for out, _ in steps]
    end = [path[-1] + last * radii[-1] * out for out, _ in steps[::-1]]
    return (
        np.concatenate([start, path, end]),
        np.concatenate([[radii[0] * r for _, r in steps], radii, [radii[-1] * r for _, r in steps[::-1]]]),
    )


def torus(middle: ArrayLike, radius: float, thickness: float, sides: int = 20, around: int = 8) -> Form:
    """A level ring of round section."""
    u, v = np.meshgrid(np.arange(sides), np.arange(around), indexing="ij")
    a, b = 2 * math.pi * u / sides, 2 * math.pi * v / around
    r = radius + thickness * np.cos(b)
    points = np.stack([r * np.cos(a), r * np.sin(a), thickness * np.sin(b)], axis=-1).reshape(-1, 3)
    here = (u * around + v).ravel()
    ahead = ((u + 1) % sides * around + v).ravel()
    up = (u * around + (v + 1) % around).ravel()
    both = ((u + 1) % sides * around + (v + 1) % around).ravel()
    faces = np.concatenate([np.column_stack([here, ahead, both]), np.column_stack([here, both, up])])
    return Form(points + np.asarray(middle, float), faces)


def shaded(points: Floats, faces: Integers, crease_deg: float) -> tuple[Floats, Floats, Integers]:
    """Points, unit normals and triangles for drawing: smooth up to `crease_deg`, sharp beyond; 0 is all flat.

    Every corner takes the sum of its vertex's face normals (by area) that differ from its own face by
    less than the crease; corners that end with the same normal share a point.
    """
    if not len(faces):
        return points, np.zeros_like(points), faces
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)
    unit = normal / np.maximum(length, 1e-30)[:, None]
    vertex = faces.ravel()
    owner = np.repeat(np.arange(len(faces)), 3)
    if crease_deg <= 0:
        total = unit[owner]
    else:
        # welded by place, so that seams between parts of one surface do not show
        _, vertex = np.unique(np.round(points, 7), axis=0, return_inverse=True)
        vertex = vertex.ravel()[faces.ravel()]
        order = np.argsort(vertex, kind="stable")
        counts = np.bincount(vertex)
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
        size = counts[vertex[order]]
        left = np.repeat(order, size)
        offset = np.arange(len(left)) - np.repeat(np.cumsum(size) - size, size)
        right = order[np.repeat(starts[vertex[order]], size) + offset]
        near = np.einsum("ij,ij->i", unit[owner[left]], unit[owner[right]]) > math.cos(
            math.radians(crease_deg)
        )
        near |= left == right
        total = np.zeros((len(vertex), 3))
        for axis in range(3):
            total[:, axis] = np.bincount(left[near], normal[owner[right[near]], axis], len(vertex))
        total /= np.maximum(np.linalg.norm(total, axis=1), 1e-30)[:, None]
    flat = points[faces.ravel()]
    keys = np.column_stack([np.round(flat, 7), np.round(total, 4)])
    _, first, index = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return flat[first], total[first], index.reshape(-1, 3).astype(np.int64)
