"""The review of a crowded ceiling next to the same distances by trimesh's proximity, in one run.

40 heads, 4 arrays, 300 devices, 6 cameras. `pytest tests/benchmarks/test_clearance.py` prints both; the
test asserts the ratio only.
"""

from __future__ import annotations

import time
import timeit
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from geometry.clearance import Hanging, gap, hanging_from, least_of_many, stack
from geometry.shapes import Box, Cylinder, Solid
from scenes.findings.review import Review
from scenes.review.review import review
from scenes.room.provenance import Given
from scenes.room.scene import Camera, Display, Obstacle, Scene
from scenes.rules.clearances import clearances
from scenes.rules.constraints import constraints_for
from tests.scenes.ceiling_rooms import CEILING_M, array, device, head, scene

KINDS = (
    ("sprinkler", 0.05),
    ("light", 0.0),
    ("supply diffuser", 0.0),
    ("smoke detector", 0.05),
    ("loudspeaker", 0.0),
)
WIDE = ((0.0, 0.0), (24.0, 0.0), (24.0, 12.0), (0.0, 12.0))


def crowded() -> Scene:
    """300 devices on a grid over a room of 24 by 12 m, none where an array hangs."""
    rng = np.random.default_rng(4)
    at = [(0.6 + 0.95 * i, 0.5 + 0.95 * j) for i in range(25) for j in range(12)]
    overhead = []
    for k, place in enumerate(at):
        kind, below = KINDS[k % len(KINDS)]
        square = kind in ("light", "supply diffuser")
        overhead.append(
            device(
                f"D{k}",
                kind,
                place,
                below,
                size_m=(0.6, 0.6) if square else (0.12, 0.12),
                round=not square,
                turn_deg=float(rng.uniform(-90, 90)),
                depth_m=0.1,
            )
        )
    heads = tuple(head(f"S{k}", (2 + 2.2 * (k % 10), 2 + 2.4 * (k // 10)), (1.1, 1.25)) for k in range(40))
    arrays = tuple(array(f"A{k}", (3.07 + 6 * k, 5.73), 2.2) for k in range(4))
    cameras = tuple(Camera(f"CAM{k}", (0.2, 1.0 + 2 * k, 1.3), None, Given(70.0)) for k in range(6))
    made = scene(
        arrays=arrays,
        heads=heads,
        overhead=tuple(overhead),
        cameras=cameras,
        obstacles=(Obstacle("C1", Cylinder((12.0, 3.0, CEILING_M / 2), 0.2, CEILING_M)),),
        displays=(Display("DS1", (23.9, 6.0, 1.5), 2.0, 1.2, 180.0),),
    )
    return replace(made, room=replace(made.room, outline_m=WIDE))


def meshed(solid: Solid) -> trimesh.Trimesh:
    if isinstance(solid, Box):
        turn = trimesh.transformations.rotation_matrix(np.radians(solid.turn_deg), (0, 0, 1))
        mesh = trimesh.creation.box(solid.size_m, transform=turn)
    else:
        mesh = trimesh.creation.cylinder(solid.radius_m, solid.height_m, sections=32)
    mesh.apply_translation(solid.middle_m)
    return mesh


def test_review_of_a_crowded_ceiling(benchmark) -> None:  # type: ignore[no-untyped-def]
    crowd = crowded()
    found: Review = benchmark(review, crowd)
    assert len(found.clearances) > 4 * 300
    assert len(found.sightlines) == 40 + 6 * 40 + 40
    benchmark.extra_info["clearances"] = len(found.clearances)
    benchmark.extra_info["sightlines"] = len(found.sightlines)


def test_constraints_at_a_thousand_places(benchmark) -> None:  # type: ignore[no-untyped-def]
    crowd = crowded()
    first = crowd.arrays[0]
    constraints = constraints_for(crowd, first)
    places = np.random.default_rng(0).uniform((1, 1, 1.8), (23, 11, 2.7), (1000, 3))
    signed = benchmark(lambda: [constraint.signed_m(places) for constraint in constraints])
    assert np.isfinite(signed).all()


def test_distances_are_far_cheaper_than_trimeshs_proximity() -> None:
    """The bodies of 4 arrays to 300 devices, exact against sampled closest points: the same to 2 cm."""
    crowd = crowded()
    solids = [one.solid for one in crowd.overhead]
    meshes = [meshed(solid) for solid in solids]
    bodies = [meshed(one.body).subdivide().vertices for one in crowd.arrays]
    around = stack(solids)
    moving = hanging_from(crowd.arrays[0].body)
    middles = np.array([one.body.middle_m for one in crowd.arrays])

    began = time.perf_counter()
    exact = gap(moving, middles, around)
    ours_s = time.perf_counter() - began
    began = time.perf_counter()
    sampled = np.array(
        [
            [trimesh.proximity.closest_point(mesh, body)[1].min() for mesh in meshes[:30]]
            for body in bodies[:2]
        ]
    )
    theirs_s = (time.perf_counter() - began) * (300 * 4) / (30 * 2)
    assert sampled == pytest.approx(exact[:2, :30], abs=0.02)
    assert np.all(sampled >= exact[:2, :30] - 1e-6)

    began = time.perf_counter()
    rows = clearances(crowd)
    review_s = time.perf_counter() - began
    print(
        f"\n1200 distances: exact {ours_s * 1e3:.2f} ms, trimesh {theirs_s * 1e3:.0f} ms "
        f"({theirs_s / ours_s:.0f} times); {len(rows)} clearances with words {review_s * 1e3:.0f} ms"
    )
    assert theirs_s > 10 * ours_s
    assert theirs_s > 5 * review_s


def hall(count: int) -> tuple[list[Box], np.ndarray]:
    """Luminaires in a hall a metre apart, and positions close together, as a search asks for them."""
    side = round(count**0.5)
    shapes = [
        Box((x + 0.5, y + 0.5, 2.7), (0.6, 0.3, 0.1), 15 * (x % 4)) for x in range(side) for y in range(side)
    ]
    middle = (side / 2, side / 2, 2.2)
    return shapes, np.random.default_rng(1).uniform(-0.3, 0.3, (400, 3)) + middle


def test_of_thousands_of_shapes_few_are_asked_about() -> None:
    shapes, positions = hall(2500)
    around, body = stack(shapes), Hanging(radius_m=0.11, below_m=0.03, above_m=0.03)

    def of_all() -> np.ndarray:
        return gap(body, positions, around).min(axis=1)

    def of_few() -> np.ndarray:
        return least_of_many(lambda at, some: gap(body, at, around.only(some)), around.count, positions)

    np.testing.assert_allclose(of_few(), of_all(), atol=1e-9)
    ours, theirs = (min(timeit.repeat(run, number=1, repeat=5)) for run in (of_few, of_all))
    # measured 75 on a busy machine
    assert theirs / ours >= 10
