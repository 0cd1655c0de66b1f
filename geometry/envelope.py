"""What is lowest, or highest, over each place of a plan: planar patches, flat or sloped, and their envelope.

Answers what a body's underside is, which ceiling is seen from below, where the slab above is. It asks
no triangle which way it faces: over a place the lowest face is the underside, however a mesh is wound.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from geometry.outlines import half_plane, pieces, together
from geometry.records import record

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

UPRIGHT: Final = 0.05
"""A face whose unit normal rises by less than this is a side: it has no area worth the name on plan."""
LEAST_M2: Final = 1e-6
"""A smaller area is a rounding."""
SAME_PLANE_M: Final = 5e-4
"""Faces whose planes differ by less over both of them are one."""
SAME_SLOPE: Final = 1e-3
"""Rise over run below which a face is level, and by which slopes may differ and still be one."""


@record(frozen=True, slots=True)
class Plane:
    """z = a x + b y + c."""

    a: float
    b: float
    c: float

    @property
    def level(self) -> bool:
        """Whether it is flat."""
        return abs(self.a) < SAME_SLOPE and abs(self.b) < SAME_SLOPE

    def at(self, points: Floats) -> Floats:
        """Heights over plan points (n, 2)."""
        return np.asarray(points[:, 0] * self.a + points[:, 1] * self.b + self.c)


@record(frozen=True, slots=True)
class Patch:
    """A planar face over a plan area; `mark` is whatever its maker wants to know it by."""

    area: Any
    plane: Plane
    mark: Any = None

    @property
    def span_m(self) -> tuple[float, float]:
        """Its lowest and its highest height."""
        heights = self.plane.at(shapely.get_coordinates(self.area))
        return float(heights.min()), float(heights.max())


def patches(vertices: Floats, faces: Ints, mark: Any = None) -> list[Patch]:
    """The faces of a mesh that have an area on plan, those in one plane together."""
    if not len(faces):
        return []
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1)
    flat = (lengths > 1e-12) & (np.abs(normals[:, 2]) > UPRIGHT * lengths)
    corners, normals = corners[flat], normals[flat]
    if not len(corners):
        return []
    slopes = -normals[:, :2] / normals[:, 2:]
    heights = corners[:, 0, 2] - (slopes * corners[:, 0, :2]).sum(axis=1)
    planes = np.column_stack([slopes, heights])
    # level faces lie at their own height, not at that of a rounded slope far from here
    level = (np.abs(slopes) < SAME_SLOPE).all(axis=1)
    planes[level] = np.column_stack([np.zeros((level.sum(), 2)), corners[level][:, :, 2].mean(axis=1)])
    found = []
    for group in _alike(planes, corners):
        triangles = shapely.polygons(corners[group][:, :, :2])
        area = together(triangles[shapely.area(triangles) > LEAST_M2**2])
        if area.area > 0:
            found.append(Patch(area, Plane(*(float(v) for v in planes[group[0]])), mark))
    return found


def lowest(faces: Sequence[Patch], within: Any) -> list[Patch]:
    """Of patches over one another the lowest over each place, cut to `within`; those in one plane joined.

    Where two are at the same height the first of the list has it.
    """
    near = [Patch(one.area.intersection(within), one.plane, one.mark) for one in faces]
    near = [one for one in near if one.area.area > LEAST_M2]
    found = []
    for i, one in enumerate(near):
        area = one.area
        for j, other in enumerate(near):
            if i != j and area.intersects(other.area):
                area = area.difference(_below(other, one, first=j < i))
                if area.is_empty:
                    break
        found += [Patch(piece, one.plane, one.mark) for piece in pieces(area, LEAST_M2)]
    return joined(found)


def highest(faces: Sequence[Patch], within: Any) -> list[Patch]:
    """As `lowest`, the highest over each place."""
    down = [Patch(one.area, _upside_down(one.plane), one.mark) for one in faces]
    return [Patch(one.area, _upside_down(one.plane), one.mark) for one in lowest(down, within)]


def joined(faces: Sequence[Patch]) -> list[Patch]:
    """Patches in one plane and with one mark as one patch each, the largest first."""
    groups: list[list[Patch]] = []
    for one in sorted(faces, key=lambda face: -face.area.area):
        for group in groups:
            if group[0].mark == one.mark and _same(group[0].plane, one.plane, one.area):
                group.append(one)
                break
        else:
            groups.append([one])
    made = [Patch(together([one.area for one in group]), group[0].plane, group[0].mark) for group in groups]
    return sorted(made, key=lambda face: -face.area.area)


def _below(other: Patch, one: Patch, *, first: bool) -> Any:
    """Where `other` hides `one` from below."""
    a, b, c = (getattr(other.plane, key) - getattr(one.plane, key) for key in "abc")
    if _same(other.plane, one.plane, one.area):
        return other.area if first else Polygon()
    if abs(a) < 1e-9 and abs(b) < 1e-9:
        return other.area if c < 0 else Polygon()
    return other.area.intersection(half_plane(a, b, c, one.area.bounds))


def _same(one: Plane, other: Plane, area: Any) -> bool:
    if abs(one.a - other.a) > SAME_SLOPE or abs(one.b - other.b) > SAME_SLOPE:
        return False
    points = shapely.get_coordinates(area)
    return bool(np.abs(one.at(points) - other.at(points)).max() < SAME_PLANE_M)


def _upside_down(plane: Plane) -> Plane:
    return Plane(-plane.a, -plane.b, -plane.c)


def _alike(planes: Floats, corners: Floats) -> list[Ints]:
    """The triangles in groups of one plane each: by rounded plane first, then groups whose planes agree."""
    middle = corners.reshape(-1, 3)[:, :2].mean(axis=0)
    at_middle = planes[:, 2] + planes[:, :2] @ middle
    keys = np.column_stack([np.round(planes[:, :2] / SAME_SLOPE), np.round(at_middle / SAME_PLANE_M)])
    _, group = np.unique(keys, axis=0, return_inverse=True)
    group = group.reshape(-1)
    rough = [np.flatnonzero(group == k) for k in range(int(group.max()) + 1)]
    found: list[Ints] = []
    for members in sorted(rough, key=len, reverse=True):
        plane = planes[members[0]]
        points = corners[members].reshape(-1, 3)[:, :2]
        for i, kept in enumerate(found):
            other = planes[kept[0]]
            apart = np.abs(points @ (plane - other)[:2] + (plane - other)[2])
            if np.abs((plane - other)[:2]).max() < SAME_SLOPE and apart.max() < SAME_PLANE_M:
                found[i] = np.concatenate([kept, members])
                break
        else:
            found.append(members)
    return found
