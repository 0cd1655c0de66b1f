"""People and chairs: simple figures of our own, sized from the mouth height.

Every figure is made in its own frame: the mouth above the origin, looking along +x, z up from the
floor. Proportions are rough averages from memory, for looking at and for nothing else: no number of
a review comes from them.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz.forms import Form, body, box, ellipsoid, join, lathe, loft, moved, tube

SEAT_M = 0.455
"""Height of a chair's seat in pictures."""
SHOULDER_BELOW_MOUTH_M = 0.150

Point = tuple[float, float, float]
Parts = dict[str, Form]
"""What each part of a figure is made of: skin, hair, top, legs, shoes; chair, base."""


def _head(mouth_m: float) -> Parts:
    z = mouth_m
    skull = body(
        [
            (z - 0.050, -0.052, 0.026, 0.026),
            (z - 0.042, -0.058, 0.044, 0.042),
            (z - 0.015, -0.074, 0.068, 0.056),
            (z + 0.020, -0.086, 0.083, 0.066),
            (z + 0.060, -0.094, 0.092, 0.073),
            (z + 0.100, -0.099, 0.092, 0.074),
            (z + 0.135, -0.101, 0.081, 0.066),
            (z + 0.160, -0.102, 0.058, 0.048),
            (z + 0.172, -0.102, 0.024, 0.020),
        ],
        sides=18,
        squareness=2.0,
    )
    nose = ellipsoid((-0.004, 0, z + 0.042), (0.017, 0.012, 0.022), 8, 5)
    neck = tube([(-0.118, 0, z - 0.150), (-0.098, 0, z - 0.02)], [0.056, 0.049], 12, rounded=False)
    hair = _cap(skull, z)
    return {"skin": join(skull, nose, neck), "hair": hair}


def _cap(skull: Form, z: float) -> Form:
    """Hair: the skull a little larger, pressed flat onto a plane from the forehead down to the nape."""
    middle = np.array([-0.098, 0, z + 0.06])
    points = middle + (skull.points - middle) * (1.05, 1.07, 1.05) + (-0.005, 0, 0.004)
    forehead, nape = np.array([-0.040, 0, z + 0.140]), np.array([-0.160, 0, z + 0.005])
    along = (forehead - nape) / np.linalg.norm(forehead - nape)
    up = np.array([-along[2], 0, along[0]])
    below = np.minimum((points - forehead) @ up, 0.0)
    return Form(points - below[:, None] * up, skull.faces)


def _trunk(hip: float, shoulder: float, hip_x: float, shoulder_x: float, wide: float) -> Form:
    """From the seat of the trousers to the collar, leaning from one x to the other."""
    rows = np.array(
        [
            # share of the way up, half depth, half width
            (0.17, 0.112, 0.162),
            (0.20, 0.121, 0.171),
            (0.26, 0.117, 0.166),
            (0.42, 0.106, 0.152),
            (0.62, 0.115, 0.172),
            (0.78, 0.118, 0.190),
            (0.90, 0.104, 0.197),
            (0.965, 0.082, 0.180),
            (1.015, 0.068, 0.136),
            (1.060, 0.060, 0.088),
            (1.100, 0.055, 0.063),
        ]
    )
    share = rows[:, 0]
    z = hip + share * (shoulder - hip)
    x = hip_x + np.clip(share, 0, 1) * (shoulder_x - hip_x)
    return body(np.column_stack([z, x, rows[:, 1] * wide, rows[:, 2] * wide]), sides=16)


def _pelvis(low: float, high: float, x: float, wide: float) -> Form:
    """The upper part of the trousers, which the trunk is tucked into."""
    rows = (
        (0.0, 0.085, 0.135),
        (0.12, 0.112, 0.164),
        (0.5, 0.122, 0.176),
        (0.9, 0.117, 0.168),
        (1.0, 0.108, 0.158),
    )
    return body([(low + s * (high - low), x, d * wide, w * wide) for s, d, w in rows], sides=16)


def _arm(shoulder: Point, elbow: Point, wrist: Point, hand: Point) -> tuple[Form, Form]:
    """Sleeve and hand."""
    middle = (np.asarray(shoulder, float) + np.asarray(elbow, float)) / 2
    sleeve = tube([shoulder, middle, elbow, wrist], [0.054, 0.049, 0.041, 0.031], 10)
    palm = tube([wrist, hand], [0.021, 0.033], 8)
    return sleeve, palm


@lru_cache(maxsize=256)
def seated(mouth_m: float, table_m: float | None, reach_m: float) -> Parts:
    """A person on a chair, hands `reach_m` ahead on a table `table_m` high; in the lap if that is None."""
    shoulder = mouth_m - SHOULDER_BELOW_MOUTH_M
    wide = float(np.clip((mouth_m - SEAT_M) / 0.75, 0.88, 1.08))
    parts = _head(mouth_m)
    trunk = _trunk(SEAT_M + 0.02, shoulder, -0.19, -0.135, wide)
    sleeves, hands = [], []
    for side in (-1, 1):
        start = (-0.135, side * 0.168 * wide, shoulder - 0.055)
        if table_m is None:
            elbow = (-0.16, side * 0.245, shoulder - 0.30)
            wrist = (0.04, side * 0.15, SEAT_M + 0.19)
            hand = (0.11, side * 0.10, SEAT_M + 0.18)
        else:
            elbow = (min(-0.01, reach_m - 0.24), side * 0.255, max(table_m + 0.01, shoulder - 0.27))
            wrist = (reach_m, side * 0.155, table_m + 0.036)
            hand = (reach_m + 0.075, side * 0.105, table_m + 0.034)
        sleeve, palm = _arm(start, elbow, wrist, hand)
        sleeves.append(sleeve)
        hands.append(palm)
    thighs = [
        tube(
            [
                (-0.19, s * 0.095, SEAT_M + 0.085),
                (0.08, s * 0.105, SEAT_M + 0.08),
                (0.255, s * 0.11, SEAT_M + 0.055),
                (0.275, s * 0.11, SEAT_M - 0.06),
                (0.25, s * 0.112, 0.10),
            ],
            [0.088, 0.078, 0.062, 0.056, 0.038],
        )
        for s in (-1, 1)
    ]
    shoes = [tube([(0.225, s * 0.112, 0.045), (0.385, s * 0.125, 0.036)], [0.042, 0.034], 8) for s in (-1, 1)]
    parts["skin"] = join(parts["skin"], *hands)
    parts["top"] = join(trunk, *sleeves)
    parts["legs"] = join(_pelvis(SEAT_M + 0.01, SEAT_M + 0.15, -0.185, wide), *thighs)
    parts["shoes"] = join(*shoes)
    return parts


@lru_cache(maxsize=256)
def standing(mouth_m: float) -> Parts:
    """A person on their feet, one hand raised as people do who explain."""
    k = mouth_m / 1.58
    shoulder = mouth_m - SHOULDER_BELOW_MOUTH_M * k
    hip = 0.84 * k
    parts = _head(mouth_m)
    trunk = _trunk(hip, shoulder, -0.12, -0.125, float(np.clip(k, 0.9, 1.06)))
    left = _arm(
        (-0.125, 0.170 * k, shoulder - 0.055),
        (-0.16, 0.245, shoulder - 0.31 * k),
        (-0.09, 0.235, shoulder - 0.55 * k),
        (-0.06, 0.228, shoulder - 0.63 * k),
    )
    right = _arm(
        (-0.125, -0.170 * k, shoulder - 0.055),
        (-0.10, -0.255, shoulder - 0.29 * k),
        (0.13, -0.235, shoulder - 0.18 * k),
        (0.205, -0.215, shoulder - 0.14 * k),
    )
    legs = [
        tube(
            [(-0.12, s * 0.088, 0.885 * k), (-0.112, s * 0.098, 0.50 * k), (-0.125, s * 0.102, 0.09)],
            [0.096, 0.064, 0.043],
            12,
        )
        for s in (-1, 1)
    ]
    shoes = [
        tube([(-0.145, s * 0.104, 0.045), (0.035, s * 0.125, 0.036)], [0.044, 0.036], 8) for s in (-1, 1)
    ]
    parts["skin"] = join(parts["skin"], left[1], right[1])
    parts["top"] = join(trunk, left[0], right[0])
    parts["legs"] = join(_pelvis(hip - 0.05 * k, hip + 0.13 * k, -0.12, float(np.clip(k, 0.9, 1.06))), *legs)
    parts["shoes"] = join(*shoes)
    return parts


@lru_cache(maxsize=2)
def chair() -> Parts:
    """A chair on a five-armed base, in the same frame as the person on it."""
    middle = -0.15
    pad = body(
        [
            (SEAT_M - 0.062, middle, 0.190, 0.205),
            (SEAT_M - 0.050, middle, 0.222, 0.238),
            (SEAT_M - 0.018, middle, 0.230, 0.245),
            (SEAT_M - 0.004, middle, 0.222, 0.238),
            (SEAT_M + 0.004, middle, 0.196, 0.212),
        ],
        sides=24,
        squareness=4.0,
    )
    shell = join(pad, _back(middle))
    arms = [
        moved(tube([(0.02, 0, 0.105), (0.27, 0, 0.066)], [0.021, 0.014], 6), (middle, 0, 0), 36 + 72 * i)
        for i in range(5)
    ]
    casters = [
        moved(ellipsoid((0.275, 0, 0.030), (0.030, 0.020, 0.030), 7, 4), (middle, 0, 0), 36 + 72 * i)
        for i in range(5)
    ]
    column = lathe(
        [(0.034, 0.085), (0.034, 0.20), (0.024, 0.205), (0.024, SEAT_M - 0.08)], 12, (middle, 0, 0)
    )
    plate = box((0.22, 0.22, 0.022), (middle, 0, SEAT_M - 0.072))
    return {"chair": shell, "base": join(column, plate, *arms, *casters)}


def _back(middle: float) -> Form:
    """The back: an upright shell, bent round the sitter."""
    across = np.linspace(-1, 1, 11)
    rings = []
    levels = (
        (0.10, 0.170, 0.010),
        (0.13, 0.205, 0.020),
        (0.30, 0.220, 0.024),
        (0.44, 0.200, 0.020),
        (0.47, 0.165, 0.010),
    )
    for z, wide, thick in levels:
        y = across * wide
        x = middle - 0.265 - 0.10 * (z - 0.1) + 0.085 * across**2
        outer = np.column_stack([x - thick, y])
        inner = np.column_stack([x + thick, y])[::-1]
        ring = np.concatenate([outer[::-1], inner[::-1]])
        rings.append(np.column_stack([ring, np.full(len(ring), SEAT_M + z)]))
    stalk = tube(
        [
            (middle - 0.13, 0, SEAT_M - 0.06),
            (middle - 0.27, 0, SEAT_M - 0.03),
            (middle - 0.285, 0, SEAT_M + 0.16),
        ],
        0.018,
        8,
    )
    return join(loft(rings, bent=True), stalk)


@lru_cache(maxsize=512)
def person(
    mouth_m: float, table_m: float | None, reach_m: float, *, on_chair: bool, tolerance_m: float = 0.0
) -> Parts:
    """A whole figure, with its chair if it sits; with a tolerance in fewer triangles, that much off at most."""
    parts = {**seated(mouth_m, table_m, reach_m), **chair()} if on_chair else standing(mouth_m)
    if not tolerance_m:
        return parts
    import manifold3d

    coarse = {}
    for name, form in parts.items():
        mesh = manifold3d.Mesh64(
            np.ascontiguousarray(form.points), np.ascontiguousarray(form.faces, np.uint64)
        )
        made = manifold3d.Manifold(mesh).simplify(tolerance_m).to_mesh64()
        points = np.asarray(made.vert_properties, float)[:, :3].copy()
        coarse[name] = Form(points, np.asarray(made.tri_verts, np.int64).reshape(-1, 3))
    return coarse
