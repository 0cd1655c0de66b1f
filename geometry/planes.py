"""A convex solid as the planes that touch it, and how far a hanging body is past them."""

from __future__ import annotations

import itertools
import math

import numpy as np
from numpy.typing import ArrayLike

from geometry.clearance import Floats, Hanging

FLAT = 1e-9
"""A sum of unit normals this short has no direction."""


def faces_of(corners: ArrayLike) -> Floats:
    """The faces of the convex hull of a few points (k, 3): outward unit normals and offsets, (f, 4).

    n·p − offset is a point's distance past a face's plane. A hull without volume has none.
    """
    points = np.asarray(corners, float)
    found: list[Floats] = []
    for i, j, k in itertools.combinations(range(len(points)), 3):
        normal = np.cross(points[j] - points[i], points[k] - points[i])
        size = float(np.linalg.norm(normal))
        if size < 1e-12:
            continue
        for outward in (normal / size, -normal / size):
            plane = np.append(outward, outward @ points[i])
            if (points @ outward - plane[3]).max() <= 1e-9 and not any(
                np.allclose(plane, other, atol=1e-9) for other in found
            ):
                found.append(plane)
    flat = any(np.allclose(one, -other, atol=1e-9) for one in found for other in found)
    return np.zeros((0, 4)) if flat else np.array(found).reshape(-1, 4)


def planes_about(corners: ArrayLike) -> Floats:
    """Planes that touch the convex hull of points (k, 3) at its faces, edges and corners, (f, 4) as `faces_of`.

    A face's plane says little of the distance to an edge or a corner: planes between those of two and of
    three faces do, and upright and level ones for what hangs. A hull without volume has the latter only.
    """
    points = np.asarray(corners, float)
    normals = faces_of(points)[:, :3]
    between = [
        share * one + (1 - share) * other
        for one, other in itertools.combinations(normals, 2)
        for share in (0.25, 0.5, 0.75)
    ]
    about = [sum(three) for three in itertools.combinations(normals, 3)]
    some = np.array([*normals, *between, *about]).reshape(-1, 3)
    level = np.array([(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)])
    found = np.concatenate([some, some * (1, 1, 0), level])
    found = found[np.linalg.norm(found, axis=1) > FLAT]
    found /= np.linalg.norm(found, axis=1)[:, None]
    return np.column_stack([found, (points @ found.T).max(axis=0)])


def past_planes(hanging: Hanging, positions: ArrayLike, faces: Floats) -> Floats:
    """A distance (n,) that the body never is nearer than to a convex solid, metres, from its `faces_of`.

    The largest of the distances past the planes of its faces; exact where a face is nearest, negative
    where no face parts them. `planes_about` it will do too. 1-Lipschitz, and cheap next to a search. No
    faces: minus infinity.
    """
    at = np.atleast_2d(np.asarray(positions, float))
    if not len(faces):
        return np.full(len(at), -np.inf)
    normals, turn = faces[:, :3], math.radians(hanging.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    reach = (
        hanging.radius_m * np.hypot(normals[:, 0], normals[:, 1])
        + hanging.swept_m * (np.abs(normals[:, 0]) + np.abs(normals[:, 1]))
        + hanging.size_m[0] / 2 * np.abs(normals[:, 0] * c + normals[:, 1] * s)
        + hanging.size_m[1] / 2 * np.abs(normals[:, 1] * c - normals[:, 0] * s)
    )
    upright = normals[:, 2] * np.stack([hanging.low_m(at[:, 2]), hanging.high_m(at[:, 2])])[:, :, None]
    past = at[:, :2] @ normals[:, :2].T + upright.min(axis=0) - reach - faces[:, 3]
    return np.asarray(past.max(axis=1))
