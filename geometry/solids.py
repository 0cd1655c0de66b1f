"""Closed triangle meshes of the band, the room and the simple shapes: for looking at and handing over.

No mesh here is ever asked whether a point is inside; `geometry.band.slack` answers that exactly. Faces
are anticlockwise seen from outside, so volumes are positive. Clipping and cutting outlines into
triangles use manifold3d, imported only then.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.band import Band, Floats
from geometry.shapes import Box, Cylinder, Disc, Point3, Segment, Shape

Integers = NDArray[np.int64]

SEGMENTS = 96
"""Facets round a full turn: a multiple of 2, 3, 4, 6, 8, 12 and 16, so that sectors begin at an edge."""

HAIR_M = 0.002
"""How far a clipped solid keeps from floor, ceiling and walls, so that no two faces lie in one plane."""

ON_AXIS_M = 1e-12
"""A profile's point this near the axis is on it."""


class Mesh(NamedTuple):
    """Points (n, 3) in metres and triangles (m, 3), anticlockwise seen from outside.

    `trimesh.Trimesh(*mesh, process=False)` is the same mesh there.
    """

    points: Floats
    faces: Integers


EMPTY = Mesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64))


def volume_m3(mesh: Mesh) -> float:
    """Volume a closed mesh encloses, cubic metres; negative when it is inside out."""
    first, second, third = (mesh.points[mesh.faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", first, np.cross(second, third)) / 6)


def moved(mesh: Mesh, by_m: ArrayLike) -> Mesh:
    """The mesh moved by (x, y, z) metres."""
    return Mesh(mesh.points + np.asarray(by_m, float), mesh.faces)


def revolved(profile: ArrayLike, *, segments: int = SEGMENTS, turn_deg: float = 0.0) -> Mesh:
    """The closed solid that a closed profile sweeps about the vertical axis.

    `profile` (k, 2) holds (distance from the axis, height), either way round, without repeating the
    first point; points on the axis become one vertex each, pieces along it none at all. The first facet
    edge lies at plan angle `turn_deg`.
    """
    outline = np.asarray(profile, float)
    if outline.ndim != 2 or outline.shape[1] != 2 or len(outline) < 3:
        raise ValueError(f"profile has shape {outline.shape}; allowed is (k, 2) with k >= 3")
    if segments < 3:
        raise ValueError(f"segments is {segments}; allowed is 3 or more")
    if outline[:, 0].min() < -ON_AXIS_M:
        raise ValueError(f"profile comes {outline[:, 0].min()} m from the axis; allowed is 0 or more")
    # anticlockwise in the half plane is what makes the sweep's faces look outwards
    if _area(outline) < 0:
        outline = outline[::-1]
    on_axis = outline[:, 0] <= ON_AXIS_M
    turn = math.radians(turn_deg) + np.arange(segments) * (2 * math.pi / segments)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    points, index, count = [], [], 0
    for (rho, height), axial in zip(outline, on_axis, strict=True):
        if axial:
            points.append(np.array([[0.0, 0.0, height]]))
            index.append(np.full(segments, count))
        else:
            points.append(np.column_stack([rho * ring, np.full(segments, height)]))
            index.append(count + np.arange(segments))
        count += len(points[-1])
    faces = []
    for here, there in zip(range(len(outline)), [*range(1, len(outline)), 0], strict=True):
        a, b = index[here], index[there]
        a_next, b_next = np.roll(a, -1), np.roll(b, -1)
        if not on_axis[here]:
            faces.append(np.column_stack([a, a_next, b]))
        if not on_axis[there]:
            faces.append(np.column_stack([b, a_next, b_next]))
    return Mesh(np.concatenate(points), np.concatenate(faces).astype(np.int64))


def band_outline(band: Band, *, segments: int = SEGMENTS) -> Floats:
    """The band's profile, (k, 2) horizontal range and height (minus the drop), anticlockwise, not closed.

    Arcs have a point at least every 360/segments degrees; a near distance of 0 is one point, the apex.
    """
    steps = max(1, math.ceil((band.high_deg - band.low_deg) * segments / 360 - 1e-9))
    angle = np.radians(np.linspace(band.low_deg, band.high_deg, steps + 1))
    cosine = np.cos(angle)
    if band.high_deg == 90:
        cosine[-1] = 0.0
    arc = np.column_stack([cosine, -np.sin(angle)])
    near = arc * band.near_m if band.near_m > 0 else np.zeros((1, 2))
    # down the near side and up the far one: anticlockwise with the height upwards
    return np.concatenate([near, arc[::-1] * band.far_m])


def band_solid(
    band: Band, *, segments: int = SEGMENTS, turn_deg: float = 0.0, at_m: ArrayLike = (0.0, 0.0, 0.0)
) -> Mesh:
    """The band as a closed mesh: the hollow 360° cone whose ends are pieces of spheres.

    `at_m` is the acoustic centre. All points lie on the true surface; the facets between them are off
    it by at most `facet_error_m`. Where near is 0 and the band does not reach the axis outer and inner cone
    each have an apex of their own in the centre, so that the surface stays a proper one there.
    """
    outline = band_outline(band, segments=segments)
    if band.near_m == 0 and outline[1, 0] > ON_AXIS_M:
        outline = np.concatenate([outline, np.zeros((1, 2))])
    return moved(revolved(outline, segments=segments, turn_deg=turn_deg), at_m)


def facet_error_m(band: Band, *, segments: int = SEGMENTS) -> float:
    """The most that a facet of `band_solid` is off the true surface, metres: the far sphere's sagitta."""
    # a facet spans half a step from its middle both ways, round the axis and along the arc
    return band.far_m * (1 - math.cos(math.hypot(1, 1) * math.pi / segments))


def band_volume_m3(band: Band) -> float:
    """Volume of the true solid, cubic metres: Ω (far³ - near³) / 3 with Ω = 2π (sin high - sin low)."""
    _, sin_low, sin_high, _ = band.edge_sines
    return 2 * math.pi * (sin_high - sin_low) * (band.far_m**3 - band.near_m**3) / 3


def sector_lines(
    band: Band,
    sectors: int,
    *,
    turn_deg: float = 0.0,
    segments: int = SEGMENTS,
    at_m: ArrayLike = (0.0, 0.0, 0.0),
) -> list[Floats]:
    """The lines on the band's surface that divide its azimuth sectors, each (k, 3), closed.

    Sector 1 begins at plan angle `turn_deg`; one sector has no dividing line. With a number of sectors
    that divides `segments` the lines run along facet edges of `band_solid` with the same turn.
    """
    if sectors < 1:
        raise ValueError(f"sectors is {sectors}; allowed is 1 or more")
    if sectors == 1:
        return []
    outline = band_outline(band, segments=segments)
    outline = np.concatenate([outline, outline[:1]])
    lines = []
    for number in range(sectors):
        turn = math.radians(turn_deg + 360 * number / sectors)
        c, s = math.cos(turn), math.sin(turn)
        line = np.column_stack([c * outline[:, 0], s * outline[:, 0], outline[:, 1]])
        lines.append(line + np.asarray(at_m, float))
    return lines


def clip_to_room(
    mesh: Mesh, outline_m: ArrayLike, floor_m: float, ceiling_m: float, *, inset_m: float = HAIR_M
) -> Mesh:
    """What of a closed mesh lies inside the room, less a hair at floor, ceiling and walls; closed.

    `outline_m` (k, 2) is the room's plan, a simple polygon. Empty (no points, no faces) where mesh and
    room do not meet.
    """
    import manifold3d

    ring = _plan_outline(outline_m)
    if inset_m > 0:
        shrunk = manifold3d.CrossSection([ring]).offset(-inset_m, manifold3d.JoinType.Miter, 4.0)
    else:
        shrunk = manifold3d.CrossSection([ring])
    height = ceiling_m - floor_m - 2 * inset_m
    if shrunk.is_empty() or height <= 0:
        return EMPTY
    room = shrunk.extrude(height).translate((0.0, 0.0, floor_m + inset_m))
    faces = np.ascontiguousarray(mesh.faces, np.uint64)
    solid = manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(mesh.points, float), faces))
    if solid.status() != manifold3d.Error.NoError:
        raise ValueError(f"clip_to_room needs a closed mesh; manifold3d says {solid.status().name}")
    clipped = (solid ^ room).to_mesh64()
    points = np.asarray(clipped.vert_properties, float)[:, :3]
    return Mesh(points.copy(), np.asarray(clipped.tri_verts, np.int64).reshape(-1, 3))


def shape_mesh(shape: Shape, *, segments: int = 32) -> Mesh:
    """A shape's surface: box, cylinder and segment (a tube with flat ends) closed, a disc its upper side.

    A segment without length is empty; one without radius is a line, which has no surface: ValueError.
    """
    match shape:
        case Box():
            corners = np.array(shape.corners_on_plan())
            ends = (np.full(4, shape.low_m), np.full(4, shape.high_m))
            points = np.concatenate([np.column_stack([corners, end]) for end in ends])
            return Mesh(points, np.array(_BOX_FACES, np.int64))
        case Cylinder():
            return moved(_rod(shape.radius_m, shape.height_m, segments), (*shape.middle_m[:2], shape.low_m))
        case Disc():
            turn = np.arange(segments) * (2 * math.pi / segments)
            rim = shape.radius_m * np.column_stack([np.cos(turn), np.sin(turn), np.zeros(segments)])
            here = np.arange(segments)
            faces = np.column_stack([here, np.roll(here, -1), np.full(segments, segments)])
            return Mesh(np.concatenate([rim, np.zeros((1, 3))]) + np.array(shape.middle_m), faces)
        case Segment():
            return _tube(shape.start_m, shape.end_m, shape.radius_m, segments)


_BOX_FACES = (
    *((0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7)),
    *((0, 1, 5), (0, 5, 4), (1, 2, 6), (1, 6, 5), (2, 3, 7), (2, 7, 6), (3, 0, 4), (3, 4, 7)),
)


def _rod(radius_m: float, length_m: float, segments: int) -> Mesh:
    profile = [(0.0, 0.0), (radius_m, 0.0), (radius_m, length_m), (0.0, length_m)]
    return revolved(profile, segments=segments)


def _tube(start_m: Point3, end_m: Point3, radius_m: float, segments: int) -> Mesh:
    start = np.asarray(start_m, float)
    along = np.asarray(end_m, float) - start
    length = float(np.linalg.norm(along))
    if length == 0:
        return EMPTY
    if radius_m <= 0:
        raise ValueError("a Segment of radius 0 has no surface; draw it as a line or give it a radius")
    along = along / length
    # any direction not along the rod, squared up: the axis the rod runs along least
    across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    across /= np.linalg.norm(across)
    rod = _rod(radius_m, length, segments)
    return Mesh(rod.points @ np.array([across, np.cross(along, across), along]) + start, rod.faces)


def _plan_outline(outline_m: ArrayLike) -> Floats:
    """The outline anticlockwise, without a repeated last point."""
    ring = np.asarray(outline_m, float)
    if ring.ndim != 2 or ring.shape[1] != 2:
        raise ValueError(f"outline has shape {ring.shape}; allowed is (k, 2)")
    if len(ring) > 1 and np.array_equal(ring[0], ring[-1]):
        ring = ring[:-1]
    if len(ring) < 3 or _area(ring) == 0:
        raise ValueError("outline encloses nothing; give at least three corners that do not lie in a line")
    return np.ascontiguousarray(ring if _area(ring) > 0 else ring[::-1])


def _area(ring: Floats) -> float:
    """Area of a closed ring (k, 2), positive when anticlockwise."""
    following = np.roll(ring, -1, axis=0)
    return float(np.sum(ring[:, 0] * following[:, 1] - ring[:, 1] * following[:, 0]) / 2)
